"""The rise of a study itself, and which history may stand beside it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from small_house import house

import finsolar
from finsolar.scenario.numbers import Range
from finsolar.study import study
from finsolar.uncertainty.draws import quantiles
from finsolar.uncertainty.price_history import HISTORIES
from finsolar.uncertainty.rises import RISES, OwnRise, every_rise, history_here, own_rise, stated_rises, with_rise_sweep

WIDE = {"low": "-1%", "likely": "2%", "high": "9%"}
ENGINE = {"kw": 3, "fuel_price": 1.5, "rise": "4%"}
OFF_GRID: dict[str, Any] = {
    "name": "Off grid",
    "system": {"operation": "off grid"},
    "generator": ENGINE,
}


def test_one_number_is_the_rise_of_the_study() -> None:
    assert own_rise(house({"tariff": {"rise": "2%"}})) == OwnRise(0.02, None, None)


def test_a_range_has_its_middle_and_the_ends_of_what_is_likely() -> None:
    """An independent witness: of many draws, one in ten lies below the lower end and one in ten above the upper."""
    found = own_rise(house({"tariff": {"rise": WIDE}}))
    assert isinstance(found, OwnRise) and found.central == 0.02
    a, m, b = -0.01, 0.02, 0.09
    drawn = np.random.default_rng(1).beta(1 + 4 * (m - a) / (b - a), 1 + 4 * (b - m) / (b - a), 400_000)
    assert np.mean(a + (b - a) * drawn < found.p10) == pytest.approx(0.1, abs=0.002)
    assert np.mean(a + (b - a) * drawn > found.p90) == pytest.approx(0.1, abs=0.002)


def test_a_bell_curve_is_cut_at_the_limits_of_the_field() -> None:
    found = own_rise(house({"tariff": {"rise": {"mean": "45%", "sd": "5%"}}}))
    assert isinstance(found, OwnRise) and found.p90 is not None
    assert found.p90 == quantiles(Range("mean, sd", (0.45, 0.05)), np.array(0.9), -0.2, 0.5)
    assert found.p90 < 0.45 + 1.2816 * 0.05


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"tariff": {"rise": {"path": ["3%", "4%"]}}}, "the rise differs from year to year"),
        (
            {"alternatives": [{"name": "Roof"}, {"name": "Other", "tariff": {"rise": "5%"}}]},
            "the prices of supply rise by different rates",
        ),
        ({"alternatives": [OFF_GRID]}, "the prices of supply rise by different rates"),
    ],
    ids=["path", "two tariffs", "fuel"],
)
def test_no_single_rise_has_its_reason(changes: dict[str, Any], why: str) -> None:
    scenario = house(changes)
    assert own_rise(scenario) == why
    [sweep] = with_rise_sweep(finsolar.study(scenario)).sensitivity
    assert sweep.own is None and sweep.reasons == {"own": why}


def test_a_rise_that_all_supplies_share_is_one() -> None:
    assert own_rise(house({"alternatives": [OFF_GRID | {"generator": ENGINE | {"rise": "2%"}}]})) == OwnRise(
        0.02, None, None
    )


def test_every_place_that_states_a_rise_is_swept() -> None:
    later = [{"from_year": 4, "rise": "6%"}]
    scenario = house({"tariff": {"later": later}, "alternatives": [{"name": "Roof"}, OFF_GRID]})
    stated = stated_rises(scenario)
    assert stated["tariff.rise"] == 0.02 and stated["tariff.later.0.tariff.rise"] == 0.06
    assert stated["alternatives.1.generator.rise"] == 0.04
    column = RISES[:, None]
    assert every_rise(scenario, column).keys() == stated.keys()
    settled = study(scenario, every_rise(scenario, column)).settled
    assert settled.tariff is not None and settled.tariff.later[0].tariff.rise is column
    assert own_rise(scenario) == "the prices of supply rise by different rates"


def test_history_is_that_of_the_country_and_of_electricity_alone() -> None:
    assert history_here(house()) is HISTORIES["US"]
    found = history_here(house({"place": {"country": "CA", "region": None}}))
    assert found == "no history of prices is on hand for the country CA"
    own = {"tariff": None, "generator": ENGINE, "system": {"operation": "off grid"}}
    assert history_here(house(own)) == "the house buys no electricity, and the price of fuel goes its own way"
