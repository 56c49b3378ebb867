"""The spread by sunlight: one batch that equals three studies, and only where the scenario asks for it."""

from __future__ import annotations

import csv
import io
from typing import Any

import numpy as np
import pytest
from small_house import house

import finsolar
from finsolar.report.page import page
from finsolar.report.table import as_csv
from finsolar.report.words import amounts, changes_told
from finsolar.results import Study
from finsolar.uncertainty.sunlight import with_sun_spread

KEYS = ("solar", "first_year_saving", "unserved", "npv", "simple_payback")
PLANS: list[dict[str, Any]] = [
    {"name": "Roof"},
    {"name": "Shifted", "system": {"operation": "time shift"}},
    {
        "name": "Renewed when worn, borrowed",
        "system": {"battery": {"coupling": "dc", "fade": {"ten_years": "20%", "thousand_cycles": "8%"}}},
        "upkeep": [{"item": "New battery", "category": "battery", "cost": 2500, "below": "80%"}],
        "payment": {"loan": {"rate": "6%", "years": 6}},
    },
    {"name": "Off grid", "system": {"operation": "off grid"}, "generator": {"kw": 2, "fuel_price": 1.5, "rise": "2%"}},
]
RANGES = {
    "mean, sd": ({"mean": "95%", "sd": "6%"}, (0.89, 0.95, 1.01)),
    "low, likely, high": ({"low": "80%", "likely": "98%", "high": "105%"}, (0.8, 0.98, 1.05)),
    "from, to": ({"from": "90%", "to": "110%"}, (0.9, 1.0, 1.1)),
}


def spread(brightness: Any, plans: list[dict[str, Any]] = PLANS) -> Study:
    """The study of the small house with this brightness."""
    weather = {"station": "greensboro", "brightness": brightness}
    return with_sun_spread(finsolar.study(house({"weather": weather, "alternatives": plans})))


@pytest.mark.parametrize(
    ("brightness", "values"),
    [
        ({"mean": "98%", "sd": "3%", "yearly_sd": "4%"}, (0.93, 0.98, 1.03)),
        ({"from": "90%", "to": "98%", "yearly_sd": "3%"}, (0.89, 0.94, 0.99)),
        ({"from": "50%", "to": "50%", "yearly_sd": "10%"}, (0.5, 0.5, 0.6)),
    ],
)
def test_a_dull_year_may_be_dull_by_itself(brightness: dict[str, str], values: tuple[float, float, float]) -> None:
    """3-4-5: the spread of the place and that of the year, at right angles; never beyond what the field holds."""
    sunlight = spread(brightness, [{"name": "Roof"}]).sunlight
    assert sunlight is not None and sunlight.brightness == pytest.approx(values)


@pytest.mark.parametrize("kind", RANGES)
def test_the_batch_equals_three_single_studies(kind: str) -> None:
    """Each figure of each alternative, as if the range had been its low end, its middle or its high end."""
    brightness, values = RANGES[kind]
    sunlight = spread(brightness).sunlight
    assert sunlight is not None

    assert sunlight.brightness == pytest.approx(values)
    assert sunlight.names == tuple(plan["name"] for plan in PLANS)
    for case, value in enumerate(values):
        weather = {"station": "greensboro", "brightness": f"{value * 100:g}%"}
        single = finsolar.study(house({"weather": weather, "alternatives": PLANS}))
        for i, result in enumerate(single.results):
            flows = result.position.flows
            wanted = {
                "solar": flows.solar[0].sum(),
                "saving": result.first_year_saving,
                "unserved": flows.unserved[0].sum(),
                "npv": result.appraisal.npv,
                "simple_payback": result.appraisal.simple_payback_lasting,
            }
            for key, figure in wanted.items():
                found = getattr(sunlight, key)[i]
                assert found.shape == (3,)
                assert found[case] == pytest.approx(float(figure), rel=1e-9, abs=1e-7, nan_ok=True), (key, i)


def test_the_middle_is_the_study_itself_and_more_sun_gives_more() -> None:
    study = spread({"mean": "100%", "sd": "5%"})
    assert study.sunlight is not None

    for i, result in enumerate(study.results):
        assert study.sunlight.npv[i][1] == pytest.approx(float(result.appraisal.npv), abs=1e-7)
        assert np.all(np.diff(study.sunlight.solar[i]) > 0)
        assert np.all(np.diff(study.sunlight.saving[i]) > 0)


@pytest.mark.parametrize("brightness", [None, "93%"])
def test_there_is_no_spread_where_the_brightness_is_no_range(brightness: str | None) -> None:
    """Neither in the study nor on the page nor in the files."""
    weather: Any = "greensboro" if brightness is None else {"station": "greensboro", "brightness": brightness}
    base = finsolar.study(house({"weather": weather}))
    study = with_sun_spread(base)
    plain = study.to_json()

    assert study is base
    assert plain["sunlight"] is None
    assert "How sure is this" not in page(plain)
    assert ",sunlight," not in as_csv(plain)


def test_page_and_csv_show_the_spread() -> None:
    """A section of its own with a row for each, and every number of the JSON in one row of the CSV."""
    plain = spread({"mean": "100%", "sd": "5%"}).to_json()
    shown = page(plain)
    section = shown[shown.index('id="sure"') : shown.index("</section>", shown.index('id="sure"'))]
    rows = [row for row in csv.DictReader(io.StringIO(as_csv(plain))) if row["part"] == "sunlight"]

    assert changes_told.sunlight_sentence(plain["sunlight"]).startswith("In a dull year (95 % of the sunlight) against")
    assert section.count('<th scope="row">') == 3 * len(PLANS)
    for plan in plain["sunlight"]["alternatives"]:
        assert set(plan) == {"name", *KEYS}
        for amount in plan["npv"]:
            assert amounts.money(amount, "USD") in section
        for key in KEYS:
            found = [row["value"] for row in rows if (row["alternative"], row["item"]) == (plan["name"], key)]
            assert found == ["" if number is None else str(number) for number in plan[key]]
    assert len(rows) == len(PLANS) * len(KEYS) * 3
