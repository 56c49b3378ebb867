"""What every part of the oracle uses: plain numbers, price indices, and the years in which a line falls due.

`oracle` says what for.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from finsolar.scenario.numbers import Range
from finsolar.scenario.schema import UpkeepLine

Rows = list[list[float]]
"""Amounts by year and month."""

RENEWED = ("inverter", "battery", "modules", "generator")
"""Categories of upkeep that renew a piece of equipment."""

DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def central(value: Any) -> float:
    """Return the value a study without draws uses: the likely one, the mean or the middle."""
    if not isinstance(value, Range):
        return float(value)
    words = dict(zip(value.kind.split(", "), value.values, strict=True))
    if "likely" in words:
        return words["likely"]
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
    last = years - 1 if line.category in RENEWED else years
    if line.below is not None:
        named = set(worn_out)
    elif line.in_years is not None:
        named = set(line.in_years)
    else:
        named = set(range(line.every if line.first is None else line.first, last + 1, line.every))
    return sorted(year for year in named if year <= last)
