"""An alternative that builds no system: what it takes over, how it is told, and that it reads back as it was."""

from __future__ import annotations

import pytest
from small_house import Tree, house, house_text

import finsolar
from finsolar.energy.without_grid import NOTHING_BUILT
from finsolar.report.words.checked import checked
from finsolar.scenario.assumed import assumptions
from finsolar.scenario.problems import ScenarioError
from finsolar.scenario.reading import from_text
from finsolar.scenario.stated import statements
from finsolar.uncertainty.outages import with_outages

OTHER_TARIFF: Tree = {
    "name": "Another tariff",
    "system": "none",
    "tariff": {"energy": 0.15},
    "costs": [{"item": "New meter", "category": "service panel", "cost": 300}],
}
TREE: Tree = {
    "upkeep": [{"item": "Washing", "category": "upkeep", "cost": 80}],
    "rebates": [{"item": "Town", "amount": 400}],
    "own_hours": 40,
    "alternatives": [{"name": "Roof"}, OTHER_TARIFF, {"name": "The same, dearer", "like": "Another tariff"}],
}


def test_it_takes_over_nothing_that_belongs_to_a_system() -> None:
    roof, other, like = house(TREE).alternatives
    assert roof.system.built and not other.system.built
    assert [line.item for line in other.costs] == ["New meter"]
    assert (other.upkeep, other.rebates, other.own_hours) == ([], [], 0.0)
    assert roof.own_hours == 40 and len(roof.upkeep) == 1
    assert not like.system.built and like.costs == other.costs  # what is like it has what it has
    assert other.tariff is not None and roof.tariff is not None and len(roof.tariff.energy) == 2


@pytest.mark.parametrize(("shared", "left"), [
    ({"lease": {"monthly": 60, "years": 4}}, "cash"),
    ({"per_kwh": {"price": 0.1, "years": 4}}, "cash"),
    ({"loan": {"rate": "5%", "years": 4}}, "loan"),
])  # fmt: skip
def test_it_pays_no_owner_of_a_system_that_it_does_not_build(shared: Tree, left: str) -> None:
    """Of what the top or its model pays by: a loan may stand for its own lines."""
    like = {"name": "Like the roof", "like": "Roof", "system": "none", "costs": OTHER_TARIFF["costs"]}
    tree = {**TREE, "payment": shared, "alternatives": [*TREE["alternatives"], like]}
    roof, other, _, last = house(tree).alternatives
    assert roof.payment != "cash"
    assert all(plan.payment == "cash" or hasattr(plan.payment, left) for plan in (other, last))
    assert (other.payment == last.payment == "cash") == (left == "cash")


def test_it_lives_on_its_tariff_or_without_one_on_its_generator() -> None:
    _, other, _ = house(TREE).alternatives
    assert other.system.operation == "self-consumption"
    cabin = {**TREE, "tariff": None, "generator": {"kw": 4, "fuel_price": 1.2, "rise": 0}}
    own = {**OTHER_TARIFF, "tariff": None}
    own.pop("tariff")
    roof = {"name": "Roof", "system": {"operation": "off grid"}}
    assert house({**cabin, "alternatives": [roof, own]}).alternatives[1].system.operation == "off grid"


def test_it_is_told_in_a_word() -> None:
    """One statement, none of the defaults of a system, in the JSON the word, and in the check that there is none."""
    scenario = house(TREE)
    rows = {row.field: row.value for row in statements(scenario)}
    assert rows["Another tariff: system"] == "none"
    plain = scenario.model_dump(mode="json", exclude_none=True)
    assert plain["alternatives"][1]["system"] == "none" and plain["alternatives"][0]["system"]["arrays"]
    only = house({**TREE, "alternatives": [OTHER_TARIFF]})
    assert not [row.field for row in assumptions(only) if row.field.startswith("system")]
    assert "Another tariff and The same, dearer: no system is built" in " ".join(checked(scenario).split())


def test_no_rule_and_no_outage_finds_anything_in_it() -> None:
    household = {"income_tax": 9000, "owner_occupied": True}
    tree = {**TREE, "study": {"in_service": "2024-06-01", "years": 3}, "household": household}
    base = with_outages(finsolar.study(house(tree)))
    roof, other, _ = base.results
    assert any(award.amounts.sum() > 1000 for award in roof.awards)
    assert all(award.status == "refused" and not award.amounts.any() for award in other.awards)
    assert any("No system is built" in reason for award in other.awards for reason in award.reasons)
    assert base.outages[1].no_endurance == NOTHING_BUILT


def test_another_tariff_alone_saves_what_its_price_saves() -> None:
    """By hand: every kWh at 15 cents in place of 30 and 12, no sun and no draw."""
    scenario = house(TREE)
    base = finsolar.study(scenario)
    load = base.stay.flows.imported[0].sum()
    assert base.results[1].position.bill.total[0] == pytest.approx(0.15 * load)
    assert base.results[1].appraisal.npv == pytest.approx(
        -300.0
        + sum(
            (base.stay.bill.total[k] - base.results[1].position.bill.total[k]) / 1.05 ** (k + 1)
            for k in range(scenario.study.years)
        )
    )


def test_a_word_that_is_no_system_is_refused_at_its_line() -> None:
    text = house_text({**TREE, "alternatives": [{**OTHER_TARIFF, "system": "nothing"}]})
    with pytest.raises(ScenarioError) as caught:
        from_text(text)
    assert "system: is 'nothing', not a block of fields" in str(caught.value)
