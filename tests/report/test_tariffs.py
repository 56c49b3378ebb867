"""Tariffs as plain values: the price of each hour of each month, each tariff once, and the same on the page."""

from __future__ import annotations

import html
import json
import re
from functools import lru_cache
from html.parser import HTMLParser
from typing import Any

import pytest
from small_house import HOUSE, changed

import finsolar
from finsolar.report.page import page
from finsolar.report.tariffs import tariffs_as_plain
from finsolar.results import Study
from finsolar.scenario.reading import from_text

SUMMER = [
    {"name": "peak", "price": {"from": 0.3, "to": 0.5}, "months": "jun-sep", "days": "mon-fri", "hours": "15-19"},
    {"name": "weekend", "price": 0.11, "days": "sat-sun"},
    {"name": "rest", "price": 0.16},
]

LATER = [{"name": "day", "price": 0.31, "hours": "6-22"}, {"name": "night", "price": 0.09}]

BILLS = [
    {"first_day": f"2025-{month:02d}-01", "last_day": f"2025-{month:02d}-28", "kwh": 600, "amount": 90.5 + month}
    for month in (1, 2, 3)
]


def tariff(energy: Any, **more: Any) -> dict[str, Any]:
    """A tariff without export."""
    return {"energy": energy, "rise": "2%", **more}


@lru_cache
def study_of(text: str) -> Study:
    """A short study of the small house."""
    return finsolar.study(from_text(text))


def studied(own: dict[str, Any] | None, *plans: dict[str, Any], **more: Any) -> Study:
    """The small house for three years under a tariff, with other plans and fields."""
    tree = changed(HOUSE, {"study": {"years": 3}, "alternatives": [{"name": "Roof"}, *plans], **more})
    if own is not None:
        tree["tariff"] = own
    return study_of(json.dumps(tree))


def test_the_hours_are_those_of_the_tariffs_grid() -> None:
    """Each day of each group has the hours of the grid, and the groups hold each day once."""
    study = studied(tariff(SUMMER))
    (found,) = tariffs_as_plain(study)

    assert study.settled.tariff is not None
    grid = study.settled.tariff.period_grid()
    names = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    assert [group["days"] for group in found["days"]] == ["mon-fri", "sat-sun"]
    for group, days in zip(found["days"], [range(5), range(5, 7)], strict=True):
        for day in days:
            assert group["hours"] == grid[:, day].tolist(), names[day]
    assert found["periods"] == [
        {"name": "peak", "price": pytest.approx(0.4)},
        {"name": "weekend", "price": 0.11},
        {"name": "rest", "price": 0.16},
    ]
    assert found["days"][0]["hours"][5][14:20] == [2, 0, 0, 0, 0, 2]
    assert found["days"][0]["hours"][4][15] == 2 and found["days"][1]["hours"][6][16] == 1
    assert json.loads(json.dumps(found)) == found


def test_days_of_one_kind_stand_together_even_if_not_in_a_row() -> None:
    """Wednesdays and Saturdays are dear."""
    energy = [{"name": "dear", "price": 0.3, "days": "wed, sat"}, {"name": "rest", "price": 0.1}]

    (found,) = tariffs_as_plain(studied(tariff(energy)))

    assert [group["days"] for group in found["days"]] == ["mon-tue, thu-fri, sun", "wed, sat"]


def test_the_same_tariff_is_told_once_with_all_who_have_it() -> None:
    """Those who stay, an alternative that inherits it, one that writes it again; another has its own, and one none."""
    off_grid = {"name": "Alone", "system": {"operation": "off grid"}}
    again, own = {"name": "Again", "tariff": {"energy": SUMMER}}, {"name": "Own", "tariff": {"energy": LATER}}

    first, second = tariffs_as_plain(studied(tariff(SUMMER), again, own, off_grid))

    assert (first["of"], second["of"]) == (["stay as you are", "Roof", "Again"], ["Own"])
    assert [each["name"] for each in second["periods"]] == ["day", "night"]


def test_a_later_tariff_stands_with_its_year_and_one_like_an_earlier_is_no_other() -> None:
    """It changes in year 2; the change back in year 3 shows the first once more, and is only named."""
    changes = [{"from_year": 2, "energy": LATER}, {"from_year": 3, "energy": SUMMER}]

    first, second = tariffs_as_plain(studied(tariff(SUMMER, later=changes)))

    names = ["stay as you are", "Roof"]
    assert second["of"] == [f"{name}, from year 2" for name in names]
    assert sorted(first["of"]) == sorted([*names, *(f"{name}, from year 3" for name in names)])


def test_a_house_without_a_grid_has_no_tariff_to_tell() -> None:
    """Nor is there a table of its week on the page."""
    tree = changed(
        HOUSE, {"study": {"years": 3}, "tariff": None, "generator": {"kw": 5, "fuel_price": 1, "rise": "2%"}}
    )
    tree["system"]["operation"] = "off grid"

    plain = study_of(json.dumps(tree)).to_json()

    assert plain["tariffs"] == [] and plain["drawer"] is None
    assert "The prices of the week" not in page(plain)


class Tables(HTMLParser):
    """The tables of a page by their caption: rows of cells as text."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, list[list[str]]] = {}
        self.rows: list[list[str]] = []
        self.text, self.caption = "", ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin a table, a row or a cell."""
        if tag == "table":
            self.rows = []
        elif tag == "tr":
            self.rows.append([])
        elif tag in {"td", "th", "caption", "li"}:
            self.text = ""

    def handle_data(self, data: str) -> None:
        """Gather the text of a cell."""
        self.text += data

    def handle_endtag(self, tag: str) -> None:
        """End it."""
        if tag in {"td", "th"}:
            self.rows[-1].append(self.text.replace("\N{WORD JOINER}", "").strip())
        elif tag == "caption":
            self.caption = self.text.strip()
        elif tag == "table":
            self.found.setdefault(self.caption, self.rows)


def tables(text: str) -> dict[str, list[list[str]]]:
    """Read the tables of a page."""
    parser = Tables()
    parser.feed(text)
    return parser.found


def test_the_page_shows_the_week_with_a_letter_for_each_price() -> None:
    """A letter, not the colour alone, says which; its key stands above the tables."""
    study = studied(tariff(SUMMER))
    text = page(study.to_json())
    found = tables(text)

    keys = [re.sub(r"<[^>]+>", "", key) for key in re.findall(r"<li>(<span class=\"key.*?)</li>", text)]
    assert keys == ["a peak, $0.400 a kWh", "b weekend, $0.110 a kWh", "c rest, $0.160 a kWh"]
    assert study.settled.tariff is not None
    grid = study.settled.tariff.period_grid()
    for days, day in (("Monday to Friday", 0), ("Saturday to Sunday", 5)):
        head, *rows = found[f"By hour and month, {days}"]
        assert head == ["Month", *map(str, range(24))]
        assert [row[1:] for row in rows] == [["abc"[place] for place in month] for month in grid[:, day]]
        assert rows[0][0].startswith("Jan") and len(rows) == 12


def test_a_tariff_of_one_price_has_no_table_of_its_week() -> None:
    """There is nothing to see in it."""
    text = page(studied(tariff(0.15)).to_json())

    assert "The prices of the week" not in text and 'class="week"' not in text


def test_the_page_shows_the_bill_in_the_drawer() -> None:
    """Each bill as billed and as computed, their sums, and the verdict below; 600 x 0.15 = 90."""
    plain = studied(tariff(0.15), household={"past_bills": BILLS}).to_json()
    text = page(plain)

    rows = tables(text)["Past bills, as billed and as computed"]
    assert rows[0] == ["Bill", "Days", "kWh", "Billed", "Computed", "Difference"]
    assert rows[1] == ["2025-01-01 to 2025-01-28", "28", "600", "$91.50", "$90.00", "−$1.50"]
    assert rows[-1] == ["All", "", "", "$277.50", "$270.00", "−$7.50"]
    assert len(rows) == 2 + len(BILLS)
    for told in plain["drawer"]["verdict"]:
        assert f"<li>{html.escape(told).replace('&#x27;', '&#39;')}</li>" in text
    assert "The bill in the drawer" not in page(studied(tariff(0.15)).to_json())
