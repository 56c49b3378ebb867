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
    sold_again,
    south_carolina,
    stay_costs,
    upkeep,
)
from oracle_energy_cost import battery_part, cost_of_backup, costs_of_energy
from oracle_figures import crossing_rates, metrics, payback, quoted_rate, ratios, real_metrics, sign_changes, worth
from oracle_house import House, run_house
from oracle_lender import kept_for_the_loan, lender_view
from oracle_numbers import central, covered, due, index, left_share
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
        "comparison": {"own_labour": _own_labour(scenario, plans), "own_work": _own_work(scenario, plans)},
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
    kw = sum(array.kw for array in plan.system.arrays)
    kwh = 0.0 if plan.system.battery == "none" else plan.system.battery.kwh
    built = [priced(line, plan.purchase, kw, kwh) for line in plan.costs]
    back = sold_again(plan.costs, built, scenario)
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
    on_awards = [0.0] * (years + 1)
    if scenario.place.region == "SC":
        of_state = [south_carolina(scenario, plan, built)]
        granted += of_state
        state, on_awards = of_state[0]["amounts"], of_state[0]["tax"]
    upfront = [one + other for one, other in zip(credit["amounts"], state, strict=True)]
    later = upkeep(plan.upkeep, scenario, house.worn_out)
    left = later["left"]
    for line, price in zip(plan.costs, built, strict=True):
        left += price["price"] * left_share(line, years) * inflation[-1]

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
    if any(back):
        lines["tools sold again"] = back
    if any(later["removal"]):
        lines["removal"] = [-cost for cost in later["removal"]]
    taxed = property_tax(scenario, plan, gross)
    if any(exempt):
        lines["yearly awards"] = exempt
    if any(on_awards):
        lines["tax on awards"] = on_awards
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
        own_left = left - later["left"]  # of what the household bought itself, which nobody takes away
        for name in set(lines) - {"tools sold again"}:
            lines[name] = [flow if is_there else 0.0 for flow, is_there in zip(lines[name], there, strict=True)]
        lines["left at the end"][-1] = own_left + (later["left"] if there[-1] else 0.0)
        name = "lease payments" if isinstance(plan.payment, Lease) else "payments per kWh"
        lines[name] = [0.0] + [-paid for paid in owner["payments"]]
        if owner["buyout_year"] is not None:
            lines["buy-out at the end of the term"] = [
                -owner["buyout"] if year == owner["buyout_year"] else 0.0 for year in range(years + 1)
            ]
    before_loan = [sum(line[k] for line in lines.values()) for k in range(years + 1)]
    figures = ratios(lines, useful, rate, central(scenario.study.inflation))
    figures |= _of_the_sun(scenario, plan, built, house, lines, credit["amounts"], exempt, taxed)
    terms = None
    if isinstance(plan.payment, Borrowing):
        terms = loan(scenario, plan, gross, upfront)
        tax = [0.0, *terms.pop("tax_by_year"), *empty][: years + 1]
        months = zip(*(one.shown_bill()["first_year_total_by_month"] for one in (stay, house)), strict=True)
        saved = [one - other for one, other in months]
        begins = (plan.in_service or scenario.study.in_service).month - 1
        monthly = terms["schedule"]["payment"]
        payments = [sum(monthly[k : k + 12]) for k in range(0, len(monthly), 12)]
        lump = [sum(terms["schedule"]["paydown"][k : k + 12]) for k in range(0, len(monthly), 12)]
        paid_in = [0.0, *lump, *empty][: years + 1]
        kept, added = kept_for_the_loan(upfront, paid_in)
        terms |= lender_view(
            scenario,
            plan,
            lines | {"tax saved on interest": tax, "kept for the loan": kept},
            saved[begins:] + saved[:begins],
            terms["schedule"],
            payments,
            added,
            house.worn_out,
            None if house.warranty is None else house.warranty["years"],
        )
        lines["loan received"] = [terms["principal"], *empty[1:]]
        lines["loan fee"] = [-terms["fee"], *empty[1:]]
        lines["loan payments"] = [0.0, *(-paid for paid in payments), *empty][: years + 1]
        seldom = {
            "dealer fee": [-terms["dealer_fee"], *empty[1:]],
            "paid into the loan": [-paid for paid in paid_in],
            "tax saved on interest": tax,
        }
        lines |= {name: line for name, line in seldom.items() if any(line)}
    net = [sum(line[k] for line in lines.values()) for k in range(years + 1)]
    discounted = [flow / (1 + rate) ** k for k, flow in enumerate(net)]
    return {
        "name": plan.name,
        "costs": {
            "lines": built,
            "gross": gross,
            "rebates": rebates,
            "awards": sum(upfront),
            "sold_again": sum(back),
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
                "labour": central(line.labour),
                "warranty_years": line.warranty_years,
                "covered": covered(line, years, house.worn_out),
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
        | {"backup_cost": cost_of_backup(scenario, plan, sum(discounted), _there(plan, years), rate)}
        | real_metrics(net, rate, central(scenario.study.inflation), figures["airr"]),
    }


def _there(plan: Alternative, years: int) -> list[bool]:
    """Return the years from 1 in which the system is there."""
    if not isinstance(plan.payment, Lease | PerKwh):
        return [True] * years
    there: list[bool] = paid_to_the_owner(plan.payment, [0.0] * years)["there"]
    return there


def _of_the_sun(
    scenario: Scenario,
    plan: Alternative,
    built: list[dict[str, Any]],
    house: House,
    lines: dict[str, list[float]],
    credit: list[float],
    exempt: list[float],
    taxed: list[float],
) -> dict[str, float | None]:
    """Return what a kWh of the sun alone costs, by all lines of the system's own money before a loan."""
    years = scenario.study.years
    there = _there(plan, years)
    elsewhere = ("saving, ", "upkeep avoided", "investment avoided")
    system = [-sum(line[k] for name, line in lines.items() if not name.startswith(elsewhere)) for k in range(years + 1)]
    prices = index(scenario.study.inflation, years)
    mine = [(line, price) for line, price in zip(plan.costs, built, strict=True) if line.category == "battery"]
    came_back = sold_again([line for line, _ in mine], [price for _, price in mine], scenario)
    came_back[-1] += sum(price["price"] * left_share(line, years) * prices[-1] for line, price in mine)
    own = upkeep([line for line in plan.upkeep if line.category == "battery"], scenario, house.worn_out)
    tax = [spared - paid for spared, paid in zip(exempt, taxed, strict=True)]
    battery = battery_part(scenario, plan, built, own, [0.0] * (years + 1), credit, tax)
    battery = [money if is_there else 0.0 for money, is_there in zip(battery, [True, *there], strict=True)]
    battery = [money - back for money, back in zip(battery, came_back, strict=True)]
    standby = 0.0 if plan.system.battery == "none" else plan.system.battery.standby_watts * 8.76
    made = [
        max(sun - cut - idle + standby, 0.0) if is_there else 0.0
        for sun, cut, idle, is_there in zip(
            house.energy["solar"], house.energy["curtailed"], house.energy["idle"], there, strict=True
        )
    ]
    return costs_of_energy(system, battery, made, discount_rate(scenario), central(scenario.study.inflation))


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
            | _worth(mine, own, hours)
        )
    return found


def _worth(mine: Alternative, own: dict[str, Any], hours: float) -> dict[str, float | None]:
    """Return what own hours are worth by the household's word, and what the alternative is worth without them."""
    if mine.own_hour_worth is None:
        return {"worth_per_hour": None, "worth": None, "npv_less_worth": None}
    worth = central(mine.own_hour_worth)
    return {
        "worth_per_hour": worth,
        "worth": hours * worth,
        "npv_less_worth": own["metrics"]["npv"] - hours * worth,
    }


def _own_work(scenario: Scenario, plans: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the alternatives with own hours whose worth is stated."""
    found = []
    for mine, own in zip(scenario.alternatives, plans, strict=True):
        hours = central(mine.own_hours)
        if hours and mine.own_hour_worth is not None:
            found.append({"name": mine.name, "hours": hours} | _worth(mine, own, hours))
    return found
