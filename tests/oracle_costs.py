"""The oracle's costs: what is built and renewed, the tax credit on it, and the loan that pays for it."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import Any

from oracle_numbers import RENEWED, central, due, index

from finsolar.scenario.schema import Alternative, Borrowing, CostLine, Lease, PerKwh, Purchase, Scenario, UpkeepLine

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


def priced(line: CostLine, purchase: Purchase) -> dict[str, Any]:
    """Return the price of a cost line, the tax on it, and the allowance on both."""
    if line.cost is not None:
        price = central(line.cost)
    else:
        price = central(line.each) * (1.0 if line.quantity is None else central(line.quantity))
    if line.sales_tax is not None:
        tax = price * central(line.sales_tax)
    else:
        tax = price * central(purchase.services_tax if line.category in _SERVICES else purchase.sales_tax)
    allowance = central(purchase.contingency if line.contingency is None else line.contingency)
    return {
        "item": line.item,
        "category": line.category,
        "price": price,
        "sales_tax": tax,
        "contingency": (price + tax) * allowance,
        "total": (price + tax) * (1 + allowance),
    }


def upkeep(lines: list[UpkeepLine], scenario: Scenario, worn_out: Sequence[int] = ()) -> dict[str, Any]:
    """Return what comes back, by year from 0, and what the latest replacements are worth at the end.

    ``worn_out`` the years at whose end the battery holds less than a line asks.
    """
    years = scenario.study.years
    found: dict[str, Any] = {name: [0.0] * (years + 1) for name in ("upkeep", "insurance", "replacements")}
    found["left"] = 0.0
    for line in lines:
        rises = index(scenario.study.inflation if line.rise is None else line.rise, years)
        kind = "replacements" if line.category in RENEWED else line.category
        for year in due(line, years, worn_out):
            found["upkeep" if kind == "other" else kind][year] += central(line.cost) * rises[year - 1]
        if due(line, years, worn_out):
            found["left"] += central(line.cost) * central(line.residual) * rises[-1]
    return found


def stay_costs(scenario: Scenario) -> dict[str, list[float]]:
    """Return what staying as you are costs beyond the bill, by year from 0: equipment less what is left, and rest."""
    later = upkeep(scenario.stay.upkeep, scenario)
    equipment = list(later["replacements"])
    equipment[-1] -= later["left"]
    inflation = index(scenario.study.inflation, scenario.study.years)
    for line in scenario.stay.costs:
        built = priced(line, Purchase())
        equipment[0] += built["total"]
        equipment[-1] -= built["price"] * central(line.residual) * inflation[-1]
    rest = [one + other for one, other in zip(later["upkeep"], later["insurance"], strict=True)]
    return {"investment": equipment, "upkeep": rest}


def federal_credit(scenario: Scenario, plan: Alternative, lines: list[dict[str, Any]]) -> dict[str, Any]:
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
    leased = isinstance(plan.payment, Lease | PerKwh)
    told = household.owner_occupied and household.income_tax is not None
    if scenario.place.country != "US" or share == 0 or leased or not told:
        return {"amounts": amounts}
    large = plan.system.battery != "none" and plan.system.battery.kwh >= _SMALLEST_BATTERY
    basis = 0.0
    for line in lines:
        battery = line["category"] == "battery" and large and completed >= _BATTERIES_FROM
        if line["category"] in _CREDITED or battery:
            basis += line["price"] + line["sales_tax"]
    basis -= sum(central(rebate.amount) for rebate in plan.rebates if rebate.lowers_basis)
    basis = max(basis, 0.0)
    paid = sum(line["price"] + line["sales_tax"] for line in lines) - sum(
        central(rebate.amount) for rebate in plan.rebates
    )
    potential = left = min(share * basis, cap, max(paid, 0.0))  # never more than the household pays itself
    owed = household.income_tax
    taxes = owed if isinstance(owed, list) else [owed]
    for year in range(1, years + 1):
        amounts[year] = min(left, central(taxes[min(year, len(taxes)) - 1]))
        left -= amounts[year]
    return {"amounts": amounts, "basis": basis, "potential": potential}


def new_york(scenario: Scenario, plan: Alternative, lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return what the state spares of the property tax, if the town did not opt out, and the state's own credit.

    Source: New York Real Property Tax Law 487 (from memory): the added value is exempt for 15 years. Tax Law 606(g-1):
    25 % of the cost after rebates and grants, at most 5,000 (since September 2006), carried on for 5 years.
    """
    years, household = scenario.study.years, scenario.household
    exempt, credit = [0.0] * (years + 1), [0.0] * (years + 1)
    bought = not isinstance(plan.payment, Lease | PerKwh)
    tax = property_tax(scenario, plan, sum(line["total"] for line in lines))
    claim = scenario.claims.get("us/ny/real-property-exemption")
    if claim is not None and claim.confirmed:
        exempt = [paid if year <= 15 else 0.0 for year, paid in enumerate(tax)]
    basis = sum(line["price"] + line["sales_tax"] for line in lines if line["category"] in _CREDITED)
    basis = max(basis - sum(central(rebate.amount) for rebate in plan.rebates), 0.0)
    left = min(0.25 * basis, 5000.0)
    owed = household.state_income_tax
    if household.main_home and plan.system.operation != "off grid" and owed is not None and bought:
        taxes = owed if isinstance(owed, list) else [owed]
        for year in range(1, min(years, 6) + 1):
            credit[year] = min(left, central(taxes[min(year, len(taxes)) - 1]))
            left -= credit[year]
    return [{"amounts": exempt}, {"amounts": credit}]


def property_tax(scenario: Scenario, plan: Alternative, gross: float) -> list[float]:
    """Return the property tax on the added value by year from 0: level, and none on a system of others."""
    years, tax = scenario.study.years, scenario.household.property_tax
    if tax is None or isinstance(plan.payment, Lease | PerKwh):
        return [0.0] * (years + 1)
    return [0.0] + [central(tax.rate) * central(tax.added_value) * gross] * years


def paid_to_the_owner(way: Lease | PerKwh, made: Sequence[float]) -> dict[str, Any]:
    """Return what a system that others own costs by year from 1, the day of its buy-out, and the years it is there.

    ``made`` the kWh of each year. What is bought out at the very end, or later, is not bought within the study.
    """
    terms = way.lease if isinstance(way, Lease) else way.per_kwh
    rises = index(terms.rise, len(made))
    found: dict[str, Any] = {"payments": [], "there": [], "buyout_year": None, "buyout": 0.0}
    for year, kwh in enumerate(made, start=1):
        sold = 12 * central(terms.monthly) if isinstance(way, Lease) else central(terms.price) * kwh
        found["payments"].append(sold * rises[year - 1] if year <= terms.years else 0.0)
        found["there"].append(year <= terms.years or terms.buyout is not None)
    if terms.buyout is not None and terms.years < len(made):
        found["buyout_year"], found["buyout"] = terms.years, central(terms.buyout)
    return found


def loan(plan: Alternative, gross: float) -> tuple[dict[str, Any], list[float]]:
    """Return what the loan comes to and what is paid in each of its years; nothing must be owed after."""
    assert isinstance(plan.payment, Borrowing)
    terms = plan.payment.loan
    months, monthly = terms.years * 12, central(terms.rate) / 12
    principal = gross * central(terms.share)
    payment = principal / sum((1 + monthly) ** -k for k in range(1, months + 1))
    balance, interest = principal, 0.0
    for _ in range(months):
        interest += balance * monthly
        balance += balance * monthly - payment
    assert abs(balance) <= 1e-7 * max(principal, 1.0)
    found: dict[str, Any] = {
        "principal": principal,
        "fee": principal * central(terms.fee),
        "monthly_payment": payment,
        "total_interest": interest,
    }
    return found, [payment * 12] * terms.years
