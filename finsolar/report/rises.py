"""The sweep over price rises, and what rises were before now, as plain values."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from finsolar.report.numbers import value, values
from finsolar.report.words.reasons_told import ONE_NUMBER, RISE

if TYPE_CHECKING:
    from finsolar.uncertainty.price_history import History, Series
    from finsolar.uncertainty.rises import OwnRise, RiseSweep


def sweep_as_plain(sweep: RiseSweep) -> dict[str, Any]:
    """Figures by rise, per year; ``own`` : the rise of the scenario, ``history`` : what prices did before now."""
    return {
        "input": RISE,
        "values": values(sweep.rises),
        "own": None if sweep.own is None else _own(sweep.own),
        "history": None if sweep.history is None else _history(sweep.history),
        "reasons": dict(sweep.reasons),
        "alternatives": [
            {
                "name": name,
                "npv": values(sweep.npv[i]),
                "simple_payback": values(sweep.simple_payback[i]),
                "discounted_payback": values(sweep.discounted_payback[i]),
            }
            for i, name in enumerate(sweep.names)
        ],
    }


def _own(own: OwnRise) -> dict[str, Any]:
    return asdict(own) | {"reasons": {} if own.p10 is not None else dict.fromkeys(("p10", "p90"), ONE_NUMBER)}


def _history(history: History) -> dict[str, Any]:
    """``quotes`` are what is used, ``others`` further prints of the same years, ``missing`` the years without any.

    ``windows`` : compound rises per year by the name of the series, ``real`` that of electricity over all items;
    ``changes`` : mean and standard deviation of the changes from year to year.
    """
    from finsolar.uncertainty.price_history import windows

    years = history.price.years
    return {
        "country": history.country,
        "where": history.where,
        "series": [_series(one, years[0], years[-1]) for one in history.series],
        "windows": [asdict(window) for window in windows(history)],
    }


def _series(series: Series, first: int, last: int) -> dict[str, Any]:
    from finsolar.uncertainty.price_history import changes_between, mean_and_spread

    mean, sd = mean_and_spread(changes_between(series, first, last))
    return {
        "name": series.name,
        "title": series.title,
        "unit": series.unit,
        "publisher": series.publisher,
        "source": series.source,
        "quotes": [asdict(quote) for quote in series.quotes],
        "others": [asdict(quote) for quote in series.others],
        "missing": [{"year": year, "why": why} for year, why in series.missing.items()],
        "changes": {"first": first, "last": last, "mean": value(mean), "sd": value(sd)},
    }
