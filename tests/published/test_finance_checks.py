"""Published and recomputed check values of engineering economics, each with its source beside it.

Row ids: A interest and inflation, B life-cycle cost and payback, C rates of return, D loans, E levelised cost, L life
of equipment. "Seen" means the figure was read at its source; "inputs seen" that the problem was read there and the
answer is ours; "from memory" that the figure was recalled from the cited work; "own" that the numbers are ours on a
standard formula. Every figure was recomputed in double precision; where print and formula differ, both are checked.
"""

from datetime import date
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from pytest import approx

import finsolar
from finsolar.energy.fade import array_factor, full_cycles, warranty_end
from finsolar.money.borrowing import borrow, note
from finsolar.money.costs import due_years
from finsolar.money.loan import level_payment
from finsolar.money.metrics import (
    adjusted_internal_rate,
    annualised,
    discounted,
    internal_rates,
    levelised_cost,
    levelised_costs,
    modified_internal_rate,
    payback,
    present_value,
    savings_to_investment,
)
from finsolar.money.rates import annuity_factor, nominal_rate, real_rate
from finsolar.scenario.numbers import settled
from finsolar.scenario.rises import growth
from finsolar.scenario.schema import System
from finsolar.tariff.bills import grid_bill
from finsolar.tariff.prices import Prices


def yearly(first, rises, *, at=0.0):
    """Flows of a first amount at the end of year 1 that grows by a price index, after a flow at time 0."""
    return np.concatenate([[at], first * np.asarray(rises)])


def level(at, amount, years):
    """A flow at time 0 and a level one at the end of each year."""
    return yearly(amount, np.ones(years), at=at)


def single(amount, year, years):
    """One flow in one year."""
    return np.eye(years + 1)[year] * amount


def saved_by(energy, kwh):
    """What the bill of one year falls by when kWh (1, 12, periods) less are drawn at these energy prices."""
    prices = Prices(
        periods=tuple(map(str, energy)),
        fixed=np.full(1, 8.0),
        energy=np.array([energy]),
        scheme="none",
        export=np.zeros(1),
        surplus=np.zeros(1),
        true_up_month=11,
    )
    before, after = (grid_bill(drawn, np.zeros(kwh.shape), prices).total[0] for drawn in (kwh + 25.0, 0 * kwh + 25.0))
    return float(before - after)


def roots_of(flows, times=None):
    """Every rate of return of one series, ascending, without the padding."""
    rates = internal_rates(flows, times)
    return rates.roots[: int(rates.count)]


# A. Discount factors and inflation.


# Standard compound-interest tables, the 8 % page of any engineering-economy textbook (from memory).
@pytest.mark.parametrize(
    ("value", "printed", "half_digit", "exact"),
    [
        pytest.param(lambda: present_value(single(1, 10, 10), 0.08), 0.4632, 5e-5, 1.08**-10, id="A1-P/F"),
        pytest.param(lambda: annuity_factor(0.08, 20), 9.818, 5e-4, (1 - 1.08**-20) / 0.08, id="A1-P/A"),
        pytest.param(lambda: annualised(1, 0.08, 25), 0.0937, 5e-5, 0.08 / (1 - 1.08**-25), id="A1-A/P"),
        pytest.param(
            lambda: present_value([0, *range(10)], 0.08),
            25.977,
            5e-4,
            (1.08**10 - 10 * 0.08 - 1) / (0.08**2 * 1.08**10),
            id="A1-P/G",
        ),
    ],
)
def test_compound_interest_tables(value, printed, half_digit, exact):
    assert value() == approx(printed, abs=half_digit)
    assert value() == approx(exact, abs=1e-9)


# Interest-factor table at 0.25 % a period, Blank & Tarquin, Engineering Economy, Table 1 (seen).
@pytest.mark.parametrize(
    ("value", "printed", "half_digit", "recomputed"),
    [
        pytest.param(lambda: annuity_factor(0.0025, 12), 11.8073, 5e-5, 11.807254, id="A2-P/A-12"),
        pytest.param(lambda: annuity_factor(0.0025, 25), 24.2055, 5e-5, 24.205466, id="A2-P/A-25"),
        pytest.param(lambda: annualised(1, 0.0025, 12), 0.08469, 5e-6, 0.0846937, id="A2-A/P-12"),
        pytest.param(lambda: present_value([0, *range(24)], 0.0025), 264.7753, 5e-5, 264.77534, id="A2-P/G-24"),
    ],
)
def test_small_rate_factors(value, printed, half_digit, recomputed):
    assert value() == approx(printed, abs=half_digit)
    assert value() == approx(recomputed, rel=1e-6)


# NIST Handbook 135, annual supplement, single and uniform present-value factors at the 3 % real rate (from
# memory).
@pytest.mark.parametrize(
    ("years", "spv", "upv"),
    [
        pytest.param(10, 0.744, 8.53, id="A3-10"),
        pytest.param(20, 0.554, 14.88, id="A3-20"),
        pytest.param(25, 0.478, 17.41, id="A3-25"),
    ],
)
def test_federal_factors(years, spv, upv):
    assert present_value(single(1, years, years), 0.03) == approx(spv, abs=5e-4)
    assert annuity_factor(0.03, years) == approx(upv, abs=5e-3)
    assert present_value(level(0, 1, years), 0.03) == approx(float(annuity_factor(0.03, years)), abs=1e-9)


def test_a4_arithmetic_gradient():
    # Park, Contemporary Engineering Economics, 5th ed., Example 3.21 (inputs seen).
    assert present_value([0, 1000, 1250, 1500, 1750, 2000], 0.12) == approx(5204.03, abs=0.01)


def test_a5_gradient_as_a_level_series():
    # Park, 5th ed., section on A/G (seen); the print multiplies by a factor of four digits.
    amount = annualised(present_value([0, *np.arange(10) * 1000.0], 0.12), 0.12, 10)
    assert amount == approx(3584.70, abs=0.05)
    closed_form = 1000 * (1 / 0.12 - 10 / (1.12**10 - 1))
    assert amount == approx(closed_form, abs=1e-6)


def test_a6_geometric_gradient():
    # Park, 5th ed., Example 3.24 (inputs seen): 54,600 a year growing by 7 %, discounted at 12 %.
    assert present_value(yearly(54600, growth(0.07, 5)), 0.12) == approx(222936.69, abs=0.01)


@pytest.mark.parametrize(
    ("rise", "expected"),
    [pytest.param(0.08, 925.925926, id="A7-equal"), pytest.param(0.0799999, 925.925540, id="A7-near")],
)
def test_gradient_at_the_discount_rate(rise, expected):
    # Limit A1 N / (1 + i), NPTEL engineering-economy course, module 1, lecture 8, eq. 43 (seen).
    assert present_value(yearly(100, growth(rise, 10)), 0.08) == approx(expected, abs=1e-4)


def test_a8_base_date_price_and_first_year_price():
    # NIST Handbook 135 (1995), UPV*; ASTM E917 has the same form (from memory).
    from_base_date = present_value(yearly(1, growth(0.01, 26)[1:]), 0.03)
    from_first_year = present_value(yearly(1, growth(0.01, 25)), 0.03)
    assert from_base_date == approx(19.5689, abs=1e-4)
    assert from_first_year == approx(19.3752, abs=1e-4)
    assert from_base_date / from_first_year == approx(1.01, abs=1e-12)


def test_a9_constant_and_current_money():
    # Capehart, Turner & Kennedy, Guide to Energy Management, Example 4.14 (seen).
    current = yearly(25000, growth(0.25, 4)[1:])
    assert current[1:] == approx([31250, 39062.50, 48828.13], abs=0.005)
    combined = nominal_rate(0.04, 0.25)
    assert combined == approx(0.30, abs=1e-12)
    in_current, in_constant = present_value(current, combined), present_value(level(0, 25000, 3), 0.04)
    assert in_current == approx(69377, abs=1)
    assert in_current == approx(float(in_constant), abs=1e-6)


def test_a10_fisher_relation():
    # DOE/NIST discount rates for 2019, nominal 3.1 % and real 3.0 % (seen); the second pair is own.
    assert real_rate(0.031, 0.03) == approx(0.001, abs=5e-4)  # implied inflation: the relation is symmetric
    assert real_rate(0.031, 0.03) == approx(0.000971, abs=1e-6)
    assert real_rate(0.06, 0.025) == approx(0.034146, abs=1e-6)
    assert nominal_rate(real_rate(0.06, 0.025), 0.025) == approx(0.06, abs=1e-12)


def test_a11_inflating_series():
    # Kalogirou, Solar Energy Engineering, problem 12.6 (inputs seen).
    assert present_value(yearly(980, growth(0.06, 10)), 0.08) == approx(8354.06, abs=0.01)


def test_a12_timing_within_the_year():
    # End-of-year rule of Handbook 135, mid-year rule of some defence analyses; own arithmetic.
    end = present_value(level(0, 1200, 10), 0.06)
    middle = present_value(np.full(10, 1200.0), 0.06, times=np.arange(10) + 0.5)
    monthly = present_value(np.full(120, 100.0), 0.06, times=np.arange(1, 121) / 12)
    assert end == approx(8832.10, abs=0.01)
    assert middle == approx(9093.21, abs=0.01)
    assert middle == approx(end * 1.06**0.5, rel=1e-12)
    assert monthly == approx(9072.43, abs=0.01)


def test_a13_real_and_nominal_analysis():
    # Thumann & Woodroof, Energy Project Financing, App. A, Examples 29 and 30 (seen; four-digit factors in
    # print).
    constant = present_value(level(0, 1000, 4), 0.15)
    combined = nominal_rate(0.15, 0.03)
    current = present_value(yearly(1000, growth(0.03, 5)[1:]), combined)
    assert combined == approx(0.1845, abs=1e-12)
    assert constant == approx(2855.00, abs=0.15)
    assert current == approx(2854.89, abs=0.15)
    assert current == approx(float(constant), abs=1e-6)


# B. Life-cycle cost, SIR, AIRR, payback.

RETROFIT = [-10000, 2525, 2525, 2525, 3840, 3840, 3840]


def test_b1_npv_of_a_retrofit():
    # Energy Project Financing, App. A, Example 13 (seen; four-digit factors in print).
    assert present_value(RETROFIT, 0.15) == approx(1530.07, abs=0.15)
    # The table's 1529.9725 to more digits, from the sum in whole fractions.
    exact = sum(amount / Fraction(115, 100) ** year for year, amount in enumerate(RETROFIT))
    assert float(exact) == approx(1529.9725, abs=5e-5)
    assert present_value(RETROFIT, 0.15) == approx(float(exact), abs=1e-6)


def test_b2_irr_of_a_retrofit():
    # Energy Project Financing, App. A, Example 15 (seen).
    rates = internal_rates(RETROFIT)
    assert rates.headline == approx(0.20, abs=1e-4)
    assert rates.headline == approx(0.1999977, abs=1e-7)
    assert rates.count == 1


def test_b3_ratio_of_savings_to_investment():
    # Energy Project Financing, App. A, Example 16 (seen, quotient recomputed).
    ratio = savings_to_investment([0, *RETROFIT[1:]], single(10000, 0, 6), 0.15)
    assert ratio == approx(1.153, abs=5e-4)


FEDERAL_SAVINGS = level(0, 1600 - 120, 25)
FEDERAL_INVESTMENT = single(20000, 0, 25) + single(2500, 13, 25) - single(1000, 25, 25)


def test_b4_replacement_and_residual_in_the_denominator():
    # 10 CFR 436.19 to 436.21, ASTM E964 (formula seen, numbers own).
    numerator = present_value(FEDERAL_SAVINGS, 0.03)
    denominator = present_value(FEDERAL_INVESTMENT, 0.03)
    assert numerator == approx(25771.46, abs=0.01)
    assert denominator == approx(21224.77, abs=0.01)
    assert numerator - denominator == approx(4546.69, abs=0.01)
    ratio = savings_to_investment(FEDERAL_SAVINGS, FEDERAL_INVESTMENT, 0.03)
    assert ratio == approx(1.2142, abs=1e-4)
    assert abs(ratio - 1.2273) > 0.01  # what netting the replacement from the savings would give


def test_b5_adjusted_rate_is_the_terminal_value_rate():
    # 10 CFR 436.22, ASTM E1057 (seen).
    ratio = savings_to_investment(FEDERAL_SAVINGS, FEDERAL_INVESTMENT, 0.03)
    rate = adjusted_internal_rate(ratio, 0.03, 25)
    assert rate == approx(0.038028, abs=1e-6)
    terminal = present_value(FEDERAL_SAVINGS, 0.03) * 1.03**25
    assert rate == approx((terminal / present_value(FEDERAL_INVESTMENT, 0.03)) ** (1 / 25) - 1, abs=1e-12)
    assert payback(level(-20000, 1480, 25)).first == approx(13.51, abs=0.005)


def test_b6_adjusted_and_modified_rates_differ_when_flows_net_out():
    # 10 CFR 436.22 against the spreadsheet definition of MIRR; own numbers.
    savings = yearly(2300, growth(1.025 * 0.995 - 1, 25))
    investment = single(24000, 0, 25) + single(8000, 12, 25)
    net = savings - investment
    assert net[12] == approx(-5144.09, abs=0.005)
    ratio = savings_to_investment(savings, investment, 0.05)
    assert ratio == approx(1.387212, abs=1e-6)
    assert adjusted_internal_rate(ratio, 0.05, 25) == approx(0.06383681, abs=1e-6)
    assert modified_internal_rate(net, 0.05, 0.05) == approx(0.06453443, abs=1e-6)


# Cengel & Ghajar, Heat and Mass Transfer, 5th ed., energy-saving problem (seen; the book prints 9.919 at 14
# %, two digits swapped). The closed form -ln(1 - 5 i) / ln(1 + i) lets a saving flow evenly at its yearly
# worth, so the year is cut into 360 steps of equal worth.
@pytest.mark.parametrize(
    ("rate", "printed"),
    [
        pytest.param(0.0, 5.0, id="B7-0%"),
        pytest.param(0.06, 6.12, id="B7-6%"),
        pytest.param(0.08, 6.64, id="B7-8%"),
        pytest.param(0.10, 7.27, id="B7-10%"),
        pytest.param(0.12, 8.09, id="B7-12%"),
        pytest.param(0.14, 9.19, id="B7-14%"),
        pytest.param(0.16, 10.84, id="B7-16%"),
        pytest.param(0.18, 13.91, id="B7-18%"),
    ],
)
def test_discounted_payback_of_a_level_saving(rate, printed):
    steps = 360
    step_rate = (1 + rate) ** (1 / steps) - 1
    step_saving = annualised(annuity_factor(rate, 1), step_rate, steps)
    years = payback(discounted(level(-5.0, step_saving, 15 * steps), step_rate)).first / steps
    assert years == approx(printed, abs=0.006)
    if rate > 0:
        assert years == approx(-np.log(1 - 5 * rate) / np.log(1 + rate), abs=1e-5)


@pytest.mark.parametrize(
    ("rate", "first", "lasting"),
    [pytest.param(0.0, 4.0, 7.6, id="B8-a"), pytest.param(0.05, 4.5795, 8.1477, id="B8-b")],
)
def test_payback_survives_a_replacement(rate, first, lasting):
    # Sokolov, The Engineering Economist 71(2), 2026: the last break-even is the one that fits the axioms
    # (seen; numbers own).
    found = payback(discounted(level(-10000, 2500, 10) - single(9000, 7, 10), rate))
    assert found.first == approx(first, abs=1e-4)
    assert found.lasting == approx(lasting, abs=1e-4)


def test_b9_payback_nets_later_costs():
    # 10 CFR 436.23 (seen; numbers own).
    saving = yearly(1500, growth(0.025, 25))
    outlay = single(-18000, 0, 25)
    net = outlay + saving - level(0, 100, 25) - single(2000, 10, 25)
    assert payback(net).lasting == approx(12.264, abs=0.001)
    assert payback(discounted(net, 0.04)).lasting == approx(15.797, abs=0.001)
    assert payback(outlay + level(0, 1500, 25)).first == approx(12.0, abs=0.001)
    assert payback(outlay + saving).first == approx(10.622, abs=0.001)


def test_b10_straight_line_inside_the_year():
    # Own arithmetic: ours is the straight line between year-ends; the closed form 12.2532 is another
    # convention.
    years = payback(discounted(level(-9, 1, 20), 0.05)).first
    assert years == approx(12.2579, abs=1e-4)
    assert abs(years - 12.2532) > 1e-3


def test_b11_mid_life_cost_and_salvage():
    # Energy Project Financing, App. A, Example 34 (seen; four-digit factors in print).
    flows = level(-1500, 380 - 50, 15) + single(150, 15, 15) - single(200, 8, 15)
    assert present_value(flows, 0.18) == approx(139.56, abs=0.05)
    assert present_value(flows, 0.18) == approx(139.5404, abs=1e-4)


def test_b12_lagged_credit_and_replacement():
    # Engineering-economics homework problem on household PV (inputs seen). The bill arithmetic comes first.
    net_of_rebate = 18000 - 2 * 3000
    cost = single(net_of_rebate, 0, 10) - single(0.30 * net_of_rebate, 1, 10) + single(1200, 10, 10)
    worth = present_value(cost, 0.03)
    assert worth == approx(9397.77, abs=0.01)
    summer = np.isin(np.arange(12), (5, 6, 7, 8))
    kwh = np.zeros((1, 12, 2))
    kwh[0, summer, 0], kwh[0, ~summer, 1] = 1528 / 4, (4041 - 1528) / 8
    saving = saved_by([0.1066, 0.0753], kwh)
    assert saving == approx(352.11, abs=0.01)
    assert payback(level(-worth, saving, 40)).first == approx(26.69, abs=0.01)


def test_b13_household_pv_with_and_without_an_incentive():
    # Engineering-economics homework problem (inputs seen): 5 kW at 40 % of the hours, 10 cents per kWh.
    saving = saved_by([0.10], np.full((1, 12, 1), 5 * 0.40 * 8760 / 12))
    assert saving == approx(1752, abs=1e-9)
    assert present_value(level(-18000, saving, 20), 0.09) == approx(-2006.79, abs=0.01)
    helped = level(-18000 + 4000, saving, 20)
    assert present_value(helped, 0.09) == approx(1993.21, abs=0.01)
    assert internal_rates(helped).headline == approx(0.10947, abs=1e-5)


def test_b14_year_zero_is_not_discounted():
    # Energy Project Financing, Table 9-1 (seen): the print discounts year 0 too, and is 1.10 times too small.
    flows = level(-100000, 28000, 15)
    assert present_value(flows, 0.10) == approx(112970.23, abs=0.01)
    printed = present_value(flows, 0.10, times=np.arange(1, 17))
    assert printed == approx(102700, abs=0.5)
    assert internal_rates(flows).headline == approx(0.27246, abs=1e-5)
    assert internal_rates(flows, times=np.arange(1, 17)).headline == approx(0.27246, abs=1e-5)


@pytest.mark.parametrize(
    ("outlay", "kwh", "npv"),
    [pytest.param(150, 400, 122.44, id="B15-a"), pytest.param(200, 250, -29.73, id="B15-b")],
)
def test_insulation_step_by_step(outlay, kwh, npv):
    # Energy Project Financing, App. A, Examples 35 and 36 (seen).
    assert present_value(level(-outlay, kwh * 0.08, 20), 0.10) == approx(npv, abs=0.02)


# C. NPV, IRR, MIRR, XIRR.

FOUR_YEARS = [-40000, 5000, 8000, 12000, 30000]


def test_c1_npv_from_time_zero():
    # numpy-financial, documentation of npv (seen).
    assert present_value(FOUR_YEARS, 0.08) == approx(3065.22267, abs=1e-5)


def test_c2_npv_one_period_late():
    # pyxirr, documentation of npv counted from period 1 (seen): the convention of spreadsheets.
    assert present_value(FOUR_YEARS, 0.08, times=np.arange(1, 6)) == approx(2838.16914, abs=1e-5)


def test_c3_receipts_less_outlay():
    # LibreOffice Calc help, NPV (seen).
    receipts = present_value([0, 10, 20, 30], 0.0875)
    assert receipts == approx(49.43, abs=0.005)
    assert present_value([-40, 10, 20, 30], 0.0875) == approx(9.43, abs=0.005)


# numpy-financial, documentation and tests of irr (seen); the further roots of c and e are own. `count` is what warns
# of several: it must be exact.
@pytest.mark.parametrize(
    ("flows", "listed", "roots"),
    [
        pytest.param([-100, 39, 59, 55, 20], 0.28095, [0.28095], id="C4-a"),
        pytest.param([-100, 0, 0, 74], -0.0955, [-0.09550], id="C4-b"),
        pytest.param([-100, 100, 0, -7], -0.0833, [-0.67889, -0.08330], id="C4-c"),
        pytest.param([-100, 100, 0, 7], 0.06206, [0.06206], id="C4-d"),
        pytest.param([-5, 10.5, 1, -8, 1], 0.0886, [-0.87020, 0.08860, 0.70956], id="C4-e"),
    ],
)
def test_irr_documentation_series(flows, listed, roots):
    rates = internal_rates(flows)
    assert rates.headline == approx(listed, abs=1e-5)
    assert roots_of(flows) == approx(roots, abs=1e-5)
    assert rates.count == len(roots)
    assert rates.sign_changes >= rates.count


def test_c5_two_rates_of_an_oil_pump():
    # Lorie & Savage (1955) as used in textbooks: 25 % seen, 400 % from memory.
    assert roots_of([-1600, 10000, -10000]) == approx([0.25, 4.0], abs=1e-9)
    assert internal_rates([-1600, 10000, -10000]).headline == approx(0.25, abs=1e-9)


def test_c6_no_rate_but_a_present_value():
    # Brealey, Myers & Allen, Principles of Corporate Finance, pitfalls of IRR, project C (from memory).
    rates = internal_rates([1000, -3000, 2500])
    assert rates.count == 0
    assert np.isnan(rates.headline)
    assert rates.sign_changes == 2
    assert present_value([1000, -3000, 2500], 0.10) == approx(338.84, abs=0.01)


def test_c7_clean_up_cost_gives_two_rates():
    # Brealey, Myers & Allen, strip-mine example (from memory).
    flows = [-3, *[1] * 9, -6.5]
    assert roots_of(flows) == approx([0.0350, 0.1954], abs=5e-5)
    assert roots_of(flows) == approx([0.035030, 0.195422], abs=1e-6)
    assert present_value(flows, 0.10) == approx(0.253, abs=5e-4)


def test_c8_declining_savings_that_turn_negative():
    # numpy-financial, test_gh_39 (seen); both roots recomputed from the listed flows.
    flows = [-217500, -217500, *(108466.80462450592 - 7336.840231225304 * np.arange(25))]
    assert roots_of(flows) == approx([-0.018097, 0.12], abs=1e-6)
    assert internal_rates(flows).headline == approx(0.12, abs=1e-4)


# Microsoft Excel, help of MIRR, 12.6094 also in numpy-financial's tests (seen).
@pytest.mark.parametrize(
    ("count", "reinvestment", "printed", "recomputed"),
    [
        pytest.param(6, 0.12, 0.13, 0.1260941, id="C9-five-years"),
        pytest.param(4, 0.12, -0.05, -0.0480447, id="C9-three-years"),
        pytest.param(6, 0.14, 0.13, 0.1347591, id="C9-reinvested-at-14%"),
    ],
)
def test_modified_rate_of_the_spreadsheet_help(count, reinvestment, printed, recomputed):
    flows = [-120000, 39000, 30000, 21000, 37000, 46000][:count]
    rate = modified_internal_rate(flows, 0.10, reinvestment)
    assert rate == approx(printed, abs=0.005)
    assert rate == approx(recomputed, abs=1e-6)


def test_c10_modified_rate_with_an_outlay_in_the_middle():
    # numpy-financial, documentation of mirr (seen).
    assert modified_internal_rate([-100, 50, -60, 70], 0.10, 0.12) == approx(-0.0390936659, abs=1e-9)


def dated(*rows):
    """Times in years of 365 days and the flows of (year, month, day, amount) rows."""
    days = [date(*row[:3]) for row in rows]
    return np.array([(day - days[0]).days / 365 for day in days]), [row[3] for row in rows]


# Microsoft DAX reference, XIRR and XNPV (seen).
DAX = [
    (2014, 1, 1, -10000),
    (2014, 3, 1, 2750),
    (2014, 10, 30, 4250),
    (2015, 2, 15, 3250),
    (2015, 4, 1, 2750),
]
# pyxirr, documentation of xirr and xnpv (seen): a leap day between the dates.
LEAP = [(2020, 1, 1, -10000), (2020, 3, 1, 5750), (2020, 10, 30, 4250), (2021, 2, 15, 3250)]
# LibreOffice Calc help, XIRR and XNPV (seen): its printed table swaps day and month of the second date.
HELP = [
    (2001, 1, 1, -10000),
    (2001, 2, 1, 2000),
    (2001, 3, 15, 2500),
    (2001, 5, 12, 5000),
    (2001, 8, 10, 1000),
]
MISPRINT = [HELP[0], (2001, 1, 2, 2000), *HELP[2:]]


@pytest.mark.parametrize(
    ("rows", "irr", "irr_tolerance", "rate", "npv", "npv_tolerance"),
    [
        pytest.param(DAX, 0.3749, 5e-5, 0.09, 2089.50, 0.005, id="C11-print"),
        pytest.param(DAX, 0.37485860, 1e-8, 0.09, 2089.5016, 1e-4, id="C11-recomputed"),
        pytest.param(LEAP, 0.6342972615, 1e-9, 0.10, 2506.579458, 1e-6, id="C12"),
        pytest.param(HELP, 0.1828, 5e-5, 0.06, 323.02, 0.005, id="C13-print"),
        pytest.param(HELP, 0.182843, 1e-6, 0.06, 323.0169, 1e-4, id="C13-recomputed"),
        pytest.param(MISPRINT, 0.1948, 5e-5, 0.06, 332.57, 0.005, id="C13-misprinted-date"),
    ],
)
def test_dated_flows(rows, irr, irr_tolerance, rate, npv, npv_tolerance):
    times, flows = dated(*rows)
    assert roots_of(flows, times) == approx([irr], abs=irr_tolerance)
    assert present_value(flows, rate, times) == approx(npv, abs=npv_tolerance)


def test_c14_lending_and_borrowing():
    # Brealey, Myers & Allen, first pitfall of IRR (from memory).
    both = [[-1000, 1500], [1000, -1500]]
    assert internal_rates(both).headline == approx([0.5, 0.5], abs=1e-12)
    assert present_value(both, 0.10) == approx([363.64, -363.64], abs=0.01)


def test_c15_three_sign_changes_and_one_rate():
    # Own numbers: a battery replaced in year 12.
    flows = yearly(2300, growth(1.025 * 0.995 - 1, 25), at=-24000) - single(8000, 12, 25)
    rates = internal_rates(flows)
    assert rates.sign_changes == 3
    assert roots_of(flows) == approx([0.0887107], abs=1e-6)
    assert present_value(flows, 0.05) == approx(11018.01, abs=0.01)
    found = payback(flows)
    assert found.first == approx(9.574, abs=0.001)
    assert found.lasting == approx(12.403, abs=0.001)
    assert payback(discounted(flows, 0.05)).lasting == approx(16.020, abs=0.001)


def test_c16_two_outlays_then_a_receipt():
    # Park, Fundamentals of Engineering Economics, 3rd ed., solution 7.10 (seen).
    assert roots_of([-6500, -4500, 13000]) == approx([0.109807], abs=5e-7)


def test_c17_non_simple_investment():
    # Park, Fundamentals, 3rd ed., solution 7.11, project B: 82.72 % seen, the second root own.
    assert roots_of([-23000, 32000, 32000, -25000]) == approx([-0.4165, 0.8272], abs=5e-5)


# numpy-financial, tests of irr and mirr (seen).
@pytest.mark.parametrize(
    "flows",
    [
        pytest.param([1, 2, 3], id="C18-inflows"),
        pytest.param([-1, -2, -3], id="C18-outflows"),
        pytest.param([39000, 30000, 21000, 37000, 46000], id="C18-no-outlay"),
    ],
)
def test_no_sign_change_no_rate(flows):
    rates = internal_rates(flows)
    assert (rates.count, rates.sign_changes) == (0, 0)
    assert np.isnan(rates.headline)
    assert np.isnan(modified_internal_rate(flows, 0.10, 0.12))


def test_c19_monthly_flows_compound():
    # Own numbers.
    monthly = level(-10000, 150, 96)
    rate = internal_rates(monthly).headline
    assert rate == approx(0.0080582, abs=1e-7)
    assert (1 + rate) ** 12 - 1 == approx(0.1011007, abs=1e-6)
    assert internal_rates(monthly, times=np.arange(97) / 12).headline == approx(0.1011007, abs=1e-6)
    assert 12 * rate == approx(0.0966979, abs=1e-6)
    assert internal_rates(level(-10000, 1800, 8)).headline == approx(0.0889949, abs=1e-6)


def test_c20_reciprocal_payback_is_not_a_rate_of_return():
    # Own numbers.
    flows = level(-10, 1, 25)
    assert internal_rates(flows).headline == approx(0.0878034, abs=1e-6)
    assert 1 / payback(flows).first == approx(0.10, abs=1e-12)


def test_c21_tiny_last_outflow():
    # numpy-financial, test_gh_44 (seen): 100.426 % there; the root near -100 % is own.
    flows = [-1678.87, 771.96, 1814.05, 3520.30, 3552.95, 3584.99, 4789.91, -1]
    assert roots_of(flows) == approx([-0.999791, 1.00426], abs=5e-5)
    assert internal_rates(flows).headline == approx(1.004270, abs=1e-6)


# D. Loans.


@pytest.mark.parametrize(
    ("principal", "rate", "months", "payment", "tolerance"),
    [
        # numpy-financial, documentation of pmt (seen).
        pytest.param(200000, 0.075, 180, 1854.0247, 1e-4, id="D1"),
        # LibreOffice Calc help, PMT (seen).
        pytest.param(25000, 0.0199, 36, 715.96, 0.005, id="D2"),
        # numpy-financial, tests of pmt (seen).
        pytest.param(15000, 0.0, 60, 250.0, 1e-12, id="D21"),
    ],
)
def test_level_payment(principal, rate, months, payment, tolerance):
    assert level_payment(principal, rate, months) == approx(payment, abs=tolerance)
    assert borrow(note(principal), rate, months).payment == approx(payment, abs=tolerance)


def test_d3_one_year_schedule():
    # numpy-financial, documentation of ipmt (seen).
    plan = borrow(note(2500), 0.0824, 12)
    assert plan.principal[0] == approx(200.58, abs=0.005)
    assert plan.interest[0] == approx(17.17, abs=0.005)
    assert plan.interest[-1] == approx(1.49, abs=0.005)
    assert plan.interest.sum() == approx(112.98, abs=0.005)
    assert plan.balance[-1] == 0


# E. Levelised cost of energy.


def test_e1_capital_recovery_plus_running_cost():
    # Renewable-energy textbook problem (seen; the page prints 0.1159 and 0.1559, cut off instead of rounded).
    energy = level(0, 0.22 * 8760, 10)
    capital = levelised_cost(single(1500, 0, 10), energy, 0.08)
    assert annualised(1, 0.08, 10) == approx(0.14903, abs=1e-5)
    assert capital == approx(0.1160, abs=1e-4)
    assert levelised_cost(single(1500, 0, 10) + 0.04 * energy, energy, 0.08) == approx(0.1560, abs=1e-4)


def test_e2_yearly_cost_of_pv_electricity():
    # Homework problem of B13, part e (inputs seen).
    assert annualised(18000, 0.09, 20) == approx(1971.84, abs=0.01)
    assert levelised_cost(single(18000, 0, 20), level(0, 17520, 20), 0.09) == approx(0.11255, abs=1e-5)


PV_ENERGY = yearly(8000, growth(-0.005, 25))
PV_COST = level(15000, 150, 25) + single(1800, 13, 25)


def test_e3_energy_is_discounted_too():
    # Short, Packey & Holt, NREL/TP-462-5173 (1995), total life-cycle cost over discounted energy (from
    # memory; numbers own).
    assert present_value(PV_COST, 0.05) == approx(18068.67, abs=0.01)
    assert present_value(PV_ENERGY, 0.05) == approx(107560.42, abs=0.01)
    cost = levelised_cost(PV_COST, PV_ENERGY, 0.05)
    assert cost == approx(0.16799, abs=1e-5)
    assert cost == approx(0.167986, abs=1e-6)
    # The errors to avoid: energy that is not discounted; the energy of year 1 throughout and no replacement.
    assert present_value(PV_COST, 0.05) / PV_ENERGY.sum() == approx(0.0959, abs=1e-4)
    assert (annualised(15000, 0.05, 25) + 150) / 8000 == approx(0.1518, abs=1e-4)


def test_e4_nominal_and_real():
    # Short, Packey & Holt (1995) (from memory; numbers own).
    nominal = nominal_rate(0.05, 0.025)
    current = PV_COST * growth(0.025, 26)
    assert nominal == approx(0.07625, abs=1e-9)
    assert present_value(current, nominal) == approx(18068.67, abs=0.01)
    both = levelised_costs(current, PV_ENERGY, nominal, 0.025)
    assert both.nominal == approx(0.213514, abs=1e-6)
    assert both.real == approx(0.167986, abs=1e-6)


def test_e5_no_discounting():
    # Textbook exercise (seen).
    cost = levelised_cost(level(995000, 175000, 25), level(0, 89500000 / 25, 25), 0.0)
    assert cost == approx(0.0600, abs=1e-6)


def test_e6_the_price_that_makes_npv_zero():
    # Identity; own numbers of E3.
    price = levelised_cost(PV_COST, PV_ENERGY, 0.05)
    assert present_value(price * PV_ENERGY - PV_COST, 0.05) == approx(0, abs=1e-6)


# L. Life of equipment. The demo houses are ours; what they assume must lie where the sources put it.

DEMOS = {path.stem: finsolar.read(path) for path in sorted((Path(__file__).parents[2] / "scenarios").glob("*.yaml"))}


def replacements(category):
    """Every replacement of a kind by the calendar in the demo houses, and the years of the study."""
    return [
        (line, scenario.study.years)
        for scenario in DEMOS.values()
        for line in settled(scenario).alternatives[0].upkeep
        if line.category == category and line.is_equipment and line.below is None
    ]


def age(line):
    """After how many years it is renewed."""
    return line.every if line.life is None else line.life


def test_l1_fade_that_is_assumed_is_the_measured_median():
    # Jordan & Kurtz, Prog. Photovolt. 21 (2013) 12: median 0.5 % a year of nearly 2000 rates; the compendium of 2016
    # has a median of 0.5 to 0.6 % and a mean of 0.8 to 0.9 % (seen).
    assert System.model_fields["fade"].default == approx(0.005)
    assert all(0.005 <= scenario.alternatives[0].system.fade <= 0.009 for scenario in DEMOS.values())


def test_l3_compounding_and_straight_fade():
    # Own arithmetic: 0.5 % a year, 25 years, no loss in year 1. Ours compounds; the straight line is the other way.
    left = array_factor(25, 0.005)
    assert left[-1] == approx(0.88665, abs=1e-5)
    assert left.sum() == approx(23.55595, abs=1e-5)
    straight = 1 - 0.005 * np.arange(25)
    assert straight[-1] == approx(0.88, abs=1e-12)
    assert straight.sum() == approx(23.5, abs=1e-12)
    assert growth(-0.005, 25) == approx(left, rel=1e-12)


def test_l5_an_inverter_is_replaced_within_the_life_of_the_modules():
    # White paper of an inverter maker, an article on upkeep and trade press (seen): of the order of 15 years or less,
    # warranties of 10 to 15 years; so one replacement in a study of 25 years, or two of the shorter-lived.
    found = replacements("inverter")
    assert len(found) >= 4
    for line, years in found:
        assert 10 <= age(line) <= 15, line.item
        assert len(due_years(line, years)) in (1, 2), line.item


def test_l6_a_battery_is_replaced_within_the_life_of_the_system():
    # Trade-press survey of warranty terms (60 %, 10 years and 7300 cycles seen, 70 to 80 % from memory): some 10 years
    # of warranty, so a replacement falls within 20 to 30 years.
    found = replacements("battery")
    assert len(found) >= 3
    for line, years in found:
        assert age(line) >= 10, line.item
        assert len(due_years(line, years)) >= 1, line.item
    systems = [scenario.alternatives[0].system for scenario in DEMOS.values()]
    stated = [system.battery.warranty for system in systems if system.battery != "none" and system.battery.warranty]
    assert stated
    for warranty in stated:
        assert warranty.years == 10
        assert 0.6 <= warranty.capacity <= 0.8


def test_l7_throughput_ends_a_warranty_before_its_years():
    # Terms seen in trade press, 2021: 9.8 kWh, 27.4 MWh, 10 years; arithmetic own.
    cycles = full_cycles(27_400.0, 9.8)
    assert cycles == approx(2795.9, abs=0.1)
    assert cycles / 3650 == approx(0.766, abs=1e-3)
    daily = warranty_end(np.full(10, 365 * 9.8), 10.0, 27.4)
    assert daily.years == approx(7.660, abs=1e-3)
    assert daily.by_throughput
    # At three cycles in four days the years end it.
    gentle = warranty_end(np.full(10, 0.75 * 365 * 9.8), 10.0, 27.4)
    assert (gentle.years, gentle.by_throughput) == (10.0, False)


def test_l8_years_end_a_warranty_before_its_cycles():
    # Terms seen in trade press, 2024: 7300 cycles in 10 years, as throughput of 9.8 kWh each; arithmetic own.
    cap_mwh = 7300 * 9.8 / 1000
    assert full_cycles(1000 * cap_mwh, 9.8) / 3650 == approx(2.0, abs=0.01)
    daily = warranty_end(np.full(10, 365 * 9.8), 10.0, cap_mwh)
    assert (daily.years, daily.by_throughput) == (10.0, False)
    # Only beyond two cycles a day do the cycles come first.
    hard = warranty_end(np.full(10, 2.5 * 365 * 9.8), 10.0, cap_mwh)
    assert hard.years == approx(8.0)
    assert hard.by_throughput
