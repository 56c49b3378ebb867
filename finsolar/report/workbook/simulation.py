"""The sheet of many cases: what was drawn, chances, figures, running totals and the spread of NPV, all as values."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from finsolar.report.words.sureness import CHANCES, FIGURES, PERCENTILES, capital, hours_notes, stated
from finsolar.report.workbook.cells import FIXED_FILL, ID, PALE, Place, Sheet
from finsolar.report.workbook.figures import NEVER, NONE, form_of

Plain = dict[str, Any]

_FIRST = ID + 1
_PERCENTILES = ("p10", "p50", "p90")


def write_simulation(sheet: Sheet, plain: Plain) -> None:
    """What the page tells of all cases that were drawn: values, since no sheet draws them."""
    found = plain["uncertainty"]
    sheet.write(0, 0, "Many cases", bold=True, font_size=16)
    drawn = f"{found['draws']:,} cases drawn of the ranges in the scenario, seed {found['seed']}"
    text = f"{drawn}. They are values of the engine: no input moves them. {PERCENTILES}"
    sheet.write(1, 0, text, italic=True, font_color=PALE)
    sheet.row = 3
    for told in hours_notes(found, plain["settings"]["currency"]):
        sheet.text(capital(told), width=8)
    _ranges(sheet, found["inputs"])
    for i, plan in enumerate(found["alternatives"]):
        key = f"uncertainty.alternatives.{i}"
        sheet.heading(plan["name"])
        _chances(sheet, plan, key)
        _figures(sheet, plan, key)
        _running(sheet, plan["running"], key)
        _histogram(sheet, plan["histogram"], key)
        sheet.text(f"Whether the draws suffice: {plan['enough']}.", width=8)


def _ranges(sheet: Sheet, inputs: Sequence[Plain]) -> None:
    """The ranges that were drawn, as stated and as they came out."""
    sheet.head(["Range drawn", "", "id", "As stated", "P10", "P90"])
    for k, one in enumerate(inputs):
        key = f"uncertainty.inputs.{k}"
        _name(sheet, capital(one["words"]), key)
        sheet.write(sheet.row, _FIRST, stated(one), text_wrap=True)
        for column, end in enumerate(("p10", "p90"), start=_FIRST + 1):
            _value(sheet, column, one[end], _form(sheet, one["unit"]), f"{key}.{end}")
        sheet.row += 1


def _chances(sheet: Sheet, plan: Plain, key: str) -> None:
    """In what share of the cases each question is answered with yes, and the standard error of that."""
    sheet.head(["In what share of the cases", "", "id", "Share", "Standard error"])
    for name, words in CHANCES.items():
        chance = plan["chances"][name]
        _name(sheet, words, f"{key}.chances.{name}")
        if chance is None:
            sheet.write(sheet.row, _FIRST, f"no answer: {plan['reasons'][name]}", text_wrap=False)
        else:
            for column, part in enumerate(("share", "error"), start=_FIRST):
                _value(sheet, column, chance[part], "0.0%", f"{key}.chances.{name}.{part}")
        sheet.row += 1


def _figures(sheet: Sheet, plan: Plain, key: str) -> None:
    """Mean and percentiles of each figure, each with its standard error, and the share of cases without it."""
    parts = [
        part for name in ("mean", *_PERCENTILES) for part in (name, "error" if name == "mean" else f"{name}_error")
    ]
    heads = [text for name in ("Mean", "P10", "P50", "P90") for text in (name, "± standard error")]
    sheet.head(["Figure", "", "id", *heads, "Share of cases without"], 32)
    for name, summary in plan["figures"].items():
        what, kind = FIGURES[name]
        _name(sheet, what, f"{key}.figures.{name}")
        for column, part in enumerate(parts, start=_FIRST):
            absent = NEVER if kind == "years" and not part.endswith("error") else NONE
            form, place = form_of(sheet, kind), f"{key}.figures.{name}.{part}"
            _value(sheet, column, summary[part], form, place, absent)
        _value(sheet, _FIRST + len(parts), summary["none"], "0.0%", f"{key}.figures.{name}.none")
        sheet.row += 1


def _running(sheet: Sheet, running: Plain, key: str) -> None:
    """Percentiles of the running total, a row a year."""
    _columns(
        sheet,
        ["Running total at the end of year", "", "id", "P10", "P50", "P90"],
        [f"Year {year}" for year in range(len(running["p50"]))],
        [(running[part], f"{key}.running.{part}") for part in _PERCENTILES],
        [sheet.book.money] * len(_PERCENTILES),
    )


def _histogram(sheet: Sheet, histogram: Plain, key: str) -> None:
    """How many cases have an NPV between two amounts."""
    edges, counts = histogram["edges"], histogram["counts"]
    lows, highs = zip(*pairwise(edges), strict=True)
    _columns(
        sheet,
        ["Cases by NPV", "", "id", "From", "To", "Cases"],
        [f"Step {k}" for k in range(1, len(counts) + 1)],
        [(lows, ""), (highs, ""), (counts, f"{key}.histogram.counts")],
        [sheet.book.money, sheet.book.money, "#,##0"],
    )


def _columns(
    sheet: Sheet,
    head: Sequence[str],
    names: Sequence[str],
    columns: Sequence[tuple[Sequence[float], str]],
    forms: Sequence[str],
) -> None:
    """Rows that stand below one another, an id for each column."""
    sheet.head(head)
    first = sheet.row
    for k, name in enumerate(names):
        sheet.write(sheet.row, 0, name)
        for column, (values, _) in enumerate(columns, start=_FIRST):
            _value(sheet, column, values[k], forms[column - _FIRST])
        sheet.row += 1
    for column, (_, key) in enumerate(columns, start=_FIRST):
        if key:
            sheet.book.ids[key] = Place(sheet.name, first, column, len(names), down=True)
    keys = [key for _, key in columns if key]
    for row, key in zip(range(first, sheet.row), keys, strict=False):
        sheet.write(row, ID, key, font_color=PALE, font_size=8)


def _name(sheet: Sheet, what: str, key: str) -> None:
    sheet.write(sheet.row, 0, what, text_wrap=True)
    sheet.write(sheet.row, ID, key, font_color=PALE, font_size=8)


def _value(sheet: Sheet, column: int, value: float | None, form: str, key: str = "", absent: str = NONE) -> None:
    """One value of the engine; the word for it where there is none."""
    shown = absent if value is None else float(value)
    sheet.write(sheet.row, column, shown, align="right", num_format=form, bg_color=FIXED_FILL)
    if key:
        sheet.book.ids[key] = Place(sheet.name, sheet.row, column)


def _form(sheet: Sheet, unit: str) -> str:
    return {"share": "0.00%", "money": sheet.book.money, "price": sheet.book.price}.get(unit, "#,##0.####")
