"""An invented house, as text, for the tests of reading: short, complete, and with a field of every kind."""

HOUSE = """\
title: Gravel Yard
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-09-01, years: 20, discount_rate: 5%, inflation: {low: 1%, likely: 2%, high: 4%}}
household:
  income_tax: [4000, 4200]
  owner_occupied: true
  load: {monthly_kwh: [900, 800, 700, 600, 600, 700, 900, 900, 700, 600, 700, 900], shape: evening}
weather: greensboro
tariff:
  monthly_charge: {from: 10, to: 14}
  energy:
    - {name: peak, price: 0.3, months: jun-sep, days: mon-fri, hours: 15-19}
    - {name: rest, price: 0.12}
  export: {scheme: net billing, price: 0.04}
  rise: {low: 1%, likely: 3%, high: 5%}
system:
  arrays: [{kw: 5, tilt: 30, azimuth: 180}]
  inverter: {kw: 5, idle_watts: 40}
  battery: {kwh: 10, kw: 5}
purchase: {sales_tax: 6%}
costs:
  - {item: Modules, category: modules, each: 150, quantity: 12}
  - {item: Rails, category: racking, cost: {mean: 900, sd: 100}}
  - {item: Cable, category: wiring, cost: 500}
upkeep:
  - {item: Rinsing, category: upkeep, cost: 60}
rebates:
  - {item: Town rebate, amount: 300}
alternatives:
  - name: Own labour
    own_hours: 90
  - name: Contractor
    note: A firm does it all.
    costs:
      - {item: Rails, category: racking, cost: 1500}
      - {item: Installation, category: labour, cost: 6000}
  - name: Contractor on a loan
    like: Contractor
    payment: {loan: {rate: 7%, years: 10}}
"""

FULL = """\
title: Gravel Yard with everything
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-09-01, years: 20, real_discount_rate: 2%, step_minutes: 30}
household:
  state_income_tax: [900, {from: 950, to: 1000}]
  marginal_tax: 22%
  state_marginal_tax: {from: 4%, to: 6%}
  itemises: true
  income: {mean: 90000, sd: 5000}
  main_home: true
  new_home: false
  business_use: 10%
  property_tax: {rate: 1.1%, added_value: {from: 40%, to: 60%}}
  past_bills:
    - {first_day: 2025-01-01, last_day: 2025-01-31, kwh: 900, amount: 160.5, kw: 6}
    - {first_day: 2025-02-01, last_day: 2025-03-31, kwh: 1500, amount: 270}
  load:
    appliances:
      - {item: Refrigerator, watts: 110, duty: 35%}
      - {item: Pump, watts: 700, starting_watts: 2000, hours_a_day: 2, hours: "6-8, 22-2", months: nov-feb, count: 2,
         on_backup: 50%}
    new_loads:
      - {item: Car, from_year: 3, kwh_a_day: 8, hours: 22-6, months: "jun-aug, oct"}
      - {item: Heat pump, from_year: 5, monthly_kwh: [300, 250, 200, 100, 0, 0, 0, 0, 0, 100, 200, 300]}
weather:
  sun_hours: [2.5, 3.2, 4.3, 5.3, 5.8, 6.2, 6.0, 5.4, 4.6, 3.7, 2.7, 2.3]
  temperature: [4, 6, 10, 15, 20, 24, 26, 25, 22, 16, 10, 5]
  seed: 7
  brightness: {from: 90%, to: 105%}
tariff:
  daily_charge: 0.2
  charge_per_kw: 0.5
  minimum_bill: 20
  holidays: {count_as: sat, names: [Labor Day, Christmas Day]}
  tiers:
    - {of: [rest], per: day, steps: [{up_to: 20}, {up_to: 40, adds: 0.02}, {adds: 0.05}]}
    - baseline: [{months: may-oct, kwh_a_day: 14}, {months: nov-apr, kwh_a_day: 9}]
      steps: [{of_baseline: 130%}, {adds: 0.04}]
  demand: [{name: summer, price: 6, minutes: 30, months: jun-sep, hours: 15-19, ratchet: 40%, ratchet_months: 6}]
  riders: [{item: Fuel, per_kwh: -0.004}, {item: Storm, share: 1%, on: [energy, demand], months: jan-jun}]
  taxes: [{item: State tax, share: 4%}, {item: City tax, share: 2%, on: [energy]}]
  production_price: 0.02
  production_years: 10
  demand_rise: 1%
  later: [{from_year: 6, minimum_bill: 25, energy: [{name: peak, price: 0.4, hours: 16-21}, {name: rest, price: 0.16}]}]
  energy:
    - {name: peak, price: 0.3, months: jun-sep, days: mon-fri, hours: 15-19}
    - {name: rest, price: 0.12}
  export: {scheme: net metering, surplus_price: 0.03, true_up_month: mar, limit_kw: 4}
  rise: {path: [6%, 4%]}
generator: {kw: 6, fuel_price: 1.2, rise: 3%, start_at: 30%, stop_at: 75%}
system:
  arrays:
    - {kw: 5, tilt: 30, azimuth: 180, shading: [5%, 5%, 0%, 0%, 0%, 0%, 0%, 0%, 0%, 0%, 0%, 3%]}
    - {kw: 2, tilt: 30, azimuth: 90, shading: 5%}
  inverter: {kw: 5}
  battery:
    kwh: 10
    kw: 5
    coupling: dc
    round_trip: 91%
    standby_watts: 4
    fade: {ten_years: 20%, law: square root, thousand_cycles: 3%}
    warranty: {years: 10, mwh: 25, capacity: 65%}
  losses: [{item: Dust, share: 3%}, {item: Cable, share: 2%}]
  snow: [6%, 4%, 1%, 0%, 0%, 0%, 0%, 0%, 0%, 0%, 0%, 3%]
  operation: time shift
  time_shift: {dear: [peak], cheap: [rest], keep: 40%, charge_to: 80%}
rules:
  - yard-rules
  - id: yard/battery-rebate
    title: Battery rebate of the yard
    parameters: {fixed: {unit: USD, values: {2026-01-01: {value: 2000, known: memory}, 2027-01-01: ended}}}
    notes: [Up to 30%.]
claims:
  us/residential-clean-energy-credit: {claim: false}
  yard/battery-rebate: {confirmed: true, kw: {from: 3, to: 5}, price: [38, {low: 30, likely: 36, high: 40}], zone: 3}
dates: {contract: 2026-06-15, permission_to_operate: 2026-09-20}
installer: licensed contractor
purchase: {sales_tax: 6%, services_tax: 20%}
payment: {lease: {monthly: {from: 80, to: 90}, rise: 2%, years: 20}}
costs:
  - {item: Modules, category: modules, each: 150, quantity: 12}
upkeep:
  - {item: Roof looked over, category: other, cost: 200, in_years: [8, 16]}
  - {item: New battery, category: battery, cost: 3500, below: 60%}
stay: {costs: [{item: Service panel, category: service panel, cost: 800}]}
alternatives:
  - name: Shifted
  - {name: Recorded, system: {production: inverter.csv}, tariff: {charge_per_kw: 0, later: [{from_year: 6, rise: 1%}]},
     dates: {purchase: 2026-07-01}, payment: {per_kwh: {price: 0.14, rise: {path: [1%, 2%]}, years: 15, buyout: 3000}}}
  - {name: Recorded no more, like: Recorded, system: {arrays: [{kw: 1, tilt: 0, azimuth: 0}], losses: 12%}}
  - {name: Apart, system: {battery: {charge_efficiency: 95%, discharge_efficiency: 94%, fade: 2%}}}
  - {name: Off grid, system: {operation: off grid}, payment: cash, installer: own labour, costs: []}
"""
"""The same yard with every block that a scenario may hold, and alternatives that say it another way."""


def house(old: str = "", new: str = "", more: str = "") -> str:
    """Return the house with one piece of its text replaced, and more text at its end."""
    assert old in HOUSE
    return HOUSE.replace(old, new, 1) + more


def line_of(text: str, part: str) -> int:
    """Return the number of the only line of a text that holds ``part``."""
    (line,) = (number for number, line in enumerate(text.split("\n"), start=1) if part in line)
    return line
