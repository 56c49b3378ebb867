"""The basis of an incentive: the cost lines a rule counts, their sales tax, less what lowers the price."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from finsolar.incentives.facts import Array, EligibleLine, LineReason
from finsolar.incentives.law import Rule


@dataclass(frozen=True, eq=False)
class Weighed:
    """In which cases (...) each cost line counts, the verdict on each, and what must be told to judge all."""

    counts: list[NDArray[np.bool_]]
    line_reasons: list[LineReason]
    missing: list[str]


@dataclass(frozen=True, eq=False)
class Basis:
    """The parts of a basis and their total, all (...) and positive."""

    lines: Array
    sales_tax: Array
    lowering: Array
    business: Array
    total: Array

    @property
    def gross(self) -> Array:
        """The counted lines with their sales tax, (...)."""
        return np.asarray(self.lines + self.sales_tax)


def weigh_lines(rule: Rule, day: date, lines: Sequence[EligibleLine], battery_kwh: Array | None) -> Weighed:
    """Return which cost lines count under `rule` for an event on `day`; `battery_kwh` (...) is None if not told."""
    counts: list[NDArray[np.bool_]] = []
    line_reasons: list[LineReason] = []
    missing: list[str] = []
    for line in lines:
        counted, reason = _weigh(rule, line.category, day, battery_kwh)
        if reason is None:
            reason = "its capacity is not told: fill in system.battery.kwh"
            missing.append(f"Whether '{line.item}' counts depends on its capacity: fill in system.battery.kwh.")
        counts.append(counted)
        line_reasons.append(LineReason(line.item, line.category, bool(counted.any()), reason))
    return Weighed(counts, line_reasons, missing)


def find_basis(
    rule: Rule,
    lines: Sequence[EligibleLine],
    counts: Sequence[NDArray[np.bool_]],
    lowering: Array,
    business_use: Array,
    shape: tuple[int, ...],
) -> Basis:
    """Return the basis of `rule` from the lines and the cases in which each counts.

    Money and the share of business use broadcast to `shape` (...); `lowering` is all that is taken off.

        total = (counted lines + their sales tax - what lowers the price, never below zero) * share that counts

    All counts up to the rule's own share of business use, beyond it only the private share.
    """
    cost, sales_tax = np.zeros(shape), np.zeros(shape)
    for line, counted in zip(lines, counts, strict=True):
        cost = cost + line.cost * counted
        sales_tax = sales_tax + line.sales_tax * counted
    gross = cost + sales_tax
    taken = np.minimum(np.broadcast_to(lowering, shape), gross)
    net = gross - taken
    share = np.zeros(shape)
    if rule.business_use is not None:
        share = np.where(business_use > rule.business_use.value, business_use, share)
    business = net * share
    return Basis(cost, sales_tax, taken, business, net - business)


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
