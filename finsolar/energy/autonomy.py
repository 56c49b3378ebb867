"""How long a battery carries a house without sun, and the sizes that a wanted time asks for: closed forms.

Battery and modules are sized one after the other: the battery for a number of days without any sun, the modules for the
month in which the sun is least beside the use. The two steps are those of the IEEE's recommended practices for
stand-alone systems, 1013 and 1562 (from memory). The hour-by-hour balance is what the sizes are then held against.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

WANTED_DAYS = (1.0, 2.0, 3.0, 5.0)
"""Days without sun to size a battery for; three to five are common practice for houses, from memory."""

ARRAY_TO_LOAD = (1.1, 1.2)
"""What the sun of the darkest month should be over its use, at least; IEEE 1562, from memory."""


def days_of_autonomy(kwh: ArrayLike, depth: ArrayLike, efficiency: ArrayLike, daily_kwh: ArrayLike) -> Array:
    """Return the days that a full battery carries a steady use without any sun, broadcast over its inputs.

    `kwh` its capacity, `depth` the share of it that is used, `efficiency` on the way out, `daily_kwh` the use of a day:
    days = kwh depth efficiency / daily_kwh. NaN where nothing is used. Source: as in the head of this module.
    """
    given = np.multiply(np.multiply(kwh, depth), efficiency)
    daily = np.asarray(daily_kwh, dtype=np.float64)
    return np.asarray(np.where(daily > 0, given / np.where(daily > 0, daily, 1.0), np.nan))


def battery_for(days: ArrayLike, depth: ArrayLike, efficiency: ArrayLike, daily_kwh: ArrayLike) -> Array:
    """Return the capacity that carries a steady use for some days without sun, kWh, broadcast over its inputs.

    The inverse of `days_of_autonomy`: kWh = daily_kwh days / (depth efficiency). Raises ValueError where a depth or an
    efficiency is not above zero.
    """
    share = np.multiply(depth, efficiency)
    if not (share > 0).all():
        raise ValueError("a battery of which nothing can be used carries nothing, whatever its size")
    return np.asarray(np.multiply(daily_kwh, days) / share)


def array_for(daily_kwh: ArrayLike, sun_a_kw: ArrayLike) -> Array:
    """Return the modules that make a day's use on a day of the darkest month, kW, broadcast over its inputs.

    `sun_a_kw` what one kW gives on such a day, kWh: its peak sun hours times what is left of them after all losses.
    kW = daily_kwh / sun_a_kw; infinite where there is no sun. Source: as in the head of this module.
    """
    sun = np.asarray(sun_a_kw, dtype=np.float64)
    return np.asarray(np.where(sun > 0, daily_kwh / np.where(sun > 0, sun, 1.0), np.inf))


def darkest_month(sun: Array, use: Array) -> NDArray[np.intp]:
    """Return the month, 0 to 11, in which the sun is least beside the use, (...).

    `sun` and `use` (..., 12) kWh; a month without use is never the one, unless all are.
    """
    beside = np.where(use > 0, sun / np.where(use > 0, use, 1.0), np.inf)
    return np.asarray(np.argmin(beside, axis=-1))


def longest_run(lacking: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Return how many steps in a row are lacking at most, (...); `lacking` (..., steps)."""
    step = np.arange(1, lacking.shape[-1] + 1)
    served_last = np.maximum.accumulate(np.where(lacking, 0, step), axis=-1)
    return np.asarray((step - served_last).max(axis=-1), dtype=np.int64)
