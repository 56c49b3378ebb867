"""A weather year out of twelve monthly peak sun hours, with runs of dull days as real weather has them.

A year of equal days flatters a battery: real days scatter, and dull ones follow each other. So the recipe is

1. monthly clearness = sun hours / radiation outside the air;
2. daily clearness: the quantiles of Bendt's distribution at that mean, drawn a little together;
3. the order of the days: the ranks, month by month, of one seeded series in which each day leans on the last;
4. each month scaled until its radiation is exactly what was stated;
5. hours: the shares of Collares-Pereira and Rabl, in steps of ten minutes on solar time; diffuse after Erbs;
   direct as whatever closes global = diffuse + direct x cos(zenith).

Angles in and out are degrees; days count from 1 (1 January) to 365.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.weather import DAYS_IN_MONTH, Weather

Array = NDArray[np.float64]

SOLAR_CONSTANT = 1361.0  # W/m2; Kopp and Lean, Geophysical Research Letters 38, 2011 (from memory)
LOWEST_CLEARNESS = 0.05  # of a day in the distribution; Bendt, Collares-Pereira and Rabl 1981 (from memory)
SPREAD = 0.85  # of the distribution's scatter that is kept: our fit to 18 measured years
PERSISTENCE = 0.4  # how far a day leans on the one before: our fit to the same years
CLEAREST_DAY = 0.85  # more than this share of the sun never comes through the air; our fit
DULLEST_DAY = 0.02
DAILY_SWING = 4.5  # kelvin, half of the way from the night's low to the day's high; common practice, no source
WIND_SPEED = 3.0  # m/s, every hour; common practice, no source
STEPS = 6  # an hour
_MONTH_OF_DAY = np.repeat(np.arange(12), DAYS_IN_MONTH)


def declination(day: ArrayLike) -> Array:
    """Return the sun's declination in degrees: 23.45 sin(360 (284 + n) / 365).

    Source: Cooper, Solar Energy 12, 1969, as in Duffie and Beckman, section 1.6 (from memory).
    """
    return np.asarray(23.45 * np.sin(2.0 * np.pi * (284.0 + np.asarray(day)) / 365.0))


def equation_of_time(day: ArrayLike) -> Array:
    """Return by how many minutes the sundial is ahead of the mean sun.

    Source: Spencer's series, Duffie and Beckman, equation 1.5.3 (from memory).
    """
    b = 2.0 * np.pi * (np.asarray(day) - 1.0) / 365.0
    return np.asarray(
        229.2
        * (
            0.000075
            + 0.001868 * np.cos(b)
            - 0.032077 * np.sin(b)
            - 0.014615 * np.cos(2.0 * b)
            - 0.04089 * np.sin(2.0 * b)
        )
    )


def hour_angle(longitude: float, utc_offset: float, day: ArrayLike, clock: ArrayLike) -> Array:
    """Return the hour angle in degrees, negative before solar noon, within -180 to 180.

    `clock` in hours of local standard time, `utc_offset` in hours, both east positive as `longitude` is; day
    and clock broadcast. Solar time = clock + 4 min x (longitude - 15 utc_offset) + equation of time.
    """
    solar = np.asarray(clock) + (longitude - 15.0 * utc_offset) / 15.0 + equation_of_time(day) / 60.0
    return np.asarray((15.0 * solar) % 360.0 - 180.0)


def sunset_angle(latitude: float, day: ArrayLike) -> Array:
    """Return the hour angle of sunset in degrees: 0 where the sun stays down, 180 where it stays up."""
    cosine = -np.tan(np.radians(latitude)) * np.tan(np.radians(declination(day)))
    return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))))


def cos_zenith(latitude: float, day: ArrayLike, angle: ArrayLike) -> Array:
    """Return the cosine of the sun's zenith angle at an hour angle, negative at night; day and angle broadcast."""
    turn, tilt = np.radians(latitude), np.radians(declination(day))
    return np.asarray(np.sin(turn) * np.sin(tilt) + np.cos(turn) * np.cos(tilt) * np.cos(np.radians(angle)))


def extraterrestrial_between(
    latitude: float, day: ArrayLike, begin: ArrayLike, end: ArrayLike, solar_constant: float = SOLAR_CONSTANT
) -> Array:
    """Return the radiation on the horizontal outside the air between two hour angles, kWh/m2.

    The angles must lie within sunrise and sunset. All broadcast; `solar_constant` in W/m2. Source: Duffie and
    Beckman, equation 1.10.4 (from memory).
    """
    turn, tilt = np.radians(latitude), np.radians(declination(day))
    first, last = np.radians(begin), np.radians(end)
    distance = 1.0 + 0.033 * np.cos(2.0 * np.pi * np.asarray(day) / 365.0)
    swept = np.cos(turn) * np.cos(tilt) * (np.sin(last) - np.sin(first)) + (last - first) * np.sin(turn) * np.sin(tilt)
    return np.asarray(12.0 / np.pi * solar_constant / 1000.0 * distance * swept)


def extraterrestrial_daily(latitude: float, day: ArrayLike, solar_constant: float = SOLAR_CONSTANT) -> Array:
    """Return the radiation of a whole day on the horizontal outside the air, kWh/m2, shaped as `day`."""
    sunset = sunset_angle(latitude, day)
    return extraterrestrial_between(latitude, day, -sunset, sunset, solar_constant)


def hourly_share(latitude: float, day: ArrayLike, angle: ArrayLike) -> tuple[Array, Array]:
    """Return the share of a day's global and of its diffuse radiation that falls in the hour around an angle.

    Day and angle broadcast; zero outside daylight. With w the hour angle and ws that of sunset,
    r_d = pi/24 (cos w - cos ws) / (sin ws - ws cos ws) and r_t = r_d (a + b cos w), where
    a = 0.409 + 0.5016 sin(ws - 60), b = 0.6609 - 0.4767 sin(ws - 60). The hours of a day add up to 1 only
    nearly. Sources: Liu and Jordan 1960 for r_d; Collares-Pereira and Rabl, Solar Energy 22, 1979 for r_t
    (both from memory).
    """
    sunset, angle = np.radians(sunset_angle(latitude, day)), np.radians(angle)
    length = np.sin(sunset) - sunset * np.cos(sunset)
    up = (np.abs(angle) < sunset) & (length > 0.0)
    above = np.where(up, np.cos(angle) - np.cos(sunset), 0.0)
    diffuse = np.pi / 24.0 * above / np.where(up, length, 1.0)
    lean = np.sin(sunset - np.pi / 3.0)
    return diffuse * (0.409 + 0.5016 * lean + (0.6609 - 0.4767 * lean) * np.cos(angle)), diffuse


def daily_diffuse_share(clearness: ArrayLike, sunset: ArrayLike) -> Array:
    """Return the diffuse share of a day's radiation from its clearness and its sunset angle in degrees.

    Source: Erbs, Klein and Duffie, Solar Energy 28, 1982, daily correlation by season (from memory).
    """
    k = np.asarray(clearness, dtype=np.float64)
    short = 1.0 + k * (-0.2727 + k * (2.4495 + k * (-11.9514 + k * 9.3879)))
    long = 1.0 + k * (0.2832 + k * (-2.5557 + k * 0.8448))
    short, long = np.where(k < 0.715, short, 0.143), np.where(k < 0.722, long, 0.175)
    return np.where(np.asarray(sunset) > 81.4, long, short)


def clearest_day(mean: ArrayLike) -> Array:
    """Return the highest daily clearness of a month from its mean: 0.6313 + 0.267 m - 11.9 (m - 0.75)^8.

    Source: Hollands and Huget, Solar Energy 30, 1983 (from memory).
    """
    mean = np.asarray(mean, dtype=np.float64)
    return np.asarray(0.6313 + 0.267 * mean - 11.9 * (mean - 0.75) ** 8)


def clearness_slope(mean: ArrayLike) -> Array:
    """Return the exponent gamma of the daily clearness' distribution, shaped as its `mean`.

    The density is proportional to exp(gamma K) between `LOWEST_CLEARNESS` and `clearest_day(mean)`. With
    x = gamma times the width w of that window, the mean is lowest + w (1 / (1 - exp(-x)) - 1 / x), which rises
    with x: halved 60 times between -60 and 60. Raises ValueError for a mean so near an end of the window that
    it asks for more. Source: Bendt, Collares-Pereira and Rabl, Solar Energy 27, 1981 (from memory).
    """
    mean = np.asarray(mean, dtype=np.float64)
    width = clearest_day(mean) - LOWEST_CLEARNESS
    wanted = (mean - LOWEST_CLEARNESS) / width
    if not np.all((wanted > 1.0 / 60.0) & (wanted < 59.0 / 60.0)):
        raise ValueError("a month's mean clearness must lie well within those of its days")
    low, high = np.full(mean.shape, -60.0), np.full(mean.shape, 60.0)
    for _ in range(60):
        middle = (low + high) / 2.0
        with np.errstate(divide="ignore", invalid="ignore"):
            exact = -1.0 / np.expm1(-middle) - 1.0 / middle
        # Near zero the two terms cancel; the series does not.
        below = np.where(np.abs(middle) < 1e-4, 0.5 + middle / 12.0, exact) < wanted
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2.0 / width)


def clearness_quantiles(mean: ArrayLike, share: ArrayLike) -> Array:
    """Return the daily clearness below which a share of a month's days lies; mean and share broadcast.

    With u the share, K(u) = ln((1 - u) exp(gamma lowest) + u exp(gamma highest)) / gamma.
    """
    mean, share = np.asarray(mean, dtype=np.float64), np.asarray(share, dtype=np.float64)
    slope, width = clearness_slope(mean), clearest_day(mean) - LOWEST_CLEARNESS
    flat = np.abs(slope * width) < 1e-9
    slope = np.where(flat, 1.0, slope)
    sloped = np.log1p(share * np.expm1(slope * width)) / slope
    return np.asarray(LOWEST_CLEARNESS + np.where(flat, share * width, sloped))


def daily_clearness(sun_hours: Array, latitude: float, seed: int) -> Array:
    """Return the clearness of every day, (365,), such that each month keeps its radiation exactly.

    `sun_hours` (12,) kWh/m2 a day on the horizontal. Raises ValueError for more sun than comes through the air.
    """
    outside = _outside(latitude)
    in_month = np.bincount(_MONTH_OF_DAY, weights=outside, minlength=12)
    wanted = sun_hours * DAYS_IN_MONTH
    too_much = wanted > 0.99 * CLEAREST_DAY * in_month
    if np.any(too_much):
        month = int(np.argmax(too_much))
        raise ValueError(
            f"month {month + 1}: {sun_hours[month]:g} sun hours a day cannot be: outside the air the sun gives "
            f"{in_month[month] / DAYS_IN_MONTH[month]:.2f} kWh/m2 a day at latitude {latitude:g}; state the mean "
            "of the horizontal in kWh/m2 a day"
        )
    dark = in_month == 0.0
    mean = np.where(dark, 0.0, wanted / np.where(dark, 1.0, in_month))
    typical = np.clip(mean, 0.12, 0.78)
    # A share beyond 1 stands for a day the month does not have.
    share = (np.arange(31) + 0.5) / DAYS_IN_MONTH[:, None]
    drawn = clearness_quantiles(typical[:, None], np.minimum(share, 1.0))
    drawn = typical[:, None] + SPREAD * (drawn - typical[:, None])
    clearness = np.empty(365)
    clearness[np.lexsort((_day_series(seed), _MONTH_OF_DAY))] = drawn[share < 1.0]
    # A day that meets the clip hands its part to the others, so the scaling is repeated; it soon settles.
    low = np.minimum(DULLEST_DAY, mean / 2.0)[_MONTH_OF_DAY]
    for _ in range(200):
        found = np.bincount(_MONTH_OF_DAY, weights=clearness * outside, minlength=12)
        if np.allclose(found, wanted, rtol=1e-12, atol=1e-12):
            break
        factor = wanted / np.where(found > 0.0, found, 1.0)
        clearness = np.clip(clearness * factor[_MONTH_OF_DAY], low, CLEAREST_DAY)
    return clearness


def synthetic_year(
    sun_hours: ArrayLike,
    latitude: float,
    longitude: float,
    utc_offset: float,
    temperature: ArrayLike | None,
    seed: int,
    name: str,
) -> Weather:
    """Return a made-up weather year with the given monthly sun and realistic runs of dull days.

    `sun_hours` (12,) mean kWh/m2 a day on the horizontal; latitude and longitude in degrees, north and east
    positive; `utc_offset` of the standard time in hours; `temperature` (12,) monthly means in degrees Celsius,
    None for `typical_temperature`, which is our own rough guess; `seed` zero or more, the same seed gives the
    same year. Air swings by `DAILY_SWING` around each month's mean, warmest at 15 h; the wind is `WIND_SPEED`
    all year; the site counts as at sea level. Raises ValueError for anything but twelve numbers, for more sun
    than there can be and for a negative seed. The recipe is in the head of this module.
    """
    sun = _twelve(sun_hours, "sun hours")
    if not np.all(sun >= 0.0):
        raise ValueError("sun hours cannot be negative")
    if not (-90.0 <= latitude <= 90.0 and -180.0 <= longitude <= 180.0):
        raise ValueError("latitude must lie within -90 and 90 degrees, longitude within -180 and 180")
    means = typical_temperature(latitude) if temperature is None else _twelve(temperature, "temperatures")
    day = np.arange(1, 366)
    clearness = daily_clearness(sun, latitude, seed)
    daily = clearness * _outside(latitude)
    diffuse = daily * daily_diffuse_share(clearness, sunset_angle(latitude, day))

    angle = _step_angles(longitude, utc_offset)
    of_global, of_diffuse = (_by_hour(_to_one(share)) for share in hourly_share(latitude, day[:, None], angle))
    height = _by_hour(np.maximum(cos_zenith(latitude, day[:, None], angle), 0.0)) / STEPS
    ghi = 1000.0 * daily[:, None] * of_global
    dhi = np.minimum(1000.0 * diffuse[:, None] * of_diffuse, ghi)
    # With the sun on the horizon the direct part is a trace divided by next to nothing: it counts as diffuse.
    low = height < 0.03
    dhi = np.where(low, ghi, dhi)
    dni = (ghi - dhi) / np.where(low, 1.0, height)

    swing = DAILY_SWING * np.cos(2.0 * np.pi * (np.arange(24) + 0.5 - 15.0) / 24.0)
    assumed = " and air temperatures guessed from the latitude" if temperature is None else ""
    return Weather(
        name=name,
        latitude=latitude,
        longitude=longitude,
        elevation=0.0,
        utc_offset=utc_offset,
        source=f"Made-up year from twelve monthly peak sun hours{assumed}, wind {WIND_SPEED:g} m/s, seed {seed}.",
        ghi=ghi.ravel(),
        dni=dni.ravel(),
        dhi=dhi.ravel(),
        temp_air=(means[_MONTH_OF_DAY][:, None] + swing).ravel(),
        wind_speed=np.full(ghi.size, WIND_SPEED),
    )


def typical_temperature(latitude: float) -> Array:
    """Return monthly mean air temperatures in degrees Celsius, (12,), from nothing but the latitude.

    Our own rough guess, no source: 26 degrees up to latitude 20 and 0.6 less for each degree beyond; July
    (south of the equator January) a quarter of a kelvin per degree of latitude warmer, at most 12 kelvin.
    """
    away = abs(latitude)
    season = np.cos(2.0 * np.pi * (np.arange(12) - (6 if latitude >= 0 else 0)) / 12.0)
    return np.asarray(26.0 - 0.6 * max(away - 20.0, 0.0) + min(0.25 * away, 12.0) * season)


def _twelve(values: ArrayLike, what: str) -> Array:
    numbers = np.asarray(values, dtype=np.float64)
    if numbers.shape != (12,) or not np.all(np.isfinite(numbers)):
        raise ValueError(f"{what} need twelve numbers, January to December")
    return numbers


def _outside(latitude: float) -> Array:
    """Return each day's radiation outside the air, kWh/m2 (365,), none where the sun only grazes the horizon."""
    day = np.arange(1, 366)
    daily = extraterrestrial_daily(latitude, day)
    # Shorter days than this fall between two ten-minute steps.
    return np.where(sunset_angle(latitude, day) < 2.5, 0.0, daily)


def _day_series(seed: int) -> Array:
    """Return a number for each day that leans on the day before, (365,); thirty days before it has no start."""
    if seed < 0:
        raise ValueError("a seed must be zero or more")
    noise = np.random.default_rng(seed).standard_normal(365 + 30)
    return np.convolve(noise, PERSISTENCE ** np.arange(31), mode="valid")


def _step_angles(longitude: float, utc_offset: float) -> Array:
    """Return the hour angle in the middle of every step of every day, degrees (365, 24 x STEPS)."""
    clock = (np.arange(24 * STEPS) + 0.5) / STEPS
    return hour_angle(longitude, utc_offset, np.arange(1, 366)[:, None], clock)


def _to_one(share: Array) -> Array:
    total = share.sum(axis=-1, keepdims=True)
    return share / np.where(total > 0.0, total, 1.0)


def _by_hour(steps: Array) -> Array:
    return np.asarray(steps.reshape(365, 24, STEPS).sum(axis=-1))
