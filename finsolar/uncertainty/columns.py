"""Values of many cases as columns: one for each range that was drawn, then those of years that differ by themselves.

A range with a ``yearly_sd`` holds in all years but for what each year adds: that is a column a year, behind the columns
of all ranges, in their order.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from finsolar.scenario.numbers import Range
from finsolar.uncertainty.draws import quantiles
from finsolar.uncertainty.ranges import Ranged

Array = NDArray[np.float64]


def count(drawn: Sequence[Ranged]) -> int:
    """How many columns the ranges take."""
    return len(drawn) + sum(each.years for each in drawn)


def own_years(drawn: Sequence[Ranged]) -> list[slice]:
    """By range the columns of its own years; none where its years do not differ."""
    found, start = [], len(drawn)
    for each in drawn:
        found.append(slice(start, start + each.years))
        start += each.years
    return found


def values_of(drawn: Sequence[Ranged], shares: Array) -> Array:
    """The values (..., columns) below which ``shares`` (..., columns) of all cases lie.

    What a year adds is normal about zero, cut off at four standard deviations.
    """
    values = np.empty(shares.shape)
    for k, (each, own) in enumerate(zip(drawn, own_years(drawn), strict=True)):
        values[..., k] = quantiles(each.range, shares[..., k], each.low, each.high)
        year = Range("mean, sd", (0.0, each.range.yearly_sd))
        values[..., own] = quantiles(year, shares[..., own], -np.inf, np.inf)
    return values


def middle(drawn: Sequence[Ranged]) -> Array:
    """The values (columns,) that a study without draws uses."""
    return np.array([*(each.range.central for each in drawn), *np.zeros(count(drawn) - len(drawn))])


def by_year(drawn: Sequence[Ranged], values: Array) -> list[Array]:
    """What each range comes to in ``values`` (cases, columns): (cases, 1), or (cases, years) where its years differ."""
    found = []
    for k, (each, own) in enumerate(zip(drawn, own_years(drawn), strict=True)):
        level = values[:, k : k + 1]
        # A year may stray beyond what the field holds; then it counts as that.
        found.append(np.clip(level + values[:, own], each.low, each.high) if each.years else level)
    return found


def chosen(drawn: Sequence[Ranged], values: Array) -> dict[str, Array]:
    """What `study` is to choose for ``values`` (cases, columns): each range's in every place that holds it."""
    found = by_year(drawn, values)
    return {path: column for each, column in zip(drawn, found, strict=True) for path in each.paths}


def pieces(cases: int, size: int) -> Iterator[slice]:
    """Cases in turn, in pieces of bounded size."""
    for start in range(0, cases, size):
        yield slice(start, min(start + size, cases))
