"""What becomes of every alternative at other prices and rates: each combination worked out beforehand, in one batch.

Three numbers move, each between stops of its own, all combinations of them: the yearly rise of all prices of supply,
the purchase price of all lines of cost, and the discount rate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finsolar.results import Result, Study
from finsolar.scenario.numbers import limits
from finsolar.scenario.place import StudySettings
from finsolar.scenario.problems import ScenarioError
from finsolar.study import study
from finsolar.uncertainty.columns import pieces
from finsolar.uncertainty.inputs import PRICE, Input, input_of
from finsolar.uncertainty.rises import RISES, OwnRise, own_rise, stated_rises
from finsolar.uncertainty.vary import Axis, columns_of

Array = NDArray[np.float64]

RISE = "rise of the price of energy"
SHARES = np.arange(6, 15) / 10
"""Of the purchase price as it is stated."""
POINTS = np.arange(-4, 5) / 100
"""Beside the scenario’s own discount rate."""

FIGURES = ("net_cost", "first_year_saving", "npv", "simple_payback", "simple_payback_lasting", "irr")
"""What is kept of each combination: of the paybacks the first and the lasting one."""

_CHUNK = 512  # combinations at a time, so that memory does not grow with the years


@dataclass(frozen=True, eq=False)
class Stops(Axis):
    """An input and the values (n,) at which it may stand, rising; ``own`` : the place of the scenario’s own.

    NaN stands for each place as the scenario writes it, where that is no single value. What cannot move has one stop.
    """

    own: int


@dataclass(frozen=True, eq=False)
class Course:
    """One alternative at every combination: figures (rises, prices, rates), NaN where there is none.

    running : money (rises, prices, rates, years + 1), the running total of the net, not discounted. An axis that makes
    no difference has a length of one.
    """

    name: str
    figures: dict[str, Array]
    running: Array


@dataclass(frozen=True, eq=False)
class OtherNumbers:
    """Every combination of three inputs; courses in the order of the alternatives.

    real : whether the discount rate that moves is a real one; nominal : (rates,) what it comes to with inflation.
    """

    rise: Stops
    price: Stops
    rate: Stops
    real: bool
    nominal: Array
    courses: tuple[Course, ...]


def with_other_numbers(base: Study) -> Study:
    """The study of single values with every combination of other numbers added; ranges stay at their middle."""
    stops = (_rises(base), _prices(base), _rates(base))
    shape = tuple(len(each.values) for each in stops)
    columns = columns_of(stops)
    count = int(np.prod(shape))
    figures = [{name: np.empty(count) for name in FIGURES} for _ in base.results]
    running = [np.empty((count, base.settled.study.years + 1)) for _ in base.results]
    nominal = np.empty(count)
    for part in pieces(count, _CHUNK):
        cases = study(base.scenario, {path: column[part] for path, column in columns.items()}, reuse=base)
        nominal[part] = cases.discount_rate
        for i, result in enumerate(cases.results):
            for name, found in _figures(result).items():
                figures[i][name][part] = found
            running[i][part] = result.cash.running
    own = tuple(each.own for each in stops)
    courses = tuple(
        Course(
            result.name,
            {name: _held_once(found.reshape(shape), own) for name, found in figures[i].items()},
            _held_once(running[i].reshape(*shape, -1), own),
        )
        for i, result in enumerate(base.results)
    )
    real = base.scenario.study.real_discount_rate is not None
    return replace(base, other_numbers=OtherNumbers(*stops, real, nominal.reshape(shape)[*own[:2]], courses))


def _figures(result: Result) -> dict[str, Array]:
    appraisal = result.appraisal
    return {
        "net_cost": result.net_cost,
        "first_year_saving": result.first_year_saving,
        "npv": appraisal.npv,
        "simple_payback": appraisal.simple_payback,
        "simple_payback_lasting": appraisal.simple_payback_lasting,
        "irr": appraisal.irr,
    }


def _held_once(found: Array, own: tuple[int, ...]) -> Array:
    """The same with a length of one for each axis of ``own`` that makes no difference."""
    for axis, place in enumerate(own):
        kept = np.take(found, [place], axis=axis)
        if np.allclose(found, kept, rtol=1e-12, atol=1e-9, equal_nan=True):
            found = kept
    return found


def _rises(base: Study) -> Stops:
    """All prices of supply rising alike, as in the sweep of rises, or each as the scenario has it."""
    as_written = stated_rises(base.settled)
    own = own_rise(base.scenario)

    def chosen(rises: Any) -> dict[str, Any]:
        return {path: np.where(np.isnan(rises), np.atleast_1d(rise), rises) for path, rise in as_written.items()}

    now = own.central if isinstance(own, OwnRise) else float("nan")
    first = input_of(base, next(iter(as_written)))
    return _stops(replace(first, name=RISE, paths=tuple(as_written), now=now, chosen=chosen), RISES)


def _prices(base: Study) -> Stops:
    try:
        return _stops(input_of(base, PRICE), SHARES)
    except ScenarioError:  # no line of cost, as where everything is leased
        nothing = replace(_rates(base).input, name=PRICE, paths=(), now=float("nan"), chosen=lambda _: {})
        return Stops(nothing, np.array([np.nan]), 0)


def _rates(base: Study) -> Stops:
    name = "discount_rate" if base.scenario.study.real_discount_rate is None else "real_discount_rate"
    of = input_of(base, f"study.{name}")
    low, high = min(0.0, of.now), limits(StudySettings.model_fields[name])[1]
    return _stops(of, np.clip(np.round(of.now + POINTS, 9), low, high))


def _stops(of: Input, values: Array) -> Stops:
    """The values with that of the scenario among them; first of all where it is no single one."""
    if np.isnan(of.now):
        return Stops(of, np.array([np.nan, *values]), 0)
    others = values[~np.isclose(values, of.now, rtol=0, atol=1e-9)]
    every = np.unique([*others, of.now])
    return Stops(of, every, int(np.searchsorted(every, of.now)))
