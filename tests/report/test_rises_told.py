"""What is told of price rises: charts, tables and rows of the figures in the JSON, marks only where history is."""

from __future__ import annotations

import copy
import csv
import io
import json
from itertools import pairwise
from typing import Any

import pytest
from small_house import HOUSE, changed, house

import finsolar
from finsolar.report import rise_charts
from finsolar.report.figures import Chart
from finsolar.report.page import page
from finsolar.report.table import as_csv
from finsolar.report.words import amounts, rises_told
from finsolar.scenario.reading import from_text
from finsolar.uncertainty.rises import with_rise_sweep

Plain = dict[str, Any]

WAYS: Plain = {
    "tariff": {"rise": {"low": "-1%", "likely": "2%", "high": "5%"}},
    "alternatives": [
        {"name": "Roof"},
        {"name": "Dear", "costs": [{"item": "Gilded bolts", "category": "other", "cost": 3000}]},
        {"name": "Folly", "costs": [{"item": "A gilded frame", "category": "other", "cost": 90000}]},
    ],
}


def told(changes: Plain) -> Plain:
    """The plain values of a small house with its sweep."""
    return with_rise_sweep(finsolar.study(house(changes))).to_json()


@pytest.fixture(scope="module")
def whole() -> Plain:
    """Three ways to go: one always paid back, one at some rises, one never; not to be changed."""
    return told(WAYS)


@pytest.fixture(scope="module")
def abroad() -> Plain:
    """The same house in a country without a history."""
    tree = changed(HOUSE, WAYS)
    tree["place"] = {"country": "DE", "latitude": 50.1, "longitude": 8.7, "timezone": "Europe/Berlin"}
    return with_rise_sweep(finsolar.study(from_text(json.dumps(tree), "house.yaml"))).to_json()


@pytest.fixture
def plain(whole: Plain) -> Plain:
    """A copy to change."""
    return copy.deepcopy(whole)


def charts(plain: Plain) -> tuple[Chart, Chart]:
    """Both charts."""
    npv, payback = rise_charts.npv_by_rise(plain), rise_charts.payback_by_rise(plain)
    assert npv is not None and payback is not None
    return npv, payback


def marks(chart: Chart) -> dict[str, list[float]]:
    """The rises that a chart marks under its lines, by their words."""
    return {
        trace["name"]: trace["x"] for trace in chart.data if trace.get("yaxis") == "y2" and "lines" in trace["mode"]
    }


def test_keys_are_stable(whole: Plain, abroad: Plain) -> None:
    [sweep] = whole["sensitivity"]
    assert set(sweep) == {"input", "values", "own", "history", "reasons", "alternatives"}
    assert sweep["values"] == pytest.approx([k / 100 for k in range(-2, 11)])
    assert set(sweep["own"]) == {"central", "p10", "p90", "reasons"} and sweep["own"]["reasons"] == {}
    for plan in sweep["alternatives"]:
        assert set(plan) == {"name", "npv", "simple_payback", "discounted_payback"}
    history = sweep["history"]
    assert set(history) == {"country", "where", "series", "windows"}
    assert [each["name"] for each in history["series"]] == ["price", "electricity", "all_items"]
    for series in history["series"]:
        assert set(series) == {
            "name", "title", "unit", "publisher", "source", "quotes", "others", "missing", "changes",
        }  # fmt: skip
        assert set(series["changes"]) == {"first", "last", "mean", "sd"}
        for quote in (*series["quotes"], *series["others"]):
            assert set(quote) == {"year", "value", "vintage", "known"}
    for window in history["windows"]:
        assert set(window) == {"kind", "first", "last", "rises", "real"}
    assert history["series"][0]["missing"] == [{"year": 2025, "why": "its average was not known well enough"}]
    reason = "no history of prices is on hand for the country DE"
    assert abroad["sensitivity"][0]["history"] is None
    assert abroad["sensitivity"][0]["reasons"] == {"history": reason}


def test_what_the_json_says_of_history_follows_from_its_own_numbers(whole: Plain) -> None:
    history = whole["sensitivity"][0]["history"]
    by_year = {one["name"]: {q["year"]: q["value"] for q in one["quotes"]} for one in history["series"]}
    for window in history["windows"]:
        first, last = window["first"], window["last"]
        for name, rise in window["rises"].items():
            assert by_year[name][first] * (1 + rise) ** (last - first) == pytest.approx(by_year[name][last])
    for one in history["series"]:
        row = [by_year[one["name"]][year] for year in range(one["changes"]["first"], one["changes"]["last"] + 1)]
        changes = [later / earlier - 1 for earlier, later in pairwise(row)]
        mean = sum(changes) / len(changes)
        assert one["changes"]["mean"] == pytest.approx(mean)
        assert one["changes"]["sd"] ** 2 == pytest.approx(sum((c - mean) ** 2 for c in changes) / (len(changes) - 1))


def test_the_lines_are_the_figures_of_the_json(whole: Plain) -> None:
    [sweep] = whole["sensitivity"]
    for chart, key in zip(charts(whole), ("npv", "simple_payback"), strict=True):
        lines = [trace for trace in chart.data if trace.get("yaxis") != "y2"]
        for line, plan in zip(lines, sweep["alternatives"], strict=True):
            assert line["x"] == pytest.approx([rise * 100 for rise in sweep["values"]])
            assert [y is None for y in line["y"]] == [number is None for number in plan[key]]
            drawn = [y for y in line["y"] if y is not None]
            assert drawn == pytest.approx([number for number in plan[key] if number is not None], abs=0.005)


def test_a_payback_that_never_comes_is_a_gap_and_told(whole: Plain) -> None:
    [sweep] = whole["sensitivity"]
    _, chart = charts(whole)
    roof, dear, folly = chart.data[:3]
    back = sweep["alternatives"][1]["simple_payback"]
    first = next(k for k, number in enumerate(back) if number is not None)
    assert first > 0 and all(number is not None for number in back[first:])
    assert None not in roof["y"] and dear["y"][:first] == [None] * first and set(folly["y"]) == {None}
    assert all(line["connectgaps"] is False for line in (roof, dear, folly))
    assert [line["name"] for line in (roof, dear, folly)] == ["Roof", "Dear", "Folly: never"]

    assert [row[3] for row in chart.table.rows] == [amounts.span(number) for number in back]
    assert chart.table.rows[0][3] == "never" and {row[5] for row in chart.table.rows} == {"never"}
    low, high = amounts.per_cent(sweep["values"][first], 0), f"{back[first]:.1f} years"
    assert f"at some rises only: “Dear” from {low} ({high}) to 10 % ({back[-1]:.1f} years)." in chart.reading
    assert "“Folly” is not paid back within 12 years at any rise shown." in chart.reading
    assert "Where a line is missing, the outlay does not come back for good within 12 years." in chart.reading
    assert chart.reading in chart.alt and chart.reading in page(whole)


def test_every_row_of_rises_with_a_payback_is_told() -> None:
    """Gaps in the middle, single rises, nothing missing, nothing there."""
    sweep = {
        "values": [0.0, 0.01, 0.02, 0.03],
        "alternatives": [
            {"name": "A", "simple_payback": [9.0, None, 8.0, 7.0]},
            {"name": "B", "simple_payback": [None, 11.0, None, None]},
            {"name": "C", "simple_payback": [4.0, 3.0, 3.0, 2.0]},
            {"name": "D", "simple_payback": [None] * 4},
            {"name": "E", "simple_payback": [None] * 4},
        ],
    }
    assert rises_told.payback_sentences(sweep, 20) == [
        "Paid back for good at every rise shown: “C” from 0 % (4.0 years) to 3 % (2.0 years).",
        "Paid back for good at some rises only: “A” at 0 % (9.0 years) and from 2 % (8.0 years) to 3 % (7.0 years); "
        "“B” at 1 % (11.0 years).",
        "Where a line is missing, the outlay does not come back for good within 20 years.",
        "“D” and “E” are not paid back within 20 years at any rise shown.",
    ]
    sweep["alternatives"] = sweep["alternatives"][2:3]
    assert len(rises_told.payback_sentences(sweep, 20)) == 1


def test_where_nothing_is_ever_paid_back_there_is_a_sentence_and_no_chart(plain: Plain) -> None:
    for plan in plain["sensitivity"][0]["alternatives"]:
        plan["simple_payback"] = [None] * 13
    assert rise_charts.payback_by_rise(plain) is None
    text = page(plain)
    assert 'data-chart="rise-payback"' not in text and 'data-chart="rise-sweep"' in text
    assert "“Roof”, “Dear” and “Folly” are not paid back within 12 years at any rise shown.</p>" in text


def test_marks_are_those_of_the_json(whole: Plain) -> None:
    """History by its windows, the study's rise by its own numbers; upright over the lines and in rows below them."""
    [sweep] = whole["sensitivity"]
    rise = {each["kind"]: each["rises"]["price"] * 100 for each in sweep["history"]["windows"]}
    own = [sweep["own"][key] * 100 for key in ("p10", "central", "p90")]
    for chart in charts(whole):
        found = marks(chart)
        assert list(found) == [
            "this study: 2.0 %", "10 y to 2024: 2.8 %", "20 y to 2024: 3.1 %", "any 10 y: 1.2–3.5 %",
        ]  # fmt: skip
        study, ten, twenty, band = found.values()
        assert study == pytest.approx(own, abs=1e-3) and own[0] < 2.0 < own[2]
        assert ten == pytest.approx([rise["last ten years"]], abs=1e-3)
        assert twenty == pytest.approx([rise["last twenty years"]], abs=1e-3)
        assert band == pytest.approx([rise["slowest ten years"], rise["fastest ten years"]], abs=1e-3)
        upright = [shape for shape in chart.layout["shapes"] if shape.get("yref") == "paper"]
        assert [(shape["x0"], shape["x1"]) for shape in upright] == [
            (study[1], study[1]), (ten[0], ten[0]), (twenty[0], twenty[0]), (band[0], band[1]),
        ]  # fmt: skip
        assert len({shape["line"].get("dash") for shape in upright[:3]}) == 3
        [names] = [trace for trace in chart.data if trace["mode"] == "text"]
        assert [name.strip() for name in names["text"]] == list(found)
        for text in found:
            assert text in chart.alt


def test_each_line_ends_at_its_own_row_clear_of_the_words_below_it(whole: Plain) -> None:
    """Rows run from the top down, lines end where their row stands, words begin right of every line that passes."""
    chart, _ = charts(whole)
    ground = chart.layout["yaxis2"]["domain"][1]
    rows = [trace["y"][0] for trace in chart.data if trace.get("yaxis") == "y2" and "lines" in trace["mode"]]
    lines = [shape for shape in chart.layout["shapes"] if shape.get("yref") == "paper" and shape["type"] == "line"]
    assert rows == [3, 2, 1, 0]
    assert [line["y0"] for line in lines] == pytest.approx([ground * (row + 0.5) / 4 for row in rows[:3]])
    assert chart.layout["yaxis"]["domain"][0] > ground
    [names] = [trace for trace in chart.data if trace["mode"] == "text"]
    for k, x in enumerate(names["x"]):
        assert all(line["x0"] <= x for line in lines[k:])


def test_abroad_only_the_study_itself_is_marked(abroad: Plain) -> None:
    for chart in charts(abroad):
        assert list(marks(chart)) == ["this study: 2.0 %"]
        assert len([shape for shape in chart.layout["shapes"] if shape.get("yref") == "paper"]) == 1
        assert chart.more == ()
    npv, _ = charts(abroad)
    assert npv.reading.endswith("History is not marked: no history of prices is on hand for the country DE.")
    assert "Energy Information" not in page(abroad)


def test_without_any_mark_the_lines_have_the_whole_height(plain: Plain) -> None:
    sweep = plain["sensitivity"][0]
    sweep |= {"own": None, "history": None, "reasons": {"own": "of a reason", "history": "of another"}}
    chart, _ = charts(plain)
    assert marks(chart) == {} and "yaxis2" not in chart.layout and chart.layout["yaxis"]["domain"] == [0, 1]
    assert "This study has no single rise to mark: of a reason. History is not marked: of another." in chart.reading


def test_a_rise_beyond_the_chart_is_told_and_not_drawn(plain: Plain) -> None:
    own = plain["sensitivity"][0]["own"]
    own |= {"central": 0.12, "p10": 0.08, "p90": 0.2}
    chart, _ = charts(plain)
    assert not any(name.startswith("this study") for name in marks(chart))
    assert "reckons with 12.0 % a year, likely between 8.0 % and 20.0 %, which lies beyond this chart." in chart.reading
    own |= {"central": 0.06, "p10": -0.05}
    chart, _ = charts(plain)
    assert marks(chart)["this study: 6.0 %"] == [-2, 6, 10]
    [names] = [trace for trace in chart.data if trace["mode"] == "text"]
    assert (names["x"][0], names["textposition"][0]) == (6, "top left")
    assert names["y"][0] > 3 and names["y"][1:] == [2, 1, 0] and set(names["textposition"][1:]) == {"middle right"}
    own |= {"central": 0.01}
    [names] = [trace for trace in charts(plain)[0].data if trace["mode"] == "text"]
    assert (names["x"][0], names["textposition"][0]) == (1, "top right")


def test_a_single_number_is_marked_without_a_range() -> None:
    plain = told({"tariff": {"rise": "3%"}, "study": {"years": 6}})
    own = plain["sensitivity"][0]["own"]
    assert own == {
        "central": 0.03, "p10": None, "p90": None,
        "reasons": dict.fromkeys(("p10", "p90"), "the scenario states one number and no range"),
    }  # fmt: skip
    chart = rise_charts.npv_by_rise(plain)
    assert chart is not None and marks(chart)["this study: 3.0 %"] == [3.0]
    assert "This study reckons with 3.0 % a year. In the United States" in chart.reading


def test_the_reading_says_what_history_was_whose_count_it_is_and_that_it_promises_nothing(plain: Plain) -> None:
    sentence = rises_told.history_sentence(plain["sensitivity"][0])
    assert sentence == (
        "In the United States the average price of electricity for households rose by 2.8 % a year over the ten years "
        "to 2024 and by 3.1 % over the twenty; in the slowest ten years since 2000 by 1.2 %, in the fastest by 3.5 % "
        "(U.S. Energy Information Administration, in part from memory). The past promises nothing, least of all for "
        "one utility."
    )
    assert sentence in page(plain)
    for quote in plain["sensitivity"][0]["history"]["series"][0]["quotes"]:
        quote["known"] = "seen"
    assert "(U.S. Energy Information Administration)." in rises_told.history_sentence(plain["sensitivity"][0])


def test_the_tables_behind_hold_every_figure_and_say_how_each_number_is_known(whole: Plain) -> None:
    [sweep] = whole["sensitivity"]
    npv, payback = charts(whole)
    assert [row[0] for row in npv.table.rows] == [amounts.per_cent(rise, 0) for rise in sweep["values"]]
    for i, plan in enumerate(sweep["alternatives"]):
        assert [row[1 + i] for row in npv.table.rows] == [amounts.money(number, "USD") for number in plan["npv"]]
        for k, key in enumerate(("simple_payback", "discounted_payback")):
            column = [row[1 + 2 * i + k] for row in payback.table.rows]
            assert column == [amounts.span(number) for number in plan[key]]
    rises, quotes = npv.more
    assert [row[1:] for row in rises.rows] == [
        ["2.79 %", "2.98 %", "2.85 %", "0.12 %"],
        ["3.10 %", "3.43 %", "2.57 %", "0.84 %"],
        ["1.23 %", "1.02 %", "1.77 %", "−0.73 %"],
        ["3.48 %", "3.74 %", "2.47 %", "1.24 %"],
        ["2.97 %", "3.35 %", "2.54 %", "–"],
        ["2.94 %", "3.70 %", "1.65 %", "–"],
    ]
    assert rises.rows[2][0] == "Slowest ten years, 2009 to 2019"
    assert rises.rows[4][0] == "Mean of the yearly changes, 2000 to 2024"
    by_year = {row[0]: row[1:] for row in quotes.rows}
    assert list(by_year) == [str(year) for year in range(2000, 2026)]
    assert by_year["2011"] == [
        "11.72",
        "read, annual census",
        "11.8 (monthly survey, first print, read)",
        "196.7",
        "224.9",
    ]
    assert by_year["2024"] == ["16.48", "from memory, preliminary", "", "279.1", "313.7"]
    assert by_year["2025"] == ["–", "its average was not known well enough", "", "292.0", "321.9"]
    for series in sweep["history"]["series"]:
        assert series["publisher"] in quotes.caption and series["source"] in quotes.caption


def test_the_csv_holds_the_same(whole: Plain, abroad: Plain) -> None:
    [sweep] = whole["sensitivity"]
    rows = list(csv.DictReader(io.StringIO(as_csv(whole))))

    def found(part: str, item: str) -> list[tuple[float, str]]:
        return [(float(r["value"]), r["note"]) for r in rows if (r["part"], r["item"]) == (part, item) and r["value"]]

    for key in ("central", "p10", "p90"):
        assert found("own rise", key) == [(sweep["own"][key], "")]
    history = sweep["history"]
    for series in history["series"]:
        name, changes = series["name"], series["changes"]
        for part, quotes in (("price history", "quotes"), ("price history, not used", "others")):
            told = [(value, note.split(";")[0]) for value, note in found(part, name)]
            assert told == [(q["value"], f"{q['year']}, {q['vintage']}, {q['known']}") for q in series[quotes]]
        assert [value for value, _ in found("price rise", name)] == [w["rises"][name] for w in history["windows"]]
        for key in ("mean", "sd"):
            assert found("price rise", f"{name} {key}") == [(changes[key], "yearly changes 2000 to 2024")]
    assert found("price rise", "real")[0] == (history["windows"][0]["real"], "last ten years, 2014 to 2024")
    [gap] = [row for row in rows if row["part"] == "price history" and not row["value"]]
    assert gap["note"] == "2025: its average was not known well enough"

    rows = list(csv.DictReader(io.StringIO(as_csv(abroad))))
    [none] = [row for row in rows if row["part"].startswith("price")]
    assert (none["value"], none["note"]) == ("", abroad["sensitivity"][0]["reasons"]["history"])


def test_the_csv_gives_the_reason_where_no_rise_rules_and_where_it_has_no_range() -> None:
    several = told({"tariff": {"rise": {"path": ["3%", "4%"]}}, "study": {"years": 6}})
    single = told({"tariff": {"rise": "3%"}, "study": {"years": 6}})
    for plain, expected in (
        (several, [("central", "", "the rise differs from year to year")]),
        (
            single,
            [
                ("central", "0.03", ""),
                *((key, "", "the scenario states one number and no range") for key in ("p10", "p90")),
            ],
        ),
    ):
        rows = [row for row in csv.DictReader(io.StringIO(as_csv(plain))) if row["part"] == "own rise"]
        assert [(row["item"], row["value"], row["note"]) for row in rows] == expected


def test_what_is_likely_is_what_the_draws_say(juniper: Plain) -> None:
    """Two places tell P10 and P90 of the rise; they agree."""
    [drawn] = [one for one in juniper["uncertainty"]["inputs"] if one["name"] == "tariff.rise"]
    own = juniper["sensitivity"][0]["own"]
    assert (own["p10"], own["p90"]) == pytest.approx((drawn["p10"], drawn["p90"]), rel=1e-12)


def test_names_of_alternatives_reach_the_charts_as_text() -> None:
    evil = "</script><b>x"
    plain = told({"alternatives": [{"name": evil}], "study": {"years": 6}})
    chart = rise_charts.npv_by_rise(plain)
    assert chart is not None and "&lt;/script&gt;" in chart.data[0]["name"]
    assert evil not in page(plain)
