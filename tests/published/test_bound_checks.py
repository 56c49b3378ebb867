"""The cheapest year against values known from outside or recomputed apart; each carries its row id.

Beside each check stand its source and how it is known: `own` (our exercise, formula stated, recomputed by
separate code).
"""

from functools import lru_cache

import closed_form as cf1
import numpy as np
import pytest
from numpy.typing import NDArray

from finsolar.energy.battery import Battery, split_evenly, store
from finsolar.energy.bound import Bound, cheapest_year

Array = NDArray[np.float64]
FREE = {"grid_charging": True, "battery_export": True}
TOY_BATTERY = Battery(np.array([2.0]), 0.0, 2.0, 2.0, 0.9, 0.9)
BATTERY = Battery(np.array([10.0]), 0.1, 5.0, 5.0, split_evenly(0.9), split_evenly(0.9))


def toy(grid_charging: bool) -> Bound:
    """Four hours in a circle; dear ones follow cheap ones."""
    return cheapest_year(
        np.array([0.0, 4, 0, 0]),
        np.ones(4),
        np.array([0.1, 0.1, 0.5, 0.5]),
        np.full(4, 0.05),
        TOY_BATTERY,
        grid_charging=grid_charging,
        battery_export=grid_charging,
        cyclic=True,
    )


@lru_cache
def year(free: bool, cyclic: bool) -> Bound:
    """The closed-form year with 6 kW of modules and the battery of B-13."""
    use, sell = cf1.load(1.0), np.full(8760, cf1.EXPORT_PRICE)
    return cheapest_year(
        cf1.pv(6.0), use, cf1.prices(), sell, BATTERY, cyclic=cyclic, grid_charging=free, battery_export=free
    )


def rule_bill(only_at_peak: bool = False, price: Array | None = None) -> tuple[float, float, float]:
    """Money, import and export of the greedy rule in the closed-form year, or if it discharges from 16 to 21 only."""
    net = cf1.pv(6.0) - cf1.load(1.0)
    hour = np.arange(8760) % 24
    wanted = np.where(only_at_peak & (net < 0) & ((hour < 16) | (hour >= 21)), 0.0, net)
    run = store(wanted[None], 1.0, 10.0, 5.0, 5.0, split_evenly(0.9), split_evenly(0.9), 1.0)
    taken = -net + run.charge[0] - run.discharge[0]
    imported, exported = np.maximum(taken, 0.0), np.maximum(-taken, 0.0)
    prices = cf1.prices() if price is None else price
    return float(prices @ imported - cf1.EXPORT_PRICE * exported.sum()), float(imported.sum()), float(exported.sum())


SOLAR_ONLY = 1215.8111  # B-14; own, recomputed


def test_p01_toy_that_may_charge_from_the_grid() -> None:
    # Own, by hand: 0.12222 - 0.05 + 0.10. Two hours at 0.5 need 1.8 kWh of the battery's at most, so 2 kWh stored:
    # 2.2222 charged, 2 of them from the sun and 0.2222 in the first hour; import 1.2222 and 0.2, export 1.
    best = toy(grid_charging=True)
    assert best.cost == pytest.approx(0.1722222, abs=1e-6)
    assert best.imported[:2] == pytest.approx(np.array([1.2222222, 0.0]), abs=1e-6)
    assert best.imported[2:].sum() == pytest.approx(0.2, abs=1e-6)
    assert best.exported == pytest.approx(np.array([0.0, 1.0, 0.0, 0.0]), abs=1e-6)
    assert best.charge == pytest.approx(np.array([0.2222222, 2.0, 0.0, 0.0]), abs=1e-6)


def test_p02_toy_that_charges_from_the_sun_alone() -> None:
    # Own, by hand: 0.10 - 0.05 + 0.19. 2 kWh of sun make 1.62 kWh for the two hours at 0.5.
    best = toy(grid_charging=False)
    assert best.cost == pytest.approx(0.24, abs=1e-6)
    assert best.imported[2:].sum() == pytest.approx(0.38, abs=1e-6)


def test_b14_discharge_in_the_peak_window_only() -> None:
    # Own exercise on the closed-form year, recomputed.
    assert rule_bill(only_at_peak=True) == pytest.approx((494.6257, 3130.4143, 3388.2744), abs=1e-3)


def test_p03_bounds_of_the_closed_form_year() -> None:
    # Own exercise, recomputed by a linear programme written apart from this one.
    free, restricted = year(free=True, cyclic=True).cost, year(free=False, cyclic=True).cost
    assert free == pytest.approx(327.4881, abs=1e-3)
    assert restricted == pytest.approx(369.2916, abs=1e-3)
    greedy, window = (SOLAR_ONLY - rule_bill(at_peak)[0] for at_peak in (False, True))
    assert greedy / (SOLAR_ONLY - free) == pytest.approx(0.9404, abs=1e-4)
    assert greedy / (SOLAR_ONLY - restricted) == pytest.approx(0.9868, abs=1e-4)
    assert window / (SOLAR_ONLY - free) == pytest.approx(0.8119, abs=1e-4)


def test_p03_from_the_reserve_and_once_around() -> None:
    # Own: a battery that must begin at its reserve misses what the first morning could have used; that is all.
    for free, missed in ((True, 0.0), (False, 0.1303)):
        assert year(free, cyclic=False).cost - year(free, cyclic=True).cost == pytest.approx(missed, abs=1e-4)


def test_p04_p09_order() -> None:
    # By definition: free <= restricted <= greedy <= solar only, whichever way the battery begins.
    for cyclic in (False, True):
        order = [year(True, cyclic).cost, year(False, cyclic).cost, rule_bill()[0], rule_bill(True)[0], SOLAR_ONLY]
        assert (np.diff(order) > 1.0).all()


@pytest.mark.parametrize("how", [{}, FREE], ids=["restricted", "free"])
def test_p05_quarters_of_an_hour(how: dict[str, bool]) -> None:
    # Own, by linearity: four equal quarters of each hour, a quarter of the energy each. Here over four weeks of June.
    hours = slice(151 * 24, 179 * 24)
    given = [cf1.pv(6.0)[hours], cf1.load(1.0)[hours], cf1.prices()[hours], np.full(28 * 24, cf1.EXPORT_PRICE)]
    hourly = cheapest_year(*given, BATTERY, cyclic=True, **how)
    energy, price = ([np.repeat(series, 4) for series in pair] for pair in (given[:2], given[2:]))
    finer = cheapest_year(energy[0] / 4, energy[1] / 4, *price, BATTERY, step_hours=0.25, cyclic=True, **how)
    assert finer.cost == pytest.approx(hourly.cost, abs=1e-4)


def test_p06_flat_price_leaves_nothing_to_foresee() -> None:
    # Own: on a flat price the greedy rule is the best there is. P-06 says so of a real weather year and states the
    # money; this is the same statement about the closed-form year, at 0.16.
    flat = np.full(8760, 0.16)
    least = cheapest_year(
        cf1.pv(6.0),
        cf1.load(1.0),
        flat,
        np.full(8760, cf1.EXPORT_PRICE),
        BATTERY,
        grid_charging=True,
        battery_export=True,
    )
    assert least.cost == pytest.approx(rule_bill(price=flat)[0], abs=1e-6)


@pytest.mark.parametrize("free", [False, True])
@pytest.mark.parametrize("cyclic", [False, True])
def test_p07_no_flow_both_ways_at_once(free: bool, cyclic: bool) -> None:
    # Own: losses and a lower export price make it a waste. The programme is not told so, the optimum shows it.
    best = year(free, cyclic)
    assert np.minimum(best.charge, best.discharge).max() <= 1e-6
    assert np.minimum(best.imported, best.exported).max() <= 1e-6
