"""Alternatives against one another: does the extra outlay earn its keep, and what was own labour worth?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.money.appraisal import return_on_outlay
from finsolar.money.metrics import discounted, internal_rates, payback, present_value

Array = NDArray[np.float64]


WORTH_AT_THE_START = (
    "what sets the two apart at the start is the worth of backup, which is no outlay that could earn a return"
)


@dataclass(frozen=True, eq=False)
class Contender:
    """What a comparison needs of an alternative.

    net : (..., years + 1), of which operation and investment are two kinds; rate : its discount rate (...); net_cost :
    gross less awards, money (...); own_hours : hours (...); hour_worth : what one of them is worth to the household,
    money (...), NaN where that is not stated; terms : whatever must be equal for a fair comparison of labour: the days,
    the system, its supply and the way of paying; worth : what of the net is worth and no cash, (..., years + 1).
    """

    name: str
    net: Array
    operation: Array
    investment: Array
    rate: Array
    net_cost: Array
    own_hours: Array
    hour_worth: Array
    terms: tuple[object, ...]
    worth: ArrayLike = 0.0

    @property
    def at_the_start(self) -> Array:
        """The cash of year 0, money (...); what is laid out is below zero."""
        return np.asarray((self.net - np.asarray(self.worth, dtype=np.float64))[..., 0])


@dataclass(frozen=True, eq=False)
class Pair:
    """Choosing ``dearer`` (more laid out in year 0) over ``cheaper``; figures (...), NaN where none exists.

    extra_outlay : money in year 0; extra_saving_first_year, extra_saving : by how much more it saves, less what it
    costs to run, in year 1 and in all years together, money of those years; extra_npv : money; irr : return of the
    extra outlay per year; irrs : all of them; simple_payback, discounted_payback : years, lasting. ``reasons`` says, by
    the figure's name, why a figure does not exist.
    """

    dearer: str
    cheaper: str
    extra_outlay: Array
    extra_saving_first_year: Array
    extra_saving: Array
    extra_npv: Array
    irr: Array
    irrs: Array
    simple_payback: Array
    discounted_payback: Array
    reasons: dict[str, str]


def pairs(contenders: Sequence[Contender]) -> list[Pair]:
    """Every two alternatives, the one with the larger outlay in year 0 first."""
    found = []
    for i, one in enumerate(contenders):
        for other in contenders[i + 1 :]:
            first_dearer = np.mean(one.at_the_start) < np.mean(other.at_the_start)
            dearer, cheaper = (one, other) if first_dearer else (other, one)
            extra = dearer.net - cheaper.net
            saving = dearer.operation - cheaper.operation
            rates = internal_rates(extra)
            outlay = cheaper.at_the_start - dearer.at_the_start
            # Worth that is had or missed at the start is no outlay that could earn a return.
            worth_alone = (np.abs(extra[..., 0] + outlay) > 1e-9) & ((extra[..., 0] >= 0) | (outlay < 1e-9))
            irr = np.where(worth_alone, np.nan, return_on_outlay(extra, rates))
            simple = payback(extra).lasting
            later = payback(discounted(extra, dearer.rate)).lasting
            found.append(
                Pair(
                    dearer=dearer.name,
                    cheaper=cheaper.name,
                    extra_outlay=outlay,
                    extra_saving_first_year=saving[..., 1],
                    extra_saving=saving.sum(axis=-1),
                    extra_npv=present_value(extra, dearer.rate),
                    irr=irr,
                    irrs=rates.roots,
                    simple_payback=simple,
                    discounted_payback=later,
                    reasons=_reasons(extra, rates.roots, irr, simple, later, worth_alone),
                )
            )
    return found


def _reasons(
    extra: Array, irrs: Array, irr: Array, simple: Array, later: Array, worth_alone: NDArray[np.bool_]
) -> dict[str, str]:
    """Why a figure of a pair does not exist in some case, by its name."""
    found = {}
    rateless = extra[np.isnan(irr)]
    if rateless.size:
        if worth_alone.any():
            found["irr"] = WORTH_AT_THE_START
        elif np.isfinite(irrs[np.isnan(irr)]).any():
            found["irr"] = "the dearer one gains before it costs more, so there is no outlay to earn a return"
        elif not rateless.any():
            found["irr"] = "the two have the same money in every year"
        elif (rateless > 0).any() and (rateless < 0).any():
            found["irr"] = "no rate makes the difference worth zero"
        else:
            found["irr"] = "the difference has one sign in every year"
    if np.isnan(simple).any():
        found["simple_payback"] = "the running total of the difference ends the study below zero"
    if np.isnan(later).any():
        found["discounted_payback"] = "the discounted running total of the difference ends the study below zero"
    return found


@dataclass(frozen=True, eq=False)
class OwnWork:
    """What own hours are worth to the household by its own statement, which is no cash; money (...), hours (...).

    worth : hours x worth_per_hour; npv_less_worth : what the alternative leaves once they are set against it.
    """

    name: str
    hours: Array
    worth_per_hour: Array
    worth: Array
    npv_less_worth: Array


def own_work(contenders: Sequence[Contender]) -> list[OwnWork]:
    """Each alternative with own hours whose worth is stated; the hours fall in year 0, undiscounted."""
    found = []
    for mine in contenders:
        if not np.any(mine.own_hours) or np.isnan(mine.hour_worth).any():
            continue
        worth = np.asarray(mine.own_hours * mine.hour_worth)
        left = present_value(mine.net, mine.rate) - worth
        found.append(OwnWork(mine.name, mine.own_hours, mine.hour_worth, worth, left))
    return found


@dataclass(frozen=True, eq=False)
class OwnLabour:
    """What the household's own hours earned; money (...).

    ``per_hour`` is also the premium that the other one takes for each hour it spares the household. ``work`` is what
    the hours are worth to the household and ``pays`` whether they earn that by the net present values, None where it is
    not stated.
    """

    name: str
    against: str
    hours: Array
    saved: Array
    per_hour: Array
    npv_per_hour: Array
    work: OwnWork | None
    pays: NDArray[np.bool_] | None


def own_labour(contenders: Sequence[Contender]) -> list[OwnLabour]:
    """Each alternative with own hours against the cheapest one done wholly by others on the same terms.

    per_hour : the difference of the net costs (after awards) by the hour; npv_per_hour : the same for the net
    present values, which also weighs what each costs later.
    """
    stated = {work.name: work for work in own_work(contenders)}
    found = []
    for mine in contenders:
        others = [c for c in contenders if not np.any(c.own_hours) and c.terms == mine.terms]
        if not np.any(mine.own_hours) or not others:
            continue
        other = min(others, key=lambda c: float(np.mean(c.net_cost)))
        saved = other.net_cost - mine.net_cost
        gained = present_value(mine.net, mine.rate) - present_value(other.net, other.rate)
        hours = np.where(mine.own_hours > 0, mine.own_hours, np.nan)
        work = stated.get(mine.name)
        # A wage that is met to a billionth is met: what differs there is rounding.
        pays = None if work is None else np.asarray(gained >= work.worth * (1 - 1e-9))
        found.append(OwnLabour(mine.name, other.name, mine.own_hours, saved, saved / hours, gained / hours, work, pays))
    return found
