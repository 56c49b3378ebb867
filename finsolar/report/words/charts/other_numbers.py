"""The words of the answer at other numbers: its sliders, its table, and its chart.

What holds names in braces is a pattern that the page fills in.
"""

from __future__ import annotations

from collections.abc import Sequence

from finsolar.report.words.amounts import per_cent, years_told
from finsolar.report.words.charts.figures import RUNNING_TITLE

READING = (
    "Where a line stands above zero, the system has paid for itself; not discounted, and at these numbers, “{name}” "
    "ends highest, at {end} after {years}."
)
LINES = "Line chart."
ALT = "{name}: starts at {start}, ends at {end}."


def title(worth: str) -> str:
    """What the chart is called; ``worth`` : `in_cash.with_worth`."""
    return f"{RUNNING_TITLE}{worth}, at these numbers"


def caption(worth: str) -> str:
    """The head of its table; ``worth`` as above."""
    return f"Running total at the end of each year at these numbers, against staying as you are{worth}"


def slider_label(key: str, real: bool) -> str:
    """What the slider of a number is called; ``real`` : whether the discount rate is one above inflation."""
    rate = "Discount rate, real: above inflation" if real else "Discount rate, nominal"
    return {
        "price_rise": "The price of energy rises by",
        "purchase_price": "Purchase price",
        "discount_rate": rate,
    }[key]


def stop(key: str, number: float | None, own: bool) -> str:
    """A stop of a slider, where there is no single number too; ``own`` : whether it is the scenario’s."""
    if number is None:
        words = "not all alike, or not in every year"
    else:
        words = f"{_percent(number)} of what is stated" if key == "purchase_price" else f"{_percent(number)} a year"
    return f"{words}, as in the scenario" if own else words


def _percent(share: float) -> str:
    """A share with as many digits as it is stated with, two at most."""
    return per_cent(share, next((k for k in (0, 1) if abs(share * 100 - round(share * 100, k)) < 1e-6), 2))


def reading(name: str, end: str, years: int) -> str:
    """Whose running total ends highest."""
    return READING.format(name=name, end=end, years=years_told(years))


def alt(ends: Sequence[tuple[str, str, str]]) -> str:
    """The chart for those who cannot see it; ``ends`` : name, start and end of each line."""
    return " ".join([LINES, *(ALT.format(name=name, start=start, end=end) for name, start, end in ends)])
