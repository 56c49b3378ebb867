"""Weather files of one's own: each format read right, each damage told, and one's own production."""

import json
import os
import zlib
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
import weather_samples as samples
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from pvlib import iotools

from finsolar.energy.sun import plane_irradiance, sun_position
from finsolar.energy.weather import Weather, read_station
from finsolar.energy.weather_files import WeatherFileError, read_prices, read_production, read_weather_file

Array = NDArray[np.float64]
NAMES = ("ghi", "dni", "dhi", "temp_air", "wind_speed")
KINDS = {"sample.csv": "tmy3", "sample.tm2": "tmy2", "sample.epw": "epw", "pvgis.csv": "pvgis", "pvgis.json": "pvgis"}
ROUNDED = {"sample.tm2": {"temp_air": 0.051, "wind_speed": 0.051, "ghi": 0.51, "dni": 0.51, "dhi": 0.51}}


@pytest.fixture(scope="module")
def year() -> Weather:
    return samples.made_up()


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory, year: Weather) -> dict[str, Path]:
    """The same year in every format."""
    folder = tmp_path_factory.mktemp("weather")
    return {name: write(folder / name, year) for name, write in samples.WRITERS.items()}


@pytest.fixture(scope="module")
def greensboro() -> Weather:
    return read_station("greensboro")


def west_to_east(weather: Weather) -> float:
    """Row Y-06's guard: how much more a west roof gets than an east roof, both at 30 degrees."""
    return float(plane_irradiance(weather, 30, 270).sum() / plane_irradiance(weather, 30, 90).sum())


# --- what is read ---


@pytest.mark.parametrize("name", samples.WRITERS)
def test_every_format_gives_the_year_that_was_written(name: str, files: dict[str, Path], year: Weather) -> None:
    found = read_weather_file(files[name])
    assert (found.latitude, found.longitude) == pytest.approx((year.latitude, year.longitude))
    assert (found.elevation, found.utc_offset, found.sun_at) == (300.0, -7.0, 0.5)
    assert name in found.source and found.name == Path(name).stem
    for field in NAMES:
        tolerance = ROUNDED.get(name, {}).get(field, 0.00051)
        assert getattr(found, field) == pytest.approx(getattr(year, field), abs=tolerance), field


@pytest.mark.parametrize("name", samples.WRITERS)
def test_the_kind_may_be_stated(name: str, files: dict[str, Path]) -> None:
    told, stated = read_weather_file(files[name]), read_weather_file(files[name], kind=KINDS[name])
    assert all(np.array_equal(getattr(told, field), getattr(stated, field)) for field in NAMES)
    for other in {"tmy3", "tmy2", "epw", "pvgis"} - {KINDS[name]}:
        with pytest.raises(WeatherFileError):
            read_weather_file(files[name], kind=other)


def test_an_unknown_kind(files: dict[str, Path]) -> None:
    with pytest.raises(ValueError, match="known kinds: tmy3, tmy2, epw, pvgis"):
        read_weather_file(files["sample.epw"], kind="tmy9")


def test_the_ending_does_not_matter(tmp_path: Path, files: dict[str, Path]) -> None:
    for name, path in files.items():
        other = tmp_path / f"{name}.txt"
        other.write_bytes(path.read_bytes())
        assert np.array_equal(read_weather_file(other).ghi, read_weather_file(path).ghi)


def test_a_general_reader_agrees_column_by_column(files: dict[str, Path]) -> None:
    tmy3, _ = iotools.read_tmy3(files["sample.csv"], coerce_year=1990, map_variables=True)
    tmy2, _ = iotools.read_tmy2(files["sample.tm2"])
    epw, _ = iotools.read_epw(files["sample.epw"], coerce_year=1990)
    tables = {
        "sample.csv": tmy3,
        "sample.tm2": tmy2.rename(
            columns={"GHI": "ghi", "DNI": "dni", "DHI": "dhi", "DryBulb": "temp_air", "Wspd": "wind_speed"}
        ),
        "sample.epw": epw,
        "pvgis.csv": iotools.read_pvgis_tmy(files["pvgis.csv"])[0],
        "pvgis.json": iotools.read_pvgis_tmy(files["pvgis.json"])[0],
    }
    for name, table in tables.items():
        ours = read_weather_file(files[name])
        # That reader leaves PVGIS in UTC: its row 7 is our first hour, seven hours west of Greenwich.
        turn = 7 if name.startswith("pvgis") else 0
        for field in NAMES:
            theirs = np.roll(table[field].to_numpy(np.float64), -turn)
            if name == "sample.tm2" and field in ("temp_air", "wind_speed"):
                theirs = theirs / 10.0
            assert getattr(ours, field) == pytest.approx(theirs, abs=1e-9), (name, field)


@pytest.mark.parametrize("name", ["sample.csv", "sample.epw", "pvgis.csv", "pvgis.json"])
def test_a_station_written_out_reads_back_with_its_labels(name: str, tmp_path: Path, greensboro: Weather) -> None:
    # Row Y-06: half an hour off would give 0.909 or 1.117.
    found = read_weather_file(samples.WRITERS[name](tmp_path / name, greensboro))
    assert west_to_east(found) == pytest.approx(1.006, abs=0.002)
    south, known = (plane_irradiance(weather, 36.1, 180).sum() for weather in (found, greensboro))
    assert south == pytest.approx(known, rel=1e-4)
    assert found.ghi.sum() / 1000 == pytest.approx(1566.203, abs=0.001)


@pytest.mark.parametrize(
    ("write", "moment"),
    [
        (samples.write_pvgis_csv, 0.1761),
        (samples.write_pvgis_json, 0.1761),
        (samples.write_pvgis_json, 0.5),
        (samples.write_pvgis_csv, 0.85),
    ],
)
def test_the_moment_at_which_a_satellite_looked(write: Callable[..., Path], moment: float, tmp_path: Path) -> None:
    looked = samples.made_up(moment=moment)
    stated = read_weather_file(write(tmp_path / "stated", looked))
    stamped = read_weather_file(write(tmp_path / "stamped", looked, offset=False, minute=round(moment * 60)))
    silent = read_weather_file(write(tmp_path / "silent", looked, offset=False))
    assert stated.sun_at == pytest.approx(moment)
    assert stamped.sun_at == pytest.approx(moment, abs=0.5 / 60)
    assert silent.sun_at == pytest.approx(moment, abs=0.05)
    for found in (stated, stamped, silent):
        # Every value stays in the hour of its stamp, and no roof gains from its direction.
        assert found.ghi == pytest.approx(looked.ghi, abs=0.001)
        assert west_to_east(found) == pytest.approx(1.0, abs=0.02)
    if moment != 0.5:
        assert abs(west_to_east(replace(stated, sun_at=0.5)) - 1.0) > 0.04


@pytest.mark.parametrize(
    ("longitude", "offset", "wanted", "found_offset"),
    [(-79.95, -5, None, -5), (153.0, 10, None, 10), (77.2, 5, 5.5, 6), (2.0, 0, None, 0), (2.0, 0, 1.0, 1)],
)
def test_pvgis_is_turned_to_standard_time(
    longitude: float, offset: float, wanted: float | None, found_offset: float, tmp_path: Path
) -> None:
    there = samples.made_up(latitude=-27.0, longitude=longitude, utc_offset=offset)
    found = read_weather_file(samples.write_pvgis_json(tmp_path / "there", there), utc_offset=wanted)
    assert found.utc_offset == found_offset
    assert found.ghi == pytest.approx(np.roll(there.ghi, int(found_offset - offset)), abs=0.001)
    # The brightest hour is that of the highest sun, and the night is dark.
    noon = sun_position(found)[0].reshape(365, 24).argmin(axis=1)
    assert np.abs(found.ghi.reshape(365, 24).argmax(axis=1) - noon).max() <= 1
    assert found.ghi[sun_position(found)[0] > 96].max() < 1


def test_the_last_of_february_in_leap_years_is_left_out(tmp_path: Path, files: dict[str, Path]) -> None:
    lines = files["sample.epw"].read_text().splitlines()
    begin = 8 + (31 + 28) * 24
    leap = [line.replace(",2,28,", ",2,29,", 1) for line in lines[begin - 24 : begin]]
    path = tmp_path / "leap.epw"
    path.write_text("\n".join([*lines[:begin], *leap, *lines[begin:]]))
    assert np.array_equal(read_weather_file(path).ghi, read_weather_file(files["sample.epw"]).ghi)


def test_names_in_another_alphabet_do_no_harm(tmp_path: Path, files: dict[str, Path]) -> None:
    content = files["sample.epw"].read_bytes()
    for name, place in {"old": "Köln".encode("latin-1"), "new": "Köln".encode(), "marked": b"\xef\xbb\xbf"}.items():
        changed = place + content if name == "marked" else content.replace(b"Made Up", place, 1)
        (tmp_path / name).write_bytes(changed)
        assert read_weather_file(tmp_path / name).ghi.sum() > 0


def test_a_trace_of_wind_below_zero_is_calm(tmp_path: Path, files: dict[str, Path]) -> None:
    text = files["pvgis.json"].read_text()
    book = json.loads(text)
    book["outputs"]["tmy_hourly"][7]["WS10m"] = -0.01
    (tmp_path / "wind.json").write_text(json.dumps(book))
    assert read_weather_file(tmp_path / "wind.json").wind_speed[0] == 0.0


# --- what is refused ---

HEADS = {"sample.csv": 2, "sample.tm2": 1, "sample.epw": 8, "pvgis.csv": 18}
# Where the columns of ghi, dni, temperature and wind stand in a line.
COLUMNS = {
    "sample.csv": {"ghi": 3, "dni": 5, "temp_air": 9, "wind_speed": 11},
    "sample.epw": {"ghi": 13, "dni": 14, "temp_air": 6, "wind_speed": 21},
    "pvgis.csv": {"ghi": 3, "dni": 4, "temp_air": 1, "wind_speed": 7},
}


def refused(path: Path, lines: list[str] | bytes, match: str) -> WeatherFileError:
    path.write_bytes(lines if isinstance(lines, bytes) else "\n".join(lines).encode())
    with pytest.raises(WeatherFileError, match=match) as told:
        read_weather_file(path)
    assert told.value.path == path and str(told.value).startswith(str(path))
    return told.value


@pytest.mark.parametrize("name", HEADS)
def test_an_hour_too_few_or_too_many(name: str, tmp_path: Path, files: dict[str, Path]) -> None:
    lines = files[name].read_text().splitlines()
    middle = HEADS[name] + 4000
    refused(tmp_path / name, [*lines[:middle], *lines[middle + 1 :]], "8,759 hours.*needs 8,760")
    refused(tmp_path / name, [*lines[:middle], lines[middle], *lines[middle:]], "8,761 hours.*needs 8,760")


@pytest.mark.parametrize("name", HEADS)
def test_hours_out_of_order_are_named_by_line(name: str, tmp_path: Path, files: dict[str, Path]) -> None:
    lines = files[name].read_text().splitlines()
    middle = HEADS[name] + 4000
    lines[middle], lines[middle + 1] = lines[middle + 1], lines[middle]
    error = refused(tmp_path / name, lines, "where hour 4,001 of the year belongs")
    assert error.line == middle + 1


@pytest.mark.parametrize("name", COLUMNS)
@pytest.mark.parametrize(
    ("field", "value", "match"),
    [
        ("ghi", "n/a", "ghi is 'n/a', not a number"),
        ("dni", "", "dni is '', not a number"),
        ("ghi", "9999", "ghi is 9999, not within 0 and 1500; .*marks a gap"),
        ("dni", "-9900", "dni is -9900"),
        ("dni", "nan", "dni is nan"),
        ("ghi", "inf", "ghi is inf"),
        ("ghi", "-3", "ghi is -3"),
        ("temp_air", "99.9", "temp_air is 99.9"),
        ("wind_speed", "999", "wind_speed is 999"),
    ],
)
def test_a_bad_value_is_named_by_line_and_column(
    name: str, field: str, value: str, match: str, tmp_path: Path, files: dict[str, Path]
) -> None:
    lines = files[name].read_text().splitlines()
    middle = HEADS[name] + 5000
    cells = lines[middle].split(",")
    cells[COLUMNS[name][field]] = value
    lines[middle] = ",".join(cells)
    assert refused(tmp_path / name, lines, match).line == middle + 1


def test_a_bad_value_in_fixed_columns(tmp_path: Path, files: dict[str, Path]) -> None:
    lines = files["sample.tm2"].read_text().splitlines()
    for text, place, match in (
        ("9999", slice(17, 21), "ghi is 9999"),
        ("9999", slice(67, 71), "temp_air is 999.9"),
        (" x  ", slice(23, 27), "dni is 'x', not a number"),
    ):
        line = lines[300]
        bad = [*lines[:300], line[: place.start] + text + line[place.stop :], *lines[301:]]
        assert refused(tmp_path / "bad.tm2", bad, match).line == 301


@pytest.mark.parametrize("value", [None, "abc", [], {}, -5, 9999, "1,2"])
def test_a_bad_value_in_json_is_named_by_record(value: object, tmp_path: Path, files: dict[str, Path]) -> None:
    book = json.loads(files["pvgis.json"].read_text())
    book["outputs"]["tmy_hourly"][99]["G(h)"] = value
    error = refused(tmp_path / "bad.json", json.dumps(book).encode(), "record 100: ghi is")
    assert error.line is None
    del book["outputs"]["tmy_hourly"][99]
    refused(tmp_path / "bad.json", json.dumps(book).encode(), "8,759 hours")


@pytest.mark.parametrize("name", samples.WRITERS)
@pytest.mark.parametrize("share", [0.001, 0.3, 0.9])
def test_a_file_that_breaks_off(name: str, share: float, tmp_path: Path, files: dict[str, Path]) -> None:
    content = files[name].read_bytes()
    refused(
        tmp_path / name, content[: int(share * len(content))], "breaks off|hours|no kind known|not a number|head|no"
    )


@pytest.mark.parametrize(
    ("content", "match"),
    [
        (b"", "empty"),
        (b"  \r\n\n ", "empty"),
        (b"hello\nworld\n", "no kind known here: TMY3"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "no text"),
        (zlib.compress(os.urandom(64) + b"\0" * 5000), "no text|no kind"),
        ("LOCATION,a,b\n".encode("utf-16"), "no text"),
        (b"{", "JSON breaks off"),
        (b"[" * 100_000, "no kind"),
        (b'{"a":' + b"[" * 100_000, "JSON breaks off or is damaged"),
        (b"{}", "head is not that of a PVGIS file"),
        (b'{"inputs": {"location": {}}, "outputs": {"monthly": []}}', "no hours of a typical year"),
        (b'{"inputs": {"location": {}}, "outputs": {"tmy_hourly": []}}', "head is not that"),
        (b'{"inputs": {"location": []}, "outputs": {"tmy_hourly": [1]}}', "head is not that"),
        (b"Latitude (decimal degrees): 45.0\nLongitude (decimal degrees): 8.0\ntime,G(i)\n", "no hours of a typical"),
        (b"LOCATION,only,this\n", "head is not that of a EPW file"),
        (b"LOCATION,a,b,c,d,e,45,8,1,200\n", "0 hours"),
        (b"LOCATION,a,b,c,d,e,450,8,1,200\n", "latitude in the head is 450"),
        (b"LOCATION,a,b,c,d,e,45,nan,1,200\n", "longitude in the head is nan"),
        (b"LOCATION,a,b,c,d,e,45,8,99,200\n", "offset from UTC in the head is 99"),
        (b"1,X,Y,-5,36,-80,1\nDate (MM/DD/YYYY),Time (HH:MM),ETR (W/m^2)\n", r"no column GHI \(W/m\^2\) nor DNI"),
        (b"1,X,Y\nDate (MM/DD/YYYY),Time (HH:MM)\n", "head is not that of a TMY3"),
        (b" 12839 MIAMI                  FL  -5 Q 25 48 W  80 16     2\n", "no kind known"),
    ],
)
def test_what_is_no_weather_file(content: bytes, match: str, tmp_path: Path) -> None:
    refused(tmp_path / "file", content, match)


def test_kilowatts_are_not_watts(tmp_path: Path, year: Weather) -> None:
    assert year.dni is not None and year.dhi is not None
    small = replace(year, ghi=year.ghi / 1000, dni=year.dni / 1000, dhi=year.dhi / 1000)
    refused(tmp_path / "small", samples.write_epw(tmp_path / "kw", small).read_bytes(), "these are not W/m2")


def test_a_file_that_is_too_large_is_not_even_opened(tmp_path: Path) -> None:
    path = tmp_path / "large.epw"
    with path.open("wb") as large:
        large.truncate(100_000_000)
    for read in (read_weather_file, read_production):
        with pytest.raises(WeatherFileError, match="more than 32 MB"):
            read(path)


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    for path in (tmp_path / "absent.epw", tmp_path):
        for read in (read_weather_file, read_production):
            with pytest.raises(WeatherFileError, match="no such file"):
                read(path)


@given(content=st.one_of(st.binary(max_size=300), st.text(max_size=300).map(lambda text: text.encode())))
def test_no_content_brings_another_error(content: bytes, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.getbasetemp() / "any"
    path.write_bytes(content)
    for kind in (None, "tmy3", "tmy2", "epw", "pvgis"):
        with pytest.raises(WeatherFileError):
            read_weather_file(path, kind=kind)
    with pytest.raises(WeatherFileError):
        read_production(path)


@settings(max_examples=25)
@given(data=st.data())
def test_no_damage_brings_another_error(
    data: st.DataObject, files: dict[str, Path], tmp_path_factory: pytest.TempPathFactory
) -> None:
    name = data.draw(st.sampled_from(sorted(samples.WRITERS)))
    content = bytearray(files[name].read_bytes())
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, 2000) | st.integers(0, len(content) - 1))
        content[place : place + data.draw(st.integers(0, 40))] = data.draw(st.binary(max_size=8))
    path = tmp_path_factory.getbasetemp() / "damaged"
    path.write_bytes(content)
    try:
        found = read_weather_file(path)
    except WeatherFileError as error:
        assert str(path) in str(error)
    else:
        assert found.ghi.shape == (8760,) and np.all(np.isfinite(found.ghi)) and found.ghi.min() >= 0


# --- one's own production ---


@pytest.fixture(scope="module")
def kwh(year: Weather) -> Array:
    return np.round(year.ghi / 200.0, 3)


def stamped(kwh: Array, mark: str = ",", year: int = 2025, comma: bool = False) -> list[str]:
    numbers = [str(value).replace(".", ",") if comma else str(value) for value in kwh]
    return [
        f"{year}-{month:02}-{day:02} {hour:02}:00{mark}{number}"
        for (month, day, hour), number in zip(samples.CALENDAR, numbers, strict=True)
    ]


def test_production_in_its_usual_layouts(tmp_path: Path, kwh: Array) -> None:
    leap = stamped(kwh, year=2024)
    begin = (31 + 28) * 24
    leap[begin:begin] = [f"2024-02-29T{hour:02}:00,9.9" for hour in range(24)]
    layouts = {
        "column": [str(value) for value in kwh],
        "titled column": ["kWh", *(str(value) for value in kwh)],
        "stamped": stamped(kwh),
        "titled": ["time,kWh", *stamped(kwh)],
        "decimal commas": ["Zeit;kWh", *stamped(kwh, ";", comma=True)],
        "tabs": stamped(kwh, "\t"),
        "quoted": [f'"{line.replace(",", chr(34) + "," + chr(34))}"' for line in stamped(kwh)],
        "with an offset": [line.replace(":00,", ":00-07:00,") for line in stamped(kwh)],
        "leap year": leap,
    }
    for name, lines in layouts.items():
        path = tmp_path / name
        path.write_text("\r\n".join(lines) + "\r\n\r\n")
        assert np.array_equal(read_production(path), kwh), name


def changed(lines: list[str], row: int, line: str) -> list[str]:
    return [*lines[:row], line, *lines[row + 1 :]]


@pytest.mark.parametrize(
    ("damage", "match", "line"),
    [
        (lambda lines: lines[:-1], "8,759 hours", None),
        (lambda lines: [*lines, lines[-1]], "8,761 hours", None),
        (lambda lines: changed(lines, 50, "2025-01-03 02:00,x"), "kwh is 'x', not a number", 51),
        (lambda lines: changed(lines, 50, "2025-01-03 02:00,"), "kwh is '', not a number", 51),
        (lambda lines: changed(lines, 50, "2025-01-03 02:00,-0.1"), "kwh is -0.1.*inverter draws", 51),
        (lambda lines: changed(lines, 50, "2025-01-03 02:00,4200"), "kwh is 4200.*not Wh", 51),
        (lambda lines: changed(lines, 50, "03.01.2025 02:00,1"), "no stamp: write it like 2025-01-31", 51),
        (lambda lines: changed(lines, 50, "2025-01-03 02:15,1"), "not on the full hour", 51),
        (lambda lines: changed(lines, 50, lines[51]), "hour 51 of the year belongs.*without summer", 51),
        (lambda lines: changed(lines, 50, "2025-01-03 02:00"), "every line needs", 51),
        (lambda lines: changed(lines, 50, ""), "every line needs", 51),
        (lambda lines: [line.split(",")[0] + ",0" for line in lines], "no hour has any production", None),
        (lambda lines: ["a,b,c"] * 8760, "every line needs", 2),
    ],
)
def test_production_that_cannot_be(
    damage: Callable[[list[str]], list[str]], match: str, line: int | None, tmp_path: Path, kwh: Array
) -> None:
    path = tmp_path / "own.csv"
    path.write_text("\n".join(damage(stamped(kwh))))
    with pytest.raises(WeatherFileError, match=match) as told:
        read_production(path)
    assert told.value.line == line


def hourly(year: int) -> tuple[list[str], Array]:
    """Lines that price each hour of a year by its weekday and hour, and the same prices by date without 29 February."""
    days = [
        date(year, 1, 1) + timedelta(days=k) for k in range(366) if (date(year, 1, 1) + timedelta(days=k)).year == year
    ]
    told = [(day, hour, day.weekday() + hour / 100) for day in days for hour in range(24)]
    lines = [f"{day} {hour:02}:00,{price:.2f}" for day, hour, price in told]
    return lines, np.array([price for day, _, price in told if (day.month, day.day) != (2, 29)])


@pytest.mark.parametrize("year", [2018, 2021, 2024, 2025])
def test_dated_prices_keep_their_weekdays(year: int, tmp_path: Path) -> None:
    """On the study's calendar, which begins on a Monday; by three days at most, but for one odd day of the year."""
    lines, by_date = hourly(year)
    path = tmp_path / "prices.csv"
    path.write_text("\n".join(["time,price", *lines]))

    found = read_prices(path)

    days = found.price.reshape(365, 24)
    assert found.dated == year
    assert np.allclose(days % 1, np.arange(24) / 100)
    strangers = np.flatnonzero(np.floor(days[:, 0]) != np.arange(365) % 7)
    assert len(strangers) <= 1 + (year % 4 == 0)
    assert np.allclose(np.sort(found.price), np.sort(by_date))
    if year == 2018:  # it is the study's own calendar
        assert np.allclose(found.price, by_date)


def test_prices_without_one_year_stay_where_they_are(tmp_path: Path) -> None:
    """A bare column, and stamps of several years, as a typical year has them."""
    lines, by_date = hourly(2025)
    path = tmp_path / "prices.csv"
    bare = [line.split(",")[1] for line in lines]
    mixed = [line.replace("2025-0", "2019-0", 1) for line in lines]
    for layout in (bare, ["price", *bare], mixed):
        path.write_text("\n".join(layout))
        found = read_prices(path)
        assert found.dated is None
        assert np.allclose(found.price, by_date)


@pytest.mark.parametrize(
    ("layout", "line"),
    [("{number}", 1), ('"{number}"', 1), ("{stamp},{number}", 1), ("price\n{number}", 2), ('{stamp},"{number}"', 1)],
)
def test_a_comma_between_commas_is_told_as_a_decimal_mark(layout: str, line: int, tmp_path: Path) -> None:
    path = tmp_path / "prices.csv"
    path.write_text("\n".join([layout.format(number="0,13", stamp="2025-01-01 00:00"), "0,14", "0,15"]))

    with pytest.raises(
        WeatherFileError, match=r"'0,13' seems to have a comma as its decimal mark: write 0\.13"
    ) as told:
        read_prices(path)

    assert told.value.line == line


def test_whole_prices_beside_stamps_have_no_decimal_comma(tmp_path: Path) -> None:
    path = tmp_path / "prices.csv"
    path.write_text("\n".join(line.split(",")[0] + ",5" for line in hourly(2025)[0]))

    assert (read_prices(path).price == 5.0).all()
