"""One number of a scenario, or two, moved: as plain values, in the terminal, and as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from finsolar.report.numbers import value, values
from finsolar.report.table import safe_cell
from finsolar.report.words.amounts import figure, joined, money, span
from finsolar.report.words.ranges_told import measured, names_of, unit_of
from finsolar.report.words.terms import NEVER_BACK
from finsolar.scenario.numbers import Range
from finsolar.scenario.problems import printable
from finsolar.uncertainty.inputs import ENERGY_PRICE, PRICE, SUN_HOURS
from finsolar.uncertainty.other_numbers import RISE
from finsolar.uncertainty.ranges import Ranged
from finsolar.uncertainty.vary import FIGURES, Axis, Course, Varied

Plain = dict[str, Any]

SCHEMA = "finsolar-vary/1"
HEAD = ("alternative", "figure", "input", "at", "second_input", "second_at", "value", "unit", "note")
"""Columns of the CSV: one number a row."""

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
_WORDS = {
    RISE: ("yearly rise of the price of energy", "share"),
    PRICE: ("purchase price, 100 % as in the scenario", "share"),
    ENERGY_PRICE: ("price of energy from the grid, 100 % as in the scenario", "share"),
    SUN_HOURS: ("peak sun hours a day", "kWh/m²"),
}


def varied_as_plain(varied: Varied) -> Plain:
    """Everything that was found, in dicts, lists, numbers and text; stable keys, a figure that does not exist is null.

    Figures are lists along the first input, or lists of lists, the second input within. ``break_even`` : values of the
    first input at an NPV of zero, one list, or one for each value of the second.
    """
    base = varied.base
    two = len(varied.axes) == 2
    return {
        "schema": SCHEMA,
        "title": base.scenario.title,
        "settings": {
            "currency": base.scenario.currency,
            "years": base.settled.study.years,
            "discount_rate": value(base.discount_rate),
        },
        "inputs": [_input(varied, axis) for axis in varied.axes],
        "alternatives": [_course(course, two) for course in varied.courses],
        "best": max(base.results, key=lambda result: float(result.appraisal.npv)).name,
        "reasons": REASONS,
        "notes": _notes(varied),
    }


def map_as_plain(varied: Varied) -> Plain:
    """The same of a study's own map, without what the study says already."""
    found = varied_as_plain(varied)
    return {key: found[key] for key in ("inputs", "alternatives", "best", "reasons", "notes")}


def _input(varied: Varied, axis: Axis) -> Plain:
    one = axis.input
    if one.name in _WORDS:
        words, unit = _WORDS[one.name]
    else:
        # Words and unit are those of a range of the same number.
        ends = float(axis.values[0]), float(axis.values[-1])
        as_range = Ranged(one.name, one.paths, Range("from, to", ends), *ends)
        words = names_of(varied.base.scenario, (as_range,))[one.name]
        unit = unit_of(varied.base.scenario, as_range)
    return {"name": one.name, "words": words, "unit": unit, "values": values(axis.values), "now": value(one.now)}


def _course(course: Course, two: bool) -> Plain:
    found: Plain = {"name": course.name}
    for name in FIGURES:
        rows = course.figures[name]
        found[name] = [values(row) for row in rows] if two else values(rows)
    found["break_even"] = [list(each) for each in course.break_even] if two else list(course.break_even[0])
    return found


def _notes(varied: Varied) -> list[str]:
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
    said.append("Between the values straight lines are drawn, so that a break-even is about right.")
    return said


def told_values(one: Plain, currency: str) -> list[str]:
    """The values of an input as text, no two alike."""
    return _told(one, one["values"], currency)


def _told(one: Plain, numbers: Sequence[float], currency: str) -> list[str]:
    found = [_plainly(measured(number, one["unit"], currency)) for number in numbers]
    if len(set(found)) == len(set(numbers)):
        return found
    return [f"{n * 100:.6g} %" if one["unit"] == "share" else f"{n:,.7g}" for n in numbers]


def _plainly(text: str) -> str:
    # Terminals differ in how they show the joiner that keeps a minus with its number.
    return text.replace("\N{WORD JOINER}", "")


def cell(name: str, number: float | None, currency: str) -> str:
    """One figure as text."""
    return _plainly(span(number) if KINDS[name] == "years" else figure(number, KINDS[name], currency))


def break_even_told(plain: Plain, of: str | None = None) -> list[str]:
    """Where each alternative, or the one that is named, is worth as much as staying as you are; a sentence each."""
    first, currency = plain["inputs"][0], plain["settings"]["currency"]
    if len(plain["inputs"]) == 2:
        return [_map_told(plain, plan_of(plain, of))]
    said = []
    for plan in plain["alternatives"]:
        at = _told(first, plan["break_even"], currency)
        gains = plan["npv"][-1] > 0
        if not at:
            pays = "is worth more than staying as you are at every" if gains else "is worth less at every"
            said.append(f"“{plan['name']}” {pays} value shown.")
        elif len(at) == 1:
            side = "from there on" if gains else "up to there"
            said.append(f"“{plan['name']}” breaks even at about {at[0]} and is worth more {side}.")
        else:
            said.append(f"“{plan['name']}” breaks even at about {joined(at)}.")
    return said


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


def short(one: Plain) -> str:
    """What an input is called within a sentence."""
    return str(one["words"]).split(",")[0]


def plan_of(plain: Plain, name: str | None) -> Plain:
    """The alternative of that name, the best one if none is named."""
    wanted = plain["best"] if name is None else name
    found: Plain = next(plan for plan in plain["alternatives"] if plan["name"] == wanted)
    return found


def terminal(plain: Plain, width: int, of: str | None = None) -> list[str]:
    """A short table for the terminal, and where it breaks even."""
    tables = _map_tables(plain, plan_of(plain, of), width) if len(plain["inputs"]) == 2 else _line_tables(plain, width)
    lines: list[str] = []
    for title, rows in tables:
        lines += [title, *_aligned(rows), ""]
    told = [printable(_plainly(said)) for said in break_even_told(plain, of)]
    between = "Between the values shown, break-evens lie on straight lines; more --steps bring them closer."
    found = [at for plan in plain["alternatives"] for at in plan["break_even"]]
    return [*lines, *told, *([between] if any(at != [] for at in found) else [])]


def _line_tables(plain: Plain, width: int) -> list[tuple[str, list[list[str]]]]:
    """NPV and simple payback of all alternatives side by side, or each alternative by itself where that is too wide."""
    first, currency, plans = plain["inputs"][0], plain["settings"]["currency"], plain["alternatives"]
    places = told_values(first, currency)

    def rows(columns: list[tuple[str, Plain, str]]) -> list[list[str]]:
        head = ["", *(printable(title, 34) for title, _, _ in columns)]
        return [head] + [
            [place, *(cell(name, plan[name][k], currency) for _, plan, name in columns)]
            for k, place in enumerate(places)
        ]

    title = first["words"]
    wide = [
        (f"{NAMES[name]} by {title}", rows([(plan["name"], plan, name) for plan in plans]))
        for name in ("npv", "simple_payback")
    ]
    if all(len(line) <= width for _, table in wide for line in _aligned(table)):
        return wide
    return [
        (printable(f"{plan['name']} by {title}", width), rows([(NAMES[name], plan, name) for name in FIGURES]))
        for plan in plans
    ]


def _map_tables(plain: Plain, plan: Plain, width: int) -> list[tuple[str, list[list[str]]]]:
    """NPV and simple payback over both inputs, so many columns of the second as there is room for."""
    first, second = plain["inputs"]
    currency = plain["settings"]["currency"]
    down, across = told_values(first, currency), told_values(second, currency)
    tables = []
    for name in ("npv", "simple_payback"):
        every = 1
        while True:
            shown = list(range(0, len(across), every))
            rows = [["", *(across[j] for j in shown)]]
            rows += [[place, *(cell(name, plan[name][i][j], currency) for j in shown)] for i, place in enumerate(down)]
            if every >= len(across) or max(map(len, _aligned(rows))) <= width:
                break
            every += 1
        title = f"{NAMES[name]} of {plan['name']}: down {first['words']}; across {second['words']}"
        tables.append((printable(title, 300), rows))
    return tables


def _aligned(rows: list[list[str]]) -> list[str]:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  ".join(text.rjust(wide) for text, wide in zip(row, widths, strict=True)) for row in rows]


def as_csv(plain: Plain) -> str:
    """The whole of it as CSV with the columns of ``HEAD``; numbers unrounded, an empty value where none exists."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    for row in _rows(plain):
        writer.writerow([safe_cell(one) if isinstance(one, str) else one for one in row])
    return out.getvalue()


def _rows(plain: Plain) -> Iterator[tuple[Any, ...]]:
    if "made_from" in plain:
        yield "all", "made from", plain["title"], "", "", "", "", "", plain["made_from"]
    first, *more = plain["inputs"]
    units = {"npv": plain["settings"]["currency"], "irr": "per year"}
    for plan in plain["alternatives"]:
        for name in FIGURES:
            for i, at in enumerate(first["values"]):
                others = more[0]["values"] if more else [""]
                for j, other in enumerate(others):
                    number = plan[name][i][j] if more else plan[name][i]
                    note = "" if number is not None else plain["reasons"][name]
                    place = (first["name"], at, more[0]["name"] if more else "", other)
                    yield plan["name"], name, *place, "" if number is None else number, units.get(name, "years"), note
        for j, found in enumerate(plan["break_even"] if more else [plan["break_even"]]):
            for at in found:
                place = (first["name"], at, more[0]["name"] if more else "", more[0]["values"][j] if more else "")
                yield plan["name"], "break_even", *place, 0.0, plain["settings"]["currency"], "NPV, between the values"
