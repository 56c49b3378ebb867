"""What it costs, what comes back every so many years, and how it is paid."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator

from finsolar.scenario.blocks import Block, Text, WholeYears, default
from finsolar.scenario.numbers import Amount, FixedShare, Interest, Positive, Rise, Share, fault
from finsolar.scenario.problems import shown

Category = Literal[
    "modules", "inverter", "battery", "racking", "wiring", "generator", "labour", "permits",
    "interconnection", "roof", "service panel", "tools", "shipping", "finance", "other",
]  # fmt: skip
"""Kinds of cost line. Incentive rules name the ones they count."""

SERVICES = frozenset({"labour", "permits", "interconnection", "finance"})
"""Categories that are no goods: they bear the tax on services, not that on sales."""


class CostLine(Block):
    """One line of what it costs to build, today's money."""

    item: Text
    category: Category
    cost: Amount | None = None
    each: Amount | None = None
    quantity: Positive | None = None
    sales_tax: Share | None = None
    contingency: Share | None = None
    residual: Share = default(0.0, "nothing is counted as left at the end of the study")
    note: Text | None = None

    @model_validator(mode="after")
    def _one_price(self) -> CostLine:
        if (self.cost is None) == (self.each is None):
            raise fault("price", "needs one price", "write either cost, or each and quantity")
        if self.quantity is not None and self.each is None:
            raise fault("price", "has a quantity but no price for each", "write each instead of cost")
        return self


class Purchase(Block):
    """Shares that hold for every cost line which does not state its own."""

    sales_tax: Share = default(0.0, "no sales tax was stated")
    services_tax: Share = default(0.0, "no sales tax on work, permits and fees was stated")
    contingency: Share = default(0.0, "no allowance for the unforeseen was stated")


class UpkeepLine(Block):
    """A cost that comes back: every year, every so many years, or in years that are named.

    A new battery may also fall due ``below`` a share of the first capacity: at the end of the year in which less is
    left.
    """

    item: Text
    category: Literal["upkeep", "insurance", "inverter", "battery", "modules", "generator", "other"]
    cost: Amount
    every: WholeYears = 1
    first: WholeYears | None = None
    in_years: Annotated[list[WholeYears], Field(min_length=1)] | None = None
    below: FixedShare | None = None
    rise: Rise | None = default(None, "rises with inflation")
    residual: Share = default(0.0, "nothing is counted as left at the end of the study")
    note: Text | None = None

    @model_validator(mode="after")
    def _falls_due_one_way(self) -> UpkeepLine:
        ways = [name for name in ("every", "in_years", "below") if name in self.model_fields_set]
        if len(ways) > 1:
            raise fault("due", f"says by {' and by '.join(ways)} when it falls due", "keep one of them")
        if self.first is not None and ways in (["in_years"], ["below"]):
            raise fault("due", f"has first beside {ways[0]}", "remove first")
        if self.below is not None and self.category != "battery":
            raise fault("due", "falls due by capacity, but is no battery", "write category: battery, or every")
        return self

    @property
    def is_replacement(self) -> bool:
        """Whether it renews a piece of equipment, by its category. A new battery has its full capacity again."""
        return self.category in {"inverter", "battery", "modules", "generator"}


class Rebate(Block):
    """Money from a programme that the scenario itself vouches for, received when the work is paid.

    ``category`` is that of the cost lines it is for; a basis without those lines is not lowered by it.
    """

    item: Text
    amount: Amount
    category: Category | None = None
    lowers_basis: bool = default(
        True, "a utility subsidy or a price rebate lowers the basis of a tax credit; the careful choice"
    )
    note: Text | None = None


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


class Stay(Block):
    """What staying as you are costs beyond the bill.

    Its lines state their own sales tax and contingency; the ``purchase`` of the alternatives does not reach them.
    """

    costs: list[CostLine] = []
    upkeep: list[UpkeepLine] = []
