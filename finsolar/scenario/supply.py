"""What stands behind the house: the prices of the grid, or a generator."""

from __future__ import annotations

from collections import Counter
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import BeforeValidator, Field, field_validator, model_validator

from finsolar.scenario.blocks import Block, Days, Hours, Months, Text, default
from finsolar.scenario.hours import cells_in_words, mask
from finsolar.scenario.numbers import RANGE_WORDS, Amount, FixedPositive, FixedShare, Rise, fault
from finsolar.scenario.problems import shown


class PricePeriod(Block):
    """One price of energy and the months, days and hours in which it holds."""

    name: Text
    price: Amount
    months: Months = None
    days: Days = None
    hours: Hours = None

    @property
    def is_rest(self) -> bool:
        """Whether it names no months, days or hours: then it takes all that the others leave."""
        return self.months is None and self.days is None and self.hours is None

    @property
    def cells(self) -> NDArray[np.bool_]:
        """The cells (12, 7, 24) it names."""
        return mask(self.months or range(12), self.days or range(7), self.hours or range(24))


class Export(Block):
    """What the utility gives for energy fed in.

    Under net metering the bank of kWh is emptied at the end of ``true_up_month`` (December if not said) and what is
    left is paid at ``surplus_price`` (nothing if not said), which rises as an export price does.
    """

    scheme: Literal["none", "net billing", "net metering"] = "none"
    price: Amount | None = None
    surplus_price: Amount | None = None
    true_up_month: Months = None

    @model_validator(mode="after")
    def _price_fits_scheme(self) -> Export:
        if self.scheme == "net billing" and self.price is None:
            raise fault("export-price", "is net billing without a price", "add price: 0.04 (money per kWh)")
        if self.scheme != "net billing" and self.price is not None:
            raise fault("export-price", f"has a price but its scheme is '{self.scheme}'", "write scheme: net billing")
        if self.scheme != "net metering" and (self.surplus_price, self.true_up_month) != (None, None):
            raise fault(
                "true-up",
                "has a true-up month or a surplus price without net metering",
                "write scheme: net metering, or remove them",
            )
        if self.true_up_month is not None and len(self.true_up_month) != 1:
            raise fault("true-up", "names several true-up months", "name one, such as mar")
        return self


def _flat_price(value: object) -> object:
    one_range = isinstance(value, dict) and value and set(value) <= RANGE_WORDS
    if one_range or (isinstance(value, int | float | str) and not isinstance(value, bool)):
        return [{"name": "all hours", "price": value}]
    return value


class Tariff(Block):
    """The prices of the grid, today's money."""

    monthly_charge: Amount = default(0.0, "no fixed charge was stated")
    energy: Annotated[list[PricePeriod], BeforeValidator(_flat_price), Field(min_length=1)]
    export: Export = default(Export(), "no export was stated, so nothing leaves the house")
    rise: Rise
    fixed_rise: Rise | None = default(None, "the fixed charge rises as energy does")
    export_rise: Rise | None = default(None, "the export price rises as energy does")

    @field_validator("energy")
    @classmethod
    def _fills_the_week_once(cls, periods: list[PricePeriod]) -> list[PricePeriod]:
        rests = [p.name for p in periods if p.is_rest]
        if len(rests) > 1:
            raise fault(
                "tariff-overlap",
                f"has two prices for all hours: {shown(rests[0])} and {shown(rests[1])}",
                "give all but one of them months, days or hours",
            )
        doubles = [name for name, n in Counter(p.name for p in periods).items() if n > 1]
        if doubles:
            raise fault("double-name", f"has two periods named {shown(doubles[0])}", "name each its own way")
        taken = np.full((12, 7, 24), -1)
        for i, period in enumerate(periods):
            if period.is_rest:
                continue
            clash = (taken >= 0) & period.cells
            if clash.any():
                other = periods[int(taken[clash][0])].name
                only = clash & (taken == taken[clash][0])
                raise fault(
                    "tariff-overlap",
                    f"prices {cells_in_words(only)} twice: {shown(other)} and {shown(period.name)}",
                    "let each hour of the week belong to one price",
                )
            taken[period.cells] = i
        if not rests and (taken < 0).any():
            raise fault(
                "tariff-gap",
                f"has no price for {cells_in_words(taken < 0)}",
                "add a price for these hours, or one without months, days and hours for all the rest",
            )
        return periods

    def period_grid(self) -> NDArray[np.int_]:
        """The place in ``energy`` of the price that holds in each cell (12, 7, 24)."""
        rest = next((i for i, p in enumerate(self.energy) if p.is_rest), -1)
        grid = np.full((12, 7, 24), rest)
        for i, period in enumerate(self.energy):
            if not period.is_rest:
                grid[period.cells] = i
        return grid


class Generator(Block):
    """A generator: the supply of a house without a grid.

    It makes up what sun and battery cannot give. With ``start_at`` it starts once the battery has fallen to that share
    of its capacity, serves the house and charges with what power it has left, until ``stop_at`` is reached. ``rise``
    is that of the fuel; the upkeep by the hour rises with inflation.
    """

    kw: FixedPositive
    fuel_price: Amount
    litres_per_kwh: Amount = default(0.246, "Skarstein and Uhlen's diesel curve, from memory")
    idle_litres_per_kw: Amount = default(0.08415, "the same curve: litres an hour for each rated kW")
    upkeep_per_hour: Amount = default(0.0, "no upkeep by the hour was stated")
    rise: Rise
    start_at: FixedShare | None = default(None, "it makes up what sun and battery cannot give, and does not charge")
    stop_at: FixedShare = default(0.8, "common practice, no source: the last fifth of a charge goes slowly")

    @model_validator(mode="after")
    def _starts_below_its_stop(self) -> Generator:
        if self.start_at is not None and self.start_at >= self.stop_at:
            what = f"starts at {self.start_at:.0%} and stops at {self.stop_at:.0%} of the battery"
            raise fault("generator-levels", what, "let start_at be lower than stop_at")
        return self

    @model_validator(mode="after")
    def _stops_only_if_it_charges(self) -> Generator:
        if self.start_at is None and "stop_at" in self.model_fields_set:
            what, mend = "says where it stops, but not where it starts", "add start_at, or remove stop_at"
            raise fault("generator-levels", what, mend)
        return self

    @property
    def moot(self) -> frozenset[str]:
        """Where it stops, unless it charges."""
        return frozenset({"stop_at"}) if self.start_at is None else frozenset()
