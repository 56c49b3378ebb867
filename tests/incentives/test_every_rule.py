"""Every shipped rule has a case: in force it grants what was worked by hand, and out of force nothing."""

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import get_args

import pytest
from rule_cases import FILES, Case, award_of, house_of, read
from rule_cases_us import CASES as US_CASES
from rule_cases_world import CASES as WORLD_CASES

from finsolar.incentives.law import KINDS, NotYet, Source, Term, Value
from finsolar.incentives.rulebook import load_rules
from finsolar.scenario.schema import Category

CASES: Mapping[str, Case] = {**US_CASES, **WORLD_CASES}

OF_THE_COST = {"share", "share_spared", "rate_left", "yearly_shares", "cap_share_of_cost"}
"""Parameters that are nothing without cost lines to take them of."""

with_each_file = pytest.mark.parametrize("rule_id", FILES)
with_each_case = pytest.mark.parametrize("rule_id", sorted(CASES))


def test_every_shipped_rule_has_a_case_and_every_case_a_rule() -> None:
    """No rule is shipped untried, and no case is left behind by a rule that went."""
    assert sorted(CASES) == sorted(FILES)
    assert not set(US_CASES) & set(WORLD_CASES)


@with_each_case
def test_in_force_a_rule_grants_what_was_worked_by_hand(rule_id: str) -> None:
    """The sum of the amounts over the study, the worth of what is no payment, and how far it is granted."""
    case = CASES[rule_id]

    award = award_of(case, rule_id, case.in_force)

    assert award.status == case.status, award.reasons
    assert award.amounts.sum() == pytest.approx(case.expected, abs=0.005)
    assert award.worth.sum() == pytest.approx(case.worth, abs=0.005)
    assert award.reasons


@with_each_case
def test_out_of_force_a_rule_grants_nothing_and_says_why(rule_id: str) -> None:
    """Before its first day, after its end, and where the law is not known here, no amount is counted."""
    case = CASES[rule_id]

    award = award_of(case, rule_id, case.out_of_force)

    assert award.status in {"refused", "unknown"}
    assert not award.amounts.any()
    assert not award.worth.any()
    assert award.reasons


@with_each_case
def test_who_leases_gets_no_money_of_an_owner(rule_id: str) -> None:
    """Credits, rebates and payments wait for what the contract says; tax on goods is spared for whoever buys them."""
    case, rule = CASES[rule_id], read(rule_id)
    leased = replace(case, facts={**case.facts, "buys the system": False, "leases the system": True})

    award = award_of(leased, rule_id, case.in_force)

    assert award.amounts.any() == (rule.kind == "sales tax relief"), award.reasons
    assert not award.worth.any()


@with_each_case
def test_it_is_the_law_that_differs_between_the_two_days(rule_id: str) -> None:
    """A value leads on the day in force and none on the other; the house is the same on both."""
    case, rule = CASES[rule_id], read(rule_id)

    for day, in_force in ((case.in_force, True), (case.out_of_force, False)):
        on = house_of(case, rule, day).day(rule.event)
        assert isinstance(rule.leading.at(on), Value) is in_force


@with_each_file
def test_a_rule_is_found_under_the_place_it_belongs_to(rule_id: str) -> None:
    """A file in rules/us/ is a rule of the US, one in rules/us/ny/ a rule of New York."""
    country, *region = rule_id.split("/")[:-1]

    assert read(rule_id) in load_rules(country.upper(), *region)


@with_each_file
def test_every_value_is_dated_sorted_and_starts_with_the_rule(rule_id: str) -> None:
    """Days rise; nothing holds before the first; and all that belongs to a rule is known from its first day."""
    rule = read(rule_id)
    first = rule.leading.entries[0].start

    for name, dated in rule.parameters.items():
        starts = [entry.start for entry in dated.entries]
        assert starts == sorted(set(starts)), name
        assert starts[0] <= first, name
        assert isinstance(dated.at(starts[0].replace(year=starts[0].year - 1)), NotYet), name
        assert len(dated.unit) >= 3, name


@with_each_file
def test_every_fact_names_its_source_and_how_it_is_known(rule_id: str) -> None:
    """Values, terms, verdicts on lines and conditions alike; a rule is checked on a stated day of the past."""
    rule = read(rule_id)
    terms = [term for term in vars(rule).values() if isinstance(term, Term)]
    sources: list[Source] = [entry.source for dated in rule.parameters.values() for entry in dated.entries]
    sources += [term.source for term in terms]
    sources += [test.source for test in rule.lines] + [condition.source for condition in rule.conditions]

    assert {source.known for source in sources} <= {"seen", "memory"}
    # What was seen may have a first day, or the number of its law, from memory; never the fact itself.
    beside = r"\((the limit of 1 MW AC and the )?(first day|law number) from memory\)|; first day from memory"
    assert not [s for s in sources if s.known == "seen" and "memory" in re.sub(beside, "", s.reference)]
    assert all(len(source.reference) >= 5 for source in sources)
    assert rule.checked_on == date(2026, 11, 1)
    assert set(rule.parameters) <= {name for group in KINDS[rule.kind] for name in group}


@with_each_file
def test_a_rule_that_asks_about_cost_lines_speaks_of_every_category(rule_id: str) -> None:
    """A cost line of any category meets a stated verdict, some line counts, and no verdict is unused."""
    rule = read(rule_id)
    told = sorted(category for test in rule.lines for category in test.categories)

    if rule.lines:
        assert told == sorted(get_args(Category))
        assert any(test.counted for test in rule.lines)
    else:
        assert rule.kind == "owner's credit" or not OF_THE_COST & set(rule.parameters)
