"""Cost lines and costs that come back, against sums done by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finsolar.money.costs import (
    Sizes,
    covered_in,
    due_in,
    due_years,
    first_replacement,
    in_year,
    left_at_age,
    priced,
    sold_again,
    total,
    upkeep,
)
from finsolar.scenario.schema import SERVICES, CostLine, Purchase, UpkeepLine


def line(category="modules", **fields):
    """A cost line of 1,000 unless it has another price."""
    price = {} if {"cost", "each", "per_kw", "per_kwh", "per_hour"} & set(fields) else {"cost": 1000.0}
    return CostLine.model_validate({"item": "A line", "category": category} | price | fields)


def one(cost_line, **purchase):
    """A cost line worked out."""
    return priced([cost_line], Purchase.model_validate(purchase), Sizes(), 25)[0]


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
    assert total(priced([line("labour"), line()], drawn, Sizes(), 25)).tolist() == [2000.0, 2200.0]


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
    lines = priced([line(), line("labour", cost=500.0)], Purchase.model_validate({"sales_tax": "10%"}), Sizes(), 25)
    assert total(lines) == pytest.approx(1600.0)
    assert total([]) == 0.0


def test_a_drawn_price_and_a_drawn_tax_make_one_total_a_case():
    drawn = line().model_copy(update={"cost": np.array([[100.0], [200.0]])})
    found = priced([drawn, line()], Purchase().model_copy(update={"sales_tax": np.array([[0.0], [0.5]])}), Sizes(), 25)
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
        ({"every": 10, "category": "roof"}, 20, [10]),
        ({"in_years": [20, 7], "category": "roof"}, 20, [7]),
        ({"category": "removal"}, 20, [20]),
        ({"life": 13, "category": "inverter"}, 27, [13, 26]),
        ({"life": 13, "category": "inverter"}, 26, [13]),
        (
            {"life": 6.4, "category": "battery"},
            20,
            [7, 13],
        ),  # 6.4, 12.8 and 19.2, of which the last would serve no year
        ({"life": 0.1 * 3 * 10, "category": "generator"}, 10, [3, 6, 9]),  # 3.0000000000000004 is three years
        ({"life": 1, "category": "modules"}, 4, [1, 2, 3]),
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
    assert [row.tolist() for row in vars(found).values()] == [[0.0] * 6] * 5


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


def test_a_price_may_go_by_modules_battery_or_hours():
    sizes = Sizes(kw=6.4, kwh=13.5)
    lines = [line(per_kw=95.0), line("battery", per_kwh=310.0), line("labour", per_hour=65.0, hours=18.0)]
    found = priced(lines, Purchase.model_validate({"sales_tax": "10%"}), sizes, 25)
    assert [float(one.price) for one in found] == pytest.approx([608.0, 4185.0, 1170.0])
    assert [float(one.sales_tax) for one in found] == pytest.approx([60.8, 418.5, 0.0])


def test_a_drawn_price_an_hour_and_drawn_hours_go_case_by_case():
    drawn = line("labour", per_hour=65.0, hours=18.0)
    drawn = drawn.model_copy(update={"per_hour": np.array([[50.0], [60.0]]), "hours": np.array([[10.0], [30.0]])})
    assert priced([drawn], Purchase(), Sizes(), 25)[0].price.tolist() == [500.0, 1800.0]


def test_a_risk_counts_with_what_is_to_be_expected_of_it_in_every_part():
    """A fifth of 650 is 130; 10 % tax on it is 13; 5 % of both is 7.15; a tenth of the price is left."""
    found = one(line("other", cost=650.0, chance="20%", residual="10%"), sales_tax="10%", contingency="5%")
    assert (float(found.chance), float(found.full_price)) == (0.2, 650.0)
    assert float(found.price) == pytest.approx(130.0)
    assert float(found.sales_tax) == pytest.approx(13.0)
    assert float(found.contingency) == pytest.approx(7.15)
    assert float(found.total) == pytest.approx(150.15)
    assert float(found.residual) == pytest.approx(13.0)
    assert one(line()).chance == 1.0 and one(line(chance=0.0)).total == 0.0


def test_an_allowance_by_category_beats_the_common_one_and_is_beaten_by_the_lines_own():
    shares = {"contingency": "5%", "contingency_by": {"labour": "10%", "roof": "0%"}}
    lines = [line(), line("labour"), line("roof"), line("labour", contingency="2%")]
    found = priced(lines, Purchase.model_validate(shares), Sizes(), 25)
    assert [float(one.contingency) for one in found] == pytest.approx([50.0, 100.0, 0.0, 20.0])


def test_a_tool_that_is_sold_again_brings_money_of_the_year_in_which_it_is():
    """60 % of 500 at the end of year 1 is 300; half of 200 in year 3, at prices 4 % up twice, is 108.16."""
    lines = [line("tools", cost=500.0, resold="60%"), line("tools", cost=200.0, resold="50%", resold_in=3)]
    found = priced(lines, Purchase.model_validate({"sales_tax": "10%"}), Sizes(), 4)
    assert sold_again(found, 0.04, 4) == pytest.approx(np.array([0, 300, 0, 108.16, 0]))
    assert sold_again(found, 0.04, 3) == pytest.approx(np.array([0, 300, 0, 108.16]))
    assert sold_again(found, 0.04, 2) == pytest.approx(np.array([0, 300, 0]))  # beyond the study nothing comes back
    assert sold_again([], 0.04, 2).tolist() == [0, 0, 0]
    assert all(one.residual == 0 for one in found)


def test_of_a_risk_only_the_expected_part_is_sold_again():
    found = priced([line("tools", cost=500.0, resold="60%", chance="50%")], Purchase(), Sizes(), 4)
    assert sold_again(found, 0.0, 1) == pytest.approx(np.array([0, 150]))


BY_AGE = {5: "50%", 15: "20%", 25: "0%"}


@pytest.mark.parametrize(
    ("age", "left"),
    [(0, 1), (1, 0.9), (2.5, 0.75), (5, 0.5), (10, 0.35), (15, 0.2), (20, 0.1), (25, 0), (40, 0)],
)
def test_what_is_left_by_age_lies_on_straight_lines(age, left):
    assert left_at_age(line(residual_by_age=BY_AGE), age) == pytest.approx(left)
    shuffled = {25: "0%", 5: "50%", 15: "20%"}
    assert left_at_age(line(residual_by_age=shuffled), age) == pytest.approx(left)


def test_the_last_share_holds_on_and_one_share_holds_at_any_age():
    assert left_at_age(line(residual_by_age={2: "30%"}), 30) == pytest.approx(0.3)
    assert left_at_age(line(residual="12%"), 3) == left_at_age(line(residual="12%"), 30) == pytest.approx(0.12)


@settings(deadline=None)
@given(st.lists(st.integers(0, 100), min_size=1, max_size=4), st.floats(0, 60), st.floats(0, 60))
def test_what_is_left_never_rises_with_age(shares, age, later):
    by_age = {7 * (k + 1): f"{share}%" for k, share in enumerate(sorted(shares, reverse=True))}
    young, old = (float(left_at_age(line(residual_by_age=by_age), one)) for one in sorted((age, later)))
    assert 0 <= old <= young <= 1


def test_the_first_equipment_is_as_old_at_the_end_as_the_study_is_long():
    whole = {"residual_by_age": BY_AGE}
    assert priced([line(**whole)], Purchase(), Sizes(), 10)[0].residual == pytest.approx(350.0)
    assert priced([line(**whole)], Purchase(), Sizes(), 25)[0].residual == 0.0


def test_a_replacement_is_as_old_as_the_years_since_the_latest_one():
    """Renewed in years 4 and 8 of 10, so two years old: 80 % is left of 1,000, at prices 2 % up nine times."""
    found = upkeep([returning("battery", cost=1000.0, every=4, residual_by_age=BY_AGE)], 0.02, 10)
    assert found.residual == pytest.approx(in_year(800 * 1.02**9, 10, 10))
    assert not upkeep([returning("battery", every=10, residual_by_age=BY_AGE)], 0.02, 10).residual.any()


def test_drawn_shares_by_age_go_case_by_case():
    drawn = line(residual_by_age={4: "50%", 8: "0%"})
    drawn = drawn.model_copy(update={"residual_by_age": {4: np.array([[0.5], [0.9]]), 8: np.array([[0.0], [0.3]])}})
    assert left_at_age(drawn, 6) == pytest.approx(np.array([0.25, 0.6]))
    assert left_at_age(drawn, np.array([2.0, 8.0])) == pytest.approx(np.array([0.75, 0.3]))


def test_drawn_lives_end_in_years_of_their_own():
    """2.5, 5, 7.5 and 10 years, of which the last serves nothing; 4 and 8; 12 is beyond."""
    drawn = returning("inverter", life=4, cost=10.0).model_copy(update={"life": np.array([[2.5], [4.0], [12.0]])})
    due = due_in(drawn, 10)
    assert [list(np.flatnonzero(case) + 1) for case in due] == [[3, 5, 8], [4, 8], []]
    first = first_replacement([drawn, returning("roof", every=2)], 10, (False,))  # a roof is no equipment
    assert first[:2].tolist() == [3.0, 4.0] and np.isnan(first[2])
    with pytest.raises(ValueError, match="from case to case"):
        due_years(drawn, 10)
    together = upkeep([drawn.model_copy(update={"residual_by_age": {5: 0.5}})], 0.02, 10)
    for case, life in enumerate((2.5, 4.0, 12.0)):
        alone = upkeep([returning("inverter", life=life, cost=10.0, residual_by_age={5: "50%"})], 0.02, 10)
        for name, row in vars(alone).items():
            assert np.array_equal(np.broadcast_to(getattr(together, name), (3, 11))[case], row), name


@settings(deadline=None)
@given(st.floats(1, 30), st.integers(1, 40))
def test_lives_follow_one_another_and_none_is_renewed_at_the_very_end(life, years):
    due = due_years(returning("inverter", life=life), years)
    assert len(due) in {int((years - 1) / life + slack) for slack in (0.0, 1e-8)}
    assert all(-1e-8 <= year - n * life < 1 + 1e-8 for n, year in enumerate(due, 1))
    assert due == sorted(set(due)) and all(year < years for year in due)


def covered_years(upkeep_line, years):
    """The years in which its parts are free."""
    return [int(k) + 1 for k in np.flatnonzero(covered_in(upkeep_line, due_in(upkeep_line, years)))]


@pytest.mark.parametrize(
    ("fields", "years", "due", "free"),
    [
        # Paid in year 15 for the first time, which is when a new warranty begins.
        ({"every": 5, "warranty_years": 12}, 36, [5, 10, 15, 20, 25, 30, 35], [5, 10, 20, 25, 35]),
        ({"every": 5, "warranty_years": 5}, 21, [5, 10, 15, 20], [5, 15]),
        ({"every": 5, "warranty_years": 4}, 21, [5, 10, 15, 20], []),
        ({"in_years": [3, 4, 12, 13], "warranty_years": 10}, 20, [3, 4, 12, 13], [3, 4, 13]),
        ({"every": 6, "first": 2, "warranty_years": 6}, 21, [2, 8, 14, 20], [2, 14]),
        # It fails at 3.4, 6.8, 10.2, 13.6 and 17 years; the one that is paid for at 10.2 is 6.8 years old at 17.
        ({"life": 3.4, "warranty_years": 7}, 20, [4, 7, 11, 14, 17], [4, 7, 14, 17]),
        # Its age is that of the unit, not of the years in which it is renewed: 3.4 is more than 3, 7 - 4 is not.
        ({"life": 3.4, "warranty_years": 3}, 12, [4, 7, 11], []),
        ({"life": 10, "warranty_years": 10}, 31, [10, 20, 30], [10, 30]),
    ],
)
def test_a_warranty_pays_for_parts_and_begins_anew_with_what_is_paid(fields, years, due, free):
    told = returning("inverter", **fields)
    assert due_years(told, years) == due
    assert covered_years(told, years) == free


def test_without_a_warranty_nothing_is_free():
    assert covered_years(returning("inverter", every=2), 9) == []


def test_a_covered_renewal_costs_its_labour_alone():
    """Renewed in years 2 and 4; the first is covered, so the second is the first to be paid for."""
    told = returning("inverter", cost=1000.0, labour=350.0, every=2, warranty_years=3, rise="-10%", residual="10%")
    found = upkeep([told], 0.02, 6)
    assert found.replacements == pytest.approx(np.array([0, 0, 350 * 1.02, 0, 1000 * 0.9**3 + 350 * 1.02**3, 0, 0]))
    assert found.residual == pytest.approx(in_year(100 * 0.9**5, 6, 6))  # of the price of the parts alone


def test_labour_goes_with_its_line_and_rises_with_inflation_whatever_the_line_says():
    lines = [
        returning("upkeep", cost=1.0, labour=10.0, rise={"path": ["50%", "-20%"]}),
        returning("insurance", cost=2.0, labour=20.0, rise="0%"),
        returning("roof", cost=4.0, labour=40.0, in_years=[2], rise="0%"),
        returning("removal", cost=8.0, labour=80.0, rise="10%"),
    ]
    found = upkeep(lines, 0.05, 3)
    assert found.upkeep == pytest.approx(np.array([0, 1 + 10, 1.5 + 10 * 1.05, 1.2 + 10 * 1.05**2]))
    assert found.insurance == pytest.approx(np.array([0, 2 + 20, 2 + 20 * 1.05, 2 + 20 * 1.05**2]))
    assert found.replacements == pytest.approx(np.array([0, 0, 4 + 40 * 1.05, 0]))
    assert found.removal == pytest.approx(np.array([0, 0, 0, 8 * 1.1**2 + 80 * 1.05**2]))


def test_a_price_may_fall_by_a_path():
    """A battery that gets 8 % cheaper from year to year, later 4 %."""
    told = returning("battery", cost=1000.0, in_years=[4, 6], rise={"path": ["-8%", "-8%", "-8%", "-4%"]})
    found = upkeep([told], 0.03, 8)
    assert found.replacements == pytest.approx(
        np.array([0, 0, 0, 0, 1000 * 0.92**3, 0, 1000 * 0.92**3 * 0.96**2, 0, 0])
    )
