"""The page in a real browser: desktop, phone, dark and print; nothing fetched, nothing broken, readable by all."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from conftest import SCENARIOS, plain_study
from small_house import house

import finsolar
from finsolar.report.page import page as render
from finsolar.uncertainty.break_even import with_break_even
from finsolar.uncertainty.foresight import with_foresight
from finsolar.uncertainty.rises import with_rise_sweep
from finsolar.uncertainty.sunlight import with_sun_spread

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SHOTS = Path(__file__).parent / "shots"
DESKTOP, PHONE = {"width": 1200, "height": 900}, {"width": 390, "height": 844}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Debian's chromium, driven by Playwright."""
    program = shutil.which("chromium")
    if program is None:
        if os.environ.get("CI") == "true":
            pytest.fail("chromium is missing, and in CI the browser tests must run: apt-get install chromium")
        pytest.skip("chromium is not installed: apt-get install chromium")
    from playwright.sync_api import sync_playwright

    quiet = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking"]
    quiet += ["--disable-component-update", "--disable-sync", "--disable-quic"]
    with sync_playwright() as play:
        found = play.chromium.launch(executable_path=program, args=quiet)
        yield found
        found.close()


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The page of every demo scenario as a file."""
    folder = tmp_path_factory.mktemp("pages")
    found = {}
    for path in SCENARIOS:
        found[path.stem] = folder / f"{path.stem}.html"
        found[path.stem].write_text(render(plain_study(path)), encoding="utf-8")
    return found


class Visit:
    """An opened page, with all it complained of and all it asked the network for."""

    def __init__(self, browser: Browser, file: Path, size: Any, scheme: Any = "light") -> None:
        self.page: Page = browser.new_context(viewport=size, color_scheme=scheme).new_page()
        self.complaints: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda m: self.complaints.append(m.text) if m.type in {"error", "warning"} else None)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.goto(file.as_uri())

    def read_to_the_end(self) -> None:
        """Scroll through the page so that every chart is drawn."""
        self.page.evaluate(
            "async () => { for (let y = 0; y < document.body.scrollHeight; y += 400) {"
            " scrollTo(0, y); await new Promise(r => setTimeout(r, 30)); } }"
        )
        self.wait_for_charts()

    def wait_for_charts(self) -> None:
        """Wait until every chart is drawn; asked from outside, since the page forbids itself to run words."""
        deadline = time.monotonic() + 20
        while self.page.locator("[data-chart]:not([data-drawn])").count():
            assert time.monotonic() < deadline, "a chart was not drawn within 20 s"
            self.page.wait_for_timeout(50)


@pytest.mark.parametrize("name", [path.stem for path in SCENARIOS])
@pytest.mark.parametrize(
    ("device", "size", "scheme"),
    [("desktop", DESKTOP, "light"), ("phone", PHONE, "light"), ("dark", DESKTOP, "dark")],
    ids=["desktop", "phone", "dark"],
)
def test_the_page_draws_every_chart_asks_for_nothing_and_overflows_nowhere(
    browser: Browser, pages: dict[str, Path], name: str, device: str, size: Any, scheme: str
) -> None:
    """No console error, no request but the file itself, each chart with marks in it, no sideways scrolling."""
    visit = Visit(browser, pages[name], size, scheme)
    visit.read_to_the_end()

    SHOTS.mkdir(exist_ok=True)
    visit.page.evaluate("scrollTo(0, 0)")
    visit.page.screenshot(path=SHOTS / f"{name}-{device}.png", full_page=True)
    assert visit.complaints == []
    assert visit.asked == [pages[name].as_uri()]
    marks = visit.page.eval_on_selector_all(
        "[data-chart]",
        "all => all.map(one => one.querySelectorAll('.main-svg .points path, .main-svg .js-line').length)",
    )
    assert len(marks) >= 6
    assert all(count > 0 for count in marks)
    width, page_width = visit.page.evaluate("[innerWidth, document.documentElement.scrollWidth]")
    assert page_width <= width
    wider = visit.page.eval_on_selector_all(
        "main p, main h2, main h3, main figure, main ul, .plot, .plot .main-svg",
        "all => all.filter(one => one.getBoundingClientRect().right > innerWidth + 1).map(one => one.textContent)",
    )
    assert wider == []
    assert visit.page.evaluate(OVERLAPS) == []


OVERLAPS = """() => {
  const met = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1;
  return Array.from(document.querySelectorAll("[data-chart]")).filter(one => {
    const title = one.querySelector(".xtitle"), names = Array.from(one.querySelectorAll(".legendtext"));
    return title && names.some(name => met(title.getBoundingClientRect(), name.getBoundingClientRect()));
  }).map(one => one.dataset.chart);
}"""
"""The charts in which the title of the axis and a name of the legend stand one over the other."""


@pytest.mark.parametrize("name", [path.stem for path in SCENARIOS])
def test_on_a_phone_tables_of_words_fit_and_the_others_scroll_in_their_own_frame(
    browser: Browser, pages: dict[str, Path], name: str
) -> None:
    """Words wrap, captions stand on the screen, and a wide table of numbers can be reached by keyboard."""
    visit = Visit(browser, pages[name], PHONE)
    visit.page.eval_on_selector_all("details", "all => all.forEach(one => { one.open = true })")

    frames = visit.page.eval_on_selector_all(
        "main table",
        """all => all.map(one => { const frame = one.parentElement; return {
            words: one.classList.contains('words'), fits: one.offsetWidth <= frame.clientWidth + 1,
            framed: frame.classList.contains('wide') && frame.tabIndex === 0,
            caption: one.caption.getBoundingClientRect().right <= innerWidth } })""",
    )
    assert len(frames) > 8
    assert all(one["framed"] and one["caption"] for one in frames)
    assert [one["fits"] for one in frames if one["words"]] == [True] * sum(one["words"] for one in frames)
    page_width = visit.page.evaluate("document.documentElement.scrollWidth")
    assert page_width <= PHONE["width"]


def test_a_page_with_all_its_sections_draws_on_desktop_and_phone(
    browser: Browser, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """A spread by sunlight, a bound and a loan on one page: headings, links to them, no complaint, no barrier."""
    from axe_playwright_python.sync_playwright import Axe

    plans = [
        {"name": "Roof"},
        {"name": "Bought on credit", "payment": {"loan": {"rate": "5%", "years": 3}}},
        {"name": "Shifted", "system": {"operation": "time shift"}},
    ]
    weather = {"station": "greensboro", "brightness": {"mean": "100%", "sd": "5%"}}
    study = finsolar.study(house({"study": {"years": 4}, "weather": weather, "alternatives": plans}))
    file = tmp_path_factory.mktemp("full") / "full.html"
    whole = with_foresight(with_sun_spread(with_break_even(with_rise_sweep(study))))
    file.write_text(render(whole.to_json()), encoding="utf-8")

    for size in (DESKTOP, PHONE):
        visit = Visit(browser, file, size)
        visit.read_to_the_end()
        headings = visit.page.locator("h2, h3").all_inner_texts()
        for heading in ("Against perfect foresight", "How sure is this", "What would change the answer",
                        "Where it breaks even", "Borrowing"):  # fmt: skip
            assert heading in headings
        assert visit.page.locator("#sure table tbody tr").count() == 3 * len(plans)
        assert visit.complaints == [] and visit.asked == [file.as_uri()]
        assert visit.page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        visit.page.eval_on_selector_all("details", "all => all.forEach(one => { one.open = true })")
        found = Axe().run(visit.page)
        assert found.violations_count == 0, found.generate_report()


@pytest.mark.parametrize("name", [path.stem for path in SCENARIOS])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_no_barrier(browser: Browser, pages: dict[str, Path], name: str, scheme: str) -> None:
    """The accessibility rules of axe-core (Deque, WCAG 2 A and AA and best practice) hold, details opened."""
    from axe_playwright_python.sync_playwright import Axe

    visit = Visit(browser, pages[name], DESKTOP, scheme)
    visit.read_to_the_end()
    visit.page.eval_on_selector_all("details", "all => all.forEach(one => { one.open = true })")

    found = Axe().run(visit.page)

    assert found.violations_count == 0, found.generate_report()


def test_the_keyboard_alone_reaches_the_table_behind_a_chart(browser: Browser, pages: dict[str, Path]) -> None:
    """Tab comes to the disclosure, Enter opens it, and the table is there to read."""
    visit = Visit(browser, pages["juniper-lane"], DESKTOP)
    visit.page.keyboard.press("Tab")
    assert visit.page.evaluate("document.activeElement.className") == "skip"
    for _ in range(40):
        visit.page.keyboard.press("Tab")
        if visit.page.evaluate("document.activeElement.tagName") == "SUMMARY":
            break

    visit.page.keyboard.press("Enter")

    opened = visit.page.locator("details[open] table caption").first
    assert opened.inner_text().startswith("Running total at the end of each year")


def test_a_chart_shows_the_figures_of_the_study_on_hover(browser: Browser, pages: dict[str, Path]) -> None:
    """The chart is alive: the pointer brings up the running total of that year."""
    visit = Visit(browser, pages["juniper-lane"], DESKTOP)
    visit.read_to_the_end()
    visit.page.evaluate("scrollTo(0, 0)")
    box = visit.page.locator("[data-chart=running-totals] .nsewdrag").first.bounding_box()
    assert box is not None

    visit.page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    visit.page.wait_for_selector("[data-chart=running-totals] .hoverlayer text")

    text = visit.page.locator("[data-chart=running-totals] .hoverlayer").text_content() or ""
    assert "Own labour" in text
    assert "$" in text


def test_print_draws_all_charts_and_keeps_the_cautions(browser: Browser, pages: dict[str, Path]) -> None:
    """On paper: no navigation, every chart, the cautions, and a page that a PDF reader can open."""
    visit = Visit(browser, pages["juniper-lane"], DESKTOP)
    visit.page.emulate_media(media="print")
    visit.page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    visit.wait_for_charts()

    SHOTS.mkdir(exist_ok=True)
    paper = visit.page.pdf(format="A4", path=SHOTS / "juniper-lane.pdf")
    assert paper.startswith(b"%PDF")
    assert not visit.page.locator("nav").is_visible()
    visit.page.set_viewport_size({"width": 673, "height": 1000})  # A4 less its margins, at 96 dots an inch
    visit.page.wait_for_timeout(500)
    tables = visit.page.eval_on_selector_all("main table", "all => all.map(one => one.getBoundingClientRect().right)")
    assert max(tables) <= 674
    assert visit.page.locator(".cautions").is_visible()
    assert visit.complaints == []
