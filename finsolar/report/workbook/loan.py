"""A loan in a workbook: what is borrowed, and every month of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from operator import attrgetter
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from finsolar.report.workbook.cells import (
    FIXED_FILL,
    HEAD_FILL,
    PALE,
    Cell,
    Formula,
    Line,
    Place,
    Sheet,
    address,
    quoted,
)
from finsolar.report.workbook.exact import Promise, held
from finsolar.report.workbook.inputs import Inputs
from finsolar.results import Result, Study
from finsolar.scenario.paying import Loan

MONTH, RATE, REPAY, LEVEL, INTEREST, PRINCIPAL, PAYMENT, PAID_IN, BALANCE, ADDED, SETTLED, FLOW = range(12)
_HEADS = ("Month", "Rate a month", "To repay by the payment", "Regular payment", "Interest", "Principal", "Payment",
          "Paid in", "Balance", "Interest not yet paid", "Interest paid", "In the borrower’s hands")  # fmt: skip
_KEYS = {PAYMENT: "payment", INTEREST: "interest", PRINCIPAL: "principal", PAID_IN: "paydown", BALANCE: "balance"}
_MONTH_0 = 32
"""The row of the day on which the loan is paid out; figures stand above, one row a month below."""

IRREGULAR = (
    "Every month stands as the engine found it: payments in whole cents, or an end that a lump sum brings nearer, "
    "follow rules that the formulas here do not repeat."
)


def _of_loan(name: str, by_month: bool = False) -> Callable[[Result], ArrayLike]:
    """Finds a number of a loan (..., 1), or one a month (..., months)."""

    def of(result: Result) -> ArrayLike:
        found = np.asarray(attrgetter(name)(result.loan))
        return found if by_month else found[..., None]

    return of


def is_regular(loan: Loan) -> bool:
    """Whether formulas can follow a loan month by month."""
    return not loan.whole_cents and (loan.paydown is None or loan.paydown.then == "lower payment")


@dataclass(frozen=True)
class Borrowed:
    """A loan as the cash flow needs it: cells of money, and formulas of years 1, 2, ..., all positive."""

    principal: str
    fee: str
    dealer_fee: str
    payments: list[str]
    paid_in: list[str]
    interest_paid: list[str]


class LoanSheet:
    """One loan, on a sheet of its own; ``promises`` : what of it stands as the engine found it."""

    def __init__(self, sheet: Sheet, inputs: Inputs, base: Study, plan: int) -> None:
        self.sheet, self.inputs, self.base, self.plan = sheet, inputs, base, plan
        self.result: Result = base.results[plan]
        payment: Any = self.result.plan.payment
        self.loan: Loan = payment.loan
        self.key = f"alternatives.{plan}.loan"
        self.months = 12 * self.loan.years
        self.promises: list[Promise] = []
        self.cells: dict[str, str] = {}

    def write(self, price: str, received: Line) -> Borrowed:
        """The loan that pays ``price`` (a formula) or a part of it; ``received`` : awards that come in by year."""
        self.sheet.row = 3
        if is_regular(self.loan):
            self._note(price)
            self._months(self._lump(received))
        else:
            self.sheet.text(IRREGULAR, width=12, italic=True)
            self._note_held()
            self._months_held()
        self._figures()
        self.sheet.row = _MONTH_0 + self.months + 1
        return Borrowed(
            self.cells["principal"],
            self.cells["fee"],
            self.cells["dealer_fee"],
            *(self._by_year(column) for column in (PAYMENT, PAID_IN, SETTLED)),
        )

    def _ref(self, name: str) -> str:
        return self.inputs.ref(f"alternatives.{self.plan}.payment.loan.{name}")

    def _figure(self, what: str, value: Cell, key: str, *, told: bool = True, form: str = "") -> str:
        """A figure above the months; ``told`` : the study tells it too, under the key."""
        full = f"{self.key}.{key}" if told else ""
        self.cells[key] = self.sheet.figure(what, value, key=full, form=form or self.sheet.book.money)
        return self.cells[key]

    def _hold(self, label: str, of: Callable[[Result], ArrayLike]) -> Any:
        """Numbers that stand as the engine found them, (n,)."""
        plan = self.plan
        promise = held(label, lambda found: np.asarray(of(found.results[plan])), self.base)
        self.promises.append(promise)
        return promise.terms[0].amounts

    def _note(self, price: str) -> None:
        loan = self.loan
        cost = self._figure("To be paid, less sales tax that is spared", Formula(price), "price", told=False)
        wanted = f"{cost}*{self._ref('share')}" if loan.amount is None else self._ref("amount")
        wish = self._figure("Wanted of the loan", Formula(wanted), "wanted", told=False)
        paid = self._figure("Paid by the loan", Formula(f"MIN({wish},{cost})"), "paid", told=False)
        self._figure("Wanted beyond the price", Formula(f"{wish}-{paid}"), "missing")
        dealer = self._ref("dealer_fee")
        share = f"{paid}/(1-{dealer})" if loan.dealer_fee_of == "financed price" else f"{paid}*(1+{dealer})"
        financed = self._figure("Price that is financed", Formula(share), "financed", told=False)
        points, fixed = self._ref("fee"), self._ref("fixed_fee")
        owed = f"({financed}+{fixed})/(1-{points})" if loan.fees == "borrowed" else financed
        principal = self._figure("Borrowed", Formula(owed), "principal")
        fee = self._figure("Fee of the lender", Formula(f"{principal}*{points}+{fixed}"), "fee")
        hidden = self._figure("Dealer fee", Formula(f"{financed}-{paid}"), "dealer_fee")
        self._figure("Amount financed", Formula(f"{principal}-{fee}-{hidden}"), "amount_financed")
        presumed = "0" if loan.paydown is None else f"{principal}*{self._ref('starter_share')}"
        self._figure("Taken for paid in by the first payments", Formula(presumed), "presumed")

    def _note_held(self) -> None:
        for what, key in (("Wanted beyond the price", "missing"), ("Borrowed", "principal"),
                          ("Fee of the lender", "fee"), ("Dealer fee", "dealer_fee"),
                          ("Taken for paid in by the first payments", "presumed")):  # fmt: skip
            amount = self._hold(f"{key} of the loan", _of_loan(key))
            self._figure(what, float(amount[0]), key)
        amount = self._hold("amount financed", _of_loan("life.note.amount_financed"))
        self._figure("Amount financed", float(amount[0]), "amount_financed")
        amount = self._hold("excess", _of_loan("life.excess"))
        self._figure("Of the lump sum, more than was owed", float(amount[0]), "excess")

    def _lump(self, received: Line) -> str:
        """The cell of what is to be paid in."""
        paydown = self.loan.paydown
        if paydown is None:
            wanted = "0"
        elif paydown.amount is not None:
            wanted = self._ref("paydown.amount")
        elif paydown.share is not None:
            wanted = f"{self.cells['principal']}*{self._ref('paydown.share')}"
        else:
            wanted = f"MAX(SUM({received.span(0, paydown.month // 12)}),0)*{self._ref('paydown.awards')}"
        when = "" if paydown is None else f" in month {paydown.month}"
        return self._figure(f"To be paid in{when}", Formula(wanted), "lump", told=False)

    def _head(self) -> None:
        for column, name in _KEYS.items():
            key = f"{self.key}.schedule.{name}"
            self.sheet.write(_MONTH_0 - 2, column, key, font_color=PALE, font_size=8)
            self.sheet.book.ids[key] = Place(self.sheet.name, _MONTH_0 + 1, column, self.months, down=True)
        for column, text in enumerate(_HEADS):
            self.sheet.write(_MONTH_0 - 1, column, text, bold=True, bg_color=HEAD_FILL, bottom=1, text_wrap=True)
        first = {MONTH: 0.0, BALANCE: Formula(self.cells["principal"]), ADDED: Formula("0"),
                 FLOW: Formula(self.cells["amount_financed"])}  # fmt: skip
        self._row(0, first)

    def _row(self, month: int, cells: dict[int, Any]) -> None:
        for column, value in sorted(cells.items()):
            form = {MONTH: "0", RATE: "0.0000%"}.get(column, self.sheet.book.money)
            fill = {} if isinstance(value, Formula) or column == MONTH else {"bg_color": FIXED_FILL}
            self.sheet.write(_MONTH_0 + month, column, value, num_format=form, **fill)

    def _months(self, lump: str) -> None:
        self._head()
        loan = self.loan
        starts, when = loan.deferral_months, 0 if loan.paydown is None else loan.paydown.month
        changes = {12 * (k + 1) + 1 for k in range(len(loan.later_rates or ()))}
        for month in range(1, self.months + 1):

            def at(column: int, back: int = 0, month: int = month) -> str:
                return address(_MONTH_0 + month - back, column)

            year, left = min((month - 1) // 12, len(changes)), self.months - month + 1
            owed = at(BALANCE, 1)
            cells = {
                MONTH: float(month),
                RATE: Formula(self._ref("rate" if year == 0 else f"later_rates.{year - 1}") + "/12"),
                INTEREST: Formula(f"{owed}*{at(RATE)}"),
                PAYMENT: Formula(f"{at(INTEREST)}+{at(PRINCIPAL)}"),
                PAID_IN: Formula(f"MIN({lump},{owed}-{at(PRINCIPAL)})" if month == when else "0"),
                BALANCE: Formula(f"{owed}-{at(PRINCIPAL)}-{at(PAID_IN)}"),
                SETTLED: Formula(f"MIN({at(PAYMENT)}+{at(PAID_IN)},{at(ADDED, 1)}+{at(INTEREST)})"),
                ADDED: Formula(f"{at(ADDED, 1)}+{at(INTEREST)}-{at(SETTLED)}"),
                FLOW: Formula(f"-({at(PAYMENT)}+{at(PAID_IN)})"),
            }
            if month <= starts:
                cells[PRINCIPAL] = Formula("0" if loan.deferral_pays == "interest" else f"-{at(INTEREST)}")
            else:
                if month == starts + 1 or month in changes or (when and month == when + 1):
                    cells[REPAY] = Formula(f"MAX({owed}-{self.cells['presumed']},0)" if month <= when else owed)
                    power = f"{at(REPAY)}*{at(RATE)}/(1-(1+{at(RATE)})^-{left})"
                    cells[LEVEL] = Formula(f"IF({at(RATE)}=0,{at(REPAY)}/{left},{power})")
                else:
                    cells[LEVEL] = Formula(at(LEVEL, 1))
                regular = f"MIN({at(LEVEL)}-{at(INTEREST)},{owed})"
                cells[PRINCIPAL] = Formula(owed if left == 1 else regular)
            self._row(month, cells)
        paid_in = f"SUM({self.span(PAID_IN)})"
        self._figure("Of the lump sum, more than was owed", Formula(f"{lump}-{paid_in}"), "excess")

    def _months_held(self) -> None:
        self._head()
        names = {**_KEYS, SETTLED: "interest_paid"}
        life = {
            column: self._hold(f"{name} of the loan by month", _of_loan(f"life.{name}", by_month=True))
            for column, name in names.items()
        }
        for month in range(1, self.months + 1):
            cells: dict[int, Any] = {MONTH: float(month)}
            cells |= {column: float(amounts[month - 1]) for column, amounts in life.items()}
            flow = f"-({address(_MONTH_0 + month, PAYMENT)}+{address(_MONTH_0 + month, PAID_IN)})"
            self._row(month, cells | {FLOW: Formula(flow)})

    def _figures(self) -> None:
        """What the months come to."""
        sheet, when = self.sheet, 0 if self.loan.paydown is None else self.loan.paydown.month
        first = address(_MONTH_0 + 1 + self.loan.deferral_months, PAYMENT)
        self._figure("First regular payment", Formula(first), "monthly_payment")
        self._figure("Paid in", Formula(f"SUM({self.span(PAID_IN)})"), "paid_in")
        self._figure("Interest of all months", Formula(f"SUM({self.span(INTEREST)})"), "total_interest")
        financed, principal = self.cells["amount_financed"], self.cells["principal"]
        all_paid = f"SUM({self.span(PAYMENT)})+SUM({self.span(PAID_IN)})"
        self._figure("Finance charge", Formula(f"{all_paid}-{financed}"), "finance_charge")
        if is_regular(self.loan):
            cleared = f"IF({address(_MONTH_0 + when, BALANCE)}<=0,{when},{self.months})" if when else str(self.months)
            term: Cell = Formula(f"IF({principal}>0,{cleared},0)")
        else:
            term = float(self._hold("months of the loan", _of_loan("life.term"))[0])
        self._figure("Months until nothing is owed", term, "months", form="0.##")
        flow, months = self.span(FLOW, 0), self.span(MONTH, 0)
        guess = f"IFERROR({address(_MONTH_0 + 1, INTEREST)}/{principal},0.005)"
        rough = self._figure("Rate a month, first search", Formula(f'IFERROR(IRR({flow},{guess}),"none")'), "rough",
                             told=False, form="0.0000%")  # fmt: skip
        # A search by the program stops early: one step of Newton's method takes it to full digits.
        step = f"SUMPRODUCT({flow}*(1+{rough})^-{months})/SUMPRODUCT({flow}*{months}*(1+{rough})^(-{months}-1))"
        fine = self._figure("Rate a month", Formula(f'IF(AND(ISNUMBER({rough}),{financed}>0),{rough}+{step},"none")'),
                            "fine", told=False, form="0.0000%")  # fmt: skip
        self._figure("APR, nominal", Formula(f'IF(ISNUMBER({fine}),12*{fine},"none")'), "apr", form="0.00%")
        effective = f"(1+{fine})^12-1"  # the engine tells no rate beyond a million a year
        told = f'IF(ISNUMBER({fine}),IF({effective}<=1E6,{effective},"none"),"none")'
        self._figure("APR, effective", Formula(told), "effective_rate", form="0.00%")
        assert sheet.row < _MONTH_0 - 2  # the figures stand above the months

    def span(self, column: int, first: int = 1) -> str:
        """A column of all months, or from month 0 on."""
        return f"{address(_MONTH_0 + first, column)}:{address(_MONTH_0 + self.months, column)}"

    def _by_year(self, column: int) -> list[str]:
        found = []
        for year in range(self.sheet.book.years):
            first, last = address(_MONTH_0 + 12 * year + 1, column), address(_MONTH_0 + 12 * year + 12, column)
            there = 12 * year < self.months
            found.append(f"SUM({quoted(self.sheet.name)}!{first}:{last})" if there else "0")
        return found
