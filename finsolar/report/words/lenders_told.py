"""Words of the lender's tables: the first day's money, equipment against the term, the loan at a glance."""

from __future__ import annotations

from typing import Any

from finsolar.report.words.amounts import joined, per_cent, years_told
from finsolar.report.words.costs_told import ALLOWANCE, SALES_TAX, years_in_words
from finsolar.scenario.numbers import Range

Plain = dict[str, Any]

ON_TOP = {"sales_tax": SALES_TAX, "contingency": ALLOWANCE}
"""What comes on top of the cost lines, by its key within one."""

SIDES = {"uses": "Uses", "sources": "Sources"}
LENDERS_FEES, DEALER_FEE = "Lender’s fees", "Dealer fee inside the financed price"
LOAN, OWN_MONEY, LEFT_IN_HAND = "Loan", "Own money", "Left in hand"

NOT_STATED = "not stated"
NO_LOAN = "no loan"

SUMMARY = {
    "costs.gross": "Gross cost",
    "day_one.own_money": "Own money on the first day",
    "loan.principal": "Borrowed",
    "loan.monthly_payment": "Regular payment, a month, after any time of interest only",
    "loan.months": "Months until nothing is owed",
    "loan.apr": "APR, United States regulation",
    "loan.coverage.minimum": "Debt service coverage, leanest year",
    "loan.coverage.average": "Debt service coverage, mean of its years",
    "loan.coverage.average_without_awards": "The same without awards, which come once or end",
    "loan.coverage.years_short": "Years whose payments are not covered",
    "bills.first_year_saving": "Saving in year 1",
    "metrics.npv": "NPV",
    "metrics.irr": "IRR",
    "metrics.simple_payback_lasting": "Simple payback, for good",
}
"""The figures at a glance, by where each stands within an alternative."""

BETTER_OFF = "Better off than by staying, of the cases drawn"


def tax_on(award: str) -> str:
    """The use of money that is the tax on an award."""
    return f"Income tax on {award}"


def later_sentence(title: str, amount: str, years: list[int], names: list[str]) -> str:
    """An award that comes after the first day to the alternatives of these names, and pays nothing of that day."""
    whose = joined([f"“{name}”" for name in names])
    return f"Expected later, and no source on the first day: {title}, {amount} in {years_in_words(years)} ({whose})."


def term_told(months: float) -> str:
    """The term of a loan in words; of none where there are no months."""
    return f"a term of {years_told(months / 12)}" if months else NO_LOAN


def renewed_told(due: list[int]) -> str:
    """When an item is renewed."""
    return f"due in {years_in_words(due)}" if due else "not due within the study"


def outlives_told(due: list[int], lasts: Range | None, term: float | None, years: int) -> str:
    """Whether an item outlives the loan; ``due`` and ``term`` in years, ``years`` of the study."""
    if term is None:
        return NO_LOAN
    if due and due[0] < term:
        return f"no, due in year {due[0]}, {years_told(term - due[0])} before the last payment"
    if lasts is not None and lasts.ends[0] < term:
        return f"yes, but not if it lasts the {years_told(lasts.ends[0])} at the low end of its range"
    return "yes" if due or term <= years else NOT_STATED


def battery_warranty(stated: Plain) -> str:
    """The warranty of an alternative's battery, as the scenario states it."""
    battery: Any = "none" if stated["system"] == "none" else stated["system"]["battery"]
    if battery == "none" or "warranty" not in battery:
        return NOT_STATED
    mwh = battery["warranty"].get("mwh")
    return years_told(battery["warranty"]["years"]) + ("" if mwh is None else f" or {mwh:g} MWh delivered")


def _short(years: float) -> str:
    return f"{years:.1f}".removesuffix(".0")


def life_told(line: Plain, lasts: Range | None) -> str:
    """How long a unit lasts, by what the line of upkeep states."""
    if lasts is not None:
        low, high = lasts.ends
        often = " for eight in ten" if lasts.kind == "characteristic, shape" else ""
        return f"{_short(low)} to {_short(high)} years{often}, {_short(lasts.central)} in the middle"
    if "life" in line:
        return years_told(line["life"])
    if "below" in line:
        return f"until less than {per_cent(line['below'], 0)} of its first capacity is left"
    if "in_years" in line:
        return "planned by the year"
    return years_told(line["every"])
