"""What a mean length of outages hides, held against the density of the lognormal law, integrated by steps."""

from __future__ import annotations

import math

import pytest

from finsolar.energy.interruptions import half_over_in, hours_of_longest


def outages_and_hours(mean: float, spread: float, steps: int = 200_000) -> list[tuple[float, float, float]]:
    """Lengths in steps of their logarithm, each with its share of all outages and of all hours."""
    sigma = math.sqrt(math.log(1 + spread**2))
    mu = math.log(mean) - sigma**2 / 2
    width = 20 * sigma / steps
    found = []
    for k in range(steps):
        log = mu - 10 * sigma + (k + 0.5) * width
        share = math.exp(-(((log - mu) / sigma) ** 2) / 2) / (sigma * math.sqrt(2 * math.pi)) * width
        found.append((math.exp(log), share, share * math.exp(log) / mean))
    return found


@pytest.mark.parametrize(("mean", "spread"), [(2.0, 1.5), (60.0, 0.4), (9.0, 3.0)])
def test_half_are_over_and_the_longest_tenth_makes_its_hours(mean: float, spread: float) -> None:
    outages = hours = 0.0
    middle = longest = None
    for length, share, of_hours in outages_and_hours(mean, spread):
        if outages < 0.5 <= outages + share:
            middle = length
        if outages < 0.9 <= outages + share:
            longest = 1 - hours
        outages, hours = outages + share, hours + of_hours
    assert (outages, hours) == (pytest.approx(1), pytest.approx(1))
    assert float(half_over_in(mean, spread)) == pytest.approx(middle, rel=1e-3)
    assert hours_of_longest(0.1, spread) == pytest.approx(longest, abs=1e-3)


def test_outages_all_alike_hide_nothing() -> None:
    assert float(half_over_in(4.0, 0.0)) == 4.0 and hours_of_longest(0.1, 0.0) == pytest.approx(0.1)
