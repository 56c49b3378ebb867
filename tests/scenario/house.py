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


def house(old: str = "", new: str = "", more: str = "") -> str:
    """Return the house with one piece of its text replaced, and more text at its end."""
    assert old in HOUSE
    return HOUSE.replace(old, new, 1) + more


def line_of(text: str, part: str) -> int:
    """Return the number of the only line of a text that holds ``part``."""
    (line,) = (number for number, line in enumerate(text.split("\n"), start=1) if part in line)
    return line
