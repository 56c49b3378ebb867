"""What ``check`` prints: as a household would read it, within its columns, each thing said once."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import meter_samples
import pytest
from small_house import house

import finsolar
from finsolar.incentives.rulebook import load_rules
from finsolar.report.words.checked import checked
from finsolar.scenario.assumed import assumptions
from finsolar.scenario.problems import ScenarioError
from finsolar.scenario.reading import read
from finsolar.scenario.schema import Scenario

FRIDGE = {"item": "Refrigerator", "watts": 150, "starting_watts": 900, "duty": "40%", "on_backup": "100%"}
PUMP = {"item": "Well pump", "watts": 1100, "starting_watts": 3300, "hours_a_day": 1, "on_backup": "100%"}
POOL = {"item": "Pool", "watts": 800, "hours_a_day": 5, "hours": "10-16", "months": "jul"}


def told(scenario: Scenario, width: int = 100) -> str:
    """The text in one line, for words that may be broken anywhere."""
    return " ".join(checked(scenario, width).split())


def appliances(*lines: dict[str, Any], **more: Any) -> dict[str, Any]:
    """The small house with a list of appliances in place of its months."""
    load = {"monthly_kwh": None, "shape": None, "appliances": list(lines)}
    return {"household": {"load": load}, **more}


def metered(**more: Any) -> dict[str, Any]:
    """The small house with a meter's file."""
    return {"household": {"load": {"monthly_kwh": None, "shape": None, "file": "meter.csv", **more}}}


@pytest.mark.parametrize("width", [60, 80, 100])
def test_every_line_of_a_demo_fits_its_columns(demo: Path, width: int) -> None:
    """Nothing is lost by breaking lines, and every default stands there with its reason."""
    scenario = read(demo)
    text = checked(scenario, width)

    lines = text.splitlines()
    assert lines[0] == f"{scenario.title}: reads well."
    assert max(map(len, lines)) <= width
    assert text.split() == checked(scenario, 400).split()
    for each in assumptions(scenario):
        # No room of these widths holds the longest values, those of a whole block, without a break.
        told = each.why if each.value == "not stated" else f"{each.value}: {each.why}"
        words = re.escape(told).replace("\\ ", r"\s+")
        assert re.search(rf"^  {re.escape(each.field)}\s+{words}$", text, re.M), each.field
    assert "not stated" not in text


def test_a_default_that_is_no_value_is_told_by_what_happens() -> None:
    text = checked(house({"system": {"operation": "time shift", "time_shift": {"dear": ["peak"]}}}))

    assert re.search(r"^  tariff\.export_rise +the export price rises as energy does$", text, re.M)
    assert re.search(r"^  system\.time_shift\.cheap +none: the grid does not charge the battery$", text, re.M)
    assert re.search(r"^  system\.snow +0%: no snow was stated$", text, re.M)


def test_a_year_and_one_reading_are_told_in_the_singular(tmp_path: Path) -> None:
    lines = meter_samples.year_lines()
    meter_samples.write_csv(tmp_path / "meter.csv", [*lines[:3000], *lines[2999:5000], *lines[5001:]])
    scenario = house({"study": {"years": 1}, **metered()}, tmp_path)
    text = told(scenario)

    assert "load from meter.csv period covered: 2018-01-01 00:00 to 2019-01-01 00:00, 365 days" in text
    assert "gaps: 1 hour filled with the same hour of the same weekday" in text
    assert "repeated: 1 reading that stood there twice was dropped" in text
    assert "left out" not in text.partition("Left out of the file")[0]
    assert "1 year studied" in text
    assert not re.search(r"\b1 (hours|readings|years|days|months)\b", text)


def test_import_beside_export_is_said_not_to_be_the_whole_use(tmp_path: Path) -> None:
    """In a CSV file and in a Green Button file."""
    plain = meter_samples.year_lines()
    lines = [f"{plain[0]},Export (kWh)", *(f"{line},0.1" for line in plain[1:])]
    meter_samples.write_csv(tmp_path / "meter.csv", lines)
    starts = meter_samples.starts_of(meter_samples.NEW_YORK, "2018-01-01", "2019-01-01")
    exported = [
        meter_samples.kind(2, flowDirection=19),
        meter_samples.meter(2, 2),
        meter_samples.block(2, [meter_samples.reading(s, 3600, 100) for s in starts], starts[0]),
    ]
    (tmp_path / "feed.xml").write_text(meter_samples.year_feed(starts, [500] * len(starts), *exported))

    for name in ("meter.csv", "feed.xml"):
        text = told(house(metered(file=name), tmp_path))
        assert "fed in: 876 kWh, so the house has panels already." in text, name
        assert "not the house's whole use" in text
    meter_samples.write_csv(tmp_path / "meter.csv", plain)
    assert "whole use" not in told(house(metered(), tmp_path))


def test_new_loads_are_told_with_their_year_and_what_they_come_to() -> None:
    """By hand: 8,550 kWh of today, 2 kWh a day from year 2 on, 9 of them from the last."""
    new = [
        {"item": "Kiln", "from_year": 2, "kwh_a_day": 2},
        {"item": "Sauna", "from_year": 12, "kwh_a_day": 9},
    ]
    text = told(house({"household": {"load": {"new_loads": new}}}))

    assert "load 8,550 kWh a year, 23.4 a day from year 2: Kiln, 730 kWh a year" in text
    assert "from year 12: Sauna, 3,285 kWh a year" in text
    assert "in the last year: 12,565 kWh, without growth" in text
    assert "of that" not in text
    level = {"from": "80%", "to": "100%"}
    scaled = told(house({"household": {"load": {"new_loads": new, "level": level}}}))
    assert "load 8,550 kWh a year, 23.4 a day the years of the study use 90 % of that" in scaled
    assert "in the last year: 11,710 kWh, without growth" in scaled


def test_appliances_are_listed_with_what_they_ask_of_a_backup() -> None:
    """By hand: 150 x 24 x 0.4, 1,100 and 4,000 Wh; 1,250 W running, the pump's start 2,200 W more."""
    text = told(house(appliances(FRIDGE, PUMP, POOL)))

    for words in ("Refrigerator: 1.44 kWh a day", "Well pump: 1.10 kWh a day", "Pool: 4.00 kWh a day in 1 month"):
        assert words in text
    assert "on backup: 1,250 W with all of it running, 3,450 W while the largest starts" in text
    assert "that is more than" not in text and "may exceed" not in text
    assert "on backup" not in told(house(appliances(POOL))).partition("Left out of the file")[0]
    assert "on backup: 90 W with all of it running weather" in told(
        house(appliances({"item": "Lamps", "watts": 90, "on_backup": "100%"}))
    )


@pytest.mark.parametrize(
    ("system", "words"),
    [
        ({"battery": {"kw": 3}}, "a start may exceed its battery of 3,000 W; ask for its short-time rating"),
        ({"battery": {"kw": 1}}, "that is more than its battery of 1,000 W carries for long, if all run at once"),
        ({"battery": {"kw": 9}}, ""),
        ({"battery": {"kw": 9}, "inverter": {"kw": 1.2}}, ""),
        (
            {"battery": {"kw": 9, "coupling": "dc"}, "inverter": {"kw": 1.2}},
            "that is more than its inverter of 1,200 W carries",
        ),
        ({"battery": "none"}, "has no battery to carry them"),
    ],
    ids=["start", "battery", "enough", "inverter of the modules alone", "shared inverter", "no battery"],
)
def test_a_backup_beyond_the_system_is_told(system: dict[str, Any], words: str) -> None:
    text = told(house(appliances(FRIDGE, PUMP, system=system)))

    assert words in text
    assert ("starts " + (words or "weather")) in text


def test_alternatives_are_named_only_where_they_differ() -> None:
    """Of four, two cannot start the pump; all but one share their sun."""
    plans = [
        {"name": "Small", "system": {"battery": {"kw": 3}}},
        {"name": "Small, financed", "system": {"battery": {"kw": 3}}},
        {"name": "Large", "system": {"arrays": [{"kw": 9, "tilt": 30, "azimuth": 180}], "battery": {"kw": 6}}},
    ]
    text = checked(house(appliances(FRIDGE, PUMP, alternatives=plans)), 200)

    assert re.search(r"^ +Small and Small, financed: a start may exceed its battery of 3,000 W", text, re.M)
    assert not re.search(r"Large: a start", text)
    assert re.search(r"^  sun +Small and Small, financed: 5 kW of modules give", text, re.M)
    assert re.search(r"^ +Large: 9 kW of modules give", text, re.M)
    assert re.search(r"^  alternatives +Small\n +Small, financed\n +Large$", text, re.M)
    alone = checked(house(appliances(FRIDGE, PUMP, system={"battery": {"kw": 3}})), 200)
    assert re.search(r"^ +a start may exceed its battery", alone, re.M)
    assert re.search(r"^  sun +5 kW of modules give", alone, re.M)


def test_a_record_of_production_is_named_and_needs_no_weather(tmp_path: Path) -> None:
    """By hand: half a kWh in eight hours of each day."""
    hours = ["kWh", *("0.5" if 8 <= hour % 24 < 16 else "0" for hour in range(8760))]
    (tmp_path / "production.csv").write_text("\n".join(hours) + "\n")
    text = told(house({"system": {"arrays": None, "production": "production.csv"}}, tmp_path))

    assert "sun 1,460 kWh in the first year, from production.csv" in text
    assert " weather " not in text and "peak sun hours" not in text


def test_long_names_stay_within_their_lines() -> None:
    """Endless words are cut or broken."""
    plans = [{"name": "x" * 300}, {"name": "z " * 200, "system": {"battery": "none"}}]
    lines = checked(house({"title": "y" * 300, "alternatives": plans})).splitlines()

    assert max(map(len, lines)) <= 100


def test_the_bill_that_is_furthest_off_is_told_line_by_line() -> None:
    """By hand: a flat price of 0.2, 10 a month, and a tax of 5 %; the second bill is billed 30 too high."""
    bills = [
        {"first_day": "2025-01-01", "last_day": "2025-01-31", "kwh": 500, "amount": 115.5},
        {"first_day": "2025-02-01", "last_day": "2025-02-28", "kwh": 400, "amount": 124.5},
    ]
    tariff = {"energy": 0.2, "monthly_charge": 10, "taxes": [{"item": "State", "share": "5%"}]}
    text = checked(house({"household": {"past_bills": bills}, "tariff": tariff}), 100)

    lines = text.replace("\N{WORD JOINER}", "").splitlines()
    begin = lines.index("  Line by line, the bill of 2025-02-01 to 2025-02-28, the furthest off:")
    assert lines[begin + 1 : begin + 6] == [
        "    fixed charge        $10.00",
        "    energy, all hours   $80.00",
        "    taxes                $4.50",
        "    computed            $94.50",
        "    billed             $124.50",
    ]
    assert lines[begin + 6] == "  A bill of 25 to 35 days bears each monthly charge once, any other by its days."
    alone = checked(house({"household": {"past_bills": bills[:1]}, "tariff": tariff}), 100)
    assert "  Line by line, the bill of 2025-01-01 to 2025-01-31:\n" in alone


REBATE: dict[str, Any] = {
    "id": "lantern/battery",
    "title": "Lantern Town battery rebate",
    "kind": "upfront rebate",
    "currency": "USD",
    "reference": "Lantern Town Code 3",
    "checked_on": "2026-03-01",
    "event": "in service",
    "parameters": {
        "fixed": {
            "unit": "USD",
            "values": {"2025-01-01": {"value": 700, "known": "seen", "reference": "Lantern Town Code 3.1"}},
        }
    },
    "lowers_price": {"value": True, "because": "The seller takes it off.", "known": "seen", "reference": "Code 3.2"},
}
FEDERAL = "us/residential-clean-energy-credit"


def test_the_rules_that_will_be_considered_are_told() -> None:
    """Those of the place, then one's own, which may take the place of a shipped one; a claim may leave one out."""
    shipped = ["Federal residential clean energy credit", "Federal clean electricity credit of a leasing company"]
    titles = [rule.title for rule in load_rules("US", "NC")]
    lines = r"\n +".join(re.escape(title) for title in titles)

    assert len(titles) == len(shipped)
    assert re.search(rf"^  incentives +2 rules will be considered: 2 shipped\n +{lines}\n", checked(house()), re.M)
    text = checked(house({"rules": [REBATE]}))
    counted = "3 rules will be considered: 2 shipped, 1 of your own"
    assert re.search(rf"^  incentives +{counted}\n +{lines}\n +Lantern Town battery rebate, your own\n", text, re.M)
    text = checked(house({"rules": [{**REBATE, "id": FEDERAL}], "claims": {FEDERAL: {"claim": False}}}), 200)
    assert re.search(r"^  incentives +2 rules will be considered: 1 shipped, 1 of your own\n", text, re.M)
    assert re.search(r"^ +Lantern Town battery rebate, your own, left out by your claims$", text, re.M)
    assert "Federal residential clean energy credit" not in text


def test_a_place_without_rules_is_told_so() -> None:
    """One rule is told in the singular."""
    place = {"country": "ZZ", "region": None}

    assert re.search(r"^  incentives +no rule of this place is known here$", checked(house({"place": place})), re.M)
    text = told(house({"place": place, "rules": [REBATE]}))
    assert "incentives 1 rule will be considered: 1 of your own Lantern Town battery rebate, your own" in text


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"rules": ["nope"]}, "nope', which is not there; name a .yaml file or a folder"),
        ({"rules": [{"id": "a", "title": "A rebate"}]}, "rules[1].kind: is missing"),
        ({"claims": {"us/zz": {"funds": True}}}, "claims.us/zz: is 'us/zz', no rule of this place"),
        ({"claims": {FEDERAL: {"kw": 3}}}, f"claims.{FEDERAL}.kw: is nothing that this rule asks for"),
    ],
    ids=["no file", "incomplete rule", "unknown rule", "claim without use"],
)
def test_rules_and_claims_that_a_study_refuses_do_not_read_well(
    changes: dict[str, Any], words: str, tmp_path: Path
) -> None:
    """The same faults in the same words."""
    said = []
    for use in (checked, finsolar.study):
        with pytest.raises(ScenarioError) as error:
            use(house(changes, tmp_path))
        said.append(str(error.value))

    assert words in said[0]
    assert said[0] == said[1]


@pytest.mark.parametrize(
    "together",
    [
        [["tariff.rise", "study.inflation", 0.5]],
        [["tariff.rise", "tariff.rise", 0.5]],
        [["tariff.rise", "no such thing", 0.5]],
    ],
)
def test_ranges_that_cannot_go_together_are_found_before_any_hour_is_run(together: list[Any]) -> None:
    """As a report would refuse them: inflation is no range here."""
    ties = {"tariff": {"rise": {"from": "1%", "to": "3%"}}, "together": together}
    with pytest.raises(ScenarioError, match="together"):
        checked(house(ties))


def test_ranges_that_can_go_together_pass() -> None:
    rises = {"study": {"inflation": {"from": "1%", "to": "3%"}}, "tariff": {"rise": {"from": "1%", "to": "3%"}}}
    assert "reads well" in checked(house({**rises, "together": [["tariff.rise", "study.inflation", 0.5]]}))


@pytest.mark.parametrize(
    ("outage", "country", "words"),
    [
        ({"worth": {"an_hour": 4}}, "NL", "worth is stated, but nothing says how often the grid fails: it is not used"),
        ({"losses": [{"item": "Food", "cost": 9}]}, "NL", "losses is stated, but nothing says how often"),
        ({"worth": {"an_hour": 4}, "usual": {"times_a_year": 1, "hours_each": 1}}, "NL", ""),
        ({"worth": {"an_hour": 4}}, "US", ""),
        ({}, "NL", ""),
    ],
)
def test_a_worth_of_backup_that_nothing_uses_is_told(outage: dict[str, Any], country: str, words: str) -> None:
    """The country of the small house has a record of outages, the other has none."""
    text = told(house({"household": {"outage": {"load_kw": 0.5, **outage}}, "place": {"country": country}}))
    assert words in text and ("look again" in text) == bool(words)


@pytest.mark.parametrize(("more", "twice"), [({"load_share": "30%"}, True), ({"load_kw": 0.5}, True), ({}, False)])
def test_two_loads_of_an_outage_are_told_apart(more: dict[str, Any], twice: bool) -> None:
    outage = {"appliances": [FRIDGE], **more}
    text = told(house({"household": {"outage": outage}}))
    field = next(iter(more), "load_share")
    words = f"how long the house lasts goes by {field}, the load test by the appliances alone"
    assert (words in text) is twice
    outage["appliances"] = [FRIDGE | {"on_backup": "0%"}]
    assert words not in told(house({"household": {"outage": outage}}))


@pytest.mark.parametrize(("kw", "words"), [(10, "the generator runs all year at 10 % of its size"), (9, "")])
def test_a_generator_with_next_to_nothing_to_do_is_told(kw: float, words: str) -> None:
    """By hand: 8,550 kWh a year are 0.98 kW on average."""
    generator = {"kw": kw, "fuel_price": 1.1, "rise": "3%"}
    text = told(house({"tariff": None, "generator": generator, "system": {"operation": "off grid"}}))
    assert words in text and ("is that so?" in text) == bool(words)
