"""What the section of the years says whatever was found."""

from __future__ import annotations

from markupsafe import Markup

SIGNS = Markup(
    "Money to the household is positive. Year 0 is the day the system is switched on; the money of year <i>k</i> falls "
    "at its end. The lines of a year add up to its net."
)
YEAR = "Year"
NET = "Net"
RUNNING_TOTAL = "Running total"
DISCOUNTED = "Net, discounted"
ALL = "All"


def every_line(plan: str) -> Markup:
    """What unfolds the years of an alternative."""
    return Markup("“<bdi>{}</bdi>”, every line of every year").format(plan)


def table_of(plan: str) -> str:
    """The name of the table of an alternative's years."""
    return f"Cash flow of {plan}"


def caption(currency: str) -> str:
    """The caption of the years."""
    return f"Cash flow, {currency} of each year"
