"""Break-even: at which price, rise or rate does a figure pass zero?"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Which = Literal["first", "last"]

_PRECISION = 1e-10
_MOST_STEPS = 120


def highest_price(price: ArrayLike, npv: ArrayLike, slope: ArrayLike) -> Array:
    """The highest price worth paying: the one at which the net present value is zero.

    price : money (...) at which ``npv`` (...) holds; slope : what the npv gains by one more unit of price (...), the
    present value of all that moves with it: -1 in year 0, awards that are a share of it, what is left at the end.
    Of a quote against another way to go ahead, take for ``npv`` what the one is worth more than the other. Shapes
    broadcast. Returns money (...), NaN where there is none: ``why_no_price``.
    Equation: price - npv / slope, exact as long as the awards stay the same share.
    """
    asked, worth, gain = _broadcast(price, npv, slope)
    falls = gain < 0
    found = asked - worth / np.where(falls, gain, -1.0)
    return np.where(falls & (found >= 0), found, np.nan)


def why_no_price(price: ArrayLike, npv: ArrayLike, slope: ArrayLike) -> str | None:
    """Why a single case has no highest price worth paying, or None if it has one; inputs as `highest_price`."""
    if not np.isnan(highest_price(price, npv, slope)).any():
        return None
    if np.any(np.asarray(slope) >= 0):
        return "all that is paid comes back, so no price is too high"
    return "it loses money even as a gift"


@dataclass(frozen=True, eq=False)
class Zero:
    """Where a function is zero; (...) each.

    at : NaN where no zero was seen; seen : how many were, so more than one asks for a caution; side : where none
    was, 1 if the function stays above zero, -1 if below, 0 if it has no value in some part; else 0.
    """

    at: Array
    seen: NDArray[np.int64]
    side: NDArray[np.int64]


def where_zero(
    f: Callable[[Array], ArrayLike],
    low: ArrayLike,
    high: ArrayLike,
    shape: tuple[int, ...] = (),
    *,
    which: Which = "first",
    pieces: int = 16,
    precision: float = _PRECISION,
    ends: tuple[ArrayLike, ArrayLike] | None = None,
) -> Zero:
    """Find where a function of one number passes zero, for many cases at once.

    f : takes the number of each case, an array of ``shape``, and returns the values of the same shape, NaN for none;
    it is never asked outside low to high. low, high : ends of the search, finite, broadcast to ``shape``. which : the
    zero to take where there are several, "first" from below or "last"; pieces : equal parts into which the range is
    cut to look for changes of sign, 1 being enough for a function that only rises or only falls. precision : of the
    answer, as a share of high - low; ends : the values at low and high, broadcast to ``shape``, where they are known
    already. Returns `Zero`. Raises ValueError for ends that are not finite or out of order, no pieces or another
    policy.

    A pair of zeros inside one piece is not seen, nor a touch between two points. At a jump across zero the answer is
    the side of the jump on which f is nearer to zero. f is called ``pieces + 1`` times to look, less two where its
    ends are known, and, as a rule, some ten times more to close in, by the parabola through three points on its side
    where that is safe, else by halves; at a jump, or a kink on the zero itself, by halves: some forty times at the
    usual precision.
    Source: T. R. Chandrupatla, Advances in Engineering Software 28(3), 1997, from memory.
    """
    left, right = (np.broadcast_to(np.asarray(end, dtype=np.float64), shape) for end in (low, high))
    if not (np.isfinite(left).all() and np.isfinite(right).all() and (left < right).all()):
        raise ValueError("the range to search must be finite, its low end below its high end")
    if pieces < 1:
        raise ValueError(f"the range is cut into at least one piece, not {pieces}")
    if which not in ("first", "last"):
        raise ValueError(f"take the first or the last zero, not {which!r}")

    def value(at: Array) -> Array:
        return np.broadcast_to(np.asarray(f(at), dtype=np.float64), shape)

    # A share of each end, so that the first and the last point are the ends themselves.
    points = [left * (1 - k / pieces) + right * (k / pieces) for k in range(pieces + 1)]
    points = [np.clip(point, left, right) for point in points]
    if ends is None:
        ends = value(points[0]), value(points[-1])
    at_low, at_high = (np.broadcast_to(np.asarray(end, dtype=np.float64), shape) for end in ends)
    seen = _Seen(np.stack(points), np.stack([at_low, *(value(point) for point in points[1:-1]), at_high]))
    bracket, count = seen.bracket(which)
    at = _close_in(value, *bracket, precision * (right - left))
    return Zero(at=np.where(count > 0, at, np.nan), seen=count, side=np.where(count > 0, 0, seen.side))


def why_no_zero(zero: Zero, figure: str) -> str | None:
    """Why a figure of a single case passes zero nowhere, or None if it does; ``figure`` is its name in a sentence."""
    missing = np.isnan(zero.at)
    if not missing.any():
        return None
    side = int(zero.side[missing][0])
    if side == 0:
        return f"the {figure} does not exist in all of the range searched"
    return f"the {figure} stays {'above' if side > 0 else 'below'} zero in all of the range searched"


@dataclass(frozen=True, eq=False)
class _Seen:
    """A function at the points that cut the range, (pieces + 1, ...) each."""

    points: Array
    values: Array

    @property
    def side(self) -> NDArray[np.int64]:
        """The sign that all values have, 0 without one."""
        above, below = (self.values > 0).all(axis=0), (self.values < 0).all(axis=0)
        return np.asarray(above.astype(np.int64) - below)

    def bracket(self, which: Which) -> tuple[tuple[Array, Array, Array, Array], NDArray[np.int64]]:
        """The ends of the piece with the wanted zero and the values there, and how many zeros there are."""
        signs = np.sign(self.values)
        on, between = signs == 0, signs[:-1] * signs[1:] < 0
        # A zero may lie on a point, at an even place, or between two of them, at an odd one.
        places = np.zeros((2 * len(self.points) - 1, *on.shape[1:]), dtype=bool)
        places[::2], places[1::2] = on, between
        place = places.argmax(axis=0) if which == "first" else len(places) - 1 - places[::-1].argmax(axis=0)
        before, after = place[None] // 2, (place[None] + 1) // 2
        ends = [
            np.take_along_axis(rows, index, axis=0)[0]
            for rows in (self.points, self.values)
            for index in (before, after)
        ]
        begins = on & ~np.concatenate([np.zeros_like(on[:1]), on[:-1]])  # a stretch of zeros counts once
        return (ends[0], ends[1], ends[2], ends[3]), np.asarray(begins.sum(axis=0) + between.sum(axis=0))


def _close_in(
    value: Callable[[Array], Array], a: Array, b: Array, value_a: Array, value_b: Array, near: Array
) -> Array:
    """The zero between a and b, whose values differ in sign; where they do not, either end."""
    start, c, value_c = a, a, value_a
    best, value_best = _nearer(a, value_a, b, value_b)
    active = np.sign(value_a) * np.sign(value_b) < 0
    part = np.full(a.shape, 0.5)
    for _ in range(_MOST_STEPS):
        if not active.any():
            break
        x = np.where(active, a + part * (b - a), start)
        found = value(x)
        same = np.sign(found) == np.sign(value_a)
        c, value_c = np.where(same, a, b), np.where(same, value_a, value_b)
        b, value_b = np.where(same, b, a), np.where(same, value_b, value_a)
        a, value_a = x, found
        nearest, value_nearest = _nearer(a, value_a, b, value_b)
        nearest = np.where(np.isnan(found), np.nan, nearest)
        best, value_best = np.where(active, nearest, best), np.where(active, value_nearest, value_best)
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            least = (4e-16 * np.abs(best) + 0.5 * near) / np.abs(b - a)
            active = active & (value_best != 0) & (least <= 0.5) & ~np.isnan(found)
            part = np.clip(_next_part(a, b, c, value_a, value_b, value_c), least, 1 - least)
        part = np.where(active & np.isfinite(part), part, 0.5)
    return best


def _next_part(a: Array, b: Array, c: Array, value_a: Array, value_b: Array, value_c: Array) -> Array:
    """How far from a to b to look next: by the parabola through three points, or half-way where it bends too much."""
    along, up = (a - b) / (c - b), (value_a - value_b) / (value_c - value_b)
    safe = (up**2 < along) & ((1 - up) ** 2 < 1 - along)
    to_c = value_a / (value_b - value_a) * value_c / (value_b - value_c)
    to_b = (c - a) / (b - a) * value_a / (value_c - value_a) * value_b / (value_c - value_b)
    return np.where(safe, to_c + to_b, 0.5)


def _nearer(a: Array, value_a: Array, b: Array, value_b: Array) -> tuple[Array, Array]:
    """The end whose value is nearer to zero, and that value."""
    first = np.abs(value_a) <= np.abs(value_b)
    return np.where(first, a, b), np.where(first, value_a, value_b)


def _broadcast(*values: ArrayLike) -> tuple[Array, ...]:
    return tuple(np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values)))
