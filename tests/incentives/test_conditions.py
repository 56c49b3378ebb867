"""What a rule asks of a household: a condition unmet pays nothing, one not told pays nothing either."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from invented import DAY, array, award, house, needs, rule, said

from finsolar.incentives.conditions import weigh
from finsolar.incentives.law import FACTS, NUMBERS

CREDIT: dict[str, Any] = {"kind": "upfront rebate", "fixed": 500.0}
FIRST, LAST = date(2026, 5, 1), date(2026, 7, 31)


@pytest.mark.parametrize("otherwise", ["refused", "unknown"])
@pytest.mark.parametrize("need", [name for name in FACTS if name != "household confirms"])
def test_a_fact_decides(need: str, otherwise: str) -> None:
    """Met it pays; unmet it is what the rule says; not told it is unknown, with the field to fill in."""
    asking = rule(**CREDIT, conditions=(needs(need, otherwise),))

    met = award(asking, house(facts={need: True}))
    unmet = award(asking, house(facts={need: False}))
    untold = award(asking, house(facts={need: None}))

    assert (met.status, met.amounts.sum()) == ("granted", 500)
    assert (unmet.status, untold.status) == (otherwise, "unknown")
    assert not unmet.amounts.any() and not untold.amounts.any()
    assert f"It asks for: {need}. (Invented Code 1)" in said(unmet)
    assert f"Fill in {FACTS[need]}." in said(untold)


@pytest.mark.parametrize(
    ("confirmed", "status"), [(True, "granted"), (False, "refused"), (None, "unknown")], ids=["yes", "no", "untold"]
)
def test_what_only_the_household_can_confirm(confirmed: bool | None, status: str) -> None:
    """The answer stands under claims, of that rule alone."""
    asking = rule(**CREDIT, conditions=(needs("household confirms"),))
    claims = {"town/one": {"confirmed": confirmed}, "town/two": {"confirmed": True}}
    answer = award(asking, house(claims=claims))

    assert (answer.status, bool(answer.amounts.any())) == (status, status == "granted")
    assert ("write confirmed: true for town/one under claims" in said(answer)) == (confirmed is None)


@pytest.mark.parametrize("need", NUMBERS)
@pytest.mark.parametrize(
    ("value", "kept"),
    [(4.999, False), (5.0, True), (8.0, True), (10.0, True), (10.001, False)],
    ids=lambda value: f"{value}",
)
def test_both_limits_of_a_number_belong_to_it(need: str, value: float, kept: bool) -> None:
    """At least 5 and at most 10 hold 5 and 10; the refusal tells the number."""
    asking = rule(**CREDIT, conditions=(needs(need, at_least=5.0, at_most=10.0),))
    answer = award(asking, house(numbers={need: value}))

    assert answer.status == ("granted" if kept else "refused")
    assert answer.amounts.any() == kept
    assert (f"It is {value:g}" in said(answer)) == (not kept)


@pytest.mark.parametrize("need", NUMBERS)
def test_a_number_not_told_is_unknown(need: str) -> None:
    """The field that tells it is named."""
    answer = award(rule(**CREDIT, conditions=(needs(need, at_most=10.0),)), house(numbers={need: None}))

    assert (answer.status, answer.amounts.any()) == ("unknown", False)
    assert f"Fill in {NUMBERS[need]}." in said(answer)


def test_a_limit_is_held_against_each_case() -> None:
    """Where some cases keep a limit, those are paid and the others are not."""
    asking = rule(**CREDIT, conditions=(needs("income", at_most=100_000.0),))
    answer = award(asking, house(numbers={"income": [90_000.0, 100_000.0, 110_000.0]}))

    assert answer.amounts[:, 0].tolist() == [500, 500, 0]
    assert answer.potential.tolist() == [500, 500, 0]
    assert answer.status == "partly"
    assert "in 2 of 3 cases" in said(answer)


@pytest.mark.parametrize(
    ("day", "asked"),
    [
        (FIRST - timedelta(days=1), False),
        (FIRST, True),
        (LAST, True),
        (LAST + timedelta(days=1), False),
    ],
    ids=str,
)
def test_a_condition_is_asked_from_its_first_to_its_last_day(day: date, asked: bool) -> None:
    """Both days belong to it."""
    asking = rule(**CREDIT, conditions=(needs("main home", since=FIRST, until=LAST),))

    assert award(asking, house(day, facts={"main home": False})).status == ("refused" if asked else "granted")


@pytest.mark.parametrize(
    ("funds", "status"), [(True, "granted"), (False, "refused"), (None, "unknown")], ids=["open", "empty", "untold"]
)
def test_a_budget_that_may_be_empty_counts_only_if_it_is_known_to_be_open(funds: bool | None, status: str) -> None:
    """First come, first served: money is never assumed."""
    answer = award(rule(**CREDIT, terms={"first_come": True}), house(claims={"town/one": {"funds": funds}}))

    assert (answer.status, bool(answer.amounts.any())) == (status, status == "granted")
    assert ("funds: true" in said(answer)) == (funds is None)


def test_a_rule_left_out_by_choice_pays_nothing() -> None:
    """And says that it was the household's own choice."""
    answer = award(rule(**CREDIT), house(claims={"town/one": {"claim": False}}))

    assert (answer.status, answer.amounts.any()) == ("refused", False)
    assert "Left out by your own choice (claims.town/one)." in said(answer)


@pytest.mark.parametrize(("currency", "status"), [("USD", "granted"), (None, "granted"), ("CAD", "unknown")])
def test_money_of_another_currency_is_not_reckoned(currency: str | None, status: str) -> None:
    """A cap or a tax in one money says nothing about another, so nothing is granted and nothing refused."""
    answer = award(rule(**CREDIT), house(currency=currency))

    assert (answer.status, bool(answer.amounts.any())) == (status, status == "granted")
    assert ("reckons in USD, the scenario in CAD" in said(answer)) == (status == "unknown")


def test_a_refusal_outweighs_what_is_not_known() -> None:
    """Who is refused need not fill in more."""
    asking = rule(**CREDIT, conditions=(needs("main home"), needs("lives there")))
    answer = award(asking, house(facts={"main home": None, "lives there": False}))

    assert answer.status == "refused"
    assert "Fill in" not in said(answer)


@pytest.mark.parametrize("name", ["cap", "cap_per_kw", "cap_share_of_cost", "lifetime_cap", "yearly_cap"])
def test_a_limit_that_the_law_has_not_settled_is_not_taken_for_none(name: str) -> None:
    """From the day a cap is unknown nothing is counted, and the reason is what is awaited."""
    limit = {date(2020, 1, 1): 0.5 if name == "cap_share_of_cost" else 100.0, DAY: "unknown"}
    terms = {"over_yearly_cap": "carried"} if name == "yearly_cap" else {}
    capped = rule("tax credit", share=0.3, terms=terms, **{name: limit})

    before, after = award(capped, house(DAY - timedelta(days=1))), award(capped)

    assert before.amounts.any()
    assert (after.status, after.amounts.any()) == ("unknown", False)
    assert f"What the law says of {name} is open. A vote is awaited." in said(after)


def test_the_verdict_tells_refusals_and_what_is_missing_apart() -> None:
    """The cases that keep all limits are told beside them."""
    asking = rule(
        **CREDIT,
        conditions=(needs("main home"), needs("lives there"), needs("solar kw", at_least=5.0), needs("solar")),
    )
    told = house(facts={"main home": False, "lives there": None}, numbers={"solar kw": [4.0, 6.0]})
    verdict = weigh(asking, told, DAY)

    assert [words.split(" (")[0] for words in verdict.refusals] == ["It asks for: main home."]
    assert [words.split(" (")[0] for words in verdict.missing] == ["It asks for: lives there."]
    np.testing.assert_array_equal(verdict.met, array([False, True]))


def test_an_amount_that_stops_is_not_granted_and_leaves_the_others() -> None:
    """Of two amounts that add up, one is repealed."""
    both = rule("upfront rebate", fixed={date(2020, 1, 1): 500.0, DAY: "ended"}, per_kw=100.0)

    assert award(both, house(DAY - timedelta(days=1))).amounts[0] == 1_300
    assert award(both).amounts[0] == 800
