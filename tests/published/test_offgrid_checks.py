"""Sizes for a house without a grid: the hour-by-hour balance against the rules it must bear out; rows by id.

Rules: battery = use a day x days / (depth x discharge efficiency); modules = use a day / (sun hours of the worst month
x derate); hours = what may be drawn x discharge efficiency / load. All three are common practice, no source; the
numbers are our own and were recomputed from these rules.
"""

import closed_form
import numpy as np
import pytest
from numpy.typing import NDArray

from finsolar.energy.autonomy import array_for, battery_for, days_of_autonomy, longest_run
from finsolar.energy.balance import Backing, Hourly, run_steps
from finsolar.energy.battery import Battery
from finsolar.energy.clock import wall_clock
from finsolar.energy.dispatch import TRACE_KWH
from finsolar.energy.flows import bin_flows
from finsolar.energy.generator import fuel_litres
from finsolar.energy.sun import array_output, inverter_output
from finsolar.energy.weather import DAYS_IN_MONTH, Weather

Array = NDArray[np.float64]
ALONE = Backing(grid=False)
NO_SUN = np.zeros((1, 8760))
DECEMBER = 31 * 24  # hours, the last of the year


def steady(kw: float) -> Array:
    """A load that never changes, (1, 8760) kWh."""
    return np.full((1, 8760), kw)


def from_the_battery_alone(load: Array, battery: Battery) -> Hourly:
    return run_steps(NO_SUN, load, ALONE, battery=battery)


# --- the battery ---


def test_o01_battery_for_three_days_without_sun() -> None:
    # 6 kWh a day, three days, depth 0.8, efficiency 0.9: 25.0 kWh. Of the row's 520.8 Ah at 48 V the engine knows
    # nothing: it has no voltage.
    capacity = np.arange(2400, 2601)[:, None] / 100.0  # 24 to 26 kWh, one case each
    run = from_the_battery_alone(steady(6.0 / 24.0), Battery(capacity, 0.2, 5.0, 5.0, 1.0, 0.9, 1.0))
    short = run.unserved[:, 0]
    enough = short[:, :72].sum(axis=-1) == 0.0
    assert capacity[enough].min() == pytest.approx(25.0, abs=0.005)
    exact = short[np.flatnonzero(enough)[0]]
    assert exact[72:] == pytest.approx(np.full(8760 - 72, 0.25))  # and not an hour longer


@pytest.mark.parametrize(
    ("kwh", "reserve", "efficiency", "kw", "hours"),
    [
        pytest.param(10.0, 0.10, 0.95, 0.60, 14.25, id="o03"),
        pytest.param(14.0, 0.20, 0.94, 0.85, 12.39, id="o09"),
    ],
)
def test_o03_o09_runtime(kwh: float, reserve: float, efficiency: float, kw: float, hours: float) -> None:
    battery = Battery(np.array([kwh]), reserve, 5.0, 5.0, 1.0, efficiency, 1.0)
    run = from_the_battery_alone(steady(kw), battery)
    served = 1.0 - run.unserved[0] / kw  # share of each hour
    assert served.sum() == pytest.approx(hours, abs=0.01)
    whole = int(hours)
    assert served[:whole] == pytest.approx(np.ones(whole))
    assert served[whole + 1 :] == pytest.approx(np.zeros(8760 - whole - 1))
    assert run.stored[0, -1] == pytest.approx(reserve * kwh)


# --- the modules ---


@pytest.mark.parametrize(
    ("daily", "sun_hours", "derate", "kw"),
    [pytest.param(6.0, 2.4, 0.65, 3.846, id="o02"), pytest.param(4.2, 3.1, 0.60, 2.258, id="o08")],
)
def test_o02_o08_modules_that_just_last_through_the_worst_month(
    daily: float, sun_hours: float, derate: float, kw: float
) -> None:
    # December has the least sun and all its days are alike, as the rule has it. The derate stands for every loss, so
    # the battery, which holds a day's use, has none and heat costs nothing.
    sine = np.maximum(np.sin(np.pi * (np.arange(24) + 0.5 - 6.0) / 12.0), 0.0)
    by_day = np.repeat(np.append(np.full(11, 1.5 * sun_hours), sun_hours), DAYS_IN_MONTH)
    ghi = (1000.0 * by_day[:, None] * sine / sine.sum()).ravel()
    still = np.zeros(8760)
    weather = Weather("alike", 10.0, 0.0, 0.0, 0.0, "Own.", ghi, None, None, still, still)
    sizes = kw * np.array([1.0, 0.98])[:, None, None]
    solar, clipped = inverter_output(sizes * array_output(weather, 0.0, 180.0, 0.0), 2.0 * kw, derate)
    assert not clipped.any()
    battery = Battery(np.array([daily]), 0.0, 5.0, 5.0, 1.0, 1.0, 1.0)
    run = run_steps(solar, steady(daily / 24.0), ALONE, battery=battery)

    right, small = run.unserved[:, 0]
    assert right.sum() == 0.0
    # Each midnight of December finds the battery as full as the last: a watt more or less would show by New Year.
    midnights = run.stored[0, 0, -DECEMBER:].reshape(31, 24)[:, -1]
    assert midnights[-1] == pytest.approx(midnights[0], abs=30 * 0.001 * sun_hours * derate)
    assert run.curtailed[0, 0, -DECEMBER + 24 :].sum() == pytest.approx(0.0, abs=1e-9)
    # Two per cent less, and the house runs short in the worst month and in no other.
    assert small[:-DECEMBER].sum() == 0.0
    assert small[-DECEMBER:].sum() > 0.1 * daily


# --- the generator ---


# Skarstein and Uhlen, Wind Engineering 13, 1989; memory: litres an hour = 0.246 kW + 0.08415 x rated kW.
@pytest.mark.parametrize(
    ("kw", "an_hour", "a_kwh"),
    [
        pytest.param(5.0, 1.65075, 0.3302, id="o04-full"),
        pytest.param(2.5, 1.03575, 0.4143, id="o04-half"),
        pytest.param(1.0, 0.66675, 0.6668, id="o04-idling"),
    ],
)
def test_o04_fuel_of_a_house_on_a_generator(kw: float, an_hour: float, a_kwh: float) -> None:
    hourly = run_steps(NO_SUN, steady(kw), Backing(grid=False, generator_kw=5.0))
    flows = bin_flows(hourly, wall_clock(None, 0.0), np.zeros(8760, dtype=np.int64), 1)
    assert flows.unserved.sum() == 0.0
    litres = float(fuel_litres(flows.generator, flows.generator_hours, 5.0).sum())
    assert litres / 8760 == pytest.approx(an_hour, abs=1e-4)
    assert litres / flows.load.sum() == pytest.approx(a_kwh, abs=1e-4)


# --- the same rules as closed forms, and CF1 as the section on living without a grid counts it ---


def test_o01_battery_in_closed_form() -> None:
    # Own: 6 kWh a day, three days, depth 0.8, efficiency 0.9; the ampere-hours of the row at 48 V.
    kwh = float(battery_for(3.0, 0.8, 0.9, 6.0))
    assert kwh == pytest.approx(25.0, abs=1e-9)
    assert 1000.0 * kwh / 48.0 == pytest.approx(520.8, abs=0.1)
    assert days_of_autonomy(25.0, 0.8, 0.9, 6.0) == pytest.approx(3.0, abs=1e-9)


@pytest.mark.parametrize(
    ("daily", "sun_hours", "derate", "kw"),
    [pytest.param(6.0, 2.4, 0.65, 3.846, id="o02"), pytest.param(4.2, 3.1, 0.60, 2.258, id="o08")],
)
def test_o02_o08_modules_in_closed_form(daily: float, sun_hours: float, derate: float, kw: float) -> None:
    # Own: use a day / (sun hours of the worst month x derate).
    assert array_for(daily, sun_hours * derate) == pytest.approx(kw, abs=0.001)


@pytest.mark.parametrize(
    ("kwh", "reserve", "efficiency", "kw", "hours"),
    [
        pytest.param(10.0, 0.10, 0.95, 0.60, 14.25, id="o03"),
        pytest.param(14.0, 0.20, 0.94, 0.85, 12.3859, id="o09"),
    ],
)
def test_o03_o09_runtime_in_closed_form(kwh: float, reserve: float, efficiency: float, kw: float, hours: float) -> None:
    # Own: kWh that may be drawn x discharge efficiency / load; a day of the load is 24 kW.
    assert 24.0 * days_of_autonomy(kwh, 1.0 - reserve, efficiency, 24.0 * kw) == pytest.approx(hours, abs=1e-4)


def test_o06_hours_without_supply_and_the_most_in_a_row() -> None:
    # Own: CF1 with 9 kW of modules, a battery of 20 kWh and 6 kW that starts full: 458 hours short, 12 in a row.
    each_way = 0.90**0.5
    battery = Battery(np.array([20.0]), 0.10, 6.0, 6.0, each_way, each_way, 1.0)
    run = run_steps(closed_form.pv(9.0)[None], closed_form.load(1.0)[None], ALONE, battery=battery)
    lacking = run.unserved[0] > TRACE_KWH
    assert lacking.sum() == 458
    assert longest_run(lacking) == 12
