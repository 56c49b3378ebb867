"""The page of one number of a scenario, or two, moved: curves of every alternative, or maps of one."""

from __future__ import annotations

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, label, laid_out, money_axis, series
from finsolar.report.map_chart import (
    counted,
    figure_row,
    holds_the_scenario,
    input_axis,
    map_of,
    map_table,
    npv_map,
    within,
)
from finsolar.report.page import rendered
from finsolar.report.words import terms, varied_told
from finsolar.report.words.charts import varied_page as told
from finsolar.report.words.charts.map_chart import figure_unit
from finsolar.report.words.varied_told import KINDS, Plain, cell, plan_of, told_values
from finsolar.scenario.problems import printable
from finsolar.uncertainty.vary import FIGURES

_RULE: Plain = {"width": 1.5, "color": colours.STAY}


def varied_page(plain: Plain, of: str | None = None) -> str:
    """The whole page as HTML text; ``of`` names the alternative whose map is drawn, the best one if not said."""
    two = len(plain["inputs"]) == 2
    drawn = _maps(plain, plan_of(plain, of)) if two else [_curves(plain, name) for name in FIGURES]
    about = told.about(plain)
    return rendered(
        "varied.html.j2",
        {chart.id: chart for chart in drawn},
        told.page_title(printable(plain["title"], 200), printable(about, 200)),
        plain.get("made_from"),
        heading=plain["title"],
        about=about,
        told=varied_told.break_even_told(plain, of),
        notes=plain["notes"],
        cautions=terms.CAUTIONS,
        terms=told.TERMS,
        plain_text=printable,
    )


def _curves(plain: Plain, name: str) -> Chart:
    """One figure of every alternative along the input."""
    first, currency, plans = plain["inputs"][0], plain["settings"]["currency"], plain["alternatives"]
    places = told_values(first, currency)
    marks = [_upright(counted(first, first["now"]))] if within(first, first["now"]) else []
    zero = [{"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": 0, "y1": 0, "line": _RULE}]
    data = [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": label(plan["name"]),
            "x": [counted(first, number) for number in first["values"]],
            "y": figure_row(name, plan[name]),
            **series(i),
        }
        for i, plan in enumerate(plans)
    ]
    return Chart(
        id=f"vary-{name.replace('_', '-')}",
        title=varied_told.title(name, first),
        reading=told.curve_reading(plain, name, bool(marks)),
        alt=told.curve_alt(plain, name),
        data=data,
        layout=laid_out(
            xaxis=input_axis(first, currency),
            yaxis={**_figure_axis(name, currency), "title": {"text": figure_unit(name, currency)}},
            shapes=[*marks, *(zero if name == "npv" else [])],
        ),
        table=Table(
            caption=varied_told.title(name, first),
            head=["", *(plan["name"] for plan in plans)],
            rows=[[place, *(cell(name, plan[name][k], currency) for plan in plans)] for k, place in enumerate(places)],
        ),
    )


def _maps(plain: Plain, plan: Plain) -> list[Chart]:
    """NPV and simple payback of one alternative over both inputs, with the line on which it breaks even."""
    turns = len({npv > 0 for row in plan["npv"] for npv in row}) > 1
    marked = holds_the_scenario(plain)
    never = any(number is None for row in plan["simple_payback"] for number in row)
    return [
        npv_map(
            plain,
            plan,
            reading=told.npv_map_reading(turns, marked),
            more=[map_table(plain, plan, name) for name in ("discounted_payback", "irr")],
        ),
        map_of(
            plain,
            plan,
            "simple_payback",
            reading=told.payback_map_reading(never, turns, marked),
            ramp={"colorscale": colours.SOON_TO_LATE},
        ),
    ]


def _figure_axis(name: str, currency: str) -> Plain:
    return money_axis(currency) if name == "npv" else {"rangemode": "tozero"} if KINDS[name] == "years" else {}


def _upright(at: float) -> Plain:
    return {"type": "line", "yref": "paper", "x0": at, "x1": at, "y0": 0, "y1": 1, "line": _RULE | {"dash": "dot"}}
