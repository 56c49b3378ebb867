"""Curves and maps of a number that is moved: JSON, CSV, terminal and page say the same, and say where it turns."""

from __future__ import annotations

import csv
import io
import json
import re
from functools import cache
from typing import Any

import pytest
from small_house import house

import finsolar
from finsolar.report.varied import HEAD, as_csv, terminal, varied_as_plain
from finsolar.report.varied_page import varied_page
from finsolar.report.words.varied_told import break_even_told, cell, told_values, words_and_unit
from finsolar.uncertainty.inputs import input_of
from finsolar.uncertainty.vary import FIGURES, Varied, axis, vary

STREET: dict[str, Any] = {
    "study": {"in_service": "2026-06-01", "years": 10, "discount_rate": "5%"},
    "alternatives": [
        {"name": "Own labour"},
        {"name": "<b>Firm</b>", "costs": [{"item": "=Fitting", "category": "labour", "cost": 4200}]},
    ],
}


@cache
def plain(*moved: tuple[str, Any, Any, int]) -> dict[str, Any]:
    """Some inputs of the small house moved, in plain values; not to be changed by a test."""
    base = finsolar.study(house(STREET))
    return varied_as_plain(vary(base, [axis(input_of(base, name), low, high, n) for name, low, high, n in moved]))


RISE = ("tariff.rise", "0%", "20%", 5)
PRICE = ("price of energy", "20%", "300%", 8)
COST = ("purchase price", "50%", "150%", 3)


@pytest.mark.parametrize("axes", [(RISE,), (PRICE, COST)])
def test_csv_holds_every_figure_of_the_json(axes: tuple[Any, ...]) -> None:
    """Each once, at its place, with a reason where there is none."""
    found = plain(*axes)
    rows = list(csv.DictReader(io.StringIO(as_csv(found))))
    first, *more = found["inputs"]

    assert tuple(rows[0]) == HEAD
    at = {
        (row["alternative"], row["figure"], float(row["at"]), float(row["second_at"] or 0)): row
        for row in rows
        if row["figure"] != "break_even"
    }
    assert len(at) == 2 * len(FIGURES) * len(first["values"]) * (len(more[0]["values"]) if more else 1)
    missing = 0
    for plan in found["alternatives"]:
        for name in FIGURES:
            for i, place in enumerate(first["values"]):
                for j, other in enumerate(more[0]["values"] if more else [0.0]):
                    number = plan[name][i][j] if more else plan[name][i]
                    row = at[plan["name"], name, place, other]
                    if number is None:
                        missing += 1
                        assert (row["value"], row["note"]) == ("", found["reasons"][name])
                    else:
                        assert (float(row["value"]), row["note"]) == (number, "")
    assert missing > 0
    lines = [float(row["at"]) for row in rows if row["figure"] == "break_even"]
    told = [plan["break_even"] for plan in found["alternatives"]]
    assert lines == [each for plan in told for part in (plan if more else [plan]) for each in part]
    assert len(lines) >= 2
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_the_terminal_prints_a_row_a_value_and_where_it_breaks_even() -> None:
    wide = terminal(plain(PRICE), 120)

    assert wide[0] == "NPV by price of energy from the grid, 100 % as in the scenario"
    rows = wide[2:10]
    assert [row.split(" %")[0].strip() for row in rows] == [
        "20.0", "60.0", "100.0", "140.0", "180.0", "220.0", "260.0", "300.0",
    ]  # fmt: skip
    npv = plain(PRICE)["alternatives"][0]["npv"]
    assert rows[0].split()[2] == f"−${-npv[0]:,.0f}"
    at = plain(PRICE)["alternatives"][0]["break_even"]
    assert len(at) == 1
    assert f"“Own labour” breaks even at about {at[0]:.1%} and is".replace("%", " %") in wide[-3]
    assert wide[-1].startswith("Between the values shown, break-evens lie on straight lines")
    assert "straight lines" not in " ".join(terminal(plain(("purchase price", "400%", "500%", 3)), 120))


def test_a_narrow_terminal_gets_a_table_for_each_alternative_or_fewer_columns() -> None:
    """Nothing wraps, and no value is lost from the curve."""
    curve = terminal(plain(RISE), 25)
    tables = [line for line in curve if line.startswith(("Own labour by", "<b>Firm</b> by"))]
    assert len(tables) == 2
    npv = [cell("npv", plan["npv"][-1], "USD") for plan in plain(RISE)["alternatives"]]
    assert [line.split()[2] for line in curve if line.startswith("20.0 %")] == npv

    grid = terminal(plain(COST, PRICE), 44)
    head = grid[1].split("%")
    assert 2 <= len(head) - 1 < 8
    assert all(len(line) <= 44 for line in grid[1:5])


def test_whether_it_pays_everywhere_or_nowhere_is_told() -> None:
    gift, dear = (break_even_told(plain(("purchase price", *ends, 3)))[0] for ends in (("0%", "10%"), ("400%", "500%")))

    assert gift == "“Own labour” is worth more than staying as you are at every value shown."
    assert dear == "“Own labour” is worth less at every value shown."
    assert (
        "worth more than staying as you are everywhere"
        in break_even_told(plain(("purchase price", "0%", "5%", 2), RISE))[0]
    )
    assert "breaks even on a line from price of energy" in break_even_told(plain(PRICE, COST))[0]
    by_price = break_even_told(plain(("tariff.rise", "1%", "1.001%", 2), ("purchase price", "0%", "300%", 3)))[0]
    assert by_price == "Whether “Own labour” is worth more than staying as you are turns on purchase price alone here."


def test_the_page_holds_curves_of_all_alternatives_with_their_tables() -> None:
    """Names are text, never markup; a reading, a table and words for those who do not see each chart."""
    text = varied_page(plain(RISE))

    assert text.startswith("<!doctype html>")
    assert text.count('class="plot" data-chart="vary-') == 4
    assert text.count("<details>") == 4
    assert text.count('role="img"') == text.count('-alt" hidden>') == 4
    assert "<b>Firm" not in text and "&lt;b&gt;Firm" in text
    figures = chart_data(text)
    assert set(figures) == {f"vary-{name.replace('_', '-')}" for name in FIGURES}
    for figure in figures.values():
        assert [trace["x"] for trace in figure["data"]] == [[0, 5, 10, 15, 20]] * 2
        assert "Yearly rise of the price of energy, %" in figure["layout"]["xaxis"]["title"]["text"]
    found = [round(npv, 4) for npv in plain(RISE)["alternatives"][1]["npv"]]
    assert figures["vary-npv"]["data"][1]["y"] == found
    assert text.count("The dotted line is the scenario as written.") == 1


def test_a_map_is_of_the_best_alternative_or_of_the_one_that_is_named() -> None:
    found = plain(PRICE, COST)
    best, named = varied_page(found), varied_page(found, "<b>Firm</b>")

    assert found["best"] == "Own labour"
    assert "NPV of “Own labour” by price of energy from the grid and purchase price" in best
    assert "NPV of “&lt;b&gt;Firm&lt;/b&gt;” by" in named
    maps = chart_data(best)
    assert set(maps) == {"map-npv", "map-simple-payback"}
    npv = found["alternatives"][0]["npv"]
    for figure in maps.values():
        grey, filled, zero, dot = figure["data"]
        assert (len(filled["z"]), len(filled["z"][0])) == (3, 8) == (len(grey["z"]), len(grey["z"][0]))
        assert zero["contours"]["start"] == zero["contours"]["end"] == 0
        assert zero["z"] == [[round(npv[i][j], 4) for i in range(8)] for j in range(3)]
        assert (dot["x"], dot["y"]) == ([100], [100])
    assert maps["map-npv"]["data"][1]["z"] == maps["map-npv"]["data"][2]["z"]
    assert maps["map-npv"]["data"][1]["zmin"] == -maps["map-npv"]["data"][1]["zmax"]
    assert any(None in row for row in maps["map-simple-payback"]["data"][1]["z"])
    assert "Where it is grey" in best


def test_a_map_without_a_break_even_draws_no_line_and_no_dot_beside_it() -> None:
    found = chart_data(varied_page(plain(("purchase price", "0%", "5%", 2), RISE)))["map-npv"]["data"]

    assert [trace["type"] for trace in found] == ["heatmap", "contour"]


def chart_data(text: str) -> Any:
    [data] = re.findall(r'id="chart-data">(.*?)</script>', text, re.DOTALL)
    return json.loads(data)


@pytest.mark.parametrize(("name", "words", "ends"), [
    ("household.outage.usual.spread", "spread of the lengths of usual outages around their mean",
     ["50.0 %", "300.0 %"]),
    ("household.outage.storms.spread", "spread of the lengths of outages by storm around their mean",
     ["50.0 %", "300.0 %"]),
    ("household.outage.longest_hours", "longest outage that is looked at", ["2 h", "48 h"]),
    ("household.outage.fuel_litres", "fuel that lies ready for the generator", ["2 litres", "48 litres"]),
    ("household.outage.losses.0.after_hours", "“Food”: hours in the dark before it goes", ["2 h", "48 h"]),
])  # fmt: skip
def test_fixed_numbers_of_outages_have_names_and_units(name: str, words: str, ends: list[str]) -> None:
    kinds = {"usual": {"times_a_year": 1, "hours_each": 3}, "storms": {"times_a_year": 0.2, "hours_each": 30}}
    outage = {"load_share": "60%", **kinds, "losses": [{"item": "Food", "cost": 200}]}
    base = finsolar.study(house({"study": {"years": 2}, "household": {"outage": outage}}))
    moved = Varied(base, (axis(input_of(base, name), *(("50%", "300%") if "spread" in name else (2, 48)), 2),), ())
    found = words_and_unit(moved, moved.axes[0])
    assert found[0] == words
    told = {"words": words, "unit": found[1], "values": list(moved.axes[0].values)}
    assert told_values(told, "USD") == ends
