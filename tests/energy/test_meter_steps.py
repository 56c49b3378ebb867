"""Readings in steps of half and quarter hours."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import meter_samples as made
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from meter_samples import NEW_YORK, read_lines, year_lines

from finsolar.energy.meter import meter_year
from finsolar.energy.readings import MeterError


@settings(max_examples=8)
@given(
    st.sampled_from([10, 15, 20, 30, 45, 60]),
    st.sampled_from([0.0, 0.25, 5.5, -5.0]),
    st.integers(0, 3599),
    st.sampled_from([None, "America/New_York"]),
    st.integers(0, 99),
)
def test_finer_steps_sum_to_the_hours(minutes: int, offset: float, late: int, zone: str | None, seed: int) -> None:
    count = 367 * 1440 // minutes
    begin = int(datetime(2021, 5, 3, tzinfo=UTC).timestamp()) + late
    kwh = np.random.default_rng(seed).gamma(1.2, 0.01 * minutes, count).tolist()
    whole = made.readings([begin + k * minutes * 60 for k in range(count)], kwh, minutes * 60)
    hourly = meter_year(whole, zone, offset)
    for per_hour in (2, 4):
        fine = meter_year(whole, zone, offset, per_hour)
        assert fine.steps.shape == (8760 * per_hour,) and not fine.steps.flags.writeable
        assert fine.steps.reshape(8760, per_hour).sum(axis=1) == pytest.approx(hourly.steps, rel=1e-12)
        assert fine.found.annual_kwh == pytest.approx(hourly.found.annual_kwh, rel=1e-12)
        assert fine.found.monthly_kwh == pytest.approx(hourly.found.monthly_kwh, rel=1e-12)
        assert (fine.found.peak_kw, fine.found.first) == (hourly.found.peak_kw, hourly.found.first)


@pytest.mark.parametrize("layout", ["iso", "end", "newest first", "american two columns"])
def test_quarter_hours_keep_their_peaks(tmp_path: Path, layout: str) -> None:
    starts = made.starts_of(NEW_YORK, "2018-01-01", "2019-01-01", 15)
    kwh = made.made_up(len(starts))
    kwh[20_002] = 9.0
    year = read_lines(tmp_path, made.csv_lines(NEW_YORK, starts, kwh, 15, made.LAYOUTS[layout]), per_hour=4)
    assert year.steps == pytest.approx(kwh, abs=1e-9)
    assert year.steps.argmax() == 20_002 and year.steps.max() * 4 == pytest.approx(year.found.peak_kw) == 36.0


def test_hourly_readings_are_flat_within_each_hour(tmp_path: Path) -> None:
    kwh = np.array(made.made_up(8760))
    for per_hour in (2, 4):
        year = read_lines(tmp_path, year_lines(), per_hour=per_hour)
        assert year.steps == pytest.approx(np.repeat(kwh / per_hour, per_hour), abs=1e-12)
        assert year.found == read_lines(tmp_path, year_lines()).found


def test_a_reading_across_steps_is_split_by_time() -> None:
    # Twenty minutes each: 1, 2 and 3 kWh an hour. The second quarter holds five minutes of the first and ten of the
    # second, the third ten of the second and five of the third.
    begin = int(datetime(2018, 1, 1, tzinfo=UTC).timestamp())
    year = meter_year(
        made.readings([begin + k * 1200 for k in range(26280)], [1.0, 2.0, 3.0] * 8760, 1200), None, 0.0, 4
    )
    assert year.steps.reshape(8760, 4) == pytest.approx(np.tile([0.75, 0.25 + 1.0, 1.0 + 0.75, 2.25], (8760, 1)))
    # Hours that begin at a quarter past cross from one hour of the study to the next.
    hours = made.readings([begin - 2700 + k * 3600 for k in range(8761)], [4.0, 8.0] * 4380 + [4.0], 3600)
    steps = meter_year(hours, None, 0.0, 4).steps
    assert steps[:9] == pytest.approx([1, 2, 2, 2, 2, 1, 1, 1, 1]) and steps.sum() == pytest.approx(6 * 8760, abs=8)


def test_gaps_are_filled_step_by_step(tmp_path: Path) -> None:
    starts = made.starts_of(NEW_YORK, "2018-01-01", "2019-01-01", 15)
    kwh = np.array(made.made_up(len(starts)))
    lines = made.csv_lines(NEW_YORK, starts, kwh.tolist(), 15, made.Layout())
    gone = np.array([12_001, 12_002, 12_005])
    year = read_lines(tmp_path, [line for k, line in enumerate(lines) if k - 1 not in gone], per_hour=4)
    assert year.steps[gone] == pytest.approx((kwh[gone - 672] + kwh[gone + 672]) / 2)
    kept = np.delete(np.arange(len(kwh)), gone)
    assert year.steps[kept] == pytest.approx(kwh[kept], abs=1e-9)
    assert year.found.hours_filled == 2  # one with two quarters, one with one
    with pytest.raises(
        MeterError, match=r"has too many gaps, the longest from 2018-05-06 01:00 on \(most .* 15 minutes"
    ):
        read_lines(tmp_path, lines[:12_001] + lines[15_000:], per_hour=4)


@pytest.mark.parametrize("per_hour", [0, 3, 60])
def test_other_steps_are_refused(per_hour: int) -> None:
    with pytest.raises(ValueError, match="an hour has 1, 2 or 4 steps"):
        meter_year(made.readings([0], [1.0]), None, 0.0, per_hour)
