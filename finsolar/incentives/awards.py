"""From cost lines, dates and income tax to awards: what each rule grants a household, year by year, and why.

Conventions. Amounts are money to the household, positive and nominal. Year 0 is the in-service day; a tax
credit arrives with the return, so year 1 is the first it can lower a tax bill. Everything broadcasts over
leading case axes; only the carrying forward of a credit loops, over years.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from finsolar.incentives.basis import Basis, find_basis
from finsolar.incentives.facts import Array, Award, EligibleLine, House, LineReason, Status, Step, Subsidy
from finsolar.incentives.law import Ended, NotYet, Rule, Value
from finsolar.incentives.wording import (
    about_amount,
    about_subsidies,
    about_use,
    cautions,
    had_it_been,
    in_force,
    not_in_force,
)

__all__ = ["Award", "EligibleLine", "House", "LineReason", "Step", "Subsidy", "assess", "use_credit"]


def assess(
    rules: Sequence[Rule],
    house: House,
    lines: Sequence[EligibleLine],
    subsidies: Sequence[Subsidy],
    years: int,
    today: date | None = None,
) -> list[Award]:
    """Return one award for each rule, granted or not, in the order of the rules.

    All money is (...) and broadcasts; `years` is the length of the study; `today` is the day of the study,
    used only to say that a rule was checked too long ago.

    Raises
    ------
    ValueError
        If an amount is negative or not finite, the study has no year, or the tax owed does not fit its years.
    """
    if years < 1:
        raise ValueError(f"a study needs at least one year, not {years}")
    amounts = [amount for line in lines for amount in (line.cost, line.sales_tax)]
    amounts += [subsidy.amount for subsidy in subsidies]
    amounts += [] if house.battery_kwh is None else [house.battery_kwh]
    shapes = [np.shape(amount) for amount in amounts]
    if house.income_tax is not None:
        if np.shape(house.income_tax)[-1:] not in ((1,), (years,)):
            found = np.shape(house.income_tax)
            raise ValueError(f"income_tax needs a last axis of 1 or {years} years, found shape {found}")
        amounts.append(house.income_tax)
        shapes.append(np.shape(house.income_tax)[:-1])
    for amount in amounts:
        if not (np.isfinite(amount).all() and (np.asarray(amount) >= 0).all()):
            raise ValueError("costs, subsidies, income tax and battery capacity must be finite and not negative")
    request = _Request(house, lines, subsidies, years, np.broadcast_shapes(*shapes), today)
    return [_GRANTS[rule.kind](rule, request) for rule in rules]


def use_credit(potential: Array, income_tax: Array, carry_years: float) -> tuple[Array, Array]:
    """Return what each year's tax uses of a credit (..., years), and what is left after them (...).

    `potential` (...) arises in year 1 and is not refundable; `income_tax` (..., years) is the ceiling of each
    year; `carry_years` is for how many years after the first an unused part may be used, infinity for all.

        used(k) = min(left(k-1), tax(k)), left(k) = left(k-1) - used(k), left(0) = potential

    Source: Internal Revenue Code 25D(c); Form 5695 (2025) lines 13 to 16.
    """
    *cases, years = income_tax.shape
    shape = np.broadcast_shapes(np.shape(potential), tuple(cases))
    used = np.zeros((*shape, years))
    left = np.array(np.broadcast_to(potential, shape), dtype=np.float64)
    for year in range(int(min(years, 1 + carry_years))):
        used[..., year] = np.minimum(left, income_tax[..., year])
        left = left - used[..., year]
    return used, left


@dataclass(frozen=True, eq=False)
class _Request:
    """What was asked: the house, its money, the years of the study and the shape (...) of the case axes."""

    house: House
    lines: Sequence[EligibleLine]
    subsidies: Sequence[Subsidy]
    years: int
    shape: tuple[int, ...]
    today: date | None

    def basis(self, rule: Rule, day: date) -> Basis:
        return find_basis(rule, day, self.lines, self.subsidies, self.house.battery_kwh, self.shape)


def _tax_credit(rule: Rule, request: _Request) -> Award:
    """Grant or refuse a tax credit: share times basis, cut by the cap, used against the tax owed by year.

    Not modelled: business use of the home, owners who share the cost, costs spread over several years.
    """
    house = request.house
    day = house.installation_completed if rule.event == "installation completed" else house.in_service
    share = rule.parameters["share"].at(day)
    refusals, missing = _conditions(rule, house)
    if not isinstance(share, Value):
        reasons = [not_in_force(rule, share, day)]
        if isinstance(share, Ended) and not refusals:
            total = request.basis(rule, share.eve).total
            reasons.append(had_it_been(rule, share.eve, total, _potential(rule, share.eve, total)))
        return _refusal(rule, request, day, share, reasons + refusals)
    if refusals:
        return _refusal(rule, request, day, share, refusals)

    basis = request.basis(rule, day)
    potential = _potential(rule, day, basis.total)
    missing += basis.missing
    reasons = [in_force(rule, share, day), *about_subsidies(rule, request.subsidies)]
    if not missing and not potential.any():
        reasons.append("No cost is left to take a share of; the reason stands beside each line.")
        return _refusal(rule, request, day, share, reasons, basis.line_reasons)

    cap = rule.parameters["cap"].value_at(day)
    reasons += about_amount(rule, share, cap, basis.total, potential)
    if house.income_tax is None and not rule.refundable.value:
        missing.append(f"{rule.refundable.because} How much that is depends on the tax: fill in household.income_tax.")
    cut = potential - basis.total * share.amount
    ledger = [
        Step("eligible lines", basis.lines),
        Step("sales tax on them", basis.sales_tax),
        Step("less subsidies", 0.0 - basis.subsidies),
        Step("basis", basis.total),
        Step("share", np.full(request.shape, share.amount)),
        Step("cut by the cap", cut),
        Step("potential credit", potential),
    ]
    status: Status = "unknown"
    amounts = np.zeros((*request.shape, request.years + 1))
    if missing:
        reasons += ["Nothing is counted until this is known:", *missing]
    else:
        used, left = _use(rule, request, potential)
        outlives_study = rule.carry_forward.value >= request.years
        unused = left if outlives_study else np.zeros(request.shape)
        lost = left - unused
        carried = potential - used[..., 0] if rule.carry_forward.value else np.zeros(request.shape)
        ledger += [
            Step("used in year 1", used[..., 0]),
            Step("carried to year 2", carried),
            Step("used in later years", used[..., 1:].sum(axis=-1)),
            Step("lost", lost),
            Step("unused at the end of the study", unused),
        ]
        reasons += about_use(rule, used, carried, lost, unused)
        amounts[..., 1:] = used
        if used.any() or unused.any():
            status = "partly" if cut.any() or left.any() else "granted"
        else:
            status = "refused"
    return Award(
        rule_id=rule.id,
        title=rule.title,
        status=status,
        amounts=amounts,
        basis=basis.total,
        potential=potential,
        ledger=ledger,
        reasons=reasons + cautions(rule, house, day, share.source.known, request.today),
        line_reasons=basis.line_reasons,
        reference=share.source.reference,
        checked_on=rule.checked_on,
        known=share.source.known,
    )


_GRANTS: Mapping[str, Callable[[Rule, _Request], Award]] = {"tax credit": _tax_credit}


def _potential(rule: Rule, day: date, basis: Array) -> Array:
    """Return the credit (...) before the tax owed limits it; the rule must be in force on `day`."""
    share, cap = rule.parameters["share"].value_at(day), rule.parameters["cap"].value_at(day)
    return np.minimum(basis * share.amount, cap.amount)


def _use(rule: Rule, request: _Request, potential: Array) -> tuple[Array, Array]:
    """Return the credit received by year (..., years) and what is left (...), refundable or not."""
    shape = (*request.shape, request.years)
    if rule.refundable.value or request.house.income_tax is None:
        received = np.zeros(shape)
        received[..., 0] = potential
        return received, np.zeros(request.shape)
    tax = np.broadcast_to(np.asarray(request.house.income_tax, dtype=np.float64), shape)
    return use_credit(potential, tax, rule.carry_forward.value)


def _conditions(rule: Rule, house: House) -> tuple[list[str], list[str]]:
    """Return why the household is refused, and which facts are missing."""
    facts: Mapping[str, tuple[bool | None, str]] = {
        "buys the system": (house.owned, "payment"),
        "lives there": (house.lives_there, "household.owner_occupied"),
    }
    refusals: list[str] = []
    missing: list[str] = []
    if house.currency not in {None, rule.currency}:
        missing.append(f"The rule reckons in {rule.currency}, the scenario in {house.currency}: write the scenario so.")
    for condition in rule.conditions:
        met, field = facts[condition.needs]
        because = f"{condition.because} ({condition.source.reference})"
        if met is None:
            missing.append(f"{because} Fill in {field}.")
        elif not met and condition.otherwise == "refused":
            refusals.append(because)
        elif not met:
            missing.append(f"{because} With {field}: false it is not told which of them you are.")
    return refusals, missing


def _refusal(
    rule: Rule,
    request: _Request,
    day: date,
    entry: Value | Ended | NotYet,
    reasons: list[str],
    line_reasons: list[LineReason] | None = None,
) -> Award:
    """Return an award of nothing; where no line was weighed, none counts."""
    if line_reasons is None:
        because = "the rule grants nothing here, so no line counts"
        line_reasons = [LineReason(line.item, line.category, False, because) for line in request.lines]
    source = rule.parameters["share"].entries[0].source if isinstance(entry, NotYet) else entry.source
    return Award(
        rule_id=rule.id,
        title=rule.title,
        status="refused",
        amounts=np.zeros((*request.shape, request.years + 1)),
        basis=np.zeros(request.shape),
        potential=np.zeros(request.shape),
        ledger=[],
        reasons=reasons + cautions(rule, request.house, day, source.known, request.today),
        line_reasons=line_reasons,
        reference=source.reference,
        checked_on=rule.checked_on,
        known=source.known,
    )
