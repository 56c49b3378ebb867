"""Alternatives against one another, in words: each sentence follows the flows behind it."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
import pytest

from finsolar.money.compare import Contender
from finsolar.money.ranking import ranking
from finsolar.report.words import compared


def contender(name: str, net: list[float], rate: float, investment: list[float] | None = None) -> Contender:
    """An alternative known by its flows; invested in year 0 unless said."""
    flows = np.array(net, dtype=float)
    invested = np.array(investment if investment else [flows[0], *[0.0] * (flows.size - 1)])
    none, rates = np.zeros(()), np.asarray(rate)
    return Contender(name, flows, flows - invested, invested, rates, -flows[0], none, np.asarray(np.nan), ())


def reason(flows: dict[str, list[float]], rate: float = 0.05, investment: dict[str, list[float]] | None = None) -> str:
    """What is said of the order of some flows."""
    found = ranking([contender(name, net, rate, (investment or {}).get(name)) for name, net in flows.items()])
    return compared.ranking_reason(found, rate, "USD").replace("\N{WORD JOINER}", "")


def test_a_smaller_outlay_is_told_with_the_year_in_which_the_other_is_ahead() -> None:
    assert reason({"Small": [-1000, 600, 600, 600], "Large": [-3000, 1400, 1400, 1400]}) == (
        "The two orders differ: “Small” is back after 1.7 years and “Large” is back after 2.1 years, yet “Large” has "
        "the higher NPV, $813 against $634. “Small” lays out $2,000 less and so is back sooner, but “Large” earns more "
        "in the years after: from year 3 on the running total of “Large” stays ahead, at the end by $400."
    )


def test_one_without_any_outlay_is_never_out_of_pocket() -> None:
    told = reason({"Leased": [0, 100, 100, 100], "Owned": [-1000, 600, 600, 600]})
    assert "“Leased” is never out of pocket and “Owned” is back after 1.7 years" in told
    assert "“Leased” lays out $1,000 less and so is never out of pocket, but “Owned” earns more" in told


def test_a_renewal_after_the_payback_is_told_with_its_year() -> None:
    told = reason(
        {"Quick": [-1000, 600, 600, -100, 600], "Rich": [-1000, 500, 600, 500, 600]},
        investment={"Quick": [-1000, 0, 0, -700, 0]},
    )
    assert told.endswith(
        "The payback of “Quick” does not see the $700 that it lays out afterwards, above all in year 3; “Rich” lays "
        "out $0 in those years, and without either it would not lead."
    )


def test_a_set_back_is_told_with_both_paybacks() -> None:
    flows = {"Quick": [-1000, 550, 550, 100, 100, 100], "Rich": [-1000, 800, 400, -600, 900, 900]}
    told = reason(flows, investment={"Rich": [-1000, 0, 0, -800, 0, 0]})
    assert "“Rich” is back after 3.4 years" in told
    assert told.endswith(
        "“Rich” is back a first time after 1.5 years, until $800 in year 3 take it below zero again; from year 4 on "
        "the running total of “Rich” stays ahead, at the end by $1,000."
    )


def test_later_earnings_are_told() -> None:
    told = reason({"Quick": [-100, 60, 50, 10, 10], "Rich": [-100, 40, 50, 50, 50]})
    assert told.endswith(
        "“Quick” brings in more in its first years and “Rich” in later ones: from year 3 on the running total of "
        "“Rich” stays ahead, at the end by $60."
    )


def test_discounting_is_told_with_what_it_outweighs() -> None:
    told = reason({"Quick": [-1000, 600, 500, 300], "Rich": [-100, 30, 30, 340]}, rate=0.1)
    assert told.endswith(
        "In the money of each year “Quick” ends $100 ahead, but what “Rich” has more comes sooner, and at 10.0 % a "
        "year that weighs more."
    )
    never = reason({"Quick": [-100, 60, 60, 0], "Rich": [-10, 100, 0, -95]}, rate=0.1)
    assert "“Quick” is back after 1.7 years and “Rich” is not back within the study, yet “Rich” has" in never


def test_orders_that_agree_are_told_by_their_ends() -> None:
    assert reason({"B": [-100, 70, 70], "A": [-100, 80, 80], "C": [-100, 60, 60]}) == (
        "The two orders agree: “A” comes first with an NPV of $49, “C” last with $12; the one is back after 1.2 years, "
        "the other back after 1.7 years."
    )
    assert reason({"A": [-100, 50, 40], "B": [-100, 50, 30]}) == (
        "None of the alternatives is back within the study, so that there is one order only: “A” comes first with an "
        "NPV of −$16, “B” last with −$25."
    )


@pytest.mark.parametrize(
    ("net", "told"),
    [
        ([-100, 80, 80], "“A” is the only way to go here: back after 1.2 years and, with an NPV of $49, ahead of"),
        ([-100, 50, 40], "“A” is the only way to go here: not back within the study and, with an NPV of −$16, behind"),
        ([10, 50, 40], "“A” is the only way to go here: never out of pocket and, with an NPV of $94, ahead of"),
    ],
)
def test_one_way_alone_is_set_against_staying(net: list[float], told: str) -> None:
    assert reason({"A": net}).startswith(told)
    assert reason({"A": net}).endswith(" staying as you are.")


def test_ties_are_told_as_ties() -> None:
    twins = {"A": [-100.0, 80, 80], "B": [-100.0, 80, 80], "C": [-50.0, 40, 40]}
    assert reason(twins).endswith(" “A” and “B” tie by NPV and “A”, “B” and “C” tie by payback.")
    del twins["C"]
    assert reason(twins).endswith(" “A” and “B” tie in both.")
    assert reason({"A": [-100, 105]}).endswith(" “A” and staying as you are tie by NPV.")
    assert "tie" not in reason({"A": [-100, 80, 80], "B": [-100, 50, 30], "C": [-100, 50, 20]})  # never is no tie


def test_one_that_is_back_and_yet_behind_staying_is_named() -> None:
    told = reason({"A": [-100, 80, 80], "B": [-100, 50, 52]})
    assert told.endswith(
        " “B” is back within the study and yet behind staying as you are, since at 5.0 % a year what comes back is "
        "worth less than what is laid out."
    )
    assert "behind staying" not in reason({"A": [-100, 80, 80], "B": [-100, 50, 40]})


def test_rows_of_the_order_hold_staying_without_a_payback(juniper: dict[str, Any]) -> None:
    rows = compared.ranking_rows(juniper)
    [stay] = [row for row in rows if row[0] == "Stay as you are"]
    assert stay[2:] == ["$0", "–", "–"]
    assert len(rows) == len(juniper["alternatives"]) + 1
    never = copy.deepcopy(juniper)
    never["comparison"]["ranking"][0] |= {"by_payback": None, "simple_payback": None}
    assert compared.ranking_rows(never)[0][3:] == ["–", "never"]


def test_rows_of_pairs_hold_every_figure(juniper: dict[str, Any]) -> None:
    pair = juniper["comparison"]["pairs"][0] | {"irr": None, "extra_saving": 1234.0, "simple_payback": 3.25}
    [row] = compared.pair_rows(juniper | {"comparison": {"pairs": [pair]}})
    assert len(row) == 8
    assert (row[3], row[5], row[6]) == ("$1,234", "none", "3.2 y")


def own_hours(**changed: Any) -> dict[str, Any]:
    """A comparison with own labour."""
    own = {
        "name": "Ours", "against": "Firm", "hours": 100.0, "saved": 5000.0, "per_hour": 50.0, "npv_per_hour": 50.0,
        "worth_per_hour": None, "worth": None, "npv_less_worth": None, "pays": None,
    }  # fmt: skip
    return {"settings": {"currency": "USD"}, "comparison": {"own_labour": [own | changed], "own_work": []}}


def test_own_hours_are_told_by_the_premium_and_by_what_they_are_worth() -> None:
    [alone] = compared.own_hours_sentences(own_hours())
    assert alone.endswith("it takes a premium of $50.00.")
    [later] = compared.own_hours_sentences(own_hours(npv_per_hour=44.0))
    assert later.endswith("Weighed by NPV, with what each costs later, it is $44.00 an hour.")
    [pays] = compared.own_hours_sentences(own_hours(worth_per_hour=40.0, pays=True))
    assert pays.endswith("At $40.00 that an hour is worth to you it pays to do it yourself rather than to hire.")
    [loses] = compared.own_hours_sentences(own_hours(worth_per_hour=60.0, pays=False))
    assert loses.endswith(
        "At $60.00 that an hour is worth to you it does not pay to do it yourself rather than to hire."
    )
    plain = own_hours()
    work = {"name": "Ours", "hours": 100.0, "worth_per_hour": 60.0, "worth": 6000.0, "npv_less_worth": -250.0}
    plain["comparison"] |= {"own_labour": [], "own_work": [work]}
    [left] = compared.own_hours_sentences(plain)
    assert left.replace("\N{WORD JOINER}", "") == (
        "With its 100 own hours set at $60.00 each, $6,000 in all, the NPV of “Ours” is −$250: then worse than "
        "staying as you are."
    )


def test_the_terminal_gives_the_reason_only_where_the_orders_differ() -> None:
    plain = own_hours()
    plain["comparison"] |= {"orders_agree": True, "ranking_reason": "They part for −\N{WORD JOINER}$5."}
    assert len(compared.terminal(plain)) == 1
    plain["comparison"]["orders_agree"] = False
    assert compared.terminal(plain)[1:] == ["They part for −$5."]


def test_the_quote_of_those_who_would_do_the_work_is_asked_for() -> None:
    """Only for what own labour is compared with; other pairs are told as before."""
    pair = {
        "behind": "Firm",
        "ahead": "Ours",
        "behind_by": 900.0,
        "price": 8000.0,
        "level_price": 7000.0,
        "reasons": {},
    }
    plain = own_hours() | {"break_even": {"pairs": [pair, pair | {"behind": "Other"}, pair | {"behind_by": 0.1}]}}
    quote, other, level = compared.levels(plain)
    assert quote == (
        "What would the quote of “Firm” have to be to draw level with “Ours”? $7,000 for all that is built, $1,000 "
        "below the $8,000 it is to cost."
    )
    assert other.startswith("“Other” would draw level with “Ours” at a price of $7,000")
    assert level == "“Firm” and “Ours” are worth the same."
    none = pair | {"level_price": None, "reasons": {"level_price": "it stays behind even as a gift"}}
    [gift] = compared.levels(plain | {"break_even": {"pairs": [none]}})
    assert gift.endswith("There is none: it stays behind even as a gift.")
