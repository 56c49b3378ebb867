"""Every input in one table: nothing the file says is left out, ids lead on, and each row tells who says so."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from conftest import ROOT, demo_page, demo_study, plain_study
from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from scenario.house import FULL
from spreadsheet import Spreadsheet

from finsolar.report.assumed_table import groups, left_out, sources
from finsolar.report.words.assumed_told import READ, SAYS
from finsolar.report.words.fields_told import words_of
from finsolar.report.workbook.whole import written
from finsolar.scenario.reading import from_text
from finsolar.scenario.stated import statements
from finsolar.uncertainty.inputs import input_of

JUNIPER, HERON = (ROOT / "scenarios" / f"{name}.yaml" for name in ("juniper-lane", "heron-landing"))


def lines_of(node: Node, key: str = "") -> set[int]:
    """The lines on which a scenario states a value, but for what things are called."""
    if isinstance(node, ScalarNode):
        return set() if key in {"title", "note", "name", "item", "like", "without"} else {node.start_mark.line + 1}
    if isinstance(node, SequenceNode):
        return {line for one in node.value for line in lines_of(one, key)}
    assert isinstance(node, MappingNode)
    return {line for name, one in node.value for line in lines_of(one, name.value)}


def test_no_line_of_the_file_is_left_out(demo: Path) -> None:
    """Each line with a value has a row; which of several values of a line are there, the ids tell."""
    root = YAML(typ="safe", pure=True).compose(demo.read_text())
    told = {row["line"] for row in plain_study(demo)["stated"]}
    several_lines = {
        line for line in lines_of(root) - told
        if any(line - k in told for k in range(1, 8))  # the rest of a list, which stands where it begins
    }  # fmt: skip

    assert len(told) > 25
    assert lines_of(root) - several_lines <= told


def test_every_row_of_the_groups_stands_on_the_page_under_its_id(demo: Path) -> None:
    """Grouped, none twice, and all that is stated or assumed is there."""
    plain, text = plain_study(demo), demo_page(demo)
    rows = [row for _, found in groups(plain) for row in found]

    assert sorted(row.id for row in rows) == sorted(row["id"] for row in [*plain["stated"], *plain["assumptions"]])
    for row in rows:
        assert text.count(f"<code>{row.id}</code>") == 1
        assert row.words and row.value and row.why and row.source
    assert "The work and its days" not in [title for title, found in groups(plain) if not found]


def test_who_says_so_is_told_by_where_a_value_stands() -> None:
    """The household by a line of the scenario, a file of readings, a rule of thumb, a recalled number, a choice."""
    plain = plain_study(ROOT / "scenarios" / "prairie-bend.yaml")
    rows = {row.id: row for _, found in groups(plain) for row in found}

    meter = rows["scenario.household.load.file"]
    assert meter.why == READ and re.fullmatch(r"line \d+ of the scenario; a file of data", meter.source)
    assert {row.why for row in rows.values() if row.source.startswith("line") and row is not meter} == {SAYS}
    growth = rows["scenario.household.load.growth"]
    assert (growth.value, growth.source, growth.why) == ("0%", "assumed", "The household stays as it is.")
    efficiency = rows["scenario.alternatives.0.system.inverter.efficiency"]
    assert efficiency.source == "assumed; common practice, no source"
    assert "7 places" in rows["scenario.alternatives.0.costs.0.residual"].words
    assert {row.id for row in left_out(plain)} == {one["id"] for one in plain["assumptions"]}


def test_a_range_shows_its_ends_beside_the_value_that_is_used(juniper: dict[str, Any]) -> None:
    """What a study takes without draws, and what it is drawn from."""
    rows = {row.id: row for _, found in groups(juniper) for row in found}

    rise = rows["scenario.tariff.rise"]
    assert (rise.value, rise.range, rise.words) == (
        "3%", "low 1%, likely 3%, high 5.5%", "yearly rise of the price of energy",
    )  # fmt: skip
    assert rows["scenario.study.discount_rate"].range == ""


def test_what_one_alternative_says_alone_stands_under_its_name(heron: dict[str, Any]) -> None:
    """And what all share stands once, in its group."""
    found = dict(groups(heron))

    loan = {row.id for row in found["Only in “Contractor, half on a bank loan”"]}
    assert "scenario.alternatives.2.payment.loan.rate" in loan
    assert [row.id for rows in found.values() for row in rows].count("scenario.alternatives.0.system.battery.kwh") == 1
    assert "scenario.alternatives.0.system.battery.kwh" in {row.id for row in found["The system"]}


@pytest.mark.parametrize("demo", [JUNIPER, HERON], ids=["juniper", "heron"])
def test_the_command_that_varies_takes_each_number_by_its_id(demo: Path) -> None:
    """A bare number or a range may be moved by the text of the table; counts and words may not."""
    base = demo_study(demo)
    taken = 0
    for row in statements(base.scenario):
        place: Any = {"scenario": base.scenario.model_dump(mode="json", exclude_none=True)}
        for step in row.id.split("."):
            place = place[int(step)] if isinstance(place, list) else place[step]
        if isinstance(place, float) or row.range:
            found = input_of(base, row.id)
            assert row.id.removeprefix("scenario.") in found.paths
            taken += 1
    assert taken > 25


def test_the_workbook_calls_its_inputs_by_the_same_ids(juniper: dict[str, Any]) -> None:
    """Its column of ids holds those of the table; the discount rate and inflation stand among the settings there."""
    sheet = Spreadsheet(written(demo_study(JUNIPER), juniper).file).sheets["Inputs"]
    shown = {str(cell.value) for cell in sheet.values() if str(cell.value).startswith("scenario.")}
    ids = {row["id"] for row in [*juniper["stated"], *juniper["assumptions"]]}

    assert len(shown) > 20
    assert shown <= ids


def test_each_rule_and_each_history_has_its_source(heron: dict[str, Any]) -> None:
    """With the day on which a rule was checked, and whether it was read or recalled."""
    rows = {what: (where, known) for what, where, known in sources(heron)}

    for award in heron["alternatives"][0]["incentives"]:
        where, known = rows[award["title"]]
        assert where == award["reference"] and award["checked_on"] in known
        assert ("read" in known) == (award["known"] == "seen")
    assert "Greensboro" in rows["Weather"][0] and "hot-climate" in rows["Load by the hour"][0]
    assert any("Consumer prices" in what for what in rows)
    counted = next(known for what, (_, known) in rows.items() if what.startswith("Average price of electricity"))
    assert re.fullmatch(r"\d+ of \d+ read, the others recalled from memory", counted)


def test_fields_have_words_that_tell_them_apart() -> None:
    """No two inputs of one alternative are called the same in one group, and none by the program's own name."""
    scenario = from_text(FULL)
    told = [(row.whose, row.field.rpartition(".")[0], words_of(scenario, row.id.removeprefix("scenario.")))
            for row in statements(scenario)]  # fmt: skip

    assert len(set(told)) == len(told)
    assert not [words for *_, words in told if "_" in words]
    assert ("", "system.battery.warranty", "warranty: energy that is promised, MWh") in told
