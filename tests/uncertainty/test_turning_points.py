"""Turning points: put back into the engine each one gives zero; the rest have reasons; page, JSON and CSV tell them."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from small_house import house

import finsolar
from finsolar.report.page import page
from finsolar.report.table import as_csv
from finsolar.report.words import amounts, changes_told
from finsolar.results import Study
from finsolar.study import study
from finsolar.uncertainty.break_even import RISES, with_break_even
from finsolar.uncertainty.rises import every_rise, with_rise_sweep

LOAN = {"loan": {"rate": "5%", "years": 6, "fee": "1%", "share": "80%"}}
PLANS: list[dict[str, Any]] = [
    {"name": "Roof"},
    {"name": "Firm", "costs": [{"item": "Crew", "category": "labour", "each": 110, "quantity": 30, "sales_tax": "2%"}]},
    {"name": "Firm, borrowed", "like": "Firm", "payment": LOAN},
    {"name": "Off grid", "system": {"operation": "off grid"}, "generator": {"kw": 3, "fuel_price": 1.5, "rise": "4%"}},
]
# A credit that the tax owed limits, carried on; a rebate below which no basis is left; something left at the end.
CREDITED = {
    "study": {"in_service": "2025-06-01", "installation_completed": "2025-06-01", "inflation": "2%"},
    "household": {"income_tax": 600, "owner_occupied": True},
    "costs": [
        {"item": "Modules", "category": "modules", "cost": 5500, "residual": "10%"},
        {"item": "Battery", "category": "battery", "cost": 2500},
    ],
    "rebates": [{"item": "Town rebate", "amount": 900}],
}


def turned(changes: dict[str, Any], plans: list[dict[str, Any]]) -> Study:
    """The small house with its turning points."""
    return with_break_even(finsolar.study(house(changes | {"alternatives": plans})))


@pytest.fixture(scope="module")
def credited() -> Study:
    """Four ways to go, awards that bend with the price."""
    return turned(CREDITED, PLANS)


def at_price(base: Study, name: str, price: float) -> float:
    """The NPV of an alternative, all of whose costs come to a price."""
    names = [result.name for result in base.results]
    i = names.index(name)
    chosen = {
        f"alternatives.{i}.costs.{k}.{'cost' if line.each is None else 'each'}": (line.cost or line.each)
        * price
        / float(base.results[i].gross)
        for k, line in enumerate(base.settled.alternatives[i].costs)
    }
    result = study(base.scenario, chosen, reuse=base).results[i]
    assert float(result.gross) == pytest.approx(price)
    return float(result.appraisal.npv)


def test_at_the_highest_price_worth_paying_the_npv_is_zero(credited: Study) -> None:
    found = credited.break_even
    assert found is not None
    for one in found.alternatives[:3]:
        assert one.highest_price.at is not None and one.highest_price.why_not is None
        assert at_price(credited, one.name, one.highest_price.at) == pytest.approx(0, abs=1e-4)
        assert at_price(credited, one.name, one.highest_price.at + 10) < 0
    by_line = credited.results[0].appraisal.npv / -(1 - 0.3)  # the slope alone, as if each award were paid at once
    assert found.alternatives[0].highest_price.at != pytest.approx(found.alternatives[0].price - by_line, abs=1)


def test_where_nothing_bends_the_highest_price_is_the_cost_and_the_npv_together() -> None:
    """Cash, no award, nothing left over: each unit of price costs one of NPV."""
    base = turned({}, PLANS[:2])
    assert base.break_even is not None
    for one, result in zip(base.break_even.alternatives, base.results, strict=True):
        assert one.highest_price.at == pytest.approx(float(result.gross + result.appraisal.npv))


def test_every_way_to_state_a_price_moves_with_it() -> None:
    """Five lines, each priced in a way of its own; where nothing bends, cost and NPV together are the highest price."""
    costs = [
        {"item": "Modules", "category": "modules", "per_kw": 520},
        {"item": "Battery", "category": "battery", "per_kwh": 240},
        {"item": "Crew", "category": "labour", "per_hour": 60, "hours": 12},
        {"item": "Rails", "category": "racking", "each": 30, "quantity": 14},
        {"item": "Second inspection", "category": "permits", "cost": 300, "chance": "20%"},
    ]
    base = turned({"costs": costs}, PLANS[:1])
    assert base.break_even is not None
    [result], [one] = base.results, base.break_even.alternatives
    assert one.price == pytest.approx(2600 + 1920 + 720 + 420 + 60)
    assert one.highest_price.at == pytest.approx(float(result.gross + result.appraisal.npv))


def test_two_draw_level_at_the_price_that_is_told(credited: Study) -> None:
    found = credited.break_even
    assert found is not None
    npv = {result.name: float(result.appraisal.npv) for result in credited.results}
    told = {(pair.behind, pair.ahead) for pair in found.pairs}
    assert len(told) == len(credited.pairs) == 6
    answers = 0
    for pair in found.pairs:
        assert pair.behind_by == pytest.approx(npv[pair.ahead] - npv[pair.behind])
        assert pair.behind_by >= 0
        if pair.level_price.at is None:
            assert at_price(credited, pair.behind, 1e-6) < npv[pair.ahead]
            assert pair.level_price.why_not == "it stays behind even as a gift"
        else:
            answers += 1
            assert pair.level_price.at <= pair.price
            assert at_price(credited, pair.behind, pair.level_price.at) == pytest.approx(npv[pair.ahead], abs=1e-4)
    assert 3 <= answers < 6


def test_at_its_rise_an_alternative_or_its_loan_just_carries_itself(credited: Study) -> None:
    """A millionth of the range is what the search leaves open; the slope turns that into money."""
    found = credited.break_even
    assert found is not None

    def figures(i: int, rise: float) -> tuple[float, float]:
        result = study(credited.scenario, every_rise(credited.scenario, np.array([[rise]])), reuse=credited).results[i]
        left = np.nan if result.lender is None else result.lender.coverage.left_over_term[0]
        return float(result.appraisal.npv[0]), float(left)

    for i in range(3):
        rise = found.alternatives[i].rise.at
        assert rise is not None and not found.alternatives[i].falls_with_rise
        low, here, high = (figures(i, rise + step)[0] for step in (-1e-6, 0, 1e-6))
        assert low < 0 < high and abs(here) < 1
    loan = found.alternatives[2].loan
    assert loan is not None and found.alternatives[0].loan is None
    rise = loan["over_term"].at
    assert rise is not None
    assert figures(2, rise - 1e-6)[1] < 0 < figures(2, rise + 1e-6)[1]
    assert loan["every_year"].at is None
    assert loan["every_year"].why_not == (
        "the money left in the leanest year of the loan stays below zero in all of the range searched"
    )


def test_what_turns_nowhere_says_why() -> None:
    """A gift, a ruin, one whose price all comes back, and one that dearer energy makes worse."""
    free = {"name": "Free", "costs": [], "without": ["Modules", "Battery"]}
    ruin = {"name": "Ruin", "upkeep": [{"item": "Guard", "category": "upkeep", "cost": 9000}]}
    back = [{"item": name, "category": "other", "cost": 3000, "residual": "100%"} for name in ("Modules", "Battery")]
    base = turned(
        {"study": {"inflation": "6%"}}, [free, ruin, {"name": "Back", "costs": back}, {"name": "Thirsty", **THIRSTY}]
    )
    assert base.break_even is not None
    none, guarded, whole, thirsty = base.break_even.alternatives

    assert none.highest_price.why_not == "nothing is paid for, so there is no price to move"
    assert guarded.highest_price.why_not == "it loses money even as a gift"
    assert whole.highest_price.why_not == "all that is paid comes back, so no price is too high"
    assert (none.price, none.rise.at) == (0, None)
    assert none.rise.why_not == "the NPV stays above zero in all of the range searched"
    assert thirsty.falls_with_rise and thirsty.rise.at is not None
    for one in base.break_even.alternatives:
        for turn in (one.highest_price, one.rise):
            assert (turn.at is None) == (turn.why_not is not None)


# Its sun is too little for a battery that idles, so it draws more than before; the rebate pays for that while prices
# stay low.
THIRSTY: dict[str, Any] = {
    "system": {"arrays": [{"kw": 0.1, "tilt": 30, "azimuth": 0}], "inverter": {"kw": 5, "idle_watts": 200}},
    "rebates": [{"item": "Prize", "amount": 12000}],
}


def test_rises_are_searched_as_far_as_a_scenario_may_state_them() -> None:
    for rise, good in ((RISES[0], True), (RISES[1], True), (RISES[0] - 0.01, False), (RISES[1] + 0.01, False)):
        try:
            house({"tariff": {"rise": rise}})
        except finsolar.ScenarioError:
            assert not good, rise
        else:
            assert good, rise


def test_page_json_and_csv_tell_the_same_turning_points(credited: Study) -> None:
    plain = with_rise_sweep(credited).to_json()
    text = page(plain).replace("\N{WORD JOINER}", "")
    found = plain["break_even"]

    assert set(found) == {"rises_searched", "alternatives", "pairs"}
    assert found["rises_searched"] == list(RISES)
    assert "<h3>Where it breaks even</h3>" in text
    for one in found["alternatives"]:
        assert set(one) == {"name", "price", "falls_with_rise", "highest_price", "rise", "reasons", "loan"}
        assert {key for key in ("highest_price", "rise") if one[key] is None} == set(one["reasons"])
        if one["highest_price"] is not None:
            assert f"<td>{amounts.money(one['highest_price'], 'USD')}</td>".replace("\N{WORD JOINER}", "") in text
        for reason in one["reasons"].values():
            assert reason in text
    assert found["alternatives"][2]["loan"]["every_year"] is None
    for pair in found["pairs"]:
        assert set(pair) == {"behind", "ahead", "behind_by", "price", "level_price", "reasons"}
        assert changes_told.level_sentence(pair, "USD").replace("\N{WORD JOINER}", "") in text
    rows = list(csv.DictReader(io.StringIO(as_csv(plain))))
    told = {(row["alternative"], row["item"]): row for row in rows if row["part"].startswith("break-even")}
    borrowed = found["alternatives"][2]
    assert float(told[borrowed["name"], "highest_price"]["value"]) == borrowed["highest_price"]
    assert told[borrowed["name"], "every_year"]["value"] == ""
    assert told[borrowed["name"], "every_year"]["note"] == borrowed["loan"]["reasons"]["every_year"]


def test_without_being_asked_nothing_is_told(credited: Study) -> None:
    plain = with_rise_sweep(replace(credited, break_even=None)).to_json()
    assert plain["break_even"] is None
    assert "Where it breaks even" not in page(plain)
