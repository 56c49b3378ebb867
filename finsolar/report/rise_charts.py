"""The charts of the yearly price rise: NPV and payback against it, with history and the rise of the study marked.

The marks stand in rows of their own under the lines, each with its words beside it, above one scale of rises.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import AMOUNT_TICKS, Chart, label, laid_out, money_axis, rounded, series
from finsolar.report.words import changes_told, rises_told
from finsolar.report.words.charts import rise_charts as told

Plain = dict[str, Any]

_ROW = 24  # the height of a row of marks, in dots
_EDGES = 170  # what the axis, its title and the legend take of the height, in dots
_LINES = 420  # the height without any marks, in dots
_ROOM = 5.5  # what the words of a mark need of the axis on a phone, in the per cent it shows
_GAP = "\N{NO-BREAK SPACE}" * 3


@dataclass(frozen=True)
class _Mark:
    """Rises that are marked: ``at`` one to three of them, from low to high; ``up`` the dash of a line, or a band."""

    text: str
    at: tuple[float, ...]
    up: str

    @property
    def middle(self) -> int:
        """The place of the one that a line stands on."""
        return len(self.at) // 2


def npv_by_rise(plain: Plain) -> Chart | None:
    """NPV of every alternative against the rise."""
    if not plain["sensitivity"]:
        return None
    sweep, currency = plain["sensitivity"][0], plain["settings"]["currency"]
    first, last = (_hundredth(sweep["values"][k]) for k in (0, -1))
    zero = {"type": "line", "x0": first, "x1": last, "y0": 0, "y1": 0, "line": {"width": 1.5, "color": colours.STAY}}
    sentences = (changes_told.turning_points(sweep), rises_told.own_sentence(sweep), rises_told.history_sentence(sweep))
    return _chart(
        sweep,
        id="rise-sweep",
        title=told.NPV_TITLE,
        reading=" ".join(sentences),
        key="npv",
        yaxis={**money_axis(currency), "title": {"text": told.npv_axis(currency)}},
        shapes=[zero],
        table=rises_told.npv_table(sweep, currency),
        more=rises_told.history_tables(sweep),
        alt=told.npv_alt(sweep, currency),
    )


def payback_by_rise(plain: Plain) -> Chart | None:
    """The lasting simple payback of every alternative against the rise; a gap where it never comes.

    No chart where it comes for none of them at any rise.
    """
    if not plain["sensitivity"]:
        return None
    sweep, years = plain["sensitivity"][0], plain["settings"]["years"]
    if not any(number is not None for plan in sweep["alternatives"] for number in plan["simple_payback"]):
        return None
    reading = " ".join(rises_told.payback_sentences(sweep, years))
    return _chart(
        sweep,
        id="rise-payback",
        title=told.PAYBACK_TITLE,
        reading=reading,
        key="simple_payback",
        yaxis={"title": {"text": told.PAYBACK_AXIS}, "rangemode": "tozero", "tickformat": AMOUNT_TICKS},
        shapes=[],
        table=rises_told.payback_table(sweep),
        more=(),
        alt=told.payback_alt(reading),
    )


def _chart(sweep: Plain, *, key: str, yaxis: Plain, alt: str, **more: Any) -> Chart:
    """The figure ``key`` of every alternative as a line, over the marks."""
    marks = _marks(sweep)
    height = _LINES + _ROW * len(marks)
    plot = height - _EDGES
    ground = _ROW * len(marks) / plot
    data: list[Plain] = [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": _name(plan, key),
            "x": [_hundredth(rise) for rise in sweep["values"]],
            "y": rounded(plan[key]),
            "connectgaps": False,
            **series(i),
        }
        for i, plan in enumerate(sweep["alternatives"])
    ]
    first, last = data[0]["x"][0], data[0]["x"][-1]
    layout = laid_out(
        xaxis={"title": {"text": told.AXIS}, "dtick": 2, "range": [first - 0.4, last + 0.4]},
        yaxis={**yaxis, "domain": [ground + 0.03, 1] if marks else [0, 1]},
        legend={"y": -70 / plot},
        shapes=more.pop("shapes")
        + [_upright(mark, ground * (1 - (k + 0.5) / len(marks))) for k, mark in enumerate(marks)],
    )
    if marks:
        data += [_row(mark, len(marks) - 1 - k) for k, mark in enumerate(marks)]
        data.append(_names(marks, first, last))
        layout["xaxis"]["anchor"] = "y2"
        layout["yaxis2"] = {
            "domain": [0, ground],
            "range": [-0.5, len(marks) - 0.5],
            "visible": False,
            "fixedrange": True,
        }
        alt = told.marked(alt, [mark.text for mark in marks])
    return Chart(data=data, layout=layout, alt=alt, height=height, **more)


def _name(plan: Plain, key: str) -> str:
    """The name of a line, which says so where it has no point."""
    name = label(plan["name"])
    return name if any(number is not None for number in plan[key]) else told.never(name)


def _marks(sweep: Plain) -> list[_Mark]:
    """The rise of the study with its likely range, as far as the chart goes, and what history has."""
    found, own, history = [], sweep["own"], sweep["history"]
    if own is not None and rises_told.shown(sweep, own["central"]):
        low, high = sweep["values"][0], sweep["values"][-1]
        ends = [own["central"]] if own["p10"] is None else [own["p10"], own["central"], own["p90"]]
        at = tuple(_hundredth(min(max(rise, low), high)) for rise in ends)
        found.append(_Mark(told.this_study(own["central"]), at, "solid"))
    if history is not None:
        rises = {each["kind"]: each["rises"]["price"] for each in history["windows"]}
        for kind, dash, years in (("last ten years", "dot", 10), ("last twenty years", "dash", 20)):
            last = rises_told.window(history, kind)["last"]
            found.append(_Mark(told.since(years, last, rises[kind]), (_hundredth(rises[kind]),), dash))
        slow, fast = rises["slowest ten years"], rises["fastest ten years"]
        found.append(_Mark(told.any_ten_years(slow, fast), (_hundredth(slow), _hundredth(fast)), "band"))
    return found


def _hundredth(rise: float) -> float:
    """A rise as the axis has it, in per cent."""
    return round(rise * 100, 4)


def _upright(mark: _Mark, ground: float) -> Plain:
    """A line from the top down to the mark's row, or a pale band over the whole height."""
    shape: Plain = {"xref": "x", "yref": "paper", "y0": ground, "y1": 1, "layer": "below"}
    if mark.up == "band":
        pale = {"fillcolor": colours.STAY, "opacity": 0.14, "line": {"width": 0}}
        return {**shape, **pale, "type": "rect", "x0": mark.at[0], "x1": mark.at[-1], "y0": 0}
    line = {"width": 1.5, "color": colours.STAY, "dash": mark.up}
    return {**shape, "type": "line", "x0": mark.at[mark.middle], "x1": mark.at[mark.middle], "line": line}


def _row(mark: _Mark, row: int) -> Plain:
    """A mark in its row."""
    return {
        "type": "scatter",
        "mode": "lines+markers",
        "name": mark.text,
        "x": list(mark.at),
        "y": [row] * len(mark.at),
        "yaxis": "y2",
        "hoverinfo": "skip",
        "showlegend": False,
        "line": {"color": colours.STAY, "width": 4},
        "marker": {
            "color": colours.STAY,
            "symbol": "diamond" if mark.up == "solid" else "line-ns-open",
            "size": [11 if k == mark.middle or len(mark.at) == 2 else 6 for k in range(len(mark.at))],
            "line": {"width": 2, "color": colours.STAY},
        },
    }


def _names(marks: list[_Mark], first: float, last: float) -> Plain:
    """The words of all marks, clear of the lines that come down to the rows below; above the mark if room is short."""
    x: list[float] = []
    y: list[float] = []
    places: list[str] = []
    for k, mark in enumerate(marks):
        end, middle = max(other.at[-1] for other in marks[k:]), mark.at[mark.middle]
        if last - end >= _ROOM:
            x.append(end)
            y.append(len(marks) - 1 - k)
            places.append("middle right")
        else:
            x.append(middle)
            y.append(len(marks) - 0.75 - k)
            places.append("top right" if middle < (first + last) / 2 else "top left")
    return {
        "type": "scatter",
        "mode": "text",
        "name": "marks",
        "x": x,
        "y": y,
        "yaxis": "y2",
        "text": [f"{_GAP}{mark.text}{_GAP}" for mark in marks],
        "textposition": places,
        "textfont": {"size": 11},
        "cliponaxis": False,
        "hoverinfo": "skip",
        "showlegend": False,
    }
