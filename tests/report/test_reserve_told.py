"""What a reserve costs, told: the same numbers in JSON, on the page and in the CSV, and a sentence for each shape."""

from __future__ import annotations

import copy
import csv
import io
import re
from html import unescape
from typing import Any

import pytest
from conftest import ROOT, demo_page, demo_study, plain_study

from finsolar.report.reserve_chart import reserve_price
from finsolar.report.reserve_values import reserve_as_plain
from finsolar.report.table import as_csv
from finsolar.report.words import reserve
from finsolar.uncertainty.reserves import ReservePrice, with_reserve_price

JUNIPER, MANGROVE, PRAIRIE, KELP, TAMARACK = (
    ROOT / "scenarios" / f"{name}.yaml"
    for name in ("juniper-lane", "mangrove-court", "prairie-bend", "kelp-point", "tamarack-row")
)


def first_reserve(plain: dict[str, Any]) -> dict[str, Any]:
    """That of the alternative the section speaks of."""
    plan = reserve.lead(plain)
    assert plan is not None
    found: dict[str, Any] = plan["outage"]["reserve"]
    return found


def changed(plain: dict[str, Any], **more: Any) -> tuple[dict[str, Any], dict[str, Any]]:
    """A study with other figures of the leading reserve, and the alternative they belong to."""
    found = copy.deepcopy(plain)
    plan = reserve.lead(found)
    assert plan is not None
    plan["outage"]["reserve"] |= more
    return found, plan


def place(share: float, saving: float, hours: float, next_hour: float | None) -> dict[str, Any]:
    """One reserve, as in the plain values."""
    times = {"worst": hours / 2, "nine_in_ten": hours, "half": 2 * hours, "a_day": 0.25}
    return {"reserve": share, "saving": saving, **times, "next_hour": next_hour}


NONE, OWN, MORE, ALL = (
    place(0.0, 900, 0.0, 10.0),
    place(0.125, 880, 2.0, 12.0),
    place(0.5, 800, 8.0, 40.0),
    place(1.0, 500, 10.0, None),
)
CURVE = {"places": [NONE, OWN, MORE, ALL], "own": OWN, "knee": MORE, "shape": "knee", "average_hour": 40.0}


def test_the_plain_values_are_those_of_the_engine() -> None:
    study = with_reserve_price(demo_study(JUNIPER))
    engine = study.reserves[0]
    assert isinstance(engine, ReservePrice) and engine.knee is not None
    found = reserve_as_plain(engine)
    assert found == plain_study(JUNIPER)["alternatives"][0]["outage"]["reserve"]
    assert [one["reserve"] for one in found["places"]] == engine.reserve.tolist()
    assert [one["saving"] for one in found["places"]] == engine.saving.tolist()
    for k, one in enumerate(found["places"]):
        hours = sorted(engine.hours[k])
        assert (one["worst"], one["nine_in_ten"], one["half"]) == (hours[0], hours[876], hours[4380])
        assert one["a_day"] == pytest.approx(sum(each >= 24 for each in hours) / 8760)
        assert one["next_hour"] == engine.next_hour(k)
    assert found["own"] == found["places"][engine.own] and found["knee"] == found["places"][engine.knee]
    assert found["own"]["saving"] == pytest.approx(float(study.results[0].first_year_saving))


def test_the_places_agree_with_the_outages_told_beside_them() -> None:
    """The reserves of 0, 20, 50 and 100 % among the other ways to have the house, and the house as planned."""
    lasts = plain_study(JUNIPER)["alternatives"][0]["outage"]
    places = {one["reserve"]: one for one in lasts["reserve"]["places"]}
    ways = {each["value"]: each for each in lasts["endurance"]["variants"] if each["kind"] == "reserve"}
    ways[lasts["reserve"]["own"]["reserve"]] = lasts["endurance"]
    assert len(ways) == 4
    for share, way in ways.items():
        for name in ("worst", "nine_in_ten", "half", "a_day"):
            assert places[share][name] == pytest.approx(way[name], abs=1e-9)


def test_the_chart_draws_the_plain_values() -> None:
    plain = plain_study(JUNIPER)
    chart, found = reserve_price(plain), first_reserve(plain)
    assert chart is not None
    saved, nine, worst, *marks = chart.data
    assert saved["y"] == [round(one["saving"], 2) for one in found["places"]]
    assert nine["y"] == [round(one["nine_in_ten"], 2) for one in found["places"]]
    assert worst["y"] == [round(one["worst"], 2) for one in found["places"]]
    assert (saved["yaxis"], nine["yaxis"], worst["yaxis"]) == ("y", "y2", "y2")
    assert {mark["name"]: mark["x"] for mark in marks} == {
        "Reserve as planned: 20 %": [20.0, 20.0],
        f"Knee: {100 * found['knee']['reserve']:.0f} %": [pytest.approx(100 * found["knee"]["reserve"])] * 2,
    }
    assert len({mark["line"]["dash"] for mark in marks}) == 2
    low, high = chart.layout["yaxis2"]["domain"]
    assert low == 0 and high < chart.layout["yaxis"]["domain"][0]


def test_the_reading_tells_own_reserve_and_knee() -> None:
    plain, plan = changed(plain_study(JUNIPER), **CURVE)
    assert reserve.reading(plain, plan) == (
        f"With its reserve of 12.5 % “{plan['name']}” takes $880 off the bill of the first year, and nine starts of "
        "ten last at least 2.0 hours, the worst 1 hour; a further hour costs $12.00 a year. The knee of the curve is "
        "at 50 %: $80 less saved, at least 8.0 hours in nine of ten, and beyond it $40 a year for a further hour."
    )
    assert "an hour costs $40 a year on average" in " ".join(reserve.explained(plain))
    rows = reserve.table(plain, ["A"], plan).rows
    assert rows[1] == ["12.5 % (as planned)", "$880", "1.0 h", "2.0 h", "4.0 h", "25 %", "$12.00"]
    assert rows[2][0] == "50 % (the knee)" and rows[3][-1] == "–"


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"own": MORE}, "That is the knee of the curve, and beyond it $40 a year for a further hour."),
        ({"own": ALL}, "The knee of the curve is at 50 %: $300 more saved"),
        (
            {"knee": None, "shape": "straight"},
            "The curve has no knee: wherever the reserve stands, a further hour costs",
        ),
        ({"knee": None, "shape": "dear first"}, "The curve has no knee: the first hours cost most"),
        ({"knee": None, "shape": "no longer"}, "A larger reserve buys no time here"),
        ({"knee": None, "shape": "free"}, "A larger reserve costs nothing worth naming here"),
        ({"knee": None, "shape": "free", "own": ALL}, "So large a reserve costs nothing worth naming here"),
        (
            {"own": place(0.1, -35, 336.0, None)},
            "adds $35 to the bill of the first year, and nine starts of ten last 14 days or longer, the worst 7 days",
        ),
        ({"own": place(0.1, -35, 672.0, None)}, "and every start lasts 14 days or longer; beyond 10 % no further hour"),
    ],
)
def test_every_shape_has_its_sentence(more: dict[str, Any], told: str) -> None:
    plain, plan = changed(plain_study(JUNIPER), **{**CURVE, **more})
    assert told in reserve.reading(plain, plan)
    chart = reserve_price(plain)
    assert chart is not None
    assert any(str(mark["name"]).startswith("Knee") for mark in chart.data) == ((more.get("knee", MORE)) is not None)


def test_where_the_look_ends_no_hour_is_counted_and_the_knee_is_said_to_be_made_by_it() -> None:
    end = place(0.2, 850, 336.0, None)
    last = end | {"reserve": 1.0}
    plain, plan = changed(plain_study(JUNIPER), **CURVE | {"places": [NONE, OWN, end, last], "knee": end})
    assert reserve.reading(plain, plan).endswith(
        "The knee of the curve is at 20 %: $30 less saved, 14 days or longer in nine of ten; beyond 20 % no further "
        "hour is seen within 14 days."
    )
    assert "a knee there is made by that end" in " ".join(reserve.explained(plain))
    chart = reserve_price(plain)
    assert chart is not None and "$850 and 14+ days" in chart.alt and "336" not in chart.alt + chart.reading
    assert chart.data[1]["text"] == ["0.0 h", "2.0 h", "14+ days", "14+ days"]
    assert chart.table.head[-1].endswith("over the next 10 % of reserve")
    plain, plan = changed(plain, own=end, knee=None, shape="no longer")
    assert reserve.reading(plain, plan).endswith("beyond 20 % no further hour is seen within 14 days.")
    assert "a knee there" not in " ".join(reserve.explained(plain_study(JUNIPER)))


def test_a_reserve_that_saves_is_said_to_save() -> None:
    """Mangrove Court banks kWh one for one, so its battery only loses on ordinary days."""
    plain = plain_study(MANGROVE)
    found, plan = first_reserve(plain), reserve.lead(plain)
    assert plan is not None
    assert found["shape"] == "free" and found["knee"] is None
    assert found["places"][-1]["saving"] > found["places"][0]["saving"]
    assert "costs nothing here and even saves" in reserve.reading(plain, plan)


def test_the_page_has_one_chart_and_a_table_for_each_price() -> None:
    text = unescape(demo_page(PRAIRIE))
    section = re.search(r'<section id="outage".*?</section>', text, re.S)
    assert section is not None
    assert section[0].count('data-chart="reserve-price"') == 1
    captions = re.findall(r"<caption>(What each reserve saves and carries: .*?)</caption>", section[0])
    assert len(captions) == len(reserve.alike(plain_study(PRAIRIE))) == 2
    assert "No reserve to choose with “Kept full for outages”: a battery for backup only" in section[0]
    assert "No reserve to choose with “Without a battery”" in section[0]


@pytest.mark.parametrize("path", [KELP, TAMARACK], ids=["off the grid", "no battery"])
def test_without_a_reserve_to_choose_there_is_no_chart(path: Any) -> None:
    plain = plain_study(path)
    assert all("reason" in plan["outage"]["reserve"] for plan in plain["alternatives"])
    assert reserve_price(plain) is None and reserve.lead(plain) is None and reserve.explained(plain) == []
    assert 'data-chart="reserve-price"' not in demo_page(path)


def test_a_study_in_which_none_was_looked_into_has_none() -> None:
    plain = demo_study(TAMARACK).to_json()
    assert all(plan["outage"] is None for plan in plain["alternatives"])
    assert reserve_price(plain) is None


def test_the_csv_holds_every_number() -> None:
    plain = plain_study(JUNIPER)
    plan = plain["alternatives"][0]
    found = plan["outage"]["reserve"]
    rows = [row for row in csv.reader(io.StringIO(as_csv(plain))) if row[0] == plan["name"] and "reserve" in row[1]]
    told = {(row[1], row[2]): float(row[5]) for row in rows if row[1].startswith("reserve: ")}
    for one in found["places"]:
        for key in ("saving", "worst", "nine_in_ten", "half", "a_day", "next_hour"):
            if one[key] is not None:
                assert told.pop((f"reserve: {key}", f"{100 * one['reserve']:.0f} %")) == pytest.approx(one[key])
    assert told == {}
    assert [row[7] for row in rows if row[1:3] == ["reserve: saving", "20 %"]] == ["own"]
    assert [float(row[5]) for row in rows if row[2] == "average_hour"] == [pytest.approx(found["average_hour"])]
