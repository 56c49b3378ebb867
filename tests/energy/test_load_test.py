"""The load test on paper: sums by hand, seasons that never meet, and what fits in the order of the list."""

from __future__ import annotations

import pytest

from finsolar.energy.appliances import Appliance, backup_watts
from finsolar.energy.load_test import ADDED, CARRIED, LEFT_OFF, TOO_MUCH, Rating, asked, circuits, rating_of
from finsolar.scenario.schema import Generator, System

FRIDGE = Appliance("Refrigerator", 150, 24, 0.4, starting_watts=900, on_backup=1)
PUMP = Appliance("Well pump", 1000, 1, starting_watts=3000, on_backup=1)
LAMPS = Appliance("Lamps", 10, 6, count=8, on_backup=0.5)
HEATER = Appliance("Heater", 1500, 4, months=(0, 1, 11), on_backup=1)
FAN = Appliance("Fan", 1400, 6, months=(5, 6, 7), starting_watts=4000, on_backup=1)
OVEN = Appliance("Oven", 2500, 1)
STRONG = Rating(5000, 7000, "battery", True)


def test_all_that_may_run_at_once_is_summed_and_the_largest_start_comes_on_top() -> None:
    """By hand: 150 + 1,000 + 40 W; the pump's start 2,000 W more; (1.44 + 1 + 0.24) kWh a day over 24 hours."""
    found = asked([FRIDGE, PUMP, LAMPS, OVEN])
    assert (found.running, found.starting) == (1190, 3190) == backup_watts([FRIDGE, PUMP, LAMPS, OVEN])
    assert found.steady == pytest.approx((1.44 + 1.0 + 0.24) / 24 * 1000)
    assert asked([OVEN]) == asked([]) == type(found)(0, 0, 0)


def test_winter_and_summer_never_meet_nor_morning_and_evening() -> None:
    """The heater's months and the fan's are added to the rest one at a time; the worst start is the fan's."""
    found = asked([FRIDGE, HEATER, FAN])
    assert found.running == 150 + 1500
    assert found.starting == 150 + 1400 + 2600
    assert found.steady == pytest.approx((1.44 + 8.4) / 24 * 1000)
    early = Appliance("Toaster", 900, 1, between=(6, 7), on_backup=1)
    late = Appliance("Television", 120, 3, between=(19, 20, 21), on_backup=1)
    assert asked([early, late]).running == 900
    assert asked([early, early]).running == 1800


def test_circuits_go_onto_the_panel_in_the_order_of_the_list_as_long_as_they_fit() -> None:
    """4,000 W: refrigerator, pump and heater are 2,650 W and 4,650 W with the pump's start; so the pump stays off."""
    weak = Rating(4000, 4000, "battery", False)
    found = circuits([FRIDGE, HEATER, PUMP, OVEN, LAMPS], weak)
    assert [(each.name, each.verdict) for each in found] == [
        ("Refrigerator", CARRIED),
        ("Heater", CARRIED),
        ("Well pump", LEFT_OFF),
        ("Lamps", CARRIED),
        ("Oven", TOO_MUCH),
        ("Lamps, the others", ADDED),
    ]
    by_name = {each.name: each for each in found}
    assert (by_name["Well pump"].running, by_name["Well pump"].starting) == (2650, 4650)
    assert (by_name["Lamps"].running, by_name["Lamps"].watts) == (1690, 40)
    assert by_name["Oven"].running == 1690 + 2500
    assert not asked([FRIDGE, HEATER, PUMP, LAMPS]).fits(weak)
    assert [each.name for each in found if each.in_worst_hour] == ["Refrigerator", "Heater", "Well pump", "Lamps"]
    fitting = [each.name for each in found if each.in_worst_hour_of_what_fits]
    assert fitting == ["Refrigerator", "Heater", "Lamps", "Lamps, the others"]


def test_where_nothing_is_left_to_add_what_people_usually_add_stands_in() -> None:
    """Common practice, no source: a washer about 300 W, a coffee maker about 1,100 W, a heater of 1,500 W."""
    found = circuits([FRIDGE, PUMP], Rating(2600, 4600, "battery", True))
    assert [(each.name, each.watts, each.verdict) for each in found if each.usual] == [
        ("Washing machine", 300, ADDED),
        ("Coffee maker", 1100, ADDED),
        ("Space heater", 1500, TOO_MUCH),
    ]
    assert found[-1].running == 150 + 1000 + 300 + 1100 + 1500
    assert not any(each.usual for each in circuits([FRIDGE, OVEN], STRONG))


def test_a_limit_met_exactly_is_enough() -> None:
    found = asked([FRIDGE, PUMP])
    assert found.fits(Rating(1150, 3150, "battery", True))
    assert not found.fits(Rating(1149, 3150, "battery", True))
    assert not found.fits(Rating(1150, 3149, "battery", True))


def system(battery: dict[str, object] | str, inverter: dict[str, object], **more: object) -> System:
    """A system with its inverter and battery."""
    array = {"kw": 5, "tilt": 30, "azimuth": 180}
    return System.model_validate({"arrays": [array], "inverter": inverter, "battery": battery, **more})


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        (rating_of(system({"kwh": 10, "kw": 5}, {"kw": 3}), None, False), Rating(5000, 5000, "battery", False)),
        (
            rating_of(system({"kwh": 10, "kw": 5, "discharge_kw": 4, "short_time_kw": 8}, {"kw": 3}), None, False),
            Rating(4000, 8000, "battery", True),
        ),
        (
            rating_of(system({"kwh": 10, "kw": 5, "coupling": "dc"}, {"kw": 3, "short_time_kw": 6}), None, False),
            Rating(3000, 6000, "inverter", True),
        ),
        (
            rating_of(system({"kwh": 10, "kw": 2.5, "coupling": "dc"}, {"kw": 3}), None, False),
            Rating(2500, 2500, "battery", False),
        ),
        (rating_of(system("none", {"kw": 3}), None, False), None),
        (rating_of(system("none", {"kw": 3}), Generator(kw=6.0, fuel_price=1.0, rise=0.0), False), None),
        (
            rating_of(system("none", {"kw": 3}), Generator(kw=6.0, fuel_price=1.0, rise=0.0), True),
            Rating(6000, 6000, "generator", False),
        ),
        (
            rating_of(
                system({"kwh": 10, "kw": 5}, {"kw": 3}, operation="off grid"),
                Generator(kw=6.0, fuel_price=1.0, rise=0.0),
                False,
            ),
            Rating(6000, 6000, "generator", False),
        ),
        (
            rating_of(
                system({"kwh": 10, "kw": 5}, {"kw": 3}, operation="off grid"),
                Generator(kw=4.0, fuel_price=1.0, rise=0.0),
                False,
            ),
            Rating(5000, 5000, "battery", False),
        ),
    ],
    ids=[
        "own inverter",
        "short time",
        "shared",
        "weaker than the shared",
        "none",
        "beside a grid",
        "beside a grid with fuel",
        "larger",
        "smaller",
    ],
)
def test_what_carries_the_house_is_its_weakest_part(found: Rating | None, expected: Rating | None) -> None:
    assert found == expected
