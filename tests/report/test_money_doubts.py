"""Cautions about money: what may be a slip of the pen, and what turned out otherwise than planned."""

from __future__ import annotations

import pytest
from scenario.house import HOUSE

import finsolar
from finsolar.report.words.checked import checked
from finsolar.report.words.money_doubts import doubtful_money, loan_cautions
from finsolar.scenario.numbers import settled
from finsolar.scenario.reading import from_text


def doubts(old: str, new: str, name: str = "Contractor on a loan") -> list[str]:
    """Return what is doubted of an alternative of the invented house with some text in the place of other."""
    assert old in HOUSE
    scenario = settled(from_text(HOUSE.replace(old, new)))
    plan = next(plan for plan in scenario.alternatives if plan.name == name)
    return doubtful_money(plan, scenario.study.years)


LOAN = "payment: {loan: {rate: 7%, years: 10}}"
RINSING = "  - {item: Rinsing, category: upkeep, cost: 60}"


def test_a_plain_house_is_not_doubted() -> None:
    """Nothing is said where there is nothing to say."""
    assert doubts(LOAN, LOAN) == []


def test_what_the_owner_of_a_leased_system_would_pay_is_doubted() -> None:
    """Modules, rails and cable bought for a system of others, and its inverter renewed; work and permits may be."""
    inverter = RINSING + "\n  - {item: Spare inverter, category: inverter, cost: 900, every: 9}"
    said = doubts(LOAN, "payment: {lease: {monthly: 90, years: 20}}")
    assert said == [
        "others own the system, yet the household buys “Modules”, “Rails” and “Cable”; leave out by `without` what the "
        "owner pays"
    ]
    text = HOUSE.replace(LOAN, "payment: {per_kwh: {price: 0.11, years: 20}}").replace(RINSING, inverter)
    plan = settled(from_text(text)).alternatives[2]
    assert doubtful_money(plan, 20)[1].startswith("others own the system, yet the household renews “Spare inverter”;")


@pytest.mark.parametrize("due", ["every: 20", "every: 30", "in_years: [25]", "life: 21"])
def test_a_replacement_beyond_the_study_is_doubted(due: str) -> None:
    """It would cost nothing, and a short study would look cheap."""
    line = f"\n  - {{item: New inverter, category: inverter, cost: 1900, {due}}}"
    said = doubts(RINSING, RINSING + line)
    assert said == [
        "“New inverter” falls due at the end of the study of 20 years or after it, so it costs nothing here"
    ]
    assert doubts(RINSING, RINSING + line.replace(due, "every: 19")) == []


def test_a_wage_without_own_hours_is_doubted() -> None:
    """It would say nothing."""
    note = "    note: A firm does it all.\n"
    said = doubts(note, note + "    own_hour_worth: 20\n", "Contractor")
    assert said == ["own_hour_worth without own_hours, so it says nothing"]


@pytest.mark.parametrize(
    ("loan", "told"),
    [
        ("{rate: 7%, years: 10, amount: 20000}", "a loan of 20,000, and only 10,028 to pay"),
        ("{rate: 7%, years: 10, amount: 0}", "a loan that borrows nothing"),
        ("{rate: 7%, years: 10, share: 0%}", "a loan that borrows nothing"),
        (
            "{rate: 7%, years: 10, amount: 8000, paydown: {amount: 12100, month: 12}}",
            "12,100 to be paid into a loan of about 8,000",
        ),
    ],
)
def test_a_loan_that_does_not_fit_what_is_to_be_paid_is_doubted(loan: str, told: str) -> None:
    """1,800 + 1,500 + 500 of goods with 6 % of tax, and 6,000 of work: 10,028."""
    assert doubts(LOAN, f"payment: {{loan: {loan}}}") == [told]


def test_a_price_for_each_without_a_quantity_is_doubted() -> None:
    """Twelve modules are meant, one is counted."""
    assert doubts(", quantity: 12", "") == ["“Modules” has a price for each and no quantity, so one is counted"]


def test_a_tool_sold_after_the_study_is_doubted() -> None:
    """Nothing comes back for it."""
    cable = "  - {item: Cable, category: wiring, cost: 500}"
    said = doubts(cable, cable + "\n  - {item: Hoist, category: tools, cost: 700, resold: 50%, resold_in: 21}")
    assert said == ["“Hoist” is sold again in year 21, after the study of 20 years, so nothing comes back for it"]


def test_the_check_names_the_doubts_and_whose_they_are() -> None:
    """On the terminal, before any study is made."""
    text = checked(from_text(HOUSE.replace(LOAN, "payment: {lease: {monthly: 90, years: 20}}")), 100)
    assert "look again" in text
    told = " ".join(text.partition("look again")[2].split())
    assert "Contractor on a loan: others own the system, yet the household buys “Modules”" in told


def cautions(loan: str, rebate: bool = False) -> list[str]:
    """Return what is said of the loan of the invented house, studied for four years of its tax."""
    text = HOUSE.replace(LOAN, f"payment: {{loan: {loan}}}").replace("in_service: 2026-09-01", "in_service: 2025-09-01")
    text = text.replace("household:\n", "household:\n  marginal_tax: 22%\n  itemises: true\n")
    text = text if rebate else text.replace("rebates:\n  - {item: Town rebate, amount: 300}\n", "")
    study = finsolar.study(from_text(text))
    said = loan_cautions(study.results[2], "USD")
    assert set(said) <= {note.partition(": ")[2] for note in study.notes}
    return said


def test_a_plain_loan_brings_no_caution() -> None:
    """Nor does cash."""
    assert cautions("{rate: 7%, years: 10}") == []
    study = finsolar.study(from_text(HOUSE))
    assert loan_cautions(study.results[0], "USD") == []


def test_a_loan_of_more_than_there_is_to_pay_is_cut_and_told() -> None:
    """1,800 + 1,500 + 500 of goods with 6 % of tax, and 6,000 of work: 10,028."""
    assert cautions("{rate: 7%, years: 10, amount: 11000}") == [
        "caution: $972 of the loan is more than there is to pay, and is not borrowed."
    ]


def test_a_loan_that_brings_more_than_there_is_to_pay_beside_rebates_is_told() -> None:
    """300 of rebate on the same day; a loan of an amount below the rest brings no more."""
    assert cautions("{rate: 7%, years: 10}", rebate=True) == [
        "caution: with rebates the loan brings $300 more than there is to pay on the first day; a lender would lend "
        "less, so write an amount."
    ]
    assert cautions("{rate: 7%, years: 10, amount: 9000}", rebate=True) == []


def test_more_paid_in_than_is_owed_stays_with_the_household_and_is_told() -> None:
    """Of 1,000 borrowed at no interest for ten years, 900 are owed after a year."""
    assert cautions("{rate: 0%, years: 10, amount: 1000, paydown: {amount: 1200, month: 12}}") == [
        "caution: $1,200 was to be paid into the loan in month 12, but only $900 is owed then; the other $300 stay "
        "with the household."
    ]


def test_awards_that_come_too_late_for_the_loan_are_told() -> None:
    """The federal credit of 2025 arrives with the return, a year after the first day."""
    early = cautions("{rate: 7%, years: 10, paydown: {awards: 100%, month: 6}}")
    assert early == [
        "caution: awards are to be paid into the loan in month 6, but none has come in by then, so nothing is paid in."
    ]
    assert cautions("{rate: 7%, years: 10, paydown: {awards: 100%, month: 18}}") == []


def test_deducted_interest_is_left_to_a_tax_adviser() -> None:
    """The amount is named."""
    (said,) = cautions("{rate: 7%, years: 10, deductible: 100%}")
    assert "of income tax is counted as saved on the loan’s interest" in said
    assert said.endswith("whether it may be deducted is for a licensed tax adviser.")


def test_fees_that_take_all_leave_no_rate_and_are_told() -> None:
    """A fixed fee above what is borrowed."""
    assert cautions("{rate: 7%, years: 10, amount: 500, fixed_fee: 600}") == [
        "caution: the loan has no annual percentage rate: fees take all that is borrowed, so there is nothing that a "
        "rate could be on."
    ]
