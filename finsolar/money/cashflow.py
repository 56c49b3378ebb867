"""Lines of money by year: what goes out and what comes in, for one alternative against staying as you are.

Signs: money to the household is positive. Year 0 is the in-service day; the flows of year k fall at its end.
The lines add up to the net, exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from finsolar.money.borrowing import LoanLife, Note, borrow, note
from finsolar.money.costs import Upkeep, in_year
from finsolar.money.lease import lease_payments, per_kwh_payments, serving
from finsolar.money.loan import by_year
from finsolar.money.metrics import discounted
from finsolar.scenario.numbers import per_case
from finsolar.scenario.schema import Borrowing, Lease, LeaseTerms, Paydown, PerKwh, PerKwhTerms
from finsolar.tariff.bills import COMPONENTS, Bill

Array = NDArray[np.float64]

INVESTMENT, OPERATION, FINANCING, WORTH = "investment", "operation", "financing", "worth"

AWARDS, RESOLD, REMOVAL, LEFT = "awards", "tools sold again", "removal", "left at the end"

YEARLY_AWARDS, AWARD_TAX, PROPERTY_TAX = "yearly awards", "tax on awards", "property tax"
LOAN_RECEIVED, LOAN_FEE, DEALER_FEE = "loan received", "loan fee", "dealer fee"
LOAN_PAYMENTS, LOAN_PAYDOWN, INTEREST_TAX = "loan payments", "paid into the loan", "tax saved on interest"
LEASE, PER_KWH, BUYOUT = "lease payments", "payments per kWh", "buy-out at the end of the term"

WORTH_OF_BACKUP = "worth of backup"

RUNNING = ("upkeep", "insurance", YEARLY_AWARDS, AWARD_TAX, PROPERTY_TAX, LEASE, PER_KWH)
"""Lines of operation that belong to the system itself, whatever the bill was before."""

_NOTHING: Array = np.zeros(())


@dataclass(frozen=True, eq=False)
class CashFlow:
    """Lines by name, each (..., years + 1), and which kind of money each is.

    kinds : investment (capital, rebates, awards, replacements, a buy-out, a removal, what is left), operation (savings,
    upkeep, insurance, yearly awards, taxes, what is paid for a system that others own), financing (a loan) or worth (of
    backup, where the household counts it: no cash).
    """

    lines: dict[str, Array]
    kinds: dict[str, str]

    @property
    def net(self) -> Array:
        """All lines together, (..., years + 1)."""
        return self.of_kind(INVESTMENT, OPERATION, FINANCING, WORTH)

    @property
    def running(self) -> Array:
        """The running total of the net, (..., years + 1)."""
        return np.cumsum(self.net, axis=-1)

    def plus(self, name: str, kind: str, line: Array) -> CashFlow:
        """The same with one more line (..., years + 1)."""
        return CashFlow({**self.lines, name: line}, {**self.kinds, name: kind})

    def discounted(self, rate: Array) -> Array:
        """The net of each year brought to year 0 at ``rate`` (...)."""
        return discounted(self.net, rate)

    def of_kind(self, *kinds: str) -> Array:
        """The lines of some kinds together, (..., years + 1); zeros where there is none."""
        nothing = np.zeros(next(iter(self.lines.values())).shape[-1])
        chosen = (line for name, line in self.lines.items() if self.kinds[name] in kinds)
        return np.asarray(sum(chosen, start=nothing))


def saving_line(component: str) -> str:
    """The name of the cash-flow line that holds the saving on one component of the bill."""
    return f"saving, {component}"


def owner_cash_flow(
    *,
    capital: Array,
    rebates: Array,
    awards: Array,
    before: Bill,
    after: Bill,
    avoided_investment: Array,
    avoided_upkeep: Array,
    upkeep: Upkeep,
    residual: Array,
    yearly_awards: Array = _NOTHING,
    award_tax: Array = _NOTHING,
    property_tax: Array = _NOTHING,
    resold: Array = _NOTHING,
    years: int,
) -> CashFlow:
    """The cash flow of owning, before any loan.

    capital, rebates : money (...), positive, in year 0; awards, residual : (..., years + 1), positive, and so are
    the costs of staying that are avoided, what would be built or replaced apart from what would be kept up;
    before, after : the bill of staying as you are and of the alternative. A bill line stands for each component
    that either of them has. yearly_awards : (..., years + 1), positive; award_tax, property_tax : (..., years + 1),
    negative; resold : (..., years + 1), positive, what comes back for tools; each of these, and the removal, has a
    line where it is not all zero.
    """
    lines = {"capital": -in_year(capital, 0, years), "rebates": in_year(rebates, 0, years), AWARDS: awards}
    kinds = dict.fromkeys(lines, INVESTMENT)
    for component in COMPONENTS:
        if component in before.components or component in after.components:
            saved = before.yearly(component) - after.yearly(component)
            year_0 = np.zeros((*saved.shape[:-1], 1))
            lines[saving_line(component)] = np.concatenate([year_0, saved], axis=-1)
    lines["upkeep avoided"] = avoided_upkeep
    lines["upkeep"] = -upkeep.upkeep
    lines["insurance"] = -upkeep.insurance
    yearly = {YEARLY_AWARDS: yearly_awards, AWARD_TAX: award_tax, PROPERTY_TAX: property_tax}
    lines |= {name: line for name, line in yearly.items() if np.any(line)}
    kinds |= {name: OPERATION for name in lines if name not in kinds}
    later = {
        "replacements": -upkeep.replacements,
        "investment avoided": avoided_investment,
        LEFT: residual,
    }
    seldom = {RESOLD: resold, REMOVAL: -upkeep.removal}
    later |= {name: line for name, line in seldom.items() if np.any(line)}
    lines |= later
    kinds |= dict.fromkeys(later, INVESTMENT)
    return CashFlow(lines, kinds)


@dataclass(frozen=True, eq=False)
class LoanTerms:
    """What a loan comes to, money (...) each but for its months.

    principal : owed on the first day; fee : what the lender takes for it, dealer_fee : what hides in the price;
    monthly_payment : the first regular one; tax_saved : within the study, by interest that is deducted; missing : what
    was to be borrowed beyond what is to be paid; received : awards that come in as money (..., years + 1); presumed :
    what payments up to ``paydown_month`` take for paid in; life : every month; not_paid_in : the same loan if the lump
    sum never comes, None where none is planned.
    """

    principal: Array
    fee: Array
    dealer_fee: Array
    monthly_payment: Array
    tax_saved: Array
    missing: Array
    received: Array
    presumed: Array
    paydown_month: int
    life: LoanLife
    not_paid_in: LoanLife | None


def borrowed(
    cash: CashFlow, payment: Borrowing, price: Array, awards: Array, marginal_tax: Array, years: int
) -> tuple[CashFlow, LoanTerms]:
    """The same cash flow with a loan: what it pays out and takes in year 0, its payments year by year.

    price : money (...) that is to be paid, of which the loan covers a part; awards : (..., years + 1) of the purchase
    that come in as money, out of which a lump sum may be paid in; marginal_tax : (...), on income that deductible
    interest lowers, the saving falling in the year in which interest is paid. Payments are reckoned monthly and shown
    by year.
    """
    loan, paydown = payment.loan, payment.loan.paydown
    wanted = price * per_case(loan.share) if loan.amount is None else per_case(loan.amount)
    paid_by_it = np.minimum(wanted, price)
    terms = note(
        paid_by_it,
        points=per_case(loan.fee),
        fee=per_case(loan.fixed_fee),
        on_top=loan.fees == "borrowed",
        dealer_fee=per_case(loan.dealer_fee),
        dealer_fee_of=loan.dealer_fee_of,
        to_cents=loan.whole_cents,
    )
    later = loan.later_rates
    follow = partial(
        borrow,
        terms,
        per_case(loan.rate),
        12 * loan.years,
        later_rates=None if later is None else np.stack(np.broadcast_arrays(*map(per_case, later)), axis=-1),
        deferral=loan.deferral_months,
        interest_only=loan.deferral_pays == "interest",
        paydown_month=0 if paydown is None else paydown.month,
        presumed=per_case(loan.starter_share),
        to_cents=loan.whole_cents,
    )
    lump = _lump(paydown, terms, awards)
    life = follow(paydown=lump, shorten=paydown is not None and paydown.then == "sooner end")
    fee, dealer_fee = terms.borrowed - terms.proceeds, terms.proceeds - terms.amount_financed
    saved = by_year(life.interest_paid, years) * np.asarray(per_case(loan.deductible) * marginal_tax)[..., None]
    extra = {LOAN_RECEIVED: in_year(terms.borrowed, 0, years), LOAN_FEE: -in_year(fee, 0, years)}
    sometimes = {
        DEALER_FEE: -in_year(dealer_fee, 0, years),
        LOAN_PAYDOWN: -by_year(life.paydown, years),
        INTEREST_TAX: saved,
    }
    extra |= {LOAN_PAYMENTS: -by_year(life.payment, years)}
    extra |= {name: line for name, line in sometimes.items() if np.any(line)}
    found = LoanTerms(
        principal=life.note.borrowed,
        fee=np.broadcast_to(fee, life.term.shape),
        dealer_fee=np.broadcast_to(dealer_fee, life.term.shape),
        monthly_payment=life.payment[..., loan.deferral_months],
        tax_saved=saved.sum(axis=-1),
        missing=wanted - paid_by_it,
        received=awards,
        presumed=np.asarray(life.note.borrowed * per_case(loan.starter_share)),
        paydown_month=0 if paydown is None else paydown.month,
        life=life,
        not_paid_in=follow() if np.any(lump) else None,
    )
    return CashFlow({**cash.lines, **extra}, {**cash.kinds, **dict.fromkeys(extra, FINANCING)}), found


def _lump(paydown: Paydown | None, of: Note, awards: Array) -> Array:
    """What is to be paid into a loan, money (...)."""
    if paydown is None:
        return np.zeros(())
    if paydown.amount is not None:
        return per_case(paydown.amount)
    if paydown.share is not None:
        return np.asarray(of.borrowed * per_case(paydown.share))
    assert paydown.awards is not None  # the schema lets pass exactly one of the three
    come_in = awards[..., : paydown.month // 12 + 1].sum(axis=-1)
    return np.asarray(np.maximum(come_in, 0.0) * per_case(paydown.awards))


def leased(cash: CashFlow, payment: Lease | PerKwh, generation: Array, own: Array, years: int) -> CashFlow:
    """The same cash flow with a system that others own: what is paid for it, and what ends with its term.

    generation : kWh (..., years); own : (..., years + 1), what is left of things the household bought itself, which
    stay with it, as does what its tools bring when they are sold. The payments are operation, like the bill they take
    the place of: a price paid for each year's use, with nothing owed or owned. A buy-out is an investment in the last
    year of the term; at or beyond the end of the study it is left out, since what it would buy lies beyond. Without
    one, a system whose term ends sooner is taken away: from the next year on the house is as it was, so no other line
    of investment or operation goes on.
    """
    terms: LeaseTerms | PerKwhTerms
    if isinstance(payment, Lease):
        terms, name = payment.lease, LEASE
        paid = lease_payments(payment.lease.monthly, terms.rise, terms.years, years)
    else:
        terms, name = payment.per_kwh, PER_KWH
        paid = per_kwh_payments(payment.per_kwh.price, terms.rise, terms.years, generation)
    there = np.concatenate([[1.0], serving(terms.years, years, terms.buyout is not None)])
    lines = {
        each: line if cash.kinds[each] == FINANCING or each == RESOLD else line * there
        for each, line in cash.lines.items()
    }
    lines[LEFT] = own + (cash.lines[LEFT] - own) * there
    lines[name] = np.concatenate([np.zeros((*paid.shape[:-1], 1)), -paid], axis=-1)
    kinds = {**cash.kinds, name: OPERATION}
    if terms.buyout is not None and terms.years < years:
        lines[BUYOUT] = -in_year(per_case(terms.buyout), terms.years, years)
        kinds[BUYOUT] = INVESTMENT
    return CashFlow(lines, kinds)
