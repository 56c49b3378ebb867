"""The sliders of the page in a real browser: what they tell is what the engine says at that value."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import SCENARIOS, demo_study, plain_study
from playwright.sync_api import Browser
from small_house import house
from visits import DESKTOP, PHONE, SHOTS, Visit

import finsolar
from finsolar.report import other_numbers
from finsolar.report.page import page as render
from finsolar.report.words import amounts, answer
from finsolar.results import Study
from finsolar.study import study
from finsolar.uncertainty.inputs import input_of
from finsolar.uncertainty.other_numbers import with_other_numbers
from finsolar.uncertainty.rises import every_rise

Opener = Callable[..., Visit]
Plain = dict[str, Any]
EVIL = "</script><img src=x onerror=alert(1)>{cost} $1 $&"


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Path]:
    """The page of a demo scenario as a file, written when it is first asked for."""
    folder = tmp_path_factory.mktemp("pages")

    def page_of(name: str) -> Path:
        file = folder / f"{name}.html"
        if not file.exists():
            file.write_text(render(plain_study(path_of(name))), encoding="utf-8")
        return file

    return page_of


def path_of(name: str) -> Path:
    [path] = (path for path in SCENARIOS if path.stem == name)
    return path


def at(base: Study, rise: float, share: float, rate: float) -> Study:
    """The engine at other numbers, asked as `finsolar vary` asks it."""
    chosen: dict[str, Any] = dict(every_rise(base.scenario, rise))  # type: ignore[arg-type]
    chosen |= input_of(base, "purchase price").chosen(share) | input_of(base, "study.discount_rate").chosen(rate)
    return study(base.scenario, chosen, reuse=base)


def sentences(base: Study, cases: Study, place: int) -> list[str]:
    """What is to be said of an alternative."""
    result, plain, currency = cases.results[place], base.to_json(), base.scenario.currency
    figures, npv = result.appraisal, float(result.appraisal.npv)
    lasting, first = (
        None if years != years else years
        for years in (float(figures.simple_payback_lasting), float(figures.simple_payback))
    )
    first_sentence = answer.OPENING.format(
        name=result.name,
        cost=amounts.money(float(result.net_cost), currency),
        payments=answer.payments(plain["alternatives"][place], currency),
        saving=answer.saving(float(result.first_year_saving), currency),
        payback=answer.payback(lasting, first, base.scenario.study.years),
    )
    settings = plain["settings"] | {"discount_rate": float(cases.discount_rate)}
    return [f"{first_sentence}.", f"{answer.worth(plain | {'settings': settings}, npv)}."]


def rows(cases: Study) -> list[list[str]]:
    """What is to stand in the table."""
    currency, found = cases.scenario.currency, []
    for result in cases.results:
        sums = (result.net_cost, result.first_year_saving, result.appraisal.npv)
        years, irr = (
            None if number != number else number
            for number in (float(result.appraisal.simple_payback_lasting), float(result.appraisal.irr))
        )
        told = [amounts.figure(years, "years", currency), amounts.figure(irr, "share", currency)]
        found.append([result.name, *(amounts.money(float(amount), currency) for amount in sums), *told])
    return found


def shows(seen: Visit, base: Study, cases: Study, place: int) -> None:
    """Sentences, table, chart, the words around it and the table behind it are those of the engine."""
    page, currency = seen.page, base.scenario.currency
    assert [page.locator(name).text_content() for name in ("#try-answer", "#try-worth")] == sentences(
        base, cases, place
    )
    table = "all => all.map(row => Array.from(row.cells, cell => cell.textContent))"
    assert page.eval_on_selector_all("#try-table tbody tr", table) == rows(cases)
    drawn = page.evaluate("document.querySelector('[data-chart=try-running]').data.map(l => [l.y, l.line.width])")
    for i, (result, (totals, width)) in enumerate(zip(cases.results, drawn, strict=True)):
        assert totals == pytest.approx(result.cash.running.tolist(), abs=0.0151)
        assert width == (4 if i == place else 2)
    totals = [result.cash.running.tolist() for result in cases.results]
    behind = page.eval_on_selector_all("#try figure tbody tr", table)
    assert behind == [[str(k), *(amounts.money(row[k], currency) for row in totals)] for k in range(len(totals[0]))]
    highest = max(range(len(totals)), key=lambda i: totals[i][-1])
    end = amounts.money(totals[highest][-1], currency)
    reading = page.locator("#try .reading").text_content() or ""
    assert f"“{cases.results[highest].name}” ends highest, at {end} after" in reading
    alt = page.locator("#try-running-alt").text_content() or ""
    for result, row in zip(cases.results, totals, strict=True):
        start, last = (amounts.money(row[k], currency) for k in (0, -1))
        assert f"{result.name}: starts at {start}, ends at {last}." in alt


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
@pytest.mark.parametrize("name", ["heron-landing", "tamarack-row"])
def test_each_slider_moved_by_keyboard_tells_what_the_engine_says(
    visit: Opener, pages: Callable[[str], Path], name: str, size: Any
) -> None:
    """One after the other, with loans and with a lease; then another alternative; then back to where it began."""
    base, seen = demo_study(path_of(name)), visit(pages(name), size)
    best = other_numbers.best_place(plain_study(path_of(name)))
    seen.come_to(seen.page.locator("[data-chart=try-running]"))
    press = seen.page.keyboard.press
    shows(seen, base, base, best)

    seen.page.locator("#try-rise").focus()
    for _ in range(3):
        press("ArrowRight")
    shows(seen, base, at(base, 0.06, 1.0, 0.05), best)
    assert seen.page.locator("output[for=try-rise]").inner_text() == "6 % a year"
    assert seen.page.locator("#try-rise").get_attribute("aria-valuetext") == "6 % a year"
    press("Tab")
    press("Home")
    press("ArrowRight")
    shows(seen, base, at(base, 0.06, 0.7, 0.05), best)
    press("Tab")
    press("ArrowLeft")
    shows(seen, base, at(base, 0.06, 0.7, 0.04), best)
    seen.page.locator("#try-rise").focus()
    press("Home")
    seen.page.locator("#try-plan").focus()
    press("End")
    shows(seen, base, at(base, -0.02, 0.7, 0.04), len(base.results) - 1)

    SHOTS.mkdir(exist_ok=True)
    seen.page.locator("#try").screenshot(path=SHOTS / f"{name}-try-{size['width']}.png")
    seen.check_that_nothing_sticks_out()
    seen.page.locator("#try-back").focus()
    press("Enter")
    shows(seen, base, base, len(base.results) - 1)
    assert seen.complaints == [] and seen.asked == [seen.file.as_uri()]


def test_hostile_names_are_shown_as_text_and_nobody_is_kept_out(visit: Opener, tmp_path: Path) -> None:
    """In sentence, choice, table and chart, on a phone, by day and by night."""
    plans = [{"name": f"Roof {EVIL}"}, {"name": f"Shifted {EVIL}", "system": {"operation": "time shift"}}]
    base = finsolar.study(house({"study": {"years": 5}, "alternatives": plans}))
    file = tmp_path / "hostile.html"
    file.write_text(render(with_other_numbers(base).to_json()), encoding="utf-8")

    seen = visit(file, PHONE)
    seen.come_to(seen.page.locator("[data-chart=try-running]"))
    seen.page.locator("#try-price").focus()
    seen.page.keyboard.press("End")

    place = other_numbers.best_place(base.to_json())
    shows(seen, base, at(base, 0.02, 1.4, 0.05), place)
    assert seen.page.locator("#try-plan option").all_text_contents() == [plan["name"] for plan in plans]
    assert seen.page.locator("#try img").count() == 0
    assert seen.complaints == [] and seen.asked == [file.as_uri()]
    seen.check_that_nothing_sticks_out()
    seen.check_that_words_stand_out()
    seen.page.emulate_media(color_scheme="dark")
    seen.check_that_words_stand_out()
    seen.check_that_axe_finds_no_barrier()


def test_a_change_is_told_to_those_who_do_not_see_it(visit: Opener, pages: Callable[[str], Path]) -> None:
    """The sentences are a polite live region; controls have names."""
    seen = visit(pages("tamarack-row"))

    assert seen.page.locator("[aria-live=polite]:has(#try-answer):has(#try-worth)").count() == 1
    for name in ("The answer for", "The price of energy rises by", "Purchase price", "Discount rate, nominal"):
        assert seen.page.get_by_label(name, exact=True).count() == 1


def test_paper_has_no_sliders_and_a_chart_moved_before_it_was_drawn_is_right(
    visit: Opener, pages: Callable[[str], Path]
) -> None:
    """Moved as soon as the page is open, far from the chart; then printed."""
    base, seen = demo_study(path_of("tamarack-row")), visit(pages("tamarack-row"))
    seen.page.locator("#try-rate").focus()
    seen.page.keyboard.press("End")
    seen.come_to(seen.page.locator("[data-chart=try-running]"))
    shows(seen, base, at(base, 0.03, 1.0, 0.09), other_numbers.best_place(plain_study(path_of("tamarack-row"))))

    seen.page.emulate_media(media="print")
    assert not seen.page.locator("#try").is_visible()


def test_without_script_a_line_says_why_it_is_empty(browser: Browser, pages: Callable[[str], Path]) -> None:
    """No control that does nothing."""
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(pages("tamarack-row").as_uri())

    assert page.locator("#try noscript").inner_text().startswith("Trying other numbers needs the page’s script")
    assert not page.locator("#try input").first.is_visible() and not page.locator("#try table").first.is_visible()
    context.close()


def test_who_asks_for_no_motion_gets_none(browser: Browser, pages: Callable[[str], Path]) -> None:
    """Lines stand at once where they belong."""
    for wish, milliseconds in (("reduce", 0), ("no-preference", 200)):
        context = browser.new_context(reduced_motion=wish)  # type: ignore[arg-type]
        page = context.new_page()
        page.goto(pages("tamarack-row").as_uri())
        page.locator("[data-chart=try-running]").scroll_into_view_if_needed()
        page.locator("[data-chart=try-running][data-drawn]").wait_for(state="attached", timeout=180_000)
        page.locator("#try-rise").press("ArrowRight")
        duration = "document.querySelector('[data-chart=try-running]').layout.transition.duration"
        assert page.evaluate(duration) == milliseconds
        context.close()
