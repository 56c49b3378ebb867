"""The sheet of one alternative: what it costs, what it is granted, its bills and its cash flow, year by year."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from finsolar.incentives.facts import Award
from finsolar.money import cashflow as cf
from finsolar.money.lease import in_place
from finsolar.report.words.awards import deciding
from finsolar.report.words.terms import LINE_NAMES
from finsolar.report.workbook.bills import write_bill
from finsolar.report.workbook.cells import Book, Cell, Formula, Line, Sheet
from finsolar.report.workbook.costs import Built, Later, write_costs, write_upkeep
from finsolar.report.workbook.exact import Promise, held
from finsolar.report.workbook.inputs import Inputs
from finsolar.report.workbook.loan import Borrowed, LoanSheet
from finsolar.results import Result, Study
from finsolar.scenario.paying import Borrowing, Lease, PerKwh

Array = NDArray[np.float64]
Plain = dict[str, Any]


class StaySheet:
    """What staying as you are costs: rows that every alternative is measured against."""

    def __init__(self, sheet: Sheet, inputs: Inputs, base: Study, bills: Mapping[str, Promise]) -> None:
        settled, years = base.settled, base.settled.study.years
        from finsolar.money.costs import Sizes, priced
        from finsolar.scenario.outlay import Purchase

        sheet.row = 2
        lines = settled.stay.costs
        sheet.heading("What is built all the same" if lines else "Nothing is built")
        built = write_costs(sheet, inputs, "stay", lines, priced(lines, Purchase(), Sizes(), years), None, (0.0, 0.0))
        sheet.heading("What comes back")
        sheet.head_of_years("Line", "")
        later = write_upkeep(sheet, inputs, "stay", settled.stay.upkeep)
        end = inputs.index(None).at(years)
        self.left = sheet.figure(
            "Left at the end", Formula(f"{built.left}*{end}+{later.left()}"), form=sheet.book.money
        )

        def investment(year: int) -> Formula:
            parts = [built.gross if year == 0 else "0"]
            parts += [f"-({cell})*{inputs.index(None).at(year)}" for when, cell in built.sold if when == year]
            parts += [f"+{later.sum_of('replacements', year)}+{later.sum_of('removal', year)}"]
            parts += [f"-({self.left})"] if year == years else []
            return Formula("".join(parts))

        key = "stay.other_costs"
        self.investment = sheet.line("Investment", investment, key=f"{key}.investment", bold=True)
        self.upkeep = sheet.line(
            "Upkeep",
            lambda year: Formula(f"{later.sum_of('upkeep', year)}+{later.sum_of('insurance', year)}"),
            key=f"{key}.upkeep",
            bold=True,
        )
        sheet.heading("The bill")
        sheet.head_of_years("Component", "")
        self.bill, self.total = write_bill(sheet, inputs, bills, "stay.bill")


class PlanSheet:
    """One alternative, from its costs to its cash flow; ``promises`` : what stands as the engine found it."""

    def __init__(
        self, sheet: Sheet, loan_sheet: Sheet | None, inputs: Inputs, base: Study, plan: int, stay: StaySheet
    ) -> None:
        self.sheet, self.loan_sheet, self.inputs = sheet, loan_sheet, inputs
        self.base, self.i, self.stay = base, plan, stay
        self.book: Book = sheet.book
        self.result: Result = base.results[plan]
        self.plan, self.years = self.result.plan, base.settled.study.years
        self.path = self.key = f"alternatives.{plan}"
        self.promises: list[Promise] = []
        self.there = in_place(self.plan.payment, self.years)
        self.lines: dict[str, Line] = {}
        self.kinds: dict[str, str] = {}
        self.borrowed: Borrowed | None = None

    def hold(self, label: str, of: Callable[[Result], Any]) -> Array:
        """Numbers that stand as the engine found them, (n,)."""
        i = self.i
        promise = held(label, lambda found: np.asarray(of(found.results[i])), self.base)
        self.promises.append(promise)
        return promise.terms[0].amounts

    def write(self, told: Plain, bills: Mapping[str, Promise]) -> None:
        """All of it from ``sheet.row`` on; ``told`` : the alternative in plain values, for words on awards."""
        self._costs()
        self._awards(told)
        sheet = self.sheet
        sheet.heading("What comes back")
        sheet.head_of_years("Line", "")
        self.later: Later = write_upkeep(sheet, self.inputs, self.path, self.plan.upkeep, self.result.run.worn_out)
        sheet.heading("The bill")
        sheet.head_of_years("Component", "")
        self.bill, total = write_bill(sheet, self.inputs, bills, f"{self.key}.bills.after")
        self.saving = sheet.figure(
            "Saving of the first year",
            Formula(f"{self.stay.total.at(1)}-{total.at(1)}"),
            key=f"{self.key}.bills.first_year_saving",
            form=self.book.money,
        )
        if isinstance(self.plan.payment, Borrowing):
            assert self.loan_sheet is not None  # every loan has a sheet
            loan = LoanSheet(self.loan_sheet, self.inputs, self.base, self.i)
            spared = "+".join(row.at(0) for row in self._relief) or "0"
            self.borrowed = loan.write(f"{self.built.gross}-({spared})", self.received)
            self.promises += loan.promises
        self._cash_flow()

    def _costs(self) -> None:
        sheet, inputs, battery = self.sheet, self.inputs, self.plan.system.battery
        sheet.heading("What it costs to build")
        kw = sum(array.kw for array in self.plan.system.arrays)
        kwh = 0.0 if battery == "none" else battery.kwh
        key = f"{self.key}.costs"
        self.built: Built = write_costs(
            sheet, inputs, self.path, self.plan.costs, self.result.costs, self.plan.purchase, (kw, kwh), f"{key}.lines"
        )
        self.rebates: list[tuple[str | None, str]] = []
        for k, rebate in enumerate(self.plan.rebates):
            amount = Formula(inputs.ref(f"{self.path}.rebates.{k}.amount"))
            self.rebates.append((rebate.category, sheet.figure(f"Rebate: {rebate.item}", amount, form=self.book.money)))

    def _awards(self, told: Plain) -> None:
        sheet = self.sheet
        sheet.heading("What it is granted")
        sheet.text("Awards stand as the engine weighed them: tax that is owed, caps, days and what is carried forward "
                   "decide, and no formula here repeats the law.", italic=True)  # fmt: skip
        sheet.head_of_years("Rule", "answer")
        self.awards: list[tuple[Award, Line]] = []
        self.taxes: list[tuple[Award, Line]] = []
        for k, award in enumerate(self.result.awards):
            title = award.title
            amounts = self.hold(title, partial(_of_award, k=k, name="amounts"))
            key = f"{self.key}.incentives.{k}"
            row = sheet.line(title, [float(x) for x in amounts], key=f"{key}.amounts", note=award.status)
            self.awards.append((award, row))
            tax = self.hold(f"tax on {title}", partial(_of_award, k=k, name="tax"))
            if np.any(tax):
                row = sheet.line(f"Income tax on: {title}", [float(x) for x in tax], key=f"{key}.tax")
                self.taxes.append((award, row))
            why = deciding(told["incentives"][k])
            if why:
                sheet.text(why, font_color="#6B7280", indent=1, font_size=9)
        self._relief = [row for award, row in self.awards if award.kind == "sales tax relief"]
        relief = self._relief
        self.received = sheet.line(
            "Awards of the purchase that come in as money",
            lambda year: Formula(
                _sum([row.at(year) for award, row in self.awards if award.upfront])
                + ("".join(f"-{row.at(0)}" for row in relief) if year == 0 else "")
            ),
            bold=True,
            top=1,
        )
        upfront = [row for award, row in self.awards if award.upfront]
        yearly = [row for award, row in self.awards if not award.upfront]
        total, key, money = self.years, f"{self.key}.costs", self.book.money
        sheet.figure("Gross cost", Formula(self.built.gross), key=f"{key}.gross", form=money)
        rebates = sheet.figure("Rebates", Formula(_sum([cell for _, cell in self.rebates])), key=f"{key}.rebates",
                               form=money)  # fmt: skip
        sums = [_sum([f"SUM({row.span(0, total)})" for row in rows]) for rows in (upfront, yearly)]
        granted = sheet.figure("Awards of the purchase", Formula(sums[0]), key=f"{key}.awards", form=money)
        sheet.figure("Awards paid year by year", Formula(sums[1]), key=f"{key}.yearly_awards", form=money)
        net = Formula(f"{self.built.gross}-{rebates}-{granted}")
        self.net_cost = sheet.figure("Net cost", net, key=f"{key}.net", form=money)

    def _cash_flow(self) -> None:
        sheet = self.sheet
        sheet.heading("Cash flow, money to the household positive")
        sheet.head_of_years("Line", "kind")
        for name, (kind, money) in self._all_lines().items():
            self.kinds[name] = kind
            known = name in self.result.cash.lines
            label = LINE_NAMES.get(name, name.capitalize())
            key = f"{self.key}.cash_flow.lines.{name}" if known else ""
            self.lines[name] = sheet.line(label, money, note=kind, key=key)
        self._left_out()
        key = f"{self.key}.cash_flow"
        self.net = sheet.line("Net", self.sum_of(cf.INVESTMENT, cf.OPERATION, cf.FINANCING, cf.WORTH), key=f"{key}.net",
                              bold=True, top=1)  # fmt: skip
        self.before_loan = sheet.line("Net before any loan", self.sum_of(cf.INVESTMENT, cf.OPERATION),
                                      key=f"{key}.before_loan")  # fmt: skip
        self.running = self._running("Running total", self.net, f"{key}.running_total")
        factor = self.inputs.discount
        self.discounted = sheet.line(
            "Discounted", lambda year: Formula(f"{self.net.at(year)}*{factor.at(year)}"), key=f"{key}.discounted"
        )
        self.running_discounted = self._running(
            "Discounted running total", self.discounted, f"{key}.discounted_running_total"
        )

    def _running(self, what: str, of: Line, key: str) -> Line:
        row = self.sheet.row

        def cell(year: int) -> Formula:
            before = f"{Line(self.sheet.name, row).at(year - 1)}+" if year else ""
            return Formula(f"{before}{of.at(year)}")

        return self.sheet.line(what, cell, key=key)

    def sum_of(self, *kinds: str) -> Callable[[int], Formula]:
        """All lines of some kinds by year."""
        rows = [row for name, row in self.lines.items() if self.kinds[name] in kinds]
        return lambda year: Formula(_sum([row.at(year) for row in rows]))

    def _all_lines(self) -> dict[str, tuple[str, Callable[[int], Cell]]]:
        """Every line of the cash flow with its kind, in the order of the engine's."""
        from finsolar.report.workbook.flow import flow_lines

        lines = flow_lines(self)
        order = [*self.result.cash.lines, *(name for name in lines if name not in self.result.cash.lines)]
        return {name: lines.get(name) or self._as_found(name) for name in order}

    def _as_found(self, name: str) -> tuple[str, Callable[[int], Cell]]:
        """A line that has no formula here, as the engine found it."""
        money = self.hold(name, lambda result: np.broadcast_to(result.cash.lines[name], result.cash.net.shape))
        return self.result.cash.kinds[name], lambda year: float(money[year])

    def _left_out(self) -> None:
        """Lines that the cash flow has none of now, but would have at other inputs, are promised to stay away."""
        years = self.years
        for name in (cf.YEARLY_AWARDS, cf.AWARD_TAX, cf.PROPERTY_TAX):
            if name not in self.lines:
                self.hold(name, partial(_line_or_nothing, name=name, years=years))

    @property
    def pays_owner(self) -> bool:
        """Whether others own the system."""
        return isinstance(self.plan.payment, Lease | PerKwh)


def _sum(cells: list[str]) -> str:
    return "+".join(cells) if cells else "0"


def _of_award(result: Result, k: int, name: str) -> Array:
    found: Array = getattr(result.awards[k], name)
    return found


def _line_or_nothing(result: Result, name: str, years: int) -> Array:
    return result.cash.lines.get(name, np.zeros(years + 1))
