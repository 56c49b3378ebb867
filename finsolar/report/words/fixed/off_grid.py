"""What the section on living without the grid says whatever was found."""

from __future__ import annotations

BY_YEAR = "What finds no source, year by year"
LINE = "A line to the grid instead"
SIZES = "Were modules or battery larger or smaller"
DARKEST = "Sized for the darkest month"
