"""The parts every rule file is read with: fields of a block, words, days, choices, and the faults found in them.

A reader takes a value and its path (names, and places in lists from 0), and returns what it read or raises `Faulty`
with everything that is wrong below that path, so that one reading finds all faults.
"""

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple, TypeVar, cast

from finsolar.incentives.law import Source
from finsolar.scenario.problems import near, shown

T = TypeVar("T")
Path = tuple[str | int, ...]
Reader = Callable[[Any, Path], T]

_KNOWN = ("seen", "memory")
_YEARS = range(1800, 2201)  # any law there is, and far enough from the ends of the calendar to count days


class Fault(NamedTuple):
    """What is wrong at a path, and how to mend it."""

    path: Path
    what: str
    mend: str


class Faulty(Exception):  # noqa: N818 - it carries faults, each of them an error
    """Everything that is wrong below one place."""

    def __init__(self, *faults: Fault) -> None:
        super().__init__(*faults)
        self.faults = faults


def field_name(path: Path) -> str:
    """Return a path as messages write it, places in lists counted from 1: `lines[2].because`."""
    steps = (f"[{step + 1}]" if isinstance(step, int) else f".{step}" for step in path)
    return "".join(steps).removeprefix(".")


class Fields:
    """A block of named fields, read one after the other; `close` raises what was found wrong in any of them."""

    def __init__(self, data: Any, path: Path, known: Collection[str]) -> None:
        self.path = path
        self.data = block(data, path)
        self.faults = [
            Fault((*path, name), "is not known here", near(name, known)) for name in self.data if name not in known
        ]

    def take(self, data: Any, path: Path, read: Reader[T]) -> T:
        """Read any value. After a fault the answer is worthless, and `close` raises."""
        try:
            return read(data, path)
        except Faulty as faulty:
            self.faults += faulty.faults
            return cast(T, None)

    def need(self, name: str, read: Reader[T]) -> T:
        """Read a field that must be there."""
        if name not in self.data:
            self.faults.append(Fault((*self.path, name), "is missing", f"add `{name}:` to this block"))
            return cast(T, None)
        return self.take(self.data[name], (*self.path, name), read)

    def may(self, name: str, read: Reader[T], otherwise: T) -> T:
        """Read a field that may be left out, which means `otherwise`."""
        return self.need(name, read) if name in self.data else otherwise

    def fault(self, name: str, what: str, mend: str) -> None:
        """Note a fault of the field `name`, unless one is known of it."""
        if all(fault.path[: len(self.path) + 1] != (*self.path, name) for fault in self.faults):
            self.faults.append(Fault((*self.path, name), what, mend))

    def close(self) -> None:
        """Raise what was found wrong."""
        if self.faults:
            raise Faulty(*self.faults)

    def source(self) -> Source:
        """Read where the block's fact is written and how that is known."""
        return Source(reference=self.need("reference", text), known=self.need("known", one_of(_KNOWN)))


def block(data: Any, path: Path) -> dict[str, Any]:
    """Read a block of fields; names that YAML takes for numbers or days become text."""
    if not isinstance(data, Mapping) or not data:
        raise Faulty(Fault(path, _no("block of fields", data), "write named fields below it"))
    return {str(name): value for name, value in data.items()}


def each(data: Any, path: Path, read: Reader[T]) -> tuple[T, ...]:
    """Read every entry of a list that is not empty."""
    if not isinstance(data, Sequence) or isinstance(data, str | bytes) or not data:
        raise Faulty(Fault(path, _no("list", data), "write [a, b], or one entry a line after -"))
    found: list[T] = []
    faults: list[Fault] = []
    for place, entry in enumerate(data):
        try:
            found.append(read(entry, (*path, place)))
        except Faulty as faulty:
            faults += faulty.faults
    if faults:
        raise Faulty(*faults)
    return tuple(found)


def _no(sort: str, data: Any) -> str:
    """Say that a value is not of some sort, or that there is none."""
    if data is None or data in ("", {}, []):
        return "is empty"
    return f"is {shown(data)}, no {sort}" if sort else f"is {shown(data)}"


def text(data: Any, path: Path) -> str:
    """Read words."""
    if not isinstance(data, str) or not data.strip():
        raise Faulty(Fault(path, _no("words", data), "write words, in quotes if YAML needs them"))
    return data.strip()


def flag(data: Any, path: Path) -> bool:
    """Read true or false."""
    if not isinstance(data, bool):
        raise Faulty(Fault(path, f"is {shown(data)}, neither true nor false", "write true or false"))
    return data


def one_of(known: Collection[str]) -> Reader[str]:
    """Return the reader of a word out of `known`."""

    def read(data: Any, path: Path) -> str:
        if not isinstance(data, str) or data not in known:
            raise Faulty(Fault(path, _no("", data), near(str(data), known)))
        return data

    return read


def day(data: Any, path: Path) -> date:
    """Read a day, written year-month-day with or without quotes."""
    found = data if type(data) is date else None
    if isinstance(data, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", data):
        try:
            found = date.fromisoformat(data)
        except ValueError:
            raise Faulty(Fault(path, f"is {shown(data)}, no day of the calendar", "mend the date")) from None
    if found is None:
        raise Faulty(Fault(path, f"is {shown(data)}, no date", "write year-month-day, such as 2026-01-01"))
    if found.year not in _YEARS:
        raise Faulty(
            Fault(path, f"is {found}, out of any law's time", f"write a year from {_YEARS[0]} to {_YEARS[-1]}")
        )
    return found
