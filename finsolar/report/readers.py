"""Whom a page is for: the household, a lender, or both."""

from __future__ import annotations

from finsolar.scenario.problems import Problem, ScenarioError, shown

BOTH, HOUSEHOLD, LENDER = "both", "household", "lender"

READERS = (BOTH, HOUSEHOLD, LENDER)


def reader_of(word: str | None) -> str:
    """The reader that was typed, both without a word; raises ScenarioError for another word."""
    if word is None:
        return BOTH
    if word not in (HOUSEHOLD, LENDER):
        raise ScenarioError([
            Problem("--for", 0, "", f"is {shown(word)}",
                    f"write {HOUSEHOLD} or {LENDER}, or leave it out for both", "reader"),
        ])  # fmt: skip
    return word


def page_of(stem: str, reader: str) -> str:
    """The name of a scenario's page: a reader's own stands beside the one for both."""
    return f"{stem}.html" if reader == BOTH else f"{stem}-for-{reader}.html"
