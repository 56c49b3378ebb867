"""What of a bill goes by price period: kWh times the price of their period, before they are added up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.tariff.bills import ENERGY, EXPORT, by_period, net_metering
from finsolar.tariff.prices import Prices

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class PeriodParts:
    """What of a bill goes by price period, (..., years, 12, periods) each.

    billed : kWh that energy is charged for; components : money of the components, or of their part, that are a sum
    over the periods.
    """

    billed: Array
    components: dict[str, Array]


def period_parts(begins: int, imported: Array, exported: Array, prices: Prices) -> PeriodParts | None:
    """What the price periods make of the bill of the same years, by calendar month.

    begins, imported, exported and prices as in `bill_of_years`. Energy goes by period, and so does the export credit of
    net billing, but for credits that wait in a bank and for hourly prices. None where energy is settled in money at a
    true-up, over all periods together. Kept apart from `Bill`, since many cases of a study would hold it for nothing.
    """
    if prices.in_money:
        return None
    billed, fed = np.roll(imported, -begins, -2), np.roll(exported, -begins, -2)
    if prices.scheme == "net metering":
        billed, _ = net_metering(billed, fed, prices.true_up_month)
    found = {ENERGY: by_period(billed, prices.energy)}
    if prices.scheme == "net billing" and not prices.credits_pay_energy:
        found[EXPORT] = -by_period(fed, prices.export)
    return PeriodParts(
        billed=np.roll(billed, begins, -2),
        components={name: np.roll(each, begins, -2) for name, each in found.items()},
    )
