"""Lines of a cash flow as formulas: the same money as in `money.cashflow`, cell by cell."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from finsolar.money import cashflow as cf
from finsolar.report.workbook.cells import Cell, Formula, Line
from finsolar.report.workbook.costs import Later
from finsolar.scenario.paying import Lease, PerKwh
from finsolar.tariff.bills import COMPONENTS

if TYPE_CHECKING:
    from finsolar.report.workbook.plan import PlanSheet

Money = Callable[[int], Cell]


def flow_lines(of: PlanSheet) -> dict[str, tuple[str, Money]]:
    """Every line by its name: which kind of money it is, and its cell in each year."""
    lines = _owned(of)
    if of.borrowed is not None:
        lines |= _borrowed(of)
    return _others_own(of, lines) if of.pays_owner else lines


def _from_year_1(money: Callable[[int], str]) -> Money:
    return lambda year: Formula(money(year) if year else "0")


def _in_year(when: int, money: str) -> Money:
    return lambda year: Formula(money if year == when else "0")


def _owned(of: PlanSheet) -> dict[str, tuple[str, Money]]:
    """The lines of owning, before any loan."""
    years, later, index, built = of.years, of.later, of.inputs.index(None), of.built

    def granted(year: int) -> Formula:
        return _sum([row.at(year) for award, row in of.awards if award.upfront])

    lines: dict[str, tuple[str, Money]] = {
        "capital": (cf.INVESTMENT, _in_year(0, f"-{built.gross}")),
        "rebates": (cf.INVESTMENT, _in_year(0, _sum([cell for _, cell in of.rebates]))),
        cf.AWARDS: (cf.INVESTMENT, granted),
    }
    for component in COMPONENTS:
        before, after = of.stay.bill.get(component), of.bill.get(component)
        if before is not None or after is not None:
            saved = partial(_less, before, after)
            lines[cf.saving_line(component)] = (cf.OPERATION, _from_year_1(saved))
    lines["upkeep avoided"] = (cf.OPERATION, lambda year: Formula(of.stay.upkeep.at(year)))
    for kind in ("upkeep", "insurance"):
        lines[kind] = (cf.OPERATION, partial(_spent, later, kind))
    yearly = [row for award, row in of.awards if not award.upfront]
    if yearly:
        lines[cf.YEARLY_AWARDS] = (cf.OPERATION, lambda year: _sum([row.at(year) for row in yearly]))
    if of.taxes:
        lines[cf.AWARD_TAX] = (cf.OPERATION, lambda year: _sum([row.at(year) for _, row in of.taxes]))
    if cf.PROPERTY_TAX in of.result.cash.lines:
        tax = of.hold(cf.PROPERTY_TAX, lambda result: result.cash.lines[cf.PROPERTY_TAX])
        lines[cf.PROPERTY_TAX] = (cf.OPERATION, lambda year: float(tax[year]))
    lines["replacements"] = (cf.INVESTMENT, lambda year: Formula(f"-({later.sum_of('replacements', year)})"))
    lines["investment avoided"] = (cf.INVESTMENT, lambda year: Formula(of.stay.investment.at(year)))
    left = f"{built.left}*{index.at(years)}+{later.left()}"
    lines[cf.LEFT] = (cf.INVESTMENT, _in_year(years, left))
    if built.sold:
        lines[cf.RESOLD] = (
            cf.INVESTMENT,
            lambda year: _sum([f"{cell}*{index.at(year)}" for when, cell in built.sold if when == year]),
        )
    if "removal" in later.rows:
        lines[cf.REMOVAL] = (cf.INVESTMENT, lambda year: Formula(f"-({later.sum_of('removal', year)})"))
    return lines


def _borrowed(of: PlanSheet) -> dict[str, tuple[str, Money]]:
    """The lines of a loan, those that hold nothing now among them: other inputs may fill them."""
    loan = of.borrowed
    assert loan is not None  # only asked where there is one
    path = f"{of.path}.payment.loan.deductible"
    lines: dict[str, tuple[str, Money]] = {
        cf.LOAN_RECEIVED: (cf.FINANCING, _in_year(0, loan.principal)),
        cf.LOAN_FEE: (cf.FINANCING, _in_year(0, f"-{loan.fee}")),
        cf.LOAN_PAYMENTS: (cf.FINANCING, _from_year_1(lambda year: f"-{loan.payments[year - 1]}")),
        cf.DEALER_FEE: (cf.FINANCING, _in_year(0, f"-{loan.dealer_fee}")),
        cf.LOAN_PAYDOWN: (cf.FINANCING, _from_year_1(lambda year: f"-{loan.paid_in[year - 1]}")),
    }
    if of.inputs.known("household.marginal_tax"):
        share = f"{of.inputs.ref(path)}*{of.inputs.ref('household.marginal_tax')}"
        lines[cf.INTEREST_TAX] = (
            cf.FINANCING,
            _from_year_1(lambda year: f"{loan.interest_paid[year - 1]}*{share}"),
        )
    return lines


def _others_own(of: PlanSheet, lines: dict[str, tuple[str, Money]]) -> dict[str, tuple[str, Money]]:
    """The lines of a system that others own: what is paid for it, and what ends with its term."""
    payment, years = of.plan.payment, of.years
    assert isinstance(payment, Lease | PerKwh)  # only asked where others own it
    leased = isinstance(payment, Lease)
    terms = payment.lease if isinstance(payment, Lease) else payment.per_kwh
    path = f"{of.path}.payment.{'lease' if leased else 'per_kwh'}"
    index = of.inputs.index(f"{path}.rise")
    there = [1.0, *of.there]

    def served(money: Money) -> Money:
        return lambda year: money(year) if there[year] else Formula("0")

    found = {
        name: (kind, money if kind == cf.FINANCING or name == cf.RESOLD else served(money))
        for name, (kind, money) in lines.items()
    }
    if not there[years]:
        # What the household bought itself stays with it.
        found[cf.LEFT] = (cf.INVESTMENT, _in_year(years, f"{of.built.left}*{of.inputs.index(None).at(years)}"))
    if leased:
        price = of.inputs.ref(f"{path}.monthly")
        found[cf.LEASE] = (
            cf.OPERATION,
            _from_year_1(lambda year: f"-12*{price}*{index.at(year)}" if year <= terms.years else "0"),
        )
    else:
        price = of.inputs.ref(f"{path}.price")
        flows = of.result.position.flows
        made = np.broadcast_to((flows.solar - flows.curtailed).sum(axis=-1), (years,))
        kwh = of.sheet.line("What the system makes, kWh", [float(x) for x in made], first=1, form="#,##0")
        found[cf.PER_KWH] = (
            cf.OPERATION,
            _from_year_1(lambda year: f"-{price}*{index.at(year)}*{kwh.at(year)}" if year <= terms.years else "0"),
        )
    if terms.buyout is not None and terms.years < years:
        found[cf.BUYOUT] = (cf.INVESTMENT, _in_year(terms.years, f"-{of.inputs.ref(f'{path}.buyout')}"))
    return found


def _less(before: Line | None, after: Line | None, year: int) -> str:
    cells = ["0" if row is None else row.at(year) for row in (before, after)]
    return f"{cells[0]}-{cells[1]}"


def _spent(later: Later, kind: str, year: int) -> Formula:
    return Formula(f"-({later.sum_of(kind, year)})")


def _sum(cells: list[str]) -> Formula:
    return Formula("+".join(cells) if cells else "0")
