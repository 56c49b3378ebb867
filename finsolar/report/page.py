"""The page: one file that needs no network, for a phone, a desk and a printer.

A template with the charts as data beside one copy of the plotly script. Text from a scenario reaches the page
only through the template's escaping, or as data that the script reads.
"""

from __future__ import annotations

import base64
import hashlib
import json
from functools import lru_cache
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from finsolar.report import awards, colours, figures, slips, words
from finsolar.scenario.problems import printable

Plain = dict[str, Any]


def page(plain: Plain) -> str:
    """The whole page as HTML text."""
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    charts = _charts(plain)
    script = _asset("page.js")
    data = json.dumps(
        {chart.id: {"data": chart.data, "layout": chart.layout} for chart in charts.values()},
        allow_nan=False,
        ensure_ascii=True,
        separators=(",", ":"),
    ).replace("<", "\\u003c")
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    template = environment.from_string(_asset("page.html.j2"))
    currency = plain["settings"]["currency"]
    return template.render(
        plain=plain,
        scenario=plain["scenario"],
        plans=plain["alternatives"],
        currency=currency,
        charts=charts,
        answer=[*words.short_answer(plain), *slips.next_change(plain)],
        words=words,
        awards=awards,
        slips=slips,
        money=lambda amount, digits=0: words.money(amount, currency, digits),
        figure=lambda number, kind: words.figure(number, kind, currency),
        plain_text=printable,
        lines=_cash_lines,
        hues=colours.SERIES,
        style=Markup(_asset("page.css")),
        plotly=Markup(_plotly()),
        script=Markup(script),
        data=Markup(data),
        allowed=" ".join(_hash(source) for source in (_plotly(), script)),
    )


def _charts(plain: Plain) -> dict[str, figures.Chart]:
    found = [
        figures.running_totals(plain),
        figures.cost_build_up(plain),
        figures.awards_by_day(plain),
        figures.bills_by_month(plain),
        figures.energy_by_month(plain),
        figures.battery_by_year(plain),
        figures.rise_sweep(plain),
        *(figures.payment_against_saving(plain, plan) for plan in plain["alternatives"] if plan["loan"]),
    ]
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
def _hash(text: str) -> str:
    """The sign by which the page's content-security policy knows a script of ours."""
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
