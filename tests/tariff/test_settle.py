"""Minimum bills, banks of money and yearly settlement, beside plain walks through the months."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.tariff.settle import credit_bank, minimum_topup, yearly_settlement

true_ups = st.integers(0, 11)


def money(low, high):
    """A year of monthly amounts, in quarters so that sums are exact."""
    return st.lists(st.integers(4 * low, 4 * high).map(lambda n: n / 4), min_size=12, max_size=12)


def years_of(*kinds):
    """The same number of years of each kind."""
    return st.integers(1, 3).flatmap(lambda n: st.tuples(*(st.lists(k, min_size=n, max_size=n) for k in kinds)))


def is_closing(month, months, true_up):
    return month % 12 == true_up or month == months - 1


def plain_bank(charges, earned, true_up, pay_out):
    used, paid, bank = [], [], 0.0
    for month, (charge, credit) in enumerate(zip(charges, earned, strict=True)):
        bank += credit
        used.append(min(bank, charge))
        bank -= used[-1]
        paid.append(0.0)
        if is_closing(month, len(charges), true_up):
            paid[-1], bank = pay_out * bank, 0.0
    return used, paid


def plain_settlement(amounts, minimums, true_up):
    due, account = [], 0.0
    for month, (amount, minimum) in enumerate(zip(amounts, minimums, strict=True)):
        account += amount - minimum
        closing = is_closing(month, len(amounts), true_up)
        due.append(max(0.0, account) if closing else 0.0)
        account = 0.0 if closing else account
    return due


def flat(years):
    return [each for year in years for each in year]


@given(years_of(money(-50, 50), money(0, 30)))
def test_with_the_top_up_a_month_costs_the_greater_of_both(years):
    charges, minimum = map(np.array, years)
    topup = minimum_topup(minimum, charges)
    assert np.array_equal(charges + topup, np.maximum(charges, minimum))
    assert topup.min() >= 0.0


def test_a_minimum_of_each_case_and_year():
    charges = np.arange(12.0)
    topup = minimum_topup(np.array([[[5.0]], [[9.0]]]), np.stack([charges, charges + 1]))
    assert topup.shape == (2, 2, 12)
    assert topup[1, 0].tolist() == [9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.0, 0.0, 0.0]
    assert topup[0, 1, 0] == 4.0


@given(years_of(money(0, 90), money(0, 90)), true_ups, st.sampled_from([0.0, 0.5, 1.0]))
def test_bank_equals_a_plain_walk(years, true_up, pay_out):
    charges, earned = years
    used, paid = credit_bank(charges, earned, true_up, pay_out)
    plain_used, plain_paid = plain_bank(flat(charges), flat(earned), true_up, pay_out)
    assert used.shape == paid.shape == (len(charges), 12)
    assert used.ravel().tolist() == plain_used
    assert paid.ravel().tolist() == plain_paid


@given(years_of(money(0, 90), money(0, 90)), true_ups)
def test_bank_paid_out_in_full_gives_the_net_of_the_study(years, true_up):
    charges, earned = map(np.array, years)
    used, paid = credit_bank(charges, earned, true_up, 1.0)
    assert (used + paid).sum() == earned.sum()
    assert (used <= charges).all()


@given(years_of(money(90, 200), money(0, 90)), true_ups, st.sampled_from([0.0, 1.0]))
def test_charges_that_are_large_enough_take_each_credit_at_once(years, true_up, pay_out):
    charges, earned = map(np.array, years)
    used, paid = credit_bank(charges, earned, true_up, pay_out)
    assert np.array_equal(charges - used, charges - earned)
    assert not paid.any()


def test_credits_wait_for_later_charges_and_lapse_at_the_true_up():
    charges, earned = np.zeros((2, 12)), np.zeros((2, 12))
    earned[0, 1], charges[0, 0], charges[0, 2], charges[0, 3] = 100.0, 50.0, 30.0, 40.0
    earned[1, 11] = 8.0
    used, paid = credit_bank(charges, earned, true_up_month=2, pay_out=0.25)
    assert {tuple(at): used[tuple(at)] for at in np.argwhere(used)} == {(0, 2): 30.0}
    assert {tuple(at): paid[tuple(at)] for at in np.argwhere(paid)} == {(0, 2): 17.5, (1, 11): 2.0}


def test_banks_of_many_cases_and_years():
    rng = np.random.default_rng(2)
    charges, earned = rng.uniform(0, 90, (4, 1, 2, 12)), rng.uniform(0, 90, (3, 2, 12))
    pay_out = np.array([[0.0, 0.1], [0.5, 0.6], [1.0, 0.9]])
    used, paid = credit_bank(charges, earned, 4, pay_out)
    assert used.shape == paid.shape == (4, 3, 2, 12)
    for one, other in np.ndindex(4, 3):
        plain_used, plain_left = plain_bank(charges[one, 0].ravel(), earned[other].ravel(), 4, 1.0)
        assert used[one, other].ravel().tolist() == pytest.approx(plain_used)
        plain_paid = np.reshape(plain_left, (2, 12)) * pay_out[other][:, None]
        assert paid[one, other] == pytest.approx(plain_paid)


def test_one_house_under_many_shares_paid_out():
    used, paid = credit_bank(np.zeros((1, 12)), np.ones((1, 12)), 11, np.array([[0.0], [1.0]]))
    assert used.shape == paid.shape == (2, 1, 12)
    assert paid[:, 0, 11].tolist() == [0.0, 12.0]


@pytest.mark.parametrize(("charge", "credit"), [(-1.0, 1.0), (1.0, -1.0)])
def test_bank_refuses_amounts_of_the_wrong_sign(charge, credit):
    with pytest.raises(ValueError, match="zero or more"):
        credit_bank(np.full((1, 12), charge), np.full((1, 12), credit), 11)


@given(years_of(money(-60, 60), money(0, 12)), true_ups)
def test_settlement_equals_a_plain_walk(years, true_up):
    amounts, minimums = years
    due = yearly_settlement(amounts, minimums, true_up)
    assert due.shape == (len(amounts), 12)
    assert due.ravel().tolist() == plain_settlement(flat(amounts), flat(minimums), true_up)


@given(years_of(money(0, 60)), true_ups)
def test_settlement_without_credits_or_minimums_only_puts_off_the_bill(years, true_up):
    amounts = np.array(years[0])
    due = yearly_settlement(amounts, 0.0, true_up)
    assert due.sum() == amounts.sum()
    assert not due[:-1, [month for month in range(12) if month != true_up]].any()


@given(years_of(money(-60, 60), money(0, 12)), true_ups)
def test_nobody_pays_less_than_the_minimums_nor_less_than_the_energy(years, true_up):
    amounts, minimums = map(np.array, years)
    paid = minimums.sum() + yearly_settlement(amounts, minimums, true_up).sum()
    assert paid >= max(minimums.sum(), amounts.sum())


def test_settlement_of_many_cases():
    amounts = np.random.default_rng(3).uniform(-60, 60, (3, 2, 12))
    minimums = np.array([0.0, 4.0])[:, None, None, None]
    due = yearly_settlement(amounts, minimums, 7)
    assert due.shape == (2, 3, 2, 12)
    for which, case in np.ndindex(2, 3):
        expected = plain_settlement(amounts[case].ravel(), [4.0 * which] * 24, 7)
        assert due[which, case].ravel().tolist() == pytest.approx(expected)


@pytest.mark.parametrize("true_up", [-1, 12])
def test_refuses_a_month_that_is_none(true_up):
    with pytest.raises(ValueError, match="from 0 to 11"):
        yearly_settlement(np.zeros((1, 12)), 0.0, true_up)
    with pytest.raises(ValueError, match="from 0 to 11"):
        credit_bank(np.zeros((1, 12)), 0.0, true_up)
