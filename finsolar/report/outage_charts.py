"""The charts of an outage: the load test as a stacked picture up to its limits, and how long the house lasts."""

from __future__ import annotations

from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, clear, filled, label, laid_out, rounded, series
from finsolar.report.words import outage, times_told
from finsolar.report.words.amounts import joined
from finsolar.report.words.charts import outage_charts as told

Plain = dict[str, Any]

_HATCH = ("", "/", "", "x", "", "-", "", "\\", "", ".", "", "|")


def outage_charts(plain: Plain) -> list[Chart]:
    """The charts that the section on outages holds; none where they were not looked into."""
    if not outage.told(plain):
        return []
    found = [load_test(plain), by_season(plain), compared(plain)]
    return [chart for chart in found if chart is not None]


def load_test(plain: Plain) -> Chart | None:
    """The appliances on backup, one upon another, up to what carries them."""
    plan = outage.lead(plain, "load_test")
    if plan is None:
        return None
    test = plan["outage"]["load_test"]
    rating, circuits = test["rating"], test["circuits"]
    data: list[Plain] = []
    for each in circuits:
        now = each["watts"] if each["in_worst_hour"] else 0.0
        then = each["watts"] if each["in_worst_hour_of_what_fits"] else 0.0
        if now or then:
            data.append(_bar(label(each["item"], 24), [now, now, then], _look(len(data))))
    start = test["starting_watts"] - test["running_watts"]
    if start > 0:
        data.append(_bar(told.START, [0.0, start, 0.0], filled(colours.STAY, "x")))
    limits = (rating["watts"], rating["short_time_watts"], rating["watts"])
    data.append(
        {
            "type": "scatter",
            "mode": "markers",
            "name": told.limit(rating["of"]),
            "x": rounded(limits, 1),
            "y": [0, 1, 2],
            "marker": {
                "symbol": "line-ns-open",
                "size": 46,
                "color": colours.BURN,
                "line": {"width": 4, "color": colours.BURN},
            },
        }
    )
    return Chart(
        id="load-test",
        title=told.load_test_title(plan["name"]),
        reading=" ".join(outage.load_test_sentences(test)),
        alt=told.load_test_alt(limits[0], limits[1]),
        data=data,
        layout=laid_out(
            barmode="stack",
            hovermode="closest",
            bargap=0.35,
            xaxis={"tickformat": ",.0f", "ticksuffix": " W", "nticks": 6, "rangemode": "tozero"},
            legend={"traceorder": "normal"},
            yaxis={
                "autorange": "reversed",
                "tickmode": "array",
                "tickvals": [0, 1, 2],
                "ticktext": [row.replace(" ", "<br>", 1) for row in told.ROWS],
            },
            margin={"l": 8, "r": 16, "t": 12, "b": 48},
        ),
        table=outage.circuit_table(test),
        height=300 + 22 * ((len(data) + 1) // 2),
    )


def _look(place: int) -> Plain:
    """The look of the bar at a place: once the hues are used up they come again, paler, since hatching hardly shows on
    the small patches of the legend."""
    hues = [hue for hue in colours.SERIES if hue not in {colours.BURN, colours.STAY}]  # those of limits and start
    again, k = divmod(place, len(hues))
    return filled(clear(hues[k], 0.45) if again % 2 else hues[k], _HATCH[place % len(_HATCH)])


def by_season(plain: Plain) -> Chart | None:
    """The share of starts that last at least so long, by season, for the alternative that the section speaks of."""
    plan = outage.lead(plain, "endurance")
    if plan is None:
        return None
    lasts = plan["outage"]["endurance"]
    curves = list(zip(outage.season_names(lasts), lasts["seasons"], strict=True))
    data = [_curve(name, lasts["hours"], season["share"], series(k)) for k, (name, season) in enumerate(curves)]
    whole = {
        "line": {"color": colours.STAY, "width": 4},
        "marker": {"color": colours.STAY, "symbol": "circle", "size": 6},
    }
    data.append(_curve(told.ALL_YEAR, lasts["hours"], lasts["share"], whole))
    day = next((k for k, hours in enumerate(lasts["hours"]) if hours == 24), len(lasts["hours"]) - 1)
    shares = [(name, season["share"][day]) for name, season in curves]
    least, most = min(shares, key=lambda one: one[1]), max(shares, key=lambda one: one[1])
    apart = (most, least) if most[1] - least[1] >= 0.005 else ()
    return Chart(
        id="endurance",
        title=told.season_title(plan["name"]),
        reading=told.season_reading(lasts["share"][day], lasts["hours"][day], apart),
        alt=told.season_alt(lasts["hours"][day], shares),
        data=data,
        layout=_layout(lasts["longest_hours"]),
        table=_table(
            told.SEASON_CAPTION,
            lasts["hours"],
            [(told.ALL_YEAR, lasts["share"]), *((n, season["share"]) for n, season in curves)],
        ),
    )


def compared(plain: Plain) -> Chart | None:
    """The same over the whole year for every alternative that lasts in another way; none where all are alike."""
    groups = outage.alike(plain, "endurance")
    if len(groups) < 2:
        return None
    first = groups[0][1]["outage"]["endurance"]
    curves = [(joined(names), plan["outage"]["endurance"]) for names, plan in groups]
    places = [plain["alternatives"].index(plan) for _, plan in groups]
    day = next((k for k, hours in enumerate(first["hours"]) if hours == 24), len(first["hours"]) - 1)
    shares = [(name, lasts["share"][day]) for name, lasts in curves]
    return Chart(
        id="endurance-compared",
        title=told.COMPARED_TITLE,
        reading=told.compared_reading(first["hours"][day], shares),
        alt=told.COMPARED_ALT,
        data=[
            _curve(label(name, 60), lasts["hours"], lasts["share"], series(k))
            for k, (name, lasts) in zip(places, curves, strict=True)
        ],
        layout=_layout(first["longest_hours"]),
        table=_table(told.COMPARED_CAPTION, first["hours"], [(name, lasts["share"]) for name, lasts in curves]),
    )


def _bar(name: str, watts: list[float], look: Plain) -> Plain:
    bar = {"type": "bar", "orientation": "h", "name": name, "x": rounded(watts, 1), "y": [0, 1, 2], "marker": look}
    return bar | {"hovertemplate": "%{x:,.0f} W"}


def _curve(name: str, hours: list[float], shares: list[float], look: Plain) -> Plain:
    curve = {"type": "scatter", "mode": "lines+markers", "name": name, "x": hours, **look}
    return curve | {"y": rounded([100 * share for share in shares]), "hovertemplate": "%{y:.0f} %"}


def _layout(longest: float) -> Plain:
    ticks = [(hours, text) for hours, text in told.TICKS.items() if hours <= longest]
    return laid_out(
        xaxis={
            "type": "log",
            "title": {"text": told.LENGTH_AXIS},
            "tickmode": "array",
            "tickvals": [hours for hours, _ in ticks],
            "ticktext": [text for _, text in ticks],
            "hoverformat": ",.0f",
            "tickangle": 0,
        },
        legend={"y": -0.27},
        yaxis={"title": {"text": told.SHARE_AXIS}, "range": [-2, 102], "tickformat": ",.0f"},
    )


def _table(caption: str, hours: list[float], curves: list[tuple[str, list[float]]]) -> Table:
    return Table(
        caption=caption,
        head=[told.LENGTH, *(name for name, _ in curves)],
        rows=[
            [times_told.in_short(length), *(times_told.part(shares[k]) for _, shares in curves)]
            for k, length in enumerate(hours)
        ],
    )
