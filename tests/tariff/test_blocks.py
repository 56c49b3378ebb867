"""Blocks of energy, beside a plain walk through them kWh by kWh."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.tariff.blocks import block_ends, in_blocks

MONTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def plain_parts(kwh, ends):
    """Fill one block after the other with what is left."""
    parts, below = [], 0.0
    for end in ends:
        part = min(kwh, end - below)
        parts.append(part)
        kwh -= part
        below = end
    return [*parts, kwh]


whole = st.integers(0, 4000).map(lambda n: n / 4)  # quarters are exact, so the sums are
rising = st.lists(whole, max_size=4).map(sorted)


@given(whole, rising)
def test_parts_equal_a_plain_walk_and_add_up_exactly(kwh, ends):
    parts = in_blocks(kwh, ends)
    assert parts.tolist() == plain_parts(kwh, ends)
    assert parts.sum() == kwh


@given(st.floats(0.0, 1e5), st.lists(st.floats(0.0, 1e5), max_size=4).map(sorted))
def test_parts_of_any_total_add_up_and_none_is_negative(kwh, ends):
    parts = in_blocks(kwh, ends)
    assert parts.sum() == pytest.approx(kwh, rel=1e-12, abs=1e-12)
    assert parts.min() >= 0.0


@given(whole, rising)
def test_one_price_in_every_block_is_the_flat_price(kwh, ends):
    price = np.full(len(ends) + 1, 0.25)
    assert (in_blocks(kwh, ends) * price).sum() == 0.25 * kwh


@given(whole, whole, rising)
def test_rising_prices_make_two_bills_no_dearer_than_one(first, second, ends):
    price = np.arange(1.0, len(ends) + 2)
    apart = sum((in_blocks(kwh, ends) * price).sum() for kwh in (first, second))
    assert apart <= (in_blocks(first + second, ends) * price).sum()


def test_an_end_belongs_to_the_block_below_it():
    assert in_blocks([100.0, 100.5], [100.0]).tolist() == [[100.0, 0.0], [100.0, 0.5]]


def test_an_allowance_of_nothing_leaves_the_first_block_empty():
    assert in_blocks(80.0, [0.0, 50.0, 50.0]).tolist() == [0.0, 50.0, 0.0, 30.0]


def test_cases_years_and_months_on_leading_axes():
    rng = np.random.default_rng(1)
    kwh = rng.uniform(0, 2000, (3, 1, 12))
    ends = np.sort(rng.uniform(0, 2000, (2, 12, 2)), axis=-1)
    parts = in_blocks(kwh, ends)
    assert parts.shape == (3, 2, 12, 3)
    for case, year, month in np.ndindex(3, 2, 12):
        expected = plain_parts(kwh[case, 0, month], ends[year, month])
        assert parts[case, year, month] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("kwh", "ends", "words"),
    [(-1.0, [5.0], "zero or more"), (1.0, [9.0, 5.0], "must rise"), (1.0, [-5.0, 5.0], "must rise")],
)
def test_refuses_what_cannot_be_cut_into_blocks(kwh, ends, words):
    with pytest.raises(ValueError, match=words):
        in_blocks(kwh, ends)


def test_ends_of_a_month_do_not_care_for_its_days():
    assert block_ends([600.0, 900.0]).tolist() == [[600.0, 900.0]] * 12


def test_ends_may_differ_by_month():
    threshold = [1000.0] * 4 + [600.0] * 6 + [1000.0] * 2
    ends = block_ends(np.array(threshold)[:, None])
    assert ends[:, 0].tolist() == threshold


def test_ends_of_a_day_grow_with_the_days():
    assert block_ends([30.0, 40.0], per_day=True).tolist() == [[30.0 * d, 40.0 * d] for d in MONTHS]
    assert block_ends([30.0], per_day=True, days=[62, 31]).tolist() == [[1860.0], [930.0]]


def test_ends_as_shares_of_an_allowance():
    allowance = [12.0] * 6 + [18.0] * 6
    ends = block_ends([1.0, 1.5, 4.0], baseline=allowance)
    expected = [[share * a * d for share in (1.0, 1.5, 4.0)] for a, d in zip(allowance, MONTHS, strict=True)]
    assert ends == pytest.approx(np.array(expected))
    assert block_ends([1.0], baseline=30.0) == pytest.approx(block_ends([30.0], per_day=True))


def test_ends_of_many_cases():
    up_to = np.array([500.0, 700.0])[:, None, None, None] * np.array([1.0, 2.0])
    ends = block_ends(up_to)
    assert ends.shape == (2, 1, 12, 2)
    assert ends[1, 0, 5].tolist() == [700.0, 1400.0]


def test_an_end_is_either_by_the_day_or_by_an_allowance():
    with pytest.raises(ValueError, match="not at both"):
        block_ends([1.0], per_day=True, baseline=10.0)
