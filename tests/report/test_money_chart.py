"""Where the money goes: the way from the cost lines to the net cost, and what the first day and a loan ask for."""

from __future__ import annotations

import copy
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from conftest import plain_study
from hypothesis import given
from hypothesis import strategies as st
from small_house import house

import finsolar
from finsolar.report import loan_chart, money_chart
from finsolar.report.figures import Chart, Table
from finsolar.report.page import page
from finsolar.report.words import changes_told
from finsolar.tariff.rounding import cents

Plain = dict[str, Any]

BOUGHT: Plain = {
    "study": {"years": 6},
    "purchase": {"sales_tax": "7.125%", "contingency": "4%"},
    "costs": [
        {"item": "Modules", "category": "modules", "cost": 3333.33},
        {"item": "Battery", "category": "battery", "cost": 4100},
        {"item": "A second inspection", "category": "permits", "cost": 161.55, "chance": "30%"},
    ],
    "alternatives": [
        {
            "name": "Own labour",
            "own_hours": 80,
            "rebates": [
                {"item": "Meadow rebate", "amount": 450.125, "lowers_basis": True},
                {"item": "Heath rebate", "amount": 100, "lowers_basis": False},
            ],
        },
        {"name": "Firm", "costs": [{"item": "Fitting", "category": "labour", "cost": 4200}]},
        {"name": "Firm, on a loan", "like": "Firm", "payment": {"loan": {"rate": "6%", "years": 3, "fee": "1%"}}},
    ],
}


@cache
def _bought() -> Plain:
    return finsolar.study(house(BOUGHT)).to_json()


@pytest.fixture
def bought() -> Plain:
    """A small house with rebates, a line with a chance, own hours and a loan, for a test to change."""
    return copy.deepcopy(_bought())


def amount(text: str) -> Decimal:
    """Money as it is printed, in figures again."""
    minus = text.startswith("−")
    return Decimal(text.strip("−\N{WORD JOINER}$").replace(",", "")) * (-1 if minus else 1)


def drawn(plain: Plain) -> Chart:
    """The chart, where there is one."""
    chart = money_chart.gross_to_net(plain)
    assert chart is not None
    return chart


def check_that_it_foots(table: Table, costs: Plain) -> None:
    """Each row takes the sum on by its amount, to gross and net cost, in the cents that are printed."""
    so_far = Decimal(0)
    assert table.foot is not None
    for name, _, step, reached in [*table.rows, table.foot]:
        if name in ("Gross cost", "Net cost"):
            assert amount(step) == so_far == cents(costs["gross" if name == "Gross cost" else "net"])
        else:
            so_far += amount(step)
        assert amount(reached) == so_far
    assert table.foot[0] == "Net cost"


def test_every_way_from_gross_to_net_adds_up_to_the_cent(demo: Path) -> None:
    """Of every alternative of every demo; each is named over one of the tables and no more."""
    plain = plain_study(demo)
    chart = drawn(plain)
    tables = [chart.table, *chart.more]
    for plan in plain["alternatives"]:
        [table] = [one for one in tables if f"“{plan['name']}”" in one.caption]
        check_that_it_foots(table, plan["costs"])
        shown = [row[0] for row in table.rows]
        assert [name for name in shown if name in {line["item"] for line in plan["costs"]["lines"]}] == [
            line["item"] for line in plan["costs"]["lines"] if line["price"]
        ]
        granted = [award for award in plan["incentives"] if award["upfront"] and sum(award["amounts"])]
        assert shown[len(shown) - len(granted) :] == [award["title"] for award in granted]
    assert changes_told.best_of(plain)["name"] in chart.table.caption


def test_the_bars_go_from_one_to_the_next_and_end_at_the_net_cost(demo: Path) -> None:
    """Each begins where the one before ends; sums stand on the ground."""
    plain = plain_study(demo)
    chart, costs = drawn(plain), changes_told.best_of(plain)["costs"]
    bars = sorted(
        (place, trace["name"], base, base + x)
        for trace in chart.data
        for place, base, x in zip(trace["y"], trace["base"], trace["x"], strict=True)
    )
    assert [place for place, *_ in bars] == list(range(len(bars))) == chart.layout["yaxis"]["tickvals"]
    ended = 0.0
    for _, kind, start, end in bars:
        if kind == "What it comes to":
            assert (start, end) == pytest.approx((0.0, ended), abs=0.05)
        else:
            assert start == pytest.approx(ended, abs=0.05)
            assert (end > start) == (kind == "Added")
        ended = end
    sums = next(trace for trace in chart.data if trace["name"] == "What it comes to")
    assert sums["x"] == pytest.approx([costs["gross"], costs["net"]], abs=0.005)
    assert len(chart.layout["yaxis"]["ticktext"]) == len(bars)


def test_a_chance_a_rebate_and_no_own_labour_stand_in_it(bought: Plain) -> None:
    """The expected price of a risk, each rebate by name, cents that do not divide, and no line for own hours."""
    tables = {table.caption: table for table in (drawn(bought).table, *drawn(bought).more)}
    own = next(table for caption, table in tables.items() if "“Own labour”" in caption)
    check_that_it_foots(own, bought["alternatives"][0]["costs"])
    rows = {row[0]: row[1:] for row in own.rows}
    assert rows["A second inspection"][:2] == ["$48.47 (30 % chance of $161.55)", "$48.47"]
    assert rows["Heath rebate"][:2] == ["at the start", "−\N{WORD JOINER}$100.00"]
    assert list(rows) == [
        "Modules", "Battery", "A second inspection", "Sales tax", "Allowance for the unforeseen", "Gross cost",
        "Meadow rebate", "Heath rebate",
    ]  # fmt: skip
    assert changes_told.best_of(bought)["name"] == "Own labour"
    told = drawn(bought).reading
    assert "The largest line is “Battery”, $4,100 of " in told
    assert "“Meadow rebate” and “Heath rebate” take off $550, which leaves " in told
    assert told.endswith("The 80 own hours are no cash.")


def test_alternatives_with_the_same_lines_share_a_table(bought: Plain) -> None:
    """A loan changes nothing of what is bought."""
    captions = [table.caption for table in (drawn(bought).table, *drawn(bought).more)]
    assert len(captions) == 2
    assert "“Own labour”;" in captions[0] and "“Firm” and “Firm, on a loan”;" in captions[1]


def test_awards_stand_in_their_years_and_yearly_ones_beside_it(bought: Plain) -> None:
    """A credit in the years it arrives, tax that is not charged, and what is paid year by year only in words."""
    plan = bought["alternatives"][0]
    nothing = {"tax": [], "worth": 0.0, "status": "granted"}
    plan["incentives"] = [
        nothing | {"title": "Lantern credit", "kind": "tax credit", "upfront": True, "amounts": [0, 200.0, 50.5]},
        nothing | {"title": "Spared tax", "kind": "sales tax relief", "upfront": True, "amounts": [75.25, 0, 0]},
        nothing | {"title": "Wind bonus", "kind": "performance payment", "upfront": False, "amounts": [0, 10, 10]},
    ]
    plan["costs"]["net"] -= 325.75
    plan["costs"]["yearly_awards"] = 20.0
    chart = drawn(bought)
    check_that_it_foots(chart.table, plan["costs"])
    began = int(plan["in_service"][:4])
    rows = {row[0]: row[1] for row in chart.table.rows}
    assert rows["Lantern credit"] == f"years 1 and 2 ({began + 1} to {began + 2})"
    assert rows["Spared tax"] == "not charged" and "Wind bonus" not in rows
    assert "Lantern credit<br>years 1 and 2" in chart.layout["yaxis"]["ticktext"]
    assert "What is awarded year by year, $20 in all, is no part of it." in chart.reading


def test_the_smaller_of_many_lines_are_one_bar(bought: Plain) -> None:
    """Ten are named, the dearest first; the table has all."""
    plan = bought["alternatives"][0]
    line = plan["costs"]["lines"][0] | {"sales_tax": 0.0, "contingency": 0.0, "chance": 1.0}
    plan["costs"]["lines"] = [line | {"item": f"Part {k}", "price": 10.0 * k} for k in range(1, 15)]
    plan["costs"] |= {"gross": 1050.0, "net": 1050.0 - plan["costs"]["rebates"]}
    chart = drawn(bought)
    names = chart.layout["yaxis"]["ticktext"]
    assert names[:12] == [*(f"Part {k}" for k in range(14, 4, -1)), "4 smaller lines", "Gross cost"]
    assert chart.data[0]["x"][10] == 10.0 + 20.0 + 30.0 + 40.0
    assert len(chart.table.rows) == 14 + 1 + 2
    plan["costs"]["lines"] = plan["costs"]["lines"][:11]
    plan["costs"] |= {"gross": 660.0, "net": 660.0 - plan["costs"]["rebates"]}
    assert not any("smaller" in name for name in drawn(bought).layout["yaxis"]["ticktext"])


def test_what_costs_nothing_has_no_chart_and_what_costs_alike_no_comparison(bought: Plain) -> None:
    """The comparison by category is for alternatives that differ."""
    assert money_chart.cost_build_up(bought) is not None
    alike = bought | {"alternatives": bought["alternatives"][1:]}
    assert money_chart.cost_build_up(alike) is None and money_chart.gross_to_net(alike) is not None
    for plan in bought["alternatives"]:
        plan["costs"] |= {"lines": [], "gross": 0.0, "net": 0.0, "rebate_lines": [], "rebates": 0.0}
    assert money_chart.gross_to_net(bought) is None
    section = page(bought).partition('<section id="costs"')[2].partition("</section>")[0]
    assert "data-chart" not in section


@given(st.lists(st.floats(-1e6, 1e6, allow_nan=False).map(lambda x: round(x, 4)), max_size=20))
def test_cents_are_shared_out(amounts: list[float]) -> None:
    """They add up to the sum in cents, none is a cent off, and whole cents stay."""
    shared = [Decimal(repr(one)) for one in money_chart.in_cents(amounts)]
    assert sum(shared, Decimal(0)) == pytest.approx(Decimal(repr(sum(amounts))), abs=Decimal("0.00501"))
    for given_, one in zip(amounts, shared, strict=True):
        assert abs(Decimal(repr(given_)) - one) < Decimal("0.0101")
    whole = [round(one, 2) for one in amounts]
    assert money_chart.in_cents(whole) == whole


def test_the_first_day_takes_what_the_cash_flow_says(bought: Plain) -> None:
    """Price less loan and rebates, with the fee of the loan; without a loan there is no such table."""
    table = money_chart.day_one(bought)
    assert table is not None and table.foot is not None
    rows = {row[0]: [amount(cell) for cell in row[1:]] for row in table.rows}
    for k, plan in enumerate(bought["alternatives"]):
        assert sum(row[k] for row in rows.values()) == amount(table.foot[k + 1])
        assert amount(table.foot[k + 1]) == cents(-plan["cash_flow"]["net"][0]) == cents(plan["day_one"]["own_money"])
    loan = bought["alternatives"][2]["loan"]
    assert rows["Loan received"][2] == -cents(loan["principal"]) and rows["Loan received"][0] == 0
    assert rows["Loan fee"][2] == cents(loan["fee"]) > 0
    assert rows["Rebates"][0] == Decimal("-550.13")
    assert table.caption in page(bought)
    assert money_chart.day_one(bought | {"alternatives": bought["alternatives"][:2]}) is None


def test_what_staying_would_build_is_not_paid_on_the_first_day(bought: Plain) -> None:
    """It is avoided, which is worth something, but lies in no purse."""
    before = money_chart.day_one(bought)
    for plan in bought["alternatives"]:
        plan["cash_flow"]["lines"]["investment avoided"] = [900.0] * 7
    assert money_chart.day_one(bought) == before


@pytest.mark.parametrize(
    ("paid", "brought", "told"),
    [
        (
            [1200.0, 1200.0, 0.0],
            [600.0, 1300.0, 50.0],
            "In year 1 the payments are $100 a month; you add $50 a month to what “Firm, on a loan” brings in. In 1 "
            "of the 2 years of the loan the household adds something, most in year 1: $600.",
        ),
        (
            [1200.0, 1200.0],
            [1500.0, 1200.0],
            "In year 1 the payments are $100 a month and “Firm, on a loan” brings in $300 more over that year, what "
            "comes once included. In no year of the loan do the payments ask for more than that.",
        ),
        (
            [1200.0, 1200.0],
            [-120.0, -600.0],
            "In year 1 the payments are $100 a month and “Firm, on a loan” itself takes money, so that you add $110 "
            "a month. In every year of the loan the household adds something, most in year 2: $1,800.",
        ),
        ([0.0, 0.0], [5.0, 5.0], "Nothing is paid on the loan within the study."),
    ],
)
def test_what_a_loan_asks_is_told_by_the_month(
    bought: Plain, paid: list[float], brought: list[float], told: str
) -> None:
    """Added, left over, or taken by what is financed too; by its name, since it need be no system."""
    plan = bought["alternatives"][2]
    plan["cash_flow"]["year"] = list(range(len(paid) + 1))
    plan["cash_flow"]["lines"]["loan payments"] = [0.0, *(-each for each in paid)]
    plan["loan"]["available"] = [0.0, *brought]
    plan["loan"]["first_year"] |= {"saving": [125.0] * 12, "payment": [100.0] * 12}
    chart = loan_chart.payment_against_saving(bought, plan)
    assert chart.reading == told
    plan["loan"]["first_year"]["saving"] = [80.0] * 12
    alone = " The bill by itself falls by $80 a month in year 1, $20 less than the payment."
    carried = 0 < paid[0] <= brought[0]
    assert loan_chart.payment_against_saving(bought, plan).reading == told + alone * carried
    assert all(height > 0 for height in chart.data[0]["y"])
