"""What a scenario tells the rules: its days, facts, sizes, taxes and claims as one `House`."""

from collections.abc import Callable
from datetime import date
from typing import Any

import numpy as np

from finsolar.incentives.facts import Array, Claimed, House
from finsolar.scenario.numbers import per_case
from finsolar.scenario.schema import Alternative, Claim, Export, Lease, PerKwh, Scenario, Tariff


def days_of(scenario: Scenario, plan: Alternative) -> dict[str, date]:
    """The days of an alternative by event; one that was not told is left out."""
    settings = scenario.study
    days = {
        "in service": plan.in_service or settings.in_service,
        "installation completed": plan.installation_completed or plan.in_service or settings.completed,
    }
    for field in type(plan.dates).model_fields:
        told = getattr(plan.dates, field)
        if told is not None:
            days[field.replace("_", " ")] = told
    return days


def house_of(
    scenario: Scenario,
    plan: Alternative,
    *,
    generation: Array,
    exported: Array,
    gross: Array,
    serving: Array,
    loan_worth: Callable[[Array, float, int], Array],
) -> House:
    """The household of a settled scenario under one alternative.

    generation, exported : kWh (..., years), what the system gave and what left the house; gross : money (...) that the
    household pays to build, of which the assessor adds a share; serving : (years,) 1.0 while the system is there;
    loan_worth : as in `House`.
    """
    household, years = scenario.household, scenario.study.years
    system, battery = plan.system, plan.system.battery
    leased = isinstance(plan.payment, Lease | PerKwh)
    off_grid = system.operation == "off grid"
    exports = [] if off_grid else exports_of(plan.tariff)
    battery_kw = 0.0 if battery == "none" else battery.limits[1]
    if battery != "none" and battery.coupling == "dc":
        battery_kw = min(battery_kw, system.inverter.kw)  # what it gives goes through the inverter of the modules
    size = sum(array.kw for array in system.arrays)
    installer = plan.installer
    if installer is None and not leased and np.max(plan.own_hours) > 0:
        installer = "own labour"
    facts: dict[str, bool | None] = {
        "buys the system": not leased,
        "leases the system": leased,
        "lives there": household.owner_occupied,
        "main home": household.main_home,
        "new home": household.new_home,
        "existing home": None if household.new_home is None else not household.new_home,
        "contractor": None if installer is None else installer != "own labour",
        "licensed installer": None
        if installer is None
        else installer in {"licensed contractor", "accredited contractor"},
        "accredited installer": None if installer is None else installer == "accredited contractor",
        "grid connection": not off_grid,
        "off grid": off_grid,
        "solar": system.built,
        "battery": battery != "none",
        "net metering": any(export.scheme == "net metering" for export in exports),
        "no net metering": all(export.scheme != "net metering" for export in exports),
    }
    # Someone else than the household does the work, but whether licensed or accredited was not told.
    if installer == "contractor":
        facts |= {"licensed installer": None, "accredited installer": None}
    elif installer == "licensed contractor":
        facts["accredited installer"] = None
    marginal = {"income tax": household.marginal_tax, "state income tax": household.state_marginal_tax}
    tax = household.property_tax
    property_tax = None
    if tax is not None and system.built and not leased:
        property_tax = (per_case(tax.rate) * per_case(tax.added_value) * gross)[..., None] * np.ones(years)
    return House(
        days=days_of(scenario, plan),
        facts=facts,
        numbers={
            "solar kw": None if system.production is not None else np.asarray(float(size)),
            "inverter kw": np.asarray(float(system.inverter.kw)),
            "battery kwh": np.asarray(0.0 if battery == "none" else float(battery.kwh)),
            "income": None if household.income is None else per_case(household.income),
        },
        taxes={
            "income tax": yearly(household.income_tax, years),
            "state income tax": yearly(household.state_income_tax, years),
        },
        marginal={name: None if rate is None else per_case(rate) for name, rate in marginal.items()},
        itemises=household.itemises,
        business_use=np.asarray(household.business_use),
        generation=generation,
        exported=exported,
        export_is_paid=any(pays(export) for export in exports) or (not off_grid and shares_prices(plan.tariff)),
        gross=gross,
        property_tax=property_tax,
        serving=serving,
        battery_kw=np.asarray(float(battery_kw)),
        battery_usable_kwh=np.asarray(0.0 if battery == "none" else battery.kwh * (1.0 - battery.reserve)),
        loan_worth=loan_worth,
        currency=scenario.currency,
        claims={rule_id: claimed(claim, years) for rule_id, claim in scenario.claims.items()},
    )


def tariffs_of(tariff: Tariff | None) -> list[Tariff]:
    """A tariff and those that follow it."""
    return [] if tariff is None else [tariff, *(change.tariff for change in tariff.later)]


def exports_of(tariff: Tariff | None) -> list[Export]:
    """What is given for energy fed in under a tariff and those that follow it, where anything may be fed in."""
    return [each.export for each in tariffs_of(tariff) if each.export.scheme != "none"]


def pays(export: Export) -> bool:
    """Whether an export scheme ever pays for what is fed in: anything but prices of zero."""
    if export.scheme == "net metering":
        return True
    prices = [each.price for each in export.price] if isinstance(export.price, list) else [export.price]
    return any(price is not None and np.any(np.asarray(price) != 0) for price in prices)


def shares_prices(tariff: Tariff | None) -> bool:
    """Whether a tariff or one that follows it pays a share of hourly prices for what is fed in."""
    hourly = [each.hourly_prices for each in tariffs_of(tariff)]
    return any(one is not None and np.any(np.asarray(one.export_share) != 0) for one in hourly)


def claimed(claim: Claim, years: int) -> Claimed:
    """What the household says of one rule, its numbers a case each."""
    return Claimed(
        claim=claim.claim,
        confirmed=claim.confirmed,
        funds=claim.funds,
        refundable=claim.refundable,
        taxed=claim.taxed,
        kw=None if claim.kw is None else per_case(claim.kw),
        used_before=None if claim.used_before is None else per_case(claim.used_before),
        price=yearly(claim.price, years),
        zone=claim.zone,
    )


def yearly(amounts: Any, years: int) -> Array | None:
    """One amount, or a list of which the last one repeats, as (..., 1) or (..., years); None if it was not told."""
    if isinstance(amounts, list):
        by_year = [per_case(amounts[min(i, len(amounts) - 1)]) for i in range(years)]
        return np.stack(np.broadcast_arrays(*by_year), axis=-1)
    return None if amounts is None else np.atleast_1d(np.asarray(amounts, dtype=np.float64))
