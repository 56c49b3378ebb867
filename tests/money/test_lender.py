"""The lender's view: ratios by hand, plain readings of the definitions, shapes, reasons and refusals."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from level_loan import schedule
from pytest import approx

from finsolar.money.lender import (
    Coverage,
    Outlasting,
    OutOfPocket,
    debt_service_coverage,
    first_year,
    lenders_view,
    out_of_pocket,
    outlasting,
    reasons,
    set_aside,
)
from finsolar.money.loan import by_year

nan = np.nan
amounts = st.floats(-5000, 5000)
payments = st.one_of(st.just(0.0), st.floats(1, 5000))


# Debt service coverage


def test_coverage_by_hand():
    found = debt_service_coverage([9e9, 1500, 900, 1200, 800], [0, 1000, 1000, 500, 0])
    assert found.by_year == approx([nan, 1.5, 0.9, 2.4, nan], nan_ok=True)
    assert (found.minimum, found.average) == (approx(0.9), approx(1.6))
    assert found.years_short == 1
    assert found.least_left == approx(-100)
    assert found.left_over_term == approx(500 - 100 + 700)


def test_no_debt_has_no_ratio():
    found = debt_service_coverage([0.0, 100.0], [0.0, 0.0])
    assert np.isnan(found.by_year).all()
    for name in ("minimum", "average", "least_left", "left_over_term"):
        assert np.isnan(getattr(found, name)), name
    assert found.years_short == 0


def test_what_rounding_leaves_of_a_paid_debt_is_no_debt():
    found = debt_service_coverage([0, 600, 600], [0, 500, 1e-11])
    assert found.by_year == approx([nan, 1.2, nan], nan_ok=True)
    assert found.average == approx(1.2)


def test_the_mean_without_awards_leaves_them_out_of_what_is_there():
    """By hand: (1,000 - 400 + 600) / 500 over two years is 1.2, and 1.6 with the award of 400 in the first of them."""
    found = debt_service_coverage([0, 1000, 600], [0, 500, 500], [0, 400, 0])
    assert (found.average, found.average_without_awards) == (approx(1.6), approx(1.2))


def test_debt_that_is_just_covered_is_not_short():
    payment = by_year(schedule(9000, 0.07, 60).payment, 6)
    found = debt_service_coverage(1 * payment, payment)
    assert found.minimum == found.average == 1
    assert found.years_short == 0
    assert found.least_left == found.left_over_term == 0


@given(rows=st.lists(st.tuples(amounts, payments), min_size=1, max_size=25))
def test_coverage_agrees_with_walking_the_years(rows):
    found = debt_service_coverage([0, *(cash for cash, _ in rows)], [0, *(paid for _, paid in rows)])
    ratios = [cash / paid for cash, paid in rows if paid]
    left = [cash - paid for cash, paid in rows if paid]
    assert np.isnan(found.by_year).sum() == 1 + len(rows) - len(ratios)
    if not ratios:
        assert np.isnan(found.minimum)
        return
    assert found.minimum == approx(min(ratios))
    assert found.average == approx(sum(ratios) / len(ratios), rel=1e-9, abs=1e-9)
    assert found.least_left == approx(min(left))
    assert found.left_over_term == approx(sum(left), abs=1e-6)
    assert (found.years_short == 0) == (found.minimum >= 1 - 1e-12)
    assert found.minimum <= found.average + 1e-9


# Month by month


def test_first_year_by_hand():
    saving = [20, 30, 60, 100, 110, 120, 120, 110, 90, 60, 30, 20]
    found = first_year(saving, np.full(120, 70.0))
    assert found.left == approx(np.array(saving) - 70.0)
    assert found.payment.tolist() == [70.0] * 12
    assert found.months_short == 6
    # Months 1 to 3 lack 50, 40 and 10.
    assert found.bridge == approx(100)


def test_first_year_of_a_loan_of_fewer_months_and_of_none():
    found = first_year(np.full(12, 50.0), [80.0, 80.0])
    assert found.payment.tolist() == [80, 80] + [0] * 10
    assert (found.months_short, found.bridge) == (2, 60)
    none = first_year(np.full(12, 50.0), np.zeros(0))
    assert (none.months_short, none.bridge) == (0, 0)
    assert none.left.tolist() == [50.0] * 12


def test_a_late_gap_is_bridged_by_what_was_left_before():
    found = first_year([100, 100] + [10] * 10, np.full(12, 30.0))
    assert found.months_short == 10
    assert found.bridge == approx(10 * 20 - 2 * 70)
    assert first_year([100, 100] + [29] * 10, np.full(12, 30.0)).bridge == 0


@given(saving=st.lists(st.floats(0, 500), min_size=12, max_size=12), paid=st.lists(payments, max_size=30))
def test_the_bridge_just_keeps_the_purse_above_zero(saving, paid):
    found = first_year(saving, paid)
    purse = found.bridge + found.left.cumsum()
    assert purse.min() >= -1e-7
    if found.bridge > 0:
        assert purse.min() == approx(0, abs=1e-7)
    assert found.left.sum() == approx(sum(saving) - sum(paid[:12]), abs=1e-7)


# Out of pocket


def test_out_of_pocket_by_hand():
    found = out_of_pocket([-9000, 100, -50, 0, -300, 20])
    assert found.short.tolist() == [False, False, True, False, True, False]
    assert (found.years, found.first, found.last) == (2, 2, 4)
    assert (found.total, found.most) == (350, 300)


def test_out_of_pocket_in_no_year():
    found = out_of_pocket([[-9000, 100, 200], [5, 0, -1e-13]])
    assert found.years.tolist() == [0, 1]
    assert np.isnan(found.first[0]) and np.isnan(found.last[0])
    assert found.total[0] == found.most[0] == 0
    # The same trace beside real money is rounding.
    assert out_of_pocket([5, 100, -1e-13]).years == 0


@given(flows=st.lists(st.integers(-900, 900), min_size=2, max_size=26))
def test_out_of_pocket_agrees_with_walking_the_years(flows):
    found = out_of_pocket(flows)
    short = [year for year, flow in enumerate(flows) if year and flow < 0]
    assert np.flatnonzero(found.short).tolist() == short
    assert found.total == -sum(flows[year] for year in short)
    assert found.most == -min([flows[year] for year in short], default=0)
    if short:
        assert (found.first, found.last) == (short[0], short[-1])


# What the loan outlasts


@pytest.mark.parametrize(
    ("months", "replaced", "warranty", "after_replacement", "after_warranty"),
    [
        (120, 13, 10, 0, 0),  # the last payment is due as the warranty ends
        (180, 13, 10, 24, 60),
        (121, 10, 10, 1, 1),
        (180, nan, 7 + 7 / 12, nan, 89),
        (180, 12, 9.99, 36, 61),  # payment 120 is due after 119.88 months
        (180, 12, nan, 36, nan),
        (0, 12, 10, 0, 0),
    ],
)
def test_payments_after_the_equipment_or_its_warranty(months, replaced, warranty, after_replacement, after_warranty):
    found = outlasting(months, replaced, warranty)
    assert found.after_replacement == approx(after_replacement, nan_ok=True)
    assert found.after_warranty == approx(after_warranty, nan_ok=True)


# Shapes, reasons, refusals


@pytest.mark.parametrize("shape", [(3,), (2, 3)])
def test_batch_equals_case_by_case(shape):
    chance = np.random.default_rng(8)
    cash, flows = chance.uniform(-500, 3000, (*shape, 11)), chance.uniform(-500, 900, (*shape, 11))
    debt = chance.uniform(500, 2000, (*shape, 11)) * (chance.random((*shape, 11)) < 0.7)
    saving, paid = chance.uniform(0, 200, (*shape, 12)), chance.uniform(0, 200, (*shape, 30))
    months, years = chance.integers(12, 200, shape), chance.uniform(1, 12, shape)
    figures = [
        lambda case: debt_service_coverage(cash[case], debt[case]),
        lambda case: first_year(saving[case], paid[case]),
        lambda case: out_of_pocket(flows[case]),
        lambda case: outlasting(months[case], years[case], years[case] / 2),
    ]
    for figure in figures:
        together = figure(...)
        for case in np.ndindex(*shape):
            alone = figure(case)
            for field in fields(alone):
                many = getattr(together, field.name)[case]
                assert many == approx(getattr(alone, field.name), nan_ok=True), field.name


def test_one_debt_beside_many_cases_of_saving():
    found = debt_service_coverage([[0, 500, 500], [0, 1500, 500]], [0, 1000, 1000])
    assert found.minimum == approx([0.5, 0.5])
    assert found.average == approx([0.5, 1.0])
    assert first_year(np.full((4, 12), 50.0), np.full(24, 60.0)).months_short.tolist() == [12] * 4


def test_each_figure_that_does_not_exist_has_its_reason_and_no_other_has():
    def missing(*figures):
        return {
            field.name
            for one in figures
            for field in fields(one)
            if np.isnan(np.asarray(getattr(one, field.name))).any()
        }

    sound = (debt_service_coverage([0, 3, 3], [0, 1, 1]), out_of_pocket([0, -1, 2]), outlasting(24, 1, 1))
    cash = (debt_service_coverage([0, 3, 3], [0, 0, 0]), out_of_pocket([0, 1, 2]), outlasting(0, nan, nan))
    for figures in (sound, cash):
        assert set(reasons(*figures)) == missing(*figures)
    assert reasons(*sound) == {"by_year": "no debt falls due in such a year"}
    every = replace(sound[0], by_year=np.array([3.0, 3.0]))
    assert reasons(every, *sound[1:]) == {}
    assert set(missing(*cash)) == {field.name for field in fields(Coverage)} - {"years_short"} | {
        "first",
        "last",
        *(field.name for field in fields(Outlasting)),
    }
    told = reasons(*cash)
    assert told["minimum"] == "no debt falls due within the study"
    assert told["first"] == "the household is out of pocket in no year"
    assert told["after_replacement"] == "nothing is replaced within the study"
    assert told["after_warranty"] == "no end of a warranty is known"
    assert {field.name for field in fields(OutOfPocket)} >= {"first", "last"}


def test_inputs_are_left_as_they_were():
    flows = np.array([-9000.0, 100.0, -50.0])
    out_of_pocket(flows)
    assert flows.tolist() == [-9000.0, 100.0, -50.0]


@pytest.mark.parametrize(
    ("refused", "words"),
    [
        (lambda: debt_service_coverage([0, 1], [0, -1]), "debt service cannot be negative, got -1"),
        (lambda: debt_service_coverage([0, 1], [0, 1, 1]), "debt service is given for 3 years, the cash for 2"),
        (lambda: first_year(np.ones(11), np.ones(12)), r"a first year has 12 months of saving, got the shape \(11,\)"),
        (lambda: outlasting(-1, 5, 5), "cannot be negative"),
        (lambda: outlasting(12, -5, 5), "cannot be negative"),
        (lambda: outlasting(12, 5, -5), "cannot be negative"),
    ],
)
def test_impossible_inputs_are_refused(refused, words):
    with pytest.raises(ValueError, match=words):
        refused()


@pytest.mark.parametrize(
    ("awards", "paid", "kept", "own"),
    [
        # Year by year from 0, by hand: the award of year 1 waits for the lump sum of year 2.
        ([0, 5000, 0, 0], [0, 0, 4000, 0], [0, 4000, 0, 0], [0, 0, 0, 0]),
        ([0, 5000, 2000, 0], [0, 0, 6000, 0], [0, 5000, 1000, 0], [0, 0, 0, 0]),
        ([1000, 0, 0, 900], [0, 0, 3000, 0], [1000, 0, 0, 0], [0, 0, 2000, 0]),  # what lacks is the household's
        ([0, 0, 0, 0], [0, 700, 0, 0], [0, 0, 0, 0], [0, 700, 0, 0]),
        ([0, 5000, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0]),
    ],
)
def test_awards_are_kept_for_what_is_paid_into_the_loan(awards, paid, kept, own):
    assert [row.tolist() for row in set_aside(awards, paid)] == [kept, own]
    batch = set_aside([awards, awards], [paid, np.multiply(paid, 0.5)])
    assert [row[0].tolist() for row in batch] == [kept, own]
    assert (batch[0] + batch[1]).sum(axis=-1).tolist() == [sum(paid), sum(paid) / 2]


def test_a_lump_sum_of_ones_own_is_no_debt_that_falls_due_but_out_of_the_pocket():
    """1,000 a year against payments of 800; 5,000 paid in year 2: coverage stays 1.25, that year is short by 4,800."""
    view = lenders_view(
        cash=[0.0, 1000, 1000, 1000],
        debt_service=[0.0, 800, 800, 800],
        monthly_saving=[80.0] * 12,
        monthly_payment=[800 / 12] * 36,
        months=36,
        replacement_year=nan,
        warranty_years=nan,
        paid_in=[0.0, 0, 5000, 0],
    )
    assert view.coverage.minimum == approx(1.25)
    assert view.pocket.short.tolist() == [False, False, True, False]
    assert view.pocket.total == approx(4800)
