"""The study against the oracle: the same scenario worked out twice, once by arrays, once by plain loops.

Source of every expected figure: `oracle`, our own second reckoning from the written conventions. Both sides must
agree to one part in a million, on figures below one to a millionth.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
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


def wrong_rates(alternative: dict[str, Any]) -> Iterator[str]:
    """Say which internal rates are missing, are none, or are quoted for another."""
    net, metrics = alternative["cash_flow"]["net"], alternative["metrics"]
    listed = metrics["irrs"]
    for rate in oracle.crossing_rates(net):
        if not any(abs(rate - other) <= TOLERANCE * max(1.0, abs(rate)) for other in listed):
            yield f"{alternative['name']}: {rate} is an internal rate of {net} and not in {listed}"
    for rate in listed:
        if abs(oracle.worth(net, rate)) > 1e-9:
            yield f"{alternative['name']}: {net} is worth {oracle.worth(net, rate)} of what moves at {rate}"
    if len(listed) > oracle.sign_changes(net):
        yield f"{alternative['name']}: {listed} are more rates than {net} changes sign"
    yield from differences(oracle.quoted_rate(net, listed), metrics["irr"], f"{alternative['name']}: irr")


def check(scenario: Scenario) -> None:
    """Work the scenario out twice and compare."""
    found = finsolar.study(scenario).to_json()
    problems = list(differences(oracle.expected(scenario), found))
    for alternative in found["alternatives"]:
        problems += wrong_rates(alternative)
    assert not problems, "\n".join([f"{len(problems)} differences, of which the first:", *problems[:25]])
    json.dumps(found, allow_nan=False)


def test_there_are_demo_scenarios() -> None:
    assert DEMOS


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_demo_scenario_comes_out_the_same_twice(path: Path) -> None:
    check(finsolar.read(path))


def test_twenty_five_years_of_everything_come_out_the_same_twice() -> None:
    check(from_text(QUARTER_CENTURY))


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
    ],
)
def test_a_difference_is_seen(wanted: Any, found: Any) -> None:
    assert list(differences(wanted, found))


def test_rates_are_judged() -> None:
    alternative = {"name": "a", "cash_flow": {"net": [-100.0, 110.0]}, "metrics": {"irrs": [0.1], "irr": 0.1}}
    assert not list(wrong_rates(alternative))
    for irrs, irr in (([], None), ([0.1, 0.2], 0.1), ([0.1], None)):
        assert list(wrong_rates(alternative | {"metrics": {"irrs": irrs, "irr": irr}}))
