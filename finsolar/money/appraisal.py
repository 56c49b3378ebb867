"""Every figure of merit of one cash flow, gathered from the kernels of ``metrics``."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from finsolar.money.cashflow import FINANCING, INVESTMENT, OPERATION, RUNNING, CashFlow
from finsolar.money.metrics import (
    InternalRates,
    adjusted_internal_rate,
    annualised,
    internal_rates,
    levelised_cost,
    modified_internal_rate,
    payback,
    present_value,
    savings_to_investment,
)
from finsolar.money.rates import real_rate

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Appraisal:
    """Figures (...), one a case; NaN where a figure does not exist (``reasons`` says why).

    npv : money; annual_value : level money a year worth the npv; the paybacks : years; irr, real_irr, mirr, airr
    : per year, irr as in ``return_on_outlay``; irrs : (..., roots), every internal rate, NaN-padded; sir : ratio;
    lcoe, real_lcoe : money per kWh of solar energy put to use.
    """

    npv: Array
    annual_value: Array
    simple_payback: Array
    simple_payback_lasting: Array
    discounted_payback: Array
    discounted_payback_lasting: Array
    irr: Array
    real_irr: Array
    irrs: Array
    sign_changes: NDArray[np.int64]
    mirr: Array
    sir: Array
    airr: Array
    lcoe: Array
    real_lcoe: Array


def appraise(cash: CashFlow, useful_kwh: Array, rate: Array, inflation: Array) -> Appraisal:
    """The figures of merit of a cash flow.

    useful_kwh : (..., years) solar energy used or sold; rate : nominal discount rate (...); inflation : (...).
    SIR, AIRR and LCOE look at the project alone, without its loan; the rest at the household's own money.
    """
    net = cash.net
    years = net.shape[-1] - 1
    npv = present_value(net, rate)
    simple, later = payback(net), payback(cash.discounted(rate))
    rates = internal_rates(net)
    irr = return_on_outlay(net, rates)
    sir = savings_to_investment(cash.of_kind(OPERATION), -cash.of_kind(INVESTMENT), rate)
    # What staying would have cost is no cost of the solar energy, so it stays out of its levelised cost.
    costs = cash.lines["investment avoided"] - cash.of_kind(INVESTMENT)
    costs = costs - sum(cash.lines[name] for name in RUNNING if name in cash.lines)
    energy = np.concatenate([np.zeros((*useful_kwh.shape[:-1], 1)), useful_kwh], axis=-1)
    # Real LCOE is the level price in today's money: nominal costs and the energy's worth, which rises with
    # inflation, brought to year 0 at the same nominal rate; so its energy is discounted at the real rate.
    real_energy = present_value(energy, real_rate(rate, inflation))
    lcoe = levelised_cost(costs, energy, rate)
    with np.errstate(divide="ignore", invalid="ignore"):
        real_lcoe = np.where(real_energy > 0, present_value(costs, rate) / real_energy, np.nan)
    return Appraisal(
        npv=npv,
        annual_value=annualised(npv, rate, years),
        simple_payback=simple.first,
        simple_payback_lasting=simple.lasting,
        discounted_payback=later.first,
        discounted_payback_lasting=later.lasting,
        irr=irr,
        real_irr=_real(irr, inflation),
        irrs=rates.roots,
        sign_changes=rates.sign_changes,
        mirr=modified_internal_rate(net, rate, rate),
        sir=sir,
        airr=adjusted_internal_rate(sir, rate, years),
        lcoe=lcoe,
        real_lcoe=np.asarray(real_lcoe),
    )


def return_on_outlay(net: Array, rates: InternalRates) -> Array:
    """The internal rate to quote, (...): the headline of ``rates``, NaN where money comes in before any goes out.

    There the household is a borrower: a higher rate is a worse bargain and must not be read as a return.
    Source: the lending and borrowing pair of Brealey, Myers and Allen, from memory.
    """
    traces = 1e-12 * np.abs(net).sum(axis=-1, keepdims=True)
    first = (np.abs(net) > traces).argmax(axis=-1)[..., None]
    laid_out = np.take_along_axis(net, first, axis=-1)[..., 0] < 0
    return np.where(laid_out, rates.headline, np.nan)


def _real(rate: Array, inflation: Array) -> Array:
    """The real rate, with "none" passed through."""
    return np.where(np.isnan(rate), np.nan, real_rate(np.nan_to_num(rate), inflation))


def reasons(appraisal: Appraisal, cash: CashFlow) -> dict[str, str]:
    """Why a figure of a single study does not exist, by the figure's name."""
    net = cash.net
    found: dict[str, str] = {}
    for field in fields(appraisal):
        value = getattr(appraisal, field.name)
        if field.name in {"irrs", "sign_changes"} or not np.isnan(value).any():
            continue
        if "payback" in field.name:
            total = "discounted running total" if field.name.startswith("discounted") else "running total"
            lasting = field.name.endswith("lasting")
            ends = "ends the study below zero" if lasting else "never reaches zero within the study"
            found[field.name] = f"the {total} {ends}"
        elif field.name in {"irr", "real_irr", "mirr"}:
            found[field.name] = _why_no_rate(net, appraisal.irrs, FINANCING in cash.kinds.values())
        elif field.name == "airr" and not np.isnan(appraisal.sir).any():
            found[field.name] = "savings less upkeep are worth less than nothing, so there is nothing to reinvest"
        elif field.name in {"sir", "airr"}:
            found[field.name] = "the investment, less awards, is not above zero"
        else:
            found[field.name] = "no solar energy is put to use"
    return found


def _why_no_rate(net: Array, irrs: Array, borrowed: bool) -> str:
    if not np.isnan(irrs).all():
        return "money comes in before any is laid out, so there is no outlay to earn a return"
    if borrowed and net[..., 0].min() >= 0:
        return "nothing is laid out at the start, so there is no outlay to earn a return"
    if (net > 0).any() and (net < 0).any():
        return "no rate makes these flows worth zero"
    return "the flows all have one sign"
