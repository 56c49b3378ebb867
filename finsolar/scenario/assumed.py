"""What a scenario left out, what stands there instead, and why."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from pydantic.fields import FieldInfo

from finsolar.scenario.schema import Block, Interruptions, Origin, Scenario, TimeShift
from finsolar.scenario.stated import JSON_ROOT, in_words


@dataclass(frozen=True)
class Assumption:
    """A default that the study used: the field, its value in words, and the sentence that defends it.

    id : the path of the first of its places in the JSON of a study; places : how many there are; source : ``common
    practice`` or ``memory`` where the sentence says so, else ``default``.
    """

    id: str
    field: str
    value: str
    why: str
    places: int
    source: str


def assumptions(scenario: Scenario) -> list[Assumption]:
    """Every default that a scenario relies on, once each, in the order of the file's format."""
    found: dict[str, tuple[Assumption, set[tuple[int, str]]]] = {}
    _collect(scenario, "", (), scenario.origin, found)
    if scenario.tariff is None:  # no record was asked for a house without a grid
        found = {field: one for field, one in found.items() if field not in _OF_A_RECORD}
    return [replace(told, places=len(places)) for told, places in found.values()]


_OF_A_RECORD = frozenset({"household.outage.usual", "household.outage.storms"})


def _collect(
    model: Block,
    path: str,
    way: tuple[str, ...],
    origin: Origin,
    found: dict[str, tuple[Assumption, set[tuple[int, str]]]],
) -> None:
    """``path`` : the block as people name it, the same for all entries of a list; ``way`` : the steps to it.

    What alternatives share is one place.
    """
    for name, field in type(model).model_fields.items():
        value = getattr(model, name)
        if name == "time_shift" and value is None and getattr(model, "operation", "") == "time shift":
            value = TimeShift()
        inner, place = f"{path}.{name}" if path else name, (*way, name)
        extra = field.json_schema_extra
        if name in model.moot or name == "later":  # a later tariff has what it does not say from the first
            continue
        if name not in model.model_fields_set and isinstance(extra, dict) and "why" in extra:
            why, source = str(extra["why"]), _source(str(extra["why"]))
            if isinstance(value, Interruptions):
                why, source = value.why, "default"
            first = Assumption(JSON_ROOT + ".".join(place), inner, _in_words(value, field), why, 0, source)
            found.setdefault(inner, (first, set()))[1].add(origin.place_of(place))
        elif isinstance(value, Block):
            _collect(value, inner, place, origin, found)
        elif isinstance(value, list):
            # Entries share their assumptions: thirty cost lines without a residual are one sentence.
            below = path if name == "alternatives" else inner
            for k, entry in enumerate(value):
                if isinstance(entry, Block):
                    _collect(entry, below, (*place, str(k)), origin, found)


def _source(why: str) -> str:
    """How a default is known, by the sentence that defends it."""
    if "common practice" in why:
        return "common practice"
    return "memory" if "from memory" in why else "default"


def _in_words(value: Any, field: FieldInfo) -> str:
    if value is None:
        return "not stated"
    if isinstance(value, Interruptions):
        fields = type(value).model_fields
        times, hours, spread = (
            in_words(getattr(value, own), fields[own]) for own in ("times_a_year", "hours_each", "spread")
        )
        return f"times a year: {times}; hours each: {hours}; spread: {spread}"
    if isinstance(value, Block):
        return ", ".join(f"{k}: {v}" for k, v in value.model_dump(exclude_none=True, exclude=set(value.moot)).items())
    return in_words(value, field)
