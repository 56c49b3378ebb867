"""What the page looks up at other numbers: the study's plain values to the cent, and sentences that are its own."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import ROOT, SCENARIOS, demo_page, demo_study, plain_study
from hypothesis import given
from hypothesis import strategies as st
from small_house import house

import finsolar
from finsolar.report import other_numbers
from finsolar.report.page import page
from finsolar.report.table import as_csv
from finsolar.report.words import amounts, answer
from finsolar.uncertainty.other_numbers import FIGURES, with_other_numbers

Plain = dict[str, Any]
EVIL = "</script><img src=x onerror=alert(1)>{cost} $1 $&"


def looked_up(text: str) -> Plain:
    """What a page holds to look up."""
    found = re.search(r'<script type="application/json" id="try-data">(.*?)</script>', text, re.S)
    assert found is not None
    data: Plain = json.loads(found[1])
    return data


def held_at(grid: Any, place: tuple[int, ...]) -> Any:
    for stop in place:
        grid = grid[min(stop, len(grid) - 1)]
    return grid


def own_place(plain: Plain) -> tuple[int, ...]:
    return tuple(plain["other_numbers"][key]["own"] for key in other_numbers.SLIDERS)


def shape_of(grid: Any) -> list[int]:
    return [len(grid), *shape_of(grid[0])] if isinstance(grid, list) else []


def test_the_plain_values_at_the_own_place_are_those_of_the_study(demo: Path) -> None:
    """For every demo and alternative, unrounded; what cannot be is null in both."""
    plain = plain_study(demo)
    found, place = plain["other_numbers"], own_place(plain)

    assert found["purchase_price"]["values"][place[1]] == 1.0
    assert found["discount_rate"]["nominal"][place[2]] == pytest.approx(plain["settings"]["discount_rate"], abs=1e-12)
    assert [one["name"] for one in found["alternatives"]] == [plan["name"] for plan in plain["alternatives"]]
    for one, plan in zip(found["alternatives"], plain["alternatives"], strict=True):
        m = plan["metrics"]
        own = {"net_cost": plan["costs"]["net"], "first_year_saving": plan["bills"]["first_year_saving"]}
        own |= {name: m[name] for name in ("npv", "simple_payback", "simple_payback_lasting", "irr")}
        assert set(own) == set(FIGURES)
        for name, expected in own.items():
            at = held_at(one[name], place)
            assert at is None if expected is None else at == pytest.approx(expected, abs=1e-9)
        assert held_at(one["running_total"], place) == pytest.approx(plan["cash_flow"]["running_total"], abs=1e-9)


def test_the_page_looks_up_the_same_to_the_cent(demo: Path) -> None:
    """Every combination: amounts to the cent, paybacks and rates of return in the words that a table has for them."""
    plain = plain_study(demo)
    currency, years = plain["settings"]["currency"], plain["settings"]["years"]
    data = looked_up(demo_page(demo))
    names = {"cost": "net_cost", "saving": "first_year_saving", "npv": "npv", "running": "running_total"}

    for one, plan in zip(plain["other_numbers"]["alternatives"], data["plans"], strict=True):
        for short, name in names.items():
            assert shape_of(plan[short]) == shape_of(one[name])
            kept, exact = (np.array(grid, dtype=float) for grid in (plan[short], one[name]))
            assert np.abs(kept - exact).max() <= 0.015 and np.array_equal(np.round(kept, 2), kept)
        rises, prices = len(one["irr"]), len(one["irr"][0])
        for place in np.ndindex(rises, prices, 1):
            text = data["texts"]
            lasting, first = (held_at(one[name], place) for name in ("simple_payback_lasting", "simple_payback"))
            assert text[held_at(plan["irr"], place)] == amounts.figure(held_at(one["irr"], place), "share", currency)
            assert text[held_at(plan["back"], place)] == amounts.figure(lasting, "years", currency)
            assert text[held_at(plan["payback"], place)] == answer.payback(lasting, first, years)


def test_the_page_tells_the_sentences_of_the_short_answer(juniper: Plain) -> None:
    """The patterns that the page fills are those that the opening sentence is made of."""
    bare = juniper | {"uncertainty": None}
    data = looked_up(page(bare))
    best, place = data["plans"][0], own_place(bare)

    filled = data["answer"].format(
        name=best["name"],
        cost=amounts.money(held_at(best["cost"], place), "USD"),
        payments=best["payments"],
        saving=data["saving"][1].format(amount=amounts.money(held_at(best["saving"], place), "USD")),
        payback=data["texts"][held_at(best["payback"], place)],
    )
    assert filled == answer.opening_sentence(bare)
    npv = held_at(best["npv"], place)
    worth = data["worth"].format(years=data["years"], amount=amounts.money(npv, "USD"), side=data["side"][1],
                                 rate=data["rates"][place[2]])  # fmt: skip
    assert worth == answer.short_answer(bare)[1]


@pytest.mark.parametrize("currency", ["USD", "EUR", "CHF"])
def test_the_page_is_told_how_money_is_written(juniper: Plain, currency: str) -> None:
    """The sign before the amount, the minus before the sign."""
    data = other_numbers.page_data(juniper | {"settings": juniper["settings"] | {"currency": currency}})

    assert f"{data['minus']}{data['sign']}80" == amounts.money(-80, currency)
    assert f"{data['sign']}80" == amounts.money(80, currency)


@given(
    st.floats(-1e9, 1e9) | st.integers(-(10**6), 10**6).map(lambda n: n + 0.4951) | st.sampled_from([0.4999, -2.4951])
)
def test_an_amount_to_the_cent_rounds_to_the_whole_that_it_does_itself(amount: float) -> None:
    """1,234.4951 is 1,234 to a reader; 1,234.50 would be 1,235."""
    kept = other_numbers.cents(amount)

    assert kept == round(kept, 2) and abs(kept - amount) <= 0.0151
    assert amounts.money(kept, "USD") == amounts.money(amount, "USD")


def test_the_stops_are_told_in_words(juniper: Plain) -> None:
    """As many words as stops; the scenario's own is marked, in each slider once."""
    for slider, key in zip(other_numbers.controls(juniper), other_numbers.SLIDERS, strict=True):
        numbers = juniper["other_numbers"][key]["values"]
        assert len(slider["stops"]) == len(set(slider["stops"])) == len(numbers)
        assert [k for k, told in enumerate(slider["stops"]) if told.endswith(", as in the scenario")] == [slider["own"]]
    rise, price, rate = other_numbers.controls(juniper)
    assert (rise["stops"][0], rise["stops"][5]) == ("−2 % a year", "3 % a year, as in the scenario")
    assert (price["stops"][0], price["stops"][4]) == (
        "60 % of what is stated",
        "100 % of what is stated, as in the scenario",
    )
    assert (rate["label"], rate["stops"][0]) == ("Discount rate, nominal", "1 % a year")


def test_own_numbers_that_are_not_round_or_not_single_are_told(juniper: Plain) -> None:
    """Digits as stated, two at most; a rise that differs is said to; a real rate is called one."""
    found = juniper["other_numbers"]
    changed = {
        "price_rise": {"values": [None, -0.02], "own": 0},
        "purchase_price": {"values": [None], "own": 0},
        "discount_rate": {"values": [0.0, 0.0275, 0.035], "own": 1, "real": True, "nominal": [0.0, 0.05, 0.06]},
    }

    rise, rate = other_numbers.controls(juniper | {"other_numbers": found | changed})

    assert rise["stops"] == ["not all alike, or not in every year, as in the scenario", "−2 % a year"]
    assert rate["label"] == "Discount rate, real: above inflation"
    assert rate["stops"] == ["0 % a year", "2.75 % a year, as in the scenario", "3.5 % a year"]


def test_the_page_grows_by_less_than_600_kb(demo: Path) -> None:
    """For three alternatives; each more by a third of that."""
    plain = plain_study(demo)
    with_it, without = (len(text.encode()) for text in (demo_page(demo), page(plain | {"other_numbers": None})))

    assert 20_000 < with_it - without < 200_000 * len(plain["alternatives"])


def test_without_other_numbers_there_is_no_such_section() -> None:
    """A study alone: null in JSON; no section, no link to it, no script of its own."""
    plain = finsolar.study(house({"study": {"years": 3}})).to_json()
    text = page(plain)

    assert plain["other_numbers"] is None
    assert "try-" not in text.partition("<body>")[2].partition('<script type="application/json" id="chart-data"')[0]
    assert "try-data" not in text and 'href="#try"' not in text


def test_the_section_follows_the_short_answer_and_waits_for_its_script(juniper: Plain) -> None:
    """Hidden until the script is there, with a line for those who have none; each control has its label."""
    text = page(juniper)
    [section] = re.findall(r'<section id="try".*?</section>', text, re.S)

    assert text.index('<section id="answer"') < text.index('<section id="try"') < text.index('<section id="costs"')
    assert text[text.index('<section id="answer"') : text.index('<section id="try"')].count("<section") == 1
    assert '<div id="try-live" hidden>' in section and "<noscript><p>" in section
    controls = re.findall(r'<(?:input type="range"|select) id="(.*?)"', section)
    assert controls == ["try-plan", *other_numbers.SLIDERS.values()]
    for name in controls:
        assert section.count(f'<label for="{name}">') == 1
    for name in other_numbers.SLIDERS.values():
        assert section.count(f'<output for="{name}">') == 1


def test_its_chart_is_that_of_the_running_totals_with_the_best_one_drawn_heavier(demo: Path) -> None:
    """To the cent, as the study has them; the reading names the highest end."""
    plain = plain_study(demo)
    chart = other_numbers.running_chart(plain)
    assert chart is not None

    for i, (trace, plan) in enumerate(zip(chart.data, plain["alternatives"], strict=True)):
        assert trace["y"] == pytest.approx(plan["cash_flow"]["running_total"], abs=0.005)
        assert (trace["line"]["width"] == 4) == (trace["opacity"] == 1) == (i == other_numbers.best_place(plain))
    top = max(plain["alternatives"], key=lambda plan: plan["cash_flow"]["running_total"][-1])
    end = amounts.money(top["cash_flow"]["running_total"][-1], plain["settings"]["currency"])
    assert f"“{top['name']}” ends highest, at {end} after" in chart.reading
    assert len(chart.table.rows) == plain["settings"]["years"] + 1


def test_a_single_alternative_needs_no_choice() -> None:
    """Nothing to choose among."""
    study = with_other_numbers(finsolar.study(house({"study": {"years": 3}})))
    [section] = re.findall(r'<section id="try".*?</section>', page(study.to_json()), re.S)

    assert "<select" not in section and section.count('<input type="range"') == 3


def renamed(found: Any, names: dict[str, str]) -> Any:
    """The same plain values with other names wherever those stand."""
    if isinstance(found, dict):
        return {names.get(key, key): renamed(part, names) for key, part in found.items()}
    if isinstance(found, list):
        return [renamed(part, names) for part in found]
    return names.get(found, found) if isinstance(found, str) else found


def test_hostile_names_are_data(juniper: Plain) -> None:
    """No name ends the data, or is markup in a choice or a table."""
    names = {plan["name"]: f"{plan['name']}{EVIL}" for plan in juniper["alternatives"]}
    text = page(renamed(juniper, names))

    assert [plan["name"] for plan in looked_up(text)["plans"]] == list(names.values())
    assert "<img" not in text
    assert text.count("<script") == page(juniper).count("<script")


def test_the_grids_stand_in_json_and_not_in_csv(juniper: Plain) -> None:
    """They would be most of its rows."""
    assert not [row for row in as_csv(juniper).splitlines() if "other_numbers" in row or "purchase_price" in row]
    assert math.prod(shape_of(juniper["other_numbers"]["alternatives"][0]["npv"])) == 13 * 9 * 9


def test_the_study_in_arrays_is_what_json_holds() -> None:
    """The plain values are those of the engine."""
    path = ROOT / "scenarios" / "heron-landing.yaml"
    assert path in SCENARIOS
    numbers = with_other_numbers(demo_study(path)).other_numbers
    assert numbers is not None

    for course, one in zip(numbers.courses, plain_study(path)["other_numbers"]["alternatives"], strict=True):
        for name, grid in course.figures.items():
            assert np.allclose(np.array(one[name], dtype=float), grid, rtol=0, atol=1e-9, equal_nan=True)
