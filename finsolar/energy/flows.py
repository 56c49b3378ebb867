"""Sums of the steps by month and price period: what bills, fuel and reports are made of."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.balance import Hourly
from finsolar.energy.bins import bins, distinct, growth, sums
from finsolar.energy.clock import Clock
from finsolar.energy.dispatch import TRACE_KWH

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Flows:
    """Sums of the hours: what bills, fuel and reports are made of, kWh.

    `imported` and `exported` (..., years, 12, periods); all others (..., years, 12). `self_used` is the solar
    energy that was neither exported nor curtailed, the battery's losses on the way included. `charge_bought` is the
    part of `charge` that grid or generator gave. `generator_hours` counts the hours in which the generator ran.
    """

    imported: Array
    exported: Array
    load: Array
    solar: Array
    self_used: Array
    charge: Array
    charge_bought: Array
    discharge: Array
    battery_loss: Array
    idle: Array
    curtailed: Array
    clipped: Array
    unserved: Array
    generator: Array
    generator_hours: Array


def bin_flows(hourly: Hourly, clock: Clock, period: NDArray[np.int64], periods: int) -> Flows:
    """Sum the steps by wall-clock month and price period.

    `period` (steps,) the price period of each step, 0 to `periods` - 1. Returns `Flows`. Raises ValueError for
    a period out of range.
    """
    steps = len(clock.month)
    if period.shape != (steps,) or period.min() < 0 or period.max() >= periods:
        raise ValueError(f"price periods need one number from 0 to {periods - 1} for each of {steps} steps")
    by_month = bins(clock.month, 12)
    by_period = bins(clock.month * periods + period, 12 * periods)
    imported, exported = (
        sums(hours, by_period).reshape(*hours.shape[:-1], 12, periods) for hours in (hourly.imported, hourly.exported)
    )
    solar, curtailed = sums(hourly.solar, by_month), sums(hourly.curtailed, by_month)
    running = np.broadcast_to((distinct(hourly.generator) > TRACE_KWH) / clock.per_hour, hourly.generator.shape)
    charge, discharge = sums(hourly.charge, by_month), sums(hourly.discharge, by_month)
    return Flows(
        imported=imported,
        exported=exported,
        load=sums(hourly.load, by_month),
        solar=solar,
        self_used=solar - exported.sum(axis=-1) - curtailed,
        charge=charge,
        charge_bought=sums(hourly.charge_bought, by_month),
        discharge=discharge,
        battery_loss=charge - discharge - growth(hourly.stored, hourly.start, by_month),
        idle=sums(hourly.idle, by_month),
        curtailed=curtailed,
        clipped=sums(hourly.clipped, by_month),
        unserved=sums(hourly.unserved, by_month),
        generator=sums(hourly.generator, by_month),
        generator_hours=sums(running, by_month),
    )


def valued(hours: Array, price: Array, clock: Clock) -> Array:
    """Energy of each step (..., years, steps) times its price (steps,), by month: money (..., years, 12)."""
    return sums(np.asarray(hours * price), bins(clock.month, 12))


def joined(parts: list[Flows]) -> Flows:
    """Flows of years that follow one another as one; where price periods are fewer, the missing ones hold nothing."""
    if len(parts) == 1:
        return parts[0]
    periods = max(part.imported.shape[-1] for part in parts)
    found = {}
    for name in vars(parts[0]):
        arrays = [getattr(part, name) for part in parts]
        by_period = name in {"imported", "exported"}
        if by_period:
            arrays = [np.pad(a, [(0, 0)] * (a.ndim - 1) + [(0, periods - a.shape[-1])]) for a in arrays]
        found[name] = np.concatenate(arrays, axis=-3 if by_period else -2)
    return Flows(**found)


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
