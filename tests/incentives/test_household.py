"""What a scenario tells the rules: days, facts, sizes, taxes and claims, and nothing that it does not say."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np
import pytest
from small_house import HOUSE, Tree, changed
from small_house import house as scenario_of

from finsolar.incentives.facts import House
from finsolar.incentives.household import claimed, days_of, house_of, yearly
from finsolar.incentives.law import EVENTS, FACTS, NUMBERS, TAXES
from finsolar.scenario.numbers import settled
from finsolar.scenario.schema import Claim

YEARS = HOUSE["study"]["years"]
NOT_ASKED_HERE = {"household confirms"}  # answered by the claim of each rule
BORROWED = {"lease": {"monthly": 120, "years": 20}}
BY_KWH = {"per_kwh": {"price": 0.14, "years": 20}}


def told(changes: Tree | None = None, chosen: dict[str, Any] | None = None, gross: float = 20_000.0) -> House:
    """Return what the small house, with some changes, tells the rules."""
    scenario = settled(scenario_of(changes), chosen)
    return house_of(
        scenario,
        scenario.alternatives[0],
        generation=np.full(YEARS, 6_000.0),
        exported=np.full(YEARS, 2_000.0),
        gross=np.asarray(gross),
        serving=np.ones(YEARS),
        loan_worth=lambda principal, rate, years: principal * 0,
    )


def fact(name: str, changes: Tree | None = None) -> bool | None:
    """Return one fact."""
    return told(changes).facts[name]


def plan(**fields: Any) -> Tree:
    """Return the only alternative with more fields."""
    return {"alternatives": [{"name": "Roof", **fields}]}


def test_every_fact_and_number_a_rule_may_ask_is_answered_or_left_open_on_purpose() -> None:
    """No need of a rule file meets a house that has no word for it."""
    house = told()

    assert set(house.facts) == set(FACTS) - NOT_ASKED_HERE
    assert set(house.numbers) == set(NUMBERS)
    assert set(house.taxes) == set(house.marginal) == set(TAXES)
    assert all(house.day(event) for event in EVENTS)


def test_what_is_not_told_stays_unknown() -> None:
    """The small house says nothing of its people and their taxes."""
    house = told()

    for name in ("lives there", "main home", "new home", "existing home", "contractor", "licensed installer"):
        assert house.facts[name] is None
    assert house.numbers["income"] is None
    assert list(house.taxes.values()) == list(house.marginal.values()) == [None, None]
    assert (house.itemises, house.property_tax, house.claims) == (None, None, {})


@pytest.mark.parametrize(
    ("said", "facts"),
    [
        ({"owner_occupied": True}, {"lives there": True, "main home": None}),
        ({"owner_occupied": False, "main_home": False}, {"lives there": False, "main home": False}),
        ({"new_home": True}, {"new home": True, "existing home": False}),
        ({"new_home": False}, {"new home": False, "existing home": True}),
    ],
)
def test_the_home(said: Tree, facts: dict[str, bool | None]) -> None:
    """Each field answers its own question; an existing home is one that is not new."""
    house = told({"household": said})

    assert {name: house.facts[name] for name in facts} == facts


@pytest.mark.parametrize(
    ("fields", "contractor", "licensed", "accredited"),
    [
        ({}, None, None, None),
        ({"own_hours": 80}, False, False, False),
        ({"own_hours": 80, "installer": "contractor"}, True, None, None),
        ({"installer": "own labour"}, False, False, False),
        ({"installer": "contractor"}, True, None, None),
        ({"installer": "licensed contractor"}, True, True, None),
        ({"installer": "accredited contractor"}, True, True, True),
        ({"own_hours": 80, "payment": BORROWED}, None, None, None),
    ],
    ids=str,
)
def test_who_does_the_work(
    fields: Tree, contractor: bool | None, licensed: bool | None, accredited: bool | None
) -> None:
    """Hours of one's own mean own labour unless something else is said; a contractor may hold any licence."""
    names = ("contractor", "licensed installer", "accredited installer")

    assert tuple(told(plan(**fields)).facts[name] for name in names) == (contractor, licensed, accredited)


@pytest.mark.parametrize(
    ("payment", "buys"),
    [("cash", True), ({"loan": {"rate": "6%", "years": 10}}, True), (BORROWED, False), (BY_KWH, False)],
    ids=["cash", "loan", "lease", "by kWh"],
)
def test_who_owns_the_system(payment: Any, buys: bool) -> None:
    """A loan buys it, a lease and a price a kWh do not; what others own costs the household no property tax."""
    house = told({**plan(payment=payment), "household": {"property_tax": {"rate": "1.1%", "added_value": "50%"}}})

    assert (house.facts["buys the system"], house.facts["leases the system"]) == (buys, not buys)
    assert (house.property_tax is not None) == buys


def test_where_no_system_is_built_there_is_none_to_be_taxed() -> None:
    """A fee for another tariff adds nothing to the value of the house."""
    costs = [{"item": "Fee", "category": "interconnection", "cost": 100}]
    none = plan(system="none", tariff={"energy": 0.15, "rise": 0}, costs=costs)
    assert told({**none, "household": {"property_tax": {"rate": "1.1%", "added_value": "50%"}}}).property_tax is None


def test_property_tax_is_the_rate_on_the_share_that_the_assessor_adds() -> None:
    """1.1 % of half of 20,000, every year."""
    house = told({"household": {"property_tax": {"rate": "1.1%", "added_value": "50%"}}})

    assert house.property_tax is not None
    assert house.property_tax.tolist() == pytest.approx([110.0] * YEARS)


@pytest.mark.parametrize(
    ("changes", "grid", "metering", "paid"),
    [
        ({}, True, False, True),
        ({"tariff": {"export": {"scheme": "net metering", "price": None}}}, True, True, True),
        ({"tariff": {"export": {"price": 0}}}, True, False, False),
        ({"tariff": {"export": {"scheme": "none", "price": None}}}, True, False, False),
        ({"system": {"operation": "off grid"}}, False, False, False),
    ],
    ids=["net billing", "net metering", "paid nothing", "no export", "off grid"],
)
def test_the_grid_and_what_is_fed_in(changes: Tree, grid: bool, metering: bool, paid: bool) -> None:
    """Net metering is its own scheme; a price of zero pays for nothing."""
    house = told(changes)

    assert (house.facts["grid connection"], house.facts["off grid"]) == (grid, not grid)
    assert (house.facts["net metering"], house.facts["no net metering"]) == (metering, not metering)
    assert house.export_is_paid is paid


def test_sizes_of_the_system() -> None:
    """All arrays together, the inverter, the battery, and what of it is above the reserve."""
    arrays = [{"kw": 5, "tilt": 30, "azimuth": 180}, {"kw": 1.5, "tilt": 30, "azimuth": 270}]
    battery = {"kwh": 8, "kw": 4, "discharge_kw": 3, "reserve": "25%"}
    house = told({"system": {"arrays": arrays, "battery": battery}, "household": {"income": 90_000}})

    numbers = {name: None if value is None else float(value) for name, value in house.numbers.items()}
    assert numbers == {"solar kw": 6.5, "inverter kw": 5, "battery kwh": 8, "income": 90_000}
    assert (float(house.battery_kw), float(house.battery_usable_kwh)) == (3, 6)  # type: ignore[arg-type]
    assert (house.facts["solar"], house.facts["battery"]) == (True, True)


def test_a_house_without_a_battery() -> None:
    """It has none of any size."""
    house = told({"system": {"battery": "none"}})

    assert (float(house.numbers["battery kwh"]), house.facts["battery"]) == (0, False)  # type: ignore[arg-type]
    assert (float(house.battery_kw), float(house.battery_usable_kwh)) == (0, 0)  # type: ignore[arg-type]


def test_days_of_the_study_and_of_an_alternative() -> None:
    """An alternative's own days stand before those of the study; an event not told is left to what stands for it."""
    study = {"study": {"in_service": "2026-06-01", "installation_completed": "2026-05-20"}}
    plain = scenario_of(study)
    own = scenario_of(
        {**study, **plan(in_service="2026-09-01", dates={"contract": "2026-02-01", "claim": "2026-10-01"})}
    )

    assert days_of(plain, plain.alternatives[0]) == {
        "in service": dt.date(2026, 6, 1),
        "installation completed": dt.date(2026, 5, 20),
    }
    assert days_of(own, own.alternatives[0]) == {
        "in service": dt.date(2026, 9, 1),
        "installation completed": dt.date(2026, 9, 1),
        "contract": dt.date(2026, 2, 1),
        "claim": dt.date(2026, 10, 1),
    }
    house = told(study)
    assert house.day("contract") == house.day("purchase") == dt.date(2026, 5, 20)
    assert house.day("registration") == house.day("claim") == dt.date(2026, 6, 1)


def test_taxes_by_year_and_at_the_margin() -> None:
    """One amount, or a list whose last repeats; rates go by the tax they belong to."""
    people = {
        "income_tax": [5_000, 4_000],
        "state_income_tax": 1_500,
        "marginal_tax": "22%",
        "state_marginal_tax": "5%",
    }
    house = told({"household": {**people, "itemises": True, "business_use": "10%"}})
    federal, state = house.taxes["income tax"], house.taxes["state income tax"]

    assert federal is not None and federal.tolist() == [5_000, *[4_000] * (YEARS - 1)]
    assert state is not None and state.tolist() == [1_500]
    assert {name: float(rate) for name, rate in house.marginal.items() if rate is not None} == {
        "income tax": 0.22,
        "state income tax": 0.05,
    }
    assert (house.itemises, float(house.business_use)) == (True, 0.1)


def test_ranges_become_cases() -> None:
    """Values chosen as a column are one case each in every amount that may vary."""
    span = {"low": 1_000, "likely": 2_000, "high": 3_000}
    changes = {"household": {"income_tax": span, "income": span}, "claims": {"x": {"price": span, "kw": span}}}
    column = np.array([[1_000.0], [2_500.0]])
    paths = ("household.income_tax", "household.income", "claims.x.price", "claims.x.kw")
    house = told(changes, dict.fromkeys(paths, column))
    claim = house.claimed("x")

    assert house.taxes["income tax"].tolist() == column.tolist()  # type: ignore[union-attr]
    assert house.numbers["income"].tolist() == [1_000, 2_500]  # type: ignore[union-attr]
    assert (claim.price.tolist(), claim.kw.tolist()) == (column.tolist(), [1_000, 2_500])  # type: ignore[union-attr]


def test_claims_carry_what_was_said_and_no_more() -> None:
    """By rule id; a rule of which nothing is said has nothing in particular."""
    said = {"zone": 3, "price": [38, 40], "funds": True, "confirmed": False, "used_before": 750, "kw": 4}
    house = told({"claims": {"town/one": said}})
    claim, other = house.claimed("town/one"), house.claimed("town/two")

    assert (claim.claim, claim.funds, claim.confirmed, claim.zone) == (True, True, False, "3")
    assert (claim.refundable, claim.taxed) == (None, None)
    assert claim.price is not None and claim.price.tolist() == [38, *[40] * (YEARS - 1)]
    assert (float(claim.used_before), float(claim.kw)) == (750, 4)  # type: ignore[arg-type]
    assert other.claim and (other.funds, other.price, other.kw, other.zone) == (None, None, None, None)
    assert claimed(Claim(claim=False), 5).claim is False


def test_one_amount_is_a_year_that_repeats() -> None:
    """A list is as long as the study, whatever its own length."""
    assert yearly(None, 4) is None
    one, path = yearly(7.0, 4), yearly([1.0, 2.0, 3.0, 4.0, 5.0], 3)
    assert one is not None and one.tolist() == [7.0]
    assert path is not None and path.tolist() == [1.0, 2.0, 3.0]


def test_the_house_speaks_the_money_of_the_scenario() -> None:
    """A rule of other money can then be told apart."""
    assert told().currency == "USD"
    assert told({"currency": "EUR"}).currency == "EUR"
    assert changed(HOUSE, {})["title"] == "Sorrel Lane"
