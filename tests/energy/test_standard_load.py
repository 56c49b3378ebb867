"""The published household profile on the wall clock of a study."""

import subprocess
import sys
import warnings
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import demandlib.bdew
import numpy as np
import pandas as pd
import pytest

from finsolar.energy import standard_load
from finsolar.energy.clock import RULE_YEAR, wall_clock
from finsolar.energy.standard_load import h25_hours

STANDARD = wall_clock(None, 0.0)
NEW_YORK = wall_clock("America/New_York", -5.0)


@pytest.fixture(scope="module")
def published() -> pd.Series:
    """The profile by wall-clock time of the year whose clock changes a study follows, as the package draws it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return demandlib.bdew.H25(pd.date_range(f"{RULE_YEAR}-01-01", periods=35_040, freq="15min"))


def seen_on_the_wall(zone: str, utc_offset: float) -> pd.DatetimeIndex:
    """What a clock in the zone shows each quarter of an hour of standard time, the year closed to a circle."""
    start = datetime(RULE_YEAR, 1, 1, tzinfo=timezone(timedelta(hours=utc_offset))).astimezone(UTC)
    moments = [(start + timedelta(minutes=15 * k)).astimezone(ZoneInfo(zone)) for k in range(35_040)]
    return pd.DatetimeIndex([moment.replace(tzinfo=None, year=RULE_YEAR) for moment in moments])


@pytest.mark.parametrize(
    ("zone", "utc_offset"),
    [("America/New_York", -5.0), ("Asia/Kolkata", 5.5), ("Australia/Sydney", 10.0), ("Pacific/Auckland", 12.0)],
)
def test_every_quarter_is_that_of_the_wall_clock(zone: str, utc_offset: float, published: pd.Series) -> None:
    expected = published[seen_on_the_wall(zone, utc_offset)].to_numpy()
    found = h25_hours(wall_clock(zone, utc_offset, 4))
    # Where daylight saving spans the new year, an hour of it falls into the next one, whose weekday is another.
    inside = slice(0, -4)
    ratio = found[inside] / expected[inside]
    assert ratio.max() / ratio.min() == pytest.approx(1.0, abs=1e-12)


def test_an_evening_peak_stays_at_its_hour_when_clocks_change() -> None:
    july = NEW_YORK.month == 6
    for clock in (STANDARD, NEW_YORK):
        share = h25_hours(clock)
        by_hour = [share[july & (clock.hour == hour)].sum() for hour in range(24)]
        assert int(np.argmax(by_hour)) == 19 and int(np.argmin(by_hour)) == 3


@pytest.mark.parametrize(
    ("zone", "utc_offset"),
    [(None, 0.0), ("America/New_York", -5.0), ("Australia/Sydney", 10.0)],
    ids=["standard", "New York", "Sydney"],
)
@pytest.mark.parametrize("per_hour", [1, 2, 3, 4, 12])
def test_steps_add_up_to_the_hours_and_those_to_one(zone: str | None, utc_offset: float, per_hour: int) -> None:
    hours, steps = (h25_hours(wall_clock(zone, utc_offset, each)) for each in (1, per_hour))
    assert steps.shape == (8760 * per_hour,) and steps.min() > 0
    assert np.allclose(steps.reshape(8760, per_hour).sum(axis=1), hours, rtol=1e-12, atol=0)
    assert hours.sum() == pytest.approx(1.0, abs=1e-12)


def test_short_steps_split_a_quarter_evenly_and_thirds_straddle_two() -> None:
    quarters, fives, thirds = (h25_hours(wall_clock(None, 0.0, per_hour)) for per_hour in (4, 12, 3))
    assert np.allclose(fives, np.repeat(quarters / 3, 3), rtol=1e-12, atol=0)
    first = quarters.reshape(8760, 4)
    assert np.allclose(thirds.reshape(8760, 3)[:, 0], first[:, 0] + first[:, 1] / 3, rtol=1e-12, atol=0)


def test_saturday_sunday_and_weekday_differ() -> None:
    share, clock = h25_hours(STANDARD), STANDARD
    noon = (clock.month == 0) & (clock.hour == 12)
    kinds = (clock.weekday < 5, clock.weekday == 5, clock.weekday == 6)
    weekdays, saturday, sunday = (share[noon & days].mean() for days in kinds)
    assert weekdays < saturday < sunday
    friday, monday = (share[noon & (clock.weekday == day)].mean() for day in (4, 0))
    assert friday == pytest.approx(monday, rel=0.01)


def test_seasons_turn_in_the_south_and_weekdays_do_not() -> None:
    north, south = h25_hours(STANDARD), h25_hours(STANDARD, southern=True)
    days = np.bincount(STANDARD.month)
    by_month = [np.bincount(STANDARD.month, weights=share) / days for share in (north, south)]
    assert by_month[1] == pytest.approx(np.roll(by_month[0], 6), rel=0.015)
    assert int(by_month[0].argmin()) in (5, 6, 7) and int(by_month[1].argmin()) in (11, 0, 1)

    def noon(share: np.ndarray, month: int, weekday: int) -> float:
        chosen = (STANDARD.month == month) & (STANDARD.weekday == weekday)
        return float(share[chosen & (STANDARD.hour == 12)].mean() / share[chosen].mean())

    for weekday in (0, 5, 6):
        assert noon(south, 0, weekday) == pytest.approx(noon(north, 6, weekday), rel=0.002)
    assert noon(south, 0, 6) > 1.05 * noon(south, 0, 0)


def test_a_result_may_be_changed_and_the_next_is_whole() -> None:
    first = h25_hours(STANDARD)
    kept = first.copy()
    first[:] = 0.0
    assert np.array_equal(h25_hours(STANDARD), kept)


def test_nothing_slow_until_it_is_asked_for_and_no_warning_even_then() -> None:
    code = (
        "import sys, warnings; from finsolar.energy.clock import wall_clock;"
        "from finsolar.energy.standard_load import h25_hours;"
        "print(sorted({'pandas', 'demandlib'} & set(sys.modules)));"
        "before = list(warnings.filters); h25_hours(wall_clock(None, 0.0));"
        "print('demandlib' in sys.modules, list(warnings.filters) == before)"
    )
    run = subprocess.run([sys.executable, "-W", "error", "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.split("\n")[:2] == ["[]", "True True"] and not run.stderr


def test_a_package_that_turns_warnings_into_errors_reaches_no_further(monkeypatch: pytest.MonkeyPatch) -> None:
    class Strict(demandlib.bdew.H25):
        def __init__(self, stamps: pd.DatetimeIndex) -> None:
            super().__init__(stamps)
            warnings.simplefilter("error")
            warnings.filterwarnings("error", message="anything")

    monkeypatch.setattr(demandlib.bdew, "H25", Strict)
    before = list(warnings.filters)
    table, by_day = standard_load._h25.__wrapped__()
    assert list(warnings.filters) == before
    assert np.all(table > 0) and np.all(np.isfinite(table)) and by_day.shape == (365,)
