"""What in a household, a tariff or past bills may be a slip of the pen: nothing that cannot be, but little that is."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import numpy as np

from finsolar.energy.house import Site
from finsolar.energy.weather_files import PriceYear
from finsolar.energy.without_grid import listed
from finsolar.report.words.amounts import joined
from finsolar.report.words.off_grid import BARELY
from finsolar.report.words.times_told import part as part_told
from finsolar.scenario.problems import printable
from finsolar.scenario.schema import PastBill, Scenario, Tariff

DEAR = 2.0
"""Money for a kWh, in any currency, above which a price may well be in cents; chosen here, no source."""


def doubtful_tariff(tariff: Tariff, years: int, hourly: Mapping[str, PriceYear]) -> list[str]:
    """Sentences on a settled tariff, and on those that take its place, in a study of so many ``years``.

    ``hourly`` holds the files of hourly prices by name.
    """
    said: dict[str, None] = {}
    for each in [tariff, *(change.tariff for change in tariff.later)]:
        said |= dict.fromkeys([*_prices(each, hourly), *_without_effect(each)])
    for change in tariff.later:
        if change.from_year > years:
            said[f"a tariff from year {change.from_year} on, after the study of {years} years"] = None
    parts = _parts_without_money([tariff, *(change.tariff for change in tariff.later)])
    return [*said, *parts]


def doubtful_household(scenario: Scenario, site: Site) -> list[str]:
    """Sentences on what a settled scenario says of outages, and on the generator that the house lives on today."""
    return [*_of_outages(scenario), *_of_the_generator(scenario, site)]


def _of_outages(scenario: Scenario) -> list[str]:
    outage, said = scenario.household.outage, []
    if outage is None:
        return []
    if outage.is_valued and outage.usual is None and outage.storms is None:
        named = next(name for name in ("worth", "losses", "instead") if getattr(outage, name))
        why = "nothing says how often the grid fails: it is not used; add usual: {times_a_year: 0.3, hours_each: 1}"
        if scenario.tariff is None:
            why = "the house has no grid today that could fail: it is not used"
        said.append(f"{named} is stated, but {why}")
    field = next((name for name in ("load_share", "load_kw") if getattr(outage, name) is not None), None)
    if field is not None and any(each.on_backup > 0 for each in listed(scenario.household)):
        said.append(
            f"{field} beside appliances on backup: how long the house lasts goes by {field}, the load test by the "
            "appliances alone"
        )
    return said


def _of_the_generator(scenario: Scenario, site: Site) -> list[str]:
    if scenario.tariff is not None or scenario.generator is None:
        return []
    runs = float(np.mean(site.usage.base > 0))
    if runs < 0.5:
        return []
    mean_kw = float(site.usage.base.sum()) * float(scenario.household.load.level) / (runs * 8760)
    part = mean_kw / float(scenario.generator.kw)
    when = "all year" if runs == 1 else f"{runs * 8760:,.0f} hours a year"
    return [f"the generator runs {when} at {part_told(part)} of its size: is that so?"] if part < BARELY else []


def doubtful_bills(bills: list[PastBill], today: dt.date) -> list[str]:
    """A sentence on past bills that are not past yet."""
    return [
        f"a past bill that ends on {bill.last_day}, which is yet to come" for bill in bills if bill.last_day > today
    ]


def _prices(tariff: Tariff, hourly: Mapping[str, PriceYear]) -> list[str]:
    said = []
    dearest = max(float(period.price) for period in tariff.energy)
    if dearest > DEAR:
        said.append(f"a price of {dearest:g} for a kWh; are these cents?")
    priced = tariff.hourly_prices
    if priced is not None:
        # One hour may be as dear as that; a year of them is not.
        mean = float(hourly[priced.file].price.mean())
        if mean > DEAR:
            said.append(f"hourly prices of {mean:.4g} for a kWh on average, in {priced.file}; are these cents?")
        dearest += float(hourly[priced.file].price.max())
    export = tariff.export.price
    paid = [0.0 if export is None else export] if not isinstance(export, list) else [each.price for each in export]
    for name, price in (("an export", max(map(float, paid))), ("a surplus", float(tariff.export.surplus_price or 0.0))):
        if price > dearest:
            said.append(f"{name} price of {price:g}, above every price of energy; is that so, or are these cents?")
    return said


def _without_effect(tariff: Tariff) -> list[str]:
    """Fields that were stated, yet change nothing as long as others are as they are."""
    stated = tariff.model_fields_set
    said = []
    if "production_years" in stated and float(tariff.production_price) == 0.0:
        said.append("production_years without a production_price")
    for each in tariff.demand:
        if "ratchet_months" in each.model_fields_set and each.ratchet == 0.0:
            said.append(f"ratchet_months of “{printable(each.name, 60)}” without a ratchet")
    return said


def _parts_without_money(tariffs: list[Tariff]) -> list[str]:
    """Parts of the bill that something is a share of, or that are said to rise, while no tariff of these has them."""
    missing = {
        "demand": not any(each.demand for each in tariffs),
        "tiers": not any(each.tiers for each in tariffs),
        "hourly prices": all(each.hourly_prices is None for each in tariffs),
        "riders": not any(each.riders for each in tariffs),
        "minimum": all(float(each.minimum_bill) == 0.0 for each in tariffs),
    }
    said = []
    if missing["demand"] and any("demand_rise" in each.model_fields_set for each in tariffs):
        said.append("demand_rise without a demand charge")
    for kind, lines in (
        ("a rider", [(line.item, line.on) for each in tariffs for line in each.riders]),
        ("a tax", [(line.item, line.on) for each in tariffs for line in each.taxes]),
    ):
        for item, on in {item: on for item, on in lines if on is not None}.items():
            empty = [str(part) for part in on if missing.get(part, False)]
            if empty:
                said.append(f"{kind}, “{printable(item, 60)}”, on {joined(empty)}, of which the tariff has none")
    return said
