"""The ranges of a scenario: all that are written, each once, with every place that holds it and its field's limits."""

from __future__ import annotations

import math
from typing import Any

import pytest
from small_house import house, house_text

from finsolar.scenario.numbers import Range, settled
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Origin, Scenario
from finsolar.uncertainty.ranges import Ranged, ranges_of

WORDS = ("from", "low", "mean", "characteristic")
UNBOUNDED = 1e12
PRICE = {"from": 0.1, "to": 0.2}
# A range in each kind of place: blocks, lists, blocks by name, a list of bare numbers; some of them inherited.
WRITTEN: dict[str, Any] = {
    "study": {"discount_rate": {"mean": "5%", "sd": "1%"}, "inflation": {"low": "1%", "likely": "2%", "high": "4%"}},
    "household": {"load": {"growth": {"from": "0%", "to": "2%"}}, "income_tax": {"from": 400, "to": 3000}},
    "weather": {"station": "greensboro", "brightness": {"mean": "97%", "sd": "4%"}},
    "tariff": {
        "energy": [{"name": "rest", "price": PRICE}],
        "rise": {"mean": "2%", "sd": "1%"},
        "later": [{"from_year": 5, "monthly_charge": {"from": 4, "to": 9}}, {"from_year": 8, "daily_charge": 0.1}],
    },
    "purchase": {"contingency_by": {"labour": {"from": "0%", "to": "20%"}}},
    "costs": [
        {"item": "Modules", "category": "modules", "per_kw": {"low": 700, "likely": 1000, "high": 1800}},
        {"item": "Battery", "category": "battery", "cost": 3500, "residual_by_age": {5: {"from": "3%", "to": "5%"}}},
    ],
    "upkeep": [
        {
            "item": "New inverter",
            "category": "inverter",
            "cost": 1500,
            "life": {"characteristic": 9, "shape": 3},
        }
    ],
    "alternatives": [
        {"name": "Roof"},
        {
            "name": "Borrowed",
            "like": "Roof",
            "payment": {"loan": {"rate": "5%", "later_rates": ["5%", {"from": "5%", "to": "9%"}], "years": 6}},
        },
        {
            "name": "Fewer",
            "costs": [{"item": "Modules", "category": "modules", "per_kw": {"from": 500, "to": 600}}],
            "tariff": {"rise": {"from": "2%", "to": "3%"}},
        },
    ],
}


def written(tree: Any) -> int:
    """How many ranges a tree of fields holds, by counting their words."""
    if isinstance(tree, dict):
        is_range = any(isinstance(tree.get(word), int | float | str) for word in WORDS)
        return int(is_range) + sum(written(entry) for entry in tree.values())
    return sum(written(entry) for entry in tree) if isinstance(tree, list) else 0


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    """The house with all these ranges."""
    found: Scenario = house(WRITTEN)
    return found


@pytest.fixture(scope="module")
def found(scenario: Scenario) -> dict[str, Ranged]:
    """Its ranges, by name."""
    return {each.name: each for each in ranges_of(scenario)}


def test_each_range_that_is_written_is_found_once(scenario: Scenario, found: dict[str, Ranged]) -> None:
    everything = ranges_of(scenario)
    assert len(everything) == len(found) == written(WRITTEN) == 15
    paths = [path for each in everything for path in each.paths]
    assert len(paths) == len(set(paths))


def test_ranges_come_in_the_order_of_the_format(found: dict[str, Ranged]) -> None:
    """As the blocks of the format follow one another, not as the file was written."""
    assert list(found) == [
        "study.discount_rate",
        "study.inflation",
        "household.load.growth",
        "household.income_tax",
        "weather.brightness",
        "tariff.energy[1].price",
        "tariff.rise",
        "tariff.later[1].monthly_charge",
        "purchase.contingency_by.labour",
        "costs[1].per_kw",
        "costs[2].residual_by_age.5",
        "upkeep[1].life",
        "alternatives[2].payment.loan.later_rates[2]",
        "alternatives[3].tariff.rise",
        "alternatives[3].costs[1].per_kw",
    ]


@pytest.mark.parametrize(
    ("name", "paths"),
    [
        ("study.inflation", {"study.inflation"}),
        ("upkeep[1].life", {f"alternatives.{i}.upkeep.0.life" for i in range(3)}),
        ("purchase.contingency_by.labour", {f"alternatives.{i}.purchase.contingency_by.labour" for i in range(3)}),
        ("costs[2].residual_by_age.5", {f"alternatives.{i}.costs.1.residual_by_age.5" for i in range(3)}),
        ("costs[1].per_kw", {"alternatives.0.costs.0.per_kw", "alternatives.1.costs.0.per_kw"}),
        ("alternatives[3].costs[1].per_kw", {"alternatives.2.costs.0.per_kw"}),
        ("alternatives[2].payment.loan.later_rates[2]", {"alternatives.1.payment.loan.later_rates.1"}),
        (
            "tariff.rise",  # kept by the later prices, and by the alternatives that state none of their own
            {
                f"{owner}tariff.{later}rise"
                for owner in ("", "alternatives.0.", "alternatives.1.")
                for later in ("", "later.0.tariff.", "later.1.tariff.")
            },
        ),
        (
            "tariff.later[1].monthly_charge",  # kept by the change after it, also where only the rise is another
            {
                f"{owner}tariff.later.{k}.tariff.monthly_charge"
                for owner in ("", "alternatives.0.", "alternatives.1.", "alternatives.2.")
                for k in (0, 1)
            },
        ),
    ],
)
def test_an_inherited_range_names_every_place_that_holds_it(
    found: dict[str, Ranged], name: str, paths: set[str]
) -> None:
    assert set(found[name].paths) == paths


def test_every_place_takes_a_value_and_no_range_is_left(scenario: Scenario, found: dict[str, Ranged]) -> None:
    """The middle put into every place is the scenario without ranges."""
    middles = {path: each.range.central for each in found.values() for path in each.paths}
    assert settled(scenario, middles) == settled(scenario)
    assert ranges_of(settled(scenario)) == ()


def test_ranges_written_apart_are_two_however_alike() -> None:
    """Also by way of a mark that the file repeats: the words are one, the numbers are two."""
    text = house_text({}).replace('"cost": 5500', '"cost": &same {"from": 4000, "to": 5000}')
    one, other = ranges_of(from_text(text.replace('"cost": 3500', '"cost": *same')))
    assert (one.name, other.name) == ("costs[1].cost", "costs[2].cost")
    assert one.range == other.range == Range("from, to", (4000.0, 5000.0))
    assert set(one.paths).isdisjoint(other.paths)


@pytest.mark.parametrize(
    ("name", "limits", "kind"),
    [
        ("study.discount_rate", (-0.2, 0.5), "mean, sd"),
        ("study.inflation", (-0.2, 0.5), "low, likely, high"),
        ("weather.brightness", (0.5, 1.5), "mean, sd"),
        ("tariff.rise", (-0.2, 0.5), "mean, sd"),
        ("tariff.energy[1].price", (0.0, UNBOUNDED), "from, to"),
        ("household.income_tax", (0.0, UNBOUNDED), "from, to"),
        ("costs[2].residual_by_age.5", (0.0, 1.0), "from, to"),
        ("purchase.contingency_by.labour", (0.0, 1.0), "from, to"),
        ("upkeep[1].life", (1.0, 100.0), "characteristic, shape"),
        ("alternatives[2].payment.loan.later_rates[2]", (0.0, 0.5), "from, to"),
    ],
)
def test_a_range_comes_with_what_its_field_may_hold(
    found: dict[str, Ranged], name: str, limits: tuple[float, float], kind: str
) -> None:
    each = found[name]
    assert (each.low, each.high) == limits
    assert each.range.kind == kind
    assert all(math.isfinite(end) for end in (each.low, each.high))


def test_without_a_file_each_place_is_a_range_of_its_own(scenario: Scenario, found: dict[str, Ranged]) -> None:
    """Nothing then tells that two places were one; each goes by its path."""
    loose = ranges_of(scenario.read_from(Origin()))
    assert {each.name for each in loose} == {path for each in found.values() for path in each.paths}
    assert all(each.paths == (each.name,) for each in loose)


def test_without_ranges_there_are_none() -> None:
    assert ranges_of(house()) == ()
