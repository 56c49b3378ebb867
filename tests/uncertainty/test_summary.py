"""Many cases in a few figures: against numpy's own percentiles, draws of known spread, and cases without the figure."""

from __future__ import annotations

import re
from math import isnan, nan, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import array_shapes, arrays

from finsolar.uncertainty.summary import NOTICED, Summary, chance, enough, fan, histogram, summarise

numbers = st.floats(-1e9, 1e9, allow_subnormal=False)
cases = arrays(np.float64, array_shapes(min_dims=2, max_dims=2, max_side=9), elements=numbers)
gapped = arrays(np.float64, array_shapes(min_dims=2, max_dims=2, max_side=9), elements=numbers | st.just(nan))


def rounded(values: np.ndarray) -> float:
    """What rounding may do to a figure of these values."""
    return 1e-12 * max(1.0, float(np.abs(values).max()))


# --- estimates ---


@given(cases)
@settings(max_examples=40)
def test_estimates_are_those_of_all_cases_together(values: np.ndarray) -> None:
    found = summarise(values)
    assert found.mean == pytest.approx(values.mean(), abs=rounded(values))
    assert [found.p10, found.p50, found.p90] == pytest.approx(
        np.percentile(values, [10, 50, 90]), abs=rounded(values), rel=0
    )
    assert found.none == 0


@given(gapped)
@settings(max_examples=40)
def test_cases_left_out_are_as_if_never_drawn_but_counted(values: np.ndarray) -> None:
    found, missing = summarise(values), np.isnan(values)
    assert found.none == missing.mean()
    if missing.all():
        assert all(isnan(each) for each in (found.mean, found.p10, found.p50, found.p90))
        return
    alone = summarise(values[~missing][None])
    assert (found.p10, found.p50, found.p90) == (alone.p10, alone.p50, alone.p90)
    assert found.mean == pytest.approx(alone.mean, abs=rounded(values[~missing]))


@given(gapped)
@settings(max_examples=40)
def test_never_is_later_than_every_number(values: np.ndarray) -> None:
    found = summarise(values, none_is="late")
    far = 1e12
    stand_in = np.percentile(np.where(np.isnan(values), far, values), [10, 50, 90])
    for percentile, other in zip((found.p10, found.p50, found.p90), stand_in, strict=True):
        # What falls among the late, or between them and the rest, is pulled far out by the number standing for never.
        if isnan(percentile):
            assert other > 2e9
        else:
            assert percentile == pytest.approx(other, abs=1e-3)
    assert found.mean == pytest.approx(summarise(values).mean, nan_ok=True)


def test_p90_of_a_payback_is_never_from_ten_per_cent_of_never() -> None:
    paid_back = np.arange(100.0)
    for never, p90_is_a_number in ((9, True), (10, False), (11, False)):
        values = paid_back.copy()
        values[100 - never :] = nan
        found = summarise(values[None], none_is="late")
        assert isnan(found.p90) is not p90_is_a_number
        assert found.p50 == pytest.approx(49.5)
        assert found.none == never / 100


@given(cases, st.randoms(use_true_random=False))
@settings(max_examples=40)
def test_the_order_of_the_cases_changes_nothing(values: np.ndarray, dice) -> None:
    order = list(range(values.shape[1]))
    dice.shuffle(order)
    found, again = summarise(values), summarise(values[:, order])
    assert (found.p10, found.p50, found.p90) == (again.p10, again.p50, again.p90)
    assert (found.p10_error, found.p90_error) == pytest.approx((again.p10_error, again.p90_error), nan_ok=True)
    assert found.mean == pytest.approx(again.mean, abs=rounded(values))


@given(st.floats(-1e12, 1e12), st.integers(2, 8), st.integers(1, 130))
@settings(max_examples=40)
def test_equal_cases_are_that_case_exactly(value: float, replicates: int, draws: int) -> None:
    same = np.full((replicates, draws), value)
    assert summarise(same) == Summary(value, value, value, value, 0.0, 0.0, 0.0, 0.0, 0.0)
    bundle = fan(np.full((draws, 3), value))
    assert (bundle.p10 == value).all() and (bundle.p50 == value).all() and (bundle.p90 == value).all()


# --- errors ---


def test_errors_tell_how_far_the_estimates_are_off() -> None:
    dice = np.random.default_rng(3)
    sets = [dice.normal(size=(8, 64)) for _ in range(400)]
    found = [summarise(each) for each in sets]
    # Plain draws: variance 1/512 of the mean; the percentiles are judged by what 400 sets scatter.
    assert np.mean([each.error**2 for each in found]) == pytest.approx(1 / 512, rel=0.1)
    for name in ("p10", "p50", "p90"):
        scatter = np.std([getattr(each, name) for each in found])
        assert np.mean([getattr(each, f"{name}_error") ** 2 for each in found]) == pytest.approx(scatter**2, rel=0.2)
    # Student's t with 7 degrees of freedom: 91.4 % of the means lie within two standard errors.
    assert np.mean([abs(each.mean) <= 2 * each.error for each in found]) == pytest.approx(0.914, abs=0.04)


def test_a_single_replicate_has_no_error() -> None:
    found = summarise([[1.0, 2.0, 4.0]])
    assert isnan(found.error) and isnan(found.p10_error) and isnan(found.p50_error) and isnan(found.p90_error)
    assert isnan(chance([[True, False]]).error)


def test_a_replicate_without_the_estimate_leaves_no_error_of_it() -> None:
    found = summarise([[1.0, 2.0], [nan, nan]])
    assert found.mean == 1.5
    assert isnan(found.error)
    late = summarise([[1.0, 2.0, 3.0], [1.0, 2.0, nan]], none_is="late")
    assert late.p50_error == 0.0
    assert isnan(late.p90_error)


# --- chances ---


def test_a_chance_and_its_error() -> None:
    dice = np.random.default_rng(5)
    found = [chance(dice.random((8, 128)) < 0.3) for _ in range(400)]
    assert np.mean([each.share for each in found]) == pytest.approx(0.3, abs=4 * sqrt(0.21 / (400 * 1024)))
    assert np.mean([each.error**2 for each in found]) == pytest.approx(0.21 / 1024, rel=0.1)


def test_never_is_not_within_any_term() -> None:
    payback = np.array([[4.0, nan, 12.0, 8.0], [nan, nan, 3.0, 9.0]])
    assert chance(payback <= 10.0).share == 0.5


def test_certain_either_way() -> None:
    assert (chance(np.ones((4, 8), dtype=bool)).share, chance(np.ones((4, 8), dtype=bool)).error) == (1.0, 0.0)
    assert (chance(np.zeros((4, 8), dtype=bool)).share, chance(np.zeros((4, 8), dtype=bool)).error) == (0.0, 0.0)


# --- pictures ---


@given(gapped, st.integers(1, 40))
@settings(max_examples=40)
def test_every_case_is_in_one_bar_or_left_out(values: np.ndarray, bins: int) -> None:
    found = histogram(values.ravel(), bins)
    present = values[~np.isnan(values)]
    assert found.counts.sum() == present.size
    assert found.left_out == values.size - present.size
    assert len(found.edges) == (len(found.counts) + 1 if present.size else 0)
    assert (np.diff(found.edges) > 0).all()
    if present.size:
        assert found.edges[0] <= present.min() and present.max() <= found.edges[-1]


def test_bars_hold_what_lies_between_their_edges() -> None:
    found = histogram([0.0, 1.0, 1.5, 2.0, 9.0, 10.0, nan], bins=5)
    assert found.edges == pytest.approx([0, 2, 4, 6, 8, 10])
    assert found.counts.tolist() == [3, 1, 0, 0, 2]
    assert found.left_out == 1


@pytest.mark.parametrize("value", [0.0, 5e-324, 0.05, -12_345.678, 1e20])
def test_values_equal_up_to_rounding_share_one_bar(value: float) -> None:
    found = histogram([value, np.nextafter(value, 2 * value), value])
    assert found.counts.tolist() == [3]
    assert found.edges[0] < value < found.edges[1]


def test_nothing_to_draw() -> None:
    found = histogram([nan, nan])
    assert (len(found.edges), len(found.counts), found.left_out) == (0, 0, 2)


def test_a_fan_is_the_percentiles_of_each_year() -> None:
    totals = np.random.default_rng(8).normal(size=(200, 4)).cumsum(axis=1)
    found = fan(totals)
    assert np.stack([found.p10, found.p50, found.p90]) == pytest.approx(np.percentile(totals, [10, 50, 90], axis=0))
    assert found.p90[-1] == summarise(totals[None, :, -1]).p90


# --- enough draws? ---


def known(error: float, p10_error: float = 0.0, span: float = 500.0) -> Summary:
    """An NPV with these errors."""
    return Summary(100.0, 100.0 - span / 2, 100.0, 100.0 + span / 2, 0.0, error, p10_error, 0.0, 0.0)


def test_enough_draws() -> None:
    assert enough(known(15.0, 39.0), 10_000.0) == (
        "the mean is known to within 0.3 % of the outlay and each percentile to within 0.8 %; more draws would change "
        "nothing you would notice"
    )
    # Just at the limit of 1 %, and an error too small for the decimals, rounded up rather than away.
    assert enough(known(50.0, 0.01), 10_000.0).startswith(
        "the mean is known to within 1.0 % of the outlay and each per"
    )
    assert "each percentile to within 0.1 %" in enough(known(50.0, 0.01), 10_000.0)


@pytest.mark.parametrize(
    ("error", "advice"),
    [
        (51.0, "to within 1.1 % of the outlay; draw twice as many"),
        (100.0, "to within 2.0 % of the outlay; draw four times as many"),
        (101.0, "to within 2.1 % of the outlay; draw 8 times as many"),
        (400.0, "to within 8.0 % of the outlay; draw 64 times as many"),
    ],
)
def test_too_few_draws(error: float, advice: str) -> None:
    assert enough(known(error), 10_000.0) == f"the mean is known only {advice}"
    assert enough(known(0.0, error), 10_000.0) == f"P10 is known only {advice}"


def test_the_advice_suffices() -> None:
    dice = np.random.default_rng(12)
    after = []
    for _ in range(40):
        few = summarise(dice.normal(0.0, 4_000.0, (8, 256)))
        often = re.search(r"draw (twice|four times|\d+ times) as many$", enough(few, 10_000.0))
        assert often
        times = {"twice": 2, "four times": 4}.get(often[1]) or int(often[1].split()[0])
        many = summarise(dice.normal(0.0, 4_000.0, (8, 256 * times)))
        after.append(2 * max(many.error, many.p10_error, many.p50_error, many.p90_error) / 10_000.0)
    # By and large: errors from 8 replicates are themselves known to about a quarter.
    assert np.mean(after) <= NOTICED
    assert max(after) <= 2 * NOTICED


def test_without_an_outlay_the_span_measures_the_error() -> None:
    assert "0.4 % of the span from P10 to P90" in enough(known(1.0), 0.0)
    assert "neither an outlay nor a span" in enough(known(1.0, span=0.0), 0.0)


def test_nothing_to_doubt_and_nothing_to_tell() -> None:
    assert "more draws would change nothing" in enough(known(0.0), 0.0)
    assert "cannot be told" in enough(summarise([[1.0, 2.0]]), 10_000.0)


# --- bad input ---


@pytest.mark.parametrize("values", [[1.0, 2.0], [[]], [[[1.0]]], np.empty((0, 4))])
def test_cases_come_by_replicate_and_draw(values) -> None:
    with pytest.raises(ValueError, match=r"replicates, draws"):
        summarise(values)
    with pytest.raises(ValueError, match=r"replicates, draws"):
        chance(values)


def test_what_cannot_be_summed_up_is_refused() -> None:
    with pytest.raises(ValueError, match="never infinite"):
        summarise([[1.0, np.inf]])
    with pytest.raises(ValueError, match="'late' or 'left out', not 'early'"):
        summarise([[1.0]], none_is="early")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="at least one bar, not 0"):
        histogram([1.0, 2.0], bins=0)
    with pytest.raises(ValueError, match="never infinite"):
        histogram([1.0, -np.inf])
    with pytest.raises(ValueError, match="in every case and year"):
        fan([[1.0, nan]])
    with pytest.raises(ValueError, match=r"\(cases, years \+ 1\)"):
        fan([1.0, 2.0])
