"""The page of one number of a scenario, or two, moved: curves of every alternative, or maps of one."""

from __future__ import annotations

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, label, laid_out, money_axis, series
from finsolar.report.map_chart import (
    GAIN_OR_LOSS,
    counted,
    figure_row,
    figure_unit,
    holds_the_scenario,
    input_axis,
    map_of,
    map_table,
    npv_map,
    within,
)
from finsolar.report.page import rendered
from finsolar.report.varied import KINDS, NAMES, Plain, break_even_told, cell, plan_of, short, told_values
from finsolar.report.words import terms
from finsolar.scenario.problems import printable
from finsolar.uncertainty.vary import FIGURES

_RULE: Plain = {"width": 1.5, "color": colours.STAY}


def varied_page(plain: Plain, of: str | None = None) -> str:
    """The whole page as HTML text; ``of`` names the alternative whose map is drawn, the best one if not said."""
    two = len(plain["inputs"]) == 2
    drawn = _maps(plain, plan_of(plain, of)) if two else [_curves(plain, name) for name in FIGURES]
    about = " and ".join(short(one) for one in plain["inputs"])
    return rendered(
        "varied.html.j2",
        {chart.id: chart for chart in drawn},
        f"{printable(plain['title'], 200)}: {printable(about, 200)}",
        plain.get("made_from"),
        heading=plain["title"],
        about=about,
        told=break_even_told(plain, of),
        notes=plain["notes"],
        cautions=terms.CAUTIONS,
        terms={name: terms.TERMS[name] for name in ("Simple payback", "Discounted payback", "NPV", "IRR")},
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
    missing = [
        f"“{plan['name']}” has none at {sum(number is None for number in plan[name])} of the {len(places)} values"
        for plan in plans
        if None in plan[name]
    ]
    reading = _ends_told(plain, name)
    if name == "npv":
        upright = " The dotted line is the scenario as written." if marks else ""
        reading = f"Where a line crosses zero, that alternative breaks even.{upright}"
    return Chart(
        id=f"vary-{name.replace('_', '-')}",
        title=f"{NAMES[name]} by {first['words']}",
        reading=reading + (f" Where a line ends there is no such figure: {'; '.join(missing)}." if missing else ""),
        alt=f"Lines of {NAMES[name]}, one for each alternative. {_ends_told(plain, name)}",
        data=data,
        layout=laid_out(
            xaxis=input_axis(first, currency),
            yaxis={**_figure_axis(name, currency), "title": {"text": figure_unit(name, currency)}},
            shapes=[*marks, *(zero if name == "npv" else [])],
        ),
        table=Table(
            caption=f"{NAMES[name]} by {first['words']}",
            head=["", *(plan["name"] for plan in plans)],
            rows=[[place, *(cell(name, plan[name][k], currency) for plan in plans)] for k, place in enumerate(places)],
        ),
    )


def _ends_told(plain: Plain, name: str) -> str:
    first, currency = plain["inputs"][0], plain["settings"]["currency"]
    places = told_values(first, currency)
    return " ".join(
        f"“{plan['name']}”: {cell(name, plan[name][0], currency)} at {places[0]}, "
        f"{cell(name, plan[name][-1], currency)} at {places[-1]}."
        for plan in plain["alternatives"]
    )


def _maps(plain: Plain, plan: Plain) -> list[Chart]:
    """NPV and simple payback of one alternative over both inputs, with the line on which it breaks even."""
    turns = len({npv > 0 for row in plan["npv"] for npv in row}) > 1
    line = " The thick line is where the NPV is zero." if turns else ""
    today = " The dot is the scenario as written." if holds_the_scenario(plain) else ""
    never = any(number is None for row in plan["simple_payback"] for number in row)
    grey = " Where it is grey, up to the next value, it is never back within the study." if never else ""
    return [
        npv_map(
            plain,
            plan,
            reading=GAIN_OR_LOSS + line + today,
            more=[map_table(plain, plan, name) for name in ("discounted_payback", "irr")],
        ),
        map_of(
            plain,
            plan,
            "simple_payback",
            reading="The numbers on the lines are years until it is back for good." + grey + line + today,
            ramp={"colorscale": colours.SOON_TO_LATE},
        ),
    ]


def _figure_axis(name: str, currency: str) -> Plain:
    return money_axis(currency) if name == "npv" else {"rangemode": "tozero"} if KINDS[name] == "years" else {}


def _upright(at: float) -> Plain:
    return {"type": "line", "yref": "paper", "x0": at, "x1": at, "y0": 0, "y1": 1, "line": _RULE | {"dash": "dot"}}
