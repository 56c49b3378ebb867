"""What a study finds: the one home of every figure that page, files and terminal show.

This module is imported before the command line can answer, so it imports nothing heavy at the top.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import datetime as dt

    import numpy as np
    from numpy.typing import NDArray

    from finsolar.energy.backup import Carrying, Outages
    from finsolar.energy.balance import Hourly
    from finsolar.energy.fade import WarrantyEnd
    from finsolar.energy.flows import Flows
    from finsolar.energy.house import Run, Site
    from finsolar.incentives.facts import Award, EligibleLine, House, Subsidy
    from finsolar.incentives.slip import Slip
    from finsolar.money.appraisal import Appraisal
    from finsolar.money.backup_worth import Valued
    from finsolar.money.cashflow import CashFlow, LoanTerms
    from finsolar.money.compare import Contender, OwnLabour, OwnWork, Pair
    from finsolar.money.costs import LinesAlone, PricedLine
    from finsolar.money.lender import LendersView
    from finsolar.money.ranking import Ranking
    from finsolar.scenario.assumed import Assumption
    from finsolar.scenario.schema import Alternative, Scenario
    from finsolar.tariff.bills import Bill
    from finsolar.tariff.drawer import Drawer
    from finsolar.uncertainty.break_even import BreakEven
    from finsolar.uncertainty.foresight import Foresight
    from finsolar.uncertainty.off_grid import LineExtension, OffGrid
    from finsolar.uncertainty.other_numbers import OtherNumbers
    from finsolar.uncertainty.outages import HouseOutage
    from finsolar.uncertainty.reserves import ReservePrice
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
    ends, where one is stated; carrying, backup : how it carries outages, and what that comes to, where some are known.
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
    carrying: Carrying | None = None
    backup: Valued | None = None

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
    stay_costs: LinesAlone
    results: tuple[Result, ...]
    assumptions: tuple[Assumption, ...]
    notes: tuple[str, ...]
    slips: tuple[Slip, ...] = ()
    drawer: Drawer | None = None
    expected_outages: Outages | None = None
    sensitivity: tuple[RiseSweep, ...] = ()
    sunlight: SunSpread | None = None
    foresight: tuple[Foresight, ...] = ()
    outages: tuple[HouseOutage, ...] = ()
    off_grid: tuple[OffGrid | None, ...] = ()
    lines: tuple[LineExtension | None, ...] = ()
    reserves: tuple[ReservePrice | str, ...] = ()
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

        from finsolar.money.cashflow import AWARD_TAX, INVESTMENT, OPERATION, WORTH
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
                worth=result.cash.of_kind(WORTH),
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
