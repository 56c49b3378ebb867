"""Rule files are complete, dated, sourced and sorted; a faulty one is refused with words that help."""

from datetime import date, timedelta
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

import finsolar.incentives
from finsolar.incentives.law import KINDS, Dated, Ended, NotYet, Rule, Source, Value
from finsolar.incentives.rulebook import RuleError, load_rules, parse_rule
from finsolar.scenario.schema import Category

HERE = Path(__file__).parent
RULES = Path(finsolar.incentives.__file__).parent / "rules"
FILES = sorted(RULES.rglob("*.yaml"))

LANTERN = (HERE / "lantern-county-battery-credit.yaml").read_text(encoding="utf-8")

# The line of the fault, and words the message must hold.
FAULTS = {
    "begins_with_its_end": "11: 'parameters.share' begins with its end",
    "cap_ended": "18: a cap does not end: write 'no limit'",
    "cap_later_than_share": "17: the cap starts after the share does (2024-01-01)",
    "carry_of_half_a_year": "19: '0.5' is no number of years",
    "category_twice": "23: category 'battery' is named twice",
    "checked_on_no_date": "5: 'February' is no date",
    "duplicate_date": "12: found duplicate key",
    "duplicate_key": "4: found duplicate key",
    "empty_value": "12: 'parameters.share.values.2026-07-01.value' is missing or empty",
    "end_without_words": "13: 'parameters.share.values.2028-01-01.because' is missing",
    "flag_in_words": "18: 'refundable.value' must be true or false, found 'never'",
    "impossible_date": "12: 2026-02-30 is no day of the calendar",
    "known_from_hearsay": "12: 'parameters.share.values.2026-07-01.known' cannot be",
    "missing_known": "12: 'parameters.share.values.2026-07-01.known' is missing",
    "missing_parameter": "7: a tax credit needs 'parameters.cap'",
    "missing_reference": "12: 'parameters.share.values.2026-07-01.reference' is missing",
    "no_fields": "1: a rule file is a list of fields",
    "not_yaml": "2: expected ',' or ']'",
    "quoted_date": "12: '2026-07-01' is no date: write year-month-day without quotes",
    "share_above_one": "12: a share of 22.5 is above one: write 30% or 0.30",
    "since_without_before": "22: 'lines.before' is missing or empty",
    "two_faults": "1: 'title' must be words, found '7'\ntwo_faults.yaml:2: 'kind' cannot be 'grant'",
    "unknown_event": "6: 'event' cannot be 'contract signed'; known: installation completed",
    "unknown_field": "5: unknown field 'checkd_on'; did you mean 'checked_on'?",
    "unknown_kind": "2: 'kind' cannot be 'tax credits'; did you mean 'tax credit'?",
    "unknown_need": "25: 'conditions.needs' cannot be 'lives nearby'; did you mean",
    "unknown_parameter": "14: a tax credit has no parameter 'ceiling'",
    "values_not_sorted": "12: values are not sorted: 2023-07-01 stands after 2024-01-01",
    "zero_instead_of_ended": "12: '0' is no amount above zero",
}


def named(path: Path) -> str:
    """Return the id of a rule file for the list of tests."""
    return path.relative_to(RULES).as_posix()


def federal_credit() -> Rule:
    """Return the federal residential clean energy credit."""
    return next(rule for rule in load_rules("US") if rule.id == "us/residential-clean-energy-credit")


def read(path: Path) -> Rule:
    """Return the rule of one of our own files."""
    return parse_rule(path.read_text(encoding="utf-8"), named(path))


@pytest.mark.parametrize("fault", sorted(FAULTS))
def test_a_broken_file_is_refused_with_its_place_and_the_mend(fault: str) -> None:
    """Each broken file, named for its fault, gives file, line and words."""
    path = HERE / "broken" / f"{fault}.yaml"

    with pytest.raises(RuleError) as error:
        parse_rule(path.read_text(encoding="utf-8"), path.name)

    assert f"{path.name}:{FAULTS[fault]}" in str(error.value)


def test_every_broken_file_has_its_words() -> None:
    """No broken file lies about untested."""
    assert sorted(FAULTS) == sorted(path.stem for path in (HERE / "broken").glob("*.yaml"))


def test_there_are_rule_files() -> None:
    """The tests over all rule files have something to go over."""
    assert "us/residential-clean-energy-credit.yaml" in map(named, FILES)


@pytest.mark.parametrize("path", FILES, ids=named)
def test_a_rule_is_found_under_the_place_it_belongs_to(path: Path) -> None:
    """A file in rules/us/ is a rule of the US, one in rules/us/nc/ a rule of North Carolina."""
    country, *region = path.relative_to(RULES).parent.parts

    assert read(path) in load_rules(country.upper(), *region)


@pytest.mark.parametrize("path", FILES, ids=named)
def test_every_value_is_dated_sorted_and_sourced(path: Path) -> None:
    """Every value names its reference and how it is known, and starts after the one before it."""
    rule = read(path)

    for parameter in rule.parameters.values():
        starts = [entry.start for entry in parameter.entries]
        assert sorted(set(starts)) == starts
    sources = [entry.source for parameter in rule.parameters.values() for entry in parameter.entries]
    sources += [term.source for term in (rule.refundable, rule.carry_forward, rule.subsidies_lower_basis)]
    sources += [test.source for test in rule.lines] + [condition.source for condition in rule.conditions]
    assert {source.known for source in sources} <= {"seen", "memory"}
    assert all(len(source.reference) >= 5 for source in sources)
    assert set(rule.parameters) == set(KINDS[rule.kind])


@pytest.mark.parametrize("path", FILES, ids=named)
def test_every_rule_is_in_force_on_some_day_and_not_on_others(path: Path) -> None:
    """The first day of a rule grants; the day before is "not yet", and the day an end is written, "ended"."""
    for parameter in read(path).parameters.values():
        first = parameter.entries[0].start
        assert isinstance(parameter.at(first), Value)
        assert parameter.at(first - timedelta(days=1)) == NotYet(first)
        for entry in parameter.entries:
            assert parameter.at(entry.start) == entry


@pytest.mark.parametrize("path", FILES, ids=named)
def test_every_rule_speaks_of_every_category(path: Path) -> None:
    """A cost line of any category a scenario may use meets a stated verdict, and no verdict is unused."""
    told = sorted(category for test in read(path).lines for category in test.categories)

    assert sorted(get_args(Category)) == told


def test_the_federal_credit_ended_with_2025() -> None:
    """30 % on the last day of 2025; from the next day an end with the law that made it."""
    rule = federal_credit()
    share = rule.parameters["share"]
    ended = share.at(date(2026, 1, 1))

    assert share.value_at(date(2025, 12, 31)).amount == 0.30
    assert isinstance(ended, Ended)
    assert "Pub. L. 119-21 s. 70506" in ended.source.reference
    assert date(2025, 12, 31) == ended.eve
    assert date(2025, 12, 31) == share.last_day(share.value_at(date(2023, 6, 1)))
    assert share.last_day(ended) is None


def test_no_day_without_a_value_can_be_mistaken_for_a_number() -> None:
    """Asking for the value of a day out of force is an error that names the day."""
    rule = federal_credit()

    for day in (date(2005, 12, 31), date(2026, 1, 1)):
        with pytest.raises(LookupError, match=str(day)):
            rule.parameters["share"].value_at(day)


def test_percent_number_and_no_limit_are_read() -> None:
    """`22.5%` is 0.225, a plain number stays, and `no limit` is infinity."""
    limited = parse_rule(LANTERN, "lantern.yaml").parameters
    free = parse_rule(LANTERN.replace("{value: 900,", "{value: no limit,"), "lantern.yaml").parameters
    plain = parse_rule(LANTERN.replace("{value: 20%", "{value: 0.2"), "lantern.yaml").parameters

    assert limited["share"].value_at(date(2026, 6, 30)).amount == 0.2
    assert limited["share"].value_at(date(2026, 7, 1)).amount == 0.225
    assert plain["share"] == limited["share"]
    assert limited["cap"].value_at(date(2026, 1, 1)).amount == 900
    assert free["cap"].value_at(date(2026, 1, 1)).amount == float("inf")


def test_the_id_is_the_path_without_ending() -> None:
    """A rule cannot drift from the name of its file."""
    path = RULES / "us" / "residential-clean-energy-credit.yaml"

    assert read(path).id == "us/residential-clean-energy-credit"
    assert read(path) in load_rules("us", "nc")


def test_a_place_without_rule_files_has_no_rules() -> None:
    """An unknown country is no error here: nothing is known of it."""
    assert load_rules("ZZ", "QQ") == []


@pytest.mark.parametrize("code", ["../us", "U S", "", "us/nc"])
def test_a_code_that_is_no_code_is_refused(code: str) -> None:
    """A country code cannot lead out of the rules folder."""
    with pytest.raises(ValueError, match="no country or region code"):
        load_rules(code)


def test_rules_handed_out_are_not_shared() -> None:
    """Emptying one list of rules leaves the next one whole."""
    load_rules("US").clear()

    assert federal_credit() in load_rules("US")


days = st.dates(min_value=date(1990, 1, 1), max_value=date(2060, 12, 31))


@given(starts=st.lists(days, min_size=1, max_size=8, unique=True), day=days)
def test_a_day_has_the_latest_value_begun_and_never_another(starts: list[date], day: date) -> None:
    """No value is used before it starts, or after a later one has started."""
    source = Source("County Code 12.4", "seen")
    entries = tuple(Value(start, float(index + 1), source) for index, start in enumerate(sorted(starts)))
    found = Dated("USD", entries).at(day)
    begun = [start for start in starts if start <= day]

    if not begun:
        assert found == NotYet(min(starts))
    else:
        assert isinstance(found, Value)
        assert max(begun) == found.start
