"""What a scenario states, field by field, for readers who check a study."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from finsolar.scenario.hours import DAYS, MONTHS
from finsolar.scenario.named_files import FILE_FIELDS
from finsolar.scenario.names import NO_SYSTEM
from finsolar.scenario.numbers import Range, is_percent
from finsolar.scenario.schema import Scenario, System

JSON_ROOT = "scenario."
"""Where a scenario stands in the JSON of a study: an id is this and the path within the scenario."""


@dataclass(frozen=True)
class Statement:
    """One number, word or list that the household wrote, told once however many alternatives share it.

    id : its path in the JSON of a study; field : the same as people read it; whose : the alternative that alone says
    so, empty where it is shared; value : as written, ``used`` : what a study without draws takes of it; range : the
    words and numbers of a range, if it is one; line : in the file, 0 where none was read; source : ``file``, or ``data
    file`` where the value is the name of a file that was read.
    """

    id: str
    field: str
    whose: str
    value: str
    used: str
    range: dict[str, float]
    line: int
    source: str


_LABELS = frozenset({"title", "note", "name", "item"})  # what things are called is no input
_Way = tuple[str, ...]


def statements(scenario: Scenario) -> list[Statement]:
    """Every field that the file gives and a study uses, in the order of its format.

    What alternatives share stands once, by the first that holds it.
    """
    found: dict[tuple[int, str], Statement] = {}
    for way, told, value, field in _written(scenario, (), ()):
        line, place = scenario.origin.place_of(way)
        if (line, place) in found:
            continue
        whose = told[1] if place.startswith("alternatives") else ""
        words = ".".join(told[2:] if way[0] == "alternatives" else told)
        is_range = isinstance(value, Range)
        found[line, place] = Statement(
            id=f"{JSON_ROOT}{'.'.join(way)}",
            field=f"{whose}: {words}" if whose else words,
            whose=whose,
            value=_told(value, way[-1], field),
            used=_told(float(f"{value.central:.6g}") if is_range else value, way[-1], field),
            range=dict(_pairs(value)) if is_range else {},
            line=line,
            source="data file" if way[-1] in FILE_FIELDS and isinstance(value, str) else "file",
        )
    return list(found.values())


def _written(
    value: Any, way: _Way, told: _Way, field: FieldInfo | None = None
) -> Iterator[tuple[_Way, _Way, Any, FieldInfo]]:
    """What a value holds that was written: by steps, by the same in people's names, the value and its field."""
    if isinstance(value, System) and not value.built:
        assert field is not None  # it stands in an alternative
        yield way, told, NO_SYSTEM, field
    elif isinstance(value, BaseModel):
        for name in type(value).model_fields:
            if name in value.model_fields_set - _LABELS - getattr(value, "moot", frozenset()):
                yield from _written(getattr(value, name), (*way, name), (*told, name), type(value).model_fields[name])
    elif isinstance(value, dict):
        for name, entry in value.items():
            yield from _written(entry, (*way, str(name)), (*told, str(name)), field)
    elif isinstance(value, list) and value and isinstance(value[0], BaseModel):
        for k, entry in enumerate(value):
            label = getattr(entry, "name", None) or getattr(entry, "item", None) or str(k + 1)
            yield from _written(entry, (*way, str(k)), (*told, label), field)
    elif value is not None:
        assert field is not None  # a scenario is a block
        yield way, told, value, field


def _told(value: Any, name: str, field: FieldInfo) -> str:
    if name == "together":
        return ", ".join(f"{one} with {other} {rank:g}" for one, other, rank in value) or "none"
    if isinstance(value, tuple) and name in {"months", "days", "hours", "true_up_month"}:
        return times_in_words(value, name)
    return in_words(value, field)


def _pairs(value: Range) -> list[tuple[str, float]]:
    own = [("yearly_sd", value.yearly_sd)] if value.yearly_sd else []
    return [*zip(value.kind.split(", "), value.values, strict=True), *own]


def times_in_words(places: tuple[int, ...], name: str) -> str:
    """Months, days or hours as the runs they were written in: ``jun-sep``, ``15-20``."""
    runs: list[list[int]] = []
    for place in places:
        if runs and place == runs[-1][-1] + 1:
            runs[-1].append(place)
        else:
            runs.append([place])
    if name == "hours":
        return ", ".join(f"{run[0]}-{run[-1] + 1}" for run in runs)
    names = DAYS if name == "days" else MONTHS
    return ", ".join(names[r[0]] if len(r) == 1 else f"{names[r[0]]}-{names[r[-1]]}" for r in runs)


def in_words(value: Any, field: FieldInfo) -> str:
    """A value of the schema as a person would write it, rates in per cent."""
    percent = is_percent(field)

    def number(x: float) -> str:
        return f"{x * 100:g}%" if percent else f"{x:,.10g}"

    if isinstance(value, Range):
        return ", ".join(f"{word} {number(x)}" for word, x in _pairs(value))
    if isinstance(value, tuple | np.ndarray):
        return "path " + ", ".join(number(float(x)) for x in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(in_words(entry, field) for entry in value) or "none"
    return number(value) if isinstance(value, float) else str(value)
