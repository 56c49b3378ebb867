"""What is said of the first day's money and of the life of the equipment whatever was found."""

from __future__ import annotations

from markupsafe import Markup

SOURCES_AND_USES = "Sources and uses of money on the first day"
EQUIPMENT = "The life of the equipment against the term"
EQUIPMENT_HEAD = ("Item", "Warranty", "Expected life", "Outlives the term")


def in_all(side: str) -> str:
    """The sum of one side, sources or uses."""
    return f"{side}, in all"


def equipment_of(names: str) -> str:
    """The name of the table of the equipment of some alternatives."""
    return f"The life of the equipment, {names}"


def equipment_caption(names: str, term: str) -> Markup:
    """The caption of the equipment: whose it is, and against which term."""
    return Markup("<bdi>{}</bdi>: {}").format(names, term)
