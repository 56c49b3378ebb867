"""A second way to every answer: plain Python on floats and lists.

It is written from the conventions of the scenario file, not from the engine, so that a fault has to be made
twice to stay hidden. From finsolar it takes what has published checks of its own: a scenario once read, the weather,
the year of a meter's file, the direct-current output of one kW of modules, the named daily shapes and the wall clock.
Years count from 1; rows of money by year begin with year 0; money to the household is positive.

`oracle_sun` holds sun and use, `oracle_battery` the battery, `oracle_house` the balance of every step, `oracle_bills`
the prices, `oracle_costs` what is built, renewed, granted and borrowed, `oracle_lender` how the loan is carried,
`oracle_figures` the figures of merit; here they come together.
"""

from __future__ import annotations

from itertools import accumulate
from typing import Any

from oracle_costs import (
    federal_credit,
    loan,
    new_york,
    paid_to_the_owner,
    priced,
    property_tax,
    stay_costs,
    upkeep,
)
from oracle_figures import crossing_rates, metrics, payback, quoted_rate, ratios, real_metrics, sign_changes, worth
from oracle_house import House, run_house
from oracle_lender import lender_view
from oracle_numbers import central, due, index
from oracle_sun import Setting, setting_of

from finsolar.scenario.schema import Alternative, Borrowing, Lease, PerKwh, Scenario

__all__ = ["crossing_rates", "discount_rate", "expected", "pair", "quoted_rate", "sign_changes", "worth"]


def expected(scenario: Scenario) -> dict[str, Any]:
    """Return what ``Study.to_json`` should hold, for the keys this oracle knows."""
    setting = setting_of(scenario)
    stay = run_house(setting, None)
    plans = [_alternative(setting, plan, stay) for plan in scenario.alternatives]
    return {
        "settings": {"discount_rate": discount_rate(scenario)},
        "stay": {"energy": stay.energy, "bill": stay.shown_bill(), "other_costs": stay_costs(scenario)},
        "alternatives": plans,
        "comparison": {"own_labour": _own_labour(scenario, plans)},
    }


def discount_rate(scenario: Scenario) -> float:
    """Return the nominal rate; a real one is raised by inflation."""
    settings = scenario.study
    if settings.discount_rate is not None:
        return central(settings.discount_rate)
    return (1 + central(settings.real_discount_rate)) * (1 + central(settings.inflation)) - 1


def _alternative(setting: Setting, plan: Alternative, stay: House) -> dict[str, Any]:
    """Return everything about one alternative against staying as you are."""
    scenario = setting.scenario
    years = scenario.study.years
    rate = discount_rate(scenario)
    inflation = index(scenario.study.inflation, years)
    house = run_house(setting, plan, stay)
    built = [priced(line, plan.purchase) for line in plan.costs]
    gross = sum(line["total"] for line in built)
    rebates = sum(central(rebate.amount) for rebate in plan.rebates)
    credit = federal_credit(scenario, plan, built)
    # The second rule of the country is for the owners of leased systems, and gives a household nothing.
    granted = [credit, {"amounts": [0.0] * (years + 1)}] if scenario.place.country == "US" else []
    exempt, state = [0.0] * (years + 1), [0.0] * (years + 1)
    if scenario.place.region == "NY":
        of_state = new_york(scenario, plan, built)
        granted += of_state
        exempt, state = (award["amounts"] for award in of_state)
    upfront = [one + other for one, other in zip(credit["amounts"], state, strict=True)]
    later = upkeep(plan.upkeep, scenario, house.worn_out)
    left = later["left"]
    for line, price in zip(plan.costs, built, strict=True):
        left += price["price"] * central(line.residual) * inflation[-1]

    empty = [0.0] * (years + 1)
    staying = stay_costs(scenario)
    lines = {
        "capital": [-gross, *empty[1:]],
        "rebates": [rebates, *empty[1:]],
        "awards": upfront,
        "upkeep avoided": staying["upkeep"],
        "investment avoided": staying["investment"],
        "upkeep": [-cost for cost in later["upkeep"]],
        "insurance": [-cost for cost in later["insurance"]],
        "replacements": [-cost for cost in later["replacements"]],
        "left at the end": [*empty[:-1], left],
    }
    taxed = property_tax(scenario, plan, gross)
    if any(exempt):
        lines["yearly awards"] = exempt
    if any(taxed):
        lines["property tax"] = [-paid for paid in taxed]
    for component in stay.bill | house.bill:
        lines["saving, " + component] = [0.0] + [
            stay.cost(component, year) - house.cost(component, year) for year in range(years)
        ]
    useful = house.energy["useful"]
    if isinstance(plan.payment, Lease | PerKwh):
        made = [sun - cut for sun, cut in zip(house.energy["solar"], house.energy["curtailed"], strict=True)]
        owner = paid_to_the_owner(plan.payment, made)
        there = [True, *owner["there"]]
        useful = [kwh * is_there for kwh, is_there in zip(useful, owner["there"], strict=True)]
        for name in lines:
            lines[name] = [flow if is_there else 0.0 for flow, is_there in zip(lines[name], there, strict=True)]
        name = "lease payments" if isinstance(plan.payment, Lease) else "payments per kWh"
        lines[name] = [0.0] + [-paid for paid in owner["payments"]]
        if owner["buyout_year"] is not None:
            lines["buy-out at the end of the term"] = [
                -owner["buyout"] if year == owner["buyout_year"] else 0.0 for year in range(years + 1)
            ]
    before_loan = [sum(line[k] for line in lines.values()) for k in range(years + 1)]
    figures = ratios(lines, useful, rate, central(scenario.study.inflation))
    terms = None
    if isinstance(plan.payment, Borrowing):
        terms, payments = loan(plan, gross)
        months = zip(*(one.shown_bill()["first_year_total_by_month"] for one in (stay, house)), strict=True)
        terms |= lender_view(
            scenario,
            plan,
            dict(lines),
            [one - other for one, other in months],
            terms["monthly_payment"],
            payments,
            house.worn_out,
            None if house.warranty is None else house.warranty["years"],
        )
        lines["loan received"] = [terms["principal"], *empty[1:]]
        lines["loan fee"] = [-terms["fee"], *empty[1:]]
        lines["loan payments"] = [0.0, *(-paid for paid in payments), *empty][: years + 1]
    net = [sum(line[k] for line in lines.values()) for k in range(years + 1)]
    discounted = [flow / (1 + rate) ** k for k, flow in enumerate(net)]
    return {
        "name": plan.name,
        "costs": {
            "lines": built,
            "gross": gross,
            "rebates": rebates,
            "awards": sum(upfront),
            "net": gross - rebates - sum(upfront),
        },
        "incentives": granted,
        "energy": house.energy | house.battery,
        "upkeep": [
            {
                "item": line.item,
                "category": line.category,
                "cost": central(line.cost),
                "due": due(line, years, house.worn_out),
            }
            for line in plan.upkeep
        ],
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
        "loan": terms,
        "battery_warranty": house.warranty,
        "metrics": metrics(net, discounted, rate)
        | figures
        | real_metrics(net, rate, central(scenario.study.inflation), figures["airr"]),
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
