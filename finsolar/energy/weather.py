"""Weather years: 8,760 hours of sun, air temperature and wind at a named station."""

from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HOURS = 8760


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

    `name` is a key of `STATIONS`. Returns a `Weather`. Raises ValueError for an unknown name. Both file
    formats hold whole hours in order from the first hour of January, whichever end of the hour they print:
    row k is hour k.
    """
    if name not in STATIONS:
        raise ValueError(f"unknown weather station {name!r}; known stations: {', '.join(STATIONS)}")
    station = STATIONS[name]
    path = _data_folder() / station.file
    elevation, columns = _read_tm2(path) if path.suffix == ".tm2" else _read_tmy3(path)
    return Weather(
        name=name,
        latitude=station.latitude,
        longitude=station.longitude,
        elevation=elevation,
        utc_offset=station.utc_offset,
        source=f"Typical meteorological year of {station.place}, file {station.file} of the pvlib package.",
        **columns,
    )


def _data_folder() -> Path:
    # find_spec locates the package without the price of importing it.
    spec = find_spec("pvlib")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("the weather stations need the package pvlib")
    return Path(spec.origin).parent / "data"


def _read_tmy3(path: Path) -> tuple[float, dict[str, Array]]:
    """Read a TMY3 file: one line on the station, one with the names of the columns, then the hours."""
    with path.open(encoding="utf-8") as lines:
        elevation = float(next(lines).split(",")[6])
        header = next(lines).strip().split(",")
        names = {
            "ghi": "GHI (W/m^2)",
            "dni": "DNI (W/m^2)",
            "dhi": "DHI (W/m^2)",
            "temp_air": "Dry-bulb (C)",
            "wind_speed": "Wspd (m/s)",
        }
        table = np.loadtxt(lines, delimiter=",", usecols=[header.index(title) for title in names.values()])
    return elevation, dict(zip(names, table.T, strict=True))


def _read_tm2(path: Path) -> tuple[float, dict[str, Array]]:
    """Read a TMY2 file: one line on the station, then the hours in fixed columns, the last two in tenths."""
    about, *lines = path.read_text(encoding="ascii").splitlines()
    columns = {
        "ghi": (slice(17, 21), 1.0),
        "dni": (slice(23, 27), 1.0),
        "dhi": (slice(29, 33), 1.0),
        "temp_air": (slice(67, 71), 10.0),
        "wind_speed": (slice(95, 98), 10.0),
    }
    return float(about.split()[-1]), {
        name: np.array([int(line[place]) for line in lines], dtype=np.float64) / unit
        for name, (place, unit) in columns.items()
    }
