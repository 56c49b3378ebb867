"""Meter readings in the XML of the NAESB ESPI standard, the one suppliers hand out as Green Button files.

`espi` reads the file; here its entries are joined, and what the house took from the grid is made into readings.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, tzinfo
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from finsolar.energy.dst_rule import LocalTime, dst_rule
from finsolar.energy.espi import AGAIN, LATEST, Entry, Feed, read_feed
from finsolar.energy.meter import MeterYear, meter_year
from finsolar.energy.readings import MeterError, Readings, Rows
from finsolar.energy.zones import DAY, HOUR
from finsolar.scenario.problems import shown

# Codes of the standard; those of a register that counts on, and of directions other than 1 and 19, from memory.
WATT_HOURS, WATTS = 72, 38
IMPORT, EXPORT = 1, 19
ELECTRICITY = {0, 1, 2}
REGISTERS = {2, 3}
COST_UNIT = 1e-5


def read_green_button(path: str | Path, timezone: str | None, utc_offset: float, per_hour: int = 1) -> MeterYear:
    """Read a year of use: `green_button_readings`, then `finsolar.energy.meter.meter_year`; their errors.

    ``timezone``, ``utc_offset`` and ``per_hour`` as in `meter_year`. Readings lie on the UTC axis, so the file's own
    local time is not needed; where it disagrees with ``timezone``, a note says so, and the scenario's zone holds.
    """
    feed = read_feed(Path(path))
    readings, local = _used(feed), _local_time(feed)
    if local is not None and timezone is not None and len(readings.start):
        note = _clock_note(local, ZoneInfo(timezone), timezone, int(readings.end.max()))
        readings = replace(readings, notes=(*readings.notes, *note))
    return meter_year(readings, timezone, utc_offset, per_hour)


def green_button_readings(path: str | Path) -> Readings:
    """Read the interval energy of one electricity meter from an ESPI feed.

    kWh = value x 10^powerOfTenMultiplier / 1000 for watt-hours (uom 72), and times duration / 3600 for watts (uom 38).
    Direction 1, or none stated, is taken from the grid; 19 is fed in, kept apart in ``exported``. A reading
    without a time follows from the start of its block and the length its type states. MeterReadings of the same
    meter and direction are put side by side, the finest length only, never added. Returns `Readings` on the UTC
    axis, cost in the file's currency. Raises MeterError for anything but a feed of one electricity meter's interval
    energy, and for any DOCTYPE or entity. Source: NAESB REQ.21 ESPI, as laid down in its schema.
    """
    return _used(read_feed(Path(path)))


def _clock_note(local: LocalTime, zone: tzinfo, name: str, last: int) -> Iterable[str]:
    """A note where the file's clock and the scenario's part on any day of the last year."""
    for back in range(365):
        moment = datetime.fromtimestamp(last - back * DAY, UTC)
        ours = moment.astimezone(zone).utcoffset() or timedelta()
        if ours.total_seconds() != local.at(moment):
            return [f"The file's own clock differs from {name}, for one on {moment:%Y-%m-%d}; {name} is used."]
    return []


def _local_time(feed: Feed) -> LocalTime | None:
    stated = next((entry.numbers for entry in feed.entries if entry.content == "LocalTimeParameters"), {})
    try:
        return LocalTime(
            offset=int(stated["tzOffset"]),
            saving=int(stated.get("dstOffset", "0")),
            begins=dst_rule(stated.get("dstStartRule", "FFFFFFFF")),
            ends=dst_rule(stated.get("dstEndRule", "FFFFFFFF")),
        )
    except (KeyError, ValueError):
        return None  # only ever a hint beside the scenario's own time zone


@dataclass(frozen=True)
class _Series:
    """The blocks of one MeterReading, with what its type and its meter say; codes are None where not stated."""

    rows: Rows
    point: str
    service: int | None
    commodity: int | None
    direction: int | None
    unit: int | None
    behaviour: int | None
    power_of_ten: int
    length: int

    @property
    def electric(self) -> bool:
        return self.service in (None, 0) and (self.commodity is None or self.commodity in ELECTRICITY)


def _series(feed: Feed) -> list[_Series]:
    """Join blocks, MeterReadings, types and meters by their links; where there is but one, no link is needed."""

    def those(content: str) -> list[Entry]:
        return [entry for entry in feed.entries if entry.content == content]

    def code(numbers: dict[str, str], name: str) -> int | None:
        try:
            number = int(numbers[name]) if name in numbers else None
        except ValueError:
            number = 1 << 40
        if number is not None and abs(number) > 1 << 31:
            raise MeterError(feed.path, 0, f"has {shown(numbers[name])} as {name}", AGAIN)
        return number

    meters, kinds, points = those("MeterReading"), those("ReadingType"), those("UsagePoint")
    meter_of = {href: meter for meter in meters for href in (meter.own + "/IntervalBlock", *meter.related)}
    kind_of = {kind.own: kind for kind in kinds}
    point_of = {point.own: point for point in points}
    found = []
    for key, rows in feed.blocks.items():
        meter = meter_of.get(key) or (meters[0] if len(meters) == 1 else None)
        linked = [kind_of[href] for href in (meter.related if meter else []) if href in kind_of]
        kind = (linked or kinds) if linked or len(kinds) == 1 else []
        point = key.partition("/MeterReading")[0]
        service = point_of.get(point) or (points[0] if len(points) == 1 else None)
        numbers = kind[0].numbers if kind else {}
        found.append(
            _Series(
                rows=rows,
                point=point,
                service=code(service.numbers, "kind") if service else None,
                commodity=code(numbers, "commodity"),
                direction=code(numbers, "flowDirection"),
                unit=code(numbers, "uom"),
                behaviour=code(numbers, "accumulationBehaviour"),
                power_of_ten=code(numbers, "powerOfTenMultiplier") or 0,
                length=code(numbers, "intervalLength") or 0,
            )
        )
    return found


def _used(feed: Feed) -> Readings:
    """The readings of what was taken from the grid, with what was fed in beside them."""
    path, every = feed.path, [series for series in _series(feed) if series.rows.count]
    if not every:
        raise MeterError(path, 0, "holds no interval readings", "ask for interval data, hourly or finer")
    electric = [series for series in every if series.electric]
    if not electric:
        raise MeterError(path, 0, "is not about electricity", "give the file of the electricity meter")
    notes = ["Readings of something else than electricity are left aside."] if len(electric) < len(every) else []
    if all(series.unit is None for series in electric):
        raise MeterError(path, 0, "does not say in which unit its readings are", AGAIN)
    metered = [series for series in electric if series.unit in (WATT_HOURS, WATTS)]
    if not metered:
        raise MeterError(path, 0, "is neither in watt-hours nor in watts", "ask for interval data of energy")
    counted = [series for series in metered if series.behaviour not in REGISTERS]
    if not counted:
        raise MeterError(path, 0, "holds the counts of a register", "ask for the use of each interval")
    taken = [series for series in counted if series.direction in (None, 0, IMPORT)]
    if not taken:
        raise MeterError(path, 0, "holds nothing that was taken from the grid", "ask for delivered energy, direction 1")
    fed = [series for series in counted if series.direction == EXPORT]
    readings = _side_by_side(path, taken, notes)
    return replace(readings, exported=_side_by_side(path, fed, []) if fed else None)


def _side_by_side(path: Path, series: list[_Series], notes: list[str]) -> Readings:
    """The readings of one meter and direction: energy rather than power, the finest length, never added up."""
    if len({one.point for one in series}) > 1:
        raise MeterError(path, 0, "holds the readings of several meters", "give the file of one meter")
    energy = [one for one in series if one.unit == WATT_HOURS] or series
    parts = [_readings(path, one) for one in energy]
    typical = [int(np.median(part.seconds)) for part in parts]
    finest = [part for part, length in zip(parts, typical, strict=True) if length == min(typical)]
    if len(finest) < len(parts):
        notes = [*notes, "Coarser readings of the same meter are left aside."]
    if energy[0].unit == WATTS:
        notes = [*notes, "The file states watts: each is taken to hold for the whole of its interval."]
    if any(one.direction in (None, 0) for one in energy):
        notes = [*notes, "The file does not say which way the energy flows: it is taken as drawn from the grid."]
    return Readings(
        path=str(path),
        start=np.concatenate([part.start for part in finest]),
        seconds=np.concatenate([part.seconds for part in finest]),
        kwh=np.concatenate([part.kwh for part in finest]),
        line=np.concatenate([part.line for part in finest]),
        cost=np.concatenate([part.cost for part in finest]),
        count=sum(part.count for part in finest),
        earliest=min(part.earliest for part in finest),
        notes=tuple(notes),
    )


def _readings(path: Path, series: _Series) -> Readings:
    start, stated, step, value, cost, line = series.rows.table().T
    seconds = np.where(stated == 0, series.length, stated)
    begins = start + np.maximum(step, 0) * seconds
    wrong = (seconds <= 0) | (begins >= LATEST)
    if wrong.any():
        where = int(line[wrong.argmax()])
        raise MeterError(path, where, "has a reading whose time or length is not stated or out of reach", AGAIN)
    if abs(series.power_of_ten) > 12:
        raise MeterError(path, 0, f"has {series.power_of_ten} as powerOfTenMultiplier", AGAIN)
    kwh = value * 10.0**series.power_of_ten / 1000.0
    return Readings(
        path=str(path),
        start=begins.astype(np.int64),
        seconds=seconds.astype(np.int64),
        kwh=kwh * seconds / HOUR if series.unit == WATTS else kwh,
        line=line.astype(np.int64),
        cost=cost * COST_UNIT,
        count=series.rows.count,
        earliest=min(series.rows.earliest, float(begins.min())),
    )
