"""A system that others own: what the household pays for it by the month or by the kWh, and how long it stays."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.scenario.rises import growth
from finsolar.scenario.schema import Lease, Payment, PerKwh

Array = NDArray[np.float64]


def lease_payments(monthly: ArrayLike, rise: ArrayLike, term: int, years: int) -> Array:
    """What a lease costs in each year of a study.

    monthly : money of year 1, a number or (..., 1); rise : per year, as `growth` takes it; term : years. Returns
    money (..., years), positive, zero after the term. Raises as `serving` and `growth`.
    Equation: 12 monthly (1 + rise)^(k-1) in year k up to the term.
    """
    due = serving(term, years, kept=False)
    return np.asarray(12.0 * np.asarray(monthly, dtype=np.float64) * growth(rise, years) * due)


def per_kwh_payments(price: ArrayLike, rise: ArrayLike, term: int, generation: ArrayLike) -> Array:
    """What is paid for the energy that a system makes, in each year of a study.

    price : money of year 1 for a kWh, a number or (..., 1); rise : per year, as `growth` takes it; term : years;
    generation : kWh (..., years). Returns money (..., years), positive, zero after the term. Raises as `serving` and
    `growth`.
    Equation: price (1 + rise)^(k-1) times the kWh of year k up to the term.
    """
    made = np.asarray(generation, dtype=np.float64)
    years = made.shape[-1]
    due = serving(term, years, kept=False)
    return np.asarray(np.asarray(price, dtype=np.float64) * growth(rise, years) * made * due)


def serving(term: int, years: int, kept: bool) -> Array:
    """1.0 in the years of a study in which a system of others serves the house, else 0.0; (years,).

    term : years of the contract; kept : bought out, or left to the household, at its end. Raises ValueError for a term
    below one year.
    """
    if term < 1:
        raise ValueError(f"a contract needs a term of at least one year, got {term}")
    return np.where(kept | (np.arange(1, years + 1) <= term), 1.0, 0.0)


def in_place(payment: Payment, years: int) -> Array:
    """1.0 in the years of a study in which the system is there, (years,): all of them unless others take it away."""
    if isinstance(payment, Lease):
        return serving(payment.lease.years, years, payment.lease.buyout is not None)
    if isinstance(payment, PerKwh):
        return serving(payment.per_kwh.years, years, payment.per_kwh.buyout is not None)
    return np.ones(years)
