"""The oracle's costs of energy: of the sun without its battery, and of a kWh while the grid is down.

Written from the definitions: what stands under the category battery is the battery's; an award falls on the lines that
it was counted on, by price and sales tax; what is for the whole falls on the battery by its share of all that is built.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from oracle_costs import _BATTERIES_FROM, _CREDITED, _SMALLEST_BATTERY
from oracle_numbers import central

from finsolar.scenario.schema import Alternative, Scenario


def battery_part(
    scenario: Scenario,
    plan: Alternative,
    built: Sequence[dict[str, Any]],
    own: dict[str, Any],
    came_back: Sequence[float],
    credit: Sequence[float],
    for_the_whole: Sequence[float],
) -> list[float]:
    """Return what of an alternative's money is its battery's, by year from 0, positive as a cost.

    own : what comes back of its own upkeep lines; came_back : what is left of its own cost lines or was sold, by year;
    credit : the federal one; for_the_whole : other money received less other money paid, by year, such as property tax.
    """
    mine = [line for line in built if line["category"] == "battery"]
    whole = sum(line["total"] for line in built)
    share = sum(line["total"] for line in mine) / whole if whole > 0 else 0.0
    of_the_credit = _of_the_credit(scenario, plan, built)
    found = []
    for year, credited in enumerate(credit):
        cost = own["upkeep"][year] + own["insurance"][year] + own["replacements"][year] - came_back[year]
        found.append(cost - credited * of_the_credit - for_the_whole[year] * share)
    found[0] += sum(line["total"] for line in mine)
    for rebate in plan.rebates:
        if rebate.category in (None, "battery"):
            found[0] -= central(rebate.amount) * (share if rebate.category is None else 1.0)
    found[-1] -= own["left"]
    return found


def _of_the_credit(scenario: Scenario, plan: Alternative, built: Sequence[dict[str, Any]]) -> float:
    """Return what of the federal credit is for the battery: since 2023, and by price and sales tax."""
    completed = (
        plan.installation_completed
        or plan.in_service
        or scenario.study.installation_completed
        or scenario.study.in_service
    )
    if plan.system.battery == "none" or plan.system.battery.kwh < _SMALLEST_BATTERY or completed < _BATTERIES_FROM:
        return 0.0
    paid = {"battery": 0.0, "rest": 0.0}
    for line in built:
        if line["category"] in (*_CREDITED, "battery"):
            paid["battery" if line["category"] == "battery" else "rest"] += line["price"] + line["sales_tax"]
    return paid["battery"] / sum(paid.values()) if any(paid.values()) else 0.0


def costs_of_energy(
    system: Sequence[float], battery: Sequence[float], made: Sequence[float], rate: float, inflation: float
) -> dict[str, float | None]:
    """Return the cost of a kWh of the sun alone; ``system`` and ``battery`` by year from 0, ``made`` kWh from 1."""
    worth = sum((one - other) / (1 + rate) ** k for k, (one, other) in enumerate(zip(system, battery, strict=True)))
    kwh = sum(gave / (1 + rate) ** k for k, gave in enumerate(made, 1))
    real_kwh = sum(gave * (1 + inflation) ** k / (1 + rate) ** k for k, gave in enumerate(made, 1))
    return {
        "lcoe_solar": worth / kwh if kwh > 0 else None,
        "real_lcoe_solar": worth / real_kwh if real_kwh > 0 else None,
    }


def cost_of_backup(
    scenario: Scenario, plan: Alternative, npv: float, there: Sequence[bool], rate: float
) -> float | None:
    """Return what a kWh drawn while the grid is down would have to be worth, today's money, for an NPV of zero."""
    kwh = 0.0 if scenario.household.backup_kwh is None else central(scenario.household.backup_kwh)
    motor = plan.system.operation == "off grid" and plan.generator is not None
    if kwh == 0 or npv > 0 or scenario.tariff is None or (plan.system.battery == "none" and not motor):
        return None
    inflation = central(scenario.study.inflation)
    drawn = sum(
        kwh * (1 + inflation) ** (year - 1) / (1 + rate) ** year for year, is_there in enumerate(there, 1) if is_there
    )
    return -npv / drawn
