"""What is said of one number of a scenario, or two, moved: names, values, notes, and where an alternative turns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from finsolar.report.words.amounts import figure, joined, money, span
from finsolar.report.words.ranges_told import measured, names_of, unit_of
from finsolar.report.words.terms import NEVER_BACK
from finsolar.report.words.worth import COUNTED
from finsolar.scenario.numbers import Range
from finsolar.uncertainty.inputs import ENERGY_PRICE, PRICE, SUN_HOURS
from finsolar.uncertainty.other_numbers import RISE
from finsolar.uncertainty.ranges import Ranged
from finsolar.uncertainty.vary import Axis, Varied

Plain = dict[str, Any]

REASONS = {
    "irr": "no rate makes the NPV zero",
    "simple_payback": NEVER_BACK,
    "discounted_payback": "the discounted running total ends the study below zero",
}
NAMES = {
    "npv": "NPV",
    "irr": "IRR",
    "simple_payback": "Simple payback",
    "discounted_payback": "Discounted payback",
}
KINDS = {"npv": "money", "irr": "share", "simple_payback": "years", "discounted_payback": "years"}
_INPUTS = {
    RISE: ("yearly rise of the price of energy", "share"),
    PRICE: ("purchase price, 100 % as in the scenario", "share"),
    ENERGY_PRICE: ("price of energy from the grid, 100 % as in the scenario", "share"),
    SUN_HOURS: ("peak sun hours a day", "kWh/m²"),
}

UNCOUNTED = "what backup is worth is counted only with study.count_backup: true."
"""Why a number of outages, or of what backup is worth, moves no figure here."""

MADE_FROM, A_YEAR, YEARS, NPV_BETWEEN = "made from", "per year", "years", "NPV, between the values"
"""Words of the CSV beside its keys."""
BETWEEN = "Between the values shown, break-evens lie on straight lines; more --steps bring them closer."
"""What the terminal says below its break-evens."""


def words_and_unit(varied: Varied, axis: Axis) -> tuple[str, str]:
    """What an input is called, and in what it is measured."""
    one = axis.input
    if one.name in _INPUTS:
        return _INPUTS[one.name]
    # Words and unit are those of a range of the same number.
    ends = float(axis.values[0]), float(axis.values[-1])
    as_range = Ranged(one.name, one.paths, Range("from, to", ends), *ends)
    scenario = varied.base.scenario
    return names_of(scenario, (as_range,))[one.name], unit_of(scenario, as_range)


def notes(varied: Varied) -> list[str]:
    """What a careful reader wants to know of how it was made."""
    base, moved = varied.base, {axis.input.name for axis in varied.axes}
    said = ["All else is as the scenario has it; ranges stand at their middle."]
    if ENERGY_PRICE in moved:
        bought = float(np.sum(base.stay.flows.imported[0]))
        paid = float(base.stay.bill.yearly("energy")[0] + base.stay.bill.yearly("tiers")[0])
        currency = base.scenario.currency
        if bought > 0:
            price = money(paid / bought, currency, 3)
            said.append(f"Of energy from the grid 100 % is {price} a kWh, the average of the house as it is in year 1.")
        said.append("What a kWh costs by hour, tier and rider moves; fixed charges and export prices stay.")
    if PRICE in moved:
        said.append("All lines of cost move alike, and with them taxes on them, awards that are shares of them, loans.")
    if SUN_HOURS in moved:
        said.append("Every hour of the weather’s year is brighter or duller by one share.")
    shifts = any(plan.system.operation == "time shift" for plan in base.scenario.alternatives)
    if shifts and any("tariff" in path.split(".") for axis in varied.axes for path in axis.input.paths):
        said.append("A battery that shifts time keeps the hours that the scenario’s own prices give it.")
    if base.settled.study.count_backup:
        said.append(COUNTED)
    else:
        idle = [axis for axis in varied.axes if _of_outages(axis.input.paths)]
        moves = "Nothing moves" if len(idle) == len(varied.axes) else "One of the two numbers moves nothing"
        said += [f"{moves}: {UNCOUNTED}"] if idle else []
    said.append("Between the values straight lines are drawn, so that a break-even is about right.")
    return said


def _of_outages(paths: Sequence[str]) -> bool:
    return bool(paths) and all(path.startswith("household.outage.") for path in paths)


def told_values(one: Plain, currency: str) -> list[str]:
    """The values of an input as text, no two alike."""
    return _told(one, one["values"], currency)


def _told(one: Plain, numbers: Sequence[float], currency: str) -> list[str]:
    found = [plainly(measured(number, one["unit"], currency)) for number in numbers]
    if len(set(found)) == len(set(numbers)):
        return found
    return [f"{n * 100:.6g} %" if one["unit"] == "share" else f"{n:,.7g}" for n in numbers]


def plainly(text: str) -> str:
    """A text without the joiner that keeps a minus with its number, since terminals differ in how they show it."""
    return text.replace("\N{WORD JOINER}", "")


def cell(name: str, number: float | None, currency: str) -> str:
    """One figure as text."""
    return plainly(span(number) if KINDS[name] == "years" else figure(number, KINDS[name], currency))


def short(one: Plain) -> str:
    """What an input is called within a sentence."""
    return str(one["words"]).split(",")[0]


def plan_of(plain: Plain, name: str | None) -> Plain:
    """The alternative of that name, the best one if none is named."""
    wanted = plain["best"] if name is None else name
    found: Plain = next(plan for plan in plain["alternatives"] if plan["name"] == wanted)
    return found


def break_even_told(plain: Plain, of: str | None = None) -> list[str]:
    """Where each alternative, or the one that is named, is worth as much as staying as you are; a sentence each."""
    if len(plain["inputs"]) == 2:
        return [_map_told(plain, plan_of(plain, of))]
    return [_line_told(plain, plan) for plan in plain["alternatives"]]


def _line_told(plain: Plain, plan: Plain) -> str:
    at = _told(plain["inputs"][0], plan["break_even"], plain["settings"]["currency"])
    gains, name = plan["npv"][-1] > 0, f"“{plan['name']}”"
    if not at:
        pays = "is worth more than staying as you are at every" if gains else "is worth less at every"
        return f"{name} {pays} value shown."
    if len(at) == 1:
        side = "from there on" if gains else "up to there"
        return f"{name} breaks even at about {at[0]} and is worth more {side}."
    return f"{name} breaks even at about {joined(at)}."


def _map_told(plain: Plain, plan: Plain) -> str:
    first, second = plain["inputs"]
    currency, name = plain["settings"]["currency"], f"“{plan['name']}”"
    places = told_values(second, currency)
    lines = [
        f"{short(first)} about {place}, {short(second)} {other}"
        for at, other in zip(plan["break_even"], places, strict=True)
        for place in _told(first, at, currency)
    ]
    gains = {npv > 0 for row in plan["npv"] for npv in row}
    if not lines and len(gains) == 1:
        more = "more" if gains == {True} else "less"
        return f"{name} is worth {more} than staying as you are everywhere on this map."
    if not lines:
        return f"Whether {name} is worth more than staying as you are turns on {short(second)} alone here."
    if len(lines) == 1:
        return f"{name} breaks even at {lines[0]}."
    return f"{name} breaks even on a line from {lines[0]} to {lines[-1]}."


def title(name: str, one: Plain) -> str:
    """The title of a figure of all alternatives along an input."""
    return f"{NAMES[name]} by {one['words']}"


def title_of(plan: str, one: Plain) -> str:
    """The title of all figures of an alternative along an input."""
    return f"{plan} by {one['words']}"


def map_title(name: str, plan: str, first: Plain, second: Plain) -> str:
    """The title of a figure of an alternative over two inputs."""
    return f"{NAMES[name]} of {plan}: down {first['words']}; across {second['words']}"
