"""Several households side by side: what each comes to, by the best of its own alternatives, and what they assume."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from finsolar.report.figures import Table
from finsolar.report.side_charts import charts
from finsolar.report.table import HEAD, aligned, safe_cell
from finsolar.report.words import amounts, answer, changes_told, sureness, terms
from finsolar.scenario.problems import printable

Plain = dict[str, Any]

SCHEMA = "finsolar-side/1"
_SHARED = {
    "currency": "currency",
    "years": "years of study",
    "discount_rate": "discount rate",
    "inflation": "inflation",
    "rise": "rise of the price of energy",
}
"""What figures of money depend on and households may assume differently."""


def title_of(names: Sequence[str]) -> str:
    """What the page of several households is called."""
    short = [printable(name, 60) for name in names]
    return " beside ".join(short) if len(short) <= 3 else f"{short[0]} and {len(short) - 1} more"


def names_apart(titles: Sequence[str], stems: Sequence[str]) -> list[str]:
    """A name for each household: its title, with the name of its file where several have the same."""
    return [
        title if titles.count(title) == 1 else f"{title} ({stem})" for title, stem in zip(titles, stems, strict=True)
    ]


def household(plain: Plain, name: str) -> Plain:
    """What the page of several households tells of one: its house, its best alternative, its assumptions."""
    best, settings, place = changes_told.best_of(plain), plain["settings"], plain["scenario"]["place"]
    metrics, energy = best["metrics"], best["energy"]
    sweep = next(iter(plain["sensitivity"]), None)
    own = None if sweep is None else sweep["own"]
    sure = [] if plain["uncertainty"] is None else plain["uncertainty"]["alternatives"]
    cases = next((one for one in sure if one["name"] == best["name"]), None)
    return {
        "name": name,
        **{key: settings[key] for key in ("currency", "years", "discount_rate", "inflation")},
        "rise": None if own is None else own["central"],
        "place": "-".join(place[key] for key in ("country", "region") if key in place),
        "latitude": place["latitude"],
        "longitude": place["longitude"],
        "load": energy["load"][0],
        "from_sun": energy["load_from_sun"][0] / max(energy["load"][0], 1e-9),
        "array_kw": best["array_kw"],
        "battery_kwh": best["battery_kwh"],
        "in_service": best["in_service"],
        "best": best["name"],
        "net_cost": best["costs"]["net"],
        "first_year_saving": best["bills"]["first_year_saving"],
        **{key: metrics[key] for key in ("simple_payback_lasting", "npv", "irr", "lcoe")},
        "running_total": best["cash_flow"]["running_total"],
        "chance": None if cases is None else cases["chances"]["npv_above_zero"]["share"],
        "spread": None if cases is None else {key: cases["figures"][key] for key in ("npv", "simple_payback")},
        "sentence": answer.opening_sentence(plain),
        "cautions": changes_told.cautions_of(plain),
    }


def side_page(households: Sequence[Plain], links: Sequence[str], mark: str) -> str:
    """The page of several households as HTML text; ``links`` : where the page of each lies."""
    from finsolar.report.page import rendered

    drawn = charts(households)
    title = title_of([one["name"] for one in households])
    return rendered(
        "side.html.j2",
        {chart.id: chart for chart in drawn},
        title,
        mark,
        heading=title,
        households=households,
        links=links,
        tables=[houses_table(households), money_table(households)],
        assumed=assumptions_table(households),
        alike=alike_sentence(households),
        differ=caution(households),
        no_money_chart=currencies_sentence(households),
        cautions=terms.CAUTIONS,
        terms={name: terms.TERMS[name] for name in ("Net cost", "Simple payback", "NPV", "IRR", "LCOE")},
        percentiles=sureness.PERCENTILES if any(one["spread"] for one in households) else None,
    )


def houses_table(households: Sequence[Plain]) -> Table:
    """Where each house stands, what it uses, and what the best alternative puts on it."""

    def size(number: float | None, unit: str) -> str:
        return "not stated" if number is None else f"{number:,.1f} {unit}" if number else "none"

    return Table(
        caption="The houses: use in the first year, and the system of the best alternative",
        head=["", "Place", "Load", "Modules", "Battery", "Carried by the sun", "Switched on"],
        rows=[
            [
                one["name"],
                f"{one['place']}, {_degrees(one['latitude'], 'NS')} {_degrees(one['longitude'], 'EW')}",
                _whole(f"{one['load']:,.0f} kWh"),
                _whole(size(one["array_kw"], "kW")),
                _whole(size(one["battery_kwh"], "kWh")),
                _whole(amounts.per_cent(one["from_sun"], 0)),
                one["in_service"],
            ]
            for one in households
        ],
    )


def _degrees(angle: float, sides: str) -> str:
    return _whole(f"{abs(angle):.1f}° {sides[angle < 0]}")


def _whole(cell: str) -> str:
    """A short cell that is not broken into lines."""
    return cell.replace(" ", "\N{NO-BREAK SPACE}")


MONEY_HEAD = ("net cost", "saving, year 1", "payback", "NPV", "IRR", "better off", "LCOE, a kWh")


def money_row(one: Plain) -> list[str]:
    """The money of a household's best alternative, under ``MONEY_HEAD``."""
    currency = one["currency"]
    return [
        amounts.money(one["net_cost"], currency),
        amounts.money(one["first_year_saving"], currency),
        amounts.span(one["simple_payback_lasting"]),
        amounts.money(one["npv"], currency),
        amounts.figure(one["irr"], "share", currency),
        "–" if one["chance"] is None else sureness.of_hundred(one["chance"]),
        "none" if one["lcoe"] is None else amounts.money(one["lcoe"], currency, 3),
    ]


def money_table(households: Sequence[Plain]) -> Table:
    """What the best alternative of each household costs and brings."""
    return Table(
        caption="The money of each household’s best alternative, against staying as it is; payback is the simple one, "
        "for good, and “better off” the futures drawn in which the NPV is above zero",
        head=["", *(name[:1].upper() + name[1:] for name in MONEY_HEAD)],
        rows=[[f"{one['name']}: {one['best']}", *map(_whole, money_row(one))] for one in households],
    )


def assumptions_table(households: Sequence[Plain]) -> Table:
    """What the figures of each household rest on."""
    return Table(
        caption="What each study assumes; rates are per year, the discount rate nominal",
        head=["", *(name[:1].upper() + name[1:] for name in _SHARED.values())],
        rows=[
            [
                one["name"],
                one["currency"],
                str(one["years"]),
                amounts.per_cent(one["discount_rate"]),
                amounts.per_cent(one["inflation"]),
                "no single one" if one["rise"] is None else amounts.per_cent(one["rise"]),
            ]
            for one in households
        ],
    )


def _different(households: Sequence[Plain]) -> list[str]:
    """What the households assume differently, in words."""
    return [
        name
        for key, name in _SHARED.items()
        # What is no single number is not known to be the same.
        if any(one[key] is None for one in households)
        or len({round(one[key], 9) if isinstance(one[key], float) else one[key] for one in households}) > 1
    ]


def caution(households: Sequence[Plain]) -> str | None:
    """That studies with different assumptions cannot be compared as they stand; none where they share them."""
    different = _different(households)
    if not different:
        return None
    return (
        f"These households differ in what they assume: {amounts.joined(different)}. Their NPV, paybacks and rates are "
        "not comparable as they stand. Give them the same assumptions before you hold one against another."
    )


def alike_sentence(households: Sequence[Plain]) -> str | None:
    """What all households assume alike; none where nothing."""
    different = _different(households)
    alike = [name for name in _SHARED.values() if name not in different]
    return f"The same for all: {amounts.joined(alike)}." if alike else None


def currencies_sentence(households: Sequence[Plain]) -> str | None:
    """Why there is no common chart of money; none where there is one."""
    found = list(dict.fromkeys(one["currency"] for one in households))
    if len(found) == 1:
        return None
    return (
        f"The households reckon in {amounts.joined(found)}, and finsolar knows no rate of exchange: so no chart shows "
        "their money side by side."
    )


def terminal(households: Sequence[Plain], width: int) -> list[str]:
    """The table of households for a terminal, in lines of ``width`` columns, then what to be careful of."""

    def clean(text: str) -> str:
        return printable(text.replace("\N{WORD JOINER}", ""))

    rows = [["", "best alternative", *MONEY_HEAD]]
    for one in households:
        rows.append([printable(one["name"], 34), printable(one["best"], 28), *map(clean, money_row(one))])
    lines = aligned(rows)
    if max(map(len, lines)) > width:
        lines = [line for row in rows[1:] for line in [row[0], *_below(rows[0], row)]]
    lines.append("")
    differ, currencies = caution(households), currencies_sentence(households)
    lines += [clean(text) for text in (differ, currencies) if text is not None]
    return lines + [clean(f"{one['name']}: {text}") for one in households for text in one["cautions"]]


def _below(head: Sequence[str], row: Sequence[str]) -> list[str]:
    """The figures of a household below its name, where a row would be too wide."""
    return [f"  {name:<16}  {cell}" for name, cell in zip(head[1:], row[1:], strict=True)]


def as_json(studies: Sequence[str], names: Sequence[str], mark: str) -> str:
    """The JSON of several households, from that of each of them."""
    import json

    title = json.dumps(title_of(names), ensure_ascii=False)
    whole = ",\n".join(text.rstrip("\n") for text in studies)
    return f'{{\n "schema": "{SCHEMA}",\n "made_from": "{mark}",\n "title": {title},\n "studies": [\n{whole}\n ]\n}}\n'


def as_csv(studies: Sequence[str], names: Sequence[str], mark: str) -> str:
    """The CSV of several households, from that of each of them, with a column that names the household before."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("household", *HEAD))
    writer.writerow(("all", "all", "made from", safe_cell(title_of(names)), "", "", "", "", mark))
    for name, text in zip(names, studies, strict=True):
        rows = csv.reader(io.StringIO(text, newline=""))
        next(rows)
        writer.writerows([safe_cell(name), *row] for row in rows)
    return out.getvalue()


def link(page: Path, own: Path) -> str:
    """How a page leads to another: the way from its folder, as an address."""
    import os
    from urllib.parse import quote

    return quote(Path(os.path.relpath(own.resolve(), page.resolve().parent)).as_posix())
