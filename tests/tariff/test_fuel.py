"""What a generator costs to run."""

import numpy as np
import pytest

from finsolar.tariff.bills import FUEL, RUNNING
from finsolar.tariff.fuel import generator_bill


def test_litres_and_hours_at_the_prices_of_their_year():
    litres, hours = np.full((2, 12), 30.0), np.full((2, 12), 10.0)
    bill = generator_bill(litres, hours, np.array([1.5, 1.8]), np.array([0.4, 0.5]))
    assert list(bill.components) == [FUEL, RUNNING]
    assert bill.yearly(FUEL) == pytest.approx(np.array([540.0, 648.0]))
    assert bill.yearly(RUNNING) == pytest.approx(np.array([48.0, 60.0]))
    assert bill.total == pytest.approx(np.array([588.0, 708.0]))


def test_each_month_pays_for_its_own_litres():
    litres = np.arange(12.0)[None]
    bill = generator_bill(litres, np.zeros((1, 12)), np.array([2.0]), np.array([1.0]))
    assert bill.monthly_total.tolist() == (2 * litres).tolist()


def test_idle_generator_costs_nothing():
    nothing = np.zeros((3, 12))
    assert not generator_bill(nothing, nothing, np.ones(3), np.ones(3)).total.any()


def test_cases_of_the_fuel_price_stand_on_a_leading_axis():
    litres, hours = np.full((2, 12), 5.0), np.full((2, 12), 2.0)
    price = np.array([[1.0, 1.1], [2.0, 2.2], [3.0, 3.3]])
    bill = generator_bill(litres, hours, price, np.array([0.1, 0.1]))
    assert bill.total.shape == (3, 2)
    for case in range(3):
        alone = generator_bill(litres, hours, price[case], np.array([0.1, 0.1]))
        assert np.array_equal(bill.total[case], alone.total)
