"""The cases of the rules of the United States, each expected amount worked by hand from the rule's text.

`T` and a number name a worked case of our notes; one taken from an official text says so.
"""

from collections.abc import Mapping
from datetime import date

from rule_cases import Case

CASES: Mapping[str, Case] = {
    # T1, official (Congressional Research Service IN12611): 30 % of 30,000 for a system finished in 2025.
    "us/residential-clean-energy-credit": Case(
        in_force=date(2025, 12, 31),
        out_of_force=date(2026, 1, 1),
        kw=10.0,
        cost={"modules": 30_000.0},
        expected=9_000.0,
    ),
    # The credit is the owner's: a household that leases gets 0 while it is in force, too.
    "us/third-party-clean-electricity-credit": Case(
        in_force=date(2027, 12, 31),
        out_of_force=date(2028, 1, 1),
        kw=6.0,
        facts={"buys the system": False, "leases the system": True},
        expected=0.0,
        status="refused",
    ),
    # T18: (18,000 - 2,100) x 25 % = 3,975; the rebate of 0.35 per watt of 6 kW lowers the cost, whoever pays it.
    "us/ny/solar-equipment-credit": Case(
        in_force=date(2026, 6, 1),
        out_of_force=date(1997, 12, 31),
        kw=6.0,
        cost={"modules": 18_000.0},
        grant=2_100.0,
        expected=3_975.0,
    ),
    # All of 300 a year for ten years; its fifteen years outlast the study.
    "us/ny/real-property-exemption": Case(
        in_force=date(2026, 6, 1),
        out_of_force=date(1990, 12, 31),
        kw=6.0,
        property_tax=300.0,
        claim={"confirmed": True},
        expected=3_000.0,
    ),
    # T20: federal credit 30 % of 5,000 = 1,500; (5,000 - 1,500) x 15 % = 525, not 750.
    "us/ma/energy-credit": Case(
        in_force=date(2025, 12, 31),
        out_of_force=date(1978, 12, 31),
        kw=2.0,
        cost={"modules": 5_000.0},
        beside=("us/residential-clean-energy-credit",),
        expected=525.0,
    ),
    # The administrator's later page: 5 kW x 275 = 1,375 a season; five seasons are locked: 6,875.
    "us/ma/battery-demand-response": Case(
        in_force=date(2026, 6, 1),
        out_of_force=date(2027, 1, 1),
        battery_kwh=20.0,
        claim={"confirmed": True, "kw": 5.0},
        expected=6_875.0,
    ),
    # T26, official (the administrator's page): 5 kW x 225 = 1,125 a season; five seasons: 5,625.
    "us/ri/battery-demand-response": Case(
        in_force=date(2020, 6, 1),
        out_of_force=date(2019, 5, 31),
        battery_kwh=20.0,
        claim={"confirmed": True, "kw": 5.0},
        expected=5_625.0,
    ),
    # T34, the second device: 25 % of 3,000 = 750, of which the lifetime's 1,000 - 750 = 250 are left; the rest is lost.
    "us/az/solar-credit": Case(
        in_force=date(2026, 6, 1),
        out_of_force=date(1994, 12, 31),
        kw=1.0,
        cost={"modules": 3_000.0},
        claim={"used_before": 750.0},
        expected=250.0,
        status="partly",
    ),
    # T33: 35 % of 20,000 = 7,000, capped at 5,000; the refund elected is 30 % smaller: 3,500.
    "us/hi/renewable-energy-credit": Case(
        in_force=date(2026, 12, 31),
        out_of_force=date(2027, 1, 1),
        kw=6.0,
        cost={"modules": 20_000.0},
        claim={"refundable": True},
        expected=3_500.0,
        status="partly",
    ),
    # T21: 25 % of 30,000 = 7,500, used as 3,500, 3,500 and 500; half of a year's tax of 20,000 never binds.
    "us/sc/solar-credit": Case(
        in_force=date(2026, 6, 1),
        out_of_force=date(2005, 12, 31),
        kw=10.0,
        cost={"modules": 30_000.0},
        expected=7_500.0,
    ),
    # 10 % of 30,000, with the year's budget known to be open.
    "us/nm/solar-market-credit": Case(
        in_force=date(2026, 12, 31),
        out_of_force=date(2027, 1, 1),
        kw=10.0,
        cost={"modules": 30_000.0},
        claim={"funds": True},
        expected=3_000.0,
    ),
    # T23: of 20,000, deductions of 5,000 (8,000 clipped), 4,000, 4,000 and 4,000 = 17,000, at a rate of 6 %: 1,020.
    "us/id/alternative-energy-deduction": Case(
        in_force=date(2026, 6, 1),
        out_of_force=date(1975, 12, 31),
        kw=6.0,
        cost={"modules": 20_000.0},
        expected=1_020.0,
        status="partly",
    ),
    # 9 MWh a year at 85 for ten of the fifteen years: 7,650.
    "us/nj/solar-certificates": Case(
        in_force=date(2026, 2, 28),
        out_of_force=date(2026, 3, 1),
        kw=8.0,
        generation=9_000.0,
        exported=4_000.0,
        claim={"taxed": False},
        expected=7_650.0,
    ),
    # All of the 900 on the modules; the 360 on the labour belong to the rule below.
    "us/wa/sales-tax-exemption": Case(
        in_force=date(2029, 12, 31),
        out_of_force=date(2030, 1, 1),
        kw=6.0,
        cost={"modules": 10_000.0, "labour": 4_000.0},
        sales_tax={"modules": 900.0, "labour": 360.0},
        facts={"licensed installer": False},
        expected=900.0,
    ),
    # All of the 360 on the labour of a registered contractor.
    "us/wa/sales-tax-exemption-labour": Case(
        in_force=date(2019, 7, 1),
        out_of_force=date(2019, 6, 30),
        kw=6.0,
        cost={"modules": 10_000.0, "labour": 4_000.0},
        sales_tax={"modules": 900.0, "labour": 360.0},
        expected=360.0,
    ),
    # Half of 18,000.
    "us/wa/sales-tax-refund": Case(
        in_force=date(2026, 6, 1),
        out_of_force=date(2019, 6, 30),
        kw=150.0,
        cost={"modules": 200_000.0},
        sales_tax={"modules": 18_000.0},
        expected=9_000.0,
    ),
    # All of 300 a year for as long as the study runs.
    "us/ca/active-solar-exclusion": Case(
        in_force=date(2026, 12, 31),
        out_of_force=date(2027, 1, 1),
        kw=6.0,
        property_tax=300.0,
        expected=3_000.0,
    ),
    # T24, official (rule 701-304.48): 11 % of 30,000 in 2021, not half of the 26 % in force.
    "us/ia/solar-credit": Case(
        in_force=date(2021, 12, 31),
        out_of_force=date(2022, 1, 1),
        kw=10.0,
        cost={"modules": 30_000.0},
        expected=3_300.0,
    ),
    # 25 % of 1,600 = 400, the cap of the last year to the dollar.
    "us/ut/residential-solar-credit": Case(
        in_force=date(2023, 12, 31),
        out_of_force=date(2024, 1, 1),
        kw=0.5,
        cost={"modules": 1_600.0},
        expected=400.0,
    ),
    # T25: 4 kW x 3,000 = 12,000; capped at 6,000, below half of 24,000; used as four times 1,500.
    "us/or/residential-energy-credit": Case(
        in_force=date(2017, 12, 31),
        out_of_force=date(2018, 1, 1),
        kw=4.0,
        cost={"modules": 24_000.0},
        expected=6_000.0,
        status="partly",
    ),
    # 30 % of the battery's 12,000; the modules have no part in it.
    "us/md/storage-credit": Case(
        in_force=date(2024, 12, 31),
        out_of_force=date(2025, 1, 1),
        kw=6.0,
        battery_kwh=13.5,
        cost={"battery": 12_000.0, "modules": 15_000.0},
        claim={"funds": True},
        expected=3_600.0,
    ),
}
