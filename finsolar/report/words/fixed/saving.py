"""What the section of the savings says whatever was found."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

BILL = "Bill by part, first year"
BILL_CAPTION = "The bill of the first year, part by part"
PART = "Part"
YEAR = "Year"

DRAWER = "The bill in the drawer"
DRAWER_ASKED = (
    "Before its forecast is believed, the tariff was asked to reproduce bills of the past, line by line in whole cents."
)
PAST_BILLS = "Past bills, as billed and as computed"
PAST_HEAD = ("Bill", "Days", "kWh", "Billed", "Computed", "Difference")
ALL = "All"

MONTH = "Month"

ENERGY = "Energy of the first year"
ENERGY_CAPTION = "Energy of the first year, kWh"

FORESIGHT = "Against perfect foresight"
FORESIGHT_MEANS = (
    "No operation can beat a battery that knows every hour of the year beforehand and may charge from the grid and "
    "sell to it. It is a bound to judge by, no forecast."
)


def days_of(first: str, last: str) -> Markup:
    """The days of a past bill."""
    return Markup('<span class="day">{}</span> to <span class="day">{}</span>').format(first, last)


def prices(of: Sequence[str]) -> Markup:
    """The heading of a tariff's week; ``of`` : whose it is."""
    return Markup("The prices of the week: <bdi>{}</bdi>").format("; ".join(of))


def price(period: str, amount: str) -> Markup:
    """What a kWh costs in a period."""
    return Markup("<bdi>{}</bdi>, {} a kWh").format(period, amount)


def hours_of(days: str, of: Sequence[str]) -> str:
    """The name of the table of prices on some days of the week."""
    return f"Prices by hour and month, {days}: {'; '.join(of)}"


def hours_caption(days: str) -> str:
    """The caption of prices on some days of the week."""
    return f"By hour and month, {days}"
