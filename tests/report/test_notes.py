"""Notes stand where their feature is used, and only there; what they say follows the figures."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import Any

import meter_samples
import numpy as np
import pytest
from small_house import HOUSE, house

import finsolar
from finsolar.energy.meter import Found
from finsolar.report.words.notes import counted, found_in_meter

SHIFT: dict[str, Any] = {"operation": "time shift"}
NO_USE = [0.0] * 12
FAST: dict[str, Any] = {"years": 3}


def notes_of(changes: dict[str, Any], folder: Path | None = None) -> list[str]:
    """The notes of the small house, changed; three years unless they say otherwise."""
    return list(finsolar.study(house({"study": FAST, **changes}, folder)).notes)


def saying(notes: list[str], words: str) -> list[str]:
    """The notes with these words in them."""
    return [note for note in notes if words in note]


def meter_file(folder: Path, gap: int = 0, fed_in: bool = False) -> str:
    """A made-up hourly year in New York; its last ``gap`` hours of March missing."""
    lines = meter_samples.year_lines()
    if fed_in:
        lines = [lines[0] + ",Export (kWh)", *(f"{line},0.25" for line in lines[1:])]
    del lines[2000 : 2000 + gap]
    meter_samples.write_csv(folder / "meter.csv", lines)
    return "meter.csv"


def production_file(folder: Path) -> str:
    """A made-up record of production: half a kWh from 8 to 16 o'clock."""
    hours = ["kWh", *("0.5" if 8 <= hour % 24 < 16 else "0" for hour in range(8760))]
    (folder / "production.csv").write_text("\n".join(hours) + "\n")
    return "production.csv"


@pytest.fixture(scope="module")
def bare() -> list[str]:
    """The notes of the small house as it is."""
    return notes_of({})


FEATURES: dict[str, tuple[dict[str, Any], str]] = {
    "far weather": ({"weather": "miami"}, "km from the weather of"),
    "other hemisphere": ({"place": {"latitude": -36.1, "timezone": "America/Santiago"}}, "its summer is your winter"),
    "brightness": ({"weather": {"station": "greensboro", "brightness": "90%"}}, "90 % of that year's sunlight"),
    "quarter hours": ({"study": {"years": 1, "step_minutes": 15}}, "balanced every 15 minutes"),
    "short demand": (
        {"tariff": {"demand": [{"name": "any", "price": 5, "minutes": 15}]}},
        "Staying as you are and Roof: demand is billed by 15 minutes, while the house is balanced every 60",
    ),
    "a tariff after the study": (
        {"tariff": {"later": [{"from_year": 3, "rise": "1%"}, {"from_year": 4, "rise": "3%"}]}},
        "the tariff of year 4 comes after the last year of the study",
    ),
    "new load": (
        {"household": {"load": {"new_loads": [{"item": "Kiln", "from_year": 2, "kwh_a_day": 3}]}}},
        "New load from year 2 on: Kiln.",
    ),
    "appliances": (
        {"household": {"load": {"monthly_kwh": None, "shape": None, "appliances": [{"item": "Pump", "watts": 90}]}}},
        "too smooth for peaks",
    ),
    "no rules": ({"place": {"country": "NZ", "region": None}}, "No incentive rule for NZ is known here"),
    "time shift": ({"system": SHIFT}, "It knows average weeks, not tomorrow's weather."),
    "backup only": ({"system": {"operation": "backup only"}}, "kept full for outages"),
    "paid battery": (
        {
            "system": {"battery": "none"},
            "costs": [*HOUSE["costs"], {"item": "Cells", "category": "battery", "cost": 10}],
        },
        "a battery is paid for, but the system has none",
    ),
    "worn battery": ({"study": {"years": 12}, "system": {"battery": {"fade": "5%"}}}, "fades to 45 % of its first"),
    "loan": (
        {"alternatives": [{"name": "Roof", "payment": {"loan": {"rate": "5%", "years": 3}}}]},
        "of the household's own money after the loan",
    ),
    "warranty": ({"system": {"battery": {"warranty": {"years": 10}}}}, "warranty ends"),
    "free battery": (
        {"costs": [{"item": "Modules", "category": "modules", "cost": 5500}]},
        "no cost line of category battery",
    ),
    "unserved": ({"system": {"operation": "off grid"}}, "finds no source"),
    "own day": (
        {"alternatives": [{"name": "Roof", "in_service": "2026-07-01"}]},
        "each valued on their own day",
    ),
}


def test_a_demand_as_coarse_as_the_step_needs_no_note() -> None:
    demand = [{"name": "any", "price": 5, "minutes": 30}]
    quiet = {"study": {"years": 1, "step_minutes": 30}, "tariff": {"demand": demand}}
    assert saying(notes_of(quiet), "demand is billed") == []


@pytest.mark.parametrize("feature", FEATURES)
def test_a_note_appears_with_its_feature_and_only_then(feature: str, bare: list[str]) -> None:
    changes, words = FEATURES[feature]

    assert len(saying(notes_of(changes), words)) == 1
    assert saying(bare, words) == []


def test_a_bare_house_is_told_of_its_weather_its_shape_and_how_it_counts(bare: list[str]) -> None:
    """Nothing else: six notes, none of them a caution."""
    starts = ("Weather: ", "Sun on the modules: ", "Load shape “evening”, invented", "Every year of the study has the ",
              "Year 0 is the day ", "All figures are in the money ")  # fmt: skip
    assert len(bare) == len(starts)
    assert all(note.startswith(start) for note, start in zip(bare, starts, strict=True))


def test_a_shape_that_was_published_is_not_called_invented() -> None:
    [note] = saying(notes_of({"household": {"load": {"shape": "bdew-h25"}}}), "Load shape")
    assert note.startswith("Load shape “bdew-h25”, published: ")


def test_a_meter_is_told_with_its_gaps_and_what_it_fed_in(tmp_path: Path) -> None:
    """Import beside export is not the house's whole use, and the page says so."""
    load = {"monthly_kwh": None, "shape": None, "file": meter_file(tmp_path)}
    plain = notes_of({"household": {"load": load}}, tmp_path)
    meter_file(tmp_path, gap=1, fed_in=True)
    fed = notes_of({"household": {"load": load}}, tmp_path)

    [told] = saying(plain, "Load from the meter")
    assert "(without gaps)" in told and "kWh, laid on the study's calendar" in told
    assert saying(plain, "Load shape") == saying(plain, "fed in") == []
    assert "(1 hour filled)" in saying(fed, "Load from the meter")[0]
    [caution] = saying(fed, "fed in")
    assert caution.startswith("Caution: ") and "2,190 kWh" in caution and "not the house's whole use" in caution


def test_what_a_meters_reader_had_to_assume_is_passed_on(tmp_path: Path) -> None:
    lines = meter_samples.year_lines()
    meter_samples.write_csv(tmp_path / "meter.csv", ["Timestamp,Usage", *lines[1:]])
    load = {"monthly_kwh": None, "shape": None, "file": "meter.csv"}

    [note] = saying(notes_of({"household": {"load": load}}, tmp_path), "The meter's file: ")
    assert "kWh" in note


def test_a_record_of_production_takes_the_place_of_weather_and_modules(tmp_path: Path) -> None:
    """With none left that has modules, no word of the weather; with one left, both."""
    own = {"arrays": None, "production": production_file(tmp_path)}
    alone = notes_of({"system": own, "weather": "miami"}, tmp_path)
    beside = notes_of(
        {
            "alternatives": [
                {"name": "Roof"},
                {"name": "Old roof", "system": {"arrays": [], "production": "production.csv"}},
            ]
        },
        tmp_path,
    )

    assert saying(alone, "Weather: ") == saying(alone, "Sun on the modules") == saying(alone, "km from") == []
    [told] = saying(alone, "own record")
    assert told.startswith("Roof: ") and "production.csv" in told
    assert len(saying(beside, "Weather: ")) == len(saying(beside, "Sun on the modules")) == 1
    assert saying(beside, "own record")[0].startswith("Old roof: ")


def test_alternatives_of_which_the_same_is_to_be_said_share_a_note() -> None:
    plans = [{"name": name, "system": {"operation": "backup only"}} for name in ("One", "Two", "Three")]
    assert saying(notes_of({"alternatives": plans}), "kept full")[0].startswith("One, Two and Three: ")


HELD, BROKEN = (
    "it is expected to hold the promised 70 %.",
    "it is expected to fall below the promised 70 % before that, ",
)


# By hand. A straight line of 4 % a year: 72 % left after 7 years, 68 % after 8. A kept-full battery delivers nothing.
@pytest.mark.parametrize(
    ("years", "warranty", "renewal", "told"),
    [
        (12, {"years": 10}, None, "10 years, by its age."),
        (12, {"years": 1, "capacity": "70%"}, None, f"1 year, by its age; until then {HELD}"),
        (12, {"years": 5, "capacity": "70%"}, None, f"5 years, by its age; until then {HELD}"),
        (12, {"years": 7, "capacity": "72%"}, None, "until then it is expected to hold the promised 72 %."),
        (12, {"years": 10, "capacity": "70%"}, None, f"10 years, by its age; {BROKEN}in year 8."),
        (12, {"years": 8, "capacity": "70%"}, None, f"8 years, by its age; {BROKEN}in year 8."),
        (12, {"years": 10, "capacity": "70%"}, {"below": "70%"}, f"10 years, by its age; {BROKEN}in year 8."),
        (12, {"years": 10, "capacity": "70%"}, {"every": 6}, f"; until its replacement after 6 years {HELD}"),
        (1, {"years": 10, "capacity": "70%"}, None, f"10 years, by its age; as far as this study goes {HELD}"),
    ],
)
def test_the_warranty_sentence_follows_age_and_promise(
    years: int, warranty: dict[str, Any], renewal: dict[str, Any] | None, told: str
) -> None:
    upkeep = [] if renewal is None else [{"item": "New battery", "category": "battery", "cost": 900, **renewal}]
    changes = {
        "study": {"years": years},
        "system": {"operation": "backup only", "battery": {"fade": "4%", "warranty": warranty}},
        "upkeep": upkeep,
    }

    [note] = saying(notes_of(changes), "warranty")
    assert note.startswith("Roof: the battery's warranty ends after ") and told in note


def test_a_warranty_by_energy_ends_when_that_much_was_delivered() -> None:
    """By hand from the study's own flows: the promise is used up within the year that takes the sum past it."""
    battery = {"kwh": 8, "warranty": {"years": 10, "mwh": 5, "capacity": "60%"}}
    study = finsolar.study(house({"system": {"battery": battery}}))
    delivered = study.results[0].position.flows.discharge.sum(axis=-1) / 1000
    end = float(np.interp(5.0, np.cumsum([0.0, *delivered]), np.arange(13)))

    assert 0 < end < 10
    [note] = saying(list(study.notes), "warranty")
    assert f"ends after {end:.1f}".removesuffix(".0") + " years, by the energy it delivers; until then" in note


def prices(peak: float, rest: float) -> dict[str, Any]:
    """A tariff of two prices."""
    return {"energy": [{"name": "peak", "price": peak, "hours": "16-21"}, {"name": "rest", "price": rest}]}


# A round trip of 90 %: 0.30 x 0.9 = 0.27.
@pytest.mark.parametrize(
    ("rest", "cheap", "cautioned"),
    [(0.26, True, False), (0.28, True, True), (0.28, False, False)],
    ids=["a bargain", "none", "not charged from the grid"],
)
def test_a_cheap_price_that_is_no_bargain_gets_a_caution(rest: float, cheap: bool, cautioned: bool) -> None:
    shift = {"dear": ["peak"], **({"cheap": ["rest"]} if cheap else {})}
    system = {**SHIFT, "time_shift": shift, "battery": {"round_trip": "90%"}}
    found = notes_of({"tariff": prices(0.30, rest), "system": system})

    told = (
        "Roof: caution: charging from the grid in “rest” ($0.280 a kWh) is no bargain; it costs more than it saves in "
        "“peak” ($0.300), since 90 % of it comes back."
    )
    assert saying(found, "caution") == ([told] if cautioned else [])
    assert ("the grid charges it in “rest”" in saying(found, "average weeks")[0]) == cheap


def test_the_two_losses_of_a_battery_count_as_its_round_trip() -> None:
    """0.9 x 0.9 = 0.81: of 0.30 saved, 0.243 is the most that may be paid; and dear hours need not be named."""
    each_way = {"charge_efficiency": "90%", "discharge_efficiency": "90%"}
    system = {**SHIFT, "time_shift": {"cheap": ["rest"]}, "battery": each_way}

    assert len(saying(notes_of({"tariff": prices(0.30, 0.25), "system": system}), "since 81 % of it")) == 1
    found = notes_of({"tariff": prices(0.30, 0.24), "system": system})
    assert saying(found, "caution") == []
    assert "the battery serves “peak”; outside them it keeps what the next of them need" in saying(found, "serves")[0]


def test_a_fixed_level_to_keep_is_told() -> None:
    shift = {"dear": ["peak"], "keep": "55%"}
    assert len(saying(notes_of({"system": {**SHIFT, "time_shift": shift}}), "outside them it keeps 55 %.")) == 1


FOUND = Found(
    first=dt.datetime(2024, 1, 1), last=dt.datetime(2025, 1, 1), days=366.0, interval_minutes=60.0, readings=8784,
    year_from=dt.datetime(2024, 1, 2), days_left_out=1.0, hours_filled=1, filled_how="somehow", duplicates=1,
    short_days=(), long_days=(), annual_kwh=1000.0, monthly_kwh=(), peak_kw=3.0, day_share=0.6, exported_kwh=None,
    cost=None, notes=(),
)  # fmt: skip


def test_one_is_not_many_in_what_a_meter_holds() -> None:
    """Words bend to their number, and what there is none of is left out."""
    one, many = (
        dict(found_in_meter(FOUND)),
        dict(found_in_meter(replace(FOUND, days_left_out=2.5, hours_filled=12, duplicates=3))),
    )
    none = dict(found_in_meter(replace(FOUND, days_left_out=0.0, hours_filled=0, duplicates=0)))

    assert one["year used"].endswith("; 1 day before it left out")
    assert many["year used"].endswith("; 2.5 days before it left out")
    assert none["year used"] == "from 2024-01-02 00:00"
    assert (one["gaps"], many["gaps"], none["gaps"]) == ("1 hour filled somehow", "12 hours filled somehow", "none")
    assert one["repeated"] == "1 reading that stood there twice was dropped"
    assert many["repeated"] == "3 readings that stood there twice were dropped"
    assert "repeated" not in none and "fed in" not in none and "cost in the file" not in none
    assert (counted(1, "year"), counted(1234, "year")) == ("1 year", "1,234 years")


def test_energy_fed_in_makes_the_use_less_than_whole() -> None:
    assert dict(found_in_meter(replace(FOUND, exported_kwh=0.0)))["fed in"] == "nothing"
    told = dict(found_in_meter(replace(FOUND, exported_kwh=2345.6)))["fed in"]
    assert told.startswith("2,346 kWh, so the house has panels already.") and "not the house's whole use" in told
