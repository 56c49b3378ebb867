"""Draws: what every law promises, points that fill space, ties that hold or say why they cannot."""

from __future__ import annotations

import math
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.scenario.numbers import Range
from finsolar.uncertainty.draws import joined, points, quantiles, rank_matrix

Array = NDArray[np.float64]
PERT, BELL, EVEN, LIFE = "low, likely, high", "mean, sd", "from, to", "characteristic, shape"
WIDE = 1e12  # no limit of a field
SLICES = 1 << 16
MIDDLES = (np.arange(SLICES) + 0.5) / SLICES
NAMES = ("rise", "inflation", "yield", "growth")


def moments(of: Range, low: float = -WIDE, high: float = WIDE) -> tuple[float, float]:
    """Mean and standard deviation, by adding up the values at the middle of equal shares."""
    values = quantiles(of, MIDDLES, low, high)
    return float(values.mean()), float(values.std())


def density_at(z: float) -> float:
    """The standard normal density."""
    return math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def below(z: float) -> float:
    """The standard normal distribution."""
    return (1 + math.erf(z / math.sqrt(2))) / 2


def ranks(values: Array) -> Array:
    """Place of each value among all, for values without ties."""
    return np.argsort(np.argsort(values)).astype(float)


def spearman(one: Array, other: Array) -> float:
    """Rank correlation, by its definition."""
    return float(np.corrcoef(ranks(one), ranks(other))[0, 1])


# Laws.


@pytest.mark.parametrize(
    ("low", "likely", "high"), [(1.0, 3.0, 6.0), (-0.02, 0.03, 0.05), (0.0, 0.0, 1.0), (2.0, 5.0, 5.0), (10, 10.1, 900)]
)
def test_pert_inverts_the_beta_density(low: float, likely: float, high: float) -> None:
    """The density written out and added up gives back every share; the mean weighs the likely value four times."""
    a, b = 1 + 4 * (likely - low) / (high - low), 1 + 4 * (high - likely) / (high - low)
    x = np.linspace(0, 1, 200_001)
    middle = (x[1:] + x[:-1]) / 2
    total = np.concatenate([[0], np.cumsum(middle ** (a - 1) * (1 - middle) ** (b - 1))])
    shares = np.array([0.001, 0.1, 0.25, 0.5, 0.75, 0.9, 0.999])
    values = quantiles(Range(PERT, (low, likely, high)), shares, -WIDE, WIDE)
    np.testing.assert_allclose(np.interp((values - low) / (high - low), x, total / total[-1]), shares, atol=1e-6)
    mean, sd = moments(Range(PERT, (low, likely, high)))
    assert mean == pytest.approx((low + 4 * likely + high) / 6, abs=1e-6 * (high - low))
    assert sd == pytest.approx(math.sqrt((mean - low) * (high - mean) / 7), abs=1e-5 * (high - low))


@pytest.mark.parametrize(("low", "high"), [(-WIDE, WIDE), (0.0, WIDE), (-1.0, 0.05), (0.025, 0.06)])
def test_the_bell_curve_has_the_moments_of_one_cut_off(low: float, high: float) -> None:
    """Mean and spread of a normal between two limits, from their textbook formula; limits the values keep."""
    mean, sd = 0.03, 0.02
    a, b = max((low - mean) / sd, -4.0), min((high - mean) / sd, 4.0)
    rest = below(b) - below(a)
    shift = (density_at(a) - density_at(b)) / rest
    spread = 1 + (a * density_at(a) - b * density_at(b)) / rest - shift**2
    found = moments(Range(BELL, (mean, sd)), low, high)
    assert found == pytest.approx((mean + sd * shift, sd * math.sqrt(spread)), abs=1e-6)
    ends = quantiles(Range(BELL, (mean, sd)), np.array([1e-12, 1 - 1e-12]), low, high)
    np.testing.assert_allclose(ends, [max(low, mean - 4 * sd), min(high, mean + 4 * sd)], atol=1e-6)


def test_any_value_alike_between_two_ends() -> None:
    """Mean in the middle, variance a twelfth of the squared width."""
    assert moments(Range(EVEN, (-3.0, 9.0))) == pytest.approx((3.0, math.sqrt(12.0)), abs=1e-6)


@pytest.mark.parametrize(("life", "shape"), [(14.0, 3.0), (20.0, 1.5), (11.0, 8.0)])
def test_lives_have_the_moments_of_weibull(life: float, shape: float) -> None:
    """Mean and variance by the gamma function; a share 1/e outlasts the characteristic life; mean = central value."""
    of = Range(LIFE, (life, shape))
    mean = life * math.gamma(1 + 1 / shape)
    variance = life**2 * math.gamma(1 + 2 / shape) - mean**2
    assert moments(of) == pytest.approx((mean, math.sqrt(variance)), rel=1e-4)
    assert of.central == pytest.approx(mean)
    assert quantiles(of, np.array(1 - math.exp(-1)), 1.0, 100.0) == pytest.approx(life)


def test_lives_beyond_the_field_count_as_its_limits() -> None:
    """The limits are reached, and passed by none; in between nothing changes."""
    of, shares = Range(LIFE, (14.0, 1.0)), np.array([0.01, 0.5, 0.9999])
    free = quantiles(of, shares, -WIDE, WIDE)
    assert free[0] < 1 and free[2] > 100
    np.testing.assert_array_equal(quantiles(of, shares, 1.0, 100.0), [1.0, free[1], 100.0])


@pytest.mark.parametrize(
    ("of", "value"),
    [
        (Range(PERT, (0.1, 0.1, 0.1)), 0.1),
        (Range(BELL, (0.1, 0.0)), 0.1),
        (Range(EVEN, (0.1, 0.1)), 0.1),
        (Range(PERT, (0.0, 0.0, 0.0)), 0.0),
    ],
)
def test_a_range_of_no_width_gives_its_value_exactly(of: Range, value: float) -> None:
    """Not to rounding: to the last bit, in the shape asked for."""
    values = quantiles(of, points(64, 2, 1), 0.0, 1.0)
    assert values.shape == (64, 2)
    assert set(values.ravel().tolist()) == {value} == {of.central}


@given(
    st.sampled_from([PERT, BELL, EVEN]),
    st.lists(st.floats(-1e6, 1e6), min_size=3, max_size=3).map(sorted),
    st.lists(st.floats(1e-9, 1 - 1e-9), min_size=2, max_size=8).map(sorted),
)
def test_values_rise_with_the_share_and_keep_the_limits(kind: str, three: list[float], shares: list[float]) -> None:
    """Any range at all, also one whose limits are those of the field, and any shares."""
    low, likely, high = three
    written = {PERT: (low, likely, high), BELL: (likely, high - low), EVEN: (low, high)}[kind]
    values = quantiles(Range(kind, written), np.array(shares), low, high).tolist()
    # The beta distribution is inverted to 14 digits or so, not to the last.
    assert all(a <= b + 1e-12 * (high - low) for a, b in pairwise(values))
    assert low <= min(values) and max(values) <= high


def test_rounding_passes_no_limit() -> None:
    """Not even by a last digit, which a field would refuse: cases found by trial in which plain arithmetic does."""
    nearly_all = np.array([1 - 2.0**-53])
    assert -0.3 + (-0.11 - -0.3) > -0.11
    assert quantiles(Range(PERT, (-0.3, -0.11, -0.11)), nearly_all, -1.0, 1.0) == -0.11
    assert quantiles(Range(BELL, (0.1, 0.8)), nearly_all, 0.1 - 0.8 * 1.3, 1.9) == 1.9


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, math.nan])
def test_no_share_outside_the_open_interval(share: float) -> None:
    """Also not one that is no number."""
    with pytest.raises(ValueError, match="strictly between 0 and 1"):
        quantiles(Range(EVEN, (0.0, 1.0)), np.array([0.5, share]), 0.0, 1.0)


@pytest.mark.parametrize(
    "of", [Range(PERT, (0.5, 0.7, 1.1)), Range(EVEN, (-0.1, 0.5)), Range(BELL, (1.1, 0.1)), Range(LIFE, (-1.0, 2.0))]
)
def test_a_range_that_leaves_its_field_is_refused(of: Range) -> None:
    """Such a one passed no reading; its values would be outside too."""
    with pytest.raises(ValueError, match="leaves the field's limits 0 to 1"):
        quantiles(of, np.array([0.5]), 0.0, 1.0)


# Points.


def test_the_seed_decides_zero_included() -> None:
    """The same seed gives the same points, and any other seed others."""
    first = [points(256, 3, seed) for seed in (0, 1, 2)]
    again = [points(256, 3, seed) for seed in (0, 1, 2)]
    for (i, one), (j, other) in product(enumerate(first), enumerate(again)):
        assert np.array_equal(one, other) == (i == j)


@pytest.mark.parametrize("draws", [1, 2, 64, 1024])
def test_each_slice_of_each_dimension_holds_one_point(draws: int) -> None:
    """What sets such points apart from plain chance; and none lies at an end."""
    cube = points(draws, 9, 7)
    assert cube.shape == (draws, 9)
    # Each in the middle of its cell of width 2^-30, hence never at 0, however many are drawn.
    np.testing.assert_array_equal(cube * 2.0**31 % 2, np.ones((draws, 9)))
    np.testing.assert_array_equal(np.sort(np.floor(cube * draws), axis=0), np.arange(draws)[:, None] + np.zeros(9))


def test_more_draws_keep_the_earlier_ones() -> None:
    """So that a study with more draws refines the one before; nothing to draw gives rows without columns."""
    np.testing.assert_array_equal(points(512, 4, 0)[:128], points(128, 4, 0))
    assert points(16, 0, 0).shape == (16, 0)


@pytest.mark.parametrize(
    ("draws", "words"), [(1000, "write 512 or 1024"), (3, "write 2 or 4"), (0, "from 1 to"), (2**31, "from 1 to")]
)
def test_other_numbers_of_draws_are_refused(draws: int, words: str) -> None:
    """With the two nearest that would do, before any memory is taken."""
    with pytest.raises(ValueError, match=words):
        points(draws, 2, 0)


def test_a_negative_seed_is_refused() -> None:
    """In our own words."""
    with pytest.raises(ValueError, match="the seed is -1; write 0 or more"):
        points(8, 2, -1)


# Ties.


def test_the_identity_changes_nothing() -> None:
    """To the last bit, and what comes back is another array."""
    cube = points(128, 4, 5)
    same = joined(cube, rank_matrix(NAMES, []))
    np.testing.assert_array_equal(same, cube)
    assert same is not cube


def test_a_tie_moves_only_the_later_of_the_two() -> None:
    """Others stay to the last bit, in whichever order the pair is written."""
    cube = points(128, 4, 5)
    for pair in (("rise", "yield"), ("yield", "rise")):
        tied = joined(cube, rank_matrix(NAMES, [(*pair, 0.6)]))
        np.testing.assert_array_equal(tied[:, [0, 1, 3]], cube[:, [0, 1, 3]])
        assert spearman(tied[:, 0], tied[:, 2]) == pytest.approx(0.6, abs=0.03)


@pytest.mark.parametrize("rank", [1.0, -1.0])
def test_a_full_tie_makes_two_numbers_one(rank: float) -> None:
    """The same share of both, or what is left of one; also through a third, and after an independent one."""
    ties = [("inflation", "yield", rank), ("yield", "growth", rank), ("inflation", "growth", 1.0)]
    cube = points(256, 4, 2)
    tied = joined(cube, rank_matrix(NAMES, ties))
    np.testing.assert_array_equal(tied[:, 0], cube[:, 0])
    np.testing.assert_allclose(tied[:, 3], tied[:, 1], atol=1e-12)
    np.testing.assert_allclose(tied[:, 2], tied[:, 1] if rank > 0 else 1 - tied[:, 1], atol=1e-12)


def test_several_ties_hold_at_once() -> None:
    """Every pair of four has its rank correlation, and each number by itself still covers 0 to 1 evenly."""
    wanted = {(0, 1): 0.6, (0, 2): -0.3, (1, 2): 0.2, (2, 3): 0.5, (0, 3): 0.0, (1, 3): 0.4}
    ties = [(NAMES[i], NAMES[j], rank) for (i, j), rank in wanted.items()]
    tied = joined(points(4096, 4, 3), rank_matrix(NAMES, ties))
    for (i, j), rank in wanted.items():
        assert spearman(tied[:, i], tied[:, j]) == pytest.approx(rank, abs=0.01)
    evenly = (np.arange(4096)[:, None] + 0.5) / 4096
    assert np.abs(np.sort(tied, axis=0) - evenly).max() < 0.01


def test_a_case_does_not_depend_on_its_neighbours() -> None:
    """Any order, any part, leading axes: the same bits."""
    matrix = rank_matrix(NAMES, [("rise", "inflation", 0.6), ("inflation", "yield", 0.4), ("rise", "growth", -0.5)])
    cube = points(512, 4, 8)
    tied, order = joined(cube, matrix), np.random.default_rng(0).permutation(512)
    np.testing.assert_array_equal(joined(cube[order], matrix), tied[order])
    np.testing.assert_array_equal(joined(cube[77:80], matrix), tied[77:80])
    np.testing.assert_array_equal(joined(cube.reshape(8, 64, 4), matrix), tied.reshape(8, 64, 4))


def test_shares_far_out_stay_inside() -> None:
    """Extremes that add up would round to 1, where a bell curve has no value."""
    matrix = rank_matrix(NAMES[:3], [("rise", "yield", 0.65), ("inflation", "yield", 0.65)])
    far = np.array([[1e-12, 1e-12, 1e-12], [1 - 1e-12] * 3])
    tied = joined(far, matrix)
    assert tied.min() > 0 and tied.max() < 1
    assert np.isfinite(quantiles(Range(LIFE, (14.0, 3.0)), tied, 1.0, 100.0)).all()


@pytest.mark.parametrize(
    ("ties", "words"),
    [
        ([("rise", "price", 0.5)], "rise with price: price is not a range that is drawn"),
        ([("rise", "rise", 0.5)], "rise with rise: a number always goes with itself"),
        ([("rise", "yield", 0.5), ("yield", "rise", 0.5)], "yield with rise: is stated twice"),
        ([("rise", "yield", 1.2)], "rise with yield: is 1.2; a rank correlation lies between -1 and 1"),
        ([("rise", "yield", math.nan)], "rise with yield: is nan"),
    ],
)
def test_a_tie_that_means_nothing_is_refused(ties: list[tuple[str, str, float]], words: str) -> None:
    """By the name of the pair."""
    with pytest.raises(ValueError, match=words):
        rank_matrix(NAMES, ties)


IMPOSSIBLE = [
    # The third is missing, so it counts as independent.
    [("rise", "inflation", 0.9), ("inflation", "yield", 0.9)],
    # Only the first three conflict.
    [("rise", "inflation", 0.9), ("inflation", "yield", 0.9), ("rise", "yield", -0.5), ("growth", "yield", 0.2)],
    # Two that are one cannot go with a third differently: a single value is left.
    [("rise", "inflation", 1.0), ("inflation", "yield", 0.3), ("rise", "yield", 0.9)],
    # Any three of the four go together.
    [("rise", "inflation", 0.6), ("rise", "yield", 0.6), ("rise", "growth", 0.6)],
    [(a, b, -0.4) for i, a in enumerate(NAMES) for b in NAMES[i + 1 :]],
]


@pytest.mark.parametrize("ties", IMPOSSIBLE)
def test_what_cannot_hold_together_is_named_and_mended(ties: list[tuple[str, str, float]]) -> None:
    """The pairs named conflict, none of their numbers can be spared, and the value offered is the nearest that does."""
    with pytest.raises(ValueError, match="cannot all hold") as caught:
        rank_matrix(NAMES, ties)
    words = str(caught.value).split(": cannot")[0].split(", and independent")[0].split(", ")
    named = [tie for tie in ties if f"{tie[0]} with {tie[1]} {tie[2]:g}" in words]
    assert len(named) == len(words) >= 2
    members = [name for name in NAMES if any(name in tie for tie in named)]
    for spared in members:
        rest = [name for name in members if name != spared]
        rank_matrix(rest, [tie for tie in named if spared not in tie])
    one, other, wrong = named[-1]
    assert f"nearest possible for {one} with {other} is " in str(caught.value)
    offered = float(str(caught.value).split(" is ")[-1])

    def holds(rank: float) -> bool:
        scores = np.eye(len(members))
        for a, b, value in [*named[:-1], (one, other, rank)]:
            i, j = members.index(a), members.index(b)
            scores[i, j] = scores[j, i] = 2 * math.sin(math.pi * value / 6)
        return bool(np.linalg.eigvalsh(scores).min() > -1e-9)

    assert holds(offered)
    step = math.copysign(0.001, wrong - offered)
    assert not any(holds(offered + step * k) for k in range(1, int(abs(wrong - offered) / 0.001) + 1))
    rank_matrix(members, [*named[:-1], (one, other, offered)])


def test_pairs_that_hold_are_left_out_of_the_complaint() -> None:
    """And a pair that is not stated is named where its independence is what cannot hold."""
    with pytest.raises(ValueError, match="cannot all hold") as caught:
        rank_matrix(NAMES, IMPOSSIBLE[1])
    assert "growth" not in str(caught.value) and "independent" not in str(caught.value)
    with pytest.raises(ValueError, match="and independent as not stated rise with yield: cannot all hold"):
        rank_matrix(NAMES, IMPOSSIBLE[0])


def test_a_matrix_that_no_numbers_can_have_is_refused() -> None:
    """Also one of another size than the points."""
    with pytest.raises(ValueError, match="no numbers can have"):
        joined(points(8, 3, 0), np.array([[1, 0.9, 0], [0.9, 1, 0.9], [0, 0.9, 1]]))
    with pytest.raises(ValueError, match=r"3 dimensions need correlations \(3, 3\), not \(2, 2\)"):
        joined(points(8, 3, 0), np.eye(2))
