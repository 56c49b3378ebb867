"""Which input the spread comes from: first-order and total Sobol indices of independent inputs.

The first-order index of an input is the share of the variance that would go if the input were known; the total index
is the share that would stay if all others were known. What lies between them the input shares with others.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

ROUNDING = 1e-12
"""Values closer together than this share of themselves are equal."""


@dataclass(frozen=True)
class Indices:
    """Shares of the variance with their standard errors, (inputs,) each; NaN throughout for the reason ``why_not``.

    Estimates are told as they come: a share of nothing may be slightly below zero.
    """

    first: Array
    total: Array
    first_error: Array
    total_error: Array
    why_not: str | None = None


def designs(points: ArrayLike, groups: Sequence[slice] | None = None) -> tuple[Array, Array, Array]:
    """Split points into two independent sets and mix them, one input at a time.

    points: (n, 2 k), the first k columns one draw of all k columns, the others a second; groups: the columns of each
    input, one each if not said. Returns a (n, k), b (n, k) and mixed (inputs, n, k), where mixed[i] is a with the
    columns of input i from b. Raises ValueError for an odd number of columns.
    Source: Saltelli et al., Computer Physics Communications 181 (2010), from memory.
    """
    given = np.asarray(points, dtype=np.float64)
    if given.ndim != 2 or given.shape[1] % 2:
        raise ValueError(f"two draws of each input are wanted, (n, 2 k); the points are {given.shape}")
    columns = given.shape[1] // 2
    a, b = given[:, :columns], given[:, columns:]
    inputs = [slice(k, k + 1) for k in range(columns)] if groups is None else list(groups)
    mixed = np.repeat(a[None], len(inputs), axis=0)
    for one, own in zip(mixed, inputs, strict=True):
        one[:, own] = b[:, own]
    return a, b, mixed


def indices(a: ArrayLike, b: ArrayLike, mixed: ArrayLike, resamples: int = 200, seed: int = 0) -> Indices:
    """Estimate first-order and total indices from a figure at the points of `designs`.

    a, b: the figure (n,); mixed: (k, n); resamples: how often the n rows are drawn anew for the errors, by seed.
    Returns `Indices`, all NaN where a case lacks the figure or all cases agree. Raises ValueError for shapes that do
    not fit or fewer than two resamples.
    Equations, with f about its mean and V its variance over a and b: first = mean(f_b (f_mixed - f_a)) / V,
    total = mean((f_a - f_mixed)^2) / (2 V). Sources: Saltelli et al. (2010); Jansen (1999); from memory.
    The errors are the bootstrap's, which takes the rows for independent: of scrambled Sobol points it tells more than
    there is. An error is NaN where some resample has no variance.
    """
    first_set, second_set = np.asarray(a, dtype=np.float64), np.asarray(b, dtype=np.float64)
    mixed_sets = np.asarray(mixed, dtype=np.float64)
    if first_set.ndim != 1 or first_set.shape != second_set.shape or mixed_sets.shape[1:] != first_set.shape:
        raise ValueError(
            f"a (n,), b (n,) and mixed (k, n) are wanted; these are {first_set.shape}, {second_set.shape} and "
            f"{mixed_sets.shape}"
        )
    if first_set.size == 0 or resamples < 2:
        raise ValueError("indices need at least one row and two resamples")
    everything = np.concatenate([first_set[None], second_set[None], mixed_sets])
    if not np.all(np.isfinite(everything)):
        return _without(len(mixed_sets), "some cases have no such figure")
    if np.ptp(everything[:2]) <= ROUNDING * np.abs(everything[:2]).max():
        return _without(len(mixed_sets), "all cases agree, so there is no variance to share")
    # About the mean the product of the first-order estimate scatters far less; its expectation is the same.
    everything = everything - everything.mean()
    f_a, f_b, f_mixed = everything[0], everything[1], everything[2:]
    terms = np.concatenate([[(f_a + f_b) / 2, (f_a**2 + f_b**2) / 2], f_b * (f_mixed - f_a), (f_a - f_mixed) ** 2 / 2])
    estimate = _ratios(terms.mean(axis=-1), 0.0)
    least = ROUNDING * float(np.var(everything[:2]))
    again = np.stack([_ratios(mean, least) for mean in _resampled(terms, resamples, seed)])
    first, total = np.split(estimate, 2)
    first_error, total_error = np.split(again.std(axis=0, ddof=1), 2)
    return Indices(first, total, first_error, total_error)


def _ratios(means: Array, least: float) -> Array:
    """First-order, then total indices (2 k,) from means of terms (2 + 2 k,); NaN for a variance of `least` or less."""
    variance = means[1] - means[0] ** 2
    return means[2:] / (variance if variance > least else np.nan)


def _resampled(terms: Array, resamples: int, seed: int) -> list[Array]:
    """Means of the terms (m, n) over rows drawn with replacement, (m,) for each resample."""
    dice = np.random.default_rng(seed)
    rows = terms.shape[-1]
    counts = (np.bincount(dice.integers(rows, size=rows), minlength=rows) for _ in range(resamples))
    return [terms @ count / rows for count in counts]


def _without(inputs: int, why_not: str) -> Indices:
    """Indices that do not exist."""
    none = np.full(inputs, np.nan)
    return Indices(none, none, none, none, why_not)
