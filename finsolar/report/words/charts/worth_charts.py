"""The words of the chart of the hours without the grid: how many are carried, and how many are dark."""

from __future__ import annotations

from collections.abc import Sequence

from finsolar.report.figures import Table
from finsolar.report.words.amounts import joined
from finsolar.report.words.interruptions_told import NAMES
from finsolar.report.words.times_told import hours

TITLE = "Hours of a year without the grid, dark and carried"
AXIS = "Hours a year"
WHISKER = "In the dark, likely range (P10 to P90)"
HOVER = "%{x:.1f} h"
KINDS = {
    ("usual", "hours_not_carried"): "In the dark, usual outages",
    ("storms", "hours_not_carried"): "In the dark, storms",
    ("usual", "hours_carried"): "Carried, usual outages",
    ("storms", "hours_carried"): "Carried, storms",
}
"""The parts of a bar, in the order in which they stand one upon another."""


def reading(stay: float, dark: Sequence[tuple[Sequence[str], float]]) -> str:
    """How long the house is dark if it stays as it is, and with the alternatives that leave it so the shortest and the
    longest; ``dark`` : names, and hours of the first year."""
    said = f"Staying as you are the house is dark for {hours(stay)} a year"
    ordered = sorted(dark, key=lambda one: one[1])
    ends = ordered if len(ordered) < 3 else [ordered[0], ordered[-1]]
    told = [f"with {joined([f'“{name}”' for name in names])} for {hours(amount)}" for names, amount in ends]
    return f"{said}; {' and '.join(told)}."


def alt(stay: float, bars: Sequence[tuple[str, float, float]]) -> str:
    """The chart for those who cannot see it; ``bars`` : names, hours carried and hours in the dark."""
    each = [f"{name}: {hours(carried)} carried, {hours(dark)} in the dark." for name, carried, dark in bars]
    return (
        f"Lying bars, one for staying as you are, all of its {hours(stay)} in the dark, and one for each alternative: "
        "first the hours in the dark, then those carried, storms hatched. " + " ".join(each)
    )


def table(rows: Sequence[tuple[str, str, str, str, str]]) -> Table:
    """The numbers of the bars; ``rows`` : name, kind, and hours without the grid, carried and in the dark."""
    return Table(
        caption="Hours of the first year without the grid, by kind of outage",
        head=["", "Kind", "Without the grid", "Carried", "In the dark"],
        rows=[[name, NAMES[kind], *cells] for name, kind, *cells in rows],
    )
