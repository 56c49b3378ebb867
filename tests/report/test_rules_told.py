"""Incentive rules told on their own: the list, one of them whole, and which of them are meant."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from finsolar.incentives.law import Rule
from finsolar.incentives.rulebook import RuleError, all_rules, find_rule, parse_rule
from finsolar.report import rule_choice
from finsolar.report.words.rules import explained, listing, next_change, says_on

LANTERN = Path(__file__).parents[1] / "incentives" / "lantern-county-battery-credit.yaml"
BROKEN = Path(__file__).parents[1] / "incentives" / "broken"
DAY = date(2026, 3, 1)


@pytest.fixture
def lantern() -> Rule:
    """The invented rule of Lantern County."""
    return parse_rule(LANTERN.read_text(), LANTERN.name)


@pytest.mark.parametrize(
    ("rule_id", "day", "told", "coming"),
    [
        ("us/residential-clean-energy-credit", "2005-06-01", "begins 1 January 2006", "2006-01-01"),
        ("us/residential-clean-energy-credit", "2007-06-01", "30% of the basis, at most USD 2,000", "2009-01-01"),
        ("us/residential-clean-energy-credit", "2021-06-01", "26% of the basis", "2022-01-01"),
        ("us/residential-clean-energy-credit", "2026-01-01", "ended 31 December 2025", None),
        ("us/hi/renewable-energy-credit", "2027-05-01", "not known", None),
        ("gb/microgeneration-income-exemption", "2026-05-01", "whatever the size", None),
        ("us/id/alternative-energy-deduction", "2026-05-01", "40%, 20%, 20%, 20% of the basis", None),
    ],
)
def test_what_a_rule_says_on_a_day(rule_id: str, day: str, told: str, coming: str | None) -> None:
    """In force, over, not begun and not known, each in its own words; the next change lies after the day."""
    rule = find_rule(rule_id)

    assert says_on(rule, date.fromisoformat(day)) == told
    assert next_change(rule, date.fromisoformat(day)) == (None if coming is None else date.fromisoformat(coming))


def test_every_rule_says_something_on_every_day_it_changes() -> None:
    """No rule that ships is without words, and all are listed."""
    rules = all_rules()
    for rule in rules:
        for day in rule.changes():
            assert says_on(rule, day)
            assert rule.title in explained(rule, day, DAY).splitlines()[0]
    text = listing(rules, DAY)
    assert all(f"{rule.id}: {rule.title}" in text for rule in rules)
    assert f"{len(rules)} rules." in text


@pytest.mark.parametrize("width", [60, 80, 120, 300])
def test_the_list_fits_its_width(lantern: Rule, width: int) -> None:
    """One row a rule where there is room, else two, and never a line beyond."""
    text = listing([lantern, find_rule("us/residential-clean-energy-credit")], DAY, width)

    lines = text.splitlines()
    assert max(map(len, lines)) <= width
    rows = [line for line in lines if lantern.id in line]
    assert len(rows) == 1
    one_row = lantern.title in rows[0] and "tax credit" in rows[0] and "2026-02-11" in rows[0]
    assert one_row == (width == 300)
    if width >= 120:
        assert "on 1 March 2026" in text and "ended 31 December 2025" in text and "next change" in text
    assert "tax adviser decides" in " ".join(text.split())


def test_one_rule_is_told_whole(lantern: Rule) -> None:
    """Every dated value with its source, every term, line, condition and note of the file stands in the text."""
    lines = explained(lantern, DAY, DAY, 100).splitlines()
    text = " ".join(" ".join(lines).split())

    assert max(map(len, lines)) <= 100
    assert lines[0] == lantern.title
    assert "A tax credit: it lowers the tax that is owed." in text
    for head in ("What decides", "Values by the day that decides", "Terms", "Which cost lines count", "Cautions"):
        assert head in lines
    for dated in lantern.parameters.values():
        for entry in dated.entries:
            assert entry.source.reference in text
            assert getattr(entry, "because", "") in text
    for part in [*lantern.lines, *lantern.conditions, lantern.refundable, lantern.carry_forward]:
        assert part is not None and part.because in text
    for note in lantern.notes:
        assert note in text
    assert "The rule file was last checked on 11 February 2026." in text


def test_an_old_check_and_a_value_from_memory_are_cautions(lantern: Rule) -> None:
    """More than a year after the check the text says so; what was recalled is to be looked up."""
    old = explained(replace(lantern, checked_on=date(2024, 1, 1)), DAY, DAY, 100)
    recalled = explained(find_rule("us/residential-clean-energy-credit"), DAY, DAY, 100)

    assert "last checked on 1 January 2024, more than a year ago" in " ".join(old.split())
    assert "Look up what comes from memory" in " ".join(recalled.split())


def test_a_title_cannot_steer_the_terminal(lantern: Rule) -> None:
    """Control signs of a rule of one's own are made harmless."""
    rule = replace(lantern, title="Lantern \x1b[31mred", notes=("\x07 rings",))

    assert "\x1b" not in listing([rule], DAY) + explained(rule, DAY, DAY)
    assert "\x07" not in explained(rule, DAY, DAY)


def test_rules_of_a_place_are_chosen() -> None:
    """A country alone has the rules of the whole country, and with a region those of the region as well."""
    country = [rule.id for rule in rule_choice.chosen("us", None, None)]
    region = [rule.id for rule in rule_choice.chosen("US", "hi", None)]

    assert "us/residential-clean-energy-credit" in country and "us/hi/renewable-energy-credit" not in country
    assert set(country) < set(region) and "us/hi/renewable-energy-credit" in region
    assert rule_choice.chosen(None, None, None) == all_rules()


@pytest.mark.parametrize(
    ("place", "words"),
    [
        (("zz", None), ["--country: no rule of 'zz'", "DE", "US"]),
        (("us", "xx"), ["--region: no rule of 'xx'", "HI", "NY"]),
        (("us", ""), ["letters, digits and hyphens"]),
        (("../us", None), ["letters, digits and hyphens"]),
        ((None, "NY"), ["--region", "--country US"]),
    ],
)
def test_an_unknown_place_is_named_with_the_known_ones(place: tuple[str, str], words: list[str]) -> None:
    """A gap in the rule files is no empty list."""
    with pytest.raises((LookupError, ValueError)) as caught:
        rule_choice.chosen(*place, None)
    for word in words:
        assert word in str(caught.value)


@pytest.mark.parametrize("text", ["2026-13-01", "2026-02-30", "01.02.2026", "20260201", "2026-W05-1", "", "soon"])
def test_a_day_that_is_none_is_refused(text: str) -> None:
    """Only the one way of writing a day passes."""
    with pytest.raises(ValueError, match="is no day; write one such as 2026-09-01"):
        rule_choice.day_of(text)
    assert rule_choice.day_of("2026-02-28") == date(2026, 2, 28)


def test_own_rules_of_a_file_or_a_folder_have_their_path_as_id(tmp_path: Path) -> None:
    """As a scenario would name them."""
    inner = tmp_path / "lantern"
    inner.mkdir()
    (inner / "credit.yaml").write_text(LANTERN.read_text())

    [of_folder] = rule_choice.chosen(None, None, tmp_path)
    [of_file] = rule_choice.chosen(None, None, inner / "credit.yaml")

    assert (of_folder.id, of_file.id) == ("lantern/credit", "credit")
    assert rule_choice.one("lantern/credit", tmp_path).id == "lantern/credit"
    assert rule_choice.one(str(inner / "credit.yaml"), None).title == of_file.title


def test_own_rules_that_do_not_read_are_told_with_every_fault(tmp_path: Path) -> None:
    """All faulty files of a folder at once; no folder without rules; no file that is none."""
    broken = sorted(BROKEN.glob("*.yaml"))[:2]
    for file in broken:
        (tmp_path / file.name).write_text(file.read_text())
    with pytest.raises(RuleError) as caught:
        rule_choice.chosen(None, None, tmp_path)
    assert {Path(problem.file).name for problem in caught.value.problems} == {file.name for file in broken}

    (tmp_path / "empty").mkdir()
    with pytest.raises(ValueError, match=r"without a \.yaml file"):
        rule_choice.chosen(None, None, tmp_path / "empty")
    with pytest.raises(LookupError, match="no such file"):
        rule_choice.one(str(tmp_path / "nothing.yaml"), None)
    (tmp_path / "bytes.yaml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ValueError, match="cannot be read as text"):
        rule_choice.one(str(tmp_path / "bytes.yaml"), None)
    with pytest.raises(LookupError, match="there is no rule 'lantern/credt'"):
        rule_choice.one("lantern/credt", LANTERN)
