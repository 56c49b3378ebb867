"""The oracle's comparison of alternatives: places, what one adds to another, what own hours leave; plain loops.

Rows of money begin with year 0; money to the household is positive.
"""

from __future__ import annotations

import math
from itertools import accumulate
from typing import Any

from oracle_figures import payback

NEAR = {"money": 0.005, "years": 0.001}
"""Closer than half a cent, or a thousandth of a year, two figures are the same."""

NO_SAVING = (
    "capital", "rebates", "awards", "replacements", "investment avoided", "left at the end", "tools sold again",
    "removal", "tax on awards", "buy-out at the end of the term", "tax saved on interest", "dealer fee",
)  # fmt: skip
"""Lines that are neither saving nor running cost; nor are those of a loan."""


def operation(lines: dict[str, list[float]]) -> list[float]:
    """Return what a system saves less what it costs to run, by year from 0."""
    running = [line for name, line in lines.items() if name not in NO_SAVING and "loan" not in name]
    return [sum(flows) for flows in zip(*running, strict=True)]


def extra_savings(dearer: dict[str, list[float]], cheaper: dict[str, list[float]]) -> dict[str, float]:
    """Return by how much more the lines of one alternative save than those of another."""
    more = [one - other for one, other in zip(operation(dearer), operation(cheaper), strict=True)]
    return {"extra_saving_first_year": more[1], "extra_saving": sum(more)}


def ranked(nets: dict[str, list[float]], rate: float) -> dict[str, dict[str, Any]]:
    """Return by name where each stands; a place is one more than the number of those that are better."""
    npvs = {name: sum(flow / (1 + rate) ** k for k, flow in enumerate(net)) for name, net in nets.items()}
    backs = {name: payback(net)[1] for name, net in nets.items()}
    known = [years for years in backs.values() if years is not None]
    found = {}
    for name, npv in npvs.items():
        years = backs[name]
        found[name] = {
            "npv": npv,
            "by_npv": 1 + sum(other > npv + NEAR["money"] for other in [*npvs.values(), 0.0]),
            "simple_payback": years,
            "by_payback": None if years is None else 1 + sum(other < years - NEAR["years"] for other in known),
        }
    found["stay as you are"] = {
        "npv": 0.0,
        "by_npv": 1 + sum(npv > NEAR["money"] for npv in npvs.values()),
        "simple_payback": None,
        "by_payback": None,
    }
    return found


def turned(places: dict[str, dict[str, Any]]) -> list[tuple[str, str]]:
    """Return every two alternatives of which the first is worth more and the second is back sooner."""
    found = []
    for richer, one in places.items():
        for quicker, other in places.items():
            sooner = other["by_payback"] is not None and other["by_payback"] < (one["by_payback"] or math.inf)
            if one["by_npv"] < other["by_npv"] and sooner and richer != "stay as you are":
                found.append((richer, quicker))
    return found


def ahead_from(one: list[float], other: list[float]) -> int | None:
    """Return the first year from which the running total of one stays above that of the other; None for never."""
    found = None
    for year, (mine, theirs) in enumerate(zip(accumulate(one), accumulate(other), strict=True)):
        if mine <= theirs:
            found = None
        elif found is None:
            found = year
    return found
