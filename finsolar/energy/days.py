"""The average day of each season, and the year as a map of weeks and hours: pictures of how a house lives.

Both go by the household's wall clock, and both are sums of the same steps that bills are made of.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.balance import Hourly
from finsolar.energy.bins import bins, sums
from finsolar.energy.clock import Clock
from finsolar.energy.weather import DAYS_IN_MONTH

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

SEASONS = ((11, 0, 1), (2, 3, 4), (5, 6, 7), (8, 9, 10))
"""Quarters of the year by month, 0 for January; each holds three months that follow one another."""

DAYS = np.array([sum(int(DAYS_IN_MONTH[month]) for month in season) for season in SEASONS], dtype=np.float64)
"""How many days each season has, (4,)."""

WEEKS = 53
"""Weeks that begin with 1 January, the last of which is a single day."""

BANDS = tuple((hour, hour + 4) for hour in range(0, 24, 4))
"""Parts of the day, from one hour to another."""


@dataclass(frozen=True, eq=False)
class AverageDays:
    """The average day of each season by hour of the wall clock, kW, each (..., years, 4, 24); ``stored`` in kWh.

    solar + imported + generator + discharge + unserved = load + idle + exported + charge + curtailed, as in `Hourly`;
    and with ``straight``, the sun that went to load and idle draw as it came,

        load + idle + charge_bought = straight + discharge + imported + generator + unserved
        solar = straight + (charge - charge_bought) + exported + curtailed

    ``charge_bought`` is the part of ``charge`` that grid or generator gave.
    """

    load: Array
    idle: Array
    solar: Array
    straight: Array
    charge: Array
    charge_bought: Array
    discharge: Array
    imported: Array
    exported: Array
    generator: Array
    unserved: Array
    curtailed: Array
    stored: Array


def average_days(hourly: Hourly, clock: Clock) -> AverageDays:
    """The average day of each season.

    ``hourly`` kWh (..., years, steps), ``clock`` of the same steps. What flows in an hour of the clock is added up over
    the season and divided by the season's days, so that a day's 24 hours times its days are the season's kWh: an hour
    that the change of clocks skips counts as nothing, one that it repeats counts twice. ``stored`` is the mean of what
    is stored at the end of the steps of an hour. Returns `AverageDays`.
    """
    key = (clock.month + 1) % 12 // 3 * 24 + clock.hour  # a season is three months from December on
    by = bins(key, 24 * len(SEASONS))

    def day(steps: Array) -> Array:
        return sums(steps, by).reshape(*steps.shape[:-1], len(SEASONS), 24) / DAYS[:, None]

    names = ("load", "idle", "solar", "charge", "charge_bought", "discharge", "imported", "exported", "generator",
             "unserved", "curtailed")  # fmt: skip
    found = {name: day(getattr(hourly, name)) for name in names}
    straight = found["solar"] - found["exported"] - found["curtailed"] - (found["charge"] - found["charge_bought"])
    stored = _mean(hourly.stored, key, (len(SEASONS), 24))
    return AverageDays(straight=straight, stored=stored, **found)


def exchange(hourly: Hourly, *, grid: bool) -> Array:
    """What a house takes from outside less what it gives back or has too much of, kWh (..., years, steps).

    Beside a grid: drawn less fed in. Without one: what the generator gives and what finds no source, less the sun that
    finds no taker.
    """
    if grid:
        return np.asarray(hourly.imported - hourly.exported)
    return np.asarray(hourly.generator + hourly.unserved - hourly.curtailed)


def by_week(steps: Array, clock: Clock) -> Array:
    """The average power of each hour of the clock in each week of the year, kW (..., years, 53, 24).

    ``steps`` kWh (..., years, steps). Averaged over the hours there are: one that the change of clocks skips lowers
    none. Zero where a week has no such hour.
    """
    return _mean(steps * clock.per_hour, day_of_year(clock) // 7 * 24 + clock.hour, (WEEKS, 24))


def by_month_and_band(steps: Array, clock: Clock) -> Array:
    """The average power of each band of hours in each month, kW (..., years, 12, 6); ``steps`` as in `by_week`."""
    band = clock.hour // (BANDS[0][1] - BANDS[0][0])
    return _mean(steps * clock.per_hour, clock.month * len(BANDS) + band, (12, len(BANDS)))


def day_of_year(clock: Clock) -> Whole:
    """The day of the wall clock in which each step lies, (steps,) 0 for 1 January; the year is a circle."""
    midnights = np.cumsum(np.diff(clock.weekday, prepend=clock.weekday[:1]) != 0)
    return np.asarray((midnights - (clock.month[0] == 11)) % int(DAYS_IN_MONTH.sum()), dtype=np.int64)


def _mean(steps: Array, key: Whole, shape: tuple[int, int]) -> Array:
    """The mean of the steps of each key, (..., years, *shape); zero for a key without steps."""
    size = shape[0] * shape[1]
    count = np.maximum(np.bincount(key, minlength=size), 1)
    return np.asarray((sums(steps, bins(key, size)) / count).reshape(*steps.shape[:-1], *shape))
