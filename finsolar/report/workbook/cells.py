"""Cells of a workbook: text that stays text, formulas of our own, styles, and where each figure stands."""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from finsolar.report.words.amounts import SIGNS

LABEL, NOTE, ID, YEAR_0 = 0, 1, 2, 3
"""Columns of a sheet by years: what it is, a word on it, its id, and year 0; the other years follow."""

INPUT_FILL, FIXED_FILL, HEAD_FILL, INK, PALE = "#FFF1C9", "#E7E9EC", "#DCEBE4", "#1E3A34", "#6B7280"

A3, A4 = 8, 9
"""Sizes of paper, as spreadsheets number them."""

_LONGEST_CELL = 32_767  # as spreadsheets count: in units of UTF-16
_LONGEST_NAME = 31
_REFUSED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
# Brackets too: what looks like a call of a function, the library that writes formulas would write anew.
_NOT_IN_NAMES = re.compile(r"[\[\](){}:*?/\\\x00-\x1f]")


class Formula(str):
    """A formula of our own; whatever is no Formula is written as text or as a number."""

    __slots__ = ()


Cell = Formula | float | None


@dataclass(frozen=True)
class Place:
    """Where the figures of one id stand: ``count`` cells from (row, column), across or down the sheet."""

    sheet: str
    row: int
    column: int
    count: int = 1
    down: bool = False


@dataclass(frozen=True)
class Line:
    """A row by years: ``at`` the cell of one year, ``span`` those of several, absolute and with the sheet's name."""

    sheet: str
    row: int

    def at(self, year: int) -> str:
        """The cell of a year."""
        return f"{quoted(self.sheet)}!{address(self.row, YEAR_0 + year)}"

    def span(self, first: int, last: int) -> str:
        """The cells of the years ``first`` to ``last``."""
        return f"{self.at(first)}:{address(self.row, YEAR_0 + last)}"


def quoted(sheet: str) -> str:
    """A sheet's name as formulas have it."""
    return "'" + sheet.replace("'", "''") + "'"


def address(row: int, column: int) -> str:
    """A cell, absolute; rows and columns count from 0."""
    letters = ""
    left = column + 1
    while left:
        left, digit = divmod(left - 1, 26)
        letters = chr(ord("A") + digit) + letters
    return f"${letters}${row + 1}"


def fit(text: str) -> str:
    """Text as a cell can hold it: without signs that XML refuses, cut to what a cell takes."""
    clean = _REFUSED.sub("\N{REPLACEMENT CHARACTER}", text.replace("\r\n", "\n").replace("\r", "\n"))
    if _units(clean) <= _LONGEST_CELL:
        return clean
    return _cut(clean, _LONGEST_CELL - 1) + "…"


def sheet_name(name: str, taken: Sequence[str], fallback: str) -> str:
    """A name that a sheet may bear and none of ``taken`` has, letters' case aside; ``fallback`` where none is left."""
    clean = " ".join(_NOT_IN_NAMES.sub(" ", fit(name)).split()).strip("'")
    clean = re.sub(r"_x(?=[0-9a-fA-F]{4}_)", "_x ", clean)  # else some programs read a sign in it
    clean = _cut(clean, _LONGEST_NAME).strip("' ") or fallback
    if clean.lower() == "history":  # spreadsheets keep this one for themselves
        clean = fallback
    used, found, count = {each.lower() for each in taken}, clean, 1
    while found.lower() in used:
        count += 1
        ending = f" {count}"
        found = _cut(clean, _LONGEST_NAME - len(ending)) + ending
    return found


def _units(text: str) -> int:
    return len(text.encode("utf-16-le")) // 2


def _cut(text: str, units: int) -> str:
    return text.encode("utf-16-le")[: 2 * units].decode("utf-16-le", "ignore")


class Book:
    """A workbook in the making: its sheets, its names, and the place of every id."""

    def __init__(self, title: str, currency: str, years: int) -> None:
        import datetime as dt

        import xlsxwriter

        self.title, self.years = title, years
        self.currency = currency
        self.ids: dict[str, Place] = {}
        self.names: list[str] = []
        self._bytes = io.BytesIO()
        self.file = xlsxwriter.Workbook(self._bytes, {"in_memory": True})
        # One day for all, so that the same study gives the same file.
        self.file.set_properties({"title": fit(title), "created": dt.datetime(2000, 1, 1)})
        self._formats: dict[tuple[tuple[str, Any], ...], Any] = {}
        sign = SIGNS.get(currency, f"{currency} ")
        self.whole, self.money, self.price = (f'"{sign}"{n};-"{sign}"{n}' for n in ("#,##0", "#,##0.00", "0.0000"))

    def sheet(self, name: str) -> Sheet:
        """A new sheet at the end."""
        return Sheet(self, name)

    def style(self, **wanted: Any) -> Any:
        """A format, made once."""
        key = tuple(sorted(wanted.items()))
        if key not in self._formats:
            self._formats[key] = self.file.add_format({"font_name": "Calibri", "valign": "top", **wanted})
        return self._formats[key]

    def define(self, name: str, sheet: str, row: int, column: int) -> None:
        """Give a cell a name for the whole workbook."""
        self.names.append(name)
        self.file.define_name(name, f"={quoted(sheet)}!{address(row, column)}")

    def finish(self) -> bytes:
        """The workbook as a file."""
        self.file.close()
        return self._bytes.getvalue()


class Sheet:
    """A sheet that is filled from top to bottom; ``row`` is the next free one."""

    def __init__(self, book: Book, name: str) -> None:
        self.book, self.name, self.row = book, name, 0
        self.page = book.file.add_worksheet(name)

    def write(self, row: int, column: int, value: str | Cell, **look: Any) -> None:
        """One cell: a formula without any remembered result, a number, or text that no program takes for a formula."""
        style = self.book.style(**look)
        if isinstance(value, Formula):
            self.page.write_formula(row, column, f"={value}", style, "")
        elif isinstance(value, str):
            text = fit(value)
            if text.lstrip()[:1] in set("=+-@"):
                style = self.book.style(**look, quote_prefix=True)
            self.page.write_string(row, column, text, style)
        elif value is None:
            self.page.write_blank(row, column, None, style)
        else:
            self.page.write_number(row, column, float(value), style)

    def heading(self, text: str) -> None:
        """The title of a section, after a free row."""
        self.row += 1
        self.write(self.row, LABEL, text, bold=True, font_size=13, font_color=INK)
        self.row += 1

    def text(self, text: str, width: int = 9, **look: Any) -> None:
        """A row of running text over ``width`` columns."""
        style = self.book.style(text_wrap=True, **look)
        if text.lstrip()[:1] in set("=+-@"):
            style = self.book.style(text_wrap=True, quote_prefix=True, **look)
        self.page.merge_range(self.row, 0, self.row, width - 1, "", style)
        self.page.write_string(self.row, 0, fit(text), style)
        lines = sum(1 + len(part) // 135 for part in fit(text).split("\n"))
        self.page.set_row(self.row, 15 * min(lines, 25))
        self.row += 1

    def head(self, cells: Sequence[str], height: float = 18) -> None:
        """A row of column heads."""
        self.page.set_row(self.row, height)
        for column, text in enumerate(cells):
            self.write(self.row, column, text, bold=True, bg_color=HEAD_FILL, bottom=1, text_wrap=True)
        self.row += 1

    def head_of_years(self, what: str, note: str = "") -> None:
        """Column heads of a section by years."""
        years = range(self.book.years + 1)
        self.head([what, note, "id"])
        for year in years:
            self.write(
                self.row - 1, YEAR_0 + year, float(year), bold=True, bg_color=HEAD_FILL, bottom=1, num_format="0"
            )

    def line(
        self,
        what: str,
        cells: Sequence[Cell] | Callable[[int], Cell],
        *,
        key: str = "",
        note: str = "",
        first: int = 0,
        form: str | None = None,
        **look: Any,
    ) -> Line:
        """A row by years from year ``first`` on; numbers that stand for themselves look other than formulas."""
        years = self.book.years
        values = [cells(year) for year in range(first, years + 1)] if callable(cells) else cells
        self.write(self.row, LABEL, what, **look)
        self.write(self.row, NOTE, note, font_color=PALE, font_size=9)
        self.write(self.row, ID, key, font_color=PALE, font_size=8)
        for year, value in enumerate(values, start=first):
            own = {} if isinstance(value, Formula) or value is None else {"bg_color": FIXED_FILL}
            self.write(self.row, YEAR_0 + year, value, num_format=form or self.book.whole, **own, **look)
        if key:
            self.book.ids[key] = Place(self.name, self.row, YEAR_0 + first, len(values))
        self.row += 1
        return Line(self.name, self.row - 1)

    def figure(self, what: str, value: str | Cell, *, key: str = "", form: str, column: int = 1, **look: Any) -> str:
        """A row with one figure; returns its cell."""
        self.write(self.row, LABEL, what)
        own = {} if isinstance(value, Formula) else {"bg_color": FIXED_FILL}
        self.write(self.row, column, value, num_format=form, align="right", **own, **look)
        if key:
            self.write(self.row, ID, key, font_color=PALE, font_size=8)
            self.book.ids[key] = Place(self.name, self.row, column)
        self.row += 1
        return f"{quoted(self.name)}!{address(self.row - 1, column)}"

    def close(
        self,
        widths: Sequence[float],
        frozen: tuple[int, int],
        last_column: int,
        printed: int | None = None,
        paper: int = A4,
    ) -> None:
        """Column widths, panes that stay, and how it is printed: ``printed`` rows, or all."""
        for column, width in enumerate(widths):
            self.page.set_column(column, column, width)
        self.page.freeze_panes(*frozen)
        self.page.set_landscape()
        self.page.set_paper(paper)
        self.page.fit_to_pages(1, 0)
        self.page.print_area(0, 0, max((printed or self.row) - 1, 1), last_column)
        self.page.repeat_rows(0, 1)
        title = " ".join(_cut(fit(self.book.title), 100).split()).replace("&", "&&")
        self.page.set_header(f"&L{title}&R&A")
        self.page.set_footer("&LArithmetic on stated assumptions; see the cautions on the first sheet.&RPage &P of &N")
        self.page.hide_gridlines(2)
        self.page.set_margins(left=0.4, right=0.4, top=0.7, bottom=0.6)
