"""Fixed words of the pages: each that a template asks for is there, each that is there is used, names stay text."""

from __future__ import annotations

import re
from inspect import isfunction, ismodule, signature
from pathlib import Path
from typing import Any

import pytest
from markupsafe import Markup

import finsolar.report
from finsolar.report import readers
from finsolar.report.page import page, unpacked
from finsolar.report.words import fixed

REPORT = Path(finsolar.report.__file__).parent
TEMPLATES = sorted((REPORT / "templates").rglob("*.j2"))
MODULES = " ".join(path.read_text() for path in REPORT.glob("*.py"))
SECTIONS = {name: part for name, part in vars(fixed).items() if ismodule(part)}
ASKED = {found for path in TEMPLATES for found in re.findall(r"\bsaid\.(\w+)\.(\w+)", path.read_text())}


def told_by(part: Any) -> list[Any]:
    """The functions of a module of words, its own alone."""
    return [one for one in vars(part).values() if isfunction(one) and one.__module__ == part.__name__]


def test_templates_ask_for_no_words_that_are_missing() -> None:
    """Also in branches that no study of the tests takes."""
    assert len(ASKED) > 150
    assert [f"{name}.{word}" for name, word in sorted(ASKED) if not hasattr(SECTIONS[name], word)] == []


@pytest.mark.parametrize("name", SECTIONS)
def test_no_words_are_left_that_nothing_shows(name: str) -> None:
    """Each is asked for by a template, or by a module that makes pages."""
    constants = [word for word in vars(SECTIONS[name]) if word.isupper() and not hasattr(readers, word)]
    found = [*constants, *(one.__name__ for one in told_by(SECTIONS[name]))]

    assert found
    assert [word for word in found if (name, word) not in ASKED and f"{name}.{word}" not in MODULES] == []


@pytest.mark.parametrize("told", [one for part in SECTIONS.values() for one in told_by(part)])
def test_what_is_markup_holds_a_name_as_text(told: Any) -> None:
    """Markup has escaped what it was handed; any other text is left to the template, which escapes it."""
    kinds = [str(each.annotation) for each in signature(told).parameters.values()]
    said = told(*(["<b>"] if "Sequence" in kind else "<b>" if "str" in kind else 2 for kind in kinds))

    if isinstance(said, Markup):
        assert "<b>" not in said and "&lt;b&gt;" in said
    else:
        assert ("<b>" in said) == any("str" in kind for kind in kinds)


def test_an_old_browser_is_told_by_the_page_and_paper_needs_no_unpacking(juniper: dict[str, Any]) -> None:
    """The sentence stands at what could not be unpacked; a page for the printer holds the script instead, once."""
    text = page(juniper)
    bare = unpacked(text)

    assert text.count(f'id="packed-script" data-too-old="{fixed.page.TOO_OLD}">') == 1
    assert 'id="packed-script"' not in bare
    assert len(bare) > len(text) + 1_000_000
    assert bare.count("<script>") == text.count("<script>") + 1
