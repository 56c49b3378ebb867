"""The records of a rule: dated values, terms, tests of cost lines, conditions, and where each is written.

A value holds from the day it is listed under until the day before the next one. An end is written (`ended`), so is
a time whose law is not known here (`unknown`), and a day before the first value is "not yet in force": none of them
is a number, so none can slip into a sum as zero.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Generic, NamedTuple, TypeVar

T = TypeVar("T")

AMOUNTS = ("share", "per_kw", "per_kwh", "fixed")
"""What a credit or a rebate may be made of; several of them add up."""

CAPS = ("cap_per_kw", "cap_per_kwh", "cap", "cap_share_of_cost")
"""What limits one award, in the order in which it is applied."""


class Kind(NamedTuple):
    """The dated parameters of a kind of rule: those that can lead (one at least), those needed, those allowed."""

    leading: tuple[str, ...]
    needed: tuple[str, ...] = ()
    allowed: tuple[str, ...] = ()


KINDS: Mapping[str, Kind] = {
    "tax credit": Kind(AMOUNTS, (), (*CAPS, "lifetime_cap", "yearly_cap", "yearly_share_of_tax")),
    "tax deduction": Kind(("yearly_shares",), (), ("yearly_cap",)),
    "upfront rebate": Kind(AMOUNTS, (), CAPS),
    "performance payment": Kind(("per_kwh", "per_mwh"), ("term_years",), ("yearly_step_down",)),
    "metered certificates": Kind(("kwh_each",), ("term_years",), ("floor_price",)),
    "deemed certificates": Kind(("factor",), (), ("weights", "cap_size", "fee_each", "price_each")),
    "sales tax relief": Kind(("rate_left", "share_spared")),
    "property tax relief": Kind(("exempt_share",), (), ("term_years",)),
    "capacity payment": Kind(("per_kw",), ("term_years",), ("events", "event_hours")),
    "below-market loan": Kind(("rate",), ("term_years",), ("cap", "smallest", "fee")),
    "income tax exemption": Kind(("ceiling_kw",)),
    "owner's credit": Kind(("share",)),
}
"""The kinds of rule, each with the dated parameters its files may state."""

UPFRONT = frozenset({"tax credit", "tax deduction", "upfront rebate", "deemed certificates", "sales tax relief"})
"""Kinds whose money belongs to the purchase; the others pay year by year, or do not pay at all."""

FALLBACK: Mapping[str, str] = {
    "contract": "installation completed",
    "purchase": "installation completed",
    "electrical certificate": "installation completed",
    "commissioning": "in service",
    "permission to operate": "in service",
    "registration": "in service",
    "claim": "in service",
}
"""Events that a scenario may date, each with the one that stands for it where no day is told."""

EVENTS = ("installation completed", "in service", *FALLBACK, "new year")
"""The events of a house whose day can select a rule's values; `new year` is 1 January of the in-service year."""

FACTS: Mapping[str, str] = {
    "buys the system": "payment",
    "leases the system": "payment",
    "lives there": "household.owner_occupied",
    "main home": "household.main_home",
    "new home": "household.new_home",
    "existing home": "household.new_home",
    "contractor": "installer",
    "licensed installer": "installer",
    "accredited installer": "installer",
    "grid connection": "system.operation",
    "off grid": "system.operation",
    "solar": "system.arrays",
    "battery": "system.battery",
    "net metering": "tariff.export",
    "no net metering": "tariff.export",
    "household confirms": "claims",
}
"""What a rule may ask with yes or no for an answer, and the field of the scenario that gives it."""

NUMBERS: Mapping[str, str] = {
    "solar kw": "system.arrays",
    "inverter kw": "system.inverter.kw",
    "battery kwh": "system.battery.kwh",
    "income": "household.income",
}
"""What a rule may hold against limits, and the field of the scenario that gives it."""

NEEDS = (*FACTS, *NUMBERS)

TAXES: Mapping[str, str] = {"income tax": "household.income_tax", "state income tax": "household.state_income_tax"}
"""The taxes a credit may be set against, and the field of the scenario that tells what is owed."""

MARGINAL: Mapping[str, str] = {
    "income tax": "household.marginal_tax",
    "state income tax": "household.state_marginal_tax",
}
"""The fields that tell what one more unit of income is taxed at."""

PRICE_REDUCTIONS, GRANTS, PAYMENTS = "price reductions", "grants", "payments"


class Band(NamedTuple):
    """One step of an amount that changes with size: up to which size, infinity for all beyond, and its value."""

    up_to: float
    value: float


Amount = float | tuple[Band, ...] | tuple[float, ...]
"""A number (infinity: no limit), bands over a size, or shares of successive years."""


@dataclass(frozen=True)
class Source:
    """Where a fact is written, and whether it was `seen` there or comes from `memory`."""

    reference: str
    known: str


@dataclass(frozen=True)
class Value:
    """An amount in force from `start`."""

    start: date
    amount: Amount
    source: Source

    @property
    def number(self) -> float:
        """The amount, where it is one number; raises TypeError where it is not."""
        if isinstance(self.amount, tuple):
            raise TypeError(f"{self.amount} is no single number")
        return self.amount

    @property
    def bands(self) -> tuple[Band, ...]:
        """The amount as bands over a size; one number holds for every size."""
        if isinstance(self.amount, tuple):
            return tuple(band for band in self.amount if isinstance(band, Band))
        return (Band(float("inf"), self.amount),)

    @property
    def shares(self) -> tuple[float, ...]:
        """The amount as shares of successive years; one number is that of one year."""
        if isinstance(self.amount, tuple):
            return tuple(share for share in self.amount if not isinstance(share, Band))
        return (self.amount,)


@dataclass(frozen=True)
class Ended:
    """From `start` the rule grants nothing, and `because` says so in words."""

    start: date
    because: str
    source: Source

    @property
    def eve(self) -> date:
        """The last day the rule was in force."""
        return self.start - timedelta(days=1)


@dataclass(frozen=True)
class Unknown:
    """From `start` it is not known here what the law says; `because` says what is awaited."""

    start: date
    because: str
    source: Source


@dataclass(frozen=True)
class NotYet:
    """The day asked for lies before `first`, the first day of the rule."""

    first: date


Entry = Value | Ended | Unknown


@dataclass(frozen=True)
class Dated:
    """A parameter of the law: its unit, and its values in order of the day each starts."""

    unit: str
    entries: tuple[Entry, ...]

    def at(self, day: date) -> Entry | NotYet:
        """Return what the law says on `day`: the last entry that starts on or before it.

        A day before the first entry gives `NotYet`; the first value is never filled backwards.
        """
        begun = [entry for entry in self.entries if entry.start <= day]
        return begun[-1] if begun else NotYet(self.entries[0].start)

    def value_at(self, day: date) -> Value:
        """Return the value in force on `day`; raises LookupError if none is."""
        found = self.at(day)
        if not isinstance(found, Value):
            raise LookupError(f"nothing is in force on {day}: {found}")
        return found

    def last_day(self, entry: Entry) -> date | None:
        """Return the last day of `entry`, the day before the next one starts; None if nothing follows."""
        following = [other.start for other in self.entries if other.start > entry.start]
        return following[0] - timedelta(days=1) if following else None


@dataclass(frozen=True)
class Term(Generic[T]):
    """A feature of a rule that does not depend on the day, with its words and source."""

    value: T
    because: str
    source: Source


@dataclass(frozen=True)
class LineTest:
    """Whether cost lines of some categories enter the basis, and why.

    Lines count from `since` (always, if None; `before` explains the days earlier), and a battery only if it
    holds at least `smallest_kwh` [kWh] (any size, if None).
    """

    categories: tuple[str, ...]
    counted: bool
    because: str
    since: date | None
    before: str
    smallest_kwh: float | None
    source: Source


@dataclass(frozen=True)
class Condition:
    """What a rule asks of the household, and what follows (`refused` or `unknown`) where it is not met.

    A need of NUMBERS is held against `at_least` and `at_most`; the condition is asked for event days from `since` to
    `until`, both included, None standing for no limit.
    """

    needs: str
    otherwise: str
    because: str
    source: Source
    at_least: float | None = None
    at_most: float | None = None
    since: date | None = None
    until: date | None = None


@dataclass(frozen=True)
class Rule:
    """One incentive, the content of one rule file; `id` is the file's path below the rules folder.

    Terms that its kind does not know, or that a file leaves out, are None.
    """

    id: str
    title: str
    kind: str
    currency: str
    reference: str
    checked_on: date
    event: str
    parameters: Mapping[str, Dated]
    lines: tuple[LineTest, ...] = ()
    conditions: tuple[Condition, ...] = ()
    notes: tuple[str, ...] = ()
    refundable: Term[str] | None = None  # yes, no, elective
    haircut: float = 0.0  # what an elected refund costs, a share of the credit
    carry_forward: Term[float] | None = None
    over_yearly_cap: Term[str] | None = None  # carried, lost
    against: Term[str] | None = None
    lowered_by: Term[tuple[str, ...]] | None = None
    credit_of: Term[str] | None = None
    lowers_price: Term[bool] | None = None
    taxable: Term[str] | None = None  # no, yes, if itemised, household decides
    excludes: Term[tuple[str, ...]] | None = None
    exempts: Term[tuple[str, ...]] | None = None
    first_come: Term[bool] | None = None
    business_use: Term[float] | None = None
    paid_on: Term[str] | None = None  # generation, export, all fed in
    to_year_end: Term[bool] | None = None
    size: Term[str] | None = None  # solar kw, battery kwh
    zones: Term[Mapping[str, float]] | None = None
    arrives_in_year: Term[int] | None = None
    file: str = field(default="", compare=False)

    @property
    def lead(self) -> str:
        """The name of the parameter that decides whether the rule is in force."""
        return next(name for name in KINDS[self.kind].leading if name in self.parameters)

    @property
    def leading(self) -> Dated:
        """The parameter that decides whether the rule is in force."""
        return self.parameters[self.lead]

    def value(self, name: str, day: date) -> Value | None:
        """The value of a parameter on `day`; None if the rule has no such parameter, or none that day."""
        dated = self.parameters.get(name)
        found = None if dated is None else dated.at(day)
        return found if isinstance(found, Value) else None

    def line_test(self, category: str) -> LineTest | None:
        """Return what the rule says of cost lines in `category`; None if it does not name the category."""
        return next((test for test in self.lines if category in test.categories), None)

    def changes(self) -> tuple[date, ...]:
        """The days on which something the rule says begins or ends, in order."""
        days = {entry.start for dated in self.parameters.values() for entry in dated.entries}
        days |= {test.since for test in self.lines if test.since}
        days |= {condition.since for condition in self.conditions if condition.since}
        days |= {condition.until + timedelta(days=1) for condition in self.conditions if condition.until}
        return tuple(sorted(days))
