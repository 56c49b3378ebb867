"""What becomes of each alternative when the grid is down: the load test on paper, and how long it lasts from any hour.

Each outage begins with the charge that the battery has at that hour in its daily running. Then all of it counts: the
reserve was kept for this. Nothing here is money.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.appliances import Appliance, appliance_load
from finsolar.energy.balance import Hourly
from finsolar.energy.battery import Battery
from finsolar.energy.endurance import Engine, endurance
from finsolar.energy.house import battery_when_new, offered_by_year, standing_kw
from finsolar.energy.load_test import Asked, Circuit, Rating, asked, circuits, rating_of
from finsolar.energy.sources import appliances_of, production_of
from finsolar.scenario import schema
from finsolar.scenario.numbers import per_case
from finsolar.study import Result, Study, first_year

Array = NDArray[np.float64]

RESERVES = (0.0, 0.2, 0.5, 1.0)
"""Reserves to compare; the 20 % among them is common practice, no source."""
SIZES = (0.5, 1.5, 2.0)
SHARES = (0.75, 0.5, 0.25)
"""How much of the battery there is, and of a load that is not made of appliances, in other ways to have it."""
GIVEN_UP = 3
"""How many of the appliances that use most are given up, one after another."""


@dataclass(frozen=True, eq=False)
class Carried:
    """The load that is carried: ``kwh`` (steps,) of a year, said by ``kind``: appliances, share, steady, all.

    ``without`` holds lesser loads: the names given up, or the share that is left, and its kWh.
    """

    kind: str
    kwh: Array
    without: tuple[tuple[tuple[str, ...] | float, Array], ...]


@dataclass(frozen=True, eq=False)
class LoadTest:
    """What the appliances on backup ask, of what carries them, circuit by circuit."""

    asked: Asked
    rating: Rating
    circuits: list[Circuit]


@dataclass(frozen=True, eq=False)
class Variant:
    """The same house in another way: ``kind`` and ``value`` say which, ``hours`` (starts,) how long it lasts.

    Kinds: reserve and battery size and fuel, values their amounts; worn, the year of the study; load, the share left;
    without, the names given up; no sun; no generator.
    """

    kind: str
    value: float | tuple[str, ...]
    hours: Array


@dataclass(frozen=True, eq=False)
class Endurance:
    """How long the load is carried, hours (starts,) from each hour of the year, of at most ``longest`` hours.

    ``stored`` (starts,) kWh in the battery then; ``capacity`` kWh; ``limit_kw`` that is carried for long without sun;
    ``litres`` of fuel that are counted on.
    """

    longest: float
    hours: Array
    stored: Array
    capacity: float
    limit_kw: float
    litres: float
    variants: tuple[Variant, ...]


@dataclass(frozen=True, eq=False)
class HouseOutage:
    """One alternative while the grid is down; each part is None for the reason beside it."""

    carried: Carried
    load_test: LoadTest | None
    no_load_test: str | None
    endurance: Endurance | None
    no_endurance: str | None


NO_APPLIANCES = "no appliances are listed, under household.load or household.outage"
NONE_MARKED = "no appliance is marked on_backup"
NOTHING_CARRIES = "without a battery nothing in the house makes a grid of its own: the modules switch off with the grid"
OFF_GRID = "the house has no grid that could fail; what finds no source is told with its energy"


def with_outages(base: Study) -> Study:
    """The study of single values with what becomes of each alternative when the grid is down.

    Raises ValueError for a batch.
    """
    if any(result.appraisal.npv.ndim for result in base.results):
        raise ValueError("a study of many cases has no single answer to an outage")
    known: dict[tuple[object, ...], HouseOutage] = {}
    carried = carried_load(base)
    found = []
    for i, result in enumerate(base.results):
        # Alternatives often differ in payment alone.
        run = result.run
        arrays = (run.hourly.stored[0], run.capacity, run.renewed)
        same = (repr(result.plan.system), repr(result.plan.generator), *(np.asarray(each).tobytes() for each in arrays))
        if same not in known:
            known[same] = _outage(base, i, result, carried)
        found.append(known[same])
    return replace(base, outages=tuple(found))


def carried_load(base: Study) -> Carried:
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


def _outage(base: Study, i: int, result: Result, carried: Carried) -> HouseOutage:
    system, generator = result.plan.system, result.plan.generator
    lines, outage = listed(base.settled.household), base.settled.household.outage or schema.Outage()
    rating = rating_of(system, generator, fuel_ready=outage.fuel_litres > 0)
    test, no_test = None, None
    if not lines:
        no_test = NO_APPLIANCES
    elif not any(each.on_backup > 0 and each.count > 0 for each in lines):
        no_test = NONE_MARKED
    elif rating is None:
        no_test = NOTHING_CARRIES
    else:
        test = LoadTest(asked(lines), rating, circuits(lines, rating))
    why_not = None
    if system.operation == "off grid":
        why_not = OFF_GRID
    elif system.battery == "none" and (generator is None or not outage.fuel_litres):
        why_not = NOTHING_CARRIES
    lasts = None if why_not else _endurance(base, i, result, carried, outage)
    return HouseOutage(carried, test, no_test, lasts, why_not)


@dataclass(frozen=True, eq=False)
class _Way:
    """One way to have the house: what differs from case to case."""

    kind: str
    value: float | tuple[str, ...]
    load: Array
    solar: Array
    stored: Array
    capacity: float
    litres: float


def _endurance(base: Study, i: int, result: Result, carried: Carried, outage: schema.Outage) -> Endurance:
    """How long an alternative lasts from every hour of the year, as it is and in other ways, all in one batch."""
    plan, clock = result.plan, base.site.clock
    system, generator = plan.system, plan.generator
    ways = list(_ways(base, i, result, carried, outage))
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
    hours = endurance(
        np.stack([way.solar for way in ways]),
        np.stack([way.load for way in ways]),
        np.stack([way.stored for way in ways]),
        np.arange(0, len(clock.hour), clock.per_hour),
        battery,
        round(outage.longest_hours * clock.per_hour),
        standing_kw(system),
        system.inverter.kw if shared else None,
        engine,
        1.0 / clock.per_hour,
    )
    return Endurance(
        longest=float(outage.longest_hours),
        hours=hours[0],
        stored=ways[0].stored,
        capacity=ways[0].capacity,
        limit_kw=_limit_kw(system, generator, ways[0].litres),
        litres=ways[0].litres,
        variants=tuple(Variant(way.kind, way.value, hours[k]) for k, way in enumerate(ways) if k),
    )


def _limit_kw(system: schema.System, generator: schema.Generator | None, litres: float) -> float:
    """What battery and generator carry together for long, kW; the battery within the inverter that it shares."""
    rating = rating_of(system, None, fuel_ready=False)
    return (0.0 if rating is None else rating.watts / 1000.0) + (
        float(generator.kw) if generator is not None and litres > 0 else 0.0
    )


def _ways(base: Study, i: int, result: Result, carried: Carried, outage: schema.Outage) -> Iterator[_Way]:
    """The house as it is, first of all, and each other way to have it."""
    plan, years = result.plan, base.settled.study.years
    system = plan.system
    litres = float(outage.fuel_litres) if plan.generator is not None else 0.0
    per_hour = base.site.clock.per_hour
    if system.battery == "none":
        # A generator alone; modules need a grid, which no battery makes for them.
        nothing = np.zeros(len(base.site.clock.hour))
        own = _Way("", 0.0, carried.kwh, nothing, np.zeros(nothing[::per_hour].shape), 0.0, litres)
    else:
        record = None
        if system.production is not None:
            record = production_of(base.settled, system.production, f"alternatives.{i}.system.production")
        offered, _ = offered_by_year(system, base.site, years, record)
        capacity = result.run.capacity[..., 0]
        own = _Way("", 0.0, carried.kwh, offered[0], at_starts(result.run.hourly, 0, per_hour), float(capacity), litres)
    yield own
    if system.battery != "none":
        size, reserve = system.battery.kwh, system.battery.reserve
        for share in RESERVES if system.operation != "backup only" else ():
            if share != reserve:
                run = first_year(base, i, {"reserve": share})
                yield replace(own, kind="reserve", value=share, stored=at_starts(run.hourly, 0, per_hour))
        for times in SIZES:
            run = first_year(base, i, {"kwh": times * size})
            stored = at_starts(run.hourly, 0, per_hour)
            yield replace(own, kind="battery size", value=times * size, stored=stored, capacity=times * size)
        yield replace(own, kind="no sun", solar=np.zeros(own.solar.shape))
        last = int(np.argmax(result.run.renewed)) if result.run.renewed.any() else years - 1
        worn = at_starts(result.run.hourly, last, per_hour)
        yield replace(
            own,
            kind="worn",
            value=last + 1.0,
            solar=offered[last],
            stored=worn,
            capacity=float(result.run.capacity[last]),
        )
    for less, kwh in carried.without:
        yield replace(own, kind="load" if isinstance(less, float) else "without", value=less, load=kwh)
    if litres > 0:
        yield replace(own, kind="fuel", value=2.0 * litres, litres=2.0 * litres)
        if system.battery != "none":
            yield replace(own, kind="no generator", value=0.0, litres=0.0)


def at_starts(hourly: Hourly, year: int, per_hour: int) -> Array:
    """What the battery holds at the start of each hour of a year (the first is 0), kWh (8760,)."""
    before = np.concatenate([hourly.start[year : year + 1], hourly.stored[year, :-1]])
    return before[::per_hour]
