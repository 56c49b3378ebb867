"""What must hold of any flows: the identities I1 to I4, I7 to I10 and I14 of the figures of merit, by their ids.

I5 and I6 speak of loans and stand in `test_loan` and `test_borrowing`, named likewise; what a whole study makes of them
stands in `test_identities_of_a_study`. I11 to I13 speak of draws. Source of every bar: our own, in double precision.
"""

import numpy as np
from hypothesis import assume, given
from hypothesis import strategies as st
from pytest import approx

from finsolar.money.metrics import (
    adjusted_internal_rate,
    annualised,
    deflated,
    discounted,
    internal_rates,
    levelised_cost,
    levelised_costs,
    modified_internal_rate,
    payback,
    present_value,
    savings_to_investment,
)
from finsolar.money.rates import annuity_factor, nominal_rate
from finsolar.scenario.rises import growth

amounts = st.integers(-10_000, 10_000)
series = st.lists(amounts, min_size=2, max_size=31)
discount_rates = st.floats(-0.2, 0.5)
real_rates, inflations = st.floats(-0.05, 0.2), st.floats(-0.03, 0.15)
outlays = st.floats(500, 50_000)
savings_lists = st.lists(st.floats(0, 5000), min_size=1, max_size=30)
energies = st.lists(st.floats(100, 9000), min_size=1, max_size=30)


@given(flows=series)
def test_i1_worth_is_zero_at_every_internal_rate(flows):
    rates = internal_rates(flows)
    found = rates.roots[: int(rates.count)]
    for rate in found:
        # Of all that moves, as it stands; at a rate below zero, where later money weighs more, as it is weighed.
        moved = present_value(np.abs(flows), min(rate, 0.0))
        assert abs(present_value(flows, rate)) <= 1e-9 * moved
    assert np.all(np.diff(found) > 0)
    assert rates.count <= rates.sign_changes
    assert np.isnan(rates.roots[int(rates.count) :]).all()


@given(flows=series, scale=st.sampled_from([1e-6, 0.01, 7.0, 1e6]), rate=discount_rates)
def test_i2_scale_and_sign_leave_the_rates(flows, scale, rate):
    scaled, turned = np.multiply(flows, scale), np.negative(flows)
    rates = internal_rates([flows, scaled, turned])
    assert (rates.count == rates.count[0]).all()
    assert rates.roots[1] == approx(rates.roots[0], rel=1e-9, abs=1e-9, nan_ok=True)
    assert rates.roots[2] == approx(rates.roots[0], rel=1e-9, abs=1e-9, nan_ok=True)
    assert present_value(turned, rate) == -present_value(flows, rate)
    plain, other = payback(flows), payback(scaled)
    assert other.first == approx(float(plain.first), rel=1e-9, nan_ok=True)
    assert other.lasting == approx(float(plain.lasting), rel=1e-9, nan_ok=True)
    assert modified_internal_rate(scaled, 0.05, 0.08) == approx(
        float(modified_internal_rate(flows, 0.05, 0.08)), rel=1e-9, abs=1e-9, nan_ok=True
    )


@given(outlay=outlays, savings=savings_lists, replacement=st.floats(0, 9000), rate=st.floats(-0.05, 0.3))
def test_i3_ratio_and_adjusted_rate_take_the_side_of_net_savings(outlay, savings, replacement, rate):
    years = len(savings)
    benefit = np.array([0.0, *savings])
    cost = np.eye(years + 1)[0] * outlay + np.eye(years + 1)[years] * replacement
    net = present_value(benefit, rate) - present_value(cost, rate)
    assume(abs(net) > 1e-6 * outlay)
    ratio = savings_to_investment(benefit, cost, rate)
    assert np.sign(ratio - 1) == np.sign(net)
    assert np.sign(adjusted_internal_rate(ratio, rate, years) - rate) == np.sign(net)


@given(outlay=outlays, flows=series, rate=discount_rates)
def test_i4_modified_rate_at_one_rate_follows_from_npv(outlay, flows, rate):
    flows = np.array([-outlay, *flows])
    assume((flows > 0).any())
    costs = present_value(np.maximum(-flows, 0), rate)
    grown = (1 + present_value(flows, rate) / costs) ** (1 / (flows.size - 1))
    assert modified_internal_rate(flows, rate, rate) == approx((1 + rate) * grown - 1, abs=1e-9)


@given(flows=series, real=real_rates, inflation=inflations)
def test_i7_flows_of_today_and_of_the_day_are_one_present_value(flows, real, inflation):
    today = deflated(flows, inflation)
    assert today == approx(np.array(flows) / (1 + inflation) ** np.arange(len(flows)), rel=1e-12)
    nominal = (1 + real) * (1 + inflation) - 1
    scale = present_value(np.abs(flows), nominal) + 1
    assert present_value(flows, nominal) == approx(float(present_value(today, real)), abs=1e-9 * scale)


@given(savings=st.lists(st.floats(100, 5000), min_size=2, max_size=30), real=real_rates, inflation=inflations)
def test_i7_internal_rates_obey_fishers_relation(savings, real, inflation):
    constant = np.array([-8000.0, *savings])
    current = constant * growth(inflation, len(constant))
    worth = present_value(current, nominal_rate(real, inflation))
    assert worth == approx(float(present_value(constant, real)), abs=1e-9 * np.abs(constant).sum() * 20)
    in_constant, in_current = internal_rates(constant).headline, internal_rates(current).headline
    assert in_current == approx(float(nominal_rate(in_constant, inflation)), abs=1e-9)


@given(capital=outlays, energy=energies, rate=discount_rates)
def test_i8_levelised_cost_times_energy_is_the_cost(capital, energy, rate):
    costs, produced = np.array([capital, *np.full(len(energy), 90.0)]), np.array([0.0, *energy])
    price = levelised_cost(costs, produced, rate)
    assert price * present_value(produced, rate) == approx(float(present_value(costs, rate)), rel=1e-9)


@given(energy=energies, real=real_rates, inflation=inflations)
def test_i8_either_levelised_cost_is_the_price_that_pays(energy, real, inflation):
    index = (1 + inflation) ** np.arange(len(energy) + 1)
    costs, produced = np.array([9000.0, *np.full(len(energy), 90.0)]) * index, np.array([0.0, *energy])
    rate = (1 + real) * (1 + inflation) - 1
    cost = levelised_costs(costs, produced, rate, inflation)
    for price in (cost.nominal, cost.real * index):
        assert present_value(price * produced - costs, rate) == approx(0, abs=1e-9 * present_value(costs, rate))
    # The real one is that of the same project in today's money, without inflation.
    assert cost.real == approx(float(levelised_cost(costs / index, produced, real)), rel=1e-9)


@given(savings=savings_lists, rate=discount_rates)
def test_i9_mid_year_flows_are_worth_half_a_year_more(savings, rate):
    years = np.arange(1, len(savings) + 1)
    middle, end = present_value(savings, rate, years - 0.5), present_value(savings, rate, years)
    assert middle == approx(end * (1 + rate) ** 0.5, rel=1e-9)


@given(outlay=outlays, savings=savings_lists, rate=st.floats(0, 0.3))
def test_i10_discounting_never_shortens_payback(outlay, savings, rate):
    flows = np.array([-outlay, *savings])
    simple, later = payback(flows), payback(discounted(flows, rate))
    assert simple.first == approx(float(simple.lasting), nan_ok=True)
    if np.isnan(simple.first):
        assert np.isnan(later.first)
    else:
        assert np.isnan(later.first) or later.first >= simple.first - 1e-9


@given(flows=st.lists(amounts, min_size=3, max_size=31), energy=st.integers(1, 9000))
def test_i14_nothing_is_discounted_at_zero(flows, energy):
    years, total = len(flows) - 1, sum(flows)
    gains, losses = sum(max(flow, 0) for flow in flows), -sum(min(flow, 0) for flow in flows)
    assert discounted(flows, 0.0).tolist() == flows
    assert deflated(flows, 0.0).tolist() == flows
    assert present_value(flows, 0.0) == total
    assert annuity_factor(0.0, years) == years
    assert annualised(total, 0.0, years) == approx(total / years, rel=1e-15)
    simple, later = payback(flows), payback(discounted(flows, 0.0))
    assert (simple.first, simple.lasting) == (approx(later.first, nan_ok=True), approx(later.lasting, nan_ok=True))
    produced, costs = [0] + [energy] * years, np.maximum(np.negative(flows), 0)
    assert levelised_cost(costs, produced, 0.0) == approx(losses / (energy * years), rel=1e-15)
    if gains > 0 and losses > 0:
        assert modified_internal_rate(flows, 0.0, 0.0) == approx((gains / losses) ** (1 / years) - 1, abs=1e-13)
        ratio = savings_to_investment(np.maximum(flows, 0), costs, 0.0)
        assert ratio == approx(gains / losses, rel=1e-15)
        assert adjusted_internal_rate(ratio, 0.0, years) == approx((gains / losses) ** (1 / years) - 1, abs=1e-13)


@given(flows=series, rate=st.sampled_from([1e-13, -1e-13, 1e-10, -1e-10]))
def test_i14_no_jump_beside_zero(flows, rate):
    moved = len(flows) * np.abs(flows).sum()
    assert present_value(flows, rate) == approx(sum(flows), abs=1.01 * abs(rate) * moved + 1e-12 * moved)
    years = len(flows)
    assert annuity_factor(rate, years) == approx(years, abs=1.01 * abs(rate) * years**2 + 1e-12)
    assert annualised(years, rate, years) == approx(1, abs=1.01 * abs(rate) * years + 1e-12)
