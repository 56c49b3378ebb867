"""What a reserve costs, told: the saving that is given up, the hours that it buys, and the knee between them."""

from __future__ import annotations

from typing import Any

from finsolar.report.figures import Table
from finsolar.report.words.amounts import joined, money, per_cent
from finsolar.report.words.changes_told import best_of
from finsolar.report.words.times_told import a_time, ahead_of, amount_of_time, part

Plain = dict[str, Any]


def lead(plain: Plain) -> Plain | None:
    """The alternative whose reserve is told: that of the short answer if it has one to choose, else the first."""
    plans = [plan for plan in plain["alternatives"] if _places(plan)]
    best = best_of(plain)
    return best if best in plans else next(iter(plans), None)


def _places(plan: Plain) -> list[Plain]:
    found = None if plan["outage"] is None else plan["outage"]["reserve"]
    places: list[Plain] = [] if found is None else found.get("places", [])
    return places


def alike(plain: Plain) -> list[tuple[list[str], Plain]]:
    """The alternatives with a reserve to choose, those with the same price of it together, that of `lead` first."""
    found: list[tuple[list[str], Plain]] = []
    for plan in plain["alternatives"]:
        if not _places(plan):
            continue
        names = next((names for names, one in found if one["outage"]["reserve"] == plan["outage"]["reserve"]), None)
        if names is None:
            found.append(([plan["name"]], plan))
        else:
            names.append(plan["name"])
    first = lead(plain)
    return sorted(found, key=lambda group: first is None or first["name"] not in group[0])


def reading(plain: Plain, plan: Plain) -> str:
    """What the household's own reserve saves and carries, and what another would, in a line."""
    currency, found = plain["settings"]["currency"], plan["outage"]["reserve"]
    own, knee, last = found["own"], found["knee"], found["places"][-1]
    amount = money(abs(own["saving"]), currency)
    bill = f"takes {amount} off" if own["saving"] >= 0 else f"adds {amount} to"
    starts = f"nine starts of ten last {_lasts(own, found)}, the worst {_lasts(own, found, 'worst')}"
    if own["worst"] >= found["longest_hours"]:
        starts = f"every start lasts {_lasts(own, found)}"
    told = f"With its reserve of {percent(own)} “{plan['name']}” {bill} the bill of the first year, and {starts}"
    shape = found["shape"]
    if shape == "free":
        why = "costs nothing worth naming here, since on ordinary days the battery earns next to nothing"
        if last["saving"] > found["places"][0]["saving"] + 0.5:
            why = "costs nothing here and even saves, since on ordinary days the battery loses more than it earns"
        if own == last:
            return f"{told}. So large a reserve {why}."
        return (
            f"{told}. A larger reserve {why}: with all of it kept back the bill falls by "
            f"{money(last['saving'], currency)}, and nine of ten last {_lasts(last, found)}."
        )
    if shape == "no longer" and _to_the_end(own, found):
        return f"{told}. A larger reserve is for nothing that is seen here: beyond {_no_further(own, found)}."
    if shape == "no longer":
        return f"{told}. A larger reserve buys no time here: with all of the battery kept back they last no longer."
    now = "" if own["next_hour"] is None else f"; a further hour costs {_an_hour(own['next_hour'], currency)} a year"
    if _to_the_end(own, found) and knee != own:
        now = f"; beyond {_no_further(own, found)}"
    if shape == "straight":
        return f"{told}{now}. The curve has no knee: wherever the reserve stands, a further hour costs about as much."
    if shape == "dear first":
        return f"{told}{now}. The curve has no knee: the first hours cost most, and further ones less and less."
    if knee == own:
        return f"{told}. That is the knee of the curve{_beyond(knee, found, currency)}."
    gap = knee["saving"] - own["saving"]
    gap_told = f"{money(abs(gap), currency)} {'more' if gap > 0 else 'less'}"
    return (
        f"{told}{now}. The knee of the curve is at {percent(knee)}: {gap_told} saved, {_lasts(knee, found)} in nine of "
        f"ten{_beyond(knee, found, currency)}."
    )


def _to_the_end(place: Plain, found: Plain) -> bool:
    """Whether nine starts of ten last as long as was looked, so that more could not be seen."""
    return bool(place["nine_in_ten"] >= found["longest_hours"])


def _no_further(place: Plain, found: Plain) -> str:
    return f"{percent(place)} no further hour is seen within {ahead_of(found['longest_hours'])}"


def _beyond(knee: Plain, found: Plain, currency: str) -> str:
    if _to_the_end(knee, found):
        return f"; beyond {_no_further(knee, found)}"
    cost = knee["next_hour"]
    return "" if cost is None else f", and beyond it {_an_hour(cost, currency)} a year for a further hour"


def explained(plain: Plain) -> list[str]:
    """What the chart of the reserve means, and whom it leaves out, a sentence each."""
    plan = lead(plain)
    if plan is None:
        return []
    currency, found = plain["settings"]["currency"], plan["outage"]["reserve"]
    said = [
        "A reserve is what the battery never gives on ordinary days, so that it is there when the grid fails. For each "
        "reserve the first year was run and billed anew, and failed in each of its hours; what a bill saves is told of "
        "that year alone."
    ]
    if found["shape"] == "knee":
        average = _an_hour(found["average_hour"], currency)
        said.append(
            f"From no reserve to the whole battery an hour costs {average} a year on average. Taken together, the "
            "hours up to the knee cost less than that each, and those beyond it more. What an hour is worth, the "
            "household alone can say."
        )
    if _to_the_end(found["places"][-1], found):
        longest = ahead_of(found["longest_hours"])
        said.append(
            f"No outage is looked at for longer than {longest} (household.outage.longest_hours): where nine starts of "
            "ten last as long, the curve of the hours ends, and a knee there is made by that end."
        )
    reasons: dict[str, list[str]] = {}
    for other in plain["alternatives"]:
        if (why := other["outage"]["reserve"].get("reason")) is not None:
            reasons.setdefault(why, []).append(f"“{other['name']}”")
    return said + [f"No reserve to choose with {joined(names)}: {why}." for why, names in reasons.items()]


def table(plain: Plain, names: list[str], plan: Plain) -> Table:
    """A row for each reserve: what it saves, how long it lasts, what a further hour costs."""
    currency, found = plain["settings"]["currency"], plan["outage"]["reserve"]
    longest, days = found["longest_hours"], found["longest_hours"] >= 24
    rows = []
    for place in found["places"]:
        marks = [word for name, word in (("own", "as planned"), ("knee", "the knee")) if place == found[name]]
        times = [amount_of_time(place[name], longest) for name in ("worst", "nine_in_ten", "half")]
        cost = "–" if place["next_hour"] is None else _an_hour(place["next_hour"], currency)
        rows.append(
            [
                percent(place) + (f" ({joined(marks)})" if marks else ""),
                money(place["saving"], currency),
                *times,
                *([part(place["a_day"])] if days else []),
                cost,
            ]
        )
    return Table(
        caption=f"What each reserve saves and carries: {joined(names)}",
        head=["Reserve", "Saved in the first year", "Worst start", "Nine starts of ten", "Half of all starts",
              *["A day or more"] * days, "A further hour of nine in ten, a year, over the next 10 % of reserve"],
        rows=rows,
    )  # fmt: skip


def percent(place: Plain) -> str:
    """A reserve as per cent: ``20 %``, ``12.5 %``."""
    return per_cent(place["reserve"], 0 if abs(place["reserve"] * 100 - round(place["reserve"] * 100)) < 1e-6 else 1)


def _lasts(place: Plain, found: Plain, which: str = "nine_in_ten") -> str:
    hours = place[which]
    if hours >= found["longest_hours"]:
        return f"{ahead_of(found['longest_hours'])} or longer"
    if hours < 0.05:
        return "no time at all"
    return a_time(hours) if which == "worst" else f"at least {a_time(hours)}"


def _an_hour(cost: float, currency: str) -> str:
    return money(cost, currency, 0 if abs(cost) >= 20 else 2)
