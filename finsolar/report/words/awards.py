"""How awards are told: at a glance, rule by rule with the reasons, and in the few lines of a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from finsolar.incentives.facts import NOW_MISSING
from finsolar.report.words.amounts import joined, money, per_cent
from finsolar.scenario.problems import printable

Plain = dict[str, Any]

ANSWERS = {
    "granted": "Granted",
    "partly": "Granted in part",
    "unknown": "Not known",
    "refused": "Refused",
}
"""The answers of a rule, the ones that bring most first."""

KINDS = {
    "tax credit": "A tax credit: it lowers the tax that is owed.",
    "tax deduction": "A tax deduction: it lowers the income on which tax is owed.",
    "upfront rebate": "A rebate: money back once.",
    "performance payment": "Paid for each kWh, year by year, for a term.",
    "metered certificates": "Certificates for energy as it is metered, sold year by year.",
    "deemed certificates": "Certificates counted at once from the size, and sold at the start.",
    "sales tax relief": "Sales tax that is not charged.",
    "property tax relief": "Property tax that the system would cost, spared in whole or in part.",
    "capacity payment": "Paid for the power that a battery gives in events that are called.",
    "below-market loan": "A loan below the interest of the market: worth something, but no payment.",
    "income tax exemption": "Payments that are free of income tax: it pays nothing itself.",
    "owner's credit": "A credit for whoever owns a leased system, never for the household.",
}
"""The kinds of rule in plain words."""

LAW_CHANGES = "Law changes, and this is no tax advice. A licensed tax adviser decides what a household is entitled to."

_TELLS = 0.005  # less than half a cent is no money


@dataclass(frozen=True)
class Cell:
    """A rule's answer to one alternative at a glance: the answer, what it comes to, and in which years that arrives."""

    answer: str
    comes_to: str
    when: str


@dataclass(frozen=True)
class Case:
    """Alternatives whom a rule treats alike: their names, the award, the reasons that others do not share, and the
    in-service day from which its years count.
    """

    names: str
    award: Plain
    own: list[str]
    in_service: str


@dataclass(frozen=True)
class Story:
    """How the alternatives fare under one rule; ``shared`` are the reasons of all of them."""

    rule: str
    title: str
    kind: str
    awards: list[Plain]
    cases: list[Case]
    shared: list[str]

    @property
    def answer(self) -> str:
        """The best answer that any alternative gets."""
        return next(answer for answer in ANSWERS if any(award["status"] == answer for award in self.awards))

    @property
    def limited_by_tax(self) -> bool:
        """Whether the tax that is owed may cut what it grants."""
        return self.kind == "tax credit"

    def any(self, part: str) -> bool:
        """Whether a part of any award holds money: ``basis``, ``worth``, or by year ``amounts``, ``tax``."""
        found = [award[part] for award in self.awards]
        return any(abs(x) > _TELLS for one in found for x in (one if isinstance(one, list) else [one]))

    @property
    def sources(self) -> list[tuple[str, str, str]]:
        """The references behind the answers, each once: its text, the day it was checked, how it is known."""
        return list(dict.fromkeys((a["reference"], a["checked_on"], a["known"]) for a in self.awards))


def stories(plain: Plain) -> list[Story]:
    """The rules that were considered: granted ones first, then partly, not known and refused, else in their order."""
    found: dict[str, list[tuple[Plain, Plain]]] = {}
    for plan in plain["alternatives"]:
        for award in plan["incentives"]:
            found.setdefault(award["rule"], []).append((plan, award))
    told = [_story(rule, cases) for rule, cases in found.items()]
    order = list(ANSWERS)
    return sorted(told, key=lambda story: order.index(story.answer))


def _story(rule: str, found: list[tuple[Plain, Plain]]) -> Story:
    awards = [award for _, award in found]
    # What is said to all who are not refused is told once; a refusal has reasons of its own.
    told = [award for award in awards if award["status"] != "refused"] or awards
    shared = [reason for reason in told[0]["reasons"] if all(reason in award["reasons"] for award in told)]
    groups: list[tuple[list[str], Plain, str]] = []
    for plan, award in found:
        day = plan["in_service"]
        same = next((names for names, other, since in groups if (other, since) == (award, day)), None)
        if same is None:
            groups.append(([plan["name"]], award, day))
        else:
            same.append(plan["name"])
    cases = [
        Case(
            joined([f"“{name}”" for name in names]),
            award,
            [reason for reason in award["reasons"] if reason not in shared],
            day,
        )
        for names, award, day in groups
    ]
    return Story(rule, awards[0]["title"], awards[0]["kind"], awards, cases, shared)


def cell(award: Plain, currency: str, digits: int = 0) -> Cell:
    """An award at a glance."""
    return Cell(ANSWERS[award["status"]], comes_to(award, currency, digits), when(award["amounts"]))


def comes_to(award: Plain, currency: str, digits: int = 0) -> str:
    """What an award comes to at face value, over all years of the study; empty for a refusal."""
    received, status = sum(award["amounts"]), award["status"]
    if status == "refused":
        return ""
    if status == "unknown":
        open_amount = award["potential"]
        return "nothing counted" + (
            f", up to {money(open_amount, currency, digits)} open" if open_amount > _TELLS else ""
        )
    if award["worth"] > _TELLS:
        return f"worth {money(award['worth'], currency, digits)}, not counted"
    if received > _TELLS:
        return money(received, currency, digits)
    return "pays nothing itself" if award["kind"] == "income tax exemption" else "nothing within the study"


def by_calendar(amounts: Sequence[float], in_service: str) -> str:
    """The years in which money arrives, with those of the calendar in which they end: ``years 1 to 3 (2027 to 2029)``.

    The money of year k falls at the end of the k-th twelve months from the in-service day (an ISO date).
    """
    later = [year for year, amount in enumerate(amounts) if year and abs(amount) > _TELLS]
    if not later:
        return when(amounts)
    began = int(in_service[:4])
    first, last = began + later[0], began + later[-1]
    return f"{when(amounts)} ({first}{f' to {last}' if last > first else ''})"


def when(amounts: Sequence[float]) -> str:
    """The years in which money arrives: ``at the start``, ``year 1``, ``years 1 and 2``, ``years 1 to 15``."""
    years = [year for year, amount in enumerate(amounts) if abs(amount) > _TELLS]
    later = [year for year in years if year]
    parts = ["at the start"] if 0 in years else []
    if len(later) > 2 and later == list(range(later[0], later[-1] + 1)):
        parts.append(f"years {later[0]} to {later[-1]}")
    elif later:
        parts.append(f"year{'s' if len(later) > 1 else ''} {joined([str(year) for year in later])}")
    return joined(parts) if parts else ""


TOTALS = {
    "All that belongs to the purchase": "awards",
    "All that is paid year by year": "yearly_awards",
}
"""Rows of all awards together that stand among the costs of an alternative, and under which key."""


def totals(plain: Plain) -> list[tuple[str, list[float]]]:
    """What each alternative is granted in all, row by row; rows without money are left out."""
    plans = plain["alternatives"]
    rows = [
        *((name, [plan["costs"][key] for plan in plans]) for name, key in TOTALS.items()),
        ("Income tax on awards", [sum(sum(award["tax"]) for award in plan["incentives"]) for plan in plans]),
    ]
    return [(name, row) for name, row in rows if any(abs(amount) > _TELLS for amount in row)]


def measured(step: Plain, currency: str) -> str:
    """The amount of one step of the working, in its unit."""
    amount, unit = step["amount"], step["unit"]
    if amount is None:
        return "no limit"
    if unit == "money":
        fine = 0 < abs(amount) < 1 and abs(round(amount, 2) - amount) > 1e-9  # a rate for a kWh
        return money(amount, currency, 4 if fine else 2)
    if unit == "share":
        return per_cent(amount, 0 if abs(round(amount, 2) - amount) < 1e-9 else 2)
    sign = "−\N{WORD JOINER}" if amount < 0 else ""
    shown = f"{abs(amount):,.2f}".rstrip("0").rstrip(".")
    return f"{sign}{shown} {unit}"


def deciding(award: Plain) -> str:
    """The reason that says most: what is missing for an answer that is not known, else the first."""
    reasons: list[str] = award["reasons"]
    if award["status"] == "unknown" and NOW_MISSING in reasons:
        return reasons[reasons.index(NOW_MISSING) + 1]
    return reasons[0] if reasons else ""


def terminal(plain: Plain, width: int) -> list[str]:
    """The awards in a few lines of at most ``width`` signs: a line a rule, and the refused ones together.

    Alternatives whom all rules treat alike share their lines. Empty where no rule was considered.
    """
    currency = plain["settings"]["currency"]
    groups: list[tuple[list[str], list[str]]] = []
    for plan in plain["alternatives"]:
        rows = _terminal_rows(plan["incentives"], currency, width)
        same = next((names for names, other in groups if other == rows), None)
        if same is None:
            groups.append(([plan["name"]], rows))
        else:
            same.append(plan["name"])
    told = [
        line
        for names, rows in groups
        if rows
        for line in (printable(f"  {', '.join(printable(name, 34) for name in names)}", width), *rows)
    ]
    return ["Incentives", *told] if told else []


def _terminal_rows(awards: list[Plain], currency: str, width: int) -> list[str]:
    shown = sorted((a for a in awards if a["status"] != "refused"), key=lambda a: list(ANSWERS).index(a["status"]))
    cells = [cell(award, currency) for award in shown]
    heads = [
        ", ".join(part for part in (f"{c.answer.lower():<15} {c.comes_to}".rstrip(), c.when) if part) for c in cells
    ]
    wide = max(map(len, heads), default=0)
    rows = [
        printable(f"    {head:<{wide}}  {award['title']}: {deciding(award)}".replace("\N{WORD JOINER}", ""), width)
        for head, award in zip(heads, shown, strict=True)
    ]
    refused = [printable(award["title"], 80) for award in awards if award["status"] == "refused"]
    if refused:
        text = f"{len(refused)} refused: {'; '.join(refused)}"
        rows += textwrap.wrap(text, max(width, 20), initial_indent="    ", subsequent_indent="      ")
    return rows
