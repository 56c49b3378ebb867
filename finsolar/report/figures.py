"""The charts of the page, as plotly figures in plain values, each with its reading, its table and a text for
those who cannot see it.

A chart is data only: the page draws it with the plotly script that lies beside it in the file.
"""

from __future__ import annotations

import html
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from finsolar.report import colours
from finsolar.report.words import amounts, changes_told, in_cash
from finsolar.report.words.charts import figures as told
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

    ``more`` are further tables behind it; ``narrow``, where a narrow screen needs another ``height`` and parts of
    the ``layout``, those.
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
    narrow: Plain | None = None


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


def zero_line(end: int) -> Plain:
    """The line of no money, from year 0 to year ``end``."""
    return {"type": "line", "x0": 0, "x1": end, "y0": 0, "y1": 0, "line": {"width": 1.5, "color": colours.STAY}}


AMOUNT_TICKS = ",.3~f"
"""Ticks of an axis of amounts: as many decimals as their steps need, so that no two labels are alike."""


def money_axis(currency: str) -> Plain:
    """Ticks of an axis of money, with the sign of the currency."""
    sign = amounts.SIGNS.get(currency, f"{currency} ")
    # d3's own "$" puts the minus before the sign; other signs can only be a prefix.
    return {"tickformat": "$,.0f"} if sign == "$" else {"tickprefix": sign, "tickformat": ",.0f"}


def wrapped(name: str, most: int = 3) -> str:
    """A name over up to ``most`` short lines, for an axis."""
    rows = textwrap.wrap(printable(name, 18 * most), 18, max_lines=most, placeholder="…")
    return "<br>".join(html.escape(row, quote=False) for row in rows)


def filled(colour: str, shape: str = "") -> Plain:
    """A filled bar: a hue, and hatching over it where the hue alone would not tell."""
    pattern = {"shape": shape, "fillmode": "overlay", "fgcolor": "rgba(255,255,255,0.65)", "size": 7}
    return {
        "color": colour,
        "pattern": {**pattern, "solidity": 0.2},
        "line": {"width": 0.6, "color": "#fdfcf9"},
    }


def clear(hue: str, share: float = 0.28) -> str:
    """A hue that lets what is behind it through, all but a share."""
    red, green, blue = (int(hue[k : k + 2], 16) for k in (1, 3, 5))
    return f"rgba({red},{green},{blue},{share})"


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


_MOST_BANDS = 3  # more bands one over the other cannot be told apart


def running_totals(plain: Plain) -> Chart:
    """The running total of every alternative, year by year, with the band from P10 to P90 where cases were drawn."""
    currency, plans = plain["settings"]["currency"], plain["alternatives"]
    years, spreads, bands = plans[0]["cash_flow"]["year"], _spreads(plain), _bands(plain)
    data = [
        {
            "type": "scatter",
            "mode": "lines",
            "name": label(plan["name"]),
            "x": [*years, *reversed(years)],
            "y": rounded([*bands[plan["name"]]["p90"], *reversed(bands[plan["name"]]["p10"])]),
            "fill": "toself",
            "fillcolor": clear(colours.SERIES[i % len(colours.SERIES)], 0.2),
            "line": {"width": 0},
            "hoverinfo": "skip",
            "showlegend": False,
            "legendgroup": f"plan-{i}",
        }
        for i, plan in enumerate(plans)
        if plan["name"] in bands
    ]
    data += [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": label(plan["name"]),
            "x": years,
            "y": rounded(plan["cash_flow"]["running_total"]),
            "legendgroup": f"plan-{i}",
            **series(i),
        }
        for i, plan in enumerate(plans)
    ]
    return Chart(
        id="running-totals",
        title=told.RUNNING_TITLE + in_cash.with_worth(plain),
        reading=told.running_reading(plain, bands),
        alt=told.running_alt(plain, spreads),
        data=data,
        layout=laid_out(
            xaxis={"title": {"text": told.RUNNING_AXIS}, "dtick": 5},
            yaxis={**money_axis(currency), "title": {"text": told.running_money_axis(currency)}},
            shapes=[zero_line(years[-1])],
            legend={"tracegroupgap": 0},
        ),
        table=Table(
            caption=told.RUNNING_CAPTION + in_cash.with_worth(plain),
            head=[told.YEAR, *(plan["name"] for plan in plans)],
            rows=[
                [str(year), *(amounts.money(plan["cash_flow"]["running_total"][year], currency) for plan in plans)]
                for year in years
            ],
        ),
        more=tuple(
            Table(
                caption=told.running_band_caption(name),
                head=[*told.RUNNING_BAND_HEAD],
                rows=[
                    [str(year), *(amounts.money(fan[key][year], currency) for key in ("p10", "p50", "p90"))]
                    for year in years
                ],
            )
            for name, fan in spreads.items()
        ),
        height=420 + 20 * max(0, len(plans) - 3),
    )


def _spreads(plain: Plain) -> dict[str, Plain]:
    """P10, P50 and P90 of the running total by year, by alternative; empty where nothing was drawn."""
    found = plain["uncertainty"]
    return {} if found is None else {one["name"]: one["running"] for one in found["alternatives"]}


def _bands(plain: Plain) -> dict[str, Plain]:
    """The spreads of the running totals that are drawn: all of a few, else those of the two worth most."""
    found = _spreads(plain)
    if len(found) <= _MOST_BANDS:
        return found
    order = sorted(plain["alternatives"], key=lambda plan: -plan["metrics"]["npv"])
    return {plan["name"]: found[plan["name"]] for plan in order[:2]}


def bills_by_month(plain: Plain) -> Chart:
    """The bill of each month of year 1, as you are and with each alternative."""
    currency, plans = plain["settings"]["currency"], plain["alternatives"]
    before = plain["stay"]["bill"]["first_year_total_by_month"]
    distinct = _distinct_bills(plans)
    data: list[Plain] = [
        {
            "type": "bar",
            "name": told.STAY,
            "x": list(amounts.MONTH_NAMES),
            "y": rounded(before),
            "marker": filled(colours.STAY, "/"),
        }
    ]
    data += [
        {
            "type": "bar",
            "name": label(name),
            "x": list(amounts.MONTH_NAMES),
            "y": rounded(row),
            "marker": filled(colours.SERIES[i % len(colours.SERIES)]),
        }
        for i, (name, row) in enumerate(distinct)
    ]
    return Chart(
        id="bills-by-month",
        title=told.BILLS_TITLE,
        reading=told.bills_reading(plain),
        alt=told.BILLS_ALT,
        data=data,
        layout=laid_out(
            barmode="group",
            xaxis={"title": {"text": told.MONTH}},
            yaxis={**money_axis(currency), "title": {"text": told.bills_axis(currency)}},
        ),
        table=Table(
            caption=told.BILLS_CAPTION,
            head=told.bills_head(name for name, _ in distinct),
            rows=[
                [
                    amounts.MONTH_NAMES[m],
                    amounts.money(before[m], currency, 2),
                    *(amounts.money(row[m], currency, 2) for _, row in distinct),
                ]
                for m in range(12)
            ],
            foot=[
                told.YEAR,
                amounts.money(sum(before), currency, 2),
                *(amounts.money(sum(row), currency, 2) for _, row in distinct),
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
        return [(told.WITH_THE_SYSTEM, found[0][1])]
    return [(amounts.joined(names), row) for names, row in found]


def energy_by_month(plain: Plain) -> Chart:
    """Where the electricity of each month comes from, first year, for the alternative of the short answer."""
    plan = changes_told.best_of(plain)
    months = plan["energy"]["first_year_by_month"]
    grid, engine = months["imported"], months["generator"]
    own = months["load_from_sun"]
    parts = [
        (told.SUN, own, colours.SUN, ""),
        (told.GRID, grid, colours.GRID, "/"),
        (told.GENERATOR, engine, colours.BURN, "x"),
        (told.NO_SOURCE, months["unserved"], colours.SERIES[3], "."),
    ]
    parts = [part for part in parts if any(amount > 0.05 for amount in part[1])]
    data: list[Plain] = [
        {
            "type": "bar",
            "name": name,
            "x": list(amounts.MONTH_NAMES),
            "y": rounded(row, 1),
            "marker": filled(colour, shape),
        }
        for name, row, colour, shape in parts
    ]
    data.append(
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": told.SOLAR_MADE,
            "x": list(amounts.MONTH_NAMES),
            "y": rounded(months["solar"], 1),
            "line": {"color": colours.SERIES[0], "dash": "dot", "width": 2},
            "marker": {"symbol": "diamond", "size": 7, "color": colours.SERIES[0]},
        }
    )
    share = plan["energy"]["load_from_sun"][0] / max(plan["energy"]["load"][0], 1e-9)
    return Chart(
        id="energy-by-month",
        title=told.energy_title(plan["name"]),
        reading=told.energy_reading(share),
        alt=told.ENERGY_ALT,
        data=data,
        layout=laid_out(
            barmode="relative",
            xaxis={"title": {"text": told.MONTH}},
            yaxis={"title": {"text": told.ENERGY_AXIS}, "tickformat": AMOUNT_TICKS},
        ),
        table=Table(
            caption=told.ENERGY_CAPTION,
            head=told.energy_head(name for name, *_ in parts),
            rows=[
                [
                    amounts.MONTH_NAMES[m],
                    f"{months['load'][m]:,.0f}",
                    *(f"{row[m]:,.0f}" for _, row, *_ in parts),
                    f"{months['solar'][m]:,.0f}",
                    f"{months['exported'][m]:,.0f}",
                ]
                for m in range(12)
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
    rows = {row: amounts.joined(names) for row, names in named.items()}
    order = [plan["name"] for plan in plain["alternatives"]]
    years = plain["alternatives"][0]["cash_flow"]["year"][1:]
    data = [
        {
            "type": "scatter",
            "mode": "lines+markers",
            "name": label(name, 72) if len(rows) > 1 else told.BATTERY,
            "x": years,
            "y": rounded(list(row)),
            **series(order.index(named[row][0])),
        }
        for row, name in rows.items()
    ]
    row = plans[0]["energy"]["battery_capacity"]
    return Chart(
        id="battery-by-year",
        title=told.BATTERY_TITLE,
        reading=told.battery_reading(row, plans[0]["name"] if len(rows) > 1 else None),
        alt=told.BATTERY_ALT,
        data=data,
        layout=laid_out(
            xaxis={"title": {"text": told.YEAR}, "dtick": 5},
            yaxis={"title": {"text": told.BATTERY_AXIS}, "rangemode": "tozero"},
            showlegend=len(rows) > 1,
            legend={"y": -0.35},
        ),
        table=Table(
            caption=told.BATTERY_CAPTION,
            head=[told.YEAR, *(rows.values() if len(rows) > 1 else [told.BATTERY])],
            rows=[[str(y), *(f"{r[k]:.1f}" for r in rows)] for k, y in enumerate(years)],
        ),
        height=340,
    )
