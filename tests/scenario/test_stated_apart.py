"""What sets alternatives apart is told where it is written: nothing twice, and each with its line and its id."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from small_house import house

from finsolar.scenario.reading import read
from finsolar.scenario.stated import statements

ROOT = Path(__file__).parents[2]
PRAIRIE = ROOT / "scenarios" / "prairie-bend.yaml"


def test_alternatives_are_told_by_what_sets_them_apart() -> None:
    """Four ways to run one system: what they share once, then their own rows."""
    rows = [(row.field, row.value) for row in statements(read(PRAIRIE))]

    assert [field for field, _ in rows].count("system.battery.kwh") == 1
    assert ("system.battery.round_trip", "93%") in rows
    assert [row for row in rows if "system" in row[0] and ":" in row[0]] == [
        ("The dear hours first: system.operation", "time shift"),
        ("The dear hours first: system.time_shift.dear", "summer afternoon, winter evening"),
        ("The dear hours first: system.time_shift.cheap", "night"),
        ("Kept full for outages: system.operation", "backup only"),
        ("Without a battery: system.battery", "none"),
    ]


def test_a_field_of_one_alternative_is_told_as_its_own() -> None:
    """What the top says is shared, what an alternative says is its own."""
    plans = [
        {"name": "Kept", "system": {"operation": "backup only"}},
        {"name": "Used", "system": {"inverter": {"kw": 4}}},
    ]
    rows = {row.field: row for row in statements(house({"alternatives": plans}))}

    assert rows["Kept: system.operation"].value == "backup only"
    assert (rows["Used: system.inverter.kw"].value, rows["system.battery.kwh"].value) == ("4", "8")
    assert rows["Used: system.inverter.kw"].id == "scenario.alternatives.1.system.inverter.kw"


@pytest.mark.parametrize("name", ["heron-landing", "juniper-lane", "prairie-bend"])
def test_each_row_leads_to_its_line_and_to_its_place_in_the_json(name: str) -> None:
    """The line of the file holds the field's name or its value, and the path ends at what is stated."""
    file = ROOT / "scenarios" / f"{name}.yaml"
    scenario = read(file)
    lines, dumped = file.read_text().splitlines(), scenario.model_dump(mode="json", exclude_none=True)
    rows = statements(scenario)

    assert len(rows) > 40 and len({row.id for row in rows}) == len(rows)
    for row in rows:
        place: Any = {"scenario": dumped}
        for step in row.id.split("."):
            place = place[int(step)] if isinstance(place, list) else place[step]
        own = row.id.rpartition(".")[2]
        assert own in lines[row.line - 1] or own in {"price", "scenario"} or str(place) in lines[row.line - 1], row
        if row.range:
            assert place == row.range
        elif isinstance(place, float):
            shown = float(row.used.replace(",", "").rstrip("%")) / (100 if row.used.endswith("%") else 1)
            assert shown == pytest.approx(place, rel=1e-9)


def test_a_range_is_told_with_its_ends_and_with_what_a_study_takes_of_it() -> None:
    """Low, likely and high as written; without draws the likely one."""
    rows = {row.field: row for row in statements(read(ROOT / "scenarios" / "juniper-lane.yaml"))}

    rise = rows["tariff.rise"]
    assert rise.range == {"low": 0.01, "likely": 0.03, "high": 0.055}
    assert (rise.value, rise.used) == ("low 1%, likely 3%, high 5.5%", "3%")
    assert rows["system.battery.kwh"].range == {}


def test_a_value_that_names_a_file_is_known_from_that_file() -> None:
    """A meter's readings stand in a file of their own; all else in the scenario's."""
    rows = statements(read(PRAIRIE))

    assert {row.field for row in rows if row.source == "data file"} == {"household.load.file"}
    assert {row.source for row in rows} == {"file", "data file"}
