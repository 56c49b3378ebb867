"""Many cases of a study: each range drawn, together with the others, and every figure of every alternative kept.

Each case goes through the one engine, with the hours of the study itself; a range that the hours depend on stays at its
middle, and is named.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.scenario.problems import near, shown
from finsolar.scenario.schema import Scenario
from finsolar.study import Result, Study, moves_energy, study
from finsolar.uncertainty.draws import joined, points, quantiles, rank_matrix
from finsolar.uncertainty.ranges import Ranged, ranges_of

Array = NDArray[np.float64]
Progress = Callable[[int, int], None]

REPLICATES = 8
"""Independent scramblings of the same points: how far their answers part is the error of the whole."""

_CHUNK = 1024  # cases at a time, so that memory does not grow with the draws

FIGURES = ("npv", "irr", "simple_payback", "discounted_payback", "first_year_saving", "lcoe")
"""What is kept of each case; the paybacks are the lasting ones."""


@dataclass(frozen=True, eq=False)
class Cases:
    """What one alternative came to in every case; ``figures`` (replicates, draws) each, NaN where a case has none.

    running : money (replicates, draws, years + 1), the running total of the net, not discounted.
    """

    name: str
    figures: dict[str, Array]
    running: Array


@dataclass(frozen=True, eq=False)
class Simulation:
    """Every case of a study.

    drawn : the ranges that were drawn, ``values`` (replicates, draws, ranges) what they took; held : those that the
    hours depend on, at their middle; draws : of each replicate.
    """

    seed: int
    draws: int
    drawn: tuple[Ranged, ...]
    held: tuple[Ranged, ...]
    values: Array
    alternatives: tuple[Cases, ...]


def simulate(base: Study, progress: Progress | None = None) -> Simulation | None:
    """Draw every case of a scenario; None where it states no range that the money depends on.

    progress : told how many of how many cases are done. Raises ScenarioError where ranges cannot go together as the
    scenario says.
    """
    scenario = base.scenario
    everything = ranges_of(scenario)
    drawn = tuple(one for one in everything if not any(moves_energy(scenario, path) for path in one.paths))
    held = tuple(one for one in everything if one not in drawn)
    if not drawn:
        ties(scenario, drawn)
        return None
    settings = scenario.study
    draws = settings.draws // REPLICATES
    shares = joined_shares(scenario, drawn, draws, settings.seed)
    values = values_of(drawn, shares)
    years = scenario.study.years
    every = values.reshape(-1, len(drawn))
    figures = [{name: np.empty(len(every)) for name in FIGURES} for _ in base.results]
    running = [np.empty((len(every), years + 1)) for _ in base.results]
    for part in pieces(len(every)):
        cases = study(scenario, chosen(drawn, every[part]), reuse=base)
        for i, result in enumerate(cases.results):
            for name, found in figures_of(result).items():
                figures[i][name][part] = found
            running[i][part] = result.cash.running
        if progress is not None:
            progress(part.stop, len(every))
    shape = (REPLICATES, draws)
    alternatives = tuple(
        Cases(
            result.name,
            {name: found.reshape(shape) for name, found in figures[i].items()},
            running[i].reshape(*shape, years + 1),
        )
        for i, result in enumerate(base.results)
    )
    return Simulation(settings.seed, draws, drawn, held, values, alternatives)


def joined_shares(scenario: Scenario, drawn: tuple[Ranged, ...], draws: int, seed: int) -> Array:
    """Where each draw stands within each range, (replicates, draws, ranges) in (0, 1), tied together as stated."""
    matrix = ties(scenario, drawn)
    seeds = np.random.SeedSequence(seed).generate_state(REPLICATES)
    return np.stack([joined(points(draws, len(drawn), int(one)), matrix) for one in seeds])


def ties(scenario: Scenario, drawn: tuple[Ranged, ...]) -> Array:
    """The correlations of normal scores that a scenario ties its ranges by, (ranges, ranges).

    Raises ScenarioError for a range that is not drawn, and for ties that cannot hold together.
    """
    names = [each.name for each in drawn]
    for i, tie in enumerate(scenario.together):
        for name in tie[:2]:
            if name not in names:
                what = f"names {shown(name)}, no range that is drawn"
                raise scenario.origin.refusal(f"together.{i}", what, near(name, names), "together")
    try:
        return rank_matrix(names, scenario.together)
    except ValueError as error:
        what, _, mend = str(error).partition("; ")
        raise scenario.origin.refusal("together", f"does not hold: {what}", mend or "mend it", "together") from None


def values_of(drawn: tuple[Ranged, ...], shares: Array) -> Array:
    """The value of each range at its share; shape and order of ``shares`` (..., ranges)."""
    found = [quantiles(each.range, shares[..., k], each.low, each.high) for k, each in enumerate(drawn)]
    return np.stack(found, axis=-1)


def chosen(drawn: tuple[Ranged, ...], values: Array) -> dict[str, Array]:
    """What `study` is to choose for ``values`` (cases, ranges): each range's column in every place that holds it."""
    return {path: values[:, k : k + 1] for k, each in enumerate(drawn) for path in each.paths}


def figures_of(result: Result) -> dict[str, Array]:
    """The figures that are kept of each case, by the names of ``FIGURES``."""
    appraisal = result.appraisal
    return {
        "npv": appraisal.npv,
        "irr": appraisal.irr,
        "simple_payback": appraisal.simple_payback_lasting,
        "discounted_payback": appraisal.discounted_payback_lasting,
        "first_year_saving": result.first_year_saving,
        "lcoe": appraisal.lcoe,
    }


def pieces(cases: int) -> Iterator[slice]:
    """Cases in turn, in pieces of bounded size."""
    for start in range(0, cases, _CHUNK):
        yield slice(start, min(start + _CHUNK, cases))
