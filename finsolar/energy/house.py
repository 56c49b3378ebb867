"""One house over all its years: from what the scenario says of its system to the balance of every step."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.balance import Backing, Hourly, run_steps
from finsolar.energy.battery import Battery, split_evenly
from finsolar.energy.clock import Clock, standard_offset, wall_clock
from finsolar.energy.fade import array_factor, battery_factor, full_cycles
from finsolar.energy.orders import DearHours, Orders, by_the_price, kept_full, need_ahead
from finsolar.energy.sources import Usage, brightness_of, usage_of, weather_of
from finsolar.energy.sun import array_output, inverter_output
from finsolar.energy.weather import DAYS_IN_MONTH, Weather
from finsolar.scenario import schema
from finsolar.scenario.numbers import per_case
from finsolar.scenario.rises import growth

Array = NDArray[np.float64]

HOURS_IN_MONTH = DAYS_IN_MONTH * 24

SETTLED = 1e-11
"""Change of a battery's capacity, as a share of its first, that counts as none."""


@dataclass(frozen=True, eq=False)
class Site:
    """The sun over a house, the clock on its wall and what it uses.

    ``brightness`` (..., 1) is the sunlight of its years over that of the weather's year.
    """

    weather: Weather
    clock: Clock
    usage: Usage
    brightness: Array


def site_of(scenario: schema.Scenario) -> Site:
    """The weather year that a scenario names, the wall clock of its place, and its use.

    The weather's hours are taken for the house's own standard time, so that a station borrowed from another time
    zone brings its sun up in the morning all the same. Raises ScenarioError for a file that cannot be used.
    """
    timezone = scenario.place.timezone
    clock = wall_clock(timezone, standard_offset(timezone), 60 // scenario.study.step_minutes)
    return Site(weather_of(scenario), clock, usage_of(scenario, clock), brightness_of(scenario))


def load_by_year(usage: Usage, rise: ArrayLike, years: int, level: ArrayLike = 1.0) -> Array:
    """What the house uses, kWh (..., years, steps): its first year, growing, and the loads to come from their year.

    ``rise`` a number or (..., 1); ``level`` over the first year as stated, a number, (..., 1) or (..., years).
    """
    load = usage.base * (growth(rise, years) * np.asarray(level, dtype=np.float64))[..., None]
    for first, kwh in usage.later:
        load[..., first - 1 :, :] += kwh
    return load


@lru_cache(maxsize=64)
def _output_per_kw(weather: Weather, tilt: float, azimuth: float, temperature_coefficient: float) -> Array:
    """Direct current of one kW, kWh (8760,); kept, since alternatives mostly share their roof."""
    return array_output(weather, tilt, azimuth, temperature_coefficient)


def _by_hour(monthly: ArrayLike) -> Array:
    """A share of every month (), (..., 1), or twelve of them, for each hour of the year, (..., 8760)."""
    shares = np.asarray(monthly, dtype=np.float64)
    return np.repeat(np.broadcast_to(shares, (*shares.shape[:-1], 12)), HOURS_IN_MONTH, axis=-1)


def modules_by_year(system: schema.System, site: Site, years: int) -> Array:
    """Direct current that reaches the inverter, kWh (..., years, 8760).

    Each array less its shade, all of them less the losses, which act one after another, and the snow of the month;
    then fading. Months go by the weather's calendar.
    """
    direct = np.zeros(int(HOURS_IN_MONTH.sum()))
    for array in system.arrays:
        per_kw = _output_per_kw(site.weather, array.tilt, array.azimuth, array.temperature_coefficient)
        direct = direct + array.kw * per_kw * (1.0 - _by_hour(array.shading))
    lost = [loss.share for loss in system.losses] if isinstance(system.losses, list) else [system.losses]
    for share in lost:
        direct = direct * (1.0 - share)
    direct = direct * (1.0 - _by_hour(system.snow))
    left = array_factor(years, system.fade, system.first_year_loss) * site.brightness
    return np.asarray(direct[..., None, :] * left[..., None])


def offered_by_year(system: schema.System, site: Site, years: int, record: Array | None) -> tuple[Array, Array]:
    """Alternating current that the system offers, and what its inverter's limit cut off, kWh (..., years, steps) each.

    Where the battery shares the inverter nothing is cut off yet. ``record`` (8760,) is the household's own production,
    in place of the arrays; it fades too, and holds the inverter's limit already.
    """
    shared = system.battery != "none" and system.battery.coupling == "dc"
    if record is not None:
        left = array_factor(years, system.fade, 0.0) * site.brightness
        offered, clipped = np.asarray(record * left[..., None]), np.zeros(1)
    else:
        limit = np.inf if shared else system.inverter.kw
        efficiency = np.asarray(system.inverter.efficiency)[..., None]
        offered, clipped = inverter_output(modules_by_year(system, site, years), limit, efficiency)
    return site.clock.steps(offered), site.clock.steps(clipped) if clipped.size > 1 else clipped


def orders_of(
    system: schema.System, site: Site, record: Array | None, hours: DearHours | None, level: float = 1.0
) -> Orders | None:
    """What the battery is told beside a grid; None where it takes every surplus and covers every deficit.

    The orders are set once, for the first year as the weather's year would have it, so ``system`` holds single numbers;
    ``level`` is what that year uses over what is stated.
    """
    if system.operation == "backup only":
        return kept_full(site.clock)
    if system.operation != "time shift" or system.battery == "none" or hours is None:
        return None
    shift = system.time_shift or schema.TimeShift()
    unit = replace(site, brightness=np.ones(()))
    offered, _ = offered_by_year(system, unit, 1, record)
    step_hours = 1.0 / site.clock.per_hour
    use = load_by_year(site.usage, 0.0, 1, level)[0] + standing_kw(system) * step_hours
    charge_kw = system.battery.limits[0]
    if system.battery.coupling == "dc":  # what the shared inverter cannot carry is no task of the battery
        use = np.minimum(use, system.inverter.kw * step_hours)
        charge_kw = min(charge_kw, system.inverter.kw)
    net = offered[0] - use
    battery = battery_when_new(system.battery)
    kwh = system.battery.kwh
    need = need_ahead(
        np.clip(net, 0.0, system.battery.limits[0] * step_hours),  # no more of the sun than it can take in
        np.maximum(-net, 0.0),
        hours.dear,
        site.clock,
        kwh * (1.0 - system.battery.reserve),
        float(np.asarray(battery.charge_efficiency)),
        float(np.asarray(battery.discharge_efficiency)),
        recharge=hours.cheap * charge_kw * step_hours,
    )
    share = np.minimum(system.battery.reserve + need / kwh, 1.0)  # rounding must not ask for more than all
    return by_the_price(hours, np.where(need > 0.0, share, 0.0), shift.keep, shift.charge_to)


def standing_kw(system: schema.System) -> float:
    """What inverter and battery draw around the clock, kW."""
    battery = 0.0 if system.battery == "none" else system.battery.standby_watts
    return float(system.inverter.idle_watts + battery) / 1000.0


def battery_when_new(battery: schema.Battery) -> Battery:
    """The battery with the capacity of its first day, (1,)."""
    each_way = split_evenly(battery.round_trip)
    charge_kw, discharge_kw = battery.limits
    return Battery(
        capacity=np.array([battery.kwh], dtype=np.float64),
        reserve=battery.reserve,
        charge_kw=charge_kw,
        discharge_kw=discharge_kw,
        charge_efficiency=each_way if battery.charge_efficiency is None else battery.charge_efficiency,
        discharge_efficiency=each_way if battery.discharge_efficiency is None else battery.discharge_efficiency,
    )


def fade_of(battery: schema.Battery) -> schema.Fade:
    """How it ages; a bare yearly share is a straight line."""
    if isinstance(battery.fade, schema.Fade):
        return battery.fade
    return schema.Fade.model_construct(ten_years=10.0 * battery.fade, law="linear", thousand_cycles=0.0)


@dataclass(frozen=True, eq=False)
class Course:
    """A battery over the years, (..., years).

    ``capacity`` kWh in the year; ``renewed`` whether a new battery takes over at the end of it, of which ``worn_out``
    because the old one held too little.
    """

    capacity: Array
    renewed: NDArray[np.bool_]
    worn_out: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Run:
    """A house with a system: its steps, and its battery by year, (..., years).

    ``cycles`` full cycles made in the year; ``capacity``, ``renewed`` and ``worn_out`` as in `Course`.
    """

    hourly: Hourly
    capacity: Array
    cycles: Array
    renewed: NDArray[np.bool_]
    worn_out: NDArray[np.bool_]


def run_as_it_is(load: Array, backing: Backing, step_hours: float) -> Hourly:
    """Every step of the house without a system, (..., years, steps)."""
    return run_steps(np.zeros(load.shape), load, backing, step_hours=step_hours)


def run_with_system(
    system: schema.System,
    offered: Array,
    clipped: Array,
    load: Array,
    backing: Backing,
    orders: Orders | None,
    replaced_after: Iterable[int],
    below: float | None,
    step_hours: float,
) -> Run:
    """Every step of the house with a system.

    ``offered`` and ``clipped`` as from `offered_by_year`, ``load`` (..., years, steps) kWh; ``replaced_after`` the
    years at whose end a new battery takes over, ``below`` the share of the first capacity below which one does. A
    battery that wears by use holds in each year what the years before have left: the capacities and the use they
    lead to are worked out in turn, until they agree.
    """
    years = load.shape[-2]
    shared_kw = None
    if system.battery != "none" and system.battery.coupling == "dc":
        shared_kw = system.inverter.kw

    def run(battery: Battery | None) -> Hourly:
        return run_steps(
            offered, load, backing, standing_kw(system), battery, orders, shared_kw, clipped, step_hours
        )  # fmt: skip

    if system.battery == "none":
        empty, never = np.zeros(years), np.zeros(years, dtype=np.bool_)
        return Run(run(None), empty, empty, never, never)
    new, kwh = battery_when_new(system.battery), system.battery.kwh
    cycles = np.zeros(years)
    course = ageing(system.battery, cycles, replaced_after, below)
    # Each round settles at least one more year for good; as wear depends little on capacity, a handful do.
    for _ in range(years + 1):
        hourly = run(replace(new, capacity=course.capacity))
        cycles = full_cycles(hourly.discharge.sum(axis=-1), kwh)
        before, course = course, ageing(system.battery, cycles, replaced_after, below)
        apart = np.abs(course.capacity - before.capacity).max()
        if apart <= SETTLED * kwh and np.array_equal(course.renewed, before.renewed):
            break
    return Run(hourly, before.capacity, cycles, course.renewed, course.worn_out)


def ageing(battery: schema.Battery, cycles: Array, replaced_after: Iterable[int], below: float | None) -> Course:
    """What a battery holds in each year, given the full ``cycles`` (..., years) it makes in each.

    ``replaced_after`` and ``below`` as in `run_with_system`.
    """
    fade = fade_of(battery)
    named = np.isin(np.arange(1, cycles.shape[-1] + 1), list(replaced_after))
    by_age, by_use = per_case(fade.ten_years), per_case(fade.thousand_cycles)
    shape = np.broadcast_shapes(cycles.shape, (*by_age.shape, 1), (*by_use.shape, 1))
    capacity, renewed, worn_out = np.empty(shape), np.zeros(shape, np.bool_), np.zeros(shape, np.bool_)
    age, made = np.zeros(shape[:-1]), np.zeros(shape[:-1])

    def left() -> Array:
        return battery_factor(age, by_age, fade.law, made, by_use)

    for year in range(shape[-1]):
        capacity[..., year] = battery.kwh * left()
        age, made = age + 1.0, made + cycles[..., year]
        if below is not None and year < shape[-1] - 1:  # what a new one would serve lies beyond the last year
            worn_out[..., year] = left() < below - 1e-12
        renewed[..., year] = worn_out[..., year] | named[year]
        age, made = (np.where(renewed[..., year], 0.0, each) for each in (age, made))
    return Course(capacity, renewed, worn_out)
