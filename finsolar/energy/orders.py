"""What a battery is told for each step: how much to keep back, and how far to charge from the grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.clock import Clock

Array = NDArray[np.float64]

WEEK = 168


@dataclass(frozen=True, eq=False)
class Orders:
    """Shares of the capacity, (steps,) each: below ``keep`` a step does not discharge, up to ``target`` it charges
    from the grid (0: not at all)."""

    keep: Array
    target: Array


@dataclass(frozen=True, eq=False)
class DearHours:
    """Steps in which power is ``dear``, and those in which it is ``cheap`` enough to charge from, (steps,) bool."""

    dear: NDArray[np.bool_]
    cheap: NDArray[np.bool_]


def kept_full(clock: Clock) -> Orders:
    """Always full, for outages alone."""
    full = np.ones(len(clock.hour))
    return Orders(keep=full, target=full)


def by_the_price(
    hours: DearHours,
    need: Array,
    keep: float | None,
    charge_to: float | None,
) -> Orders:
    """Give freely in dear steps, charge from the grid in cheap ones; all (steps,).

    ``need`` is the share of the capacity that the dear steps ahead call for, as from `need_ahead`, which stands where
    ``keep`` (outside dear steps) or ``charge_to`` (in cheap ones) is None.
    """
    return Orders(
        keep=np.where(hours.dear, 0.0, need if keep is None else keep),
        target=np.where(hours.cheap, need if charge_to is None else charge_to, 0.0),
    )


def need_ahead(
    surplus: Array,
    deficit: Array,
    dear: NDArray[np.bool_],
    clock: Clock,
    usable: float,
    charge_efficiency: float,
    discharge_efficiency: float,
    recharge: ArrayLike = 0.0,
) -> Array:
    """What should be stored at the end of each step for the dear steps to come, kWh above the reserve, (steps,).

    ``surplus`` and ``deficit`` (steps,) kWh of the house before its battery; ``recharge`` (steps,) kWh that the grid
    may charge. From each month an average week is made; backwards through that week, hour by hour and twice round,
    dear hours add what they lack, and every hour takes off what its sun or the grid would store, within 0 and
    ``usable`` kWh. So it looks ahead one week at least and two at most, as far as neither sun nor grid fill the gap.

        need before = clip(need after + deficit / discharge efficiency, if dear
                           - charge efficiency max(surplus, recharge))

    That is what a careful household could set by month, weekday and hour: it knows averages, not tomorrow's weather.
    """
    hour_of_week = clock.weekday * 24 + clock.hour
    key = clock.month * WEEK + hour_of_week
    weeks = np.maximum(np.bincount(key, minlength=12 * WEEK) / clock.per_hour, 1e-9)

    def average(values: Array) -> Array:
        return np.asarray(np.bincount(key, weights=values, minlength=12 * WEEK) / weeks).reshape(12, WEEK)

    gain = np.maximum(average(surplus), average(np.broadcast_to(recharge, surplus.shape)))
    change = average(np.where(dear, deficit, 0.0)) / discharge_efficiency - gain * charge_efficiency
    after, need = np.zeros((12, WEEK)), np.zeros(12)
    for _ in range(2):  # the second time round begins with what the week's start asks of its end
        for hour in reversed(range(WEEK)):
            after[:, hour] = need
            need = np.clip(need + change[:, hour], 0.0, usable)
    return np.asarray(after[clock.month, hour_of_week])
