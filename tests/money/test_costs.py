"""Cost lines and costs that come back, against sums done by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finsolar.money.costs import due_years, in_year, priced, total, upkeep
from finsolar.scenario.schema import SERVICES, CostLine, Purchase, UpkeepLine


def line(category="modules", **fields):
    """A cost line of 1,000 unless it has another price."""
    price = {} if {"cost", "each"} & set(fields) else {"cost": 1000.0}
    return CostLine.model_validate({"item": "A line", "category": category} | price | fields)


def one(cost_line, **purchase):
    """A cost line worked out."""
    return priced([cost_line], Purchase.model_validate(purchase))[0]


def returning(category="upkeep", **fields):
    """A yearly cost of 100 unless it has another."""
    return UpkeepLine.model_validate({"item": "A line", "category": category, "cost": 100.0} | fields)


def test_goods_bear_the_shared_sales_tax_and_services_do_not():
    for category in ("modules", "inverter", "battery", "racking", "wiring", "tools", "shipping", "other"):
        assert one(line(category), sales_tax="8%").sales_tax == pytest.approx(80.0), category
    assert {"labour", "permits", "interconnection", "finance"} == SERVICES
    for category in sorted(SERVICES):
        assert one(line(category), sales_tax="8%").sales_tax == 0.0, category


def test_services_bear_a_tax_of_their_own_and_goods_do_not():
    for category in sorted(SERVICES):
        assert one(line(category), sales_tax="8%", services_tax="20%").sales_tax == pytest.approx(200.0), category
        own = line(category, sales_tax="5%")
        assert one(own, sales_tax="8%", services_tax="20%").sales_tax == pytest.approx(50.0), category
    assert one(line("modules"), sales_tax="8%", services_tax="20%").sales_tax == pytest.approx(80.0)
    taxed = one(line("labour"), services_tax="20%", contingency="5%")
    assert taxed.total == pytest.approx(1000 + 200 + 0.05 * 1200)


def test_a_drawn_tax_on_services_makes_one_price_a_case():
    drawn = Purchase().model_copy(update={"services_tax": np.array([[0.0], [0.2]])})
    assert total(priced([line("labour"), line()], drawn)).tolist() == [2000.0, 2200.0]


def test_a_line_may_state_its_own_tax_and_allowance():
    assert one(line("labour", sales_tax="5%"), sales_tax="8%").sales_tax == pytest.approx(50.0)
    assert one(line("battery", sales_tax="0%"), sales_tax="8%").sales_tax == 0.0
    assert one(line(contingency="0%"), contingency="10%").contingency == 0.0
    assert one(line(contingency="20%"), contingency="10%").contingency == pytest.approx(200.0)


def test_allowance_is_a_share_of_price_and_tax():
    found = one(line(), sales_tax="8%", contingency="5%")
    assert found.contingency == pytest.approx(0.05 * 1080)
    assert found.total == pytest.approx(1000 + 80 + 54)


def test_price_is_each_times_quantity_and_one_where_no_quantity_stands():
    assert one(line(each=140.0, quantity=19.0)).price == pytest.approx(2660.0)
    assert one(line(each=140.0)).price == 140.0


def test_residual_is_a_share_of_the_price_alone():
    found = one(line(residual="10%"), sales_tax="8%", contingency="5%")
    assert found.residual == pytest.approx(100.0)
    assert one(line()).residual == 0.0


def test_total_is_the_sum_of_the_lines_and_nothing_for_no_line():
    lines = priced([line(), line("labour", cost=500.0)], Purchase.model_validate({"sales_tax": "10%"}))
    assert total(lines) == pytest.approx(1600.0)
    assert total([]) == 0.0


def test_a_drawn_price_and_a_drawn_tax_make_one_total_a_case():
    drawn = line().model_copy(update={"cost": np.array([[100.0], [200.0]])})
    found = priced([drawn, line()], Purchase().model_copy(update={"sales_tax": np.array([[0.0], [0.5]])}))
    assert total(found).tolist() == [1100.0, 1800.0]


def test_in_year_holds_the_amount_once():
    assert in_year(5.0, 2, 3).tolist() == [0.0, 0.0, 5.0, 0.0]
    assert in_year(np.array([1.0, 2.0]), 0, 1).tolist() == [[1.0, 0.0], [2.0, 0.0]]


@pytest.mark.parametrize(
    ("fields", "years", "due"),
    [
        ({}, 4, [1, 2, 3, 4]),
        ({"every": 5}, 15, [5, 10, 15]),
        ({"every": 5, "first": 2}, 15, [2, 7, 12]),
        ({"first": 3}, 5, [3, 4, 5]),
        ({"every": 13, "category": "inverter"}, 25, [13]),
        ({"every": 12, "category": "battery"}, 25, [12, 24]),
        ({"every": 5, "category": "battery"}, 15, [5, 10]),
        ({"every": 1, "category": "generator"}, 3, [1, 2]),
        ({"every": 25, "category": "modules"}, 25, []),
        ({"every": 30}, 25, []),
        ({"every": 5, "category": "insurance"}, 5, [5]),
        ({"every": 5, "category": "other"}, 5, [5]),
    ],
)
def test_due_years(fields, years, due):
    assert due_years(returning(**fields), years) == due


@settings(deadline=None)
@given(st.integers(1, 30), st.integers(1, 30), st.sampled_from(["upkeep", "battery"]), st.integers(1, 30))
def test_due_years_keep_their_distance_inside_the_study(every, first, category, years):
    due = due_years(returning(category, every=every, first=first), years)
    last = years - (category == "battery")
    assert due == [year for year in range(1, last + 1) if year >= first and (year - first) % every == 0]


def test_costs_rise_with_inflation_from_year_2_unless_told():
    found = upkeep([returning()], 0.02, 3)
    assert found.upkeep == pytest.approx(np.array([0, 100, 102, 104.04]))
    told = upkeep([returning(rise="-10%")], 0.02, 3)
    assert told.upkeep == pytest.approx(np.array([0, 100, 90, 81]))
    path = upkeep([returning(rise={"path": ["10%", "0%"]})], 0.02, 4)
    assert path.upkeep == pytest.approx(np.array([0, 100, 110, 110, 110]))


def test_each_category_goes_to_its_own_sum():
    lines = [
        returning("upkeep", cost=1.0),
        returning("other", cost=2.0),
        returning("insurance", cost=4.0),
        returning("inverter", cost=8.0, every=2),
        returning("battery", cost=16.0, every=2),
    ]
    found = upkeep(lines, 0.0, 3)
    assert found.upkeep.tolist() == [0, 3, 3, 3]
    assert found.insurance.tolist() == [0, 4, 4, 4]
    assert found.replacements.tolist() == [0, 0, 24, 0]
    assert found.residual.tolist() == [0, 0, 0, 0]


def test_a_replacement_in_year_k_costs_the_price_of_year_k():
    found = upkeep([returning("inverter", cost=2000.0, every=13)], 0.025, 25)
    assert found.replacements[13] == pytest.approx(2000 * 1.025**12)
    assert np.count_nonzero(found.replacements) == 1


def test_residual_of_a_replacement_stands_in_the_last_year_at_its_price():
    found = upkeep([returning("battery", cost=1000.0, every=4, residual="30%", rise="-5%")], 0.02, 10)
    assert found.residual == pytest.approx(in_year(300 * 0.95**9, 10, 10))


def test_what_was_never_replaced_leaves_nothing():
    assert not upkeep([returning("battery", every=10, residual="30%")], 0.02, 10).residual.any()


def test_no_lines_cost_nothing():
    found = upkeep([], 0.02, 5)
    assert [row.tolist() for row in vars(found).values()] == [[0.0] * 6] * 4


def test_columns_of_cost_and_inflation_equal_case_by_case():
    costs, inflations = np.array([[100.0], [300.0]]), np.array([[0.0], [0.04]])
    plain = returning("battery", every=2, residual="10%")
    together = upkeep([plain.model_copy(update={"cost": costs}), returning("insurance")], inflations, 5)
    for case in range(2):
        own = plain.model_copy(update={"cost": costs[case, 0]})
        single = upkeep([own, returning("insurance")], inflations[case, 0], 5)
        for name, row in vars(single).items():
            whole = np.broadcast_to(getattr(together, name), (2, 6))
            assert np.array_equal(whole[case], row), name
