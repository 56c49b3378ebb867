"""The words of the chart of a reserve: what each costs, and what it buys."""

from __future__ import annotations

from typing import Any

from finsolar.report.words.amounts import money
from finsolar.report.words.reserve import percent
from finsolar.report.words.times_told import amount_of_time

Plain = dict[str, Any]

SAVED = "Saved in the first year"
NINE_IN_TEN = "Hours, nine starts of ten"
WORST = "Hours, worst start"
HOURS_AXIS = "Carried without the grid, hours"
RESERVE_AXIS = "Reserve, % of the battery"


def title(name: str) -> str:
    """The title of the chart for an alternative."""
    return f"What a reserve costs, and what it buys: {name}"


def saved_axis(currency: str) -> str:
    """What the upper panel shows."""
    return f"{SAVED}, {currency}"


def own(place: Plain) -> str:
    """The name of the line at the household's own reserve."""
    return f"Reserve as planned: {percent(place)}"


def knee(place: Plain) -> str:
    """The name of the line at the knee."""
    return f"Knee: {percent(place)}"


def alt(found: Plain, currency: str) -> str:
    """The chart for those who cannot see it."""
    places = found["places"][0], found["own"], found["places"][-1]
    none, planned, last = (_both(place, found["longest_hours"], currency) for place in places)
    lines = "An upright line marks the reserve as planned."
    if found["knee"] is not None:
        lines = f"Upright lines mark the reserve as planned and the knee, at {percent(found['knee'])}."
    return (
        "Two panels over the reserve, from none to all of the battery: the saving of the first year above, the hours "
        f"that are carried below. With no reserve {none} in nine starts of ten; as planned, at "
        f"{percent(found['own'])}, {planned}; with all kept back {last}. {lines}"
    )


def _both(place: Plain, longest: float, currency: str) -> str:
    return f"{money(place['saving'], currency)} and {amount_of_time(place['nine_in_ten'], longest)}"
