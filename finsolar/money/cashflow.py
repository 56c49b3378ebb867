"""Lines of money by year: what goes out and what comes in, for one alternative against staying as you are.

Signs: money to the household is positive. Year 0 is the in-service day; the flows of year k fall at its end.
The lines add up to the net, exactly.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.money.costs import Upkeep, in_year
from finsolar.money.lease import lease_payments, per_kwh_payments, serving
from finsolar.money.loan import by_year, schedule
from finsolar.money.metrics import discounted
from finsolar.scenario.numbers import per_case
from finsolar.scenario.schema import Borrowing, Lease, LeaseTerms, PerKwh, PerKwhTerms
from finsolar.tariff.bills import COMPONENTS, Bill

Array = NDArray[np.float64]

INVESTMENT, OPERATION, FINANCING = "investment", "operation", "financing"

YEARLY_AWARDS, AWARD_TAX, PROPERTY_TAX = "yearly awards", "tax on awards", "property tax"
LEASE, PER_KWH, BUYOUT = "lease payments", "payments per kWh", "buy-out at the end of the term"

RUNNING = ("upkeep", "insurance", YEARLY_AWARDS, AWARD_TAX, PROPERTY_TAX, LEASE, PER_KWH)
"""Lines of operation that belong to the system itself, whatever the bill was before."""

_NOTHING: Array = np.zeros(())


@dataclass(frozen=True, eq=False)
class CashFlow:
    """Lines by name, each (..., years + 1), and which kind of money each is.

    kinds : investment (capital, rebates, awards, replacements, a buy-out, what is left), operation (savings,
    upkeep, insurance, yearly awards, taxes, what is paid for a system that others own) or financing (a loan).
    """

    lines: dict[str, Array]
    kinds: dict[str, str]

    @property
    def net(self) -> Array:
        """All lines together, (..., years + 1)."""
        return self.of_kind(INVESTMENT, OPERATION, FINANCING)

    @property
    def running(self) -> Array:
        """The running total of the net, (..., years + 1)."""
        return np.cumsum(self.net, axis=-1)

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
    years: int,
) -> CashFlow:
    """The cash flow of owning, before any loan.

    capital, rebates : money (...), positive, in year 0; awards, residual : (..., years + 1), positive, and so are
    the costs of staying that are avoided, what would be built or replaced apart from what would be kept up;
    before, after : the bill of staying as you are and of the alternative. A bill line stands for each component
    that either of them has. yearly_awards : (..., years + 1), positive; award_tax, property_tax : (..., years + 1),
    negative; each has a line where it is not all zero.
    """
    lines = {"capital": -in_year(capital, 0, years), "rebates": in_year(rebates, 0, years), "awards": awards}
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
        "left at the end": residual,
    }
    lines |= later
    kinds |= dict.fromkeys(later, INVESTMENT)
    return CashFlow(lines, kinds)


@dataclass(frozen=True, eq=False)
class LoanTerms:
    """What a loan comes to: money (...) each, and the payment of each month."""

    principal: Array
    fee: Array
    monthly_payment: Array
    total_interest: Array


def borrowed(cash: CashFlow, payment: Borrowing, gross: Array, years: int) -> tuple[CashFlow, LoanTerms]:
    """The same cash flow with a loan: its proceeds and fee in year 0, its payments year by year.

    gross : money (...) that is to be paid; the loan covers the stated share of it. The fee is a share of what
    is borrowed, paid on the day. Payments are reckoned monthly and shown by year.
    """
    loan = payment.loan
    principal = gross * per_case(loan.share)
    plan = schedule(principal, per_case(loan.rate), 12 * loan.years)
    fee = principal * per_case(loan.fee)
    extra = {
        "loan received": in_year(principal, 0, years),
        "loan fee": -in_year(fee, 0, years),
        "loan payments": -by_year(plan.payment, years),
    }
    terms = LoanTerms(principal, fee, plan.payment[..., 0], plan.interest.sum(axis=-1))
    return CashFlow({**cash.lines, **extra}, {**cash.kinds, **dict.fromkeys(extra, FINANCING)}), terms


def leased(cash: CashFlow, payment: Lease | PerKwh, generation: Array, years: int) -> CashFlow:
    """The same cash flow with a system that others own: what is paid for it, and what ends with its term.

    generation : kWh (..., years). The payments are operation, like the bill they take the place of: a price paid for
    each year's use, with nothing owed or owned. A buy-out is an investment in the last year of the term; at or beyond
    the end of the study it is left out, since what it would buy lies beyond. Without one, a system whose term ends
    sooner is taken away: from the next year on the house is as it was, so no line of investment or operation goes on.
    """
    terms: LeaseTerms | PerKwhTerms
    if isinstance(payment, Lease):
        terms, name = payment.lease, LEASE
        paid = lease_payments(payment.lease.monthly, terms.rise, terms.years, years)
    else:
        terms, name = payment.per_kwh, PER_KWH
        paid = per_kwh_payments(payment.per_kwh.price, terms.rise, terms.years, generation)
    there = np.concatenate([[1.0], serving(terms.years, years, terms.buyout is not None)])
    lines = {each: line if cash.kinds[each] == FINANCING else line * there for each, line in cash.lines.items()}
    lines[name] = np.concatenate([np.zeros((*paid.shape[:-1], 1)), -paid], axis=-1)
    kinds = {**cash.kinds, name: OPERATION}
    if terms.buyout is not None and terms.years < years:
        lines[BUYOUT] = -in_year(per_case(terms.buyout), terms.years, years)
        kinds[BUYOUT] = INVESTMENT
    return CashFlow(lines, kinds)
