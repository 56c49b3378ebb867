"""Ageing of arrays and batteries, the end of a battery's warranty, and the generator's fuel."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.energy.fade import (
    Law,
    ages,
    array_factor,
    battery_factor,
    full_cycles,
    warranty_end,
)
from finsolar.energy.generator import fuel_litres

laws = st.sampled_from(["linear", "square root"])
shares = st.floats(0.0, 1.0)
# Whole kWh, so that sums are exact and a limit met by the last kWh is met however it is reckoned.
some_years = st.lists(st.integers(0, 5000), min_size=1, max_size=30)
throughputs = st.integers(1, 480).map(lambda eighths: eighths / 8)


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


# --- what is left of a battery ---


def test_battery_factor_is_a_line_that_ends_at_nothing() -> None:
    assert battery_factor(ages(4), 4.0, "linear").tolist() == pytest.approx([1.0, 0.6, 0.2, 0.0])
    assert battery_factor(ages(4, [2]), np.array([[0.2], [1.0]]), "linear").tolist() == [
        pytest.approx([1.0, 0.98, 1.0, 0.98]),
        pytest.approx([1.0, 0.9, 1.0, 0.9]),
    ]


def test_wear_by_use_adds_to_age_and_ends_at_nothing_too() -> None:
    cycles = np.array([0.0, 250.0, 500.0, 20_000.0])
    assert battery_factor(ages(4), 0.2, "linear", cycles, 0.04).tolist() == pytest.approx([1.0, 0.97, 0.94, 0.14])
    assert battery_factor(ages(4), 0.2, "square root", cycles, 0.4).tolist() == pytest.approx(
        [1.0, 0.9 - 0.2 * 0.1**0.5, 0.8 - 0.2 * 0.2**0.5, 0.0]
    )
    both = battery_factor(ages(4), np.array([[0.0], [0.2]]), "linear", cycles, np.array([[0.04], [0.0]]))
    assert both.tolist() == [pytest.approx([1.0, 0.99, 0.98, 0.2]), pytest.approx([1.0, 0.98, 0.96, 0.94])]


def test_a_law_of_another_name_is_refused() -> None:
    with pytest.raises(KeyError, match="cubic"):
        battery_factor(1.0, 0.2, "cubic")  # type: ignore[arg-type]


@given(st.floats(0.0, 0.4), st.integers(1, 40))
def test_linear_law_is_ten_years_of_yearly_shares(yearly: float, years: int) -> None:
    left = 1.0
    for found in battery_factor(ages(years), 10.0 * yearly, "linear"):
        assert found == pytest.approx(max(left, 0.0), abs=1e-12)
        left -= yearly


@given(laws, st.floats(0.0, 40.0), st.floats(0.0, 40.0), st.floats(0.0, 1e4), st.floats(0.0, 1e4), shares, shares)
def test_age_and_use_never_raise_the_capacity(
    law: Law, age: float, longer: float, cycles: float, more: float, ten_years: float, thousand: float
) -> None:
    now = battery_factor(age, ten_years, law, cycles, thousand)
    older = battery_factor(age + longer, ten_years, law, cycles, thousand)
    busier = battery_factor(age, ten_years, law, cycles + more, thousand)
    assert 0.0 <= older <= now <= 1.0
    assert 0.0 <= busier <= now


@given(st.floats(0.0, 40.0), st.floats(0.001, 0.3))
def test_laws_meet_at_ten_years_and_the_root_is_lower_before(age: float, ten_years: float) -> None:
    line, root = (battery_factor(age, ten_years, law) for law in ("linear", "square root"))
    assert battery_factor(10.0, ten_years, "linear") == battery_factor(10.0, ten_years, "square root") == 1 - ten_years
    if age < 10.0:
        assert root <= line + 1e-12
    else:
        assert root >= line - 1e-12


def test_full_cycles_by_year_and_case() -> None:
    cycles = full_cycles(np.array([[2500.0, 2000.0], [500.0, 0.0]]), np.array([[10.0], [5.0]]))
    assert cycles.tolist() == [[250.0, 200.0], [100.0, 0.0]]


# --- the warranty ---


def walked(discharged: list[int], years_limit: float | None, mwh_limit: float | None, life: int) -> tuple[float, bool]:
    """The rule of the warranty year by year in plain floats."""
    room = None if mwh_limit is None else 1000.0 * mwh_limit
    reached = None
    for year, use in enumerate(discharged[:life]):
        if room is not None and reached is None:
            if use >= room:
                reached = year + room / use
            else:
                room -= use
    if reached is not None and (years_limit is None or reached < years_limit):
        return reached, True
    if room is not None and reached is None and years_limit is not None and years_limit > len(discharged):
        return float("nan"), False  # beyond the study nobody knows which of the two comes first
    return (float("nan") if years_limit is None else years_limit), False


def test_whichever_limit_comes_first_ends_the_warranty() -> None:
    use = [3000.0, 2000.0, 4000.0]
    for years_limit, mwh_limit, years, by_throughput in [
        (10.0, 6.0, 2.25, True),  # 5 MWh in two years, the sixth in a quarter of the third
        (2.0, 6.0, 2.0, False),
        (2.25, 6.0, 2.25, False),  # a tie goes to the years
        (None, 5.0, 2.0, True),  # met at the end of a year, to the last kWh
        (None, 9.0, 3.0, True),
        (10.0, 9.001, np.nan, False),  # not met within the study: nobody knows which of the two comes first
        (3.0, 9.001, 3.0, False),
        (10.0, None, 10.0, False),
    ]:
        end = warranty_end(use, years_limit, mwh_limit)
        assert (end.years, end.by_throughput) == (pytest.approx(years, nan_ok=True), by_throughput)


def test_nothing_ends_a_warranty_without_years_whose_throughput_is_not_met() -> None:
    for mwh_limit in (None, 9.001):
        end = warranty_end([3000.0, 2000.0, 4000.0], None, mwh_limit)
        assert np.isnan(end.years) and not end.by_throughput


def test_years_without_use_pass() -> None:
    end = warranty_end([0.0, 1000.0, 0.0, 0.0, 1000.0], None, [[0.5], [1.0], [1.5]])
    assert end.years.tolist() == [1.5, 2.0, 4.5]


def test_what_later_units_deliver_does_not_count() -> None:
    use = np.full(12, 3000.0)
    assert warranty_end(use, 10.0, 24.0).years == 8.0
    for changes in ([7], [9, 7], [7, 8]):
        cut = warranty_end(use, 10.0, 24.0, changes)
        assert (cut.years, cut.by_throughput) == (10.0, False)
    assert warranty_end(use, 10.0, 24.0, [8]).years == 8.0
    with pytest.raises(ValueError, match="end of year 1"):
        warranty_end(use, 10.0, 24.0, [0])


def test_warranties_of_many_cases_stand_beside_each_other() -> None:
    use = np.array([[3000.0, 2000.0, 4000.0], [1000.0, 1000.0, 1000.0]])
    end = warranty_end(use, np.array([[2.5], [3.0]]), 6.0)
    assert end.years.tolist() == [2.25, 3.0] and end.by_throughput.tolist() == [True, False]
    spread = warranty_end(use[0], 2.5, np.array([[6.0], [8.0], [3.0]]))
    assert spread.years.tolist() == [2.25, 2.5, 1.0] and spread.by_throughput.tolist() == [True, False, True]
    grid = warranty_end(use, np.array([[[2.0]], [[9.0]]]), None)
    assert grid.years.tolist() == [[2.0, 2.0], [9.0, 9.0]]


@given(some_years, st.none() | st.floats(0.5, 30.0), st.none() | throughputs, st.integers(1, 30))
def test_equals_the_warranty_year_by_year(
    use: list[int], years_limit: float | None, mwh_limit: float | None, life: int
) -> None:
    end = warranty_end(use, years_limit, mwh_limit, [life])
    years, by_throughput = walked(use, years_limit, mwh_limit, life)
    assert end.years == pytest.approx(years, abs=1e-9, nan_ok=True)
    assert end.by_throughput == by_throughput


@given(some_years, throughputs, throughputs, st.integers(1, 3))
def test_more_room_never_ends_a_warranty_sooner_nor_more_use_later(
    use: list[int], mwh_limit: float, more: float, busier: int
) -> None:
    end = warranty_end(use, 12.0, mwh_limit).years
    # What does not end within the study ends later than anything that does.
    end = np.nan_to_num(end, nan=np.inf)
    roomier = warranty_end(use, 12.0, mwh_limit + more).years
    busy = warranty_end(np.multiply(use, busier), 12.0, mwh_limit).years
    assert np.nan_to_num(roomier, nan=np.inf) >= end - 1e-9
    assert np.nan_to_num(busy, nan=np.inf) <= end + 1e-9


# --- the generator ---


def test_fuel_broadcasts() -> None:
    litres = fuel_litres(np.array([[10.0], [0.0]]), np.array([2.0, 4.0]), 5.0, slope=0.3, idle=0.1)
    assert litres == pytest.approx(np.array([[4.0, 5.0], [1.0, 2.0]]))
