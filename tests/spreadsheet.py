"""Workbooks opened without the library that wrote them: cells read, changed, and worked out by LibreOffice."""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from xml.etree import ElementTree

import pytest

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_LINK = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"

Value = float | str | bool | None


@dataclass(frozen=True)
class Cell:
    """A cell as the file has it: its value, its formula if it has one, and its type (``s`` and ``str`` are text)."""

    value: Value
    formula: str | None
    kind: str


class Spreadsheet:
    """The cells of a workbook by sheet and address such as ``B7``, and the cells that its names stand for."""

    def __init__(self, file: bytes) -> None:
        self.archive = zipfile.ZipFile(io.BytesIO(file))
        book = ElementTree.fromstring(self.archive.read("xl/workbook.xml"))
        links = ElementTree.fromstring(self.archive.read("xl/_rels/workbook.xml.rels"))
        targets = {link.attrib["Id"]: link.attrib["Target"].removeprefix("/xl/") for link in links}
        self.parts = {sheet.attrib["name"]: f"xl/{targets[sheet.attrib[_LINK]]}" for sheet in book.iter(f"{MAIN}sheet")}
        self.names = {
            name.attrib["name"]: _place(name.text or "")
            for name in book.iter(f"{MAIN}definedName")
            if not name.attrib["name"].startswith("_xlnm")
        }
        self._shared = [_words(entry) for entry in self._tree("xl/sharedStrings.xml").iter(f"{MAIN}si")]
        self.sheets = {name: self._cells(part) for name, part in self.parts.items()}

    def _tree(self, part: str) -> ElementTree.Element:
        return ElementTree.fromstring(self.archive.read(part))

    def _cells(self, part: str) -> dict[str, Cell]:
        found = {}
        for cell in self._tree(part).iter(f"{MAIN}c"):
            kind, formula, raw = cell.get("t", "n"), cell.find(f"{MAIN}f"), cell.find(f"{MAIN}v")
            text = None if raw is None else raw.text
            value: Value = text
            if kind == "s":
                value = self._shared[int(text or 0)]
            elif kind == "inlineStr":
                value = _words(cell)
            elif kind == "n":
                value = None if text is None else float(text)
            elif kind == "b":
                value = text == "1"
            found[cell.attrib["r"]] = Cell(value, None if formula is None else formula.text or "", kind)
        return found

    def at(self, sheet: str, row: int, column: int) -> Value:
        """The value at a row and a column that count from 0."""
        cell = self.sheets[sheet].get(f"{letters(column)}{row + 1}")
        return None if cell is None else cell.value

    def named(self, name: str) -> Value:
        """The value of the cell that a name stands for."""
        sheet, address = self.names[name]
        return self.sheets[sheet][address].value


def letters(column: int) -> str:
    """A column by its letters; columns count from 0."""
    first, last = divmod(column, 26)
    return (letters(first - 1) if first else "") + chr(ord("A") + last)


def _place(text: str) -> tuple[str, str]:
    sheet, _, address = text.rpartition("!")
    return sheet.removeprefix("'").removesuffix("'").replace("''", "'"), address.replace("$", "")


def _words(entry: ElementTree.Element) -> str:
    return "".join(part.text or "" for part in entry.iter(f"{MAIN}t"))


def changed(file: bytes, values: Mapping[str, float]) -> bytes:
    """The same file with other numbers in the cells that some names stand for, as if somebody had typed them."""
    opened = Spreadsheet(file)
    edits: dict[str, dict[str, float]] = {}
    for name, value in values.items():
        sheet, address = opened.names[name]
        assert opened.sheets[sheet][address].formula is None
        edits.setdefault(opened.parts[sheet], {})[address] = value
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for part in opened.archive.namelist():
            text = opened.archive.read(part)
            for address, value in edits.get(part, {}).items():
                cell = re.compile(rf'(<c r="{address}"[^>]*>)<v>[^<]*</v>'.encode())
                text, count = cell.subn(rb"\g<1><v>" + repr(value).encode() + b"</v>", text)
                assert count == 1
            target.writestr(part, text)
    return out.getvalue()


def worked_out(files: Mapping[str, bytes], program: str, folder: Path) -> dict[str, Spreadsheet]:
    """Workbooks by name, as LibreOffice works them out: opened, all formulas reckoned, saved anew."""
    given, made = folder / "given", folder / "made"
    given.mkdir()
    for name, file in files.items():
        (given / f"{name}.xlsx").write_bytes(file)
    profile = folder.parent / "profile"  # its own, and the same for all tests of a run, which saves setting it up
    words = [program, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "xlsx"]
    words += ["--outdir", str(made), *(str(given / f"{name}.xlsx") for name in files)]
    subprocess.run(words, check=True, capture_output=True, timeout=300)
    return {name: Spreadsheet((made / f"{name}.xlsx").read_bytes()) for name in files}


def libreoffice() -> str:
    """Debian's LibreOffice, which works out the tests' workbooks; without it a test is skipped, and fails in CI."""
    program = shutil.which("soffice")
    if program is None:
        if os.environ.get("CI") == "true":
            pytest.fail("soffice is missing, and in CI workbooks must be worked out: apt-get install libreoffice-calc")
        pytest.skip("soffice is not installed: apt-get install libreoffice-calc")
    return program
