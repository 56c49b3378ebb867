"""Columns of values: ranges in front, the years that differ by themselves behind."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from small_house import house

from finsolar.uncertainty.columns import by_year, chosen, count, middle, own_years, pieces, values_of
from finsolar.uncertainty.draws import points
from finsolar.uncertainty.ranges import Ranged, ranges_of

YEARS = 5
RISE = {"mean": "2%", "sd": "1%", "yearly_sd": "3%"}
SUN = {"low": "90%", "likely": "98%", "high": "102%", "yearly_sd": "4%"}


def ranges(changes: dict[str, Any]) -> tuple[Ranged, ...]:
    """Those of the small house over five years."""
    return ranges_of(house({"study": {"years": YEARS}} | changes))


@pytest.fixture
def drawn() -> tuple[Ranged, ...]:
    """Sunlight and price rise with years of their own, and a price without."""
    costs = [{"item": "Modules", "category": "modules", "cost": {"from": 4000, "to": 6000}}]
    weather = {"station": "greensboro", "brightness": SUN}
    return ranges({"weather": weather, "tariff": {"rise": RISE}, "costs": costs})


def test_each_year_has_a_column_and_a_rise_one_less(drawn: tuple[Ranged, ...]) -> None:
    """A rise leads from one year to the next; sunlight is that of every year."""
    assert [(each.name, each.years) for each in drawn] == [
        ("weather.brightness", YEARS),
        ("tariff.rise", YEARS - 1),
        ("costs[1].cost", 0),
    ]
    assert count(drawn) == 3 + YEARS + YEARS - 1
    assert own_years(drawn) == [slice(3, 8), slice(8, 12), slice(12, 12)]


def test_the_middle_is_what_a_study_without_draws_uses(drawn: tuple[Ranged, ...]) -> None:
    found = by_year(drawn, middle(drawn)[None])
    assert [column.tolist() for column in found] == [[[0.98] * YEARS], [[0.02] * (YEARS - 1)], [[5000.0]]]


def test_years_stray_by_their_own_spread_and_by_nothing_else(drawn: tuple[Ranged, ...]) -> None:
    """Mean zero and the spread written, each year apart from the others and from the level.

    Over n years the logarithm of a price strays by about sqrt(n) times as much: a random walk.
    """
    shares = points(4096, count(drawn), 5)
    values = values_of(drawn, shares)
    rise = values[:, own_years(drawn)[1]]
    assert rise.mean(axis=0) == pytest.approx(0, abs=1e-4)
    assert rise.std(axis=0) == pytest.approx(0.03, rel=0.005)
    together = np.corrcoef(np.column_stack([values[:, 1], rise]).T)
    np.testing.assert_allclose(together, np.eye(YEARS), atol=0.05)
    path = by_year(drawn, values)[1]
    np.testing.assert_allclose(path, values[:, 1:2] + rise)
    walked = np.log1p(path - values[:, 1:2]).sum(axis=1)
    assert walked.std() == pytest.approx(0.03 * np.sqrt(YEARS - 1), rel=0.03)


def test_no_year_strays_beyond_what_its_field_holds() -> None:
    """Sunlight from half to one and a half of that of the weather's year."""
    wild = {"from": "50%", "to": "150%", "yearly_sd": "20%"}
    drawn = ranges({"weather": {"station": "greensboro", "brightness": wild}})
    [sun] = by_year(drawn, values_of(drawn, points(512, count(drawn), 1)))
    assert (sun.min(), sun.max()) == (0.5, 1.5)
    assert sun.shape == (512, YEARS)


def test_a_number_taken_over_is_the_same_in_all_its_places(drawn: tuple[Ranged, ...]) -> None:
    values = values_of(drawn, points(4, count(drawn), 1))
    found = chosen(drawn, values)
    assert set(found) == {path for each in drawn for path in each.paths}
    for each, column in zip(drawn, by_year(drawn, values), strict=True):
        for path in each.paths:
            np.testing.assert_array_equal(found[path], column)


def test_pieces_cover_every_case_once() -> None:
    assert [(part.start, part.stop) for part in pieces(7, 3)] == [(0, 3), (3, 6), (6, 7)]
