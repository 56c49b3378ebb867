"""Times, days and watts of an outage in words, and the cautions that go with them."""

from __future__ import annotations

from typing import Any

from finsolar.energy.weather import DAYS_IN_MONTH
from finsolar.report.words.amounts import joined, per_cent

ALL = "all that the house uses"
ALL_YEAR = "all year"
AS_PLANNED = "As planned"

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
          "December")  # fmt: skip

CAUTIONS = (
    "Circuits that run on without the grid stand on a panel of their own, or behind an approved transfer switch or "
    "interlock. Whatever is used must make it impossible to feed the street: people work on lines they believe dead.",
    "The neutral is bonded to earth in one place at a time. A second bond, in the inverter or on a generator’s frame, "
    "lets current flow where no breaker sees it; none at all leaves faults unseen.",
    "A pump, an oven or a heat pump on both legs (240 V) needs an inverter that makes both, whatever the watts say.",
    "A switch-over within about 20 ms keeps computers running (common practice, no source); slower ones restart them.",
    "A generator stands outdoors, far from doors, windows and vents: its carbon monoxide kills unnoticed. Let it cool "
    "before it is filled.",
    "Local codes, permits and inspections come first. Mains, panels and transfer switches are work for a licensed "
    "electrician.",
    "Whoever depends on a medical device needs a plan that does not rest on this page.",
)


def counted_watts(watts: float) -> str:
    """Watts as people read them: ``2,850 W``."""
    return f"{watts:,.0f} W"


def part(share: float) -> str:
    """A share of the starts in whole per cent, none and all only where it is none and all."""
    if 0.0 < share < 0.01:
        return "under 1 %"
    return "over 99 %" if 0.99 < share < 1.0 else per_cent(share, 0)


def in_short(hours: float) -> str:
    """A length of an outage: ``14 days``, ``18 h``."""
    return f"{hours / 24:g} days" if hours >= 48 else f"{hours:g} h"


def ahead_of(hours: float) -> str:
    """The same in a sentence."""
    return f"{hours / 24:g} days" if hours >= 48 else f"{hours:g} hour{'' if hours == 1 else 's'}"


def amount_of_time(hours: float, longest: float) -> str:
    """How long it lasts, in a table."""
    if hours >= longest:
        return f"{hours / 24:g}+ days" if hours >= 48 else f"{hours:g}+ h"
    return f"{hours / 24:.1f} days" if hours >= 48 else f"{hours:.1f} h"


def hours(number: float) -> str:
    """Hours in a sentence: ``11.2 hours``, ``1 hour``, ``4 minutes``."""
    if 0 < number < 0.95:
        minutes = max(1, round(number * 60))
        return f"{minutes} minute{'' if minutes == 1 else 's'}"
    text = f"{number:,.1f}" if number else "0"
    return "1 hour" if text == "1.0" else f"{text} hours"


def a_time(lasting: float) -> str:
    """How long it lasts, in a sentence: ``5.3 hours``, ``3.5 days``."""
    return f"{lasting / 24:.1f} days".replace(".0", "") if lasting >= 48 else hours(lasting)


def for_a_time(lasting: float) -> str:
    """The same, of what lasts at least as long."""
    return "for no time at all" if lasting < 0.05 else f"for at least {a_time(lasting)}"


def day_and_hour(day_of_year: int, hour: int) -> str:
    """A start by the wall clock: ``3 January at 18:00``."""
    left = day_of_year - 1
    for month, days in enumerate(int(days) for days in DAYS_IN_MONTH):
        if left < days:
            return f"{left + 1} {MONTHS[month]} at {hour}:00"
        left -= days
    raise ValueError(f"a year has 365 days, not {day_of_year}")


def months_in_words(months: list[int]) -> str:
    """Months that follow one another: ``December to February``."""
    return f"{MONTHS[months[0] - 1]} to {MONTHS[months[-1] - 1]}"


def way_in_words(variant: dict[str, Any]) -> str:
    """Which other way to have the house a row is about."""
    kind, amount = variant["kind"], variant["value"]
    if kind in _SIMPLY:
        return _SIMPLY[kind]
    if kind == "without":
        return f"Without {joined([f'“{name}”' for name in variant['without']])}"
    if kind == "reserve":
        return f"With a reserve of {per_cent(amount, 0)}"
    if kind == "load":
        return f"With {per_cent(amount, 0)} of the load"
    if kind == "worn":
        return f"With the battery as worn as in year {amount:.0f}"
    if kind == "fuel":
        return f"With {amount:g} litres of fuel"
    return f"With a battery of {amount:g} kWh, its power as it is"


_SIMPLY = {"no sun": "Without any sun", "no generator": "Without the generator"}
