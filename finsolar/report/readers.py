"""Whom a page is for: the household, a lender, or both."""

from __future__ import annotations

from finsolar.scenario.problems import Problem, ScenarioError, shown

BOTH, HOUSEHOLD, LENDER = "both", "household", "lender"

READERS = {
    BOTH: "For the household, and for whoever lends to it.",
    HOUSEHOLD: "For the household. What a lender asks has a page of its own.",
    LENDER: "For a lender. What the household asks has a page of its own.",
}
"""Every reader, and the line at the top of the page that names them."""


def reader_of(word: str | None) -> str:
    """The reader that was typed, both without a word; raises ScenarioError for another word."""
    if word is None:
        return BOTH
    if word not in (HOUSEHOLD, LENDER):
        mend = f"write {HOUSEHOLD} or {LENDER}, or leave it out for both"
        raise ScenarioError([Problem("--for", 0, "", f"is {shown(word)}", mend, "reader")])
    return word


def page_of(stem: str, reader: str) -> str:
    """The name of a scenario's page: a reader's own stands beside the one for both."""
    return f"{stem}.html" if reader == BOTH else f"{stem}-for-{reader}.html"
