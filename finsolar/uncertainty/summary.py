"""Many cases in a few figures: mean, percentiles, chances, and how sure the draws make them.

P10 is the value below which 10 % of the cases lie, P90 the one below which 90 % lie. Draws come in replicates, each a
set of points scrambled by itself, so that what the replicates disagree about is the error of what they say together.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log2, sqrt
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

PERCENTS = (10, 50, 90)
NOTICED = 0.01
"""Share of the outlay below which nobody would notice; common practice, no source."""


@dataclass(frozen=True)
class Summary:
    """One figure over all cases, in its own unit; NaN where there is none.

    mean : of the cases that have the figure; none : share of the cases that have not, 0 to 1; error : standard error
    of the mean; p10_error, p50_error, p90_error : those of the percentiles.
    """

    mean: float
    p10: float
    p50: float
    p90: float
    none: float
    error: float
    p10_error: float
    p50_error: float
    p90_error: float


@dataclass(frozen=True)
class Chance:
    """A chance, 0 to 1, and its standard error."""

    share: float
    error: float


@dataclass(frozen=True)
class Histogram:
    """Cases between neighbouring edges: edges (bars + 1,), counts (bars,); left_out: how many have no value."""

    edges: Array
    counts: NDArray[np.int64]
    left_out: int


@dataclass(frozen=True)
class Fan:
    """P10, P50 and P90 of each year taken by itself; money (years + 1,) each."""

    p10: Array
    p50: Array
    p90: Array


def summarise(values: ArrayLike, none_is: Literal["late", "left out"] = "left out") -> Summary:
    """Say a figure of many cases by its mean and percentiles, each with its standard error.

    values: (replicates, draws), NaN for a case without the figure. none_is: what such a case means to the percentiles:
    "left out" of them, or "late": beyond every number, as a payback that never comes, so that P90 is NaN where 10 % or
    more never are paid back. The mean leaves them out either way. Returns `Summary`: estimates of all cases together;
    errors NaN from a single replicate, or where a replicate by itself lacks the estimate. Raises ValueError for
    another shape, no case at all, an infinite value or another word.
    Equations: percentile p at place p (n - 1) of the n values in order, counted from 0, on a straight line between
    neighbours (type 7); error = s.d. of the replicates' own estimates / sqrt(replicates), itself known to about a
    quarter from 8 replicates.
    Equal values give that value exactly and errors of zero.
    """
    cases = np.asarray(values, dtype=np.float64)
    if cases.ndim != 2 or cases.size == 0:
        raise ValueError(f"the cases are wanted as (replicates, draws), at least one; these are {cases.shape}")
    _refuse_infinite(cases)
    if none_is not in ("late", "left out"):
        raise ValueError(f"a case without the figure is 'late' or 'left out', not {none_is!r}")
    left_out = none_is == "left out"
    together = cases.reshape(1, -1)
    p10, p50, p90 = _percentiles(together, left_out)[:, 0]
    p10_error, p50_error, p90_error = (_error(each) for each in _percentiles(cases, left_out))
    return Summary(
        mean=float(_means(together)[0]),
        p10=float(p10),
        p50=float(p50),
        p90=float(p90),
        none=float(np.isnan(cases).mean()),
        error=_error(_means(cases)),
        p10_error=p10_error,
        p50_error=p50_error,
        p90_error=p90_error,
    )


def chance(holds: ArrayLike) -> Chance:
    """Share of the cases in which something holds.

    holds: true or false, (replicates, draws). Returns `Chance`; the error is NaN from a single replicate. Raises
    ValueError for another shape or no case at all.
    Equation: error = s.d. of the replicates' own shares / sqrt(replicates). At 0 or 1 it is zero: no draw fell on the
    other side, which leaves room for a chance of about 3 in the number of draws (rule of three, from memory).
    """
    cases = np.asarray(holds, dtype=np.bool_)
    if cases.ndim != 2 or cases.size == 0:
        raise ValueError(f"the cases are wanted as (replicates, draws), at least one; these are {cases.shape}")
    return Chance(share=float(cases.mean()), error=_error(cases.mean(axis=-1)))


def histogram(values: ArrayLike, bins: int = 30) -> Histogram:
    """Count the cases in bars of equal width.

    values: (n,), NaN for a case without the figure. Returns `Histogram`: a single bar around values that are all
    equal (within 1e-12 of themselves or of 1), no bar where no case has a value. Raises ValueError for no bin or an
    infinite value.
    """
    cases = np.asarray(values, dtype=np.float64).ravel()
    _refuse_infinite(cases)
    present = cases[~np.isnan(cases)]
    left_out = cases.size - present.size
    if bins < 1:
        raise ValueError(f"a histogram needs at least one bar, not {bins}")
    if present.size == 0:
        return Histogram(np.empty(0), np.empty(0, dtype=np.int64), left_out)
    low, high = float(present.min()), float(present.max())
    size = max(1.0, abs(low), abs(high))
    if high - low <= 1e-12 * size:
        edges = np.array([low - 0.005 * size, high + 0.005 * size])
        return Histogram(edges, np.array([present.size]), left_out)
    counts, edges = np.histogram(present, bins=bins)
    return Histogram(edges, counts.astype(np.int64), left_out)


def fan(totals: ArrayLike) -> Fan:
    """How far the running totals of many cases spread from year to year.

    totals: money (n, years + 1). Returns `Fan`, percentiles as in `summarise`; no single case need follow any of the
    three lines. Raises ValueError for another shape, no case, or a total that is not finite.
    """
    cases = np.asarray(totals, dtype=np.float64)
    if cases.ndim != 2 or cases.size == 0:
        raise ValueError(f"the totals are wanted as (cases, years + 1), at least one; these are {cases.shape}")
    if not np.all(np.isfinite(cases)):
        raise ValueError("a running total exists in every case and year")
    return Fan(*_percentiles(cases.T, left_out=False))


def enough(summary: Summary, outlay: float) -> str:
    """Say in words whether more draws would tell more about a sum of money.

    summary: of money that every case has, such as the NPV; outlay: money, what the household pays at first. Returns a
    sentence. "To within" is two standard errors, wide enough nine times in ten with 8 replicates. Enough is 1 % of the
    outlay for the mean and each percentile alike: a percentile may be near zero, so no share of itself would do.
    Without an outlay the span from P10 to P90 stands in for it.
    More draws are advised by powers of two, as if the error fell with their square root; scrambled Sobol points mostly
    do better.
    """
    errors = np.array([summary.error, summary.p10_error, summary.p50_error, summary.p90_error])
    if np.isnan(errors).any():
        return "how sure these figures are cannot be told: that takes two or more sets of draws, each with the figure"
    if not errors.any():
        return "every set of draws gives the same figures; more draws would change nothing"
    yardstick, measure = (
        (outlay, "the outlay") if outlay > 0 else (summary.p90 - summary.p10, "the span from P10 to P90")
    )
    if yardstick <= 0:
        return "there is neither an outlay nor a span from P10 to P90 to measure the error by"
    within = 2 * errors / yardstick
    worst = int(np.argmax(within))
    if within[worst] <= NOTICED:
        return (
            f"the mean is known to within {_percent(within[0])} of {measure} and each percentile to within "
            f"{_percent(float(within[1:].max()))}; more draws would change nothing you would notice"
        )
    times = 2 ** ceil(log2((within[worst] / NOTICED) ** 2))
    name = ("the mean", "P10", "P50", "P90")[worst]
    often = {2: "twice", 4: "four times"}.get(times, f"{times} times")
    return f"{name} is known only to within {_percent(within[worst])} of {measure}; draw {often} as many"


def _refuse_infinite(cases: Array) -> None:
    if np.any(np.isinf(cases)):
        raise ValueError("a case without the figure is NaN, never infinite")


def _percentiles(rows: Array, left_out: bool) -> Array:
    """P10, P50 and P90 of each row (rows, n), as (3, rows); NaN is left out, or beyond every number."""
    ordered = np.sort(rows, axis=-1)  # NaN comes last
    count = np.count_nonzero(~np.isnan(rows), axis=-1) if left_out else np.full(len(rows), rows.shape[-1])
    last = np.maximum(count - 1, 0)
    # Whole per cent, so that a place that falls on a case falls on it exactly.
    place = np.array(PERCENTS)[:, None] * last / 100
    before = np.floor(place).astype(np.int64)
    row = np.arange(len(rows))
    lower, upper = ordered[row, before], ordered[row, np.minimum(before + 1, last)]
    return np.asarray(np.where(place == before, lower, lower + (place - before) * (upper - lower)))


def _means(rows: Array) -> Array:
    """Mean of what each row (rows, n) has, NaN for nothing; (rows,)."""
    present = ~np.isnan(rows)
    count = np.count_nonzero(present, axis=-1)
    # Taken from a case of its own, so that equal values have exactly that mean.
    start = rows[np.arange(len(rows)), np.argmax(present, axis=-1)]
    beyond = np.where(present, rows - start[:, None], 0.0).sum(axis=-1)
    return np.asarray(start + beyond / np.maximum(count, 1))


def _error(estimates: Array) -> float:
    """Standard error of what replicates (replicates,) say together."""
    if len(estimates) < 2:
        return float("nan")
    return float(np.std(estimates - estimates[0], ddof=1)) / sqrt(len(estimates))


def _percent(share: float) -> str:
    """A share in per cent, rounded up so as not to promise too much."""
    return f"{ceil(1000 * share - 1e-9) / 10:.1f} %"
