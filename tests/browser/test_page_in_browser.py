"""The page in a real browser: desktop, phone, dark and print; nothing fetched, nothing broken, readable by all."""

from __future__ import annotations

import copy
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import ROOT, SCENARIOS, plain_study
from small_house import house
from visits import DESKTOP, PHONE, SHOTS, Visit

import finsolar
from finsolar.report.page import page as render
from finsolar.report.words import off_grid
from finsolar.uncertainty.break_even import with_break_even
from finsolar.uncertainty.foresight import with_foresight
from finsolar.uncertainty.rises import with_rise_sweep
from finsolar.uncertainty.sunlight import with_sun_spread

Opener = Callable[..., Visit]


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """The page of a demo scenario as a file, written when it is first asked for."""
    folder = tmp_path_factory.mktemp("pages")

    def page_of(name: str) -> Path:
        file = folder / f"{name}.html"
        if not file.exists():
            [path] = (path for path in SCENARIOS if path.stem == name)
            file.write_text(render(plain_study(path)), encoding="utf-8")
        return file

    return page_of


every_page = pytest.mark.parametrize("name", [path.stem for path in SCENARIOS])


@every_page
def test_on_a_desk_every_chart_is_drawn_and_axe_finds_no_barrier_by_day_or_night(
    visit: Opener, pages: Callable[[str], Path], name: str
) -> None:
    """No console error, no request but the file itself, each chart with marks in it, no barrier for anyone.

    When the system turns dark the open page follows, and only the colours change.
    """
    seen = visit(pages(name), DESKTOP)
    seen.read_whole(f"{name}-desktop", charts=6)

    seen.check_that_axe_finds_no_barrier()
    seen.check_that_words_stand_out()
    seen.turn_dark()
    seen.check_that_words_stand_out()
    assert seen.complaints == []


def test_opened_in_the_dark_every_chart_is_drawn_in_its_colours(visit: Opener, pages: Callable[[str], Path]) -> None:
    """Not only where it is turned dark later."""
    seen = visit(pages("juniper-lane"), DESKTOP, "dark")
    seen.read_whole("juniper-lane-dark", charts=6)

    seen.turn_dark()


@every_page
def test_on_a_phone_every_chart_is_drawn_and_tables_scroll_in_their_own_frame(
    visit: Opener, pages: Callable[[str], Path], name: str
) -> None:
    """Words wrap, captions stand on the screen, and a wide table of numbers can be reached by keyboard."""
    seen = visit(pages(name), PHONE)
    seen.read_whole(f"{name}-phone", charts=6)
    seen.open_details()

    frames = seen.page.eval_on_selector_all(
        "main table",
        """all => all.map(one => { const frame = one.parentElement; return {
            words: one.classList.contains('words'), fits: one.offsetWidth <= frame.clientWidth + 1,
            framed: frame.classList.contains('wide') && frame.tabIndex === 0,
            caption: one.caption.getBoundingClientRect().right <= innerWidth } })""",
    )
    assert len(frames) > 8
    assert all(one["framed"] and one["caption"] for one in frames)
    assert [one["fits"] for one in frames if one["words"]] == [True] * sum(one["words"] for one in frames)
    page_width = seen.page.evaluate("document.documentElement.scrollWidth")
    assert page_width <= PHONE["width"]


def test_a_page_with_all_its_sections_draws_on_desktop_and_phone(visit: Opener, tmp_path: Path) -> None:
    """A spread by sunlight, a bound and a loan on one page: headings, links to them, no complaint, no barrier."""
    plans = [
        {"name": "Roof"},
        {"name": "Bought on credit", "payment": {"loan": {"rate": "5%", "years": 3}}},
        {"name": "Shifted", "system": {"operation": "time shift"}},
    ]
    weather = {"station": "greensboro", "brightness": {"mean": "100%", "sd": "5%"}}
    study = finsolar.study(house({"study": {"years": 4}, "weather": weather, "alternatives": plans}))
    file = tmp_path / "full.html"
    whole = with_foresight(with_sun_spread(with_break_even(with_rise_sweep(study))))
    file.write_text(render(whole.to_json()), encoding="utf-8")

    for size in (DESKTOP, PHONE):
        seen = visit(file, size)
        seen.read_to_the_end()
        headings = seen.page.locator("h2, h3").all_inner_texts()
        for heading in ("Against perfect foresight", "How sure is this", "What would change the answer",
                        "Where it breaks even", "Borrowing"):  # fmt: skip
            assert heading in headings
        assert seen.page.locator("#sure table tbody tr").count() == 3 * len(plans)
        assert seen.complaints == [] and seen.asked == [file.as_uri()]
        assert seen.page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        seen.check_that_axe_finds_no_barrier()
    seen.page.set_viewport_size(DESKTOP)
    seen.check_that_words_stand_out()


def test_the_keyboard_alone_reaches_the_table_behind_a_chart(visit: Opener, pages: Callable[[str], Path]) -> None:
    """Tab comes to the disclosure, Enter opens it, and the table is there to read."""
    seen = visit(pages("juniper-lane"))
    seen.page.keyboard.press("Tab")
    assert seen.page.evaluate("document.activeElement.className") == "skip"
    for _ in range(40):
        seen.page.keyboard.press("Tab")
        if seen.page.evaluate("document.activeElement.tagName") == "SUMMARY":
            break

    seen.page.keyboard.press("Enter")

    opened = seen.page.locator("details[open] table caption").first
    assert opened.inner_text().startswith("Running total at the end of each year")


def test_no_two_labels_of_an_axis_are_alike_where_shares_are_small(visit: Opener, tmp_path: Path) -> None:
    """Up to 2 % of the load without supply, the ticks stand half a per cent apart."""
    plain = copy.deepcopy(plain_study(ROOT / "scenarios" / "kelp-point.yaml"))
    sizes = off_grid.lead(plain)["off_grid"]["sizes"]
    most = max(map(max, sizes["alone"]))
    sizes["alone"] = [[0.02 * share / most for share in row] for row in sizes["alone"]]
    file = tmp_path / "small.html"
    file.write_text(render(plain), encoding="utf-8")

    seen = visit(file)
    seen.read_to_the_end()

    labels = seen.page.locator('[data-chart="off-grid-unserved"] .ytick text').all_text_contents()
    assert len(labels) > 3 and len(set(labels)) == len(labels)


def test_a_chart_shows_the_figures_of_the_study_on_hover(visit: Opener, pages: Callable[[str], Path]) -> None:
    """The chart is alive: the pointer brings up the running total of that year."""
    seen = visit(pages("juniper-lane"))
    seen.come_to(seen.page.locator("[data-chart=running-totals]"))
    box = seen.page.locator("[data-chart=running-totals] .nsewdrag").first.bounding_box()
    assert box is not None

    seen.page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    seen.page.wait_for_selector("[data-chart=running-totals] .hoverlayer text")

    text = seen.page.locator("[data-chart=running-totals] .hoverlayer").text_content() or ""
    assert "Own labour" in text
    assert "$" in text


def test_print_draws_all_charts_and_keeps_the_cautions(visit: Opener, pages: Callable[[str], Path]) -> None:
    """On paper: no navigation, every chart, the cautions, and a page that a PDF reader can open."""
    seen = visit(pages("juniper-lane"))
    seen.print_all()

    SHOTS.mkdir(exist_ok=True)
    paper = seen.page.pdf(format="A4", path=SHOTS / "juniper-lane.pdf")
    assert paper.startswith(b"%PDF")
    assert not seen.page.locator("nav").is_visible()
    seen.page.set_viewport_size({"width": 673, "height": 1000})  # A4 less its margins, at 96 dots an inch
    seen.page.wait_for_timeout(500)
    tables = seen.page.eval_on_selector_all("main table", "all => all.map(one => one.getBoundingClientRect().right)")
    assert max(tables) <= 674
    cautions = seen.page.locator(".cautions").all()
    assert len(cautions) == 2 and all(one.is_visible() for one in cautions)  # on wiring and law; on outages
    assert seen.complaints == []
