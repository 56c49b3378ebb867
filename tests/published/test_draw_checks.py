"""Draws against values known from outside or recomputed apart; each carries its row id, source and how it is known.

"Seen" means the figure was read at its source; "from memory" that it was recalled from the cited work; every figure was
recomputed in double precision by separate code. P10 is the value below which 10 % of the cases lie.
"""

import numpy as np
from pytest import approx

from finsolar.scenario.numbers import Range
from finsolar.uncertainty.draws import joined, points, quantiles, rank_matrix

WIDE = 1e12
TENTHS = np.array([0.1, 0.5, 0.9])
MIDDLES = (np.arange(1 << 16) + 0.5) / (1 << 16)


def ranks(values):
    """Place of each value among all, for values without ties."""
    return np.argsort(np.argsort(values)).astype(float)


def spearman(one, other):
    """Rank correlation, by its definition."""
    return np.corrcoef(ranks(one), ranks(other))[0, 1]


def kendall(one, other):
    """Share of pairs in the same order less the share in the opposite one."""
    signs = np.sign(one[:, None] - one) * np.sign(other[:, None] - other)
    return signs.sum() / (len(one) * (len(one) - 1))


def test_f3_pert_moments_and_percentiles():
    """F3; moments of the beta distribution scaled to its limits, from memory: not the sixth of the width."""
    pert = Range("low, likely, high", (1.0, 3.0, 6.0))
    values = quantiles(pert, MIDDLES, -WIDE, WIDE)
    assert values.mean() == approx(3.16667, abs=1e-4)
    assert values.var() == approx(0.87698, abs=1e-4)
    assert abs(values.var() - 0.69444) > 0.1
    assert quantiles(pert, TENTHS, -WIDE, WIDE) == approx(np.array([1.9431, 3.1274, 4.4494]), abs=1e-4)


def test_f7_rank_correlation_wanted_to_correlation_of_normals():
    """F7; r_S = (6 / pi) arcsin(rho / 2), Pearson (1907); seen at stats.stackexchange.com/questions/262061."""
    assert rank_matrix(["a", "b"], [("a", "b", 0.5)])[0, 1] == approx(0.51764, abs=1e-5)
    # The same formula the other way: the rank correlation that needs a correlation of 0.5 is 0.482584.
    assert rank_matrix(["a", "b"], [("a", "b", 0.482584)])[1, 0] == approx(0.5, abs=1e-6)


def test_f7_sampled_rank_correlations():
    """F7; Spearman as above, Kendall's (2 / pi) arcsin(rho); both seen at the same place. Within 4 / sqrt(n)."""
    n = 1024
    cube = points(n, 2, 0)
    wanted = joined(cube, rank_matrix(["a", "b"], [("a", "b", 0.5)]))
    assert spearman(*wanted.T) == approx(0.5, abs=4 / np.sqrt(n))
    half = joined(cube, np.array([[1.0, 0.5], [0.5, 1.0]]))
    assert spearman(*half.T) == approx(0.48258, abs=4 / np.sqrt(n))
    assert kendall(*half.T) == approx(1 / 3, abs=4 / np.sqrt(n))
    # Points this even come far nearer than the chance that the row allows for: own, measured 3e-3 at most.
    assert spearman(*wanted.T) == approx(0.5, abs=0.01)
    assert spearman(*half.T) == approx(0.48258, abs=0.01)
    assert kendall(*half.T) == approx(1 / 3, abs=0.01)


def test_f8_even_points_converge_faster_than_chance():
    """F8; exact mean (2 (sqrt(e) - 1))^5; powers of two: notes of scipy.stats.qmc.Sobol, seen; slopes measured.

    The errors at 1,024 points differ from one set of seeds to another: ours came to 2.0e-4 to 2.6e-4 for even points.
    """
    exact, seeds, sizes = (2 * (np.sqrt(np.e) - 1)) ** 5, 40, 2 ** np.arange(6, 15)
    assert exact == approx(3.676552, abs=1e-6)

    def errors(cube):
        # Fewer points of a seed are the first of more, so that one run serves every size.
        running = np.cumsum(np.exp(cube.sum(axis=-1) / 2))
        return running[sizes - 1] / sizes - exact

    def slope_and_error(cubes):
        spread = np.sqrt(np.mean([errors(cube) ** 2 for cube in cubes], axis=0))
        return np.polyfit(np.log(sizes), np.log(spread), 1)[0], spread[sizes == 1024][0]

    chance = (np.random.default_rng(seed).random((sizes[-1], 5)) for seed in range(seeds))
    slope, error = slope_and_error(chance)
    assert slope == approx(-0.5, abs=0.15)
    assert error == approx(2.9e-2, rel=0.35)
    slope, error = slope_and_error(points(int(sizes[-1]), 5, seed) for seed in range(seeds))
    assert -1.6 < slope < -1.0
    assert 1.5e-4 / 2 < error < 1.5e-4 * 2


def test_f9_p90_means_two_things():
    """F9; normal quantile 1.2815516, from memory: exceeded with 90 % probability, or undercut with 90 %."""
    # Cut off at 4 standard deviations, which moves either by less than 0.009.
    values = quantiles(Range("mean, sd", (1000.0, 60.0)), TENTHS, 0.0, WIDE)
    assert values == approx(np.array([923.11, 1000.0, 1076.89]), abs=0.01)


def test_f10_percentiles_lie_on_a_line_between_values():
    """F10; numpy.percentile's own rule, from memory: of 1, 2, ..., 10 they are those of all values from 1 to 10."""
    assert quantiles(Range("from, to", (1.0, 10.0)), TENTHS, -WIDE, WIDE) == approx(
        np.percentile(np.arange(1.0, 11.0), 100 * TENTHS), abs=1e-12
    )
    assert quantiles(Range("from, to", (1.0, 10.0)), TENTHS, -WIDE, WIDE) == approx(
        np.array([1.9, 5.5, 9.1]), abs=1e-12
    )


def test_i12_rank_correlation_does_not_depend_on_the_laws():
    """I12; identity: a law only stretches, so that no rank changes, whatever the two laws are."""
    laws = [
        Range("low, likely, high", (0.01, 0.03, 0.055)),
        Range("mean, sd", (0.025, 0.01)),
        Range("from, to", (-5.0, 80.0)),
        Range("characteristic, shape", (14.0, 3.0)),
    ]
    tied = joined(points(2048, 2, 4), rank_matrix(["a", "b"], [("a", "b", 0.6)]))
    assert spearman(*tied.T) == approx(0.6, abs=0.01)
    for one in laws:
        for other in laws:
            values = quantiles(one, tied[:, 0], -WIDE, WIDE), quantiles(other, tied[:, 1], -WIDE, WIDE)
            assert spearman(*values) == spearman(*tied.T)
