"""Files are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from finsolar.report import files
from finsolar.scenario.problems import ScenarioError


def test_a_file_is_written_with_its_folders_and_ordinary_rights(tmp_path: Path) -> None:
    """Folders on the way are made; others may read the file as they may any new file."""
    target = tmp_path / "a" / "b.html"

    files.write_whole(target, "text – ü")

    assert target.read_bytes() == "text – ü".encode()
    plain = tmp_path / "plain"
    plain.write_text("")
    assert target.stat().st_mode == plain.stat().st_mode


def test_links_and_devices_are_refused_and_left_alone(tmp_path: Path) -> None:
    """A page moved into the place of a link or a pipe would put an end to it."""
    (tmp_path / "far").write_text("old")
    (tmp_path / "link").symlink_to(tmp_path / "far")
    os.mkfifo(tmp_path / "pipe")

    for name in ("link", "pipe"):
        with pytest.raises(ScenarioError, match="cannot be written"):
            files.write_whole(tmp_path / name, "new")

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
        files.write_whole(target, "new")

    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]
