"""How prices of electricity rose before now: small annual series with the source of each number, by country.

A year that is not known is refused and never filled in; two prints of one year are never mixed.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.money.rates import real_rate

Array = NDArray[np.float64]
Known = Literal["seen", "memory"]


@dataclass(frozen=True)
class Quote:
    """The average of a year as one print has it; ``known`` : seen where it was printed, or from memory."""

    year: int
    value: float
    vintage: str
    known: Known


@dataclass(frozen=True)
class Series:
    """Yearly averages of one price or index.

    publisher : whose count it is; quotes : one for each year that is known; missing : why a year has none; others :
    further prints of the same years, which are never used beside ``quotes``.
    """

    name: str
    title: str
    unit: str
    publisher: str
    source: str
    quotes: tuple[Quote, ...]
    missing: dict[int, str] = field(default_factory=dict)
    others: tuple[Quote, ...] = ()

    @property
    def years(self) -> tuple[int, ...]:
        """The years that are known, in order."""
        return tuple(quote.year for quote in self.quotes)

    def at(self, year: int) -> float:
        """The average of a year, in ``unit``. Raises ValueError, with the reason, where it is not known."""
        for quote in self.quotes:
            if quote.year == year:
                return quote.value
        why = self.missing.get(year, f"the series holds {self.years[0]} to {self.years[-1]}")
        raise ValueError(f"{self.title}: {year} is not known, and nothing is put in its place; {why}")


@dataclass(frozen=True)
class History:
    """What a country's households paid: ``price`` of electricity, and two indices, of electricity and of all items."""

    country: str
    where: str
    price: Series
    electricity: Series
    all_items: Series

    @property
    def series(self) -> tuple[Series, ...]:
        """The three series."""
        return self.price, self.electricity, self.all_items


@dataclass(frozen=True)
class Window:
    """The compound rise from the year ``first`` to the year ``last``, per year, of each series by name.

    real : that of the electricity index over that of all items.
    """

    kind: str
    first: int
    last: int
    rises: dict[str, float]
    real: float


def compound_rise(first: ArrayLike, last: ArrayLike, years: ArrayLike) -> Array:
    """The yearly rise that leads from one price to another.

    first, last : prices above zero, in one unit; years : between them, above zero; shapes broadcast. Returns their
    broadcast shape, per year. Raises ValueError for a price or a span that is not above zero.
    Equation: (last / first)^(1 / years) - 1. It is not the mean of the yearly changes, which lies above it wherever
    they differ.
    """
    start, end, span = (np.asarray(value, dtype=np.float64) for value in (first, last, years))
    if not (np.all(start > 0) and np.all(end > 0) and np.all(span > 0)):
        raise ValueError("a compound rise needs prices above zero and a span of years above zero")
    return np.asarray((end / start) ** (1.0 / span) - 1.0)


def rise_between(series: Series, first: int, last: int) -> float:
    """The compound rise of a series between two years, per year; what lies between them does not enter.

    Raises ValueError where one of the two is not known, or ``last`` does not come after ``first``.
    """
    return float(compound_rise(series.at(first), series.at(last), last - first))


def changes_between(series: Series, first: int, last: int) -> Array:
    """The change of every year on the year before, from ``first + 1`` to ``last``, (last - first,) per year.

    Raises ValueError where any year from ``first`` to ``last`` is not known, or ``last`` does not come after ``first``.
    """
    if last <= first:
        raise ValueError(f"no change lies between {first} and {last}")
    prices = np.array([series.at(year) for year in range(first, last + 1)])
    return compound_rise(prices[:-1], prices[1:], 1)


def mean_and_spread(changes: ArrayLike) -> tuple[float, float]:
    """The mean of yearly changes (years,), and their standard deviation with years - 1 in its divisor; per year.

    Raises ValueError for fewer than two changes.
    """
    found = np.asarray(changes, dtype=np.float64)
    if found.size < 2:
        raise ValueError("a spread needs two yearly changes or more")
    return float(found.mean()), float(found.std(ddof=1))


def windows(history: History) -> tuple[Window, ...]:
    """The rise over the last ten years and the last twenty, and over the ten in which the price rose least and most.

    Of the ten-year windows whose both ends are known; of equals the earlier.
    """
    years = history.price.years
    last = years[-1]
    tens = [year for year in years if year + 10 in years]

    def over(first: int) -> float:
        return rise_between(history.price, first, first + 10)

    chosen = (
        ("last ten years", last - 10, last),
        ("last twenty years", last - 20, last),
        ("slowest ten years", min(tens, key=over), min(tens, key=over) + 10),
        ("fastest ten years", max(tens, key=over), max(tens, key=over) + 10),
    )
    return tuple(window(history, *each) for each in chosen)


def window(history: History, kind: str, first: int, last: int) -> Window:
    """One window over all series of a country. Raises ValueError where one of them lacks one of the two years."""
    rises = {series.name: rise_between(series, first, last) for series in history.series}
    real = float(real_rate(rises[history.electricity.name], rises[history.all_items.name]))
    return Window(kind, first, last, rises, real)


def history_of(country: str) -> History | None:
    """The history of a country by its code of two letters; None where none is on hand."""
    return HISTORIES.get(country)


def _quotes(first: int, vintage: str, known: Known, averages: str) -> tuple[Quote, ...]:
    return tuple(Quote(first + k, float(text), vintage, known) for k, text in enumerate(averages.split()))


_ANNUAL = "annual census"

_US = History(
    country="US",
    where="the United States",
    price=Series(
        name="price",
        title="Average price of electricity for households",
        unit="US cents/kWh",
        publisher="U.S. Energy Information Administration",
        source="average residential price, Electric Power Annual, table 7.4, and Electric Power Monthly, table 5.3, in "
        "part as quoted by others",
        quotes=(
            *_quotes(2000, _ANNUAL, "seen", "8.24 8.58 8.44 8.72 8.95 9.45"),
            *_quotes(2006, _ANNUAL, "memory", "10.40 10.65 11.26"),
            *_quotes(2009, _ANNUAL, "seen", "11.51"),
            *_quotes(2010, _ANNUAL, "memory", "11.54"),
            *_quotes(2011, _ANNUAL, "seen", "11.72"),
            *_quotes(2012, _ANNUAL, "memory", "11.88 12.13 12.52 12.65 12.55 12.89 12.87 13.01"),
            *_quotes(2020, _ANNUAL, "seen", "13.15 13.66 15.04"),
            *_quotes(2023, _ANNUAL, "memory", "16.00"),
            *_quotes(2024, "preliminary", "memory", "16.48"),
        ),
        missing={2025: "its average was not known well enough"},
        others=(
            *_quotes(2002, "monthly survey", "seen", "8.43"),
            *_quotes(2004, "monthly survey", "seen", "8.94 9.43 10.37 10.64 11.25"),
            *_quotes(2010, "monthly survey", "seen", "11.55"),
            *_quotes(2011, "monthly survey, first print", "seen", "11.80"),
            *_quotes(2012, "rounded", "seen", "11.9 12"),
            *_quotes(2014, "rounded forecast", "seen", "12.5"),
            *_quotes(2019, "first print", "seen", "13.04"),
            *_quotes(2022, "first print", "memory", "15.12"),
            *_quotes(2023, "rounded", "seen", "16"),
        ),
    ),
    electricity=Series(
        name="electricity",
        title="Consumer prices, electricity",
        unit="1982-84 = 100",
        publisher="U.S. Bureau of Labor Statistics",
        source="CPI-U, U.S. city average, not seasonally adjusted, annual averages, "
        "CUUR0000SEHF01, as in the data of the Python package cpi 2.1.0",
        quotes=_quotes(
            2000,
            "annual average",
            "seen",
            "128.5 137.8 136.2 139.5 142.1 150.8 169.2 175.825 187.146 192.712 193.095 196.737 196.63 200.75 208.02 "
            "209.191 206.983 211.437 212.932 213.362 214.615 223.892 253.127 267.804 279.087 292.027",
        ),
    ),
    all_items=Series(
        name="all_items",
        title="Consumer prices, all items",
        unit="1982-84 = 100",
        publisher="U.S. Bureau of Labor Statistics",
        source="CPI-U, U.S. city average, not seasonally adjusted, annual averages, "
        "CUUR0000SA0, as in the data of the Python package cpi 2.1.0",
        quotes=_quotes(
            2000,
            "annual average",
            "seen",
            "172.2 177.1 179.9 184.0 188.9 195.3 201.6 207.342 215.303 214.537 218.056 224.939 229.594 232.957 236.736 "
            "237.017 240.007 245.12 251.107 255.657 258.811 270.97 292.655 304.702 313.689 321.943",
        ),
    ),
)

HISTORIES = {_US.country: _US}
"""By code of the country; others are simply not known here."""
