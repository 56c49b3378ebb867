"""The hours of the first year in words, charts and rows."""

from __future__ import annotations

import copy
import csv
import io
import json
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import ROOT, demo_study, plain_study

from finsolar.report.day_charts import average_day, weeks
from finsolar.report.period_charts import bill_by_period
from finsolar.report.table import as_csv
from finsolar.report.words import changes_told
from finsolar.report.words.hours_told import day_sentence, season, span, week, week_sentence

KELP = ROOT / "scenarios" / "kelp-point.yaml"
BELOW = ("Into the battery", "Fed into the grid", "Left over")


def test_an_average_day_in_the_json_is_that_of_the_flows(demo: Path) -> None:
    """24 hours times the days of a season are the kWh of its months, for staying and for each alternative."""
    plain = plain_study(demo)
    for energy in [plain["stay"]["energy"], *(plan["energy"] for plan in plain["alternatives"])]:
        months = energy["first_year_by_month"]
        assert [day["months"] for day in energy["average_days"]] == [[12, 1, 2], [3, 4, 5], [6, 7, 8], [9, 10, 11]]
        for day in energy["average_days"]:
            for key in ("load", "solar", "imported", "exported", "generator", "unserved"):
                wanted = sum(months[key][month - 1] for month in day["months"])
                assert sum(day[key]) * day["days"] == pytest.approx(wanted, rel=1e-9, abs=1e-9), key
        for key in ("charge", "charge_bought", "discharge", "idle", "curtailed"):
            whole = sum(sum(day[key]) * day["days"] for day in energy["average_days"])
            assert whole == pytest.approx(energy[key][0], rel=1e-9, abs=1e-9), key


def test_the_weeks_are_the_exchange_of_the_year(demo: Path) -> None:
    """What the map holds, a day each hour, is what is drawn less what is fed in, or what stands for it off the grid."""
    plain, study = plain_study(demo), demo_study(demo)
    positions = [study.stay, *(result.position for result in study.results)]
    told = [plain["stay"]["energy"], *(plan["energy"] for plan in plain["alternatives"])]
    supplied = [study.settled, *(plan for plan in study.settled.alternatives)]
    for position, energy, supply in zip(positions, told, supplied, strict=True):
        first, found = position.hourly.years(slice(0, 1)), energy["weeks"]
        net = first.imported - first.exported
        if not found["grid"]:
            net = first.generator + first.unserved - first.curtailed
        assert found["grid"] == (supply.tariff is not None)
        squares = np.array(found["exchange"])
        assert squares.shape == (53, 24)
        days = np.append(np.full(52, 7.0), 1.0)
        # An hour that is skipped or repeated is an hour of its week all the same.
        assert (squares.sum(axis=1) * days).sum() == pytest.approx(net.sum(), abs=3 * np.abs(squares).max())
        assert np.array(found["by_month"]).shape == (12, len(found["bands"]))


@pytest.mark.parametrize("name", ["juniper-lane", "kelp-point", "prairie-bend"])
def test_the_bars_of_an_average_day_are_what_carries_the_load_and_what_goes_elsewhere(name: str) -> None:
    """Above zero the sources, equal to load, idle draw and what is bought for the battery; below, the rest."""
    plain = plain_study(ROOT / "scenarios" / f"{name}.yaml")
    plan, chart = changes_told.best_of(plain), average_day(plain)

    assert len(chart.more) == 3 and len(chart.layout["annotations"]) == 4
    for k, day in enumerate(plan["energy"]["average_days"]):
        axis = "x" if k == 0 else f"x{k + 1}"
        bars = [trace for trace in chart.data if trace["xaxis"] == axis and trace["type"] == "bar"]
        [line] = [trace for trace in chart.data if trace["xaxis"] == axis and trace["type"] == "scatter"]
        above = [trace for trace in bars if trace["name"] not in BELOW]
        carried = [sum(trace["y"][hour] for trace in above) for hour in range(24)]
        wanted = [sum(parts) for parts in zip(day["load"], day["idle"], day["charge_bought"], strict=True)]
        assert carried == pytest.approx(wanted, abs=0.02)
        assert min(min(trace["y"]) for trace in above) > -0.001
        assert all(max(trace["y"]) <= 0 for trace in bars if trace["name"] in BELOW)
        away = [-sum(trace["y"][hour] for trace in bars if trace["name"] in BELOW) for hour in range(24)]
        wanted = [sum(parts) for parts in zip(day["charge"], day["exported"], day["curtailed"], strict=True)]
        assert away == pytest.approx(wanted, abs=0.02)
        assert line["y"] == pytest.approx(day["load"], abs=0.001)
        assert [trace["showlegend"] for trace in bars] == [k == 0] * len(bars)
        table = [chart.table, *chart.more][k]
        assert season(day) in table.caption and len(table.rows) == 24
        assert float(table.rows[19][1]) == pytest.approx(day["load"][19], abs=0.005)
        assert table.foot is not None and float(table.foot[1]) == pytest.approx(sum(day["load"]), abs=0.05)
        low, high = chart.layout["yaxis" if k == 0 else f"yaxis{k + 1}"]["range"]
        assert low < -max(away) and max(carried) < high


def test_on_a_narrow_screen_the_panels_stand_one_below_the_other(juniper: dict[str, Any]) -> None:
    """Full width each, none over another, and the same axes as on a wide one."""
    for chart, count in ((average_day(juniper), 4), (weeks(juniper), 2)):
        assert chart.narrow is not None and chart.narrow["height"] > chart.height
        layout = chart.narrow["layout"]
        ends = [layout["yaxis" if k == 0 else f"yaxis{k + 1}"]["domain"] for k in range(count)]
        assert {name for name in layout if "axis" in name} <= set(chart.layout)
        assert ends[0][1] == 1.0 and ends[-1][0] == pytest.approx(0.0, abs=1e-3)
        assert all(upper[0] > lower[1] for upper, lower in pairwise(ends))
        assert all(layout["xaxis" if k == 0 else f"xaxis{k + 1}"]["domain"] == [0, 1] for k in range(count))


def a_plan(**energy: Any) -> dict[str, Any]:
    """An alternative whose every season is one day, given by hour; each key a number, or 24 of them."""
    keys = ("load", "solar", "straight", "discharge", "imported", "generator", "unserved")
    day = {key: [0.0] * 24 for key in keys} | {"months": [12, 1, 2]}
    for key, power in energy.items():
        day[key] = power if isinstance(power, list) else [float(power)] * 24
    months = ([12, 1, 2], [3, 4, 5], [6, 7, 8], [9, 10, 11])
    days = [{**copy.deepcopy(day), "months": held} for held in months]
    return {"name": "Roof", "energy": {"average_days": days, "weeks": {"grid": True}}}


def test_the_sentence_of_the_day_names_the_hours_the_battery_carries() -> None:
    """From 19 past midnight to 2: 0.6 of 1 kW; at 2 it gives 0.4 and carries nothing. 8 kWh come besides."""
    plan = a_plan(load=1.0, discharge=[0.6] * 2 + [0.4] + [0.0] * 16 + [0.6] * 5, imported=1 / 3)
    plan["energy"]["average_days"][2]["discharge"][18] = 0.7
    plan["energy"]["average_days"][0]["imported"] = [1.0] * 24
    assert day_sentence(plan) == (
        "With “Roof”, on an average day from June to August the battery carries more than half of the load from 18:00 "
        "to 02:00, and 8.0 kWh come from the grid; from December to February it is 24.0 kWh."
    )


def test_without_a_battery_the_sun_is_named_and_without_anything_nothing_is_invented() -> None:
    sun = a_plan(load=1.0, straight=[0.0] * 8 + [0.9] * 9 + [0.0] * 7, imported=0.5)
    assert day_sentence(sun) == (
        "With “Roof”, on an average day from December to February the sun carries more than half of the load from "
        "08:00 to 17:00, and 12.0 kWh come from the grid."
    )
    idle = a_plan(solar=0.5)
    assert day_sentence(idle) == (
        "With “Roof”, on an average day from December to February the sun gives 12.0 kWh; in no season of the year "
        "anything comes from the grid."
    )
    always = a_plan(load=1.0, discharge=1.0)
    assert "the battery carries more than half of the load around the clock; in no season" in day_sentence(always)


def test_off_the_grid_the_generator_or_what_is_missing_is_told() -> None:
    engine = a_plan(load=1.0, straight=0.6, generator=0.4)
    engine["energy"]["weeks"]["grid"] = False
    engine["energy"]["average_days"][1]["generator"] = [0.0] * 24
    assert "and 9.6 kWh come from the generator; from March to May it is nothing." in day_sentence(engine)
    for day in engine["energy"]["average_days"]:
        day["unserved"] = [0.1] * 24
    assert "and 9.6 kWh come from the generator and 2.4 kWh find no source; from" in day_sentence(engine)
    alone = a_plan(load=1.0, straight=0.6, unserved=0.4)
    alone["energy"]["weeks"]["grid"] = False
    assert day_sentence(alone).endswith("and 9.6 kWh are left without a source.")


def test_hours_and_weeks_are_told_by_clock_and_calendar() -> None:
    assert [span(19, 7), span(22, 2), span(0, 24)] == ["from 19:00 to 02:00", "from 22:00 to midnight",
                                                       "around the clock"]  # fmt: skip
    assert [week(0), week(8), week(9), week(52)] == ["1 January", "26 February", "5 March", "31 December"]


def test_the_sentence_of_the_weeks_names_the_dearest_hour_and_the_fullest() -> None:
    """Week 3 at 7 draws 4 kW, week 20 at noon feeds in 5; the single day that ends the year counts for nothing."""
    plan = a_plan()
    rows = [[0.0] * 24 for _ in range(53)]
    rows[2][7], rows[19][12], rows[19][13], rows[52][0] = 4.0, -5.0, -0.5, 9.0
    plan["energy"]["weeks"] = {"grid": True, "exchange": rows}
    assert week_sentence(plan) == (
        "With “Roof”, most is drawn from 07:00 to 08:00 in the week from 15 January, 4.0 kW on average; most is fed in "
        "from 12:00 to 13:00 in the week from 14 May, 5.0 kW on average. A dot marks where more is fed in than is "
        "drawn: 2 of 1,272 squares."
    )
    rows[19][12] = rows[19][13] = 0.0
    assert week_sentence(plan).endswith("4.0 kW on average; nothing is fed in.")
    rows[2][7] = 0.0
    assert week_sentence(plan) == "With “Roof”, nothing is drawn in any week."
    rows[5][3] = -1.0
    assert week_sentence(plan).endswith("1.0 kW on average; nothing is drawn.")


@pytest.mark.parametrize("name", ["juniper-lane", "kelp-point"])
def test_the_map_holds_the_weeks_and_a_dot_where_more_is_given(name: str) -> None:
    """One scale for both maps, its middle at zero; no trace holds more than 1,500 points."""
    plain = plain_study(ROOT / "scenarios" / f"{name}.yaml")
    chart, both = weeks(plain), (plain["stay"], changes_told.best_of(plain))
    maps = [trace for trace in chart.data if trace["type"] == "heatmap"]
    dots = [trace for trace in chart.data if trace["type"] == "scatter"]
    for one, (found, given) in zip(both, zip(maps, dots, strict=True), strict=True):
        squares = np.array(one["energy"]["weeks"]["exchange"])
        assert np.array(found["z"]) == pytest.approx(squares.T, abs=0.005)
        assert squares.size <= 1500 and len(given["x"]) == pytest.approx((squares < -0.05).sum(), abs=8)
        assert all(squares[found["x"].index(x), found["y"].index(y)] < -0.04
                   for x, y in zip(given["x"], given["y"], strict=True))  # fmt: skip
    scale = chart.layout["coloraxis"]
    assert scale["cmin"] == -scale["cmax"] < 0
    assert scale["cmax"] == max(np.abs(one["energy"]["weeks"]["exchange"]).max() for one in both)
    row = chart.table.rows[0]
    january = both[1]["energy"]["weeks"]["by_month"][0]
    assert row[0] == "Jan" and [float(cell.replace("−", "-")) for cell in row[1:]] == pytest.approx(january, abs=0.006)
    assert len(dots[1]["x"]) > 100 and not dots[0]["x"]
    ends = chart.layout["coloraxis"]["colorbar"]["ticktext"]
    assert ends[0].endswith("fed in" if name == "juniper-lane" else "left over")


def test_average_days_are_rows_of_the_csv(juniper: dict[str, Any]) -> None:
    """Each number of the JSON once, with its season and hour."""
    rows = list(csv.DictReader(io.StringIO(as_csv(juniper))))
    found = {(row["alternative"], row["item"], row["note"]): row["value"] for row in rows
             if row["part"] == "average day"}  # fmt: skip
    names = {"stay as you are": juniper["stay"], **{plan["name"]: plan for plan in juniper["alternatives"]}}
    count = 0
    for name, one in names.items():
        for day in one["energy"]["average_days"]:
            for key in set(day) - {"months", "days"}:
                for hour, power in enumerate(day[key]):
                    assert found[(name, key, f"{season(day)}, {hour:02d}:00")] == str(power)
                    count += 1
    assert count == len(found) == len(names) * 4 * 13 * 24


def test_text_of_a_scenario_is_no_markup_in_the_charts(juniper: dict[str, Any]) -> None:
    """The name of an alternative, and that of a price period, wherever a chart holds them."""
    evil = "<b>&amp;</b><script>"
    plain = copy.deepcopy(juniper)
    for plan in plain["alternatives"]:
        plan["name"] = evil
        for period in plan["bills"]["after"]["by_period"]["periods"]:
            period["name"] = evil
    periods = bill_by_period(plain)
    assert periods is not None
    for chart in (average_day(plain), weeks(plain), periods):
        drawn = json.dumps([chart.data, chart.layout, chart.narrow]).replace("<br>", "").replace("<extra></extra>", "")
        assert "<" not in drawn
    assert "&lt;b&gt;" in json.dumps(weeks(plain).layout) and "&lt;b&gt;" in json.dumps(periods.layout)
