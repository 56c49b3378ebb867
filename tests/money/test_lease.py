"""A system that others own: payments, the buy-out, and what ends when it is taken away."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from money.test_cashflow import YEARS, lend, level, loan, owned
from oracle_costs import paid_to_the_owner

from finsolar.money.cashflow import FINANCING, INVESTMENT, OPERATION, leased
from finsolar.money.costs import in_year
from finsolar.money.lease import lease_payments, per_kwh_payments, serving
from finsolar.scenario.numbers import Range
from finsolar.scenario.schema import Lease, PerKwh

MADE = np.linspace(6000.0, 5400.0, YEARS)
NOTHING = np.zeros(YEARS + 1)


def lease(**fields):
    """Payment by the month, as a scenario has it."""
    return Lease.model_validate({"lease": {"monthly": 100.0, "years": 8} | fields})


def by_kwh(**fields):
    """Payment by what the system makes, as a scenario has it."""
    return PerKwh.model_validate({"per_kwh": {"price": 0.15, "years": 8} | fields})


def test_a_lease_is_paid_twelve_times_a_year_and_rises_from_the_second():
    assert lease_payments(100.0, 0.02, 3, 5) == pytest.approx(np.array([1200, 1224, 1248.48, 0, 0]))
    assert lease_payments(100.0, 0.0, 20, 3).tolist() == [1200.0] * 3


def test_a_path_of_rises_is_followed_year_by_year():
    assert lease_payments(10.0, (0.1, 0.0), 4, 4) == pytest.approx(np.array([120, 132, 132, 132]))


def test_energy_is_paid_at_the_price_of_its_year():
    made = [5000.0, 4900.0, 4800.0]
    assert per_kwh_payments(0.2, 0.1, 2, made) == pytest.approx(np.array([1000, 4900 * 0.22, 0]))


def test_it_serves_up_to_its_term_or_for_good_where_it_is_kept():
    assert serving(2, 4, kept=False).tolist() == [1, 1, 0, 0]
    assert serving(2, 4, kept=True).tolist() == [1, 1, 1, 1]
    assert serving(9, 4, kept=False).tolist() == [1, 1, 1, 1]


@pytest.mark.parametrize("term", [0, -3])
def test_a_term_below_a_year_is_refused(term):
    for call in (
        lambda: serving(term, 5, kept=True),
        lambda: lease_payments(1.0, 0.0, term, 5),
        lambda: per_kwh_payments(1.0, 0.0, term, [1.0]),
    ):
        with pytest.raises(ValueError, match="a term of at least one year"):
            call()


def test_columns_of_price_rise_and_generation_equal_case_by_case():
    price, rise = np.array([[0.1], [0.3]]), np.array([[0.0], [0.04]])
    made = np.array([[5000.0, 4000.0, 3000.0], [1.0, 2.0, 3.0]])
    sold, rented = per_kwh_payments(price, rise, 2, made), lease_payments(price, rise, 2, 3)
    for case in range(2):
        one = (price[case, 0], rise[case, 0])
        assert sold[case].tolist() == per_kwh_payments(*one, 2, made[case]).tolist()
        assert rented[case].tolist() == lease_payments(*one, 2, 3).tolist()


def test_payments_are_operation_and_stand_beside_the_other_lines():
    plain = owned(capital=np.array(0.0), rebates=np.array(0.0))
    for payment, name, first in (
        (lease(years=20, rise="3%"), "lease payments", 1200.0),
        (by_kwh(years=20), "payments per kWh", 900.0),
    ):
        cash = leased(plain, payment, MADE, NOTHING, YEARS)
        assert set(cash.lines) - set(plain.lines) == {name}
        assert cash.kinds[name] == OPERATION
        assert cash.lines[name][0] == 0.0
        assert cash.lines[name][1] == pytest.approx(-first)
        assert cash.net == pytest.approx(plain.net + cash.lines[name])


def test_a_system_that_is_taken_away_leaves_the_house_as_it_was():
    """Savings, upkeep, replacements, awards, taxes and what is left end with the term; nothing before it changes."""
    plain = owned(yearly_awards=level(200.0), property_tax=level(-30.0), award_tax=in_year(-9.0, 10, YEARS))
    cash = leased(plain, lease(years=6), MADE, NOTHING, YEARS)
    for name, line in plain.lines.items():
        assert cash.lines[name][:7].tolist() == line[:7].tolist(), name
        assert not cash.lines[name][7:].any(), name
    assert plain.lines["replacements"][7] == -2000.0 and plain.lines["left at the end"][-1] == 500.0
    assert cash.net[6] == pytest.approx(plain.net[6] - 1200)
    assert cash.net[7:].tolist() == [0.0] * 6
    assert np.array_equal(cash.net, sum(cash.lines.values()))


def test_a_system_that_is_bought_goes_on_without_payments():
    plain = owned()
    cash = leased(plain, by_kwh(years=6, buyout=2500.0), MADE, NOTHING, YEARS)
    bought = "buy-out at the end of the term"
    assert set(cash.lines) - set(plain.lines) == {"payments per kWh", bought}
    assert cash.kinds[bought] == INVESTMENT
    assert cash.lines[bought].tolist() == (-in_year(2500.0, 6, YEARS)).tolist()
    assert cash.net[7:] == pytest.approx(plain.net[7:])
    assert cash.net[6] == pytest.approx(plain.net[6] - 2500 - 0.15 * MADE[5])
    assert FINANCING not in cash.kinds.values()


@pytest.mark.parametrize("term", [YEARS, YEARS + 8])
def test_a_buy_out_at_the_end_of_the_study_or_later_lies_beyond_it(term):
    with_it, without = (
        leased(owned(), lease(years=term, **more), MADE, NOTHING, YEARS) for more in ({"buyout": 2500.0}, {})
    )
    assert set(with_it.lines) == set(without.lines)
    assert with_it.net.tolist() == without.net.tolist()
    assert with_it.lines["left at the end"][-1] == 500.0


def test_a_loan_for_what_the_household_pays_itself_runs_on():
    plain, _ = lend(owned(), loan(years=10), np.array(5000.0))
    cash = leased(plain, lease(years=3), MADE, NOTHING, YEARS)
    assert cash.lines["loan payments"].tolist() == plain.lines["loan payments"].tolist()
    assert cash.net[7] == plain.lines["loan payments"][7]


amounts = st.floats(0, 500, allow_nan=False)
rises = st.floats(-0.2, 0.5, allow_nan=False)


@settings(deadline=None)
@given(
    st.booleans(),
    amounts,
    st.one_of(rises, st.lists(rises, min_size=2, max_size=4).map(tuple)),
    st.integers(1, 15),
    st.one_of(st.none(), amounts),
    st.lists(st.floats(0, 9000, allow_nan=False), min_size=YEARS, max_size=YEARS),
)
def test_payments_and_what_goes_on_agree_with_a_walk_year_by_year(monthly, price, rise, term, buyout, made):
    word = {"path": list(rise)} if isinstance(rise, tuple) else rise
    fields = {"rise": word, "years": term} | ({} if buyout is None else {"buyout": buyout})
    payment = lease(monthly=price, **fields) if monthly else by_kwh(price=price, **fields)
    plain = owned(yearly_awards=level(200.0))
    cash = leased(plain, payment, np.array(made), NOTHING, YEARS)
    found = paid_to_the_owner(payment, made)
    for year in range(1, YEARS + 1):
        net = plain.net[year] if found["there"][year - 1] else 0.0
        net -= found["payments"][year - 1]
        net -= found["buyout"] if found["buyout_year"] == year else 0.0
        assert cash.net[year] == pytest.approx(net, abs=1e-6)
    assert cash.net[0] == plain.net[0]


def test_a_batch_of_leases_equals_its_single_ones():
    monthly, buyout = np.array([[80.0], [120.0]]), np.array([[1000.0], [3000.0]])
    terms = lease(buyout=1.0, rise="2%").lease.model_copy(update={"monthly": monthly, "buyout": buyout})
    together = leased(owned(), Lease.model_construct(lease=terms), MADE, NOTHING, YEARS)
    assert together.net.shape == (2, YEARS + 1)
    for case in range(2):
        own = lease(monthly=monthly[case, 0], buyout=buyout[case, 0], rise="2%")
        single = leased(owned(), own, MADE, NOTHING, YEARS)
        for name, line in single.lines.items():
            whole = np.broadcast_to(together.lines[name], (2, YEARS + 1))
            assert whole[case].tolist() == line.tolist(), name


def test_a_lease_may_be_a_range():
    assert lease(monthly={"from": 80, "to": 100}).lease.monthly == Range("from, to", (80.0, 100.0))


def test_what_the_household_bought_itself_stays_with_it_when_the_system_goes():
    """A roof of which 800 are left, a tool sold in year 9; what is left of the rest goes with the system."""
    plain = owned(resold=in_year(150.0, 9, YEARS))
    roof = in_year(200.0, YEARS, YEARS)
    cash = leased(plain, lease(years=6), MADE, roof, YEARS)
    assert cash.lines["tools sold again"][9] == 150.0
    assert cash.lines["left at the end"][-1] == 200.0
    assert leased(plain, lease(years=6, buyout=900), MADE, roof, YEARS).lines["left at the end"][-1] == 500.0
