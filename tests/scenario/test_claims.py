"""What rules are told: claims by rule, rules written out or in files, the days and hands of the work."""

import datetime as dt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from ruamel.yaml import YAML
from scenario.house import FULL, HOUSE, house, line_of

from finsolar.scenario.assumed import assumptions
from finsolar.scenario.numbers import Range, settled
from finsolar.scenario.problems import ScenarioError
from finsolar.scenario.reading import from_text, read
from finsolar.scenario.schema import Borrowing, Lease, PerKwh, RawRule, Scenario

CLAIM = "yard/battery-rebate"


def faults(text: str) -> list[tuple[str, str]]:
    """Return field and code of each fault of a text."""
    with pytest.raises(ScenarioError) as caught:
        from_text(text, "house.yaml")
    return [(problem.field, problem.code) for problem in caught.value.problems]


def written_out(scenario: Scenario) -> RawRule:
    """Return the only rule that a scenario holds itself."""
    (rule,) = (rule for rule in scenario.rules if isinstance(rule, RawRule))
    return rule


def test_nothing_is_told_unless_it_is_written() -> None:
    """Neither claims, rules, days, hands nor facts of the household; no business, no tax on services."""
    scenario = from_text(HOUSE)
    household, plan = scenario.household, scenario.alternatives[0]

    assert (scenario.claims, scenario.rules) == ({}, [])
    assert set(plan.dates.model_dump().values()) == {None}
    assert (plan.installer, plan.purchase.services_tax, household.business_use) == (None, 0.0, 0.0)
    told = ("state_income_tax", "marginal_tax", "state_marginal_tax", "itemises", "income", "main_home", "new_home")
    assert {getattr(household, name) for name in (*told, "property_tax")} == {None}


def test_a_claim_holds_what_its_rule_asks_and_nothing_else() -> None:
    """Ranges stay ranges, a zone is a name whether it looks like a number or not."""
    claims = from_text(FULL).claims

    assert list(claims) == ["us/residential-clean-energy-credit", CLAIM]
    assert claims["us/residential-clean-energy-credit"].claim is False
    own = claims[CLAIM]
    assert (own.claim, own.confirmed, own.funds, own.refundable, own.taxed) == (True, True, None, None, None)
    assert (own.kw, own.zone, own.used_before) == (Range("from, to", (3.0, 5.0)), "3", None)
    assert own.price == [38.0, Range("low, likely, high", (30.0, 36.0, 40.0))]
    assert from_text(HOUSE + 'claims: {x: {zone: "north 2"}}\n').claims["x"].zone == "north 2"


def test_numbers_of_claims_are_settled_and_chosen_by_their_path() -> None:
    """An id may hold a stroke; a batch of values stands where the number stood."""
    scenario = from_text(FULL)

    plain = settled(scenario)
    assert (plain.claims[CLAIM].kw, plain.claims[CLAIM].price) == (4.0, [38.0, 36.0])
    assert settled(plain) is plain

    draws = np.array([[3.0], [4.5]])
    chosen = settled(scenario, {f"claims.{CLAIM}.kw": draws, f"claims.{CLAIM}.price.0": 40.0})
    assert chosen.claims[CLAIM].kw is draws
    assert chosen.claims[CLAIM].price == [40.0, 36.0]
    assert chosen.claims["us/residential-clean-energy-credit"] is scenario.claims["us/residential-clean-energy-credit"]
    assert scenario.claims[CLAIM].kw == Range("from, to", (3.0, 5.0))
    with pytest.raises(ValueError, match=r"the scenario has no claims\.us/other\.kw"):
        settled(scenario, {"claims.us/other.kw": 1.0})


def test_a_fault_of_a_claim_found_later_is_told_at_its_line() -> None:
    """Also of the claim as a whole, whose rule may not be there."""
    origin = from_text(FULL, "yard.yaml").origin
    line = line_of(FULL, f"  {CLAIM}: {{confirmed")

    for path in (f"claims.{CLAIM}", f"claims.{CLAIM}.kw", f"claims.{CLAIM}.price.1.likely"):
        (found,) = origin.refusal(path, "is odd", "mend it", "odd").problems
        assert (found.line, found.field) == (line, path.replace(".1.", "[2]."))


def test_a_rule_written_out_is_what_yaml_makes_of_it() -> None:
    """Days stay days, also as names of fields; shares stay words, numbers numbers."""
    text = FULL[FULL.index("rules:") : FULL.index("claims:")]
    loaded: dict[str, Any] = YAML(typ="safe", pure=True).load(text)

    scenario = from_text(FULL)

    assert scenario.rules[0] == "yard-rules"
    rule = written_out(scenario)
    assert rule.data == loaded["rules"][1]
    assert [type(day) for day in rule.data["parameters"]["fixed"]["values"]] == [dt.date, dt.date]
    assert (rule.id, rule.path) == (CLAIM, "rules.1")
    assert written_out(settled(scenario)) == rule
    assert written_out(Scenario.model_validate(scenario.model_copy().__dict__)) == rule


def test_a_day_that_the_calendar_lacks_stays_words() -> None:
    """Whoever reads the rule refuses it, with its line; a longer text that begins with a day is no day."""
    rule = "{id: x, values: {2026-02-30: 1}, note: 2026-01-01 or later, days: [2026-01-01]}"

    data = written_out(from_text(HOUSE + f"rules: [{rule}]\n")).data

    assert list(data["values"]) == ["2026-02-30"]
    assert (data["note"], data["days"]) == ("2026-01-01 or later", [dt.date(2026, 1, 1)])


@pytest.mark.parametrize(
    ("steps", "part", "name"),
    [
        ((), "title: Battery rebate", ""),
        (("title",), "title: Battery rebate", ".title"),
        (("parameters", "fixed", "values", dt.date(2027, 1, 1)), "parameters:", ".parameters.fixed.values.2027-01-01"),
        (("notes", 0), "notes:", ".notes[1]"),
        (("parameters", "share"), "parameters:", ".parameters.share"),
        (("reference",), "id: yard", ".reference"),
    ],
)
def test_each_place_of_a_rule_written_out_has_its_line(steps: tuple[object, ...], part: str, name: str) -> None:
    """Of what is missing the line is that of the block that lacks it."""
    line, field = from_text(FULL).origin.place_of(("rules", 1, *steps))

    assert (line, field) == (line_of(FULL, "- id: yard" if not steps else part), f"rules[2]{name}")


def test_what_stands_nowhere_has_no_line() -> None:
    """Not even that of a block around it."""
    assert from_text(HOUSE).origin.place_of(("rules", 1, "title")) == (0, "rules.1.title")


def test_rules_in_files_are_looked_for_beside_the_scenario(tmp_path: Path) -> None:
    """A path may lead out of the folder, as that of any file that a scenario names."""
    path = tmp_path / "house.yaml"
    path.write_text(HOUSE + "rules: [../shared rules, credit.yaml]\n")

    scenario = read(path)

    assert [scenario.origin.beside(str(rule)) for rule in scenario.rules] == [
        tmp_path / "../shared rules",
        tmp_path / "credit.yaml",
    ]


def test_days_merge_field_by_field_and_the_installer_is_inherited() -> None:
    """An alternative keeps the days it does not state."""
    _, recorded, heir, _, off_grid = from_text(FULL).alternatives
    contract, permission, purchase = dt.date(2026, 6, 15), dt.date(2026, 9, 20), dt.date(2026, 7, 1)

    for plan, bought in ((recorded, purchase), (heir, purchase), (off_grid, None)):
        dates = plan.dates
        assert (dates.contract, dates.permission_to_operate, dates.purchase) == (contract, permission, bought)
    assert [plan.installer for plan in (recorded, off_grid)] == ["licensed contractor", "own labour"]


@pytest.mark.parametrize("day", ["contract", "purchase"])
def test_what_is_agreed_is_agreed_before_the_work_is_done(day: str) -> None:
    """By the day of completion of each alternative; the same day will do."""
    text = house(more=f"  - {{name: Later, in_service: 2026-12-01, dates: {{{day}: 2026-12-01}}}}\n")

    assert getattr(from_text(text).alternatives[3].dates, day) == dt.date(2026, 12, 1)
    found = faults(text.replace("in_service: 2026-12-01", "in_service: 2026-11-30"))
    assert found == [(f"alternatives[4].dates.{day}", "order-of-days")]


@pytest.mark.parametrize(
    "day", ["electrical_certificate", "commissioning", "permission_to_operate", "registration", "claim"]
)
def test_other_days_may_come_after_the_work(day: str) -> None:
    """A certificate, a permission or a claim often does."""
    plan = from_text(HOUSE + f"dates: {{{day}: 2027-03-01}}\n").alternatives[0]

    assert getattr(plan.dates, day) == dt.date(2027, 3, 1)


def test_each_way_to_pay_is_known_by_its_own_word_and_drives_out_an_inherited_one() -> None:
    """A loan at the top does not linger in a lease, nor a lease in a loan."""
    more = (
        "payment: {loan: {rate: 6%, years: 5}}\n"
        "alternatives:\n"
        "  - {name: Loan}\n"
        "  - {name: Lease, payment: {lease: {monthly: 90, rise: 2%, years: 30, buyout: 100}}}\n"
        "  - {name: Energy, like: Lease, payment: {per_kwh: {price: {from: 0.1, to: 0.2}, years: 15}}}\n"
        "  - {name: Shorter, like: Energy, payment: {per_kwh: {price: 0.3, years: 10}}}\n"
        "  - {name: Cash, like: Energy, payment: cash}\n"
        "  - {name: Loan again, like: Energy, payment: {loan: {rate: 3%, years: 2}}}\n"
    )
    scenario = from_text(HOUSE[: HOUSE.index("alternatives:")] + more)
    ways = [plan.payment for plan in scenario.alternatives]

    assert [type(way) for way in ways] == [Borrowing, Lease, PerKwh, PerKwh, str, Borrowing]
    _, lease, energy, shorter, _, _ = ways
    assert isinstance(lease, Lease) and isinstance(energy, PerKwh) and isinstance(shorter, PerKwh)
    terms = lease.lease
    assert (terms.monthly, terms.rise, terms.years, terms.buyout) == (90.0, 0.02, 30, 100.0)
    assert (energy.per_kwh.rise, energy.per_kwh.years, energy.per_kwh.buyout) == (0.0, 15, None)
    assert (shorter.per_kwh.price, shorter.per_kwh.years) == (0.3, 10)
    assert Scenario.model_validate(scenario.model_copy().__dict__).alternatives == scenario.alternatives
    rows = {row.field: row.value for row in assumptions(scenario)}
    assert rows["payment.per_kwh.rise"] == "0%" and "payment.lease.rise" not in rows


def test_no_term_of_one_contract_slips_into_another() -> None:
    """A dealer's fee and what is paid in stay with the loan that has them, though the next one is also a loan."""
    more = (
        "alternatives:\n"
        "  - {name: Dealer, payment: {loan: {rate: 4%, years: 9, dealer_fee: 9%, paydown: {awards: 9%, month: 9}}}}\n"
        "  - {name: Bank, like: Dealer, payment: {loan: {rate: 7%, years: 10}}}\n"
    )
    _, bank = from_text(HOUSE[: HOUSE.index("alternatives:")] + more).alternatives
    assert isinstance(bank.payment, Borrowing)
    assert (bank.payment.loan.dealer_fee, bank.payment.loan.paydown) == (0.0, None)


@pytest.mark.parametrize("lines", ["costs", "upkeep", "rebates"])
def test_an_empty_list_takes_no_inherited_line_over(lines: str) -> None:
    """The owner of a leased system pays what the household else would; an heir inherits the emptiness."""
    text = house(more=f"  - {{name: Bare, {lines}: []}}\n  - {{name: Barer, like: Bare, own_hours: 1}}\n")
    top, *_, bare, barer = from_text(text).alternatives

    assert getattr(top, lines) != [] == getattr(bare, lines) == getattr(barer, lines)
    kept = {"costs", "upkeep", "rebates"} - {lines}
    assert all(getattr(bare, name) == getattr(top, name) for name in kept)


def test_no_use_for_business_and_no_tax_on_services_are_assumed_with_a_reason() -> None:
    """Both are told once; who states them assumes nothing."""
    found = {row.field: row for row in assumptions(from_text(HOUSE))}

    for field in ("household.business_use", "purchase.services_tax"):
        assert found[field].value == "0%"
        assert found[field].why
    stated = {row.field for row in assumptions(from_text(FULL))}
    assert not {"household.business_use", "purchase.services_tax"} & stated
