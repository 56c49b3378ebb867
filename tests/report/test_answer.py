"""The short answer: one sentence to repeat, which follows the figures, the ranges and the chances; then the rest."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from conftest import ROOT, plain_study

from finsolar.report import command
from finsolar.report.words import answer, changes_told, sureness

Plain = dict[str, Any]


@pytest.fixture
def plain(juniper: Plain) -> Plain:
    """Juniper Lane, to be changed."""
    return copy.deepcopy(juniper)


@pytest.fixture
def bare(plain: Plain) -> Plain:
    """The same with nothing drawn."""
    plain["uncertainty"] = None
    return plain


def figures_of(plain: Plain, place: int = 0) -> Plain:
    """What was drawn of one alternative."""
    found: Plain = plain["uncertainty"]["alternatives"][place]
    return found


def chance(plain: Plain, place: int, share: float) -> None:
    figures_of(plain, place)["chances"]["npv_above_zero"]["share"] = share


def test_the_first_sentence_tells_cost_saving_payback_and_chance(plain: Plain) -> None:
    """All of it in one sentence, of which each number is the study's."""
    own = plain["alternatives"][0]
    own["costs"]["net"], own["bills"]["first_year_saving"] = 15393.4, 1402.6
    own["metrics"] |= {"simple_payback": 9.62, "simple_payback_lasting": 9.62}
    figures_of(plain)["figures"]["simple_payback"] |= {"p10": 8.04, "p90": 11.51}
    chance(plain, 0, 0.812)

    first, *_ = answer.short_answer(plain)

    assert first == (
        "“Own labour” costs $15,393 after incentives, saves about $1,403 in the first year, has paid for itself in 9.6 "
        "years, likely between 8.0 and 11.5; 8 chances in ten that it leaves us better off after 25 years."
    )
    assert first == answer.opening_sentence(plain)


def test_where_nothing_was_drawn_neither_range_nor_chance_is_told(bare: Plain) -> None:
    """The same sentence without them."""
    bare["alternatives"][0]["metrics"] |= {"simple_payback": 9.6, "simple_payback_lasting": 9.6}

    first, second, *_ = answer.short_answer(bare)

    assert first.endswith("in the first year, and has paid for itself in 9.6 years.")
    assert second.endswith("in the money of the first day.")
    assert not any(word in first + second for word in ("likely", "chance", "futures"))


@pytest.mark.parametrize(
    ("lasting", "first", "said"),
    [
        (
            14.4,
            10.6,
            "and has paid for itself in 14.4 years (a first time after 10.6, before a replacement sets it back)",
        ),
        (14.4, 14.38, "and has paid for itself in 14.4 years"),
        (0.0, 0.0, "and never leaves the household out of pocket over the years"),
        (None, None, "and has not paid for itself when the study ends after 25 years"),
        (None, 7.0, "and has not paid for itself when the study ends after 25 years"),
    ],
)
def test_the_payback_as_it_comes(bare: Plain, lasting: float | None, first: float | None, said: str) -> None:
    """For good, twice, at no time, never."""
    bare["alternatives"][0]["metrics"] |= {"simple_payback": first, "simple_payback_lasting": lasting}

    assert answer.opening_sentence(bare).endswith(f"in the first year, {said}.")


def test_a_payback_of_nothing_that_rests_on_worth_is_told_as_such(bare: Plain) -> None:
    """Whoever lays out 9,000 is out of pocket, whatever is spared."""
    bare["alternatives"][0]["metrics"] |= {"simple_payback": 0.0, "simple_payback_lasting": 0.0}
    bare["alternatives"][0]["cash_flow"]["lines"]["worth of backup"] = [12000.0, 0.0]

    said = answer.opening_sentence(bare)
    assert "and so counted is never behind over the years." in said and "leaves the household" not in said


@pytest.mark.parametrize("lasting", [0.0, None])
def test_a_range_of_paybacks_needs_a_payback(plain: Plain, lasting: float | None) -> None:
    """Without one the chance follows at once."""
    plain["alternatives"][0]["metrics"] |= {"simple_payback": lasting, "simple_payback_lasting": lasting}
    chance(plain, 0, 0.3)

    assert "likely" not in answer.opening_sentence(plain)
    assert answer.opening_sentence(plain).endswith("; 3 chances in ten that it leaves us better off after 25 years.")


def test_a_study_of_one_year_is_told_of_one_year(bare: Plain) -> None:
    one = bare | {"settings": bare["settings"] | {"years": 1}}

    assert answer.worth(one, 1.0).startswith("Over 1 year that")
    assert answer.payback(None, None, 1).endswith("ends after 1 year")


def test_a_rate_is_told_with_the_digits_it_needs(bare: Plain) -> None:
    rates = {0.05: "earning 5.0 % a year", 0.0525: "earning 5.25 % a year"}
    for rate, said in rates.items():
        assert said in answer.worth(bare | {"settings": bare["settings"] | {"discount_rate": rate}}, 1.0)


def test_dearer_bills_are_no_saving(bare: Plain) -> None:
    """A battery kept full may cost more than it brings."""
    bare["alternatives"][0]["bills"]["first_year_saving"] = -51.4

    assert "incentives, adds about $51 to the bills of the first year, " in answer.opening_sentence(bare)


def test_payments_for_a_leased_system_stand_beside_a_cost_of_nothing() -> None:
    """Tamarack Row leases at 96 a month: 1,152 in the first year."""
    plain = copy.deepcopy(plain_study(ROOT / "scenarios" / "tamarack-row.yaml"))
    plain["uncertainty"], plain["alternatives"] = None, [p for p in plain["alternatives"] if p["name"] == "Leased"]

    first = answer.opening_sentence(plain)

    assert first.startswith("“Leased” costs $0 after incentives and $1,152 of payments in the first year, saves about ")


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "in none of the futures drawn it leaves us better off"),
        (0.0004, "fewer than one chance in ten that it leaves us better off"),
        (0.049, "fewer than one chance in ten that"),
        (0.06, "one chance in ten that it leaves us better off"),
        (0.25, "2 chances in ten that"),
        (0.26, "3 chances in ten that"),
        (0.949, "9 chances in ten that"),
        (0.951, "more than nine chances in ten that it leaves us better off"),
        (0.9998, "more than nine chances in ten that"),
        (1.0, "in all of the futures drawn it leaves us better off"),
    ],
)
def test_a_chance_in_tenths_is_never_told_surer_than_it_is(plain: Plain, share: float, said: str) -> None:
    """And it agrees with the sentence that tells it out of a hundred: all and none are the same cases in both."""
    chance(plain, 0, share)

    assert f"; {said}" in answer.opening_sentence(plain)
    futures = sureness.futures_sentence(plain)
    assert futures is not None
    assert ("every one leaves" in futures) == said.startswith("in all")
    assert ("none leave" in futures) == said.startswith("in none")


@pytest.mark.parametrize(
    ("p10", "p90", "said"),
    [
        (8.0, 9.5, "in 5.0 years, likely between 8.0 and 9.5; "),
        (8.0, None, "in 5.0 years, likely no sooner than after 8.0 and perhaps never; "),
        (8.0, 8.05, "in 5.0 years; "),
        (None, None, "in 5.0 years; "),
    ],
)
def test_the_likely_payback(plain: Plain, p10: float | None, p90: float | None, said: str) -> None:
    """In the first sentence, where it is a span to speak of."""
    plain["alternatives"][0]["metrics"] |= {"simple_payback": 5.0, "simple_payback_lasting": 5.0}
    figures_of(plain)["figures"]["simple_payback"] |= {"p10": p10, "p90": p90}

    assert said in answer.short_answer(plain)[0]


@pytest.mark.parametrize(
    ("p10", "p90", "said"),
    [
        (-300.0, 900.0, "; likely between $300 worse and $900 better."),
        (300.0, 900.0, "; likely between $300 and $900 better."),
        (-900.0, -300.0, "; likely between $300 and $900 worse."),
        (300.0, 300.2, "first day."),
    ],
)
def test_the_likely_npv(plain: Plain, p10: float, p90: float, said: str) -> None:
    """In the second sentence, with the side of zero in words."""
    figures_of(plain)["figures"]["npv"] |= {"p10": p10, "p90": p90}

    assert answer.short_answer(plain)[1].endswith(said)


def test_the_answer_names_the_best_and_those_that_are_not_worth_it(juniper: Plain) -> None:
    """The alternative with the highest NPV leads; the losing ones follow, then own labour and what is not counted."""
    first, second, third, *rest = answer.short_answer(juniper)

    assert (
        first.startswith("“Own labour” costs ") and "better off than by staying as you are and earning 5.0 %" in second
    )
    assert third.startswith("Not worth it on these terms: “Contractor” (") and "“Own labour”" not in third
    assert rest[0] == changes_told.premium_sentence(juniper["comparison"]["own_labour"][0], "USD")
    assert rest[-1].startswith("What power is worth to you while the grid is down")


def test_what_is_not_worth_it_but_sometimes_ahead_is_told_so(plain: Plain) -> None:
    """In the same sentence, and only of those that do come out ahead."""
    plain["alternatives"][1]["metrics"]["npv"], plain["alternatives"][2]["metrics"]["npv"] = -998.0, -5000.0
    chance(plain, 1, 0.384)
    chance(plain, 2, 0.0)

    told = answer.short_answer(plain)[2].replace("\N{WORD JOINER}", "")

    assert told == (
        "Not worth it on these terms: “Contractor” (−$998, though ahead in 38 of 100 futures) and “Contractor on a "
        "ten-year loan” (−$5,000)."
    )
    chance(plain, 1, 1.0)
    chance(plain, 2, 0.002)
    told = answer.short_answer(plain)[2].replace("\N{WORD JOINER}", "")
    assert "(−$998, though ahead in every future)" in told
    assert "(−$5,000, though ahead in fewer than 1 of 100 futures)" in told


def test_where_nothing_pays_the_answer_says_so(plain: Plain) -> None:
    """And in which futures it would."""
    for k, plan in enumerate(plain["alternatives"]):
        plan["metrics"] |= {"npv": -5000.0 - k, "simple_payback": None, "simple_payback_lasting": None}
        chance(plain, k, (0.3, 0.12, 0.0)[k])

    first, second, third, *_ = answer.short_answer(plain)

    assert "has not paid for itself" in first and "3 chances in ten" in first
    assert "$5,000 worse off" in second
    assert third == (
        "None of the alternatives here earns that rate; this is the one that loses least. Yet it is not always so: "
        "“Contractor” comes out ahead in 12 of 100 futures."
    )
    plain["uncertainty"] = None
    assert answer.short_answer(plain)[2].endswith("this is the one that loses least.")


def test_names_are_told_as_they_are(bare: Plain) -> None:
    """Also one that looks like a place to fill."""
    bare["alternatives"][0]["name"] = "{cost} {0} %s"

    assert answer.opening_sentence(bare).startswith("“{cost} {0} %s” costs $")


def test_the_terminal_opens_with_the_same_sentence(juniper: Plain) -> None:
    """Behind the table, before the futures and all else."""
    table, _, first, *rest = command.told(juniper, 120)

    assert table.startswith(" ") and first == answer.opening_sentence(juniper)
    assert rest[0] == sureness.futures_sentence(juniper)
