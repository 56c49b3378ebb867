"""What a scenario states and leaves out is told in words that a household can read."""

import re
from functools import cache

import pytest
from scenario.house import FULL, house
from small_house import house_text

from finsolar.scenario.assumed import assumptions
from finsolar.scenario.reading import from_text
from finsolar.scenario.stated import statements

WEATHER = "weather: greensboro"
LOAD = "load: {monthly_kwh: [900, 800, 700, 600, 600, 700, 900, 900, 700, 600, 700, 900], shape: evening}"
SUN_HOURS = "[2.5, 3.2, 4.3, 5.3, 5.8, 6.2, 6.0, 5.4, 4.6, 3.7, 2.7, 2.3]"


@cache
def stated(text: str) -> dict[str, str]:
    """Return the words of each statement by its field."""
    rows = statements(from_text(text))
    assert len({row.field for row in rows}) == len(rows)
    return {row.field: row.value for row in rows}


def left_out(text: str) -> dict[str, str]:
    """Return the value of each assumption by its field."""
    return {row.field: row.value for row in assumptions(from_text(text))}


@pytest.mark.parametrize(
    ("field", "words"),
    [
        ("study.step_minutes", "30"),
        ("household.load.appliances.Pump.starting_watts", "2,000"),
        ("household.load.appliances.Pump.hours", "0-2, 6-8, 22-24"),
        ("household.load.appliances.Pump.months", "jan-feb, nov-dec"),
        ("household.load.appliances.Pump.on_backup", "50%"),
        ("household.load.appliances.Refrigerator.duty", "35%"),
        ("household.load.new_loads.Car.from_year", "3"),
        ("household.load.new_loads.Car.months", "jun-aug, oct"),
        ("household.load.new_loads.Heat pump.monthly_kwh", "300, 250, 200, 100, 0, 0, 0, 0, 0, 100, 200, 300"),
        ("weather.sun_hours", "2.5, 3.2, 4.3, 5.3, 5.8, 6.2, 6, 5.4, 4.6, 3.7, 2.7, 2.3"),
        ("weather.brightness", "from 90%, to 105%"),
        ("weather.seed", "7"),
        ("tariff.export.true_up_month", "mar"),
        ("tariff.rise", "path 6%, 4%"),
        ("generator.start_at", "30%"),
        ("system.arrays.1.shading", "5%, 5%, 0%, 0%, 0%, 0%, 0%, 0%, 0%, 0%, 0%, 3%"),
        ("system.arrays.2.shading", "5%"),
        ("system.battery.coupling", "dc"),
        ("system.battery.fade.law", "square root"),
        ("system.battery.fade.thousand_cycles", "3%"),
        ("system.battery.warranty.mwh", "25"),
        ("system.losses.Dust.share", "3%"),
        ("system.operation", "time shift"),
        ("system.time_shift.dear", "peak"),
        ("system.time_shift.charge_to", "80%"),
        ("Recorded: system.production", "inverter.csv"),
        ("Recorded no more: system.losses", "12%"),
        ("Apart: system.battery.fade", "2%"),
        ("household.past_bills.1.first_day", "2025-01-01"),
        ("household.past_bills.2.kwh", "1,500"),
        ("tariff.holidays.names", "Labor Day, Christmas Day"),
        ("tariff.tiers.1.of", "rest"),
        ("tariff.tiers.2.baseline.2.months", "jan-apr, nov-dec"),
        ("tariff.tiers.2.steps.1.of_baseline", "130%"),
        ("tariff.demand.summer.ratchet", "40%"),
        ("tariff.riders.Fuel.per_kwh", "-0.004"),
        ("tariff.riders.Storm.on", "energy, demand"),
        ("tariff.export.limit_kw", "4"),
        ("tariff.later.1.from_year", "6"),
        ("tariff.later.1.tariff.energy.peak.price", "0.4"),
        ("household.state_income_tax", "900, from 950, to 1,000"),
        ("household.itemises", "yes"),
        ("household.business_use", "10%"),
        ("household.property_tax.rate", "1.1%"),
        ("household.property_tax.added_value", "from 40%, to 60%"),
        ("rules", "yard-rules, yard/battery-rebate"),
        ("claims.us/residential-clean-energy-credit.claim", "no"),
        ("claims.yard/battery-rebate.kw", "from 3, to 5"),
        ("claims.yard/battery-rebate.price", "38, low 30, likely 36, high 40"),
        ("claims.yard/battery-rebate.zone", "3"),
        ("dates.contract", "2026-06-15"),
        ("installer", "licensed contractor"),
        ("purchase.services_tax", "20%"),
        ("payment.lease.monthly", "from 80, to 90"),
        ("Recorded: payment.per_kwh.rise", "path 1%, 2%"),
        ("Recorded: dates.purchase", "2026-07-01"),
    ],
)
def test_a_field_of_every_block_is_told_as_it_would_be_written(field: str, words: str) -> None:
    """Shares in per cent, months and hours in words, twelve numbers as twelve numbers."""
    assert stated(FULL)[field] == words


def test_no_value_is_told_as_the_program_holds_it() -> None:
    """No brackets, no None, no empty words."""
    for field, words in [*stated(FULL).items(), *left_out(FULL).items()]:
        assert re.fullmatch(r"[^\[\](){}']+", words), (field, words)
        assert "None" not in words


@pytest.mark.parametrize(
    ("weather", "rows"),
    [
        ("greensboro", {"weather": "greensboro"}),
        ("{station: miami, brightness: 97%}", {"weather.station": "miami", "weather.brightness": "97%"}),
        ("{file: valley.epw, kind: epw}", {"weather.file": "valley.epw", "weather.kind": "epw"}),
        (
            f"{{sun_hours: {SUN_HOURS}, seed: 3}}",
            {"weather.sun_hours": SUN_HOURS[1:-1].replace("6.0", "6"), "weather.seed": "3"},
        ),
    ],
    ids=["name", "station", "file", "sun hours"],
)
def test_each_source_of_weather_is_told(weather: str, rows: dict[str, str]) -> None:
    """With what it states, and nothing else."""
    found = stated(house(WEATHER, f"weather: {weather}"))

    assert {field: words for field, words in found.items() if field.startswith("weather")} == rows


@pytest.mark.parametrize(
    ("weather", "fields"),
    [
        ("greensboro", set()),
        ("{station: miami}", {"weather.brightness"}),
        ("{file: valley.epw, brightness: 99%}", set()),
        (f"{{sun_hours: {SUN_HOURS}}}", {"weather.brightness", "weather.temperature", "weather.seed"}),
    ],
    ids=["name", "station", "file", "sun hours"],
)
def test_each_source_of_weather_has_its_own_assumptions(weather: str, fields: set[str]) -> None:
    """A seed is assumed where a year is made up, and nowhere else."""
    found = left_out(house(WEATHER, f"weather: {weather}"))

    assert {field for field in found if field.startswith("weather")} == fields


def test_appliances_share_their_assumptions_and_a_file_has_none() -> None:
    """Thirty lamps without a duty are one sentence."""
    lamps = left_out(house(LOAD, "load: {appliances: [{item: Lamp, watts: 9}, {item: Bulb, watts: 40}]}"))

    assert lamps["household.load.appliances.duty"] == "100%"
    assert lamps["household.load.appliances.hours_a_day"] == "24"
    metered = {field for field in left_out(house(LOAD, "load: {file: meter.csv}")) if "load" in field}
    assert metered == {"household.load.level", "household.load.growth"}


def test_what_other_fields_make_moot_is_not_assumed() -> None:
    """Losses and snow are in a record of production; a generator that never charges never stops charging."""
    record = left_out(house("arrays: [{kw: 5, tilt: 30, azimuth: 180}]", "production: inverter.csv"))

    assert not {"system.losses", "system.snow", "system.first_year_loss", "system.arrays.shading"} & set(record)
    assert {"system.fade", "system.inverter.efficiency"} <= set(record)
    generator = "generator: {kw: 6, fuel_price: 1.2, rise: 3%}"
    idle = left_out(house(WEATHER, f"{WEATHER}\n{generator}"))
    assert "generator.start_at" in idle
    assert "generator.stop_at" not in idle
    charging = left_out(house(WEATHER, f"{WEATHER}\n{generator.replace('3%', '3%, start_at: 30%')}"))
    assert charging["generator.stop_at"] == "80%"
    assert "generator.start_at" not in charging


def test_what_other_fields_make_moot_is_not_told_as_stated() -> None:
    """Inherited losses and snow do nothing beside a record of production."""
    fields = set(stated(FULL))

    assert "system.snow" in fields
    assert not any(field.startswith(("Recorded: system.snow", "Recorded: system.losses")) for field in fields)


def test_a_battery_s_fade_as_a_block_has_assumptions_of_its_own() -> None:
    """Its law and its wear by use; a bare share has neither."""
    block = left_out(house("{kwh: 10, kw: 5}", "{kwh: 10, kw: 5, fade: {ten_years: 20%}}"))

    assert block["system.battery.fade.law"] == "linear"
    assert block["system.battery.fade.thousand_cycles"] == "0%"
    bare = left_out(house("{kwh: 10, kw: 5}", "{kwh: 10, kw: 5, fade: 2%}"))
    assert not any(field.startswith("system.battery.fade") for field in bare)
    assert left_out(house())["system.battery.fade"] == "2%"


def test_levels_of_a_time_shift_are_assumed_where_they_count() -> None:
    """How far the grid charges is no question where it does not."""
    shift = "{kwh: 10, kw: 5}\n  operation: time shift\n  time_shift: "
    found = left_out(house("{kwh: 10, kw: 5}", shift + "{dear: [peak]}"))

    assert found["system.time_shift.cheap"] == "none"
    assert "system.time_shift.dear" in left_out(house("{kwh: 10, kw: 5}", "{kwh: 10, kw: 5}\n  operation: time shift"))
    assert {field for field in found if "time_shift" in field} == {"system.time_shift.cheap", "system.time_shift.keep"}
    found = left_out(house("{kwh: 10, kw: 5}", shift + "{cheap: [rest]}"))
    assert {field for field in found if "time_shift" in field} == {
        "system.time_shift.dear",
        "system.time_shift.keep",
        "system.time_shift.charge_to",
    }


def test_an_allowance_by_category_is_told_by_category() -> None:
    """Each with its share, beside the common one."""
    by = {"labour": "10%", "roof": {"from": "5%", "to": "20%"}}
    found = stated(house_text({"purchase": {"contingency": "5%", "contingency_by": by}}))

    rows = {field.split("contingency")[1]: value for field, value in found.items() if "contingency" in field}
    assert rows == {"": "5%", "_by.labour": "10%", "_by.roof": "from 5%, to 20%"}


def test_one_share_left_at_the_end_is_not_assumed_where_shares_by_age_are_stated() -> None:
    """It would be said twice otherwise."""
    line = {"item": "Modules", "category": "modules", "cost": 5500}
    one, by_age = (left_out(house_text({"costs": [line | said]})) for said in ({}, {"residual_by_age": {"20": "10%"}}))

    assert one["costs.residual"] == "0%"
    assert "costs.residual" not in by_age
