"""The oracle's costs: what is built and renewed, the tax credit on it, and the loan that pays for it."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from oracle_borrowing import Life, life
from oracle_numbers import INVESTED, central, covered, due, index, left_share

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


def priced(line: CostLine, purchase: Purchase, kw: float = 0.0, kwh: float = 0.0) -> dict[str, Any]:
    """Return the price of a cost line that is to be expected, the tax on it, and the allowance on both.

    ``kw`` of modules and ``kwh`` of battery, by which some prices go.
    """
    if line.cost is not None:
        full = central(line.cost)
    elif line.each is not None:
        full = central(line.each) * (1.0 if line.quantity is None else central(line.quantity))
    elif line.per_kw is not None:
        full = central(line.per_kw) * kw
    elif line.per_kwh is not None:
        full = central(line.per_kwh) * kwh
    else:
        full = central(line.per_hour) * central(line.hours)
    price = full * central(line.chance)
    if line.sales_tax is not None:
        tax = price * central(line.sales_tax)
    else:
        tax = price * central(purchase.services_tax if line.category in _SERVICES else purchase.sales_tax)
    if line.contingency is not None:
        allowance = central(line.contingency)
    elif line.category in purchase.contingency_by:
        allowance = central(purchase.contingency_by[line.category])
    else:
        allowance = central(purchase.contingency)
    return {
        "item": line.item,
        "category": line.category,
        "chance": central(line.chance),
        "full_price": full,
        "price": price,
        "sales_tax": tax,
        "contingency": (price + tax) * allowance,
        "total": (price + tax) * (1 + allowance),
    }


def sold_again(lines: list[CostLine], prices: list[dict[str, Any]], scenario: Scenario) -> list[float]:
    """Return what comes back for things that are sold again, by year from 0."""
    found = [0.0] * (scenario.study.years + 1)
    rises = index(scenario.study.inflation, scenario.study.years)
    for line, price in zip(lines, prices, strict=True):
        if line.resold is not None and line.resold_in < len(found):
            found[line.resold_in] += price["price"] * central(line.resold) * rises[line.resold_in - 1]
    return found


def upkeep(lines: list[UpkeepLine], scenario: Scenario, worn_out: Sequence[int] = ()) -> dict[str, Any]:
    """Return what comes back, by year from 0, and what the latest replacements are worth at the end.

    ``worn_out`` the years at whose end the battery holds less than a line asks.
    """
    years = scenario.study.years
    kinds = ("upkeep", "insurance", "replacements", "removal")
    found: dict[str, Any] = {name: [0.0] * (years + 1) for name in kinds}
    found["left"] = 0.0
    work = index(scenario.study.inflation, years)
    for line in lines:
        rises = index(scenario.study.inflation if line.rise is None else line.rise, years)
        kind = "replacements" if line.category in INVESTED else line.category
        free = covered(line, years, worn_out)
        renewed = 0
        for renewed in due(line, years, worn_out):
            sum_of_kind = found["upkeep" if kind == "other" else kind]
            sum_of_kind[renewed] += central(line.labour) * work[renewed - 1]
            if renewed not in free:
                sum_of_kind[renewed] += central(line.cost) * rises[renewed - 1]
        if renewed:
            found["left"] += central(line.cost) * left_share(line, years - renewed) * rises[-1]
    return found


def stay_costs(scenario: Scenario) -> dict[str, list[float]]:
    """Return what staying as you are costs beyond the bill, by year from 0: equipment less what is left, and rest."""
    years = scenario.study.years
    later = upkeep(scenario.stay.upkeep, scenario)
    prices = [priced(line, Purchase()) for line in scenario.stay.costs]
    back = sold_again(scenario.stay.costs, prices, scenario)
    equipment = [later["replacements"][k] + later["removal"][k] - back[k] for k in range(years + 1)]
    equipment[-1] -= later["left"]
    inflation = index(scenario.study.inflation, years)
    for line, price in zip(scenario.stay.costs, prices, strict=True):
        equipment[0] += price["total"]
        equipment[-1] -= price["price"] * left_share(line, years) * inflation[-1]
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


def south_carolina(scenario: Scenario, plan: Alternative, lines: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the state's credit by year, and the federal tax it brings to those who deduct their state's.

    Source: S.C. Code 12-6-3587: 25 %, a year at most 3,500 and half of the tax; what that cuts is carried on for 10
    years (the latter as practice reads it). Storage is left out, our own caution.
    """
    years, household, amounts = scenario.study.years, scenario.household, [0.0] * (scenario.study.years + 1)
    owed, bought = household.state_income_tax, not isinstance(plan.payment, Lease | PerKwh)
    if bought and owed is not None:
        basis = sum(line["price"] + line["sales_tax"] for line in lines if line["category"] in _CREDITED)
        left = 0.25 * max(basis - sum(central(rebate.amount) for rebate in plan.rebates), 0.0)
        taxes = owed if isinstance(owed, list) else [owed]
        for year in range(1, min(years, 11) + 1):
            amounts[year] = min(left, 3500.0, 0.5 * central(taxes[min(year, len(taxes)) - 1]))
            left -= amounts[year]
    marginal = central(household.marginal_tax) if household.itemises else 0.0
    return {"amounts": amounts, "tax": [-marginal * amount for amount in amounts]}


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


def loan(scenario: Scenario, plan: Alternative, price: float, awards: Sequence[float]) -> dict[str, Any]:
    """Return what the loan comes to, and under ``life`` its months; ``awards`` of the purchase by year from 0."""
    assert isinstance(plan.payment, Borrowing)
    terms = plan.payment.loan
    wanted = price * central(terms.share) if terms.amount is None else central(terms.amount)
    covered = min(wanted, price)
    points, fixed, hidden = central(terms.fee), central(terms.fixed_fee), central(terms.dealer_fee)
    financed = covered * (1 + hidden) if terms.dealer_fee_of == "cash price" else covered / (1 - hidden)
    borrowed = (financed + fixed) / (1 - points) if terms.fees == "borrowed" else financed
    borrowed = math.floor(100 * borrowed + 0.5) / 100 if terms.whole_cents else borrowed
    lump, month = 0.0, 0
    if terms.paydown is not None:
        month = terms.paydown.month
        if terms.paydown.amount is not None:
            lump = central(terms.paydown.amount)
        elif terms.paydown.share is not None:
            lump = borrowed * central(terms.paydown.share)
        else:
            come_in = sum(amount for year, amount in enumerate(awards) if 12 * year <= month)
            lump = max(come_in, 0.0) * central(terms.paydown.awards)

    def lived(paid_in: float) -> Life:
        return life(
            repr(float(borrowed)),
            [repr(float(central(rate))) for rate in [terms.rate, *(terms.later_rates or [])]],
            12 * terms.years,
            deferral=terms.deferral_months,
            interest_only=terms.deferral_pays == "interest",
            paydown=repr(float(paid_in)),
            paydown_month=month,
            shorten=terms.paydown is not None and terms.paydown.then == "sooner end",
            presumed=repr(float(central(terms.starter_share))),
            to_cents=terms.whole_cents,
        )

    found = lived(lump)
    marginal = 0.0 if scenario.household.marginal_tax is None else central(scenario.household.marginal_tax)
    # Interest that was only added to the debt is paid, and deducted, once payments exceed their own interest.
    added, given = Decimal(0), []
    for interest, paid, lump_paid in zip(found.interest, found.payment, found.paydown, strict=True):
        given.append(min(paid + lump_paid, added + interest))
        added += interest - given[-1]
    by_year = [sum(given[k : k + 12]) for k in range(0, 12 * terms.years, 12)]
    spared = [float(interest) * marginal * central(terms.deductible) for interest in by_year]
    gone = sum(found.payment) + sum(found.paydown)
    return {
        "principal": borrowed,
        "fee": borrowed * points + fixed,
        "dealer_fee": financed - covered,
        "amount_financed": borrowed * (1 - points) - fixed - (financed - covered),
        "missing": wanted - covered,
        "presumed": borrowed * central(terms.starter_share),
        "paydown_month": month,
        "monthly_payment": float(found.payment[terms.deferral_months]),
        "total_interest": float(sum(found.interest)),
        "finance_charge": float(gone) - (borrowed * (1 - points) - fixed - (financed - covered)),
        "paid_in": float(sum(found.paydown)),
        "excess": float(found.excess),
        "tax_saved": sum(spared),
        "schedule": {
            "payment": [float(paid) for paid in found.payment],
            "interest": [float(paid) for paid in found.interest],
            "paydown": [float(paid) for paid in found.paydown],
            "balance": [float(owed) for owed in found.balance],
        },
        "tax_by_year": spared,
    }
