"""Ageing: what is left of modules and batteries in each year of the study, and when a battery's warranty ends."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Law = Literal["linear", "square root"]

_POWER: Final[dict[Law, float]] = {"linear": 1.0, "square root": 0.5}


@dataclass(frozen=True, eq=False)
class WarrantyEnd:
    """When a warranty ends, and what ends it.

    `years` (...) from the first day of the unit, NaN where nothing ends it; `by_throughput` (...) True where
    the energy delivered ends it, False where the years do or nothing does.
    """

    years: Array
    by_throughput: NDArray[np.bool_]


def array_factor(years: int, fade: ArrayLike, first_year_loss: ArrayLike = 0.0) -> Array:
    """Return the share of its first output that an array still gives, (..., years).

    `fade` is the share lost each year after the first, `first_year_loss` the share lost at once when new
    modules see light; both are floats or (..., 1). Year k: (1 - first_year_loss) (1 - fade)^(k - 1), so year
    1 carries no fade.
    """
    lasting = 1.0 - np.asarray(fade, dtype=np.float64)
    return np.asarray((1.0 - np.asarray(first_year_loss)) * lasting ** np.arange(years))


def ages(years: int, replaced_after: Iterable[int] = ()) -> Array:
    """Return the full years of age at the start of each year, (years,).

    `replaced_after` lists the years (1 = the first) at whose end a new unit takes over. Raises ValueError for
    a year before the first; a replacement at or beyond the end of the study changes nothing.
    """
    changes = sorted(set(replaced_after))
    if changes and changes[0] < 1:
        raise ValueError("a replacement comes at the end of year 1 or later")
    elapsed = np.arange(years)
    fresh = np.array([0, *changes])
    return np.asarray(elapsed - fresh[np.searchsorted(fresh, elapsed, side="right") - 1], dtype=np.float64)


def battery_factor(
    age: ArrayLike, ten_years: ArrayLike, law: Law, cycles: ArrayLike = 0.0, thousand_cycles: ArrayLike = 0.0
) -> Array:
    """Return the share of its first capacity that a battery still holds, broadcast over its inputs.

    `age` in years, as from `ages`; `ten_years` the share of the first capacity lost by age alone in ten years;
    `cycles` the full cycles made so far, as from `full_cycles`; `thousand_cycles` the share lost by a thousand
    of them; one value per case is written (cases, 1). Raises KeyError for a law of another name. With p = 1 for
    "linear" and 1/2 for "square root":

        max(1 - ten_years (age / 10)^p - thousand_cycles cycles / 1000, 0)

    The straight line is how most warranties are written (common practice, no source). By the square root a
    battery loses more in its first ten years and less after them; wear by use is about proportional to the
    throughput, and the two add up (from memory).
    """
    by_age = np.multiply(ten_years, np.divide(age, 10.0) ** _POWER[law])
    by_use = np.multiply(thousand_cycles, np.divide(cycles, 1000.0))
    return np.maximum(1.0 - by_age - by_use, 0.0)


def full_cycles(discharged_kwh: ArrayLike, first_capacity: ArrayLike) -> Array:
    """Return how many full cycles a battery has made: the kWh it delivered over the kWh it held when new.

    Both broadcast; `discharged_kwh` is measured on the house's side, `first_capacity` is above 0. As the
    capacity when new divides in every year, an aged battery makes less than one cycle from full to empty.
    """
    return np.asarray(np.divide(discharged_kwh, first_capacity))


def warranty_end(
    discharged: ArrayLike,
    years_limit: ArrayLike | None,
    mwh_limit: ArrayLike | None,
    replaced_after: Iterable[int] = (),
) -> WarrantyEnd:
    """Return when the first unit's warranty ends: by its years or by its throughput, whichever comes first.

    `discharged` (..., years) kWh on the house's side, never negative, that the unit on the wall in each year
    delivers in it; `years_limit` in years and `mwh_limit` in MWh, above 0, each a float, (..., 1), or None for
    no such limit; `replaced_after` as in `ages`, and refused as there. Use is taken as even within a year.

    Only what the first unit delivers within the study counts. A years limit beyond the study stands if it is the only
    one; beside a throughput that is not reached by then, nobody knows which of the two comes first: NaN. On a tie it is
    the years that end the warranty.
    """
    use = np.asarray(discharged, dtype=np.float64)
    years = use.shape[-1]
    of_the_first = use * (ages(years, replaced_after) == np.arange(years))
    delivered = np.concatenate([np.zeros((*use.shape[:-1], 1)), np.cumsum(of_the_first, axis=-1)], axis=-1)
    most = np.inf if mwh_limit is None else np.multiply(mwh_limit, 1000.0)
    delivered, most, last = np.broadcast_arrays(delivered, most, np.inf if years_limit is None else years_limit)
    most, last = most[..., 0], last[..., 0]

    whole = (delivered[..., 1:] < most[..., None]).sum(axis=-1)  # years gone by before the one that meets it
    met = whole < years
    in_year = np.minimum(whole, years - 1)[..., None]
    before = np.take_along_axis(delivered, in_year, axis=-1)[..., 0]
    after = np.take_along_axis(delivered, in_year + 1, axis=-1)[..., 0]
    part = np.divide(most - before, after - before, out=np.full(met.shape, np.inf), where=met)
    reached = whole + part
    end = np.minimum(reached, last)
    # Beyond the study nobody knows what else it delivers: the years alone can then not be said to end it.
    unknown = np.isinf(end) | ((last > years) & np.isfinite(most) & ~(reached < last))
    return WarrantyEnd(years=np.where(unknown, np.nan, end), by_throughput=reached < last)
