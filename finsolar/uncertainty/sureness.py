"""How sure the answer is: every figure over all cases, the chances that people ask for, and whether the draws do."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.results import Result, Study
from finsolar.scenario.schema import Borrowing
from finsolar.uncertainty.simulation import Cases, Progress, simulate
from finsolar.uncertainty.summary import Chance, Fan, Histogram, Summary, chance, enough, fan, histogram, summarise

Array = NDArray[np.float64]

LATE = frozenset({"simple_payback", "discounted_payback"})
"""Figures that a case without them has later than any number."""


@dataclass(frozen=True, eq=False)
class Sureness:
    """One alternative over all cases.

    figures : by name; chances : by what is asked, None where it cannot be, for the reason in ``reasons``; npv : bars;
    running : percentiles of the running total by year; enough : whether the draws are, in words.
    """

    name: str
    figures: dict[str, Summary]
    chances: dict[str, Chance | None]
    reasons: dict[str, str]
    npv: Histogram
    running: Fan
    enough: str


def with_simulation(base: Study, progress: Progress | None = None) -> Study:
    """The study of single values with all its cases added; as it was where it states no range that can be drawn."""
    found = simulate(base, progress)
    if found is None:
        return base
    pairs = zip(base.results, found.alternatives, strict=True)
    return replace(base, simulation=found, sureness=tuple(_sureness(base, result, cases) for result, cases in pairs))


def _sureness(base: Study, result: Result, cases: Cases) -> Sureness:
    figures = {
        name: summarise(values, none_is="late" if name in LATE else "left out")
        for name, values in cases.figures.items()
    }
    chances: dict[str, Chance | None] = {"npv_above_zero": chance(cases.figures["npv"] > 0)}
    spans, reasons = _spans(base, result)
    for name, years in spans.items():
        chances[name] = None if years is None else chance(cases.figures["simple_payback"] <= years)
    return Sureness(
        name=cases.name,
        figures=figures,
        chances=chances,
        reasons=reasons,
        npv=histogram(cases.figures["npv"]),
        running=fan(cases.running.reshape(-1, cases.running.shape[-1])),
        enough=enough(figures["npv"], float(result.gross)),
    )


def _spans(base: Study, result: Result) -> tuple[dict[str, float | None], dict[str, str]]:
    """The years within which a household asks to be paid back, by the chance that answers; and why one is missing."""
    spans: dict[str, float | None] = {"paid_back_within_study": float(base.settled.study.years)}
    reasons: dict[str, str] = {}

    def ask(name: str, years: float | None, missing: str) -> None:
        spans[name] = years
        if years is None:
            reasons[name] = missing

    ended = None if result.warranty is None else float(result.warranty.years)
    ask(
        "paid_back_within_warranty",
        None if ended is None or np.isnan(ended) else ended,
        "no end of a warranty is known",
    )
    loan = float(result.loan.life.term) / 12 if isinstance(result.plan.payment, Borrowing) and result.loan else None
    ask("paid_back_within_loan", loan, "nothing is borrowed")
    staying = base.settled.household.stays_years
    ask("paid_back_while_they_stay", None if staying is None else float(staying), "household.stays_years is not stated")
    return spans, reasons
