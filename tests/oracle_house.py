"""The oracle's house: plain loops over steps, months and years, floats and lists only.

`oracle` says what for. Years count from 1 and are held in lists from 0. In every step, with the sun's energy before
any limit, the use (load and idle draw) and the inverter's limit:

    apart   the inverter limits the sun; what is left after the use is a surplus, what is missing a deficit
    shared  (battery coupled to the direct current) sun and battery together pass no more than the limit: use beyond
            it no battery can serve, and a surplus beyond it goes into the battery or is cut off
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from oracle_battery import TRACE, Cell, Orders, falls_below, orders_of, renewed_by_line, warranty
from oracle_bills import generator_bill, grid_bill, litres, peaks, periods, priced_weekdays, sheets
from oracle_numbers import Rows
from oracle_sun import Setting, record

from finsolar.scenario.schema import Alternative, System, Tariff


@dataclass
class House:
    """A house run one way: yearly sums of energy, bills by component, and what became of its battery.

    ``first_taken`` is what it drew from the grid in each step of its first year.
    """

    energy: dict[str, Any]
    bill: dict[str, Rows]
    battery: dict[str, Any]
    worn_out: list[int]
    warranty: dict[str, float | str] | None
    first_taken: list[float]

    def shown_bill(self) -> dict[str, Any]:
        """Return the bill as a study shows it."""
        years, months = range(len(self.energy["load"])), range(12)
        parts = self.bill.values()
        return {
            "by_year": {name: [sum(year) for year in rows] for name, rows in self.bill.items()},
            "total_by_year": [sum(sum(rows[k]) for rows in parts) for k in years],
            "first_year_by_month": {name: rows[0] for name, rows in self.bill.items()},
            "first_year_total_by_month": [sum(rows[0][m] for rows in parts) for m in months],
        }

    def cost(self, component: str, year: int) -> float:
        """Return one component of the bill of a year counted from 0, nothing where the house lacks it."""
        return sum(self.bill[component][year]) if component in self.bill else 0.0


def run_house(setting: Setting, plan: Alternative | None, stay: House | None = None) -> House:
    """Run the house step by step: as it is today, or with a plan, beside the house as it would ``stay``."""
    scenario = setting.scenario
    years = scenario.study.years
    system = None if plan is None else plan.system
    owner = scenario if plan is None else plan
    tariff = None if system is not None and system.operation == "off grid" else owner.tariff
    engine = owner.generator if tariff is None else None  # beside a grid it stands still

    by_year = [None] * years if tariff is None else sheets(tariff, years)
    by_step = _Prices(setting, tariff).periods
    cell = None
    if system is not None and system.battery != "none":
        cell = Cell(system.battery, setting.hours, system.inverter.kw)
        if engine is not None and engine.start_at is not None:
            cell.levels = (engine.start_at, engine.stop_at)
    walk = _Walk(
        setting,
        system,
        cell,
        grid=tariff is not None,
        exported_kw=_way_out(tariff) if plan is not None else 0.0,
        most_made=0.0 if engine is None else engine.kw * setting.hours,
        offered=[0.0] * len(by_step) if system is None else setting.offered(system),
        orders=None if plan is None or tariff is None or cell is None else orders_of(setting, plan, by_step),
    )
    named = renewed_by_line(plan, years) if plan is not None and cell is not None else set()
    capacity, renewed, worn_out, useful = [], [], [], []
    before: dict[int, Rows] = {}
    first_taken: list[float] = []
    for year in range(1, years + 1):
        if year == 1 or by_year[year - 1] is not by_year[year - 2]:
            walk.prices = _Prices(setting, by_year[year - 1])
            if year > 1:
                before[year - 1] = walk.prices.peaks(walk.taken)
        began = walk.year(year)
        if year == 1:
            first_taken = walk.taken
            before[0] = walk.prices.peaks(first_taken if stay is None else stay.first_taken)
        sums = {name: rows[-1] for name, rows in walk.monthly.items()}
        # Told from where the load's energy came, not from where the sun's went: what no other source gave, what
        # was sold, and what the battery keeps for the next year.
        others = sum(sum(sums[name]) for name in ("imported", "generator", "unserved"))
        kept = 0.0 if cell is None else cell.stored - began
        useful.append(max(sum(sums["load"]) - others + sum(sums["exported"]) + kept, 0.0))
        capacity.append(0.0 if cell is None else cell.full)
        if cell is None or plan is None:
            continue
        cell.end_year(sum(sums["discharge"]))
        if falls_below(plan, cell):
            worn_out.append(year)
        if year < years and (year in named or year in worn_out):
            cell.renew()
            renewed.append(year)

    monthly = walk.monthly
    monthly["load_from_sun"] = [
        [max(used - sum(others), 0.0) for used, *others in zip(*rows, strict=True)]
        for rows in zip(*(monthly[name] for name in ("load", "imported", "generator", "unserved")), strict=True)
    ]
    energy: dict[str, Any] = {name: [sum(row) for row in rows] for name, rows in monthly.items()}
    energy["useful"] = useful
    energy["first_year_by_month"] = {
        name: monthly[name][0]
        for name in ("load", "load_from_sun", "solar", "imported", "exported", "generator", "unserved")
    }
    burnt = litres(engine, monthly["generator"], monthly["generator_hours"])
    energy["fuel_litres"] = [sum(row) for row in burnt]
    bill = {}
    if tariff is not None:
        array_kw = 0.0 if system is None else sum(array.kw for array in system.arrays)
        of_years = [sheet for sheet in by_year if sheet is not None]
        # A meter of production counts what flows through it: nothing of what had nowhere to go.
        made = [
            [sun - idle for sun, idle in zip(*rows, strict=True)]
            for rows in zip(monthly["solar"], monthly["curtailed"], strict=True)
        ]
        day = scenario.study.in_service if plan is None or plan.in_service is None else plan.in_service
        of_grid = (walk.bought, walk.sold, made, walk.highest, array_kw, walk.spot)
        bill = grid_bill(of_years, *of_grid, begins=day.month - 1, before=before)
    if engine is not None:
        bill |= generator_bill(engine, burnt, monthly["generator_hours"], scenario.study.inflation)
    delivered = [0.0] * years if cell is None else cell.by_year
    battery = {
        "battery_capacity": capacity,
        "battery_cycles": [0.0 if cell is None else kwh / cell.said.kwh for kwh in delivered],
        "battery_renewed_after": renewed,
    }
    promised = None if cell is None else warranty(cell.said, delivered, renewed)
    return House(energy, bill, battery, worn_out, promised, first_taken)


def _idle_and_limits(system: System | None, hours: float) -> tuple[float, float, float]:
    """Return what is drawn standing by, what the inverter passes of the sun, and what of sun and battery, in a step."""
    if system is None:
        return 0.0, math.inf, math.inf
    limit = system.inverter.kw * hours
    standing = system.inverter.idle_watts / 1000 * hours
    if system.battery != "none":
        standing += system.battery.standby_watts / 1000 * hours
        if system.battery.coupling == "dc":
            return standing, math.inf, limit
    return standing, math.inf if system.production is not None else limit, math.inf


def _way_out(tariff: Tariff | None) -> float:
    """Return the most that may leave the house, kW: it is set up once, for the tariff it begins with."""
    if tariff is None or tariff.export.scheme == "none":
        return 0.0
    return math.inf if tariff.export.limit_kw is None else tariff.export.limit_kw


class _Prices:
    """One tariff laid on the steps of a year: the period of each, how many there are, and the demand windows."""

    def __init__(self, setting: Setting, tariff: Tariff | None) -> None:
        self.setting, self.tariff = setting, tariff
        wall = (setting.months, setting.weekdays, setting.clock)
        self.weekdays = priced_weekdays(tariff, setting.scenario.place, *wall)
        self.periods = periods(tariff, setting.months, self.weekdays, setting.clock)
        self.size = 1 if tariff is None else len(tariff.energy)
        self.hourly: list[float] | None = None
        if tariff is not None and tariff.hourly_prices is not None:
            by_hour = record(setting.scenario.origin.folder / tariff.hourly_prices.file)
            self.hourly = [price for price in by_hour for _ in range(setting.per_hour)]

    def peaks(self, taken: list[float]) -> Rows:
        """Return the highest import of each month and window, kW."""
        setting = self.setting
        if self.tariff is None or not self.tariff.demand:
            return [[] for _ in range(12)]
        return peaks(self.tariff, taken, setting.hours, setting.months, self.weekdays, setting.clock)


@dataclass
class _Walk:
    """What holds in every step of every year; `year` walks through one and adds its sums to the lists.

    ``prices`` those of the year, ``exported_kw`` the most that may leave the house, ``taken`` what was drawn from the
    grid in each step of the latest year.
    """

    setting: Setting
    system: System | None
    cell: Cell | None
    grid: bool
    exported_kw: float
    most_made: float
    offered: list[float]
    orders: Orders | None
    monthly: dict[str, Rows] = field(default_factory=dict)
    bought: list[Rows] = field(default_factory=list)
    sold: list[Rows] = field(default_factory=list)
    highest: list[Rows] = field(default_factory=list)
    spot: list[Rows] = field(default_factory=list)
    taken: list[float] = field(default_factory=list)
    prices: _Prices = field(init=False)

    def year(self, year: int) -> float:
        """Walk through a year counted from 1; return what the battery held when it began."""
        setting, system, cell, orders = self.setting, self.system, self.cell, self.orders
        hours = setting.hours
        solar, clipped, charged, bought, discharged, over, made, running, unserved = ([0.0] * 12 for _ in range(9))
        exported, curtailed, taken = [0.0] * 12, [0.0] * 12, [0.0] * len(setting.months)
        drawn = [[0.0] * self.prices.size for _ in range(12)]
        spot = [[0.0, 0.0] for _ in range(12)]
        hourly = self.prices.hourly or [0.0] * len(setting.months)
        fed = [[0.0] * self.prices.size for _ in range(12)]
        loads = setting.load(year)
        shine = 0.0 if system is None else setting.shine(system, year)
        idle, own_limit, shared_limit = _idle_and_limits(system, hours)
        began = 0.0
        if cell is not None:
            cell.begin_year()
            began = cell.stored
        charging = cell is not None and cell.levels is not None
        rows = zip(setting.months, self.prices.periods, loads, self.offered, strict=True)
        for place, (month, period, load, unlimited) in enumerate(rows):
            could = unlimited * shine
            sun = could if could < own_limit else own_limit
            use = load + idle
            through = use if use < shared_limit else shared_limit
            direct = sun if sun < through else through
            surplus, deficit, beyond = sun - direct, through - direct, use - through
            charge = top_up = discharge = gave = 0.0
            if cell is not None:
                if orders is not None:
                    charge, top_up, discharge, gave = cell.told(
                        surplus, deficit, orders.keep[place], orders.target[place]
                    )
                elif charging:
                    charge, top_up, discharge, gave = cell.with_generator(surplus, deficit, beyond, self.most_made)
                else:
                    charge, top_up, discharge, gave = cell.greedy(surplus, deficit)
                charged[month] += charge
                bought[month] += top_up
                discharged[month] += discharge
            if could > 0:
                left = surplus - (charge - top_up)
                cut = max(left - max(shared_limit - direct - discharge, 0.0), 0.0)
                left -= cut
                solar[month] += sun - cut
                clipped[month] += could - sun + cut
                over[month] += left
                out = min(left, self.exported_kw * hours)
                exported[month] += out
                curtailed[month] += left - out
                fed[month][period] += out
                spot[month][1] += out * hourly[place]
            missing = deficit + beyond - discharge
            if self.grid:
                taken[place] = missing + top_up
                drawn[month][period] += taken[place]
                spot[month][0] += taken[place] * hourly[place]
                continue
            if not charging:
                if missing < TRACE:
                    continue  # what rounding leaves of a deficit starts no engine
                gave = min(missing, self.most_made)
            made[month] += gave
            if gave > TRACE:
                running[month] += hours
            lacking = missing - (gave - top_up)
            if lacking > TRACE:
                unserved[month] += lacking
        used, standing = [0.0] * 12, [0.0] * 12
        for month, load in zip(setting.months, loads, strict=True):
            used[month] += load
            standing[month] += idle
        lost = [0.0] * 12
        if cell is not None:
            for month in range(12):
                lost[month] = charged[month] * (1 - cell.way_in) + discharged[month] * (1 / cell.way_out - 1)
        sums = {
            "load": used, "solar": solar, "clipped": clipped, "idle": standing, "charge": charged,
            "self_used": [one - other for one, other in zip(solar, over, strict=True)], "charge_bought": bought,
            "discharge": discharged, "battery_loss": lost, "curtailed": curtailed, "unserved": unserved,
            "generator": made, "generator_hours": running, "imported": [sum(row) for row in drawn],
            "exported": exported,
        }  # fmt: skip
        for name, row in sums.items():
            self.monthly.setdefault(name, []).append(row)
        self.bought.append(drawn)
        self.sold.append(fed)
        self.taken = taken
        self.highest.append(self.prices.peaks(taken))
        self.spot.append(spot)
        return began
