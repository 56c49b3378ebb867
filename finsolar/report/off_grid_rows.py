"""Living without a grid, and a line instead, as rows of the CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from finsolar.report.off_grid_values import MONTHS, SIZES
from finsolar.report.words.off_grid import STAYING

Plain = dict[str, Any]


def off_grid_rows(plan: Plain, currency: str) -> Iterator[tuple[Any, ...]]:
    """Every number of living without a grid, and of a line instead, as rows of the CSV."""
    name, found, line = plan["name"], plan["off_grid"], plan["line"]
    if line is not None:
        rival = line["rival"] or STAYING
        yield name, "line", "behind_by", "", "", line["behind_by"], currency, f"against {rival}"
        for key in ("price", "level_price", "quantity", "level_quantity"):
            note = line["reasons"].get(key, f"{line['item']}, by {line['priced_by']}")
            unit = currency if key.endswith("price") else ""
            yield name, "line", key, "", "", "" if line[key] is None else line[key], unit, note
    if found is None:
        return
    for part, why in found["reasons"].items():
        yield name, "off grid", part, "", "", "", "", why
    for key, unit in MONTHS.items():
        for month, amount in enumerate(found["by_month"][key], start=1):
            yield name, "off grid", key, 1, month, amount, unit or currency, ""
    for key, unit in (("unserved_share", "share"), ("hours_short", "h"), ("longest_short", "h")):
        for year, amount in enumerate(found[key], start=1):
            yield name, "off grid", key, year, "", amount, unit, ""
    if (autonomy := found["autonomy"]) is not None:
        units = {"darkest_month": "month", "days": "days", "days_darkest": "days", "array_kw": "kW",
                 "discharge_efficiency": "share", "sun_over_use": "ratio"}  # fmt: skip
        for key, amount in autonomy.items():
            if key != "wanted" and amount is not None:
                yield name, "autonomy", key, "", "", amount, units.get(key, "kWh"), ""
        for one in autonomy["wanted"]:
            yield name, "autonomy", "battery_kwh", "", "", one["battery_kwh"], "kWh", f"for {one['days']:g} days"
    if (sizes := found["sizes"]) is not None:
        for key, unit in SIZES.items():
            for times, row in zip(sizes["modules"], sizes[key] or [], strict=False):
                for kwh, amount in zip(sizes["batteries"], row, strict=True):
                    note = f"{times:g} times the modules, {kwh:g} kWh of battery"
                    yield name, "off grid sizes", key, 1, "", amount, unit, note
