"""Rows of the CSV for what many cases came to: columns as `finsolar.report.table.HEAD`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Plain = dict[str, Any]
Row = tuple[Any, ...]

UNITS = {
    "npv": "money",
    "irr": "per year",
    "simple_payback": "years",
    "discounted_payback": "years",
    "first_year_saving": "money",
    "lcoe": "price",
}
"""In what each figure that is kept of every case is measured."""


def case_rows(plain: Plain) -> Iterator[Row]:
    """Every number of the simulation and of what would change the answer, one a row; none where nothing was drawn."""
    found, currency = plain["uncertainty"], plain["settings"]["currency"]
    if found is None:
        return
    for key in ("seed", "draws", "replicates"):
        yield "all", "uncertainty", key, "", "", found[key], "", ""
    for one in found["inputs"]:
        for key in ("p10", "p90"):
            yield "all", "range", f"{one['name']} {key}", "", "", one[key], _unit(one["unit"], currency), one["words"]
    if found["hours"] is not None:
        units = {"studies": "studies", "cases": "cases", "npv_off": currency, "npv_off_middle": currency,
                 "bill_off": "share", "renewed_apart": "cases"}  # fmt: skip
        for key, unit in units.items():
            yield "all", "hours of the cases", key, "", "", _blank(found["hours"][key]), unit, ""
    for plan in found["alternatives"]:
        yield from _plan_rows(plan, currency)
    if plain["what_matters"] is not None:
        yield from _matter_rows(plain["what_matters"], currency)


def _unit(kind: str, currency: str) -> str:
    return {"money": currency, "price": f"{currency}/kWh"}.get(kind, kind)


def _plan_rows(plan: Plain, currency: str) -> Iterator[Row]:
    name = plan["name"]
    for figure, found in plan["figures"].items():
        for key, number in found.items():
            if key != "reasons":
                unit = "share" if key == "none" else _unit(UNITS[figure], currency)
                why = found["reasons"].get(key, plan["enough"] if (figure, key) == ("npv", "error") else "")
                yield name, "uncertainty", f"{figure} {key}", "", "", _blank(number), unit, why
    for chance, found in plan["chances"].items():
        for key in ("share", "error"):
            number = None if found is None else found[key]
            yield name, "chance", f"{chance} {key}", "", "", _blank(number), "share", plan["reasons"].get(chance, "")
    edges, counts = plan["histogram"]["edges"], plan["histogram"]["counts"]
    for low, high, count in zip(edges[:-1], edges[1:], counts, strict=True):
        yield name, "cases by npv", "", "", "", count, "cases", f"from {low!r} to {high!r} {currency}"
    for key, row in plan["running"].items():
        for year, amount in enumerate(row):
            yield name, "running total", key, year, "", amount, currency, ""


def _matter_rows(found: Plain, currency: str) -> Iterator[Row]:
    for one in found["ranges"]:
        unit = _unit(one["unit"], currency)
        for lead in one["leads"]:
            yield lead["leader"], "leads from", one["name"], "", "", lead["since"], unit, one["words"]
        yield from _mover_rows(one, one["name"], unit, currency, found["reasons"])
        if one["years"] is not None:
            yield from _mover_rows(one["years"], f"{one['name']}, years", unit, currency, found["reasons"])


def _mover_rows(one: Plain, name: str, unit: str, currency: str, reasons: Plain) -> Iterator[Row]:
    for end, place in (("low", "p10"), ("high", "p90")):
        for plan, npv in one[f"npv_{end}"].items():
            yield plan, f"npv at {place} of", name, "", "", npv, currency, f"at {one[end]!r} {unit}".rstrip()
    for plan, shares in one["shares"].items():
        for key in ("first", "total", "first_error", "total_error"):
            number = None if shares is None else shares[key]
            note = reasons.get(plan, "") if number is None else ""
            yield plan, f"share of variance {key}", name, "", "", _blank(number), "share", note


def _blank(number: float | None) -> float | str:
    return "" if number is None else number
