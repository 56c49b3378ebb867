"""The prices of a tariff, year by year.

Prices in a scenario are today's: year 1 uses them as they are, year k has risen k - 1 times.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.clock import Clock
from finsolar.energy.orders import DearHours
from finsolar.scenario.rises import growth
from finsolar.scenario.schema import Tariff, TimeShift

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Prices:
    """What the grid asks and gives.

    fixed : (..., years) money a month; energy : (..., years, periods) money per kWh, names in ``periods``;
    export : (..., years) money per kWh fed in (net billing); surplus : (..., years) money per kWh left in the
    bank at the true-up (net metering); true_up_month : 0 to 11, the month at whose end the bank is emptied.
    """

    periods: tuple[str, ...]
    fixed: Array
    energy: Array
    scheme: str
    export: Array
    surplus: Array
    true_up_month: int


def by_year(price: ArrayLike, index: Array) -> Array:
    """Today's price times a price index (..., years). ``price`` is a number or (cases, 1)."""
    return np.asarray(np.asarray(price, dtype=np.float64) * index)


def prices(tariff: Tariff, years: int) -> Prices:
    """The tariff of a settled scenario as arrays by year."""
    energy_index = growth(tariff.rise, years)
    fixed_index = energy_index if tariff.fixed_rise is None else growth(tariff.fixed_rise, years)
    export_index = energy_index if tariff.export_rise is None else growth(tariff.export_rise, years)
    energy = [by_year(period.price, energy_index) for period in tariff.energy]
    export = tariff.export
    return Prices(
        periods=tuple(period.name for period in tariff.energy),
        fixed=by_year(tariff.monthly_charge, fixed_index),
        energy=np.stack(np.broadcast_arrays(*energy), axis=-1),
        scheme=export.scheme,
        export=by_year(0.0 if export.price is None else export.price, export_index),
        surplus=by_year(0.0 if export.surplus_price is None else export.surplus_price, export_index),
        true_up_month=11 if export.true_up_month is None else export.true_up_month[0],
    )


def period_of_hours(tariff: Tariff, clock: Clock) -> NDArray[np.int64]:
    """The price period (steps,) of each step, by the household's wall clock."""
    return tariff.period_grid()[clock.month, clock.weekday, clock.hour].astype(np.int64)


def dear_hours(tariff: Tariff, shift: TimeShift, clock: Clock) -> DearHours:
    """The steps that a settled scenario calls dear and cheap.

    Where it does not say which periods are dear, those are that cost more than the average hour of the year and are not
    called cheap.
    """
    period = period_of_hours(tariff, clock)
    names = [each.name for each in tariff.energy]
    asked = np.array([each.price for each in tariff.energy], dtype=np.float64)
    cheap = np.isin(period, [names.index(name) for name in shift.cheap])
    if shift.dear is None:
        dear = (asked[period] > asked[period].mean() + 1e-12) & ~cheap
    else:
        dear = np.isin(period, [names.index(name) for name in shift.dear])
    return DearHours(dear=dear, cheap=cheap)
