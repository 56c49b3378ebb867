"""The page: one file that needs no network, for a phone, a desk and a printer.

A template with the charts as data beside one packed copy of the plotly script. Text from a scenario reaches the page
only through the template's escaping, or as data that the script reads.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
import re
from functools import lru_cache
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from finsolar.report import (
    assumed_table,
    case_charts,
    colours,
    day_charts,
    figures,
    followed,
    lenders_tables,
    loan_chart,
    map_chart,
    money_chart,
    off_grid_charts,
    other_numbers,
    outage_charts,
    period_charts,
    reserve_chart,
    rise_charts,
    sections,
    slip_chart,
    worth_charts,
)
from finsolar.report.printing import margins
from finsolar.report.readers import BOTH
from finsolar.report.words import (
    amounts,
    answer,
    awards,
    borrowing,
    changes_told,
    compared,
    costs_told,
    fixed,
    glossary,
    in_cash,
    interruptions_told,
    off_grid,
    outage,
    reserve,
    rises_told,
    slips,
    sureness,
    terms,
    worth,
)
from finsolar.scenario.problems import printable

Plain = dict[str, Any]


def page(plain: Plain, reader: str = BOTH) -> str:
    """The whole page as HTML text; ``reader`` : one of `READERS`, in whose order it stands."""
    currency, charts = plain["settings"]["currency"], _charts(plain)
    return rendered(
        "page.html.j2",
        charts,
        fixed.page.title(printable(plain["scenario"]["title"], 200)),
        plain.get("made_from"),
        sections=sections.sections(plain, charts, reader),
        reader=reader,
        metric_rows=sections.metric_rows(plain, reader),
        plain=plain,
        scenario=plain["scenario"],
        plans=plain["alternatives"],
        currency=currency,
        answer=[*answer.short_answer(plain), *slips.next_change(plain)],
        other_numbers=other_numbers,
        off_grid=off_grid,
        outage=outage,
        interruptions=interruptions_told,
        worth=worth,
        in_cash=in_cash,
        reserve=reserve,
        try_data=None if plain["other_numbers"] is None else _as_data(other_numbers.page_data(plain)),
        also=() if plain["other_numbers"] is None else ("try.js",),
        amounts=amounts,
        changes_told=changes_told,
        costs_told=costs_told,
        terms=terms,
        awards=awards,
        borrowing=borrowing,
        lenders_tables=lenders_tables,
        assumed_table=assumed_table,
        glossary=glossary,
        marker=glossary.Marker,
        register=lambda: followed.register(plain),
        bill_cells=lambda: followed.bill_cells(plain),
        path_of=lambda award: followed.path_of(plain, award),
        across=lambda path, kind: followed.across(plain, path, kind),
        at=lambda path, kind: followed.cell(plain, path, kind),
        compared=compared,
        money_chart=money_chart,
        rises_told=rises_told,
        slips=slips,
        sureness=sureness,
        money=lambda amount, digits=0: amounts.money(amount, currency, digits),
        figure=lambda number, kind: amounts.figure(number, kind, currency),
        plain_text=printable,
        lines=_cash_lines,
        hues=colours.SERIES,
    )


def rendered(
    name: str,
    charts: dict[str, figures.Chart],
    title: str,
    made_from: str | None,
    also: tuple[str, ...] = (),
    **more: Any,
) -> str:
    """A template filled with ``more``, its charts as data beside the drawing script, and what all pages share.

    ``title`` is the page's, ``made_from`` the mark of the scenario it was made from, where that is a file; ``also`` :
    further scripts of ours, which the template is handed under that name.
    """
    from markupsafe import Markup

    script, further = _asset("page.js"), [_asset(each) for each in also]
    data = _as_data(
        {
            chart.id: {"data": chart.data, "layout": chart.layout} | ({"narrow": chart.narrow} if chart.narrow else {})
            for chart in charts.values()
        }
    )
    text: str = (
        _templates()
        .get_template(name)
        .render(
            charts=charts,
            title_of_page=title,
            made_from=made_from,
            style=Markup(_asset("page.css") + margins(title)),
            plotly=_packed(),
            script=Markup(script),
            data=data,
            also=[Markup(source) for source in further],
            allowed=" ".join(_hash(source) for source in (_plotly(), script, *further)),
            **more,
        )
    )
    return text


@lru_cache
def _templates() -> Any:
    """The templates, each compiled once; that takes longer than to fill them."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined

    found = Environment(
        loader=FunctionLoader(_asset), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    found.globals["said"] = fixed
    return found


def _as_data(found: Any) -> str:
    """Plain values as JSON that may stand in a page: nothing in it ends the element around it."""
    from markupsafe import Markup

    text = json.dumps(found, allow_nan=False, ensure_ascii=True, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c"))


def _charts(plain: Plain) -> dict[str, figures.Chart]:
    found = [
        figures.running_totals(plain),
        other_numbers.running_chart(plain),
        money_chart.gross_to_net(plain),
        money_chart.cost_build_up(plain),
        slip_chart.awards_by_day(plain),
        figures.bills_by_month(plain),
        period_charts.bill_by_period(plain),
        figures.energy_by_month(plain),
        day_charts.average_day(plain),
        day_charts.weeks(plain),
        figures.battery_by_year(plain),
        rise_charts.npv_by_rise(plain),
        rise_charts.payback_by_rise(plain),
        map_chart.map_of_the_answer(plain),
        *off_grid_charts.off_grid_charts(plain),
        *outage_charts.outage_charts(plain),
        worth_charts.outage_hours(plain),
        reserve_chart.reserve_price(plain),
        *(loan_chart.payment_against_saving(plain, plan) for plan in plain["alternatives"] if plan["loan"]),
    ]
    if plain["uncertainty"] is not None:
        found += [case_charts.npv_spread(plain)]
    if plain["what_matters"] is not None:
        found.append(case_charts.swings(plain))
    return {chart.id: chart for chart in found if chart is not None}


def _cash_lines(plan: Plain) -> list[tuple[str, str, list[float]]]:
    """The cash-flow lines of an alternative that hold any money, with the names people read."""
    return [
        (name, terms.LINE_NAMES.get(name, name[0].upper() + name[1:]), row)
        for name, row in plan["cash_flow"]["lines"].items()
        if any(row)
    ]


@lru_cache
def _asset(name: str) -> str:
    return files("finsolar.report").joinpath("templates", name).read_text(encoding="utf-8")


@lru_cache
def _plotly() -> str:
    """The plotly script of the installed package, read without importing the package, which is slow."""
    spec = find_spec("plotly")
    assert spec is not None and spec.submodule_search_locations
    script = Path(spec.submodule_search_locations[0]) / "package_data" / "plotly.min.js"
    return script.read_text(encoding="utf-8")


@lru_cache
def _packed() -> str:
    """The plotly script as text of less than half its length, for the page to unpack; every run packs it anew."""
    return base64.b64encode(gzip.compress(_plotly().encode(), compresslevel=4, mtime=0)).decode()


def unpacked(page: str) -> str:
    """A page that holds the plotly script as it is, so that charts can be drawn at once."""
    return _PACKED.sub(lambda _: f"<script>{_plotly()}</script>", page, count=1)


_PACKED = re.compile(r'<script [^>]*id="packed-script"[^>]*>[^<]*</script>')


@lru_cache
def _hash(text: str) -> str:
    """The sign by which the page's content-security policy knows a script of ours."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
