"""The year made of twelve sun hours: what must hold for any place, month and seed."""

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.sun import plane_irradiance
from finsolar.energy.sun_hours import (
    CLEAREST_DAY,
    DAILY_SWING,
    WIND_SPEED,
    clearest_day,
    clearness_quantiles,
    clearness_slope,
    cos_zenith,
    daily_clearness,
    daily_diffuse_share,
    equation_of_time,
    extraterrestrial_between,
    extraterrestrial_daily,
    hour_angle,
    hourly_share,
    sunset_angle,
    synthetic_year,
    typical_temperature,
)
from finsolar.energy.weather import DAYS_IN_MONTH, Weather

Array = NDArray[np.float64]
DAY = np.arange(1, 366)
MONTH_OF_DAY = np.repeat(np.arange(12), DAYS_IN_MONTH)
MONTH_OF_HOUR = np.repeat(MONTH_OF_DAY, 24)
INVENTED = [2.0, 2.9, 4.0, 5.1, 5.8, 6.3, 6.2, 5.4, 4.4, 3.3, 2.2, 1.7]


def made(
    sun_hours: object = INVENTED,
    latitude: float = 40.0,
    longitude: float = -105.0,
    utc_offset: float = -7.0,
    seed: int = 3,
) -> Weather:
    return synthetic_year(sun_hours, latitude, longitude, utc_offset, None, seed, "made up")


def by_month(hours: Array) -> Array:
    return np.bincount(MONTH_OF_HOUR, weights=hours, minlength=12)


def outside_by_month(latitude: float) -> Array:
    daily = extraterrestrial_daily(latitude, DAY)
    return np.bincount(MONTH_OF_DAY, weights=daily, minlength=12) / DAYS_IN_MONTH


@given(
    latitude=st.floats(-66, 66),
    zone=st.integers(-12, 12),
    off_zone=st.floats(-20, 20),
    clearness=st.lists(st.floats(0.0, 0.8), min_size=12, max_size=12),
    seed=st.integers(0, 2**40),
)
def test_any_year_that_can_be_keeps_its_months(
    latitude: float, zone: int, off_zone: float, clearness: list[float], seed: int
) -> None:
    longitude = 15.0 * zone + off_zone
    assume(-180 <= longitude <= 180)
    sun_hours = np.array(clearness) * outside_by_month(latitude)
    weather = made(sun_hours, latitude, longitude, zone, seed)
    assert by_month(weather.ghi) / DAYS_IN_MONTH / 1000 == pytest.approx(sun_hours, rel=1e-9, abs=1e-9)
    assert weather.dni is not None and weather.dhi is not None
    for part in (weather.ghi, weather.dni, weather.dhi, weather.temp_air):
        assert np.all(np.isfinite(part))
    assert weather.dni.min() >= 0 and weather.dhi.min() >= 0 and np.all(weather.dhi <= weather.ghi)
    # Never more than comes in from outside the air.
    assert weather.ghi.max() < 1361 * 1.034 and weather.dni.max() < 1361 * 1.034
    daily = weather.ghi.reshape(365, 24).sum(axis=1) / 1000
    assert np.all(daily <= CLEAREST_DAY * extraterrestrial_daily(latitude, DAY) * (1 + 1e-9))


def test_the_seed_and_the_guesses_are_told() -> None:
    weather = made(seed=0)
    assert "seed 0" in weather.source and "twelve monthly peak sun hours" in weather.source
    assert f"wind {WIND_SPEED:g} m/s" in weather.source and "guessed from the latitude" in weather.source
    assert weather.name == "made up" and weather.sun_at == 0.5
    assert np.all(weather.wind_speed == WIND_SPEED)
    stated = synthetic_year(INVENTED, 40, -105, -7, np.arange(12), 0, "made up")
    assert "guessed" not in stated.source


def test_stated_temperatures_are_kept_by_month_and_swing_by_day() -> None:
    means = np.array([-4.0, -2, 3, 9, 14, 19, 22, 21, 16, 10, 3, -2])
    air = synthetic_year(INVENTED, 40, -105, -7, means, 1, "made up").temp_air
    assert by_month(air) / DAYS_IN_MONTH / 24 == pytest.approx(means)
    july = air.reshape(365, 24)[190]
    assert int(july.argmax()) in (14, 15) and int(july.argmin()) in (2, 3)
    assert july.max() - july.min() == pytest.approx(2 * DAILY_SWING, rel=0.02)


def test_guessed_temperatures_follow_season_and_latitude() -> None:
    north, south = typical_temperature(40), typical_temperature(-40)
    assert north == pytest.approx(np.roll(south, 6))
    assert int(north.argmax()) == 6 and int(south.argmax()) == 0
    assert typical_temperature(0) == pytest.approx(np.full(12, 26.0))
    assert typical_temperature(25).mean() > typical_temperature(50).mean() > typical_temperature(70).mean()


def test_direct_and_diffuse_close_on_the_global_sum() -> None:
    weather = made()
    assert weather.dni is not None and weather.dhi is not None
    clock = (np.arange(24 * 600) + 0.5) / 600
    for day in (20, 172, 300):
        # The mean height of the sun over each hour, in steps of six seconds.
        height = np.maximum(cos_zenith(40, day, hour_angle(-105, -7, day, clock)), 0).reshape(24, 600).mean(axis=1)
        hours = slice(24 * (day - 1), 24 * day)
        closed = weather.dni[hours] * height + weather.dhi[hours]
        assert closed == pytest.approx(weather.ghi[hours], rel=0.01, abs=1.0)
    flat = plane_irradiance(weather, 0, 180, "isotropic").sum()
    assert flat == pytest.approx(weather.ghi.sum(), rel=0.01)


@pytest.mark.parametrize(
    ("longitude", "utc_offset"), [(-105.0, -7.0), (-112.0, -7.0), (-98.0, -7.0), (77.2, 5.5), (153.0, 10.0)]
)
def test_east_and_west_get_the_same_wherever_the_zone_lies(longitude: float, utc_offset: float) -> None:
    weather = made(longitude=longitude, utc_offset=utc_offset)
    west, east = (plane_irradiance(weather, 30, side).sum() for side in (270, 90))
    assert west / east == pytest.approx(1.0, abs=0.01)
    # On the clock, a day's light centres on solar noon.
    light = weather.ghi.reshape(365, 24)
    centre = (light * (np.arange(24) + 0.5)).sum(axis=1) / light.sum(axis=1)
    noon = 12 - (longitude - 15 * utc_offset) / 15 - equation_of_time(DAY) / 60
    assert centre == pytest.approx(noon, abs=0.02)


def test_the_other_half_of_the_earth_has_its_summer_in_january() -> None:
    weather = made(np.roll(INVENTED, 6), latitude=-40.0)
    assert weather.ghi[: 31 * 24].sum() > 3 * weather.ghi[181 * 24 : 212 * 24].sum()
    north, south = (plane_irradiance(weather, 40, side).sum() for side in (0, 180))
    assert north > 1.5 * south


def test_dull_days_follow_each_other() -> None:
    lag, shuffled = [], []
    rng = np.random.default_rng(5)
    for seed in range(20):
        clearness = daily_clearness(np.array(INVENTED), 40.0, seed)
        mean = (np.bincount(MONTH_OF_DAY, weights=clearness) / DAYS_IN_MONTH)[MONTH_OF_DAY]
        lag.append(np.corrcoef((clearness - mean)[:-1], (clearness - mean)[1:])[0, 1])
        other = rng.permutation(clearness - mean)
        shuffled.append(np.corrcoef(other[:-1], other[1:])[0, 1])
    assert 0.2 < np.mean(lag) < 0.4
    assert abs(np.mean(shuffled)) < 0.05


def test_polar_night_and_midnight_sun() -> None:
    sun_hours = 0.5 * outside_by_month(72.0)
    dark = sun_hours < 0.1
    weather = made(np.where(dark, 0.0, sun_hours), latitude=72.0)
    assert dark.any() and by_month(weather.ghi)[dark] == pytest.approx(0.0)
    assert by_month(weather.ghi) / DAYS_IN_MONTH / 1000 == pytest.approx(np.where(dark, 0.0, sun_hours))
    assert weather.ghi.reshape(365, 24)[171].min() > 0


def test_more_sun_than_there_is() -> None:
    told = r"month 12: 6 sun hours a day cannot be: outside the air the sun gives 3\.[78]"
    with pytest.raises(ValueError, match=told):
        made([*INVENTED[:11], 6.0])
    with pytest.raises(ValueError, match=r"month 1: 0\.5 sun hours"):
        made([0.5] * 12, latitude=75.0)


@pytest.mark.parametrize(
    ("sun_hours", "match"),
    [
        (INVENTED[:11], "sun hours need twelve numbers"),
        (5.0, "sun hours need twelve numbers"),
        ([*INVENTED[:11], np.nan], "sun hours need twelve numbers"),
        ([*INVENTED[:11], -1.0], "cannot be negative"),
    ],
)
def test_sun_hours_that_cannot_be(sun_hours: object, match: str) -> None:
    with pytest.raises(ValueError, match=match):
        made(sun_hours)


def test_other_inputs_that_cannot_be() -> None:
    with pytest.raises(ValueError, match="seed must be zero or more"):
        made(seed=-1)
    for place in ((91.0, 0.0), (0.0, 181.0), (float("nan"), 0.0)):
        with pytest.raises(ValueError, match="latitude must lie within"):
            made(latitude=place[0], longitude=place[1])
    with pytest.raises(ValueError, match="temperatures need twelve numbers"):
        synthetic_year(INVENTED, 40, -105, -7, [10.0, 20.0], 1, "made up")
    for mean in (0.05, 0.9):
        with pytest.raises(ValueError, match="well within"):
            clearness_slope(mean)


@given(mean=st.floats(0.12, 0.78))
def test_quantiles_rise_and_average_to_the_mean(mean: float) -> None:
    share = (np.arange(20_000) + 0.5) / 20_000
    clearness = clearness_quantiles(mean, share)
    assert np.all(np.diff(clearness) > 0)
    assert clearness.mean() == pytest.approx(mean, abs=1e-5)
    assert clearness_quantiles(mean, [0.0, 1.0]) == pytest.approx([0.05, float(clearest_day(mean))])


def test_the_middle_of_the_distribution_has_no_slope() -> None:
    # Where the mean lies halfway, the density is even: the formula's 0 / 0.
    low, high = 0.2, 0.5
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if middle < (0.05 + clearest_day(middle)) / 2 else (low, middle)
    assert clearness_slope(middle) == pytest.approx(0.0, abs=1e-6)
    assert clearness_quantiles(middle, 0.25) == pytest.approx(0.05 + 0.25 * (clearest_day(middle) - 0.05), abs=1e-6)


@given(latitude=st.floats(-89, 89), day=st.integers(1, 365))
def test_hours_outside_the_air_add_up_to_the_day(latitude: float, day: int) -> None:
    sunset = float(sunset_angle(latitude, day))
    edges = np.linspace(-sunset, sunset, 9)
    parts = extraterrestrial_between(latitude, day, edges[:-1], edges[1:])
    whole = float(extraterrestrial_daily(latitude, day))
    assert parts.min() >= -1e-12 and parts.sum() == pytest.approx(whole, abs=1e-12)
    # The same by adding up the sun's height.
    angle = np.linspace(-180, 180, 20_001)
    height = np.maximum(cos_zenith(latitude, day, angle), 0).mean() * 24 * 1.361
    assert whole == pytest.approx(height * (1 + 0.033 * np.cos(2 * np.pi * day / 365)), abs=2e-3)


@pytest.mark.parametrize("sunset", [70.0, 100.0])
def test_diffuse_share_falls_with_clearness_and_hardly_jumps(sunset: float) -> None:
    share = daily_diffuse_share(np.linspace(0.0, 0.9, 400), sunset)
    assert share[0] == 1.0 and np.all((share > 0.14) & (share <= 1.01))
    assert np.all(np.diff(share) < 0.006) and np.abs(np.diff(share)).max() < 0.03


def test_no_share_in_the_dark() -> None:
    for latitude, day, angle in ((40.0, 355, 100.0), (80.0, 355, 0.0)):
        assert [float(share) for share in hourly_share(latitude, day, angle)] == [0.0, 0.0]


def test_no_slow_package_is_needed() -> None:
    code = (
        "import sys; from finsolar.energy.sun_hours import synthetic_year;"
        "from finsolar.energy import weather_files;"
        "synthetic_year([3.0] * 12, 30, 0, 0, None, 1, 'made up');"
        "print(sorted({'pandas', 'pvlib', 'scipy'} & set(sys.modules)))"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
