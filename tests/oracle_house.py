"""The oracle's house and its bills: plain loops over hours, months and years, floats and lists only.

`oracle` says what for. Years count from 1 and are held in lists from 0; money paid is positive in a bill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any
from zoneinfo import ZoneInfo

from finsolar.energy.clock import wall_clock
from finsolar.energy.load import hourly_load
from finsolar.energy.sun import array_output
from finsolar.energy.weather import read_station
from finsolar.scenario.numbers import Range
from finsolar.scenario.schema import Alternative, Battery, Generator, Scenario, System, Tariff, UpkeepLine

Rows = list[list[float]]
"""Amounts by year and month."""

RENEWED = ("inverter", "battery", "modules", "generator")
"""Categories of upkeep that renew a piece of equipment."""

HOURS = range(8760)


def central(value: Any) -> float:
    """Return the value a study without draws uses: the likely one, the mean or the middle."""
    if not isinstance(value, Range):
        return float(value)
    words = dict(zip(value.kind.split(", "), value.values, strict=True))
    if "likely" in words:
        return words["likely"]
    return words["mean"] if "mean" in words else (words["from"] + words["to"]) / 2


def index(rise: Any, years: int) -> list[float]:
    """Return the price index by year: 1 in year 1, then up by each rise, the last one repeating."""
    steps = [float(step) for step in rise] if hasattr(rise, "__len__") else [central(rise)]
    found = [1.0]
    for k in range(years - 1):
        found.append(found[-1] * (1 + steps[min(k, len(steps) - 1)]))
    return found


def due(line: UpkeepLine, years: int) -> list[int]:
    """Return the years at whose end a line falls due; nothing is renewed at the very end of the study."""
    last = years - 1 if line.category in RENEWED else years
    return list(range(line.every if line.first is None else line.first, last + 1, line.every))


@dataclass
class House:
    """A house run one way: yearly sums of energy, bills by component, the battery's kWh by year."""

    energy: dict[str, Any]
    bill: dict[str, Rows]
    capacity: list[float]

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


def run_house(scenario: Scenario, plan: Alternative | None) -> House:
    """Run the house hour by hour: as it is today, or with a plan."""
    years = scenario.study.years
    system = None if plan is None else plan.system
    owner = scenario if plan is None else plan
    off_grid = system is not None and system.operation == "off grid"
    tariff = None if off_grid else owner.tariff
    engine = owner.generator if tariff is None else None  # beside a grid it stands still

    place = scenario.place
    zone = ZoneInfo(place.timezone)
    # Daylight saving only ever adds to the standard time, which the station's hours are taken for.
    ahead = min(datetime(2029, month, 1, tzinfo=zone).utcoffset() or timedelta() for month in range(1, 13))
    clock = wall_clock(place.timezone, ahead.total_seconds() / 3600)
    months, weekdays, hours = ([int(x) for x in row] for row in (clock.month, clock.weekday, clock.hour))
    said = scenario.household.load
    base = hourly_load(said.monthly_kwh, said.shape, clock, southern=place.latitude < 0)
    base_load = [float(kwh) for kwh in base]
    periods = _periods(tariff, months, weekdays, hours)
    size = 1 if tariff is None else len(tariff.energy)
    direct = _direct_current(system, scenario.weather)
    battery = None if system is None or system.battery == "none" else system.battery
    capacity = _capacities(battery, plan, years)
    growth = index(said.growth, years)

    walk = _Walk(months, periods, tariff is not None, tariff is not None and tariff.export.scheme != "none")
    walk.generator_kw = 0.0 if engine is None else engine.kw
    if system is not None:
        walk.inverter_kw, walk.efficiency = system.inverter.kw, system.inverter.efficiency
        walk.idle = system.inverter.idle_watts / 1000
    if battery is not None:
        each_way = math.sqrt(battery.round_trip)
        walk.way_in = _first_told(battery.charge_efficiency, each_way)
        walk.way_out = _first_told(battery.discharge_efficiency, each_way)
        walk.charge_kw = _first_told(battery.charge_kw, battery.kw)
        walk.discharge_kw = _first_told(battery.discharge_kw, battery.kw)

    monthly: dict[str, Rows] = {}
    bought: list[Rows] = []
    sold: list[Rows] = []
    useful: list[float] = []
    reserve = 0.0 if battery is None else battery.reserve
    stored = reserve * capacity[0]
    for year in range(years):
        floor = reserve * capacity[year]
        stored = began = min(max(stored, floor), capacity[year])
        shine = 1.0 if system is None else (1 - system.first_year_loss) * (1 - system.fade) ** year
        load = [kwh * growth[year] for kwh in base_load]
        could = [kwh * shine for kwh in direct]
        sums, imported, exported, stored = walk.year(load, could, floor, capacity[year], stored, size)
        for name, row in sums.items():
            monthly.setdefault(name, []).append(row)
        bought.append(imported)
        sold.append(exported)
        # Told from where the load's energy came, not from where the sun's went: what no other source gave, what
        # was sold, and what the battery keeps for the next year.
        others = sum(sum(sums[name]) for name in ("imported", "generator", "unserved"))
        useful.append(max(sum(sums["load"]) - others + sum(sums["exported"]) + stored - began, 0.0))

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
    litres = _litres(engine, monthly["generator"], monthly["generator_hours"])
    energy["fuel_litres"] = [sum(row) for row in litres]
    bill = {} if tariff is None else _grid_bill(tariff, bought, sold)
    if engine is not None:
        bill |= _generator_bill(engine, litres, monthly["generator_hours"], scenario.study.inflation)
    return House(energy, bill, capacity)


def _first_told(*values: float | None) -> float:
    return next(float(value) for value in values if value is not None)


@cache
def _sun(station: str, tilt: float, azimuth: float, by_kelvin: float) -> list[float]:
    return [float(kwh) for kwh in array_output(read_station(station), tilt, azimuth, by_kelvin)]


def _direct_current(system: System | None, station: str) -> list[float]:
    """Return what all arrays give in their first year, after losses, before fade."""
    direct = [0.0] * 8760
    if system is None:
        return direct
    for array in system.arrays:
        sun = _sun(station, array.tilt, array.azimuth, array.temperature_coefficient)
        for h in HOURS:
            direct[h] += array.kw * sun[h] * (1 - system.losses)
    return direct


def _capacities(battery: Battery | None, plan: Alternative | None, years: int) -> list[float]:
    """Return the usable kWh of each year: a straight line down, back at the top after a renewal."""
    if battery is None or plan is None:
        return [0.0] * years
    renewed = {year for line in plan.upkeep if line.category == "battery" for year in due(line, years)}
    found, age = [], 0
    for year in range(years):
        age = 0 if year in renewed else age  # renewed at the end of year `year`, new in the next
        found.append(battery.kwh * max(1 - battery.fade * age, 0.0))
        age += 1
    return found


def _periods(tariff: Tariff | None, months: list[int], weekdays: list[int], hours: list[int]) -> list[int]:
    """Return the price period of each hour: the one that names it, else the one that takes the rest."""
    found = []
    for month, weekday, hour in zip(months, weekdays, hours, strict=True):
        rest, named = [], []
        for place, period in enumerate([] if tariff is None else tariff.energy):
            if period.months is None and period.days is None and period.hours is None:
                rest.append(place)
            elif (
                (period.months is None or month in period.months)
                and (period.days is None or weekday in period.days)
                and (period.hours is None or hour in period.hours)
            ):
                named.append(place)
        assert tariff is None or len(named) == 1 or (not named and len(rest) == 1)
        found.append((named or rest or [0])[0])
    return found


@dataclass
class _Walk:
    """What holds in every hour of every year; `year` walks through one."""

    months: list[int]
    periods: list[int]
    grid: bool
    exports: bool
    generator_kw: float = 0.0
    inverter_kw: float = 0.0
    efficiency: float = 1.0
    idle: float = 0.0
    way_in: float = 1.0
    way_out: float = 1.0
    charge_kw: float = 0.0
    discharge_kw: float = 0.0

    def year(
        self, load: list[float], direct: list[float], floor: float, full: float, stored: float, periods: int
    ) -> tuple[dict[str, list[float]], Rows, Rows, float]:
        """Return monthly sums, kWh drawn and fed in by month and period, and what the battery holds after."""
        solar, clipped, used, idle, curtailed, charged, discharged, lost, generated, running, unserved = (
            [0.0] * 12 for _ in range(11)
        )
        drawn = [[0.0] * periods for _ in range(12)]
        fed = [[0.0] * periods for _ in range(12)]
        way_in, way_out, standing = self.way_in, self.way_out, self.idle
        for month, period, kwh, sun in zip(self.months, self.periods, load, direct, strict=True):
            alternating = 0.0
            if sun > 0:
                could = sun * self.efficiency
                alternating = min(could, self.inverter_kw)
                solar[month] += alternating
                clipped[month] += could - alternating
            used[month] += kwh
            idle[month] += standing
            surplus = alternating - kwh - standing
            if surplus >= 0:
                charge = min(surplus, self.charge_kw, (full - stored) / way_in)
                stored += charge * way_in
                charged[month] += charge
                lost[month] += charge * (1 - way_in)
                if self.exports:
                    fed[month][period] += surplus - charge
                else:
                    curtailed[month] += surplus - charge
                continue
            missing = -surplus
            discharge = min(missing, self.discharge_kw, max(stored - floor, 0.0) * way_out)
            stored -= discharge / way_out
            discharged[month] += discharge
            lost[month] += discharge * (1 / way_out - 1)
            missing -= discharge
            if self.grid:
                drawn[month][period] += missing
            elif missing > 1e-9:  # what rounding leaves of a deficit starts no engine
                made = min(missing, self.generator_kw)
                generated[month] += made
                running[month] += 1.0 if made > 0 else 0.0
                unserved[month] += missing - made
        imported = [sum(row) for row in drawn]
        exported = [sum(row) for row in fed]
        kept = [a - b - c for a, b, c in zip(solar, exported, curtailed, strict=True)]
        sums = {
            "load": used, "solar": solar, "clipped": clipped, "self_used": kept, "idle": idle,
            "charge": charged, "discharge": discharged, "battery_loss": lost, "curtailed": curtailed,
            "unserved": unserved, "generator": generated, "generator_hours": running,
            "imported": imported, "exported": exported,
        }  # fmt: skip
        return sums, drawn, fed, stored


def _grid_bill(tariff: Tariff, bought: list[Rows], sold: list[Rows]) -> dict[str, Rows]:
    """Return what the grid asks by component, year and month; the credit for export is negative."""
    years = len(bought)
    export = tariff.export
    rises = index(tariff.rise, years)
    fixed_rises = rises if tariff.fixed_rise is None else index(tariff.fixed_rise, years)
    export_rises = rises if tariff.export_rise is None else index(tariff.export_rise, years)
    asked = [central(period.price) for period in tariff.energy]
    paid = 0.0 if export.price is None else central(export.price)
    paid_for_rest = 0.0 if export.surplus_price is None else central(export.surplus_price)
    true_up = 11 if export.true_up_month is None else export.true_up_month[0]
    fixed = [[central(tariff.monthly_charge) * rise] * 12 for rise in fixed_rises]
    energy = [[0.0] * 12 for _ in range(years)]
    credit = [[0.0] * 12 for _ in range(years)]
    bank = [0.0] * len(asked)
    for year in range(years):
        for month in range(12):
            for place, price in enumerate(asked):
                drawn, fed = bought[year][month][place], sold[year][month][place]
                if export.scheme == "net metering":
                    balance = drawn - fed - bank[place]
                    drawn, bank[place] = max(balance, 0.0), max(-balance, 0.0)
                elif export.scheme == "net billing":
                    credit[year][month] -= fed * paid * export_rises[year]
                energy[year][month] += drawn * price * rises[year]
            if month == true_up or (month == 11 and year == years - 1):
                credit[year][month] -= sum(bank) * paid_for_rest * export_rises[year]
                bank = [0.0] * len(asked)
    bill = {"fixed charge": fixed, "energy": energy}
    return bill if export.scheme == "none" else bill | {"export credit": credit}


def _litres(engine: Generator | None, made: Rows, hours: Rows) -> Rows:
    """Return the fuel burnt: a part for each kWh, a part for each hour and rated kW."""
    if engine is None:
        return [[0.0] * 12 for _ in made]
    by_kwh, by_hour = central(engine.litres_per_kwh), central(engine.idle_litres_per_kw) * engine.kw
    return [
        [by_kwh * kwh + by_hour * run for kwh, run in zip(*rows, strict=True)] for rows in zip(made, hours, strict=True)
    ]


def _generator_bill(engine: Generator, litres: Rows, hours: Rows, inflation: Any) -> dict[str, Rows]:
    """Return what the generator costs: its rise is the fuel's, while wear rises with inflation."""
    rises, wear_rises = index(engine.rise, len(litres)), index(inflation, len(litres))
    fuel, wear = central(engine.fuel_price), central(engine.upkeep_per_hour)
    return {
        "generator fuel": [[amount * fuel * rise for amount in row] for row, rise in zip(litres, rises, strict=True)],
        "generator upkeep": [[run * wear * rise for run in row] for row, rise in zip(hours, wear_rises, strict=True)],
    }
