"""The basis of an incentive: the cost lines a rule counts, their sales tax, less what lowers the price."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from finsolar.incentives.facts import Array, EligibleLine, LineReason, Subsidy
from finsolar.incentives.law import Rule


@dataclass(frozen=True, eq=False)
class Basis:
    """The parts of a basis and their total, all (...) and positive, with the verdict on each line.

    `missing` says which facts must be told before every line can be judged.
    """

    lines: Array
    sales_tax: Array
    subsidies: Array
    total: Array
    line_reasons: list[LineReason]
    missing: list[str]


def find_basis(
    rule: Rule,
    day: date,
    lines: Sequence[EligibleLine],
    subsidies: Sequence[Subsidy],
    battery_kwh: Array | None,
    shape: tuple[int, ...],
) -> Basis:
    """Return the basis of `rule` for an event on `day`; money and capacity [kWh] broadcast to `shape` (...).

    total = counted lines + their sales tax - subsidies that lower the price, never below zero
    """
    cost, sales_tax, lowering = np.zeros(shape), np.zeros(shape), np.zeros(shape)
    line_reasons: list[LineReason] = []
    missing: list[str] = []
    for line in lines:
        counted, reason = _weigh(rule, line.category, day, battery_kwh)
        if reason is None:
            reason = "its capacity is not told: fill in system.battery.kwh"
            missing.append(f"Whether '{line.item}' counts depends on its capacity: fill in system.battery.kwh.")
        cost += line.cost * counted
        sales_tax += line.sales_tax * counted
        line_reasons.append(LineReason(line.item, line.category, bool(counted.any()), reason))
    if rule.subsidies_lower_basis.value:
        for subsidy in subsidies:
            if subsidy.lowers_basis:
                lowering += subsidy.amount
    gross = cost + sales_tax
    taken = np.minimum(lowering, gross)
    return Basis(cost, sales_tax, taken, gross - taken, line_reasons, missing)


def _weigh(rule: Rule, category: str, day: date, battery_kwh: Array | None) -> tuple[NDArray[np.bool_], str | None]:
    """Return in which cases a line of `category` counts, and why; no reason if the capacity is not told."""
    no, yes = np.array(False), np.array(True)
    test = rule.line_test(category)
    if test is None:
        return no, f"the rule does not say whether {category} counts, so it is left out"
    if not test.counted:
        return no, test.because
    if test.since is not None and day < test.since:
        return no, test.before
    if test.smallest_kwh is None:
        return yes, test.because
    if battery_kwh is None:
        return no, None
    enough = np.asarray(battery_kwh) >= test.smallest_kwh
    if enough.all():
        return yes, test.because
    if not enough.any():
        return (
            no,
            f"{np.max(battery_kwh):g} kWh is below the {test.smallest_kwh:g} kWh a battery needs to count",
        )
    some = f"in {enough.sum()} of {enough.size} cases; below {test.smallest_kwh:g} kWh it does not count"
    return enough, f"{test.because} ({some})"
