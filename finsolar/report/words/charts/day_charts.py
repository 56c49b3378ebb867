"""The words of the charts of the hours: the average day of each season, and the map of weeks and hours."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from finsolar.report.words.charts.figures import MONTH
from finsolar.report.words.hours_told import band, season

Plain = dict[str, Any]

LOAD = "Load"
FLOWS = {
    "straight": "Sun, as it comes",
    "discharge": "Out of the battery",
    "imported": "Drawn from the grid",
    "generator": "Generator",
    "unserved": "No source",
    "charge": "Into the battery",
    "exported": "Fed into the grid",
    "curtailed": "Left over",
}
"""What carries the load and what goes elsewhere, by key."""

DAY_AXES = ("Hour of the day", "kW")
DAY_FOOT = "Day, kWh"
WEEK_AXES = ("Weeks of the year", "Hour of the day")
WEEK_TIP = "week from %{x}, %{y}: %{z:.2f} kW<extra></extra>"


def day_title(name: str) -> str:
    """The title of the average days of an alternative."""
    return f"An average day of each season, first year: {name}"


def day_alt(reading: str, days: Sequence[Plain], keys: Sequence[str]) -> str:
    """The average days for those who cannot see them, with the kWh of what is shown, by ``keys``."""
    return (
        "Four panels of 24 hours. Bars above zero show what carries the load, a line the load, bars below zero "
        f"what is stored, sold or left over. {reading} "
        + " ".join(day_sums(day, keys) for day in days)
        + " The tables below hold every hour."
    )


def day_sums(day: Plain, keys: Sequence[str]) -> str:
    """The kWh of an average day in a sentence."""
    sums = "; ".join(f"{FLOWS[key][0].lower()}{FLOWS[key][1:]} {sum(day[key]):.1f}" for key in keys)
    return f"{season(day)}, kWh a day: load {sum(day['load']):.1f}; {sums}."


def day_caption(day: Plain, stored: bool) -> str:
    """What the table of an average day holds; ``stored`` : also what is in the battery."""
    return f"An average day from {season(day)}, kW" + (", and what the battery holds" if stored else "")


def day_head(keys: Sequence[str], stored: bool) -> list[str]:
    """The heads of that table."""
    return ["Hour", LOAD, *(FLOWS[key] for key in keys), *(["Stored, kWh"] if stored else [])]


def given(name: str) -> str:
    """What the dots on the map of an alternative are called."""
    return f"{name}: given"


def week_title(name: str) -> str:
    """The title of the map of an alternative."""
    return f"Every week and hour of the first year: {name}"


def week_alt(reading: str) -> str:
    """The maps for those who cannot see them."""
    return (
        f"Two maps, weeks from left to right and hours from bottom to top. {reading} The tables below hold the "
        "months by parts of the day."
    )


def ends_of_scale(power: float, on_grid: Sequence[bool]) -> list[str]:
    """What the two ends of the colours and their middle stand for, in kW; ``on_grid`` : of each map."""
    less, more = ("fed in", "drawn") if all(on_grid) else ("left over", "asked for")
    if any(on_grid) and not all(on_grid):
        less, more = "given", "taken"
    return [f"{power:.1f} kW {less}", "0", f"{power:.1f} kW {more}"]


def band_caption(name: str, on_grid: bool) -> str:
    """What the table behind a map holds."""
    what = "drawn less fed in" if on_grid else "asked of the generator or lacking, less what is left over"
    return f"Average kW {what}, by month and part of the day: {name}"


def band_head(bands: Sequence[list[int]]) -> list[str]:
    """The heads of that table."""
    return [MONTH, *(band(hours) for hours in bands)]
