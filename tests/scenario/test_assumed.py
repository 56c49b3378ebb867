"""What a scenario leaves out is listed with its value and its reason; what it states is not."""

from scenario.house import HOUSE, house
from small_house import house as small_house

from finsolar.scenario.assumed import Assumption, assumptions
from finsolar.scenario.reading import from_text


def listed(text: str) -> dict[str, Assumption]:
    """Return the assumptions of a scenario by field."""
    found = assumptions(from_text(text))
    assert len({entry.field for entry in found}) == len(found)
    return {entry.field: entry for entry in found}


def test_defaults_are_listed_with_value_and_reason() -> None:
    """Shares in per cent, truth in words, other numbers plain."""
    found = listed(HOUSE)

    assert found["currency"].value == "USD"
    assert found["household.load.growth"].value == "0%"
    assert found["system.losses"].value == "10%"
    assert found["system.battery.round_trip"].value == "90%"
    assert found["rebates.lowers_basis"].value == "yes"
    assert found["tariff.fixed_rise"].value == "not stated"
    assert all(entry.why for entry in found.values())


def test_what_the_scenario_states_is_no_assumption() -> None:
    """Also where it states the very value of the default."""
    found = listed(house("battery: {kwh: 10, kw: 5}", "battery: {kwh: 10, kw: 5, round_trip: 90%}\n  losses: 10%"))

    assert "system.battery.round_trip" not in found
    assert "system.losses" not in found
    assert "study.years" not in found
    assert "study.inflation" not in found


def test_alternatives_and_cost_lines_share_their_assumptions() -> None:
    """Three alternatives with three lines each rely once on the default residual."""
    fields = list(listed(HOUSE))

    assert fields.count("costs.residual") == 1
    assert fields.count("system.fade") == 1
    assert not any("alternatives" in field for field in fields)


def test_an_assumption_of_one_alternative_only_is_listed() -> None:
    """The top states it; one alternative replaces the block that stated it."""
    assert "payment.loan.fee" in listed(HOUSE)
    assert "payment.loan.fee" not in listed(house("years: 10}", "years: 10, fee: 2%}"))


def test_a_block_left_out_whole_is_listed_in_words() -> None:
    """Without export and purchase, their defaults are told."""
    found = listed(
        house("  export: {scheme: net billing, price: 0.04}\n", "").replace("purchase: {sales_tax: 6%}\n", "")
    )

    assert found["tariff.export"].value == "scheme: none"
    assert found["purchase.sales_tax"].value == "0%"
    assert found["purchase.contingency"].value == "0%"


def test_the_order_is_that_of_the_format() -> None:
    """Study first, then the household, then the tariff."""
    fields = list(listed(house("years: 20, ", "")))

    assert fields.index("study.years") < fields.index("household.load.growth") < fields.index("tariff.fixed_rise")


def test_a_default_has_the_id_of_its_first_place_the_number_of_places_and_how_it_is_known() -> None:
    """What alternatives share is one place; rules of thumb and recalled numbers say that they are."""
    found = listed(HOUSE)

    assert found["household.load.growth"].id == "scenario.household.load.growth"
    residual = found["costs.residual"]
    assert (residual.id, residual.places) == ("scenario.alternatives.0.costs.0.residual", 5)
    assert (found["system.battery.round_trip"].source, found["system.losses"].source) == ("memory", "common practice")
    assert found["household.load.growth"].source == "default"
    assert found["system.losses"].places == 1


def test_the_record_of_outages_is_asked_for_a_house_with_a_grid_alone() -> None:
    """Neither its numbers are assumed without one, nor is it said that none is on hand."""
    kinds = {"household.outage.usual", "household.outage.storms"}
    block = {"household": {"outage": {"load_share": "60%"}}}
    generator = {"kw": 4, "fuel_price": 1.2, "rise": 0}
    on = small_house(block)
    off = small_house({**block, "tariff": None, "generator": generator, "system": {"operation": "off grid"}})
    assert kinds <= {each.field for each in assumptions(on)}
    assert not kinds & {each.field for each in assumptions(off)}
    assert off.household.outage is not None and off.household.outage.usual is off.household.outage.storms is None
    abroad = small_house({**block, "place": {"country": "NL", "region": None}})
    told = {each.field: each.why for each in assumptions(abroad)}
    assert all("no record" in told[field] for field in kinds)
