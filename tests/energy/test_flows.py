"""Sums of the steps by month and price period."""

import closed_form
import numpy as np
import pytest
from house_runs import run_hours
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.balance import Backing, run_steps
from finsolar.energy.battery import Battery
from finsolar.energy.bins import bins, growth, sums
from finsolar.energy.clock import wall_clock
from finsolar.energy.flows import bin_flows, load_from_sun, useful_kwh

Array = NDArray[np.float64]
CLOCK = wall_clock("America/New_York", -5.0)
PERIOD = closed_form.periods()
PERIODS = len(closed_form.PERIODS)


def house(kw: float = 6.0, years: int = 1) -> tuple[Array, Array]:
    """Return solar and load, (years, 8760), the one fading and the other growing."""
    year = np.arange(years)[:, None]
    return closed_form.pv(kw) * 0.99**year, closed_form.load(1.0) * 1.02**year


def battery(*capacity: float, reserve: float = 0.2, start: float | None = None) -> Battery:
    return Battery(np.array(capacity), reserve, 3.0, 4.0, 0.93, 0.96, start)


supplies = st.fixed_dictionaries(
    {
        "grid": st.booleans(),
        "export_allowed": st.booleans(),
        "generator_kw": st.sampled_from([None, 0.5, 3.0]),
        "idle": st.sampled_from([0.0, 0.05]),
    }
)


def test_order_of_the_sources() -> None:
    solar, load = np.zeros((1, 8760)), np.zeros((1, 8760))
    load[0, :4] = 6.0
    unit = battery(10.0, start=1.0)
    home = run_hours(solar, load, battery=unit, grid=False, generator_kw=1.5)
    # 4 kW out of the battery, which holds (10 - 2) x 0.96 = 7.68; 1.5 from the generator; the rest lacks.
    assert home.discharge[0, :3] == pytest.approx([4.0, 3.68, 0.0])
    assert home.generator[0, :3] == pytest.approx([1.5, 1.5, 1.5])
    assert home.unserved[0, :3] == pytest.approx([0.5, 0.82, 4.5])
    grid = run_hours(solar, load, battery=unit, generator_kw=1.5)
    assert grid.imported[0, :3] == pytest.approx([2.0, 2.32, 6.0])
    assert not grid.generator.any()


def test_surplus_without_a_taker_is_curtailed() -> None:
    solar, load = house()
    sold, kept = run_hours(solar, load), run_hours(solar, load, export_allowed=False)
    assert np.array_equal(sold.exported, kept.curtailed)
    assert not kept.exported.any() and not sold.curtailed.any()


def test_idle_draw_costs_what_it_draws() -> None:
    load = house()[1]
    run = run_hours(np.zeros((1, 8760)), load, idle=0.05)
    assert run.imported.sum() == pytest.approx(load.sum() + 0.05 * 8760)


def test_sums_are_the_hours_by_month_and_period() -> None:
    solar, load = house(years=2)
    hourly = run_hours(solar, load, idle=0.03, battery=battery(10.0, 8.0), clipped=0.01)
    found = bin_flows(hourly, CLOCK, PERIOD, PERIODS)
    for month in (0, 2, 10):
        here = CLOCK.month == month
        for period in range(PERIODS):
            expected = hourly.imported[:, here & (period == PERIOD)].sum(axis=1)
            assert found.imported[:, month, period] == pytest.approx(expected)
        for name in ("load", "solar", "charge", "discharge", "idle", "clipped"):
            assert getattr(found, name)[:, month] == pytest.approx(getattr(hourly, name)[:, here].sum(axis=1))
    lost = hourly.charge * (1 - 0.93) + hourly.discharge * (1 / 0.96 - 1)
    assert found.battery_loss.sum(axis=1) == pytest.approx(lost.sum(axis=1))
    assert found.battery_loss[:, 5] == pytest.approx(lost[:, CLOCK.month == 5].sum(axis=1))
    assert found.self_used == pytest.approx(found.solar - found.exported.sum(axis=-1) - found.curtailed)


def test_generator_hours_are_counted() -> None:
    solar, load = house(2.0)
    hourly = run_hours(solar, load, battery=battery(5.0), grid=False, generator_kw=4.0)
    found = bin_flows(hourly, CLOCK, PERIOD, PERIODS)
    ran = np.bincount(CLOCK.month, weights=hourly.generator[0] > 0, minlength=12)
    assert found.generator_hours[0].tolist() == ran.tolist()
    assert 0 < ran.sum() < 8760


def test_sums_of_quarters_are_the_quarters_by_month_and_period() -> None:
    clock = wall_clock("America/New_York", -5.0, 4)
    period = np.repeat(PERIOD, 4)
    rng = np.random.default_rng(2)
    solar, load = (clock.steps(each) * rng.uniform(0.5, 1.5, 35040) for each in house(3.0))
    unit = battery(5.0)
    hourly = run_steps(
        solar, load, Backing(False, generator_kw=2.0, start_at=0.3, stop_at=0.7), battery=unit, step_hours=0.25
    )
    found = bin_flows(hourly, clock, period, PERIODS)
    for month in range(12):
        here = clock.month == month
        for name in ("load", "solar", "charge", "charge_bought", "discharge", "generator", "unserved", "curtailed"):
            assert getattr(found, name)[0, month] == pytest.approx(getattr(hourly, name)[0, here].sum()), name
        # Four quarters in which it runs are an hour.
        assert found.generator_hours[0, month] == pytest.approx((hourly.generator[0, here] > 0).sum() / 4)
    assert found.charge_bought.sum() > 0 and found.generator_hours.sum() > 0
    beside = run_steps(solar, load, Backing(), battery=unit, step_hours=0.25)
    bought = bin_flows(beside, clock, period, PERIODS).imported
    for chosen in range(PERIODS):
        here = (clock.month == 6) & (period == chosen)
        assert bought[0, 6, chosen] == pytest.approx(beside.imported[0, here].sum())


def test_a_battery_alone_may_carry_the_cases() -> None:
    solar, load = house()
    unit = Battery(np.array([[0.0], [5.0], [10.0]]), 0.0, 5.0, 5.0, 0.95, 0.95)
    found = bin_flows(run_hours(solar, load, battery=unit), CLOCK, PERIOD, PERIODS)
    assert found.imported.shape == (3, 1, 12, PERIODS)
    assert found.load.shape == (3, 1, 12)
    total = found.imported.sum(axis=(1, 2, 3))
    assert total[0] > total[1] > total[2]
    without = bin_flows(run_hours(solar, load), CLOCK, PERIOD, PERIODS)
    assert total[0] == pytest.approx(without.imported.sum())


def by_hand(supply: float, *, years: int = 1) -> dict[str, Array]:
    """Return a first hour of 6 kWh of sun and a second of 3 kWh of load, the rest dark and idle."""
    solar, load = np.zeros((years, 8760)), np.zeros((years, 8760))
    solar[:, 12], load[:, 13] = 6.0, supply
    return {"solar": solar, "load": load}


def test_useful_energy_worked_by_hand() -> None:
    # 3 of 6 kWh charge an empty 2.79 kWh; out come 2.79 x 0.96 = 2.6784 for 3 kWh of load; 3 are sold or shed.
    unit = battery(2.79, reserve=0.0)
    sold, shed = (
        bin_flows(run_hours(**by_hand(3.0), battery=unit, export_allowed=sale), CLOCK, PERIOD, PERIODS)
        for sale in (True, False)
    )
    assert useful_kwh(sold) == pytest.approx(2.6784 + 3.0)
    assert useful_kwh(shed) == pytest.approx(2.6784)
    for flows in (sold, shed):
        assert load_from_sun(flows)[0] == pytest.approx([2.6784] + [0.0] * 11)


def test_useful_energy_is_never_less_than_nothing() -> None:
    flows = bin_flows(run_hours(**by_hand(3.0), idle=0.05), CLOCK, PERIOD, PERIODS)
    assert flows.idle.sum() == pytest.approx(438.0)
    assert useful_kwh(flows).tolist() == [0.0]
    assert load_from_sun(flows).tolist() == [[0.0] * 12]


@settings(max_examples=25, deadline=None)
@given(supplies, st.floats(0, 20), st.floats(0, 1), st.floats(0, 12))
def test_useful_energy_and_load_from_the_sun_agree(
    supply: dict[str, float], capacity: float, reserve: float, kw: float
) -> None:
    solar, load = house(kw, years=2)
    hourly = run_hours(solar, load, battery=battery(capacity, 0.9 * capacity, reserve=reserve), **supply)
    flows = bin_flows(hourly, CLOCK, PERIOD, PERIODS)
    useful, own = useful_kwh(flows), load_from_sun(flows)
    assert np.all(useful <= (flows.solar - flows.curtailed).sum(axis=-1) + 1e-9)
    assert np.all((own >= 0) & (own <= flows.load + 1e-9))
    others = flows.imported.sum(axis=-1) + flows.generator + flows.unserved
    assert (own + others)[own > 0] == pytest.approx(flows.load[own > 0])
    # What served the load, what was sold, and what the battery keeps for the next year.
    kept = hourly.stored[:, -1] - hourly.start
    told = (flows.load - others).sum(axis=-1) + flows.exported.sum(axis=(-1, -2)) + kept
    assert useful == pytest.approx(np.maximum(told, 0.0), abs=1e-7)


def test_a_house_without_a_source_has_no_load_from_the_sun() -> None:
    solar, load = house()
    flows = bin_flows(run_hours(0 * solar, load, grid=False), CLOCK, PERIOD, PERIODS)
    assert flows.unserved == pytest.approx(flows.load)
    assert load_from_sun(flows) == pytest.approx(np.zeros((1, 12)), abs=1e-9)
    assert useful_kwh(flows).tolist() == [0.0]


@pytest.mark.parametrize("wrong", [PERIOD[:-1], PERIOD - 1, PERIOD + 1], ids=["short", "negative", "too high"])
def test_periods_out_of_range_are_refused(wrong: NDArray[np.int64]) -> None:
    hourly = run_hours(*house())
    with pytest.raises(ValueError, match="price periods"):
        bin_flows(hourly, CLOCK, wrong, PERIODS)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.integers(0, 5), min_size=1, max_size=60), st.integers(0, 2**32 - 1))
def test_bins_add_up_by_key(key: list[int], seed: int) -> None:
    hours = np.random.default_rng(seed).random((2, len(key)))
    by = bins(np.array(key), 7)
    expected = [[hours[row, np.array(key) == k].sum() for k in range(7)] for row in range(2)]
    assert np.allclose(sums(hours, by), expected)
    shared = np.broadcast_to(hours[0], (4, len(key)))
    assert np.allclose(sums(shared, by), expected[0])
    steps = np.diff(hours, prepend=np.full((2, 1), 0.5), axis=-1)
    assert np.allclose(growth(hours, np.full(2, 0.5), by), sums(steps, by))
