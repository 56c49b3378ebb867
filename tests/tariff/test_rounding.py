"""Cents of a bill, beside whole numbers that cannot err."""

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.tariff.rounding import cents, printed


def half_up(units, per_cent):
    """Whole cents of ``units``, of which a cent has ``per_cent``; by integers alone."""
    size = (2 * abs(units) + per_cent) // (2 * per_cent)
    return Decimal(size if units > 0 else -size) / 100


@given(st.integers(-(10**15), 10**15))
def test_tenths_of_a_cent(mills):
    assert cents(mills / 1000) == half_up(mills, 10)


@given(st.integers(0, 3000), st.integers(1, 4000))
def test_kwh_times_a_price_of_four_places(kwh, price):
    """The product of two floats falls now and then just short of the half cent that it is on paper."""
    assert cents(kwh * (price / 10_000)) == half_up(kwh * price, 100)


def test_a_product_that_falls_short_in_binary():
    assert 15 * 0.051 < 0.765
    assert cents(15 * 0.051) == Decimal("0.77")


def test_a_credit_is_rounded_like_a_charge():
    assert cents(-2.675) == -cents(2.675) == Decimal("-2.68")


@pytest.mark.parametrize(
    ("amount", "text"), [(0.0, "0.00"), (-0.0, "0.00"), (-0.004, "0.00"), (7, "7.00"), (0.5, "0.50")]
)
def test_always_two_places_and_no_minus_before_nothing(amount, text):
    assert str(cents(amount)) == text


def test_numbers_of_numpy():
    assert cents(np.float64(1.005)) == Decimal("1.01")


@pytest.mark.parametrize("amount", [float("nan"), float("inf"), float("-inf")])
def test_refuses_what_is_no_amount(amount):
    with pytest.raises(ValueError, match="no amount of money"):
        cents(amount)


@given(st.lists(st.integers(-(10**6), 10**6).map(lambda n: n / 1000), max_size=8))
def test_the_total_is_that_of_the_printed_lines(lines):
    rounded, total = printed(lines)
    assert rounded == [cents(line) for line in lines]
    assert total == sum(rounded)
    assert abs(float(total) - sum(lines)) <= 0.005 * len(lines) + 1e-9


def test_a_bill_without_lines():
    assert printed([]) == ([], Decimal("0.00"))
