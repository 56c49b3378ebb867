"""Blocks of energy: the first kWh of a billing period at one price, the next at another.

A block applies to the total of the period, never day by day, so cutting one period into two changes the bill.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.weather import DAYS_IN_MONTH

Array = NDArray[np.float64]


def block_ends(
    up_to: ArrayLike,
    per_day: bool = False,
    days: ArrayLike = DAYS_IN_MONTH,
    baseline: ArrayLike | None = None,
) -> Array:
    """Where each block but the last ends in each billing period, (..., periods of billing, blocks - 1) kWh.

    ``up_to`` is (blocks - 1,), or more where it varies, in any shape that broadcasts to the result: (12, blocks - 1)
    states it month by month. It is kWh a billing period; with ``per_day`` kWh for each day of the period; with a
    ``baseline`` (an allowance in kWh a day, any shape that broadcasts to the billing periods, such as (12,)) a share
    of that allowance, which grows with the days as well. ``days`` (..., periods of billing) in each billing period,
    the twelve months if not said.

    Raises ValueError where both ``per_day`` and ``baseline`` are given. One end per day over n days is one end n times
    as far; a share of 1 is the allowance itself.
    """
    if per_day and baseline is not None:
        raise ValueError("blocks end at kWh a day or at shares of a baseline allowance, not at both")
    length = np.asarray(days, dtype=np.float64)
    if baseline is not None:
        length = length * np.asarray(baseline, dtype=np.float64)
    scale = length if per_day or baseline is not None else np.ones(length.shape)
    return np.asarray(np.asarray(up_to, dtype=np.float64) * scale[..., None])


def in_blocks(kwh: ArrayLike, ends: ArrayLike) -> Array:
    """The part of each total that falls into each block, (..., blocks) kWh; the parts add up to the total.

    ``kwh`` (...) the total of a billing period, zero or more; ``ends`` (..., blocks - 1), broadcast to it, where each
    block but the last ends, rising. An end belongs to the block below it. Equal ends leave the block between them
    empty, and without ends there is one block.

        part of block i = min(kwh, end i) - min(kwh, end i - 1), with 0 before the first end and no end to the last

    Raises ValueError for a total below zero (what an export credit leaves is not sold in blocks), an end below zero or
    ends that fall.
    """
    total, bounds = np.asarray(kwh, dtype=np.float64)[..., None], np.asarray(ends, dtype=np.float64)
    if (total < 0.0).any():
        raise ValueError("only energy that is billed, zero or more, falls into blocks")
    if (np.diff(bounds, prepend=0.0, axis=-1) < 0.0).any():
        raise ValueError("the ends of the blocks must rise, from zero on")
    shape = np.broadcast_shapes(total.shape[:-1], bounds.shape[:-1])
    reached = np.empty((*shape, bounds.shape[-1] + 1))
    reached[..., :-1] = np.minimum(total, bounds)
    reached[..., -1] = total[..., 0]
    return np.diff(reached, prepend=0.0, axis=-1)
