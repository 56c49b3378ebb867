"""Figures that can be followed: every id on the page leads to the number that stands beside it."""

from __future__ import annotations

import html
import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
from conftest import ROOT, SCENARIOS, demo_study, plain_study

from finsolar.report.followed import cell, register, told
from finsolar.report.page import page
from finsolar.report.readers import BOTH, HOUSEHOLD, LENDER
from finsolar.report.workbook.whole import Written, written

CELL = re.compile(r'<td[^>]* data-id="([^"]*)">(.*?)</td>', re.S)
KINDS = ("money", "cents", "price", "years", "share", "rate", "ratio", "months", "count", "chance")


def resolved(plain: Any, path: str) -> Any:
    """What stands at a path of the JSON, step by step."""
    place = plain
    for step in path.split("."):
        place = place[int(step)] if isinstance(place, list) else place[step]
    return place


@lru_cache
def cells(demo: Path, reader: str) -> tuple[tuple[str, str], ...]:
    """Every figure of a page that has an id: the id, and the text beside it."""
    text = page(plain_study(demo), reader)
    return tuple((html.unescape(path), html.unescape(shown)) for path, shown in CELL.findall(text))


@pytest.mark.parametrize("reader", [BOTH, HOUSEHOLD, LENDER])
def test_every_id_leads_to_the_number_beside_it(demo: Path, reader: str) -> None:
    """In the JSON, as some way of writing a figure writes it, with a word for what is counted behind it at most."""
    plain = plain_study(demo)
    found = cells(demo, reader)

    assert len(found) > 100
    for path, shown in found:
        number = resolved(plain, path)
        assert isinstance(number, int | float) and not isinstance(number, bool), path
        ways = {told(number, kind, plain["settings"]["currency"]) for kind in KINDS}
        bare = re.sub(r" (years?|months?|payments?|\(year \d+\))$", "", shown)
        assert shown in ways or bare in ways, (path, shown, number)


@pytest.mark.parametrize("part", ["metrics.npv", "costs.gross", "costs.lines.0.total", "cash_flow.net.1", "bills.after",
                                  "loan.by_year.payment.1", "loan.coverage.minimum", "day_one.total"])  # fmt: skip
def test_each_of_the_main_tables_has_its_ids(part: str) -> None:
    """Side by side, cost lines, cash flow, bills, loan and the first day's money, for each alternative with it."""
    demo = ROOT / "scenarios" / "heron-landing.yaml"
    plain, ids = plain_study(demo), {path for path, _ in cells(demo, LENDER)}
    for i, plan in enumerate(plain["alternatives"]):
        if plan["loan"] or not part.startswith("loan"):
            assert any(path.startswith(f"alternatives.{i}.{part}") for path in ids), (i, part)


def test_awards_have_their_ids() -> None:
    """What an award is reckoned on, and all awards together."""
    ids = {path for demo in SCENARIOS for path, _ in cells(demo, BOTH)}

    assert any(re.fullmatch(r"alternatives\.\d\.incentives\.\d+\.basis", path) for path in ids)
    assert "alternatives.0.costs.awards" in ids


@lru_cache
def workbook() -> Written:
    """The workbook of a household with a loan."""
    demo = ROOT / "scenarios" / "juniper-lane.yaml"
    return written(demo_study(demo), plain_study(demo))


def test_what_the_workbook_knows_it_knows_by_the_same_id() -> None:
    """A figure by its id, a year of a line by the id of the line, whose cells count from the same year 0."""
    plain, book = plain_study(ROOT / "scenarios" / "juniper-lane.yaml"), workbook()
    single, by_year = 0, 0
    for path, _ in cells(ROOT / "scenarios" / "juniper-lane.yaml", LENDER):
        line, _, year = path.rpartition(".")
        if re.search(r"\.(metrics|costs\.(gross|net|awards|yearly_awards|rebates)|bills\.first)", path):
            assert path in book.ids, path
            single += 1
        elif re.search(r"\.cash_flow\.|\.loan\.(payments|available)\.", path):
            assert line in book.ids, path
            assert book.ids[line].count == len(resolved(plain, line)) > int(year)
            by_year += 1
    assert single > 40 and by_year > 100


@pytest.mark.parametrize(
    ("number", "kind", "text"),
    [
        (1234.5, "cents", "$1,234.50"), (1234.5, "money", "$1,235"), (0.08424, "rate", "8.424 %"),
        (120.0, "months", "120"), (7.5, "months", "7.5"), (16.0, "count", "16"), (0.834, "chance", "83 of 100"),
        (None, "cents", "none"), (None, "years", "never"), (0.875, "ratio", "0.88"),
    ],
)  # fmt: skip
def test_a_figure_is_written_by_its_kind(number: float | None, kind: str, text: str) -> None:
    """Money with and without cents, rates with three digits, counts bare."""
    assert told(number, kind, "USD") == text


def test_below_what_is_null_there_is_no_figure_and_elsewhere_no_path_that_leads_nowhere(heron: dict[str, Any]) -> None:
    """A dash and no id for the loan of who has none; a misspelt path is a fault."""
    assert heron["alternatives"][0]["loan"] is None
    assert (cell(heron, "alternatives.0.loan.apr", "rate").text, cell(heron, "alternatives.0.loan.apr", "rate").id) == (
        "–", "",
    )  # fmt: skip
    with pytest.raises(KeyError):
        cell(heron, "alternatives.0.metrics.nvp", "money")


def test_the_register_holds_every_single_figure_unrounded(heron: dict[str, Any]) -> None:
    """By its id, and it is the number of the JSON."""
    groups = dict(register(heron))
    rows = [row for found in groups.values() for row in found]

    assert len(groups) == 1 + len(heron["alternatives"]) and len(rows) > 300
    for path, text in rows:
        assert float(text.replace(",", "")) == pytest.approx(resolved(heron, path), rel=1e-9)
    assert ("alternatives.0.metrics.npv", f"{heron['alternatives'][0]['metrics']['npv']:,.10g}") in rows
    assert len({path for path, _ in rows}) == len(rows)
