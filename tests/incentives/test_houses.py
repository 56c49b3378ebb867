"""Rules that meet in one house: what one leaves to the next, and one number for an award everywhere.

Houses, towns and prices are invented; money is worked out here by hand.
"""

import textwrap
from typing import Any

import numpy as np
import pytest

import finsolar
from finsolar.results import Study
from finsolar.scenario.reading import from_text

HOUSE = """
title: Two rules
place: {{country: US, region: {region}, latitude: 36.1, longitude: -79.95, timezone: America/New_York}}
study: {{in_service: {day}, years: 6, discount_rate: 5%}}
household:
  {household}
  owner_occupied: true
  main_home: true
  load: {{monthly_kwh: [600, 600, 600, 600, 600, 600, 600, 600, 600, 600, 600, 600], shape: evening}}
weather: greensboro
tariff: {{energy: 0.2, rise: 0%}}
system: {{arrays: [{{kw: 5, tilt: 30, azimuth: 180}}], inverter: {{kw: 5}}}}
"""
SAID = "because: So it is written., known: seen, reference: Town Code 1"
COUNTED = "[modules, inverter, racking, wiring, labour, permits, interconnection, shipping]"


def studied(text: str, region: str = "NC", day: str = "2026-06-01", household: str = "income_tax: 1500") -> Study:
    """Return the study of the house with `text` after it."""
    return finsolar.study(from_text(HOUSE.format(region=region, day=day, household=household) + text))


def own(rule_id: str, kind: str, parameter: str, value: str, *more: str) -> str:
    """Return a rule written out as one entry of `rules`, in force since 2020."""
    fields = [
        f"id: {rule_id}",
        f"title: {rule_id.capitalize()}",
        f"kind: {kind}",
        "currency: USD",
        "reference: Town Code 1",
        "checked_on: 2026-03-01",
        "event: in service",
        f"parameters: {{{parameter}: {{unit: as written, values: "
        f"{{2020-01-01: {{value: {value}, known: seen, reference: Town Code 1}}}}}}}}",
        *more,
    ]
    return "\n    ".join(fields)


def lines(categories: str) -> str:
    """Return the field `lines` of a rule that counts some categories."""
    return f"lines: [{{categories: {categories}, counted: true, {SAID}}}]"


CREDIT = (
    f"refundable: {{value: false, {SAID}}}",
    f"carry_forward: {{value: 0, {SAID}}}",
    f"against: {{value: income tax, {SAID}}}",
)


def award(study: Study, rule_id: str, alternative: int = 0) -> Any:
    """Return the award of a rule."""
    return next(one for one in study.results[alternative].awards if one.rule_id == rule_id)


def test_what_an_ended_credit_would_have_been_leaves_the_tax_to_others() -> None:
    """The federal credit ended with 2025: a town's credit of 20 % may use all 1,500 of the tax."""
    rule = own("valley/credit", "tax credit", "share", "20%", *CREDIT, lines("[modules]"))
    found = studied(f"costs: [{{item: Modules, category: modules, cost: 9000}}]\nrules:\n  - {rule}\n")

    assert award(found, "us/residential-clean-energy-credit").status == "refused"
    assert award(found, "valley/credit").amounts.tolist() == [0, 1_500, 0, 0, 0, 0, 0]


def test_what_was_paid_for_a_battery_leaves_the_basis_of_the_modules_alone() -> None:
    """Massachusetts takes the federal credit off: 5,000 of modules had 1,500 of it, the battery's 3,600 are its own.

    Source: M.G.L. c. 62 s. 6(d), 15 % of the cost net of the federal credit (seen:S): 15 % of 3,500 is 525.
    """
    text = """
costs: [{item: Modules, category: modules, cost: 5000}, {item: Battery, category: battery, cost: 12000}]
system: {arrays: [{kw: 5, tilt: 30, azimuth: 180}], inverter: {kw: 5}, battery: {kwh: 13, kw: 5}}
"""
    scenario = HOUSE.format(region="MA", day="2025-06-01", household="income_tax: 9000\n  state_income_tax: 2000")
    whole = scenario.replace("system: {arrays: [{kw: 5, tilt: 30, azimuth: 180}], inverter: {kw: 5}}\n", "")
    found = finsolar.study(from_text(whole + text))

    assert float(award(found, "us/residential-clean-energy-credit").potential) == pytest.approx(5_100)
    assert award(found, "us/ma/energy-credit").amounts.sum() == pytest.approx(525)


@pytest.mark.parametrize(("category", "basis"), [("category: battery, ", 9_000), ("", 8_000)], ids=["battery", "whole"])
def test_a_rebate_for_a_battery_lowers_no_credit_on_modules(category: str, basis: float) -> None:
    """A rebate that says what it is for lowers the basis of that alone; any other is for the whole."""
    rule = own("valley/credit", "tax credit", "share", "20%", *CREDIT, lines("[modules]"),
               f"lowered_by: {{value: [price reductions], {SAID}}}")  # fmt: skip
    found = studied(
        "costs: [{item: Modules, category: modules, cost: 9000}, {item: Battery, category: battery, cost: 4000}]\n"
        f"rebates: [{{item: Utility, {category}amount: 1000}}]\nrules:\n  - {rule}\n"
    )

    assert float(award(found, "valley/credit").basis) == basis


def test_an_award_ends_with_the_contract_and_is_one_number_everywhere() -> None:
    """A lease of three years, a payment of ten: what comes after the system is gone is counted nowhere."""
    rule = own(
        "valley/payment", "performance payment", "per_kwh", "0.05", f"paid_on: {{value: generation, {SAID}}}"
    ).replace(
        "reference: Town Code 1}}}}",
        "reference: Town Code 1}}}, term_years: {unit: years, values: "
        "{2020-01-01: {value: 10, known: seen, reference: Town Code 1}}}}",
    )
    found = studied(f"costs: []\npayment: {{lease: {{monthly: 20, years: 3}}}}\nrules:\n  - {rule}\n")
    paid = award(found, "valley/payment").amounts
    plan = found.to_json()["alternatives"][0]

    assert (paid[1:4] > 0).all() and not paid[4:].any()
    assert plan["cash_flow"]["lines"]["yearly awards"] == pytest.approx(paid.tolist())
    assert plan["costs"]["yearly_awards"] == pytest.approx(paid.sum())
    assert plan["bills"]["after"]["by_year"]["energy"][3:] == pytest.approx(
        plan["bills"]["before"]["by_year"]["energy"][3:]
    )


def test_tax_that_is_spared_is_neither_borrowed_nor_assessed() -> None:
    """9,000 and 20 % of tax, all of it spared: 9,000 are borrowed, and 1 % of 9,000 is the yearly property tax."""
    rule = own("valley/relief", "sales tax relief", "share_spared", "100%", lines("[modules]"))
    found = studied(
        "purchase: {sales_tax: 20%}\ncosts: [{item: Modules, category: modules, cost: 9000}]\n"
        f"payment: {{loan: {{rate: 5%, years: 5}}}}\nrules:\n  - {rule}\n",
        household="property_tax: {rate: 1%, added_value: 100%}",
    )
    [result] = found.results

    assert float(result.gross) == pytest.approx(10_800)
    assert float(result.net_cost) == pytest.approx(9_000)
    assert result.cash.lines["loan received"][0] == pytest.approx(9_000)
    assert result.cash.lines["property tax"][1:] == pytest.approx(np.full(6, -90.0))


def test_a_payment_for_export_waits_while_any_tariff_of_the_study_pays() -> None:
    """An export price of zero now and of 0.08 from year 3 on: nothing is paid twice."""
    rule = own(
        "valley/feed-in", "performance payment", "per_kwh", "0.05", f"paid_on: {{value: export, {SAID}}}"
    ).replace(
        "reference: Town Code 1}}}}",
        "reference: Town Code 1}}}, term_years: {unit: years, values: "
        "{2020-01-01: {value: 10, known: seen, reference: Town Code 1}}}}",
    )
    costs = f"costs: [{{item: Modules, category: modules, cost: 9000}}]\nrules:\n  - {rule}\n"
    free = HOUSE.replace("rise: 0%}}", "rise: 0%, export: {{scheme: net billing, price: 0}}}}")
    later = free.replace("price: 0}}}}", "price: 0}}, later: [{{from_year: 3, export: {{price: 0.08}}}}]}}")

    told = {"region": "NC", "day": "2026-06-01", "household": "income_tax: 1500"}
    open_now = finsolar.study(from_text(free.format(**told) + costs))
    paid_later = finsolar.study(from_text(later.format(**told) + costs))

    assert award(open_now, "valley/feed-in").amounts[1:].all()
    refused = award(paid_later, "valley/feed-in")
    assert refused.status == "refused" and "already pays" in refused.reasons[0]


def test_power_for_events_goes_through_the_inverter_it_shares() -> None:
    """A battery of 9 kW behind an inverter of 5 kW gives 5 kW."""
    rule = own("valley/events", "capacity payment", "per_kw", "100").replace(
        "reference: Town Code 1}}}}",
        "reference: Town Code 1}}}, term_years: {unit: years, values: "
        "{2020-01-01: {value: 2, known: seen, reference: Town Code 1}}}}",
    )
    whole = HOUSE.replace("inverter: {{kw: 5}}", "inverter: {{kw: 5}}, battery: {{kwh: 30, kw: 9, coupling: dc}}")
    text = whole.format(region="NC", day="2026-06-01", household="income_tax: 1500")
    text += f"costs: []\nclaims: {{valley/events: {{kw: 8}}}}\nrules:\n  - {rule}\n"

    assert award(finsolar.study(from_text(text)), "valley/events").amounts.tolist() == [0, 500, 500, 0, 0, 0, 0]


def test_a_cliff_that_another_rule_causes_is_named() -> None:
    """The federal credit is not counted without the tax owed, yet its end with 2025 raises the state's credit."""
    found = studied(
        "costs: [{item: Modules, category: modules, cost: 5000}]\n",
        region="MA",
        day="2025-06-01",
        household="state_income_tax: 2000",
    )
    [cliff] = [one for one in found.slips[0].cliffs if one.day.isoformat() == "2026-01-01"]

    assert (cliff.rule_id, cliff.before, cliff.after) == ("us/ma/energy-credit", pytest.approx(525), pytest.approx(750))
    assert "since Federal residential clean energy credit changes" in cliff.title


def test_rivals_are_settled_in_each_case_by_itself() -> None:
    """3,000 flat or half the price: the flat sum wins for 500, half for 5,500, in a batch as alone."""
    flat = own("a", "upfront rebate", "fixed", "3000", f"lowers_price: {{value: true, {SAID}}}",
               f"excludes: {{value: [b], {SAID}}}")  # fmt: skip
    half = own("b", "upfront rebate", "share", "50%", f"lowers_price: {{value: true, {SAID}}}", lines("[modules]"))
    text = f"costs: [{{item: Modules, category: modules, cost: 7000}}]\nrules:\n  - {flat}\n  - {half}\n"
    scenario = from_text(HOUSE.format(region="NC", day="2026-06-01", household="income_tax: 1500") + text)
    path = "alternatives.0.costs.0.cost"
    batch = finsolar.study(scenario, chosen={path: np.array([[5_000.0], [8_000.0]])})

    assert batch.results[0].net_cost.tolist() == [2_000, 4_000]
    for cost, net in ((5_000.0, 2_000), (8_000.0, 4_000)):
        assert float(finsolar.study(scenario, chosen={path: cost}).results[0].net_cost) == net


def test_the_rule_that_the_readme_shows_grants_what_it_says(request: pytest.FixtureRequest) -> None:
    """150 for each of 8 kWh are 1,200, and the cap of 1,500 cuts 14 kWh; without a battery it is refused."""
    readme = (request.config.rootpath / "README.md").read_text(encoding="utf-8")
    block = textwrap.dedent(readme.partition("```yaml\n")[2].partition("```")[0])
    costs = "costs: [{item: Battery, category: battery, cost: 9000}]\n"
    whole = HOUSE.replace("inverter: {{kw: 5}}", "inverter: {{kw: 5}}, battery: {battery}")

    for battery, granted in (("{kwh: 8, kw: 4}", 1_200), ("{kwh: 14, kw: 4}", 1_500), ("none", 0)):
        text = whole.format(region="NC", day="2026-06-01", household="income_tax: 1500", battery=battery)
        found = award(finsolar.study(from_text(text + costs + block)), "our-town/battery-rebate")
        assert found.amounts.sum() == granted
