"""Bills of one small house from its scenario on, against numbers worked out by hand from its kWh."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from generated_scenarios import in_yaml

import finsolar
from finsolar.results import Study
from finsolar.scenario.problems import ScenarioError
from finsolar.scenario.reading import from_text

SORREL = """
title: Sorrel Lane
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-01-01, years: 2, discount_rate: 5%}
household: {load: {monthly_kwh: [500, 500, 500, 500, 500, 500, 500, 500, 500, 500, 500, 500], shape: evening}}
weather: greensboro
tariff: {energy: 0.2, rise: 0}
system: {arrays: [{kw: 6, tilt: 30, azimuth: 180}], inverter: {kw: 6}, battery: none}
costs: [{item: All, category: other, cost: 9000}]
alternatives:
  - {name: Roof}
"""


def studied(tariff: dict[str, Any], years: int = 1, **words: Any) -> Study:
    """The study of a house of 500 kWh a month under 6 kW of modules, or what ``words`` say instead."""
    house = {
        "title": "A house for its bills",
        "place": {"country": "US", "region": "NC", "latitude": 36.1, "longitude": -79.95,
                  "timezone": "America/New_York"},
        "study": {"in_service": date(2026, 1, 1), "years": years, "discount_rate": "5%"},
        "household": {"load": {"monthly_kwh": [500] * 12, "shape": "evening"}},
        "weather": "greensboro",
        "tariff": {"energy": 0.2, "rise": 0.0} | tariff,
        "system": {"arrays": [{"kw": 6, "tilt": 30, "azimuth": 180}], "inverter": {"kw": 6}, "battery": "none"},
        "costs": [{"item": "All", "category": "other", "cost": 9000}],
    }  # fmt: skip
    return finsolar.study(from_text(in_yaml(house | words)))


@pytest.mark.parametrize(
    ("export", "paid"),
    [({"scheme": "none"}, -223.36), ({"scheme": "net billing", "price": 0.05, "limit_kw": 0.5}, -372.34)],
    ids=["nothing leaves", "half a kW leaves"],
)
def test_what_had_nowhere_to_go_is_not_paid_as_production(export: dict[str, Any], paid: float) -> None:
    """Of some 8,804 kWh what house and inverter took beyond the import, and what was fed in, at 0.10."""
    (plan,) = studied({"production_price": 0.1, "export": export}).to_json()["alternatives"]
    flows = plan["energy"]
    through = flows["load"][0] + flows["idle"][0] - flows["imported"][0] + flows["exported"][0]
    assert flows["solar"][0] == pytest.approx(8804, abs=1) and flows["curtailed"][0] > 5000
    assert plan["bills"]["after"]["by_year"]["production payment"] == [pytest.approx(-0.1 * through)]
    assert -0.1 * through == pytest.approx(paid, abs=0.01)


SEASONS = {"load": {"monthly_kwh": [900, 800, 600, *[300] * 7, 600, 900], "shape": "evening"}}


@pytest.mark.parametrize("month", [9, 1, 4])
@pytest.mark.parametrize("true_up", ["mar", "dec"])
def test_a_bank_fills_from_the_month_in_which_the_system_is_switched_on(month: int, true_up: str) -> None:
    """The books are kept here by hand, month after month from the first: a bank of kWh for day and for night."""
    tariff = {
        "energy": [{"name": "day", "price": 0.2, "hours": "6-22"}, {"name": "night", "price": 0.1}],
        "monthly_charge": 5,
        "export": {"scheme": "net metering", "surplus_price": 0, "true_up_month": true_up},
    }
    system = {"arrays": [{"kw": 3.4, "tilt": 30, "azimuth": 180}], "inverter": {"kw": 6}, "battery": "none"}
    when = {"in_service": date(2026, month, 1), "years": 2, "discount_rate": "5%"}
    (result,) = studied(tariff, household=SEASONS, system=system, study=when).results
    (metered,) = result.position.metered
    bank, paid = [0.0, 0.0], [0.0, 0.0]
    for year in range(2):
        for place in range(12):
            of_year = (month - 1 + place) % 12
            paid[year] += 5
            for period, price in enumerate((0.2, 0.1)):
                balance = metered.flows.imported[year, of_year, period] - metered.flows.exported[year, of_year, period]
                balance -= bank[period]
                paid[year] += max(balance, 0.0) * price
                bank[period] = max(-balance, 0.0)
            if of_year == ("mar", "dec").index(true_up) * 9 + 2:
                bank = [0.0, 0.0]
    assert result.position.bill.total.tolist() == pytest.approx(paid)
    if month == 9:
        assert paid[0] == pytest.approx(401.26, abs=0.01)


def test_an_old_customer_has_a_memory() -> None:
    """80 % of August's peak is billed in every other month, of the first year too: the August before was like it."""
    load = {"load": {"monthly_kwh": [*[500] * 7, 900, *[500] * 4], "shape": "evening"}}
    tariff = {"energy": 0.0, "demand": [{"name": "all", "price": 10, "ratchet": "80%"}]}
    study = studied(tariff, years=3, household=load)
    august = float(study.stay.metered[0].peak[0, 7, 0])
    assert study.stay.bill.total.tolist() == pytest.approx([10 * august * (1 + 11 * 0.8)] * 3)
    assert study.stay.bill.total[0] == pytest.approx(275.98, abs=0.01)
    # The roof takes over the memory of the house as it was: in its first seven months it is billed by the old August.
    (result,) = study.results
    own = result.position.metered[0].peak[0, :, 0]
    assert result.position.bill.monthly_total[0, :7].tolist() == pytest.approx(
        [10 * max(kw, 0.8 * august) for kw in own[:7]]
    )


def test_a_later_tariff_knows_the_peaks_of_the_year_before_it() -> None:
    """In year 1 no demand is billed; the window of year 2 looks back at it all the same."""
    load = {"load": {"monthly_kwh": [*[500] * 7, 900, *[500] * 4], "shape": "evening"}}
    later = [{"from_year": 2, "demand": [{"name": "all", "price": 10, "ratchet": "80%"}]}]
    study = studied({"energy": 0.0, "later": later}, years=2, household=load)
    assert study.stay.bill.total.tolist() == pytest.approx([0.0, 275.98], abs=0.01)


@pytest.mark.parametrize(
    ("plan", "name"),
    [
        ("tariff: {hourly_prices: {file: gone.csv}}", "alternatives[1].tariff.hourly_prices.file"),
        (
            "tariff: {later: [{from_year: 2, hourly_prices: {file: gone.csv}}]}",
            "alternatives[1].tariff.later[1].hourly_prices.file",
        ),
    ],
    ids=["of an alternative", "of a later tariff"],
)
def test_a_price_file_that_is_missing_is_told_where_it_is_named(plan: str, name: str) -> None:
    text = SORREL.replace("{name: Roof}", f"{{name: Roof, {plan}}}")
    with pytest.raises(ScenarioError) as caught:
        finsolar.study(from_text(text, "yard.yaml"))
    (problem,) = caught.value.problems
    assert (problem.line, problem.field, problem.code) == (text[: text.index("gone")].count("\n") + 1, name, "no-file")
