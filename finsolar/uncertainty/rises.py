"""How the answer moves with the yearly rise of the price of energy, beside what that rise was before now."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finsolar.results import Study
from finsolar.scenario.numbers import Range, limits
from finsolar.scenario.schema import Alternative, Scenario
from finsolar.scenario.tariff import Tariff
from finsolar.study import study
from finsolar.uncertainty.draws import quantiles
from finsolar.uncertainty.price_history import History, history_of

Array = NDArray[np.float64]

_P90 = 1.2815515655446004  # standard deviations from the middle of a normal to its P90

RISES = np.arange(-2, 11) / 100
"""From prices that fall by 2 % a year to prices that rise by 10 %."""


@dataclass(frozen=True)
class OwnRise:
    """The one rise that a scenario gives all its prices of supply, per year; p10, p90 : of its range, if it has one."""

    central: float
    p10: float | None
    p90: float | None


@dataclass(frozen=True, eq=False)
class RiseSweep:
    """Figures by yearly rise, (rises,) for each alternative in the order of the study.

    own : the scenario's rise, if one rules; history : how prices rose where the house stands; where there is none, its
    reason stands in ``reasons`` under its name.
    """

    rises: Array
    names: tuple[str, ...]
    npv: tuple[Array, ...]
    simple_payback: tuple[Array, ...]
    discounted_payback: tuple[Array, ...]
    own: OwnRise | None
    history: History | None
    reasons: dict[str, str]


def stated_rises(scenario: Scenario) -> dict[str, Any]:
    """The rise of every price of supply as written, by its path, as `study` takes it."""
    places: list[tuple[str, Scenario | Alternative]] = [("", scenario)]
    places += [(f"alternatives.{i}.", plan) for i, plan in enumerate(scenario.alternatives)]
    stated = {
        f"{path}{supply}.rise": getattr(block, supply).rise
        for path, block in places
        for supply in ("tariff", "generator")
        if getattr(block, supply) is not None
    }
    return stated | {
        f"{path}tariff.later.{k}.tariff.rise": change.tariff.rise
        for path, block in places
        if block.tariff is not None
        for k, change in enumerate(block.tariff.later)
    }


def every_rise(scenario: Scenario, column: Array) -> dict[str, Array]:
    """What `study` is to choose so that all prices of supply rise by ``column`` (cases, 1) a year."""
    return dict.fromkeys(stated_rises(scenario), column)


def own_rise(scenario: Scenario) -> OwnRise | str:
    """The rise that all prices of supply have in common, or why there is none."""
    stated = set(stated_rises(scenario).values())
    if len(stated) != 1:
        return "the prices of supply rise by different rates" if stated else "nothing is bought whose price could rise"
    [rise] = stated
    if isinstance(rise, tuple):
        return "the rise differs from year to year"
    if not isinstance(rise, Range):
        return OwnRise(rise, None, None)
    low, high = quantiles(rise, np.array([0.1, 0.9]), *limits(Tariff.model_fields["rise"]))
    # Over the study single years even out by the root of their number; what is left of them widens both sides.
    years = _P90 * rise.yearly_sd / np.sqrt(max(scenario.study.years - 1, 1))
    middle = rise.central
    return OwnRise(
        middle, float(middle - np.hypot(middle - low, years)), float(middle + np.hypot(high - middle, years))
    )


def history_here(scenario: Scenario) -> History | str:
    """How prices of electricity rose in the country of the house, or why that cannot be set beside its own."""
    if not any("tariff." in path for path in stated_rises(scenario)):
        return "the house buys no electricity, and the price of fuel goes its own way"
    found = history_of(scenario.place.country)
    return f"no history of prices is on hand for the country {scenario.place.country}" if found is None else found


def with_rise_sweep(base: Study) -> Study:
    """The study with the sweep added: every alternative under each rise, all prices of supply rising alike.

    The fixed charge and the export price follow where the scenario lets them rise with energy.
    """
    cases = study(base.scenario, every_rise(base.scenario, RISES[:, None]), reuse=base)
    own, history = own_rise(base.scenario), history_here(base.scenario)
    sweep = RiseSweep(
        rises=RISES,
        names=tuple(result.name for result in cases.results),
        npv=tuple(_column(r.appraisal.npv) for r in cases.results),
        simple_payback=tuple(_column(r.appraisal.simple_payback_lasting) for r in cases.results),
        discounted_payback=tuple(_column(r.appraisal.discounted_payback_lasting) for r in cases.results),
        own=own if isinstance(own, OwnRise) else None,
        history=history if isinstance(history, History) else None,
        reasons={name: found for name, found in (("own", own), ("history", history)) if isinstance(found, str)},
    )
    return replace(base, sensitivity=(sweep,))


def _column(figures: Array) -> Array:
    return np.broadcast_to(figures, RISES.shape)
