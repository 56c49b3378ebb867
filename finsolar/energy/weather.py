"""Weather years: 8,760 hours of sun, air temperature and wind at a named station."""

from dataclasses import dataclass, replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HOURS = 8760
DAYS_IN_MONTH = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


@dataclass(frozen=True)
class Station:
    """A station whose typical year ships inside pvlib's data folder.

    `latitude` and `longitude` in degrees (north and east positive), `utc_offset` in hours (east positive);
    `place` holds the words a person would use for it.
    """

    name: str
    file: str
    latitude: float
    longitude: float
    utc_offset: float
    place: str


@dataclass(frozen=True, eq=False)
class Weather:
    """One weather year at one place, hour by hour.

    `ghi`, `dni`, `dhi` (global horizontal, direct normal, diffuse horizontal) in W/m2, `temp_air` in degrees
    Celsius, `wind_speed` in m/s: each (8760,), left-labelled hours from 1 January 00:00 local standard time,
    without 29 February. `dni` and `dhi` are None together where only the global sum was measured. `latitude`
    and `longitude` in degrees (north and east positive), `elevation` in metres, `utc_offset` in hours.
    `sun_at` is the moment of the hour, 0 its start and 1 its end, whose sun the radiation belongs to: the middle
    for means over the hour, another where a satellite looked once an hour.
    """

    name: str
    latitude: float
    longitude: float
    elevation: float
    utc_offset: float
    source: str
    ghi: Array
    dni: Array | None
    dhi: Array | None
    temp_air: Array
    wind_speed: Array
    sun_at: float = 0.5

    def __post_init__(self) -> None:
        """Refuse a year of the wrong length and half a pair of direct and diffuse radiation."""
        if (self.dni is None) != (self.dhi is None):
            raise ValueError(f"weather {self.name}: give both dni and dhi, or neither")
        for field in ("ghi", "dni", "dhi", "temp_air", "wind_speed"):
            values = getattr(self, field)
            if values is not None and values.shape != (HOURS,):
                raise ValueError(f"weather {self.name}: {field} needs {HOURS} hours, it has {values.size}")


STATIONS: dict[str, Station] = {
    station.name: station
    for station in (
        Station("greensboro", "723170TYA.CSV", 36.10, -79.95, -5.0, "Greensboro, North Carolina"),
        Station("miami", "12839.tm2", 25.80, -80.2667, -5.0, "Miami, Florida"),
        Station("sand-point", "703165TY.csv", 55.317, -160.517, -9.0, "Sand Point, Alaska"),
    )
}


def read_station(name: str) -> Weather:
    """Read the typical year of a station.

    `name` is a key of `STATIONS`. Returns a `Weather`. Raises ValueError for an unknown name.
    """
    from finsolar.energy.weather_files import read_weather_file

    if name not in STATIONS:
        raise ValueError(f"unknown weather station {name!r}; known stations: {', '.join(STATIONS)}")
    station = STATIONS[name]
    return replace(
        read_weather_file(_data_folder() / station.file),
        name=name,
        latitude=station.latitude,
        longitude=station.longitude,
        utc_offset=station.utc_offset,
        source=f"Typical meteorological year of {station.place}, file {station.file} of the pvlib package.",
    )


def _data_folder() -> Path:
    # find_spec locates the package without the price of importing it.
    spec = find_spec("pvlib")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("the weather stations need the package pvlib")
    return Path(spec.origin).parent / "data"
