"""What if the date slips: how the awards change with the day the system is switched on, in sentences and rows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from finsolar.incentives.slip import AHEAD, BACK
from finsolar.incentives.wording import written
from finsolar.report.words.amounts import joined, money

Plain = dict[str, Any]

_TELLS = 0.5  # a change below half a unit of money is not worth a sentence


@dataclass(frozen=True)
class Change:
    """A day on which one alternative's awards change, all rules together; ``day`` is the first of the new state.

    ``after`` and ``before`` say what it would receive from that day on, and up to the day before, beyond what it
    receives on its planned day; money at face value over the study.
    """

    name: str
    day: date
    before: float
    after: float
    cliffs: tuple[Plain, ...]


def changes(plan: Plain) -> list[Change]:
    """The days on which the sum of an alternative's awards changes, in order; none where that was not looked for."""
    by_day: dict[date, list[Plain]] = {}
    for cliff in () if plan["slip"] is None else plan["slip"]["cliffs"]:
        by_day.setdefault(date.fromisoformat(cliff["in_service"]), []).append(cliff)
    planned = sum(sum(award["amounts"]) + award["worth"] for award in plan["incentives"])
    found = [
        Change(
            plan["name"], day, cliffs[0]["total_before"] - planned, cliffs[0]["total_after"] - planned, tuple(cliffs)
        )
        for day, cliffs in sorted(by_day.items())
    ]
    return [change for change in found if abs(change.after - change.before) >= _TELLS]


def ahead(plain: Plain) -> list[Change]:
    """The next change after the planned day, of every alternative that meets it on the earliest such day."""
    found = [
        next((c for c in changes(plan) if c.day > date.fromisoformat(plan["in_service"])), None)
        for plan in plain["alternatives"]
    ]
    earliest = min((change.day for change in found if change is not None), default=None)
    return [change for change in found if change is not None and change.day == earliest]


def behind(plain: Plain) -> list[Change]:
    """The last change up to the planned day, of every alternative that met it on the latest such day."""
    found = [
        next((c for c in reversed(changes(plan)) if c.day <= date.fromisoformat(plan["in_service"])), None)
        for plan in plain["alternatives"]
    ]
    latest = max((change.day for change in found if change is not None), default=None)
    return [change for change in found if change is not None and change.day == latest]


def next_change(plain: Plain) -> list[str]:
    """The next day on which some alternative would be granted less or more, as a sentence; none where none is near."""
    found = ahead(plain)
    if not found:
        return []
    start = f"Switched on {written(found[0].day)} or later, "
    whose = [(change.name, change.after, _why(change)) for change in found]
    unknown = list(dict.fromkeys(c["title"] for change in found for c in change.cliffs if not c["known"]))
    if unknown and all(not c["known"] for change in found for c in change.cliffs):
        told = _told(plain, [(name, amount, "") for name, amount, _ in whose], "would have", "to count on")
        return [f"{start}{told}: what the law says from then on is not known here ({joined(unknown)})."]
    told = _told(plain, whose, "would receive", "in incentives")
    known = f" What the law says from then on is not known here: {joined(unknown)}." if unknown else ""
    return [f"{start}{told}.{known}"]


def reading(plain: Plain) -> str:
    """The one line above the chart: the next change, or the last one where none is near."""
    told = next_change(plain)
    if told:
        return told[0]
    last = behind(plain)
    if not last:
        return ""
    until = written(last[0].day - timedelta(days=1))
    whose = [(change.name, change.before, _why(change)) for change in last]
    says = _told(plain, whose, "would have received", "in incentives")
    return f"No change is known within {AHEAD // 12} years ahead. Switched on by {until}, {says}."


def nothing_changes() -> str:
    """What is said where no day near the planned one brings a change."""
    return (
        f"Up to {BACK} months earlier or {AHEAD} months later, no rule known here would give these alternatives more "
        "or less. Rules that are not known here, and laws that are not yet made, may."
    )


def _told(plain: Plain, whose: list[tuple[str, float, str]], verb: str, what: str) -> str:
    """Who would receive how much less or more than as planned, and by which rules; those alike together."""
    currency, everyone = plain["settings"]["currency"], len(plain["alternatives"])
    groups: dict[tuple[float, str], list[str]] = {}
    for name, amount, why in whose:
        groups.setdefault((round(amount), why), []).append(f"“{name}”")
    shared = len({why for _, why in groups}) == 1
    parts = []
    for i, ((amount, why), names) in enumerate(groups.items()):
        who = "every alternative" if len(names) == everyone > 1 else joined(names)
        part = f"{money(abs(amount), currency)} {'less' if amount < 0 else 'more'}"
        full = f"{who} {verb} {part} {what}" if i == 0 or not shared else f"{who} {part}"
        parts.append(full if shared or not why else f"{full} ({why})")
    says = joined(parts) if shared else "; ".join(parts)
    why = whose[0][2]
    return f"{says} ({why})" if shared and why else says


def _why(change: Change) -> str:
    """The rules behind a change; where another day than that of switching on decides, which one."""
    told = []
    for cliff in change.cliffs:
        decided = date.fromisoformat(cliff["event_day"])
        by = "" if decided == change.day else f", by its {cliff['event']} on {written(decided)}"
        told.append(f"{cliff['title']}{by}")
    return "; ".join(told)


@dataclass(frozen=True)
class Course:
    """Alternatives with one planned day and one course of awards: names, and totals from each day on."""

    names: list[str]
    planned: date
    days: list[date]
    totals: list[float]

    def total(self, day: date) -> float:
        """What is received by one who switches on at ``day``."""
        return [total for start, total in zip(self.days, self.totals, strict=True) if start <= day][-1]


def courses(plain: Plain) -> list[Course]:
    """The awards of each alternative over the day it is switched on: by month, and at each day of a change.

    Alternatives alike in day and course share theirs.
    """
    found: list[Course] = []
    for plan in plain["alternatives"]:
        slip = plan["slip"]
        if slip is None:
            continue
        at = {date.fromisoformat(one["in_service"]): one["total"] for one in slip["days"]}
        first, last = min(at), max(at)
        cliffs = {date.fromisoformat(cliff["in_service"]): cliff["total_after"] for cliff in slip["cliffs"]}
        at |= {day: total for day, total in cliffs.items() if first <= day <= last}
        course = Course([plan["name"]], date.fromisoformat(plan["in_service"]), sorted(at), [at[d] for d in sorted(at)])
        same = next(
            (c for c in found if (c.planned, c.days, c.totals) == (course.planned, course.days, course.totals)), None
        )
        if same is None:
            found.append(course)
        else:
            same.names.append(plan["name"])
    return found


def cliff_rows(plain: Plain) -> list[list[str]]:
    """The changes as rows: first in-service day, rule, whom it concerns, and what the rule gives before and after."""
    currency = plain["settings"]["currency"]
    rows: dict[tuple[str, ...], list[str]] = {}
    for plan in plain["alternatives"]:
        for cliff in [] if plan["slip"] is None else plan["slip"]["cliffs"]:
            after = money(cliff["after"], currency, 2) if cliff["known"] else "not known"
            decides = f"{cliff['event']}, {cliff['event_day']}"
            key = (cliff["in_service"], cliff["title"], decides, money(cliff["before"], currency, 2), after)
            rows.setdefault(key, []).append(f"“{plan['name']}”")
    return [[*key[:3], joined(names), *key[3:]] for key, names in sorted(rows.items())]
