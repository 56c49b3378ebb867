"""The study against the oracle: the same scenario worked out twice, once by arrays, once by plain loops.

Source of every expected figure: `oracle`, our own second reckoning from the written conventions. Both sides must
agree to one part in a million, on figures below one to a millionth.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import oracle
import pytest
from generated_scenarios import scenarios
from hypothesis import HealthCheck, Phase, given, settings

import finsolar
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario

TOLERANCE = 1e-6
DEMOS = sorted((Path(__file__).parents[1] / "scenarios").glob("*.yaml"))

QUARTER_CENTURY = """
title: Twenty-five years of everything at once
place: {country: US, region: FL, latitude: 25.8, longitude: -80.27, timezone: America/New_York}
study:
  in_service: 2024-05-02
  years: 25
  real_discount_rate: 2.5%
  inflation: {low: 1%, likely: 2.2%, high: 5%}
household:
  income_tax: [900, 1400, 700]
  owner_occupied: true
  load:
    monthly_kwh: [820, 760, 800, 850, 1040, 1220, 1380, 1400, 1250, 1010, 830, 800]
    shape: hot-climate
    growth: 0.7%
weather: miami
tariff:
  monthly_charge: 11.5
  energy:
    - {name: afternoon, price: 0.29, months: apr-oct, days: mon-fri, hours: 12-21}
    - {name: rest, price: {mean: 0.115, sd: 0.01}}
  export: {scheme: net metering, surplus_price: 0.031, true_up_month: mar}
  rise: {path: [3%, -1%, 6%, 2.5%]}
  fixed_rise: 1%
  export_rise: -2%
stay:
  costs: [{item: A new meter board, category: service panel, cost: 640}]
  upkeep: [{item: Surge arrester, category: other, cost: 85, every: 6}]
purchase: {sales_tax: 6%, contingency: 5%}
costs:
  - {item: Modules, category: modules, each: 131, quantity: 24, residual: 8%}
  - {item: Inverter, category: inverter, cost: 1900}
  - {item: Battery, category: battery, cost: 4100, sales_tax: 0%}
  - {item: Rails, category: racking, cost: 1150}
  - {item: New shingles, category: roof, cost: 2600, contingency: 12%}
  - {item: Crew, category: labour, cost: 5200}
upkeep:
  - {item: Cleaning, category: upkeep, cost: 60}
  - {item: Insurance, category: insurance, cost: 75, rise: 4%}
  - {item: Next inverter, category: inverter, cost: 1700, every: 12}
  - {item: Next battery, category: battery, cost: 3600, first: 9, every: 8, rise: -1%, residual: 25%}
rebates:
  - {item: Town, amount: 900}
  - {item: Tombola, amount: 300, lowers_basis: false}
system:
  arrays: [{kw: 6.2, tilt: 25, azimuth: 180}, {kw: 3.4, tilt: 10, azimuth: 270}]
  inverter: {kw: 6, efficiency: 97%, idle_watts: 40}
  battery: {kwh: 11, kw: 5, charge_kw: 3.3, round_trip: 88%, reserve: 15%, fade: 3%}
  losses: 12%
  fade: 0.6%
  first_year_loss: 1.5%
alternatives:
  - name: Cash
  - name: Loan
    payment: {loan: {rate: 6.9%, years: 12, fee: 2%, share: 80%}}
  - name: Another supplier, a year and a half later
    in_service: 2026-01-01
    tariff: {energy: 0.142, rise: 3%, monthly_charge: 9, export: {scheme: net billing, price: 0.05}}
  - name: Off the grid
    system:
      arrays: [{kw: 9, tilt: 40, azimuth: 135}]
      inverter: {kw: 7}
      battery: {kwh: 24, kw: 6, charge_kw: 4.5, reserve: 10%}
      operation: off grid
    generator: {kw: 2.2, fuel_price: 1.15, upkeep_per_hour: 0.2, rise: 3.5%}
"""

# Drawn by `generated_scenarios`, kept, and given what lots seldom bring together: own hours with somebody to compare
# them with, a generator that staying would have replaced, and a credit that takes years to use.
DRAWN_AND_KEPT = """
title: A house drawn by lot
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/Los_Angeles}
study: {in_service: 2022-01-01, installation_completed: 2021-12-31, years: 25, discount_rate: 4.2%, inflation: 3.1%}
household:
  income_tax: [120, 85]
  owner_occupied: true
  load:
    monthly_kwh: [133, 78, 333, 549, 1500, 71, 1035, 927, 248, 798, 1234, 547]
    shape: [3, 1, 2, 9, 21, 4, 30, 7, 8, 1, 16, 5, 2, 11, 27, 6, 3, 14, 19, 2, 22, 8, 1, 10]
    growth: -1.6%
weather: greensboro
generator: {kw: 7.2, fuel_price: 1.36, rise: 2.2%, idle_litres_per_kw: {from: 0.015, to: 0.099}, upkeep_per_hour: 0.11}
stay:
  costs: [{item: cost 0, category: other, cost: 1740, contingency: 3.5%, residual: 21.3%}]
  upkeep:
    - {item: upkeep 0, category: generator, cost: 5210, every: 7, first: 3, residual: 44.1%, rise: 1.9%}
    - {item: upkeep 1, category: insurance, cost: 63, every: 2}
alternatives:
  - name: first
    own_hours: 36
    installation_completed: 2021-12-31
    purchase: {sales_tax: 5.2%}
    costs:
      - {item: cost 0, category: modules, each: {low: 410.43, likely: 518.78, high: 750.5}, quantity: 17, residual: 22%}
      - {item: cost 1, category: battery, cost: 8420, sales_tax: 8.2%, contingency: 12.5%}
    payment: {loan: {rate: 2.5%, years: 19, fee: 3.6%, share: 61.7%}}
    upkeep: [{item: upkeep 0, category: inverter, cost: 1480, every: 9, first: 8, rise: {path: [4%, -2.5%]}}]
    system:
      arrays:
        - {kw: 3.4, tilt: 40, azimuth: 135, temperature_coefficient: -0.0028}
        - {kw: 4.7, tilt: 90, azimuth: 180}
      inverter: {kw: 5.8, idle_watts: 22}
      battery: {kwh: 13.2, kw: 7.8, discharge_kw: 4.4, charge_efficiency: 72.4%, discharge_efficiency: 98.3%}
      losses: 1.2%
      fade: 2.8%
      first_year_loss: 1.5%
      operation: off grid
  - name: second
    like: first
    own_hours: 0
    costs: [{item: more 0, category: labour, cost: {low: 2000, likely: 3870, high: 5420}}]
  - name: third
    like: second
    costs: [{item: more 1, category: shipping, cost: 44, sales_tax: 7.2%, residual: 45.9%}]
  - name: fourth
    like: second
    payment: cash
    system: {arrays: [{kw: 6.1, tilt: 10, azimuth: 270}], inverter: {kw: 2.2}, operation: off grid}
"""

ROOF = """
title: A small roof
place: {country: DE, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-03-01, years: 2, discount_rate: 4%}
household:
  load: {monthly_kwh: [400, 350, 320, 280, 260, 300, 380, 370, 300, 270, 310, 390], shape: evening}
weather: greensboro
tariff: {energy: 0.2, rise: 2%}
system: {arrays: [{kw: 2, tilt: 25, azimuth: 180}], inverter: {kw: 2}}
costs: [{item: Modules, category: modules, cost: 900}]
"""


def differences(wanted: Any, found: Any, path: str = "study") -> Iterator[str]:
    """Say where a found value is not the wanted one; keys that are not wanted may be there."""
    if isinstance(wanted, dict) and isinstance(found, dict):
        for key, value in wanted.items():
            if key in found:
                yield from differences(value, found[key], f"{path}.{key}")
            else:
                yield f"{path} has no {key!r}, only {sorted(found)}"
    elif isinstance(wanted, list) and isinstance(found, list):
        if len(wanted) != len(found):
            yield f"{path} has {len(found)} entries, not {len(wanted)}"
        for i, (value, other) in enumerate(zip(wanted, found, strict=False)):
            yield from differences(value, other, f"{path}[{i}]")
    elif isinstance(wanted, int | float) and isinstance(found, int | float):
        if not abs(wanted - found) <= TOLERANCE * max(1.0, abs(wanted)):
            yield f"{path} is {found!r}, not {wanted!r}"
    elif wanted != found:
        yield f"{path} is {found!r}, not {wanted!r}"


def wrong_rates(name: str, net: list[float], listed: list[float], quoted: float | None) -> Iterator[str]:
    """Say which internal rates are missing, are none, or are quoted for another."""
    for rate in oracle.crossing_rates(net):
        if not any(abs(rate - other) <= TOLERANCE * max(1.0, abs(rate)) for other in listed):
            yield f"{name}: {rate} is an internal rate of {net} and not in {listed}"
    for rate in listed:
        if abs(oracle.worth(net, rate)) > 1e-9:
            yield f"{name}: {net} is worth {oracle.worth(net, rate)} of what moves at {rate}"
    if len(listed) > oracle.sign_changes(net):
        yield f"{name}: {listed} are more rates than {net} changes sign"
    yield from differences(oracle.quoted_rate(net, listed), quoted, f"{name}: irr")


def wrong_pairs(found: dict[str, Any]) -> Iterator[str]:
    """Say which two alternatives are not compared once, or not by what the dearer one adds."""
    nets = {plan["name"]: plan["cash_flow"]["net"] for plan in found["alternatives"]}
    pairs = found["comparison"]["pairs"]
    compared = sorted(sorted((pair["dearer"], pair["cheaper"])) for pair in pairs)
    if compared != sorted(sorted(two) for two in combinations(nets, 2)):
        yield f"compared are {compared}"
    for pair in pairs:
        name = f"{pair['dearer']} over {pair['cheaper']}"
        dearer, cheaper = nets[pair["dearer"]], nets[pair["cheaper"]]
        if dearer[0] > cheaper[0]:
            yield f"{name}: the dearer asks less at the start"
        yield from differences(oracle.pair(dearer, cheaper, found["settings"]["discount_rate"]), pair, name)
        extra = [one - other for one, other in zip(dearer, cheaper, strict=True)]
        if any(extra):
            yield from wrong_rates(name, extra, pair["irrs"], pair["irr"])
        elif pair["irrs"] or pair["irr"] is not None:
            yield f"{name}: no difference, yet a rate"


def check(scenario: Scenario) -> None:
    """Work the scenario out twice and compare."""
    found = finsolar.study(scenario).to_json()
    problems = list(differences(oracle.expected(scenario), found))
    for one in found["alternatives"]:
        problems += wrong_rates(one["name"], one["cash_flow"]["net"], one["metrics"]["irrs"], one["metrics"]["irr"])
    problems += wrong_pairs(found)
    assert not problems, "\n".join([f"{len(problems)} differences, of which the first:", *problems[:25]])
    json.dumps(found, allow_nan=False)


def test_there_are_demo_scenarios() -> None:
    assert DEMOS


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_scenario_comes_out_the_same_twice(path: Path) -> None:
    check(finsolar.read(path))


@pytest.mark.parametrize("text", [QUARTER_CENTURY, DRAWN_AND_KEPT], ids=["everything at once", "drawn and kept"])
def test_twenty_five_years_come_out_the_same_twice(text: str) -> None:
    check(from_text(text))


def test_the_fixed_examples_leave_nothing_aside() -> None:
    """Else what the oracle says of ratios, own hours and costs of staying would go unchecked."""
    plain = finsolar.study(from_text(DRAWN_AND_KEPT)).to_json()
    for plan in plain["alternatives"]:
        assert plan["metrics"]["sir"] is not None and plan["metrics"]["airr"] is not None
        assert plan["metrics"]["lcoe"] != plan["metrics"]["real_lcoe"]
        assert any(plan["cash_flow"]["lines"]["investment avoided"])
    assert [own["against"] for own in plain["comparison"]["own_labour"]] == ["second"]
    assert len(plain["comparison"]["pairs"]) == 6
    assert sum(amount > 0 for amount in plain["alternatives"][0]["incentives"][0]["amounts"]) > 5


# A year in plain loops is slow, so a failing example is shown as it was drawn instead of being cut down for minutes.
@settings(
    max_examples=20,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)
@given(text=scenarios())
def test_a_scenario_drawn_by_lot_comes_out_the_same_twice(text: str) -> None:
    check(from_text(text))


@pytest.mark.parametrize(
    "text",
    [
        ROOF + "alternatives: [{name: Dark evenings, system: {operation: off grid}}]\n",
        ROOF
        + "stay: {costs: [{item: A safe, category: other, cost: 500, residual: 40%}]}\n"
        + "alternatives: [{name: Roof}]\n",
        ROOF
        + "alternatives: [{name: Roof, tariff: {energy: 0.18, rise: {path: [1%, 2%]}}},"
        + " {name: Roof again, tariff: {energy: 0.18, rise: {path: [1%, 2%]}}}]\n",
        ROOF + "alternatives: [{name: Roof, payment: {loan: {rate: 5%, years: 2}}}]\n",
    ],
    ids=["off grid without a generator", "residual of what is not bought", "path of rises twice", "no outlay"],
)
def test_a_rare_case_comes_out_the_same_twice(text: str) -> None:
    check(from_text(text))


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ({"a": [1.0, 2.0]}, {"a": [1.0, 2.00001]}),
        ({"a": [1.0, 2.0]}, {"a": [1.0]}),
        ({"a": 1.0}, {"b": 1.0}),
        ({"a": None}, {"a": 0.0}),
        ({"a": 0.0}, {"a": None}),
        ({"a": 1.0}, {"a": float("nan")}),
        ([{"name": "a"}], []),
    ],
)
def test_a_difference_is_seen(wanted: Any, found: Any) -> None:
    assert list(differences(wanted, found))


def test_rates_are_judged() -> None:
    assert not list(wrong_rates("a", [-100.0, 110.0], [0.1], 0.1))
    for irrs, irr in (([], None), ([0.1, 0.2], 0.1), ([0.1], None)):
        assert list(wrong_rates("a", [-100.0, 110.0], irrs, irr))


def test_pairs_are_judged() -> None:
    nets = {"a": [-100.0, 60.0, 60.0], "b": [-150.0, 60.0, 120.0]}
    good = {
        "dearer": "b",
        "cheaper": "a",
        "extra_outlay": 50.0,
        "extra_npv": -50 + 60 / 1.21,
        "irr": 1.2**0.5 - 1,
        "irrs": [1.2**0.5 - 1],
        "simple_payback": 1 + 50 / 60,
        "discounted_payback": None,
    }
    alternatives = [{"name": name, "cash_flow": {"net": net}} for name, net in nets.items()]

    def faults(*pairs: dict[str, Any]) -> list[str]:
        study = {"settings": {"discount_rate": 0.1}, "alternatives": alternatives, "comparison": {"pairs": [*pairs]}}
        return list(wrong_pairs(study))

    assert faults(good) == []  # 60 in year 2 are worth 49.6 at 10 %, so the 50 are never back
    assert faults() and faults(good, good)
    for wrong in (
        {"dearer": "a", "cheaper": "b"},
        {"extra_outlay": -50.0},
        {"extra_npv": 0.0},
        {"irr": None},
        {"irrs": []},
        {"simple_payback": None},
        {"discounted_payback": 1.9},
    ):
        assert faults(good | wrong), wrong
