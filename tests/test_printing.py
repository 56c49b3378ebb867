"""The page on paper, ``--pdf`` and ``--open``."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import paper
import pytest
from small_house import Tree, house_text
from typer.testing import CliRunner, Result

from finsolar.cli import app
from finsolar.report import printing
from finsolar.report.printing import NotPrintedError, margins, paper_of, printed
from finsolar.report.whose import mark_of, owner_of
from finsolar.scenario.problems import ScenarioError

if TYPE_CHECKING:
    from playwright.sync_api import Browser

TITLE = 'Elm "Lane" </style><b>'
SHORT: Tree = {"title": TITLE, "study": {"years": 3}, "alternatives": [{"name": "Roof"}, {"name": "Loan", "payment": {
    "loan": {"rate": "5%", "years": 2}}}]}  # fmt: skip


def finsolar(*words: str) -> Result:
    return CliRunner().invoke(app, ["report", "house.yaml", *words], env={"COLUMNS": "120"})


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a short house, and the command run from there."""
    (tmp_path / "house.yaml").write_text(house_text(SHORT))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_pdf_holds_every_chart_the_title_and_the_numbers_of_its_sheets(browser: Browser, place: Path) -> None:
    """All axes of all charts are drawn on the paper that is usual in the country; tables are there, controls are not.

    The browser of the other tests stands for the one of the household; it must be installed.
    """
    run = finsolar("--pdf", "house.pdf")

    assert (run.exit_code, run.stderr) == (0, "")
    assert "written: house.pdf" in run.stdout
    pdf = (place / "house.pdf").read_bytes()
    owner = owner_of(place / "house.pdf")
    assert owner is not None and (owner.mark, owner.title) == (mark_of(place / "house.yaml"), TITLE)
    assert paper.sizes(pdf) == {(612, 792)}  # Letter, since the house stands in the United States
    words, count = paper.words(pdf), paper.sheets(pdf)
    assert count >= 5
    assert all(f"{k}of{count}" in words for k in range(1, count + 1))
    assert words.count("".join(TITLE.split())) >= count  # above every sheet, and as text
    page = (place / "reports" / "house.html").read_text()
    charts = json.loads(page.partition('id="chart-data">')[2].partition("</script>")[0])
    shown = page.partition("<body>")[2].partition('id="chart-data"')[0]
    named = 0
    for chart in charts.values():
        for axis in ("xaxis", "yaxis"):
            text = chart["layout"].get(axis, {}).get("title", {}).get("text", "")
            text = "".join(re.sub("<[^>]*>", "", text).split())
            assert text in words
            named += bool(text) and text not in "".join(shown.split())
    assert named > len(charts) / 2  # words that stand nowhere but in the charts
    assert "Cautions" in words and "carbonmonoxide" in words
    assert "Thenumbersbehindthischart" not in words  # the chart shows them
    assert "“Loan”,everylineofeveryyear" in words and words.count("Net,discounted") == 2  # folded away on the screen


def test_on_the_other_paper_nothing_is_cut_off(browser: Browser, place: Path) -> None:
    """A4 where it is asked for, in whatever letters, and the page itself names no paper."""
    run = finsolar("--pdf", "house.pdf", "--paper", "a4")

    assert run.exit_code == 0
    assert paper.sizes((place / "house.pdf").read_bytes()) == {(595, 842)}
    assert not re.search(r"@page\s*\{[^}]*size", (place / "reports" / "house.html").read_text())


@pytest.fixture
def program(place: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[str], None]:
    """Put a program of a few lines in the place of the browser, and nothing else on the path but a shell's own."""

    def put(lines: str) -> None:
        folder = place / "bin"
        folder.mkdir(exist_ok=True)
        (folder / "chromium").write_text(f"#!/bin/sh\n{lines}\n")
        (folder / "chromium").chmod(0o755)
        monkeypatch.setenv("PATH", f"{folder}:/usr/bin:/bin")

    return put


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("exit 3", "chromium did not print it (exit code 3)"),
        ("exit 0", "chromium did not print it (exit code 0)"),
        ("exec sleep 60", "chromium had not printed it after 1 seconds"),
    ],
)
def test_a_browser_that_fails_is_told_with_its_reason(
    lines: str, told: str, program: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    program(lines)
    monkeypatch.setattr(printing, "_PATIENCE", 1)

    with pytest.raises(NotPrintedError) as caught:
        printed("<style></style>", "A4")

    assert str(caught.value).endswith(told)


def test_the_browser_gets_a_profile_of_its_own_no_network_and_its_sandbox_but_for_root(
    place: Path, program: Callable[[str], None], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it is told is written down; the profile is gone after it, and so is the copy of the page."""
    program(f'for word; do echo "$word" >> {place}/words; case $word in --print-to-pdf=*) echo %PDF > '
            '"${word#*=}";; esac; done')  # fmt: skip

    for user, sandbox in ((1000, True), (0, False)):
        (place / "words").unlink(missing_ok=True)
        monkeypatch.setattr(printing.os, "geteuid", lambda user=user: user)
        assert printed("<style></style>", "Letter") == b"%PDF\n"
        words = (place / "words").read_text().splitlines()
        assert ("--no-sandbox" not in words) == sandbox
        assert "--headless" in words and "--host-resolver-rules=MAP * ~NOTFOUND" in words
        [profile] = [Path(word.partition("=")[2]) for word in words if word.startswith("--user-data-dir=")]
        assert not profile.parent.exists()
        assert words[-1].startswith("file://")


def test_without_a_browser_all_but_the_pdf_is_written_and_the_exit_code_says_so(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exit code 1, and one line how to print by hand."""
    (place / "empty").mkdir()
    monkeypatch.setenv("PATH", str(place / "empty"))

    run = finsolar("--pdf", "house.pdf", "--json", "house.json")

    assert run.exit_code == 1
    assert run.stderr == (
        "house.pdf: not written: no browser to print with is on the path (chromium, chromium-browser, google-chrome, "
        "...); open reports/house.html and print it from there\n"
    )
    assert "written: reports/house.html" in run.stdout and "house.pdf" not in run.stdout
    assert {path.name for path in place.rglob("*") if path.is_file()} == {"house.yaml", "house.html", "house.json"}


def test_a_paper_that_is_none_is_refused_before_anything_is_studied(place: Path) -> None:
    run = finsolar("--pdf", "house.pdf", "--paper", "A5")

    assert (run.exit_code, run.stdout) == (2, "")
    assert run.stderr == "--paper: is 'A5'; write A4 or Letter\n"
    assert [path.name for path in place.iterdir()] == ["house.yaml"]


def test_paper_is_what_is_usual_in_the_country_of_the_first_house() -> None:
    found = {country: paper_of(None, [country]) for country in ("US", "CA", "MX", "DE", "AU", "GB")}

    assert found == {"US": "Letter", "CA": "Letter", "MX": "Letter", "DE": "A4", "AU": "A4", "GB": "A4"}
    assert paper_of(None, ["DE", "US"]) == "A4"
    assert paper_of("letter", ["DE"]) == "Letter"
    with pytest.raises(ScenarioError, match="write A4 or Letter"):
        paper_of("", ["DE"])


def test_a_title_in_the_margin_is_text_of_a_style_sheet() -> None:
    """No sign of it ends the string, the rule or the style."""
    found = margins('a"b\\c</style>\n@x{} é😀 ' + "y" * 200)

    content = re.search(r'content: "([^"]*)"', found)
    assert content is not None and re.fullmatch(r"(?:[A-Za-z0-9 ]|\\[0-9a-f]+ )*", content[1])
    back = re.sub(r"\\([0-9a-f]+) ", lambda one: chr(int(one[1], 16)), content[1])
    assert back.startswith('a"b\\c</style>\N{REPLACEMENT CHARACTER}@x{} é😀 y') and back.endswith("…")
    assert "<" not in found


@pytest.mark.parametrize(("opens", "told"), [(True, ""), (False, "no browser was found to open it; open this file")])
def test_open_shows_the_written_page_or_says_where_it_lies(
    opens: bool, told: str, place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only once it is written; without a browser it is no fault."""
    asked: list[str] = []

    def stand_in(address: str) -> bool:
        assert (place / "my page.html").is_file()
        asked.append(address)
        return opens

    monkeypatch.setattr("webbrowser.open", stand_in)

    run = finsolar("--open", "--out", "my page.html")

    assert run.exit_code == 0
    assert asked == [f"{place.resolve().as_uri()}/my%20page.html"]
    assert ("no browser was found" in run.stdout) == bool(told) and told in run.stdout
    assert opens or str(place / "my page.html") in run.stdout
