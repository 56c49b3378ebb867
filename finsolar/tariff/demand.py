"""Billed demand: the peak of the month, or what an earlier peak still commands."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def billed_demand(peak: Array, ratchet: ArrayLike = 0.0, months_back: int = 11) -> Array:
    """The demand each month is billed for, (..., years, 12) kW.

    ``peak`` (..., years, 12) kW, zero or more; ``ratchet`` a share, one number or (..., years); ``months_back`` how
    many months before the billed one it looks at, across the turn of the years. Before the first month of the study
    there is none, so year 1 may come out lower than for a house that has long been a customer.

        billed = max(peak, ratchet x highest peak of the months_back months before)

    A ratchet of 0, or no month back, bills the peak itself. Raises ValueError where ``months_back`` is below zero.
    """
    if months_back < 0:
        raise ValueError("a ratchet looks back over a number of months, zero or more")
    share = np.asarray(ratchet, dtype=np.float64)[..., None]
    if months_back == 0:
        return np.broadcast_to(peak, np.broadcast_shapes(peak.shape, share.shape))
    running = peak.reshape(*peak.shape[:-2], -1)
    before = np.zeros((*running.shape[:-1], months_back))
    spans = np.lib.stride_tricks.sliding_window_view(
        np.concatenate([before, running[..., :-1]], axis=-1), months_back, axis=-1
    )
    return np.asarray(np.maximum(peak, share * spans.max(axis=-1).reshape(peak.shape)))
