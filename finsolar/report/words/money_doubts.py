"""What of the money may be a slip of the pen, or turns out otherwise than it was planned."""

from __future__ import annotations

from typing import TYPE_CHECKING

from finsolar.report.words.amounts import joined, money
from finsolar.scenario.problems import printable
from finsolar.scenario.schema import Alternative, Borrowing, UpkeepLine

if TYPE_CHECKING:
    from finsolar.results import Result

_EQUIPMENT = frozenset({"modules", "inverter", "battery", "racking", "wiring", "generator"})


def doubtful_money(plan: Alternative, years: int) -> list[str]:
    """Sentences on the money of one settled alternative that need no study, only its ``years``."""
    said = _borrowed(plan, years) if isinstance(plan.payment, Borrowing) else []
    said += [
        f"“{printable(line.item, 60)}” has a price for each and no quantity, so one is counted"
        for line in plan.costs
        if line.each is not None and line.quantity is None
    ]
    if plan.payment != "cash" and not isinstance(plan.payment, Borrowing):
        said += _owned_by_others(plan)
    said += [_late(line, years) for line in plan.upkeep if _never_due(line, years)]
    said += [
        f"“{printable(line.item, 60)}” is sold again in year {line.resold_in}, after the study of {years} years, so "
        "nothing comes back for it"
        for line in plan.costs
        if line.resold is not None and line.resold_in > years
    ]
    if plan.own_hour_worth is not None and float(plan.own_hours) == 0:
        said.append("own_hour_worth without own_hours, so it says nothing")
    return said


def _borrowed(plan: Alternative, years: int) -> list[str]:
    """What of a loan does not fit what is to be paid, by the prices alone."""
    from finsolar.money.costs import Sizes, priced, total

    assert isinstance(plan.payment, Borrowing)
    loan, battery = plan.payment.loan, plan.system.battery
    sizes = Sizes(sum(array.kw for array in plan.system.arrays), 0.0 if battery == "none" else battery.kwh)
    price = float(total(priced(plan.costs, plan.purchase, sizes, years)))
    said = []
    if loan.amount is not None and float(loan.amount) > price + 0.005:
        said.append(f"a loan of {float(loan.amount):,.0f}, and only {price:,.0f} to pay")
    wanted = price * float(loan.share) if loan.amount is None else float(loan.amount)
    if wanted <= 0.005:
        said.append("a loan that borrows nothing")
    lump = None if loan.paydown is None else loan.paydown.amount
    if lump is not None and float(lump) > max(wanted, 0.0) * 1.5:
        said.append(f"{float(lump):,.0f} to be paid into a loan of about {wanted:,.0f}")
    return said


def _owned_by_others(plan: Alternative) -> list[str]:
    """What the household of a leased system is said to pay for, though its owner would."""
    built = [f"“{printable(line.item, 60)}”" for line in plan.costs if line.category in _EQUIPMENT]
    kept = [f"“{printable(line.item, 60)}”" for line in plan.upkeep if line.is_equipment]
    mend = "leave out by `without` what the owner pays"
    said = []
    if built:
        said.append(f"others own the system, yet the household buys {joined(built)}; {mend}")
    if kept:
        said.append(f"others own the system, yet the household renews {joined(kept)}; {mend}")
    return said


def _never_due(line: UpkeepLine, years: int) -> bool:
    from finsolar.money.costs import due_in

    return line.is_investment and line.below is None and not due_in(line, years).any()


def _late(line: UpkeepLine, years: int) -> str:
    return (
        f"“{printable(line.item, 60)}” falls due at the end of the study of {years} years or after it, so it costs "
        "nothing here"
    )


def loan_cautions(result: Result, currency: str) -> list[str]:
    """What of a loan turned out otherwise than planned, and what of it others decide."""
    plan, loan = result.plan, result.loan
    if loan is None or not isinstance(plan.payment, Borrowing):
        return []
    terms, life, said = plan.payment.loan, loan.life, []
    if float(loan.missing) > 0.005:
        said.append(
            f"caution: {money(float(loan.missing), currency)} of the loan is more than there is to pay, and is not "
            "borrowed."
        )
    if terms.paydown is not None:
        month, paid = terms.paydown.month, float(life.paydown.sum())
        if float(life.excess) > 0.005:
            said.append(
                f"caution: {money(paid + float(life.excess), currency)} was to be paid into the loan in month {month}, "
                f"but only {money(paid, currency)} is owed then; the other {money(float(life.excess), currency)} stay "
                "with the household."
            )
        if terms.paydown.awards is not None:
            come = float(loan.received[: month // 12 + 1].sum())
            later = float(loan.received.sum()) - come
            if come <= 0.005:
                said.append(
                    f"caution: awards are to be paid into the loan in month {month}, but none has come in by then, so "
                    "nothing is paid in."
                )
            elif later > 0.005:
                said.append(
                    f"caution: {money(later, currency)} of awards come in after month {month} and are not paid into "
                    "the loan."
                )
    if float(loan.tax_saved) > 0.005:
        said.append(
            f"{money(float(loan.tax_saved), currency)} of income tax is counted as saved on the loan’s interest; "
            "whether it may be deducted is for a licensed tax adviser."
        )
    if "apr" in life.reasons and life.note.borrowed > 0:
        said.append(f"caution: the loan has no annual percentage rate: {life.reasons['apr']}.")
    over = float(loan.principal) + float(result.rebates) - float(loan.fee + loan.dealer_fee) - float(result.gross)
    if over > 0.005 and float(result.rebates) > 0:
        said.append(
            f"caution: with rebates the loan brings {money(over, currency)} more than there is to pay on the first "
            "day; a lender would lend less, so write an amount."
        )
    return said
