"""Dates and times of day as meter files write them."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from typing import Literal

from finsolar.energy.zones import DAY, HOUR

_ISO = re.compile(r"(\d{4})([-/.])(\d{1,2})\2(\d{1,2})")
_OTHER = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})")
_TIME = re.compile(
    r"(\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)?\s*([AaPp]\.?[Mm]\.?)?\s*(Z|z|UTC|[+-]\d{2}(?::?\d{2})?)?", re.ASCII
)


def looks_like(cell: str) -> Literal["stamp", "date", "time", ""]:
    """Return what a cell of data could be, whichever way round its day and month stand; "" for none of these."""
    text = cell.strip()
    day, _, time = text.replace("T", " ", 1).partition(" ")
    if _ISO.fullmatch(day) or _OTHER.fullmatch(day):
        if not time:
            return "date"
        return "stamp" if _TIME.fullmatch(time.strip()) else ""
    return "time" if _TIME.fullmatch(text) else ""


def tells_day_first(text: str) -> bool | None:
    """Return whether the day stands before the month: told by a number over 12, or by dots.

    None where neither tells. Raises ValueError for a day in ISO order, or none at all.
    """
    match = _OTHER.fullmatch(text.replace("T", " ", 1).partition(" ")[0])
    if match is None:
        raise ValueError("no day and month before a year")
    if match[2] == "." or int(match[1]) > 12:
        return True
    return False if int(match[3]) > 12 else None


def stamp_parser(day_first: bool | None) -> Callable[[str], tuple[int, int | None]]:
    """Return a function from a stamp to its seconds since 1970 as written, and its offset from UTC in seconds.

    The offset is None where the stamp states none. ``day_first`` says how days are read that are not in ISO order;
    with None they are refused. The function raises ValueError for what is no date and time.
    """
    days: dict[str, int] = {}
    times: dict[str, tuple[int, int | None]] = {}

    def parse(text: str) -> tuple[int, int | None]:
        day, _, time = text.replace("T", " ", 1).partition(" ")
        if day not in days:
            days[day] = _day_seconds(day, day_first)
        if time not in times:
            if len(times) > 100_000:
                times.clear()
            times[time] = _time_seconds(time.strip())
        seconds, offset = times[time]
        return days[day] + seconds, offset

    return parse


def _day_seconds(text: str, day_first: bool | None) -> int:
    if iso := _ISO.fullmatch(text):
        year, month, day = int(iso[1]), int(iso[3]), int(iso[4])
    elif (other := _OTHER.fullmatch(text)) and day_first is not None:
        year = int(other[4]) + (2000 if len(other[4]) == 2 else 0)
        day, month = (int(other[1]), int(other[3])) if day_first else (int(other[3]), int(other[1]))
    else:
        raise ValueError("the day cannot be read")
    if not 1970 < year < 2100:
        raise ValueError(f"the year {year} is out of reach")
    return (date(year, month, day) - date(1970, 1, 1)).days * DAY


def _time_seconds(text: str) -> tuple[int, int | None]:
    if not text:
        return 0, None  # spreadsheets leave out midnight
    match = _TIME.fullmatch(text)
    if match is None:
        raise ValueError("the time of day cannot be read")
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    if match[4]:
        if not 1 <= hour <= 12:
            raise ValueError(f"there is no {hour} o'clock a.m. or p.m.")
        hour = hour % 12 + (12 if match[4][0] in "Pp" else 0)
    seconds = hour * HOUR + minute * 60 + second
    if minute > 59 or second > 59 or seconds > DAY:
        raise ValueError("there is no such time of day")
    if match[5] is None:
        return seconds, None
    digits = match[5].replace(":", "")
    if digits[0] not in "+-":
        return seconds, 0
    offset = int(digits[1:3]) * HOUR + int(digits[3:5] or 0) * 60
    return seconds, -offset if digits[0] == "-" else offset
