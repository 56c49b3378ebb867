"""What is said of the running totals, of the bill and the energy of each month, and of the battery as it ages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from finsolar.report.words.amounts import money, per_cent, years_told
from finsolar.report.words.changes_told import best_of

Plain = dict[str, Any]

YEAR, MONTH = "Year", "Month"

RUNNING_TITLE = "Running total of all money in and out"
RUNNING_AXIS = "Years since switched on"
RUNNING_CAPTION = "Running total at the end of each year, against staying as you are"
RUNNING_BAND_HEAD = (YEAR, "P10", "P50", "P90")

STAY = "Stay as you are"
WITH_THE_SYSTEM = "With the system"
BILLS_TITLE = "The bill of each month, first year"
BILLS_ALT = "Grouped bars of the monthly bill before and after; the table below holds every amount."
BILLS_CAPTION = "Bill by month, first year"

SUN, GRID, GENERATOR, NO_SOURCE = "Sun, straight or through the battery", "Grid", "Generator", "No source"
SOLAR_MADE = "Solar energy made"
ENERGY_ALT = "Stacked bars of the load by source and month, with a line for the solar energy made."
ENERGY_AXIS = "kWh a month"
ENERGY_CAPTION = "Energy by month, first year, kWh"

BATTERY = "Battery"
BATTERY_TITLE = "What the battery holds as it ages"
BATTERY_ALT = "Line of battery capacity by year; the table below holds the values."
BATTERY_AXIS = "kWh at the start of the year"
BATTERY_CAPTION = "Battery capacity at the start of each year, kWh"


def running_reading(plain: Plain, bands: dict[str, Plain]) -> str:
    """Which alternative ends highest, and between which ends where bands are drawn."""
    currency, plans = plain["settings"]["currency"], plain["alternatives"]
    best = max(plans, key=lambda plan: plan["cash_flow"]["running_total"][-1])
    end = money(best["cash_flow"]["running_total"][-1], currency)
    return (
        "Where a line crosses zero, the system has paid for itself; not discounted, "
        f"“{best['name']}” ends highest, at {end} after {years_told(best['cash_flow']['year'][-1])}."
        f"{_bands_told(plain, bands)}"
    )


def _bands_told(plain: Plain, bands: dict[str, Plain]) -> str:
    """What the bands say of the alternative of the short answer, and whose are drawn."""
    if not bands:
        return ""
    currency, name = plain["settings"]["currency"], best_of(plain)["name"]
    low, high = (money(bands[name][key][-1], currency) for key in ("p10", "p90"))
    whose = "" if len(bands) == len(plain["alternatives"]) else " of the two with the highest NPV"
    return (
        f" The bands{whose} hold eight futures of ten: “{name}” ends between {low} and {high}. Each year is taken by "
        "itself; no single future need follow an edge."
    )


def running_alt(plain: Plain, spreads: dict[str, Plain]) -> str:
    """Where each line starts and ends; ``spreads`` of the running totals by alternative, where cases were drawn."""
    currency, told = plain["settings"]["currency"], []
    for plan in plain["alternatives"]:
        running, name = plan["cash_flow"]["running_total"], plan["name"]
        start, end = (money(amount, currency) for amount in (running[0], running[-1]))
        told.append(f"{name}: starts at {start}, ends at {end}{_ends_between(spreads.get(name), currency)}.")
    return f"Line chart. {' '.join(told)}"


def _ends_between(fan: Plain | None, currency: str) -> str:
    if fan is None:
        return ""
    low, high = (money(fan[key][-1], currency) for key in ("p10", "p90"))
    return f", likely between {low} and {high}"


def running_money_axis(currency: str) -> str:
    """What the axis of the running totals counts."""
    return f"Running total, {currency} of each year"


def running_band_caption(name: str) -> str:
    """The head of the table of one alternative over all cases."""
    return f"Running total at the end of each year over all cases: {name}"


def bills_reading(plain: Plain) -> str:
    """What the year's bill and the dearest month come to with the alternative of the short answer."""
    currency, best = plain["settings"]["currency"], best_of(plain)
    before = plain["stay"]["bill"]["first_year_total_by_month"]
    first = best["bills"]["after"]["first_year_total_by_month"]
    return (
        f"With “{best['name']}” the year’s bill goes from {money(sum(before), currency)} to "
        f"{money(sum(first), currency)}, the dearest month from {money(max(before), currency)} to "
        f"{money(max(first), currency)}."
    )


def bills_axis(currency: str) -> str:
    """What the axis of the bills counts."""
    return f"{currency} a month"


def bills_head(names: Iterable[str]) -> list[str]:
    """The head of the table of bills, by the names of those with one bill."""
    return [MONTH, STAY, *names]


def energy_title(name: str) -> str:
    """The title of the chart of one alternative's energy."""
    return f"Where the electricity comes from, first year: {name}"


def energy_reading(share: float) -> str:
    """What share of the load the sun carries."""
    return f"The sun carries {per_cent(share, 0)} of the year’s load."


def energy_head(sources: Iterable[str]) -> list[str]:
    """The head of the table of energies, by the names of the sources."""
    return [MONTH, "Load", *sources, "Solar made", "Sold"]


def battery_reading(row: Sequence[float], name: str | None) -> str:
    """What a battery holds when new and when weakest; ``name`` of its alternative where there are several courses."""
    whose = "It" if name is None else f"Under “{name}” it"
    return f"{whose} holds {row[0]:.1f} kWh when new and {min(row):.1f} kWh at its weakest; a jump is a new battery."
