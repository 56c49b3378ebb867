"""Sun and use come from where the scenario says, and a file that will not do is told in one line."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from meter_samples import year_lines
from scenario.house import house, line_of
from typer.testing import CliRunner
from weather_samples import made_up, write_epw

import finsolar
from finsolar.cli import app
from finsolar.energy.house import Site, load_by_year, site_of
from finsolar.energy.sources import production_of, weather_of
from finsolar.energy.weather import DAYS_IN_MONTH, read_station
from finsolar.scenario.numbers import settled
from finsolar.scenario.problems import Problem, ScenarioError
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario

WEATHER = "weather: greensboro"
LOAD = "load: {monthly_kwh: [900, 800, 700, 600, 600, 700, 900, 900, 700, 600, 700, 900], shape: evening}"
ARRAYS = "arrays: [{kw: 5, tilt: 30, azimuth: 180}]"
PLACES = {"weather.file": WEATHER, "household.load.file": LOAD, "system.production": ARRAYS}
"""What a file stands in for, by the field that names it."""
SUN_HOURS = [2.5, 3.2, 4.3, 5.3, 5.8, 6.2, 6.0, 5.4, 4.6, 3.7, 2.7, 2.3]


def naming(field: str, name: str) -> str:
    """Return the house with a file in one of the places that take one."""
    block, _, last = field.rpartition(".")
    new = f"{last}: {name}" if last == "production" else f"{block.rpartition('.')[2]}: {{{last}: {name}}}"
    return house(PLACES[field], new)


def used(scenario: Scenario) -> Site:
    """Return the site of a scenario, after its records of production have been read too."""
    for i, plan in enumerate(scenario.alternatives):
        if plan.system.production is not None:
            production_of(scenario, plan.system.production, f"alternatives.{i}.system.production")
    return site_of(settled(scenario))


def refusal(text: str, folder: Path) -> Problem:
    """Return the only fault with which the files or numbers of a scenario are refused; it fills one line."""
    path = folder / "house.yaml"
    path.write_text(text, encoding="utf-8")
    scenario = finsolar.read(path)
    with pytest.raises(ScenarioError) as caught:
        used(scenario)
    (problem,) = caught.value.problems
    assert len(str(caught.value).splitlines()) == 1
    assert problem.mend
    return problem


def nothing(path: Path) -> None:
    """Leave the place empty."""


WHAT = {"a folder": "which is a folder", "a pipe": "which is no ordinary file", "a device": "which is no ordinary file"}
"""What is said of it, where that is not that there is no such file."""

MAKERS: dict[str, Callable[[Path], object]] = {
    "missing": nothing,
    "a folder": Path.mkdir,
    "a pipe": os.mkfifo,
    "a link to nowhere": lambda path: path.symlink_to(path.with_name("nowhere")),
    "a link to itself": lambda path: path.symlink_to(path),
    "a device": lambda path: path.symlink_to(os.devnull),
}


@pytest.mark.parametrize("kind", MAKERS)
@pytest.mark.parametrize("field", PLACES)
def test_what_is_no_file_is_told_at_the_line_that_names_it(field: str, kind: str, tmp_path: Path) -> None:
    """A pipe or a device could be read for ever, so neither is begun."""
    MAKERS[kind](tmp_path / "given.csv")
    text = naming(field, "given.csv")

    problem = refusal(text, tmp_path)

    assert (problem.code, problem.field) == ("no-file", field)
    assert (problem.file, problem.line) == (str(tmp_path / "house.yaml"), line_of(text, "given.csv"))
    assert problem.what == f"names {tmp_path / 'given.csv'}, {WHAT.get(kind, 'and there is no such file')}"


@pytest.mark.parametrize(
    "name", ["x" * 5000, "house.yaml/below.csv", "'${HOME}/*.csv'"], ids=["endless", "below", "odd"]
)
@pytest.mark.parametrize("field", PLACES)
def test_a_name_that_no_file_has_is_told_without_a_traceback(field: str, name: str, tmp_path: Path) -> None:
    """Nothing in it is taken for more than a name."""
    text = naming(field, name)

    problem = refusal(text, tmp_path)

    assert (problem.code, problem.field, problem.line) == ("no-file", field, line_of(text, name))
    assert str(problem).endswith("; paths start at the scenario's own folder")


@pytest.mark.parametrize(
    ("content", "codes"),
    [
        (b"", {"energy-file", "meter-file"}),
        (b"time,kwh\nyesterday,much\n", {"energy-file", "meter-file"}),
        (b"\x00\x01\x02" * 100, {"energy-file", "meter-file"}),
        ("Zähler;Straße\n1;2\n".encode("latin-1"), {"energy-file", "meter-file"}),
    ],
    ids=["empty", "words", "binary", "another alphabet"],
)
@pytest.mark.parametrize("field", PLACES)
def test_a_broken_file_is_told_by_its_own_name(field: str, content: bytes, codes: set[str], tmp_path: Path) -> None:
    """And its own line, where a line is at fault: that is what has to be mended."""
    (tmp_path / "given.csv").write_bytes(content)

    problem = refusal(naming(field, "given.csv"), tmp_path)

    assert problem.file == str(tmp_path / "given.csv")
    assert problem.code in codes


def test_the_line_at_fault_in_a_long_file_is_told(tmp_path: Path) -> None:
    """One bad reading among thousands, one bad hour of sun, one bad hour of production."""
    lines = year_lines()
    lines[4000] = lines[4000].rpartition(",")[0] + ",much"
    (tmp_path / "meter.csv").write_text("\n".join(lines))
    hours = write_epw(tmp_path / "valley.epw", made_up()).read_text().split("\n")
    hours[5000] = hours[5000].replace(",", ",x,", 6)
    (tmp_path / "valley.epw").write_text("\n".join(hours))
    (tmp_path / "record.csv").write_text("\n".join(["1"] * 700 + ["one"] + ["1"] * 8059))

    found = {
        name: refusal(naming(field, name), tmp_path)
        for field, name in zip(PLACES, ("valley.epw", "meter.csv", "record.csv"), strict=True)
    }

    assert {name: (Path(problem.file).name, problem.line) for name, problem in found.items()} == {
        "valley.epw": ("valley.epw", 5001),
        "meter.csv": ("meter.csv", 4001),
        "record.csv": ("record.csv", 701),
    }


def test_an_xml_file_that_is_none_is_told_and_stamps_have_no_place_beside_one(tmp_path: Path) -> None:
    """The standard says what its times mean."""
    (tmp_path / "meter.xml").write_text("<feed>")

    problem = refusal(naming("household.load.file", "meter.xml"), tmp_path)
    assert (problem.file, problem.code) == (str(tmp_path / "meter.xml"), "meter-file")

    text = naming("household.load.file", "meter.xml, stamps: end")
    problem = refusal(text, tmp_path)
    assert (problem.code, problem.field, problem.line) == (
        "load-stamps",
        "household.load.stamps",
        line_of(text, "stamps: end"),
    )


@pytest.mark.parametrize(
    ("month", "hours", "latitude"),
    [(0, 9.0, 36.1), (11, 12.0, 36.1), (5, 9.0, -45.0), (0, 2.5, 64.0)],
    ids=["january", "december", "southern winter", "far north"],
)
def test_more_sun_than_there_is_outside_the_air_is_told_at_its_line(
    month: int, hours: float, latitude: float, tmp_path: Path
) -> None:
    """Only the latitude makes such a number wrong, so it is found when the year is made."""
    sun = [0.05] * 12
    sun[month] = hours
    text = house(WEATHER, f"weather:\n  seed: 3\n  sun_hours: {sun}").replace("36.1", str(latitude), 1)

    problem = refusal(text, tmp_path)

    assert (problem.code, problem.line) == ("sun-hours", line_of(text, "sun_hours:"))
    assert problem.field.startswith("weather.sun_hours")
    assert f"month {month + 1}" in problem.what


@pytest.mark.parametrize("field", PLACES)
def test_the_command_line_says_one_line_and_leaves_with_2(field: str, tmp_path: Path) -> None:
    """No traceback, no page."""
    path = tmp_path / "house.yaml"
    path.write_text(naming(field, "absent.csv"))

    with contextlib.chdir(tmp_path):
        run = CliRunner().invoke(app, ["report", str(path)])

    assert isinstance(run.exception, SystemExit)  # no fault of ours
    assert (run.exit_code, run.stdout) == (2, "")
    (line,) = run.stderr.splitlines()
    assert line.startswith(f"{path}:{line_of(path.read_text(), 'absent.csv')}: {field}: names ")
    assert [each.name for each in tmp_path.iterdir()] == ["house.yaml"]


def test_a_station_in_a_block_is_the_station_and_brightness_leaves_its_year_alone() -> None:
    """Brightness is told beside the weather, for the years of the household."""
    site = site_of(settled(from_text(house(WEATHER, "weather: {station: miami, brightness: 90%}"))))

    np.testing.assert_array_equal(site.weather.ghi, read_station("miami").ghi)
    np.testing.assert_allclose(site.brightness, 0.9)
    np.testing.assert_array_equal(site_of(settled(from_text(house()))).brightness, 1.0)


def test_a_weather_file_is_read_beside_the_scenario(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever the current folder; its kind may be told or not."""
    sample = made_up()
    write_epw(tmp_path / "valley.epw", sample)
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    (tmp_path / "house.yaml").write_text(house(WEATHER, "weather: {file: valley.epw}"))
    (tmp_path / "told.yaml").write_text(house(WEATHER, "weather: {file: ./elsewhere/../valley.epw, kind: epw}"))

    for name in ("house.yaml", "told.yaml"):
        weather = weather_of(finsolar.read(tmp_path / name))
        np.testing.assert_allclose(weather.ghi, sample.ghi, atol=1e-3)
        assert weather.latitude == sample.latitude


def test_made_up_years_keep_their_months_and_differ_by_seed() -> None:
    """Twelve sun hours come back as twelve means; another seed has other days."""
    years = [
        weather_of(from_text(house(WEATHER, f"weather: {{sun_hours: {SUN_HOURS}{more}}}")))
        for more in ("", ", seed: 1", ", seed: 2", ", temperature: [4, 6, 10, 15, 20, 24, 26, 25, 22, 16, 10, 5]")
    ]

    month = np.repeat(np.arange(12), DAYS_IN_MONTH * 24)
    for year in years:
        means = np.bincount(month, weights=year.ghi) / 1000 / DAYS_IN_MONTH
        np.testing.assert_allclose(means, SUN_HOURS, rtol=1e-6)
    np.testing.assert_array_equal(years[0].ghi, years[1].ghi)
    assert np.abs(years[1].ghi - years[2].ghi).max() > 50
    warmth = np.bincount(month, weights=years[3].temp_air) / (DAYS_IN_MONTH * 24)
    np.testing.assert_allclose(warmth, [4, 6, 10, 15, 20, 24, 26, 25, 22, 16, 10, 5], atol=1e-6)


def test_appliances_use_what_their_plates_say() -> None:
    """Worked by hand: 100 W for half of the time all year, and two of 1000 W for 3 hours a day in June."""
    fridge = "{item: Fridge, watts: 100, duty: 50%}"
    pump = "{item: Pump, watts: 1000, hours_a_day: 3, hours: 6-12, months: jun, count: 2}"
    site = site_of(from_text(house(LOAD, f"load: {{appliances: [{fridge}, {pump}]}}")))

    assert site.usage.base.sum() == pytest.approx(0.05 * 8760 + 2 * 3 * 30)
    june = (site.clock.month == 5) & (site.clock.hour == 11)
    assert site.usage.base[june].mean() == pytest.approx(0.05 + 2 * 3 / 6, rel=0.01)
    assert site.usage.found is None


def test_new_loads_come_in_their_year_and_do_not_grow() -> None:
    """Worked by hand: 10 kWh a day from 22 to 2 in January and February, from year 3; 50 kWh in each month from 2."""
    new = (
        "new_loads: [{item: Car, from_year: 3, kwh_a_day: 10, hours: 22-2, months: jan-feb},"
        " {item: Pool, from_year: 2, monthly_kwh: [50, 50, 50, 50, 50, 50, 50, 50, 50, 50, 50, 50]}], growth: 10%}"
    )
    site = site_of(from_text(house(LOAD, LOAD[:-1] + ", " + new)))

    load = load_by_year(site.usage, 0.10, 4)

    first = 9000.0
    extra = np.array([0, 600, 600 + 590, 600 + 590])
    np.testing.assert_allclose(load.sum(axis=-1), first * 1.1 ** np.arange(4) + extra)
    car = load[2] - load[1] - 0.1 * 1.1 * load[0]
    night = np.isin(site.clock.hour, [22, 23, 0, 1]) & (site.clock.month < 2)
    assert car[night].sum() == pytest.approx(590)
    np.testing.assert_allclose(car[~night], 0, atol=1e-9)


def test_a_meter_file_is_the_use_and_says_what_it_holds(tmp_path: Path) -> None:
    """Steps of the study, whose energy is that of the file."""
    (tmp_path / "meter.csv").write_text("\n".join(year_lines()))
    text = naming("household.load.file", "meter.csv, stamps: start").replace("years: 20", "years: 20, step_minutes: 30")
    (tmp_path / "house.yaml").write_text(text)

    usage = site_of(finsolar.read(tmp_path / "house.yaml")).usage

    assert usage.base.shape == (17520,)
    assert usage.found is not None
    kwh = sum(float(line.rpartition(",")[2]) for line in year_lines()[1:])
    assert usage.base.sum() == pytest.approx(usage.found.annual_kwh) == pytest.approx(kwh, rel=1e-3)


def test_a_record_of_production_is_read_as_it_stands(tmp_path: Path) -> None:
    """Each hour of it."""
    record = np.arange(8760) % 24 / 10
    (tmp_path / "record.csv").write_text("\n".join(map(str, record)))
    (tmp_path / "house.yaml").write_text(naming("system.production", "record.csv"))

    found = production_of(finsolar.read(tmp_path / "house.yaml"), "record.csv", "alternatives.0.system.production")

    np.testing.assert_allclose(found, record)
