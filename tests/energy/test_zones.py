"""Clock changes of past years."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from finsolar.energy.zones import HOUR, clock_changes, house_zone, on_wall


def at(text: str) -> int:
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


@pytest.mark.parametrize(
    ("zone", "moments", "hours"),
    [
        # The rules of the tz database, written out by hand.
        ("America/New_York", ["2018-03-11 07:00", "2018-11-04 06:00"], [-5, -4, -5]),
        ("Australia/Lord_Howe", ["2018-03-31 15:00", "2018-10-06 15:30"], [11, 10.5, 11]),
        ("America/St_Johns", ["2010-03-14 03:31", "2010-11-07 02:31"], [-3.5, -2.5, -3.5]),
        ("Asia/Kolkata", [], [5.5]),
    ],
)
def test_changes_are_told_to_the_minute(zone: str, moments: list[str], hours: list[float]) -> None:
    year = moments[0][:4] if moments else "2018"
    when, offset = clock_changes(ZoneInfo(zone), at(f"{year}-01-01"), at(f"{int(year) + 1}-01-01"))
    assert when.tolist() == [at(moment) for moment in moments]
    assert offset.tolist() == [hour * HOUR for hour in hours]


def test_a_change_at_either_end_of_the_span() -> None:
    change, zone = at("2018-03-11 07:00"), ZoneInfo("America/New_York")
    assert [part.tolist() for part in clock_changes(zone, change, change + 60)] == [[], [-4 * HOUR]]
    assert [part.tolist() for part in clock_changes(zone, change - 60, change)] == [[change], [-5 * HOUR, -4 * HOUR]]
    assert [part.tolist() for part in clock_changes(zone, change, change)] == [[], [-4 * HOUR]]


def test_the_wall_clock_skips_and_repeats() -> None:
    steps = np.arange(at("2018-03-11 05:00"), at("2018-03-11 09:00"), HOUR)
    local, turns = on_wall(steps, ZoneInfo("America/New_York"))
    assert (local // HOUR % 24).tolist() == [0, 1, 3, 4] and turns == [(date(2018, 3, 11), True)]
    local, turns = on_wall(steps, house_zone(None, -5.0))
    assert (local // HOUR % 24).tolist() == [0, 1, 2, 3] and turns == []
