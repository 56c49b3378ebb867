"""Arithmetic of awards: bands over a size, credits used against tax, and payments that come year by year.

Pure functions of arrays. `...` are leading case axes; `years` is the length of the study, year 1 first.
"""

from collections.abc import Sequence
from datetime import date

import numpy as np

from finsolar.incentives.facts import Array
from finsolar.incentives.law import Band


def over_bands(size: Array, bands: Sequence[Band]) -> Array:
    """Return the sum over bands (...): each part of `size` (...) times the value of the band it falls in.

    Bands are marginal, as brackets of an income tax are: {up to 10: 8, beyond: 5} gives 12 x of size 12 as
    10 * 8 + 2 * 5 = 90.
    """
    total, below = np.zeros(np.shape(size)), 0.0
    for band in bands:
        total = total + np.clip(np.asarray(size) - below, 0.0, band.up_to - below) * band.value
        below = band.up_to
    return np.asarray(total)


def mean_rate(size: Array, bands: Sequence[Band]) -> Array:
    """Return what a unit earns on average (...) where each band of `size` (...) has its own value; zero for no size."""
    size = np.asarray(size, dtype=np.float64)
    total = over_bands(size, bands)
    return np.divide(total, size, out=np.zeros_like(total), where=size > 0)


def use_credit(potential: Array, limit: Array, carry_years: float) -> tuple[Array, Array]:
    """Return what each year uses of a credit (..., years), and what is left after them (...).

    `potential` (...) arises in year 1 and is not refundable; `limit` (..., years) is the most each year can use,
    such as the tax owed; `carry_years` is for how many years after the first an unused part may be used, infinity
    for all.

        used(k) = min(left(k-1), limit(k)), left(k) = left(k-1) - used(k), left(0) = potential

    Source: Internal Revenue Code 25D(c); Form 5695 (2025) lines 13 to 16.
    """
    *cases, years = limit.shape
    shape = np.broadcast_shapes(np.shape(potential), tuple(cases))
    used = np.zeros((*shape, years))
    left = np.array(np.broadcast_to(potential, shape), dtype=np.float64)
    for year in range(int(min(years, 1 + carry_years))):
        used[..., year] = np.minimum(left, limit[..., year])
        left = left - used[..., year]
    return used, left


def term_weights(term_years: float, years: int, extra: float = 0.0) -> Array:
    """Return the part of each year (years,) that lies within a term, with `extra` of a year added at its end."""
    return np.clip(term_years + extra - np.arange(years), 0.0, 1.0)


def rest_of_year(day: date) -> float:
    """Return what part of a year is left from `day`, that day included, to the end of its calendar year."""
    first, following = date(day.year, 1, 1), date(day.year + 1, 1, 1)
    return (following - day).days / (following - first).days


def certificates(size: Array, weights: Sequence[Band], factor: float, zone: float = 1.0) -> Array:
    """Return whole certificates (...) for a size (...): weighted size x zone x factor, rounded down once at the end.

    The product is rounded to nine places first, since products that are whole by hand can fall just below in binary.
    Source: the form of the Australian small-scale technology certificates.
    """
    return np.asarray(np.floor(np.round(over_bands(size, weights) * zone * factor, 9)))


def capped_in_turn(amounts: Array, most: Array) -> Array:
    """Return yearly amounts (..., years) cut so that their running total never passes `most` (...)."""
    total = np.minimum(np.cumsum(amounts, axis=-1), np.asarray(most)[..., None])
    return np.diff(total, axis=-1, prepend=np.zeros((*total.shape[:-1], 1)))
