"""Figures of merit: what a series of yearly flows is worth, when it is paid back and what it returns.

Flows are (..., years + 1), time 0 first, money to the household positive; figures are (...), one per case. A
figure that does not exist (no payback, no rate of return, a ratio to nothing) is NaN inside these arrays, and
only there: the study turns it into null with a reason.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.money.rates import above_total_loss, annuity_factor, real_rate
from finsolar.money.roots import discounting_rates

Array = NDArray[np.float64]

_ROUNDING = 1e-12  # of all that moves: what is left of a zero


def discounted(flows: ArrayLike, rate: ArrayLike, times: ArrayLike | None = None) -> Array:
    """Bring each flow to time 0.

    flows: money (..., n); rate: per year, (...) or one for all; times: years (n,), default 0, 1, ... n-1, and
    may be fractional. Returns (..., n). Raises ValueError for a rate at or below -100 %.
    Equation: flow / (1 + rate)^time, so time 0 is undiscounted.
    """
    values = np.asarray(flows, dtype=np.float64)
    return np.asarray(values * _discount_factors(rate, times, values.shape[-1]))


def present_value(flows: ArrayLike, rate: ArrayLike, times: ArrayLike | None = None) -> Array:
    """Worth at time 0 of a series of flows; of the net flows, the net present value (NPV).

    Inputs and raises as `discounted`. Returns (...).
    Equation: sum of flow_t / (1 + rate)^t from t = 0. Source: ASTM E917, E1074.
    """
    values = np.asarray(flows, dtype=np.float64)
    return np.asarray(np.einsum("...t,...t->...", values, _discount_factors(rate, times, values.shape[-1])))


def deflated(flows: ArrayLike, inflation: ArrayLike, times: ArrayLike | None = None) -> Array:
    """Flows in the money of time 0, for the real figures beside the nominal ones.

    flows: money of the day (..., n); inflation: per year (...); times as in `discounted`. Returns (..., n).
    Raises ValueError for inflation at or below -100 %.
    Equation: flow / (1 + inflation)^time. At the real rate these flows are worth what the others are at the
    nominal one, so there is one present value and one ratio of present values, not a real one beside it.
    Source: Fisher identity.
    """
    return discounted(flows, above_total_loss(inflation, "inflation"), times)


def annualised(value: ArrayLike, rate: ArrayLike, years: ArrayLike) -> Array:
    """Level amount at the end of each year that is worth as much as a present value.

    value: money (...); rate: per year; years: 1 or more; shapes broadcast. Returns money per year (...).
    Raises ValueError for fewer than one year or a rate at or below -100 %.
    Equation: value / annuity_factor(rate, years); at rate 0 value / years.
    """
    if np.any(np.asarray(years) < 1):
        raise ValueError("an annual value needs at least one year")
    return np.asarray(np.asarray(value, dtype=np.float64) / annuity_factor(rate, years))


@dataclass(frozen=True)
class Payback:
    """Years until the running total is back at zero; (...) each, NaN for never."""

    first: Array
    """The first time it gets there, whatever comes later."""
    lasting: Array
    """The last time it climbs there from below; NaN if it ends below zero."""


def payback(flows: ArrayLike) -> Payback:
    """Find when a running total of flows reaches zero, for the first time and for good.

    flows: money (..., years + 1). Returns `Payback`, years on a straight line inside the year of crossing;
    0.0 for a total never below zero. Discounted payback is `payback(discounted(flows, rate))`.
    A total within 1e-12 of the sum of absolute flows counts as zero, since it is rounding.
    Source: ASTM E1121 for the definition; the last crossing is the payback that survives a replacement.
    """
    values = np.asarray(flows, dtype=np.float64)
    total = values.cumsum(axis=-1)
    rounding = _ROUNDING * np.abs(values).sum(axis=-1, keepdims=True)
    total = np.where(np.abs(total) <= rounding, 0.0, total)
    before, after = total[..., :-1], total[..., 1:]
    climbs = (before < 0) & (after >= 0)
    step = np.where(climbs, after - before, 1.0)
    when = np.where(climbs, np.arange(before.shape[-1]) - before / step, np.nan)
    # A start at or above zero is a crossing at time 0, unless a later climb outlasts it.
    when = np.concatenate([np.where(total[..., :1] >= 0, 0.0, np.nan), when], axis=-1)
    first = np.asarray(np.fmin.reduce(when, axis=-1))
    lasting = np.where(total[..., -1] >= 0, np.fmax.reduce(when, axis=-1), np.nan)
    return Payback(first=first, lasting=lasting)


@dataclass(frozen=True)
class InternalRates:
    """Every rate of return of a series, and the one to quote."""

    roots: Array
    """Rates per unit of time, ascending, padded with NaN; (..., most roots of any case)."""
    count: NDArray[np.int64]
    """How many there are; (...)."""
    headline: Array
    """The smallest at or above zero, else the negative one nearest to it, else NaN; (...)."""
    sign_changes: NDArray[np.int64]
    """How often the flows change sign, zeros left out: the most roots there could be; (...)."""


def internal_rates(flows: ArrayLike, times: ArrayLike | None = None) -> InternalRates:
    """Find every rate at which the flows are worth nothing (IRR; XIRR with dates as times).

    flows: money (..., n); times: (n,), strictly increasing, default 0, 1, ...; the rates are per unit of time
    (flows by month: per month). Returns `InternalRates`. A series whose flows never change sign has none. A
    rate where the worth touches zero without crossing is one root. Raises ValueError for flows that are not
    finite or times that do not fit. Range, method and precision: `roots.discounting_rates`.
    """
    values = np.asarray(flows, dtype=np.float64)
    cases = values.shape[:-1]
    when = _times(times, values.shape[-1])
    found, changes = discounting_rates(values.reshape(-1, values.shape[-1]), when)
    ahead: Array = np.fmin.reduce(np.where(found >= 0, found, np.nan), axis=-1)
    behind: Array = np.fmax.reduce(np.where(found < 0, found, np.nan), axis=-1)
    return InternalRates(
        roots=found.reshape(*cases, found.shape[-1]),
        count=np.count_nonzero(np.isfinite(found), axis=-1).reshape(cases),
        headline=np.where(np.isfinite(ahead), ahead, behind).reshape(cases),
        sign_changes=changes.reshape(cases),
    )


def modified_internal_rate(flows: ArrayLike, finance_rate: ArrayLike, reinvestment_rate: ArrayLike) -> Array:
    """Return on a series whose receipts are put to work at one rate and whose outlays cost another (MIRR).

    flows: money (..., years + 1); both rates per year (...). Returns (...), NaN without both an inflow and an
    outflow. Raises ValueError for a rate at or below -100 % or fewer than two flows.
    Equation: (FV of positive flows at the reinvestment rate / PV of negative flows at the finance
    rate)^(1/years) - 1. Source: the definition common to spreadsheets. A flow within 1e-12 of the sum of absolute
    flows counts as zero, since it is rounding.
    """
    values = np.asarray(flows, dtype=np.float64)
    values = np.where(np.abs(values) > _ROUNDING * np.abs(values).sum(axis=-1, keepdims=True), values, 0.0)
    years = values.shape[-1] - 1
    if years < 1:
        raise ValueError("a modified rate of return needs at least two flows")
    reinvested = above_total_loss(reinvestment_rate, "reinvestment rate")
    inflows = present_value(np.maximum(values, 0), reinvested)
    outflows = present_value(np.maximum(-values, 0), finance_rate)
    ratio = _ratio(np.where(inflows > 0, inflows, np.nan), outflows)
    return np.asarray((1 + reinvested) * ratio ** (1 / years) - 1)


def savings_to_investment(savings: ArrayLike, investment: ArrayLike, rate: ArrayLike) -> Array:
    """Present value of what is saved over present value of what is invested (SIR).

    savings: money (..., years + 1), energy savings less extra upkeep; investment: money (..., years + 1),
    positive as a COST: capital - awards + replacements - residual value; rate: per year (...). Returns (...),
    NaN where the investment is worth nothing or less. Raises ValueError for a rate at or below -100 %.
    Source: 10 CFR 436.21, ASTM E964: replacements belong to the investment, never to the savings.
    An investment worth no more than 1e-12 of all these amounts counts as none, since it is rounding.
    """
    saved, invested = np.asarray(savings, dtype=np.float64), np.asarray(investment, dtype=np.float64)
    rounding = _ROUNDING * (np.abs(saved).sum(axis=-1) + np.abs(invested).sum(axis=-1))
    below = present_value(invested, rate)
    return _ratio(present_value(saved, rate), np.where(below > rounding, below, 0.0))


def adjusted_internal_rate(sir: ArrayLike, rate: ArrayLike, years: ArrayLike) -> Array:
    """Yearly return on an investment whose savings are reinvested at the discount rate (AIRR).

    sir: from `savings_to_investment` (...); rate: per year; years: length of the study, 1 or more. Returns
    (...), NaN where the ratio is NaN or negative. Raises ValueError for fewer than one year or a rate at or
    below -100 %.
    Equation: (1 + rate) sir^(1/years) - 1. Source: 10 CFR 436.22, ASTM E1057.
    """
    if np.any(np.asarray(years) < 1):
        raise ValueError("an adjusted rate of return needs at least one year")
    ratio = np.asarray(sir, dtype=np.float64)
    root = np.where(ratio >= 0, ratio, np.nan) ** (1 / np.asarray(years, dtype=np.float64))
    return np.asarray((1 + above_total_loss(rate, "discount rate")) * root - 1)


def levelised_cost(costs: ArrayLike, energy: ArrayLike, rate: ArrayLike) -> Array:
    """Flat price per kWh that just pays for the costs (LCOE).

    costs: money (..., years + 1), positive; energy: kWh (..., years + 1); rate: per year (...), real for a
    real cost, nominal for a nominal one. Returns money per kWh (...), NaN where there is no energy. Raises
    ValueError for a rate at or below -100 %.
    Equation: present_value(costs) / present_value(energy): the energy is discounted too.
    Source: Short, Packey and Holt, NREL/TP-462-5173 (1995).
    """
    return _ratio(present_value(costs, rate), present_value(energy, rate))


@dataclass(frozen=True)
class LevelisedCost:
    """A flat price per kWh that just pays; (...) each, NaN where there is no energy."""

    nominal: Array
    """The same number in the money of every year."""
    real: Array
    """In the money of time 0: a price that rises with inflation."""


def levelised_costs(costs: ArrayLike, energy: ArrayLike, rate: ArrayLike, inflation: ArrayLike) -> LevelisedCost:
    """Levelised cost of the same energy in nominal and in real terms.

    costs: money of the day (..., years + 1), positive; energy: kWh (..., years + 1); rate: nominal, per year
    (...); inflation: per year (...). Returns `LevelisedCost`. Raises as `levelised_cost`.
    Equation: the costs are worth the same either way; a real price rises with inflation, so in its divisor the
    energy is discounted at the real rate. Source: Short, Packey and Holt, NREL/TP-462-5173 (1995).
    """
    real_energy = present_value(energy, real_rate(rate, inflation))
    return LevelisedCost(
        nominal=levelised_cost(costs, energy, rate),
        real=_ratio(present_value(costs, rate), real_energy),
    )


def _ratio(above: Array, below: Array) -> Array:
    """Divide where the divisor is positive, NaN elsewhere."""
    positive = below > 0
    return np.where(positive, above / np.where(positive, below, 1.0), np.nan)


def _discount_factors(rate: ArrayLike, times: ArrayLike | None, count: int) -> Array:
    """(1 + rate)^-time as (..., count) for rates (...)."""
    force = np.log1p(above_total_loss(rate, "discount rate"))
    return np.asarray(np.exp(force[..., None] * -_times(times, count)))


def _times(times: ArrayLike | None, count: int) -> Array:
    """The moments of the flows in years (count,), by default 0, 1, 2 and so on."""
    if times is None:
        return np.arange(count, dtype=np.float64)
    moments = np.asarray(times, dtype=np.float64)
    if moments.shape != (count,):
        raise ValueError(f"{count} flows need {count} times, got the shape {moments.shape}")
    return moments
