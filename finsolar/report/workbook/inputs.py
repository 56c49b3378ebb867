"""Numbers of a scenario that drive the formulas of a workbook, each in one cell however many alternatives use it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finsolar.report.words.ranges_told import names_of, unit_of
from finsolar.report.workbook.cells import Book, Formula, Line, Sheet
from finsolar.results import Study
from finsolar.scenario.numbers import Range, is_percent, limits
from finsolar.uncertainty.leaves import Leaf, by_item, leaves, name_of
from finsolar.uncertainty.ranges import Ranged

Array = NDArray[np.float64]

SECTIONS = (
    "Study and household",
    "Prices of energy over the years",
    "What it costs to build",
    "Costs that come back",
    "How it is paid",
)
"""Headings of the inputs, in order."""

_PLACES = (
    r"study\.(discount_rate|real_discount_rate|inflation)|household\.(marginal_tax|backup_kwh)",
    r"(alternatives\.\d+\.)?(tariff\.(later\.\d+\.tariff\.)?(fixed_|export_|demand_)?rise|generator\.rise)",
    r"(stay|alternatives\.\d+)\.(costs\.\d+\.(cost|each|quantity|per_kw|per_kwh|per_hour|hours|chance|sales_tax|"
    r"contingency|resold)|purchase\.(sales_tax|services_tax|contingency|contingency_by\..+)|rebates\.\d+\.amount)",
    r"(stay|alternatives\.\d+)\.upkeep\.\d+\.(cost|labour|rise)",
    r"alternatives\.\d+\.payment\.(loan\.(rate|later_rates\.\d+|share|amount|fee|fixed_fee|dealer_fee|deductible|"
    r"starter_share|paydown\.(amount|share|awards))|(lease|per_kwh)\.(monthly|price|rise|buyout))",
)

_MORE_WORDS = {
    "payment.loan.share": "share of the price that the loan pays",
    "payment.loan.amount": "wanted of the loan",
    "payment.loan.fee": "points of the loan",
    "payment.loan.fixed_fee": "fixed fee of the loan",
    "payment.loan.dealer_fee": "dealer fee in the price",
    "payment.loan.deductible": "share of the interest that is deducted",
    "payment.loan.starter_share": "share that the first payments take for paid in",
    "payment.loan.paydown.amount": "lump sum paid into the loan",
    "payment.loan.paydown.share": "lump sum, as a share of the loan",
    "payment.loan.paydown.awards": "lump sum, as a share of the awards",
    "payment.lease.monthly": "lease, a month",
    "payment.lease.rise": "yearly rise of the lease",
    "payment.lease.buyout": "buy-out of the lease",
    "payment.per_kwh.price": "price of a kWh to the owner",
    "payment.per_kwh.rise": "yearly rise of the price of a kWh to the owner",
    "payment.per_kwh.buyout": "buy-out",
    "purchase.services_tax": "sales tax on work, permits and fees",
}
"""Names beside those of `range_words`, by the path within an alternative."""

_RISES = (-0.02, 0.12)
_RATES = (0.0, 0.15)
_CELL_LIKE = re.compile(r"[a-z]{1,3}\d+|r\d*|c\d*|r\d*c\d*")


@dataclass(frozen=True)
class Input:
    """A number, or a path of rises, that formulas use.

    name : as messages have it; words : as people do; symbols : the names of its cells, one unless it is a path; paths :
    every place that holds it; values : in the study; low, high : between which formulas are held against the engine.
    """

    name: str
    words: str
    section: int
    unit: str
    symbols: tuple[str, ...]
    paths: tuple[str, ...]
    values: tuple[float, ...]
    low: float
    high: float

    def at(self, values: Array) -> dict[str, Array]:
        """What `study` is to choose for values (cases, entries)."""
        return dict.fromkeys(self.paths, values)


class Inputs:
    """The inputs of a study: found all at once, written as far as formulas ask for them."""

    def __init__(self, base: Study, book: Book) -> None:
        self.book = book
        self._by_path: dict[str, Input] = {}
        self.asked: dict[str, Input] = {}
        self._find(base)
        self._lines: dict[str, Line] = {}
        self._sheet: Sheet | None = None

    def _find(self, base: Study) -> None:
        scenario, used = base.scenario, set[str]()
        groups: dict[tuple[str, Any], list[Leaf]] = {}
        for leaf in leaves(scenario, base.settled, ""):
            if _section(leaf.path) is not None and isinstance(leaf.settled, float | int | tuple):
                groups.setdefault((name_of(scenario, leaf.path), leaf.settled), []).append(leaf)
        told = [_ranged(name, found) for (name, _), found in groups.items()]
        words = names_of(scenario, tuple(told))
        for one, found in zip(told, groups.values(), strict=True):
            leaf = found[0]
            values = leaf.settled if isinstance(leaf.settled, tuple) else (float(leaf.settled),)
            symbol = _symbol(by_item(scenario, leaf.path, one.name), leaf.path, used)
            symbols = (symbol,) if len(values) == 1 else tuple(f"{symbol}_{k}" for k in range(2, len(values) + 2))
            used |= set(symbols)
            low, high = _reach(leaf, values)
            section = _section(leaf.path)
            assert section is not None  # only such are gathered
            unit = "share" if is_percent(leaf.field) else unit_of(scenario, one)
            each = Input(
                one.name, _words(base, one, words[one.name]), section, unit, symbols, one.paths, values, low, high
            )
            self._by_path |= dict.fromkeys(one.paths, each)

    def known(self, path: str) -> bool:
        """Whether a number stands at a path."""
        return path in self._by_path

    def ask(self, path: str) -> Input:
        """The input at a path, which is written from then on."""
        found = self._by_path[path]
        return self.asked.setdefault(found.name + str(found.values), found)

    def ref(self, path: str) -> str:
        """What formulas call the number at a path."""
        return self.ask(path).symbols[0]

    def energy_rises(self) -> list[Input]:
        """The rises that bills may go by, general inflation the last of them."""
        found = {each.symbols: each for each in self._by_path.values() if each.section == 1}
        return [*found.values(), self._by_path["study.inflation"]]

    def start_indices(self, sheet: Sheet) -> None:
        """Open the sheet of what prices rise to: worth of money first, then an index a rise, as they are asked for."""
        self._sheet = sheet
        sheet.write(0, 0, "Indices by year", bold=True, font_size=16)
        sheet.row = 2
        sheet.head_of_years("Index", "by")
        form = "0.000000"
        self.years = sheet.line("Year", lambda year: float(year), form="0")
        self.discount = sheet.line(
            "Worth on the first day",
            lambda year: Formula(f"(1+discount_rate)^-{year}"),
            note="discount_rate",
            form=form,
        )
        self.deflator = sheet.line(
            "In the money of the first day",
            lambda year: Formula(f"(1+{self.ref('study.inflation')})^-{year}"),
            note="inflation",
            form=form,
        )

    def index(self, path: str | None) -> Line:
        """The index of a rise, 1 in year 1; of general inflation, if ``path`` is None."""
        return self.index_of(self.ask("study.inflation" if path is None else path))

    def index_of(self, one: Input) -> Line:
        """The index of an input that is a rise."""
        self.ask(one.paths[0])
        key = one.symbols[0]
        if key not in self._lines:
            sheet = self._sheet
            assert sheet is not None  # opened before any formula is written

            row = sheet.row

            def cell(year: int) -> Formula:
                if year == 1:
                    return Formula("1")
                before = Line(sheet.name, row).at(year - 1)
                return Formula(f"{before}*(1+{one.symbols[min(year - 2, len(one.symbols) - 1)]})")

            self._lines[key] = sheet.line(one.words, cell, note=one.name, first=1, form="0.000000")
        return self._lines[key]

    def in_order(self) -> Iterable[tuple[str, list[Input]]]:
        """The inputs that were asked for, by section."""
        for k, title in enumerate(SECTIONS):
            found = [each for each in self.asked.values() if each.section == k]
            if found:
                yield title, found


def _words(base: Study, one: Ranged, found: str) -> str:
    """Words for a number: those that ranges have, or else ours, with the alternative where it is one's own."""
    steps = one.paths[0].split(".")
    inner = ".".join(steps[2:] if steps[0] == "alternatives" else steps)
    if "later_rates" in steps:
        ours = f"interest of the loan from year {int(steps[-1]) + 2} on"
    elif "contingency_by" in steps:
        ours = f"allowance for the unforeseen, {steps[-1]}"
    else:
        ours = _MORE_WORDS.get(inner, "")
    if not ours:
        return found
    holders = {path.split(".")[1] for path in one.paths}
    whose = f" (“{base.results[int(steps[1])].name}”)" if len(holders) == 1 and len(base.results) > 1 else ""
    return ours + whose


def _section(path: str) -> int | None:
    return next((k for k, places in enumerate(_PLACES) if re.fullmatch(places, path)), None)


def _ranged(name: str, found: list[Leaf]) -> Ranged:
    """A number as the words of ranges take it; its kind is not looked at."""
    return Ranged(name, tuple(leaf.path for leaf in found), Range("from, to", (0.0, 0.0)), *limits(found[0].field))


def _reach(leaf: Leaf, values: tuple[float, ...]) -> tuple[float, float]:
    """Between which values the formulas are to hold: wide about what is stated, within the limits of the field."""
    last = leaf.own
    if last.endswith("rise"):
        low, high = _RISES
    elif last in {"discount_rate", "real_discount_rate", "inflation", "rate", "later_rates"}:
        low, high = _RATES
    elif is_percent(leaf.field):
        low, high = 0.0, max(0.5, 2 * max(values))
    else:
        low, high = 0.0, 3 * max(values) or 1000.0
    least, most = limits(leaf.field)
    return max(min(low, *values), least), min(max(high, *values), most)


def _symbol(name: str, path: str, used: set[str]) -> str:
    """A name for a cell that no program takes for the cell's place, and that is not used yet."""
    steps = path.split(".")
    parts = [part for part in re.split(r"[.\[\]]+", name.removeprefix("study.")) if part]
    if parts[0] == "alternatives":
        parts[:2] = [f"alternative_{int(steps[1]) + 1}"]
    words = ["_".join(re.findall("[a-z0-9]+", part.lower()))[:28].strip("_") or "item" for part in parts]
    found = plain = re.sub(r"_x(?=[0-9a-f]{4}_)", "_x_", "_".join(words))  # else some programs read a sign in it
    if _CELL_LIKE.fullmatch(plain):
        found = plain = f"{plain}_"
    count = 1
    while found in used:
        count += 1
        found = f"{plain}_{count}"
    return found
