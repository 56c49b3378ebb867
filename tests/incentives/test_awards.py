"""What rules grant and refuse, the reasons given, and the identities every award keeps."""

from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.incentives.awards import Award, EligibleLine, House, Subsidy, assess, use_credit
from finsolar.incentives.facts import Array
from finsolar.incentives.rulebook import Rule, load_rules, parse_rule

HERE = Path(__file__).parent
LANTERN = (HERE / "lantern-county-battery-credit.yaml").read_text(encoding="utf-8")
FEDERAL = next(rule for rule in load_rules("US") if rule.id == "us/residential-clean-energy-credit")


def line(category: str, cost: Any, sales_tax: Any = 0.0) -> EligibleLine:
    """Return a cost line named after its category."""
    return EligibleLine(category.capitalize(), category, np.asarray(cost, float), np.asarray(sales_tax, float))


def house(completed: date = date(2025, 11, 14), **told: Any) -> House:
    """Return a household that is told everything, but for what `told` changes."""
    facts: dict[str, Any] = {
        "installation_completed": completed,
        "in_service": completed,
        "lives_there": True,
        "income_tax": np.array([40_000.0]),
        "battery_kwh": np.array(13.5),
    }
    return House(**{**facts, **told})


def award(
    of: House, *lines: EligibleLine, rule: Rule = FEDERAL, subsidies: tuple[Subsidy, ...] = (), years: int = 5
) -> Award:
    """Return the award of one rule."""
    return assess([rule], of, lines, subsidies, years)[0]


def steps(of: Award) -> dict[str, Array]:
    """Return the working of an award by label."""
    return {step.label: step.amount for step in of.ledger}


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
    assert "Grant (USD 700) does not lower the basis." in granted.reasons


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
        ({"lives_there": None}, "Fill in household.owner_occupied"),
        ({"lives_there": False}, "a landlord who does not live there never can"),
        ({"battery_kwh": None}, "fill in system.battery.kwh"),
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
    leased = award(house(owned=False), line("modules", 20_000))

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
    small = award(house(battery_kwh=np.array(2.9)), line("battery", 4_000))
    mixed = award(house(battery_kwh=np.array([2.9, 3.0, 10.0])), line("battery", 4_000))

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
    late = house(date(2025, 12, 20), in_service=date(2026, 1, 15))
    calm = assess([FEDERAL], house(date(2025, 11, 14)), [line("modules", 1_000)], [], 5, today=date(2026, 11, 20))
    stale = assess([FEDERAL], house(date(2025, 11, 14)), [line("modules", 1_000)], [], 5, today=date(2028, 1, 1))
    far = award(house(date(2029, 1, 1)), line("modules", 1_000))

    assert "on 15 January 2026 the rule says something else" in award(late, line("modules", 1_000)).reasons[-1]
    assert "Caution" not in " ".join(calm[0].reasons)
    assert "last checked on 1 November 2026, more than a year before 1 January 2028" in stale[0].reasons[-1]
    assert "more than a year before 1 January 2029" in far.reasons[-1]


@pytest.mark.parametrize(("currency", "status"), [("USD", "granted"), (None, "granted"), ("CAD", "unknown")])
def test_money_of_another_currency_is_not_reckoned(currency: str | None, status: str) -> None:
    """A cap or a tax in dollars says nothing about other money, so nothing is granted and nothing refused."""
    told = award(house(currency=currency), line("modules", 10_000))

    assert told.status == status
    assert told.amounts.any() == (status == "granted")
    assert any("reckons in USD, the scenario in CAD" in reason for reason in told.reasons) == (status == "unknown")


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
    text = LANTERN.replace("subsidies_lower_basis: {value: true", "subsidies_lower_basis: {value: false")
    rule = parse_rule(text.replace("event: installation completed", "event: in service"), "lantern")
    moved = house(date(2026, 6, 30), in_service=date(2026, 7, 1))
    gross = award(moved, line("battery", 1_000), rule=rule, subsidies=(Subsidy("Rebate", np.array(400.0), True),))

    assert float(gross.potential) == 225
    assert "In service on 1 July 2026: the share is 22.5%" in gross.reasons[0]
    assert "Rebate (USD 400) does not lower the basis." in gross.reasons


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


def carried_by_hand(potential: float, taxes: list[float], carry_years: float) -> tuple[list[float], float]:
    """Return credit used by year and what is left: a purse emptied into one tax bill after another."""
    purse, used = potential, []
    for age, tax in enumerate(taxes):
        usable = purse if age <= carry_years else 0.0
        payment = tax if tax < usable else usable
        purse -= payment
        used.append(payment)
    return used, purse


@given(
    potential=amounts,
    taxes=st.lists(st.floats(min_value=0, max_value=20_000), min_size=1, max_size=12),
    carry_years=st.one_of(st.integers(min_value=0, max_value=12), st.just(float("inf"))),
)
def test_use_of_a_credit_agrees_with_a_purse_emptied_by_hand(
    potential: float, taxes: list[float], carry_years: float
) -> None:
    """The array recursion is the plain one, year by year."""
    used, left = use_credit(np.array(potential), np.array(taxes), carry_years)
    by_hand, purse = carried_by_hand(potential, taxes, carry_years)

    assert by_hand == pytest.approx(used.tolist())
    assert purse == pytest.approx(float(left))


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
        house(completed, income_tax=np.array(taxes), battery_kwh=np.array(kwh)),
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
        later = working["carried to year 2"] if rule.carry_forward.value else left
        assert working["used in year 1"] + later == pytest.approx(float(found.potential))
        assert working["basis"] * working["share"] + working["cut by the cap"] == pytest.approx(float(found.potential))
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
            house(income_tax=tax[at], battery_kwh=kwh[at]),
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
