"""What rules grant and refuse, the reasons given, and the identities every award keeps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

import invented
import numpy as np
import pytest
from drawn_rules import KINDS, Dice, drawn_rule, drawn_rules, loan_worth_at
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import DAY, SOURCE, awards, line, needs, rule, steps

from finsolar.incentives.awards import Award, assess
from finsolar.incentives.facts import Claimed, EligibleLine, House, Subsidy
from finsolar.incentives.law import Dated, NotYet, Rule, Term, Value
from finsolar.incentives.rulebook import all_rules, load_rules, parse_rule

HERE = Path(__file__).parent
LANTERN = (HERE / "lantern-county-battery-credit.yaml").read_text(encoding="utf-8")
FEDERAL = next(rule for rule in load_rules("US") if rule.id == "us/residential-clean-energy-credit")


def house(completed: date = date(2025, 11, 14), **told: Any) -> House:
    """Return a household that tells what these two rules ask for, but for what `told` changes."""
    return House(
        days={"installation completed": completed, "in service": completed, **told.pop("days", {})},
        facts={"lives there": True, "buys the system": True, **told.pop("facts", {})},
        numbers={"battery kwh": np.array(13.5), **told.pop("numbers", {})},
        taxes={"income tax": told.pop("income_tax", np.array([40_000.0]))},
        **told,
    )


def award(
    of: House,
    *lines: EligibleLine,
    rule: Rule = FEDERAL,
    subsidies: tuple[Subsidy, ...] = (),
    years: int = 5,
) -> Award:
    """Return the award of one rule."""
    return assess([rule], of, lines, subsidies, years)[0]


def test_the_same_house_in_november_2025_and_september_2026() -> None:
    """Finished in time: 30 %. Finished later: nothing, with the law, the day, and what was missed."""
    bill = (line("modules", 22_000, 1_000), line("labour", 7_000))
    before = award(house(date(2025, 11, 14)), *bill)
    after = award(house(date(2026, 9, 1)), *bill)

    assert (before.status, after.status) == ("granted", "refused")
    assert before.amounts.tolist() == [0, 9_000, 0, 0, 0, 0]
    assert after.amounts.tolist() == [0, 0, 0, 0, 0, 0]
    assert (
        "14 November 2025: the share is 30% of the basis from 1 January 2022 to 31 December 2025" in before.reasons[0]
    )
    assert "1 September 2026: not in force, since the rule ended on 31 December 2025" in after.reasons[0]
    assert "Paying earlier does not help" in after.reasons[0]
    assert after.reference == "IRC 25D(h); Pub. L. 119-21 s. 70506"
    assert "by 31 December 2025, the same costs would have had a basis of USD 30,000" in after.reasons[1]
    assert "a potential credit of USD 9,000" in after.reasons[1]


def test_a_day_before_the_first_law_is_not_yet_in_force() -> None:
    """The credit did not exist in 2005: a refusal that says since when it does."""
    early = award(house(date(2005, 12, 31)), line("modules", 10_000))

    assert early.status == "refused"
    assert "not in force, since the rule begins on 1 January 2006" in early.reasons[0]


def test_the_working_adds_up() -> None:
    """Lines, tax and subsidy make the basis; share and cap make the credit; the years use it."""
    granted = award(
        house(income_tax=np.array([5_000.0, 1_000.0, 0.0, 900.0, 0.0])),
        line("modules", 20_000, 1_500),
        line("roof", 6_000, 400),
        subsidies=(
            Subsidy("Utility rebate", np.array(1_500.0), True),
            Subsidy("Grant", np.array(700.0), False),
        ),
    )

    assert {label: float(amount) for label, amount in steps(granted).items()} == pytest.approx(
        {
            "eligible lines": 20_000,
            "sales tax on them": 1_500,
            "less subsidies": -1_500,
            "basis": 20_000,
            "share": 0.3,
            "cut by the cap": 0,
            "potential credit": 6_000,
            "used in year 1": 5_000,
            "carried to year 2": 1_000,
            "used in later years": 1_000,
            "lost": 0,
            "unused at the end of the study": 0,
        }
    )
    assert granted.amounts.tolist() == [0, 5_000, 1_000, 0, 0, 0]
    assert granted.status == "granted"
    assert "Utility rebate (USD 1,500) lowers the basis." in granted.reasons
    assert not any(reason.startswith("Grant") for reason in granted.reasons)


def test_what_is_left_at_the_end_of_the_study_is_said() -> None:
    """An unlimited carry-forward loses nothing, but a short study may end before it is used."""
    partly = award(house(income_tax=np.array([1_000.0])), line("modules", 30_000))

    assert partly.status == "partly"
    assert partly.amounts.tolist() == [0, 1_000, 1_000, 1_000, 1_000, 1_000]
    assert float(steps(partly)["unused at the end of the study"]) == 4_000
    assert "USD 4,000 is still unused at the end of the study, after year 5." in partly.reasons


def test_no_tax_owed_leaves_everything_unused() -> None:
    """Without tax the credit is no cash, but it is not gone either."""
    waiting = award(house(income_tax=np.array([0.0])), line("modules", 30_000))

    assert waiting.status == "partly"
    assert not waiting.amounts.any()
    assert float(steps(waiting)["unused at the end of the study"]) == 9_000


@pytest.mark.parametrize(
    ("told", "words"),
    [
        ({"income_tax": None}, "fill in household.income_tax"),
        ({"facts": {"lives there": None}}, "Fill in household.owner_occupied"),
        ({"facts": {"lives there": False}}, "a landlord who does not live there never can"),
        ({"numbers": {"battery kwh": None}}, "fill in system.battery.kwh"),
    ],
    ids=["income tax", "residence", "landlord or tenant", "battery"],
)
def test_a_fact_not_told_makes_the_answer_unknown(told: dict[str, Any], words: str) -> None:
    """A missing fact is never a quiet zero: the field to fill in is named, and no money is counted."""
    unknown = award(house(**told), line("modules", 20_000), line("battery", 10_000))

    assert unknown.status == "unknown"
    assert not unknown.amounts.any()
    assert float(unknown.potential) > 0
    assert words in " ".join(unknown.reasons)


def test_a_leased_system_gives_the_household_no_credit() -> None:
    """With a lease the household spends nothing on the system."""
    leased = award(house(facts={"buys the system": False}), line("modules", 20_000))

    assert leased.status == "refused"
    assert "lease or a power purchase agreement" in leased.reasons[0]
    assert not leased.potential.any()


@pytest.mark.parametrize(
    ("category", "counted", "words"),
    [
        ("modules", True, "makes electricity"),
        ("inverter", True, "makes electricity"),
        ("racking", True, "makes electricity"),
        ("wiring", True, "wiring that joins"),
        ("labour", True, "paid on-site"),
        ("permits", True, "allowed"),
        ("interconnection", True, "connected"),
        ("shipping", True, "getting the system bought"),
        ("battery", True, "since 2023"),
        ("roof", False, "stay out even where the panels need them"),
        ("tools", False, "tools you keep"),
        ("finance", False, "price of the loan"),
        ("generator", False, "none of the technologies"),
        ("service panel", False, "ask a tax adviser"),
        ("other", False, "name its category"),
        ("gargoyles", False, "does not say whether gargoyles counts"),
    ],
)
def test_each_line_is_told_whether_it_counts(category: str, counted: bool, words: str) -> None:
    """A line is in or out of the basis with its reason, and its sales tax goes with it."""
    verdict = award(house(), line("modules", 1_000), line(category, 500, 50))

    assert (verdict.line_reasons[1].category, verdict.line_reasons[1].counted) == (category, counted)
    assert words in verdict.line_reasons[1].reason
    assert float(verdict.basis) == (1_550 if counted else 1_000)


def test_a_battery_before_2023_does_not_count() -> None:
    """Storage became a category of its own with 2023."""
    bill = (line("modules", 10_000), line("battery", 8_000))
    late_2022, early_2023 = award(house(date(2022, 12, 31)), *bill), award(house(date(2023, 1, 1)), *bill)

    assert (float(late_2022.basis), float(early_2023.basis)) == (10_000, 18_000)
    assert "before 2023" in late_2022.line_reasons[1].reason


def test_a_small_battery_does_not_count() -> None:
    """2.9 kWh are below the 3 kWh a battery needs; in a range of sizes each case is judged by its own."""
    small = award(house(numbers={"battery kwh": np.array(2.9)}), line("battery", 4_000))
    mixed = award(house(numbers={"battery kwh": np.array([2.9, 3.0, 10.0])}), line("battery", 4_000))

    assert small.status == "refused"
    assert "2.9 kWh is below the 3 kWh" in small.line_reasons[0].reason
    assert mixed.potential.tolist() == [0, 1_200, 1_200]
    assert "in 2 of 3 cases" in mixed.line_reasons[0].reason


def test_nothing_that_counts_is_a_refusal() -> None:
    """A bill of lines that are all out grants nothing and says where to look."""
    nothing = award(house(), line("roof", 9_000))

    assert nothing.status == "refused"
    assert "the reason stands beside each line" in " ".join(nothing.reasons)
    assert "decking" in nothing.line_reasons[0].reason


def test_a_subsidy_above_the_cost_leaves_no_basis() -> None:
    """The basis stops at zero."""
    paid = award(house(), line("modules", 1_000), subsidies=(Subsidy("Rebate", np.array(5_000.0), True),))

    assert (paid.status, float(paid.basis), float(paid.potential)) == ("refused", 0, 0)


def test_the_cap_of_2008_is_said_with_its_number() -> None:
    """What the cap cuts off is gone, so the award is partial."""
    capped = award(house(date(2008, 6, 1)), line("modules", 20_000))

    assert capped.status == "partly"
    assert "The cap is USD 2,000, so USD 4,000 is cut off and lost." in " ".join(capped.reasons)
    assert "comes from memory" in " ".join(capped.reasons)
    assert capped.known == "memory"


def test_cautions_on_age_and_on_the_day_of_switching_on() -> None:
    """A rule checked too long ago, and a system switched on under other law, are both pointed out."""
    late = house(date(2025, 12, 20), days={"in service": date(2026, 1, 15)})
    calm = assess([FEDERAL], house(date(2025, 11, 14)), [line("modules", 1_000)], [], 5, today=date(2026, 11, 20))
    stale = assess([FEDERAL], house(date(2025, 11, 14)), [line("modules", 1_000)], [], 5, today=date(2028, 1, 1))
    far = award(house(date(2029, 1, 1)), line("modules", 1_000))

    assert "on 15 January 2026 the rule says something else" in award(late, line("modules", 1_000)).reasons[-1]
    assert "Caution" not in " ".join(calm[0].reasons)
    assert "last checked on 1 November 2026, more than a year before 1 January 2028" in stale[0].reasons[-1]
    assert "more than a year before 1 January 2029" in far.reasons[-1]


def test_awards_keep_the_order_of_their_rules() -> None:
    """One award a rule, first rule first."""
    lantern = parse_rule(LANTERN, "lantern.yaml")
    awards = assess([lantern, FEDERAL], house(), [line("battery", 1_000)], [], 3)

    assert [one.rule_id for one in awards] == ["lantern", "us/residential-clean-energy-credit"]
    assert [one.title for one in awards] == [lantern.title, FEDERAL.title]
    assert [one.checked_on for one in awards] == [lantern.checked_on, FEDERAL.checked_on]


@pytest.mark.parametrize(
    ("carry", "tax", "used", "lost"),
    [
        ("2", [100, 200, 300, 400, 500], [0, 100, 200, 300, 0, 0], 200),
        ("0", [100, 200, 300, 400, 500], [0, 100, 0, 0, 0, 0], 700),
        ("4", [100, 100, 100, 100, 100], [0, 100, 100, 100, 100, 100], 300),
        ("0", [0, 200, 300, 400, 500], [0, 0, 0, 0, 0, 0], 800),
    ],
    ids=["two years", "none", "to the end of the study", "none and no tax"],
)
def test_a_limited_carry_forward_loses_the_rest(carry: str, tax: list[float], used: list[float], lost: float) -> None:
    """After its last year a credit is lost, and that is told apart from what is still waiting."""
    rule = parse_rule(LANTERN.replace("carry_forward: {value: 2", f"carry_forward: {{value: {carry}"), "lantern")
    expiring = award(house(income_tax=np.array(tax, float)), line("battery", 4_000), rule=rule)

    assert expiring.amounts.tolist() == used
    assert float(steps(expiring)["lost"]) == lost
    assert float(steps(expiring)["unused at the end of the study"]) == 0
    assert expiring.status == ("partly" if any(used) else "refused")


def test_a_carry_forward_beyond_the_study_is_unused_not_lost() -> None:
    """Five more years may follow a study of five."""
    rule = parse_rule(LANTERN.replace("carry_forward: {value: 2", "carry_forward: {value: 5"), "lantern")
    waiting = award(house(income_tax=np.array([100.0])), line("battery", 4_000), rule=rule)

    assert (float(steps(waiting)["lost"]), float(steps(waiting)["unused at the end of the study"])) == (
        0,
        300,
    )


def test_a_refundable_credit_needs_no_tax() -> None:
    """It is paid whole with the first return, told or not what tax is owed."""
    rule = parse_rule(LANTERN.replace("refundable: {value: false", "refundable: {value: true"), "lantern")

    for tax in (None, np.array([0.0]), np.array([40_000.0])):
        paid = award(house(income_tax=tax), line("battery", 4_000), rule=rule)
        assert (paid.status, paid.amounts.tolist()) == ("granted", [0, 800, 0, 0, 0, 0])


def test_a_rule_may_ignore_subsidies_or_go_by_the_day_of_switching_on() -> None:
    """Gross basis and the in-service day are choices of the rule file."""
    kept = [text for text in LANTERN.splitlines() if not text.startswith("lowered_by")]
    rule = parse_rule("\n".join(kept).replace("event: installation completed", "event: in service"), "lantern")
    moved = house(date(2026, 6, 30), days={"in service": date(2026, 7, 1)})
    gross = award(moved, line("battery", 1_000), rule=rule, subsidies=(Subsidy("Rebate", np.array(400.0), True),))

    assert float(gross.potential) == 225
    assert "In service on 1 July 2026: the share is 22.5%" in gross.reasons[0]
    assert not any("lowers the basis" in reason for reason in gross.reasons)


@pytest.mark.parametrize(
    ("told", "cost", "words"),
    [
        ({}, -1.0, "finite and not negative"),
        ({}, float("nan"), "finite and not negative"),
        ({"income_tax": np.array([-5.0])}, 1.0, "finite and not negative"),
        ({"income_tax": np.array([1.0, 2.0])}, 1.0, "last axis of 1 or 5 years"),
        ({"income_tax": np.array(1.0)}, 1.0, "last axis of 1 or 5 years"),
    ],
    ids=["negative cost", "no number", "negative tax", "tax of two years", "tax without years"],
)
def test_amounts_that_cannot_be_are_refused(told: dict[str, Any], cost: float, words: str) -> None:
    """Bad money is an error of the caller, not an award."""
    with pytest.raises(ValueError, match=words):
        award(house(**told), line("modules", cost))


def test_a_study_of_no_years_is_refused() -> None:
    """There must be a year for the credit to arrive in."""
    with pytest.raises(ValueError, match="at least one year"):
        award(house(), line("modules", 1.0), years=0)


amounts = st.floats(min_value=0, max_value=80_000)
days = st.dates(min_value=date(2004, 1, 1), max_value=date(2028, 12, 31))


@given(
    completed=days,
    modules=amounts,
    sales_tax=st.floats(min_value=0, max_value=5_000),
    roof=amounts,
    battery=amounts,
    kwh=st.floats(min_value=0, max_value=30),
    subsidy=amounts,
    lowers=st.booleans(),
    taxes=st.lists(st.floats(min_value=0, max_value=20_000), min_size=6, max_size=6),
    rule=st.sampled_from([FEDERAL, parse_rule(LANTERN, "lantern")]),
)
def test_no_award_exceeds_its_bounds_and_none_of_it_vanishes(
    completed: date,
    modules: float,
    sales_tax: float,
    roof: float,
    battery: float,
    kwh: float,
    subsidy: float,
    lowers: bool,
    taxes: list[float],
    rule: Rule,
) -> None:
    """No year above its tax, no total above the potential, none above the basis; used + left = potential."""
    found = award(
        house(completed, income_tax=np.array(taxes), numbers={"battery kwh": np.array(kwh)}),
        line("modules", modules, sales_tax),
        line("roof", roof),
        line("battery", battery),
        rule=rule,
        subsidies=(Subsidy("Subsidy", np.array(subsidy), lowers),),
        years=6,
    )
    working = steps(found)
    counted = sum(
        {"modules": modules + sales_tax, "roof": roof, "battery": battery}[one.category]
        for one in found.line_reasons
        if one.counted
    )

    assert found.amounts[0] == 0
    assert (found.amounts[1:] <= np.array(taxes)).all() and (found.amounts >= 0).all()
    assert 0 <= found.potential <= found.basis <= counted + 1e-9
    assert found.amounts.sum() <= found.potential * (1 + 1e-12) + 1e-9
    if working:
        left = working["lost"] + working["unused at the end of the study"]
        assert found.amounts.sum() + left == pytest.approx(float(found.potential))
        later = working["carried to year 2"]
        assert working["used in year 1"] + later == pytest.approx(float(found.potential))
        too_much = working.get("cut, since awards cannot exceed the cost", 0.0)
        cut = working["cut by the cap"] + too_much
        assert working["basis"] * working["share"] + cut == pytest.approx(float(found.potential))
    else:
        assert found.status == "refused" and not found.amounts.any()
    assert (found.status == "granted") <= bool(found.amounts.any())


@pytest.mark.parametrize("shape", [(3,), (2, 3), (4, 1)], ids=str)
def test_many_cases_at_once_are_each_case_alone(shape: tuple[int, ...]) -> None:
    """Leading axes change nothing but the number of answers."""
    rng = np.random.default_rng(5)
    cost, tax = rng.uniform(5_000, 40_000, shape), rng.uniform(0, 4_000, (*shape, 6))
    kwh, subsidy = rng.uniform(1, 6, shape), rng.uniform(0, 2_000, shape)

    def ask(at: Any) -> Award:
        return award(
            house(income_tax=tax[at], numbers={"battery kwh": kwh[at]}),
            line("modules", cost[at], 0.05 * cost[at]),
            line("battery", 7_000),
            subsidies=(Subsidy("Rebate", subsidy[at], True),),
            years=6,
        )

    together = ask(...)

    assert together.amounts.shape == (*shape, 7)
    for at in np.ndindex(*shape):
        alone = ask(at)
        np.testing.assert_array_equal(together.amounts[at], alone.amounts)
        np.testing.assert_array_equal(together.basis[at], alone.basis)
        np.testing.assert_array_equal(together.potential[at], alone.potential)
        for label, amount in steps(alone).items():
            np.testing.assert_array_equal(steps(together)[label][at], amount, err_msg=label)


def test_cases_that_differ_in_one_fact_only_broadcast() -> None:
    """Costs without cases meet income tax with cases, and the words give the range."""
    spread = award(house(income_tax=np.array([[1_000.0], [5_000.0]])), line("modules", 30_000))

    assert spread.amounts.shape == (2, 6)
    assert spread.amounts[:, 1].tolist() == [1_000, 5_000]
    assert "USD 1,000 to 5,000 comes with the return of year 1." in " ".join(spread.reasons)
    assert spread.status == "partly"


def test_rules_that_cannot_be_combined_are_never_both_paid() -> None:
    """The one worth more stands; the other says which one, and how to turn it round."""
    small = rule("upfront rebate", "town/small", fixed=500.0)
    large = rule("upfront rebate", "town/large", fixed=800.0, terms={"excludes": ("town/small",)})
    found = awards([small, large])

    assert (found["town/small"].status, found["town/large"].amounts[0]) == ("refused", 800)
    assert "cannot be combined with The town/large rule, which is worth no less here" in found["town/small"].reasons[-1]
    turned = awards([small, large], invented.house(claims={"town/large": {"claim": False}}))
    assert (turned["town/small"].amounts[0], turned["town/large"].status) == (500, "refused")


def test_each_of_a_pair_is_valued_as_if_the_other_were_not_there() -> None:
    """4,000 at once, or 20 % of the whole price: 5,000, though 4,200 where the rebate lowers it."""
    rebate = rule("upfront rebate", "town/rebate", fixed=4_500.0)
    terms = {"excludes": ("town/rebate",), "lowered_by": ("price reductions",)}
    found = awards([rebate, rule("tax credit", share=0.2, terms=terms)])

    assert (float(found["town/rebate"].amounts.sum()), float(found["town/one"].amounts.sum())) == (0, 5_000)


def test_a_rule_that_pays_nothing_shuts_nobody_out() -> None:
    """Refused or not known, it leaves the other alone."""
    small = rule("upfront rebate", "town/small", fixed=500.0, terms={"excludes": ("town/large", "town/elsewhere")})
    for asked in (needs("off grid"), needs("off grid", "unknown")):
        large = rule("upfront rebate", "town/large", fixed=800.0, conditions=(asked,))
        found = awards([small, large])
        assert (found["town/small"].amounts[0], found["town/large"].amounts.any()) == (500, False)


def test_what_an_ended_credit_would_have_been_takes_no_tax_from_others() -> None:
    """It is told, and the credits before and after it use the same tax as without it."""
    terms = {"carry_forward": 1.0}
    ended = rule("tax credit", "town/b", share={date(2020, 1, 1): 0.3, DAY: "ended"}, terms=terms)
    others = [rule("tax credit", f"town/{name}", fixed=900.0, terms=terms) for name in "ac"]
    tight = invented.house(taxes={"income tax": [1_000.0]})
    without, beside = awards(others, tight), awards([*others, ended], tight)

    assert "a potential credit of USD 7,500" in " ".join(beside["town/b"].reasons)
    for name in ("town/a", "town/c"):
        assert beside[name].amounts.tolist() == without[name].amounts.tolist()
    assert without["town/c"].amounts.tolist() == [0, 100, 800, 0, 0, 0, 0]


@settings(max_examples=25)
@given(random=st.randoms(use_true_random=True))
def test_of_drawn_rules_no_excluded_pair_is_paid(random: Random) -> None:
    """Up to four rules, each of which may exclude any other."""
    dice = Dice(random)
    for _ in range(5):
        rules = drawn_rules(dice)
        ids = [one.id for one in rules]
        rules = [
            replace(one, excludes=Term((random.choice(ids),), "Not together.", SOURCE))
            if random.random() < 0.6 and one.excludes is None
            else one
            for one in rules
        ]
        rules = [one for one in rules if one.excludes is None or one.id not in one.excludes.value]
        found = awards(rules, told_house(dice, ()))
        for one in rules:
            for other in () if one.excludes is None else one.excludes.value:
                pair = [one.id, *([other] if other in found else [])]
                assert len(pair) < 2 or sum(found[name].amounts.any() or found[name].worth.any() for name in pair) < 2


def told_house(dice: Dice, shape: tuple[int, ...]) -> House:
    """Return a house that tells everything, each number a case of its own."""
    uniform = np.random.default_rng(dice.random.randint(0, 2**31)).uniform

    def claim() -> dict[str, Any]:
        return {
            "confirmed": True,
            "funds": True,
            "refundable": dice.chance(0.5),
            "taxed": True,
            "kw": uniform(0, 6, shape),
            "used_before": uniform(0, 500, shape),
            "price": uniform(0, 90, (*shape, 6)),
            "zone": "3",
        }

    return invented.house(
        # A ceiling on power is one for all cases, so power stays on one side of those that are drawn.
        numbers={
            "solar kw": uniform(4, 7.9, shape),
            "battery kwh": uniform(1, 15, shape),
            "income": uniform(0, 2e5, shape),
        },
        taxes={name: uniform(0, 3_000, (*shape, 6)) for name in ("income tax", "state income tax")},
        marginal={name: uniform(0, 0.5, shape) for name in ("income tax", "state income tax")},
        business_use=uniform(0, 0.6, shape),
        generation=uniform(0, 9_000, (*shape, 6)),
        exported=uniform(0, 5_000, (*shape, 6)),
        property_tax=uniform(0, 500, (*shape, 6)),
        battery_kw=uniform(0, 6, shape),
        battery_usable_kwh=uniform(0, 12, shape),
        loan_worth=loan_worth_at(0.06),
        claims={name: claim() for name in ("town/0", "town/1/a", "town/1/b", "town/2")},
    )


def at_case(of: House, at: tuple[int, ...]) -> House:
    """Return one case of a house."""

    def one(value: Any) -> Any:
        return value[at] if isinstance(value, np.ndarray) and value.ndim >= len(at) else value

    def each(values: Mapping[str, Any]) -> dict[str, Any]:
        return {name: one(value) for name, value in values.items()}

    told = {name: one(value) for name, value in vars(of).items()}
    told |= {name: each(getattr(of, name)) for name in ("numbers", "taxes", "marginal")}
    return House(**{**told, "claims": {name: Claimed(**each(vars(claim))) for name, claim in of.claims.items()}})


@pytest.mark.parametrize("shape", [(3,), (2, 3)], ids=str)
@pytest.mark.parametrize("kind", [*KINDS, ""])
def test_every_kind_answers_many_cases_as_it_does_each_alone(kind: str, shape: tuple[int, ...]) -> None:
    """One rule of a kind, or several of any kind together; whatever varies, varies in every number at once."""
    dice = Dice(Random(f"{kind}{shape}"))
    paid = False
    for _ in range(12):
        rules = [drawn_rule(dice, kind=kind)] if kind else drawn_rules(dice)
        # Which of two that exclude one another stands is settled for all cases at once.
        rules = [replace(one, excludes=None) for one in rules]
        uniform = np.random.default_rng(dice.random.randint(0, 2**31)).uniform
        many = told_house(dice, shape)
        cost, tax, given_by = uniform(1_000, 9_000, (2, *shape)), uniform(10, 900, (2, *shape)), uniform(0, 900, shape)

        def ask(of: House, at: Any, one: Any = (rules, cost, tax, given_by)) -> list[Award]:
            rules, cost, tax, given_by = one
            lines = [line("modules", cost[0][at], tax[0][at]), line("battery", cost[1][at], tax[1][at])]
            return assess(rules, of, lines, [Subsidy("Help", np.asarray(given_by[at]), True)], 6)

        together = ask(many, ...)
        paid |= any(one.amounts.any() or one.worth.any() for one in together)
        for at in np.ndindex(*shape):
            for one, alone in zip(together, ask(at_case(many, at), at), strict=True):
                for name in ("amounts", "tax", "worth", "potential"):
                    np.testing.assert_allclose(
                        getattr(one, name)[at],
                        getattr(alone, name),
                        rtol=1e-12,
                        atol=1e-9,
                        err_msg=f"{one.rule_id} {name}",
                    )
    assert paid or kind in {"income tax exemption", "owner's credit"}


def shipped_changes() -> list[tuple[Rule, date]]:
    """Return every shipped rule with each day on which something of it changes."""
    return [(one, day) for one in all_rules() for day in one.changes()]


@pytest.mark.parametrize(
    ("of", "day"), shipped_changes(), ids=lambda value: value.id if isinstance(value, Rule) else str(value)
)
def test_a_value_is_used_from_its_own_day_and_never_before_or_after_its_time(of: Rule, day: date) -> None:
    """On a change day what starts there holds; the eve still has what held before; no later day goes back to it."""
    for dated in of.parameters.values():
        starts = [entry.start for entry in dated.entries]
        found = {when: dated.at(when) for when in (day - timedelta(days=1), day, day + timedelta(days=4_000))}
        for when, entry in found.items():
            begun = [start for start in starts if start <= when]
            if begun:
                assert not isinstance(entry, NotYet) and entry.start == max(begun)
            else:
                assert isinstance(entry, NotYet) and entry.first == min(starts)


@pytest.mark.parametrize(
    ("of", "day"), shipped_changes(), ids=lambda value: value.id if isinstance(value, Rule) else str(value)
)
def test_an_award_on_the_eve_and_on_the_day_goes_by_the_law_of_that_day_alone(of: Rule, day: date) -> None:
    """With every later entry cut away the answer is the same, and with every earlier one gone it is too."""
    for when in (day - timedelta(days=1), day):
        told = invented.house(
            when,
            currency=of.currency,
            claims={of.id: {"confirmed": True, "funds": True, "kw": 2.0, "price": [30.0], "zone": "3"}},
            loan_worth=loan_worth_at(0.06),
        )
        event = told.day(of.event)
        parts = {name: _around(dated, event) for name, dated in of.parameters.items()}
        alone = replace(of, parameters={name: dated for name, dated in parts.items() if dated is not None})
        if of.lead not in alone.parameters:
            assert invented.award(of, told).status == "refused"
            continue
        whole, held = invented.award(of, told), invented.award(alone, told)
        in_force = isinstance(of.leading.at(event), Value)
        assert (whole.status, in_force or not whole.amounts.any()) == (held.status, True)
        np.testing.assert_array_equal(whole.amounts, held.amounts)
        np.testing.assert_array_equal(whole.worth, held.worth)


def _around(dated: Dated, day: date) -> Dated | None:
    """Return a parameter with only the entry that holds on a day; None if none does."""
    held = [entry for entry in dated.entries if entry.start <= day][-1:]
    return replace(dated, entries=tuple(held)) if held else None
