"""What the section of the incentives says whatever was found."""

from __future__ import annotations

from markupsafe import Markup

STEPS = "Step by step"
STEPS_HEAD = ("Step", "Amount")
LINES = "Which lines count"
LINES_HEAD = ("Item", "Counts", "Why")

GLANCE = "Every rule considered, and what it grants"
GLANCE_CAPTION = "Every rule considered, what it comes to over the study, and in which years that arrives"
RULE = "Rule"
NO_RULE = (
    "No rule of this place is known here, so nothing was granted or refused. That is a gap in the rule files and no "
    "statement about the law."
)

GRANTED = "What each alternative is granted"
ALTERNATIVE = "Alternative"
ANSWER = "Answer"
BASIS = "Basis"
BEFORE_THE_LIMIT = "Credit before the tax owed limits it"
WORTH = "Worth, not counted"
RECEIVED_HEAD = ("Received in all", "When")
TAX = "Income tax on it"

REFUSED = "Refused to all alternatives"
ALL_REASONS = "All reasons and the source"

SLIPS = "What if the date slips?"
SLIPS_SHOWN = (
    "Every day of the house moves with the day it is switched on; costs, energy and taxes stay as they are, so what "
    "differs is the law alone. Dashed lines are the days on which an award changes, upright solid ones the planned "
    "days. Awards are added at face value over all years of the study."
)

REBATES = "Rebates that the scenario states"


def working(names: str | None) -> Markup:
    """What unfolds the working of an award; ``names`` : whose it is, where several differ."""
    of = "" if names is None else Markup(": <bdi>{}</bdi>").format(names)
    return Markup("How this was worked out{}").format(of)


def working_of(award: str, names: str) -> str:
    """The name of the table of an award's steps."""
    return f"Working of {award}, {names}"


def lines_of(award: str, names: str) -> str:
    """The name of the table of what an award is counted on."""
    return f"Lines in the basis of {award}, {names}"


def counts(counted: bool) -> str:
    """Whether a line counts."""
    return "yes" if counted else "no"


def source(reference: str, checked_on: str, known: str) -> str:
    """Where a rule comes from and how it is known: ``seen``, or from memory."""
    seen = "read in a law, form, agency page or a text quoting one"
    how = seen if known == "seen" else "recalled from memory, not looked up"
    return f"Source: {reference}. Rule file checked on {checked_on}; {how}."


def granted_of(rule: str) -> str:
    """The name of the table of what a rule grants."""
    return f"{rule}: what each alternative is granted"


def rebate(plan: str, amount: str) -> Markup:
    """A rebate that the scenario states."""
    return Markup("“<bdi>{}</bdi>”: {}, received when the work is paid.").format(plan, amount)
