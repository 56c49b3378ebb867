"""The study as plain values: strict JSON, stable keys, and no null without a reason."""

import json
import math

import numpy as np
import pytest
import small_house

import finsolar
from finsolar.report.plain import value, values
from finsolar.scenario.reading import from_text

HOUSE = """
title: Alder Court
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2025-06-01, years: 6, discount_rate: 5%, inflation: {low: 1%, likely: 2%, high: 4%}}
household:
  income_tax: 700
  owner_occupied: true
  load: {monthly_kwh: [980, 890, 760, 650, 640, 700, 820, 810, 690, 640, 720, 930], shape: evening}
weather: greensboro
tariff:
  monthly_charge: 12
  energy: [{name: peak, price: 0.3, hours: 16-20}, {name: rest, price: 0.12}]
  export: {scheme: net billing, price: 0.04}
  rise: {low: 1%, likely: 3%, high: 5%}
system: {arrays: [{kw: 5, tilt: 30, azimuth: 180}], inverter: {kw: 5}, battery: {kwh: 8, kw: 4}}
purchase: {sales_tax: 6%, contingency: 3%}
costs:
  - {item: Modules, category: modules, cost: 2500}
  - {item: Battery, category: battery, cost: 3000}
upkeep: [{item: New inverter, category: inverter, cost: 900, every: 4}]
rebates: [{item: Town rebate, amount: 300}]
alternatives:
  - {name: Own labour, own_hours: 60}
  - name: Firm
    costs: [{item: Installation, category: labour, cost: 4000}]
  - name: Firm on a loan
    like: Firm
    payment: {loan: {rate: 6%, years: 5, fee: 1%}}
  - name: Firm with a twin
    like: Firm
  - name: Given away
    without: [Modules, Battery]
    costs: [{item: A lamp, category: other, cost: 1}]
    rebates: [{item: Prize, amount: 9000}]
"""

CABIN = """
title: Far Cabin
place: {country: US, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-09-01, years: 4, real_discount_rate: 3%}
household: {load: {monthly_kwh: [90, 80, 80, 70, 70, 70, 80, 80, 70, 70, 80, 90], shape: cabin}}
weather: greensboro
tariff: {energy: 0.2, rise: 0%}
system:
  arrays: [{kw: 3, tilt: 40, azimuth: 180}]
  inverter: {kw: 3}
  battery: {kwh: 10, kw: 4}
  operation: off grid
costs: [{item: Modules, category: modules, cost: 4000}]
alternatives: [{name: Sun alone}, {name: With a generator, generator: {kw: 3, fuel_price: 1.5, rise: 2%}}]
"""

ALTERNATIVE = {
    "name", "in_service", "installation_completed", "own_hours", "costs", "upkeep", "incentives", "slip", "energy",
    "array_kw", "battery_kwh", "bills", "cash_flow", "loan", "battery_warranty", "bound", "metrics", "reasons",
    "day_one", "outage", "off_grid", "line",
}  # fmt: skip
ENERGY = {
    "load", "solar", "self_used", "charge", "charge_bought", "discharge", "battery_loss", "idle", "curtailed",
    "clipped", "unserved", "generator", "generator_hours", "imported", "exported", "fuel_litres",
    "first_year_by_month", "load_from_sun", "useful", "average_days", "weeks",
}  # fmt: skip
METRICS = {
    "npv", "annual_value", "real_annual_value", "simple_payback", "simple_payback_lasting", "real_simple_payback",
    "real_simple_payback_lasting", "discounted_payback", "discounted_payback_lasting", "irr", "real_irr", "irrs",
    "sign_changes", "mirr", "real_mirr", "sir", "airr", "real_airr", "lcoe", "real_lcoe", "lcoe_solar",
    "real_lcoe_solar", "backup_cost",
}  # fmt: skip
LOAN = {
    "principal": None, "fee": None, "dealer_fee": None, "amount_financed": None, "missing": None,
    "monthly_payment": None, "total_interest": None, "finance_charge": None, "months": None, "apr": None,
    "effective_rate": None, "steps": None, "paid_in": None, "paid_in_all": None, "excess": None, "tax_saved": None,
    "presumed": None, "paydown_month": None,
    "schedule": {"payment", "interest", "principal", "paydown", "balance"}, "not_paid_in": None,
    "by_year": {"payment", "interest", "principal", "paydown", "balance"}, "available": None, "payments": None,
    "coverage": {
        "by_year", "minimum", "average", "average_without_awards", "years_short", "least_left", "left_over_term",
    },
    "first_year": {"first_month", "saving", "payment", "left", "months_short", "bridge"},
    "out_of_pocket": {"in_years", "years", "first", "last", "total", "most"},
    "outlasting": {"after_replacement", "after_warranty"},
    "reasons": None,
}  # fmt: skip
LINES = {
    "capital", "rebates", "awards", "saving, fixed charge", "saving, energy", "saving, export credit",
    "upkeep avoided", "upkeep", "insurance", "replacements", "investment avoided", "left at the end",
}  # fmt: skip


@pytest.fixture(scope="module")
def house():
    """A house on the grid with five ways to go."""
    return finsolar.study(from_text(HOUSE)).to_json()


@pytest.fixture(scope="module")
def cabin():
    """A house that leaves the grid, with and without a generator."""
    return finsolar.study(from_text(CABIN)).to_json()


@pytest.fixture(params=["house", "cabin"])
def plain(request):
    """Either of them."""
    return request.getfixturevalue(request.param)


def walk(node, path=()):
    """Every value in a tree with the way to it."""
    if isinstance(node, dict):
        for key, child in node.items():
            yield from walk(child, (*path, key))
    elif isinstance(node, list):
        for i, child in enumerate(node):
            yield from walk(child, (*path, i))
    else:
        yield path, node


def test_strict_json_comes_back_as_it_went(plain):
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain


def test_values_are_plain(plain):
    kinds = {type(found) for _, found in walk(plain)}
    assert kinds <= {str, int, float, bool, type(None)}


def test_top_level_keys(plain):
    assert set(plain) == {
        "schema", "scenario", "settings", "notes", "stated", "assumptions", "sources", "stay", "alternatives",
        "comparison", "sensitivity", "sunlight", "tariffs", "drawer", "break_even", "uncertainty",
        "what_matters", "other_numbers", "map", "outages",
    }  # fmt: skip
    assert plain["schema"] == "finsolar-study/1"
    assert set(plain["settings"]) == {"currency", "years", "discount_rate", "inflation"}
    assert set(plain["stay"]) == {"energy", "bill", "other_costs"}
    assert set(plain["stay"]["other_costs"]) == {"investment", "upkeep"}
    assert {len(row) for row in plain["stay"]["other_costs"].values()} == {plain["settings"]["years"] + 1}
    assert set(plain["comparison"]) == {
        "pairs", "ranking", "orders_agree", "ranking_reason", "own_labour", "own_work",
    }  # fmt: skip
    of_assumption = {"id", "field", "words", "value", "why", "places", "source"}
    assert all(set(one) == of_assumption for one in plain["assumptions"])
    of_statement = {"id", "field", "words", "whose", "value", "used", "range", "line", "source"}
    assert all(set(one) == of_statement for one in plain["stated"])
    assert all(set(one) == {"of", "told"} for one in plain["sources"])


def test_alternative_keys(plain):
    for one in plain["alternatives"]:
        assert set(one) == ALTERNATIVE
        assert set(one["metrics"]) == METRICS
        assert set(one["energy"]) == ENERGY | {"battery_capacity", "battery_cycles", "battery_renewed_after"}
        assert set(one["costs"]) == {
            "lines", "gross", "eligible", "rebates", "rebate_lines", "awards", "yearly_awards", "net", "sold_again",
        }  # fmt: skip
        assert set(one["bills"]) == {"before", "after", "first_year_saving"}
        assert set(one["cash_flow"]) == {
            "year", "lines", "net", "before_loan", "running_total", "discounted", "discounted_running_total",
        }  # fmt: skip
        for line in one["costs"]["lines"]:
            assert set(line) == {
                "item", "category", "chance", "full_price", "price", "sales_tax", "contingency", "total",
            }  # fmt: skip
        for line in one["upkeep"]:
            assert set(line) == {"item", "category", "cost", "labour", "due", "warranty_years", "covered"}
        for award in one["incentives"]:
            assert set(award) == {
                "rule", "title", "kind", "status", "upfront", "amounts", "tax", "worth", "basis", "potential", "ledger",
                "lines", "reasons", "reference", "checked_on", "known",
            }  # fmt: skip
            assert all(set(step) == {"step", "amount", "unit"} for step in award["ledger"])
        slip = one["slip"]
        assert set(slip) == {"days", "cliffs", "next"}
        assert slip["next"] is None or slip["next"] in slip["cliffs"]
        for day in slip["days"]:
            assert set(day) == {"in_service", "total", "by_rule"}
            assert set(day["by_rule"]) == {award["rule"] for award in one["incentives"]}
        for cliff in slip["cliffs"]:
            assert set(cliff) == {
                "in_service", "rule", "title", "event", "event_day", "known", "before", "after", "total_before",
                "total_after",
            }  # fmt: skip


def test_comparison_keys(house):
    for pair in house["comparison"]["pairs"]:
        assert set(pair) == {
            "dearer", "cheaper", "extra_outlay", "extra_saving_first_year", "extra_saving", "extra_npv", "irr", "irrs",
            "simple_payback", "discounted_payback", "reasons",
        }  # fmt: skip
    for place in house["comparison"]["ranking"]:
        assert set(place) == {"name", "stay", "npv", "by_npv", "simple_payback", "by_payback", "reasons"}
        assert {name for name, found in place.items() if found is None} == set(place["reasons"])
    assert [place["name"] for place in house["comparison"]["ranking"] if place["stay"]] == ["stay as you are"]
    [labour] = house["comparison"]["own_labour"]
    unsaid = {"worth_per_hour", "worth", "npv_less_worth", "pays"}
    assert set(labour) == {"name", "against", "hours", "saved", "per_hour", "npv_per_hour", "reasons"} | unsaid
    assert {name for name, found in labour.items() if found is None} == set(labour["reasons"]) == unsaid
    assert labour["against"] == "Given away"


def test_the_worth_of_own_hours_is_told_with_and_without_somebody_to_compare_with(house):
    """60 hours at 25 are 1,500: no cash, so the net is the same, and the NPV less that is told beside it."""
    worth = "{name: Own labour, own_hours: 60, own_hour_worth: 25}"
    found = finsolar.study(from_text(HOUSE.replace("{name: Own labour, own_hours: 60}", worth))).to_json()
    own, before = found["alternatives"][0], house["alternatives"][0]
    [labour], [work] = found["comparison"]["own_labour"], found["comparison"]["own_work"]

    assert (own["cash_flow"], own["metrics"]) == (before["cash_flow"], before["metrics"])
    assert work == {
        "name": "Own labour", "hours": 60.0, "worth_per_hour": 25.0, "worth": 1500.0,
        "npv_less_worth": pytest.approx(own["metrics"]["npv"] - 1500),
    }  # fmt: skip
    assert {name: labour[name] for name in work if name in labour and name != "name"} == {
        name: work[name] for name in work if name != "name"
    }
    assert labour["pays"] == (labour["per_hour"] >= 25) and labour["reasons"] == {}
    alone = {"alternatives": [{"name": "Roof", "own_hours": 40, "own_hour_worth": 30}], "study": {"years": 2}}
    comparison = finsolar.study(small_house.house(alone)).to_json()["comparison"]
    assert comparison["own_labour"] == []
    assert [(each["name"], each["worth"]) for each in comparison["own_work"]] == [("Roof", 1200.0)]


def test_upkeep_names_the_years_in_which_it_falls_due(house):
    for one in house["alternatives"]:
        line = {"item": "New inverter", "category": "inverter", "cost": 900.0, "labour": 0.0, "due": [4]}
        assert one["upkeep"] == [line | {"warranty_years": None, "covered": []}]
        paid = one["cash_flow"]["lines"]["replacements"]
        assert [year for year, cost in enumerate(paid) if cost] == [4]


def test_cash_flow_has_the_lines_of_its_kind(house):
    by_name = {one["name"]: set(one["cash_flow"]["lines"]) for one in house["alternatives"]}
    assert by_name["Firm"] == LINES
    assert by_name["Firm on a loan"] == LINES | {"loan received", "loan fee", "loan payments"}


def test_energy_has_a_number_for_each_year_and_each_month(plain):
    years = plain["settings"]["years"]
    for energy in [plain["stay"]["energy"], *(one["energy"] for one in plain["alternatives"])]:
        months = energy["first_year_by_month"]
        assert set(months) == {"load", "load_from_sun", "solar", "imported", "exported", "generator", "unserved"}
        for name, numbers in energy.items():
            if name not in {"first_year_by_month", "battery_renewed_after", "average_days", "weeks"}:
                assert len(numbers) == years, name
        for name, numbers in months.items():
            assert len(numbers) == 12
            assert sum(numbers) == pytest.approx(energy[name][0]), name


def test_energy_of_a_year_balances(plain):
    for one in plain["alternatives"]:
        energy = one["energy"]
        for year in range(plain["settings"]["years"]):
            solar, sent = energy["solar"][year], energy["exported"][year] + energy["curtailed"][year]
            assert energy["self_used"][year] + sent == pytest.approx(solar)
            sources = sum(energy[name][year] for name in ("solar", "imported", "generator", "discharge", "unserved"))
            uses = sum(energy[name][year] for name in ("load", "idle", "charge"))
            assert sources == pytest.approx(uses + sent)


def test_load_of_a_month_comes_from_somewhere(plain):
    for energy in [plain["stay"]["energy"], *(one["energy"] for one in plain["alternatives"])]:
        months, from_sun = energy["first_year_by_month"], 0
        for month in range(12):
            others = sum(months[name][month] for name in ("imported", "generator", "unserved"))
            sun = months["load_from_sun"][month]
            assert sun >= 0
            if sun > 1e-9:
                from_sun += 1
                assert sun + others == pytest.approx(months["load"][month])
        assert from_sun == (12 if energy["solar"][0] > 0 else 0)


def test_lines_of_the_cash_flow_add_up_to_the_net_exactly(plain):
    for one in plain["alternatives"]:
        flow = one["cash_flow"]
        assert flow["year"] == list(range(plain["settings"]["years"] + 1))
        for year in flow["year"]:
            assert sum(line[year] for line in flow["lines"].values()) == flow["net"][year]
            assert sum(flow["net"][: year + 1]) == pytest.approx(flow["running_total"][year], abs=1e-9)
            assert flow["discounted"][year] == pytest.approx(
                flow["net"][year] / (1 + plain["settings"]["discount_rate"]) ** year
            )
        assert flow["discounted_running_total"][-1] == pytest.approx(one["metrics"]["npv"], abs=1e-8)


def test_before_the_loan_is_the_net_without_its_lines(plain):
    for one in plain["alternatives"]:
        flow = one["cash_flow"]
        loan = [line for name, line in flow["lines"].items() if name.startswith("loan ")]
        for year, net in enumerate(flow["net"]):
            assert flow["before_loan"][year] == pytest.approx(net - sum(line[year] for line in loan), abs=1e-9)
        assert (flow["before_loan"] != flow["net"]) == (one["loan"] is not None)


def test_a_study_of_many_cases_has_no_plain_values():
    scenario = from_text(CABIN)
    batch = finsolar.study(scenario, {"study.inflation": np.array([[0.02], [0.03]])})
    with pytest.raises(ValueError, match="many cases"):
        batch.to_json()
    assert finsolar.study(scenario, {"study.inflation": 0.03}).to_json()["settings"]["inflation"] == 0.03


def test_bills_add_up_by_component_month_and_year(plain):
    years = plain["settings"]["years"]
    for one in plain["alternatives"]:
        for bill in one["bills"]["before"], one["bills"]["after"]:
            assert len(bill["total_by_year"]) == years
            assert set(bill["by_year"]) == set(bill["first_year_by_month"])
            for year, whole in enumerate(bill["total_by_year"]):
                parts = [numbers[year] for numbers in bill["by_year"].values()]
                assert sum(parts) == pytest.approx(whole, abs=1e-9)
            assert len(bill["first_year_total_by_month"]) == 12
            assert sum(bill["first_year_total_by_month"]) == pytest.approx(bill["total_by_year"][0], abs=1e-9)
        before, after = (one["bills"][side]["total_by_year"][0] for side in ("before", "after"))
        assert one["bills"]["first_year_saving"] == pytest.approx(before - after)


def test_costs_add_up(plain):
    for one in plain["alternatives"]:
        costs = one["costs"]
        for line in costs["lines"]:
            assert line["total"] == pytest.approx(line["price"] + line["sales_tax"] + line["contingency"])
        assert costs["gross"] == pytest.approx(sum(line["total"] for line in costs["lines"]))
        for key, upfront in ("awards", True), ("yearly_awards", False):
            received = [sum(award["amounts"]) for award in one["incentives"] if award["upfront"] == upfront]
            assert costs[key] == pytest.approx(sum(received))
        assert costs["net"] == pytest.approx(costs["gross"] - costs["rebates"] - costs["awards"])
        assert one["cash_flow"]["lines"]["capital"][0] == -costs["gross"]


def test_each_figure_that_does_not_exist_has_its_reason(plain):
    missing = set()
    for one in plain["alternatives"]:
        none = {name for name, found in one["metrics"].items() if found is None}
        assert none == set(one["reasons"]), one["name"]
        assert all(len(reason) > 20 for reason in one["reasons"].values())
        missing |= none
    assert missing, "a study that shows no null proves nothing here"


def test_each_figure_of_a_pair_that_does_not_exist_has_its_reason(house):
    missing = set()
    for pair in house["comparison"]["pairs"]:
        none = {name for name, found in pair.items() if found is None}
        assert none == set(pair["reasons"]), (pair["dearer"], pair["cheaper"])
        missing |= none
    assert "irr" in missing


NOT_ASKED_FOR = {
    ("sunlight",), ("drawer",), ("break_even",), ("uncertainty",), ("what_matters",), ("other_numbers",), ("map",),
    ("outages",),
}  # fmt: skip


def test_null_stands_nowhere_else(plain):
    for path, found in walk(plain):
        if found is None:
            # No loan, no warranty stated, no cliff ahead; no bound, outage, turning points, sunlight, bills asked for.
            plans = {"metrics", "loan", "battery_warranty", "bound", "outage", "off_grid", "line"}
            of_a_plan = path[0] == "alternatives" and path[2] in plans
            not_stated = path[2:] == ("slip", "next") or path[-1] == "warranty_years"
            assert of_a_plan or not_stated or path[0] == "comparison" or path in NOT_ASKED_FOR, path


def test_a_battery_tells_when_its_warranty_ends_and_when_it_was_renewed():
    """By hand: five years of age; a straight line of 8 % a year is below 70 % after four years, and after four more."""
    battery = {"fade": "8%", "warranty": {"years": 5}}
    upkeep = [{"item": "New battery", "category": "battery", "cost": 900, "below": "70%"}]
    changes = {"study": {"years": 9}, "system": {"operation": "backup only", "battery": battery}, "upkeep": upkeep}
    [roof] = finsolar.study(small_house.house(changes)).to_json()["alternatives"]

    assert roof["battery_warranty"] == {"years": 5.0, "ended_by": "age"}
    assert roof["energy"]["battery_renewed_after"] == [4, 8]
    assert roof["energy"]["battery_capacity"] == pytest.approx([8 * (1 - 0.08 * (k % 4)) for k in range(9)])
    assert roof["energy"]["battery_cycles"] == pytest.approx([0.0] * 9)


def test_past_bills_are_kept_line_by_line_and_nothing_billed_has_no_error():
    """By hand: 12 a month and 0.12 x 500 off the peak; lines and bills add up."""
    past = {"first_day": "2025-04-01", "last_day": "2025-04-30", "kwh": 500, "amount": 75.25}
    own = {"monthly_charge": 12, "energy": 0.12}
    changes = {"study": {"years": 2}, "tariff": own, "household": {"past_bills": [past]}}
    found = finsolar.study(small_house.house(changes)).to_json()["drawer"]

    [bill] = found["bills"]
    assert bill["lines"] == [{"name": "fixed charge", "amount": 12.0}, {"name": "energy, all hours", "amount": 60.0}]
    assert (bill["first_day"], bill["last_day"], bill["days"], bill["kwh"]) == ("2025-04-01", "2025-04-30", 30, 500.0)
    assert (bill["billed"], bill["computed"], bill["difference"], bill["by_meter"]) == (75.25, 72.0, -3.25, False)
    assert (found["billed"], found["computed"]) == (75.25, 72.0)
    assert found["error"] == pytest.approx(-3.25 / 75.25)
    assert found["verdict"][0].startswith("Off by")
    free = changes | {"household": {"past_bills": [past | {"amount": 0}]}}
    assert finsolar.study(small_house.house(free)).to_json()["drawer"]["error"] is None


def test_no_loan_is_null_and_a_loan_says_what_it_comes_to(house):
    loans = {one["name"]: one["loan"] for one in house["alternatives"]}
    assert loans["Firm"] is None
    loan = loans["Firm on a loan"]
    assert set(loan) == set(LOAN)
    for part, keys in LOAN.items():
        assert keys is None or set(loan[part]) == keys, part
    assert loan["payments"] == pytest.approx([0.0] + [12 * loan["monthly_payment"]] * 5 + [0.0])
    assert loan["available"][0] == 0 and len(loan["available"]) == 7
    assert loan["paid_in_all"] == pytest.approx(sum(loan["schedule"]["payment"]))
    assert loan["paid_in_all"] == pytest.approx(loan["amount_financed"] + loan["finance_charge"])


def test_each_figure_of_a_loan_that_does_not_exist_has_its_reason(house):
    """The lender is told no end of a warranty, and why."""
    [loan] = [one["loan"] for one in house["alternatives"] if one["loan"] is not None]
    assert loan.pop("not_paid_in") is None  # nothing is to be paid in
    none = {path[1] for path, found in walk(loan) if found is None}
    assert none == set(loan["reasons"]) == {"by_year", "after_warranty"}


def test_a_loan_says_what_becomes_of_it_if_nothing_is_paid_in():
    """By hand, at 0 %: 2,400 is 100 a month; 600 after half a year leaves 1,200 over 18 months."""
    loan = {"rate": 0, "years": 2, "paydown": {"amount": 600, "month": 6}}
    costs = [{"item": "All of it", "category": "other", "cost": 2400}]
    changes = {"costs": costs, "alternatives": [{"name": "Borrowed", "payment": {"loan": loan}}]}
    [plan] = finsolar.study(small_house.house(changes)).to_json()["alternatives"]
    found = plan["loan"]

    assert found["steps"] == [
        {"from_month": 1, "to_month": 6, "payment": pytest.approx(100)},
        {"from_month": 7, "to_month": 24, "payment": pytest.approx(1200 / 18)},
    ]
    assert found["not_paid_in"]["steps"] == [{"from_month": 1, "to_month": 24, "payment": pytest.approx(100)}]
    assert found["apr"] == pytest.approx(0, abs=1e-12)
    assert (found["paid_in"], found["excess"], found["months"]) == (600, 0, 24)
    assert sum(found["schedule"]["paydown"]) == 600 and found["schedule"]["balance"][5] == pytest.approx(1200)


def test_a_loan_is_looked_at_from_every_side_by_hand():
    """A house whose energy costs nothing: what there is to pay from is what the file says, so a pencil will do.

    2,400 over two years at 0 % is 100 a month. Year 1 pays upkeep of 50, year 2 that and a new inverter of 600, half of
    which is left at the end of year 3; staying would have paid 900 in year 2, of which 100 were left.
    """
    changes = {
        "study": {"years": 3, "inflation": 0},
        "tariff": {"energy": 0, "export": {"scheme": "none", "price": None}},
        "system": {"battery": {"warranty": {"years": 1}}},
        "costs": [{"item": "All of it", "category": "other", "cost": 2400, "residual": "25%"}],
        "upkeep": [
            {"item": "Rinsing", "category": "upkeep", "cost": 50},
            {"item": "New inverter", "category": "inverter", "cost": 600, "in_years": [2], "residual": "50%"},
        ],
        "stay": {
            "upkeep": [{"item": "Boiler", "category": "generator", "cost": 900, "in_years": [2], "residual": 1 / 9}]
        },
        "alternatives": [{"name": "Borrowed", "payment": {"loan": {"rate": 0, "years": 2}}}],
    }
    [plan] = finsolar.study(small_house.house(changes)).to_json()["alternatives"]
    loan = plan["loan"]

    assert loan["available"] == pytest.approx([0, -50, 250, -50], abs=1e-9)
    assert loan["payments"] == pytest.approx([0, 1200, 1200, 0])
    assert loan["coverage"]["by_year"] == [None, pytest.approx(-50 / 1200), pytest.approx(250 / 1200), None]
    assert loan["coverage"]["years_short"] == 2
    assert (loan["coverage"]["least_left"], loan["coverage"]["left_over_term"]) == (-1250, pytest.approx(-2200))
    assert loan["first_year"]["left"] == pytest.approx([-100] * 12)
    assert (loan["first_year"]["months_short"], loan["first_year"]["bridge"]) == (12, pytest.approx(1200))
    assert loan["out_of_pocket"] == {
        "in_years": [1, 2, 3], "years": 3, "first": 1, "last": 3, "total": pytest.approx(2250), "most": 1250,
    }  # fmt: skip
    assert loan["outlasting"] == {"after_replacement": 0.0, "after_warranty": 12.0}
    assert plan["cash_flow"]["lines"]["left at the end"][-1] == pytest.approx(600 + 300)


def test_scenario_is_kept_as_written_with_its_ranges(house):
    assert house["scenario"]["study"]["inflation"] == {"low": 0.01, "likely": 0.02, "high": 0.04}
    assert house["settings"]["inflation"] == 0.02


def test_a_path_of_rises_is_shown_as_a_list(house):
    path = "rise: {path: [3%, 5%, 1%]}"
    found = finsolar.study(from_text(HOUSE.replace("rise: {low: 1%, likely: 3%, high: 5%}", path))).to_json()
    assert found["scenario"]["tariff"]["rise"] == [0.03, 0.05, 0.01]
    assert set(found) == set(house)


def test_real_discount_rate_is_shown_as_the_nominal_one_used(cabin):
    assert cabin["settings"]["discount_rate"] == pytest.approx(1.03 * 1.025 - 1)


@pytest.mark.parametrize("nothing", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_null(nothing):
    assert value(nothing) is None
    assert values(np.array([1.5, nothing])) == [1.5, None]


def test_one_number_is_a_row_of_one():
    assert values(np.array(2.0)) == [2.0]
    assert value(np.float64(2.0)) == 2.0
