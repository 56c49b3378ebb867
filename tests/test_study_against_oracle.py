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
import oracle_comparison
import pytest
from feature_scenarios import FEATURES, Feature
from generated_houses import write_files
from generated_scenarios import scenarios
from hypothesis import HealthCheck, Phase, given, settings
from kept_scenarios import DRAWN_AND_KEPT, QUARTER_CENTURY, ROOF

import finsolar
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario

TOLERANCE = 1e-6
DEMOS = sorted((Path(__file__).parents[1] / "scenarios").glob("*.yaml"))


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
    lines = {plan["name"]: plan["cash_flow"]["lines"] for plan in found["alternatives"]}
    pairs = found["comparison"]["pairs"]
    compared = sorted(sorted((pair["dearer"], pair["cheaper"])) for pair in pairs)
    if compared != sorted(sorted(two) for two in combinations(nets, 2)):
        yield f"compared are {compared}"
    for pair in pairs:
        name = f"{pair['dearer']} over {pair['cheaper']}"
        dearer, cheaper = nets[pair["dearer"]], nets[pair["cheaper"]]
        if dearer[0] > cheaper[0]:
            yield f"{name}: the dearer asks less at the start"
        wanted = oracle.pair(dearer, cheaper, found["settings"]["discount_rate"])
        wanted |= oracle_comparison.extra_savings(lines[pair["dearer"]], lines[pair["cheaper"]])
        yield from differences(wanted, pair, name)
        extra = [one - other for one, other in zip(dearer, cheaper, strict=True)]
        if any(extra):
            yield from wrong_rates(name, extra, pair["irrs"], pair["irr"])
        elif pair["irrs"] or pair["irr"] is not None:
            yield f"{name}: no difference, yet a rate"


def wrong_places(found: dict[str, Any]) -> Iterator[str]:
    """Say which way to go does not stand at its place, and whether two orders are said to agree that do not."""
    nets = {plan["name"]: plan["cash_flow"]["net"] for plan in found["alternatives"]}
    wanted = oracle_comparison.ranked(nets, found["settings"]["discount_rate"])
    comparison = found["comparison"]
    told = {"stay as you are" if place["stay"] else place["name"]: place for place in comparison["ranking"]}
    yield from differences(wanted, told, "ranking")
    order = [place["by_npv"] for place in comparison["ranking"]]
    if order != sorted(order):
        yield f"ranking is told in the order {order}"
    yield from differences(not oracle_comparison.turned(wanted), comparison["orders_agree"], "orders_agree")


def check(scenario: Scenario) -> dict[str, Any]:
    """Work the scenario out twice and compare; return the study's plain values."""
    found = finsolar.study(scenario).to_json()
    wanted = oracle.expected(scenario)
    if scenario.household.outage is not None and scenario.household.backup_kwh is None:
        # By the outages to expect, which are walked one by one in the tests of what backup is worth.
        for plan in wanted["alternatives"]:
            del plan["metrics"]["backup_cost"]
    problems = list(differences(wanted, found))
    for one in found["alternatives"]:
        problems += wrong_rates(one["name"], one["cash_flow"]["net"], one["metrics"]["irrs"], one["metrics"]["irr"])
    problems += [*wrong_pairs(found), *wrong_places(found)]
    assert not problems, "\n".join([f"{len(problems)} differences, of which the first:", *problems[:25]])
    json.dumps(found, allow_nan=False)
    return found


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the files lie that scenarios name."""
    found = tmp_path_factory.mktemp("house")
    write_files(found)
    return found


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


@pytest.mark.parametrize("feature", FEATURES.values(), ids=FEATURES)
def test_a_feature_comes_out_the_same_twice_and_shows(folder: Path, feature: Feature) -> None:
    assert feature.shows(check(from_text(feature.text, folder=folder)))


# A year in plain loops is slow, so a failing example is shown as it was drawn instead of being cut down for minutes.
@settings(
    max_examples=14,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)
@given(text=scenarios(most_years=3))
def test_a_scenario_drawn_by_lot_comes_out_the_same_twice(folder: Path, text: str) -> None:
    check(from_text(text, folder=folder))


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
        "extra_saving_first_year": 0.0,
        "extra_saving": 60.0,
        "irr": 1.2**0.5 - 1,
        "irrs": [1.2**0.5 - 1],
        "simple_payback": 1 + 50 / 60,
        "discounted_payback": None,
    }
    alternatives = [
        {
            "name": name,
            "cash_flow": {"net": net, "lines": {"capital": [net[0], 0.0, 0.0], "saving, energy": [0.0, *net[1:]]}},
        }
        for name, net in nets.items()
    ]

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
        {"extra_saving": 10.0},
        {"extra_saving_first_year": 60.0},
        {"simple_payback": None},
        {"discounted_payback": 1.9},
    ):
        assert faults(good | wrong), wrong
