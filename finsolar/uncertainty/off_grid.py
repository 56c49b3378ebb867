"""Living without a grid: days of autonomy, the months, what the generator burns, other sizes, and a line instead.

Nothing here is a second study: months, hours, litres and money are those of the study's own flows and bills; other
sizes are first years run by the same balance, all in one batch. Other sizes of modules and battery leave the inverter
and the battery's power as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.autonomy import WANTED_DAYS, array_for, battery_for, darkest_month, days_of_autonomy, longest_run
from finsolar.energy.balance import Backing, Hourly, run_steps
from finsolar.energy.dispatch import TRACE_KWH
from finsolar.energy.flows import Flows, bin_flows
from finsolar.energy.generator import fuel_litres
from finsolar.energy.house import battery_when_new, offered_by_year, standing_kw
from finsolar.energy.sources import production_of
from finsolar.energy.weather import DAYS_IN_MONTH
from finsolar.money.break_even import where_zero, why_no_zero
from finsolar.results import Result, Study
from finsolar.scenario import schema
from finsolar.scenario.numbers import per_case
from finsolar.scenario.outlay import PRICES
from finsolar.study import backing_of, study
from finsolar.tariff.bills import FUEL, RUNNING

Array = NDArray[np.float64]

TIMES = (0.5, 0.75, 1.0, 1.5, 2.0)
"""Of the planned modules, and of the planned battery."""

_MOST_TIMES = 100.0  # of its price, up to which a line is tried


@dataclass(frozen=True, eq=False)
class Autonomy:
    """How long a full battery carries the house without any sun, and what the darkest month asks for.

    ``month`` : the darkest, 0 for January, by sun beside use; ``usable_kwh`` of the new battery, reserve off, and the
    ``efficiency`` on its way out; ``daily`` and ``days`` : kWh of use a day, the equipment's own draw in it, and days
    of autonomy, of the mean day and of one of the darkest month; ``sun_over_use`` of that month; ``sun_a_kw`` : what
    one kW of modules gives on a day of it, None for a record; ``array_kw`` that would just make its use; ``wanted`` :
    days and the kWh of battery that they ask for in that month, empty without a battery.
    """

    month: int
    usable_kwh: float
    efficiency: float
    daily: tuple[float, float]
    days: tuple[float, float]
    sun_over_use: float
    sun_a_kw: float | None
    array_kw: float | None
    wanted: tuple[tuple[float, float], ...]


@dataclass(frozen=True, eq=False)
class Months:
    """The first year by month, (12,): kWh, hours, litres and money.

    sun + battery + stored_by_generator + generator + unserved = load + own_draw. ``sun`` and ``generator`` go straight
    into the house; what comes through the battery is told apart by who charged it in that month: the sun (``battery``)
    or the generator. ``made_by_generator`` is all it makes. ``fuel`` and ``running`` are those of the bill.
    """

    load: Array
    own_draw: Array
    sun: Array
    battery: Array
    stored_by_generator: Array
    generator: Array
    unserved: Array
    made_by_generator: Array
    hours: Array
    litres: Array
    fuel: Array
    running: Array


@dataclass(frozen=True, eq=False)
class Sizes:
    """First years with other modules and batteries, (modules, batteries) each.

    ``modules`` times the planned ones, ``batteries`` kWh; ``own`` : the place of the plan. ``alone`` : the share of the
    load without supply if no generator ran; with the planned generator, None without one, ``with_generator`` the same,
    its ``hours`` and ``litres``.
    """

    modules: Array
    batteries: Array
    own: tuple[int, int]
    alone: Array
    with_generator: Array | None
    hours: Array | None
    litres: Array | None


@dataclass(frozen=True, eq=False)
class OffGrid:
    """One alternative without a grid.

    ``unserved_share`` of the load by year, ``hours_short`` and ``longest_short`` hours by year, all (years,).
    """

    autonomy: Autonomy | None
    months: Months
    unserved_share: Array
    hours_short: Array
    longest_short: Array
    sizes: Sizes | None


@dataclass(frozen=True, eq=False)
class LineExtension:
    """An alternative that brings the grid to a house without one, against the best way to live without it.

    ``rival`` : the alternative without a grid that is worth most, None for staying as you are; ``behind_by`` : by how
    much the line is worth less, money; ``item`` : its dearest cost line, of those for the interconnection where there
    are some; ``price`` : the amount stated for it, by ``field`` of the cost line, ``quantity`` of it or None;
    ``level_price`` and ``level_quantity`` : those at which both are worth as much, None for the reason ``why_not``.
    """

    rival: str | None
    behind_by: float
    item: str
    field: str
    price: float
    quantity: float | None
    level_price: float | None
    level_quantity: float | None
    why_not: str | None


def with_off_grid(base: Study) -> Study:
    """The study of single values with what it is to live without a grid, and with a line instead.

    Raises ValueError for a batch.
    """
    if any(result.appraisal.npv.ndim for result in base.results):
        raise ValueError("a study of many cases has no single first year")
    known: dict[tuple[object, ...], OffGrid] = {}
    found: list[OffGrid | None] = []
    lines: list[LineExtension | None] = []
    for i, result in enumerate(base.results):
        lines.append(_line(base, i, result))
        if result.plan.system.operation != "off grid":
            found.append(None)
            continue
        # Alternatives often differ in payment alone.
        same = (repr(result.plan.system), repr(result.plan.generator), result.in_service, result.run.capacity.tobytes())
        if same not in known:
            known[same] = _off_grid(base, i, result)
        found.append(known[same])
    return replace(base, off_grid=tuple(found), lines=tuple(lines))


def _off_grid(base: Study, i: int, result: Result) -> OffGrid:
    flows, hourly = result.position.flows, result.run.hourly
    load = flows.load.sum(axis=-1)
    lacking, per_hour = hourly.unserved > TRACE_KWH, base.site.clock.per_hour
    built = result.plan.system.built
    return OffGrid(
        autonomy=_autonomy(result) if built else None,
        months=_months(result),
        unserved_share=np.divide(flows.unserved.sum(axis=-1), load, out=np.zeros_like(load), where=load > 0),
        hours_short=lacking.sum(axis=-1) / per_hour,
        longest_short=longest_run(lacking) / per_hour,
        sizes=_sizes(base, i, result) if built else None,
    )


def _autonomy(result: Result) -> Autonomy:
    system, flows = result.plan.system, result.position.flows
    use = flows.load[0] + flows.idle[0]
    sun = flows.solar[0] + flows.clipped[0]
    month = int(darkest_month(sun, use))
    daily = (float(use.sum()) / float(DAYS_IN_MONTH.sum()), float(use[month] / DAYS_IN_MONTH[month]))
    kwh, depth, efficiency = 0.0, 0.0, 1.0
    if system.battery != "none":
        efficiency = float(np.asarray(battery_when_new(system.battery).discharge_efficiency))
        kwh, depth = float(system.battery.kwh), 1.0 - float(system.battery.reserve)
    size = sum(array.kw for array in system.arrays)
    sun_a_kw = float(sun[month] / DAYS_IN_MONTH[month] / size) if size else None
    wanted = [float(each) for each in battery_for(np.array(WANTED_DAYS), depth, efficiency, daily[1])] if depth else []
    return Autonomy(
        month=month,
        usable_kwh=kwh * depth,
        efficiency=efficiency,
        daily=daily,
        days=tuple(days_of_autonomy(kwh, depth, efficiency, np.array(daily)).tolist()),
        sun_over_use=float(sun[month] / use[month]) if use[month] > 0 else float("nan"),
        sun_a_kw=sun_a_kw,
        array_kw=None if sun_a_kw is None else float(array_for(daily[1], sun_a_kw)),
        wanted=tuple(zip(WANTED_DAYS, wanted, strict=False)),
    )


def _months(result: Result) -> Months:
    flows, bill = result.position.flows, result.position.bill
    nothing = np.zeros(12)
    charge, bought = flows.charge[0], flows.charge_bought[0]
    stored = flows.discharge[0] * np.divide(bought, charge, out=np.zeros(12), where=charge > 0)
    return Months(
        load=flows.load[0],
        own_draw=flows.idle[0],
        sun=straight(flows)[0],
        battery=flows.discharge[0] - stored,
        stored_by_generator=stored,
        generator=flows.generator[0] - bought,
        unserved=flows.unserved[0],
        made_by_generator=flows.generator[0],
        hours=flows.generator_hours[0],
        litres=result.position.litres[0],
        fuel=bill.components[FUEL][0] if FUEL in bill.components else nothing,
        running=bill.components[RUNNING][0] if RUNNING in bill.components else nothing,
    )


def straight(flows: Flows) -> Array:
    """What the sun gives straight to the house, neither stored nor sold nor curtailed, kWh (..., 12)."""
    return np.asarray(flows.self_used - (flows.charge - flows.charge_bought))


def _sizes(base: Study, i: int, result: Result) -> Sizes:
    """First years at all pairs of sizes, without a generator and with the planned one, each in one batch."""
    plan, fixed, clock = result.plan, base.settled, base.site.clock
    modules = np.array(TIMES)
    kwh = 0.0 if plan.system.battery == "none" else float(plan.system.battery.kwh)
    batteries = kwh * np.array(TIMES) if kwh else np.zeros(1)
    offered, clipped = _offered(base, i, plan.system, modules)
    load = base.stay.hourly.load[:1]
    unit, step_hours = len(batteries), 1.0 / clock.per_hour

    def run(backing: Backing) -> Hourly:
        battery, shared = None, None
        if plan.system.battery != "none":
            # Cases: a pair of sizes each, the batteries of one size of modules side by side.
            battery = replace(battery_when_new(plan.system.battery), capacity=np.tile(batteries, len(modules))[:, None])
            shared = plan.system.inverter.kw if plan.system.battery.coupling == "dc" else None
        return run_steps(
            np.repeat(offered, unit, axis=0),
            load,
            backing,
            standing_kw(plan.system),
            battery,
            None,
            shared,
            np.repeat(clipped, unit, axis=0),
            step_hours,
        )

    def summed(backing: Backing) -> Flows:
        return bin_flows(run(backing), clock, np.zeros(len(clock.month), dtype=np.int64), 1)

    shape = (len(modules), unit)
    whole = float(load.sum())

    def share(flows: Flows) -> Array:
        return flows.unserved.sum(axis=(-1, -2)).reshape(shape) / whole if whole else np.zeros(shape)

    alone = share(summed(Backing(grid=False)))
    own = (TIMES.index(1.0), TIMES.index(1.0) if kwh else 0)
    engine = plan.generator
    if engine is None:
        return Sizes(modules, batteries, own, alone, None, None, None)
    driven = summed(backing_of(fixed.alternatives[i]))
    litres = fuel_litres(
        driven.generator,
        driven.generator_hours,
        engine.kw,
        per_case(engine.litres_per_kwh)[..., None, None],
        per_case(engine.idle_litres_per_kw)[..., None, None],
    )
    hours = driven.generator_hours.sum(axis=(-1, -2)).reshape(shape)
    burnt = litres.sum(axis=(-1, -2)).reshape(shape)
    return Sizes(modules, batteries, own, alone, share(driven), hours, burnt)


def _offered(base: Study, i: int, system: schema.System, modules: Array) -> tuple[Array, Array]:
    """What so many times the modules offer in the first year, and what the inverter cuts off, (modules, 1, steps)."""
    record = None
    if system.production is not None:
        record = production_of(base.settled, system.production, f"alternatives.{i}.system.production")
    offered, clipped = [], []
    for times in modules:
        arrays = [array.model_copy(update={"kw": array.kw * times}) for array in system.arrays]
        larger = system.model_copy(update={"arrays": arrays})
        one, cut = offered_by_year(larger, base.site, 1, None if record is None else record * times)
        offered.append(one)
        clipped.append(np.broadcast_to(cut, one.shape))
    return np.stack(offered), np.stack(clipped)


def _line(base: Study, i: int, result: Result) -> LineExtension | None:
    """Where a line draws level with the best way to live without the grid; None of any other alternative."""
    if base.settled.tariff is not None or result.plan.system.operation == "off grid" or not result.costs:
        return None
    others = [one for one in base.results if one.plan.system.operation == "off grid"]
    best = max(others, key=lambda one: float(one.appraisal.npv), default=None)
    if best is not None and float(best.appraisal.npv) < 0.0:
        best = None  # staying as you are is worth more
    aim = 0.0 if best is None else float(best.appraisal.npv)
    # What it costs to be joined, as far as the lines tell; a house may build its modules in the same go.
    k = max(
        range(len(result.costs)),
        key=lambda n: (result.costs[n].category == "interconnection", float(result.costs[n].total)),
    )
    line = base.settled.alternatives[i].costs[k]
    field = next(name for name in PRICES if getattr(line, name) is not None)
    price = float(per_case(getattr(line, field)))
    found = LineExtension(
        rival=None if best is None else best.name,
        behind_by=aim - float(result.appraisal.npv),
        item=line.item,
        field=field,
        price=price,
        quantity=None if line.quantity is None else float(per_case(line.quantity)),
        level_price=None,
        level_quantity=None,
        why_not=None,
    )
    if price == 0:
        return replace(found, why_not=f"“{line.item}” costs nothing, so there is no price to move")

    def ahead(times: Array) -> Array:
        chosen = {f"alternatives.{i}.costs.{k}.{field}": price * times[:, None]}
        cases = study(base.scenario, chosen, reuse=base)
        return np.asarray(np.broadcast_to(cases.results[i].appraisal.npv, times.shape) - aim)

    zero = where_zero(ahead, 0.0, _MOST_TIMES, (1,), pieces=1)
    if np.isnan(zero.at[0]):
        behind = zero.side[0] < 0
        why = f"it stays behind even with “{line.item}” as a gift" if behind else why_no_zero(zero, "lead")
        return replace(found, why_not=why)
    times = float(zero.at[0])
    quantity = None if found.quantity is None else times * found.quantity
    return replace(found, level_price=times * price, level_quantity=quantity)
