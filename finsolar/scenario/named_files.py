"""The files that a scenario names: all that a study reads and none of its results may overwrite."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from finsolar.scenario.blocks import Block
from finsolar.scenario.schema import Scenario

FILE_FIELDS = frozenset({"file", "production"})
"""Fields whose value, where it is a word, is the name of a file."""


def named_files(scenario: Scenario) -> dict[Path, str]:
    """Every file that the scenario names, each with the field that names it first, as a reader knows the field."""
    origin = scenario.origin
    found: dict[Path, str] = {}
    for path, name in _names(scenario, ""):
        _, field = origin.places.get(path, (0, path))
        found.setdefault(origin.beside(name), field)
    return found


def _names(value: Any, path: str) -> Iterator[tuple[str, str]]:
    """The names of files in a block or a list, each with its path in the complete scenario."""
    if isinstance(value, Block):
        inside = [(name, getattr(value, name)) for name in type(value).model_fields]
    else:
        inside = [(str(i), entry) for i, entry in enumerate(value)]
    for name, inner in inside:
        where = f"{path}.{name}" if path else name
        if name in FILE_FIELDS and isinstance(inner, str):
            yield where, inner
        elif isinstance(inner, Block | list):
            yield from _names(inner, where)
