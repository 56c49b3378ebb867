"""Rates of return: every root found, against exact counts, companion matrices and outside witnesses."""

from datetime import date, timedelta
from fractions import Fraction
from itertools import pairwise

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr
from hypothesis import assume, given
from hypothesis import strategies as st
from pytest import approx

from finsolar.money.metrics import internal_rates, present_value


def random_series(count, seed=11):
    """Flows of a house: an outlay, savings, and now and then a replacement that changes the sign again."""
    chance = np.random.default_rng(seed)
    flows = chance.uniform(200, 2500, (count, 26))
    flows[:, 0] = -chance.uniform(5000, 30_000, count)
    flows[:, 12] -= chance.choice([0, 9000], count)
    return flows


def distinct_positive_roots(coefficients):
    """How many different x > 0 make the sum of coefficient_t x^t zero: Sturm's theorem in exact fractions."""
    high_first = [Fraction(c) for c in reversed(np.trim_zeros(coefficients))]
    if len(high_first) < 2:
        return 0
    chain = [high_first, [c * (len(high_first) - 1 - i) for i, c in enumerate(high_first[:-1])]]
    while len(chain[-1]) > 1:
        rest, divisor = list(chain[-2]), chain[-1]
        while len(rest) >= len(divisor):
            factor = rest[0] / divisor[0]
            padded = divisor + [Fraction(0)] * (len(rest) - len(divisor))
            rest = [a - factor * b for a, b in zip(rest, padded, strict=True)][1:]
        while rest and rest[0] == 0:
            rest = rest[1:]
        if not rest:
            break
        chain.append([-c for c in rest])

    def changes(values):
        signs = [value > 0 for value in values if value != 0]
        return sum(a != b for a, b in pairwise(signs))

    return changes([p[-1] for p in chain]) - changes([p[0] for p in chain])


def test_sturm_count_of_known_polynomials():
    assert distinct_positive_roots([-1600, 10_000, -10_000]) == 2
    assert distinct_positive_roots([1000, -3000, 2500]) == 0
    assert distinct_positive_roots([1, -2, 1]) == 1
    assert distinct_positive_roots([-6, 11, -6, 1]) == 3


@given(flows=st.lists(st.integers(-9, 9), min_size=2, max_size=9))
def test_every_root_is_counted(flows):
    assume(any(flows))
    assert internal_rates(flows).count == distinct_positive_roots(flows)


def companion_rates(flows):
    """The rates of one series from the eigenvalues of its companion matrix, ascending."""
    factors = np.roots(flows)
    return np.sort(factors[(np.abs(factors.imag) < 1e-9) & (factors.real > 0)].real) - 1


@pytest.mark.parametrize("changes", [1, 2, 3, 4, 5, 6])
def test_rates_of_random_series_match_the_companion_matrix(changes):
    chance = np.random.default_rng(changes)
    signs = np.repeat((-1.0) ** np.arange(changes + 1), 2)
    batch = signs * chance.lognormal(0, 1.0, (200, signs.size))
    rates = internal_rates(batch)
    assert (rates.sign_changes == changes).all()
    for flows, found, count in zip(batch, rates.roots, rates.count, strict=True):
        assert companion_rates(flows) == approx(found[:count], rel=1e-7, abs=1e-9)


@pytest.mark.parametrize("several", [2, 3, 4, 5])
def test_all_of_several_rates_match_the_companion_matrix(several):
    chance = np.random.default_rng(several)
    chosen = -0.6 + chance.uniform(0.1, 0.4, (200, several)).cumsum(axis=1)
    # A factor with positive coefficients has no zero of its own above -100 %.
    batch = np.array([np.convolve(np.poly(1 + rates), chance.uniform(0.1, 1, 4)) for rates in chosen])
    rates = internal_rates(batch)
    assert (rates.count == several).all()
    assert rates.roots == approx(chosen, abs=1e-8)
    assert rates.roots == approx(np.array([companion_rates(flows) for flows in batch]), abs=1e-7)


@pytest.mark.parametrize(
    ("rates", "tolerance"),
    [
        ([0.05], 1e-12),
        ([-0.3, 0.08, 0.5], 1e-12),
        ([0.10, 0.1001], 1e-11),
        ([0.07, 0.0702, 0.0704], 1e-6),  # rounding the flows alone moves these rates by some 1e-8
        ([-0.9, -0.5, 0.0, 0.25, 3.0], 1e-11),
        ([0.0, 0.12], 1e-12),
        ([-0.9999, 100.0], 1e-9),
    ],
)
@pytest.mark.parametrize("padding", [0, 3])
def test_chosen_rates_are_found_again(rates, tolerance, padding):
    # The polynomial with these roots has the flows of a series with these rates; leading zeros only delay it.
    flows = np.concatenate([np.zeros(padding), np.poly(1 + np.array(rates)), np.zeros(padding)])
    found = internal_rates(flows)
    assert found.count == len(rates)
    assert found.roots == approx(rates, abs=tolerance)
    assert found.headline == approx(min(rate for rate in found.roots if rate >= 0), abs=0)


def test_rate_that_touches_zero_is_one_root():
    touching = internal_rates([-1, 2.2, -1.21])
    assert touching.count == 1
    assert touching.headline == approx(0.10, abs=1e-7)
    apart = internal_rates([-1, 2.2, -1.2101])
    assert apart.count == 0
    triple = internal_rates(np.poly([1.1, 1.1, 1.1]))
    assert (triple.count, triple.sign_changes) == (1, 3)


def test_touching_is_told_from_crossing_whatever_the_rounding():
    chance = np.random.default_rng(21)
    factors = 1 + chance.uniform(-0.3, 0.5, 200)
    batch = np.array([np.convolve(np.poly([g, g]), chance.uniform(0.1, 1, 6)) for g in factors])
    rates = internal_rates(batch)
    assert (rates.count == 1).all()
    assert rates.headline == approx(factors - 1, abs=1e-6)


def test_a_rate_of_zero_is_at_or_above_zero_whatever_the_rounding():
    chance = np.random.default_rng(22)
    other = chance.uniform(0.1, 1.0, 200)
    batch = np.array([np.convolve(np.poly([1, 1 + rate]), chance.uniform(0.1, 1, 6)) for rate in other])
    rates = internal_rates(batch)
    assert (rates.headline == 0).all()
    assert rates.roots[:, 1] == approx(other, rel=1e-9)


def test_headline_policy():
    policy = internal_rates(
        [
            [-1, 0, 1, 0],  # zero itself, from above
            [-1600, 10_000, -10_000, 0],  # the smaller of two
            [-100, 100, 0, -7],  # both negative: the one nearer to zero
            [0, 0, 0, 0],
            [5, 5, 5, 5],
        ]
    )
    assert policy.headline == approx([0, 0.25, -0.0832997, np.nan, np.nan], abs=1e-7, nan_ok=True)
    assert policy.count.tolist() == [1, 2, 2, 0, 0]
    assert policy.sign_changes.tolist() == [1, 2, 2, 0, 0]
    assert not np.signbit(policy.headline[0])


@pytest.mark.parametrize("rate", [-0.9999, -0.5, 1e-6, 0.08, 1.0, 100.0])
def test_wide_range_of_rates_over_fifty_years(rate):
    years = 50
    weights = np.linspace(1, 2, years)
    if rate < 0:  # a late flow would need an outlay so large that the flow is lost in its rounding
        weights[1:] = 0
    outlay = present_value(np.concatenate([[0], weights]), rate)
    found = internal_rates(np.concatenate([[-outlay], weights]))
    assert found.count == 1
    assert found.headline == approx(rate, rel=1e-9)


def test_rate_beyond_the_range_is_not_reported():
    beyond = internal_rates([[-1e-9, 1.0], [-1.0, 1e-9]])
    assert beyond.sign_changes.tolist() == [1, 1]
    assert beyond.count.tolist() == [0, 0]


def test_long_monthly_series():
    flows = np.concatenate([[-20_000], np.full(360, 150.0)])
    flows[180] -= 4000
    monthly, yearly = internal_rates(flows), internal_rates(flows, times=np.arange(361) / 12)
    assert monthly.count == yearly.count == 1
    assert yearly.headline == approx((1 + monthly.headline) ** 12 - 1, rel=1e-9)
    assert present_value(flows, monthly.headline) == approx(0, abs=1e-6)


def test_many_sign_changes():
    chance = np.random.default_rng(8)
    batch = (-1.0) ** np.arange(51) * chance.lognormal(0, 1.5, (20, 51))
    rates = internal_rates(batch)
    assert (rates.sign_changes == 50).all()
    assert (rates.count >= 2).sum() >= 15
    for flows, found, count in zip(batch, rates.roots, rates.count, strict=True):
        assert companion_rates(flows) == approx(found[:count], abs=1e-8)


@given(outlay=st.floats(500, 50_000), savings=st.lists(st.floats(10, 5000), min_size=1, max_size=30))
def test_other_libraries_find_the_same_single_rate(outlay, savings):
    flows = np.array([-outlay, *savings])
    assume(flows.sum() > -0.5 * outlay)  # both witnesses lose digits near -100 %
    rates = internal_rates(flows)
    assert rates.count == 1
    assert rates.headline == approx(npf.irr(flows), abs=1e-7)
    assert rates.headline == approx(pyxirr.irr(flows), abs=1e-7)


def test_other_libraries_find_one_of_the_rates_of_a_mixed_batch():
    flows = random_series(200)
    rates = internal_rates(flows)
    single = rates.count == 1
    assert single.sum() > 150
    assert (rates.sign_changes == 3).sum() > 50
    witness = np.array([npf.irr(case) for case in flows[single]])
    assert rates.headline[single] == approx(witness, abs=1e-9)


def test_dated_flows_agree_with_another_library():
    chance = np.random.default_rng(3)
    days = np.concatenate([[0], np.sort(chance.choice(np.arange(20, 3000), 40, replace=False))])
    flows = np.concatenate([[-9000], chance.uniform(100, 600, 40)])
    dates = [date(2027, 1, 1) + timedelta(days=int(day)) for day in days]
    assert internal_rates(flows, days / 365).headline == approx(pyxirr.xirr(dates, flows), abs=1e-9)
    assert present_value(flows, 0.06, days / 365) == approx(pyxirr.xnpv(0.06, dates, flows), abs=1e-6)


def test_batches_larger_than_a_block_and_empty_ones():
    flows = random_series(5000)
    together = internal_rates(flows)
    assert together.headline[4321] == approx(float(internal_rates(flows[4321]).headline), rel=1e-12)
    assert together.count.sum() == sum(internal_rates(part).count.sum() for part in np.split(flows, 10))
    empty = internal_rates(np.zeros((0, 26)))
    assert empty.headline.shape == empty.count.shape == (0,)
