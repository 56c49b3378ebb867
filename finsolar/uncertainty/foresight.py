"""How near an alternative's operation comes to the cheapest first year that perfect foresight could have made of it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from finsolar.energy.bound import cheapest_year
from finsolar.energy.house import battery_when_new
from finsolar.results import Result, Study
from finsolar.tariff.bills import ENERGY, EXPORT
from finsolar.tariff.hours import period_of_hours
from finsolar.tariff.prices import prices


@dataclass(frozen=True)
class Foresight:
    """The first year of an alternative against the bound that no operation can beat; money.

    ``cost`` is what import costs less what export earns, ``least`` the same with every hour known beforehand and the
    battery free to charge from the grid and to sell; ``saving`` the first year's saving, ``best_saving`` what it would
    be at the bound. All are None where there is no bound, for the reason ``why_not``.
    """

    cost: float | None = None
    least: float | None = None
    saving: float | None = None
    best_saving: float | None = None
    why_not: str | None = None

    @property
    def share(self) -> float | None:
        """The share of the best possible saving that the operation reaches; None where none is to be had."""
        if self.saving is None or self.best_saving is None or self.best_saving <= 0:
            return None
        return self.saving / self.best_saving


def with_foresight(base: Study) -> Study:
    """The study of single values with a bound for each alternative; raises ValueError for a batch."""
    known: dict[tuple[object, ...], float] = {}
    return replace(base, foresight=tuple(_foresight(base, result, known) for result in base.results))


def _foresight(study: Study, result: Result, known: dict[tuple[object, ...], float]) -> Foresight:
    """One alternative; ``known`` holds the bounds found so far, as plans often differ in operation or payment alone."""
    plan, hourly, clock = result.plan, result.position.hourly, study.site.clock
    system, tariff = plan.system, plan.tariff
    if system.battery == "none":
        return Foresight(why_not="there is no battery to run better")
    if system.operation == "off grid" or tariff is None:
        return Foresight(why_not="the bound is made for a house on the grid")
    if tariff.export.scheme == "net metering":
        return Foresight(why_not="a bank of kWh is not linear in the energy of each hour")
    if tariff.hourly_prices is not None or tariff.riders or tariff.taxes:
        return Foresight(why_not="the bound knows the prices of periods alone, not hourly ones, riders or taxes")
    if tariff.export.credits_pay == "energy":
        return Foresight(why_not="credits that pay for energy alone are not linear in the energy of each hour")
    if tariff.tiers or tariff.demand or np.any(np.asarray(tariff.minimum_bill) > 0):
        return Foresight(why_not="tiers, demand charges and minimum bills are not linear in the energy of each hour")
    asked = prices(tariff, 1)
    period = period_of_hours(tariff, clock, study.settled.place)
    buy = asked.energy[0, period]
    sell = 0.0 * buy + (asked.export[0, period] if tariff.export.scheme == "net billing" else 0.0)
    shared = system.battery.coupling == "dc"
    # What the shared inverter cut off was on offer: a better course might have stored it.
    offered = hourly.solar[0] + (hourly.clipped[0] if shared else 0.0)
    use = hourly.load[0] + hourly.idle[0]
    export_allowed, limit = tariff.export.scheme != "none", system.inverter.kw if shared else None
    # Sums made in another order part in their last digits, which makes no other house.
    series = tuple(np.round(each, 9).tobytes() for each in (offered, use, buy, sell))
    key = (*series, repr(system.battery), export_allowed, limit)
    if key not in known:
        known[key] = cheapest_year(
            offered,
            use,
            buy,
            sell,
            battery_when_new(system.battery),
            grid_charging=True,
            battery_export=True,
            export_allowed=export_allowed,
            step_hours=1.0 / clock.per_hour,
            inverter_limit=limit,
        ).cost
    bill = result.position.bill
    cost = float(bill.yearly(ENERGY)[0] + bill.yearly(EXPORT)[0])
    saving = float(result.first_year_saving)
    return Foresight(cost=cost, least=known[key], saving=saving, best_saving=saving + cost - known[key])
