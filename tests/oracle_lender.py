"""The oracle's view of a loan by the one who lends: year by year and month by month, in plain loops.

Money to the household is positive; rows by year begin with year 0, in which nothing is due.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from oracle_costs import priced, upkeep
from oracle_numbers import RENEWED, due, index, left_share

from finsolar.scenario.schema import Alternative, Purchase, Scenario


def lender_view(
    scenario: Scenario,
    plan: Alternative,
    lines: dict[str, list[float]],
    saving: Iterable[float],
    schedule: dict[str, list[float]],
    payments: list[float],
    added: list[float],
    worn_out: Iterable[int],
    warranty: float | None,
) -> dict[str, Any]:
    """Return what `Study.to_json` should say of a loan beside its terms.

    ``lines`` without those of the loan; ``saving`` on the bills of the first twelve months, ``schedule`` of the loan by
    month, ``payments`` of each year of it, what the household ``added`` to them; ``warranty`` in years. The worth of
    what is left over, here or had the household stayed, is no cash.
    """
    each = schedule["payment"]
    years = scenario.study.years
    available, paid = [0.0], [0.0]
    for year in range(1, years + 1):
        cash = sum(row[year] for name, row in lines.items() if name != "left at the end")
        if year == years:
            cash += _left_by_staying(scenario)
        available.append(cash)
        paid.append(payments[year - 1] if year <= len(payments) else 0.0)
    ratios, left = [], []
    for cash, owed in zip(available, paid, strict=True):
        ratios.append(cash / owed if owed else None)
        if owed:
            left.append(cash - owed)
    names = ("awards", "yearly awards", "tax on awards", "kept for the loan")
    granted = [sum(lines[name][year] for name in names if name in lines) for year in range(years + 1)]
    earned = [(cash - given) / owed for cash, given, owed in zip(available, granted, paid, strict=True) if owed]
    there = [ratio for ratio in ratios if ratio is not None]
    lack = {year: paid[year] - added[year] - available[year] for year in range(1, years + 1)}
    moved = sum(map(abs, lack.values()))
    lack = {year: missing for year, missing in lack.items() if missing > 1e-12 * moved}

    saved, purse, lowest, months_short = list(saving), 0.0, 0.0, 0
    for month, payment in zip(saved, each, strict=False):
        purse += month - payment
        lowest = min(lowest, purse)
        months_short += month < payment
    named = [year for line in plan.upkeep if line.category in RENEWED for year in due(line, years, list(worn_out))]
    owed_after = [index for index, owed in enumerate(schedule["balance"], start=1) if owed > 1e-7]
    months = max(owed_after, default=0) + 1 if schedule["balance"] else 0
    return {
        "available": available,
        "payments": paid,
        "coverage": {
            "by_year": ratios,
            "minimum": min(there, default=None),
            "average": sum(there) / len(there) if there else None,
            "average_without_awards": sum(earned) / len(earned) if earned else None,
            "years_short": sum(ratio < 1 - 1e-12 for ratio in there),
            "least_left": min(left, default=None),
            "left_over_term": sum(left) if left else None,
        },
        "first_year": {
            "saving": saved,
            "payment": each[:12],
            "left": [month - payment for month, payment in zip(saved, each, strict=False)],
            "months_short": months_short,
            "bridge": -lowest,
        },
        "out_of_pocket": {
            "in_years": list(lack),
            "years": len(lack),
            "first": min(lack, default=None),
            "last": max(lack, default=None),
            "total": sum(lack.values()),
            "most": max(lack.values(), default=0.0),
        },
        "outlasting": {
            "after_replacement": sum(month > 12 * min(named) for month in range(1, months + 1)) if named else None,
            "after_warranty": None if warranty is None else _months_after(warranty, months),
        },
    }


def kept_for_the_loan(awards: list[float], paid_in: list[float]) -> tuple[list[float], list[float]]:
    """Return, as money out by year, the awards that are kept for the loan, and what the household adds to them."""
    missing, found, own = sum(paid_in), [0.0] * len(paid_in), [0.0] * len(paid_in)
    if missing <= 0:
        return found, own
    last = next(year for year, amount in enumerate(paid_in) if amount > 0)
    for year in range(last + 1):
        kept = min(missing, max(awards[year], 0.0))
        found[year] -= kept
        missing -= kept
    own[last] -= missing
    return found, own


def _left_by_staying(scenario: Scenario) -> float:
    """Return what would be left at the end of what staying builds and renews, which is no cash either."""
    rises = index(scenario.study.inflation, scenario.study.years)
    left: float = upkeep(scenario.stay.upkeep, scenario)["left"]
    return left + sum(
        priced(line, Purchase())["price"] * left_share(line, scenario.study.years) * rises[-1]
        for line in scenario.stay.costs
    )


def _months_after(years: float, months: int) -> int:
    """Return how many of the payments at each month's end come after a span of years, rounding left aside."""
    return sum(month > 12 * years and not math.isclose(month, 12 * years) for month in range(1, months + 1))
