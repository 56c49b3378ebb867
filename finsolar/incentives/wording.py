"""The sentences of an award: why a rule grants or refuses, with the dates and numbers that decided."""

from collections.abc import Sequence
from datetime import date

import numpy as np

from finsolar.incentives.facts import Array, House, Subsidy
from finsolar.incentives.law import Ended, NotYet, Rule, Value

# Spelled here, since strftime would follow the locale of the machine.
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def written(day: date) -> str:
    """Return a date as people write it, such as 1 May 2026."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def money(currency: str, amount: Array) -> str:
    """Return an amount in words, or its range where the cases (...) differ; cents only where needed."""
    low, high = float(np.min(amount)), float(np.max(amount))
    if low != high:
        return f"{currency} {low:,.0f} to {high:,.0f}"
    return f"{currency} {low:,.0f}" if low == round(low) else f"{currency} {low:,.2f}"


def percent(share: Value) -> str:
    """Return a share as people write it, such as 30% or 22.5%."""
    return f"{100 * share.amount:.6g}%"


def in_force(rule: Rule, share: Value, day: date) -> str:
    """Say which share applies to an event on `day`, and for which days it does."""
    last = rule.parameters["share"].last_day(share)
    period = f"from {written(share.start)} to {written(last)}" if last else f"since {written(share.start)}"
    return (
        f"{rule.event.capitalize()} on {written(day)}: the share is {percent(share)} of the basis {period}. "
        f"({share.source.reference})"
    )


def not_in_force(rule: Rule, entry: Ended | NotYet, day: date) -> str:
    """Say that the rule has not begun, or has ended, by an event on `day`."""
    event = f"{rule.event.capitalize()} on {written(day)}"
    if isinstance(entry, NotYet):
        return f"{event}: not in force, since the rule begins on {written(entry.first)}. ({rule.reference})"
    return (
        f"{event}: not in force, since the rule ended on {written(entry.eve)}. {entry.because} "
        f"({entry.source.reference})"
    )


def had_it_been(rule: Rule, last: date, basis: Array, potential: Array) -> str:
    """Say what the same lines would have had on the `last` day of the rule."""
    return (
        f"With {rule.event} by {written(last)}, the same costs would have had a basis of "
        f"{money(rule.currency, basis)} and a potential credit of {money(rule.currency, potential)}."
    )


def about_subsidies(rule: Rule, subsidies: Sequence[Subsidy]) -> list[str]:
    """Say of each subsidy whether it lowers the basis, and once why."""
    if not subsidies:
        return []
    term = rule.subsidies_lower_basis
    sentences = [
        f"{subsidy.item} ({money(rule.currency, subsidy.amount)}) "
        f"{'lowers' if term.value and subsidy.lowers_basis else 'does not lower'} the basis."
        for subsidy in subsidies
    ]
    return [*sentences, f"{term.because} ({term.source.reference})"]


def about_amount(rule: Rule, share: Value, cap: Value, basis: Array, potential: Array) -> list[str]:
    """Say how the potential credit follows from the basis, and what the cap cuts off."""
    uncut = basis * share.amount
    sentences = [f"{percent(share)} of {money(rule.currency, basis)} is {money(rule.currency, uncut)}."]
    if (potential < uncut).any():
        cut = money(rule.currency, uncut - potential)
        limit = money(rule.currency, np.array(cap.amount))
        sentences.append(f"The cap is {limit}, so {cut} is cut off and lost. ({cap.source.reference})")
    return sentences


def about_use(rule: Rule, used: Array, carried: Array, lost: Array, unused: Array) -> list[str]:
    """Say when the credit comes (`used` is (..., years)), and what is carried on, lost or unused (...)."""
    currency, carry = rule.currency, rule.carry_forward
    sentences = [f"{money(currency, used[..., 0])} comes with the return of year 1. {rule.refundable.because}"]
    if carried.any():
        sentences.append(f"{money(currency, carried)} is carried to year 2. {carry.because} ({carry.source.reference})")
    if used[..., 1:].any():
        last = 1 + int(np.flatnonzero(used.reshape(-1, used.shape[-1]).any(axis=0))[-1])
        sentences.append(f"{money(currency, used[..., 1:].sum(axis=-1))} of that is used by year {last}.")
    if lost.any():
        sentences.append(
            f"{money(currency, lost)} is lost: it cannot be carried on any longer. ({carry.source.reference})"
        )
    if unused.any():
        sentences.append(
            f"{money(currency, unused)} is still unused at the end of the study, after year {used.shape[-1]}."
        )
    return sentences


def cautions(rule: Rule, house: House, day: date, known: str, today: date | None) -> list[str]:
    """Say what should be checked before anyone relies on the answer, an event on `day` having decided."""
    sentences: list[str] = []
    share = rule.parameters["share"]
    switched_on = share.at(house.in_service)
    if share.at(day) != switched_on and house.in_service != day:
        sentences.append(
            f"Caution: on {written(house.in_service)} the rule says something else. What counts is "
            f"'{rule.event}' ({written(day)}); keep dated proof of it."
        )
    latest = max(house.in_service, today) if today else house.in_service
    if (latest - rule.checked_on).days > 365:
        sentences.append(
            f"Caution: this rule was last checked on {written(rule.checked_on)}, more than a year before "
            f"{written(latest)}; look whether the law has changed."
        )
    if known == "memory":
        sentences.append("Caution: the value comes from memory and was not looked up; check it first.")
    return sentences
