"""The page: one file that needs no network, for a phone, a desk and a printer.

A template with the charts as data beside one packed copy of the plotly script. Text from a scenario reaches the page
only through the template's escaping, or as data that the script reads.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import json
from functools import lru_cache
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from finsolar.report import (
    awards,
    borrowing,
    case_charts,
    colours,
    compared,
    figures,
    rise_charts,
    rise_words,
    sections,
    slips,
    sureness,
    words,
)
from finsolar.scenario.problems import printable

Plain = dict[str, Any]


def page(plain: Plain) -> str:
    """The whole page as HTML text."""
    currency, charts = plain["settings"]["currency"], _charts(plain)
    return rendered(
        "page.html.j2",
        charts,
        sections=sections.sections(plain, charts),
        titles=sections.TITLES,
        plain=plain,
        scenario=plain["scenario"],
        plans=plain["alternatives"],
        currency=currency,
        answer=[*words.short_answer(plain), *slips.next_change(plain)],
        words=words,
        awards=awards,
        borrowing=borrowing,
        compared=compared,
        rise_words=rise_words,
        slips=slips,
        sureness=sureness,
        money=lambda amount, digits=0: words.money(amount, currency, digits),
        figure=lambda number, kind: words.figure(number, kind, currency),
        plain_text=printable,
        lines=_cash_lines,
        hues=colours.SERIES,
    )


def rendered(name: str, charts: dict[str, figures.Chart], **more: Any) -> str:
    """A template filled with ``more``, its charts as data beside the drawing script, and what all pages share."""
    from jinja2 import Environment, FunctionLoader, StrictUndefined
    from markupsafe import Markup

    script = _asset("page.js")
    data = json.dumps(
        {chart.id: {"data": chart.data, "layout": chart.layout} for chart in charts.values()},
        allow_nan=False,
        ensure_ascii=True,
        separators=(",", ":"),
    ).replace("<", "\\u003c")
    environment = Environment(
        loader=FunctionLoader(_asset), autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    return environment.get_template(name).render(
        charts=charts,
        style=Markup(_asset("page.css")),
        plotly=_packed(),
        script=Markup(script),
        data=Markup(data),
        allowed=" ".join(_hash(source) for source in (_plotly(), script)),
        **more,
    )


def _charts(plain: Plain) -> dict[str, figures.Chart]:
    found = [
        figures.running_totals(plain),
        figures.cost_build_up(plain),
        figures.awards_by_day(plain),
        figures.bills_by_month(plain),
        figures.energy_by_month(plain),
        figures.battery_by_year(plain),
        rise_charts.npv_by_rise(plain),
        rise_charts.payback_by_rise(plain),
        *(figures.payment_against_saving(plain, plan) for plan in plain["alternatives"] if plan["loan"]),
    ]
    if plain["uncertainty"] is not None:
        found += [case_charts.npv_spread(plain), case_charts.running_fan(plain)]
    if plain["what_matters"] is not None:
        found.append(case_charts.swings(plain))
    return {chart.id: chart for chart in found if chart is not None}


def _cash_lines(plan: Plain) -> list[tuple[str, list[float]]]:
    """The cash-flow lines of an alternative that hold any money, under the names people read."""
    return [
        (words.LINE_NAMES.get(name, name[0].upper() + name[1:]), row)
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
    """The plotly script as text of half its length, for the page to unpack; packed lightly, since every run does it."""
    return base64.b64encode(gzip.compress(_plotly().encode(), compresslevel=1, mtime=0)).decode()


@lru_cache
def _hash(text: str) -> str:
    """The sign by which the page's content-security policy knows a script of ours."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
