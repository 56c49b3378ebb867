"""The sections of the page: when there is one, and in which order a reader meets them."""

from __future__ import annotations

from collections.abc import Container
from typing import Any

from finsolar.report.readers import BOTH, HOUSEHOLD, LENDER
from finsolar.report.words import off_grid, outage, terms
from finsolar.report.words.fixed.page import TITLES

Plain = dict[str, Any]

_ORDERS = {
    BOTH: tuple(name for name in TITLES if name != "summary"),
    HOUSEHOLD: ("answer", "try", "costs", "saving", "off_grid", "incentives", "sure", "change", "borrowing", "outage",
                "years", "assumptions", "glossary", "cautions"),
    LENDER: ("summary", "borrowing", "years", "answer", "change", "sure", "costs", "incentives", "saving", "off_grid",
             "outage", "assumptions", "cautions", "glossary"),
}  # fmt: skip


def sections(plain: Plain, charts: Container[str], reader: str = BOTH) -> list[str]:
    """The sections that a study has something to say in, in the order of a reader's page."""
    there = {
        "try": plain["other_numbers"],
        "sure": plain["uncertainty"] or plain["sunlight"],
        "change": "rise-sweep" in charts or plain["what_matters"],
        "borrowing": reader == LENDER or any(plan["loan"] for plan in plain["alternatives"]),
        "off_grid": off_grid.told(plain),
        "outage": outage.to_tell(plain),
    }
    return [name for name in _ORDERS[reader] if there.get(name, True)]


_PLAIN_METRICS = ("npv", "annual_value", "simple_payback_lasting", "simple_payback", "irr", "lcoe", "backup_cost")


def metric_rows(plain: Plain, reader: str = BOTH) -> list[tuple[str, str, str]]:
    """The figures of merit of a reader's page, as `terms.metric_rows`: the household has no use for an analyst's."""
    rows = terms.metric_rows(plain)
    return [row for row in rows if row[0] in _PLAIN_METRICS] if reader == HOUSEHOLD else rows
