"""How often the grid fails, told: by whose numbers, for how long, and what of it each alternative carries."""

from __future__ import annotations

from typing import Any

from finsolar.report.figures import Table
from finsolar.report.words.amounts import joined, per_cent
from finsolar.report.words.changes_told import best_of
from finsolar.report.words.outage import carried
from finsolar.report.words.times_told import MONTHS, a_time, ahead_of, hours

Plain = dict[str, Any]

HEADING = "How often the grid fails"
STAY = "Staying as you are"
USUAL, STORMS = "Usual outages", "Storms"
NAMES = {"usual": USUAL, "storms": STORMS}
"""The kinds of outages."""

_OWN, _RECORD = "the household", "the record of the country"


def told(plain: Plain) -> bool:
    """Whether the scenario asks what outages are to be expected."""
    return plain["outages"] is not None


def none_expected(plain: Plain) -> bool:
    """Whether the grid is expected never to fail."""
    return plain["outages"] is not None and plain["outages"]["saidi_hours"] == 0


def carrying(plain: Plain) -> list[Plain]:
    """The alternatives for which outages are to be expected."""
    return [plan for plan in plain["alternatives"] if plan["outage"] is not None and plan["outage"]["backup"]]


def lead(plain: Plain) -> Plain | None:
    """The alternative whose backup is told: that of the short answer if it carries anything, else the one with the
    highest NPV of those that do."""
    plans = [plan for plan in carrying(plain) if plan["outage"]["backup"]["a_year"]["hours_carried"] > 0]
    best = best_of(plain)
    return best if best in plans else max(plans, key=lambda plan: float(plan["metrics"]["npv"]), default=None)


def alike(plain: Plain) -> list[tuple[list[str], Plain]]:
    """What each alternative carries, those that carry the same together: their names, and the expectation of them."""
    found: list[tuple[list[str], Plain]] = []
    for plan in carrying(plain):
        own = plan["outage"]["backup"]
        names = next((names for names, other in found if _same(other, own)), None)
        if names is None:
            found.append(([plan["name"]], own))
        else:
            names.append(plan["name"])
    return found


def _same(one: Plain, other: Plain) -> bool:
    drawn = [(each["drawn"] or {}).get("hours_not_carried") for each in (one, other)]
    return bool(one["a_year"] == other["a_year"] and drawn[0] == drawn[1])


def _number(number: float) -> str:
    """Hours and kWh to one digit."""
    return "under 0.1" if 0 < number < 0.05 else f"{number:,.1f}" if number else "0"


def times(number: float) -> str:
    """How often a year: ``about 1.2 times a year``, ``about once in 7 years``, ``about once in 1.5 years``."""
    if number <= 0:
        return "never"
    if number < 0.67:
        years = 1 / number
        return f"about once in {f'{years:.1f}'.removesuffix('.0') if years < 2.95 else f'{years:,.0f}'} years"
    text = f"{number:,.0f}" if number >= 10 else f"{number:.1f}".removesuffix(".0")
    return f"about {'once' if text == '1' else f'{text} times'} a year"


def likely(drawn: Plain | None, key: str) -> str:
    """Between which hours or kWh a figure likely lies, as the end of a sentence; nothing where nothing was drawn.

    Hours go without their unit, which the figure has, unless one of the two is told in minutes.
    """
    if not drawn or drawn[key]["p90"] - drawn[key]["p10"] < 0.05:
        return ""
    low, high = (drawn[key][name] if drawn[key][name] >= 0.05 else 0.0 for name in ("p10", "p90"))
    in_minutes = key.startswith("hours") and any(0 < each < 0.95 for each in (low, high))
    told = [hours(each) if in_minutes and each else _number(each) for each in (low, high)]
    return f", likely between {told[0]} and {told[1]}"


def often(plain: Plain) -> str | None:
    """How often the grid fails and for how long, in a sentence of words of ours alone; none where nothing is known."""
    found = plain["outages"]
    if found is None or found["saifi"] is None:
        return None
    plans = carrying(plain)
    span = likely(plans[0]["outage"]["backup"]["drawn"], "hours") if plans else ""
    if none_expected(plain):
        return f"No outages are to be expected here{_beyond_the_middle(span)}."
    each = "" if found["caidi_hours"] is None else f" and to stay away for {a_time(found['caidi_hours'])} on average"
    return (
        f"The grid is expected to fail {times(found['saifi'])}{each}: {hours(found['saidi_hours'])} a year without "
        f"it{span}; it is there {per_cent(found['availability'], 2)} of the time."
    )


def _beyond_the_middle(span: str) -> str:
    """That outages are to be expected all the same at the ends of their ranges; nothing where none are."""
    unit = "" if span.endswith(("minutes", "minute", "hours", "hour")) else " hours"
    return span and f" at the middle of their ranges{span}{unit} a year"


def answers(plain: Plain) -> list[str]:
    """What of the hours without the grid is carried, or why nothing can be said of them."""
    found, plans = plain["outages"], carrying(plain)
    if found is None:
        return []
    if found["saifi"] is None:
        stated = plain["scenario"]["household"]["outage"]
        unused = any(stated.get(name) for name in ("worth", "losses", "instead"))
        then = " So what you say backup is worth is not used." * unused
        return [f"How often the grid fails is not told, since {found['reason']}.{then}"]
    if not plans or none_expected(plain):
        return []
    plan = lead(plain)
    if plan is None:
        return ["None of the alternatives carries any of that: the house is dark as long as the grid is away."]
    own = plan["outage"]["backup"]
    year, drawn = own["a_year"], own["drawn"]
    carries, kwh = year["hours_carried"], ""
    if year["kwh"] >= 0.05:
        kwh = f", and {_number(year['kwh_carried'])} of the {_number(year['kwh'])} kWh that are wanted in them"
    return [
        f"“{plan['name']}” carries {hours(carries) if carries < 0.95 else _number(carries)} of these hours{kwh}; for "
        f"{hours(year['hours_not_carried'])} a year the house stays dark{likely(drawn, 'hours_not_carried')}."
    ]


def explained(plain: Plain) -> list[str]:
    """By whose numbers, what the mean hides, and what does not count as carried, a sentence each."""
    found, plan = plain["outages"], lead(plain)
    if found is None or found["saifi"] is None or none_expected(plain):
        return []
    said = [*_whose(found["kinds"]), *_hidden(found["kinds"])]
    if plan is not None:
        longest = plan["outage"]["endurance"]["longest_hours"]
        said += [
            f"Wanted is what is to be carried then: {carried(plain, plan)}. Beyond {ahead_of(longest)} of one outage "
            "nothing counts as carried, whatever is left.",
            "Told is the first year; as the battery wears, it carries less.",
            "The sun is that of the weather’s year: while a storm lasts there is less of it, so what is carried then "
            "is told on the high side.",
        ]
    return said


def _whose(kinds: list[Plain]) -> list[str]:
    """Who says how often each kind comes."""
    taken = [each for each in kinds if each["assumed"]]
    own = [each for each in kinds if not each["assumed"]]
    said = []
    for source in dict.fromkeys(each["source"] for each in taken):
        names = joined([_plural(each) for each in taken if each["source"] == source])
        said.append(
            f"{names[0].upper()}{names[1:]} are those of the record of the country ({source}), an average of all its "
            "customers: a street may have half of them, or many times as many."
        )
    if own:
        names = joined([_plural(each) for each in own])
        said.append(f"{names[0].upper()}{names[1:]} are the household’s own.")
    return said


def _plural(kind: Plain) -> str:
    when = "" if kind["months"] is None else f" ({months_told(kind['months'])})"
    return {"usual": "the usual outages", "storms": "the outages by storm"}[kind["kind"]] + when


def months_told(months: list[int]) -> str:
    """Months in words, also over the end of a year: ``June to November``, ``March, July and August``."""
    runs = [
        month for month in months if (month - 2) % 12 + 1 not in months
    ]  # a month whose forerunner is not among them begins a run
    told = []
    for first in runs:
        last = first
        while last % 12 + 1 in months:
            last = last % 12 + 1
        together = (last - first) % 12
        names = MONTHS[first - 1], MONTHS[last - 1]
        told += [names[0]] if not together else [" to ".join(names)] if together > 1 else list(names)
    return joined(told or ["all months"])


def _hidden(kinds: list[Plain]) -> list[str]:
    """That a mean length stands for many short outages and a few long ones."""
    spread = [each for each in kinds if each["spread"] > 0]
    if not spread:
        return []
    each = max(spread, key=lambda kind: float(kind["hours_each"]))
    what = _plural(each | {"months": None})
    return [
        f"A mean hides how they come: half of {what} are over within {hours(each['half_over_in'])}, and the longest "
        f"tenth makes {per_cent(each['hours_of_longest_tenth'], 0)} of the hours."
    ]


def kinds_table(plain: Plain) -> Table:
    """Each kind of outages: how often, how long, and who says so; then all together."""
    found, plans = plain["outages"], carrying(plain)
    hours_of = {each["kind"]: each["hours"] for each in plans[0]["outage"]["backup"]["kinds"]} if plans else {}
    rows = [
        [
            NAMES[each["kind"]],
            f"{each['times_a_year']:.3g}",
            _number(each["hours_each"]),
            _number(hours_of[each["kind"]]) if each["kind"] in hours_of else "–",
            per_cent(each["spread"], 0),
            "all" if each["months"] is None else months_told(each["months"]),
            _RECORD if each["assumed"] else _OWN,
        ]
        for each in found["kinds"]
    ]
    each = "–" if found["caidi_hours"] is None else _number(found["caidi_hours"])
    return Table(
        caption="The outages to expect in a year, at the middle of their ranges",
        head=["", "Times a year (SAIFI)", "Hours each (CAIDI)", "Hours a year (SAIDI)", "Spread of the lengths",
              "Months", "Who says so"],
        rows=rows,
        foot=["Together", f"{found['saifi']:.3g}", each, _number(found["saidi_hours"]), "", "", ""],
    )  # fmt: skip


def carried_table(plain: Plain) -> Table:
    """What staying and each alternative carry of it, with the likely range where cases were drawn."""
    groups = alike(plain)
    drawn = any(own["drawn"] for _, own in groups)

    def span(own: Plain, key: str) -> list[str]:
        if not drawn:
            return []
        return [f"{_number(own['drawn'][key]['p10'])} to {_number(own['drawn'][key]['p90'])}"]

    year = groups[0][1]["a_year"]
    none = [_number(year["hours"]), *span(groups[0][1], "hours"), "0", _number(year["kwh"]),
            *span(groups[0][1], "kwh")]  # fmt: skip
    rows = [[STAY, "0", *none]]
    for names, own in groups:
        year = own["a_year"]
        rows.append(
            [
                joined(names),
                _number(year["hours_carried"]),
                _number(year["hours_not_carried"]),
                *span(own, "hours_not_carried"),
                _number(year["kwh_carried"]),
                _number(year["kwh_not_carried"]),
                *span(own, "kwh_not_carried"),
            ]
        )
    dark, vain = ["Dark, P10 to P90"] * drawn, ["In vain, P10 to P90"] * drawn
    return Table(
        caption="Hours and kWh of the first year while the grid is down",
        head=["", "Hours carried", "Hours in the dark", *dark, "kWh carried", "kWh wanted in vain", *vain],
        rows=rows,
    )


def terminal(plain: Plain) -> list[str]:
    """A line for the terminal; none where the scenario does not ask."""
    said = [each for each in (often(plain), *answers(plain)) if each]
    return [f"{HEADING}: {' '.join(said)}"] if said else []
