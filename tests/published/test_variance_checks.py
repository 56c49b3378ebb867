"""Spread of the net present value, percentiles and shares of variance against values recomputed apart.

Beside each check stand its source and how it is known: `own` is our exercise, with the formula stated and
recomputed by separate code. Values from memory say so.
"""

from collections.abc import Callable
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from SALib.analyze import sobol
from scipy.special import ndtri

from finsolar.money.metrics import present_value
from finsolar.uncertainty.draws import points
from finsolar.uncertainty.shares_of_variance import Indices, designs, indices
from finsolar.uncertainty.summary import chance, summarise

Array = np.ndarray
Figure = Callable[[Array], Array]


def every_pair(*inputs: list[float]) -> Array:
    """Every draw from finite sets with every other, (n, 2 k): over them the estimators are exact."""
    return np.stack(np.meshgrid(*inputs, *inputs, indexing="ij"), axis=-1).reshape(-1, 2 * len(inputs))


def shares(figure: Figure, draws: Array) -> Indices:
    """Indices of a figure at the two draws of its inputs."""
    return indices(*map(figure, designs(draws)))


# --- net present value of uncertain years: F1, I13 ---

OUTLAY, MEAN, SD, RATE, YEARS = 10_000.0, 4_000.0, 2_000.0, 0.10, 4


def flows_of(scores: Array, sds: Array | float = SD) -> Array:
    """Cash flows (..., 5) from normal scores (..., 4) of the years 1 to 4."""
    years = MEAN + sds * scores
    return np.concatenate([np.full((*scores.shape[:-1], 1), -OUTLAY), years], axis=-1)


def independent_scores() -> Array:
    """Normal scores (8 replicates, 4096, 4) whose years have nothing to do with each other."""
    return np.stack([ndtri(points(4096, YEARS, seed)) for seed in range(8)])


def tied(scores: Array, lag_one: float) -> Array:
    """The same scores with each year tied to the one before: correlation lag_one to the power of the years between."""
    along = [scores[..., 0]]
    for year in range(1, YEARS):
        along.append(lag_one * along[-1] + np.sqrt(1 - lag_one**2) * scores[..., year])
    return np.stack(along, axis=-1)


@pytest.mark.parametrize(("lag_one", "sd", "below_zero"), [(0.0, 3187.75, 0.2003), (1.0, 6339.73, 0.3363)])
def test_f01_mean_and_spread_of_npv(lag_one: float, sd: float, below_zero: float) -> None:
    # Hillier, Management Science 9 (1963), in a textbook problem: inputs seen, values recomputed.
    npv = present_value(flows_of(tied(independent_scores(), lag_one)), RATE)
    found, loss = summarise(npv), chance(npv < 0)
    assert found.mean == pytest.approx(2679.46, abs=4 * sd / np.sqrt(npv.size))
    assert abs(found.mean - 2679.4618) <= 4 * found.error
    assert npv.std() == pytest.approx(sd, rel=2e-3)
    assert loss.share == pytest.approx(below_zero, abs=4 * np.sqrt(below_zero * (1 - below_zero) / npv.size))
    for percentile, score, error in ((found.p10, -1.2815516, found.p10_error), (found.p90, 1.2815516, found.p90_error)):
        assert percentile == pytest.approx(2679.46 + score * sd, abs=max(4 * error, 0.005 * sd))


@pytest.mark.parametrize(("lag_one", "sd", "below_zero"), [(0.0, 3187.75, 0.2003), (1.0, 6339.73, 0.3363)])
def test_f01_to_the_cent_over_scores_without_chance(lag_one: float, sd: float, below_zero: float) -> None:
    # The same, where scores of -1 and 1 in every combination have exactly the moments of the problem.
    corners = np.stack(np.meshgrid(*[[-1.0, 1.0]] * YEARS, indexing="ij"), axis=-1).reshape(1, -1, YEARS)
    npv = present_value(flows_of(tied(corners, lag_one)), RATE)
    mean = summarise(npv).mean
    assert mean == pytest.approx(2679.46, abs=0.01)
    assert npv.std() == pytest.approx(sd, abs=0.01)
    assert NormalDist(mean, npv.std()).cdf(0.0) == pytest.approx(below_zero, abs=1e-4)


@given(
    st.lists(st.floats(0.0, 5_000.0), min_size=YEARS, max_size=YEARS),
    st.floats(-0.05, 0.2),
    st.lists(st.floats(0.0, 1.0), min_size=2, max_size=2).map(sorted),
)
@settings(max_examples=50)
def test_i13_years_that_hang_together_spread_wider(sds: list[float], rate: float, lags: list[float]) -> None:
    # Identity I13: independent <= positively autocorrelated <= perfectly correlated; and the closer the tie, the wider.
    corners = np.stack(np.meshgrid(*[[-1.0, 1.0]] * YEARS, indexing="ij"), axis=-1).reshape(-1, YEARS)
    spread = [present_value(flows_of(tied(corners, lag), np.array(sds)), rate).std() for lag in (0.0, *lags, 1.0)]
    assert (np.diff(spread) >= -1e-7).all()
    discount = (1 + rate) ** -np.arange(1, YEARS + 1)
    # Two variances in closed form: of a sum of independent years, and of years that move as one.
    assert spread[0] == pytest.approx(np.sqrt(((discount * sds) ** 2).sum()), abs=1e-7)
    assert spread[-1] == pytest.approx((discount * sds).sum(), abs=1e-7)


# --- percentiles and means: F9, F10, F11 ---


def test_f09_p90_is_the_value_that_90_per_cent_lie_below() -> None:
    # From memory: normal quantile 1.2815516. What is exceeded with 90 % probability is P10 here, not P90.
    places = (np.arange(2**14) + 0.5) / 2**14
    found = summarise(1000.0 + 60.0 * ndtri(places)[None])
    assert found.p10 == pytest.approx(923.11, abs=0.01)
    assert found.p90 == pytest.approx(1076.89, abs=0.01)


def test_f10_percentile_rule() -> None:
    # From memory: linear interpolation, type 7.
    found = summarise(np.arange(1.0, 11.0)[None])
    assert [found.p10, found.p50, found.p90] == pytest.approx([1.9, 5.5, 9.1], abs=1e-12)


def test_f11_the_mean_outcome_is_not_the_outcome_of_the_mean() -> None:
    # Own: growth at 0, 3 or 6 % with equal chance over 25 years, discounted at 4 %; recomputed.
    growth = np.array([0.0, 0.03, 0.06])
    flows = (1 + growth[:, None]) ** np.arange(26)
    flows[:, 0] = 0.0
    worth = present_value(flows, 0.04)
    assert worth[1] == pytest.approx(22.1026, abs=1e-4)
    assert summarise(worth[None]).mean == pytest.approx(23.3507, abs=1e-4)


# --- shares of variance: F5, F6, F12 ---


def ishigami(x: Array) -> Array:
    """The function of three inputs in [-pi, pi] by which such estimates are judged."""
    return np.sin(x[..., 0]) + 7 * np.sin(x[..., 1]) ** 2 + 0.1 * x[..., 2] ** 4 * np.sin(x[..., 0])


def ishigami_draws(size: int, seed: int) -> Array:
    """Two draws of its inputs, (size, 6)."""
    return np.pi * (2 * points(size, 6, seed) - 1)


F05_FIRST, F05_TOTAL = [0.313905, 0.442411, 0.0], [0.557589, 0.442411, 0.243684]
"""Ishigami and Homma (1990); Saltelli et al. (2008): third total seen (0.244), the rest from memory, recomputed."""


def test_f05_ishigami_over_finite_sets_with_the_same_moments() -> None:
    # Three even steps of a circle have the means of sin^2 and sin^4 of the whole; of the fourth powers of x3, three
    # equal ones and one larger have the mean pi^4 / 5 and the variance 16 pi^8 / 225 of the uniform.
    circle = [-2 * np.pi / 3, 0.0, 2 * np.pi / 3]
    apart = 16 / 15 / np.sqrt(3)
    low, high = 1 / 5 - apart / 4, 1 / 5 + 3 * apart / 4
    pairs = every_pair(circle, circle, [np.pi * fourth**0.25 for fourth in (low, low, low, high)])
    found = shares(ishigami, pairs)
    figure = ishigami(designs(pairs)[0])
    assert figure.mean() == pytest.approx(3.5, abs=1e-9)
    assert figure.var() == pytest.approx(13.844588, abs=1e-6)
    assert found.first == pytest.approx(F05_FIRST, abs=1e-6)
    assert found.total == pytest.approx(F05_TOTAL, abs=1e-6)


def test_f05_ishigami_sampled() -> None:
    # 1024 base points, scrambled 8 times; a single scramble may be off by 0.03.
    each = [shares(ishigami, ishigami_draws(1024, seed)) for seed in range(8)]
    assert np.mean([one.first for one in each], axis=0) == pytest.approx(F05_FIRST, abs=0.01)
    assert np.mean([one.total for one in each], axis=0) == pytest.approx(F05_TOTAL, abs=0.01)
    for one in each:
        assert (np.abs(one.first - F05_FIRST) <= 4 * one.first_error).all()
        assert (np.abs(one.total - F05_TOTAL) <= 4 * one.total_error).all()
    many = shares(ishigami, ishigami_draws(2**15, 0))
    assert many.first == pytest.approx(F05_FIRST, abs=0.002)
    assert many.total == pytest.approx(F05_TOTAL, abs=0.002)


def test_f05_an_outside_witness_says_the_same() -> None:
    # SALib's estimates of the same figures, by its own code.
    a, b, mixed = map(ishigami, designs(ishigami_draws(1024, 11)))
    found = indices(a, b, mixed)
    problem = {"num_vars": 3, "names": ["x1", "x2", "x3"], "bounds": [[-np.pi, np.pi]] * 3}
    rows = np.concatenate([a[None], mixed, b[None]]).T.ravel()
    witness = sobol.analyze(problem, rows, calc_second_order=False, num_resamples=200, seed=1)
    assert found.first == pytest.approx(witness["S1"], abs=1e-9)
    assert found.total == pytest.approx(witness["ST"], abs=1e-9)
    # Its errors come from dice of its own, at 1.96 standard errors.
    assert 1.96 * found.first_error == pytest.approx(witness["S1_conf"], rel=0.25)
    assert 1.96 * found.total_error == pytest.approx(witness["ST_conf"], rel=0.25)


F06_SHARES = [5 / 9, 16 / 45, 4 / 45]


def linear(x: Array) -> Array:
    """A net present value linear in three inputs."""
    return 10 * x[..., 0] - 4 * x[..., 1] + x[..., 2] + 1234.5


def test_f06_linear_model() -> None:
    # From memory: S_i = (a_i sd_i)^2 / sum. Uniform on (0, 6), (0, 12), (0, 24), here by two values each of that mean
    # and variance, width^2 / 12.
    sets = [[width / 2 - width / np.sqrt(12), width / 2 + width / np.sqrt(12)] for width in (6, 12, 24)]
    pairs = every_pair(*sets)
    found = shares(linear, pairs)
    assert linear(designs(pairs)[0]).var() == pytest.approx(540.0, abs=1e-9)
    assert found.first == pytest.approx(F06_SHARES, abs=1e-6)
    assert found.total == pytest.approx(F06_SHARES, abs=1e-6)
    assert found.first.sum() == pytest.approx(1.0, abs=1e-9)


def test_f06_linear_model_sampled() -> None:
    found = [shares(linear, points(1024, 6, seed) * [6, 12, 24, 6, 12, 24]) for seed in range(8)]
    for each in found:
        assert each.first == pytest.approx(F06_SHARES, abs=0.02)
        assert each.total == pytest.approx(F06_SHARES, abs=0.01)
    assert np.mean([each.first for each in found], axis=0) == pytest.approx(F06_SHARES, abs=0.01)


def product(x: Array) -> Array:
    return x[..., 0] * x[..., 1]


def test_f12_product_model_has_an_interaction() -> None:
    # From memory: exact variance of a product, 10^2 2^2 + 5^2 2^2 + 2^2 2^2 = 516; means 10 and 5, s.d. 2 each.
    pairs = every_pair([8.0, 12.0], [3.0, 7.0])
    found = shares(product, pairs)
    assert product(designs(pairs)[0]).var() == pytest.approx(516.0, abs=1e-9)
    assert found.first == pytest.approx([0.193798, 0.775194], abs=1e-5)
    assert found.total - found.first == pytest.approx([0.031008, 0.031008], abs=1e-5)


def test_f12_product_model_sampled() -> None:
    # The same with normal inputs.
    draws = [10.0, 5.0, 10.0, 5.0] + 2.0 * ndtri(points(2**13, 4, 5))
    found = shares(product, draws)
    assert found.first == pytest.approx([0.193798, 0.775194], abs=0.01)
    assert found.total == pytest.approx([0.224806, 0.806202], abs=0.01)
