"""Money as people read it: whole cents, half a cent upwards. Used where money is shown, never inside a sum."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Context, Decimal
from math import isfinite

NOISE = Decimal("1e-9")
"""Binary arithmetic errs by less: 15 x 0.051 is 0.765 on a bill, though the float falls just short of it."""

EXACT = Context(prec=400, rounding=ROUND_HALF_UP)
"""Digits enough for every float."""


def in_digits(amount: float, digits: int) -> Decimal:
    """An amount of money with so many digits after the point, half of the last one rounded away from zero.

    Rounding goes by the shortest decimal text that names the number, and so by what a person reads: 2.675 gives 2.68,
    though the binary number is a little less. That a credit is rounded like a charge, -2.675 to -2.68, is common
    practice, no source. Never minus zero. Raises ValueError for what is no number.
    """
    if not isfinite(amount):
        raise ValueError(f"{amount} is no amount of money")
    read = Decimal(repr(float(amount))).quantize(NOISE, context=EXACT)
    return EXACT.add(read.quantize(Decimal(1).scaleb(-digits), context=EXACT), Decimal(0))


def cents(amount: float) -> Decimal:
    """An amount of money in whole cents, see `in_digits`."""
    return in_digits(amount, 2)


def printed(lines: Iterable[float]) -> tuple[list[Decimal], Decimal]:
    """The lines of a bill in whole cents and their total, which is the sum of the lines as printed."""
    rounded = [cents(line) for line in lines]
    return rounded, sum(rounded, Decimal("0.00"))
