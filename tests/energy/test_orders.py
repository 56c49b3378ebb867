"""What the battery is told: held against a slow walk through the average week, and by hand."""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.clock import Clock, wall_clock
from finsolar.energy.orders import DearHours, by_the_price, kept_full, need_ahead

Array = NDArray[np.float64]
Bools = NDArray[np.bool_]
CLOCK = wall_clock(None, 0.0)  # begins on a Monday, midnight
NEW_YORK = wall_clock("America/New_York", -5.0)


def slow_need(
    surplus: Array, deficit: Array, dear: Bools, clock: Clock, usable: float, into: float, out: float
) -> list[float]:
    """Walk two average weeks of each month from their end, and read off the first of them."""
    lack: dict[tuple[int, int], list[float]] = defaultdict(list)
    sun: dict[tuple[int, int], list[float]] = defaultdict(list)
    keys = [
        (month, 24 * day + hour)
        for month, day, hour in zip(clock.month.tolist(), clock.weekday.tolist(), clock.hour.tolist(), strict=True)
    ]
    for key, more, less, is_dear in zip(keys, surplus.tolist(), deficit.tolist(), dear.tolist(), strict=True):
        lack[key].append(less if is_dear else 0.0)
        sun[key].append(more)
    after: dict[tuple[int, int], float] = {}
    for month in range(12):
        wanted = 0.0
        for place in range(2 * 168 - 1, -1, -1):
            key = (month, place % 168)
            if place < 168:
                after[key] = wanted
            # Energy of an hour: the mean of its steps, times the steps in an hour.
            missing = clock.per_hour * sum(lack[key]) / len(lack[key])
            brought = clock.per_hour * sum(sun[key]) / len(sun[key])
            wanted = min(max(wanted + missing / out - into * brought, 0.0), usable)
    return [after[key] for key in keys]


def in_hours(*hours: int, clock: Clock = CLOCK) -> Bools:
    """The steps in these hours of each day."""
    return np.isin(clock.hour, hours)


@settings(max_examples=12)
@given(
    st.integers(0, 2**32 - 1),
    st.sampled_from([1, 2, 4]),
    st.sampled_from([None, "America/New_York", "Australia/Sydney"]),
    st.floats(0, 15),
    st.floats(0.6, 1),
    st.floats(0.6, 1),
)
def test_need_is_that_of_a_slow_walk(
    seed: int, per_hour: int, zone: str | None, usable: float, into: float, out: float
) -> None:
    rng = np.random.default_rng(seed)
    clock = wall_clock(zone, {None: 0.0, "America/New_York": -5.0, "Australia/Sydney": 10.0}[zone], per_hour)
    steps = clock.hour.size
    net = rng.normal(rng.uniform(-0.3, 0.5), 1.5, steps) / per_hour
    dear = np.isin(clock.hour, rng.choice(24, rng.integers(0, 8))) & (clock.weekday < rng.integers(1, 8))
    sides = (np.maximum(net, 0.0), np.maximum(-net, 0.0), dear, clock, usable, into, out)
    found = need_ahead(*sides)
    assert found.shape == (steps,)
    assert found.min() >= 0.0 and found.max() <= usable
    assert np.allclose(found, slow_need(*sides), rtol=0, atol=1e-9)


def test_a_steady_day_by_hand() -> None:
    # 5 kWh of sun at noon and at 14; 3 kWh lacking at 18 and 19, both dear, and 1 kWh at 22, which is not.
    surplus = 5.0 * in_hours(12, 14)
    deficit = 3.0 * in_hours(18, 19) + 1.0 * in_hours(22)
    need = need_ahead(surplus, deficit, in_hours(18, 19), CLOCK, 20.0, 0.9, 0.75)
    # Two hours of 3 / 0.75 each; 0.9 x 5 less before the later sun, and nothing before both.
    day = [0.0] * 12 + [3.5] * 2 + [8.0] * 4 + [4.0] + [0.0] * 5
    assert need == pytest.approx(np.tile(day, 365))
    small = need_ahead(surplus, deficit, in_hours(18, 19), CLOCK, 5.0, 0.9, 0.75)
    assert small[11:20].tolist() == pytest.approx([0.0, 0.5, 0.5, 5.0, 5.0, 5.0, 5.0, 4.0, 0.0])


def test_dull_days_are_provided_for_days_ahead() -> None:
    # A sun that brings 1.8 of the 4 kWh that each evening takes: every day yet to come of two weeks adds 2.2.
    need = need_ahead(2.0 * in_hours(12), 3.0 * in_hours(18), in_hours(18), CLOCK, 100.0, 0.9, 0.75)
    week = need[17 : 7 * 24 : 24]
    assert week.tolist() == pytest.approx([4.0 + 2.2 * (13 - day) for day in range(7)])


def test_what_is_kept_serves_the_dear_hours_of_the_average_week_and_no_less_does() -> None:
    """A battery that begins with it and gives in dear hours alone never runs short; with a trace less it does."""
    surplus, deficit = 2.0 * in_hours(11, 12), 0.3 + 1.2 * in_hours(18, 19, 20)
    dear = in_hours(18, 19, 20) & (CLOCK.weekday < 5)
    need = need_ahead(surplus, deficit, dear, CLOCK, 50.0, 0.9, 0.9)

    def lowest(first: int, held: float) -> float:
        levels = [held]
        for step in range(first, first + 7 * 24):
            held += 0.9 * surplus[step] - deficit[step] * dear[step] / 0.9
            levels.append(held)
        return min(levels)

    for hour in range(0, 7 * 24, 5):  # what is needed at the end of an hour is held when the next begins
        assert lowest(hour + 1, need[hour]) >= -1e-9, hour
        if need[hour] > 0:
            assert lowest(hour + 1, need[hour] - 0.01) < 0, hour
    # The evening before a Saturday asks for nothing.
    friday_night = 4 * 24 + 20
    assert need[friday_night] == 0.0 and need[friday_night - 24] > 0.0


def test_months_have_weeks_of_their_own() -> None:
    deficit = np.where(CLOCK.month == 0, 2.0, 1.0) * in_hours(18)
    need = need_ahead(0 * deficit, deficit, in_hours(18) & (CLOCK.weekday == 2), CLOCK, 9.0, 1.0, 1.0)
    tuesday_noon = 24 + 12
    assert need[tuesday_noon] == pytest.approx(4.0)  # this week's Wednesday and the next
    assert need[tuesday_noon + 26 * 168] == pytest.approx(2.0)


def test_quarters_of_an_hour_need_what_the_hour_needs() -> None:
    rng = np.random.default_rng(4)
    net = rng.normal(0.2, 1.0, 8760)
    quarters = wall_clock("America/New_York", -5.0, 4)

    def need(clock: Clock) -> Array:
        sides = (clock.steps(np.maximum(net, 0.0)), clock.steps(np.maximum(-net, 0.0)))
        return need_ahead(*sides, in_hours(17, 18, 19, clock=clock), clock, 9.0, 0.95, 0.93)

    assert need(quarters) == pytest.approx(np.repeat(need(NEW_YORK), 4))


def test_without_dear_hours_nothing_is_needed() -> None:
    rng = np.random.default_rng(5)
    surplus, deficit = rng.random((2, 8760))
    assert not need_ahead(surplus, deficit, np.zeros(8760, np.bool_), CLOCK, 10.0, 0.9, 0.9).any()
    assert not need_ahead(surplus, deficit, np.ones(8760, np.bool_), CLOCK, 0.0, 0.9, 0.9).any()


@settings(max_examples=15)
@given(st.integers(0, 2**32 - 1))
def test_more_sun_needs_less_and_more_use_needs_more(seed: int) -> None:
    rng = np.random.default_rng(seed)
    surplus, deficit = np.maximum(rng.normal(0.0, 1.0, (2, 8760)), 0.0)
    dear = in_hours(*rng.choice(24, 4))
    base = need_ahead(surplus, deficit, dear, CLOCK, 10.0, 0.9, 0.9)
    assert (need_ahead(1.2 * surplus, deficit, dear, CLOCK, 10.0, 0.9, 0.9) <= base + 1e-12).all()
    assert (need_ahead(surplus, 1.2 * deficit, dear, CLOCK, 10.0, 0.9, 0.9) >= base - 1e-12).all()
    assert (need_ahead(surplus, deficit, dear, CLOCK, 12.0, 0.9, 0.9) >= base - 1e-12).all()


def test_kept_full_is_full_in_every_step() -> None:
    for clock in (CLOCK, wall_clock(None, 0.0, 4)):
        orders = kept_full(clock)
        assert orders.keep.shape == orders.target.shape == clock.hour.shape
        assert (orders.keep == 1.0).all() and (orders.target == 1.0).all()


@pytest.mark.parametrize("keep", [None, 0.0, 0.4])
@pytest.mark.parametrize("charge_to", [None, 0.0, 0.8])
def test_orders_by_the_price(keep: float | None, charge_to: float | None) -> None:
    need = np.array([0.1, 0.2, 0.3, 0.4])
    hours = DearHours(dear=np.array([True, False, False, False]), cheap=np.array([False, True, False, True]))
    orders = by_the_price(hours, need, keep, charge_to)
    told = need if keep is None else np.full(4, keep)
    assert orders.keep.tolist() == [0.0, *told[1:]]
    up_to = need if charge_to is None else np.full(4, charge_to)
    assert orders.target.tolist() == [0.0, up_to[1], 0.0, up_to[3]]
