"""The hours of the first year and its bill by price period, as rows of the CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from finsolar.report.words import hours_told

Plain = dict[str, Any]
Row = tuple[Any, ...]


def day_rows(name: str, energy: Plain) -> Iterator[Row]:
    """The average day of each season by hour, and the exchange with the outside by month and part of the day.

    The weeks by hour are left to the JSON: they are thousands of rows.
    """
    for day in energy["average_days"]:
        for key, row in day.items():
            if key not in {"months", "days"}:
                unit = "kWh" if key == "stored" else "kW"
                for at, power in zip(hours_told.HOURS, row, strict=True):
                    yield name, "average day", key, 1, "", power, unit, f"{hours_told.season(day)}, {at}"
    weeks = energy["weeks"]
    for month, row in enumerate(weeks["by_month"], start=1):
        for band, power in zip(weeks["bands"], row, strict=True):
            yield name, "exchange", "average", 1, month, power, "kW", hours_told.band(band)


def period_rows(name: str, part: str, told: Plain, currency: str) -> Iterator[Row]:
    """The bill of the first year by price period; why there is no money, where there is none."""
    for period in told["periods"]:
        for key, unit in (("drawn", "kWh"), ("fed_in", "kWh"), ("billed", "kWh"), ("energy", currency),
                          ("export_credit", currency), ("money", currency)):  # fmt: skip
            number = "" if period[key] is None else period[key]
            note = told["reasons"]["money"] if period[key] is None else f"price period {period['name']}"
            yield name, f"{part} by period", key, 1, "", number, unit, note
    for component, amount in told["not_by_period"].items():
        yield name, f"{part} by period", component, 1, "", amount, currency, "not by period"
