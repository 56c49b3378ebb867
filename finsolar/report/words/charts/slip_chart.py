"""What is said of all awards by the day the system is switched on."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from finsolar.report.words.amounts import joined, money
from finsolar.report.words.slips import Course, cliff_rows
from finsolar.scenario.problems import printable

Plain = dict[str, Any]

TITLE = "All awards by the day the system is switched on"
AS_PLANNED = "as planned"
CAPTION = "All awards at face value, over all years of the study, by the day the system is switched on"
CHANGES_CAPTION = "The days of changes: what the rule alone gives before, and from that day on"
CHANGES_HEAD = ("Switched on from", "Rule", "What decides", "Alternatives", "Before", "After")


def line_name(names: list[str]) -> str:
    """The names of alternatives that share a line, the first of them where all would not fit beside it on a phone."""
    every = joined(names)
    return every if len(every) <= 40 or len(names) == 1 else f"{printable(names[0], 28)} and {len(names) - 1} more"


def mark_name(line: str) -> str:
    """What the mark of the planned day on a line is called."""
    return f"{line}, as planned"


def alt(plain: Plain, courses: Iterable[Course]) -> str:
    """What each line stands at on its planned day, and what the dashed lines mark."""
    currency = plain["settings"]["currency"]
    return (
        "Step chart. "
        + " ".join(
            f"{joined(c.names)}: {money(c.total(c.planned), currency)} on the planned day, {c.planned}."
            for c in courses
        )
        + " Dashed lines mark: "
        + "; ".join(f"{day}, {title}" for day, title, *_ in cliff_rows(plain))
        + "."
    )


def axis(currency: str) -> str:
    """What the axis of money counts."""
    return f"Awards, {currency}"


def head(courses: Iterable[Course]) -> list[str]:
    """The head of the table, a column for each line."""
    return ["Switched on", *(joined(course.names) for course in courses)]
