"""What a scenario states, field by field, for readers who check a study."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from finsolar.scenario.hours import DAYS, MONTHS
from finsolar.scenario.numbers import Range, is_percent
from finsolar.scenario.schema import Alternative, Scenario


@dataclass(frozen=True)
class Statement:
    """One field the household wrote, and its value in words."""

    field: str
    value: str


_ELSEWHERE = frozenset({"title", "note", "name", "costs", "upkeep", "rebates"})  # shown in tables of their own


def statements(scenario: Scenario) -> list[Statement]:
    """Every field that the file gives, in the order of its format; cost lines are left to their tables.

    A block that an alternative shares with the top, or with an alternative before it, is not repeated.
    """
    found = _of_model(scenario, "", frozenset({"alternatives"}))
    for i, plan in enumerate(scenario.alternatives):
        for name in Alternative.model_fields:
            value = getattr(plan, name)
            if name in _ELSEWHERE or name not in plan.model_fields_set:
                continue
            if name in Scenario.model_fields and getattr(scenario, name) == value:
                continue
            same = next((p.name for p in scenario.alternatives[:i] if getattr(p, name) == value), None)
            path = f"{plan.name}: {name}"
            if same is not None:
                found.append(Statement(path, f"as in {same}"))
            else:
                found += _apart(scenario.alternatives[:i], plan, name)
    return found


def _apart(before: list[Alternative], plan: Alternative, name: str) -> list[Statement]:
    """A block of an alternative by what sets it apart from one before it, or in full where none serves."""
    field = Alternative.model_fields[name]

    def rows_of(one: Alternative) -> dict[str, str]:
        return {row.field: row.value for row in _of_value(getattr(one, name), name, field)}

    own = rows_of(plan)
    for other in (each for each in before if name in each.model_fields_set):
        theirs = rows_of(other)
        changed = {path: value for path, value in own.items() if theirs.get(path) != value}
        # A row of theirs that this one lacks must be seen to be gone: one of its own stands for the whole block.
        told = all(path in own or any(path.startswith(f"{row}.") for row in own) for path in theirs)
        if told and len(changed) < len(own):
            as_in = Statement(f"{plan.name}: {name}", f"as in {other.name}, but for the rows below")
            return [as_in, *(Statement(f"{plan.name}: {path}", value) for path, value in changed.items())]
    return [Statement(f"{plan.name}: {path}", value) for path, value in own.items()]


def _of_model(model: BaseModel, path: str, left_out: frozenset[str] = frozenset()) -> list[Statement]:
    rows: list[Statement] = []
    for name, field in type(model).model_fields.items():
        if name in model.model_fields_set and name not in _ELSEWHERE | left_out | getattr(model, "moot", frozenset()):
            inner = f"{path}.{name}" if path else name
            rows += _of_value(getattr(model, name), inner, field)
    return rows


def _of_value(value: Any, path: str, field: FieldInfo) -> list[Statement]:
    if isinstance(value, BaseModel):
        return _of_model(value, path)
    if isinstance(value, dict):
        return [row for name, entry in value.items() for row in _of_value(entry, f"{path}.{name}", field)]
    if isinstance(value, list) and value and isinstance(value[0], BaseModel):
        rows = []
        for k, entry in enumerate(value, start=1):
            label = getattr(entry, "name", None) or getattr(entry, "item", None) or k
            rows += _of_model(entry, f"{path}.{label}", frozenset({"item"}))
        return rows
    name = path.rpartition(".")[2]
    if name == "together":
        return [Statement(path, ", ".join(f"{one} with {other} {rank:g}" for one, other, rank in value) or "none")]
    if name in {"months", "days", "hours", "true_up_month"}:
        return [Statement(path, times_in_words(value, name))]
    return [Statement(path, in_words(value, field))]


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
        words = value.kind.split(", ")
        pairs = [*zip(words, value.values, strict=True), *([("yearly_sd", value.yearly_sd)] if value.yearly_sd else [])]
        return ", ".join(f"{word} {number(x)}" for word, x in pairs)
    if isinstance(value, tuple | np.ndarray):
        return "path " + ", ".join(number(float(x)) for x in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(in_words(entry, field) for entry in value) or "none"
    return number(value) if isinstance(value, float) else str(value)
