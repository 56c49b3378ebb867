"""The arithmetic of awards: bands, terms, credits used against tax, whole certificates."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.incentives.law import Band
from finsolar.incentives.streams import (
    capped_in_turn,
    certificates,
    mean_rate,
    over_bands,
    rest_of_year,
    term_weights,
    use_credit,
)

INF = float("inf")
FEED_IN = (Band(10, 8.2), Band(40, 7.1), Band(INF, 5.8))
LARGE_BATTERY = (Band(14, 1.0), Band(28, 0.6), Band(INF, 0.15))

amounts = st.floats(min_value=0, max_value=80_000)


@pytest.mark.parametrize(
    ("size", "total"), [(0, 0), (6, 49.2), (10, 82), (12, 96.2), (40, 295), (50, 353)], ids=lambda value: f"{value:g}"
)
def test_bands_are_marginal(size: float, total: float) -> None:
    """Each part of a size earns what its own band does; the whole never jumps to the next band."""
    assert float(over_bands(np.array(size), FEED_IN)) == pytest.approx(total)


def test_the_mean_rate_is_weighted_by_power() -> None:
    """12 kW earn (10 x 8.2 + 2 x 7.1) / 12; no size earns nothing, without a warning."""
    assert mean_rate(np.array([12.0, 10.0, 0.0]), FEED_IN).tolist() == pytest.approx([96.2 / 12, 8.2, 0.0])


@given(size=st.floats(0.01, 200), more=st.floats(0.001, 50))
def test_a_larger_size_never_earns_less_in_all_nor_more_for_each_unit(size: float, more: float) -> None:
    """With falling bands the total rises and the mean falls."""
    small, large = np.array(size), np.array(size + more)

    assert over_bands(large, FEED_IN) > over_bands(small, FEED_IN)
    assert mean_rate(large, FEED_IN) <= mean_rate(small, FEED_IN) * (1 + 1e-12)


@pytest.mark.parametrize(
    ("term", "years", "extra", "weights"),
    [
        (3, 5, 0, [1, 1, 1, 0, 0]),
        (INF, 3, 0, [1, 1, 1]),
        (2, 5, 0.25, [1, 1, 0.25, 0, 0]),
        (2, 5, 1.0, [1, 1, 1, 0, 0]),
        (20, 4, 0.5, [1, 1, 1, 1]),
    ],
    ids=["three years", "no limit", "to the year's end", "from 1 January", "beyond the study"],
)
def test_a_term_ends_within_a_year_if_it_must(term: float, years: int, extra: float, weights: list[float]) -> None:
    """A part of a year is paid as that part."""
    assert term_weights(term, years, extra).tolist() == weights


@pytest.mark.parametrize(
    ("day", "rest"),
    [
        (date(2026, 1, 1), 1.0),
        (date(2026, 12, 31), 1 / 365),
        (date(2028, 12, 31), 1 / 366),
        (date(2028, 2, 29), 307 / 366),
        (date(2026, 7, 1), 184 / 365),
    ],
    ids=str,
)
def test_the_rest_of_a_year_holds_the_day_itself(day: date, rest: float) -> None:
    """From 1 January a whole year is left, on 31 December one day, in leap years too."""
    assert rest_of_year(day) == pytest.approx(rest)


@given(day=st.dates(date(2000, 1, 1), date(2100, 12, 30)))
def test_the_rest_of_a_year_shrinks_day_by_day(day: date) -> None:
    """Each day takes one off, until the next year begins."""
    tomorrow = day + timedelta(days=1)

    assert 0 < rest_of_year(day) <= 1
    assert (rest_of_year(tomorrow) < rest_of_year(day)) == (tomorrow.year == day.year)


@pytest.mark.parametrize(
    ("size", "weights", "factor", "zone", "count"),
    [
        (6.6, (Band(INF, 1.0),), 5.0, 1.382, 45),  # 45.606
        (36.0, LARGE_BATTERY, 5.0, 1.0, 118),  # (14 + 8.4 + 1.2) x 5 = 118 by hand, 117.999... in binary
        (13.5, LARGE_BATTERY, 8.4, 1.0, 113),  # 113.4
        (30.0, LARGE_BATTERY, 8.4, 1.0, 190),  # (14 + 8.4 + 0.3) x 8.4 = 190.68
        (0.0, LARGE_BATTERY, 8.4, 1.0, 0),
        (0.3, (Band(INF, 1.0),), 3.0, 1.0, 0),
    ],
    ids=["rounded down", "whole by hand", "one band", "three bands", "nothing", "less than one"],
)
def test_certificates_are_rounded_down_once(
    size: float, weights: tuple[Band, ...], factor: float, zone: float, count: int
) -> None:
    """Size, weights, zone and factor are multiplied first; only the product is cut.

    Form of the calculation: Australian Clean Energy Regulator, small-scale technology certificates and batteries.
    """
    assert float(certificates(np.array(size), weights, factor, zone)) == count


def carried_by_hand(potential: float, taxes: list[float], carry_years: float) -> tuple[list[float], float]:
    """Return credit used by year and what is left: a purse emptied into one tax bill after another."""
    purse, used = potential, []
    for age, tax in enumerate(taxes):
        usable = purse if age <= carry_years else 0.0
        payment = tax if tax < usable else usable
        purse -= payment
        used.append(payment)
    return used, purse


@given(
    potential=amounts,
    taxes=st.lists(st.floats(min_value=0, max_value=20_000), min_size=1, max_size=12),
    carry_years=st.one_of(st.integers(min_value=0, max_value=12), st.just(INF)),
)
def test_use_of_a_credit_agrees_with_a_purse_emptied_by_hand(
    potential: float, taxes: list[float], carry_years: float
) -> None:
    """The array recursion is the plain one, year by year."""
    used, left = use_credit(np.array(potential), np.array(taxes), carry_years)
    by_hand, purse = carried_by_hand(potential, taxes, carry_years)

    assert by_hand == pytest.approx(used.tolist())
    assert purse == pytest.approx(float(left))


def test_a_credit_is_used_in_each_case_by_its_own_tax() -> None:
    """Cases on the credit, cases on the tax, or on both, give the same answers."""
    limit = np.array([[100.0, 50.0], [0.0, 500.0]])

    used, left = use_credit(np.array(200.0), limit, INF)
    again, rest = use_credit(np.array([[200.0], [20.0]]), limit, INF)

    assert used.tolist() == [[100, 50], [0, 200]]
    assert left.tolist() == [50, 0]
    assert again[0].tolist() == used.tolist()
    assert again[1].tolist() == [[20, 0], [0, 20]]
    assert rest.tolist() == [[50, 0], [0, 0]]


@given(
    values=st.lists(st.floats(0, 1_000), min_size=1, max_size=6),
    most=st.floats(0, 4_000),
)
def test_what_is_capped_in_turn_never_passes_the_cap_and_loses_nothing_below_it(
    values: list[float], most: float
) -> None:
    """Earlier years are filled first; each year stays between nothing and what it was."""
    cut = capped_in_turn(np.array(values), np.array(most))

    assert cut.sum() == pytest.approx(min(sum(values), most))
    assert (cut >= -1e-9).all() and (cut <= np.array(values) + 1e-9).all()
    assert cut[0] == pytest.approx(min(values[0], most))
