"""Feeds of the ESPI standard: what is used, what is kept apart, and what is refused."""

from __future__ import annotations

import time
from datetime import date, datetime
from pathlib import Path

import meter_samples as made
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finsolar.energy import espi
from finsolar.energy.dst_rule import LocalTime, dst_rule
from finsolar.energy.green_button import green_button_readings, read_green_button
from finsolar.energy.readings import MeterError, Readings

NEW_YORK, OFFSET = "America/New_York", -5.0
DAY = made.starts_of(NEW_YORK, "2018-03-01", "2018-03-02")
YEAR = made.starts_of(NEW_YORK, "2018-01-01", "2019-01-01")
WH = [round(1000 * use) for use in made.made_up(8760)]


def readings_of(folder: Path, text: str) -> Readings:
    path = folder / "usage.xml"
    path.write_text(text, encoding="utf-8")
    return green_button_readings(path)


def refused(folder: Path, text: str) -> str:
    with pytest.raises(MeterError) as caught:
        readings_of(folder, text)
    assert caught.value.problems[0].mend and "Ada" not in str(caught.value)
    return str(caught.value)


def day_of(value: int, number: int = 1, seconds: int = 3600, point: int = 1) -> str:
    count = 86400 // seconds
    return made.block(number, [made.reading(DAY[0] + k * seconds, seconds, value) for k in range(count)], DAY[0], point)


def test_a_year_reads_back_hour_by_hour(tmp_path: Path) -> None:
    path = tmp_path / "usage.xml"
    path.write_text(made.year_feed(YEAR, WH), encoding="utf-8")
    year = read_green_button(path, NEW_YORK, OFFSET)
    assert year.steps == pytest.approx(np.array(WH) / 1000, abs=1e-9)
    assert year.found.short_days == (date(2018, 3, 11),) and year.found.long_days == (date(2018, 11, 4),)
    assert year.found.notes == () and year.found.exported_kwh is None and year.found.cost is None
    assert "Ada" not in repr(year)
    fine = read_green_button(path, NEW_YORK, OFFSET, per_hour=4)
    assert fine.steps == pytest.approx(np.repeat(WH, 4) / 4000, abs=1e-9) and fine.found == year.found


def test_a_clock_that_differs_is_said_and_the_scenario_holds(tmp_path: Path) -> None:
    path = tmp_path / "usage.xml"
    text = made.year_feed(YEAR, WH)
    for old, new in (("360E2000", "340E2000"), ("-18000", "-21600"), ("360E2000", "FFFFFFFF")):
        path.write_text(text.replace(old, new), encoding="utf-8")
        year = read_green_button(path, NEW_YORK, OFFSET)
        assert len(year.found.notes) == 1 and "own clock differs from America/New_York" in year.found.notes[0]
        assert year.steps == pytest.approx(np.array(WH) / 1000, abs=1e-9)
    for broken in ("3G0E2000", "D60E2000", "36", "360E200000000"):
        path.write_text(text.replace("360E2000", broken), encoding="utf-8")
        assert read_green_button(path, NEW_YORK, OFFSET).found.notes == ()


def test_summer_ends_by_the_clock_of_summer() -> None:
    clock = LocalTime(-18000, 3600, dst_rule("360E2000"), dst_rule("B40E2000"))
    for moment, hours in (
        ("2018-03-11T06:59", -5),
        ("2018-03-11T07:00", -4),
        ("2018-11-04T05:59", -4),
        ("2018-11-04T06:00", -5),
    ):
        assert clock.at(datetime.fromisoformat(moment + "+00:00")) == hours * 3600


def test_southern_clocks_are_understood(tmp_path: Path) -> None:
    # Sydney: from the first Sunday of October, 02:00, to the first Sunday of April, 03:00.
    starts = made.starts_of("Australia/Sydney", "2018-01-01", "2019-01-01")
    text = made.year_feed(starts, WH).replace("360E2000", "A40E2000").replace("B40E2000", "440E3000")
    text = text.replace("-18000", "36000")
    path = tmp_path / "usage.xml"
    path.write_text(text, encoding="utf-8")
    year = read_green_button(path, "Australia/Sydney", 10.0)
    assert year.found.notes == () and year.steps.sum() == pytest.approx(sum(WH) / 1000)


def test_the_order_of_entries_and_the_prefix_do_not_matter(tmp_path: Path) -> None:
    parts = [made.point(), made.kind(1), made.meter(1, 1), day_of(500)]
    straight = readings_of(tmp_path, made.feed(*parts))
    turned = readings_of(tmp_path, made.feed(*reversed(parts)))
    prefixed = readings_of(
        tmp_path, made.feed(*parts).replace("<Interval", "<espi:Interval").replace("</Interval", "</espi:Interval")
    )
    for read in (straight, turned, prefixed):
        assert read.start.tolist() == DAY and read.kwh.tolist() == [0.5] * 24


def test_only_blocks_are_searched_for_readings(tmp_path: Path) -> None:
    other = made.entry("<Bill><interval><start>soon</start></interval>" + made.reading(DAY[0], 3600, 7) + "</Bill>")
    read = readings_of(tmp_path, made.feed(made.kind(1), made.meter(1, 1), day_of(500), other))
    assert read.kwh.tolist() == [0.5] * 24


def test_import_and_export_are_kept_apart(tmp_path: Path) -> None:
    path = tmp_path / "usage.xml"
    fed_in = made.block(2, [made.reading(s, 3600, 40) for s in YEAR])
    path.write_text(
        made.year_feed(YEAR, WH, made.kind(2, flowDirection=19), made.meter(2, 2), fed_in), encoding="utf-8"
    )
    year = read_green_button(path, NEW_YORK, OFFSET)
    assert year.steps.sum() == pytest.approx(sum(WH) / 1000)
    assert year.found.exported_kwh == pytest.approx(8760 * 0.04)


def test_an_unstated_direction_is_taken_as_import_and_said(tmp_path: Path) -> None:
    for direction in (0, made.ABSENT):
        read = readings_of(tmp_path, made.feed(made.kind(1, flowDirection=direction), made.meter(1, 1), day_of(500)))
        assert read.kwh.sum() == pytest.approx(12) and "does not say which way" in read.notes[0]


def test_a_reading_without_a_time_follows_from_its_block(tmp_path: Path) -> None:
    silent = made.block(1, [made.reading(None, 0, 100 + k) for k in range(24)], DAY[0])
    read = readings_of(tmp_path, made.feed(silent, made.meter(1, 1), made.kind(1)))
    assert read.start.tolist() == DAY and set(read.seconds) == {3600}
    assert read.kwh == pytest.approx(np.arange(100, 124) / 1000)
    assert "length is not stated" in refused(
        tmp_path, made.feed(silent, made.meter(1, 1), made.kind(1, intervalLength=made.ABSENT))
    )


def test_several_readings_of_one_meter_are_never_added(tmp_path: Path) -> None:
    quarter = (made.kind(2, intervalLength=900), made.meter(2, 2), day_of(130, 2, 900))
    hourly = (made.kind(1), made.meter(1, 1), day_of(500))
    read = readings_of(tmp_path, made.feed(*hourly, *quarter))
    assert read.kwh.sum() == pytest.approx(96 * 0.13) and "Coarser readings" in read.notes[0]
    # The same hours once more with other values: neither sum nor choice, but a refusal.
    path = tmp_path / "usage.xml"
    path.write_text(made.year_feed(YEAR, WH, made.meter(3, 1), day_of(7, 3)), encoding="utf-8")
    with pytest.raises(MeterError, match=r"two readings of 2018-03-01 00:00 differ.*never added up"):
        read_green_button(path, NEW_YORK, OFFSET)
    # One MeterReading after another, each for its own months, make the year.
    first, second = YEAR[:4000], YEAR[4000:]
    halves = [
        made.block(number, [made.reading(s, 3600, v) for s, v in zip(starts, values, strict=True)])
        for number, starts, values in ((1, first, WH[:4000]), (2, second, WH[4000:]))
    ]
    path.write_text(made.feed(made.kind(1), made.meter(1, 1), made.meter(2, 1), *halves), encoding="utf-8")
    assert read_green_button(path, NEW_YORK, OFFSET).steps == pytest.approx(np.array(WH) / 1000)


def test_energy_is_preferred_to_power(tmp_path: Path) -> None:
    power = (made.kind(2, uom=38), made.meter(2, 2), day_of(800, 2))
    read = readings_of(tmp_path, made.feed(made.kind(1), made.meter(1, 1), day_of(500), *power))
    assert read.kwh.sum() == pytest.approx(12) and read.notes == ()
    read = readings_of(tmp_path, made.feed(*power))
    assert read.kwh.sum() == pytest.approx(19.2) and "states watts" in read.notes[0]


def test_gas_beside_electricity_is_left_aside(tmp_path: Path) -> None:
    gas = (made.point(2, 1), made.kind(2, commodity=7, uom=169), made.meter(2, 2, 2), day_of(9, 2, point=2))
    read = readings_of(tmp_path, made.feed(made.point(), made.kind(1), made.meter(1, 1), day_of(500), *gas))
    assert read.kwh.sum() == pytest.approx(12) and "something else than electricity" in read.notes[0]


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ((made.kind(1, commodity=7, uom=169), made.meter(1, 1), day_of(5)), "is not about electricity"),
        ((made.point(1, 1), made.kind(1), made.meter(1, 1), day_of(5)), "is not about electricity"),
        ((made.kind(1, uom=42), made.meter(1, 1), day_of(5)), "neither in watt-hours nor in watts"),
        ((made.kind(1, uom=made.ABSENT), made.meter(1, 1), day_of(5)), "does not say in which unit"),
        ((made.meter(1, 1), day_of(5)), "does not say in which unit"),
        ((made.kind(1, accumulationBehaviour=3), made.meter(1, 1), day_of(5)), "counts of a register"),
        ((made.kind(1, flowDirection=19), made.meter(1, 1), day_of(5)), "nothing that was taken from the grid"),
        ((made.kind(1, flowDirection=4), made.meter(1, 1), day_of(5)), "nothing that was taken from the grid"),
        ((made.kind(1), made.meter(1, 1)), "holds no interval readings"),
        ((), "holds no interval readings"),
        (
            (made.kind(1), made.meter(1, 1), made.meter(2, 1, 2), day_of(5), day_of(6, 2, point=2)),
            "the readings of several meters",
        ),
        ((made.kind(1, powerOfTenMultiplier=99), made.meter(1, 1), day_of(5)), "99 as powerOfTenMultiplier"),
        ((made.kind(1, uom=1 << 70), made.meter(1, 1), day_of(5)), "as uom"),
        ((made.kind(1), made.meter(1, 1), made.block(1, [made.reading(1 << 45, 3600, 1)])), "out of reach"),
        ((made.kind(1), made.meter(1, 1), made.block(1, [made.reading(DAY[0], 1 << 45, 1)])), "as duration"),
        ((made.kind(1), made.meter(1, 1), made.block(1, [made.reading(DAY[0], 3600, 1 << 60)])), "as value"),
        ((made.kind(1), made.meter(1, 1), made.block(1, [made.reading(DAY[0], 3600, 0.5)])), "'0.5' as value"),
    ],
    ids=range(17),
)
def test_feeds_of_something_else_are_refused(tmp_path: Path, parts: tuple[str, ...], words: str) -> None:
    assert words in refused(tmp_path, made.feed(*parts))


@pytest.mark.parametrize("value", [-5, 10**10])
def test_numbers_that_are_no_use_of_a_house_are_refused(tmp_path: Path, value: int) -> None:
    path = tmp_path / "usage.xml"
    path.write_text(made.year_feed(YEAR, [*WH[:-1], value]), encoding="utf-8")
    with pytest.raises(MeterError, match="is negative" if value < 0 else "more than 1,000 kW"):
        read_green_button(path, NEW_YORK, OFFSET)


# --- files not to be trusted ---


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('<!DOCTYPE feed SYSTEM "http://example.invalid/feed.dtd"><feed/>', "DOCTYPE"),
        ('<!DOCTYPE feed [<!ENTITY a SYSTEM "file:///etc/hostname">]><feed>&a;</feed>', "DOCTYPE"),
        ("<!DOCTYPE feed><feed/>", "DOCTYPE"),
        ("<feed>&money;</feed>", "undefined entity"),
        ("<feed>" * 65 + "</feed>" * 65, "nested too deeply"),
        ('<?xml version="1.0" encoding="ISO-8859-1"?><feed/>', "is written in 'ISO-8859-1'"),
        ('<?xml version="1.0" encoding="UTF-7"?><feed/>', "UTF-7"),
        ("<feed><entry>", "usage.xml:1: is no well-formed XML: no element found"),
        ("", "no element found"),
        ("Time,kWh\n", "is no well-formed XML"),
        (
            made.feed(made.block(1, [made.reading(DAY[0], 3600, 1).replace(">1<", ">" + "1" * 500 + "<")])),
            "a text where",
        ),
    ],
    ids=range(11),
)
def test_hostile_and_broken_files_are_refused(tmp_path: Path, text: str, words: str) -> None:
    assert words in refused(tmp_path, text)


def test_sixteen_bit_xml_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "usage.xml"
    for encoding in ("utf-16", "utf-16-le", "utf-16-be"):
        path.write_text("<feed/>", encoding=encoding)
        with pytest.raises(MeterError, match="is not written in UTF-8"):
            green_button_readings(path)


def test_caps_hold(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(espi, "MOST_RESOURCES", 50)
    assert "too many entries" in refused(tmp_path, made.feed(*(made.meter(n, 1) for n in range(60))))
    assert "too many links" in refused(tmp_path, made.feed(made.entry("<MeterReading/>", related=["/x"] * 60)))
    monkeypatch.setattr(espi, "MOST_BYTES", 1 << 20)
    assert "is larger than 1 MB" in refused(tmp_path, made.year_feed(YEAR, WH))


def test_many_unlinked_resources_do_not_slow_the_reading(tmp_path: Path) -> None:
    begin = time.perf_counter()
    parts = [made.meter(n, 1) for n in range(4900)] + [
        made.block(n, [made.reading(DAY[0], 3600, 1)]) for n in range(5000)
    ]
    readings_of(tmp_path, made.feed(made.kind(1), *parts))
    assert time.perf_counter() - begin < 20


def test_missing_files_and_folders_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.xml"):
        with pytest.raises(MeterError, match="is no file"):
            green_button_readings(path)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 7000), st.binary(max_size=12) | st.sampled_from([b"<", b"&a;", b"</entry>", b"9" * 30, b"-"]))
def test_broken_files_raise_nothing_but_the_error_class(tmp_path: Path, at: int, junk: bytes) -> None:
    text = made.feed(made.point(), made.local_time(-18000), made.kind(1), made.meter(1, 1), day_of(5)).encode()
    path = tmp_path / "fuzz.xml"
    path.write_bytes(text[:at] + junk + text[at + len(junk) :])
    with pytest.raises(MeterError):
        read_green_button(path, NEW_YORK, OFFSET)


@pytest.mark.parametrize(
    "word", ["", "360E200", "zzzzzzzz", "060E2000", "F60E2000", "3600 000", "3601F000", "21E00000"]
)
def test_words_that_are_no_clock_rule_are_refused(word: str) -> None:
    with pytest.raises(ValueError):
        dst_rule(word)
