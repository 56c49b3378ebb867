"""What it costs, and what comes back every so many years."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, BeforeValidator, Field, ValidationError, model_validator
from pydantic_core import InitErrorDetails

from finsolar.scenario.blocks import Block, Text, WholeYears, default
from finsolar.scenario.numbers import Amount, FixedShare, Life, Positive, Range, Rise, Share, fault
from finsolar.scenario.problems import near, shown

Category = Literal[
    "modules", "inverter", "battery", "racking", "wiring", "generator", "labour", "permits",
    "interconnection", "roof", "service panel", "tools", "shipping", "finance", "other",
]  # fmt: skip
"""Kinds of cost line. Incentive rules name the ones they count."""

SERVICES = frozenset({"labour", "permits", "interconnection", "finance"})
"""Categories that are no goods: they bear the tax on services, not that on sales."""


OLDEST = 100
"""The greatest age of a piece of equipment, years, for which a share of its price may be stated."""


def _ages(value: object) -> object:
    if not isinstance(value, Mapping) or not value:
        raise fault("by-age", f"is {shown(value)}, no shares by age", "write {5: 50%, 15: 20%}, ages in years")
    for age in value:
        if not str(age).isdecimal() or not 1 <= int(age) <= OLDEST:
            what = f"has {shown(age)} as an age"
            raise fault("by-age", what, f"write whole years from 1 to {OLDEST}, as in {{5: 50%, 15: 20%}}")
    found = {str(int(age)): share for age, share in value.items()}
    if len(found) < len(value):
        raise fault("by-age", "states one age twice", "keep one of them")
    return found


def _never_rises(shares: dict[int, float | Range]) -> dict[int, float | Range]:
    by_age = dict(sorted(shares.items()))
    ends = [share.ends if isinstance(share, Range) else (share, share) for share in by_age.values()]
    # As ranges are drawn apart, a later one must lie wholly below, or some case would rise.
    if any(later[1] > earlier[0] for earlier, later in pairwise(ends)):
        raise fault("by-age", "rises with age", "let each share be as high as the one of the age before, or lower")
    return by_age


ByAge = Annotated[dict[int, Share], BeforeValidator(_ages), AfterValidator(_never_rises)]
"""Shares of a price by age in whole years: all of it when new, straight lines between, the last one holds on."""


class _Ageing(Block):
    """What is left of a price at the end of the study: one share, or shares by age."""

    residual: Share = default(0.0, "nothing is counted as left at the end of the study")
    residual_by_age: ByAge | None = None

    @model_validator(mode="after")
    def _one_residual(self) -> _Ageing:
        if self.residual_by_age is not None and "residual" in self.model_fields_set:
            raise fault("residual", "says twice what is left at the end", "keep residual, or residual_by_age")
        return self

    @property
    def moot(self) -> frozenset[str]:
        """The one share, where there are shares by age."""
        return frozenset() if self.residual_by_age is None else frozenset({"residual"})


PRICES = ("cost", "each", "per_kw", "per_kwh", "per_hour")
"""Fields of a cost line that state a price, one of them in each."""

_COUNTS = {"quantity": "each", "hours": "per_hour"}


class CostLine(_Ageing):
    """One line of what it costs to build, today's money.

    ``per_kw`` goes by the modules, ``per_kwh`` by the battery. ``chance`` is that of a risk: the study counts the
    expected amount, chance times cost. ``resold`` is the share of the price that comes back at the end of year
    ``resold_in``, when a tool is sold again.
    """

    item: Text
    category: Category
    cost: Amount | None = None
    each: Amount | None = None
    quantity: Positive | None = None
    per_kw: Amount | None = None
    per_kwh: Amount | None = None
    per_hour: Amount | None = None
    hours: Positive | None = None
    chance: Share = 1.0
    sales_tax: Share | None = None
    contingency: Share | None = None
    resold: Share | None = None
    resold_in: WholeYears = 1
    note: Text | None = None

    @model_validator(mode="after")
    def _one_price(self) -> CostLine:
        said = [name for name in PRICES if getattr(self, name) is not None]
        if not said:
            raise fault("price", "has no price", f"write {', '.join(PRICES[:-1])} or {PRICES[-1]}")
        if len(said) > 1:
            raise fault("price", f"says by {' and by '.join(said)} what it costs", "keep one of them")
        for count, price in _COUNTS.items():
            if getattr(self, count) is not None and said != [price]:
                raise fault("price", f"has {count} beside {said[0]}", f"write {price} instead of {said[0]}")
        if self.per_hour is not None and self.hours is None:
            raise fault("price", "has a price by the hour, but no hours", "add hours")
        return self

    @model_validator(mode="after")
    def _is_sold_or_stays(self) -> CostLine:
        if self.resold is None and "resold_in" in self.model_fields_set:
            raise fault("resold", "has resold_in, but is not sold again", "add resold, or remove resold_in")
        left = {"residual", "residual_by_age"} & self.model_fields_set
        if self.resold is not None and left:
            what = f"is sold again and has {min(left)}, what is left of it at the end"
            raise fault("resold", what, "keep one of them")
        return self


def faults_of_size(costs: list[CostLine], missing: Mapping[str, str]) -> list[InitErrorDetails]:
    """Faults of lines that go by a size which nothing tells; ``missing`` says why, by the field of the price."""
    found: list[InitErrorDetails] = []
    for k, line in enumerate(costs):
        for name, why in missing.items():
            value = getattr(line, name)
            if value is not None:
                words = fault("size-unknown", why, "write cost, or each and quantity")
                found.append({"type": words, "loc": ("costs", k, name), "input": value})
    return found


def _known_category(name: object) -> object:
    if name not in get_args(Category):
        raise fault("literal_error", "is no category of cost", near(str(name), get_args(Category)))
    return name


class Purchase(Block):
    """Shares that hold for every cost line which does not state its own.

    ``contingency_by`` is that of the lines of a category, in place of ``contingency``.
    """

    sales_tax: Share = default(0.0, "no sales tax was stated")
    services_tax: Share = default(0.0, "no sales tax on work, permits and fees was stated")
    contingency: Share = default(0.0, "no allowance for the unforeseen was stated")
    contingency_by: dict[Annotated[Category, BeforeValidator(_known_category)], Share] = {}


_EQUIPMENT = frozenset({"inverter", "battery", "modules", "generator"})
_NOT_OF_A_REMOVAL = ("every", "first", "in_years", "below", "life", "residual", "residual_by_age", "warranty_years")


class UpkeepLine(_Ageing):
    """A cost that comes back: every year, every so many years, in named years, or when a life ends.

    A new battery may also fall due ``below`` a share of the first capacity: at the end of the year in which less is
    left. With a ``life`` the n-th unit fails at n lives, and is renewed at the end of the year in which that falls.
    ``labour`` is the work of each time. Within ``warranty_years`` of the last unit that was paid for, a renewal costs
    its labour alone. A ``removal`` falls due once, at the end of the study.
    """

    item: Text
    category: Literal[
        "upkeep", "insurance", "inverter", "battery", "modules", "generator", "roof", "removal", "other"
    ]  # fmt: skip
    cost: Amount
    labour: Amount = 0.0
    every: WholeYears = 1
    first: WholeYears | None = None
    in_years: Annotated[list[WholeYears], Field(min_length=1)] | None = None
    below: FixedShare | None = None
    life: Life | None = None
    warranty_years: WholeYears | None = None
    rise: Rise | None = default(None, "rises with inflation")
    note: Text | None = None

    @model_validator(mode="after")
    def _falls_due_one_way(self) -> UpkeepLine:
        too_much = [name for name in _NOT_OF_A_REMOVAL if name in self.model_fields_set]
        if self.category == "removal" and too_much:
            what = f"is a removal, due once at the end of the study, and has {too_much[0]}"
            raise fault("due", what, f"remove {too_much[0]}")
        ways = [name for name in ("every", "in_years", "below", "life") if name in self.model_fields_set]
        if len(ways) > 1:
            raise fault("due", f"says by {' and by '.join(ways)} when it falls due", "keep one of them")
        if self.first is not None and ways and ways != ["every"]:
            raise fault("due", f"has first beside {ways[0]}", "remove first")
        if self.below is not None and self.category != "battery":
            raise fault("due", "falls due by capacity, but is no battery", "write category: battery, or every")
        return self

    @model_validator(mode="after")
    def _lives_as_equipment_does(self) -> UpkeepLine:
        for name in ("life", "warranty_years"):
            if getattr(self, name) is not None and not self.is_equipment:
                mend = f"write the category of what it renews, or remove {name}"
                raise fault("no-equipment", f"has {name}, but renews no equipment", mend)
        ways = {"every", "in_years", "below", "life"} & self.model_fields_set
        if self.warranty_years is not None and not ways:
            raise fault("due", "has a warranty, but does not say when it falls due", "add life, every or in_years")
        if self.warranty_years is not None and self.below is not None:
            raise fault("no-equipment", "has warranty_years beside below", "write every, in_years or life")
        if self.category == "battery" and isinstance(self.life, Range):
            what = "has a life that varies; the hours depend on that of a battery, which cannot vary here"
            raise fault("cannot-vary", what, "write one number")
        return self

    @property
    def is_equipment(self) -> bool:
        """Whether it renews a piece of equipment, by its category. A new battery has its full capacity again."""
        return self.category in _EQUIPMENT

    @property
    def is_investment(self) -> bool:
        """Whether it renews what was invested in: equipment, or the roof below it."""
        return self.is_equipment or self.category == "roof"


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

    @model_validator(mode="after")
    def _no_size_is_there(self) -> Stay:
        missing = {
            "per_kw": "goes by the kW of modules, and staying as you are builds none",
            "per_kwh": "goes by the kWh of a battery, and staying as you are builds none",
        }
        found = faults_of_size(self.costs, missing)
        if found:
            raise ValidationError.from_exception_data("sizes", found)
        return self
