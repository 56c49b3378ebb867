"""Rules a scenario brings along: written out, in a file or a folder; and what is said of each that cannot be used."""

from __future__ import annotations

import contextlib
import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from ruamel.yaml import YAML
from small_house import Tree, house, house_text
from typer.testing import CliRunner

import finsolar
from finsolar.cli import app
from finsolar.incentives.own_rules import rules_of
from finsolar.incentives.rulebook import load_rules
from finsolar.scenario.problems import ScenarioError

RULE = """\
title: Lantern Town battery rebate
kind: upfront rebate
currency: USD
reference: Lantern Town Code 3
checked_on: 2026-03-01
event: in service
parameters:
  fixed:
    unit: USD
    values:
      2025-01-01: {value: 700, known: seen, reference: "Lantern Town Code 3.1"}
lowers_price: {value: true, because: The seller takes it off., known: seen, reference: "Lantern Town Code 3.2"}
"""
FEDERAL = "us/residential-clean-energy-credit"


def inline(rule_id: str = "lantern/battery", **changes: Any) -> Tree:
    """Return the rule as a scenario writes it out, its days as text."""
    tree = YAML(typ="safe").load(RULE)
    tree["checked_on"] = "2026-03-01"
    tree["parameters"]["fixed"]["values"] = {"2025-01-01": {"value": 700, "known": "seen", "reference": "Code 3.1"}}
    return {"id": rule_id, **tree, **changes}


def ids(changes: Tree, folder: Path | None = None) -> list[str]:
    """Return the ids of the rules that the small house is held against."""
    return [rule.id for rule in rules_of(house(changes, folder))]


def refusal(changes: Tree, folder: Path | None = None) -> str:
    """Return what is said of a scenario whose rules cannot be used."""
    with pytest.raises(ScenarioError) as error:
        rules_of(house(changes, folder))
    return str(error.value)


def test_without_rules_of_its_own_a_scenario_has_those_of_its_place() -> None:
    """The country's, and its region's where there are any."""
    assert ids({}) == [rule.id for rule in load_rules("US", "NC")]
    assert {"us/ma/energy-credit", FEDERAL} < set(ids({"place": {"region": "MA"}}))
    assert ids({"place": {"country": "ZZ", "region": None}}) == []


@pytest.mark.parametrize("way", ["inline", "file", "folder", "deep in a folder", "name without an ending"])
def test_a_rule_of_ones_own_stands_behind_the_shipped_ones(way: str, tmp_path: Path) -> None:
    """Its id is written beside it, or is its path from the folder without the ending."""
    (tmp_path / "mine" / "lantern").mkdir(parents=True)
    for name in ("rebate.yaml", "rules", "mine/lantern/battery.yaml", "other.txt"):
        (tmp_path / name).write_text(RULE)
    entry, rule_id = {
        "inline": (inline(), "lantern/battery"),
        "file": ("rebate.yaml", "rebate"),
        "folder": ("mine", "lantern/battery"),
        "deep in a folder": ("mine/lantern", "battery"),
        "name without an ending": ("rules", "rules"),
    }[way]
    rules = rules_of(house({"rules": [entry]}, tmp_path))

    assert [rule.id for rule in rules] == [*ids({}), rule_id]
    assert (rules[-1].title, rules[-1].value("fixed", rules[-1].checked_on).number) == (  # type: ignore[union-attr]
        "Lantern Town battery rebate",
        700,
    )


def test_a_folder_is_read_in_the_order_of_its_names_and_only_its_rule_files(tmp_path: Path) -> None:
    """Whatever else lies there is left alone."""
    for name in ("b.yaml", "a.yaml", "c/d.yaml"):
        (tmp_path / "mine" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "mine" / name).write_text(RULE)
    (tmp_path / "mine" / "notes.md").write_text("no rule")

    assert ids({"rules": ["mine"]}, tmp_path)[-3:] == ["a", "b", "c/d"]


def test_a_rule_of_ones_own_replaces_the_shipped_one_of_its_id(tmp_path: Path) -> None:
    """It is asked instead, and the id is there once."""
    (tmp_path / "us").mkdir()
    (tmp_path / "us" / "residential-clean-energy-credit.yaml").write_text(RULE)
    for entry, folder in ((inline(FEDERAL), None), (".", tmp_path)):
        found = [rule for rule in rules_of(house({"rules": [entry]}, folder)) if rule.id == FEDERAL]
        assert [rule.title for rule in found] == ["Lantern Town battery rebate"]


@pytest.mark.parametrize("place", [("US", "NY"), ("US", "IA"), ("US", "MA"), ("CA", "ON"), ("AU", None), ("DE", None)])
def test_a_rule_of_ones_own_goes_with_the_rules_of_every_place(place: tuple[str, str | None]) -> None:
    """Nothing among the shipped rules of a place stands in its way."""
    country, region = place

    assert ids({"place": {"country": country, "region": region}, "rules": [inline()]})[-1] == "lantern/battery"


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("kind: upfront rebate", "kind: up-front rebate", 2, "did you mean 'upfront rebate'?"),
        ("checked_on: 2026-03-01", "checked_on: lately", 5, "'lately'"),
        ("value: 700", "value: 0", 11, "not above zero"),
        ("event: in service\n", "", 1, "event: is missing"),
        ("value: true", "value: maybe", 12, "'maybe'"),
        ("title:", "titel:", 1, "did you mean 'title'?"),
        ('known: seen, reference: "Lantern Town Code 3.1"', "known: seen", 11, "reference: is missing"),
        ("parameters:", "parameters: [", 9, "is not YAML"),
    ],
)
def test_a_fault_of_a_rule_file_is_told_with_its_file_and_line(
    old: str, new: str, line: int, words: str, tmp_path: Path
) -> None:
    """In a file, and in one of a folder."""
    (tmp_path / "mine").mkdir()
    assert old in RULE
    for entry, name in (("rebate.yaml", "rebate.yaml"), ("mine", "mine/rebate.yaml")):
        (tmp_path / name).write_text(RULE.replace(old, new))
        said = refusal({"rules": [entry]}, tmp_path)
        assert f"{tmp_path / name}:{line}: " in said
        assert words in said
        (tmp_path / name).unlink()


@pytest.mark.parametrize(
    ("changes", "at", "words"),
    [
        ({"kind": "up-front rebate"}, '"kind"', "kind: is 'up-front rebate'; did you mean 'upfront rebate'?"),
        ({"event": "moon rise"}, '"event"', "event: is 'moon rise'"),
        ({"coupon": 3}, '"coupon"', "coupon: is not known here"),
        (
            {"parameters": {"fixed": {"unit": "USD", "values": {"2025-13-01": {"value": 7}}}}},
            '"2025-13-01"',
            "2025-13-01",
        ),
    ],
)
def test_a_fault_of_a_rule_written_out_is_told_with_its_line_in_the_scenario(
    changes: Tree, at: str, words: str
) -> None:
    """The line is that of the field; the field is named with the way to its rule."""
    tree = {"rules": [inline(), inline("lantern/other", **changes)]}
    lines = house_text(tree).split("\n")
    (place,) = [place for place, line in enumerate(lines, 1) if at in line and place > lines.index(' "rules": [')][-1:]
    said = refusal(tree)

    assert words in said
    assert f"house.yaml:{place}: rules[2]." in said


def test_all_faults_of_a_rule_are_told_at_once() -> None:
    """One line each."""
    said = refusal({"rules": [inline(kind="x", event="y", currency="dollars")]})

    assert [line.split(": ")[1] for line in said.splitlines()] == [
        f"rules[1].{x}" for x in ("kind", "currency", "event")
    ]


def test_a_rule_without_an_id_is_refused_when_the_scenario_is_read() -> None:
    """Nobody could claim it."""
    tree = {name: value for name, value in inline().items() if name != "id"}

    with pytest.raises(ScenarioError, match="is a rule without an id"):
        house({"rules": [tree]})


FACT = {"because": "So it says.", "known": "seen", "reference": "Code 3.9"}
LINES = [{"categories": ["battery"], "counted": True, **FACT}]
SHARE = {"unit": "share", "values": {"2025-01-01": {"value": "10%", "known": "seen", "reference": "Code 3.1"}}}


def of_cost(rule_id: str, lowered_by: list[str] | None = None, **changes: Any) -> Tree:
    """Return a rebate that is a share of the battery's cost, as a scenario writes it out."""
    lowered = {} if lowered_by is None else {"lowered_by": {"value": lowered_by, **FACT}}
    return inline(rule_id, parameters={"share": SHARE}, lines=LINES, **lowered, **changes)


def credit(rule_id: str, lowered_by: list[str], **changes: Any) -> Tree:
    """Return a tax credit that is a share of the battery's cost, as a scenario writes it out."""
    terms = {"refundable": False, "carry_forward": 0, "against": "income tax"}
    more = {name: {"value": value, **FACT} for name, value in terms.items()}
    tree = of_cost(rule_id, lowered_by, kind="tax credit", **more, **changes)
    return {name: value for name, value in tree.items() if name != "lowers_price"}


def line_in_rules(tree: Tree, rule: int, field: str) -> int:
    """Return the line on which a field of the rule written out at that place, from 0, begins."""
    lines = house_text(tree).split("\n")
    starts = [place for place, line in enumerate(lines) if line.startswith('   "id": ')]
    return next(place for place, line in enumerate(lines, 1) if place > starts[rule] and f'"{field}": ' in line)


def test_two_rules_of_one_id_are_refused(tmp_path: Path) -> None:
    """Written out twice, or in two folders; each of them is named."""
    tree = {"rules": [inline(), inline()]}
    assert refusal(tree) == (
        f"house.yaml:{line_in_rules(tree, 0, 'id')}: rules[1].id: 'lantern/battery' is also that of house.yaml, "
        "rules[2]; rename one of them"
    )

    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "rebate.yaml").write_text(RULE)
    said = refusal({"rules": ["one", "two"]}, tmp_path)
    assert said == (
        f"{tmp_path / 'one' / 'rebate.yaml'}: id: 'rebate' is also that of {tmp_path / 'two' / 'rebate.yaml'}; "
        "rename one of them"
    )


@pytest.mark.parametrize(
    ("term", "value", "words"),
    [
        ("lowered_by", ["us/residential-clean-energy-credits"], f"did you mean '{FEDERAL}'"),
        ("excludes", ["nowhere"], "excludes: 'nowhere' is no rule here"),
    ],
)
def test_a_rule_that_names_none_is_refused(term: str, value: list[str], words: str, tmp_path: Path) -> None:
    """With the nearest name, at the line where it is written: in the scenario, or in a file of its own."""
    second = of_cost("lantern/second") | {term: {"value": value, **FACT}}
    tree = {"rules": [inline("lantern/first"), second]}
    said = refusal(tree)

    assert said.startswith(f"house.yaml:{line_in_rules(tree, 1, term)}: rules[2].{term}: '{value[0]}' is no rule here")
    assert words in said

    text = f"{RULE}{term}: {{value: {value}, because: So it says., known: seen, reference: Code 3.9}}\n"
    text = text.replace("fixed:\n    unit: USD", "share:\n    unit: share").replace("value: 700", "value: 10%")
    counted = "lines: [{categories: [battery], counted: true, because: So it says., known: seen, reference: Code 3.9}]"
    (tmp_path / "mine.yaml").write_text(f"{text}{counted}\n")
    said = refusal({"rules": ["mine.yaml"]}, tmp_path)

    assert said.startswith(f"{tmp_path / 'mine.yaml'}:13: {term}: '{value[0]}' is no rule here; ")


def test_every_rule_that_names_none_is_told_at_once() -> None:
    """One line each, in the order of the file."""
    said = refusal({"rules": [of_cost("a", ["nowhere"]), of_cost("b", ["elsewhere", "nowhere"])]})

    assert [re.sub(r"^house.yaml:\d+: |; .*", "", line) for line in said.splitlines()] == [
        "rules[1].lowered_by: 'nowhere' is no rule here",
        "rules[2].lowered_by: 'elsewhere' is no rule here",
        "rules[2].lowered_by: 'nowhere' is no rule here",
    ]


@pytest.mark.parametrize(
    ("rules", "words"),
    [
        ([of_cost("a", ["b"]), of_cost("b", ["a"])], "b -> a -> b"),
        (
            [of_cost("a/r", ["a/c"]), credit("a/c", ["price reductions"])],
            "a/c -> a/r (one of the price reductions) -> a/c",
        ),
        (
            [credit("a/c", ["grants"]), of_cost("a/r", ["a/c"], lowers_price={"value": False, **FACT})],
            "a/r -> a/c -> a/r (one of the grants)",
        ),
        ([inline(), of_cost("a/r", [FEDERAL])], f"a/r -> {FEDERAL} -> a/r (one of the price reductions)"),
    ],
    ids=["by name", "price reductions", "grants", "through a shipped rule"],
)
def test_a_circle_of_ones_own_rules_is_refused(rules: list[Tree], words: str) -> None:
    """None could be first, whether they are named or meant by a word; told at the last of one's own."""
    tree = {"rules": rules}

    assert refusal(tree) == (
        f"house.yaml:{line_in_rules(tree, 1, 'lowered_by')}: rules[2].lowered_by: leads round in a circle, {words}; "
        "take one link out"
    )


def test_a_word_that_means_none_of_the_circle_is_no_circle() -> None:
    """A grant lowers no price, a rebate does not lower itself, and of two that mean one another the first is whole."""
    grant = of_cost("a/r", ["a/c"], lowers_price={"value": False, **FACT})

    assert ids({"rules": [grant, credit("a/c", ["price reductions"])]})[-2:] == ["a/r", "a/c"]
    assert ids({"rules": [of_cost("a/r", ["price reductions", "grants"])]})[-1] == "a/r"
    two = [of_cost(rule_id, ["price reductions"]) for rule_id in ("b/r", "a/r")]
    assert ids({"rules": two})[-2:] == ["b/r", "a/r"]


@pytest.mark.parametrize("rule_id", [" a/b ", "a\nb", "a\tb", "a  b", "a/b\n", "a\u00a0b"])
def test_an_id_with_spaces_that_no_claim_could_name_is_refused(rule_id: str) -> None:
    """In the words that a claim is refused with, at its line."""
    tree = {"rules": [inline("lantern/first"), inline(rule_id)]}
    for changes, field in ((tree, "rules[2].id"), ({"claims": {rule_id: {"claim": False}}}, "claims.")):
        with pytest.raises(ScenarioError) as error:
            house(changes)
        (problem,) = error.value.problems
        assert problem.field.startswith(field)
        assert (problem.what.endswith(", with spaces that no id has"), problem.mend) == (True, "write the id of a rule")
        assert problem.line > 1
    with pytest.raises(ScenarioError, match=f"house.yaml:{line_in_rules(tree, 1, 'id')}: "):
        house(tree)


@pytest.mark.parametrize(
    ("rule_id", "words"),
    [
        ("us/residential-clean-energy-credits", f"did you mean '{FEDERAL}'"),
        ("lantern/batery", "did you mean 'lantern/battery'?"),
        ("zzz", "known here: "),
    ],
)
def test_a_claim_that_names_no_rule_is_refused_at_its_line_with_the_nearest(rule_id: str, words: str) -> None:
    """Those of the place and one's own are known."""
    tree = {"rules": [inline()], "claims": {rule_id: {"funds": True}}}
    (line,) = [place for place, text in enumerate(house_text(tree).split("\n"), 1) if f'"{rule_id}": ' in text]
    said = refusal(tree)

    assert said.startswith(f"house.yaml:{line}: claims.{rule_id}: is '{rule_id}', no rule of this place; ")
    assert words in said


def test_a_claim_where_no_rule_is_known_is_refused() -> None:
    """There is nothing to name instead."""
    tree = {"place": {"country": "ZZ", "region": None}, "claims": {"zz/rebate": {"funds": True}}}

    assert "claims.zz/rebate: is a claim where no rule is known; remove it" in refusal(tree)


def dated(**parameters: object) -> Tree:
    """Return parameters of a rule, each one amount since 2025."""
    return {
        name: {"unit": "x", "values": {"2025-01-01": {"value": value, "known": "seen", "reference": "Code 3.4"}}}
        for name, value in parameters.items()
    }


def without(tree: Tree, *names: str) -> Tree:
    """Return a rule without some of its fields."""
    return {name: value for name, value in tree.items() if name not in names}


ASKING: dict[str, Tree] = {
    "confirmed": inline(conditions=[{"needs": "household confirms", "otherwise": "unknown", **FACT}]),
    "funds": inline(first_come={"value": True, **FACT}),
    "refundable": credit("lantern/battery", ["grants"]) | {"refundable": {"value": "elective", **FACT}},
    "taxed": inline(taxable={"value": "household decides", **FACT}),
    "kw": without(inline(kind="capacity payment", parameters=dated(per_kw=200, term_years=5)), "lowers_price"),
    "used_before": credit("lantern/battery", ["grants"]) | {"parameters": {"share": SHARE, **dated(lifetime_cap=900)}},
    "price": without(
        inline(kind="metered certificates", parameters=dated(kwh_each=1000, term_years=5)), "lowers_price"
    ),
    "zone": inline(
        kind="deemed certificates",
        parameters=dated(factor=5),
        size={"value": "solar kw", **FACT},
        zones={"value": {"3": 1.382}, **FACT},
    ),
}
"""By claim a rule that asks for it."""
TOLD: Tree = {"confirmed": True, "funds": False, "refundable": True, "taxed": False, "kw": 3, "used_before": 750,
              "price": [38, {"from": 30, "to": 40}], "zone": "3"}  # fmt: skip


@pytest.mark.parametrize("asked", ASKING)
def test_a_claim_that_its_rule_does_not_ask_for_is_refused_at_its_line(asked: str) -> None:
    """With what the rule does take: its own claim, no other one, and always whether it is claimed at all."""
    rule_id = "lantern/battery"
    also = ["price"] if asked == "zone" else []
    tree = {"rules": [ASKING[asked]], "claims": {rule_id: {"claim": True, **TOLD}}}
    lines = house_text(tree).split("\n")
    start = lines.index(' "claims": {')
    takes = ", ".join(["claim", *(name for name in TOLD if name in [asked, *also])])

    assert refusal(tree).splitlines() == [
        f"house.yaml:{line}: claims.{rule_id}.{name}: is nothing that this rule asks for; remove it, since the rule "
        f"takes {takes}"
        for line, name in (
            (line, name)
            for line, text in enumerate(lines[start:], start + 1)
            for name in TOLD
            if text.startswith(f'   "{name}": ') and name not in [asked, *also]
        )
    ]
    assert ids({"rules": [ASKING[asked]], "claims": {rule_id: {asked: TOLD[asked]}}})[-1] == rule_id


@pytest.mark.parametrize(
    ("rule", "claim"),
    [
        (inline(), {"funds": True}),
        (inline(first_come={"value": False, **FACT}), {"funds": True}),
        (inline(taxable={"value": "if itemised", **FACT}), {"taxed": True}),
        (credit("lantern/battery", ["grants"]), {"refundable": True}),
        (inline(conditions=[{"needs": "main home", "otherwise": "unknown", **FACT}]), {"confirmed": True}),
    ],
)
def test_a_rule_that_asks_nothing_takes_a_claim_alone(rule: Tree, claim: Tree) -> None:
    """A term that leaves no choice asks for none."""
    (name,) = claim
    said = refusal({"rules": [rule], "claims": {"lantern/battery": claim}})

    assert said.endswith(
        f"claims.lantern/battery.{name}: is nothing that this rule asks for; "
        "remove it, since the rule takes claim alone"
    )
    assert ids({"rules": [rule], "claims": {"lantern/battery": {"claim": False}}})[-1] == "lantern/battery"


def test_all_faults_of_claims_are_told_at_once() -> None:
    """Of rules that are not there, and of what rules do not ask."""
    said = refusal({"claims": {FEDERAL: {"kw": 3}, "nowhere": {"kw": 3}}})

    assert [line.split(": ")[1] for line in said.splitlines()] == [f"claims.{FEDERAL}.kw", "claims.nowhere"]


def spoil(folder: Path, way: str) -> str:
    """Lay out something that is no rule, and return how the scenario names it."""
    if way in {"missing", "missing folder", "/dev/null", "a long name", "a very long name"}:
        names = {"missing": "no.yaml", "missing folder": "none/here", "a long name": "x" * 300}
        return {**names, "a very long name": "x" * 4_000}.get(way, way)
    if way == "empty folder":
        (folder / "mine").mkdir()
        return "mine"
    if way == "folder without rule files":
        (folder / "mine").mkdir()
        (folder / "mine" / "notes.txt").write_text(RULE)
        return "mine"
    if way == "folder called as a file is":
        (folder / "rule.yaml").mkdir()
        return "rule.yaml"
    if way == "folder that holds a folder called as a file is":
        (folder / "mine" / "rule.yaml").mkdir(parents=True)
        return "mine"
    if way == "link to nothing":
        (folder / "rule.yaml").symlink_to(folder / "gone.yaml")
        return "rule.yaml"
    if way == "link to itself":
        (folder / "rule.yaml").symlink_to(folder / "rule.yaml")
        return "rule.yaml"
    content = {
        "empty": b"",
        "blank": b"\n  \n",
        "binary": bytes(range(256)) * 9,
        "no UTF-8": "title: Förderung\n".encode("latin-1"),
        "zero signs": b"\0" * 99,
        "a list": b"- 1\n- 2\n",
        "one word": b"rebate\n",
        "two documents": RULE.encode() + b"---\n" + RULE.encode(),
        "a scenario": house_text().encode(),
        "deep": b"a: " + b"[" * 3_000,
    }[way]
    (folder / "rule.yaml").write_bytes(content)
    return "rule.yaml"


SPOILT = (
    "missing", "missing folder", "/dev/null", "a long name", "a very long name", "empty folder",
    "folder without rule files", "folder called as a file is", "folder that holds a folder called as a file is",
    "link to nothing", "link to itself",
    "empty", "blank", "binary", "no UTF-8", "zero signs", "a list", "one word", "two documents", "a scenario", "deep",
)  # fmt: skip


@pytest.mark.parametrize("way", SPOILT)
def test_what_is_no_rule_is_one_clear_refusal(way: str, tmp_path: Path) -> None:
    """Of one short line each, with a place and a mend, and never anything but a fault of the scenario."""
    said = refusal({"rules": [spoil(tmp_path, way)]}, tmp_path)

    for line in said.splitlines():
        assert re.match(r"(house\.yaml|/).*: .+; .+", line), line
        assert len(line) < 1_200 and line.isprintable()


@pytest.mark.parametrize("way", ["missing", "binary", "folder called as a file is", "empty", "a long name"])
def test_the_command_line_says_it_and_leaves_with_two(way: str, tmp_path: Path) -> None:
    """On standard error alone, no page written, nothing of a program's inside shown."""
    (tmp_path / "house.yaml").write_text(house_text({"study": {"years": 2}, "rules": [spoil(tmp_path, way)]}))
    with contextlib.chdir(tmp_path):
        run = CliRunner().invoke(app, ["report", "house.yaml"])

    assert isinstance(run.exception, SystemExit)  # no fault of ours
    assert (run.exit_code, run.stdout) == (2, "")
    assert "rules" in run.stderr + "rules" * (way in {"binary", "empty"})
    assert not list(tmp_path.glob("**/*.html"))


def test_a_rule_of_ones_own_is_granted_in_a_study_and_a_claim_may_be_a_range() -> None:
    """700 of the town; a certificate price from 20 to 40 is taken at its middle, or at each value chosen."""
    certificates = inline(
        "lantern/certificates",
        kind="metered certificates",
        parameters={
            name: {"unit": "x", "values": {"2025-01-01": {"value": value, "known": "seen", "reference": "Code 3.4"}}}
            for name, value in (("kwh_each", 1_000), ("term_years", 2))
        },
    )
    del certificates["lowers_price"]
    scenario = house(
        {
            "study": {"years": 3},
            "rules": [inline(), certificates],
            "claims": {"lantern/certificates": {"price": {"from": 20, "to": 40}}},
        }
    )
    once = finsolar.study(scenario)
    awards = {award.rule_id: award for award in once.results[0].awards}
    made = once.results[0].entitled.house.generation

    assert awards["lantern/battery"].amounts.tolist() == [700, 0, 0, 0]
    assert made is not None
    np.testing.assert_allclose(awards["lantern/certificates"].amounts, [0, *(30 * made[:2] / 1_000), 0])

    column = np.array([[20.0], [30.0], [40.0]])
    many = finsolar.study(scenario, {"claims.lantern/certificates.price": column}, reuse=once)
    paid = {award.rule_id: award for award in many.results[0].awards}["lantern/certificates"].amounts
    np.testing.assert_allclose(paid[1], awards["lantern/certificates"].amounts)
    np.testing.assert_allclose(paid[2], 2 * paid[0])
    assert json.loads(json.dumps(once.to_json()))["alternatives"][0]["incentives"][-1]["rule"]
