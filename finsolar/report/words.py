"""Every word that people read: numbers as text, labels, sentences, cautions. Kept together for translation."""

from __future__ import annotations

import re
from typing import Any

from finsolar.scenario.hours import MONTHS
from finsolar.tariff.rounding import in_digits, printed

SIGNS = {"USD": "$", "CAD": "C$", "AUD": "A$", "NZD": "NZ$", "EUR": "€", "GBP": "£"}
NEVER_BACK = "the running total ends the study below zero"
MONTH_NAMES = tuple(name.capitalize() for name in MONTHS)


def money(amount: float, currency: str, digits: int = 0) -> str:
    """An amount as people write it: ``$12,345``, ``−$80``; rounded half away from zero."""
    sign = SIGNS.get(currency, f"{currency} ")
    rounded = in_digits(abs(amount), digits)
    minus = "−\N{WORD JOINER}" if amount < 0 and rounded else ""  # a line must not break behind the minus
    return f"{minus}{sign}{rounded:,.{digits}f}"


def per_cent(share: float, digits: int = 1) -> str:
    """A share as per cent: ``7.4 %``."""
    text = f"{abs(share) * 100:.{digits}f}"
    minus = "−" if share < 0 and float(text) else ""
    return f"{minus}{text} %"


_DAYS = {"mon": "Monday", "tue": "Tuesday", "wed": "Wednesday", "thu": "Thursday", "fri": "Friday", "sat": "Saturday",
         "sun": "Sunday"}  # fmt: skip


def days_told(days: str) -> str:
    """Days of the week as a scenario names them, in full: ``Monday to Friday``."""
    return re.sub(r"\b[a-z]{3}\b", lambda found: _DAYS.get(found[0], found[0]), days).replace("-", " to ")


def rate_told(rate: float) -> str:
    """A yearly rate: ``5.0 %``, and ``5.25 %`` where one digit would not tell it."""
    return per_cent(rate, 1 if abs(rate * 1000 - round(rate * 1000)) < 1e-6 else 2)


def years_told(years: float) -> str:
    """Whole years as they are, others to one digit: ``25 years``, ``1 year``, ``7.5 years``."""
    text = f"{years:.1f}".removesuffix(".0")
    return f"{text} year{'' if text == '1' else 's'}"


def years_long(years: float) -> str:
    """A span of years: ``9.6 years``."""
    return f"{years:.1f} years"


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
    "of zero. Those kWh are what the household expects, and need a battery or, off the grid, a generator.",
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


def span(years: float | None) -> str:
    """A payback in a table: years, or never."""
    return "never" if years is None else f"{years:.1f} y"


def joined(parts: list[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def turning_points(sweep: dict[str, Any]) -> str:
    """At which price rises each alternative pays, read off the sweep."""
    always, never, turning = [], [], []
    for plan in sweep["alternatives"]:
        npv, rises, name = plan["npv"], sweep["values"], f"“{plan['name']}”"
        paying = [value >= 0 for value in npv]
        if all(paying):
            always.append(name)
        elif not any(paying):
            never.append(name)
        else:
            turning.append(f"{name} {joined(_stretches(rises, npv))}")
    sentences = []
    if turning:
        sentences.append(f"It pays: {joined(turning)}.")
    for names, when in ((always, "at every rise shown"), (never, "at none of the rises shown")):
        if names:
            sentences.append(f"{joined(names)} {'pays' if len(names) == 1 else 'pay'} {when}.")
    return " ".join(sentences)


def _stretches(rises: list[float], npv: list[float]) -> list[str]:
    """The stretches of the rises over which the NPV is not below zero: ``from a rise of about 1.0 % a year``."""
    ends: list[tuple[float | None, float | None]] = []
    start: float | None = None
    open_end = npv[0] >= 0
    for k in range(1, len(npv)):
        if (npv[k] >= 0) == (npv[k - 1] >= 0):
            continue
        turn = rises[k - 1] + (rises[k] - rises[k - 1]) * npv[k - 1] / (npv[k - 1] - npv[k])
        if npv[k] >= 0:
            start, open_end = turn, True
        else:
            ends.append((start, turn))
            start, open_end = None, False
    if open_end:
        ends.append((start, None))
    found = []
    for low, high in ends:
        if low is None:
            found.append(f"up to a rise of about {per_cent(high or 0.0)} a year")
        elif high is None:
            found.append(f"from a rise of about {per_cent(low)} a year")
        else:
            found.append(f"between rises of about {per_cent(low)} and {per_cent(high)} a year")
    return found


def sunlight_sentence(sunlight: dict[str, Any]) -> str:
    """What dull and bright years do to the alternatives, in one line each."""
    low, _, high = sunlight["values"]
    told = []
    for plan in sunlight["alternatives"]:
        dull, _, bright = plan["first_year_saving"]
        change = 0.0 if abs(bright) < 1e-9 else 1.0 - dull / bright
        told.append(f"“{plan['name']}” saves {per_cent(change, 0)} less")
    years = f"a dull year ({per_cent(low, 0)} of the sunlight) against a bright one ({per_cent(high, 0)})"
    return f"In {years}: {joined(told)}."


def bound_sentences(plain: dict[str, Any]) -> list[str]:
    """How much of the best possible saving each alternative reaches; none where that was not asked for."""
    currency = plain["settings"]["currency"]
    told: dict[tuple[str, str, str], list[str]] = {}
    for plan in plain["alternatives"]:
        bound = plan["bound"]
        if bound is None:
            continue
        if bound["why_not"] is not None:
            says = (":", ":", f"no bound, since {bound['why_not']}")
        elif bound["share"] is None:
            says = (":", ":", "even with perfect foresight the first year would save nothing")
        else:
            saving, best = (money(bound[key], currency) for key in ("saving", "best_saving"))
            share = per_cent(bound["share"], 0)
            reached = f"{share} of the best possible saving of the first year, {saving} of {best}"
            says = (" reaches", " reach", reached)
        told.setdefault(says, []).append(f"“{plan['name']}”")
    return [f"{joined(names)}{one if len(names) == 1 else many} {what}." for (one, many, what), names in told.items()]


def best_of(plain: dict[str, Any]) -> dict[str, Any]:
    """The alternative with the highest NPV, which the short answer speaks of."""
    best: dict[str, Any] = max(plain["alternatives"], key=lambda plan: plan["metrics"]["npv"])
    return best


def cautions_of(plain: dict[str, Any]) -> list[str]:
    """The notes that call for caution, which a reader of the short answer must not miss."""
    return [note for note in plain["notes"] if "caution: " in note.lower()]


def pair_sentence(pair: dict[str, Any], currency: str) -> str:
    """One comparison in words."""
    outlay, gain = pair["extra_outlay"], pair["extra_npv"]
    if abs(outlay) < 0.5:
        if abs(gain) < 0.5:
            return f"“{pair['dearer']}” comes to the same as “{pair['cheaper']}”."
        side = "better" if gain >= 0 else "worse"
        return (
            f"“{pair['dearer']}” asks the same at the start as “{pair['cheaper']}”, {_more_saved(pair, currency)}, and "
            f"is {money(abs(gain), currency)} {side} in NPV."
        )
    says = (
        f"“{pair['dearer']}” asks {money(outlay, currency)} more at the start than “{pair['cheaper']}” and "
        f"{_more_saved(pair, currency)}"
    )
    if (pair["irr"] is None or pair["irr"] < 0) and gain < 0:
        says += "; that extra outlay does not come back in full"
    elif pair["irr"] is not None:
        says += f"; that extra outlay earns {per_cent(pair['irr'])} a year"
        if pair["simple_payback"] is not None:
            says += f" and is back after {years_long(pair['simple_payback'])}"
    side = "ahead" if gain >= 0 else "behind"
    return f"{says}. In NPV it is {money(abs(gain), currency)} {side}."


def _more_saved(pair: dict[str, Any], currency: str) -> str:
    """What the dearer of two saves more, less what it costs to run: in year 1, and over the study."""
    first, whole = pair["extra_saving_first_year"], pair["extra_saving"]
    if abs(first) < 0.5 and abs(whole) < 0.5:
        return "saves the same"
    told = [f"{money(abs(saved), currency)} {'more' if saved >= 0 else 'less'}" for saved in (first, whole)]
    return f"saves {told[0]} in year 1, {told[1]} over the study"


def premium_sentence(own: dict[str, Any], currency: str) -> str:
    """What having the work done costs more, by the own hours that it spares."""
    mine, firm, hours = f"“{own['name']}”", f"“{own['against']}”", f"{own['hours']:,.0f} own hours"
    if own["saved"] < 0.5:
        more = "the same as" if own["saved"] > -0.5 else f"{money(-own['saved'], currency)} more than"
        return f"{mine} costs {more} {firm} after awards: its {hours} earn nothing."
    return (
        f"{mine} instead of {firm} keeps {money(own['saved'], currency)} in the house: for each of the {hours} that "
        f"{firm} would spare you it takes a premium of {money(own['per_hour'], currency, 2)}."
    )


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
    """The figures of merit a page shows: not the cost of backup where the household expects to draw none."""
    asked = "backup_kwh" in plain["scenario"]["household"]
    return [row for row in METRIC_ROWS if asked or row[0] != "backup_cost"]


def metric_reasons(
    plan: dict[str, Any], plain: dict[str, Any], rows: list[tuple[str, str, str]] | None = None
) -> list[str]:
    """Why figures that a page shows do not exist, each reason once; ``rows`` : those it shows, if not all."""
    shown = metric_rows(plain) if rows is None else rows
    return list(dict.fromkeys(plan["reasons"][key] for key, _, _ in shown if key in plan["reasons"]))


def figure(number: float | None, kind: str, currency: str) -> str:
    """One figure of merit as text."""
    if number is None:
        return "never" if kind == "years" else "none"
    if kind == "money":
        return money(number, currency)
    if kind == "price":
        return f"{money(number, currency, 3)} a kWh"
    if kind == "years":
        return f"{number:.1f} years" if number else "0 years, nothing is laid out"
    return per_cent(number) if kind == "share" else ratio(number)


def ratio(number: float) -> str:
    """A ratio: ``1.25``, ``−0.40``."""
    text = f"{abs(number):.2f}"
    return f"−{text}" if number < 0 and float(text) else text


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


def bill_parts(plain: dict[str, Any]) -> list[str]:
    """The parts of the bill that any alternative has, in the order they first appear."""
    bills = [plain["stay"]["bill"], *(plan["bills"]["after"] for plan in plain["alternatives"])]
    return list(dict.fromkeys(part for bill in bills for part in bill["by_year"]))


def bill_columns(plain: dict[str, Any]) -> list[tuple[list[float], float]]:
    """The first year's bill in whole cents, by `bill_parts`, and their sum: of staying, then of each alternative."""
    bills = [plain["stay"]["bill"], *(plan["bills"]["after"] for plan in plain["alternatives"])]
    columns = []
    for bill in bills:
        lines, total = printed(bill["by_year"].get(part, [0.0])[0] for part in bill_parts(plain))
        columns.append(([float(line) for line in lines], float(total)))
    return columns


def upkeep_groups(plain: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """Alternatives with the same upkeep, told together; those without any are left out."""
    return _alike([plan for plan in plain["alternatives"] if plan["upkeep"]], "upkeep")


def _alike(plans: list[dict[str, Any]], part: str) -> list[tuple[str, dict[str, Any]]]:
    groups: list[tuple[list[str], dict[str, Any]]] = []
    for plan in plans:
        same = next((group for group in groups if group[1][part] == plan[part]), None)
        if same is None:
            groups.append(([plan["name"]], plan))
        else:
            same[0].append(plan["name"])
    return [(joined([f"“{name}”" for name in names]), plan) for names, plan in groups]


def price_in_words(line: dict[str, Any], currency: str) -> str:
    """What a cost line counts with: its price, and of a risk how likely it is and what it would cost."""
    price = money(line["price"], currency, 2)
    if line["chance"] == 1:
        return price
    chance = per_cent(line["chance"]).replace(".0 %", " %")
    return f"{price} ({chance} chance of {money(line['full_price'], currency, 2)})"


def each_time_in_words(line: dict[str, Any], currency: str) -> str:
    """What a cost that comes back takes each time: parts, and the work on them."""
    cost = money(line["cost"], currency, 2)
    return cost if line["labour"] == 0 else f"{cost} and {money(line['labour'], currency, 2)} of work"


def when_in_words(line: dict[str, Any]) -> str:
    """When a cost comes back, and when a warranty pays for its parts."""
    when = due_in_words(line["due"])
    if not line["covered"]:
        return when
    return f"{when}; parts free under warranty in {due_in_words(line['covered'])}"


def due_in_words(due: list[int]) -> str:
    """The years in which an upkeep line falls due."""
    if not due:
        return "not within the study"
    if len(due) > 3 and due == list(range(due[0], due[-1] + 1)):
        return f"every year, {due[0]} to {due[-1]}"
    return years_in_words(due)


def years_in_words(years: list[int]) -> str:
    """Years as people list them, three and more in a row by their ends: ``years 1, 4 to 7 and 13``."""
    runs: list[list[int]] = []
    for year in years:
        if runs and year == runs[-1][-1] + 1:
            runs[-1].append(year)
        else:
            runs.append([year])
    told = [part for run in runs for part in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run))]
    return f"year{'s' if len(years) > 1 else ''} {joined(told)}"


def break_even_rows(plain: dict[str, Any]) -> list[list[str]]:
    """Where each alternative breaks even: name, price, highest price, rise, and the two rises of its loan."""
    currency = plain["settings"]["currency"]

    def from_rise(found: dict[str, Any], key: str) -> str:
        if found[key] is not None:
            return f"from {per_cent(found[key])}"
        why = found["reasons"].get(key, "")
        if "stays above zero" in why:
            return "at every rise searched"
        return "at no rise searched" if "stays below zero" in why else "none"

    rows = []
    for one in plain["break_even"]["alternatives"]:
        highest, rise, loan = one["highest_price"], from_rise(one, "rise"), one["loan"]
        if one["falls_with_rise"]:
            rise = rise.replace("from", "up to")
        loans = ["no loan"] * 2 if loan is None else [from_rise(loan, key) for key in ("every_year", "over_term")]
        price = "no price" if highest is None else money(highest, currency)
        rows.append([one["name"], money(one["price"], currency), price, rise, *loans])
    return rows


def break_even_reasons(plain: dict[str, Any]) -> list[str]:
    """Why an alternative breaks even at no price or rise, a sentence for each alternative with such a gap."""
    found = []
    for one in plain["break_even"]["alternatives"]:
        why = [*one["reasons"].values(), *(one["loan"] or {"reasons": {}})["reasons"].values()]
        if why:
            found.append(f"{one['name']}: {'; '.join(why)}.")
    return found


def level_sentence(pair: dict[str, Any], currency: str) -> str:
    """What one of two alternatives would have to cost to be worth as much as the other."""
    behind, ahead, price, level = pair["behind"], pair["ahead"], pair["price"], pair["level_price"]
    if pair["behind_by"] < 0.5:
        return f"“{behind}” and “{ahead}” are worth the same."
    if level is None:
        return f"“{behind}” draws level with “{ahead}” at no price: {pair['reasons']['level_price']}."
    return (
        f"“{behind}” would draw level with “{ahead}” at a price of {money(level, currency)}, "
        f"{money(price - level, currency)} below the {money(price, currency)} it is to cost."
    )
