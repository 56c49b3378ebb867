"""Both rules against plain walks in floats, and what must hold for any battery, clock and generator."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.battery import store
from finsolar.energy.dispatch import BLOCK, TRACE_KWH, Driven, Scheduled, scheduled, with_generator

Array = NDArray[np.float64]

STEPS = [1, 5, BLOCK - 1, BLOCK, BLOCK + 1, 3 * BLOCK + 7]


@dataclass(frozen=True)
class Clocked:
    """One battery run by the clock over some years, in plain numbers."""

    surplus: Array
    deficit: Array
    keep: Array
    target: Array
    ceiling: Array
    reserve: float
    charge_kw: float
    discharge_kw: float
    fallback_kw: float
    into: float
    out: float
    start: Any
    step_hours: float

    def run(self) -> Scheduled:
        return scheduled(*vars(self).values())

    @property
    def tolerance(self) -> float:
        return 1e-12 * max(1.0, float(self.ceiling.max()))


@dataclass(frozen=True)
class Diesel:
    """One battery and its generator over some years, in plain numbers."""

    net: Array
    floor: Array
    ceiling: Array
    start_level: float
    stop_level: float
    generator_kw: float
    charge_kw: float
    discharge_kw: float
    into: float
    out: float
    start: Any
    step_hours: float
    beyond: Array | None = None

    def run(self) -> Driven:
        return with_generator(*vars(self).values())

    @property
    def tolerance(self) -> float:
        return 1e-12 * max(1.0, float(self.ceiling.max()))


def slow_clock(c: Clocked) -> tuple[list[float], ...]:
    """Walk the rule step by step through all years, as it is written down: a, b, d, stored, start."""
    charges, fallbacks, discharges, levels, begins = [], [], [], [], []
    s, h = float(c.start), c.step_hours
    for year, ceiling in enumerate(c.ceiling.tolist()):
        s = min(max(s, c.reserve * ceiling), ceiling)
        begins.append(s)
        for surplus, deficit, keep, target in zip(
            c.surplus[year].tolist(), c.deficit[year].tolist(), c.keep.tolist(), c.target.tolist(), strict=True
        ):
            floor = max(keep, c.reserve, target) * ceiling
            a = min(surplus, c.charge_kw * h, (ceiling - s) / c.into)
            b = min(c.charge_kw * h - a, c.fallback_kw * h, max(target * ceiling - (s + c.into * a), 0.0) / c.into)
            d = 0.0 if b > 0.0 else min(deficit, c.discharge_kw * h, max(s - floor, 0.0) * c.out)
            s += c.into * (a + b) - d / c.out
            charges.append(a)
            fallbacks.append(b)
            discharges.append(d)
            levels.append(s)
    return charges, fallbacks, discharges, levels, begins


def slow_generator(g: Diesel) -> tuple[list[float], ...]:
    """Walk the rule step by step: charge, discharge, generator, running, unserved, stored, start."""
    flows: tuple[list[float], ...] = ([], [], [], [], [], [])
    begins = []
    s, on, h = float(g.start), False, g.step_hours
    beyond = np.zeros_like(g.net) if g.beyond is None else g.beyond
    for year, ceiling in enumerate(g.ceiling.tolist()):
        floor = float(g.floor[year])
        s = min(max(s, floor), ceiling)
        begins.append(s)
        for net, lack in zip(g.net[year].tolist(), beyond[year].tolist(), strict=True):
            sun, need = max(net, 0.0), max(-net, 0.0)
            held = max(s - floor, 0.0) * g.out
            alone = need + lack - min(need, g.discharge_kw * h, held)
            if s <= g.start_level * ceiling + TRACE_KWH or alone >= TRACE_KWH:
                on = True
            charge = min(sun, g.charge_kw * h, (ceiling - s) / g.into)
            served = added = 0.0
            if on:
                served = min(need + lack, g.generator_kw * h)
                room = max(g.stop_level * ceiling - (s + g.into * charge), 0.0) / g.into
                added = min(g.charge_kw * h - charge, g.generator_kw * h - served, room)
            discharge = min(need, need + lack - served, g.discharge_kw * h, held)
            unserved = need + lack - served - discharge
            s += g.into * (charge + added) - discharge / g.out
            if s >= g.stop_level * ceiling - TRACE_KWH:
                on = False
            made = served + added
            step = (charge + added, discharge, made, float(made > TRACE_KWH), unserved, s)
            for flow, value in zip(flows, step, strict=True):
                flow.append(value)
    return (*flows, begins)


def draw_net(draw: st.DrawFn, years: int, steps: int) -> Array:
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    net = rng.normal(draw(st.floats(-1, 1)), draw(st.floats(0.1, 4)), (years, steps))
    net[rng.random((years, steps)) < 0.2] = 0.0
    return net


def draw_ceiling(draw: st.DrawFn, years: int) -> Array:
    """Draw capacities that fade, vanish and are renewed; the largest is neither full nor empty for years."""
    sizes = draw(st.sampled_from([[0.0, 1.0, 7.5, 13.0, 40.0], [9.0, 10.0], [2000.0, 2500.0]]))
    return np.array(draw(st.lists(st.sampled_from(sizes), min_size=years, max_size=years)))


# Whole thousandths: values so small that doubling them rounds would say nothing about a battery.
kilowatts = st.one_of(st.just(0), st.integers(50, 6000), st.integers(500, 6000)).map(lambda n: n / 1000)
one_way = st.one_of(st.just(1000), st.integers(600, 1000)).map(lambda n: n / 1000)
shares = st.one_of(st.sampled_from([0, 500, 1000]), st.integers(0, 1000)).map(lambda n: n / 1000)


@st.composite
def clocked(draw: st.DrawFn, with_target: bool = True) -> Clocked:
    years, steps = draw(st.integers(1, 5)), draw(st.sampled_from(STEPS))
    net, ceiling = draw_net(draw, years, steps), draw_ceiling(draw, years)
    table = st.lists(st.one_of(st.just(0.0), shares), min_size=6, max_size=6)
    keep, target = (np.resize(draw(table), steps) * on for on in (1.0, float(with_target)))
    return Clocked(
        surplus=np.maximum(net, 0.0),
        deficit=np.maximum(-net, 0.0),
        keep=keep,
        target=target,
        ceiling=ceiling,
        reserve=draw(st.sampled_from([0.0, 0.1, 0.35, 1.0])),
        charge_kw=draw(kilowatts),
        discharge_kw=draw(kilowatts),
        fallback_kw=draw(kilowatts),
        into=draw(one_way),
        out=draw(one_way),
        start=float(ceiling[0] * draw(st.integers(0, 120)) / 100),
        step_hours=draw(st.sampled_from([0.25, 0.5, 1.0])),
    )


@st.composite
def diesels(draw: st.DrawFn) -> Diesel:
    years, steps = draw(st.integers(1, 5)), draw(st.sampled_from(STEPS))
    net, ceiling = draw_net(draw, years, steps), draw_ceiling(draw, years)
    low, high = sorted((draw(shares), draw(shares)))
    beyond = np.maximum(draw_net(draw, years, steps) - 1.5, 0.0) if draw(st.booleans()) else None
    return Diesel(
        net=net,
        floor=ceiling * draw(st.sampled_from([0.0, 0.1, 0.35, 1.0])),
        ceiling=ceiling,
        start_level=low,
        stop_level=high,
        generator_kw=draw(kilowatts),
        charge_kw=draw(kilowatts),
        discharge_kw=draw(kilowatts),
        into=draw(one_way),
        out=draw(one_way),
        start=float(ceiling[0] * draw(st.integers(0, 120)) / 100),
        step_hours=draw(st.sampled_from([0.25, 0.5, 1.0])),
        beyond=beyond,
    )


def before(run: Scheduled | Driven) -> Array:
    return np.concatenate([run.start[..., None], run.stored[..., :-1]], axis=-1)


def assert_same(run: Scheduled | Driven, walked: tuple[list[float], ...], tolerance: float) -> None:
    for (name, values), plain in zip(vars(run).items(), walked, strict=True):
        np.testing.assert_allclose(values.ravel(), plain, rtol=0, atol=tolerance, err_msg=name)


# --- by the clock


@settings(max_examples=100, deadline=None)
@given(clocked())
def test_clock_equals_the_rule_step_by_step(case: Clocked) -> None:
    assert_same(case.run(), slow_clock(case), case.tolerance)


@settings(max_examples=40, deadline=None)
@given(clocked(), st.integers(0, 2**32 - 1))
def test_clock_takes_surplus_and_deficit_in_one_step(case: Clocked, seed: int) -> None:
    case = replace(case, deficit=case.deficit + np.random.default_rng(seed).random(case.deficit.shape))
    assert_same(case.run(), slow_clock(case), case.tolerance)


@settings(max_examples=40, deadline=None)
@given(clocked())
def test_clock_keeps_window_balance_and_limits(case: Clocked) -> None:
    run, small = case.run(), case.tolerance
    moved = case.into * (run.charge + run.from_fallback) - run.discharge / case.out
    np.testing.assert_allclose(run.stored - before(run), moved, rtol=0, atol=small)
    ceiling = case.ceiling[:, None]
    assert np.all(run.stored >= case.reserve * ceiling - small) and np.all(run.stored <= ceiling)
    assert np.all((run.charge >= 0) & (run.charge <= case.surplus))
    assert np.all((run.discharge >= 0) & (run.discharge <= case.deficit))
    assert np.all((run.from_fallback >= 0) & (run.from_fallback <= case.fallback_kw * case.step_hours))
    assert np.all(run.charge + run.from_fallback <= case.charge_kw * case.step_hours + small)
    assert np.all(run.discharge <= case.discharge_kw * case.step_hours)
    assert not np.any((run.from_fallback > 0) & (run.discharge > 0))
    assert not np.any(run.from_fallback[:, case.target == 0.0])
    lowest = np.maximum(np.maximum(case.keep, case.target), case.reserve) * ceiling
    given_off = run.discharge > small
    assert np.all(run.stored[given_off] >= lowest[given_off] - small)


@settings(max_examples=40, deadline=None)
@given(clocked(with_target=False))
def test_without_clock_it_is_the_greedy_battery(case: Clocked) -> None:
    case = replace(case, keep=np.zeros_like(case.keep))
    run = case.run()
    greedy = store(
        case.surplus - case.deficit,
        case.reserve * case.ceiling,
        case.ceiling,
        case.charge_kw,
        case.discharge_kw,
        case.into,
        case.out,
        case.start,
        case.step_hours,
    )
    assert not run.from_fallback.any()
    for name in ("charge", "discharge", "stored", "start"):
        np.testing.assert_allclose(getattr(run, name), getattr(greedy, name), rtol=0, atol=10 * case.tolerance)


@settings(max_examples=40, deadline=None)
@given(clocked())
def test_clock_doubles_with_everything(case: Clocked) -> None:
    names = ("surplus", "deficit", "ceiling", "charge_kw", "discharge_kw", "fallback_kw", "start")
    twice = replace(case, **{name: 2.0 * getattr(case, name) for name in names}).run()
    for name, values in vars(case.run()).items():
        assert np.array_equal(getattr(twice, name), 2.0 * values), name  # a factor of two rounds nothing


def quarters(case: Clocked) -> Clocked:
    """Cut each step into four equal ones."""
    return replace(
        case,
        surplus=np.repeat(case.surplus / 4, 4, axis=-1),
        deficit=np.repeat(case.deficit / 4, 4, axis=-1),
        keep=np.repeat(case.keep, 4),
        target=np.repeat(case.target, 4),
        step_hours=case.step_hours / 4,
    )


@settings(max_examples=40, deadline=None)
@given(clocked())
def test_four_quarters_sum_to_the_step_where_the_fallback_meets_no_sun(case: Clocked) -> None:
    # Whatever limit is reached within the step, four quarters then reach it too.
    case = replace(case, surplus=np.where(case.target > 0.0, 0.0, case.surplus))
    whole, cut = case.run(), quarters(case).run()
    for name in ("charge", "from_fallback", "discharge"):
        summed = getattr(cut, name).reshape(*whole.stored.shape, 4).sum(axis=-1)
        np.testing.assert_allclose(summed, getattr(whole, name), rtol=0, atol=10 * case.tolerance)


@settings(max_examples=40, deadline=None)
@given(clocked())
def test_quarters_never_hold_less_than_the_step(case: Clocked) -> None:
    # Where sun and fallback share a step the fallback cannot know the sun of the quarters to come.
    assert np.all(quarters(case).run().stored[:, 3::4] >= case.run().stored - 10 * case.tolerance)


def test_in_quarters_the_fallback_fills_what_later_sun_would_have_filled() -> None:
    case = Clocked(
        surplus=np.array([[4.0]]),
        deficit=np.array([[0.0]]),
        keep=np.zeros(1),
        target=np.array([0.4]),
        ceiling=np.array([10.0]),
        reserve=0.0,
        charge_kw=10.0,
        discharge_kw=5.0,
        fallback_kw=4.0,
        into=1.0,
        out=1.0,
        start=0.0,
        step_hours=1.0,
    )
    assert case.run().from_fallback.tolist() == [[0.0]]
    assert quarters(case).run().from_fallback.tolist() == [[1.0, 1.0, 0.0, 0.0]]


def test_a_night_of_the_clock() -> None:
    """Charged from the grid to the target, held there, then spent down to what is kept."""
    run = scheduled(
        surplus=np.array([[0.0, 0.0, 0.0, 2.0, 0.0, 0.0]]),
        deficit=np.array([[1.0, 1.0, 1.0, 0.0, 3.0, 3.0]]),
        keep=np.array([0.0, 0.0, 0.0, 0.0, 0.5, 0.2]),
        target=np.array([0.6, 0.6, 0.6, 0.0, 0.0, 0.0]),
        ceiling=np.array([10.0]),
        reserve=0.1,
        charge_kw=4.0,
        discharge_kw=4.0,
        fallback_kw=3.0,
        charge_efficiency=1.0,
        discharge_efficiency=0.5,
        start=1.0,
    )
    assert run.from_fallback.tolist() == [[3.0, 2.0, 0.0, 0.0, 0.0, 0.0]]
    assert run.charge.tolist() == [[0.0, 0.0, 0.0, 2.0, 0.0, 0.0]]
    assert run.discharge.tolist() == [[0.0, 0.0, 0.0, 0.0, 1.5, 1.5]]
    assert run.stored.tolist() == [[4.0, 6.0, 6.0, 8.0, 5.0, 2.0]]


def test_a_faded_battery_loses_what_it_cannot_hold_and_a_new_one_rises_to_its_reserve() -> None:
    idle = np.zeros((3, 2))
    full, empty = (
        scheduled(idle, idle, 0.0, 0.0, np.array([10.0, 5.0, 20.0]), 0.3, 5.0, 5.0, 0.0, 0.9, 0.9, start)
        for start in (12.0, 0.0)
    )
    assert full.start.tolist() == [10.0, 5.0, 6.0]
    assert empty.start.tolist() == [3.0, 3.0, 6.0]


# --- years and cases


def by_year(run: Callable[[int, float], Scheduled], years: int, start: float) -> list[Scheduled]:
    runs: list[Scheduled] = []
    for year in range(years):
        runs.append(run(year, start))
        start = float(runs[-1].stored[0, -1])
    return runs


@settings(max_examples=40, deadline=None)
@given(clocked())
def test_repaired_years_are_the_years_walked_in_turn_to_the_last_bit(case: Clocked) -> None:
    run = case.run()

    def one(year: int, start: float) -> Scheduled:
        own = slice(year, year + 1)
        parts = {name: getattr(case, name)[own] for name in ("surplus", "deficit", "ceiling")}
        return replace(case, start=start, **parts).run()

    for year, alone in enumerate(by_year(one, len(case.ceiling), case.start)):
        for name, values in vars(alone).items():
            assert np.array_equal(getattr(run, name)[year], values[0]), name


def test_a_change_runs_through_all_years_of_a_battery_that_is_never_full() -> None:
    years, steps = 6, 2 * BLOCK
    half = np.full((years, steps), 0.25)
    run = scheduled(half, 0.0 * half, 0.0, 0.0, np.full(years, 1e6), 0.0, 9.0, 9.0, 0.0, 1.0, 1.0, 3.0)
    assert run.start.tolist() == [3.0 + 0.25 * steps * year for year in range(years)]
    assert run.stored[-1, -1] == 3.0 + 0.25 * steps * years


def test_cases_are_their_single_runs() -> None:
    rng = np.random.default_rng(3)
    net = rng.normal(size=(2, 3 * BLOCK))
    ceiling = np.array([[4.0, 3.0], [9.0, 8.0], [0.0, 0.0]])
    power = np.array([[1.0], [2.0], [3.0]])
    keep, target = (np.resize(np.array(table), net.shape[1]) for table in ([0.0, 0.3, 0.7], [0.0, 0.0, 0.5, 0.0]))
    start = 0.5 * ceiling[:, :1]

    def clock(size: Array, kw: Any, begin: Any) -> Scheduled:
        both = np.maximum(net, 0.0), np.maximum(-net, 0.0)
        return scheduled(*both, keep, target, size, 0.1, kw, kw, kw, 0.9, 0.95, begin)

    def diesel(size: Array, kw: Any, begin: Any) -> Driven:
        return with_generator(net, 0.1 * size, size, 0.2, 0.8, kw, kw, kw, 0.9, 0.95, begin)

    for run in (clock, diesel):
        many = run(ceiling, power, start)
        assert many.stored.shape == (3, *net.shape) and many.start.shape == (3, 2)
        for k in range(3):
            for name, values in vars(run(ceiling[k], power[k, 0], start[k, 0])).items():
                assert np.array_equal(getattr(many, name)[k], values), name


def test_inputs_are_left_as_they_were() -> None:
    net = np.random.default_rng(5).normal(size=(1, 50))
    surplus, deficit, kept = np.maximum(net, 0.0), np.maximum(-net, 0.0), net.copy()
    scheduled(surplus, deficit, 0.2, 0.5, 6.0, 0.1, 2.0, 2.0, 1.0, 0.9, 0.9, 1.0)
    with_generator(net, 0.5, 6.0, 0.2, 0.8, 3.0, 2.0, 2.0, 0.9, 0.9, 1.0, 1.0, deficit)
    assert np.array_equal(net, kept)
    assert np.array_equal(surplus, np.maximum(kept, 0.0)) and np.array_equal(deficit, np.maximum(-kept, 0.0))


# --- with a generator


@settings(max_examples=100, deadline=None)
@given(diesels())
def test_generator_equals_the_rule_step_by_step(case: Diesel) -> None:
    run, walked = case.run(), slow_generator(case)
    assert np.all((run.unserved == 0.0) | (run.unserved > TRACE_KWH))
    *flows, unserved, stored, begins = walked
    unserved = [0.0 if lack <= TRACE_KWH else lack for lack in unserved]
    assert_same(run, (*flows, unserved, stored, begins), case.tolerance)


@settings(max_examples=40, deadline=None)
@given(diesels())
def test_generator_keeps_window_balance_and_limits(case: Diesel) -> None:
    run, small = case.run(), case.tolerance
    moved = case.into * run.charge - run.discharge / case.out
    np.testing.assert_allclose(run.stored - before(run), moved, rtol=0, atol=small)
    assert np.all(run.stored >= case.floor[:, None]) and np.all(run.stored <= case.ceiling[:, None])
    use = np.maximum(-case.net, 0.0) + (0.0 if case.beyond is None else case.beyond)
    spare = run.generator + run.discharge + run.unserved + np.maximum(case.net, 0.0) - use - run.charge
    # What is over is sun that nobody takes, never the generator's: it delivers no more than is taken.
    assert np.all(spare >= -small - TRACE_KWH) and np.all(spare <= np.maximum(case.net, 0.0) + small)
    for flow in (run.charge, run.discharge, run.generator, run.unserved):
        assert np.all(flow >= 0.0)
    assert np.all(run.generator <= case.generator_kw * case.step_hours + small)
    assert np.all(run.charge <= case.charge_kw * case.step_hours + small)
    assert np.all(run.discharge <= case.discharge_kw * case.step_hours)
    assert np.array_equal(run.running == 1.0, run.generator > TRACE_KWH)
    assert set(np.unique(run.running)) <= {0.0, 1.0}
    # Nobody goes without while the generator has power left.
    short = run.unserved > 0.0
    assert np.all(run.generator[short] >= case.generator_kw * case.step_hours - small)


@settings(max_examples=40, deadline=None)
@given(diesels())
def test_generator_repairs_years_to_the_last_bit_when_it_is_off_between_them(case: Diesel) -> None:
    run = case.run()
    for year in range(1, len(case.ceiling)):
        if run.stored[year - 1, -1] < case.stop_level * case.ceiling[year - 1] - TRACE_KWH:
            continue  # it may be on, which a run of its own cannot be told
        own: dict[str, Any] = {"net": case.net[year:], "floor": case.floor[year:], "ceiling": case.ceiling[year:]}
        beyond = None if case.beyond is None else case.beyond[year:]
        alone = replace(case, **own, beyond=beyond, start=float(run.stored[year - 1, -1])).run()
        for name, values in vars(alone).items():
            assert np.array_equal(getattr(run, name)[year:], values), name


@settings(max_examples=40, deadline=None)
@given(diesels(), st.floats(0.5, 3))
def test_no_generator_energy_while_the_battery_stays_above_the_level(case: Diesel, over: float) -> None:
    used = float(np.maximum(-case.net, 0.0).sum()) / case.out + 1.0
    ample = replace(
        case,
        floor=np.zeros_like(case.floor),
        ceiling=np.full_like(case.ceiling, used * (2.0 + over)),
        start_level=0.2,
        stop_level=0.9,
        discharge_kw=1e3,
        start=used * (2.0 + over),
        beyond=None,
    )
    run = ample.run()
    assert not run.generator.any() and not run.unserved.any() and not run.running.any()


def small_house(net: list[float], **changes: Any) -> Diesel:
    """A battery of 10 kWh that keeps 1, called at 2 and left at 8; 3 kW charge, 5 kW generator, no losses."""
    base = Diesel(
        net=np.array([net]),
        floor=np.array([1.0]),
        ceiling=np.array([10.0]),
        start_level=0.2,
        stop_level=0.8,
        generator_kw=5.0,
        charge_kw=3.0,
        discharge_kw=4.0,
        into=1.0,
        out=1.0,
        start=4.0,
        step_hours=1.0,
    )
    return replace(base, **changes)


def test_it_is_called_at_the_start_level_and_runs_to_the_stop_level() -> None:
    run = small_house([-1.0] * 8).run()
    assert run.stored.tolist() == [[3.0, 2.0, 5.0, 8.0, 7.0, 6.0, 5.0, 4.0]]
    assert run.generator.tolist() == [[0.0, 0.0, 4.0, 4.0, 0.0, 0.0, 0.0, 0.0]]
    assert run.running.tolist() == [[0.0, 0.0, 1.0, 1.0, 0.0, 0.0, 0.0, 0.0]]
    assert run.discharge.tolist() == [[1.0, 1.0, 0.0, 0.0, 1.0, 1.0, 1.0, 1.0]]


def test_it_is_called_when_the_battery_lacks_energy_or_power() -> None:
    energy = small_house([-3.5, 0.0, 0.0], start_level=0.0).run()
    assert energy.generator.tolist() == [[5.0, 2.5, 0.0]]  # 3.5 served and 1.5 left for the battery, then up to 8
    assert energy.stored.tolist() == [[5.5, 8.0, 8.0]]
    losses = small_house([-3.0, 0.0], start_level=0.0, start=6.0, out=0.5).run()
    assert losses.generator.tolist() == [[5.0, 0.0]]  # 5 kWh above the floor give 2.5 to the house
    power = small_house([-4.5, 0.0], start=10.0).run()
    assert power.generator.tolist() == [[4.5, 0.0]]  # above stop level: it serves and goes off
    assert power.stored.tolist() == [[10.0, 10.0]]


def test_the_battery_helps_a_generator_that_is_too_small() -> None:
    run = small_house([-8.0, -8.0], generator_kw=5.0).run()
    assert run.generator.tolist() == [[5.0, 5.0]]
    assert run.discharge.tolist() == [[3.0, 0.0]]
    assert run.unserved.tolist() == [[0.0, 3.0]]
    assert run.stored.tolist() == [[1.0, 1.0]]


def test_it_goes_off_as_soon_as_sun_brings_the_stop_level_and_stands_still_while_sun_takes_all_power() -> None:
    run = small_house([0.0, 4.0, 2.5, -1.0], start=1.5).run()
    # Called at once; full charging power from the sun leaves it nothing to do; 0.5 kWh bring the stop level.
    assert run.generator.tolist() == [[3.0, 0.0, 0.0, 0.0]]
    assert run.running.tolist() == [[1.0, 0.0, 0.0, 0.0]]
    assert run.stored.tolist() == [[4.5, 7.5, 10.0, 9.0]]
    kept_on = small_house([0.0, 4.0, 0.2, -1.0], start=1.0).run()
    assert kept_on.running.tolist() == [[1.0, 0.0, 1.0, 0.0]]
    assert kept_on.generator[0, 2] == pytest.approx(0.8)  # still on: it adds to 0.2 kWh of sun what 8 kWh lack


def test_levels_are_reached_within_rounding() -> None:
    # 0.1 taken nine times from 1 leaves a hair more than 0.1, the start level; 0.1 + 0.2 is a hair beyond 0.3.
    tenth = {"floor": np.array([0.0]), "ceiling": np.array([1.0]), "start": 1.0}
    fallen = small_house([-0.1] * 9 + [0.0], **tenth, start_level=0.1, stop_level=0.3, charge_kw=0.2).run()
    assert 0.1 < fallen.stored[0, 8] < 0.1 + 1e-12
    assert fallen.running.tolist() == [[0.0] * 9 + [1.0]]
    filled = small_house(
        [0.0, -0.05], **(tenth | {"start": 0.1}), start_level=0.1, stop_level=0.1 + 0.2, charge_kw=0.2 - 1e-12
    ).run()
    assert filled.stored[0, 0] < 0.1 + 0.2
    assert filled.running.tolist() == [[1.0, 0.0]] and filled.discharge.tolist() == [[0.0, 0.05]]


def test_a_lack_that_is_rounding_is_none() -> None:
    # 0.3 less twice 0.1 is a hair less than 0.1, as is the energy left for the third step.
    run = small_house([-0.1] * 3, floor=np.zeros(1), start=0.3, start_level=0.0).run()
    assert run.discharge[0, 2] < 0.1
    assert run.unserved.tolist() == [[0.0] * 3] and run.running.tolist() == [[0.0] * 3]


def test_a_running_generator_runs_on_into_the_next_year() -> None:
    net = [-1.0] * 8
    whole = small_house(net).run()
    halves = np.array([net[:3], net[3:6]])
    cut = replace(small_house(net), net=halves, floor=np.ones(2), ceiling=np.full(2, 10.0)).run()
    assert cut.running.tolist() == [[0.0, 0.0, 1.0], [1.0, 0.0, 0.0]]
    assert cut.stored.ravel().tolist() == whole.stored[0, :6].tolist()
    assert cut.start.tolist() == [4.0, 5.0]


def test_a_year_is_walked_again_though_only_the_running_differs() -> None:
    # A deficit beyond the battery's power calls the generator, which cannot charge and so stays on.
    quiet = [0.0] * BLOCK
    net = np.array([[-5.0, *quiet, 0.0], [0.0, *quiet, -1.0]])
    house = replace(small_house([]), net=net, floor=np.ones(2), ceiling=np.full(2, 10.0), charge_kw=0.0)
    run = house.run()
    assert run.stored.tolist() == np.full(net.shape, 4.0).tolist()
    assert run.generator[1, -1] == 1.0 and run.discharge[1, -1] == 0.0


def test_without_battery_the_generator_follows_the_deficit() -> None:
    run = small_house([-1.0, 2.0, -7.0], floor=np.zeros(1), ceiling=np.zeros(1), start=0.0).run()
    assert run.generator.tolist() == [[1.0, 0.0, 5.0]]
    assert run.running.tolist() == [[1.0, 0.0, 1.0]]
    assert run.unserved.tolist() == [[0.0, 0.0, 2.0]]


def test_without_generator_it_is_the_greedy_battery() -> None:
    net = np.random.default_rng(11).normal(-0.2, 1.5, (3, 400))
    ceiling = np.array([9.0, 8.0, 10.0])
    run = with_generator(net, 0.1 * ceiling, ceiling, 0.3, 0.9, 0.0, 2.0, 2.0, 0.9, 0.95, 1.0)
    greedy = store(net, 0.1 * ceiling, ceiling, 2.0, 2.0, 0.9, 0.95, 1.0)
    for name in ("charge", "discharge", "stored", "start"):
        np.testing.assert_allclose(getattr(run, name), getattr(greedy, name), rtol=0, atol=1e-11)
    lack = np.maximum(-net, 0.0) - greedy.discharge
    np.testing.assert_allclose(run.unserved, lack, rtol=0, atol=1e-9)
    assert not run.generator.any() and not run.running.any()


def test_what_the_battery_cannot_serve_calls_the_generator_even_in_the_sun() -> None:
    run = small_house([3.5, 0.0], start=6.0, beyond=np.array([[1.0, 0.0]])).run()
    assert run.generator.tolist() == [[1.0, 0.0]]
    assert run.charge.tolist() == [[3.0, 0.0]]
    assert run.discharge.tolist() == [[0.0, 0.0]]
    weak = small_house([-1.0, 0.0], start=8.0, generator_kw=0.5, beyond=np.array([[2.0, 0.0]])).run()
    assert weak.discharge[0, 0] == 1.0 and weak.unserved[0, 0] == 1.5
