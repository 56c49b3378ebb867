"""What every part of the oracle uses: plain numbers, price indices, and the years in which a line falls due.

`oracle` says what for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from finsolar.scenario.numbers import Range
from finsolar.scenario.schema import CostLine, UpkeepLine

Rows = list[list[float]]
"""Amounts by year and month."""

RENEWED = ("inverter", "battery", "modules", "generator")
"""Categories of upkeep that renew a piece of equipment."""

INVESTED = (*RENEWED, "roof")
"""Those that renew what was invested in."""

DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def central(value: Any) -> float:
    """Return the value a study without draws uses: the likely one, the mean or the middle."""
    if not isinstance(value, Range):
        return float(value)
    words = dict(zip(value.kind.split(", "), value.values, strict=True))
    if "likely" in words:
        return words["likely"]
    if "shape" in words:  # the mean of lives by Weibull's law
        return words["characteristic"] * math.exp(math.lgamma(1 + 1 / words["shape"]))
    return words["mean"] if "mean" in words else (words["from"] + words["to"]) / 2


def index(rise: Any, years: int) -> list[float]:
    """Return the price index by year: 1 in year 1, then up by each rise, the last one repeating."""
    steps = [float(step) for step in rise] if hasattr(rise, "__len__") else [central(rise)]
    found = [1.0]
    for k in range(years - 1):
        found.append(found[-1] * (1 + steps[min(k, len(steps) - 1)]))
    return found


def due(line: UpkeepLine, years: int, worn_out: Iterable[int] = ()) -> list[int]:
    """Return the years at whose end a line falls due; nothing is renewed at the very end of the study.

    ``worn_out`` are the years at whose end the battery holds too little, for a line that waits for that.
    """
    last = years - 1 if line.category in INVESTED else years
    if line.category == "removal":
        return [years]
    if line.below is not None:
        named = set(worn_out)
    elif line.life is not None:
        named = set(_ends_of_lives(central(line.life), last))
    elif line.in_years is not None:
        named = set(line.in_years)
    else:
        named = set(range(line.every if line.first is None else line.first, last + 1, line.every))
    return sorted(year for year in named if year <= last)


def _ends_of_lives(life: float, last: int) -> list[int]:
    """Return the years in which one unit after another fails, one at the end of year 13 counting as in it."""
    found, units = [], 1
    while math.ceil(units * life - 1e-9) <= last:
        found.append(math.ceil(units * life - 1e-9))
        units += 1
    return found


def covered(line: UpkeepLine, years: int, worn_out: Iterable[int] = ()) -> list[int]:
    """Return the years in which a warranty pays for the parts, unit by unit."""
    found: list[int] = []
    bought = 0.0
    for unit, year in enumerate(due(line, years, worn_out), start=1):
        fails = float(year) if line.life is None else unit * central(line.life)
        if line.warranty_years is not None and fails - bought <= line.warranty_years + 1e-9:
            found.append(year)
        else:
            bought = fails
    return found


def left_share(line: CostLine | UpkeepLine, age: int) -> float:
    """Return what is left of a price at an age: one share, or the straight line between two ages."""
    if line.residual_by_age is None:
        return central(line.residual)
    before, share = 0, 1.0
    for stated, value in sorted(line.residual_by_age.items()):
        if age <= stated:
            return share + (central(value) - share) * (age - before) / (stated - before)
        before, share = stated, central(value)
    return share
