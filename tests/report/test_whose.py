"""A result tells from which scenario file it was made, and no other takes its place unasked."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from small_house import Tree, house_text
from typer.testing import CliRunner, Result

from finsolar.cli import app
from finsolar.report.files import same
from finsolar.report.whose import Target, mark_of, owner_of, refuse_others, signature
from finsolar.scenario.problems import ScenarioError

TITLE = '=Tom & "Jim" <b>\\Lane</b>'
SHORT: Tree = {"title": TITLE, "study": {"years": 2}}
ALL = ("--out", "a.html", "--json", "a.json", "--csv", "a.csv", "--xlsx", "a.xlsx")


def finsolar(*words: str) -> Result:
    return CliRunner().invoke(app, [*words], env={"COLUMNS": "120"})


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with one house under two names, and the command run from there."""
    for name in ("house.yaml", "other.yaml"):
        (tmp_path / name).write_text(house_text(SHORT))
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_every_kind_of_result_tells_its_scenario_and_title_and_never_its_path(place: Path) -> None:
    """Page, JSON, CSV and workbook are overwritten by the same scenario, whatever way leads to it, and by no other."""
    assert finsolar("report", "house.yaml", *ALL).exit_code == 0
    vary = ("tariff.rise", "--from", "1%", "--to", "3%", "--steps", "2")
    varied = ("--out", "v.html", "--json", "v.json", "--csv", "v.csv")
    assert finsolar("vary", "house.yaml", *vary, *varied).exit_code == 0

    mark = mark_of(place / "house.yaml")
    for name in ("a.html", "a.json", "a.csv", "a.xlsx", "v.html", "v.json", "v.csv"):
        owner = owner_of(place / name)
        assert owner is not None and owner.mark == mark, name
        assert owner.title.lstrip("'").startswith(TITLE), name
        assert str(place).encode() not in (place / name).read_bytes()
    written = {path: path.read_bytes() for path in place.iterdir()}

    refused = finsolar(
        "report", "other.yaml", "--csv", "new.csv", "--out", "a.html", "--json", "v.json", "--xlsx", "a.xlsx"
    )
    also = finsolar("vary", "other.yaml", *vary, *varied)

    assert refused.exit_code == also.exit_code == 2
    assert refused.stdout == ""
    assert refused.stderr.splitlines() == [
        f"a.html: holds “{TITLE}: does it pay?”, made from another scenario; choose another place with --out, or "
        "overwrite it with --replace",
        f"a.xlsx: holds “{TITLE}”, made from another scenario; choose another place with --xlsx, or overwrite it with "
        "--replace",
        f"v.json: holds “{TITLE}”, made from another scenario; choose another place with --json, or overwrite it with "
        "--replace",
    ]
    assert [line.partition(":")[0] for line in also.stderr.splitlines()] == ["v.csv", "v.html", "v.json"]
    assert {path: path.read_bytes() for path in place.iterdir()} == written

    again = finsolar("report", "../" + place.name + "/house.yaml", "--out", "a.html")
    replaced = finsolar("report", "other.yaml", "--out", "a.html", "--replace")

    assert (again.exit_code, replaced.exit_code) == (0, 0), again.stderr + replaced.stderr
    owner = owner_of(place / "a.html")
    assert owner is not None and owner.mark == mark_of(place / "other.yaml")


def test_the_mark_goes_by_the_file_and_not_by_the_name_that_leads_to_it(tmp_path: Path) -> None:
    (tmp_path / "link.yaml").symlink_to(tmp_path / "house.yaml")
    one, two = tmp_path / "house.yaml", tmp_path / "b" / ".." / "two.yaml"

    assert re.fullmatch("[0-9a-f]{16}", mark_of(one))
    assert mark_of(one) == mark_of(tmp_path / "link.yaml")
    assert mark_of(one, two) == mark_of(tmp_path / "two.yaml", one)
    assert len({mark_of(one), mark_of(two), mark_of(one, two)}) == 3


@pytest.mark.parametrize(
    "content",
    [
        b"my own notes",
        b"<!doctype html>\n<title>Old page: does it pay?</title>",
        b'{"schema": "finsolar-study/1", "scenario": {"title": "Old"}}',
        b"alternative,part,item\nall,made from,x\n",
        b'a,b\n"broken,made from,x,0123456789abcdef',
        b"PK\x03\x04 no archive",
        b"%PDF-1.4\n%%EOF\n",
        b"\x00\xff" * 50_000,
    ],
)
def test_a_file_that_does_not_tell_is_not_overwritten(content: bytes, tmp_path: Path) -> None:
    """Pages from before the mark, and whatever else may lie there; an empty file has nothing to lose."""
    target = tmp_path / "page.html"
    target.write_bytes(content)

    assert owner_of(target) is None
    with pytest.raises(ScenarioError, match="does not tell that it was made from this scenario; choose another place"):
        refuse_others([Target(target, "--out", "0" * 16)])
    target.write_bytes(b"")
    refuse_others([Target(target, "--out", "0" * 16), Target(tmp_path / "new.html", "--out", "0" * 16)])


def test_a_pdf_tells_by_a_comment_at_its_end(tmp_path: Path) -> None:
    target = tmp_path / "a.pdf"
    target.write_bytes(b"%PDF-1.4\n" + b"x" * 99_999 + b"\n%%EOF\n" + signature("0123456789abcdef", TITLE))

    owner = owner_of(target)

    assert owner is not None and (owner.mark, owner.title) == ("0123456789abcdef", TITLE)
    with pytest.raises(ScenarioError, match="move it away, or overwrite it with --replace"):
        refuse_others([Target(target, None, "f" * 16)])


def test_a_hostile_title_of_another_result_is_told_in_one_harmless_line(tmp_path: Path) -> None:
    """A page that somebody else made can steer no terminal."""
    page = tmp_path / "a.html"
    page.write_text(f'<meta name="made-from" content="{"a" * 16}">\n<title>x\x1b[2J\n&lt;b&gt;{"y" * 999}</title>')

    with pytest.raises(ScenarioError) as caught:
        refuse_others([Target(page, "--out", "0" * 16)])

    told = str(caught.value)
    assert told.isprintable() and len(told) < 700 and "<b>yyy" in told


def test_a_pdf_with_a_long_title_ends_where_readers_look_for_its_end() -> None:
    """Readers seek the last mark of the end in the last 1,024 bytes (ISO 32000-1, annex H, implementation note 18, from
    memory)."""
    assert len(signature("0" * 16, "ж" * 5000)) < 1024


def test_places_that_lead_nowhere_are_no_crash(tmp_path: Path) -> None:
    """A name too long, and a link that leads to itself."""
    loop = tmp_path / "loop.html"
    loop.symlink_to(loop)
    refuse_others([Target(path, "--out", "0" * 16) for path in (loop, tmp_path / f"{'n' * 300}.html")])

    assert not same(loop, tmp_path / "other.html")
