"""What backup is worth to a household, told: by its own numbers, beside the money and never silently among it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from finsolar.money.cashflow import WORTH_OF_BACKUP
from finsolar.report.figures import Table
from finsolar.report.words.amounts import joined, money, years_told
from finsolar.report.words.changes_told import best_of
from finsolar.report.words.interruptions_told import STAY, carrying, lead, none_expected
from finsolar.report.words.times_told import hours
from finsolar.tariff.rounding import printed

Plain = dict[str, Any]

HEADING = "What that is worth"
NO_MONEY = "Kept apart from the money: nothing here is in any figure of the sections above."
ALSO_COUNTED = (
    "Nothing of this is in any figure of the sections above but the worth of backup, which the household counts "
    "(study.count_backup)."
)
CAUTIONS = (
    "What power is worth while the grid is down is the household’s own judgement. No lender counts it, it pays no "
    "instalment, and nobody hands it out.",
    "The figures of storms are rough: few years are on record, and the next storm keeps to no mean. Read the range "
    "before the mean.",
)
COUNTED = "The worth of backup is in NPV, rates of return and paybacks, since the household counts it; it is no cash."
"""What is told of other numbers where it is."""
NOTE = f"{COUNTED} SIR, AIRR, LCOE and the cost of backup leave it out."
"""The note on a study that counts it."""
BATTERY_ALONE = "What power is worth to you while the grid is down is not counted in these figures."


def counted(plain: Plain) -> bool:
    """Whether the worth of backup stands in the cash flow."""
    return plain["outages"] is not None and bool(plain["outages"]["counted"])


def worth_of(plan: Plain) -> Plain | None:
    """What the backup of an alternative is worth; none where nobody says so, or no outages are to be expected."""
    own = None if plan["outage"] is None else plan["outage"]["backup"]
    return None if own is None else own["worth"]


def in_the_money(plan: Plain) -> bool:
    """Whether worth of backup is in the cash flow of an alternative, and so in its paybacks."""
    return any(plan["cash_flow"]["lines"].get(WORTH_OF_BACKUP, []))


def apart(plain: Plain) -> str:
    """That the section stands beside the money, and what of it does not."""
    return ALSO_COUNTED if counted(plain) else NO_MONEY


def opening(plain: Plain) -> str:
    """What the first sentence begins with where the worth of backup is counted; mostly nothing."""
    if not counted(plain) or none_expected(plain):
        return ""
    worth = worth_of(best_of(plain))
    amount = 0.0 if worth is None else worth["present_value"]
    part = f"{money(amount, plain['settings']['currency'])} of its NPV" if amount else "nothing of its NPV"
    return f"With the worth of backup counted in ({part}, and no cash), "


def opening_at_other_numbers(plain: Plain) -> str:
    """The same where the NPV is another one at each number."""
    told = counted(plain) and not none_expected(plain)
    return "With the worth of backup counted in (no cash), " if told else ""


def beside(plain: Plain) -> list[str]:
    """What the short answer says of backup that is in none of its figures."""
    if counted(plain) or none_expected(plain):
        return []
    plan = lead(plain)
    if plan is not None and worth_of(plan) is not None:
        return [f"{_adds(plain, plan, 'would add')}; that is not in these figures."]
    if "tariff" in plain["scenario"] and any(any(one["energy"]["battery_capacity"]) for one in plain["alternatives"]):
        return [BATTERY_ALONE]
    return []


def _adds(plain: Plain, plan: Plain, adds: str) -> str:
    """What backup adds in a year, without the full stop."""
    currency, own = plain["settings"]["currency"], plan["outage"]["backup"]
    amount, name = own["worth"]["first_year"], f"“{plan['name']}”"
    span = _likely(own, currency)
    if "generator" in own["worth"]["by"]:
        built = own["worth"]["by_year"][0]
        first = f" {money(built, currency)} at the start and" if built else ""
        spares = adds.replace("add", "spare")
        return f"Backup with {name} {spares} a generator,{first} {_about(amount, currency)} a year{span}"
    return f"Backup with {name} {adds} {_about(amount, currency)} a year{span}, if you value it as you say"


def _about(amount: float, currency: str) -> str:
    """Whole money of a year; ``about $50``, ``under $1``."""
    if amount == 0:
        return "nothing"
    return f"under {money(1, currency)}" if 0 < amount < 0.5 else f"about {money(amount, currency)}"


def _each(amount: float, currency: str) -> str:
    """The price of one hour or kWh; ``$24.48``, ``under $0.01``."""
    return f"under {money(0.01, currency, 2)}" if 0 < amount < 0.005 else money(amount, currency, 2)


def _likely(own: Plain, currency: str) -> str:
    """Between which amounts the worth of a year likely lies, if that is a span to speak of."""
    drawn = own["drawn"]
    if not drawn or "worth" not in drawn:
        return ""
    low, high = drawn["worth"]["p10"], drawn["worth"]["p90"]
    return f" (likely between {money(low, currency)} and {money(high, currency)})" if high - low >= 0.5 else ""


def answers(plain: Plain) -> list[str]:
    """What backup is worth, in sentences that can be repeated."""
    plans = carrying(plain)
    if not plans:
        return []
    if worth_of(plans[0]) is None:
        return [
            "Nobody has said what power is worth here while the grid is down, so no money is set on it: say "
            "household.outage.worth, losses or instead. What it would have to be worth stands below."
        ]
    plan = lead(plain)
    if plan is None:
        return ["None of the alternatives carries anything, so there is no backup to be worth anything."]
    currency, worth = plain["settings"]["currency"], worth_of(plan)
    assert worth is not None  # that of the first is there, so all are
    over = f"over {years_told(plain['settings']['years'])} {money(worth['present_value'], currency)} in the money of "
    return [f"{_adds(plain, plan, 'adds')}; {over}the first day.", _where(plain)]


def _where(plain: Plain) -> str:
    if counted(plain):
        return (
            "The household counts it: it is a line of its own in the cash flow, and in NPV, paybacks, running totals "
            "and all that is drawn. It is no cash, and in nothing that a loan is paid from."
        )
    return "It is in no figure of the other sections."


def explained(plain: Plain) -> list[str]:
    """How the worth comes about, a sentence each."""
    plan = lead(plain)
    worth = None if plan is None else worth_of(plan)
    if worth is None:
        return []
    if "generator" in worth["by"]:
        assert plan is not None  # it has a worth
        spared = (
            "With backup the household needs no generator, which it would have otherwise: what it costs to build and "
            "to replace, its upkeep, and fuel for every kWh that is carried are spared."
        )
        dark = plan["outage"]["backup"]["a_year"]["hours_not_carried"]
        if dark * 60 < 0.5:
            own = f"{spared} Either would keep the lamps on, so nothing is set on the hours themselves."
            return [own, *_bought_later(plain), *_burning(plain, "; with it no fuel counts as spared")]
        return [
            f"{spared} A generator would carry the {hours(dark)} a year too in which the house stays dark with "
            f"“{plan['name']}”; nothing is set against backup for them, so its worth is told too high by that.",
            *_bought_later(plain),
            *_burning(plain, "; with it no fuel counts as spared"),
        ]
    said = {
        "hour": "An hour with power while the grid is down is worth what the household says.",
        "kwh": "A kWh that is carried while the grid is down is worth what the household says.",
        "losses": "What goes while the house is dark goes without backup too, only more often: the difference counts.",
    }
    today = "Amounts are those of today, and rise year by year."
    return [*(said[each] for each in worth["by"]), today, *_burning(plain)]


def _bought_later(plain: Plain) -> list[str]:
    """With which alternatives the generator is bought after all, and when, a sentence each."""
    return [
        f"When the system of “{plan['name']}” is taken away, after year {worth['bought_in']}, the household buys the "
        "generator after all, at the price of that year."
        for plan in carrying(plain)
        if (worth := worth_of(plan)) is not None and worth["bought_in"] is not None
    ]


def _burning(plain: Plain, so: str = "") -> list[str]:
    """Which alternatives burn fuel of their own while the grid is down; a sentence at most."""
    names = [
        f"“{plan['name']}”"
        for plan in carrying(plain)
        if (lasts := plan["outage"]["endurance"]) is not None and lasts["fuel_litres"] > 0
    ]
    return [f"Fuel that the generator of {joined(names)} burns in outages is not charged{so}."] if names else []


def line_tables(plain: Plain) -> list[Table]:
    """What the worth of each alternative is made of, that of the section's own first; those alike together."""
    first = lead(plain)
    found: list[tuple[list[str], Plain]] = []
    for plan in sorted(carrying(plain), key=lambda plan: plan is not first):
        worth = worth_of(plan)
        if worth is None or not any(line["avoided"] for line in worth["lines"]):
            continue
        names = next((names for names, other in found if other["lines"] == worth["lines"]), None)
        if names is None:
            found.append(([plan["name"]], worth))
        else:
            names.append(plan["name"])
    return [_lines(plain, names, worth) for names, worth in found]


def _lines(plain: Plain, names: list[str], worth: Plain) -> Table:
    currency, lines = plain["settings"]["currency"], worth["lines"]
    cells = [printed(line[key] for line in lines) for key in ("without", "with", "avoided")]
    spared = "generator" in worth["by"]
    when = [["at the start" if line["year"] == 0 else "year 1"] if spared else [] for line in lines]
    rows = [
        [_item(worth, k, currency), *when[k], *(money(float(column[k]), currency, 2) for column, _ in cells)]
        for k in range(len(lines))
    ]
    what = ", the generator and its first year" if spared else " in the first year"
    return Table(
        caption=f"What the worth of backup is made of{what}: {joined(names)}",
        head=["", *["When"] * spared, STAY, "With backup", "Avoided"],
        rows=rows,
        foot=["Together", *[""] * spared, *(money(float(total), currency, 2) for _, total in cells)],
    )


def _item(worth: Plain, k: int, currency: str) -> str:
    """The name of a line: ours where the engine makes it, else the household's."""
    by, lines = worth["by"][0], worth["lines"]
    if k == 0 and by == "hour":
        return f"Hours without power, {_each(worth['unit'], currency)} each"
    if k == 0 and by == "kwh":
        return f"kWh wanted in vain, {_each(worth['unit'], currency)} each"
    if k == len(lines) - 1 and by == "generator":
        return "Fuel of the generator"
    return str(lines[k]["item"])


def npv_table(plain: Plain) -> Table:
    """The NPV of each alternative without and with the worth of backup, and what would make the former zero."""
    currency = plain["settings"]["currency"]

    def cell(amount: float | None, told: Callable[[float, str], str] = money) -> str:
        return "–" if amount is None else told(amount, currency)

    rows = []
    for plan in carrying(plain):
        own, worth = plan["outage"]["backup"], worth_of(plan)
        amounts = [cell(own["npv_without"]), cell(None if worth is None else worth["present_value"])]
        even = [cell(own["break_even"][key], _each) for key in ("an_hour", "a_kwh")]
        rows.append([plan["name"], *amounts, cell(own["npv_with"]), *even])
    left_out = [plan for plan in plain["alternatives"] if plan["name"] in _uncounted(plain)]
    rows += [[plan["name"], cell(plan["metrics"]["npv"]), *["–"] * 4] for plan in left_out]
    return Table(
        caption="NPV without and with the worth of backup, and what that would have to be for an NPV of zero",
        head=["", "NPV without it", "Worth of backup", "NPV with it", "Break-even worth, an hour", "The same, a kWh"],
        rows=rows,
    )


def break_even(plain: Plain) -> list[str]:
    """What an hour or a kWh would have to be worth for an NPV of zero, or why nothing would; those alike together."""
    currency = plain["settings"]["currency"]
    found: dict[tuple[float | None, float | None, tuple[str, ...]], list[str]] = {}
    for plan in carrying(plain):
        even = plan["outage"]["backup"]["break_even"]
        why = tuple(dict.fromkeys(even["reasons"].values()))
        found.setdefault((even["an_hour"], even["a_kwh"], why), []).append(f"“{plan['name']}”")
    said = [_level(an_hour, a_kwh, why, joined(names), currency) for (an_hour, a_kwh, why), names in found.items()]
    return said + [f"“{name}”: no worth of backup is counted, since {why}." for name, why in _uncounted(plain).items()]


def _level(an_hour: float | None, a_kwh: float | None, why: tuple[str, ...], names: str, currency: str) -> str:
    hour, kwh = ("" if each is None else _each(each, currency) for each in (an_hour, a_kwh))
    if not hour and not kwh:
        return f"{names}: no break-even worth, since {joined(list(why))}."
    worth = [f"an hour with power is worth {hour} to you"] if hour else [f"a kWh is worth {kwh} to you"]
    worth += [f", or a kWh {kwh}"] if hour and kwh else []
    one = "" if hour and kwh else f"; there is none of {'a kWh' if hour else 'an hour'}, since {joined(list(why))}"
    return f"The NPV of {names} is zero if {''.join(worth)}, in today’s money and with no other worth beside it{one}."


def _uncounted(plain: Plain) -> dict[str, str]:
    """The alternatives for which no outages are counted, and why."""
    plans = [plan for plan in plain["alternatives"] if plan["outage"] is not None]
    return {plan["name"]: plan["outage"]["no_backup"] for plan in plans if plan["outage"]["no_backup"] is not None}


def for_lender(plain: Plain) -> list[str]:
    """What a lender is told of the worth of backup; nothing where nobody sets one."""
    if all(worth_of(plan) is None for plan in plain["alternatives"]):
        return []
    if not counted(plain):
        return ["What backup is worth to the household is no cash, and in no figure of money here nor in any coverage."]
    return [
        "The household counts what backup is worth to it. That is no cash: it is in NPV, rates of return, paybacks, "
        "running totals and chances here, and not in coverage, nor in the saving or anything else that a loan is paid "
        "from."
    ]


def terminal(plain: Plain) -> list[str]:
    """A line for the terminal; none where nobody says what backup is worth."""
    plan = lead(plain)
    if plan is None or worth_of(plan) is None:
        return []
    return [f"What backup is worth: {' '.join(answers(plain))}"]
