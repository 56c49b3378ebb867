"""What it costs, and what comes back every so many years."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from finsolar.scenario.blocks import Block, Text, WholeYears, default
from finsolar.scenario.numbers import Amount, FixedShare, Positive, Rise, Share, fault

Category = Literal[
    "modules", "inverter", "battery", "racking", "wiring", "generator", "labour", "permits",
    "interconnection", "roof", "service panel", "tools", "shipping", "finance", "other",
]  # fmt: skip
"""Kinds of cost line. Incentive rules name the ones they count."""

SERVICES = frozenset({"labour", "permits", "interconnection", "finance"})
"""Categories that are no goods: they bear the tax on services, not that on sales."""


class CostLine(Block):
    """One line of what it costs to build, today's money."""

    item: Text
    category: Category
    cost: Amount | None = None
    each: Amount | None = None
    quantity: Positive | None = None
    sales_tax: Share | None = None
    contingency: Share | None = None
    residual: Share = default(0.0, "nothing is counted as left at the end of the study")
    note: Text | None = None

    @model_validator(mode="after")
    def _one_price(self) -> CostLine:
        if (self.cost is None) == (self.each is None):
            raise fault("price", "needs one price", "write either cost, or each and quantity")
        if self.quantity is not None and self.each is None:
            raise fault("price", "has a quantity but no price for each", "write each instead of cost")
        return self


class Purchase(Block):
    """Shares that hold for every cost line which does not state its own."""

    sales_tax: Share = default(0.0, "no sales tax was stated")
    services_tax: Share = default(0.0, "no sales tax on work, permits and fees was stated")
    contingency: Share = default(0.0, "no allowance for the unforeseen was stated")


class UpkeepLine(Block):
    """A cost that comes back: every year, every so many years, or in years that are named.

    A new battery may also fall due ``below`` a share of the first capacity: at the end of the year in which less is
    left.
    """

    item: Text
    category: Literal["upkeep", "insurance", "inverter", "battery", "modules", "generator", "other"]
    cost: Amount
    every: WholeYears = 1
    first: WholeYears | None = None
    in_years: Annotated[list[WholeYears], Field(min_length=1)] | None = None
    below: FixedShare | None = None
    rise: Rise | None = default(None, "rises with inflation")
    residual: Share = default(0.0, "nothing is counted as left at the end of the study")
    note: Text | None = None

    @model_validator(mode="after")
    def _falls_due_one_way(self) -> UpkeepLine:
        ways = [name for name in ("every", "in_years", "below") if name in self.model_fields_set]
        if len(ways) > 1:
            raise fault("due", f"says by {' and by '.join(ways)} when it falls due", "keep one of them")
        if self.first is not None and ways in (["in_years"], ["below"]):
            raise fault("due", f"has first beside {ways[0]}", "remove first")
        if self.below is not None and self.category != "battery":
            raise fault("due", "falls due by capacity, but is no battery", "write category: battery, or every")
        return self

    @property
    def is_replacement(self) -> bool:
        """Whether it renews a piece of equipment, by its category. A new battery has its full capacity again."""
        return self.category in {"inverter", "battery", "modules", "generator"}


class Rebate(Block):
    """Money from a programme that the scenario itself vouches for, received when the work is paid.

    ``category`` is that of the cost lines it is for; a basis without those lines is not lowered by it.
    """

    item: Text
    amount: Amount
    category: Category | None = None
    lowers_basis: bool = default(
        True, "a utility subsidy or a price rebate lowers the basis of a tax credit; the careful choice"
    )
    note: Text | None = None


class Stay(Block):
    """What staying as you are costs beyond the bill.

    Its lines state their own sales tax and contingency; the ``purchase`` of the alternatives does not reach them.
    """

    costs: list[CostLine] = []
    upkeep: list[UpkeepLine] = []
