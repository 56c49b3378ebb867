"""The clocks of a house in past years: when they changed, and what they showed."""

from __future__ import annotations

from bisect import bisect_left
from datetime import UTC, date, datetime, timedelta, tzinfo
from datetime import timezone as fixed_zone
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

Whole = NDArray[np.int64]

HOUR, DAY = 3600, 86400  # seconds
APART = DAY // 2


def house_zone(timezone: str | None, utc_offset: float) -> tzinfo:
    """Return the zone of an IANA name or, without one, standard time all year, ``utc_offset`` hours east of UTC.

    Raises ZoneInfoNotFoundError for an unknown name.
    """
    return fixed_zone(timedelta(hours=utc_offset)) if timezone is None else ZoneInfo(timezone)


def said_at(seconds: float, zone: tzinfo) -> str:
    """Return a moment, seconds since 1970 UTC, in words of the zone's wall clock."""
    return f"{datetime.fromtimestamp(seconds, zone):%Y-%m-%d %H:%M}"


def clock_changes(zone: tzinfo, first: float, last: float) -> tuple[Whole, Whole]:
    """Return when the zone changes its clocks between two times, UTC seconds (m,), and its offsets, seconds (m + 1,).

    Changes are taken to be `APART` or more from each other.
    """

    def offset(at: int) -> int:
        ahead = datetime.fromtimestamp(at, UTC).astimezone(zone).utcoffset() or timedelta()
        return round(ahead.total_seconds())

    when: list[int] = []
    offsets = [offset(int(first))]
    for begin in range(int(first), int(last), APART):
        span = range(begin, min(begin + APART, int(last)) + 1)
        if offset(span[-1]) != offsets[-1]:
            # Some zones change at odd minutes.
            when.append(span[bisect_left(span, True, key=lambda at: offset(at) != offsets[-1])])
            offsets.append(offset(span[-1]))
    return np.array(when, dtype=np.int64), np.array(offsets, dtype=np.int64)


def on_wall(at: Whole, zone: tzinfo) -> tuple[Whole, list[tuple[date, bool]]]:
    """Return seconds since 1970 on the wall clock at rising UTC seconds, both (n,), and the days of clock changes.

    Each such day comes with whether it is a short one.
    """
    when, offset = clock_changes(zone, at[0], at[-1])
    local = at + offset[np.searchsorted(when, at, side="right")]
    days = [datetime.fromtimestamp(t, zone).date() for t in when.tolist()]
    return local, list(zip(days, (np.diff(offset) > 0).tolist(), strict=True))
