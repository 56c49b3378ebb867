"""What a kWh costs: of the whole system, of the sun without its battery, and of backup while the grid is down."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.backup import Backup
from finsolar.energy.flows import Flows
from finsolar.incentives.facts import Award
from finsolar.money.cashflow import INVESTMENT, RUNNING, CashFlow
from finsolar.money.costs import PricedLine, Upkeep, from_year_1, in_year, total
from finsolar.money.metrics import LevelisedCost, levelised_costs, present_value
from finsolar.scenario.numbers import per_case
from finsolar.scenario.rises import growth
from finsolar.scenario.schema import Alternative, Rebate

Array = NDArray[np.float64]

_HOURS = 8760.0

BATTERY = "battery"
"""The category of cost and upkeep lines and of rebates that the sun alone would do without."""

_FOR_ENERGY_MADE = frozenset({"performance payment", "metered certificates"})
"""Awards that are paid for what the sun makes, to which a battery adds nothing."""

_NO_KWH = "no kWh to be drawn while the grid is down are stated (household.backup_kwh)"
_NO_GRID = "the house has no grid today that could be down"
PAYS_WITHOUT = "it pays with no worth set on backup; what backup costs is seen beside an alternative without it"
_NOTHING_CARRIES = "no battery carries the house while the grid is down"
NO_OUTAGES = "no outages are to be expected"
LEAVES_THE_GRID = "it leaves the grid, so no outage is counted for it; what finds no source is told with its energy"


def cost_of_energy(
    cash: CashFlow, kwh: Array, rate: ArrayLike, inflation: ArrayLike, apart: ArrayLike = 0.0
) -> LevelisedCost:
    """What energy costs per kWh: outlay less awards, replacements and what it costs to run, over energy.

    kwh : (..., years); rate : nominal discount rate (...); inflation : (...); apart : money (..., years + 1), costs of
    the system that are left out. A loan stays out, and so does what staying would have cost; what is paid for a system
    of others counts whole. Returns `LevelisedCost`, NaN where there is no energy.
    """
    costs = cash.lines["investment avoided"] - cash.of_kind(INVESTMENT)
    costs = costs - sum(cash.lines[name] for name in RUNNING if name in cash.lines)
    return levelised_costs(costs - np.asarray(apart), from_year_1(kwh), rate, inflation)


def battery_costs(
    *,
    costs: Sequence[PricedLine],
    rebates: Sequence[Rebate],
    awards: Sequence[Award],
    later: Upkeep,
    comes_back: Array,
    property_tax: Array,
    there: Array,
) -> Array:
    """What of a system's money is its battery's, (..., years + 1), positive as a cost.

    costs, rebates, awards : all of them; later : what comes back of the battery's own upkeep lines; comes_back : what
    is left of its own cost lines, or was sold, by year (..., years + 1); property_tax : of the whole system, positive
    (..., years + 1); there : 1.0 in the years with the system, year 0 first (years + 1,). A rebate that names a
    category is for its lines alone, an award falls on the lines it was counted on (`Award.spread`); what is for the
    whole falls on the battery by its share of the cost, but for what is paid for energy made.
    """
    share = share_of_the_battery(costs)
    years = there.shape[-1] - 1
    price = _of_the_battery(costs)
    for rebate in rebates:
        on_it = share if rebate.category is None else np.asarray(float(rebate.category == BATTERY))
        price = price - per_case(rebate.amount) * on_it
    net = in_year(price, 0, years)
    for award in awards:
        net = net - (award.amounts + award.tax) * _share_of_award(award, costs, share)[..., None]
    net = net + later.upkeep + later.insurance + later.replacements - later.residual
    return np.asarray((net + property_tax * share[..., None]) * there - comes_back)


def share_of_the_battery(costs: Sequence[PricedLine]) -> Array:
    """The battery's share (...) of what it costs to build, tax and allowance included; zero where that is nothing."""
    whole = total(costs)
    return np.divide(_of_the_battery(costs), whole, out=np.zeros(whole.shape), where=whole > 0)


def _of_the_battery(costs: Sequence[PricedLine]) -> Array:
    return total([line for line in costs if line.category == BATTERY])


def _share_of_award(award: Award, costs: Sequence[PricedLine], share: Array) -> Array:
    if award.spread is not None:
        shares = (part for part, line in zip(award.spread, costs, strict=True) if line.category == BATTERY)
        return np.asarray(sum(shares, start=np.zeros(())))
    return np.zeros(()) if award.kind in _FOR_ENERGY_MADE else share


def sun_kwh(flows: Flows, standby_kw: ArrayLike) -> Array:
    """What the sun gave by year (..., years), kWh, less the inverter's own draw, before a battery takes its part.

    standby_kw : what of the idle draw, around the clock, is the battery's (...). Without a battery the result is
    `energy.flows.useful_kwh`. The hours are those of the system as it is: none is run again without its battery.
    """
    given = (flows.solar - flows.curtailed - flows.idle).sum(axis=-1)
    return np.asarray(np.maximum(given + _HOURS * np.asarray(standby_kw)[..., None], 0.0))


def backup_given(
    kwh: ArrayLike | None, plan: Alternative, connected: bool, there: Array, carried: Backup | None = None
) -> tuple[Array, str | None]:
    """What a system gives by year while the grid is down, kWh (..., years), or zeros and the reason.

    kwh : drawn in a year, a number or (cases, 1), None if not stated; connected : whether the house has a grid today;
    there : 1.0 in the years with the system (years,). Beside a grid only a battery carries on: the sun's inverter goes
    out with the grid, and a generator stands still. Off the grid a generator runs. carried : what is
    carried of the outages to expect, which holds where the household states nothing itself.
    """
    nothing = np.zeros(there.shape)
    if kwh is None and carried is not None:
        why = _NOTHING_CARRIES if np.any(carried.year.hours) else NO_OUTAGES
        return carried.kwh, None if np.any(carried.kwh) else why
    if kwh is None or not np.any(kwh):
        return nothing, _NO_KWH
    if not connected:
        return nothing, _NO_GRID
    runs = plan.system.operation == "off grid" and plan.generator is not None
    if plan.system.battery == "none" and not runs:
        return nothing, _NOTHING_CARRIES
    return per_case(kwh)[..., None] * there, None


def backup_cost(npv: Array, kwh: Array, rate: ArrayLike, inflation: ArrayLike) -> Array:
    """The worth of a kWh of backup, in today's money, at which the NPV would be zero.

    npv : money (...), without any worth of backup; kwh : (..., years); rate : nominal discount rate (...); inflation :
    (...). Returns money per kWh (...), NaN where the NPV is above zero or there are no kWh.
    Equation: `level_worth` with a price that is today's in year 1 and rises with inflation.
    """
    return level_worth(npv, kwh * growth(np.asarray(inflation)[..., None], kwh.shape[-1]), rate)


def level_worth(npv: Array, amounts: Array, rate: ArrayLike) -> Array:
    """The worth of one of the ``amounts`` (..., years), each counted by its price index, at which an NPV would be zero.

    npv : money (...), without any worth of backup; rate : nominal discount rate (...). Returns today's money (...), NaN
    where the NPV is above zero or there is no amount.
    Equation: p with npv + sum of amounts_k p / (1 + rate)^k = 0.
    """
    amount = present_value(from_year_1(amounts), rate)
    told = (amount > 0) & (npv <= 0)
    return np.where(told, -npv / np.where(amount > 0, amount, 1.0), np.nan)
