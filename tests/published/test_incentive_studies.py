"""Incentives through whole studies, from the text of a scenario to cash flow, net cost and JSON.

Expected money is worked out here by hand from the law cited beside it; houses and prices are invented.
"""

from typing import Any

import numpy as np
import pytest

import finsolar
from finsolar.results import Study
from finsolar.scenario.reading import from_text

YEARS = 6

HOUSE = """
title: Two returns
place: {{country: US, region: {region}, latitude: 36.1, longitude: -79.95, timezone: America/New_York}}
study: {{in_service: {in_service}, years: 6, discount_rate: 5%}}
household:
  {household}
  owner_occupied: true
  main_home: true
  load: {{monthly_kwh: [600, 600, 600, 600, 600, 600, 600, 600, 600, 600, 600, 600], shape: evening}}
weather: greensboro
tariff: {{energy: 0.2, rise: 0%}}
system: {{arrays: [{{kw: 5, tilt: 30, azimuth: 180}}], inverter: {{kw: 5}}}}
costs:
  - {{item: Solar modules, category: modules, cost: 12000}}
  - {{item: Electrician, category: labour, cost: 3000}}
"""


def studied(text: str, **blanks: str) -> Study:
    """Return the study of the house with the blanks filled in and `text` after it."""
    return finsolar.study(from_text(HOUSE.format(**blanks) + text))


def line(study: Study, name: str, alternative: int = 0) -> Any:
    """Return a line of cash flow by year, as it stands in the JSON; None where there is no such line."""
    return study.to_json()["alternatives"][alternative]["cash_flow"]["lines"].get(name)


def test_federal_and_state_credit_of_one_house_in_new_york() -> None:
    """15,000 less a utility's 1,000: 30 % and 25 % of 14,000, each against its own tax, year by year.

    Source: IRC 25D and 136, New York Tax Law 606(g-1) (rule): 4,200 against 2,000 a year, 3,500 against 1,500 a
    year. The state credit costs who itemises the federal rate on it: IRC 164 (from memory).
    """
    text = """
rebates: [{item: Utility rebate, amount: 1000, lowers_basis: true}]
alternatives: [{name: Contractor, installer: licensed contractor}]
"""
    blanks = "income_tax: 2000\n  state_income_tax: 1500\n  marginal_tax: 22%\n  itemises: true"
    study = studied(text, region="NY", in_service="2025-06-15", household=blanks)
    [result] = study.results

    federal, state = np.array([0, 2_000, 2_000, 200, 0, 0, 0]), np.array([0, 1_500, 1_500, 500, 0, 0, 0])
    assert line(study, "awards") == pytest.approx(federal + state, abs=0.005)
    assert line(study, "tax on awards") == pytest.approx(-0.22 * state, abs=0.005)
    assert line(study, "rebates") == [1_000, *[0] * YEARS]
    assert line(study, "yearly awards") is None
    assert float(result.awarded) == pytest.approx(4_200 + 3_500)
    assert float(result.net_cost) == pytest.approx(15_000 - 1_000 - 7_700)
    totals = study.to_json()["alternatives"][0]["costs"]
    assert [totals[name] for name in ("gross", "rebates", "awards", "net")] == [15_000, 1_000, 7_700, 6_300]

    incentives = study.to_json()["alternatives"][0]["incentives"]
    assert [(found["rule"], found["status"]) for found in incentives] == [
        ("us/residential-clean-energy-credit", "granted"),
        ("us/third-party-clean-electricity-credit", "refused"),
        ("us/ny/real-property-exemption", "unknown"),
        ("us/ny/solar-equipment-credit", "granted"),
    ]
    for found, amounts, share in ((incentives[0], federal, 0.30), (incentives[3], state, 0.25)):
        assert found["amounts"] == pytest.approx(amounts, abs=0.005)
        assert (found["basis"], found["potential"]) == pytest.approx((14_000, share * 14_000))
        steps = {step["step"]: (step["amount"], step["unit"]) for step in found["ledger"]}
        assert steps["share"] == (share, "share")
        assert steps["less subsidies"] == (-1_000, "money")
        assert found["upfront"]
        assert found["kind"] == "tax credit"
        assert [counted["counted"] for counted in found["lines"]] == [True, True]
    assert [sum(found["tax"]) for found in incentives] == pytest.approx([0, 0, 0, -0.22 * 3_500])


def test_a_lease_leaves_every_credit_to_the_owner_of_the_system() -> None:
    """No award for who leases: federal is refused with its reason, and the owner's credit is not theirs.

    New York may grant its credit on the payments of a long lease, which are not reckoned: unknown, and nothing counted.

    Source: IRC 25D(a) and (d)(2), IRC 48E (seen): the household has no expenditure for the system.
    """
    text = """
alternatives:
  - {name: Lease, costs: [], payment: {lease: {monthly: 90, rise: 2%, years: 20}}}
"""
    blanks = "income_tax: 9000\n  state_income_tax: 3000"
    study = studied(text, region="NY", in_service="2025-06-15", household=blanks)
    [result] = study.results
    found = {award["rule"]: award for award in study.to_json()["alternatives"][0]["incentives"]}

    federal = found["us/residential-clean-energy-credit"]
    assert federal["status"] == "refused"
    assert any("lease or a power purchase agreement the household has no" in reason for reason in federal["reasons"])
    owners = found["us/third-party-clean-electricity-credit"]
    assert owners["status"] == "refused"
    assert any("goes to the company that owns the system, not to you" in reason for reason in owners["reasons"])
    assert found["us/ny/solar-equipment-credit"]["status"] == "unknown"
    assert float(result.awarded) == 0
    assert float(result.net_cost) == 0
    assert line(study, "awards") == [0] * (YEARS + 1)
    assert line(study, "lease payments") == pytest.approx([0, *(-1_080 * 1.02 ** np.arange(YEARS))])


def test_california_spares_the_property_tax_of_what_is_finished_before_2027() -> None:
    """1.1 % on half of 15,000 is 82.50 a year: spared if finished on 31 December 2026, due if a day later.

    Source: California Rev. & Tax. Code 73, SB 710 ch. 328 Stats. 2025 (seen); rate and share are invented.
    """
    text = """
alternatives:
  - {name: In 2026, in_service: 2026-12-31}
  - {name: In 2027, in_service: 2027-01-01}
"""
    blanks = "income_tax: 9000\n  state_income_tax: 3000\n  property_tax: {rate: 1.1%, added_value: 50%}"
    study = studied(text, region="CA", in_service="2026-12-31", household=blanks)
    due = np.array([0, *[82.5] * YEARS])

    assert line(study, "property tax", 0) == pytest.approx(-due)
    assert line(study, "yearly awards", 0) == pytest.approx(due)
    assert line(study, "property tax", 1) == pytest.approx(-due)
    assert line(study, "yearly awards", 1) is None
    before, after = study.results
    assert after.cash.net - before.cash.net == pytest.approx(-due)
    # A tax that is spared is no part of what the purchase costs.
    assert [float(result.net_cost) for result in study.results] == [15_000, 15_000]
    assert [float(result.awarded) for result in study.results] == [0, 0]

    rule = "us/ca/active-solar-exclusion"
    found = [
        next(award for award in plan["incentives"] if award["rule"] == rule) for plan in study.to_json()["alternatives"]
    ]
    assert [award["status"] for award in found] == ["granted", "refused"]
    assert [award["upfront"] for award in found] == [False, False]
    assert any("stops working on 1 January 2027" in reason for reason in found[1]["reasons"])
