"""From a weather year to the roof: radiation on the tilted plane, output of modules and of the inverter."""

from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.clock import CALENDAR_YEAR
from finsolar.energy.weather import HOURS, Weather

Array = NDArray[np.float64]
SkyModel = Literal["haydavies", "perez", "isotropic"]

GROUND_REFLECTANCE = 0.2  # common practice, no source
TEMPERATURE_COEFFICIENT = -0.0035  # per kelvin, crystalline silicon; common practice, no source


def sun_position(weather: Weather, at: float | None = None) -> tuple[Array, Array]:
    """Return the sun's zenith and azimuth for every hour.

    `at` is the part of the hour that has passed: 0 its start, 0.5 its middle, 1 its end; None for the moment
    the weather's radiation belongs to, which for means over the hour is the middle. Returns (zenith as seen
    through the air, azimuth from north through east), degrees, each (8760,). Source: the solar position
    algorithm of Reda and Andreas, Solar Energy 76, 2004.
    """
    from pvlib.atmosphere import alt2pres
    from pvlib.solarposition import spa_python

    sun = spa_python(
        _stamps(weather, weather.sun_at if at is None else at),
        weather.latitude,
        weather.longitude,
        altitude=weather.elevation,
        pressure=alt2pres(weather.elevation),
    )
    return sun["apparent_zenith"].to_numpy(np.float64), sun["azimuth"].to_numpy(np.float64)


def plane_irradiance(
    weather: Weather,
    tilt: float,
    azimuth: float,
    model: SkyModel = "haydavies",
    albedo: float = GROUND_REFLECTANCE,
) -> Array:
    """Return the radiation on a tilted plane, (8760,) W/m2, never negative.

    `tilt` in degrees from horizontal, `azimuth` in degrees from north through east (180 = south), `albedo`
    the share the ground reflects. Sky models: Hay and Davies (1980), Perez and others (1990), isotropic (Liu
    and Jordan 1963). Where the weather holds only the global sum, it is split after Erbs, Klein and Duffie
    (Solar Energy 28, 1982).
    """
    from pvlib.atmosphere import get_relative_airmass
    from pvlib.irradiance import erbs, get_extra_radiation, get_total_irradiance

    zenith, sun_azimuth = sun_position(weather)
    day = np.arange(HOURS) // 24 + 1
    dni, dhi = weather.dni, weather.dhi
    if dni is None or dhi is None:
        split = erbs(weather.ghi, zenith, day)
        dni, dhi = split["dni"], split["dhi"]
    parts = get_total_irradiance(
        tilt,
        azimuth,
        zenith,
        sun_azimuth,
        dni,
        weather.ghi,
        dhi,
        dni_extra=get_extra_radiation(day),
        airmass=get_relative_airmass(zenith),
        albedo=albedo,
        model=model,
    )
    # At night some models return NaN or a trace below zero: no light is no light.
    return np.maximum(np.nan_to_num(np.asarray(parts["poa_global"], dtype=np.float64)), 0.0)


def cell_temperature(irradiance: ArrayLike, temp_air: ArrayLike, wind_speed: ArrayLike) -> Array:
    """Return the temperature of the cells in degrees Celsius, broadcast over its inputs.

    Irradiance in W/m2, air temperature in degrees Celsius, wind in m/s: Tc = Ta + G / (25 + 6.84 v).
    Source: Faiman, Progress in Photovoltaics 16, 2008, his mean coefficients.
    """
    return np.asarray(temp_air) + np.asarray(irradiance) / (25.0 + 6.84 * np.asarray(wind_speed))


def module_output(
    irradiance: ArrayLike,
    temp_air: ArrayLike,
    wind_speed: ArrayLike,
    temperature_coefficient: float = TEMPERATURE_COEFFICIENT,
) -> Array:
    """Return the direct-current power per kW of modules, never negative, broadcast over its inputs.

    Units as in `cell_temperature`; the coefficient is the change of power per kelvin above 25 degrees
    Celsius: P = G/1000 (1 + coefficient (Tc - 25)).
    """
    heat = cell_temperature(irradiance, temp_air, wind_speed) - 25.0
    return np.maximum(np.asarray(irradiance) / 1000.0 * (1.0 + temperature_coefficient * heat), 0.0)


def array_output(
    weather: Weather,
    tilt: float,
    azimuth: float,
    temperature_coefficient: float = TEMPERATURE_COEFFICIENT,
) -> Array:
    """Return the direct-current energy of one kW of modules, (8760,) kWh an hour, less no loss but heat."""
    irradiance = plane_irradiance(weather, tilt, azimuth)
    return module_output(irradiance, weather.temp_air, weather.wind_speed, temperature_coefficient)


def inverter_output(dc: ArrayLike, kw: ArrayLike, efficiency: ArrayLike) -> tuple[Array, Array]:
    """Return what the inverter delivers and what it must cut off, kWh an hour, both alternating current.

    `dc` in kWh an hour, `kw` the inverter's rating, `efficiency` a share; all broadcast. ac = min(dc
    efficiency, kw).
    """
    offered = np.asarray(np.multiply(dc, efficiency), dtype=np.float64)
    ac = np.asarray(np.minimum(offered, kw), dtype=np.float64)
    return ac, offered - ac


def _stamps(weather: Weather, at: float) -> Any:
    """Return the pandas index of each hour's moment in UTC."""
    import pandas as pd

    start = pd.Timestamp(CALENDAR_YEAR, 1, 1) + pd.Timedelta(hours=at - weather.utc_offset)
    return pd.date_range(start.tz_localize("UTC"), periods=HOURS, freq="h")
