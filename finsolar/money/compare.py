"""Alternatives against one another: does the extra outlay earn its keep, and what was own labour worth?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.money.appraisal import return_on_outlay
from finsolar.money.metrics import discounted, internal_rates, payback, present_value

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Contender:
    """What a comparison needs of an alternative.

    net : (..., years + 1); rate : its discount rate (...); net_cost : gross less awards, money (...); own_hours :
    hours (...); terms : whatever must be equal for a fair comparison of labour: the days, the system, its supply
    and the way of paying.
    """

    name: str
    net: Array
    rate: Array
    net_cost: Array
    own_hours: Array
    terms: tuple[object, ...]


@dataclass(frozen=True, eq=False)
class Pair:
    """Choosing ``dearer`` (more laid out in year 0) over ``cheaper``; figures (...), NaN where none exists.

    extra_outlay : money in year 0; extra_npv : money; irr : return of the extra outlay per year; irrs : all of
    them; simple_payback, discounted_payback : years, lasting. ``reasons`` says, by the figure's name, why a figure
    does not exist.
    """

    dearer: str
    cheaper: str
    extra_outlay: Array
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
            first_dearer = np.mean(one.net[..., 0]) < np.mean(other.net[..., 0])
            dearer, cheaper = (one, other) if first_dearer else (other, one)
            extra = dearer.net - cheaper.net
            rates = internal_rates(extra)
            irr = return_on_outlay(extra, rates)
            simple = payback(extra).lasting
            later = payback(discounted(extra, dearer.rate)).lasting
            found.append(
                Pair(
                    dearer=dearer.name,
                    cheaper=cheaper.name,
                    extra_outlay=-extra[..., 0],
                    extra_npv=present_value(extra, dearer.rate),
                    irr=irr,
                    irrs=rates.roots,
                    simple_payback=simple,
                    discounted_payback=later,
                    reasons=_reasons(extra, rates.roots, irr, simple, later),
                )
            )
    return found


def _reasons(extra: Array, irrs: Array, irr: Array, simple: Array, later: Array) -> dict[str, str]:
    """Why a figure of a pair does not exist in some case, by its name."""
    found = {}
    rateless = extra[np.isnan(irr)]
    if rateless.size:
        if np.isfinite(irrs[np.isnan(irr)]).any():
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
class OwnLabour:
    """What the household's own hours earned; money (...)."""

    name: str
    against: str
    hours: Array
    saved: Array
    per_hour: Array
    npv_per_hour: Array


def own_labour(contenders: Sequence[Contender]) -> list[OwnLabour]:
    """Each alternative with own hours against the cheapest one done wholly by others on the same terms.

    per_hour : the difference of the net costs (after awards) by the hour; npv_per_hour : the same for the net
    present values, which also weighs what each costs later.
    """
    found = []
    for mine in contenders:
        others = [c for c in contenders if not np.any(c.own_hours) and c.terms == mine.terms]
        if not np.any(mine.own_hours) or not others:
            continue
        other = min(others, key=lambda c: float(np.mean(c.net_cost)))
        saved = other.net_cost - mine.net_cost
        gained = present_value(mine.net, mine.rate) - present_value(other.net, other.rate)
        hours = np.where(mine.own_hours > 0, mine.own_hours, np.nan)
        found.append(OwnLabour(mine.name, other.name, mine.own_hours, saved, saved / hours, gained / hours))
    return found
