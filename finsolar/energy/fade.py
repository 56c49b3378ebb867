"""Ageing: what is left of modules and batteries in each year of the study."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def array_factor(years: int, fade: ArrayLike, first_year_loss: ArrayLike = 0.0) -> Array:
    """Return the share of its first output that an array still gives, (..., years).

    `fade` is the share lost each year after the first, `first_year_loss` the share lost at once when new
    modules see light; both are floats or (..., 1). Year k: (1 - first_year_loss) (1 - fade)^(k - 1), so year
    1 carries no fade.
    """
    lasting = 1.0 - np.asarray(fade, dtype=np.float64)
    return np.asarray((1.0 - np.asarray(first_year_loss)) * lasting ** np.arange(years))


def ages(years: int, replaced_after: Iterable[int] = ()) -> Array:
    """Return the full years of age at the start of each year, (years,).

    `replaced_after` lists the years (1 = the first) at whose end a new unit takes over. Raises ValueError for
    a year before the first; a replacement at or beyond the end of the study changes nothing.
    """
    changes = sorted(set(replaced_after))
    if changes and changes[0] < 1:
        raise ValueError("a replacement comes at the end of year 1 or later")
    elapsed = np.arange(years)
    fresh = np.array([0, *changes])
    return np.asarray(elapsed - fresh[np.searchsorted(fresh, elapsed, side="right") - 1], dtype=np.float64)


def battery_factor(age: ArrayLike, yearly_fade: ArrayLike) -> Array:
    """Return the share of its first capacity that a battery still holds, broadcast over its inputs.

    `age` in full years, as from `ages`; `yearly_fade` the share of the first capacity lost a year, a float or
    (..., 1): max(1 - yearly_fade age, 0), the straight line most warranties are written in (common practice,
    no source).
    """
    return np.maximum(1.0 - np.multiply(yearly_fade, age), 0.0)
