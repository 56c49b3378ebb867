"""The oracle's loans: one case at a time, month by month, in decimals of fifty digits.

Nothing here is taken from the code under test. Numbers come in as text or whole numbers, so that a rate of
4.99 % is exactly that.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal, localcontext

DIGITS = 50
CENT = Decimal("0.01")


@dataclass
class Life:
    """What happened to a loan: one entry a month."""

    interest: list[Decimal] = field(default_factory=list)
    payment: list[Decimal] = field(default_factory=list)
    paydown: list[Decimal] = field(default_factory=list)
    balance: list[Decimal] = field(default_factory=list)
    excess: Decimal = Decimal(0)


def level(owed: Decimal, rate: Decimal, count: Decimal) -> Decimal:
    """Return the level payment of so many periods; the count may have a fraction."""
    if rate == 0:
        return owed / count
    grown = (1 + rate) ** count
    return owed * rate * grown / (grown - 1)


def payments_left(owed: Decimal, rate: Decimal, payment: Decimal) -> Decimal:
    """Return how many payments are left, by taking whole ones off first and the logarithm only of the rest."""
    whole = 0
    while owed * (1 + rate) > payment:
        owed = owed * (1 + rate) - payment
        whole += 1
    if rate == 0:
        return whole + owed / payment
    return whole - (1 - owed * rate / payment).ln() / (1 + rate).ln()


def life(
    borrowed: str,
    rates: list[str],
    months: int,
    *,
    deferral: int = 0,
    interest_only: bool = False,
    paydown: str = "0",
    paydown_month: int = 0,
    shorten: bool = False,
    presumed: str = "0",
    to_cents: bool = False,
) -> Life:
    """Return the life of a loan; rates by year, the last one holding on."""
    with localcontext() as context:
        context.prec = DIGITS
        found = Life()

        def money(amount: Decimal) -> Decimal:
            return amount.quantize(CENT, ROUND_HALF_UP) if to_cents else amount

        owed, still_wanted = money(Decimal(borrowed)), money(Decimal(paydown))
        early, starter = Decimal(presumed) * Decimal(borrowed), Decimal(presumed) > 0
        to_come = Decimal(months)  # months of life, this one included
        payment, last_rate, stale, kept = Decimal(0), Decimal(rates[0]) / 12, True, False
        for month in range(1, months + 1):
            yearly = Decimal(rates[min((month - 1) // 12, len(rates) - 1)])
            rate = yearly / 12
            interest = money(owed * yearly / 12)  # divided last, so that half a cent is exactly that
            if month <= deferral:
                paid = interest if interest_only else Decimal(0)
            else:
                if rate != last_rate and kept and owed > 0:
                    to_come, kept = payments_left(owed, last_rate, payment), False
                stale = stale or rate != last_rate
                if stale and owed > 0:
                    base = owed - early if starter and month <= paydown_month else owed
                    payment = money(level(max(base, Decimal(0)), rate, max(to_come, Decimal(1))))
                    stale = False
                paid = min(payment, owed + interest)
                if not kept and to_come <= 1:
                    paid = owed + interest
            last_rate = rate
            owed += interest - paid
            lump = Decimal(0)
            if month == paydown_month:
                lump = min(still_wanted, owed)
                if still_wanted > 0 or starter:
                    if shorten and month > deferral and lump > 0:
                        kept = True
                    elif not shorten:
                        stale = True
            owed -= lump
            still_wanted -= lump
            to_come -= 1
            found.interest.append(interest)
            found.payment.append(paid)
            found.paydown.append(lump)
            found.balance.append(owed)
        found.excess = still_wanted
        return found


def general_equation(flows: list[str], whole: list[int], odd: list[Decimal], rate: Decimal) -> Decimal:
    """Return what advances less payments are worth at a rate per unit-period, odd days at simple interest."""
    with localcontext() as context:
        context.prec = DIGITS
        return sum(
            (Decimal(x) / ((1 + f * rate) * (1 + rate) ** t) for x, t, f in zip(flows, whole, odd, strict=True)),
            Decimal(0),
        )
