"""One number of a scenario, or two, moved: as plain values, in the terminal, and as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from typing import Any

from finsolar.report.numbers import value, values
from finsolar.report.table import safe_cell
from finsolar.report.words import varied_told as told
from finsolar.scenario.problems import printable
from finsolar.uncertainty.vary import FIGURES, Axis, Course, Varied

Plain = dict[str, Any]

SCHEMA = "finsolar-vary/1"
HEAD = ("alternative", "figure", "input", "at", "second_input", "second_at", "value", "unit", "note")
"""Columns of the CSV: one number a row."""


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
        "reasons": told.REASONS,
        "notes": told.notes(varied),
    }


def map_as_plain(varied: Varied) -> Plain:
    """The same of a study's own map, without what the study says already."""
    found = varied_as_plain(varied)
    return {key: found[key] for key in ("inputs", "alternatives", "best", "reasons", "notes")}


def _input(varied: Varied, axis: Axis) -> Plain:
    one, (words, unit) = axis.input, told.words_and_unit(varied, axis)
    return {"name": one.name, "words": words, "unit": unit, "values": values(axis.values), "now": value(one.now)}


def _course(course: Course, two: bool) -> Plain:
    found: Plain = {"name": course.name}
    for name in FIGURES:
        rows = course.figures[name]
        found[name] = [values(row) for row in rows] if two else values(rows)
    found["break_even"] = [list(each) for each in course.break_even] if two else list(course.break_even[0])
    return found


def terminal(plain: Plain, width: int, of: str | None = None) -> list[str]:
    """A short table for the terminal, and where it breaks even."""
    tables = (
        _map_tables(plain, told.plan_of(plain, of), width) if len(plain["inputs"]) == 2 else _line_tables(plain, width)
    )
    lines: list[str] = []
    for title, rows in tables:
        lines += [title, *_aligned(rows), ""]
    said = [printable(told.plainly(each)) for each in told.break_even_told(plain, of)]
    found = [at for plan in plain["alternatives"] for at in plan["break_even"]]
    said += [printable(note) for note in plain["notes"] if note.endswith(told.UNCOUNTED)]
    return [*lines, *said, *([told.BETWEEN] if any(at != [] for at in found) else [])]


def _line_tables(plain: Plain, width: int) -> list[tuple[str, list[list[str]]]]:
    """NPV and simple payback of all alternatives side by side, or each alternative by itself where that is too wide."""
    first, currency, plans = plain["inputs"][0], plain["settings"]["currency"], plain["alternatives"]
    places = told.told_values(first, currency)

    def rows(columns: list[tuple[str, Plain, str]]) -> list[list[str]]:
        head = ["", *(printable(title, 34) for title, _, _ in columns)]
        return [head] + [
            [place, *(told.cell(name, plan[name][k], currency) for _, plan, name in columns)]
            for k, place in enumerate(places)
        ]

    wide = [
        (told.title(name, first), rows([(plan["name"], plan, name) for plan in plans]))
        for name in ("npv", "simple_payback")
    ]
    if all(len(line) <= width for _, table in wide for line in _aligned(table)):
        return wide
    return [
        (
            printable(told.title_of(plan["name"], first), width),
            rows([(told.NAMES[name], plan, name) for name in FIGURES]),
        )
        for plan in plans
    ]


def _map_tables(plain: Plain, plan: Plain, width: int) -> list[tuple[str, list[list[str]]]]:
    """NPV and simple payback over both inputs, so many columns of the second as there is room for."""
    first, second = plain["inputs"]
    currency = plain["settings"]["currency"]
    down, across = told.told_values(first, currency), told.told_values(second, currency)
    tables = []
    for name in ("npv", "simple_payback"):
        every = 1
        while True:
            shown = list(range(0, len(across), every))
            rows = [["", *(across[j] for j in shown)]]
            rows += [
                [place, *(told.cell(name, plan[name][i][j], currency) for j in shown)] for i, place in enumerate(down)
            ]
            if every >= len(across) or max(map(len, _aligned(rows))) <= width:
                break
            every += 1
        tables.append((printable(told.map_title(name, plan["name"], first, second), 300), rows))
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
        yield "all", told.MADE_FROM, plain["title"], "", "", "", "", "", plain["made_from"]
    first, *more = plain["inputs"]
    units = {"npv": plain["settings"]["currency"], "irr": told.A_YEAR}
    for plan in plain["alternatives"]:
        for name in FIGURES:
            for i, at in enumerate(first["values"]):
                others = more[0]["values"] if more else [""]
                for j, other in enumerate(others):
                    number = plan[name][i][j] if more else plan[name][i]
                    note = "" if number is not None else plain["reasons"][name]
                    place = (first["name"], at, more[0]["name"] if more else "", other)
                    yield (
                        plan["name"],
                        name,
                        *place,
                        "" if number is None else number,
                        units.get(name, told.YEARS),
                        note,
                    )
        for j, found in enumerate(plan["break_even"] if more else [plan["break_even"]]):
            for at in found:
                place = (first["name"], at, more[0]["name"] if more else "", more[0]["values"][j] if more else "")
                yield plan["name"], "break_even", *place, 0.0, plain["settings"]["currency"], told.NPV_BETWEEN
