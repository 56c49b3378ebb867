"""What an alternative is expected to carry while the grid is down, year by year of a study."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.interruptions import (
    NOTHING,
    Curve,
    Expected,
    Indices,
    Lengths,
    Wanted,
    added,
    dark_for_long,
    expected,
)

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Outages:
    """The outages of a house, one kind beside the other: their lengths, and what the house wants while they last."""

    lengths: tuple[Lengths, ...]
    wanted: tuple[Wanted, ...]

    @property
    def indices(self) -> Indices:
        """Interruptions of the house in a year, and hours without the grid, (...) each."""
        kinds = [each.kind for each in self.lengths]
        saifi = sum((kind.times for kind in kinds), start=np.zeros(()))
        saidi = sum((kind.times * kind.hours for kind in kinds), start=np.zeros(()))
        return Indices(np.asarray(saifi), np.asarray(saidi))


@dataclass(frozen=True, eq=False)
class Carrying:
    """How an alternative carries each kind of outages: with its battery ``new``, and ``worn`` in its last year; and the
    kWh (...) that the battery then holds."""

    new: tuple[Curve, ...]
    worn: tuple[Curve, ...]
    new_kwh: Array
    worn_kwh: Array

    def wear(self, capacity: Array) -> Array:
        """How far a battery of ``capacity`` kWh (..., years) is on its way from new, 0, to worn, 1."""
        lost = (self.new_kwh - self.worn_kwh)[..., None]
        gone = (self.new_kwh[..., None] - capacity) / np.where(lost > 0, lost, 1.0)
        return np.where(lost > 0, np.clip(gone, 0.0, 1.0), 0.0)


@dataclass(frozen=True, eq=False)
class Backup:
    """What is carried: ``kinds`` one by one and the whole ``year``, as expected in the first year of the study; and by
    year ``hours`` and ``kwh`` that are carried, (..., years)."""

    kinds: tuple[Expected, ...]
    year: Expected
    hours: Array
    kwh: Array


def backup(outages: Outages, carrying: Carrying | None, capacity: Array, there: Array) -> Backup:
    """What an alternative carries, nothing without ``carrying``.

    capacity : kWh of its battery by year (..., years); there : 1.0 in the years with the system (years,). Between new
    and worn what is carried follows the capacity on a straight line; the load stays that of the first year.
    """
    hours, kwh = np.zeros(there.shape), np.zeros(there.shape)
    kinds = []
    for k, (of, want) in enumerate(zip(outages.lengths, outages.wanted, strict=True)):
        new = expected(of, want, NOTHING if carrying is None else carrying.new[k])
        if carrying is None:
            kinds.append(new)
            continue
        worn, wear = expected(of, want, carrying.worn[k]), carrying.wear(capacity)
        own_hours = _between(new.hours_carried, worn.hours_carried, wear) * there
        own_kwh = _between(new.kwh_carried, worn.kwh_carried, wear) * there
        kinds.append(replace(new, hours_carried=own_hours[..., 0], kwh_carried=own_kwh[..., 0]))
        hours, kwh = hours + own_hours, kwh + own_kwh
    return Backup(tuple(kinds), added(kinds), hours, kwh)


def dark(
    outages: Outages, carrying: Carrying | None, capacity: Array, there: Array, after: float
) -> tuple[tuple[Array, Array], tuple[Array, Array]]:
    """Outages a year that leave the house dark for longer than ``after`` hours, and the hours beyond.

    Returns two pairs of (times, hours): staying as you are, (...) each, and with the alternative, (..., years) each.
    """
    stay_times, stay_hours = np.zeros(()), np.zeros(())
    times, hours = np.zeros(there.shape), np.zeros(there.shape)
    for k, of in enumerate(outages.lengths):
        none = dark_for_long(of.kind, NOTHING, after)
        stay_times, stay_hours = stay_times + none[0], stay_hours + none[1]
        if carrying is None:
            times, hours = times + none[0][..., None], hours + none[1][..., None]
            continue
        new, worn = (dark_for_long(of.kind, curve[k], after) for curve in (carrying.new, carrying.worn))
        wear = carrying.wear(capacity)
        for_years = [_between(new[n], worn[n], wear) for n in (0, 1)]
        # When the system is taken away the house is as it was.
        for_years = [none[n][..., None] + (for_years[n] - none[n][..., None]) * there for n in (0, 1)]
        times, hours = times + for_years[0], hours + for_years[1]
    return (np.asarray(stay_times), np.asarray(stay_hours)), (times, hours)


def _between(new: Array, worn: Array, wear: Array) -> Array:
    """From ``new`` to ``worn`` (...) as far as ``wear`` (..., years) says, (..., years)."""
    return np.asarray(new[..., None] + (worn - new)[..., None] * wear)
