"""Rises of the past: each number with its source, each window what its two ends say, nothing filled in."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.scenario.rises import growth
from finsolar.uncertainty.price_history import (
    HISTORIES,
    Quote,
    Series,
    changes_between,
    compound_rise,
    history_of,
    mean_and_spread,
    rise_between,
    windows,
)

US = HISTORIES["US"]
PRICES = st.lists(st.floats(0.5, 500), min_size=3, max_size=40)


def of(prices: list[float]) -> Series:
    """A series from the year 2000 on."""
    quotes = tuple(Quote(2000 + k, price, "first print", "seen") for k, price in enumerate(prices))
    return Series("made", "A made-up price", "cents", "Nobody", "nowhere", quotes)


@given(PRICES)
def test_the_compound_rise_leads_from_the_first_price_to_the_last(prices: list[float]) -> None:
    """And so do the yearly changes one after another, whose mean is never below it."""
    series, last = of(prices), 2000 + len(prices) - 1

    rise, changes = rise_between(series, 2000, last), changes_between(series, 2000, last)

    assert prices[0] * growth(rise, len(prices))[-1] == pytest.approx(prices[-1], rel=1e-9)
    assert prices[0] * growth(changes, len(prices)) == pytest.approx(prices, rel=1e-9)
    assert mean_and_spread(changes)[0] >= rise - 1e-9


def test_an_even_rise_has_no_spread_and_its_mean_is_the_rise() -> None:
    changes = changes_between(of(list(10 * growth(0.03, 12))), 2000, 2011)
    assert mean_and_spread(changes) == (pytest.approx(0.03, rel=1e-12), pytest.approx(0, abs=1e-12))
    assert mean_and_spread([0.01, 0.05]) == pytest.approx((0.03, np.sqrt(2 * 0.02**2)))


def test_rises_broadcast() -> None:
    found = compound_rise([[1.0], [4.0]], 4.0, [1, 2])
    np.testing.assert_allclose(found, [[3, 1], [0, 0]])


@pytest.mark.parametrize(("first", "last", "years"), [(0, 1, 1), (1, 0, 1), (1, 1, 0), (1, -2, 3), (1, 2, -1)])
def test_what_has_no_compound_rise_is_refused(first: float, last: float, years: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        compound_rise(first, last, years)


def test_years_without_a_number_are_refused_with_the_reason() -> None:
    series = replace(of([1.0, 2.0, 3.0]), missing={2003: "it was lost"})
    with pytest.raises(ValueError, match=r"^A made-up price: 2003 is not known.*it was lost$"):
        series.at(2003)
    with pytest.raises(ValueError, match=r"1999 is not known.*the series holds 2000 to 2002$"):
        series.at(1999)
    with pytest.raises(ValueError, match="no change lies between 2002 and 2002"):
        changes_between(series, 2002, 2002)
    with pytest.raises(ValueError, match="two yearly changes"):
        mean_and_spread(changes_between(series, 2001, 2002))


def test_windows_end_at_the_last_year_known_and_the_extremes_are_those_of_all() -> None:
    ten, twenty, slow, fast = windows(US)
    last = US.price.years[-1]

    assert (ten.first, ten.last) == (last - 10, last) and (twenty.first, twenty.last) == (last - 20, last)
    every = {first: rise_between(US.price, first, first + 10) for first in range(2000, last - 9)}
    assert len(every) == 15
    assert slow.rises["price"] == min(every.values()) == every[slow.first] and slow.last == slow.first + 10
    assert fast.rises["price"] == max(every.values()) == every[fast.first] and fast.last == fast.first + 10
    for each in windows(US):
        for series in US.series:
            rise = each.rises[series.name]
            assert series.at(each.first) * (1 + rise) ** (each.last - each.first) == pytest.approx(series.at(each.last))
        assert (1 + each.real) * (1 + each.rises["all_items"]) == pytest.approx(1 + each.rises["electricity"])


@pytest.mark.parametrize("end", ["first", "last"])
def test_a_window_whose_end_is_missing_is_no_candidate(end: str) -> None:
    """The slowest ten years go when their first or their last year does."""
    slow = windows(US)[2]
    gone = getattr(slow, end)
    price = replace(US.price, quotes=tuple(quote for quote in US.price.quotes if quote.year != gone))
    other = windows(replace(US, price=price))[2]
    assert gone not in (other.first, other.last)
    assert other.rises["price"] > slow.rises["price"]


def test_every_series_is_in_order_and_says_where_its_numbers_come_from() -> None:
    for code, history in HISTORIES.items():
        assert history_of(code) is history and history.country == code
        for series in history.series:
            assert list(series.years) == sorted(set(series.years))
            assert not set(series.missing) & set(series.years)
            assert series.publisher and series.source and series.unit
            for quote in (*series.quotes, *series.others):
                assert quote.value > 0 and quote.vintage and quote.known in {"seen", "memory"}
            assert {quote.year for quote in series.others} <= set(series.years)
    # Of the prices eleven were read and fourteen recalled: the latest two among them.
    assert [quote.year for quote in US.price.quotes if quote.known == "seen"] == [
        *range(2000, 2006), 2009, 2011, 2020, 2021, 2022,
    ]  # fmt: skip


def test_no_number_was_mistyped() -> None:
    """Control sums of the three columns as noted down; and two prints of one year lie within 2 % of one another."""
    sums = [sum(quote.value for quote in series.quotes) for series in US.series]
    assert sums == pytest.approx([294.29, 5139.472, 6070.142], abs=1e-6)
    for other in US.price.others:
        assert other.value == pytest.approx(US.price.at(other.year), rel=0.02)


def test_no_other_country_has_a_history() -> None:
    assert history_of("DE") is None and history_of("us") is None
