"""The lender's tables: the first day foots, awards that come later pay nothing of it, lives against the term."""

from __future__ import annotations

import copy
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from conftest import plain_study

from finsolar.report.lenders_tables import (
    day_one,
    equipment,
    equipment_groups,
    funding,
    later_sentences,
    summary_rows,
)
from finsolar.report.words.amounts import money
from finsolar.report.words.lenders_told import NOT_STATED


def amount(text: str) -> Decimal:
    """An amount of money as it is printed; nothing for a dash."""
    return Decimal("0") if text == "–" else Decimal(re.sub("[^0-9.−-]", "", text).replace("−", "-"))


def test_both_sides_of_the_first_day_foot_as_numbers_and_as_printed(demo: Path) -> None:
    """Uses are sources; the printed lines add up to the printed feet, which are the same on both sides."""
    plain = plain_study(demo)

    for plan in plain["alternatives"]:
        found = plan["day_one"]
        uses, sources = (sum(one["amount"] for one in found[side]) for side in ("uses", "sources"))
        assert uses == pytest.approx(sources + found["own_money"], abs=1e-9)
        assert found["total"] == uses
    sides = funding(plain)
    assert [side.name for side in sides] == ["Uses", "Sources"]
    for i in range(len(plain["alternatives"])):
        feet = [amount(side.foot[i].text) for side in sides]
        assert feet[0] == feet[1]
        for side in sides:
            assert sum(amount(cells[i].text) for _, cells in side.lines) == feet[0], (side.name, i)


def test_own_money_is_what_the_cash_flow_lays_out_on_that_day(demo: Path) -> None:
    """Year 0 of the cash flow, less what staying would lay out too, which is no source."""
    for plan in plain_study(demo)["alternatives"]:
        flow, left = (
            plan["cash_flow"],
            sum(one["amount"] for one in plan["day_one"]["uses"] if one["name"] == "Left in hand"),
        )
        avoided = flow["lines"]["investment avoided"][0] + flow["lines"]["upkeep avoided"][0]
        assert plan["day_one"]["own_money"] - left == pytest.approx(avoided - flow["net"][0], abs=0.02)


def test_uses_are_costs_by_category_with_tax_allowance_and_fees(heron: dict[str, Any]) -> None:
    """All cost lines are in it, and the dealer's fee that the financed price hides."""
    dealer = next(plan for plan in heron["alternatives"] if "dealer" in plan["name"])
    uses = {one["name"]: one["amount"] for one in dealer["day_one"]["uses"]}

    assert uses["Dealer fee inside the financed price"] == dealer["loan"]["dealer_fee"] > 0
    assert uses["Sales tax"] == pytest.approx(sum(line["sales_tax"] for line in dealer["costs"]["lines"]))
    assert sum(uses.values()) == pytest.approx(dealer["costs"]["gross"] + dealer["loan"]["dealer_fee"])
    assert [one["name"] for one in dealer["day_one"]["sources"]] == ["Loan"]
    assert dealer["day_one"]["sources"][0]["amount"] == dealer["loan"]["principal"]


def test_an_award_that_comes_later_is_told_apart_with_its_years(heron: dict[str, Any]) -> None:
    """It is no source on the first day; one that comes on that day is."""
    plan = copy.deepcopy(heron["alternatives"][0])
    assert all("South Carolina" not in one["name"] for one in plan["day_one"]["sources"])
    told = next(told for told in later_sentences(heron) if plan["name"] in told)
    later = sum(sum(award["amounts"][1:]) for award in plan["incentives"])
    assert later > 0 and f"{money(later, 'USD', 2)} in years 1 and 2" in told and "no source" in told

    award = plan["incentives"][0] | {
        "title": "Grant on the day",
        "amounts": [500.0, 0.0, 40.0],
        "tax": [-30.0, 0.0, 0.0],
    }
    found = day_one(plan | {"incentives": [award]})
    assert {"name": "Grant on the day", "amount": 500.0} in found["sources"]
    assert {"name": "Income tax on Grant on the day", "amount": 30.0} in found["uses"]
    assert found["later"] == [{"title": "Grant on the day", "years": [2], "amount": 40.0}]
    assert found["own_money"] == pytest.approx(plan["day_one"]["own_money"] - 470.0)


def test_what_a_loan_brings_beyond_the_price_is_left_in_hand(heron: dict[str, Any]) -> None:
    """A use like any other, so that both sides foot."""
    plan = copy.deepcopy(heron["alternatives"][2])
    plan["loan"]["principal"] = 40_000.0

    found = day_one(plan)

    left = next(one["amount"] for one in found["uses"] if one["name"] == "Left in hand")
    assert left == pytest.approx(40_000 - plan["costs"]["gross"] - plan["loan"]["fee"])
    assert found["own_money"] == 0.0 and found["total"] == pytest.approx(40_000)


def test_equipment_is_held_against_the_term_by_when_it_falls_due(heron: dict[str, Any]) -> None:
    """Ten, twenty and fifteen years of loan against 14 years of battery, and an inverter whose life is a range."""
    bank, dealer, line = ({one.item: one for one in equipment(heron, i)} for i in (2, 3, 4))

    battery, inverter, modules = (bank[name] for name in ("New battery", "New inverter", "Solar modules"))
    assert (battery.warranty, battery.life, battery.renewed, battery.outlives) == (
        "10 years", "14 years", "due in year 14", "yes",
    )  # fmt: skip
    # By Weibull's law with 15 years and shape 3 one in ten fails before 15 (-ln 0.9)^(1/3) = 7.1 years.
    assert inverter.outlives == "yes, but not if it lasts the 7.1 years at the low end of its range"
    assert inverter.life == "7.1 to 19.8 years for eight in ten, 13.4 in the middle"
    assert (modules.life, modules.warranty, modules.outlives) == (NOT_STATED, NOT_STATED, NOT_STATED)
    assert dealer["New battery"].outlives == "no, due in year 14, 6 years before the last payment"
    assert line["New battery"].outlives == "no, due in year 14, 1 year before the last payment"
    assert dealer["Modules off and on for a new roof"].life == "planned by the year"
    assert {one.outlives for one in equipment(heron, 0)} == {"no loan"}


def test_ranges_and_what_is_not_due_within_the_study_are_told(juniper: dict[str, Any]) -> None:
    """A battery's own warranty stands in for one of its line; what is not due within the study outlives the loan."""
    plain = copy.deepcopy(juniper)
    plan, stated = plain["alternatives"][2], plain["scenario"]["alternatives"][2]
    k = next(k for k, line in enumerate(stated["upkeep"]) if line["category"] == "battery")
    stated["upkeep"][k] |= {"life": {"low": 8.0, "likely": 12.0, "high": 15.0}}
    stated["system"]["battery"]["warranty"] = {"years": 9, "mwh": 30.0}
    found = {one.item: one for one in equipment(plain, 2)}["New battery"]
    assert (found.life, found.warranty) == ("8 to 15 years, 12 in the middle", "9 years or 30 MWh delivered")
    assert found.outlives == "yes, but not if it lasts the 8 years at the low end of its range"

    stated["upkeep"][k] |= {"life": 40.0}
    plan["upkeep"][k]["due"] = []
    found = {one.item: one for one in equipment(plain, 2)}["New battery"]
    assert (found.life, found.renewed, found.outlives) == ("40 years", "not due within the study", "yes")


def test_alternatives_with_the_same_equipment_and_term_share_a_table(heron: dict[str, Any]) -> None:
    """The two in cash, then each loan with its own term."""
    found = equipment_groups(heron)

    assert [term for _, term, _ in found] == [
        "no loan", "a term of 10 years", "a term of 20 years", "a term of 15 years",
    ]  # fmt: skip
    assert found[0][0] == "“Own labour, cash” and “Contractor, cash”"


def test_the_summary_holds_the_figures_of_the_study_and_leaves_out_loans_where_there_are_none(
    heron: dict[str, Any],
) -> None:
    """A dash for those in cash; no row that nobody has."""
    rows = dict(summary_rows(heron))

    least = [cell.text for cell in rows["Debt service coverage, leanest year"]]
    assert least[:2] == ["–", "–"]
    assert least[2] == f"{heron['alternatives'][2]['loan']['coverage']['minimum']:.2f}"
    assert [cell.id for cell in rows["Borrowed"]][1:3] == ["", "alternatives.2.loan.principal"]
    assert all(
        cell.id.endswith("npv_above_zero.share") for cell in rows["Better off than by staying, of the cases drawn"]
    )
    cash = copy.deepcopy(heron)
    for plan in cash["alternatives"]:
        plan["loan"] = None
    assert "Borrowed" not in dict(summary_rows(cash)) and "NPV" in dict(summary_rows(cash))
