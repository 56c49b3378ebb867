"""The ranges of a scenario: each once, however many alternatives take it over, with the limits of its field."""

from __future__ import annotations

from dataclasses import dataclass

from finsolar.scenario.numbers import Range, limits
from finsolar.scenario.schema import Scenario
from finsolar.uncertainty.leaves import leaves


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
    for leaf in leaves(scenario, scenario, ""):
        if isinstance(leaf.value, Range):
            line, name = scenario.origin.places.get(leaf.path, (0, leaf.path))
            known = found.get((line, name))
            paths = (leaf.path,) if known is None else (*known.paths, leaf.path)
            found[line, name] = Ranged(name, paths, leaf.value, *limits(leaf.field))
    return tuple(found.values())
