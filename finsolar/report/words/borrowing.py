"""What the page says of a loan: its terms, what it costs, and the lender's view."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from finsolar.report.followed import Cell, cell
from finsolar.report.words.amounts import figure, money, per_cent, ratio
from finsolar.report.words.costs_told import years_in_words

Plain = dict[str, Any]


def terms_sentence(plan: Plain, currency: str) -> str:
    """What is borrowed and what is paid for it, month by month."""
    loan = plan["loan"]
    if not loan["principal"]:
        fee = f", yet pays {money(loan['fee'], currency)} in fees" if loan["fee"] else ""
        return f"“{plan['name']}” borrows nothing{fee}."
    return (
        f"“{plan['name']}” borrows {money(loan['principal'], currency)} and pays {payments_in_words(loan, currency)}. "
        f"Interest comes to {money(loan['total_interest'], currency)} in all, the lender’s fees to "
        f"{money(loan['fee'], currency)}{_dealer(loan, currency)}; {_rate(loan)}."
    )


def payments_in_words(credit: Plain, currency: str) -> str:
    """Payments by their steps: ``138.47 a month for 18 months, then 143.30 for 222``.

    Of more than four steps the first and the last are told, and how many lie between.
    """

    def one(step: Plain, first: bool) -> str:
        months = step["to_month"] - step["from_month"] + 1
        amount = "nothing" if not step["payment"] else money(step["payment"], currency, 2)
        a_month = " a month" if first and step["payment"] else ""
        return f"{amount}{a_month} for {months} month{'' if months == 1 else 's'}"

    steps = credit["steps"]
    if len(steps) > 4:
        between = f"then {len(steps) - 2} other payments in turn"
        return f"{one(steps[0], True)}, {between}, at last {one(steps[-1], False)}"
    return ", then ".join(one(step, k == 0 or not steps[k - 1]["payment"]) for k, step in enumerate(steps))


def paydown_sentences(plan: Plain, currency: str) -> list[str]:
    """What is paid in beside the payments, and what becomes of the loan if it is not."""
    loan, other = plan["loan"], plan["loan"]["not_paid_in"]
    if other is None:
        return [_presumed(loan, currency)] if loan["presumed"] else []
    month = next(k for k, paid in enumerate(loan["schedule"]["paydown"], start=1) if paid) if loan["paid_in"] else 0
    said = [f"{money(loan['paid_in'], currency)} is paid in beside the payment of month {month}."] if month else []
    if loan["presumed"] > loan["paid_in"] + 0.5:
        said.insert(
            0,
            f"The starter payment presumes that {money(loan['presumed'], currency)} of the loan is paid in by month "
            f"{loan['paydown_month']}; what is short of that raises the payments after it.",
        )
    dearer = other["total_interest"] - loan["total_interest"]
    said.append(
        f"If it is not paid in, the household pays {payments_in_words(other, currency)}, and {money(dearer, currency)} "
        "more interest in all."
    )
    return said


def tax_sentences(plan: Plain, currency: str) -> list[str]:
    """That a saving of tax is counted, where one is."""
    saved = plan["loan"]["tax_saved"]
    if not saved:
        return []
    return [
        f"{money(saved, currency)} of income tax is counted as saved on its interest; a licensed tax adviser decides "
        "whether it may be deducted."
    ]


def _presumed(loan: Plain, currency: str) -> str:
    return (
        f"The starter payment presumes that {money(loan['presumed'], currency)} of the loan is paid in by month "
        f"{loan['paydown_month']}; nothing is, so the payments rise after it."
    )


def _dealer(loan: Plain, currency: str) -> str:
    return (
        f" and the dealer’s, inside the price, to {money(loan['dealer_fee'], currency)}" if loan["dealer_fee"] else ""
    )


def _rate(loan: Plain) -> str:
    if loan["apr"] is None:
        return f"it has no annual percentage rate: {loan['reasons']['apr']}"
    return f"its annual percentage rate is {per_cent(loan['apr'], 2)}"


def cost_rows(plan: Plain, currency: str) -> list[tuple[str, str]]:
    """What a loan costs: each figure by name, as text."""
    loan = plan["loan"]

    def rate(key: str) -> str:
        return "none" if loan[key] is None else per_cent(loan[key], 3)

    return [
        ("Owed on the first day", money(loan["principal"], currency)),
        ("Of it the household has the use of", money(loan["amount_financed"], currency)),
        ("Lender’s fees", money(loan["fee"], currency)),
        ("Dealer fee inside the price", money(loan["dealer_fee"], currency)),
        ("Interest in all", money(loan["total_interest"], currency)),
        ("Interest and fees together", money(loan["finance_charge"], currency)),
        ("Paid to the lender in all", money(loan["paid_in_all"], currency)),
        ("Income tax saved on interest", money(loan["tax_saved"], currency)),
        ("Annual percentage rate, United States regulation (nominal)", rate("apr")),
        ("Annual percentage rate, European directive (effective)", rate("effective_rate")),
        ("Months until nothing is owed", f"{loan['months']:.1f}".removesuffix(".0")),
    ]


KEYS = {
    "Owed on the first day": "principal",
    "Of it the household has the use of": "amount_financed",
    "Lender’s fees": "fee",
    "Dealer fee inside the price": "dealer_fee",
    "Interest in all": "total_interest",
    "Interest and fees together": "finance_charge",
    "Paid to the lender in all": "paid_in_all",
    "Income tax saved on interest": "tax_saved",
    "Annual percentage rate, United States regulation (nominal)": "apr",
    "Annual percentage rate, European directive (effective)": "effective_rate",
    "Months until nothing is owed": "months",
    "Debt service coverage, leanest year": "coverage.minimum",
    "Debt service coverage, mean of its years": "coverage.average",
    "The same without awards, which come once or end": "coverage.average_without_awards",
    "Years whose payments are not covered": "coverage.years_short",
    "Months of year 1 whose payment is above the saving": "first_year.months_short",
    "To lie ready for the months of year 1": "first_year.bridge",
    "Years out of pocket, replacements among them": "out_of_pocket.years",
    "Paid in during these years": "out_of_pocket.total",
    "Paid in during the worst of them": "out_of_pocket.most",
    "Payments due after the first replacement": "outlasting.after_replacement",
    "Payments due after the battery’s warranty": "outlasting.after_warranty",
}
"""Where a figure of these tables stands within the loan of the JSON."""


def side_by_side(plain: Plain, rows: Callable[[Plain, str], list[tuple[str, str]]]) -> list[tuple[str, list[Cell]]]:
    """The rows of each loan's table in columns of one: the name of a figure, then its answer for each loan."""
    loans = [(i, plan) for i, plan in enumerate(plain["alternatives"]) if plan["loan"]]
    tables = [(i, rows(plan, plain["settings"]["currency"])) for i, plan in loans]

    def answer(i: int, name: str, text: str) -> Cell:
        path = f"alternatives.{i}.loan.{KEYS[name]}"
        return Cell(text, cell(plain, path, "count").id)

    return [(name, [answer(i, *table[k]) for i, table in tables]) for k, (name, _) in enumerate(tables[0][1])]


def no_answers(plans: list[Plain]) -> list[str]:
    """The reasons of these loans for which a figure of the tables does not exist, once each."""
    found = {
        reason: None
        for plan in plans
        for name, reason in plan["loan"]["reasons"].items()
        if name not in {"by_year", "first", "last"}
    }
    return list(found)


def months_of_loan(plan: Plain) -> list[tuple[int, float, float, float, float, float]]:
    """By month of the loan, from 1: payment, its interest, its principal, paid in beside, and still owed."""
    rows = plan["loan"]["schedule"]
    columns = [rows[name] for name in ("payment", "interest", "principal", "paydown", "balance")]
    return [(month, *amounts) for month, amounts in enumerate(zip(*columns, strict=True), start=1)]


def lender_sentence(plan: dict[str, Any], currency: str) -> str:
    """How a loan is carried, in one sentence; nothing is due where nothing was borrowed."""
    coverage, pocket = plan["loan"]["coverage"], plan["loan"]["out_of_pocket"]
    if coverage["minimum"] is None:
        return f"“{plan['name']}” has nothing to pay back: {plan['loan']['reasons']['minimum']}."
    owed = sum(ratio is not None for ratio in coverage["by_year"])
    says = (
        f"What “{plan['name']}” brings in is {ratio(coverage['minimum'])} times the payments in its leanest year and "
        f"{ratio(coverage['average'])} times on average, too little in "
        f"{coverage['years_short'] or 'none'} of its {owed} years with payments"
    )
    if not pocket["years"]:
        return f"{says}; the household is out of pocket in no year after the first day."
    return (
        f"{says}; with replacements, also those after the loan, the household is out of pocket in "
        f"{years_in_words(pocket['in_years'])}, {money(pocket['total'], currency)} in all."
    )


def _leanest(coverage: Plain, currency: str) -> str:
    """The least coverage and its year."""
    least = figure(coverage["minimum"], "ratio", currency)
    if coverage["minimum"] is None:
        return least
    return f"{least} (year {coverage['by_year'].index(coverage['minimum'])})"


def lender_rows(plan: dict[str, Any], currency: str) -> list[tuple[str, str]]:
    """The lender's view of one loan: each figure by name, as text."""
    loan = plan["loan"]
    coverage, first, pocket, outlasts = (
        loan[part] for part in ("coverage", "first_year", "out_of_pocket", "outlasting")
    )

    def count(number: float | None, one: str, missing: str = "none") -> str:
        return missing if number is None else f"{number:.0f} {one}{'' if number == 1 else 's'}"

    return [
        ("Debt service coverage, leanest year", _leanest(coverage, currency)),
        ("Debt service coverage, mean of its years", figure(coverage["average"], "ratio", currency)),
        (
            "The same without awards, which come once or end",
            figure(coverage["average_without_awards"], "ratio", currency),
        ),
        ("Years whose payments are not covered", count(coverage["years_short"], "year")),
        ("Months of year 1 whose payment is above the saving", count(first["months_short"], "month")),
        ("To lie ready for the months of year 1", money(first["bridge"], currency)),
        ("Years out of pocket, replacements among them", count(pocket["years"], "year")),
        ("Paid in during these years", money(pocket["total"], currency)),
        ("Paid in during the worst of them", money(pocket["most"], currency)),
        ("Payments due after the first replacement", count(outlasts["after_replacement"], "payment", "no replacement")),
        ("Payments due after the battery’s warranty", count(outlasts["after_warranty"], "payment", "not known")),
    ]
