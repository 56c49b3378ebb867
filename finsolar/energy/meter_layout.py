"""Where times and energy stand in a CSV file of meter readings, found by plain words in its header."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice, pairwise
from pathlib import Path
from typing import Literal

from finsolar.energy.readings import MeterError
from finsolar.energy.stamps import looks_like
from finsolar.scenario.problems import shown

Stamps = Literal["start", "end"]

LONGEST_LINE = 65_536
HEAD = 60  # lines among which the data must begin
NO_VALUE = {"", "-", "na", "n/a", "null", "none", "nan"}
UNITS = {"kwh": 1.0, "wh": 0.001}
NAME_THEM = "name the columns timestamp and kwh in the first line"
NO_UNIT = "The file names no unit: kWh are taken."
START = {"start", "starts", "from", "begin", "beginning", "starting"}
END = {"end", "ends", "to", "until", "ending"}
TIME = START | END | {"timestamp", "datetime", "stamp", "date", "time", "day", "hour", "interval", "period"}
NO_TIME = {"zone", "timezone", "duration", "length", "minutes", "utc"}
USE = {"kwh", "wh", "usage", "consumption", "consumed", "import", "imported", "energy", "delivered", "use", "used"}
FED_IN = {"export", "exported", "received", "returned", "fed", "feed", "injected", "injection"}
NO_ENERGY = {"cost", "price", "charge", "charges", "rate", "tariff", "type", "unit", "units", "id", "status", "quality"}
NO_USE = FED_IN | NO_ENERGY | {"generation", "generated", "produced", "production", "solar"}
POWER = {"kw", "w", "watt", "watts", "kilowatt", "kilowatts", "power", "demand"}
OTHER_UNITS = {"mwh", "gwh", "kvah", "vah", "kvarh", "varh", "kj", "mj", "gj", "btu", "therm", "therms", "ccf"}

_NUMBER = re.compile(r"[+-]?\d*[.,]?\d+(?:[eE][+-]?\d+)?")


@dataclass(frozen=True)
class Layout:
    """Where in a line the time and the energy stand.

    ``data_from`` counts lines from 1; ``width`` is the number of columns. ``energy`` and ``fed_in`` (None if the file
    has none) come in kWh times their factor; without one, the column ``unit`` says, or kWh hold. ``ends`` says
    whether times mark the ends of intervals.
    """

    separator: str
    data_from: int
    width: int
    date: int
    time: int | None
    energy: int
    energy_factor: float | None
    fed_in: int | None
    fed_factor: float | None
    unit: int | None
    ends: bool
    notes: tuple[str, ...]


def _lines(path: Path) -> Iterator[str]:
    with path.open("rb") as file:
        sixteen_bits = file.read(2) in (b"\xff\xfe", b"\xfe\xff")
    # Only numbers and plain words are read; a foreign letter in a name above them does no harm.
    with path.open(encoding="utf-16" if sixteen_bits else "utf-8-sig", errors="replace", newline="") as file:
        number = 0
        while text := file.readline(LONGEST_LINE):
            number += 1
            if len(text) >= LONGEST_LINE:
                raise MeterError(path, number, "is too long for a line of readings", "give one reading a line")
            yield text


def cells_of(path: Path, layout: Layout) -> Iterator[tuple[int, list[str]]]:
    """Yield number and cells of each line of data that is not blank; raise MeterError for a line that is none."""
    before = layout.data_from - 1
    reader = csv.reader(islice(_lines(path), before, None), delimiter=layout.separator)
    try:
        for cells in reader:
            if any(cells):
                yield before + reader.line_num, cells
    except csv.Error as error:
        raise MeterError(path, before + reader.line_num, f"cannot be read: {error}", "check the quotes") from None


def find_layout(path: Path, stamps: Stamps | None) -> Layout:
    """Return the layout of a file, told by a header among its first `HEAD` lines or, without one, by its first line.

    ``stamps`` says whether times mark the start or the end of an interval; with None the header's word holds, else
    the start. Raises MeterError where times or energy are missing, or several columns could hold them.
    """
    head = list(islice(_lines(path), HEAD))
    for separator in (";", "\t", ","):
        try:
            table = [next(csv.reader([text], delimiter=separator), []) for text in head]
        except csv.Error:
            continue
        filled = [number for number, cells in enumerate(table) if any(cell.strip() for cell in cells)]
        for number, after in pairwise(filled):
            if len(table[number]) > 1 and _is_header(table[number]) and any(map(looks_like, table[after])):
                return _with_header(path, separator, number + 1, table[number], table[after], stamps)
        if filled and len(table[filled[0]]) > 1 and any(map(looks_like, table[filled[0]])):
            return _without_header(path, separator, filled[0] + 1, table[filled[0]], stamps)
    raise MeterError(path, 0, "has no column of times beside a column of kWh", NAME_THEM)


def _words(cell: str) -> set[str]:
    """The words of a column's name; ``usageKWh`` has two."""
    text = re.sub(r"kilo[ -]?watt[ -]?hours?", "kwh", cell.replace("kW", "KW"), flags=re.IGNORECASE)
    text = re.sub(r"\bwatt[ -]?hours?", "wh", text, flags=re.IGNORECASE)
    return set(re.findall("[a-z]+", re.sub("([a-z])([A-Z])", r"\1 \2", text).lower()))


def _is_header(cells: list[str]) -> bool:
    words = [_words(cell) for cell in cells]
    return any(w & TIME for w in words) and any(w & (USE | POWER) for w in words) and not any(map(looks_like, cells))


def _with_header(
    path: Path, separator: str, line: int, names: list[str], data: list[str], stamps: Stamps | None
) -> Layout:
    words = [_words(name) for name in names]
    looks = [looks_like(cell) for cell in data] + [""] * len(names)

    def pick(columns: list[int], what: str) -> int:
        marked = [c for c in columns if words[c] & (END if stamps == "end" else START)]
        chosen = columns if len(columns) == 1 else marked
        if len(chosen) != 1:
            raise _unclear(path, line, what, [names[c] for c in columns])
        return chosen[0]

    timely = [c for c in range(len(names)) if words[c] & TIME and not words[c] & (NO_TIME | UNITS.keys())]
    stamp = [c for c in timely if looks[c] == "stamp"]
    day = [c for c in timely if looks[c] == "date"]
    clock = [c for c in timely if looks[c] == "time"]
    time: int | None = None
    if stamp or not day:
        decides = day_column = pick(stamp, "times")
    else:
        decides = day_column = pick(day, "dates")
        bare = [c for c in timely if looks[c] == "" and words[c] & {"hour", "he"}]
        if bare and not clock:
            what = f"has the column {names[bare[0]]!r} with hours as bare numbers"
            raise MeterError(path, line, what, "write times as 14:00, beside the date or in a column of their own")
        if clock:
            decides = time = pick(clock, "times of day")
    ends = stamps == "end" or (stamps is None and bool(words[decides] & END) and not words[decides] & START)
    energy = _energy_column(path, line, names, words)
    factor = _factor(words[energy])
    fed_in = _fed_in_column(words, data)
    unit, notes = None, []
    if factor is None:
        unit = next((c for c, w in enumerate(words) if w & {"unit", "units"}), None)
        notes += [NO_UNIT] if unit is None else []
    if ends and stamps is None:
        notes += ["Times mark the end of each interval, by the name of their column."]
    return Layout(
        separator=separator,
        data_from=line + 1,
        width=max(c for c, name in enumerate(names) if name.strip()) + 1,
        date=day_column,
        time=time,
        energy=energy,
        energy_factor=factor,
        fed_in=fed_in,
        fed_factor=factor if fed_in is None else _factor(words[fed_in]) or factor,
        unit=unit,
        ends=ends,
        notes=tuple(notes),
    )


def _factor(words: set[str]) -> float | None:
    return next((factor for unit, factor in UNITS.items() if unit in words), None)


def _energy_column(path: Path, line: int, names: list[str], words: list[set[str]]) -> int:
    energy = [c for c, w in enumerate(words) if w & USE and not w & (NO_USE | POWER | OTHER_UNITS)]
    named = [c for c in energy if words[c] & UNITS.keys()]
    chosen = named or energy
    if not chosen and any(w & POWER for w in words):
        raise MeterError(
            path, line, "has power (kW or W), not energy", "give the energy of each interval in a column of kWh"
        )
    other = [c for c, w in enumerate(words) if w & OTHER_UNITS and not w & NO_USE]
    if not chosen and other:
        raise MeterError(path, line, f"has {shown(names[other[0]])}, neither kWh nor Wh", "give energy in kWh or Wh")
    if len(chosen) != 1:
        raise _unclear(path, line, "energy used", [names[c] for c in chosen])
    return chosen[0]


def _fed_in_column(words: list[set[str]], data: list[str]) -> int | None:
    """The only column of energy that went into the grid; None if there is none, or more than one."""
    fed = [
        c
        for c, (w, cell) in enumerate(zip(words, data, strict=False))
        if w & FED_IN and not w & (NO_ENERGY | POWER | OTHER_UNITS) and _holds_number(cell)
    ]
    named = [c for c in fed if words[c] & UNITS.keys()]
    chosen = named or fed
    return chosen[0] if len(chosen) == 1 else None


def _holds_number(cell: str) -> bool:
    return bool(_NUMBER.fullmatch(cell.strip())) or cell.strip().lower() in NO_VALUE


def _without_header(path: Path, separator: str, line: int, cells: list[str], stamps: Stamps | None) -> Layout:
    looks = [looks_like(cell) for cell in cells]
    stamp = [c for c, kind in enumerate(looks) if kind == "stamp"]
    day = [c for c, kind in enumerate(looks) if kind == "date"]
    clock = [c for c, kind in enumerate(looks) if kind == "time"]
    number = [c for c, cell in enumerate(cells) if _NUMBER.fullmatch(cell.strip())]
    times = stamp or day
    if len(times) != 1 or len(number) != 1 or (not stamp and len(clock) > 1):
        raise MeterError(path, line, "needs names for its columns", NAME_THEM)
    time = clock[0] if clock and not stamp else None
    return Layout(
        separator=separator,
        data_from=line,
        width=len(cells),
        date=times[0],
        time=time,
        energy=number[0],
        energy_factor=None,
        fed_in=None,
        fed_factor=None,
        unit=None,
        ends=stamps == "end",
        notes=(NO_UNIT,),
    )


def _unclear(path: Path, line: int, what: str, names: list[str]) -> MeterError:
    listed = ", ".join(shown(name) for name in names[:6])
    said = f"has several columns that could hold {what}: {listed}" if names else f"has no column that holds {what}"
    mend = f"keep one column of {what}" if names else NAME_THEM
    return MeterError(path, line, said, mend)
