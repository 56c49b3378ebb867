"""The chart of what all awards come to by the day the system is switched on, with the days on which law changes."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from finsolar.incentives.wording import written
from finsolar.report import colours
from finsolar.report.figures import Chart, Table, label, laid_out, money_axis, rounded, series
from finsolar.report.words import amounts, slips
from finsolar.report.words.charts import slip_chart as told
from finsolar.scenario.problems import printable

Plain = dict[str, Any]

_BAND = 0.58
"""The share of the height above which the days of changes are named, clear of the lines."""


def awards_by_day(plain: Plain) -> Chart | None:
    """All awards over the day the system is switched on, in steps; none where no day near brings a change."""
    if not any(plan["slip"] is not None and plan["slip"]["cliffs"] for plan in plain["alternatives"]):
        return None
    currency, found = plain["settings"]["currency"], slips.courses(plain)
    first, last = min(course.days[0] for course in found), max(course.days[-1] for course in found)
    data: list[Plain] = []
    for i, course in enumerate(found):
        # Where lines run one over the other, the later one is thinner, so that both are seen.
        look = series(i)
        look["line"] |= {"shape": "hv", "width": max(5.5 - 2.0 * i, 2.0) if len(found) > 1 else 2.5}
        data.append(
            {
                "type": "scatter",
                "mode": "lines",
                "name": _course_name(course.names),
                "x": [day.isoformat() for day in course.days],
                "y": rounded(course.totals),
                "line": look["line"],
            }
        )
        data.append(
            {
                "type": "scatter",
                "mode": "markers",
                "showlegend": False,
                "hoverinfo": "skip",
                "name": told.mark_name(_course_name(course.names)),
                "x": [course.planned.isoformat()],
                "y": rounded([course.total(course.planned)]),
                "marker": look["marker"] | {"size": 12},
            }
        )
    planned = sorted({course.planned for course in found})
    named = _named_days(plain, first, last)
    shapes = [_upright(day, "solid") for day in planned] + [_upright(day, "dash") for day in _cliff_days(plain)]
    notes = [_label_above(day, f"{written(day)}<br>{text}", 0) for day, text in named]
    for day in planned[:1]:
        beside = min((other - day for other, _ in named), key=abs, default=last - first)
        aside = 0 if abs(beside) > _near(first, last) else -26 if beside.days >= 0 else 26
        notes.append(_label_above(day, told.AS_PLANNED, aside))
    days = sorted({day for course in found for day in course.days})
    return Chart(
        id="awards-by-day",
        title=told.TITLE,
        reading=slips.reading(plain),
        alt=told.alt(plain, found),
        data=data,
        layout=laid_out(
            xaxis={"type": "date", "range": [first.isoformat(), last.isoformat()]},
            yaxis={
                **money_axis(currency),
                "title": {"text": told.axis(currency)},
                "rangemode": "tozero",
                "domain": [0, _BAND],
            },
            legend={"y": -0.12},
            shapes=shapes,
            annotations=notes,
        ),
        table=Table(
            caption=told.CAPTION,
            head=told.head(found),
            rows=[
                [
                    day.isoformat(),
                    *(amounts.money(c.total(day), currency) if c.days[0] <= day <= c.days[-1] else "" for c in found),
                ]
                for day in days
            ],
        ),
        more=(
            Table(
                caption=told.CHANGES_CAPTION,
                head=[*told.CHANGES_HEAD],
                rows=slips.cliff_rows(plain),
            ),
        ),
        height=540,
    )


def _course_name(names: list[str]) -> str:
    return label(told.line_name(names), 40)


def _cliff_days(plain: Plain) -> list[date]:
    return sorted({date.fromisoformat(day) for day, *_ in slips.cliff_rows(plain)})


def _near(first: date, last: date) -> timedelta:
    """How near two days may lie for their labels to be told apart on a wide screen."""
    return (last - first) / 20


def _named_days(plain: Plain, first: date, last: date) -> list[tuple[date, str]]:
    """The days of changes with the rules that bring them; days too near one another share a label."""
    groups: list[tuple[date, dict[str, None]]] = []
    for day, title, *_ in slips.cliff_rows(plain):
        at = date.fromisoformat(day)
        if not groups or at - groups[-1][0] > _near(first, last):
            groups.append((at, {}))
        groups[-1][1][title] = None
    more = ["" if len(titles) == 1 else f" +{len(titles) - 1}" for _, titles in groups]
    return [(day, _short(next(iter(titles))) + others) for (day, titles), others in zip(groups, more, strict=True)]


def _short(title: str) -> str:
    """A title without its middle, since rules of one place often begin alike and end alike."""
    clean = printable(title)
    return label(clean if len(clean) <= 26 else f"{clean[:12].rstrip()}…{clean[-13:].lstrip()}")


def _upright(day: date, dash: str) -> Plain:
    """A line over the day, from the axis up to where the labels begin."""
    line = {"width": 1.5, "color": colours.STAY, "dash": dash}
    return {"type": "line", "xref": "x", "yref": "paper", "x0": str(day), "x1": str(day), "y0": 0, "y1": _BAND,
            "line": line}  # fmt: skip


def _label_above(day: date, text: str, aside: int) -> Plain:
    """Words that stand upright above such a line, so many dots aside."""
    return {"x": str(day), "xref": "x", "y": _BAND + 0.01, "yref": "paper", "text": text, "showarrow": False,
            "textangle": -90, "align": "left", "yanchor": "bottom", "xanchor": "center", "xshift": aside,
            "font": {"size": 12}}  # fmt: skip
