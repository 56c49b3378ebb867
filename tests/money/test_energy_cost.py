"""What a kWh costs: of the whole system, of the sun without its battery, and of backup; numbers our own, by hand."""

import math
from dataclasses import fields
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import finsolar
from finsolar.money.appraisal import appraise, reasons
from finsolar.money.cashflow import INVESTMENT, OPERATION, CashFlow, owner_cash_flow
from finsolar.money.costs import Upkeep, in_year
from finsolar.money.energy_cost import (
    backup_cost,
    backup_given,
    battery_costs,
    cost_of_energy,
    share_of_the_battery,
    sun_kwh,
)
from finsolar.money.metrics import present_value
from finsolar.scenario.numbers import settled
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Rebate
from finsolar.tariff.bills import ENERGY, Bill

NOTHING = np.zeros(3)
IDLE = dict.fromkeys((field.name for field in fields(Upkeep)), NOTHING)
RATE, LEVEL = np.array(0.1), np.array(0.0)


def line(category, price, *, tax=0.0):
    """A cost line as far as it matters here: its category, and its price with tax and allowance."""
    return SimpleNamespace(category=category, total=np.asarray(price) + tax)


ROOF_AND_BATTERY = [line("modules", 6000.0), line("battery", 4000.0)]


def of_the_battery(costs=ROOF_AND_BATTERY, **given):
    """What of two years' money belongs to the battery, where only that is told which matters."""
    told = {
        "costs": costs,
        "rebates": [],
        "awards": [],
        "later": Upkeep(**IDLE),
        "comes_back": NOTHING,
        "property_tax": NOTHING,
        "there": np.ones(3),
    }
    return battery_costs(**(told | given))


def award(amounts, *, kind="tax credit", spread=None, tax=NOTHING):
    """What an award brings by year, and how it falls on the cost lines."""
    shares = None if spread is None else [np.array(share) for share in spread]
    return SimpleNamespace(amounts=np.asarray(amounts, dtype=float), tax=np.asarray(tax), kind=kind, spread=shares)


def rebate(amount, category=None):
    """A rebate for the lines of one category, or for all."""
    return Rebate(item="A rebate", amount=amount, category=category)


def test_what_is_built_for_the_battery_is_its_own_with_tax_and_allowance():
    costs = [line("modules", 6000.0, tax=300.0), line("battery", 4000.0, tax=200.0), line("battery", 500.0)]
    assert of_the_battery(costs).tolist() == [4700.0, 0.0, 0.0]
    assert float(share_of_the_battery(costs)) == pytest.approx(4700 / 11000)
    assert of_the_battery([line("modules", 6000.0)]).tolist() == [0.0, 0.0, 0.0]
    assert float(share_of_the_battery([])) == 0.0


def test_a_rebate_for_the_battery_is_all_its_own_one_for_all_falls_by_price_and_others_do_not_fall_on_it():
    assert of_the_battery(rebates=[rebate(500.0, "battery")]).tolist() == [3500.0, 0.0, 0.0]
    assert of_the_battery(rebates=[rebate(500.0)]).tolist() == [3800.0, 0.0, 0.0]
    assert of_the_battery(rebates=[rebate(500.0, "modules")]).tolist() == [4000.0, 0.0, 0.0]


def test_an_award_falls_on_the_battery_as_it_was_counted_and_by_price_where_it_was_for_the_whole():
    credit = [0.0, 900.0, 100.0]
    assert of_the_battery(awards=[award(credit, spread=[0.25, 0.75])]) == pytest.approx([4000, -675, -75])
    assert of_the_battery(awards=[award(credit, spread=[1.0, 0.0])]) == pytest.approx([4000, 0, 0])
    assert of_the_battery(awards=[award(credit)]) == pytest.approx([4000, -360, -40])
    taxed = award(credit, spread=[0.5, 0.5], tax=[0.0, -90.0, -10.0])
    assert of_the_battery(awards=[taxed]) == pytest.approx([4000, -405, -45])


@pytest.mark.parametrize("kind", ["performance payment", "metered certificates"])
def test_what_is_paid_for_the_energy_made_is_the_suns(kind):
    assert of_the_battery(awards=[award([0.0, 70.0, 70.0], kind=kind)]) == pytest.approx([4000, 0, 0])


def test_its_renewal_what_is_left_of_it_and_its_part_of_the_property_tax():
    later = Upkeep(**(IDLE | {
        "replacements": in_year(3000.0, 1, 2), "upkeep": in_year(20.0, 1, 2), "insurance": in_year(7.0, 2, 2),
        "residual": in_year(900.0, 2, 2),
    }))  # fmt: skip
    found = of_the_battery(later=later, comes_back=in_year(400.0, 2, 2), property_tax=np.array([0.0, 50.0, 50.0]))
    assert found == pytest.approx([4000, 3000 + 20 + 20, 7 - 900 - 400 + 20])


def test_nothing_of_it_goes_on_once_others_have_taken_it_away():
    found = of_the_battery(awards=[award([100.0, 50.0, 50.0])], there=np.array([1.0, 1.0, 0.0]))
    assert found == pytest.approx([3960, -20, 0])


def project(later=NOTHING, saving=0.0, capital=10_000.0):
    """Two years of a system that saves the same each year."""
    return owner_cash_flow(
        capital=np.array(capital),
        rebates=np.zeros(()),
        awards=NOTHING,
        before=Bill({ENERGY: np.full((2, 12), saving / 12)}),
        after=Bill({}),
        avoided_investment=NOTHING,
        avoided_upkeep=NOTHING,
        upkeep=Upkeep(**(IDLE | {"replacements": later})),
        residual=NOTHING,
        years=2,
    )


MADE, USED = np.array([1100.0, 1210.0]), np.array([1045.0, 1149.5])


def test_the_sun_alone_and_the_sun_with_its_battery_by_hand():
    """6,000 of roof over 2,000 kWh and 13,000 of both over 1,900, each worth that at 10 %."""
    cash = project(in_year(3300.0, 1, 2))
    apart = of_the_battery() + in_year(3300.0, 1, 2)
    figures = appraise(cash, USED, RATE, LEVEL, battery=apart, sun_kwh=MADE)
    assert figures.lcoe == pytest.approx(13_000 / 1900)
    assert figures.lcoe_solar == pytest.approx(6000 / 2000)
    assert figures.real_lcoe_solar == pytest.approx(3.0)


def test_the_real_price_of_the_sun_alone_rises_with_inflation():
    """At 10 % nominal and 4 % inflation: the price of day one, raised once a year, pays for the same kWh."""
    figures = appraise(project(), USED, RATE, np.array(0.04), battery=of_the_battery(), sun_kwh=MADE)
    assert figures.real_lcoe_solar == pytest.approx(6000 / (1040 + 1000 * 1.04**2))
    assert figures.lcoe_solar == pytest.approx(3.0)


def test_without_a_battery_the_two_are_one():
    figures = appraise(project(), MADE, RATE, np.array(0.02))
    assert (figures.lcoe_solar, figures.real_lcoe_solar) == (figures.lcoe, figures.real_lcoe)


def test_what_is_left_out_is_worth_what_the_two_differ_by():
    apart = of_the_battery(rebates=[rebate(800.0)])
    both, alone = (cost_of_energy(project(), MADE, RATE, np.array(0.03), part) for part in (NOTHING, apart))
    assert (both.nominal - alone.nominal) * 2000 == pytest.approx(4000 - 320)


def test_the_suns_kwh_are_those_before_the_battery_takes_its_part():
    """1,000 from the sun, 100 shed, the inverter draws 30 and the battery 20: 870 without it."""
    flows = SimpleNamespace(
        solar=np.full((2, 12), 1000 / 12), curtailed=np.full((2, 12), 100 / 12), idle=np.full((2, 12), 50 / 12)
    )
    assert sun_kwh(flows, 20 / 8760) == pytest.approx([870.0, 870.0])
    dark = SimpleNamespace(solar=np.zeros((1, 12)), curtailed=np.zeros((1, 12)), idle=np.full((1, 12), 5.0))
    assert sun_kwh(dark, 0.0).tolist() == [0.0]


# Backup.

THIRTY = np.full(2, 30.0)


def test_backup_by_hand():
    """1,000 laid out for 110 and 121 a year at 10 %: 800 short. 30 kWh a year at 4 %: p (30/1.1 + 30 x 1.04/1.21)."""
    net = CashFlow({"a": np.array([-1000.0, 110.0, 121.0])}, {"a": INVESTMENT}).net
    npv = present_value(net, RATE)
    assert npv == pytest.approx(-800)
    price = 800 / (30 / 1.1 + 30 * 1.04 / 1.21)
    assert backup_cost(npv, THIRTY, RATE, np.array(0.04)) == pytest.approx(price)
    # Half of the kWh, once a lease has ended after a year: less than half of the worth to bear it.
    assert backup_cost(npv, THIRTY * [1, 0], RATE, LEVEL) == pytest.approx(800 / (30 / 1.1))


def test_backup_costs_nothing_that_can_be_told_where_the_npv_is_above_zero_or_no_kwh_are_drawn():
    assert np.isnan(backup_cost(np.array(0.01), THIRTY, RATE, LEVEL))
    assert np.isnan(backup_cost(np.array(-100.0), np.zeros(2), RATE, LEVEL))
    assert backup_cost(np.array(0.0), THIRTY, RATE, LEVEL) == 0.0
    assert np.isnan(backup_cost(np.array(0.0), np.zeros(2), RATE, LEVEL))


@given(
    net=st.lists(st.floats(-3000, 1000), min_size=2, max_size=30),
    kwh=st.floats(1.0, 900.0),
    rate=st.floats(-0.02, 0.15),
    inflation=st.floats(-0.03, 0.12),
    stays=st.integers(1, 30),
)
def test_energy_sold_at_the_cost_of_backup_earns_exactly_the_discount_rate(net, kwh, rate, inflation, stays):
    """The identity that defines it: with kWh p (1 + inflation)^(k-1) as a line of its own, the NPV is zero."""
    years = len(net) - 1
    given_kwh = np.where(np.arange(1, years + 1) <= stays, kwh, 0.0)
    cash = CashFlow({"rest": np.array(net)}, {"rest": OPERATION})
    price = float(backup_cost(present_value(cash.net, rate), given_kwh, np.array(rate), np.array(inflation)))
    npv = float(present_value(cash.net, rate))
    assert math.isnan(price) == (npv > 0)
    if npv <= 0:
        worth = [0.0] + [given_kwh[k - 1] * price * (1 + inflation) ** (k - 1) for k in range(1, years + 1)]
        more = CashFlow(cash.lines | {"backup": np.array(worth)}, cash.kinds | {"backup": OPERATION})
        scale = sum(abs(flow) / (1 + rate) ** k for k, flow in enumerate(more.net))
        assert abs(float(present_value(more.net, rate))) <= 1e-9 * max(scale, 1.0)


def test_a_batch_of_backups_is_each_alone():
    npv, kwh = np.array([-500.0, 20.0, -90.0]), np.array([[30.0, 30.0], [30.0, 30.0], [10.0, 0.0]])
    rate, inflation = np.array([0.02, 0.05, 0.1]), np.array([0.0, 0.03, 0.05])
    together = backup_cost(npv, kwh, rate, inflation)
    alone = [float(backup_cost(*case)) for case in zip(npv, kwh, rate, inflation, strict=True)]
    assert together == pytest.approx(alone, nan_ok=True)
    assert np.isnan(together).tolist() == [False, True, False]


def test_a_batch_of_batteries_is_each_alone():
    prices = np.array([3000.0, 4000.0, 0.0])
    costs = [line("modules", 6000.0), line("battery", prices)]
    awards = [award([[0.0, 900.0, 100.0]] * 3), award([[0.0, 60.0, 60.0]] * 3, spread=[0.5, np.array([0.5, 1, 0])])]
    together = of_the_battery(costs, rebates=[rebate(300.0)], awards=awards)
    assert together.shape == (3, 3)
    for case, price in enumerate(prices):
        single = [award([0.0, 900.0, 100.0]), award([0.0, 60.0, 60.0], spread=[0.5, [0.5, 1, 0][case]])]
        alone = of_the_battery(
            [line("modules", 6000.0), line("battery", price)], rebates=[rebate(300.0)], awards=single
        )
        assert together[case] == pytest.approx(alone)


HOUSE = """
title: Two storms a year
place: {country: NL, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-03-01, years: 6, discount_rate: 6%, inflation: 3%}
household:
  backup_kwh: {low: 20, likely: 30, high: 60}
  load: {monthly_kwh: [900, 800, 700, 600, 500, 600, 700, 700, 600, 500, 700, 900], shape: evening}
weather: greensboro
tariff: {energy: 0.2, rise: 2%}
generator: {kw: 3, fuel_price: 1.5, rise: 2%}
purchase: {sales_tax: 5%, contingency: 10%}
costs:
  - {item: Modules, category: modules, cost: 9000}
  - {item: Battery, category: battery, cost: 4000, residual: 25%}
upkeep: [{item: New battery, category: battery, cost: 3000, every: 4}]
rebates: [{item: For storing, amount: 600, category: battery}, {item: For all, amount: 650}]
system:
  arrays: [{kw: 5, tilt: 25, azimuth: 180}]
  inverter: {kw: 5, idle_watts: 40}
  battery: {kwh: 10, kw: 5, standby_watts: 15}
alternatives:
  - {name: Both}
  - {name: Sun alone, without: [Battery, New battery, For storing], system: {battery: none}}
  - {name: Off the grid, system: {operation: off grid}}
  - {name: Away after three years, costs: [], upkeep: [], rebates: [], payment: {lease: {monthly: 300, years: 3}}}
  - {name: By motor, like: Sun alone, system: {operation: off grid}}
  - {name: A gift, costs: [], upkeep: []}
"""


@pytest.fixture(scope="module")
def house():
    """A house with six ways to go, as plain values by name."""
    plain = finsolar.study(from_text(HOUSE)).to_json()
    return {plan["name"]: plan for plan in plain["alternatives"]}


def yearly(amounts, first=1):
    """The worth at 6 % of money or kWh by year."""
    return sum(amount / 1.06**k for k, amount in enumerate(amounts, first))


def test_a_house_with_a_battery_pays_less_for_a_kwh_of_its_sun_alone(house):
    """By hand from the YAML: the modules with tax and allowance, less their part of what is given for all."""
    both = house["Both"]
    modules, battery = 9000 * 1.05 * 1.1, 4000 * 1.05 * 1.1
    energy = both["energy"]
    kwh = [s - c - i + 15 * 8.76 for s, c, i in zip(energy["solar"], energy["curtailed"], energy["idle"], strict=True)]
    roof = modules - 650 * modules / (modules + battery)
    assert both["metrics"]["lcoe_solar"] == pytest.approx(roof / yearly(kwh))
    whole = modules + battery - 1250 + 3000 * 1.03**3 / 1.06**4 - 1000 * 1.03**5 / 1.06**6
    assert both["metrics"]["lcoe"] == pytest.approx(whole / yearly(energy["useful"]))
    assert both["metrics"]["lcoe_solar"] < both["metrics"]["lcoe"]


def test_a_house_without_one_has_one_cost_of_energy_whatever_is_shed_or_drawn(house):
    for name in ("Sun alone", "By motor"):
        metrics = house[name]["metrics"]
        assert house[name]["energy"]["curtailed"][0] > 0 and house[name]["energy"]["idle"][0] > 0
        assert metrics["lcoe_solar"] == pytest.approx(metrics["lcoe"], rel=1e-12)
        assert metrics["real_lcoe_solar"] == pytest.approx(metrics["real_lcoe"], rel=1e-12)


def test_backup_of_a_house_is_the_worth_it_lacks_by_the_kwh(house):
    for name, years in (("Both", 6), ("Off the grid", 6), ("Away after three years", 3)):
        metrics = house[name]["metrics"]
        assert metrics["npv"] < 0
        price = -metrics["npv"] / yearly([30 * 1.03 ** (k - 1) for k in range(1, years + 1)])
        assert metrics["backup_cost"] == pytest.approx(price), name
    assert house["By motor"]["metrics"]["backup_cost"] is not None  # off the grid the generator runs


def test_each_missing_cost_of_backup_says_why(house):
    assert "no battery" in house["Sun alone"]["reasons"]["backup_cost"]
    assert house["A gift"]["metrics"]["npv"] > 0
    assert "it pays with no worth set on backup" in house["A gift"]["reasons"]["backup_cost"]
    assert "backup_cost" not in house["Both"]["reasons"]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("  backup_kwh: {low: 20, likely: 30, high: 60}\n", "", "household.backup_kwh"),
        ("{low: 20, likely: 30, high: 60}", "0", "household.backup_kwh"),
        ("tariff: {energy: 0.2, rise: 2%}\n", "", "no grid today"),
    ],
    ids=["not stated", "none drawn", "no grid"],
)
def test_a_house_that_draws_none_has_no_cost_of_backup(old, new, words):
    ends = HOUSE.index("alternatives:")
    text = HOUSE[:ends].replace(old, new) + "alternatives: [{name: Off, system: {operation: off grid}}]\n"
    scenario = from_text(text)
    plan, there = scenario.alternatives[0], np.ones(6)
    stated = settled(scenario).household.backup_kwh
    kwh, why = backup_given(stated, plan, scenario.tariff is not None, there)
    assert not kwh.any()
    assert words in str(why)


def test_reasons_of_figures_without_energy():
    cash = project()
    figures = appraise(cash, np.zeros(2), RATE, LEVEL)
    told = reasons(figures, cash, "because it is so")
    assert told["lcoe_solar"] == told["real_lcoe_solar"] == "the sun gives no energy"
    assert told["backup_cost"] == "because it is so"
