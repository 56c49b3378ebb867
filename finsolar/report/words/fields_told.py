"""What a field of the scenario is called among people, with its unit, whichever block it stands in."""

from __future__ import annotations

from pydantic import BaseModel

from finsolar.report.words.ranges_told import NAMES, PARTS
from finsolar.scenario.schema import Scenario

WORDS = {
    "adds": "added to the price a kWh from here on",
    "added_value": "share of the cost that raises the home’s taxed value",
    "a_kwh": "worth of a kWh while the grid is down",
    "after_hours": "hours in the dark before it goes",
    "amount": "amount",
    "an_hour": "worth of an hour with power while the grid is down",
    "appliances": "list of appliances",
    "azimuth": "direction, degrees from north",
    "backup_kwh": "energy drawn while the grid is down, kWh a year",
    "awards": "share of the awards",
    "below": "renewed when less of the first capacity is left than",
    "bank": "what is kept of the energy fed in",
    "business_use": "share used for business",
    "buyout": "buy-out at the end of the term",
    "capacity": "share of the first capacity that is promised",
    "category": "category",
    "charge_kw": "most power into the battery, kW",
    "charge_per_kw": "monthly charge a kW of modules",
    "charge_to": "level to which the grid charges it",
    "cheap": "price periods in which the grid charges it",
    "claim": "day the award is claimed, or whether it is",
    "confirmed": "confirmed by whoever grants it",
    "count": "how many",
    "count_as": "are priced like",
    "count_backup": "the worth of backup counts as money",
    "country": "country",
    "coupling": "before or after the inverter",
    "currency": "currency",
    "daily_charge": "charge a day",
    "days": "days of the week",
    "dealer_fee_of": "dealer fee is a share of",
    "dear": "price periods in which it serves the house",
    "deductible": "share of the interest that is deducted",
    "deferral_months": "months before regular payments begin",
    "deferral_pays": "paid in those months",
    "demand": "demand charges",
    "discharge_kw": "most power out of the battery, kW",
    "draws": "cases drawn of the ranges",
    "duty": "share of its hours in which it runs",
    "every": "comes back every so many years",
    "export": "payment for energy fed in",
    "fee": "lender’s fee, a share of the loan",
    "fees": "lender’s fees are",
    "file": "file of readings",
    "first": "first due in year",
    "first_day": "first day",
    "fixed_fee": "lender’s fixed fee",
    "from_year": "from year",
    "fuel_price": "price of a litre of fuel",
    "holidays": "holidays",
    "hours": "hours of the day",
    "hours_a_day": "hours a day",
    "hours_each": "hours of an outage on average",
    "idle_watts": "standing draw, W",
    "idle_litres_per_kw": "fuel of an hour at no load, litres a kW",
    "in_service": "day it is switched on",
    "in_years": "due in the years",
    "income": "income in a year",
    "installer": "who does the work",
    "itemises": "deductions are itemised",
    "keep": "level that it keeps for the dear periods",
    "kw": "power, kW",
    "kwh": "energy, kWh",
    "kwh_a_day": "kWh a day",
    "last_day": "last day",
    "later_rates": "interest of the later years",
    "latitude": "latitude, degrees north",
    "law": "course of the fade",
    "limit_kw": "most power that may be fed in, kW",
    "litres_per_kwh": "fuel, litres a kWh",
    "longitude": "longitude, degrees east",
    "losses": "losses between modules and inverter",
    "lowers_basis": "lowers the cost that other awards count",
    "main_home": "is the main home",
    "marginal_tax": "tax on one more unit of income",
    "minimum_bill": "least bill of a month",
    "minutes": "minutes over which demand is measured",
    "month": "month in which it is paid in",
    "monthly": "payment a month",
    "monthly_kwh": "use by month, January to December, kWh",
    "months": "months",
    "mwh": "energy that is promised, MWh",
    "new_home": "is a new home",
    "on": "is reckoned on",
    "on_backup": "share on the backed-up panel",
    "operation": "what the battery is for",
    "owner_occupied": "the owner lives in it",
    "per": "steps are counted by",
    "production": "file of the system’s production",
    "production_price": "paid for a kWh produced",
    "production_years": "years in which production is paid",
    "property_tax": "property tax",
    "ratchet": "share of the highest demand that counts for later months",
    "ratchet_months": "months in which it counts",
    "rate": "rate",
    "region": "region",
    "resold_in": "sold again at the end of year",
    "rules": "rules of one’s own",
    "scheme": "scheme",
    "seed": "seed of the draws",
    "services_tax": "sales tax on work, permits and fees",
    "shading": "shade",
    "shape": "shape of the day",
    "share": "share",
    "snow": "share lost to snow by month",
    "start_at": "battery level at which the generator starts",
    "starter_share": "share that the first payments take for paid in",
    "starting_watts": "power when it starts, W",
    "standby_watts": "standing draw, W",
    "state_income_tax": "income tax owed to the state in a year",
    "station": "weather station",
    "step_minutes": "minutes of a step",
    "stop_at": "battery level at which the generator stops",
    "spread": "spread of their lengths around the mean",
    "storms": "outages by storms",
    "sun_hours": "peak sun hours by month",
    "temperature": "temperature by month, °C",
    "temperature_coefficient": "change of output a kelvin",
    "ten_years": "fade in ten years",
    "then": "what the lump sum does",
    "thousand_cycles": "fade by a thousand cycles",
    "tilt": "tilt, degrees",
    "times_a_year": "outages a year",
    "timezone": "time zone",
    "together": "ranges that are drawn together",
    "true_up_month": "month in which the year’s account is settled",
    "upkeep_per_hour": "upkeep an hour that it runs",
    "up_to": "up to, kWh",
    "usual": "usual outages",
    "warranty_years": "years under warranty",
    "watts": "power, W",
    "weather": "weather",
    "whole_cents": "payments in whole cents",
    "years": "how many years",
}  # fmt: skip
"""By the field's own name; a field that is not here is called by that name."""


def words_of(scenario: Scenario, way: str, shared: bool = False) -> str:
    """Words for the field at a path of the scenario, such as ``alternatives.0.costs.2.per_kwh``.

    ``shared`` : whether many entries of a list are meant, so that none is named.
    """
    steps = way.split(".")
    inner = steps[2:] if steps[0] == "alternatives" else steps
    if ".".join(inner) in NAMES:
        return NAMES[".".join(inner)]
    if "residual_by_age" in inner:
        own, words = "residual_by_age", f"share left at the age of {inner[-1]} years"
    elif "contingency_by" in inner:
        return f"allowance for the unforeseen, {inner[-1]}"
    else:
        own = next(step for step in reversed(inner) if not step.isdigit())
        words = WORDS.get(own) or PARTS.get(own) or own.replace("_", " ")
    label = "" if shared else _label(scenario, steps)
    if inner[:2] == ["household", "outage"] and own == "each":
        words = "goes by the"
    elif label or shared:
        words = PARTS.get(own, words)
    if label:
        return f"“{label}”: {words}"
    # A block within a block tells whose field it is: the years of the warranty are not those of the loan.
    above = inner[1 : len(inner) - inner[::-1].index(own) - 1]
    return f"{_block(above)}: {words}" if above and not shared else words


def _block(above: list[str]) -> str:
    """The innermost block on a way, and which one it is of a list."""
    names = [k for k, step in enumerate(above) if not step.isdigit()]
    name = above[names[-1]].replace("_", " ")
    entry = above[names[-1] + 1 :]
    return f"{name.removesuffix('s')} {int(entry[0]) + 1}" if entry else name


def _label(scenario: Scenario, steps: list[str]) -> str:
    """The item or name of the innermost list entry on the way; an alternative's own name is told elsewhere."""
    place: object = scenario
    label = ""
    for k, step in enumerate(steps[:-1]):
        if isinstance(place, BaseModel):
            place = getattr(place, step)
        elif isinstance(place, list):
            place = place[int(step)]
        else:
            place = place[step] if isinstance(place, dict) else None
        name = getattr(place, "item", None) or getattr(place, "name", None)
        if isinstance(name, str) and k > 1:
            label = name
    return label
