"""What the section of the costs says whatever was found."""

from __future__ import annotations

from markupsafe import Markup

LINES_HEAD = ("Item", "Category", "Price", "Sales tax", "Allowance", "Total")
GROSS_COST = "Gross cost"
CHANCE = "A line with a chance is a risk: it counts with what is to be expected of it, the chance times its price."

AGAIN = "What must be paid again"
UPKEEP_HEAD = ("Item", "Category", "Each time", "When")
NO_UPKEEP = (
    "No upkeep or replacement was stated. Inverters and batteries seldom last as long as modules; a study without "
    "their renewal flatters."
)


def every_line(plan: str) -> Markup:
    """What unfolds the cost lines of an alternative."""
    return Markup("Every line of “<bdi>{}</bdi>”").format(plan)


def lines_of(plan: str) -> str:
    """The name of the table of cost lines."""
    return f"Cost lines of {plan}"


def lines_caption(currency: str) -> str:
    """The caption of cost lines."""
    return f"Cost lines, {currency}"


def sold_again(amount: str) -> str:
    """How tools that are sold again come into the costs."""
    return f"Of these, {amount} comes back when tools are sold again, in the money of the year in which they are."


def upkeep_of(names: str) -> str:
    """The name of the table of upkeep of some alternatives."""
    return f"Upkeep and replacements of {names}"


def upkeep_caption(names: str) -> Markup:
    """The caption of upkeep."""
    return Markup("Upkeep and replacements of <bdi>{}</bdi>, in today’s prices").format(names)
