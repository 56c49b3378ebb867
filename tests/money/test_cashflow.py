"""Lines of the cash flow: what each holds, and that together they are the net."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from level_loan import schedule

from finsolar.money.cashflow import FINANCING, INVESTMENT, OPERATION, borrowed, owner_cash_flow, saving_line
from finsolar.money.costs import Upkeep, in_year
from finsolar.scenario.schema import Borrowing
from finsolar.tariff.bills import ENERGY, EXPORT, FIXED, FUEL, Bill

YEARS = 12


def bill(**yearly):
    """A bill that spreads each yearly amount evenly over the months of every year."""
    names = {"energy": ENERGY, "export": EXPORT, "fixed": FIXED, "fuel": FUEL}
    return Bill({names[name]: np.full((YEARS, 12), amount / 12) for name, amount in yearly.items()})


def level(amount):
    """A yearly amount from year 1 on."""
    return np.concatenate([[0.0], np.full(YEARS, amount)])


def owned(**changes):
    """An invented house: 20,000 laid out, some back, 1,560 saved a year."""
    parts = {
        "capital": np.array(20000.0),
        "rebates": np.array(1500.0),
        "awards": in_year(3000.0, 1, YEARS),
        "before": bill(energy=1800.0, fixed=120.0),
        "after": bill(energy=360.0, fixed=120.0, export=-120.0),
        "avoided_investment": in_year(800.0, 5, YEARS),
        "avoided_upkeep": level(40.0),
        "upkeep": Upkeep(level(70.0), level(55.0), in_year(2000.0, 7, YEARS), level(0.0), in_year(90.0, YEARS, YEARS)),
        "residual": in_year(500.0, YEARS, YEARS),
        "years": YEARS,
    }
    return owner_cash_flow(**(parts | changes))


def test_each_line_holds_what_its_name_says_with_its_sign():
    cash = owned()
    assert cash.lines["capital"][:2].tolist() == [-20000.0, 0.0]
    assert cash.lines["rebates"][:2].tolist() == [1500.0, 0.0]
    assert cash.lines["awards"][:3].tolist() == [0.0, 3000.0, 0.0]
    assert cash.lines[saving_line(ENERGY)] == pytest.approx(level(1440.0))
    assert cash.lines[saving_line(EXPORT)] == pytest.approx(level(120.0))
    assert cash.lines[saving_line(FIXED)] == pytest.approx(level(0.0))
    assert cash.lines["upkeep avoided"].tolist() == level(40.0).tolist()
    assert cash.lines["investment avoided"].tolist() == in_year(800.0, 5, YEARS).tolist()
    assert cash.lines["upkeep"].tolist() == level(-70.0).tolist()
    assert cash.lines["insurance"].tolist() == level(-55.0).tolist()
    assert cash.lines["replacements"][7] == -2000.0
    assert cash.lines["left at the end"][-1] == 500.0


def test_net_of_single_years_worked_by_hand():
    cash = owned()
    assert cash.net[0] == -18500.0
    assert cash.net[1] == pytest.approx(3000 + 1440 + 120 + 40 - 70 - 55)
    assert cash.net[5] == pytest.approx(1475 + 800)
    assert cash.net[7] == pytest.approx(1475 - 2000)
    assert cash.net[12] == pytest.approx(1475 + 500)


def test_a_bill_line_stands_for_each_component_of_either_bill():
    cash = owned(before=bill(fuel=900.0), after=bill(energy=100.0, fixed=60.0))
    savings = {name for name in cash.lines if name.startswith("saving, ")}
    assert savings == {saving_line(FUEL), saving_line(ENERGY), saving_line(FIXED)}
    assert cash.lines[saving_line(FUEL)] == pytest.approx(level(900.0))
    assert cash.lines[saving_line(ENERGY)] == pytest.approx(level(-100.0))


def test_a_house_that_needs_no_supplier_saves_its_whole_bill():
    cash = owned(after=Bill({}))
    assert cash.lines[saving_line(ENERGY)] == pytest.approx(level(1800.0))
    assert cash.lines[saving_line(FIXED)] == pytest.approx(level(120.0))


def test_kinds_part_the_lines_and_replacements_made_or_avoided_are_investment():
    cash = owned()
    assert set(cash.kinds) == set(cash.lines)
    of_kind = {kind: {n for n, k in cash.kinds.items() if k == kind} for kind in (INVESTMENT, OPERATION)}
    built = {"capital", "rebates", "awards", "replacements", "investment avoided", "left at the end"}
    assert of_kind[INVESTMENT] == built
    savings = {saving_line(name) for name in (FIXED, ENERGY, EXPORT)}
    assert of_kind[OPERATION] == savings | {"upkeep avoided", "upkeep", "insurance"}


def test_a_kind_without_lines_is_nothing_in_every_year():
    assert owned().of_kind(FINANCING).tolist() == [0.0] * (YEARS + 1)


def test_lines_add_up_to_the_net_exactly():
    cash, _ = lend(owned(), loan(rate="7.3%", years=9, fee="2.5%"), np.array(20000.0))
    assert np.array_equal(cash.net, sum(cash.lines.values()))
    assert np.array_equal(cash.running, np.cumsum(cash.net))
    kinds = [cash.of_kind(kind) for kind in (INVESTMENT, OPERATION, FINANCING)]
    assert cash.net == pytest.approx(sum(kinds), abs=1e-9)


def test_discounted_leaves_year_0_and_ends_in_the_present_value():
    cash = owned()
    found = cash.discounted(np.array(0.05))
    assert found[0] == cash.net[0]
    assert found[7] == pytest.approx(cash.net[7] / 1.05**7)


def lend(cash, way, price, awards=None, marginal_tax=0.0):
    """The cash flow with a loan; the awards are those of the invented house."""
    given = cash.lines["awards"] if awards is None else awards
    return borrowed(cash, way, price, given, np.asarray(marginal_tax), YEARS)


def loan(**fields):
    """Payment by a loan, as a scenario has it."""
    return Borrowing.model_validate({"loan": {"rate": "6%", "years": 10} | fields})


def test_yearly_awards_and_taxes_are_operation_and_have_a_line_only_where_they_are_any():
    plain = owned()
    paid, taxed, valued = level(300.0), -in_year(66.0, 2, YEARS), level(-25.0)
    cash = owned(yearly_awards=paid, award_tax=taxed, property_tax=valued)
    new = {"yearly awards": paid, "tax on awards": taxed, "property tax": valued}
    assert set(cash.lines) - set(plain.lines) == set(new)
    for name, line in new.items():
        assert cash.lines[name].tolist() == line.tolist()
        assert cash.kinds[name] == OPERATION
        assert name not in owned(**{"yearly_awards": np.zeros(YEARS + 1)}).lines
    assert cash.net[2] == pytest.approx(plain.net[2] + 300 - 66 - 25)
    assert np.array_equal(cash.net, sum(cash.lines.values()))
    assert set(owned(award_tax=taxed).lines) - set(plain.lines) == {"tax on awards"}


def test_loan_pays_out_in_year_0_and_takes_its_fee_then():
    cash, terms = lend(owned(), loan(fee="3%", share="80%"), np.array(20000.0))
    assert cash.lines["loan received"][:2].tolist() == [16000.0, 0.0]
    assert cash.lines["loan fee"][0] == pytest.approx(-480.0)
    assert cash.net[0] == pytest.approx(-18500 + 16000 - 480)
    assert (terms.principal, terms.fee) == (pytest.approx(16000), pytest.approx(480))


def test_loan_payments_stop_with_its_term_and_hold_twelve_months_each():
    cash, terms = lend(owned(), loan(), np.array(20000.0))
    paid = cash.lines["loan payments"]
    assert paid[0] == 0.0
    assert paid[1:11] == pytest.approx(np.full(10, -12 * float(terms.monthly_payment)))
    assert paid[11:].tolist() == [0.0, 0.0]
    # From memory: 20,000 at 6 % over 120 months costs 222.04 a month.
    assert terms.monthly_payment == pytest.approx(222.04, abs=0.005)
    assert terms.life.total_interest == pytest.approx(-paid.sum() - 20000)


def test_interest_is_that_of_the_schedule():
    _, terms = lend(owned(), loan(rate="4.5%", years=7), np.array(9000.0))
    assert terms.life.total_interest == pytest.approx(schedule(9000.0, 0.045, 84).interest.sum())


def test_loan_without_interest_is_paid_back_in_equal_parts():
    cash, terms = lend(owned(), loan(rate="0%"), np.array(12000.0))
    assert terms.monthly_payment == pytest.approx(100.0)
    assert terms.life.total_interest == pytest.approx(0.0, abs=1e-9)
    financing = cash.of_kind(FINANCING)
    assert financing.sum() == pytest.approx(0.0, abs=1e-8)


def test_loan_lines_are_financing_and_change_no_other():
    before = owned()
    after, _ = lend(before, loan(), np.array(20000.0))
    added = set(after.lines) - set(before.lines)
    assert added == {"loan received", "loan fee", "loan payments"}
    assert {after.kinds[name] for name in added} == {FINANCING}
    assert all(after.lines[name] is line for name, line in before.lines.items())


def test_a_dealer_fee_and_fees_that_are_borrowed_leave_the_price_paid_and_are_owed():
    """By hand: 20,000 at 25 % of the financed price is 26,666.67; 26,666.67 + 100 over 0.98 is 27,312.93."""
    way = loan(fee="2%", fixed_fee=100, fees="borrowed", dealer_fee="25%")
    cash, terms = lend(owned(rebates=np.array(0.0)), way, np.array(20000.0))
    assert terms.principal == pytest.approx(27312.93, abs=0.005)
    assert terms.dealer_fee == pytest.approx(6666.67, abs=0.005)
    assert terms.fee == pytest.approx(646.26, abs=0.005)
    assert cash.lines["dealer fee"][0] == pytest.approx(-6666.67, abs=0.005)
    assert cash.net[0] == pytest.approx(0.0, abs=1e-9)  # the loan pays for everything, its fees included
    assert cash.kinds["dealer fee"] == FINANCING


def test_a_loan_of_an_amount_leaves_the_rest_in_cash_and_lends_no_more_than_there_is_to_pay():
    cash, terms = lend(owned(), loan(amount=12000), np.array(20000.0))
    assert cash.lines["loan received"][0] == 12000.0
    assert cash.net[0] == -20000 + 1500 + 12000
    assert terms.missing == 0
    _, terms = lend(owned(), loan(amount=23000), np.array(20000.0))
    assert (terms.principal, terms.missing) == (20000.0, 3000.0)


@pytest.mark.parametrize(
    ("paydown", "paid"),
    [
        ({"amount": 4000}, 4000),
        ({"share": "30%"}, 6000),
        ({"awards": "50%"}, 1500),  # of the 3,000 that come at the end of year 1
        ({"awards": "100%", "month": 11}, 0),  # one month too early for them
    ],
)
def test_what_is_paid_in_is_an_amount_a_share_of_the_loan_or_of_the_awards_come_in(paydown, paid):
    cash, terms = lend(owned(), loan(paydown={"month": 18} | paydown), np.array(20000.0))
    assert float(terms.life.paydown.sum()) == pytest.approx(paid)
    if not paid:
        assert "paid into the loan" not in cash.lines
        assert terms.not_paid_in is None
        return
    assert cash.lines["paid into the loan"][2] == pytest.approx(-paid)
    assert terms.life.payment[17] == pytest.approx(float(terms.monthly_payment))
    assert terms.life.payment[18] < terms.monthly_payment
    never = lend(owned(), loan(), np.array(20000.0))[1].life
    assert terms.not_paid_in.payment == pytest.approx(never.payment)
    assert terms.not_paid_in.total_interest > terms.life.total_interest


def test_a_sooner_end_keeps_the_payment_and_ends_sooner():
    way = loan(paydown={"amount": 5000, "month": 12, "then": "sooner end"})
    _, terms = lend(owned(), way, np.array(20000.0))
    whole = int(np.floor(terms.life.term))
    assert terms.life.payment[:whole] == pytest.approx(np.full(whole, float(terms.monthly_payment)))
    assert 60 < terms.life.term < 120


def test_deducted_interest_saves_tax_in_its_own_year():
    """By hand: half of the interest of each year, at 24 % of income tax."""
    cash, terms = lend(owned(), loan(deductible="50%"), np.array(20000.0), marginal_tax=0.24)
    interest = terms.life.interest.reshape(10, 12).sum(axis=-1)
    assert cash.lines["tax saved on interest"][1:11] == pytest.approx(0.12 * interest)
    assert terms.tax_saved == pytest.approx(0.12 * float(interest.sum()))
    assert cash.kinds["tax saved on interest"] == FINANCING
    assert "tax saved on interest" not in lend(owned(), loan(), np.array(20000.0), marginal_tax=0.24)[0].lines


def test_interest_that_is_only_added_is_deducted_once_it_is_paid():
    """By hand: 12,000 at 12 %, nothing paid in year 1; 1,521.90 added then are paid with later payments."""
    cash, terms = lend(owned(), loan(rate="12%", years=3, deferral_months=12, deductible="100%"), np.array(12000.0),
                       marginal_tax=0.25)  # fmt: skip
    saved = cash.lines["tax saved on interest"]
    assert saved[1] == 0.0
    assert terms.life.interest[:12].sum() == pytest.approx(1521.90, abs=0.005)
    assert saved.sum() == pytest.approx(0.25 * float(terms.life.interest.sum()))
    assert (terms.life.interest_paid <= terms.life.payment + 1e-9).all()
    # The first payments are interest alone, until what was added is paid.
    assert terms.life.interest_paid[12] == pytest.approx(float(terms.life.payment[12]))


def test_a_line_of_credit_pays_interest_while_it_is_drawn_and_follows_its_rate():
    """By hand: 12,000 at 6 % is 60 a month in year 1, at 9 % 90 a month in year 2, then 8 years at 9 %."""
    way = loan(later_rates=["9%"], deferral_months=24, deferral_pays="interest")
    _, terms = lend(owned(), way, np.array(12000.0))
    assert terms.life.payment[:24] == pytest.approx([60.0] * 12 + [90.0] * 12)
    # From memory: 1,000 at 9 % over 96 months costs 14.65 a month.
    assert terms.monthly_payment == pytest.approx(12 * 14.65, abs=0.05)


@settings(deadline=None)
@given(
    st.integers(0, 2**32 - 1),
    st.sampled_from([(), (3,), (2, 2)]),
    st.integers(0, 14),
    st.integers(1, YEARS),
)
def test_lines_add_up_for_any_house_and_cases_equal_case_by_case(seed, cases, rate, term):
    rng = np.random.default_rng(seed)
    wide = (*cases, YEARS + 1)
    monthly = [rng.uniform(-50, 200, (*cases, YEARS, 12)) for _ in range(3)]
    parts = {
        "capital": rng.uniform(5e3, 3e4, cases),
        "rebates": rng.uniform(0, 2e3, cases),
        "awards": rng.uniform(0, 500, wide),
        "before": Bill({ENERGY: monthly[0]}),
        "after": Bill({ENERGY: monthly[1], EXPORT: monthly[2]}),
        "avoided_investment": rng.uniform(0, 90, wide),
        "avoided_upkeep": rng.uniform(0, 90, wide),
        "upkeep": Upkeep(*(rng.uniform(0, 90, wide) for _ in range(5))),
        "residual": rng.uniform(0, 90, wide),
    }
    more = {"fees": "borrowed", "dealer_fee": "10%", "starter_share": "20%", "deductible": "50%", "deferral_months": 3}
    more |= {"later_rates": ["3%"]} if term > 1 else {}
    paydown = {"awards": "60%", "month": 4 + seed % (12 * term - 3)}
    payment = loan(rate=f"{rate}%", years=term, fee="1%", fixed_fee=200, paydown=paydown, **more)
    plain = owner_cash_flow(**parts, years=YEARS)
    cash, terms = lend(plain, payment, parts["capital"], marginal_tax=0.22)
    assert cash.net.shape == wide
    assert np.array_equal(cash.net, sum(cash.lines.values()))
    for case in np.ndindex(*cases):
        single = {
            name: Bill({n: a[case] for n, a in part.components.items()})
            if isinstance(part, Bill)
            else Upkeep(*(row[case] for row in vars(part).values()))
            if isinstance(part, Upkeep)
            else part[case]
            for name, part in parts.items()
        }
        own = owner_cash_flow(**single, years=YEARS)
        alone, alone_terms = lend(own, payment, single["capital"], marginal_tax=0.22)
        for name, line in alone.lines.items():
            assert cash.lines[name][case] == pytest.approx(line, abs=1e-9), name
        assert terms.life.total_interest[case] == pytest.approx(float(alone_terms.life.total_interest), abs=1e-9)
