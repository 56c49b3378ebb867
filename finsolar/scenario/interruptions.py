"""How often the grid fails, for how long, and what it is worth to a household not to be without power then."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, PrivateAttr, ValidationError, field_validator, model_validator

from finsolar.scenario.blocks import Block, Months, Text, default
from finsolar.scenario.numbers import HOURS_OF_A_YEAR, Amount, Length, Rise, Spread, TimesAYear, Waiting, fault
from finsolar.scenario.outlay import CostLine, UpkeepLine, faults_of_size
from finsolar.scenario.problems import shown


def _shorter_than_a_year(value: object) -> object:
    said = list(value.values()) if isinstance(value, Mapping) else [value]
    numbers = [each for each in said if isinstance(each, int | float) and not isinstance(each, bool)]
    if max(numbers, default=0) > HOURS_OF_A_YEAR:
        what = f"{'reaches' if isinstance(value, Mapping) else 'is'} {max(numbers):g}, an outage longer than a year"
        raise fault("outage-length", what, "write the mean length of one outage in hours, such as 2.5")
    return value


class Interruptions(Block):
    """How often the grid fails in a year, and how long that lasts on average.

    Lengths are lognormal; ``spread`` is their standard deviation over their mean.
    """

    times_a_year: TimesAYear
    hours_each: Annotated[Length, BeforeValidator(_shorter_than_a_year)]
    spread: Spread = default(1.5, "many short outages and a few long ones; common practice, no source")

    _source: str = PrivateAttr(default="")
    _why: str = PrivateAttr(default="")

    @property
    def source(self) -> str:
        """The record they were taken from, empty where the household states them."""
        return self._source

    @property
    def why(self) -> str:
        """A sentence on that record."""
        return self._why

    def recorded(self, source: str, why: str) -> Self:
        """The same as taken from a record."""
        copy = self.model_copy()
        copy._source, copy._why = source, why
        return copy


class Storms(Interruptions):
    """Outages that come by themselves beside the usual ones: rarer, longer, and in some ``months`` alone."""

    months: Months = None


class Worth(Block):
    """What an hour, or a kWh, that is carried while the grid is down is worth, today's money."""

    an_hour: Amount | None = None
    a_kwh: Amount | None = None
    rise: Rise | None = default(None, "rises with inflation")

    @model_validator(mode="after")
    def _one_form(self) -> Worth:
        if self.an_hour is None and self.a_kwh is None:
            raise fault("worth", "needs one worth of backup", "write either an_hour or a_kwh")
        if self.an_hour is not None and self.a_kwh is not None:
            raise fault("worth", "has two worths of backup", "keep one, an_hour or a_kwh")
        return self


class OutageLoss(Block):
    """What goes while the house is dark, today's money, once that has lasted longer than ``after_hours``.

    ``each`` : a lump for every such outage, or for each hour or day of it from then on.
    """

    item: Text
    cost: Amount
    each: Literal["outage", "hour", "day"] = "outage"
    after_hours: Waiting = default(24.0, "cold food and a warm house last about a day; common practice, no source")
    rise: Rise | None = default(None, "rises with inflation")


class Instead(Block):
    """The generator that would have to be there without backup: what it costs, its upkeep, and its fuel.

    Its lines state their own sales tax and contingency. ``litres_per_kwh`` of fuel are burnt for each kWh, at
    ``fuel_price`` a litre, with a yearly ``rise``.
    """

    costs: Annotated[list[CostLine], Field(min_length=1)]
    upkeep: list[UpkeepLine] = []
    litres_per_kwh: Amount
    fuel_price: Amount
    rise: Rise | None = default(None, "rises with inflation")

    @model_validator(mode="after")
    def _no_size_is_there(self) -> Instead:
        missing = {
            "per_kw": "goes by the kW of modules, and a generator has none",
            "per_kwh": "goes by the kWh of a battery, and a generator has none",
        }
        found = faults_of_size(self.costs, missing)
        why, mend = "falls due by what is left of a battery, and a generator has none", "write every, in_years or life"
        for k, line in enumerate(self.upkeep):
            if line.below is not None:
                found.append({"type": fault("due", why, mend), "loc": ("upkeep", k, "below"), "input": line.below})
        if found:
            raise ValidationError.from_exception_data("sizes", found)
        return self

    @field_validator("costs", "upkeep")
    @classmethod
    def _items_differ(cls, lines: list[CostLine] | list[UpkeepLine]) -> list[CostLine] | list[UpkeepLine]:
        items_differ(lines)
        return lines


def items_differ(lines: list[CostLine] | list[UpkeepLine] | list[OutageLoss]) -> None:
    """Raise a fault where two lines of a list have one name."""
    doubles = [name for name, n in Counter(line.item for line in lines).items() if n > 1]
    if doubles:
        raise fault("double-name", f"has two lines named {shown(doubles[0])}", "name each its own way")
