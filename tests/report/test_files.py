"""Files are written whole or not at all, all of a run or none."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from finsolar.report import files
from finsolar.scenario.problems import ScenarioError


def test_files_are_written_with_their_folders_and_ordinary_rights(tmp_path: Path) -> None:
    """Folders on the way are made; others may read a file as they may any new file."""
    page, book = tmp_path / "a" / "b.html", tmp_path / "a" / "c" / "d.xlsx"

    files.write_all({page: "text – ü", book: b"\x00\xff"})

    assert page.read_bytes() == "text – ü".encode()
    assert book.read_bytes() == b"\x00\xff"
    plain = tmp_path / "plain"
    plain.write_text("")
    assert page.stat().st_mode == plain.stat().st_mode
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["a", "b.html", "c", "d.xlsx", "plain"]


def test_links_and_devices_are_refused_and_left_alone(tmp_path: Path) -> None:
    """A page moved into the place of a link or a pipe would put an end to it."""
    (tmp_path / "far").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "far")
    os.mkfifo(tmp_path / "pipe")

    for name in ("link", "pipe"):
        with pytest.raises(ScenarioError, match="cannot be written"):
            files.write_all({tmp_path / name: "new"})

    assert (tmp_path / "link").is_symlink() and (tmp_path / "pipe").is_fifo()
    assert (tmp_path / "far").read_text() == "old"


@pytest.mark.parametrize("fault", [OSError(28, "no space left"), KeyboardInterrupt()], ids=["disk full", "Ctrl-C"])
def test_a_failed_write_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException
) -> None:
    """Whatever stops the run at the last moment, the old page stands."""
    target = tmp_path / "page.html"
    target.write_text("old")

    def fail(self: Path, other: Path) -> Path:
        raise fault

    monkeypatch.setattr(Path, "replace", fail)
    with pytest.raises((ScenarioError, KeyboardInterrupt)):
        files.write_all({target: "new", tmp_path / "made" / "other.json": "{}"})

    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_where_one_file_cannot_be_written_none_is(tmp_path: Path) -> None:
    """The last of three is a folder: the old page stands, the new one and its folders are gone again."""
    page, taken = tmp_path / "page.html", tmp_path / "taken.json"
    page.write_text("old")
    taken.mkdir()

    with pytest.raises(ScenarioError, match=r"taken\.json: cannot be written \(it is a folder\)"):
        files.write_all({page: "new", tmp_path / "deep" / "er" / "a.csv": "a", taken: "{}"})

    assert page.read_text() == "old"
    assert sorted(path.name for path in tmp_path.rglob("*")) == ["page.html", "taken.json"]


def test_no_result_lands_in_a_scenario_in_what_one_names_or_in_another_result(tmp_path: Path) -> None:
    """Of several scenarios it is told which one."""
    one, two, meter = tmp_path / "one.yaml", tmp_path / "two.yaml", tmp_path / "meter.csv"
    scenarios = {one: {}, two: {meter: "household.load.file"}}

    files.refuse_clashes([tmp_path / "a.html", tmp_path / "b.html"], scenarios)
    for targets, told in (
        ([tmp_path / "a.html", one], f"would overwrite the scenario {one};"),
        ([tmp_path / "x" / ".." / "meter.csv"], f"would overwrite the file of household.load.file of {two};"),
        ([tmp_path / "a.html", tmp_path / "." / "a.html"], "would overwrite another result of the same run;"),
    ):
        with pytest.raises(ScenarioError) as caught:
            files.refuse_clashes(targets, scenarios)
        assert told in str(caught.value)
