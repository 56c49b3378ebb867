"""The lender's tables: what is paid on the first day and from what, equipment against the term, the loan at a glance.

Every amount is a sum of lines of the study; nothing is worked out anew.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from finsolar.report.followed import Cell, cell, closing
from finsolar.report.words import in_cash, lenders_told
from finsolar.report.words.amounts import joined, money, years_told
from finsolar.report.words.terms import CATEGORIES
from finsolar.scenario.numbers import Range
from finsolar.tariff.rounding import printed

Plain = dict[str, Any]

EQUIPMENT = ("modules", "inverter", "battery", "generator", "roof")
"""Categories whose life a lender sets against the term."""

_TELLS = 0.005


def day_one(plan: Plain) -> Plain:
    """What an alternative pays on the first day and from what, as plain values that foot on both sides.

    plan : an alternative in plain values. ``uses`` and ``sources`` : name and amount, own money what the others leave;
    ``later`` : awards that arrive after that day, which are no source of it, with the years in which they do.
    """
    costs, loan = plan["costs"], plan["loan"] or dict.fromkeys(("principal", "fee", "dealer_fee"), 0.0)
    uses = [
        (name, sum(line["price"] for line in costs["lines"] if line["category"] == category))
        for category, name in CATEGORIES.items()
    ]
    uses += [(name, sum(line[key] for line in costs["lines"])) for key, name in lenders_told.ON_TOP.items()]
    uses += [(lenders_told.LENDERS_FEES, loan["fee"]), (lenders_told.DEALER_FEE, loan["dealer_fee"])]
    uses += [(lenders_told.tax_on(award["title"]), -award["tax"][0]) for award in plan["incentives"]]
    sources = [(lenders_told.LOAN, loan["principal"])]
    sources += [(line["item"], line["amount"]) for line in costs["rebate_lines"]]
    sources += [(award["title"], award["amounts"][0]) for award in plan["incentives"]]
    own = sum(amount for _, amount in uses) - sum(amount for _, amount in sources)
    if own < -_TELLS:
        uses.append((lenders_told.LEFT_IN_HAND, -own))
    told = {
        "uses": [{"name": name, "amount": amount} for name, amount in uses if abs(amount) > _TELLS],
        "sources": [{"name": name, "amount": amount} for name, amount in sources if abs(amount) > _TELLS],
        "own_money": max(own, 0.0),
    }
    return told | {"total": sum(one["amount"] for one in told["uses"]), "later": _later(plan)}


def _later(plan: Plain) -> list[Plain]:
    found = []
    for award in plan["incentives"]:
        years = [year for year, amount in enumerate(award["amounts"]) if year and abs(amount) > _TELLS]
        if years:
            total = sum(award["amounts"][year] for year in years)
            found.append({"title": award["title"], "years": years, "amount": total})
    return found


@dataclass(frozen=True)
class Side:
    """One side of the first day's money, its lines and its foot with a cell for each alternative."""

    name: str
    lines: list[tuple[str, list[Cell]]]
    foot: list[Cell]


def funding(plain: Plain) -> list[Side]:
    """Uses and sources of the first day's money, alternatives side by side; both feet are the same as printed."""
    count = range(len(plain["alternatives"]))
    feet = [_foot(plain, i) for i in count]
    sides = []
    for side, name in lenders_told.SIDES.items():
        lines: dict[str, list[Cell]] = {}
        for i in count:
            for k, one in enumerate(plain["alternatives"][i]["day_one"][side]):
                row = lines.setdefault(one["name"], [Cell("–")] * len(count))
                row[i] = cell(plain, f"alternatives.{i}.day_one.{side}.{k}.amount", "cents")
        if side == "sources":
            lines[lenders_told.OWN_MONEY] = [_own_money(plain, i) for i in count]
        sides.append(Side(name, _in_order(lines), feet))
    return sides


def _in_order(lines: dict[str, list[Cell]]) -> list[tuple[str, list[Cell]]]:
    """Lines by category first, as each alternative has them, though the first one may lack some."""
    known = [*CATEGORIES.values(), *lenders_told.ON_TOP.values()]
    return sorted(lines.items(), key=lambda line: known.index(line[0]) if line[0] in known else len(known))


def _foot(plain: Plain, i: int) -> Cell:
    _, total = printed(one["amount"] for one in plain["alternatives"][i]["day_one"]["uses"])
    return closing(float(total), f"alternatives.{i}.day_one.total", plain)


def _own_money(plain: Plain, i: int) -> Cell:
    """What the other sources leave of the uses, in the cents that are printed."""
    found = plain["alternatives"][i]["day_one"]
    total, given = (printed(one["amount"] for one in found[side])[1] for side in ("uses", "sources"))
    return closing(float(total - given), f"alternatives.{i}.day_one.own_money", plain)


def later_sentences(plain: Plain) -> list[str]:
    """Awards that come after the first day, which pay nothing of it; told once for those who get the same."""
    currency, found = plain["settings"]["currency"], dict[tuple[str, str, tuple[int, ...]], list[str]]()
    for plan in plain["alternatives"]:
        for one in plan["day_one"]["later"]:
            key = one["title"], money(one["amount"], currency, 2), tuple(one["years"])
            found.setdefault(key, []).append(plan["name"])
    return [
        lenders_told.later_sentence(title, amount, list(years), names)
        for (title, amount, years), names in found.items()
    ]


@dataclass(frozen=True)
class Item:
    """A main item of equipment as text: its warranty, how long it lasts, and whether it outlives the loan."""

    item: str
    category: str
    warranty: str
    life: str
    renewed: str
    outlives: str


def equipment_groups(plain: Plain) -> list[tuple[str, str, list[Item]]]:
    """The main equipment: names of the alternatives it is the same for, the term of their loan in words, its items."""
    found: list[tuple[list[str], str, list[Item]]] = []
    for i, plan in enumerate(plain["alternatives"]):
        months = plan["loan"]["months"] if plan["loan"] else 0
        term, items = lenders_told.term_told(months), equipment(plain, i)
        same = next((names for names, *other in found if other == [term, items]), None)
        if same is None:
            found.append(([plan["name"]], term, items))
        else:
            same.append(plan["name"])
    return [(joined([f"“{name}”" for name in names]), term, items) for names, term, items in found if items]


def equipment(plain: Plain, i: int) -> list[Item]:
    """The main equipment of one alternative against the term of its loan.

    What is renewed goes by its line of upkeep; of equipment without one, life is not stated.
    """
    plan, stated = plain["alternatives"][i], plain["scenario"]["alternatives"][i]
    term = None if plan["loan"] is None or not plan["loan"]["months"] else plan["loan"]["months"] / 12
    found = []
    for told, line in zip(plan["upkeep"], stated["upkeep"], strict=True):
        if line["category"] in EQUIPMENT:
            found.append(_renewed(told, line, stated, term, plain["settings"]["years"]))
    for category in EQUIPMENT:
        items = [line["item"] for line in plan["costs"]["lines"] if line["category"] == category]
        if items and category != "roof" and all(one.category != CATEGORIES[category] for one in found):
            warranty = lenders_told.battery_warranty(stated) if category == "battery" else lenders_told.NOT_STATED
            outlives = lenders_told.NO_LOAN if term is None else lenders_told.NOT_STATED
            found.append(Item(items[0], CATEGORIES[category], warranty, lenders_told.NOT_STATED, "", outlives))
    return sorted(found, key=lambda one: [CATEGORIES[name] for name in EQUIPMENT].index(one.category))


def _renewed(told: Plain, line: Plain, stated: Plain, term: float | None, years: int) -> Item:
    due = told["due"]
    warranty = years_told(line["warranty_years"]) if "warranty_years" in line else lenders_told.NOT_STATED
    if warranty == lenders_told.NOT_STATED and line["category"] == "battery":
        warranty = lenders_told.battery_warranty(stated)
    lasts = _range_of(line.get("life"))
    return Item(
        line["item"],
        CATEGORIES[line["category"]],
        warranty,
        lenders_told.life_told(line, lasts),
        lenders_told.renewed_told(due),
        lenders_told.outlives_told(due, lasts, term, years),
    )


def _range_of(life: Any) -> Range | None:
    if not isinstance(life, dict):
        return None
    words = [word for word in life if word != "yearly_sd"]
    return Range(", ".join(words), tuple(life[word] for word in words))


def summary_rows(plain: Plain) -> list[tuple[str, list[Cell]]]:
    """The alternatives at a glance, as a lender reads them: the label, then a cell for each."""
    count = range(len(plain["alternatives"]))
    rows = []
    for key, kind in _SUMMARY.items():
        rows.append((lenders_told.SUMMARY[key], [cell(plain, f"alternatives.{i}.{key}", kind) for i in count]))
        if key in in_cash.ROWS and in_cash.counted(plain):
            places = [in_cash.place(plan, key) for plan in plain["alternatives"]]
            own = [cell(plain, f"alternatives.{i}.{at}", kind) for i, at in enumerate(places)]
            rows.append((in_cash.ROWS[key], own))
    if plain["uncertainty"] is not None:
        chances = [f"uncertainty.alternatives.{i}.chances.npv_above_zero.share" for i in count]
        rows.append((lenders_told.BETTER_OFF, [cell(plain, at, "chance") for at in chances]))
    return [row for row in rows if any(one.text != "–" for one in row[1])]


_SUMMARY = {
    "costs.gross": "cents",
    "day_one.own_money": "cents",
    "loan.principal": "cents",
    "loan.monthly_payment": "cents",
    "loan.months": "months",
    "loan.apr": "rate",
    "loan.coverage.minimum": "ratio",
    "loan.coverage.average": "ratio",
    "loan.coverage.average_without_awards": "ratio",
    "loan.coverage.years_short": "count",
    "bills.first_year_saving": "money",
    "metrics.npv": "money",
    "metrics.irr": "share",
    "metrics.simple_payback_lasting": "years",
}
