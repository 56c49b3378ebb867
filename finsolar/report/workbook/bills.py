"""Bills in a workbook: each component at the prices of year 1, times the index of the rise it follows."""

from __future__ import annotations

from collections.abc import Mapping

from finsolar.report.workbook.cells import Formula, Line, Sheet
from finsolar.report.workbook.exact import Promise
from finsolar.report.workbook.inputs import Inputs

NOT_PROPORTIONAL = "value: follows no index exactly"


def write_bill(sheet: Sheet, inputs: Inputs, promises: Mapping[str, Promise], key: str) -> tuple[dict[str, Line], Line]:
    """A bill by component and year; returns the rows of the components and that of their sum.

    promises : by component, see `exact.bill_terms`; key : the id of the bill.
    """
    rows: dict[str, Line] = {}
    for component, promise in promises.items():
        if not promise.follows:
            amounts = [float(x) for x in promise.terms[0].amounts]
            rows[component] = sheet.line(
                component.capitalize(), amounts, key=f"{key}.by_year.{component}", note=NOT_PROPORTIONAL, first=1
            )
            continue
        parts: list[tuple[Line, Line | None]] = []
        for term in promise.terms:
            by = "prices of year 1" if term.rise is None else f"prices of year 1, by {term.rise.name}"
            base = sheet.line(
                component.capitalize(), [float(x) for x in term.amounts], note=by, first=1, font_color="#6B7280"
            )
            parts.append((base, None if term.rise is None else inputs.index_of(term.rise)))

        def money(year: int, parts: list[tuple[Line, Line | None]] = parts) -> Formula:
            return Formula(
                "+".join(
                    base.at(year) if index is None else f"{base.at(year)}*{index.at(year)}" for base, index in parts
                )
            )

        rows[component] = sheet.line(component.capitalize(), money, key=f"{key}.by_year.{component}", first=1)
    every = list(rows.values())
    total = sheet.line(
        "The whole bill",
        lambda year: Formula("+".join(row.at(year) for row in every) or "0"),
        key=f"{key}.total_by_year",
        first=1,
        bold=True,
        top=1,
    )
    return rows, total
