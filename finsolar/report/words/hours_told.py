"""What the hours of the first year tell, in words: who carries the load when, and when most is drawn and fed in."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from finsolar.incentives.wording import written

Plain = dict[str, Any]

HOURS = tuple(f"{hour:02d}:00" for hour in range(24))
"""The hours of the clock, each by the moment it begins."""

TRACE = 0.05
"""A kW, or a kWh a day, of which less is not worth a word."""


def season(day: Plain) -> str:
    """A season by its months, which are the same south of the equator: ``December to February``."""
    first, last = (written(date(2029, month, 1)).split()[1] for month in (day["months"][0], day["months"][-1]))
    return f"{first} to {last}"


def week(place: int) -> str:
    """The day with which a week of the year begins, counted from 0: ``1 January``."""
    # The years of a study have no 29 February.
    return written(date(2029, 1, 1) + timedelta(days=7 * place)).rsplit(" ", 1)[0]


def span(first: int, hours: int) -> str:
    """So many hours from one on, past midnight if need be: ``from 19:00 to 02:00``."""
    last = (first + hours) % 24
    return "around the clock" if hours == 24 else f"from {HOURS[first]} to {HOURS[last] if last else 'midnight'}"


def band(hours: list[int]) -> str:
    """A part of the day: ``04:00 to 08:00``."""
    return f"{HOURS[hours[0]]} to {hours[1]:02d}:00"


def day_sentence(plan: Plain) -> str:
    """Who carries the load of an average day and when, and what else it takes, in that season and in another."""
    days = plan["energy"]["average_days"]
    key, one, many = _lacking(plan)
    lacking = [sum(day[key]) for day in days]
    least, most = lacking.index(min(lacking)), lacking.index(max(lacking))
    carried = _longest(days, "discharge", "the battery") or _longest(days, "straight", "the sun")
    which, told = carried or (least, f"the sun gives {_kwh(sum(days[least]['solar']))}")
    says = f"With “{plan['name']}”, on an average day from {season(days[which])} {told}"
    if lacking[most] < TRACE:
        return f"{says}; in no season of the year {one.replace('#', 'anything')}."
    amount, without = lacking[which], sum(days[which]["unserved"])
    if key == "generator" and without >= TRACE:
        many += f" and {_kwh(without)} find no source"
    says += f", and {one.replace('#', 'nothing') if amount < TRACE else many.replace('#', _kwh(amount))}"
    other = least if which == most else most
    if abs(lacking[other] - amount) < TRACE:
        return f"{says}."
    return f"{says}; from {season(days[other])} it is {_kwh(lacking[other])}."


def _lacking(plan: Plain) -> tuple[str, str, str]:
    """What fills the gaps of a house, by its key, and how that is said of nothing and of some kWh."""
    energy = plan["energy"]
    if energy["weeks"]["grid"]:
        return "imported", "# comes from the grid", "# come from the grid"
    if any(sum(day["generator"]) for day in energy["average_days"]):
        return "generator", "# comes from the generator", "# come from the generator"
    return "unserved", "# is left without a source", "# are left without a source"


def _longest(days: list[Plain], key: str, who: str) -> tuple[int, str] | None:
    """The season in which one source gives more than half of the load for the most hours on end, and when."""
    runs = [_run([given > 0.5 * load > 0.0 for given, load in zip(day[key], day["load"], strict=True)]) for day in days]
    which = max(range(len(days)), key=lambda k: runs[k][1])
    first, hours = runs[which]
    return (which, f"{who} carries more than half of the load {span(first, hours)}") if hours else None


def _run(held: list[bool]) -> tuple[int, int]:
    """The longest run of hours on the round of the clock: its first hour, and how many there are."""
    if all(held):
        return 0, len(held)
    best = (0, 0)
    for first in range(len(held)):
        hours = next(k for k in range(len(held)) if not held[(first + k) % len(held)])
        best = max(best, (first, hours), key=lambda run: run[1])
    return best


def _kwh(amount: float) -> str:
    return "nothing" if amount < TRACE else f"{amount:,.1f} kWh"


def week_sentence(plan: Plain) -> str:
    """When in the year most is drawn and most is fed in; off the grid, when most is lacking and most left over."""
    weeks = plan["energy"]["weeks"]
    key, *_ = _lacking(plan)
    takes = {"imported": "is drawn", "generator": "is asked of the generator", "unserved": "finds no source"}[key]
    if key == "generator" and any(sum(day["unserved"]) >= TRACE for day in plan["energy"]["average_days"]):
        takes = "is asked of the generator or finds no source"
    gives = "is fed in" if weeks["grid"] else "of the sun is left over"
    squares = [(power, k, hour) for k, row in enumerate(weeks["exchange"]) for hour, power in enumerate(row)]
    # The last of the weeks is a single day, and what it shows is no average.
    (low, *trough), (high, *peak) = min(squares[:-24]), max(squares[:-24])
    says = f"With “{plan['name']}”, "
    if high < TRACE and low > -TRACE:
        return f"{says}nothing {takes} in any week."
    told = [
        f"most {what} {span(hour, 1)} in the week from {week(k)}, {abs(power):.1f} kW on average"
        for power, what, (k, hour) in ((high, takes, peak), (-low, gives, trough))
        if power >= TRACE
    ]
    says += "; ".join(told)
    if low > -TRACE:
        return f"{says}; nothing {gives}."
    if high < TRACE:
        return f"{says}; nothing {takes}."
    dots = sum(power < -TRACE for power, *_ in squares)
    return f"{says}. A dot marks where more {gives} than {takes}: {dots:,} of {len(squares):,} squares."
