"""Read one rule file and check it, with every fault placed by file and line.

A rule file is YAML: its fields are listed in `_FIELDS` at the end. Each amount stands under the day it starts
and carries its reference and how that is known (`seen` or `memory`).
"""

import re
from collections.abc import Callable, Hashable, Mapping
from datetime import date
from difflib import get_close_matches
from io import StringIO
from typing import Any, TypeVar

from finsolar.incentives.law import (
    EVENTS,
    KINDS,
    NEEDS,
    Condition,
    Dated,
    Ended,
    LineTest,
    Rule,
    Source,
    Term,
    Value,
)

T = TypeVar("T")
_Path = tuple[Hashable, ...]

_KNOWN = ("seen", "memory")
_OUTCOMES = ("refused", "unknown")
_ENDED, _NO_LIMIT, _UNLIMITED = "ended", "no limit", "unlimited"


class RuleError(Exception):
    """A rule file breaks the rules for rule files; the message lists `file:line: fault`, one a line."""


def parse_rule(text: str, name: str) -> Rule:
    """Return the rule written in `text`, the content of the rule file called `name`.

    Raises
    ------
    RuleError
        If the file is faulty; one fault is reported for each field of the file, all in one message.
    """
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError

    yaml = YAML(typ="safe", pure=True)
    try:
        data = yaml.load(text)
    except MarkedYAMLError as error:
        line = error.problem_mark.line + 1 if error.problem_mark else 1
        raise RuleError(f"{name}:{line}: {error.problem}") from error
    except ValueError as error:
        line, word = _impossible_day(text)
        raise RuleError(f"{name}:{line}: {word} is no day of the calendar ({error})") from error

    faults: list[_PlacedError] = []
    parsed: dict[str, Any] = {}
    if not isinstance(data, dict):
        raise RuleError(f"{name}:1: a rule file is a list of fields such as 'title: ...', found {_shown(data)}")
    for field in data:
        if field not in _FIELDS:
            faults.append(_PlacedError((field,), f"unknown field '{field}'{_nearest(field, _FIELDS)}"))
    for field, parse in _FIELDS.items():
        try:
            parsed[field] = parse(_need(data, field, ()), (field,))
        except _PlacedError as fault:
            faults.append(fault)
    if not faults:
        faults += _across_fields(parsed)
    if faults:
        root = YAML(typ="safe", pure=True).compose(StringIO(text))
        placed = sorted((_line(root, fault.path), fault.message) for fault in faults)
        raise RuleError("\n".join(f"{name}:{line}: {message}" for line, message in placed))
    return Rule(id=name.removesuffix(".yaml"), **parsed)


class _PlacedError(Exception):
    """What is wrong, and the path of keys that leads to the place."""

    def __init__(self, path: _Path, message: str) -> None:
        super().__init__(message)
        self.path = path
        self.message = message


def _impossible_day(text: str) -> tuple[int, str]:
    """Return the line and the words of the first date in `text` that the calendar does not have."""
    for number, line in enumerate(text.splitlines(), start=1):
        for word in re.findall(r"\b\d{4}-\d{2}-\d{2}\b", line):
            try:
                date.fromisoformat(word)
            except ValueError:
                return number, word
    return 1, "a date"


def _line(root: Any, path: _Path) -> int:
    """Return the line of `path` in a composed YAML document, or of the nearest enclosing place found."""
    node, line = root, 1
    for step in path:
        if isinstance(step, int) and isinstance(node.value, list) and node.id == "sequence":
            node = node.value[step]
            line = node.start_mark.line + 1
            continue
        pairs = node.value if node.id == "mapping" else []
        pair = next((pair for pair in pairs if pair[0].value == str(step)), None)
        if pair is None:
            break
        line, node = pair[0].start_mark.line + 1, pair[1]
    return line


def _shown(value: object) -> str:
    return "nothing" if value is None else f"'{value}'"


def _name(path: _Path) -> str:
    """Return a path as people write it; places in a list are left to the line number."""
    return ".".join(str(step) for step in path if not isinstance(step, int))


def _nearest(word: object, known: Mapping[str, Any] | tuple[str, ...]) -> str:
    near = get_close_matches(str(word), list(known), n=1)
    return f"; did you mean '{near[0]}'?" if near else f"; known: {', '.join(known)}"


def _need(data: Mapping[Any, Any], key: str, path: _Path) -> Any:
    if data.get(key) is None:
        raise _PlacedError((*path, key), f"'{_name((*path, key))}' is missing or empty")
    return data[key]


def _mapping(data: Any, path: _Path, allowed: tuple[str, ...] | None = None) -> dict[Any, Any]:
    if not isinstance(data, dict) or not data:
        raise _PlacedError(path, f"'{_name(path)}' must hold named fields, found {_shown(data)}")
    for key in data:
        if allowed is not None and key not in allowed:
            raise _PlacedError((*path, key), f"unknown field '{key}' under '{_name(path)}'{_nearest(key, allowed)}")
    return data


def _text(data: Any, path: _Path) -> str:
    if not isinstance(data, str) or not data.strip():
        raise _PlacedError(path, f"'{_name(path)}' must be words, found {_shown(data)}")
    return data.strip()


def _one_of(known: Mapping[str, Any] | tuple[str, ...]) -> Callable[[Any, _Path], str]:
    def parse(data: Any, path: _Path) -> str:
        if not isinstance(data, str) or data not in known:
            raise _PlacedError(path, f"'{_name(path)}' cannot be {_shown(data)}{_nearest(data, known)}")
        return data

    return parse


def _day(data: Any, path: _Path) -> date:
    if type(data) is not date:
        raise _PlacedError(path, f"{_shown(data)} is no date: write year-month-day without quotes, such as 2026-01-01")
    return data


def _flag(data: Any, path: _Path) -> bool:
    if not isinstance(data, bool):
        raise _PlacedError(path, f"'{_name(path)}' must be true or false, found {_shown(data)}")
    return data


def _number(data: Any, path: _Path) -> float:
    """Return an amount above zero: `30%`, `2000` or `no limit`."""
    if data == _NO_LIMIT:
        return float("inf")
    percent = re.fullmatch(r"(\d+(?:\.\d+)?) ?%", data) if isinstance(data, str) else None
    if percent:
        return float(percent[1]) / 100
    if isinstance(data, bool) or not isinstance(data, int | float) or not data > 0:
        raise _PlacedError(
            path,
            f"{_shown(data)} is no amount above zero: write 30%, 2000 or '{_NO_LIMIT}'; the end of a rule is "
            f"written '{_ENDED}'",
        )
    return float(data)


def _source(data: Mapping[Any, Any], path: _Path) -> Source:
    return Source(
        reference=_text(_need(data, "reference", path), (*path, "reference")),
        known=_one_of(_KNOWN)(_need(data, "known", path), (*path, "known")),
    )


def _entry(start: Any, data: Any, path: _Path) -> Value | Ended:
    day = _day(start, path)
    fields = _mapping(data, path, ("value", "because", "reference", "known"))
    value = _need(fields, "value", path)
    if value == _ENDED:
        return Ended(day, _text(_need(fields, "because", path), (*path, "because")), _source(fields, path))
    return Value(day, _number(value, (*path, "value")), _source(fields, path))


def _dated(data: Any, path: _Path) -> Dated:
    fields = _mapping(data, path, ("unit", "values"))
    unit = _text(_need(fields, "unit", path), (*path, "unit"))
    values = _mapping(_need(fields, "values", path), (*path, "values"))
    entries: list[Value | Ended] = []
    for start, entry in values.items():
        here = (*path, "values", start)
        entries.append(_entry(start, entry, here))
        if len(entries) > 1 and entries[-1].start <= entries[-2].start:
            raise _PlacedError(here, f"values are not sorted: {start} stands after {entries[-2].start}")
    if isinstance(entries[0], Ended):
        raise _PlacedError(
            (*path, "values", entries[0].start),
            f"'{_name(path)}' begins with its end: the first value must be an amount",
        )
    return Dated(unit, tuple(entries))


def _parameters(data: Any, path: _Path) -> dict[str, Dated]:
    return {str(name): _dated(entry, (*path, name)) for name, entry in _mapping(data, path).items()}


def _term(parse: Callable[[Any, _Path], T]) -> Callable[[Any, _Path], Term[T]]:
    def parse_term(data: Any, path: _Path) -> Term[T]:
        fields = _mapping(data, path, ("value", "because", "reference", "known"))
        because = _text(_need(fields, "because", path), (*path, "because"))
        return Term(parse(_need(fields, "value", path), (*path, "value")), because, _source(fields, path))

    return parse_term


def _carry_years(data: Any, path: _Path) -> float:
    if data == _UNLIMITED:
        return float("inf")
    if isinstance(data, bool) or not isinstance(data, int) or data < 0:
        raise _PlacedError(path, f"{_shown(data)} is no number of years: write 0, 5 or '{_UNLIMITED}'")
    return float(data)


def _line_tests(data: Any, path: _Path) -> tuple[LineTest, ...]:
    tests: list[LineTest] = []
    taken: set[str] = set()
    for index, entry in enumerate(_items(data, path)):
        here = (*path, index)
        fields = _mapping(
            entry,
            here,
            ("categories", "counted", "because", "since", "before", "smallest_kwh", "reference", "known"),
        )
        names = _items(_need(fields, "categories", here), (*here, "categories"))
        categories = tuple(_text(name, (*here, "categories")) for name in names)
        if twice := taken.intersection(categories):
            raise _PlacedError(here, f"category '{min(twice)}' is named twice")
        taken.update(categories)
        since = _day(fields["since"], (*here, "since")) if "since" in fields else None
        smallest = fields.get("smallest_kwh")
        tests.append(
            LineTest(
                categories=categories,
                counted=_flag(_need(fields, "counted", here), (*here, "counted")),
                because=_text(_need(fields, "because", here), (*here, "because")),
                since=since,
                before=_text(_need(fields, "before", here), (*here, "before")) if since else "",
                smallest_kwh=None if smallest is None else _number(smallest, (*here, "smallest_kwh")),
                source=_source(fields, here),
            )
        )
    return tuple(tests)


def _conditions(data: Any, path: _Path) -> tuple[Condition, ...]:
    conditions: list[Condition] = []
    for index, entry in enumerate(_items(data, path)):
        here = (*path, index)
        fields = _mapping(entry, here, ("needs", "otherwise", "because", "reference", "known"))
        conditions.append(
            Condition(
                needs=_one_of(NEEDS)(_need(fields, "needs", here), (*here, "needs")),
                otherwise=_one_of(_OUTCOMES)(_need(fields, "otherwise", here), (*here, "otherwise")),
                because=_text(_need(fields, "because", here), (*here, "because")),
                source=_source(fields, here),
            )
        )
    return tuple(conditions)


def _items(data: Any, path: _Path) -> list[Any]:
    if not isinstance(data, list) or not data:
        raise _PlacedError(path, f"'{_name(path)}' must be a list, found {_shown(data)}")
    return data


def _across_fields(parsed: Mapping[str, Any]) -> list[_PlacedError]:
    """Return the faults that only show when fields are read together."""
    parameters: Mapping[str, Dated] = parsed["parameters"]
    kind = parsed["kind"]
    missing = [name for name in KINDS[kind] if name not in parameters]
    if missing:
        return [_PlacedError(("parameters",), f"a {kind} needs 'parameters.{name}'") for name in missing]
    faults = [
        _PlacedError(("parameters", name), f"a {kind} has no parameter '{name}'{_nearest(name, KINDS[kind])}")
        for name in parameters
        if name not in KINDS[kind]
    ]
    if kind == "tax credit":
        share, cap = parameters["share"], parameters["cap"]
        for entry in share.entries:
            if isinstance(entry, Value) and entry.amount > 1:
                place = ("parameters", "share", "values", entry.start)
                faults.append(_PlacedError(place, f"a share of {entry.amount:g} is above one: write 30% or 0.30"))
        if cap.entries[0].start > share.entries[0].start:
            place = ("parameters", "cap", "values", cap.entries[0].start)
            faults.append(_PlacedError(place, f"the cap starts after the share does ({share.entries[0].start})"))
        faults += [
            _PlacedError(("parameters", "cap", "values", entry.start), f"a cap does not end: write '{_NO_LIMIT}'")
            for entry in cap.entries
            if isinstance(entry, Ended)
        ]
    return faults


_FIELDS: Mapping[str, Callable[[Any, _Path], Any]] = {
    "title": _text,
    "kind": _one_of(KINDS),
    "currency": _text,
    "reference": _text,
    "checked_on": _day,
    "event": _one_of(EVENTS),
    "parameters": _parameters,
    "refundable": _term(_flag),
    "carry_forward": _term(_carry_years),
    "subsidies_lower_basis": _term(_flag),
    "lines": _line_tests,
    "conditions": _conditions,
}
