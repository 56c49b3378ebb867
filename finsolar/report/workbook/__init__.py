"""The study as a workbook with live formulas: `whole.py` puts it together from a module for each kind of sheet."""
