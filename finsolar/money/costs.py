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


def from_year_1(amounts: Array) -> Array:
    """Amounts by year (..., years) with nothing in year 0, (..., years + 1)."""
    return np.concatenate([np.zeros((*amounts.shape[:-1], 1)), amounts], axis=-1)


@dataclass(frozen=True)
class Sizes:
    """What prices may go by: kW of modules, and kWh that the battery holds when new."""

    kw: float = 0.0
    kwh: float = 0.0


@dataclass(frozen=True, eq=False)
class PricedLine:
    """A cost line worked out: price, sales tax on it, allowance for the unforeseen; money (...) each.

    price : the expected one, ``chance`` (...) times ``full_price``, and all else goes by it; residual : what is left at
    the end of the study, in today's prices; resold : what comes back at the end of year ``resold_in``, likewise.
    """

    item: str
    category: str
    chance: Array
    full_price: Array
    price: Array
    sales_tax: Array
    contingency: Array
    residual: Array
    resold: Array
    resold_in: int

    @property
    def total(self) -> Array:
        """All three together."""
        return np.asarray(self.price + self.sales_tax + self.contingency)


def priced(lines: Sequence[CostLine], purchase: Purchase, sizes: Sizes, years: int) -> list[PricedLine]:
    """The cost lines of a settled scenario with what they come to, for a study of so many ``years``.

    A line without a sales tax of its own takes the one of ``purchase`` for things, or that for services; one without
    an allowance takes that of its category, or else the common one. The allowance is a share of price and tax, what is
    left and what comes back a share of the price alone.
    """
    found = []
    for line in lines:
        shared_tax = purchase.services_tax if line.category in SERVICES else purchase.sales_tax
        shared_allowance = purchase.contingency_by.get(line.category, purchase.contingency)
        full, chance = _full_price(line, sizes), per_case(line.chance)
        price = np.asarray(full * chance)
        tax = price * per_case(shared_tax if line.sales_tax is None else line.sales_tax)
        allowance = per_case(shared_allowance if line.contingency is None else line.contingency)
        found.append(
            PricedLine(
                item=line.item,
                category=line.category,
                chance=chance,
                full_price=full,
                price=price,
                sales_tax=np.asarray(tax),
                contingency=np.asarray((price + tax) * allowance),
                residual=np.asarray(price * left_at_age(line, years)),
                resold=np.asarray(price * per_case(0.0 if line.resold is None else line.resold)),
                resold_in=line.resold_in,
            )
        )
    return found


def _full_price(line: CostLine, sizes: Sizes) -> Array:
    """What a line costs if it comes, money (...)."""
    ways: list[tuple[Any, Any]] = [
        (line.cost, 1.0),
        (line.each, 1.0 if line.quantity is None else line.quantity),
        (line.per_kw, sizes.kw),
        (line.per_kwh, sizes.kwh),
        (line.per_hour, line.hours),
    ]
    each, count = next(way for way in ways if way[0] is not None)  # the schema lets pass one price and no more
    return np.asarray(per_case(each) * per_case(count))


def left_at_age(line: CostLine | UpkeepLine, age: ArrayLike) -> Array:
    """The share of its price that a thing is worth at an ``age`` in years (...), (...).

    One share whatever the age, or by age: 1 when new, straight lines between the ages that are stated, the last share
    ever after.
    """
    if line.residual_by_age is None:
        return per_case(line.residual)
    share, last_age, last_share = np.ones(()), 0, np.ones(())
    for next_age, stated in line.residual_by_age.items():
        next_share = per_case(stated)
        way = np.clip((np.asarray(age, dtype=np.float64) - last_age) / (next_age - last_age), 0.0, 1.0)
        share = share + (next_share - last_share) * way
        last_age, last_share = next_age, next_share
    return np.clip(share, 0.0, 1.0)  # rounding may leave a trace below nothing


def total(lines: Sequence[PricedLine]) -> Array:
    """All lines together, money (...)."""
    return np.asarray(sum((line.total for line in lines), start=np.zeros(())))


def sold_again(lines: Sequence[PricedLine], inflation: ArrayLike, years: int) -> Array:
    """What comes back for tools that are sold again, positive money (..., years + 1).

    Today's money times (1 + inflation)^(k-1) in year k; what would be sold beyond the study brings nothing.
    """
    index = growth(inflation, years)
    sold = (line for line in lines if line.resold_in <= years)
    found = (in_year(line.resold * index[..., line.resold_in - 1], line.resold_in, years) for line in sold)
    return np.asarray(sum(found, start=np.zeros(years + 1)))


_SLACK = 1e-9  # years: that 13 lives of one year end in year 13, whatever the rounding


def due_in(line: UpkeepLine, years: int, worn_out: ArrayLike = (False,)) -> Array:
    """1.0 in the years at whose end an upkeep line falls due, else 0.0, (..., years).

    ``worn_out`` (..., years) tells at the end of which years a battery that held too little is renewed. A unit that
    lives ``life`` years (...) is the n-th to fail at n lives, and renewed at the end of the year in which that falls.
    What is renewed at the very end of the study is left out: what it would serve lies beyond. A removal falls due then.
    """
    year = np.arange(1, years + 1)
    if line.below is not None:
        return np.broadcast_to(worn_out, (*np.shape(worn_out)[:-1], years)).astype(np.float64)
    if line.category == "removal":
        due = year == years
    elif line.life is not None:
        due = _failed(line, year) > _failed(line, year - 1)
    elif line.in_years is not None:
        due = np.isin(year, line.in_years)
    else:
        first = line.every if line.first is None else line.first
        due = (year >= first) & ((year - first) % line.every == 0)
    if line.is_investment:
        due = due & (year < years)
    return np.asarray(due, dtype=np.float64)


def _failed(line: UpkeepLine, year: NDArray[np.int64]) -> Array:
    """How many units have failed by the end of each year, (..., years)."""
    return np.asarray(np.floor((year + _SLACK) / np.asarray(line.life, dtype=np.float64)))


def due_years(line: UpkeepLine, years: int) -> list[int]:
    """The years at whose end an upkeep line falls due; none for one that waits for a worn battery.

    Raises ValueError for a life that differs from case to case.
    """
    due = due_in(line, years)
    if due.ndim > 1:
        raise ValueError(f"{line.item} falls due in other years from case to case")
    return [int(k) + 1 for k in np.flatnonzero(due)]


def covered_in(line: UpkeepLine, due: Array) -> NDArray[np.bool_]:
    """In which of the years that it is ``due`` (..., years) the parts are covered by warranty, (..., years).

    They are while the unit that was last paid for, the first one on day 0, is not older than ``warranty_years`` when
    its successor fails. A covered renewal starts no new warranty, one that is paid for does. Age goes by the years of
    renewal, or by lives where a ``life`` is stated.
    """
    covered = np.zeros(due.shape, dtype=np.bool_)
    if line.warranty_years is None:
        return covered
    years = due.shape[-1]
    fails: Array = np.arange(1.0, years + 1)
    if line.life is not None:
        fails = _failed(line, np.arange(1, years + 1)) * np.asarray(line.life, dtype=np.float64)
    fails = np.broadcast_to(fails, due.shape)
    paid = np.zeros(due.shape[:-1])
    for k in range(years):
        falls = due[..., k] > 0
        covered[..., k] = falls & (fails[..., k] - paid <= line.warranty_years + _SLACK)
        paid = np.where(falls & ~covered[..., k], fails[..., k], paid)
    return covered


def first_replacement(lines: Sequence[UpkeepLine], years: int, worn_out: ArrayLike) -> Array:
    """The year at whose end a piece of equipment is first renewed, (...), NaN for none; ``worn_out`` as in `due_in`."""
    due = np.asarray(sum((due_in(line, years, worn_out) for line in lines if line.is_equipment), np.zeros(years)))
    return np.where((due > 0).any(axis=-1), (due > 0).argmax(axis=-1) + 1.0, np.nan)


@dataclass(frozen=True, eq=False)
class Upkeep:
    """Costs that come back, and what is left of them at the end; positive money (..., years + 1) each.

    replacements : of equipment and roof, work included; removal : taking it all down at the end of the study.
    """

    upkeep: Array
    insurance: Array
    replacements: Array
    removal: Array
    residual: Array


def upkeep(lines: Sequence[UpkeepLine], inflation: ArrayLike, years: int, worn_out: ArrayLike = (False,)) -> Upkeep:
    """The yearly costs of a settled scenario; ``worn_out`` as in `due_in`.

    A cost due in year k is today's price times (1 + rise)^(k-1); a line without a rise of its own rises with
    inflation, and so does all labour. Parts that are covered by warranty cost nothing, as in `covered_in`. ``residual``
    holds in the last year what the latest replacement of each line is still worth, at the price of that year.
    """
    sums = {name: np.zeros(years + 1) for name in ("upkeep", "insurance", "replacements", "removal", "residual")}
    for line in lines:
        due = due_in(line, years, worn_out)
        index = growth(inflation if line.rise is None else line.rise, years)
        amounts = np.asarray(line.cost, dtype=np.float64) * index
        work = np.asarray(line.labour, dtype=np.float64) * growth(inflation, years)
        by_year = amounts * (due * ~covered_in(line, due)) + work * due
        by_year = np.concatenate([np.zeros((*by_year.shape[:-1], 1)), by_year], axis=-1)
        name = "upkeep"
        if line.is_investment:
            name = "replacements"
        elif line.category in {"insurance", "removal"}:
            name = line.category
        sums[name] = sums[name] + by_year
        latest = (due * np.arange(1, years + 1)).max(axis=-1)
        left = amounts[..., -1] * left_at_age(line, years - latest) * due.any(axis=-1)
        sums["residual"] = sums["residual"] + in_year(left, years, years)
    return Upkeep(**sums)


@dataclass(frozen=True, eq=False)
class LinesAlone:
    """Lines of cost by themselves, positive money (..., years + 1) each.

    investment : what is built, replaced and taken down, less what is sold again or left at the end; upkeep : the
    yearly rest; left : what is left at the end, which is worth and no cash.
    """

    investment: Array
    upkeep: Array
    left: Array


def lines_alone(costs: Sequence[CostLine], later: Sequence[UpkeepLine], inflation: ArrayLike, years: int) -> LinesAlone:
    """What some lines come to that no purchase with a tax or an allowance of its own holds together."""
    comes_back = upkeep(later, inflation, years)
    built = priced(costs, Purchase(), Sizes(), years)
    left = in_year(left_at_the_end(built, inflation, years), years, years) + comes_back.residual
    paid = in_year(total(built), 0, years) - sold_again(built, inflation, years)
    return LinesAlone(
        investment=paid + comes_back.replacements + comes_back.removal - left,
        upkeep=comes_back.upkeep + comes_back.insurance,
        left=left,
    )


def left_at_the_end(costs: Sequence[PricedLine], inflation: ArrayLike, years: int) -> Array:
    """What the first equipment is worth at the end, in the money of that year, (...)."""
    left = np.asarray(sum((line.residual for line in costs), start=np.zeros(())))
    return np.asarray(left * growth(inflation, years)[..., -1])
