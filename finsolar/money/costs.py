"""What it costs to build: line items with tax and allowance; and what comes back every so many years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.scenario.numbers import per_case
from finsolar.scenario.rises import growth
from finsolar.scenario.schema import SERVICES, CostLine, Purchase, UpkeepLine

Array = NDArray[np.float64]


def in_year(amount: ArrayLike, year: int, years: int) -> Array:
    """A line of the cash flow, (..., years + 1), that holds ``amount`` (...) in one year and nothing else."""
    value = np.asarray(amount, dtype=np.float64)
    line = np.zeros((*value.shape, years + 1))
    line[..., year] = value
    return line


@dataclass(frozen=True, eq=False)
class PricedLine:
    """A cost line worked out: price, sales tax on it, allowance for the unforeseen; money (...) each."""

    item: str
    category: str
    price: Array
    sales_tax: Array
    contingency: Array
    residual: Array

    @property
    def total(self) -> Array:
        """All three together."""
        return np.asarray(self.price + self.sales_tax + self.contingency)


def priced(lines: Sequence[CostLine], purchase: Purchase) -> list[PricedLine]:
    """The cost lines of a settled scenario with what they come to.

    A line without a sales tax of its own takes the one of ``purchase`` for things, or that for services. The
    allowance is a share of price and tax. ``residual`` is money left at the end of the study in today's prices: a
    share of the price alone.
    """
    found = []
    for line in lines:
        each: Any = line.cost if line.cost is not None else line.each
        price = per_case(each) * per_case(1.0 if line.quantity is None else line.quantity)
        shared_tax = purchase.services_tax if line.category in SERVICES else purchase.sales_tax
        tax = price * per_case(shared_tax if line.sales_tax is None else line.sales_tax)
        allowance = per_case(purchase.contingency if line.contingency is None else line.contingency)
        found.append(
            PricedLine(
                item=line.item,
                category=line.category,
                price=np.asarray(price),
                sales_tax=np.asarray(tax),
                contingency=np.asarray((price + tax) * allowance),
                residual=np.asarray(price * per_case(line.residual)),
            )
        )
    return found


def total(lines: Sequence[PricedLine]) -> Array:
    """All lines together, money (...)."""
    return np.asarray(sum((line.total for line in lines), start=np.zeros(())))


def due_years(line: UpkeepLine, years: int) -> list[int]:
    """The years at whose end an upkeep line falls due; none for one that waits for a worn battery.

    A replacement due at the very end of the study is left out: what it would serve lies beyond.
    """
    if line.below is not None:
        return []
    last = years - 1 if line.is_replacement else years
    if line.in_years is not None:
        return sorted({year for year in line.in_years if year <= last})
    first = line.every if line.first is None else line.first
    return list(range(first, last + 1, line.every))


@dataclass(frozen=True, eq=False)
class Upkeep:
    """Costs that come back, positive money (..., years + 1) each."""

    upkeep: Array
    insurance: Array
    replacements: Array
    residual: Array


def due_in(line: UpkeepLine, years: int, worn_out: ArrayLike) -> Array:
    """1.0 in the years at whose end an upkeep line falls due, else 0.0, (..., years).

    ``worn_out`` (..., years) tells at the end of which years a battery that held too little is renewed.
    """
    if line.below is None:
        return np.isin(np.arange(1, years + 1), due_years(line, years)).astype(np.float64)
    return np.broadcast_to(worn_out, (*np.shape(worn_out)[:-1], years)).astype(np.float64)


def first_replacement(lines: Sequence[UpkeepLine], years: int, worn_out: ArrayLike) -> Array:
    """The year at whose end a piece of equipment is first renewed, (...), NaN for none; ``worn_out`` as in `due_in`."""
    due = np.asarray(sum((due_in(line, years, worn_out) for line in lines if line.is_replacement), np.zeros(years)))
    return np.where((due > 0).any(axis=-1), (due > 0).argmax(axis=-1) + 1.0, np.nan)


def upkeep(lines: Sequence[UpkeepLine], inflation: ArrayLike, years: int, worn_out: ArrayLike = (False,)) -> Upkeep:
    """The yearly costs of a settled scenario; ``worn_out`` as in `due_in`.

    A cost due in year k is today's price times (1 + rise)^(k-1); a line without a rise of its own rises with
    inflation. ``residual`` holds in the last year what the latest replacement of each line is still worth.
    """
    sums = {name: np.zeros(years + 1) for name in ("upkeep", "insurance", "replacements", "residual")}
    for line in lines:
        due = due_in(line, years, worn_out)
        index = growth(inflation if line.rise is None else line.rise, years)
        amounts = np.asarray(line.cost, dtype=np.float64) * index
        by_year = amounts * due
        by_year = np.concatenate([np.zeros((*by_year.shape[:-1], 1)), by_year], axis=-1)
        name = "insurance" if line.category == "insurance" else "upkeep"
        name = "replacements" if line.is_replacement else name
        sums[name] = sums[name] + by_year
        left = amounts[..., -1] * per_case(line.residual) * due.any(axis=-1)
        sums["residual"] = sums["residual"] + in_year(left, years, years)
    return Upkeep(**sums)
