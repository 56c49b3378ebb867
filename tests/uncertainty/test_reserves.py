"""What a reserve costs: held against whole studies, and the knee of curves that are known by hand."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from small_house import house

import finsolar
from finsolar.energy.without_grid import lasted_by
from finsolar.results import Study
from finsolar.uncertainty.outages import with_outages
from finsolar.uncertainty.reserves import (
    BUYS_NOTHING,
    COSTS_NOTHING,
    DEAR_FIRST,
    FEWER,
    KEPT_FULL,
    KNEE,
    NO_BATTERY,
    OFF_GRID,
    PLACES,
    STRAIGHT,
    ReservePrice,
    price_of_an_hour,
    shape_of,
    with_reserve_price,
)

BANK = {"tariff": {"energy": 0.2, "export": {"scheme": "net metering", "price": None, "surplus_price": 0.03}}}
WAYS: dict[str, dict[str, Any]] = {
    "every surplus": {},
    # In service in June and settled in December: what is left of credits then goes on into the second year.
    "a bank of kWh": BANK,
    "by the clock": {"system": {"operation": "time shift"}},
    "shared inverter, demand charge": {
        "system": {"battery": {"coupling": "dc"}},
        "tariff": {"demand": [{"name": "evening", "price": 9, "hours": "16-21"}]},
    },
    "other prices from year 2": {
        "tariff": {"later": [{"from_year": 2, "energy": 0.4, "export": {"scheme": "net billing", "price": 0.02}}]}
    },
    "one year": {**BANK, "study": {"years": 1}},
    "less is carried": {"household": {"outage": {"load_share": "40%", "longest_hours": 48}}},
    "with fuel": {
        "generator": {"kw": 3, "fuel_price": 1.5, "rise": "0%"},
        "household": {"outage": {"fuel_litres": 6, "longest_hours": 30}},
    },
}


def with_reserve(changes: dict[str, Any], reserve: float) -> dict[str, Any]:
    """The same changes, and a reserve."""
    system = changes.get("system", {})
    battery = {**system.get("battery", {}), "reserve": f"{reserve:.0%}"}
    return {**changes, "system": {**system, "battery": battery}}


def study_of(changes: dict[str, Any]) -> Study:
    """A whole study of the small house."""
    years = {"years": 3, **changes.get("study", {})}
    return finsolar.study(house({**changes, "study": years}))


@cache
def priced(way: str) -> ReservePrice:
    """The price of a reserve of the small house, whose own one is 33 %."""
    found = with_reserve_price(study_of(with_reserve(WAYS[way], 0.33))).reserves[0]
    assert isinstance(found, ReservePrice)
    return found


@pytest.mark.parametrize("reserve", [0.0, 0.33, 1.0])
@pytest.mark.parametrize("way", WAYS)
def test_each_place_is_the_study_of_a_scenario_with_that_reserve(way: str, reserve: float) -> None:
    found = priced(way)
    [k] = np.flatnonzero(found.reserve == reserve)
    alone = with_outages(study_of(with_reserve(WAYS[way], reserve)))
    lasts = alone.outages[0].endurance
    assert lasts is not None and lasts.longest == found.longest
    assert found.saving[k] == pytest.approx(float(alone.results[0].first_year_saving), abs=1e-8)
    assert found.hours[k] == pytest.approx(lasts.hours, abs=1e-8)


@pytest.mark.parametrize("way", ["every surplus", "a bank of kWh", "shared inverter, demand charge", "with fuel"])
def test_a_larger_reserve_never_lasts_shorter(way: str) -> None:
    """From any start, since the battery then never holds less."""
    found = priced(way)
    assert np.diff(found.hours, axis=0).min() >= -1e-9
    assert found.hours[-1].sum() > found.hours[0].sum() + 1000
    assert np.all(np.diff(found.reserve) > 0)


@pytest.mark.parametrize("way", WAYS)
def test_which_reserves_are_looked_at(way: str) -> None:
    """Fewer where a run takes long; always the household's own."""
    slow = way in {"by the clock", "with fuel"}
    found = priced(way)
    assert found.reserve.tolist() == sorted([*(FEWER if slow else PLACES), 0.33])
    assert found.reserve[found.own] == 0.33
    assert len(PLACES) == 21 and len(FEWER) == 11 and PLACES[0] == FEWER[0] == 0.0 and PLACES[-1] == FEWER[-1] == 1.0


def test_an_own_reserve_among_the_usual_ones_stands_once() -> None:
    found = with_reserve_price(study_of(with_reserve({}, 0.15))).reserves[0]
    assert isinstance(found, ReservePrice)
    assert found.reserve.tolist() == list(PLACES)
    assert found.reserve[found.own] == 0.15


def test_the_knee_of_a_curve_known_by_hand() -> None:
    """Gain (0, 0.4, 0.8, 0.9, 1) less what is spent (0, 0.05, 0.1, 0.3, 1): 0, 0.35, 0.7, 0.6, 0."""
    hours, saving = np.array([2.0, 6.0, 10.0, 11.0, 12.0]), np.array([500.0, 498.0, 496.0, 488.0, 460.0])
    assert shape_of(hours, saving) == (KNEE, 2)
    # What an hour costs: 0.5 on the way to the knee, 8 and 28 beyond it, 4 on average.
    assert [price_of_an_hour(hours, saving, k, k + 1) for k in range(4)] == pytest.approx([0.5, 0.5, 8.0, 28.0])
    assert price_of_an_hour(hours, saving, 0, 4) == pytest.approx(4.0)


def test_the_knee_parts_hours_that_cost_less_than_the_average_from_those_that_cost_more() -> None:
    found = priced("every surplus")
    assert found.shape == KNEE and found.knee is not None
    nine, average = found.nine_in_ten, found.average_hour
    before = price_of_an_hour(nine, found.saving, 0, found.knee)
    beyond = price_of_an_hour(nine, found.saving, found.knee, found.reserve.size - 1)
    assert before is not None and beyond is not None and average is not None
    assert 0 < before < 0.95 * average and beyond > 1.05 * average
    assert nine == pytest.approx([sorted(row)[876] for row in found.hours])


@pytest.mark.parametrize(
    ("hours", "saving", "shape"),
    [
        ([0, 1, 2, 3, 4], [100, 90, 80, 70, 60], STRAIGHT),
        ([0, 1.1, 2.1, 3.1, 4], [100, 90, 80, 70, 60], STRAIGHT),
        ([0, 0.4, 1, 2.2, 4], [100, 90, 80, 70, 60], DEAR_FIRST),
        ([0, 1, 2, 3, 4], [100, 100, 100, 100, 100], COSTS_NOTHING),
        ([0, 1, 2, 3, 4], [100, 101, 99.6, 103, 104], COSTS_NOTHING),
        ([0, 1, 2, 3, 4], [-100, -100, -100, -100, -100], COSTS_NOTHING),
        ([48, 48, 48, 48, 48], [100, 90, 80, 70, 60], BUYS_NOTHING),
        ([0, 1, 2, 3, 4], [100, 90, 80, 90, 100], STRAIGHT),
    ],
)
def test_curves_without_a_knee(hours: list[float], saving: list[float], shape: str) -> None:
    assert shape_of(np.array(hours, float), np.array(saving, float)) == (shape, None)


def test_the_price_of_a_further_hour_is_that_of_the_next_tenth() -> None:
    """By hand: from 20 % to the first place a tenth on or more, 35 %: 21 money for 3 hours; no place is beyond all."""
    hours = np.array([[0.0], [2.0], [3.0], [5.0], [5.0]])
    saving = np.array([100.0, 90.0, 84.0, 69.0, 60.0])
    found = ReservePrice(np.array([0.0, 0.2, 0.25, 0.35, 1.0]), saving, hours, 48.0, 1, KNEE, 1)
    assert found.next_hour(1) == pytest.approx(7.0)
    assert found.next_hour(0) == pytest.approx(5.0)
    assert found.next_hour(3) is None and found.next_hour(4) is None
    assert found.average_hour == pytest.approx(8.0)


def test_hours_that_tenths_of_the_starts_last() -> None:
    hours = np.array([np.arange(20.0)[::-1], np.full(20, 3.0)])
    assert lasted_by(hours, 9).tolist() == [2.0, 3.0]
    assert lasted_by(hours, 5).tolist() == [10.0, 3.0]


def test_alternatives_that_differ_in_payment_alone_are_worked_out_once_and_some_have_none() -> None:
    plans = [
        {"name": "Roof"},
        {"name": "On credit", "payment": {"loan": {"rate": "5%", "years": 2}}},
        {"name": "Slipped", "in_service": "2026-09-01"},
        {"name": "Kept full", "system": {"operation": "backup only"}},
        {"name": "Bare", "system": {"battery": "none"}},
        {"name": "Alone", "system": {"operation": "off grid"}},
    ]
    one, credit, slipped, full, bare, alone = with_reserve_price(study_of({"alternatives": plans})).reserves
    assert isinstance(one, ReservePrice)
    assert credit is one
    assert isinstance(slipped, ReservePrice) and slipped is not one
    assert (full, bare, alone) == (KEPT_FULL, NO_BATTERY, OFF_GRID)


def test_a_battery_that_earns_nothing_costs_nothing_to_keep_full() -> None:
    """Where every kWh is bought and sold alike, each that passes the battery loses some on the way."""
    found = priced("a bank of kWh")
    assert (found.shape, found.knee) == (COSTS_NOTHING, None)
    assert found.saving[-1] >= found.saving[0]


def test_a_batch_has_no_single_price() -> None:
    plain = study_of({})
    many = finsolar.study(plain.scenario, {"study.discount_rate": np.array([[0.03], [0.06]])}, reuse=plain)
    with pytest.raises(ValueError, match="many cases"):
        with_reserve_price(many)
