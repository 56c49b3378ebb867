"""The sun over a house and its clock, also where the weather is borrowed from another time zone."""

from __future__ import annotations

import numpy as np
import pytest

from finsolar.energy.clock import wall_clock
from finsolar.energy.house import Site, site_of, solar_by_year
from finsolar.energy.weather import STATIONS
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario

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
    return solar_by_year(house.alternatives[0].system, site.weather, house.study.years)[0][0]


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
