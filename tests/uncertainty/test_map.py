"""The map of a study: over the rises of the sweep and the purchase price, each place a study of its own."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from small_house import house

import finsolar
from finsolar.results import Study
from finsolar.uncertainty.inputs import PRICE, input_of
from finsolar.uncertainty.map import SHARES, with_map
from finsolar.uncertainty.rises import RISES, every_rise
from finsolar.uncertainty.simulation import figures_of
from finsolar.uncertainty.vary import FIGURES, Varied

STREET: dict[str, Any] = {
    "study": {"years": 10},
    "tariff": {"rise": {"low": "0%", "likely": "2.5%", "high": "6%"}},
    "alternatives": [
        {"name": "Own labour"},
        {"name": "Firm", "costs": [{"item": "Fitting", "category": "labour", "cost": 4200}]},
        {"name": "Firm, on a loan", "like": "Firm", "payment": {"loan": {"rate": "7%", "years": 5}}},
    ],
}


def mapped(changes: dict[str, Any]) -> tuple[Study, Varied]:
    base = with_map(finsolar.study(house(changes)))
    assert base.map is not None
    return base, base.map


@pytest.fixture(scope="module")
def street() -> tuple[Study, Varied]:
    """The small house with three alternatives and a rise between those of the sweep."""
    return mapped(STREET)


def test_the_scenario_itself_lies_on_its_map(street: tuple[Study, Varied]) -> None:
    """At its own rise and its own price every figure is that of the study."""
    base, found = street
    rise, price = found.axes
    assert rise.values.tolist() == sorted([*RISES.tolist(), 0.025]) and price.values.tolist() == SHARES.tolist()
    assert (rise.input.now, price.input.now) == (0.025, 1.0)
    place = (rise.values.tolist().index(0.025), price.values.tolist().index(1.0))
    for course, result in zip(found.courses, base.results, strict=True):
        for name in FIGURES:
            expected = float(figures_of(result)[name])
            assert course.figures[name][place] == pytest.approx(expected, rel=1e-9, abs=1e-9, nan_ok=True)


@pytest.mark.parametrize(("i", "j"), [(0, 0), (13, 8), (5, 2)])
def test_every_place_is_a_study_of_its_own(street: tuple[Study, Varied], i: int, j: int) -> None:
    """With all prices of supply rising so, and all lines of cost at that share."""
    base, found = street
    rise, price = (float(axis.values[k]) for axis, k in zip(found.axes, (i, j), strict=True))
    chosen = every_rise(base.scenario, np.array(rise)) | input_of(base, PRICE).chosen(price)
    alone = finsolar.study(base.scenario, chosen)
    for course, result in zip(found.courses, alone.results, strict=True):
        for name in FIGURES:
            expected = float(figures_of(result)[name])
            assert course.figures[name][i, j] == pytest.approx(expected, rel=1e-9, abs=1e-7, nan_ok=True)


def test_dearer_energy_never_lowers_and_a_dearer_system_never_raises_the_npv(street: tuple[Study, Varied]) -> None:
    for course in street[1].courses:
        npv = course.figures["npv"]
        assert (np.diff(npv, axis=0) > 0).all() and (np.diff(npv, axis=1) < 0).all()


def test_it_all_goes_through_one_batch_that_takes_the_hours_over(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[bool, int]] = []
    whole = finsolar.uncertainty.vary.study

    def counted(scenario: Any, chosen: Any, *, reuse: Study | None = None) -> Study:
        asked.append((reuse is not None, len(next(iter(chosen.values())))))
        return whole(scenario, chosen, reuse=reuse)

    monkeypatch.setattr(finsolar.uncertainty.vary, "study", counted)
    mapped(STREET)
    assert asked == [(True, 14 * 9)]


def test_a_rise_of_the_sweep_itself_adds_no_place_and_one_far_off_is_added() -> None:
    _, known = mapped({"study": {"years": 4}, "tariff": {"rise": "2%"}})
    _, far = mapped({"study": {"years": 4}, "tariff": {"rise": "14%"}})

    assert known.axes[0].values.tolist() == RISES.tolist()
    assert far.axes[0].values.tolist() == [*RISES.tolist(), 0.14]


def test_rises_that_differ_have_a_map_without_a_place_of_the_scenario() -> None:
    _, found = mapped({"study": {"years": 4}, "tariff": {"rise": {"path": ["3%", "5%"]}}})

    assert found.axes[0].values.tolist() == RISES.tolist() and np.isnan(found.axes[0].input.now)


def test_where_nothing_is_paid_for_there_is_no_map() -> None:
    """And nothing is said of it."""
    leased = {"name": "Leased", "payment": {"lease": {"monthly": 60, "years": 3}}}
    found = with_map(finsolar.study(house({"study": {"years": 3}, "costs": [], "alternatives": [leased]})))
    assert found.map is None and found.to_json()["map"] is None
