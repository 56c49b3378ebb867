"""One rule before one household: its day, whether it is in force, what its conditions say, and the award that follows.

`Weighing` holds what every kind of rule shares; the arithmetic of the kinds stands in `purchase` and `yearly`.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from finsolar.incentives.basis import Basis, find_basis, weigh_lines
from finsolar.incentives.conditions import Verdict
from finsolar.incentives.facts import NOW_MISSING, Array, Award, EligibleLine, House, LineReason, Status, Step, Subsidy
from finsolar.incentives.law import (
    GRANTS,
    MARGINAL,
    PAYMENTS,
    PRICE_REDUCTIONS,
    TAXES,
    UPFRONT,
    Ended,
    NotYet,
    Rule,
    Unknown,
    Value,
)
from finsolar.incentives.wording import cautions, money

_OF_SOLAR = frozenset({"modules", "inverter", "racking", "wiring", "labour", "permits", "interconnection", "shipping"})
"""Cost lines that a payment by the kW of solar is for."""

PAYING = frozenset({"performance payment", "metered certificates", "capacity payment"})
"""Kinds that pay money year by year."""


@dataclass(eq=False)
class Table:
    """What is on the table while the rules of a house are weighed one after another.

    lines : the cost lines, with sales tax as it stands after relief; paid (...) : what the household pays for them
    beyond subsidies; upfront (...) : awards of the purchase so far; tax_left : by tax, (..., years), what earlier
    credits left of it; spared (...) : sales tax that is not charged; exempt (..., years) : property tax that is not;
    awards : by rule, so far; barred : rules that others shut out, with the cases (...) in which they do and the reason;
    shape : (...) of the case axes.
    """

    house: House
    lines: list[EligibleLine]
    subsidies: Sequence[Subsidy]
    years: int
    shape: tuple[int, ...]
    today: date | None
    barred: dict[str, tuple[NDArray[np.bool_], str]] = field(default_factory=dict)
    awards: dict[str, Award] = field(default_factory=dict)
    rules: dict[str, Rule] = field(default_factory=dict)
    upfront: Array = field(default_factory=lambda: np.zeros(()))
    tax_left: dict[str, Array] = field(default_factory=dict)
    spared: Array = field(default_factory=lambda: np.zeros(()))
    exempt: Array = field(default_factory=lambda: np.zeros(()))

    @classmethod
    def laid(
        cls,
        rules: Sequence[Rule],
        house: House,
        lines: Sequence[EligibleLine],
        subsidies: Sequence[Subsidy],
        years: int,
        shape: tuple[int, ...],
        today: date | None,
    ) -> "Table":
        """Lay out what the household pays and owes before any rule is weighed."""
        table = cls(house, list(lines), subsidies, years, shape, today)
        table.rules = {rule.id: rule for rule in rules}
        table.upfront, table.spared = np.zeros(shape), np.zeros(shape)
        table.exempt = np.zeros((*shape, years))
        for tax in TAXES:
            owed = house.taxes.get(tax)
            if owed is not None:
                table.tax_left[tax] = np.array(np.broadcast_to(owed, (*shape, years)), dtype=np.float64)
        return table

    def copied(self) -> "Table":
        """The same table, from which a rule may take without taking from this one."""
        return replace(self, lines=list(self.lines), awards=dict(self.awards), tax_left=dict(self.tax_left))

    @property
    def property_tax_left(self) -> Array | None:
        """The property tax (..., years) that earlier rules left; None if none is told."""
        tax = self.house.taxed_property(self.spared)
        if tax is None:
            return None
        return np.maximum(np.broadcast_to(tax, (*self.shape, self.years)) - self.exempt, 0.0)

    @property
    def unpaid(self) -> Array:
        """What of the cost lines (...) neither subsidies nor earlier awards of the purchase have paid."""
        cost = np.zeros(self.shape) + sum((line.cost + line.sales_tax for line in self.lines), start=np.zeros(()))
        helped = sum((subsidy.amount for subsidy in self.subsidies), start=np.zeros(()))
        return np.maximum(cost - helped - self.upfront, 0.0)

    def take_off(self, rule: Rule, counts: Sequence[NDArray[np.bool_]]) -> list[tuple[str, Array]]:
        """Return what is taken off the basis of `rule`, each part (...) with its name.

        Of what was paid for a cost line only what falls on a line that counts here is taken off.
        """
        parts: list[tuple[str, Array]] = []
        for name in () if rule.lowered_by is None else rule.lowered_by.value:
            if name in {PRICE_REDUCTIONS, GRANTS}:
                lowers = name == PRICE_REDUCTIONS
                parts += [
                    (s.item, s.amount * self._common(self._spread(s.category), counts))
                    for s in self.subsidies
                    if s.lowers_basis == lowers
                ]
                parts += [
                    (award.title, award.potential * self._common(award.spread, counts))
                    for award in self.awards.values()
                    if award.kind in {"upfront rebate", "deemed certificates"}
                    and award.amounts.any()
                    and self._lowers_price(award.rule_id) == lowers
                ]
            elif name in self.awards:
                other = self.awards[name]
                parts.append((other.title, other.potential * self._common(other.spread, counts)))
        return [(name, np.asarray(amount)) for name, amount in parts if np.any(amount)]

    def _spread(self, category: str | None) -> list[Array] | None:
        """How a subsidy falls on the lines of its category; None for one that is for the whole."""
        if category is None:
            return None
        return shared_out([(line.cost + line.sales_tax) * (line.category == category) for line in self.lines])

    def _common(self, spread: Sequence[Array] | None, counts: Sequence[NDArray[np.bool_]]) -> Array:
        """Return the share (...) of a payment that falls on lines that count; all of it where it is for the whole."""
        if spread is None:
            return np.ones(())
        shares = (share * counted for share, counted in zip(spread, counts, strict=True))
        return np.asarray(sum(shares, start=np.zeros(())))

    def _lowers_price(self, rule_id: str) -> bool:
        term = self.rules[rule_id].lowers_price
        return term is not None and term.value

    def exemption(self, rule: Rule) -> Award | None:
        """Return the granted exemption from income tax that covers what `rule` pays, if there is one."""
        for award in self.awards.values():
            exempts = self.rules[award.rule_id].exempts
            if exempts is not None and award.status == "granted":
                covered = PAYMENTS in exempts.value and rule.kind in PAYING
                if covered or rule.id in exempts.value:
                    return award
        return None


@dataclass(eq=False)
class Weighing:
    """One rule before the table: working, reasons and what is missing gather here until `award` closes it."""

    rule: Rule
    table: Table
    day: date
    entry: Value
    verdict: Verdict
    reasons: list[str]
    ledger: list[Step] = field(default_factory=list)
    missing: list[str] = field(default_factory=list)
    line_reasons: list[LineReason] = field(default_factory=list)
    basis: Array = field(default_factory=lambda: np.zeros(()))
    counts: list[NDArray[np.bool_]] | None = None
    tells_notes: bool = False  # a refusal leaves the notes of a rule out unless it asks for them

    @property
    def shape(self) -> tuple[int, ...]:
        """The case axes (...)."""
        return self.table.shape

    @property
    def house(self) -> House:
        """The household."""
        return self.table.house

    def value(self, name: str) -> Value | None:
        """The value of a parameter on the day that counts, None if there is none."""
        return self.rule.value(name, self.day)

    def number(self, name: str, otherwise: float) -> float:
        """The number of a parameter on the day that counts."""
        found = self.value(name)
        return otherwise if found is None else found.number

    def find_basis(self) -> Basis:
        """Work out the basis and write it into the ledger."""
        house = self.house
        weighed = weigh_lines(self.rule, self.day, self.table.lines, house.numbers.get("battery kwh"))
        parts = self.table.take_off(self.rule, weighed.counts)
        found = find_basis(
            self.rule,
            self.table.lines,
            weighed.counts,
            np.asarray(sum((amount for _, amount in parts), start=np.zeros(self.shape))),
            np.asarray(house.business_use),
            self.shape,
        )
        self.basis, self.counts, self.line_reasons = found.total, weighed.counts, weighed.line_reasons
        self.missing += weighed.missing
        self.ledger += [
            Step("eligible lines", found.lines),
            Step("sales tax on them", found.sales_tax),
            Step("less subsidies", 0.0 - found.lowering),
        ]
        if found.business.any():
            self.ledger.append(Step("less business use", 0.0 - found.business))
        self.ledger.append(Step("basis", found.total))
        currency = self.rule.currency
        for name, amount in parts:
            self.reasons.append(f"{name} ({money(currency, amount)}) lowers the basis.")
        lowered = self.rule.lowered_by
        if lowered is not None and parts:
            self.reasons.append(f"{lowered.because} ({lowered.source.reference})")
        if found.business.any() and self.rule.business_use is not None:
            term = self.rule.business_use
            self.reasons.append(f"{term.because} ({term.source.reference})")
        return found

    def size(self, name: str) -> Array:
        """The number (...) a rule measures by, told or else missing and zero."""
        found = self.house.numbers.get(name)
        if found is None:
            self.missing.append(f"How much it is depends on the size: fill in {_FIELD[name]}.")
            return np.zeros(self.shape)
        return np.broadcast_to(np.asarray(found, dtype=np.float64), self.shape)

    def generation(self) -> Array:
        """What the system makes by year (..., years), kWh."""
        return self._energy(self.house.generation)

    def exported(self) -> Array:
        """What leaves the house by year (..., years), kWh."""
        return self._energy(self.house.exported)

    def _energy(self, found: Array | None) -> Array:
        if found is None:
            raise ValueError(f"{self.rule.id} pays for energy, and the house was given without its energy by year")
        return np.broadcast_to(found, (*self.shape, self.table.years))

    def no_more_than_paid(self, amount: Array) -> Array:
        """Cut an award of the purchase (...) so that all of them together never pass what the household pays."""
        most = self.table.unpaid
        cut = np.maximum(amount - most, 0.0)
        if cut.any():
            self.ledger.append(Step("cut, since awards cannot exceed the cost", 0.0 - cut))
            self.reasons.append(
                f"{money(self.rule.currency, cut)} is left out: awards together are not counted beyond what you pay."
            )
        return np.minimum(amount, most)

    def by_year(self, from_year_1: Array) -> Array:
        """Return yearly amounts (..., years) with an empty year 0 before them, over all cases."""
        found = np.zeros((*self.shape, self.table.years + 1))
        found[..., 1:] = from_year_1 if self.house.serving is None else from_year_1 * self.house.serving
        return found

    def _spread(self) -> list[Array] | None:
        """How an award falls on the cost lines: on those it counts, by their cost, or by what it is measured by.

        None stands for an award that is for the whole.
        """
        rule, lines = self.rule, self.table.lines
        if rule.credit_of is not None and rule.credit_of.value in self.table.awards:
            return self.table.awards[rule.credit_of.value].spread
        if self.counts is not None:
            counts: Sequence[NDArray[np.bool_]] = self.counts
        else:
            by = {name for name in ("per_kw", "per_kwh") if name in rule.parameters}
            by |= set() if rule.size is None else {"per_kwh" if rule.size.value == "battery kwh" else "per_kw"}
            if by not in ({"per_kw"}, {"per_kwh"}):
                return None
            measured = _OF_SOLAR if by == {"per_kw"} else {"battery"}
            counts = [np.array(line.category in measured) for line in lines]
        return shared_out([(line.cost + line.sales_tax) * counted for line, counted in zip(lines, counts, strict=True)])

    def award(
        self, amounts: Array, potential: Array, *, cut: bool = False, waiting: bool = False, worth: Array | None = None
    ) -> Award:
        """Close the weighing: amounts (..., years+1) and potential (...), nulled where a condition refuses a case.

        cut : something was clipped, lost or unused, so the answer is `partly`; waiting : no money comes within the
        study, yet something was granted; worth : (...) of what is no payment.
        """
        met = np.broadcast_to(self.verdict.met, self.shape)
        amounts, potential = amounts * met[..., None], potential * met
        worth = np.zeros(self.shape) if worth is None else worth * met
        status: Status
        missing = [*self.missing, *self.verdict.missing]
        reasons = list(self.reasons)
        if self.house.currency not in {None, self.rule.currency}:
            potential = np.zeros(self.shape)  # an amount in other money says nothing here
        if missing:
            status = "unknown"
            amounts, worth = np.zeros(amounts.shape), np.zeros(self.shape)
            reasons += [NOW_MISSING, *missing]
        elif not (amounts.any() or worth.any() or waiting):
            status = "refused"
        else:
            status = "partly" if cut or not met.all() else "granted"
            if not met.all():
                reasons.append(f"The conditions are met in {met.sum()} of {met.size} cases.")
        tax = self._tax(amounts, reasons)
        return self._closed(status, amounts, tax, worth, potential, reasons, self.ledger)

    def _tax(self, amounts: Array, reasons: list[str]) -> Array:
        """Return the income tax that the award brings with it (..., years+1), never positive, and say why."""
        none = np.zeros(amounts.shape)
        term = self.rule.taxable
        if term is None or term.value == "no" or not amounts.any():
            return none
        exemption = self.table.exemption(self.rule)
        if exemption is not None:
            reasons.append(f"No income tax is due on it: {exemption.title}. ({exemption.reference})")
            return none
        because = f"{term.because} ({term.source.reference})"
        claim = self.house.claimed(self.rule.id)
        asked, answer = {
            "yes": ("", True),
            "if itemised": ("household.itemises", self.house.itemises),
            "household decides": (f"taxed for {self.rule.id} under claims", claim.taxed),
        }[term.value]
        if answer is None:
            reasons.append(f"Caution: {because} No tax is taken off, since {asked} was not told.")
            return none
        if not answer:
            return none
        marginal = self.house.marginal.get("income tax")
        if marginal is None:
            reasons.append(f"Caution: {because} No tax is taken off, since {MARGINAL['income tax']} was not told.")
            return none
        tax = 0.0 - amounts * np.asarray(marginal)[..., None]
        # What is received on the day of switching on is taxed with the first year's return.
        tax[..., 1] += tax[..., 0]
        tax[..., 0] = 0.0
        reasons.append(f"{because} That costs {money(self.rule.currency, 0.0 - tax.sum(axis=-1))} in all.")
        return tax

    def refused(self, *reasons: str) -> Award:
        """Close the weighing with a refusal for these reasons."""
        nothing = np.zeros((*self.shape, self.table.years + 1))
        none = np.zeros(self.shape)
        return self._closed("refused", nothing, nothing, none, none, [*reasons, *self.reasons], [])

    def _closed(
        self,
        status: Status,
        amounts: Array,
        tax: Array,
        worth: Array,
        potential: Array,
        reasons: list[str],
        ledger: list[Step],
    ) -> Award:
        source = self.entry.source
        return Award(
            rule_id=self.rule.id,
            title=self.rule.title,
            kind=self.rule.kind,
            status=status,
            amounts=amounts,
            tax=tax,
            worth=worth,
            basis=np.broadcast_to(self.basis, self.shape),
            potential=potential,
            upfront=self.rule.kind in UPFRONT,
            ledger=ledger,
            reasons=[
                *reasons,
                *(self.rule.notes if status != "refused" or self.tells_notes else ()),
                *cautions(self.rule, self.house, self.day, source.known, self.table.today),
            ],
            line_reasons=self.line_reasons,
            reference=source.reference,
            checked_on=self.rule.checked_on,
            known=source.known,
            spread=self._spread(),
        )


def shared_out(amounts: Sequence[Array]) -> list[Array]:
    """Return each amount (...) as a share of their sum; zero where there is nothing to share."""
    whole = np.asarray(sum(amounts, start=np.zeros(())))
    return [np.divide(each, whole, out=np.zeros(whole.shape), where=whole > 0) for each in amounts]


_FIELD = {
    "solar kw": "system.arrays",
    "battery kwh": "system.battery.kwh",
}


def answer_without_value(
    rule: Rule, table: Table, day: date, entry: Ended | NotYet | Unknown, reasons: list[str]
) -> Award:
    """Return the award of a rule that holds no value on the day: refused, or unknown where the law is not known."""
    source = rule.leading.entries[0].source if isinstance(entry, NotYet) else entry.source
    because = "the rule grants nothing here, so no line counts"
    none, nothing = np.zeros(table.shape), np.zeros((*table.shape, table.years + 1))
    return Award(
        rule_id=rule.id,
        title=rule.title,
        kind=rule.kind,
        status="unknown" if isinstance(entry, Unknown) else "refused",
        amounts=nothing,
        tax=nothing,
        worth=none,
        basis=none,
        potential=none,
        upfront=rule.kind in UPFRONT,
        ledger=[],
        reasons=[
            *reasons,
            *(rule.notes if isinstance(entry, Unknown) else ()),
            *cautions(rule, table.house, day, source.known, table.today),
        ],
        line_reasons=[LineReason(line.item, line.category, False, because) for line in table.lines],
        reference=source.reference,
        checked_on=rule.checked_on,
        known=source.known,
        spread=None,
    )
