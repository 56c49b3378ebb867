"""What is said of the curves and maps of a number that is moved."""

from __future__ import annotations

from typing import Any

from finsolar.report.words import terms
from finsolar.report.words.charts.map_chart import GAIN_OR_LOSS
from finsolar.report.words.varied_told import NAMES, cell, short, told_values

Plain = dict[str, Any]

TERMS = {name: terms.TERMS[name] for name in ("Simple payback", "Discounted payback", "NPV", "IRR")}
"""The terms that the page explains."""


def about(plain: Plain) -> str:
    """What the page is about: one input or both."""
    return " and ".join(short(one) for one in plain["inputs"])


def page_title(scenario: str, about: str) -> str:
    """The title of the page."""
    return f"{scenario}: {about}"


def curve_reading(plain: Plain, name: str, marked: bool) -> str:
    """How to read a figure's curves, and where they end; ``marked`` : whether a line marks the scenario as written."""
    missing = _missing(plain, name)
    if name != "npv":
        reading = _ends(plain, name)
    else:
        upright = " The dotted line is the scenario as written." if marked else ""
        reading = f"Where a line crosses zero, that alternative breaks even.{upright}"
    return reading + (f" Where a line ends there is no such figure: {'; '.join(missing)}." if missing else "")


def curve_alt(plain: Plain, name: str) -> str:
    """What stands in the place of a figure's curves for whoever does not see them."""
    return f"Lines of {NAMES[name]}, one for each alternative. {_ends(plain, name)}"


def _missing(plain: Plain, name: str) -> list[str]:
    values = len(plain["inputs"][0]["values"])
    return [
        f"“{plan['name']}” has none at {sum(number is None for number in plan[name])} of the {values} values"
        for plan in plain["alternatives"]
        if None in plan[name]
    ]


def _ends(plain: Plain, name: str) -> str:
    """The figure at both ends of the input."""
    first, currency = plain["inputs"][0], plain["settings"]["currency"]
    places = told_values(first, currency)
    return " ".join(
        f"“{plan['name']}”: {cell(name, plan[name][0], currency)} at {places[0]}, "
        f"{cell(name, plan[name][-1], currency)} at {places[-1]}."
        for plan in plain["alternatives"]
    )


def npv_map_reading(turns: bool, marked: bool) -> str:
    """How to read the map of NPV; ``turns`` : whether it breaks even on the map, ``marked`` : whether the scenario as
    written is on it.
    """
    return GAIN_OR_LOSS + _on_the_map(turns, marked)


def payback_map_reading(never: bool, turns: bool, marked: bool) -> str:
    """How to read the map of the payback; ``never`` : whether it never comes somewhere, the others as above."""
    grey = " Where it is grey, up to the next value, it is never back within the study." if never else ""
    return f"The numbers on the lines are years until it is back for good.{grey}{_on_the_map(turns, marked)}"


def _on_the_map(turns: bool, marked: bool) -> str:
    line = " The thick line is where the NPV is zero." if turns else ""
    return line + (" The dot is the scenario as written." if marked else "")
