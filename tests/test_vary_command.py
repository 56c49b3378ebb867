"""``finsolar vary`` as a user types it."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from small_house import house_text
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


def test_help_answers() -> None:
    found = CliRunner().invoke(app, ["vary", "--help"])

    assert found.exit_code == 0
    for option in ("INPUT", "--from", "--to", "--steps", "--against", "--from2", "--to2", "--of", "--json", "--csv"):
        assert option in found.output


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
    run = finsolar(*words)

    assert run.exit_code == 2
    assert told in run.output
    assert [path.name for path in place.iterdir()] == ["house.yaml"]
