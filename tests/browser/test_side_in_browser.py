"""The page of several households in a real browser: drawn, readable by all, on a desk, a phone and in the dark."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from side_samples import households
from visits import DESKTOP, PHONE, Visit

from finsolar.report.side_by_side import side_page

Opener = Callable[..., Visit]


@pytest.fixture
def page(tmp_path: Path) -> Path:
    """Three households, one of them with a name that would like to be markup, in a folder beside their pages."""
    (tmp_path / "reports").mkdir()
    (tmp_path / "reports" / "my #1.html").write_text("<!doctype html><title>One</title>")
    several = households(
        {"name": "<b>bold</b> & a long name that has to be wrapped before it meets the edge of a phone"},
        {"years": 20, "npv": -4000.0, "cautions": ["caution: look at the loan."]},
        {"simple_payback_lasting": None, "from_sun": 0.1},
    )
    file = tmp_path / "side.html"
    links = ["reports/my%20%231.html", "b.html", "c.html"]
    file.write_text(side_page(several, links, "0" * 16), encoding="utf-8")
    return file


@pytest.mark.parametrize(("size", "shot"), [(DESKTOP, "side-desktop"), (PHONE, "side-phone")])
def test_every_chart_is_drawn_nothing_sticks_out_and_axe_finds_no_barrier(
    visit: Opener, page: Path, size: dict[str, int], shot: str
) -> None:
    """No console error, no request but the file itself; by day and night."""
    seen = visit(page, size)
    seen.read_whole(shot, charts=4)

    assert seen.page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    assert seen.page.locator("h3 bdi").first.inner_text().startswith("<b>bold</b> & a long name")
    assert "<b>bold</b>" in (seen.page.locator("#totals-beside-title ~ .plot .legendtext").first.text_content() or "")
    seen.check_that_axe_finds_no_barrier()
    seen.check_that_words_stand_out()
    seen.turn_dark()
    seen.check_that_words_stand_out()
    assert seen.complaints == []


def test_a_link_leads_to_the_page_of_the_household(visit: Opener, page: Path) -> None:
    seen = visit(page)

    seen.page.locator("h3 a").first.click()

    seen.page.wait_for_url("**/reports/my%20%231.html")
    assert seen.page.title() == "One"
