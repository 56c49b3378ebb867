"""Alternatives set against one another, told: their order, why two orders part, and what own hours come to."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from finsolar.money.ranking import Place, Ranking, Turned
from finsolar.report.words.amounts import joined, money, per_cent, years_long
from finsolar.report.words.changes_told import best_of, level_sentence, pair_sentence, premium_sentence
from finsolar.scenario.problems import printable

Plain = dict[str, Any]


def ranking_reason(ranking: Ranking, rate: float, currency: str) -> str:
    """Whether the order by NPV and that by payback agree, and why not where they do not, from the flows.

    rate : nominal discount rate of the single study that was ranked.
    """
    plans = [place for place in ranking.order if not place.stay]
    if ranking.turned is not None:
        by_name = {place.name: place for place in plans}
        one = ranking.turned
        said = [
            _parted(by_name[one.quicker], by_name[one.richer], currency),
            _cause(one, by_name[one.quicker], rate, currency),
        ]
    else:
        said = [_agreed(plans, currency)]
    return " ".join([*said, *_ties(ranking.order), *_behind_staying(plans, rate)])


def _parted(quicker: Place, richer: Place, currency: str) -> str:
    return (
        f"The two orders differ: “{quicker.name}” is {_back(quicker)} and “{richer.name}” is {_back(richer)}, yet "
        f"“{richer.name}” has the higher NPV, {_npv(richer, currency)} against {_npv(quicker, currency)}."
    )


def _back(place: Place) -> str:
    years = float(place.simple_payback)
    if years == 0:
        return "never behind with the worth of its backup counted" if place.worth else "never out of pocket"
    return "not back within the study" if years != years else f"back after {years_long(years)}"


def _npv(place: Place, currency: str) -> str:
    return money(float(place.npv), currency)


def _cause(one: Turned, sooner: Place, rate: float, currency: str) -> str:
    """What in the flows of two alternatives makes one of them worth more and the other, ``sooner``, back before it."""
    richer, quicker = f"“{one.richer}”", f"“{one.quicker}”"
    end, less = money(abs(one.at_the_end), currency), money(one.less_outlay, currency)
    ahead = f"from year {one.ahead_from} on the running total of {richer} stays ahead, at the end by {end}"
    if one.cause == "discounting":
        level = "the two end level" if abs(one.at_the_end) < 0.5 else f"{quicker} ends {end} ahead"
        when = "sooner" if rate > 0 else "later"
        return (
            f"In the money of each year {level}, but what {richer} has more comes {when}, and at {per_cent(rate)} a "
            "year that weighs more."
        )
    if one.cause == "smaller outlay":
        back = "back sooner" if float(sooner.simple_payback) else _back(sooner)
        return f"{quicker} lays out {less} less and so is {back}, but {richer} earns more in the years after: {ahead}."
    if one.cause == "set back":
        assert one.later is not None
        out = money(one.later.amount, currency)
        first = (
            f"is back a first time after {years_long(one.first_payback)}"
            if one.first_payback
            else "starts no lower than zero"
        )
        return f"{richer} {first}, until {out} in year {one.later.year} take it below zero again; {ahead}."
    if one.cause == "later outlay":
        assert one.later is not None
        out, others = (money(amount, currency) for amount in (one.later.amount, one.later.others))
        return (
            f"The payback of {quicker} does not see the {out} that it lays out afterwards, above all in year "
            f"{one.later.year}; {richer} lays out {others} in those years, and without either it would not lead."
        )
    return f"{quicker} brings in more in its first years and {richer} in later ones: {ahead}."


def _agreed(plans: list[Place], currency: str) -> str:
    first, last = plans[0], plans[-1]
    if len(plans) > 1 and first.by_npv == last.by_npv:
        side = "ahead of" if first.npv >= 0 else "behind"
        gap = money(abs(float(first.npv)), currency)
        return f"All {len(plans)} ways are worth the same, {gap} {side} staying as you are."
    if len(plans) == 1:
        side = "ahead of" if first.npv >= 0 else "behind"
        return (
            f"“{first.name}” is the only way to go here: {_back(first)} and, with an NPV of {_npv(first, currency)}, "
            f"{side} staying as you are."
        )
    ends = (
        f"“{first.name}” comes first with an NPV of {_npv(first, currency)}, “{last.name}” last with "
        f"{_npv(last, currency)}"
    )
    if all(place.simple_payback != place.simple_payback for place in plans):
        return f"None of the alternatives is back within the study, so that there is one order only: {ends}."
    return f"The two orders agree: {ends}; the one is {_back(first)}, the other {_back(last)}."


def _ties(order: Iterable[Place]) -> list[str]:
    """Who shares a place, a sentence at most."""
    plans = list(order)

    def alike(by: str) -> list[str]:
        ranked = sorted((p for p in plans if getattr(p, by) == getattr(p, by)), key=lambda p: float(getattr(p, by)))
        groups = [list(group) for _, group in groupby(ranked, key=lambda p: float(getattr(p, by)))]
        return [
            joined(["staying as you are" if p.stay else f"“{p.name}”" for p in sorted(group, key=lambda p: p.stay)])
            for group in groups
            if len(group) > 1
        ]

    by_npv, by_payback = alike("by_npv"), alike("by_payback")
    both = [names for names in by_npv if names in by_payback]
    told = [f"{names} tie in both" for names in both]
    told += [f"{names} tie by NPV" for names in by_npv if names not in both]
    told += [f"{names} tie by payback" for names in by_payback if names not in both]
    return [f"{joined(told)}."] if told else []


def _behind_staying(plans: list[Place], rate: float) -> list[str]:
    """Those whose outlay comes back and which yet are worth less than staying."""
    names = [f"“{p.name}”" for p in plans if p.simple_payback == p.simple_payback and p.npv < -0.005]
    if not names:
        return []
    verb = "is" if len(names) == 1 else "are"
    return [
        f"{joined(names)} {verb} back within the study and yet behind staying as you are, since at {per_cent(rate)} a "
        "year what comes back is worth less than what is laid out."
    ]


def ranking_rows(plain: Plain) -> list[list[str]]:
    """Each way to go with its place by NPV, its NPV, its place by payback and its payback, as text."""
    currency = plain["settings"]["currency"]
    rows = []
    for place in plain["comparison"]["ranking"]:
        back, years = place["by_payback"], place["simple_payback"]
        if place["stay"]:
            last = ["–", "–"]
        else:
            last = ["–", "never"] if back is None else [f"{back}", f"{years:.1f} y"]
        rows.append([_shown(place), f"{place['by_npv']}", money(place["npv"], currency), *last])
    return rows


def _shown(place: Plain) -> str:
    return "Stay as you are" if place["stay"] else str(place["name"])


def pair_rows(plain: Plain) -> list[list[str]]:
    """Every two alternatives: what the dearer one asks and brings more, and what that extra outlay earns, as text."""
    currency = plain["settings"]["currency"]
    rows = []
    for pair in plain["comparison"]["pairs"]:
        amounts = [
            money(pair[key], currency)
            for key in ("extra_outlay", "extra_saving_first_year", "extra_saving", "extra_npv")
        ]
        rate = "none" if pair["irr"] is None else per_cent(pair["irr"])
        backs = [
            "never" if pair[key] is None else f"{pair[key]:.1f} y" for key in ("simple_payback", "discounted_payback")
        ]
        rows.append([f"{pair['dearer']} over {pair['cheaper']}", *amounts, rate, *backs])
    return rows


def own_hours_sentences(plain: Plain) -> list[str]:
    """What own hours earn against having it done, and what is left once they are set at what they are worth."""
    currency, comparison = plain["settings"]["currency"], plain["comparison"]
    told = []
    for own in comparison["own_labour"]:
        says = premium_sentence(own, currency)
        if own["per_hour"] is not None and abs(own["npv_per_hour"] - own["per_hour"]) > 0.005:
            says += (
                f" Weighed by NPV, with what each costs later, it is {money(own['npv_per_hour'], currency, 2)} an hour."
            )
        if own["pays"] is not None:
            worth = money(own["worth_per_hour"], currency, 2)
            pays = "it pays to do it yourself" if own["pays"] else "it does not pay to do it yourself"
            says += f" At {worth} that an hour is worth to you {pays} rather than to hire."
        told.append(says)
    for work in comparison["own_work"]:
        told.append(
            f"With its {work['hours']:,.0f} own hours set at {money(work['worth_per_hour'], currency, 2)} each, "
            f"{money(work['worth'], currency)} in all, the NPV of “{work['name']}” is "
            f"{money(work['npv_less_worth'], currency)}: "
            f"{'still better' if work['npv_less_worth'] >= 0 else 'then worse'} than staying as you are."
        )
    return told


def terminal(plain: Plain) -> list[str]:
    """The lines for the terminal: what own hours earn, and why the two orders differ where they do."""
    told = own_hours_sentences(plain)
    if not plain["comparison"]["orders_agree"]:
        told.append(plain["comparison"]["ranking_reason"])
    return [printable(each.replace("\N{WORD JOINER}", "")) for each in told]


@dataclass(frozen=True)
class Told:
    """Sentences about two alternatives each: those about the ``best`` one, and the rest."""

    best: list[str]
    others: list[str]


def _parted_by_best(plain: Plain, told: list[tuple[str, str, str]]) -> Told:
    """Of (one, other, sentence): a reader of many pairs wants those of the alternative that leads first."""
    best = best_of(plain)["name"]
    return Told(
        best=[says for one, other, says in told if best in (one, other)],
        others=[says for one, other, says in told if best not in (one, other)],
    )


def pair_sentences(plain: Plain) -> Told:
    """What each extra outlay earns."""
    currency = plain["settings"]["currency"]
    pairs = plain["comparison"]["pairs"]
    return _parted_by_best(plain, [(p["dearer"], p["cheaper"], pair_sentence(p, currency)) for p in pairs])


def drawing_level(plain: Plain) -> Told:
    """What the one of each two that is behind would have to cost, those about the best first."""
    pairs = plain["break_even"]["pairs"]
    sentences = zip(pairs, levels(plain), strict=True)
    return _parted_by_best(plain, [(pair["behind"], pair["ahead"], says) for pair, says in sentences])


def levels(plain: Plain) -> list[str]:
    """Pair by pair, what the one behind would have to cost; of work done by others, what the quote would be."""
    currency = plain["settings"]["currency"]
    hired = {(own["against"], own["name"]) for own in plain["comparison"]["own_labour"]}
    told = []
    for pair in plain["break_even"]["pairs"]:
        if (pair["behind"], pair["ahead"]) not in hired or pair["behind_by"] < 0.5:
            told.append(level_sentence(pair, currency))
            continue
        asked = f"What would the quote of “{pair['behind']}” have to be to draw level with “{pair['ahead']}”?"
        if pair["level_price"] is None:
            told.append(f"{asked} There is none: {pair['reasons']['level_price']}.")
            continue
        price, below = (
            money(amount, currency) for amount in (pair["level_price"], pair["price"] - pair["level_price"])
        )
        told.append(
            f"{asked} {price} for all that is built, {below} below the {money(pair['price'], currency)} it is to cost."
        )
    return told
