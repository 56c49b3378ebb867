"""What the section of what would change the answer says whatever was found."""

from __future__ import annotations

BREAK_EVEN = "Where it breaks even"
BREAK_EVEN_TABLE = "The price and the rise at which each alternative breaks even"
ALTERNATIVE = "Alternative"
GROSS_COST = "Gross cost"
HIGHEST_PRICE = "Highest price worth paying"
RISES_HEAD = ("It pays at a rise", "The loan carries itself in every year", "The loan carries itself over its term")
FIRST_YEAR_STAYS = (
    "A rise changes no price of year 1: where the payments of that year are not covered, no rise covers every year."
)


def caption(lowest: str, highest: str) -> str:
    """The caption of break-evens; ``lowest``, ``highest`` : the ends of the rises that were searched."""
    return (
        "At which price, and at which yearly rise of the price of energy, each alternative breaks even against "
        f"staying as you are; rises from {lowest} to {highest} were searched"
    )
