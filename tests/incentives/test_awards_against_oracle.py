"""Every award of invented rules and houses agrees with a slow oracle that shares no arithmetic with the engine."""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

import numpy as np
import pytest
from drawn_rules import (
    KINDS,
    Dice,
    drawn_bill,
    drawn_helps,
    drawn_home,
    drawn_rule,
    drawn_rules,
    loan_worth_at,
)
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import house, line, subsidy
from oracle_awards import Home, Paid, answers

from finsolar.incentives.awards import assess
from finsolar.incentives.facts import Award, House
from finsolar.incentives.law import Rule


def engine_house(home: Home) -> House:
    """Return the plain house of the oracle as the engine takes it."""
    told = {name: value for name, value in vars(home).items() if name not in {"discount", "claims"}}
    claims = {name: dict(claim) for name, claim in home.claims.items()}
    found = house(**told, claims=claims, loan_worth=loan_worth_at(home.discount))
    assert set(found.days) == set(home.days)
    return found


def engine(
    rules: Sequence[Rule], home: Home, paid: Sequence[Paid], helps: Sequence[tuple[float, bool]], years: int
) -> dict[str, Award]:
    """Return the engine's awards by id."""
    lines = [line(one.category, one.cost, one.tax) for one in paid]
    found = assess(rules, engine_house(home), lines, [subsidy(*one) for one in helps], years)
    assert [one.rule_id for one in found] == [one.id for one in rules]
    return {one.rule_id: one for one in found}


def compare(
    rules: Sequence[Rule], home: Home, paid: Sequence[Paid], helps: Sequence[tuple[float, bool]], years: int
) -> None:
    """Hold amounts, tax, worth, basis and potential of every award against the oracle's."""
    found = engine(rules, home, paid, helps, years)
    for rule_id, by_hand in answers(rules, home, paid, helps, years).items():
        one = found[rule_id]
        for name in ("amounts", "tax", "worth", "basis", "potential"):
            np.testing.assert_allclose(
                getattr(one, name),
                getattr(by_hand, name),
                rtol=1e-9,
                atol=1e-7,
                err_msg=f"{rule_id} {name}: {one.reasons}",
            )
        assert one.status in {"granted", "partly"} or by_hand.total < 1e-7, one.reasons


@settings(max_examples=150)
@given(random=st.randoms(use_true_random=True))
def test_awards_of_drawn_rules_agree(random: Random) -> None:
    """Up to four rules of any kind that lower, exempt and exclude one another; ten towns an example."""
    dice = Dice(random)
    for _ in range(10):
        years = random.randint(1, 8)
        compare(drawn_rules(dice), drawn_home(dice, years), drawn_bill(dice), drawn_helps(dice), years)


@pytest.mark.parametrize("kind", KINDS)
@settings(max_examples=10)
@given(random=st.randoms(use_true_random=True))
def test_each_kind_alone_agrees(kind: str, random: Random) -> None:
    """One rule of one kind, all its parameters and terms drawn; ten houses an example."""
    dice = Dice(random)
    for _ in range(10):
        years = random.randint(1, 8)
        drawn = drawn_rule(dice, kind=kind)
        compare([drawn], drawn_home(dice, years), drawn_bill(dice), drawn_helps(dice), years)


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"income tax exemption", "owner's credit"}))
def test_what_is_drawn_is_worth_comparing(kind: str) -> None:
    """Of every kind that pays, a quarter and more of the rules drawn pay something to the house drawn with them."""
    dice = Dice(Random(7))
    paying = 0
    for _ in range(60):
        drawn = drawn_rule(dice, kind=kind)
        paying += answers([drawn], drawn_home(dice, 5), drawn_bill(dice), [], 5)[drawn.id].total > 1
    assert paying > 15
