"""Where the answer turns: the price and the yearly rise at which an alternative breaks even or draws level.

Prices move all lines of cost alike, so taxes on them, awards that are a share of them, what is left of them and the
loan that pays for them move along; the household's own terms stay. Each trial is a study of its own by the one engine.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.money.break_even import Zero, highest_price, where_zero, why_no_price, why_no_zero
from finsolar.results import Study
from finsolar.scenario.outlay import PRICES
from finsolar.study import study
from finsolar.uncertainty.rises import every_rise

Array = NDArray[np.float64]

_DOUBLINGS = 5

RISES = (-0.2, 0.5)
"""The yearly rises among which to search: those that a scenario may state."""


@dataclass(frozen=True)
class Turn:
    """The number at which a figure is zero; None where there is none, for the reason ``why_not``."""

    at: float | None
    why_not: str | None = None


@dataclass(frozen=True)
class TurningPoints:
    """Where one alternative breaks even against staying as you are.

    price : all it costs to build, money; highest_price : the same at an NPV of zero; rise : of the price of energy per
    year at an NPV of zero, which ``falls_with_rise`` if dearer energy makes it worse; loan : the rises from which the
    loan carries itself, in ``every_year`` of it and ``over_term``, None without a loan.
    """

    name: str
    price: float
    highest_price: Turn
    rise: Turn
    falls_with_rise: bool
    loan: dict[str, Turn] | None


@dataclass(frozen=True)
class DrawingLevel:
    """What ``behind`` would have to cost to be worth as much as ``ahead``; money.

    behind_by : the difference of their NPVs; price : all that ``behind`` costs to build; level_price : the same at
    equal NPVs.
    """

    behind: str
    ahead: str
    behind_by: float
    price: float
    level_price: Turn


@dataclass(frozen=True)
class BreakEven:
    """Alternatives in the order of the study, pairs in that of its comparison."""

    rises_searched: tuple[float, float]
    alternatives: tuple[TurningPoints, ...]
    pairs: tuple[DrawingLevel, ...]


def with_break_even(base: Study) -> Study:
    """The study of single values with its turning points added."""
    prices, rises = _prices(base), _rises(base)
    names = [result.name for result in base.results]
    alternatives = tuple(
        TurningPoints(
            name=result.name,
            price=float(result.gross),
            highest_price=prices[i][i],
            rise=rises[i][0],
            falls_with_rise=rises[i][1],
            loan=rises[i][2],
        )
        for i, result in enumerate(base.results)
    )
    pairs = []
    for pair in base.pairs:
        ahead, behind = names.index(pair.dearer), names.index(pair.cheaper)
        if pair.extra_npv <= 0:
            ahead, behind = behind, ahead
        pairs.append(
            DrawingLevel(
                behind=names[behind],
                ahead=names[ahead],
                behind_by=abs(float(pair.extra_npv)),
                price=alternatives[behind].price,
                level_price=prices[behind][ahead],
            )
        )
    return replace(base, break_even=BreakEven(RISES, alternatives, tuple(pairs)))


def _prices(base: Study) -> list[list[Turn]]:
    """For alternative i the price at which it is worth as much as j, and on the diagonal as staying as you are."""
    now = _npv(base)
    worth_aimed_at = np.broadcast_to(now, (now.size, now.size)) * (1 - np.eye(now.size))
    price = np.array([[float(result.gross)] for result in base.results])

    def missing(prices: Array) -> Array:
        shares = np.divide(prices, price, out=np.ones_like(prices), where=price > 0)
        chosen = {
            f"alternatives.{i}.costs.{k}.{name}": getattr(line, name) * shares[i][:, None]
            for i, plan in enumerate(base.settled.alternatives)
            for k, line in enumerate(plan.costs)
            for name in PRICES
            if getattr(line, name) is not None
        }
        return _npv(study(base.scenario, chosen, reuse=base), now.size) - worth_aimed_at

    gift, asked = missing(np.zeros_like(worth_aimed_at)), now[:, None] - worth_aimed_at
    # Awards have caps, so the true course bends; the straight line only says how far to look.
    slope = np.divide(asked - gift, price, out=np.zeros_like(gift), where=price > 0)
    far = 2.0 * np.fmax(np.fmax(highest_price(price, asked, slope), price), 1.0)
    there = missing(far)
    for _ in range(_DOUBLINGS):  # a loan of a fixed amount leaves the course less steep beyond it
        if not (there > 0).any():
            break
        far = np.where(there > 0, 2.0 * far, far)
        there = missing(far)
    zero = where_zero(missing, 0.0, far, gift.shape, pieces=1, ends=(gift, there))

    def told(i: int, j: int) -> Turn:
        if price[i, 0] == 0:
            return Turn(None, "nothing is paid for, so there is no price to move")
        one = _single(zero, (i, j))
        if not np.isnan(one.at):
            return Turn(float(one.at))
        if i != j and gift[i, j] < 0:
            return Turn(None, "it stays behind even as a gift")
        why = why_no_price(price[i, 0], asked[i, j], slope[i, j]) or why_no_zero(one, "gain")
        return Turn(None, why)

    return [[told(i, j) for j in range(now.size)] for i in range(now.size)]


def _rises(base: Study) -> list[tuple[Turn, bool, dict[str, Turn] | None]]:
    """For each alternative the rise at an NPV of zero, whether the NPV falls with it, and those of its loan."""
    count = 1 if all(result.lender is None for result in base.results) else 3
    shape = (len(base.results), count)

    def value(rises: Array) -> Array:
        cases = study(base.scenario, every_rise(base.scenario, rises.reshape(-1, 1)), reuse=base)
        found = np.full(shape, np.nan)
        for i, result in enumerate(cases.results):
            figures = [result.appraisal.npv]
            if result.lender is not None:
                figures += [result.lender.coverage.least_left, result.lender.coverage.left_over_term]
            for k, figure in enumerate(figures):
                found[i, k] = np.broadcast_to(figure, rises.size).reshape(shape)[i, k]
        return found

    low, high = (value(np.full(shape, end)) for end in RISES)
    falls = low[:, 0] > 0
    zero = where_zero(value, *RISES, shape, pieces=1, precision=1e-6, ends=(low, high))

    def told(i: int, k: int, figure: str) -> Turn:
        one = _single(zero, (i, k))
        return Turn(None, why_no_zero(one, figure)) if np.isnan(one.at) else Turn(float(one.at))

    found = []
    for i, result in enumerate(base.results):
        loan = None
        if result.lender is not None:
            loan = {
                "every_year": told(i, 1, "money left in the leanest year of the loan"),
                "over_term": told(i, 2, "money left over the term of the loan"),
            }
        npv = told(i, 0, "NPV")
        found.append((npv, bool(falls[i]) and npv.at is not None, loan))
    return found


def _npv(cases: Study, count: int | None = None) -> Array:
    """The NPV of each alternative, (alternatives,) of a single study, (alternatives, count) of many cases."""
    shape = () if count is None else (count,)
    return np.stack([np.broadcast_to(result.appraisal.npv, shape) for result in cases.results])


def _single(zero: Zero, place: tuple[int, int]) -> Zero:
    return Zero(at=zero.at[place], seen=zero.seen[place], side=zero.side[place])
