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
from finsolar.report.words import amounts, answer, changes_told, sureness, terms, worth
from finsolar.report.words import households_told as told
from finsolar.scenario.problems import printable

Plain = dict[str, Any]

SCHEMA = "finsolar-side/1"


def title_of(names: Sequence[str]) -> str:
    """What the page of several households is called."""
    return told.title([printable(name, 60) for name in names])


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
        "counts_backup": worth.counted(plain),
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
        backup_counted=backup_sentence(households),
        no_money_chart=currencies_sentence(households),
        cautions=terms.CAUTIONS,
        terms={name: terms.TERMS[name] for name in told.TERMS},
        percentiles=sureness.PERCENTILES if any(one["spread"] for one in households) else None,
    )


def houses_table(households: Sequence[Plain]) -> Table:
    """Where each house stands, what it uses, and what the best alternative puts on it."""
    return Table(
        caption=told.HOUSES_CAPTION,
        head=told.HOUSES_HEAD,
        rows=[
            [
                one["name"],
                told.place(one["place"], one["latitude"], one["longitude"]),
                _whole(f"{one['load']:,.0f} kWh"),
                _whole(told.size(one["array_kw"], "kW")),
                _whole(told.size(one["battery_kwh"], "kWh")),
                _whole(amounts.per_cent(one["from_sun"], 0)),
                one["in_service"],
            ]
            for one in households
        ],
    )


def _whole(cell: str) -> str:
    """A short cell that is not broken into lines."""
    return cell.replace(" ", "\N{NO-BREAK SPACE}")


def money_row(one: Plain) -> list[str]:
    """The money of a household's best alternative, under `households_told.MONEY_HEAD`."""
    currency = one["currency"]
    return [
        amounts.money(one["net_cost"], currency),
        amounts.money(one["first_year_saving"], currency),
        amounts.span(one["simple_payback_lasting"]),
        amounts.money(one["npv"], currency),
        amounts.figure(one["irr"], "share", currency),
        "–" if one["chance"] is None else sureness.of_hundred(one["chance"]),
        told.energy_price(one["lcoe"], currency),
    ]


def money_table(households: Sequence[Plain]) -> Table:
    """What the best alternative of each household costs and brings."""
    return Table(
        caption=told.MONEY_CAPTION,
        head=["", *(name[:1].upper() + name[1:] for name in told.MONEY_HEAD)],
        rows=[[f"{one['name']}: {one['best']}", *map(_whole, money_row(one))] for one in households],
    )


def assumptions_table(households: Sequence[Plain]) -> Table:
    """What the figures of each household rest on."""
    return Table(
        caption=told.ASSUMED_CAPTION,
        head=["", *(name[:1].upper() + name[1:] for name in told.ASSUMED.values())],
        rows=[
            [
                one["name"],
                one["currency"],
                str(one["years"]),
                amounts.per_cent(one["discount_rate"]),
                amounts.per_cent(one["inflation"]),
                told.rise(one["rise"]),
            ]
            for one in households
        ],
    )


def _different(households: Sequence[Plain]) -> list[str]:
    """What the households assume differently, in words."""
    return [
        name
        for key, name in told.ASSUMED.items()
        # What is no single number is not known to be the same.
        if any(one[key] is None for one in households)
        or len({round(one[key], 9) if isinstance(one[key], float) else one[key] for one in households}) > 1
    ]


def caution(households: Sequence[Plain]) -> str | None:
    """That studies with different assumptions cannot be compared as they stand; none where they share them."""
    different = _different(households)
    return told.differ(different) if different else None


def alike_sentence(households: Sequence[Plain]) -> str | None:
    """What all households assume alike; none where nothing."""
    different = _different(households)
    alike = [name for name in told.ASSUMED.values() if name not in different]
    return told.alike(alike) if alike else None


def backup_sentence(households: Sequence[Plain]) -> str | None:
    """Whose figures of money hold the worth of backup; none where nobody's do."""
    counting = [one["name"] for one in households if one["counts_backup"]]
    return told.counting_backup(counting, all_do=len(counting) == len(households)) if counting else None


def currencies_sentence(households: Sequence[Plain]) -> str | None:
    """Why there is no common chart of money; none where there is one."""
    found = list(dict.fromkeys(one["currency"] for one in households))
    return None if len(found) == 1 else told.several_currencies(found)


def terminal(households: Sequence[Plain], width: int) -> list[str]:
    """The table of households for a terminal, in lines of ``width`` columns, then what to be careful of."""

    def clean(text: str) -> str:
        return printable(text.replace("\N{WORD JOINER}", ""))

    rows = [["", told.BEST, *told.MONEY_HEAD]]
    for one in households:
        rows.append([printable(one["name"], 34), printable(one["best"], 28), *map(clean, money_row(one))])
    lines = aligned(rows)
    if max(map(len, lines)) > width:
        lines = [line for row in rows[1:] for line in [row[0], *_below(rows[0], row)]]
    lines.append("")
    said = (backup_sentence(households), caution(households), currencies_sentence(households))
    lines += [clean(text) for text in said if text is not None]
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
