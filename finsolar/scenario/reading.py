"""From a file to a :class:`Scenario`, or to all that is wrong with it, in one pass."""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Iterator, Sequence
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import BaseModel, Tag, ValidationError

from finsolar.scenario.inheriting import INHERITED, OWN_WORDS, resolved
from finsolar.scenario.nodes import Node, load_text, parse
from finsolar.scenario.problems import Problem, ScenarioError, near, shown
from finsolar.scenario.schema import Alternative, Origin, Scenario


def read(path: str | Path) -> Scenario:
    """Read and check one scenario file.

    Raises
    ------
    ScenarioError
        With every fault found, each with file, line, field, what is wrong and how to mend it.
    """
    return from_text(load_text(Path(path)), str(path), Path(path).parent)


def from_text(text: str, file: str = "scenario", folder: Path | None = None) -> Scenario:
    """Read and check the text of a scenario.

    ``file`` is the name that messages give it, ``folder`` where the files it names are looked for, the current one if
    not said.
    """
    problems: list[Problem] = []
    root = parse(text, file, problems)
    tree, orphans = resolved(root, file, problems)
    try:
        scenario = Scenario.model_validate(tree.plain())
    except ValidationError as error:
        faults: list[dict[str, Any]] = [dict(fault) for fault in error.errors(include_url=False)]
        told = [fault for fault in faults if not _follows(fault, faults, orphans)]
        found = _at_their_cause([(fault["loc"], _problem(fault, tree, file)) for fault in told], tree)
        problems += _untold(found, problems)
    if problems:
        raise ScenarioError(problems)
    return scenario.read_from(Origin(file, folder or Path(), dict(_places(tree, ""))))


def _places(node: Node, path: str) -> Iterator[tuple[str, tuple[int, str]]]:
    """Line and name of every node by its path in the complete scenario."""
    yield path, (node.line, node.path)
    for name, inner in [*node.fields.items(), *enumerate(node.entries)]:
        yield from _places(inner, f"{path}.{name}" if path else str(name))


def _follows(fault: dict[str, Any], faults: list[dict[str, Any]], orphans: set[int]) -> bool:
    """Whether a fault only follows from another one that is reported in its place."""
    if fault["type"] == "no-grid" and any(other["type"] == "no-supply" for other in faults):
        return True
    loc = fault["loc"]
    if fault["type"] in {"no-supply", "no-grid"}:
        above = loc[:-1] if fault["type"] == "no-supply" else loc
        if any(_misspelt(name, place, faults) for name in ("tariff", "generator") for place in {(), above}):
            return True
    if fault["type"] == "missing" and (_misspelt(loc[-1], loc[:-1], faults) or _missing_before(loc, faults)):
        return True
    return len(loc) > 1 and loc[1] in orphans and (len(loc) == 2 or fault["type"] == "missing")


def _misspelt(name: int | str, block: tuple[int | str, ...], faults: list[dict[str, Any]]) -> bool:
    """Whether a field that is not known in a block would be the one of that ``name``, if spelled right."""
    for other in faults:
        if not other["loc"]:
            continue  # a fault of the whole scenario
        *place, typed = other["loc"]
        if name == "from_year" and place[-1:] == ["tariff"]:  # a later tariff is read without its year
            place.pop()
        if other["type"] == "extra_forbidden" and tuple(place) == block:
            known = sorted({each.lower() for each in _fields_at(other["loc"])})
            if get_close_matches(str(typed).lower(), known, n=1) == [name]:
                return True
    return False


def _missing_before(loc: tuple[int | str, ...], faults: list[dict[str, Any]]) -> bool:
    """Whether a later tariff lacks a field only since the tariff lacks it from which it is taken over."""
    *above, field = loc
    if len(loc) < 5 or above[-3] != "later" or above[-1] != "tariff":
        return False
    return any(other["type"] == "missing" and other["loc"] == (*above[:-3], field) for other in faults)


def _at_their_cause(found: list[tuple[tuple[int | str, ...], Problem]], tree: Node) -> list[Problem]:
    """The problems, those of a later tariff that only an alternative's own tariff makes wrong told of that."""

    def own_tariff(loc: tuple[int | str, ...]) -> Node | None:
        if loc[:1] != ("alternatives",) or loc[2:4] != ("tariff", "later"):
            return None  # also a fault of the whole scenario, which stands nowhere
        return tree.fields["alternatives"].entries[int(loc[1])].get("tariff")

    placed = [(own_tariff(loc), problem) for loc, problem in found]
    at_home = {problem for own, problem in placed if own is None or problem.field.startswith(f"{own.path}.")}
    told: list[Problem] = []
    for own, problem in placed:
        if own is not None and problem not in at_home:
            what = f"keeps {problem.field} of line {problem.line}, which then {problem.what}"
            mend = "write its own later, or later: [] for none"
            problem = replace(problem, line=own.line, field=own.path, what=what, mend=mend)
            if any((problem.line, problem.field) == (other.line, other.field) for other in told):
                continue  # one tariff of its own is mended once, however many prices it leaves without a period
        told.append(problem)
    return told


def _untold(found: list[Problem], told: list[Problem]) -> list[Problem]:
    """Those of ``found`` that do not repeat what was ``told`` of the same value, or of one inside it."""
    same = {(problem.line, problem.field) for problem in told}
    around = {problem.field[: mark.start()] for problem in told for mark in re.finditer(r"[.\[]", problem.field)}
    unread = {problem.field for problem in told if problem.code == "bad-key"}

    def is_new(problem: Problem) -> bool:
        block = problem.field.rpartition(".")[0]
        left_out = problem.code == "missing" and block in unread
        return (problem.line, problem.field) not in same and problem.field not in around and not left_out

    return [problem for problem in found if is_new(problem)]


_WORDS = {
    "model_type": ("not a block of fields", "write its fields below it, indented"),
    "dict_type": ("not a block of fields", "write its fields below it, indented"),
    "list_type": ("not a list", "write [a, b, c], or one entry a line, each begun with -"),
    "int_type": ("not a whole number", "write a whole number such as 25"),
    "bool_type": ("neither true nor false", "write true or false"),
    "bool_parsing": ("neither true nor false", "write true or false"),
    "string_pattern_mismatch": ("no such code", "write a country as US, a region as NC"),
    "string_type": ("not text", "write it in quotes"),
}


def _problem(error: dict[str, Any], tree: Node, file: str) -> Problem:
    """One fault of pydantic's in our words, at the line of the file where it stands."""
    kind, (loc, _) = str(error["type"]), _way(error["loc"])
    node, rest = _find(tree, loc)
    path = node.path
    limits = error.get("ctx", {})
    if "mend" in limits:
        return Problem(file, node.line, path, limits["what"], limits["mend"], kind, limits.get("picture", ""))
    if kind == "missing":
        return _missing(str(rest[-1]), node, loc, tree, file)
    if kind == "extra_forbidden":
        mend = near(str(loc[-1]), _fields_at(error["loc"]))
        return Problem(file, node.line, path, "is not known here", mend, "unknown-field")
    value = shown(node.value)
    if kind == "literal_error":
        options = re.findall("'([^']+)'", str(limits["expected"]))
        mend = near(str(node.value), options)
        if len(options) == 1:  # the field takes a block of fields otherwise: `battery: none`
            mend = f"write {options[0]}, or a block of fields"
        elif str(node.value).strip().lower() == "weekend" and "sat" in options:
            mend = "write sat or sun"
        elif not options:  # a choice of numbers
            mend = f"write {limits['expected']}"
        return Problem(file, node.line, path, f"is {value}", mend, kind)
    if kind in {"too_short", "too_long"}:
        wanted = limits.get("min_length", limits.get("max_length"))
        what = f"has {limits['actual_length']} entries"
        return Problem(file, node.line, path, what, f"write {_count_in_words(kind, wanted)}", kind)
    if kind in {"greater_than_equal", "less_than_equal"}:
        side, limit = ("at least", limits["ge"]) if "ge" in limits else ("at most", limits["le"])
        return Problem(file, node.line, path, f"is {value}", f"write {side} {limit:g}", "out-of-range")
    what, mend = _WORDS.get(kind, (error["msg"], "see `finsolar new` for an example"))
    return Problem(file, node.line, path, f"is {value}, {what}", mend, kind)


def _missing(name: str, node: Node, loc: tuple[int | str, ...], tree: Node, file: str) -> Problem:
    """A field that the block ``node`` lacks; said once at the top if every alternative lacks it."""
    listed = tree.fields["alternatives"].entries  # always there once the tree is resolved
    inherited = len(loc) == 3 and loc[0] == "alternatives" and name in INHERITED
    if inherited and not any(name in entry.fields for entry in listed):
        mend = f"add `{name}:` at the top, or to each alternative"
        return Problem(file, tree.line, name, "is missing", mend, "missing")
    path = f"{node.path}.{name}" if node.path else name
    return Problem(file, node.line, path, "is missing", f"add `{name}:` to this block", "missing")


def _count_in_words(kind: str, wanted: int) -> str:
    if wanted in {12, 24}:
        return "twelve, one for each month" if wanted == 12 else "24, one for each hour of the day"
    return f"at {'least' if kind == 'too_short' else 'most'} {wanted}"


def _find(tree: Node, loc: Sequence[int | str]) -> tuple[Node, Sequence[int | str]]:
    """The deepest node on the way of ``loc``, and what of the way is left."""
    node = tree
    for i, step in enumerate(loc):
        if isinstance(step, int) and step < len(node.entries):
            node = node.entries[step]
        elif isinstance(step, str) and step in node.fields:
            node = node.fields[step]
        elif i == len(loc) - 1:
            return node, loc[i:]
    return node, ()


def _way(loc: Sequence[int | str]) -> tuple[tuple[int | str, ...], type[BaseModel]]:
    """The way to a fault without the steps that name a kind of block, and the model of the innermost block.

    A field with several kinds (a ``Discriminator``) is followed by such a step, which may be spelled like a field.
    """
    way: list[int | str] = []
    model: type[BaseModel] = Scenario
    kinds: dict[str, type[BaseModel]] = {}
    for step in loc:
        if step in kinds:
            model, kinds = kinds[str(step)], {}
            continue
        way.append(step)
        if isinstance(step, str) and step in model.model_fields:
            kinds = _kinds_in(model.model_fields[step].annotation)
            model = next(iter(kinds.values()), model)
    return tuple(way), model


def _fields_at(loc: Sequence[int | str]) -> set[str]:
    """The names that may stand in the block in which an unknown field was met."""
    names = _known_fields(_way(loc)[1])
    return names | {"from_year"} if loc[-4:-3] == ("later",) and loc[-2] == "tariff" else names


def _known_fields(model: type[BaseModel]) -> set[str]:
    """The names that may stand in a block."""
    names = set(model.model_fields)
    if model is Alternative:
        names |= OWN_WORDS
    return names | set(INHERITED) if model is Scenario else names


def _kinds_in(annotation: Any, tag: str = "") -> dict[str, type[BaseModel]]:
    """The models inside an annotation such as ``dict[str, Model]`` or ``list[Model] | None``, by their tags."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {tag: annotation}
    found: dict[str, type[BaseModel]] = {}
    for mark in getattr(annotation, "__metadata__", ()):
        tag = mark.tag if isinstance(mark, Tag) else tag
    if typing.get_origin(annotation) in {list, dict, tuple, typing.Union, types.UnionType, typing.Annotated}:
        for argument in typing.get_args(annotation):
            found |= _kinds_in(argument, tag)
    return found
