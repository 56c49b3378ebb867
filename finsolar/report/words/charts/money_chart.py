"""What is said of where the money goes: from gross to net, on the first day, and by category."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from finsolar.report.words.amounts import joined, money
from finsolar.report.words.awards import by_calendar

if TYPE_CHECKING:
    from finsolar.report.money_chart import Step

Plain = dict[str, Any]

GROSS, NET = "Gross cost", "Net cost"
AT_THE_START = "at the start"
ADDED, TAKEN_OFF, COMES_TO = "Added", "Taken off", "What it comes to"
BRIDGE_HEAD = ("", "How, or when", "Amount", "So far")

DAY_ONE_CAPTION = "Out of pocket on the day the system is switched on: what is paid, less what comes in on that day"
OUT_OF_POCKET = "Out of pocket"

REBATES_AND_AWARDS = "Rebates and awards"
BUILD_UP_TITLE = "What the money buys"
BUILD_UP_ALT = "Stacked bars of cost by category; the table below holds every amount."
BUILD_UP_CAPTION = "Cost by category"

_NOTHING = 0.005  # less than half a cent is no money


def when_taken_off(award: Plain, in_service: str) -> str:
    """When an award arrives, or that it is never charged."""
    return "not charged" if award["kind"] == "sales tax relief" else by_calendar(award["amounts"], in_service)


def smaller_lines(count: int) -> str:
    """The name of the bar that stands for the lines that have none."""
    return f"{count} smaller lines"


def bridge_title(name: str) -> str:
    """The title of the steps of one alternative."""
    return f"Where the money goes, from gross to net: {name}"


def bridge_reading(plan: Plain, steps: Sequence[Step], currency: str) -> str:
    """What the bars tell: the dearest line, what is taken off, and what is no part of it."""
    dearest = max((step for step in steps if step.kind == "cost"), key=lambda step: step.amount)
    taken = [step for step in steps if step.kind == "less"]
    gross, net = (money(plan["costs"][key], currency) for key in ("gross", "net"))
    told = f"The largest line is “{dearest.name}”, {money(dearest.amount, currency)} of {gross}."
    if taken:
        names = joined([f"“{step.name}”" for step in taken])
        off = money(-sum(step.amount for step in taken), currency)
        told += f" {names} {'takes' if len(taken) == 1 else 'take'} off {off}, which leaves {net}."
    else:
        told += " No rebate or award takes anything off."
    if plan["costs"]["yearly_awards"] > _NOTHING:
        yearly = money(plan["costs"]["yearly_awards"], currency)
        told += f" What is awarded year by year, {yearly} in all, is no part of it."
    if plan["own_hours"]:
        told += f" The {plan['own_hours']:,.0f} own hours are no cash."
    return told


def bridge_alt(steps: Iterable[Step], currency: str) -> str:
    """Every step with its amount."""
    return "Bars that begin where the one before ends. " + " ".join(
        f"{step.name}: {money(step.amount, currency)}." for step in steps
    )


def bridge_caption(names: str) -> str:
    """The head of the table of alternatives with the same steps."""
    return f"From the cost lines to the net cost of {names}; cents are shared out so that the lines add up"


def build_up_reading(plans: list[Plain], currency: str) -> str:
    """What the cheapest and the dearest cost, where they differ."""
    low, high = (f(plans, key=lambda plan: plan["costs"]["net"]) for f in (min, max))
    told = f"After rebates and awards, “{low['name']}” costs {money(low['costs']['net'], currency)}"
    if high is not low and high["costs"]["net"] - low["costs"]["net"] > 0.5:
        told += f" and “{high['name']}” {money(high['costs']['net'], currency)}"
    return told + "."
