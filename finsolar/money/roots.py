"""Every rate at which a series of flows is worth nothing, for many series at once.

With u = -ln(1 + rate) the worth is f(u) = sum of flow_t e^(ut), and the method rests on two facts:

* Descartes' rule holds for such sums: f has at most as many zeros as its flows have changes of sign.
* Let s lie between the two times of one sign change. The derivative of f(u) e^(-us) is, but for that same
  factor, the sum whose flows are flow_t (t - s), which change sign ONE TIME LESS; and by Rolle's theorem it
  has a zero between any two zeros of f.

So a series with k sign changes is solved from below. With none there is no zero; with one the whole line is
the bracket; and at each further level the zeros of the level below cut the line into pieces that hold at most
one zero each. No pair of zeros, however close, can slip between the points of a fan of trial rates. The
common series (an outlay, then savings) has one change, hence one level and one bracket.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Counts = NDArray[np.int64]

_WIDEST = np.log(1e6)
_LARGEST_EXPONENT = 600.0
# A flow this much smaller than the largest is what rounding leaves of a zero.
_LOST = 1e-15
_ZERO_RATE = 1e-12
_ROUNDING = 1e-14
# Halley's method cubes the error, so a step this small is followed by one below the rounding of u.
_LAST_STEP = 1e-5
_FREE_STEPS = 8
_MOST_STEPS = 120
# Series solved together: enough to hide the cost of a call, few enough to stay in the processor's cache.
_BLOCK = 4096


def discounting_rates(flows: Array, times: Array) -> tuple[Array, Counts]:
    """Find the rates above -100 % at which each series is worth nothing.

    flows: money (cases, n); times: (n,), strictly increasing. Returns the rates per unit of time (cases,
    most), ascending and padded with NaN, and how often the flows change sign (cases,).
    Raises ValueError for flows that are not finite or times out of order.
    Range: -99.9999 % to +100,000,000 %, narrower for series longer than 43 units of time so that no power
    overflows (50 units: -99.9993 %). A flow below 1e-15 of the largest counts as zero, so does a rate below
    1e-12. Where inflows and outflows agree to rounding at a turning point, the worth touches zero and that
    rate is one root: two rates closer than about a millionth may not be told apart.
    """
    if not np.isfinite(flows).all():
        raise ValueError("flows must be finite to have a rate of return")
    if np.any(np.diff(times) <= 0):
        raise ValueError("the times of flows must be strictly increasing")
    moments = _Moments.of(times)
    changes = np.zeros(len(flows), dtype=np.int64)
    rates = np.full((len(flows), 1), np.nan)
    for start in range(0, len(flows), _BLOCK):
        block = slice(start, start + _BLOCK)
        zeros, changes[block] = _all_zeros(np.ascontiguousarray(flows[block].T), moments)
        missing = len(zeros) - rates.shape[1]
        if missing > 0:
            rates = np.pad(rates, ((0, 0), (0, missing)), constant_values=np.nan)
        # Zeros ascend in u, so their rates descend; NaN stays last.
        rates[block, : len(zeros)] = np.sort(np.expm1(-zeros) + 0.0, axis=0).T
    return rates, changes


@dataclass(frozen=True)
class _Moments:
    """The times of the flows (n,), counted from the first, and what the powers of them need."""

    times: Array
    powers: Array
    """Times to the powers 0, 1 and 2, (3, n)."""
    gaps: Array
    """The different gaps between times: just one for flows by year or by month."""
    gap: NDArray[np.intp]
    """Which of the gaps follows each time, (n - 1,)."""

    @classmethod
    def of(cls, times: Array) -> "_Moments":
        from_start = times - times[:1]
        gaps, gap = np.unique(np.diff(from_start), return_inverse=True)
        return cls(from_start, np.stack([from_start**0, from_start, from_start**2]), gaps, gap)

    @property
    def edge(self) -> float:
        """The largest u searched, in either direction."""
        return float(min(_WIDEST, _LARGEST_EXPONENT / self.times[-1]))


# Below, series stand in columns, (n, cases): numpy then works along the cases, whose number is large.


def _all_zeros(flows: Array, moments: _Moments) -> tuple[Array, Counts]:
    """Zeros u of every series (most of any, cases), NaN last, and its sign changes (cases,)."""
    size = np.abs(flows)
    kept = np.where(size > _LOST * size.max(axis=0, initial=0.0), flows, 0.0)
    signs = np.sign(kept).astype(np.int8)
    if not signs.all():
        for earlier, sign in pairwise(signs):
            np.copyto(sign, earlier, where=sign == 0)
    changed = signs[:-1] * signs[1:] < 0
    changes = changed.sum(axis=0)
    last = signs[-1].astype(np.float64)

    zeros = np.full((changes.max(initial=1), flows.shape[1]), np.nan)
    for count in np.unique(changes[changes > 0]):
        cases = np.flatnonzero(changes == count)
        group = kept if cases.size == changes.size else kept.take(cases, axis=1)
        # The middle of a first change is never used, so the common series need not have it looked up.
        middles = np.zeros((1, cases.size))
        if count > 1:
            middles = _middles(changed.take(cases, axis=1), moments.times)
        zeros[:count, cases] = _zeros(group, moments, middles, last[cases])
    zeros[np.abs(zeros) < _ZERO_RATE] = 0.0
    return zeros[: max(1, np.isfinite(zeros).sum(axis=0).max(initial=0))], changes


def _zeros(flows: Array, moments: _Moments, middles: Array, last: Array) -> Array:
    """Zeros u (k, cases), NaN last, of series that change sign at k middles (k, cases) and end with sign last."""
    count, cases = middles.shape
    edge = moments.edge
    zeros = np.empty((0, cases))
    for level in range(1, count + 1):
        series = flows
        for middle in middles[level:]:
            series = series * ((moments.times[:, None] - middle) / moments.times[-1])
        walls = np.full((level + 1, cases), edge)
        walls[0] = -edge
        walls[1:-1] = np.where(np.isnan(zeros), edge, zeros)
        signs = np.tile(last, (level + 1, 1))
        signs[0] *= (-1) ** level
        wall, case = np.nonzero(np.abs(walls) < edge)
        signs[wall, case] = _signs(series.take(case, axis=1), moments, walls[wall, case])

        zeros = np.full((level, cases), np.nan)
        piece, case = np.nonzero(signs[:-1] * signs[1:] < 0)
        low, high, left = walls[piece, case], walls[piece + 1, case], signs[piece, case]
        searched = series if level == 1 else series.take(case, axis=1)  # one change: one zero, in every case
        zeros[piece, case] = _crossing(searched, moments, low, high, left)
        # A search that ran into an edge was after a zero outside the range.
        zeros[np.abs(zeros) > edge * (1 - 1e-9)] = np.nan
        piece, case = np.nonzero((signs[1:-1] == 0) & (signs[:-2] != 0))
        zeros[piece, case] = walls[piece + 1, case]
        zeros.sort(axis=0)
    return zeros


def _middles(changed: NDArray[np.bool_], times: Array) -> Array:
    """A time inside each of k sign changes (n - 1, cases), (k, cases): half-way from the flow before it."""
    time = np.nonzero(changed.T)[1].reshape(changed.shape[1], -1).T
    return (times[time] + times[time + 1]) / 2


def _signs(flows: Array, moments: _Moments, u: Array) -> Array:
    """Sign of the worth at u (cases,): 0 where inflows and outflows agree but for rounding."""
    ratio = _log_ratio(np.maximum(flows, 0), np.maximum(-flows, 0), moments, u)[0]
    return np.where(np.abs(ratio) <= _ROUNDING * (1 + np.abs(u) * moments.times[-1]), 0.0, np.sign(ratio))


def _crossing(flows: Array, moments: _Moments, low: Array, high: Array, left: Array) -> Array:
    """The one zero u (cases,) between low and high of each series, whose sign at low is left.

    Halley steps on the logarithm of inflows over outflows, which is nearly a straight line in u; a step that
    leaves the bracket, and every other step of a slow case, is a bisection.
    """
    u = np.where((low < 0) & (high > 0), 0.0, (low + high) / 2)
    result, active = u.copy(), np.arange(u.size)
    inflows, outflows = np.maximum(flows, 0), np.maximum(-flows, 0)
    for attempt in range(_MOST_STEPS):
        ratio, slope, bend = _log_ratio(inflows, outflows, moments, u)
        on_left = ratio * left > 0
        low, high = np.where(on_left, u, low), np.where(on_left, high, u)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            step = -2 * ratio * slope / (2 * slope**2 - ratio * bend)
            # Where the slope changes fast another zero is near, and only a shorter step is the last.
            settled = np.abs(step) * np.maximum(1, np.abs(bend / slope)) < _LAST_STEP
        target = u + step
        inside = (target >= low) & (target <= high)
        if attempt >= _FREE_STEPS and attempt % 2:
            inside[:] = False
        u = np.where(inside, target, (low + high) / 2)
        result[active] = u
        more = ~(inside & settled) & (high - low > 4e-16 * np.abs(u))
        if not more.any():
            break
        if 2 * more.sum() < more.size:
            active, u, low, high, left = active[more], u[more], low[more], high[more], left[more]
            inflows, outflows = inflows.compress(more, axis=1), outflows.compress(more, axis=1)
    return result


def _log_ratio(inflows: Array, outflows: Array, moments: _Moments, u: Array) -> tuple[Array, Array, Array]:
    """ln(worth of inflows / worth of outflows) at u and its first two derivatives; (cases,) each.

    The derivatives are differences between the sides: of the mean of time, weighted by worth, and of its
    variance.
    """
    if u.any():  # At u = 0, where most searches begin, worth is the flow itself.
        growth = np.exp(moments.gaps[:, None] * u)
        worth = np.empty((moments.times.size, u.size))
        worth[0] = 1.0
        for time, gap in enumerate(moments.gap):
            np.multiply(worth[time], growth[gap], out=worth[time + 1])
        inflows, outflows = inflows * worth, np.multiply(outflows, worth, out=worth)
    gain, gain_mean, gain_square = moments.powers @ inflows
    cost, cost_mean, cost_square = moments.powers @ outflows
    with np.errstate(divide="ignore", invalid="ignore"):
        gain_mean, cost_mean = gain_mean / gain, cost_mean / cost
        bend = gain_square / gain - gain_mean**2 - cost_square / cost + cost_mean**2
        return np.log(gain / cost), gain_mean - cost_mean, bend
