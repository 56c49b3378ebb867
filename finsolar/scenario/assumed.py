"""What a scenario left out, what stands there instead, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic.fields import FieldInfo

from finsolar.scenario.schema import Block, Scenario, TimeShift
from finsolar.scenario.stated import in_words


@dataclass(frozen=True)
class Assumption:
    """A default that the study used: the field, its value in words, and the sentence that defends it."""

    field: str
    value: str
    why: str


def assumptions(scenario: Scenario) -> list[Assumption]:
    """Every default that a scenario relies on, once each, in the order of the file's format."""
    found: dict[str, Assumption] = {}
    _collect(scenario, "", found)
    return list(found.values())


def _collect(model: Block, path: str, found: dict[str, Assumption]) -> None:
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if name == "time_shift" and value is None and getattr(model, "operation", "") == "time shift":
            value = TimeShift()
        inner = f"{path}.{name}" if path else name
        extra = field.json_schema_extra
        if name in model.moot or name == "later":  # a later tariff has what it does not say from the first
            continue
        if name not in model.model_fields_set and isinstance(extra, dict) and "why" in extra:
            found.setdefault(inner, Assumption(inner, _in_words(value, field), str(extra["why"])))
        elif isinstance(value, Block):
            _collect(value, inner, found)
        elif isinstance(value, list):
            # Entries share their assumptions: thirty cost lines without a residual are one sentence.
            below = path if name == "alternatives" else inner
            for entry in value:
                if isinstance(entry, Block):
                    _collect(entry, below, found)


def _in_words(value: Any, field: FieldInfo) -> str:
    if value is None:
        return "not stated"
    if isinstance(value, Block):
        return ", ".join(f"{k}: {v}" for k, v in value.model_dump(exclude_none=True, exclude=set(value.moot)).items())
    return in_words(value, field)
