"""What a rule asks of a household: met, refused, or not known because a fact is missing."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from finsolar.incentives.facts import House
from finsolar.incentives.law import FACTS, NUMBERS, Condition, Rule, Unknown


@dataclass(frozen=True, eq=False)
class Verdict:
    """Why the household is refused, which facts are missing, and in which cases (...) nothing refuses it."""

    refusals: list[str]
    missing: list[str]
    met: NDArray[np.bool_]


def weigh(rule: Rule, house: House, day: date) -> Verdict:
    """Return what the conditions of `rule` say to `house` for an event on `day`."""
    refusals: list[str] = []
    missing: list[str] = []
    met = np.array(True)
    claim = house.claimed(rule.id)
    if not claim.claim:
        refusals.append(f"Left out by your own choice (claims.{rule.id}).")
    if house.facts.get("solar") is False and house.facts.get("battery") is False:
        refusals.append(
            "No system is built, and every rule is about one. What is granted for anything else belongs under rebates."
        )
    if house.currency not in {None, rule.currency}:
        missing.append(f"The rule reckons in {rule.currency}, the scenario in {house.currency}: write the scenario so.")
    for name, dated in rule.parameters.items():
        found_then = dated.at(day)
        if isinstance(found_then, Unknown) and name != rule.lead:
            missing.append(f"What the law says of {name} is open. {found_then.because} ({found_then.source.reference})")
    for condition in rule.conditions:
        if (condition.since and day < condition.since) or (condition.until and day > condition.until):
            continue
        because = f"{condition.because} ({condition.source.reference})"
        if condition.needs in NUMBERS:
            some, told = _within(condition, house)
            met = met & some
            found = None if told is None else bool(some.any())
            hint = f" It is {told}." if told else f" Fill in {NUMBERS[condition.needs]}."
        elif condition.needs == "household confirms":
            found, hint = claim.confirmed, f" If it is so, write confirmed: true for {rule.id} under claims."
        else:
            found, hint = house.facts.get(condition.needs), f" Fill in {FACTS[condition.needs]}."
        if found is None:
            missing.append(because + hint)
        elif not found and condition.otherwise == "refused":
            refusals.append(because + (hint if condition.needs in NUMBERS else ""))
        elif not found:
            missing.append(f"{because} What you told ({_field(condition)}) leaves open whether you are one of them.")
    if rule.first_come is not None and rule.first_come.value:
        because = f"{rule.first_come.because} ({rule.first_come.source.reference})"
        if claim.funds is False:
            refusals.append(because)
        elif claim.funds is None:
            missing.append(f"{because} If you know that money is left, write funds: true for {rule.id} under claims.")
    return Verdict(refusals, missing, met)


def _field(condition: Condition) -> str:
    return {**FACTS, **NUMBERS}[condition.needs]


def _within(condition: Condition, house: House) -> tuple[NDArray[np.bool_], str | None]:
    """Return in which cases (...) a number keeps its limits, and the number in words; None if it is not told."""
    number = house.numbers.get(condition.needs)
    if number is None:
        return np.array(True), None
    value = np.asarray(number)
    kept = np.ones(value.shape, dtype=np.bool_)
    if condition.at_least is not None:
        kept &= value >= condition.at_least
    if condition.at_most is not None:
        kept &= value <= condition.at_most
    low, high = float(value.min()), float(value.max())
    return kept, f"{low:,.6g}" if low == high else f"{low:,.6g} to {high:,.6g}"
