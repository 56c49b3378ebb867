"""The words of the charts of several households side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from finsolar.report.words.amounts import joined, money, per_cent, years_told

Plain = dict[str, Any]

TOTALS_TITLE = "Running total of each household’s best alternative"
TOTALS_CAPTION = "Running total at the end of each year, against staying as they are"
WITH_WORTH = ", with the worth of backup where a household counts it"
NAMES = {"npv": "NPV", "simple_payback": "Simple payback"}
"""The figures that are shown with their spread, by key."""
OWN_TIP = "The study’s own: %{x}<extra></extra>"
SPREAD_HEAD = ["", "The study’s own", "P10", "P50", "P90"]
SUN_TITLE = "Share of the load that the sun carries, first year"
SUN_AXIS = "% of the year’s load"
SUN_CAPTION = "Load carried by the sun, first year"
SUN_HEAD = ["", "Share", "Load"]


def totals_reading(order: Sequence[Plain], alike: bool, few: bool) -> str:
    """Whose total ends highest and lowest, the first and the last in ``order``; ``few`` : not all are drawn.

    Totals of unlike spans (not ``alike``) are told, but not ranked.
    """
    first, last = _end(order[0]), _end(order[-1])
    ends = f"{first} ends highest, {last} lowest." if alike else f"{first}, {last}."
    told = f"Where a line crosses zero, the system has paid for itself; not discounted, {ends}"
    if few:
        told += f" Of the {len(order)} households, the four that end highest and the four that end lowest are drawn."
    return told


def totals_alt(households: Sequence[Plain]) -> str:
    """The running totals for those who cannot see them."""
    return "Line chart. " + " ".join(f"{_end(one)}." for one in households)


def _end(one: Plain) -> str:
    """Where a household's running total ends."""
    total = money(one["running_total"][-1], one["currency"])
    return f"“{one['name']}” at {total} after {years_told(one['years'])}"


def spread_title(key: str) -> str:
    """The title of the chart of one figure."""
    return f"{NAMES[key]} of each household’s best alternative, and how sure it is"


def spread_tip(name: str) -> str:
    """What a point of a household's line says."""
    return f"{name}, %{{text}}: %{{x}}<extra></extra>"


def spread_reading(ends: tuple[tuple[str, str], tuple[str, str]] | None, never: list[str]) -> str:
    """The lowest and the highest figure, each with the household that has it, and who is ``never`` paid back."""
    reading = "The dot is the study’s own figure; the line runs from P10 to P90 of the futures drawn."
    if ends is not None:
        (low, least), (high, most) = ends
        reading = f"From {low} (“{least}”) to {high} (“{most}”). {reading}"
    if never:
        reading += f" Not paid back within the study: {joined([f'“{name}”' for name in never])}."
    return reading


def spread_alt(key: str, rows: Sequence[list[str]]) -> str:
    """The same for those who cannot see it; ``rows`` : those of the table."""
    return f"{NAMES[key]} by household. " + " ".join(f"{row[0]}: {row[1]}, P10 {row[2]}, P90 {row[4]}." for row in rows)


def spread_axis(key: str, currency: str) -> str:
    """The title of its axis."""
    return f"NPV, {currency}" if key == "npv" else "Years"


def spread_caption(key: str) -> str:
    """What its table holds."""
    return f"{NAMES[key]} of each household"


def sun_reading(low: Plain, high: Plain) -> str:
    """Where the sun carries least of the load, and where most."""
    return (
        f"From {per_cent(low['from_sun'], 0)} (“{low['name']}”) to "
        f"{per_cent(high['from_sun'], 0)} (“{high['name']}”), straight or through the battery."
    )


def sun_alt(rows: Sequence[list[str]]) -> str:
    """The same for those who cannot see it; ``rows`` : those of the table."""
    return "Bars. " + " ".join(f"{row[0]}: {row[1]}." for row in rows)
