"""What sets alternatives apart is told: nothing twice, and nothing left to be guessed."""

from __future__ import annotations

from pathlib import Path

from small_house import house

from finsolar.scenario.reading import read
from finsolar.scenario.stated import statements

PRAIRIE = Path(__file__).parents[2] / "scenarios" / "prairie-bend.yaml"


def test_alternatives_are_told_by_what_sets_them_apart() -> None:
    """Four ways to run one system: the first in full, the others by their own rows."""
    rows = [(row.field, row.value) for row in statements(read(PRAIRIE))]
    first = "Every surplus into the battery"

    def own(name: str) -> list[tuple[str, str]]:
        start = f"{name}: system"
        return [(field.removeprefix(start), value) for field, value in rows if field.startswith(start)]

    assert (".battery.round_trip", "93%") in own(first) and (".battery.kwh", "13") in own(first)
    assert own("The dear hours first") == [
        ("", f"as in {first}, but for the rows below"),
        (".operation", "time shift"),
        (".time_shift.dear", "summer afternoon, winter evening"),
        (".time_shift.cheap", "night"),
    ]
    assert own("Kept full for outages") == [
        ("", f"as in {first}, but for the rows below"),
        (".operation", "backup only"),
    ]
    assert own("Without a battery") == [("", f"as in {first}, but for the rows below"), (".battery", "none")]


def test_a_block_that_lacks_a_row_of_the_one_before_is_told_in_full() -> None:
    """Were it told by its difference alone, the operation of the other would seem to hold for it."""
    plans = [
        {"name": "Kept", "system": {"operation": "backup only"}},
        {"name": "Used", "system": {"inverter": {"kw": 4}}},
    ]
    rows = {row.field: row.value for row in statements(house({"alternatives": plans}))}

    assert rows["Kept: system.operation"] == "backup only"
    assert (rows["Used: system.inverter.kw"], rows["Used: system.battery.kwh"]) == ("4", "8")
    assert "Used: system" not in rows and "Used: system.operation" not in rows
