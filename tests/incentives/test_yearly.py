"""Awards that come year by year, or are worth something without being paid, and the income tax on any of them."""

from __future__ import annotations

from datetime import date
from random import Random
from typing import Any

import numpy as np
import pytest
from drawn_rules import Dice, drawn_bill, drawn_home, drawn_rule, drawn_rules, loan_worth_at
from hypothesis import given, settings
from hypothesis import strategies as st
from invented import DAY, NO_LIMIT, array, award, awards, house, line, needs, rule, said, steps, subsidy
from test_awards_against_oracle import engine

from finsolar.incentives.law import MARGINAL, Band

FEED_IN = (Band(10, 0.082), Band(40, 0.071), Band(NO_LIMIT, 0.058))


@pytest.mark.parametrize(
    ("parameters", "amounts"),
    [
        ({"per_kwh": 0.1, "term_years": 3.0}, [0, 900, 900, 900, 0, 0, 0]),
        ({"per_mwh": 90.0, "term_years": NO_LIMIT}, [0, 810, 810, 810, 810, 810, 810]),
        ({"per_kwh": 0.1, "term_years": 3.0, "yearly_step_down": 0.5}, [0, 900, 450, 225, 0, 0, 0]),
        ({"per_kwh": FEED_IN, "term_years": 2.0}, [0, 738, 738, 0, 0, 0, 0]),
    ],
    ids=["per kWh", "per MWh", "falling", "bands"],
)
def test_a_payment_for_energy_runs_for_its_term(parameters: dict[str, Any], amounts: list[float]) -> None:
    """9,000 kWh a year from 8 kW."""
    granted = award(rule("performance payment", **parameters))

    assert granted.amounts.tolist() == pytest.approx(amounts)
    assert (granted.status, granted.upfront) == ("granted", False)


def test_bands_are_weighed_by_power() -> None:
    """12 kW: ten at 8.2 ct and two at 7.1 ct. Shape of the case: EEG 2023 § 48."""
    banded = rule("performance payment", per_kwh=FEED_IN, term_years=20.0)
    granted = award(banded, house(numbers={"solar kw": 12.0}))

    assert float(granted.amounts[1]) == pytest.approx(9_000 * (10 * 0.082 + 2 * 0.071) / 12)
    assert "Over 12 kW the bands" in said(granted)


def test_only_bands_need_the_size() -> None:
    """One rate for all is paid without it; bands without it are unknown."""
    told = house(numbers={"solar kw": None})

    assert award(rule("performance payment", per_kwh=0.1, term_years=1.0), told).amounts[1] == pytest.approx(900)
    unknown = award(rule("performance payment", per_kwh=FEED_IN, term_years=1.0), told)
    assert (unknown.status, unknown.amounts.any()) == ("unknown", False)
    assert "fill in system.arrays" in said(unknown)


@pytest.mark.parametrize(
    ("day", "rest"), [(date(2026, 1, 1), 1.0), (date(2026, 12, 31), 1 / 365), (date(2028, 2, 29), 307 / 366)], ids=str
)
def test_a_term_may_run_on_to_the_end_of_its_last_calendar_year(day: date, rest: float) -> None:
    """Two years and the rest of the first one, February 29 among the days."""
    running = rule("performance payment", per_kwh=0.1, term_years=2.0, terms={"to_year_end": True})

    assert award(running, house(day)).amounts.tolist() == pytest.approx([0, 900, 900, 900 * rest, 0, 0, 0])


@pytest.mark.parametrize(("paid", "status"), [(False, "granted"), (True, "refused")])
def test_energy_fed_in_is_paid_once(paid: bool, status: str) -> None:
    """A tariff that pays for export leaves nothing to a rule that does; generation is another thing."""
    export = rule("performance payment", per_kwh=0.1, term_years=1.0, terms={"paid_on": "export"})
    generation = rule("performance payment", per_kwh=0.1, term_years=1.0)
    told = house(export_is_paid=paid)

    assert award(export, told).status == status
    assert award(export, told).amounts[1] == pytest.approx(0 if paid else 400)
    assert award(generation, told).amounts[1] == pytest.approx(900)


def test_energy_not_given_is_an_error_of_the_caller() -> None:
    """No award is made of energy that nobody reckoned."""
    with pytest.raises(ValueError, match="given without its energy by year"):
        award(rule("performance payment", per_kwh=0.1, term_years=1.0), house(generation=None))


@pytest.mark.parametrize(
    ("price", "floor", "each"),
    [
        ([50.0], None, [50, 50, 50]),
        ([60.0, 40.0, 20.0, 9.0, 9.0, 9.0], None, [60, 40, 20]),
        ([60.0, 40.0, 20.0, 9.0, 9.0, 9.0], 30.0, [60, 40, 30]),
        (None, 30.0, [30, 30, 30]),
    ],
    ids=["flat", "path", "floor below a path", "floor alone"],
)
def test_metered_certificates_sell_at_the_price_told_and_no_less_than_the_floor(
    price: list[float] | None, floor: float | None, each: list[float]
) -> None:
    """Nine a year for three years."""
    floors = {} if floor is None else {"floor_price": floor}
    metered = rule("metered certificates", kwh_each=1_000.0, term_years=3.0, **floors)
    granted = award(metered, house(claims={"town/one": {"price": price}}))

    assert granted.amounts.tolist() == [0, *(9 * one for one in each), 0, 0, 0]


def test_certificates_without_a_price_are_unknown() -> None:
    """The market price is the household's to tell."""
    unknown = award(rule("metered certificates", kwh_each=1_000.0, term_years=3.0))

    assert (unknown.status, unknown.amounts.any()) == ("unknown", False)
    assert "write price for town/one under claims" in said(unknown)


@pytest.mark.parametrize(
    ("told", "battery_kw", "usable", "counted"),
    [(4.0, 5.0, 9.0, 3.0), (2.0, 5.0, 9.0, 2.0), (6.0, 2.5, 30.0, 2.5), (6.0, None, None, 6.0), (4.0, 5.0, 0.0, 0.0)],
    ids=["energy", "told", "power", "not known", "nothing above the reserve"],
)
def test_power_counts_as_far_as_the_battery_can_give_it(
    told: float, battery_kw: float | None, usable: float | None, counted: float
) -> None:
    """275 for each kW held through events of three hours, for two years."""
    capacity = rule("capacity payment", per_kw=275.0, term_years=2.0, events=60.0, event_hours=3.0)
    granted = award(
        capacity, house(battery_kw=battery_kw, battery_usable_kwh=usable, claims={"town/one": {"kw": told}})
    )

    assert granted.amounts.tolist() == [0, 275 * counted, 275 * counted, 0, 0, 0, 0]
    assert granted.status == ("refused" if not counted else "partly" if counted < told else "granted")
    assert float(steps(granted)["energy given up in events of a year"]) == counted * 180


def test_power_not_told_is_unknown() -> None:
    """No average is assumed."""
    unknown = award(rule("capacity payment", per_kw=275.0, term_years=2.0))

    assert (unknown.status, unknown.amounts.any()) == ("unknown", False)
    assert "write kw for town/one under claims" in said(unknown)


def test_property_tax_is_spared_once() -> None:
    """The second relief finds what the first has left; without a tax stated nothing is known."""
    whole = rule("property tax relief", "town/a", exempt_share=0.75, term_years=2.0)
    other = rule("property tax relief", "town/b", exempt_share=0.5)
    found = awards([other, whole])

    assert found["town/a"].amounts.tolist() == [0, 225, 225, 0, 0, 0, 0]
    assert found["town/b"].amounts.tolist() == [0, 37.5, 37.5, 150, 150, 150, 150]
    unknown = award(whole, house(property_tax=None))
    assert (unknown.status, unknown.amounts.any()) == ("unknown", False)
    assert "fill in household.property_tax" in said(unknown)


def test_a_loan_is_worth_what_it_spares_and_never_its_principal() -> None:
    """10,000 at 0 % for ten years, money elsewhere earning 5 %: worked month by month, less a fee of 1 %."""
    loan = rule("below-market loan", rate=0.0, term_years=10.0, cap=10_000.0, fee=0.01)
    granted = award(loan, house(loan_worth=loan_worth_at(0.05)))
    later = sum(10_000 / 120 * 1.05 ** (-month / 12) for month in range(1, 121))

    assert float(granted.worth) == pytest.approx(10_000 - later - 100)
    assert not granted.amounts.any() and (granted.status, granted.upfront) == ("granted", False)


@pytest.mark.parametrize(
    ("given_by", "principal"), [(0.0, 25_000), (10_000.0, 18_200), (24_000.0, 0), (28_200.0, 0)], ids=str
)
def test_a_loan_lends_what_is_left_to_pay_within_its_limits(given_by: float, principal: float) -> None:
    """28,200 less what others pay, at most 25,000 and at least 5,000."""
    loan = rule("below-market loan", rate=0.01, term_years=10.0, cap=25_000.0, smallest=5_000.0)
    answer = award(loan, house(loan_worth=loan_worth_at(0.06)), subsidies=[subsidy(given_by)])
    each = float(loan_worth_at(0.06)(1.0, 0.01, 10))

    assert float(answer.worth) == pytest.approx(principal * each)
    assert answer.status == ("granted" if principal else "refused")


def test_a_loan_dearer_than_money_elsewhere_is_worth_nothing() -> None:
    """And is no burden: nobody has to take it."""
    answer = award(rule("below-market loan", rate=0.09, term_years=10.0), house(loan_worth=loan_worth_at(0.02)))

    assert (answer.status, float(answer.worth)) == ("refused", 0)


def test_a_loan_whose_years_are_not_known_is_unknown() -> None:
    """Its worth hangs on them."""
    loan = rule("below-market loan", rate=0.0, term_years={date(2020, 1, 1): 10.0, DAY: "unknown"})
    answer = award(loan, house(loan_worth=loan_worth_at(0.05)))

    assert (answer.status, float(answer.worth)) == ("unknown", 0)


@pytest.mark.parametrize("leases", [True, False])
def test_a_credit_of_the_owner_is_never_the_households(leases: bool) -> None:
    """A leased system is the company's, an own one is not meant."""
    answer = award(rule("owner's credit", share=0.3), house(facts={"leases the system": leases}))

    assert (answer.status, answer.amounts.any(), answer.worth.any()) == ("refused", False, False)
    assert ("goes to the company that owns the system" in said(answer)) == leases


PAYING: list[tuple[str, dict[str, Any]]] = [
    ("tax credit", {"fixed": 900.0}),
    ("upfront rebate", {"fixed": 900.0}),
    ("performance payment", {"per_kwh": 0.1, "term_years": 2.0}),
    ("metered certificates", {"kwh_each": 1_000.0, "term_years": 2.0, "floor_price": 20.0}),
    ("capacity payment", {"per_kw": 100.0, "term_years": 2.0}),
]


@pytest.mark.parametrize(
    ("word", "told", "taxed"),
    [
        ("no", {}, False),
        ("yes", {}, True),
        ("yes", {"marginal": {"income tax": None}}, False),
        ("if itemised", {"itemises": True}, True),
        ("if itemised", {"itemises": False}, False),
        ("if itemised", {"itemises": None}, False),
        ("household decides", {"taxed": True}, True),
        ("household decides", {"taxed": False}, False),
        ("household decides", {"taxed": None}, False),
    ],
)
@pytest.mark.parametrize(("kind", "parameters"), PAYING, ids=[kind for kind, _ in PAYING])
def test_income_tax_on_an_award_is_the_marginal_rate_of_it(
    kind: str, parameters: dict[str, Any], word: str, told: dict[str, Any], taxed: bool
) -> None:
    """22 % of each year, that of year 0 with the return of year 1; where something is not told a caution says so."""
    more = {name: value for name, value in told.items() if name != "taxed"}
    claims = {"town/one": {"kw": 2.0, "taxed": told.get("taxed")}}
    found = award(rule(kind, terms={"taxable": word}, **parameters), house(claims=claims, **more))
    on = found.amounts.copy()
    on[1], on[0] = on[1] + on[0], 0

    assert found.amounts.any()
    np.testing.assert_allclose(found.tax, -0.22 * on if taxed else 0 * on, rtol=1e-12)
    untold = (word != "no" and not taxed and None in told.values()) or "marginal" in told
    assert ("Caution: So says taxable." in said(found)) == untold
    if untold:
        field = {"if itemised": "household.itemises", "household decides": "taxed for town/one under claims"}
        assert f"since {field.get(word, MARGINAL['income tax'])} was not told" in said(found)


@pytest.mark.parametrize(
    ("exempts", "kind", "free"),
    [
        (("payments",), "performance payment", True),
        (("payments",), "metered certificates", True),
        (("payments",), "capacity payment", True),
        (("payments",), "upfront rebate", False),
        (("town/one",), "upfront rebate", True),
        (("town/two",), "performance payment", False),
    ],
)
def test_an_exemption_takes_the_tax_off_what_it_covers(exempts: tuple[str, ...], kind: str, free: bool) -> None:
    """It pays nothing itself; above its ceiling, or refused, it covers nothing."""
    paying = rule(kind, terms={"taxable": "yes"}, **dict(PAYING)[kind])
    exemption = rule("income tax exemption", "town/free", ceiling_kw=8.0, terms={"exempts": exempts})
    claims = {"town/one": {"kw": 2.0}}
    found = awards([paying, exemption], house(claims=claims))

    assert (found["town/free"].status, found["town/free"].amounts.any()) == ("granted", False)
    assert found["town/one"].amounts.any()
    assert not found["town/one"].tax.any() if free else found["town/one"].tax.sum() < 0
    assert ("No income tax is due on it: The town/free rule." in said(found["town/one"])) == free
    for less in ({"numbers": {"solar kw": 8.001}}, {"claims": {**claims, "town/free": {"claim": False}}}):
        again = awards([paying, exemption], house(**{"claims": claims, **less}))
        assert again["town/free"].status == "refused"
        assert again["town/one"].tax.sum() < 0


def test_an_exemption_without_a_ceiling_holds_for_every_size() -> None:
    """Also where it has conditions that are met."""
    exemption = rule("income tax exemption", "town/free", ceiling_kw=NO_LIMIT, conditions=(needs("main home"),))
    paying = rule("performance payment", per_kwh=0.1, term_years=2.0, terms={"taxable": "yes"})
    large = house(numbers={"solar kw": 500.0})

    assert not awards([paying, exemption], large)["town/one"].tax.any()
    untold = house(facts={"main home": None})
    assert awards([paying, exemption], untold)["town/one"].tax.sum() == pytest.approx(-0.22 * 1_800)


@settings(max_examples=40)
@given(random=st.randoms(use_true_random=True))
def test_tax_on_awards_is_marginal_times_amounts_or_nothing_and_never_positive(random: Random) -> None:
    """Whatever the rules; year 0 bears none, its tax falls in year 1."""
    dice = Dice(random)
    for _ in range(5):
        home = drawn_home(dice, 5)
        rate = home.marginal["income tax"] or 0.0
        for one in engine(drawn_rules(dice), home, drawn_bill(dice), [], 5).values():
            on = np.concatenate([[0.0], [one.amounts[0] + one.amounts[1]], one.amounts[2:]])
            assert (one.tax <= 0).all()
            assert not one.tax.any() or one.tax == pytest.approx(-rate * on, rel=1e-12)


@settings(max_examples=30)
@given(random=st.randoms(use_true_random=True))
def test_property_tax_spared_never_passes_the_tax(random: Random) -> None:
    """Several reliefs together, in every year."""
    dice = Dice(random)
    for _ in range(5):
        rules = [drawn_rule(dice, f"town/{k}", kind="property tax relief") for k in range(3)]
        home = drawn_home(dice, 5)
        spared = sum(one.amounts for one in engine(rules, home, drawn_bill(dice), [], 5).values())
        assert (spared[1:] <= array(home.property_tax or [0.0] * 5) * (1 + 1e-12)).all()


def test_no_cost_means_no_loan() -> None:
    """Others pay for all of it."""
    answer = award(rule("below-market loan", rate=0.0, term_years=5.0), lines=[line("modules", 0.0)])

    assert (answer.status, answer.worth.any()) == ("refused", False)
