"""Level-payment loans: the identities of a repayment schedule, outside witnesses, shapes and refusals."""

import numpy as np
import numpy_financial as npf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pytest import approx

from finsolar.money.borrowing import borrow, note
from finsolar.money.loan import by_year, level_payment, present_worth
from finsolar.money.metrics import internal_rates, present_value

principals = st.floats(500, 100_000)
annual_rates = st.floats(0.0, 0.25)
terms = st.integers(1, 360)


@given(principal=principals, rate=annual_rates, months=terms)
def test_i5_schedule_repays_the_loan(principal, rate, months):
    plan = borrow(note(principal), rate, months)
    payment = level_payment(principal, rate, months)
    assert plan.principal.sum() == approx(principal, rel=1e-9)
    assert plan.payment == approx(np.full(months, payment), rel=1e-9)
    assert plan.balance == approx(principal - np.cumsum(plan.principal), abs=1e-7 * principal)
    assert plan.balance[-1] == 0
    paid = months // 2
    still_to_come = np.concatenate([[0], np.full(months - paid, payment)])
    owed = plan.balance[paid - 1] if paid else principal
    assert owed == approx(float(present_value(still_to_come, rate / 12)), rel=1e-9, abs=1e-9)


@given(principal=principals, rate=st.floats(0.001, 0.25), months=st.integers(2, 360), fee=st.floats(0.001, 0.3))
def test_i6_note_rate_is_the_rate_of_return_and_a_fee_raises_it(principal, rate, months, fee):
    payments = np.full(months, level_payment(principal, rate, months))
    flows = np.concatenate([[principal], -payments])
    assert present_value(flows, rate / 12) == approx(0, abs=1e-9 * principal)
    without, with_fee = internal_rates([flows, flows - np.eye(months + 1)[0] * fee * principal]).headline
    assert 12 * without == approx(rate, abs=1e-9)
    assert with_fee > without


def test_i14_free_loan_is_divided_evenly():
    plan = borrow(note(1200.0), 0.0, 12)
    assert plan.interest.tolist() == [0.0] * 12
    assert plan.principal.tolist() == [100.0] * 12
    assert plan.balance[[0, 5]].tolist() == [1100.0, 600.0]


@given(principal=principals, rate=st.floats(0.001, 0.25), months=terms)
def test_numpy_financial_splits_payments_alike(principal, rate, months):
    month = np.arange(1, months + 1)
    plan = borrow(note(principal), rate, months)
    assert level_payment(principal, rate, months) == approx(-npf.pmt(rate / 12, months, principal), rel=1e-9)
    assert plan.interest == approx(-npf.ipmt(rate / 12, month, months, principal), abs=1e-8 * principal)
    assert plan.principal == approx(-npf.ppmt(rate / 12, month, months, principal), abs=1e-8 * principal)


@pytest.mark.parametrize("shape", [(), (3,), (2, 3)])
def test_batch_equals_case_by_case(shape):
    chance = np.random.default_rng(4)
    principal, rate = chance.uniform(5e3, 4e4, shape), chance.uniform(0, 0.1, shape)
    plan = borrow(note(principal), rate, 120)
    payment = level_payment(principal, rate, 120)
    assert plan.interest.shape == plan.principal.shape == plan.balance.shape == (*shape, 120)
    assert payment.shape == shape
    for case in np.ndindex(*shape):
        alone = borrow(note(principal[case]), rate[case], 120)
        assert plan.interest[case] == approx(alone.interest, rel=1e-12)
        assert plan.balance[case] == approx(alone.balance, rel=1e-12)
        assert payment[case] == approx(float(level_payment(principal[case], rate[case], 120)), rel=1e-12)


def test_one_principal_under_many_rates_and_terms():
    plan = borrow(note(10_000.0), np.array([0.0, 0.06]), 24)
    assert plan.balance.shape == (2, 24)
    assert plan.balance[1] == approx(borrow(note(10_000.0), 0.06, 24).balance)
    payments = level_payment(10_000.0, 0.06, np.array([60, 120]))
    assert payments == approx([float(level_payment(10_000.0, 0.06, n)) for n in (60, 120)])


def test_months_are_summed_into_years():
    assert by_year(np.ones(30), 4).tolist() == [0, 12, 12, 6, 0]
    assert by_year(np.ones(30), 2).tolist() == [0, 12, 12]
    assert by_year(np.ones(30), 0).tolist() == [0]
    batch = np.arange(48.0).reshape(2, 24)
    assert by_year(batch, 2).tolist() == [[0, 66, 210], [0, 354, 498]]


@given(principal=principals, rate=annual_rates, years=st.integers(1, 30))
def test_yearly_sums_keep_every_payment(principal, rate, years):
    plan = borrow(note(principal), rate, 12 * years)
    yearly = by_year(plan.interest, years) + by_year(plan.principal, years)
    assert yearly[0] == 0
    assert yearly[1:] == approx(np.full(years, 12 * level_payment(principal, rate, 12 * years)), rel=1e-9)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: level_payment(1000, 0.05, 0),
        lambda: borrow(note(1000), 0.05, 0),
        lambda: level_payment(1000, -12.0, 12),
        lambda: by_year(np.ones(12), -1),
    ],
)
def test_impossible_loans_are_refused(refused):
    with pytest.raises(ValueError, match=r"at least one|above -100 %|negative"):
        refused()


@pytest.mark.parametrize(("rate", "discount", "years"), [(0.0, 0.05, 10), (0.02, 0.06, 15), (0.07, 0.04, 20)])
def test_present_worth_is_the_principal_less_every_payment_brought_to_today(rate, discount, years):
    """Payment by payment: level_payment at the end of month m, divided by (1 + discount)^(m/12)."""
    payment = float(level_payment(12_000.0, rate, 12 * years))
    slowly = 12_000.0 - sum(payment / (1 + discount) ** (m / 12) for m in range(1, 12 * years + 1))

    assert float(present_worth(12_000.0, rate, 12 * years, discount)) == pytest.approx(slowly, rel=1e-12)
    assert (slowly > 0) == ((1 + rate / 12) ** 12 - 1 < discount)


def test_a_loan_at_what_money_earns_is_worth_nothing():
    """Borrowing at the rate one's own money earns changes nothing; and a free loan is never worth its principal."""
    effective = (1 + 0.06 / 12) ** 12 - 1

    assert float(present_worth(12_000.0, 0.06, 120, effective)) == pytest.approx(0.0, abs=1e-8)
    assert 0 < float(present_worth(12_000.0, 0.0, 120, 0.05)) < 12_000.0
