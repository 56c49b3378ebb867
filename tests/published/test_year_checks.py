"""Whole years of sun, battery and money against known values; each check carries its row id.

Beside each check stand its source and how it is known: `seen` (read in the file), `own` (our exercise, recomputed by
separate code). Rows W-01 to W-06 and M-07 to M-11 stand in other files here; this one adds the test reference years
of the German weather service, which lie in the package demandlib, and the published household profile H25.
"""

import re
from dataclasses import replace
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import closed_form
import numpy as np
import pytest
from numpy.typing import NDArray

from finsolar.energy.battery import Battery, split_evenly, store
from finsolar.energy.bound import cheapest_year
from finsolar.energy.clock import wall_clock
from finsolar.energy.standard_load import h25_hours
from finsolar.energy.sun import array_output
from finsolar.energy.sun_hours import equation_of_time, synthetic_year
from finsolar.energy.weather import DAYS_IN_MONTH, STATIONS, Weather, read_station

Array = NDArray[np.float64]
MONTH_OF_DAY = np.repeat(np.arange(12), DAYS_IN_MONTH)
MONTH_OF_HOUR = np.repeat(MONTH_OF_DAY, 24)
ROUND_TRIP = 0.90
TO_HOUSE = 0.86 * 0.96  # of the direct current
# Sea coast, plain, hills and a bare mountain top: of the reference years with measured radiation these lie nearest to
# the meridian of their zone, so that true solar time and the clock hardly part: see the check of their labels below.
SITES = (*STATIONS, "try-02", "try-04", "try-09", "try-11")
SEEDS = range(4)


# --- the years ---


def read_try(number: int) -> Weather:
    """A test reference year of 2010: radiation on the flat in two parts, hours 1 to 24 named by their end, UTC+1."""
    package = find_spec("demandlib")
    assert package is not None and package.origin is not None
    file = Path(package.origin).parent / "vdi" / "resources_weather" / f"TRY2010_{number:02}_Jahr.dat"
    lines = file.read_text(encoding="latin-1").splitlines()
    north, north_minutes, east, east_minutes, height = (int(word) for word in re.findall(r"\d+", lines[2]))
    table = np.array([line.split() for line in lines[lines.index("***") + 1 :]], dtype=np.float64)
    assert np.array_equal(table[:, 4], np.tile(np.arange(1, 25), 365))
    return Weather(
        name=f"try-{number:02}",
        latitude=north + north_minutes / 60,
        longitude=east + east_minutes / 60,
        elevation=height,
        utc_offset=1.0,
        source=file.name,
        ghi=table[:, 13] + table[:, 14],
        dni=None,
        dhi=None,
        temp_air=table[:, 8],
        wind_speed=table[:, 7],
    )


@lru_cache
def real(site: str) -> Weather:
    return read_try(int(site.removeprefix("try-"))) if site.startswith("try-") else read_station(site)


def monthly_mean(hours: Array) -> Array:
    return np.bincount(MONTH_OF_HOUR, weights=hours) / DAYS_IN_MONTH / 24


def made_up(site: str, seed: int) -> Weather:
    """A year that knows of the site only its place, its monthly sun and its monthly temperatures."""
    known = real(site)
    sun, air = 24 * monthly_mean(known.ghi) / 1000, monthly_mean(known.temp_air)
    return synthetic_year(sun, known.latitude, known.longitude, known.utc_offset, air, seed, site)


def days_alike(site: str) -> Weather:
    """The site's year with every day of a month replaced by that month's mean day."""

    def levelled(hours: Array | None) -> Array | None:
        if hours is None:
            return None
        by_day = hours.reshape(365, 24)
        return np.stack([by_day[month == MONTH_OF_DAY].mean(axis=0) for month in range(12)])[MONTH_OF_DAY].ravel()

    known = real(site)
    return replace(known, ghi=levelled(known.ghi), dni=levelled(known.dni), dhi=levelled(known.dhi))


def test_w07_potsdam() -> None:
    # Test reference year 04 of 2010, Potsdam, German weather service; seen in the file.
    potsdam = real("try-04")
    assert (potsdam.latitude, potsdam.longitude) == pytest.approx((52.38, 13.07), abs=0.005)
    assert potsdam.ghi.sum() / 1000 == pytest.approx(1074.5, abs=0.1)
    assert potsdam.temp_air.mean() == pytest.approx(9.54, abs=0.005)
    daily = [0.695, 1.061, 2.331, 4.556, 5.317, 5.812, 5.046, 4.329, 3.069, 1.856, 0.740, 0.410]
    assert 24 * monthly_mean(potsdam.ghi) / 1000 == pytest.approx(daily, abs=0.001)


@pytest.mark.parametrize(("measured", "numbers"), [(True, (2, 4, 9, 11)), (False, (10, 13, 15))])
def test_own_labels_of_the_reference_years(measured: bool, numbers: tuple[int, ...]) -> None:
    # Own. The head of each file speaks of zone time alone. Yet where the flag of the radiation is mostly 1, taken here
    # for measured, the light of a year centres on 12 o'clock whatever the longitude, as in true solar time. Where it
    # is 9 throughout, it centres half an hour before solar noon, as if a value belonged to the full hour named, not to
    # the hour before it: read like the others, those nine years would let an east roof beat a west one by a quarter.
    for number in numbers:
        year = read_try(number)
        light = year.ghi.reshape(365, 24)
        zone_noon = 12 - (year.longitude - 15) / 15 - equation_of_time(np.arange(1, 366)) / 60
        centre = (np.arange(24) + 0.5)[None]
        by_sun, by_hour = (
            abs(float((light * (centre - noon)).sum() / light.sum())) for noon in (12.0, zone_noon[:, None] - 0.5)
        )
        near, far = (by_sun, by_hour) if measured else (by_hour, by_sun)
        assert near < 0.15 < 0.19 < far, number


# --- the house ---


@lru_cache
def house(site: str, kind: str, seed: int = 0) -> Array:
    """Annual yield in kWh/kW; share of solar used in the house without and with 10 kWh of battery; share of the load
    from the sun with 10 kWh; share of solar used with 20 kWh; off the grid, share of the load left unserved and share
    of days that miss more than a twentieth of theirs.

    On the grid: 10,500 kWh a year after H25, solar of the same annual energy, 10 kWh with 5 kW or 20 with 10. Off it:
    7,000 kWh, solar 1.6 times that, 30 kWh and 8 kW. Batteries start full, keep no reserve, return 0.90.
    """
    weather = {"real": real, "alike": days_alike}[kind](site) if kind != "made up" else made_up(site, seed)
    per_kw = TO_HOUSE * array_output(weather, min(weather.latitude, 40.0), 180.0)
    share = h25_hours(wall_clock(None, weather.utc_offset))
    load, solar = share * 10_500, per_kw * 10_500 / per_kw.sum()
    on_grid = after_battery(solar - load, [0.0, 10.0, 20.0], [0.0, 5.0, 10.0])
    used = 1 - np.maximum(on_grid, 0).sum(axis=-1) / 10_500
    from_sun = 1 - np.maximum(-on_grid[1], 0).sum() / 10_500
    off_grid = after_battery(solar * 1.6 * 2 / 3 - load * 2 / 3, [30.0], [8.0])[0]
    unserved = np.maximum(-off_grid, 0).reshape(365, 24).sum(axis=1)
    short = unserved > 0.05 * load.reshape(365, 24).sum(axis=1) * 2 / 3
    return np.array([per_kw.sum(), used[0], used[1], from_sun, used[2], unserved.sum() / 7_000, short.mean()])


def after_battery(net: Array, kwh: list[float], kw: list[float]) -> Array:
    """What is left of solar less load for the grid, by battery (..., 8760) kWh."""
    capacity, limit = np.array(kwh)[:, None], np.array(kw)[:, None]
    each_way = split_evenly(ROUND_TRIP)
    run = store(net[None], np.zeros_like(capacity), capacity, limit, limit, each_way, each_way, capacity)
    return (net - run.charge + run.discharge)[:, 0]


# The rows state values for a metered house whose readings do not lie in this repository. Measured with them once, this
# engine gave, in the order of `house` (the row's in brackets where the last digit differs):
#   greensboro  1397  0.433  0.733  0.704  0.882  0.024  0.068
#   miami       1493  0.446  0.779  0.747  0.925  0.001  0.005
#   try-04      1008  0.384  0.630 (0.629)  0.606  0.731  0.182  0.315 (0.312)
# With H25 in its place: own, the batteries recomputed by a plain loop over the hours. The yields are the row's.
@pytest.mark.parametrize(
    ("site", "expected"),
    [
        pytest.param("greensboro", [1397, 0.413, 0.713, 0.684, 0.863, 0.043, 0.099], id="m01"),
        pytest.param("miami", [1493, 0.432, 0.763, 0.731, 0.916, 0.004, 0.019], id="m02"),
        pytest.param("try-04", [1008, 0.352, 0.596, 0.573, 0.689, 0.231, 0.334], id="m03"),
    ],
)
def test_m01_m02_m03_the_year_in_the_file(site: str, expected: list[float]) -> None:
    found = house(site, "real")
    assert found[0] == pytest.approx(expected[0], abs=2)
    assert found[1:6] == pytest.approx(expected[1:6], abs=0.003)
    assert found[6] == pytest.approx(expected[6], abs=0.004)


@pytest.mark.parametrize("site", SITES)
def test_m04_m05_a_made_up_year_is_like_the_file(site: str) -> None:
    # As rows M-04 and M-05, with H25; own. Mean of twelve seeds less the file, in points (yield in %):
    #               yield  no battery  10 kWh  from the sun  20 kWh  unserved
    #   greensboro   +0.5        +1.1    +1.0          +1.0    +0.2      -1.0
    #   miami        -0.1        +0.5    -1.2          -1.1    -1.2      +0.7
    #   sand-point   -2.3        +0.9    -0.7          -0.5    -2.2      +0.1
    #   try-02       -0.8        +2.7    +1.9          +2.0    +1.4      -1.5
    #   try-04       +0.0        +2.4    +1.7          +1.8    +1.0      -2.2
    #   try-09       +0.7        +2.9    +2.1          +2.2    +1.1      -0.7
    #   try-11       -1.8        +3.3    +3.9          +3.9    +2.7      -2.8
    # It fits worst in try-11, the top of a mountain; a single seed strays by another point and a half at most.
    known = house(site, "real")
    years = np.array([house(site, "made up", seed) for seed in SEEDS])
    mean = years.mean(axis=0)
    points = 0.04 if site == "try-11" else 0.03
    assert mean[0] == pytest.approx(known[0], rel=0.03)
    assert mean[1:6] == pytest.approx(known[1:6], abs=points)
    assert np.abs(years[:, 1:6] - known[1:6]).max() < points + 0.01


def test_m04_m05_over_all_sites() -> None:
    # Own. The error a household would meet, as rms over sites and seeds, in points: measured 2.0 with 10 kWh of
    # battery and 1.6 of unserved load.
    off = np.array([house(site, "made up", seed) - house(site, "real") for site in SITES for seed in SEEDS])
    rms = np.sqrt((off**2).mean(axis=0))
    assert rms[2] < 0.025 and rms[5] < 0.02


def test_m06_a_year_of_equal_days_must_fail() -> None:
    # As row M-06, with H25; own. Measured, 10 kWh of battery, in points: greensboro +8.5, miami +4.3, sand-point
    # +10.2, try-02 +4.8, try-04 +5.3, try-09 +6.6, try-11 +9.1.
    flattered = {site: house(site, "alike")[2] - house(site, "real")[2] for site in SITES}
    assert flattered["greensboro"] > 0.05 and min(flattered.values()) > 0.04
    # Row: off the grid, hardly anything is left unserved at Greensboro, where the file leaves some.
    assert house("greensboro", "alike")[5] < 0.001 < 0.03 < house("greensboro", "real")[5]
    # The made-up year is at least twice as near, everywhere.
    for site, wrong in flattered.items():
        made = np.mean([house(site, "made up", seed)[2] for seed in SEEDS]) - house(site, "real")[2]
        assert abs(made) < wrong / 2


# --- the least a year can cost; own, by linear programming with separate code ---


@lru_cache
def greensboro_house() -> tuple[Array, Array]:
    """Solar of 7.5 kW at latitude tilt, and 10,500 kWh of load after H25, (8760,) kWh each."""
    solar = 7.5 * TO_HOUSE * array_output(real("greensboro"), 36.1, 180.0)
    return solar, 10_500 * h25_hours(wall_clock(None, -5.0))


def costs(buy: Array, sell: Array) -> dict[str, float]:
    """Money of a year: without anything, with solar alone, with 10 kWh run greedily, and the bounds."""
    solar, load = greensboro_house()
    each_way = split_evenly(ROUND_TRIP)
    battery = Battery(np.array([10.0]), 0.1, 5.0, 5.0, each_way, each_way)

    def money(net: Array) -> float:
        return float(np.maximum(-net, 0) @ buy - np.maximum(net, 0) @ sell)

    def bound(free: bool) -> float:
        return cheapest_year(solar, load, buy, sell, battery, grid_charging=free, battery_export=free, cyclic=True).cost

    run = store((solar - load)[None], 1.0, np.array([10.0]), 5.0, 5.0, each_way, each_way, 1.0)
    return {
        "no solar": money(-load),
        "solar only": money(solar - load),
        "greedy": money((solar - load - run.charge + run.discharge)[0]),
        "restricted": bound(free=False),
        "free": bound(free=True),
    }


def test_p06_on_a_flat_price_greedy_is_best() -> None:
    found = costs(np.full(8760, 0.16), np.full(8760, 0.05))
    assert found["no solar"] == pytest.approx(1680.0, abs=1e-6)
    assert found["solar only"] == pytest.approx(678.85, rel=0.001)
    assert found["greedy"] == pytest.approx(408.80, rel=0.001)
    for bound in ("restricted", "free"):
        assert found[bound] == pytest.approx(found["greedy"], abs=1e-6)


def test_p08_by_the_clock_a_little_is_left() -> None:
    found = costs(closed_form.prices(), np.full(8760, closed_form.EXPORT_PRICE))
    expected = {"no solar": 2985.44, "solar only": 1396.23, "greedy": 648.10, "restricted": 635.24, "free": 546.66}
    assert found == pytest.approx(expected, rel=0.001)
    saved = {name: found["solar only"] - cost for name, cost in found.items()}
    assert saved["greedy"] / saved["restricted"] == pytest.approx(0.983, abs=0.001)
    assert saved["greedy"] / saved["free"] == pytest.approx(0.881, abs=0.001)
