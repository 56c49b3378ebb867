"""The annual percentage rate of a loan, by the United States regulation and by the European one.

The two are different figures: the first is nominal (the rate of one unit-period times their number in a year,
odd days at simple interest), the second effective (compounded over the year, odd days in the exponent). Flows
are the borrower's: received positive, paid negative. A loan is received in full before the first payment, so
that its rate is the only one; anything else, and a loan without payments, has none, and NaN stands for it.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.money.metrics import internal_rates

Array = NDArray[np.float64]

_WIDEST = np.log(1e6)
# Newton's method squares the error, so a step this small is followed by one below the rounding of x.
_LAST_STEP = 1e-9
_ROUNDING = 1e-15
_MOST_STEPS = 120


def annual_percentage_rate(
    flows: ArrayLike, *, whole: ArrayLike | None = None, odd: ArrayLike = 0.0, per_year: ArrayLike = 12.0
) -> Array:
    """Annual percentage rate by the actuarial method of the United States regulation.

    flows: money (..., n), the amount financed first, every later payment negative; whole: full unit-periods
    from the first advance to each flow (..., n), default 0, 1, ... n - 1; odd: the fraction of a unit-period
    beside them (..., n), 0 or more and below 1; per_year: unit-periods in a year (...). Shapes broadcast.
    Returns the nominal rate per year (...); NaN where there is no loan, or no rate between -99.9999 % and
    +100,000,000 % per unit-period. Raises ValueError for numbers that are not finite or out of range.

    Equation: sum of A_k / ((1 + e_k i)(1 + i)^q_k) = sum of P_j / ((1 + f_j i)(1 + i)^t_j) with advances A after
    q whole and e odd unit-periods, payments P after t and f; APR = i times the unit-periods per year.
    Source: 12 CFR 1026 (Regulation Z), Appendix J, (b)(8). Up to 1/8 of a point off counts as accurate there,
    1/4 for irregular loans (1026.22(a)); this figure is not rounded.
    """
    money = np.asarray(flows, dtype=np.float64)
    full = np.asarray(np.arange(money.shape[-1]) if whole is None else whole, dtype=np.float64)
    part, times_a_year = np.asarray(odd, dtype=np.float64), np.asarray(per_year, dtype=np.float64)
    money, full, part = np.broadcast_arrays(money, full, part)
    if not np.isfinite(money).all():
        raise ValueError("flows must be finite to have a rate")
    if not (np.all(full >= 0) and np.all(full == np.rint(full)) and np.all((part >= 0) & (part < 1))):
        raise ValueError("whole unit-periods must be whole and 0 or more, odd ones a fraction below 1")
    if not np.all((times_a_year > 0) & np.isfinite(times_a_year)):
        raise ValueError("there must be a number of unit-periods in a year above 0")
    found = np.full(money.shape[:-1], np.nan)
    loan = _is_loan(money, full + part)
    if loan.any():
        found[loan] = _unit_period_rate(money[loan], full[loan], part[loan])
    return np.asarray(found * times_a_year)


def effective_annual_rate(flows: ArrayLike, years: ArrayLike) -> Array:
    """Annual percentage rate by the European method: the effective yearly rate of a loan.

    flows: money (..., n), the amount received first, every later payment negative; years: when (n,), strictly
    increasing, fractions allowed (payments by month: 0, 1/12, 2/12, ...). Returns the rate per year (...), NaN
    where there is no loan. Raises ValueError as `internal_rates`.
    Equation: sum of C_k / (1 + X)^t_k = sum of D_l / (1 + X)^s_l with advances C after t years, payments D after
    s. Source: Directive 2008/48/EC, Annex I, part I, as in 98/7/EC; printed there to one decimal, here not rounded.
    """
    money, when = np.asarray(flows, dtype=np.float64), np.asarray(years, dtype=np.float64)
    rates = internal_rates(money, when)
    return np.where(_is_loan(money, when), rates.headline, np.nan)


def odd_first_period(payments: int, first: ArrayLike, odd: ArrayLike) -> tuple[Array, Array]:
    """Unit-periods to each flow of a loan whose first payment comes sooner or later than the rest would have it.

    payments: how many, one unit-period apart; first, odd: whole unit-periods and the fraction of one from paying
    out to the first payment (...), shapes broadcast. Returns whole and odd, (..., payments + 1) each, for
    `annual_percentage_rate`. Equation: t_j = first + j - 1 and f_j = odd for payment j, 0 for the advance.
    Source: 12 CFR 1026 (Regulation Z), Appendix J, (b)(5): the fraction lies before the first payment.
    """
    whole, fraction = np.broadcast_arrays(np.asarray(first, dtype=np.float64), np.asarray(odd, dtype=np.float64))
    after = np.arange(payments + 1) > 0
    return np.where(after, whole[..., None] + np.arange(-1, payments), 0.0), np.where(after, fraction[..., None], 0.0)


def _is_loan(flows: Array, when: Array) -> NDArray[np.bool_]:
    """Whether something is received, and all of it before the first payment; (...)."""
    received = np.where(flows > 0, when, -np.inf).max(axis=-1, initial=-np.inf)
    paid = np.where(flows < 0, when, np.inf).min(axis=-1, initial=np.inf)
    return np.asarray(np.isfinite(received) & np.isfinite(paid) & (received < paid))


def _unit_period_rate(flows: Array, whole: Array, odd: Array) -> Array:
    """The one rate i (cases,) of loans: flows and their unit-periods (cases, n).

    Newton steps in x = ln(1 + i) on ln(worth of payments / worth of advances), which falls all the way since
    every payment is later than every advance, and is nearly a straight line; a step that leaves the bracket is a
    bisection.
    """
    low, high = np.full(len(flows), -_WIDEST), np.full(len(flows), _WIDEST)
    x = np.zeros(len(flows))
    payments, advances = (_side(amounts, whole, odd) for amounts in (-flows, flows))
    for _ in range(_MOST_STEPS):
        paid, paid_delay = _log_worth(*payments, x)
        received, received_delay = _log_worth(*advances, x)
        ratio = paid - received
        low, high = np.where(ratio > 0, x, low), np.where(ratio > 0, high, x)
        target = x + ratio / (paid_delay - received_delay)
        inside = (target >= low) & (target <= high)
        step = np.where(inside, target, (low + high) / 2) - x
        x = x + step
        if np.all(np.abs(step) <= np.where(inside, _LAST_STEP, _ROUNDING)):
            break
    # A search that ran into an edge was after a rate outside the range.
    return np.where(np.abs(x) < _WIDEST * (1 - 1e-9), np.expm1(x), np.nan)


def _side(amounts: Array, whole: Array, odd: Array) -> tuple[Array, Array, Array]:
    """ln of the amounts above zero and their unit-periods, without the places where no case has one."""
    used = np.flatnonzero((amounts > 0).any(axis=0))
    with np.errstate(divide="ignore"):
        return np.log(np.maximum(amounts[:, used], 0)), whole[:, used], odd[:, used]


def _log_worth(size: Array, whole: Array, odd: Array, x: Array) -> tuple[Array, Array]:
    """ln of the worth of amounts, and minus its slope in x: their mean delay weighted by worth; (cases,) each.

    The largest is taken out first, so that no power overflows.
    """
    growth = np.expm1(x)[:, None]
    exponents = size - whole * x[:, None] - np.log1p(odd * growth)
    largest = exponents.max(axis=-1, keepdims=True)
    weights = np.exp(exponents - largest)
    total = weights.sum(axis=-1)
    delay = whole + odd * (1 + growth) / (1 + odd * growth)
    return np.log(total) + largest[:, 0], np.einsum("cn,cn->c", weights, delay) / total
