"""The lender's view: is the debt covered, when is the household out of pocket, and what does the loan outlast?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

# Less than this share of all the money that moves is what rounding leaves of a zero.
_TRACES = 1e-12


@dataclass(frozen=True, eq=False)
class Coverage:
    """How what a system brings in covers its debt; NaN where no debt falls due.

    by_year : (..., years + 1), ratio; minimum, average : (...), ratio, over the years with debt, each counting the
    same; average_without_awards : (...), ratio, the same with awards left out; years_short : (...), years with debt
    whose ratio is below one; least_left : money (...), what is left after debt service in the leanest of them;
    left_over_term : money (...), what is left in all of them together.
    """

    by_year: Array
    minimum: Array
    average: Array
    average_without_awards: Array
    years_short: NDArray[np.int64]
    least_left: Array
    left_over_term: Array


def debt_service_coverage(available: ArrayLike, debt_service: ArrayLike, awards: ArrayLike = 0.0) -> Coverage:
    """Cash that is there to serve a debt over the debt service of the same year (DSCR).

    available : money (..., years + 1), cash of the year before its debt, awards among it; debt_service : money
    (..., years + 1), interest and principal paid in the year, positive; awards : money (..., years + 1), what of
    ``available`` they are, their tax taken off. Returns `Coverage`. A loan carries itself
    all along where ``least_left`` is at or above zero, and over its term where ``left_over_term`` is.
    Raises ValueError for a negative debt service or another number of years.
    Equation: available_t / debt_service_t. Source: the lenders' definition, from memory.
    """
    cash, service = _alike(available, debt_service, "debt service")
    if np.any(service < 0):
        raise ValueError(f"debt service cannot be negative, got {service.min():.4g}")
    owed = service > _TRACES * service.sum(axis=-1, keepdims=True)
    ratio = np.where(owed, cash / np.where(owed, service, 1.0), np.nan)
    earned = (cash - np.asarray(awards, dtype=np.float64)) / np.where(owed, service, 1.0)
    left = np.where(owed, cash - service, np.nan)
    years = owed.sum(axis=-1)
    some = np.where(years > 0, years, np.nan)
    return Coverage(
        by_year=ratio,
        minimum=np.asarray(np.fmin.reduce(ratio, axis=-1)),
        average=np.asarray(np.where(owed, ratio, 0.0).sum(axis=-1) / some),
        average_without_awards=np.asarray(np.where(owed, earned, 0.0).sum(axis=-1) / some),
        years_short=np.asarray((owed & (ratio < 1 - _TRACES)).sum(axis=-1)),
        least_left=np.asarray(np.fmin.reduce(left, axis=-1)),
        left_over_term=np.asarray(np.where(years > 0, np.where(owed, left, 0.0).sum(axis=-1), np.nan)),
    )


@dataclass(frozen=True, eq=False)
class FirstYear:
    """Payment against saving, month by month; money.

    saving, payment, left : (..., 12), left being saving less payment; months_short : (...), months in which the
    payment is the larger; bridge : (...), positive, what must lie ready at the start so that no month wants.
    """

    saving: Array
    payment: Array
    left: Array
    months_short: NDArray[np.int64]
    bridge: Array


def first_year(monthly_saving: ArrayLike, monthly_payment: ArrayLike) -> FirstYear:
    """Set the payments of the first twelve months against what is saved in them.

    monthly_saving : money (..., 12), month 1 first; monthly_payment : money (..., months), positive, month 1 first
    and of any length. Returns `FirstYear`. Raises ValueError if the savings are not of twelve months.
    """
    saving = np.asarray(monthly_saving, dtype=np.float64)
    if saving.shape[-1:] != (12,):
        raise ValueError(f"a first year has 12 months of saving, got the shape {saving.shape}")
    paid = np.asarray(monthly_payment, dtype=np.float64)[..., :12]
    later = np.zeros((*paid.shape[:-1], 12 - paid.shape[-1]))
    saving, payment = np.broadcast_arrays(saving, np.concatenate([paid, later], axis=-1))
    left = saving - payment
    traces = _TRACES * (np.abs(saving) + np.abs(payment)).sum(axis=-1)
    lowest = left.cumsum(axis=-1).min(axis=-1)
    return FirstYear(
        saving=saving,
        payment=payment,
        left=left,
        months_short=np.asarray((left < -traces[..., None]).sum(axis=-1)),
        bridge=np.where(lowest < -traces, -lowest, 0.0),
    )


@dataclass(frozen=True, eq=False)
class OutOfPocket:
    """Years in which running a system and paying for it take more than they give.

    short : (..., years + 1), which years; years : (...), how many; first, last : (...), years, NaN for none;
    total, most : money (...), positive, of all these years and of the worst one.
    """

    short: NDArray[np.bool_]
    years: NDArray[np.int64]
    first: Array
    last: Array
    total: Array
    most: Array


def out_of_pocket(flows: ArrayLike) -> OutOfPocket:
    """Find the years after year 0 in which the household pays in.

    flows : money (..., years + 1), cash of the year after its debt, money to the household positive; year 0 is the
    outlay and is left aside. Returns `OutOfPocket`. A flow within 1e-12 of all that moves counts as zero.
    """
    values = np.array(flows, dtype=np.float64)
    values[..., :1] = 0.0
    short = values < -_TRACES * np.abs(values).sum(axis=-1, keepdims=True)
    year = np.where(short, np.arange(values.shape[-1]), np.nan)
    lack = np.where(short, -values, 0.0)
    return OutOfPocket(
        short=short,
        years=np.asarray(short.sum(axis=-1)),
        first=np.asarray(np.fmin.reduce(year, axis=-1)),
        last=np.asarray(np.fmax.reduce(year, axis=-1)),
        total=np.asarray(lack.sum(axis=-1)),
        most=np.asarray(lack.max(axis=-1)),
    )


@dataclass(frozen=True, eq=False)
class Outlasting:
    """Payments of a loan that are still due when what it bought is gone or no longer vouched for.

    after_replacement, after_warranty : (...), number of monthly payments, 0 where the loan ends first, NaN where
    nothing is replaced or no end of a warranty is known. ``> 0`` asks whether the loan lasts longer.
    """

    after_replacement: Array
    after_warranty: Array


def outlasting(loan_months: ArrayLike, replacement_year: ArrayLike, warranty_years: ArrayLike) -> Outlasting:
    """Count the payments due after the first replacement and after the end of the warranty.

    loan_months : (...), months from the start to the last payment; replacement_year : (...), the year at whose end
    equipment is first replaced, NaN for never; warranty_years : (...), years from the start, parts of a year allowed,
    NaN for unknown. Shapes broadcast. Returns `Outlasting`. Raises ValueError for a negative number.
    A payment due on the very day of the replacement, or as the warranty ends, is not after it.
    """
    months, replaced, vouched = (
        np.asarray(value, dtype=np.float64) for value in (loan_months, replacement_year, warranty_years)
    )
    if np.any(months < 0) or np.any(replaced < 0) or np.any(vouched < 0):
        raise ValueError("the months of a loan and the years of equipment cannot be negative")
    return Outlasting(_payments_after(months, replaced), _payments_after(months, vouched))


def reasons(coverage: Coverage, pocket: OutOfPocket, outlasts: Outlasting) -> dict[str, str]:
    """Why a figure of the lender's view does not exist, by the figure's name."""
    found: dict[str, str] = {}
    if np.isnan(coverage.minimum).any():
        why = "no debt falls due within the study"
        found |= dict.fromkeys(
            ("by_year", "minimum", "average", "average_without_awards", "least_left", "left_over_term"), why
        )
    elif np.isnan(coverage.by_year).any():
        found["by_year"] = "no debt falls due in such a year"
    if np.isnan(pocket.first).any():
        found |= dict.fromkeys(("first", "last"), "the household is out of pocket in no year")
    if np.isnan(outlasts.after_replacement).any():
        found["after_replacement"] = "nothing is replaced within the study"
    if np.isnan(outlasts.after_warranty).any():
        found["after_warranty"] = "no end of a warranty is known"
    return found


def set_aside(awards: ArrayLike, paydown: ArrayLike) -> tuple[Array, Array]:
    """What of each year's awards is kept for a lump sum, and what the household adds; positive money (..., years + 1).

    awards : (..., years + 1) of the purchase; paydown : (..., years + 1), what is paid in, positive. Awards that come
    in before are kept for it, from the first on; what they lack is paid in the year of the paydown, from the rest.
    Awards of year 0 count, like any other.
    """
    come, paid = _alike(awards, paydown, "the paydown")
    wanted = paid.sum(axis=-1)[..., None]
    last = (paid > 0).argmax(axis=-1)[..., None]
    early = np.where(np.arange(paid.shape[-1]) <= last, np.maximum(come, 0.0), 0.0)
    kept = np.diff(np.minimum(np.cumsum(early, axis=-1), wanted), axis=-1, prepend=0.0)
    missing = wanted - kept.sum(axis=-1, keepdims=True)
    return np.asarray(kept), np.where(np.arange(paid.shape[-1]) == last, missing, 0.0)


@dataclass(frozen=True, eq=False)
class LendersView:
    """All of it for one loan.

    available, debt_service : money (..., years + 1), year 0 zero, as in `debt_service_coverage`; ``reasons`` says why
    a figure does not exist, by the figure's name.
    """

    available: Array
    debt_service: Array
    coverage: Coverage
    first_year: FirstYear
    pocket: OutOfPocket
    outlasts: Outlasting
    reasons: dict[str, str]


def lenders_view(
    *,
    cash: ArrayLike,
    debt_service: ArrayLike,
    monthly_saving: ArrayLike,
    monthly_payment: ArrayLike,
    months: ArrayLike,
    replacement_year: ArrayLike,
    warranty_years: ArrayLike,
    paid_in: ArrayLike = 0.0,
    awards: ArrayLike = 0.0,
) -> LendersView:
    """Look at a loan from every side.

    cash : money (..., years + 1), all cash but the loan's, year 0 left aside; debt_service as in
    `debt_service_coverage`; monthly_saving, monthly_payment as in `first_year`; months (...) until nothing is owed,
    replacement_year, warranty_years as in `outlasting`; paid_in : (..., years + 1), positive, what the household pays
    into the loan of its own accord: no debt that falls due, but out of its pocket; awards as in
    `debt_service_coverage`. Returns `LendersView`. Raises as
    those do.
    """
    available, service = _alike(cash, debt_service, "debt service")
    available = np.array(available)
    available[..., 0] = 0.0
    coverage = debt_service_coverage(available, service, awards)
    pocket = out_of_pocket(available - service - np.asarray(paid_in, dtype=np.float64))
    outlasts = outlasting(months, replacement_year, warranty_years)
    return LendersView(
        available=available,
        debt_service=service,
        coverage=coverage,
        first_year=first_year(monthly_saving, monthly_payment),
        pocket=pocket,
        outlasts=outlasts,
        reasons=reasons(coverage, pocket, outlasts),
    )


def _payments_after(months: Array, years: Array) -> Array:
    """How many of the payments at each month's end come later than so many years."""
    whole = np.floor(12 * years + 1e-9)  # seven twelfths of a year are seven months, whatever the rounding
    return np.asarray(np.maximum(np.ceil(months) - whole, 0.0))


def _alike(first: ArrayLike, second: ArrayLike, name: str) -> tuple[Array, Array]:
    """Two lines by year as arrays of one shape."""
    one, other = np.asarray(first, dtype=np.float64), np.asarray(second, dtype=np.float64)
    if one.shape[-1:] != other.shape[-1:]:
        raise ValueError(f"{name} is given for {other.shape[-1]} years, the cash for {one.shape[-1]}")
    together = np.broadcast_arrays(one, other)
    return together[0], together[1]
