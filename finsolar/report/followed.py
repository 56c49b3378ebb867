"""Figures that can be followed: each as text with its id, which is its path in the JSON of the study."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from finsolar.report.words.amounts import figure, money, per_cent
from finsolar.report.words.costs_told import bill_columns, bill_parts
from finsolar.report.words.fixed import assumptions
from finsolar.report.words.sureness import of_hundred

Plain = dict[str, Any]


@dataclass(frozen=True)
class Cell:
    """A figure as text; ``id`` is empty where the page alone holds it."""

    text: str
    id: str = ""


def cell(plain: Plain, path: str, kind: str) -> Cell:
    """The figure at a path, such as ``alternatives.0.metrics.npv``; a dash below what is ``null``, as a loan of none.

    Raises KeyError for a path that leads nowhere; kinds as in `told`.
    """
    place: Any = plain
    for step in path.split("."):
        if place is None:
            return Cell("–")
        place = place[int(step)] if isinstance(place, list) else place[step]
    return Cell(told(place, kind, plain["settings"]["currency"]), "" if place is None else path)


def across(plain: Plain, path: str, kind: str) -> list[Cell]:
    """The figure at a path within each alternative."""
    return [cell(plain, f"alternatives.{i}.{path}", kind) for i in range(len(plain["alternatives"]))]


def closing(shown: float, path: str, plain: Plain) -> Cell:
    """A figure that closes a column of printed cents; its id stands there where the unrounded one reads the same."""
    text, own = money(shown, plain["settings"]["currency"], 2), cell(plain, path, "cents")
    return Cell(text, path if own.text == text else "")


def bill_cells(plain: Plain) -> tuple[list[tuple[str, list[Cell]]], list[Cell]]:
    """The first year's bill by its parts, and its foot: of staying, then of each alternative."""
    places = ["stay.bill", *(f"alternatives.{i}.bills.after" for i in range(len(plain["alternatives"])))]
    bills = [plain["stay"]["bill"], *(plan["bills"]["after"] for plan in plain["alternatives"])]
    columns, zero = bill_columns(plain), Cell(money(0.0, plain["settings"]["currency"], 2))
    rows = [
        (part, [cell(plain, f"{place}.by_year.{part}.0", "cents") if part in bill["by_year"] else zero
                for place, bill in zip(places, bills, strict=True)])
        for part in bill_parts(plain)
    ]  # fmt: skip
    return rows, [
        closing(total, f"{at}.total_by_year.0", plain) for at, (_, total) in zip(places, columns, strict=True)
    ]


def path_of(plain: Plain, award: Plain) -> str:
    """Where an award stands; raises StopIteration for one that is not of this study."""
    return next(
        f"alternatives.{i}.incentives.{k}"
        for i, plan in enumerate(plain["alternatives"])
        for k, one in enumerate(plan["incentives"])
        if one is award
    )


def told(number: float | None, kind: str, currency: str) -> str:
    """A figure as the page writes it: kinds as in `words.figure`, and ``cents``, ``months``, ``count``, ``chance``."""
    if number is None:
        return figure(None, kind, currency)
    if kind == "cents":
        return money(number, currency, 2)
    if kind == "rate":
        return per_cent(number, 3)
    if kind == "months":
        return f"{number:.1f}".removesuffix(".0")
    if kind == "chance":
        return of_hundred(number)
    return f"{number:,.0f}" if kind == "count" else figure(number, kind, currency)


def register(plain: Plain) -> list[tuple[str, list[tuple[str, str]]]]:
    """Every single figure of each alternative by its id, unrounded, a group for each; lines by year stand elsewhere."""
    groups = []
    for i, plan in enumerate(plain["alternatives"]):
        parts = {key: plan[key] for key in _REGISTERED if plan[key] is not None}
        rows = [row for key, found in parts.items() for row in _figures(found, f"alternatives.{i}.{key}")]
        groups.append((f"“{plan['name']}”", rows))
    general = _figures(plain["settings"], "settings")
    return [(assumptions.STUDY, general), *groups]


_REGISTERED = ("own_hours", "costs", "day_one", "loan", "metrics")


def _figures(found: Any, path: str) -> list[tuple[str, str]]:
    """The numbers below a path that stand by themselves or in a list of blocks."""
    if isinstance(found, bool):
        return []
    if isinstance(found, int | float):
        return [(path, f"{found:,.10g}")]
    if isinstance(found, dict):
        return [row for key, inner in found.items() for row in _figures(inner, f"{path}.{key}")]
    if isinstance(found, list) and found and isinstance(found[0], dict):
        return [row for k, inner in enumerate(found) for row in _figures(inner, f"{path}.{k}")]
    return []
