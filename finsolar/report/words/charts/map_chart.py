"""What is said of the map of one alternative over two numbers that move."""

from __future__ import annotations

from typing import Any

from finsolar.report.words.amounts import joined, money, per_cent
from finsolar.report.words.varied_told import NAMES, break_even_told, short

Plain = dict[str, Any]

GAIN_OR_LOSS = "Blue is a gain, orange a loss; the numbers on the lines are the NPV."


def reading(found: Plain, plan: Plain, gross: float, holds_the_scenario: bool) -> str:
    """Where the alternative pays, and what is on the map; ``gross`` : the price of the scenario, money."""
    price = money(gross, found["settings"]["currency"])
    dot = (
        " the dot is the scenario as written."
        if holds_the_scenario
        else " the scenario itself is not on the map, since its prices do not rise by one rate."
    )
    line = " On the thick line it breaks even." if any(plan["break_even"]) else ""
    told = f"{_turns_told(found, plan)}{line}"
    return f"{told} A price of 100 % is the {price} of the scenario;{dot} {GAIN_OR_LOSS}"


def _turns_told(found: Plain, plan: Plain) -> str:
    """From which rise on it pays at the lowest price, at today's and at the highest."""
    prices = found["inputs"][1]
    if len({npv > 0 for row in plan["npv"] for npv in row}) == 1:
        return break_even_told(found, plan["name"])[0]
    places = [0, prices["values"].index(prices["now"]), len(prices["values"]) - 1]
    told: list[str] = []
    for k in places:
        npv, turns = [row[k] for row in plan["npv"]], plan["break_even"][k]
        at = joined([per_cent(turn) for turn in turns]) if turns else ""
        if not turns:
            when = "at every rise shown" if npv[0] > 0 else "at none of the rises shown"
        elif len(turns) > 1:
            when = f"up to {at}, where it turns" if npv[0] > 0 else f"from {at} on, where it turns"
        else:
            when = f"up to a rise of about {at} a year" if npv[0] > 0 else f"from a rise of about {at} a year"
        told.append(f"at {per_cent(prices['values'][k], 0)}{'' if told else ' of its price'} {when}")
    return f"It is worth more than staying as you are {', '.join(told)}."


def title(name: str, plan: str, first: Plain, second: Plain) -> str:
    """The title of the map of a figure by two inputs."""
    return f"{NAMES[name]} of “{plan}” by {short(first)} and {short(second)}"


def alt(name: str, told: str) -> str:
    """What is drawn, beside the reading."""
    return f"Map of {NAMES[name]} with lines of equal value. {told} The table behind it holds every number."


def hover(unit: str, digits: int) -> str:
    """What stands beside the pointer: both inputs, and the figure in its unit."""
    return f"%{{x}}, %{{y}}: %{{z:,.{digits}f}} {unit}<extra></extra>"


def caption(name: str, plan: str, first: Plain, second: Plain) -> str:
    """The head of the table: what it holds, and which input runs which way."""
    return f"{NAMES[name]} of “{plan}”: down {first['words']}; across {second['words']}"


def axis(one: Plain, currency: str) -> str:
    """What the axis of an input counts, and in what."""
    units = {"share": "%", "money": currency, "price": f"{currency} a kWh"}
    unit = units.get(one["unit"], one["unit"])
    name = short(one)
    said = name[:1].upper() + name[1:]
    return f"{said}, {unit}" if unit else said


def figure_unit(name: str, currency: str) -> str:
    """In what a figure is counted."""
    return {"npv": f"NPV, {currency}", "irr": "IRR, % a year"}.get(name, "years")
