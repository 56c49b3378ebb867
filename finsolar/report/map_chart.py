"""The map of one alternative over two numbers that move, with the line on which it breaks even."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, label, laid_out, rounded
from finsolar.report.words import changes_told
from finsolar.report.words.charts import map_chart as told
from finsolar.report.words.varied_told import cell, told_values
from finsolar.scenario.problems import printable

Plain = dict[str, Any]


def map_of_the_answer(plain: Plain) -> Chart | None:
    """NPV of the alternative of the short answer over the rise of prices and the purchase price.

    None where the study has no map, or where that alternative costs nothing to build.
    """
    best = changes_told.best_of(plain)
    if plain["map"] is None or not best["costs"]["gross"]:
        return None
    found = {"settings": plain["settings"], **plain["map"]}
    plan = next(one for one in found["alternatives"] if one["name"] == best["name"])
    return npv_map(
        found,
        plan,
        reading=told.reading(found, plan, best["costs"]["gross"], holds_the_scenario(found)),
        more=[
            map_table(found, plan, "simple_payback"),
            *(map_table(found, one, "npv") for one in found["alternatives"] if one is not plan),
        ],
    )


def npv_map(plain: Plain, plan: Plain, reading: str, more: Sequence[Table]) -> Chart:
    """The NPV of one alternative over both inputs."""
    reach = max(abs(npv) for row in plan["npv"] for npv in row) or 1.0
    ramp = {"colorscale": colours.LOSS_TO_GAIN, "zmin": -reach, "zmax": reach}
    return map_of(plain, plan, "npv", reading, ramp, more)


def map_of(plain: Plain, plan: Plain, name: str, reading: str, ramp: Plain, more: Sequence[Table] = ()) -> Chart:
    """One figure of one alternative over both inputs, in the colours of ``ramp``."""
    first, second = plain["inputs"]
    currency = plain["settings"]["currency"]
    grid: Plain = {
        "name": "",
        "x": [counted(first, number) for number in first["values"]],
        "y": [counted(second, number) for number in second["values"]],
        "showscale": False,
    }

    def turned(figure: str) -> list[list[float | None]]:
        return [list(column) for column in zip(*(figure_row(figure, row) for row in plan[figure]), strict=True)]

    found, digits = turned(name), 0 if name == "npv" else 1
    labels: Plain = {"showlabels": True, "labelfont": {"size": 11, "color": colours.INK}}
    if name == "npv":
        labels["labelformat"] = "$,.0f" if currency == "USD" else ",.0f"
    data: list[Plain] = [
        {
            "type": "heatmap",
            **grid,
            "z": [[0 for _ in row] for row in found],
            "colorscale": [[0, colours.NEVER], [1, colours.NEVER]],
            "hoverinfo": "skip",
        },
        {
            "type": "contour",
            **grid,
            **ramp,
            "z": found,
            "connectgaps": False,
            "line": {"width": 0.6, "color": colours.INK},
            "contours": {"coloring": "heatmap", **labels},
            "hovertemplate": told.hover(told.figure_unit(name, currency), digits),
        },
    ]
    if any(plan["break_even"]) or len({npv > 0 for row in plan["npv"] for npv in row}) > 1:
        data.append(
            {
                "type": "contour",
                **grid,
                "z": turned("npv"),
                # Labelled like the thin line beneath, so that the thick one leaves room for the amount.
                "contours": {"start": 0, "end": 0, "size": 1, "coloring": "none"} | (labels if name == "npv" else {}),
                "line": {"width": 4, "color": colours.INK},
                "hoverinfo": "skip",
            }
        )
    if holds_the_scenario(plain):
        x, y = (counted(one, one["now"]) for one in (first, second))
        dot = {"size": 11, "color": colours.INK, "line": {"width": 2, "color": "#ffffff"}}
        data.append(
            {"type": "scatter", "mode": "markers", "x": [x], "y": [y], "marker": dot, "hoverinfo": "skip", "name": ""}
        )
    return Chart(
        id=f"map-{name.replace('_', '-')}",
        title=told.title(name, plan["name"], first, second),
        reading=reading,
        alt=told.alt(name, reading),
        data=data,
        layout=laid_out(
            hovermode="closest",
            showlegend=False,
            xaxis=input_axis(first, currency) | {"range": [grid["x"][0], grid["x"][-1]]},
            yaxis=input_axis(second, currency) | {"range": [grid["y"][0], grid["y"][-1]]},
        ),
        table=map_table(plain, plan, name),
        more=tuple(more),
        height=480,
    )


def map_table(plain: Plain, plan: Plain, name: str) -> Table:
    """One figure of one alternative at every pair of values."""
    first, second = plain["inputs"]
    currency = plain["settings"]["currency"]
    down, across = told_values(first, currency), told_values(second, currency)
    return Table(
        caption=told.caption(name, plan["name"], first, second),
        head=["", *across],
        rows=[[place, *(cell(name, number, currency) for number in plan[name][i])] for i, place in enumerate(down)],
    )


def holds_the_scenario(plain: Plain) -> bool:
    """Whether the scenario as written lies on the map."""
    return all(within(one, one["now"]) for one in plain["inputs"])


def within(one: Plain, number: float | None) -> bool:
    """Whether a value of an input lies between its ends."""
    return number is not None and one["values"][0] <= number <= one["values"][-1]


def counted(one: Plain, number: float) -> float:
    """A value of an input as its axis counts it."""
    return round(number * 100, 8) if one["unit"] == "share" else number


def input_axis(one: Plain, currency: str) -> Plain:
    """The axis of an input, named with its unit."""
    rows = textwrap.wrap(printable(told.axis(one, currency), 120), 44)  # as much as a phone is wide
    return {"title": {"text": "<br>".join(label(row, 44) for row in rows)}}


def figure_row(name: str, row: Sequence[float | None]) -> list[float | None]:
    """Figures as their axis counts them: rates in per cent."""
    if name == "irr":
        row = [None if number is None else number * 100 for number in row]
    return rounded(row, 4)
