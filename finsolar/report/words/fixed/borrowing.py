"""What the section of borrowing says whatever was found."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

NOTHING_BORROWED = "Nothing is borrowed in any alternative."
SECURITY = (
    "A loan must be repaid whatever the system earns. Ask what it takes as security: a line of credit on the home puts "
    "the home itself at stake."
)
LENDERS_VIEW = "The lender’s view"
FIGURE = "Figure"

LOAN_BY_YEAR = "The loan by year"
LOAN_BY_YEAR_HEAD = ("Year", "Payments", "Interest", "Repaid by them", "Paid in beside", "Still owed")
COVERAGE_BY_YEAR = "Debt service coverage by year"
COVERAGE_HEAD = ("Year", "There to pay from", "Payments", "Coverage")
MONTHS_CAPTION = "Payment against saving by month, year 1"
MONTHS_HEAD = ("Month", "Saving on the bill", "Payment", "Left over")
SCHEDULE_CAPTION = "The schedule by month, month 1 ending a month after the first day"
SCHEDULE_HEAD = ("Month", "Payment", "Interest", "Repaid by it", "Paid in beside", "Still owed")
MONTHS_FOLDED = "The months of year 1"


def what_it_costs(loans: int) -> str:
    """The title of what so many loans cost."""
    return "What the loan costs" if loans == 1 else "What each loan costs"


def how_counted(no_answers: Sequence[str]) -> str:
    """What coverage, months and rates count, and why some have no answer."""
    return (
        "A year’s savings and awards, less upkeep, insurance and replacements, are there to pay from; a tax credit "
        "counts in the year it arrives, unless it is kept to be paid into the loan, and what is left at the end does "
        "not count. The months set the saving on the bill alone against the payment. The annual percentage rates are "
        "those of the payments as planned here; the lender’s own disclosure binds."
        + "".join(f" No answer: {reason}." for reason in no_answers)
    )


def years_folded(plan: str) -> Markup:
    """What unfolds a loan's years and first months."""
    return Markup("“<bdi>{}</bdi>”, the loan and its coverage by year, and the months of year 1").format(plan)


def loan_of(plan: str) -> str:
    """The name of the table of a loan's years."""
    return f"The loan of {plan} by year"


def coverage_of(plan: str) -> str:
    """The name of the table of coverage by year."""
    return f"Debt service coverage of {plan}"


def months_of(plan: str) -> str:
    """The name of the table of the months of year 1."""
    return f"Payment against saving by month, {plan}"


def schedule_folded(plan: str) -> Markup:
    """What unfolds a loan's schedule."""
    return Markup("“<bdi>{}</bdi>”, the schedule by month").format(plan)


def schedule_of(plan: str) -> str:
    """The name of the table of a loan's schedule."""
    return f"The schedule of {plan} by month"
