"""YAML text as a tree of nodes that remember their line.

YAML 1.2, read by ruamel.yaml's safe, pure-Python parts: nothing in a file can name a Python object.
The tree keeps for each value the line and the dotted path it was written at, and goes on keeping them
when alternatives inherit from one another, so that a message can always point at the line to mend.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from finsolar.scenario.problems import Problem, ScenarioError, printable, shown

if TYPE_CHECKING:
    from ruamel.yaml.nodes import Node as YamlNode

LARGEST_FILE = 1_000_000  # bytes; a scenario is a page or two, data live in files of their own
DEEPEST = 20  # levels; a scenario needs six
MOST_NODES = 20_000  # also after aliases are followed

_START = "start a scenario with: finsolar new FILE"
_LARGEST_WHOLE = 10**15
_SCALARS = {"str", "int", "float", "bool", "null", "timestamp"}
_YAML_TAG = "tag:yaml.org,2002:"

Scalar = str | int | float | bool | None


@dataclass(frozen=True, slots=True)
class Node:
    """A value of the file: a scalar, a ``dict`` of nodes, or a ``list`` of nodes."""

    value: Scalar | dict[str, Node] | list[Node]
    line: int
    path: str

    @property
    def fields(self) -> dict[str, Node]:
        """The fields of a block; empty for any other kind of value."""
        return self.value if isinstance(self.value, dict) else {}

    @property
    def entries(self) -> list[Node]:
        """The entries of a list; empty for any other kind of value."""
        return self.value if isinstance(self.value, list) else []

    def get(self, name: str) -> Node | None:
        """The field of that name, if this is a block that has it."""
        return self.fields.get(name)

    def plain(self) -> Any:
        """The same value in plain Python: dicts, lists and scalars."""
        if isinstance(self.value, dict):
            return {key: node.plain() for key, node in self.value.items()}
        if isinstance(self.value, list):
            return [node.plain() for node in self.value]
        return self.value


def load_text(path: Path) -> str:
    """The text of a scenario file, or a :class:`ScenarioError` that says why it cannot be had."""

    def fail(what: str, mend: str, code: str) -> ScenarioError:
        return ScenarioError([Problem(str(path), 0, "", what, mend, code)])

    try:
        size = path.stat().st_size
        if path.is_dir():
            raise fail("is a folder", "name the scenario file in it", "folder")
        if not path.is_file():
            raise fail("is no ordinary file", "name a scenario file", "unreadable")  # a device may never end
        if size > LARGEST_FILE:
            raise fail(
                f"is {size / 1e6:.0f} MB; a scenario is at most {LARGEST_FILE / 1e6:.0f} MB",
                "check that this is the file you meant",
                "too-large",
            )
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise fail("no such file", f"check the name, or {_START}", "missing-file") from None
    except UnicodeDecodeError:
        raise fail("is not text in UTF-8", "save it as UTF-8 text", "not-text") from None
    except OSError as error:
        reason = error.strerror or "unknown reason"
        raise fail(f"cannot be read ({reason})", "check the file and its permissions", "unreadable") from None
    except ValueError:
        raise fail("is no name that a file can have", "check the name", "missing-file") from None


def parse(text: str, file: str, problems: list[Problem]) -> Node:
    """The tree of a YAML text; faults of single values, which leave the rest readable, go to ``problems``.

    Raises :class:`ScenarioError` where no tree can be had.
    """
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError
    from ruamel.yaml.reader import ReaderError

    def fail(line: int, what: str, mend: str) -> ScenarioError:
        return ScenarioError([Problem(file, line, "", what, mend, "not-yaml")])

    try:
        _refuse_excess(YAML(typ="safe", pure=True).parse(text), file)
        root = YAML(typ="safe", pure=True).compose(text)
    except MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark else 1
        what = f"is not YAML ({error.problem or error.context})"
        raise fail(line, what, "mend this line or the one above") from None
    except ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        raise fail(line, "holds a sign that YAML does not allow", "remove it") from None
    except (YAMLError, ValueError) as error:
        first = str(error).splitlines()[0] if str(error) else "unreadable"
        raise fail(1, f"is not YAML ({first})", "mend the file") from None
    if root is None or root.tag == f"{_YAML_TAG}null":
        raise fail(1, "is empty", _START)
    node = _Tree(file, problems).build(root, "", 0, root.start_mark.line + 1)
    if not isinstance(node.value, dict):
        raise fail(node.line, "is not a block of fields", _START)
    return node


def _refuse_excess(events: Iterable[Any], file: str) -> None:
    """Stop before the recursive composer meets a text that would exhaust the stack or take minutes."""
    from ruamel.yaml.events import (
        AliasEvent,
        CollectionEndEvent,
        CollectionStartEvent,
        DocumentStartEvent,
        NodeEvent,
    )

    def fail(event: Any, what: str, mend: str, code: str) -> ScenarioError:
        return ScenarioError([Problem(file, event.start_mark.line + 1, "", what, mend, code)])

    depth = documents = nodes = 0
    anchors: set[str] = set()
    for event in events:
        if isinstance(event, CollectionStartEvent):
            depth += 1
        elif isinstance(event, CollectionEndEvent):
            depth -= 1
        elif isinstance(event, DocumentStartEvent):
            documents += 1
            if event.version not in {None, (1, 2)}:
                # Older versions read `yes` and `1:30` as something else than words.
                raise fail(event, "asks for another version than YAML 1.2", "remove the line %YAML", "not-yaml")
        if isinstance(event, NodeEvent):
            nodes += 1
            if event.anchor is not None and not isinstance(event, AliasEvent):
                if event.anchor in anchors:
                    what = f"has the mark &{event.anchor} a second time"
                    raise fail(event, what, "name each mark its own way", "not-yaml")
                anchors.add(event.anchor)
        if depth > DEEPEST:
            what = f"is nested more than {DEEPEST} levels deep"
            raise fail(event, what, "flatten it; no scenario needs that", "too-deep")
        if documents > 1:
            raise fail(event, "a second document begins here", "keep one scenario a file", "not-yaml")
        if nodes > MOST_NODES:
            what = f"has more than {MOST_NODES} values by this line"
            raise fail(event, what, "check that this is the file you meant", "too-large")


class _Tree:
    """Builds nodes and gathers faults on the way; a faulty value is replaced by one that stands in for it."""

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file, self.problems = file, problems
        self.count = 0

    def fault(self, line: int, path: str, what: str, mend: str, code: str) -> None:
        self.problems.append(Problem(self.file, line, path, what, mend, code))

    def build(self, node: YamlNode, path: str, depth: int, line: int) -> Node:
        from ruamel.yaml.nodes import MappingNode, ScalarNode, SequenceNode

        self.count += 1
        if self.count > MOST_NODES or depth > DEEPEST:
            # Only aliases lead here: the text itself was measured before.
            what = "grows without end through its aliases (&name, *name)"
            problem = Problem(self.file, line, path, what, "write the values out", "alias-bomb")
            raise ScenarioError([problem])
        if not isinstance(node, ScalarNode) and node.tag not in {f"{_YAML_TAG}map", f"{_YAML_TAG}seq"}:
            self._refuse_tag(node, path, line)
        if isinstance(node, MappingNode):
            return self._block(node, path, depth, line)
        if isinstance(node, SequenceNode):
            entries = [
                self.build(child, f"{path}[{i}]", depth + 1, child.start_mark.line + 1)
                for i, child in enumerate(node.value, start=1)
            ]
            return Node(entries, line, path)
        return Node(self._scalar(node, path, line), line, path)

    def _refuse_tag(self, node: Any, path: str, line: int) -> None:
        self.fault(line, path, f"carries the tag {shown(str(node.tag))}", "remove the tag", "tag")

    def _block(self, node: Any, path: str, depth: int, line: int) -> Node:
        fields: dict[str, Node] = {}
        for before, (key, child) in zip([None, *node.value], node.value, strict=False):
            where = key.start_mark.line + 1
            if node.flow_style and before is not None and self._decimal_comma(before, key, child, path):
                continue
            name = str(key.value) if not isinstance(key.value, list) else ""
            inner = f"{path}.{name}" if path else name
            if key.tag == f"{_YAML_TAG}merge":
                mend = "write the fields out, or let an alternative say like: NAME"
                self.fault(where, path, "merges with <<, which is not read here", mend, "bad-key")
                continue
            if not name:
                self.fault(where, path, "has a field without a plain name", "write `name: value`", "bad-key")
                continue
            if str(key.tag).removeprefix(_YAML_TAG) not in _SCALARS:
                self._refuse_tag(key, inner, where)
            if name in fields:
                first = fields[name].line
                self.fault(
                    where,
                    inner,
                    f"stands twice; first on line {first}",
                    "keep one of the two",
                    "duplicate-key",
                )
                continue
            fields[name] = self.build(child, inner, depth + 1, where)
        return Node(fields, line, path)

    def _decimal_comma(self, before: tuple[Any, Any], key: Any, child: Any, path: str) -> bool:
        """Whether a field without a value is what follows the comma of the number before it; then that is told."""
        field, value = before
        digits = str(key.value).removesuffix("%")
        if child.tag != f"{_YAML_TAG}null" or child.value or value.tag != f"{_YAML_TAG}int":
            return False
        if str(key.tag).removeprefix(_YAML_TAG) not in _SCALARS or not re.fullmatch(r"\d+(\.\d+)?", digits):
            return False
        whole, inner = value.value, f"{path}.{field.value}" if path else str(field.value)
        what = "and a comma ends a value here"
        if "." in digits:
            mend = f"write {whole}{key.value}"
        elif len(digits) == 3:
            # Whether it groups thousands or begins decimals differs by country: it is not guessed.
            mend = f"write {whole}{key.value}, or {whole}.{key.value} if decimals are meant"
        else:
            what = "where a comma seems meant as the decimal mark"
            mend = f"write {whole}.{key.value}"
        said = f"is {whole},{key.value}, {what}"
        self.fault(field.start_mark.line + 1, inner, printable(said, 120), printable(mend, 120), "decimal-comma")
        return True

    def _scalar(self, node: Any, path: str, line: int) -> Scalar:
        kind = str(node.tag).removeprefix(_YAML_TAG)
        text: str = node.value
        if kind == "null":
            self.fault(line, path, "is empty", "give a value, or remove the line", "empty")
            return ""
        if kind == "bool" and text.lower() in {"true", "false"}:
            return text.lower() == "true"
        if kind in {"int", "float"}:
            try:
                return _whole(text) if kind == "int" else _finite(text)
            except ValueError:
                what = f"is {shown(text)}, no finite number of a sensible size"
                self.fault(line, path, what, "write a plain number such as 12.5", "not-finite")
                return 0
        if kind in {"str", "timestamp"}:
            return text
        self._refuse_tag(node, path, line)
        return ""


def _whole(text: str) -> int:
    bare = text.replace("_", "")
    # Python itself refuses a leading zero, which YAML lets stand.
    number = int(bare) if bare.lstrip("+-").isdecimal() else int(bare, 0)
    if abs(number) > _LARGEST_WHOLE:
        raise ValueError(text)
    return number


def _finite(text: str) -> float:
    number = float(text.replace("_", "").lower().replace(".inf", "inf").replace(".nan", "nan"))
    if not math.isfinite(number):
        raise ValueError(text)
    return number
