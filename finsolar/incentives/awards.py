"""From cost lines, dates and taxes to awards: what each rule grants a household, year by year, and why.

Conventions. Amounts are money to the household, positive and nominal. Year 0 is the in-service day; a tax
credit arrives with the return, so year 1 is the first it can lower a tax bill. Everything broadcasts over
leading case axes; only the carrying forward of a credit loops, over years.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from finsolar.incentives import purchase, yearly
from finsolar.incentives.conditions import weigh
from finsolar.incentives.facts import Array, Award, EligibleLine, House, LineReason, Subsidy
from finsolar.incentives.law import Ended, Rule, Term, Value
from finsolar.incentives.order import in_order
from finsolar.incentives.weighing import Table, Weighing, answer_without_value
from finsolar.incentives.wording import in_force, not_in_force

__all__ = ["Award", "assess"]

_Barred = Mapping[str, tuple[NDArray[np.bool_], str]]

_GRANTS: Mapping[str, Callable[[Weighing], Award]] = {
    "tax credit": purchase.tax_credit,
    "tax deduction": purchase.tax_deduction,
    "upfront rebate": purchase.upfront_rebate,
    "deemed certificates": purchase.deemed_certificates,
    "sales tax relief": purchase.sales_tax_relief,
    "performance payment": yearly.performance_payment,
    "metered certificates": yearly.metered_certificates,
    "capacity payment": yearly.capacity_payment,
    "property tax relief": yearly.property_tax_relief,
    "below-market loan": yearly.below_market_loan,
    "income tax exemption": yearly.income_tax_exemption,
    "owner's credit": yearly.owners_credit,
}


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
    used only to say that a rule was checked too long ago. Of rules that exclude one another the one worth more
    stands, and the others are refused for it.

    Raises
    ------
    ValueError
        If an amount is negative or not finite, the study has no year, a tax owed does not fit its years, rules lean on
        one another in a circle, or a rule pays for energy of which the house does not tell.
    """
    shape = _shape(house, lines, subsidies, years)
    ordered = in_order(rules)

    def weighed(barred: _Barred) -> Mapping[str, Award]:
        table = Table.laid(ordered, house, lines, subsidies, years, shape, today)
        table.barred = dict(barred)
        for rule in ordered:
            table.awards[rule.id] = _weighed(rule, table)
        return table.awards

    found = weighed(_shut_out(ordered, weighed, shape))
    return [found[rule.id] for rule in rules]


def _weighed(rule: Rule, table: Table) -> Award:
    """Weigh one rule: in force on its day, its conditions, then the arithmetic of its kind."""
    day = table.house.day(rule.event)
    entry = rule.leading.at(day)
    verdict = weigh(rule, table.house, day)
    if not isinstance(entry, Value):
        reasons = [not_in_force(rule, entry, day)]
        if isinstance(entry, Ended) and not verdict.refusals and rule.lines:
            reasons += _had_it_been(rule, table, entry)
        return answer_without_value(rule, table, day, entry, reasons + verdict.refusals)
    weighing = Weighing(rule, table, day, entry, verdict, [])
    if rule.id in table.barred:
        out, reason = table.barred[rule.id]
        out = np.broadcast_to(out, table.shape)
        if out.all():
            verdict.refusals.append(reason)
        else:
            weighing.verdict = replace(verdict, met=verdict.met & ~out)
            weighing.reasons.append(f"In {out.sum()} of {out.size} cases: {reason}")
    if verdict.refusals:
        because = "the rule grants nothing here, so no line counts"
        weighing.line_reasons = [LineReason(line.item, line.category, False, because) for line in table.lines]
        return weighing.refused(*verdict.refusals)
    weighing.reasons.append(in_force(rule, entry, day))
    return _GRANTS[rule.kind](weighing)


def _had_it_been(rule: Rule, table: Table, ended: Ended) -> list[str]:
    """Say what the same house would have had on the last day of the rule, other rules being what they are now."""
    entry = rule.leading.at(ended.eve)
    if not isinstance(entry, Value):
        return []
    scratch = table.copied()
    weighing = Weighing(rule, scratch, ended.eve, entry, weigh(rule, table.house, ended.eve), [])
    if weighing.verdict.refusals:
        return []
    potential = _GRANTS[rule.kind](weighing).potential
    return [purchase.had_it_been(weighing, ended, potential)] if potential.any() else []


def _shut_out(
    rules: Sequence[Rule], weighed: Callable[[_Barred], Mapping[str, Award]], shape: tuple[int, ...]
) -> _Barred:
    """Return the rules that others shut out, each with the cases (...) and the reason.

    Each rule of a pair is held against the other by what it is worth where the other is left out. In each case the one
    worth most of all that cannot be combined stands first, and shuts out its rivals; then the next of those still open.
    """
    by_id = {rule.id: rule for rule in rules}
    pairs = {
        tuple(sorted((rule.id, other))): rule.excludes
        for rule in rules
        for other in (() if rule.excludes is None else rule.excludes.value)
        if other in by_id
    }
    rivals = sorted({rule_id for pair in pairs for rule_id in pair})
    whole = np.ones(shape, dtype=np.bool_)
    barred: dict[str, tuple[NDArray[np.bool_], str]] = {}

    def out(rule_id: str) -> NDArray[np.bool_]:
        return barred[rule_id][0] if rule_id in barred else ~whole

    while True:
        still = {pair: ~(out(pair[0]) | out(pair[1])) for pair in pairs}
        if not any(cases.any() for cases in still.values()):
            return barred
        beside = weighed(barred)
        alone = {}
        for rule_id in rivals:
            others = {other for pair in pairs if rule_id in pair for other in pair} - {rule_id}
            alone[rule_id] = _worth(weighed({**barred, **dict.fromkeys(others, (whole, ""))})[rule_id])
        clashes = {
            (one, other): cases
            & (((alone[one] > 0) & (alone[other] > 0)) | ((_worth(beside[one]) > 0) & (_worth(beside[other]) > 0)))
            for (one, other), cases in still.items()
        }
        if not any(cases.any() for cases in clashes.values()):
            return barred
        best = np.full(shape, -1.0)
        first = np.full(shape, -1)
        for place, rule_id in enumerate(rivals):
            clashing = np.any([cases for pair, cases in clashes.items() if rule_id in pair], axis=0)
            better = clashing & (alone[rule_id] > best)
            best, first = np.where(better, alone[rule_id], best), np.where(better, place, first)
        for pair, cases in clashes.items():
            for winner, loser in (pair, pair[::-1]):
                shut = cases & (first == rivals.index(winner))
                if shut.any():
                    already = barred.get(loser, (~whole, ""))
                    words = already[1] or _shut_out_words(by_id[winner], pairs[pair])
                    barred[loser] = (already[0] | shut, words)


def _shut_out_words(winner: Rule, term: Term[tuple[str, ...]] | None) -> str:
    because = "" if term is None else f" {term.because} ({term.source.reference})"
    return (
        f"It cannot be combined with {winner.title}, which is worth no less here.{because} To have it the other way "
        f"round, write claim: false for {winner.id} under claims."
    )


def _worth(award: Award) -> Array:
    """What an award comes to in each case (...) at face value, over the years."""
    return np.asarray(award.amounts.sum(axis=-1) + award.worth)


def _shape(house: House, lines: Sequence[EligibleLine], subsidies: Sequence[Subsidy], years: int) -> tuple[int, ...]:
    """Return the case axes (...) of all that was told, having checked that it can be."""
    if years < 1:
        raise ValueError(f"a study needs at least one year, not {years}")
    amounts: list[Array] = [amount for line in lines for amount in (line.cost, line.sales_tax)]
    amounts += [subsidy.amount for subsidy in subsidies]
    amounts += [number for number in house.numbers.values() if number is not None]
    amounts += [rate for rate in house.marginal.values() if rate is not None]
    amounts += [number for number in (house.battery_kw, house.battery_usable_kwh) if number is not None]
    amounts.append(np.asarray(house.business_use))
    for claim in house.claims.values():
        amounts += [number for number in (claim.kw, claim.used_before) if number is not None]
    shapes = [np.shape(amount) for amount in amounts]
    yearly_amounts = {f"{name}": tax for name, tax in house.taxes.items()}
    yearly_amounts |= {"generation": house.generation, "exported": house.exported, "property tax": house.property_tax}
    yearly_amounts |= {f"price of {rule_id}": claim.price for rule_id, claim in house.claims.items()}
    for name, amount in yearly_amounts.items():
        if amount is None:
            continue
        if np.shape(amount)[-1:] not in ((1,), (years,)):
            found = np.shape(amount)
            raise ValueError(f"{name} needs a last axis of 1 or {years} years, found shape {found}")
        amounts.append(amount)
        shapes.append(np.shape(amount)[:-1])
    for amount in amounts:
        if not (np.isfinite(amount).all() and (np.asarray(amount) >= 0).all()):
            raise ValueError("costs, subsidies, taxes, sizes and energy must be finite and not negative")
    return np.broadcast_shapes(*shapes)
