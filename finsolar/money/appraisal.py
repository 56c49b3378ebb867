"""Every figure of merit of one cash flow, gathered from the kernels of ``metrics``."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.money.cashflow import FINANCING, INVESTMENT, OPERATION, WORTH, CashFlow
from finsolar.money.energy_cost import PAYS_WITHOUT, backup_cost, cost_of_energy
from finsolar.money.metrics import (
    InternalRates,
    adjusted_internal_rate,
    annualised,
    deflated,
    internal_rates,
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

    npv : money; annual_value : level money a year worth the npv, the same number each year; real_annual_value :
    the same in today's money, rising with inflation; the paybacks : years; irr, mirr, airr : per year, irr as in
    ``return_on_outlay``; irrs : (..., roots), every internal rate, NaN-padded; sir : ratio; lcoe, real_lcoe : money
    per kWh of solar energy put to use, of the whole system; lcoe_solar, real_lcoe_solar : the same of the sun alone,
    without what its battery costs and takes; backup_cost : today's money per kWh of backup. A ``real_`` figure is that
    of the flows in today's money. The npv, the sir and the discounted payback are one and the same in both.
    """

    npv: Array
    annual_value: Array
    real_annual_value: Array
    simple_payback: Array
    simple_payback_lasting: Array
    real_simple_payback: Array
    real_simple_payback_lasting: Array
    discounted_payback: Array
    discounted_payback_lasting: Array
    irr: Array
    real_irr: Array
    irrs: Array
    sign_changes: NDArray[np.int64]
    mirr: Array
    real_mirr: Array
    sir: Array
    airr: Array
    real_airr: Array
    lcoe: Array
    real_lcoe: Array
    lcoe_solar: Array
    real_lcoe_solar: Array
    backup_cost: Array


def appraise(
    cash: CashFlow,
    useful_kwh: Array,
    rate: Array,
    inflation: Array,
    *,
    battery: ArrayLike = 0.0,
    sun_kwh: Array | None = None,
    backup_kwh: Array | None = None,
) -> Appraisal:
    """The figures of merit of a cash flow.

    useful_kwh : (..., years) solar energy used or sold; rate : nominal discount rate (...); inflation : (...).
    battery : (..., years + 1) what of the costs is the battery's, nothing without one; sun_kwh : (..., years) what the
    sun gave before a battery took its part, all that is useful without one; backup_kwh : (..., years) drawn while the
    grid is down, None for none.
    SIR, AIRR and LCOE look at the project alone, without its loan and without the worth of backup; the rest at the
    household's own money.
    """
    net = cash.net
    years = net.shape[-1] - 1
    npv = present_value(net, rate)
    simple, later, real = payback(net), payback(cash.discounted(rate)), payback(deflated(net, inflation))
    rates = internal_rates(net)
    irr = return_on_outlay(net, rates)
    mirr = modified_internal_rate(net, rate, rate)
    sir = savings_to_investment(cash.of_kind(OPERATION), -cash.of_kind(INVESTMENT), rate)
    airr = adjusted_internal_rate(sir, rate, years)
    lcoe = cost_of_energy(cash, useful_kwh, rate, inflation)
    without_worth = npv
    if WORTH in cash.kinds.values():
        without_worth = present_value(net - cash.of_kind(WORTH), rate)
    alone = cost_of_energy(cash, useful_kwh if sun_kwh is None else sun_kwh, rate, inflation, battery)
    return Appraisal(
        npv=npv,
        annual_value=annualised(npv, rate, years),
        real_annual_value=annualised(npv, real_rate(rate, inflation), years),
        simple_payback=simple.first,
        simple_payback_lasting=simple.lasting,
        real_simple_payback=real.first,
        real_simple_payback_lasting=real.lasting,
        discounted_payback=later.first,
        discounted_payback_lasting=later.lasting,
        irr=irr,
        real_irr=_real(irr, inflation),
        irrs=rates.roots,
        sign_changes=rates.sign_changes,
        mirr=mirr,
        real_mirr=_real(mirr, inflation),
        sir=sir,
        airr=airr,
        real_airr=_real(airr, inflation),
        lcoe=lcoe.nominal,
        real_lcoe=lcoe.real,
        lcoe_solar=alone.nominal,
        real_lcoe_solar=alone.real,
        backup_cost=backup_cost(without_worth, np.zeros(years) if backup_kwh is None else backup_kwh, rate, inflation),
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
    """The real rate; "none" is passed through, and a total loss is one in any money."""
    some = rate > -1
    return np.where(some, real_rate(np.where(some, rate, 0.0), inflation), rate)


_TOTALS = {
    "simple": "running total",
    "real": "running total in today's money",
    "discounted": "discounted running total",
}


def reasons(appraisal: Appraisal, cash: CashFlow, no_backup: str | None = None) -> dict[str, str]:
    """Why a figure of a single study does not exist, by the figure's name; of a batch, in its cases without it.

    ``no_backup`` says why no kWh of backup are drawn, None where some are.
    """
    net = cash.net
    borrowed = FINANCING in cash.kinds.values()
    worth_first = (net[..., 0] >= 0) & ((net - cash.of_kind(WORTH))[..., 0] < -1e-9)
    found: dict[str, str] = {}
    for field in fields(appraisal):
        value = getattr(appraisal, field.name)
        if field.name in {"irrs", "sign_changes"} or not np.isnan(value).any():
            continue
        if "payback" in field.name:
            lasting = field.name.endswith("lasting")
            ends = "ends the study below zero" if lasting else "never reaches zero within the study"
            found[field.name] = f"the {_TOTALS[field.name.split('_')[0]]} {ends}"
        elif field.name in {"irr", "real_irr", "mirr", "real_mirr"}:
            found[field.name] = why_no_rate(np.isnan(value), net, appraisal.irrs, borrowed)
            if worth_first.any():
                found[field.name] = "the worth of backup at the start makes up for the outlay, which so earns no return"
        elif field.name in {"airr", "real_airr"} and not np.isnan(appraisal.sir).any():
            found[field.name] = "savings less upkeep are worth less than nothing, so there is nothing to reinvest"
        elif field.name in {"sir", "airr", "real_airr"}:
            found[field.name] = "the investment, less awards, is not above zero"
        elif field.name == "backup_cost":
            found[field.name] = no_backup or PAYS_WITHOUT
        elif field.name in {"lcoe_solar", "real_lcoe_solar"}:
            found[field.name] = "the sun gives no energy"
        else:
            found[field.name] = "no solar energy is put to use"
    return found


def why_no_rate(cases: NDArray[np.bool_], net: Array, irrs: Array, borrowed: bool) -> str:
    """Why ``cases`` (...), one at least, of a net (..., years + 1) with roots ``irrs`` have no rate of return."""
    net, irrs = (np.broadcast_to(row, (*cases.shape, row.shape[-1]))[cases] for row in (net, irrs))
    if not np.isnan(irrs).all():
        return "money comes in before any is laid out, so there is no outlay to earn a return"
    if borrowed and net[..., 0].min() >= 0:
        return "nothing is laid out at the start, so there is no outlay to earn a return"
    if (net > 0).any() and (net < 0).any():
        return "no rate makes these flows worth zero"
    return "the flows all have one sign" if net.any() else "there is no money in any year"
