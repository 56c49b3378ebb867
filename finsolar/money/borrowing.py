"""A loan as lenders write them: fees, a deferred start, a moving rate, a lump sum paid in, a starter payment.

Events change the payment on the way, so the months are taken one after the other, for all cases at once. Between events
the payment is that of `loan.level_payment`.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.money.apr import annual_percentage_rate, effective_annual_rate
from finsolar.money.loan import Schedule, level_payment
from finsolar.money.rates import periods_left

Array = NDArray[np.float64]

# Half a cent that double precision lost this much of is still half a cent.
_HALF_CENT = 0.5 + 1e-6


@dataclass(frozen=True, eq=False)
class Note:
    """What is owed on the day a loan is paid out, and what of it serves the borrower; money (...) each."""

    borrowed: Array
    """Owed on the first day: what the note says, and what interest is charged on."""
    proceeds: Array
    """Paid out by the lender: borrowed less points and fee."""
    amount_financed: Array
    """What the borrower has the use of: proceeds less the dealer fee inside the price."""


@dataclass(frozen=True, eq=False)
class LoanLife(Schedule):
    """The life of a loan: the fields of `Schedule` and what came beside its regular payments.

    A month without payment has a negative principal, the interest added to what is owed. All principal and
    paydown together are what was borrowed; payment = interest + principal in every month.
    """

    paydown: Array
    """Paid in beside the regular payment; (..., months)."""
    excess: Array
    """What of the sum to pay in was more than was owed, and stays with the borrower; money (...)."""
    term: Array
    """Months until nothing is owed (...); a fraction for a last payment that is smaller than the others, 0 where
    nothing is borrowed."""
    note: Note

    @cached_property
    def interest_paid(self) -> Array:
        """Interest of each month by the day it is paid, (..., months): what was added to the debt comes with later
        payments, as far as they are above their own interest, and with what is paid in."""
        added, found = np.zeros(self.interest.shape[:-1]), np.empty(self.interest.shape)
        for month in range(self.interest.shape[-1]):
            owing = added + self.interest[..., month]
            found[..., month] = np.minimum(self.payment[..., month] + self.paydown[..., month], owing)
            added = owing - found[..., month]
        return found

    @property
    def total_interest(self) -> Array:
        """Interest of all months; money (...)."""
        return np.asarray(self.interest.sum(axis=-1))

    @property
    def finance_charge(self) -> Array:
        """All that is ever paid less the amount financed: interest, points and fees; money (...)."""
        return np.asarray((self.payment + self.paydown).sum(axis=-1) - self.note.amount_financed)

    @cached_property
    def apr(self) -> Array:
        """Annual percentage rate of the United States regulation, nominal (...); NaN where there is none."""
        return annual_percentage_rate(self.flows)

    @cached_property
    def effective_rate(self) -> Array:
        """Annual percentage rate of the European directive, effective (...); NaN where there is none."""
        return effective_annual_rate(self.flows, np.arange(self.flows.shape[-1]) / 12)

    @property
    def reasons(self) -> dict[str, str]:
        """Why some case has no ``apr`` or no ``effective_rate``, by that name."""
        why = "it is beyond any rate that can be told"
        if not np.any(self.note.borrowed):
            why = "nothing is borrowed"
        elif np.any(self.note.amount_financed <= 0):
            why = "fees take all that is borrowed, so there is nothing that a rate could be on"
        return {name: why for name in ("apr", "effective_rate") if np.isnan(getattr(self, name)).any()}

    @property
    def flows(self) -> Array:
        """The loan in the borrower's hands: the amount financed, then what is paid; (..., months + 1)."""
        return np.concatenate([self.note.amount_financed[..., None], -(self.payment + self.paydown)], axis=-1)


def note(
    price: ArrayLike,
    *,
    points: ArrayLike = 0.0,
    fee: ArrayLike = 0.0,
    on_top: bool = False,
    dealer_fee: ArrayLike = 0.0,
    dealer_fee_of: Literal["financed price", "cash price"] = "financed price",
    to_cents: bool = False,
) -> Note:
    """Work out how much is borrowed to pay a price, and what of it goes to lender and dealer.

    price: what the work costs in cash, money (...); points: share (...) of what is borrowed, below 1; fee: money
    (...); on_top: True to borrow points and fee as well, False to take them off what is paid out; dealer_fee:
    share (...) of the price named by dealer_fee_of, hidden in the price that is financed; to_cents: what is owed in
    whole cents, half a cent upwards. Shapes broadcast.
    Returns a `Note`. Raises ValueError for a negative number, or a share of a whole that is not below 1.
    Equations: financed price = price / (1 - dealer_fee), or price (1 + dealer_fee) as a share of the cash price;
    borrowed = (financed price + fee) / (1 - points) on top, else the financed price; proceeds = borrowed
    (1 - points) - fee; amount financed = proceeds - (financed price - price).
    Source: amount financed and finance charge of 12 CFR 1026.18(b), (d); the dealer fee counted as finance
    charge. A deducted fee may exceed what is borrowed; then nothing is left to serve the borrower and a rate
    does not exist.
    """
    cash = _at_least_zero(price, "price")
    share, charge = _share(points, "points"), _at_least_zero(fee, "fee")
    if dealer_fee_of == "financed price":
        financed = cash / (1 - _share(dealer_fee, "dealer fee"))
    else:
        financed = cash * (1 + _at_least_zero(dealer_fee, "dealer fee"))
    borrowed = _money((financed + charge) / (1 - share) if on_top else financed, to_cents)
    borrowed, proceeds, usable = np.broadcast_arrays(
        borrowed, borrowed * (1 - share) - charge, borrowed * (1 - share) - charge - (financed - cash)
    )
    return Note(borrowed, proceeds, usable)


def borrow(
    of: Note,
    annual_rate: ArrayLike,
    months: ArrayLike,
    *,
    later_rates: ArrayLike | None = None,
    deferral: ArrayLike = 0,
    interest_only: bool = False,
    paydown: ArrayLike = 0.0,
    paydown_month: ArrayLike = 0,
    shorten: bool = False,
    presumed: ArrayLike = 0.0,
    to_cents: bool = False,
) -> LoanLife:
    """Follow a loan month by month until it is repaid.

    of: the note (...); annual_rate: nominal (...), a twelfth of it each month, for all years or the first;
    later_rates: (..., years - 1), of years 2, 3, ..., the last one holds on; months: (...) from paying out to
    the last payment, deferral included; deferral: (...) months before payments begin, in which interest is
    added to what is owed or, with interest_only, paid; paydown: money (...) paid in beside the payment of
    paydown_month (...), from month 1 on; presumed: share (...) of what was borrowed that payments up to
    paydown_month take for paid in already (a starter payment); shorten: True keeps the payment after the
    paydown and ends sooner, False keeps the end and lowers the payment; to_cents: interest, payments and paydown in
    whole cents, half a cent upwards, the last payment settling the rest. Shapes broadcast; `months` of the
    result is the longest term, and a shorter loan has zeros behind its end.
    Returns a `LoanLife`. Raises ValueError for a negative rate or amount, a number of months that is not whole
    or out of range, a presumed share of 1 or more, or shorten with a starter payment, which must change.

    Equations: interest = rate / 12 x balance; payment = level_payment(balance, rate, payments left), worked out
    anew when payments begin, the rate changes, a paydown is made or a starter payment ends, and level in
    between; a starter payment is that of the balance less the presumed share, and may be less than the interest.
    With shorten the payments left are n = -ln(1 - balance x rate / 12 / payment) / ln(1 + rate / 12), at 0 %
    balance / payment; a later change of rate keeps that end. A paydown before payments begin lowers what they
    repay, for there is no payment yet to keep.
    """
    yearly = np.asarray(annual_rate, dtype=np.float64)[..., None]
    if later_rates is not None:
        later = np.asarray(later_rates, dtype=np.float64)
        shape = np.broadcast_shapes(yearly.shape[:-1], later.shape[:-1])
        yearly = np.concatenate([np.broadcast_to(part, (*shape, part.shape[-1])) for part in (yearly, later)], axis=-1)
    monthly = _at_least_zero(yearly, "interest rate") / 12
    share, wanted = _share(presumed, "presumed share"), _money(_at_least_zero(paydown, "paydown"), to_cents)
    last, first, when = _whole(months, "term"), _whole(deferral, "deferral"), _whole(paydown_month, "paydown month")
    if np.any(last < 1) or np.any(first >= last) or np.any(when > last):
        raise ValueError("a loan needs at least one payment after its deferral, and a paydown month within its term")
    if np.any(((wanted > 0) | (share > 0)) & (when < 1)):
        raise ValueError("a paydown, made or presumed, needs its month, 1 or later")
    if shorten and np.any(share > 0):
        raise ValueError("a starter payment cannot be kept: after its end the loan is re-amortised")

    cases = np.broadcast_shapes(*(x.shape for x in (of.borrowed, monthly[..., 0], share, wanted, last, first, when)))
    length = int(last.max(initial=1))
    starter_end = np.where(share > 0, when, 0)
    balance = np.broadcast_to(_money(of.borrowed, to_cents), cases)
    end, payment = np.broadcast_to(last, cases), np.zeros(cases)
    missing, rate = np.broadcast_to(wanted, cases), monthly[..., 0]
    interest, principal, paid_in, owed = (np.empty((*cases, length)) for _ in range(4))
    for month in range(1, length + 1):
        before, rate = rate, monthly[..., min((month - 1) // 12, monthly.shape[-1] - 1)]
        paying, left = month > first, end - (month - 1)
        anew = (month == first + 1) | (month == starter_end + 1) | (rate != before)
        if not shorten:
            anew = anew | ((wanted > 0) & (month == when + 1))
        if np.any(anew):
            to_repay = np.maximum(balance - np.where(month <= starter_end, share * of.borrowed, 0.0), 0)
            fresh = level_payment(to_repay, 12 * rate, np.maximum(left, 1))
            payment = np.where(anew, _money(fresh, to_cents), payment)

        charged = _money(balance * rate, to_cents)
        # In the last month, and in a part of one, all that is owed is due with its interest.
        repaid = np.where(left <= 1, balance, np.minimum(payment - charged, balance))
        repaid = np.where(paying, repaid, 0.0 if interest_only else -charged)
        balance = _money(balance - repaid, to_cents)
        lump = np.where(month == when, np.minimum(missing, balance), 0.0)
        balance, missing = _money(balance - lump, to_cents), missing - lump
        if np.any(lump > 0):
            if shorten:
                sooner = month + periods_left(balance, payment, rate)
                end = np.where((lump > 0) & paying, np.minimum(sooner, end), end)
            end = np.where((lump > 0) & (balance == 0), month, end)
        at = (..., month - 1)
        interest[at], principal[at], paid_in[at], owed[at] = charged, repaid, lump, balance
    end = np.where(np.broadcast_to(of.borrowed, cases) > 0, end, 0.0)
    each = Note(*(np.broadcast_to(money, cases) for money in (of.borrowed, of.proceeds, of.amount_financed)))
    return LoanLife(interest, principal, owed, paid_in, np.asarray(missing), np.asarray(end), each)


def _money(amount: Array, to_cents: bool) -> Array:
    return np.asarray(np.floor(100 * amount + _HALF_CENT) / 100) if to_cents else amount


def _at_least_zero(value: ArrayLike, name: str) -> Array:
    array = np.asarray(value, dtype=np.float64)
    if not (np.isfinite(array).all() and np.all(array >= 0)):
        raise ValueError(f"{name} must be a number of 0 or more, got {array.min():.4g}")
    return array


def _share(value: ArrayLike, name: str) -> Array:
    array = _at_least_zero(value, name)
    if np.any(array >= 1):
        raise ValueError(f"{name} must be below 1 as a share of the whole, got {array.max():.4g}")
    return array


def _whole(value: ArrayLike, name: str) -> Array:
    array = _at_least_zero(value, name)
    if np.any(array != np.rint(array)):
        raise ValueError(f"{name} must be a whole number of months")
    return array
