"""The charts of living without a grid: the months by source, and other sizes of modules and battery."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import AMOUNT_TICKS, Chart, Table, filled, laid_out, rounded, series
from finsolar.report.words import off_grid
from finsolar.report.words.amounts import MONTH_NAMES, money
from finsolar.report.words.charts import off_grid_charts as told

Plain = dict[str, Any]
Grid = list[list[float]]

_LOOKS = {
    "sun": (colours.SUN, ""),
    "battery": (colours.STORE, "/"),
    "stored_by_generator": (colours.BURN, "/"),
    "generator": (colours.BURN, "x"),
    "unserved": (colours.SERIES[3], "."),
}
_TRACE = 0.05  # kWh of a month, less is not drawn


def off_grid_charts(plain: Plain) -> list[Chart]:
    """The charts that the section holds; none where every alternative has a grid."""
    if not off_grid.told(plain):
        return []
    plan = off_grid.lead(plain)
    found, sizes = [by_month(plain, plan)], plan["off_grid"]["sizes"]
    if sizes is not None:
        found += [unserved_by_size(plan), *([fuel_by_size(plan)] if sizes["litres"] else [])]
    return found


def by_month(plain: Plain, plan: Plain) -> Chart:
    """The use of each month of the first year by what carried it, one upon another."""
    months, currency = plan["off_grid"]["by_month"], plain["settings"]["currency"]
    parts = [key for key in _LOOKS if any(amount > _TRACE for amount in months[key])]
    use = [load + draw for load, draw in zip(months["load"], months["own_draw"], strict=True)]
    columns = [(told.USE, use), *((told.PARTS[key], months[key]) for key in parts)]
    return Chart(
        id="off-grid-months",
        title=told.months_title(plan["name"]),
        reading=told.months_reading(
            use,
            sum(months["sun"]) + sum(months["battery"]),
            [own + stored for own, stored in zip(months["generator"], months["stored_by_generator"], strict=True)],
            months["unserved"],
            months["hours"],
        ),
        alt=told.months_alt({key: sum(months[key]) for key in parts}),
        data=[
            {
                "type": "bar",
                "name": told.PARTS[key],
                "x": list(MONTH_NAMES),
                "y": rounded(months[key], 1),
                "marker": filled(*_LOOKS[key]),
                "hovertemplate": told.KWH_HOVER,
            }
            for key in parts
        ],
        layout=laid_out(
            barmode="stack",
            xaxis={"title": {"text": told.MONTH}},
            yaxis={"title": {"text": told.MONTH_AXIS}, "tickformat": AMOUNT_TICKS},
            legend={"traceorder": "normal"},
        ),
        table=Table(
            told.MONTHS_CAPTION,
            [told.MONTH, *(name for name, _ in columns)],
            [[name, *(f"{row[m]:,.0f}" for _, row in columns)] for m, name in enumerate(MONTH_NAMES)],
            foot=[told.YEAR, *(f"{sum(row):,.0f}" for _, row in columns)],
        ),
        more=(_engine_table(months, currency),) if any(months["hours"]) else (),
    )


def _engine_table(months: Plain, currency: str) -> Table:
    amounts = [months[key] for key in ("made_by_generator", "hours", "litres")]
    costs = [months[key] for key in ("fuel", "running")]
    return Table(
        told.ENGINE_CAPTION,
        [told.MONTH, *told.ENGINE],
        [
            [name, *(f"{row[m]:,.0f}" for row in amounts), *(money(row[m], currency) for row in costs)]
            for m, name in enumerate(MONTH_NAMES)
        ],
        foot=[
            told.YEAR,
            *(f"{sum(row):,.0f}" for row in amounts),
            *(money(sum(row), currency) for row in costs),
        ],
    )


def unserved_by_size(plan: Plain) -> Chart:
    """The share of the load without supply over the size of the modules, a curve for each battery; no generator."""
    sizes = plan["off_grid"]["sizes"]
    grid, still = sizes["alone"], bool(sizes["litres"])
    return _curves(
        plan,
        "off-grid-unserved",
        told.sizes_title(plan["name"], still=still),
        told.sizes_reading(_own(sizes, grid), _steps(sizes, grid), still=still),
        [[100.0 * part for part in row] for row in grid],
        (told.SHARE_AXIS, told.SHARE_HOVER),
        (_sized(plan, told.sizes_caption(still=still), grid, off_grid.share),),
    )


def fuel_by_size(plan: Plain) -> Chart:
    """The litres that the planned generator burns in a year, over the size of the modules, a curve for each battery."""
    sizes = plan["off_grid"]["sizes"]
    grid = sizes["litres"]
    return _curves(
        plan,
        "off-grid-fuel",
        told.fuel_title(plan["name"]),
        told.fuel_reading(_own(sizes, grid), _steps(sizes, grid)),
        grid,
        (told.LITRES_AXIS, told.LITRES_HOVER),
        (
            _sized(plan, told.LITRES_CAPTION, grid, _whole),
            _sized(plan, told.HOURS_CAPTION, sizes["hours"], _whole),
            _sized(plan, told.SHORT_CAPTION, sizes["with_generator"], off_grid.share),
        ),
    )


def _whole(number: float) -> str:
    return f"{number:,.0f}"


def _own(sizes: Plain, grid: Grid) -> float:
    """A figure of the plan as it is."""
    row, column = sizes["own"]
    return grid[int(row)][int(column)]


def _steps(sizes: Plain, grid: Grid) -> list[tuple[str, float]]:
    """What the next larger modules and the next larger battery come to, each by itself."""
    i, j = sizes["own"]
    found = [("modules", grid[i + 1][j])]
    return found + ([("battery", grid[i][j + 1])] if len(sizes["batteries"]) > 1 else [])


def _along(plan: Plain) -> list[float]:
    """The sizes of the modules: kW where that is known, else times the planned ones."""
    size = plan["array_kw"]
    return [times if size is None else round(times * size, 3) for times in plan["off_grid"]["sizes"]["modules"]]


def _batteries(plan: Plain) -> list[str]:
    sizes = plan["off_grid"]["sizes"]
    return [told.battery_size(kwh, planned=k == sizes["own"][1]) for k, kwh in enumerate(sizes["batteries"])]


def _sized(plan: Plain, caption: str, grid: Grid, cell: Callable[[float], str]) -> Table:
    """A figure at every pair of sizes."""
    own, in_kw = plan["off_grid"]["sizes"]["own"][0], plan["array_kw"] is not None
    names = [told.modules_size(size, in_kw=in_kw, planned=k == own) for k, size in enumerate(_along(plan))]
    rows = [[name, *(cell(part) for part in row)] for name, row in zip(names, grid, strict=True)]
    return Table(caption, [told.MODULES, *_batteries(plan)], rows)


def _curves(
    plan: Plain,
    name: str,
    title: str,
    reading: str,
    grid: Grid,
    axis: tuple[str, str],
    tables: tuple[Table, ...],
) -> Chart:
    """A figure over the size of the modules, a curve for each battery, the plan itself marked.

    ``axis`` : its name, and how a point is told.
    """
    sizes, along = plan["off_grid"]["sizes"], _along(plan)
    data: list[Plain] = [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": battery,
            "x": along,
            "y": rounded([row[k] for row in grid]),
            "hovertemplate": axis[1],
            **series(k),
        }
        for k, battery in enumerate(_batteries(plan))
    ]
    data.append(
        {
            "type": "scatter",
            "mode": "markers",
            "name": told.PLAN,
            "x": [along[sizes["own"][0]]],
            "y": rounded([_own(sizes, grid)]),
            "marker": {"symbol": "circle-open", "size": 15, "color": colours.STAY, "line": {"width": 3}},
            "hoverinfo": "skip",
        }
    )
    return Chart(
        id=name,
        title=title,
        reading=reading,
        alt=told.curves_alt(reading),
        data=data,
        layout=laid_out(
            xaxis={"title": {"text": told.modules_axis(in_kw=plan["array_kw"] is not None)}},
            yaxis={"title": {"text": axis[0]}, "rangemode": "tozero", "tickformat": AMOUNT_TICKS},
            legend={"y": -0.25},
        ),
        table=tables[0],
        height=440,
        more=tables[1:],
    )
