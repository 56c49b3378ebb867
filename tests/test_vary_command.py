"""``finsolar vary`` as a user types it."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from small_house import Tree, house_text
from typer.testing import CliRunner, Result

from finsolar.cli import app

ENDS = ("--from", "1%", "--to", "3%")


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own with the small house in it, and the command run from there."""
    (tmp_path / "house.yaml").write_text(house_text({"study": {"years": 6}}))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def finsolar(*words: str) -> Result:
    return CliRunner().invoke(app, ["vary", "house.yaml", *words], env={"COLUMNS": "100"})


def test_a_curve_goes_to_terminal_page_json_and_csv(place: Path) -> None:
    run = finsolar("tariff.rise", *ENDS, "--steps", "3", "--json", "a.json", "--csv", "a.csv")

    assert run.exit_code == 0, run.output
    assert "NPV by yearly rise of the price of energy" in run.output
    assert (place / "reports" / "house-varied.html").read_text().startswith("<!doctype html>")
    found = json.loads((place / "a.json").read_text())
    assert found["schema"] == "finsolar-vary/1"
    assert found["inputs"][0]["values"] == [0.01, 0.02, 0.03]
    assert found["inputs"][0]["now"] == 0.02
    with (place / "a.csv").open() as file:
        npv = [float(row["value"]) for row in csv.DictReader(file) if row["figure"] == "npv"]
    assert npv == found["alternatives"][0]["npv"]
    assert f"{-npv[1]:,.0f}" in run.output


def test_a_map_takes_a_second_number_and_a_negative_end(place: Path) -> None:
    second = ("--against", "costs.Battery.cost", "--from2", "0", "--to2", "4000", "--of", "Roof", "--out", "map.html")
    run = finsolar("tariff.rise", "--from", "-2%", "--to", "2%", "--steps", "3", *second)

    assert run.exit_code == 0, run.output
    assert "NPV of Roof: down yearly rise of the price of energy; across “Battery”: price" in run.output
    assert "written: map.html" in run.output
    assert (place / "map.html").is_file()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("tarif.rise", *ENDS), "house.yaml: tarif.rise: is no field of this scenario; did you mean 'tariff.rise'?"),
        (("title", *ENDS), "title: is 'Sorrel Lane', which cannot vary; name an amount, a rate or a share"),
        (("tariff.rise", "--from", "1", "--to", "3%"), "--from: tariff.rise: is 1; a rate is meant; write 1% or 0.01"),
        (("tariff.rise", "--from", "1%", "--to", "x"), "--to: tariff.rise: is 'x'; write 3% or 0.03"),
        (("tariff.rise", *ENDS, "--steps", "1"), "--steps: is 1; write 2 to 41"),
        (("tariff.rise", *ENDS, "--against", "tariff.fixed_rise"), "--from2: is missing"),
        (("tariff.rise", *ENDS, "--to2", "3%"), "--to2: belongs to a second number; name it by --against"),
        (("tariff.rise", *ENDS, "--of", "Roof"), "--of: belongs to a map; add --against"),
        (
            ("tariff.rise", *ENDS, "--against", "purchase price", "--from2", "1%", "--to2", "2%", "--of", "Rof"),
            "--of: is 'Rof', no alternative of this scenario; did you mean 'Roof'?",
        ),
        (("tariff.rise", *ENDS, "--out", "house.yaml"), "would overwrite the scenario itself"),
    ],
)
def test_a_slip_is_a_line_with_exit_code_two_and_writes_nothing(words: tuple[str, ...], told: str, place: Path) -> None:
    run = finsolar(*words, "--json", "a.json", "--csv", "a.csv")

    refused(run, told, place)


def refused(run: Result, told: str, place: Path) -> None:
    """Lines on standard error with a place, what is wrong and how to mend it; nothing on the other or in files."""
    assert isinstance(run.exception, SystemExit)  # no fault of ours
    assert (run.exit_code, run.stdout) == (2, "")
    assert told in run.stderr
    for line in run.stderr.splitlines():
        where, _, said = line.partition(": ")
        assert where and "; " in said and line.isprintable()
    assert [path.name for path in place.iterdir()] == ["house.yaml"]


@pytest.mark.parametrize(
    ("changes", "field", "told"),
    [
        ({"study": {"discount_rate": 5}}, "discount_rate", "study.discount_rate: is 5; a rate is meant; write 5% or"),
        ({"weather": "atlantis"}, "weather", "weather: is 'atlantis', no station known here; known"),
        ({"household": {"load": {"monthly_kwh": None, "shape": None, "file": "gone.csv"}}}, "file",
         "household.load.file: names gone.csv, and there is no such file"),
    ],
    ids=["a rate", "a station", "a file that is not there"],
)  # fmt: skip
def test_a_fault_of_the_scenario_is_told_at_its_line(changes: Tree, field: str, told: str, place: Path) -> None:
    """As report and check tell it."""
    text = house_text(changes)
    (place / "house.yaml").write_text(text)
    [line] = (i for i, row in enumerate(text.splitlines(), 1) if row.strip().startswith(f'"{field}"'))

    refused(finsolar("tariff.rise", *ENDS), f"house.yaml:{line}: {told}", place)


def test_a_scenario_that_is_not_there_is_named(place: Path) -> None:
    run = CliRunner().invoke(app, ["vary", "nothing.yaml", "tariff.rise", *ENDS])

    refused(run, "nothing.yaml: no such file; ", place)


@pytest.mark.parametrize("left_out", ["--from", "--to"])
def test_both_ends_must_be_said(left_out: str, place: Path) -> None:
    """What the command line itself asks for: exit code 2, the option by its name, nothing written."""
    ends = {"--from": "1%", "--to": "3%"}
    del ends[left_out]

    run = finsolar("tariff.rise", *(word for pair in ends.items() for word in pair))

    assert (run.exit_code, run.stdout) == (2, "")
    assert left_out in run.stderr and "Traceback" not in run.stderr
    assert [path.name for path in place.iterdir()] == ["house.yaml"]
