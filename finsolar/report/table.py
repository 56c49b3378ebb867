"""The study as rows: the short table of the terminal, and CSV for machines."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

from finsolar.report.backup_values import backup_rows, outages_rows
from finsolar.report.case_rows import case_rows
from finsolar.report.day_rows import day_rows, period_rows
from finsolar.report.off_grid_rows import off_grid_rows
from finsolar.report.outage_values import outage_rows
from finsolar.report.reserve_values import reserve_rows
from finsolar.report.rise_rows import rise_rows
from finsolar.report.words import amounts, terms
from finsolar.scenario.problems import printable

Plain = dict[str, Any]

HEAD = ("alternative", "part", "item", "year", "month", "value", "unit", "note")
"""Columns of the CSV: one number a row."""


def summary(plain: Plain, width: int = 120) -> str:
    """Each alternative with its gross cost, awards, net cost, first-year saving, paybacks, NPV and IRR.

    One row an alternative where ``width`` columns are enough, else one column an alternative.
    """
    currency = plain["settings"]["currency"]

    def money(amount: float) -> str:
        # Terminals differ in how they show the joiner that keeps a minus with its number.
        return amounts.money(amount, currency).replace("\N{WORD JOINER}", "")

    head = ["", "gross cost", "awards", "net cost", "saving, year 1", "payback", "discounted", "NPV", "IRR"]
    rows = [head]
    for plan in plain["alternatives"]:
        m, costs = plan["metrics"], plan["costs"]
        rows.append(
            [
                printable(plan["name"], 34),
                money(costs["gross"]),
                money(costs["awards"] + costs["rebates"]),
                money(costs["net"]),
                money(plan["bills"]["first_year_saving"]),
                _payback(m["simple_payback"], m["simple_payback_lasting"]),
                _payback(m["discounted_payback"], m["discounted_payback_lasting"]),
                money(m["npv"]),
                amounts.figure(m["irr"], "share", currency),
            ]
        )
    wide = aligned(rows)
    if max(map(len, wide)) > width:
        wide = aligned([list(column) for column in zip(*rows, strict=True)])
    return "\n".join(wide)


def _payback(first: float | None, lasting: float | None) -> str:
    if lasting is None:
        return "never"
    twice = first and lasting - first >= 0.05  # with nothing laid out there is no first time
    return f"{lasting:.1f} y (first {first:.1f})" if twice else f"{lasting:.1f} y"


def aligned(rows: list[list[str]]) -> list[str]:
    """Rows of cells as lines: the first column to the left, the others to the right."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return [
        "  ".join(
            cell.ljust(width) if i == 0 else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def as_csv(plain: Plain) -> str:
    """The whole study as CSV with the columns of ``HEAD``; numbers unrounded, an empty value where none exists."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    for row in _rows(plain):
        writer.writerow([safe_cell(cell) if isinstance(cell, str) else cell for cell in row])
    return out.getvalue()


def safe_cell(text: str) -> str:
    """Text that no spreadsheet takes for a formula: a leading sign that would start one gets an apostrophe."""
    clean = printable(text, 32_000)
    return f"'{clean}" if clean.lstrip()[:1] in {"=", "+", "-", "@"} else clean


Row = tuple[Any, ...]


def _rows(plain: Plain) -> Iterator[Row]:
    currency = plain["settings"]["currency"]
    if "made_from" in plain:
        yield "all", "made from", plain["scenario"]["title"], "", "", "", "", plain["made_from"]
    yield from _energy_rows("stay as you are", plain["stay"]["energy"])
    yield from _bill_rows("stay as you are", "bill", plain["stay"]["bill"], currency)
    for kind, row in plain["stay"]["other_costs"].items():
        for year, amount in enumerate(row):
            yield "stay as you are", "other costs", kind, year, "", amount, currency, ""
    yield from outages_rows(plain)
    for plan in plain["alternatives"]:
        name = plan["name"]
        for line in plan["costs"]["lines"]:
            for part in ("full_price", "chance", "price", "sales_tax", "contingency", "total"):
                unit = "share" if part == "chance" else currency
                yield name, f"cost {part}", line["item"], 0, "", line[part], unit, line["category"]
        for key in ("gross", "eligible", "rebates", "awards", "yearly_awards", "net", "sold_again"):
            yield name, "cost", key, "", "", plan["costs"][key], currency, ""
        for rebate in plan["costs"]["rebate_lines"]:
            yield name, "rebate", rebate["item"], 0, "", rebate["amount"], currency, ""
        yield from _upkeep_rows(name, plan["upkeep"], currency)
        for award in plan["incentives"]:
            for year, amount in enumerate(award["amounts"]):
                yield name, "award", award["title"], year, "", amount, currency, award["status"]
            for year, amount in enumerate(award["tax"]):
                if amount:
                    yield name, "tax on award", award["title"], year, "", amount, currency, award["status"]
            if award["worth"]:
                yield name, "worth of a loan", award["title"], "", "", award["worth"], currency, award["status"]
        yield from _slip_rows(name, plan["slip"], currency)
        yield from outage_rows(plan)
        yield from backup_rows(plan, currency)
        yield from off_grid_rows(plan, currency)
        yield from reserve_rows(plan, currency)
        yield from _energy_rows(name, plan["energy"])
        yield from _bill_rows(name, "bill", plan["bills"]["after"], currency)
        yield name, "bill", "first_year_saving", 1, "", plan["bills"]["first_year_saving"], currency, ""
        flow = plan["cash_flow"]
        for line_name, by_year in flow["lines"].items():
            for year, amount in enumerate(by_year):
                yield name, "cash flow", line_name, year, "", amount, currency, ""
        for key in ("net", "before_loan", "running_total", "discounted", "discounted_running_total"):
            for year, amount in enumerate(flow[key]):
                yield name, "cash flow", key, year, "", amount, currency, ""
        bound = plan["bound"]
        for key in () if bound is None else ("cost", "least", "saving", "best_saving", "share"):
            note = "" if bound[key] is not None else bound["why_not"] or "no saving was to be had"
            yield name, "bound", key, 1, "", _blank(bound[key]), "" if key == "share" else currency, note
        warranty = plan["battery_warranty"]
        if warranty is not None:
            note = f"ended by {warranty['ended_by']}" if warranty["ended_by"] else "not within the study"
            yield name, "battery warranty", "years", "", "", _blank(warranty["years"]), "years", note
        if plan["loan"] is not None:
            yield from _loan_rows(name, plan["loan"], currency)
        units = {
            "money": currency,
            "years": "years",
            "share": "per year",
            "ratio": "",
            "price": f"{currency}/kWh",
        }
        for key, _, kind in terms.METRIC_ROWS:
            number = plan["metrics"][key]
            yield name, "metric", key, "", "", _blank(number), units[kind], plan["reasons"].get(key, "")
        for rate in plan["metrics"]["irrs"]:
            yield name, "metric", "irrs", "", "", rate, "per year", ""
    for pair in plain["comparison"]["pairs"]:
        for key in ("extra_outlay", "extra_saving_first_year", "extra_saving", "extra_npv", "irr", "simple_payback",
                    "discounted_payback"):  # fmt: skip
            why = pair["reasons"].get(key)
            note = key if why is None else f"{key}: {why}"
            yield pair["dearer"], "against", pair["cheaper"], "", "", _blank(pair[key]), "", note
    for sweep in plain["sensitivity"]:
        for plan in sweep["alternatives"]:
            for key in ("npv", "simple_payback", "discounted_payback"):
                for place, number in zip(sweep["values"], plan[key], strict=True):
                    note = f"{sweep['input']} {place:g}" + ("" if number is not None else ": never")
                    yield (
                        plan["name"],
                        "sensitivity",
                        key,
                        "",
                        "",
                        _blank(number),
                        currency if key == "npv" else "years",
                        note,
                    )
        yield from rise_rows(sweep)
    sunlight = plain["sunlight"]
    for plan in [] if sunlight is None else sunlight["alternatives"]:
        for key, unit in (("solar", "kWh"), ("first_year_saving", currency), ("unserved", "kWh"), ("npv", currency),
                          ("simple_payback", "years")):  # fmt: skip
            for place, number in zip(sunlight["values"], plan[key], strict=True):
                yield plan["name"], "sunlight", key, "", "", _blank(number), unit, f"sunlight {place:g}"
    if plain["break_even"] is not None:
        yield from _break_even_rows(plain["break_even"], currency)
    for own in plain["comparison"]["own_labour"]:
        for key in ("hours", "saved", "per_hour", "npv_per_hour"):
            yield own["name"], "own labour", own["against"], "", "", _blank(own[key]), "", key
        if own["pays"] is not None:
            yield own["name"], "own labour", own["against"], "", "", int(own["pays"]), "", "pays"
    for work in plain["comparison"]["own_work"]:
        for key in ("hours", "worth_per_hour", "worth", "npv_less_worth"):
            yield work["name"], "own work", key, "", "", work[key], "h" if key == "hours" else currency, ""
    yield from _ranking_rows(plain["comparison"], currency)
    yield from case_rows(plain)


def _upkeep_rows(name: str, lines: list[Plain], currency: str) -> Iterator[Row]:
    for line in lines:
        for part in ("cost", "labour"):
            yield name, f"each time {part}", line["item"], "", "", line[part], currency, "today's prices"
        for year in line["due"]:
            note = "parts free under warranty" if year in line["covered"] else ""
            yield name, "falls due", line["item"], year, "", 1, "", note


def _slip_rows(name: str, slip: Plain | None, currency: str) -> Iterator[Row]:
    for one in [] if slip is None else slip["days"]:
        yield name, "awards by day", "all", "", "", one["total"], currency, f"switched on {one['in_service']}"
    for cliff in [] if slip is None else slip["cliffs"]:
        day = f"switched on {cliff['in_service']}"
        yield name, "awards by day", cliff["title"], "", "", cliff["before"], currency, f"before {day}"
        note = day if cliff["known"] else f"{day}, law not known"
        yield name, "awards by day", cliff["title"], "", "", cliff["after"], currency, note


def _energy_rows(name: str, energy: Plain) -> Iterator[Row]:
    units = {"generator_hours": "h", "fuel_litres": "l", "battery_cycles": "cycles"}
    yield from day_rows(name, energy)
    for key, row in energy.items():
        if key in {"average_days", "weeks"}:
            continue
        if key == "battery_renewed_after":
            for year in row:
                yield name, "energy", "battery_renewed", year, "", 1, "", "at the end of the year"
        elif key == "first_year_by_month":
            for what, months in row.items():
                for month, amount in enumerate(months, start=1):
                    yield name, "energy", what, 1, month, amount, "kWh", ""
        else:
            for year, amount in enumerate(row, start=1):
                yield name, "energy", key, year, "", amount, units.get(key, "kWh"), ""


def _bill_rows(name: str, part: str, bill: Plain, currency: str) -> Iterator[Row]:
    for component, row in bill["by_year"].items():
        for year, amount in enumerate(row, start=1):
            yield name, part, component, year, "", amount, currency, ""
    for component, row in bill["first_year_by_month"].items():
        for month, amount in enumerate(row, start=1):
            yield name, part, component, 1, month, amount, currency, ""
    yield from period_rows(name, part, bill["by_period"], currency)


def _loan_rows(name: str, loan: Plain, currency: str) -> Iterator[Row]:
    for key, found in loan.items():
        if key in {"available", "payments"}:
            for year, amount in enumerate(found):
                yield name, "loan", key, year, "", amount, currency, ""
        elif key == "schedule":
            for item, row in found.items():
                for month, amount in enumerate(row):
                    yield name, "loan schedule", item, month // 12 + 1, month % 12 + 1, amount, currency, ""
        elif key == "not_paid_in":
            reasons = {} if found is None else found["reasons"]
            yield from [] if found is None else _credit_rows(name, "loan if not paid in", found, reasons, currency)
        elif isinstance(found, dict) and key != "reasons":
            yield from _view_rows(name, key, found, loan["reasons"], currency)
    single = {key: found for key, found in loan.items() if not isinstance(found, dict | list) and key != "not_paid_in"}
    yield from _credit_rows(name, "loan", single | {"steps": loan["steps"]}, loan["reasons"], currency)


def _credit_rows(name: str, part: str, found: Plain, reasons: Plain, currency: str) -> Iterator[Row]:
    units = {"apr": "per year", "effective_rate": "per year", "months": "months"}
    for key, number in found.items():
        if key == "steps":
            for step in number:
                note = f"months {step['from_month']} to {step['to_month']}"
                yield name, part, "payment", "", "", step["payment"], currency, note
        elif key != "reasons":
            yield name, part, key, "", "", _blank(number), units.get(key, currency), reasons.get(key, "")


def _view_rows(name: str, key: str, found: Plain, reasons: Plain, currency: str) -> Iterator[Row]:
    units = {"by_year": "ratio", "minimum": "ratio", "average": "ratio", "years_short": "years",
             "months_short": "months", "years": "years", "first": "year", "last": "year",
             "after_replacement": "payments", "after_warranty": "payments"}  # fmt: skip
    for item, number in found.items():
        if item == "first_month":
            continue
        if item == "in_years":
            for year in number:
                yield name, f"loan {key}", "short", year, "", 1, "", "out of pocket in this year"
        elif isinstance(number, list):
            for k, each in enumerate(number):
                when = (1, (found["first_month"] + k - 1) % 12 + 1) if key == "first_year" else (k, "")
                note = "" if each is not None else reasons[item]
                yield name, f"loan {key}", item, *when, _blank(each), units.get(item, currency), note
        else:
            note = "" if number is not None else reasons[item]
            yield name, f"loan {key}", item, "", "", _blank(number), units.get(item, currency), note


def _ranking_rows(comparison: Plain, currency: str) -> Iterator[Row]:
    units = {"npv": currency, "by_npv": "place", "simple_payback": "years", "by_payback": "place"}
    for place in comparison["ranking"]:
        for key, unit in units.items():
            yield place["name"], "ranking", key, "", "", _blank(place[key]), unit, place["reasons"].get(key, "")
    reason = comparison["ranking_reason"].replace("\N{WORD JOINER}", "")
    yield "all", "ranking", "orders_agree", "", "", int(comparison["orders_agree"]), "", reason


def _break_even_rows(found: Plain, currency: str) -> Iterator[Row]:
    for one in found["alternatives"]:
        for key, unit in (("price", currency), ("highest_price", currency), ("rise", "per year")):
            yield one["name"], "break-even", key, "", "", _blank(one[key]), unit, one["reasons"].get(key, "")
        for key in ("every_year", "over_term") if one["loan"] is not None else ():
            why = one["loan"]["reasons"].get(key, "")
            yield one["name"], "break-even of the loan", key, "", "", _blank(one["loan"][key]), "per year", why
    for pair in found["pairs"]:
        for key in ("behind_by", "level_price"):
            why = pair["reasons"].get(key, key)
            yield pair["behind"], "to draw level", pair["ahead"], "", "", _blank(pair[key]), currency, why


def _blank(number: float | None) -> float | str:
    return "" if number is None else number
