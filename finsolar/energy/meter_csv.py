"""Interval readings from a CSV file of times and kWh, in the layouts that meters and suppliers write.

Memory does not grow with the file: only the latest fourteen months are held.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import tzinfo
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.meter import MeterYear, meter_year
from finsolar.energy.meter_layout import NO_VALUE, UNITS, Layout, Stamps, cells_of, find_layout
from finsolar.energy.readings import Array, MeterError, Readings, Rows, commonest
from finsolar.energy.stamps import stamp_parser, tells_day_first
from finsolar.energy.zones import DAY, HOUR, Whole, clock_changes, house_zone
from finsolar.scenario.problems import shown

WIDTH = 4  # of a row: time, kWh used, kWh fed in, line of the file
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")


def read_meter_csv(
    path: str | Path, timezone: str | None, utc_offset: float, stamps: Stamps | None = None, per_hour: int = 1
) -> MeterYear:
    """Read a year of use from a CSV file: `csv_readings`, then `meter_year`; arguments and errors are theirs."""
    return meter_year(csv_readings(path, timezone, utc_offset, stamps), timezone, utc_offset, per_hour)


def csv_readings(path: str | Path, timezone: str | None, utc_offset: float, stamps: Stamps | None = None) -> Readings:
    """Read interval energy from a CSV file of time stamps and kWh.

    Columns are parted by ``;``, tab or ``,`` and found by plain words in a header (time, start, usage, kWh ...), or,
    without one, as the only time and the only number. Times are ISO, month first or day first (told by a day after
    the 12th), with an offset or on the wall clock of ``timezone``; there the second coming of a repeated hour is told
    by order. ``stamps`` says whether they mark the start or the end of an interval; left out, the header's
    word holds, else the start. With ``;`` or tab a comma is a decimal sign; thousands signs are refused. Empty values
    are gaps. A column of energy fed in goes to ``exported``, without the minus that some files give all of it.
    Returns `Readings`, as long as the commonest step. Raises MeterError for all else.
    """
    try:
        return _csv_readings(Path(path), house_zone(timezone, utc_offset), stamps)
    except OSError as error:
        raise MeterError(path, 0, f"cannot be read: {error.strerror or error}", "check the name of the file") from None


def _csv_readings(path: Path, zone: tzinfo, stamps: Stamps | None) -> Readings:
    if not path.is_file():
        raise MeterError(path, 0, "is no file", "check the name of the file")
    layout = find_layout(path, stamps)
    rows, with_offset = _rows(path, layout)
    table = rows.table()
    notes = list(layout.notes)
    if with_offset or not len(table):
        utc, keep = table[:, 0].astype(np.int64), np.ones(len(table), dtype=bool)
        earliest = rows.earliest
    else:
        utc, keep, note = _to_utc(path, table, zone, layout.ends)
        notes += [note] if note else []
        # The years that were let go need no more than the day.
        earliest = rows.earliest - table[:, 0].min() + utc.min()
    step = _step(path, utc[keep])
    back = step if layout.ends else 0
    used = Readings(
        path=str(path),
        start=utc[keep] - back,
        seconds=np.full(keep.sum(), step),
        kwh=table[keep, 1],
        line=table[keep, 3].astype(np.int64),
        cost=np.full(keep.sum(), np.nan),
        count=rows.count,
        earliest=earliest - back,
        notes=tuple(notes),
    )
    return replace(used, exported=_fed_in(used, table[keep, 2]))


def _fed_in(used: Readings, kwh: Array) -> Readings | None:
    stated = ~np.isnan(kwh)
    if not stated.any():
        return None
    fed = kwh[stated]
    return replace(used.only(stated), kwh=np.abs(fed) if np.all(fed <= 0) else fed)


def _rows(path: Path, layout: Layout) -> tuple[Rows, bool]:
    """The rows of the file, `WIDTH` numbers each, and whether its times state their offset from UTC."""
    stamp = stamp_parser(_day_first(path, layout))
    numbers = _Numbers(path, layout.separator)
    rows, with_offset = Rows(path, WIDTH), None
    for line, cells in cells_of(path, layout):
        try:
            text = cells[layout.date] if layout.time is None else f"{cells[layout.date]} {cells[layout.time]}"
            amount = cells[layout.energy].strip()
            unit = "kwh" if layout.unit is None else cells[layout.unit].strip().lower()
        except IndexError:
            raise MeterError(path, line, f"has only {len(cells)} columns", "give every line the same columns") from None
        if len(cells) > layout.width and _crowded(cells, layout):
            what = f"has {len(cells)} columns, though the file begins with {layout.width}"
            mend = "name every column, and write numbers like 1207.5, without commas"
            raise MeterError(path, line, what, mend if layout.separator == "," else "name every column")
        try:
            local, offset = stamp(text.strip())
        except ValueError as error:
            raise MeterError(path, line, f"{shown(text)} is no time: {error}", "write 2024-03-31 14:15") from None
        if with_offset is None:
            with_offset = offset is not None
        elif with_offset != (offset is not None):
            raise MeterError(path, line, "some times state an offset and some do not", "write all in one way")
        if amount.lower() in NO_VALUE:
            continue
        if unit not in UNITS:
            raise MeterError(path, line, f"is in {shown(unit)}, not in kWh or Wh", "give energy in kWh")
        used = numbers.read(line, amount) * (layout.energy_factor or UNITS[unit])
        fed = np.nan
        if layout.fed_in is not None and layout.fed_in < len(cells):
            amount = cells[layout.fed_in].strip()
            if amount.lower() not in NO_VALUE:
                fed = numbers.read(line, amount) * (layout.fed_factor or UNITS[unit])
        rows.add((local - (offset or 0), used, fed, line))
    numbers.refuse_doubtful()
    return rows, bool(with_offset)


def _crowded(cells: list[str], layout: Layout) -> bool:
    """Whether cells beyond the last column are more than an idle separator at the end of the line."""
    beyond = any(cell.strip() for cell in cells[layout.width :])
    # A decimal comma parts 0,35 into two whole numbers.
    return beyond or all(cell.strip().isdecimal() for cell in cells[layout.energy : layout.energy + 2])


class _Numbers:
    """Reads the numbers of one file, whose sign for decimals is told by all of them together."""

    def __init__(self, path: Path, separator: str) -> None:
        self._path, self._comma = path, separator != ","
        self._decimal: set[str] = set()
        self._doubtful: dict[str, tuple[int, str]] = {}

    def read(self, line: int, text: str) -> float:
        """Return the number; raise MeterError for what is none."""
        plain = text
        if self._comma:
            sign = "," if "," in text else "."
            plain = text.replace(",", ".")
            if sign in text and sign not in self._decimal:
                if _GROUPED.fullmatch(text):
                    self._doubtful.setdefault(sign, (line, text))
                else:
                    self._decimal.add(sign)
        try:
            if "_" in plain:
                raise ValueError
            return float(plain)
        except ValueError:
            mend = f"write {'0,35 or 0.35' if self._comma else '0.35'}, without thousands signs"
            raise MeterError(self._path, line, f"{shown(text)} is no number", mend) from None

    def refuse_doubtful(self) -> None:
        """Raise MeterError if a sign has only ever stood before three digits, as a thousands sign does."""
        for sign, (line, text) in self._doubtful.items():
            if sign not in self._decimal:
                whole = text.replace(sign, "")
                what = f"{shown(text)} could mean {whole} or {text.replace(sign, '.')}"
                raise MeterError(self._path, line, what, f"write {whole}, or {text.replace(sign, '.')}0")


def _day_first(path: Path, layout: Layout) -> bool | None:
    """Whether days stand before months: told by the first day that can be; None for ISO dates."""
    for _, cells in cells_of(path, layout):
        try:
            told = tells_day_first(cells[layout.date].strip() if layout.date < len(cells) else "")
        except ValueError:
            return None
        if told is not None:
            return told
    raise MeterError(path, 0, "does not tell days from months: no day is after the 12th", "write days as 2024-03-31")


def _step(path: Path, utc: Whole) -> int:
    apart: Whole = np.diff(np.unique(utc)).astype(np.int64)
    if not len(apart):
        raise MeterError(path, 0, "holds fewer than two readings", "give the readings of 365 days or more")
    step = commonest(apart)
    if step > HOUR:
        what = f"has mostly one reading every {step / HOUR:g} hours"
        raise MeterError(path, 0, what, "give hourly or shorter readings; for daily or monthly ones write monthly_kwh")
    return step


def _to_utc(path: Path, table: Array, zone: tzinfo, ends: bool) -> tuple[Whole, NDArray[np.bool_], str]:
    """Wall-clock stamps as UTC seconds, which of them to keep, and a note where they turn out to be standard time."""
    local = table[:, 0].astype(np.int64)
    if local[-1] < local[0]:  # newest first
        utc, keep, note = _to_utc(path, table[::-1], zone, ends)
        return utc[::-1], keep[::-1], note
    when, offset = clock_changes(zone, local.min() - 2 * DAY, local.max() + 2 * DAY)
    before, after = offset[:-1], offset[1:]
    utc = local - offset[np.searchsorted(when + np.maximum(before, after), local, side="right")]
    skipped = np.zeros(len(local), dtype=bool)
    repeats = False
    for t, old, new in zip(when.tolist(), before.tolist(), after.tolist(), strict=True):
        if new > old:
            # An interval may well end at the very moment of the change.
            skipped |= (local > t + old if ends else local >= t + old) & (local < t + new)
            continue
        for label in np.unique(local[(local >= t + new) & ((local <= t + old) if ends else (local < t + old))]):
            comings = np.flatnonzero(local == label)
            if len(comings) > 1:
                repeats = True
                utc[comings[::2]] = label - old
                utc[comings[1::2]] = label - new
    if not np.any(table[skipped, 1]):
        return utc, ~skipped, ""
    if repeats:
        line = int(table[skipped & (table[:, 1] != 0), 3][0])
        raise MeterError(path, line, "lies in an hour that the clock skips", "check the time zone of the scenario")
    return local - int(offset.min()), np.ones(len(local), dtype=bool), "The times keep standard time all year."
