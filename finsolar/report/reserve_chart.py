"""The chart of what a reserve costs: the saving of the first year above, the hours that it buys below."""

from __future__ import annotations

from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, laid_out, money_axis, rounded, series
from finsolar.report.words import outage, reserve
from finsolar.report.words.charts import reserve_chart as told
from finsolar.report.words.times_told import amount_of_time

Plain = dict[str, Any]

_UPPER, _LOWER = (0.58, 0.95), (0.0, 0.42)  # where the two panels stand, of the height


def reserve_price(plain: Plain) -> Chart | None:
    """Saving and endurance against the reserve; none where no reserve was to be chosen, or none looked into."""
    plan = reserve.lead(plain) if outage.told(plain) else None
    if plan is None:
        return None
    currency, found = plain["settings"]["currency"], plan["outage"]["reserve"]
    places = found["places"]
    at = [100 * place["reserve"] for place in places]
    (names, _), *others = reserve.alike(plain)
    rows = {name: [place[name] for place in places] for name in ("saving", "nine_in_ten", "worst")}
    data = [
        _line(told.SAVED, at, rows["saving"], 2, "y", "%{y:,.0f}"),
        _line(told.NINE_IN_TEN, at, rows["nine_in_ten"], 0, "y2", "%{text}"),
        _line(told.WORST, at, rows["worst"], 1, "y2", "%{text}"),
    ]
    for line, name in zip(data[1:], ("nine_in_ten", "worst"), strict=True):
        line["text"] = [amount_of_time(hours, found["longest_hours"]) for hours in rows[name]]
    data[0]["line"] = {**data[0]["line"], "dash": "solid"}  # alone in its panel
    marked = [(told.own(found["own"]), found["own"], "dot")]
    if found["knee"] is not None:
        marked.append((told.knee(found["knee"]), found["knee"], "dash"))
    for name, place, dash in marked:
        data += _upright(name, 100 * place["reserve"], rows, dash)
    return Chart(
        id="reserve-price",
        title=told.title(plan["name"]),
        reading=reserve.reading(plain, plan),
        alt=told.alt(found, currency),
        data=data,
        layout=laid_out(
            xaxis={"title": {"text": told.RESERVE_AXIS}, "dtick": 20, "range": [-2, 102], "anchor": "y2"},
            yaxis={**money_axis(currency), "domain": list(_UPPER), "nticks": 5},
            yaxis2={"domain": list(_LOWER), "zeroline": False, "automargin": True, "rangemode": "tozero", "nticks": 5,
                    "ticksuffix": " h"},
            annotations=[
                _head(told.saved_axis(currency), _UPPER[1]),
                _head(told.HOURS_AXIS, _LOWER[1]),
            ],
            legend={"y": -0.16},
        ),
        table=reserve.table(plain, names, plan),
        more=tuple(reserve.table(plain, names, other) for names, other in others),
        height=540,
        narrow={"height": 600, "layout": {"margin": {"l": 8, "r": 12}, "legend": {"y": -0.14}}},
    )  # fmt: skip


def _line(name: str, at: list[float], row: list[float], look: int, axis: str, hover: str) -> Plain:
    line = {
        "type": "scatter",
        "mode": "lines+markers",
        "name": name,
        "x": rounded(at, 1),
        "y": rounded(row),
        "yaxis": axis,
    }
    return line | {"hovertemplate": hover} | series(look)


def _upright(name: str, x: float, rows: dict[str, list[float]], dash: str) -> list[Plain]:
    """An upright line through both panels, once in the legend."""
    ends = ((min(rows["saving"]), max(rows["saving"]), "y"), (0.0, max(rows["nine_in_ten"]), "y2"))
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": name,
            "x": rounded([x, x], 1),
            "y": rounded([low, high]),
            "yaxis": axis,
            "line": {"color": colours.STAY, "dash": dash, "width": 2},
            "hoverinfo": "skip",
            "legendgroup": name,
            "showlegend": axis == "y",
        }
        for low, high, axis in ends
    ]


def _head(text: str, y: float) -> Plain:
    """What a panel shows, above it."""
    place = {"xref": "paper", "yref": "paper", "x": 0, "y": y, "xanchor": "left", "yanchor": "bottom"}
    return {"text": text, "showarrow": False, "font": {"size": 12}} | place
