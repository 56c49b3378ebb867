"""The oracle's prices: which period each step belongs to, and what grid and generator ask for.

Years count from 1 and are held in lists from 0; money paid is positive in a bill. The books of a tariff are kept month
by month, in the order in which the months come: its bank and its credits end with its years, and another tariff begins
with none. The peaks of the year before it are known to it, as it would have measured them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from oracle_numbers import DAYS, Rows, central, index

from finsolar.energy.clock import Clock
from finsolar.scenario.schema import Demand, Generator, Place, PricePeriod, Tariff, Tiers
from finsolar.tariff.holidays import holiday_mask

WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def sheets(tariff: Tariff, years: int) -> list[Tariff]:
    """Return the tariff of each year: the last one that has come by then."""
    found = []
    for year in range(1, years + 1):
        holds = tariff
        for change in tariff.later:
            if year >= change.from_year:
                holds = change.tariff
        found.append(holds)
    return found


def priced_weekdays(
    tariff: Tariff | None, place: Place, months: list[int], weekdays: list[int], hours: list[int]
) -> list[int]:
    """Return the weekday by which each step is priced: on a holiday the one that the tariff names."""
    if tariff is None or tariff.holidays is None:
        return weekdays
    clock = Clock(np.array(months), np.array(weekdays), np.array(hours))
    free = holiday_mask(place.country, place.region, clock, tariff.holidays.names or None)
    instead = WEEK.index(tariff.holidays.count_as)
    return [instead if is_free else day for is_free, day in zip(free.tolist(), weekdays, strict=True)]


def _holds(what: PricePeriod | Demand, month: int, weekday: int, hour: int) -> bool:
    return (
        (what.months is None or month in what.months)
        and (what.days is None or weekday in what.days)
        and (what.hours is None or hour in what.hours)
    )


def periods(tariff: Tariff | None, months: list[int], weekdays: list[int], hours: list[int]) -> list[int]:
    """Return the price period of each step: the one that names it, else the one that takes the rest."""
    found = []
    for month, weekday, hour in zip(months, weekdays, hours, strict=True):
        rest, named = [], []
        for place, period in enumerate([] if tariff is None else tariff.energy):
            if period.months is None and period.days is None and period.hours is None:
                rest.append(place)
            elif _holds(period, month, weekday, hour):
                named.append(place)
        assert tariff is None or len(named) == 1 or (not named and len(rest) == 1)
        found.append((named or rest or [0])[0])
    return found


def peaks(
    tariff: Tariff, drawn: list[float], step_hours: float, months: list[int], weekdays: list[int], hours: list[int]
) -> Rows:
    """Return the highest mean power of each month, kW, for each demand window of a year's steps."""
    found = [[0.0] * len(tariff.demand) for _ in range(12)]
    for place, window in enumerate(tariff.demand):
        together = max(1, round(window.minutes / 60 / step_hours))
        for first in range(0, len(drawn), together):
            steps = range(first, first + together)
            if all(_holds(window, months[step], weekdays[step], hours[step]) for step in steps):
                power = sum(drawn[step] for step in steps) / (together * step_hours)
                found[months[first]][place] = max(found[months[first]][place], power)
    return found


def grid_bill(
    by_year: list[Tariff],
    bought: list[Rows],
    sold: list[Rows],
    made: Rows,
    highest: list[Rows],
    array_kw: float,
    spot: list[Rows] | None = None,
    begins: int = 0,
    before: dict[int, Rows] | None = None,
) -> dict[str, Rows]:
    """Return what the grid asks by component, year and month; what it pays is negative.

    ``by_year`` the tariff of each year, ``highest`` kW by year, month and demand window, ``spot`` what
    import and export come to at today's hourly prices, by year and month. Months stand in the order of the calendar and
    come in that which starts with ``begins``, 0 to 11. ``before`` holds, for each year counted from 0 in which a tariff
    takes over, kW by month and demand window of the year before it.
    """
    years = len(by_year)
    order = [(begins + k) % 12 for k in range(12)]
    bill: dict[str, Rows] = {}
    for year, sheet in enumerate(by_year):
        if year == 0 or by_year[year - 1] is not sheet:
            books = _Books(sheet, years, array_kw, [0.0] * len(sheet.energy), [[] for _ in sheet.demand])
            for month in order if before is not None else []:
                for window, kw in zip(books.seen, before[year][month], strict=True):
                    window.append(kw)
        ends = year == years - 1 or by_year[year + 1] is not sheet
        for month in order:
            last = ends and month == order[-1]
            drawn, fed = bought[year][month], sold[year][month]
            worth = [0.0, 0.0] if spot is None else spot[year][month]
            lines = books.month(year, month, drawn, fed, made[year][month], highest[year][month], worth, last)
            for name, amount in lines.items():
                bill.setdefault(name, [[0.0] * 12 for _ in range(years)])[year][month] = amount
    return bill


@dataclass
class _Books:
    """What a tariff remembers from month to month.

    ``bank`` kWh by price period, ``seen`` the peaks of each demand window so far, ``credits`` money not yet used,
    ``open`` what the energy since the last true-up comes to, less the minimums paid.
    """

    sheet: Tariff
    years: int
    array_kw: float
    bank: list[float]
    seen: Rows
    credits: float = 0.0
    open: float = 0.0
    rises: dict[str, list[float]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Work out the price indices of the whole study."""
        said = self.sheet
        ways = {
            "energy": said.rise,
            "fixed": said.fixed_rise,
            "export": said.export_rise,
            "demand": said.demand_rise,
        }
        self.rises = {name: index(said.rise if way is None else way, self.years) for name, way in ways.items()}

    def month(
        self,
        year: int,
        month: int,
        drawn: list[float],
        fed: list[float],
        made: float,
        highest: list[float],
        spot: list[float],
        last: bool,
    ) -> dict[str, float]:
        """Return the lines of one month, year counted from 0; ``last`` where the tariff ends with it."""
        said, export = self.sheet, self.sheet.export
        dearer, longer = self.rises["energy"][year], self.rises["fixed"][year]
        true_up = last or month == (11 if export.true_up_month is None else export.true_up_month[0])
        in_money = export.scheme == "net metering" and export.bank == "money"
        standing = central(said.monthly_charge) + central(said.daily_charge) * DAYS[month]
        lines = {"fixed charge": (standing + central(said.charge_per_kw) * self.array_kw) * longer}
        if said.demand:
            lines["demand"] = self._demand(year, highest)
        billed, credit, paid_out = list(drawn), 0.0, 0.0
        if export.scheme == "net metering" and not in_money:
            for place, kwh in enumerate(drawn):
                balance = kwh - fed[place] - self.bank[place]
                billed[place], self.bank[place] = max(balance, 0.0), max(-balance, 0.0)
            if true_up:
                left = 0.0 if export.surplus_price is None else central(export.surplus_price)
                paid_out = sum(self.bank) * left * self.rises["export"][year]
                self.bank = [0.0] * len(self.bank)
        if export.scheme == "net billing":
            credit = sum(kwh * price for kwh, price in zip(fed, self._paid(), strict=True)) * self.rises["export"][year]
        asked = [central(period.price) * dearer for period in said.energy]
        energy = sum(kwh * price for kwh, price in zip(billed, asked, strict=True))
        stepped = [kwh - out for kwh, out in zip(drawn, fed, strict=True)] if in_money else billed
        steps = sum(self._tiers(tiers, month, stepped) for tiers in said.tiers) * dearer
        if in_money:
            return self._in_money(
                month,
                lines,
                energy + steps - sum(kwh * price for kwh, price in zip(fed, asked, strict=True)),
                sum(drawn) * dearer,
                central(said.minimum_bill) * longer,
                true_up,
            ) | self._production(year, made)
        taken = lines | {"energy": energy}
        if said.hourly_prices is not None:
            taken["hourly prices"] = spot[0] * dearer
            if export.scheme == "net billing":
                credit += spot[1] * central(said.hourly_prices.export_share) * self.rises["export"][year]
        if said.tiers:
            taken["tiers"] = steps
        if export.scheme == "net billing" and export.credits_pay == "energy":
            # Only what earns can be banked; what an hourly price below zero takes is paid.
            owed = max(energy + taken.get("hourly prices", 0.0) + steps, 0.0)
            used, paid_out = self._credit_used(owed, max(credit, 0.0), true_up)
            credit = min(credit, 0.0) + used
        if said.riders:
            taken["riders"] = self._riders(month, sum(billed) * dearer, taken)
        least = central(said.minimum_bill) * longer
        if central(said.minimum_bill) > 0:
            taken["minimum"] = max(least - (sum(taken.values()) - credit), 0.0)
        if said.taxes:
            taken["taxes"] = self._taxes(taken)
        if export.scheme != "none":
            taken["export credit"] = -credit - paid_out
        return taken | self._production(year, made)

    def _in_money(
        self, month: int, lines: dict[str, float], energy: float, risen_kwh: float, least: float, true_up: bool
    ) -> dict[str, float]:
        """Return the lines of a month whose energy waits for the true-up.

        What lifted a month to the minimum is paid towards it; a share of energy is one of what is due then.
        """
        taken = dict(lines)
        if self.sheet.riders:
            taken["riders"] = self._riders(month, risen_kwh, lines)
        if central(self.sheet.minimum_bill) > 0:
            taken["minimum"] = max(least - sum(taken.values()), 0.0)
        self.open += energy - taken.get("minimum", 0.0)
        due = max(self.open, 0.0) if true_up else 0.0
        self.open = 0.0 if true_up else self.open
        if self.sheet.riders:
            taken["riders"] += self._riders(month, 0.0, {"energy": due})
        if self.sheet.taxes:
            taken["taxes"] = self._taxes(taken | {"energy": due})
        return taken | {"true-up": due}

    def _taxes(self, parts: dict[str, float]) -> float:
        """Return what the taxes take of the parts they name, or of all."""
        return sum(
            central(tax.share) * sum(amount for name, amount in parts.items() if tax.on is None or name in tax.on)
            for tax in self.sheet.taxes
        )

    def _production(self, year: int, made: float) -> dict[str, float]:
        """Return what is paid for what was made, where anything is."""
        said = self.sheet
        if central(said.production_price) <= 0:
            return {}
        pays = said.production_years is None or year < said.production_years
        return {"production payment": -made * central(said.production_price) if pays else 0.0}

    def _paid(self) -> list[float]:
        """Return what a kWh fed in earns today in each price period."""
        price = self.sheet.export.price
        if not isinstance(price, list):
            return [central(price) for _ in self.sheet.energy]
        return [next(central(one.price) for one in price if one.period == each.name) for each in self.sheet.energy]

    def _demand(self, year: int, highest: list[float]) -> float:
        """Return what the windows' peaks cost, or what earlier ones still command."""
        cost = 0.0
        for window, kw, before in zip(self.sheet.demand, highest, self.seen, strict=True):
            kept = window.ratchet * max([0.0, *before[-window.ratchet_months :]])
            cost += max(kw, kept) * central(window.price) * self.rises["demand"][year]
            before.append(kw)
        return cost

    def _tiers(self, tiers: Tiers, month: int, billed: list[float]) -> float:
        """Return today's money for the steps that the kWh of a month fill, one after another."""
        if tiers.months is not None and month not in tiers.months:
            return 0.0
        names = [period.name for period in self.sheet.energy]
        total = sum(kwh for kwh, name in zip(billed, names, strict=True) if tiers.of is None or name in tiers.of)
        money, begins = 0.0, 0.0
        for step in tiers.steps:
            ends = math.inf
            if step.up_to is not None:
                ends = step.up_to * (DAYS[month] if tiers.per == "day" else 1)
            elif step.of_baseline is not None:
                allowed = next(line for line in tiers.baseline if line.months is None or month in line.months)
                ends = step.of_baseline * allowed.kwh_a_day * DAYS[month]
            money += max(min(total, ends) - begins, 0.0) * central(step.adds)
            begins = ends
        return money

    def _credit_used(self, owed: float, earned: float, true_up: bool) -> tuple[float, float]:
        """Return the credits that pay for energy, and what is paid of the rest at the true-up."""
        self.credits += earned
        used = min(self.credits, max(owed, 0.0))
        self.credits -= used
        if not true_up:
            return used, 0.0
        left, self.credits = self.credits, 0.0
        return used, left * central(self.sheet.export.pay_out)

    def _riders(self, month: int, risen_kwh: float, parts: dict[str, float]) -> float:
        """Return what surcharges add, or discounts take off; ``risen_kwh`` are kWh times the rise of prices."""
        money = 0.0
        for rider in self.sheet.riders:
            if rider.months is not None and month not in rider.months:
                continue
            if rider.per_kwh is not None:
                money += central(rider.per_kwh) * risen_kwh
            else:
                base = sum(amount for name, amount in parts.items() if rider.on is None or name in rider.on)
                money += central(rider.share) * base
        return money


def litres(engine: Generator | None, made: Rows, hours: Rows) -> Rows:
    """Return the fuel burnt: a part for each kWh, a part for each hour and rated kW."""
    if engine is None:
        return [[0.0] * 12 for _ in made]
    by_kwh, by_hour = central(engine.litres_per_kwh), central(engine.idle_litres_per_kw) * engine.kw
    return [
        [by_kwh * kwh + by_hour * run for kwh, run in zip(*rows, strict=True)] for rows in zip(made, hours, strict=True)
    ]


def generator_bill(engine: Generator, litres: Rows, hours: Rows, inflation: Any) -> dict[str, Rows]:
    """Return what the generator costs: its rise is the fuel's, while wear rises with inflation."""
    rises, wear_rises = index(engine.rise, len(litres)), index(inflation, len(litres))
    fuel, wear = central(engine.fuel_price), central(engine.upkeep_per_hour)
    return {
        "generator fuel": [[amount * fuel * rise for amount in row] for row, rise in zip(litres, rises, strict=True)],
        "generator upkeep": [[run * wear * rise for run in row] for row, rise in zip(hours, wear_rises, strict=True)],
    }
