"""What is left to pay once charges, credits and minimums meet.

Everything here is money by month, (..., years, 12); charges and credits are both positive unless said otherwise.
Months stand in the order in which they come and run on from year to year. A true-up closes the books at the end of
``true_up_month`` (0 to 11, the place in the year) of each year, and so does the end of the study.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def minimum_topup(minimum: ArrayLike, charges: ArrayLike) -> Array:
    """What is added to a month's charges to reach the minimum bill, (..., years, 12).

    ``minimum`` and ``charges`` (..., years, 12), broadcast; charges may be below zero, and then that credit is lost.

        charges + top-up = the greater of charges and minimum
    """
    low, due = np.asarray(minimum, dtype=np.float64), np.asarray(charges, dtype=np.float64)
    return np.asarray(np.maximum(low - due, 0.0))


def credit_bank(
    charges: ArrayLike, earned: ArrayLike, true_up_month: int, pay_out: ArrayLike = 0.0
) -> tuple[Array, Array]:
    """A bank of money credits that pay only the charges given here.

    ``charges`` and the credits ``earned`` (..., years, 12), zero or more, broadcast; ``pay_out`` a share, one number or
    (..., years). A month's credits may pay the charges of that month and of later ones. At the true-up ``pay_out`` of
    what is left is paid in money, the rest is forfeited and the bank is empty.

    Returns the credits used and the money paid out, each (..., years, 12); both lower what the household pays. With
    ``pay_out`` 1 they add up to the credits earned in the study. Raises ValueError for a charge or credit below zero.
    """
    shape = np.broadcast_shapes(np.shape(charges), np.shape(earned))
    due, credit = (
        np.broadcast_to(np.asarray(money, dtype=np.float64), shape).reshape(*shape[:-2], -1)
        for money in (charges, earned)
    )
    if (due < 0.0).any() or (credit < 0.0).any():
        raise ValueError("charges and credits of a bank are amounts of zero or more")
    closes = closing(due.shape[-1], true_up_month)
    used, left = np.zeros(due.shape), np.zeros(due.shape)
    bank = np.zeros(due.shape[:-1])
    for month in range(due.shape[-1]):
        bank = bank + credit[..., month]
        used[..., month] = np.minimum(bank, due[..., month])
        bank = bank - used[..., month]
        if closes[month]:
            left[..., month] = bank
            bank = np.zeros(bank.shape)
    paid_out = np.asarray(pay_out, dtype=np.float64)[..., None] * left.reshape(shape)
    return np.broadcast_to(used.reshape(shape), paid_out.shape), paid_out


def yearly_settlement(amounts: ArrayLike, minimum_paid: ArrayLike, true_up_month: int) -> Array:
    """What is due at each true-up when energy is settled in money once a year, (..., years, 12).

    ``amounts`` (..., years, 12) what each month's energy comes to, below zero where its credit is greater than its
    charge; ``minimum_paid`` (..., years, 12), broadcast, paid month by month and counted towards them. The household
    pays ``minimum_paid`` and what is due here.

        due = max(sum of amounts - sum of minimums paid, 0) since the last true-up; a credit left over is lost

    Zero in months without a true-up.
    """
    open_amount = np.asarray(amounts, dtype=np.float64) - np.asarray(minimum_paid, dtype=np.float64)
    running = open_amount.reshape(*open_amount.shape[:-2], -1)
    closes = np.flatnonzero(closing(running.shape[-1], true_up_month))
    opening = np.append(0, closes[:-1] + 1)
    due = np.zeros(running.shape)
    due[..., closes] = np.maximum(np.add.reduceat(running, opening, axis=-1), 0.0)
    return due.reshape(open_amount.shape)


def closing(months: int, true_up_month: int) -> NDArray[np.bool_]:
    """Whether the books close at the end of each month of the study, (months,)."""
    if not 0 <= true_up_month < 12:
        raise ValueError("the true-up month is a place in the year, from 0 to 11")
    month = np.arange(months)
    return np.asarray((month % 12 == true_up_month) | (month == months - 1))
