"""A house while the grid is down: what it carries then, what it has to carry it with, and how long that lasts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.appliances import Appliance, appliance_load
from finsolar.energy.balance import Hourly
from finsolar.energy.battery import Battery
from finsolar.energy.endurance import Engine, endurance
from finsolar.energy.house import Run, Site, battery_when_new, offered_by_year, standing_kw
from finsolar.energy.sources import appliances_of, production_of
from finsolar.scenario import schema
from finsolar.scenario.numbers import per_case

Array = NDArray[np.float64]

SHARES = (0.75, 0.5, 0.25)
"""What is left of a load that is not made of appliances, in other ways to have it."""
GIVEN_UP = 3
"""How many of the appliances that use most are given up, one after another."""

NOTHING_CARRIES = "without a battery nothing in the house makes a grid of its own: the modules switch off with the grid"
NOTHING_BUILT = "no system is built that could carry the house"
OFF_GRID = "the house has no grid that could fail; what finds no source is told with its energy"


class Supplied(Protocol):
    """A house on what supplies it today."""

    @property
    def hourly(self) -> Hourly:
        """Its steps."""


@dataclass(frozen=True, eq=False)
class Carried:
    """The load that is carried: ``kwh`` (steps,) of a year, said by ``kind``: appliances, share, steady, all.

    ``without`` holds lesser loads: the names given up, or the share that is left, and its kWh.
    """

    kind: str
    kwh: Array
    without: tuple[tuple[tuple[str, ...] | float, Array], ...]


class Planned(Protocol):
    """An alternative whose hours are run."""

    @property
    def plan(self) -> schema.Alternative:
        """As settled."""

    @property
    def run(self) -> Run:
        """Its steps."""


class House(Protocol):
    """What of a study is asked here: one that is only begun has it too."""

    @property
    def settled(self) -> schema.Scenario:
        """The values used."""

    @property
    def site(self) -> Site:
        """The place and its hours."""

    @property
    def stay(self) -> Supplied:
        """The house as it is."""

    @property
    def results(self) -> Sequence[Planned]:
        """Its alternatives."""


@dataclass(frozen=True, eq=False)
class Way:
    """One way to have the house: what differs from case to case."""

    kind: str
    value: float | tuple[str, ...]
    load: Array
    solar: Array
    stored: Array
    capacity: float
    litres: float


def carried_load(base: House) -> Carried:
    """What the household carries while the grid is down, in the first year."""
    household = base.settled.household
    outage = household.outage or schema.Outage()
    load = base.stay.hourly.load[0]
    step_hours = 1.0 / base.site.clock.per_hour
    if outage.load_kw is not None:
        kwh = np.full(load.shape, outage.load_kw * step_hours)
        return Carried("steady", kwh, tuple((share, share * kwh) for share in SHARES))
    if outage.load_share is not None:
        kwh = outage.load_share * load
        return Carried("share", kwh, tuple((share, share * kwh) for share in SHARES))
    kept = [each for each in listed(household) if each.on_backup > 0 and each.count > 0]
    if not kept:
        return Carried("all", load, tuple((share, share * load) for share in SHARES))
    level = 1.0 if household.load.appliances is None else float(np.ravel(per_case(household.load.level))[0])

    def of(appliances: list[Appliance]) -> Array:
        return level * appliance_load(appliances, base.site.clock, backup=True)

    by_use = sorted(kept, key=lambda each: -float(of([each]).sum()))
    without = [
        (tuple(each.name for each in by_use[:n]), of(by_use[n:])) for n in range(1, min(GIVEN_UP, len(kept) - 1) + 1)
    ]
    return Carried("appliances", of(kept), tuple(without))


def listed(household: schema.Household) -> list[Appliance]:
    """The appliances of a household, in the order of its list."""
    own = None if household.outage is None else household.outage.appliances
    return appliances_of(own or household.load.appliances or [])


def nothing_lasts(plan: schema.Alternative, outage: schema.Outage) -> str | None:
    """Why an alternative carries nothing while the grid is down, None where it does."""
    if plan.system.operation == "off grid":
        return OFF_GRID
    if plan.system.battery != "none" or (plan.generator is not None and outage.fuel_litres > 0):
        return None
    return NOTHING_CARRIES if plan.system.built else NOTHING_BUILT


def lasting(base: House, plan: schema.Alternative, ways: Sequence[Way], first: NDArray[np.int64]) -> Array:
    """How long each way lasts, hours (ways, starts), from the steps ``first`` (starts,) that its charges belong to."""
    clock, system, generator = base.site.clock, plan.system, plan.generator
    outage = base.settled.household.outage or schema.Outage()
    fuel = np.array([way.litres for way in ways])
    engine = None
    if generator is not None:
        engine = Engine(
            np.where(fuel > 0, generator.kw, 0.0),
            fuel,
            float(per_case(generator.litres_per_kwh)),
            float(per_case(generator.idle_litres_per_kw)),
        )
    capacity = np.array([way.capacity for way in ways])
    if system.battery == "none":
        battery = Battery(capacity, 0.0, 0.0, 0.0, 1.0, 1.0)
    else:
        battery = replace(battery_when_new(system.battery), capacity=capacity, reserve=0.0)
    shared = system.battery != "none" and system.battery.coupling == "dc"
    return endurance(
        np.stack([way.solar for way in ways]),
        np.stack([way.load for way in ways]),
        np.stack([way.stored for way in ways]),
        first,
        battery,
        round(outage.longest_hours * clock.per_hour),
        standing_kw(system),
        system.inverter.kw if shared else None,
        engine,
        1.0 / clock.per_hour,
    )


def lasted_by(hours: Array, tenths: int) -> Array:
    """The hours that so many ``tenths`` of the starts last at least, (...); ``hours`` (..., starts)."""
    return np.asarray(np.sort(hours, axis=-1)[..., hours.shape[-1] * (10 - tenths) // 10])


def own_way(base: House, i: int, carried: Carried) -> Way:
    """The house with alternative ``i`` as it is planned, in its first year."""
    result, per_hour = base.results[i], base.site.clock.per_hour
    outage = base.settled.household.outage or schema.Outage()
    litres = float(outage.fuel_litres) if result.plan.generator is not None else 0.0
    if result.plan.system.battery == "none":
        # A generator alone; modules need a grid, which no battery makes for them.
        nothing = np.zeros(len(base.site.clock.hour))
        return Way("", 0.0, carried.kwh, nothing, np.zeros(nothing[::per_hour].shape), 0.0, litres)
    stored = at_starts(result.run.hourly, 0, per_hour)
    return Way("", 0.0, carried.kwh, _offered(base, i)[0], stored, float(result.run.capacity[0]), litres)


def worn_way(base: House, i: int, own: Way) -> Way:
    """The same house in the last year of its first battery, ``value`` counting from 1; ``own`` : in its first year."""
    run, years = base.results[i].run, base.settled.study.years
    last = int(np.argmax(run.renewed)) if run.renewed.any() else years - 1
    return replace(
        own,
        kind="worn",
        value=last + 1.0,
        solar=_offered(base, i)[last],
        stored=at_starts(run.hourly, last, base.site.clock.per_hour),
        capacity=float(run.capacity[last]),
    )


def _offered(base: House, i: int) -> Array:
    """What the system of alternative ``i`` offers in every year, kWh (years, steps)."""
    system, record = base.results[i].plan.system, None
    if system.production is not None:
        record = production_of(base.settled, system.production, f"alternatives.{i}.system.production")
    return offered_by_year(system, base.site, base.settled.study.years, record)[0]


def at_starts(hourly: Hourly, year: int, per_hour: int) -> Array:
    """What the battery holds at the start of each hour of a year (the first is 0), kWh (8760,)."""
    before = np.concatenate([hourly.start[year : year + 1], hourly.stored[year, :-1]])
    return before[::per_hour]
