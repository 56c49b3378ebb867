"""What the levelised cost of energy goes by in a workbook: kWh by year, and what of the money is the battery’s."""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.flows import useful_kwh
from finsolar.money import cashflow as cf
from finsolar.money.energy_cost import BATTERY, backup_given, sun_kwh
from finsolar.report.workbook.cells import Formula, Line
from finsolar.report.workbook.costs import kind_of
from finsolar.report.workbook.plan import PlanSheet
from finsolar.results import Result

Array = NDArray[np.float64]

_FOR_ENERGY_MADE = frozenset({"performance payment", "metered certificates"})


def energy_rows(of: PlanSheet) -> dict[str, Line]:
    """What figures of energy go by, kWh by year: as the engine ran the hours."""
    base, plan, battery = of.base, of.plan, of.plan.system.battery
    position = of.result.position
    standby = 0.0 if battery == "none" else battery.standby_watts / 1000.0
    stated, found = base.settled.household.backup_kwh, of.result.backup
    carried = None if found is None else found.carried
    backup, _ = backup_given(stated, plan, base.settled.tariff is not None, np.asarray(of.there), carried)
    rows = {
        "useful": ("Solar energy put to use, kWh", useful_kwh(position.flows) * of.there),
        "sun": ("The same before the battery’s part, kWh", sun_kwh(position.flows, standby) * of.there),
        "backup": ("Backup drawn, kWh", backup) if stated is None else ("Times of the backup", (backup > 0) * 1.0),
    }
    return {
        name: of.sheet.line(what, [float(x) for x in np.broadcast_to(kwh, (of.years,))], first=1, form="#,##0")
        for name, (what, kwh) in rows.items()
    }


def battery_row(of: PlanSheet) -> Line:
    """What of the money is the battery’s, positive as a cost; see `money.energy_cost.battery_costs`."""
    built, later, result = of.built, of.later, of.result
    own = _sum([cell for category, cell in built.totals if category == BATTERY])
    sheet, money = of.sheet, of.book.money
    share = sheet.figure("The battery’s share of the cost", Formula(f"IF({built.gross}>0,({own})/{built.gross},0)"),
                         form="0.0000%")  # fmt: skip
    price = own + "".join(
        f"-{cell}" if category == BATTERY else f"-{cell}*{share}"
        for category, cell in of.rebates
        if category in (None, BATTERY)
    )
    paid = sheet.figure("Price of the battery, less rebates", Formula(price), form=money)
    shares: dict[str, str] = {}
    for k, (award, _) in enumerate(of.awards):
        if award.spread is not None:
            what = f"The battery’s share of: {award.title}"
            part = of.hold(what, partial(_battery_part, k=k))
            shares[award.rule_id] = sheet.figure(what, float(part[0]), form="0.0000%")
        else:
            shares[award.rule_id] = "0" if award.kind in _FOR_ENERGY_MADE else share
    granted = [(shares[award.rule_id], row) for award, row in (*of.awards, *of.taxes)]
    lines = [line for line in result.plan.upkeep if line.category == BATTERY]
    kinds = {kind_of(line) for line in lines}
    index = of.inputs.index(None)

    def cell(year: int) -> Formula:
        parts = paid if year == 0 else "0"
        parts += "".join(f"-{row.at(year)}*{part}" for part, row in granted if part != "0")
        parts += "".join(f"+{later.sum_of(kind, year, BATTERY)}" for kind in kinds)
        if cf.PROPERTY_TAX in of.lines:
            parts += f"-{of.lines[cf.PROPERTY_TAX].at(year)}*{share}"
        if year == of.years:
            parts += f"-({later.left(BATTERY)})"
        there = 1.0 if year == 0 else of.there[year - 1]
        back = "".join(f"-{cell}*{index.at(year)}" for category, when, cell in built.solds
                       if category == BATTERY and when == year)  # fmt: skip
        if year == of.years:
            back += "".join(f"-{cell}*{index.at(year)}" for category, cell in built.lefts if category == BATTERY)
        return Formula(f"({parts}){'' if there else '*0'}{back}")

    return sheet.line("Of all this the battery’s, as a cost", cell)


def _battery_part(result: Result, k: int) -> Array:
    """The share of an award that falls on the battery, (..., 1)."""
    spread = result.awards[k].spread or []
    parts = [part for part, line in zip(spread, result.costs, strict=False) if line.category == BATTERY]
    return np.asarray(sum(parts, start=np.zeros(())))[..., None]


def _sum(cells: list[str]) -> str:
    return "+".join(cells) if cells else "0"
