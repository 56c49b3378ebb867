"""The words of the charts of the yearly price rise, and of the marks under their lines."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from finsolar.report.words.amounts import money, per_cent

Plain = dict[str, Any]

AXIS = "Yearly rise of the price of energy, %"
NPV_TITLE = "If prices rise faster or slower: NPV"
PAYBACK_TITLE = "If prices rise faster or slower: years until paid back for good"
PAYBACK_AXIS = "Simple payback, years"


def npv_axis(currency: str) -> str:
    """The title of the axis of NPV."""
    return f"NPV, {currency}"


def npv_alt(sweep: Plain, currency: str) -> str:
    """The chart of NPV for those who cannot see it: both ends of each line."""
    first, last = (per_cent(sweep["values"][k], 0) for k in (0, -1))
    ends = [
        f"{plan['name']}: {money(plan['npv'][0], currency)} at {first}, {money(plan['npv'][-1], currency)} at {last}."
        for plan in sweep["alternatives"]
    ]
    return f"Lines of NPV over the yearly rise of the price of energy, one for each alternative. {' '.join(ends)}"


def payback_alt(reading: str) -> str:
    """The chart of paybacks for those who cannot see it."""
    return f"Lines of the lasting simple payback over the yearly rise of the price of energy. {reading}"


def never(name: str) -> str:
    """The name of a line that has no point."""
    return f"{name}: never"


def marked(alt: str, marks: Sequence[str]) -> str:
    """``alt`` with what is marked."""
    return f"{alt} Marked: {'; '.join(marks)}."


def this_study(rise: float) -> str:
    """The mark of the rise that the study reckons with."""
    return f"this study: {per_cent(rise)}"


def since(years: int, last: int, rise: float) -> str:
    """The mark of the rise over so many years up to the last of the history."""
    return f"{years} y to {last}: {per_cent(rise)}"


def any_ten_years(slow: float, fast: float) -> str:
    """The mark of the slowest and the fastest ten years."""
    return f"any 10 y: {slow * 100:.1f}–{per_cent(fast)}"
