"""The charts of several households side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, filled, label, laid_out, money_axis, rounded, series, wrapped
from finsolar.report.words import amounts

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
    shown, few = list(households), ""
    if len(households) > _MOST:
        shown = [one for one in households if one in order[: _MOST // 2] or one in order[-_MOST // 2 :]]
        few = f" Of the {len(households)} households, the four that end highest and the four that end lowest are drawn."
    years = max(one["years"] for one in households)
    first, last = order[0], order[-1]

    def end(one: Plain) -> str:
        total, years = amounts.money(one["running_total"][-1], currency), amounts.years_told(one["years"])
        return f"“{one['name']}” at {total} after {years}"

    # Totals of unlike spans are told, but not ranked.
    alike = len({one["years"] for one in households}) == 1
    ends = f"{end(first)} ends highest, {end(last)} lowest." if alike else f"{end(first)}, {end(last)}."
    return Chart(
        id="totals-beside",
        title="Running total of each household’s best alternative",
        reading=f"Where a line crosses zero, the system has paid for itself; not discounted, {ends}{few}",
        alt="Line chart. " + " ".join(f"{end(one)}." for one in shown),
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
            xaxis={"title": {"text": "Years since switched on"}, "dtick": 5},
            yaxis={**money_axis(currency), "title": {"text": f"Running total, {currency} of each year"}},
            shapes=[
                {"type": "line", "x0": 0, "x1": years, "y0": 0, "y1": 0, "line": {"width": 1.5, "color": colours.STAY}}
            ],
        ),
        table=Table(
            caption="Running total at the end of each year, against staying as they are",
            head=["Year", *(one["name"] for one in households)],
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
    name = "NPV" if money else "Simple payback"
    own = "npv" if money else "simple_payback_lasting"

    def told(number: float | None) -> str:
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
                "hovertemplate": f"{label(one['name'])}, %{{text}}: %{{x}}<extra></extra>",
                "line": {"color": hue, "width": 4},
                "marker": {"color": hue, "symbol": "line-ns-open", "size": 12, "line": {"width": 3}},
            }
        )
        rows.append([one["name"], told(one[own]), *("–" if found is None else told(each) for each in ends)])
    data.append(
        {
            "type": "scatter",
            "mode": "markers",
            "x": rounded([one[own] for one in households]),
            "y": list(range(len(households))),
            "hovertemplate": "The study’s own: %{x}<extra></extra>",
            "marker": {"color": [series(i)["marker"]["color"] for i in range(len(households))],
                       "symbol": "circle", "size": 11, "line": {"width": 1.5, "color": "#fdfcf9"}},
        }
    )  # fmt: skip
    known = [one for one in households if one[own] is not None]
    never = [f"“{one['name']}”" for one in households if one[own] is None]
    reading = "The dot is the study’s own figure; the line runs from P10 to P90 of the futures drawn."
    if known:
        ends_of = sorted(known, key=lambda one: one[own])
        low, high = ends_of[0], ends_of[-1]
        reading = f"From {told(low[own])} (“{low['name']}”) to {told(high[own])} (“{high['name']}”). {reading}"
    if never:
        reading += f" Not paid back within the study: {amounts.joined(never)}."
    unit = {**money_axis(currency), "title": {"text": f"NPV, {currency}"}} if money else {"title": {"text": "Years"}}
    return Chart(
        id=f"{key.replace('_', '-')}-beside",
        title=f"{name} of each household’s best alternative, and how sure it is",
        reading=reading,
        alt=f"{name} by household. " + " ".join(f"{row[0]}: {row[1]}, P10 {row[2]}, P90 {row[4]}." for row in rows),
        data=data,
        layout=_by_household(households, xaxis={**unit, "rangemode": "tozero"}, showlegend=False),
        table=Table(caption=f"{name} of each household", head=["", "The study’s own", "P10", "P50", "P90"], rows=rows),
        height=_height(households),
    )


def _sun(households: Sequence[Plain]) -> Chart:
    """What share of each house's load the sun carries in the first year."""
    order = sorted(households, key=lambda one: one["from_sun"])
    low, high = order[0], order[-1]
    rows = [[one["name"], amounts.per_cent(one["from_sun"], 0), f"{one['load']:,.0f} kWh"] for one in households]
    return Chart(
        id="sun-beside",
        title="Share of the load that the sun carries, first year",
        reading=f"From {amounts.per_cent(low['from_sun'], 0)} (“{low['name']}”) to "
        f"{amounts.per_cent(high['from_sun'], 0)} (“{high['name']}”), straight or through the battery.",
        alt="Bars. " + " ".join(f"{row[0]}: {row[1]}." for row in rows),
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
            xaxis={"range": [0, 100], "title": {"text": "% of the year’s load"}},
            showlegend=False,
        ),
        table=Table(caption="Load carried by the sun, first year", head=["", "Share", "Load"], rows=rows),
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
