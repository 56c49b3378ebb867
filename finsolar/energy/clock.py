"""The wall clock: which month, weekday and hour a household sees in each hour of the weather year."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from functools import lru_cache
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

CALENDAR_YEAR = 2018
"""Every year of a study uses this calendar, so that equal years compare: 365 days, 1 January a Monday."""

RULE_YEAR = 2029
"""Daylight saving follows the rules of this year, whose calendar is day for day that of `CALENDAR_YEAR`:
zones that have given up changing their clocks since are left alone."""

HOURS = 8760


@dataclass(frozen=True, eq=False)
class Clock:
    """Month (0-11), weekday (0 = Monday) and hour (0-23) on the wall clock, each (steps,) int.

    The index is the step of local standard time, from 1 January 00:00: 8,760 hours, or so many halves or quarters.
    """

    month: NDArray[np.int64]
    weekday: NDArray[np.int64]
    hour: NDArray[np.int64]

    @property
    def per_hour(self) -> int:
        """How many steps an hour has."""
        return len(self.hour) // HOURS

    def steps(self, hourly: NDArray[np.float64]) -> NDArray[np.float64]:
        """Energy of hours, (..., 8760) kWh, spread evenly over their steps, (..., steps)."""
        return hourly if self.per_hour == 1 else np.repeat(hourly, self.per_hour, axis=-1) / self.per_hour


@lru_cache(maxsize=32)
def wall_clock(timezone_name: str | None, utc_offset: float, per_hour: int = 1) -> Clock:
    """Return the wall clock for every step of local standard time, `per_hour` steps in each hour.

    `timezone_name` is an IANA name such as "America/New_York", or None for standard time all year;
    `utc_offset` is the standard time of the weather year in hours, east positive. Where the two differ by
    part of an hour, the wall clock's hour is rounded down. The year is a circle: an hour that falls in the
    neighbouring year keeps its month. Returns a read-only `Clock`. Raises ValueError for an unknown zone.
    """
    standard = timezone(timedelta(hours=utc_offset))
    zone = standard if timezone_name is None else _zone(timezone_name)
    # Stepping in UTC passes over the clock changes; stepping in local time would not.
    start = datetime(RULE_YEAR, 1, 1, tzinfo=standard).astimezone(UTC)
    seen = [(start + timedelta(hours=k)).astimezone(zone) for k in range(HOURS)]
    hours = np.array([(moment.month - 1, moment.weekday(), moment.hour) for moment in seen], dtype=np.int64)
    table = np.repeat(hours, per_hour, axis=0)
    table.flags.writeable = False
    return Clock(month=table[:, 0], weekday=table[:, 1], hour=table[:, 2])


def standard_offset(timezone_name: str) -> float:
    """Return the standard time of a zone in hours, east positive: the least it is ahead of UTC in the year.

    Raises ValueError for an unknown zone.
    """
    zone = _zone(timezone_name)
    middays = (datetime(RULE_YEAR, month, 15, 12, tzinfo=UTC).astimezone(zone) for month in range(1, 13))
    return min((midday.utcoffset() or timedelta()).total_seconds() for midday in middays) / 3600


def _zone(name: str) -> tzinfo:
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError) as error:
        raise ValueError(f"unknown time zone {name!r}: write it like America/New_York") from error
