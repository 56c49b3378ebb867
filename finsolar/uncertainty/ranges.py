"""The ranges of a scenario: each once, however many alternatives take it over, with the limits of its field."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from finsolar.scenario.numbers import Range, limits
from finsolar.scenario.schema import Scenario


@dataclass(frozen=True)
class Ranged:
    """One uncertain number of a scenario.

    name : where it was written, as in messages; paths : every place that holds it, as `study` takes them; low, high :
    what its field may hold at all.
    """

    name: str
    paths: tuple[str, ...]
    range: Range
    low: float
    high: float


def ranges_of(scenario: Scenario) -> tuple[Ranged, ...]:
    """Every range of a scenario, in the order of its format.

    What was inherited stands in many places and is one number: it is drawn once and holds in all of them.
    """
    found: dict[tuple[int, str], Ranged] = {}
    for path, value, low, high in _walk(scenario, ""):
        line, name = scenario.origin.places.get(path, (0, path))
        known = found.get((line, name))
        paths = (path,) if known is None else (*known.paths, path)
        found[line, name] = Ranged(name, paths, value, low, high)
    return tuple(found.values())


def _walk(model: BaseModel, path: str) -> list[tuple[str, Range, float, float]]:
    found = []
    for name, field in type(model).model_fields.items():
        low, high = limits(field)
        waiting: list[tuple[str, Any]] = [(f"{path}{name}", getattr(model, name))]
        while waiting:
            place, value = waiting.pop(0)
            if isinstance(value, Range):
                found.append((place, value, low, high))
            elif isinstance(value, BaseModel):
                found += _walk(value, f"{place}.")
            elif isinstance(value, list):
                waiting += [(f"{place}.{i}", entry) for i, entry in enumerate(value)]
            elif isinstance(value, dict):
                waiting += [(f"{place}.{key}", entry) for key, entry in value.items()]
    return found
