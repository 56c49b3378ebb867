"""What becomes of each alternative when the grid is down: the load test on paper, and how long it lasts from any hour.

Each outage begins with the charge that the battery has at that hour in its daily running. Then all of it counts: the
reserve was kept for this. Nothing here is money.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.load_test import Asked, Circuit, Rating, asked, circuits, rating_of
from finsolar.energy.without_grid import (
    NOTHING_CARRIES,
    Carried,
    Way,
    at_starts,
    carried_load,
    lasting,
    listed,
    nothing_lasts,
    own_way,
    worn_way,
)
from finsolar.results import Result, Study
from finsolar.scenario import schema
from finsolar.study import first_year

Array = NDArray[np.float64]

RESERVES = (0.0, 0.2, 0.5, 1.0)
"""Reserves to compare; the 20 % among them is common practice, no source."""
SIZES = (0.5, 1.5, 2.0)


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
    why_not = nothing_lasts(result.plan, outage)
    lasts = None if why_not else _endurance(base, i, result, carried, outage)
    return HouseOutage(carried, test, no_test, lasts, why_not)


def _endurance(base: Study, i: int, result: Result, carried: Carried, outage: schema.Outage) -> Endurance:
    """How long an alternative lasts from every hour of the year, as it is and in other ways, all in one batch."""
    plan, per_hour = result.plan, base.site.clock.per_hour
    ways = list(_ways(base, i, result, carried))
    hours = lasting(base, plan, ways, np.arange(0, len(base.site.clock.hour), per_hour))
    return Endurance(
        longest=float(outage.longest_hours),
        hours=hours[0],
        stored=ways[0].stored,
        capacity=ways[0].capacity,
        limit_kw=_limit_kw(plan.system, plan.generator, ways[0].litres),
        litres=ways[0].litres,
        variants=tuple(Variant(way.kind, way.value, hours[k]) for k, way in enumerate(ways) if k),
    )


def _limit_kw(system: schema.System, generator: schema.Generator | None, litres: float) -> float:
    """What battery and generator carry together for long, kW; the battery within the inverter that it shares."""
    rating = rating_of(system, None, fuel_ready=False)
    return (0.0 if rating is None else rating.watts / 1000.0) + (
        float(generator.kw) if generator is not None and litres > 0 else 0.0
    )


def _ways(base: Study, i: int, result: Result, carried: Carried) -> Iterator[Way]:
    """The house as it is, first of all, and each other way to have it."""
    system, per_hour = result.plan.system, base.site.clock.per_hour
    own = own_way(base, i, carried)
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
        yield worn_way(base, i, own)
    for less, kwh in carried.without:
        yield replace(own, kind="load" if isinstance(less, float) else "without", value=less, load=kwh)
    if own.litres > 0:
        yield replace(own, kind="fuel", value=2.0 * own.litres, litres=2.0 * own.litres)
        if system.battery != "none":
            yield replace(own, kind="no generator", value=0.0, litres=0.0)
