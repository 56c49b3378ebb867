"""What stands around the sections of a page, and on more than one of them."""

from __future__ import annotations

from markupsafe import Markup

from finsolar.report.readers import BOTH, HOUSEHOLD, LENDER

LANGUAGE = "en"
"""The language of all of it, as a browser and a screen reader want to know it."""

TITLES = {
    "summary": "At a glance",
    "answer": "The short answer",
    "try": "Try other numbers",
    "costs": "What it costs",
    "incentives": "Incentives, granted and refused",
    "saving": "What it saves",
    "off_grid": "Living without the grid",
    "years": "Year by year",
    "sure": "How sure is this",
    "change": "What would change the answer",
    "borrowing": "Borrowing",
    "outage": "When the grid is down",
    "assumptions": "Assumptions and sources",
    "glossary": "Words",
    "cautions": "Cautions",
}
"""Every section by the name of its template, in a person's order."""

READ_BY = {
    BOTH: "For the household, and for whoever lends to it.",
    HOUSEHOLD: "For the household. What a lender asks has a page of its own.",
    LENDER: "For a lender. What the household asks has a page of its own.",
}
"""The line at the top of the page that names its reader."""

SECTIONS = "Sections"
WHERE_FIGURES_STAND = "Show where each figure stands in the study’s files"
NUMBERS_BEHIND = "The numbers behind this chart"
OTHERS = "The others among themselves"
STAY = "Stay as you are"
TOO_OLD = "This browser is too old to draw the chart; its numbers stand in the table behind it."


def title(scenario: str) -> str:
    """The title of a page, by that of its scenario."""
    return f"{scenario}: does it pay?"


def skip_to(section: str) -> str:
    """The link that leads a keyboard past the list of sections, to the section of that title."""
    return f"To {section.lower()}"


def footer(scenario: str) -> Markup:
    """What the page was made from."""
    return Markup(
        "Made with finsolar from the scenario “<bdi>{}</bdi>”. The page works without a network; its figures are those "
        "of the study’s JSON and CSV."
    ).format(scenario)
