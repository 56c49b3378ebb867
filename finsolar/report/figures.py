"""The charts of the page, as plotly figures in plain values, each with its reading, its table and a text for
those who cannot see it.

A chart is data only: the page draws it with the plotly script that lies beside it in the file.
"""

from __future__ import annotations

import html
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from finsolar.incentives.wording import written
from finsolar.report import colours, slips, words
from finsolar.scenario.problems import printable

Plain = dict[str, Any]
Cell = str


@dataclass(frozen=True)
class Table:
    """A table of text: the first column heads its rows."""

    caption: str
    head: list[Cell]
    rows: list[list[Cell]]
    foot: list[Cell] | None = None


@dataclass(frozen=True)
class Chart:
    """One figure: ``id`` is fixed, ``reading`` is the line above it, ``alt`` says the same without sight.

    ``more`` are further tables behind it.
    """

    id: str
    title: str
    reading: str
    alt: str
    data: list[Plain]
    layout: Plain
    table: Table
    height: int = field(default=420)
    more: tuple[Table, ...] = ()


def label(name: str, longest: int = 36) -> str:
    """A name from the scenario as a chart may hold it: no markup, no steering signs, not endless."""
    return html.escape(printable(name, longest), quote=False)


def laid_out(**more: Any) -> Plain:
    """The layout that all charts share, with what one of them needs laid over it."""
    axis: Plain = {"zeroline": False, "automargin": True}
    base: Plain = {
        "margin": {"l": 56, "r": 16, "t": 12, "b": 48},
        "legend": {"orientation": "h", "y": -0.2, "x": 0, "yanchor": "top"},
        "hovermode": "x unified",
        "xaxis": dict(axis),
        "yaxis": dict(axis),
    }
    for name, value in more.items():
        base[name] = {**base[name], **value} if isinstance(base.get(name), dict) else value
    return base


def money_axis(currency: str) -> Plain:
    """Ticks of an axis of money, with the sign of the currency."""
    sign = words.SIGNS.get(currency, f"{currency} ")
    # d3's own "$" puts the minus before the sign; other signs can only be a prefix.
    return {"tickformat": "$,.0f"} if sign == "$" else {"tickprefix": sign, "tickformat": ",.0f"}


def wrapped(name: str) -> str:
    """A name over up to three short lines, for an axis."""
    rows = textwrap.wrap(printable(name, 54), 18, max_lines=3, placeholder="…")
    return "<br>".join(html.escape(row, quote=False) for row in rows)


def filled(colour: str, shape: str = "") -> Plain:
    """A filled bar: a hue, and hatching over it where the hue alone would not tell."""
    pattern = {"shape": shape, "fillmode": "overlay", "fgcolor": "rgba(255,255,255,0.65)", "size": 7}
    return {
        "color": colour,
        "pattern": {**pattern, "solidity": 0.2},
        "line": {"width": 0.6, "color": "#fdfcf9"},
    }


def series(i: int) -> Plain:
    """Hue, dash and mark of the alternative at place ``i``."""
    k = i % len(colours.SERIES)
    return {
        "line": {"color": colours.SERIES[k], "dash": colours.DASHES[k], "width": 2.5},
        "marker": {"color": colours.SERIES[k], "symbol": colours.MARKERS[k], "size": 6},
    }


def rounded(row: Sequence[float | None], digits: int = 2) -> list[float | None]:
    """A row as a chart holds it, to the cent, so that the page stays small."""
    return [None if number is None else round(number, digits) for number in row]


def running_totals(plain: Plain) -> Chart:
    """The running total of every alternative, year by year."""
    currency, plans = plain["settings"]["currency"], plain["alternatives"]
    years = plans[0]["cash_flow"]["year"]
    data = [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": label(plan["name"]),
            "x": years,
            "y": rounded(plan["cash_flow"]["running_total"]),
            **series(i),
        }
        for i, plan in enumerate(plans)
    ]
    zero = {
        "type": "line",
        "x0": 0,
        "x1": years[-1],
        "y0": 0,
        "y1": 0,
        "line": {"width": 1.5, "color": colours.STAY},
    }
    best = max(plans, key=lambda plan: plan["cash_flow"]["running_total"][-1])
    end = words.money(best["cash_flow"]["running_total"][-1], currency)
    return Chart(
        id="running-totals",
        title="Running total of all money in and out",
        reading="Where a line crosses zero, the system has paid for itself; not discounted, "
        f"“{best['name']}” ends highest, at {end} after {years[-1]} years.",
        alt="Line chart. "
        + " ".join(
            f"{plan['name']}: starts at {words.money(plan['cash_flow']['running_total'][0], currency)}, ends at "
            f"{words.money(plan['cash_flow']['running_total'][-1], currency)}."
            for plan in plans
        ),
        data=data,
        layout=laid_out(
            xaxis={"title": {"text": "Years since switched on"}, "dtick": 5},
            yaxis={**money_axis(currency), "title": {"text": f"Running total, {currency} of each year"}},
            shapes=[zero],
        ),
        table=Table(
            caption="Running total at the end of each year, against staying as you are",
            head=["Year", *(plan["name"] for plan in plans)],
            rows=[
                [str(year), *(words.money(plan["cash_flow"]["running_total"][year], currency) for plan in plans)]
                for year in years
            ],
        ),
    )


def cost_build_up(plain: Plain) -> Chart:
    """What each alternative costs by category, and what awards take off."""
    currency, plans = plain["settings"]["currency"], plain["alternatives"]
    found = {line["category"] for plan in plans for line in plan["costs"]["lines"]}
    categories = [name for name in words.CATEGORIES if name in found]

    def sums(plan: Plain, part: str) -> float:
        return float(sum(line[part] for line in plan["costs"]["lines"]))

    def of(plan: Plain, category: str) -> float:
        return float(sum(line["price"] for line in plan["costs"]["lines"] if line["category"] == category))

    parts = [(words.CATEGORIES[name], [of(plan, name) for plan in plans]) for name in categories]
    parts.append(("Sales tax", [sums(plan, "sales_tax") for plan in plans]))
    parts.append(("Allowance for the unforeseen", [sums(plan, "contingency") for plan in plans]))
    parts.append(("Rebates and awards", [-(p["costs"]["rebates"] + p["costs"]["awards"]) for p in plans]))
    parts = [(name, row) for name, row in parts if any(row)]
    names = [wrapped(plan["name"]) for plan in plans]
    data = [
        {
            "type": "bar",
            "orientation": "h",
            "name": name,
            "y": list(range(len(plans))),
            "x": rounded(row),
            "marker": filled(colours.SERIES[i % 8], ("", "/", "", "x", "", "-", "", "\\")[i % 8] if i < 8 else "."),
        }
        for i, (name, row) in enumerate(parts)
    ]
    low, high = (f(plans, key=lambda plan: plan["costs"]["net"]) for f in (min, max))
    reading = f"After rebates and awards, “{low['name']}” costs {words.money(low['costs']['net'], currency)}"
    if high is not low and high["costs"]["net"] - low["costs"]["net"] > 0.5:
        reading += f" and “{high['name']}” {words.money(high['costs']['net'], currency)}"
    return Chart(
        id="cost-build-up",
        title="What the money buys",
        reading=reading + ".",
        alt="Stacked bars of cost by category; the table below holds every amount.",
        data=data,
        layout=laid_out(
            barmode="relative",
            hovermode="closest",
            xaxis=money_axis(currency),  # the ticks carry the currency, and the legend needs the room
            # Places stand for names, so that two that are shortened alike keep a bar each.
            yaxis={
                "autorange": "reversed",
                "tickmode": "array",
                "tickvals": list(range(len(plans))),
                "ticktext": names,
            },
            margin={"l": 8, "r": 16, "t": 12, "b": 48},
        ),
        table=Table(
            caption="Cost by category",
            head=["", *(plan["name"] for plan in plans)],
            rows=[[name, *(words.money(amount, currency) for amount in row)] for name, row in parts],
            foot=["Net cost", *(words.money(plan["costs"]["net"], currency) for plan in plans)],
        ),
        height=180 + 60 * len(plans) + 24 * (len(parts) // 2),
    )


def bills_by_month(plain: Plain) -> Chart:
    """The bill of each month of year 1, as you are and with each alternative."""
    currency, plans = plain["settings"]["currency"], plain["alternatives"]
    before = plain["stay"]["bill"]["first_year_total_by_month"]
    distinct = _distinct_bills(plans)
    data: list[Plain] = [
        {
            "type": "bar",
            "name": "Stay as you are",
            "x": list(words.MONTH_NAMES),
            "y": rounded(before),
            "marker": filled(colours.STAY, "/"),
        }
    ]
    data += [
        {
            "type": "bar",
            "name": label(name),
            "x": list(words.MONTH_NAMES),
            "y": rounded(row),
            "marker": filled(colours.SERIES[i % len(colours.SERIES)]),
        }
        for i, (name, row) in enumerate(distinct)
    ]
    best = words.best_of(plain)
    first = best["bills"]["after"]["first_year_total_by_month"]
    return Chart(
        id="bills-by-month",
        title="The bill of each month, first year",
        reading=f"With “{best['name']}” the year’s bill goes from {words.money(sum(before), currency)} to "
        f"{words.money(sum(first), currency)}, the dearest month from {words.money(max(before), currency)} to "
        f"{words.money(max(first), currency)}.",
        alt="Grouped bars of the monthly bill before and after; the table below holds every amount.",
        data=data,
        layout=laid_out(
            barmode="group",
            xaxis={"title": {"text": "Month"}},
            yaxis={**money_axis(currency), "title": {"text": f"{currency} a month"}},
        ),
        table=Table(
            caption="Bill by month, first year",
            head=["Month", "Stay as you are", *(name for name, _ in distinct)],
            rows=[
                [
                    words.MONTH_NAMES[m],
                    words.money(before[m], currency, 2),
                    *(words.money(row[m], currency, 2) for _, row in distinct),
                ]
                for m in range(12)
            ],
            foot=[
                "Year",
                words.money(sum(before), currency, 2),
                *(words.money(sum(row), currency, 2) for _, row in distinct),
            ],
        ),
    )


def _distinct_bills(plans: list[Plain]) -> list[tuple[str, list[float]]]:
    """Alternatives with the same bill share one bar, named after all of them."""
    found: list[tuple[list[str], list[float]]] = []
    for plan in plans:
        row = plan["bills"]["after"]["first_year_total_by_month"]
        same = next((names for names, other in found if other == row), None)
        if same is None:
            found.append(([plan["name"]], row))
        else:
            same.append(plan["name"])
    if len(found) == 1 and len(plans) > 1:
        return [("With the system", found[0][1])]
    return [(words.joined(names), row) for names, row in found]


def energy_by_month(plain: Plain) -> Chart:
    """Where the electricity of each month comes from, first year, for the alternative of the short answer."""
    plan = words.best_of(plain)
    months = plan["energy"]["first_year_by_month"]
    grid, engine = months["imported"], months["generator"]
    own = months["load_from_sun"]
    parts = [
        ("Sun, straight or through the battery", own, colours.SUN, ""),
        ("Grid", grid, colours.GRID, "/"),
        ("Generator", engine, colours.BURN, "x"),
        ("No source", months["unserved"], colours.SERIES[3], "."),
    ]
    parts = [part for part in parts if any(amount > 0.05 for amount in part[1])]
    data: list[Plain] = [
        {
            "type": "bar",
            "name": name,
            "x": list(words.MONTH_NAMES),
            "y": rounded(row, 1),
            "marker": filled(colour, shape),
        }
        for name, row, colour, shape in parts
    ]
    data.append(
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": "Solar energy made",
            "x": list(words.MONTH_NAMES),
            "y": rounded(months["solar"], 1),
            "line": {"color": colours.SERIES[0], "dash": "dot", "width": 2},
            "marker": {"symbol": "diamond", "size": 7, "color": colours.SERIES[0]},
        }
    )
    share = plan["energy"]["load_from_sun"][0] / max(plan["energy"]["load"][0], 1e-9)
    return Chart(
        id="energy-by-month",
        title=f"Where the electricity comes from, first year: {plan['name']}",
        reading=f"The sun carries {words.per_cent(share, 0)} of the year’s load.",
        alt="Stacked bars of the load by source and month, with a line for the solar energy made.",
        data=data,
        layout=laid_out(
            barmode="relative",
            xaxis={"title": {"text": "Month"}},
            yaxis={"title": {"text": "kWh a month"}, "tickformat": ",.0f"},
        ),
        table=Table(
            caption="Energy by month, first year, kWh",
            head=["Month", "Load", *(name for name, *_ in parts), "Solar made", "Sold"],
            rows=[
                [
                    words.MONTH_NAMES[m],
                    f"{months['load'][m]:,.0f}",
                    *(f"{row[m]:,.0f}" for _, row, *_ in parts),
                    f"{months['solar'][m]:,.0f}",
                    f"{months['exported'][m]:,.0f}",
                ]
                for m in range(12)
            ],
        ),
    )


def payment_against_saving(plain: Plain, plan: Plain) -> Chart:
    """The loan's yearly payments beside what the system saves."""
    currency, flow = plain["settings"]["currency"], plan["cash_flow"]
    years = flow["year"][1:]
    paid = [-amount for amount in flow["lines"]["loan payments"][1:]]
    other = plan["loan"]["available"][1:]
    short = [year for year, p, o in zip(years, paid, other, strict=True) if p > 0 and o < p]
    number = plain["alternatives"].index(plan)
    return Chart(
        id=f"loan-{number}",
        title=f"Payment against what the system brings in: {plan['name']}",
        reading=f"In {len(short)} of the {sum(p > 0 for p in paid)} years of the loan the payments are more than what "
        "the system brings in that year, and the household adds the rest.",
        alt="Bars of yearly loan payments and a line of the yearly saving after upkeep.",
        data=[
            {
                "type": "bar",
                "name": "Loan payments",
                "x": years,
                "y": rounded(paid),
                "marker": filled(colours.SERIES[1], "/"),
            },
            {
                "type": "scatter",
                "mode": "lines+markers",
                "name": "Saving and awards, less upkeep and replacements",
                "x": years,
                "y": rounded(other),
                **series(2),
            },
        ],
        layout=laid_out(
            xaxis={"title": {"text": "Year"}, "dtick": 5},
            yaxis={**money_axis(currency), "title": {"text": f"{currency} a year"}},
        ),
        table=Table(
            caption=f"Loan payments and saving by year: {plan['name']}",
            head=["Year", "Loan payments", "Saving and awards, less upkeep and replacements", "Left over"],
            rows=[
                [
                    str(year),
                    words.money(p, currency),
                    words.money(o, currency),
                    words.money(o - p, currency),
                ]
                for year, p, o in zip(years, paid, other, strict=True)
            ],
        ),
    )


def battery_by_year(plain: Plain) -> Chart | None:
    """What the battery of each alternative that has one still holds; those with one course share its line."""
    plans = [plan for plan in plain["alternatives"] if any(plan["energy"]["battery_capacity"])]
    if not plans:
        return None
    named: dict[tuple[float, ...], list[str]] = {}
    for plan in plans:
        named.setdefault(tuple(plan["energy"]["battery_capacity"]), []).append(plan["name"])
    rows = {row: words.joined(names) for row, names in named.items()}
    order = [plan["name"] for plan in plain["alternatives"]]
    years = plain["alternatives"][0]["cash_flow"]["year"][1:]
    data = [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": label(name, 72) if len(rows) > 1 else "Battery",
            "x": years,
            "y": rounded(list(row)),
            **series(order.index(named[row][0])),
        }
        for row, name in rows.items()
    ]
    row = plans[0]["energy"]["battery_capacity"]
    whose = f"Under “{plans[0]['name']}” it" if len(rows) > 1 else "It"
    return Chart(
        id="battery-by-year",
        title="What the battery holds as it ages",
        reading=f"{whose} holds {row[0]:.1f} kWh when new and {min(row):.1f} kWh at its weakest; a jump is a new "
        "battery.",
        alt="Line of battery capacity by year; the table below holds the values.",
        data=data,
        layout=laid_out(
            xaxis={"title": {"text": "Year"}, "dtick": 5},
            yaxis={"title": {"text": "kWh at the start of the year"}, "rangemode": "tozero"},
            showlegend=len(rows) > 1,
            legend={"y": -0.35},
        ),
        table=Table(
            caption="Battery capacity at the start of each year, kWh",
            head=["Year", *(list(rows.values()) if len(rows) > 1 else ["Battery"])],
            rows=[[str(y), *(f"{r[k]:.1f}" for r in rows)] for k, y in enumerate(years)],
        ),
        height=340,
    )


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
                "name": label(words.joined(course.names), 72),
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
                "name": label(f"{words.joined(course.names)}, as planned", 72),
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
        notes.append(_label_above(day, "as planned", aside))
    days = sorted({day for course in found for day in course.days})
    return Chart(
        id="awards-by-day",
        title="All awards by the day the system is switched on",
        reading=slips.reading(plain),
        alt="Step chart. "
        + " ".join(
            f"{words.joined(c.names)}: {words.money(c.total(c.planned), currency)} on the planned day, {c.planned}."
            for c in found
        )
        + " Dashed lines mark: "
        + "; ".join(f"{day}, {title}" for day, title, *_ in slips.cliff_rows(plain))
        + ".",
        data=data,
        layout=laid_out(
            xaxis={"type": "date", "range": [first.isoformat(), last.isoformat()]},
            yaxis={
                **money_axis(currency),
                "title": {"text": f"Awards, {currency}"},
                "rangemode": "tozero",
                "domain": [0, _BAND],
            },
            legend={"y": -0.12},
            shapes=shapes,
            annotations=notes,
        ),
        table=Table(
            caption="All awards at face value, over all years of the study, by the day the system is switched on",
            head=["Switched on", *(words.joined(course.names) for course in found)],
            rows=[
                [
                    day.isoformat(),
                    *(words.money(c.total(day), currency) if c.days[0] <= day <= c.days[-1] else "" for c in found),
                ]
                for day in days
            ],
        ),
        more=(
            Table(
                caption="The days of changes: what the rule alone gives before, and from that day on",
                head=["Switched on from", "Rule", "What decides", "Alternatives", "Before", "After"],
                rows=slips.cliff_rows(plain),
            ),
        ),
        height=540,
    )


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
