"""The charts of an outage: the load test as a stacked picture up to its limits, and how long the house lasts."""

from __future__ import annotations

from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, filled, label, laid_out, rounded, series
from finsolar.report.words import outage, times_told
from finsolar.report.words.amounts import joined

Plain = dict[str, Any]

_ROWS = ("Running at once", "Largest start", "With what fits")
_HATCH = ("", "/", "", "x", "", "-", "", "\\", "", ".", "", "|")
_TICKS = ((1, "1 h"), (3, "3 h"), (6, "6 h"), (12, "12 h"), (24, "1 d"), (72, "3 d"), (168, "7 d"), (336, "14 d"))


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
    hues = [hue for hue in colours.SERIES if hue != colours.BURN]  # the limits have that one
    data: list[Plain] = []
    for k, each in enumerate(circuits):
        now = each["watts"] if each["in_worst_hour"] else 0.0
        then = each["watts"] if each["in_worst_hour_of_what_fits"] else 0.0
        if now or then:
            look = filled(hues[k % len(hues)], _HATCH[k % len(_HATCH)])
            data.append(_bar(label(each["item"], 24), [now, now, then], look))
    start = test["starting_watts"] - test["running_watts"]
    if start > 0:
        data.append(_bar("The start itself", [0.0, start, 0.0], filled(colours.STAY, "x")))
    limits = (rating["watts"], rating["short_time_watts"], rating["watts"])
    data.append(
        {
            "type": "scatter",
            "mode": "markers",
            "name": f"Limit of the {rating['of']}",
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
        title=f"Load test on paper: {plan['name']}",
        reading=" ".join(outage.load_test_sentences(test)),
        alt="Stacked bars of the watts of each circuit: all that is on backup running at once, the same with the "
        f"largest start, and what fits; the upright marks are the limits, {times_told.counted_watts(limits[0])} for "
        f"long and {times_told.counted_watts(limits[1])} for a start. The table below holds every circuit.",
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
                "ticktext": [row.replace(" ", "<br>", 1) for row in _ROWS],
            },
            margin={"l": 8, "r": 16, "t": 12, "b": 48},
        ),
        table=outage.circuit_table(test),
        height=300 + 22 * ((len(data) + 1) // 2),
    )


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
    data.append(_curve("All year", lasts["hours"], lasts["share"], whole))
    day = next((k for k, hours in enumerate(lasts["hours"]) if hours == 24), len(lasts["hours"]) - 1)
    shares = [(name, season["share"][day]) for name, season in curves]
    least, most = min(shares, key=lambda one: one[1]), max(shares, key=lambda one: one[1])
    span = "a day" if lasts["hours"][day] == 24 else times_told.ahead_of(lasts["hours"][day])
    reading = f"{times_told.part(lasts['share'][day])} of all starts last {span} or longer"
    if most[1] - least[1] >= 0.005:
        reading += ": " + ", ".join(f"{times_told.part(share)} of those from {name}" for name, share in (most, least))
    return Chart(
        id="endurance",
        title=f"How long it lasts, by season: {plan['name']}",
        reading=f"{reading[:1].upper()}{reading[1:]}.",
        alt="Falling lines of the share of starts that last at least so many hours, one for each season. "
        + " ".join(f"{name}: {times_told.part(share)} last {span} or longer." for name, share in shares),
        data=data,
        layout=_layout(lasts["longest_hours"]),
        table=_table(
            "season", lasts["hours"], [("All year", lasts["share"]), *((n, season["share"]) for n, season in curves)]
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
    span = "a day" if first["hours"][day] == 24 else times_told.ahead_of(first["hours"][day])
    shares = [f"{times_told.part(lasts['share'][day])} of the starts with “{name}”" for name, lasts in curves]
    return Chart(
        id="endurance-compared",
        title="How long each alternative lasts, all year",
        reading=f"{span[0].upper()}{span[1:]} or longer last {joined(shares)}.",
        alt="Falling lines of the share of starts that last at least so many hours, one for each alternative; the "
        "table below holds every number.",
        data=[
            _curve(label(name, 60), lasts["hours"], lasts["share"], series(k))
            for k, (name, lasts) in zip(places, curves, strict=True)
        ],
        layout=_layout(first["longest_hours"]),
        table=_table("alternative", first["hours"], [(name, lasts["share"]) for name, lasts in curves]),
    )


def _bar(name: str, watts: list[float], look: Plain) -> Plain:
    bar = {"type": "bar", "orientation": "h", "name": name, "x": rounded(watts, 1), "y": [0, 1, 2], "marker": look}
    return bar | {"hovertemplate": "%{x:,.0f} W"}


def _curve(name: str, hours: list[float], shares: list[float], look: Plain) -> Plain:
    curve = {"type": "scatter", "mode": "lines+markers", "name": name, "x": hours, **look}
    return curve | {"y": rounded([100 * share for share in shares]), "hovertemplate": "%{y:.0f} %"}


def _layout(longest: float) -> Plain:
    ticks = [(hours, text) for hours, text in _TICKS if hours <= longest]
    return laid_out(
        xaxis={
            "type": "log",
            "title": {"text": "Length of the outage"},
            "tickmode": "array",
            "tickvals": [hours for hours, _ in ticks],
            "ticktext": [text for _, text in ticks],
            "hoverformat": ",.0f",
            "tickangle": 0,
        },
        legend={"y": -0.27},
        yaxis={"title": {"text": "Starts that last, %"}, "range": [-2, 102], "tickformat": ",.0f"},
    )


def _table(by: str, hours: list[float], curves: list[tuple[str, list[float]]]) -> Table:
    return Table(
        caption=f"Share of the starts that last at least so long, by {by}",
        head=["Length", *(name for name, _ in curves)],
        rows=[
            [times_told.in_short(length), *(times_told.part(shares[k]) for _, shares in curves)]
            for k, length in enumerate(hours)
        ],
    )
