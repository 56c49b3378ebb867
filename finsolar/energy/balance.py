"""The balance of the house in every step: sun, load, battery, and what stands behind them.

All energies are kWh on the alternating-current side; `h` is the length of a step. With the sun's energy o, the use
u (load and idle draw) and, where modules and battery share one inverter, its limit L (else no limit):

    direct    = min(o, u, L)
    surplus   = o - direct                     for the battery first, then out as far as L leaves room
    deficit   = min(u, L) - direct             what the battery may give
    lack      = u - direct - discharge         what grid or generator give, the exact difference

A surplus that finds neither battery nor grid is curtailed; what a shared inverter cannot pass is clipped.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.battery import Battery, store
from finsolar.energy.dispatch import TRACE_KWH, scheduled, with_generator
from finsolar.energy.orders import Orders

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Hourly:
    """Every step of the house, (..., years, steps) kWh on the alternating-current side.

    solar + imported + generator + discharge + unserved = load + idle + exported + charge + curtailed, each
    step. `solar` is what the inverter could deliver or the battery took before it; `clipped` was cut off by the
    inverter and is outside the balance; `idle` is the standing draw of inverter and battery; `charge_bought` is the
    part of `charge` that grid or generator gave; `curtailed` is surplus that found no taker; `unserved` is demand
    that found no source. `stored` kWh in the battery at the end of the step, `start` (..., years) kWh stored when
    the year begins.
    """

    solar: Array
    load: Array
    idle: Array
    imported: Array
    exported: Array
    generator: Array
    charge: Array
    charge_bought: Array
    discharge: Array
    curtailed: Array
    unserved: Array
    clipped: Array
    stored: Array
    start: Array

    def years(self, part: slice) -> Hourly:
        """Some years of it."""
        if part == slice(None):
            return self
        steps = {name: hours[..., part, :] for name, hours in vars(self).items() if name != "start"}
        return Hourly(start=self.start[..., part], **steps)


@dataclass(frozen=True, eq=False)
class Backing:
    """What stands behind sun and battery.

    A `grid`, which takes a surplus where `export_allowed`, up to `export_kw`; without a grid a generator of
    `generator_kw`, or nothing. With levels `start_at` and `stop_at`, shares of the battery's capacity, the generator
    charges it; without them it follows the lack. Beside a grid the generator stands still.
    """

    grid: bool = True
    export_allowed: bool = True
    export_kw: float | None = None
    generator_kw: ArrayLike | None = None
    start_at: float | None = None
    stop_at: float = 1.0


def run_steps(
    solar: Array,
    load: Array,
    backing: Backing,
    idle: ArrayLike = 0.0,
    battery: Battery | None = None,
    orders: Orders | None = None,
    shared_kw: ArrayLike | None = None,
    clipped: ArrayLike = 0.0,
    step_hours: float = 1.0,
) -> Hourly:
    """Balance every step; the rule is in the head of this module.

    `solar`, `load` and `clipped` (..., years, steps) kWh, `idle` kW (..., years), all broadcast, so a year that
    repeats may be given once, and one value per case is written (cases, 1). `orders` bind the battery beside a grid;
    without them it takes every surplus and covers every deficit. `shared_kw` is the limit of an inverter that sun and
    battery share: `solar` is then what the modules offer it, and `clipped` must be left at zero. Returns `Hourly`.
    """
    cut, most = (
        np.asarray(clipped, np.float64),
        np.asarray(backing.generator_kw if backing.generator_kw is not None else 0.0, np.float64),
    )
    standing = np.asarray(idle, dtype=np.float64)[..., None] * step_hours
    limit = None if shared_kw is None else np.asarray(shared_kw, dtype=np.float64)[..., None] * step_hours
    energies = (solar, load, standing, cut, most[..., None], *(() if limit is None else (limit,)))
    shape = np.broadcast_shapes(*(energy.shape for energy in energies), _shape(battery))
    net, surplus, lack = np.empty((3, *shape))  # one block: large pages, as in the battery
    direct: Array | None = None
    beyond: Array | None = None
    if limit is None:
        np.subtract(solar, load, out=net)
        net -= standing
    else:
        use = load + standing
        beyond = np.maximum(use - limit, 0.0)  # what a shared inverter cannot carry at all
        direct = np.minimum(np.minimum(solar, use), limit)
        np.subtract(solar, direct, out=net)
        net -= np.minimum(use, limit) - direct  # surplus or deficit: never both
    work = _NO_WORK
    if battery is not None:
        work = _run_battery(net, beyond, battery, backing, orders, shared_kw, step_hours)
        net -= work.from_sun
        net += work.discharge
    np.maximum(net, 0.0, out=surplus)
    np.subtract(surplus, net, out=lack)
    if beyond is not None:
        lack += beyond
    imported, generator, unserved = lack, _NOTHING, _NOTHING
    if backing.grid:
        imported = lack if work.bought is _NOTHING else lack + work.bought
    else:
        lack[lack < TRACE_KWH] = 0.0
        generator = np.minimum(lack, most[..., None] * step_hours) if work.made is None else work.made
        imported, unserved = _NOTHING, lack - generator if work.unserved is None else work.unserved
    if direct is not None and limit is not None:
        # What passes the inverter besides: the sun for the house, and what the battery gives.
        cut = np.maximum(surplus - np.maximum(limit - direct - work.discharge, 0.0), 0.0)
        surplus -= cut
        solar = solar - cut
    exported, curtailed = (surplus, _NOTHING) if backing.grid and backing.export_allowed else (_NOTHING, surplus)
    if exported is surplus and backing.export_kw is not None:
        exported = np.minimum(surplus, backing.export_kw * step_hours)
        curtailed = surplus - exported
    hours = {
        "solar": solar,
        "load": load,
        "idle": standing,
        "imported": imported,
        "exported": exported,
        "generator": generator,
        "charge": work.from_sun if work.bought is _NOTHING else work.from_sun + work.bought,
        "charge_bought": work.bought,
        "discharge": work.discharge,
        "curtailed": curtailed,
        "unserved": unserved,
        "clipped": cut,
        "stored": work.stored,
    }
    start = np.broadcast_to(work.start, shape[:-1])
    return Hourly(start=start, **{name: np.broadcast_to(values, shape) for name, values in hours.items()})


@dataclass(frozen=True, eq=False)
class _Work:
    """What a battery did: `from_sun` and `bought` in, `discharge` out, `stored`.

    A generator that charges `made` what it made and left the rest `unserved`.
    """

    from_sun: Array
    bought: Array
    discharge: Array
    stored: Array
    start: Array
    made: Array | None = None
    unserved: Array | None = None


_NOTHING = np.zeros(1)
_NO_WORK = _Work(_NOTHING, _NOTHING, _NOTHING, _NOTHING, np.zeros(()))


def _run_battery(
    net: Array,
    beyond: Array | None,
    battery: Battery,
    backing: Backing,
    orders: Orders | None,
    shared_kw: ArrayLike | None,
    step_hours: float,
) -> _Work:
    floor = np.multiply(battery.reserve, battery.capacity)
    start = floor if battery.start is None else np.multiply(battery.start, battery.capacity)
    start = start[..., :1]
    efficiencies = (battery.charge_efficiency, battery.discharge_efficiency)
    limits = (battery.charge_kw, battery.discharge_kw)
    # What grid or generator charge passes a shared inverter backwards.
    most = battery.charge_kw if shared_kw is None else np.minimum(battery.charge_kw, shared_kw)
    if backing.grid and orders is not None:
        told = scheduled(
            np.maximum(net, 0.0),
            np.maximum(-net, 0.0),
            orders.keep,
            orders.target,
            battery.capacity,
            battery.reserve,
            *limits,
            most,
            *efficiencies,
            start,
            step_hours,
        )
        return _Work(told.charge, told.from_fallback, told.discharge, told.stored, told.start)
    if not backing.grid and backing.generator_kw is not None and backing.start_at is not None:
        levels = (backing.start_at, backing.stop_at, backing.generator_kw)
        driven = with_generator(
            net, floor, battery.capacity, *levels, *limits, *efficiencies, start, step_hours, beyond, most
        )
        need = np.maximum(-net, 0.0) if beyond is None else np.maximum(-net, 0.0) + beyond
        made = driven.generator * driven.running  # a trace, left by rounding at its stop level, is no running step
        bought = np.maximum(made - (need - driven.discharge - driven.unserved), 0.0)
        return _Work(
            np.maximum(driven.charge - bought, 0.0),
            bought,
            driven.discharge,
            driven.stored,
            driven.start,
            made,
            driven.unserved,
        )
    greedy = store(net, floor, battery.capacity, *limits, *efficiencies, start, step_hours)
    return _Work(greedy.charge, _NOTHING, greedy.discharge, greedy.stored, greedy.start)


def _shape(battery: Battery | None) -> tuple[int, ...]:
    """Return the shape that a battery's numbers take beside the steps, (..., years, 1)."""
    if battery is None:
        return ()
    return (*np.broadcast_shapes(*(np.shape(v) for v in vars(battery).values() if v is not None)), 1)
