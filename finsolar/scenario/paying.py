"""How it is paid: in cash, by a loan, or to the owner of the system."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator

from finsolar.scenario.blocks import Block, WholeYears, default
from finsolar.scenario.numbers import Amount, Interest, PartShare, Rise, Share, fault
from finsolar.scenario.problems import shown

WholeMonths = Annotated[int, Field(strict=True, ge=0, le=600)]
"""A number of months, without a fraction."""


class Paydown(Block):
    """A lump sum paid into a loan beside the regular payment of a month.

    It is an ``amount``, a ``share`` of what was borrowed, or a share of the ``awards`` for the purchase that have come
    in by then. An amount of 0 tells what happens if nothing is paid in.
    """

    month: Annotated[int, Field(strict=True, ge=1, le=600)]
    amount: Amount | None = None
    share: Share | None = None
    awards: Share | None = None
    then: Literal["lower payment", "sooner end"] = default(
        "lower payment", "the loan is re-amortised over the months that are left"
    )

    @model_validator(mode="after")
    def _one_sum(self) -> Paydown:
        given = [name for name in ("amount", "share", "awards") if getattr(self, name) is not None]
        if len(given) != 1:
            what = f"says twice what is paid in, by {' and '.join(given)}" if given else "does not say what is paid in"
            raise fault("paydown", what, "write one of amount, share (of the loan) and awards (a share of them)")
        return self


class Loan(Block):
    """A loan paid monthly: level, or with fees, a later start, a moving rate, a lump sum paid in.

    ``rate`` is nominal, a twelfth of it each month; ``later_rates`` are those of years 2, 3, ..., and the last one
    holds on. It pays ``share`` of what is to be paid, or an ``amount``; the rest is cash. ``fee`` is a share of what is
    borrowed (points) and ``fixed_fee`` money, paid on the day or borrowed as well; ``dealer_fee`` hides in the price
    that is financed. For ``deferral_months`` nothing is paid, or interest only, as in the draw years of a line of
    credit. Payments up to the month of the paydown may presume that ``starter_share`` of the loan is paid in by then.
    ``deductible`` is the share of the interest that lowers the income taxed at ``household.marginal_tax``.
    """

    rate: Interest
    later_rates: Annotated[list[Interest], Field(min_length=1, max_length=49)] | None = None
    years: WholeYears
    share: Share = default(1.0, "the loan pays for everything")
    amount: Amount | None = None
    fee: PartShare = default(0.0, "no fee was stated")
    fixed_fee: Amount = default(0.0, "no fixed fee was stated")
    fees: Literal["paid on the day", "borrowed"] = default("paid on the day", "fees are the household's own money")
    dealer_fee: PartShare = default(0.0, "no dealer fee was stated")
    dealer_fee_of: Literal["financed price", "cash price"] = default(
        "financed price", "a dealer fee is usually quoted so; the dearer reading"
    )
    deferral_months: WholeMonths = default(0, "payments begin with the first month")
    deferral_pays: Literal["nothing", "interest"] = default("nothing", "unpaid interest is added to what is owed")
    paydown: Paydown | None = None
    starter_share: PartShare = default(0.0, "payments repay the whole loan from the start")
    deductible: Share = default(0.0, "no interest is taken off taxable income unless it is stated")
    whole_cents: bool = default(False, "lenders round to cents, which moves a payment by less than one")

    @property
    def moot(self) -> frozenset[str]:
        """Defaults that say something only beside other fields."""
        away = {"share"} if self.amount is not None else set()
        away |= {"dealer_fee_of"} if isinstance(self.dealer_fee, float) and self.dealer_fee == 0 else set()
        away |= {"fees"} if not {"fee", "fixed_fee"} & self.model_fields_set else set()
        return frozenset(away | ({"deferral_pays"} if self.deferral_months == 0 else set()))

    @model_validator(mode="after")
    def _hangs_together(self) -> Loan:
        if self.amount is not None and "share" in self.model_fields_set:
            raise fault("loan-size", "says twice what is borrowed, by share and amount", "keep one of them")
        if self.deferral_months >= 12 * self.years:
            what = f"has {self.deferral_months} deferral_months and ends after {12 * self.years}"
            raise fault("deferral", what, "leave months in which to pay it back")
        if "deferral_pays" in self.model_fields_set and self.deferral_months == 0:
            raise fault("deferral", "has deferral_pays without deferral_months", "add deferral_months, or remove it")
        if self.paydown is not None and self.paydown.month > 12 * self.years:
            what = f"has a paydown in month {self.paydown.month} and ends after {12 * self.years}"
            raise fault("paydown", what, "let it fall within the loan")
        if self.later_rates is not None and len(self.later_rates) >= self.years:
            last = len(self.later_rates) + 1
            what = f"has later_rates up to year {last}, and ends after {self.years}"
            raise fault("later-rates", what, "leave out the rates of years that the loan does not run")
        starts_lower = not isinstance(self.starter_share, float) or self.starter_share > 0
        if starts_lower and self.paydown is None:
            mend = "add paydown: {amount: 0, month: 18}, with the month up to which it holds"
            raise fault("starter", "has a starter_share, but no paydown that it presumes", mend)
        if starts_lower and self.paydown is not None and self.paydown.month <= self.deferral_months:
            what = "has a starter_share up to a paydown that comes before any payment"
            raise fault("starter", what, "leave it out, or let the paydown come later")
        if starts_lower and self.paydown is not None and self.paydown.then == "sooner end":
            what = "keeps its payment after the paydown, though a starter payment cannot be kept"
            raise fault("starter", what, "write then: lower payment")
        return self


class Borrowing(Block):
    """Payment by a loan, all of it or beside cash."""

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
