"""Cases of the rules outside the United States, one for each file, each worked by hand beside it.

Prices and houses are invented; the amounts follow from the facts written in the rule files.
"""

from collections.abc import Mapping
from datetime import date

from rule_cases import Case

CASES: Mapping[str, Case] = {
    # A contractor's parts of 6,000 and labour of 3,000, taxed at 20 %: 1,800, of which nothing is left.
    "gb/energy-saving-materials-vat": Case(
        in_force=date(2026, 11, 2),
        out_of_force=date(2022, 3, 31),
        cost={"modules": 6_000, "labour": 3_000},
        sales_tax={"modules": 1_200, "labour": 600},
        kw=4,
        facts={"contractor": True, "licensed installer": False, "accredited installer": False},
        expected=1_800,
    ),
    # Pays nothing itself.
    "gb/microgeneration-income-exemption": Case(
        in_force=date(2026, 5, 1),
        out_of_force=date(2007, 4, 5),
        cost={"modules": 6_000},
        kw=4,
        claim={"confirmed": True},
        expected=0,
    ),
    # 6.6 kW x 1.382 x 5 years = 45.606, so 45 certificates of 38 each: 1,710.
    "au/small-scale-certificates": Case(
        in_force=date(2026, 12, 31),
        out_of_force=date(2031, 1, 1),
        cost={"modules": 9_000},
        kw=6.6,
        claim={"price": 38.0, "zone": "3"},
        expected=1_710,
    ),
    # 20 kWh count as 14 + 6 x 0.6 = 17.6; x 6.8 = 119.68, so 119 certificates of 38 each: 4,522.
    "au/battery-certificates": Case(
        in_force=date(2026, 5, 1),
        out_of_force=date(2025, 6, 30),
        cost={"battery": 15_000},
        kw=6.6,
        battery_kwh=20,
        claim={"price": 38.0},
        expected=4_522,
    ),
    # Own labour: goods of 8,000 and 5,000 alone, taxed at 19 %: 1,520 + 950 = 2,470, of which nothing is left.
    "de/photovoltaic-vat": Case(
        in_force=date(2023, 1, 1),
        out_of_force=date(2022, 12, 31),
        cost={"modules": 8_000, "battery": 5_000, "tools": 200},
        sales_tax={"modules": 1_520, "battery": 950, "tools": 38},
        kw=9,
        battery_kwh=8,
        facts={"contractor": False, "licensed installer": False, "accredited installer": False},
        expected=2_470,
    ),
    # Pays nothing itself; 30 kW is the last size below the ceiling.
    "de/small-plant-income-exemption": Case(
        in_force=date(2022, 1, 1),
        out_of_force=date(2021, 12, 31),
        cost={"modules": 30_000},
        kw=30,
        expected=0,
    ),
    # (10 x 8.03 + 5 x 6.95) / 15 = 7.67 ct; 9,000 kWh are 690.30 a year, 6,903.00 in the ten years of the study.
    "de/surplus-feed-in": Case(
        in_force=date(2025, 1, 1),
        out_of_force=date(2022, 7, 29),
        cost={"modules": 18_000},
        kw=15,
        generation=14_000,
        exported=9_000,
        export_is_paid=False,
        expected=6_903,
    ),
    # (10 x 12.47 + 2 x 10.45) / 12 = 145.60 / 12 ct; 12,000 kWh are 1,456 a year, 14,560 in ten years.
    "de/full-feed-in": Case(
        in_force=date(2025, 8, 1),
        out_of_force=date(2027, 2, 1),
        cost={"modules": 15_000},
        kw=12,
        generation=12_000,
        exported=12_000,
        export_is_paid=False,
        claim={"confirmed": True},
        expected=14_560,
    ),
    # 4.2 kW at 1,000 each, below the cap of 5,000.
    "ca/greener-homes-grant": Case(
        in_force=date(2022, 6, 1),
        out_of_force=date(2024, 4, 1),
        cost={"modules": 12_000},
        kw=4.2,
        expected=4_200,
    ),
    # No payment. 20,000 owed in equal parts over 10 years and nothing for it, at 5 % a year: the ten parts of 2,000 are
    # worth 2,000 x (1 - 1.05^-10) / 0.05 = 15,443.47 today, so 4,556.53 is spared.
    "ca/greener-homes-loan": Case(
        in_force=date(2025, 10, 1),
        out_of_force=date(2025, 10, 2),
        cost={"modules": 20_000},
        kw=8,
        rate=0.05,
        expected=0,
        worth=4_556.53,
    ),
    # 4 kW at 1,000 each, below the cap of 5,000 and below half of 10,000.
    "ca/on/home-renovation-savings-solar": Case(
        in_force=date(2026, 3, 1),
        out_of_force=date(2025, 1, 27),
        cost={"modules": 10_000},
        kw=4,
        facts={"contractor": True, "net metering": False, "no net metering": True},
        expected=4_000,
    ),
    # 10 kWh at 300 each, below the cap of 5,000 and below half of 8,000.
    "ca/on/home-renovation-savings-battery": Case(
        in_force=date(2026, 3, 1),
        out_of_force=date(2025, 1, 27),
        cost={"battery": 8_000},
        kw=4,
        battery_kwh=10,
        facts={"contractor": True, "net metering": False, "no net metering": True},
        expected=3_000,
    ),
    # 12 % of 10,000 is 1,200; the federal 5 %, 500, stays.
    "ca/bc/sales-tax-exemption": Case(
        in_force=date(2026, 3, 1),
        out_of_force=date(2013, 3, 31),
        cost={"modules": 10_000, "labour": 4_000},
        sales_tax={"modules": 1_200, "labour": 200},
        kw=5,
        expected=700,
    ),
}
