"""Monthly peaks, beside a plain walk over the steps."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finsolar.energy.clock import wall_clock
from finsolar.energy.peaks import monthly_peaks

ZONE, OFFSET = "America/New_York", -5.0
ALL, EVENINGS, WEEKDAYS, NEVER = range(4)


def four_windows(clock):
    """Every step; 16 to 21 h; working days in summer from 12 to 19 h; never."""
    afternoon = (clock.hour >= 12) & (clock.hour < 19) & (clock.weekday < 5) & (clock.month > 4) & (clock.month < 9)
    evening = (clock.hour >= 16) & (clock.hour < 21)
    return np.stack([np.ones(len(clock.hour), bool), evening, afternoon, np.zeros(len(clock.hour), bool)])


def plain_peaks(kwh, clock, window, minutes):
    """Gather the intervals one by one; kW by month."""
    per_hour = len(kwh) // 8760
    count = max(1, minutes * per_hour // 60)
    highest = [0.0] * 12
    for first in range(0, len(kwh), count):
        if all(window[first : first + count]):
            kw = sum(kwh[first : first + count]) * per_hour / count
            highest[clock.month[first]] = max(highest[clock.month[first]], kw)
    return highest


@pytest.mark.parametrize("zone", [ZONE, None])
@pytest.mark.parametrize(("per_hour", "minutes"), [(1, 15), (1, 60), (2, 30), (2, 60), (4, 15), (4, 30), (4, 60)])
def test_equals_a_plain_walk(zone, per_hour, minutes):
    clock = wall_clock(zone, OFFSET, per_hour)
    windows = four_windows(clock)
    kwh = np.random.default_rng(minutes + per_hour).gamma(1.0, 1.0, (2, 8760 * per_hour))
    peaks = monthly_peaks(kwh, clock, windows, minutes)
    assert peaks.shape == (2, 12, 4)
    for year, window in np.ndindex(2, 3):
        expected = plain_peaks(kwh[year].tolist(), clock, windows[window].tolist(), minutes)
        assert peaks[year, :, window] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("minutes", [15, 30, 60])
def test_nothing_where_a_window_has_no_step(minutes):
    clock = wall_clock(ZONE, OFFSET, 2)
    peaks = monthly_peaks(np.ones((1, 17520)), clock, four_windows(clock), minutes)
    assert peaks[0, :, ALL].tolist() == [2.0] * 12
    assert peaks[0, :, EVENINGS].tolist() == [2.0] * 12
    assert peaks[0, :, WEEKDAYS].tolist() == [0.0] * 5 + [2.0] * 4 + [0.0] * 3
    assert peaks[0, :, NEVER].tolist() == [0.0] * 12


def test_the_peak_of_an_hour_lies_in_the_month_on_the_wall():
    """The hour from 23 h on 31 March by standard time is already April in summer time."""
    clock = wall_clock(ZONE, OFFSET)
    kwh = np.zeros((1, 8760))
    kwh[0, 90 * 24 - 1] = 7.0
    everything = np.ones((1, 8760), bool)
    assert monthly_peaks(kwh, clock, everything)[0, 3, 0] == 7.0
    assert monthly_peaks(kwh, wall_clock(None, OFFSET), everything)[0, 2, 0] == 7.0


def test_an_interval_half_inside_a_window_is_outside():
    clock = wall_clock(None, OFFSET, 4)
    kwh = np.zeros((1, 35040))
    kwh[0, 40:44] = [1.0, 1.0, 9.0, 9.0]
    window = np.zeros((1, 35040), bool)
    window[0, 40:42] = True
    assert [monthly_peaks(kwh, clock, window, minutes)[0, 0, 0] for minutes in (15, 30, 60)] == [4.0, 4.0, 0.0]


def test_an_interval_shorter_than_the_step_goes_by_the_step():
    clock = wall_clock(ZONE, OFFSET)
    kwh = np.random.default_rng(3).random((1, 8760))
    windows = four_windows(clock)
    assert np.array_equal(monthly_peaks(kwh, clock, windows, 15), monthly_peaks(kwh, clock, windows, 60))


@settings(max_examples=20)
@given(st.integers(0, 2**32 - 1))
def test_a_shorter_interval_a_wider_window_and_more_load_never_lower_the_peak(seed):
    clock = wall_clock(ZONE, OFFSET, 4)
    kwh = np.random.default_rng(seed).random((1, 35040)) ** 4
    windows = four_windows(clock)
    quarter, half, hour = (monthly_peaks(kwh, clock, windows, minutes) for minutes in (15, 30, 60))
    slack = 1e-12
    assert (quarter + slack >= half).all() and (half + slack >= hour).all()
    assert (half[..., [ALL]] + slack >= half).all()
    more = monthly_peaks(kwh + 0.1, clock, windows, 30)
    assert more == pytest.approx(np.where(half > 0.0, half + 0.4, 0.0))  # 0.1 kWh in each quarter is 0.4 kW


def test_cases_on_leading_axes_equal_case_by_case_and_repeated_ones_are_read_once():
    clock = wall_clock(ZONE, OFFSET)
    windows = four_windows(clock)
    kwh = np.random.default_rng(4).random((3, 1, 8760))
    spread = np.broadcast_to(kwh, (3, 25, 8760))
    together = monthly_peaks(spread, clock, windows)
    assert together.shape == (3, 25, 12, 4)
    assert together.strides[1] == 0
    for case in range(3):
        assert np.array_equal(together[case], monthly_peaks(np.tile(kwh[case], (25, 1)), clock, windows))


def test_without_windows_there_is_nothing_to_bill():
    clock = wall_clock(ZONE, OFFSET)
    assert monthly_peaks(np.ones((2, 8760)), clock, np.zeros((0, 8760), bool)).shape == (2, 12, 0)


def test_refuses_other_intervals_and_other_shapes():
    clock = wall_clock(ZONE, OFFSET)
    kwh, window = np.ones((1, 8760)), np.ones((1, 8760), bool)
    with pytest.raises(ValueError, match="15, 30 or 60 minutes, not 20"):
        monthly_peaks(kwh, clock, window, 20)
    with pytest.raises(ValueError, match="each of 8760 steps"):
        monthly_peaks(kwh, clock, window[0])
    with pytest.raises(ValueError, match="each of 8760 steps"):
        monthly_peaks(np.ones((1, 17520)), clock, window)
