"""The charts of the hours of the first year: the average day of each season, and the map of weeks and hours.

On a narrow screen their panels stand one below the other; `Chart.narrow` says where.
"""

from __future__ import annotations

from itertools import accumulate
from typing import Any

from finsolar.energy.weather import DAYS_IN_MONTH
from finsolar.report import colours
from finsolar.report.figures import Chart, Table, filled, label, laid_out, rounded
from finsolar.report.words import amounts, changes_told, hours_told
from finsolar.report.words.charts import day_charts as told
from finsolar.report.words.charts.figures import STAY

Plain = dict[str, Any]

_ABOVE = (
    ("straight", colours.SUN, ""),
    ("discharge", colours.STORE, "\\"),
    ("imported", colours.GRID, "/"),
    ("generator", colours.BURN, "x"),
    ("unserved", colours.SERIES[3], "."),
)
_BELOW = (
    ("charge", colours.STORE, "-"),
    ("exported", colours.SUN, "|"),
    ("curtailed", colours.SERIES[7], "+"),
)
"""What carries the load, and what goes elsewhere: key, hue and hatching."""


def average_day(plain: Plain) -> Chart:
    """The average day of each season, for the alternative of the short answer."""
    plan = changes_told.best_of(plain)
    days = plan["energy"]["average_days"]
    above, below = ([part for part in parts if _worth_showing(days, part[0])] for parts in (_ABOVE, _BELOW))
    keys = [key for key, *_ in (*above, *below)]
    data: list[Plain] = []
    for k, day in enumerate(days):
        axes = {"xaxis": _axis("x", k), "yaxis": _axis("y", k), "x": list(hours_told.HOURS)}
        signed = [(1, part) for part in above] + [(-1, part) for part in below]
        for sign, (key, hue, shape) in signed:
            name = told.FLOWS[key]
            row = rounded([sign * power for power in day[key]], 3)
            bar = {"type": "bar", "name": name, "legendgroup": name, "showlegend": not k, "y": row, **axes}
            # Without outlines, which would stand beside the line of the load.
            data.append(bar | {"marker": filled(hue, shape) | {"line": {"width": 0}}})
        line = {"color": colours.SERIES[0], "width": 2.5, "shape": "hvh"}
        load = {"type": "scatter", "mode": "lines", "name": told.LOAD, "legendgroup": told.LOAD, "showlegend": not k}
        data.append(load | {"y": rounded(day["load"], 3), "line": line, **axes})
    high = max([1e-3, *(sum(day[key][h] for key, *_ in above) for day in days for h in range(24))]) * 1.06
    low = max(sum(day[key][h] for key, *_ in below) for day in days for h in range(24)) * 1.06
    layout = laid_out(
        barmode="relative",
        bargap=0.04,
        margin={"l": 48, "r": 8, "t": 34, "b": 96},
        annotations=[_heading(hours_told.season(day), k) for k, day in enumerate(days)],
        legend={"x": 0, "xref": "container", "y": 0, "yref": "container", "yanchor": "bottom"},
    )
    for k in range(4):
        layout[_name("xaxis", k)] = {"tickvals": list(hours_told.HOURS[::6]), "tickangle": 0, "showgrid": False}
        layout[_name("yaxis", k)] = {"range": [-low, high], "zeroline": True, "zerolinecolor": colours.STAY}
    _place(layout, _panels(4, 2, gap=0.19), told.DAY_AXES)
    reading = hours_told.day_sentence(plan)
    return Chart(
        id="average-day",
        title=told.day_title(plan["name"]),
        reading=reading,
        alt=told.day_alt(reading, days, keys),
        data=data,
        layout=layout,
        table=_day_table(days[0], keys),
        more=tuple(_day_table(day, keys) for day in days[1:]),
        height=620,
        narrow={
            "height": 1060,
            "layout": _place({"margin": {"l": 8, "r": 8}}, _panels(4, 1, gap=0.075), told.DAY_AXES),
        },
    )


def _worth_showing(days: list[Plain], key: str) -> bool:
    return any(power > 0.005 for day in days for power in day[key])


def _day_table(day: Plain, keys: list[str]) -> Table:
    columns, stored = ["load", *keys], any(day["stored"])
    return Table(
        caption=told.day_caption(day, stored),
        head=told.day_head(keys, stored),
        rows=[
            [at, *(f"{day[key][h]:.2f}" for key in columns), *([f"{day['stored'][h]:.1f}"] if stored else [])]
            for h, at in enumerate(hours_told.HOURS)
        ],
        foot=[told.DAY_FOOT, *(f"{sum(day[key]):.1f}" for key in columns), *([""] if stored else [])],
    )


def weeks(plain: Plain) -> Chart:
    """The exchange with the outside by week and hour: as you are, and for the alternative of the short answer."""
    plan = changes_told.best_of(plain)
    maps = [(STAY, plain["stay"]["energy"]["weeks"]), (plan["name"], plan["energy"]["weeks"])]
    most = max([1e-3, *(abs(power) for _, each in maps for week in each["exchange"] for power in week)])
    names = [hours_told.week(k) for k in range(len(maps[0][1]["exchange"]))]
    data: list[Plain] = []
    for k, (name, each) in enumerate(maps):
        axes = {"xaxis": _axis("x", k), "yaxis": _axis("y", k)}
        rows = [[round(week[hour], 2) for week in each["exchange"]] for hour in range(24)]
        square = {"type": "heatmap", "name": label(name), "x": names, "y": list(hours_told.HOURS), "z": rows, **axes}
        data.append(square | {"coloraxis": "coloraxis", "hovertemplate": told.WEEK_TIP})
        given = [
            (names[place], at)
            for at, row in zip(hours_told.HOURS, rows, strict=True)
            for place, power in enumerate(row)
            if power < -hours_told.TRACE
        ]
        dots: Plain = {"type": "scatter", "mode": "markers", "name": told.given(label(name)), "hoverinfo": "skip"}
        dots |= axes | {"x": [place for place, _ in given], "y": [at for _, at in given], "showlegend": False}
        data.append(dots | {"marker": {"size": 2.4, "color": colours.STAY}})
    starts = [0, *accumulate(int(days) for days in DAYS_IN_MONTH[:-1])]
    months = {
        "tickvals": [round(day / 7 - 0.5, 2) for day in starts[::2]],
        "ticktext": list(amounts.MONTH_NAMES[::2]),
        "tickangle": 0,
        "showgrid": False,
        "range": [-0.5, len(names) - 0.5],
    }
    hours = {"tickvals": list(hours_told.HOURS[::6]), "showgrid": False, "range": [-0.5, 23.5]}
    layout = laid_out(
        hovermode="closest",
        showlegend=False,
        margin={"l": 56, "r": 12, "t": 34, "b": 84},
        annotations=[_heading(label(name, 48), k) for k, (name, _) in enumerate(maps)],
        coloraxis={
            "cmin": -most,
            "cmax": most,
            "colorscale": [list(each) for each in colours.TAKEN_AND_GIVEN],
            "colorbar": _colour_bar(most, maps),
        },
    )
    for k in range(2):
        layout |= {_name("xaxis", k): dict(months), _name("yaxis", k): dict(hours)}
    _place(layout, _panels(2, 2, gap=0), told.WEEK_AXES)
    reading = hours_told.week_sentence(plan)
    return Chart(
        id="weeks",
        title=told.week_title(plan["name"]),
        reading=reading,
        alt=told.week_alt(reading),
        data=data,
        layout=layout,
        table=_band_table(*maps[1]),
        more=(_band_table(*maps[0]),),
        height=430,
        narrow={"height": 800, "layout": _place({"margin": {"l": 8, "r": 8}}, _panels(2, 1, gap=0.1), told.WEEK_AXES)},
    )


def _colour_bar(most: float, maps: list[tuple[str, Plain]]) -> Plain:
    """The key to the colours: what the ends of the scale and its middle stand for."""
    at = int(most * 10) / 10 or most
    return {
        "orientation": "h",
        "thickness": 12,
        "len": 0.7,
        "y": 0,
        "yref": "container",
        "yanchor": "bottom",
        "outlinewidth": 0.5,
        "tickvals": [-at, 0, at],
        "ticktext": told.ends_of_scale(at, [each["grid"] for _, each in maps]),
    }


def _band_table(name: str, weeks: Plain) -> Table:
    return Table(
        caption=told.band_caption(name, weeks["grid"]),
        head=told.band_head(weeks["bands"]),
        rows=[
            [month, *(amounts.ratio(power) for power in row)]
            for month, row in zip(amounts.MONTH_NAMES, weeks["by_month"], strict=True)
        ],
    )


def _axis(letter: str, place: int) -> str:
    """How a trace names the axis of the panel at a place, counted from 0: ``x``, ``x2``."""
    return letter if place == 0 else f"{letter}{place + 1}"


def _name(axis: str, place: int) -> str:
    """How the layout names it: ``xaxis``, ``xaxis2``."""
    return axis if place == 0 else f"{axis}{place + 1}"


def _heading(text: str, place: int) -> Plain:
    """Words above a panel, wherever it stands."""
    corner = {"x": 0, "y": 1, "xanchor": "left", "yanchor": "bottom"}
    panel = {"xref": f"{_axis('x', place)} domain", "yref": f"{_axis('y', place)} domain"}
    return {"text": text, "showarrow": False, "font": {"size": 13}, **corner, **panel}


def _panels(count: int, columns: int, gap: float) -> list[tuple[list[float], list[float]]]:
    """Where panels stand, row by row from the top, as shares of width and height; ``gap`` between two rows."""
    rows, aside = count // columns, 0.09
    wide, high = (1 - aside * (columns - 1)) / columns, (1 - gap * (rows - 1)) / rows
    found = []
    for k in range(count):
        left, top = k % columns * (wide + aside), 1 - k // columns * (high + gap)
        found.append(([round(left, 4), round(left + wide, 4)], [round(max(top - high, 0.0), 4), round(top, 4)]))
    return found


def _place(layout: Plain, panels: list[tuple[list[float], list[float]]], titles: tuple[str, str]) -> Plain:
    """The layout with each pair of axes at its place; ``titles`` stand below the last row and left of each row."""
    bottom = min(y[0] for _, y in panels)
    for k, (x, y) in enumerate(panels):
        for letter, domain, other, title in (
            ("x", x, "y", titles[0] if y[0] == bottom else ""),
            ("y", y, "x", titles[1] if x[0] == 0 else ""),
        ):
            layout.setdefault(_name(f"{letter}axis", k), {}).update(
                domain=domain,
                anchor=_axis(other, k),
                automargin=True,
                title={"text": title, "standoff": 4},
            )
    return layout
