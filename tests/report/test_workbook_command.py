"""``finsolar report --xlsx``: written beside the rest, and never over what should stay."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_house import house_text
from spreadsheet import Spreadsheet
from typer.testing import CliRunner

from finsolar.cli import app

SMALL = {"study": {"in_service": "2026-06-01", "years": 2, "discount_rate": "5%"}}


@pytest.fixture
def small(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A file with a small house, in the folder where the command runs."""
    monkeypatch.chdir(tmp_path)
    file = tmp_path / "house.yaml"
    file.write_text(house_text(SMALL), encoding="utf-8")
    return file


def test_report_writes_the_workbook_whole_and_names_it(small: Path) -> None:
    """An old file at its place goes where that is said, and nothing else is left behind."""
    target = small.parent / "out" / "book.xlsx"
    target.parent.mkdir()
    target.write_bytes(b"old")
    run = CliRunner().invoke(app, ["report", str(small), "--xlsx", str(target), "--replace"])

    assert run.exit_code == 0, run.output
    assert f"written: {target}" in run.output
    assert {"Read me", "Compare", "Inputs", "Roof"} <= set(Spreadsheet(target.read_bytes()).sheets)
    assert [path.name for path in target.parent.iterdir()] == ["book.xlsx"]


@pytest.mark.parametrize("clash", ["house.yaml", "page.html", "study.json"])
def test_the_workbook_overwrites_neither_the_scenario_nor_another_result(clash: str, small: Path) -> None:
    """Told before anything runs."""
    before = small.read_bytes()
    words = ["report", str(small), "--out", "page.html", "--json", "study.json", "--xlsx", clash]
    run = CliRunner().invoke(app, words)

    assert run.exit_code == 2
    assert "would overwrite" in run.output
    assert small.read_bytes() == before
    assert [path.name for path in small.parent.iterdir()] == ["house.yaml"]


def test_a_place_that_cannot_be_written_is_one_line(small: Path) -> None:
    """A folder stands where the workbook should go: exit code 2, and no part of a file is left."""
    folder = small.parent / "taken.xlsx"
    folder.mkdir()
    run = CliRunner().invoke(app, ["report", str(small), "--xlsx", str(folder)])

    assert run.exit_code == 2
    assert "taken.xlsx" in run.output
    assert "cannot be written" in run.output
    assert list(folder.iterdir()) == []
    assert [path.name for path in small.parent.glob(".*")] == []
