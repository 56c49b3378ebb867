"""Flows for many cases whose hours differ: exact hours at a few places, and a smooth surface between them.

At each place the whole study runs, every hour of every year; between the places the sums of the hours, which bills are
made of, follow polynomials through the exact ones, and so does what is carried while the grid is down. Prices, money
and taxes are then worked out for every case by the one engine. Where the years of a case differ, each year is taken
from the place where it would stand in all years.

Places of one range are those where Chebyshev's polynomial of degree 4 turns; of several ranges, each by itself has
these five, and every two together three by three (Smolyak's sparse grid of level 2): 5, 13, 25, 41, ... studies. A
finer surface keeps them and gives each range by itself the nine of degree 8: 9, 21, 37, 57, ... studies.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.flows import Flows
from finsolar.energy.house import Run, ageing
from finsolar.results import Metered, Position, Result, Study
from finsolar.scenario.numbers import settled
from finsolar.scenario.schema import Alternative, Tariff
from finsolar.study import renewals, study
from finsolar.tariff.prices import regimes
from finsolar.uncertainty.between import carrying_between, outages_between
from finsolar.uncertainty.ranges import Ranged

Array = NDArray[np.float64]
Progress = Callable[[int, int], None]
Place = tuple[float, ...]

_SIGMAS = 4.0  # how far a normal reaches: where draws are cut off


def _turns(degree: int) -> Place:
    """Where Chebyshev's polynomial turns, ends included; 0 exactly in the middle."""
    return tuple(float(np.round(-np.cos(np.pi * k / degree), 15)) for k in range(degree + 1))


_LEVELS: tuple[Place, ...] = ((0.0,), _turns(2), _turns(4), _turns(8))
"""Places from one end of a range, -1, to the other, 1; each level holds those before it."""

COARSE, FINE = 2, 3
"""The levels of a surface."""

NO_HOURS: Any = None
"""In the place of hours that are no longer at hand."""


@dataclass(frozen=True, eq=False)
class Surface:
    """Exact studies at the places of some ranges.

    ranges : those that the hours depend on; low, high : (ranges,) how far each reaches; exact : the studies without
    their hours, by place, each coordinate from -1 at ``low`` to 1 at ``high``.
    """

    level: int
    base: Study
    ranges: tuple[Ranged, ...]
    low: Array
    high: Array
    exact: dict[Place, Study]

    def at(self, found: Iterable[Array]) -> Study:
        """A study to reuse, with the hours of many cases.

        ``found`` by range (cases, 1), or (cases, years) where its years differ, as of
        `finsolar.uncertainty.columns.by_year`; nothing may lie beyond the reach of its range.
        """
        columns = list(found)
        span = self.high - self.low
        along = [(2 * c - self.low[k] - self.high[k]) / span[k] for k, c in enumerate(columns)]
        weights = _weights(self.level, along, list(self.exact))
        studies = list(self.exact.values())
        stay = _position([each.stay for each in studies], self.base.stay, self.base.settled.tariff, weights)
        own = {path: c for each, c in zip(self.ranges, columns, strict=True) for path in each.paths}
        plans = settled(self.base.scenario, own).alternatives
        results = []
        for i, (result, plan) in enumerate(zip(self.base.results, plans, strict=True)):
            parts = [each.results[i] for each in studies]
            tariff = None if plan.system.operation == "off grid" else plan.tariff
            position = _position([part.position for part in parts], result.position, tariff, weights)
            run = _run(parts, plan, weights)
            carrying = carrying_between([part.carrying for part in parts], run, weights)
            results.append(replace(result, position=position, run=run, carrying=carrying))
        outages = outages_between([each.expected_outages for each in studies], weights)
        return replace(self.base, stay=stay, results=tuple(results), expected_outages=outages)


def surface(
    base: Study,
    ranges: tuple[Ranged, ...],
    level: int = COARSE,
    known: Surface | None = None,
    progress: Progress | None = None,
) -> Surface:
    """Run the exact studies of a surface over ``ranges``, each of some width.

    known : a coarser surface of the same, whose studies are kept; progress : told how many of how many are there.
    """
    low, high = np.array([reach(each) for each in ranges]).T
    exact: dict[Place, Study] = {} if known is None else dict(known.exact)
    places = _places(level, len(ranges))
    for place in (each for each in places if each not in exact):
        values = (low + high) / 2 + (high - low) / 2 * np.array(place)
        chosen = {path: float(v) for each, v in zip(ranges, values, strict=True) for path in each.paths}
        exact[place] = light(study(base.scenario, chosen))
        if progress is not None:
            progress(len(exact), len(places))
    return Surface(level, base, ranges, low, high, exact)


def reach(of: Ranged) -> tuple[float, float]:
    """The least and the most that a range, with its years, can come to."""
    low, high = of.range.values[0], of.range.values[-1]
    if of.range.kind == "mean, sd":
        low, high = low - _SIGMAS * high, low + _SIGMAS * high
    years = _SIGMAS * of.range.yearly_sd
    return max(low - years, of.low), min(high + years, of.high)


def _places(level: int, ranges: int) -> list[Place]:
    """The places of the sparse grid, the middle first."""
    found: dict[Place, None] = {}
    for levels, _ in _terms(level, ranges):
        found |= dict.fromkeys(product(*(_LEVELS[own] for own in levels)))
    return sorted(found, key=lambda place: sum(abs(x) for x in place))


def studies_of(level: int, ranges: int) -> int:
    """How many exact studies a surface over so many ranges takes."""
    return len(_places(level, ranges))


@lru_cache(maxsize=64)
def _terms(level: int, ranges: int) -> tuple[tuple[tuple[int, ...], int], ...]:
    """The full grids that add up to the sparse one: the level of each range, and how often the grid counts.

    Of the levels i that the sparse grid has, each counts as often as the sum of (-1)^|z| over all z of zeros and ones
    for which it has i + z too (the combination technique; Smolyak's formula is a case of it; from memory).
    """
    had = [_levels_of(ranges, dict(zip(of, own, strict=True)))
           for count in range(min(ranges, COARSE) + 1)
           for of in combinations(range(ranges), count)
           for own in product(range(1, COARSE + 1), repeat=count)
           if sum(own) <= COARSE]  # fmt: skip
    if level == FINE:
        had += [_levels_of(ranges, {k: FINE}) for k in range(ranges)]
    found = []
    for levels in had:
        beyond = [np.subtract(other, levels) for other in had]
        often = sum((-1) ** int(z.sum()) for z in beyond if z.min() >= 0 and z.max() <= 1)
        if often:
            found.append((levels, often))
    return tuple(found)


def _levels_of(ranges: int, own: dict[int, int]) -> tuple[int, ...]:
    return tuple(own.get(k, 0) for k in range(ranges))


def _weights(level: int, along: list[Array], places: list[Place]) -> Array:
    """What each place counts for in each case, (cases, years or 1, places); the counts of a case add up to one."""
    shape = np.broadcast_shapes(*(each.shape for each in along))
    counts = [[_lagrange(level, each) for level in _LEVELS] for each in along]
    where = {place: k for k, place in enumerate(places)}
    found = np.zeros((len(places), *shape))
    for levels, often in _terms(level, len(along)):
        for corner in product(*(range(len(_LEVELS[own])) for own in levels)):
            place = tuple(_LEVELS[own][at] for own, at in zip(levels, corner, strict=True))
            count: Any = float(often)
            for k, (own, at) in enumerate(zip(levels, corner, strict=True)):
                count = count * counts[k][own][at]
            found[where[place]] += count
    return np.moveaxis(found, 0, -1)


def _lagrange(places: Place, at: Array) -> list[Array]:
    """Lagrange's polynomials at some values: each is one at its own place and zero at all others."""
    found = []
    for own in places:
        count = np.ones(at.shape)
        for other in places:
            if other != own:
                count = count * ((at - other) / (own - other))
        found.append(count)
    return found


def _position(parts: list[Position], base: Position, tariff: Tariff | None, weights: Array) -> Position:
    """A house run one way, of which only the sums are known; its bill and its fuel are worked out from them anew."""
    years = len(base.flows.load)
    slices = [slice(0, years)] if tariff is None else [part for part, _ in regimes(tariff, years)]
    metered = tuple(_metered([part.metered[k] for part in parts], of, weights) for k, of in enumerate(slices))
    return replace(base, hourly=NO_HOURS, metered=metered)


def _metered(parts: list[Metered], of: slice, weights: Array) -> Metered:
    own = weights if weights.shape[1] == 1 else weights[:, of]
    before = weights[:, :1] if weights.shape[1] == 1 else weights[:, max(of.start - 1, 0)][:, None]
    flows = {name: _blend([getattr(part.flows, name) for part in parts], own) for name in vars(parts[0].flows)}
    spot = None
    if parts[0].spot is not None:
        bought, sold = zip(*(part.spot for part in parts if part.spot is not None), strict=True)
        spot = (_blend(bought, own), _blend(sold, own))
    return Metered(
        flows=Flows(**flows),
        peak=_blend([part.peak for part in parts], own),
        before=_blend([part.before[None] for part in parts], before)[:, 0],
        spot=spot,
    )


def _run(parts: list[Result], plan: Alternative, weights: Array) -> Run:
    """The battery of every case: renewed when its own wear says so, not when that of a place does."""
    cycles = _blend([part.run.cycles for part in parts], weights)
    battery = plan.system.battery
    if battery == "none":
        return replace(parts[0].run, hourly=NO_HOURS)
    course = ageing(battery, cycles, *renewals(plan, cycles.shape[-1]))
    return Run(NO_HOURS, course.capacity, cycles, course.renewed, course.worn_out)


def _blend(parts: Sequence[Array], weights: Array) -> Array:
    """What lies between exact arrays (years, ...); in front comes an axis of the cases."""
    exact = np.stack(parts)
    _, years, *rest = exact.shape
    flat = np.moveaxis(exact.reshape(len(parts), years, int(np.prod(rest))), 0, 1)  # (years, places, all else)
    found = np.moveaxis(np.matmul(np.moveaxis(weights, 1, 0), flat), 0, 1)
    if exact.size and exact.min() >= 0:
        found = np.maximum(found, 0.0)  # where no exact sum is below zero, a polynomial may be by a trace
    return np.asarray(found.reshape(*found.shape[:2], *rest))


def light(exact: Study) -> Study:
    """A study without its hours, of which a surface needs the sums alone."""
    results = tuple(
        replace(each, position=replace(each.position, hourly=NO_HOURS), run=replace(each.run, hourly=NO_HOURS))
        for each in exact.results
    )
    return replace(exact, stay=replace(exact.stay, hourly=NO_HOURS), results=results)
