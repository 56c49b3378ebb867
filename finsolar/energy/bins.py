"""Sums of hours by a key, such as the month or the price period.

Keys come in runs of equal hours, so the runs are added up first and then, few as they are, sorted by key and
added up again. That beats a matrix product with an indicator, and does not depend on how many threads one
would use.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Bins:
    """Hours gathered by key: made by `bins`, used by `sums` and `growth`.

    `first` the first hour of each run, `last` its last; `order` the runs sorted by key; `group` where in that
    order each key begins, and `present` the keys there are; `size` the number of keys there could be.
    """

    first: NDArray[np.int64]
    last: NDArray[np.int64]
    order: NDArray[np.int64]
    group: NDArray[np.int64]
    present: NDArray[np.int64]
    size: int


def bins(key: NDArray[np.int64], size: int) -> Bins:
    """Prepare to sum by `key` (hours,), whole numbers from 0 to `size` - 1."""
    first = np.flatnonzero(np.diff(key, prepend=-1))
    order = np.argsort(key[first], kind="stable")
    in_order = key[first][order]
    group = np.flatnonzero(np.diff(in_order, prepend=-1))
    last = np.append(first[1:], len(key)) - 1
    return Bins(first=first, last=last, order=order, group=group, present=in_order[group], size=size)


def sums(hours: Array, by: Bins) -> Array:
    """Return the sum of `hours` (..., hours) for each key, (..., size); zero for a key without hours."""
    runs = np.add.reduceat(distinct(hours), by.first, axis=-1)
    return np.broadcast_to(_by_key(runs, by), (*hours.shape[:-1], by.size))


def distinct(hours: Array) -> Array:
    """Return the hours (..., hours) without the repetition of broadcast years and cases, one of each kept."""
    return hours[tuple(slice(1 if step == 0 else None) for step in hours.strides[:-1])]


def growth(level: Array, start: Array, by: Bins) -> Array:
    """Return by how much a level rose in the hours of each key, (..., size).

    `level` (..., hours) at the end of each hour, `start` (...) before the first.
    """
    return _by_key(np.diff(level[..., by.last], prepend=start[..., None], axis=-1), by)


def _by_key(runs: Array, by: Bins) -> Array:
    found = np.zeros((*runs.shape[:-1], by.size))
    found[..., by.present] = np.add.reduceat(runs[..., by.order], by.group, axis=-1)
    return found
