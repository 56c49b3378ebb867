"""The page of a number that is moved in a real browser: its curves and its maps, on a desk, a phone and paper."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from small_house import house
from visits import DESKTOP, PHONE, Visit

import finsolar
from finsolar.report.varied import varied_as_plain
from finsolar.report.varied_page import varied_page
from finsolar.report.words.fixed.page import TOO_OLD
from finsolar.uncertainty.inputs import input_of
from finsolar.uncertainty.vary import axis, vary

Opener = Callable[..., Visit]

PLANS = [
    {"name": "Own labour"},
    {"name": "A firm whose name goes on for rather longer than a phone is wide", "costs": [
        {"item": "Fitting", "category": "labour", "cost": 4200}]},
]  # fmt: skip
MOVED = {
    "curve": [("tariff.rise", "0%", "20%", 9)],
    "map": [("price of energy", "20%", "300%", 8), ("purchase price", "50%", "150%", 7)],
}
CHARTS = {"curve": 4, "map": 2}
MARKS = {
    "curve": [".js-line", ".points path"],
    "map": [".contourlayer .hm image", ".contourlines path", ".points path"],
}
"""What each chart must hold: lines with points on them; a coloured field, lines over it, the point of today."""


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A page with curves of both alternatives, and one with maps of the better; each crosses the break-even."""
    folder = tmp_path_factory.mktemp("varied")
    base = finsolar.study(house({"study": {"years": 10}, "alternatives": PLANS}))
    found = {}
    for name, moved in MOVED.items():
        axes = [axis(input_of(base, path), low, high, steps) for path, low, high, steps in moved]
        found[name] = folder / f"{name}.html"
        found[name].write_text(varied_page(varied_as_plain(vary(base, axes))), encoding="utf-8")
    return found


both = pytest.mark.parametrize("name", list(MOVED))


@both
def test_on_a_desk_every_chart_is_drawn_and_axe_finds_no_barrier_by_day_or_night(
    visit: Opener, pages: dict[str, Path], name: str
) -> None:
    """No console error, no request but the file itself, each chart with marks in it, no barrier for anyone.

    When the system turns dark the open page follows, and only the colours change.
    """
    seen = visit(pages[name])
    seen.read_whole(f"varied-{name}-desktop", CHARTS[name])

    assert len(seen.charts) == CHARTS[name]
    for marks in MARKS[name]:
        seen.check_that_charts_have_marks(CHARTS[name], marks)
    seen.check_that_axe_finds_no_barrier()
    seen.check_that_words_stand_out()
    seen.turn_dark()
    seen.check_that_words_stand_out()


@both
def test_opened_in_the_dark_every_chart_is_drawn_in_its_colours(
    visit: Opener, pages: dict[str, Path], name: str
) -> None:
    """Not only where it is turned dark later."""
    seen = visit(pages[name], DESKTOP, "dark")
    seen.read_whole(f"varied-{name}-dark", CHARTS[name])

    seen.turn_dark()


@both
def test_on_a_phone_nothing_sticks_out_and_tables_scroll_in_their_own_frame(
    visit: Opener, pages: dict[str, Path], name: str
) -> None:
    """A long name and wide tables cost no sideways scroll; each table can be reached by keyboard."""
    seen = visit(pages[name], PHONE)
    seen.read_whole(f"varied-{name}-phone", CHARTS[name])
    seen.open_details()

    frames = seen.page.eval_on_selector_all(
        "main table",
        """all => all.map(one => { const frame = one.parentElement;
            return frame.classList.contains('wide') && frame.tabIndex === 0 &&
                one.caption.getBoundingClientRect().right <= innerWidth })""",
    )
    assert frames == [True] * 4
    assert seen.page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


@both
def test_print_draws_all_charts_and_keeps_the_cautions(visit: Opener, pages: dict[str, Path], name: str) -> None:
    """On paper every chart is there, the cautions too, and nothing runs over the edge."""
    seen = visit(pages[name])
    seen.print_all()

    assert seen.page.pdf(format="A4").startswith(b"%PDF")
    seen.check_that_charts_have_marks(CHARTS[name])
    assert seen.page.locator(".cautions").is_visible()
    seen.page.set_viewport_size({"width": 673, "height": 1000})  # A4 less its margins, at 96 dots an inch
    parts = "main table, .plot"
    right = seen.page.eval_on_selector_all(parts, "all => all.map(one => one.getBoundingClientRect().right)")
    assert max(right) <= 674
    assert seen.complaints == []


def test_a_browser_that_cannot_unpack_says_so_in_the_place_of_each_chart(visit: Opener, pages: dict[str, Path]) -> None:
    """In the words of the page."""
    seen = visit(pages["curve"])
    seen.page.add_init_script("delete window.DecompressionStream")
    seen.page.reload()
    seen.page.wait_for_function("[...document.querySelectorAll('[data-chart]')].every(one => one.textContent)")

    assert [chart.text_content() for chart in seen.charts] == [TOO_OLD] * CHARTS["curve"]
