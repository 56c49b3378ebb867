"""Scenarios that are kept: some of everything at once, one that was drawn, and a small roof to add to."""

QUARTER_CENTURY = """
title: Twenty-five years of everything at once
place: {country: US, region: FL, latitude: 25.8, longitude: -80.27, timezone: America/New_York}
study:
  in_service: 2024-05-02
  years: 25
  real_discount_rate: 2.5%
  inflation: {low: 1%, likely: 2.2%, high: 5%}
household:
  income_tax: [900, 1400, 700]
  owner_occupied: true
  load:
    monthly_kwh: [820, 760, 800, 850, 1040, 1220, 1380, 1400, 1250, 1010, 830, 800]
    shape: hot-climate
    growth: 0.7%
weather: miami
tariff:
  monthly_charge: 11.5
  energy:
    - {name: afternoon, price: 0.29, months: apr-oct, days: mon-fri, hours: 12-21}
    - {name: rest, price: {mean: 0.115, sd: 0.01}}
  export: {scheme: net metering, surplus_price: 0.031, true_up_month: mar}
  rise: {path: [3%, -1%, 6%, 2.5%]}
  fixed_rise: 1%
  export_rise: -2%
stay:
  costs: [{item: A new meter board, category: service panel, cost: 640}]
  upkeep: [{item: Surge arrester, category: other, cost: 85, every: 6}]
purchase: {sales_tax: 6%, contingency: 5%}
costs:
  - {item: Modules, category: modules, each: 131, quantity: 24, residual: 8%}
  - {item: Inverter, category: inverter, cost: 1900}
  - {item: Battery, category: battery, cost: 4100, sales_tax: 0%}
  - {item: Rails, category: racking, cost: 1150}
  - {item: New shingles, category: roof, cost: 2600, contingency: 12%}
  - {item: Crew, category: labour, cost: 5200}
upkeep:
  - {item: Cleaning, category: upkeep, cost: 60}
  - {item: Insurance, category: insurance, cost: 75, rise: 4%}
  - {item: Next inverter, category: inverter, cost: 1700, every: 12}
  - {item: Next battery, category: battery, cost: 3600, first: 9, every: 8, rise: -1%, residual: 25%}
rebates:
  - {item: Town, amount: 900}
  - {item: Tombola, amount: 300, lowers_basis: false}
system:
  arrays: [{kw: 6.2, tilt: 25, azimuth: 180}, {kw: 3.4, tilt: 10, azimuth: 270}]
  inverter: {kw: 6, efficiency: 97%, idle_watts: 40}
  battery: {kwh: 11, kw: 5, charge_kw: 3.3, round_trip: 88%, reserve: 15%, fade: 3%}
  losses: 12%
  fade: 0.6%
  first_year_loss: 1.5%
alternatives:
  - name: Cash
  - name: Loan
    payment: {loan: {rate: 6.9%, years: 12, fee: 2%, share: 80%}}
  - name: Another supplier, a year and a half later
    in_service: 2026-01-01
    tariff: {energy: 0.142, rise: 3%, monthly_charge: 9, export: {scheme: net billing, price: 0.05}}
  - name: Off the grid
    system:
      arrays: [{kw: 9, tilt: 40, azimuth: 135}]
      inverter: {kw: 7}
      battery: {kwh: 24, kw: 6, charge_kw: 4.5, reserve: 10%}
      operation: off grid
    generator: {kw: 2.2, fuel_price: 1.15, upkeep_per_hour: 0.2, rise: 3.5%}
"""

# Drawn by `generated_scenarios`, kept, and given what lots seldom bring together: own hours with somebody to compare
# them with, a generator that staying would have replaced, and a credit that takes years to use.
DRAWN_AND_KEPT = """
title: A house drawn by lot
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/Los_Angeles}
study: {in_service: 2022-01-01, installation_completed: 2021-12-31, years: 25, discount_rate: 4.2%, inflation: 3.1%}
household:
  income_tax: [120, 85]
  owner_occupied: true
  load:
    monthly_kwh: [133, 78, 333, 549, 1500, 71, 1035, 927, 248, 798, 1234, 547]
    shape: [3, 1, 2, 9, 21, 4, 30, 7, 8, 1, 16, 5, 2, 11, 27, 6, 3, 14, 19, 2, 22, 8, 1, 10]
    growth: -1.6%
weather: greensboro
generator: {kw: 7.2, fuel_price: 1.36, rise: 2.2%, idle_litres_per_kw: {from: 0.015, to: 0.099}, upkeep_per_hour: 0.11}
stay:
  costs: [{item: cost 0, category: other, cost: 1740, contingency: 3.5%, residual: 21.3%}]
  upkeep:
    - {item: upkeep 0, category: generator, cost: 5210, every: 7, first: 3, residual: 44.1%, rise: 1.9%}
    - {item: upkeep 1, category: insurance, cost: 63, every: 2}
alternatives:
  - name: first
    own_hours: 36
    own_hour_worth: {low: 12, likely: 31.5, high: 60}
    installation_completed: 2021-12-31
    purchase: {sales_tax: 5.2%}
    costs:
      - {item: cost 0, category: modules, each: {low: 410.43, likely: 518.78, high: 750.5}, quantity: 17, residual: 22%}
      - {item: cost 1, category: battery, cost: 8420, sales_tax: 8.2%, contingency: 12.5%}
    payment: {loan: {rate: 2.5%, years: 19, fee: 3.6%, share: 61.7%}}
    upkeep: [{item: upkeep 0, category: inverter, cost: 1480, every: 9, first: 8, rise: {path: [4%, -2.5%]}}]
    system:
      arrays:
        - {kw: 3.4, tilt: 40, azimuth: 135, temperature_coefficient: -0.0028}
        - {kw: 4.7, tilt: 90, azimuth: 180}
      inverter: {kw: 5.8, idle_watts: 22}
      battery: {kwh: 13.2, kw: 7.8, discharge_kw: 4.4, charge_efficiency: 72.4%, discharge_efficiency: 98.3%}
      losses: 1.2%
      fade: 2.8%
      first_year_loss: 1.5%
      operation: off grid
  - name: second
    like: first
    own_hours: 0
    costs: [{item: more 0, category: labour, cost: {low: 2000, likely: 3870, high: 5420}}]
  - name: third
    like: second
    costs: [{item: more 1, category: shipping, cost: 44, sales_tax: 7.2%, residual: 45.9%}]
  - name: fourth
    like: second
    payment: cash
    system: {arrays: [{kw: 6.1, tilt: 10, azimuth: 270}], inverter: {kw: 2.2}, operation: off grid}
"""

ROOF = """
title: A small roof
place: {country: NL, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-03-01, years: 2, discount_rate: 4%}
household:
  load: {monthly_kwh: [400, 350, 320, 280, 260, 300, 380, 370, 300, 270, 310, 390], shape: evening}
weather: greensboro
tariff: {energy: 0.2, rise: 2%}
system: {arrays: [{kw: 2, tilt: 25, azimuth: 180}], inverter: {kw: 2}}
costs: [{item: Modules, category: modules, cost: 900}]
"""
