"""Loads made of appliances."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.energy.appliances import Appliance, appliance_load, backup_watts, daily_kwh
from finsolar.energy.clock import wall_clock

CLOCK = wall_clock("America/New_York", -5.0)
FRIDGE = Appliance("Fridge", 150, 24, 0.35, starting_watts=900, on_backup=1.0)
HEATER = Appliance("Heater", 1500, 4, between=(6, 7, 18, 19, 20, 21), months=(0, 1, 2, 10, 11))
LAMPS = Appliance("Lamps", 10, 5, between=(18, 19, 20, 21, 22), count=6, on_backup=0.5)


def test_a_load_adds_up_to_its_appliances() -> None:
    load = appliance_load([FRIDGE, HEATER, LAMPS], CLOCK)
    days = 31 + 28 + 31 + 30 + 31
    assert load.shape == (8760,)
    assert load.sum() == pytest.approx(365 * (1.26 + 0.3) + days * 6.0, rel=1e-12)
    assert daily_kwh([FRIDGE, HEATER, LAMPS]) == pytest.approx(7.56)
    assert daily_kwh([FRIDGE, HEATER, LAMPS], month=6) == pytest.approx(1.56)
    assert load[CLOCK.month == 6].sum() == pytest.approx(31 * 1.56)


def test_hours_are_kept_on_the_wall_clock() -> None:
    load = appliance_load([HEATER], CLOCK)
    assert set(CLOCK.hour[load > 0]) == {6, 7, 18, 19, 20, 21} and set(CLOCK.month[load > 0]) == {0, 1, 2, 10, 11}
    assert load[load > 0] == pytest.approx(np.full((load > 0).sum(), 1.0))
    # A window that the clock skips once a year and repeats once keeps the sum of its month.
    night = appliance_load([Appliance("Pump", 800, 1, between=(2,))], CLOCK)
    assert np.bincount(CLOCK.month, weights=night) == pytest.approx(
        0.8 * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    )


def test_the_share_on_backup_is_taken_of_each() -> None:
    kept = appliance_load([FRIDGE, HEATER, LAMPS], CLOCK, backup=True)
    assert kept.sum() == pytest.approx(365 * (1.26 + 0.15))
    assert backup_watts([FRIDGE, HEATER, LAMPS]) == pytest.approx((150 + 30, 150 + 30 + 750))
    assert backup_watts([HEATER]) == backup_watts([]) == (0, 0)


@given(
    st.floats(0, 20_000),
    st.floats(0, 1),
    st.floats(0, 1),
    st.sets(st.integers(0, 23), min_size=1),
    st.sets(st.integers(0, 11), min_size=1),
    st.integers(0, 5),
)
def test_any_appliance_keeps_its_energy(
    watts: float, duty: float, part: float, between: set[int], months: set[int], count: int
) -> None:
    one = Appliance("Any", watts, part * len(between), duty, None, tuple(between), tuple(months), count=count)
    load = appliance_load([one], CLOCK)
    days = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])[list(months)].sum()
    assert load.sum() == pytest.approx(watts * part * len(between) * duty * count / 1000 * days, abs=1e-9)
    assert load.min() >= 0


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"watts": -1.0}, "watts and count"),
        ({"watts": float("nan")}, "watts and count"),
        ({"count": -1.0}, "watts and count"),
        ({"duty": 1.2}, "shares"),
        ({"on_backup": -0.1}, "shares"),
        ({"starting_watts": 99.0}, "starting_watts are no less"),
        ({"between": (24,)}, "between needs hours"),
        ({"between": ()}, "between needs hours"),
        ({"months": (12,)}, "months need numbers"),
        ({"months": ()}, "months need numbers"),
        ({"hours_a_day": 25.0}, "at most 24"),
        ({"hours_a_day": 3.0, "between": (1, 2)}, "at most 2"),
    ],
)
def test_what_no_appliance_can_do_is_refused(wrong: dict[str, object], words: str) -> None:
    with pytest.raises(ValueError, match=f"Odd: .*{words}"):
        Appliance(**{"name": "Odd", "watts": 100.0} | wrong)
