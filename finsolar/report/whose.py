"""Whose result a file is: the mark by which no result of one scenario silently takes the place of another's.

Every file that is written carries the mark of the scenario file it was made from, and its title.
"""

from __future__ import annotations

import csv
import hashlib
import html
import io
import json
import os
import re
import zipfile
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from finsolar.scenario.problems import Problem, ScenarioError, printable

KEY = "made_from"
"""The mark in JSON and as a property of a workbook; in a page it is ``made-from``, in a CSV ``made from``."""

_HEAD, _TAIL = 65_536, 4096  # bytes of a file among which its mark stands
_PAGE = re.compile(r'<meta name="made-from" content="([0-9a-f]{16})">\s*<title>(.*?)</title>', re.DOTALL)
_JSON = re.compile(r'\A\{\s*"schema": "finsolar-[^"]*",\s*"made_from": "([0-9a-f]{16})"')
_TITLE = re.compile(r'"title": ("(?:[^"\\]|\\.)*")')
_PDF = re.compile(r'%made-from ([0-9a-f]{16}) ("(?:[^"\\]|\\.)*")')
_PROPERTY = re.compile(r'name="made_from"[^>]*><vt:lpwstr>([0-9a-f]{16})<')
_CORE = re.compile(r"<dc:title>(.*?)</dc:title>", re.DOTALL)


@dataclass(frozen=True)
class Target:
    """A place where a result is to go: the ``option`` that names it, if one does, and the mark that it will carry."""

    path: Path
    option: str | None
    mark: str


@dataclass(frozen=True)
class Owner:
    """What a result says of itself: the mark of its scenario file, and its title."""

    mark: str
    title: str


def mark_of(*files: Path) -> str:
    """The mark of what is made from one scenario file, or from several in whatever order: 16 hexadecimal digits.

    The same file, by whatever way its name leads there, has the same mark; nobody can read its path off it.
    """
    names = b"\0".join(sorted(os.fsencode(os.path.realpath(file)) for file in files))
    return hashlib.sha256(names).hexdigest()[:16]


def marked(plain: dict[str, Any], mark: str) -> dict[str, Any]:
    """Plain values that carry a mark, right behind their schema."""
    return {"schema": plain["schema"], KEY: mark, **plain}


def signature(mark: str, title: str) -> bytes:
    """The comment that carries the mark at the end of a PDF, where readers of the format pass over it."""
    return f"%made-from {mark} {json.dumps(printable(title, 100))}\n%%EOF\n".encode()


def refuse_others(targets: Iterable[Target]) -> None:
    """Raise :class:`ScenarioError` if a target is a file that was not made from the same scenario.

    An empty file has nothing to lose. What is no file at all is told where it is to be written.
    """
    problems = []
    for target in targets:
        path = target.path
        if not _holds_something(path):
            continue
        owner = owner_of(path)
        if owner is not None and owner.mark == target.mark:
            continue
        if owner is None:
            what = "is there already, and does not tell that it was made from this scenario"
        else:
            what = f"holds “{printable(owner.title, 200)}”, made from another scenario"
        away = "move it away" if target.option is None else f"choose another place with {target.option}"
        mend = f"{away}, or overwrite it with --replace"
        problems.append(Problem(str(path), 0, "", what, mend, "another's"))
    if problems:
        raise ScenarioError(problems)


def _holds_something(path: Path) -> bool:
    """Whether a path leads to a file with something in it; a path that leads nowhere is told where it is written."""
    try:
        return path.is_file() and path.stat().st_size > 0
    except (OSError, RuntimeError):  # a name too long, a folder nobody may enter, a link that leads to itself
        return False


def owner_of(path: Path) -> Owner | None:
    """Whose result a file is; none if it is no result of ours, or does not tell."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
            if head.startswith(b"PK"):
                return _of_workbook(path)
            file.seek(max(path.stat().st_size - _TAIL, 0))
            tail = file.read()
    except OSError:
        return None
    text = head.decode("utf-8", "replace")
    if found := _PAGE.search(text):
        return Owner(found[1], html.unescape(found[2]))
    if found := _JSON.match(text):
        title = _TITLE.search(text)
        return Owner(found[1], _quoted(title[1]) if title else "")
    if head.startswith(b"%PDF"):
        ends = _PDF.search(tail.decode("latin-1"))
        return Owner(ends[1], _quoted(ends[2])) if ends else None
    return _of_csv(text)


def _of_csv(text: str) -> Owner | None:
    try:
        rows = csv.reader(io.StringIO(text[: text.rfind("\n") + 1], newline=""))
        next(rows, None)
        row = next(rows, [])
    except csv.Error:
        return None
    if "made from" not in row[:3] or not re.fullmatch("[0-9a-f]{16}", row[-1]):
        return None
    return Owner(row[-1], row[row.index("made from") + 1])


def _of_workbook(path: Path) -> Owner | None:
    try:
        with zipfile.ZipFile(path) as book:
            own, core = (book.read(f"docProps/{name}.xml").decode() for name in ("custom", "core"))
    except (OSError, KeyError, ValueError, RuntimeError, EOFError, zlib.error, zipfile.BadZipFile):
        return None
    mark, title = _PROPERTY.search(own), _CORE.search(core)
    return Owner(mark[1], html.unescape(title[1]) if title else "") if mark else None


def _quoted(text: str) -> str:
    try:
        return str(json.loads(text))
    except ValueError:
        return ""
