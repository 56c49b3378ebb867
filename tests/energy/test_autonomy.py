"""Days of autonomy and the sizes that they ask for: closed forms, their inverses and their edges."""

from __future__ import annotations

from itertools import groupby

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.energy.autonomy import array_for, battery_for, darkest_month, days_of_autonomy, longest_run

SHARES = st.floats(0.05, 1.0)


@given(days=st.floats(0.1, 30), depth=SHARES, efficiency=SHARES, daily=st.floats(0.1, 80))
def test_the_battery_for_some_days_lasts_those_days(days: float, depth: float, efficiency: float, daily: float) -> None:
    kwh = battery_for(days, depth, efficiency, daily)
    assert days_of_autonomy(kwh, depth, efficiency, daily) == pytest.approx(days)


def test_many_batteries_and_uses_at_once() -> None:
    """By hand: 10 and 20 kWh, 80 % of them, 90 % on the way out, against 4 and 8 kWh a day."""
    found = days_of_autonomy(np.array([[10.0], [20.0]]), 0.8, 0.9, np.array([4.0, 8.0]))
    assert found == pytest.approx(np.array([[1.8, 0.9], [3.6, 1.8]]))


def test_nothing_used_lasts_no_number_of_days_and_nothing_to_draw_carries_nothing() -> None:
    assert np.isnan(days_of_autonomy(10.0, 0.8, 0.9, 0.0))
    assert days_of_autonomy(0.0, 0.8, 0.9, 5.0) == 0.0
    with pytest.raises(ValueError, match="carries nothing"):
        battery_for(3.0, np.array([0.8, 0.0]), 0.9, 6.0)


def test_modules_of_a_month_without_sun_are_endless() -> None:
    assert array_for(6.0, 0.0) == np.inf
    assert array_for(6.0, np.array([1.5, 3.0])) == pytest.approx([4.0, 2.0])


def test_the_darkest_month_is_that_of_the_least_sun_beside_the_use() -> None:
    """A bright month of heavy use may be the one; a month in which nobody is there is not."""
    sun, use = np.full(12, 100.0), np.full(12, 50.0)
    sun[11], use[11] = 40.0, 30.0  # 1.33
    sun[6], use[6] = 150.0, 200.0  # 0.75
    sun[0], use[0] = 5.0, 0.0
    assert darkest_month(sun, use) == 6
    assert darkest_month(np.stack([sun, sun]), np.stack([use, np.full(12, 50.0)])).tolist() == [6, 0]


@given(st.lists(st.booleans(), min_size=1, max_size=60))
def test_the_longest_run_is_that_of_a_plain_count(lacking: list[bool]) -> None:
    by_hand = max((len(list(run)) for lacks, run in groupby(lacking) if lacks), default=0)
    assert longest_run(np.array(lacking)) == by_hand


def test_each_year_has_a_longest_run_of_its_own() -> None:
    """What ends one year and begins the next is not counted as one."""
    years = np.array([[True, False, True, True], [True, True, True, False]])
    assert longest_run(years).tolist() == [2, 3]
