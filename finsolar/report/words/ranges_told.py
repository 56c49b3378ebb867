"""What a range of a scenario is called among people, and in what it is measured."""

from __future__ import annotations

from collections import Counter
from typing import Any

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from finsolar.report.words.amounts import money, per_cent
from finsolar.scenario.numbers import is_percent
from finsolar.scenario.schema import Scenario
from finsolar.uncertainty.ranges import Ranged

NAMES = {
    "study.inflation": "general inflation",
    "study.discount_rate": "discount rate",
    "study.real_discount_rate": "discount rate beyond inflation",
    "household.income_tax": "income tax owed in a year",
    "household.marginal_tax": "tax on one more unit of income",
    "household.backup_kwh": "energy drawn while the grid is down",
    "household.outage.usual.times_a_year": "usual outages a year",
    "household.outage.usual.hours_each": "hours of a usual outage",
    "household.outage.usual.spread": "spread of the lengths of usual outages around their mean",
    "household.outage.storms.spread": "spread of the lengths of outages by storm around their mean",
    "household.outage.longest_hours": "longest outage that is looked at",
    "household.outage.fuel_litres": "fuel that lies ready for the generator",
    "household.outage.storms.times_a_year": "storms that take the grid down, a year",
    "household.outage.storms.hours_each": "hours of an outage by storm",
    "household.outage.worth.an_hour": "worth of an hour with power while the grid is down",
    "household.outage.worth.a_kwh": "worth of a kWh while the grid is down",
    "household.outage.worth.rise": "yearly rise of the worth of backup",
    "household.outage.instead.fuel_price": "price of a litre of fuel for the generator that backup spares",
    "household.outage.instead.litres_per_kwh": "litres a kWh of the generator that backup spares",
    "household.outage.instead.rise": "yearly rise of the price of that fuel",
    "household.load.level": "use of the house",
    "household.load.growth": "yearly growth of the load",
    "weather.brightness": "sunlight of the years",
    "system.losses": "losses between modules and inverter",
    "system.snow": "share lost to snow",
    "system.fade": "yearly fade of the modules",
    "system.first_year_loss": "loss of new modules in their first light",
    "system.inverter.efficiency": "efficiency of the inverter",
    "system.inverter.kw": "size of the inverter",
    "system.inverter.idle_watts": "standing draw of the inverter",
    "system.battery.kwh": "usable size of the battery",
    "system.battery.kw": "power of the battery",
    "system.battery.reserve": "share of the battery kept for an outage",
    "system.battery.round_trip": "share that comes back from the battery",
    "system.battery.charge_efficiency": "efficiency of charging",
    "system.battery.discharge_efficiency": "efficiency of discharging",
    "system.battery.fade": "yearly fade of the battery",
    "system.battery.fade.ten_years": "fade of the battery by age in ten years",
    "system.battery.fade.thousand_cycles": "fade of the battery by a thousand cycles",
    "tariff.rise": "yearly rise of the price of energy",
    "tariff.fixed_rise": "yearly rise of the fixed charge",
    "tariff.export_rise": "yearly rise of the price for energy fed in",
    "tariff.demand_rise": "yearly rise of the demand price",
    "tariff.monthly_charge": "monthly charge",
    "tariff.export.price": "price for energy fed in",
    "tariff.export.surplus_price": "price for the surplus of the year",
    "generator.rise": "yearly rise of the price of fuel",
    "generator.fuel_price": "price of a litre of fuel",
    "payment.loan.rate": "interest of the loan",
    "payment.lease.rise": "yearly rise of the lease",
    "payment.per_kwh.rise": "yearly rise of the contract’s price",
    "purchase.contingency": "allowance for the unforeseen",
    "purchase.sales_tax": "sales tax",
    "own_hours": "own hours",
    "own_hour_worth": "worth of an own hour",
}
"""By the path within the scenario or within an alternative."""

PARTS = {
    "cost": "price",
    "each": "price of one",
    "per_kw": "price a kW",
    "per_kwh": "price a kWh",
    "per_hour": "price an hour",
    "hours": "hours",
    "quantity": "quantity",
    "chance": "chance that it is needed",
    "resold": "share that comes back when it is sold",
    "residual": "share left at the end",
    "sales_tax": "sales tax",
    "contingency": "allowance for the unforeseen",
    "labour": "work on it, each time",
    "life": "years it lasts",
    "rise": "yearly rise of its price",
    "amount": "amount",
    "price": "price",
    "after_hours": "hours in the dark before it goes",
}
"""What of a cost line, a repeated cost, a rebate or a price period, each of which has a name of its own."""

_UNITS = {
    "life": "years",
    "hours": "h",
    "own_hours": "h",
    "backup_kwh": "kWh",
    "hours_each": "h",
    "longest_hours": "h",
    "after_hours": "h",
    "fuel_litres": "litres",
    "kwh": "kWh",
    "mwh": "MWh",
    "kw": "kW",
    "charge_kw": "kW",
    "discharge_kw": "kW",
    "limit_kw": "kW",
    "idle_watts": "W",
    "standby_watts": "W",
}
_BARE = frozenset({"quantity", "times_a_year", "litres_per_kwh", "idle_litres_per_kw"})
_A_KWH = frozenset({"price", "surplus_price", "production_price", "adds", "per_kwh", "a_kwh"})


def names_of(scenario: Scenario, ranges: tuple[Ranged, ...]) -> dict[str, str]:
    """Words for each range by its name, no two alike: what is called the same is told apart by its alternative."""
    found = {each.name: _called(scenario, each) for each in ranges}
    often = Counter(found.values())
    whose = {each.name: _whose(scenario, each) for each in ranges}
    found = {name: words if often[words] == 1 else words + whose[name] for name, words in found.items()}
    often = Counter(found.values())
    return {name: words if often[words] == 1 else f"{words} ({name})" for name, words in found.items()}


def _called(scenario: Scenario, one: Ranged) -> str:
    steps = one.paths[0].split(".")
    if steps[0] == "alternatives":
        steps = steps[2:]
    inner = ".".join(steps)
    if inner in NAMES:
        return NAMES[inner]
    label = _label(scenario, one.paths[0])
    if steps[-1] == "shading":
        return f"shade on array {int(steps[-2]) + 1}"
    if label and steps[-1] == "share":
        return f"“{label}”: share {'lost' if 'losses' in steps else 'added'}"
    return f"“{label}”: {PARTS[steps[-1]]}" if label and steps[-1] in PARTS else one.name


def _whose(scenario: Scenario, one: Ranged) -> str:
    """The one alternative that holds a range, in brackets; nothing where several do."""
    steps = one.paths[0].split(".")
    holders = {".".join(path.split(".")[:2]) for path in one.paths}
    if steps[0] != "alternatives" or len(holders) > 1:
        return ""
    return f" (“{scenario.alternatives[int(steps[1])].name}”)"


def _label(scenario: Scenario, path: str) -> str | None:
    """The name of the list entry that directly holds the number, such as the item of a cost line."""
    holder = _at(scenario, path.split(".")[:-1])
    found = getattr(holder, "item", None) or getattr(holder, "name", None)
    return found if isinstance(found, str) else None


def _at(scenario: Scenario, steps: list[str]) -> Any:
    """What stands at the end of some steps."""
    place: Any = scenario
    for step in steps:
        if isinstance(place, BaseModel):
            place = getattr(place, step)
        else:
            place = place[int(step)] if isinstance(place, list) else place[step]
    return place


def field_of(scenario: Scenario, one: Ranged) -> FieldInfo:
    """The field of the schema that holds a range."""
    *steps, last = one.paths[0].split(".")
    # Entries of a plain list, or by name, belong to the field that holds them all.
    while not isinstance(_at(scenario, steps), BaseModel):
        *steps, last = steps
    holder = _at(scenario, steps)
    found: FieldInfo = type(holder).model_fields[last]
    return found


def unit_of(scenario: Scenario, one: Ranged) -> str:
    """In what a range is measured: ``share``, ``money``, ``price`` (money a kWh), ``years``, ``h``, ``kWh``, ``kW``,
    ``litres``, or nothing."""
    steps = one.paths[0].split(".")
    if is_percent(field_of(scenario, one)):
        return "share"
    if steps[-1] in _BARE:
        return ""
    if steps[-1] in _A_KWH and not {"costs", "upkeep"} & set(steps):
        return "price"
    return _UNITS.get(steps[-1], "money")


def measured(number: float, unit: str, currency: str) -> str:
    """A value of a range as text."""
    if unit == "share":
        return per_cent(number)
    if unit == "money":
        return money(number, currency, 0 if abs(number) >= 100 else 2)
    if unit == "price":
        return f"{money(number, currency, 3)} a kWh"
    text = f"{number:,.1f}" if unit else f"{number:,.4g}"
    return f"{text.removesuffix('.0')} {unit}".rstrip()
