"""The first year of a house by hour, as plain values: the average day of each season, and the weeks of the year."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from finsolar.energy.days import (
    BANDS,
    DAYS,
    SEASONS,
    AverageDays,
    average_days,
    by_month_and_band,
    by_week,
    exchange,
)
from finsolar.report.numbers import values

if TYPE_CHECKING:
    from finsolar.energy.balance import Hourly
    from finsolar.energy.clock import Clock


def days_as_plain(hourly: Hourly, clock: Clock, *, grid: bool) -> dict[str, Any]:
    """The keys ``average_days`` and ``weeks`` of a house's energy, first year.

    ``average_days`` : one for each season, with its ``months`` (12 for December), its ``days``, and by name, as in
    `AverageDays`, 24 hours of the wall clock, kW (``stored`` kWh). ``weeks`` : ``exchange`` kW, 53 weeks from 1 January
    of 24 hours each, above zero what is drawn, below what is fed in; off the grid (``grid`` false), above zero what
    the generator gives and what finds no source, below what of the sun finds no taker. ``by_month`` the same for each
    month by ``bands`` of hours.
    """
    first = hourly.years(slice(0, 1))
    found, steps = average_days(first, clock), exchange(first, grid=grid)
    return {
        "average_days": [
            {"months": [month + 1 for month in months], "days": int(DAYS[k])}
            | {each.name: values(getattr(found, each.name)[0, k]) for each in fields(AverageDays)}
            for k, months in enumerate(SEASONS)
        ],
        "weeks": {
            "grid": grid,
            "exchange": [values(week) for week in by_week(steps, clock)[0]],
            "bands": [list(band) for band in BANDS],
            "by_month": [values(month) for month in by_month_and_band(steps, clock)[0]],
        },
    }
