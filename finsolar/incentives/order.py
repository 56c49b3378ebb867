"""The order in which rules are applied, so that what lowers a basis is known before the basis is used."""

from collections.abc import Sequence
from graphlib import CycleError, TopologicalSorter
from heapq import heappop, heappush
from typing import NamedTuple

from finsolar.incentives.law import GRANTS, PRICE_REDUCTIONS, Rule

_RANK = {
    "income tax exemption": 0,
    "sales tax relief": 1,
    "upfront rebate": 2,
    "deemed certificates": 2,
    "tax credit": 3,
    "tax deduction": 4,
}
"""Exemptions first, then what changes the price, then credits, then deductions, then what is paid year by year."""


class Link(NamedTuple):
    """Why a rule is reckoned after another one: the field that says so, and the id or the word written there."""

    field: str
    name: str


def leans_on(rules: Sequence[Rule]) -> dict[str, dict[str, Link]]:
    """Return for each rule the ids of those that must be reckoned before it, each with the reason.

    A word means the rebates and deemed certificates that lower the price, or those that do not; a rule itself is never
    one of them. A name that no rule has holds nothing up, and neither do two rules that mean one another by a word.
    """
    found: dict[str, dict[str, Link]] = {}
    for rule in rules:
        links = [] if rule.lowered_by is None else [Link("lowered_by", name) for name in rule.lowered_by.value]
        if rule.credit_of is not None:
            links.append(Link("credit_of", rule.credit_of.value))
        found[rule.id] = {
            other.id: link
            for link in links
            for other in rules
            if other.id != rule.id and _means(link.name, other) and not _by_turns(link.name, rule, other)
        }
    return found


def _by_turns(name: str, rule: Rule, other: Rule) -> bool:
    """Whether two rules would lower one another by a word: then the one that comes first by id is not lowered."""
    words = {PRICE_REDUCTIONS, GRANTS}
    back = () if other.lowered_by is None else other.lowered_by.value
    return name in words and any(word in words and _means(word, rule) for word in back)


def _means(name: str, rule: Rule) -> bool:
    if rule.kind not in {"upfront rebate", "deemed certificates"}:
        return name == rule.id
    lowers = rule.lowers_price is not None and rule.lowers_price.value
    return name in {rule.id, PRICE_REDUCTIONS if lowers else GRANTS}


def in_order(rules: Sequence[Rule]) -> list[Rule]:
    """Return the rules in the order of their application: by kind, but each after the rules it leans on.

    Of rules of one kind those come last that rebates may lower; then a country's come before a region's, and the rest
    goes by id, so that the order in which rules are given changes nothing.

    Raises
    ------
    ValueError
        If rules lean on one another in a circle.
    """
    sorter = TopologicalSorter(leans_on(rules))
    try:
        sorter.prepare()
    except CycleError as error:
        raise ValueError(f"rules lean on one another in a circle: {' -> '.join(error.args[1][::-1])}") from None
    turns = {rule.id: _turn(rule) for rule in rules}
    ready: list[tuple[int, bool, int, str]] = []
    ordered: list[str] = []
    while sorter.is_active():
        for rule_id in sorter.get_ready():
            heappush(ready, turns[rule_id])
        ordered.append(heappop(ready)[-1])
        sorter.done(ordered[-1])
    by_id = {rule.id: rule for rule in rules}
    return [by_id[rule_id] for rule_id in ordered]


def _turn(rule: Rule) -> tuple[int, bool, int, str]:
    lowered = rule.lowered_by is not None and not {PRICE_REDUCTIONS, GRANTS}.isdisjoint(rule.lowered_by.value)
    return _RANK.get(rule.kind, 5), lowered, rule.id.count("/"), rule.id
