"""The charts of several households side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import (
    Chart,
    Table,
    filled,
    label,
    laid_out,
    money_axis,
    rounded,
    series,
    wrapped,
    zero_line,
)
from finsolar.report.words import amounts
from finsolar.report.words.charts import side_charts as told
from finsolar.report.words.charts.figures import RUNNING_AXIS, YEAR, running_money_axis

Plain = dict[str, Any]

_MOST = 8  # lines that can be told apart in one chart


def charts(households: Sequence[Plain]) -> list[Chart]:
    """The charts of a page of several households; those of money only where all reckon in one currency."""
    money = len({one["currency"] for one in households}) == 1
    drawn = [_totals(households), _spread(households, "npv")] if money else []
    return [*drawn, _spread(households, "simple_payback"), _sun(households)]


def _totals(households: Sequence[Plain]) -> Chart:
    """The running total of each household's best alternative."""
    currency = households[0]["currency"]
    order = sorted(households, key=lambda one: -one["running_total"][-1])
    shown, few = list(households), len(households) > _MOST
    if few:
        shown = [one for one in households if one in order[: _MOST // 2] or one in order[-_MOST // 2 :]]
    years = max(one["years"] for one in households)
    alike = len({one["years"] for one in households}) == 1
    worth = told.WITH_WORTH if any(one["counts_backup"] for one in households) else ""
    return Chart(
        id="totals-beside",
        title=told.TOTALS_TITLE + worth,
        reading=told.totals_reading(order, alike, few),
        alt=told.totals_alt(shown),
        data=[
            {
                "type": "scatter",
                "mode": "lines+markers",
                "name": label(one["name"]),
                "x": list(range(len(one["running_total"]))),
                "y": rounded(one["running_total"]),
                **series(i),
            }
            for i, one in enumerate(shown)
        ],
        layout=laid_out(
            xaxis={"title": {"text": RUNNING_AXIS}, "dtick": 5},
            yaxis={**money_axis(currency), "title": {"text": running_money_axis(currency)}},
            shapes=[zero_line(years)],
        ),
        table=Table(
            caption=told.TOTALS_CAPTION + worth,
            head=[YEAR, *(one["name"] for one in households)],
            rows=[
                [str(year), *(_at(one["running_total"], year, currency) for one in households)]
                for year in range(years + 1)
            ],
        ),
    )


def _at(row: Sequence[float], year: int, currency: str) -> str:
    return amounts.money(row[year], currency) if year < len(row) else "–"


def _spread(households: Sequence[Plain], key: str) -> Chart:
    """One figure of each household: its own, and P10 to P90 of the futures drawn where there are any."""
    money = key == "npv"
    currency = households[0]["currency"]
    own = "npv" if money else "simple_payback_lasting"

    def amount(number: float | None) -> str:
        return amounts.money(number or 0.0, currency) if money else amounts.span(number)

    data: list[Plain] = []
    rows = []
    for i, one in enumerate(households):
        found = None if one["spread"] is None else one["spread"][key]
        ends = [None] * 3 if found is None else [found[each] for each in ("p10", "p50", "p90")]
        hue = series(i)["marker"]["color"]
        drawn = [(number, each) for number, each in zip(ends, ("P10", "P50", "P90"), strict=True) if number is not None]
        data.append(
            {
                "type": "scatter",
                "mode": "lines+markers",
                "x": rounded([number for number, _ in drawn]),
                "y": [i] * len(drawn),
                "text": [each for _, each in drawn],
                "hovertemplate": told.spread_tip(label(one["name"])),
                "line": {"color": hue, "width": 4},
                "marker": {"color": hue, "symbol": "line-ns-open", "size": 12, "line": {"width": 3}},
            }
        )
        rows.append([one["name"], amount(one[own]), *("–" if found is None else amount(each) for each in ends)])
    data.append(
        {
            "type": "scatter",
            "mode": "markers",
            "x": rounded([one[own] for one in households]),
            "y": list(range(len(households))),
            "hovertemplate": told.OWN_TIP,
            "marker": {"color": [series(i)["marker"]["color"] for i in range(len(households))],
                       "symbol": "circle", "size": 11, "line": {"width": 1.5, "color": "#fdfcf9"}},
        }
    )  # fmt: skip
    known = [one for one in households if one[own] is not None]
    known.sort(key=lambda one: one[own])
    extremes = [(amount(one[own]), one["name"]) for one in known]
    never = [one["name"] for one in households if one[own] is None]
    unit = {**(money_axis(currency) if money else {}), "title": {"text": told.spread_axis(key, currency)}}
    return Chart(
        id=f"{key.replace('_', '-')}-beside",
        title=told.spread_title(key),
        reading=told.spread_reading((extremes[0], extremes[-1]) if extremes else None, never),
        alt=told.spread_alt(key, rows),
        data=data,
        layout=_by_household(households, xaxis={**unit, "rangemode": "tozero"}, showlegend=False),
        table=Table(caption=told.spread_caption(key), head=told.SPREAD_HEAD, rows=rows),
        height=_height(households),
    )


def _sun(households: Sequence[Plain]) -> Chart:
    """What share of each house's load the sun carries in the first year."""
    order = sorted(households, key=lambda one: one["from_sun"])
    rows = [[one["name"], amounts.per_cent(one["from_sun"], 0), f"{one['load']:,.0f} kWh"] for one in households]
    return Chart(
        id="sun-beside",
        title=told.SUN_TITLE,
        reading=told.sun_reading(order[0], order[-1]),
        alt=told.sun_alt(rows),
        data=[
            {
                "type": "bar",
                "orientation": "h",
                "x": rounded([one["from_sun"] * 100 for one in households], 1),
                "y": list(range(len(households))),
                "marker": filled(colours.SUN),
                "hovertemplate": "%{x:.0f} %<extra></extra>",
            }
        ],
        layout=_by_household(
            households,
            bargap=0.45,
            xaxis={"range": [0, 100], "title": {"text": told.SUN_AXIS}},
            showlegend=False,
        ),
        table=Table(caption=told.SUN_CAPTION, head=told.SUN_HEAD, rows=rows),
        height=_height(households),
    )


def _by_household(households: Sequence[Plain], **more: Any) -> Plain:
    """A layout with a row for each household, the first on top; places stand for names, which may be alike."""
    return laid_out(
        hovermode="closest",
        yaxis={
            "range": [len(households) - 0.5, -0.5],
            "tickmode": "array",
            "tickvals": list(range(len(households))),
            "ticktext": [wrapped(one["name"]) for one in households],
            "showgrid": False,
        },
        margin={"l": 8, "r": 16, "t": 12, "b": 48},
        **more,
    )


def _height(households: Sequence[Plain]) -> int:
    return 110 + 56 * len(households)
