"""What backup is worth to a household, year by year, and what it would have to be worth.

Only what the household says enters here: the worth of an hour or of a kWh, what goes while the house is dark, or the
generator that backup spares. Worth is no cash.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.backup import Backup, Carrying, Outages, dark
from finsolar.money.costs import (
    PricedLine,
    Sizes,
    from_year_1,
    in_year,
    left_at_the_end,
    lines_alone,
    priced,
    total,
    upkeep,
)
from finsolar.money.energy_cost import NO_OUTAGES, PAYS_WITHOUT, level_worth
from finsolar.money.metrics import present_value
from finsolar.scenario.numbers import per_case
from finsolar.scenario.rises import growth
from finsolar.scenario.schema import Instead, Outage, OutageLoss, Purchase
from finsolar.scenario.schema import Worth as StatedWorth

Array = NDArray[np.float64]

NOTHING_CARRIED = "nothing is carried while the grid is down"
NO_ENERGY = "no energy is wanted while it is carried"


@dataclass(frozen=True, eq=False)
class Line:
    """One part of the worth in its first year, ``year`` 0 or 1: what it comes to when staying as you are, ``without``,
    and with the alternative, ``left``; money (...) each."""

    item: str
    year: int
    without: Array
    left: Array


@dataclass(frozen=True, eq=False)
class Worth:
    """What backup is worth: said ``by`` hour, kwh, losses or generator; ``unit`` : that of an hour or a kWh, today's
    money (...), None without one; by_year : money (..., years + 1), the lines' differences in their years; bought_in :
    the year at whose end the spared generator is bought after all, None for never."""

    by: tuple[str, ...]
    unit: Array | None
    lines: tuple[Line, ...]
    by_year: Array
    bought_in: int | None = None


@dataclass(frozen=True, eq=False)
class Valued:
    """What an alternative carries, and what that is worth.

    present_value : money (...), of the worth; an_hour, a_kwh : today's money (...) at which the NPV without backup in
    it would be zero, NaN for the reason that ``why_not`` holds by their names; npv_without : money (...), npv_with :
    the same with the worth added, None where nothing says what it is.
    """

    carried: Backup
    worth: Worth | None
    present_value: Array
    an_hour: Array
    a_kwh: Array
    why_not: dict[str, str]
    npv_without: Array
    npv_with: Array | None


def worth_of(
    stated: Outage,
    outages: Outages,
    carrying: Carrying | None,
    carried: Backup,
    capacity: Array,
    there: Array,
    inflation: ArrayLike,
    *,
    burns_fuel: bool = False,
) -> Worth | None:
    """What backup is worth by what a household states, None where it states nothing.

    capacity, there : as of `energy.backup.backup`; inflation : as `growth` takes it, the rise of what states none;
    burns_fuel : whether the alternative has a generator of its own with fuel for outages, so that it spares none.
    Equation: amounts of year k are today's times (1 + rise)^(k-1).
    """
    years = there.shape[-1]
    if stated.instead is not None:
        return _of_a_generator(stated.instead, carrying is not None, carried.kwh * (not burns_fuel), there, inflation)
    by: list[str] = []
    lines: list[Line] = []
    unit, total = None, np.zeros(years)
    if stated.worth is not None:
        one, total = _of_a_unit(stated.worth, carried, inflation)
        by, unit, lines = ["kwh" if stated.worth.an_hour is None else "hour"], _unit(stated.worth), [one]
    for loss in stated.losses:
        without, left = _of_a_loss(loss, outages, carrying, capacity, there)
        index = growth(inflation if loss.rise is None else loss.rise, years)
        total = total + (without[..., None] - left) * index
        lines.append(Line(loss.item, 1, without, left[..., 0]))
    if stated.losses:
        by.append("losses")
    return Worth(tuple(by), unit, tuple(lines), from_year_1(total)) if by else None


def _unit(stated: StatedWorth) -> Array:
    unit: Any = stated.a_kwh if stated.an_hour is None else stated.an_hour
    return per_case(unit)


def _of_a_unit(stated: StatedWorth, carried: Backup, inflation: ArrayLike) -> tuple[Line, Array]:
    """The worth of what is carried, by the hour or the kWh: its line, and money by year (..., years)."""
    by_hour, year, unit = stated.an_hour is not None, carried.year, _unit(stated)
    amount = carried.hours if by_hour else carried.kwh
    index = growth(inflation if stated.rise is None else stated.rise, amount.shape[-1])
    without = unit * (year.hours if by_hour else year.kwh)
    left = unit * (year.hours_not_carried if by_hour else year.kwh_not_carried)
    item = "hours without power" if by_hour else "kWh wanted in vain"
    return Line(item, 1, np.asarray(without), np.asarray(left)), unit[..., None] * amount * index


def _of_a_loss(
    loss: OutageLoss, outages: Outages, carrying: Carrying | None, capacity: Array, there: Array
) -> tuple[Array, Array]:
    """What a loss comes to in a year, today's money: staying as you are (...); with the alternative (..., years)."""
    without, left = dark(outages, carrying, capacity, there, float(loss.after_hours))
    price = per_case(loss.cost)
    if loss.each == "outage":
        return np.asarray(price * without[0]), price[..., None] * left[0]
    price = price / (24.0 if loss.each == "day" else 1.0)
    return np.asarray(price * without[1]), price[..., None] * left[1]


def _of_a_generator(stated: Instead, spares: bool, kwh: Array, there: Array, inflation: ArrayLike) -> Worth:
    """What the generator costs that an alternative ``spares``; kwh : of it by year (..., years).

    Where others take the system away, the household buys the generator at the price of those days. From then on it is
    as without the alternative: its upkeep falls due in the same years, and only its age tells in what is left of it.
    """
    years = there.shape[-1]
    serves = np.concatenate([[1.0], there]) * float(spares)
    alone = lines_alone(stated.costs, stated.upkeep, inflation, years)
    litre = per_case(stated.litres_per_kwh) * per_case(stated.fuel_price)
    index = growth(inflation if stated.rise is None else stated.rise, years)
    fuel = from_year_1(litre[..., None] * kwh * index)
    built = priced(stated.costs, Purchase(), Sizes(), years)
    by_year = (alone.investment + alone.upkeep) * serves + fuel
    bought_in = int(there.argmin()) if spares and not there.all() else None
    if bought_in is not None:
        by_year = by_year - _bought_later(stated, built, bought_in, inflation, years)
    kept = 1.0 - serves[0]
    lines = [Line(one.item, 0, one.total, one.total * kept) for one in built]
    for each in stated.upkeep:
        first = upkeep([each], inflation, years)
        cost = (first.upkeep + first.insurance + first.replacements + first.removal)[..., 1]
        lines.append(Line(each.item, 1, np.asarray(cost), np.asarray(cost * kept)))
    lines.append(Line("fuel of the generator", 1, fuel[..., 1], np.zeros(fuel.shape[:-1])))
    return Worth(("generator",), None, tuple(lines), np.asarray(by_year), bought_in)


def _bought_later(stated: Instead, built: Sequence[PricedLine], year: int, inflation: ArrayLike, years: int) -> Array:
    """What it costs to buy the generator in a ``year`` only, less what is left of it for being younger."""
    younger = priced(stated.costs, Purchase(), Sizes(), years - year)
    more_left = left_at_the_end(younger, inflation, years) - left_at_the_end(built, inflation, years)
    price = total(built) * growth(inflation, years)[..., year - 1]
    return np.asarray(in_year(price, year, years) - in_year(more_left, years, years))


def valued(
    stated: Outage, carried: Backup, worth: Worth | None, npv: Array, rate: Array, inflation: ArrayLike
) -> Valued:
    """Set what is carried, and its worth, beside an NPV (...) that has none of it in it.

    rate : nominal discount rate (...); inflation : as `growth` takes it.
    """
    rise = inflation if stated.worth is None or stated.worth.rise is None else stated.worth.rise
    index = growth(rise, carried.hours.shape[-1])
    an_hour, a_kwh = (level_worth(npv, amount * index, rate) for amount in (carried.hours, carried.kwh))
    units = {"an_hour": (an_hour, carried.hours), "a_kwh": (a_kwh, carried.kwh)}
    why = {name: _no_break_even(carried, amount) for name, (unit, amount) in units.items() if np.isnan(unit).any()}
    present = np.zeros(()) if worth is None else present_value(worth.by_year, rate)
    with_it = None if worth is None else np.asarray(npv + present)
    return Valued(carried, worth, present, an_hour, a_kwh, why, npv, with_it)


def _no_break_even(carried: Backup, amount: Array) -> str:
    """Why no worth of one of the ``amount`` (..., years) makes the NPV zero."""
    if np.any(amount > 0):
        return PAYS_WITHOUT
    if not np.any(carried.year.hours > 0):
        return NO_OUTAGES
    return NO_ENERGY if np.any(carried.hours > 0) else NOTHING_CARRIED
