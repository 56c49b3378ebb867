"""What of a workbook may be live: its formulas are held against the engine, at other inputs, while it is written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.report.workbook.inputs import Input
from finsolar.results import Study
from finsolar.scenario.rises import growth
from finsolar.study import study
from finsolar.tariff.bills import Bill

Array = NDArray[np.float64]

EXACT = 1e-4
"""Money: how far a year may be off, a hundredth of a cent, so that all years and lines together stay within a cent."""

_TRACE = 1e-9
_TRIAL = 0.08  # the rise by which the parts of a bill are told apart


@dataclass(frozen=True, eq=False)
class Term:
    """A part of a bill by year (years,), at the prices of year 1, and the rise it follows; None for none."""

    rise: Input | None
    amounts: Array


@dataclass(frozen=True, eq=False)
class Promise:
    """What a workbook holds: ``of`` finds it in a study, (..., n); it is to be ``terms`` times their indices.

    ``follows`` is False where it stands as the engine found it.
    """

    label: str
    of: Callable[[Study], Array]
    terms: tuple[Term, ...]
    follows: bool = True


def held(label: str, of: Callable[[Study], Array], base: Study) -> Promise:
    """Numbers that stand as the engine found them, and must move with no input."""
    return Promise(label, of, (Term(None, of(base)),), follows=False)


def bill_of(found: Study, plan: int | None) -> Bill:
    """The bill of an alternative, or of staying as you are."""
    return found.stay.bill if plan is None else found.results[plan].position.bill


def component_of(plan: int | None, component: str) -> Callable[[Study], Array]:
    """Finds one component of a bill by year, (..., years)."""

    def of(found: Study) -> Array:
        yearly = bill_of(found, plan).yearly(component)
        return np.broadcast_to(yearly, (*yearly.shape[:-1], found.settled.study.years))

    return of


def bill_terms(base: Study, rises: Sequence[Input], labels: Sequence[str]) -> dict[tuple[int | None, str], Promise]:
    """Every component of every bill, taken apart by the rises it follows.

    All rises are set to zero, then each of them alone to a trial; what is proportional to an index shows by how much it
    moved. A component that is no sum of such parts, since a minimum or a bank of credits is at work, is held as it is.
    ``labels`` : of staying as you are, then of each alternative.
    """
    # The first case has no rise, each other one has one.
    columns = np.concatenate([np.zeros((1, len(rises))), _TRIAL * np.eye(len(rises))])
    chosen = {path: columns[:, [k]] for k, one in enumerate(rises) for path in one.paths}
    flat = study(base.scenario, chosen, reuse=base)
    years = base.settled.study.years
    climb = growth(_TRIAL, years) - 1.0
    found: dict[tuple[int | None, str], Promise] = {}
    plans: list[int | None] = [None, *range(len(base.results))]
    for plan, whose in zip(plans, labels, strict=True):
        for component in bill_of(base, plan).components:
            of = component_of(plan, component)
            cases = np.broadcast_to(of(flat), (len(columns), years))
            moved = np.divide(cases[1:] - cases[0], climb, out=np.zeros((len(rises), years)), where=climb > 0)
            promise = Promise(f"{whose}: {component}", of, _terms(rises, cases[0], moved))
            if not _kept(promise, base, {}).all():
                promise = held(promise.label, of, base)
            found[plan, component] = promise
    return found


def _terms(rises: Sequence[Input], flat: Array, moved: Array) -> tuple[Term, ...]:
    """The parts of a component: ``flat`` (years,) without rises, ``moved`` (rises, years) of it by each of them."""
    moves = [k for k in range(len(rises)) if np.abs(moved[k]).max() > _TRACE * max(1.0, np.abs(flat).max())]
    if not moves:
        return (Term(None, flat),)
    rest = flat - moved[moves].sum(axis=0)
    rest[0] = 0.0  # no price has risen in year 1, so any part may hold what is paid then
    if np.abs(rest).max() <= _TRACE * 1e3 * max(1.0, np.abs(flat).max()):
        if len(moves) == 1:
            return (Term(rises[moves[0]], flat),)
        rest = np.zeros(len(flat))
    parts = [Term(rises[k], moved[k].copy()) for k in moves]
    parts[0].amounts[0] = flat[0]
    return (*parts, Term(None, rest)) if rest.any() else tuple(parts)


def _kept(promise: Promise, found: Study, moved: dict[str, Array]) -> NDArray[np.bool_]:
    """In which cases of a study a promise is kept, (...); ``moved`` : other values of rises by their first symbol."""
    true = promise.of(found)
    said: Array = np.zeros(())
    for term in promise.terms:
        if term.rise is None:
            said = said + term.amounts
        else:
            rise = moved.get(term.rise.symbols[0], np.array(term.rise.values))
            said = said + term.amounts * growth(rise, term.amounts.shape[-1])
    close = np.abs(true - said) <= EXACT
    return np.asarray((close | (np.isnan(true) & np.isnan(said))).all(axis=-1))


def reasons_not_live(base: Study, inputs: Sequence[Input], promises: Sequence[Promise]) -> dict[str, str]:
    """Inputs that may not be changed in the workbook, by their first symbol, each with the reason.

    Each input is moved alone to both ends of its reach, and then all that seem free together; whatever the engine then
    finds must be what the workbook holds.
    """
    n = len(inputs)
    ends = np.array([[one.low, one.high] for one in inputs])
    alone = {one.symbols[0]: _column(one, 2 * n, {2 * k: ends[k, 0], 2 * k + 1: ends[k, 1]})
             for k, one in enumerate(inputs)}  # fmt: skip
    told: dict[str, list[str]] = {}
    found = _moved(base, inputs, alone)
    for promise in promises:
        kept = np.broadcast_to(_kept(promise, found, alone), (2 * n,))
        for k, one in enumerate(inputs):
            if not kept[2 * k : 2 * k + 2].all():
                told.setdefault(one.symbols[0], []).append(promise.label)
    free = [one for one in inputs if one.symbols[0] not in told]
    together = {}
    for k, one in enumerate(free):
        mixed = (one.low, one.high) if k % 2 else (one.high, one.low)
        together[one.symbols[0]] = _column(one, 4, dict(enumerate((one.low, one.high, *mixed))))
    found = _moved(base, free, together)
    parted = [promise.label for promise in promises if not _kept(promise, found, together).all()]
    why = {symbol: f"these values depend on it: {_some(labels)}" for symbol, labels in told.items()}
    if parted:
        why |= {one.symbols[0]: f"these values depend on several inputs at once: {_some(parted)}" for one in free}
    return why


def _column(one: Input, cases: int, places: dict[int, float]) -> Array:
    """The values of an input in each case (cases, entries): those of the study but for some."""
    found = np.tile(np.array(one.values), (cases, 1))
    for case, value in places.items():
        found[case] = value
    return found


def _moved(base: Study, inputs: Sequence[Input], values: dict[str, Array]) -> Study:
    chosen = {path: values[one.symbols[0]] for one in inputs for path in one.paths}
    return study(base.scenario, chosen, reuse=base)


def _some(labels: Sequence[str]) -> str:
    unique = list(dict.fromkeys(labels))
    return "; ".join(unique[:3]) + (f"; and {len(unique) - 3} more" if len(unique) > 3 else "")
