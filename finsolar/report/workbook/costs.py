"""Costs in a workbook: what it takes to build, line by line, and what comes back, year by year."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike

from finsolar.money.costs import PricedLine, covered_in, due_in, left_at_age
from finsolar.report.workbook.cells import FIXED_FILL, ID, PALE, Formula, Line, Place, Sheet, address, quoted
from finsolar.report.workbook.inputs import Inputs
from finsolar.scenario.outlay import PRICES, SERVICES, CostLine, Purchase, UpkeepLine

_HEADS = ("Line", "Category", "id", "Price of one", "How many", "Chance", "If it comes", "Price", "Tax", "Sales tax",
          "Allowance", "For the unforeseen", "Total", "Share left", "Left, today’s money", "Share resold",
          "Resold, today’s money", "At the end of year")  # fmt: skip
_KEYS = {5: "chance", 6: "full_price", 7: "price", 9: "sales_tax", 11: "contingency", 12: "total"}
_SHARES, _MONEY = (5, 8, 10, 13, 15), (3, 6, 7, 9, 11, 12, 14, 16)
CHANCE, FULL, PRICE, TAXED, TAX, ALLOWED, SPARE, TOTAL, SHARE_LEFT, LEFT, SHARE_SOLD, SOLD, SOLD_IN = range(5, 18)


@dataclass(frozen=True)
class Built:
    """Cells of what it costs to build: ``gross`` all lines, ``left`` today's money at the end; ``own`` : of some
    categories, cells of totals, left and resold."""

    gross: str
    left: str
    sold: tuple[tuple[int, str], ...]
    totals: tuple[tuple[str, str], ...]
    lefts: tuple[tuple[str, str], ...]
    solds: tuple[tuple[str, int, str], ...]


def write_costs(
    sheet: Sheet,
    inputs: Inputs,
    path: str,
    lines: Sequence[CostLine],
    priced: Sequence[PricedLine],
    purchase: Purchase | None,
    sizes: tuple[float, float],
    key: str = "",
) -> Built:
    """The table of cost lines.

    path : of what holds the lines in the scenario; purchase : shares that lines without their own take, None where
    nothing is shared; sizes : kW of modules and kWh of the battery, which prices may go by; key : the id of the lines.
    """
    sheet.head(_HEADS, 30)
    for column, name in _KEYS.items() if key else ():
        sheet.write(sheet.row, column, name, font_color=PALE, font_size=8)
    sheet.row += 1 if key else 0
    first, years = sheet.row, sheet.book.years
    totals, lefts, solds = [], [], []
    for k, (line, found) in enumerate(zip(lines, priced, strict=True)):
        own, row = f"{path}.costs.{k}", sheet.row

        def at(column: int, row: int = row) -> str:
            return address(row, column)

        def stated(name: str, own: str = own) -> Formula:
            return Formula(inputs.ref(f"{own}.{name}"))

        each = next(name for name in PRICES if getattr(line, name) is not None)
        counts = {"cost": 1.0, "each": 1.0 if line.quantity is None else stated("quantity"), "per_kw": sizes[0],
                  "per_kwh": sizes[1], "per_hour": None if line.hours is None else stated("hours")}  # fmt: skip
        cells: dict[int, Formula | float | None] = {
            3: stated(each),
            4: counts[each],
            CHANCE: stated("chance") if "chance" in line.model_fields_set else 1.0,
            FULL: Formula(f"{at(3)}*{at(4)}"),
            PRICE: Formula(f"{at(FULL)}*{at(CHANCE)}"),
            TAXED: _shared(inputs, line, purchase, path, own, "sales_tax"),
            TAX: Formula(f"{at(PRICE)}*{at(TAXED)}"),
            ALLOWED: _shared(inputs, line, purchase, path, own, "contingency"),
            SPARE: Formula(f"({at(PRICE)}+{at(TAX)})*{at(ALLOWED)}"),
            TOTAL: Formula(f"{at(PRICE)}+{at(TAX)}+{at(SPARE)}"),
            SHARE_LEFT: float(left_at_age(line, years)),
            LEFT: Formula(f"{at(PRICE)}*{at(SHARE_LEFT)}"),
        }
        if line.resold is not None:
            cells |= {SHARE_SOLD: stated("resold"), SOLD: Formula(f"{at(PRICE)}*{at(SHARE_SOLD)}"),
                      SOLD_IN: float(line.resold_in)}  # fmt: skip
        sheet.write(row, 0, line.item)
        sheet.write(row, 1, line.category, font_color=PALE)
        for column, value in cells.items():
            form = "0.0%" if column in _SHARES else sheet.book.money if column in _MONEY else "0.##"
            fill = {} if isinstance(value, Formula) else {"bg_color": FIXED_FILL}
            sheet.write(row, column, value, num_format=form, **fill)
        if key:
            sheet.write(row, ID, f"{key}.{k}", font_color=PALE, font_size=8)
            for column, name in _KEYS.items():
                sheet.book.ids[f"{key}.{k}.{name}"] = Place(sheet.name, row, column)
        totals.append((line.category, at(TOTAL)))
        lefts.append((line.category, at(LEFT)))
        if line.resold is not None and line.resold_in <= years:
            solds.append((line.category, line.resold_in, at(SOLD)))
        sheet.row += 1
        assert found.item == line.item  # the engine priced these lines in this order
    sheet.write(sheet.row, 0, "All lines", bold=True, top=1)
    for column in (TOTAL, LEFT):
        span = f"{address(first, column)}:{address(sheet.row - 1, column)}" if lines else ""
        value = Formula(f"SUM({span})") if span else Formula("0")
        sheet.write(sheet.row, column, value, num_format=sheet.book.money, bold=True, top=1)
    place = quoted(sheet.name)
    sheet.row += 1
    return Built(
        gross=f"{place}!{address(sheet.row - 1, TOTAL)}",
        left=f"{place}!{address(sheet.row - 1, LEFT)}",
        sold=tuple((year, f"{place}!{cell}") for _, year, cell in solds),
        totals=tuple((category, f"{place}!{cell}") for category, cell in totals),
        lefts=tuple((category, f"{place}!{cell}") for category, cell in lefts),
        solds=tuple((category, year, f"{place}!{cell}") for category, year, cell in solds),
    )


def _shared(
    inputs: Inputs, line: CostLine, purchase: Purchase | None, path: str, own: str, name: str
) -> Formula | float:
    """The tax or the allowance of a line: its own, or the one that is shared."""
    if getattr(line, name) is not None:
        return Formula(inputs.ref(f"{own}.{name}"))
    if purchase is None:
        return 0.0
    if name == "contingency" and line.category in purchase.contingency_by:
        return Formula(inputs.ref(f"{path}.purchase.contingency_by.{line.category}"))
    if name == "sales_tax" and line.category in SERVICES:
        name = "services_tax"
    return Formula(inputs.ref(f"{path}.purchase.{name}"))


@dataclass
class Later:
    """Rows of what comes back by kind, and cells of what is left of it at the end; of each with its category."""

    rows: dict[str, list[tuple[str, Line]]] = field(default_factory=dict)
    lefts: list[tuple[str, str]] = field(default_factory=list)

    def sum_of(self, kind: str, year: int, category: str | None = None) -> str:
        """The money of a kind in a year, positive, as a formula."""
        cells = [row.at(year) for own, row in self.rows.get(kind, []) if category in (None, own)]
        return "+".join(cells) if cells and year else "0"

    def left(self, category: str | None = None) -> str:
        """What is left of replacements at the end, as a formula."""
        cells = [cell for own, cell in self.lefts if category in (None, own)]
        return "+".join(cells) if cells else "0"


def kind_of(line: UpkeepLine) -> str:
    """Which money a cost that comes back is."""
    if line.is_investment:
        return "replacements"
    return line.category if line.category in {"insurance", "removal"} else "upkeep"


def write_upkeep(
    sheet: Sheet, inputs: Inputs, path: str, lines: Sequence[UpkeepLine], worn_out: ArrayLike = (False,)
) -> Later:
    """Costs that come back: when each falls due, and its money by year; ``worn_out`` as in `money.costs.due_in`."""
    later, years = Later(), sheet.book.years
    for k, line in enumerate(lines):
        own = f"{path}.upkeep.{k}"
        due = np.broadcast_to(due_in(line, years, worn_out), (years,))
        free = covered_in(line, due)
        parts = sheet.line(
            line.item, [float(x) for x in due * ~free], note="falls due", first=1, form="0", font_color=PALE
        )
        times = parts
        if free.any():
            times = sheet.line(
                line.item, [float(x) for x in due], note="work falls due", first=1, form="0", font_color=PALE
            )
        index = inputs.index(None if line.rise is None else f"{own}.rise")
        work = inputs.index(None)
        cost = inputs.ref(f"{own}.cost")
        labour = inputs.ref(f"{own}.labour") if "labour" in line.model_fields_set else ""

        def money(
            year: int, parts: Line = parts, times: Line = times, index: Line = index, work: Line = work,
            cost: str = cost, labour: str = labour,
        ) -> Formula:  # fmt: skip
            worked = f"+{labour}*{work.at(year)}*{times.at(year)}" if labour else ""
            return Formula(f"{cost}*{index.at(year)}*{parts.at(year)}{worked}")

        kind = kind_of(line)
        later.rows.setdefault(kind, []).append((line.category, sheet.line(line.item, money, note=kind, first=1)))
        latest = float((due * np.arange(1, years + 1)).max())
        share = float(left_at_age(line, years - latest)) * float(due.any())
        if share:
            cell = sheet.figure(
                f"Left of it at the end ({share:.0%})",
                Formula(f"{cost}*{index.at(years)}*{share!r}"),
                form=sheet.book.money,
            )
            later.lefts.append((line.category, cell))
    return later
