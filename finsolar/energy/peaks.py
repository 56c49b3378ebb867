"""The highest draw from the grid in each month: what a demand charge goes by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.bins import Bins, bins, distinct
from finsolar.energy.clock import Clock

Array = NDArray[np.float64]

INTERVALS = (15, 30, 60)
"""Minutes over which a demand meter may average."""


def monthly_peaks(imported: Array, clock: Clock, windows: NDArray[np.bool_], minutes: int = 60) -> Array:
    """The highest mean import in each window of each wall-clock month, (..., years, 12, windows) kW, read only.

    ``imported`` (..., years, steps) kWh a step, zero or more; ``windows`` (windows, steps) bool, which may overlap;
    ``minutes`` 15, 30 or 60, the demand interval. Intervals stand one beside the other from the full hour on; none
    slides. An interval belongs to a window with all its steps or not at all, and to the month of its first step. Where
    it is shorter than a step, a step is all that is known and stands for it, so the peak comes out too low rather than
    too high. Zero where a window has no interval in a month.

    Raises ValueError for another interval or windows of another shape.
    """
    if minutes not in INTERVALS:
        raise ValueError(f"a demand interval has 15, 30 or 60 minutes, not {minutes}")
    steps = len(clock.month)
    if windows.ndim != 2 or windows.shape[-1] != steps or imported.shape[-1] != steps:
        raise ValueError(f"windows and import need one value for each of {steps} steps")
    joined = max(1, minutes * clock.per_hour // 60)
    month = clock.month[::joined]
    power = _joined(distinct(imported), joined) * (clock.per_hour / joined)
    inside = np.asarray(windows.reshape(len(windows), len(month), joined).all(axis=-1))
    peaks = [_highest(power, bins(np.where(each, month, 12), 13))[..., :12] for each in inside]
    found = np.stack(peaks, axis=-1) if peaks else np.zeros((*power.shape[:-1], 12, 0))
    return np.broadcast_to(found, (*imported.shape[:-1], 12, len(windows)))


def _joined(steps: Array, count: int) -> Array:
    """Sum of each ``count`` neighbouring steps (..., steps)."""
    if count == 1:
        return steps
    return np.asarray(steps.reshape(*steps.shape[:-1], -1, count).sum(axis=-1))


def _highest(values: Array, by: Bins) -> Array:
    """Highest of ``values`` (..., n) for each key, (..., size); zero for a key without values."""
    runs = np.maximum.reduceat(values, by.first, axis=-1)
    found = np.zeros((*values.shape[:-1], by.size))
    found[..., by.present] = np.maximum.reduceat(runs[..., by.order], by.group, axis=-1)
    return found
