"""Interval readings of a meter, wherever they come from: held in bounded memory, put in order, and checked."""

from __future__ import annotations

from array import array
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import tzinfo
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.zones import DAY, HOUR, Whole, said_at
from finsolar.scenario.problems import Problem, ScenarioError

Array = NDArray[np.float64]

MOST_KW = 1000.0
"""Mean power of one reading that no house reaches: beyond it, the unit must be wrong."""
FILL_WEEKS = 4
"""How many weeks before and after a gap are searched for the same time of the week."""
KEPT_SECONDS = (365 + 2 * 7 * FILL_WEEKS) * DAY
MOST_ROWS = 1_000_000
"""Readings held at a time: fourteen months of single minutes, and room to spare."""
RISES, RISES_A_FALL = 1000, 20
"""A file with more rises than this, and more for each fall, holds a counter; chosen here, no source."""


class MeterError(ScenarioError):
    """A meter file cannot be used: its problem says where, what, and how to mend it."""

    def __init__(self, path: str | Path, line: int, what: str, mend: str) -> None:
        super().__init__([Problem(str(path), line, "", what, mend, code="meter-file")])


class Rows:
    """Readings as they come, ``width`` numbers each, the first of them a time in seconds.

    Once there are `MOST_ROWS` of them, those older than the latest `KEPT_SECONDS` are let go.
    """

    def __init__(self, path: str | Path, width: int) -> None:
        self._path, self._width, self._let_go = path, width, 0
        self._flat = array("d")
        self._earliest = np.inf

    def add(self, numbers: Iterable[float]) -> None:
        """Take one reading, or several on end; raise MeterError if they come too close to be held."""
        self._flat.extend(numbers)
        if len(self._flat) >= MOST_ROWS * self._width and len(self.table()) >= MOST_ROWS:
            what = f"has more than {MOST_ROWS:,} readings in fourteen months"
            raise MeterError(self._path, 0, what, "give one reading a minute at most")

    def take(self, others: Rows) -> None:
        """Take all readings of others of the same width; raises as `add` does."""
        self._let_go += others._let_go
        self._earliest = min(self._earliest, others._earliest)
        self.add(others._flat)

    @property
    def count(self) -> int:
        """How many readings came."""
        return self._let_go + len(self._flat) // self._width

    @property
    def earliest(self) -> float:
        """The first time of all that came, seconds; infinite if none came."""
        return float(min(self._earliest, self.table()[:, 0].min(initial=np.inf)))

    def table(self) -> Array:
        """Return what is held, (readings, width), in the order it came."""
        held: Array = np.array(self._flat, dtype=np.float64).reshape(-1, self._width)
        if not len(held):
            return held
        self._earliest = min(self._earliest, float(held[:, 0].min()))
        late: Array = held[held[:, 0] >= held[:, 0].max() - KEPT_SECONDS]
        if len(late) < len(held):
            self._let_go += len(held) - len(late)
            self._flat = array("d")
            self._flat.frombytes(late.tobytes())
        return late


@dataclass(frozen=True, eq=False)
class Readings:
    """Interval energy on the UTC axis, in any order.

    ``start`` (n,) seconds since 1970, UTC; ``seconds`` (n,) the length of each reading; ``kwh`` (n,); ``line`` (n,)
    in the file; ``cost`` (n,) money, NaN where the file states none. ``count`` readings were in the file, the first
    of them at ``earliest``. ``exported`` holds what went the other way, where the file has it. ``notes`` are
    sentences on what was assumed or left aside.
    """

    path: str
    start: Whole
    seconds: Whole
    kwh: Array
    line: Whole
    cost: Array
    count: int
    earliest: float
    exported: Readings | None = None
    notes: tuple[str, ...] = ()

    @property
    def end(self) -> Whole:
        """Seconds since 1970, UTC, at which each reading ends, (n,)."""
        return self.start + self.seconds

    def only(self, chosen: NDArray[np.bool_] | Whole) -> Readings:
        """Return the chosen readings, in the order chosen."""
        return replace(
            self,
            start=self.start[chosen],
            seconds=self.seconds[chosen],
            kwh=self.kwh[chosen],
            line=self.line[chosen],
            cost=self.cost[chosen],
        )


def commonest(numbers: Whole) -> int:
    """Return the number that occurs most often; the least of them if several do."""
    values, counts = np.unique(numbers, return_counts=True)
    return int(values[counts.argmax()])


def in_order(readings: Readings, zone: tzinfo, name: str = "use") -> tuple[Readings, int]:
    """Return the readings by time, each moment once, and how many exact duplicates were dropped.

    ``zone`` and ``name`` serve the messages only. Raises MeterError for no readings, for readings longer than an
    hour, negative or beyond `MOST_KW`, for those that contradict each other or overlap, and for a counter's.
    """
    path = readings.path
    if not len(readings.start):
        raise MeterError(path, 0, "holds no readings", "give a file with one reading a line, at least hourly")

    def refuse(wrong: NDArray[np.bool_], of: Readings, what: str, mend: str) -> None:
        if wrong.any():
            where = int(wrong.argmax())
            raise MeterError(path, int(of.line[where]), what.format(said_at(int(of.start[where]), zone)), mend)

    refuse(
        (readings.seconds <= 0) | (readings.seconds > HOUR),
        readings,
        "the reading of {} is not between a second and an hour long",
        "give hourly or shorter readings; for daily or monthly ones write monthly_kwh",
    )
    refuse(
        readings.kwh < 0,
        readings,
        f"the {name} at {{}} is negative",
        "give what was taken from the grid, apart from what was fed in",
    )
    ordered = readings.only(np.argsort(readings.start, kind="stable"))
    # Before its size is judged: a counter is in the right unit, and must not be taken for watt-hours.
    _refuse_counter(ordered)
    refuse(
        ~(readings.kwh * HOUR <= MOST_KW * readings.seconds),
        readings,
        f"the {name} at {{}} would be more than {MOST_KW:,.0f} kW",
        "give kWh, or name the unit Wh",
    )
    again = np.diff(ordered.start, prepend=ordered.start[0] - 1) == 0
    differs = (np.diff(ordered.kwh, prepend=0.0) != 0) | (np.diff(ordered.seconds, prepend=0) != 0)
    refuse(again & differs, ordered, "two readings of {} differ", "keep the right one; readings are never added up")
    once = ordered.only(~again)
    refuse(
        np.append(False, once.start[1:] < once.end[:-1]),
        once,
        "the reading of {} begins before the one before it has ended",
        "keep readings of one meter and one length",
    )
    return once, int(again.sum())


def _refuse_counter(ordered: Readings) -> None:
    """Use rises about as often as it falls; a counter falls only where it starts anew, at midnight or when replaced."""
    before, after = ordered.kwh[:-1], ordered.kwh[1:]
    rises, falls = int((after > before).sum()), int((after < before).sum())
    if (falls == 0 and rises and len(after) >= RISES) or (rises > RISES and falls * RISES_A_FALL < rises):
        how_often = "nearly always" if falls else "only ever"
        what = f"{how_often} rises, like the counter of a meter"
        raise MeterError(ordered.path, 0, what, "give the use of each interval: each count less the one before it")
