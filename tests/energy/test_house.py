"""The sun over a house, its clock and its use, also where the weather is borrowed from another time zone."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from finsolar.energy.clock import wall_clock
from finsolar.energy.house import Site, load_by_year, modules_by_year, offered_by_year, site_of
from finsolar.energy.sources import Usage
from finsolar.energy.weather import STATIONS, read_station
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario, System

Array = NDArray[np.float64]
ZONES = (
    "America/New_York", "America/Los_Angeles", "Pacific/Auckland", "Europe/Dublin", "Europe/Berlin",
    "Asia/Kolkata", "Asia/Kathmandu", "Australia/Sydney",
)  # fmt: skip


def scenario(station: str, timezone: str, arrays: str = "[{kw: 5, tilt: 30, azimuth: 180}]") -> Scenario:
    """Return a house in a time zone that borrows the weather of a station."""
    return from_text(f"""
title: A borrowed sky
place: {{country: ZZ, latitude: 36.1, longitude: 0, timezone: {timezone}}}
study: {{in_service: 2026-09-01, years: 2, discount_rate: 5%}}
household: {{load: {{monthly_kwh: [400, 400, 400, 400, 400, 400, 400, 400, 400, 400, 400, 400], shape: evening}}}}
weather: {station}
tariff: {{energy: 0.2, rise: 0%}}
system: {{arrays: {arrays}, inverter: {{kw: 5}}, fade: 1%}}
costs: [{{item: Modules, category: modules, cost: 4000}}]
alternatives: [{{name: Roof}}]
""")


def first_year(house: Scenario, site: Site) -> np.ndarray:
    """Return the alternating current of each hour of the first year, kWh."""
    return offered_by_year(house.alternatives[0].system, site, house.study.years, None)[0][0]


def solar_centre(house: Scenario) -> float:
    """Return the hour on the wall around which a year's solar energy gathers."""
    site = site_of(house)
    return float(np.average(site.clock.hour + 0.5, weights=first_year(house, site)))


@pytest.mark.parametrize("timezone", ZONES)
@pytest.mark.parametrize("station", ["greensboro", "miami"])
def test_the_sun_gives_most_around_midday_on_the_wall(station: str, timezone: str) -> None:
    """Own bounds: both stations lie within 6 degrees of their zone's meridian; daylight saving adds up to an hour."""
    assert 11.5 < solar_centre(scenario(station, timezone)) < 13.9


@pytest.mark.parametrize("station", STATIONS)
def test_a_borrowed_station_keeps_its_own_standard_time(station: str) -> None:
    """Sand Point lies far west in its zone, so its sun is late; that stays so wherever it is borrowed to."""
    borrowed = scenario(station, "Asia/Kolkata")  # half-hour zone without daylight saving
    solar = first_year(borrowed, site_of(borrowed))
    own = wall_clock(None, STATIONS[station].utc_offset)
    assert solar_centre(borrowed) == pytest.approx(np.average(own.hour + 0.5, weights=solar), abs=1e-9)


def test_daylight_saving_moves_the_sun_later_by_its_share_of_the_year() -> None:
    """In New York 65 % of the hours are an hour ahead, and more than 65 % of the energy falls in them."""
    with_it = solar_centre(scenario("greensboro", "America/New_York"))
    without = solar_centre(scenario("greensboro", "America/Jamaica"))  # same standard time all year
    assert 0.65 < with_it - without < 0.85


def test_the_temperature_coefficient_of_an_array_is_used() -> None:
    """By the formula, output is a straight line in the coefficient; none at all means output by light alone."""
    sums = []
    for percent in (0.0, -0.2, -0.4):
        array = f"[{{kw: 3, tilt: 30, azimuth: 180, temperature_coefficient: {percent}%}}]"
        house = scenario("miami", "America/New_York", array)
        sums.append(first_year(house, site_of(house)).sum())
    assert sums[0] > sums[1] > sums[2]
    assert sums[0] - sums[1] == pytest.approx(sums[1] - sums[2], rel=1e-6)


def test_two_arrays_give_the_sum_of_each() -> None:
    """Short of the inverter's limit."""
    parts = [f"{{kw: {kw}, tilt: 20, azimuth: {azimuth}}}" for kw, azimuth in ((1.5, 90), (2.0, 270))]
    each = []
    for array in parts:
        house = scenario("greensboro", "America/New_York", f"[{array}]")
        each.append(first_year(house, site_of(house)))
    both = scenario("greensboro", "America/New_York", f"[{', '.join(parts)}]")
    assert first_year(both, site_of(both)) == pytest.approx(each[0] + each[1], abs=1e-9)


# --- what the modules give, year by year ---

MONTH = np.repeat(np.arange(12), np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]) * 24)
EAST, WEST = {"kw": 2.0, "tilt": 20, "azimuth": 90}, {"kw": 3.0, "tilt": 35, "azimuth": 250}
BATTERY = {"kwh": 8.0, "kw": 3.0}


@lru_cache
def greensboro(per_hour: int = 1) -> Site:
    """A site whose wall clock is an hour ahead of the weather's in summer."""
    clock = wall_clock("America/New_York", -5.0, per_hour)
    return Site(read_station("greensboro"), clock, Usage(np.full(clock.hour.size, 0.5), (), None), np.ones(1))


def system(*arrays: dict[str, Any], **fields: Any) -> System:
    """Return a system without any losses but those that are asked for."""
    base = {"arrays": list(arrays), "inverter": {"kw": 4}, "losses": 0, "fade": 0}
    return System.model_validate(base | fields)


def modules(*arrays: dict[str, Any], years: int = 1, site: Site | None = None, **fields: Any) -> Array:
    return modules_by_year(system(*arrays, **fields), site or greensboro(), years)


def test_shade_of_a_month_falls_on_its_own_array_and_month() -> None:
    shade = [0.0] * 12
    shade[3] = 0.4
    east, west, both = modules(EAST), modules(WEST), modules(EAST | {"shading": shade}, WEST)
    april = MONTH == 3
    assert np.allclose(both[0, april], 0.6 * east[0, april] + west[0, april])
    assert np.allclose(both[0, ~april], (east + west)[0, ~april])
    assert east[0, april].sum() > 0
    # One share is that of all twelve.
    assert np.allclose(modules(EAST | {"shading": 0.25}), 0.75 * east)
    assert np.array_equal(modules(EAST | {"shading": 0.25}), modules(EAST | {"shading": [0.25] * 12}))


def test_losses_act_one_after_another() -> None:
    lines = [{"item": "Dust", "share": 0.1}, {"item": "Cable", "share": 0.2}, {"item": "Mismatch", "share": 0.05}]
    one_by_one = modules(EAST, WEST, losses=lines)
    assert np.allclose(one_by_one, modules(EAST, WEST) * 0.9 * 0.8 * 0.95)
    assert np.allclose(one_by_one, modules(EAST, WEST, losses=1 - 0.9 * 0.8 * 0.95))
    assert np.allclose(one_by_one, modules(EAST, WEST, losses=lines[::-1]))


def test_snow_takes_its_share_of_its_month_on_all_arrays() -> None:
    snow = [0.5, 0.1] + [0.0] * 9 + [0.3]
    left = 1.0 - np.array(snow)[MONTH]
    assert np.allclose(modules(EAST, WEST, snow=snow), modules(EAST, WEST) * left)
    assert np.allclose(modules(EAST, snow=0.2), modules(EAST) * 0.8)


def test_fade_and_first_year_loss_by_year() -> None:
    found = modules(EAST, years=4, fade=0.02, first_year_loss=0.03)
    assert found.shape == (4, 8760)
    for year in range(4):
        assert np.allclose(found[year], modules(EAST)[0] * 0.97 * 0.98**year)


def test_a_column_of_brightness_is_its_single_cases() -> None:
    """One engine: with shade, snow and losses, and through the inverter, whose limit makes it no mere factor."""
    shares = np.array([0.8, 1.0, 1.3])
    plan = system(EAST, WEST | {"shading": 0.1}, losses=0.08, snow=0.02, fade=0.01, inverter={"kw": 2.5})
    many = replace(greensboro(), brightness=shares[:, None])
    assert modules_by_year(plan, many, 3).shape == (3, 3, 8760)
    offered, clipped = offered_by_year(plan, many, 3, None)
    for case, share in enumerate(shares):
        single = replace(greensboro(), brightness=np.array([share]))
        assert np.allclose(modules_by_year(plan, many, 3)[case], modules_by_year(plan, single, 3))
        alone, cut = offered_by_year(plan, single, 3, None)
        assert np.allclose(offered[case], alone) and np.allclose(clipped[case], cut)
    assert np.allclose(modules_by_year(plan, many, 3), modules_by_year(plan, greensboro(), 3) * shares[:, None, None])
    assert clipped[2].sum() > 1.3 * clipped[1].sum() > 0


@pytest.mark.parametrize("per_hour", [1, 2, 4])
def test_steps_share_the_sun_of_their_hour(per_hour: int) -> None:
    plan = system(EAST, WEST, inverter={"kw": 2})
    hourly = offered_by_year(plan, greensboro(), 2, None)
    for whole, parts in zip(hourly, offered_by_year(plan, greensboro(per_hour), 2, None), strict=True):
        assert parts.shape == (2, 8760 * per_hour)
        assert np.allclose(parts.reshape(2, 8760, per_hour), whole[..., None] / per_hour)


def test_a_battery_before_the_inverter_is_offered_what_the_limit_would_cut() -> None:
    fields: dict[str, Any] = {"inverter": {"kw": 2, "efficiency": 0.95}}
    behind, cut = offered_by_year(system(EAST, WEST, battery=BATTERY, **fields), greensboro(), 2, None)
    before, none = offered_by_year(
        system(EAST, WEST, battery=BATTERY | {"coupling": "dc"}, **fields), greensboro(), 2, None
    )
    assert np.allclose(before, 0.95 * modules(EAST, WEST, years=2)) and not none.any()
    assert np.allclose(behind, np.minimum(before, 2.0)) and np.allclose(behind + cut, before)
    assert cut.sum() > 0


# --- the household's own production ---


def record() -> Array:
    """A year of readings, more at noon than the inverter of the scenario would let pass."""
    rng = np.random.default_rng(3)
    return np.maximum(np.sin(np.pi * (np.arange(8760) % 24 - 6) / 12), 0.0) * rng.uniform(0, 6, 8760)


@pytest.mark.parametrize("battery", ["none", BATTERY, BATTERY | {"coupling": "dc"}], ids=["none", "ac", "dc"])
def test_own_production_fades_and_holds_all_else_already(battery: Any) -> None:
    """Neither losses nor snow, the first year's loss, the inverter's efficiency nor its limit are taken off again."""
    fields = {"losses": 0.1, "snow": 0.2, "first_year_loss": 0.03, "fade": 0.02, "battery": battery}
    plan = System.model_validate({"production": "own.csv", "inverter": {"kw": 3}} | fields)
    offered, clipped = offered_by_year(plan, greensboro(), 3, record())
    assert np.array_equal(offered[0], record()) and record().max() > 5.0
    for year in range(3):
        assert np.allclose(offered[year], record() * 0.98**year)
    assert not clipped.any()
    many = replace(greensboro(), brightness=np.array([[0.9], [1.1]]))
    bright, _ = offered_by_year(plan, many, 3, record())
    assert np.allclose(bright, offered * np.array([0.9, 1.1])[:, None, None])
    quarters, _ = offered_by_year(plan, greensboro(4), 1, record())
    assert np.allclose(quarters.reshape(8760, 4), record()[:, None] / 4)


# --- use ---


def test_use_grows_and_loads_to_come_start_in_their_year_and_do_not_grow() -> None:
    base, car, pump, never = np.random.default_rng(5).random((4, 24))
    usage = Usage(base, ((1, pump), (3, car), (9, never)), None)
    found = load_by_year(usage, 0.1, 4)
    assert found.shape == (4, 24)
    for year in range(4):
        expected = base * 1.1**year + pump + (car if year >= 2 else 0.0)
        assert np.allclose(found[year], expected)
    assert np.array_equal(usage.base, base)  # and is not changed by being asked


def test_a_column_of_growth_is_its_single_cases() -> None:
    base, car = np.random.default_rng(6).random((2, 24))
    usage = Usage(base, ((2, car),), None)
    rises = [-0.02, 0.0, 0.05]
    many = load_by_year(usage, np.array(rises)[:, None], 3)
    assert many.shape == (3, 3, 24)
    for case, rise in enumerate(rises):
        assert np.allclose(many[case], load_by_year(usage, rise, 3))


def test_a_site_is_what_its_scenario_says() -> None:
    text = """
title: A brighter sky
place: {country: ZZ, latitude: 36.1, longitude: -80, timezone: America/New_York}
study: {in_service: 2026-09-01, years: 2, discount_rate: 5%, step_minutes: 15}
household:
  load:
    appliances: [{item: Lamp, watts: 100}]
    new_loads: [{item: Car, from_year: 2, kwh_a_day: 6, hours: 22-4}]
weather: {station: miami, brightness: 97%}
tariff: {energy: 0.2, rise: 0%}
system: {arrays: [{kw: 5, tilt: 30, azimuth: 180}], inverter: {kw: 5}}
costs: []
alternatives: [{name: Roof}]
"""
    site = site_of(from_text(text))
    assert np.array_equal(site.weather.ghi, read_station("miami").ghi)
    assert site.clock.per_hour == 4 and site.brightness.item() == 0.97
    use = load_by_year(site.usage, 0.0, 2)
    assert use.shape == (2, 35040)
    assert np.allclose(use[0], 0.025, rtol=0.002)  # the months keep their sums though March lacks an hour
    assert use[0].sum() == pytest.approx(876)
    night = np.isin(site.clock.hour, [22, 23, 0, 1, 2, 3])
    extra = use[1] - use[0]
    assert not extra[~night].any() and extra.sum() == pytest.approx(6 * 365)
