"""When the grid is down, told: the same numbers in JSON, on the page, in the terminal and in the CSV."""

from __future__ import annotations

import copy
import csv
import io
import json
import re
from html import unescape
from typing import Any

import pytest
from conftest import ROOT, demo_page, demo_study, plain_study
from small_house import house

from finsolar.energy.clock import wall_clock
from finsolar.report import outage_charts
from finsolar.report.outage_values import outage_as_plain
from finsolar.report.page import page
from finsolar.report.table import as_csv
from finsolar.report.words import outage, times_told
from finsolar.report.words.checked import checked
from finsolar.uncertainty.outages import with_outages

MANGROVE, PRAIRIE, KELP, TAMARACK, HERON = (
    ROOT / "scenarios" / f"{name}.yaml"
    for name in ("mangrove-court", "prairie-bend", "kelp-point", "tamarack-row", "heron-landing")
)


def section(text: str) -> str:
    """The part of a page on outages."""
    found = re.search(r'<section id="outage".*?</section>', text, re.S)
    assert found is not None
    return unescape(found[0])


def changed(plain: dict[str, Any], **more: Any) -> dict[str, Any]:
    """The study with other numbers in the endurance of its first alternative."""
    found = copy.deepcopy(plain)
    found["alternatives"][0]["outage"]["endurance"] |= more
    return found


def test_the_curve_is_that_of_the_engine() -> None:
    """Shares counted over all starts, seasons that together make the year, figures that lie on the curve."""
    study = with_outages(demo_study(MANGROVE))
    lasts = outage_as_plain(study.outages[0], study.site.clock)["endurance"]
    engine = study.outages[0].endurance
    assert engine is not None
    for hours, share in zip(lasts["hours"], lasts["share"], strict=True):
        assert share == pytest.approx(sum(one >= hours - 1e-9 for one in engine.hours) / 8760)
    days = [31 + 31 + 28, 31 + 30 + 31, 30 + 31 + 31, 30 + 31 + 30]
    for k in range(len(lasts["hours"])):
        parts = sum(count * one["share"][k] for count, one in zip(days, lasts["seasons"], strict=True))
        assert parts / 365 == pytest.approx(lasts["share"][k], abs=1e-4)  # the clock's summer moves an hour of a month
    assert lasts["share"] == sorted(lasts["share"], reverse=True)
    assert sum(one >= lasts["nine_in_ten"] for one in engine.hours) >= 0.9 * 8760
    assert sum(one >= lasts["half"] for one in engine.hours) >= 0.5 * 8760
    assert sum(one > lasts["half"] + 1e-6 for one in engine.hours) <= 0.5 * 8760
    assert lasts["worst"] == lasts["worst_start"]["hours"] == engine.hours.min()
    assert lasts["longest_hours"] == lasts["hours"][-1] == 336


def test_the_worst_start_is_named_by_the_clock_on_the_wall() -> None:
    """Of those that are over first the one with the least charge; in summer the clock is an hour ahead."""
    study = with_outages(demo_study(MANGROVE))
    engine, clock = study.outages[0].endurance, study.site.clock
    assert engine is not None
    told = outage_as_plain(study.outages[0], clock)["endurance"]["worst_start"]
    shortest = [k for k in range(8760) if engine.hours[k] <= engine.hours.min()]
    start = min(shortest, key=lambda k: engine.stored[k])
    assert told["hour"] == clock.hour[start]
    assert told["stored_kwh"] == engine.stored[start]
    assert told["day_of_year"] == start // 24 + 1 + (1 if clock.hour[start] < start % 24 - 12 else 0)
    assert told["as_short"] >= len(shortest)


def test_an_hour_before_midnight_in_summer_is_midnight_of_the_next_day() -> None:
    """The 200th day at 23:00 standard time is the 201st at 0:00 on the wall."""
    study = with_outages(demo_study(MANGROVE))
    engine = copy.copy(study.outages[0].endurance)
    assert engine is not None
    hours = engine.hours.copy()
    hours[199 * 24 + 23] = 0.5
    object.__setattr__(engine, "hours", hours)
    one = copy.copy(study.outages[0])
    object.__setattr__(one, "endurance", engine)
    told = outage_as_plain(one, wall_clock("America/New_York", -5.0))["endurance"]["worst_start"]
    assert (told["day_of_year"], told["hour"], told["hours"], told["as_short"]) == (201, 0, 0.5, 1)
    assert times_told.day_and_hour(201, 0) == "20 July at 0:00"
    assert times_told.day_and_hour(365, 7) == "31 December at 7:00" and times_told.day_and_hour(1, 0)[:9] == "1 January"
    with pytest.raises(ValueError, match="365 days"):
        times_told.day_and_hour(366, 0)


def test_page_terminal_and_json_say_the_same() -> None:
    plain = plain_study(MANGROVE)
    lasts = plain["alternatives"][0]["outage"]["endurance"]
    test = plain["alternatives"][0]["outage"]["load_test"]
    text, terminal = section(demo_page(MANGROVE)), outage.terminal(plain)

    assert 'href="#outage"' in demo_page(MANGROVE).partition("</nav>")[0]
    for told in outage.answers(plain):
        assert f'<p class="answer">{told}</p>' in text
    assert f"for at least {lasts['nine_in_ten']:.1f} hours in nine cases of ten" in text
    assert (
        f"with {lasts['worst_start']['stored_kwh']:.1f} kWh in the battery: it lasts {lasts['worst']:.1f} hours" in text
    )
    assert terminal[0].startswith("When the grid is down: If the grid fails in some hour of the year, “Finished in")
    assert len(terminal) == 3 and f"{test['running_watts']:,.0f} W at worst" in terminal[2]
    assert f"with {5000 - test['running_watts']:,.0f} W to spare" in terminal[2]
    for each in test["circuits"]:
        assert f">{each['item']}</bdi></th><td>{each['watts']:,.0f}</td>" in text
    for row in outage.other_ways(plain)[0][1].rows:
        assert "".join(f"<td>{cell}</td>" for cell in row[1:]) in text
    assert len(outage.other_ways(plain)[0][1].rows) == 1 + len(lasts["variants"]) == 13
    for caution in outage.CAUTIONS:
        assert f"<li>{caution}</li>" in text
    assert "licensed electrician" in text and "carbon monoxide" in text and "interlock" in text


def test_every_number_is_in_the_csv() -> None:
    plain = plain_study(MANGROVE)
    rows = list(csv.DictReader(io.StringIO(as_csv(plain))))
    found = plain["alternatives"][0]["outage"]
    mine = {
        (row["part"], row["item"], row["note"]): row["value"]
        for row in rows
        if row["alternative"] == plain["alternatives"][0]["name"]
    }
    lasts, test = found["endurance"], found["load_test"]
    for k, hours in enumerate(lasts["hours"]):
        assert mine[("share of starts that last", f"{hours:g} h", "all year")] == str(lasts["share"][k])
        winter = mine[("share of starts that last", f"{hours:g} h", "December to February")]
        assert winter == str(lasts["seasons"][0]["share"][k])
    for each in [{"kind": "", **lasts}, *lasts["variants"]]:
        way = times_told.way_in_words(each) if each["kind"] else "As planned"
        for key in ("worst", "nine_in_ten", "half", "a_day", "to_the_end"):
            assert mine[(f"endurance {key}", way, "")] == str(each[key])
    for each in test["circuits"]:
        for key in ("watts", "start_watts", "running_watts", "starting_watts"):
            assert mine[(f"circuit {key}", each["item"], each["verdict"])] == str(each[key])
    last = [row for row in rows if row["alternative"] == plain["alternatives"][-1]["name"] and row["part"] == "outage"]
    assert {row["item"] for row in last} == {"load_test", "endurance"} and all(row["note"] for row in last)


def test_where_nothing_lasts_the_reason_stands_in_its_place() -> None:
    """With modules alone: no chart, no answer, the reason once, the cautions all the same."""
    text = section(demo_page(TAMARACK))
    assert text.count("without a battery nothing in the house makes a grid of its own") == 1
    assert "data-chart" not in text and "<table" not in text and 'class="answer"' not in text
    assert "licensed electrician" in text
    assert outage.terminal(plain_study(TAMARACK)) == []


def test_without_a_grid_and_without_figures_there_is_no_section() -> None:
    """Nobody there can feed a street; where something is carried, or outages are asked about, there is one."""
    plain = plain_study(KELP)
    assert 'id="outage"' not in demo_page(KELP) and outage.terminal(plain) == []
    assert not outage.to_tell(plain) and outage.told(plain)
    assert outage.to_tell(plain | {"outages": plain_study(MANGROVE)["outages"]})
    asked = copy.deepcopy(plain)
    asked["alternatives"][0]["outage"]["load_test"] = plain_study(MANGROVE)["alternatives"][0]["outage"]["load_test"]
    assert outage.to_tell(asked)


def test_appliances_beside_another_load_are_said_to_be_in_the_load_test_alone() -> None:
    plain = copy.deepcopy(plain_study(MANGROVE))
    words = "the load test is of those on backup alone, all else here is of 30 % of what the house uses"
    assert words not in " ".join(outage.explained(plain))
    plain["scenario"]["household"]["outage"]["load_share"] = 0.3
    plain["alternatives"][0]["outage"]["carried"]["by"] = "share"
    assert words in " ".join(outage.explained(plain))
    plain["alternatives"] = plain["alternatives"][:1]
    plain["alternatives"][0]["outage"]["load_test"] = None
    assert words not in " ".join(outage.explained(plain))


def test_no_two_circuits_share_a_colour() -> None:
    """Hatching does not show on the small patches of the legend."""
    chart = outage_charts.load_test(plain_study(MANGROVE))
    assert chart is not None
    found = [bar["marker"]["color"] for bar in chart.data]
    assert len(found) == len(set(found)) == 10


def test_alternatives_that_last_alike_share_a_row_and_others_a_chart() -> None:
    heron, prairie = plain_study(HERON), plain_study(PRAIRIE)
    assert len(outage.times(heron).rows) == 1 and outage_charts.compared(heron) is None
    assert outage.times(heron).rows[0][0].count(",") >= 5
    chart = outage_charts.compared(prairie)
    assert chart is not None and [trace["name"] for trace in chart.data] == [
        "Every surplus into the battery", "The dear hours first", "Kept full for outages",
    ]  # fmt: skip
    text = section(demo_page(PRAIRIE))
    assert text.count("in other ways</summary>") == 2
    assert "“Without a battery”: no time that it lasts, since" in text
    assert "No load test, since no appliances are listed" in text


def test_the_charts_hold_the_shares_and_the_watts() -> None:
    plain = plain_study(MANGROVE)
    found = plain["alternatives"][0]["outage"]
    curve, test = outage_charts.by_season(plain), outage_charts.load_test(plain)
    assert curve is not None and test is not None
    assert curve.data[-1]["y"] == pytest.approx([100 * share for share in found["endurance"]["share"]], abs=0.005)
    assert curve.data[0]["y"] == pytest.approx([100 * s for s in found["endurance"]["seasons"][0]["share"]], abs=0.005)
    bars = [trace for trace in test.data if trace["type"] == "bar"]
    sums = [sum(trace["x"][row] for trace in bars) for row in range(3)]
    assert sums[:2] == pytest.approx([found["load_test"]["running_watts"], found["load_test"]["starting_watts"]])
    added = [each["running_watts"] for each in found["load_test"]["circuits"] if each["verdict"] == "can be added"]
    assert sums[2] == pytest.approx(added[-1])
    assert test.data[-1]["x"] == [5000, 7000, 5000]
    a_day = found["endurance"]["hours"].index(24)
    assert curve.reading.startswith(times_told.part(found["endurance"]["share"][a_day]))
    assert all(len(trace["x"]) <= 1500 for trace in [*curve.data, *test.data])


def asked_too_much(**more: Any) -> dict[str, Any]:
    """The load test of Mangrove Court against another rating."""
    plain = copy.deepcopy(plain_study(MANGROVE))
    test = plain["alternatives"][0]["outage"]["load_test"]
    test["rating"] |= more
    test["fits"] = False
    return test  # type: ignore[no-any-return]


def test_a_load_above_the_rating_is_a_caution_with_the_amount() -> None:
    test = asked_too_much(watts=2000.0, short_time_watts=2000.0, short_time_stated=False)
    test["circuits"][0]["verdict"] = "left off"
    said = outage.load_test_sentences(test)
    beyond = f"{test['running_watts'] - 2000:,.0f} W more than the battery carries"
    assert said[1] == f"Caution: running all at once, that is {beyond}."
    assert "leave off “Refrigerator” (160 W)." in said[2] and "move “Freezer” (110 W)," in said[2]
    assert said[-1].startswith("No short-time rating was stated")
    start = outage.over(asked_too_much(short_time_watts=4000.0))
    beyond = f"{test['starting_watts'] - 4000:,.0f} W more than the battery gives for a short time"
    assert start == [f"Caution: the largest start asks {beyond}."]
    assert outage.over(plain_study(MANGROVE)["alternatives"][0]["outage"]["load_test"]) == []


def test_what_was_assumed_is_said() -> None:
    """All of the load where nothing is said; a load beyond the power; fuel with and without a generator."""
    heron = plain_study(HERON)
    assert outage.carried(heron, heron["alternatives"][0]).startswith("all that the house uses (39.2 kWh a day)")
    assert outage.explained(heron)[0].startswith("Nothing was said of what is carried")
    assert not any("Nothing was said" in told for told in outage.explained(plain_study(PRAIRIE)))
    prairie = plain_study(PRAIRIE)
    assert outage.carried(prairie, prairie["alternatives"][0]).startswith("40 % of what the house uses (9.9 kWh a day)")
    beyond = changed(heron, highest_kw=7.34, limit_kw=6.0)
    assert any(
        "Caution: at its highest the load is 1.3 kW more than the 6 kW" in told for told in outage.explained(beyond)
    )
    fuel = changed(heron, fuel_litres=20.0)
    assert any("A generator with 20 litres fills" in told for told in outage.explained(fuel))
    idle = changed(heron)
    idle["scenario"]["household"]["outage"] = {"fuel_litres": 20.0}
    assert any("no generator to burn it" in told for told in outage.explained(idle))
    alone = changed(heron, has_battery=False)
    assert any("A generator carries it alone" in told for told in outage.explained(alone))
    assert "in the battery" not in outage.answers(alone)[1]


@pytest.mark.parametrize(
    ("hours", "longest", "in_a_table", "in_a_sentence"),
    [
        (0.0, 336, "0.0 h", "for no time at all"),
        (5.34, 336, "5.3 h", "for at least 5.3 hours"),
        (47.9, 336, "47.9 h", "for at least 47.9 hours"),
        (84.0, 336, "3.5 days", "for at least 3.5 days"),
        (336.0, 336, "14+ days", "for at least 14 days"),
        (18.0, 18, "18+ h", "for at least 18.0 hours"),
        (1.0, 1, "1+ h", "for at least 1 hour"),
        (0.5, 336, "0.5 h", "for at least 30 minutes"),
    ],
)
def test_times_in_words(hours: float, longest: float, in_a_table: str, in_a_sentence: str) -> None:
    assert times_told.amount_of_time(hours, longest) == in_a_table
    assert times_told.for_a_time(hours) == in_a_sentence
    assert [times_told.ahead_of(each) for each in (1, 18, 336)] == ["1 hour", "18 hours", "14 days"]


def test_a_house_that_always_lasts_and_parts_that_are_nearly_none_or_all() -> None:
    plain = plain_study(HERON)
    worst = plain["alternatives"][0]["outage"]["endurance"]["worst_start"] | {"hours": 336.0}
    assert outage.answers(changed(plain, worst_start=worst))[1].startswith("Even from the worst start it lasts 14 days")
    for nine, half, ends in (
        (336.0, 336.0, "for at least 14 days in nine cases of ten."),
        (5.0, 336.0, "for at least 5.0 hours in nine cases of ten, and for at least 14 days in half of them."),
        (0.0, 0.0, "for no time at all in half of all cases or more."),
    ):
        assert outage.answers(changed(plain, nine_in_ten=nine, half=half))[0].endswith(f" {ends}")
    assert [times_told.part(share) for share in (0.0, 0.001, 0.2, 0.997, 1.0)] == [
        "0 %", "under 1 %", "20 %", "over 99 %", "100 %",
    ]  # fmt: skip


def test_a_study_without_outages_has_no_section() -> None:
    plain = copy.deepcopy(plain_study(HERON))
    for plan in plain["alternatives"]:
        plan["outage"] = None
    text = page(plain)
    assert 'id="outage"' not in text and "When the grid is down" not in text
    assert outage.terminal(plain) == [] and outage_charts.outage_charts(plain) == []
    assert demo_study(HERON).to_json()["alternatives"][0]["outage"] is None


def test_names_of_appliances_are_shown_and_never_obeyed() -> None:
    plain = copy.deepcopy(plain_study(MANGROVE))
    evil = "<img src=x onerror=alert(1)>{{ 7 * 7 }}"
    for plan in plain["alternatives"][:2]:
        for each in plan["outage"]["load_test"]["circuits"]:
            each["item"] = evil
        for each in plan["outage"]["endurance"]["variants"]:
            each["without"] = [evil] if each["without"] else []
    text = page(plain)
    assert "<img" not in text
    chart = outage_charts.load_test(plain)
    assert chart is not None and "<" not in json.dumps([trace["name"] for trace in chart.data])


@pytest.mark.parametrize(
    ("short_time_kw", "words"),
    [(3.0, "a start may exceed what its battery gives for a short time by 150 W"), (3.2, "")],
)
def test_check_holds_the_list_of_an_outage_against_the_short_time_rating(short_time_kw: float, words: str) -> None:
    """By hand: 150 W and a pump of 1,000 W whose start takes 2,000 W more, 3,150 W in all."""
    lines = [
        {"item": "Refrigerator", "watts": 150, "on_backup": "100%"},
        {"item": "Well pump", "watts": 1000, "starting_watts": 3000, "on_backup": "100%"},
    ]
    battery = {"kw": 2.5, "short_time_kw": short_time_kw}
    text = checked(house({"household": {"outage": {"appliances": lines}}, "system": {"battery": battery}}), 200)

    assert "on backup: 1,150 W with all of it running, 3,150 W while the largest starts" in text
    assert words in text and ("short time by" in text) == bool(words)
