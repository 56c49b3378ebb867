"""Alternatives in order, by net present value and by payback, and why the two orders part where they do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.money.compare import Contender
from finsolar.money.metrics import payback, present_value

Array = NDArray[np.float64]

STAY = "stay as you are"

SAME_MONEY, SAME_YEARS = 0.005, 0.001
"""Figures that are no further apart share a place: half a cent, and less than half a day."""

Cause = Literal["discounting", "set back", "later outlay", "smaller outlay", "later earnings"]


@dataclass(frozen=True, eq=False)
class Place:
    """Where one way to go stands, (...) each.

    npv : money; simple_payback : years, for good; by_npv, by_payback : places from 1, equals sharing one. NaN for a
    payback that never comes, and for staying, which lays out nothing that could come back. ``worth`` : whether worth
    that is no cash is in them.
    """

    name: str
    stay: bool
    npv: Array
    by_npv: Array
    simple_payback: Array
    by_payback: Array
    worth: bool = False


@dataclass(frozen=True)
class LaterOutlay:
    """Money laid out in later years: mostly in ``year``; ``others`` is what the other one lays out in those years."""

    year: int
    amount: float
    others: float


@dataclass(frozen=True)
class Turned:
    """Two alternatives that NPV and payback put in opposite orders, and what in their flows does it.

    lead : NPV of the richer less that of the quicker; at_the_end, less_outlay : by how much the richer one's running
    total ends above, and by how much less the quicker one lays out in year 0, both in money of those days; ahead_from :
    the year from which the richer one's running total stays above, None for never; first_payback : that of the richer.
    cause : "discounting", the richer one ends with no more money, only with money that weighs more; "set back", it was
    back at least as soon, until what goes out in ``later`` took it below zero again; "later outlay", without what both
    lay out after the payback of the quicker, which is ``later``, the richer one would not lead; "smaller outlay", with
    the richer one's outlay the quicker one would be no quicker; "later earnings", nothing of these.
    """

    richer: str
    quicker: str
    cause: Cause
    lead: float
    at_the_end: float
    ahead_from: int | None
    less_outlay: float
    first_payback: float
    later: LaterOutlay | None = None


@dataclass(frozen=True, eq=False)
class Ranking:
    """The alternatives and staying, best NPV first; ``turned`` is looked for in single studies, None where none is."""

    order: tuple[Place, ...]
    turned: Turned | None


def places(figures: ArrayLike, near: float) -> Array:
    """Places from 1 along the first axis, the smallest figure first.

    figures : (n, ...), NaN for none, which has no place; near : figures this close share a place. Returns (n, ...):
    one more than the number of figures that are smaller by more than ``near``.
    """
    values = np.asarray(figures, dtype=np.float64)
    place = 1.0 + (values[None] < values[:, None] - near).sum(axis=1)
    return np.where(np.isnan(values), np.nan, place)


def ranking(contenders: Sequence[Contender]) -> Ranking:
    """Rank alternatives, and staying among them, by NPV; and alternatives by simple payback, for good.

    Of many cases each is ranked by itself, and the order is that of the mean places.
    """
    npv = [present_value(one.net, one.rate) for one in contenders]
    back = [payback(one.net).lasting for one in contenders]
    every_npv = np.stack(np.broadcast_arrays(*npv, np.zeros(())))
    by_npv = places(-every_npv, SAME_MONEY)
    by_payback = places(np.stack(np.broadcast_arrays(*back)), SAME_YEARS)
    order = [
        Place(one.name, False, npv[i], by_npv[i], back[i], by_payback[i], bool(np.any(one.worth)))
        for i, one in enumerate(contenders)
    ]
    none = np.full(by_payback.shape[1:], np.nan)
    order.append(Place(STAY, True, every_npv[-1], by_npv[-1], none, none))
    by_name = {one.name: one for one in contenders}
    order.sort(key=lambda place: (float(np.mean(place.by_npv)), _mean_place(place)))
    single = every_npv.ndim == 1 and by_payback.ndim == 1
    return Ranking(tuple(order), _turned(order, by_name) if single else None)


def _mean_place(place: Place) -> float:
    known = place.by_payback[~np.isnan(place.by_payback)]
    return float(known.mean()) if known.size else math.inf


def _turned(order: list[Place], contenders: dict[str, Contender]) -> Turned | None:
    """The first two in the order of NPV that payback puts the other way round; of several the quickest."""
    plans = [place for place in order if not place.stay]
    for i, richer in enumerate(plans):
        sooner = [
            other
            for other in plans[i + 1 :]
            if other.by_npv > richer.by_npv
            and not np.isnan(other.by_payback)
            and not other.by_payback >= richer.by_payback
        ]
        if sooner:
            quicker = min(sooner, key=lambda place: float(place.by_payback))
            return _why(contenders[richer.name], contenders[quicker.name])
    return None


def _why(richer: Contender, quicker: Contender) -> Turned:
    """What in the flows makes one worth more and the other back sooner, (years + 1,) each."""
    lead = float(present_value(richer.net, richer.rate) - present_value(quicker.net, quicker.rate))
    apart = np.cumsum(richer.net - quicker.net)
    level = 1e-12 * float(np.abs(richer.net).sum() + np.abs(quicker.net).sum())
    behind = np.flatnonzero(apart <= level)
    ahead_from = int(behind[-1]) + 1 if behind.size else 0
    back, mine = float(payback(quicker.net).lasting), payback(richer.net)
    less_outlay = float(quicker.at_the_start - richer.at_the_start)
    later = None
    cause: Cause
    if apart[-1] <= level:
        cause = "discounting"
    elif float(mine.first) <= back:
        cause, later = "set back", _set_back(richer)
    elif (later := _after(back, quicker, richer, lead)) is not None:
        cause = "later outlay"
    elif less_outlay > SAME_MONEY and not _still_sooner(quicker, less_outlay, float(mine.lasting)):
        cause = "smaller outlay"
    else:
        cause = "later earnings"
    return Turned(
        richer=richer.name,
        quicker=quicker.name,
        cause=cause,
        lead=lead,
        at_the_end=float(apart[-1]),
        ahead_from=ahead_from if ahead_from < apart.size else None,
        less_outlay=less_outlay,
        first_payback=float(mine.first),
        later=later,
    )


def _set_back(richer: Contender) -> LaterOutlay:
    """The last fall of a running total below zero: by what is invested in that year, or by all that goes out."""
    total = np.cumsum(richer.net)
    total = np.where(np.abs(total) <= 1e-12 * np.abs(richer.net).sum(), 0.0, total)
    year = int(np.flatnonzero((total[:-1] >= 0) & (total[1:] < 0))[-1]) + 1
    invested = float(richer.investment[year])
    does_it = invested < 0 <= total[year] - invested
    return LaterOutlay(year, -invested if does_it else -float(richer.net[year]), 0.0)


def _after(back: float, quicker: Contender, richer: Contender, lead: float) -> LaterOutlay | None:
    """What is invested after the year of a payback, if without it the richer one would not lead."""
    # What is laid out in the year of the payback is in the running total that comes back to zero there.
    years = np.arange(quicker.net.size)
    seen = years <= math.ceil(back - 1e-9)
    theirs, mine = (np.where(seen, 0.0, np.maximum(-one.investment, 0.0)) for one in (quicker, richer))
    if float(present_value(theirs - mine, quicker.rate)) < max(lead, SAME_MONEY):
        return None
    return LaterOutlay(int(theirs.argmax()), float(theirs.sum()), float(mine.sum()))


def _still_sooner(quicker: Contender, more: float, other_payback: float) -> bool:
    """Whether the quicker one would be back before the other even had it laid out so much more."""
    dearer = quicker.net.copy()
    dearer[0] -= more
    return bool(payback(dearer).lasting < other_payback - SAME_YEARS)
