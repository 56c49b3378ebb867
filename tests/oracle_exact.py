"""The money path a third time, in exact fractions: what a scenario says, and what other rooms say of the same house.

Nothing is rounded: 4.99 % is 499/10000. Bills, kWh, a worn battery and awards are given, for each has an oracle of its
own; everything else follows from the scenario by plain loops. Rows of money by year begin with year 0; money to the
household is positive.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise
from typing import Any

from oracle_exact_costs import built, kept_up, resold
from oracle_exact_energy import backup_price, energy_prices, of_the_battery, share_of_the_battery
from oracle_exact_loan import borrowed
from oracle_exact_numbers import NONE, Amounts, exact, index, rate_of, total

from finsolar.scenario.schema import Alternative, Borrowing, Lease, PerKwh, Purchase, Scenario


@dataclass(frozen=True)
class Given:
    """What other rooms say: bills by component and kWh by year from 1, awards by year from 0, and ``spared`` tax."""

    before: dict[str, list[float]]
    after: dict[str, list[float]]
    useful: list[float]
    made: list[float]
    sun: list[float]
    worn_out: list[int]
    awards: list[float]
    yearly_awards: list[float]
    award_tax: list[float]
    spared: float
    spread: list[tuple[list[float], float | None]]
    """Each award less its tax by year from 0, and what share fell on the battery; none for its share of all."""


def payback(flows: Amounts) -> tuple[Fraction | None, Fraction | None]:
    """Return when the running total is first at zero or above, and when it last climbs there."""
    totals = list(accumulate(flows))
    climbs = [NONE] if totals[0] >= 0 else []
    climbs += [
        k + before / (before - after) for k, (before, after) in enumerate(pairwise(totals)) if before < 0 <= after
    ]
    return (climbs[0] if climbs else None), (climbs[-1] if totals[-1] >= 0 else None)


def worked_out(scenario: Scenario, plan: Alternative, given: Given) -> dict[str, Any]:
    """Return the costs, the loan, the cash flow and the figures of merit of one alternative."""
    years, rate = scenario.study.years, rate_of(scenario)
    prices, inflation = index(scenario.study.inflation, years), exact(scenario.study.inflation)
    system = plan.system
    kw = total(exact(array.kw) for array in system.arrays)
    kwh = NONE if system.battery == "none" else exact(system.battery.kwh)
    costs = built(plan.costs, plan.purchase, kw, kwh, years)
    gross, spared = total(line["total"] for line in costs), Fraction(given.spared)
    lines, useful = _lines(scenario, plan, given, costs, gross, prices)
    before_loan = _sum(lines.values(), years)
    invested, running = _system(lines, years)
    loan = None
    if isinstance(plan.payment, Borrowing):
        loan = borrowed(scenario, plan.payment, gross - spared, given.awards)
        lines |= {name: row for name, row in loan["lines"].items() if name in _ALWAYS or any(row)}
    net = _sum(lines.values(), years)
    at, real = [(1 + rate) ** -k for k in range(years + 1)], (1 + rate) / (1 + inflation) - 1

    def worth(row: Amounts) -> Fraction:
        return total(flow * weight for flow, weight in zip(row, at, strict=True))

    discounted = [flow * weight for flow, weight in zip(net, at, strict=True)]
    today = [flow / (1 + inflation) ** k for k, flow in enumerate(net)]
    npv, outlay = worth(net), worth(invested)
    cost = _sum((invested, running, lines["investment avoided"]), years)
    stays = len(useful)
    share = share_of_the_battery(plan, costs)
    fell = [NONE] * (years + 1)
    for amounts, part in given.spread:
        fell = [
            one + Fraction(other) * (share if part is None else Fraction(part))
            for one, other in zip(fell, amounts, strict=True)
        ]
    no_tax = [NONE] * (years + 1)
    batterys = of_the_battery(
        plan,
        costs,
        prices,
        kept_up([line for line in plan.upkeep if line.category == "battery"], prices, given.worn_out),
        fell,
        [-flow for flow in lines.get("property tax", no_tax)],
        stays,
    )
    rest = [NONE] * (years - stays)
    sun = [Fraction(kwh) for kwh in given.sun[:stays]] + rest
    backup = [NONE if scenario.household.backup_kwh is None else exact(scenario.household.backup_kwh)] * stays + rest
    saved = worth(before_loan) + outlay
    simple, later, in_real = payback(net), payback(discounted), payback(today)
    earned = total(max(flow, NONE) * (1 + rate) ** (years - k) for k, flow in enumerate(net))
    spent = total(max(-flow, NONE) * at[k] for k, flow in enumerate(net))
    sir = saved / outlay if outlay > 0 else None
    return {
        "costs": {"lines": costs, "gross": gross},
        "cash_flow": {
            "lines": lines,
            "net": net,
            "before_loan": before_loan,
            "running_total": list(accumulate(net)),
            "discounted": discounted,
            "discounted_running_total": list(accumulate(discounted)),
        },
        "loan": None if loan is None else loan["terms"],
        "metrics": {
            "npv": npv,
            "annual_value": npv / sum(at[1:]),
            "real_annual_value": npv / sum((1 + real) ** -k for k in range(1, years + 1)),
            "simple_payback": simple[0],
            "simple_payback_lasting": simple[1],
            "discounted_payback": later[0],
            "discounted_payback_lasting": later[1],
            "real_simple_payback": in_real[0],
            "real_simple_payback_lasting": in_real[1],
            "sir": sir,
            **energy_prices(cost, useful + rest, batterys, sun, at, inflation),
            "backup_cost": backup_price(npv, backup, prices, at),
        },
        # The rates of which only a power is a fraction.
        "powers": {
            "mirr": earned / spent if earned > 0 and spent > 0 else None,
            "airr": None if sir is None or sir < 0 else sir * (1 + rate) ** years,
        },
        "outlays": {"mirr": spent, "airr": outlay, "sir": outlay},
        "moved": total(abs(flow) for row in lines.values() for flow in row),
    }


_ALWAYS = ("loan received", "loan fee", "loan payments")


def _sum(rows: Any, years: int) -> Amounts:
    chosen = list(rows)
    return [total(row[k] for row in chosen) for k in range(years + 1)]


def _lines(
    scenario: Scenario, plan: Alternative, given: Given, costs: list[dict[str, Any]], gross: Fraction, prices: Amounts
) -> tuple[dict[str, Amounts], Amounts]:
    """Return the lines of the cash flow before any loan, and the kWh put to use in the years with the system."""
    years, none = len(prices), [NONE] * (len(prices) + 1)
    later, staying = kept_up(plan.upkeep, prices, given.worn_out), kept_up(scenario.stay.upkeep, prices, [])
    at_home = built(scenario.stay.costs, Purchase(), NONE, NONE, years)
    tools, old_tools = resold(costs, prices), resold(at_home, prices)
    instead = [
        staying["replacements"][k] + staying["removal"][k] - staying["left"][k] - old_tools[k] for k in range(years + 1)
    ]
    instead[0] += total(line["total"] for line in at_home)
    instead[-1] -= total(line["left"] for line in at_home) * prices[-1]
    left = later["left"][-1] + total(line["left"] for line in costs) * prices[-1]
    owners = isinstance(plan.payment, Lease | PerKwh)
    tax = scenario.household.property_tax
    taxed = NONE
    if tax is not None and not owners:
        taxed = exact(tax.rate) * exact(tax.added_value) * (gross - Fraction(given.spared))
    sometimes = {
        "yearly awards": [Fraction(amount) for amount in given.yearly_awards],
        "tax on awards": [Fraction(amount) for amount in given.award_tax],
        "property tax": [NONE] + [-taxed] * years,
        "tools sold again": tools,
        "removal": [-amount for amount in later["removal"]],
    }
    lines: dict[str, Amounts] = {
        "capital": [-gross, *none[1:]],
        "rebates": [total(exact(rebate.amount) for rebate in plan.rebates), *none[1:]],
        "awards": [Fraction(amount) for amount in given.awards],
        "upkeep avoided": _sum((staying["upkeep"], staying["insurance"]), years),
        "upkeep": [-amount for amount in later["upkeep"]],
        "insurance": [-amount for amount in later["insurance"]],
        "replacements": [-amount for amount in later["replacements"]],
        "investment avoided": instead,
        "left at the end": [*none[:-1], left],
        **{name: row for name, row in sometimes.items() if any(row)},
    }
    for name in given.before | given.after:
        before, after = given.before.get(name, [0.0] * years), given.after.get(name, [0.0] * years)
        lines["saving, " + name] = [NONE] + [Fraction(b) - Fraction(a) for b, a in zip(before, after, strict=True)]
    useful = [Fraction(kwh) for kwh in given.useful]
    if not isinstance(plan.payment, Lease | PerKwh):
        return lines, useful
    terms = plan.payment.lease if isinstance(plan.payment, Lease) else plan.payment.per_kwh
    stays = years if terms.buyout is not None else min(terms.years, years)
    own_left = left - later["left"][-1]
    lines = {name: row[: stays + 1] + [NONE] * (years - stays) for name, row in lines.items()}
    if any(tools):
        lines["tools sold again"] = tools  # what the household bought itself stays its own
    if stays < years:
        lines["left at the end"] = [*none[:-1], own_left]
    rises = index(terms.rise, years)
    sold = [
        12 * exact(terms.monthly) if isinstance(plan.payment, Lease) else exact(terms.price) * Fraction(kwh)
        for kwh in given.made
    ]
    name = "lease payments" if isinstance(plan.payment, Lease) else "payments per kWh"
    lines[name] = [NONE] + [-sold[k] * rises[k] if k < terms.years else NONE for k in range(years)]
    if terms.buyout is not None and terms.years < years:
        lines["buy-out at the end of the term"] = [
            -exact(terms.buyout) if year == terms.years else NONE for year in range(years + 1)
        ]
    return lines, useful[:stays]


_INVESTMENT = ("capital", "rebates", "awards", "replacements", "investment avoided", "left at the end",
               "tools sold again", "removal", "buy-out at the end of the term")  # fmt: skip
_RUNNING = ("upkeep", "insurance", "yearly awards", "tax on awards", "property tax", "lease payments",
            "payments per kWh")  # fmt: skip


def _system(lines: dict[str, Amounts], years: int) -> tuple[Amounts, Amounts]:
    """Return what the system takes to build and renew, and what it takes to run, as positive costs by year."""
    return (
        [-flow for flow in _sum((lines[name] for name in _INVESTMENT if name in lines), years)],
        [-flow for flow in _sum((lines[name] for name in _RUNNING if name in lines), years)],
    )
