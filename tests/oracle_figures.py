"""The oracle's figures of merit: what a row of money by year comes to.

Rows begin with year 0; money to the household is positive.
"""

from __future__ import annotations

import math
from itertools import accumulate, pairwise
from typing import Any


def metrics(net: list[float], discounted: list[float], rate: float) -> dict[str, Any]:
    """Return the figures whose definition is common property; rates of return are checked with `worth`."""
    years = len(net) - 1
    npv = sum(discounted)
    simple, later = payback(net), payback(discounted)
    earned = sum(max(flow, 0.0) * (1 + rate) ** (years - k) for k, flow in enumerate(net))
    spent = -sum(min(flow, 0.0) / (1 + rate) ** k for k, flow in enumerate(net))
    return {
        "npv": npv,
        "annual_value": npv / sum((1 + rate) ** -k for k in range(1, years + 1)),
        "simple_payback": simple[0],
        "simple_payback_lasting": simple[1],
        "discounted_payback": later[0],
        "discounted_payback_lasting": later[1],
        "mirr": (earned / spent) ** (1 / years) - 1 if earned > 0 and spent > 0 else None,
        "sign_changes": sign_changes(net),
    }


def real_metrics(net: list[float], rate: float, inflation: float, airr: float | None) -> dict[str, Any]:
    """Return the figures that differ once every flow is told in the money of day one; ``rate`` is nominal.

    ``airr`` is the nominal one: what it earns in a year buys less by a year of inflation.
    """
    years = len(net) - 1
    flows = [flow / (1 + inflation) ** k for k, flow in enumerate(net)]
    above_inflation = (1 + rate) / (1 + inflation) - 1
    worth_each = [flow / (1 + above_inflation) ** k for k, flow in enumerate(flows)]
    found = metrics(flows, worth_each, above_inflation)
    return {
        "real_annual_value": sum(worth_each) / sum((1 + above_inflation) ** -k for k in range(1, years + 1)),
        "real_simple_payback": found["simple_payback"],
        "real_simple_payback_lasting": found["simple_payback_lasting"],
        "real_mirr": found["mirr"],
        "real_airr": None if airr is None else (1 + airr) / (1 + inflation) - 1,
    }


def ratios(
    lines: dict[str, list[float]], useful: list[float], rate: float, inflation: float
) -> dict[str, float | None]:
    """Return SIR, AIRR and levelised cost of the system alone: what a loan brings and takes is not among ``lines``.

    What is built or renewed, less what is given back, left over or not built elsewhere, is the investment; bills
    and upkeep are what is saved. The energy costs what its own system costs, whatever staying would have cost.
    ``useful`` kWh by year from 1.
    """
    years = len(useful)
    weights = [(1 + rate) ** -k for k in range(years + 1)]

    def worth_of(*names: str) -> float:
        return sum(weight * lines[name][k] for name in names if name in lines for k, weight in enumerate(weights))

    system = -worth_of(
        *("capital", "rebates", "awards", "replacements", "removal", "tools sold again", "left at the end"),
        "buy-out at the end of the term",
    )
    invested = system - worth_of("investment avoided")
    kept_up = -worth_of(
        *("upkeep", "insurance", "property tax", "yearly awards", "tax on awards"),
        *("lease payments", "payments per kWh"),
    )
    saved = worth_of(*(name for name in lines if name.startswith("saving, ")), "upkeep avoided") - kept_up
    sir = saved / invested if invested > 0 else None
    energy = sum(kwh * weight for kwh, weight in zip(useful, weights[1:], strict=True))
    # In the money of day one, the same price pays for a kWh of year k with k years of inflation on it.
    real_energy = sum(kwh * weights[k] * (1 + inflation) ** k for k, kwh in enumerate(useful, 1))
    return {
        "sir": sir,
        "airr": None if sir is None or sir < 0 else (1 + rate) * sir ** (1 / years) - 1,
        "lcoe": (system + kept_up) / energy if energy > 0 else None,
        "real_lcoe": (system + kept_up) / real_energy if real_energy > 0 else None,
    }


def payback(flows: list[float]) -> tuple[float | None, float | None]:
    """Return when the running total is first at zero or above, and when it climbs there for the last time."""
    rounding = 1e-12 * sum(abs(flow) for flow in flows)
    totals = [0.0 if abs(total) <= rounding else total for total in accumulate(flows)]
    if min(totals) >= 0:
        return 0.0, 0.0
    climbs = [
        k + before / (before - after) for k, (before, after) in enumerate(pairwise(totals)) if before < 0 <= after
    ]
    first = 0.0 if totals[0] >= 0 else next(iter(climbs), None)
    return first, climbs[-1] if climbs and totals[-1] >= 0 else None


def sign_changes(flows: list[float]) -> int:
    """Return how often the flows change sign, zeros (and rounding) left out."""
    largest = max(abs(flow) for flow in flows)
    signs = [flow > 0 for flow in flows if abs(flow) > 1e-12 * largest]
    return sum(a != b for a, b in pairwise(signs))


def worth(flows: list[float], rate: float) -> float:
    """Return what the flows are worth at a rate, as a share of all the money that moves."""
    weights = [(1 + rate) ** -k for k in range(len(flows))]
    moved = sum(abs(flow) * weight for flow, weight in zip(flows, weights, strict=True))
    return sum(flow * weight for flow, weight in zip(flows, weights, strict=True)) / moved if moved else 0.0


def crossing_rates(flows: list[float]) -> list[float]:
    """Return rates from -99.9999 % to +100,000,000 % where the worth changes sign, by bisection.

    With one change of sign in the flows there is one such rate and it is found; with more, two that lie close
    together may be missed.
    """
    ends = [math.log(1e-6) + k * (math.log(1e6) - math.log(1e-6)) / 1000 for k in range(1001)]
    found = []
    for low, high in pairwise(ends):
        left = worth(flows, math.expm1(low))
        if left == 0 or left * worth(flows, math.expm1(high)) >= 0:
            continue
        for _ in range(60):
            middle = (low + high) / 2
            if left * worth(flows, math.expm1(middle)) > 0:
                low = middle
            else:
                high = middle
        found.append(math.expm1(low))
    return found


def quoted_rate(flows: list[float], rates: list[float]) -> float | None:
    """Return the rate to quote: the smallest at or above zero, else the one nearest below; none for a borrower."""
    largest = max(abs(flow) for flow in flows)
    first = next((flow for flow in flows if abs(flow) > 1e-12 * largest), 0.0)
    if first >= 0 or not rates:
        return None
    return min((rate for rate in rates if rate >= 0), default=max(rates))
