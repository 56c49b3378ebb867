"""The lender's view in a workbook: what there is to pay from, and how it covers what falls due."""

from __future__ import annotations

from finsolar.money import cashflow as cf
from finsolar.report.workbook.cells import Formula, Line
from finsolar.report.workbook.plan import PlanSheet
from finsolar.scenario.paying import Borrowing

NO_DEBT = "none"


def write_coverage(of: PlanSheet) -> None:
    """Debt service coverage by year and over the loan, below the cash flow of an alternative with a loan."""
    payment, loan = of.plan.payment, of.borrowed
    if loan is None or not isinstance(payment, Borrowing):
        return
    sheet, n, key = of.sheet, of.years, f"{of.key}.loan"
    sheet.heading("What the loan is paid from")
    sheet.head_of_years("Row", "")
    service = sheet.line("Loan payments due", lambda year: Formula(loan.payments[year - 1] if year else "0"),
                         key=f"{key}.payments")  # fmt: skip
    paydown = payment.loan.paydown
    last = 0 if paydown is None else (paydown.month - 1) // 12 + 1
    wanted = _sum(loan.paid_in)
    early = sheet.line(
        "Awards kept for the lump sum, in all",
        lambda year: Formula("0" if paydown is None else _kept(of.received, min(year, last), wanted)),
    )
    tax = of.lines.get(cf.INTEREST_TAX)

    def money(year: int) -> Formula:
        if year == 0:
            return Formula("0")
        parts = f"{of.before_loan.at(year)}-({early.at(year)}-{early.at(year - 1)})"
        parts += "" if tax is None else f"+{tax.at(year)}"
        return Formula(parts + (f"-({of.lines[cf.LEFT].at(year)}-{of.stay.left})" if year == n else ""))

    available = sheet.line("There to pay from", money, key=f"{key}.available")
    trace = f"1E-12*SUM({service.span(0, n)})"

    def ratio(year: int) -> Formula:
        return Formula(f'IF({service.at(year)}>{trace},{available.at(year)}/{service.at(year)},"{NO_DEBT}")')

    covered = sheet.line("Debt service coverage", ratio, key=f"{key}.coverage.by_year", form="0.00")
    left = sheet.line(
        "Left after the payments",
        lambda year: Formula(f'IF({service.at(year)}>{trace},{available.at(year)}-{service.at(year)},"{NO_DEBT}")'),
    )
    some = f"COUNT({covered.span(0, n)})>0"
    short = f'COUNTIF({covered.span(0, n)},"<"&(1-1E-12))'
    money_form = of.book.money
    for what, name, formula, form in (
        ("Coverage, the least", "minimum", f"MIN({covered.span(0, n)})", "0.00"),
        ("Coverage, the average of the years", "average", f"AVERAGE({covered.span(0, n)})", "0.00"),
        ("Least left in a year", "least_left", f"MIN({left.span(0, n)})", money_form),
        ("Left over the term", "left_over_term", f"SUM({left.span(0, n)})", money_form),
    ):
        sheet.figure(what, Formula(f'IF({some},{formula},"{NO_DEBT}")'), key=f"{key}.coverage.{name}", form=form)
    sheet.figure("Years in which it falls short", Formula(short), key=f"{key}.coverage.years_short", form="0")
    interest = _sum(loan.interest_paid)
    saved = "0"
    if of.inputs.known("household.marginal_tax"):
        share = of.inputs.ref(f"{of.path}.payment.loan.deductible")
        saved = f"({interest})*{share}*{of.inputs.ref('household.marginal_tax')}"
    sheet.figure("Tax saved on interest", Formula(saved), key=f"{key}.tax_saved", form=money_form)


def _kept(received: Line, year: int, wanted: str) -> str:
    """What of the awards up to a year is kept, in all."""
    come = "+".join(f"MAX({received.at(each)},0)" for each in range(year + 1))
    return f"MIN({come},{wanted})"


def _sum(cells: list[str]) -> str:
    return "+".join(cell for cell in cells if cell != "0") or "0"
