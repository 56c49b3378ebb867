"""What is said of a loan's yearly payments beside what an alternative brings in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from finsolar.report.words.amounts import money

Plain = dict[str, Any]

PAYMENTS = "Loan payments"
BROUGHT_IN = "Saving and awards, less upkeep and replacements"
ALT = "Bars of yearly loan payments and a line of the yearly saving after upkeep."
YEAR = "Year"
HEAD = (YEAR, PAYMENTS, BROUGHT_IN, "Left over")

_NOTHING = 0.005  # less than half a cent is no money


def title(name: str) -> str:
    """The title of one alternative's chart."""
    return f"Payment against what “{name}” brings in"


def caption(name: str) -> str:
    """The head of one alternative's table."""
    return f"Loan payments and saving by year: {name}"


def axis(currency: str) -> str:
    """What the axis of money counts."""
    return f"{currency} a year"


def reading(name: str, paid: Sequence[float], brought: Sequence[float], first_year: Plain, currency: str) -> str:
    """What a loan on an alternative asks of the household.

    ``paid`` and ``brought`` in by year, ``first_year`` of the loan by month.
    """
    return _added_told(name, paid, brought, currency) + _bill_alone(first_year, paid, brought, currency)


def _bill_alone(first_year: Plain, paid: Sequence[float], brought: Sequence[float], currency: str) -> str:
    """By how much the bill alone falls, where year 1 is carried by what comes once, such as an award."""
    saving, payment = sum(first_year["saving"]), sum(first_year["payment"])
    if paid[0] <= 0 or brought[0] < paid[0] or saving >= payment - _NOTHING:
        return ""
    fall, short = (money(amount / 12, currency) for amount in (saving, payment - saving))
    return f" The bill by itself falls by {fall} a month in year 1, {short} less than the payment."


def _added_told(name: str, paid: Sequence[float], brought: Sequence[float], currency: str) -> str:
    """What a loan asks of the household a month in year 1, and in which of its years it asks for more than there is."""
    due = [k for k, amount in enumerate(paid) if amount > 0]
    if not due:
        return "Nothing is paid on the loan within the study."
    first = due[0]
    gap, a_month = paid[first] - brought[first], money(paid[first] / 12, currency)
    told = f"In year {first + 1} the payments are {a_month} a month"
    if gap <= _NOTHING:
        more = money(-gap, currency)
        told += f" and “{name}” brings in {more} more over that year, what comes once included."
    elif brought[first] >= 0:
        told += f"; you add {money(gap / 12, currency)} a month to what “{name}” brings in."
    else:
        told += f" and “{name}” itself takes money, so that you add {money(gap / 12, currency)} a month."
    short = {k: paid[k] - brought[k] for k in due if paid[k] - brought[k] > _NOTHING}
    if not short:
        return f"{told} In no year of the loan do the payments ask for more than that."
    most = max(short, key=lambda k: short[k])
    often = "In every year" if len(short) == len(due) else f"In {len(short)} of the {len(due)} years"
    return (
        f"{told} {often} of the loan the household adds something, most in year "
        f"{most + 1}: {money(short[most], currency)}."
    )
