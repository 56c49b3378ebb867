"""The level loan in closed form, beside which the engine takes one month after the other."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from finsolar.money.loan import Schedule


def schedule(principal: ArrayLike, annual_rate: ArrayLike, months: int) -> Schedule:
    """Return the schedule of (..., months) whose balance is the worth of the payments still to come.

    Equation: (1 - (1 + i)^-n) / i for each payment of 1 that is left, i a twelfth of the rate; n at i = 0.
    """
    rate, left = np.asarray(annual_rate, dtype=np.float64)[..., None] / 12, np.arange(months, -1.0, -1.0)
    some = np.where(rate == 0, 1.0, rate)
    worth = np.where(rate == 0, left, -np.expm1(-left * np.log1p(rate)) / some)
    owed = np.asarray(principal, dtype=np.float64)[..., None] * worth / worth[..., :1]
    return Schedule(interest=owed[..., :-1] * rate, principal=-np.diff(owed, axis=-1), balance=owed[..., 1:])
