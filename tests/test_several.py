"""``finsolar report`` with several households: in processes or not, all of it is written or nothing."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import pty
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from small_house import Tree, house_text
from typer.testing import CliRunner, Result

from finsolar.cli import app
from finsolar.report import several
from finsolar.scenario.problems import ScenarioError

HOSTILE = "</title><script>alert(1)</script>"
SHORT: Tree = {"study": {"years": 2}}


def finsolar(*words: object) -> Result:
    run = CliRunner().invoke(app, [str(word) for word in words], env={"COLUMNS": "160"})
    if not isinstance(run.exception, SystemExit | None):
        raise run.exception
    return run


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with two short houses, and the command run from there."""
    (tmp_path / "oak.yaml").write_text(house_text(SHORT | {"title": HOSTILE}))
    ranged: Tree = {"title": "Elm", "study": {"years": 3, "draws": 64}, "tariff": {"rise": {"from": "1%", "to": "4%"}}}
    (tmp_path / "elm.yaml").write_text(house_text(ranged))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def all_files(folder: Path) -> dict[str, bytes]:
    """Every file below a folder, by its way from there."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_two_households_stand_each_alone_and_side_by_side_however_many_processes_study_them(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two processes write what one does, to the byte; JSON and CSV hold each study as it stands alone."""
    words = ("report", "oak.yaml", "elm.yaml", "--json", "all.json", "--csv", "all.csv")
    written, told = [], []
    for cores in (2, 1):
        monkeypatch.setattr(several, "_cores", lambda cores=cores: cores)
        run = finsolar(*words)
        assert (run.exit_code, run.stderr) == (0, "")
        written.append(all_files(place))
        told.append(run.stdout)
        for path in set(written[-1]) - {"oak.yaml", "elm.yaml"}:
            (place / path).unlink()
    assert written[0] == written[1]
    assert told[0] == told[1]
    results = {name for name in written[0] if not name.endswith(".yaml")}
    assert results == {
        "reports/oak.html", "reports/elm.html", "reports/oak-beside-elm.html", "all.json", "all.csv",
    }  # fmt: skip
    assert all(f"written: {name}\n" in told[0] for name in results)

    alone = finsolar("report", "elm.yaml", "--json", "elm.json", "--csv", "elm.csv")
    assert alone.exit_code == 0
    assert (place / "reports" / "elm.html").read_bytes() == written[0]["reports/elm.html"]
    found = json.loads(written[0]["all.json"])
    assert (found["schema"], len(found["studies"])) == ("finsolar-side/1", 2)
    study = json.loads((place / "elm.json").read_text())
    assert found["studies"][1] == study
    rows = list(csv.reader(io.StringIO(written[0]["all.csv"].decode())))
    assert [row[1:] for row in rows if row[0] == "Elm"] == list(
        csv.reader(io.StringIO((place / "elm.csv").read_text()))
    )[1:]

    page = written[0]["reports/oak-beside-elm.html"].decode().replace("\N{WORD JOINER}", "")
    npv = study["alternatives"][0]["metrics"]["npv"]
    shown = f"{'−' if npv < 0 else ''}${abs(npv):,.0f}"
    assert shown in page and shown in told[0]
    assert '<a href="oak.html">' in page and '<a href="elm.html">' in page
    assert "<script>alert" not in page and "These households differ in what they assume: years of study" in page


def test_pages_for_one_reader_have_names_of_their_own(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(several, "_cores", lambda: 1)

    assert finsolar("report", "oak.yaml", "elm.yaml", "--for", "lender").exit_code == 0

    written = {path.name for path in (place / "reports").iterdir()}
    assert written == {"oak-for-lender.html", "elm-for-lender.html", "oak-beside-elm-for-lender.html"}
    assert "elm-for-lender.html" in (place / "reports" / "oak-beside-elm-for-lender.html").read_text()


def test_a_broken_file_among_them_is_told_with_all_faults_and_nothing_is_written(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Faults of two files and of what was asked for, each in a line; the good one is not studied."""
    monkeypatch.setattr(several, "_cores", lambda: 1)
    (place / "bad.yaml").write_text(house_text({"study": {"discount_rate": 5}}))
    before = all_files(place)

    run = finsolar("report", "oak.yaml", "bad.yaml", "gone.yaml", "--xlsx", "a.xlsx", "--paper", "A4")

    assert (run.exit_code, run.stdout) == (2, "")
    lines = run.stderr.splitlines()
    assert [line.partition(":")[0] for line in lines] == ["--paper", "--xlsx", "bad.yaml", "gone.yaml"]
    assert lines[0] == "--paper: has nothing to be printed on it; add --pdf OUT"
    assert lines[1] == "--xlsx: a workbook holds one household; ask for it with one FILE at a time"
    assert "discount_rate: is 5; a rate is meant" in lines[2]
    assert all_files(place) == before and not (place / "reports").exists()


def test_a_fault_that_only_a_study_finds_is_told_too_and_nothing_is_written(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A meter's file is missing in each of two houses."""
    monkeypatch.setattr(several, "_cores", lambda: 1)
    metered: Tree = {"household": {"load": {"monthly_kwh": None, "shape": None, "file": "meter.csv"}}}
    for name in ("a.yaml", "b.yaml"):
        (place / name).write_text(house_text(metered))

    run = finsolar("report", "a.yaml", "oak.yaml", "b.yaml")

    assert run.exit_code == 2
    assert [line.partition(":")[0] for line in run.stderr.splitlines()] == ["a.yaml", "b.yaml"]
    assert not (place / "reports").exists()


def test_files_of_one_name_and_a_file_named_twice_are_refused(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Their pages would be one file, also where a disk does not tell capitals from small letters."""
    monkeypatch.setattr(several, "_cores", lambda: 1)
    (place / "b").mkdir()
    (place / "b" / "Oak.yaml").write_text(house_text(SHORT))

    run = finsolar("report", "oak.yaml", "b/Oak.yaml", "./oak.yaml")

    assert run.exit_code == 2
    assert run.stderr.splitlines() == [
        "b/Oak.yaml: has the name of oak.yaml, so that both pages would be reports/Oak.html; rename one of them",
        "oak.yaml: is named twice; name it once",
    ]


def test_pages_of_other_scenarios_are_kept_and_nothing_is_written(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One house's own page is another's: told before anything is studied."""
    monkeypatch.setattr(several, "_cores", lambda: 1)
    (place / "reports").mkdir()
    held = place / "reports" / "elm.html"
    held.write_text(f'<meta name="made-from" content="{"a" * 16}">\n<title>Another Elm</title>')
    before = all_files(place)

    run = finsolar("report", "oak.yaml", "elm.yaml")

    assert (run.exit_code, run.stdout) == (2, "")
    assert run.stderr == (
        "reports/elm.html: holds “Another Elm”, made from another scenario; move it away, or overwrite it with "
        "--replace\n"
    )
    assert all_files(place) == before


def test_the_page_of_several_is_named_after_them() -> None:
    def name(*stems: str) -> str:
        return several.page_stem([Path(f"x/{stem}.yaml") for stem in stems])

    assert name("a") == "a"
    assert name("a", "b") == "a-beside-b"
    assert name("a", "b", "c") == "a-beside-b-beside-c"
    assert name("a", "b", "c", "d", "e") == "a-and-4-more"
    assert name("a" * 150, "b" * 150) == f"{'a' * 40}-and-1-more"


def squared(number: int) -> int:
    """What the processes of a test do."""
    return number * number


def die(_: int) -> int:
    """End the process without a word, as a system short of memory does."""
    os._exit(9)


def test_results_come_in_order_from_processes_and_one_that_is_killed_is_told() -> None:
    """No traceback, and no waiting for what will never come."""
    with several.workers(3, processes=2) as each:
        assert list(each(squared, range(7))) == [0, 1, 4, 9, 16, 25, 36]
    ended = "a process of this run was ended from outside; free some memory"
    with pytest.raises(ScenarioError, match=ended), several.workers(2, processes=2) as each:
        list(each(die, range(2)))


@pytest.mark.parametrize(("count", "cores", "wanted"), [(1, 4, 1), (40, 1, 1), (2, 4, 2), (40, 2, 2), (40, 64, 8)])
def test_as_many_processes_as_there_are_cores_and_households(
    count: int, cores: int, wanted: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []

    class Pool:
        def __init__(self, processes: int, **_: object) -> None:
            asked.append(processes)

        def shutdown(self, **_: object) -> None:
            """Nothing was started."""

    monkeypatch.setattr("concurrent.futures.ProcessPoolExecutor", Pool)
    monkeypatch.setattr(several, "_cores", lambda: cores)
    with several.workers(count) as each:
        assert (each is map) == (wanted == 1)
    assert asked == ([] if wanted == 1 else [wanted])


@pytest.mark.parametrize("stage", [b"reading the scenarios", b"studying 6 households"])
def test_progress_and_a_stop_by_the_keyboard_end_every_process_at_once(stage: bytes, place: Path) -> None:
    """On a terminal Ctrl-C goes to all processes of the run, those that start up too: one line, code 130, no file."""
    slow = house_text({"study": {"years": 25, "draws": 8192}, "tariff": {"rise": {"from": "1%", "to": "4%"}}})
    for i in range(6):
        (place / f"h{i}.yaml").write_text(slow)
    command = [sys.executable, "-c", _TWO_CORES, "report", *(f"h{i}.yaml" for i in range(6))]
    ours, theirs = pty.openpty()
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=theirs, start_new_session=True) as run:
        os.close(theirs)
        seen = b""
        while stage not in seen:
            seen += os.read(ours, 4096)
        time.sleep(0.5)
        stopped = time.monotonic()
        os.killpg(run.pid, signal.SIGINT)
        told = b""
        with contextlib.suppress(OSError):  # the far side has closed, and so has every process that shared it
            while chunk := os.read(ours, 4096):
                told += chunk
        assert run.stdout is not None and run.stdout.read() == b""
    os.close(ours)

    assert run.returncode == 130
    assert time.monotonic() - stopped < 30
    assert told.rpartition(b"\x1b[K")[2] == b"stopped; no file is left half-written\r\n"
    assert b"Traceback" not in seen + told
    assert not (place / "reports").exists()


_TWO_CORES = """
from finsolar.report import several
several._cores = lambda: 2
from finsolar.cli import main
if __name__ == "__main__":
    main()
"""
