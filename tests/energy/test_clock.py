"""The wall clock: facts of the calendar and of daylight saving."""

from datetime import date

import numpy as np
import pytest

from finsolar.energy.clock import CALENDAR_YEAR, RULE_YEAR, standard_offset, wall_clock


def hour_of(month: int, day: int, hour: int) -> int:
    """Return the index of an hour of local standard time; month and day from 1."""
    return (date(CALENDAR_YEAR, month, day) - date(CALENDAR_YEAR, 1, 1)).days * 24 + hour


def test_both_years_share_one_calendar() -> None:
    for year in (CALENDAR_YEAR, RULE_YEAR):
        assert date(year, 1, 1).weekday() == 0
        assert date(year, 12, 31).timetuple().tm_yday == 365


def test_standard_time_all_year() -> None:
    clock = wall_clock(None, -5.0)
    k = np.arange(8760)
    assert np.array_equal(clock.hour, k % 24)
    assert np.array_equal(clock.weekday, k // 24 % 7)
    assert np.bincount(clock.month).tolist() == [24 * d for d in (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)]


def test_new_york_springs_forward_and_falls_back() -> None:
    # Second Sunday in March, first Sunday in November (Energy Policy Act of 2005): 11 March and 4 November.
    clock = wall_clock("America/New_York", -5.0)
    spring, autumn = hour_of(3, 11, 2), hour_of(11, 4, 1)
    assert clock.hour[spring - 2 : spring + 2].tolist() == [0, 1, 3, 4]
    assert clock.hour[autumn - 2 : autumn + 2].tolist() == [0, 1, 1, 2]
    assert clock.weekday[spring] == clock.weekday[autumn] == 6
    hours = np.bincount(clock.month)
    assert (hours[2], hours[10]) == (743, 721)
    assert hours.sum() == 8760
    assert clock.hour[hour_of(7, 1, 12)] == 13 and clock.hour[hour_of(1, 1, 12)] == 12


def test_the_day_changes_with_the_wall_clock() -> None:
    clock = wall_clock("America/New_York", -5.0)
    late = hour_of(6, 30, 23)  # half past midnight on the wall, 1 July
    assert (clock.month[late], clock.hour[late]) == (6, 0)
    assert clock.weekday[late] == date(CALENDAR_YEAR, 7, 1).weekday()


def test_no_daylight_saving_in_arizona() -> None:
    kept, standard = wall_clock("America/Phoenix", -7.0), wall_clock(None, -7.0)
    assert np.array_equal(kept.hour, standard.hour) and np.array_equal(kept.month, standard.month)


def test_a_rule_given_up_since_the_calendar_year_is_not_applied() -> None:
    # Mexico ended daylight saving on 30 October 2022.
    assert np.array_equal(wall_clock("America/Mexico_City", -6.0).hour, wall_clock(None, -6.0).hour)


def test_the_southern_year_is_a_circle() -> None:
    clock = wall_clock("Australia/Sydney", 10.0)
    assert (clock.month[0], clock.hour[0]) == (0, 1)
    assert (clock.month[-1], clock.hour[-1]) == (0, 0)
    assert np.bincount(clock.month)[0] == 744


@pytest.mark.parametrize("per_hour", [1, 2, 4])
def test_steps_of_an_hour_share_its_place_on_the_wall(per_hour: int) -> None:
    hourly, finer = wall_clock("America/New_York", -5.0), wall_clock("America/New_York", -5.0, per_hour)
    assert finer.per_hour == per_hour and finer.hour.shape == (8760 * per_hour,)
    for name in ("month", "weekday", "hour"):
        assert np.array_equal(
            getattr(finer, name).reshape(8760, per_hour), getattr(hourly, name)[:, None].repeat(per_hour, 1)
        )
    assert np.bincount(finer.month)[2] == 743 * per_hour  # March, an hour short


@pytest.mark.parametrize("per_hour", [1, 2, 4])
def test_energy_of_an_hour_is_spread_evenly_over_its_steps(per_hour: int) -> None:
    energy = np.random.default_rng(1).random((2, 3, 8760))
    steps = wall_clock(None, 0.0, per_hour).steps(energy)
    assert steps.shape == (2, 3, 8760 * per_hour)
    by_hour = steps.reshape(2, 3, 8760, per_hour)
    assert np.array_equal(by_hour, (energy / per_hour)[..., None].repeat(per_hour, -1))
    assert np.allclose(by_hour.sum(-1), energy)


def test_half_hour_zones_round_down() -> None:
    clock = wall_clock("Asia/Kolkata", 5.0)  # a weather year kept on whole hours, half an hour behind the wall
    assert clock.hour[:3].tolist() == [0, 1, 2]
    assert wall_clock("Asia/Kolkata", 5.5).hour[:3].tolist() == [0, 1, 2]
    assert wall_clock("Asia/Kolkata", 6.0).hour[:3].tolist() == [23, 0, 1]


@pytest.mark.parametrize(
    ("name", "hours"),
    [
        ("America/New_York", -5.0),
        ("Australia/Sydney", 10.0),  # summer time at both ends of the year
        ("Europe/Dublin", 0.0),  # the zone's own law calls the summer's time its standard
        ("Asia/Kolkata", 5.5),
        ("UTC", 0.0),
    ],
)
def test_standard_time_is_the_least_ahead(name: str, hours: float) -> None:
    assert standard_offset(name) == hours


def test_standard_offset_refuses_an_unknown_zone() -> None:
    with pytest.raises(ValueError, match="unknown time zone"):
        standard_offset("America/Nowhere")


@pytest.mark.parametrize("name", ["America/Nowhere", "", "../secret", "America"])
def test_unknown_zones_are_refused(name: str) -> None:
    with pytest.raises(ValueError, match="unknown time zone"):
        wall_clock(name, 0.0)


def test_clocks_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        wall_clock(None, 0.0).hour[0] = 5
