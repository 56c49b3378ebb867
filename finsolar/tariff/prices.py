"""The prices of a tariff, year by year and bill by bill.

Prices in a scenario are today's: year 1 uses them as they are, year k has risen k - 1 times.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.weather import DAYS_IN_MONTH
from finsolar.scenario.rises import growth
from finsolar.scenario.schema import Tariff, Tiers
from finsolar.tariff.blocks import block_ends

Array = NDArray[np.float64]

MONTHS_OF_THE_YEAR = np.arange(12)


@dataclass(frozen=True, eq=False)
class Calendar:
    """The billing periods: the twelve months of a year, or the bills of a drawer, (bills,) each.

    ``month`` 0 to 11 in which most of it lies, ``days`` its length, ``months`` how many monthly charges it holds;
    ``at`` the month in which it lies, counted on through the years, where the bills do not follow month by month.
    """

    month: NDArray[np.int64]
    days: Array
    months: Array
    at: NDArray[np.int64] | None = None


def year_from(begins: int) -> Calendar:
    """The twelve months that a study bills, in the order in which they come: ``begins``, 0 to 11, is the first."""
    month = np.roll(MONTHS_OF_THE_YEAR, -begins)
    return Calendar(month=month, days=DAYS_IN_MONTH[month].astype(np.float64), months=np.ones(12))


YEAR = year_from(0)
"""The twelve months of a calendar year."""


@dataclass(frozen=True, eq=False)
class TierPrices:
    """What kWh of some price periods cost beside the price of their hour, by how many there are.

    of : (periods,) bool; billed : (bills,) bool, whether it holds; ends : (bills, blocks - 1) kWh; adds :
    (..., years, blocks) money per kWh.
    """

    of: NDArray[np.bool_]
    billed: NDArray[np.bool_]
    ends: Array
    adds: Array


@dataclass(frozen=True, eq=False)
class RiderPrices:
    """A surcharge: ``per_kwh`` (..., years) money, or a ``share`` (..., years) of the parts ``on``; in which bills."""

    item: str
    per_kwh: Array | None
    share: Array | None
    on: tuple[str, ...]
    billed: NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class TaxShares:
    """A tax: ``share`` (..., years) of the parts ``on``."""

    item: str
    share: Array
    on: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Prices:
    """What the grid asks and gives.

    fixed, minimum : (..., years, bills) money; energy : (..., years, periods) money per kWh, names in ``periods``;
    demand : (..., years, windows) money per kW and month, ``ratchet`` and ``ratchet_months`` by window, ``at`` the
    months of the bills as in `Calendar`; export : (..., years, periods) money per kWh fed in (net billing); surplus :
    (..., years) money per kWh left in the bank at the true-up (net metering); true_up_month : 0 to 11, the bill of a
    year at whose end a bank is emptied; ``credits_pay_energy`` whether credits pay for energy alone, and ``pay_out``
    (..., years) the share of the rest that is paid; ``in_money`` whether net metering settles money; production :
    (..., years) money per kWh made; hourly and hourly_export : (..., years) what hourly prices have risen to, and what
    share of them export earns.
    """

    periods: tuple[str, ...]
    fixed: Array
    energy: Array
    scheme: str
    export: Array
    surplus: Array
    true_up_month: int
    credits_pay_energy: bool = False
    pay_out: Array | float = 0.0
    in_money: bool = False
    production: Array | None = None
    hourly: Array | None = None
    hourly_export: Array | None = None
    minimum: Array | None = None
    tiers: tuple[TierPrices, ...] = ()
    demand: Array | None = None
    ratchet: tuple[float, ...] = ()
    ratchet_months: tuple[int, ...] = ()
    at: NDArray[np.int64] | None = None
    riders: tuple[RiderPrices, ...] = ()
    taxes: tuple[TaxShares, ...] = ()


CHARGES = ("fixed charge", "energy", "hourly prices", "tiers", "demand")
"""Parts of a bill that riders and taxes may be a share of, besides riders and the minimum themselves."""


def regimes(tariff: Tariff, years: int) -> list[tuple[slice, Tariff]]:
    """The tariff of each run of years, in order: the first, and those that take its place later."""
    changes = [(1, tariff), *((each.from_year, each.tariff) for each in tariff.later if each.from_year <= years)]
    ends = [first - 1 for first, _ in changes[1:]] + [years]
    return [(slice(first - 1, end), each) for (first, each), end in zip(changes, ends, strict=True)]


def by_year(price: ArrayLike, index: Array) -> Array:
    """Today's price times a price index (..., years). ``price`` is a number or (cases, 1)."""
    return np.asarray(np.asarray(price, dtype=np.float64) * index)


def prices(
    tariff: Tariff, years: int, array_kw: float = 0.0, calendar: Calendar = YEAR, part: slice = slice(None)
) -> Prices:
    """The tariff of a settled scenario as arrays by year, for a house with ``array_kw`` of modules.

    ``part`` leaves only some of the ``years``: prices have risen by then as by any other year.
    """
    rises = (tariff.rise, tariff.fixed_rise, tariff.export_rise, tariff.demand_rise)
    energy_index, fixed_index, export_index, demand_index = (
        growth(tariff.rise if rise is None else rise, years)[..., part] for rise in rises
    )
    flat = np.ones(years)[part]
    energy = [by_year(period.price, energy_index) for period in tariff.energy]
    names = tuple(period.name for period in tariff.energy)
    export = tariff.export
    monthly = by_year(tariff.monthly_charge, fixed_index) + by_year(tariff.charge_per_kw, fixed_index) * array_kw
    daily = by_year(tariff.daily_charge, fixed_index)
    minimum = by_year(tariff.minimum_bill, fixed_index)[..., None]
    # A case without a minimum, beside others with one, must lose no credit: its bill may go below zero.
    least = np.where(minimum > 0.0, minimum * calendar.months, -np.inf)
    demand = [by_year(each.price, demand_index) for each in tariff.demand]
    return Prices(
        periods=names,
        fixed=monthly[..., None] * calendar.months + daily[..., None] * calendar.days,
        energy=np.stack(np.broadcast_arrays(*energy), axis=-1),
        scheme=export.scheme,
        export=np.stack(np.broadcast_arrays(*_export(tariff, names, export_index)), axis=-1),
        surplus=by_year(0.0 if export.surplus_price is None else export.surplus_price, export_index),
        true_up_month=int(((11 if export.true_up_month is None else export.true_up_month[0]) - calendar.month[0]) % 12),
        credits_pay_energy=export.scheme == "net billing" and export.credits_pay == "energy",
        pay_out=by_year(export.pay_out, flat),
        in_money=export.scheme == "net metering" and export.bank == "money",
        production=_production(tariff, years, part),
        hourly=None if tariff.hourly_prices is None else energy_index,
        hourly_export=None
        if tariff.hourly_prices is None
        else by_year(tariff.hourly_prices.export_share, export_index),
        minimum=least if np.any(minimum > 0.0) else None,
        tiers=tuple(_tiers(tiers, names, energy_index, calendar) for tiers in tariff.tiers),
        demand=np.stack(np.broadcast_arrays(*demand), axis=-1) if demand else None,
        ratchet=tuple(each.ratchet for each in tariff.demand),
        ratchet_months=tuple(each.ratchet_months for each in tariff.demand),
        at=calendar.at,
        riders=tuple(
            RiderPrices(
                item=rider.item,
                per_kwh=None if rider.per_kwh is None else by_year(rider.per_kwh, energy_index),
                share=None if rider.share is None else by_year(rider.share, flat),
                on=tuple(rider.on or CHARGES),
                billed=np.isin(calendar.month, list(range(12) if rider.months is None else rider.months)),
            )
            for rider in tariff.riders
        ),
        taxes=tuple(
            TaxShares(tax.item, by_year(tax.share, flat), tuple(tax.on or (*CHARGES, "riders", "minimum")))
            for tax in tariff.taxes
        ),
    )


def _tiers(tiers: Tiers, names: tuple[str, ...], index: Array, calendar: Calendar) -> TierPrices:
    first = tiers.steps[:-1]
    if first[0].of_baseline is None:
        ends = block_ends([step.end for step in first], tiers.per == "day", calendar.days)
        if tiers.per == "month":
            ends = ends * calendar.months[:, None]
    else:
        allowed = np.zeros(12)
        for line in tiers.baseline:
            allowed[list(range(12) if line.months is None else line.months)] = line.kwh_a_day
        ends = block_ends([step.end for step in first], False, calendar.days, allowed[calendar.month])
    adds = [by_year(step.adds, index) for step in tiers.steps]
    return TierPrices(
        of=np.array([tiers.of is None or name in tiers.of for name in names]),
        billed=np.isin(calendar.month, list(range(12) if tiers.months is None else tiers.months)),
        ends=ends,
        adds=np.stack(np.broadcast_arrays(*adds), axis=-1),
    )


def _export(tariff: Tariff, names: tuple[str, ...], index: Array) -> list[Array]:
    """What a kWh fed in earns in each price period, (..., years)."""
    price = tariff.export.price
    if isinstance(price, list):
        paid = {each.period: each.price for each in price}
        return [by_year(paid[name], index) for name in names]
    return [by_year(0.0 if price is None else price, index)] * len(names)


def _production(tariff: Tariff, years: int, part: slice) -> Array | None:
    """What a kWh made earns as such, (..., years), while it is paid; at a price that does not rise."""
    if not np.any(np.asarray(tariff.production_price) > 0.0):
        return None
    paid = np.arange(years) < (years if tariff.production_years is None else tariff.production_years)
    return by_year(tariff.production_price, paid.astype(np.float64)[part])
