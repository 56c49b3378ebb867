"""A year of a meter: interval readings made into the steps of the study.

`meter_year` makes any `Readings` into a `MeterYear`; they come from a CSV file through `meter_csv`, from a supplier's
XML through `green_button`. Everything lies on the UTC axis, where days of 23 and 25 hours need no care.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, tzinfo

import numpy as np

from finsolar.energy.clock import HOURS
from finsolar.energy.readings import FILL_WEEKS, Array, MeterError, Readings, commonest, in_order
from finsolar.energy.weekdays import places_by_weekday
from finsolar.energy.zones import DAY, HOUR, house_zone, on_wall, said_at

WEEK = 168  # hours
MOST_GAPS = 0.05
"""Largest share of the year that is filled in; common practice, no source."""
SHORT_BY = 24
"""Hours that may be wanting at the start of the year; they are filled like any gap."""
FILLED_HOW = "with the same hour of the same weekday in the nearest weeks before and after"
MOST_KWH = 500_000.0
"""Use of a year that no house reaches, while watt-hours taken for kWh do; chosen here, no source."""
STEPS_AN_HOUR = (1, 2, 4)


@dataclass(frozen=True)
class Found:
    """What a meter file holds, for people to check.

    ``first`` and ``last`` bound the file, in the house's time zone, ``days`` between them; its ``readings`` are
    commonly ``interval_minutes`` long. All else speaks of the year that is used, from ``year_from`` on:
    ``days_left_out`` of the file are older. ``hours_filled`` in whole or in part, and ``filled_how``; exact
    ``duplicates`` dropped; ``short_days`` of 23 hours and ``long_days`` of 25; kWh by the file's own calendar months;
    ``peak_kw``, the largest mean power of one reading; ``day_share`` of the energy, used between 6 and 18 on the wall
    clock; ``exported_kwh`` and ``cost`` where the file states them.
    """

    first: datetime
    last: datetime
    days: float
    interval_minutes: float
    readings: int
    year_from: datetime
    days_left_out: float
    hours_filled: int
    filled_how: str
    duplicates: int
    short_days: tuple[date, ...]
    long_days: tuple[date, ...]
    annual_kwh: float
    monthly_kwh: tuple[float, ...]
    peak_kw: float
    day_share: float
    exported_kwh: float | None
    cost: float | None
    notes: tuple[str, ...]

    @property
    def night_share(self) -> float:
        """Share of the energy used between 18 and 6 on the wall clock."""
        return 1.0 - self.day_share


@dataclass(frozen=True, eq=False)
class MeterYear:
    """One year of use: ``steps`` (8760 x per_hour,) kWh on the axis of `Clock`, read-only, and what was ``found``.

    ``read`` holds the same year as it was, and what was read before it, kWh a step from ``origin`` (seconds since 1970,
    UTC) on, read-only; NaN where a step before that year was not read, or not all of it.
    """

    steps: Array
    found: Found
    read: Array
    origin: int


def meter_year(readings: Readings, timezone: str | None, utc_offset: float, per_hour: int = 1) -> MeterYear:
    """Make the latest 8,760 hours of the readings into a year on the study's calendar, in steps of 1 / per_hour hours.

    ``timezone`` is the house's IANA name, or None for standard time all year; ``utc_offset`` the standard time of the
    study's hours, in hours, east positive; ``per_hour`` 1, 2 or 4. Readings finer than a step are summed, coarser
    ones spread evenly in time, and one that crosses from step to step is split by time. Of a file longer than a
    year the latest year is taken: an average of years would shave the peaks. Missing time, up to `MOST_GAPS` of
    the year, is filled `FILLED_HOW`, step by step. The days are then set on the study's calendar so that each keeps
    its weekday and, beyond that, comes as near to its date as can be, three days off at most but for the odd day that
    a year has over 52 weeks: so weekends meet the prices of weekends, and clock changes agree. That adds and loses no
    energy. Returns a `MeterYear`. Raises MeterError for less than a year, larger gaps, readings that contradict each
    other or overlap, and numbers that are no use of a house; ZoneInfoNotFoundError for an unknown zone; ValueError
    for another ``per_hour``.
    """
    if per_hour not in STEPS_AN_HOUR:
        raise ValueError(f"an hour has 1, 2 or 4 steps, not {per_hour}")
    zone = house_zone(timezone, utc_offset)
    clean, duplicates = in_order(readings, zone)
    shift = round(utc_offset * HOUR)
    first, end = readings.earliest, int(clean.end.max())
    last = (end + shift) // HOUR
    begin = last - HOURS
    held_from = (int(clean.start[0]) + shift) // HOUR
    if held_from - begin > SHORT_BY:
        days = f"{(end - first) / DAY:.1f} days, from {said_at(first, zone)} to {said_at(end, zone)}"
        raise MeterError(readings.path, 0, f"covers less than a year: {days}", "give the readings of 365 days or more")

    floor, step = min(begin, held_from), HOUR // per_hour
    origin = floor * HOUR - shift
    kwh, covered = _by_step(clean, origin, step, (last - floor) * per_hour)
    older = (begin - floor) * per_hour
    steps, patched = _filled(kwh, covered / step, older, per_hour, lambda k: _gap(readings, origin + k * step, zone))
    hours = steps.reshape(HOURS, per_hour).sum(axis=1)
    annual = float(hours.sum())
    if annual <= 0.0:
        raise MeterError(readings.path, 0, "holds no use at all", "name the file that has the energy used")
    if annual > MOST_KWH:
        raise MeterError(readings.path, 0, f"comes to {annual:,.0f} kWh a year", "give kWh, or name the unit Wh")
    at = np.arange(begin, last) * HOUR - shift
    local, turns = on_wall(at, zone)
    daytime = (local % DAY >= 6 * HOUR) & (local % DAY < 18 * HOUR)
    month = local.astype("datetime64[s]").astype("datetime64[M]").astype(np.int64) % 12
    inside = clean.only((clean.end > at[0]) & (clean.start < end))
    found = Found(
        first=datetime.fromtimestamp(first, zone),
        last=datetime.fromtimestamp(end, zone),
        days=(end - first) / DAY,
        interval_minutes=commonest(clean.seconds) / 60,
        readings=readings.count,
        year_from=datetime.fromtimestamp(int(at[0]), zone),
        days_left_out=max(0.0, float(at[0]) - first) / DAY,
        hours_filled=patched,
        filled_how=FILLED_HOW if patched else "",
        duplicates=duplicates,
        short_days=tuple(day for day, forward in turns if forward),
        long_days=tuple(day for day, forward in turns if not forward),
        annual_kwh=annual,
        monthly_kwh=tuple(np.bincount(month, weights=hours, minlength=12).tolist()),
        peak_kw=float((inside.kwh / inside.seconds).max() * HOUR),
        day_share=float(hours[daytime].sum() / annual),
        exported_kwh=None if readings.exported is None else _exported(readings.exported, zone, int(at[0]), end),
        cost=float(np.nansum(inside.cost)) if np.isfinite(inside.cost).any() else None,
        notes=readings.notes,
    )
    placed = _placed(steps, begin, per_hour)
    read = np.concatenate([np.where(covered[:older] >= step * (1 - 1e-9), kwh[:older], np.nan), steps])
    placed.flags.writeable = read.flags.writeable = False
    return MeterYear(steps=placed, found=found, read=read, origin=origin)


def _by_step(readings: Readings, origin: int, step: int, size: int) -> tuple[Array, Array]:
    """Energy and seconds read in each of ``size`` steps of ``step`` seconds from ``origin``, UTC seconds, on."""
    kwh, covered = np.zeros(size), np.zeros(size)
    first = (readings.start - origin) // step
    power = readings.kwh / readings.seconds
    # A reading is an hour long at most, and may begin within a step.
    for place in (first + k for k in range(HOUR // step + 1)):
        begins = origin + place * step
        part = np.minimum(readings.end, begins + step) - np.maximum(readings.start, begins)
        here = (part > 0) & (place < size)
        np.add.at(kwh, place[here], (power * part)[here])
        np.add.at(covered, place[here], part[here])
    return kwh, covered


def _filled(kwh: Array, known: Array, begin: int, per_hour: int, gap: Callable[[int], MeterError]) -> tuple[Array, int]:
    """The steps from ``begin`` on, with what is missing filled; and how many hours that touched.

    ``kwh`` and ``known``, the share of each step that was read, (steps,), start on an hour.
    """
    wanting = 1.0 - known
    holes = begin + np.flatnonzero(wanting[begin:] > 1e-9)
    if wanting[begin:].mean() > MOST_GAPS:
        runs = np.split(holes, np.flatnonzero(np.diff(holes) > 1) + 1)
        raise gap(int(max(runs, key=len)[0]))
    week = WEEK * per_hour
    margin = FILL_WEEKS * week
    use = np.pad(kwh, margin)
    whole = np.pad(wanting < 1e-9, margin)
    guess = np.full(len(holes), np.nan)
    for away in range(week, margin + 1, week):
        near = np.stack([holes + margin - away, holes + margin + away])
        count = whole[near].sum(axis=0)
        total = np.where(whole[near], use[near], 0.0).sum(axis=0)
        guess = np.where(np.isnan(guess) & (count > 0), total / np.maximum(count, 1), guess)
    if np.isnan(guess).any():
        raise gap(int(holes[np.isnan(guess).argmax()]))
    steps = kwh.copy()
    steps[holes] += guess * wanting[holes]
    return steps[begin:], len(np.unique(holes // per_hour))


def _gap(readings: Readings, begins: int, zone: tzinfo) -> MeterError:
    after = readings.line[readings.start >= begins]
    minutes = commonest(readings.seconds) / 60
    return MeterError(
        readings.path,
        int(after.min()) if len(after) else 0,
        f"has too many gaps, the longest from {said_at(begins, zone)} on (most readings are {minutes:g} minutes long)",
        f"fill them, or give another year; at most {MOST_GAPS:.0%} of a year may be missing",
    )


def _exported(readings: Readings, zone: tzinfo, begin: int, end: int) -> float:
    clean, _ = in_order(readings, zone, "export")
    return float(clean.kwh[(clean.start >= begin) & (clean.start < end)].sum())


def _placed(steps: Array, begin: int, per_hour: int) -> Array:
    """The same steps on the study's calendar, day by day; ``begin`` in hours since 1970, standard time."""
    # A year that begins within a day ends within the same day: the two parts make one.
    day, into = divmod(begin, 24)
    days = np.roll(steps, into * per_hour).reshape(365, 24 * per_hour)
    number = day + np.arange(365)
    if into > 12:
        number[0] += 365
    placed = np.empty_like(days)
    placed[places_by_weekday(number.astype("datetime64[D]"))] = days
    return placed.reshape(-1)
