"""Outages of whole alternatives: what is carried, with which charge they begin, and what would change them."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

import finsolar
from finsolar.energy.appliances import appliance_load
from finsolar.energy.endurance import endurance
from finsolar.energy.house import battery_when_new, offered_by_year, standing_kw
from finsolar.energy.without_grid import NOTHING_CARRIES, OFF_GRID, carried_load, listed
from finsolar.results import Study
from finsolar.scenario.reading import from_text
from finsolar.uncertainty.outages import NO_APPLIANCES, NONE_MARKED, HouseOutage, with_outages

HOUSE = """
title: Alder Yard
place: {country: NL, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-03-01, years: 4, discount_rate: 4%}
household:
  load: {monthly_kwh: [900, 800, 700, 600, 500, 600, 700, 700, 600, 500, 700, 900], shape: evening, growth: 3%}
  OUTAGE
weather: greensboro
tariff: {energy: 0.2, export: {scheme: net billing, price: 0.05}, rise: 2%}
system:
  arrays: [{kw: 6, tilt: 25, azimuth: 180}]
  inverter: {kw: 5, idle_watts: 40}
  battery: {kwh: 9, kw: 4, reserve: 20%}
GENERATOR
costs: [{item: Modules, category: modules, cost: 9000}]
alternatives:
  - name: Battery
  - {name: The same on credit, payment: {loan: {rate: 5%, years: 3}}}
  - {name: Kept full, system: {operation: backup only}}
  - {name: No battery, system: {battery: none}}
"""
APPLIANCES = """outage:
    appliances:
      - {item: Lamps, watts: 10, count: 6, hours_a_day: 5, hours: 17-23, on_backup: 50%}
      - {item: Refrigerator, watts: 150, duty: 40%, on_backup: 100%}
      - {item: Well pump, watts: 900, starting_watts: 2500, hours_a_day: 1, on_backup: 100%}
      - {item: Oven, watts: 2400, hours_a_day: 1}"""
GENERATOR = "generator: {kw: 3, fuel_price: 1.5, rise: 0%}"


@cache
def studied(outage: str = "", generator: str = "") -> Study:
    """The house with a block of outage, and outages looked into."""
    text = HOUSE.replace("OUTAGE", outage).replace("GENERATOR", generator)
    return with_outages(finsolar.study(from_text(text)))


def first(outage: str = "", generator: str = "") -> HouseOutage:
    """What becomes of the first alternative."""
    return studied(outage, generator).outages[0]


def test_an_outage_begins_with_the_charge_of_that_hour() -> None:
    """That of the end of the hour before in the first year; never below the reserve, full where it is kept full."""
    study = studied()
    battery, _, full, _ = study.outages
    assert battery.endurance is not None and full.endurance is not None
    stored = study.results[0].run.hourly.stored[0]
    assert battery.endurance.stored[1:] == pytest.approx(stored[:-1], abs=0)
    assert battery.endurance.stored[0] == study.results[0].run.hourly.start[0]
    assert battery.endurance.stored.min() >= 0.2 * 9 - 1e-9
    assert np.ptp(battery.endurance.stored) > 5
    assert full.endurance.stored[24:].min() == pytest.approx(9.0)


def test_the_reserve_may_be_used_to_the_end() -> None:
    """The kernel, called by hand with nothing kept, the load of year 1 and the sun of year 1."""
    study = studied()
    found, plan = study.outages[0].endurance, study.settled.alternatives[0]
    assert found is not None and plan.system.battery != "none"
    offered, _ = offered_by_year(plan.system, study.site, 4, None)
    battery = battery_when_new(plan.system.battery)
    kept = {}
    for reserve in (0.0, 0.2):
        numbers = (reserve, battery.charge_kw, battery.discharge_kw, battery.charge_efficiency)
        one = type(battery)(np.asarray(9.0), *numbers, battery.discharge_efficiency)
        kept[reserve] = endurance(
            offered[0],
            study.stay.hourly.load[0],
            found.stored,
            np.arange(8760),
            one,
            336,
            standing_kw(plan.system),
        )
    assert found.hours == pytest.approx(kept[0.0], abs=1e-9)
    assert kept[0.2].mean() < 0.8 * found.hours.mean()


def test_alternatives_that_differ_in_payment_alone_are_worked_out_once() -> None:
    one, on_credit, full, bare = studied().outages
    assert on_credit is one
    assert full is not one and full.endurance is not None
    assert (bare.endurance, bare.no_endurance) == (None, NOTHING_CARRIES)


@pytest.mark.parametrize(
    ("outage", "kind", "share"),
    [("", "all", 1.0), ("outage: {longest_hours: 48}", "all", 1.0), ("outage: {load_share: 30%}", "share", 0.3)],
    ids=["nothing said", "nothing of the load", "a share"],
)
def test_what_is_carried_of_the_load(outage: str, kind: str, share: float) -> None:
    found = first(outage)
    assert found.carried.kind == kind
    assert found.carried.kwh == pytest.approx(share * studied().stay.hourly.load[0])
    assert found.no_load_test == NO_APPLIANCES
    assert [less for less, _ in found.carried.without] == [0.75, 0.5, 0.25]


def test_a_steady_load_and_how_far_is_looked() -> None:
    found = first("outage: {load_kw: 0.7, longest_hours: 60}")
    assert found.carried.kwh == pytest.approx(np.full(8760, 0.7))
    assert found.endurance is not None
    assert found.endurance.hours.max() == found.endurance.longest == 60


def test_appliances_on_backup_are_carried_and_tested() -> None:
    """By hand, kWh a day: 0.15 of lamps, 1.44 and 0.9; given up in the order of their use."""
    study = studied(APPLIANCES)
    found = study.outages[0]
    lines = listed(study.settled.household)
    assert found.carried.kind == "appliances"
    assert found.carried.kwh == pytest.approx(appliance_load(lines, study.site.clock, backup=True))
    assert found.carried.kwh.sum() / 365 == pytest.approx(0.15 + 1.44 + 0.9)
    assert [names for names, _ in found.carried.without] == [("Refrigerator",), ("Refrigerator", "Well pump")]
    assert [kwh.sum() / 365 for _, kwh in found.carried.without] == pytest.approx([1.05, 0.15])
    assert found.load_test is not None
    assert (found.load_test.asked.running, found.load_test.asked.starting) == (1080, 2680)
    assert study.outages[3].no_load_test == NOTHING_CARRIES
    assert first(APPLIANCES.replace("appliances:", "load_kw: 0.2\n    appliances:")).carried.kind == "steady"


def test_a_list_without_a_mark_is_no_load_test() -> None:
    found = first("outage: {appliances: [{item: Oven, watts: 2400, hours_a_day: 1}]}")
    assert (found.load_test, found.no_load_test, found.carried.kind) == (None, NONE_MARKED, "all")


def test_appliances_of_the_load_follow_its_level() -> None:
    months = "monthly_kwh: [900, 800, 700, 600, 500, 600, 700, 700, 600, 500, 700, 900], shape: evening"
    fan = "appliances: [{item: Fan, watts: 500, on_backup: 40%}], level: 120%"
    text = HOUSE.replace("OUTAGE", "").replace("GENERATOR", "").replace(months, fan)
    found = carried_load(finsolar.study(from_text(text)))
    assert found.kwh.sum() == pytest.approx(8760 * 0.5 * 0.4 * 1.2)


def of_kind(found: HouseOutage, kind: str) -> dict[Any, np.ndarray]:
    """The hours of all variants of a kind, by their value."""
    assert found.endurance is not None
    return {each.value: each.hours for each in found.endurance.variants if each.kind == kind}


def test_more_reserve_and_more_battery_last_longer_and_more_load_shorter() -> None:
    """From every start of the year; strictly on average."""
    found = first()
    assert found.endurance is not None
    own = found.endurance.hours
    by_reserve, by_size, by_load = (of_kind(found, kind) for kind in ("reserve", "battery size", "load"))
    assert list(by_reserve) == [0.0, 0.5, 1.0] and list(by_size) == [4.5, 13.5, 18.0]
    for rising in (
        [by_reserve[0.0], own, by_reserve[0.5], by_reserve[1.0]],
        [by_size[4.5], own, by_size[13.5], by_size[18.0]],
        [own, by_load[0.75], by_load[0.5], by_load[0.25]],
    ):
        for less, more in pairwise(rising):
            assert (more >= less - 1e-9).all()
            assert more.mean() > less.mean() + 0.1
    [worn] = of_kind(found, "worn").values()
    [dark] = of_kind(found, "no sun").values()
    assert worn.mean() < own.mean() - 0.1
    assert (dark <= own + 1e-9).all() and dark.mean() < own.mean() - 1
    assert of_kind(studied().outages[2], "reserve") == {}


def test_fuel_makes_a_generator_count() -> None:
    """4 litres and 8; a house without a battery lives on it alone, and none without fuel."""
    study = studied("outage: {load_share: 50%, fuel_litres: 4, longest_hours: 72}", GENERATOR)
    found, bare = study.outages[0], study.outages[3]
    assert found.endurance is not None and bare.endurance is not None
    assert found.endurance.litres == 4.0
    [without] = of_kind(found, "no generator").values()
    more = of_kind(found, "fuel")[8.0]
    assert (found.endurance.hours >= without - 1e-9).all() and (more >= found.endurance.hours - 1e-9).all()
    assert found.endurance.hours.mean() > without.mean() + 1 and more.mean() > found.endurance.hours.mean() + 1
    assert bare.endurance.capacity == 0 and 4 <= bare.endurance.hours.min() <= bare.endurance.hours.max() <= 14
    assert {each.kind for each in bare.endurance.variants} == {"load", "fuel"}
    assert studied("outage: {load_share: 50%, longest_hours: 72}", GENERATOR).outages[3].no_endurance == NOTHING_CARRIES
    no_generator = first("outage: {load_share: 50%, fuel_litres: 4, longest_hours: 72}").endurance
    assert no_generator is not None and no_generator.litres == 0.0
    assert no_generator.hours == pytest.approx(without)


def test_quarters_of_an_hour_begin_on_the_hour() -> None:
    """As many starts as hours, nearly the same answer as by the hour where the load is even within it."""
    outage = "outage: {load_share: 50%, longest_hours: 72}"
    text = HOUSE.replace("OUTAGE", outage).replace("GENERATOR", "")
    fine = with_outages(finsolar.study(from_text(text.replace("years: 4", "years: 4, step_minutes: 15"))))
    quarters, hours = fine.outages[0].endurance, first(outage).endurance
    assert quarters is not None and hours is not None
    assert quarters.hours.shape == (8760,)
    assert np.abs(quarters.hours - hours.hours).mean() < 0.3
    assert quarters.stored == pytest.approx(hours.stored, abs=0.5)


def test_off_the_grid_there_is_no_outage_and_still_a_load_test() -> None:
    text = HOUSE.replace("OUTAGE", APPLIANCES).replace("GENERATOR", GENERATOR)
    study = finsolar.study(from_text(text.replace("system: {operation: backup only}", "system: {operation: off grid}")))
    found = with_outages(study).outages[2]
    assert (found.endurance, found.no_endurance) == (None, OFF_GRID)
    assert found.load_test is not None and found.load_test.rating.watts == 4000


def test_a_batch_has_no_single_answer() -> None:
    study = studied()
    many = finsolar.study(study.scenario, {"study.discount_rate": np.array([[0.03], [0.05]])}, reuse=study)
    with pytest.raises(ValueError, match="many cases"):
        with_outages(many)


def test_alternatives_that_differ_in_when_the_battery_is_renewed_are_worn_apart() -> None:
    """One battery is new again after every year, so it is worn as in year 1; the other never is, so as in year 4."""
    renewed = "  - {name: Renewed, upkeep: [{item: Cells, category: battery, cost: 900, every: 1}]}\n"
    text = HOUSE.replace("OUTAGE", "").replace("GENERATOR\n", "")
    found = with_outages(
        finsolar.study(from_text(text.replace("  - name: Battery\n", renewed + "  - name: Battery\n")))
    )

    years = []
    for outage in found.outages[:2]:
        assert outage.endurance is not None
        years += [way.value for way in outage.endurance.variants if way.kind == "worn"]
    assert years == [1.0, 4.0]
