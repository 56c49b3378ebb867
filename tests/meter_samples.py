"""Made-up meter files: CSV in the layouts that meters and suppliers write, and feeds of the ESPI standard."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from finsolar.energy.meter import MeterYear
from finsolar.energy.meter_csv import read_meter_csv
from finsolar.energy.readings import MeterError, Readings

NEW_YORK, OFFSET = "America/New_York", -5.0


def starts_of(zone: str, first: str, last: str, minutes: int = 60) -> list[int]:
    """UTC seconds of every interval from local midnight of one day up to that of another."""
    begin, end = (int(datetime.fromisoformat(day).replace(tzinfo=ZoneInfo(zone)).timestamp()) for day in (first, last))
    return list(range(begin, end, minutes * 60))


def made_up(count: int, seed: int = 1) -> list[float]:
    """Use of each interval, kWh to the watt-hour."""
    return [round(float(use), 3) for use in np.random.default_rng(seed).gamma(1.2, 0.6, count)]


@dataclass(frozen=True)
class Layout:
    """One way to write a CSV file."""

    separator: str = ","
    header: str | None = "Timestamp,Usage (kWh)"
    stamp: str = "%Y-%m-%d %H:%M"
    decimal: str = "."
    ends: bool = False
    utc: bool = False
    newest_first: bool = False


LAYOUTS = {
    "iso": Layout(),
    "iso with seconds and T": Layout(stamp="%Y-%m-%dT%H:%M:%S", header="datetime,kwh"),
    "offset": Layout(stamp="%Y-%m-%dT%H:%M:%S%z", header="Start,consumption_kWh"),
    "zulu": Layout(stamp="%Y-%m-%dT%H:%M:%SZ", utc=True, header="time,import kWh"),
    "american": Layout(stamp="%m/%d/%Y %I:%M %p", header="Interval start,Energy (kWh)"),
    "american two columns": Layout(stamp="%m/%d/%y,%H:%M", header="Date,Time,Usage"),
    "day first": Layout(separator=";", decimal=",", stamp="%d/%m/%Y %H:%M", header="Date and time;Consumption kWh"),
    "dots": Layout(separator=";", decimal=",", stamp="%d.%m.%Y %H:%M", header="From;kWh"),
    "tab": Layout(separator="\t", header="Time\tkWh"),
    "no header": Layout(header=None),
    "end": Layout(ends=True, header="Period end,kWh"),
    "newest first": Layout(newest_first=True),
}


def csv_lines(zone: str, starts: Sequence[int], kwh: Sequence[float], minutes: int, layout: Layout) -> list[str]:
    """The lines of a file, the header first."""
    place = UTC if layout.utc else ZoneInfo(zone)
    late = minutes * 60 if layout.ends else 0
    lines = [
        datetime.fromtimestamp(start + late, place).strftime(layout.stamp)
        + layout.separator
        + f"{use:.3f}".replace(".", layout.decimal)
        for start, use in zip(starts, kwh, strict=True)
    ]
    if layout.newest_first:
        lines.reverse()
    return lines if layout.header is None else [layout.header, *lines]


def write_csv(path: Path, lines: Iterable[str]) -> Path:
    """Write the lines; return the path."""
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


@lru_cache
def _year_lines() -> tuple[str, ...]:
    starts = starts_of(NEW_YORK, "2018-01-01", "2019-01-01")
    return tuple(csv_lines(NEW_YORK, starts, made_up(len(starts)), 60, Layout()))


def year_lines() -> list[str]:
    """The lines of an hourly year in New York."""
    return list(_year_lines())


def read_lines(folder: Path, lines: Iterable[str], per_hour: int = 1) -> MeterYear:
    """What the reader makes of a file of these lines in New York."""
    return read_meter_csv(write_csv(folder / "meter.csv", lines), NEW_YORK, OFFSET, per_hour=per_hour)


def refused(folder: Path, lines: Iterable[str]) -> str:
    """What is said of a file of these lines, which must be refused."""
    with pytest.raises(MeterError) as caught:
        read_lines(folder, lines)
    assert caught.value.problems[0].code == "meter-file" and caught.value.problems[0].mend
    return str(caught.value)


def readings(start: list[int], kwh: list[float], seconds: int = 3600) -> Readings:
    """Readings of equal length, as any file may give them."""
    size = len(start)
    return Readings(
        path="made-up",
        start=np.array(start),
        seconds=np.full(size, seconds),
        kwh=np.array(kwh, dtype=float),
        line=np.arange(size) + 2,
        cost=np.full(size, np.nan),
        count=size,
        earliest=min(start, default=np.inf),
    )


def reading(start: int | None, seconds: int, value: float, cost: int | None = None) -> str:
    """One IntervalReading; without a start it has no time of its own."""
    time = "" if start is None else f"<duration>{seconds}</duration><start>{start}</start>"
    money = "" if cost is None else f"<cost>{cost}</cost>"
    return f"<IntervalReading>{money}<timePeriod>{time}</timePeriod><value>{value}</value></IntervalReading>"


def entry(content: str, own: str = "", up: str = "", related: Iterable[str] = ()) -> str:
    """One entry of a feed, with a name that must never be seen again."""
    links = f'<link rel="self" href="{own}"/><link rel="up" href="{up}"/>'
    links += "".join(f'<link rel="related" href="{href}"/>' for href in related)
    return f"<entry><title>Ada Example, account 000-111</title>{links}<content>{content}</content></entry>\n"


def kind(number: int, **codes: int) -> str:
    """The entry of a ReadingType: hourly watt-hours drawn from the grid, unless ``codes`` say otherwise."""
    stated = {"accumulationBehaviour": 4, "commodity": 1, "flowDirection": 1, "intervalLength": 3600}
    stated |= {"powerOfTenMultiplier": 0, "uom": 72} | codes
    body = "".join(f"<{name}>{code}</{name}>" for name, code in stated.items() if code >= -99)
    return entry(f'<ReadingType xmlns="http://naesb.org/espi">{body}</ReadingType>', own=f"/type/{number}")


ABSENT = -100
"""A code that `kind` leaves out."""


def meter(number: int, of_kind: int, point: int = 1) -> str:
    """The entry of a MeterReading that ties blocks to their type."""
    own = f"/UsagePoint/{point}/MeterReading/{number}"
    return entry(
        "<MeterReading/>",
        own,
        up=f"/UsagePoint/{point}/MeterReading",
        related=[own + "/IntervalBlock", f"/type/{of_kind}"],
    )


def block(number: int, readings: Iterable[str], start: int = 0, point: int = 1) -> str:
    """The entry of one IntervalBlock."""
    up = f"/UsagePoint/{point}/MeterReading/{number}/IntervalBlock"
    interval = f"<interval><duration>86400</duration><start>{start}</start></interval>"
    return entry(f"<IntervalBlock>{interval}{''.join(readings)}</IntervalBlock>", own=f"{up}/{start}", up=up)


def point(number: int = 1, service: int = 0) -> str:
    """The entry of a UsagePoint."""
    body = f"<UsagePoint><ServiceCategory><kind>{service}</kind></ServiceCategory></UsagePoint>"
    return entry(body, own=f"/UsagePoint/{number}")


def local_time(offset: int, start: str = "360E2000", end: str = "B40E2000") -> str:
    """The entry of LocalTimeParameters."""
    body = f"<dstEndRule>{end}</dstEndRule><dstOffset>3600</dstOffset><dstStartRule>{start}</dstStartRule>"
    return entry(f"<LocalTimeParameters>{body}<tzOffset>{offset}</tzOffset></LocalTimeParameters>")


def feed(*entries: str) -> str:
    """A whole feed. A summary at its end repeats the words of a reading, as real ones do."""
    summary = "<ElectricPowerUsageSummary><overallConsumptionLastPeriod><powerOfTenMultiplier>3</powerOfTenMultiplier>"
    summary += "<uom>72</uom><value>93026</value></overallConsumptionLastPeriod></ElectricPowerUsageSummary>"
    head = '<?xml version="1.0" encoding="UTF-8"?>\n<?xml-stylesheet type="text/xsl" href="sheet.xslt"?>\n'
    return f'{head}<feed xmlns="http://www.w3.org/2005/Atom">\n{"".join(entries)}{entry(summary)}</feed>\n'


def year_feed(starts: Sequence[int], wh: Sequence[int], *more: str, seconds: int = 3600) -> str:
    """A feed with one long block of import, and other entries after it."""
    return feed(
        point(),
        local_time(-18000),
        kind(1, intervalLength=seconds),
        meter(1, 1),
        block(1, [reading(s, seconds, v) for s, v in zip(starts, wh, strict=True)], starts[0]),
        *more,
    )
