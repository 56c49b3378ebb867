"""Living without a grid, told: sentences, tables and the cautions that go with them."""

from __future__ import annotations

from typing import Any

from finsolar.energy.autonomy import ARRAY_TO_LOAD
from finsolar.report.figures import Table
from finsolar.report.words.amounts import joined, money, per_cent
from finsolar.report.words.changes_told import best_of
from finsolar.report.words.times_told import MONTHS
from finsolar.report.words.times_told import part as part_told
from finsolar.scenario.problems import printable

Plain = dict[str, Any]

STAYING = "staying as you are"
NOTHING_BUILT = "no system is built"
BARELY = 0.1
"""Share of its size below which a generator that runs on and on hardly works; common practice, no source."""

CAUTIONS = (
    "A battery bank stands in a room of its own: dry, free of frost, and aired as its maker asks. Lead-acid cells give "
    "off hydrogen, which burns; any battery may. Keep it off the way out of the house.",
    "A generator stands outdoors, far from doors, windows and vents: its carbon monoxide kills unnoticed. Keep fuel "
    "away from it, and let it cool before it is filled.",
    "Without a grid the rules for wiring hold all the same: earthing, one bond of the neutral, fuses and isolators on "
    "the battery’s side. This is work for a licensed electrician, under permit and inspection.",
    "The sun here is that of one typical year. Duller weeks come; so do a generator that will not start and a road "
    "that is closed. Keep more fuel than the table says.",
    "Whoever depends on a medical device needs a plan that does not rest on this page.",
)

LINE_CAUTION = (
    "What a line costs is the power company’s to say: ask for a written quotation, with rights of way, the transformer "
    "and the yearly charge in it."
)


def told(plain: Plain) -> bool:
    """Whether some alternative lives without a grid, and that was looked into."""
    return any(plan["off_grid"] for plan in plain["alternatives"])


def lead(plain: Plain) -> Plain:
    """The alternative that the section speaks of: that of the short answer, else the one without a grid worth most."""
    plans = [plan for plan in plain["alternatives"] if plan["off_grid"]]
    best = best_of(plain)
    return best if best in plans else max(plans, key=lambda plan: plan["metrics"]["npv"])


def alike(plain: Plain) -> list[tuple[list[str], Plain]]:
    """The alternatives without a grid, those that live alike together: their names, and the first of them."""
    found: list[tuple[list[str], Plain]] = []
    for plan in plain["alternatives"]:
        if plan["off_grid"] is None:
            continue
        names = next((names for names, other in found if other["off_grid"] == plan["off_grid"]), None)
        if names is None:
            found.append(([plan["name"]], plan))
        else:
            names.append(plan["name"])
    return found


def answers(plain: Plain) -> list[str]:
    """What the house goes without, what its generator does, and how long its battery lasts."""
    plan = lead(plain)
    return [*_supplied(plain, plan), *_lasting(plan)]


def _supplied(plain: Plain, plan: Plain) -> list[str]:
    found, currency = plan["off_grid"], plain["settings"]["currency"]
    months, short = found["by_month"], found["hours_short"][0]
    lacking = sum(months["unserved"])
    if short:
        row = found["longest_short"][0]
        said = [
            f"With “{plan['name']}” {counted(lacking, 'kWh')} of the first year’s use {finds(lacking)} no source, "
            f"{share(found['unserved_share'][0])} of the load: {counted(short, 'hours')} "
            f"{'is' if _one(short) else 'are'} short, at most {counted(row, 'hours')} in a row."
        ]
    else:
        said = [f"With “{plan['name']}” no hour of the first year is short of supply."]
    if max(found["unserved_share"]) > found["unserved_share"][0] + 0.0005:
        worst = max(range(len(found["unserved_share"])), key=lambda k: found["unserved_share"][k])
        said.append(
            f"In later years what finds no source grows to {share(found['unserved_share'][worst])} of the load, in "
            f"year {worst + 1}."
        )
    hours = sum(months["hours"])
    if hours:
        cost = money(sum(months["fuel"]) + sum(months["running"]), currency)
        said.append(
            f"Its generator runs {counted(hours, 'hours')} of the first year and burns "
            f"{counted(sum(months['litres']), 'litres')}, {cost} with its upkeep by the hour{_today(plain)}."
        )
    return said


def _today(plain: Plain) -> str:
    """What the generator does today, where the house lives on one."""
    energy = plain["stay"]["energy"]
    hours, litres = energy["generator_hours"][0], energy["fuel_litres"][0]
    if not hours:
        return ""
    cost = money(plain["stay"]["bill"]["total_by_year"][0], plain["settings"]["currency"])
    return f"; as you are it runs {counted(hours, 'hours')} and burns {counted(litres, 'litres')}, {cost}"


def barely_loaded(plain: Plain) -> list[str]:
    """That today's generator is taken to run most of the time with next to nothing to do, where it is."""
    energy, generator = plain["stay"]["energy"], plain["scenario"].get("generator")
    hours = energy["generator_hours"][0]
    if generator is None or hours < 4380:
        return []
    part = energy["generator"][0] / hours / generator["kw"]
    if part >= BARELY:
        return []
    return [
        f"The saving rests on today’s generator running {counted(hours, 'hours')} a year at {part_told(part)} of its "
        "size, since something always draws power: is that so? Who lets it run for some hours only burns far less "
        "today, and would save far less."
    ]


def _lasting(plan: Plain) -> list[str]:
    autonomy = plan["off_grid"]["autonomy"]
    if autonomy is None or not autonomy["usable_kwh"] or autonomy["days"] is None:
        return []
    month = MONTHS[autonomy["darkest_month"] - 1]
    return [
        f"Full, the battery carries the house for {days(autonomy['days'])} of mean use without any sun, and for "
        f"{days(autonomy['days_darkest'])} in {month}, the darkest month beside its use: the sun then gives "
        f"{autonomy['sun_over_use']:.2f} times what is used."
    ]


def lines(plain: Plain) -> list[str]:
    """A line to the grid against the best way to live without it, a sentence or two each."""
    said = []
    for plan in plain["alternatives"]:
        if (line := plan["line"]) is not None:
            said.append(_line(plan["name"], line, plain["settings"]["currency"]))
    return said


def _line(name: str, line: Plain, currency: str) -> str:
    rival = STAYING if line["rival"] is None else f"“{line['rival']}”"
    by = money(abs(line["behind_by"]), currency)
    which = "less" if line["behind_by"] > 0 else "more"
    opening = f"Joining the grid, “{name}” is worth {by} {which} than {rival}"
    if line["level_price"] is None:
        return f"{opening}; {line['reasons']['level_price']}."
    unit = {"each": " each", "per_kw": " a kW", "per_kwh": " a kWh", "per_hour": " an hour"}.get(line["priced_by"], "")
    digits = 2 if unit else 0
    level, price = (money(line[key], currency, digits) for key in ("level_price", "price"))
    text = f"{opening}. Both would be worth the same if “{line['item']}” cost {level}{unit} instead of {price}"
    if line["level_quantity"] is not None and line["priced_by"] == "each":
        text += f", or if {line['level_quantity']:,.0f} were needed instead of {line['quantity']:,.0f}"
    return f"{text}."


def explained(plain: Plain) -> list[str]:
    """What lies beneath the figures, a sentence each."""
    plan = lead(plain)
    said = [
        "Every hour of the first year is balanced: sun, battery, then the generator where there is one. Use is that of "
        "the house and what the equipment draws itself."
    ]
    if plan["off_grid"]["autonomy"] is not None and plan["off_grid"]["autonomy"]["usable_kwh"]:
        said.append(
            "Days without sun go from full to the reserve, less the loss on the way out; they are closed sums, and no "
            "hour of the year need look like them."
        )
    if plan["off_grid"]["sizes"] is not None:
        said.append(
            "Other sizes of modules and battery are first years run anew by the hour; the inverter and the battery’s "
            "power stay as they are planned, and prices play no part."
        )
    return said


def ways(plain: Plain) -> Table:
    """Staying as you are, each way to live without a grid, and each line: the first year side by side."""
    currency, stay = plain["settings"]["currency"], plain["stay"]
    rows = [_row("Stay as you are", stay["energy"], stay["bill"], None, currency)]
    for names, plan in alike(plain):
        rows.append(_row(joined(names), plan["energy"], plan["bills"]["after"], plan["off_grid"], currency))
    for plan in plain["alternatives"]:
        if plan["line"] is not None:
            rows.append(_row(plan["name"], plan["energy"], plan["bills"]["after"], None, currency))
    head = ["", "Without supply, kWh", "Longest in a row, h", "Generator, h", "Fuel, litres", "From the grid, kWh",
            "Bill of supply"]  # fmt: skip
    return Table("The first year without a grid, and with one", head, rows)


def _row(name: str, energy: Plain, bill: Plain, found: Plain | None, currency: str) -> list[str]:
    lacking = energy["unserved"][0]
    longest = f"{found['longest_short'][0]:,.0f}" if found else ("0" if lacking < 0.05 else "not counted")
    return [
        name,
        f"{lacking:,.0f}",
        longest,
        f"{energy['generator_hours'][0]:,.0f}",
        f"{energy['fuel_litres'][0]:,.0f}",
        f"{energy['imported'][0]:,.0f}",
        money(bill["total_by_year"][0], currency),
    ]


def by_year(plain: Plain) -> Table | None:
    """What finds no source in each year, where any does; a column for each way to live."""
    groups = [group for group in alike(plain) if any(group[1]["off_grid"]["hours_short"])]
    if not groups:
        return None
    years = range(len(groups[0][1]["off_grid"]["hours_short"]))
    return Table(
        "Share of the load without supply, hours short and the most of them in a row, year by year",
        ["Year", *(joined(names) for names, _ in groups)],
        [
            [
                str(k + 1),
                *(
                    f"{share(found['unserved_share'][k])}, {found['hours_short'][k]:,.0f} h, "
                    f"{found['longest_short'][k]:,.0f} h"
                    for found in (plan["off_grid"] for _, plan in groups)
                ),
            ]
            for k in years
        ],
    )


def wanted(plain: Plain) -> Table | None:
    """The battery that days without sun ask for in the darkest month, beside the planned one."""
    plan = lead(plain)
    autonomy = plan["off_grid"]["autonomy"]
    if autonomy is None or not autonomy["wanted"]:
        return None
    month, planned = MONTHS[autonomy["darkest_month"] - 1], plan["battery_kwh"]
    return Table(
        f"The battery that days without sun ask for in {month}: {plan['name']}",
        ["Days without sun", "Battery, kWh", "Times the planned one"],
        [
            [f"{one['days']:g}", f"{one['battery_kwh']:,.0f}", f"{one['battery_kwh'] / planned:.1f}"]
            for one in autonomy["wanted"]
        ],
    )


def worst_month(plain: Plain) -> str | None:
    """What the darkest month asks of the modules, beside what is common."""
    plan = lead(plain)
    autonomy = plan["off_grid"]["autonomy"]
    if autonomy is None:
        return None
    month, (low, high) = MONTHS[autonomy["darkest_month"] - 1], ARRAY_TO_LOAD
    text = ""
    if autonomy["array_kw"] is not None:
        text = (
            f"In {month} a kW of modules gives {autonomy['sun_a_kw']:.2f} kWh a day, so it would take "
            f"{autonomy['array_kw']:.1f} kW, not the planned {plan['array_kw']:g} kW, to make the use of its mean day. "
        )
    return (
        f"{text}Houses without a generator are often given modules for {low:g} to {high:g} times the use of the "
        "darkest month, and a battery for three to five days (IEEE 1562 and 1013, from memory); with one, less will do."
    )


def cautions(plain: Plain) -> tuple[str, ...]:
    """What to mind; of a line only where one is studied."""
    return CAUTIONS + ((LINE_CAUTION,) if lines(plain) else ())


def terminal(plain: Plain) -> list[str]:
    """A line or two for the terminal; none where every alternative has a grid."""
    if not told(plain):
        return []
    said = [f"Without a grid: {' '.join(answers(plain))}", *lines(plain), *barely_loaded(plain)]
    return [printable(line.replace("\N{WORD JOINER}", ""), 1000) for line in said]


def counted(amount: float, unit: str) -> str:
    """An amount with its unit, whole; ``1 hour``, ``1,924 hours``, ``under 1 kWh``."""
    if 0 < amount < 0.95:
        return f"under 1 {unit.removesuffix('s')}"
    text = f"{amount:,.0f}"
    return f"{text} {unit.removesuffix('s') if text == '1' else unit}"


def _one(amount: float) -> bool:
    """Whether `counted` tells an amount in the singular."""
    return counted(amount, "").startswith(("under 1 ", "1 "))


def finds(kwh: float) -> str:
    """The verb of some kWh: ``1 kWh finds no source``, ``2 kWh find``."""
    return "finds" if _one(kwh) else "find"


def days(number: float) -> str:
    """A span of days to one digit."""
    text = f"{number:.1f}".removesuffix(".0")
    return f"{text} day{'' if text == '1' else 's'}"


def share(part: float) -> str:
    """A share of the load, none only where it is none."""
    return "under 0.1 %" if 0 < part < 0.001 else per_cent(part)
