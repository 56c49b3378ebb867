"""The battery's greedy rule: store every surplus, cover every deficit, within window and power limits.

With n = solar less use, one step is

    n >= 0:  charge    = min(n, charge limit, (ceiling - s) / charge efficiency)
    n <  0:  discharge = min(-n, discharge limit, max(0, s - floor) discharge efficiency)
    s -> s + charge efficiency x charge - discharge / discharge efficiency

Charge and discharge are measured on the house's side. In terms of the stored energy each step is a clamp,

    s -> min(max(s + a, floor), ceiling)

and a chain of clamps is again one clamp, s -> min(max(s + total, LOW), HIGH), where LOW and HIGH are where
the chain leads from the empty and from the full battery. So each year is cut into blocks; all blocks are
walked at once from both ends of the window, which turns each block into one clamp; these few clamps are
chained; and with every block's start known, all blocks are walked at once again, now for good.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

BLOCK = 120  # steps walked together; 73 such blocks fill 8,760 hours, which balances the two short loops


@dataclass(frozen=True, eq=False)
class Battery:
    """A battery as the house sees it.

    `capacity` (..., years) usable kWh; `reserve` the share of it kept for an outage; `charge_kw`,
    `discharge_kw` the limits on the house's side; efficiencies one way, shares; `start` the state of charge
    at the outset as a share of the first year's capacity, None for the reserve. All but `capacity` are floats
    or arrays that broadcast against (..., years), so one value per case is written (cases, 1).
    """

    capacity: Array
    reserve: ArrayLike
    charge_kw: ArrayLike
    discharge_kw: ArrayLike
    charge_efficiency: ArrayLike
    discharge_efficiency: ArrayLike
    start: ArrayLike | None = None


@dataclass(frozen=True, eq=False)
class Store:
    """What the battery did.

    `charge` and `discharge` kWh on the house's side and `stored` kWh at the end of each step, all
    (..., years, steps); `start` kWh stored when each year begins, (..., years), clipped to that year's
    window.
    """

    charge: Array
    discharge: Array
    stored: Array
    start: Array


def split_evenly(round_trip: ArrayLike) -> Array:
    """Return the one-way efficiency, equal both ways, of a round-trip efficiency: its square root."""
    return np.sqrt(np.asarray(round_trip, dtype=np.float64))


def store(
    net: Array,
    floor: ArrayLike,
    ceiling: ArrayLike,
    charge_kw: ArrayLike,
    discharge_kw: ArrayLike,
    charge_efficiency: ArrayLike,
    discharge_efficiency: ArrayLike,
    start: ArrayLike,
    step_hours: float = 1.0,
) -> Store:
    """Run the greedy rule over years that follow one another.

    `net` (..., years, steps) kWh, solar less load and idle draw; `floor` and `ceiling` (..., years) kWh
    stored; limits in kW on the house's side and one-way efficiencies in (0, 1], each broadcast against
    (..., years); `start` kWh stored at the very beginning, a float or (..., 1); `step_hours` the length of a
    step. A year starts with what the year before left, clipped to its own window: what an aged battery can no
    longer hold is lost; a new one takes over the old one's charge, raised to its own floor where that is higher.
    Returns a `Store`. The rule is in the head of this module.
    """
    limits = (floor, ceiling, charge_kw, discharge_kw, charge_efficiency, discharge_efficiency)
    years = np.broadcast_shapes(net.shape[:-1], np.shape(start), *(np.shape(limit) for limit in limits))
    low, high, most_in, most_out, gain, loss = (
        np.broadcast_to(limit, years).astype(np.float64)[..., None] for limit in limits
    )
    # Fresh memory costs more than the arithmetic: one block for all three is large enough for large pages,
    # and its parts serve twice: `stored` first holds the wished change, `moved` ends as the discharge. Steps
    # without change fill up the last block.
    steps = net.shape[-1]
    room = np.empty((3, *years, -(-steps // BLOCK) * BLOCK))
    room[0, ..., steps:] = 0.0
    stored, moved, charge = room[..., :steps]
    np.clip(net, 0.0, most_in * step_hours, out=stored)
    stored *= gain
    np.clip(net, -most_out * step_hours, 0.0, out=moved)
    moved /= loss
    stored += moved
    begin = np.broadcast_to(np.asarray(start, dtype=np.float64), years)[..., 0]
    started = _chain_of_clamps(room[0], room[1], low, high, begin)

    np.subtract(stored[..., 1:], stored[..., :-1], out=moved[..., 1:])
    np.subtract(stored[..., 0], started, out=moved[..., 0])
    # Besides giving each direction its own array, the net bounds both: rounding in the differences must not
    # turn an idle step, or a step that takes the whole net, into a trace beyond it.
    np.divide(moved, gain, out=charge)
    np.minimum(charge, net, out=charge)
    np.maximum(charge, 0.0, out=charge)
    moved *= loss
    np.maximum(moved, net, out=moved)
    np.minimum(moved, 0.0, out=moved)
    discharge = np.negative(moved, out=moved)
    return Store(charge=charge, discharge=discharge, stored=stored, start=started)


def _chain_of_clamps(change: Array, scratch: Array, low: Array, high: Array, start: Array) -> Array:
    """Turn the change of each step into the stored energy after it, in place.

    Returns the stored energy at the start of each year, (..., years).
    `change` and `scratch` (..., years, blocks of steps), `low` and `high` (..., years, 1), `start` (...).
    """
    *years, steps = change.shape
    blocks = steps // BLOCK
    by_block = np.moveaxis(change.reshape(*years, blocks, BLOCK), -1, 0)
    walk = scratch.reshape(BLOCK, *years, blocks)  # steps first, so that each step of all blocks lies together
    walk[...] = by_block

    # From both ends of the window through every block at once.
    total = by_block.sum(axis=0)
    floor, ceiling = (np.broadcast_to(end, total.shape).copy() for end in (low, high))  # contiguous: twice as fast
    ends = np.stack([floor, ceiling])
    for step in walk:
        _clamp(ends, step, floor, ceiling)

    # Through the blocks of each year, all years at once; then through the years.
    block_total, block_ends = np.moveaxis(total, -1, 0), np.moveaxis(ends, -1, 0)
    year_total = np.zeros((blocks + 1, *years))
    year_ends = np.empty((blocks + 1, 2, *years))
    year_ends[0] = low[..., 0], high[..., 0]
    for block in range(blocks):
        year_total[block + 1] = year_total[block] + block_total[block]
        year_ends[block + 1] = year_ends[block]
        _clamp(year_ends[block + 1], block_total[block], *block_ends[block])
    began = np.empty(years)
    stored = start
    for year in range(years[-1]):
        began[..., year] = stored
        empty, full = year_ends[-1, ..., year]
        stored = np.minimum(np.maximum(stored + year_total[-1, ..., year], empty), full)
    np.clip(began, *year_ends[0], out=began)

    # Every block now knows its start; one more walk leaves the stored energy where the change was.
    begin = np.clip(began + year_total[:-1], year_ends[:-1, 0], year_ends[:-1, 1])
    before = np.ascontiguousarray(np.moveaxis(begin, 0, -1))
    for step in walk:
        step += before
        np.maximum(step, floor, out=step)
        np.minimum(step, ceiling, out=step)
        before = step
    by_block[...] = walk
    return began


def _clamp(ends: Array, change: Array, low: Array, high: Array) -> None:
    """Move both ends of the window through one step, in place."""
    ends += change
    np.maximum(ends, low, out=ends)
    np.minimum(ends, high, out=ends)
