"""Numbers as people read them, and sentences that follow the figures."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from finsolar.report.words import amounts, borrowing, changes_told, costs_told, terms
from finsolar.report.words.changes_told import level_sentence, pair_sentence, premium_sentence, turning_points


@pytest.mark.parametrize(
    ("amount", "digits", "text"),
    [
        (1234.5, 0, "$1,235"),
        (-1234.5, 0, "−$1,235"),
        (-0.2, 0, "$0"),
        (0.125, 2, "$0.13"),
        (2.5, 0, "$3"),
        (1e9, 0, "$1,000,000,000"),
        (1.005, 2, "$1.01"),
        (2.675, 2, "$2.68"),
        (-2.675, 2, "−$2.68"),
        (1e25, 2, "$10,000,000,000,000,000,000,000,000.00"),
    ],
)
def test_money_is_rounded_half_away_from_zero(amount: float, digits: int, text: str) -> None:
    """As on a bill; the minus is joined to its number."""
    assert amounts.money(amount, "USD", digits).replace("\N{WORD JOINER}", "") == text


def test_a_currency_without_a_sign_shows_its_code() -> None:
    """CHF 12, not $12."""
    assert amounts.money(12, "CHF") == "CHF 12"


@pytest.mark.parametrize(("share", "text"), [(0.0742, "7.4 %"), (-0.0742, "−7.4 %"), (-0.0001, "0.0 %")])
def test_per_cent(share: float, text: str) -> None:
    """A tiny negative share is no "minus zero"."""
    assert amounts.per_cent(share) == text


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (0.1234, "$0.123 a kWh"),
        (9.9, "$9.900 a kWh"),
        (110.597, "$110.60 a kWh"),
        (-12.345, "−\N{WORD JOINER}$12.35 a kWh"),
    ],
)
def test_a_price_of_ten_or_more_has_two_decimals(number: float, text: str) -> None:
    assert amounts.figure(number, "price", "USD") == text


def test_turning_points_name_each_alternative_once() -> None:
    """Straight lines: the crossing is found between the grid's points."""
    sweep = {
        "values": [0.0, 0.02, 0.04],
        "alternatives": [
            {"name": "A", "npv": [-100.0, 100.0, 300.0]},
            {"name": "B", "npv": [1.0, 2.0, 3.0]},
            {"name": "C", "npv": [4.0, 5.0, 6.0]},
            {"name": "D", "npv": [-3.0, -2.0, -1.0]},
        ],
    }

    assert turning_points(sweep) == (
        "It pays: “A” from a rise of about 1.0 % a year. “B” and “C” pay at every rise shown. "
        "“D” pays at none of the rises shown."
    )


def test_turning_points_tell_the_direction_and_every_stretch() -> None:
    """A rise may spoil it, or only rises in between may pay, or all but those: straight lines again."""
    sweep = {
        "values": [0.0, 0.02, 0.04, 0.06],
        "alternatives": [
            {"name": "Sells", "npv": [300.0, 100.0, -100.0, -300.0]},
            {"name": "Between", "npv": [-100.0, 100.0, 300.0, -100.0]},
            {"name": "Around", "npv": [100.0, -100.0, -100.0, 300.0]},
        ],
    }

    assert turning_points(sweep) == (
        "It pays: “Sells” up to a rise of about 3.0 % a year, "
        "“Between” between rises of about 1.0 % and 5.5 % a year and "
        "“Around” up to a rise of about 1.0 % a year and from a rise of about 4.5 % a year."
    )


def test_due_years_in_words() -> None:
    """Every year, some years, no year."""
    assert costs_told.due_in_words(list(range(1, 26))) == "every year, 1 to 25"
    assert costs_told.due_in_words(list(range(3, 26))) == "every year, 3 to 25"
    assert costs_told.due_in_words([12, 24]) == "years 12 and 24"
    assert costs_told.due_in_words([]) == "not within the study"
    assert costs_told.years_in_words([1, 4, 5, 6, 7, 13]) == "years 1, 4 to 7 and 13"
    assert costs_told.years_in_words([3, 4, 9]) == "years 3, 4 and 9"
    assert costs_told.years_in_words([2]) == "year 2"


def test_every_figure_of_merit_is_told_or_left_out_on_purpose(juniper: dict[str, Any]) -> None:
    """A new metric cannot be forgotten on the page."""
    told = {key for key, _, _ in terms.METRIC_ROWS}

    assert set(juniper["alternatives"][0]["metrics"]) - told == {"irrs", "sign_changes"}


def test_the_cost_of_backup_is_told_where_a_household_asks_for_it(juniper: dict[str, Any]) -> None:
    """Elsewhere neither its row nor its reason stands on the page; every other figure and reason does."""
    plan = {"reasons": {"irr": "one sign", "mirr": "one sign", "backup_cost": "it is free"}}
    assert terms.metric_rows(juniper) == [row for row in terms.METRIC_ROWS if row[0] != "backup_cost"]
    assert terms.metric_reasons(plan, juniper) == ["one sign"]

    household = juniper["scenario"]["household"] | {"backup_kwh": 30}
    asking = juniper | {"scenario": juniper["scenario"] | {"household": household}}
    assert terms.metric_rows(asking) == list(terms.METRIC_ROWS)
    assert terms.metric_reasons(plan, asking) == ["one sign", "it is free"]


def pair(**changed: object) -> dict[str, object]:
    """A comparison with some figures of its own."""
    found = {"dearer": "A", "cheaper": "B", "extra_outlay": 7748.0, "extra_npv": -4223.0, "irr": None}
    saved = {"extra_saving_first_year": 120.0, "extra_saving": 3000.0}
    return found | saved | {"simple_payback": None} | changed


def test_a_pair_is_told_by_what_comes_back() -> None:
    """Part of an outlay may come back without a rate of return; and a gain is never called a loss."""
    assert "does not come back in full. In NPV" in pair_sentence(pair(), "USD")
    assert "does not come back in full" in pair_sentence(pair(irr=-0.1), "USD")
    assert "earns 15.4 % a year" in pair_sentence(pair(irr=0.154, extra_npv=300.0), "USD")
    assert "come back" not in pair_sentence(pair(extra_npv=300.0), "USD")


def test_a_pair_is_told_by_what_it_saves_more() -> None:
    """More or less, in year 1 and over the study; the same where it is the same; also where nothing more is asked."""
    assert "asks $7,748 more at the start than “B” and saves $120 more in year 1, $3,000 more over the study" in (
        pair_sentence(pair(), "USD")
    )
    assert "saves $120 more in year 1, $50 less over the study" in pair_sentence(pair(extra_saving=-50.0), "USD")
    none = pair(extra_saving_first_year=0.0, extra_saving=0.2)
    assert "than “B” and saves the same; that extra outlay does not" in pair_sentence(none, "USD")
    assert pair_sentence(pair(extra_outlay=0.0), "USD") == (
        "“A” asks the same at the start as “B”, saves $120 more in year 1, $3,000 more over the study, and is $4,223 "
        "worse in NPV."
    )


def test_a_premium_is_told_by_the_hour_that_it_spares() -> None:
    """And not where having it done costs less."""
    own = {"name": "Ours", "against": "Firm", "hours": 120.0, "saved": 6000.0, "per_hour": 50.0}
    assert premium_sentence(own, "USD") == (
        "“Ours” instead of “Firm” keeps $6,000 in the house: for each of the 120 own hours that “Firm” would spare you "
        "it takes a premium of $50.00."
    )
    assert premium_sentence(own | {"saved": -600.0, "per_hour": -5.0}, "USD") == (
        "“Ours” costs $600 more than “Firm” after awards: its 120 own hours earn nothing."
    )
    assert premium_sentence(own | {"saved": 0.0}, "USD").startswith("“Ours” costs the same as “Firm” after")


def test_a_loan_is_told_by_its_leanest_year_and_what_is_paid_in(juniper: dict[str, Any]) -> None:
    """The sentence follows the figures: short, carried, nothing owed."""
    plan = copy.deepcopy(next(plan for plan in juniper["alternatives"] if plan["loan"]))
    loan = plan["loan"]

    told = borrowing.lender_sentence(plan, "USD")
    assert f"{loan['coverage']['minimum']:.2f} times the payments in its leanest year" in told
    assert "too little in 10 of its 10 years" in told
    assert told.endswith(f"{amounts.money(loan['out_of_pocket']['total'], 'USD')} in all.")
    assert "years 1 to 10 and 13" in told
    loan["out_of_pocket"]["years"] = 0
    assert borrowing.lender_sentence(plan, "USD").endswith("out of pocket in no year after the first day.")
    loan["coverage"]["minimum"], loan["reasons"]["minimum"] = None, "no debt falls due within the study"
    assert borrowing.lender_sentence(plan, "USD").endswith(
        "has nothing to pay back: no debt falls due within the study."
    )


def test_the_lenders_figures_are_words_and_no_answer_is_none(juniper: dict[str, Any]) -> None:
    """Each row of the table, with its number or none."""
    plan = next(plan for plan in juniper["alternatives"] if plan["loan"])
    rows = dict(borrowing.lender_rows(plan, "USD"))

    assert rows["Debt service coverage, leanest year"] == "0.39 (year 1)"
    assert rows["Years out of pocket, replacements among them"] == "11 years"
    assert rows["Payments due after the first replacement"] == "0 payments"
    assert rows["Payments due after the battery’s warranty"] == "not known"
    plan = copy.deepcopy(plan)
    plan["loan"]["outlasting"] = {"after_replacement": None, "after_warranty": 1.0}
    rows = dict(borrowing.lender_rows(plan, "USD"))
    assert rows["Payments due after the first replacement"] == "no replacement"
    assert rows["Payments due after the battery’s warranty"] == "1 payment"


def test_drawing_level_is_told_by_the_price_of_the_one_behind() -> None:
    """With a price, at none, and where both are worth the same."""
    found = {"behind": "A", "ahead": "B", "behind_by": 900.0, "price": 8000.0, "level_price": 7000.0, "reasons": {}}

    assert level_sentence(found, "USD") == (
        "“A” would draw level with “B” at a price of $7,000, $1,000 below the $8,000 it is to cost."
    )
    gift = found | {"level_price": None, "reasons": {"level_price": "it stays behind even as a gift"}}
    assert level_sentence(gift, "USD") == "“A” draws level with “B” at no price: it stays behind even as a gift."
    assert level_sentence(found | {"behind_by": 0.2}, "USD") == "“A” and “B” are worth the same."


def test_a_rise_is_told_with_its_direction() -> None:
    """From a rise on, up to one, or none; a loan has two of its own."""
    one = {"name": "A", "price": 5.0, "highest_price": None, "rise": 0.031, "falls_with_rise": False, "loan": None}
    two = one | {"falls_with_rise": True, "highest_price": 7.0, "loan": {"every_year": None, "over_term": 0.2}}
    two["loan"]["reasons"] = {"every_year": "why"}  # type: ignore[index]
    alternatives = [one | {"reasons": {"highest_price": "because"}}, two | {"reasons": {}}]
    plain = {"settings": {"currency": "USD"}, "break_even": {"alternatives": alternatives}}

    assert changes_told.break_even_rows(plain) == [
        ["A", "$5", "no price", "from 3.1 %", "no loan", "no loan"],
        ["A", "$5", "$7", "up to 3.1 %", "none", "from 20.0 %"],
    ]
    assert changes_told.break_even_reasons(plain) == ["A: because.", "A: why."]
