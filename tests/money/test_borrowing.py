"""Loans as lenders write them: against an exact oracle, with identities, outside witnesses, shapes and refusals."""

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

from finsolar.money.apr import annual_percentage_rate
from finsolar.money.borrowing import LoanLife, borrow, note
from finsolar.money.loan import by_year, level_payment
from finsolar.money.metrics import present_value
from finsolar.money.rates import annuity_factor

rates = number(0, 0.25, 4)


@st.composite
def loans(draw):
    """Draw the terms of a loan with any of its features: what was borrowed, the rates by year, the rest."""
    months = draw(st.integers(1, 130))
    when = draw(st.integers(1, months))
    shorten = draw(st.booleans())
    borrowed = draw(number(500, 90_000))
    presumed = 0.0 if shorten else draw(st.sampled_from([0.0, 0.0, 0.12, 0.3, 0.75]))
    return {
        "borrowed": borrowed,
        "rates": draw(st.lists(rates, min_size=1, max_size=5)),
        "months": months,
        "deferral": draw(st.one_of(st.just(0), st.integers(0, months - 1))),
        "interest_only": draw(st.booleans()),
        "paydown": draw(st.one_of(st.just(0.0), number(1, 0.5 * borrowed), number(1, 2 * borrowed))),
        "paydown_month": when,
        "shorten": shorten,
        "presumed": presumed,
    }


def followed(terms, **more):
    """The life of a drawn loan by the code under test."""
    rest = {key: value for key, value in terms.items() if key not in ("borrowed", "rates", "months")}
    first, *later = terms["rates"]
    return borrow(note(terms["borrowed"]), first, terms["months"], later_rates=later, **rest, **more)


def as_told(terms, **more):
    """The life of a drawn loan by the oracle."""
    rest = {key: value for key, value in terms.items() if key not in ("borrowed", "rates", "months")}
    for key in ("paydown", "presumed"):
        rest[key] = repr(rest[key])
    return oracle.life(
        repr(terms["borrowed"]), [repr(rate) for rate in terms["rates"]], terms["months"], **rest, **more
    )


def floats(numbers):
    return np.array([float(x) for x in numbers])


@given(terms=loans())
def test_every_month_is_what_the_oracle_says(terms):
    found, told = followed(terms), as_told(terms)
    scale = terms["borrowed"]
    for name in ("interest", "payment", "paydown", "balance"):
        assert getattr(found, name) == approx(floats(getattr(told, name)), rel=1e-9, abs=1e-9 * scale), name
    assert found.excess == approx(float(told.excess), abs=1e-9 * scale)
    assert found.total_interest == approx(float(sum(told.interest)), rel=1e-9, abs=1e-9 * scale)
    still = [balance > 1e-9 * scale for balance in floats(told.balance)]
    assert np.ceil(found.term - 1e-6) == sum(still) + 1


@given(terms=loans())
def test_every_cent_is_what_the_oracle_says(terms):
    # A whole number of cents paid in, as a household would.
    terms = terms | {"paydown": round(terms["paydown"]) * 1.0, "shorten": False}
    found, told = followed(terms, to_cents=True), as_told(terms, to_cents=True)
    for name in ("interest", "payment", "paydown", "balance"):
        assert np.rint(100 * getattr(found, name)).tolist() == [round(100 * x) for x in getattr(told, name)], name
        assert getattr(found, name) == approx(floats(getattr(told, name)), abs=1e-8)


def test_half_a_cent_goes_up():
    # 1003 at half a per cent is 5.015 of interest, which double precision holds as a little less.
    assert borrow(note(1003), 0.06, 12, to_cents=True).interest[0] == 5.02
    assert borrow(note(1012), 0.075, 12, to_cents=True).interest[0] == 6.33


@given(terms=loans(), to_cents=st.booleans())
def test_i5_every_loan_is_repaid_and_no_number_is_lost(terms, to_cents):
    found = followed(terms, to_cents=to_cents)
    scale = 1e-9 * (terms["borrowed"] + found.total_interest)
    for line in (found.interest, found.payment, found.paydown, found.balance):
        assert np.isfinite(line).all()
        assert (line >= -1e-9).all()
    assert found.payment == approx(found.interest + found.principal, rel=1e-12, abs=0)
    assert (found.principal + found.paydown).sum() == approx(terms["borrowed"], abs=scale)
    assert found.balance[-1] == 0
    owed = terms["borrowed"] - np.cumsum(found.principal + found.paydown)
    assert found.balance == approx(owed, abs=scale)
    assert found.paydown.sum() + found.excess == approx(terms["paydown"], abs=scale)
    assert found.finance_charge == approx(found.total_interest, abs=scale)
    assert found.term <= terms["months"]


# I5: what is owed is the worth of what is still to be paid, here at the one rate of the note.
@given(terms=loans(), share=st.floats(0, 1))
def test_i5_balance_is_the_worth_of_what_is_still_to_come(terms, share):
    terms = terms | {"rates": terms["rates"][:1]}
    found, rate = followed(terms), terms["rates"][0] / 12
    paid = round(share * (terms["months"] - 1))
    to_come = np.concatenate([[0], (found.payment + found.paydown)[paid:]])
    owed = found.balance[paid - 1] if paid else terms["borrowed"]
    assert owed == approx(float(present_value(to_come, rate)), rel=1e-9, abs=1e-9 * terms["borrowed"])


# I6, for every feature, since none of them charges anything but interest at the note rate.
@given(terms=loans())
def test_i6_the_note_rate_is_the_rate_without_fees(terms):
    terms = terms | {"rates": terms["rates"][:1]}
    found = followed(terms)
    assert present_value(found.flows, terms["rates"][0] / 12) == approx(0, abs=1e-9 * terms["borrowed"])
    assert annual_percentage_rate(found.flows) == approx(terms["rates"][0], abs=1e-9)


@given(terms=loans(), points=number(0.001, 0.1, 3), fee=number(0, 40), dealer_fee=number(0, 0.4), on_top=st.booleans())
def test_i6_any_fee_raises_the_rate(terms, points, fee, dealer_fee, on_top):
    rest = {key: terms[key] for key in ("deferral", "interest_only", "paydown", "paydown_month", "shorten")}
    of = note(1000, points=points, fee=fee, dealer_fee=dealer_fee, on_top=on_top)
    found = borrow(of, terms["rates"][0], terms["months"], **rest)
    assert of.borrowed >= of.proceeds >= of.amount_financed
    assert annual_percentage_rate(found.flows) > terms["rates"][0]
    assert found.finance_charge - found.total_interest == approx(float(of.borrowed - of.amount_financed), abs=1e-6)


@given(
    price=number(500, 60_000),
    points=number(0, 0.1, 3),
    fee=number(0, 400),
    dealer_fee=number(0, 0.4),
    of=st.sampled_from(["financed price", "cash price"]),
)
def test_fees_on_top_leave_what_the_price_asks(price, points, fee, dealer_fee, of):
    kept = note(price, points=points, fee=fee, dealer_fee=dealer_fee, dealer_fee_of=of)
    added = note(price, points=points, fee=fee, dealer_fee=dealer_fee, dealer_fee_of=of, on_top=True)
    assert added.amount_financed == approx(price)
    assert added.proceeds == approx(float(kept.borrowed))
    assert added.borrowed - points * added.borrowed - fee == approx(float(added.proceeds))
    assert kept.borrowed - points * kept.borrowed - fee == approx(float(kept.proceeds), abs=1e-9)
    hidden = kept.proceeds - kept.amount_financed
    base = kept.borrowed if of == "financed price" else price
    assert hidden == approx(float(dealer_fee * base), abs=1e-9)


@given(borrowed=number(500, 90_000), rate=rates, months=st.integers(1, 360))
def test_a_plain_loan_is_the_level_loan(borrowed, rate, months):
    found, plain = borrow(note(borrowed), rate, months), schedule(borrowed, rate, months)
    for name in ("interest", "principal", "balance", "payment"):
        assert getattr(found, name) == approx(getattr(plain, name), rel=1e-9, abs=1e-9 * borrowed), name
    assert found.term == months
    assert found.excess == 0


def test_i14_free_loans_need_no_division_by_zero():
    plain = borrow(note(1200), 0.0, 12)
    assert plain.payment.tolist() == [100.0] * 12
    assert plain.interest.tolist() == [0.0] * 12
    assert plain.finance_charge == 0
    later = borrow(note(1200), 0.0, 12, deferral=6)
    assert later.payment.tolist() == [0.0] * 6 + [200.0] * 6
    sooner = borrow(note(1200), 0.0, 12, paydown=450, paydown_month=3, shorten=True)
    assert sooner.payment.tolist() == [100.0] * 7 + [50.0] + [0.0] * 4
    assert sooner.term == 7.5
    lower = borrow(note(1200), 0.0, 12, paydown=450, paydown_month=3)
    assert lower.payment.tolist() == [100.0] * 3 + [50.0] * 9
    starter = borrow(note(1200), 0.0, 12, presumed=0.5, paydown_month=4)
    assert starter.payment.tolist() == [50.0] * 4 + [125.0] * 8
    nothing = borrow(note(0), 0.07, 6, paydown=10, paydown_month=2, shorten=True)
    assert not nothing.payment.any()
    assert nothing.excess == 10


def test_deferred_interest_is_added_or_paid():
    added = borrow(note(10_000), 0.06, 24, deferral=12)
    assert added.payment[:12].tolist() == [0.0] * 12
    assert added.balance[11] == approx(10_000 * 1.005**12)
    assert added.payment[12:] == approx(np.full(12, level_payment(10_000 * 1.005**12, 0.06, 12)))
    paid = borrow(note(10_000), 0.06, 24, deferral=12, interest_only=True)
    assert paid.payment[:12] == approx(np.full(12, 50.0))
    assert paid.balance[11] == 10_000
    assert paid.payment[12:] == approx(np.full(12, level_payment(10_000, 0.06, 12)))


def test_a_paydown_before_payments_begin_has_no_payment_to_keep():
    terms = {"deferral": 12, "paydown": 3000, "paydown_month": 6}
    owed = (10_000 * 1.005**6 - 3000) * 1.005**6
    for shorten in (False, True):
        found = borrow(note(10_000), 0.06, 24, shorten=shorten, **terms)
        assert found.payment[12:] == approx(np.full(12, level_payment(owed, 0.06, 12)))
        assert found.term == 24


def test_a_new_rate_re_amortises_what_is_left_of_the_term():
    found = borrow(note(20_000), 0.04, 60, later_rates=[0.04, 0.07])
    steady = schedule(20_000, 0.04, 60)
    assert found.payment[:24] == approx(steady.payment[:24])
    assert found.payment[24:] == approx(np.full(36, level_payment(steady.balance[23], 0.07, 36)))


# npf and pyxirr count payments with fractions, too.
@given(
    borrowed=number(500, 90_000), rate=number(0.001, 0.25, 3), months=st.integers(13, 240), share=st.floats(0.05, 0.9)
)
def test_outside_witnesses_count_the_payments_left(borrowed, rate, months, share):
    plain = schedule(borrowed, rate, months)
    found = borrow(note(borrowed), rate, months, paydown=share * plain.balance[11], paydown_month=12, shorten=True)
    for module in (npf, pyxirr):
        left = float(module.nper(rate / 12, -plain.payment[0], found.balance[11]))
        assert found.term - 12 == approx(left, abs=2e-6)


@given(borrowed=number(500, 90_000), rate=rates, months=st.integers(2, 240))
def test_outside_witnesses_agree_on_the_payment(borrowed, rate, months):
    found = borrow(note(borrowed), rate, months)
    for module in (npf, pyxirr):
        assert found.payment == approx(np.full(months, -module.pmt(rate / 12, months, borrowed)), rel=1e-9)


def test_a_paydown_larger_than_the_debt_comes_back():
    found = borrow(note(3000), 0.06, 36, paydown=5000, paydown_month=10)
    owed = schedule(3000, 0.06, 36).balance[9]
    assert found.paydown[9] == approx(owed)
    assert found.excess == approx(5000 - owed)
    assert not found.payment[10:].any()
    assert found.term == 10


def test_a_starter_payment_below_the_interest_lets_the_debt_grow():
    found = borrow(note(10_000), 0.12, 240, presumed=0.5, paydown_month=24)
    assert found.principal[0] < 0
    assert found.balance[23] > 10_000
    assert found.balance[-1] == 0
    met = borrow(note(10_000), 0.12, 240, presumed=0.5, paydown_month=24, paydown=found.balance[23] - 1000)
    assert met.payment[:24] == approx(found.payment[:24])
    assert met.payment[24:] == approx(np.full(216, level_payment(1000, 0.12, 216)))


def test_payments_that_never_gain_on_the_interest_keep_the_end():
    # At 100 % a month principal only counts where it doubles up in time: 1e-9 does, 1e-14 is lost in rounding.
    gained = borrow(note(1000), 12.0, 480, paydown=1e-9, paydown_month=3, shorten=True)
    assert gained.term == approx(3 + np.log2(1000 / 1e-9), rel=1e-3)
    many = borrow(
        note(np.linspace(500, 90_000, 400)), np.linspace(3, 20, 400), 480, paydown=1e-14, paydown_month=3, shorten=True
    )
    assert (many.term <= 480).all()
    assert np.isfinite(many.payment).all()
    assert not many.balance[:, -1].any()


def test_a_whole_number_of_payments_leaves_no_trace_of_one_more():
    rate, price = np.linspace(0, 0.2, 300), np.linspace(500, 90_000, 300)
    plain = schedule(price, rate, 120)
    kept = plain.payment[:, 0] * annuity_factor(rate / 12, 10)
    found = borrow(note(price), rate, 120, paydown=plain.balance[:, 11] - kept, paydown_month=12, shorten=True)
    assert (found.term == 22).all()
    assert found.payment[:, 21] == approx(plain.payment[:, 21])
    assert not found.payment[:, 22:].any()


@pytest.mark.parametrize("shape", [(), (4,), (2, 3)])
@pytest.mark.parametrize("kind", ["recast", "shorten", "starter", "cents"])
def test_batch_equals_case_by_case(shape, kind):
    chance = np.random.default_rng(8)
    rest = {"deferral": chance.integers(0, 8, shape), "paydown": chance.uniform(0, 5e4, shape).round(2)}
    rest |= {"paydown_month": chance.integers(1, 20, shape), "later_rates": chance.uniform(0, 0.2, (*shape, 3))}
    if kind == "starter":
        rest["presumed"] = chance.choice([0.0, 0.3], shape)
    chosen = {"shorten": kind == "shorten", "to_cents": kind == "cents"}
    price, rate = chance.uniform(5e3, 6e4, shape), chance.uniform(0, 0.1, shape)
    months, points = chance.integers(20, 90, shape), chance.uniform(0, 0.05, shape)
    many = borrow(note(price, points=points, on_top=True), rate, months, **rest, **chosen)
    length = int(np.max(months))
    assert many.interest.shape == many.paydown.shape == (*shape, length)
    assert many.flows.shape == (*shape, length + 1)
    assert many.excess.shape == many.term.shape == many.finance_charge.shape == shape
    for case in np.ndindex(*shape):
        own = {name: value[case] for name, value in rest.items()}
        alone = borrow(note(price[case], points=points[case], on_top=True), rate[case], months[case], **own, **chosen)
        for name in ("interest", "principal", "payment", "paydown", "balance"):
            line = getattr(many, name)[case]
            assert line[: months[case]] == approx(getattr(alone, name), rel=1e-12, abs=1e-9), name
            assert not line[months[case] :].any(), name
        for name in ("excess", "term", "total_interest", "finance_charge"):
            assert getattr(many, name)[case] == approx(float(getattr(alone, name)), rel=1e-12, abs=1e-9), name


def test_any_argument_may_carry_the_cases():
    base = {"of": note(9000), "annual_rate": 0.05, "months": 24, "paydown": 500.0, "paydown_month": 6, "presumed": 0.1}
    columns = {
        "of": note([9000, 7000], fee=30),
        "annual_rate": [0.05, 0.0],
        "months": [24, 12],
        "paydown": [500.0, 0.0],
        "paydown_month": [6, 9],
        "presumed": [0.0, 0.2],
        "deferral": [0, 3],
        "later_rates": [[0.05], [0.02]],
    }
    for name, column in columns.items():
        many = borrow(**(base | {name: column}))
        assert isinstance(many, LoanLife)
        assert many.flows.shape == (2, 25), name
        for case in range(2):
            picked = [note(9000, fee=30), note(7000, fee=30)][case] if name == "of" else column[case]
            alone = borrow(**(base | {name: picked}))
            assert many.payment[case][: alone.payment.size] == approx(alone.payment), name
            assert many.note.amount_financed[case] == approx(float(alone.note.amount_financed)), name


def test_months_of_a_loan_fall_into_the_years_of_a_study():
    found = borrow(note(6000), 0.05, 30, paydown=1500, paydown_month=14)
    paid = by_year(found.payment + found.paydown, 3)
    assert paid.sum() == approx(float(found.note.amount_financed + found.finance_charge))
    assert paid[2] == approx((found.payment + found.paydown)[12:24].sum())


@pytest.mark.parametrize(
    ("refused", "words"),
    [
        pytest.param(lambda: note(-1), "price must be a number of 0 or more", id="price"),
        pytest.param(lambda: note(np.nan), "price must be a number", id="no price"),
        pytest.param(lambda: note(100, points=1), "points must be below 1", id="points"),
        pytest.param(lambda: note(100, fee=-5), "fee must be a number of 0 or more", id="fee"),
        pytest.param(lambda: note(100, dealer_fee=1.0), "dealer fee must be below 1", id="dealer fee"),
        pytest.param(lambda: borrow(note(100), -0.01, 12), "interest rate must be a number of 0 or more", id="rate"),
        pytest.param(lambda: borrow(note(100), 0.1, 24, later_rates=[-0.1]), "interest rate must", id="later rate"),
        pytest.param(lambda: borrow(note(100), 0.1, 0), "at least one payment", id="no term"),
        pytest.param(lambda: borrow(note(100), 0.1, 1.5), "whole number of months", id="part of a month"),
        pytest.param(lambda: borrow(note(100), 0.1, 12, deferral=12), "after its deferral", id="only deferral"),
        pytest.param(
            lambda: borrow(note(100), 0.1, 12, paydown=5, paydown_month=13), "within its term", id="late paydown"
        ),
        pytest.param(lambda: borrow(note(100), 0.1, 12, paydown=5), "needs its month", id="paydown without month"),
        pytest.param(lambda: borrow(note(100), 0.1, 12, presumed=0.3), "needs its month", id="starter without month"),
        pytest.param(lambda: borrow(note(100), 0.1, 12, paydown=-5, paydown_month=3), "paydown must be", id="paydown"),
        pytest.param(
            lambda: borrow(note(100), 0.1, 12, presumed=0.3, paydown_month=3, shorten=True),
            "starter payment cannot be kept",
            id="starter kept",
        ),
    ],
)
def test_impossible_loans_are_refused(refused, words):
    with pytest.raises(ValueError, match=words):
        refused()
