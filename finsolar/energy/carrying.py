"""The outages that a house is to expect, and how each alternative carries them, before any money is counted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel

from finsolar.energy.backup import Carrying, Outages
from finsolar.energy.balance import Hourly
from finsolar.energy.house import Run, Site
from finsolar.energy.interruptions import Curve, Kind, Wanted, curve, lengths, starts_of, wanted
from finsolar.energy.outage_record import KINDS, record_of
from finsolar.energy.without_grid import Supplied, carried_load, lasting, nothing_lasts, own_way, worn_way
from finsolar.scenario.numbers import per_case
from finsolar.scenario.schema import Alternative, Outage, Scenario, Storms

Array = NDArray[np.float64]
ModelT = TypeVar("ModelT", bound=BaseModel)

NO_GRID = "the house has no grid today that could fail"


def no_record(country: str) -> str:
    """Why nothing is known of the outages of a country."""
    return f"no record of outages of {country} is on hand; say household.outage.usual"


@dataclass(frozen=True, eq=False)
class Planned:
    """An alternative as settled, and its steps."""

    plan: Alternative
    run: Run


@dataclass(frozen=True, eq=False)
class AsItIs:
    """A house on what supplies it today."""

    hourly: Hourly


@dataclass(frozen=True, eq=False)
class Begun:
    """A house of which the hours are run and nothing else; those of many cases have these in front."""

    settled: Scenario
    site: Site
    stay: Supplied
    results: Sequence[Planned]

    @property
    def many(self) -> bool:
        """Whether its hours differ from case to case."""
        return any(run.hourly.stored.ndim > 2 for run in self._runs) or self.stay.hourly.load.ndim > 2

    @property
    def _runs(self) -> list[Run]:
        return [each.run for each in self.results]

    def cases(self) -> list[Begun]:
        """Each case by itself; the house as it is where its hours are those of one."""
        if not self.many:
            return [self]
        every = [self.stay.hourly.load, *(run.hourly.stored for run in self._runs)]
        return [self._case(k) for k in range(max(len(each) for each in every if each.ndim > 2))]

    def _case(self, k: int) -> Begun:
        brightness = np.asarray(self.site.brightness)
        site = replace(self.site, brightness=brightness if brightness.ndim < 2 else _row(brightness, 2, k))
        results = [Planned(_settled_case(each.plan, k), _run_of(each.run, k)) for each in self.results]
        stay = AsItIs(_hourly_of(self.stay.hourly, k))
        return Begun(_settled_case(self.settled, k), site, stay, results)


def _row(array: Array, dimensions: int, k: int) -> Array:
    """Case ``k`` of an array that has one more dimension where cases differ."""
    if array.ndim < dimensions:
        return array
    return np.asarray(array[k if len(array) > 1 else 0])


def _hourly_of(hourly: Hourly, k: int) -> Hourly:
    return Hourly(**{name: _row(each, 2 if name == "start" else 3, k) for name, each in vars(hourly).items()})


def _run_of(run: Run, k: int) -> Run:
    rest: dict[str, Any] = {name: _row(each, 2, k) for name, each in vars(run).items() if name != "hourly"}
    return Run(hourly=_hourly_of(run.hourly, k), **rest)


def _settled_case(model: ModelT, k: int) -> ModelT:
    """Case ``k`` of what was settled for many: each column (cases, 1) as its number, others (cases, m) as a row."""
    changes = {}
    for name in type(model).model_fields:
        value = getattr(model, name)
        new = _value_of_case(value, k)
        if new is not value:
            changes[name] = new
    return model.model_copy(update=changes) if changes else model


def _value_of_case(value: Any, k: int) -> Any:
    if isinstance(value, np.ndarray) and value.ndim == 2:
        row = value[k if len(value) > 1 else 0]
        return float(row[0]) if row.size == 1 else row
    if isinstance(value, BaseModel):
        return _settled_case(value, k)
    if isinstance(value, list):
        new = [_value_of_case(each, k) for each in value]
        return new if any(a is not b for a, b in zip(new, value, strict=True)) else value
    return value


def kinds_of(outage: Outage) -> tuple[Kind, ...]:
    """The kinds of outages of a settled scenario that are known."""
    found = []
    for name in KINDS:
        one = getattr(outage, name)
        if one is not None:
            months = one.months if isinstance(one, Storms) else None
            times, hours = per_case(one.times_a_year), per_case(one.hours_each)
            found.append(Kind(name, times, hours, float(one.spread), months))
    return tuple(found)


def why_none(scenario: Scenario) -> str | None:
    """Why no outages can be expected of a house with a block of them, None where some are."""
    outage = scenario.household.outage or Outage()
    if scenario.tariff is None:
        return NO_GRID
    if outage.usual is not None or outage.storms is not None:
        return None
    return None if record_of(scenario.place.country) else no_record(scenario.place.country)


def outages_of(house: Begun, known: Outages | None = None) -> Outages | None:
    """The outages of a house, None without a block of them, without a grid, or where nothing is known of them.

    ``known`` : of the same house, of which what is wanted is taken over.
    """
    outage = house.settled.household.outage
    if outage is None or house.settled.tariff is None:
        return None
    kinds = kinds_of(outage)
    if not kinds:
        return None
    want = _wanted(house, kinds) if known is None else known.wanted
    return Outages(tuple(lengths(kind, of.ends) for kind, of in zip(kinds, want, strict=True)), want)


def _wanted(house: Begun, kinds: Sequence[Kind]) -> tuple[Wanted, ...]:
    longest = float((house.settled.household.outage or Outage()).longest_hours)
    cases = [[wanted(_load_kw(one), _counts(kind, one), longest) for kind in kinds] for one in house.cases()]
    if not house.many:
        return tuple(cases[0])
    return tuple(
        Wanted(each[0].ends, np.stack([one.kw for one in each]), np.stack([one.later for one in each]))
        for each in zip(*cases, strict=True)
    )


def carrying_of(house: Begun, outages: Outages) -> tuple[Carrying | None, ...]:
    """How each alternative carries the outages, None where nothing in it does."""
    cases = [_carrying_of(one, outages) for one in house.cases()]
    return cases[0] if not house.many else tuple(_side_by_side(each) for each in zip(*cases, strict=True))


def _carrying_of(house: Begun, outages: Outages) -> tuple[Carrying | None, ...]:
    outage = house.settled.household.outage or Outage()
    kinds = [each.kind for each in outages.lengths]
    wants = _wanted(house, kinds) if outages.wanted[0].kw.ndim > 1 else outages.wanted
    known: dict[tuple[object, ...], Carrying] = {}
    found: list[Carrying | None] = []
    for i, planned in enumerate(house.results):
        plan, run = planned.plan, planned.run
        if nothing_lasts(plan, outage) is not None:
            found.append(None)
            continue
        # Alternatives often differ in payment alone.
        arrays = (run.hourly.stored, run.capacity, run.renewed)
        same = (repr(plan.system), repr(plan.generator), *(np.asarray(each).tobytes() for each in arrays))
        if same not in known:
            known[same] = _carrying(house, i, kinds, wants)
        found.append(known[same])
    return tuple(found)


def _side_by_side(cases: Sequence[Carrying | None]) -> Carrying | None:
    """One alternative in many cases as one, with the cases in front."""
    known = [each for each in cases if each is not None]
    if not known:
        return None

    def stacked(curves: Sequence[Curve]) -> Curve:
        bins = max(each.share.size for each in curves)
        rows = [[np.pad(row, (0, bins - row.size)) for row in (each.share, each.hours)] for each in curves]
        share, hours = (np.stack(each) for each in zip(*rows, strict=True))
        return Curve(share, hours, np.stack([each.kw for each in curves]))

    return Carrying(
        tuple(stacked(each) for each in zip(*(one.new for one in known), strict=True)),
        tuple(stacked(each) for each in zip(*(one.worn for one in known), strict=True)),
        np.stack([one.new_kwh for one in known]),
        np.stack([one.worn_kwh for one in known]),
    )


def _carrying(house: Begun, i: int, kinds: Sequence[Kind], wants: Sequence[Wanted]) -> Carrying:
    plan, clock = house.results[i].plan, house.site.clock
    new = own_way(house, i, carried_load(house))
    worn = new if plan.system.battery == "none" else worn_way(house, i, new)
    ways = [new] if worn is new else [new, worn]
    hours = lasting(house, plan, ways, np.arange(0, len(clock.hour), clock.per_hour))
    load = _load_kw(house)

    def curves(lasts: Array) -> tuple[Curve, ...]:
        pairs = zip(kinds, wants, strict=True)
        return tuple(curve(lasts, load, _counts(kind, house), want) for kind, want in pairs)

    return Carrying(curves(hours[0]), curves(hours[-1]), np.array(new.capacity), np.array(worn.capacity))


def _load_kw(house: Begun) -> Array:
    """What is carried in each hour of the first year, kW (8760,)."""
    kwh = carried_load(house).kwh
    return np.asarray(kwh.reshape(-1, house.site.clock.per_hour).sum(axis=-1))


def _counts(kind: Kind, house: Begun) -> Array:
    clock = house.site.clock
    return starts_of(kind.months, clock.month[:: clock.per_hour])
