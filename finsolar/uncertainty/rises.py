"""How the answer moves with the yearly rise of the price of energy."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.scenario.schema import Alternative, Scenario
from finsolar.study import Study, study

Array = NDArray[np.float64]

RISES = np.arange(-2, 11) / 100
"""From prices that fall by 2 % a year to prices that rise by 10 %."""


@dataclass(frozen=True, eq=False)
class RiseSweep:
    """Figures by yearly rise, (rises,) for each alternative in the order of the study."""

    rises: Array
    names: tuple[str, ...]
    npv: tuple[Array, ...]
    simple_payback: tuple[Array, ...]
    discounted_payback: tuple[Array, ...]


def every_rise(scenario: Scenario, column: Array) -> dict[str, Array]:
    """What `study` is to choose so that all prices of supply rise by ``column`` (cases, 1) a year."""
    places: list[tuple[str, Scenario | Alternative]] = [("", scenario)]
    places += [(f"alternatives.{i}.", plan) for i, plan in enumerate(scenario.alternatives)]
    chosen = {
        f"{path}{supply}.rise": column
        for path, block in places
        for supply in ("tariff", "generator")
        if getattr(block, supply) is not None
    }
    return chosen | {
        f"{path}tariff.later.{k}.tariff.rise": column
        for path, block in places
        if block.tariff is not None
        for k in range(len(block.tariff.later))
    }


def with_rise_sweep(base: Study) -> Study:
    """The study with the sweep added: every alternative under each rise, all prices of supply rising alike.

    The fixed charge and the export price follow where the scenario lets them rise with energy.
    """
    cases = study(base.scenario, every_rise(base.scenario, RISES[:, None]), reuse=base)
    sweep = RiseSweep(
        rises=RISES,
        names=tuple(result.name for result in cases.results),
        npv=tuple(_column(r.appraisal.npv) for r in cases.results),
        simple_payback=tuple(_column(r.appraisal.simple_payback_lasting) for r in cases.results),
        discounted_payback=tuple(_column(r.appraisal.discounted_payback_lasting) for r in cases.results),
    )
    return replace(base, sensitivity=(sweep,))


def _column(figures: Array) -> Array:
    return np.broadcast_to(figures, RISES.shape)
