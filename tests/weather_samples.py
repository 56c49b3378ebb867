"""Write made-up or known weather in each file format, apart from the code that reads them.

A format's own column order, labels and units are laid down here once more, from its description, so that reading
what was written here says something about the reader.
"""

import json
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.weather import Weather

Array = NDArray[np.float64]
DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
CALENDAR = [(month + 1, day + 1, hour) for month, days in enumerate(DAYS) for day in range(days) for hour in range(24)]


def made_up(
    latitude: float = 40.0, longitude: float = -100.0, utc_offset: float = -7.0, moment: float = 0.5
) -> Weather:
    """A cloudless year whose sky is as bright before noon as after, looked at once an hour at a moment of it.

    What counts is that the moment is known, and that no roof gains by facing east or west.
    """
    from finsolar.energy.sun import sun_position

    still = np.zeros(8760)
    place = Weather("made up", latitude, longitude, 300.0, utc_offset, "", still, still, still, still, still)
    height = np.maximum(np.cos(np.radians(sun_position(place, moment)[0])), 0.0)
    up = height > 0.02
    dni = np.where(up, 950.0 * np.exp(-0.12 / np.where(up, height, 1.0)), 0.0)
    dhi = 120.0 * height**0.5
    hours = np.arange(8760)
    temperature = 12.0 - 10.0 * np.cos(2.0 * np.pi * hours / 8760) - 4.0 * np.cos(2.0 * np.pi * (hours % 24) / 24)
    return Weather(
        name="made up",
        latitude=latitude,
        longitude=longitude,
        elevation=300.0,
        utc_offset=utc_offset,
        source="Made up for a test.",
        ghi=dni * height + dhi,
        dni=dni,
        dhi=dhi,
        temp_air=temperature,
        wind_speed=3.0 + 2.0 * np.sin(hours / 50.0),
        sun_at=moment,
    )


def _columns(weather: Weather) -> tuple[Array, Array, Array, Array, Array]:
    assert weather.dni is not None and weather.dhi is not None
    return weather.ghi, weather.dni, weather.dhi, weather.temp_air, weather.wind_speed


def _hours(columns: Iterable[Array]) -> Iterator[tuple[tuple[int, int, int], tuple[float, ...]]]:
    return zip(CALENDAR, zip(*columns, strict=True), strict=True)


def write_tmy3(path: Path, weather: Weather) -> Path:
    """Hours named by their end, 01:00 to 24:00, radiation between its uncertainty columns."""
    lines = [
        f'999999,"MADE UP",XX,{weather.utc_offset:.1f},{weather.latitude:.3f},{weather.longitude:.3f},'
        f"{weather.elevation:.0f}",
        "Date (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2),GHI (W/m^2),GHI source,DNI (W/m^2),DNI source,DHI (W/m^2),"
        "DHI source,Dry-bulb (C),Dry-bulb source,Wspd (m/s),Wspd source",
    ]
    for (month, day, hour), (ghi, dni, dhi, air, wind) in _hours(_columns(weather)):
        lines.append(
            f"{month:02}/{day:02}/1995,{hour + 1:02}:00,0,{ghi:.3f},1,{dni:.3f},1,{dhi:.3f},1,{air:.3f},A,{wind:.3f},A"
        )
    return _write(path, lines, "\r\n")


def write_tmy2(path: Path, weather: Weather) -> Path:
    """Fixed columns of whole numbers, temperature and wind in tenths, hours named by their end."""

    def degrees(value: float, letters: str) -> str:
        whole, minutes = divmod(round(abs(value) * 60), 60)
        return f"{letters[value < 0]} {whole:3} {minutes:2}"

    site = f"{degrees(weather.latitude, 'NS')} {degrees(weather.longitude, 'EW')} {weather.elevation:5.0f}"
    lines = [f" 99999 {'MADEUP':22} XX {weather.utc_offset:3.0f} {site}"]
    for (month, day, hour), (ghi, dni, dhi, air, wind) in _hours(_columns(weather)):
        sun = f"{ghi:4.0f}?0{dni:4.0f}?0{dhi:4.0f}?0" + "0000?0" * 4
        sky = f"00A700A7{air * 10:4.0f}A7   0A7 50A71000A7  0A7{wind * 10:3.0f}A7"
        sky += " 100A777777A70999999999010F8050F8000A700E7"
        lines.append(f" 95{month:2}{day:2}{hour + 1:2}00000000{sun}{sky}")
    return _write(path, lines)


def write_epw(path: Path, weather: Weather) -> Path:
    """Eight lines of head, then 35 columns, hours 1 to 24 named by their end."""
    lines = [
        f"LOCATION,Made Up,-,XXX,invented,999999,{weather.latitude},{weather.longitude},{weather.utc_offset},"
        f"{weather.elevation}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,made up",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    for (month, day, hour), (ghi, dni, dhi, air, wind) in _hours(_columns(weather)):
        lines.append(
            f"1995,{month},{day},{hour + 1},0,?9,{air:.3f},5.0,60,100000,0,0,300,{ghi:.3f},{dni:.3f},{dhi:.3f},"
            f"0,0,0,0,180,{wind:.3f},5,5,20.0,77777,9,999999999,15,0.1,0,88,0.2,0.0,1.0"
        )
    return _write(path, lines)


def write_pvgis_csv(path: Path, weather: Weather, offset: bool = True, minute: int = 0) -> Path:
    """UTC, a year for each month, hours named by their start; with the offset in the head or in the stamps."""
    lines = [
        f"Latitude (decimal degrees): {weather.latitude:.3f}",
        f"Longitude (decimal degrees): {weather.longitude:.3f}",
        f"Elevation (m): {weather.elevation:.1f}",
        *([f"Irradiance Time Offset (h): {weather.sun_at:.4f}"] if offset else []),
        "month,year",
        *(f"{month},{2004 + month}" for month in range(1, 13)),
        "time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP",
        *(",".join(str(value) for value in row.values()) for row in _pvgis_rows(weather, minute)),
        "",
        "T2m: 2-m air temperature (degree Celsius)",
        "G(h): Global irradiance on the horizontal plane (W/m2)",
        "",
        "made up for a test",
    ]
    return _write(path, lines, "\r\n")


def write_pvgis_json(path: Path, weather: Weather, offset: bool = True, minute: int = 0) -> Path:
    """The same as JSON."""
    site = {"latitude": weather.latitude, "longitude": weather.longitude, "elevation": weather.elevation}
    book = {
        "inputs": {"location": site | ({"irradiance_time_offset": weather.sun_at} if offset else {})},
        "outputs": {
            "months_selected": [{"month": month, "year": 2004 + month} for month in range(1, 13)],
            "tmy_hourly": _pvgis_rows(weather, minute),
        },
        "meta": {"inputs": {}},
    }
    path.write_text(json.dumps(book), encoding="utf-8")
    return path


def _pvgis_rows(weather: Weather, minute: int) -> list[dict[str, str | float]]:
    in_utc = [np.roll(column, -int(weather.utc_offset)) for column in _columns(weather)]
    return [
        {
            "time(UTC)": f"{2004 + month}{month:02}{day:02}:{hour:02}{minute:02}",
            "T2m": round(float(air), 3),
            "RH": 60.0,
            "G(h)": round(float(ghi), 3),
            "Gb(n)": round(float(dni), 3),
            "Gd(h)": round(float(dhi), 3),
            "IR(h)": 300.0,
            "WS10m": round(float(wind), 3),
            "WD10m": 180.0,
            "SP": 100000.0,
        }
        for (month, day, hour), (ghi, dni, dhi, air, wind) in _hours(in_utc)
    ]


def _write(path: Path, lines: list[str], end: str = "\n") -> Path:
    path.write_bytes((end.join(lines) + end).encode())
    return path


WRITERS: dict[str, Callable[[Path, Weather], Path]] = {
    "sample.csv": write_tmy3,
    "sample.tm2": write_tmy2,
    "sample.epw": write_epw,
    "pvgis.csv": write_pvgis_csv,
    "pvgis.json": write_pvgis_json,
}
