"""When the grid is down, told: the load test on paper and how long the house lasts, in sentences and tables."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from finsolar.energy.load_test import ADDED, CARRIED, LEFT_OFF
from finsolar.report.figures import Table
from finsolar.report.words.amounts import joined, per_cent
from finsolar.report.words.changes_told import best_of
from finsolar.report.words.times_told import (
    ALL,
    AS_PLANNED,
    CAUTIONS,
    a_time,
    ahead_of,
    amount_of_time,
    counted_watts,
    day_and_hour,
    for_a_time,
    in_short,
    months_in_words,
    part,
    way_in_words,
)
from finsolar.scenario.problems import printable

__all__ = ["CAUTIONS"]

Plain = dict[str, Any]


def told(plain: Plain) -> bool:
    """Whether outages were looked into."""
    return all(plan["outage"] is not None for plan in plain["alternatives"])


def to_tell(plain: Plain) -> bool:
    """Whether the section has something to tell: where the house has a grid today, where outages are asked about, or
    where some alternative carries something."""
    return told(plain) and (
        "tariff" in plain["scenario"]
        or plain["outages"] is not None
        or any(
            plan["outage"][part] is not None for plan in plain["alternatives"] for part in ("load_test", "endurance")
        )
    )


def lead(plain: Plain, part: str) -> Plain | None:
    """The alternative that the section speaks of: that of the short answer if it has the part, else the first."""
    plans = [plan for plan in plain["alternatives"] if plan["outage"][part] is not None]
    best = best_of(plain)
    return best if best in plans else next(iter(plans), None)


def alike(plain: Plain, part: str) -> list[tuple[list[str], Plain]]:
    """The alternatives that have a part, those with the same one together: their names, and the first of them."""
    found: list[tuple[list[str], Plain]] = []
    for plan in plain["alternatives"]:
        own = plan["outage"][part]
        if own is None:
            continue
        names = next((names for names, other in found if other["outage"][part] == own), None)
        if names is None:
            found.append(([plan["name"]], plan))
        else:
            names.append(plan["name"])
    return found


def answers(plain: Plain) -> list[str]:
    """How long the house lasts, in sentences that can be repeated."""
    plan = lead(plain, "endurance")
    if plan is None:
        return []
    lasts, load = plan["outage"]["endurance"], carried(plain, plan)
    worst, longest = lasts["worst_start"], lasts["longest_hours"]
    nine, half = for_a_time(lasts["nine_in_ten"]), for_a_time(lasts["half"])
    often = f"{nine} in nine cases of ten, and {half} in half of them"
    if nine == half:
        often = f"{nine} in nine cases of ten" if lasts["half"] >= 0.05 else f"{half} in half of all cases or more"
    said = [f"If the grid fails in some hour of the year, “{plan['name']}” carries {load} {often}."]
    if worst["hours"] >= longest:
        return [*said, f"Even from the worst start it lasts {ahead_of(longest)}, and no longer was looked at."]
    others, held = worst["as_short"] - 1, f", with {worst['stored_kwh']:.1f} kWh in the battery" * lasts["has_battery"]
    more = f"; {others:,} other start{'s are' if others > 1 else ' is'} as short" if others else ""
    when = day_and_hour(worst["day_of_year"], worst["hour"])
    return [*said, f"The worst start is {when}{held}: it lasts {a_time(worst['hours'])}{more}."]


def carried(plain: Plain, plan: Plain) -> str:
    """What is carried, in words."""
    load = plan["outage"]["carried"]
    stated = plain["scenario"]["household"].get("outage", {})
    daily = f"({load['kwh_a_day']:.1f} kWh a day)"
    return {
        "all": f"{ALL} {daily}",
        "share": f"{per_cent(stated.get('load_share', 0.0), 0)} of what the house uses {daily}",
        "steady": f"a steady {stated.get('load_kw', 0.0):g} kW {daily}",
        "appliances": f"the appliances on backup {daily}",
    }[load["by"]]


def explained(plain: Plain) -> list[str]:
    """What was assumed of an outage, a sentence each."""
    plan = lead(plain, "endurance")
    if plan is None:
        return []
    said = []
    if plan["outage"]["carried"]["by"] == "all":
        said.append(
            "Nothing was said of what is carried then (household.outage), so it is all that the house uses, as on any "
            "other day."
        )
    elif plan["outage"]["carried"]["by"] != "appliances" and lead(plain, "load_test") is not None:
        said.append(
            "Appliances are listed too: the load test is of those on backup alone, all else here is of "
            f"{carried(plain, plan)}."
        )
    lasts = plan["outage"]["endurance"]
    said.append(
        "Each of the 8,760 hours of the first year is a start, and carried means that nothing is shed: told is the "
        "time until the first lack."
    )
    if lasts["has_battery"]:
        said.append(
            "The battery holds what its daily running has left in it at that hour, and the reserve may be used to the "
            "last kWh, since it was kept for this. The sun is that of the days that follow in the weather’s year; days "
            "of storm are duller, so none at all stands among the other ways."
        )
    else:
        said.append("A generator carries it alone: without a battery nothing makes a grid for the modules.")
    if not lasts["fuel_litres"] and plain["scenario"]["household"].get("outage", {}).get("fuel_litres"):
        said.append("Fuel is said to lie ready, but there is no generator to burn it.")
    if lasts["highest_kw"] > lasts["limit_kw"] + 1e-9:
        said.append(
            f"Caution: at its highest the load is {lasts['highest_kw'] - lasts['limit_kw']:.1f} kW more than the "
            f"{lasts['limit_kw']:g} kW that carry it; what the sun does not give in such an hour is shed at once."
        )
    if lasts["fuel_litres"]:
        said.append(
            f"A generator with {lasts['fuel_litres']:g} litres fills what sun and battery leave open, and does not "
            "charge; run hard and charging, the same fuel goes further."
        )
    return said


def why_not(plain: Plain) -> list[str]:
    """Why an alternative has no load test or lasts no time, once each with the names."""
    found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
    for plan in plain["alternatives"]:
        reasons = plan["outage"]["reasons"]
        for why in dict.fromkeys(reasons.values()):
            parts = tuple(part for part, other in reasons.items() if other == why)
            found.setdefault((why, parts), []).append(plan["name"])
    missing = {"load_test": "no load test", "endurance": "no time that it lasts"}
    said = []
    for (why, parts), names in found.items():
        named = "" if len(names) == len(plain["alternatives"]) else f"{joined([f'“{name}”' for name in names])}: "
        text = f"{named}{' and '.join(missing[part] for part in parts)}, since {why}."
        said.append(text[0].upper() + text[1:])
    return said


def times(plain: Plain) -> Table:
    """A row for each way to go that lasts: what the battery holds, and how long it carries."""
    groups = alike(plain, "endurance")
    longest = groups[0][1]["outage"]["endurance"]["longest_hours"]
    rows = []
    for names, plan in groups:
        lasts = plan["outage"]["endurance"]
        rows.append([joined(names), f"{lasts['battery_kwh']:.1f}", *_times(lasts, longest)])
    return Table("How long each alternative carries it", ["", "Battery, kWh", *_heads(longest)], rows)


def other_ways(plain: Plain) -> list[tuple[str, Table]]:
    """The house as it is and in each other way, a table for each way to go, that of the section's own first."""
    first = lead(plain, "endurance")
    groups = sorted(alike(plain, "endurance"), key=lambda group: first is None or first["name"] not in group[0])
    found = []
    for names, plan in groups:
        lasts = plan["outage"]["endurance"]
        longest, name = lasts["longest_hours"], joined(names)
        rows = [[AS_PLANNED, *_times(lasts, longest)]]
        rows += [[way_in_words(each), *_times(each, longest)] for each in lasts["variants"]]
        found.append((name, Table(f"What would change it: {name}", ["", *_heads(longest)], rows)))
    return found


def _times(figures: Plain, longest: float) -> list[str]:
    times = [amount_of_time(figures[name], longest) for name in ("worst", "nine_in_ten", "half")]
    shares = [] if figures["a_day"] is None else [part(figures["a_day"])]
    return [*times, *shares, part(figures["to_the_end"])]


def _heads(longest: float) -> list[str]:
    """The heads of the columns of times."""
    a_day = ["A day or more"] * (longest >= 24)
    return ["Worst start", "Nine starts of ten", "Half of all starts", *a_day, f"{in_short(longest)} or more"]


def season_names(lasts: Plain) -> list[str]:
    """The seasons of the curves, by their months."""
    return [months_in_words(season["months"]) for season in lasts["seasons"]]


def load_test_sentences(test: Plain) -> list[str]:
    """What the load test finds, and what could be added or must be left off."""
    rating, running, starting = test["rating"], test["running_watts"], test["starting_watts"]
    steady = counted_watts(test["steady_watts"])
    asks = f"All that is on backup draws {steady} on average and {counted_watts(running)} at worst"
    if starting > running:
        asks += f", {counted_watts(starting)} while the largest of it starts"
    limits = f"the {rating['of']} gives {counted_watts(rating['watts'])} for long"
    if rating["short_time_stated"]:
        limits += f" and {counted_watts(rating['short_time_watts'])} for a start"
    said = [f"{asks}; {limits}."]
    off = [each for each in test["circuits"] if each["verdict"] == LEFT_OFF]
    added = [each for each in test["circuits"] if each["verdict"] == ADDED]
    beyond = [each for each in test["circuits"] if each["verdict"] not in {CARRIED, LEFT_OFF, ADDED}]
    if test["fits"]:
        said.append(f"All of it may run at once, with {counted_watts(rating['watts'] - running)} to spare.")
    else:
        said += over(test)
    if off:
        kept = [each for each in test["circuits"] if each["verdict"] == CARRIED]
        onto = f"In the order of the list, move {_named(kept)} to the backed-up panel and leave off" if kept else ""
        said.append(f"{onto or 'Leave off'} {_named(off)}.")
    if added:
        whose = " of what people usually add" if added[0]["usual"] else ""
        said.append(f"There is room{whose} for {_named(added)}, added one after another.")
    if beyond:
        said.append(f"Too much on top of that: {_named(beyond)}.")
    if not rating["short_time_stated"]:
        said.append("No short-time rating was stated, so a start is held against what is carried for long.")
    return said


def over(test: Plain) -> list[str]:
    """By how much the appliances on backup ask too much; nothing if they do not."""
    rating = test["rating"]
    running, starting = test["running_watts"] - rating["watts"], test["starting_watts"] - rating["short_time_watts"]
    if test["fits"]:
        return []
    if running > 0:
        return [f"Caution: running all at once, that is {counted_watts(running)} more than the {rating['of']} carries."]
    beyond = f"{counted_watts(starting)} more than the {rating['of']} gives for a short time"
    return [f"Caution: the largest start asks {beyond}."]


def _named(circuits: Iterable[Plain]) -> str:
    return joined([f"“{each['item']}” ({counted_watts(each['watts'])})" for each in circuits])


def circuit_table(test: Plain) -> Table:
    """Each circuit with its watts, what its start takes beyond, the sums with it, and what becomes of it."""
    return Table(
        caption="Circuit by circuit, in the order in which they are put on the backed-up panel",
        head=[
            "Circuit",
            "Running, W",
            "Its start beyond, W",
            "Sum running, W",
            "Sum with the largest start, W",
            "Verdict",
        ],
        rows=[
            [
                each["item"],
                f"{each['watts']:,.0f}",
                f"{each['start_watts']:,.0f}" if each["start_watts"] else "",
                f"{each['running_watts']:,.0f}",
                f"{each['starting_watts']:,.0f}",
                each["verdict"] + (" (common practice, no source)" if each["usual"] else ""),
            ]
            for each in test["circuits"]
        ],
    )


def tests(plain: Plain) -> Table | None:
    """The load test against what carries each alternative; none where they are all carried alike."""
    groups = alike(plain, "load_test")
    if len(groups) < 2:
        return None
    rows = []
    for names, plan in groups:
        test = plan["outage"]["load_test"]
        rating = test["rating"]
        asks = [test["running_watts"], rating["watts"], test["starting_watts"], rating["short_time_watts"]]
        rows.append([joined(names), *(f"{watts:,.0f}" for watts in asks), "all fits" if test["fits"] else "too much"])
    heads = ["", "Running, W", "Carried for long, W", "Largest start, W", "Carried for a start, W", "Verdict"]
    return Table("The load test of each alternative", heads, rows)


def terminal(plain: Plain) -> list[str]:
    """Two or three lines for the terminal; none where outages were not looked into."""
    if not told(plain):
        return []
    lines = [f"When the grid is down: {each}" if k == 0 else each for k, each in enumerate(answers(plain))]
    tested = lead(plain, "load_test")
    if tested is not None:
        test = tested["outage"]["load_test"]
        lines.append(f"Load test on paper: {' '.join(load_test_sentences(test)[:2])}")
    return [printable(line.replace("\N{WORD JOINER}", ""), 1000) for line in lines]
