"""Real and nominal rates, annuities and price growth: identities, limits, shapes and refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from finsolar.money.rates import annuity_factor, nominal_rate, real_rate
from finsolar.scenario.rises import growth

rates = st.floats(-0.5, 1.0)


@given(real=rates, inflation=rates)
def test_real_and_nominal_undo_each_other(real, inflation):
    nominal = nominal_rate(real, inflation)
    assert 1 + nominal == approx((1 + real) * (1 + inflation), rel=1e-12)
    assert real_rate(nominal, inflation) == approx(real, abs=1e-12)


def test_rates_broadcast():
    real, inflation = np.array([[0.01], [0.02]]), np.array([0.0, 0.02, 0.05])
    nominal = nominal_rate(real, inflation)
    assert nominal.shape == (2, 3)
    assert nominal[1, 2] == nominal_rate(0.02, 0.05)
    assert real_rate(nominal, inflation) == approx(np.broadcast_to(real, (2, 3)))


@given(rate=st.floats(-0.3, 0.5), periods=st.integers(0, 60))
def test_annuity_factor_is_the_sum_of_its_payments(rate, periods):
    assert annuity_factor(rate, periods) == approx(sum((1 + rate) ** -k for k in range(1, periods + 1)), rel=1e-9)


# I14: no division by zero, and no jump beside it.
@pytest.mark.parametrize("rate", [0.0, 1e-300, 1e-15, -1e-15, 1e-9])
def test_i14_annuity_factor_near_zero_is_a_plain_count(rate):
    assert annuity_factor(rate, 25) == approx(25 * (1 - 13 * rate), rel=1e-12)


def test_growth_of_a_number_is_a_power():
    assert growth(0.03, 25) == approx(1.03 ** np.arange(25), rel=1e-12)
    assert growth(-0.005, 1).tolist() == [1.0]


def test_growth_takes_one_rise_a_case():
    index = growth(np.array([[0.0], [0.1], [-0.2]]), 4)
    assert index.shape == (3, 4)
    assert index[1] == approx([1, 1.1, 1.21, 1.331])
    assert index[2].tolist() == growth(-0.2, 4).tolist()
    assert growth(np.zeros((2, 3, 1)), 5).shape == (2, 3, 5)


def test_growth_along_a_path_repeats_its_last_rise_and_leaves_out_the_rest():
    assert growth([0.1, 0.5], 5) == approx([1, 1.1, 1.65, 2.475, 3.7125])
    assert growth([0.1, 0.5, 9.0], 3) == approx([1, 1.1, 1.65])
    assert growth([[0.1, 0.5], [0.0, 1.0]], 3) == approx(np.array([[1, 1.1, 1.65], [1, 1, 2]]))


@pytest.mark.parametrize(
    "refused",
    [
        lambda: nominal_rate(-1.0, 0.02),
        lambda: real_rate(0.05, -1.0),
        lambda: real_rate(np.nan, 0.02),
        lambda: annuity_factor(-1.5, 10),
        lambda: annuity_factor(0.05, -1),
        lambda: growth(-1.0, 10),
        lambda: growth(0.03, 0),
        lambda: growth([], 10),
    ],
)
def test_impossible_rates_are_refused(refused):
    with pytest.raises(ValueError, match=r"above -100 %|negative|at least one"):
        refused()
