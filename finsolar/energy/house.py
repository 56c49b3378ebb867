"""One house over all its years: from what the scenario says of its system to the balance of every hour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.battery import Battery, split_evenly
from finsolar.energy.clock import HOURS, Clock, standard_offset, wall_clock
from finsolar.energy.fade import ages, array_factor, battery_factor
from finsolar.energy.flows import Hourly, run_hours
from finsolar.energy.load import hourly_load
from finsolar.energy.sun import array_output, inverter_output
from finsolar.energy.weather import Weather, read_station
from finsolar.scenario import schema
from finsolar.scenario.rises import growth

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Site:
    """The sun over a house and the clock on its wall."""

    weather: Weather
    clock: Clock


def site_of(scenario: schema.Scenario) -> Site:
    """The weather year that a scenario names, and the wall clock of its place.

    The station's hours are taken for the house's own standard time, so that a station borrowed from another
    time zone brings its sun up in the morning all the same.
    """
    timezone = scenario.place.timezone
    return Site(_station(scenario.weather), wall_clock(timezone, standard_offset(timezone)))


@lru_cache(maxsize=8)
def _station(name: str) -> Weather:
    return read_station(name)


@lru_cache(maxsize=64)
def _output_per_kw(weather: Weather, tilt: float, azimuth: float, temperature_coefficient: float) -> Array:
    """Direct current of one kW, kWh (8760,); kept, since alternatives mostly share their roof."""
    return array_output(weather, tilt, azimuth, temperature_coefficient)


def load_by_year(household: schema.Household, clock: Clock, latitude: float, years: int) -> Array:
    """What the house uses, kWh (years, 8760): twelve months and a shape, growing from year to year."""
    load = household.load
    shape = load.shape if isinstance(load.shape, str) else [float(weight) for weight in load.shape]
    base = hourly_load(np.array(load.monthly_kwh, dtype=np.float64), shape, clock, southern=latitude < 0)
    return base * growth(load.growth, years)[..., None]


def solar_by_year(system: schema.System, weather: Weather, years: int) -> tuple[Array, Array]:
    """Alternating current the inverter could deliver, and what its limit cut off: kWh (years, 8760) each."""
    direct = np.zeros(HOURS)
    for array in system.arrays:
        per_kw = _output_per_kw(weather, array.tilt, array.azimuth, array.temperature_coefficient)
        direct = direct + array.kw * per_kw
    left = array_factor(years, system.fade, system.first_year_loss)
    faded = direct * (1.0 - system.losses) * left[..., None]
    return inverter_output(faded, system.inverter.kw, system.inverter.efficiency)


def battery_by_year(battery: schema.Battery, years: int, replaced_after: Iterable[int]) -> Battery:
    """The battery with its capacity in each year, (years,), new again after each replacement."""
    each_way = split_evenly(battery.round_trip)
    charge_kw, discharge_kw = battery.limits
    return Battery(
        capacity=battery.kwh * battery_factor(ages(years, replaced_after), battery.fade),
        reserve=battery.reserve,
        charge_kw=charge_kw,
        discharge_kw=discharge_kw,
        charge_efficiency=each_way if battery.charge_efficiency is None else battery.charge_efficiency,
        discharge_efficiency=each_way if battery.discharge_efficiency is None else battery.discharge_efficiency,
    )


@dataclass(frozen=True)
class Supply:
    """What stands behind the house: a grid that may take a surplus, or a generator of ``generator_kw``, or both
    absent."""

    grid: bool
    export_allowed: bool = False
    generator_kw: float | None = None


def run_as_it_is(load: Array, supply: Supply) -> Hourly:
    """Every hour of the house without a system, (years, 8760)."""
    return run_hours(
        np.zeros(load.shape), load, grid=supply.grid, export_allowed=False, generator_kw=supply.generator_kw
    )


def run_with_system(
    system: schema.System, weather: Weather, load: Array, supply: Supply, replaced_after: Iterable[int]
) -> tuple[Hourly, Array]:
    """Every hour of the house with a system, (years, 8760), and the battery's capacity by year, kWh (years,)."""
    years = load.shape[-2]
    solar, clipped = solar_by_year(system, weather, years)
    battery = None if system.battery == "none" else battery_by_year(system.battery, years, replaced_after)
    hourly = run_hours(
        solar,
        load,
        idle=system.inverter.idle_watts / 1000.0,
        battery=battery,
        grid=supply.grid,
        export_allowed=supply.export_allowed,
        generator_kw=supply.generator_kw,
        clipped=clipped,
    )
    return hourly, np.zeros(years) if battery is None else battery.capacity
