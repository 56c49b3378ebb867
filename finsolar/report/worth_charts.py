"""The chart of the outages to expect: a bar for each way to go, of hours in the dark and hours carried."""

from __future__ import annotations

from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, filled, laid_out, rounded, wrapped
from finsolar.report.words import interruptions_told
from finsolar.report.words.amounts import joined
from finsolar.report.words.charts import worth_charts as told

Plain = dict[str, Any]

_LOOKS = {
    ("usual", "hours_not_carried"): (colours.STAY, ""),
    ("storms", "hours_not_carried"): (colours.STAY, "/"),
    ("usual", "hours_carried"): (colours.STORE, ""),
    ("storms", "hours_carried"): (colours.STORE, "/"),
}


def outage_hours(plain: Plain) -> Chart | None:
    """Hours of the first year in the dark and carried, staying as you are and with each alternative; None where no
    outages are to be expected."""
    groups = interruptions_told.alike(plain) if interruptions_told.told(plain) else []
    if not groups or interruptions_told.none_expected(plain):
        return None
    stay = groups[0][1]
    kinds = [each["kind"] for each in stay["kinds"]]
    bars = [[_parts(each, without=True) for each in stay["kinds"]]]
    bars += [[_parts(each) for each in own["kinds"]] for _, own in groups]
    data = []
    for (kind, part), (hue, shape) in _LOOKS.items():
        if kind in kinds:
            amounts = [bar[kinds.index(kind)][part] for bar in bars]
            data.append(_bar(told.KINDS[kind, part], amounts, filled(hue, shape)))
    spans = [_span(stay, "hours"), *(_span(own, "hours_not_carried") for _, own in groups)]
    if any(spans):
        data.append(_whiskers(spans))
    names = [interruptions_told.STAY, *(joined(names) for names, _ in groups)]
    whole = [(own["a_year"]["hours_carried"], own["a_year"]["hours_not_carried"]) for _, own in groups]
    return Chart(
        id="outage-hours",
        title=told.TITLE,
        reading=told.reading(
            stay["a_year"]["hours"], [(names, own["a_year"]["hours_not_carried"]) for names, own in groups]
        ),
        alt=told.alt(stay["a_year"]["hours"], [(name, *hours) for name, hours in zip(names[1:], whole, strict=True)]),
        data=data,
        layout=laid_out(
            barmode="stack",
            hovermode="closest",
            bargap=0.4,
            xaxis={"title": {"text": told.AXIS}, "rangemode": "tozero", "tickformat": ",.3~g", "nticks": 6},
            yaxis={
                "autorange": "reversed",
                "tickmode": "array",
                "tickvals": list(range(len(names))),
                "ticktext": [wrapped(name) for name in names],
            },
            legend={"traceorder": "normal", "y": -round(75 / (48 + 62 * len(names)), 3)},
            margin={"l": 8, "r": 16, "t": 12, "b": 48},
        ),
        table=told.table(
            [
                (name, kind, *(f"{part[key]:.2f}" for key in ("hours", "hours_carried", "hours_not_carried")))
                for name, bar in zip(names, bars, strict=True)
                for kind, part in zip(kinds, bar, strict=True)
            ]
        ),
        height=200 + 62 * len(names) + 24 * ((len(data) + 1) // 2),
        narrow={"height": 200 + 62 * len(names) + 24 * len(data), "layout": {"margin": {"l": 8, "r": 12}}},
    )


def _parts(kind: Plain, without: bool = False) -> dict[str, float]:
    """The hours of a kind of outages; ``without`` any backup all of them are dark."""
    hours = kind["hours"]
    return {
        "hours": hours,
        "hours_carried": 0.0 if without else kind["hours_carried"],
        "hours_not_carried": hours if without else kind["hours_not_carried"],
    }


def _span(own: Plain, key: str) -> tuple[float, float] | None:
    return None if not own["drawn"] else (own["drawn"][key]["p10"], own["drawn"][key]["p90"])


def _bar(name: str, hours: list[float], look: Plain) -> Plain:
    bar = {"type": "bar", "orientation": "h", "name": name, "x": rounded(hours, 3), "y": list(range(len(hours)))}
    return bar | {"marker": look, "hovertemplate": told.HOVER}


def _whiskers(spans: list[tuple[float, float] | None]) -> Plain:
    """A line with a mark at both ends for each bar that has a range."""
    x: list[float | None] = []
    y: list[int | None] = []
    for k, span in enumerate(spans):
        if span is not None:
            x += [*span, None]
            y += [k, k, None]
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": told.WHISKER,
        "x": rounded(x, 3),
        "y": y,
        "line": {"color": colours.BURN, "width": 2.5},
        "marker": {"symbol": "line-ns-open", "size": 16, "color": colours.BURN, "line": {"width": 2.5}},
        "hovertemplate": told.HOVER,
    }
