"""What lies in the file of a workbook: text that stays text, names, print, and nothing that runs or calls out."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_house import house
from spreadsheet import MAIN, Spreadsheet, libreoffice, worked_out

import finsolar
from finsolar.report.words.terms import CAUTIONS
from finsolar.report.workbook.cells import Book, fit, sheet_name
from finsolar.report.workbook.whole import Written, written
from finsolar.results import Study

NASTY = [
    '=HYPERLINK("file:///etc/passwd","click")',
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1+1",
    "=1+1\nsecond line",
    "SORT(1) and FILTER(2)",
    "_x0041_ stays as written",
    "\u202e\u200fright to left \u05d0\u05d1",
    "\U0001f31e sun & <moon> \"quoted\" 'single'",
    "{=1+1}",
]

NAMES = ["=2+3", 'SORT(1) \' "x"', "_x0041_ & more", "a name that no sheet may bear, since it says far too much"]


@pytest.fixture(scope="module")
def nasty() -> tuple[Study, Written]:
    """A house whose every text tries to be something else, and its workbook."""
    costs = [{"item": text, "category": "other", "cost": 100 + k, "note": text} for k, text in enumerate(NASTY)]
    upkeep = [{"item": text, "category": "upkeep", "cost": 10} for text in NASTY]
    changes = {
        "title": "=1+1 & co",
        "note": "=" + "x" * 9_999,
        "study": {"in_service": "2026-06-01", "years": 2, "discount_rate": "5%"},
        "costs": costs,
        "upkeep": upkeep,
        "alternatives": [{"name": text} for text in NAMES],
    }
    base = finsolar.study(house(changes))
    return base, written(base, base.to_json())


def test_text_of_the_scenario_is_text_before_and_after_libreoffice(
    nasty: tuple[Study, Written], tmp_path: Path
) -> None:
    """Each of them stands in some cell letter by letter, and in no cell as a formula."""
    program = libreoffice()
    base, book = nasty
    items = [line.item for line in base.scenario.alternatives[0].costs]  # as read: without blanks around it
    texts = [*items, "=1+1 & co", "=" + "x" * 9_999, *(result.name for result in base.results)]
    after = worked_out({"nasty": book.file}, program, tmp_path)["nasty"]
    for opened in (Spreadsheet(book.file), after):
        cells = [cell for cells in opened.sheets.values() for cell in cells.values()]
        held = {re.sub("_x005F_", "_", str(cell.value)) for cell in cells if cell.formula is None}
        formulas = {cell.formula for cell in cells if cell.formula is not None}

        for text in texts:
            assert text in held
        assert not any("HYPERLINK" in formula or "xxxx" in formula for formula in formulas)
        assert {cell.kind for cell in cells if cell.value in texts} <= {"s", "str", "inlineStr"}
    assert after.named("as_studied") is True
    assert after.named("npv_1") == pytest.approx(float(base.results[0].appraisal.npv), abs=1e-6)
    assert after.named("npv_3") == pytest.approx(float(base.results[2].appraisal.npv), abs=1e-6)


def test_signs_that_steer_or_that_xml_refuses_do_no_harm(tmp_path: Path) -> None:
    """Written straight into a cell, control signs become a mark, and the rest comes back from LibreOffice."""
    program = libreoffice()
    wanted = {
        "\t=1+1": "\t=1+1",
        "a\x00b\x07c\x1b[31m": "a\ufffdb\ufffdc\ufffd[31m",
        "\ud800\ufffe": "\ufffd\ufffd",
        " blanks around ": " blanks around ",
        "line\r\nline": "line\nline",
        "=1+1": "=1+1",
        "'=1+1": "'=1+1",
    }
    book = Book("Signs", "USD", 1)
    sheet = book.sheet("Signs")
    for row, text in enumerate(wanted):
        sheet.write(row, 0, text)
    found = worked_out({"signs": book.finish()}, program, tmp_path)["signs"]

    assert [found.at("Signs", row, 0) for row in range(len(wanted))] == list(wanted.values())
    assert not [cell for cell in found.sheets["Signs"].values() if cell.formula is not None]


def test_a_formula_like_text_keeps_its_mark_when_it_is_edited(nasty: tuple[Study, Written]) -> None:
    """A cell that begins like a formula is marked as text, so that leaving it again does not make it one."""
    archive = zipfile.ZipFile(io.BytesIO(nasty[1].file))
    formats = ElementTree.fromstring(archive.read("xl/styles.xml")).find(f"{MAIN}cellXfs")
    assert formats is not None
    marked = {k for k, each in enumerate(formats) if each.get("quotePrefix") == "1"}
    opened = Spreadsheet(nasty[1].file)
    for name, part in opened.parts.items():
        for cell in ElementTree.fromstring(archive.read(part)).iter(f"{MAIN}c"):
            value = opened.sheets[name][cell.attrib["r"]].value
            if cell.get("t") == "s" and str(value).lstrip()[:1] in set("=+-@"):
                assert int(cell.get("s", "0")) in marked


@given(st.text(st.characters(codec=None), max_size=60))
def test_any_text_is_made_fit_for_a_cell(text: str) -> None:
    """What is left can be read back from XML, and is the text itself where nothing was wrong with it."""
    made = fit(text)

    read = ElementTree.fromstring(f"<t>{made.replace('&', '&amp;').replace('<', '&lt;')}</t>".encode()).text or ""
    assert read == made
    if text.isprintable() and not any(0xD800 <= ord(c) <= 0xDFFF or ord(c) in {0xFFFE, 0xFFFF} for c in text):
        assert made == text


def test_a_cell_takes_no_more_than_it_can() -> None:
    """Cut at 32,767 units, between signs and never within one."""
    for text in ("x" * 40_000, "\U0001f31e" * 20_000):
        made = fit(text)

        assert len(made.encode("utf-16-le")) // 2 in {32_766, 32_767}
        assert made.endswith("…")
        assert set(made[:-1]) == {text[0]}
    assert fit("y" * 32_767) == "y" * 32_767


@given(st.lists(st.text(st.characters(codec=None), max_size=40), max_size=8))
def test_sheets_have_names_that_spreadsheets_take(names: list[str]) -> None:
    """At most 31 units, without signs that are forbidden or look like a call, each once whatever its case."""
    taken: list[str] = []
    for k, name in enumerate(names):
        taken.append(sheet_name(name, taken, f"Plan {k}"))

    assert len({name.lower() for name in taken}) == len(taken)
    for name in taken:
        assert 1 <= len(name.encode("utf-16-le")) // 2 <= 31
        assert not set(name) & set("[]:*?/\\(){}")
        assert name == name.strip("' ")
        assert name.lower() != "history"


def test_the_file_holds_no_macro_no_link_and_no_remembered_result(nasty: tuple[Study, Written]) -> None:
    """Parts are sheets, styles, texts and properties; every formula waits to be worked out; names lead to a cell."""
    archive = zipfile.ZipFile(io.BytesIO(nasty[1].file))
    parts = archive.namelist()
    opened = Spreadsheet(nasty[1].file)

    assert not [part for part in parts if re.search("vba|macro|external|connection|embed|activex", part.lower())]
    for part in parts:
        if part.endswith(".rels"):
            assert b'TargetMode="External"' not in archive.read(part)
    formulas = [cell for cells in opened.sheets.values() for cell in cells.values() if cell.formula is not None]
    assert len(formulas) > 1000
    assert {cell.value for cell in formulas} == {None}
    for sheet, address in opened.names.values():
        assert address in opened.sheets[sheet]
    assert {"discount_rate", "inflation", "tariff_rise", "npv_1", "irr_1", "simple_payback_4"} <= set(opened.names)


def test_the_same_study_gives_the_same_file(nasty: tuple[Study, Written]) -> None:
    """Byte by byte: no clock, no chance."""
    base, book = nasty

    assert written(base, base.to_json()).file == book.file


def test_each_id_stands_beside_its_figure(nasty: tuple[Study, Written]) -> None:
    """The id of a row, or its column's key, can be read on the sheet that shows the figure."""
    opened = Spreadsheet(nasty[1].file)
    for key, place in nasty[1].ids.items():
        texts = {str(cell.value) for cell in opened.sheets[place.sheet].values() if cell.kind == "s"}
        parent, _, last = key.rpartition(".")
        inner = key.split(".", 2)[2] if key.startswith("compare.") else key

        assert inner in texts or {parent, last} <= texts


def test_it_can_be_read_and_printed(nasty: tuple[Study, Written]) -> None:
    """Landscape, fit to the width, a title and page numbers, panes that stay; cautions inside what is printed."""
    archive = zipfile.ZipFile(io.BytesIO(nasty[1].file))
    opened = Spreadsheet(nasty[1].file)
    for part in opened.parts.values():
        tree = ElementTree.fromstring(archive.read(part))
        setup, header = tree.find(f"{MAIN}pageSetup"), tree.findtext(f"{MAIN}headerFooter/{MAIN}oddHeader")
        assert setup is not None
        assert (setup.get("orientation"), setup.get("fitToHeight")) == ("landscape", "0")
        assert header is not None and header.startswith("&L=1+1 && co&R")
        assert "&P" in (tree.findtext(f"{MAIN}headerFooter/{MAIN}oddFooter") or "")
        assert tree.find(f"{MAIN}sheetViews/{MAIN}sheetView/{MAIN}pane") is not None
    read_me = {str(cell.value) for cell in opened.sheets["Read me"].values()}
    assert set(CAUTIONS) <= read_me
