"""Alternatives against one another, worked by hand."""

from dataclasses import replace

import numpy as np
import pytest

from finsolar.money.compare import Contender, own_labour, own_work, pairs


def contender(name, net, *, hours=0.0, worth=np.nan, net_cost=None, rate=0.1, terms=("2026-09-01", "cash")):
    """An alternative known by its net flows: invested in year 0, saving from then on."""
    net = np.asarray(net, dtype=float)
    invested = np.where(np.arange(net.shape[-1]) == 0, net, 0.0)
    cost = -net[..., 0] if net_cost is None else np.asarray(net_cost, dtype=float)
    return Contender(
        name=name,
        net=net,
        operation=net - invested,
        investment=invested,
        rate=np.asarray(rate),
        net_cost=cost,
        own_hours=np.asarray(hours, dtype=float),
        hour_worth=np.asarray(worth, dtype=float),
        terms=terms,
    )


def test_extra_outlay_is_judged_by_what_it_adds():
    [pair] = pairs([contender("small", [-100, 60, 60]), contender("large", [-300, 180, 203])])
    assert (pair.dearer, pair.cheaper) == ("large", "small")
    assert pair.extra_outlay == 200.0
    assert (pair.extra_saving_first_year, pair.extra_saving) == (120.0, 263.0)
    assert pair.extra_npv == pytest.approx(-200 + 120 / 1.1 + 143 / 1.21)
    # 200 (1 + r)^2 = 120 (1 + r) + 143: 1 + r = (120 + sqrt(120^2 + 4 x 200 x 143)) / 400.
    assert pair.irr == pytest.approx((120 + np.sqrt(120**2 + 4 * 200 * 143)) / 400 - 1)
    assert pair.simple_payback == pytest.approx(1 + 80 / 143)
    assert pair.discounted_payback == pytest.approx(1 + (200 - 120 / 1.1) / (143 / 1.21))
    assert pair.reasons == {}


@pytest.mark.parametrize("order", [1, -1], ids=["dearer last", "dearer first"])
def test_the_dearer_comes_first_whatever_the_order(order):
    both = [contender("small", [-100, 60, 60]), contender("large", [-300, 180, 203])][::order]
    assert [(pair.dearer, pair.cheaper) for pair in pairs(both)] == [("large", "small")]


def test_worth_is_no_outlay():
    """Of two that lay out 100 each, the one with 120 of worth at the start asks no less."""
    plain, spared = contender("plain", [-100, 60, 60]), contender("spared", [20, 60, 60])
    spared = replace(spared, worth=np.array([120.0, 0, 0]))
    [pair] = pairs([plain, spared])
    assert (pair.extra_outlay, np.isnan(pair.irr)) == (0, True)
    assert pair.reasons["irr"].startswith("what sets the two apart at the start is the worth of backup")
    [pair] = pairs([contender("small", [-80, 60, 60]), spared])
    assert (pair.dearer, pair.extra_outlay, np.isnan(pair.irr)) == ("spared", 20, True)
    [pair] = pairs([contender("small", [-80, 60, 70]), replace(plain, worth=np.array([0, 0, 20.0]))])
    assert (
        (pair.dearer, pair.extra_outlay) == ("plain", 20) and np.isnan(pair.irr) and "worth" not in pair.reasons["irr"]
    )


def test_every_two_are_compared_once():
    three = [contender(name, [-outlay, 50, 80]) for name, outlay in (("a", 90), ("b", 100), ("c", 80))]
    assert [(p.dearer, p.cheaper) for p in pairs(three)] == [("b", "a"), ("a", "c"), ("b", "c")]
    assert pairs(three[:1]) == []


def test_extra_outlay_that_never_comes_back_says_so():
    [pair] = pairs([contender("small", [-100, 60, 60]), contender("large", [-300, 61, 61])])
    assert np.isnan(pair.simple_payback) and np.isnan(pair.discounted_payback)
    assert set(pair.reasons) == {"simple_payback", "discounted_payback"}
    assert pair.irr == pytest.approx(-0.927, abs=1e-3)


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        ([-100, 60, 60], "the two have the same money in every year"),
        ([-150, 60, 60], "the difference has one sign in every year"),
        ([-101, 62, 58.5], "no rate makes the difference worth zero"),
        ([-100, 75, 40], "the dearer one gains before it costs more, so there is no outlay to earn a return"),
    ],
)
def test_a_pair_without_a_rate_says_why(other, reason):
    [pair] = pairs([contender("one", [-100, 60, 60]), contender("other", other)])
    assert np.isnan(pair.irr)
    assert pair.reasons["irr"] == reason


def test_pairs_of_cases_equal_case_by_case():
    small, large = np.array([[-100, 60, 60], [-90, 50, 70]]), np.array([[-300, 180, 203], [-280, 10, 10]])
    rates = np.array([0.05, 0.1])
    [pair] = pairs([contender("small", small, rate=rates), contender("large", large, rate=rates)])
    assert pair.extra_outlay.tolist() == [200.0, 190.0]
    for case in range(2):
        [alone] = pairs(
            [
                contender("small", small[case], rate=rates[case]),
                contender("large", large[case], rate=rates[case]),
            ]
        )
        for name in ("extra_npv", "irr", "simple_payback", "discounted_payback"):
            many, single = getattr(pair, name)[case], float(getattr(alone, name))
            assert many == pytest.approx(single, nan_ok=True), name
    assert set(pair.reasons) == {"irr", "simple_payback", "discounted_payback"}
    assert pair.reasons["irr"] == "the difference has one sign in every year"


def test_own_hours_earn_the_difference_to_the_cheapest_done_by_others():
    mine = contender("mine", [-9000, 1500, 1500], hours=100)
    others = [contender("firm", [-15000, 1500, 1700]), contender("cheap firm", [-14000, 1500, 1400])]
    [labour] = own_labour([others[0], mine, others[1]])
    assert (labour.name, labour.against) == ("mine", "cheap firm")
    assert (labour.hours, labour.saved, labour.per_hour) == (100.0, 5000.0, 50.0)
    assert labour.npv_per_hour == pytest.approx((5000 + 100 / 1.21) / 100)


def test_saved_is_after_awards():
    mine = contender("mine", [-9000, 1000], hours=50, net_cost=9000)
    firm = contender("firm", [-15000, 4000], net_cost=12000)
    [labour] = own_labour([mine, firm])
    assert (labour.saved, labour.per_hour) == (3000.0, 60.0)
    assert labour.npv_per_hour == pytest.approx((6000 - 3000 / 1.1) / 50)


def test_hours_may_have_earned_less_than_nothing():
    [labour] = own_labour([contender("mine", [-16000, 1], hours=10), contender("firm", [-15000, 1])])
    assert labour.per_hour == -100.0


def test_only_equal_terms_are_compared():
    mine = contender("mine", [-9000, 1500], hours=100)
    borrowed = contender("firm on a loan", [-500, 100], terms=("2026-09-01", "loan"))
    sooner = contender("firm last year", [-8000, 1500], terms=("2025-11-20", "cash"))
    assert own_labour([mine, borrowed, sooner]) == []
    helper = contender("half by ourselves", [-12000, 1500], hours=30)
    firm = contender("firm", [-15000, 1500])
    found = own_labour([mine, borrowed, sooner, helper, firm])
    assert [(labour.name, labour.against) for labour in found] == [
        ("mine", "firm"),
        ("half by ourselves", "firm"),
    ]


@pytest.mark.parametrize("place", range(4))
def test_labour_on_a_larger_system_is_no_saving(place):
    """Each of the terms (days, payment, system, supply) is enough to keep two apart."""
    terms = ["2026-09-01", "cash", "battery of 10 kWh", "tariff A"]
    other = [*terms[:place], "another", *terms[place + 1 :]]
    mine = contender("mine", [-9000, 1500], hours=100, terms=tuple(terms))
    assert own_labour([mine, contender("firm", [-15000, 1500], terms=tuple(other))]) == []
    [labour] = own_labour([mine, contender("firm", [-15000, 1500], terms=tuple(terms))])
    assert labour.per_hour == 60.0


def test_nobody_works_nothing_to_show():
    assert own_labour([contender("a", [-1, 2]), contender("b", [-2, 3])]) == []


def test_drawn_hours_give_one_wage_a_case_and_none_for_no_hours():
    mine = contender("mine", [[-9000, 1500]] * 3, hours=[0.0, 50.0, 100.0])
    [labour] = own_labour([mine, contender("firm", [-14000, 1500])])
    assert labour.per_hour == pytest.approx(np.array([np.nan, 100.0, 50.0]), nan_ok=True)


def test_extra_saving_leaves_out_what_is_built_and_what_is_borrowed():
    """120 more in year 1 and 143 in year 2, of which a new inverter takes 70 and an instalment 30 in year 1."""
    small, large = contender("small", [-100, 60, 60]), contender("large", [-300, 180, 203])
    net = large.net + np.array([50.0, -100.0, 0.0])
    built = large.investment + np.array([0.0, -70.0, 0.0])
    [pair] = pairs([small, replace(large, net=net, investment=built)])
    assert (pair.extra_outlay, pair.extra_saving_first_year, pair.extra_saving) == (150.0, 120.0, 263.0)


def test_the_worth_of_an_hour_is_set_against_the_alternative_and_its_wage():
    """100 hours at 40: 4,000 less, and 5,000 saved are 50 an hour."""
    mine = contender("mine", [-9000, 1500, 1500], hours=100, worth=40)
    [work] = own_work([mine])
    assert (work.name, work.hours, work.worth_per_hour, work.worth) == ("mine", 100.0, 40.0, 4000.0)
    assert work.npv_less_worth == pytest.approx(-9000 + 1500 / 1.1 + 1500 / 1.21 - 4000)
    [labour] = own_labour([mine, contender("firm", [-14000, 1500, 1500])])
    assert labour.work.npv_less_worth == work.npv_less_worth
    assert labour.pays


@pytest.mark.parametrize(("worth", "pays"), [(49.99, True), (50.0, True), (50.01, False), (0.0, True)])
def test_hours_pay_from_the_wage_that_they_earn(worth, pays):
    firm = contender("firm", [-14000, 1500])
    [labour] = own_labour([contender("mine", [-9000, 1500], hours=100, worth=worth), firm])
    assert labour.pays == pays


def test_hours_worth_nothing_pay_where_they_cost_nothing():
    firm = contender("firm", [-9000, 1500])
    [labour] = own_labour([contender("mine", [-9000, 1500], hours=100, worth=0.0), firm])
    assert labour.saved == 0 and labour.pays


def test_a_wage_met_but_for_rounding_is_met():
    """0.1 + 0.2 for 3 hours at 0.1 each, the last digit apart."""
    firm = contender("firm", [-0.3, 0], net_cost=0.3)
    [labour] = own_labour([contender("mine", [0.0, 0], hours=3, worth=(0.1 + 0.2) / 3, net_cost=0.0), firm])
    assert labour.work.worth > labour.saved
    assert labour.pays


def test_a_wage_is_weighed_by_what_each_costs_later_too():
    """3,000 less to build and 100 more a year: 30 an hour by the cost, less by the worth, which decides."""
    mine = contender("mine", [-9000, 1500, 1500], hours=100, worth=29.0, net_cost=9000.0)
    [labour] = own_labour([mine, contender("firm", [-12000, 1600, 1600], net_cost=12000.0)])
    assert labour.per_hour == 30.0
    assert labour.npv_per_hour < 29.0
    assert not labour.pays


def test_hours_without_a_stated_worth_are_set_against_nothing():
    mine, idle = contender("mine", [-9000, 1500], hours=100), contender("idle", [-9000, 1500], worth=30)
    assert own_work([mine, idle]) == []
    [labour] = own_labour([mine, contender("firm", [-14000, 1500])])
    assert labour.work is None and labour.pays is None


def test_drawn_worths_of_an_hour_are_weighed_case_by_case():
    mine = contender("mine", [[-9000, 1500]] * 3, hours=100, worth=[20.0, 50.0, 80.0])
    [labour] = own_labour([mine, contender("firm", [-14000, 1500])])
    assert labour.pays.tolist() == [True, True, False]
    assert labour.work.npv_less_worth == pytest.approx(-9000 + 1500 / 1.1 - np.array([2000.0, 5000.0, 8000.0]))
