"""The words of the chart of the first year's bill by price period."""

from __future__ import annotations

from collections.abc import Sequence

from finsolar.report.words.amounts import money

REST = "Not by period"
TITLE = "The first year’s bill by price period"
MONEY_CAPTION = "The bill of the first year by price period: energy drawn, less what is paid for energy fed in"
PERIOD = "Period"
KWH_HEADS = {"drawn": "Drawn, kWh", "fed_in": "Fed in, kWh", "billed": "Charged for, kWh"}
MONEY_HEADS = {"energy": "Energy", "export_credit": "Export credit"}
"""Heads of columns, by key."""


def axis(currency: str) -> str:
    """The title of the axis of money."""
    return f"{currency} a year"


def alt(reading: str) -> str:
    """The chart for those who cannot see it."""
    return f"Bars for each price period. {reading} The tables below hold every amount and the kWh."


def rest_of(part: str) -> str:
    """The row of a part of the bill that belongs to no period."""
    return f"{REST}: {part}"


def kwh_caption(name: str) -> str:
    """What the table of the kWh of one bill holds."""
    return f"kWh and money by price period, first year: {name}"


def no_bar(name: str, why: str) -> str:
    """That a bill is not drawn."""
    return f"“{name}” has no bar: {why}."


def most_paid(name: str, period: str, amount: float, currency: str) -> str:
    """In which period a bill is highest."""
    return f"{name}: most is paid in “{period}”, {money(amount, currency)}."


def other_periods(name: str, rest: Sequence[float], currency: str) -> str:
    """That two tariffs share no period; ``rest`` : the charges without one, as it is and with the alternative."""
    return (
        f"“{name}” has a tariff with other price periods than staying; charges without a period "
        f"{_change(rest, currency)}."
    )


def falls_most(name: str, period: str, start: float, end: float, rest: Sequence[float], currency: str) -> str:
    """In which period an alternative lowers the bill most, from ``start`` to ``end``; ``rest`` as above."""
    less = "falls most" if start > end else "rises least"
    return (
        f"With “{name}” the bill {less} in “{period}”, from {money(start, currency)} to "
        f"{money(end, currency)} in the first year; charges without a period {_change(rest, currency)}."
    )


def _change(rest: Sequence[float], currency: str) -> str:
    """What the charges without a period do."""
    start, end = rest
    if abs(end - start) >= 0.5:
        return f"go from {money(start, currency)} to {money(end, currency)}"
    return f"come to {money(start, currency)}"
