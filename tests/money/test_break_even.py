"""Break-even: closed forms, chosen zeros, several zeros, jumps, batches and refusals."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pytest import approx

from finsolar.money.break_even import highest_price, where_zero, why_no_price, why_no_zero
from finsolar.money.lender import debt_service_coverage
from finsolar.money.metrics import internal_rates, present_value
from finsolar.money.rates import annuity_factor
from finsolar.scenario.rises import growth

rates = st.floats(0.0, 0.15)


class Counted:
    """A function that counts its calls and remembers the range it was asked for."""

    def __init__(self, function):
        self.function, self.calls, self.lowest, self.highest = function, 0, np.inf, -np.inf

    def __call__(self, x):
        self.calls += 1
        self.lowest, self.highest = min(self.lowest, x.min()), max(self.highest, x.max())
        return self.function(x)


# The highest price worth paying


def worth_at(price, saving, years, rate, award=0.0, kept=0.0):
    """NPV of a system at a price: an award in year 1 and what is left at the end are shares of the price."""
    flows = np.zeros(years + 1)
    flows[1:] = saving
    of_price = np.zeros(years + 1)
    of_price[0], of_price[1] = -1.0, award
    of_price[-1] += kept
    return present_value(flows + price * of_price, rate), present_value(of_price, rate)


def test_highest_price_without_awards_is_the_worth_of_the_savings():
    npv, slope = worth_at(9000.0, 1000.0, 20, 0.05)
    assert slope == approx(-1)
    assert highest_price(9000.0, npv, slope) == approx(1000 * (1 - 1.05**-20) / 0.05)
    assert why_no_price(9000.0, npv, slope) is None


@given(price=st.floats(0, 50_000), saving=st.floats(10, 5000), years=st.integers(1, 30), rate=rates,
       award=st.floats(0, 0.6), kept=st.floats(0, 0.3))  # fmt: skip
def test_npv_is_zero_at_the_highest_price(price, saving, years, rate, award, kept):
    npv, slope = worth_at(price, saving, years, rate, award, kept)
    assume(slope < -0.05)
    found = float(highest_price(price, npv, slope))
    assert worth_at(found, saving, years, rate, award, kept)[0] == approx(0, abs=1e-8 * (price + found))

    # The closed form is the price that the search finds.
    def npv_at(asked):
        return npv + slope * (asked - price)

    searched = where_zero(npv_at, 0.0, 2 * found, pieces=1)
    assert searched.at == approx(found, rel=1e-9)


def test_highest_price_and_why_there_is_none():
    prices = highest_price(9000.0, np.array([500.0, -500.0, -9500.0, 500.0]), np.array([-0.7, -0.7, -1.0, 0.1]))
    assert prices[:2] == approx([9000 + 500 / 0.7, 9000 - 500 / 0.7])
    assert np.isnan(prices[2:]).all()
    assert why_no_price(9000.0, -9500.0, -1.0) == "it loses money even as a gift"
    assert why_no_price(9000.0, 500.0, 0.1) == "all that is paid comes back, so no price is too high"


def test_a_quote_that_draws_level_with_another():
    """By hand: the firm's system is worth 1,300 less than one's own; its credit of 30 % arrives in year 1 at 5 %."""
    slope = -1 + 0.3 / 1.05
    level = highest_price(20_000.0, -1300.0, slope)
    assert level == approx(20_000 - 1300 / (1 - 0.3 / 1.05))


def test_the_dearest_price_where_a_capped_award_bends_the_line():
    # 30 % of the price, at most 3,000, at once; savings worth 10,000.
    def npv_at(price):
        return 10_000 - price + np.minimum(0.3 * price, 3000)

    found = where_zero(npv_at, 0, 60_000, which="last")
    assert found.at == approx(13_000, abs=1e-4)
    assert found.seen == 1


# The lowest price rise


@settings(max_examples=50)
@given(rise=st.floats(-0.08, 0.12), rate=rates, years=st.integers(2, 30))
def test_lowest_rise_at_which_npv_is_zero_undoes_the_geometric_gradient(rise, rate, years):
    # The outlay is the closed form of the gradient, so the rise is the one at which NPV is zero.
    assume(abs(rise - rate) > 1e-4)
    outlay = 1000 * (1 - ((1 + rise) / (1 + rate)) ** years) / (rate - rise)

    def npv_at(asked):
        return present_value(1000 * growth(asked[None], years), rate) / (1 + rate) - outlay

    found = where_zero(npv_at, -0.1, 0.2, pieces=1)
    assert found.at == approx(rise, abs=1e-9)
    assert (found.seen, found.side) == (1, 0)


def test_rise_equal_to_the_discount_rate():
    # The gradient's 0/0: every year is worth the same.
    found = where_zero(lambda rise: present_value(growth(rise[None], 20), 0.06) / 1.06 - 20 / 1.06, 0.0, 0.2)
    assert found.at == approx(0.06, abs=1e-10)


@settings(max_examples=50)
@given(rise=st.floats(0.001, 0.15), months=st.integers(2, 20))
def test_lowest_rise_at_which_a_loan_carries_itself_over_its_term(rise, months):
    # Savings add up to S ((1 + g)^n - 1) / g, so this payment is what they carry at the rise g.
    years = months
    payment = 800 * ((1 + rise) ** years - 1) / (rise * years)
    debt = np.concatenate([[0.0], np.full(years, payment)])

    def left_at(asked):
        saving = np.concatenate([[0.0], 800 * growth(asked[None], years)])
        return debt_service_coverage(saving, debt).left_over_term

    assert where_zero(left_at, 0.0, 0.3, pieces=1).at == approx(rise, abs=1e-9)


def test_no_rise_helps_a_first_year_that_is_short():
    """Year 1 is billed at today's prices, so a loan that wants in it cannot carry itself all along."""
    debt = np.array([0.0, 900.0, 900.0, 900.0])

    def least_left_at(rise):
        return debt_service_coverage(np.concatenate([[0.0], 800 * growth(rise[None], 3)]), debt).least_left

    found = where_zero(least_left_at, 0.0, 0.5)
    assert np.isnan(found.at)
    assert (found.seen, found.side) == (0, -1)
    assert why_no_zero(found, "NPV") == "the NPV stays below zero in all of the range searched"


# The search itself


@settings(max_examples=30)
@given(zeros=st.lists(st.integers(1, 99), min_size=1, max_size=4, unique=True))
def test_first_and_last_of_several_chosen_zeros(zeros):
    chosen = np.sort(zeros) / 100 + 0.0031

    def f(x):
        return np.prod(x - chosen)

    first, last = (where_zero(f, 0.0, 1.1, which=which, pieces=220) for which in ("first", "last"))
    assert first.at == approx(chosen[0], abs=1e-10)
    assert last.at == approx(chosen[-1], abs=1e-10)
    assert first.seen == last.seen == chosen.size


@given(outlay=st.floats(100, 50_000), savings=st.lists(st.floats(50, 5000), min_size=2, max_size=30))
def test_rate_of_return_is_where_npv_is_zero(outlay, savings):
    """An independent witness: the search finds the rate that `internal_rates` finds by another method."""
    flows = np.array([-outlay, *savings])
    rate = float(internal_rates(flows).headline)
    assume(-0.5 < rate < 3)
    assert where_zero(lambda r: present_value(flows, r), -0.6, 4.0, pieces=1).at == approx(rate, abs=1e-9)


@pytest.mark.parametrize(
    ("curve", "most"),
    [
        (lambda x: 3 * x - 1, 4),
        (lambda x: annuity_factor(x, 25) - 11.3, 12),
        (lambda x: ((1 + x) ** 25 - 1) / np.where(x == 0, 1, x) - 33.3, 14),
        (lambda x: np.maximum(x - 0.4, 5 * (x - 0.4)), 46),
        (lambda x: (x - 0.4) ** 9, 37),
        (lambda x: np.where(x < 0.3, -5.0, 1.0), 37),
    ],
    ids=["straight", "discount rate", "growth", "kink on the zero", "flat", "jump"],
)
def test_calls_are_few_and_inside_the_range(curve, most):
    f = Counted(curve)
    found = where_zero(f, 0.0, 1.0, pieces=1)
    assert f.calls <= most
    assert (f.lowest, f.highest) == (0.0, 1.0)
    assert curve(found.at - 1e-10) * curve(found.at + 1e-10) < 0
    looked = Counted(curve)
    assert where_zero(looked, 0.0, 1.0, pieces=16).at == approx(float(found.at), abs=1e-9)
    assert 17 < looked.calls <= 17 + most


def test_jump_is_found_and_the_nearer_side_told():
    found = where_zero(lambda x: np.where(x < 0.3, -5.0, 1.0), 0.0, 1.0)
    assert found.at == approx(0.3, abs=1e-10)
    assert found.at >= 0.3
    assert where_zero(lambda x: np.where(x < 0.3, -1.0, 5.0), 0.0, 1.0).at < 0.3


def test_zeros_on_points_of_the_grid_and_stretches_of_them():
    assert where_zero(lambda x: x, 0.0, 1.0).at == 0
    assert where_zero(lambda x: x - 1, 0.0, 1.0).at == 1
    touch = where_zero(lambda x: (x - 0.5) ** 2, 0.0, 1.0, pieces=4)
    assert (touch.at, touch.seen) == (0.5, 1)

    # Zero from 0.25 to 0.75: both ends of the stretch, told as one.
    def stretch(x):
        return np.maximum(x - 0.75, 0) + np.minimum(x - 0.25, 0)

    first, last = (where_zero(stretch, 0.0, 1.0, which=which, pieces=4) for which in ("first", "last"))
    assert (first.at, last.at, first.seen) == (0.25, 0.75, 1)


def test_no_zero_tells_the_side():
    found = where_zero(lambda x: np.stack([x[0] + 1, -x[1] - 1, np.nan * x[2], x[3] - 0.5]), 0.0, 1.0, (4,))
    assert found.at == approx([np.nan, np.nan, np.nan, 0.5], nan_ok=True)
    assert found.side.tolist() == [1, -1, 0, 0]
    assert found.seen.tolist() == [0, 0, 0, 1]
    above, nowhere = (where_zero(f, 0.0, 1.0) for f in (lambda x: x + 1, lambda x: x * np.nan))
    assert why_no_zero(above, "NPV") == "the NPV stays above zero in all of the range searched"
    assert why_no_zero(nowhere, "ratio") == "the ratio does not exist in all of the range searched"
    assert why_no_zero(where_zero(lambda x: x - 0.5, 0.0, 1.0), "NPV") is None


def test_a_gap_in_the_function_is_no_zero():
    # Without a value up to 0.45, above zero after it.
    found = where_zero(lambda x: np.where(x < 0.45, np.nan, 1.0), 0.0, 1.0)
    assert np.isnan(found.at)
    assert (found.seen, found.side) == (0, 0)
    # The change of sign lies across a gap that no point of the grid falls in.
    hidden = where_zero(lambda x: np.where(np.abs(x - 0.53) < 0.03, np.nan, x - 0.53), 0.0, 1.0, pieces=1)
    assert np.isnan(hidden.at)
    # A value without bound is a sign like any other.
    assert where_zero(lambda x: np.where(x > 0.9, np.inf, x - 0.5), 0.0, 1.0, pieces=1).at == approx(0.5)


@pytest.mark.parametrize("which", ["first", "last"])
def test_batch_equals_case_by_case(which):
    chance = np.random.default_rng(3)
    saving, outlay = chance.uniform(300, 2000, (3, 4)), chance.uniform(4000, 20_000, (3, 4))
    wave = chance.uniform(0, 20_000, (3, 4))
    outlay[0, 0], outlay[2, 1] = 1e7, -1e6  # never and always worth it
    low, high = chance.uniform(-0.1, 0, (3, 1)), chance.uniform(0.1, 0.3, (4,))

    def npv_at(rise, case=...):
        return (
            present_value(saving[case][..., None] * growth(rise[..., None], 20), 0.05)
            - outlay[case]
            + wave[case] * (np.sin(60 * rise))
        )

    together = where_zero(npv_at, low, high, (3, 4), which=which)
    assert np.isnan(together.at).sum() == 2
    assert (together.side[0, 0], together.side[2, 1]) == (-1, 1)
    assert (together.seen > 1).any()
    for case in np.ndindex(3, 4):
        ends = np.broadcast_to(low, (3, 4))[case], np.broadcast_to(high, (3, 4))[case]
        alone = where_zero(lambda rise, case=case: npv_at(rise, case), *ends, which=which)
        assert together.at[case] == approx(float(alone.at), abs=1e-12, nan_ok=True)
        assert (together.seen[case], together.side[case]) == (alone.seen, alone.side)


@pytest.mark.parametrize("pieces", [1, 4])
def test_ends_that_are_known_are_not_asked_for_again(pieces):
    def curve(x):
        return x**2 - np.array([0.3, 2.0])

    plain, told = Counted(curve), Counted(curve)
    asked = where_zero(plain, 0.0, 1.0, (2,), pieces=pieces)
    known = where_zero(told, 0.0, 1.0, (2,), pieces=pieces, ends=(curve(0.0), curve(1.0)))

    assert told.calls == plain.calls - 2
    for name in ("at", "seen", "side"):
        assert np.array_equal(getattr(known, name), getattr(asked, name), equal_nan=True)
    assert known.at[0] == approx(0.3**0.5) and known.side[1] == -1


def test_precision_asked_for_is_kept_and_saves_calls():
    exact = 0.6180339887498949
    fine, rough = (Counted(lambda x: x**2 + x - 1) for _ in range(2))
    assert where_zero(fine, 0.0, 8.0, pieces=1, precision=1e-14).at == approx(exact, abs=1e-13)
    assert where_zero(rough, 0.0, 8.0, pieces=1, precision=1e-3).at == approx(exact, abs=8e-3)
    assert rough.calls < fine.calls


@pytest.mark.parametrize(
    ("refused", "words"),
    [
        (lambda: where_zero(np.sin, 1.0, 1.0), "its low end below its high end"),
        (lambda: where_zero(np.sin, 2.0, [3.0, 1.0], (2,)), "its low end below its high end"),
        (lambda: where_zero(np.sin, 0.0, np.inf), "finite"),
        (lambda: where_zero(np.sin, np.nan, 1.0), "finite"),
        (lambda: where_zero(np.sin, 0.0, 1.0, pieces=0), "at least one piece, not 0"),
        (lambda: where_zero(np.sin, 0.0, 1.0, which="any"), "the first or the last zero, not 'any'"),
    ],
)
def test_impossible_searches_are_refused(refused, words):
    with pytest.raises(ValueError, match=words):
        refused()
