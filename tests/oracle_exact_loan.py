"""The exact oracle's loan: one month after the other in fractions, nothing rounded to cents unless the lender does.

A level payment is a fraction too, since (1 + r)^n is one. Debt and payment are kept to forty decimals, or their digits
would double with every change of rate. Only a payment worked out anew for a term that ended sooner, with a part of a
payment at its end, asks for a logarithm; that is taken with sixty digits.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal, localcontext
from fractions import Fraction
from math import floor
from typing import Any

from oracle_exact_numbers import NONE, Amounts, exact, total

from finsolar.scenario.schema import Borrowing, Scenario

_DECIMALS = 10**40


@dataclass
class Life:
    """What happened, one entry a month; ``excess`` is what of the lump sum was more than was owed."""

    interest: Amounts = field(default_factory=list)
    payment: Amounts = field(default_factory=list)
    paydown: Amounts = field(default_factory=list)
    balance: Amounts = field(default_factory=list)
    excess: Fraction = NONE


def cents(amount: Fraction) -> Fraction:
    """Round to hundredths, half of one upwards."""
    return Fraction(floor(100 * amount + Fraction(1, 2)), 100)


def level(owed: Fraction, monthly: Fraction, count: Fraction) -> Fraction:
    """Return the payment that repays a debt in so many months."""
    if monthly == 0:
        return owed / count
    if count.denominator == 1:
        grown = (1 + monthly) ** count.numerator
        return owed * monthly * grown / (grown - 1)
    with localcontext() as context:
        context.prec = 60
        discount = Fraction((_decimal(1 + monthly).ln() * -_decimal(count)).exp())
    return owed * monthly / (1 - discount)


def payments_left(owed: Fraction, monthly: Fraction, payment: Fraction) -> Fraction:
    """Return how many such payments repay a debt, a fraction for a last one that is smaller."""
    if monthly == 0:
        return owed / payment
    with localcontext() as context:
        context.prec = 60
        return Fraction(-_decimal(1 - owed * monthly / payment).ln() / _decimal(1 + monthly).ln())


def _decimal(value: Fraction) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def life(
    borrowed: Fraction,
    rates: Amounts,
    months: int,
    *,
    deferral: int,
    interest_is_paid: bool,
    lump: Fraction,
    lump_month: int,
    ends_sooner: bool,
    presumed: Fraction,
    whole_cents: bool,
) -> Life:
    """Return the life of a loan; ``rates`` by year, a twelfth of each a month, the last one holding on."""

    def money(amount: Fraction) -> Fraction:
        return cents(amount) if whole_cents else Fraction(round(amount * _DECIMALS), _DECIMALS)

    found = Life()
    owed, waiting, end = money(borrowed), lump, Fraction(months)
    payment, old, kept = NONE, rates[0] / 12, False
    for month in range(1, months + 1):
        monthly = rates[min((month - 1) // 12, len(rates) - 1)] / 12
        interest = money(owed * monthly)
        starts_low = presumed > 0 and month <= lump_month
        if month <= deferral:
            paid = interest if interest_is_paid else NONE
        else:
            recast = month == lump_month + 1 and not ends_sooner and (lump > 0 or presumed > 0)
            if month == deferral + 1 or monthly != old or recast:
                if kept and owed > 0:
                    end, kept = month - 1 + payments_left(owed, old, payment), False
                to_repay = max(owed - presumed * borrowed, NONE) if starts_low else owed
                payment = money(level(to_repay, monthly, max(end - (month - 1), Fraction(1))))
            paid = min(payment, owed + interest)
            if not kept and end - (month - 1) <= 1:
                paid = owed + interest
        owed += interest - paid
        put_in = min(waiting, owed) if month == lump_month else NONE
        owed, waiting = owed - put_in, waiting - put_in
        kept = kept or (put_in > 0 and ends_sooner and month > deferral)
        old = monthly
        found.interest.append(interest)
        found.payment.append(paid)
        found.paydown.append(put_in)
        found.balance.append(owed)
    found.excess = waiting
    return found


def borrowed(scenario: Scenario, payment: Borrowing, price: Fraction, awards: list[float]) -> dict[str, Any]:
    """Return the terms of a loan for what is to be paid, its life, and its lines of the cash flow."""
    loan, years = payment.loan, scenario.study.years
    wanted = price * exact(loan.share) if loan.amount is None else exact(loan.amount)
    pays = min(wanted, price)
    hidden = exact(loan.dealer_fee)
    financed = pays / (1 - hidden) if loan.dealer_fee_of == "financed price" else pays * (1 + hidden)
    points, fixed = exact(loan.fee), exact(loan.fixed_fee)
    owed = (financed + fixed) / (1 - points) if loan.fees == "borrowed" else financed
    # What a lender in whole cents pays out, and is paid, is whole cents: else the debt would not be repaid by them.
    money = cents if loan.whole_cents else Fraction
    owed = money(owed)
    fee = owed * points + fixed
    lump, month, sooner = NONE, 0, False
    if loan.paydown is not None:
        month, sooner = loan.paydown.month, loan.paydown.then == "sooner end"
        if loan.paydown.amount is not None:
            lump = exact(loan.paydown.amount)
        elif loan.paydown.share is not None:
            lump = exact(loan.paydown.share) * owed
        else:
            come = total(Fraction(amount) for year, amount in enumerate(awards) if 12 * year <= month)
            lump = exact(loan.paydown.awards) * max(come, NONE)
    found = life(
        owed,
        [exact(each) for each in (loan.rate, *(loan.later_rates or ()))],
        12 * loan.years,
        deferral=loan.deferral_months,
        interest_is_paid=loan.deferral_pays == "interest",
        lump=money(lump),
        lump_month=month,
        ends_sooner=sooner,
        presumed=exact(loan.starter_share),
        whole_cents=loan.whole_cents,
    )
    marginal = scenario.household.marginal_tax
    relief = exact(loan.deductible) * (NONE if marginal is None else exact(marginal))
    added, given = NONE, []
    for charged, instalment, lump_sum in zip(found.interest, found.payment, found.paydown, strict=True):
        given.append(min(instalment + lump_sum, added + charged))
        added += charged - given[-1]
    interest, paid, put_in = (_by_year(row, years) for row in (given, found.payment, found.paydown))
    none = [NONE] * years
    return {
        "lines": {
            "loan received": [owed, *none],
            "loan fee": [-fee, *none],
            "dealer fee": [-(financed - pays), *none],
            "loan payments": [-amount for amount in paid],
            "paid into the loan": [-amount for amount in put_in],
            "tax saved on interest": [amount * relief for amount in interest],
        },
        "terms": {
            "principal": owed,
            "fee": fee,
            "dealer_fee": financed - pays,
            "amount_financed": owed - fee - (financed - pays),
            "missing": wanted - pays,
            "monthly_payment": found.payment[loan.deferral_months],
            "total_interest": total(found.interest),
            "finance_charge": total(found.payment + found.paydown) - (owed - fee - (financed - pays)),
            "paid_in": total(found.paydown),
            "excess": found.excess,
            "tax_saved": total(amount * relief for amount in interest),
            "schedule": _schedule(found),
        },
    }


def _by_year(months: Amounts, years: int) -> Amounts:
    return [NONE] + [total(months[12 * k : 12 * k + 12]) for k in range(years)]


def _schedule(found: Life) -> dict[str, Amounts]:
    return {
        "payment": found.payment,
        "interest": found.interest,
        "principal": [paid - charged for paid, charged in zip(found.payment, found.interest, strict=True)],
        "paydown": found.paydown,
        "balance": found.balance,
    }
