"""The least a year's energy can cost with a battery, had one known every step beforehand.

No battery can be run that well: the figure is a floor to hold real rules against, not a forecast. Per step,
on the house's side and in kWh, with import g, export f, charge c, discharge x, curtailed sun k and energy
stored s at the end of the step:

    minimise    sum(buy g - sell f)
    subject to  g - f - c + x - k = use - solar
                s = s before + charge efficiency x c - x / discharge efficiency
                reserve x capacity <= s <= capacity,  0 <= c, x <= their limits,  0 <= k <= solar

Whatever a rule within these limits does is one of the courses compared, so its bill cannot be lower. The
reverse need not hold in two cases, and the cost is then lower than any rule can reach, yet still a bound.
Where a price is negative, a course may charge and discharge in one step to burn energy. Where exporting pays
more than importing costs, doing both at once would make money without end, and "one at a time" is not linear;
with G and F the most that can flow either way, it is replaced by what is linear and just includes it,

    g / G + f / F <= 1.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.battery import Battery

Array = NDArray[np.float64]
Entry = tuple[NDArray[np.int64], NDArray[np.int64], Array | float]
"""Rows, columns and values of some entries of a matrix."""


@dataclass(frozen=True, eq=False)
class Bound:
    """The cheapest year and what the battery does in it.

    `cost` money of the year, energy alone; `imported`, `exported`, `charge`, `discharge`, `curtailed` kWh of
    each step and `stored` kWh at its end, all (steps,); `start` kWh stored at the outset. solar + imported +
    discharge = use + exported + charge + curtailed in each step. Often several courses cost the same; this is
    one of them.
    """

    cost: float
    imported: Array
    exported: Array
    charge: Array
    discharge: Array
    curtailed: Array
    stored: Array
    start: float


@dataclass(frozen=True, eq=False)
class _Limits:
    """The most that each flow can be in each step, (steps,) kWh."""

    imported: Array
    exported: Array
    charge: Array
    discharge: Array
    curtailed: Array


@dataclass(frozen=True)
class _Unit:
    """A battery of which all is known: `_numbers` says what is checked."""

    capacity: float
    reserve: float
    charge_kw: float
    discharge_kw: float
    charge_efficiency: float
    discharge_efficiency: float
    start: float

    @property
    def floor(self) -> float:
        """The reserve in kWh."""
        return self.reserve * self.capacity


def cheapest_year(
    solar: Array,
    use: Array,
    buy: Array,
    sell: Array,
    battery: Battery,
    *,
    grid_charging: bool = False,
    battery_export: bool = False,
    export_allowed: bool = True,
    step_hours: float = 1.0,
    inverter_limit: float | None = None,
    cyclic: bool = False,
) -> Bound:
    """Return the cheapest way through a year whose every step is known beforehand.

    `solar` and `use` (steps,) kWh, idle draw counted as use; `buy` and `sell` (steps,) money per kWh;
    `battery` one battery in one year, so each of its numbers a single one; `step_hours` the length of a step.
    Without `grid_charging` the battery takes only what the sun gives beyond the use of the step; without
    `battery_export` it gives only what the use lacks. `inverter_limit` kW, the most that sun and battery
    together send to the house, solar - curtailed - charge + discharge; None where nothing limits the sum.
    Sun may be curtailed where export is not allowed, where a price is negative, and with an inverter limit.

    The battery begins at `battery.start`, the reserve if that is None, and ends where it likes at or above its
    reserve: the cost is a bound for every rule that begins there. A rule that begins fuller may do better.
    With `cyclic` the battery ends with what it began with, at the level that suits it best, and `battery.start`
    plays no part. As long as no import price is negative, this too is a bound for rules that begin at the
    reserve, and never above the other: energy that such a rule stores and never draws can be left out at no
    cost, which leads it back to the reserve. Where importing earns money, it is no bound.

    The cost holds what is linear in the import and export of each step. Fixed charges are to be added; tiers,
    demand charges and a bank of kWh are not linear in this sense, and this is no bound for them.

    Returns a `Bound`. Raises ValueError for arrays that do not match, for numbers that are missing, negative or
    out of range, and for a battery of several cases or years; RuntimeError should the solver give up. Source:
    linear programming; the equations are in the head of this module.
    """
    solar, use, buy, sell = _series(solar=solar, use=use, buy=buy, sell=sell)
    if not 0 < step_hours < np.inf:
        raise ValueError(f"a step needs a length above zero hours, not {step_hours}")
    if inverter_limit is not None and not 0 <= inverter_limit < np.inf:
        raise ValueError(f"the inverter's limit needs to be zero or more kW, not {inverter_limit}")
    unit = _numbers(battery)

    useful = (np.minimum(buy, sell) < 0) | (not export_allowed) | (inverter_limit is not None)
    curtailed = np.where(useful, solar, 0.0)
    charge, discharge = (np.full_like(solar, kw * step_hours) for kw in (unit.charge_kw, unit.discharge_kw))
    if not grid_charging:
        charge = np.minimum(charge, np.maximum(solar - use, 0.0))
    if not battery_export:
        discharge = np.minimum(discharge, np.maximum(use - solar, 0.0))
    limits = _Limits(
        imported=np.maximum(use - solar + curtailed + charge, 0.0),
        exported=np.maximum(solar - use + discharge, 0.0) * export_allowed,
        charge=charge,
        discharge=discharge,
        curtailed=curtailed,
    )
    room = None if inverter_limit is None else inverter_limit * step_hours - solar
    flows = _solve(use - solar, buy, sell, unit, limits, room, cyclic)

    imported, exported, charge, discharge, curtailed, stored = flows
    # Where both prices are the same, taking and giving at once costs nothing: keep what the meter would see.
    both = np.where(sell <= buy, np.minimum(imported, exported), 0.0)
    imported, exported = imported - both, exported - both
    return Bound(
        cost=float(buy @ imported - sell @ exported),
        imported=imported,
        exported=exported,
        charge=charge,
        discharge=discharge,
        curtailed=curtailed,
        stored=stored,
        start=float(stored[-1]) if cyclic else unit.start,
    )


def _solve(
    net: Array, buy: Array, sell: Array, unit: _Unit, limits: _Limits, room: Array | None, cyclic: bool
) -> Array:
    """Solve the programme; return import, export, charge, discharge, curtailed and stored, (6, steps) kWh.

    `net` use less solar and `room` what the inverter has left beyond the sun, (steps,) kWh.
    """
    from scipy.optimize import linprog

    steps = net.size
    taken, given, into, out, off, level = np.arange(6 * steps).reshape(6, steps)  # the columns of each flow
    first, second = np.arange(2 * steps).reshape(2, steps)  # the rows: balance of the house, of the battery
    later = slice(0 if cyclic else 1, None)  # the steps with a level before them; that of the first is the last
    equal: list[Entry] = [(first, taken, 1.0), (first, given, -1.0), (first, off, -1.0)]
    equal += [(first, into, -1.0), (second, into, -unit.charge_efficiency)]
    equal += [(first, out, 1.0), (second, out, 1.0 / unit.discharge_efficiency)]
    equal += [(second, level, 1.0), (second[later], np.roll(level, 1)[later], -1.0)]
    began = np.zeros(steps)
    began[0] = 0.0 if cyclic else unit.start

    # One way at a time, made linear, in the steps that would else go both ways; times G F / (G + F), so that
    # the numbers of a row stay between 0 and 1.
    most_in, most_out = limits.imported, limits.exported
    [both] = np.nonzero((sell > buy) & (most_in > 0) & (most_out > 0))
    row, whole = np.arange(both.size), (most_in + most_out)[both]
    within: list[Entry] = [(row, taken[both], most_out[both] / whole), (row, given[both], most_in[both] / whole)]
    most = most_in[both] * most_out[both] / whole
    if room is not None:
        row = both.size + np.arange(steps)
        within += [(row, out, 1.0), (row, into, -1.0), (row, off, -1.0)]
        most = np.concatenate([most, room])

    lower = np.zeros((6, steps))
    upper = np.stack([*vars(limits).values(), np.full(steps, unit.capacity)])
    lower[-1] = unit.floor
    # The solver's tolerances are absolute: it gets prices and energies in units of the largest one, and less of it.
    money = max(np.abs(buy).max(), np.abs(sell).max()) or 1.0
    energy = max(np.abs(net).max(), upper.max()) or 1.0
    bounds: Any = np.stack([lower.ravel(), upper.ravel()], axis=1) / energy
    programme: dict[str, Any] = {
        "A_ub": _matrix(within, most.size, 6 * steps),
        "b_ub": most / energy,
        "A_eq": _matrix(equal, 2 * steps, 6 * steps),
        "b_eq": np.concatenate([net, began]) / energy,
        "bounds": bounds,
        "method": "highs",
    }
    prices = np.concatenate([buy, -sell, np.zeros(4 * steps)]) / money
    # Now and then rounding makes the finest tolerance call a programme impossible that is not.
    for tolerance in (1e-10, 1e-9, 1e-8):
        options: Any = {"primal_feasibility_tolerance": tolerance, "dual_feasibility_tolerance": tolerance}
        found: Any = linprog(prices, options=options, **programme)
        if found.success:
            break
    if not found.success:
        raise RuntimeError(f"the solver did not find the cheapest year: {found.message}")
    return np.clip(np.asarray(found.x, dtype=np.float64).reshape(6, steps) * energy, lower, upper)


def _matrix(entries: list[Entry], rows: int, columns: int) -> Any:
    """Return the sparse matrix of these entries; those that meet are added."""
    from scipy.sparse import csc_array

    parts = zip(*(np.broadcast_arrays(*entry) for entry in entries), strict=True)
    row, column, value = (np.concatenate(part) for part in parts)
    return csc_array((value, (row, column)), shape=(rows, columns))


def _series(**given: Array) -> list[Array]:
    """Check the four series and return them as floats."""
    series = {name: np.asarray(values, dtype=np.float64) for name, values in given.items()}
    shape = series["solar"].shape
    for name, values in series.items():
        if values.ndim != 1 or values.size == 0 or values.shape != shape:
            raise ValueError(
                f"solar, use, buy and sell need one number for each step: {name} has the shape {values.shape}, "
                f"solar {shape}"
            )
        if not np.isfinite(values).all():
            raise ValueError(f"{name} has steps without a number")
        if name in ("solar", "use") and values.min() < 0:
            raise ValueError(f"{name} is an energy and cannot be below zero, as in step {int(values.argmin())}")
    return list(series.values())


def _numbers(battery: Battery) -> _Unit:
    """Return the numbers of one battery in one year, its start in kWh and within the window."""
    found: dict[str, float] = {}
    for name, value in vars(battery).items():
        number = np.asarray(battery.reserve if value is None else value, dtype=np.float64)
        if number.size != 1:
            raise ValueError(f"the bound is that of one battery in one year; {name} has {number.size} numbers")
        found[name] = float(number.reshape(()))
        if not 0 <= found[name] < np.inf:
            raise ValueError(f"the battery's {name} needs to be zero or more, not {found[name]}")
    for name in ("charge_efficiency", "discharge_efficiency"):
        if not 0 < found[name] <= 1:
            raise ValueError(f"the battery's {name} needs to be above 0 and at most 1, not {found[name]}")
    if found["reserve"] > 1:
        raise ValueError(f"the battery's reserve is a share of its capacity, at most 1, not {found['reserve']}")
    found["start"] = min(max(found["start"], found["reserve"]), 1.0) * found["capacity"]
    return _Unit(**found)
