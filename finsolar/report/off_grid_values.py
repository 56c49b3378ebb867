"""Living without a grid as plain values."""

from __future__ import annotations

from typing import Any

from finsolar.report.numbers import value, values
from finsolar.report.words.off_grid import NOTHING_BUILT
from finsolar.uncertainty.off_grid import Autonomy, LineExtension, OffGrid, Sizes

Plain = dict[str, Any]

MONTHS = {
    "load": "kWh",
    "own_draw": "kWh",
    "sun": "kWh",
    "battery": "kWh",
    "stored_by_generator": "kWh",
    "generator": "kWh",
    "unserved": "kWh",
    "made_by_generator": "kWh",
    "hours": "h",
    "litres": "l",
    "fuel": "",
    "running": "",
}
"""What is told of each month, with its unit; money where there is none."""

SIZES = {"alone": "share", "with_generator": "share", "hours": "h", "litres": "l"}
"""What is told of each pair of sizes, with its unit."""


def off_grid_as_plain(found: OffGrid) -> Plain:
    """One alternative without a grid.

    ``by_month`` : the first year, January first, sun + battery + stored_by_generator + generator + unserved = load +
    own_draw; by year from the first on ``unserved_share`` of the load, ``hours_short`` and ``longest_short``, the hours
    short and those in a row; ``sizes`` : first years with other modules (rows, times the planned ones) and batteries
    (columns, kWh), ``own`` the row and column of the plan. A part that is ``null`` has its reason under ``reasons``.
    """
    return {
        "autonomy": None if found.autonomy is None else _autonomy(found.autonomy),
        "by_month": {name: values(getattr(found.months, name)) for name in MONTHS},
        "unserved_share": values(found.unserved_share),
        "hours_short": values(found.hours_short),
        "longest_short": values(found.longest_short),
        "sizes": None if found.sizes is None else _sizes(found.sizes),
        "reasons": {name: NOTHING_BUILT for name in ("autonomy", "sizes") if getattr(found, name) is None},
    }


def _autonomy(found: Autonomy) -> Plain:
    return {
        "darkest_month": found.month + 1,
        "usable_kwh": value(found.usable_kwh),
        "discharge_efficiency": value(found.efficiency),
        "kwh_a_day": value(found.daily[0]),
        "kwh_a_day_darkest": value(found.daily[1]),
        "days": value(found.days[0]),
        "days_darkest": value(found.days[1]),
        "sun_over_use": value(found.sun_over_use),
        "sun_a_kw": None if found.sun_a_kw is None else value(found.sun_a_kw),
        "array_kw": None if found.array_kw is None else value(found.array_kw),
        "wanted": [{"days": value(days), "battery_kwh": value(kwh)} for days, kwh in found.wanted],
    }


def _sizes(found: Sizes) -> Plain:
    grids = {name: getattr(found, name) for name in SIZES}
    return {
        "modules": values(found.modules),
        "batteries": values(found.batteries),
        "own": list(found.own),
    } | {name: None if grid is None else [values(row) for row in grid] for name, grid in grids.items()}


def line_as_plain(found: LineExtension) -> Plain:
    """A line to the grid against the best way without; ``rival`` ``null`` for staying as you are.

    ``level_price`` and ``level_quantity`` of its dearest cost line, ``item``, make both worth the same; where there are
    none the reason stands under ``reasons``.
    """
    return {
        "rival": found.rival,
        "behind_by": value(found.behind_by),
        "item": found.item,
        "priced_by": found.field,
        "price": value(found.price),
        "quantity": None if found.quantity is None else value(found.quantity),
        "level_price": None if found.level_price is None else value(found.level_price),
        "level_quantity": None if found.level_quantity is None else value(found.level_quantity),
        "reasons": {} if found.why_not is None else {"level_price": found.why_not},
    }
