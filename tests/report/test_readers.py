"""Two readers, one template: the order of each, what each is spared, and what nobody may miss."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from conftest import ROOT, plain_study
from typer.testing import CliRunner

from finsolar.cli import app
from finsolar.report.page import page
from finsolar.report.readers import BOTH, HOUSEHOLD, LENDER, READERS, page_of, reader_of
from finsolar.report.sections import metric_rows, sections
from finsolar.report.words import changes_told, terms
from finsolar.report.words.fixed.page import READ_BY, TITLES
from finsolar.scenario.problems import ScenarioError

HERON, KELP = (ROOT / "scenarios" / f"{name}.yaml" for name in ("heron-landing", "kelp-point"))


def headings(text: str) -> list[str]:
    """The titles of the sections of a page, in order."""
    return re.findall(r"<h2 id=[^>]*>(.*?)</h2>", text)


def unfolded(text: str) -> str:
    """A page without what is folded away."""
    while "<details>" in text:
        text = re.sub(r"<details>(?:(?!<details).)*?</details>", "", text, flags=re.S)
    return text


def section(text: str, name: str) -> str:
    """One section of a page."""
    return text.partition(f'<section id="{name}"')[2].partition("</section>")[0]


@pytest.mark.parametrize("reader", READERS)
def test_each_reader_has_an_order_and_is_named_and_nobody_misses_the_cautions(
    heron: dict[str, Any], reader: str
) -> None:
    """Every section stands once, is reached from the list at the top, and warns of wiring, roofs and loans."""
    text = page(heron, reader)
    names = sections(heron, ("rise-sweep",), reader)

    assert headings(text) == [TITLES[name] for name in names]
    assert re.findall(r'<li><a href="#([a-z]+)">', text.partition("</nav>")[0]) == names
    assert f'<p class="soft">{READ_BY[reader]}</p>' in text.partition("<nav")[0]
    for caution in terms.CAUTIONS:
        assert caution.replace("'", "&#39;") in text
    for told in changes_told.cautions_of(heron):
        assert told.replace("'", "&#39;") in text
    spared = {BOTH: {"summary"}, HOUSEHOLD: {"summary"}, LENDER: {"try"}}[reader]
    absent = {name for name in TITLES if name not in names}
    assert absent == spared | ({"off_grid", "outage"} - set(sections(heron, ("rise-sweep",))))


def test_the_household_begins_with_the_answer_and_the_lender_with_a_summary(heron: dict[str, Any]) -> None:
    """What each asks first comes first, the reference at the end."""
    household, lender = (sections(heron, ("rise-sweep",), reader) for reader in (HOUSEHOLD, LENDER))

    assert household[0] == "answer" and household.index("costs") < household.index("saving") < household.index("years")
    assert household[-1] == "cautions"
    assert lender[:3] == ["summary", "borrowing", "years"] and lender[-1] == "glossary"
    assert page(heron, LENDER).count('<a class="skip" href="#summary">To at a glance</a>') == 1


def test_the_household_is_spared_what_only_an_analyst_uses(heron: dict[str, Any]) -> None:
    """No MIRR, SIR or coverage in the open; its payback and NPV stand there, the years are folded."""
    text = page(heron, HOUSEHOLD)
    side_by_side = section(text, "answer").partition("The alternatives side by side")[2].partition("</table>")[0]

    for name in ("MIRR", "SIR", "AIRR", "real"):
        assert name not in re.sub(r"data-(id|meaning)=\"[^\"]*\"", "", side_by_side)
    assert "NPV" in side_by_side and "Simple payback" in side_by_side
    assert "Debt service coverage" not in section(text, "borrowing")
    assert "out of pocket" not in section(text, "borrowing")
    assert "<table" not in unfolded(section(text, "years"))
    assert [row[0] for row in metric_rows(heron, LENDER)] == [row[0] for row in terms.metric_rows(heron)]
    assert len(metric_rows(heron, HOUSEHOLD)) < len(metric_rows(heron, LENDER)) - 8


def test_the_lender_reads_sources_coverage_and_the_months_of_each_loan(heron: dict[str, Any]) -> None:
    """In the open, but for the long schedules; and the whole register of ids at the end."""
    text = page(heron, LENDER)
    borrowing = section(text, "borrowing")

    assert "Sources and uses of money on the first day" in unfolded(borrowing)
    assert borrowing.count("the schedule by month</summary>") == sum(
        bool(plan["loan"]) for plan in heron["alternatives"]
    )
    assert "Register of figures" in section(text, "assumptions")
    assert "Register of figures" not in page(heron) and "the schedule by month" not in page(heron)


def test_a_lender_is_told_where_nothing_is_borrowed() -> None:
    """A study in cash has the section for a lender, with its sources and uses, and for nobody else."""
    plain = plain_study(KELP)

    assert "borrowing" not in sections(plain, ()) and "borrowing" in sections(plain, (), LENDER)
    borrowing = section(page(plain, LENDER), "borrowing")
    assert "Nothing is borrowed in any alternative." in borrowing
    assert "Own money" in borrowing and "no loan" in borrowing


def test_a_reader_is_one_of_two_words_and_both_without_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another word is told with the two that are known; no page is written then."""
    assert (reader_of(None), reader_of("household"), reader_of("lender")) == (BOTH, HOUSEHOLD, LENDER)
    assert (page_of("hill", BOTH), page_of("hill", LENDER)) == ("hill.html", "hill-for-lender.html")
    with pytest.raises(ScenarioError, match="--for: is 'bank'; write household or lender"):
        reader_of("bank")
    monkeypatch.chdir(tmp_path)
    said = CliRunner().invoke(app, ["report", str(HERON), "--for", "bank"])
    assert said.exit_code == 2 and "write household or lender" in said.output
    assert list(tmp_path.iterdir()) == []


def test_the_command_writes_the_page_of_its_reader(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beside the page for both, under a name that tells whom it is for."""
    text = (ROOT / "scenarios" / "juniper-lane.yaml").read_text().replace("years: 25", "years: 3")
    text = re.sub(r"every: 13(, rise: 0%)?", "every: 2", text).replace("years: 10, fee", "years: 2, fee")
    (tmp_path / "hill.yaml").write_text(text)
    monkeypatch.chdir(tmp_path)

    said = CliRunner().invoke(app, ["report", "hill.yaml", "--for", "lender", "--draws", "64"])

    assert said.exit_code == 0, said.output
    assert [path.name for path in (tmp_path / "reports").iterdir()] == ["hill-for-lender.html"]
    assert headings((tmp_path / "reports" / "hill-for-lender.html").read_text())[0] == "At a glance"
