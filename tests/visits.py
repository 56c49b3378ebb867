"""A real browser and visits to pages in it: what every test of a page in the browser shares."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Locator

SHOTS = Path(__file__).parent / "browser" / "shots"
DESKTOP, PHONE = {"width": 1200, "height": 900}, {"width": 390, "height": 844}

_PATIENCE = 180_000
"""Milliseconds to wait for a chart: far more than it takes, since a machine may be busy with other work."""

_MARKS = ".points path, .js-line, .hm image"


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


class Visit:
    """An opened page, with all it complained of and all it asked the network for."""

    def __init__(self, browser: Browser, file: Path, size: Any = DESKTOP, scheme: Any = "light") -> None:
        self.page = browser.new_context(viewport=size, color_scheme=scheme).new_page()
        self.page.set_default_timeout(_PATIENCE)
        self.complaints: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda m: self.complaints.append(m.text) if m.type in {"error", "warning"} else None)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.file = file
        self.page.goto(file.as_uri())

    @property
    def charts(self) -> list[Locator]:
        """The places of the charts, in the order of the page."""
        return self.page.locator("[data-chart]").all()

    def come_to(self, chart: Locator) -> None:
        """Bring a chart onto the screen, and stay until the page says that it is drawn."""
        chart.scroll_into_view_if_needed()
        _drawn(chart)

    def read_to_the_end(self) -> None:
        """Come to each chart in turn."""
        for chart in self.charts:
            self.come_to(chart)

    def read_whole(self, shot: str, charts: int) -> None:
        """Read the page and hold what is true on every screen: all is drawn, nothing asked for, nothing sticks out.

        A picture of it is kept as ``shot``; ``charts`` : how many there are at least.
        """
        self.read_to_the_end()
        SHOTS.mkdir(exist_ok=True)
        self.page.evaluate("scrollTo(0, 0)")
        self.page.screenshot(path=SHOTS / f"{shot}.png", full_page=True)
        assert self.complaints == []
        assert self.asked == [self.file.as_uri()]
        self.check_that_charts_have_marks(charts)
        self.check_that_nothing_sticks_out()

    def turn_dark(self) -> None:
        """Let the system turn to its dark colours while the page is open, and wait until every chart has followed."""
        self.page.emulate_media(color_scheme="dark")
        by = time.monotonic() + _PATIENCE / 1000
        while (pale := self.page.evaluate(_NOT_IN_INK)) and time.monotonic() < by:
            self.page.wait_for_timeout(50)
        assert pale == []

    def print_all(self) -> None:
        """Turn to paper, and wait until the page says that every chart is drawn."""
        _drawn(self.charts[0])  # a page listens for the printer once its script is there
        self.page.emulate_media(media="print")
        self.page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        for chart in self.charts:
            _drawn(chart)

    def open_details(self) -> None:
        """Open every table that is folded away."""
        self.page.eval_on_selector_all("details", "all => all.forEach(one => { one.open = true })")

    def check_that_charts_have_marks(self, at_least: int, marks: str = _MARKS) -> None:
        """Each chart holds what is drawn in it; ``marks`` : how to find that, points, lines or squares if not said."""
        counts = self.page.eval_on_selector_all(
            "[data-chart]", "(all, marks) => all.map(one => one.querySelectorAll(marks).length)", marks
        )
        assert len(counts) >= at_least
        assert all(count > 0 for count in counts), counts

    def check_that_nothing_sticks_out(self) -> None:
        """No sideways scroll, no part of the text or of a chart beyond the screen, no title over a legend."""
        width, page_width = self.page.evaluate("[innerWidth, document.documentElement.scrollWidth]")
        assert page_width <= width
        wider = self.page.eval_on_selector_all(
            "main p, main h2, main h3, main figure, main ul, .plot, .plot .main-svg",
            "all => all.filter(one => one.getBoundingClientRect().right > innerWidth + 1).map(one => one.textContent)",
        )
        assert wider == []
        assert self.page.evaluate(_OVERLAPS) == []

    def check_that_axe_finds_no_barrier(self) -> None:
        """The rules of axe-core (Deque, WCAG 2 A and AA and best practice) hold, details opened; but for colours.

        Of the rows of a table that differ in words alone one is left, since most of the time goes to them; so this
        comes last of all that looks at a page.
        """
        self.open_details()
        self.page.evaluate(_THIN)
        self._axe({"rules": {"color-contrast": {"enabled": False}}}, {"role-img-alt", "th-has-data-cells"})

    def check_that_words_stand_out(self) -> None:
        """axe-core finds that all words outside the charts differ enough from the paper.

        It takes a drawn chart to cover what stands around it, and tells nothing of the words in it; so charts are
        hidden while it looks. It may leave columns undecided that stick out of their frame, and nothing else.
        """
        self.open_details()
        self.page.evaluate(_THIN)
        style = self.page.add_style_tag(content=".svg-container { display: none } .wide { overflow: visible }")
        found = self._axe({"runOnly": {"type": "rule", "values": ["color-contrast"]}}, {"color-contrast"})
        style.evaluate("one => one.remove()")
        undecided = [node["target"][0] for rule in found["incomplete"] for node in rule["nodes"]]
        outside = "places => places.filter(place => !document.querySelector(place).closest('table'))"
        assert self.page.evaluate(outside, undecided) == []

    def _axe(self, rules: dict[str, Any], at_least: set[str]) -> dict[str, Any]:
        from axe_playwright_python.sync_playwright import Axe

        # What holds is told in one node a rule: to name them all takes longer than to look.
        found = Axe().run(self.page, options={"resultTypes": ["violations", "incomplete"], **rules})
        assert found.violations_count == 0, found.generate_report()
        answer: dict[str, Any] = found.response
        assert {rule["id"] for rule in answer["passes"]} >= at_least
        return answer


def _drawn(chart: Locator) -> None:
    chart.and_(chart.page.locator("[data-drawn]")).wait_for(state="attached")


_OVERLAPS = """() => {
  const met = (a, b) => a.left < b.right - 1 && b.left < a.right - 1 && a.top < b.bottom - 1 && b.top < a.bottom - 1;
  return Array.from(document.querySelectorAll("[data-chart]")).filter(one => {
    const title = one.querySelector(".xtitle"), names = Array.from(one.querySelectorAll(".legendtext"));
    return title && names.some(name => met(title.getBoundingClientRect(), name.getBoundingClientRect()));
  }).map(one => one.dataset.chart);
}"""
"""The charts in which the title of the axis and a name of the legend stand one over the other."""

_NOT_IN_INK = """() => {
  const probe = document.createElement("i");
  probe.style.color = "var(--ink)";
  document.body.append(probe);
  const ink = getComputedStyle(probe).color;
  probe.remove();
  return Array.from(document.querySelectorAll("[data-chart]")).filter(one => {
    const ticks = Array.from(one.querySelectorAll(".xtick text, .ytick text"));
    return !ticks.length || ticks.some(tick => getComputedStyle(tick).fill !== ink);
  }).map(one => one.dataset.chart);
}"""
"""The charts whose axes are not written in the ink of the page."""

_THIN = """() => document.querySelectorAll("main tbody").forEach(body => {
  const met = {};
  Array.from(body.rows).forEach(row => {
    const markup = row.outerHTML.replace(/>[^<]+</g, ">words<");
    met[markup] = (met[markup] || 0) + 1;
    if (met[markup] > 1) row.remove();
  });
})"""
"""Leave one row of each markup in each table; no style goes by the place of a row."""


@pytest.fixture
def visit(browser: Browser) -> Iterator[Callable[..., Visit]]:
    """Open pages for one test; they are closed after it, since an open page goes on asking for the processor."""
    opened: list[Visit] = []

    def to(file: Path, size: Any = DESKTOP, scheme: str = "light") -> Visit:
        opened.append(Visit(browser, file, size, scheme))
        return opened[-1]

    yield to
    for one in opened:
        one.page.context.close()
