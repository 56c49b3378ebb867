"""The sentences of an award: why a rule grants or refuses, with the dates and numbers that decided."""

from collections.abc import Mapping
from datetime import date

import numpy as np

from finsolar.incentives.facts import Array, House
from finsolar.incentives.law import Band, Ended, NotYet, Rule, Unknown, Value

# Spelled here, since strftime would follow the locale of the machine.
_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def written(day: date) -> str:
    """Return a date as people write it, such as 1 May 2026."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def money(currency: str, amount: Array | float) -> str:
    """Return an amount in words, or its range where the cases (...) differ; cents only where needed."""
    low, high = float(np.min(amount)), float(np.max(amount))
    if low != high:
        return f"{currency} {low:,.0f} to {high:,.0f}"
    if 0 < abs(low) < 1:
        return f"{currency} {low:.6g}"
    return f"{currency} {low:,.0f}" if low == round(low) else f"{currency} {low:,.2f}"


def percent(share: float) -> str:
    """Return a share as people write it, such as 30% or 22.5%."""
    return f"{100 * share:.6g}%"


def number(value: Array) -> str:
    """Return a plain number in words, or its range where the cases (...) differ."""
    low, high = float(np.min(value)), float(np.max(value))
    return f"{low:,.6g}" if low == high else f"{low:,.6g} to {high:,.6g}"


_SHARES = frozenset({"share", "rate_left", "share_spared", "exempt_share", "rate", "fee", "yearly_step_down"}) | {
    "cap_share_of_cost",
    "yearly_share_of_tax",
    "weights",
}
_MONEY = frozenset({"per_kw", "per_kwh", "per_mwh", "fixed", "cap", "cap_per_kw", "cap_per_kwh", "lifetime_cap"}) | {
    "yearly_cap",
    "floor_price",
    "fee_each",
    "price_each",
    "smallest",
}


def in_words(name: str, value: Value, currency: str) -> str:
    """Return the value of a parameter in words, whatever its sort."""

    def one(amount: float) -> str:
        if np.isinf(amount):
            return "no limit"
        if name in _SHARES:
            return percent(amount)
        return money(currency, amount) if name in _MONEY else f"{amount:,.6g}"

    if not isinstance(value.amount, tuple):
        return one(value.amount)
    if any(isinstance(part, Band) for part in value.amount):
        steps = [f"{one(b.value)} up to {b.up_to:g}" if np.isfinite(b.up_to) else one(b.value) for b in value.bands]
        return ", then ".join(steps)
    return ", ".join(percent(share) for share in value.shares)


_LEADS: Mapping[str, str] = {
    "share": "the share is {} of the basis",
    "per_kw": "the rate is {} for each kW",
    "per_kwh": "the rate is {} for each kWh",
    "per_mwh": "the rate is {} for each MWh",
    "fixed": "the amount is {}",
    "yearly_shares": "the shares of the cost, year after year, are {}",
    "kwh_each": "one certificate stands for {} kWh",
    "factor": "the factor is {}",
    "rate_left": "the tax that is left is {}",
    "share_spared": "{} of the tax is spared",
    "exempt_share": "{} of the added value is exempt",
    "rate": "the interest is {} a year",
    "ceiling_kw": "the ceiling is {} kW",
}


def in_force(rule: Rule, entry: Value, day: date) -> str:
    """Say which value applies to an event on `day`, and for which days it does."""
    last = rule.leading.last_day(entry)
    period = f"from {written(entry.start)} to {written(last)}" if last else f"since {written(entry.start)}"
    lead = _LEADS[rule.lead].format(in_words(rule.lead, entry, rule.currency))
    lead = lead.replace("is no limit kW", "stands at no limit")
    return f"{rule.event.capitalize()} on {written(day)}: {lead} {period}. ({entry.source.reference})"


def not_in_force(rule: Rule, entry: Ended | NotYet | Unknown, day: date) -> str:
    """Say that the rule has not begun, has ended, or is not known for an event on `day`."""
    event = f"{rule.event.capitalize()} on {written(day)}"
    if isinstance(entry, NotYet):
        return f"{event}: not in force, since the rule begins on {written(entry.first)}. ({rule.reference})"
    if isinstance(entry, Unknown):
        return (
            f"{event}: not known here, so nothing is counted. What the law says from {written(entry.start)} is open. "
            f"{entry.because} ({entry.source.reference})"
        )
    return (
        f"{event}: not in force, since the rule ended on {written(entry.eve)}. {entry.because} "
        f"({entry.source.reference})"
    )


def about_use(rule: Rule, used: Array, carried: Array, lost: Array, unused: Array) -> list[str]:
    """Say when the credit comes (`used` is (..., years)), and what is carried on, lost or unused (...)."""
    currency, carry = rule.currency, rule.carry_forward
    first = rule.refundable.because if rule.refundable is not None else ""
    sentences = [f"{money(currency, used[..., 0])} comes with the return of year 1. {first}".strip()]
    if carried.any() and carry is not None:
        sentences.append(f"{money(currency, carried)} is carried to year 2. {carry.because} ({carry.source.reference})")
    if used[..., 1:].any():
        last = 1 + int(np.flatnonzero(used.reshape(-1, used.shape[-1]).any(axis=0))[-1])
        sentences.append(f"{money(currency, used[..., 1:].sum(axis=-1))} of that is used by year {last}.")
    if lost.any() and carry is not None:
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
    in_service = house.day("in service")
    if rule.event != "new year" and in_service != day and rule.leading.at(day) != rule.leading.at(in_service):
        sentences.append(
            f"Caution: on {written(in_service)} the rule says something else. What counts is "
            f"'{rule.event}' ({written(day)}); keep dated proof of it."
        )
    latest = max(in_service, today) if today else in_service
    if (latest - rule.checked_on).days > 365:
        sentences.append(
            f"Caution: this rule was last checked on {written(rule.checked_on)}, more than a year before "
            f"{written(latest)}; look whether the law has changed."
        )
    if known == "memory":
        sentences.append("Caution: the value comes from memory and was not looked up; check it first.")
    return sentences
