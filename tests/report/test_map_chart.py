"""The map of the answer on the page: the numbers of the study, where it turns, and when there is none."""

from __future__ import annotations

import copy
import json
import re
from functools import cache
from typing import Any

import pytest
from small_house import house
from test_page import EVIL, chart_data

import finsolar
from finsolar.report.figures import Chart
from finsolar.report.map_chart import map_of_the_answer
from finsolar.report.page import page
from finsolar.report.words.amounts import money
from finsolar.uncertainty.map import with_map
from finsolar.uncertainty.rises import with_rise_sweep

Plain = dict[str, Any]

STREET: Plain = {
    "study": {"years": 10},
    "alternatives": [
        {"name": "Own labour"},
        {"name": "Firm", "costs": [{"item": "Fitting", "category": "labour", "cost": 4200}]},
    ],
}


@cache
def _street() -> Plain:
    return with_map(with_rise_sweep(finsolar.study(house(STREET)))).to_json()


@pytest.fixture
def plain() -> Plain:
    """A small house with its map, for a test to change."""
    return copy.deepcopy(_street())


def drawn(plain: Plain) -> Chart:
    chart = map_of_the_answer(plain)
    assert chart is not None
    return chart


def test_the_map_is_that_of_the_study_and_passes_through_its_own_npv(plain: Plain) -> None:
    """Rises along, prices up; the dot at the scenario’s own place, where the table says its NPV."""
    chart, best = drawn(plain), plain["alternatives"][0]
    _, filled, zero, dot = chart.data
    npv = plain["map"]["alternatives"][0]["npv"]
    assert filled["x"] == pytest.approx([100 * rise for rise in plain["map"]["inputs"][0]["values"]])
    assert filled["y"] == [60, 70, 80, 90, 100, 110, 120, 130, 140]
    assert filled["z"] == zero["z"] == [[round(npv[i][j], 4) for i in range(13)] for j in range(9)]
    assert (dot["x"], dot["y"]) == ([2.0], [100.0])
    assert filled["z"][4][4] == pytest.approx(best["metrics"]["npv"], abs=1e-4)
    assert chart.table.head[5] == "100.0 %" and chart.table.rows[4][0] == "2.0 %"
    assert chart.table.rows[4][5].replace("\N{WORD JOINER}", "") == money(best["metrics"]["npv"], "USD").replace(
        "\N{WORD JOINER}", ""
    )
    assert [table.caption.partition(" by")[0].partition(":")[0] for table in chart.more] == [
        "Simple payback of “Own labour”", "NPV of “Firm”",
    ]  # fmt: skip


def test_where_it_turns_is_read_off_the_thick_line(plain: Plain) -> None:
    """Between the two rises where the NPV changes its sign, at the lowest price, today's and the highest."""
    rises, npv = plain["map"]["inputs"][0]["values"], plain["map"]["alternatives"][0]["npv"]
    told = drawn(plain).reading
    found = re.findall(r"at (\d+) %(?: of its price)? (at every|at none|from a rise of about (−?[\d.]+) %)", told)
    assert [share for share, *_ in found] == ["60", "100", "140"]
    for (share, when, at), column in zip(found, (0, 4, 8), strict=True):
        signs = [row[column] > 0 for row in npv]
        if when == "at every":
            assert all(signs)
        elif when == "at none":
            assert not any(signs)
        else:
            k = signs.index(True)
            assert 100 * rises[k - 1] - 0.05 <= float(at.replace("−", "-")) <= 100 * rises[k] + 0.05, share
    assert any(at for *_, at in found)
    gross = money(plain["alternatives"][0]["costs"]["gross"], "USD")
    assert f"A price of 100 % is the {gross} of the scenario; the dot is the scenario as written." in told
    assert "On the thick line it breaks even." in told


@pytest.mark.parametrize(
    ("column", "turns", "told"),
    [
        ([5.0, -5.0], [0.04], "at 100 % up to a rise of about 4.0 % a year"),
        ([5.0, -5.0, 5.0], [0.01, 0.03], "at 100 % up to 1.0 % and 3.0 %, where it turns"),
        ([-5.0, 5.0, -5.0], [0.01, 0.03], "at 100 % from 1.0 % and 3.0 % on, where it turns"),
        ([-5.0, -5.0], [], "at 100 % at none of the rises shown"),
        ([5.0, 5.0], [], "at 100 % at every rise shown"),
    ],
)
def test_a_line_that_turns_the_other_way_is_told_so(
    plain: Plain, column: list[float], turns: list[float], told: str
) -> None:
    own = plain["map"]["alternatives"][0]
    for k, row in enumerate(own["npv"]):
        row[:] = [1.0] * 4 + [column[min(k, len(column) - 1)]] + [-1.0] * 4
    own["break_even"][4] = turns
    assert told in drawn(plain).reading


def test_everywhere_better_is_said_in_one_sentence_without_a_line(plain: Plain) -> None:
    own = plain["map"]["alternatives"][0]
    own["npv"] = [[abs(npv) + 1 for npv in row] for row in own["npv"]]
    own["break_even"] = [[] for _ in own["break_even"]]
    chart = drawn(plain)
    assert chart.reading.startswith(
        "“Own labour” is worth more than staying as you are everywhere on this map. A price"
    )
    assert "thick" not in chart.reading and len(chart.data) == 3


def test_without_one_rise_there_is_no_dot(plain: Plain) -> None:
    plain["map"]["inputs"][0]["now"] = None
    chart = drawn(plain)
    assert "the scenario itself is not on the map, since its prices do not rise by one rate." in chart.reading
    assert [trace["type"] for trace in chart.data] == ["heatmap", "contour", "contour"]


def test_what_costs_nothing_to_build_and_what_has_no_map_show_none(plain: Plain) -> None:
    assert 'data-chart="map-npv"' in page(plain).partition('<section id="change"')[2]
    plain["alternatives"][0]["costs"]["gross"] = 0.0
    assert map_of_the_answer(plain) is None
    plain["alternatives"][0]["costs"]["gross"] = 9000.0
    plain["map"] = None
    assert map_of_the_answer(plain) is None and 'data-chart="map-npv"' not in page(plain)


def test_names_are_shown_and_never_obeyed_and_the_page_holds_json(plain: Plain) -> None:
    for each in (*plain["alternatives"], *plain["map"]["alternatives"]):
        each["name"] += EVIL
    text = page(plain)
    assert "<img" not in text
    figure = chart_data(text)["map-npv"]
    assert "<" not in json.dumps(figure["layout"]).replace("<br>", "")
    assert all(trace["name"] == "" for trace in figure["data"])
