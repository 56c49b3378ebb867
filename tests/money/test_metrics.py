"""Figures of merit: identities, plain readings of the definitions, outside witnesses, shapes, refusals."""

import numpy as np
import numpy_financial as npf
import pytest
import pyxirr
from hypothesis import assume, given
from hypothesis import strategies as st
from pytest import approx

from finsolar.money.metrics import (
    adjusted_internal_rate,
    annualised,
    deflated,
    discounted,
    internal_rates,
    levelised_cost,
    levelised_costs,
    modified_internal_rate,
    payback,
    present_value,
    savings_to_investment,
)

amounts = st.integers(-10_000, 10_000)
series = st.lists(amounts, min_size=2, max_size=31)
discount_rates = st.floats(-0.2, 0.5)
outlays = st.floats(500, 50_000)
savings_lists = st.lists(st.floats(0, 5000), min_size=1, max_size=30)


def random_series(shape, seed=11):
    """Flows of a house: an outlay, savings, and now and then a replacement that changes the sign again."""
    chance = np.random.default_rng(seed)
    flows = chance.uniform(200, 2500, (*shape, 26))
    flows[..., 0] = -chance.uniform(5000, 30_000, shape)
    flows[..., 12] -= chance.choice([0, 9000], shape)
    return flows


# Present value


@given(flows=series, rate=discount_rates)
def test_present_value_is_the_sum_of_the_discounted_flows(flows, rate):
    plainly = [flow / (1 + rate) ** year for year, flow in enumerate(flows)]
    scale = np.abs(plainly).sum() + 1
    assert discounted(flows, rate) == approx(np.array(plainly), rel=1e-12)
    assert present_value(flows, rate) == approx(sum(plainly), abs=1e-12 * scale)
    assert present_value(flows, rate) == approx(float(npf.npv(rate, flows)), abs=1e-12 * scale)


@given(value=st.floats(-1e5, 1e5), rate=discount_rates, years=st.integers(1, 40))
def test_annual_value_is_worth_the_value(value, rate, years):
    flows = np.concatenate([[0], np.full(years, annualised(value, rate, years))])
    assert present_value(flows, rate) == approx(value, rel=1e-9, abs=1e-9)


# Payback


def payback_by_hand(flows):
    """First and last time the running total is back at zero, by walking the years."""
    totals = np.cumsum(flows)
    crossings = [0.0] if totals[0] >= 0 else []
    for year in range(1, len(totals)):
        if totals[year - 1] < 0 <= totals[year]:
            crossings.append(year - 1 + totals[year - 1] / (totals[year - 1] - totals[year]))
    first = crossings[0] if crossings else np.nan
    return first, crossings[-1] if totals[-1] >= 0 else np.nan


@given(flows=series)
def test_payback_agrees_with_walking_the_years(flows):
    found = payback(flows)
    assert [found.first, found.lasting] == [approx(when, nan_ok=True) for when in payback_by_hand(flows)]


def test_payback_cases():
    found = payback(
        [
            [-10, 4, 4, 4],  # inside the third year
            [-10, 4, 4, 1],  # never
            [-10, 4, 6, 4],  # exactly at a year's end
            [0, 4, 4, 4],  # nothing to pay back
            [-10, 12, -4, 1],  # paid back, then not
            [5, -10, 4, 4],  # in hand, in debt, back again
            [0, 0, 0, 0],
        ]
    )
    nan = np.nan
    assert found.first == approx([2.5, nan, 2, 0, 10 / 12, 0, 0], nan_ok=True)
    assert found.lasting == approx([2.5, nan, 2, 0, nan, 2.25, 0], nan_ok=True)


def test_payback_in_the_last_year_is_not_missed_by_rounding():
    # Savings worth exactly the outlay, but for rounding, at 200 rates.
    rates = np.linspace(0.01, 0.2, 200)
    flows = np.concatenate([np.full((200, 1), -1000.0), np.full((200, 9), annualised(1000, rates, 9)[:, None])], axis=1)
    found = payback(discounted(flows, rates))
    assert found.first == approx(np.full(200, 9.0), abs=1e-9)
    assert found.lasting == approx(np.full(200, 9.0), abs=1e-9)


# MIRR, SIR, AIRR


@given(flows=series, finance=st.floats(0, 0.2), reinvestment=st.floats(0, 0.2))
def test_other_libraries_find_the_same_modified_rate(flows, finance, reinvestment):
    assume(max(flows) > 0 > min(flows))
    rate = modified_internal_rate(flows, finance, reinvestment)
    assert rate == approx(float(npf.mirr(flows, finance, reinvestment)), abs=1e-9)
    assert rate == approx(pyxirr.mirr(flows, finance, reinvestment), abs=1e-9)


def test_ratios_that_do_not_exist():
    paid_for = savings_to_investment([[0, 100], [0, -50]], [[0, 0], [40, 0]], 0.05)
    assert np.isnan(paid_for[0])
    assert paid_for[1] == approx(-50 / 1.05 / 40)
    assert np.isnan(adjusted_internal_rate(paid_for, 0.05, 1)).all()
    assert np.isnan(levelised_cost([10, 1], [0, 0], 0.05))
    assert np.isnan(modified_internal_rate([[1, 2], [-1, -2], [0, 0]], 0.05, 0.05)).all()


# Where other libraries agree, and where they do not


LISTED = {
    # Lorie & Savage (1955) as used in textbooks; Brealey, Myers & Allen, strip mine (both from memory); Park,
    # Fundamentals of Engineering Economics, 3rd ed., solution 7.11; numpy-financial, tests gh_39 and gh_44 (seen).
    "C5": [-1600, 10_000, -10_000],
    "C7": [-3, *[1] * 9, -6.5],
    "C8": [-217_500, -217_500, *(108466.80462450592 - 7336.840231225304 * np.arange(25))],
    "C17": [-23_000, 32_000, 32_000, -25_000],
    "C21": [-1678.87, 771.96, 1814.05, 3520.30, 3552.95, 3584.99, 4789.91, -1],
}


@pytest.mark.parametrize("row", LISTED)
def test_two_libraries_each_quote_one_of_several_rates_or_none(row):
    """Rows C5, C7, C8, C17 and C21: silent where they disagree; ours lists both and quotes the one from zero upward."""
    flows = LISTED[row]
    rates = internal_rates(flows)
    assert rates.count == 2
    one, other = float(npf.irr(flows)), pyxirr.irr(flows)
    assert min(abs(one - rates.roots)) < 1e-8
    if other is None:
        assert row == "C7"
    else:
        assert min(abs(other - rates.roots)) < 1e-8
        assert abs(one - other) > 0.1
    assert rates.headline == min(rate for rate in rates.roots if rate >= 0)
    for rate in rates.roots:
        assert present_value(flows, rate) == approx(0, abs=1e-9 * np.abs(flows).sum() / (1 + rate) ** len(flows) + 1e-9)


def test_libraries_differ_in_how_they_say_that_there_is_no_rate():
    """Rows C6 and C18: none is NaN in one, None or an error in the other; ours is a count of zero."""
    for flows in ([1000, -3000, 2500], [1, 2, 3]):
        assert internal_rates(flows).count == 0
        assert np.isnan(npf.irr(flows))
    assert pyxirr.irr([1000, -3000, 2500]) is None
    with pytest.raises(pyxirr.InvalidPaymentsError):
        pyxirr.irr([1, 2, 3])


@given(flows=series, rate=discount_rates)
def test_libraries_count_the_first_flow_as_now_unless_told(flows, rate):
    """Rows C1 and C2: the year is the whole difference between the two conventions."""
    scale = np.abs(present_value(np.abs(flows), rate)) + 1
    assert present_value(flows, rate) == approx(pyxirr.npv(rate, flows), abs=1e-9 * scale)
    late = pyxirr.npv(rate, flows, start_from_zero=False)
    assert present_value(flows, rate) / (1 + rate) == approx(late, abs=1e-9 * scale)


# Nominal and real


def test_deflating_takes_times_and_refuses_what_money_cannot_lose():
    assert deflated([100, 100], 0.1, times=[0.5, 1.5]) == approx([100 / 1.1**0.5, 100 / 1.1**1.5])
    with pytest.raises(ValueError, match=r"inflation must be above -100 %"):
        deflated([100, 100], -1.0)


# LCOE


# Shapes and refusals


@pytest.mark.parametrize("shape", [(), (3,), (2, 3)])
def test_batch_equals_case_by_case(shape):
    flows = random_series(shape)
    chance = np.random.default_rng(5)
    rate, other = chance.uniform(0, 0.1, shape), chance.uniform(0, 0.1, shape)
    gains, costs = np.maximum(flows, 0), np.maximum(-flows, 0)
    figures = {
        "present value": (lambda f, g, c, r, o: present_value(f, r), ()),
        "discounted": (lambda f, g, c, r, o: discounted(f, r), (26,)),
        "annual": (lambda f, g, c, r, o: annualised(f[..., 0], r, 25), ()),
        "first": (lambda f, g, c, r, o: payback(f).first, ()),
        "lasting": (lambda f, g, c, r, o: payback(discounted(f, r)).lasting, ()),
        "irr": (lambda f, g, c, r, o: internal_rates(f).headline, ()),
        "count": (lambda f, g, c, r, o: internal_rates(f).count, ()),
        "changes": (lambda f, g, c, r, o: internal_rates(f).sign_changes, ()),
        "mirr": (lambda f, g, c, r, o: modified_internal_rate(f, r, o), ()),
        "sir": (lambda f, g, c, r, o: savings_to_investment(g, c, r), ()),
        "airr": (lambda f, g, c, r, o: adjusted_internal_rate(savings_to_investment(g, c, r), r, 25), ()),
        "lcoe": (lambda f, g, c, r, o: levelised_cost(c, g, r), ()),
        "real lcoe": (lambda f, g, c, r, o: levelised_costs(c, g, r, o).real, ()),
        "today's money": (lambda f, g, c, r, o: deflated(f, o), (26,)),
    }
    for name, (figure, last_axes) in figures.items():
        together = figure(flows, gains, costs, rate, other)
        assert together.shape == (*shape, *last_axes), name
        for case in np.ndindex(*shape):
            alone = figure(flows[case], gains[case], costs[case], rate[case], other[case])
            assert together[case] == approx(alone, rel=1e-9, nan_ok=True), name


def test_one_series_at_many_rates_and_many_series_at_one():
    flows = random_series((4,))
    rates = np.array([0.0, 0.03, 0.08])
    assert present_value(flows[0], rates) == approx([float(present_value(flows[0], r)) for r in rates])
    assert present_value(flows, 0.03) == approx([float(present_value(f, 0.03)) for f in flows])
    assert present_value(flows[:, None], rates).shape == (4, 3)


def test_inputs_are_left_as_they_were():
    flows = random_series((3,))
    before = flows.copy()
    internal_rates(flows)
    payback(flows)
    assert np.array_equal(flows, before)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: present_value([-1, 2], -1.0),
        lambda: present_value([-1, 2], 0.05, times=[0, 1, 2]),
        lambda: internal_rates([-1, np.nan]),
        lambda: internal_rates([-1, 1, 1], times=[0, 2, 2]),
        lambda: internal_rates([-1, 1, 1], times=[0, 1]),
        lambda: modified_internal_rate([-1], 0.05, 0.05),
        lambda: modified_internal_rate([-1, 2], 0.05, -1.0),
        lambda: adjusted_internal_rate(1.2, 0.05, 0),
        lambda: annualised(100, 0.05, 0),
    ],
)
def test_impossible_inputs_are_refused(refused):
    with pytest.raises(ValueError, match=r"above -100 %|times|finite|increasing|at least"):
        refused()
