"""The words of the charts of an outage: the load test, and how long the house lasts."""

from __future__ import annotations

from collections.abc import Sequence

from finsolar.report.words.amounts import joined
from finsolar.report.words.times_told import ahead_of, counted_watts, part

ROWS = ("Running at once", "Largest start", "With what fits")
START = "The start itself"
ALL_YEAR = "All year"
TICKS = {1: "1 h", 3: "3 h", 6: "6 h", 12: "12 h", 24: "1 d", 72: "3 d", 168: "7 d", 336: "14 d"}
"""Lengths of an outage on the axis, by their hours."""
LENGTH_AXIS = "Length of the outage"
SHARE_AXIS = "Starts that last, %"
COMPARED_TITLE = "How long each alternative lasts, all year"
COMPARED_ALT = (
    "Falling lines of the share of starts that last at least so many hours, one for each alternative; the "
    "table below holds every number."
)
SEASON_CAPTION = "Share of the starts that last at least so long, by season"
COMPARED_CAPTION = "Share of the starts that last at least so long, by alternative"
LENGTH = "Length"


def limit(what: str) -> str:
    """The name of the marks of what carries the load."""
    return f"Limit of the {what}"


def load_test_title(name: str) -> str:
    """The title of the load test of an alternative."""
    return f"Load test on paper: {name}"


def load_test_alt(for_long: float, for_a_start: float) -> str:
    """The load test for those who cannot see it; the limits in watts."""
    return (
        "Stacked bars of the watts of each circuit: all that is on backup running at once, the same with the "
        f"largest start, and what fits; the upright marks are the limits, {counted_watts(for_long)} for "
        f"long and {counted_watts(for_a_start)} for a start. The table below holds every circuit."
    )


def season_title(name: str) -> str:
    """The title of how long an alternative lasts, by season."""
    return f"How long it lasts, by season: {name}"


def season_reading(share: float, hours: float, apart: Sequence[tuple[str, float]]) -> str:
    """How many of all starts last so many hours, and of those from each season that stands apart."""
    reading = f"{part(share)} of all starts last {_at_least(hours)} or longer"
    if apart:
        reading += ": " + ", ".join(f"{part(each)} of those from {name}" for name, each in apart)
    return f"{reading[:1].upper()}{reading[1:]}."


def season_alt(hours: float, shares: Sequence[tuple[str, float]]) -> str:
    """The same for those who cannot see it; ``shares`` : by season, of the starts that last so many hours."""
    return "Falling lines of the share of starts that last at least so many hours, one for each season. " + " ".join(
        f"{name}: {part(share)} last {_at_least(hours)} or longer." for name, share in shares
    )


def compared_reading(hours: float, shares: Sequence[tuple[str, float]]) -> str:
    """How many of the starts with each alternative last so many hours."""
    span = _at_least(hours)
    told = joined([f"{part(share)} of the starts with “{name}”" for name, share in shares])
    return f"{span[0].upper()}{span[1:]} or longer last {told}."


def _at_least(hours: float) -> str:
    return "a day" if hours == 24 else ahead_of(hours)
