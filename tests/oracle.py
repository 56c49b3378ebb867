"""A second way to every answer: plain Python on floats and lists.

It is written from the conventions of the scenario file, not from the engine, so that a fault has to be made
twice to stay hidden. From finsolar it takes what has published checks of its own: a scenario once read, the
direct-current output of one kW of modules, the hourly load of the first year and the wall clock. Years count
from 1; rows of money by year begin with year 0; money to the household is positive.

`oracle_house` holds the hours and the bills; here are costs, the tax credit, the loan, the cash flow and the
figures of merit.
"""

from __future__ import annotations

import datetime as dt
import math
from itertools import accumulate, pairwise
from typing import Any

from oracle_house import RENEWED, House, central, due, index, run_house

from finsolar.scenario.schema import Alternative, CostLine, Purchase, Scenario, UpkeepLine

_SERVICES = ("labour", "permits", "interconnection", "finance")

# The US federal credit of section 25D by the day the installation is completed: first day, share, cap.
# Source: IRC 25D(g) and (h) as amended, Form 5695 (2025); the cap and the share of 2006: from memory.
_FEDERAL = (
    (dt.date(2006, 1, 1), 0.30, 2000.0),
    (dt.date(2009, 1, 1), 0.30, math.inf),
    (dt.date(2020, 1, 1), 0.26, math.inf),
    (dt.date(2022, 1, 1), 0.30, math.inf),
    (dt.date(2026, 1, 1), 0.0, math.inf),
)
_CREDITED = ("modules", "inverter", "racking", "wiring", "labour", "permits", "interconnection", "shipping")
_BATTERIES_FROM = dt.date(2023, 1, 1)  # IRC 25D(a)(6)
_SMALLEST_BATTERY = 3.0  # kWh, IRC 25D(d)(6)


def expected(scenario: Scenario) -> dict[str, Any]:
    """Return what ``Study.to_json`` should hold, for the keys this oracle knows."""
    stay = run_house(scenario, None)
    plans = [_alternative(scenario, plan, stay) for plan in scenario.alternatives]
    return {
        "settings": {"discount_rate": discount_rate(scenario)},
        "stay": {"energy": stay.energy, "bill": stay.shown_bill(), "other_costs": _stay_costs(scenario)},
        "alternatives": plans,
        "comparison": {"own_labour": _own_labour(scenario, plans)},
    }


def discount_rate(scenario: Scenario) -> float:
    """Return the nominal rate; a real one is raised by inflation."""
    settings = scenario.study
    if settings.discount_rate is not None:
        return central(settings.discount_rate)
    return (1 + central(settings.real_discount_rate)) * (1 + central(settings.inflation)) - 1


def _alternative(scenario: Scenario, plan: Alternative, stay: House) -> dict[str, Any]:
    """Return everything about one alternative against staying as you are."""
    years = scenario.study.years
    rate = discount_rate(scenario)
    inflation = index(scenario.study.inflation, years)
    house = run_house(scenario, plan)
    priced = [_priced(line, plan.purchase) for line in plan.costs]
    gross = sum(line["total"] for line in priced)
    rebates = sum(central(rebate.amount) for rebate in plan.rebates)
    credit = _federal_credit(scenario, plan, priced)
    upkeep = _upkeep(plan.upkeep, scenario)
    left = upkeep["left"]
    for line, price in zip(plan.costs, priced, strict=True):
        left += price["price"] * central(line.residual) * inflation[-1]

    empty = [0.0] * (years + 1)
    staying = _stay_costs(scenario)
    lines = {
        "capital": [-gross, *empty[1:]],
        "rebates": [rebates, *empty[1:]],
        "awards": credit["amounts"],
        "upkeep avoided": staying["upkeep"],
        "investment avoided": staying["investment"],
        "upkeep": [-cost for cost in upkeep["upkeep"]],
        "insurance": [-cost for cost in upkeep["insurance"]],
        "replacements": [-cost for cost in upkeep["replacements"]],
        "left at the end": [*empty[:-1], left],
    }
    for component in stay.bill | house.bill:
        lines["saving, " + component] = [0.0] + [
            stay.cost(component, year) - house.cost(component, year) for year in range(years)
        ]
    before_loan = [sum(line[k] for line in lines.values()) for k in range(years + 1)]
    figures = _ratios(lines, house.energy["useful"], rate, central(scenario.study.inflation))
    loan = None
    if plan.payment != "cash":
        loan, payments = _loan(plan, gross)
        lines["loan received"] = [loan["principal"], *empty[1:]]
        lines["loan fee"] = [-loan["fee"], *empty[1:]]
        lines["loan payments"] = [0.0, *(-paid for paid in payments), *empty][: years + 1]
    net = [sum(line[k] for line in lines.values()) for k in range(years + 1)]
    discounted = [flow / (1 + rate) ** k for k, flow in enumerate(net)]
    return {
        "name": plan.name,
        "costs": {
            "lines": priced,
            "gross": gross,
            "rebates": rebates,
            "awards": sum(credit["amounts"]),
            "net": gross - rebates - sum(credit["amounts"]),
        },
        "incentives": [credit] if scenario.place.country == "US" else [],
        "energy": house.energy | {"battery_capacity": house.capacity},
        "bills": {
            "before": stay.shown_bill(),
            "after": house.shown_bill(),
            "first_year_saving": sum(lines[name][1] for name in lines if name.startswith("saving, ")),
        },
        "cash_flow": {
            "year": list(range(years + 1)),
            "lines": lines,
            "net": net,
            "before_loan": before_loan,
            "running_total": list(accumulate(net)),
            "discounted": discounted,
            "discounted_running_total": list(accumulate(discounted)),
        },
        "loan": loan,
        "metrics": _metrics(net, discounted, rate) | figures,
    }


def pair(dearer: list[float], cheaper: list[float], rate: float) -> dict[str, float | None]:
    """Return what choosing the dearer of two nets adds; its rates of return are checked with `worth`."""
    extra = [one - other for one, other in zip(dearer, cheaper, strict=True)]
    discounted = [flow / (1 + rate) ** k for k, flow in enumerate(extra)]
    return {
        "extra_outlay": -extra[0],
        "extra_npv": sum(discounted),
        "simple_payback": payback(extra)[1],
        "discounted_payback": payback(discounted)[1],
    }


def _own_labour(scenario: Scenario, plans: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return what own hours earned against the cheapest of the plans that others carry out and that else agree."""

    def agree(one: Alternative, other: Alternative) -> bool:
        days = [
            (
                plan.in_service or scenario.study.in_service,
                plan.installation_completed or plan.in_service or scenario.study.completed,
            )
            for plan in (one, other)
        ]
        same = ("system", "tariff", "generator", "payment")
        return days[0] == days[1] and all(getattr(one, name) == getattr(other, name) for name in same)

    found = []
    for mine, own in zip(scenario.alternatives, plans, strict=True):
        hours = central(mine.own_hours)
        others = [
            plan
            for other, plan in zip(scenario.alternatives, plans, strict=True)
            if central(other.own_hours) == 0 and agree(mine, other)
        ]
        if hours == 0 or not others:
            continue
        cheapest = min(others, key=lambda plan: plan["costs"]["net"])
        saved = cheapest["costs"]["net"] - own["costs"]["net"]
        gained = own["metrics"]["npv"] - cheapest["metrics"]["npv"]
        found.append(
            {
                "name": mine.name,
                "against": cheapest["name"],
                "hours": hours,
                "saved": saved,
                "per_hour": saved / hours,
                "npv_per_hour": gained / hours,
            }
        )
    return found


def _priced(line: CostLine, purchase: Purchase) -> dict[str, Any]:
    """Return the price of a cost line, the tax on it, and the allowance on both."""
    if line.cost is not None:
        price = central(line.cost)
    else:
        price = central(line.each) * (1.0 if line.quantity is None else central(line.quantity))
    if line.sales_tax is not None:
        tax = price * central(line.sales_tax)
    else:
        tax = 0.0 if line.category in _SERVICES else price * central(purchase.sales_tax)
    allowance = central(purchase.contingency if line.contingency is None else line.contingency)
    return {
        "item": line.item,
        "category": line.category,
        "price": price,
        "sales_tax": tax,
        "contingency": (price + tax) * allowance,
        "total": (price + tax) * (1 + allowance),
    }


def _upkeep(lines: list[UpkeepLine], scenario: Scenario) -> dict[str, Any]:
    """Return what comes back, by year from 0, and what the latest replacements are worth at the end."""
    years = scenario.study.years
    found: dict[str, Any] = {name: [0.0] * (years + 1) for name in ("upkeep", "insurance", "replacements")}
    found["left"] = 0.0
    for line in lines:
        rises = index(scenario.study.inflation if line.rise is None else line.rise, years)
        kind = "replacements" if line.category in RENEWED else line.category
        for year in due(line, years):
            found["upkeep" if kind == "other" else kind][year] += central(line.cost) * rises[year - 1]
        if due(line, years):
            found["left"] += central(line.cost) * central(line.residual) * rises[-1]
    return found


def _stay_costs(scenario: Scenario) -> dict[str, list[float]]:
    """Return what staying as you are costs beyond the bill, by year from 0: equipment less what is left, and rest."""
    upkeep = _upkeep(scenario.stay.upkeep, scenario)
    equipment = list(upkeep["replacements"])
    equipment[-1] -= upkeep["left"]
    inflation = index(scenario.study.inflation, scenario.study.years)
    for line in scenario.stay.costs:
        priced = _priced(line, Purchase())
        equipment[0] += priced["total"]
        equipment[-1] -= priced["price"] * central(line.residual) * inflation[-1]
    rest = [one + other for one, other in zip(upkeep["upkeep"], upkeep["insurance"], strict=True)]
    return {"investment": equipment, "upkeep": rest}


def _federal_credit(scenario: Scenario, plan: Alternative, priced: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the credit: its basis, what it could be, and what the tax of each year takes of it."""
    years = scenario.study.years
    completed = (
        plan.installation_completed
        or plan.in_service
        or scenario.study.installation_completed
        or scenario.study.in_service
    )
    share, cap = 0.0, math.inf
    for first, new_share, new_cap in _FEDERAL:
        if completed >= first:
            share, cap = new_share, new_cap
    amounts = [0.0] * (years + 1)
    household = scenario.household
    if scenario.place.country != "US" or share == 0 or not household.owner_occupied or household.income_tax is None:
        return {"amounts": amounts}
    large = plan.system.battery != "none" and plan.system.battery.kwh >= _SMALLEST_BATTERY
    basis = 0.0
    for line in priced:
        battery = line["category"] == "battery" and large and completed >= _BATTERIES_FROM
        if line["category"] in _CREDITED or battery:
            basis += line["price"] + line["sales_tax"]
    basis -= sum(central(rebate.amount) for rebate in plan.rebates if rebate.lowers_basis)
    basis = max(basis, 0.0)
    potential = left = min(share * basis, cap)
    taxes = household.income_tax if isinstance(household.income_tax, list) else [household.income_tax]
    for year in range(1, years + 1):
        amounts[year] = min(left, central(taxes[min(year, len(taxes)) - 1]))
        left -= amounts[year]
    return {"amounts": amounts, "basis": basis, "potential": potential}


def _loan(plan: Alternative, gross: float) -> tuple[dict[str, float], list[float]]:
    """Return what the loan comes to and what is paid in each of its years; nothing must be owed after."""
    assert plan.payment != "cash"
    loan = plan.payment.loan
    months, monthly = loan.years * 12, central(loan.rate) / 12
    principal = gross * central(loan.share)
    payment = principal / sum((1 + monthly) ** -k for k in range(1, months + 1))
    balance, interest = principal, 0.0
    for _ in range(months):
        interest += balance * monthly
        balance += balance * monthly - payment
    assert abs(balance) <= 1e-7 * max(principal, 1.0)
    terms = {
        "principal": principal,
        "fee": principal * central(loan.fee),
        "monthly_payment": payment,
        "total_interest": interest,
    }
    return terms, [payment * 12] * loan.years


def _metrics(net: list[float], discounted: list[float], rate: float) -> dict[str, Any]:
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


def _ratios(
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
        return sum(weight * lines[name][k] for name in names for k, weight in enumerate(weights))

    system = -worth_of("capital", "rebates", "awards", "replacements", "left at the end")
    invested = system - worth_of("investment avoided")
    kept_up = -worth_of("upkeep", "insurance")
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
