"""The exact oracle's costs: what is built, what comes back every so often, and what is left or sold again."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import ceil
from typing import Any

from oracle_exact_numbers import NONE, Amounts, exact, index

from finsolar.scenario.schema import CostLine, Purchase, UpkeepLine

_SERVICES = ("labour", "permits", "interconnection", "finance")
_EQUIPMENT = ("inverter", "battery", "modules", "generator")


def left_at(line: CostLine | UpkeepLine, age: int) -> Fraction:
    """Return the share of a price that is left at an age."""
    if line.residual_by_age is None:
        return exact(line.residual)
    known = [(0, Fraction(1)), *((year, exact(share)) for year, share in sorted(line.residual_by_age.items()))]
    for (young, more), (old, less) in pairwise(known):
        if age <= old:
            return more - (more - less) * (age - young) / (old - young)
    return known[-1][1]


def built(lines: list[CostLine], purchase: Purchase, kw: Fraction, kwh: Fraction, years: int) -> list[dict[str, Any]]:
    """Return each cost line with what it is expected to come to, and what comes back of it in today's money."""
    found = []
    for line in lines:
        prices = (
            (line.cost, Fraction(1)),
            (line.each, Fraction(1) if line.quantity is None else exact(line.quantity)),
            (line.per_kw, kw),
            (line.per_kwh, kwh),
            (line.per_hour, NONE if line.hours is None else exact(line.hours)),
        )
        [(one, count)] = [(price, count) for price, count in prices if price is not None]
        price = exact(one) * count * exact(line.chance)
        shared = purchase.services_tax if line.category in _SERVICES else purchase.sales_tax
        tax = price * exact(shared if line.sales_tax is None else line.sales_tax)
        allowance = purchase.contingency_by.get(line.category, purchase.contingency)
        allowance = (price + tax) * exact(allowance if line.contingency is None else line.contingency)
        back = NONE if line.resold is None else price * exact(line.resold)
        found.append(
            {
                "price": price,
                "sales_tax": tax,
                "contingency": allowance,
                "total": price + tax + allowance,
                "left": price * left_at(line, years),
                "resold": (line.resold_in, back),
            }
        )
    return found


def due(line: UpkeepLine, years: int, worn_out: list[int]) -> list[int]:
    """Return the years at whose end a line falls due; nothing is renewed at the very end."""
    if line.category == "removal":
        return [years]
    last = years - 1 if line.category in (*_EQUIPMENT, "roof") else years
    if line.below is not None:
        named = list(worn_out)
    elif line.life is not None:
        named = [ceil(n * exact(line.life) - Fraction(1, 10**9)) for n in range(1, years + 1)]
    elif line.in_years is not None:
        named = line.in_years
    else:
        named = list(range(line.every if line.first is None else line.first, last + 1, line.every))
    return sorted({year for year in named if year <= last})


def _last_failure(life: Fraction, year: int) -> Fraction:
    """Return when in a year the latest unit fails, of units that follow one another."""
    return max(n * life for n in range(1, year + 1) if n * life <= year + Fraction(1, 10**9))


def kept_up(lines: list[UpkeepLine], inflation: Amounts, worn_out: list[int]) -> dict[str, Amounts]:
    """Return what comes back by year, and in the last year what is left of what was renewed."""
    years = len(inflation)
    names = ("upkeep", "insurance", "replacements", "removal", "left")
    found: dict[str, Amounts] = {name: [NONE] * (years + 1) for name in names}
    for line in lines:
        rises = inflation if line.rise is None else index(line.rise, years)
        row = "replacements" if line.category in (*_EQUIPMENT, "roof") else line.category
        row = "upkeep" if row == "other" else row
        bought = NONE
        dates = due(line, years, worn_out)
        for year in dates:
            # A unit that has a life fails within the year; the others at its end.
            fails = Fraction(year) if line.life is None else _last_failure(exact(line.life), year)
            covered = line.warranty_years is not None and fails - bought <= line.warranty_years
            bought = bought if covered else fails
            parts = NONE if covered else exact(line.cost) * rises[year - 1]
            found[row][year] += parts + exact(line.labour) * inflation[year - 1]
        if dates:
            found["left"][years] += exact(line.cost) * rises[-1] * left_at(line, years - dates[-1])
    return found


def resold(lines: list[dict[str, Any]], prices: Amounts) -> Amounts:
    """Return what comes in for tools by year from 0; nothing for those sold after the study."""
    found = [NONE] * (len(prices) + 1)
    for year, amount in (line["resold"] for line in lines):
        if year <= len(prices):
            found[year] += amount * prices[year - 1]
    return found
