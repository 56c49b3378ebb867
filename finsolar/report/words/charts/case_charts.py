"""What is said of many cases: how NPV spreads over them, and what moves it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from finsolar.report.words.amounts import joined, money
from finsolar.report.words.changes_told import best_of
from finsolar.report.words.ranges_told import measured

Plain = dict[str, Any]

MARKS = ("P10", "P50", "P90")
LOW_END, HIGH_END = "At its P10", "At its P90"
SPREAD_TITLE = "How far NPV spreads over the futures drawn"
BARS_HEAD = ("From", "To", "Cases")
SWINGS_HOVER = "%{text}: NPV %{hovertext}"


def npv_axis(currency: str) -> str:
    """What the axis of NPV counts."""
    return f"NPV, {currency}"


def spread_reading(plain: Plain) -> str:
    """How the hills are read, and what the alternative of the short answer likely comes to."""
    currency, best = plain["settings"]["currency"], best_of(plain)["name"]
    npv = next(plan for plan in plain["uncertainty"]["alternatives"] if plan["name"] == best)["figures"]["npv"]
    low, middle, high = (money(npv[key], currency) for key in ("p10", "p50", "p90"))
    return (
        "Each hill is high where its cases are many; the thick line runs from P10 to P90, the large mark is "
        f"P50. “{best}” likely comes to between {low} and {high}, with as many cases above {middle} as below."
    )


def spread_alt(rows: Iterable[list[str]]) -> str:
    """P10, P50 and P90 of each alternative, by the rows of its table of NPV."""
    return "Hills of NPV, one for each alternative. " + " ".join(
        f"{row[0]}: P10 {row[2]}, P50 {row[3]}, P90 {row[4]}." for row in rows
    )


def bars_caption(name: str) -> str:
    """The head of the table of one alternative's cases."""
    return f"Cases by NPV: {name}"


def swings_title(name: str) -> str:
    """The title of the chart of one alternative's swings."""
    return f"What moves the NPV most: {name}"


def swings_reading(plan: Plain, order: list[Plain], moving: list[Plain], shown: list[Plain], currency: str) -> str:
    """What moves the NPV of an alternative most, and what does not.

    order : all ranges; moving : those that move it; shown : those of them that the chart has room for.
    """
    first, name = shown[0], plan["name"]
    low, high = (
        f"{money(first[f'npv_{end}'][name], currency)} at {measured(first[end], first['unit'], currency)}"
        for end in ("low", "high")
    )
    told = f"What moves it most is the {first['words']}: from {low} to {high}."
    if len(order) > len(shown):
        rest = [one["words"] for one in order if one not in moving]
        told += f" It does not depend on the {joined(rest)}." if rest else " The table has the smaller ones."
    middle = money(plan["metrics"]["npv"], currency)
    return f"{told} All other ranges stay at their middle; the dotted line is the study’s {middle}."


def swings_alt(rows: Iterable[list[str]]) -> str:
    """From where to where each range moves it, by the rows of the table."""
    return "Bars of NPV from one end of each range to the other. " + " ".join(
        f"{row[0]}: {row[3]} at {row[1]}, {row[4]} at {row[2]}." for row in rows
    )
