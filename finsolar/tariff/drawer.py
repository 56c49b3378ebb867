"""The bill in the drawer: past bills worked out again by the tariff of the scenario, before its forecast is believed.

Real days are used here: the weekdays, holidays and clock changes of the bill's own dates. Which hours a bill's kWh
fell into is taken from the meter where its readings cover the bill, else from the average week of the month in the load
of the study; the kWh themselves are the bill's.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.clock import Clock
from finsolar.energy.house import Site
from finsolar.energy.zones import HOUR, on_wall
from finsolar.scenario.schema import PastBill, Scenario, Tariff
from finsolar.tariff.bills import DEMAND, ENERGY, grid_bill
from finsolar.tariff.hours import priced_weekday
from finsolar.tariff.prices import Calendar, prices
from finsolar.tariff.rounding import cents, printed

Array = NDArray[np.float64]

ONE_MONTH = (25, 35)
"""Days of a bill that bears one monthly charge, common practice, no source; any other bears its share by days."""


@dataclass(frozen=True)
class Rebilled:
    """One past bill worked out again: its ``lines`` in whole cents by name, and their sum.

    ``by_meter`` says whether the meter's own hours were used, ``metered_kwh`` what it read in these days.
    """

    bill: PastBill
    days: int
    lines: tuple[tuple[str, Decimal], ...]
    computed: Decimal
    by_meter: bool
    metered_kwh: float | None

    @property
    def difference(self) -> Decimal:
        """What was computed less what was billed."""
        return self.computed - cents(self.bill.amount)


@dataclass(frozen=True)
class Drawer:
    """All past bills, in the order of their days; ``unknown`` names what the bills do not tell."""

    bills: tuple[Rebilled, ...]
    unknown: tuple[str, ...]

    @property
    def billed(self) -> Decimal:
        """All amounts billed."""
        return sum((cents(each.bill.amount) for each in self.bills), Decimal(0))

    @property
    def computed(self) -> Decimal:
        """All amounts worked out again."""
        return sum((each.computed for each in self.bills), Decimal(0))

    @property
    def difference(self) -> Decimal:
        """What was computed in all less what was billed."""
        return self.computed - self.billed

    @property
    def error(self) -> float | None:
        """Total difference over what was billed; None where nothing was billed."""
        return None if not self.billed else float(self.difference / self.billed)


def drawer(scenario: Scenario, site: Site) -> Drawer | None:
    """The past bills of a settled scenario; None where it has none, or no tariff."""
    tariff = scenario.tariff
    bills = sorted(scenario.household.past_bills, key=lambda bill: bill.first_day)
    if not bills or tariff is None:
        return None
    spans = [_Span(bill, scenario, site) for bill in bills]
    days = np.array([span.days for span in spans], dtype=np.float64)
    one = (days >= ONE_MONTH[0]) & (days <= ONE_MONTH[1])
    calendar = Calendar(
        month=np.array([span.month for span in spans]),
        days=days,
        months=np.where(one, 1.0, days * 12 / 365),
        at=np.array([span.at for span in spans]),
    )
    drawn = np.stack([span.by_period(tariff) for span in spans])[None]
    peak = np.stack([span.peaks(tariff) for span in spans])[None]
    # Nothing was fed in: these are the bills of a house without a system, so no scheme of export settles them.
    asked = replace(prices(tariff, 1, 0.0, calendar), scheme="none", in_money=False)
    bill = grid_bill(drawn, np.zeros_like(drawn), asked, peak)
    by_period = drawn[0] * asked.energy[0]
    rebilled = []
    for k, span in enumerate(spans):
        lines: list[tuple[str, float]] = []
        for name, amounts in bill.components.items():
            if name == ENERGY:
                named = zip(asked.periods, by_period[k], strict=True)
                lines += [(f"energy, {period}", float(amount)) for period, amount in named if amount]
            elif amounts[0, k]:
                lines.append((name, float(amounts[0, k])))
        rounded, total = printed(amount for _, amount in lines)
        rebilled.append(
            Rebilled(
                bill=span.bill,
                days=span.days,
                lines=tuple((name, amount) for (name, _), amount in zip(lines, rounded, strict=True)),
                computed=total,
                by_meter=span.metered is not None,
                metered_kwh=None if span.metered is None else float(span.metered.sum()),
            )
        )
    unknown = []
    if tariff.hourly_prices is not None:
        unknown.append("the hourly prices of those days, so their part is left out")
    silent = [span for span in spans if span.bill.kw is None]
    if DEMAND in bill.components and any(span.metered is None for span in silent):
        unknown.append("the demand of bills without kw, which is guessed from average hours and so comes out too low")
    elif DEMAND in bill.components and silent and any(each.minutes < 60 for each in tariff.demand):
        unknown.append("the demand of bills without kw, which is taken from whole hours and so may come out too low")
    if any(np.count_nonzero(peak[0, k]) > 1 for k, span in enumerate(spans) if span.bill.kw is not None):
        unknown.append("in which demand window a bill's kw was metered, so it counts for each of them")
    if DEMAND in bill.components and any(each.ratchet for each in tariff.demand):
        unknown.append("the demand of the months before the first bill, so that a ratchet may come out too low")
    return Drawer(tuple(rebilled), tuple(unknown))


class _Span:
    """The hours of one bill, and how its kWh are spread over them."""

    def __init__(self, bill: PastBill, scenario: Scenario, site: Site) -> None:
        self.bill, self.place = bill, scenario.place
        self.days = (bill.last_day - bill.first_day).days + 1
        zone = ZoneInfo(scenario.place.timezone)
        begin, end = (
            int(datetime.combine(day, time(), zone).astimezone(UTC).timestamp())
            for day in (bill.first_day, bill.last_day + timedelta(days=1))
        )
        utc = np.arange(begin, end, HOUR)
        local, _ = on_wall(utc, zone)
        self.dates = local.astype("datetime64[s]").astype("datetime64[D]")
        self.clock = Clock(
            month=self.dates.astype("datetime64[M]").astype(np.int64) % 12,
            weekday=(self.dates.astype(np.int64) + 3) % 7,  # 1 January 1970 was a Thursday
            hour=local // HOUR % 24,
        )
        months, hours = np.unique(self.dates.astype("datetime64[M]").astype(np.int64), return_counts=True)
        self.at = int(months[hours.argmax()])  # the month in which most of it lies, counted on through the years
        self.month = self.at % 12
        self.metered = self._metered(site, begin, end)
        weights = self._average(site) if self.metered is None else self.metered
        self.kwh = weights * (bill.kwh / weights.sum()) if weights.sum() > 0 else weights + bill.kwh / len(utc)

    def _metered(self, site: Site, begin: int, end: int) -> Array | None:
        """What the meter read in each hour, kWh; None where it does not cover the bill."""
        year = site.usage.metered
        if year is None:
            return None
        per_hour = site.clock.per_hour
        first, last = ((at - year.origin) * per_hour // HOUR for at in (begin, end))
        if first < 0 or last > len(year.read):
            return None
        hours = year.read[first:last].reshape(-1, per_hour).sum(axis=1)
        return None if np.isnan(hours).any() else np.asarray(hours)

    def _average(self, site: Site) -> Array:
        """The load of the study in an average week of the month."""
        clock = site.clock
        key = (clock.month * 7 + clock.weekday) * 24 + clock.hour
        mean = np.bincount(key, site.usage.base, 12 * 7 * 24) / np.maximum(np.bincount(key, minlength=12 * 7 * 24), 1)
        return np.asarray(mean.reshape(12, 7, 24)[self.clock.month, self.clock.weekday, self.clock.hour])

    def by_period(self, tariff: Tariff) -> Array:
        """kWh of each price period, (periods,)."""
        period = tariff.period_grid()[
            self.clock.month, priced_weekday(tariff, self.clock, self.place, self.dates), self.clock.hour
        ]
        return np.asarray(np.bincount(period, self.kwh, len(tariff.energy)), dtype=np.float64)

    def peaks(self, tariff: Tariff) -> Array:
        """The demand of each window, kW (windows,): the bill's own where it states one; none out of season."""
        weekday = priced_weekday(tariff, self.clock, self.place, self.dates)
        found = []
        for each in tariff.demand:
            # A season begins and ends with a bill: the month in which most of it lies decides for the whole.
            inside = each.cells[self.month, weekday, self.clock.hour]
            highest = float(self.kwh[inside].max(initial=0.0))
            found.append(self.bill.kw if self.bill.kw is not None and inside.any() else highest)
        return np.array(found, dtype=np.float64)
