"""Bills, prices and upkeep in words: what a line costs, when, and what lines belong together."""

from __future__ import annotations

from typing import Any

from finsolar.report.words.amounts import joined, money, per_cent
from finsolar.tariff.rounding import printed

SALES_TAX, ALLOWANCE = "Sales tax", "Allowance for the unforeseen"


def bill_parts(plain: dict[str, Any]) -> list[str]:
    """The parts of the bill that any alternative has, in the order they first appear."""
    bills = [plain["stay"]["bill"], *(plan["bills"]["after"] for plan in plain["alternatives"])]
    return list(dict.fromkeys(part for bill in bills for part in bill["by_year"]))


def bill_columns(plain: dict[str, Any]) -> list[tuple[list[float], float]]:
    """The first year's bill in whole cents, by `bill_parts`, and their sum: of staying, then of each alternative."""
    bills = [plain["stay"]["bill"], *(plan["bills"]["after"] for plan in plain["alternatives"])]
    columns = []
    for bill in bills:
        lines, total = printed(bill["by_year"].get(part, [0.0])[0] for part in bill_parts(plain))
        columns.append(([float(line) for line in lines], float(total)))
    return columns


def upkeep_groups(plain: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """Alternatives with the same upkeep, told together; those without any are left out."""
    return _alike([plan for plan in plain["alternatives"] if plan["upkeep"]], "upkeep")


def _alike(plans: list[dict[str, Any]], part: str) -> list[tuple[str, dict[str, Any]]]:
    groups: list[tuple[list[str], dict[str, Any]]] = []
    for plan in plans:
        same = next((group for group in groups if group[1][part] == plan[part]), None)
        if same is None:
            groups.append(([plan["name"]], plan))
        else:
            same[0].append(plan["name"])
    return [(joined([f"“{name}”" for name in names]), plan) for names, plan in groups]


def price_in_words(line: dict[str, Any], currency: str) -> str:
    """What a cost line counts with: its price, and of a risk how likely it is and what it would cost."""
    price = money(line["price"], currency, 2)
    if line["chance"] == 1:
        return price
    chance = per_cent(line["chance"]).replace(".0 %", " %")
    return f"{price} ({chance} chance of {money(line['full_price'], currency, 2)})"


def each_time_in_words(line: dict[str, Any], currency: str) -> str:
    """What a cost that comes back takes each time: parts, and the work on them."""
    cost = money(line["cost"], currency, 2)
    return cost if line["labour"] == 0 else f"{cost} and {money(line['labour'], currency, 2)} of work"


def when_in_words(line: dict[str, Any]) -> str:
    """When a cost comes back, and when a warranty pays for its parts."""
    when = due_in_words(line["due"])
    if not line["covered"]:
        return when
    return f"{when}; parts free under warranty in {due_in_words(line['covered'])}"


def due_in_words(due: list[int]) -> str:
    """The years in which an upkeep line falls due."""
    if not due:
        return "not within the study"
    if len(due) > 3 and due == list(range(due[0], due[-1] + 1)):
        return f"every year, {due[0]} to {due[-1]}"
    return years_in_words(due)


def years_in_words(years: list[int]) -> str:
    """Years as people list them, three and more in a row by their ends: ``years 1, 4 to 7 and 13``."""
    runs: list[list[int]] = []
    for year in years:
        if runs and year == runs[-1][-1] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    told = [part for run in runs for part in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run))]
    return f"year{'s' if len(years) > 1 else ''} {joined(told)}"
