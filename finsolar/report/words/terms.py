"""Names of costs, lines, energies and figures, what they mean, and the cautions of every page."""

from __future__ import annotations

from typing import Any

NEVER_BACK = "the running total ends the study below zero"


CATEGORIES = {
    "modules": "Solar modules",
    "inverter": "Inverter",
    "battery": "Battery",
    "racking": "Racking",
    "wiring": "Wiring",
    "generator": "Generator",
    "labour": "Paid labour",
    "permits": "Permits",
    "interconnection": "Interconnection",
    "roof": "Roof work",
    "service panel": "Service panel",
    "tools": "Tools",
    "shipping": "Shipping",
    "finance": "Finance",
    "other": "Other",
    "upkeep": "Upkeep",
    "insurance": "Insurance",
    "removal": "Removal",
}

LINE_NAMES = {
    "capital": "Outlay",
    "rebates": "Rebates",
    "awards": "Tax credits and other awards",
    "yearly awards": "Awards paid year by year",
    "tax on awards": "Income tax on awards",
    "property tax": "Property tax on the system",
    "upkeep avoided": "Upkeep of staying, avoided",
    "investment avoided": "Investment of staying, avoided",
    "upkeep": "Upkeep",
    "insurance": "Insurance",
    "replacements": "Replacements",
    "left at the end": "Worth left at the end",
    "tools sold again": "Tools sold again",
    "removal": "Removal at the end",
    "loan received": "Loan received",
    "loan fee": "Loan fee",
    "dealer fee": "Dealer fee inside the financed price",
    "loan payments": "Loan payments",
    "paid into the loan": "Lump sum paid into the loan",
    "tax saved on interest": "Income tax saved on interest",
    "lease payments": "Lease payments",
    "payments per kWh": "Payments per kWh",
    "worth of backup": "Worth of backup, no cash",
}

CAUTIONS = (
    "This study is arithmetic on stated assumptions. It is no offer, no promise and no financial, tax or legal "
    "advice. Prices, weather and law will differ from what is assumed here.",
    "Tax and incentive law changes, sometimes backwards in time. A licensed tax adviser decides what this "
    "household is entitled to.",
    "Mains, solar and battery wiring can kill and can burn a house down, also with the grid switched off: modules "
    "are live whenever light falls on them, and batteries cannot be switched off. Local codes, permits, "
    "inspections and the utility's rules come first; where they ask for a licensed electrician, hire one.",
    "A house that can run apart from the grid needs an approved means of isolation, so that it never feeds a line "
    "on which people work.",
    "Work on a roof means falls. Use fall protection, know what the structure carries, and do not work alone.",
    "A generator gives off carbon monoxide, which kills unnoticed. Run it outdoors, away from openings, and never "
    "connect it to house wiring without a proper transfer switch.",
    "A loan must be repaid whatever the system earns. Read the note, the fee and the security it takes before you "
    "sign.",
)

TERMS = {
    "Gross cost": "All that is laid out to build it, sales tax and the allowance for the unforeseen in it, before "
    "rebates and awards.",
    "Awards": "What a law, an agency or a utility grants: tax credits, rebates, reliefs from a tax, payments by the "
    "kWh.",
    "Basis": "The part of the cost that a rule counts an award on.",
    "Allowance": "A share added to a price for what nobody foresees.",
    "Net cost": "What is laid out, less rebates and the awards that belong to the purchase, at face value even where "
    "they come in later years. What is paid year by year is not taken off.",
    "Saving": "The bill if you stay as you are, less the bill with the alternative: same load, same year's prices.",
    "Self-consumption": "Solar energy used in the house, at once or out of the battery, instead of being fed into the "
    "grid.",
    "Net billing": "What is fed in is paid at a price of its own, as a rule below that of energy from the grid; what "
    "is drawn is billed in full.",
    "Net metering": "What is fed in is taken off what is drawn, kWh by kWh.",
    "Fade": "What modules or a battery lose of their first output or capacity as they age.",
    "Reserve": "The share of the battery that everyday use leaves alone, for an outage.",
    "Knee": "The reserve up to which further hours without the grid cost less each, taken together, than the average "
    "of all that can be had, and beyond which they cost more. Hours are seen up to the longest outage looked at, and "
    "that end may make the knee.",
    "Running total": "All money in and out up to the end of a year, added up: below zero while more was laid out than "
    "has come back.",
    "Simple payback": "The years until the running total of all money in and out is back at zero. If a later "
    "replacement takes it below zero again, the last return to zero is given, and the first beside it.",
    "Discounted payback": "The same with each year's money brought back to the start at the discount rate.",
    "Discount rate": "What the household could earn a year with its money elsewhere. Money of later years counts for "
    "less by it.",
    "NPV": "Net present value: what all money in and out is worth on the in-service day, at the discount rate. "
    "Above zero, the household does better than by earning the discount rate elsewhere.",
    "IRR": "Internal rate of return: the discount rate at which the NPV would be zero.",
    "MIRR": "Modified internal rate of return: one rate even where several IRRs exist; money received is "
    "reinvested, and later outlays are set aside, at the discount rate.",
    "SIR": "Savings-to-investment ratio: the worth of savings less upkeep, over the worth of the outlay and "
    "replacements less awards. Above one, it pays.",
    "AIRR": "Adjusted internal rate of return: the yearly return when savings are reinvested at the discount rate.",
    "LCOE": "Levelised cost of energy: what each kWh of solar energy that serves the load or is sold costs over the "
    "years, losses in battery and inverter taken off. That of the sun alone leaves out what the battery costs, is "
    "granted and loses: what is for the whole is shared by cost, and the hours stay those of the system as it is. "
    "Payments for a leased system count whole.",
    "Cost of backup": "What each kWh drawn while the grid is down would have to be worth, in today’s money, for an NPV "
    "of zero. Those kWh are what the household expects, or what is carried of the outages to expect, and need a "
    "battery or, off the grid, a generator.",
    "SAIFI": "System average interruption frequency index: how often in a year the supply of an average customer is "
    "interrupted, for longer than five minutes (IEEE 1366).",
    "SAIDI": "System average interruption duration index: how long in a year an average customer is without supply, "
    "SAIFI times CAIDI.",
    "CAIDI": "Customer average interruption duration index: how long one interruption lasts on average.",
    "Worth of backup": "What it is worth to the household that power goes on while the grid is down, by what it says "
    "itself: of an hour or a kWh, of what else would go, or of the generator that is spared. It is no cash, and in no "
    "figure unless the household counts it.",
    "Break-even worth": "What an hour with power, or a kWh, while the grid is down would have to be worth, in today’s "
    "money, for an NPV of zero.",
    "Real": "Told in the money of the first day, inflation taken off. NPV, SIR and discounted payback are the same "
    "either way.",
    "Nominal": "Told in the money of each year, inflation in it. All figures are, unless they are called real.",
    "Debt service coverage": "DSCR: what a year brings in (savings and awards, less upkeep, insurance and "
    "replacements) over the loan payments of that year. At 1.00 the loan just carries itself.",
    "APR": "Annual percentage rate: what the loan costs a year once points and fees are counted as interest, on what "
    "the household has the use of. The United States figure is nominal, the European one effective, so they differ.",
    "P10, P50, P90": "Of all cases that were drawn, one in ten lies below P10, half lie below P50 and nine in ten lie "
    "below P90. A payback that never comes counts as later than any other.",
    "Share of the spread": "How much of the variance of NPV comes from one range: alone, what would go if it were "
    "known; with all it joins in, what would stay if all the others were known (first-order and total Sobol indices, "
    "the ranges taken for independent).",
    "Highest price worth paying": "What all costs together may come to at an NPV of zero. All lines move alike, and "
    "with them awards, the loan and what is left at the end.",
}


METRIC_ROWS: tuple[tuple[str, str, str], ...] = (
    ("npv", "NPV", "money"),
    ("annual_value", "The same as a level amount a year", "money"),
    ("real_annual_value", "The same a year, rising with inflation", "money"),
    ("simple_payback_lasting", "Simple payback, for good", "years"),
    ("real_simple_payback_lasting", "Simple payback, real, for good", "years"),
    ("simple_payback", "Simple payback, first time", "years"),
    ("real_simple_payback", "Simple payback, real, first time", "years"),
    ("discounted_payback_lasting", "Discounted payback, for good", "years"),
    ("discounted_payback", "Discounted payback, first time", "years"),
    ("irr", "IRR", "share"),
    ("real_irr", "IRR, real", "share"),
    ("mirr", "MIRR", "share"),
    ("real_mirr", "MIRR, real", "share"),
    ("sir", "SIR", "ratio"),
    ("airr", "AIRR", "share"),
    ("real_airr", "AIRR, real", "share"),
    ("lcoe", "LCOE of the solar energy used", "price"),
    ("real_lcoe", "LCOE, real", "price"),
    ("lcoe_solar", "LCOE of the sun alone, without the battery", "price"),
    ("real_lcoe_solar", "LCOE of the sun alone, real", "price"),
    ("backup_cost", "Cost of a kWh of backup, in today’s money", "price"),
)
"""Figures of merit by key, in the order shown, and how each is written."""


def metric_rows(plain: dict[str, Any]) -> list[tuple[str, str, str]]:
    """The figures of merit a page shows: not the cost of backup where none is expected to be drawn."""
    asked = "backup_kwh" in plain["scenario"]["household"] or any(
        plan["outage"] is not None and plan["outage"]["backup"] is not None for plan in plain["alternatives"]
    )
    return [row for row in METRIC_ROWS if asked or row[0] != "backup_cost"]


def metric_reasons(
    plan: dict[str, Any], plain: dict[str, Any], rows: list[tuple[str, str, str]] | None = None
) -> list[str]:
    """Why figures that a page shows do not exist, each reason once; ``rows`` : those it shows, if not all."""
    shown = metric_rows(plain) if rows is None else rows
    return list(dict.fromkeys(plan["reasons"][key] for key, _, _ in shown if key in plan["reasons"]))


ENERGY_ROWS: tuple[tuple[str, str], ...] = (
    ("load", "Load"),
    ("solar", "Solar, as the inverter could give it"),
    ("clipped", "Cut off by the inverter’s limit"),
    ("load_from_sun", "Load carried by the sun, straight or through the battery"),
    ("self_used", "Solar kept in the house, with what is lost there"),
    ("exported", "Fed into the grid"),
    ("curtailed", "Shed, for want of a taker"),
    ("imported", "Drawn from the grid"),
    ("generator", "From the generator"),
    ("generator_hours", "Hours the generator runs"),
    ("fuel_litres", "Fuel burnt, litres"),
    ("charge", "Into the battery"),
    ("charge_bought", "Of that from grid or generator"),
    ("discharge", "Out of the battery"),
    ("battery_loss", "Lost in the battery"),
    ("idle", "Idle draw of inverter and battery"),
    ("unserved", "Load that found no source"),
)
"""Energy of a year by key, in the order shown."""
