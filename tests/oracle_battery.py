"""The oracle's battery: what it takes and gives in a step, how it ages, and what its household tells it to do.

Energies are kWh on the house's side; only what is stored counts inside the battery.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from oracle_numbers import central, due
from oracle_sun import Setting

from finsolar.scenario.schema import Alternative, Battery, Fade, Tariff, TimeShift

TRACE = 1e-10
"""kWh that are rounding."""


Step = tuple[float, float, float, float]
"""What a step did: all that was charged, what of it was bought, what was discharged, what a generator made."""


@dataclass
class Cell:
    """A battery on the wall.

    ``hours`` the length of a step; ``full`` kWh that it can hold this year, ``stored`` what it does; ``levels`` the
    shares at which a generator starts and stops charging, ``running`` whether that is on; ``age`` in years and
    kWh ``delivered`` of this battery; ``by_year`` kWh delivered in each year by whichever hung there.
    """

    said: Battery
    hours: float
    inverter_kw: float
    levels: tuple[float, float] | None = None
    full: float = 0.0
    stored: float = 0.0
    running: bool = False
    age: int = 0
    delivered: float = 0.0
    by_year: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        """Work out the limits of a step."""
        said = self.said
        each_way = math.sqrt(said.round_trip)
        self.way_in = _first_told(said.charge_efficiency, each_way)
        self.way_out = _first_told(said.discharge_efficiency, each_way)
        self.most_in = _first_told(said.charge_kw, said.kw) * self.hours
        self.most_out = _first_told(said.discharge_kw, said.kw) * self.hours
        self.from_grid = min(self.most_in, self.inverter_kw * self.hours if said.coupling == "dc" else math.inf)
        self.stored = said.reserve * said.kwh

    def left(self) -> float:
        """Return the share of the first capacity that is left."""
        fade = self.said.fade
        if not isinstance(fade, Fade):
            return max(1 - fade * self.age, 0.0)
        by_age = fade.ten_years * (self.age / 10 if fade.law == "linear" else math.sqrt(self.age / 10))
        return max(1 - by_age - fade.thousand_cycles * self.delivered / self.said.kwh / 1000, 0.0)

    def begin_year(self) -> None:
        """Let go what an aged battery cannot hold any more, and lift what a new one keeps for an outage."""
        self.full = self.said.kwh * self.left()
        self.floor = self.said.reserve * self.full
        self.stored = min(max(self.stored, self.floor), self.full)

    def end_year(self, delivered: float) -> None:
        """Grow a year older, and so many kWh more worn."""
        self.age += 1
        self.delivered += delivered
        self.by_year.append(delivered)

    def renew(self) -> None:
        """Put a new battery into its place, which takes over the charge."""
        self.age, self.delivered = 0, 0.0

    def greedy(self, surplus: float, deficit: float) -> Step:
        """Store every surplus, cover every deficit."""
        if surplus > 0:
            return self._take(min(surplus, self.most_in), self.full), 0.0, 0.0, 0.0
        if self.stored <= self.floor:
            return 0.0, 0.0, 0.0, 0.0
        return 0.0, 0.0, self._give(deficit, self.floor), 0.0

    def told(self, surplus: float, deficit: float, keep: float, target: float) -> Step:
        """Keep a share back, and charge from the grid up to a target."""
        given = self._give(deficit, max(keep, target, self.said.reserve) * self.full)
        from_sun = self._take(min(surplus, self.most_in), self.full)
        bought = self._take(min(self.most_in - from_sun, self.from_grid), target * self.full)
        return from_sun + bought, bought, given, 0.0

    def with_generator(self, surplus: float, deficit: float, beyond: float, most_made: float) -> Step:
        """Work beside a generator that charges; what is ``beyond`` the inverter only the generator can give."""
        assert self.levels is not None
        start, stop = self.levels
        alone = min(deficit, self.most_out, max(self.stored - self.floor, 0.0) * self.way_out)
        empty = self.stored <= start * self.full + TRACE
        self.running = self.running or empty or deficit + beyond - alone >= TRACE
        if not self.running:
            return self.greedy(surplus, deficit)
        served = min(deficit + beyond, most_made)
        from_sun = self._take(min(surplus, self.most_in), self.full)
        bought = self._take(min(self.most_in - from_sun, self.from_grid, most_made - served), stop * self.full)
        given = self._give(min(deficit, deficit + beyond - served), self.floor)
        self.running = self.stored < stop * self.full - TRACE
        return from_sun + bought, bought, given, served + bought

    def _take(self, offer: float, up_to: float) -> float:
        taken = min(offer, max(up_to - self.stored, 0.0) / self.way_in)
        self.stored += taken * self.way_in
        return taken

    def _give(self, asked: float, down_to: float) -> float:
        given = min(asked, self.most_out, max(self.stored - down_to, 0.0) * self.way_out)
        self.stored -= given / self.way_out
        return given


def _first_told(*values: float | None) -> float:
    return next(float(value) for value in values if value is not None)


def warranty(battery: Battery, delivered: list[float], renewed: list[int]) -> dict[str, float | str | None] | None:
    """Return when the first battery's warranty ends and by what; use is even within a year.

    ``delivered`` kWh by year, ``renewed`` the years at whose end another battery takes over.
    """
    if battery.warranty is None:
        return None
    years, words = float(battery.warranty.years), "age"
    if battery.warranty.mwh is not None:
        most, before = battery.warranty.mwh * 1000, 0.0
        for year, kwh in enumerate(delivered[: min([*renewed, len(delivered)])]):
            if before + kwh >= most:
                reached = year + (most - before) / kwh
                if reached < years:
                    years, words = reached, "throughput"
                break
            before += kwh
        if words == "age" and years > len(delivered):
            return {"years": None, "ended_by": None}
    return {"years": years, "ended_by": words}


@dataclass
class Orders:
    """Shares of the capacity, by step: what is kept back, and up to where the grid charges."""

    keep: list[float]
    target: list[float]


def orders_of(setting: Setting, plan: Alternative, periods: list[int]) -> Orders | None:
    """Return what the battery is told beside a grid; nothing where it takes and gives all it can.

    ``periods`` the price period of each step.
    """
    system, battery = plan.system, plan.system.battery
    if system.operation == "backup only":
        full = [1.0] * len(periods)
        return Orders(full, full)
    if system.operation != "time shift":
        return None
    assert plan.tariff is not None and battery != "none"
    shift = system.time_shift or TimeShift()
    dear, cheap = _dear_and_cheap(plan.tariff, shift, periods)
    need = _need_ahead(setting, plan, battery, dear, cheap)
    orders = Orders([], [])
    for kwh, is_dear, is_cheap in zip(need, dear, cheap, strict=True):
        share = battery.reserve + kwh / battery.kwh if kwh > 0 else 0.0
        kept = share if shift.keep is None else shift.keep
        aim = share if shift.charge_to is None else shift.charge_to
        orders.keep.append(0.0 if is_dear else kept)
        orders.target.append(aim if is_cheap else 0.0)
    return orders


def _dear_and_cheap(tariff: Tariff, shift: TimeShift, periods: list[int]) -> tuple[list[bool], list[bool]]:
    names = [period.name for period in tariff.energy]
    asked = [central(tariff.energy[place].price) for place in periods]
    mean = sum(asked) / len(asked)
    cheap = [names[place] in shift.cheap for place in periods]
    if shift.dear is None:
        dear = [price > mean + 1e-12 and not low for price, low in zip(asked, cheap, strict=True)]
    else:
        dear = [names[place] in shift.dear for place in periods]
    return dear, cheap


def _need_ahead(
    setting: Setting, plan: Alternative, battery: Battery, dear: list[bool], cheap: list[bool]
) -> list[float]:
    """Return what should be stored at the end of each step for the dear steps of an average week, above the reserve.

    An average week of each month, hour by hour; walked backwards, twice through, so that its end knows of its start.
    Sun fills the gap, or the grid in cheap steps, whichever brings more in that hour.
    """
    system = plan.system
    standing = (system.inverter.idle_watts + battery.standby_watts) / 1000 * setting.hours
    coupled = battery.coupling == "dc"
    most = math.inf if coupled or system.production is not None else system.inverter.kw * setting.hours
    # As the weather's year has it and as the house is today: neither brightness nor growth.
    use = setting.load(1)
    cell = Cell(battery, setting.hours, system.inverter.kw)
    lacks = [[0.0] * 168 for _ in range(12)]
    shines = [[0.0] * 168 for _ in range(12)]
    charges = [[0.0] * 168 for _ in range(12)]
    count = [[0] * 168 for _ in range(12)]
    where = [
        (month, weekday * 24 + hour)
        for month, weekday, hour in zip(setting.months, setting.weekdays, setting.clock, strict=True)
    ]
    offered = setting.offered(system)
    grid_kw = battery.limits[0]
    if coupled:
        grid_kw = min(grid_kw, system.inverter.kw)
    for (month, hour), sun, load, is_dear, is_cheap in zip(where, offered, use, dear, cheap, strict=True):
        asked = load + standing
        if coupled:
            asked = min(asked, system.inverter.kw * setting.hours)
        net = min(sun, most) - asked
        count[month][hour] += 1
        if net > 0:
            shines[month][hour] += min(net, battery.limits[0] * setting.hours)
        elif is_dear:
            lacks[month][hour] -= net / cell.way_out
        if is_cheap:
            charges[month][hour] += grid_kw * setting.hours
    usable = battery.kwh * (1 - battery.reserve)
    after = [[0.0] * 168 for _ in range(12)]
    for month in range(12):
        need = 0.0
        for hour in [*reversed(range(168)), *reversed(range(168))]:
            after[month][hour] = need
            hours_of_this = count[month][hour] * setting.hours
            filled = max(shines[month][hour], charges[month][hour]) * cell.way_in
            wish = need + ((lacks[month][hour] - filled) / hours_of_this if hours_of_this else 0.0)
            need = min(max(wish, 0.0), usable)
    return [after[month][hour] for month, hour in where]


def renewed_by_line(plan: Alternative, years: int) -> set[int]:
    """Return the years at whose end a line of upkeep puts in a new battery, whatever the old one holds."""
    lines = [line for line in plan.upkeep if line.category == "battery" and line.below is None]
    return {year for line in lines for year in due(line, years)}


def falls_below(plan: Alternative, cell: Cell) -> bool:
    """Whether the battery, now a year older, holds less than a line of upkeep asks of it."""
    shares = [line.below for line in plan.upkeep if line.below is not None]
    return bool(shares) and cell.left() < shares[0] - 1e-12
