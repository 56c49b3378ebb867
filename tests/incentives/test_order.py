"""The order in which rules are applied: by kind, each after what it leans on, whatever order they are given in."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from random import Random

import numpy as np
import pytest
from drawn_rules import Dice, drawn_bill, drawn_helps, drawn_home, drawn_rules
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import SOURCE, awards, house, rule
from test_awards_against_oracle import engine

from finsolar.incentives.law import Rule, Term
from finsolar.incentives.order import in_order

REBATE = rule("upfront rebate", "town/rebate", fixed=1_000.0)


def ids(rules: list[Rule]) -> list[str]:
    """Return the ids of rules in their order."""
    return [one.id for one in rules]


def test_the_order_of_kinds() -> None:
    """What lowers tax on a payment, then prices, rebates, credits, deductions, and what comes year by year."""
    given_order = [
        rule("below-market loan", "a", rate=0.0, term_years=5.0),
        rule("performance payment", "b", per_kwh=0.1, term_years=5.0),
        rule("tax deduction", "c", yearly_shares=0.4),
        rule("tax credit", "d", share=0.3),
        rule("deemed certificates", "e", factor=5.0),
        rule("upfront rebate", "f", fixed=1.0),
        rule("sales tax relief", "g", rate_left=0.0),
        rule("income tax exemption", "h", ceiling_kw=30.0),
    ]

    assert "".join(ids(in_order(given_order))) == "hgefdcab"


def test_a_country_comes_before_its_region_and_then_the_id_decides() -> None:
    """Of one kind, in whatever order the rules are given."""
    rules = [rule("tax credit", rule_id, share=0.1) for rule_id in ("us/ny/a", "us/z", "us/ma/b", "us/b")]

    for given_order in permutations(rules):
        assert ids(in_order(given_order)) == ["us/b", "us/z", "us/ma/b", "us/ny/a"]


def test_a_rule_comes_after_those_it_leans_on_and_pulls_none_before_its_turn() -> None:
    """A grant lowered by a credit waits for it; the credit still sees every rebate."""
    waiting = rule("upfront rebate", "town/a", share=0.1, terms={"lowered_by": ("town/credit",), "lowers_price": False})
    credit = rule("tax credit", "town/credit", share=0.3, terms={"lowered_by": ("price reductions",)})

    for given_order in permutations([waiting, REBATE, credit]):
        assert ids(in_order(given_order)) == ["town/rebate", "town/credit", "town/a"]
    found = awards([waiting, REBATE, credit])
    assert float(found["town/credit"].basis) == 24_000
    assert float(found["town/a"].basis) == pytest.approx(25_000 - 7_200)


def test_a_rebate_that_others_lower_comes_after_them() -> None:
    """A share of the price is a share of the price after the other rebate."""
    lowered = rule("upfront rebate", "town/a", share=0.1, terms={"lowered_by": ("price reductions",)})

    assert ids(in_order([lowered, REBATE])) == ["town/rebate", "town/a"]
    assert awards([lowered, REBATE])["town/a"].amounts[0] == pytest.approx(2_400)


def test_credits_of_credits_form_a_chain() -> None:
    """Each is reckoned once the one before it is known."""
    first = rule("tax credit", "town/c", share=0.3)
    second = rule("tax credit", "town/b", share=0.5, terms={"credit_of": "town/c"})
    third = rule("tax credit", "town/a", share=0.5, terms={"credit_of": "town/b"})

    assert ids(in_order([third, second, first])) == ["town/c", "town/b", "town/a"]
    found = awards([third, second, first])
    assert [float(found[f"town/{name}"].potential) for name in "cba"] == [7_500, 3_750, 1_875]


@pytest.mark.parametrize("size", [2, 3])
def test_a_circle_is_an_error(size: int) -> None:
    """No rule of it can be first."""
    rules = [
        rule("tax credit", f"town/{k}", share=0.1, terms={"lowered_by": (f"town/{(k + 1) % size}",)})
        for k in range(size)
    ]

    with pytest.raises(ValueError, match=r"in a circle: town/\d -> town/\d"):
        in_order([*rules, REBATE])


@pytest.mark.parametrize(
    ("kind", "lowers_price", "word", "circle"),
    [
        ("upfront rebate", True, "price reductions", True),
        ("upfront rebate", False, "grants", True),
        ("upfront rebate", True, "grants", False),
        ("upfront rebate", False, "price reductions", False),
        ("tax deduction", None, "price reductions", False),
    ],
)
def test_a_circle_through_a_word_is_an_error(kind: str, lowers_price: bool | None, word: str, circle: bool) -> None:
    """The word means the rebates that do lower the price, or those that do not; a deduction is neither."""
    amount = {"yearly_shares": (0.1,)} if kind == "tax deduction" else {"share": 0.1}
    terms = {"lowered_by": ("a/c",)} | ({} if lowers_price is None else {"lowers_price": lowers_price})
    rules = [
        rule(kind, "a/r", terms=terms, **amount),  # type: ignore[arg-type]
        rule("tax credit", "a/c", share=0.3, terms={"lowered_by": (word,)}),
    ]

    for given_order in permutations(rules):
        if circle:
            with pytest.raises(ValueError, match=r"in a circle: a/[rc] -> a/[rc] -> a/[rc]"):
                in_order(given_order)
        else:
            assert ids(in_order(given_order)) == ["a/c", "a/r"]


def test_a_word_means_every_rebate_that_waits() -> None:
    """A credit lowered by grants is reckoned after a grant that waits for another credit, whatever their names."""
    first = rule("tax credit", "town/z", share=0.3)
    grant = rule("upfront rebate", "town/g", share=0.1, terms={"lowered_by": ("town/z",), "lowers_price": False})
    last = rule("tax credit", "town/a", share=0.1, terms={"lowered_by": ("grants",)})

    for given_order in permutations([first, grant, last]):
        assert ids(in_order(given_order)) == ["town/z", "town/g", "town/a"]
    found = awards([last, grant, first])
    assert float(found["town/a"].basis) == pytest.approx(25_000 - 1_750)


def test_of_two_rebates_that_a_word_makes_lower_one_another_the_first_is_whole() -> None:
    """By hand: a tenth of 25,000, then a tenth of what is left of it."""
    two = [rule("upfront rebate", name, share=0.1, terms={"lowered_by": ("price reductions",)}) for name in ("b", "a")]

    assert ids(in_order(two)) == ["a", "b"]
    found = awards(two)
    assert [float(found[name].amounts[0]) for name in "ab"] == pytest.approx([2_500, 2_250])


def test_rebates_that_name_both_sorts_follow_one_another() -> None:
    """The one lowered by grants is a price reduction itself, so what price reductions lower comes last."""
    later = rule("upfront rebate", "town/a", share=0.1, terms={"lowered_by": ("price reductions",)})
    former = rule("upfront rebate", "town/b", share=0.1, terms={"lowered_by": ("grants",)})

    for given_order in permutations([later, former]):
        assert ids(in_order(given_order)) == ["town/b", "town/a"]
    assert awards([later, former])["town/a"].amounts[0] == pytest.approx(2_250)


def test_a_name_that_is_not_here_holds_nothing_up() -> None:
    """A rule of another place may be named."""
    assert ids(in_order([rule("tax credit", "a", share=0.1, terms={"lowered_by": ("elsewhere",)})])) == ["a"]


def test_of_a_chain_of_exclusions_the_strongest_stands_whatever_the_order() -> None:
    """The first shuts out the second, which no longer shuts out the third."""
    strong, middle, weak = (
        rule("upfront rebate", rule_id, fixed=fixed) for rule_id, fixed in (("s", 900.0), ("m", 700.0), ("w", 500.0))
    )
    middle = replace(middle, excludes=Term(("s", "w"), "Not together.", SOURCE))

    for given_order in permutations([strong, middle, weak]):
        found = awards(given_order)
        assert [float(found[rule_id].amounts.sum()) for rule_id in "smw"] == [900, 0, 500]
        assert "cannot be combined with The s rule" in " ".join(found["m"].reasons)


@settings(max_examples=30)
@given(random=st.randoms(use_true_random=True))
def test_the_order_in_which_rules_are_given_changes_no_award(random: Random) -> None:
    """Any rules, shuffled: the same amounts, tax, worth and status."""
    dice = Dice(random)
    for _ in range(5):
        rules, years = drawn_rules(dice), 5
        told = drawn_home(dice, years), drawn_bill(dice), drawn_helps(dice), years
        one, other = engine(rules, *told), engine(random.sample(rules, len(rules)), *told)
        for rule_id, award in one.items():
            for name in ("amounts", "tax", "worth", "basis", "potential"):
                np.testing.assert_array_equal(
                    getattr(award, name), getattr(other[rule_id], name), err_msg=f"{rule_id} {name}"
                )
            assert award.status == other[rule_id].status


def test_credits_against_one_tax_share_it_in_that_order() -> None:
    """What the country's credit uses, the region's cannot; together they never pass the tax."""
    terms = {"carry_forward": 2.0, "against": "state income tax"}
    country = rule("tax credit", "us/z", fixed=1_500.0, terms=terms)
    region = rule("tax credit", "us/ma/a", fixed=1_500.0, terms=terms)
    tight = house(taxes={"state income tax": [1_000.0]})

    for given_order in ([country, region], [region, country]):
        found = awards(given_order, tight)
        assert found["us/z"].amounts.tolist() == [0, 1_000, 500, 0, 0, 0, 0]
        assert found["us/ma/a"].amounts.tolist() == [0, 0, 500, 1_000, 0, 0, 0]
