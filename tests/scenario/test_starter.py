"""The file of ``finsolar new`` is valid, complete and studied as it stands; writing it destroys nothing."""

import datetime as dt
import math
import os
import re
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

import pytest
from pydantic import BaseModel
from ruamel.yaml import YAML
from scenario.test_fuzz import written

import finsolar
from finsolar.scenario import schema
from finsolar.scenario.inheriting import OWN_WORDS
from finsolar.scenario.names import SHAPES, STATIONS
from finsolar.scenario.numbers import Range
from finsolar.scenario.problems import ScenarioError
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario
from finsolar.scenario.starter import starter_text, write_starter

OPTIONAL = [i for i, line in enumerate(starter_text().split("\n")) if line.lstrip().startswith("#: ")]
"""The places of lines that may be switched on."""

OTHER_WAYS = [i for i, line in enumerate(starter_text().split("\n")) if line.lstrip().startswith("# or: ")]
"""The places of lines that show another way to say what stands above them."""

INSTEAD_OF = {
    "real_discount_rate": ["discount_rate"],
    "file": ["monthly_kwh", "shape"],
    "appliances": ["monthly_kwh", "shape"],
    "production": ["arrays"],
    "tiers": [],
    "outage": [],
}
"""What a way of saying it drives out, where that has another name, or stands on an optional line itself."""


@cache
def starter() -> Scenario:
    """Return the starter as it stands, read."""
    return from_text(starter_text())


def with_lines(chosen: list[int]) -> str:
    """Return the starter with the optional lines at some places switched on."""
    lines = starter_text().split("\n")
    return "\n".join(line.replace("#: ", "", 1) if i in chosen else line for i, line in enumerate(lines))


def said_otherwise(place: int) -> str:
    """Return the starter with one field said in the way that a line shows, in the block where the line stands."""
    text = starter_text()
    lines = text.split("\n")
    way = YAML(typ="safe", pure=True).load(lines[place].replace("# or: ", ""))
    depth = len(lines[place]) - len(lines[place].lstrip())
    tree = block = YAML(typ="safe", pure=True).load(text)
    for name in above(lines[:place], depth):
        block = block[name]
    if isinstance(way, list):
        (entry,) = way
        block[:] = [entry if old["item"] == entry["item"] else old for old in block]
    else:
        (name,) = way
        for old in INSTEAD_OF.get(name, [name]):
            del block[old]
        block.update(way)
    return written(tree)


def above(lines: list[str], depth: int) -> list[str]:
    """Return the names of the blocks, outermost first, that are open at the end of some lines, for a depth."""
    names: list[str] = []
    for line in reversed(lines):
        opened = re.match(r"( *)([a-z_]+):", line)
        if opened and len(opened[1]) < depth:
            names.insert(0, opened[2])
            depth = len(opened[1])
    return names


def refusal(path: Path) -> str:
    """Return the message with which writing to a path is refused."""
    with pytest.raises(ScenarioError) as caught:
        write_starter(path)
    return str(caught.value)


def test_it_is_read_and_studied_as_it_stands(tmp_path: Path) -> None:
    """Two ways to go ahead, each with a finite worth, the owners' own labour the better one."""
    path = tmp_path / "house.yaml"
    write_starter(path)

    study = finsolar.study(finsolar.read(path), today=dt.date(2026, 1, 1))

    assert [result.name for result in study.results] == ["Own labour", "Contractor"]
    own, contractor = (float(result.appraisal.npv) for result in study.results)
    assert math.isfinite(own)
    assert own > contractor
    assert all(float(result.first_year_saving) > 0 for result in study.results)


def test_it_teaches_ranges_of_every_kind() -> None:
    """Each kind is explained at its head, two of them are in use."""
    text, scenario = starter_text(), starter()

    head = text[: text.index("title:")]
    for kind in ("{low: 1%, likely: 3%, high: 5%}", "{mean: 900, sd: 100}", "{from: 10, to: 14}"):
        assert kind in head
    assert isinstance(scenario.study.inflation, Range)
    assert isinstance(scenario.alternatives[1].costs[-1].cost, Range)


def test_its_head_warns_of_wiring_roof_and_law() -> None:
    """Before any number."""
    head = starter_text().split("\ntitle:")[0]

    assert re.findall(r"^# - (Wiring|Roof|Law)\. ", head, flags=re.M) == ["Wiring", "Roof", "Law"]


def test_it_names_every_field_category_station_and_shape() -> None:
    """Nothing that a scenario may hold is left for the reader to guess."""
    text = starter_text()
    blocks = [kind for kind in vars(schema).values() if isinstance(kind, type) and issubclass(kind, BaseModel)]
    fields = {name for block in blocks for name in block.model_fields} | OWN_WORDS

    assert len(fields) > 70
    unnamed = {name for name in fields if not re.search(rf"\b{name}:", text)}
    assert unnamed == set()
    words = {word for block in blocks for field in block.model_fields.values() for word in choices(field.annotation)}
    assert {"net metering", "square root", "backup only", "tmy2", "service panel"} <= words
    for word in {*words, *STATIONS, *SHAPES}:
        assert re.search(rf"(?<![\w-]){word}(?![\w-])", text), word


def choices(annotation: Any) -> set[str]:
    """Return the words among which a field lets one choose."""
    if get_origin(annotation) is Literal:
        return {word for word in get_args(annotation) if isinstance(word, str)}
    return {word for part in get_args(annotation) for word in choices(part)}


@pytest.mark.parametrize("place", OPTIONAL, ids=lambda place: f"line {place + 1}")
def test_each_optional_line_may_be_switched_on(place: int) -> None:
    """By taking away the signs that begin it."""
    assert from_text(with_lines([place])) != starter()


@pytest.mark.parametrize("place", OTHER_WAYS, ids=lambda place: f"line {place + 1}")
def test_each_other_way_to_say_it_may_be_taken(place: int) -> None:
    """It stands in the right block, and says something else than the lines above it."""
    assert from_text(said_otherwise(place)) != starter()


def test_the_other_ways_cover_sun_use_prices_and_equipment() -> None:
    """And are found as such."""
    shown = {re.sub(r".*# or: (- )?", "", starter_text().split("\n")[place]).split(":")[0] for place in OTHER_WAYS}

    assert shown >= {"file", "appliances", "weather", "production", "fade", "losses", "operation"}
    assert shown >= {"energy", "tiers", "price", "export", "outage"}


def test_all_optional_lines_may_be_switched_on_together() -> None:
    """And the fuller scenario is studied too."""
    scenario = from_text(with_lines(OPTIONAL))

    study = finsolar.study(scenario, today=dt.date(2026, 1, 1))

    assert len(OPTIONAL) > 30
    assert len(study.results) == 15
    assert all(math.isfinite(float(result.appraisal.npv)) for result in study.results)


def test_its_lines_fit_a_screen() -> None:
    """They are read in an editor, which had better not wrap them."""
    assert max(map(len, starter_text().split("\n"))) <= 120


def test_a_file_that_is_there_is_left_alone(tmp_path: Path) -> None:
    """Whether it is a scenario or not."""
    path = tmp_path / "mine.yaml"
    path.write_text("dear to me")

    assert refusal(path) == f"{path}: exists already; choose another name"
    assert path.read_text() == "dear to me"


def test_a_folder_is_left_alone(tmp_path: Path) -> None:
    """A folder has that name already."""
    assert refusal(tmp_path) == f"{tmp_path}: exists already; choose another name"


def test_a_link_that_leads_nowhere_is_left_alone(tmp_path: Path) -> None:
    """Writing through it would make a file somewhere else."""
    path = tmp_path / "link.yaml"
    path.symlink_to(tmp_path / "elsewhere.yaml")

    assert "exists already" in refusal(path)
    assert not (tmp_path / "elsewhere.yaml").exists()


def test_no_folder_is_made_silently(tmp_path: Path) -> None:
    """A mistyped folder is told, not made."""
    path = tmp_path / "hosue" / "mine.yaml"

    assert refusal(path) == f"{path}: its folder does not exist; make the folder first, or choose another"
    assert list(tmp_path.iterdir()) == []


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    """A file stands where the folder should be."""
    (tmp_path / "file").write_text("x")

    assert "its folder does not exist" in refusal(tmp_path / "file" / "mine.yaml")


@pytest.mark.parametrize("name", ["x" * 5000, "a\0b"], ids=["endless", "null sign"])
def test_an_impossible_name_is_told_so(tmp_path: Path, name: str) -> None:
    """Without a traceback."""
    assert refusal(tmp_path / name).count("; choose another") == 1


def test_a_folder_without_permission_is_told_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system's refusal is passed on; a user whom no permission stops is made to meet it."""
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o500)
    if os.access(folder, os.W_OK):
        allowed = Path.open

        def denied(self: Path, mode: str = "r", **how: str) -> object:
            if mode == "x":
                raise PermissionError(13, "Permission denied", str(self))
            return allowed(self, mode, **how)

        monkeypatch.setattr(Path, "open", denied)

    path = folder / "mine.yaml"

    assert refusal(path) == f"{path}: cannot be written (Permission denied); choose another place for it"
