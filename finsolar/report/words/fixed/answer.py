"""What the short answer says whatever was found."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

SIDE_BY_SIDE = "The alternatives side by side"
SIDE_BY_SIDE_CAPTION = "The alternatives side by side; savings and NPV are against staying as you are"
GROSS_COST = "Gross cost"
REBATES_AND_AWARDS = "Rebates and awards"
NET_COST = "Net cost"
FIRST_SAVING = "Saving in year 1"
YEARLY_AWARDS = "Awards paid year by year, in all"

FIRST = "Which comes first"
ORDER = "The order by NPV and by payback"
ORDER_CAPTION = (
    "The order by NPV and by simple payback, for good; equals share a place, and staying lays out nothing that could "
    "come back"
)
ORDER_HEAD = ("By NPV", "NPV", "By payback", "Payback")

PAIRS = "One against another"
PAIRS_FOLDED = "Every two in figures"
PAIRS_TABLE = "Every two alternatives in figures"
PAIRS_CAPTION = (
    "What the one with the larger outlay asks and brings more than the other; savings less what it costs to run"
)
PAIRS_HEAD = (
    "Extra outlay",
    "Extra saving, year 1",
    "Extra saving, all years",
    "Extra NPV",
    "IRR of the extra outlay",
    "Simple payback",
    "Discounted payback",
)

OWN_LABOUR = "What own labour earned"
OWN_LABOUR_APART = "Own labour is no cash here, no part of any incentive, and its risks are yours."


def missing(plan: str, reasons: Sequence[str]) -> Markup:
    """Why an alternative lacks some figures."""
    return Markup("<bdi>{}</bdi>: {}.").format(plan, "; ".join(reasons))
