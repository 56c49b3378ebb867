"""The ranges of a scenario: each once, however many alternatives take it over, with the limits of its field."""

from __future__ import annotations

from dataclasses import dataclass

from finsolar.scenario.numbers import Range, limits
from finsolar.scenario.schema import Scenario
from finsolar.uncertainty.leaves import leaves

_FROM_YEAR_1 = frozenset({"brightness", "level"})


@dataclass(frozen=True)
class Ranged:
    """One uncertain number of a scenario.

    name : where it was written, as in messages; paths : every place that holds it, as `study` takes them; low, high :
    what its field may hold at all; years : how many years have a value of their own, 0 where all share one.
    """

    name: str
    paths: tuple[str, ...]
    range: Range
    low: float
    high: float
    years: int = 0


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
            # A rise leads from one year to the next, so there is one less of them.
            years = scenario.study.years - (0 if leaf.own in _FROM_YEAR_1 else 1)
            found[line, name] = Ranged(
                name, paths, leaf.value, *limits(leaf.field), years if leaf.value.yearly_sd else 0
            )
    return tuple(found.values())
