"""What a reserve costs: the saving that is given up for every further hour that the house lasts without the grid.

A reserve is not used on ordinary days, so a larger one saves less and lasts longer. For each reserve the first year is
run anew, billed by the one bill path, and failed in every one of its hours.

The knee. With h the hours that nine starts of ten last and c the saving given up against no reserve at all,

    gain = (h - h(0)) / (h(1) - h(0))        spent = (c - c(0)) / (c(1) - c(0))

both run from 0 to 1, and a curve that is neither steep nor flat anywhere is their diagonal. The knee is the reserve
with the largest gain - spent: the point farthest from the chord between the two ends, which is the idea of Satopää,
Albrecht, Irwin and Raghavan, "Finding a 'Kneedle' in a Haystack", 2011 (from memory; without their smoothing). It was
chosen since it can be said in plain words: up to the knee the hours cost less each, taken together, than the average
of all that can be had, and beyond it more.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.without_grid import Carried, at_starts, carried_load, lasted_by, lasting, own_way
from finsolar.results import Study
from finsolar.scenario import schema
from finsolar.study import first_bill, first_year

Array = NDArray[np.float64]

PLACES = tuple(k / 20 for k in range(21))
"""The reserves that are looked at, beside the household's own."""
FEWER = PLACES[::2]
"""Those where a run takes long: a battery run by the clock is walked step by step, and so is fuel that is counted."""
AHEAD = 0.1
"""The price of a further hour is that of the next tenth of the battery: over less of it, single days would show."""
CLEAR = 0.05
"""Distance from the chord within which a curve counts as straight; common practice, no source."""
FREE = 0.005
"""Share of the saving that may be given up in all and still count as nothing; common practice, no source."""

KNEE, STRAIGHT, DEAR_FIRST, COSTS_NOTHING, BUYS_NOTHING = "knee", "straight", "dear first", "free", "no longer"

NO_BATTERY = "there is no battery that could keep something back"
KEPT_FULL = "a battery for backup only is full on ordinary days, so all of it is reserve"
OFF_GRID = "off the grid there is no bill that a reserve could raise"


@dataclass(frozen=True, eq=False)
class ReservePrice:
    """The first year with other reserves, one place each, from the smallest to the largest.

    ``reserve`` share of the battery and ``saving`` money of the first year (places,); ``hours`` (places, starts) that
    the house lasts, of at most ``longest``; ``own`` the place of the household's reserve; ``shape`` of the curve, one
    of the five named above, and the place of its ``knee``, where it has one.
    """

    reserve: Array
    saving: Array
    hours: Array
    longest: float
    own: int
    shape: str
    knee: int | None

    @property
    def nine_in_ten(self) -> Array:
        """Hours that nine starts of ten last at least, (places,): what the curve is drawn of."""
        return lasted_by(self.hours, 9)

    def next_hour(self, place: int) -> float | None:
        """What a further hour costs a year beyond a place, over the next tenth of the battery; None beyond the last."""
        ahead = np.flatnonzero(self.reserve >= self.reserve[place] + AHEAD - 1e-9)
        to = int(ahead[0]) if ahead.size else self.reserve.size - 1
        return price_of_an_hour(self.nine_in_ten, self.saving, place, to)

    @property
    def average_hour(self) -> float | None:
        """What an hour costs a year from no reserve at all to the whole battery."""
        return price_of_an_hour(self.nine_in_ten, self.saving, 0, self.reserve.size - 1)


def price_of_an_hour(hours: Array, saving: Array, here: int, there: int) -> float | None:
    """The saving given up between two places for each hour gained, money; None where hardly any time is gained."""
    gained = float(hours[there] - hours[here])
    return None if gained < 0.05 else float(saving[here] - saving[there]) / gained


def shape_of(hours: Array, saving: Array) -> tuple[str, int | None]:
    """The shape of a curve and the place of its knee, where it has one; ``hours`` and ``saving`` (places,) each.

    ``COSTS_NOTHING`` : no place saves less than the first by more than a trace; ``BUYS_NOTHING`` : the last place lasts
    no longer than the first; ``STRAIGHT`` : near the chord everywhere; ``DEAR_FIRST`` : under the chord, so that
    further hours become cheaper and there is no place to stop on the way.
    """
    given_up = saving[0] - saving
    if given_up.max() <= FREE * np.abs(saving).max():
        return COSTS_NOTHING, None
    gained = hours - hours[0]
    if gained[-1] < 0.05:
        return BUYS_NOTHING, None
    if given_up[-1] <= 0:
        return STRAIGHT, None
    above = gained / gained[-1] - given_up / given_up[-1]
    if above.max() >= CLEAR:
        return KNEE, int(np.argmax(above))
    return (DEAR_FIRST if above.min() <= -CLEAR else STRAIGHT), None


def with_reserve_price(base: Study) -> Study:
    """The study of single values with what a reserve costs each alternative, or why that cannot be said.

    Raises ValueError for a batch.
    """
    if any(result.appraisal.npv.ndim for result in base.results):
        raise ValueError("a study of many cases has no single price of a reserve")
    known: dict[tuple[str, ...], ReservePrice] = {}
    carried = carried_load(base)
    found: list[ReservePrice | str] = []
    for i, result in enumerate(base.results):
        plan = result.plan
        why_not = None
        if plan.system.battery == "none":
            why_not = NO_BATTERY
        elif plan.system.operation == "off grid":
            why_not = OFF_GRID
        elif plan.system.operation == "backup only":
            why_not = KEPT_FULL
        if why_not is not None:
            found.append(why_not)
            continue
        # Alternatives often differ in payment alone; the day only tells by the month in which the bills begin.
        same = (repr(plan.system), repr(plan.tariff), repr(plan.generator), str(result.in_service.month))
        if same not in known:
            known[same] = _price(base, i, carried)
        found.append(known[same])
    return replace(base, reserves=tuple(found))


def _price(base: Study, i: int, carried: Carried) -> ReservePrice:
    """One alternative: a first year for each reserve, and all outages in one walk, since the house is the same."""
    plan, clock = base.results[i].plan, base.site.clock
    assert plan.system.battery != "none"
    way, own = own_way(base, i, carried), float(plan.system.battery.reserve)
    usual = FEWER if plan.system.operation == "time shift" or way.litres > 0 else PLACES
    reserve = np.array(sorted({own, *(share for share in usual if abs(share - own) > 1e-9)}))
    runs = [first_year(base, i, {"reserve": float(share)}) for share in reserve]
    bills = [first_bill(base, i, run) for run in runs]
    saving = np.array([float(base.stay.bill.total[..., 0] - bill.total[..., 0]) for bill in bills])
    stored = np.stack([at_starts(run.hourly, 0, clock.per_hour) for run in runs])
    first = np.tile(np.arange(0, len(clock.hour), clock.per_hour), reserve.size)
    hours = lasting(base, plan, [replace(way, stored=stored.reshape(-1))], first).reshape(stored.shape)
    shape, knee = shape_of(lasted_by(hours, 9), saving)
    longest = float((base.settled.household.outage or schema.Outage()).longest_hours)
    return ReservePrice(reserve, saving, hours, longest, int(np.flatnonzero(reserve == own)[0]), shape, knee)
