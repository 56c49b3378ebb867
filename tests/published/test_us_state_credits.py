"""Worked cases of incentives of the states of the US, each with its source beside the numbers.

`known` says how the expected figure reached us: `published` (printed by an agency or in a trade article), `test file`
(of an open tax calculator), `rule` (our own arithmetic from the cited rule, done without the code under test). Every
case is weighed with all the rules of the country and its state together, as a study does. Facts as of November 2026.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date

import numpy as np
import pytest

from finsolar.incentives.awards import assess
from finsolar.incentives.facts import Award, Claimed, EligibleLine, House, Subsidy
from finsolar.incentives.rulebook import load_rules

FEDERAL = "us/residential-clean-energy-credit"
ARIZONA, HAWAII, IDAHO = "us/az/solar-credit", "us/hi/renewable-energy-credit", "us/id/alternative-energy-deduction"
IOWA, MASSACHUSETTS = "us/ia/solar-credit", "us/ma/energy-credit"
NEW_YORK, OREGON = "us/ny/solar-equipment-credit", "us/or/residential-energy-credit"
SOUTH_CAROLINA, UTAH = "us/sc/solar-credit", "us/ut/residential-solar-credit"
DEMAND_RESPONSE = "us/ma/battery-demand-response"
NEW_MEXICO = "us/nm/solar-market-credit"
YEARS = 12
AMPLE = 40_000.0
LEASED = {"buys the system": False, "leases the system": True}


def house(
    day: date,
    *,
    facts: Mapping[str, bool] | None = None,
    kw: float = 6.0,
    battery_kwh: float = 0.0,
    state_tax: float = AMPLE,
    claims: Mapping[str, Claimed] | None = None,
) -> House:
    """Return a main home on the grid whose owners buy the system; everything is done on `day`."""
    told = {
        "buys the system": True,
        "leases the system": False,
        "lives there": True,
        "main home": True,
        "new home": False,
        "existing home": True,
        "contractor": True,
        "licensed installer": True,
        "accredited installer": True,
        "grid connection": True,
        "off grid": False,
        "solar": kw > 0,
        "battery": battery_kwh > 0,
        "net metering": False,
        "no net metering": True,
    }
    return House(
        days={"installation completed": day, "in service": day},
        facts=told | dict(facts or {}),
        numbers={"solar kw": np.array(kw), "battery kwh": np.array(battery_kwh)},
        taxes={"income tax": np.array([AMPLE]), "state income tax": np.array([state_tax])},
        marginal={"income tax": np.array(0.22), "state income tax": np.array(0.05)},
        itemises=False,
        generation=np.zeros(YEARS),
        exported=np.zeros(YEARS),
        battery_kw=np.array(10.0),
        battery_usable_kwh=np.array(battery_kwh),
        currency="USD",
        claims=dict(claims or {}),
    )


def weigh(rule_id: str, told: House, cost: float, subsidies: list[Subsidy] | None = None) -> Award:
    """Return what a rule says of a solar system that costs so much, all rules of its place being weighed."""
    country, state, _ = rule_id.split("/")
    lines = [EligibleLine("Solar system", "modules", np.array(cost), np.array(0.0))]
    awards = assess(load_rules(country, state), told, lines, subsidies or [], years=YEARS)
    return next(award for award in awards if award.rule_id == rule_id)


@dataclass(frozen=True)
class Case:
    """One system and the money expected of one rule for it, from year 1 on; beyond the years listed it is nothing."""

    id: str
    source: str
    known: str
    rule: str
    day: date
    cost: float
    years: list[float]
    status: str = "granted"
    steps: dict[str, float] = field(default_factory=dict)
    kw: float = 6.0
    state_tax: float = AMPLE
    business_use: float = 0.0
    facts: dict[str, bool] = field(default_factory=dict)
    claim: Claimed | None = None
    subsidies: list[tuple[float, bool]] = field(default_factory=list)

    def award(self) -> Award:
        """Return what finsolar says."""
        claims = {} if self.claim is None else {self.rule: self.claim}
        told = house(self.day, facts=self.facts, kw=self.kw, state_tax=self.state_tax, claims=claims)
        told = replace(told, business_use=np.array(self.business_use))
        given = [Subsidy("Rebate", np.array(amount), lowers) for amount, lowers in self.subsidies]
        return weigh(self.rule, told, self.cost, given)


NY_REBATE = "New York Tax Law 606(g-1); worked example of a trade article: 6 kW, 0.35 USD per watt"
NY_FILE = "policyengine-us 2.68.0, its own test of ny_solar_energy_systems_equipment_credit"
MA_LAW = "M.G.L. c. 62 s. 6(d); federal share of IRC 25D"
SC_LAW = "S.C. Code 12-6-3587"
ID_LAW = "Idaho Code 63-3022C; at an invented marginal rate of 5 %"
IA_LAW = "Iowa Code 422.11L; table of rule 701-304.48"
OR_LAW = "ORS 316.116"
HI_LAW = "HRS 235-12.5"
AZ_LAW = "A.R.S. 43-1083"
NM_LAW = "NMAC 3.3.14.15; refundable from memory"
UT_LAW = "Utah Code 59-10-1014, by year of completion"

CASES = [
    Case("T18 NY, rebate that lowers the price", NY_REBATE, "published", NEW_YORK, date(2024, 5, 1), 18_000, [3_975],
         steps={"basis": 15_900}, subsidies=[(6_000 * 0.35, True)]),
    Case("T18 NY, the same money as a grant", NY_REBATE, "rule", NEW_YORK, date(2024, 5, 1), 18_000, [3_975],
         steps={"basis": 15_900}, subsidies=[(6_000 * 0.35, False)]),
    Case("T19 NY, below the cap", NY_FILE, "test file", NEW_YORK, date(2007, 7, 1), 1_000, [250]),
    Case("T19 NY, at the cap", NY_FILE, "test file", NEW_YORK, date(2007, 7, 1), 100_000, [5_000], "partly",
         {"cut by the cap": -20_000}),
    Case("NY, the last day of the smaller cap", "New York Tax Law 606(g-1)", "rule", NEW_YORK, date(2006, 8, 31),
         100_000, [3_750], "partly"),
    Case("NY, the first day of the larger cap", "New York Tax Law 606(g-1)", "rule", NEW_YORK, date(2006, 9, 1),
         100_000, [5_000], "partly"),
    Case("NY, off the grid", "New York Tax Law 606(g-1)", "rule", NEW_YORK, date(2024, 5, 1), 18_000, [], "refused",
         facts={"grid connection": False, "off grid": True}),
    Case("NY, second home", "New York Tax Law 606(g-1)", "rule", NEW_YORK, date(2024, 5, 1), 18_000, [], "refused",
         facts={"main home": False}),
    Case("NY, leased: the credit on what is paid under a lease is not reckoned", "New York Tax Law 606(g-1)", "rule",
         NEW_YORK, date(2024, 5, 1), 18_000, [], "unknown", facts=LEASED),
    Case("NY, five years of carrying", "New York Tax Law 606(g-1); Form IT-255", "rule", NEW_YORK, date(2024, 5, 1),
         16_000, [500] * 6, "partly", {"potential credit": 4_000, "lost": 1_000}, state_tax=500),
    Case("T20 MA, finished in 2025: the federal 1,500 comes off first", MA_LAW, "rule", MASSACHUSETTS,
         date(2025, 12, 31), 5_000, [525], steps={"basis": 3_500}),
    Case("T20 MA, finished in 2026: no federal credit to take off", MA_LAW, "rule", MASSACHUSETTS,
         date(2026, 1, 1), 5_000, [750], steps={"basis": 5_000}),
    Case("MA, cap", MA_LAW, "rule", MASSACHUSETTS, date(2026, 1, 1), 30_000, [1_000], "partly",
         {"cut by the cap": -3_500}),
    Case("MA, three years of carrying", MA_LAW, "rule", MASSACHUSETTS, date(2026, 1, 1), 30_000, [200] * 4, "partly",
         {"lost": 200}, state_tax=200),
    Case("T21 SC, tax of 10,000", SC_LAW, "rule", SOUTH_CAROLINA, date(2026, 6, 1), 30_000, [3_500, 3_500, 500],
         steps={"potential credit": 7_500, "lost": 0}, state_tax=10_000),
    Case("T22 SC, tax of 3,000: half of it each year", SC_LAW + "; practice reading", "rule", SOUTH_CAROLINA,
         date(2026, 6, 1), 30_000, [1_500] * 5, steps={"potential credit": 7_500, "lost": 0}, state_tax=3_000),
    Case("SC, ten years of carrying", SC_LAW, "rule", SOUTH_CAROLINA, date(2026, 6, 1), 30_000, [500] * 11, "partly",
         {"lost": 2_000}, state_tax=1_000),
    Case("T23 ID", ID_LAW, "rule", IDAHO, date(2026, 6, 1), 20_000, [250, 200, 200, 200], "partly",
         {"deducted from income": 17_000, "cut by the yearly cap, and lost": -3_000}),
    Case("ID, never below the cap", ID_LAW, "rule", IDAHO, date(2026, 6, 1), 50_000, [250] * 4, "partly",
         {"deducted from income": 20_000}),
    Case("T24 IA, 2019: half of 30 %", IA_LAW, "published", IOWA, date(2019, 12, 31), 30_000, [4_500]),
    Case("T24 IA, 2020: 13 %", IA_LAW, "published", IOWA, date(2020, 1, 1), 30_000, [3_900]),
    Case("T24 IA, 2020: 13 % to the last day", IA_LAW, "published", IOWA, date(2020, 12, 31), 30_000, [3_900]),
    Case("T24 IA, 2021: 11 %, not half of the federal 26 %", IA_LAW, "published", IOWA, date(2021, 1, 1), 30_000,
         [3_300]),
    Case("T24 IA, cap", IA_LAW, "rule", IOWA, date(2019, 6, 1), 40_000, [5_000], "partly",
         {"cut by the cap": -1_000}),
    Case("T17 IA, a fifth for business: all of it counts", IA_LAW + "; IRC 25D(e)(7)", "rule", IOWA, date(2019, 6, 1),
         10_000, [1_500], business_use=0.2),
    Case("T17 IA, three tenths for business: 15 % of 7,000", IA_LAW + "; IRC 25D(e)(7)", "rule", IOWA,
         date(2019, 6, 1), 10_000, [1_050], steps={"less business use": -3_000}, business_use=0.3),
    Case("IA, 2015: 60 % of 30 %", IA_LAW, "rule", IOWA, date(2015, 12, 31), 20_000, [3_600]),
    Case("IA, ended", IA_LAW, "published", IOWA, date(2022, 1, 1), 30_000, [], "refused"),
    Case("T25 OR, 4 kW: the cap of 6,000 over four years", OR_LAW, "rule", OREGON, date(2016, 6, 1), 24_000,
         [1_500] * 4, "partly", {"cut by the cap": -6_000}, kw=4.0),
    Case("T25 OR, 1.5 kW: half of the cost binds", OR_LAW, "rule", OREGON, date(2016, 6, 1), 8_000,
         [1_500, 1_500, 1_000], "partly", {"for its kW": 4_500, "cut by the share of the cost": -500}, kw=1.5),
    Case("OR, the last day", OR_LAW, "rule", OREGON, date(2017, 12, 31), 24_000, [1_500] * 4, "partly", kw=4.0),
    Case("OR, ended", OR_LAW, "rule", OREGON, date(2018, 1, 1), 24_000, [], "refused", kw=4.0),
    Case("T33 HI, against tax", HI_LAW, "rule", HAWAII, date(2026, 6, 1), 20_000, [5_000], "partly",
         {"cut by the cap": -2_000}),
    Case("T33 HI, refund chosen, with hardly any tax", HI_LAW, "rule", HAWAII, date(2026, 6, 1), 20_000, [3_500],
         "partly", {"given up for the refund": -1_500}, state_tax=10, claim=Claimed(refundable=True)),
    Case("HI, refund below the cap: 24.5 %", HI_LAW, "rule", HAWAII, date(2026, 6, 1), 10_000, [2_450], "partly",
         claim=Claimed(refundable=True)),
    Case("HI, leased: the credit is the owner's", HI_LAW, "rule", HAWAII, date(2026, 6, 1), 20_000, [], "refused",
         facts=LEASED),
    Case("NM, the amounts before the bill of 2026", NM_LAW, "rule", NEW_MEXICO, date(2026, 12, 31), 30_000, [3_000],
         state_tax=10, claim=Claimed(funds=True)),
    Case("NM, the law after 2026 is not known", "bill of 2026, outcome not verified", "rule", NEW_MEXICO,
         date(2027, 1, 1), 30_000, [], "unknown", claim=Claimed(funds=True)),
    Case("HI, the law after 2026 is not known", "HB 2241 (2026), outcome not verified", "rule", HAWAII,
         date(2027, 1, 1), 20_000, [], "unknown"),
    Case("T34 AZ, the first system", AZ_LAW, "rule", ARIZONA, date(2023, 6, 1), 3_000, [750]),
    Case("T34 AZ, another one three years later", AZ_LAW, "rule", ARIZONA, date(2026, 6, 1), 3_000, [250], "partly",
         {"potential credit": 250, "cut by the rest of the lifetime cap": -500},
         claim=Claimed(used_before=np.array(750.0))),
    Case("AZ, all used up", AZ_LAW, "rule", ARIZONA, date(2026, 6, 1), 3_000, [], "refused",
         claim=Claimed(used_before=np.array(1_000.0))),
    Case("AZ, leased", AZ_LAW, "rule", ARIZONA, date(2026, 6, 1), 3_000, [], "refused", facts=LEASED),
    Case("UT, 2020", UT_LAW, "published", UTAH, date(2020, 12, 31), 20_000, [1_600], "partly"),
    Case("UT, 2021", UT_LAW, "published", UTAH, date(2021, 1, 1), 20_000, [1_200], "partly"),
    Case("UT, 2022", UT_LAW, "published", UTAH, date(2022, 6, 1), 20_000, [800], "partly"),
    Case("UT, 2023", UT_LAW, "published", UTAH, date(2023, 12, 31), 20_000, [400], "partly"),
    Case("UT, ended", UT_LAW, "published", UTAH, date(2024, 1, 1), 20_000, [], "refused"),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_worked_case(case: Case) -> None:
    """Every figure of the case is the figure of the award, to the cent, in the year it belongs to."""
    award = case.award()
    found = {step.label: float(step.amount) for step in award.ledger}
    expected = [0.0, *case.years, *[0.0] * (YEARS - len(case.years))]

    assert award.amounts == pytest.approx(np.array(expected), abs=0.005), (case.source, case.known, award.reasons)
    assert case.steps == pytest.approx({label: found[label] for label in case.steps}, abs=0.005), case.source
    assert case.status == award.status, award.reasons


@pytest.mark.parametrize(("enrolled", "per_kw"), [(date(2021, 6, 1), 225), (date(2026, 6, 1), 275)], ids=str)
def test_t26_demand_response_of_five_kilowatts(enrolled: date, per_kw: int) -> None:
    """5 kW on average through all events earn 1,125 a year, later 1,375, for the five years of the lock.

    Source: the programme administrator's page, 5 kW x 225 = 1,125 and, later, 1,375 (published; the days on which
    each amount began are from memory).
    """
    claim = {DEMAND_RESPONSE: Claimed(confirmed=True, kw=np.array(5.0))}
    award = weigh(DEMAND_RESPONSE, house(enrolled, battery_kwh=16.0, claims=claim), 20_000)
    assert award.amounts == pytest.approx(np.array([0.0, *[5.0 * per_kw] * 5, *[0.0] * (YEARS - 5)]))
    assert {225: 1_125, 275: 1_375}[per_kw] == award.amounts[1]
    assert (award.status, award.upfront) == ("granted", False)


def test_a_battery_gives_no_more_than_it_holds_through_an_event() -> None:
    """9 kWh over an event of three hours are 3 kW, whatever the household claims; 10 kW is all the inverter gives.

    Source: events of up to three hours, the programme administrator's page (published); the division is ours.
    """
    found = []
    for kwh in (9.0, 60.0):
        claim = {DEMAND_RESPONSE: Claimed(confirmed=True, kw=np.array(12.0))}
        award = weigh(DEMAND_RESPONSE, house(date(2021, 6, 1), battery_kwh=kwh, claims=claim), 20_000)
        found.append(float(award.amounts[1]))
        assert award.status == "partly"
    assert found == [3 * 225, 10 * 225]


def test_a_state_credit_leaves_the_federal_basis_alone() -> None:
    """Federal and New York credits of one system in 2025: 30 % of the whole cost, 25 % of the whole cost.

    Source: IRS page on the credit, a state tax credit is no price reduction (seen); New York Tax Law 606(g-1).
    """
    told = house(date(2025, 6, 1))
    lines = [EligibleLine("Solar system", "modules", np.array(16_000.0), np.array(0.0))]
    awards = {award.rule_id: award for award in assess(load_rules("US", "NY"), told, lines, [], years=YEARS)}
    assert [float(awards[rule].basis) for rule in (FEDERAL, NEW_YORK)] == [16_000, 16_000]
    assert [float(awards[rule].amounts.sum()) for rule in (FEDERAL, NEW_YORK)] == pytest.approx([4_800, 4_000])


@pytest.mark.parametrize(("itemises", "cost"), [(True, 0.22), (False, 0.0), (None, 0.0)], ids=str)
def test_a_state_credit_costs_itemisers_the_federal_rate_on_it(itemises: bool | None, cost: float) -> None:
    """A state credit of 4,000 costs 22 % of it where state tax is deducted from federal income, and else nothing.

    Source: IRC 164, deduction of state and local taxes (from memory); below the cap on that deduction.
    """
    told = house(date(2026, 6, 1))
    told = House(**{**vars(told), "itemises": itemises})
    award = weigh(NEW_YORK, told, 16_000)
    assert float(award.amounts.sum()) == pytest.approx(4_000)
    assert float(award.tax.sum()) == pytest.approx(-cost * 4_000)
    assert any("household.itemises" in reason for reason in award.reasons) == (itemises is None)
