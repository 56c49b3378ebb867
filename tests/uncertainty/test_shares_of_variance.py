"""Sobol indices: exact over every pair of draws from finite sets, within their errors over drawn points."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from finsolar.uncertainty.shares_of_variance import Indices, designs, indices

levels = st.integers(1, 3)
tables = st.tuples(levels, levels, levels).flatmap(
    lambda shape: arrays(np.float64, shape, elements=st.integers(-1000, 1000).map(float))
)


def every_pair(*inputs: int) -> np.ndarray:
    """Every draw from finite sets of these sizes with every other, (n, 2 k): over them the estimators are exact."""
    return np.stack(np.meshgrid(*map(np.arange, inputs * 2), indexing="ij"), axis=-1).reshape(-1, 2 * len(inputs))


def of_table(table: np.ndarray, **options: int) -> Indices:
    """The indices of a figure given by a table over its inputs."""

    def figure(places: np.ndarray) -> np.ndarray:
        return table[tuple(np.moveaxis(places.astype(int), -1, 0))]

    return indices(*map(figure, designs(every_pair(*table.shape))), **options)


def by_definition(table: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Variance of the mean given an input, and mean of the variance given all others, as shares of the variance."""
    axes = range(table.ndim)
    first = [table.mean(axis=tuple(other for other in axes if other != axis)).var() for axis in axes]
    total = [table.var(axis=axis).mean() for axis in axes]
    return np.array(first) / table.var(), np.array(total) / table.var()


@given(tables)
@settings(max_examples=50)
def test_the_indices_are_what_they_are_defined_to_be(table: np.ndarray) -> None:
    found = of_table(table, resamples=2)
    if np.ptp(table) == 0:
        assert found.why_not == "all cases agree, so there is no variance to share"
        assert np.isnan([found.first, found.total, found.first_error, found.total_error]).all()
        return
    first, total = by_definition(table)
    assert found.why_not is None
    assert found.first == pytest.approx(first, abs=1e-9)
    assert found.total == pytest.approx(total, abs=1e-9)


@given(tables.filter(lambda table: np.ptp(table) > 0))
@settings(max_examples=50)
def test_i11_first_order_sums_to_one_at_most_and_total_is_no_less(table: np.ndarray) -> None:
    # Identity I11 of independent inputs.
    found = of_table(table, resamples=2)
    assert found.first.sum() <= 1 + 1e-9
    assert (found.total >= found.first - 1e-9).all()
    assert found.total.sum() >= 1 - 1e-9


@given(st.lists(arrays(np.float64, 3, elements=st.integers(-50, 50).map(float)), min_size=3, max_size=3))
@settings(max_examples=30)
def test_i11_what_is_a_sum_shares_nothing(parts: list[np.ndarray]) -> None:
    # Identity I11: equality for additive models.
    table = parts[0][:, None, None] + parts[1][:, None] + parts[2]
    if np.ptp(table) == 0:
        table = table + np.array([0.0, 1.0, 2.0])
    found = of_table(table, resamples=2)
    assert found.first.sum() == pytest.approx(1.0, abs=1e-9)
    assert found.total == pytest.approx(found.first, abs=1e-9)


def figures(seed: int, rows: int = 512) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A figure with an input that does nothing and two that work together, at plainly drawn points."""
    points = np.random.default_rng(seed).random((rows, 8))
    a, b, mixed = designs(points)

    def figure(x: np.ndarray) -> np.ndarray:
        return 3 * x[..., 0] + 5 * x[..., 1] * x[..., 2]

    return figure(a), figure(b), figure(mixed)


def test_the_errors_tell_how_far_the_estimates_are_off() -> None:
    found = [indices(*figures(seed), resamples=50) for seed in range(100)]
    for name in ("first", "total"):
        scatter = np.std([getattr(each, name) for each in found], axis=0)
        told = np.mean([getattr(each, f"{name}_error") for each in found], axis=0)
        assert told == pytest.approx(scatter, rel=0.3)


def test_an_input_that_does_nothing_has_no_share_at_all() -> None:
    found = indices(*figures(1))
    assert (found.first[3], found.total[3], found.first_error[3], found.total_error[3]) == (0.0, 0.0, 0.0, 0.0)


def test_estimates_below_zero_are_told_as_they_are() -> None:
    points = np.random.default_rng(2).random((64, 4))
    found = indices(*(np.sin(7 * x[..., 0]) * np.sin(7 * x[..., 1]) for x in designs(points)))
    assert found.first.min() < 0


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e3), st.booleans())
@settings(max_examples=20)
def test_units_and_a_fixed_sum_change_no_share(shift: float, scale: float, turned: bool) -> None:
    a, b, mixed = figures(4, rows=64)
    factor = -scale if turned else scale
    plain = indices(a, b, mixed)
    other = indices(*(shift + factor * each for each in (a, b, mixed)))
    assert other.first == pytest.approx(plain.first, abs=1e-5)
    assert other.total_error == pytest.approx(plain.total_error, abs=1e-5)


def test_the_order_of_rows_and_inputs_changes_nothing() -> None:
    a, b, mixed = figures(6)
    plain = indices(a, b, mixed)
    rows, inputs = np.random.default_rng(0).permutation(len(a)), [2, 0, 3, 1]
    other = indices(a[rows], b[rows], mixed[inputs][:, rows])
    assert other.first == pytest.approx(plain.first[inputs], abs=1e-12)
    assert other.total == pytest.approx(plain.total[inputs], abs=1e-12)


def test_the_seed_is_honoured() -> None:
    a, b, mixed = figures(7)
    plain, same, other = (indices(a, b, mixed, seed=seed) for seed in (0, 0, 1))
    assert (plain.first_error == same.first_error).all() and (plain.total_error == same.total_error).all()
    assert (plain.first_error != other.first_error)[:3].all()
    assert (plain.first == other.first).all()


def test_one_case_that_stands_out_is_too_few_to_tell_an_error() -> None:
    a, b, mixed = np.full(61, 0.3), np.full(61, 0.3), np.full((1, 61), 0.3)
    a[5] = 1.7
    found = indices(a, b, mixed)
    assert found.total[0] > 0
    assert np.isnan(found.first_error).all() and np.isnan(found.total_error).all()
    # Resamples without that case have rounding for a variance; taken for one, it would put errors near 0.7.
    for seed in range(60):
        error = indices(a, b, mixed, resamples=2, seed=seed).total_error[0]
        assert np.isnan(error) or error < 0.05


def test_a_figure_that_some_cases_lack_has_no_shares() -> None:
    a, b, mixed = figures(9)
    mixed[2, 11] = np.nan
    found = indices(a, b, mixed)
    assert found.why_not == "some cases have no such figure"
    assert np.isnan([found.first, found.total, found.first_error, found.total_error]).all()
    assert found.first.shape == (4,)


def test_rounding_is_no_variance() -> None:
    almost = 1e6 * (1 + 1e-15 * np.random.default_rng(1).random((4, 32)))
    assert indices(almost[0], almost[1], almost[2:]).why_not == "all cases agree, so there is no variance to share"


def test_designs_mix_one_input_at_a_time() -> None:
    points = np.arange(12.0).reshape(2, 6)
    a, b, mixed = designs(points)
    assert a.tolist() == [[0, 1, 2], [6, 7, 8]]
    assert b.tolist() == [[3, 4, 5], [9, 10, 11]]
    assert mixed[1].tolist() == [[0, 4, 2], [6, 10, 8]]
    assert mixed.shape == (3, 2, 3)


def test_no_input_has_no_index() -> None:
    a, b, mixed = designs(np.empty((4, 0)))
    assert (a.shape, b.shape, mixed.shape) == ((4, 0), (4, 0), (0, 4, 0))
    assert indices(np.ones(4), np.ones(4), np.empty((0, 4))).first.shape == (0,)


def test_what_does_not_fit_is_refused() -> None:
    with pytest.raises(ValueError, match=r"two draws of each input are wanted.*\(4, 3\)"):
        designs(np.zeros((4, 3)))
    with pytest.raises(ValueError, match=r"these are \(4,\), \(4,\) and \(2, 5\)"):
        indices(np.zeros(4), np.zeros(4), np.zeros((2, 5)))
    with pytest.raises(ValueError, match=r"these are \(4,\), \(3,\)"):
        indices(np.zeros(4), np.zeros(3), np.zeros((2, 4)))
    with pytest.raises(ValueError, match="at least one row and two resamples"):
        indices(np.zeros(0), np.zeros(0), np.zeros((2, 0)))
    with pytest.raises(ValueError, match="at least one row and two resamples"):
        indices(np.arange(4.0), np.zeros(4), np.zeros((2, 4)), resamples=1)
