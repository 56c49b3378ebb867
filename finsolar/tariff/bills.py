"""Bills of the grid: flows times prices, month by month.

Money paid by the household is positive here; credits are negative. Nothing is rounded.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.tariff.prices import Prices

Array = NDArray[np.float64]

FIXED, ENERGY, EXPORT, FUEL, RUNNING = (
    "fixed charge",
    "energy",
    "export credit",
    "generator fuel",
    "generator upkeep",
)
COMPONENTS = (FIXED, ENERGY, EXPORT, FUEL, RUNNING)
"""Parts of what it costs to run the house, in the order in which they are shown."""


@dataclass(frozen=True, eq=False)
class Bill:
    """What the supply of the house costs: money by component, each (..., years, 12)."""

    components: dict[str, Array]

    def yearly(self, component: str) -> Array:
        """One component by year, (..., years); zero where the house has no such cost."""
        monthly = self.components.get(component)
        return np.zeros(1) if monthly is None else monthly.sum(axis=-1)

    @property
    def monthly_total(self) -> Array:
        """All components together, (..., years, 12); zeros (1, 12) where nothing supplies the house."""
        return np.asarray(sum(self.components.values(), start=np.zeros((1, 12))))

    @property
    def total(self) -> Array:
        """All components together by year, (..., years)."""
        return np.asarray(self.monthly_total.sum(axis=-1))

    def plus(self, other: Bill) -> Bill:
        """Both bills as one; they share no component."""
        return Bill({**self.components, **other.components})


def grid_bill(imported: Array, exported: Array, prices: Prices) -> Bill:
    """The bill for what was drawn and fed in.

    imported, exported : kWh (..., years, 12, periods). Returns components ``fixed charge``, ``energy`` and,
    where the scheme pays for export, ``export credit`` (negative), each (..., years, 12).

    none : nothing is paid. net billing : every exported kWh earns the export price in the month it leaves.
    net metering : exported kWh cancel imported kWh of the same price period, in the same month or a later
    one; at the end of the true-up month (and of the study) what is left in the bank is paid at the surplus
    price and the bank is empty. Credits of either kind never lower the fixed charge of net metering; under
    net billing they are money and may exceed the month's charges.
    """
    years = imported.shape[-3]
    price = prices.energy[..., :, None, :]
    fixed = np.broadcast_to(prices.fixed[..., :, None], (*prices.fixed.shape[:-1], years, 12))
    if prices.scheme == "net metering":
        billed, left = net_metering(imported, exported, prices.true_up_month)
        paid_out = left * prices.surplus[..., :, None]
        return Bill({FIXED: fixed, ENERGY: (billed * price).sum(axis=-1), EXPORT: -paid_out})
    components = {FIXED: fixed, ENERGY: (imported * price).sum(axis=-1)}
    if prices.scheme == "net billing":
        components[EXPORT] = -exported.sum(axis=-1) * prices.export[..., :, None]
    return Bill(components)


def net_metering(imported: Array, exported: Array, true_up_month: int) -> tuple[Array, Array]:
    """A bank of kWh for each price period.

    imported, exported : kWh (..., years, 12, periods); true_up_month : 0 to 11. Returns the kWh billed,
    (..., years, 12, periods), and the kWh left and paid out at each true-up, (..., years, 12).
    """
    shape = np.broadcast_shapes(imported.shape, exported.shape)
    months = shape[-3] * 12
    drawn, fed = (np.broadcast_to(flow, shape).reshape(*shape[:-3], months, shape[-1]) for flow in (imported, exported))
    billed, left = np.zeros(drawn.shape), np.zeros(drawn.shape[:-1])
    bank = np.zeros((*shape[:-3], shape[-1]))
    for month in range(months):
        balance = drawn[..., month, :] - fed[..., month, :] - bank
        billed[..., month, :] = np.maximum(balance, 0.0)
        bank = np.maximum(-balance, 0.0)
        if month % 12 == true_up_month or month == months - 1:
            left[..., month] = bank.sum(axis=-1)
            bank = np.zeros(bank.shape)
    return billed.reshape(shape), left.reshape(shape[:-1])
