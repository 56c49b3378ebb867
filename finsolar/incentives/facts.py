"""What rules are told about a household, and what they answer.

Conventions. Amounts are nominal money in the rule's currency; `...` are leading case axes that broadcast.
Year 0 is the in-service day.
"""

from dataclasses import dataclass
from datetime import date
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Status = Literal["granted", "partly", "refused", "unknown"]


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
class House:
    """The facts of a household that rules ask for; None means "not told".

    `income_tax` (..., years) is the tax owed in years 1 to N, before this credit and after any that come
    first; a last axis of length 1 stands for every year. `battery_kwh` (...) is the battery's capacity [kWh].
    `owned` says that the household buys the system (false for a lease or a power purchase agreement); `currency`
    is that of the house's money, since a rule in another one cannot be reckoned.
    """

    installation_completed: date
    in_service: date
    lives_there: bool | None
    income_tax: Array | None
    battery_kwh: Array | None
    owned: bool = True
    currency: str | None = None


@dataclass(frozen=True, eq=False)
class Subsidy:
    """Money from others towards the system, `amount` (...), and whether the law sees it as a lower price."""

    item: str
    amount: Array
    lowers_basis: bool


class Step(NamedTuple):
    """One step of the working: its label and its amount (...); what is taken off has a minus sign."""

    label: str
    amount: Array


class LineReason(NamedTuple):
    """Whether a cost line counts (in any case, if there are several), and why."""

    item: str
    category: str
    counted: bool
    reason: str


@dataclass(frozen=True, eq=False)
class Award:
    """What one rule grants: `amounts` (..., years+1) by year, year 0 first, and how that came about.

    `status` is `granted`; `partly`, where in any case a part is cut by the cap, lost, or still unused at the
    end of the study; `refused`; or `unknown`, where a fact is missing: then `amounts` are zero until it is
    told. `basis` (...) is what the credit is a share of, `potential` (...) the credit before the tax owed
    limits it. `reference` and `known` belong to the value that decided.
    """

    rule_id: str
    title: str
    status: Status
    amounts: Array
    basis: Array
    potential: Array
    ledger: list[Step]
    reasons: list[str]
    line_reasons: list[LineReason]
    reference: str
    checked_on: date
    known: str
