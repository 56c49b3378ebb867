"""Many cases of a study: each range drawn, together with the others, and every figure of every alternative kept.

Each case goes through the one engine. Where no range moves the hours, all cases share those of the study itself; else
their hours come from a surface through exact studies, and some cases are run alone to measure how far off that is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from finsolar.results import Result, Study
from finsolar.scenario.problems import near, shown
from finsolar.scenario.schema import Scenario
from finsolar.study import moves_energy, study
from finsolar.uncertainty.columns import by_year, chosen, count, pieces, values_of
from finsolar.uncertainty.draws import joined, points, rank_matrix
from finsolar.uncertainty.ranges import Ranged, ranges_of
from finsolar.uncertainty.surface import COARSE, FINE, Surface, light, reach, studies_of, surface

Array = NDArray[np.float64]
Progress = Callable[[int, int], None]

REPLICATES = 8
"""Independent scramblings of the same points: how far their answers part is the error of the whole."""

CHECKED = 8
"""How many cases are run alone to see how far off the hours between exact ones are."""

FINER_FROM = 0.001
"""How far off the bills of such a case may be, of what staying as you are pays, before more exact studies are made."""

_CHUNK = 1024  # cases at a time, so that memory does not grow with the draws
_CHUNK_OF_HOURS = 256  # where each has sums of hours of its own
_STUDY = 256  # cases that take about as long as an exact study

FIGURES = ("npv", "irr", "simple_payback", "discounted_payback", "first_year_saving", "lcoe")
"""What is kept of each case; the paybacks are the lasting ones."""

BACKUP = ("hours", "hours_carried", "hours_not_carried", "kwh", "kwh_carried", "kwh_not_carried", "worth")
"""What is kept of the outages of the first year of each case, where some are to be expected; the last is money."""


@dataclass(frozen=True, eq=False)
class Cases:
    """What one alternative came to in every case; ``figures`` (replicates, draws) each, NaN where a case has none.

    running : money (replicates, draws, years + 1), the running total of the net, not discounted; backup : by the names
    of ``BACKUP``, (replicates, draws) each, empty where no outages are to be expected.
    """

    name: str
    figures: dict[str, Array]
    running: Array
    backup: dict[str, Array] = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Checked:
    """Some of the cases run alone, every hour of them, against what the simulation found of them.

    npv, npv_middle : how far the NPV of any alternative was off in the worst and in the middle case, money; bill : the
    worst of the sum of its bills, as a share of that of staying as you are, NaN where that is nothing;
    renewed_apart : the cases in which a battery was renewed in other years.
    """

    cases: int
    npv: float
    npv_middle: float
    bill: float
    renewed_apart: int


@dataclass(frozen=True, eq=False)
class Simulation:
    """Every case of a study.

    drawn : the ranges that were drawn; values : (replicates, draws, columns) what they took, columns as in
    `finsolar.uncertainty.columns`; draws : of each replicate; surface, checked : of the ranges that the hours depend
    on, where there are any.
    """

    seed: int
    draws: int
    drawn: tuple[Ranged, ...]
    values: Array
    alternatives: tuple[Cases, ...]
    surface: Surface | None = None
    checked: Checked | None = None


def simulate(base: Study, progress: Progress | None = None) -> Simulation | None:
    """Draw every case of a scenario; None where it states no range.

    progress : told how much of how much is done. Raises ScenarioError where ranges cannot go together as the scenario
    says.
    """
    scenario = base.scenario
    drawn = ranges_of(scenario)
    if not drawn:
        ties(scenario, drawn)
        return None
    settings = scenario.study
    draws = settings.draws // REPLICATES
    values = values_of(drawn, joined_shares(scenario, drawn, draws, settings.seed))
    every = values.reshape(-1, values.shape[-1])
    hours = tuple(each for each in drawn if moves_energy(scenario, each.paths[0]) and np.ptp(reach(each)) > 0)
    ahead = 0

    def tell(done: int, of: int, cases: int = 0) -> None:
        nonlocal ahead
        ahead = of
        if progress is not None:
            progress(done * _STUDY + cases, of * _STUDY + len(every))

    found = checked = None
    if hours:
        picked = np.random.default_rng(settings.seed).choice(len(every), CHECKED, replace=False)
        found, checked = _measured(base, drawn, hours, every[picked], tell)
    figures = [{name: np.empty(len(every)) for name in FIGURES} for _ in base.results]
    running = [np.empty((len(every), scenario.study.years + 1)) for _ in base.results]
    backup = [{name: np.empty(len(every)) for name in backup_of(result)} for result in base.results]
    for part, cases in in_pieces(base, drawn, found, every):
        for i, result in enumerate(cases.results):
            for name, number in figures_of(result).items():
                figures[i][name][part] = number
            running[i][part] = result.cash.running
            for name, number in backup_of(result).items():
                backup[i][name][part] = number
        tell(ahead, ahead, part.stop)
    shape = (REPLICATES, draws)
    alternatives = tuple(
        Cases(
            result.name,
            {name: number.reshape(shape) for name, number in figures[i].items()},
            running[i].reshape(*shape, -1),
            {name: number.reshape(shape) for name, number in backup[i].items()},
        )
        for i, result in enumerate(base.results)
    )
    return Simulation(settings.seed, draws, drawn, values, alternatives, found, checked)


def in_pieces(
    base: Study, drawn: tuple[Ranged, ...], found: Surface | None, values: Array
) -> Iterator[tuple[slice, Study]]:
    """The studies of many cases at ``values`` (cases, columns), some cases at a time."""
    for part in pieces(len(values), _CHUNK if found is None else _CHUNK_OF_HOURS):
        yield part, cases_of(base, drawn, found, values[part])


def cases_of(base: Study, drawn: tuple[Ranged, ...], found: Surface | None, values: Array) -> Study:
    """The study of many cases at ``values`` (cases, columns)."""
    reuse = base
    if found is not None:
        columns = dict(zip(drawn, by_year(drawn, values), strict=True))
        reuse = found.at(columns[each] for each in found.ranges)
    money = {path: column for path, column in chosen(drawn, values).items() if not moves_energy(base.scenario, path)}
    return study(base.scenario, money, reuse=reuse)


def _measured(
    base: Study, drawn: tuple[Ranged, ...], hours: tuple[Ranged, ...], values: Array, progress: Progress
) -> tuple[Surface, Checked]:
    """A surface as fine as the cases at ``values`` (cases, columns) ask for, and how far off they are by it."""
    first = studies_of(COARSE, len(hours))
    alone = []
    for done, case in enumerate(values, start=1):
        alone.append(light(study(base.scenario, chosen(drawn, case[None]))))
        progress(done, len(values) + first)

    def counted(done: int, of: int) -> None:
        progress(len(values) + done, len(values) + of)

    found = surface(base, hours, progress=counted)
    checked = compared(cases_of(base, drawn, found, values), alone)
    outlay = max(float(result.gross) for result in base.results)
    # Where staying as you are pays nothing, the outlay is what an error is measured by.
    if checked.bill > FINER_FROM or (np.isnan(checked.bill) and checked.npv > FINER_FROM * outlay):
        found = surface(base, hours, FINE, known=found, progress=counted)
        checked = compared(cases_of(base, drawn, found, values), alone)
    return found, checked


def compared(together: Study, alone: Sequence[Study]) -> Checked:
    """How far the cases of ``together`` are off the same run ``alone``."""
    cases, years = len(alone), together.scenario.study.years
    npv, bill, apart = np.zeros(cases), np.zeros(cases), np.zeros(cases, dtype=np.bool_)
    for k, single in enumerate(alone):
        of_staying = float(single.stay.bill.total.sum())
        for one, other in zip(together.results, single.results, strict=True):
            off = float(np.broadcast_to(one.appraisal.npv, cases)[k] - other.appraisal.npv.item())
            npv[k] = max(npv[k], abs(off))
            paid = float(np.broadcast_to(one.position.bill.total, (cases, years))[k].sum())
            off = abs(paid - float(other.position.bill.total.sum()))
            bill[k] = max(bill[k], off / of_staying) if of_staying > 0 else np.nan
            renewed = np.broadcast_to(one.run.renewed, (cases, years))[k]
            apart[k] |= bool((renewed != other.run.renewed).any())
    return Checked(cases, float(npv.max()), float(np.median(npv)), float(bill.max()), int(apart.sum()))


def joined_shares(scenario: Scenario, drawn: tuple[Ranged, ...], draws: int, seed: int) -> Array:
    """Where each draw stands within each column, (replicates, draws, columns) in (0, 1), tied together as stated.

    What each year adds by itself goes with nothing else.
    """
    columns = count(drawn)
    matrix = np.eye(columns)
    matrix[: len(drawn), : len(drawn)] = ties(scenario, drawn)
    seeds = np.random.SeedSequence(seed).generate_state(REPLICATES)
    return np.stack([joined(points(draws, columns, int(one)), matrix) for one in seeds])


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


def backup_of(result: Result) -> dict[str, Array]:
    """The outages of the first year by the names of ``BACKUP``; the worth only where something says what it is."""
    if result.backup is None:
        return {}
    found = {name: np.asarray(getattr(result.backup.carried.year, name)) for name in BACKUP[:-1]}
    worth = result.backup.worth
    return found if worth is None else found | {"worth": worth.by_year[..., 1]}
