"""The sheets around those of the alternatives: how to read the workbook, inputs, figures side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from finsolar.report.words import in_cash
from finsolar.report.words.awards import LAW_CHANGES
from finsolar.report.words.changes_told import cautions_of
from finsolar.report.words.terms import CAUTIONS, metric_rows
from finsolar.report.workbook.cells import (
    FIXED_FILL,
    HEAD_FILL,
    ID,
    INPUT_FILL,
    PALE,
    Formula,
    Place,
    Sheet,
    address,
    quoted,
)
from finsolar.report.workbook.exact import Promise
from finsolar.report.workbook.figures import ASK, form_of
from finsolar.report.workbook.inputs import Input, Inputs

Plain = dict[str, Any]

_STATE = (
    'IF(fixed_moved>0,"A fixed number was changed: these are no figures of the study. Put it back, or study it again.",'
    'IF(as_studied,"All inputs are as studied.","Inputs were changed: the figures are those of the changed inputs."))'
)


def banner(sheet: Sheet, title: str) -> None:
    """The head of a sheet: what it shows, and whether its figures are those of the study."""
    sheet.page.set_row(0, 24)
    sheet.write(0, 0, title, bold=True, font_size=16)
    sheet.write(1, 0, Formula(_STATE), italic=True, font_color=PALE)
    sheet.row = max(sheet.row, 2)


def write_inputs(sheet: Sheet, inputs: Inputs, plain: Plain, reasons: dict[str, str]) -> None:
    """Every number that formulas use: the free ones to be changed, the fixed ones with the reason."""
    book = sheet.book
    banner(sheet, "Inputs")
    real = inputs.known("study.real_discount_rate")
    sheet.head(("Number", "Value", "id", "As studied", "Lowest", "Highest", "Name", "Whether it may be changed"))
    first = sheet.row
    fixed_rows: list[int] = []
    for title, found in inputs.in_order():
        sheet.write(sheet.row, 0, title, bold=True, font_size=12)
        sheet.row += 1
        for one in found:
            why = reasons.get(one.symbols[0])
            for k, (symbol, value) in enumerate(zip(one.symbols, one.values, strict=True)):
                _input_row(sheet, one, k, symbol, value, why)
                if why is not None:
                    fixed_rows.append(sheet.row)
                sheet.row += 1
    last = max(sheet.row - 1, first)
    if real:
        rate, beyond = inputs.ref("study.inflation"), inputs.ref("study.real_discount_rate")
        sheet.figure("Discount rate, inflation in it", Formula(f"{beyond}+{rate}+{beyond}*{rate}"),
                     key="settings.discount_rate", form="0.00%")  # fmt: skip
        book.define("discount_rate", sheet.name, sheet.row - 1, 1)
    sheet.row += 1
    span = [f"{address(first, column)}:{address(last, column)}" for column in (1, 3)]
    changed = f"SUMPRODUCT(({span[0]}<>{span[1]})*1)"
    sheet.figure("How many inputs differ from the study", Formula(changed), form="0")
    book.define("inputs_moved", sheet.name, sheet.row - 1, 1)
    sheet.figure("All inputs are as studied", Formula("inputs_moved=0"), form="General")
    book.define("as_studied", sheet.name, sheet.row - 1, 1)
    moved = "+".join(f"({address(row, 1)}<>{address(row, 3)})*1" for row in fixed_rows)
    sheet.row += 1
    parts = [moved] if len(moved) < 7000 else []
    if not parts:  # formulas may be 8,192 signs long, so a long sum goes over a column of its own
        for row in fixed_rows:
            sheet.write(row, 8, Formula(f"({address(row, 1)}<>{address(row, 3)})*1"), font_color=PALE)
        parts = [f"SUM({address(first, 8)}:{address(last, 8)})"]
    sheet.figure("How many fixed numbers differ", Formula(parts[0] or "0"), form="0")
    book.define("fixed_moved", sheet.name, sheet.row - 1, 1)


def _input_row(sheet: Sheet, one: Input, k: int, symbol: str, value: float, why: str | None) -> None:
    book, row = sheet.book, sheet.row
    form = {"share": "0.00%", "money": book.money, "price": book.price}.get(one.unit, "#,##0.####")
    year = f", from year {k + 1} to {k + 2}" if len(one.values) > 1 else ""
    sheet.write(row, 0, one.words + year, text_wrap=True)
    free = {"bg_color": INPUT_FILL, "border": 1, "locked": False} if why is None else {"bg_color": FIXED_FILL}
    sheet.write(row, 1, value, num_format=form, **free)
    general = {"study.discount_rate": "settings.discount_rate", "study.inflation": "settings.inflation"}
    sheet.write(row, ID, general.get(one.paths[0], f"scenario.{one.paths[0]}"), font_color=PALE, font_size=8)
    sheet.write(row, 3, value, num_format=form, font_color=PALE)
    if one.paths[0] in general:
        book.ids[general[one.paths[0]]] = Place(sheet.name, row, 1)
    if why is not None:
        sheet.page.set_row(row, 13 * (1 + len(why) // 62))
    for column, end in ((4, one.low), (5, one.high)):
        sheet.write(row, column, end if why is None else None, num_format=form, font_color=PALE)
    sheet.write(row, 6, symbol, font_color=PALE, font_size=9)
    sheet.write(row, 7, "yes, all formulas follow" if why is None else f"no; {why}", text_wrap=True, font_size=9)
    book.define(symbol, sheet.name, row, 1)
    if why is None:
        sheet.page.data_validation(row, 1, row, 1, {
            "validate": "decimal", "criteria": "between", "minimum": one.low, "maximum": one.high,
            "error_title": "Beyond what was tried",
            "error_message": "The formulas were held against the engine between the lowest and the highest value "
            "beside this cell. For others, study the scenario again.",
        })  # fmt: skip


def write_compare(sheet: Sheet, plain: Plain, cells: Sequence[dict[str, str]], columns: Sequence[str]) -> None:
    """The figures of all alternatives side by side, each pointing to where it is worked out."""
    banner(sheet, "The alternatives side by side")
    book = sheet.book
    sheet.row = 3
    sheet.head(["Figure", *(plan["name"] for plan in plain["alternatives"]), "id, within an alternative"], 48)
    last = len(columns) + 1
    rows = [("gross", "Gross cost", "money", "costs.gross"), ("net", "Net cost", "money", "costs.net"),
            ("saving", "Saving of the first year", "money", "bills.first_year_saving")]  # fmt: skip
    rows += [(key, what, kind, f"metrics.{key}") for key, what, kind in metric_rows(plain)]
    if in_cash.counted(plain):
        at = next(k for k, row in enumerate(rows) if row[0] == "npv")
        rows.insert(at + 1, ("npv in cash", in_cash.NPV_WITHOUT, "money", in_cash.PLACES["metrics.npv"]))
    for key, what, kind, place in rows:
        sheet.write(sheet.row, 0, what)
        for i, found in enumerate(cells):
            sheet.write(sheet.row, 1 + i, Formula(found[key]), num_format=form_of(sheet, kind), align="right")
            if key != "npv in cash" or in_cash.apart(plain["alternatives"][i]):
                book.ids[f"compare.{i}.{place}"] = Place(sheet.name, sheet.row, 1 + i)
        sheet.write(sheet.row, last, place, font_color=PALE, font_size=8)
        sheet.row += 1
    sheet.row += 1
    for name, own in zip((plan["name"] for plan in plain["alternatives"]), columns, strict=True):
        sheet.write(sheet.row, 0, "Worked out on the sheet")
        sheet.page.write_url(sheet.row, 1, f"internal:{quoted(own)}!A1", string="go to it")
        sheet.write(sheet.row, 2, name)
        sheet.row += 1


WHAT_IT_IS = (
    "The money of the study as formulas: inputs, awards, bills, cash flow by year and figures of every alternative. "
    "Year 0 is the in-service day; the money of year k falls at its end; money to the household is positive. Hours, "
    "law and draws are not worked out again here: what they gave stands as values.",
    "Each figure has an id, which is its place in the JSON of the same study. There are no macros and no links to "
    "other files.",
)
WHAT_IS_LIVE = (
    "Inputs that may be changed stand on the sheet “Inputs”: {free} of the {all} numbers that the formulas use. When "
    "this workbook was written, each of them was moved to both ends shown beside it, and all of them together; the "
    "engine found what the formulas give. Prices of the tariff, sizes, hours and law are not among them: for others, "
    "change the scenario and study it again.",
    "The IRR is the smallest rate at or above zero that makes the net worth nothing, else the negative one nearest to "
    "it. The search for it shows that no other lies between; should it fail to, the rate of the study stands, and "
    f"“{ASK}” once an input is changed.",
)
NO_INDEX = (
    "Bill, {what}: a value, since a minimum, a bank of credits or a true-up keeps "
    "it from following an index in proportion."
)
VALUES = "Awards, property tax and energy are values of the engine in every case."


def write_read_me(
    sheet: Sheet, plain: Plain, inputs: Inputs, reasons: dict[str, str], bills: Iterable[Promise]
) -> None:
    """What the workbook is, how to read it, what is live in it and what is not, and the cautions."""
    scenario = plain["scenario"]
    banner(sheet, scenario["title"])
    for text in (*filter(None, [scenario.get("note")]), *WHAT_IT_IS):
        sheet.text(text)
    sheet.heading("Colours")
    for look, what in (
        ({"bg_color": INPUT_FILL, "border": 1}, "An input that may be changed; all formulas follow it."),
        ({"bg_color": FIXED_FILL}, "A value of the engine, or a number that must stay as it is."),
        ({"bg_color": HEAD_FILL}, "A head of columns."),
        ({}, "A formula."),
    ):
        sheet.write(sheet.row, 0, "", **look)
        sheet.write(sheet.row, 1, what)
        sheet.row += 1
    sheet.heading("What is live")
    free = sum(one.symbols[0] not in reasons for one in inputs.asked.values())
    for text in WHAT_IS_LIVE:
        sheet.text(text.format(free=free, all=len(inputs.asked)))
    sheet.heading("What is not")
    fixed: dict[str, list[str]] = {}
    for one in inputs.asked.values():
        if one.symbols[0] in reasons:
            fixed.setdefault(reasons[one.symbols[0]], []).append(one.words)
    for why, names in fixed.items():
        sheet.text(f"Fixed: {', '.join(names)}. {why[0].upper()}{why[1:]}.")
    for promise in bills:
        if not promise.follows:
            sheet.text(NO_INDEX.format(what=promise.label))
    sheet.text(VALUES)
    sheet.heading("Cautions")
    for text in dict.fromkeys((*CAUTIONS, LAW_CHANGES, *cautions_of(plain))):
        sheet.text(text)
    sheet.heading("How the study was made")
    for text in plain["notes"]:
        sheet.text(text)
