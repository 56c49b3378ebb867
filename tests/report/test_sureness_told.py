"""What many cases say: plain values that are the engine's, words never surer than they, charts of the same numbers."""

from __future__ import annotations

import copy
import csv
import io
import json
import re
from typing import Any

import numpy as np
import pytest
from small_house import house

import finsolar
from finsolar.report import case_charts, figures
from finsolar.report.draw_choice import with_draws
from finsolar.report.page import page
from finsolar.report.table import as_csv
from finsolar.report.words import amounts, answer, changes_told, sureness
from finsolar.report.words.ranges_told import measured, names_of, unit_of
from finsolar.results import Study
from finsolar.scenario.numbers import Range
from finsolar.scenario.problems import ScenarioError
from finsolar.uncertainty.ranges import Ranged, ranges_of
from finsolar.uncertainty.sureness import with_simulation
from finsolar.uncertainty.what_matters import with_what_matters

Plain = dict[str, Any]
EVIL = "</script><img src=x onerror=alert(1)>"

RANGES: Plain = {
    "study": {"years": 10, "inflation": {"mean": "2%", "sd": "0.5%"}, "draws": 64, "seed": 5},
    "household": {"stays_years": 7},
    "weather": {"station": "greensboro", "brightness": {"mean": "100%", "sd": "4%", "yearly_sd": "3%"}},
    "tariff": {"rise": {"low": "-1%", "likely": "2%", "high": "9%"}},
    "together": [["tariff.rise", "study.inflation", 0.5]],
    "costs": [
        {"item": "Modules", "category": "modules", "cost": {"from": 2500, "to": 6500}},
        {"item": "Battery", "category": "battery", "cost": 900},
    ],
    "alternatives": [
        {"name": "Roof"},
        {"name": "Borrowed", "payment": {"loan": {"rate": "9%", "years": 8}}},
        {"name": "Folly", "costs": [{"item": "A gilded frame", "category": "other", "cost": 30000}]},
    ],
}


@pytest.fixture(scope="module")
def study() -> Study:
    """A small house with four ranges, of which one moves its hours, and three ways to go, of which one never pays."""
    return with_what_matters(with_simulation(finsolar.study(house(RANGES))))


@pytest.fixture(scope="module")
def whole(study: Study) -> Plain:
    """Its plain values; not to be changed."""
    return study.to_json()


@pytest.fixture
def plain(whole: Plain) -> Plain:
    """Its plain values, for a test to change."""
    return copy.deepcopy(whole)


def test_every_figure_is_that_of_the_cases(study: Study, whole: Plain) -> None:
    """Mean and percentiles by numpy's own, the chances counted anew."""
    assert study.simulation is not None
    found = whole["uncertainty"]
    assert (found["seed"], found["draws"], found["replicates"]) == (5, 64, 8)
    for cases, told in zip(study.simulation.alternatives, found["alternatives"], strict=True):
        npv = cases.figures["npv"].ravel()
        assert told["figures"]["npv"]["mean"] == pytest.approx(npv.mean())
        for percent in (10, 50, 90):
            assert told["figures"]["npv"][f"p{percent}"] == pytest.approx(np.percentile(npv, percent))
            running = np.percentile(cases.running.reshape(64, -1), percent, axis=0)
            assert told["running"][f"p{percent}"] == pytest.approx(running)
        assert told["chances"]["npv_above_zero"]["share"] == np.mean(npv > 0)
        back = cases.figures["simple_payback"].ravel()
        assert told["chances"]["paid_back_while_they_stay"]["share"] == np.mean(back <= 7)
        assert told["figures"]["simple_payback"]["none"] == np.mean(np.isnan(back))
        assert sum(told["histogram"]["counts"]) == 64 and told["histogram"]["left_out"] == 0


def test_keys_and_json(whole: Plain) -> None:
    """The keys that others read, and strict JSON."""
    found, matters = whole["uncertainty"], whole["what_matters"]
    assert set(found) == {"seed", "draws", "replicates", "inputs", "hours", "alternatives"}
    of_input = {"name", "words", "unit", "stated", "recorded", "years", "apart", "p10", "p90"}
    assert all(set(one) == of_input for one in found["inputs"])
    assert set(found["hours"]) == {
        "ranges", "studies", "cases", "npv_off", "npv_off_middle", "bill_off", "renewed_apart",
    }  # fmt: skip
    for one in found["alternatives"]:
        assert set(one) == {"name", "figures", "chances", "reasons", "histogram", "running", "enough"}
        assert set(one["figures"]) == set(sureness.FIGURES)
        assert set(one["chances"]) == set(sureness.CHANCES)
    assert set(matters) == {"ranges", "reasons"}
    for one in matters["ranges"]:
        moved = {"low", "high", "npv_low", "npv_high", "shares"}
        assert set(one) == {"name", "words", "unit", "leads", "years", *moved}
        assert one["years"] is None or set(one["years"]) == moved
    assert [one["name"] for one in matters["ranges"] if one["years"]] == ["weather.brightness"]
    assert json.loads(json.dumps([found, matters], allow_nan=False)) == [found, matters]


def test_no_null_without_a_reason_and_no_reason_without_a_null(whole: Plain) -> None:
    """Of figures and of chances; the folly is never paid back, and only the loan can be outlasted."""
    for one in whole["uncertainty"]["alternatives"]:
        for found in one["figures"].values():
            assert {key for key, number in found.items() if number is None} == set(found["reasons"])
        assert {key for key, chance in one["chances"].items() if chance is None} == set(one["reasons"])
    roof, borrowed, folly = whole["uncertainty"]["alternatives"]
    assert folly["figures"]["simple_payback"]["none"] == 1
    assert set(folly["figures"]["simple_payback"]["reasons"].values()) == {"no case is paid back within the study"}
    assert roof["reasons"]["paid_back_within_loan"] == "nothing is borrowed"
    assert borrowed["chances"]["paid_back_within_loan"] is not None


def test_a_late_payback_tells_which_share_never_comes() -> None:
    """By the percentile that is missing."""
    from finsolar.report.cases import _summary
    from finsolar.uncertainty.summary import summarise

    for share, missing in ((0.05, []), (0.2, ["p90"]), (0.6, ["p50", "p90"]), (0.95, ["p10", "p50", "p90"])):
        cases = np.full((4, 100), 5.0)
        cases[:, : round(100 * share)] = np.nan
        found = _summary("simple_payback", summarise(cases, "late"))
        assert [key for key in ("p10", "p50", "p90") if found[key] is None] == missing
        assert all("never paid back" in found["reasons"][key] for key in missing)
        assert all(found["reasons"][f"{key}_error"].startswith("some set of draws") for key in missing)
        assert found["mean"] == 5.0


def test_nothing_drawn_is_told_as_nothing() -> None:
    """A house without ranges: null in JSON, no row, no section, no chart."""
    bare = finsolar.study(house({"study": {"years": 3}})).to_json()

    assert (bare["uncertainty"], bare["what_matters"]) == (None, None)
    assert sureness.futures_sentence(bare) is None
    assert "uncertainty" not in as_csv(bare)
    text = page(bare)
    assert 'id="sure"' not in text and 'id="change"' not in text and "npv-spread" not in text
    assert not any("likely" in sentence for sentence in answer.short_answer(bare))


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "no case"), (0.0002, "fewer than 1 of 100"), (0.0049, "fewer than 1 of 100"), (0.01, "1 of 100"),
        (0.834, "83 of 100"), (0.9949, "99 of 100"), (0.9998, "more than 99 of 100"), (1.0, "every case"),
    ],
)  # fmt: skip
def test_a_chance_is_never_told_surer_than_it_is(share: float, said: str) -> None:
    """No decimals of a per cent, and nothing certain that is not so in every case."""
    assert sureness.of_hundred(share) == said


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.0, "Of 64 futures drawn from the ranges of the scenario, none leave you better off with “Roof”"),
        (0.004, "Of 64 futures drawn from the ranges of the scenario, fewer than 1 in 100 leaves you better off"),
        (0.83, "Of 64 futures drawn from the ranges of the scenario, 83 in 100 leave you better off with “Roof”"),
        (0.999, "Of 64 futures drawn from the ranges of the scenario, more than 99 in 100 leave you better off"),
        (1.0, "Of 64 futures drawn from the ranges of the scenario, every one leaves you better off with “Roof”"),
    ],
)
def test_the_sentence_to_repeat(plain: Plain, share: float, said: str) -> None:
    """It speaks of the alternative of the short answer."""
    plain["uncertainty"]["alternatives"][0]["chances"]["npv_above_zero"]["share"] = share
    assert changes_told.best_of(plain)["name"] == "Roof"
    told = sureness.futures_sentence(plain)
    assert told is not None and told.startswith(said) and told.endswith("than by staying as you are.")


NAMED: Plain = {
    "study": {"inflation": {"from": "1%", "to": "3%"}},
    "household": {"load": {"growth": {"from": "0%", "to": "1%"}}, "backup_kwh": {"from": 5, "to": 9}},
    "tariff": {"monthly_charge": {"from": 5, "to": 9}, "export": {"price": {"from": 0.02, "to": 0.06}}},
    "costs": [
        {"item": "Modules", "category": "modules", "each": {"from": 90, "to": 120}, "quantity": {"from": 10, "to": 12}},
        {"item": "Battery", "category": "battery", "cost": 3500, "contingency": {"from": "1%", "to": "9%"}},
    ],
    "upkeep": [{"item": "New inverter", "category": "inverter", "cost": 900, "life": {"from": 9, "to": 14}}],
    "alternatives": [
        {"name": "Roof", "own_hours": {"from": 20, "to": 30}},
        {"name": "Firm", "own_hours": {"from": 2, "to": 3}, "costs": [
            {"item": "Crew", "category": "labour", "per_hour": 70, "hours": {"from": 9, "to": 14}}]},
        {"name": "Shed", "own_hours": {"from": 4, "to": 5}},
    ],
}  # fmt: skip


def test_ranges_go_by_words_that_people_use_and_no_two_alike() -> None:
    """A line by its item, a number of one alternative by that, and each in its own measure."""
    scenario = house(NAMED)
    ranges = ranges_of(scenario)
    told = names_of(scenario, ranges)
    units = {each.name: unit_of(scenario, each) for each in ranges}

    assert len(set(told.values())) == len(ranges) == 13
    assert told["study.inflation"] == "general inflation"
    assert told["household.load.growth"] == "yearly growth of the load"
    assert told["costs[1].each"] == "“Modules”: price of one"
    assert told["costs[2].contingency"] == "“Battery”: allowance for the unforeseen"
    assert told["upkeep[1].life"] == "“New inverter”: years it lasts"
    assert told["alternatives[2].costs[1].hours"] == "“Crew”: hours"
    assert told["alternatives[3].own_hours"] == "own hours (“Shed”)"
    assert units == {
        "study.inflation": "share", "household.load.growth": "share", "household.backup_kwh": "kWh",
        "tariff.monthly_charge": "money", "tariff.export.price": "price", "costs[1].each": "money",
        "costs[1].quantity": "", "costs[2].contingency": "share", "upkeep[1].life": "years",
        "alternatives[1].own_hours": "h", "alternatives[2].own_hours": "h", "alternatives[3].own_hours": "h",
        "alternatives[2].costs[1].hours": "h",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("number", "unit", "said"),
    [
        (0.0196, "share", "2.0 %"), (1234.5, "money", "$1,235"), (12.5, "money", "$12.50"),
        (0.046, "price", "$0.046 a kWh"), (13.0, "years", "13 years"), (13.25, "h", "13.2 h"), (11.5, "", "11.5"),
    ],
)  # fmt: skip
def test_a_value_is_written_in_its_measure(number: float, unit: str, said: str) -> None:
    """Rates in per cent, money with its sign, the rest with what is counted."""
    assert measured(number, unit, "USD") == said


def test_tables_of_chances_and_figures(plain: Plain) -> None:
    """A row a question that someone can answer, a column an alternative; paybacks that never come are said so."""
    chances = sureness.chance_table(plain)
    assert chances.head == ["", "Roof", "Borrowed", "Folly"]
    asked = [row[0] for row in chances.rows]
    assert sureness.CHANCES["paid_back_while_they_stay"] in asked
    assert sureness.CHANCES["paid_back_within_warranty"] not in asked
    loan = next(row for row in chances.rows if row[0] == sureness.CHANCES["paid_back_within_loan"])
    assert loan[1] == loan[3] == "–" and loan[2] != "–"
    assert f"{sureness.CHANCES['paid_back_within_warranty']}: no answer, since no end of a warranty is known." in (
        sureness.unanswered(plain)
    )
    paybacks = sureness.figure_table(plain, "simple_payback")
    assert paybacks.rows[2] == ["Folly", "never", "never", "never", "never", "every case"]
    npv = plain["uncertainty"]["alternatives"][0]["figures"]["npv"]
    expected = [amounts.money(npv[key], "USD") for key in ("mean", "p10", "p50", "p90")]
    assert sureness.figure_table(plain, "npv").rows[0] == ["Roof", *expected, "–"]
    npv |= {"mean": 500.0, "error": 2.5, "p10_error": 31.6, "p50_error": None}
    told = sureness.error_table(plain).rows[0]
    assert told[1] == "$500 ± $2.50" and told[2].endswith(" ± $32") and told[3] == expected[2]


def test_what_was_drawn_and_tied_is_said(plain: Plain) -> None:
    """With the seed, and once more where nothing is tied."""
    told = " ".join(sureness.drawn_sentences(plain))
    assert "drawn 64 times by seed 5" in told
    assert "yearly rise of the price of energy with general inflation (0.5)" in told
    assert "single years stray from what is drawn, each by itself: sunlight of the years." in told
    assert [row[0] for row in sureness.drawn_table(plain).rows] == [
        "General inflation", "Sunlight of the years", "Yearly rise of the price of energy", "“Modules”: price",
    ]  # fmt: skip
    plain["scenario"]["together"] = []
    assert "independently" in " ".join(sureness.drawn_sentences(plain))


def test_how_exact_the_hours_are_is_a_note(study: Study, plain: Plain) -> None:
    """With the figures that the JSON holds, and none where no range moves the hours."""
    assert study.simulation is not None and study.simulation.surface is not None
    hours = plain["uncertainty"]["hours"]
    assert hours["ranges"] == ["weather.brightness"] and hours["cases"] == 8
    assert hours["studies"] == len(study.simulation.surface.exact) >= 5
    [told] = sureness.hours_notes(plain["uncertainty"], "USD")
    assert told in plain["notes"]
    assert f"{hours['studies']} studies" in told and amounts.money(hours["npv_off"], "USD", 2) in told
    assert amounts.money(hours["npv_off_middle"], "USD", 2) in told and "renewed" not in told
    apart = sureness.hours_notes({**plain["uncertainty"], "hours": hours | {"renewed_apart": 2}}, "USD")
    assert "in 2 of them a battery is renewed in another year" in apart[0]
    assert sureness.hours_notes(plain["uncertainty"] | {"hours": None}, "USD") == []
    assert sureness.hours_notes(None, "USD") == []


def test_whether_the_draws_suffice_is_said_once_for_those_alike(plain: Plain) -> None:
    """One sentence for all, or one for each that differs."""
    one, two, three = plain["uncertainty"]["alternatives"]
    one["enough"] = two["enough"] = three["enough"] = "all is well"
    assert sureness.enough_sentences(plain) == ["All is well."]
    two["enough"] = "draw twice as many"
    assert sureness.enough_sentences(plain) == ["“Roof” and “Folly”: all is well.", "“Borrowed”: draw twice as many."]


def test_where_the_lead_turns_is_said_by_its_value(plain: Plain) -> None:
    """And for the others that it does not turn; of a single alternative nothing is said."""
    rise = next(one for one in plain["what_matters"]["ranges"] if one["name"] == "tariff.rise")
    rise["leads"] = [{"since": -0.01, "leader": "Folly"}, {"since": 0.0412, "leader": "Roof"}]
    for one in plain["what_matters"]["ranges"]:
        if one is not rise:
            one["leads"] = [{"since": 0.0, "leader": "Roof"}]
    assert sureness.lead_sentences(plain) == [
        "Yearly rise of the price of energy: at its low end “Folly” is worth most, from 4.1 % on “Roof”.",
        "“Roof” is worth most over the whole range of general inflation, sunlight of the years and “Modules”: price, "
        "each moved by itself.",
    ]
    plain["alternatives"] = plain["alternatives"][:1]
    assert sureness.lead_sentences(plain) == []


def test_hills_stand_on_the_cases(whole: Plain) -> None:
    """Each row as high as its fullest bar, the marks at the percentiles."""
    chart = case_charts.npv_spread(whole)
    plans = whole["uncertainty"]["alternatives"]
    for row, plan, hill, marks in zip((2, 1, 0), plans, chart.data[::2], chart.data[1::2], strict=True):
        counts, edges = plan["histogram"]["counts"], plan["histogram"]["edges"]
        steps = hill["y"][1:-1:2]
        assert [round((y - row) / 0.78 * max(counts)) for y in steps] == counts
        assert (hill["x"][0], hill["x"][-1]) == pytest.approx((edges[0], edges[-1]), abs=0.01)
        assert hill["y"][0] == hill["y"][-1] == row
        npv = plan["figures"]["npv"]
        assert marks["x"] == pytest.approx([npv["p10"], npv["p50"], npv["p90"]], abs=0.01)
    assert [len(table.rows) for table in chart.more] == [len(plan["histogram"]["counts"]) for plan in plans]


def test_equal_cases_make_a_single_bar(plain: Plain) -> None:
    """No division by nothing."""
    roof = plain["uncertainty"]["alternatives"][0]
    roof["histogram"] = {"edges": [9.9, 10.1], "counts": [64], "left_out": 0}
    assert case_charts.npv_spread(plain).data[0]["y"] == [2.0, 2.78, 2.78, 2.0]


def test_each_running_total_lies_on_the_band_of_its_own_cases(whole: Plain) -> None:
    """From P10 to P90 in the hue of its line, with which the legend turns it off; the tables hold P50 too."""
    chart = figures.running_totals(whole)
    fans = [one["running"] for one in whole["uncertainty"]["alternatives"]]
    bands, lines = chart.data[: len(fans)], chart.data[len(fans) :]
    for band, line, fan, table in zip(bands, lines, fans, chart.more, strict=True):
        assert band["y"] == pytest.approx([*fan["p90"], *reversed(fan["p10"])], abs=0.005)
        assert band["x"] == [*line["x"], *reversed(line["x"])]
        assert band["legendgroup"] == line["legendgroup"] and not band["showlegend"]
        assert band["fillcolor"] == figures.clear(line["line"]["color"], 0.2)
        assert table.rows[-1][1:] == [amounts.money(fan[key][-1], "USD") for key in ("p10", "p50", "p90")]
        assert len(table.rows) == 11
    assert len({line["legendgroup"] for line in lines}) == len(lines) == 3
    low, high = (amounts.money(fans[0][key][-1], "USD") for key in ("p10", "p90"))
    assert f"The bands hold eight futures of ten: “Roof” ends between {low} and {high}." in chart.reading
    assert f"likely between {low} and {high}" in chart.alt


def test_of_many_running_totals_the_two_worth_most_have_bands(plain: Plain) -> None:
    """And without draws none has."""
    for number, npv in ((0, 5.0), (1, 9.0), (2, -3.0)):
        plain["alternatives"][number]["metrics"]["npv"] = npv
    more = copy.deepcopy(plain["alternatives"][2]) | {"name": "Fourth"}
    plain["alternatives"].append(more)
    plain["uncertainty"]["alternatives"].append(
        copy.deepcopy(plain["uncertainty"]["alternatives"][2]) | {"name": "Fourth"}
    )
    chart = figures.running_totals(plain)
    names = [plan["name"] for plan in plain["alternatives"]]
    assert [trace["name"] for trace in chart.data] == [*names[:2], *names]
    assert "The bands of the two with the highest NPV hold eight futures of ten" in chart.reading
    assert len(chart.more) == 4
    plain["uncertainty"] = None
    chart = figures.running_totals(plain)
    assert len(chart.data) == 4 and not chart.more and "band" not in chart.reading and "likely" not in chart.alt


def test_bars_and_shares_are_told_apart(plain: Plain) -> None:
    """One sentence where the same range is first in both, another where it is not, none of shares without any."""
    by_bar = sureness.by_span(plain, "Roof")
    told = sureness.share_sentence(plain)
    assert f"The {by_bar[0]['words']} has both the longest bar and the largest share, " in told
    for one in plain["what_matters"]["ranges"]:
        if one["words"] == by_bar[-1]["words"]:
            one["shares"]["Roof"]["total"] = 1.25
    told = sureness.share_sentence(plain)
    assert f"longest bar is that of the {by_bar[0]['words']}, the largest share, 125 %, that of the " in told
    assert by_bar[-1]["words"] in told
    plain["what_matters"]["ranges"][0]["shares"]["Roof"] = None
    assert sureness.share_sentence(plain).endswith("over all futures.")


def test_which_payback_is_meant_is_said_where_there_are_two(plain: Plain) -> None:
    """The first return to zero beside the one for good, of those alternatives that have both."""
    for plan, (first, lasting) in zip(plain["alternatives"], ((8.0, 8.0), (7.0, 11.25), (6.0, None)), strict=True):
        plan["metrics"] |= {"simple_payback": first, "simple_payback_lasting": lasting}
    second, third = (plan["name"] for plan in plain["alternatives"][1:])
    told = sureness.payback_sentence(plain)
    assert told is not None and told.endswith(
        f"(first, and for good: “{second}” 7.0 y, 11.2 y; “{third}” 6.0 y, never)."
    )
    assert told in page(plain).partition('<section id="sure"')[2].partition("</section>")[0]
    for plan in plain["alternatives"]:
        plan["metrics"] |= {"simple_payback": 0.0, "simple_payback_lasting": None}
    assert sureness.payback_sentence(plain) is None


def test_bars_run_from_the_middle_to_both_ends_the_longest_first(whole: Plain) -> None:
    """Of the best alternative, with the values of each range at its ends."""
    chart = case_charts.swings(whole)
    assert chart is not None
    order = sureness.by_span(whole, "Roof")
    spans = [abs(one["npv_high"]["Roof"] - one["npv_low"]["Roof"]) for one in order]
    assert spans == sorted(spans, reverse=True) and len(order) == 5
    for trace, end in zip(chart.data, ("low", "high"), strict=True):
        moving = [one for one in order if abs(one[f"npv_{end}"]["Roof"] - trace["base"]) > 0.5]
        ends = [trace["base"] + x for x in trace["x"]]
        assert ends[: len(moving)] == pytest.approx([one[f"npv_{end}"]["Roof"] for one in moving], abs=0.02)
        assert trace["text"] == [measured(one[end], one["unit"], "USD") for one in order[: len(trace["x"])]]
    assert [row[0] for row in chart.table.rows] == [sureness.capital(one["words"]) for one in order]
    assert "Sunlight of the years, the mean of its single years" in [row[0] for row in chart.table.rows]
    assert all(re.fullmatch(r"−?\d+ ± \d+ %", cell) for row in chart.table.rows for cell in row[-2:])
    assert len(chart.more) == 2


def test_ranges_that_move_nothing_are_named_and_many_are_cut(plain: Plain) -> None:
    """None is drawn where none moves; twelve at most are."""
    middle = plain["alternatives"][0]["metrics"]["npv"]
    first, second, third, fourth = plain["what_matters"]["ranges"]
    second["years"] = None
    for one in (second, third, fourth):
        one["npv_low"]["Roof"] = one["npv_high"]["Roof"] = middle
    first["npv_high"]["Roof"] = middle + 100
    chart = case_charts.swings(plain)
    assert chart is not None and len(chart.data[0]["y"]) == 1
    assert (
        f"It does not depend on the {amounts.joined([second['words'], third['words'], fourth['words']])}."
        in chart.reading
    )
    plain["what_matters"]["ranges"] = [first] * 15
    chart = case_charts.swings(plain)
    assert chart is not None and len(chart.data[0]["y"]) == 12 and len(chart.table.rows) == 15
    assert "The table has the smaller ones." in chart.reading
    first["npv_low"]["Roof"] = first["npv_high"]["Roof"] = middle
    assert case_charts.swings(plain) is None
    assert 'data-chart="swings"' not in page(plain) and 'id="change"' in page(plain)


def test_shares_without_a_variance_say_why() -> None:
    """Null in JSON with the reason of the alternative, a dash in the table."""
    changes = {
        "study": {"years": 3, "draws": 64},
        "alternatives": [{"name": "Roof", "own_hours": 20, "own_hour_worth": {"from": 5, "to": 9}}],
    }  # fmt: skip
    found = with_what_matters(with_simulation(finsolar.study(house(changes)))).to_json()
    [one] = found["what_matters"]["ranges"]
    assert one["shares"] == {"Roof": None}
    assert found["what_matters"]["reasons"]["Roof"]
    assert sureness.swing_table(found, "Roof").rows[0][-2:] == ["–", "–"]
    assert case_charts.swings(found) is None and page(found)
    for row in csv.DictReader(io.StringIO(as_csv(found))):
        assert row["value"] or row["note"]


def test_every_number_stands_in_the_rows(whole: Plain) -> None:
    """All of the JSON, each in its own row, with a note where there is none."""
    found = list(csv.DictReader(io.StringIO(as_csv(whole))))
    told = {(row["alternative"], row["part"], row["item"], row["year"]): row["value"] for row in found}

    def written(number: float | None) -> str:
        return "" if number is None else str(number)

    for plan in whole["uncertainty"]["alternatives"]:
        for figure, numbers in plan["figures"].items():
            for key, number in numbers.items():
                if key != "reasons":
                    assert told[plan["name"], "uncertainty", f"{figure} {key}", ""] == written(number)
        for chance, shares in plan["chances"].items():
            for key in ("share", "error"):
                assert told[plan["name"], "chance", f"{chance} {key}", ""] == written(shares and shares[key])
        for key, row in plan["running"].items():
            for year, amount in enumerate(row):
                assert told[plan["name"], "running total", key, str(year)] == written(amount)
        bars = [row for row in found if (row["alternative"], row["part"]) == (plan["name"], "cases by npv")]
        assert [int(row["value"]) for row in bars] == plan["histogram"]["counts"]
    movers = [(one["name"], one) for one in whole["what_matters"]["ranges"]]
    movers += [(f"{name}, years", one["years"]) for name, one in movers if one["years"]]
    for name, one in movers:
        for plan in ("Roof", "Borrowed", "Folly"):
            for end, place in (("low", "p10"), ("high", "p90")):
                assert told[plan, f"npv at {place} of", name, ""] == written(one[f"npv_{end}"][plan])
            for key, share in one["shares"][plan].items():
                assert told[plan, f"share of variance {key}", name, ""] == written(share)
    for one in whole["what_matters"]["ranges"]:
        for lead in one["leads"]:
            assert told[lead["leader"], "leads from", one["name"], ""] == written(lead["since"])
    for one in whole["uncertainty"]["inputs"]:
        assert told["all", "range", f"{one['name']} p10", ""] == written(one["p10"])
    for key in ("studies", "cases", "npv_off", "npv_off_middle", "bill_off", "renewed_apart"):
        assert told["all", "hours of the cases", key, ""] == written(whole["uncertainty"]["hours"][key])
    assert told["all", "uncertainty", "seed", ""] == "5"
    assert all(row["value"] or row["note"] for row in found)


def test_the_page_tells_it_in_its_section(whole: Plain) -> None:
    """It opens with the sentence to repeat, says what P10 is, and holds every chart with its table."""
    text = page(whole)
    section = text.partition('<section id="sure"')[2].partition("</section>")[0]
    told = sureness.futures_sentence(whole)

    assert told is not None and section.find(told) < section.find("<table")
    assert "P10 is the value below which one case in ten lies" in section
    assert 'data-chart="npv-spread"' in section
    for sentence in (*sureness.drawn_sentences(whole), *sureness.enough_sentences(whole)):
        assert f"<li>{sentence}</li>" in section
    assert 'data-chart="swings"' in text.partition('<section id="change"')[2]
    labels = re.findall(r'role="region" aria-label="([^"]*)"', text)
    assert len(labels) == len(set(labels))
    order = [text.index(f'<section id="{name}"') for name in ("years", "sure", "change")]
    assert order == sorted(order)


def test_names_in_ranges_are_shown_and_never_obeyed(plain: Plain) -> None:
    """Words of an item reach charts, tables and sentences as text."""
    for one in (*plain["uncertainty"]["inputs"], *plain["what_matters"]["ranges"]):
        one["words"] = f"{EVIL} {one['name']}"
    text = page(plain)

    assert "<img" not in text
    found = re.search(r'<script type="application/json" id="chart-data">(.*?)</script>', text, re.S)
    assert found is not None
    swings = json.loads(found[1])["swings"]
    assert all("<" not in tick.replace("<br>", "") for tick in swings["layout"]["yaxis"]["ticktext"])


def test_draws_and_seed_that_are_typed_stand_in_the_place_of_those_of_the_file(whole: Plain) -> None:
    """The same numbers as of a file that says so, under the limits and in the words of its fields."""
    typed = with_draws(house(RANGES | {"study": RANGES["study"] | {"draws": 128, "seed": 0}}), "64", "5")
    assert (typed.study.draws, typed.study.seed) == (64, 5)
    assert typed.origin.places["study.seed"]
    again = with_what_matters(with_simulation(finsolar.study(typed))).to_json()
    assert (again["uncertainty"], again["what_matters"]) == (whole["uncertainty"], whole["what_matters"])
    untouched = house(RANGES)
    assert with_draws(untouched, None, None) is untouched


@pytest.mark.parametrize(
    ("draws", "seed", "said"),
    [
        ("100", None, "--draws: is 100, no power of two, which the even points need; write 64 or 128"),
        ("many", None, "--draws: is 'many', no whole number; write a power of two from 64 to 131072"),
        ("64.0", None, "--draws: is '64.0', no whole number; write a power of two from 64 to 131072"),
        ("²", None, "--draws: is '²', no whole number; write a power of two from 64 to 131072"),
        ("8", "-1", "--draws: is 8; write a power of two from 64 to 131072\n"
                    "--seed: is -1; write a whole number from 0 to 4294967295"),
        (None, "9999999999", "--seed: is 9999999999; write a whole number from 0 to 4294967295"),
        (None, "one", "--seed: is 'one'; write a whole number from 0 to 4294967295"),
    ],
)  # fmt: skip
def test_what_cannot_be_drawn_is_refused_in_the_words_of_the_field(
    draws: str | None, seed: str | None, said: str
) -> None:
    """Each fault in a line of its own."""
    with pytest.raises(ScenarioError) as refusal:
        with_draws(house(), draws, seed)
    assert str(refusal.value) == said


def test_years_alone_move_the_answer_and_are_not_said_to_leave_it() -> None:
    """A rise that is known in the long run and strays from year to year: it is on the chart, with its share."""
    wanders = {"mean": "2%", "sd": "0%", "yearly_sd": "4%"}
    changes = {"study": {"years": 6, "draws": 64}, "tariff": {"rise": wanders}}
    found = with_what_matters(with_simulation(finsolar.study(house(changes)))).to_json()
    chart = case_charts.swings(found)
    assert chart is not None and "single years" in chart.reading
    assert "It does not depend on the yearly rise of the price of energy." in chart.reading
    [one] = found["what_matters"]["ranges"]
    assert one["npv_low"] == one["npv_high"] and one["years"]["npv_low"]["Roof"] < one["years"]["npv_high"]["Roof"]
    assert one["years"]["low"] == pytest.approx(0.02 - 1.2815516 * 0.04 / 5**0.5, abs=1e-5)
    assert one["years"]["shares"]["Roof"]["total"] == pytest.approx(1, abs=0.1)


def test_every_number_that_may_be_a_range_has_words_of_its_own() -> None:
    """Losses, shade, riders, taxes, leases: none goes by its path."""
    even = {"from": "1%", "to": "2%"}
    changes = {
        "tariff": {
            "riders": [{"item": "City fee", "share": even}],
            "taxes": [{"item": "VAT", "share": even}],
        },
        "household": {"load": {"level": {"from": "90%", "to": "99%"}, "growth": even}},
        "system": {
            "arrays": [{"kw": 5, "tilt": 30, "azimuth": 180, "shading": even}],
            "inverter": {"kw": 5, "efficiency": {"from": "90%", "to": "99%"}},
            "losses": [{"item": "Dust", "share": even}],
            "snow": even,
            "fade": even,
            "first_year_loss": even,
            "battery": {"kwh": 8, "kw": 4, "round_trip": {"from": "90%", "to": "99%"}, "fade": even},
        },
        "alternatives": [
            {"name": "Roof", "costs": [], "payment": {"lease": {"monthly": 30, "years": 5, "rise": even}}}
        ],
    }
    scenario = house(changes)
    ranges = ranges_of(scenario)
    names = names_of(scenario, ranges)
    assert len(names) == 13 and not [words for words in names.values() if "." in words or "[" in words]
    inside = house({"purchase": {"contingency_by": {"labour": even}}})
    [entry] = ranges_of(inside)
    assert unit_of(inside, entry) == "share"
    assert names["tariff.riders[1].share"] == "“City fee”: share added"
    assert names["system.losses[1].share"] == "“Dust”: share lost"
    assert names["system.arrays[1].shading"] == "shade on array 1"


@pytest.mark.parametrize(
    ("path", "unit"),
    [
        ("system.battery.kwh", "kWh"),
        ("system.battery.kw", "kW"),
        ("system.inverter.idle_watts", "W"),
        ("system.inverter.kw", "kW"),
        ("system.battery.reserve", "share"),
        ("costs.0.cost", "money"),
    ],
)
def test_each_number_is_measured_in_its_unit(path: str, unit: str) -> None:
    """Whether it is a range or is moved by hand."""
    one = Ranged(path, (f"alternatives.0.{path}",), Range("from, to", (1.0, 2.0)), 0.0, 9.0)
    assert unit_of(house({}), one) == unit


def test_a_middle_far_from_the_futures_is_told(plain: Plain) -> None:
    """Further than a tenth of the way from P10 to P90, to either side; nearer is not worth a sentence."""
    for one in plain["uncertainty"]["alternatives"]:
        one["figures"]["npv"] |= {"p10": 0.0, "p50": 500.0, "p90": 1000.0, "mean": 480.0}
    roof, borrowed, folly = plain["alternatives"]
    for plan, npv in ((roof, 1700.0), (borrowed, 590.0), (folly, 300.0)):
        plan["metrics"]["npv"] = npv
    first, second = sureness.middle_sentences(plain)
    assert first.startswith("“Roof”: ") and "an NPV of $1,700; half of the futures lie below $500" in first
    assert "their mean is $480" in first
    assert second.startswith("“Folly”: ") and "lie above $500" in second
    assert first in page(plain)


def test_ranges_of_the_record_are_told_as_such() -> None:
    """A kind of outages that is left out comes from the record of the country; the household does not state it."""
    outage = {"load_share": "60%", "storms": {"times_a_year": {"from": 0.1, "to": 0.3}, "hours_each": 20}}
    more = {"study": {"draws": 64, "years": 3}, "tariff": {"rise": {"from": "1%", "to": "3%"}}}
    scenario = house({"household": {"outage": outage}, **more})
    plain = with_what_matters(with_simulation(finsolar.study(scenario))).to_json()
    assert [(one["name"], one["recorded"]) for one in plain["uncertainty"]["inputs"]] == [
        ("household.outage.usual.times_a_year", True), ("household.outage.storms.times_a_year", False),
        ("tariff.rise", False),
    ]  # fmt: skip
    usual, storms, _ = sureness.drawn_table(plain).rows
    assert usual[1] == "low 0.872, likely 1.09, high 1.308, from the record of the country"
    assert storms[1] == "from 0.1, to 0.3"
