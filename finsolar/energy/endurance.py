"""How long a house lasts apart from the grid, from any hour of the year: all starts side by side, hour after hour.

One step, with s kWh stored, is the greedy rule of `finsolar.energy.battery`. Where sun and battery share an inverter, L
is its limit (else there is none); h is the length of a step:

    use   = load + idle                         direct = min(sun, use, L h)
    need  = min(use, L h) - direct              what the battery is asked for
    given = min(need, discharge_kw h)           what it may give, as long as it holds
    short = use - direct - given                what no battery makes up, whatever it holds
    wish  = s + up min(sun - direct, charge_kw h) - given / down
    lack  = max(floor - wish, 0) down + short   and s -> min(max(wish, floor), capacity)

A lack is made up by a generator, within its power and as long as its fuel lasts; it does not charge. The outage is
carried until the first step with a lack that nothing makes up. Of that step the battery still carries the share
1 - lack / need, unless power is what is short. The year is a circle.

Once a battery is full it does not matter when the outage began. So, where no fuel has to be counted, each start is
walked only until it is shed or full, and so is a full battery from each step; the stretches are then put together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.battery import Battery
from finsolar.energy.dispatch import TRACE_KWH
from finsolar.energy.generator import FUEL_PER_KWH, FUEL_PER_RATED_KW, fuel_litres

Array = NDArray[np.float64]
Places = NDArray[np.intp]

_TRACE_LITRES = 1e-9
_NOWHERE = -1


@dataclass(frozen=True, eq=False)
class Engine:
    """A generator that fills what sun and battery leave open.

    ``kw`` and the ``litres`` that lie ready, (...); what it burns as in `fuel_litres`.
    """

    kw: ArrayLike
    litres: ArrayLike
    litres_per_kwh: float = FUEL_PER_KWH
    idle_litres_per_kw: float = FUEL_PER_RATED_KW


def endurance(
    solar: Array,
    load: Array,
    stored: Array,
    first: NDArray[np.int64],
    battery: Battery,
    longest: int,
    idle_kw: ArrayLike = 0.0,
    shared_kw: ArrayLike | None = None,
    engine: Engine | None = None,
    step_hours: float = 1.0,
) -> Array:
    """Return the hours until the first load is shed, (..., starts), at most those of ``longest`` steps.

    ``solar`` that the inverter offers and the ``load`` that is carried, kWh (..., steps); ``stored`` kWh in the battery
    when the outage begins, (..., starts); ``first`` (starts,) the step in which it begins; the numbers of ``battery``
    are (...), its ``reserve`` what is kept even now, 0 where the outage may have all of it; ``idle_kw`` and
    ``shared_kw`` (...), the latter None where sun and battery have inverters of their own. The rule is in the head of
    this module. Raises ValueError for an outage without a step, or one that is longer than the year.
    """
    steps = np.broadcast_shapes(solar.shape, load.shape)[-1]
    if not 1 <= longest <= steps:
        raise ValueError(f"an outage has from 1 step to the {steps} of a year, not {longest}")
    made = engine or Engine(0.0, 0.0)
    numbers = (
        battery.capacity,
        np.multiply(battery.reserve, battery.capacity),
        np.multiply(battery.charge_kw, step_hours),
        np.multiply(battery.discharge_kw, step_hours),
        battery.charge_efficiency,
        battery.discharge_efficiency,
        np.multiply(idle_kw, step_hours),
        np.inf if shared_kw is None else np.multiply(shared_kw, step_hours),
        np.multiply(made.kw, step_hours),
        made.litres,
    )
    shape = np.broadcast_shapes(solar.shape[:-1], load.shape[:-1], stored.shape[:-1], *map(np.shape, numbers))
    full, floor, into, out, up, down, idle, limit, power, fuel = (
        np.broadcast_to(np.asarray(number, dtype=np.float64), shape).reshape(-1, 1) for number in numbers
    )
    sun, use = (np.broadcast_to(kwh, (*shape, steps)).reshape(-1, steps) for kwh in (solar, load))
    use = use + idle
    direct = np.minimum(np.minimum(sun, use), limit)
    need = np.minimum(use, limit) - direct
    given = np.minimum(need, out)
    wish = up * np.minimum(sun - direct, into) - given / down
    house = _House(wish, need, use - direct - given, full, floor, down, power, fuel, made, step_hours)

    starts = first.size
    case = np.repeat(np.arange(full.size), starts)
    begun = np.broadcast_to(stored, (*shape, starts)).reshape(-1)
    lasted, then = house.walk(case, np.tile(first, full.size), begun, longest)
    if (then != _NOWHERE).any():
        lasted += np.where(then == _NOWHERE, 0.0, house.from_full(longest).take(np.maximum(then, 0)))
    return (np.minimum(lasted, longest) * step_hours).reshape(*shape, starts)


@dataclass(frozen=True, eq=False)
class _House:
    """Some cases of a house: (cases, steps) kWh of each step, (cases, 1) numbers, as in the head of this module.

    ``power`` kWh that the generator makes in a step, ``fuel`` litres.
    """

    wish: Array
    need: Array
    short: Array
    full: Array
    floor: Array
    down: Array
    power: Array
    fuel: Array
    made: Engine
    step_hours: float

    def walk(self, case: Places, first: Places, stored: Array, longest: int) -> tuple[Array, Places]:
        """Walk each start until it is shed, or full where no fuel counts, or for ``longest`` steps.

        ``case``, ``first`` and ``stored`` (walks,). Returns the steps carried, and the place (case x steps + step) from
        which a full battery goes on, ``_NOWHERE`` where none does, (walks,) each.
        """
        steps = self.wish.shape[1]
        lasted, then = np.full(case.size, float(longest)), np.full(case.size, _NOWHERE)
        full, floor, down, power, left = (
            number[case, 0] for number in (self.full, self.floor, self.down, self.power, self.fuel)
        )
        burns = left > 0
        any_fuel = bool(burns.any())
        walks, row, at = np.arange(case.size), case * steps, first.copy()
        held = np.clip(stored, floor, full)
        for step in range(longest):
            here = row + at
            held += self.wish.take(here)
            lack = np.maximum(floor - held, 0.0) * down + self.short.take(here)
            np.minimum(np.maximum(held, floor), full, out=held)
            shed = lack > TRACE_KWH
            if any_fuel:
                kw = power / self.step_hours
                litres = fuel_litres(lack, self.step_hours, kw, self.made.litres_per_kwh, self.made.idle_litres_per_kw)
                litres *= shed
                shed &= (lack > power + TRACE_KWH) | (litres > left + _TRACE_LITRES)
                left = left - litres
            at += 1
            at[at == steps] = 0
            if shed.any():
                lasted[walks[shed]] = step + self._share_of_step(here[shed], lack[shed])
            done = shed | ((held >= full) & ~burns)
            if done.any():
                topped = done & ~shed
                lasted[walks[topped]], then[walks[topped]] = step + 1.0, row[topped] + at[topped]
                rest = (walks, row, at, held, full, floor, down, power, left, burns)
                walks, row, at, held, full, floor, down, power, left, burns = (each[~done] for each in rest)
                if not walks.size:
                    break
        return lasted, then

    def _share_of_step(self, here: Places, lack: Array) -> Array:
        """What of the step in which something is shed is still carried."""
        share = 1.0 - lack / np.maximum(self.need.take(here), TRACE_KWH)
        return np.where(self.short.take(here) > TRACE_KWH, 0.0, np.clip(share, 0.0, 1.0))

    def from_full(self, longest: int) -> Array:
        """Return how many steps a full battery carries from each step on, (cases x steps,); right up to ``longest``."""
        steps = self.wish.shape[1]
        places = np.arange(self.wish.size)
        lasted = np.ones(places.size)
        then = places + 1 - steps * (places % steps == steps - 1)  # a full battery stays full
        falls = np.flatnonzero((self.wish < 0) | (self.short > TRACE_KWH))
        case = falls // steps
        lasted[falls], then[falls] = self.walk(case, falls % steps, self.full[case, 0], longest)
        for _ in range(longest.bit_length()):
            onward = then != _NOWHERE
            ahead = np.maximum(then, 0)
            lasted = lasted + np.where(onward, lasted.take(ahead), 0.0)
            then = np.where(onward, then.take(ahead), _NOWHERE)
        return lasted
