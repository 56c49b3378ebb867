"""Annual percentage rates: exact brackets, outside witnesses, the two methods side by side, shapes and refusals."""

from decimal import Decimal
from fractions import Fraction

import numpy as np
import numpy_financial as npf
import oracle_borrowing as oracle
import pytest
import pyxirr
from generated_numbers import number
from hypothesis import given
from hypothesis import strategies as st
from level_loan import schedule
from pytest import approx

from finsolar.money.apr import annual_percentage_rate, effective_annual_rate, odd_first_period
from finsolar.money.borrowing import borrow, note
from finsolar.money.metrics import internal_rates

fractions = st.integers(0, 29).map(lambda days: days / 30)


@st.composite
def irregular_loans(draw):
    """Draw flows of a loan paid out in one to three parts, with its unit-periods, whole and odd, to each flow."""
    advances = draw(st.lists(number(100, 20_000), min_size=1, max_size=3))
    payments = draw(st.lists(st.one_of(st.just(0.0), number(1, 3000)), min_size=1, max_size=40))
    payments[-1] = payments[-1] or 50.0
    drawn = [(draw(st.integers(0, 3)), draw(fractions)) for _ in advances]
    drawn[0] = (0, 0.0)
    first, odd = draw(st.integers(4, 9)), draw(fractions)
    flows = advances + [-payment for payment in payments]
    whole = [q for q, _ in drawn] + list(range(first, first + len(payments)))
    return flows, whole, [e for _, e in drawn] + [odd] * len(payments)


# I1 for the general equation: in exact arithmetic its two sides change places within 1e-12 of the rate.
@given(loan=irregular_loans())
def test_i1_the_two_sides_of_the_general_equation_cross_at_the_rate(loan):
    flows, whole, odd = loan
    rate = Decimal(float(annual_percentage_rate(flows, whole=whole, odd=odd, per_year=1)))
    near = Decimal("1e-11") * (1 + rate)
    told = [
        oracle.general_equation([repr(x) for x in flows], whole, [Decimal(f) for f in odd], rate + side)
        for side in (-near, near)
    ]
    assert told[0] < 0 < told[1]


@given(
    borrowed=number(500, 90_000),
    rate=number(0.005, 0.3, 4),
    months=st.integers(2, 360),
    points=number(0, 0.12, 3),
    odd=fractions,
)
def test_outside_witnesses_agree_on_regular_loans(borrowed, rate, months, points, odd):
    found = borrow(note(borrowed, points=points), rate, months)
    apr, effective = annual_percentage_rate(found.flows), effective_annual_rate(found.flows, np.arange(months + 1) / 12)
    for module in (npf, pyxirr):
        per_month = float(
            module.rate(months, -found.payment[0], float(found.note.amount_financed), 0.0, guess=rate / 12)
        )
        assert apr == approx(12 * per_month, abs=1e-6)
    assert float(pyxirr.irr(found.flows.tolist())) == approx(float(apr) / 12, abs=1e-9)
    assert effective == approx(float(1 + apr / 12) ** 12 - 1, abs=1e-9)
    # Waiting longer for the first payment makes the same payments cheaper.
    whole, part = odd_first_period(months, 1, odd)
    assert annual_percentage_rate(found.flows, whole=whole, odd=part) <= apr + 1e-12


@given(loan=irregular_loans())
def test_without_odd_days_the_rate_is_the_internal_rate(loan):
    flows, whole, _ = loan
    by_period = np.zeros(whole[-1] + 1)
    np.add.at(by_period, whole, flows)
    expected = internal_rates(by_period)
    assert int(expected.count) == 1
    rate = float(annual_percentage_rate(flows, whole=whole, per_year=1))
    assert rate == approx(float(expected.headline), rel=1e-9, abs=1e-10)


@given(loan=irregular_loans(), factor=st.floats(1e-3, 1e3))
def test_i2_currency_does_not_matter(loan, factor):
    flows, whole, odd = loan
    rates = annual_percentage_rate(np.outer([1, factor], flows), whole=whole, odd=odd)
    assert rates[1] == approx(rates[0], rel=1e-9, abs=1e-9)


def test_the_figures_of_one_loan():
    """Both methods on a loan whose rate is plain: 1 % a month."""
    flows = borrow(note(1000), 0.12, 24).flows
    assert annual_percentage_rate(flows) == approx(0.12, abs=1e-12)
    assert effective_annual_rate(flows, np.arange(25) / 12) == approx(1.01**12 - 1, abs=1e-12)
    # Odd days bear simple interest: 1000 for half a unit-period at 10 % owes 1050, not 1000 x 1.1^0.5.
    assert annual_percentage_rate([1000, -1050], whole=[0, 0], odd=[0, 0.5], per_year=1) == approx(0.1, abs=1e-12)
    assert annual_percentage_rate([1000, -1155], whole=[0, 1], odd=[0, 0.5], per_year=1) == approx(0.1, abs=1e-12)
    assert effective_annual_rate([1000, -1000 * 1.1**0.5], [0, 0.5]) == approx(0.1, abs=1e-12)


def test_an_odd_first_period_is_counted_before_the_first_payment():
    whole, odd = odd_first_period(3, [1, 0], [0.25, 0.5])
    assert whole.tolist() == [[0, 1, 2, 3], [0, 0, 1, 2]]
    assert odd.tolist() == [[0, 0.25, 0.25, 0.25], [0, 0.5, 0.5, 0.5]]


@pytest.mark.parametrize(
    "flows",
    [
        pytest.param([1000.0, 0.0, 0.0], id="nothing paid"),
        pytest.param([0.0, -10.0, -10.0], id="nothing received"),
        pytest.param([0.0, 0.0, 0.0], id="nothing at all"),
        pytest.param([-5.0, -10.0, -10.0], id="fees above what is paid out"),
        pytest.param([1000.0, -600.0, 100.0, -700.0], id="received after a payment"),
        pytest.param([1000.0, -1e-200], id="lost but for a trace"),
        pytest.param([1e-200, -1e200], id="a rate beyond all range"),
    ],
)
def test_what_is_no_loan_has_no_rate(flows):
    assert np.isnan(annual_percentage_rate(flows))
    assert np.isnan(effective_annual_rate(flows, np.arange(len(flows))))
    beside = annual_percentage_rate([flows, [1000.0] + [-600.0] * (len(flows) - 1)])
    assert np.isnan(beside[0])
    assert np.isfinite(beside[1])


# As many payments as a float can weigh: a hundred-thousandth of the worth a period leaves 1e300 after 60.
@pytest.mark.parametrize(
    ("rate", "most"), [(-0.99999, 60), (-0.5, 360), (0.0, 360), (1e-9, 360), (0.5, 360), (40.0, 360), (1e5, 360)]
)
@pytest.mark.parametrize("share", [0, 0.2, 1])
def test_far_rates_are_found(rate, most, share):
    periods = max(1, round(share * most))
    worth = float(sum((1 + Fraction(rate)) ** -t for t in range(1, periods + 1)))
    flows = np.concatenate([[worth], -np.ones(periods)])
    assert annual_percentage_rate(flows, per_year=1) == approx(rate, rel=1e-8, abs=1e-12)


@pytest.mark.parametrize("shape", [(), (5,), (2, 3)])
def test_batch_equals_case_by_case(shape):
    chance = np.random.default_rng(6)
    first, odd = chance.integers(0, 3, shape), chance.integers(1, 30, shape) / 30
    per_year = chance.choice([4, 12, 26], shape)
    payments = chance.uniform(50, 400, (*shape, 30))
    amount = np.where(chance.uniform(size=shape) < 0.2, 0.0, chance.uniform(2000, 4000, shape))
    flows = np.concatenate([amount[..., None], -payments], axis=-1)
    whole, part = odd_first_period(30, first, odd)
    many = annual_percentage_rate(flows, whole=whole, odd=part, per_year=per_year)
    other = effective_annual_rate(flows, np.arange(31) / 12)
    assert many.shape == other.shape == shape
    for case in np.ndindex(*shape):
        alone = annual_percentage_rate(flows[case], whole=whole[case], odd=part[case], per_year=per_year[case])
        assert many[case] == approx(float(alone), rel=1e-12, abs=1e-13, nan_ok=True)
        own = effective_annual_rate(flows[case], np.arange(31) / 12)
        assert other[case] == approx(float(own), rel=1e-12, abs=1e-13, nan_ok=True)


def test_flows_or_times_alone_may_carry_the_cases():
    flows = np.concatenate([[1000.0], -schedule(1000, 0.1, 12).payment])
    whole, odd = odd_first_period(12, [1, 1, 2], [0.0, 0.5, 0.0])
    rates = annual_percentage_rate(flows, whole=whole, odd=odd)
    assert rates.shape == (3,)
    assert rates[0] == approx(0.1)
    assert rates[0] > rates[1] > rates[2]
    assert annual_percentage_rate(flows, per_year=[12, 24]) == approx([0.1, 0.2])
    assert annual_percentage_rate(np.zeros((0, 3))).shape == (0,)


@pytest.mark.parametrize(
    ("refused", "words"),
    [
        pytest.param(lambda: annual_percentage_rate([1, np.nan]), "finite", id="NaN"),
        pytest.param(lambda: effective_annual_rate([1, np.inf], [0, 1]), "finite", id="infinite"),
        pytest.param(lambda: annual_percentage_rate([1, -2], whole=[0, 1.5]), "must be whole", id="part of a period"),
        pytest.param(lambda: annual_percentage_rate([1, -2], whole=[0, -1]), "must be whole", id="before"),
        pytest.param(lambda: annual_percentage_rate([1, -2], odd=[0, 1.0]), "a fraction below 1", id="odd too long"),
        pytest.param(lambda: annual_percentage_rate([1, -2], per_year=0), "above 0", id="no periods"),
        pytest.param(lambda: effective_annual_rate([1, -2], [1, 0]), "increasing", id="order"),
    ],
)
def test_impossible_times_are_refused(refused, words):
    with pytest.raises(ValueError, match=words):
        refused()
