"""Interruptions of the grid: their indices, the lengths they have, and what of them a house carries.

A kind of outages comes n times a year; its lengths D are lognormal with a mean m and a coefficient of variation c:

    sigma^2 = ln(1 + c^2)        mu = ln m - sigma^2 / 2
    S(t) = P(D > t) = Phi((mu - ln t) / sigma)
    G(t) = E[min(D, t)] = m Phi((ln t - mu - sigma^2) / sigma) + t S(t)

so that G is the integral of S, and G(t + 1) - G(t) the time that an outage spends in its hour t. A house whose
endurance from a start is e carries min(D, e) hours of an outage that begins there, and beyond the longest outage that
is looked at nothing counts as carried. Starts are all alike, in the months of the kind.
Source: IEEE 1366 for the indices; the moments of the lognormal law for the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

SUSTAINED_MINUTES = 5.0
"""An interruption counts if it lasts longer than this (IEEE 1366)."""

HOURS = 8760.0
_DAY = 24


@dataclass(frozen=True, eq=False)
class Indices:
    """Interruptions of an average customer in a year, ``saifi``, and hours without supply, ``saidi``; (...) each."""

    saifi: Array
    saidi: Array

    @property
    def caidi(self) -> Array:
        """Hours of one interruption, (...); NaN where there is none."""
        some = self.saifi > 0
        return np.where(some, self.saidi / np.where(some, self.saifi, 1.0), np.nan)

    @property
    def availability(self) -> Array:
        """Share of the hours of the year with supply, (...)."""
        return np.asarray(1.0 - self.saidi / HOURS)


def indices(customers: ArrayLike, minutes: ArrayLike, served: float) -> Indices:
    """The indices of events: ``customers`` that each interrupts for so many ``minutes``, (..., events), of ``served``.

    What lasts five minutes or less does not count. Raises ValueError where nobody is served.
    Equation: SAIFI = sum of customers / served, SAIDI = sum of customers x minutes / served. Source: IEEE 1366.
    """
    if served <= 0:
        raise ValueError(f"indices need customers that are served, not {served:g}")
    length = np.asarray(minutes, dtype=np.float64)
    hit = np.where(length > SUSTAINED_MINUTES, np.asarray(customers, dtype=np.float64), 0.0)
    return Indices(hit.sum(axis=-1) / served, (hit * length).sum(axis=-1) / 60.0 / served)


def survival(mean: ArrayLike, spread: float, hours: ArrayLike) -> Array:
    """The share of outages that last longer than ``hours``; see the head of this module.

    mean : hours; spread : coefficient of variation; mean and hours broadcast. Without spread all last their mean.
    """
    mean, hours = np.asarray(mean, dtype=np.float64), np.asarray(hours, dtype=np.float64)
    if spread == 0:
        return np.where(hours < mean, 1.0, 0.0)
    from scipy.special import ndtr

    return np.where(hours > 0, ndtr(-_standard(mean, _sigma(spread), hours)), 1.0)


def limited_mean(mean: ArrayLike, spread: float, hours: ArrayLike) -> Array:
    """The mean of min(D, hours), hours; inputs as of `survival`."""
    mean, hours = np.asarray(mean, dtype=np.float64), np.asarray(hours, dtype=np.float64)
    if spread == 0:
        return np.asarray(np.minimum(mean, hours))
    from scipy.special import ndtr

    sigma = _sigma(spread)
    z = _standard(mean, sigma, hours)
    return np.where(hours > 0, mean * ndtr(z - sigma) + hours * ndtr(-z), 0.0)


def half_over_in(mean: ArrayLike, spread: float) -> Array:
    """The hours in which half of all outages are over, (...), of those with a ``mean`` of hours (...).

    Equation: the median of a lognormal law, m / sqrt(1 + c^2).
    """
    return np.asarray(np.asarray(mean, dtype=np.float64) / np.sqrt(1.0 + spread**2))


def hours_of_longest(share: float, spread: float) -> float:
    """What part of the hours of all outages the longest ``share`` of them makes, 0 to 1.

    Equation: Phi(sigma + Phi^-1(share)), the partial expectation of a lognormal law above a quantile of it.
    """
    from scipy.special import ndtr, ndtri

    return float(ndtr(_sigma(spread) + ndtri(share)))


def _sigma(spread: float) -> float:
    return float(np.sqrt(np.log1p(spread**2)))


def _standard(mean: Array, sigma: float, hours: Array) -> Array:
    """How many sigma the logarithm of ``hours`` lies above its own mean."""
    log = np.log(np.where(hours > 0, hours, 1.0)) - np.log(mean)
    return np.asarray(log / sigma + sigma / 2)


@dataclass(frozen=True, eq=False)
class Kind:
    """A kind of outages: ``times`` a year and mean ``hours`` (...), the ``spread`` of their lengths, its ``months``
    (0 for January), None for all."""

    name: str
    times: Array
    hours: Array
    spread: float
    months: tuple[int, ...] | None


@dataclass(frozen=True, eq=False)
class Wanted:
    """What a house wants while the grid is down: mean kW in each hour of an outage (..., hours), and ``later`` (...),
    taken to be that of the day after the last of these.

    ends : hours (hours + 1,) at which they begin and end, the last being the longest that is looked at.
    """

    ends: Array
    kw: Array
    later: Array


@dataclass(frozen=True, eq=False)
class Curve:
    """How a house carries outages of a kind: ``share`` of the starts whose endurance ends in an hour of the outage,
    and the mean ``hours`` it then lasts, (..., bins) each; mean ``kw`` carried in each hour of an outage, (..., hours).
    """

    share: Array
    hours: Array
    kw: Array


def starts_of(months: tuple[int, ...] | None, month_of_start: NDArray[np.int64]) -> Array:
    """What each start (starts,) counts for: all alike in the months of a kind; they add up to one."""
    among = np.ones(month_of_start.shape) if months is None else np.isin(month_of_start, months).astype(np.float64)
    return np.asarray(among / among.sum())


def wanted(load_kw: Array, counts: Array, longest: float) -> Wanted:
    """What a house wants, hour by hour of an outage; load_kw : (starts,) of the year; counts : as of `starts_of`."""
    ends = np.minimum(np.arange(np.ceil(longest) + 1), longest)
    hours, year = len(ends) - 1, len(load_kw)
    circle = np.resize(load_kw, year + hours + _DAY)
    kw = np.array([circle[t : t + year] @ counts for t in range(hours + _DAY)])
    return Wanted(ends, kw[:hours], np.asarray(kw[hours:].mean()))


def curve(lasts: Array, load_kw: Array, counts: Array, want: Wanted) -> Curve:
    """How a house carries outages that begin at each start; lasts : hours (starts,), at most the last of ``want``.

    The hour in which the endurance ends is carried for that part of it. load_kw, counts : as of `wanted`, and ``want``
    what it returns.
    """
    place = np.floor(lasts).astype(np.int64)
    share: Array = np.bincount(place, counts).astype(np.float64)
    hours: Array = np.bincount(place, counts * lasts).astype(np.float64)
    some = share > 0
    # Only starts that do not last to the end lack anything, and mostly they are few.
    starts = np.flatnonzero((lasts < want.ends[-1]) & (counts > 0))
    own, count, year = lasts[starts], counts[starts], len(load_kw)
    kw = want.kw.copy()
    for t, (begin, end) in enumerate(pairwise(want.ends)):
        lacking = 1.0 - np.clip((own - begin) / (end - begin), 0.0, 1.0)
        kw[t] -= (load_kw[(starts + t) % year] * lacking) @ count
    return Curve(share[some], hours[some] / share[some], np.maximum(kw, 0.0))


NOTHING = Curve(np.ones(1), np.zeros(1), np.zeros(1))
"""The curve of a house that carries nothing."""


@dataclass(frozen=True, eq=False)
class Lengths:
    """What the lengths of a kind of outages come to, worked out once for all houses: ``in_hour`` (..., hours), the time
    that one spends in each of its hours up to the longest, and ``beyond`` (...), after that."""

    kind: Kind
    in_hour: Array
    beyond: Array


def lengths(kind: Kind, ends: Array) -> Lengths:
    """The lengths of a kind of outages by hour; ends : as of `wanted`."""
    within = limited_mean(kind.hours[..., None], kind.spread, ends)
    return Lengths(kind, np.diff(within, axis=-1), kind.hours - within[..., -1])


@dataclass(frozen=True, eq=False)
class Expected:
    """A year's outages as they are expected, (...) each: how many, hours without the grid, those that are carried, and
    the same of the energy that the house wants then, kWh."""

    interruptions: Array
    hours: Array
    hours_carried: Array
    kwh: Array
    kwh_carried: Array

    @property
    def hours_not_carried(self) -> Array:
        """Hours in the dark, (...)."""
        return np.asarray(self.hours - self.hours_carried)

    @property
    def kwh_not_carried(self) -> Array:
        """Energy that is wanted in vain, kWh (...)."""
        return np.asarray(self.kwh - self.kwh_carried)


def expected(of: Lengths, want: Wanted, by: Curve) -> Expected:
    """The outages of a kind in a year, and what of them a house with the curve ``by`` carries."""
    kind = of.kind
    carried = _over(limited_mean(kind.hours[..., None], kind.spread, by.hours), by.share)
    kwh = _over(of.in_hour, want.kw) + of.beyond * want.later
    # A curve weighed between exact ones may stray beyond by a trace.
    return Expected(
        interruptions=np.asarray(kind.times, dtype=np.float64),
        hours=np.asarray(kind.times * kind.hours),
        hours_carried=np.asarray(kind.times * np.clip(carried, 0.0, kind.hours)),
        kwh=np.asarray(kind.times * kwh),
        kwh_carried=np.asarray(kind.times * np.clip(_over(of.in_hour, by.kw), 0.0, kwh)),
    )


def dark_for_long(kind: Kind, by: Curve, after: float) -> tuple[Array, Array]:
    """Outages a year in which the house is dark for longer than ``after`` hours, and the hours beyond, (...) each.

    It is dark from where the endurance ends. Equation: n E[S(e + after)] and n E[m - G(e + after)] over the starts.
    """
    mean, ends = kind.hours[..., None], by.hours + after
    times = kind.times * _over(survival(mean, kind.spread, ends), by.share)
    hours = kind.times * (kind.hours - _over(limited_mean(mean, kind.spread, ends), by.share))
    return np.asarray(np.maximum(times, 0.0)), np.asarray(np.maximum(hours, 0.0))


def _over(each: Array, counts: Array) -> Array:
    """The sum of (..., n) numbers, each counted by (..., n)."""
    return np.asarray((each * counts).sum(axis=-1))


def added(parts: Sequence[Expected]) -> Expected:
    """All kinds of outages together."""
    names = ("interruptions", "hours", "hours_carried", "kwh", "kwh_carried")
    return Expected(**{name: np.asarray(sum(getattr(each, name) for each in parts)) for name in names})
