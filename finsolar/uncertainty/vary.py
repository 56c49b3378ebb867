"""One number of a scenario, or two, moved from one value to another: what becomes of every alternative."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finsolar.results import Study
from finsolar.scenario.numbers import settled
from finsolar.scenario.problems import Problem, ScenarioError
from finsolar.study import study
from finsolar.uncertainty.inputs import Input
from finsolar.uncertainty.simulation import figures_of

Array = NDArray[np.float64]
Progress = Callable[[int, int], None]

FIGURES = ("npv", "irr", "simple_payback", "discounted_payback")
"""What is kept of each study; the paybacks are the lasting ones."""

FEWEST_STEPS, MOST_STEPS = 2, 41
"""How many values an input may take."""


@dataclass(frozen=True, eq=False)
class Axis:
    """An input and the values (n,) it goes through, rising."""

    input: Input
    values: Array


@dataclass(frozen=True, eq=False)
class Course:
    """One alternative; ``figures`` by name, (n,) along one axis or (n, m) along two, NaN where there is none.

    break_even : the values of the first axis at which the NPV is zero, on straight lines between its steps; along one
    axis one tuple of them, along two one for each value of the second.
    """

    name: str
    figures: dict[str, Array]
    break_even: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, eq=False)
class Varied:
    """A study and what becomes of it along one axis or two; courses in the order of its alternatives."""

    base: Study
    axes: tuple[Axis, ...]
    courses: tuple[Course, ...]


def axis(of: Input, low: object, high: object, steps: int, options: tuple[str, str] = ("--from", "--to")) -> Axis:
    """An input from ``low`` to ``high``, both as a scenario writes them, in equal steps; ends included.

    options : what messages call the two ends. Raises ScenarioError for values that the field does not take.
    """
    faults, ends = [], []
    for option, value in zip(options, (low, high), strict=True):
        try:
            ends.append(of.check(value))
        except ValueError as error:
            what, mend = error.args
            faults.append(Problem(option, 0, of.name, what, mend, "value"))
    if not faults and ends[0] >= ends[1]:
        what = "does not lie above the low end"
        faults.append(Problem(options[1], 0, of.name, what, "write the smaller value first", "order"))
    if not FEWEST_STEPS <= steps <= MOST_STEPS:
        mend = f"write {FEWEST_STEPS} to {MOST_STEPS}"
        faults.append(Problem("--steps", 0, "", f"is {steps}", mend, "steps"))
    if faults:
        raise ScenarioError(faults)
    values = np.round(np.linspace(ends[0], ends[1], steps), 12)  # 2%, where equal steps say 1.9999999999999998%
    values[[0, -1]] = ends
    return Axis(of, values)


def vary(base: Study, axes: Sequence[Axis], progress: Progress | None = None) -> Varied:
    """Every alternative at each value of one axis, or at each pair of values of two.

    Inputs that only money depends on go through one study whose hours are taken over; any other needs a study of its
    own a value. Ranges of the scenario stay at their middle. progress : told how many of how many studies are done.
    Raises ScenarioError where both axes move the same number.
    """
    _refuse_same(axes)
    slow = [k for k, each in enumerate(axes) if not each.input.batch]
    fast = [k for k, each in enumerate(axes) if each.input.batch]
    shape = tuple(len(each.values) for each in axes)
    figures = [{name: np.empty(shape) for name in FIGURES} for _ in base.results]
    columns = columns_of([axes[k] for k in fast])
    rounds = list(product(*(range(shape[k]) for k in slow)))
    for done, places in enumerate(rounds, start=1):
        own: dict[str, Any] = {}
        for k, place in zip(slow, places, strict=True):
            own |= axes[k].input.chosen(float(axes[k].values[place]))
        cases = study(base.scenario, own) if slow else base
        if fast:
            cases = study(settled(base.scenario, own), columns, reuse=cases)
        at: list[Any] = [slice(None)] * len(axes)
        for k, place in zip(slow, places, strict=True):
            at[k] = place
        size = tuple(shape[k] for k in fast)
        for kept, result in zip(figures, cases.results, strict=True):
            found = figures_of(result)
            count = (int(np.prod(size)),) if fast else ()
            for name in FIGURES:
                kept[name][tuple(at)] = np.broadcast_to(found[name], count).reshape(size)
        if progress is not None:
            progress(done, len(rounds))
    courses = tuple(
        Course(result.name, kept, _break_even(axes[0].values, kept["npv"]))
        for result, kept in zip(base.results, figures, strict=True)
    )
    return Varied(base, tuple(axes), courses)


def crossings(values: Array, npv: Array) -> tuple[float, ...]:
    """Where along ``values`` (n,) an NPV (n,) is zero, on straight lines between the values; none if it never is."""
    found: list[float] = [float(values[0])] if npv[0] == 0 else []
    for k in range(1, len(values)):
        before, after = float(npv[k - 1]), float(npv[k])
        if after == 0:
            found.append(float(values[k]))
        elif before * after < 0:
            way = before / (before - after)
            found.append(float(values[k - 1] + way * (values[k] - values[k - 1])))
    return tuple(found)


def _break_even(values: Array, npv: Array) -> tuple[tuple[float, ...], ...]:
    return tuple(crossings(values, row) for row in npv.reshape(len(values), -1).T)


def columns_of(axes: Sequence[Axis]) -> dict[str, Any]:
    """What one study is to choose for every combination of the axes, columns (cases, 1) in the order of their grid."""
    grid = np.meshgrid(*(each.values for each in axes), indexing="ij")
    chosen: dict[str, Any] = {}
    for each, values in zip(axes, grid, strict=True):
        chosen |= each.input.chosen(values.reshape(-1, 1))
    return chosen


def _refuse_same(axes: Sequence[Axis]) -> None:
    if len(axes) == 2 and set(axes[0].input.paths) & set(axes[1].input.paths):
        one, other = (each.input.name for each in axes)
        what = f"moves what {one} moves too" if one != other else "is the same number twice"
        raise ScenarioError([Problem("--against", 0, other, what, "name another number", "same")])
