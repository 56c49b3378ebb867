"""Living without the grid, told: the same numbers in JSON, on the page, in the terminal and in the CSV."""

from __future__ import annotations

import copy
import csv
import io
import json
import re
from functools import cache
from html import unescape
from typing import Any

import pytest
from conftest import ROOT, demo_page, demo_study, plain_study
from small_house import Tree, house

import finsolar
from finsolar.report import off_grid_charts
from finsolar.report.page import page
from finsolar.report.readers import READERS
from finsolar.report.sections import sections
from finsolar.report.table import as_csv
from finsolar.report.words import answer, off_grid
from finsolar.report.words.charts import off_grid_charts as told
from finsolar.uncertainty.off_grid import with_off_grid

KELP, JUNIPER = (ROOT / "scenarios" / f"{name}.yaml" for name in ("kelp-point", "juniper-lane"))
APART: Tree = {
    "study": {"years": 3},
    "household": {"load": {"monthly_kwh": [300, 260, 250, 220, 200, 190, 200, 200, 210, 240, 270, 300]}},
    "alternatives": [{"name": "Apart", "system": {"operation": "off grid"}}],
}


@cache
def apart() -> dict[str, Any]:
    """A house that leaves its grid, without a generator, in plain values."""
    return with_off_grid(finsolar.study(house(APART))).to_json()


def section(text: str) -> str:
    """The part of a page on living without the grid."""
    found = re.search(r'<section id="off_grid".*?</section>', text, re.S)
    assert found is not None
    return unescape(found[0])


def test_the_json_is_the_engines() -> None:
    study = with_off_grid(demo_study(KELP))
    found, engine = study.to_json()["alternatives"][2]["off_grid"], study.off_grid[2]
    assert engine is not None and engine.autonomy is not None and engine.sizes is not None
    for name, row in found["by_month"].items():
        assert row == pytest.approx(getattr(engine.months, name).tolist(), abs=0), name
    assert found["autonomy"]["darkest_month"] == engine.autonomy.month + 1
    assert found["autonomy"]["days_darkest"] == engine.autonomy.days[1]
    assert found["sizes"]["litres"][1][3] == engine.sizes.litres[1, 3]  # type: ignore[index]  # it has a generator
    assert found["reasons"] == {}
    assert json.loads(json.dumps(found, allow_nan=False)) == found


def test_only_a_house_without_a_grid_has_the_section_whoever_reads() -> None:
    for reader in READERS:
        assert "off_grid" in sections(plain_study(KELP), (), reader)
        assert "off_grid" not in sections(plain_study(JUNIPER), (), reader)
    assert 'id="off_grid"' not in demo_page(JUNIPER)
    assert off_grid_charts.off_grid_charts(plain_study(JUNIPER)) == []
    assert all(plan["off_grid"] is plan["line"] is None for plan in plain_study(JUNIPER)["alternatives"])


def test_the_section_tells_supply_generator_and_days_without_sun() -> None:
    plain, text = plain_study(KELP), section(demo_page(KELP))
    plan = off_grid.lead(plain)
    assert plan["name"] == "Own labour, generator charges"
    months = plan["off_grid"]["by_month"]
    assert "no hour of the first year is short of supply" in text
    assert f"runs {sum(months['hours']):,.0f} hours of the first year" in text
    assert f"burns {sum(months['litres']):,.0f} litres" in text
    assert f"${sum(months['fuel']) + sum(months['running']):,.0f} with its upkeep by the hour" in text
    assert "as you are it runs 8,760 hours" in text
    assert "for 1 day in January, the darkest month" in text
    for caution in (*off_grid.CAUTIONS, off_grid.LINE_CAUTION):
        assert caution in text
    for word in ("carbon monoxide", "aired", "licensed electrician", "medical device"):
        assert word in text


def test_the_bars_of_a_month_are_its_use() -> None:
    """Stacked, to the decimal that a chart keeps; and the reading names the hardest month and the share of the sun."""
    for plain in (plain_study(KELP), apart()):
        plan = off_grid.lead(plain)
        months = plan["off_grid"]["by_month"]
        chart = off_grid_charts.by_month(plain, plan)
        assert chart.layout["barmode"] == "stack" and len(chart.table.rows) == 12
        for m in range(12):
            use = months["load"][m] + months["own_draw"][m]
            assert sum(bar["y"][m] for bar in chart.data) == pytest.approx(use, abs=0.25)
            assert chart.table.rows[m][1] == f"{use:,.0f}"
    sun = sum(months["sun"]) + sum(months["battery"])
    whole = sum(months["load"]) + sum(months["own_draw"])
    assert chart.reading.startswith(f"The sun carries {sun / whole * 100:.0f} % of the year’s {whole:,.0f} kWh of use.")
    hardest = max(range(12), key=lambda m: months["unserved"][m] / (months["load"][m] + months["own_draw"][m]))
    assert f"{off_grid.MONTHS[hardest]} is the hardest: of " in chart.reading
    assert f"{months['unserved'][hardest]:,.0f} kWh find no source" in chart.reading


def test_the_reading_of_sizes_names_the_step_that_helps_more() -> None:
    plan = off_grid.lead(apart())
    sizes = plan["off_grid"]["sizes"]
    grid = sizes["alone"]
    chart = off_grid_charts.unserved_by_size(plan)
    modules, battery = grid[3][2], grid[2][3]
    assert sizes["own"] == [2, 2] and modules != battery
    more = "modules" if modules < battery else "battery"
    assert chart.reading.endswith(f"the {more} help{'' if more == 'modules' else 's'} more.")
    assert f"Half as much again of modules brings it to {modules * 100:.1f} %" in chart.reading
    assert f"of battery to {battery * 100:.1f} %" in chart.reading
    turned = copy.deepcopy(plan)
    turned["off_grid"]["sizes"]["alone"][3][2], turned["off_grid"]["sizes"]["alone"][2][3] = battery, modules
    other = {"modules": "battery", "battery": "modules"}[more]
    assert f"the {other} help" in off_grid_charts.unserved_by_size(turned).reading


def test_the_curves_are_the_map_and_the_plan_is_marked_on_it() -> None:
    plan = off_grid.lead(plain_study(KELP))
    sizes = plan["off_grid"]["sizes"]
    for chart, key, times in (
        (off_grid_charts.unserved_by_size(plan), "alone", 100.0),
        (off_grid_charts.fuel_by_size(plan), "litres", 1.0),
    ):
        assert [curve["x"] for curve in chart.data[:5]] == [[4.2, 6.3, 8.4, 12.6, 16.8]] * 5
        for k, curve in enumerate(chart.data[:5]):
            assert curve["y"] == pytest.approx([times * row[k] for row in sizes[key]], abs=0.006)
        mark = chart.data[5]
        assert (mark["x"], mark["y"]) == ([8.4], [pytest.approx(times * sizes[key][2][2], abs=0.006)])
        assert [row[0] for row in chart.table.rows][2] == "8.4 kW (as planned)"
        assert chart.table.head[3] == "Battery 24 kWh (as planned)"


def test_a_house_that_goes_without_is_told_how_much_how_long_and_in_which_year_most() -> None:
    plain = apart()
    found = off_grid.lead(plain)["off_grid"]
    said = " ".join(off_grid.answers(plain))
    assert (
        f"{found['hours_short'][0]:,.0f} hours are short, at most {found['longest_short'][0]:,.0f} hours in a row"
        in said
    )
    assert f"{found['unserved_share'][0] * 100:.1f} % of the load" in said
    worst = f"{found['unserved_share'][2] * 100:.1f} %"
    assert f" In later years what finds no source grows to {worst} of the load, in year 3." in said
    assert "generator" not in said
    years = off_grid.by_year(plain)
    assert years is not None and len(years.rows) == 3 and "h" in years.rows[0][1]
    assert off_grid.by_year(plain_study(KELP)) is None
    text = section(page(plain))
    assert "A line to the grid instead" not in text and "off-grid-fuel" not in text


def test_a_generator_that_runs_with_next_to_nothing_to_do_is_told_in_the_short_answer() -> None:
    """By hand: 876 kWh in 8,760 hours are 0.1 kW, 3 % of 3.5 kW; the study's own has a fifth of it to do."""
    plain = copy.deepcopy(plain_study(KELP))
    assert off_grid.barely_loaded(plain) == [] and off_grid.barely_loaded(plain_study(JUNIPER)) == []
    plain["stay"]["energy"]["generator"][0] = 876.0
    said = off_grid.barely_loaded(plain)
    assert len(said) == 1 and said[0] in answer.short_answer(plain) and said == off_grid.terminal(plain)[2:]
    assert "running 8,760 hours a year at 3 % of its size, since something always draws power: is that so?" in said[0]
    plain["stay"]["energy"]["generator_hours"][0] = 2000.0
    assert off_grid.barely_loaded(plain) == []


def test_ways_side_by_side_are_staying_each_way_and_each_line() -> None:
    """Own work and the firm live alike and share a row; bills and litres are those of the study."""
    plain = plain_study(KELP)
    table = off_grid.ways(plain)
    assert [row[0] for row in table.rows] == [
        "Stay as you are",
        "Own labour and Firm from the mainland",
        "Own labour, generator charges",
        "Line from the road",
    ]
    assert table.rows[0][3:] == ["8,760", "3,995", "0", "$8,574"]
    assert table.rows[3][3:6] == ["0", "0", f"{plain['alternatives'][3]['energy']['imported'][0]:,.0f}"]
    assert table.rows[3][5] == "5,750"


def test_a_line_is_told_against_the_best_way_without_it() -> None:
    plain = plain_study(KELP)
    line = plain["alternatives"][3]["line"]
    said = off_grid.lines(plain)
    assert len(said) == 1 and said[0] in section(demo_page(KELP))
    assert f"is worth ${line['behind_by']:,.0f} less than “Own labour, generator charges”" in said[0]
    assert f"Both would be worth the same if “{line['item']}” cost ${line['level_price']:.2f} each instead" in said[0]
    assert said[0].endswith(f"instead of $41.00, or if {line['level_quantity']:,.0f} were needed instead of 2,300.")
    ahead, never = copy.deepcopy(plain), copy.deepcopy(plain)
    ahead["alternatives"][3]["line"] |= {"behind_by": -500.0, "rival": None}
    assert "worth $500 more than staying as you are" in off_grid.lines(ahead)[0]
    never["alternatives"][3]["line"] |= {"level_price": None, "reasons": {"level_price": "it stays behind"}}
    assert off_grid.lines(never)[0].endswith("; it stays behind.")


def test_every_number_is_a_row_of_the_csv() -> None:
    plain = plain_study(KELP)
    rows = list(csv.reader(io.StringIO(as_csv(plain))))
    own = [row for row in rows if row[0] == "Own labour, generator charges"]
    found = plain["alternatives"][2]["off_grid"]
    litres = [float(row[5]) for row in own if row[1:3] == ["off grid", "litres"]]
    assert litres == found["by_month"]["litres"]
    assert {row[6] for row in own if row[1:3] == ["off grid", "fuel"]} == {"USD"}
    sized = [row for row in own if row[1:3] == ["off grid sizes", "hours"]]
    assert len(sized) == 25 and float(sized[12][5]) == found["sizes"]["hours"][2][2]
    assert len([row for row in own if row[1:3] == ["off grid", "unserved_share"]]) == 20
    line = {row[2]: row for row in rows if row[0] == "Line from the road" and row[1] == "line"}
    assert float(line["level_price"][5]) == plain["alternatives"][3]["line"]["level_price"]
    assert line["behind_by"][7] == "against Own labour, generator charges"


def test_the_terminal_says_it_in_two_lines() -> None:
    said = off_grid.terminal(plain_study(KELP))
    assert len(said) == 2 and said[0].startswith("Without a grid: With “Own labour, generator charges” no hour")
    assert said[1].startswith("Joining the grid, “Line from the road” is worth")
    assert off_grid.terminal(plain_study(JUNIPER)) == []


def test_names_that_steer_a_page_are_shown_and_never_obeyed() -> None:
    plain = copy.deepcopy(plain_study(KELP))
    evil = "<script>alert(1)</script>‮"
    for k, plan in enumerate(plain["alternatives"]):
        for one in (plain["scenario"]["alternatives"][k], plan):
            one["name"] = f"{evil}{k}"
    text = json.dumps([(chart.data, chart.layout) for chart in off_grid_charts.off_grid_charts(plain)])
    assert "<script>" not in text
    assert "‮" not in " ".join(off_grid.terminal(plain))


def test_one_hour_and_one_kwh_have_verbs_of_their_own() -> None:
    plain = copy.deepcopy(apart())
    plan = off_grid.lead(plain)
    plan["off_grid"] |= {"hours_short": [1.0] * 3, "longest_short": [1.0] * 3}
    plan["off_grid"]["by_month"]["unserved"] = [0.4, *[0.0] * 11]
    said = off_grid.answers(plain)[0]
    assert "under 1 kWh of the first year’s use finds no source" in said
    assert said.endswith("1 hour is short, at most 1 hour in a row.")
    plan["off_grid"]["hours_short"][0] = 12.0
    plan["off_grid"]["by_month"]["unserved"][0] = 10.0
    said = off_grid.answers(plain)[0]
    assert "10 kWh of the first year’s use find no source" in said and "12 hours are short" in said


def test_the_months_of_a_house_without_sun_are_those_of_its_generator() -> None:
    """Nothing is told of a sun that carries 0 %; small amounts are no zeros."""
    reading, none = told.months_reading, [0.0] * 12
    use, engine = [10.0] * 12, [10.0] * 11 + [9.8]
    without = reading(use, 0.0, engine, [*none[:11], 0.2], [7.0] * 12)
    assert without == (
        "The generator carries over 99 % of the year’s 120 kWh of use. December is the hardest: of 10 kWh the "
        "generator carries 10 kWh, in 7 hours and under 1 kWh finds no source. The generator carries all of January, "
        "February, March, April, May, June, July, August, September, October and November."
    )
    assert reading(use, 0.0, use, none, use) == "The generator carries all 120 kWh of the year’s use."
    assert reading(use, 0.0, none, use, none) == "Nothing carries the 120 kWh of the year’s use."
    sunny = reading([10.0] * 11 + [0.0], 109.6, [0.4, *none[1:]], none, [7.0, *none[1:]])
    assert "January is the hardest: of 10 kWh the generator carries under 1 kWh, in 7 hours." in sunny
    assert "all of February" in sunny and "December" not in sunny


@pytest.mark.parametrize(
    ("amount", "text"), [(0.0, "0 hours"), (0.4, "under 1 hour"), (1.0, "1 hour"), (1923.6, "1,924 hours")]
)
def test_amounts_are_counted_in_words(amount: float, text: str) -> None:
    assert off_grid.counted(amount, "hours") == text
