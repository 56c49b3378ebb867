"""What would change the answer, against single studies, turning points set beforehand and variances worked out."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from small_house import changed, house

import finsolar
from finsolar.results import Study
from finsolar.study import study
from finsolar.uncertainty.draws import quantiles
from finsolar.uncertainty.ranges import ranges_of
from finsolar.uncertainty.shares_of_variance import Indices
from finsolar.uncertainty.sureness import with_simulation
from finsolar.uncertainty.what_matters import Lead, WhatMatters, with_what_matters

Array = NDArray[np.float64]
Tree = dict[str, Any]
# A house whose energy costs nothing, so that its money is what its costs say.
LEDGER: Tree = {
    "study": {"years": 4, "discount_rate": "10%", "inflation": 0, "draws": 64},
    "tariff": {"energy": [{"name": "all", "price": 0}], "export": {"price": 0}},
    "costs": [],
}
# A house with a bill, and ranges of every kind on it.
HOUSE: Tree = {
    "study": {"draws": 64, "discount_rate": {"mean": "5%", "sd": "1%"}},
    "weather": {"station": "greensboro", "brightness": {"from": "90%", "to": "104%"}},
    "tariff": {"rise": {"low": "0%", "likely": "2%", "high": "6%"}},
    "costs": [{"item": "Modules", "category": "modules", "per_kw": {"from": 900, "to": 1500}}],
    "upkeep": [
        {"item": "New inverter", "category": "inverter", "cost": 1200, "life": {"characteristic": 7, "shape": 2}}
    ],
    "alternatives": [
        {"name": "Cash"},
        {"name": "Borrowed", "payment": {"loan": {"rate": {"from": "3%", "to": "9%"}, "years": 8}}},
    ],
}


def even(low: Any, high: Any) -> Tree:
    """Anything between two values."""
    return {"from": low, "to": high}


def line(item: str, **price: Any) -> Tree:
    """A line of costs."""
    return {"item": item, "category": "other", **price}


def matters(changes: Tree, of: Tree = LEDGER) -> tuple[Study, WhatMatters]:
    """A study, and what would change its answer."""
    base = with_what_matters(with_simulation(finsolar.study(house(changed(of, changes)))))
    assert base.what_matters is not None
    return base, base.what_matters


def near(found: Array, wanted: list[float], error: Array) -> None:
    """Within three standard errors, and those no wider than a tenth."""
    assert np.all(error < 0.1)
    assert np.all(np.abs(found - wanted) < np.maximum(3 * error, 1e-9)), (found, error)


def assert_leads(found: tuple[Lead, ...], wanted: list[tuple[str, float]]) -> None:
    """Who leads, and from which value on."""
    assert [lead.leader for lead in found] == [name for name, _ in wanted]
    assert [lead.since for lead in found] == pytest.approx([since for _, since in wanted])


@pytest.fixture(scope="module")
def told() -> tuple[Study, WhatMatters]:
    """Of the house with a bill."""
    return matters({}, HOUSE)


def test_the_ends_of_each_swing_are_single_studies(told: tuple[Study, WhatMatters]) -> None:
    """One range at its P10 or P90, all others at their middle; run from the first hour on.

    All but to the penny; where the hours move, within twice what the simulation found itself to be off.
    """
    base, found = told
    assert base.simulation is not None and base.simulation.checked is not None
    drawn = {each.name: each for each in ranges_of(base.scenario)}
    assert [swing.name for swing in found.swings] == list(drawn)
    assert len(found.swings) == 6
    for swing in found.swings:
        each = drawn[swing.name]
        ends = quantiles(each.range, np.array([0.1, 0.9]), each.low, each.high)
        assert (swing.low, swing.high) == tuple(ends)
        for value, npv in ((swing.low, swing.npv_low), (swing.high, swing.npv_high)):
            alone = study(base.scenario, dict.fromkeys(each.paths, value))
            off = 2 * base.simulation.checked.npv
            assert npv == pytest.approx([float(result.appraisal.npv) for result in alone.results], abs=off)


def test_swings_go_the_way_they_must(told: tuple[Study, WhatMatters]) -> None:
    """Dearer modules or money make it worth less, dearer energy more; a loan is of no concern to who pays cash."""
    spans = {swing.name: swing.npv_high - swing.npv_low for swing in told[1].swings}
    cash, borrowed = spans["costs[1].per_kw"]
    assert cash == pytest.approx(-5 * 0.8 * 600) and borrowed < 0
    assert np.all(spans["tariff.rise"] > 0) and np.all(spans["upkeep[1].life"] > 0)
    assert np.all(spans["study.discount_rate"] < 0)
    cash, borrowed = spans["alternatives[2].payment.loan.rate"]
    assert cash == 0 > borrowed


def test_the_lead_turns_where_it_was_set_to() -> None:
    """Own work for 5000, or a firm for something between 4000 and 7000."""
    plans = [
        {"name": "Firm", "costs": [line("Firm", cost=even(4000, 7000))]},
        {"name": "Own", "costs": [line("A", cost=5000)]},
    ]
    _, found = matters({"alternatives": plans})
    # From the first case in a hundred on.
    assert_leads(found.leads["alternatives[1].costs[1].cost"], [("Firm", 4030), ("Own", 5000)])


def test_the_lead_turns_twice() -> None:
    """A contingency x on 5000, on 3000 of 5300, or on 1000 of 5600: equal where 2000 (1 + x) is 2300, and 2700."""
    plans = [
        {"name": "Most", "costs": [line("Open", cost=5000)]},
        {"name": "Some", "costs": [line("Open", cost=3000), line("Firm", cost=2300, contingency=0)]},
        {"name": "Least", "costs": [line("Open", cost=1000), line("Firm", cost=5000, contingency=0)]},
    ]
    _, found = matters({"purchase": {"contingency": even("0%", "50%")}, "alternatives": plans})
    assert list(found.leads) == ["purchase.contingency"]
    assert_leads(found.leads["purchase.contingency"], [("Most", 0.005), ("Some", 0.15), ("Least", 0.35)])


def test_a_lead_that_never_turns_is_one_entry() -> None:
    """Also where two are always level: the first of them has it."""
    dear = {"name": "Dear", "costs": [line("Works", cost=9000)]}
    plans = [dear, {"name": "One"}, {"name": "Twin"}]
    _, found = matters({"costs": [line("Works", cost=even(4000, 7000))], "alternatives": plans})
    assert_leads(found.leads["costs[1].cost"], [("One", 4030)])


@pytest.fixture(scope="module")
def linear() -> Indices:
    """F6: what is spared 10 X1 + X3, what is paid 4 X2, all even from nothing to 6, 12 and 24."""
    stay = {"costs": [line("X1", each=even(0, 6), quantity=10), line("X3", cost=even(0, 24))]}
    plans = [{"name": "Works", "costs": [line("X2", each=even(0, 12), quantity=4), line("Rest", cost=100)]}]
    _, found = matters({"stay": stay, "alternatives": plans})
    assert list(found.leads) == ["stay.costs[1].each", "stay.costs[2].cost", "alternatives[1].costs[1].each"]
    [one] = found.shares
    return one


def test_shares_of_a_linear_npv_are_those_of_its_variance(linear: Indices) -> None:
    """F6: 5/9, 4/45 and 16/45, first-order and total alike. Source: S_i = (a_i sd_i)^2 / sum, from memory."""
    wanted = [5 / 9, 4 / 45, 16 / 45]
    near(linear.first, wanted, linear.first_error)
    near(linear.total, wanted, linear.total_error)
    assert linear.total == pytest.approx(wanted, abs=0.02)


def test_a_product_shares_what_its_parts_cannot_claim() -> None:
    """F12 in even ranges: means 10 and 5, variances 12 and 3, so 12 * 25 + 3 * 100 + 12 * 3 = 636 in all (own)."""
    _, found = matters({"costs": [line("Works", each=even(4, 16), quantity=even(2, 8))]})
    [one] = found.shares
    near(one.first, [300 / 636, 300 / 636], one.first_error)
    near(one.total, [336 / 636, 336 / 636], one.total_error)


def test_first_order_shares_add_up_to_no_more_than_one(told: tuple[Study, WhatMatters], linear: Indices) -> None:
    """I11: to less where ranges act together, to one where they only add; no total is below its first-order share."""
    for one in (*told[1].shares, linear):
        assert one.first.sum() < 1 + 3 * float(np.hypot.reduce(one.first_error))
        assert np.all(one.total >= one.first - 3 * np.hypot(one.first_error, one.total_error))
    assert linear.first.sum() == pytest.approx(1, abs=0.05)
    assert linear.total.sum() == pytest.approx(1, abs=0.05)


def test_a_range_of_no_width_has_no_part(linear: Indices) -> None:
    """Beside others it swings nothing and shares nothing; alone it leaves nothing to share, and says so."""
    costs = [line("Works", cost=even(4000, 7000)), line("Fence", cost={"mean": 900, "sd": 0})]
    _, found = matters({"costs": costs})
    fence = found.swings[1]
    assert fence.low == fence.high == 900 and fence.npv_low == fence.npv_high
    [one] = found.shares
    assert (one.first[1], one.total[1]) == (0, 0)
    _, alone = matters({"costs": costs[1:]})
    assert alone.shares[0].why_not is not None and np.isnan(alone.shares[0].first).all()


def test_each_alternative_has_shares_of_its_own() -> None:
    """A range that only one of them pays for is nothing to the other."""
    plans = [
        {"name": "Firm", "costs": [line("Firm", cost=even(4000, 7000))]},
        {"name": "Own", "costs": [line("Parts", cost=even(2000, 4000))]},
    ]
    _, found = matters({"alternatives": plans})
    firm, own = found.shares
    assert (firm.total[1], own.total[0]) == (0, 0)
    assert (firm.total[0], own.total[1]) == pytest.approx((1, 1), abs=0.05)


def test_nothing_matters_where_nothing_was_simulated() -> None:
    plain = finsolar.study(house({}))
    assert with_what_matters(plain) is plain
    assert plain.what_matters is None
