"""Weather and sun: what must hold besides the published figures."""

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from pvlib.atmosphere import alt2pres
from pvlib.solarposition import spa_python

from finsolar.energy.sun import array_output, inverter_output, module_output, plane_irradiance, sun_position
from finsolar.energy.weather import STATIONS, Weather, read_station


@pytest.fixture(scope="module")
def greensboro() -> Weather:
    return read_station("greensboro")


def test_stations_are_known_without_the_slow_packages() -> None:
    code = (
        "import sys; from finsolar.energy import weather, clock, sun, load, flows;"
        "assert len(weather.STATIONS) == 3;"
        "print(sorted({'pandas', 'pvlib', 'scipy', 'ruamel'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


@pytest.mark.parametrize("name", STATIONS)
def test_stations_read(name: str) -> None:
    weather = read_station(name)
    station = STATIONS[name]
    assert (weather.latitude, weather.longitude) == (station.latitude, station.longitude)
    assert station.place in weather.source and station.file in weather.source
    assert weather.elevation > 0
    assert -60 < weather.temp_air.min() < weather.temp_air.max() < 50
    assert weather.ghi.min() == 0 and 800 < weather.ghi.max() < 1361
    # With the sun well down there is next to no light.
    assert weather.ghi[sun_position(weather)[0] > 96].max() < 5


@pytest.mark.parametrize("elevation", [273.0, 3000.0])
def test_the_sun_is_seen_from_the_height_of_the_station(greensboro: Weather, elevation: float) -> None:
    # Height enters twice: thinner air bends the light less, and the sun stands a trace off its place from sea level.
    zenith, azimuth = sun_position(replace(greensboro, elevation=elevation))
    middles = pd.date_range("2018-01-01 00:30", periods=8760, freq="h", tz="Etc/GMT+5")
    place = (greensboro.latitude, greensboro.longitude)
    seen = spa_python(middles, *place, altitude=elevation, pressure=alt2pres(elevation))
    assert np.abs(zenith - seen["apparent_zenith"].to_numpy()).max() < 1e-9
    assert np.abs(azimuth - seen["azimuth"].to_numpy()).max() < 1e-9


def test_unknown_station() -> None:
    with pytest.raises(ValueError, match="known stations: greensboro, miami, sand-point"):
        read_station("atlantis")


def test_weather_refuses_wrong_lengths_and_half_pairs(greensboro: Weather) -> None:
    with pytest.raises(ValueError, match="ghi needs 8760 hours, it has 8759"):
        replace(greensboro, ghi=greensboro.ghi[1:])
    with pytest.raises(ValueError, match="both dni and dhi"):
        replace(greensboro, dni=None)


def test_a_flat_plane_sees_the_global_sum(greensboro: Weather) -> None:
    flat = plane_irradiance(greensboro, 0, 180, "isotropic").sum()
    assert flat == pytest.approx(greensboro.ghi.sum(), rel=0.002)


def test_a_file_with_only_the_global_sum_comes_close(greensboro: Weather) -> None:
    whole = plane_irradiance(greensboro, 36.1, 180).sum()
    split = plane_irradiance(replace(greensboro, dni=None, dhi=None), 36.1, 180).sum()
    assert split != whole
    assert split == pytest.approx(whole, rel=0.03)


@pytest.mark.parametrize("model", ["haydavies", "perez", "isotropic"])
def test_irradiance_is_never_negative(greensboro: Weather, model: str) -> None:
    hours = plane_irradiance(greensboro, 60, 90, model)
    assert hours.shape == (8760,) and np.all(np.isfinite(hours)) and hours.min() >= 0


def test_brighter_ground_helps_a_wall(greensboro: Weather) -> None:
    dark, bright = (plane_irradiance(greensboro, 90, 180, albedo=albedo).sum() for albedo in (0.0, 0.6))
    assert bright - dark == pytest.approx(0.6 * 0.5 * greensboro.ghi.sum(), rel=0.01)


def test_heat_costs_output() -> None:
    assert module_output(1000, 40, 1) < module_output(1000, 0, 1)
    assert module_output(1000, 40, 10) > module_output(1000, 40, 1)
    assert module_output(0, 20, 1) == 0


def test_inverter_cuts_at_its_rating() -> None:
    ac, clipped = inverter_output(np.array([[0.0, 4.0, 10.0]]), np.array([[5.0], [8.0]]), 0.9)
    assert ac.tolist() == [pytest.approx([0, 3.6, 5.0]), pytest.approx([0, 3.6, 8.0])]
    assert clipped.tolist() == [pytest.approx([0, 0, 4.0]), pytest.approx([0, 0, 1.0])]


def test_rule_of_thumb_for_a_roof(greensboro: Weather) -> None:
    # Common practice, no source: 9 kW at 4 to 5 hours of full sun make 36 to 45 kWh a day before losses.
    daily = 9 * array_output(greensboro, 36.1, 180).sum() / 365
    assert 36 < daily < 45
