"""A house with a system over its years: how its battery ages with age and use, when it is renewed, what it is told."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.balance import Backing, run_steps
from finsolar.energy.clock import wall_clock
from finsolar.energy.house import (
    Run,
    Site,
    battery_when_new,
    offered_by_year,
    orders_of,
    run_as_it_is,
    run_with_system,
    standing_kw,
)
from finsolar.energy.orders import DearHours, Orders
from finsolar.energy.sources import Usage
from finsolar.energy.weather import read_station
from finsolar.scenario.schema import Fade, System

Array = NDArray[np.float64]
STEPS = 96


def system(battery: dict[str, Any] | str, fade: Fade | None = None, **fields: Any) -> System:
    if isinstance(battery, dict):
        battery = {"kwh": 8.0, "kw": 3.0, "charge_efficiency": 0.9, "discharge_efficiency": 0.95} | battery
    plan = System.model_validate(
        {"arrays": [{"kw": 5, "tilt": 30, "azimuth": 180}], "inverter": {"kw": 4, "idle_watts": 20}, "battery": battery}
        | fields
    )
    if fade is None or plan.battery == "none":
        return plan
    return plan.model_copy(update={"battery": plan.battery.model_copy(update={"fade": fade})})


def energies(years: int, seed: int = 1) -> tuple[Array, Array]:
    """A sun that fades and a load that grows, (years, STEPS) kWh, in which a battery is busy."""
    rng = np.random.default_rng(seed)
    day = np.maximum(np.sin(np.pi * (np.arange(STEPS) % 24 - 6) / 12), 0.0)
    year = np.arange(years)[:, None]
    return 6.0 * day * rng.uniform(0.2, 1.0, STEPS) * 0.98**year, rng.uniform(0.2, 1.6, STEPS) * 1.01**year


def run(plan: System, years: int = 6, seed: int = 1, **more: Any) -> Run:
    solar, load = energies(years, seed)
    given = {"backing": Backing(), "orders": None, "replaced_after": (), "below": None, "step_hours": 1.0} | more
    return run_with_system(plan, solar, np.zeros(1), load, **given)


def worn(ten_years: float = 0.2, law: str = "linear", thousand_cycles: float = 0.0) -> Fade:
    """A law of ageing. A year of four days makes few cycles, so each may wear more here than a scenario lets it."""
    return Fade.model_construct(ten_years=ten_years, law=law, thousand_cycles=thousand_cycles)


# --- ageing by use ---


def year_by_year(
    plan: System, years: int, seed: int, named: tuple[int, ...], below: float | None
) -> dict[str, list[Any]]:
    """Walk all years hour by hour, each with what the years before have left of the battery; plain Python."""
    battery = plan.battery
    assert battery != "none"
    power = 1.0 if battery.fade.law == "linear" else 0.5
    solar, load = (rows.tolist() for rows in energies(years, seed))
    idle = (plan.inverter.idle_watts + battery.standby_watts) / 1000
    told: dict[str, list[Any]] = {name: [] for name in ("capacity", "cycles", "renewed", "worn_out", "stored")}
    age, delivered = 0, 0.0
    stored = battery.reserve * battery.kwh

    def left() -> float:
        fade = battery.fade
        return max(1 - fade.ten_years * (age / 10) ** power - fade.thousand_cycles * delivered / battery.kwh / 1000, 0)

    for year in range(years):
        full = battery.kwh * left()
        least = battery.reserve * full
        stored = min(max(stored, least), full)
        out_this_year, levels = 0.0, []
        for sun, use in zip(solar[year], load[year], strict=True):
            surplus = sun - use - idle
            if surplus > 0:
                stored += battery.charge_efficiency * min(
                    surplus, battery.limits[0], (full - stored) / battery.charge_efficiency
                )
            else:
                given_out = min(-surplus, battery.limits[1], (stored - least) * battery.discharge_efficiency)
                stored -= given_out / battery.discharge_efficiency
                out_this_year += given_out
            levels.append(stored)
        age, delivered = age + 1, delivered + out_this_year
        worn_out = below is not None and year + 1 < years and left() < below  # none is bought for a study that ends
        renewed = worn_out or year + 1 in named
        found = (full, out_this_year / battery.kwh, renewed, worn_out, levels)
        for name, value in zip(told, found, strict=True):
            told[name].append(value)
        if renewed:
            age, delivered = 0, 0.0
    return told


@settings(max_examples=30)
@given(
    st.integers(0, 99),
    st.floats(0, 0.6),
    st.sampled_from(["linear", "square root"]),
    st.floats(0, 30),
    st.sampled_from([(), (3,), (2, 5), (1, 2, 3, 4, 5, 6, 7)]),
    st.sampled_from([None, 0.55, 0.85]),
    st.sampled_from([2.0, 8.0]),
)
def test_wear_is_that_of_a_plain_walk_through_the_years(
    seed: int, by_age: float, law: str, by_use: float, named: tuple[int, ...], below: float | None, kwh: float
) -> None:
    plan = system({"kwh": kwh, "standby_watts": 10}, worn(by_age, law, by_use))
    found = run(plan, 8, seed, replaced_after=named, below=below)
    told = year_by_year(plan, 8, seed, named, below)
    assert found.capacity == pytest.approx(np.array(told["capacity"]), abs=1e-9)
    assert found.cycles == pytest.approx(np.array(told["cycles"]), abs=1e-9)
    assert np.allclose(found.hourly.stored, np.array(told["stored"]), rtol=0, atol=1e-9)
    assert found.renewed.tolist() == told["renewed"]
    assert found.worn_out.tolist() == told["worn_out"]


def tables(seed: int) -> Orders:
    rng = np.random.default_rng(seed)
    shares = [0.0, 0.0, 0.5, 1.0]
    return Orders(rng.choice(shares, STEPS), rng.choice(shares, STEPS))


WAYS = {
    "greedy": {},
    "orders": {"orders": tables(3)},
    "backup only": {"orders": Orders(np.ones(STEPS), np.ones(STEPS))},
    "off grid": {"backing": Backing(grid=False)},
    "generator follows": {"backing": Backing(False, generator_kw=1.5)},
    "generator charges": {"backing": Backing(False, generator_kw=1.5, start_at=0.3, stop_at=0.8)},
}


@pytest.mark.parametrize("coupling", ["ac", "dc"])
@pytest.mark.parametrize("way", WAYS)
def test_rounds_settle_where_one_year_after_another_ends(way: str, coupling: str) -> None:
    """A long loop that settles one more year in each round, and takes nothing of the round before on trust."""
    years, named = 9, (4,)
    plan = system({"kwh": 3.0, "kw": 5.0, "coupling": coupling}, worn(0.1, "square root", 12.0))
    found = run(plan, years, replaced_after=named, **WAYS[way])
    solar, load = energies(years)
    backing, orders = WAYS[way].get("backing", Backing()), WAYS[way].get("orders")
    capacity = np.full(years, plan.battery.kwh)
    for year in range(years):
        unit = replace(battery_when_new(plan.battery), capacity=capacity)
        shared = plan.inverter.kw if coupling == "dc" else None
        hourly = run_steps(solar, load, backing, standing_kw(plan), unit, orders, shared)
        given_out = hourly.discharge.sum(axis=1)
        age, made = 0, 0.0
        for later in range(year + 1):
            age, made = (0, 0.0) if later + 1 in named else (age + 1, made + given_out[later] / plan.battery.kwh)
        if year + 1 < years:
            capacity[year + 1] = plan.battery.kwh * max(1 - 0.1 * (age / 10) ** 0.5 - 12.0 * made / 1000, 0)
    for field in ("stored", "imported", "exported", "generator", "unserved", "charge", "discharge"):
        assert np.abs(getattr(found.hourly, field) - getattr(hourly, field)).max() <= 1e-9, field
    assert np.abs(found.capacity - capacity).max() <= 1e-9
    if way != "backup only":
        assert found.capacity[1] < plan.battery.kwh * (1 - 0.1 * 0.1**0.5)  # use has worn it, and not age alone


def test_a_battery_that_never_gives_wears_by_age_alone() -> None:
    found = run(system({}, worn(0.3, "linear", 1.0)), **WAYS["backup only"])
    assert not found.cycles.any()
    assert found.capacity.tolist() == pytest.approx([8.0 * (1 - 0.03 * age) for age in range(6)])


def test_a_yearly_share_is_the_same_straight_line_as_ten_years_of_it() -> None:
    share, block = run(system({"fade": "3%"})), run(system({}, worn(0.3)))
    assert share.capacity == pytest.approx(block.capacity)
    assert share.capacity[5] == pytest.approx(8.0 * 0.85)


# --- renewal ---


@settings(max_examples=25)
@given(
    st.floats(0, 0.5),
    st.floats(0, 15),
    st.sampled_from([None, 0.5, 0.8, 0.95]),
    st.sets(st.integers(1, 10), max_size=4),
)
def test_capacity_falls_until_a_new_battery_comes(
    by_age: float, by_use: float, below: float | None, named: set[int]
) -> None:
    found = run(system({}, worn(by_age, "square root", by_use)), 10, replaced_after=named, below=below)
    for year in range(1, 10):
        if found.renewed[year - 1]:
            assert found.capacity[year] == 8.0
        else:
            assert found.capacity[year] <= found.capacity[year - 1]
    assert found.capacity[0] == 8.0
    assert (found.worn_out <= found.renewed).all()
    assert set(np.flatnonzero(found.renewed & ~found.worn_out) + 1) <= named
    assert all(found.renewed[year - 1] for year in named)
    # Where nothing but the years named renews it, none is worn out; and what is kept holds the share it needs.
    assert below is not None or not found.worn_out.any()
    if below is not None:
        assert (found.capacity[:-1] >= 8.0 * below - 1e-9)[~found.worn_out[:-1]].all()
        assert (found.capacity >= 8.0 * below - 1e-9).all()


def test_a_battery_is_renewed_at_the_end_of_the_year_that_leaves_too_little() -> None:
    # A straight line of 8 % a year: 92, 84, 76 % at the ends of years 1 to 3.
    found = run(system({}, worn(0.8)), 8, below=0.8)
    assert (np.flatnonzero(found.worn_out) + 1).tolist() == [3, 6]
    assert found.capacity.tolist() == pytest.approx([8.0, 7.36, 6.72] * 2 + [8.0, 7.36])
    # To end a year exactly at the share keeps it: 80 % after four years of 5 %.
    kept = run(system({}, worn(0.5)), 6, below=0.8)
    assert (np.flatnonzero(kept.worn_out) + 1).tolist() == [5]


def test_a_battery_renewed_in_a_named_year_counts_its_age_from_there() -> None:
    # Worn out after three years of 8 %, and bought in year 2 all the same: due again in 5, and in 8.
    found = run(system({}, worn(0.8)), 9, replaced_after=[2], below=0.8)
    assert (np.flatnonzero(found.renewed) + 1).tolist() == [2, 5, 8]
    assert (np.flatnonzero(found.worn_out) + 1).tolist() == [5, 8]


def test_a_battery_worn_out_at_the_very_end_is_not_renewed() -> None:
    assert (np.flatnonzero(run(system({}, worn(0.8)), 6, below=0.8).worn_out) + 1).tolist() == [3]


def test_a_year_beyond_the_study_changes_nothing() -> None:
    plain, late = run(system({}, worn(0.3))), run(system({}, worn(0.3)), replaced_after=[7, 20])
    assert np.array_equal(plain.capacity, late.capacity) and not late.renewed.any()


def test_cycles_of_the_first_battery_wear_nothing_of_the_second() -> None:
    plan = system({"kwh": 2.0}, worn(0.0, "linear", 1.0))
    found = run(plan, 6, replaced_after=[3])
    assert found.cycles == pytest.approx(found.hourly.discharge.sum(axis=1) / 2.0)
    made = np.concatenate([[0.0], np.cumsum(found.cycles[:2]), [0.0], np.cumsum(found.cycles[3:5])])
    assert found.capacity == pytest.approx(2.0 * (1 - made / 1000), abs=1e-12)
    assert made.max() > 1.0


def test_a_house_without_a_battery_has_none_to_age() -> None:
    solar, load = energies(3)
    found = run(system("none"), 3)
    assert found.capacity.tolist() == found.cycles.tolist() == [0.0] * 3
    assert not found.renewed.any() and not found.worn_out.any()
    assert not found.hourly.charge.any() and not found.hourly.stored.any()
    expected = run_steps(solar, load, Backing(), 0.02)
    assert np.array_equal(found.hourly.imported, expected.imported)


def test_the_house_as_it_is_buys_what_it_uses() -> None:
    load = energies(3)[1]
    assert np.array_equal(run_as_it_is(load, Backing(export_allowed=False), 1.0).imported, load)
    dark = run_as_it_is(load, Backing(grid=False, generator_kw=1.0), 0.5)
    assert np.allclose(dark.generator, np.minimum(load, 0.5))
    assert np.allclose(dark.generator + dark.unserved, load)


def test_standing_draw_is_that_of_inverter_and_battery() -> None:
    plan = system({"standby_watts": 15})
    assert standing_kw(plan) == pytest.approx(0.035)
    assert standing_kw(system("none")) == pytest.approx(0.02)
    assert run(plan, 2, step_hours=0.5).hourly.idle == pytest.approx(np.full((2, STEPS), 0.0175))


def test_what_the_inverter_cut_off_is_told() -> None:
    solar, load = energies(2)
    cut = np.full(STEPS, 0.25)
    found = run_with_system(system("none"), solar, cut, load, Backing(), None, (), None, 1.0)
    assert np.array_equal(found.hourly.clipped, np.full((2, STEPS), 0.25))


@pytest.mark.parametrize("law", ["linear", "square root"])
def test_cases_age_each_by_its_own_use(law: str) -> None:
    plan = system({"kwh": 3.0}, worn(0.1, law, 8.0))
    solar, load = energies(7)
    bright = np.array([0.3, 1.0, 1.3])[:, None, None]
    many = run_with_system(plan, solar * bright, np.zeros(1), load, Backing(), None, (), 0.85, 1.0)
    assert many.capacity.shape == many.renewed.shape == (3, 7)
    assert np.unique(many.capacity[:, 1]).size == 3
    assert len({tuple(case) for case in many.renewed.tolist()}) > 1
    for case, sun in enumerate(bright[:, 0, 0]):
        alone = run_with_system(plan, solar * sun, np.zeros(1), load, Backing(), None, (), 0.85, 1.0)
        for name in ("capacity", "cycles", "renewed", "worn_out"):
            assert np.allclose(getattr(many, name)[case], getattr(alone, name), rtol=0, atol=1e-9), name
        assert np.allclose(many.hourly.imported[case], alone.hourly.imported, rtol=0, atol=1e-9)


# --- what the battery is told ---


@lru_cache
def site(per_hour: int = 1) -> Site:
    """A house under the sun of Greensboro that uses most in the evening."""
    clock = wall_clock("America/New_York", -5.0, per_hour)
    base = np.where((clock.hour >= 17) & (clock.hour < 22), 2.0, 0.6) / per_hour
    return Site(read_station("greensboro"), clock, Usage(base, (), None), np.ones(1))


def hours(where: Site) -> DearHours:
    hour = where.clock.hour
    return DearHours(dear=(hour >= 17) & (hour < 21), cheap=hour < 5)


def test_only_two_operations_tell_the_battery_anything() -> None:
    where = site()
    assert orders_of(system({}), where, None, None) is None
    assert orders_of(system({}, operation="off grid"), where, None, None) is None
    full = orders_of(system({}, operation="backup only"), where, None, None)
    assert full is not None and full.keep.min() == full.target.min() == 1.0
    assert orders_of(system({}, operation="time shift"), where, None, hours(where)) is not None


@pytest.mark.parametrize("reserve", [0.0, 0.2, 0.37])
def test_shares_kept_for_the_dear_hours(reserve: float) -> None:
    """Above the reserve, and nothing where nothing is needed; never more than all."""
    where = site()
    when = hours(where)
    orders = orders_of(system({"kwh": 9.7, "reserve": reserve}, operation="time shift"), where, None, when)
    assert orders is not None
    assert not orders.keep[when.dear].any() and not orders.target[~when.cheap].any()
    told = orders.keep[~when.dear]
    assert np.all((told == 0.0) | (told > reserve))
    assert 0.7 < told.max() <= 1.0  # in winter the evening takes most of what it holds
    assert np.array_equal(orders.target[when.cheap], orders.keep[when.cheap])
    # What the evening takes beyond the afternoon's sun: less in summer than in winter.
    noon = where.clock.hour == 12
    july, january = (orders.keep[noon & (where.clock.month == month)].mean() for month in (6, 0))
    assert july < january


@pytest.mark.parametrize(("kwh", "reserve"), [(3.0, 0.2), (12.0, 0.2), (9.6, 0.1), (7.0, 0.35)])
def test_no_order_asks_for_more_than_all(kwh: float, reserve: float) -> None:
    """Sizes of which 0.2 + 12 (1 - 0.2) / 12 is a trace above 1 in binary numbers."""
    where = site()
    plan = system({"kwh": kwh, "reserve": reserve}, operation="time shift")
    dear = hours(where).dear
    orders = orders_of(plan, where, None, DearHours(dear, np.zeros_like(dear)))
    assert orders is not None
    assert orders.keep.max() == pytest.approx(1.0) and orders.keep.max() <= 1.0
    offered, clipped = offered_by_year(plan, where, 1, None)
    found = run_with_system(plan, offered, clipped, where.usage.base[None], Backing(), orders, (), None, 1.0)
    assert found.hourly.stored.max() <= kwh and found.hourly.charge.min() >= 0.0


def test_levels_of_the_household_take_the_place_of_the_need() -> None:
    where = site()
    when = hours(where)
    # Which periods are dear is settled elsewhere; here only the two levels count.
    set_by_hand = {"cheap": ["night"], "keep": "45%", "charge_to": "70%"}
    orders = orders_of(system({}, operation="time shift", time_shift=set_by_hand), where, None, when)
    assert orders is not None
    assert np.array_equal(orders.keep, np.where(when.dear, 0.0, 0.45))
    assert np.array_equal(orders.target, np.where(when.cheap, 0.70, 0.0))


def test_orders_are_set_once_whatever_the_years_bring() -> None:
    """Neither another brightness nor a load to come from year 2 moves them; one from year 1 does."""
    where = site()
    plan, when = system({}, operation="time shift"), hours(where)
    base = orders_of(plan, where, None, when)
    assert base is not None
    dull = replace(where, brightness=np.array([[0.7], [1.2]]))
    car = np.full(8760, 0.5)
    for other in (dull, replace(where, usage=Usage(where.usage.base, ((2, car),), None))):
        same = orders_of(plan, other, None, when)
        assert same is not None and np.array_equal(same.keep, base.keep)
    at_once = orders_of(plan, replace(where, usage=Usage(where.usage.base, ((1, car),), None)), None, when)
    assert at_once is not None and at_once.keep.sum() > base.keep.sum()


@pytest.mark.parametrize("per_hour", [1, 2])
def test_orders_count_the_standing_draw_as_use(per_hour: int) -> None:
    where = site(per_hour)
    inverter = {"kw": 4.0, "idle_watts": 0.0}
    drawing = system({"standby_watts": 300}, operation="time shift", inverter=inverter | {"idle_watts": 200.0})
    used = replace(where, usage=Usage(where.usage.base + 0.5 / per_hour, (), None))
    told = orders_of(drawing, where, None, hours(where))
    same = orders_of(system({}, operation="time shift", inverter=inverter), used, None, hours(where))
    none = orders_of(system({}, operation="time shift", inverter=inverter), where, None, hours(where))
    assert told is not None and same is not None and none is not None
    assert np.allclose(told.keep, same.keep) and not np.allclose(told.keep, none.keep)


def test_orders_of_quarters_are_those_of_their_hours() -> None:
    plan = system({}, operation="time shift")
    hourly = orders_of(plan, site(), None, hours(site()))
    quarters = orders_of(plan, site(4), None, hours(site(4)))
    assert hourly is not None and quarters is not None
    assert quarters.keep == pytest.approx(np.repeat(hourly.keep, 4))


def test_a_time_shift_buys_less_when_it_is_dear() -> None:
    where = site()
    when = hours(where)
    plan = system({"kwh": 10.0}, operation="time shift")
    offered, clipped = offered_by_year(plan, where, 1, None)

    def dear_kwh(orders: Orders | None) -> float:
        found = run_with_system(plan, offered, clipped, where.usage.base[None], Backing(), orders, (), None, 1.0)
        return float(found.hourly.imported[0, when.dear].sum())

    shift = orders_of(plan, where, None, when)
    assert dear_kwh(shift) < 0.9 * dear_kwh(None)
