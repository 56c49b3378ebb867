"""Where the worth of backup is counted, the figures of cash alone stand beside it, in every view."""

from __future__ import annotations

import csv
import io
import re
from functools import lru_cache
from html import unescape
from typing import Any

import numpy as np
import pytest
from conftest import bare
from small_house import house
from spreadsheet import Spreadsheet

import finsolar
from finsolar.report import command, figures, lenders_tables, other_numbers, side_charts
from finsolar.report.page import page
from finsolar.report.side_by_side import household
from finsolar.report.table import as_csv
from finsolar.report.words import answer, worth
from finsolar.report.workbook.whole import written
from finsolar.results import Study
from finsolar.uncertainty.other_numbers import with_other_numbers
from finsolar.uncertainty.outages import with_outages

Plain = dict[str, Any]


@lru_cache
def studied(count: bool, an_hour: float = 15.0) -> Study:
    """A small house that pays with the worth of backup counted, and later without."""
    kinds = {"usual": {"times_a_year": 1.5, "hours_each": 3}, "storms": {"times_a_year": 0.25, "hours_each": 50}}
    block = kinds | {"load_kw": 0.3, "worth": {"an_hour": an_hour}}
    changes = {
        "study": {"years": 20, "count_backup": count},
        "household": {"outage": block},
        "alternatives": [{"name": "Roof"}, {"name": "On credit", "payment": {"loan": {"rate": "5%", "years": 5}}}],
    }
    return with_other_numbers(with_outages(finsolar.study(house(changes))))


def told(count: bool, an_hour: float = 15.0) -> Plain:
    return studied(count, an_hour).to_json()


def without(plain: Plain, i: int = 0) -> Plain:
    found: Plain = plain["alternatives"][i]["outage"]["backup"]
    return found


def test_the_payback_of_cash_alone_is_that_of_the_study_that_counts_none() -> None:
    """One and the same as the payback without the worth; both are told in JSON and CSV, with a reason for none."""
    counted, apart = told(True), told(False)
    for i, plan in enumerate(counted["alternatives"]):
        own, plainly = without(counted, i), apart["alternatives"][i]["metrics"]
        assert own["payback_without"] == pytest.approx(plainly["simple_payback_lasting"], rel=1e-12)
        assert own["npv_without"] == pytest.approx(plainly["npv"], rel=1e-12)
        assert own["irr_without"] == pytest.approx(plainly["irr"], rel=1e-9)
        assert own["payback_without"] - plan["metrics"]["simple_payback_lasting"] > 1
        assert own["reasons"] == {}
    rows = list(csv.DictReader(io.StringIO(as_csv(counted))))
    for key, unit in (("payback_without", "years"), ("irr_without", "share")):
        (row,) = [row for row in rows if row["item"] == key and row["alternative"] == "Roof"]
        assert (float(row["value"]), row["unit"]) == (without(counted)[key], unit)


def test_a_payback_that_never_comes_has_its_reason() -> None:
    block = {"load_kw": 0.3, "worth": {"an_hour": 5}}
    dear = house({"study": {"count_backup": True, "years": 4}, "household": {"outage": block}})
    plain = with_outages(finsolar.study(dear)).to_json()
    own = without(plain)
    assert own["payback_without"] is None
    assert own["reasons"] == {"payback_without": "the running total ends the study below zero"}
    assert "In cash alone: not paid back within the study, NPV −" in answer.opening_sentence(plain).replace(
        "\N{WORD JOINER}", ""
    )


def test_what_costs_nothing_has_no_return_and_its_reason() -> None:
    block = {"load_kw": 0.3, "worth": {"an_hour": 5}}
    free = house({"study": {"count_backup": True, "years": 4}, "household": {"outage": block}, "costs": []})
    plain = with_outages(finsolar.study(free)).to_json()
    own = without(plain)
    assert (own["payback_without"], own["irr_without"]) == (0.0, None)
    assert own["reasons"] == {"irr_without": "the flows all have one sign"}
    assert " In cash alone: never out of pocket, NPV $" in answer.opening_sentence(plain)


def test_the_first_sentence_is_followed_by_cash_alone() -> None:
    """On the page, in the terminal and side by side; nothing where it is not counted."""
    plain = told(True)
    best = max(plain["alternatives"], key=lambda plan: plan["metrics"]["npv"])
    own = best["outage"]["backup"]
    said = f"In cash alone: {own['payback_without']:.1f} years, NPV "
    said += f"{'−' if own['npv_without'] < 0 else ''}${abs(own['npv_without']):,.0f}."
    first = answer.short_answer(plain)[0]
    assert first.replace("\N{WORD JOINER}", "").endswith(f". {said}")
    shown = re.search(r'<section id="answer".*?</p>', page(plain), re.S)
    assert shown is not None and unescape(shown[0]).replace("\N{WORD JOINER}", "").endswith(f"{said}</p>")
    assert any(line.endswith(said) for line in command.told(plain, 400))
    assert household(plain, "Ours")["sentence"] == first
    assert "cash alone" not in " ".join(answer.short_answer(told(False)))


def test_the_lender_sees_cash_alone_below_what_has_worth_in_it() -> None:
    plain = told(True)
    rows = lenders_tables.summary_rows(plain)
    names = [name for name, _ in rows]
    for name, key in (
        ("NPV", "npv_without"),
        ("IRR", "irr_without"),
        ("Simple payback, for good", "payback_without"),
    ):
        label, cells = rows[names.index(name) + 1]
        assert label == f"{name.removesuffix(', for good')} in cash alone{', for good' * (', ' in name)}"
        for i, cell in enumerate(cells):
            assert cell.id == f"alternatives.{i}.outage.backup.{key}"
            assert cell.text != rows[names.index(name)][1][i].text
    assert not any("cash alone" in name for name, _ in lenders_tables.summary_rows(told(False)))
    assert "running totals and chances here" in worth.for_lender(plain)[0]


@pytest.mark.parametrize(
    ("reader", "said"),
    [
        ("lender", "SIR, AIRR, LCOE and the cost of backup leave the worth of backup out."),
        ("household", "LCOE and the cost of backup leave the worth of backup out."),
    ],
)
def test_figures_that_leave_it_out_are_named_below_their_table(reader: str, said: str) -> None:
    """Those of them that a reader's page shows."""
    assert f'<p class="soft">{said}</p>' in bare(page(told(True), reader))
    assert "leave the worth of backup out" not in page(told(False), reader)


def test_an_alternative_without_worth_is_all_cash() -> None:
    """Its figures stand for themselves, as with one off the grid beside others."""
    plain = told(True)
    plan = plain["alternatives"][1]
    plan["outage"]["backup"] = None
    del plan["cash_flow"]["lines"]["worth of backup"]
    rows = dict(lenders_tables.summary_rows(plain))
    assert [cell.id for cell in rows["NPV in cash alone"]] == [
        "alternatives.0.outage.backup.npv_without",
        "alternatives.1.metrics.npv",
    ]


def test_running_totals_with_worth_in_them_say_so() -> None:
    """In the chart of the page, in that of the sliders, and side by side, with their tables."""
    for count in (True, False):
        plain = told(count)
        moved = other_numbers.running_chart(plain)
        assert moved is not None
        side = side_charts.charts([household(plain, "Ours"), household(told(False), "Theirs")])[0]
        for chart in (figures.running_totals(plain), moved, side):
            for text in (chart.title, chart.table.caption):
                assert ("with the worth of backup" in text) is count, text
        assert side.title.endswith("with the worth of backup where a household counts it") is count


def test_the_notes_say_it_and_with_them_the_workbook() -> None:
    """And its side-by-side sheet has the NPV without, as the engine found it."""
    plain, base = told(True), studied(True)
    assert worth.NOTE in plain["notes"] and worth.NOTE not in told(False)["notes"]
    book = written(base, plain)
    sheets = Spreadsheet(book.file).sheets
    assert any(str(cell.value) == worth.NOTE for cell in sheets["Read me"].values())
    names = [str(cell.value) for cell in sheets["Compare"].values()]
    assert "NPV without the worth of backup" in names
    for i in range(2):
        place = book.ids[f"compare.{i}.outage.backup.npv_without"]
        assert place.sheet == "Compare"
    plainly = written(studied(False), told(False))
    assert "NPV without the worth of backup" not in [
        str(cell.value) for cell in Spreadsheet(plainly.file).sheets["Compare"].values()
    ]
    assert not any("npv_without" in key for key in plainly.ids)


def test_the_worth_is_what_sets_the_two_apart() -> None:
    """By hand: NPV less that in cash is the worth in the money of the first day."""
    plain = told(True)
    for plan in plain["alternatives"]:
        own = plan["outage"]["backup"]
        by_year = np.asarray(own["worth"]["by_year"])
        present = float(np.sum(by_year / 1.05 ** np.arange(len(by_year))))
        assert plan["metrics"]["npv"] - own["npv_without"] == pytest.approx(present, abs=1e-6)
