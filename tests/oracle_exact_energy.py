"""The exact oracle's price of a kWh: of the whole system, of the sun without its battery, and of backup."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from oracle_exact_numbers import NONE, Amounts, exact, total

from finsolar.scenario.schema import Alternative

Weights = list[Fraction]


def energy_prices(
    costs: Amounts, useful: Amounts, batterys: Amounts, sun: Amounts, weights: Weights, inflation: Fraction
) -> dict[str, Fraction | None]:
    """Return level prices of what is used, and of what the sun gave for what is not the battery's.

    Costs by year from 0, kWh by year from 1; ``weights`` what money of each year is worth on day one.
    """
    found: dict[str, Fraction | None] = {}
    rest = [cost - part for cost, part in zip(costs, batterys, strict=True)]
    for name, money, kwh in (("lcoe", costs, useful), ("lcoe_solar", rest, sun)):
        worth = total(cost * weight for cost, weight in zip(money, weights, strict=True))
        energy = total(each * weight for each, weight in zip(kwh, weights[1:], strict=True))
        dearer = total(each * weights[k] * (1 + inflation) ** k for k, each in enumerate(kwh, 1))
        found[name] = worth / energy if energy > 0 else None
        found["real_" + name] = worth / dearer if dearer > 0 else None
    return found


def of_the_battery(
    plan: Alternative,
    costs: list[dict[str, Any]],
    prices: Amounts,
    later: dict[str, Amounts],
    awarded: Amounts,
    property_tax: Amounts,
    stays: int,
) -> Amounts:
    """Return what of the costs is the battery's, by year from 0.

    ``later`` what comes back of its upkeep lines; ``awarded`` what of the awards, less the tax on them, fell on it;
    ``stays`` the years in which the system is there.
    """
    years = len(prices)
    own = [line for line, written in zip(costs, plan.costs, strict=True) if written.category == "battery"]
    share = share_of_the_battery(plan, costs)
    found = [NONE] * (years + 1)
    found[0] = total(line["total"] for line in own)
    for rebate in plan.rebates:
        named = Fraction(rebate.category == "battery")
        found[0] -= exact(rebate.amount) * (share if rebate.category is None else named)
    for year in range(years + 1):
        found[year] += later["replacements"][year] - later["left"][year]
        found[year] += property_tax[year] * share - awarded[year]
    found = [cost if year <= stays else NONE for year, cost in enumerate(found)]
    for line in own:
        found[years] -= line["left"] * prices[-1]
        year, amount = line["resold"]
        if year <= years:
            found[year] -= amount * prices[year - 1]
    return found


def share_of_the_battery(plan: Alternative, costs: list[dict[str, Any]]) -> Fraction:
    """Return the battery's share of what it costs to build, tax and allowance included."""
    gross = total(line["total"] for line in costs)
    own = total(line["total"] for line, told in zip(costs, plan.costs, strict=True) if told.category == "battery")
    return own / gross if gross > 0 else NONE


def backup_price(npv: Fraction, kwh: Amounts, prices: Amounts, weights: Weights) -> Fraction | None:
    """Return what a kWh of backup would have to be worth in year 1 for the study to draw level; none above that."""
    energy = total(each * price * weight for each, price, weight in zip(kwh, prices, weights[1:], strict=True))
    return -npv / energy if energy > 0 and npv <= 0 else None
