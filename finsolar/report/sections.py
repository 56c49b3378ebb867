"""The sections of the page: what each is called, when there is one, and in which order they stand."""

from __future__ import annotations

from collections.abc import Container
from typing import Any

Plain = dict[str, Any]

TITLES = {
    "answer": "The short answer",
    "costs": "What it costs",
    "incentives": "Incentives, granted and refused",
    "saving": "What it saves",
    "years": "Year by year",
    "sure": "How sure is this",
    "change": "What would change the answer",
    "borrowing": "Borrowing",
    "assumptions": "Assumptions and sources",
    "cautions": "Cautions",
}
"""Every section by the name of its template, in a person's order."""


def sections(plain: Plain, charts: Container[str]) -> list[str]:
    """The sections that a study has something to say in, in the order of the page."""
    there = {
        "sure": plain["uncertainty"] or plain["sunlight"],
        "change": "rise-sweep" in charts or plain["what_matters"],
        "borrowing": any(plan["loan"] for plan in plain["alternatives"]),
    }
    return [name for name in TITLES if there.get(name, True)]
