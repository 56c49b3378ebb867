"""Money as a bill prints it: whole cents, half a cent upwards. Used where a bill is shown, never inside a sum."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from math import isfinite

CENT = Decimal("0.01")
NOISE = Decimal("1e-9")
"""Binary arithmetic errs by less: 15 x 0.051 is 0.765 on a bill, though the float falls just short of it."""


def cents(amount: float) -> Decimal:
    """An amount of money in whole cents, half a cent rounded away from zero.

    Rounding goes by the shortest decimal text that names the number, and so by what a person reads: 2.675 gives 2.68,
    though the binary number is a little less. That a credit is rounded like a charge, -2.675 to -2.68, is common
    practice, no source. Never minus zero. Raises ValueError for what is no number.
    """
    if not isfinite(amount):
        raise ValueError(f"{amount} is no amount of money")
    return Decimal(repr(float(amount))).quantize(NOISE).quantize(CENT, ROUND_HALF_UP) + Decimal(0)


def printed(lines: Iterable[float]) -> tuple[list[Decimal], Decimal]:
    """The lines of a bill in whole cents and their total, which is the sum of the lines as printed."""
    rounded = [cents(line) for line in lines]
    return rounded, sum(rounded, Decimal("0.00"))
