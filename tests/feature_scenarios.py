"""One scenario for each feature of sun, use, battery, supply and bill, so that a failure names it.

Where a study would look the same without the feature, ``shows`` tells what must be seen in its plain values.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

HOUSE = """
title: A house of one feature
place: {country: NL, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
costs: [{item: Modules, category: modules, cost: 9000}]
"""
FEW_YEARS = "study: {in_service: 2026-03-01, years: 3, discount_rate: 4%}\n"
EVENINGS = """
household: {load: {monthly_kwh: [900, 800, 700, 600, 500, 600, 700, 700, 600, 500, 700, 900], shape: evening}}
"""
GREENSBORO = "weather: greensboro\n"
DEAR_TIMES = """
tariff:
  energy:
    - {name: peak, price: 0.38, days: mon-fri, hours: "7-9, 17-21"}
    - {name: night, price: 0.09, hours: 0-6}
    - {name: rest, price: 0.21}
  export: {scheme: net billing, price: 0.05}
  rise: 2%
"""
ONE_ROOF = "arrays: [{kw: 6, tilt: 25, azimuth: 180}], inverter: {kw: 5, idle_watts: 40}"


@dataclass(frozen=True)
class Feature:
    """A scenario, and what must be seen in its study lest the feature go unchecked."""

    text: str
    shows: Callable[[dict[str, Any]], bool]


def _energy(plain: dict[str, Any], name: str, plan: int = 0) -> list[float]:
    found: list[float] = plain["alternatives"][plan]["energy"][name]
    return found


def _bill(plain: dict[str, Any], component: str, plan: int = 0) -> list[float]:
    """What one component of an alternative's bill comes to by year."""
    found: list[float] = plain["alternatives"][plan]["bills"]["after"]["by_year"][component]
    return found


def _differ(plain: dict[str, Any], name: str) -> bool:
    """Whether no two alternatives have the same sums under a name."""
    found = [tuple(round(kwh, 3) for kwh in plan["energy"][name]) for plan in plain["alternatives"]]
    return len(set(found)) == len(found)


FEATURES = {
    "brightness, shade, snow and a list of losses": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + DEAR_TIMES
        + """
weather: {station: greensboro, brightness: 108.5%}
system:
  arrays:
    - {kw: 4, tilt: 25, azimuth: 180, shading: [40%, 30%, 20%, 10%, 5%, 0%, 0%, 5%, 10%, 20%, 30%, 40%]}
    - {kw: 3, tilt: 10, azimuth: 270, shading: 7%}
  inverter: {kw: 5}
  losses: [{item: dust, share: 3%}, {item: cable, share: 1.5%}, {item: mismatch, share: 2%}]
  snow: [35%, 20%, 5%, 0, 0, 0, 0, 0, 0, 0, 2%, 18%]
alternatives:
  - name: All of it
  - {name: One loss and no snow, system: {losses: 6.5%, snow: 0}}
  - {name: No shade, system: {arrays: [{kw: 4, tilt: 25, azimuth: 180}, {kw: 3, tilt: 10, azimuth: 270}]}}
""",
        lambda plain: _differ(plain, "solar"),
    ),
    "a typical year in a file": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + DEAR_TIMES
        + f"weather: {{file: sun.epw, kind: epw, brightness: 95%}}\nsystem: {{{ONE_ROOF}}}\n",
        lambda plain: min(_energy(plain, "solar")) > 5000,
    ),
    "a typical year in UTC": Feature(
        HOUSE + FEW_YEARS + EVENINGS + DEAR_TIMES + f"weather: {{file: sun.csv}}\nsystem: {{{ONE_ROOF}}}\n",
        lambda plain: min(_energy(plain, "solar")) > 5000,
    ),
    "twelve sun hours": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + DEAR_TIMES
        + f"""
weather:
  sun_hours: [2.5, 3.4, 4.4, 5.3, 5.8, 6.1, 5.9, 5.4, 4.6, 3.8, 2.8, 2.3]
  temperature: [4, 6, 10, 15, 19, 23, 26, 25, 21, 15, 10, 5]
  seed: 7
  brightness: {{from: 90%, to: 100%}}
system: {{{ONE_ROOF}}}
""",
        lambda plain: min(_energy(plain, "solar")) > 5000,
    ),
    "a meter's quarters in steps of a quarter": Feature(
        HOUSE
        + """
study: {in_service: 2026-03-01, years: 2, discount_rate: 4%, step_minutes: 15}
household: {load: {file: quarters.csv, stamps: start, growth: 3%}}
"""
        + GREENSBORO
        + DEAR_TIMES
        + f"""
system:
  {ONE_ROOF.replace(", inverter", chr(10) + "  inverter")}
  battery: {{kwh: 8, kw: 3}}
alternatives:
  - name: Beside the grid
  - {{name: Off it, system: {{operation: off grid}}, generator: {{kw: 2, fuel_price: 1.5, rise: 2%}}}}
""",
        lambda plain: any(hours % 1 for hours in _energy(plain, "generator_hours", 1)),
    ),
    "a meter's hours in halves": Feature(
        HOUSE
        + "study: {in_service: 2026-03-01, years: 2, discount_rate: 4%, step_minutes: 30}\n"
        + "household: {load: {file: meter.csv}}\n"
        + GREENSBORO
        + DEAR_TIMES
        + f"system: {{{ONE_ROOF}, battery: {{kwh: 8, kw: 3, standby_watts: 11}}, operation: time shift}}\n",
        lambda plain: min(_energy(plain, "discharge")) > 100,
    ),
    "appliances and loads to come": Feature(
        HOUSE
        + FEW_YEARS
        + """
household:
  load:
    appliances:
      - {item: Refrigerator, watts: 140, duty: 35%}
      - {item: Lamps, watts: 9, count: 12, hours_a_day: 4, hours: 17-23}
      - {item: Pump, watts: 1100, hours_a_day: 2.5, hours: "1-4, 13-15", months: may-sep, on_backup: 100%}
    growth: 4%
    new_loads:
      - {item: Car, from_year: 2, kwh_a_day: 9, hours: 22-6}
      - {item: Pool, from_year: 1, kwh_a_day: 6, months: jun-aug}
      - {item: Heat pump, from_year: 3, monthly_kwh: [500, 450, 300, 120, 0, 0, 0, 0, 0, 90, 280, 460], hours: 5-9}
"""
        + GREENSBORO
        + DEAR_TIMES
        + f"system: {{{ONE_ROOF}, battery: {{kwh: 8, kw: 3}}, operation: time shift}}\n",
        lambda plain: _energy(plain, "load")[2] > _energy(plain, "load")[1] + 2000 > _energy(plain, "load")[0] + 5000,
    ),
    "a record of production": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + DEAR_TIMES
        + """
weather: {station: greensboro, brightness: 90%}
system: {production: production.csv, inverter: {kw: 2.5}, fade: 2%, first_year_loss: 3%, losses: 20%, snow: 10%}
alternatives:
  - name: As recorded
  - {name: Behind a shared inverter, system: {battery: {kwh: 6, kw: 2, coupling: dc}}}
  - {name: Beside a battery, system: {battery: {kwh: 6, kw: 2}, operation: time shift}}
""",
        lambda plain: not any(_energy(plain, "clipped")) and all(_energy(plain, "clipped", 1)),
    ),
    "a shared inverter": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + GREENSBORO
        + DEAR_TIMES
        + """
system:
  arrays: [{kw: 8, tilt: 25, azimuth: 180}]
  inverter: {kw: 1.2, efficiency: 97%, idle_watts: 25}
  battery: {kwh: 10, kw: 3, coupling: dc, standby_watts: 15, reserve: 10%}
alternatives:
  - name: Shared
  - {name: Apart, system: {battery: {coupling: ac}}}
  - name: Shared, and nothing to be sold
    tariff: {energy: 0.25, rise: 0%, export: {scheme: none}}
  - {name: Shared and charged by the grid, system: {operation: backup only}}
  - name: Shared, moving the sun to the dear hours
    system: {operation: time shift, time_shift: {cheap: [night], charge_to: 90%}}
  - {name: Shared and alone, system: {operation: off grid}}
  - name: Shared, with a generator that follows
    system: {operation: off grid}
    generator: {kw: 1.5, fuel_price: 1.5, rise: 2%}
  - name: Shared, with a generator that charges
    system: {operation: off grid}
    generator: {kw: 1.5, fuel_price: 1.5, rise: 2%, start_at: 30%, stop_at: 85%}
""",
        lambda plain: (
            _energy(plain, "clipped")[0] < _energy(plain, "clipped", 1)[0]
            and _energy(plain, "charge_bought", 3)[0] > 5
            and _energy(plain, "charge_bought", 4)[0] > 100
            and _energy(plain, "generator", 6)[0] < _energy(plain, "generator", 7)[0]
            and _energy(plain, "unserved", 6)[0] < _energy(plain, "unserved", 5)[0]
        ),
    ),
    "time shift": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + GREENSBORO
        + DEAR_TIMES
        + f"""
system:
  {ONE_ROOF.replace(", inverter", chr(10) + "  inverter")}
  battery: {{kwh: 9, kw: 4, charge_efficiency: 93%, discharge_efficiency: 96%, reserve: 15%, fade: 4%}}
  operation: time shift
alternatives:
  - name: By the prices
  - {{name: Night charges, system: {{time_shift: {{cheap: [night]}}}}}}
  - {{name: Night fills, system: {{time_shift: {{cheap: [night], charge_to: 100%, keep: 40%}}}}}}
  - {{name: Named, system: {{time_shift: {{dear: [rest], cheap: [night, peak], charge_to: 5%}}}}}}
  - {{name: Kept, system: {{time_shift: {{dear: [peak, night], keep: 70%}}}}}}
""",
        lambda plain: _differ(plain, "discharge") and all(_energy(plain, "charge_bought", 1)),
    ),
    "backup only": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + GREENSBORO
        + DEAR_TIMES
        + f"system: {{{ONE_ROOF}, battery: {{kwh: 9, kw: 4}}, operation: backup only}}\n"
        + "upkeep: [{item: Battery, category: battery, cost: 4000, in_years: [2, 1, 9, 2], residual: 30%}]\n",
        lambda plain: not any(_energy(plain, "discharge")) and _energy(plain, "charge_bought")[0] > 5,
    ),
    "a battery that wears": Feature(
        HOUSE
        + "study: {in_service: 2026-03-01, years: 6, discount_rate: 4%}\n"
        + EVENINGS
        + GREENSBORO
        + DEAR_TIMES
        + f"""
system:
  {ONE_ROOF.replace(", inverter", chr(10) + "  inverter")}
  battery: {{kwh: 7, kw: 4, fade: {{ten_years: 20%, thousand_cycles: 30%}}, warranty: {{years: 4, mwh: 4}}}}
alternatives:
  - name: By use
  - {{name: Renewed once worn, upkeep: [{{item: Battery, category: battery, cost: 4000, below: 80%, residual: 50%}}]}}
  - name: By the root of its age
    system: {{battery: {{fade: {{ten_years: 40%, law: square root}}, warranty: {{years: 4, mwh: 40}}}}}}
    upkeep: [{{item: Battery, category: battery, cost: 4000, in_years: [3]}}]
  - name: By a straight line
    system: {{battery: {{fade: 6%}}}}
    upkeep: [{{item: Battery, category: battery, cost: 4000, below: 85%}}]
""",
        lambda plain: (
            plain["alternatives"][0]["battery_warranty"]["ended_by"] == "throughput"
            and plain["alternatives"][2]["battery_warranty"]["ended_by"] == "age"
            and plain["alternatives"][1]["upkeep"][0]["due"] != []
            and plain["alternatives"][3]["upkeep"][0]["due"] == [3]
            and _differ(plain, "battery_capacity")
        ),
    ),
    "a generator that charges": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + GREENSBORO
        + f"""
generator: {{kw: 2.5, fuel_price: 1.5, rise: 2%, upkeep_per_hour: 0.3, start_at: 25%, stop_at: 90%}}
system:
  {ONE_ROOF.replace(", inverter", chr(10) + "  inverter")}
  battery: {{kwh: 12, kw: 3, standby_watts: 20}}
  operation: off grid
alternatives:
  - name: Charges
  - {{name: Stops soon, generator: {{stop_at: 40%}}}}
  - {{name: Small, generator: {{kw: 0.8}}}}
  - name: Worn, and running as the years turn
    generator: {{kw: 2}}
    system:
      arrays: [{{kw: 3, tilt: 25, azimuth: 180}}]
      battery: {{kwh: 30, fade: {{ten_years: 10%, thousand_cycles: 10%}}}}
  - name: Small and worn
    generator: {{kw: 0.8}}
    system: {{battery: {{fade: {{ten_years: 30%, thousand_cycles: 40%}}}}}}
  - {{name: No battery, system: {{battery: none}}}}
""",
        lambda plain: _differ(plain, "generator") and all(_energy(plain, "charge_bought")),
    ),
    "fixed charges, a minimum bill and holidays": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + GREENSBORO
        + f"""
tariff:
  monthly_charge: 9
  daily_charge: 0.4
  charge_per_kw: 1.1
  minimum_bill: 120
  energy:
    - {{name: peak, price: 0.38, days: mon-fri, hours: "7-9, 17-21"}}
    - {{name: rest, price: 0.21}}
  export: {{scheme: net billing, price: [{{period: peak, price: 0.2}}, {{period: rest, price: 0.04}}]}}
  rise: 2%
  fixed_rise: 5%
system: {{{ONE_ROOF}}}
alternatives:
  - name: Export by the period
  - {{name: Holidays, tariff: {{holidays: {{count_as: sat}}}}}}
  - {{name: One holiday, tariff: {{holidays: {{names: [Christmas Day]}}}}}}
  - {{name: No minimum, tariff: {{minimum_bill: 0}}}}
  - {{name: A limit to what leaves, tariff: {{export: {{scheme: net billing, price: 0.05, limit_kw: 1.5}}}}}}
""",
        lambda plain: (
            _bill(plain, "minimum")[0] > 0
            and len({round(_bill(plain, "energy", plan)[0], 6) for plan in range(3)}) == 3
            and 0 < _energy(plain, "exported", 4)[0] < _energy(plain, "exported", 3)[0] - 500
            and _energy(plain, "curtailed", 4)[0] > 500
        ),
    ),
    "tiers": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + GREENSBORO
        + f"""
tariff:
  energy:
    - {{name: peak, price: 0.38, hours: 17-21}}
    - {{name: rest, price: 0.21}}
  export: {{scheme: net metering}}
  tiers: [{{steps: [{{up_to: 150, adds: -0.02}}, {{up_to: 400}}, {{adds: 0.07}}]}}]
  rise: 2%
system: {{{ONE_ROOF}}}
alternatives:
  - name: By the month
  - name: By the day
    tariff: {{tiers: [{{per: day, of: [rest], steps: [{{up_to: 8, adds: 0.01}}, {{adds: 0.07}}]}}]}}
  - name: By a baseline
    tariff:
      tiers:
        - baseline: [{{months: nov-apr, kwh_a_day: 9}}, {{months: may-oct, kwh_a_day: 5}}]
          steps: [{{of_baseline: 100%}}, {{of_baseline: 130%, adds: 0.05}}, {{adds: 0.11}}]
        - {{of: [peak], steps: [{{up_to: 20, adds: -0.1}}, {{adds: 0.03}}]}}
""",
        lambda plain: len({round(_bill(plain, "tiers", plan)[0], 4) for plan in range(3)} - {0.0}) == 3,
    ),
    "demand": Feature(
        HOUSE
        + """
study: {in_service: 2026-03-01, years: 3, discount_rate: 4%, step_minutes: 15}
household: {load: {file: quarters.csv, stamps: start, growth: -8%}}
"""
        + GREENSBORO
        + f"""
tariff:
  energy: 0.15
  demand:
    - {{name: summer evenings, price: 6, months: jun-sep, days: mon-fri, hours: 16-21}}
    - {{name: any hour, price: 4, minutes: 15, ratchet: 95%}}
  holidays: {{count_as: sun}}
  rise: 2%
  demand_rise: 6%
system: {{{ONE_ROOF}}}
alternatives:
  - name: By the quarter
  - {{name: By the half, tariff: {{demand: [{{name: any hour, price: 4, minutes: 30, ratchet: 95%}}]}}}}
  - {{name: By the hour, tariff: {{demand: [{{name: any hour, price: 4, ratchet: 95%}}]}}}}
  - name: A long memory
    tariff: {{demand: [{{name: any hour, price: 4, ratchet: 100%, ratchet_months: 30}}]}}
  - {{name: No memory, tariff: {{demand: [{{name: any hour, price: 4}}]}}}}
""",
        lambda plain: (
            _bill(plain, "demand", 1)[0] > _bill(plain, "demand", 2)[0] > _bill(plain, "demand", 4)[0] > 0
            and _bill(plain, "demand", 3)[2] > _bill(plain, "demand", 2)[2]
        ),
    ),
    "surcharges and taxes": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + DEAR_TIMES
        + GREENSBORO
        + f"""
system: {{{ONE_ROOF}}}
alternatives:
  - name: By the kWh and by a share
    tariff:
      monthly_charge: 12
      demand: [{{name: peak, price: 3, hours: 16-21}}]
      riders:
        - {{item: Fuel, per_kwh: 0.012}}
        - {{item: Winter, per_kwh: -0.02, months: nov-mar}}
        - {{item: Discount, share: -5%, on: [energy, demand]}}
        - {{item: Fund, share: 2%}}
      taxes: [{{item: Sales, share: 7%}}, {{item: On energy, share: 3%, on: [energy, riders]}}]
      minimum_bill: 95
""",
        lambda plain: all(_bill(plain, name)[0] for name in ("riders", "taxes", "minimum", "demand", "export credit")),
    ),
    "credits that pay for energy": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + DEAR_TIMES
        + GREENSBORO
        + f"""
system: {{{ONE_ROOF.replace("kw: 6", "kw: 9")}}}
alternatives:
  - name: Lost at the end
    tariff: {{monthly_charge: 15, export: {{scheme: net billing, price: 0.3, credits_pay: energy}}}}
  - name: Half is paid
    tariff:
      monthly_charge: 15
      export: {{scheme: net billing, price: 0.3, credits_pay: energy, true_up_month: mar, pay_out: 50%}}
  - {{name: Pay everything, tariff: {{monthly_charge: 15, export: {{scheme: net billing, price: 0.3}}}}}}
""",
        lambda plain: (
            _bill(plain, "export credit")[0] > _bill(plain, "export credit", 1)[0] > _bill(plain, "export credit", 2)[0]
        ),
    ),
    "net metering settled in money": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + DEAR_TIMES
        + GREENSBORO
        + f"""
system: {{{ONE_ROOF.replace("kw: 6", "kw: 3")}}}
alternatives:
  - name: By the calendar year
    tariff: {{minimum_bill: 10, export: {{scheme: net metering, bank: money}}}}
  - name: From April on, with all that a bill may have
    tariff:
      monthly_charge: 4
      minimum_bill: 10
      tiers: [{{steps: [{{up_to: 200}}, {{adds: 0.05}}]}}]
      riders: [{{item: Fund, share: 2%}}]
      taxes: [{{item: Sales, share: 7%}}]
      export: {{scheme: net metering, bank: money, true_up_month: mar}}
""",
        lambda plain: _bill(plain, "true-up")[0] > 0 and _bill(plain, "true-up", 1)[2] != _bill(plain, "true-up")[2],
    ),
    "a payment for production, and tariffs that come later": Feature(
        HOUSE
        + FEW_YEARS
        + EVENINGS
        + DEAR_TIMES
        + GREENSBORO
        + f"""
system: {{{ONE_ROOF}}}
alternatives:
  - {{name: Paid for two years, tariff: {{production_price: 0.08, production_years: 2}}}}
  - name: Paid for what may leave
    tariff: {{production_price: 0.08, export: {{scheme: net billing, price: 0.05, limit_kw: 0.5}}}}
  - name: Another sheet from year 2
    tariff:
      export: {{scheme: net metering, true_up_month: jun, surplus_price: 0.03}}
      later:
        - {{from_year: 2, monthly_charge: 8, rise: 5%}}
        - from_year: 3
          energy: [{{name: dear, price: 0.4, hours: 15-22}}, {{name: other, price: 0.2}}]
          demand: [{{name: dear, price: 2, hours: 15-22, ratchet: 80%}}]
          export: {{scheme: net billing, price: 0.05}}
          production_price: 0.02
""",
        lambda plain: (
            _bill(plain, "production payment")[1] < 0.0 == _bill(plain, "production payment")[2]
            and _bill(plain, "production payment")[0] < _bill(plain, "production payment", 1)[0] - 200
            and [round(money) for money in _bill(plain, "fixed charge", 2)][:2] == [0, round(96 * 1.05)]
            and _bill(plain, "demand", 2)[1] == 0.0 < _bill(plain, "demand", 2)[2]
        ),
    ),
    "prices of each hour": Feature(
        HOUSE
        + "study: {in_service: 2026-03-01, years: 2, discount_rate: 4%, step_minutes: 30}\n"
        + EVENINGS
        + DEAR_TIMES.replace("  rise: 2%", "  rise: 2%\n  export_rise: -3%\n  hourly_prices: {file: prices.csv}")
        + GREENSBORO
        + f"""
system: {{{ONE_ROOF}}}
alternatives:
  - {{name: On top}}
  - name: Earned as well, with a surcharge, a minimum and a tax on it
    tariff:
      hourly_prices: {{export_share: 80%}}
      riders: [{{item: Fund, share: 5%, on: [hourly prices]}}, {{item: All, share: 1%}}]
      minimum_bill: 90
      taxes: [{{item: Sales, share: 7%}}]
"""
        + """  - name: Credits for energy, from year 2
    tariff:
      later:
        - from_year: 2
          export: {scheme: net billing, price: 0.3, credits_pay: energy, true_up_month: jun, pay_out: 20%}
""",
        lambda plain: (
            _bill(plain, "hourly prices")[0] > 100
            and _bill(plain, "export credit", 1)[0] < _bill(plain, "export credit")[0] - 50
        ),
    ),
    "risks, sizes, lives, warranties, a roof and a removal": Feature(
        HOUSE
        + "study: {in_service: 2026-03-01, years: 21, discount_rate: 4%, inflation: 3%}\n"
        + EVENINGS
        + DEAR_TIMES
        + GREENSBORO
        + f"""
system: {{{ONE_ROOF}, battery: {{kwh: 7, kw: 3}}}}
purchase: {{contingency: 5%, contingency_by: {{labour: 12%}}}}
alternatives:
  - name: All of it
    costs:
      - {{item: Modules, category: modules, per_kw: 700, residual_by_age: {{10: 40%, 30: 10%}}}}
      - {{item: Battery, category: battery, per_kwh: 330}}
      - {{item: Crew, category: labour, per_hour: 60, hours: {{from: 20, to: 30}}, chance: 45%}}
      - {{item: Scaffold, category: tools, cost: 600, resold: 55%, resold_in: 2}}
    upkeep:
      - {{item: Next inverter, category: inverter, cost: 1100, labour: 250, life: {{characteristic: 6.2, shape: 3}},
         warranty_years: 12, residual_by_age: {{4: 60%}}}}
      - {{item: Next battery, category: battery, cost: 2100, life: 9.4, rise: {{path: [-8%, -8%, -3%]}}}}
      - {{item: New roof below it, category: roof, cost: 90, labour: 1500, in_years: [13, 21]}}
      - {{item: Taking it down, category: removal, cost: 150, labour: 700}}
""",
        lambda plain: (
            [line["due"] for line in plain["alternatives"][0]["upkeep"]] == [[6, 12, 17], [10, 19], [13], [21]]
            and plain["alternatives"][0]["upkeep"][0]["covered"] == [6, 12]
            and plain["alternatives"][0]["cash_flow"]["lines"]["tools sold again"][2] > 300
            and plain["alternatives"][0]["cash_flow"]["lines"]["removal"][21] < -1200
        ),
    ),
}
