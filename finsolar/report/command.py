"""What ``finsolar report`` makes of one household: the whole study, and its views as text."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from finsolar.report.readers import BOTH
from finsolar.report.whose import marked

if TYPE_CHECKING:
    from finsolar.results import Study
    from finsolar.scenario.schema import Scenario

Plain = dict[str, Any]


class Say(Protocol):
    """Tells the household what is being done."""

    def __call__(self, doing: str) -> None:
        """Say what is being done now."""

    def share(self, done: int, of: int) -> None:
        """Say how far that has come."""


@dataclass(frozen=True)
class Asked:
    """What is asked of each household; ``draws`` and ``seed`` as typed, ``reader`` : whom its page is for."""

    draws: str | None = None
    seed: str | None = None
    bound: bool = False
    json: bool = False
    csv: bool = False
    xlsx: bool = False
    reader: str = BOTH


@dataclass(frozen=True)
class Views:
    """One household worked out: its study in plain values, and those of its views that were asked for."""

    plain: Plain
    page: str
    json: str | None
    csv: str | None
    xlsx: bytes | None


def whole_study(scenario: Scenario, say: Say, *, bound: bool = False) -> Study:
    """Every part of a study, one after the other; ``bound`` adds what perfect foresight could do."""
    say("running every hour of every year")
    from finsolar.study import study

    return completed(study(scenario, today=dt.date.today()), say, bound=bound)


def completed(base: Study, say: Say, *, bound: bool = False) -> Study:
    """A study of single values with its draws, what would change it, and what becomes of the house without the grid."""
    from finsolar.uncertainty.break_even import with_break_even
    from finsolar.uncertainty.map import with_map
    from finsolar.uncertainty.off_grid import with_off_grid
    from finsolar.uncertainty.other_numbers import with_other_numbers
    from finsolar.uncertainty.outages import with_outages
    from finsolar.uncertainty.reserves import with_reserve_price
    from finsolar.uncertainty.rises import with_rise_sweep
    from finsolar.uncertainty.sunlight import with_sun_spread
    from finsolar.uncertainty.sureness import with_simulation
    from finsolar.uncertainty.what_matters import with_what_matters

    say("drawing cases")
    found = with_simulation(base, say.share)
    say("asking what would change the answer")
    found = with_what_matters(with_sun_spread(with_break_even(with_rise_sweep(with_map(with_other_numbers(found))))))
    say("letting the grid fail in every hour of the year")
    found = with_reserve_price(with_outages(found))
    found = with_off_grid(found)
    if bound:
        say("seeking the best that perfect foresight could do")
        from finsolar.uncertainty.foresight import with_foresight

        found = with_foresight(found)
    return found


def views(scenario: Scenario, mark: str, asked: Asked, say: Say) -> Views:
    """Work out a scenario, and write down what was asked for as text; ``mark`` : that of the scenario's file."""
    found = whole_study(scenario, say, bound=asked.bound)
    plain = marked(found.to_json(), mark)
    say("writing the page")
    from finsolar.report.page import page
    from finsolar.report.table import as_csv

    text = page(plain, asked.reader)
    workbook = None
    if asked.xlsx:
        say("holding the workbook's formulas against the engine")
        from finsolar.report.workbook.whole import workbook as as_workbook

        workbook = as_workbook(found, plain)
    return Views(
        plain=plain,
        page=text,
        json=as_json(plain) if asked.json else None,
        csv=as_csv(plain) if asked.csv else None,
        xlsx=workbook,
    )


def as_json(plain: Plain) -> str:
    """Plain values as the text of a JSON file."""
    return json.dumps(plain, indent=1, allow_nan=False, ensure_ascii=False) + "\n"


def told(plain: Plain, width: int) -> list[str]:
    """What the terminal is told of one household, in lines of ``width`` columns."""
    from finsolar.report.table import summary
    from finsolar.report.words import (
        answer,
        awards,
        compared,
        interruptions_told,
        off_grid,
        outage,
        slips,
        sureness,
        worth,
    )
    from finsolar.report.words.changes_told import bound_sentences, cautions_of
    from finsolar.scenario.problems import printable

    def clean(text: str) -> str:
        # Terminals differ in how they show the joiner that keeps a minus with its number.
        return printable(text.replace("\N{WORD JOINER}", ""))

    lines = [summary(plain, width), "", clean(answer.opening_sentence(plain))]
    futures = sureness.futures_sentence(plain)
    if futures is not None:
        lines.append(printable(futures))
    lines += compared.terminal(plain)
    lines += [clean(text) for text in cautions_of(plain)]
    lines += awards.terminal(plain, width)
    lines += [clean(text) for text in slips.next_change(plain)]
    lines += off_grid.terminal(plain)
    lines += outage.terminal(plain)
    lines += [clean(text) for text in interruptions_told.terminal(plain) + worth.terminal(plain)]
    lines += [printable(f"Against perfect foresight: {text}") for text in bound_sentences(plain)]
    return lines
