"""What would change the answer: each range by itself, its share of the whole, and where the lead turns."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.results import Study
from finsolar.scenario.numbers import Range
from finsolar.uncertainty.columns import count, middle, own_years, values_of
from finsolar.uncertainty.draws import points, quantiles
from finsolar.uncertainty.ranges import Ranged
from finsolar.uncertainty.shares_of_variance import Indices, designs, indices
from finsolar.uncertainty.simulation import in_pieces
from finsolar.uncertainty.surface import Surface

Array = NDArray[np.float64]

_LOW, _HIGH = 0.1, 0.9
_STEPS = np.concatenate([[0.01], np.arange(0.05, 1.0, 0.05), [0.99]])  # places within a range, P1 to P99
_BASE_POINTS = 512


@dataclass(frozen=True, eq=False)
class Swing:
    """One range from its P10 to its P90, all others at their middle.

    low, high : the values there; npv_low, npv_high : money (alternatives,), in the order of the study.
    """

    name: str
    low: float
    high: float
    npv_low: Array
    npv_high: Array


@dataclass(frozen=True)
class Lead:
    """Which alternative has the highest NPV along one range: from ``since`` on ``leader`` does; the first from P1."""

    since: float
    leader: str


@dataclass(frozen=True, eq=False)
class WhatMatters:
    """Of every range that was drawn.

    swings : in the order of the ranges; of_years : by range, the same of its years that differ by themselves, all
    moved by what their mean would be at its P10 and its P90; leads : by range, one entry where the lead never turns
    between P1 and P99; shares : of the variance of each alternative's NPV, first-order and total, all independent:
    those of the ranges, then, in their order, those of the years of each range that differ by themselves.
    """

    swings: tuple[Swing, ...]
    of_years: dict[str, Swing]
    leads: dict[str, tuple[Lead, ...]]
    shares: tuple[Indices, ...]


def with_what_matters(base: Study) -> Study:
    """The study with what would change its answer added; as it was where it was not simulated."""
    if base.simulation is None:
        return base
    drawn = base.simulation.drawn
    steps = _one_by_one(drawn, np.concatenate([[_LOW, _HIGH], _STEPS]))
    surface = base.simulation.surface
    moving = () if surface is None else surface.ranges
    # Where a range leaves the hours alone, they are those of the study itself, exactly.
    npv = np.stack([_npv(base, drawn, surface if each in moving else None, steps[k]) for k, each in enumerate(drawn)])
    swings = tuple(
        Swing(each.name, float(steps[k, 0, k]), float(steps[k, 1, k]), npv[k, 0], npv[k, 1])
        for k, each in enumerate(drawn)
    )
    names = [result.name for result in base.results]
    leads = {each.name: _leads(steps[k, 2:, k], npv[k, 2:], names) for k, each in enumerate(drawn)}
    return replace(
        base, what_matters=WhatMatters(swings, _of_years(base, drawn, surface), leads, _shares(base, drawn, surface))
    )


def _one_by_one(drawn: tuple[Ranged, ...], shares: Array) -> Array:
    """Cases in which one range goes through ``shares`` of itself, the others at their middle, (ranges, n, columns)."""
    columns = count(drawn)
    cases = np.broadcast_to(middle(drawn), (len(drawn), len(shares), columns)).copy()
    each_at = values_of(drawn, np.repeat(shares[:, None], columns, axis=1))
    for k in range(len(drawn)):
        cases[k, :, k] = each_at[:, k]
    return cases


def _of_years(base: Study, drawn: tuple[Ranged, ...], surface: Surface | None) -> dict[str, Swing]:
    """The swings of years that differ by themselves, the range itself and all others at their middle."""
    found = {}
    for each, own in zip(drawn, own_years(drawn), strict=True):
        if each.years:
            ends = np.array([_LOW, _HIGH])
            off = quantiles(Range("mean, sd", (0.0, each.range.yearly_sd / np.sqrt(each.years))), ends, -np.inf, np.inf)
            cases = np.broadcast_to(middle(drawn), (2, count(drawn))).copy()
            cases[:, own] = off[:, None]
            moving = surface is not None and each in surface.ranges
            npv = _npv(base, drawn, surface if moving else None, cases)
            low, high = each.range.central + off
            found[each.name] = Swing(each.name, float(low), float(high), npv[0], npv[1])
    return found


def _npv(base: Study, drawn: tuple[Ranged, ...], surface: Surface | None, values: Array) -> Array:
    """The NPV of every alternative in every case at ``values`` (cases, columns), (cases, alternatives)."""
    npv = np.empty((len(values), len(base.results)))
    for part, cases in in_pieces(base, drawn, surface, values):
        for i, result in enumerate(cases.results):
            npv[part, i] = result.appraisal.npv
    return npv


def _leads(values: Array, npv: Array, names: list[str]) -> tuple[Lead, ...]:
    """Where along ``values`` (n,) another alternative takes the lead, on straight lines between the values."""
    leader = int(npv[0].argmax())
    found = [Lead(float(values[0]), names[leader])]
    for k in range(1, len(values)):
        start, slope = npv[k - 1], npv[k] - npv[k - 1]
        done = 0.0
        while True:
            # Who catches up with the leader on the rest of this way, and who does so first.
            behind, gains = start[leader] - start, slope - slope[leader]
            meets = np.divide(behind, gains, out=np.full(len(names), np.inf), where=gains > 0)
            meets[(meets < done) | (meets > 1.0)] = np.inf
            first = meets.min()
            if np.isinf(first):
                break
            # Of those that meet it there, the one that climbs most leads on.
            leader = int(np.where(meets <= first + 1e-12, slope, -np.inf).argmax())
            done = float(first)
            found.append(Lead(float(values[k - 1] + done * (values[k] - values[k - 1])), names[leader]))
    return tuple(found)


def _shares(base: Study, drawn: tuple[Ranged, ...], surface: Surface | None) -> tuple[Indices, ...]:
    """Sobol indices of each alternative's NPV."""
    columns = count(drawn)
    groups = [slice(k, k + 1) for k in range(len(drawn))]
    groups += [own for each, own in zip(drawn, own_years(drawn), strict=True) if each.years]
    a, b, mixed = designs(points(_BASE_POINTS, 2 * columns, base.scenario.study.seed), groups)
    every = np.concatenate([a, b, mixed.reshape(-1, columns)])
    npv = _npv(base, drawn, surface, values_of(drawn, every))
    size = len(a)
    return tuple(
        indices(npv[:size, i], npv[size : 2 * size, i], npv[2 * size :, i].reshape(len(groups), size))
        for i in range(len(base.results))
    )
