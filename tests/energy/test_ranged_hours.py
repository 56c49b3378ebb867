"""Every number of the hours that may be a range: many values side by side are what each is alone."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from small_house import changed, house

import finsolar
from finsolar.scenario.numbers import Range, expected, settled
from finsolar.study import moves_energy, study
from finsolar.uncertainty.ranges import ranges_of

Tree = dict[str, Any]

HOUSE: Tree = {
    "study": {"years": 3},
    "household": {"load": {"new_loads": [{"item": "Pump", "from_year": 2, "kwh_a_day": 5}]}},
    "system": {
        "arrays": [{"kw": 6, "tilt": 30, "azimuth": 180, "shading": "3%"}, {"kw": 2, "tilt": 10, "azimuth": 90}],
        "inverter": {"kw": 5},
        "losses": [{"item": "Dust", "share": "3%"}, {"item": "Cable", "share": "2%"}],
        "snow": "1%",
        "battery": {"kwh": 8, "kw": 4, "fade": {"ten_years": "30%", "thousand_cycles": "5%"}},
    },
}
SHIFT: Tree = {
    "system": {"operation": "time shift", "time_shift": {"dear": ["peak"], "cheap": ["rest"]}},
    "tariff": {"energy": [{"name": "peak", "price": 0.3, "hours": "16-21"}, {"name": "rest", "price": 0.12}]},
}
WAYS: Tree = {"system": {"battery": {"charge_efficiency": "95%", "discharge_efficiency": "94%"}}}
DC: Tree = {"system": {"battery": {"coupling": "dc"}}}

PLACES: list[tuple[str, Tree, tuple[float, float]]] = [
    ("household.load.level", {}, (0.8, 1.3)),
    ("household.load.growth", {}, (-0.02, 0.04)),
    ("alternatives.0.system.losses.0.share", {}, (0.0, 0.2)),
    ("alternatives.0.system.losses", {"system": {"losses": "10%"}}, (0.02, 0.2)),
    ("alternatives.0.system.arrays.0.shading", {}, (0.0, 0.3)),
    ("alternatives.0.system.snow", {}, (0.0, 0.1)),
    ("alternatives.0.system.fade", {}, (0.0, 0.03)),
    ("alternatives.0.system.first_year_loss", {}, (0.0, 0.04)),
    ("alternatives.0.system.inverter.efficiency", {}, (0.9, 0.99)),
    ("alternatives.0.system.inverter.efficiency", DC, (0.9, 0.99)),
    ("alternatives.0.system.battery.round_trip", {}, (0.8, 0.95)),
    ("alternatives.0.system.battery.charge_efficiency", WAYS, (0.9, 0.99)),
    ("alternatives.0.system.battery.discharge_efficiency", WAYS, (0.9, 0.99)),
    ("alternatives.0.system.battery.fade", {"system": {"battery": {"fade": "2%"}}}, (0.0, 0.05)),
    ("alternatives.0.system.battery.fade.ten_years", {}, (0.1, 0.5)),
    ("alternatives.0.system.battery.fade.thousand_cycles", {}, (0.0, 0.3)),
    ("alternatives.0.system.losses.0.share", SHIFT, (0.0, 0.3)),
    ("household.load.level", SHIFT, (0.7, 1.6)),
]


@pytest.mark.parametrize(("path", "changes", "values"), PLACES, ids=[path for path, _, _ in PLACES])
def test_values_side_by_side_are_what_each_is_alone(path: str, changes: Tree, values: tuple[float, float]) -> None:
    """From the first hour to the bill, and each of them does move the bill."""
    scenario = house(changed(HOUSE, changes))
    assert moves_energy(scenario, path)
    together = study(scenario, {path: np.array(values)[:, None]}).results[0]
    bills = []
    for k, value in enumerate(values):
        alone = study(scenario, {path: value}).results[0]
        np.testing.assert_allclose(together.position.bill.total[k], alone.position.bill.total, rtol=1e-9)
        np.testing.assert_allclose(np.broadcast_to(together.run.capacity, (2, 3))[k], alone.run.capacity, rtol=1e-9)
        bills.append(alone.position.bill.total.sum())
    assert abs(bills[0] - bills[1]) > 0.5


@pytest.mark.parametrize("path", ["household.load.level", "weather.brightness"])
def test_years_may_differ(path: str) -> None:
    """A value a year; the first year is that of its value in all years."""
    scenario = house(changed(HOUSE, {"weather": {"station": "greensboro"}}))
    years = study(scenario, {path: np.array([[0.9, 1.1, 1.0]])}).results[0].position.flows
    for year, value in enumerate((0.9, 1.1, 1.0)):
        alone = study(scenario, {path: value}).results[0].position.flows
        for name in ("load", "solar"):
            np.testing.assert_allclose(getattr(years, name)[0, year], getattr(alone, name)[year], rtol=1e-12)


def test_the_level_scales_what_is_stated_and_no_load_to_come() -> None:
    scenario = house(HOUSE)
    usual, half = (study(scenario, {"household.load.level": x}).stay.flows.load.sum(axis=-1) for x in (1.0, 0.5))
    pump = 5 * 365
    np.testing.assert_allclose(half, [usual[0] / 2, (usual[1] - pump) / 2 + pump, (usual[2] - pump) / 2 + pump])


def test_a_range_on_the_hours_leaves_the_battery_as_it_was_set() -> None:
    """A household sets its time shift by what it knows: cases differ in what comes, not in the setting."""
    lossy = {"losses": {"from": "5%", "to": "25%"}}
    scenario = house(changed(changed(HOUSE, SHIFT), {"system": lossy}))
    [losses] = ranges_of(scenario)
    found = study(scenario, dict.fromkeys(losses.paths, 0.25)).results[0].position
    told = house(changed(changed(HOUSE, SHIFT), {"system": {"losses": "25%"}}))
    knowing = finsolar.study(told).results[0].position
    middle = finsolar.study(scenario).results[0].position
    assert found.flows.solar.sum() == pytest.approx(knowing.flows.solar.sum(), rel=1e-12)
    assert found.flows.solar.sum() < middle.flows.solar.sum()
    assert found.flows.charge_bought.sum() != pytest.approx(knowing.flows.charge_bought.sum(), rel=1e-6)


def test_what_is_expected_is_what_is_written_but_for_what_the_household_chooses() -> None:
    """Losses, wear and efficiency are not known beforehand; the size of the battery is chosen."""
    written = house({"system": {"losses": {"from": "5%", "to": "25%"}, "fade": "1%"}})
    path = "alternatives.0.system"
    used = settled(written, {f"{path}.losses": 0.2, f"{path}.inverter.efficiency": 0.9, f"{path}.battery.kwh": 16.0})
    found = expected(written.alternatives[0].system, used.alternatives[0].system)
    assert (found.losses, found.fade) == (pytest.approx(0.15), 0.01)
    assert (found.inverter.efficiency, found.battery.kwh) == (0.96, 16.0)
    assert isinstance(written.alternatives[0].system.losses, Range) and used.alternatives[0].system.losses == 0.2
