"""The balance of every step, under every rule for the battery and with every supply behind it."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.balance import TRACE_KWH, Backing, Hourly, run_steps
from finsolar.energy.battery import Battery
from finsolar.energy.bound import cheapest_year
from finsolar.energy.orders import Orders

Array = NDArray[np.float64]
ROUNDING = 1e-9  # kWh; TRACE_KWH of the engine is a tenth of it

MODES = ("greedy", "orders", "backup only", "alone", "following", "charging")
"""Three beside a grid, three off it: without a generator, with one that follows the lack, with one that charges."""


@dataclass(frozen=True)
class House:
    """A short stretch of years in plain numbers; energies are given as mean power, kW, so that steps can be cut."""

    solar: Array
    load: Array
    mode: str = "greedy"
    capacity: tuple[float, ...] = (8.0,)
    reserve: float = 0.0
    charge_kw: float = 3.0
    discharge_kw: float = 3.0
    into: float = 0.9
    out: float = 0.95
    start: float | None = None
    idle: float = 0.0
    keep: Array | None = None
    target: Array | None = None
    limit: float | None = None
    export_allowed: bool = True
    generator_kw: float = 2.0
    levels: tuple[float, float] = (0.3, 0.8)
    hours: float = 1.0

    @property
    def grid(self) -> bool:
        return self.mode in MODES[:3]

    @property
    def use(self) -> Array:
        """Load and idle draw, kWh."""
        return (self.load + self.idle) * self.hours

    @property
    def battery(self) -> Battery:
        limits = (self.charge_kw, self.discharge_kw, self.into, self.out)
        return Battery(np.array(self.capacity), self.reserve, *limits, self.start)

    @property
    def backing(self) -> Backing:
        if self.grid:
            return Backing(export_allowed=self.export_allowed)
        if self.mode == "alone":
            return Backing(grid=False)
        start_at, stop_at = self.levels if self.mode == "charging" else (None, 1.0)
        return Backing(False, generator_kw=self.generator_kw, start_at=start_at, stop_at=stop_at)

    @property
    def orders(self) -> Orders | None:
        ones = np.ones(self.solar.shape[-1])
        if self.mode == "backup only":
            return Orders(ones, ones)
        if self.mode == "orders":
            assert self.keep is not None and self.target is not None
            return Orders(self.keep, self.target)
        return None

    def run(self, battery: bool = True) -> Hourly:
        return run_steps(
            self.solar * self.hours,
            self.load * self.hours,
            self.backing,
            idle=self.idle,
            battery=self.battery if battery else None,
            orders=self.orders,
            shared_kw=self.limit,
            step_hours=self.hours,
        )

    def cut(self, parts: int) -> House:
        """The same house with every step cut into equal parts."""
        tables = {"keep": self.keep, "target": self.target}
        finer = {name: None if table is None else np.repeat(table, parts) for name, table in tables.items()}
        energies = {"solar": np.repeat(self.solar, parts, -1), "load": np.repeat(self.load, parts, -1)}
        return replace(self, hours=self.hours / parts, **energies, **finer)


@st.composite
def houses(draw: st.DrawFn, modes: tuple[str, ...] = MODES, years: int = 2, dc: bool | None = None) -> House:
    """Draw two days of each year, with a sun that mostly exceeds load and battery somewhere."""
    steps = 48
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    day = np.maximum(np.sin(np.pi * (np.arange(steps) % 24 - 6) / 12), 0.0)
    shares = np.array([0.0, 0.0, 0.25, 0.6, 1.0])
    shared = draw(st.booleans()) if dc is None else dc
    first = draw(st.sampled_from([0.0, 0.7, 5.0, 12.0]))
    return House(
        solar=day * rng.uniform(0, draw(st.floats(0, 9)), (years, steps)),
        load=rng.uniform(0, draw(st.floats(0.1, 5)), (years, steps)) * rng.choice([0.0, 1.0], steps, p=[0.1, 0.9]),
        mode=draw(st.sampled_from(modes)),
        capacity=tuple(first * draw(st.sampled_from([0.7, 1.0])) ** year for year in range(years)),
        reserve=draw(st.sampled_from([0.0, 0.2, 1.0])),
        charge_kw=draw(st.floats(0, 6)),
        discharge_kw=draw(st.floats(0, 6)),
        into=draw(st.floats(0.6, 1.0)),
        out=draw(st.floats(0.6, 1.0)),
        start=draw(st.sampled_from([None, 0.0, 0.55, 1.0])),
        idle=draw(st.sampled_from([0.0, 0.05])),
        keep=rng.choice(shares, steps),
        target=rng.choice(shares, steps),
        limit=draw(st.floats(0.2, 8)) if shared else None,
        export_allowed=draw(st.booleans()),
        generator_kw=draw(st.floats(0.05, 5)),
        levels=draw(st.sampled_from([(0.0, 0.5), (0.3, 0.8), (0.5, 1.0)])),
        hours=draw(st.sampled_from([1.0, 0.5, 0.25])),
    )


def hold_the_same(one: Hourly, other: Hourly, names: tuple[str, ...] | None = None) -> None:
    for name in names or tuple(field.name for field in fields(Hourly)):
        assert np.allclose(getattr(one, name), getattr(other, name), rtol=0, atol=ROUNDING), name


# --- what holds in every step ---


@settings(max_examples=60)
@given(houses(), st.booleans())
def test_every_step_balances(house: House, with_battery: bool) -> None:
    run = house.run(with_battery)
    sources = run.solar + run.imported + run.generator + run.discharge + run.unserved
    uses = run.load + run.idle + run.exported + run.charge + run.curtailed
    assert np.abs(sources - uses).max() < ROUNDING
    assert np.allclose(run.solar + run.clipped, house.solar * house.hours)
    assert np.allclose(run.load + run.idle, house.use)
    for field in fields(Hourly):
        assert getattr(run, field.name).shape == house.solar.shape[: 1 if field.name == "start" else 2]
        assert getattr(run, field.name).min() >= 0.0, field.name


@settings(max_examples=60)
@given(houses())
def test_the_battery_keeps_its_books_its_window_and_its_limits(house: House) -> None:
    run = house.run()
    ceiling = np.array(house.capacity)[:, None]
    before = np.concatenate([run.start[:, None], run.stored[:, :-1]], axis=1)
    change = house.into * run.charge - run.discharge / house.out
    assert np.allclose(run.stored - before, change, rtol=0, atol=ROUNDING)
    assert (run.stored >= house.reserve * ceiling - ROUNDING).all() and (run.stored <= ceiling + ROUNDING).all()
    assert (run.charge <= house.charge_kw * house.hours + ROUNDING).all()
    assert (run.discharge <= house.discharge_kw * house.hours + ROUNDING).all()
    assert (run.charge_bought <= run.charge + ROUNDING).all()
    # It takes nothing but what house and sun leave over, and gives nothing but what they lack.
    surplus = house.solar * house.hours - house.use
    own = np.maximum(surplus, 0.0)
    if house.limit is not None:
        own = np.maximum(house.solar * house.hours - np.minimum(house.use, house.limit * house.hours), 0.0)
    assert (run.charge - run.charge_bought <= own + ROUNDING).all()
    assert (run.discharge <= np.maximum(-surplus, 0.0) + ROUNDING).all()
    # A new year begins with what the old one left, as far as its own window goes.
    at_first = house.reserve if house.start is None else house.start
    left = np.concatenate([[at_first * ceiling[0, 0]], run.stored[:-1, -1]])
    assert run.start == pytest.approx(np.clip(left, house.reserve * ceiling[:, 0], ceiling[:, 0]))


@settings(max_examples=60)
@given(houses())
def test_nothing_comes_in_while_anything_goes_out(house: House) -> None:
    run = house.run()
    out = run.exported + run.curtailed + run.clipped * (house.use <= (house.limit or np.inf) * house.hours)
    assert np.minimum(run.imported + run.generator + run.unserved, out).max() < ROUNDING
    assert np.minimum(run.charge_bought, run.exported + run.curtailed + run.clipped).max() < ROUNDING
    assert np.minimum(run.charge, run.discharge).max() < ROUNDING


@settings(max_examples=40)
@given(houses())
def test_each_supply_gives_and_takes_what_it_can(house: House) -> None:
    run = house.run()
    if house.grid:
        assert not run.unserved.any() and not run.generator.any()
        assert not (run.curtailed if house.export_allowed else run.exported).any()
    else:
        assert not run.imported.any() and not run.exported.any()
        assert run.generator.max() <= (0.0 if house.mode == "alone" else house.generator_kw * house.hours) + ROUNDING
    if house.mode in {"greedy", "alone", "following"}:
        assert not run.charge_bought.any()
    for lack in (run.generator, run.unserved):  # rounding calls no generator and makes no step without power
        assert not np.any((lack > 0.0) & (lack < TRACE_KWH))


@settings(max_examples=60)
@given(houses(modes=("following", "charging")))
def test_nothing_is_left_unserved_but_beyond_a_generator_at_its_limit(house: House) -> None:
    run = house.run()
    short = run.unserved > ROUNDING
    assert run.generator[short] == pytest.approx(house.generator_kw * house.hours)
    assert run.charge_bought[short].max(initial=0.0) < ROUNDING


@settings(max_examples=40)
@given(houses(dc=True))
def test_sun_and_battery_never_exceed_the_inverter_they_share(house: House) -> None:
    run, most = house.run(), house.limit * house.hours
    through = run.solar - (run.charge - run.charge_bought) + run.discharge
    assert through.max() <= most + ROUNDING
    # What it clips is what it truly cannot pass: then it runs at its limit.
    assert through[run.clipped > ROUNDING] == pytest.approx(most)


@settings(max_examples=60)
@given(houses(modes=("alone", "following"), dc=True))
def test_use_beyond_a_shared_inverter_has_no_source_but_the_generator(house: House) -> None:
    run = house.run()
    beyond = np.maximum(house.use - house.limit * house.hours, 0.0)
    assert (run.generator + run.unserved >= beyond - ROUNDING).all()
    if house.mode == "alone":
        assert (run.unserved >= beyond - ROUNDING).all()


# --- one house against its like ---


@settings(max_examples=25)
@given(houses(dc=False))
def test_a_shared_inverter_that_never_binds_is_none(house: House) -> None:
    hold_the_same(house.run(), replace(house, limit=1e4).run())


@settings(max_examples=40)
@given(houses())
def test_all_doubled_doubles_every_flow(house: House) -> None:
    """Kilowatts and kilowatt-hours; shares and efficiencies stay. Factor 2 is exact in binary numbers."""
    doubled = replace(
        house,
        solar=2 * house.solar,
        load=2 * house.load,
        idle=2 * house.idle,
        capacity=tuple(2 * kwh for kwh in house.capacity),
        charge_kw=2 * house.charge_kw,
        discharge_kw=2 * house.discharge_kw,
        generator_kw=2 * house.generator_kw,
        limit=None if house.limit is None else 2 * house.limit,
    ).run()
    single = house.run()
    for field in fields(Hourly):
        found, expected = getattr(doubled, field.name), 2 * getattr(single, field.name)
        assert np.allclose(found, expected, rtol=0, atol=ROUNDING), field.name


@settings(max_examples=40)
@given(houses(modes=("greedy",), years=1), st.floats(1, 3), st.floats(1, 3), st.floats(1, 3))
def test_more_battery_never_imports_more(house: House, capacity: float, charge: float, discharge: float) -> None:
    house = replace(house, start=None)
    larger = replace(
        house,
        capacity=(house.capacity[0] * capacity,),
        charge_kw=house.charge_kw * charge,
        discharge_kw=house.discharge_kw * discharge,
    )
    none, some, more = house.run(battery=False), house.run(), larger.run()
    assert more.imported.sum() <= some.imported.sum() + ROUNDING <= none.imported.sum() + 2 * ROUNDING


@settings(max_examples=30)
@given(houses(modes=("greedy", "alone"), dc=True, years=1))
def test_a_battery_before_the_inverter_stores_what_one_behind_it_loses(house: House) -> None:
    """Against a twin behind an inverter of the same limit, which cuts the sun before the battery sees it."""
    house = replace(house, load=np.minimum(house.load, house.limit - 0.05))  # else the house itself meets the limit
    most = house.limit * house.hours
    offered = house.solar * house.hours
    before = house.run()
    behind = replace(house, solar=np.minimum(house.solar, house.limit), limit=None).run()
    assert (before.clipped <= np.maximum(offered - most, 0.0) + ROUNDING).all()
    assert (before.stored >= behind.stored - ROUNDING).all()
    for name in ("imported", "unserved"):
        assert getattr(before, name).sum() <= getattr(behind, name).sum() + ROUNDING


def test_an_hour_before_and_behind_the_inverter_by_hand() -> None:
    # 7 kWh of sun, 1 of use, an inverter of 4 kW, a battery that takes 2.5 kW; then 5 kWh of use in the dark.
    house = House(np.array([[7.0, 0.0]]), np.array([[1.0, 5.0]]), charge_kw=2.5, discharge_kw=9.0, into=0.8, out=1.0)
    before = replace(house, limit=4.0).run()
    # 1 straight, 2.5 into the battery, 3 out at the inverter's limit, 0.5 clipped; 2 of 2.5 come back.
    assert before.exported[0].tolist() == pytest.approx([3.0, 0.0])
    assert before.clipped[0].tolist() == pytest.approx([0.5, 0.0])
    assert before.solar[0].tolist() == pytest.approx([6.5, 0.0])
    assert before.discharge[0].tolist() == pytest.approx([0.0, 2.0])
    assert before.imported[0].tolist() == pytest.approx([0.0, 3.0])
    # Behind it 4 arrive: 1 straight, 2.5 into the battery, 0.5 out.
    behind = replace(house, solar=np.array([[4.0, 0.0]])).run()
    assert behind.exported[0].tolist() == pytest.approx([0.5, 0.0])
    # A full battery, 5 kWh of use and 1 of sun: 4 pass the inverter, 1 is bought.
    full = replace(house, limit=4.0, solar=np.array([[1.0, 1.0]]), load=np.full((1, 2), 5.0), start=1.0).run()
    assert full.discharge[0].tolist() == pytest.approx([3.0, 3.0])
    assert full.imported[0].tolist() == pytest.approx([1.0, 1.0])


def test_off_the_grid_a_shared_inverter_leaves_what_it_cannot_carry() -> None:
    house = House(np.zeros((1, 3)), np.array([[5.0, 2.0, 5.0]]), "alone", limit=3.0, out=1.0, start=1.0)
    # 8 kWh: 3 of 5, 2 of 2, 3 of 5.
    assert house.run().unserved[0].tolist() == pytest.approx([2.0, 0.0, 2.0])
    assert house.run().discharge[0].tolist() == pytest.approx([3.0, 2.0, 3.0])
    assert replace(house, limit=None, discharge_kw=9.0).run().unserved[0].tolist() == pytest.approx([0.0, 0.0, 4.0])
    # A generator of 1.5 kW beside it gives half a kilowatt less than it lacks.
    helped = replace(house, mode="following", generator_kw=1.5).run()
    assert helped.generator[0].tolist() == pytest.approx([1.5, 0.0, 1.5])
    assert helped.unserved[0].tolist() == pytest.approx([0.5, 0.0, 0.5])


# --- the generator that fills the gap ---


@settings(max_examples=30)
@given(houses(modes=("following",)))
def test_the_generator_gives_exactly_the_difference(house: House) -> None:
    large = replace(house, generator_kw=50.0).run()
    lack = house.use - (large.solar - large.charge - large.curtailed) - large.discharge
    assert np.allclose(large.generator, lack, rtol=0, atol=ROUNDING)
    assert not large.unserved.any()
    # A smaller one gives what it can of the same difference, and moves nothing else.
    small = house.run()
    assert np.allclose(small.generator, np.minimum(large.generator, house.generator_kw * house.hours), atol=ROUNDING)
    assert np.allclose(small.generator + small.unserved, large.generator, rtol=0, atol=ROUNDING)
    hold_the_same(small, large, ("charge", "discharge", "stored", "curtailed", "clipped"))


def test_the_generator_steps_back_the_moment_the_sun_suffices() -> None:
    """The sun comes up over a steady 2 kWh of use while the battery is empty, and then a cloud passes."""
    sun = np.array([[0.0, 0.5, 1.5, 1.999, 2.0, 2.001, 3.0, 1.2, 0.0]])
    house = House(sun, np.full((1, 9), 2.0), "following", into=1.0, out=1.0, generator_kw=5.0)
    run = house.run()
    assert run.generator[0, :7].tolist() == pytest.approx([2.0, 1.5, 0.5, 0.001, 0.0, 0.0, 0.0])
    assert not run.generator[0, 4:7].any()  # not a trace of it
    # What the sun brought beyond, 1.001, comes out of the battery before the generator starts again.
    assert run.discharge[0, 7:].tolist() == pytest.approx([0.8, 0.201])
    assert run.generator[0, 7:].tolist() == pytest.approx([0.0, 1.799])
    # Without a battery it fills the same gap, cloud and all.
    bare = house.run(battery=False)
    assert bare.generator[0].tolist() == pytest.approx([2.0, 1.5, 0.5, 0.001, 0.0, 0.0, 0.0, 0.8, 2.0])


@settings(max_examples=30)
@given(houses(modes=("charging",)))
def test_a_generator_that_charges_serves_the_house_first(house: House) -> None:
    run = house.run()
    charging = run.charge_bought > ROUNDING
    assert np.allclose(run.unserved[charging], 0.0, atol=ROUNDING)
    assert (run.charge_bought <= run.generator + ROUNDING).all()
    # Beyond its stop level it charges nothing.
    stop = house.levels[1] * np.broadcast_to(np.array(house.capacity)[:, None], run.stored.shape)
    assert (run.stored[charging] <= stop[charging] + ROUNDING).all()


def test_a_generator_that_charges_by_hand() -> None:
    house = House(
        np.array([[0.0, 0.0, 0.0, 4.0, 0.0]]),
        np.full((1, 5), 1.0),
        "charging",
        capacity=(10.0,),
        into=1.0,
        out=1.0,
        start=0.3,
        generator_kw=3.0,
        levels=(0.3, 0.6),
    )
    run = house.run()
    # At its start level: 1 for the house and 2 for the battery, twice up to 6 = 7 at most; then it is off.
    assert run.generator[0].tolist() == pytest.approx([3.0, 2.0, 0.0, 0.0, 0.0])
    assert run.charge_bought[0].tolist() == pytest.approx([2.0, 1.0, 0.0, 0.0, 0.0])
    assert run.charge[0].tolist() == pytest.approx([2.0, 1.0, 0.0, 3.0, 0.0])
    assert run.stored[0].tolist() == pytest.approx([5.0, 6.0, 5.0, 8.0, 7.0])


def test_a_generator_stands_still_while_the_sun_fills_the_battery_to_its_stop_level() -> None:
    """Here 3.6 - 1.62 is not quite 0.9 x (3.6 - 1.62) / 0.9 in binary numbers, and what is left is no energy."""
    sun = np.array([[0.0, 20.0]])
    house = House(sun, np.ones((1, 2)), "charging", (3.6,), reserve=0.2, charge_kw=50.0, into=0.9, levels=(0.3, 1.0))
    run = house.run()
    assert run.generator[0].tolist() == [2.0, 0.0]
    assert run.stored[0].tolist() == pytest.approx([1.62, 3.6])


# --- the battery under orders ---


def test_orders_by_hand() -> None:
    house = House(
        np.array([[0.0, 3.0, 0.0, 0.0]]),
        np.array([[1.0, 1.0, 1.0, 1.0]]),
        "orders",
        capacity=(10.0,),
        charge_kw=4.0,
        into=1.0,
        out=1.0,
        keep=np.array([0.0, 0.0, 0.65, 0.0]),
        target=np.array([0.5, 0.0, 0.0, 0.0]),
    )
    run = house.run()
    # Up to 4 kW from the grid toward 5 kWh; 2 of the sun; at 6 it keeps 6.5 and buys; then it gives.
    assert run.imported[0].tolist() == pytest.approx([5.0, 0.0, 1.0, 0.0])
    assert run.charge_bought[0].tolist() == pytest.approx([4.0, 0.0, 0.0, 0.0])
    assert run.stored[0].tolist() == pytest.approx([4.0, 6.0, 6.0, 5.0])
    # An inverter of 2.5 kW that both share passes no more than that to the battery, either.
    assert replace(house, limit=2.5).run().charge_bought[0].tolist() == pytest.approx([2.5, 0.0, 0.0, 0.0])


@settings(max_examples=25)
@given(houses(modes=("orders",)))
def test_orders_that_ask_for_nothing_are_the_greedy_rule(house: House) -> None:
    nothing = np.zeros(house.solar.shape[-1])
    hold_the_same(replace(house, keep=nothing, target=nothing).run(), replace(house, mode="greedy").run())


@settings(max_examples=25)
@given(houses(modes=("backup only",)))
def test_for_outages_alone_it_fills_up_and_stays_full(house: House) -> None:
    run = house.run()
    assert not run.discharge.any()
    steps = np.diff(np.concatenate([run.start[:, None], run.stored], axis=1), axis=1)
    assert steps.min() >= -ROUNDING
    power = house.charge_kw if house.limit is None else min(house.charge_kw, house.limit)
    gain = house.into * power * house.hours
    ceiling = np.array(house.capacity)[:, None]
    assert np.all((steps >= gain - ROUNDING) | (run.stored >= ceiling - ROUNDING))


# --- steps of any length ---


@settings(max_examples=40)
@given(houses(modes=("greedy", "alone")), st.sampled_from([2, 4]))
def test_even_steps_cut_finer_give_the_same_sums(house: House, parts: int) -> None:
    """Own check, after P-05: with even power within a step, the greedy rule does the same in one step as in its parts.

    Power limits bind in all parts or in none, and where the battery fills or empties, its room is what it takes in
    all. Only *when* within the step moves. So what leaves through a shared inverter is the exception: a battery that
    fills in the first part leaves more to be clipped in the last.
    """
    whole, finer = house.run(), house.cut(parts).run()
    exact = ["load", "idle", "imported", "charge", "discharge", "unserved"]
    exact += [] if house.limit is not None else ["solar", "exported", "curtailed", "clipped"]
    for name in exact:
        sums = getattr(finer, name).reshape(*house.solar.shape, parts).sum(axis=-1)
        assert np.allclose(sums, getattr(whole, name), rtol=0, atol=ROUNDING), name
    assert np.allclose(finer.stored[:, parts - 1 :: parts], whole.stored, rtol=0, atol=ROUNDING)
    clipped = finer.clipped.reshape(*house.solar.shape, parts).sum(axis=-1)
    assert (clipped >= whole.clipped - ROUNDING).all()
    out = (finer.exported + finer.curtailed + finer.clipped).reshape(*house.solar.shape, parts).sum(axis=-1)
    assert np.allclose(out, whole.exported + whole.curtailed + whole.clipped, rtol=0, atol=ROUNDING)


@settings(max_examples=25)
@given(houses(modes=("following",)), st.sampled_from([2, 4]))
def test_a_generator_that_is_large_enough_gives_the_same_in_finer_steps(house: House, parts: int) -> None:
    house = replace(house, generator_kw=50.0)
    sums = house.cut(parts).run().generator.reshape(*house.solar.shape, parts).sum(axis=-1)
    assert np.allclose(sums, house.run().generator, rtol=0, atol=ROUNDING)


# --- no operation beats perfect foresight ---


@settings(max_examples=50)
@given(houses(years=1), st.floats(0.05, 0.6), st.floats(1, 4), st.floats(0, 1))
def test_no_operation_costs_less_than_the_cheapest_year(house: House, cheap: float, ratio: float, pays: float) -> None:
    """Two prices and an export below both. Off the grid, generator and lack are billed as if bought."""
    evening = np.isin(np.arange(house.solar.shape[-1]) % 24, range(16, 22))
    buy = np.where(evening, cheap * ratio, cheap)
    sell = np.full(buy.size, cheap * pays)
    export = house.grid and house.export_allowed
    run = house.run()
    bill = float((buy * (run.imported + run.generator + run.unserved) - sell * export * run.exported).sum())
    least = cheapest_year(
        house.solar[0] * house.hours,
        house.use[0],
        buy,
        sell,
        house.battery,
        grid_charging=True,
        battery_export=True,
        export_allowed=export,
        step_hours=house.hours,
        inverter_limit=house.limit,
    )
    assert bill >= least.cost - 1e-6
    without = house.run(battery=False)
    bare = float(
        (buy * (without.imported + without.generator + without.unserved) - sell * export * without.exported).sum()
    )
    assert bare >= least.cost - 1e-6


# --- cases ---


@settings(max_examples=25)
@given(houses(), houses())
def test_cases_side_by_side_are_the_single_cases(one: House, other: House) -> None:
    """Sun, load and the battery's size in columns; all else as in the first."""
    names = ("solar", "load", "capacity")
    second = replace(one, **{name: getattr(other, name) for name in names})
    both = replace(
        one,
        solar=np.stack([one.solar, second.solar]),
        load=np.stack([one.load, second.load]),
        capacity=(one.capacity, second.capacity),  # type: ignore[arg-type]
    ).run()
    for case, single in enumerate((one.run(), second.run())):
        for field in fields(Hourly):
            many, alone = getattr(both, field.name)[case], getattr(single, field.name)
            assert np.allclose(many, alone, rtol=0, atol=ROUNDING), field.name


def test_a_year_that_repeats_may_be_given_once() -> None:
    sun, load = np.linspace(0, 4, 24)[None], np.linspace(3, 0, 24)[None]
    unit = House(sun, load, capacity=(6.0, 5.0, 4.0)).battery
    once = run_steps(sun, load, Backing(), battery=unit)
    written = run_steps(np.repeat(sun, 3, 0), np.repeat(load, 3, 0), Backing(), battery=unit)
    assert once.imported.shape == (3, 24)
    hold_the_same(once, written)
