"""The records of a rule: dated values, terms, tests of cost lines, conditions, and where each is written.

A value holds from the day it is listed under until the day before the next one. An end is written (`ended`),
and a day before the first value is "not yet in force": neither is a number, so neither can slip into a sum as
zero.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Generic, TypeVar

T = TypeVar("T")

KINDS: Mapping[str, tuple[str, ...]] = {"tax credit": ("share", "cap")}
"""The kinds of rule, each with the dated parameters its files must state."""

EVENTS = ("installation completed", "in service")
"""The events of a house whose day can select a rule's values."""

NEEDS = ("buys the system", "lives there")
"""What a rule may ask of a household."""


@dataclass(frozen=True)
class Source:
    """Where a fact is written, and whether it was `seen` there or comes from `memory`."""

    reference: str
    known: str


@dataclass(frozen=True)
class Value:
    """An amount in force from `start`; infinity means "no limit"."""

    start: date
    amount: float
    source: Source


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
class NotYet:
    """The day asked for lies before `first`, the first day of the rule."""

    first: date


@dataclass(frozen=True)
class Dated:
    """A parameter of the law: its unit, and its values in order of the day each starts."""

    unit: str
    entries: tuple[Value | Ended, ...]

    def at(self, day: date) -> Value | Ended | NotYet:
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

    def last_day(self, entry: Value | Ended) -> date | None:
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
    """What a rule asks of the household, and what follows (`refused` or `unknown`) where it is not met."""

    needs: str
    otherwise: str
    because: str
    source: Source


@dataclass(frozen=True)
class Rule:
    """One incentive, the content of one rule file; `id` is the file's path below the rules folder."""

    id: str
    title: str
    kind: str
    currency: str
    reference: str
    checked_on: date
    event: str
    parameters: Mapping[str, Dated]
    refundable: Term[bool]
    carry_forward: Term[float]
    subsidies_lower_basis: Term[bool]
    lines: tuple[LineTest, ...]
    conditions: tuple[Condition, ...]

    def line_test(self, category: str) -> LineTest | None:
        """Return what the rule says of cost lines in `category`; None if it does not name the category."""
        return next((test for test in self.lines if category in test.categories), None)
