"""What the page says of loans: sentences that follow the figures, tables side by side, no answer without a reason."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from conftest import bare

from finsolar.report.page import page
from finsolar.report.table import as_csv
from finsolar.report.words import amounts, borrowing


def loan_of(plain: dict[str, Any], name: str) -> dict[str, Any]:
    """Return a copy of the one alternative whose name holds some words."""
    found = [plan for plan in plain["alternatives"] if name in plan["name"]]
    assert len(found) == 1
    return copy.deepcopy(found[0])


def test_payments_are_told_by_their_steps(heron: dict[str, Any]) -> None:
    """One payment, a starter payment and its rise, the draw years of a line of credit."""
    bank, dealer, line = (loan_of(heron, name)["loan"] for name in ("bank", "dealer", "line"))
    assert (
        borrowing.payments_in_words(bank, "USD")
        == f"{amounts.money(bank['monthly_payment'], 'USD', 2)} a month for 120 months"
    )
    starter, later = (step["payment"] for step in dealer["steps"])
    assert later > starter
    told = borrowing.payments_in_words(dealer, "USD")
    assert told == f"${starter:,.2f} a month for 18 months, then ${later:,.2f} for 222 months"
    assert borrowing.payments_in_words(line, "USD").count(" for 12 months") == 3
    assert borrowing.payments_in_words(line, "USD").endswith("for 144 months")


def test_many_steps_and_months_without_a_payment_are_told_shortly() -> None:
    """Of six payments the first and the last are told; nothing is paid in a deferral."""
    steps = [{"from_month": 12 * k + 1, "to_month": 12 * k + 12, "payment": 90.0 + k} for k in range(6)]
    told = borrowing.payments_in_words({"steps": steps}, "USD")
    assert told == "$90.00 a month for 12 months, then 4 other payments in turn, at last $95.00 for 12 months"
    late = [{"from_month": 1, "to_month": 1, "payment": 0.0}, {"from_month": 2, "to_month": 9, "payment": 50.0}]
    assert (
        borrowing.payments_in_words({"steps": late}, "USD") == "nothing for 1 month, then $50.00 a month for 8 months"
    )


def test_what_is_paid_in_and_what_becomes_of_the_loan_without_it(heron: dict[str, Any]) -> None:
    """The lump sum with its month, and the dearer loan if it never comes."""
    dealer = loan_of(heron, "dealer")
    loan, other = dealer["loan"], dealer["loan"]["not_paid_in"]
    presumed, paid, instead = borrowing.paydown_sentences(dealer, "USD")
    assert amounts.money(loan["presumed"], "USD") in presumed and "by month 18" in presumed
    assert loan["presumed"] == pytest.approx(0.15 * loan["principal"])
    assert paid == f"{amounts.money(loan['paid_in'], 'USD')} is paid in beside the payment of month 18."
    assert amounts.money(other["total_interest"] - loan["total_interest"], "USD") in instead
    assert borrowing.payments_in_words(other, "USD") in instead
    assert other["steps"][-1]["payment"] > loan["steps"][-1]["payment"]
    assert borrowing.paydown_sentences(loan_of(heron, "bank"), "USD") == []


def test_a_saving_of_tax_is_told_beside_the_loan(heron: dict[str, Any]) -> None:
    """Only where one is counted."""
    line = loan_of(heron, "line")
    (told,) = borrowing.tax_sentences(line, "USD")
    assert amounts.money(line["loan"]["tax_saved"], "USD") in told and "tax adviser" in told
    assert borrowing.tax_sentences(loan_of(heron, "bank"), "USD") == []


def test_the_leanest_year_is_named(heron: dict[str, Any]) -> None:
    """The year in which a replacement and a payment meet."""
    plan = loan_of(heron, "dealer")
    by_year = plan["loan"]["coverage"]["by_year"]
    leanest = min(range(1, 21), key=lambda year: by_year[year])
    assert dict(borrowing.lender_rows(plan, "USD"))["Debt service coverage, leanest year"].endswith(f"(year {leanest})")


def test_the_terms_name_the_rate_or_why_there_is_none(heron: dict[str, Any]) -> None:
    """A dealer fee is named where there is one; a loan without a rate says why; nothing borrowed is said so."""
    dealer = loan_of(heron, "dealer")
    told = borrowing.terms_sentence(dealer, "USD")
    assert amounts.per_cent(dealer["loan"]["apr"], 2) in told
    assert f"the dealer’s, inside the price, to {amounts.money(dealer['loan']['dealer_fee'], 'USD')}" in told
    assert "dealer" not in borrowing.terms_sentence(loan_of(heron, "bank"), "USD")
    dealer["loan"]["apr"], dealer["loan"]["reasons"]["apr"] = None, "fees take all of it"
    assert borrowing.terms_sentence(dealer, "USD").endswith("it has no annual percentage rate: fees take all of it.")
    dealer["loan"]["principal"] = 0.0
    assert borrowing.terms_sentence(dealer, "USD").endswith("borrows nothing.")


def test_loans_stand_side_by_side_on_the_page(heron: dict[str, Any]) -> None:
    """Every figure of every loan, in the order of the alternatives; years and months of each below."""
    text = bare(page(heron)).partition('<section id="borrowing"')[2].partition("</section>")[0]
    loans = [plan for plan in heron["alternatives"] if plan["loan"]]
    assert len(loans) == 3
    for rows in (borrowing.cost_rows, borrowing.lender_rows):
        for k, (name, cells_told) in enumerate(borrowing.side_by_side(heron, rows)):
            assert [cell.text for cell in cells_told] == [rows(plan, "USD")[k][1] for plan in loans]
            cells = "".join(f"<td>{one.text}</td>" for one in cells_told)
            assert f'<th scope="row">{name}</th>{cells}' in text
    for plan in loans:
        assert borrowing.terms_sentence(plan, "USD").replace("’", "’") in text
    october = text.partition("Payment against saving by month")[2].partition("</table>")[0]
    assert october.index("Oct") < october.index("Dec") < october.index("Jan") < october.index("Sep")


def test_a_year_of_a_loan_adds_up(heron: dict[str, Any]) -> None:
    """Payments are interest and principal; what is owed falls by principal and what is paid in; months make years."""
    plan = loan_of(heron, "dealer")
    rows, months = plan["loan"]["by_year"], borrowing.months_of_loan(plan)
    columns = [rows[name] for name in ("payment", "interest", "principal", "paydown", "balance")]
    owed = plan["loan"]["principal"]
    assert rows["balance"][0] == owed and [months[0][0], months[-1][0]] == [1, 240]
    for year, (paid, interest, principal, paid_in, left) in enumerate(zip(*columns, strict=True)):
        assert abs(paid - interest - principal) < 1e-6
        assert abs(owed - principal - paid_in - left) < 1e-6, year
        own = [row[1:] for row in months if (row[0] - 1) // 12 + 1 == year]
        assert [sum(part) for part in zip(*own, strict=True)][:4] == pytest.approx(
            [paid, interest, principal, paid_in][: 4 * bool(own)]
        )
        owed = left
    assert abs(owed) < 1e-6


def test_the_schedule_and_both_ends_of_a_paydown_are_in_the_rows_for_machines(heron: dict[str, Any]) -> None:
    """240 months of five columns; the loan if nothing is paid in under a part of its own."""
    rows = [row.split(",") for row in as_csv(heron).splitlines() if row.startswith('"Contractor, dealer')]
    rows = [row[1:] for row in rows]  # the name holds a comma itself
    assert sum(row[1] == "loan schedule" for row in rows) == 240 * 5
    assert {row[2] for row in rows if row[1] == "loan if not paid in"} >= {"payment", "total_interest", "apr", "months"}
    rate = next(row for row in rows if row[1] == "loan" and row[2] == "apr")
    assert float(rate[5]) == loan_of(heron, "dealer")["loan"]["apr"]
