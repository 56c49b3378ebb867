"""The one path from a scenario to its results. Read this file first.

    scenario -> energy (every hour) -> tariff (bills) -> incentives (awards) -> money (cash flow, figures)

Everything after the hourly step works on arrays with leading case axes, so a single study is a batch of one.
``chosen`` puts other values, or a column ``(cases, 1)`` of them, in the place of numbers of the scenario.

This module is imported before the command line can answer, so it imports nothing heavy at the top.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from finsolar.results import Entitled, Metered, Position, Result, Study

if TYPE_CHECKING:
    import datetime as dt

    import numpy as np
    from numpy.typing import NDArray

    from finsolar.energy.backup import Carrying, Outages
    from finsolar.energy.balance import Backing, Hourly
    from finsolar.energy.fade import WarrantyEnd
    from finsolar.energy.house import Run, Site
    from finsolar.incentives.facts import Award
    from finsolar.incentives.law import Rule
    from finsolar.incentives.slip import Slip
    from finsolar.money.backup_worth import Valued
    from finsolar.money.cashflow import CashFlow, LoanTerms
    from finsolar.money.costs import LinesAlone, PricedLine
    from finsolar.money.lender import LendersView
    from finsolar.scenario.place import StudySettings
    from finsolar.scenario.schema import Alternative, Generator, Scenario, Tariff
    from finsolar.tariff.bills import Bill
    from finsolar.tariff.drawer import Drawer

    Array = NDArray[np.float64]


def study(
    scenario: Scenario,
    chosen: Mapping[str, Any] | None = None,
    *,
    reuse: Study | None = None,
    today: dt.date | None = None,
) -> Study:
    """Work out a scenario.

    Parameters
    ----------
    scenario
        As read from a file.
    chosen
        Values for numbers of the scenario by dotted path, such as ``alternatives.0.tariff.rise``; each a number
        or an array (cases, 1). Ranges that are not named take their central value.
    reuse
        A study of the same house whose hours are taken over; ``chosen`` may then touch money only.
    today
        The day the study is made, used only to say that a rule was checked too long ago.

    Raises
    ------
    ValueError
        If ``chosen`` names what is not there, has another shape, or touches energy beside ``reuse``.
    """

    from finsolar.energy.house import site_of
    from finsolar.incentives.own_rules import rules_of
    from finsolar.scenario.assumed import assumptions
    from finsolar.scenario.numbers import settled
    from finsolar.tariff.hours import refuse_unknown_holidays
    from finsolar.tariff.price_files import price_files

    moved = [path for path in chosen or {} if moves_energy(scenario, path)]
    if reuse is not None and moved:
        raise ValueError(f"hours cannot be reused where {', '.join(sorted(moved))} changes")
    fixed = settled(scenario, chosen)
    rate = _discount_rate(fixed)
    refuse_unknown_holidays(fixed)
    if reuse is None:
        price_files(fixed)  # a fault is told at the line that names the file, before anything is run
    rules = rules_of(scenario)
    site = site_of(fixed) if reuse is None else reuse.site
    stay = _stay(fixed, site, reuse)
    stay_costs = _stay_costs(fixed)
    own = chosen is None  # the scenario as it is written
    runs = [_run(scenario, fixed, i, site, stay, reuse) for i in range(len(fixed.alternatives))]
    outages, carrying = _outages(fixed, site, stay, runs, reuse)
    results = tuple(
        _result(fixed, i, run, site, stay, stay_costs, rules, rate, reuse, today, outages, carrying[i])
        for i, run in enumerate(runs)
    )
    return Study(
        scenario=scenario,
        settled=fixed,
        site=site,
        discount_rate=rate,
        stay=stay,
        stay_costs=stay_costs,
        results=results,
        assumptions=tuple(assumptions(scenario)),
        notes=tuple(_notes(fixed, site, stay, results, known=bool(rules))) if own else (),
        slips=tuple(_slip(rules, result.entitled, fixed.study.years) for result in results) if own else (),
        drawer=_drawer(fixed, site) if own else None,
        expected_outages=outages,
    )


_ENERGY = frozenset({"place", "weather", "load", "system", "hours", "days", "months", "every", "first", "in_years",
                     "below", "step_minutes", "limit_kw"})  # fmt: skip
"""Parts of a path that lead to what the hours depend on."""


_CARRIED = frozenset({"appliances", "load_share", "load_kw", "fuel_litres", "longest_hours"})
"""Parts of the block on outages that their hours depend on; all others are counts and money."""


def moves_energy(scenario: Scenario, path: str) -> bool:
    """Whether the hours depend on the number at a dotted path of a scenario, so that another one needs them anew."""
    steps = path.split(".")
    if steps[0] == "claims" or "costs" in steps:
        return False
    if steps[:2] == ["household", "outage"]:
        return steps[2] in _CARRIED
    if steps[-1] == "life":  # of what is renewed, only a battery's tells in the hours
        lines = scenario.stay.upkeep if steps[0] == "stay" else scenario.alternatives[int(steps[1])].upkeep
        return lines[int(steps[-2])].category == "battery"
    return bool(_ENERGY & set(steps)) or ("generator" in steps and steps[-1] in {"kw", "start_at", "stop_at"})


def _discount_rate(scenario: Scenario) -> Array:
    """The nominal discount rate (...), made from the real one where the scenario states that."""
    from finsolar.money.rates import nominal_rate
    from finsolar.scenario.numbers import per_case

    settings = scenario.study
    if settings.real_discount_rate is not None:
        return nominal_rate(per_case(settings.real_discount_rate), per_case(settings.inflation))
    assert settings.discount_rate is not None  # the schema lets pass neither both nor none
    return per_case(settings.discount_rate)


def _stay(scenario: Scenario, site: Site, reuse: Study | None) -> Position:
    """The house as it is: its load on its present supply."""
    from finsolar.energy.balance import Backing
    from finsolar.energy.house import load_by_year, run_as_it_is

    generator = scenario.generator if scenario.tariff is None else None
    if reuse is not None:
        hourly = reuse.stay.hourly
    else:
        kw = None if generator is None else generator.kw
        stated = scenario.household.load
        load = load_by_year(site.usage, stated.growth, scenario.study.years, stated.level)
        backing = Backing(grid=scenario.tariff is not None, export_allowed=False, generator_kw=kw)
        hourly = run_as_it_is(load, backing, 1.0 / site.clock.per_hour)
    begins = scenario.study.in_service
    return _position(scenario, site, hourly, scenario.tariff, generator, reuse.stay if reuse else None, begins, hourly)


def _stay_costs(scenario: Scenario) -> LinesAlone:
    """What staying as you are costs beyond the bill."""
    from finsolar.money.costs import lines_alone

    return lines_alone(scenario.stay.costs, scenario.stay.upkeep, scenario.study.inflation, scenario.study.years)


def _position(
    scenario: Scenario,
    site: Site,
    hourly: Hourly,
    tariff: Tariff | None,
    generator: Generator | None,
    known: Position | None,
    begins: dt.date,
    today: Hourly,
    array_kw: float = 0.0,
) -> Position:
    """Sums and bill of a house whose hours are known; the sums are taken over where they were made before.

    The years run from the month of the day ``begins``; the year before them is the first of the house as it is
    ``today``.
    """
    import numpy as np

    from finsolar.energy.flows import bin_flows, joined
    from finsolar.energy.generator import fuel_litres
    from finsolar.scenario.numbers import per_case
    from finsolar.scenario.rises import growth
    from finsolar.tariff.bills import Bill, bill_of_years
    from finsolar.tariff.bills import joined as joined_bills
    from finsolar.tariff.fuel import generator_bill
    from finsolar.tariff.prices import by_year, prices, regimes, year_from

    years, clock = scenario.study.years, site.clock
    terms = [] if tariff is None else regimes(tariff, years)
    if known is not None:
        metered = known.metered
    elif tariff is None:
        flows = bin_flows(hourly, clock, np.zeros(len(clock.month), dtype=np.int64), 1)
        metered = (Metered(flows, np.zeros((1, 12, 0)), np.zeros((12, 0))),)
    else:
        metered = tuple(_metered(scenario, site, hourly, today, part, each) for part, each in terms)
    flows = joined([each.flows for each in metered])
    bill = Bill({})
    if terms:
        bill = joined_bills(
            [
                bill_of_years(
                    begins.month - 1,
                    of.flows.imported,
                    of.flows.exported,
                    prices(each, years, array_kw, year_from(begins.month - 1), part),
                    of.peak,
                    of.flows.solar - of.flows.curtailed,
                    of.spot,
                    of.before,
                )
                for of, (part, each) in zip(metered, terms, strict=True)
            ]
        )
    litres = np.zeros(flows.generator.shape)
    if generator is not None:
        litres = fuel_litres(
            flows.generator,
            flows.generator_hours,
            generator.kw,
            per_case(generator.litres_per_kwh)[..., None, None],
            per_case(generator.idle_litres_per_kw)[..., None, None],
        )
        fuel_price = by_year(generator.fuel_price, growth(generator.rise, years))
        wear = by_year(generator.upkeep_per_hour, growth(scenario.study.inflation, years))
        bill = bill.plus(generator_bill(litres, flows.generator_hours, fuel_price, wear))
    return Position(hourly, flows, metered, litres, bill)


def _metered(scenario: Scenario, site: Site, whole: Hourly, today: Hourly, part: slice, tariff: Tariff) -> Metered:
    """Some years of a house as a tariff meters them; the year before the first is one of the house as it is today."""
    import numpy as np

    from finsolar.energy.flows import bin_flows, valued
    from finsolar.energy.sources import hourly_prices_of
    from finsolar.tariff.hours import all_tariffs, peaks_of, period_of_hours

    clock, place, hourly = site.clock, scenario.place, whole.years(part)
    earlier = whole.years(slice(part.start - 1, part.start)) if part.start else today.years(slice(0, 1))
    spot = None
    if tariff.hourly_prices is not None:
        path = next(path for path, each in all_tariffs(scenario) if each is tariff)
        price = hourly_prices_of(scenario, tariff.hourly_prices.file, f"{path}.hourly_prices.file")
        by_step = np.repeat(price, clock.per_hour)
        spot = (valued(hourly.imported, by_step, clock), valued(hourly.exported, by_step, clock))
    return Metered(
        bin_flows(hourly, clock, period_of_hours(tariff, clock, place), len(tariff.energy)),
        peaks_of(tariff, hourly.imported, clock, place),
        peaks_of(tariff, earlier.imported, clock, place)[..., 0, :, :],
        spot,
    )


def _run(scenario: Scenario, fixed: Scenario, i: int, site: Site, stay: Position, reuse: Study | None) -> Run:
    """Alternative ``i``, every step of every year; taken over where it was run before."""
    from finsolar.energy.house import offered_by_year, orders_of, run_with_system
    from finsolar.energy.sources import production_of
    from finsolar.scenario.numbers import expected, settled
    from finsolar.scenario.schema import TimeShift
    from finsolar.tariff.hours import dear_hours

    if reuse is not None:
        return reuse.results[i].run
    plan, years = fixed.alternatives[i], fixed.study.years
    system = plan.system
    record = None
    if system.production is not None:
        record = production_of(fixed, system.production, f"alternatives.{i}.system.production")
    hours = None
    if system.operation == "time shift":
        # The household sets its inverter once, by what it knows: not by the prices and losses of each case.
        tariff = settled(scenario.alternatives[i]).tariff
        assert tariff is not None  # the schema refuses a time shift without one
        hours = dear_hours(tariff, system.time_shift or TimeShift(), site.clock, fixed.place)
    offered, clipped = offered_by_year(system, site, years, record)
    return run_with_system(
        system,
        offered,
        clipped,
        stay.hourly.load,
        backing_of(plan),
        orders_of(
            expected(scenario.alternatives[i].system, system),
            site,
            record,
            hours,
            float(expected(scenario.household.load.level, fixed.household.load.level)),
        ),
        *renewals(plan, years),
        step_hours=1.0 / site.clock.per_hour,
    )


def first_year(base: Study, i: int, battery: Mapping[str, Any]) -> Run:
    """The first year of alternative ``i``, its hours alone, with other numbers of its battery, such as ``reserve``."""
    from dataclasses import replace

    fixed = base.settled
    plan = fixed.alternatives[i]
    assert plan.system.battery != "none"
    system = plan.system.model_copy(update={"battery": plan.system.battery.model_copy(update=dict(battery))})
    plans = [plan.model_copy(update={"system": system}) if k == i else one for k, one in enumerate(fixed.alternatives)]
    year = fixed.study.model_copy(update={"years": 1})
    stay = replace(base.stay, hourly=base.stay.hourly.years(slice(0, 1)))
    return _run(
        base.scenario, fixed.model_copy(update={"alternatives": plans, "study": year}), i, base.site, stay, None
    )


def first_bill(base: Study, i: int, run: Run) -> Bill:
    """The bill of a first year of alternative ``i`` that was run otherwise, as by `first_year`; only year 1 counts."""
    import numpy as np

    from finsolar.energy.balance import Hourly

    # What is left of credits goes on into a second year where there is one: the same hours once more.
    fixed, years = base.settled, min(base.settled.study.years, 2)
    hours = {name: np.repeat(each, years, -1 if name == "start" else -2) for name, each in vars(run.hourly).items()}
    short = fixed.model_copy(update={"study": fixed.study.model_copy(update={"years": years})})
    return _supplied(short, i, base.site, Hourly(**hours), base.stay, None).bill


def _supplied(
    scenario: Scenario, i: int, site: Site, hourly: Hourly, stay: Position, known: Position | None
) -> Position:
    """Alternative ``i``, whose hours are known, on its own supply; sums as in `_position`."""
    plan = scenario.alternatives[i]
    off_grid = plan.system.operation == "off grid"
    begins = plan.in_service or scenario.study.in_service
    size = sum(array.kw for array in plan.system.arrays)
    tariff, engine = (None, plan.generator) if off_grid else (plan.tariff, None)
    return _position(scenario, site, hourly, tariff, engine, known, begins, stay.hourly, size)


def renewals(plan: Alternative, years: int) -> tuple[list[int], float | None]:
    """The years after which a plan's battery is renewed, and the share of its first capacity below which it is."""
    from finsolar.money.costs import due_years

    batteries = [line for line in plan.upkeep if line.category == "battery"]
    named = [year for line in batteries if line.below is None for year in due_years(line, years)]
    return named, next((line.below for line in batteries if line.below is not None), None)


def _result(
    scenario: Scenario,
    i: int,
    run: Run,
    site: Site,
    stay: Position,
    stay_costs: LinesAlone,
    rules: list[Rule],
    rate: Array,
    reuse: Study | None,
    today: dt.date | None,
    outages: Outages | None,
    carrying: Carrying | None,
) -> Result:
    """Alternative ``i``, from its hours to its figures."""
    from dataclasses import replace

    import numpy as np

    from finsolar.energy.flows import useful_kwh
    from finsolar.incentives.awards import assess
    from finsolar.incentives.household import days_of
    from finsolar.money.appraisal import appraise, reasons
    from finsolar.money.cashflow import WORTH, WORTH_OF_BACKUP, borrowed, leased, owner_cash_flow
    from finsolar.money.costs import Sizes, in_year, left_at_the_end, priced, sold_again, total, upkeep
    from finsolar.money.energy_cost import LEAVES_THE_GRID, backup_given, sun_kwh
    from finsolar.money.lease import in_place
    from finsolar.scenario.numbers import per_case
    from finsolar.scenario.schema import Borrowing

    plan, years, settings = scenario.alternatives[i], scenario.study.years, scenario.study
    size = sum(array.kw for array in plan.system.arrays)
    in_service = plan.in_service or settings.in_service
    position = _supplied(scenario, i, site, run.hourly, stay, reuse.results[i].position if reuse else None)

    battery = plan.system.battery
    costs = priced(plan.costs, plan.purchase, Sizes(size, 0.0 if battery == "none" else battery.kwh), years)
    gross = total(costs)
    rebates = np.asarray(sum((per_case(rebate.amount) for rebate in plan.rebates), start=np.zeros(())))
    serving = in_place(plan.payment, years)
    entitled = _entitled(scenario, plan, costs, gross, position, serving, rate)
    awards = assess(rules, entitled.house, entitled.lines, entitled.subsidies, years, today)
    nothing = np.zeros(years + 1)
    awarded = np.asarray(sum((award.amounts for award in awards if award.upfront), start=nothing))
    yearly_awards = np.asarray(sum((award.amounts for award in awards if not award.upfront), start=nothing))
    # Sales tax that is not charged is neither borrowed nor assessed.
    spared = np.asarray(sum((award.amounts[..., 0] for award in awards if award.kind == "sales tax relief"), start=0.0))
    received = awarded - in_year(spared, 0, years)
    tax = entitled.house.taxed_property(spared)
    if not serving.all():
        # The hours run on as if the system stayed; the bill, and what is counted as useful, end with the contract.
        position = replace(position, bill=position.bill.followed_by(stay.bill, serving))

    later = upkeep(plan.upkeep, settings.inflation, years, run.worn_out)
    left = left_at_the_end(costs, settings.inflation, years)
    cash = owner_cash_flow(
        capital=gross,
        rebates=rebates,
        awards=awarded,
        before=stay.bill,
        after=position.bill,
        avoided_investment=stay_costs.investment,
        avoided_upkeep=stay_costs.upkeep,
        upkeep=later,
        residual=in_year(left, years, years) + later.residual,
        yearly_awards=yearly_awards,
        award_tax=np.asarray(sum((award.tax for award in awards), start=nothing)),
        resold=sold_again(costs, settings.inflation, years),
        property_tax=nothing if tax is None else 0.0 - np.concatenate([np.zeros((*tax.shape[:-1], 1)), tax], axis=-1),
        years=years,
    )
    loan = None
    warranty = _warranty(plan, run)
    if isinstance(plan.payment, Borrowing):
        marginal = scenario.household.marginal_tax
        tax_rate = np.zeros(()) if marginal is None else per_case(marginal)
        cash, loan = borrowed(cash, plan.payment, gross - spared, received, tax_rate, years)
    elif plan.payment != "cash":
        cash = leased(cash, plan.payment, _made(position), in_year(left, years, years), years)
    backup = None
    if outages is not None and plan.system.operation != "off grid":
        backup = _backup(scenario, plan, outages, carrying, run.capacity, serving, cash, rate)
    if backup is not None and backup.worth is not None and settings.count_backup:
        cash = cash.plus(WORTH_OF_BACKUP, WORTH, backup.worth.by_year)
    stated, carried = scenario.household.backup_kwh, None if backup is None else backup.carried
    given, no_backup = backup_given(stated, plan, scenario.tariff is not None, serving, carried)
    if stated is None and outages is not None and backup is None:
        no_backup = LEAVES_THE_GRID
    appraisal = appraise(
        cash,
        useful_kwh(position.flows) * serving,
        rate,
        per_case(settings.inflation),
        battery=_of_its_battery(settings, plan, costs, awards, run, tax),
        sun_kwh=sun_kwh(position.flows, 0.0 if battery == "none" else battery.standby_watts / 1000.0) * serving,
        backup_kwh=given,
    )
    days = days_of(scenario, plan)
    return Result(
        plan=plan,
        in_service=days["in service"],
        completed=days["installation completed"],
        costs=costs,
        gross=gross,
        rebates=rebates,
        entitled=entitled,
        awards=awards,
        awarded=awarded.sum(axis=-1),
        net_cost=gross - rebates - awarded.sum(axis=-1),
        position=position,
        run=run,
        warranty=warranty,
        first_year_saving=(stay.bill.total - position.bill.total)[..., 0],
        cash=cash,
        loan=loan,
        appraisal=appraisal,
        reasons=reasons(appraisal, cash, no_backup),
        lender=None
        if loan is None
        else _lender(plan, years, cash, loan, stay, stay_costs, position, run, warranty, in_service),
        carrying=carrying,
        backup=backup,
    )


def _outages(
    fixed: Scenario, site: Site, stay: Position, runs: list[Run], reuse: Study | None
) -> tuple[Outages | None, list[Carrying | None]]:
    """The outages to expect, and how each alternative carries them; the latter taken over where it was worked out."""
    if fixed.household.outage is None:
        return None, [None] * len(runs)
    from finsolar.energy.carrying import Begun, Planned, carrying_of, outages_of

    house = Begun(fixed, site, stay, [Planned(*pair) for pair in zip(fixed.alternatives, runs, strict=True)])
    outages = outages_of(house, None if reuse is None else reuse.expected_outages)
    if outages is None:
        return None, [None] * len(runs)
    if reuse is not None:
        return outages, [each.carrying for each in reuse.results]
    return outages, list(carrying_of(house, outages))


def _backup(
    scenario: Scenario,
    plan: Alternative,
    outages: Outages,
    carrying: Carrying | None,
    capacity: Array,
    there: Array,
    cash: CashFlow,
    rate: Array,
) -> Valued:
    """What an alternative carries while the grid is down, and what that is worth beside its other money."""
    from finsolar.energy.backup import backup
    from finsolar.money.backup_worth import valued, worth_of
    from finsolar.money.metrics import present_value

    stated, inflation = scenario.household.outage, scenario.study.inflation
    assert stated is not None  # else there are no outages
    carried = backup(outages, carrying, capacity, there)
    burns = plan.generator is not None and stated.fuel_litres > 0
    worth = worth_of(stated, outages, carrying, carried, capacity, there, inflation, burns_fuel=burns)
    return valued(stated, carried, worth, present_value(cash.net, rate), rate, inflation)


def _of_its_battery(
    settings: StudySettings,
    plan: Alternative,
    costs: list[PricedLine],
    awards: list[Award],
    run: Run,
    tax: Array | None,
) -> Array:
    """What of an alternative's costs is its battery's, (..., years + 1)."""
    import numpy as np

    from finsolar.money.costs import in_year, left_at_the_end, sold_again, upkeep
    from finsolar.money.energy_cost import BATTERY, battery_costs
    from finsolar.money.lease import in_place

    years, inflation = settings.years, settings.inflation
    own = [line for line in costs if line.category == BATTERY]
    taxed = np.zeros(years) if tax is None else tax
    return battery_costs(
        costs=costs,
        rebates=plan.rebates,
        awards=awards,
        later=upkeep([line for line in plan.upkeep if line.category == BATTERY], inflation, years, run.worn_out),
        comes_back=in_year(left_at_the_end(own, inflation, years), years, years) + sold_again(own, inflation, years),
        property_tax=np.concatenate([np.zeros((*taxed.shape[:-1], 1)), taxed], axis=-1),
        there=np.concatenate([[1.0], in_place(plan.payment, years)]),
    )


def _lender(
    plan: Alternative,
    years: int,
    cash: CashFlow,
    loan: LoanTerms,
    stay: Position,
    stay_costs: LinesAlone,
    position: Position,
    run: Run,
    warranty: WarrantyEnd | None,
    begins: dt.date,
) -> LendersView:
    """The lender's view of a loan.

    What is left at the end is worth something and pays no instalment. Awards that are to be paid into the loan are kept
    for that, and are not there for its instalments.
    """
    import numpy as np

    from finsolar.money.cashflow import (
        AWARD_TAX,
        AWARDS,
        INTEREST_TAX,
        INVESTMENT,
        LOAN_PAYDOWN,
        LOAN_PAYMENTS,
        OPERATION,
        YEARLY_AWARDS,
    )
    from finsolar.money.costs import first_replacement
    from finsolar.money.lender import lenders_view, set_aside

    nothing = np.zeros(years + 1)
    saved = stay.bill.monthly_total - position.bill.monthly_total
    left = cash.lines["left at the end"] - stay_costs.left
    kept, own = set_aside(loan.received, -cash.lines.get(LOAN_PAYDOWN, nothing))
    awards = sum((cash.lines.get(name, nothing) for name in (AWARDS, YEARLY_AWARDS, AWARD_TAX)), start=nothing)
    return lenders_view(
        awards=awards - kept,
        cash=cash.of_kind(INVESTMENT, OPERATION) - left - kept + cash.lines.get(INTEREST_TAX, nothing),
        debt_service=-cash.lines[LOAN_PAYMENTS],
        paid_in=own,
        # Bills stand by calendar month; month 1 of the loan is that of the in-service day.
        monthly_saving=np.roll(saved[..., 0, :], 1 - begins.month, axis=-1),
        monthly_payment=loan.life.payment,
        months=loan.life.term,
        replacement_year=first_replacement(plan.upkeep, years, run.worn_out),
        warranty_years=np.nan if warranty is None else warranty.years,
    )


def backing_of(plan: Alternative) -> Backing:
    """What stands behind sun and battery of a settled alternative."""
    from finsolar.energy.balance import Backing

    generator = plan.generator
    if plan.system.operation != "off grid":
        assert plan.tariff is not None  # the schema refuses a plan on the grid without one
        export = plan.tariff.export
        return Backing(grid=True, export_allowed=export.scheme != "none", export_kw=export.limit_kw)
    if generator is None:
        return Backing(grid=False)
    return Backing(grid=False, generator_kw=generator.kw, start_at=generator.start_at, stop_at=generator.stop_at)


def _warranty(plan: Alternative, run: Run) -> WarrantyEnd | None:
    """When the first battery's warranty ends, by its years or by what it delivered."""
    import numpy as np

    from finsolar.energy.fade import warranty_end

    battery = plan.system.battery
    if battery == "none" or battery.warranty is None:
        return None
    # Only the first battery counts: what its successors deliver does not wear on its promise.
    later = np.cumsum(run.renewed, axis=-1) - run.renewed > 0
    delivered = np.where(later, 0.0, run.cycles * battery.kwh)
    return warranty_end(delivered, battery.warranty.years, battery.warranty.mwh)


def _made(position: Position) -> Array:
    """What the sun gave to house, battery and grid by year (..., years), kWh."""
    import numpy as np

    return np.asarray((position.flows.solar - position.flows.curtailed).sum(axis=-1))


def _entitled(
    scenario: Scenario,
    plan: Alternative,
    costs: list[PricedLine],
    gross: Array,
    position: Position,
    serving: Array,
    rate: Array,
) -> Entitled:
    """What the rules are told about one alternative."""
    from finsolar.incentives.facts import EligibleLine, Subsidy
    from finsolar.incentives.household import house_of
    from finsolar.money.loan import present_worth
    from finsolar.scenario.numbers import per_case

    def worth(principal: Array, interest: float, years: int) -> Array:
        return present_worth(principal, interest, 12 * years, rate)

    return Entitled(
        house=house_of(
            scenario,
            plan,
            generation=_made(position),
            exported=position.flows.exported.sum(axis=(-1, -2)),
            gross=gross,
            serving=serving,
            loan_worth=worth,
        ),
        lines=[EligibleLine(line.item, line.category, line.price, line.sales_tax) for line in costs],
        subsidies=[Subsidy(r.item, per_case(r.amount), r.lowers_basis, r.category) for r in plan.rebates],
    )


def _slip(rules: list[Rule], entitled: Entitled, years: int) -> Slip:
    from finsolar.incentives.slip import slip

    return slip(rules, entitled.house, entitled.lines, entitled.subsidies, years)


def _drawer(scenario: Scenario, site: Site) -> Drawer | None:
    from finsolar.tariff.drawer import drawer

    return drawer(scenario, site)


def _notes(scenario: Scenario, site: Site, stay: Position, results: tuple[Result, ...], *, known: bool) -> list[str]:
    """Sentences about how the study was made that a careful reader wants to see."""
    from finsolar.report.words.notes import study_notes

    return study_notes(scenario, site, known, stay, results)
