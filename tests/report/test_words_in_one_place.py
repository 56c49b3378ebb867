"""Every word of the pages stands in `finsolar.report.words`, so that one package is all there is to translate."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import finsolar.report

REPORT = Path(finsolar.report.__file__).parent
NOT_ON_THE_PAGE = {
    *("command", "draw_choice", "files", "printing", "rule_choice", "run", "several", "vary_choice", "whose"),
    *("table", "case_rows", "day_rows", "off_grid_rows", "rise_rows"),
}
"""What runs the command and refuses what was typed, and what makes the rows of the CSV file, whose names are keys."""
KEYS = {
    "off grid",
    "investment avoided",
    *("last ten years", "last twenty years", "slowest ten years", "fastest ten years"),
    *("outage load", "load test", "load test rating", "worst start", "share of starts that last", "made from"),
    *("circuit ", "endurance "),
    *("outages ", "backup ", "backup break-even", "worth of backup", "worth of backup ", "present value", "by year"),
    *("middle right", "top right", "top left"),
}
"""What is spelled like words: values of the scenario and the JSON, parts of the CSV, and places in a chart."""
MODULES = sorted(path for path in REPORT.glob("*.py") if path.stem not in NOT_ON_THE_PAGE)
TEMPLATES = sorted((REPORT / "templates").rglob("*.j2"))
SCRIPTS = sorted((REPORT / "templates").glob("*.js"))

PHRASE = re.compile(r"[A-Za-z]{2,}[,;:]? [a-z]{2,}|\b[a-z]{2,}, $|^ ?[a-z]{2,} $|^[A-Z][a-z]+\b(?!=)")
"""Two words beside each other, words that await a number, or a word with a capital."""
SHOWN = ("aria-label", "title", "alt", "placeholder", "label", "summary")


def literals(tree: ast.AST) -> Iterator[ast.Constant]:
    """Texts of a module but its docstrings and what an error is raised with."""
    apart: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            apart.add(id(node.value))
        if isinstance(node, ast.Raise):
            apart.update(id(each) for each in ast.walk(node))
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in apart:
            yield node


def words_of_template(text: str) -> list[str]:
    """What a template shows by itself: text between its tags, and attributes that are read out."""
    text = re.sub(r"\{#.*?#\}", "", text, flags=re.S)
    phrases = [
        each for tag in re.findall(r"\{[{%].*?[}%]\}", text, flags=re.S) for each in re.findall(r"'([^']*)'", tag)
    ]
    bare = re.sub(r"\{[{%].*?[}%]\}", "", text, flags=re.S)
    found = [each for name in SHOWN for each in re.findall(rf'\s{name}="([^"]*)"', bare)]
    found += re.split(r"<[^>]*>", re.sub(r"<(style|script)\b.*?</\1>", "", bare, flags=re.S))
    shown = [each.strip() for each in found if re.search(r"[A-Za-z]{2,}", each)]
    return shown + [each for each in phrases if PHRASE.search(each)]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_a_module_of_the_page_holds_no_words(path: Path) -> None:
    found = [
        f"{each.lineno}: {each.value}"
        for each in literals(ast.parse(path.read_text()))
        if PHRASE.search(each.value) and each.value not in KEYS
    ]
    assert not found


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_a_template_holds_no_words(path: Path) -> None:
    assert not words_of_template(path.read_text())


@pytest.mark.parametrize("path", SCRIPTS, ids=lambda path: path.stem)
def test_a_script_holds_no_words(path: Path) -> None:
    found = [each for each in re.findall(r"[\"'`]([^\"'`\n]*)[\"'`]", path.read_text()) if each != "use strict"]
    assert not [each for each in found if re.search(r"[A-Za-z]{2,} [a-z]{2,} [a-z]{2,}|[A-Z][a-z]+ [a-z]", each)]


def test_words_left_in_a_module_or_a_template_would_be_found() -> None:
    tree = ast.parse('"""Head."""\nTITLE = "What it costs"\nraise ValueError("a text that no page shows")\n')
    assert [each.value for each in literals(tree) if PHRASE.search(each.value)] == ["What it costs"]
    assert words_of_template('<p aria-label="A bill">{{ name }} of <bdi>{{ x }}</bdi></p>') == ["A bill", "of"]
    assert words_of_template("<p>{{ 'all of it' if x else y }}</p>{# a remark #}") == ["all of it"]
