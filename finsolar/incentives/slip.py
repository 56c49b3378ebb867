"""What if the date slips: the awards of one house over the day it is switched on.

Every event of the house moves with that day by as many days. Costs, energy and taxes stay what they are, so that what
differs is the law alone.
"""

from calendar import monthrange
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from finsolar.incentives.awards import assess
from finsolar.incentives.facts import Array, EligibleLine, House, Subsidy
from finsolar.incentives.law import Rule, Unknown

BACK, AHEAD = 24, 48
"""How many months before and after the in-service day a change of the law is looked for."""

_TELLS = 0.005  # less than half a cent is no change


@dataclass(frozen=True)
class Cliff:
    """A day on which the awards change: `day` is the first in-service day of the new state, `event_day` the day of the
    rule's own event then; money at face value over the study, for the rule alone and for all rules together. Where the
    law of that day is not known here nothing is counted, which is no word of the law: then `known` is false.
    """

    rule_id: str
    title: str
    event: str
    event_day: date
    day: date
    known: bool
    before: float
    after: float
    total_before: float
    total_after: float


@dataclass(frozen=True, eq=False)
class Slip:
    """Awards by in-service day: `totals` (days,) and `by_rule` (days,) each, at face value over the study.

    `next` is the first change after the in-service day of the study, None if none is near.
    """

    days: list[date]
    totals: Array
    by_rule: dict[str, Array]
    cliffs: list[Cliff]
    next: Cliff | None


def slip(
    rules: Sequence[Rule], house: House, lines: Sequence[EligibleLine], subsidies: Sequence[Subsidy], years: int
) -> Slip:
    """Return the awards month by month across the days at which a rule of the place changes, and those days.

    Months run from one before the first change near the in-service day to two after the last, or from half a year
    before to a year after where none is near. The house must be a single case; errors are those of `assess`.
    """
    start = house.day("in service")

    def received(moved: int) -> dict[str, float]:
        awards = assess(rules, house.later(moved), lines, subsidies, years)
        return {award.rule_id: float(np.sum(award.amounts) + np.sum(award.worth)) for award in awards}

    first, last = _months_on(start, -BACK), _months_on(start, AHEAD)
    changes: dict[int, list[Rule]] = {}
    for rule in rules:
        for day in rule.changes():
            anchor = start if rule.event == "new year" else house.day(rule.event)
            if rule.event == "new year" and day != date(day.year, 1, 1):
                day = date(day.year + 1, 1, 1)  # such a rule looks at the law on 1 January only
            moved = (day - anchor).days
            if first <= start + timedelta(days=moved) <= last:
                changing = changes.setdefault(moved, [])
                changing += [rule] if rule not in changing else []
    cliffs = [
        cliff
        for moved in sorted(changes)
        for cliff in _cliffs(rules, changes[moved], house, moved, received(moved - 1), received(moved))
    ]
    near = [start + timedelta(days=moved) for moved in changes]
    months = [_months_on(start, k) for k in range(-BACK, AHEAD + 1)]
    begin = _months_on(min([start, *near]), -1) if near else _months_on(start, -6)
    end = _months_on(max([start, *near]), 2) if near else _months_on(start, 12)
    days = [day for day in months if begin <= day <= end]
    found = [received((day - start).days) for day in days]
    by_rule = {rule.id: np.array([one[rule.id] for one in found]) for rule in rules}
    totals = np.asarray(sum(by_rule.values(), start=np.zeros(len(days))))
    ahead = [cliff for cliff in cliffs if cliff.day > start]
    return Slip(days, totals, by_rule, cliffs, ahead[0] if ahead else None)


def _cliffs(
    rules: Sequence[Rule],
    changing: Sequence[Rule],
    house: House,
    moved: int,
    before: dict[str, float],
    after: dict[str, float],
) -> list[Cliff]:
    """Return what changes between the day before and the day itself.

    A rule that changes on the day can move others, whose basis it lowers; where it gives nothing itself, those others
    are named, with the rule that moved them.
    """
    later = house.later(moved)
    moving = [rule for rule in rules if abs(after[rule.id] - before[rule.id]) > _TELLS]
    own = [rule for rule in moving if rule in changing]
    cause = " and ".join(rule.title for rule in changing)
    totals = sum(before.values()), sum(after.values())
    return [
        Cliff(
            rule_id=rule.id,
            title=rule.title if own else f"{rule.title}, since {cause} changes",
            event=rule.event,
            event_day=later.day(rule.event),
            day=later.day("in service"),
            known=not isinstance(rule.leading.at(later.day(rule.event)), Unknown),
            before=before[rule.id],
            after=after[rule.id],
            total_before=totals[0],
            total_after=totals[1],
        )
        for rule in own or moving
    ]


def _months_on(day: date, months: int) -> date:
    """Return the same day of the month so many months on, or the last of a shorter month."""
    year, month = divmod(12 * day.year + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))
