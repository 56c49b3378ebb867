"""Several households side by side: what each comes to, what cannot be compared, and names as text."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from side_samples import households
from small_house import house

from finsolar.report import side_by_side as side
from finsolar.report.side_charts import charts
from finsolar.report.words.answer import opening_sentence
from finsolar.study import study
from finsolar.uncertainty.rises import with_rise_sweep
from finsolar.uncertainty.sureness import with_simulation

HOSTILE = '<script>alert(1)</script>"&=1+1'


def test_a_household_is_told_by_the_best_of_its_alternatives_in_the_figures_of_its_study() -> None:
    """Nothing is worked out anew: each figure stands in the study's plain values."""
    dear = {"name": "Dear", "costs": [{"item": "Modules", "category": "modules", "cost": 9000}]}
    changes: dict[str, Any] = {
        "study": {"years": 4, "draws": 64},
        "tariff": {"rise": {"low": "1%", "likely": "2%", "high": "3%"}},
        "alternatives": [dear, {"name": "Roof"}],
    }
    plain = with_rise_sweep(with_simulation(study(house(changes)))).to_json()

    one = side.household(plain, "Ours")

    best = plain["alternatives"][1]
    assert (one["name"], one["best"], one["sentence"]) == ("Ours", "Roof", opening_sentence(plain))
    assert (one["net_cost"], one["npv"]) == (best["costs"]["net"], best["metrics"]["npv"])
    assert (one["load"], one["array_kw"], one["battery_kwh"]) == (pytest.approx(8550), 5.0, 8.0)
    assert one["from_sun"] == best["energy"]["load_from_sun"][0] / best["energy"]["load"][0]
    assert one["running_total"] == best["cash_flow"]["running_total"]
    cases = plain["uncertainty"]["alternatives"][1]
    assert one["spread"]["npv"] is cases["figures"]["npv"]
    assert one["chance"] == cases["chances"]["npv_above_zero"]["share"]
    assert one["rise"] == pytest.approx(0.02)


def test_what_households_assume_differently_is_named_and_nothing_else() -> None:
    """A caution where they differ, none where all is shared; both in the page and on the terminal."""
    alike = households({}, {})
    apart = households({}, {"discount_rate": 0.07, "years": 20}, {"rise": None})
    unknown = side.caution(households({"rise": None}, {"rise": None}))  # 1 and 2 % here, 8 and 9 % there, may be
    assert unknown is not None and "rise of the price of energy" in unknown

    assert side.caution(alike) is None
    assert side.alike_sentence(alike) == (
        "The same for all: currency, years of study, discount rate, inflation and rise of the price of energy."
    )
    told = side.caution(apart)
    assert told is not None and told.startswith(
        "These households differ in what they assume: years of study, discount rate and rise of the price of energy. "
    )
    assert "not comparable as they stand" in told
    assert side.alike_sentence(apart) == "The same for all: currency and inflation."
    assert told in side.side_page(apart, ["a", "b", "c"], "0" * 16)
    assert told in side.terminal(apart, 200)
    assert [row[3] for row in side.assumptions_table(apart).rows] == ["5.0 %", "7.0 %", "5.0 %"]


def test_whose_money_holds_the_worth_of_backup_is_said_before_any_of_it() -> None:
    """Above tables and charts of the page, and under the table of the terminal; nothing where nobody counts it."""
    mixed = households({"counts_backup": True}, {})
    told = side.backup_sentence(mixed)
    assert told == (
        "With “House 0” the worth of backup is counted in NPV, payback, IRR and running total, though it is no cash; "
        "with the others it is not. Do not hold one against another by these."
    )
    text = side.side_page(mixed, ["a", "b"], "0" * 16)
    assert 0 < text.index(told) < text.index("<figure>")
    assert text.index('id="beside"') < text.index(told) < text.index("The money of each household")
    assert told in side.terminal(mixed, 200)
    every = side.backup_sentence(households({"counts_backup": True}, {"counts_backup": True}))
    assert every is not None and every.startswith("With “House 0” and “House 1”") and every.endswith("no cash.")
    assert side.backup_sentence(households({}, {})) is None
    worth = {"load_kw": 0.5, "usual": {"times_a_year": 1, "hours_each": 3}, "worth": {"an_hour": 9}}
    for count in (True, False):
        tree = {"study": {"years": 2, "count_backup": count}, "household": {"outage": worth}}
        assert side.household(study(house(tree)).to_json(), "Ours")["counts_backup"] is count


def test_with_several_currencies_no_chart_holds_their_money() -> None:
    """The page says why; paybacks and shares of the sun stay."""
    mixed = households({}, {"currency": "EUR"}, {"currency": "GBP"})

    drawn = [chart.id for chart in charts(mixed)]

    assert drawn == ["simple-payback-beside", "sun-beside"]
    why = side.currencies_sentence(mixed)
    assert why is not None and "USD, EUR and GBP" in why
    assert why in side.side_page(mixed, ["a", "b", "c"], "0" * 16)
    assert side.money_row(mixed[1])[0].startswith("€")
    assert [chart.id for chart in charts(households({}, {}))] == [
        "totals-beside", "npv-beside", "simple-payback-beside", "sun-beside",
    ]  # fmt: skip


def test_charts_hold_the_figures_of_each_and_say_who_is_never_paid_back() -> None:
    """A figure that does not exist is no point of a chart, and "never" in its table."""
    two = households({"npv": 500.0, "simple_payback_lasting": 3.2}, {"npv": -700.0, "simple_payback_lasting": None})

    npv, payback = charts(two)[1:3]

    assert npv.reading.startswith("From −\N{WORD JOINER}$700 (“House 1”) to $500 (“House 0”).")
    assert [trace["x"] for trace in npv.data] == [[-3000.0, -900.0, 1500.0]] * 2 + [[500.0, -700.0]]
    assert [trace["x"] for trace in payback.data] == [[3.1, 3.6]] * 2 + [[3.2, None]]
    assert payback.reading.endswith("Not paid back within the study: “House 1”.")
    assert payback.table.rows[1] == ["House 1", "never", "3.1 y", "3.6 y", "never"]
    none_drawn = households({"spread": None, "chance": None})
    assert charts(none_drawn)[1].table.rows[0][2:] == ["–", "–", "–"]
    assert side.money_row(none_drawn[0])[5] == "–"


def test_of_many_households_the_chart_draws_the_ends_and_the_table_holds_all() -> None:
    """More lines than eight cannot be told apart."""
    many = households(*({"running_total": [-10.0, float(i), 2.0 * i, 3.0 * i, 4.0 * i]} for i in range(12)))

    totals = charts(many)[0]

    assert [trace["name"] for trace in totals.data] == [f"House {i}" for i in (0, 1, 2, 3, 8, 9, 10, 11)]
    assert "Of the 12 households, the four that end highest and the four that end lowest are drawn." in totals.reading
    assert len(totals.table.head) == 13


def test_hostile_names_are_text_in_page_charts_and_rows() -> None:
    """No name from a scenario becomes markup, a formula or a sign that steers a terminal."""
    two = households({"name": HOSTILE, "best": "\x1b[2J", "sentence": f"“{HOSTILE}” costs."}, {"name": "=cmd"})

    page = side.side_page(two, ["a%22.html", "b.html"], "0" * 16)
    rows = list(csv.reader(io.StringIO(side.as_csv(["head\nall,x\n", "head\nall,y\n"], ["=cmd", "b"], "0" * 16))))

    assert "<script>alert" not in page
    body = page[page.index("<body>") : page.index('<script type="application/json"')]
    assert "&lt;script&gt;alert(1)&lt;/script&gt;&#34;&amp;=1+1" in body and "<script" not in body
    assert '<a href="a%22.html"><bdi>&lt;script&gt;' in body
    assert all("<" not in str(trace.get("name")) for chart in charts(two) for trace in chart.data)
    assert rows[1][2] == "made from" and rows[2] == ["'=cmd", "all", "x"]
    assert all(line.isprintable() for line in side.terminal(two, 300))


def test_json_holds_every_study_as_it_stands_alone() -> None:
    texts = ['{\n "schema": "finsolar-study/1",\n "a": 1\n}\n', '{"schema": "finsolar-study/1", "a": 2}\n']

    found = json.loads(side.as_json(texts, ['One "x"', "Two"], "f" * 16))

    assert found == {
        "schema": "finsolar-side/1",
        "made_from": "f" * 16,
        "title": 'One "x" beside Two',
        "studies": [json.loads(text) for text in texts],
    }


def test_a_narrow_terminal_gets_the_figures_of_each_below_its_name() -> None:
    two = households({}, {"name": "Other house", "cautions": ["caution: look"]})

    wide, narrow = side.terminal(two, 200), side.terminal(two, 60)

    assert len(wide) == 3 + 1 + 1
    assert max(map(len, narrow[: 2 * 9])) <= 60
    assert narrow[0] == "House 0" and re.match(r"  best alternative  Roof$", narrow[1])
    assert wide[-1] == narrow[-1] == "Other house: caution: look"


def test_names_and_links_lead_to_each_household() -> None:
    assert side.names_apart(["A", "B", "A"], ["x", "y", "z"]) == ["A (x)", "B", "A (z)"]
    assert side.title_of(["A", "B", "C"]) == "A beside B beside C"
    assert side.title_of(["A", "B", "C", "D"]) == "A and 3 more"
    assert side.link(Path("reports/s.html"), Path("reports/my #1.html")) == "my%20%231.html"
    assert side.link(Path("else/where/s.html"), Path("reports/a.html")) == "../../reports/a.html"
