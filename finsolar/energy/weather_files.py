"""The house's own files: typical years in the open formats, and an hourly record of production.

Whatever the format, the numbers leave here as 8,760 hours of local standard time, each named by its start:

- TMY3 and TMY2 and EPW name an hour by its end, 1 to 24, in local standard time;
- PVGIS names it by its start in UTC, and its satellite looked once in the hour, at a moment the file states as
  an offset or as the minute of its stamps; where it states neither, the sun itself tells.
"""

from __future__ import annotations

import json
import re
from calendar import isleap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.sun_hours import cos_zenith, hour_angle
from finsolar.energy.weather import DAYS_IN_MONTH, HOURS, Weather
from finsolar.energy.weekdays import places_by_weekday

Array = NDArray[np.float64]
Kind = Literal["tmy3", "tmy2", "epw", "pvgis"]

LARGEST_FILE = 32_000_000  # bytes; an hourly year takes one or two million
KINDS = "TMY3 (CSV), TMY2, EPW, PVGIS typical year (CSV or JSON)"
_GAP = "a value such as 99.9, 999, 9999 or -9900 marks a gap: fill it or take another file"
# What each column may hold: whole numbers for the stamp, then W/m2, degrees Celsius and m/s. No more than a trace
# above the radiation outside the air; a trace below zero is how interpolated wind rounds.
_LIMITS = {
    "month": (1.0, 12.0),
    "day": (1.0, 31.0),
    "hour": (0.0, 24.0),
    "ghi": (0.0, 1500.0),
    "dni": (0.0, 1500.0),
    "dhi": (0.0, 1500.0),
    "temp_air": (-75.0, 65.0),
    "wind_speed": (-0.1, 75.0),
    "kwh": (0.0, 1000.0),
    "price": (-100.0, 1000.0),
}
_NAMES = [name for name in _LIMITS if name not in ("kwh", "price")]
_HINTS = {
    "kwh": "write kWh, not Wh, and 0 where the inverter draws power itself",
    "price": "write money per kWh, not per MWh",
}
_DECIMAL_COMMA = re.compile(r'(?:"?[^,]*[-/:][^,]*,)?\s*"?([-+]?\d+,\d+)"?\s*')
"""A line that holds a number with a decimal comma, with or without a stamp before it."""
_MONTH_START = np.cumsum(DAYS_IN_MONTH) - DAYS_IN_MONTH


class WeatherFileError(ValueError):
    """What is wrong with a file, where, and how to mend it: `path`, `line` (None for the whole file), `problem`."""

    def __init__(self, path: Path, problem: str, line: int | None = None) -> None:
        self.path, self.problem, self.line = path, problem, line
        super().__init__(f"{path}{'' if line is None else f':{line}'}: {problem}")


@dataclass(frozen=True)
class _File:
    path: Path
    lines: list[str]

    def error(self, problem: str, line: int | None = None) -> WeatherFileError:
        return WeatherFileError(self.path, problem, line)


@dataclass(frozen=True)
class _Head:
    """The site in degrees, metres and hours; whether stamps name the end of the hour; the moment of the sun."""

    latitude: float
    longitude: float
    elevation: float
    utc_offset: float
    ends: bool = True
    sun_at: float | None = 0.5


@dataclass(frozen=True)
class _Rows:
    """The hours as text between commas, which of its columns count, and the line each stands in (None in JSON)."""

    texts: list[str]
    columns: list[int]
    lines: Sequence[int] | None


def read_weather_file(path: str | Path, kind: Kind | None = None, utc_offset: float | None = None) -> Weather:
    """Read a typical year out of a file in an open format.

    `kind` is told from the file's head where it is None. `utc_offset` in hours is the standard time to which a
    PVGIS file, which is in UTC, is turned: where it is None, the whole hour nearest to longitude / 15; half hours
    go to the next whole one, which the returned `Weather` states. The other kinds state their own. 29 February is
    left out. Raises WeatherFileError for a file that cannot be read, is not 8,760 hours in order, or holds a value
    that is missing or cannot be; ValueError for an unknown kind.
    """
    file = _open(Path(path))
    kind = _kind(file) if kind is None else kind
    if kind not in _READERS:
        raise ValueError(f"unknown kind of weather file {kind!r}; known kinds: {', '.join(_READERS)}")
    try:
        head, rows = _READERS[kind](file)
    except WeatherFileError:
        raise
    except (AttributeError, LookupError, TypeError, ValueError) as error:
        raise file.error(f"the head is not that of a {kind.upper()} file; known kinds: {KINDS}", 1) from error
    _check_site(file, head)
    hours = _whole_year(file, rows, head.ends)
    local, sun_at = head.utc_offset, head.sun_at
    if sun_at is None:
        sun_at = _sun_moment(head, hours)
    if kind == "pvgis":
        local = float(np.floor(0.5 + (head.longitude / 15.0 if utc_offset is None else utc_offset)))
        hours = {name: np.roll(values, int(local)) for name, values in hours.items()}
    return Weather(
        name=file.path.stem,
        latitude=head.latitude,
        longitude=head.longitude,
        elevation=head.elevation,
        utc_offset=local,
        source=f"Typical year from the file {file.path.name} ({kind.upper()}).",
        **hours,
        sun_at=sun_at,
    )


def read_production(path: str | Path) -> Array:
    """Read an hourly record of one's own production, alternating current, (8760,) kWh; laid out as in `read_prices`.

    Raises WeatherFileError for what is not such a year.
    """
    file, kwh, _ = _hours(path, "kwh", "kWh")
    if not np.any(kwh > 0.0):
        raise file.error("no hour has any production")
    return kwh


@dataclass(frozen=True, eq=False)
class PriceYear:
    """The price of each hour of the study's year, (8760,) money per kWh, and the year that its stamps name, if one."""

    price: Array
    dated: int | None


def read_prices(path: str | Path) -> PriceYear:
    """Read the price of each hour of a year, money per kWh, which may be below zero.

    The file holds either a single column of 8,760 numbers or a stamp such as 2025-01-31 14:00 and a number,
    divided by comma, semicolon or tab; a first line of titles is passed over. Hours are named by their start, in
    local standard time from 1 January, and 29 February is left out. Decimal commas are understood between
    semicolons or tabs. Where all stamps are of one year its days are set on the study's calendar so that each keeps
    its weekday, as those of a meter are; else the year is taken to begin on a Monday. Raises WeatherFileError for
    what is not such a year.
    """
    _, price, years = _hours(path, "price", "money per kWh")
    if len(years) != 1:
        return PriceYear(price, None)
    (year,) = years
    dates = np.datetime64(f"{year:04}-01-01", "D") + np.arange(365 + isleap(year))
    if isleap(year):
        dates = np.delete(dates, 59)  # 29 February
    days = price.reshape(-1, 24)
    placed = np.empty_like(days)
    placed[places_by_weekday(dates)] = days
    return PriceYear(placed.reshape(-1), year)


def _hours(path: str | Path, name: str, unit: str) -> tuple[_File, Array, set[int]]:
    """Return the numbers of a year of hours, (8760,), and the years that its stamps name."""
    file = _open(Path(path))
    mark = next((mark for mark in ";\t" if mark in file.lines[-1]), ",")
    table = [[cell.strip().strip('"') for cell in line.split(mark)] for line in file.lines]
    if mark != ",":
        table = [[*row[:-1], row[-1].replace(",", ".")] for row in table]
    titles = 0 if _is_number(table[0][-1]) else 1
    stamped = len(table[-1]) == 2
    texts, lines, years = [], [], set()
    for number, row in enumerate(table[titles:], titles + 1):
        comma = _DECIMAL_COMMA.fullmatch(file.lines[number - 1]) if mark == "," else None
        if comma is not None:
            raise file.error(
                f"{comma[1]!r} seems to have a comma as its decimal mark: write {comma[1].replace(',', '.')}", number
            )
        if len(row) != 1 + stamped:
            raise file.error(f"every line needs one number, or every line a stamp and a number, of {unit}", number)
        if stamped:
            stamp = _stamp(file, row[0], number)
            years.add(stamp.year)
            texts.append(f"{stamp.month},{stamp.day},{stamp.hour},{row[1]}")
        else:
            texts.append(row[0])
        lines.append(number)
    names = [*(("month", "day", "hour") if stamped else ()), name]
    rows = _Rows(texts, list(range(len(names))), lines)
    return file, _in_order(file, rows, names, ends=False)[name], years


def _stamp(file: _File, text: str, line: int) -> datetime:
    """Return a stamp on the full hour."""
    try:
        stamp = datetime.fromisoformat(text)
    except ValueError:
        raise file.error(f"{text!r} is no stamp: write it like 2025-01-31 14:00", line) from None
    if stamp.minute or stamp.second:
        raise file.error(f"{text!r} is not on the full hour: one line for each hour, named by its start", line)
    return stamp


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def _open(path: Path) -> _File:
    """Read the lines of a text file, without blank ones at its end."""
    try:
        if not path.is_file():
            raise WeatherFileError(path, "there is no such file")
        if path.stat().st_size > LARGEST_FILE:
            raise WeatherFileError(path, f"more than {LARGEST_FILE // 1_000_000} MB: no hourly year is that large")
        content = path.read_bytes()
    except OSError as error:
        raise WeatherFileError(path, f"the file cannot be read: {error.strerror or error}") from error
    if b"\0" in content:
        raise WeatherFileError(path, "this is no text: unpack it, or save it as text in UTF-8")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        # Only names of places go beyond plain letters, so any reading of them will do.
        text = content.decode("latin-1")
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.rstrip().split("\n")
    if lines == [""]:
        raise WeatherFileError(path, "the file is empty")
    return _File(path, lines)


def _kind(file: _File) -> Kind:
    first = file.lines[0].lstrip()
    second = file.lines[1] if len(file.lines) > 1 else ""
    if first.startswith(("{", "Latitude (decimal degrees)")):
        return "pvgis"
    if first.startswith("LOCATION,"):
        return "epw"
    if second.startswith("Date (MM/DD/YYYY),"):
        return "tmy3"
    if re.match(r"\d{5} .{22} .{2} +-?\d+ [NS] +\d+ +\d+ [EW] ", first):
        return "tmy2"
    raise file.error(f"the head is of no kind known here: {KINDS}", 1)


def _tmy3(file: _File) -> tuple[_Head, _Rows]:
    """One line on the site, one of titles, then the hours."""
    offset, latitude, longitude, elevation = (float(cell) for cell in file.lines[0].split(",")[-4:])
    titles = file.lines[1].split(",")
    columns = _columns(file, titles, ["GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)", "Dry-bulb (C)", "Wspd (m/s)"], 2)
    texts = [f"{line[:2]},{line[3:5]},{line[11:16].removesuffix(':00')},{line}" for line in file.lines[2:]]
    rows = _Rows(texts, [0, 1, 2, *(3 + column for column in columns)], range(3, 3 + len(texts)))
    return _Head(latitude, longitude, elevation, offset), rows


def _tmy2(file: _File) -> tuple[_Head, _Rows]:
    """One line on the site, then the hours in fixed columns, temperature and wind in tenths."""
    *_, offset, north, lat, lat_min, east, lon, lon_min, elevation = file.lines[0].split()
    latitude = (float(lat) + float(lat_min) / 60.0) * {"N": 1, "S": -1}[north]
    longitude = (float(lon) + float(lon_min) / 60.0) * {"E": 1, "W": -1}[east]
    short = next((number for number, line in enumerate(file.lines[1:], 2) if len(line) < 98), None)
    if short is not None:
        raise file.error("the line breaks off", short)
    texts = [
        f"{line[3:5]},{line[5:7]},{line[7:9]},{line[17:21]},{line[23:27]},{line[29:33]},{line[67:71]}e-1,{line[95:98]}e-1"
        for line in file.lines[1:]
    ]
    rows = _Rows(texts, list(range(8)), range(2, 2 + len(texts)))
    return _Head(latitude, longitude, float(elevation), float(offset)), rows


def _epw(file: _File) -> tuple[_Head, _Rows]:
    """Some lines on the site and its climate, the last of them DATA PERIODS, then the hours."""
    latitude, longitude, offset, elevation = (float(cell) for cell in file.lines[0].split(",")[6:10])
    begin = next(k for k, line in enumerate([*file.lines, "DATA PERIODS"], 1) if line.startswith("DATA PERIODS"))
    texts = file.lines[begin:]
    rows = _Rows(texts, [1, 2, 3, 13, 14, 15, 6, 21], range(begin + 1, begin + 1 + len(texts)))
    return _Head(latitude, longitude, elevation, offset), rows


_PVGIS = ["time(UTC)", "G(h)", "Gb(n)", "Gd(h)", "T2m", "WS10m"]


def _pvgis(file: _File) -> tuple[_Head, _Rows]:
    """JSON; or CSV with lines on the site, titles, the hours, and a key to the titles after a blank line."""
    site: dict[str, Any]
    if file.lines[0].lstrip().startswith("{"):
        try:
            book = json.loads("\n".join(file.lines))
        except (ValueError, RecursionError) as error:
            raise file.error(f"the JSON breaks off or is damaged: {error}") from error
        site, outputs = book["inputs"]["location"], book["outputs"]
        offset = site.get("irradiance_time_offset")
        if "tmy_hourly" not in outputs:
            raise file.error(_NO_TYPICAL_YEAR)
        records = ([str(record.get(title)).replace(",", ";") for title in _PVGIS] for record in outputs["tmy_hourly"])
        texts = [",".join(record) for record in records]
        columns, lines = list(range(6)), None
    else:
        site = {}
        for line in file.lines[:5]:
            title, _, value = line.partition(":")
            site[title.partition(" (")[0].lower()] = value
        offset = site.get("irradiance time offset")
        begin = next((k for k, line in enumerate(file.lines, 1) if line.startswith("time(UTC),")), None)
        if begin is None:
            raise file.error(_NO_TYPICAL_YEAR)
        columns = _columns(file, file.lines[begin - 1].split(","), _PVGIS, begin)
        end = next((k for k, line in enumerate(file.lines) if k >= begin and not line.strip()), len(file.lines))
        texts, lines = file.lines[begin:end], range(begin + 1, end + 1)
    latitude, longitude, elevation = (float(site[key]) for key in ("latitude", "longitude", "elevation"))
    sun_at = None if offset is None else float(offset)
    minutes = {text[11:13] for text in texts}
    if len(minutes) == 1 and minutes != {"00"}:
        sun_at = float(minutes.pop()) / 60.0
    texts = [f"{text[4:6]},{text[6:8]},{text[9:11]},{text}" for text in texts]
    rows = _Rows(texts, [0, 1, 2, *(3 + column for column in columns[1:])], lines)
    return _Head(latitude, longitude, elevation, 0.0, ends=False, sun_at=sun_at), rows


_NO_TYPICAL_YEAR = (
    "no hours of a typical year, which stand under time(UTC) in CSV and tmy_hourly in JSON: an hourly series of "
    "one's own plane, or monthly values, will not do"
)
_READERS: dict[str, Callable[[_File], tuple[_Head, _Rows]]] = {
    "tmy3": _tmy3,
    "tmy2": _tmy2,
    "epw": _epw,
    "pvgis": _pvgis,
}


def _columns(file: _File, titles: list[str], wanted: list[str], line: int) -> list[int]:
    """Return where the wanted titles stand."""
    found = [title.strip() for title in titles]
    missing = [title for title in wanted if title not in found]
    if missing:
        raise file.error(f"no column {' nor '.join(missing)}", line)
    return [found.index(title) for title in wanted]


def _check_site(file: _File, head: _Head) -> None:
    """Refuse a site that is not on this Earth."""
    known = {
        "latitude": (head.latitude, -90.0, 90.0),
        "longitude": (head.longitude, -180.0, 180.0),
        "elevation": (head.elevation, -500.0, 9000.0),
        "offset from UTC": (head.utc_offset, -12.0, 14.0),
        "time offset of the sun": (0.5 if head.sun_at is None else head.sun_at, -1.0, 1.0),
    }
    for name, (value, low, high) in known.items():
        if not low <= value <= high:
            raise file.error(f"the {name} in the head is {value:g}, not within {low:g} and {high:g}", 1)


def _whole_year(file: _File, rows: _Rows, ends: bool) -> dict[str, Array]:
    """Return the weather's columns, (8760,) each, in the order of the hours."""
    hours = _in_order(file, rows, _NAMES, ends)
    if hours["ghi"].max() < 20.0:
        raise file.error(f"the brightest hour has {hours['ghi'].max():g} W/m2: these are not W/m2")
    return {**hours, "wind_speed": np.maximum(hours["wind_speed"], 0.0)}


def _numbers(file: _File, rows: _Rows, names: list[str]) -> Array:
    """Return the columns that count as numbers, (rows, names)."""
    if not rows.texts:
        return np.empty((0, len(names)))
    try:
        table = np.loadtxt(rows.texts, delimiter=",", usecols=rows.columns, comments=None, ndmin=2)
    except ValueError:
        table = np.empty((0, len(names)))
    if len(table) == len(rows.texts):
        return table
    # The quick reader does not say where it stumbled, and passes over blank lines.
    for k, text in enumerate(rows.texts):
        cells = text.split(",")
        if len(cells) <= max(rows.columns):
            raise _at(file, rows, k, "the line breaks off")
        for name, column in zip(names, rows.columns, strict=True):
            if not _is_number(cells[column]):
                raise _at(file, rows, k, f"{name} is {cells[column].strip()!r}, not a number")
    raise file.error("some hour holds what is no plain number")


def _in_order(file: _File, rows: _Rows, names: list[str], ends: bool) -> dict[str, Array]:
    """Return each column of 8,760 hours in order, without 29 February and without the stamp; refuse all else."""
    table = _numbers(file, rows, names)
    stamped = names[0] == "month"
    row = np.arange(len(table))
    if stamped:
        row = row[~((table[:, 0] == 2) & (table[:, 1] == 29))]
    table = table[row]
    if len(table) != HOURS:
        left_out = ", 29 February left out" if stamped else ""
        raise file.error(f"{len(table):,} hours{left_out}; a year needs {HOURS:,}, one line for each")
    for name, values in zip(names, table.T, strict=True):
        low, high = _LIMITS[name]
        wrong = np.flatnonzero(~((values >= low) & (values <= high)))
        if wrong.size:
            hint = _HINTS.get(name, _GAP)
            problem = f"{name} is {values[wrong[0]]:g}, not within {low:g} and {high:g}; {hint}"
            raise _at(file, rows, int(row[wrong[0]]), problem)
    if stamped:
        month, day, hour = table[:, :3].T
        found = (_MONTH_START[month.astype(np.int64) - 1] + day - 1) * 24 + hour - ends
        wrong = np.flatnonzero(found % HOURS != np.arange(HOURS))
        if wrong.size:
            problem = (
                f"the stamp says month {month[wrong[0]]:g}, day {day[wrong[0]]:g}, hour {hour[wrong[0]]:g}, where hour "
                f"{wrong[0] + 1:,} of the year belongs; hours must follow each other in standard time, without summer "
                "time"
            )
            raise _at(file, rows, int(row[wrong[0]]), problem)
    return {name: table[:, k].copy() for k, name in enumerate(names) if name not in ("month", "day", "hour")}


def _at(file: _File, rows: _Rows, row: int, problem: str) -> WeatherFileError:
    """Return an error that names the line, or where lines mean nothing the number of the record."""
    return file.error(f"record {row + 1}: {problem}") if rows.lines is None else file.error(problem, rows.lines[row])


def _sun_moment(head: _Head, hours: dict[str, Array]) -> float:
    """Return the moment of the hour at which direct and diffuse radiation add up to the global best.

    Direct radiation was made from its horizontal part with the sun at that moment, so
    global - diffuse = direct x cos(zenith) holds there and nowhere else.
    """
    bright = np.flatnonzero(hours["ghi"] > 100.0)
    day = bright // 24 + 1
    moments = np.linspace(0.0, 1.0, 21)[:-1]
    angle = hour_angle(head.longitude, head.utc_offset, day, bright % 24 + moments[:, None])
    ghi, dni, dhi = (hours[name][bright] for name in ("ghi", "dni", "dhi"))
    left = ghi - dhi - dni * np.maximum(cos_zenith(head.latitude, day, angle), 0.0)
    return float(moments[np.argmin((left**2).sum(axis=-1))])
