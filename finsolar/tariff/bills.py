"""Bills of the grid: flows times prices, month by month.

Money paid by the household is positive here; credits are negative. Nothing is rounded.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.tariff.blocks import in_blocks
from finsolar.tariff.demand import billed_demand
from finsolar.tariff.prices import Prices, RiderPrices, TierPrices
from finsolar.tariff.settle import closing, credit_bank, minimum_topup, yearly_settlement

Array = NDArray[np.float64]

FIXED, ENERGY, HOURLY, TIERS, DEMAND, RIDERS, MINIMUM, SETTLED, TAXES, EXPORT, PRODUCTION, FUEL, RUNNING = (
    "fixed charge",
    "energy",
    "hourly prices",
    "tiers",
    "demand",
    "riders",
    "minimum",
    "true-up",
    "taxes",
    "export credit",
    "production payment",
    "generator fuel",
    "generator upkeep",
)
COMPONENTS = (FIXED, ENERGY, HOURLY, TIERS, DEMAND, RIDERS, MINIMUM, SETTLED, TAXES, EXPORT, PRODUCTION, FUEL, RUNNING)
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
        return sum_of(self.components.values()) if self.components else np.zeros((1, 12))

    @property
    def total(self) -> Array:
        """All components together by year, (..., years)."""
        return np.asarray(self.monthly_total.sum(axis=-1))

    def followed_by(self, other: Bill, serving: Array) -> Bill:
        """This bill in the years in which ``serving`` (years,) is 1.0, and the other in those in which it is zero."""
        there = serving[:, None]
        names = [name for name in COMPONENTS if name in self.components or name in other.components]
        nothing = np.zeros((1, 12))
        return Bill(
            {
                name: self.components.get(name, nothing) * there + other.components.get(name, nothing) * (1.0 - there)
                for name in names
            }
        )

    def plus(self, other: Bill) -> Bill:
        """Both bills as one; they share no component."""
        return Bill({**self.components, **other.components})


def joined(bills: list[Bill]) -> Bill:
    """Bills of years that follow one another as one; a component that some years lack is zero in them."""
    if len(bills) == 1:
        return bills[0]
    names = [name for name in COMPONENTS if any(name in bill.components for bill in bills)]
    years = [next(iter(bill.components.values())).shape[-2:] for bill in bills]
    return Bill(
        {
            name: np.concatenate(
                _alike([bill.components.get(name, np.zeros(shape)) for bill, shape in zip(bills, years, strict=True)]),
                axis=-2,
            )
            for name in names
        }
    )


def _alike(amounts: list[Array]) -> list[Array]:
    """The same amounts, (..., years, bills), with the same leading axes."""
    cases = np.broadcast_shapes(*(each.shape[:-2] for each in amounts))
    return [np.broadcast_to(each, (*cases, *each.shape[-2:])) for each in amounts]


def grid_bill(
    imported: Array,
    exported: Array,
    prices: Prices,
    peak: Array | None = None,
    produced: Array | None = None,
    spot: tuple[Array, Array] | None = None,
    before: Array | None = None,
) -> Bill:
    """The bill for what was drawn and fed in.

    imported, exported : kWh (..., years, bills, periods); peak : kW (..., years, bills, windows), where demand is
    priced; produced : solar kWh that were used or fed in (..., years, bills), where production is paid; spot : what
    import and export come to at today's hourly prices, money (..., years, bills) each, where the tariff has such
    prices; before : kW (..., months, windows) of the months before the first bill. Bills are the twelve months of a
    year in the order in which they come, or those of a drawer. Returns the components that the tariff has, each
    (..., years, bills); what is paid to the household is negative.

    energy : each kWh billed at the price of its period. tiers : what the steps of a tier add. demand : the highest
    import of each window, or what a ratchet keeps of it. riders : by the kWh billed, or a share of other parts.
    minimum : what lifts all this, less the credit that lowers the month's bill, to the minimum bill, where it is less;
    what a true-up pays out comes after it. taxes : a share of parts.

    Export: none, nothing is paid. net billing : every exported kWh earns the export price of its period in the month
    it leaves; credits are money and may exceed the month's charges, or pay for energy and tiers alone and are carried
    on to the true-up. net metering : exported kWh cancel imported kWh of the same price period, in the same month or a
    later one; at the end of the true-up month (and of the study) what is left in the bank is paid at the surplus price
    and the bank is empty. Settled in money, each month's energy is import less export at retail prices, with the steps
    of its tiers by import less export; the household pays its minimum, and at the true-up what the year's energy comes
    to beyond the minimums paid. Shares of energy, in riders and taxes, are shares of what is due then.
    """
    years, bills = imported.shape[-3:-1]
    parts = {FIXED: np.broadcast_to(prices.fixed, (*prices.fixed.shape[:-2], years, bills))}
    if prices.demand is not None and peak is not None:
        parts[DEMAND] = sum_of(
            billed_demand(peak[..., i], ratchet, months, None if before is None else before[..., i], prices.at)
            * prices.demand[..., :, None, i]
            for i, (ratchet, months) in enumerate(zip(prices.ratchet, prices.ratchet_months, strict=True))
        )
    if prices.in_money:
        return _settled_in_money(imported, exported, prices, parts, produced)
    billed, credit, paid_out = imported, None, np.zeros((1, 1))
    if prices.scheme == "net metering":
        billed, left = net_metering(imported, exported, prices.true_up_month)
        credit, paid_out = np.zeros((1, 1)), left * prices.surplus[..., :, None]
    elif prices.scheme == "net billing":
        credit = -by_period(exported, prices.export).sum(axis=-1)
    parts[ENERGY] = by_period(billed, prices.energy).sum(axis=-1)
    if spot is not None and prices.hourly is not None and prices.hourly_export is not None:
        parts[HOURLY] = spot[0] * prices.hourly[..., :, None]
        if credit is not None and prices.scheme == "net billing":
            credit = credit - spot[1] * prices.hourly_export[..., :, None]
    if prices.tiers:
        parts[TIERS] = _tiers(billed, prices)
    if prices.credits_pay_energy and credit is not None:
        owed = np.maximum(parts[ENERGY] + parts.get(HOURLY, 0.0) + parts.get(TIERS, 0.0), 0.0)
        # An export that costs, at a price below zero, is no credit to bank.
        used, paid_out = credit_bank(owed, np.maximum(-credit, 0.0), prices.true_up_month, prices.pay_out)
        credit = np.maximum(credit, 0.0) - used
    if prices.riders:
        parts[RIDERS] = sum_of(_rider(rider, parts, billed) for rider in prices.riders)
    if prices.minimum is not None:
        parts[MINIMUM] = minimum_topup(prices.minimum, sum_of([*parts.values(), *([] if credit is None else [credit])]))
    if prices.taxes:
        parts[TAXES] = _taxes(parts, prices)
    if credit is not None:
        parts[EXPORT] = credit - paid_out
    return _bill(parts | _production(produced, prices))


def bill_of_years(
    begins: int,
    imported: Array,
    exported: Array,
    prices: Prices,
    peak: Array,
    produced: Array,
    spot: tuple[Array, Array] | None,
    before: Array,
) -> Bill:
    """The bill of years that begin with month ``begins`` (0 to 11), by calendar month.

    As `grid_bill`, with every month at its place in the calendar, January first, and ``before`` (..., 12, windows) kW
    of the twelve months before; ``prices`` are those of `year_from` that month. What is carried from bill to bill, a
    bank or a ratchet, goes by the order in which the months come.
    """

    def turned(amounts: Array, axis: int) -> Array:
        return np.roll(amounts, -begins, axis)

    bill = grid_bill(
        turned(imported, -2),
        turned(exported, -2),
        prices,
        turned(peak, -2),
        turned(produced, -1),
        None if spot is None else (turned(spot[0], -1), turned(spot[1], -1)),
        turned(before, -2),
    )
    return Bill({name: np.roll(amounts, begins, -1) for name, amounts in bill.components.items()})


def by_period(kwh: Array, price: Array) -> Array:
    """Money for the kWh (..., years, bills, periods) of each price period, at prices (..., years, periods)."""
    return kwh * price[..., :, None, :]


def _bill(parts: dict[str, Array]) -> Bill:
    """The components in the order in which they are shown, each for every year and bill."""
    span = parts[FIXED].shape[-2:]
    found = {name: parts[name] for name in COMPONENTS if name in parts}
    return Bill({name: np.broadcast_to(each, np.broadcast_shapes(each.shape, span)) for name, each in found.items()})


def _settled_in_money(
    imported: Array, exported: Array, prices: Prices, parts: dict[str, Array], produced: Array | None
) -> Bill:
    """Net metering in money: charges and credits at retail prices, due once a year."""
    net = imported - exported
    amounts = by_period(net, prices.energy).sum(axis=-1)
    if prices.tiers:
        amounts = amounts + _tiers(net, prices)
    if prices.riders:
        parts[RIDERS] = sum_of(_rider(rider, parts, imported) for rider in prices.riders)
    paid = np.zeros((1, 1))
    if prices.minimum is not None:
        paid = minimum_topup(prices.minimum, sum_of(parts.values()))
        parts[MINIMUM] = paid
    parts[SETTLED] = yearly_settlement(amounts, paid, prices.true_up_month)
    if prices.riders:
        shares = [rider for rider in prices.riders if rider.share is not None]
        parts[RIDERS] = parts[RIDERS] + sum_of(_rider(each, {ENERGY: parts[SETTLED]}, imported) for each in shares)
    if prices.taxes:
        parts[TAXES] = _taxes({**parts, ENERGY: parts[SETTLED]}, prices)
    return _bill(parts | _production(produced, prices))


def _production(produced: Array | None, prices: Prices) -> dict[str, Array]:
    if produced is None or prices.production is None:
        return {}
    return {PRODUCTION: -produced * prices.production[..., :, None]}


def _tiers(billed: Array, prices: Prices) -> Array:
    def of_one(tier: TierPrices) -> Array:
        # Where money is settled, a month may have fed in more than it drew: that fills no step.
        parts = in_blocks(np.maximum(billed[..., tier.of].sum(axis=-1), 0.0), tier.ends)
        return np.asarray((parts * tier.adds[..., :, None, :]).sum(axis=-1) * tier.billed)

    return sum_of(of_one(tier) for tier in prices.tiers)


def _taxes(parts: dict[str, Array], prices: Prices) -> Array:
    """Taxes on parts of the bill; they do not tax one another."""
    return sum_of(tax.share[..., :, None] * sum_of(parts[on] for on in tax.on if on in parts) for tax in prices.taxes)


def sum_of(amounts: Iterable[Array]) -> Array:
    """Amounts of money together; zero where there are none."""
    return np.asarray(sum(amounts, start=np.zeros((1, 1))))


def _rider(rider: RiderPrices, parts: dict[str, Array], billed: Array) -> Array:
    if rider.per_kwh is not None:
        amount = billed.sum(axis=-1) * rider.per_kwh[..., :, None]
    else:
        assert rider.share is not None  # the schema lets pass no rider without either
        amount = rider.share[..., :, None] * sum_of(parts[on] for on in rider.on if on in parts)
    return np.asarray(amount * rider.billed)


def net_metering(imported: Array, exported: Array, true_up_month: int) -> tuple[Array, Array]:
    """A bank of kWh for each price period.

    imported, exported : kWh (..., years, 12, periods); true_up_month : 0 to 11. Returns the kWh billed,
    (..., years, 12, periods), and the kWh left and paid out at each true-up, (..., years, 12).
    """
    shape = np.broadcast_shapes(imported.shape, exported.shape)
    months = shape[-3] * 12
    closes = closing(months, true_up_month)
    drawn, fed = (np.broadcast_to(flow, shape).reshape(*shape[:-3], months, shape[-1]) for flow in (imported, exported))
    billed, left = np.zeros(drawn.shape), np.zeros(drawn.shape[:-1])
    bank = np.zeros((*shape[:-3], shape[-1]))
    for month in range(months):
        balance = drawn[..., month, :] - fed[..., month, :] - bank
        billed[..., month, :] = np.maximum(balance, 0.0)
        bank = np.maximum(-balance, 0.0)
        if closes[month]:
            left[..., month] = bank.sum(axis=-1)
            bank = np.zeros(bank.shape)
    return billed.reshape(shape), left.reshape(shape[:-1])
