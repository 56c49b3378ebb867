"""The page of one number of a scenario, or two, moved: curves of every alternative, or maps of one."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from finsolar.report import colours, words
from finsolar.report.figures import Chart, Table, label, laid_out, money_axis, rounded, series
from finsolar.report.page import rendered
from finsolar.report.varied import KINDS, NAMES, Plain, break_even_told, cell, plan_of, short, told_values
from finsolar.scenario.problems import printable
from finsolar.uncertainty.vary import FIGURES

_NEVER = "#c9c4b8"
_INK = "#1d2733"
_RULE: Plain = {"width": 1.5, "color": colours.STAY}
_LOSS_TO_GAIN = [[0, "#D55E00"], [0.5, "#fdfcf9"], [1, "#0072B2"]]
_SOON_TO_LATE = [[0, "#0072B2"], [1, "#fdfcf9"]]


def varied_page(plain: Plain, of: str | None = None) -> str:
    """The whole page as HTML text; ``of`` names the alternative whose map is drawn, the best one if not said."""
    two = len(plain["inputs"]) == 2
    drawn = _maps(plain, plan_of(plain, of)) if two else [_curves(plain, name) for name in FIGURES]
    about = " and ".join(short(one) for one in plain["inputs"])
    return rendered(
        "varied.html.j2",
        {chart.id: chart for chart in drawn},
        title=plain["title"],
        about=about,
        told=break_even_told(plain, of),
        notes=plain["notes"],
        cautions=words.CAUTIONS,
        terms={name: words.TERMS[name] for name in ("Simple payback", "Discounted payback", "NPV", "IRR")},
        plain_text=printable,
    )


def _curves(plain: Plain, name: str) -> Chart:
    """One figure of every alternative along the input."""
    first, currency, plans = plain["inputs"][0], plain["settings"]["currency"], plain["alternatives"]
    places = told_values(first, currency)
    marks = [_upright(_place(first, first["now"]))] if _within(first, first["now"]) else []
    zero = [{"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": 0, "y1": 0, "line": _RULE}]
    data = [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": label(plan["name"]),
            "x": [_place(first, number) for number in first["values"]],
            "y": _scaled(name, plan[name]),
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
            xaxis=_axis(first, currency),
            yaxis={**_figure_axis(name, currency), "title": {"text": _unit(name, currency)}},
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
    today = " The dot is the scenario as written." if _now(plain) else ""
    reach = max(abs(npv) for row in plan["npv"] for npv in row) or 1.0
    never = any(number is None for row in plan["simple_payback"] for number in row)
    grey = " Where it is grey, up to the next value, it is never back within the study." if never else ""
    return [
        _map(
            plain,
            plan,
            "npv",
            reading="Blue is a gain, orange a loss; the numbers on the lines are the NPV." + line + today,
            ramp={"colorscale": _LOSS_TO_GAIN, "zmin": -reach, "zmax": reach},
            more=("discounted_payback", "irr"),
        ),
        _map(
            plain,
            plan,
            "simple_payback",
            reading="The numbers on the lines are years until it is back for good." + grey + line + today,
            ramp={"colorscale": _SOON_TO_LATE},
        ),
    ]


def _map(plain: Plain, plan: Plain, name: str, reading: str, ramp: Plain, more: Sequence[str] = ()) -> Chart:
    first, second = plain["inputs"]
    currency = plain["settings"]["currency"]
    grid: Plain = {
        "x": [_place(first, number) for number in first["values"]],
        "y": [_place(second, number) for number in second["values"]],
        "showscale": False,
    }

    def turned(figure: str) -> list[list[float | None]]:
        return [list(column) for column in zip(*(_scaled(figure, row) for row in plan[figure]), strict=True)]

    found, digits = turned(name), 0 if name == "npv" else 1
    data: list[Plain] = [
        {
            "type": "heatmap",
            **grid,
            "z": [[0 for _ in row] for row in found],
            "colorscale": [[0, _NEVER], [1, _NEVER]],
            "hoverinfo": "skip",
        },
        {
            "type": "contour",
            **grid,
            **ramp,
            "z": found,
            "connectgaps": False,
            "line": {"width": 0.6, "color": _INK},
            "contours": {
                "coloring": "heatmap",
                "showlabels": True,
                "labelfont": {"size": 11, "color": _INK},
                **({"labelformat": "$,.0f" if currency == "USD" else ",.0f"} if name == "npv" else {}),
            },
            "hovertemplate": f"%{{x}}, %{{y}}: %{{z:,.{digits}f}} {_unit(name, currency)}<extra></extra>",
        },
    ]
    if any(plan["break_even"]) or len({npv > 0 for row in plan["npv"] for npv in row}) > 1:
        data.append(
            {
                "type": "contour",
                **grid,
                "z": turned("npv"),
                "contours": {"start": 0, "end": 0, "size": 1, "coloring": "none"},
                "line": {"width": 4, "color": _INK},
                "hoverinfo": "skip",
            }
        )
    if _now(plain):
        x, y = (_place(one, one["now"]) for one in (first, second))
        dot = {"size": 11, "color": _INK, "line": {"width": 2, "color": "#ffffff"}}
        data.append(
            {"type": "scatter", "mode": "markers", "x": [x], "y": [y], "marker": dot, "hoverinfo": "skip", "name": ""}
        )
    tables = [_map_table(plain, plan, each) for each in (name, *more)]
    return Chart(
        id=f"map-{name.replace('_', '-')}",
        title=f"{NAMES[name]} of “{plan['name']}” by {short(first)} and {short(second)}",
        reading=reading,
        alt=f"Map of {NAMES[name]} with lines of equal value. {reading} The table behind it holds every number.",
        data=data,
        layout=laid_out(
            hovermode="closest",
            showlegend=False,
            xaxis=_axis(first, currency) | {"range": [grid["x"][0], grid["x"][-1]]},
            yaxis=_axis(second, currency) | {"range": [grid["y"][0], grid["y"][-1]]},
        ),
        table=tables[0],
        more=tuple(tables[1:]),
        height=480,
    )


def _map_table(plain: Plain, plan: Plain, name: str) -> Table:
    first, second = plain["inputs"]
    currency = plain["settings"]["currency"]
    down, across = told_values(first, currency), told_values(second, currency)
    return Table(
        caption=f"{NAMES[name]} of “{plan['name']}”: down {first['words']}; across {second['words']}",
        head=["", *across],
        rows=[[place, *(cell(name, number, currency) for number in plan[name][i])] for i, place in enumerate(down)],
    )


def _now(plain: Plain) -> bool:
    """Whether the scenario as written lies on the map."""
    return all(_within(one, one["now"]) for one in plain["inputs"])


def _within(one: Plain, number: float | None) -> bool:
    return number is not None and one["values"][0] <= number <= one["values"][-1]


def _place(one: Plain, number: float) -> float:
    """A value of an input as its axis counts it."""
    return round(number * 100, 8) if one["unit"] == "share" else number


def _axis(one: Plain, currency: str) -> Plain:
    units = {"share": "%", "money": currency, "price": f"{currency} a kWh"}
    unit = units.get(one["unit"], one["unit"])
    name = short(one)
    title = name[:1].upper() + name[1:]
    rows = textwrap.wrap(printable(f"{title}, {unit}" if unit else title, 120), 44)  # as much as a phone is wide
    return {"title": {"text": "<br>".join(label(row, 44) for row in rows)}}


def _figure_axis(name: str, currency: str) -> Plain:
    return money_axis(currency) if name == "npv" else {"rangemode": "tozero"} if KINDS[name] == "years" else {}


def _unit(name: str, currency: str) -> str:
    return {"npv": f"NPV, {currency}", "irr": "IRR, % a year"}.get(name, "years")


def _scaled(name: str, row: Sequence[float | None]) -> list[float | None]:
    """Figures as their axis counts them: rates in per cent."""
    if name == "irr":
        row = [None if number is None else number * 100 for number in row]
    return rounded(row, 4)


def _upright(at: float) -> Plain:
    return {"type": "line", "yref": "paper", "x0": at, "x1": at, "y0": 0, "y1": 1, "line": _RULE | {"dash": "dot"}}
