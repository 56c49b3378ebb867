"""The grid of other numbers: each of its places is a study of its own, and the scenario's own place is the study."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import numpy as np
import pytest
from small_house import HOUSE, Tree, changed

import finsolar
from finsolar.results import Study
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario
from finsolar.uncertainty import other_numbers
from finsolar.uncertainty.other_numbers import FIGURES, Course, OtherNumbers, with_other_numbers
from finsolar.uncertainty.rises import RISES

PLANS: list[Tree] = [
    {"name": "Cash"},
    {"name": "Borrowed", "payment": {"loan": {"rate": "7%", "years": 8, "amount": 5000, "fee": "2%"}}},
    {"name": "Leased", "costs": [], "without": ["Modules", "Battery"],
     "payment": {"lease": {"monthly": 40, "rise": "2%", "years": 12}}},
]  # fmt: skip
STREET: Tree = {
    "study": {"years": 15, "discount_rate": "3.5%", "inflation": {"from": "1%", "to": "3%"}},
    "tariff": {"rise": {"low": "1%", "likely": "2.4%", "high": "6%"}, "monthly_charge": 11, "fixed_rise": "1%"},
    "upkeep": [{"item": "New battery", "category": "battery", "cost": 2500, "every": 10}],
    "purchase": {"sales_tax": "6%"},
    "alternatives": PLANS,
}


def written(changes: Tree) -> Scenario:
    """The street with some fields replaced, its range of rises as a whole."""
    bare = changed(
        changed(HOUSE, STREET), {"tariff": {"rise": "2.4%"}} if "rise" in (changes.get("tariff") or {}) else {}
    )
    return from_text(json.dumps(changed(bare, changes)), "house.yaml")


def found(changes: Tree) -> OtherNumbers:
    return numbers_of(with_other_numbers(finsolar.study(written(changes))))


@cache
def street() -> Study:
    """The small house with a plan in cash, one on a loan and one on a lease, worked out at other numbers too."""
    return with_other_numbers(finsolar.study(written({})))


def numbers_of(study: Study) -> OtherNumbers:
    assert study.other_numbers is not None
    return study.other_numbers


def held_at(grid: Any, *place: int) -> Any:
    """What a grid holds at a place: an axis of one holds for every place along it."""
    return grid[tuple(min(k, length - 1) for k, length in zip(place, grid.shape, strict=False))]


def agrees(course: Course, place: tuple[int, ...], study: Study, i: int) -> None:
    """A course holds at a place what a study says of the same alternative."""
    result = study.results[i]
    own = {
        "net_cost": result.net_cost, "first_year_saving": result.first_year_saving, "npv": result.appraisal.npv,
        "simple_payback": result.appraisal.simple_payback, "irr": result.appraisal.irr,
        "simple_payback_lasting": result.appraisal.simple_payback_lasting,
    }  # fmt: skip
    assert set(own) == set(course.figures) == set(FIGURES)
    for name, expected in own.items():
        assert float(held_at(course.figures[name], *place)) == pytest.approx(float(expected), abs=1e-9, nan_ok=True), (
            name
        )
    assert held_at(course.running, *place) == pytest.approx(result.cash.running, abs=1e-9)


def test_the_stops_are_round_ones_and_the_scenarios_own() -> None:
    """Rises of -2 to 10 % in steps of 1 % and 2.4 %; 60 to 140 % of the price; 4 points about 3.5 %, none below 0."""
    numbers = numbers_of(street())

    assert list(numbers.rise.values) == [*RISES[:5], 0.024, *RISES[5:]] and numbers.rise.own == 5
    assert list(numbers.price.values) == [0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4] and numbers.price.own == 4
    assert list(numbers.rate.values) == [0.0, 0.005, 0.015, 0.025, 0.035, 0.045, 0.055, 0.065, 0.075]
    assert numbers.rate.own == 4 and not numbers.real
    assert list(numbers.nominal) == list(numbers.rate.values)


def test_the_scenarios_own_place_is_the_study_itself() -> None:
    """To 1e-9, all that is held, for cash, loan and lease."""
    numbers = numbers_of(street())
    own = (numbers.rise.own, numbers.price.own, numbers.rate.own)

    for i, course in enumerate(numbers.courses):
        assert course.name == PLANS[i]["name"]
        agrees(course, own, street(), i)


@pytest.mark.parametrize("place", [(0, 0, 0), (5, 8, 4), (13, 4, 8), (8, 2, 1), (13, 8, 0)])
def test_each_place_is_a_study_written_with_those_numbers(place: tuple[int, int, int]) -> None:
    """Written into the file, not chosen: rise, every cost line and the discount rate."""
    numbers = numbers_of(street())
    axes = (numbers.rise, numbers.price, numbers.rate)
    rise, share, rate = (float(axis.values[k]) for axis, k in zip(axes, place, strict=True))
    costs = [
        {"item": "Modules", "category": "modules", "cost": 5500 * share},
        {"item": "Battery", "category": "battery", "cost": 3500 * share},
    ]
    file = {"study": {"discount_rate": rate}, "tariff": {"rise": rise}, "costs": costs}

    alone = finsolar.study(written(file))

    for i, course in enumerate(numbers.courses):
        agrees(course, place, alone, i)


def test_only_what_a_slider_moves_is_held_for_each_of_its_stops() -> None:
    """The running total, the cost and the paybacks know no discount rate; the saving of year 1 knows none."""
    numbers = numbers_of(street())
    cash, _, leased = numbers.courses
    rises, prices, rates = (len(axis.values) for axis in (numbers.rise, numbers.price, numbers.rate))

    assert cash.figures["npv"].shape == (rises, prices, rates)
    assert cash.running.shape == (rises, prices, 1, 16)
    assert cash.figures["net_cost"].shape == (1, prices, 1)
    assert cash.figures["first_year_saving"].shape == (1, 1, 1)
    assert cash.figures["irr"].shape == (rises, prices, 1)
    assert leased.running.shape == (rises, 1, 1, 16)


def test_the_running_total_is_the_same_at_every_discount_rate() -> None:
    """By studies of their own, so that it may be held once for each rise and price."""
    numbers = numbers_of(street())

    for rate in ("0%", "7.5%"):
        alone = finsolar.study(written({"study": {"discount_rate": rate}}))
        for course, result in zip(numbers.courses, alone.results, strict=True):
            held = held_at(course.running, numbers.rise.own, numbers.price.own, 0)
            assert held == pytest.approx(result.cash.running, abs=1e-9)


def test_a_figure_that_does_move_with_the_rate_is_held_for_each() -> None:
    """What is held once is found out, not presumed."""
    grid = np.zeros((2, 3, 4, 5))
    grid[:, :, 2, 1] = 1e-6

    assert other_numbers._held_once(grid, (0, 0, 0)).shape == (1, 1, 4, 5)
    assert other_numbers._held_once(np.full((2, 3, 4), np.nan), (1, 1, 1)).shape == (1, 1, 1)


def test_a_real_discount_rate_moves_as_a_real_one() -> None:
    """2 % above inflation of 2 % is 4.04 %, by the equation of Fisher."""
    numbers = found({"study": {"discount_rate": None, "real_discount_rate": "2%"}})

    assert numbers.real
    assert list(numbers.rate.values) == pytest.approx([0, 0.01, 0.02, 0.03, 0.04, 0.05, 0.06]) and numbers.rate.own == 2
    assert numbers.nominal == pytest.approx(1.02 * (1 + numbers.rate.values) - 1)


@pytest.mark.parametrize(
    "tariffs",
    [
        {"tariff": {"rise": {"path": ["3%", "-1%", "6%"]}}},
        {"alternatives": [*PLANS[:2], {"name": "Sold", "tariff": {"energy": 0.2, "rise": "5%"}}]},
    ],
    ids=["by year", "by supply"],
)
def test_rises_that_are_no_single_one_begin_as_written(tariffs: Tree) -> None:
    """The first stop is the scenario itself; the others give all the one rise."""
    base = with_other_numbers(finsolar.study(written(tariffs)))
    numbers = numbers_of(base)

    assert np.isnan(numbers.rise.values[0]) and list(numbers.rise.values[1:]) == list(RISES) and numbers.rise.own == 0
    for i, course in enumerate(numbers.courses):
        agrees(course, (0, numbers.price.own, numbers.rate.own), base, i)
    alike = [plan | ({"tariff": plan["tariff"] | {"rise": "9%"}} if "tariff" in plan else {})
             for plan in tariffs.get("alternatives", PLANS)]  # fmt: skip
    alone = finsolar.study(written({"tariff": {"rise": "9%"}, "alternatives": alike}))
    for i, course in enumerate(numbers.courses):
        agrees(course, (12, numbers.price.own, numbers.rate.own), alone, i)


def test_a_price_that_is_not_there_has_one_stop() -> None:
    """Where everything is leased no line of cost could move; the rest does."""
    leased = found({"costs": [], "alternatives": [{"name": "Leased", "payment": PLANS[2]["payment"]}]})

    assert len(leased.price.values) == 1 and len(leased.rise.values) == 14
    assert leased.courses[0].figures["npv"].shape == (14, 1, 9)


def test_pieces_do_not_show(monkeypatch: pytest.MonkeyPatch) -> None:
    """Worked out a few at a time, the grid is the same."""
    monkeypatch.setattr(other_numbers, "_CHUNK", 100)
    whole, parts = numbers_of(street()), found({})

    for one, other in zip(whole.courses, parts.courses, strict=True):
        for name in FIGURES:
            assert np.allclose(one.figures[name], other.figures[name], rtol=1e-12, atol=1e-9, equal_nan=True)
