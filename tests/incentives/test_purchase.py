"""Awards of the purchase: what each is made of, its caps in their order, when it comes, and how far it can go."""

from __future__ import annotations

from random import Random
from typing import Any

import numpy as np
import pytest
from drawn_rules import Dice, drawn_bill, drawn_helps, drawn_home, drawn_rule, drawn_rules
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import BILL, NO_LIMIT, award, awards, house, line, rule, said, steps, subsidy
from test_awards_against_oracle import engine

from finsolar.incentives.law import UPFRONT, Band

CREDIT = {"refundable": "no", "carry_forward": NO_LIMIT, "against": "income tax"}


@pytest.mark.parametrize(
    ("parameters", "amount"),
    [
        ({"share": 0.3}, 7_500),
        ({"per_kw": 200.0}, 1_600),
        ({"per_kwh": 150.0}, 1_500),
        ({"fixed": 900.0}, 900),
        ({"share": 0.1, "per_kw": 100.0, "per_kwh": 50.0, "fixed": 25.0}, 2_500 + 800 + 500 + 25),
    ],
    ids=lambda value: "+".join(value) if isinstance(value, dict) else "",
)
@pytest.mark.parametrize("kind", ["tax credit", "upfront rebate"])
def test_several_amounts_add_up(kind: str, parameters: dict[str, float], amount: float) -> None:
    """8 kW, 10 kWh, and 25,000 that count."""
    granted = award(rule(kind, **parameters))

    assert granted.amounts.sum() == pytest.approx(amount)
    assert granted.status == "granted"


@pytest.mark.parametrize(
    ("cap", "left"),
    [
        ({"cap_per_kw": 100.0}, 800),
        ({"cap_per_kwh": 90.0}, 900),
        ({"cap": 1_100.0}, 1_100),
        ({"cap_share_of_cost": 0.04}, 1_000),
        ({"lifetime_cap": 1_300.0}, 1_300),
        ({"yearly_cap": 700.0}, 700),
        ({"cap": 1_100.0, "cap_per_kw": 130.0, "cap_share_of_cost": 0.05}, 1_040),
        ({"cap": NO_LIMIT, "cap_per_kw": NO_LIMIT, "cap_share_of_cost": NO_LIMIT, "lifetime_cap": NO_LIMIT}, 7_500),
    ],
    ids=lambda value: "+".join(value) if isinstance(value, dict) else "",
)
def test_each_cap_cuts(cap: dict[str, float], left: float) -> None:
    """Of 7,500: a cap by size, of money, of cost, of a lifetime, of a year; the least of them holds."""
    terms = {"over_yearly_cap": "lost"} if "yearly_cap" in cap else {}
    granted = award(rule("tax credit", share=0.3, terms=terms, **cap))

    assert granted.amounts.sum() == pytest.approx(left)
    assert float(granted.potential) == pytest.approx(left)
    assert granted.status == ("granted" if left == 7_500 else "partly")
    assert ("is cut off and lost" in said(granted)) == (left != 7_500)


@pytest.mark.parametrize("cap", ["cap_per_kw", "cap_per_kwh", "cap_share_of_cost"])
def test_no_limit_for_a_size_of_nothing_is_no_limit(cap: str) -> None:
    """A rule without that limit grants its fixed amount to a house without solar, battery or counted cost."""
    open_ended = rule("upfront rebate", fixed=300.0, **{cap: NO_LIMIT})
    bare = house(numbers={"solar kw": 0.0, "battery kwh": 0.0})

    assert award(open_ended, bare, [line("roof", 2_000)]).amounts[0] == 300


def test_what_was_used_before_counts_towards_a_lifetime() -> None:
    """1,000 for life, 750 of it used."""
    limited = rule("tax credit", share=0.3, lifetime_cap=1_000.0)
    granted = award(limited, house(claims={"town/one": {"used_before": [0.0, 750.0, 1_200.0]}}))

    assert granted.amounts.sum(axis=-1).tolist() == [1_000, 250, 0]
    assert "of the lifetime cap of USD 1,000 was used before" in said(granted)


@pytest.mark.parametrize(
    ("over", "amounts"), [("carried", [0, 600, 600, 600, 0, 0, 0]), ("lost", [0, 600, 0, 0, 0, 0, 0])]
)
def test_a_cap_of_each_year_carries_on_or_cuts(over: str, amounts: list[float]) -> None:
    """A yearly cap is no cap on the whole, unless what passes it is lost."""
    granted = award(
        rule("tax credit", fixed=5_000.0, yearly_cap=600.0, terms={"carry_forward": 2.0, "over_yearly_cap": over})
    )

    assert granted.amounts.tolist() == amounts
    assert granted.status == "partly"


def test_a_cap_of_each_year_holds_for_a_refund_too() -> None:
    """A refundable credit needs no tax, but its yearly cap still spreads it."""
    terms = {"refundable": "yes", "carry_forward": 3.0, "over_yearly_cap": "carried"}
    granted = award(
        rule("tax credit", fixed=1_400.0, yearly_cap=600.0, terms=terms), house(taxes={"income tax": [0.0]})
    )

    assert granted.amounts.tolist() == [0, 600, 600, 200, 0, 0, 0]
    assert granted.status == "granted"


@pytest.mark.parametrize("share", [0.5, NO_LIMIT])
def test_a_share_of_the_tax_limits_each_year(share: float) -> None:
    """Half of each year's tax, or all of it; a year without tax takes nothing."""
    taxes = [1_000.0, 0.0, 400.0, 0.0, 0.0, 0.0]
    granted = award(
        rule("tax credit", fixed=5_000.0, yearly_share_of_tax=share, terms=CREDIT), house(taxes={"income tax": taxes})
    )

    assert granted.amounts.tolist() == [0, *(tax * min(share, 1.0) for tax in taxes)]


def test_no_limit_of_a_year_is_no_limit() -> None:
    """A yearly cap that was lifted cuts nothing and says nothing."""
    terms = {**CREDIT, "over_yearly_cap": "carried"}
    granted = award(rule("tax credit", fixed=5_000.0, yearly_cap=NO_LIMIT, terms=terms))

    assert granted.amounts.tolist() == [0, 5_000, 0, 0, 0, 0, 0]
    assert "No year takes more" not in said(granted)


@pytest.mark.parametrize(
    ("refundable", "elected", "amounts"),
    [
        ("no", None, [0, 300, 300, 300, 300, 300, 300]),
        ("yes", None, [0, 4_000, 0, 0, 0, 0, 0]),
        ("elective", None, [0, 300, 300, 300, 300, 300, 300]),
        ("elective", False, [0, 300, 300, 300, 300, 300, 300]),
        ("elective", True, [0, 2_800, 0, 0, 0, 0, 0]),
    ],
)
def test_a_refund_needs_no_tax_and_may_cost_a_part(refundable: str, elected: bool | None, amounts: list[float]) -> None:
    """4,000 against 300 of tax a year; choosing the refund costs 30 %."""
    credit = rule("tax credit", fixed=4_000.0, haircut=0.3, terms={**CREDIT, "refundable": refundable})
    granted = award(credit, house(taxes={"income tax": [300.0]}, claims={"town/one": {"refundable": elected}}))

    assert granted.amounts.tolist() == pytest.approx(amounts)
    assert ("refundable: true" in said(granted)) == (refundable == "elective" and not elected)


@pytest.mark.parametrize(
    ("kind", "parameters", "first"),
    [
        ("tax credit", {"fixed": 600.0}, 1),
        ("tax deduction", {"yearly_shares": 0.1}, 1),
        ("upfront rebate", {"fixed": 600.0}, 0),
        ("deemed certificates", {"factor": 3.0, "price_each": 30.0}, 0),
    ],
)
@pytest.mark.parametrize("arrives", [None, 0, 1, 2])
def test_money_comes_in_the_year_the_rule_says(
    kind: str, parameters: dict[str, float], first: int, arrives: int | None
) -> None:
    """Else a rebate on the first day, a credit with the first return; no return belongs to year 0."""
    terms = {} if arrives is None else {"arrives_in_year": arrives}
    granted = award(rule(kind, terms=terms, **parameters))
    year = first if arrives is None else max(first, arrives) if first == 1 else arrives

    assert np.flatnonzero(granted.amounts).tolist() == [year]
    again = award(rule(kind, terms=terms, **parameters), years=1)
    assert np.flatnonzero(again.amounts).tolist() == [min(year, 1)]


def test_a_credit_that_comes_late_is_carried_from_there() -> None:
    """From year 2, and one more."""
    terms = {**CREDIT, "carry_forward": 1.0, "arrives_in_year": 2}
    granted = award(rule("tax credit", fixed=900.0, terms=terms), house(taxes={"income tax": [400.0]}))

    assert granted.amounts.tolist() == [0, 0, 400, 400, 0, 0, 0]
    assert float(steps(granted)["lost"]) == 100


def test_a_deduction_saves_the_rate_on_each_share_and_loses_what_passes_the_cap() -> None:
    """40 % and three times 20 % of 20,000, 5,000 a year at most: 17,000 in all, at 5 %.

    Shape of the case: Idaho Code 63-3022C.
    """
    deduction = rule(
        "tax deduction", yearly_shares=(0.4, 0.2, 0.2, 0.2), yearly_cap=5_000.0, terms={"against": "state income tax"}
    )
    granted = award(deduction, lines=[line("modules", 20_000)])

    assert granted.amounts.tolist() == pytest.approx([0, 250, 200, 200, 200, 0, 0])
    assert float(steps(granted)["cut by the yearly cap, and lost"]) == -3_000
    assert granted.status == "partly"


def test_a_deduction_saves_no_more_than_the_tax_that_credits_have_left() -> None:
    """Of 1,000 the credit takes 900."""
    credit = rule("tax credit", "town/credit", fixed=900.0)
    deduction = rule("tax deduction", "town/deduction", yearly_shares=0.5)
    found = awards([deduction, credit], house(taxes={"income tax": [1_000.0]}))

    assert found["town/deduction"].amounts.tolist() == pytest.approx([0, 100, 0, 0, 0, 0, 0])


@pytest.mark.parametrize(
    ("missing", "words"),
    [
        ({"taxes": {"income tax": None}}, "fill in household.income_tax"),
        ({"marginal": {"income tax": None}}, "fill in household.marginal_tax"),
        ({"numbers": {"solar kw": None}}, "fill in system.arrays"),
        ({"numbers": {"battery kwh": None}}, "fill in system.battery.kwh"),
    ],
)
def test_what_is_not_told_is_never_a_quiet_zero(missing: dict[str, Any], words: str) -> None:
    """The field to fill in is named, and nothing is counted."""
    kind, parameters = {
        "household.income_tax": ("tax credit", {"fixed": 100.0}),
        "household.marginal_tax": ("tax deduction", {"yearly_shares": 0.4}),
        "system.arrays": ("upfront rebate", {"per_kw": 100.0}),
        "system.battery.kwh": ("upfront rebate", {"fixed": 400.0, "cap_per_kwh": 10.0}),
    }[words.removeprefix("fill in ")]
    unknown = award(rule(kind, **parameters), house(**missing))

    assert (unknown.status, unknown.amounts.any()) == ("unknown", False)
    assert words in said(unknown)


@pytest.mark.parametrize("business, share", [(0.0, 1.0), (0.2, 1.0), (0.201, 0.799), (1.0, 0.0)])
def test_business_use_counts_up_to_the_rules_own_share(business: float, share: float) -> None:
    """Up to 20 % the whole cost counts, beyond it only the private share. IRC 25D(e)(7)."""
    told = house(business_use=business)
    with_limit = award(rule("tax credit", share=0.1, terms={"business_use": 0.2}), told)
    without = award(rule("tax credit", share=0.1), told)

    assert with_limit.amounts.sum() == pytest.approx(2_500 * share)
    assert without.amounts.sum() == pytest.approx(2_500)


@pytest.mark.parametrize(
    ("lowered_by", "basis"),
    [
        ((), 25_000),
        (("price reductions",), 25_000 - 1_000 - 300),
        (("grants",), 25_000 - 2_000 - 500),
        (("price reductions", "grants"), 25_000 - 3_800),
        (("town/utility",), 25_000 - 300),
        (("town/elsewhere",), 25_000),
    ],
    ids=lambda value: "+".join(value) or "nothing" if isinstance(value, tuple) else "",
)
def test_the_basis_is_lowered_by_what_the_rule_names_and_nothing_else(
    lowered_by: tuple[str, ...], basis: float
) -> None:
    """Price cuts and grants of others, rebates that are the one or the other, and rules by their id."""
    rules = [
        rule("upfront rebate", "town/utility", fixed=300.0),
        rule("upfront rebate", "town/state", fixed=500.0, terms={"lowers_price": False}),
        rule("tax credit", share=0.3, terms={"lowered_by": lowered_by} if lowered_by else {}),
    ]
    found = awards(rules, subsidies=[subsidy(1_000.0), subsidy(2_000.0, lowers_basis=False)])

    assert float(found["town/one"].basis) == basis
    assert ("lowers the basis" in said(found["town/one"])) == (basis < 25_000)


def test_a_rebate_that_is_not_paid_lowers_nothing() -> None:
    """Its budget may be empty."""
    rebate = rule("upfront rebate", "town/rebate", fixed=300.0, terms={"first_come": True})
    credit = rule("tax credit", share=0.3, terms={"lowered_by": ("price reductions",)})

    for funds, basis in ((True, 24_700), (False, 25_000), (None, 25_000)):
        found = awards([rebate, credit], house(claims={"town/rebate": {"funds": funds}}))
        assert float(found["town/one"].basis) == basis


def test_a_share_of_another_credit_is_of_what_it_could_be_not_of_what_was_used() -> None:
    """Half of 7,500, though no federal tax is owed. Shape of the case: Iowa Code 422.11L."""
    federal = rule("tax credit", "us/federal", share=0.3)
    state = rule("tax credit", share=0.5, terms={"credit_of": "us/federal", "against": "state income tax"})
    found = awards([federal, state], house(taxes={"income tax": [0.0]}))

    assert not found["us/federal"].amounts.any()
    assert found["town/one"].amounts.sum() == 3_750


def test_a_share_of_what_is_not_known_is_not_known() -> None:
    """And of what is refused it is nothing."""
    federal = rule("tax credit", "us/federal", share=0.3, terms={"first_come": True})
    state = rule("tax credit", share=0.5, terms={"credit_of": "us/federal"})

    for funds, status in ((None, "unknown"), (False, "refused")):
        found = awards([federal, state], house(claims={"us/federal": {"funds": funds}}))
        assert (found["town/one"].status, found["town/one"].amounts.any()) == (status, False)


def test_certificates_are_counted_weighted_priced_and_cost_a_fee() -> None:
    """8 kW x 1.382 x 5 years = 55 certificates at 38 less 2."""
    deemed = rule("deemed certificates", factor=5.0, fee_each=2.0, terms={"zones": {"3": 1.382, "4": 1.185}})
    claims = {"zone": "3", "price": [38.0]}
    granted = award(deemed, house(claims={"town/one": claims}))

    assert granted.amounts[0] == 55 * 36
    for left_out, words in (("zone", "Write zone for town/one"), ("price", "write price for town/one")):
        less = {name: value for name, value in claims.items() if name != left_out}
        unknown = award(deemed, house(claims={"town/one": less}))
        assert (unknown.status, unknown.amounts.any()) == ("unknown", False)
        assert words in said(unknown)
    assert award(deemed, house(claims={"town/one": {**claims, "zone": "5"}})).status == "unknown"


def test_the_price_told_stands_before_the_price_of_the_rule() -> None:
    """A fee above the price leaves nothing, and never less."""
    deemed = rule("deemed certificates", factor=1.0, price_each=20.0, fee_each=5.0, cap_size=6.0)

    assert award(deemed).amounts[0] == 6 * 15
    assert award(deemed, house(claims={"town/one": {"price": [30.0]}})).amounts[0] == 6 * 25
    assert award(deemed, house(claims={"town/one": {"price": [3.0]}})).status == "refused"


def test_the_bands_of_a_rebate_are_marginal() -> None:
    """5 kW at 300 and 3 at 100."""
    rebate = rule("upfront rebate", per_kw=(Band(5, 300.0), Band(NO_LIMIT, 100.0)))

    assert award(rebate).amounts[0] == 1_800


@pytest.mark.parametrize(
    ("parameters", "spared", "credit"),
    [
        ({"rate_left": 0.0}, 1_000, 7_200),
        ({"rate_left": 0.02}, 360 + 260, 0.3 * 24_380),
        ({"rate_left": 0.2}, 0, 7_500),
        ({"share_spared": 0.5}, 500, 7_350),
    ],
    ids=str,
)
def test_tax_that_is_spared_is_no_basis_of_a_credit(parameters: dict[str, float], spared: float, credit: float) -> None:
    """Each line keeps the lower tax from there on; a rate above the stated one spares nothing."""
    found = awards([rule("tax credit", "town/credit", share=0.3), rule("sales tax relief", **parameters)])

    assert found["town/one"].amounts[0] == pytest.approx(spared)
    assert found["town/credit"].amounts.sum() == pytest.approx(credit)


def test_prices_without_tax_leave_relief_unknown() -> None:
    """Nothing to spare may mean that the tax was forgotten."""
    unknown = award(rule("sales tax relief", rate_left=0.0), lines=[line("modules", 5_000)])

    assert (unknown.status, unknown.amounts.any()) == ("unknown", False)
    assert "state it: purchase.sales_tax" in said(unknown)


def test_awards_together_stop_at_what_is_paid() -> None:
    """Of 28,200: a subsidy of 20,000 leaves 8,200, the rebate takes 6,000, the credit the rest."""
    found = awards(
        [rule("upfront rebate", "town/rebate", fixed=6_000.0), rule("tax credit", share=0.3)],
        subsidies=[subsidy(20_000.0, lowers_basis=False)],
    )

    assert found["town/rebate"].amounts[0] == 6_000
    assert found["town/one"].amounts.sum() == pytest.approx(2_200)
    assert "awards together are not counted beyond what you pay" in said(found["town/one"])


@pytest.mark.parametrize(("carry", "second"), [(0.0, 20_000), (9.0, 5_200)], ids=["lost", "still to come"])
def test_a_credit_that_is_lost_leaves_room_and_one_still_to_come_does_not(carry: float, second: float) -> None:
    """23,000 of credit meet no tax: gone at once, or carried beyond the study."""
    first = rule("tax credit", "town/a", fixed=23_000.0, terms={"carry_forward": carry})
    refunded = rule("tax credit", "town/b", fixed=20_000.0, terms={"refundable": "yes"})
    found = awards([first, refunded], house(taxes={"income tax": [0.0]}))

    assert found["town/b"].amounts.sum() == pytest.approx(second)


@settings(max_examples=40)
@given(random=st.randoms(use_true_random=True))
def test_awards_of_the_purchase_never_pass_what_is_paid(random: Random) -> None:
    """Whatever rules stand together, with subsidies; nor is any amount below nothing."""
    dice = Dice(random)
    for _ in range(5):
        rules, paid, helps = drawn_rules(dice), drawn_bill(dice), drawn_helps(dice)
        found = engine(rules, drawn_home(dice, 6), paid, helps, 6)
        price = sum(one.cost + one.tax for one in paid)
        upfront = sum(float(one.amounts.sum()) for one in found.values() if one.upfront)
        assert upfront <= max(price - sum(amount for amount, _ in helps), 0.0) * (1 + 1e-9) + 1e-6
        assert all((one.amounts >= 0).all() and (one.worth >= 0).all() for one in found.values())
        assert {one.upfront for one in found.values() if one.kind in UPFRONT} <= {True}


@settings(max_examples=40)
@given(random=st.randoms(use_true_random=True))
def test_credits_and_deductions_against_one_tax_never_pass_it_in_any_year(random: Random) -> None:
    """However many there are."""
    dice = Dice(random)
    for _ in range(5):
        kinds = [random.choice(["tax credit", "tax credit", "tax deduction"]) for _ in range(3)]
        rules = [drawn_rule(dice, f"town/{k}", kind=kind) for k, kind in enumerate(kinds)]
        home = drawn_home(dice, 6)
        found = engine(rules, home, drawn_bill(dice), [], 6)
        for tax, owed in home.taxes.items():
            used = np.zeros(6)
            for one in rules:
                paid_out = one.refundable is not None and (
                    one.refundable.value == "yes"
                    or (one.refundable.value == "elective" and home.claims.get(one.id, {}).get("refundable"))
                )
                if one.against is not None and one.against.value == tax and not paid_out:
                    used += found[one.id].amounts[1:]
            assert (used <= np.array(owed or [0.0] * 6) * (1 + 1e-12) + 1e-9).all() or owed is None


@settings(max_examples=40)
@given(random=st.randoms(use_true_random=True))
def test_no_award_passes_its_caps(random: Random) -> None:
    """Each cap that holds on the day, for credits and rebates of every kind."""
    dice = Dice(random)
    for _ in range(5):
        one = drawn_rule(dice, kind=random.choice(["tax credit", "upfront rebate"]))
        home, paid = drawn_home(dice, 6), drawn_bill(dice)
        found = engine([one], home, paid, [], 6)[one.id]
        if not found.amounts.any():
            continue
        day = house(days=home.days).day(one.event)
        caps = {name: value.number for name in one.parameters
                if (value := one.value(name, day)) is not None and not isinstance(value.amount, tuple)}  # fmt: skip
        price = sum(line.cost + line.tax for line in paid)
        limits = [
            caps.get("cap", NO_LIMIT),
            caps.get("lifetime_cap", NO_LIMIT),
            caps["cap_per_kw"] * (home.numbers["solar kw"] or 0)
            if caps.get("cap_per_kw", NO_LIMIT) < 1e9
            else NO_LIMIT,
            caps["cap_per_kwh"] * (home.numbers["battery kwh"] or 0)
            if caps.get("cap_per_kwh", NO_LIMIT) < 1e9
            else NO_LIMIT,
            caps["cap_share_of_cost"] * price if caps.get("cap_share_of_cost", NO_LIMIT) < 1e9 else NO_LIMIT,
            price,
        ]
        assert found.amounts.sum() <= min(limits) * (1 + 1e-9) + 1e-6
        assert found.amounts.max() <= caps.get("yearly_cap", NO_LIMIT) * (1 + 1e-9)


def test_the_plain_bill_is_what_the_numbers_above_go_by() -> None:
    """24,000 and 1,000 of tax count; 3,200 for the roof do not."""
    assert sum(float(one.cost + one.sales_tax) for one in BILL) == 28_200
    assert float(award(rule("tax credit", share=0.3)).basis) == 25_000
