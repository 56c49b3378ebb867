"""The one path from a scenario to its results. Read this file first.

    scenario -> energy (every hour) -> tariff (bills) -> incentives (awards) -> money (cash flow, figures)

Everything after the hourly step works on arrays with leading case axes, so a single study is a batch of one.
``chosen`` puts other values, or a column ``(cases, 1)`` of them, in the place of numbers of the scenario.

This module is imported before the command line can answer, so it imports nothing heavy at the top.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import datetime as dt

    import numpy as np
    from numpy.typing import NDArray

    from finsolar.energy.balance import Backing, Hourly
    from finsolar.energy.fade import WarrantyEnd
    from finsolar.energy.flows import Flows
    from finsolar.energy.house import Run, Site
    from finsolar.incentives.facts import Award, EligibleLine, House, Subsidy
    from finsolar.incentives.law import Rule
    from finsolar.incentives.slip import Slip
    from finsolar.money.appraisal import Appraisal
    from finsolar.money.cashflow import CashFlow, LoanTerms
    from finsolar.money.compare import Contender, OwnLabour, OwnWork, Pair
    from finsolar.money.costs import PricedLine
    from finsolar.money.lender import LendersView
    from finsolar.money.ranking import Ranking
    from finsolar.scenario.assumed import Assumption
    from finsolar.scenario.place import StudySettings
    from finsolar.scenario.schema import Alternative, Generator, Scenario, Tariff
    from finsolar.tariff.bills import Bill
    from finsolar.tariff.drawer import Drawer
    from finsolar.uncertainty.break_even import BreakEven
    from finsolar.uncertainty.foresight import Foresight
    from finsolar.uncertainty.other_numbers import OtherNumbers
    from finsolar.uncertainty.outages import HouseOutage
    from finsolar.uncertainty.rises import RiseSweep
    from finsolar.uncertainty.simulation import Simulation
    from finsolar.uncertainty.sunlight import SunSpread
    from finsolar.uncertainty.sureness import Sureness
    from finsolar.uncertainty.vary import Varied
    from finsolar.uncertainty.what_matters import WhatMatters

    Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Metered:
    """Some years of a house as one tariff meters them.

    kWh by price period; peak : kW (..., years, 12, windows); spot : import and export at today's hourly prices, money
    (..., years, 12) each, where the tariff has such prices; before : kW (..., 12, windows) of the year before, as the
    tariff would have metered it.
    """

    flows: Flows
    peak: Array
    before: Array
    spot: tuple[Array, Array] | None = None


@dataclass(frozen=True, eq=False)
class Position:
    """A house run one way: its hours, their sums, the same as each of its tariffs meters them, and what it costs."""

    hourly: Hourly
    flows: Flows
    metered: tuple[Metered, ...]
    litres: Array
    bill: Bill


@dataclass(frozen=True, eq=False)
class StayCosts:
    """What staying as you are costs beyond the bill, positive money (..., years + 1) each.

    investment : what is built, replaced and taken down, less what is sold again or left at the end; upkeep : the
    yearly rest;
    left : what is left at the end, which is worth and no cash.
    """

    investment: Array
    upkeep: Array
    left: Array


@dataclass(frozen=True, eq=False)
class Entitled:
    """What the rules of a place are told about one alternative."""

    house: House
    lines: list[EligibleLine]
    subsidies: list[Subsidy]


@dataclass(frozen=True, eq=False)
class Result:
    """Everything a study found about one alternative.

    gross, rebates, awarded, net_cost, first_year_saving : money (...), ``awarded`` being what belongs to the purchase;
    entitled : what the rules were told; run : its steps, and its battery by year; warranty : when the first battery's
    ends, where one is stated.
    """

    plan: Alternative
    in_service: dt.date
    completed: dt.date
    costs: list[PricedLine]
    gross: Array
    rebates: Array
    entitled: Entitled
    awards: list[Award]
    awarded: Array
    net_cost: Array
    position: Position
    run: Run
    warranty: WarrantyEnd | None
    first_year_saving: Array
    cash: CashFlow
    loan: LoanTerms | None
    appraisal: Appraisal
    reasons: dict[str, str]
    lender: LendersView | None

    @property
    def name(self) -> str:
        """The alternative's name."""
        return self.plan.name


@dataclass(frozen=True, eq=False)
class Study:
    """The results of a scenario: the one home of every figure that page, files and terminal show.

    ``scenario`` is as written; ``settled`` is the same without ranges, the values that were used. Notes are made
    for a scenario's own study only, not for one with other values chosen.
    """

    scenario: Scenario
    settled: Scenario
    site: Site
    discount_rate: Array
    stay: Position
    stay_costs: StayCosts
    results: tuple[Result, ...]
    assumptions: tuple[Assumption, ...]
    notes: tuple[str, ...]
    slips: tuple[Slip, ...] = ()
    drawer: Drawer | None = None
    sensitivity: tuple[RiseSweep, ...] = ()
    sunlight: SunSpread | None = None
    foresight: tuple[Foresight, ...] = ()
    outages: tuple[HouseOutage, ...] = ()
    break_even: BreakEven | None = None
    simulation: Simulation | None = None
    sureness: tuple[Sureness, ...] = ()
    what_matters: WhatMatters | None = None
    map: Varied | None = None
    other_numbers: OtherNumbers | None = None

    @cached_property
    def contenders(self) -> tuple[Contender, ...]:
        """What a comparison needs of each alternative. Comparisons are made when they are asked for: many cases of
        a study are worked out for one figure alone."""
        import numpy as np

        from finsolar.money.cashflow import AWARD_TAX, INVESTMENT, OPERATION
        from finsolar.money.compare import Contender
        from finsolar.scenario.numbers import per_case

        return tuple(
            Contender(
                name=result.name,
                net=result.cash.net,
                # A tax on awards goes with the awards, which are no saving.
                operation=result.cash.of_kind(OPERATION) - result.cash.lines.get(AWARD_TAX, 0.0),
                investment=result.cash.of_kind(INVESTMENT),
                rate=self.discount_rate,
                net_cost=result.net_cost,
                own_hours=per_case(result.plan.own_hours),
                hour_worth=per_case(np.nan if result.plan.own_hour_worth is None else result.plan.own_hour_worth),
                terms=(result.in_service, result.completed, plan.payment, plan.system, plan.tariff, plan.generator),
            )
            for result, plan in zip(self.results, self.scenario.alternatives, strict=True)
        )

    @cached_property
    def pairs(self) -> tuple[Pair, ...]:
        """Every two alternatives against one another."""
        from finsolar.money.compare import pairs

        return tuple(pairs(self.contenders))

    @cached_property
    def ranking(self) -> Ranking:
        """The alternatives, and staying as you are, by NPV and by payback."""
        from finsolar.money.ranking import ranking

        return ranking(self.contenders)

    @cached_property
    def own_labour(self) -> tuple[OwnLabour, ...]:
        """What the household's own hours earn against the same done by others."""
        from finsolar.money.compare import own_labour

        return tuple(own_labour(self.contenders))

    @cached_property
    def own_work(self) -> tuple[OwnWork, ...]:
        """What own hours are worth where the household says so."""
        from finsolar.money.compare import own_work

        return tuple(own_work(self.contenders))

    def to_json(self) -> dict[str, Any]:
        """The whole study in plain values: stable keys, money unrounded, no answer as null."""
        from finsolar.report.plain import study_as_plain

        return study_as_plain(self)


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
    results = tuple(
        _result(
            fixed, i, _run(scenario, fixed, i, site, stay, reuse), site, stay, stay_costs, rules, rate, reuse, today
        )
        for i in range(len(fixed.alternatives))
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
    )


_ENERGY = frozenset({"place", "weather", "load", "system", "hours", "days", "months", "every", "first", "in_years",
                     "below", "step_minutes", "limit_kw"})  # fmt: skip
"""Parts of a path that lead to what the hours depend on."""


def moves_energy(scenario: Scenario, path: str) -> bool:
    """Whether the hours depend on the number at a dotted path of a scenario, so that another one needs them anew."""
    steps = path.split(".")
    if steps[0] == "claims" or "costs" in steps:
        return False
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


def _stay_costs(scenario: Scenario) -> StayCosts:
    """What staying as you are costs beyond the bill."""
    from finsolar.money.costs import Sizes, in_year, priced, sold_again, total, upkeep
    from finsolar.scenario.schema import Purchase

    years, inflation = scenario.study.years, scenario.study.inflation
    later = upkeep(scenario.stay.upkeep, inflation, years)
    costs = priced(scenario.stay.costs, Purchase(), Sizes(), years)
    left = in_year(_left_at_the_end(costs, inflation, years), years, years) + later.residual
    built = in_year(total(costs), 0, years) - sold_again(costs, inflation, years)
    return StayCosts(
        investment=built + later.replacements + later.removal - left,
        upkeep=later.upkeep + later.insurance,
        left=left,
    )


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
        _backing(plan),
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
    stay_costs: StayCosts,
    rules: list[Rule],
    rate: Array,
    reuse: Study | None,
    today: dt.date | None,
) -> Result:
    """Alternative ``i``, from its hours to its figures."""
    from dataclasses import replace

    import numpy as np

    from finsolar.energy.flows import useful_kwh
    from finsolar.incentives.awards import assess
    from finsolar.incentives.household import days_of
    from finsolar.money.appraisal import appraise, reasons
    from finsolar.money.cashflow import borrowed, leased, owner_cash_flow
    from finsolar.money.costs import Sizes, in_year, priced, sold_again, total, upkeep
    from finsolar.money.energy_cost import backup_given, sun_kwh
    from finsolar.money.lease import in_place
    from finsolar.scenario.numbers import per_case
    from finsolar.scenario.schema import Borrowing

    plan, years, settings = scenario.alternatives[i], scenario.study.years, scenario.study
    off_grid = plan.system.operation == "off grid"
    tariff = None if off_grid else plan.tariff
    known = reuse.results[i].position if reuse else None
    size = sum(array.kw for array in plan.system.arrays)
    in_service = plan.in_service or settings.in_service
    engine = plan.generator if off_grid else None
    position = _position(scenario, site, run.hourly, tariff, engine, known, in_service, stay.hourly, size)

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
    left = _left_at_the_end(costs, settings.inflation, years)
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
    backup, no_backup = backup_given(scenario.household.backup_kwh, plan, scenario.tariff is not None, serving)
    appraisal = appraise(
        cash,
        useful_kwh(position.flows) * serving,
        rate,
        per_case(settings.inflation),
        battery=_of_its_battery(settings, plan, costs, awards, run, tax),
        sun_kwh=sun_kwh(position.flows, 0.0 if battery == "none" else battery.standby_watts / 1000.0) * serving,
        backup_kwh=backup,
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
    )


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

    from finsolar.money.costs import in_year, sold_again, upkeep
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
        comes_back=in_year(_left_at_the_end(own, inflation, years), years, years) + sold_again(own, inflation, years),
        property_tax=np.concatenate([np.zeros((*taxed.shape[:-1], 1)), taxed], axis=-1),
        there=np.concatenate([[1.0], in_place(plan.payment, years)]),
    )


def _lender(
    plan: Alternative,
    years: int,
    cash: CashFlow,
    loan: LoanTerms,
    stay: Position,
    stay_costs: StayCosts,
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


def _backing(plan: Alternative) -> Backing:
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


def _left_at_the_end(costs: list[PricedLine], inflation: Any, years: int) -> Array:
    """What the first equipment is worth at the end, in the money of that year, (...)."""
    import numpy as np

    from finsolar.scenario.rises import growth

    left = np.asarray(sum((line.residual for line in costs), start=np.zeros(())))
    return np.asarray(left * growth(inflation, years)[..., -1])


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
