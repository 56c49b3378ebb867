"""Price indices: a yearly rise, or a path of rises."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def growth(rise: ArrayLike, years: int) -> NDArray[np.float64]:
    """Price index by year: 1.0 in year 1, then grown by the yearly rise.

    rise : per year; a number or (..., 1) is the same rise every year, (..., m) a path whose entry j is the
    rise from year j+1 to year j+2. The last entry repeats, entries beyond the study are left out. A batch of
    constant rises is therefore (cases, 1), never (cases,). Returns (..., years), dimensionless.
    Raises ValueError for fewer than one year, an empty path or a rise at or below -100 %.
    Equation: index_1 = 1, index_(k+1) = index_k (1 + rise_k); (1 + rise)^(k-1) for a constant rise.
    """
    if years < 1:
        raise ValueError(f"a price index needs at least one year, not {years}")
    rises = np.atleast_1d(np.asarray(rise, dtype=np.float64))
    if rises.shape[-1] == 0:
        raise ValueError("a path of rises needs at least one entry")
    if not np.all(rises > -1):
        raise ValueError(f"a rise must be above -100 %, got {rises.min():.4g}")
    index = np.ones((*rises.shape[:-1], years))
    entry = np.minimum(np.arange(years - 1), rises.shape[-1] - 1)
    np.cumprod(1 + rises[..., entry], axis=-1, out=index[..., 1:])
    return index
