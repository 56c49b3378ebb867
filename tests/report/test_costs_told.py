"""Risks, tools that are sold again, labour, warranties and a removal: in the plain values, the table and the page."""

from __future__ import annotations

import csv
import html
import io
import re
from typing import Any

import pytest
from small_house import house

import finsolar
from finsolar.report.page import page
from finsolar.report.table import as_csv
from finsolar.report.words import costs_told

CHANGES = {
    "study": {"inflation": "4%"},
    "costs": [
        {"item": "Modules", "category": "modules", "cost": 5500},
        {"item": "Second inspection", "category": "permits", "cost": 650, "chance": "20%"},
        {"item": "Scaffold", "category": "tools", "cost": 500, "resold": "60%", "resold_in": 2},
    ],
    "upkeep": [
        {"item": "Rinsing", "category": "upkeep", "cost": 60},
        {"item": "New inverter", "category": "inverter", "cost": 900, "labour": 350, "every": 4, "warranty_years": 4},
        {"item": "Taking it down", "category": "removal", "cost": 100, "labour": 400, "rise": "0%"},
    ],
}


@pytest.fixture(scope="module")
def plain() -> dict[str, Any]:
    """The study of the small house with them."""
    return finsolar.study(house(CHANGES)).to_json()


def test_a_risk_keeps_its_chance_and_its_full_price_beside_what_counts(plain: dict[str, Any]) -> None:
    sure, risk, _ = plain["alternatives"][0]["costs"]["lines"]

    assert (sure["chance"], sure["full_price"], sure["price"]) == (1.0, 5500.0, 5500.0)
    assert (risk["chance"], risk["full_price"], risk["price"]) == pytest.approx((0.2, 650.0, 130.0))
    assert plain["alternatives"][0]["costs"]["gross"] == pytest.approx(5500 + 130 + 500)


def test_what_is_sold_again_is_money_of_its_year(plain: dict[str, Any]) -> None:
    """60 % of 500, at prices 4 % up, at the end of year 2."""
    [plan] = plain["alternatives"]

    assert plan["costs"]["sold_again"] == pytest.approx(312.0)
    assert plan["cash_flow"]["lines"]["tools sold again"] == pytest.approx([0, 0, 312, *[0] * 10])


def test_renewals_name_the_years_in_which_parts_are_free(plain: dict[str, Any]) -> None:
    """The unit of day 0 carries the warranty for year 4; the one that is paid for in year 8 begins another."""
    [plan] = plain["alternatives"]
    rinsing, inverter, removal = plan["upkeep"]

    assert (rinsing["warranty_years"], rinsing["covered"], rinsing["labour"]) == (None, [], 0.0)
    assert (inverter["due"], inverter["covered"], inverter["warranty_years"]) == ([4, 8], [4], 4)
    assert removal["due"] == [12]
    lines = plan["cash_flow"]["lines"]
    assert lines["replacements"][4] == pytest.approx(-350 * 1.04**3)
    assert lines["replacements"][8] == pytest.approx(-(900 + 350) * 1.04**7)
    assert lines["removal"] == pytest.approx([*[0] * 12, -(100 + 400 * 1.04**11)])


def test_the_table_has_a_row_for_each_of_them(plain: dict[str, Any]) -> None:
    rows = list(csv.DictReader(io.StringIO(as_csv(plain))))

    def told(part: str, item: str) -> list[tuple[str, float, str]]:
        chosen = (row for row in rows if (row["part"], row["item"]) == (part, item))
        return [(row["year"], float(row["value"]), row["note"]) for row in chosen]

    assert told("cost chance", "Second inspection") == [("0", 0.2, "permits")]
    assert told("cost full_price", "Second inspection") == [("0", 650.0, "permits")]
    assert told("cost", "sold_again") == [("", pytest.approx(312.0), "")]
    assert told("each time cost", "New inverter") == [("", 900.0, "today's prices")]
    assert told("each time labour", "New inverter") == [("", 350.0, "today's prices")]
    assert told("falls due", "New inverter") == [("4", 1.0, "parts free under warranty"), ("8", 1.0, "")]
    assert told("falls due", "Taking it down") == [("12", 1.0, "")]


def test_words_say_how_likely_how_much_and_when() -> None:
    risk = {"chance": 0.2, "price": 130.0, "full_price": 650.0}
    line = {"cost": 900.0, "labour": 350.0, "due": [4, 8], "covered": [4]}

    assert costs_told.price_in_words(risk, "USD") == "$130.00 (20 % chance of $650.00)"
    assert costs_told.price_in_words(risk | {"chance": 0.125}, "USD").endswith("(12.5 % chance of $650.00)")
    assert costs_told.price_in_words(risk | {"chance": 1.0}, "USD") == "$130.00"
    assert costs_told.each_time_in_words(line, "USD") == "$900.00 and $350.00 of work"
    assert costs_told.each_time_in_words(line | {"labour": 0.0}, "USD") == "$900.00"
    assert costs_told.when_in_words(line) == "years 4 and 8; parts free under warranty in year 4"
    assert costs_told.when_in_words(line | {"covered": []}) == "years 4 and 8"


def test_the_page_shows_them_and_says_nothing_of_them_where_there_are_none(plain: dict[str, Any]) -> None:
    text = html.unescape(re.sub(r"<[^>]+>", " ", page(plain)))
    bare = html.unescape(re.sub(r"<[^>]+>", " ", page(finsolar.study(house()).to_json())))

    for sentence in (
        "$130.00 (20 % chance of $650.00)",
        "it counts with what is to be expected of it",
        "$312.00 comes back when tools are sold again",
        "$900.00 and $350.00 of work",
        "years 4 and 8; parts free under warranty in year 4",
        "Removal",
    ):
        assert sentence in text, sentence
        assert sentence not in bare, sentence
