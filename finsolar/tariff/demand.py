"""Billed demand: the peak of the month, or what an earlier peak still commands."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def billed_demand(
    peak: Array,
    ratchet: ArrayLike = 0.0,
    months_back: int = 11,
    before: Array | None = None,
    at: NDArray[np.int64] | None = None,
) -> Array:
    """The demand each bill is billed for, (..., years, bills) kW.

    ``peak`` (..., years, bills) kW, zero or more; ``ratchet`` a share, one number or (..., years); ``months_back`` how
    many months before the billed one it looks at, across the turn of the years; ``before`` (..., months) kW of the
    months before the first bill, the latest at the end, none if not said. ``at`` (bills,) says in which month each bill
    of a single year lies, counted on; if not said, each lies in the month after the one before.

        billed = max(peak, ratchet x highest peak of the months_back months before)

    A ratchet of 0, or no month back, bills the peak itself. Raises ValueError where ``months_back`` is below zero.
    """
    if months_back < 0:
        raise ValueError("a ratchet looks back over a number of months, zero or more")
    share = np.asarray(ratchet, dtype=np.float64)[..., None]
    if months_back == 0:
        return np.broadcast_to(peak, np.broadcast_shapes(peak.shape, share.shape))
    running = peak.reshape(*peak.shape[:-2], -1)
    earlier = _in_turn(running, months_back, before) if at is None else _by_month(running, months_back, at)
    cases = np.broadcast_shapes(earlier.shape[:-1], peak.shape[:-2])
    kept = np.broadcast_to(earlier, (*cases, earlier.shape[-1])).reshape(*cases, *peak.shape[-2:])
    return np.asarray(np.maximum(peak, share * kept))


def _in_turn(running: Array, months_back: int, before: Array | None) -> Array:
    """The highest of the months before each, (..., months)."""
    known = np.zeros(1) if before is None else before[..., -months_back:]
    cases = np.broadcast_shapes(running.shape[:-1], known.shape[:-1])
    unknown = np.zeros((*cases, max(months_back - known.shape[-1], 0)))
    parts = [np.broadcast_to(each, (*cases, each.shape[-1])) for each in (unknown, known, running[..., :-1])]
    return np.asarray(
        np.lib.stride_tricks.sliding_window_view(np.concatenate(parts, axis=-1), months_back, axis=-1).max(axis=-1)
    )


def _by_month(running: Array, months_back: int, at: NDArray[np.int64]) -> Array:
    """The highest of the bills that lie in the months before each, (..., bills)."""
    apart = at[:, None] - at
    looked_at = (apart > 0) & (apart <= months_back)
    return np.asarray(np.where(looked_at, running[..., None, :], 0.0).max(axis=-1))
