"""How often the grid fails, and what backup is worth, told: beside the money, and never silently among it."""

from __future__ import annotations

import copy
import csv
import io
import re
from functools import lru_cache
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import ROOT, bare, demo_page, plain_study
from small_house import house
from spreadsheet import Spreadsheet, changed, libreoffice, worked_out
from workbook_checks import differences, faults, symbols

import finsolar
from finsolar.report import command, worth_charts
from finsolar.report.other_numbers import page_data
from finsolar.report.page import page
from finsolar.report.side_by_side import household
from finsolar.report.table import as_csv
from finsolar.report.varied import terminal, varied_as_plain
from finsolar.report.words import answer, interruptions_told, sureness, terms, varied_told, worth
from finsolar.report.workbook.whole import written
from finsolar.results import Study
from finsolar.study import study
from finsolar.uncertainty.inputs import input_of
from finsolar.uncertainty.outages import with_outages
from finsolar.uncertainty.sureness import with_simulation
from finsolar.uncertainty.vary import axis, vary
from finsolar.uncertainty.what_matters import with_what_matters

Plain = dict[str, Any]

MANGROVE, TAMARACK = (ROOT / "scenarios" / f"{name}.yaml" for name in ("mangrove-court", "tamarack-row"))
BY_HOUR = {"load_kw": 0.5, "worth": {"an_hour": 40}, "losses": [{"item": "<b>Food</b>", "cost": 300, "after_hours": 1}]}
SPARED = {
    "load_kw": 0.5,
    "instead": {
        "costs": [{"item": "A set", "category": "generator", "cost": 1500}],
        "upkeep": [{"item": "Oil", "category": "upkeep", "cost": 45}],
        "litres_per_kwh": 0.5,
        "fuel_price": 1.2,
    },
}
UNSAID = {"load_kw": 0.5}
UNUSED = "So what you say backup is worth is not used."
LOAN = {"alternatives": [{"name": "Roof"}, {"name": "On credit", "payment": {"loan": {"rate": "5%", "years": 5}}}]}


@lru_cache
def studied(outage: str, *, count: bool = False, country: str = "US") -> Study:
    """A small house with one of the blocks on outages above."""
    block = {"hour": BY_HOUR, "generator": SPARED, "unsaid": UNSAID}[outage]
    place = {"country": country, "region": None if country != "US" else "NC"}
    more = {"study": {"count_backup": count}, "household": {"outage": block}, "place": place} | LOAN
    if country != "US":
        more["place"] = {"country": country}
    return with_outages(finsolar.study(house(more)))


def told(outage: str, *, count: bool = False, country: str = "US") -> Plain:
    """The same as plain values, to be changed."""
    return studied(outage, count=count, country=country).to_json()


def section(text: str, name: str = "outage") -> str:
    found = re.search(rf'<section id="{name}".*?</section>', text, re.S)
    assert found is not None
    return found[0]


def backup(plain: Plain, i: int = 0) -> Plain:
    found: Plain = plain["alternatives"][i]["outage"]["backup"]
    return found


@pytest.fixture
def mangrove() -> Plain:
    """Mangrove Court, to be changed."""
    return copy.deepcopy(plain_study(MANGROVE))


def test_how_often_is_told_in_one_sentence(mangrove: Plain) -> None:
    """How often, how long, the whole year, the likely range, and the share of the time."""
    mangrove["outages"] |= {"saifi": 1.24, "caidi_hours": 9.02, "saidi_hours": 11.18, "availability": 0.99872}
    backup(mangrove)["drawn"]["hours"] |= {"p10": 7.5, "p90": 20.2}
    said = interruptions_told.often(mangrove)
    assert said == (
        "The grid is expected to fail about 1.2 times a year and to stay away for 9.0 hours on average: 11.2 hours a "
        "year without it, likely between 7.5 and 20.2; it is there 99.87 % of the time."
    )
    for each in mangrove["alternatives"]:
        each["outage"]["backup"]["drawn"] = None
    undrawn = interruptions_told.often(mangrove)
    assert undrawn is not None and "likely" not in undrawn


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (0.0, "never"),
        (0.15, "about once in 7 years"),
        (0.34, "about once in 2.9 years"),
        (0.5, "about once in 2 years"),
        (0.66, "about once in 1.5 years"),
        (1.04, "about once a year"),
        (1.24, "about 1.2 times a year"),
        (30.4, "about 30 times a year"),
    ],
)
def test_times_a_year_in_words(number: float, said: str) -> None:
    assert interruptions_told.times(number) == said


@pytest.mark.parametrize(
    ("number", "said"),
    [(0.0, "0 hours"), (0.01, "1 minute"), (0.5, "30 minutes"), (0.96, "1 hour"), (11.18, "11.2 hours"),
     (240.4, "240.4 hours")],
)  # fmt: skip
def test_hours_in_words(number: float, said: str) -> None:
    assert interruptions_told.hours(number) == said


@pytest.mark.parametrize(
    ("months", "said"),
    [
        ([6, 7, 8, 9, 10, 11], "June to November"),
        ([1, 11, 12], "November to January"),
        ([3, 7, 8], "March, July and August"),
        ([2], "February"),
        (list(range(1, 13)), "all months"),
    ],
)
def test_months_in_words(months: list[int], said: str) -> None:
    assert interruptions_told.months_told(months) == said


def test_who_says_so_what_the_mean_hides_and_what_lies_beyond(mangrove: Plain) -> None:
    """The record by its source, the household's own apart; the longest kind; the longest outage that is looked at."""
    mangrove["outages"]["kinds"][1] |= {"half_over_in": 33.3, "hours_of_longest_tenth": 0.42, "spread": 1.5}
    said = " ".join(interruptions_told.explained(mangrove))
    source = mangrove["outages"]["kinds"][0]["source"]
    assert f"The usual outages are those of the record of the country ({source})" in said
    assert "The outages by storm (June to November) are the household’s own." in said
    assert "half of the outages by storm are over within 33.3 hours, and the longest tenth makes 42 % of the h" in said
    assert "Beyond 14 days of one outage nothing counts as carried" in said
    for each in mangrove["outages"]["kinds"]:
        each["spread"] = 0.0
    assert "hides" not in " ".join(interruptions_told.explained(mangrove))


def test_what_is_carried_and_that_nothing_may_be(mangrove: Plain) -> None:
    """Of the alternative of the short answer, if it carries anything, else of the best that does."""
    for plan, npv in zip(mangrove["alternatives"], (10.0, 20.0, 30.0), strict=True):
        plan["metrics"]["npv"] = npv
    year = {"hours": 11.2, "hours_carried": 5.3, "hours_not_carried": 5.9, "kwh": 8.3, "kwh_carried": 3.3}
    backup(mangrove, 1)["a_year"] |= year
    backup(mangrove, 1)["drawn"] = None
    assert interruptions_told.answers(mangrove) == [
        "“The same, slipped to March 2026” carries 5.3 of these hours, and 3.3 of the 8.3 kWh that are wanted in them; "
        "for 5.9 hours a year the house stays dark."
    ]
    for plan in mangrove["alternatives"]:
        plan["outage"]["backup"]["a_year"]["hours_carried"] = 0.0
    assert interruptions_told.answers(mangrove)[0].startswith("None of the alternatives carries any of that")
    assert worth.answers(mangrove)[0].startswith("None of the alternatives carries anything")
    assert worth.terminal(mangrove) == [] and worth.beside(mangrove) == [worth.BATTERY_ALONE]


def test_without_a_record_a_reason_stands_and_no_number() -> None:
    plain = told("unsaid", country="NL")
    assert interruptions_told.answers(plain) == [
        f"How often the grid fails is not told, since {plain['outages']['reason']}."
    ]
    unused = interruptions_told.answers(told("hour", country="NL"))
    assert unused == [f"{interruptions_told.answers(plain)[0]} {UNUSED}"]
    text = section(page(plain))
    assert plain["outages"]["reason"] in unescape(text) and "outage-hours" not in text and worth.HEADING not in text
    assert worth.beside(plain) == [worth.BATTERY_ALONE] and worth.terminal(plain) == []


def test_no_block_no_words() -> None:
    """A household that asks for nothing is told as before."""
    plain = plain_study(TAMARACK)
    assert plain["outages"] is None
    assert not interruptions_told.told(plain) and interruptions_told.terminal(plain) == worth.terminal(plain) == []
    assert worth.opening(plain) == "" and worth.for_lender(plain) == []


def test_the_short_answer_tells_what_backup_would_add_and_that_it_is_not_in_it(mangrove: Plain) -> None:
    mangrove["alternatives"][0]["metrics"]["npv"] = 1e6
    own = backup(mangrove)
    own["worth"]["first_year"], own["drawn"]["worth"] = 49.98, {"p10": 41.1, "p50": 60.0, "p90": 101.7}
    said = answer.short_answer(mangrove)
    assert said[-1] == (
        "Backup with “Finished in November 2025” would add about $50 a year (likely between $41 and $102), if you "
        "value it as you say; that is not in these figures."
    )
    assert worth.BATTERY_ALONE not in said and "backup" not in said[0]


def test_counted_the_first_sentence_says_so_everywhere() -> None:
    """On the page, in the terminal, on the common page, at other numbers and in notes of moved ones."""
    plain, without = told("hour", count=True), told("hour")
    best = max(plain["alternatives"], key=lambda plan: plan["metrics"]["npv"])
    amount = best["outage"]["backup"]["worth"]["present_value"]
    first = f"With the worth of backup counted in (${amount:,.0f} of its NPV, and no cash), “{best['name']}” costs"
    assert amount > 100
    assert answer.short_answer(plain)[0].startswith(first)
    assert f'<p class="answer">{first}' in section(page(plain), "answer")
    assert any(line.startswith(first) for line in command.told(plain, 120))
    assert household(plain, "Ours")["sentence"].startswith(first)
    assert not any("not in these figures" in each or "not counted" in each for each in answer.short_answer(plain))
    assert worth.opening(without) == worth.opening_at_other_numbers(without) == ""
    assert worth.opening_at_other_numbers(plain).startswith("With the worth of backup counted in")
    assert worth.ALSO_COUNTED in section(page(plain)) and worth.ALSO_COUNTED not in section(page(without))


def test_moved_numbers_have_it_in_them_and_say_so() -> None:
    """Twice the worth of an hour moves the NPV by as much as it was worth, where it is counted."""
    for count in (True, False):
        base = studied("hour", count=count)
        moved = vary(base, [axis(input_of(base, "household.outage.worth.an_hour"), 40, 80, 2)])
        by_hour = 40 * np.asarray(base.results[0].backup.carried.hours)  # type: ignore[union-attr]
        rise = float(base.settled.study.inflation)
        more = sum(amount * (1 + rise) ** k / 1.05 ** (k + 1) for k, amount in enumerate(by_hour))
        npv = moved.courses[0].figures["npv"]
        assert npv[1] - npv[0] == pytest.approx(more if count else 0.0, abs=0.01)
        plain = varied_as_plain(moved)
        assert (worth.COUNTED in plain["notes"]) is count
        idle = f"Nothing moves: {varied_told.UNCOUNTED}"
        assert (idle in plain["notes"]) is (idle in terminal(plain, 100)) is not count
        both = vary(base, [*moved.axes, axis(input_of(base, "study.discount_rate"), "3%", "5%", 2)])
        one = f"One of the two numbers moves nothing: {varied_told.UNCOUNTED}"
        assert (one in varied_as_plain(both)["notes"]) is not count


def test_a_best_alternative_without_backup_has_none_of_it(mangrove: Plain) -> None:
    """Counted, yet nothing of the NPV told."""
    mangrove["outages"]["counted"] = True
    mangrove["alternatives"][2]["metrics"]["npv"] = 1e6
    assert worth.opening(mangrove) == "With the worth of backup counted in (nothing of its NPV, and no cash), "


def test_the_sliders_tell_it_too(mangrove: Plain) -> None:
    mangrove["outages"]["counted"] = True
    assert page_data(mangrove)["answer"].startswith("With the worth of backup counted in (no cash), “{name}” costs")


def test_the_generator_that_is_spared_has_words_of_its_own() -> None:
    plain = told("generator")
    own = backup(plain)
    said = " ".join(worth.answers(plain) + worth.explained(plain))
    assert f"spares a generator, $1,500 at the start and about ${own['worth']['first_year']:,.0f} a year" in said
    assert "needs no generator" in said and "value it" not in said
    dark = interruptions_told.hours(own["a_year"]["hours_not_carried"])
    assert f"A generator would carry the {dark} a year too in which the house stays dark with “" in said
    assert "Either would keep" not in said
    for i in range(2):
        backup(plain, i)["a_year"]["hours_not_carried"] = 0.0
    assert worth.explained(plain)[0].endswith(
        "Either would keep the lamps on, so nothing is set on the hours themselves."
    )
    table = worth.line_tables(plain)[0]
    assert [row[:2] for row in table.rows] == [
        ["A set", "at the start"],
        ["Oil", "year 1"],
        ["Fuel of the generator", "year 1"],
    ]
    avoided = sum(line["avoided"] for line in own["worth"]["lines"])
    assert table.foot is not None and table.foot[-1] == f"${avoided:,.2f}"
    assert "would spare a generator" in worth.beside(plain)[0]


def test_where_the_grid_never_fails_one_sentence_says_so_and_nothing_else() -> None:
    """No hours of nothing, no alternative that is blamed for carrying none, no worth of it; counted or not."""
    never = {"load_kw": 0.5, "usual": {"times_a_year": 0, "hours_each": 3}, "worth": {"an_hour": 40}}
    for count in (True, False):
        tree = {
            "study": {"count_backup": count, "years": 3},
            "household": {"outage": never},
            "place": {"country": "NL"},
        }
        plain = with_outages(finsolar.study(house(tree))).to_json()
        assert interruptions_told.often(plain) == "No outages are to be expected here."
        assert interruptions_told.answers(plain) == interruptions_told.explained(plain) == worth.beside(plain) == []
        assert interruptions_told.terminal(plain) == ["How often the grid fails: No outages are to be expected here."]
        assert worth.opening(plain) == worth.opening_at_other_numbers(plain) == "" and worth.terminal(plain) == []
        text = section(page(plain))
        assert (
            "No outages are to be expected here." in text and worth.HEADING not in text and "outage-hours" not in text
        )
    backup(plain)["drawn"] = {"hours": {"p10": 0.0, "p90": 3.4}}
    assert interruptions_told.often(plain) == (
        "No outages are to be expected here at the middle of their ranges, likely between 0 and 3.4 hours a year."
    )


def test_small_amounts_are_told_as_such_and_never_as_nothing(mangrove: Plain) -> None:
    """No 0.0 of 0.0 kWh, no $0 a year, no $0.00 an hour."""
    best = interruptions_told.lead(mangrove)
    assert best is not None
    own = best["outage"]["backup"]
    own["a_year"] |= {"hours_carried": 0.03, "hours_not_carried": 1.02, "kwh": 0.3, "kwh_carried": 0.01}
    own["drawn"] = None
    assert interruptions_told.answers(mangrove)[0].endswith(
        " carries 2 minutes of these hours, and under 0.1 of the 0.3 kWh that are wanted in them; for 1 hour a year "
        "the house stays dark."
    )
    own["a_year"] |= {"kwh": 0.02}
    assert "kWh" not in interruptions_told.answers(mangrove)[0]
    own["worth"] |= {"first_year": 0.3, "unit": 0.001}
    own["break_even"] = {"an_hour": 0.004, "a_kwh": 2.5, "reasons": {}}
    assert "would add under $1 a year, if you value it" in worth.beside(mangrove)[0]
    assert worth.line_tables(mangrove)[0].rows[0][0] == "Hours without power, under $0.01 each"
    (row,) = [row for row in worth.npv_table(mangrove).rows if row[0] == best["name"]]
    assert row[-2:] == ["under $0.01", "$2.50"]
    own["worth"]["first_year"] = 0.0
    assert "would add nothing a year" in worth.beside(mangrove)[0]
    own["drawn"] = {"hours": {"p10": 0.01, "p90": 0.4}}
    assert interruptions_told.likely(own["drawn"], "hours") == ", likely between 0 and 24 minutes"
    mangrove["outages"]["caidi_hours"] = 0.01
    assert "to stay away for 1 minute on average" in str(interruptions_told.often(mangrove))


def test_nobody_says_what_it_is_worth() -> None:
    """No money is set on it, and the break-evens stand all the same."""
    plain = told("unsaid")
    assert worth.answers(plain)[0].startswith("Nobody has said what power is worth here")
    assert worth.line_tables(plain) == [] and worth.beside(plain) == [worth.BATTERY_ALONE]
    assert [row[2:4] for row in worth.npv_table(plain).rows] == [["–", "–"]] * 2
    assert worth.break_even(plain) and worth.for_lender(plain) == []


def test_break_evens_are_told_once_for_those_alike_or_their_reason(mangrove: Plain) -> None:
    for i, even in enumerate(({"an_hour": 24.476, "a_kwh": 40.259, "reasons": {}},) * 2):
        backup(mangrove, i)["break_even"] = dict(even)
    backup(mangrove, 2)["break_even"] = {"an_hour": None, "a_kwh": None, "reasons": {"an_hour": "nothing is carried"}}
    assert worth.break_even(mangrove) == [
        "The NPV of “Finished in November 2025” and “The same, slipped to March 2026” is zero if an hour with power is "
        "worth $24.48 to you, or a kWh $40.26, in today’s money and with no other worth beside it.",
        "“Slipped, and without a battery”: no break-even worth, since nothing is carried.",
    ]
    backup(mangrove, 1)["break_even"] = {"an_hour": 110.0, "a_kwh": None, "reasons": {"a_kwh": "none is wanted"}}
    mangrove["alternatives"][2]["outage"] |= {"backup": None, "no_backup": "it leaves the grid"}
    assert worth.break_even(mangrove)[1:] == [
        "The NPV of “The same, slipped to March 2026” is zero if an hour with power is worth $110.00 to you, in "
        "today’s money and with no other worth beside it; there is none of a kWh, since none is wanted.",
        "“Slipped, and without a battery”: no worth of backup is counted, since it leaves the grid.",
    ]
    npv = mangrove["alternatives"][2]["metrics"]["npv"]
    assert worth.npv_table(mangrove).rows[-1] == [
        "Slipped, and without a battery", worth.money(npv, "USD"), "–", "–", "–", "–",
    ]  # fmt: skip


def test_a_generator_bought_late_and_fuel_that_is_burnt_are_told() -> None:
    """By the alternative that does it."""
    plain = told("generator")
    assert "after all" not in " ".join(worth.explained(plain)) and "burns" not in " ".join(worth.explained(plain))
    backup(plain)["worth"]["bought_in"] = 4
    plain["alternatives"][0]["outage"]["endurance"]["fuel_litres"] = 20.0
    assert worth.explained(plain)[-2:] == [
        "When the system of “Roof” is taken away, after year 4, the household buys the generator after all, at the "
        "price of that year.",
        "Fuel that the generator of “Roof” burns in outages is not charged; with it no fuel counts as spared.",
    ]
    by_hour = told("hour")
    by_hour["alternatives"][0]["outage"]["endurance"]["fuel_litres"] = 20.0
    assert worth.explained(by_hour)[-1] == "Fuel that the generator of “Roof” burns in outages is not charged."


def test_the_lender_is_told_that_it_is_no_cash() -> None:
    """In the lender's own view, and before any figure where it is counted; with coverage as it was."""
    plain, without = told("hour", count=True), told("hour")
    (said,) = worth.for_lender(plain)
    assert "not in coverage" in said
    text = page(plain, "lender")
    assert said in section(text, "borrowing") and said in section(text, "summary")
    assert worth.for_lender(without)[0] in section(page(without, "lender"), "borrowing")
    assert said not in page(plain, "household")
    loans = [each["alternatives"][1]["loan"]["coverage"] for each in (plain, without)]
    assert loans[0] == loans[1]
    lines = plain["alternatives"][0]["cash_flow"]["lines"]
    assert lines["worth of backup"] == backup(plain)["worth"]["by_year"]
    assert terms.LINE_NAMES["worth of backup"] in bare(section(text, "years"))


def test_what_a_household_writes_stays_text() -> None:
    """An item of a loss is shown as it is typed, as text."""
    text = section(page(told("hour")))
    assert "&lt;b&gt;Food&lt;/b&gt;" in text and "<b>Food" not in text


def test_the_page_of_mangrove_court_has_all_of_it() -> None:
    plain, text = plain_study(MANGROVE), unescape(bare(section(demo_page(MANGROVE))))
    said = [interruptions_told.often(plain), *interruptions_told.answers(plain), *worth.answers(plain)]
    for each in said:
        assert f'<p class="answer">{each}</p>' in text
    for each in [*worth.break_even(plain), *worth.CAUTIONS]:
        assert f"<li>{each}</li>" in text
    for each in (interruptions_told.HEADING, worth.HEADING):
        assert f"<h3>{each}</h3>" in text
    tables = [interruptions_told.kinds_table(plain), interruptions_told.carried_table(plain), worth.npv_table(plain)]
    for table in [*tables, *worth.line_tables(plain)]:
        assert table.caption in text
        for row in table.rows:
            assert "".join(f"<td>{cell}</td>" for cell in row[1:]) in text
    for term in ("SAIFI", "SAIDI", "CAIDI"):
        assert f'<dt id="term-{term.lower()}">{term}</dt>' in demo_page(MANGROVE)
        assert f'href="#term-{term.lower()}"' in section(demo_page(MANGROVE))
    lines = command.told(plain, 120)
    assert sum(line.startswith(("How often the grid fails: ", "What backup is worth: ")) for line in lines) == 2
    assert any(key == "backup_cost" for key, _, _ in terms.metric_rows(plain))


def test_the_lines_add_up_as_printed(mangrove: Plain) -> None:
    table = worth.line_tables(mangrove)[0]
    assert table.foot is not None
    for column in range(1, 4):
        cells = [float(row[column].removeprefix("$").replace(",", "")) for row in [*table.rows, table.foot]]
        assert sum(cells[:-1]) == pytest.approx(cells[-1], abs=1e-9)
        if column == 3:
            assert cells[-1] == pytest.approx(backup(mangrove)["worth"]["first_year"], abs=0.02)
    assert table.rows[0][0] == f"Hours without power, ${backup(mangrove)['worth']['unit']:.2f} each"


def test_the_bars_are_the_hours_of_the_year(mangrove: Plain) -> None:
    """Each bar is as long as all outages; the dark part with its whisker comes first; kinds stand apart."""
    chart = worth_charts.outage_hours(mangrove)
    assert chart is not None
    bars = [each for each in chart.data if each["type"] == "bar"]
    assert [bar["marker"]["pattern"]["shape"] for bar in bars] == ["", "/", "", "/"]
    groups = interruptions_told.alike(mangrove)
    for k in range(len(groups) + 1):
        assert sum(bar["x"][k] for bar in bars) == pytest.approx(mangrove["outages"]["saidi_hours"], abs=0.01)
    for k, (_, own) in enumerate(groups, start=1):
        assert bars[0]["x"][k] + bars[1]["x"][k] == pytest.approx(own["a_year"]["hours_not_carried"], abs=0.01)
    whiskers = chart.data[-1]
    drawn = groups[0][1]["drawn"]
    assert whiskers["x"][:2] == pytest.approx([drawn["hours"]["p10"], drawn["hours"]["p90"]], abs=1e-3)
    ends = [drawn["hours_not_carried"][key] for key in ("p10", "p90")]
    assert whiskers["x"][3:5] == pytest.approx(ends, abs=1e-3)
    assert whiskers["y"][:5] == [0, 0, None, 1, 1]
    names = [plan["name"] for plan in mangrove["alternatives"]]
    assert all(f"“{name}”" in chart.reading for name in names) and len(chart.table.rows) == 2 * (len(groups) + 1)
    assert f"{groups[0][1]['a_year']['hours_not_carried']:.1f} hours in the dark" in chart.alt


def test_every_figure_is_in_the_csv(mangrove: Plain) -> None:
    rows = list(csv.DictReader(io.StringIO(as_csv(mangrove))))
    plan, own = mangrove["alternatives"][0], backup(mangrove)
    mine = {(row["part"], row["item"], row["note"]): row["value"] for row in rows if row["alternative"] == plan["name"]}
    assert mine["backup a year", "hours_carried", ""] == str(own["a_year"]["hours_carried"])
    assert mine["backup p90", "worth", ""] == str(own["drawn"]["worth"]["p90"])
    assert mine["worth of backup avoided", own["worth"]["lines"][1]["item"], ""] == str(
        own["worth"]["lines"][1]["avoided"]
    )
    every = {(row["part"], row["item"]): row["value"] for row in rows if row["alternative"] == "all"}
    for kind in mangrove["outages"]["kinds"]:
        assert every[f"outages {kind['kind']}", "half_over_in"] == str(kind["half_over_in"])


def test_the_record_stands_among_the_assumptions(mangrove: Plain) -> None:
    """With its range, its source and why, in the table of all inputs."""
    (row,) = [each for each in mangrove["assumptions"] if each["id"].endswith("household.outage.usual")]
    assert "low" in row["value"] and "high" in row["value"] and mangrove["outages"]["kinds"][0]["source"] in row["why"]
    text = unescape(section(demo_page(MANGROVE), "assumptions"))
    assert row["value"] in text and row["why"][1:] in text


def test_the_workbook_foots_with_it_and_says_what_holds_it(tmp_path: Path) -> None:
    """The line stands as the engine found it; what moves it may not be typed; all else follows."""
    program, base = libreoffice(), studied("hour", count=True)
    plain = base.to_json()
    book = written(base, plain)
    free = {one.symbols[0] for one in book.free}
    assert "inflation" not in free and "discount_rate" in free
    cells = [str(cell.value) for sheet in Spreadsheet(book.file).sheets.values() for cell in sheet.values()]
    assert any("these values depend on it: worth of backup" in cell for cell in cells)
    rate = next(one for one in book.free if one.symbols[0] == "discount_rate")
    values = symbols({rate: 0.031})
    found = worked_out({"as is": book.file, "moved": changed(book.file, values)}, program, tmp_path)
    assert "alternatives.0.cash_flow.lines.worth of backup" in book.ids
    assert differences(found["as is"], book, plain) == []
    other = with_outages(study(base.scenario, dict.fromkeys(rate.paths, 0.031), reuse=base)).to_json()
    assert differences(found["moved"], book, other) == []
    assert [faults(each) for each in found.values()] == [[], []]


@pytest.mark.parametrize("count", [False, True])
def test_ranges_of_outages_make_futures_only_where_they_are_counted(count: bool) -> None:
    """Otherwise every future would end alike, and the page would be sure of what nobody drew."""
    block = {"load_kw": 0.5, "worth": {"an_hour": {"low": 1, "likely": 5, "high": 20}}}
    base = house({"study": {"count_backup": count, "draws": 64}, "household": {"outage": block}})
    plain = with_what_matters(with_simulation(with_outages(finsolar.study(base)))).to_json()

    assert plain["alternatives"][0]["outage"]["backup"]["drawn"]["worth"]["p10"] > 0
    assert (plain["uncertainty"] is not None) == (plain["what_matters"] is not None) == count
    assert ("futures drawn" in " ".join(answer.short_answer(plain))) == count
    if count:
        assert "worth of an hour" in sureness.varied_sentence(plain)
