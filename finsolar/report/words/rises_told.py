"""What is said of price rises: the rise of this study, history, and paybacks; and the tables behind their charts."""

from __future__ import annotations

from itertools import groupby
from typing import Any

from finsolar.report.figures import Table
from finsolar.report.words.amounts import joined, money, per_cent, span, years_long, years_told

Plain = dict[str, Any]

KNOWN = {"seen": "read", "memory": "from memory"}


def window(history: Plain, kind: str) -> Plain:
    """One of the windows of a history by its kind."""
    found: Plain = next(each for each in history["windows"] if each["kind"] == kind)
    return found


def own_sentence(sweep: Plain) -> str:
    """The rise that this study reckons with, and how it is marked."""
    own = sweep["own"]
    if own is None:
        return f"This study has no single rise to mark: {sweep['reasons']['own']}."
    likely = ""
    if own["p10"] is not None:
        likely = f", likely between {per_cent(own['p10'])} and {per_cent(own['p90'])}"
    beyond = "" if shown(sweep, own["central"]) else ", which lies beyond this chart"
    return f"This study reckons with {per_cent(own['central'])} a year{likely}{beyond}."


def shown(sweep: Plain, rise: float) -> bool:
    """Whether a rise lies among those of the sweep."""
    return bool(sweep["values"][0] <= rise <= sweep["values"][-1])


def history_sentence(sweep: Plain) -> str:
    """How the price of electricity rose before now, by whose count; or why nothing is said of it."""
    history = sweep["history"]
    if history is None:
        return f"History is not marked: {sweep['reasons']['history']}."
    ten, twenty, slow, fast = (
        per_cent(window(history, kind)["rises"]["price"])
        for kind in ("last ten years", "last twenty years", "slowest ten years", "fastest ten years")
    )
    price = history["series"][0]
    first, last = price["quotes"][0]["year"], price["quotes"][-1]["year"]
    recalled = ", in part from memory" if any(quote["known"] == "memory" for quote in price["quotes"]) else ""
    return (
        f"In {history['where']} the average price of electricity for households rose by {ten} a year over the ten "
        f"years to {last} and by {twenty} over the twenty; in the slowest ten years since {first} by {slow}, in the "
        f"fastest by {fast} ({price['publisher']}{recalled}). The past promises nothing, least of all for one utility."
    )


def payback_sentences(sweep: Plain, years: int) -> list[str]:
    """At which rises each alternative is paid back for good within the study, and after how long."""
    always: list[str] = []
    sometimes: list[str] = []
    never: list[str] = []
    for plan in sweep["alternatives"]:
        name, back = f"“{plan['name']}”", plan["simple_payback"]
        found = _stretches(sweep["values"], back)
        if not found:
            never.append(name)
        else:
            (always if None not in back else sometimes).append(f"{name} {joined(found)}")
    told = []
    if always:
        told.append(f"Paid back for good at every rise shown: {'; '.join(always)}.")
    if sometimes:
        told.append(f"Paid back for good at some rises only: {'; '.join(sometimes)}.")
        within = years_told(years)
        told.append(f"Where a line is missing, the outlay does not come back for good within {within}.")
    if never:
        are = "is" if len(never) == 1 else "are"
        told.append(f"{joined(never)} {are} not paid back within {years_told(years)} at any rise shown.")
    return told


def _stretches(rises: list[float], back: list[float | None]) -> list[str]:
    """Each unbroken row of rises with a payback, from the one end to the other."""
    found = []
    for missing, group in groupby(zip(rises, back, strict=True), key=lambda pair: pair[1] is None):
        row = [f"{per_cent(rise, 0)} ({years_long(years)})" for rise, years in group if years is not None]
        if not missing:
            found.append(f"at {row[0]}" if len(row) == 1 else f"from {row[0]} to {row[-1]}")
    return found


def npv_table(sweep: Plain, currency: str) -> Table:
    """NPV of each alternative by rise."""
    plans = sweep["alternatives"]
    return Table(
        caption="NPV by yearly rise of the price of energy",
        head=["Rise", *(plan["name"] for plan in plans)],
        rows=[
            [per_cent(rise, 0), *(money(plan["npv"][k], currency) for plan in plans)]
            for k, rise in enumerate(sweep["values"])
        ],
    )


def payback_table(sweep: Plain) -> Table:
    """Simple and discounted payback of each alternative by rise."""
    kinds = (("simple", "simple_payback"), ("discounted", "discounted_payback"))
    return Table(
        caption="Years until paid back for good, by yearly rise of the price of energy",
        head=["Rise", *(f"{plan['name']}: {kind}" for plan in sweep["alternatives"] for kind, _ in kinds)],
        rows=[
            [
                per_cent(rise, 0),
                *(span(plan[key][k]) for plan in sweep["alternatives"] for _, key in kinds),
            ]
            for k, rise in enumerate(sweep["values"])
        ],
    )


def history_tables(sweep: Plain) -> tuple[Table, ...]:
    """What rises were before now, and the numbers they are worked out from; none without a history."""
    history = sweep["history"]
    return () if history is None else (_rise_table(history), _quote_table(history))


def _rise_table(history: Plain) -> Table:
    series = history["series"]
    changes = series[0]["changes"]
    span = f"{changes['first']} to {changes['last']}"
    return Table(
        caption=f"How fast prices rose in {history['where']}, a year, in the money of the day",
        head=["", *(one["title"] for one in series), "Electricity beyond all items"],
        rows=[
            [
                f"{each['kind'].capitalize()}, {each['first']} to {each['last']}",
                *(per_cent(each["rises"][one["name"]], 2) for one in series),
                per_cent(each["real"], 2),
            ]
            for each in history["windows"]
        ]
        + [
            [f"{what}, {span}", *(per_cent(one["changes"][key], 2) for one in series), "–"]
            for what, key in (
                ("Mean of the yearly changes", "mean"),
                ("Standard deviation of the yearly changes", "sd"),
            )
        ],
    )


def _quote_table(history: Plain) -> Table:
    price, *indices = history["series"]
    used = {quote["year"]: quote for quote in price["quotes"]}
    why = {gap["year"]: gap["why"] for gap in price["missing"]}
    rows = []
    for year in sorted(used.keys() | why.keys()):
        quote = used.get(year)
        rows.append(
            [
                str(year),
                "–" if quote is None else f"{quote['value']:.2f}",
                why[year] if quote is None else f"{KNOWN[quote['known']]}, {quote['vintage']}",
                "; ".join(
                    f"{other['value']:g} ({other['vintage']}, {KNOWN[other['known']]})"
                    for other in price["others"]
                    if other["year"] == year
                ),
                *(_index(one, year) for one in indices),
            ]
        )
    sources = ". ".join(f"{one['title']}: {one['publisher']}, {one['source']}" for one in history["series"])
    return Table(
        caption=f"The yearly averages behind this. {sources}",
        head=["Year", f"{price['title']}, {price['unit']}", "Known how", "Other prints, not used"]
        + [f"{one['title']}, {one['unit']}" for one in indices],
        rows=rows,
    )


def _index(series: Plain, year: int) -> str:
    found = [quote["value"] for quote in series["quotes"] if quote["year"] == year]
    return f"{found[0]:.1f}" if found else "–"
