"""What rules are told about a household, and what they answer.

Conventions. Amounts are nominal money in the rule's currency; `...` are leading case axes that broadcast.
Year 0 is the in-service day.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from finsolar.incentives.law import FALLBACK

Array = NDArray[np.float64]
Status = Literal["granted", "partly", "refused", "unknown"]

NOW_MISSING = "Nothing is counted until this is known:"
"""The reason that leads those of an unknown answer which name what must be told."""


@dataclass(frozen=True, eq=False)
class EligibleLine:
    """A cost line a rule may count: money paid, `cost` and its `sales_tax` (...), without contingency.

    The household's own labour is no payment and never appears as a line.
    """

    item: str
    category: str
    cost: Array
    sales_tax: Array


@dataclass(frozen=True, eq=False)
class Claimed:
    """What the household says of one rule.

    claim : false leaves the rule out by choice; confirmed : what the rule asks the household to confirm; funds : its
    budget is known to be open; refundable : the refund is elected; taxed : the payment counts as income; kw (...) :
    average power given in called events; used_before (...) : what of a lifetime cap is used up; price (..., 1 or
    years) : of one certificate, nominal; zone : the rule's zone of the house.
    """

    claim: bool = True
    confirmed: bool | None = None
    funds: bool | None = None
    refundable: bool | None = None
    taxed: bool | None = None
    kw: Array | None = None
    used_before: Array | None = None
    price: Array | None = None
    zone: str | None = None


@dataclass(frozen=True, eq=False)
class House:
    """The facts of a household that rules ask for; what is missing or None was not told.

    days : by event, `installation completed` and `in service` at least; facts : by a need of `law.FACTS`; numbers :
    (...) by a need of `law.NUMBERS`; taxes : owed in years 1 to N, (..., years) or (..., 1), by name of `law.TAXES`;
    marginal : (...) by the same names; business_use : (...) share of the system used for business; generation,
    exported : kWh (..., years); export_is_paid : some tariff of the study pays for export; gross : money (...) that
    the purchase costs, and property_tax : (..., years) what a system of that cost is taxed; serving : (years,) 1.0
    while the system is there, None if it always is; battery_kw, battery_usable_kwh : (...) what the battery gives above
    its reserve; loan_worth : tells what a loan is worth today, (...), from principal (...), yearly rate and years;
    currency : of the house's money, since a rule in another one cannot be reckoned; claims : by rule id.
    """

    days: Mapping[str, date]
    facts: Mapping[str, bool | None] = field(default_factory=dict)
    numbers: Mapping[str, Array | None] = field(default_factory=dict)
    taxes: Mapping[str, Array | None] = field(default_factory=dict)
    marginal: Mapping[str, Array | None] = field(default_factory=dict)
    itemises: bool | None = None
    business_use: Array = field(default_factory=lambda: np.zeros(()))
    generation: Array | None = None
    exported: Array | None = None
    export_is_paid: bool | None = None
    gross: Array | None = None
    property_tax: Array | None = None
    serving: Array | None = None
    battery_kw: Array | None = None
    battery_usable_kwh: Array | None = None
    loan_worth: Callable[[Array, float, int], Array] | None = None
    currency: str | None = None
    claims: Mapping[str, Claimed] = field(default_factory=dict)

    def day(self, event: str) -> date:
        """The day of an event, or of the one that stands for it where none is told."""
        if event == "new year":
            return self.days["in service"].replace(month=1, day=1)
        return self.days[event] if event in self.days else self.days[FALLBACK[event]]

    def claimed(self, rule_id: str) -> Claimed:
        """What the household says of a rule; nothing in particular, if nothing is written."""
        return self.claims.get(rule_id, Claimed())

    def taxed_property(self, spared: Array) -> Array | None:
        """The property tax (..., years) of the system once sales tax (...) is spared on it; None if none is told."""
        if self.property_tax is None or self.gross is None:
            return self.property_tax
        gross = np.asarray(self.gross, dtype=np.float64)
        left = np.divide(gross - spared, gross, out=np.ones(np.broadcast_shapes(gross.shape, np.shape(spared))),
                         where=gross > 0)  # fmt: skip
        return np.asarray(self.property_tax * left[..., None])

    def later(self, days: int) -> "House":
        """The same household with every event moved by so many days."""
        return replace(self, days={event: day + timedelta(days=days) for event, day in self.days.items()})


@dataclass(frozen=True, eq=False)
class Subsidy:
    """Money from others towards the system, `amount` (...), and whether the law sees it as a lower price.

    `category` is that of the cost lines it is for; all of them, if None.
    """

    item: str
    amount: Array
    lowers_basis: bool
    category: str | None = None


class Step(NamedTuple):
    """One step of the working: its label, its amount (...), and the unit; what is taken off has a minus sign."""

    label: str
    amount: Array
    unit: str = "money"


class LineReason(NamedTuple):
    """Whether a cost line counts (in any case, if there are several), and why."""

    item: str
    category: str
    counted: bool
    reason: str


@dataclass(frozen=True, eq=False)
class Award:
    """What one rule grants: `amounts` (..., years+1) by year, year 0 first, and how that came about.

    `status` is `granted`; `partly`, where in any case a part is cut by a cap, lost, or still unused at the
    end of the study; `refused`; or `unknown`, where a fact is missing: then `amounts` are zero until it is
    told. `basis` (...) is what the award is a share of, `potential` (...) what it comes to before the tax owed
    limits it. `tax` (..., years+1), never positive, is the income tax the award brings with it; `worth` (...) the
    present value of what is no payment, such as a cheaper loan. `upfront` awards belong to the purchase, the others
    come year by year. `reference` and `known` belong to the value that decided. `spread` is the share (...) of
    the award that falls on each cost line, None for one that is for the whole.
    """

    rule_id: str
    title: str
    kind: str
    status: Status
    amounts: Array
    tax: Array
    worth: Array
    basis: Array
    potential: Array
    upfront: bool
    ledger: list[Step]
    reasons: list[str]
    line_reasons: list[LineReason]
    reference: str
    checked_on: date
    known: str
    spread: list[Array] | None
