"""The study as plain values: what ``--json`` writes and every other view reads its numbers from.

Keys are stable. Money and energy are unrounded; a figure that does not exist is ``null`` and its reason stands
under ``reasons``.
"""

from __future__ import annotations

from dataclasses import asdict, fields
from typing import TYPE_CHECKING, Any

import numpy as np

from finsolar.energy.flows import load_from_sun, useful_kwh
from finsolar.money.appraisal import Appraisal
from finsolar.money.cashflow import INVESTMENT, OPERATION, RESOLD
from finsolar.money.costs import covered_in, due_in
from finsolar.money.loan import by_year
from finsolar.report.assumed_table import assumptions_as_plain, sources_as_plain, stated_as_plain
from finsolar.report.backup_values import backup_as_plain, no_backup, outages_as_plain
from finsolar.report.cases import uncertainty_as_plain, what_matters_as_plain
from finsolar.report.days import days_as_plain
from finsolar.report.lenders_tables import day_one
from finsolar.report.numbers import value, values
from finsolar.report.off_grid_values import line_as_plain, off_grid_as_plain
from finsolar.report.other_numbers import other_numbers_as_plain
from finsolar.report.outage_values import outage_as_plain
from finsolar.report.periods import periods_as_plain
from finsolar.report.reserve_values import reserve_as_plain
from finsolar.report.rises import sweep_as_plain
from finsolar.report.tariffs import tariffs_as_plain
from finsolar.report.varied import map_as_plain
from finsolar.report.words import reasons_told
from finsolar.report.words.compared import ranking_reason
from finsolar.report.words.drawn import verdict
from finsolar.report.words.sureness import hours_notes
from finsolar.report.words.terms import NEVER_BACK

if TYPE_CHECKING:
    from finsolar.incentives.facts import Award
    from finsolar.incentives.slip import Cliff, Slip
    from finsolar.money.borrowing import LoanLife
    from finsolar.money.compare import OwnLabour, OwnWork, Pair
    from finsolar.money.ranking import Place
    from finsolar.results import Position, Result, Study
    from finsolar.scenario.schema import Tariff, UpkeepLine
    from finsolar.tariff.bills import Bill
    from finsolar.tariff.drawer import Drawer
    from finsolar.uncertainty.break_even import BreakEven, Turn
    from finsolar.uncertainty.foresight import Foresight
    from finsolar.uncertainty.sunlight import SunSpread

SCHEMA = "finsolar-study/1"

WORTH = ("worth_per_hour", "worth", "npv_less_worth")

ENERGY = ("load", "solar", "self_used", "charge", "charge_bought", "discharge", "battery_loss", "idle",
          "curtailed", "clipped", "unserved", "generator", "generator_hours")  # fmt: skip
"""Yearly sums of ``Flows`` under the names they have there; kWh, the last in hours."""


def study_as_plain(study: Study) -> dict[str, Any]:
    """A single study as dicts, lists, numbers and text. Raises ValueError for a batch, which has no one answer."""
    if any(result.appraisal.npv.ndim for result in study.results):
        raise ValueError("a study of many cases has no single set of figures; read its arrays")
    settings, cases = study.settled.study, uncertainty_as_plain(study)
    return {
        "schema": SCHEMA,
        "scenario": study.scenario.model_dump(mode="json", exclude_none=True),
        "settings": {
            "currency": study.scenario.currency,
            "years": settings.years,
            "discount_rate": value(study.discount_rate),
            "inflation": value(settings.inflation),
        },
        "notes": [*study.notes, *hours_notes(cases, study.scenario.currency)],
        "stated": stated_as_plain(study.scenario),
        "assumptions": assumptions_as_plain(study),
        "sources": sources_as_plain(study),
        "tariffs": tariffs_as_plain(study),
        "drawer": None if study.drawer is None else _drawer(study.drawer, study.scenario.currency),
        "outages": outages_as_plain(study),
        "stay": {
            "energy": _energy(study.stay)
            | days_as_plain(study.stay.hourly, study.site.clock, grid=study.settled.tariff is not None),
            "bill": _bill_of_staying(study),
            "other_costs": {
                "investment": values(study.stay_costs.investment),
                "upkeep": values(study.stay_costs.upkeep),
            },
        },
        "alternatives": [
            plan | {"day_one": day_one(plan)}
            for plan in (_alternative(result, study, i) for i, result in enumerate(study.results))
        ],
        "comparison": {
            "pairs": [_pair(pair) for pair in study.pairs],
            "ranking": [_place(place) for place in study.ranking.order],
            "orders_agree": study.ranking.turned is None,
            "ranking_reason": ranking_reason(study.ranking, float(study.discount_rate), study.scenario.currency),
            "own_labour": [_own_labour(own) for own in study.own_labour],
            "own_work": [_own_work(work) for work in study.own_work],
        },
        "sensitivity": [sweep_as_plain(sweep) for sweep in study.sensitivity],
        "sunlight": None if study.sunlight is None else _sunlight(study.sunlight),
        "break_even": None if study.break_even is None else _break_even(study.break_even),
        "uncertainty": cases,
        "what_matters": what_matters_as_plain(study),
        "map": None if study.map is None else map_as_plain(study.map),
        "other_numbers": other_numbers_as_plain(study),
    }


def _upkeep(line: UpkeepLine, due: Any) -> dict[str, Any]:
    """A cost that comes back; ``cost`` and ``labour`` today's money, ``covered`` : the years without cost of parts."""
    return {
        "item": line.item,
        "category": line.category,
        "cost": value(line.cost),
        "labour": value(line.labour),
        "due": [int(k) + 1 for k in np.flatnonzero(due)],
        "warranty_years": line.warranty_years,
        "covered": [int(k) + 1 for k in np.flatnonzero(covered_in(line, due))],
    }


def _alternative(result: Result, study: Study, i: int) -> dict[str, Any]:
    """One alternative; ``price`` of a cost line is the expected one, ``chance`` times its ``full_price``."""
    years, tariff = study.settled.study.years, _tariff_of(result)
    system = result.plan.system
    return {
        "name": result.name,
        "in_service": result.in_service.isoformat(),
        "installation_completed": result.completed.isoformat(),
        "own_hours": value(np.max(result.plan.own_hours)),
        "array_kw": value(sum(array.kw for array in system.arrays)) if system.arrays else None,
        "battery_kwh": value(0.0 if system.battery == "none" else system.battery.kwh),
        "costs": {
            "lines": [
                {
                    "item": line.item,
                    "category": line.category,
                    "chance": value(line.chance),
                    "full_price": value(line.full_price),
                    "price": value(line.price),
                    "sales_tax": value(line.sales_tax),
                    "contingency": value(line.contingency),
                    "total": value(line.total),
                }
                for line in result.costs
            ],
            "gross": value(result.gross),
            "eligible": value(max((float(award.basis) for award in result.awards), default=0.0)),
            "rebates": value(result.rebates),
            "rebate_lines": [{"item": one.item, "amount": value(one.amount)} for one in result.plan.rebates],
            "awards": value(result.awarded),
            "yearly_awards": value(sum(float(award.amounts.sum()) for award in result.awards if not award.upfront)),
            "net": value(result.net_cost),
            "sold_again": value(np.sum(result.cash.lines.get(RESOLD, 0.0))),
        },
        "upkeep": [_upkeep(line, due_in(line, years, result.run.worn_out)) for line in result.plan.upkeep],
        "incentives": [_award(award) for award in result.awards],
        "slip": _slip(study.slips[i]) if study.slips else None,
        "energy": _energy(result.position)
        | _battery(result)
        | days_as_plain(result.position.hourly, study.site.clock, grid=tariff is not None),
        "bills": {
            "before": _bill_of_staying(study),
            "after": _bill(result.position.bill, years)
            | {"by_period": periods_as_plain(result.position, tariff, years, result.in_service)},
            "first_year_saving": value(result.first_year_saving),
        },
        "cash_flow": {
            "year": list(range(result.cash.net.shape[-1])),
            "lines": {name: values(line) for name, line in _full_lines(result).items()},
            "net": values(result.cash.net),
            "before_loan": values(result.cash.of_kind(INVESTMENT, OPERATION)),
            "running_total": values(result.cash.running),
            "discounted": values(result.cash.discounted(study.discount_rate)),
            "discounted_running_total": values(np.cumsum(result.cash.discounted(study.discount_rate), axis=-1)),
        },
        "loan": _loan(result),
        "battery_warranty": _warranty(result),
        "bound": _foresight(study.foresight[i]) if study.foresight else None,
        "outage": _outage(study, i) if study.outages else None,
        "off_grid": off_grid_as_plain(found) if study.off_grid and (found := study.off_grid[i]) else None,
        "line": line_as_plain(line) if study.lines and (line := study.lines[i]) else None,
        "metrics": _metrics(result.appraisal),
        "reasons": dict(result.reasons),
    }


def _outage(study: Study, i: int) -> dict[str, Any]:
    """When the grid is down, and what a ``reserve`` for it costs, ``null`` where that was not looked into; ``backup``
    is ``null`` in a house that is to expect outages for the reason ``no_backup``."""
    reserve = reserve_as_plain(study.reserves[i]) if study.reserves else None
    backup, why = backup_as_plain(study, i), no_backup(study, i)
    return outage_as_plain(study.outages[i], study.site.clock) | {
        "reserve": reserve, "backup": backup, "no_backup": why,
    }  # fmt: skip


def _full_lines(result: Result) -> dict[str, Any]:
    shape = result.cash.net.shape
    return {name: np.broadcast_to(line, shape) for name, line in result.cash.lines.items()}


def _metrics(appraisal: Appraisal) -> dict[str, Any]:
    found: dict[str, Any] = {
        field.name: value(getattr(appraisal, field.name)) for field in fields(appraisal) if field.name != "irrs"
    }
    found["sign_changes"] = int(appraisal.sign_changes)
    found["irrs"] = [rate for rate in values(appraisal.irrs) if rate is not None]
    return found


def _award(award: Award) -> dict[str, Any]:
    return {
        "rule": award.rule_id,
        "title": award.title,
        "kind": award.kind,
        "status": award.status,
        "upfront": award.upfront,
        "amounts": values(award.amounts),
        "tax": values(award.tax),
        "worth": value(award.worth),
        "basis": value(award.basis),
        "potential": value(award.potential),
        "ledger": [{"step": step.label, "amount": value(step.amount), "unit": step.unit} for step in award.ledger],
        "lines": [line._asdict() for line in award.line_reasons],
        "reasons": list(award.reasons),
        "reference": award.reference,
        "checked_on": award.checked_on.isoformat(),
        "known": award.known,
    }


def _slip(slip: Slip) -> dict[str, Any]:
    def plain(cliff: Cliff) -> dict[str, Any]:
        return {
            "in_service": cliff.day.isoformat(),
            "rule": cliff.rule_id,
            "title": cliff.title,
            "event": cliff.event,
            "event_day": cliff.event_day.isoformat(),
            "known": cliff.known,
            "before": value(cliff.before),
            "after": value(cliff.after),
            "total_before": value(cliff.total_before),
            "total_after": value(cliff.total_after),
        }

    return {
        "days": [
            {
                "in_service": day.isoformat(),
                "total": value(total),
                "by_rule": {rule: value(row[k]) for rule, row in slip.by_rule.items()},
            }
            for k, (day, total) in enumerate(zip(slip.days, slip.totals, strict=True))
        ],
        "cliffs": [plain(cliff) for cliff in slip.cliffs],
        "next": None if slip.next is None else plain(slip.next),
    }


def _energy(position: Position) -> dict[str, Any]:
    flows = position.flows
    found: dict[str, Any] = {name: values(getattr(flows, name).sum(axis=-1)) for name in ENERGY}
    found["load_from_sun"] = values(load_from_sun(flows).sum(axis=-1))
    found["useful"] = values(useful_kwh(flows))
    found["imported"] = values(flows.imported.sum(axis=(-1, -2)))
    found["exported"] = values(flows.exported.sum(axis=(-1, -2)))
    found["fuel_litres"] = values(position.litres.sum(axis=-1))
    found["first_year_by_month"] = {
        "load": values(flows.load[0]),
        "load_from_sun": values(load_from_sun(flows)[0]),
        "solar": values(flows.solar[0]),
        "imported": values(flows.imported[0].sum(axis=-1)),
        "exported": values(flows.exported[0].sum(axis=-1)),
        "generator": values(flows.generator[0]),
        "unserved": values(flows.unserved[0]),
    }
    return found


def _battery(result: Result) -> dict[str, Any]:
    return {
        "battery_capacity": values(result.run.capacity),
        "battery_cycles": values(result.run.cycles),
        "battery_renewed_after": [int(year) + 1 for year in np.flatnonzero(result.run.renewed)],
    }


def _warranty(result: Result) -> dict[str, Any] | None:
    if result.warranty is None:
        return None
    years = value(result.warranty.years)
    ended_by = "throughput" if bool(result.warranty.by_throughput) else "age"
    return {"years": years, "ended_by": None if years is None else ended_by}


def _drawer(drawer: Drawer, currency: str) -> dict[str, Any]:
    return {
        "bills": [
            {
                "first_day": each.bill.first_day.isoformat(),
                "last_day": each.bill.last_day.isoformat(),
                "days": each.days,
                "kwh": value(each.bill.kwh),
                "billed": value(each.bill.amount),
                "computed": value(each.computed),
                "difference": value(each.difference),
                "by_meter": each.by_meter,
                "lines": [{"name": name, "amount": value(amount)} for name, amount in each.lines],
            }
            for each in drawer.bills
        ],
        "billed": value(drawer.billed),
        "computed": value(drawer.computed),
        "difference": value(drawer.difference),
        "error": drawer.error,
        "verdict": verdict(drawer, currency),
    }


def _foresight(found: Foresight) -> dict[str, Any]:
    return asdict(found) | {"share": found.share}


def _bill(bill: Bill, years: int) -> dict[str, Any]:
    return {
        "by_year": {name: values(bill.yearly(name)) for name in bill.components},
        "total_by_year": values(np.broadcast_to(bill.total, (years,))),
        "first_year_by_month": {name: values(amount[0]) for name, amount in bill.components.items()},
        "first_year_total_by_month": values(bill.monthly_total[0]),
    }


def _bill_of_staying(study: Study) -> dict[str, Any]:
    settings = study.settled.study
    told = periods_as_plain(study.stay, study.settled.tariff, settings.years, settings.in_service)
    return _bill(study.stay.bill, settings.years) | {"by_period": told}


def _tariff_of(result: Result) -> Tariff | None:
    """The tariff by which an alternative is supplied; none off the grid."""
    return None if result.plan.system.operation == "off grid" else result.plan.tariff


def _pair(pair: Pair) -> dict[str, Any]:
    return {
        "dearer": pair.dearer,
        "cheaper": pair.cheaper,
        "extra_outlay": value(pair.extra_outlay),
        "extra_saving_first_year": value(pair.extra_saving_first_year),
        "extra_saving": value(pair.extra_saving),
        "extra_npv": value(pair.extra_npv),
        "irr": value(pair.irr),
        "irrs": [rate for rate in values(pair.irrs) if rate is not None],
        "simple_payback": value(pair.simple_payback),
        "discounted_payback": value(pair.discounted_payback),
        "reasons": dict(pair.reasons),
    }


def _sunlight(spread: SunSpread) -> dict[str, Any]:
    return {
        "input": reasons_told.SUNLIGHT,
        "values": values(spread.brightness),
        "alternatives": [
            {
                "name": name,
                "solar": values(spread.solar[i]),
                "first_year_saving": values(spread.saving[i]),
                "unserved": values(spread.unserved[i]),
                "npv": values(spread.npv[i]),
                "simple_payback": values(spread.simple_payback[i]),
            }
            for i, name in enumerate(spread.names)
        ],
    }


def _place(place: Place) -> dict[str, Any]:
    """Where one way to go stands; ``stay`` marks staying as you are, which has no payback for want of an outlay."""
    back = value(place.by_payback)
    why = reasons_told.NO_OUTLAY if place.stay else NEVER_BACK
    return {
        "name": place.name,
        "stay": place.stay,
        "npv": value(place.npv),
        "by_npv": int(place.by_npv),
        "simple_payback": value(place.simple_payback),
        "by_payback": None if back is None else int(back),
        "reasons": {} if back is not None else dict.fromkeys(("simple_payback", "by_payback"), why),
    }


def _own_labour(own: OwnLabour) -> dict[str, Any]:
    """What own hours earned; what they are worth to the household is ``null`` where the scenario does not say."""
    work = dict.fromkeys(WORTH) if own.work is None else {name: value(getattr(own.work, name)) for name in WORTH}
    return {
        "name": own.name,
        "against": own.against,
        "hours": value(own.hours),
        "saved": value(own.saved),
        "per_hour": value(own.per_hour),
        "npv_per_hour": value(own.npv_per_hour),
        **work,
        "pays": None if own.pays is None else bool(own.pays),
        "reasons": {} if own.work is not None else dict.fromkeys((*WORTH, "pays"), reasons_told.NO_HOUR_WORTH),
    }


def _own_work(work: OwnWork) -> dict[str, Any]:
    return {"name": work.name, "hours": value(work.hours)} | {name: value(getattr(work, name)) for name in WORTH}


def _loan(result: Result) -> dict[str, Any] | None:
    """What a loan comes to, and how the lender sees it.

    ``principal`` is owed on the first day, ``amount_financed`` of it serves the household; ``apr`` and
    ``effective_rate`` are per year, after the United States regulation and the European directive, of the payments as
    planned here; ``months`` until nothing is owed; ``missing`` : what was to be borrowed beyond the price;
    ``paid_in`` : the lump sum, ``excess`` : what of it was more than was owed, ``not_paid_in`` : the loan without it.
    ``available`` and ``payments`` : money by year from 0, what there is to pay from (savings, awards of the year, less
    upkeep and replacements; not what is left at the end) and what falls due; ``coverage`` : the one over the other;
    ``first_year`` : saving on the bill against the payment, by month from ``first_month`` (9 for September) on;
    ``out_of_pocket`` : the years in which more falls due than there is, with the loan or after it; ``outlasting`` :
    payments still due after the first replacement and after the battery's warranty. Keys within as the fields of
    `finsolar.money.lender`.
    """
    loan, seen = result.loan, result.lender
    if loan is None or seen is None:
        return None
    first, pocket, life, other = seen.first_year, seen.pocket, loan.life, loan.not_paid_in
    return {
        "principal": value(loan.principal),
        "fee": value(loan.fee),
        "dealer_fee": value(loan.dealer_fee),
        "amount_financed": value(life.note.amount_financed),
        "missing": value(loan.missing),
        "monthly_payment": value(loan.monthly_payment),
        **_cost_of_credit(life),
        "presumed": value(loan.presumed),
        "paydown_month": loan.paydown_month,
        "paid_in": value(life.paydown.sum(axis=-1)),
        "excess": value(life.excess),
        "tax_saved": value(loan.tax_saved),
        "schedule": {
            "payment": values(life.payment),
            "interest": values(life.interest),
            "principal": values(life.principal),
            "paydown": values(life.paydown),
            "balance": values(life.balance),
        },
        "by_year": _loan_by_year(life),
        "not_paid_in": None if other is None else _cost_of_credit(other) | {"reasons": other.reasons},
        "available": values(seen.available),
        "payments": values(seen.debt_service),
        "coverage": {
            "by_year": values(seen.coverage.by_year),
            "minimum": value(seen.coverage.minimum),
            "average": value(seen.coverage.average),
            "average_without_awards": value(seen.coverage.average_without_awards),
            "years_short": int(seen.coverage.years_short),
            "least_left": value(seen.coverage.least_left),
            "left_over_term": value(seen.coverage.left_over_term),
        },
        "first_year": {
            "first_month": result.in_service.month,
            "saving": values(first.saving),
            "payment": values(first.payment),
            "left": values(first.left),
            "months_short": int(first.months_short),
            "bridge": value(first.bridge),
        },
        "out_of_pocket": {
            "in_years": [int(year) for year in np.flatnonzero(pocket.short)],
            "years": int(pocket.years),
            "first": value(pocket.first),
            "last": value(pocket.last),
            "total": value(pocket.total),
            "most": value(pocket.most),
        },
        "outlasting": {
            "after_replacement": value(seen.outlasts.after_replacement),
            "after_warranty": value(seen.outlasts.after_warranty),
        },
        "reasons": dict(seen.reasons) | life.reasons,
    }


def _loan_by_year(life: LoanLife) -> dict[str, Any]:
    """A loan by its years from year 0: what is paid in each, and what is owed at its end."""
    years = len(life.balance) // 12
    rows = {"payment": life.payment, "interest": life.interest, "principal": life.principal, "paydown": life.paydown}
    sums = {name: values(by_year(months, years)) for name, months in rows.items()}
    return sums | {"balance": values(np.append(life.note.borrowed, life.balance[11::12]))}


def _cost_of_credit(life: LoanLife) -> dict[str, Any]:
    """What a loan asks and costs; ``steps`` : months of one and the same payment, the first and the last of them."""
    payment = life.payment
    months = int(np.ceil(life.term))
    ends = [k for k in range(1, months) if not np.isclose(payment[k], payment[k - 1], rtol=1e-9)]
    ends += [months] if months else []
    return {
        "steps": [
            {"from_month": start + 1, "to_month": end, "payment": value(payment[start])}
            for start, end in zip([0, *ends], ends, strict=False)
        ],
        "total_interest": value(life.total_interest),
        "finance_charge": value(life.finance_charge),
        "paid_in_all": value((life.payment + life.paydown).sum(axis=-1)),
        "months": value(life.term),
        "apr": value(life.apr),
        "effective_rate": value(life.effective_rate),
    }


def _break_even(found: BreakEven) -> dict[str, Any]:
    """Prices are all costs to build together, money; rises are per year, of the price of energy.

    A figure that does not exist is ``null`` and its reason stands under ``reasons``, as everywhere.
    """

    def turns(points: dict[str, Turn]) -> dict[str, Any]:
        return {
            **{name: point.at for name, point in points.items()},
            "reasons": {name: point.why_not for name, point in points.items() if point.why_not is not None},
        }

    return {
        "rises_searched": list(found.rises_searched),
        "alternatives": [
            {"name": one.name, "price": one.price, "falls_with_rise": one.falls_with_rise}
            | turns({"highest_price": one.highest_price, "rise": one.rise})
            | {"loan": None if one.loan is None else turns(one.loan)}
            for one in found.alternatives
        ],
        "pairs": [
            {"behind": pair.behind, "ahead": pair.ahead, "behind_by": pair.behind_by, "price": pair.price}
            | turns({"level_price": pair.level_price})
            for pair in found.pairs
        ],
    }
