"""Meter files in CSV: which columns and numbers are taken, and which are refused."""

from __future__ import annotations

from pathlib import Path

import meter_samples as made
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from meter_samples import NEW_YORK, OFFSET, read_lines, refused, year_lines

from finsolar.energy.meter_csv import csv_readings, read_meter_csv
from finsolar.energy.readings import MeterError

# --- columns and units ---


def with_header(header: str, row: str = "{stamp},{use}") -> list[str]:
    body = [line.split(",") for line in year_lines()[1:]]
    return [header, *(row.format(stamp=stamp, day=stamp[:10], time=stamp[11:], use=use) for stamp, use in body)]


@pytest.mark.parametrize(
    ("header", "row", "factor"),
    [
        ("Account,Date,Start time,End time,Usage,Units,Cost", "1,{day},{time},23:59,{use},kWh,$0.10", 1.0),
        ("Start,End,usageKWh", "{stamp},{stamp},{use}", 1.0),
        ("Timestamp,Consumption (Wh)", "{stamp},{use}", 0.001),
        ("Timestamp,Use,Unit", "{stamp},{use},Wh", 0.001),
        ("Time,Kilowatt-hours", "{stamp},{use}", 1.0),
        ("Date,Export kWh,Import kWh,Demand (kW)", "{stamp},5,{use},7", 1.0),
        ("Meter report of a made-up house,\n\nDate and time,Delivered kWh", "{stamp},{use}", 1.0),
    ],
)
def test_columns_are_found_by_plain_words(tmp_path: Path, header: str, row: str, factor: float) -> None:
    year = read_lines(tmp_path, with_header(header, row))
    assert year.steps == pytest.approx(factor * np.array(made.made_up(8760)), abs=1e-9)


@pytest.mark.parametrize(
    ("header", "row", "words"),
    [
        ("Time,Power (kW)", "{stamp},{use}", "meter.csv:1: has power (kW or W), not energy"),
        ("Time,Demand", "{stamp},{use}", "has power"),
        ("Time,W", "{stamp},{use}", "has power"),
        ("Time,Use,Unit", "{stamp},{use},kW", "meter.csv:2: is in 'kw', not in kWh or Wh"),
        ("Time,Peak kWh,Night kWh", "{stamp},{use},1", "energy used: 'Peak kWh', 'Night kWh'"),
        ("Time,Export kWh,Energy cost", "{stamp},{use},1", "has no column that holds energy used"),
        ("Read time,Bill time,kWh", "{stamp},{stamp},{use}", "times: 'Read time', 'Bill time'"),
        ("Name,kWh", "{stamp},{use}", "has no column of times beside a column of kWh"),
        ("Time,kWh", "{stamp},-{use}", "meter.csv:2: the use at 2018-01-01 00:00 is negative"),
        ("Time,kWh", "{stamp},9999{use}", "more than 1,000 kW"),
        ("Time,kWh", "{stamp},1_0", "'1_0' is no number"),
        ("Time,kWh", "{stamp},inf", "more than 1,000 kW"),
        ("Time,kWh", "{stamp}", "has only 1 columns"),
        ("Date,kWh", "{day},{use}", "holds"),
    ],
)
def test_columns_that_mislead_are_refused(tmp_path: Path, header: str, row: str, words: str) -> None:
    lines = with_header(header, row)
    if words == "holds":
        lines, words = [lines[0], *lines[1::24]], "has mostly one reading every 24 hours"
    assert words in refused(tmp_path, lines)


def test_a_counter_is_refused(tmp_path: Path) -> None:
    lines = year_lines()
    total = np.cumsum(made.made_up(8760)) / 20
    counted = [f"{line.partition(',')[0]},{count:.3f}" for line, count in zip(lines[1:], total, strict=True)]
    assert "only ever rises" in refused(tmp_path, [lines[0], *counted])


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("2018-03-05 04:00", "5 March 2018 04:00", "'5 March 2018 04:00' is no time: the day cannot be read"),
        ("2018-03-05 04:00", "2018-02-30 04:00", "is no time: day"),
        ("2018-03-05 04:00", "2018-03-05 25:00", "no such time of day"),
        ("2018-03-05 04:00", "2018-03-05 13:00 PM", "no 13 o'clock"),
        ("2018-03-05 04:00", "03/05/2018 04:00", "is no time"),
        ("2018-03-05 04:00", "1066-03-05 04:00", "year 1066 is out of reach"),
        ("2018-03-05 04:00", "2018-03-05 04:00Z", "some times state an offset"),
        ("2018-03-05 04:00", "2018-03-05 04:20", "begins before the one before it has ended"),
    ],
)
def test_a_broken_stamp_is_named_with_its_line(tmp_path: Path, old: str, new: str, words: str) -> None:
    lines = year_lines()
    at = next(k for k, line in enumerate(lines) if line.startswith(old))
    lines[at] = lines[at].replace(old, new)
    message = refused(tmp_path, lines)
    assert words in message
    assert f"meter.csv:{at + 1}:" in message or f"meter.csv:{at + 2}:" in message


def test_days_and_months_that_cannot_be_told_apart_are_refused(tmp_path: Path) -> None:
    lines = ["Time,kWh", *(f"0{m}/0{d}/2018 {h:02}:00,0.5" for m in (1, 2) for d in range(1, 10) for h in range(24))]
    assert "does not tell days from months" in refused(tmp_path, lines)
    assert "is no time: month" in refused(tmp_path, [*lines, "13/01/2018 00:00,0.5", "01/13/2018 00:00,0.5"])


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\n\n",
        b"\x00" * 50,
        b"Time,kWh\n",
        b"Time,kWh\n2018-01-01 00:00,1\n",
        b'Time,kWh\n"2018-01-01 00:00,1\n',
        b"Time,kWh\n2018-01-01 00:00," + b"9" * 70_000,
        b"\xff\xfeT",
        b"\xff\xfe\x00\xd8",
        b"<feed/>",
    ],
    ids=range(10),
)
def test_what_is_no_meter_file_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "odd.csv"
    path.write_bytes(content)
    with pytest.raises(MeterError):
        read_meter_csv(path, NEW_YORK, OFFSET)


def test_missing_files_and_folders_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(MeterError, match="is no file"):
            read_meter_csv(path, NEW_YORK, OFFSET)


def test_sixteen_bit_files_of_spreadsheets_are_read(tmp_path: Path) -> None:
    path = tmp_path / "wide.csv"
    path.write_text("\r\n".join(year_lines()), encoding="utf-16")
    assert read_meter_csv(path, NEW_YORK, OFFSET).steps.sum() == pytest.approx(sum(made.made_up(8760)))


def test_columns_marked_start_and_end_follow_the_asked_stamps(tmp_path: Path) -> None:
    path = made.write_csv(tmp_path / "both.csv", ["Start,End,kWh", "2018-01-01 00:00,2018-01-01 01:00,1"] * 1)
    path.write_text(path.read_text() + "2018-01-01 01:00,2018-01-01 02:00,2\n", encoding="utf-8")
    for stamps in (None, "start", "end"):
        read = csv_readings(path, None, 0.0, stamps)
        assert read.start.tolist() == [1514764800, 1514768400] and read.kwh.tolist() == [1, 2]


@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(0, 400), st.text(max_size=30) | st.sampled_from([",", ";", '"', "1e400", "nan", "24:00", "\0"]))
def test_broken_files_raise_nothing_but_the_error_class(tmp_path: Path, at: int, junk: str) -> None:
    text = "\n".join(year_lines()[:200])
    path = tmp_path / "fuzz.csv"
    path.write_text(text[:at] + junk + text[at + len(junk) :], encoding="utf-8", errors="replace")
    with pytest.raises(MeterError):
        read_meter_csv(path, NEW_YORK, OFFSET)


# --- what a household's file may hold besides ---

USE = np.array(made.made_up(8760))


def rows(header: str, row: str, use: np.ndarray = USE) -> list[str]:
    """A year of lines; ``use`` in any format, ``comma`` with a decimal comma, ``grouped`` in watt-hours."""
    stamps = [line.partition(",")[0] for line in year_lines()[1:]]
    return [
        header,
        *(
            row.format(stamp=stamp, use=kwh, comma=f"{kwh:.3f}".replace(".", ","), grouped=f"{1000 * kwh:,.0f}")
            for stamp, kwh in zip(stamps, use.tolist(), strict=True)
        ),
    ]


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
@pytest.mark.parametrize("row", ["{stamp};{comma}", '"{stamp}";"{comma}"', "{stamp};{use:.3f};"])
def test_marks_of_byte_order_quotes_and_decimal_commas_are_read(tmp_path: Path, encoding: str, row: str) -> None:
    path = tmp_path / "meter.csv"
    path.write_text("\r\n".join(rows('"Time";"kWh"', row)), encoding=encoding)
    year = read_meter_csv(path, NEW_YORK, OFFSET)
    assert year.steps == pytest.approx(USE, abs=1e-9) and year.found.notes == ()


@pytest.mark.parametrize(
    ("header", "row", "words"),
    [
        # Taken as written, a comma would part 0,738 into 0 and 738, and 1,207 into 1 and 207.
        ("Time,kWh", "{stamp},{comma}", "meter.csv:2: has 3 columns, though the file begins with 2"),
        ("Time,kWh,", "{stamp},{comma},", "meter.csv:2: has 4 columns, though the file begins with 2"),
        ("Time,kWh,Note", "{stamp},{comma},", "meter.csv:2: has 4 columns, though the file begins with 3"),
        ("Time,Wh", "{stamp},{grouped}", "meter.csv:4: has 3 columns, though the file begins with 2"),
        ("Time,kWh", '{stamp},"{comma}"', "meter.csv:2: '0,738' is no number; write 0.35"),
        ("Time,Wh", '{stamp},"{grouped}"', "meter.csv:4: '1,207' is no number; write 0.35, without thousands signs"),
        ("Time;Wh", "{stamp};{grouped}", "meter.csv:4: '1,207' could mean 1207 or 1.207; write 1207, or 1.2070"),
        ("Time;Import Wh;Export Wh", "{stamp};5;{grouped}", "meter.csv:4: '1,207' could mean 1207 or 1.207"),
        ("Time;kWh", "{stamp};{use:.3f} kWh", "'0.738 kWh' is no number; write 0,35 or 0.35"),
    ],
)
def test_commas_that_could_mean_several_things_are_refused(tmp_path: Path, header: str, row: str, words: str) -> None:
    assert words in refused(tmp_path, rows(header, row))


def test_a_point_before_three_digits_is_a_thousands_sign_until_another_number_tells(tmp_path: Path) -> None:
    lines = [line.replace(",", ".") for line in rows("Time;Wh", "{stamp};{grouped}")]
    assert "'1.207' could mean 1207 or 1.207" in refused(tmp_path, lines)
    # Among kWh, those below one tell; in a file parted by commas there is nothing to tell.
    whole = rows("Time;kWh", "{stamp};{comma}", 1.0 + USE)
    assert "could mean" in refused(tmp_path, whole)
    assert read_lines(tmp_path, [*whole[:-1], whole[-1] + "0"]).steps == pytest.approx(1.0 + USE, abs=1e-9)
    lines = rows("Time,kWh", "{stamp},{use:.3f}", 1.0 + USE)
    assert read_lines(tmp_path, lines).steps == pytest.approx(1.0 + USE, abs=1e-9)


def test_an_idle_separator_at_the_end_of_a_line_does_no_harm(tmp_path: Path) -> None:
    for row in ("{stamp},{use:.3f},", "{stamp},{use:.3f},,"):
        assert read_lines(tmp_path, rows("Time,kWh", row)).steps == pytest.approx(USE, abs=1e-9)


@pytest.mark.parametrize(
    ("header", "row", "fed_in"),
    [
        ("Time,Import kWh,Export kWh", "{stamp},{use:.3f},0.25", 0.25),
        ("Time,Export,Import", "{stamp},0.25,{use:.3f}", 0.25),
        ("Time,Delivered (kWh),Received (Wh)", "{stamp},{use:.3f},250", 0.25),
        ("Time,Consumption (kWh),Feed-in (kWh)", "{stamp},{use:.3f},-0.25", 0.25),
        ("Time;Fed to grid kWh;Use kWh", "{stamp};0,25;{comma}", 0.25),
        ("Time,Use,Export,Unit", "{stamp},{use:.3f},0.25,kWh", 0.25),
        ("Time,Import kWh,Export kWh,Export price", "{stamp},{use:.3f},0.25,0.08", 0.25),
        ("Time,Import kWh,Export status", "{stamp},{use:.3f},3", None),
        ("Time,Import kWh,Export kWh", "{stamp},{use:.3f},", None),
        ("Time,Import kWh,Export east kWh,Export west kWh", "{stamp},{use:.3f},1,2", None),
    ],
)
def test_what_is_fed_in_is_kept_apart(tmp_path: Path, header: str, row: str, fed_in: float | None) -> None:
    year = read_lines(tmp_path, rows(header, row))
    assert year.steps == pytest.approx(USE, abs=1e-9)
    expected = None if fed_in is None else pytest.approx(8760 * fed_in)
    assert year.found.exported_kwh == expected


def test_a_reading_without_export_is_none_of_it(tmp_path: Path) -> None:
    lines = rows("Time,Import kWh,Export kWh", "{stamp},{use:.3f},0.25")
    lines[1:101] = [line.removesuffix("0.25") for line in lines[1:101]]
    assert read_lines(tmp_path, lines).found.exported_kwh == pytest.approx(8660 * 0.25)
    lines[200] = lines[200].replace(",0.25", ",-0.25")
    assert "the export at 2018-01-09 07:00 is negative" in refused(tmp_path, lines)


@pytest.mark.parametrize("name", ["Usage (MWh)", "Usage (kVAh)", "Energy (kvarh)", "Consumption [therms]", "Use GJ"])
def test_other_units_are_refused(tmp_path: Path, name: str) -> None:
    assert f"meter.csv:1: has '{name}', neither kWh nor Wh" in refused(tmp_path, rows(f"Time,{name}", "{stamp},{use}"))


def test_a_small_flat_in_watt_hours_is_no_palace_in_kwh(tmp_path: Path) -> None:
    lines = rows("Time,Usage", "{stamp},{use:.0f}", 100 * USE)
    assert (100 * USE).max() < 1000  # no single reading gives it away
    assert "comes to 629,633 kWh a year; give kWh, or name the unit Wh" in refused(tmp_path, lines)


COUNT = np.cumsum(USE / 20)


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (COUNT, "only ever rises"),
        (COUNT + 12_345, "only ever rises"),  # beyond 1,000 kW an hour, but the unit is right
        (COUNT - np.where(np.arange(8760) < 5000, 0.0, COUNT[5000]), "nearly always rises"),
        (np.cumsum(USE.reshape(365, 24), axis=1).ravel(), "nearly always rises"),
        (np.floor(COUNT), "only ever rises"),
    ],
    ids=["from nought", "from elsewhere", "replaced", "anew each day", "whole kWh"],
)
@pytest.mark.parametrize("newest_first", [False, True])
def test_counters_of_all_kinds_are_refused(tmp_path: Path, count: np.ndarray, words: str, newest_first: bool) -> None:
    lines = rows("Time,kWh", "{stamp},{use:.3f}", count)
    message = refused(tmp_path, [lines[0], *lines[:0:-1]] if newest_first else lines)
    assert f"{words}, like the counter of a meter; give the use of each interval: each count less" in message
