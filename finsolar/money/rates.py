"""Interest and inflation: real and nominal rates, and the worth of a level payment."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def nominal_rate(real: ArrayLike, inflation: ArrayLike) -> Array:
    """Turn a real yearly rate into the nominal one that holds under inflation.

    real, inflation: rates per year, any shapes that broadcast. Returns their broadcast shape.
    Raises ValueError if either is at or below -100 %.
    Equation: 1 + nominal = (1 + real)(1 + inflation). Source: Fisher identity.
    """
    r, i = above_total_loss(real, "real rate"), above_total_loss(inflation, "inflation")
    return np.asarray(r + i + r * i)


def real_rate(nominal: ArrayLike, inflation: ArrayLike) -> Array:
    """Turn a nominal yearly rate into the real one, the inverse of `nominal_rate`.

    nominal, inflation: rates per year, any shapes that broadcast. Returns their broadcast shape.
    Raises ValueError if either is at or below -100 %.
    Equation: real = (nominal - inflation) / (1 + inflation). Source: Fisher identity.
    """
    n, i = above_total_loss(nominal, "nominal rate"), above_total_loss(inflation, "inflation")
    return np.asarray((n - i) / (1 + i))


def annuity_factor(rate: ArrayLike, periods: ArrayLike) -> Array:
    """Present worth of 1 at the end of each period.

    rate: per period; periods: how many, 0 or more; shapes broadcast. Returns their broadcast shape.
    Raises ValueError for a rate at or below -100 % or a negative number of periods.
    Equation: (1 - (1 + rate)^-periods) / rate; at rate 0 its limit, the number of periods.
    Source: uniform-series present-worth factor (P/A) of any interest table.
    """
    r, n = np.broadcast_arrays(above_total_loss(rate, "rate"), np.asarray(periods, dtype=np.float64))
    if np.any(n < 0):
        raise ValueError("the number of periods cannot be negative")
    divisor = np.where(r == 0, 1.0, r)
    # expm1 and log1p keep the digits that 1 - (1 + r)^-n would lose at small rates.
    return np.where(r == 0, n, -np.expm1(-n * np.log1p(r)) / divisor)


def periods_left(balance: ArrayLike, payment: ArrayLike, rate: ArrayLike) -> Array:
    """How many payments repay a balance, the inverse of `annuity_factor`.

    balance: money (...), 0 or more; payment: money at the end of each period; rate: per period, 0 or more; shapes
    broadcast. Returns their broadcast shape, a fraction for a last payment that is smaller than the others; infinite
    if the payment never repays it. A count within 1e-6 of a whole number is that number.
    Equation: -ln(1 - balance rate / payment) / ln(1 + rate); at rate 0 balance / payment.
    """
    owed, paid, r = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in (balance, payment, rate)))
    with np.errstate(divide="ignore", invalid="ignore"):
        level = np.where(owed > 0, owed / paid, 0.0)
        divisor = np.where(r == 0, 1.0, np.log1p(r))
        count = np.where(r == 0, level, -np.log1p(-np.minimum(level * r, 1)) / divisor)
        # A rest of a payment this small is what rounding leaves of a whole one.
        return np.where(np.abs(count - np.rint(count)) < 1e-6, np.rint(count), count)


def above_total_loss(rate: ArrayLike, name: str) -> Array:
    """Return a rate as an array after checking that it is above -100 %.

    rate: any shape; name: the word for it in the message. Raises ValueError otherwise, also for NaN.
    """
    values = np.asarray(rate, dtype=np.float64)
    if not np.all(values > -1):
        raise ValueError(f"{name} must be above -100 %, got {values.min():.4g}")
    return values
