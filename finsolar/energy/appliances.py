"""A load made of appliances: what each draws, how long it runs, and what of it is on backup."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.clock import Clock
from finsolar.energy.load import hourly_load
from finsolar.energy.weather import DAYS_IN_MONTH

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Appliance:
    """One kind of appliance in the house.

    ``watts`` drawn while running, by each of ``count`` of them; ``starting_watts`` while one starts, left out if no
    more than ``watts``. It runs ``hours_a_day``, and in those draws its watts for the share ``duty`` of the time (a
    refrigerator: 24 hours, 0.35). ``between`` are the hours of the wall clock, 0 to 23, over which that use is spread
    evenly, left out for the whole day; ``months``, 0 for January to 11, those in which it runs, left out for
    all. ``on_backup`` is the share of them, 0 to 1, that keeps running without the grid. Raises ValueError for
    anything that cannot be.
    """

    name: str
    watts: float
    hours_a_day: float = 24.0
    duty: float = 1.0
    starting_watts: float | None = None
    between: tuple[int, ...] | None = None
    months: tuple[int, ...] | None = None
    on_backup: float = 0.0
    count: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what no appliance can do."""
        hours = len(self.between_hours)
        for fine, what in (
            (0 <= self.watts < np.inf and 0 <= self.count < np.inf, "watts and count are zero or more"),
            (0 <= self.duty <= 1 and 0 <= self.on_backup <= 1, "duty and on_backup are shares, 0 to 1"),
            (self.starting >= self.watts, "starting_watts are no less than watts"),
            (self.between_hours <= frozenset(range(24)) and hours > 0, "between needs hours from 0 to 23"),
            (self.in_months <= frozenset(range(12)) and self.in_months, "months need numbers from 0 to 11"),
            (0 <= self.hours_a_day <= hours, f"hours_a_day are at least 0 and at most {hours}, its hours of the day"),
        ):
            if not fine:
                raise ValueError(f"{self.name}: {what}")

    @property
    def starting(self) -> float:
        """Watts while one of them starts."""
        return self.watts if self.starting_watts is None else self.starting_watts

    @property
    def between_hours(self) -> frozenset[int]:
        """The hours of the day in which it may run."""
        return frozenset(range(24) if self.between is None else self.between)

    @property
    def in_months(self) -> frozenset[int]:
        """The months in which it runs."""
        return frozenset(range(12) if self.months is None else self.months)

    @property
    def kwh_a_day(self) -> float:
        """Energy of all of them on a day of their season: watts x hours x duty x count / 1000."""
        return self.watts * self.hours_a_day * self.duty * self.count / 1000.0


def daily_kwh(appliances: Iterable[Appliance], month: int | None = None) -> float:
    """Return what the appliances use in a day, kWh: those of that ``month`` (0-11), or all of them together."""
    return sum(each.kwh_a_day for each in appliances if month is None or month in each.in_months)


def appliance_load(appliances: Iterable[Appliance], clock: Clock, backup: bool = False) -> Array:
    """Return the hours of the appliances, (8760,) kWh; with ``backup`` only the share that is on backup.

    Each adds up to its `Appliance.kwh_a_day` times the days of its months, exactly. The sum is smooth, as the
    mean of many days is: use it for energy, and `backup_watts` for the size of an inverter.
    """
    load = np.zeros(len(clock.hour))
    for each in appliances:
        seasonal = np.isin(np.arange(12), list(each.in_months))
        share = each.on_backup if backup else 1.0
        weights = [float(hour in each.between_hours) for hour in range(24)]
        load = load + hourly_load(share * each.kwh_a_day * DAYS_IN_MONTH * seasonal, weights, clock)
    return load


def backup_watts(appliances: Iterable[Appliance]) -> tuple[float, float]:
    """Return what an inverter must carry: all that is on backup running, and the same while the worst of it starts.

    Running watts are the sum of watts x count x on_backup. On top of them comes the largest single start, for
    never two start at once: (running, running + max(starting_watts - watts)); common practice, no source. No
    appliance on backup gives zeros.
    """
    kept = [each for each in appliances if each.on_backup > 0 and each.count > 0]
    running = sum(each.watts * each.count * each.on_backup for each in kept)
    return running, running + max((each.starting - each.watts for each in kept), default=0.0)
