"""Battery losses, ageing and warranties against values recomputed apart; each carries its row id.

Beside each check stand its source and how it is known: `own` is our exercise, with the formula stated and
recomputed by separate code.
"""

import closed_form
import numpy as np
import pytest
from house_runs import run_hours

from finsolar.energy.battery import Battery, split_evenly
from finsolar.energy.fade import battery_factor, full_cycles, warranty_end
from finsolar.money.metrics import levelised_cost

# --- losses ---


def test_b03_even_split_in_use() -> None:
    # Own: each way sqrt(0.90) = 0.9486833; 4 kWh of sun leave 4 x 0.948683 in the cells and 3.6 for the house.
    each_way = split_evenly(0.90)
    battery = Battery(np.array([10.0]), 0.0, 9.0, 9.0, each_way, each_way)
    run = run_hours(np.array([[4.0, 0.0]]), np.array([[0.0, 9.0]]), battery=battery)
    assert run.stored[0, 0] / 4.0 == pytest.approx(0.948683, abs=1e-6)
    assert run.discharge.sum() / run.charge.sum() == pytest.approx(0.90, abs=1e-12)


def test_b04_chained_efficiency_in_use() -> None:
    # Own: 0.96 in, 0.94 in the cell, 0.96 out; product 0.866304. The cell's loss is booked on the way in.
    battery = Battery(np.array([20.0]), 0.0, 9.0, 9.0, 0.96 * 0.94, 0.96)
    run = run_hours(np.array([[5.0, 5.0, 0.0, 0.0]]), np.array([[1.0, 0.0, 8.0, 8.0]]), battery=battery)
    assert run.charge.sum() == pytest.approx(9.0)
    assert run.discharge.sum() / run.charge.sum() == pytest.approx(0.8663, abs=1e-4)
    assert run.discharge.sum() / run.charge.sum() == pytest.approx(0.866304, abs=1e-9)


# --- ageing ---


def test_b05_square_root_fade_to_80() -> None:
    # Own: 1 - 0.2 sqrt(t / 10), recomputed; the law itself from memory.
    left = battery_factor([1.0, 2.5, 5.0, 10.0, 15.0], 0.2, "square root")
    assert left == pytest.approx([0.93675, 0.90000, 0.85858, 0.80000, 0.75505], abs=1e-5)


def test_b05_the_line_to_the_same_end_over_states_the_first_year() -> None:
    # Own: 1 - 0.02 t against the same square root: 98.0 and 93.7 % after one year.
    assert battery_factor(1.0, 0.2, "linear") == pytest.approx(0.980, abs=1e-9)
    assert battery_factor(1.0, 0.2, "square root") == pytest.approx(0.937, abs=5e-4)


def test_b05_ten_months_and_ten_years() -> None:
    # Seen in the source of the fade facts: 2.5 % lost in ten months means 8.7 % in ten years by the square root.
    assert 1.0 - battery_factor(10 / 12, 0.087, "square root") == pytest.approx(0.025, abs=2e-4)


def test_b06_calendar_and_cycles() -> None:
    # Own: 0.12 sqrt(t / 10) + 0.08 x cycles / 3000 lost, at 250 full cycles a year, recomputed.
    years = np.array([5.0, 10.0, 15.0])
    cycles = full_cycles(250.0 * 10.0 * years, 10.0)
    left = battery_factor(years, 0.12, "square root", cycles, 0.08 / 3)
    assert left == pytest.approx([0.88181, 0.81333, 0.75303], abs=1e-5)


def test_b09_square_root_fade_to_70() -> None:
    # Own: 1 - 0.3 sqrt(t / 10), recomputed.
    left = battery_factor([1.0, 4.0, 10.0, 12.0], 0.3, "square root")
    assert left == pytest.approx([0.90513, 0.81026, 0.70000, 0.67137], abs=1e-5)


def test_b13_full_cycles_of_the_closed_form_year() -> None:
    # Own: 2826.0512 kWh out of 10 kWh, 282.605 full cycles; the hours are walked here, not taken from the row.
    each_way = split_evenly(0.90)
    battery = Battery(np.array([10.0]), 0.1, 5.0, 5.0, each_way, each_way)
    run = run_hours(closed_form.pv(6.0)[None], closed_form.load(1.0)[None], battery=battery)
    assert full_cycles(run.discharge.sum(axis=-1), battery.capacity) == pytest.approx([282.605], abs=1e-3)


# --- warranties ---


def test_b07_throughput_of_30_mwh() -> None:
    # Own: 30 MWh at 7.5 kWh a day, 30000 / (7.5 x 365) = 10.959 years; a limit of ten years comes first.
    use = np.full(25, 7.5 * 365)
    end = warranty_end(use, 15.0, 30.0)
    assert end.years == pytest.approx(10.96, abs=0.01) and end.by_throughput
    end = warranty_end(use, 10.0, 30.0)
    assert end.years == 10.0 and not end.by_throughput


def test_b08_wear_cost() -> None:
    # Own: 8000 / 30000 = 0.26667 a kWh delivered, undiscounted. The use falls over the years, and what is delivered
    # until the throughput ends the warranty has to carry the price.
    use = 3400.0 * battery_factor(np.arange(20), 0.2, "linear")
    end = warranty_end(use, None, 30.0)
    within = use * np.clip(end.years - np.arange(20), 0.0, 1.0)
    costs = np.concatenate([[8000.0], np.zeros(20)])
    assert levelised_cost(costs, np.concatenate([[0.0], within]), 0.0) == pytest.approx(0.26667, abs=1e-5)
    assert 9.0 < end.years < 10.0  # not a whole year, so that the part of the last one matters


def test_b10_throughput_by_capacity() -> None:
    # Own: 12 kWh at 3.2 MWh a kWh and 9.6 kWh a day, 38400 / (9.6 x 365) = 10.9589 years.
    end = warranty_end(np.full(11, 9.6 * 365), None, 12.0 * 3.2)
    assert end.years == pytest.approx(10.9589, abs=1e-4) and end.by_throughput
