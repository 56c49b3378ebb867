"""What a case of a shipped rule holds, a small house and two days, and the answer of the rule to it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

import finsolar.incentives
from finsolar.incentives.awards import assess
from finsolar.incentives.facts import Array, Award, Claimed, EligibleLine, House, Subsidy
from finsolar.incentives.law import EVENTS, Rule
from finsolar.incentives.rulebook import parse_rule

RULES = Path(finsolar.incentives.__file__).parent / "rules"
FILES = {path.relative_to(RULES).with_suffix("").as_posix(): path for path in sorted(RULES.rglob("*.yaml"))}

YEARS = 10
TAX = 20_000.0
"""Owed each year of each tax: ample, so that no case but those made for it meets the limit of the tax."""
MARGINAL: Mapping[str, float] = {"income tax": 0.24, "state income tax": 0.06}

PLAIN_FACTS: Mapping[str, bool] = {
    "buys the system": True,
    "leases the system": False,
    "lives there": True,
    "main home": True,
    "new home": False,
    "existing home": True,
    "licensed installer": True,
    "accredited installer": True,
    "grid connection": True,
    "off grid": False,
    "net metering": True,
    "no net metering": False,
}
"""What is told of every house unless its case says otherwise; `solar` and `battery` follow from the sizes."""


@dataclass(frozen=True)
class Case:
    """One rule, the days it is tried on, and what a small house gets from it in `YEARS` years.

    in_force : every event falls on this day, the rule is in force and grants `expected`, the sum over all years of
    its amounts, worked by hand, and `worth`, for what is no payment; out_of_force : every event falls on this day,
    and nothing is granted. cost, sales_tax : money by category of line. grant, price_reduction : money from others
    that leaves, or lowers, the federal basis. kw : of solar, and of the inverter; battery_kwh : of storage.
    generation, exported : kWh a year; export_is_paid : by the tariff. property_tax : what the system adds to it a
    year; state_tax : owed to the state a year; business_use : share of the system used for business. facts,
    numbers : by need, beside or instead of `PLAIN_FACTS` and the sizes. claim : the fields of `Claimed`. rate :
    discount rate of the household. beside : ids of rules reckoned together with it, which may lower its basis.
    """

    in_force: date
    out_of_force: date
    expected: float
    cost: Mapping[str, float] = field(default_factory=dict)
    sales_tax: Mapping[str, float] = field(default_factory=dict)
    grant: float = 0.0
    price_reduction: float = 0.0
    kw: float = 0.0
    battery_kwh: float = 0.0
    generation: float = 0.0
    exported: float = 0.0
    export_is_paid: bool = True
    property_tax: float = 0.0
    state_tax: float = TAX
    business_use: float = 0.0
    facts: Mapping[str, bool] = field(default_factory=dict)
    numbers: Mapping[str, float] = field(default_factory=dict)
    claim: Mapping[str, Any] = field(default_factory=dict)
    rate: float = 0.05
    worth: float = 0.0
    beside: tuple[str, ...] = ()
    status: str = "granted"


@lru_cache
def read(rule_id: str) -> Rule:
    """Return the rule of one of our own files."""
    return parse_rule(FILES[rule_id].read_text(encoding="utf-8"), f"{rule_id}.yaml")


def claimed(told: Mapping[str, Any]) -> Claimed:
    """Return what a household says of a rule, its plain numbers as arrays."""
    arrays: dict[str, Any] = {name: np.array(told[name]) for name in ("kw", "used_before") if name in told}
    if "price" in told:
        arrays["price"] = np.array([told["price"]])
    return Claimed(**{**told, **arrays})


def loan_worth_at(discount: float, principal: Array, rate: float, years: int) -> Array:
    """Return what a loan paid back in equal instalments spares today (...), other money costing `discount`."""
    instalment = principal * rate / (1 - (1 + rate) ** -years) if rate else principal / years
    return np.asarray(principal - sum(instalment / (1 + discount) ** year for year in range(1, years + 1)))


def house_of(case: Case, rule: Rule, day: date) -> House:
    """Return the house of a case, with every event on one day."""
    sizes = {"solar kw": case.kw, "inverter kw": case.kw, "battery kwh": case.battery_kwh}
    has = {"solar": case.kw > 0, "battery": case.battery_kwh > 0}
    return House(
        days={event: day for event in EVENTS if event != "new year"},
        facts={**PLAIN_FACTS, **has, **case.facts},
        numbers={need: np.array(number) for need, number in {**sizes, **case.numbers}.items()},
        taxes={"income tax": np.array([TAX]), "state income tax": np.array([case.state_tax])},
        marginal={tax: np.array(rate) for tax, rate in MARGINAL.items()},
        itemises=False,
        business_use=np.array(case.business_use),
        generation=np.array([case.generation]),
        exported=np.array([case.exported]),
        export_is_paid=case.export_is_paid,
        property_tax=np.array([case.property_tax]) if case.property_tax else None,
        battery_usable_kwh=np.array(case.battery_kwh) if case.battery_kwh else None,
        loan_worth=lambda principal, rate, years: loan_worth_at(case.rate, principal, rate, years),
        currency=rule.currency,
        claims={rule.id: claimed(case.claim)},
    )


def award_of(case: Case, rule_id: str, day: date) -> Award:
    """Return what a rule answers to the house of a case when everything happens on `day`."""
    rule = read(rule_id)
    lines = [
        EligibleLine(category, category, np.array(cost), np.array(case.sales_tax.get(category, 0.0)))
        for category, cost in case.cost.items()
    ]
    told = (("grant", case.grant, False), ("price reduction", case.price_reduction, True))
    subsidies = [Subsidy(item, np.array(amount), lowers) for item, amount, lowers in told if amount]
    rules = [*map(read, case.beside), rule]
    return assess(rules, house_of(case, rule, day), lines, subsidies, YEARS)[-1]
