"""A year of readings: layouts, clock changes, gaps, duplicates, and the study's calendar."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import meter_samples as made
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from meter_samples import NEW_YORK, OFFSET, read_lines, refused, year_lines

from finsolar.energy import readings as held_readings
from finsolar.energy.clock import wall_clock
from finsolar.energy.meter import meter_year
from finsolar.energy.meter_csv import read_meter_csv
from finsolar.energy.readings import Rows

ZONES = {"America/New_York": -5.0, "Europe/Berlin": 1.0, "Australia/Sydney": 10.0, "Asia/Kolkata": 5.5, "UTC": 0.0}


# --- any layout ---


@pytest.mark.parametrize("layout", made.LAYOUTS.values(), ids=made.LAYOUTS.keys())
@pytest.mark.parametrize("minutes", [15, 60])
def test_a_year_reads_back_hour_by_hour_in_every_layout(tmp_path: Path, layout: made.Layout, minutes: int) -> None:
    # 2018 is the study's own calendar, so that every hour must lie where it lay.
    starts = made.starts_of(NEW_YORK, "2018-01-01", "2019-01-01", minutes)
    kwh = made.made_up(len(starts))
    year = read_lines(tmp_path, made.csv_lines(NEW_YORK, starts, kwh, minutes, layout))
    assert year.steps == pytest.approx(np.reshape(kwh, (8760, -1)).sum(axis=1), abs=1e-9)
    found = year.found
    assert found.interval_minutes == minutes and found.readings == len(starts)
    assert (found.hours_filled, found.duplicates, found.days_left_out) == (0, 0, 0.0)
    assert found.short_days == (date(2018, 3, 11),) and found.long_days == (date(2018, 11, 4),)
    assert found.first == datetime(2018, 1, 1, tzinfo=ZoneInfo(NEW_YORK)) and found.days == 365
    assert found.last == datetime(2019, 1, 1, tzinfo=ZoneInfo(NEW_YORK))
    assert found.peak_kw == pytest.approx(max(kwh) * 60 / minutes)


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.integers(2008, 2030),
    st.integers(1, 12),
    st.sampled_from(sorted(ZONES)),
    st.sampled_from([30, 60]),
    st.sampled_from(sorted(made.LAYOUTS)),
    st.integers(0, 99),
)
def test_any_year_in_any_layout_keeps_its_energy(
    tmp_path: Path, year: int, month: int, zone: str, minutes: int, layout: str, seed: int
) -> None:
    starts = made.starts_of(zone, f"{year}-{month:02}-01", f"{year + 1}-{month:02}-01", minutes)
    kwh = made.made_up(len(starts), seed)
    path = made.write_csv(tmp_path / "any.csv", made.csv_lines(zone, starts, kwh, minutes, made.LAYOUTS[layout]))
    read = read_meter_csv(path, zone, ZONES[zone])
    latest = 8760 * 60 // minutes  # a leap year has a day more
    hourly = np.reshape(kwh[-latest:], (8760, -1)).sum(axis=1)
    assert read.steps.sum() == pytest.approx(sum(kwh[-latest:]), rel=1e-12)
    assert read.found.annual_kwh == pytest.approx(sum(kwh[-latest:]), rel=1e-12)
    assert np.sort(read.steps) == pytest.approx(np.sort(hourly), abs=1e-9)
    months = np.zeros(12)
    for start, use in zip(starts[-latest:], kwh[-latest:], strict=True):
        months[datetime.fromtimestamp(start, ZoneInfo(zone)).month - 1] += use
    assert read.found.monthly_kwh == pytest.approx(months)


# --- the study's calendar ---


@pytest.mark.parametrize("first", ["2004-01-01", "2011-01-01", "2013-06-20", "2020-07-01", "2023-09-15", "2025-03-31"])
def test_days_keep_their_weekday_and_nearly_their_date(first: str) -> None:
    begin = np.datetime64(first)
    days = begin + np.arange(365)
    starts = (days[0] - np.datetime64("1970-01-01")).astype(int) * 86400 + np.arange(8760) * 3600
    # Every day uses its number, doubled and turned round so that it does not look like a counter.
    numbers = np.repeat(np.arange(365) * 2 % 365 / 10, 24)
    hourly = meter_year(made.readings(starts.tolist(), numbers.tolist()), None, 0.0).steps.reshape(365, 24)
    day = np.rint(hourly * 10).astype(int) * 183 % 365
    assert np.all(day == day[:, :1]) and sorted(day[:, 0]) == list(range(365))
    weekday = np.array([d.astype(object).weekday() for d in days])[day[:, 0]]
    assert (weekday != np.arange(365) % 7).sum() <= 1
    dates = [d.astype(object) for d in days]
    of_year = np.array(
        [date(2018, d.month, min(d.day, 28) if d.month == 2 else d.day).timetuple().tm_yday - 1 for d in dates]
    )[day[:, 0]]
    apart = np.abs(of_year - np.arange(365))
    apart = np.minimum(apart, 365 - apart)
    # The odd day over 52 weeks pushes those between itself and the turn of the year by a week at most.
    assert np.median(apart) <= 3 and apart.max() <= 7


def test_clock_changes_meet_those_of_the_study(tmp_path: Path) -> None:
    # Used only from 17:00 to 18:00 on the wall clock, so that every day shows where its clock stands.
    zone, clock = ZoneInfo(NEW_YORK), wall_clock(NEW_YORK, OFFSET)
    starts = made.starts_of(NEW_YORK, "2021-01-01", "2022-01-01")
    evening = [float(datetime.fromtimestamp(start, zone).hour == 17) for start in starts]
    year = read_lines(tmp_path, made.csv_lines(NEW_YORK, starts, evening, 60, made.Layout()))
    assert set(clock.hour[year.steps > 0]) == {17} and year.steps.sum() == 365
    assert year.found.day_share == 1.0 and year.found.night_share == 0.0
    weekends = [use * (datetime.fromtimestamp(s, zone).weekday() >= 5) for s, use in zip(starts, evening, strict=True)]
    year = read_lines(tmp_path, made.csv_lines(NEW_YORK, starts, weekends, 60, made.Layout()))
    assert year.steps[clock.weekday >= 5].sum() == pytest.approx(104)


def test_a_year_that_begins_in_summer_time_is_whole(tmp_path: Path) -> None:
    starts = made.starts_of(NEW_YORK, "2022-07-01", "2023-07-01")
    year = read_lines(tmp_path, made.csv_lines(NEW_YORK, starts, [1.0] * 8760, 60, made.Layout()))
    assert np.all(year.steps == 1.0) and year.found.year_from == datetime(2022, 7, 1, tzinfo=ZoneInfo(NEW_YORK))


def test_the_two_parts_of_the_day_on_which_a_year_begins_and_ends_keep_its_weekday(tmp_path: Path) -> None:
    # 365 days from a Monday, begun in summer time: 53 Mondays, as in the study's calendar. In standard time the
    # first hour is the last of a Sunday; it joins the hours of the last Monday.
    zone = ZoneInfo(NEW_YORK)
    starts = made.starts_of(NEW_YORK, "2022-07-04", "2023-07-04")
    mondays = [float(datetime.fromtimestamp(start, zone).weekday() == 0) for start in starts]
    year = read_lines(tmp_path, made.csv_lines(NEW_YORK, starts, mondays, 60, made.Layout()))
    assert year.steps.sum() == sum(mondays) == 53 * 24
    assert year.steps[wall_clock(NEW_YORK, OFFSET).weekday == 0].sum() == 53 * 24 - 1


def test_readings_across_hours_are_split_by_time() -> None:
    start = int(datetime(2018, 1, 1, tzinfo=UTC).timestamp())
    year = meter_year(made.readings([start + k * 3600 for k in range(8761)], [1.0, 3.0] + [1.0] * 8759), None, 0.25)
    assert year.steps.sum() == pytest.approx(8762)
    assert year.steps[:3] == pytest.approx([0.75 + 0.25, 0.25 * 1 + 0.75 * 3, 0.25 * 3 + 0.75])


# --- clock changes in the stamps ---


def test_sorted_exports_put_the_repeated_quarter_hours_side_by_side(tmp_path: Path) -> None:
    starts = made.starts_of(NEW_YORK, "2018-01-01", "2019-01-01", 15)
    kwh = made.made_up(len(starts))
    lines = made.csv_lines(NEW_YORK, starts, kwh, 15, made.Layout())
    lines[1:] = sorted(lines[1:], key=lambda line: line.partition(",")[0])
    year = read_lines(tmp_path, lines)
    assert year.steps == pytest.approx(np.reshape(kwh, (8760, -1)).sum(axis=1), abs=1e-9)


def test_ends_may_also_count_on_from_the_clock_before_the_change(tmp_path: Path) -> None:
    starts = made.starts_of(NEW_YORK, "2018-01-01", "2019-01-01")
    kwh = made.made_up(8760)
    lines = made.csv_lines(NEW_YORK, starts, kwh, 60, made.Layout(ends=True))
    # The last hour of winter time ends at 02:00 of the old clock, and so does the last of summer time.
    lines = [line.replace("2018-03-11 03:00", "2018-03-11 02:00", 1) for line in lines]
    second = [k for k, line in enumerate(lines) if line.startswith("2018-11-04 01:00")][1]
    lines[second] = lines[second].replace("01:00", "02:00", 1)
    first = second - 1
    assert lines[first].startswith("2018-11-04 01:00") and lines[second + 1].startswith("2018-11-04 02:00")
    path = made.write_csv(tmp_path / "ends.csv", lines)
    assert read_meter_csv(path, NEW_YORK, OFFSET, stamps="end").steps == pytest.approx(kwh, abs=1e-9)


def test_times_that_never_change_their_clock_are_noticed(tmp_path: Path) -> None:
    starts = made.starts_of("Etc/GMT+5", "2018-01-01", "2019-01-01")
    kwh = made.made_up(8760)
    year = read_lines(tmp_path, made.csv_lines("Etc/GMT+5", starts, kwh, 60, made.Layout()))
    assert year.steps == pytest.approx(kwh, abs=1e-9)
    assert year.found.notes == ("The times keep standard time all year.",)


def test_an_empty_row_in_the_skipped_hour_is_left_out(tmp_path: Path) -> None:
    lines = year_lines()
    at = next(k for k, line in enumerate(lines) if line.startswith("2018-03-11 03:00"))
    year = read_lines(tmp_path, [*lines[:at], "2018-03-11 02:00,0.000", *lines[at:]])
    assert year.steps == pytest.approx(made.made_up(8760), abs=1e-9) and year.found.hours_filled == 0
    assert "in an hour that the clock skips" in refused(tmp_path, [*lines[:at], "2018-03-11 02:00,0.7", *lines[at:]])


# --- gaps, duplicates, more and less than a year ---


def test_gaps_are_filled_from_the_weeks_around(tmp_path: Path) -> None:
    lines = year_lines()
    kwh = np.array(made.made_up(8760))
    gone = np.arange(3000, 3030)
    year = read_lines(tmp_path, [line for k, line in enumerate(lines) if k - 1 not in gone])
    assert year.found.hours_filled == 30 and "same weekday" in year.found.filled_how
    assert year.steps[gone] == pytest.approx((kwh[gone - 168] + kwh[gone + 168]) / 2)
    kept = np.delete(np.arange(8760), gone)
    assert year.steps[kept] == pytest.approx(kwh[kept], abs=1e-9)


def test_empty_values_and_a_missing_quarter_are_gaps(tmp_path: Path) -> None:
    starts = made.starts_of(NEW_YORK, "2018-01-01", "2019-01-01", 15)
    kwh = np.array(made.made_up(len(starts)))
    lines = made.csv_lines(NEW_YORK, starts, kwh.tolist(), 15, made.Layout())
    lines[1 + 20001] = lines[1 + 20001].partition(",")[0] + ","
    year = read_lines(tmp_path, lines)
    hourly = kwh.reshape(8760, 4)
    left = hourly[5000].sum() - hourly[5000, 1]
    assert year.found.hours_filled == 1
    assert year.steps[5000] == pytest.approx(left + (hourly[4832].sum() + hourly[5168].sum()) / 2 / 4)


def test_a_year_that_lacks_less_than_a_day_is_one(tmp_path: Path) -> None:
    year = read_lines(tmp_path, [line for k, line in enumerate(year_lines()) if k not in range(1, 20)])
    assert year.found.hours_filled == 19
    assert "covers less than a year: 363.0 days, from 2018-01-03" in refused(
        tmp_path, [line for k, line in enumerate(year_lines()) if k not in range(1, 49)]
    )


def test_large_gaps_are_refused(tmp_path: Path) -> None:
    lines = year_lines()
    message = refused(tmp_path, lines[:3000] + lines[3600:])
    assert "meter.csv:3001: has too many gaps, the longest from 2018-05-06" in message and "5%" in message


def test_exact_duplicates_are_dropped_and_others_refused(tmp_path: Path) -> None:
    lines = year_lines()
    year = read_lines(tmp_path, [*lines, *lines[100:150]])
    assert year.found.duplicates == 50 and year.found.readings == 8810
    assert year.steps == pytest.approx(made.made_up(8760), abs=1e-9)
    message = refused(tmp_path, [*lines, lines[100].partition(",")[0] + ",9.9"])
    assert "meter.csv:8762: two readings of 2018-01-05 03:00 differ" in message and "never added" in message


def test_of_a_year_and_a_bit_the_latest_year_is_used(tmp_path: Path) -> None:
    starts = made.starts_of(NEW_YORK, "2017-10-01", "2019-01-01")
    kwh = made.made_up(len(starts))
    year = read_lines(tmp_path, made.csv_lines(NEW_YORK, starts, kwh, 60, made.Layout()))
    assert year.steps == pytest.approx(kwh[-8760:], abs=1e-9)
    assert year.found.days_left_out == 92 and year.found.days == 457 and year.found.readings == len(starts)


@pytest.mark.parametrize("newest_first", [False, True])
def test_memory_does_not_grow_with_the_years(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, newest_first: bool
) -> None:
    monkeypatch.setattr(held_readings, "MOST_ROWS", 12_000)
    held: list[int] = []
    table = Rows.table
    monkeypatch.setattr(Rows, "table", lambda rows: held.append(len(rows._flat) // rows._width) or table(rows))
    starts = made.starts_of(NEW_YORK, "2014-01-01", "2019-01-01")
    kwh = made.made_up(len(starts))
    layout = made.Layout(newest_first=newest_first)
    year = read_lines(tmp_path, made.csv_lines(NEW_YORK, starts, kwh, 60, layout))
    assert year.steps == pytest.approx(kwh[-8760:], abs=1e-9)
    assert max(held) == 12_000
    assert year.found.readings == len(starts) and year.found.first == datetime(2014, 1, 1, tzinfo=ZoneInfo(NEW_YORK))


def test_readings_too_close_to_hold_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(held_readings, "MOST_ROWS", 8000)
    assert "has more than 8,000 readings in fourteen months" in refused(tmp_path, year_lines())
