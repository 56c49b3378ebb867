"""The charts of many cases: how NPV spreads, and what moves the answer."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, clear, filled, label, laid_out, money_axis, rounded, series, wrapped
from finsolar.report.words import amounts, changes_told, sureness
from finsolar.report.words.charts import case_charts as told
from finsolar.report.words.ranges_told import measured

Plain = dict[str, Any]

_MOST = 12  # ranges that a chart can show at once; the table has all
_WORTH_SHOWING = 0.5  # money below which a range is said to move nothing
_HILL = 0.78  # the height of a hill, of the way to the next row


def npv_spread(plain: Plain) -> Chart:
    """The NPV of every case as a hill for each alternative, all on one scale of money."""
    currency, plans = plain["settings"]["currency"], plain["uncertainty"]["alternatives"]
    rows = range(len(plans) - 1, -1, -1)  # the first alternative on top
    data: list[Plain] = []
    for i, (row, plan) in enumerate(zip(rows, plans, strict=True)):
        hue = colours.SERIES[i % len(colours.SERIES)]
        x, y = _outline(plan["histogram"], row)
        npv = plan["figures"]["npv"]
        data.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": label(plan["name"]),
                "x": x,
                "y": y,
                "fill": "toself",
                "fillcolor": clear(hue),
                "line": {"color": hue, "width": 1.2},
                "hoverinfo": "skip",
            }
        )
        data.append(
            {
                "type": "scatter",
                "mode": "lines+markers",
                "name": label(plan["name"]),
                "x": rounded([npv["p10"], npv["p50"], npv["p90"]]),
                "y": [row] * 3,
                "text": [*told.MARKS],
                "hovertemplate": "%{text}: %{x}",
                "line": {"color": hue, "width": 4},
                "marker": {**series(i)["marker"], "size": [7, 11, 7]},
            }
        )
    table = sureness.figure_table(plain, "npv")
    return Chart(
        id="npv-spread",
        title=told.SPREAD_TITLE,
        reading=told.spread_reading(plain),
        alt=told.spread_alt(table.rows),
        data=data,
        layout=laid_out(
            showlegend=False,
            hovermode="closest",
            xaxis={**money_axis(currency), "title": {"text": told.npv_axis(currency)}, "rangemode": "tozero"},
            yaxis={
                "tickmode": "array",
                "tickvals": list(rows),
                "ticktext": [wrapped(plan["name"]) for plan in plans],
                "range": [-0.3, len(plans) - 1 + _HILL + 0.12],
                "showgrid": False,
            },
            margin={"l": 8, "r": 16, "t": 12, "b": 48},
            shapes=[_upright(0, "solid")],
        ),
        table=sureness.error_table(plain),
        more=tuple(_bars(plan, currency) for plan in plans),
        height=110 + 84 * len(plans),
    )


def _outline(histogram: Plain, row: int) -> tuple[list[float], list[float]]:
    """The steps of a histogram as one line that starts and ends on the ground of its row."""
    edges, counts = histogram["edges"], histogram["counts"]
    highest = max(counts)
    x, y = [edges[0]], [float(row)]
    for (low, high), count in zip(pairwise(edges), counts, strict=True):
        x += [low, high]
        y += [row + _HILL * count / highest] * 2
    return [round(at, 2) for at in [*x, edges[-1]]], [round(at, 4) for at in [*y, float(row)]]


def _bars(plan: Plain, currency: str) -> Table:
    edges, counts = plan["histogram"]["edges"], plan["histogram"]["counts"]
    return Table(
        caption=told.bars_caption(plan["name"]),
        head=[*told.BARS_HEAD],
        rows=[
            [amounts.money(low, currency), amounts.money(high, currency), f"{count:,}"]
            for (low, high), count in zip(pairwise(edges), counts, strict=True)
        ],
    )


def swings(plain: Plain) -> Chart | None:
    """Each range by itself from its P10 to its P90, on the NPV of the alternative of the short answer.

    None where no range moves it.
    """
    currency, best = plain["settings"]["currency"], changes_told.best_of(plain)
    name, middle = best["name"], best["metrics"]["npv"]
    order = sureness.by_span(plain, name)

    def moves(one: Plain) -> bool:
        return any(abs(one[f"npv_{end}"][name] - middle) > _WORTH_SHOWING for end in ("low", "high"))

    moving = [one for one in order if moves(one)]
    if not moving:
        return None
    shown = moving[:_MOST]
    ends = [one[f"npv_{end}"][name] for one in shown for end in ("low", "high")] + [middle]
    room = 0.3 * (max(ends) - min(ends))  # for the values beside the bars
    left, right = min(ends) - room, max(ends) + room
    data = [
        {
            "type": "bar",
            "orientation": "h",
            "name": place,
            "y": list(range(len(shown))),
            "x": rounded([one[f"npv_{end}"][name] - middle for one in shown]),
            "base": round(middle, 2),
            "text": [measured(one[end], one["unit"], currency) for one in shown],
            "textposition": "outside",
            "cliponaxis": False,
            "hovertext": [amounts.money(one[f"npv_{end}"][name], currency) for one in shown],
            "hovertemplate": told.SWINGS_HOVER,
            "marker": filled(hue, shape),
        }
        for end, place, hue, shape in (
            ("low", told.LOW_END, colours.SERIES[1], "/"),
            ("high", told.HIGH_END, colours.SERIES[0], ""),
        )
    ]
    table = sureness.swing_table(plain, name)
    shapes = [_upright(middle, "dot")] + ([_upright(0, "solid")] if left < 0 < right else [])
    return Chart(
        id="swings",
        title=told.swings_title(name),
        reading=told.swings_reading(best, order, moving, shown, currency),
        alt=told.swings_alt(table.rows),
        data=data,
        layout=laid_out(
            barmode="overlay",
            hovermode="closest",
            xaxis={**money_axis(currency), "title": {"text": told.npv_axis(currency)}, "range": [left, right]},
            yaxis={
                "autorange": "reversed",
                "tickmode": "array",
                "tickvals": list(range(len(shown))),
                "ticktext": [wrapped(sureness.capital(one["words"])) for one in shown],
            },
            margin={"l": 8, "r": 16, "t": 12, "b": 48},
            legend={"y": -0.35 if len(shown) < 4 else -0.2},
            shapes=shapes,
        ),
        table=table,
        more=tuple(sureness.swing_table(plain, plan["name"]) for plan in plain["alternatives"] if plan is not best),
        height=190 + 56 * len(shown),
    )


def _upright(at: float, dash: str) -> Plain:
    line = {"width": 1.5, "color": colours.STAY, "dash": dash}
    return {"type": "line", "xref": "x", "yref": "paper", "x0": at, "x1": at, "y0": 0, "y1": 1, "line": line}
