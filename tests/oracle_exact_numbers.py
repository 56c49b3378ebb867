"""Numbers of the exact oracle: fractions with the digits that a household wrote, and how prices rise."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import accumulate
from math import ulp
from operator import mul
from typing import Any

from oracle_numbers import central

from finsolar.scenario.schema import Scenario

Amounts = list[Fraction]
NONE = Fraction(0)


def exact(value: Any) -> Fraction:
    """Return the number a household wrote: the fraction with few digits that its double stands for.

    A double read from per cent may be the neighbour of the nearest one.
    """
    number = central(value)
    neat = Fraction(number).limit_denominator(10**9)
    return neat if abs(float(neat) - number) <= ulp(number) else Fraction(number)


def total(amounts: Iterable[Fraction]) -> Fraction:
    """Return the sum, a fraction also of nothing."""
    return sum(amounts, start=NONE)


def index(rise: Any, years: int) -> Amounts:
    """Return the price index by year: 1 in year 1, then up by each rise, the last one repeating."""
    steps = [exact(step) for step in rise] if isinstance(rise, Sequence) else [exact(rise)]
    return list(accumulate((1 + steps[min(k, len(steps) - 1)] for k in range(years - 1)), mul, initial=Fraction(1)))


def rate_of(scenario: Scenario) -> Fraction:
    """Return the nominal discount rate."""
    settings = scenario.study
    if settings.discount_rate is not None:
        return exact(settings.discount_rate)
    return (1 + exact(settings.real_discount_rate)) * (1 + exact(settings.inflation)) - 1
