"""Ageing of arrays and batteries, and the generator's fuel."""

import numpy as np
import pytest

from finsolar.energy.fade import ages, array_factor, battery_factor
from finsolar.energy.generator import fuel_litres


def test_first_year_loss_comes_once() -> None:
    assert array_factor(3, 0.1, 0.02).tolist() == pytest.approx([0.98, 0.98 * 0.9, 0.98 * 0.81])


def test_array_factor_broadcasts() -> None:
    fade = np.array([[0.0], [0.005]])
    factor = array_factor(25, fade)
    assert factor.shape == (2, 25)
    assert np.all(factor[0] == 1.0)
    assert factor[1] == pytest.approx(array_factor(25, 0.005))


def test_ages_start_again_after_a_replacement() -> None:
    assert ages(5).tolist() == [0, 1, 2, 3, 4]
    assert ages(6, [2]).tolist() == [0, 1, 0, 1, 2, 3]
    assert ages(7, [5, 2]).tolist() == [0, 1, 0, 1, 2, 0, 1]
    assert ages(3, [3, 9]).tolist() == [0, 1, 2]


def test_ages_refuse_a_replacement_before_the_first_year_ends() -> None:
    with pytest.raises(ValueError, match="end of year 1"):
        ages(5, [0])


def test_battery_factor_is_a_line_that_ends_at_nothing() -> None:
    assert battery_factor(ages(4), 0.4).tolist() == pytest.approx([1.0, 0.6, 0.2, 0.0])
    assert battery_factor(ages(4, [2]), np.array([[0.02], [0.1]])).tolist() == [
        pytest.approx([1.0, 0.98, 1.0, 0.98]),
        pytest.approx([1.0, 0.9, 1.0, 0.9]),
    ]


def test_fuel_broadcasts() -> None:
    litres = fuel_litres(np.array([[10.0], [0.0]]), np.array([2.0, 4.0]), 5.0, slope=0.3, idle=0.1)
    assert litres == pytest.approx(np.array([[4.0, 5.0], [1.0, 2.0]]))
