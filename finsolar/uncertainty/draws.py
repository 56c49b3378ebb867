"""Draws: even points, tied together where numbers move together, turned into values of each range."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from finsolar.scenario.numbers import Range

Array = NDArray[np.float64]
Tie = tuple[str, str, float]

_BITS = 30  # a coordinate of a point is a whole number of 2^-30
_NEGATIVE = 1e-10  # an eigenvalue this far below zero is rounding
_UNEXPLAINED = 1e-9  # a variance below this is rounding: the number follows wholly from earlier ones
_REACH = 4.0  # standard deviations: beyond lies one case in 16,000
_EDGE = 2.0**-53  # the nearest that a share comes to 0 and to 1


def quantiles(of: Range, shares: Array, low: float, high: float) -> Array:
    """The values of a range below which these shares of all cases lie.

    shares : (...) in (0, 1); low, high : what the field may hold, in the range's unit, as are the values returned,
    (...). A range of no width, or without spread, gives its value exactly. Raises ValueError for a share outside
    (0, 1) and for a range outside the field's limits.

    - low a, likely m, high b: a + (b - a) B, where B follows the beta distribution with the parameters
      1 + 4 (m - a) / (b - a) and 1 + 4 (b - m) / (b - a) (PERT); its mean is (a + 4 m + b) / 6.
    - mean, sd: the normal, cut off at 4 standard deviations and at the field's limits, the rest scaled up to one. Cut
      off on one side more than on the other, it has another mean than the one written.
    - from, to: every value alike.
    - characteristic, shape: characteristic (-ln(1 - u))^(1 / shape) for the share u (Weibull); lives beyond the
      field's limits count as those limits.
    """
    shares = np.asarray(shares, dtype=np.float64)
    if not np.all((shares > 0) & (shares < 1)):
        raise ValueError("a share of cases lies strictly between 0 and 1")
    first, last = of.values[0], of.values[-1]
    ends_at = last if of.kind in {"low, likely, high", "from, to"} else first
    if not low <= first <= ends_at <= high:
        raise ValueError(f"the range {of.kind} {of.values} leaves the field's limits {low:g} to {high:g}")
    if of.kind == "low, likely, high":
        return _pert(shares, *of.values)
    if of.kind == "mean, sd":
        return _normal(first, last, shares, low, high)
    if of.kind == "from, to":
        return _stretched(first, last, shares)
    lives: Array = np.clip(first * (-np.log1p(-shares)) ** (1.0 / last), low, high)
    return lives


def _stretched(start: float, end: float, shares: Array) -> Array:
    """From 0 .. 1 to start .. end, which rounding must not pass."""
    values: Array = np.minimum(start + (end - start) * shares, end)
    return values


def _pert(shares: Array, low: float, likely: float, high: float) -> Array:
    from scipy.special import betaincinv

    if low == high:
        return np.full(shares.shape, low)
    width = high - low
    alpha, beta = 1.0 + 4.0 * (likely - low) / width, 1.0 + 4.0 * (high - likely) / width
    return _stretched(low, high, betaincinv(alpha, beta, shares))


def _normal(mean: float, sd: float, shares: Array, low: float, high: float) -> Array:
    from scipy.special import ndtr, ndtri

    if sd == 0:
        return np.full(shares.shape, mean)
    below, above = ndtr(max((low - mean) / sd, -_REACH)), ndtr(min((high - mean) / sd, _REACH))
    values: Array = np.clip(mean + sd * ndtri(_stretched(below, above, shares)), low, high)
    return values


def points(draws: int, dimensions: int, seed: int) -> Array:
    """Points (draws, dimensions) that fill the unit cube evenly, by scrambled Sobol sequences.

    draws : a power of two; seed : 0 or more, the same for the same points; fewer points of one seed are the first of
    more. All coordinates lie strictly inside (0, 1), and in each of ``draws`` equal slices of any one dimension lies
    exactly one point. Raises ValueError for another number of draws, and for a seed below zero.
    """
    from scipy.stats import qmc

    if not 1 <= draws <= 2**_BITS:
        raise ValueError(f"{draws} draws; write a power of two from 1 to {2**_BITS}")
    if draws & (draws - 1):
        fewer = 1 << (draws.bit_length() - 1)
        raise ValueError(f"{draws} draws are not a power of two; write {fewer} or {2 * fewer}")
    if seed < 0:
        raise ValueError(f"the seed is {seed}; write 0 or more")
    corners = qmc.Sobol(dimensions, scramble=True, bits=_BITS, seed=seed).random(draws)
    # From the corner of its cell to the middle, so that no point lies at 0, where a bell curve has no end.
    even: Array = corners + 0.5**_BITS / 2
    return even


def rank_matrix(names: Sequence[str], together: Sequence[Tie]) -> Array:
    """The correlations (names, names) of normal scores that give pairs of numbers the rank correlations wanted.

    together : (name, name, Spearman's rank correlation in [-1, 1]); pairs that are not listed are independent. Each
    entry is 2 sin(pi r / 6), so that 1, 0 and -1 stay what they are. Raises ValueError that names the
    pair for an unknown name, a name with itself, a pair stated twice, a correlation beyond 1 and correlations that
    cannot hold together.

    Source: Pearson (1907), the rank correlation of two normals is (6 / pi) arcsin(rho / 2); from memory.
    """
    where = {name: i for i, name in enumerate(names)}
    matrix, stated = np.eye(len(names)), set()
    for one, other, rank in together:
        for name in (one, other):
            if name not in where:
                raise ValueError(f"{one} with {other}: {name} is not a range that is drawn")
        if one == other:
            raise ValueError(f"{one} with {other}: a number always goes with itself; name two")
        if frozenset((one, other)) in stated:
            raise ValueError(f"{one} with {other}: is stated twice; state it once")
        if not abs(rank) <= 1:
            raise ValueError(f"{one} with {other}: is {rank:g}; a rank correlation lies between -1 and 1")
        stated.add(frozenset((one, other)))
        i, j = where[one], where[other]
        matrix[i, j] = matrix[j, i] = _of_scores(rank)
    if not _possible(matrix):
        raise ValueError(_conflict(where, matrix, together))
    return matrix


def _of_scores(rank: float) -> float:
    return float(2.0 * np.sin(np.pi * rank / 6.0))


def _possible(matrix: Array) -> bool:
    return bool(np.all(np.linalg.eigvalsh(matrix) >= -_NEGATIVE))


def _conflict(where: dict[str, int], matrix: Array, together: Sequence[Tie]) -> str:
    """Which pairs cannot hold together, and what the last of them may be, given the others."""
    # Numbers go one by one while the others still conflict. Whole numbers with all their pairs: a pair left out
    # would count as independent, which can be the very thing that does not fit.
    kept = list(where)
    for name in where:
        rest = [where[other] for other in kept if other != name]
        if not _possible(matrix[np.ix_(rest, rest)]):
            kept.remove(name)
    pairs = [tie for tie in together if tie[0] in kept and tie[1] in kept]
    listed = {frozenset(tie[:2]) for tie in pairs}
    free = [f"{a} with {b}" for i, a in enumerate(kept) for b in kept[i + 1 :] if frozenset((a, b)) not in listed]
    one, other, _ = pairs[-1]
    order = [where[name] for name in kept if name not in (one, other)] + [where[one], where[other]]
    words = ", ".join(f"{a} with {b} {rank:g}" for a, b, rank in pairs)
    words += f", and independent as not stated {', '.join(free)}" if free else ""
    nearest = _nearest(matrix[np.ix_(order, order)])
    return f"{words}: cannot all hold; the nearest possible for {one} with {other} is {nearest}"


def _nearest(matrix: Array) -> float:
    """The rank correlation of the last two numbers, nearest to the one given, that the others allow.

    Given the others, what is left of the two correlates by at most 1 either way. Rounded to as few digits, three or
    more, as still hold.
    """
    others, one, other = matrix[:-2, :-2], matrix[:-2, -2], matrix[:-2, -1]
    inverse = np.linalg.pinv(others, rtol=_NEGATIVE, hermitian=True)
    middle, left = one @ inverse @ other, 1.0 - np.array([one @ inverse @ one, other @ inverse @ other])
    reach = np.sqrt(np.maximum(left, 0.0).prod())
    score = np.clip(np.clip(matrix[-2, -1], middle - reach, middle + reach), -1.0, 1.0)
    rank = float(np.arcsin(score / 2.0) * 6.0 / np.pi)
    for digits in range(3, 12):
        for rounded in (np.floor(rank * 10**digits) / 10**digits, np.ceil(rank * 10**digits) / 10**digits):
            trial = matrix.copy()
            trial[-1, -2] = trial[-2, -1] = _of_scores(rounded)
            if _possible(trial):
                return float(rounded)
    return rank


def joined(points: Array, matrix: Array) -> Array:
    """The points (..., dimensions) with the dimensions tied to one another, still even in each one by itself.

    matrix : correlations (dimensions, dimensions) of the normal scores, as of :func:`rank_matrix`; a dimension that is
    tied to no earlier one stays exactly as it was, so with the identity all do. Normal scores of the points times the
    triangular factor of the matrix (Cholesky), turned back into shares (Gaussian copula). Raises ValueError for a
    matrix that no numbers can have, or of another size.
    """
    from scipy.special import ndtr, ndtri

    factor = _factor(matrix, points.shape[-1])
    shares = points.copy()
    for i in np.flatnonzero(np.tril(factor, -1).any(axis=1)):
        # One column after another: a matrix product would round a case differently by its place among the others.
        score = sum(factor[i, j] * ndtri(points[..., j]) for j in np.flatnonzero(factor[i]))
        shares[..., i] = np.clip(ndtr(score), _EDGE, 1.0 - _EDGE)
    return shares


def _factor(matrix: Array, size: int) -> Array:
    """The triangular factor, with empty columns where a number follows wholly from earlier ones."""
    if matrix.shape != (size, size):
        raise ValueError(f"{size} dimensions need correlations ({size}, {size}), not {matrix.shape}")
    factor = np.zeros((size, size))
    for j in range(size):
        left = matrix[j:, j] - factor[j:, :j] @ factor[j, :j]
        if left[0] > _UNEXPLAINED:
            factor[j:, j] = left / np.sqrt(left[0])
    if not np.allclose(factor @ factor.T, matrix, rtol=0.0, atol=1e-4):
        raise ValueError("no numbers can have these correlations together")
    return factor
