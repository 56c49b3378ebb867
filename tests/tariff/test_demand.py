"""Billed demand with a ratchet, beside a plain look at the months before."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.tariff.demand import billed_demand


def plain_billed(peaks, ratchet, months_back):
    """One month after the other; peaks is a list of lists of twelve."""
    run = [kw for year in peaks for kw in year]
    billed = []
    for month, kw in enumerate(run):
        earlier = run[max(0, month - months_back) : month]
        billed.append(max([kw, *(ratchet * other for other in earlier)]))
    return billed


peaks_of = st.integers(1, 3).flatmap(
    lambda years: st.lists(
        st.lists(st.integers(0, 90).map(lambda n: n / 10), min_size=12, max_size=12), min_size=years, max_size=years
    )
)


@given(peaks_of, st.sampled_from([0.0, 0.5, 0.8, 1.0]), st.sampled_from([0, 1, 3, 11, 12, 30, 60]))
def test_equals_a_plain_walk(peaks, ratchet, months_back):
    billed = billed_demand(np.array(peaks), ratchet, months_back)
    assert billed.ravel().tolist() == pytest.approx(plain_billed(peaks, ratchet, months_back))


@given(peaks_of)
def test_without_a_ratchet_each_month_is_billed_for_its_own_peak(peaks):
    own = np.array(peaks)
    assert np.array_equal(billed_demand(own), own)
    assert np.array_equal(billed_demand(own, 0.0, 11), own)
    assert np.array_equal(billed_demand(own, 0.8, 0), own)


@given(peaks_of, st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.integers(0, 12), st.integers(0, 12))
def test_a_stronger_ratchet_or_a_longer_memory_never_bills_less(peaks, one, other, near, far):
    own = np.array(peaks)
    (weak, strong), (short, long) = sorted((one, other)), sorted((near, far))
    assert (billed_demand(own, weak, short) <= billed_demand(own, strong, long)).all()


def test_memory_runs_across_the_turn_of_the_year_and_ends():
    own = np.zeros((2, 12))
    own[0, 9] = 10.0
    billed = billed_demand(own, 0.5, 4)
    assert billed[0, :9].tolist() == [0.0] * 9
    assert billed[0, 9:].tolist() == [10.0, 5.0, 5.0]
    assert billed[1].tolist() == [5.0, 5.0] + [0.0] * 10


def test_a_ratchet_of_each_case_and_year():
    own = np.random.default_rng(1).uniform(1, 9, (3, 2, 12))
    ratchet = np.array([0.0, 0.6, 1.0])[:, None]
    billed = billed_demand(own, ratchet, 11)
    for case in range(3):
        assert billed[case].ravel().tolist() == pytest.approx(plain_billed(own[case], ratchet[case, 0], 11))
    one_house = billed_demand(own[0], ratchet, 11)
    assert one_house.shape == (3, 2, 12)
    assert np.array_equal(one_house[0], own[0])
    assert billed_demand(own[0], ratchet, 0).shape == (3, 2, 12)


@given(peaks_of, peaks_of, st.sampled_from([1, 3, 11, 12, 30]))
def test_the_months_before_the_first_are_looked_at(earlier, peaks, months_back):
    before, own = np.array(earlier).ravel(), np.array(peaks)
    billed = billed_demand(own, 0.8, months_back, before)
    whole = plain_billed([*earlier, *peaks], 0.8, months_back)
    assert billed.ravel().tolist() == pytest.approx(whole[before.size :])


def test_months_before_of_each_case():
    before, own = np.array([[0.0] * 12, [10.0] * 12]), np.full((1, 12), 2.0)
    assert billed_demand(own, 0.5, 3, before)[:, 0].tolist() == [[2.0] * 12, [5.0] * 3 + [2.0] * 9]


def test_bills_that_leave_months_out_are_looked_at_by_their_months():
    """A bill two months later is two months away, and two bills of one month do not command one another."""
    peak, at = np.array([[10.0, 1.0, 1.0, 1.0]]), np.array([24289, 24289, 24291, 24292])
    assert billed_demand(peak, 0.5, 2, at=at).tolist() == [[10.0, 1.0, 5.0, 1.0]]
    assert billed_demand(peak, 0.5, 1, at=at).tolist() == [[10.0, 1.0, 1.0, 1.0]]


def test_refuses_to_look_ahead():
    with pytest.raises(ValueError, match="zero or more"):
        billed_demand(np.ones((1, 12)), 0.5, -1)
