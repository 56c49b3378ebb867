"""Two rules beyond the greedy one: a battery run by the clock, and a battery beside a generator that charges it.

Energies are kWh on the house's side; only what is stored counts inside the battery. `h` is the length of a step.

By the clock (`scheduled`), one step from s kWh stored:

    floor     = max(keep, reserve, target) x ceiling
    charge    = min(surplus, charge_kw h, (ceiling - s) / charge efficiency)
    fallback  = min(charge_kw h - charge, fallback_kw h,
                    max(target x ceiling - s - charge efficiency x charge, 0) / charge efficiency)
    discharge = min(deficit, discharge_kw h, max(s - floor, 0) x discharge efficiency)
    s        -> s + charge efficiency x (charge + fallback) - discharge / discharge efficiency

Since the floor is never below the target, a step that takes from the fallback discharges nothing.

With a generator (`with_generator`), one step from s kWh stored:

    it is on      if it was on at the end of the step before, or s <= start level x ceiling + trace,
                  or the battery alone would leave a trace or more of the deficit uncovered
    while on      it covers the deficit up to generator_kw h; what it has left charges the battery, after the sun
                  and within charge_kw and fallback_kw, up to stop level x ceiling; the battery, down to its floor,
                  adds what the generator cannot cover; the rest is unserved
    while off     the sun charges and the battery covers the deficit
    it goes off   at the end of a step with s >= stop level x ceiling - trace

It runs, for counting, in the steps in which it delivers more than a trace: while on with nothing to deliver,
because the sun covers all and takes all the battery's charging power or stop level is reached, it stands still.

Neither rule is a chain of clamps, so time is walked step by step, with all years and cases side by side. Years
follow one another all the same: see `_in_turn`. The walk knows only the stored energy, written as clamps, so
that years that meet at a limit meet to the last bit; the flows follow from it, a block of steps at a time.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Columns = NDArray[np.intp]
Walk = Callable[[Columns, slice, Array], Array]

BLOCK = 96  # steps between two looks at whether a repaired year has met its old course; a block fits the cache

TRACE_KWH = 1e-10
"""Energy that is rounding: within it a level is reached; it calls no generator, is no running step and no lack."""


@dataclass(frozen=True, eq=False)
class Scheduled:
    """What a battery run by the clock did.

    `charge` from the surplus, `from_fallback` charged from the grid, `discharge`, kWh on the house's side, and
    `stored` kWh at the end of each step, all (..., years, steps); `start` kWh stored when each year begins,
    (..., years), clipped to that year's window.
    """

    charge: Array
    from_fallback: Array
    discharge: Array
    stored: Array
    start: Array


@dataclass(frozen=True, eq=False)
class Driven:
    """What a battery and its generator did.

    `charge` from sun and generator, `discharge`, `generator` delivered to house and battery, and `unserved`,
    kWh on the house's side; `running` 1.0 in steps in which the generator delivers, else 0.0; `stored` kWh at
    the end of each step, all (..., years, steps); `start` kWh stored when each year begins, (..., years),
    clipped to that year's window. Surplus that is not charged is left to the caller.
    """

    charge: Array
    discharge: Array
    generator: Array
    running: Array
    unserved: Array
    stored: Array
    start: Array


def scheduled(
    surplus: Array,
    deficit: Array,
    keep: ArrayLike,
    target: ArrayLike,
    ceiling: ArrayLike,
    reserve: ArrayLike,
    charge_kw: ArrayLike,
    discharge_kw: ArrayLike,
    fallback_kw: ArrayLike,
    charge_efficiency: ArrayLike,
    discharge_efficiency: ArrayLike,
    start: ArrayLike,
    step_hours: float = 1.0,
) -> Scheduled:
    """Run a battery by the clock over years that follow one another.

    `surplus` and `deficit` (..., years, steps) kWh, not below zero; `keep` (steps,) the share of the capacity
    below which a step does not discharge; `target` (steps,) the share up to which the grid charges in that step,
    0 for not at all, both broadcast and at most 1; `ceiling` usable kWh, `reserve` a share of it, `charge_kw`,
    `discharge_kw` and `fallback_kw` (the most the grid adds) on the house's side, and one-way efficiencies in
    (0, 1], each broadcast against (..., years); `start` kWh stored at the very beginning, a float or (..., 1);
    `step_hours` the length of a step. A year starts with what the year before left, clipped to its own window
    from the reserve to the ceiling. Returns `Scheduled`. The rule is in the head of this module.
    """
    limits = (ceiling, reserve, charge_kw, discharge_kw, fallback_kw, charge_efficiency, discharge_efficiency)
    years, values = _by_column(start, limits, surplus, deficit)
    steps = np.broadcast_shapes(surplus.shape, deficit.shape)[-1]
    aim_share, keep_share = np.broadcast_to(target, steps), np.broadcast_to(keep, steps)
    surplus, deficit = (np.broadcast_to(energy, (*years, steps)) for energy in (surplus, deficit))
    flows = np.empty((4, values[0].size, steps))

    def walk(columns: Columns, block: slice, state: Array) -> Array:
        full, kept, *powers, up, down = (value[columns] for value in values)
        into, out, back = (kw * step_hours for kw in powers)
        sun, need = (_steps_first(energy, columns, block) for energy in (surplus, deficit))
        aim = aim_share[block, None] * full
        floor = np.maximum(np.maximum(keep_share, aim_share)[block, None], kept) * full
        rise = np.minimum(sun, into)
        top_up = np.minimum(into - rise, back) * up  # short of the target the ceiling does not bind the sun
        rise *= up
        fall = np.minimum(need, out)
        fall /= down
        course = np.empty((len(sun) + 1, columns.size))
        course[0] = state[0]
        before, (held, room) = course[0], np.empty((2, columns.size))
        rows = (rise, fall, top_up, aim, floor, course[1:])
        for risen, fallen, topped, aimed, least, after in zip(*rows, strict=True):
            np.subtract(before, fallen, out=held)  # discharge, down to the floor or where it already is
            np.minimum(before, least, out=after)
            np.maximum(held, after, out=held)
            np.subtract(before, held, out=room)  # charge; what is discharged in the same step makes no room
            np.subtract(full, room, out=room)
            np.add(held, risen, out=after)
            np.minimum(after, room, out=after)
            np.maximum(held, after, out=held)
            np.add(held, topped, out=after)  # the fallback, up to the target
            np.minimum(after, aimed, out=after)
            np.maximum(held, after, out=after)
            before = after
        stored = course[:-1]
        charge = np.minimum(np.minimum(sun, into), (full - stored) / up)
        missing = np.maximum(aim - (stored + up * charge), 0.0) / up
        fallback = np.minimum(np.minimum(into - charge, back), missing)
        discharge = np.minimum(np.minimum(need, out), np.maximum(stored - floor, 0.0) * down)
        for flow, part in zip(flows, (charge, fallback, discharge, course[1:]), strict=True):
            flow[columns, block] = part.T
        return course[-1:]

    first = np.broadcast_to(np.asarray(start, dtype=np.float64), years).reshape(1, -1)
    begun = _in_turn(walk, first, values[1] * values[0], values[0], years[-1], steps)
    charge, fallback, discharge, stored = flows.reshape(4, *years, steps)
    return Scheduled(charge, fallback, discharge, stored, start=begun[0].reshape(years))


def with_generator(
    net: Array,
    floor: ArrayLike,
    ceiling: ArrayLike,
    start_level: ArrayLike,
    stop_level: ArrayLike,
    generator_kw: ArrayLike,
    charge_kw: ArrayLike,
    discharge_kw: ArrayLike,
    charge_efficiency: ArrayLike,
    discharge_efficiency: ArrayLike,
    start: ArrayLike,
    step_hours: float = 1.0,
    beyond: Array | None = None,
    fallback_kw: ArrayLike | None = None,
) -> Driven:
    """Run a battery off the grid, with a generator that charges it, over years that follow one another.

    `net` (..., years, steps) kWh, solar less use; `floor` and `ceiling` kWh stored; `start_level` and
    `stop_level` shares of the ceiling, the first not above the second and both at most 1; finite limits in kW on
    the house's side and one-way efficiencies in (0, 1], each broadcast against (..., years); `start` kWh stored at
    the very beginning, a float or (..., 1), with the generator off; `step_hours` the length of a step; `beyond`
    (..., years, steps) kWh of deficit more that the battery cannot serve, only the generator, None for none;
    `fallback_kw` the most that the generator may charge with, None for `charge_kw`. A
    year starts with what the year before left, clipped to its own window, and with the generator on if it was on.
    Returns `Driven`. The rule, and how ties are broken, is in the head of this module.
    """
    most_back = charge_kw if fallback_kw is None else fallback_kw
    limits = (floor, ceiling, start_level, stop_level, generator_kw, charge_kw, discharge_kw, most_back)
    alone = np.zeros(1) if beyond is None else beyond
    years, values = _by_column(start, (*limits, charge_efficiency, discharge_efficiency), net, alone)
    steps = net.shape[-1]
    net, alone = (np.broadcast_to(energy, (*years, steps)) for energy in (net, alone))
    flows = np.empty((6, values[0].size, steps))

    def walk(columns: Columns, block: slice, state: Array) -> Array:
        least, full, starts_at, stops_at, *powers, up, down = (value[columns] for value in values)
        run, into, out, back = (kw * step_hours for kw in powers)
        aim = stops_at * full
        done = aim - TRACE_KWH
        balance, lack = (_steps_first(energy, columns, block) for energy in (net, alone))
        sun, need = np.maximum(balance, 0.0), np.maximum(-balance, 0.0)
        whole = need + lack
        # At or below this the generator is called; a deficit beyond the battery's power calls it at any level.
        calls_at = np.maximum(least + (whole - TRACE_KWH) / down, starts_at * full + TRACE_KWH)
        calls_at[whole - np.minimum(need, out) >= TRACE_KWH] = np.inf
        served = np.minimum(whole, run)
        rise = np.minimum(sun, into)
        # Short of the stop level the ceiling does not bind the sun.
        top_up = np.minimum(np.minimum(into - rise, back), run - served) * up
        rise *= up
        fall = np.minimum(need, out) / down
        fall_on = np.minimum(fall, (whole - served) / down)
        course = np.empty((len(balance) + 1, columns.size))
        ran = np.empty(balance.shape, dtype=np.bool_)
        course[0], on = state[0], state[1] > 0.0
        before, held, called = course[0], np.empty(columns.size), np.empty(columns.size, dtype=np.bool_)
        rows = (calls_at, rise, fall, fall_on, top_up, ran, course[1:])
        for level, risen, fallen, fallen_on, topped, runs, after in zip(*rows, strict=True):
            np.less_equal(before, level, out=called)
            np.logical_or(on, called, out=runs)
            np.copyto(fallen, fallen_on, where=runs)
            np.subtract(before, fallen, out=held)  # discharge, down to the floor
            np.maximum(held, least, out=held)
            np.add(held, risen, out=held)  # the sun, up to the ceiling; it never comes together with a deficit
            np.minimum(held, full, out=after)
            np.multiply(topped, runs, out=held)  # the generator, up to the stop level
            np.add(after, held, out=held)
            np.minimum(held, aim, out=held)
            np.maximum(held, after, out=after)
            np.less(after, done, out=on)
            np.logical_and(runs, on, out=on)
            before = after
        stored = course[:-1]
        charge = np.minimum(np.minimum(sun, into), (full - stored) / up)
        served *= ran
        missing = np.maximum(aim - (stored + up * charge), 0.0) / up
        added = np.minimum(np.minimum(np.minimum(into - charge, back), run - served), missing) * ran
        charge += added
        whole -= served
        discharge = np.minimum(np.minimum(np.minimum(need, out), whole), (stored - least) * down)
        unserved = whole - discharge
        unserved[unserved <= TRACE_KWH] = 0.0
        generator = served + added
        parts = (charge, discharge, generator, generator > TRACE_KWH, unserved, course[1:])
        for flow, part in zip(flows, parts, strict=True):
            flow[columns, block] = part.T
        return np.stack([course[-1], on])

    first = np.broadcast_to(np.asarray(start, dtype=np.float64), years).ravel()
    begun = _in_turn(walk, np.stack([first, np.zeros(first.size)]), values[0], values[1], years[-1], steps)
    charge, discharge, generator, running, unserved, stored = flows.reshape(6, *years, steps)
    return Driven(charge, discharge, generator, running, unserved, stored, start=begun[0].reshape(years))


def _by_column(
    start: ArrayLike, limits: tuple[ArrayLike, ...], *energies: Array
) -> tuple[tuple[int, ...], tuple[Array, ...]]:
    """Return the common shape (..., years) and each limit spread over it, flat: one column per year of each case."""
    years = np.broadcast_shapes(np.shape(start), *map(np.shape, limits), *(energy.shape[:-1] for energy in energies))
    return years, tuple(np.broadcast_to(np.asarray(limit, dtype=np.float64), years).ravel() for limit in limits)


def _steps_first(energy: Array, columns: Columns, block: slice) -> Array:
    """Return a block of steps of some columns as (steps, columns), so that each step of all columns lies together."""
    part = np.ascontiguousarray(np.moveaxis(energy[..., block], -1, 0))
    flat = part.reshape(len(part), -1)
    return flat if columns.size == flat.shape[1] else flat.take(columns, axis=1)


def _in_turn(walk: Walk, first: Array, low: Array, high: Array, years: int, steps: int) -> Array:
    """Walk years side by side that follow one another; return the state in which each begins, as `first`.

    `walk(columns, block, state)` takes some columns through a block of steps, notes their flows and returns
    their state at its end. `first` (states, columns) holds, in its first row, the stored kWh, and in any other
    what else a year hands on; it is the true state at the very beginning and the guess for every later year.
    `low` and `high` (columns,) are the window to which each year clips the stored kWh it takes over.

    All years start from the guess at once. Then each takes over what the year before left; those whose start
    changed are walked again, until they meet their old course to the last bit, from where all is as it was. This
    is exact: after round n the first n years are final. Mostly two or three rounds do, the later ones short.
    """
    blocks = [slice(step, min(step + BLOCK, steps)) for step in range(0, steps, BLOCK)]
    ends = np.full((len(blocks), *first.shape), np.nan)
    starts = first.copy()
    np.clip(starts[0], low, high, out=starts[0])
    behind = np.arange(low.size)
    for _ in range(years):
        columns, state = behind, starts[:, behind]
        for block, end in zip(blocks, ends, strict=True):
            state = walk(columns, block, state)
            apart = (state != end[:, columns]).any(axis=0)
            end[:, columns] = state
            columns, state = columns[apart], state[:, apart]
            if not columns.size:
                break
        taken = starts.copy()
        taken.reshape(-1, years)[:, 1:] = ends[-1].reshape(-1, years)[:, :-1]  # the years of a case lie together
        np.clip(taken[0], low, high, out=taken[0])
        behind = np.flatnonzero((taken != starts).any(axis=0))
        starts = taken
        if not behind.size:
            break
    return starts
