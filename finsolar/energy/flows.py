"""The hour-by-hour balance of the house, and its sums by month and price period."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.battery import Battery, Store, store
from finsolar.energy.bins import bins, distinct, growth, sums
from finsolar.energy.clock import HOURS, Clock

Array = NDArray[np.float64]

TRACE_KWH = 1e-10
"""A shortfall smaller than this is rounding: it starts no generator and counts as no hour without power."""


@dataclass(frozen=True, eq=False)
class Hourly:
    """Every hour of the house, (..., years, 8760) kWh on the alternating-current side.

    solar + imported + generator + discharge + unserved = load + idle + exported + charge + curtailed, each
    hour. `solar` is what the inverter could deliver; `clipped` was cut off by the inverter and is outside the
    balance; `idle` is the standing draw of inverter and battery; `curtailed` is surplus that found no taker;
    `unserved` is demand that found no source. `stored` kWh in the battery at the end of the hour, `start`
    (..., years) kWh stored when the year begins.
    """

    solar: Array
    load: Array
    idle: Array
    imported: Array
    exported: Array
    generator: Array
    charge: Array
    discharge: Array
    curtailed: Array
    unserved: Array
    clipped: Array
    stored: Array
    start: Array


@dataclass(frozen=True, eq=False)
class Flows:
    """Sums of the hours: what bills, fuel and reports are made of, kWh.

    `imported` and `exported` (..., years, 12, periods); all others (..., years, 12). `self_used` is the solar
    energy that was neither exported nor curtailed, the battery's losses on the way included.
    `generator_hours` counts the hours in which the generator ran.
    """

    imported: Array
    exported: Array
    load: Array
    solar: Array
    self_used: Array
    charge: Array
    discharge: Array
    battery_loss: Array
    idle: Array
    curtailed: Array
    clipped: Array
    unserved: Array
    generator: Array
    generator_hours: Array


def run_hours(
    solar: Array,
    load: Array,
    idle: ArrayLike = 0.0,
    battery: Battery | None = None,
    grid: bool = True,
    export_allowed: bool = True,
    generator_kw: ArrayLike | None = None,
    clipped: ArrayLike = 0.0,
) -> Hourly:
    """Balance every hour by self-consumption.

    Solar serves the load and the idle draw; a surplus charges the battery, then goes to the grid or is
    curtailed; a deficit empties the battery down to its reserve, then the grid covers the rest. Without a
    grid a generator of `generator_kw` covers what it can, and the rest is unserved; the generator does not
    charge the battery. With a grid the generator stands still.

    `solar`, `load` and `clipped` (..., years, 8760) kWh, `idle` (kWh an hour) and `generator_kw`
    (..., years); all broadcast, so a year that repeats may be given once, and one value per case is written
    (cases, 1). Returns `Hourly`.
    """
    hours = {"solar": solar, "load": load, "clipped": np.asarray(clipped, dtype=np.float64)}
    idle = np.asarray(idle, dtype=np.float64)[..., None]
    limit = np.asarray(0.0 if generator_kw is None else generator_kw, dtype=np.float64)[..., None]
    shape = np.broadcast_shapes(*(h.shape for h in hours.values()), idle.shape, limit.shape, _shape(battery))
    nothing = np.zeros(1)
    charge = discharge = stored = nothing
    start = np.zeros(shape[:-1])
    net, surplus, deficit = np.empty((3, *shape))  # one block: large pages, as in the battery
    np.subtract(solar, load, out=net)
    net -= idle
    if battery is not None:
        run = _run_battery(net, battery)
        charge, discharge, stored, start = run.charge, run.discharge, run.stored, run.start
        net -= charge
        net += discharge
    np.maximum(net, 0.0, out=surplus)
    np.subtract(surplus, net, out=deficit)
    imported, generator, unserved = deficit, nothing, nothing
    if not grid:
        deficit[deficit < TRACE_KWH] = 0.0
        generator = np.minimum(deficit, limit)
        imported, unserved = nothing, deficit - generator
    exported, curtailed = (surplus, nothing) if grid and export_allowed else (nothing, surplus)
    hours |= {
        "idle": idle,
        "imported": imported,
        "exported": exported,
        "generator": generator,
        "charge": charge,
        "discharge": discharge,
        "curtailed": curtailed,
        "unserved": unserved,
        "stored": stored,
    }
    return Hourly(start=start, **{name: np.broadcast_to(values, shape) for name, values in hours.items()})


def bin_flows(hourly: Hourly, clock: Clock, period: NDArray[np.int64], periods: int) -> Flows:
    """Sum the hours by wall-clock month and price period.

    `period` (8760,) the price period of each hour, 0 to `periods` - 1. Returns `Flows`. Raises ValueError for
    a period out of range.
    """
    if period.shape != (HOURS,) or period.min() < 0 or period.max() >= periods:
        raise ValueError(f"price periods need one number from 0 to {periods - 1} for each of {HOURS} hours")
    by_month = bins(clock.month, 12)
    by_period = bins(clock.month * periods + period, 12 * periods)
    imported, exported = (
        sums(hours, by_period).reshape(*hours.shape[:-1], 12, periods) for hours in (hourly.imported, hourly.exported)
    )
    solar, curtailed = sums(hourly.solar, by_month), sums(hourly.curtailed, by_month)
    running = np.broadcast_to((distinct(hourly.generator) > 0.0).astype(np.float64), hourly.generator.shape)
    charge, discharge = sums(hourly.charge, by_month), sums(hourly.discharge, by_month)
    return Flows(
        imported=imported,
        exported=exported,
        load=sums(hourly.load, by_month),
        solar=solar,
        self_used=solar - exported.sum(axis=-1) - curtailed,
        charge=charge,
        discharge=discharge,
        battery_loss=charge - discharge - growth(hourly.stored, hourly.start, by_month),
        idle=sums(hourly.idle, by_month),
        curtailed=curtailed,
        clipped=sums(hourly.clipped, by_month),
        unserved=sums(hourly.unserved, by_month),
        generator=sums(hourly.generator, by_month),
        generator_hours=sums(running, by_month),
    )


def useful_kwh(flows: Flows) -> Array:
    """Solar energy that served the load or was sold, by year (..., years), kWh.

    What the battery and the idle draw lost on the way is taken off; a year that loses more than the sun gives
    counts as nothing.
    """
    kept = (flows.self_used - flows.battery_loss - flows.idle).sum(axis=-1)
    return np.asarray(np.maximum(kept + flows.exported.sum(axis=(-1, -2)), 0.0))


def load_from_sun(flows: Flows) -> Array:
    """The part of the load that neither grid nor generator carried, (..., years, 12) kWh.

    It came from the sun, straight or through the battery. Not below zero: idle draw alone is no load.
    """
    other = flows.imported.sum(axis=-1) + flows.generator + flows.unserved
    return np.asarray(np.maximum(flows.load - other, 0.0))


def _shape(battery: Battery | None) -> tuple[int, ...]:
    """Return the shape that a battery's numbers take beside hourly arrays, (..., years, 1)."""
    if battery is None:
        return ()
    return (*np.broadcast_shapes(*(np.shape(v) for v in vars(battery).values() if v is not None)), 1)


def _run_battery(net: Array, battery: Battery) -> Store:
    floor = np.multiply(battery.reserve, battery.capacity)
    start = floor if battery.start is None else np.multiply(battery.start, battery.capacity)
    return store(
        net,
        floor,
        battery.capacity,
        battery.charge_kw,
        battery.discharge_kw,
        battery.charge_efficiency,
        battery.discharge_efficiency,
        start[..., :1],
    )
