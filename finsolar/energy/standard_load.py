"""The standard load of German households, BDEW H25: an average of many homes, published for general use.

Being an average it is smooth: good for the energy of a year, no guide to the peaks of one house. It knows no air
conditioning. The package demandlib holds its numbers.
"""

import warnings
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.clock import CALENDAR_YEAR, HOURS, Clock

Array = NDArray[np.float64]

QUARTERS = 4
HALF_YEAR_DAYS = 182
_KIND_OF_DAY = np.array([0, 0, 0, 0, 0, 1, 2])  # weekday, Saturday, Sunday, by Clock.weekday


def h25_hours(clock: Clock, southern: bool = False) -> Array:
    """Return the share of a year's use that falls in each step of the clock, by the profile H25.

    `clock` the wall clock of the house, in hours or in parts of them; `southern` turns the seasons by half a year.
    Returns (steps,), which adds up to 1: times the year's kWh it is kWh a step.

    The profile is a table by month, kind of day (weekday, Saturday, Sunday; no holidays) and quarter of an hour,
    times a factor for the day of the year. Steps longer than a quarter add up its quarters, shorter ones divide them.
    Its own sum misses the nominal year by half a per cent, hence the scaling. Source: BDEW, standard load profiles of
    2025, as held by demandlib.
    """
    table, by_day = _h25()
    month, weekday, hour = (part[:: clock.per_hour] for part in (clock.month, clock.weekday, clock.hour))
    day = _day_on_the_wall(hour)
    if southern:
        month, day = (month + 6) % 12, (day + HALF_YEAR_DAYS) % 365
    quarters = table[month, _KIND_OF_DAY[weekday], hour] * by_day[day, None]
    # Each quarter in as many pieces as the hour has steps: four pieces in a row are one step, however long it is.
    steps = np.repeat(quarters.ravel(), clock.per_hour).reshape(-1, QUARTERS).sum(axis=-1)
    return np.asarray(steps / steps.sum())


def _day_on_the_wall(hour: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return the day of the year, 0 to 364, that a wall clock at these hours shows in each hour of standard time."""
    standard = np.arange(HOURS)
    ahead = (hour - standard + 12) % 24 - 12
    return (standard + ahead) // 24 % 365


@lru_cache(maxsize=1)
def _h25() -> tuple[Array, Array]:
    """Return the table by (month, kind of day, hour, quarter) and the factor of each day of the year."""
    import pandas as pd

    # demandlib uses arguments that pandas has since deprecated, and in places turns every warning of the process into
    # an error. Neither may reach the caller.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from demandlib.bdew import H25

        stamps = pd.date_range(f"{CALENDAR_YEAR}-01-01", periods=HOURS * QUARTERS, freq="15min")
        factor = H25.dynamisation_function(stamps).to_numpy(np.float64)
        quarters = H25(stamps).to_numpy(np.float64) / factor
    kind = _KIND_OF_DAY[stamps.day_of_week]
    table = np.empty((12, 3, 24, QUARTERS))
    table[stamps.month - 1, kind, stamps.hour, stamps.minute // 15] = quarters
    by_day = factor[:: 24 * QUARTERS].copy()
    table.flags.writeable = by_day.flags.writeable = False
    return table, by_day
