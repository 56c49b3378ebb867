"""The traps of the rules of US states, each with an amount worked by hand; numbers such as T22 name a worked case."""

from dataclasses import replace
from datetime import date
from typing import Any

import numpy as np
import pytest
from rule_cases import YEARS, award_of, read
from rule_cases_us import CASES

NOW = date(2026, 6, 1)

# Rule, day, what differs from the rule's case, amount. The working stands beside each.
WORKED: list[tuple[str, date, dict[str, Any], float]] = [
    # T19: spend 1,000, get 250; spend 100,000, get 5,000. Before 1 September 2006 no more than 3,750.
    ("us/ny/solar-equipment-credit", NOW, {"cost": {"modules": 1_000.0}, "grant": 0.0}, 250),
    ("us/ny/solar-equipment-credit", NOW, {"cost": {"modules": 100_000.0}, "grant": 0.0}, 5_000),
    ("us/ny/solar-equipment-credit", date(2006, 9, 1), {"cost": {"modules": 100_000.0}}, 5_000),
    ("us/ny/solar-equipment-credit", date(2006, 8, 31), {"cost": {"modules": 100_000.0}}, 3_750),
    # T20: with the federal credit gone, 15 % of all 5,000.
    ("us/ma/energy-credit", date(2026, 1, 1), {}, 750),
    ("us/ma/energy-credit", date(2026, 1, 1), {"cost": {"modules": 8_000.0}}, 1_000),
    # T34, the first device: 25 % of 3,000.
    ("us/az/solar-credit", NOW, {"claim": {}}, 750),
    # T33: without the election the whole 5,000, against tax.
    ("us/hi/renewable-energy-credit", NOW, {"claim": {}}, 5_000),
    # T24, official (rule 701-304.48): 15 % in 2019, 13 % in 2020; 40,000 in 2019 meet the cap. 18 % in 2015: the cap.
    ("us/ia/solar-credit", date(2019, 12, 31), {}, 4_500),
    ("us/ia/solar-credit", date(2020, 1, 1), {}, 3_900),
    ("us/ia/solar-credit", date(2019, 6, 1), {"cost": {"modules": 40_000.0}}, 5_000),
    ("us/ia/solar-credit", date(2015, 12, 31), {"cost": {"modules": 20_000.0}}, 3_600),
    ("us/ia/solar-credit", date(2016, 1, 1), {"cost": {"modules": 20_000.0}}, 3_000),
    # As T17: up to 20 % of business use the whole cost counts, 15 % of 10,000; beyond it the private share, 7,000.
    ("us/ia/solar-credit", date(2019, 6, 1), {"cost": {"modules": 10_000.0}, "business_use": 0.2}, 1_500),
    ("us/ia/solar-credit", date(2019, 6, 1), {"cost": {"modules": 10_000.0}, "business_use": 0.3}, 1_050),
    # The cap by year of completion, of a system of 20,000 (25 % would be 5,000).
    ("us/ut/residential-solar-credit", date(2017, 12, 31), {"cost": {"modules": 20_000.0}}, 2_000),
    ("us/ut/residential-solar-credit", date(2020, 12, 31), {"cost": {"modules": 20_000.0}}, 1_600),
    ("us/ut/residential-solar-credit", date(2021, 12, 31), {"cost": {"modules": 20_000.0}}, 1_200),
    ("us/ut/residential-solar-credit", date(2022, 12, 31), {"cost": {"modules": 20_000.0}}, 800),
    ("us/ut/residential-solar-credit", date(2023, 12, 31), {"cost": {"modules": 20_000.0}}, 400),
    # T25: 1.5 kW would have 4,500, and half of 8,000 is less.
    ("us/or/residential-energy-credit", NOW.replace(year=2016), {"kw": 1.5, "cost": {"modules": 8_000.0}}, 4_000),
    # 30 % of 20,000 is above the cap.
    ("us/md/storage-credit", date(2020, 6, 1), {"cost": {"battery": 20_000.0}}, 5_000),
    # The first order's price: 9 MWh x 90 x 10 years.
    ("us/nj/solar-certificates", date(2021, 8, 28), {}, 8_100),
    # 10 % of 100,000, capped at 6,000.
    ("us/nm/solar-market-credit", NOW, {"cost": {"modules": 100_000.0}}, 6_000),
]


@pytest.mark.parametrize(("rule_id", "day", "differs", "expected"), WORKED)
def test_worked_by_hand(rule_id: str, day: date, differs: dict[str, Any], expected: float) -> None:
    """The sum of the amounts over the years, against the working beside each case."""
    award = award_of(replace(CASES[rule_id], **differs), rule_id, day)

    assert award.amounts.sum() == pytest.approx(expected, abs=0.005)


LEASED = {"facts": {"buys the system": False, "leases the system": True}}

# Rule, day, what differs from the rule's case, answer.
WITHOUT_MONEY: list[tuple[str, date, dict[str, Any], str]] = [
    # A household that leases, and pays some lines of the cost itself.
    ("us/residential-clean-energy-credit", date(2025, 6, 1), LEASED, "refused"),
    ("us/az/solar-credit", NOW, LEASED, "refused"),
    ("us/hi/renewable-energy-credit", NOW, LEASED, "refused"),
    ("us/ia/solar-credit", date(2021, 6, 1), LEASED, "refused"),
    ("us/id/alternative-energy-deduction", NOW, LEASED, "unknown"),
    ("us/ma/energy-credit", NOW, LEASED, "unknown"),
    ("us/md/storage-credit", date(2020, 6, 1), LEASED, "unknown"),
    ("us/nm/solar-market-credit", NOW, LEASED, "unknown"),
    ("us/ny/solar-equipment-credit", NOW, LEASED, "unknown"),
    ("us/or/residential-energy-credit", date(2016, 6, 1), LEASED, "unknown"),
    ("us/sc/solar-credit", NOW, LEASED, "unknown"),
    ("us/ut/residential-solar-credit", date(2020, 6, 1), LEASED, "unknown"),
    ("us/ma/battery-demand-response", NOW, LEASED, "unknown"),
    ("us/ri/battery-demand-response", date(2020, 6, 1), LEASED, "unknown"),
    ("us/nj/solar-certificates", date(2026, 1, 1), LEASED, "unknown"),
    ("us/ny/solar-equipment-credit", NOW, {"facts": {"grid connection": False}}, "refused"),
    ("us/ny/solar-equipment-credit", NOW, {"facts": {"main home": False}}, "refused"),
    ("us/ny/real-property-exemption", NOW, {"claim": {}}, "unknown"),
    ("us/ny/real-property-exemption", NOW, {"claim": {"confirmed": False}}, "refused"),
    ("us/ma/energy-credit", NOW, {"facts": {"main home": False}}, "refused"),
    ("us/az/solar-credit", NOW, {"claim": {"used_before": 1_000.0}}, "refused"),
    # The same open question is answered alike: a bill of 2026 that was not verified.
    ("us/hi/renewable-energy-credit", date(2027, 1, 1), {}, "unknown"),
    ("us/nm/solar-market-credit", date(2027, 1, 1), {}, "unknown"),
    ("us/nm/solar-market-credit", date(2031, 12, 31), {}, "unknown"),
    ("us/nm/solar-market-credit", date(2032, 1, 1), {}, "refused"),
    ("us/nm/solar-market-credit", NOW, {"claim": {}}, "unknown"),
    ("us/nm/solar-market-credit", NOW, {"claim": {"funds": False}}, "refused"),
    ("us/nj/solar-certificates", date(2023, 6, 1), {}, "unknown"),
    ("us/nj/solar-certificates", date(2026, 11, 2), {}, "unknown"),
    ("us/wa/sales-tax-exemption", NOW, {"kw": 101.0}, "refused"),
    ("us/wa/sales-tax-exemption-labour", NOW, {"facts": {"licensed installer": False}}, "refused"),
    ("us/wa/sales-tax-refund", NOW, {"kw": 100.0}, "refused"),
    ("us/wa/sales-tax-refund", NOW, {"kw": 501.0}, "refused"),
    ("us/ma/battery-demand-response", NOW, {"claim": {"kw": 5.0}}, "unknown"),
    ("us/ma/battery-demand-response", NOW, {"battery_kwh": 0.0}, "refused"),
    ("us/ri/battery-demand-response", NOW, {"facts": {"grid connection": False}}, "refused"),
    ("us/md/storage-credit", date(2020, 6, 1), {"cost": {"modules": 15_000.0}}, "refused"),
    ("us/third-party-clean-electricity-credit", NOW, {"facts": {}}, "refused"),
]


@pytest.mark.parametrize(("rule_id", "day", "differs", "answer"), WITHOUT_MONEY)
def test_nothing_is_counted_and_it_is_said_whether_that_may_change(
    rule_id: str, day: date, differs: dict[str, Any], answer: str
) -> None:
    """A refusal where the law says no; "unknown" where a fact, or the law itself, is not known here."""
    award = award_of(replace(CASES[rule_id], **differs), rule_id, day)

    assert award.status == answer, award.reasons
    assert not award.amounts.any()


def test_a_limit_of_each_year_spreads_a_credit_over_years() -> None:
    """T21 South Carolina: 3,500, 3,500, 500. T25 Oregon: four times 1,500. T23 Idaho: 6 % of 5,000, then of 4,000."""
    spread = {
        "us/sc/solar-credit": (NOW, [3_500, 3_500, 500, 0]),
        "us/or/residential-energy-credit": (date(2017, 6, 1), [1_500, 1_500, 1_500, 1_500]),
        "us/id/alternative-energy-deduction": (NOW, [300, 240, 240, 240]),
    }

    for rule_id, (day, expected) in spread.items():
        amounts = award_of(CASES[rule_id], rule_id, day).amounts
        assert amounts[..., :5] == pytest.approx(np.array([0, *expected]))
        assert not amounts[..., 5:].any()


def test_a_small_tax_spreads_a_credit_further() -> None:
    """T22: at a state tax of 3,000 a year South Carolina's 7,500 come as 1,500 in each of five years."""
    case = replace(CASES["us/sc/solar-credit"], state_tax=3_000.0)

    amounts = award_of(case, "us/sc/solar-credit", NOW).amounts

    assert amounts == pytest.approx(np.array([0, *[1_500] * 5, *[0] * 5]))


def test_carrying_on_ends_after_its_years() -> None:
    """At a state tax of 100 a year a credit of 750 comes as 100 in its own year and each that it is carried to."""
    carried = {"us/ma/energy-credit": 3, "us/ny/solar-equipment-credit": 5, "us/az/solar-credit": 5}

    for rule_id, years in carried.items():
        case = replace(CASES[rule_id], cost={"modules": 5_000.0}, grant=0.0, claim={}, beside=(), state_tax=100.0)
        award = award_of(case, rule_id, NOW)
        assert award.amounts == pytest.approx(np.array([0, *[100] * (years + 1), *[0] * (YEARS - years - 1)])), rule_id
        assert award.status == "partly"


def test_a_locked_payment_stops_with_its_term() -> None:
    """5 kW at 275 in five seasons, and nothing after them."""
    rule_id = "us/ma/battery-demand-response"

    amounts = award_of(CASES[rule_id], rule_id, NOW).amounts

    assert amounts == pytest.approx(np.array([0, *[1_375] * 5, *[0] * 5]))


def test_bills_that_were_not_verified_are_told_and_not_applied() -> None:
    """The bills of 2026 stand in words beside the amounts of the law before them, or in place of any amount."""
    told = [
        ("us/hi/renewable-energy-credit", date(2027, 1, 1), "bill of 2026"),
        ("us/nm/solar-market-credit", NOW, "30 % and 15,000 USD"),
        ("us/nm/solar-market-credit", date(2027, 1, 1), "30 % and 15,000 USD"),
        ("us/ca/active-solar-exclusion", date(2027, 1, 1), "AB 2389"),
    ]

    for rule_id, day, words in told:
        award = award_of(CASES[rule_id], rule_id, day)
        assert words in " ".join(award.reasons), rule_id


def test_new_york_before_2006_is_told_to_be_from_memory() -> None:
    """The rate and the cap of 1998 are recalled; those of 2006 were seen."""
    rule_id = "us/ny/solar-equipment-credit"

    for day, known in ((date(2005, 12, 31), "memory"), (date(2006, 1, 1), "seen")):
        award = award_of(replace(CASES[rule_id], cost={"modules": 100_000.0}), rule_id, day)
        assert (award.known, float(award.amounts.sum())) == (known, 3_750)
        assert any("comes from memory" in reason for reason in award.reasons) is (known == "memory")
        assert read(rule_id).parameters["cap"].value_at(day).source.known == known


def test_credits_of_states_are_set_against_the_tax_of_the_state() -> None:
    """No state credit eats into the federal tax."""
    for rule_id in CASES:
        rule = read(rule_id)
        if rule.against is not None:
            of_a_state = rule_id.count("/") == 2
            assert rule.against.value == ("state income tax" if of_a_state else "income tax")
