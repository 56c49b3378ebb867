"""The bill by price period: it foots to the bill, in every scheme, and the page says where it cannot be told."""

from __future__ import annotations

import json
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import ROOT, demo_study, plain_study
from small_house import HOUSE, changed

import finsolar
from finsolar.report.page import page
from finsolar.report.period_charts import bill_by_period, shared_cents
from finsolar.report.words import costs_told
from finsolar.scenario.reading import from_text
from finsolar.tariff.hours import period_of_hours

PEAKED = [{"name": "peak", "price": 0.3, "hours": "16-21"}, {"name": "rest", "price": 0.12}]
SHEET: dict[str, Any] = {
    "energy": PEAKED,
    "rise": "2%",
    "monthly_charge": 9,
    "tiers": [{"steps": [{"up_to": 300, "adds": 0}, {"adds": 0.04}]}],
    "demand": [{"name": "evening", "price": 3, "hours": "16-21"}],
    "riders": [{"item": "Grid fund", "per_kwh": 0.01}],
    "taxes": [{"item": "Town tax", "share": "7%"}],
}
SCHEMES: dict[str, dict[str, Any]] = {
    "none": {"scheme": "none"},
    "net billing": {"scheme": "net billing", "price": 0.04},
    "by period": {"scheme": "net billing",
                  "price": [{"period": "peak", "price": 0.15}, {"period": "rest", "price": 0.02}]},
    "credits for energy": {"scheme": "net billing", "price": 0.04, "credits_pay": "energy", "true_up_month": "mar"},
    "bank of kWh": {"scheme": "net metering", "surplus_price": 0.02, "true_up_month": "mar"},
    "bank of money": {"scheme": "net metering", "bank": "money", "true_up_month": "mar"},
}  # fmt: skip


@lru_cache
def studied(scheme: str) -> dict[str, Any]:
    """The small house under a sheet with everything on it, for one scheme of export."""
    sheet = SHEET | {"export": SCHEMES[scheme]}
    if scheme == "bank of money":
        sheet = {name: part for name, part in sheet.items() if name != "riders"}
    return told_of(json.dumps(changed(HOUSE, {"study": {"years": 2}}) | {"tariff": sheet}))


@lru_cache
def told_of(text: str, folder: Path | None = None) -> dict[str, Any]:
    """A scenario's study in plain values."""
    return finsolar.study(from_text(text, folder=folder)).to_json()


def bills(plain: dict[str, Any]) -> list[dict[str, Any]]:
    """The bills of staying and of each alternative."""
    return [plain["stay"]["bill"], *(plan["bills"]["after"] for plan in plain["alternatives"])]


def check_that_it_foots(plain: dict[str, Any]) -> None:
    """Periods and the rest make the bill, and the rest is the bill's own parts."""
    for bill in bills(plain):
        found, parts = bill["by_period"], {name: row[0] for name, row in bill["by_year"].items()}
        money = [period["money"] or 0.0 for period in found["periods"]]
        assert sum(money) + sum(found["not_by_period"].values()) == pytest.approx(bill["total_by_year"][0], abs=1e-6)
        assert found["total"] == pytest.approx(bill["total_by_year"][0])
        for name, amount in found["not_by_period"].items():
            assert amount == pytest.approx(parts[name])
        if not found["reasons"]:
            assert "energy" not in found["not_by_period"]
            assert sum(period["energy"] for period in found["periods"]) == pytest.approx(parts["energy"])


def test_the_periods_and_the_rest_make_the_bill_of_every_demo(demo: Path) -> None:
    check_that_it_foots(plain_study(demo))


@pytest.mark.parametrize("scheme", list(SCHEMES))
def test_the_periods_and_the_rest_make_the_bill_under_every_scheme(scheme: str) -> None:
    """With tiers, demand, a rider and a tax beside them; the credit goes by period where it is paid at once."""
    plain = studied(scheme)
    check_that_it_foots(plain)
    [found] = [plan["bills"]["after"]["by_period"] for plan in plain["alternatives"]]
    assert {"fixed charge", "demand", "tiers", "taxes"} - {"tiers"} <= set(found["not_by_period"])
    assert ("export credit" in found["not_by_period"]) == (scheme in {"credits for energy", "bank of kWh"})
    assert any(period["export_credit"] for period in found["periods"]) == (scheme in {"net billing", "by period"})
    assert bool(found["reasons"]) == (scheme == "bank of money")
    if scheme == "bank of kWh":
        assert sum(period["billed"] for period in found["periods"]) < sum(p["drawn"] for p in found["periods"]) - 100


@pytest.mark.parametrize("name", ["juniper-lane", "prairie-bend"])
def test_each_period_asks_its_own_price_for_its_own_hours(name: str) -> None:
    """Added up hour by hour, for staying and for each alternative."""
    path = ROOT / "scenarios" / f"{name}.yaml"
    study, plain = demo_study(path), plain_study(path)
    tariff = study.settled.tariff
    assert tariff is not None
    period = period_of_hours(tariff, study.site.clock, study.settled.place)
    positions = [study.stay, *(result.position for result in study.results)]
    for position, bill in zip(positions, bills(plain), strict=True):
        first = position.hourly.years(slice(0, 1))
        for k, (asked, told) in enumerate(zip(tariff.energy, bill["by_period"]["periods"], strict=True)):
            drawn, fed = (float(hours[0, period == k].sum()) for hours in (first.imported, first.exported))
            assert (told["name"], told["drawn"]) == (asked.name, pytest.approx(drawn))
            assert told["fed_in"] == pytest.approx(fed, abs=1e-9)
            assert told["energy"] == pytest.approx(drawn * float(np.asarray(asked.price)))
            assert told["export_credit"] == pytest.approx(-fed * float(np.asarray(tariff.export.price)), abs=1e-9)


def as_cents(cell: str) -> Decimal:
    """An amount as printed."""
    return Decimal(cell.replace("\N{WORD JOINER}", "").replace("−", "-").replace("$", "").replace(",", "") or "0")


@pytest.mark.parametrize("plain", ["juniper-lane", "prairie-bend", *(s for s in SCHEMES if s != "bank of money")])
def test_the_table_foots_in_the_cents_that_are_printed(plain: str) -> None:
    """And to the same cent as the bill part by part."""
    path = ROOT / "scenarios" / f"{plain}.yaml"
    found = studied(plain) if plain in SCHEMES else plain_study(path)
    chart = bill_by_period(found)
    assert chart is not None and chart.table.foot is not None
    for column in range(1, len(chart.table.head)):
        total = as_cents(chart.table.foot[column])
        assert sum(as_cents(row[column]) for row in chart.table.rows) == total
    printed = {Decimal(str(total)) for _, total in costs_told.bill_columns(found)}
    assert {as_cents(cell) for cell in chart.table.foot[1:]} == printed
    # The bars are the rows: the periods, and the rest together.
    names = [period["name"] for period in found["stay"]["bill"]["by_period"]["periods"]]
    for k, trace in enumerate(chart.data):
        rows = [float(as_cents(row[k + 1])) for row in chart.table.rows]
        assert trace["x"][:-1] == pytest.approx(rows[: len(names)], abs=0.011)
        assert trace["x"][-1] == pytest.approx(sum(rows[len(names) :]), abs=0.05)
    assert "bill-by-period" in page(found)


def test_cents_are_shared_out_without_one_lost() -> None:
    """0.1444 + 0.1449 + 0.1444 is 0.4337 and so 0.43, of which plain rounding makes 0.42: the nearest gets the cent."""
    assert [str(amount) for amount in shared_cents([0.1444, 0.1449, 0.1444])] == ["0.14", "0.15", "0.14"]
    assert sum(shared_cents([-0.335, -0.335, -0.335])) == Decimal("-1.01")
    assert shared_cents([]) == []


def test_a_bill_with_one_period_needs_no_chart() -> None:
    """The month chart says all; nor has a house without a grid."""
    for demo in ("heron-landing", "mangrove-court", "tamarack-row", "kelp-point"):
        plain = plain_study(ROOT / "scenarios" / f"{demo}.yaml")
        assert bill_by_period(plain) is None and 'data-chart="bill-by-period"' not in page(plain)


def test_energy_that_is_settled_in_money_has_no_chart() -> None:
    assert bill_by_period(studied("bank of money")) is None


def test_alternatives_with_one_bill_share_a_bar_and_another_tariff_has_its_own_periods(juniper: dict[str, Any]) -> None:
    """A period that a tariff lacks has no bar; a house that leaves the grid is told to have none at all."""
    chart = bill_by_period(juniper)
    assert chart is not None and [trace["name"] for trace in chart.data] == ["Stay as you are", "With the system"]
    night = {"energy": [{"name": "dark", "price": 0.08, "hours": "22-6"}, {"name": "rest", "price": 0.2}]}
    plans = [
        {"name": "Roof"},
        {"name": "Night tariff", "tariff": night},
        {"name": "Alone", "system": {"operation": "off grid"}},
        {"name": "Roof again"},
    ]
    plain = told_of(json.dumps(changed(HOUSE, {"study": {"years": 2}, "alternatives": plans})))
    check_that_it_foots(plain)
    chart = bill_by_period(plain)
    assert chart is not None
    assert chart.table.head == ["Period", "Stay as you are", "Roof and Roof again", "Night tariff"]
    assert [row[0] for row in chart.table.rows][:3] == ["peak", "rest", "dark"]
    by_name = {row[0]: row[1:] for row in chart.table.rows}
    assert by_name["peak"][2] == "" and by_name["dark"][:2] == ["", ""] and by_name["dark"][2]
    assert chart.data[2]["x"][0] is None and chart.data[0]["x"][2] is None
    assert "“Alone” has no bar: the house draws nothing from a grid." in chart.reading


def test_tariffs_that_share_no_period_are_told_by_what_goes_by_none() -> None:
    night = {"energy": [{"name": "dark", "price": 0.08, "hours": "22-6"}, {"name": "light", "price": 0.2}],
             "monthly_charge": 7.5}  # fmt: skip
    plain = told_of(
        json.dumps(changed(HOUSE, {"study": {"years": 2}, "alternatives": [{"name": "N", "tariff": night}]}))
    )
    chart = bill_by_period(plain)

    staying = sum(plain["stay"]["bill"]["by_period"]["not_by_period"].values())
    assert chart is not None and chart.reading == (
        "“N” has a tariff with other price periods than staying; charges without a period go from "
        f"${staying:,.0f} to $90."
    )


def test_hourly_prices_stand_apart_from_the_periods(tmp_path: Path) -> None:
    """They hold no period; what they ask, and what they pay for, is not by period."""
    (tmp_path / "prices.csv").write_text("\n".join(f"{0.05 + 0.1 * (hour % 24 > 15)}" for hour in range(8760)))
    sheet = {"energy": PEAKED, "rise": "2%", "hourly_prices": {"file": "prices.csv", "export_share": "50%"},
             "export": {"scheme": "net billing", "price": 0.01}}  # fmt: skip
    plain = told_of(json.dumps(changed(HOUSE, {"study": {"years": 2}}) | {"tariff": sheet}), tmp_path)
    for bill in bills(plain):
        found = bill["by_period"]
        assert found["not_by_period"]["hourly prices"] == pytest.approx(bill["by_year"]["hourly prices"][0])
        money = sum(period["money"] for period in found["periods"]) + sum(found["not_by_period"].values())
        assert money == pytest.approx(bill["total_by_year"][0])
    [roof] = plain["alternatives"]
    found = roof["bills"]["after"]["by_period"]
    paid = sum(period["export_credit"] for period in found["periods"])
    assert paid == pytest.approx(-0.01 * roof["energy"]["exported"][0])
    assert found["not_by_period"]["export credit"] == pytest.approx(
        roof["bills"]["after"]["by_year"]["export credit"][0] - paid
    )
    assert found["not_by_period"]["export credit"] < -1
