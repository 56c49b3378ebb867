"""Invented rules and a house for them, built with few words; nothing here is law anywhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import numpy as np

from finsolar.incentives.awards import assess
from finsolar.incentives.facts import Array, Award, Claimed, EligibleLine, House, Subsidy
from finsolar.incentives.law import (
    Condition,
    Dated,
    Ended,
    Entry,
    LineTest,
    Rule,
    Source,
    Term,
    Unknown,
    Value,
)

SOURCE = Source("Invented Code 1", "seen")
BEGIN = date(2020, 1, 1)
DAY = date(2026, 6, 1)
NO_LIMIT = float("inf")
COUNTED = ("modules", "inverter", "battery", "racking", "wiring", "labour")
LEFT_OUT = ("roof", "tools", "finance", "other")

PLAIN: Mapping[str, Mapping[str, Any]] = {
    "tax credit": {"refundable": "no", "carry_forward": 0.0, "against": "income tax"},
    "tax deduction": {"against": "income tax"},
    "upfront rebate": {"lowers_price": True},
    "deemed certificates": {"lowers_price": True, "size": "solar kw"},
    "performance payment": {"paid_on": "generation"},
    "income tax exemption": {"exempts": ("payments",)},
}
"""The terms that a kind needs, unless a test says something else."""

FACTS: Mapping[str, bool] = {
    "buys the system": True,
    "leases the system": False,
    "lives there": True,
    "main home": True,
    "new home": False,
    "existing home": True,
    "contractor": True,
    "licensed installer": True,
    "accredited installer": True,
    "grid connection": True,
    "off grid": False,
    "solar": True,
    "battery": True,
    "net metering": False,
    "no net metering": True,
}


def entry(start: date, amount: Any) -> Entry:
    """Return what holds from `start`: an amount, `ended` or `unknown`."""
    if amount == "ended":
        return Ended(start, "It was repealed.", SOURCE)
    if amount == "unknown":
        return Unknown(start, "A vote is awaited.", SOURCE)
    return Value(start, amount, SOURCE)


def dated(amount: Any) -> Dated:
    """Return a parameter: one amount since `BEGIN`, or several by their first day."""
    values = amount if isinstance(amount, Mapping) else {BEGIN: amount}
    return Dated("invented unit", tuple(entry(start, value) for start, value in values.items()))


def rule(
    kind: str,
    rule_id: str = "town/one",
    event: str = "installation completed",
    currency: str = "USD",
    lines: tuple[LineTest, ...] | None = None,
    conditions: tuple[Condition, ...] = (),
    haircut: float = 0.0,
    terms: Mapping[str, Any] | None = None,
    **parameters: Any,
) -> Rule:
    """Return a rule; it counts the lines of `COUNTED`, and only those, where it is a share of the cost."""
    told = {**PLAIN.get(kind, {}), **(terms or {})}
    of_cost = {"share", "cap_share_of_cost", "yearly_shares", "rate_left", "share_spared"} & set(parameters)
    if lines is None:
        lines = (counts(*COUNTED), counts(*LEFT_OUT, counted=False)) if of_cost and "credit_of" not in told else ()
    return Rule(
        id=rule_id,
        title=f"The {rule_id} rule",
        kind=kind,
        currency=currency,
        reference="Invented Code",
        checked_on=date(2026, 3, 1),
        event=event,
        parameters={name: dated(amount) for name, amount in parameters.items()},
        lines=lines,
        conditions=conditions,
        haircut=haircut,
        **{name: Term(value, f"So says {name}.", SOURCE) for name, value in told.items()},
    )


def counts(
    *categories: str, counted: bool = True, since: date | None = None, smallest: float | None = None
) -> LineTest:
    """Return a test of cost lines."""
    return LineTest(categories, counted, "the code says so", since, "too early" if since else "", smallest, SOURCE)


def needs(need: str, otherwise: str = "refused", **limits: Any) -> Condition:
    """Return a condition."""
    return Condition(need, otherwise, f"It asks for: {need}.", SOURCE, **limits)


def array(value: Any) -> Any:
    """Return numbers as an array; what was not told stays so."""
    return None if value is None else np.asarray(value, dtype=np.float64)


def house(day: date = DAY, **told: Any) -> House:
    """Return a house that is told everything, but for what `told` changes; numbers may be plain.

    facts, numbers, taxes, marginal, days : what differs by name; claims : fields by rule id.
    """
    claims = {
        name: Claimed(**{field: array(value) if field in {"kw", "used_before", "price"} else value
                         for field, value in claim.items()})
        for name, claim in told.pop("claims", {}).items()
    }  # fmt: skip
    numbers = {"solar kw": 8.0, "inverter kw": 7.0, "battery kwh": 10.0, "income": 90_000.0}
    taxes = {"income tax": [40_000.0], "state income tax": [9_000.0]}
    marginal = {"income tax": 0.22, "state income tax": 0.05}
    plain: dict[str, Any] = {
        "business_use": 0.0,
        "generation": [9_000.0],
        "exported": [4_000.0],
        "property_tax": [300.0],
        "battery_kw": 5.0,
        "battery_usable_kwh": 9.0,
    }
    arrays = {name: array(told.pop(name, value)) for name, value in plain.items()}
    return House(
        days={"installation completed": day, "in service": day, **told.pop("days", {})},
        facts={**FACTS, **told.pop("facts", {})},
        numbers={name: array(value) for name, value in {**numbers, **told.pop("numbers", {})}.items()},
        taxes={name: array(value) for name, value in {**taxes, **told.pop("taxes", {})}.items()},
        marginal={name: array(value) for name, value in {**marginal, **told.pop("marginal", {})}.items()},
        claims=claims,
        **{"itemises": True, "export_is_paid": False, "currency": "USD", **arrays, **told},
    )


def line(category: str, cost: Any, sales_tax: Any = 0.0) -> EligibleLine:
    """Return a cost line named after its category."""
    return EligibleLine(category.capitalize(), category, np.asarray(cost, float), np.asarray(sales_tax, float))


BILL = (line("modules", 12_000, 600), line("battery", 7_000, 400), line("labour", 5_000), line("roof", 3_000, 200))
"""24,000 and 1,000 of tax that an invented rule counts, and a roof that it does not."""


def subsidy(amount: Any, lowers_basis: bool = True) -> Subsidy:
    """Return money from others."""
    return Subsidy("Price cut" if lowers_basis else "Grant", np.asarray(amount, float), lowers_basis)


def awards(
    rules: Sequence[Rule],
    of: House | None = None,
    lines: Sequence[EligibleLine] = BILL,
    subsidies: Sequence[Subsidy] = (),
    years: int = 6,
) -> dict[str, Award]:
    """Return the awards by id of their rules."""
    found = assess(rules, house() if of is None else of, lines, subsidies, years)
    return {one.rule_id: one for one in found}


def award(one: Rule, of: House | None = None, lines: Sequence[EligibleLine] = BILL, **more: Any) -> Award:
    """Return the award of one rule."""
    return awards([one], of, lines, **more)[one.id]


def steps(of: Award) -> dict[str, Array]:
    """Return the working of an award by label."""
    return {step.label: step.amount for step in of.ledger}


def said(of: Award) -> str:
    """Return all reasons of an award as one text."""
    return " ".join(of.reasons)
