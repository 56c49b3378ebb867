"""Each reader's page in a real browser: drawn, readable by all, its terms explained and its figures followed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import ROOT, plain_study
from visits import DESKTOP, PHONE, Visit

from finsolar.report.page import page as render
from finsolar.report.readers import BOTH, HOUSEHOLD, LENDER

Opener = Callable[..., Visit]

_FOOTNOTE = """() => {
  const one = getComputedStyle(document.activeElement, "::after");
  return [one.content, one.position, parseFloat(one.left), parseFloat(one.right)];
}"""
"""What the term in focus tells, and how far from both sides of the window."""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """The page of a household with loans for each reader, written when it is first asked for."""
    folder = tmp_path_factory.mktemp("readers")

    def page_of(reader: str) -> Path:
        file = folder / f"{reader}.html"
        if not file.exists():
            file.write_text(render(plain_study(ROOT / "scenarios" / "heron-landing.yaml"), reader), encoding="utf-8")
        return file

    return page_of


@pytest.mark.parametrize("reader", [HOUSEHOLD, LENDER])
def test_each_page_is_drawn_and_axe_finds_no_barrier(visit: Opener, pages: Callable[[str], Path], reader: str) -> None:
    """On a desk; with the ids of its figures shown, too."""
    seen = visit(pages(reader), DESKTOP)
    seen.read_whole(f"heron-for-{reader}-desktop", charts=6)
    seen.page.check("#where")
    seen.check_that_axe_finds_no_barrier()
    seen.check_that_words_stand_out()
    assert seen.complaints == []


@pytest.mark.parametrize("reader", [HOUSEHOLD, LENDER])
def test_on_a_phone_nothing_sticks_out_and_tables_of_words_fit(
    visit: Opener, pages: Callable[[str], Path], reader: str
) -> None:
    """All that is folded away opened, ids shown."""
    seen = visit(pages(reader), PHONE)
    seen.read_whole(f"heron-for-{reader}-phone", charts=6)
    seen.open_details()
    seen.page.check("#where")

    fits = seen.page.eval_on_selector_all(
        "main table.words", "all => all.map(one => one.offsetWidth <= one.parentElement.clientWidth + 1)"
    )
    assert fits and all(fits)
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_a_term_tells_its_meaning_to_the_keyboard_within_the_window(
    visit: Opener, pages: Callable[[str], Path]
) -> None:
    """Focus shows it at the foot of the window, Esc takes it away, Enter leads to its entry, and so does a tap."""
    seen = visit(pages(BOTH), PHONE)
    term = seen.page.locator("#answer a.term[href='#term-npv']").first
    seen.page.keyboard.press("Tab")  # from now on focus is the keyboard's
    term.focus()

    content, position, left, right = seen.page.evaluate(_FOOTNOTE)
    assert "Net present value" in content and position == "fixed" and min(left, right) >= 0
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    shown = "() => getComputedStyle(document.activeElement, '::after').display"
    seen.page.keyboard.press("Escape")
    assert seen.page.evaluate(shown) == "none"
    seen.page.evaluate("document.activeElement.blur()")
    term.focus()
    assert seen.page.evaluate(shown) != "none"
    seen.page.keyboard.press("Enter")
    assert seen.page.evaluate("location.hash") == "#term-npv"
    assert seen.page.locator("#meaning-npv").is_visible()
    assert seen.page.locator("dt:target").inner_text() == "NPV"


def test_the_switch_shows_where_each_figure_stands(visit: Opener, pages: Callable[[str], Path]) -> None:
    """Without a script: nothing before, the id below the figure after."""
    seen = visit(pages(BOTH), DESKTOP)
    shown = """() => getComputedStyle(
      document.querySelector("td[data-id='alternatives.0.metrics.npv']"), "::after").content"""

    assert seen.page.evaluate(shown) == "none"
    seen.page.get_by_label("Show where each figure stands").check()
    assert "alternatives.0.metrics.npv" in seen.page.evaluate(shown)


def test_a_group_of_inputs_opens_with_a_key(visit: Opener, pages: Callable[[str], Path]) -> None:
    """The rows of a group are there once it is opened, and not in the way before."""
    seen = visit(pages(BOTH), DESKTOP)
    row = seen.page.get_by_text("scenario.tariff.rise", exact=True)

    assert not row.is_visible()
    seen.page.locator("#assumptions summary", has_text="The tariff").press("Enter")
    assert row.is_visible()
