"""The command line as a user types it."""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest
from conftest import ROOT, SCENARIOS

JUNIPER = ROOT / "scenarios" / "juniper-lane.yaml"


def finsolar(*words: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    """Run the command in an interpreter of its own, into pipes."""
    return subprocess.run(
        [sys.executable, "-m", "finsolar.cli", *map(str, words)],
        capture_output=True,
        text=True,
        cwd=cwd,
        env={**os.environ, "COLUMNS": "120"},
        check=False,
    )


def test_help_of_every_command_answers() -> None:
    """Lazy imports hide faults, so each help is asked for."""
    for words in ([], ["report"], ["check"], ["new"]):
        run = finsolar(*words, "--help")

        assert run.returncode == 0
        assert "Usage: " in run.stdout


def test_help_starts_without_the_slow_libraries() -> None:
    """A fresh interpreter that prints the help has loaded none of them."""
    code = (
        "import sys\n"
        "from finsolar.cli import app\n"
        "try:\n    app(['--help'])\nexcept SystemExit:\n    pass\n"
        "slow = {'pandas', 'plotly', 'scipy', 'pvlib', 'numpy', 'pydantic', 'jinja2', 'ruamel.yaml', 'rich'}\n"
        "print('loaded:', sorted(slow & set(sys.modules)))\n"
    )

    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert run.stdout.rstrip().endswith("loaded: []")


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_report_writes_the_page_and_prints_each_alternative(path: Path, tmp_path: Path) -> None:
    """By default the page lands in reports/ under the scenario's name; a pipe sees no progress."""
    run = finsolar("report", path, cwd=tmp_path)

    assert (run.returncode, run.stderr) == (0, "")
    assert (tmp_path / "reports" / f"{path.stem}.html").read_text().startswith("<!doctype html>")
    for figure in ("gross cost", "awards", "net cost", "saving, year 1", "payback", "discounted", "NPV", "IRR"):
        assert figure in run.stdout


def test_json_csv_page_and_terminal_hold_the_same_figures(tmp_path: Path) -> None:
    """One study, four views: NPV and net cost are the same in each, rounded only where people read."""
    run = finsolar("report", JUNIPER, "--json", "out.json", "--csv", "out.csv", "--out", "p.html", cwd=tmp_path)

    assert run.returncode == 0, run.stderr
    study = json.loads((tmp_path / "out.json").read_text())
    rows = list(csv.DictReader(io.StringIO((tmp_path / "out.csv").read_text())))
    page = (tmp_path / "p.html").read_text().replace("\N{WORD JOINER}", "")
    for plan in study["alternatives"]:
        npv, net = plan["metrics"]["npv"], plan["costs"]["net"]
        in_csv = {
            (r["part"], r["item"]): r["value"] for r in rows if r["alternative"] == plan["name"] and not r["year"]
        }
        assert float(in_csv["metric", "npv"]) == npv
        assert float(in_csv["cost", "net"]) == net
        for amount in (npv, net):
            shown = f"{'−' if amount < 0 else ''}${abs(amount):,.0f}"
            assert shown in run.stdout
            assert shown in page


def test_a_narrow_terminal_gets_a_column_for_each_alternative(juniper: dict[str, object]) -> None:
    """The table turns round rather than wrap."""
    from finsolar.report.table import summary

    wide, narrow = summary(juniper, 200), summary(juniper, 60)

    assert len(wide.splitlines()) == 1 + 3
    assert len(narrow.splitlines()) == 1 + 8
    assert sorted(wide.split()) == sorted(narrow.split())


def test_a_fault_is_one_line_with_exit_code_two_and_leaves_the_old_page(tmp_path: Path) -> None:
    """Nothing is overwritten when the scenario does not read."""
    (tmp_path / "reports").mkdir()
    old = tmp_path / "reports" / "house.html"
    old.write_text("old")
    (tmp_path / "house.yaml").write_text(JUNIPER.read_text().replace("discount_rate: 5%", "discount_rate: 5"))

    run = finsolar("report", "house.yaml", cwd=tmp_path)

    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr == "house.yaml:13: study.discount_rate: is 5; a rate is meant; write 5% or 0.05\n"
    assert old.read_text() == "old"


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    """No traceback, and the way to start one."""
    run = finsolar("check", "nothing.yaml", cwd=tmp_path)

    assert run.returncode == 2
    assert run.stderr.startswith("nothing.yaml: no such file;")
    assert "Traceback" not in run.stderr


def test_a_place_that_cannot_be_written_is_named_and_nothing_is_left_behind(tmp_path: Path) -> None:
    """The page's name is a folder: exit 2, and no part of a file beside it."""
    (tmp_path / "taken.html").mkdir()

    run = finsolar("report", JUNIPER, "--out", "taken.html", cwd=tmp_path)

    assert run.returncode == 2
    assert run.stderr.startswith("taken.html: cannot be written")
    assert [path.name for path in tmp_path.iterdir()] == ["taken.html"]


@pytest.mark.parametrize(
    "words", [["--out", "house.yaml"], ["--json", "x", "--csv", "x"], ["--out", "a.html", "--json", "./a.html"]]
)
def test_no_result_overwrites_the_scenario_or_another_result(words: list[str], tmp_path: Path) -> None:
    """A slip in the names costs no file."""
    (tmp_path / "house.yaml").write_text(JUNIPER.read_text())

    run = finsolar("report", "house.yaml", *words, cwd=tmp_path)

    assert run.returncode == 2
    assert "would overwrite" in run.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["house.yaml"]
    assert (tmp_path / "house.yaml").read_text() == JUNIPER.read_text()


def test_new_writes_a_scenario_that_passes_check_and_report(tmp_path: Path) -> None:
    """The starter is a scenario that works."""
    made = finsolar("new", "mine.yaml", cwd=tmp_path)
    checked = finsolar("check", "mine.yaml", cwd=tmp_path)
    reported = finsolar("report", "mine.yaml", cwd=tmp_path)
    again = finsolar("new", "mine.yaml", cwd=tmp_path)

    assert (made.returncode, checked.returncode, reported.returncode) == (0, 0, 0), reported.stderr
    assert "reads well" in checked.stdout
    assert again.returncode == 2
    assert "mine.yaml" in again.stderr


def test_check_lists_what_was_assumed_and_why() -> None:
    """Every default that the scenario relies on stands there with its reason."""
    run = finsolar("check", JUNIPER)

    assert run.returncode == 0
    assert "system.battery.round_trip" in run.stdout
    assert "median of nearly 2000 measured rates" in run.stdout
    assert "system.battery.reserve" not in run.stdout  # stated in the file


def test_progress_shows_on_a_terminal(tmp_path: Path) -> None:
    """Standard error is a terminal here: the run says what it does, and wipes it away."""
    ours, theirs = pty.openpty()
    with subprocess.Popen(
        [sys.executable, "-m", "finsolar.cli", "report", str(JUNIPER)],
        stdout=subprocess.DEVNULL,
        stderr=theirs,
        cwd=tmp_path,
    ) as run:
        os.close(theirs)
        seen = b""
        while True:
            try:
                chunk = os.read(ours, 4096)
            except OSError:  # the far side has closed
                break
            if not chunk:
                break
            seen += chunk
    os.close(ours)

    assert run.returncode == 0
    assert b"running every hour" in seen
    assert seen.endswith(b"\r\x1b[K")
