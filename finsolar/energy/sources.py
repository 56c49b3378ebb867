"""Where a house's sun and load come from: stations, files, twelve monthly numbers, or a list of appliances.

Faults of a file, or of numbers that only a place makes wrong, are told at the line of the scenario that leads there.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.appliances import Appliance, appliance_load
from finsolar.energy.clock import Clock, standard_offset
from finsolar.energy.green_button import read_green_button
from finsolar.energy.load import hourly_load
from finsolar.energy.meter import Found, MeterYear
from finsolar.energy.meter_csv import read_meter_csv
from finsolar.energy.sun_hours import synthetic_year
from finsolar.energy.weather import DAYS_IN_MONTH, Weather, read_station
from finsolar.energy.weather_files import (
    PriceYear,
    WeatherFileError,
    read_prices,
    read_production,
    read_weather_file,
)
from finsolar.scenario.problems import Problem, ScenarioError, printable
from finsolar.scenario.schema import ApplianceLine, FileSun, Load, NewLoad, Scenario, StationSun, SunHours

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Usage:
    """The first year of a house's use.

    ``base`` (steps,) kWh, which grows; ``later`` the loads to come, each with the first year in which it runs and its
    (steps,) kWh; ``metered`` the meter's own year, where there is one.
    """

    base: Array
    later: tuple[tuple[int, Array], ...]
    metered: MeterYear | None = None

    @property
    def found(self) -> Found | None:
        """What the meter's file holds."""
        return None if self.metered is None else self.metered.found


def weather_of(scenario: Scenario) -> Weather:
    """The weather year that a scenario names; raises ScenarioError for a file or numbers that cannot be one."""
    sun = scenario.weather
    if isinstance(sun, str):
        return _station(sun)
    if isinstance(sun, StationSun):
        return _station(sun.station)
    if isinstance(sun, FileSun):
        return _weather_file(scenario, sun)
    return _made_up(scenario, sun)


def brightness_of(scenario: Scenario) -> Array:
    """The sunlight of the household's years over that of the weather's year, one number or one a case, (..., 1)."""
    sun = scenario.weather
    return np.asarray(1.0 if isinstance(sun, str) else sun.brightness, dtype=np.float64)


def usage_of(scenario: Scenario, clock: Clock) -> Usage:
    """What the house uses in its first year, step by step; raises ScenarioError for a meter's file that cannot be."""
    load, south = scenario.household.load, scenario.place.latitude < 0
    later = tuple((new.from_year, _new_load(new, clock)) for new in load.new_loads)
    if load.file is not None:
        year = _meter_file(scenario, load, clock)
        return Usage(year.steps, later, year)
    if load.appliances is not None:
        return Usage(appliance_load(appliances_of(load.appliances), clock), later)
    assert load.monthly_kwh is not None and load.shape is not None  # the schema lets pass no other source
    shape = load.shape if isinstance(load.shape, str) else [float(weight) for weight in load.shape]
    return Usage(hourly_load(np.array(load.monthly_kwh, dtype=np.float64), shape, clock, southern=south), later)


def appliances_of(lines: list[ApplianceLine]) -> list[Appliance]:
    """The appliances of a scenario."""
    return [
        Appliance(
            name=line.item,
            watts=line.watts,
            hours_a_day=line.hours_a_day,
            duty=line.duty,
            starting_watts=line.starting_watts,
            between=line.hours,
            months=line.months,
            on_backup=line.on_backup,
            count=line.count,
        )
        for line in lines
    ]


def production_of(scenario: Scenario, name: str, field: str) -> Array:
    """The household's own record of production, alternating current, (8760,) kWh.

    ``name`` as the scenario writes it in ``field``, a path such as ``alternatives.0.system.production``. Raises
    ScenarioError for a file that cannot be used.
    """
    path = _there(scenario, name, field)
    try:
        return read_production(path)
    except WeatherFileError as error:
        raise _file_fault(error) from error


def hourly_prices_of(scenario: Scenario, name: str, field: str) -> Array:
    """The price of each hour of the year, (8760,) money per kWh, from a file of the household; raises ScenarioError."""
    return price_year_of(scenario, name, field).price


def price_year_of(scenario: Scenario, name: str, field: str) -> PriceYear:
    """The same, with the year that the file is dated."""
    path = _there(scenario, name, field)
    try:
        return read_prices(path)
    except WeatherFileError as error:
        raise _file_fault(error) from error


@lru_cache(maxsize=8)
def _station(name: str) -> Weather:
    return read_station(name)


def _weather_file(scenario: Scenario, sun: FileSun) -> Weather:
    path = _there(scenario, sun.file, "weather.file")
    try:
        return read_weather_file(path, sun.kind, standard_offset(scenario.place.timezone))
    except WeatherFileError as error:
        raise _file_fault(error) from error


def _made_up(scenario: Scenario, sun: SunHours) -> Weather:
    place = scenario.place
    try:
        return synthetic_year(
            np.array(sun.sun_hours, dtype=np.float64),
            place.latitude,
            place.longitude,
            standard_offset(place.timezone),
            None if sun.temperature is None else np.array(sun.temperature, dtype=np.float64),
            sun.seed,
            "sun hours",
        )
    except ValueError as error:
        what, _, mend = str(error).partition("; ")
        raise scenario.origin.refusal("weather.sun_hours", what, mend, "sun-hours") from error


def _meter_file(scenario: Scenario, load: Load, clock: Clock) -> MeterYear:
    assert load.file is not None
    path = _there(scenario, load.file, "household.load.file")
    zone = scenario.place.timezone
    if path.suffix.lower() == ".xml":
        if load.stamps is not None:
            what, mend = "is of no use to a Green Button file, which says it", "remove stamps"
            raise scenario.origin.refusal("household.load.stamps", what, mend, "load-stamps")
        return read_green_button(path, zone, standard_offset(zone), clock.per_hour)
    return read_meter_csv(path, zone, standard_offset(zone), load.stamps, clock.per_hour)


def _new_load(new: NewLoad, clock: Clock) -> Array:
    if new.monthly_kwh is not None:
        monthly = np.array(new.monthly_kwh, dtype=np.float64)
    else:
        months = range(12) if new.months is None else new.months
        monthly = float(new.kwh_a_day or 0.0) * DAYS_IN_MONTH * np.isin(np.arange(12), list(months))
    hours = range(24) if new.hours is None else new.hours
    return hourly_load(monthly, [float(hour in hours) for hour in range(24)], clock)


def _there(scenario: Scenario, name: str, field: str) -> Path:
    """The path of a file that the scenario names, if there is such a file."""
    path = scenario.origin.beside(name)
    what = "and there is no such file"
    try:
        if path.is_file():
            return path
        if path.exists():
            what = "which is a folder" if path.is_dir() else "which is no ordinary file"
    except (OSError, ValueError):
        pass
    what = f"names {printable(str(path), 300)}, {what}"
    raise scenario.origin.refusal(field, what, "paths start at the scenario's own folder", "no-file")


def _file_fault(error: WeatherFileError) -> ScenarioError:
    mend = "mend the file, or name another"
    return ScenarioError([Problem(str(error.path), error.line or 0, "", error.problem, mend, "energy-file")])
