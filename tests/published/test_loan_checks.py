"""Published and recomputed check values of loans and of their annual percentage rates, each with its source.

Row ids D3 to D25; D1, D2 and D21 (plain level payments) stand in ``test_finance_checks``. "Seen" means the
figure was read at its source; "inputs seen" that the problem was read there and the answer is ours; "own" that
the numbers are ours on a standard formula. The day counts t and f of the Appendix J rows follow its rules of
thirty-day months and whole unit-periods counted back from the first payment.
"""

import numpy as np
import pytest
from pytest import approx

from finsolar.money.apr import annual_percentage_rate, effective_annual_rate, odd_first_period
from finsolar.money.borrowing import borrow, note
from finsolar.money.loan import level_payment
from finsolar.money.rates import annuity_factor

POINT = 0.01


def apr_of(amount, payments, *, first=1, odd=0.0, per_year=12):
    """US rate, in points, of one advance and payments one unit-period apart."""
    whole, part = odd_first_period(len(payments), first, odd)
    flows = np.concatenate([[amount], -np.asarray(payments, dtype=float)])
    return float(annual_percentage_rate(flows, whole=whole, odd=part, per_year=per_year)) / POINT


def in_advance(principal, annual_rate, payments):
    """A loan whose payments fall at the beginning of each month, the first on the day it is paid out.

    Returns the payment and the schedule of the payments after the first, which repay what the first left over.
    """
    payment = float(level_payment(principal, annual_rate, payments)) / (1 + annual_rate / 12)
    return payment, borrow(note(principal - payment), annual_rate, payments - 1)


# Documentation of ipmt in numpy-financial (seen).
def test_d3_schedule_of_one_year():
    loan = borrow(note(2500), 0.0824, 12)
    assert loan.principal[0] == approx(200.58, abs=0.005)
    assert loan.interest[0] == approx(17.17, abs=0.005)
    assert loan.interest[-1] == approx(1.49, abs=0.005)
    assert loan.total_interest == approx(112.98, abs=0.005)
    assert [loan.principal[0], loan.interest[0]] == approx([200.5819, 17.1667], abs=5e-5)
    assert [loan.interest[-1], float(loan.total_interest)] == approx([1.4850, 112.9831], abs=5e-5)


# LibreOffice help on CUMIPMT_ADD and CUMPRINC_ADD; documentation of CUMIPMT in the DAX language (seen).
def test_d4_interest_paid_at_the_end_and_at_the_beginning():
    loan = borrow(note(125_000), 0.09, 360)
    assert loan.interest[12:24].sum() == approx(11135.23, abs=0.005)
    assert loan.interest[0] == approx(937.50, abs=0.005)
    assert loan.principal[0] == approx(68.27827, abs=5e-6)
    # Payment k at the beginning of month k settles the interest of month k - 1.
    _, rest = in_advance(125_000, 0.09, 360)
    assert rest.interest[11:23].sum() == approx(11052.3395838718, abs=1e-8)


# LibreOffice help on PPMT (seen). To reach 8000 at the end, the payments repay 5000 and save 8000; paid on the
# first day, the first of them bears no interest and is all principal.
def test_d5_first_payment_towards_a_sum_at_the_end():
    rate, months = 0.0875, 36
    saved = 8000 * (1 - float(annuity_factor(rate / 12, months)) * rate / 12)
    payment, _ = in_advance(5000 + saved, rate, months)
    assert payment == approx(350.99, abs=0.005)


# 12 CFR 1026 (Regulation Z), Appendix J, examples (c), as restated in a public F# test suite (seen there); the
# answers to five digits are recomputed. The regulation itself prints two decimals.
@pytest.mark.parametrize(
    ("found", "printed", "recomputed"),
    [
        pytest.param(lambda: apr_of(5000, [230] * 24), 9.69, 9.68571, id="D6"),  # (c)(1)(i)
        pytest.param(lambda: apr_of(6000, [200] * 36, odd=19 / 30), 11.82, 11.81651, id="D7"),  # (c)(1)(ii)
        pytest.param(lambda: apr_of(10_000, [385] * 40, odd=39 / 90, per_year=4), 8.97, 8.97077, id="D8"),  # (c)(1)(iv)
        pytest.param(lambda: apr_of(5000, [250] + [230] * 23), 10.08, 10.08289, id="D9"),  # (c)(2)(i)
        pytest.param(lambda: apr_of(5000, [230] * 23 + [280]), 10.50, 10.50047, id="D10"),  # (c)(3)(i)
        pytest.param(
            lambda: apr_of(8000, [449.36] + [465] * 18 + [200], first=0, odd=52 / 60, per_year=6),
            7.30,
            7.30177,
            id="D11",
        ),  # (c)(4)(ii)
        pytest.param(lambda: apr_of(1000, [1080], per_year=365 / 255), 11.45, 11.45098, id="D12"),  # (c)(5)(i)
    ],
)
def test_rate_of_the_united_states_regulation(found, printed, recomputed):
    assert found() == approx(printed, abs=0.005)
    assert found() == approx(recomputed, abs=5e-6)


# Directive 98/7/EC, Annex III, examples 1 and 3; the equation is that of 2008/48/EC, Annex I (seen; the 12.92 %
# of equal months recomputed).
@pytest.mark.parametrize(
    ("flows", "years", "printed", "tolerance", "recomputed"),
    [
        pytest.param([1000, -1200], [0, 546 / 365], 0.1296, 0.005 * POINT, 0.129620, id="D13-days"),
        pytest.param([1000, -1200], [0, 1.5], 0.1292, 0.005 * POINT, 0.129243, id="D13-months"),
        pytest.param([1000, -600, -600], [0, 1, 2], 0.1306623, 1e-7, 0.13066239, id="D14"),
    ],
)
def test_rate_of_the_european_directive(flows, years, printed, tolerance, recomputed):
    found = float(effective_annual_rate(flows, years))
    assert found == approx(printed, abs=tolerance)
    assert found == approx(recomputed, abs=5e-7)


# HP-12C Platinum user guide, real estate, example 1 (seen).
def test_d15_points_taken_off_what_is_paid_out():
    loan = borrow(note(60_000, points=0.02), 0.115, 360)
    assert loan.note.borrowed == 60_000
    assert loan.note.proceeds == approx(58_800)
    assert loan.payment[0] == approx(594.17, abs=0.005)
    assert annual_percentage_rate(loan.flows) / POINT == approx(11.76, abs=0.005)
    assert annual_percentage_rate(loan.flows) / POINT == approx(11.7642, abs=5e-5)


# For All Practical Purposes (COMAP), 10th ed., chapter 22, example 11 (seen).
def test_d16_points_borrowed_as_well():
    loan = borrow(note(100_000, points=0.02, on_top=True), 0.035, 360)
    assert loan.note.proceeds == approx(100_000)
    assert loan.payment[0] == approx(458.21, abs=0.005)
    assert annual_percentage_rate(loan.flows) / POINT == approx(3.663, abs=0.0005)


# Appendix J general equation with the dealer fee as finance charge (own numbers).
@pytest.mark.parametrize(
    ("base", "financed", "payment", "rate"),
    [
        pytest.param("financed price", 26666.67, 126.32, 5.791, id="D17-financed"),
        pytest.param("cash price", 25000.0, 118.42, 5.129, id="D17-cash"),
    ],
)
def test_dealer_fee_hidden_in_the_price(base, financed, payment, rate):
    loan = borrow(note(20_000, dealer_fee=0.25, dealer_fee_of=base), 0.0299, 300)
    assert loan.note.borrowed == approx(financed, abs=0.005)
    assert loan.note.amount_financed == approx(20_000)
    assert loan.payment[0] == approx(payment, abs=0.005)
    assert annual_percentage_rate(loan.flows) / POINT == approx(rate, abs=0.0005)


# Annuity formula; a public page on recasting a mortgage prints 1610.75 (seen). The loan is one whose first
# payment leaves 300000 over 300 months, so that the sum can be paid in with it.
def test_d18_recast_after_a_lump_sum():
    start = float(level_payment(300_000, 0.06, 300)) * float(annuity_factor(0.005, 301))
    loan = borrow(note(start), 0.06, 301, paydown=50_000, paydown_month=1)
    assert loan.payment[0] == approx(1932.90, abs=0.005)
    assert loan.balance[0] == approx(250_000)
    assert loan.payment[1:] == approx(np.full(300, 1610.75), abs=0.005)
    assert loan.interest[1:].sum() == approx(233226.05, abs=0.005)


# Annuity formula (own numbers).
def test_d19_tax_credit_paid_in_recast_or_shorter():
    terms = {"paydown": 9000.0, "paydown_month": 18}
    recast, shorter = (borrow(note(30_000), 0.0499, 240, shorten=shorten, **terms) for shorten in (False, True))
    for loan in (recast, shorter):
        assert loan.payment[:18] == approx(np.full(18, 197.82), abs=0.005)
        assert loan.balance[17] + loan.paydown[17] == approx(28637.18, abs=0.005)
    assert recast.payment[18:] == approx(np.full(222, 135.65), abs=0.005)
    assert shorter.payment[18:146] == approx(np.full(128, 197.82), abs=0.005)
    assert shorter.term - 18 == approx(128.29, abs=0.01)
    assert shorter.balance[145] > 0
    assert shorter.balance[146] == 0


# Annuity formula (own numbers).
@pytest.mark.parametrize(
    ("paydown", "later"), [pytest.param(9000.0, 143.30, id="D20-paid"), pytest.param(0.0, 205.47, id="D20-not-paid")]
)
def test_starter_payment_that_presumes_a_paydown(paydown, later):
    loan = borrow(note(30_000), 0.0499, 240, presumed=0.3, paydown=paydown, paydown_month=18)
    assert loan.payment[:18] == approx(np.full(18, 138.47), abs=0.005)
    assert loan.balance[17] + loan.paydown[17] == approx(29744.03, abs=0.005)
    assert loan.payment[18:] == approx(np.full(222, later), abs=0.005)


# LibreOffice help on NOMINAL (seen): the loan that costs 13.5 % effective bears 12.73 % nominal.
def test_d22_nominal_rate_from_the_effective_one():
    payments = np.full(36, 100.0)
    amount = (payments * 1.135 ** -(np.arange(1, 37) / 12)).sum()
    flows = np.concatenate([[amount], -payments])
    assert effective_annual_rate(flows, np.arange(37) / 12) / POINT == approx(13.5, abs=1e-9)
    assert annual_percentage_rate(flows) / POINT == approx(12.73, abs=0.005)
    assert annual_percentage_rate(flows) / POINT == approx(12.7303, abs=5e-5)


# Own arithmetic in whole cents.
def test_d23_schedule_in_whole_cents():
    loan = borrow(note(20_000), 0.0599, 120, to_cents=True)
    assert np.rint(100 * loan.payment).tolist() == [22194] * 119 + [22205]
    assert round(100 * float(loan.total_interest)) == 663291
    assert loan.balance[-1] == 0


# LibreOffice help on CUMPRINC, CUMPRINC_ADD and CUMIPMT (seen).
def test_d24_cumulative_principal_and_interest():
    assert borrow(note(15_000), 0.055, 36).principal[9:18].sum() == approx(3669.74, abs=0.005)
    assert borrow(note(125_000), 0.09, 360).principal[12:24].sum() == approx(934.1071, abs=5e-5)
    _, rest = in_advance(5000, 0.055, 24)
    assert rest.interest[2:5].sum() == approx(57.54, abs=0.005)


# Corporate-finance textbook problems on points (inputs seen).
@pytest.mark.parametrize(
    ("amount", "rate", "months", "points", "expected"),
    [
        pytest.param(100_000, 0.12, 360, 0.02, 12.986, id="D25-30-years"),
        pytest.param(170_000, 0.09, 156, 0.04, 10.234, id="D25-13-years"),
    ],
)
def test_effective_cost_with_points(amount, rate, months, points, expected):
    loan = borrow(note(amount, points=points), rate, months)
    assert effective_annual_rate(loan.flows, np.arange(months + 1) / 12) / POINT == approx(expected, abs=0.001)
