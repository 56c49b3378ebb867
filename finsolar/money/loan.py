"""What every loan has: a level monthly payment, a schedule, its sums by year, and what it is worth today."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.money.rates import annuity_factor

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Schedule:
    """A repayment schedule: each field (..., months), in the currency of the principal, month 1 first."""

    interest: Array
    principal: Array
    balance: Array
    """Still owed after the month's payment."""

    @property
    def payment(self) -> Array:
        """What is paid each month, interest and principal together; (..., months)."""
        return self.interest + self.principal


def level_payment(principal: ArrayLike, annual_rate: ArrayLike, months: ArrayLike) -> Array:
    """Payment at the end of each month that repays a loan with interest.

    principal: money; annual_rate: nominal, a twelfth of it each month; months: number of payments; shapes
    broadcast. Returns the payment per month in their broadcast shape.
    Raises ValueError for fewer than one month or a monthly rate at or below -100 %.
    Equation: principal / annuity_factor(annual_rate / 12, months); at 0 % principal / months.
    """
    if np.any(np.asarray(months) < 1):
        raise ValueError("a loan needs at least one monthly payment")
    rate = np.asarray(annual_rate, dtype=np.float64) / 12
    return np.asarray(np.asarray(principal, dtype=np.float64) / annuity_factor(rate, months))


def by_year(monthly: ArrayLike, years: int) -> Array:
    """Sum a monthly line into the years of a study.

    monthly: (..., months), month 1 first; years: length of the study. Returns (..., years + 1) with year 0
    zero, since no payment falls on the day the loan is paid out. Months after the last year are left out,
    years after the last month are zero. Raises ValueError for a negative number of years.
    """
    if years < 0:
        raise ValueError(f"the number of years cannot be negative, got {years}")
    lines = np.asarray(monthly, dtype=np.float64)[..., : 12 * years]
    padded = np.zeros((*lines.shape[:-1], 12 * (years + 1)))
    padded[..., 12 : 12 + lines.shape[-1]] = lines
    return np.asarray(padded.reshape(*lines.shape[:-1], years + 1, 12).sum(axis=-1))


def present_worth(principal: ArrayLike, annual_rate: ArrayLike, months: int, discount_rate: ArrayLike) -> Array:
    """What a loan is worth on the day it is paid out, to one whose money earns the discount rate, money (...).

    principal: money (...); annual_rate: nominal, a twelfth of it each month; discount_rate: effective, a year. Zero
    where the loan costs what the money earns; never its principal. Raises as `level_payment`.
    Equation: principal - payment * annuity_factor((1 + discount_rate)^(1/12) - 1, months).
    """
    monthly = (1.0 + np.asarray(discount_rate, dtype=np.float64)) ** (1 / 12) - 1.0
    later = level_payment(principal, annual_rate, months) * annuity_factor(monthly, months)
    return np.asarray(np.asarray(principal, dtype=np.float64) - later)
