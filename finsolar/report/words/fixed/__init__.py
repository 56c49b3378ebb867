"""Headings, heads of tables, captions and remarks of the pages that stand whatever a study finds: a module a section.

Templates know this package as ``said``.
"""

from __future__ import annotations

from finsolar.report.words.fixed import (
    answer,
    assumptions,
    borrowing,
    change,
    costs,
    funding,
    incentives,
    off_grid,
    outage,
    page,
    saving,
    side,
    summary,
    sure,
    trying,
    varied,
    years,
)

__all__ = [
    "answer",
    "assumptions",
    "borrowing",
    "change",
    "costs",
    "funding",
    "incentives",
    "off_grid",
    "outage",
    "page",
    "saving",
    "side",
    "summary",
    "sure",
    "trying",
    "varied",
    "years",
]
