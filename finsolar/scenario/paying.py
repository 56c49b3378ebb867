"""How it is paid: in cash, by a loan, or to the owner of the system."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Tag

from finsolar.scenario.blocks import Block, WholeYears, default
from finsolar.scenario.numbers import Amount, Interest, Rise, Share, fault
from finsolar.scenario.problems import shown


class Loan(Block):
    """A level loan paid monthly."""

    rate: Interest
    years: WholeYears
    fee: Share = default(0.0, "no fee was stated")
    share: Share = default(1.0, "the loan pays for everything")


class Borrowing(Block):
    """Payment by a loan."""

    loan: Loan


class LeaseTerms(Block):
    """A system that others own, for a sum each month, money of year 1; ``buyout`` is money of the day it is paid.

    Without a ``buyout`` the system is taken away at the end of its ``years``.
    """

    monthly: Amount
    rise: Rise = default(0.0, "no yearly increase was stated")
    years: WholeYears
    buyout: Amount | None = None


class Lease(Block):
    """Payment by a lease."""

    lease: LeaseTerms


class PerKwhTerms(Block):
    """A system that others own, for a price a kWh that it makes, money of year 1; the rest as in `LeaseTerms`."""

    price: Amount
    rise: Rise = default(0.0, "no yearly increase was stated")
    years: WholeYears
    buyout: Amount | None = None


class PerKwh(Block):
    """Payment for what the system makes."""

    per_kwh: PerKwhTerms


_WAYS_TO_PAY: dict[str, tuple[type[Block], str]] = {
    "loan": (Borrowing, "by loan"),
    "lease": (Lease, "by lease"),
    "per_kwh": (PerKwh, "by kWh"),
}


def _one_payment(value: object) -> object:
    mend = "write cash, or a block with loan, lease or per_kwh"
    if isinstance(value, Borrowing | Lease | PerKwh) or value == "cash":
        return value
    if not isinstance(value, dict):
        raise fault("payment", f"is {shown(value)}, no way to pay that is known here", mend)
    ways = [name for name in _WAYS_TO_PAY if name in value]
    if not ways:
        raise fault("payment", "does not say how it is paid", mend)
    if len(ways) > 1:
        raise fault("payment", f"says by {' and by '.join(ways)} how it is paid", "keep one of them")
    return value


def _way_to_pay(value: object) -> str:
    """Which way is meant, so that only its faults are reported."""
    for name, (kind, mark) in _WAYS_TO_PAY.items():
        if isinstance(value, kind) or (isinstance(value, dict) and name in value):
            return mark
    return "cash"


Payment = Annotated[
    Annotated[Borrowing, Tag("by loan")]
    | Annotated[Lease, Tag("by lease")]
    | Annotated[PerKwh, Tag("by kWh")]
    | Annotated[Literal["cash"], Tag("cash")],
    Discriminator(_way_to_pay),
    BeforeValidator(_one_payment),
]
"""In cash, by a loan, or to the owner of the system: by the month, or by what it makes."""
