"""The oracle's sun and use: what the modules offer and what the house wants, step by step.

From finsolar it takes weather, the year of a meter's file, the direct current of one kW of modules, the named daily
shapes and the wall clock, which have published checks of their own. All else is written out in loops.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from oracle_numbers import DAYS, central, index

from finsolar.energy.clock import wall_clock
from finsolar.energy.load import hourly_load
from finsolar.energy.meter_csv import read_meter_csv
from finsolar.energy.sources import weather_of
from finsolar.energy.sun import array_output
from finsolar.energy.weather import Weather
from finsolar.scenario.schema import ApplianceLine, NewLoad, Scenario, SolarArray, System

CALENDAR = [month for month, days in enumerate(DAYS) for _ in range(days * 24)]
"""The month of each hour of the weather's year, which knows standard time only."""

_KEPT: dict[str, tuple[Weather, dict[tuple[float, ...], list[float]]]] = {}
"""Weather by what the scenario says of it, and what one kW gives in it by tilt, direction and coefficient."""


@dataclass
class Setting:
    """What every way of running one house shares.

    ``hours`` the length of a step; wall clock and kWh for each step; ``later`` loads with their first year.
    """

    scenario: Scenario
    hours: float
    months: list[int]
    weekdays: list[int]
    clock: list[int]
    base: list[float]
    later: list[tuple[int, list[float]]]
    growth: list[float]
    brightness: float

    @property
    def per_hour(self) -> int:
        """How many steps an hour has."""
        return round(1 / self.hours)

    def spread(self, hourly: Sequence[float]) -> list[float]:
        """Return the energy of hours, spread evenly over their steps."""
        return [kwh / self.per_hour for kwh in hourly for _ in range(self.per_hour)]

    def load(self, year: int) -> list[float]:
        """Return the use of a year counted from 1: what grows, and the loads that have come."""
        return self._with_later([kwh * self.growth[year - 1] for kwh in self.base], year)

    def _with_later(self, load: list[float], year: int) -> list[float]:
        for first, kwh in self.later:
            if year >= first:
                load = [one + other for one, other in zip(load, kwh, strict=True)]
        return load

    def offered(self, system: System) -> list[float]:
        """Return the alternating current that modules or a record would give, were there no limit, kWh a step.

        As the weather's year has it, before any fade.
        """
        if system.production is not None:
            return self.spread(record(self.scenario.origin.folder / system.production))
        passed = (1 - system.first_year_loss) * system.inverter.efficiency
        for share in _losses(system):
            passed *= 1 - share
        hourly = [0.0] * len(CALENDAR)
        for array in system.arrays:
            clear = [
                array.kw * passed * (1 - _of_month(array.shading, month)) * (1 - _of_month(system.snow, month))
                for month in range(12)
            ]
            for hour, kwh in enumerate(_one_kw(self.scenario, array)):
                hourly[hour] += kwh * clear[CALENDAR[hour]]
        return self.spread(hourly)

    def shine(self, system: System, year: int) -> float:
        """Return what a year, counted from 1, has of all this."""
        return self.brightness * (1 - system.fade) ** (year - 1)


def setting_of(scenario: Scenario) -> Setting:
    """Return what every way of running the house shares."""
    place, said = scenario.place, scenario.household.load
    per_hour = 60 // scenario.study.step_minutes
    zone = ZoneInfo(place.timezone)
    # Daylight saving only ever adds to the standard time, which the weather's hours are taken for.
    ahead = min(datetime(2029, month, 1, tzinfo=zone).utcoffset() or timedelta() for month in range(1, 13))
    offset = ahead.total_seconds() / 3600
    wall = wall_clock(place.timezone, offset, per_hour)
    months, weekdays, clock = ([int(x) for x in row] for row in (wall.month, wall.weekday, wall.hour))
    if said.file is not None:
        path = scenario.origin.folder / said.file
        base = [float(kwh) for kwh in read_meter_csv(path, place.timezone, offset, said.stamps, per_hour).steps]
    elif said.appliances is not None:
        base = [0.0] * len(months)
        for line in said.appliances:
            base = [one + other for one, other in zip(base, _appliance(line, months, clock), strict=True)]
    elif isinstance(said.shape, str):
        by_hour = wall_clock(place.timezone, offset)
        named = hourly_load(said.monthly_kwh or (), said.shape, by_hour, southern=place.latitude < 0)
        base = [float(kwh) / per_hour for kwh in named for _ in range(per_hour)]
    else:
        base = _by_weight(said.monthly_kwh or (), said.shape or (), months, clock)
    return Setting(
        scenario=scenario,
        hours=1 / per_hour,
        months=months,
        weekdays=weekdays,
        clock=clock,
        base=base,
        later=[(new.from_year, _new_load(new, months, clock)) for new in said.new_loads],
        growth=index(said.growth, scenario.study.years),
        brightness=1.0 if isinstance(scenario.weather, str) else central(scenario.weather.brightness),
    )


def _by_weight(monthly: Sequence[float], weights: Sequence[float], months: list[int], clock: list[int]) -> list[float]:
    """Return kWh a step: each month's energy shared out over its steps by the weight of their hour."""
    whole = [0.0] * 12
    for month, hour in zip(months, clock, strict=True):
        whole[month] += weights[hour]
    return [monthly[month] * weights[hour] / whole[month] for month, hour in zip(months, clock, strict=True)]


def _listed(hours: Sequence[int] | None) -> list[float]:
    return [1.0 if hours is None or hour in hours else 0.0 for hour in range(24)]


def _appliance(line: ApplianceLine, months: list[int], clock: list[int]) -> list[float]:
    """Return what one line uses: as much a day in each of its months, within its hours."""
    a_day = line.watts / 1000 * line.duty * line.hours_a_day * line.count
    monthly = [a_day * days if line.months is None or month in line.months else 0.0 for month, days in enumerate(DAYS)]
    return _by_weight(monthly, _listed(line.hours), months, clock)


def _new_load(new: NewLoad, months: list[int], clock: list[int]) -> list[float]:
    if new.monthly_kwh is not None:
        monthly = list(new.monthly_kwh)
    else:
        monthly = [
            new.kwh_a_day * days if new.months is None or month in new.months else 0.0
            for month, days in enumerate(DAYS)
        ]
    return _by_weight(monthly, _listed(new.hours), months, clock)


def _of_month(share: float | list[float], month: int) -> float:
    return share[month] if isinstance(share, list) else share


def _losses(system: System) -> list[float]:
    return [line.share for line in system.losses] if isinstance(system.losses, list) else [system.losses]


def _one_kw(scenario: Scenario, array: SolarArray) -> list[float]:
    """Return what one kW of modules gives in each hour of the weather's year; kept, since pvlib takes its time."""
    said = repr((scenario.weather, scenario.place, str(scenario.origin.folder)))
    weather, known = _KEPT.setdefault(said, (weather_of(scenario), {})) if said not in _KEPT else _KEPT[said]
    key = (array.tilt, array.azimuth, array.temperature_coefficient)
    if key not in known:
        known[key] = [float(kwh) for kwh in array_output(weather, *key)]
    return known[key]


def record(path: Path) -> list[float]:
    """Return the hours of a record of production or of prices: the last number of each line."""
    cells = [line.replace(";", ",").split(",")[-1] for line in path.read_text(encoding="utf-8").splitlines()]
    return [float(cell) for cell in cells if cell.strip().removeprefix("-").replace(".", "", 1).isdigit()]
