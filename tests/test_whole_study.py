"""What a whole study promises beyond its rooms: what energy it counts, what it compares, what it refuses."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from conftest import ROOT, plain_study
from small_house import house

import finsolar
from finsolar.results import Study
from finsolar.scenario.problems import ScenarioError
from finsolar.scenario.reading import from_text

HEATHER_ROW = """
title: Heather Row
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2025-06-01, years: 10, discount_rate: 6%, inflation: 2%}
household:
  income_tax: 3000
  owner_occupied: true
  load: {monthly_kwh: [700, 640, 600, 520, 500, 560, 680, 670, 540, 500, 560, 690], shape: evening}
weather: greensboro
tariff: {energy: 0.17, export: {scheme: net billing, price: 0.05}, rise: 2%}
system: {arrays: [{kw: 4, tilt: 30, azimuth: 180}], inverter: {kw: 4}, battery: {kwh: 8, kw: 4}}
costs:
  - {item: Equipment, category: modules, cost: 9000}
"""
TWO_CREWS = """
alternatives:
  - {name: By ourselves, own_hours: 80}
  - name: Firm
    costs: [{item: Crew, category: labour, cost: 3600}]
"""


def changed(text: str, *changes: tuple[str, str]) -> str:
    """Return a text with some of its pieces replaced."""
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def test_load_of_every_month_at_kelp_point_comes_from_somewhere() -> None:
    """Sun, grid, generator and what is lacking make the load; the house as it is knows no sun."""
    plain = plain_study(ROOT / "scenarios" / "kelp-point.yaml")
    for energy in [plain["stay"]["energy"], *(plan["energy"] for plan in plain["alternatives"] if plan["off_grid"])]:
        months = energy["first_year_by_month"]
        for parts in zip(*(months[name] for name in ("load_from_sun", "generator", "unserved", "load")), strict=True):
            *sources, load = parts
            assert sum(sources) == pytest.approx(load)
        assert months["imported"] == [0.0] * 12
    assert plain["stay"]["energy"]["load_from_sun"] == pytest.approx([0.0] * 20, abs=1e-8)
    assert all(sun > 100 for sun in plain["alternatives"][0]["energy"]["first_year_by_month"]["load_from_sun"])


def test_a_house_whose_supply_is_too_small_is_told_what_it_goes_without() -> None:
    """A generator of 300 W today and none later: a note for each says how much is lacking."""
    text = changed(
        HEATHER_ROW + "alternatives: [{name: Sun alone, system: {operation: off grid}}]\n",
        (
            "tariff: {energy: 0.17, export: {scheme: net billing, price: 0.05}, rise: 2%}",
            "generator: {kw: 0.3, fuel_price: 1.5, rise: 2%}",
        ),
    )
    study = finsolar.study(from_text(text))
    stay = study.to_json()["stay"]["energy"]
    assert stay["unserved"][0] > 3000
    assert stay["generator"][0] + stay["unserved"][0] == pytest.approx(stay["load"][0])
    assert stay["load_from_sun"] == pytest.approx([0.0] * 10, abs=1e-9)
    always, note = [note for note in study.notes if note.startswith("Staying as you are: ")]
    assert "taken to run 24 hours a day" in always
    assert f"{stay['unserved'][0]:,.0f} kWh of the first year's load finds no source" in note
    assert any(note.startswith("Sun alone: ") and "finds no source" in note for note in study.notes)


def test_a_served_house_is_not_told_of_lacking_energy() -> None:
    study = finsolar.study(from_text(HEATHER_ROW + TWO_CREWS))
    assert study.notes and not any("finds no source" in note for note in study.notes)


def test_cost_of_energy_counts_what_is_sold() -> None:
    """A house that uses nothing, without idle draw or battery, sells all of its sun."""
    text = changed(
        HEATHER_ROW + "alternatives: [{name: Roof}]\n",
        ("[700, 640, 600, 520, 500, 560, 680, 670, 540, 500, 560, 690]", "[0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0]"),
        ("inverter: {kw: 4}, battery: {kwh: 8, kw: 4}", "inverter: {kw: 4, idle_watts: 0}"),
        ("income_tax: 3000", "income_tax: 0"),
    )
    [roof] = finsolar.study(from_text(text)).results
    made = roof.position.flows.solar.sum(axis=-1)
    assert roof.position.flows.exported.sum(axis=(-1, -2)) == pytest.approx(made)
    weights = 1.06 ** -np.arange(1, 11)
    assert roof.appraisal.lcoe == pytest.approx(9000 / (made * weights).sum())
    assert roof.appraisal.real_lcoe == pytest.approx(9000 / (made * weights * 1.02 ** np.arange(1, 11)).sum())


def test_useful_energy_of_the_demo_households_is_what_the_sun_leaves() -> None:
    """Never above solar less what is shed; below it by idle draw and battery losses where there are some."""
    for path in sorted((ROOT / "scenarios").glob("*.yaml")):
        for plan in plain_study(path)["alternatives"]:
            energy = plan["energy"]
            if plan["line"] is not None:  # it brings the grid to the house, and no modules
                assert energy["solar"] == energy["useful"] == [0.0] * len(energy["load"])
                continue
            rows = zip(*(energy[name] for name in ("useful", "solar", "curtailed", "battery_loss")), strict=True)
            for useful, solar, curtailed, lost in rows:
                assert 0 < useful <= solar - curtailed - lost + 1e-6


# What staying would have built. By hand: year 0 asks 9,000 less 4,000; each year saves as without it.
def test_costs_of_staying_lower_the_investment_of_a_study() -> None:
    text = HEATHER_ROW + "alternatives: [{name: Roof}]\n"
    plain = finsolar.study(from_text(text)).results[0]
    built = "stay: {costs: [{item: New service line, category: other, cost: 4000}]}\n"
    kept = "stay: {upkeep: [{item: New heater, category: inverter, cost: 1500, every: 4, residual: 50%, rise: 0%}]}\n"
    awards = plain.awarded / 1.06
    saved = float(plain.appraisal.sir * (9000 - awards))
    first = finsolar.study(from_text(text + built)).results[0]
    assert first.appraisal.sir == pytest.approx(saved / (5000 - awards))
    assert first.cash.lines["investment avoided"].tolist() == [4000.0] + [0.0] * 10
    # Renewed in years 4 and 8; half of the latest is left at the end of year 10.
    later = finsolar.study(from_text(text + kept)).results[0]
    avoided = 1500 / 1.06**4 + 1500 / 1.06**8 - 750 / 1.06**10
    assert later.appraisal.sir == pytest.approx(saved / (9000 - awards - avoided))
    for other in (first, later):
        assert not other.cash.lines["upkeep avoided"].any()
        assert other.appraisal.lcoe == pytest.approx(float(plain.appraisal.lcoe))
        assert other.appraisal.real_lcoe == pytest.approx(float(plain.appraisal.real_lcoe))


def labour_of(text: str) -> list[str]:
    """Return against whom the own labour of a scenario is set."""
    return [own.against for own in finsolar.study(from_text(text)).own_labour]


def test_own_labour_is_set_against_the_same_house_built_by_others() -> None:
    assert labour_of(HEATHER_ROW + TWO_CREWS) == ["Firm"]


@pytest.mark.parametrize(
    "difference",
    [
        "system: {battery: {kwh: 12, kw: 4}}",
        "tariff: {energy: 0.15}",
        "in_service: 2025-07-01",
        "installation_completed: 2025-05-20",
        "payment: {loan: {rate: 5%, years: 4}}",
    ],
)
def test_own_labour_is_not_set_against_another_system_supply_day_or_payment(difference: str) -> None:
    assert labour_of(HEATHER_ROW + TWO_CREWS + f"    {difference}\n") == []


def test_own_labour_is_not_set_against_another_generator() -> None:
    text = HEATHER_ROW.replace("battery: {kwh: 8, kw: 4}", "battery: {kwh: 8, kw: 4}, operation: off grid")
    crews = changed(TWO_CREWS, ("own_hours: 80}", "own_hours: 80, generator: {kw: 3, fuel_price: 1.5, rise: 2%}}"))
    assert labour_of(text + crews + "    generator: {kw: 3, fuel_price: 1.5, rise: 2%}\n") == ["Firm"]
    assert labour_of(text + crews + "    generator: {kw: 5, fuel_price: 1.5, rise: 2%}\n") == []


def test_a_rule_in_another_currency_is_unknown_and_grants_nothing() -> None:
    text = HEATHER_ROW + "alternatives: [{name: Roof}]\n"
    dollars, _ = finsolar.study(from_text(text)).results[0].awards
    francs, _ = finsolar.study(from_text("currency: CHF\n" + text)).results[0].awards
    assert (dollars.status, francs.status) == ("granted", "unknown")
    assert not francs.amounts.any()
    assert any("reckons in USD, the scenario in CHF" in reason for reason in francs.reasons)


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("in_service: 2025-06-01", "in_service: 2025-06-01, installation_completed: 2025-06-02", "study"),
        ("{name: Roof}", "{name: Roof, in_service: 2025-06-01, installation_completed: 2025-06-02}", "alternatives[1]"),
    ],
)
def test_a_system_is_not_in_service_before_it_is_completed(old: str, new: str, field: str) -> None:
    text = changed(HEATHER_ROW + "alternatives: [{name: Roof}]\n", (old, new))
    with pytest.raises(ScenarioError) as caught:
        from_text(text)
    assert [(problem.code, problem.field) for problem in caught.value.problems] == [("order-of-days", field)]
    from_text(text.replace("completed: 2025-06-02", "completed: 2025-06-01"))


@pytest.fixture(scope="module")
def heather() -> Study:
    """The house with both crews."""
    return finsolar.study(from_text(HEATHER_ROW + TWO_CREWS))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("household.load.growth", 0.02),
        ("alternatives.0.system.battery.round_trip", 0.8),
        ("alternatives.1.system.fade", np.array([[0.01], [0.02]])),
        ("place.latitude", 40.0),
    ],
)
def test_hours_are_not_taken_over_where_energy_changes(heather: Study, path: str, value: Any) -> None:
    with pytest.raises(ValueError, match=f"hours cannot be reused where {path} changes"):
        finsolar.study(heather.scenario, {"study.discount_rate": 0.04, path: value}, reuse=heather)


def test_hours_are_taken_over_where_a_life_or_paid_hours_change_but_not_where_a_battery_lives_on() -> None:
    """A new inverter changes no hour, a new battery has its full capacity again."""
    lines = [
        {"item": "New inverter", "category": "inverter", "cost": 900, "life": 4},
        {"item": "New battery", "category": "battery", "cost": 2000, "life": 6},
    ]
    work = {"item": "Crew", "category": "labour", "per_hour": 60, "hours": 10}
    base = finsolar.study(house({"upkeep": lines, "costs": [work]}))
    paths = {"alternatives.0.upkeep.0.life": [3.5, 4.0, 30.0], "alternatives.0.costs.0.hours": [5.0, 10.0, 40.0]}
    together = finsolar.study(base.scenario, {p: np.array(row)[:, None] for p, row in paths.items()}, reuse=base)
    [many] = together.results
    assert many.gross.tolist() == [300.0, 600.0, 2400.0]
    for case in range(3):
        [alone] = finsolar.study(base.scenario, {p: row[case] for p, row in paths.items()}).results
        assert many.cash.net[case] == pytest.approx(alone.cash.net, rel=1e-12)
        due = [k for k, paid in enumerate(many.cash.lines["replacements"][case]) if paid]
        assert due == [[4, 6, 7, 11], [4, 6, 8], [6]][case]
    with pytest.raises(ValueError, match=r"hours cannot be reused where alternatives\.0\.upkeep\.1\.life changes"):
        finsolar.study(base.scenario, {"alternatives.0.upkeep.1.life": 5.0}, reuse=base)


def test_hours_are_taken_over_where_own_hours_change(heather: Study) -> None:
    """The word hours in a path is no hour of the day."""
    found = finsolar.study(heather.scenario, {"alternatives.0.own_hours": 40.0}, reuse=heather)
    assert found.own_labour[0].per_hour == pytest.approx(2 * float(heather.own_labour[0].per_hour))


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("study.discount_rate", np.array([0.03, 0.05])),
        ("alternatives.0.tariff.rise", np.array([0.03, 0.05])),
        ("study.discount_rate", np.array([[0.03, 0.05]])),
        ("alternatives.1.costs.1.cost", np.zeros((2, 1, 1))),
    ],
    ids=["row", "row of rises", "rate by year", "three axes"],
)
def test_columns_of_another_shape_are_refused(heather: Study, path: str, value: Any) -> None:
    with pytest.raises(ValueError, match=rf"{path} needs a number or a column \(cases, 1\)"):
        finsolar.study(heather.scenario, {path: value}, reuse=heather)


def test_unknown_paths_are_refused_by_name(heather: Study) -> None:
    with pytest.raises(ValueError, match=r"the scenario has no alternatives\.2\.own_hours, study\.discount"):
        finsolar.study(heather.scenario, {"study.discount": 0.05, "alternatives.2.own_hours": 3.0}, reuse=heather)


def test_notes_belong_to_the_scenario_as_written(heather: Study) -> None:
    assert heather.notes
    assert finsolar.study(heather.scenario, {"study.discount_rate": 0.04}, reuse=heather).notes == ()
