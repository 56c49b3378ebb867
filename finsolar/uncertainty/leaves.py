"""Every field of a scenario that holds a value, with the names by which people may call it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from finsolar.scenario.inheriting import INHERITED
from finsolar.scenario.schema import Scenario


@dataclass(frozen=True)
class Leaf:
    """One field of a scenario that holds no other: its value as written and as settled, and the block it stands in."""

    path: str
    value: Any
    settled: Any
    field: FieldInfo
    block: BaseModel

    @property
    def own(self) -> str:
        """The name of the field in its block."""
        return next(name for name, field in type(self.block).model_fields.items() if field is self.field)


def leaves(model: BaseModel, settled: BaseModel, path: str) -> Iterator[Leaf]:
    """Every field that holds no block, entries of lists one by one."""
    for name, field in type(model).model_fields.items():
        waiting: list[tuple[str, Any, Any]] = [(f"{path}{name}", getattr(model, name), getattr(settled, name))]
        while waiting:
            place, value, fixed = waiting.pop(0)
            if isinstance(value, BaseModel):
                yield from leaves(value, fixed, f"{place}.")
            elif isinstance(value, list):
                waiting += [(f"{place}.{i}", *pair) for i, pair in enumerate(zip(value, fixed, strict=True))]
            elif isinstance(value, dict):
                waiting += [(f"{place}.{key}", value[key], fixed[key]) for key in value]
            else:
                yield Leaf(place, value, fixed, field, model)


def name_of(scenario: Scenario, path: str) -> str:
    """The name of the place where a field was written, or would be written for all who share it."""
    steps = path.split(".")
    name = scenario.origin.place_of(steps)[1]
    shared = steps[:1] == ["alternatives"] and len(steps) > 2 and steps[2] in INHERITED
    # An export scheme is taken over as a whole, and an entry of a list with its list.
    if path in scenario.origin.places or not shared or "export" in steps or any(step.isdigit() for step in steps[2:]):
        return name
    return ".".join(steps[2:])


def by_item(scenario: Scenario, path: str, name: str) -> str:
    """A name with the items of its lists in place of their numbers: ``costs.Battery.cost``."""
    steps = path.split(".")
    parts = [part for part in re.split(r"\.|(?=\[)", name) if part]
    for k in range(1, min(len(parts), len(steps)) + 1):
        label = _item_at(scenario, steps[: len(steps) - k + 1]) if parts[-k].startswith("[") else None
        parts[-k] = label or parts[-k]
    return ".".join(parts).replace(".[", "[")


def _item_at(scenario: Scenario, steps: Sequence[str]) -> str | None:
    """What an entry of a list is called, None where it has no name of its own."""
    found: Any = scenario
    for step in steps:
        if isinstance(found, list) and step.isdigit():
            found = found[int(step)]
        elif isinstance(found, dict):
            found = found.get(step)
        else:
            found = getattr(found, step, None)
    label = next((getattr(found, name, None) for name in ("item", "name", "period") if hasattr(found, name)), None)
    return label if isinstance(label, str) else None
