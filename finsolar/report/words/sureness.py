"""What many cases say, told: chances out of a hundred, what is likely, what was drawn, and what would change it."""

from __future__ import annotations

from typing import Any

from finsolar.report.figures import Table
from finsolar.report.words.amounts import figure, joined, money, per_cent, span
from finsolar.report.words.changes_told import best_of
from finsolar.report.words.ranges_told import measured
from finsolar.report.words.terms import METRIC_ROWS

Plain = dict[str, Any]

PERCENTILES = (
    "P10 is the value below which one case in ten lies, P50 the one below which half of them lie, P90 the one below "
    "which nine in ten lie. What lies between P10 and P90 is called likely here."
)

CHANCES = {
    "npv_above_zero": "You are better off than by staying as you are (NPV above zero)",
    "paid_back_within_study": "It is paid back within the study",
    "paid_back_within_warranty": "It is paid back before the battery’s warranty ends",
    "paid_back_within_loan": "It is paid back before the loan is repaid",
    "paid_back_while_they_stay": "It is paid back while you stay in the house",
}
"""What is asked of every case, in the order shown; paybacks are simple ones, for good."""

FIGURES = {
    "npv": ("NPV", "money"),
    "simple_payback": ("Simple payback, for good", "years"),
    "discounted_payback": ("Discounted payback, for good", "years"),
    "irr": ("IRR", "share"),
    "first_year_saving": ("Saving in year 1", "money"),
    "lcoe": (next(name for key, name, _ in METRIC_ROWS if key == "lcoe"), "price"),
}
"""What is kept of every case, in the order shown, and how it is written."""

FIRST_SHOWN = ("npv", "simple_payback")

_FAR = 0.1  # of the span from P10 to P90; common practice, no source


def of_hundred(share: float) -> str:
    """A share of the cases as people say it, never surer than it is: ``83 of 100``, ``fewer than 1 of 100``."""
    if share in (0, 1):
        return "every case" if share else "no case"
    count = round(100 * share)
    if count in (0, 100):
        return "more than 99 of 100" if count else "fewer than 1 of 100"
    return f"{count} of 100"


def futures_sentence(plain: Plain) -> str | None:
    """How many futures leave the household better off with the alternative of the short answer; none if none drawn."""
    found = plain["uncertainty"]
    if found is None:
        return None
    best = best_of(plain)["name"]
    share = _cases(plain, best)["chances"]["npv_above_zero"]["share"]
    than = f"better off with “{best}” than by staying as you are"
    if share in (0, 1):
        which = "every one" if share else "none"
        leaves = "leaves" if share else "leave"
        return f"Of {found['draws']:,} futures drawn from the ranges of the scenario, {which} {leaves} you {than}."
    count = of_hundred(share).removesuffix(" of 100")
    leave = "leaves" if count in {"1", "fewer than 1"} else "leave"
    return f"Of {found['draws']:,} futures drawn from the ranges of the scenario, {count} in 100 {leave} you {than}."


def varied_sentence(plain: Plain) -> str:
    """What differs between the futures drawn, so that nobody takes them for all that may come; ranges of outages and of
    what they are worth only where they are counted."""
    names = [one["words"] for one in plain["uncertainty"]["inputs"] if not one["apart"]]
    return f"In the futures drawn only what the scenario gives as a range differs: {joined(names)}."


def middle_sentences(plain: Plain) -> list[str]:
    """Which alternatives do worse or better in most futures than the study of middle values says, and by how much.

    Told where the study's own NPV lies further from P50 than a tenth of the way from P10 to P90.
    """
    currency, told = plain["settings"]["currency"], []
    for plan in plain["alternatives"]:
        npv, own = _cases(plain, plan["name"])["figures"]["npv"], plan["metrics"]["npv"]
        if abs(own - npv["p50"]) > _FAR * (npv["p90"] - npv["p10"]):
            side = "below" if npv["p50"] < own else "above"
            told.append(
                f"“{plan['name']}”: the study, with every range at its middle, finds an NPV of {money(own, currency)}; "
                f"half of the futures lie {side} {money(npv['p50'], currency)}, and their mean is "
                f"{money(npv['mean'], currency)}. Trust the futures more."
            )
    return told


def _cases(plain: Plain, name: str) -> Plain:
    found: Plain = next(one for one in plain["uncertainty"]["alternatives"] if one["name"] == name)
    return found


def figure_table(plain: Plain, key: str) -> Table:
    """One figure of each alternative: mean, P10, P50, P90, and in how many cases there is none."""
    currency, kind = plain["settings"]["currency"], FIGURES[key][1]
    rows = []
    for one in plain["uncertainty"]["alternatives"]:
        found = one["figures"][key]
        numbers = [_figure(found[each], kind, currency) for each in ("mean", "p10", "p50", "p90")]
        rows.append([one["name"], *numbers, of_hundred(found["none"]) if found["none"] else "–"])
    return Table(
        caption=f"{FIGURES[key][0]}, over all cases",
        head=["", "Mean", "P10", "P50", "P90", "Without"],
        rows=rows,
    )


def error_table(plain: Plain) -> Table:
    """The NPV of each alternative with the standard errors that the draws leave."""
    currency = plain["settings"]["currency"]

    def sure(npv: Plain, key: str) -> str:
        error = npv["error" if key == "mean" else f"{key}_error"]
        text = money(npv[key], currency)
        return text if error is None else f"{text} ± {money(error, currency, 0 if error >= 10 else 2)}"

    return Table(
        caption="NPV, each with its standard error: how far another seed would take it",
        head=["", "Mean", "P10", "P50", "P90"],
        rows=[
            [one["name"], *(sure(one["figures"]["npv"], key) for key in ("mean", "p10", "p50", "p90"))]
            for one in plain["uncertainty"]["alternatives"]
        ],
    )


def _figure(number: float | None, kind: str, currency: str) -> str:
    return span(number) if kind == "years" else figure(number, kind, currency)


def chance_table(plain: Plain) -> Table:
    """What is asked, and the answer of each alternative; questions that none can answer are left out."""
    plans = plain["uncertainty"]["alternatives"]

    def answer(chance: Plain | None) -> str:
        return "–" if chance is None else of_hundred(chance["share"])

    return Table(
        caption="In how many of the cases drawn",
        head=["", *(one["name"] for one in plans)],
        rows=[
            [words, *(answer(one["chances"][key]) for one in plans)]
            for key, words in CHANCES.items()
            if any(one["chances"][key] is not None for one in plans)
        ],
    )


def unanswered(plain: Plain) -> list[str]:
    """Why a question has no answer, a sentence for each question and reason."""
    told: dict[tuple[str, str], list[str]] = {}
    plans = plain["uncertainty"]["alternatives"]
    for one in plans:
        for key, why in one["reasons"].items():
            told.setdefault((key, why), []).append(f"“{one['name']}”")
    return [
        f"{CHANCES[key]}: no answer{'' if len(names) == len(plans) else ' for ' + joined(names)}, since {why}."
        for (key, why), names in told.items()
    ]


def enough_sentences(plain: Plain) -> list[str]:
    """Whether the draws suffice; alternatives of which the same is to be said share it."""
    told: dict[str, list[str]] = {}
    plans = plain["uncertainty"]["alternatives"]
    for one in plans:
        told.setdefault(one["enough"], []).append(f"“{one['name']}”")
    if len(told) == 1:
        return [f"{enough[0].upper()}{enough[1:]}." for enough in told]
    return [f"{joined(names)}: {enough}." for enough, names in told.items()]


def stated(one: Plain) -> str:
    """A range as the scenario states it, or as the record of the country does."""
    return f"{one['stated']}, from the record of the country" if one["recorded"] else str(one["stated"])


def drawn_table(plain: Plain) -> Table:
    """Each range that was drawn: what it is, as stated or on record, its P10 and its P90."""
    currency = plain["settings"]["currency"]
    return Table(
        caption="The ranges that were drawn",
        head=["Range", "As stated", "P10", "P90"],
        rows=[
            [capital(one["words"]), stated(one), *(measured(one[p], one["unit"], currency) for p in ("p10", "p90"))]
            for one in plain["uncertainty"]["inputs"]
        ],
    )


def drawn_sentences(plain: Plain) -> list[str]:
    """How the ranges were drawn: how often, by which seed, which are tied together, and how their hours came."""
    found = plain["uncertainty"]
    names = {one["name"]: one["words"] for one in found["inputs"]}
    told = [
        f"The ranges were drawn {found['draws']:,} times by seed {found['seed']}, evenly over all of them together; "
        "the same seed draws the same cases. The study’s own figures take each at its middle, which need not be the "
        "mean of what may come.",
        "Only what the scenario gives as a range is uncertain here; every other number is taken for certain.",
    ]
    ties = [f"{names[one]} with {names[other]} ({rank:g})" for one, other, rank in plain["scenario"]["together"]]
    if ties:
        told.append(f"Drawn in step, by the rank correlation in brackets: {joined(ties)}.")
    elif len(found["inputs"]) > 1:
        told.append("Each range is drawn independently of the others.")
    own = [one["words"] for one in found["inputs"] if one["years"]]
    if own:
        told.append(f"Beside that, single years stray from what is drawn, each by itself: {joined(own)}.")
    if found["hours"] is not None:
        told.append("How exact the hours of the cases are stands among the notes on the study.")
    return told


def hours_notes(found: Plain | None, currency: str) -> list[str]:
    """Where the hours of the cases come from, and how far off they are; nothing where all share those of the study."""
    if found is None or found["hours"] is None:
        return []
    hours, words = found["hours"], {one["name"]: one["words"] for one in found["inputs"]}
    off = (
        f"the NPV was off by at most {money(hours['npv_off_middle'], currency, 2)} in half of them and by "
        f"{money(hours['npv_off'], currency, 2)} in the worst"
    )
    if hours["bill_off"] is not None:
        off += f", and the bills by {per_cent(hours['bill_off'], 3)} of what staying as you are pays"
    if hours["renewed_apart"]:
        off += (
            f"; in {hours['renewed_apart']} of them a battery is renewed in another year, which moves its whole price"
        )
    return [
        f"cases drawn: the hours depend on {joined([words[name] for name in hours['ranges']])}. "
        f"{hours['studies']} studies were run hour by hour, and the sums of the hours of each case lie on a smooth "
        f"surface through theirs. Of {hours['cases']} cases taken by lot and run hour by hour, {off}. Any other case "
        "may be off by more."
    ]


def lead_sentences(plain: Plain) -> list[str]:
    """Where along each range, moved by itself, another alternative is worth most."""
    currency, whole, told = plain["settings"]["currency"], [], []
    if plain["what_matters"] is None or len(plain["alternatives"]) == 1:
        return []
    for one in plain["what_matters"]["ranges"]:
        first, *turns = one["leads"]
        if not turns:
            whole.append((first["leader"], one["words"]))
            continue
        then = [f"from {measured(turn['since'], one['unit'], currency)} on “{turn['leader']}”" for turn in turns]
        told.append(f"{capital(one['words'])}: at its low end “{first['leader']}” is worth most, {joined(then)}.")
    for leader in dict.fromkeys(name for name, _ in whole):
        ranges = [words for name, words in whole if name == leader]
        each = ", each moved by itself" if len(ranges) > 1 else ""
        told.append(f"“{leader}” is worth most over the whole range of {joined(ranges)}{each}.")
    return told


def share_sentence(plain: Plain) -> str:
    """How the bars of `by_span` and the shares of the spread go together, for the alternative of the short answer."""
    name = best_of(plain)["name"]
    order = by_span(plain, name)
    told = (
        "A bar is how far the NPV moves while one range alone goes from its P10 to its P90; a share, in the table "
        "behind, is what that range adds to the spread of NPV over all futures."
    )
    if any(one["shares"][name] is None for one in order):
        return told
    largest = max(order, key=lambda one: float(one["shares"][name]["total"]))
    share = f"{100 * largest['shares'][name]['total']:.0f} %"
    if largest is order[0]:
        return f"{told} The {largest['words']} has both the longest bar and the largest share, {share}."
    return (
        f"{told} The longest bar is that of the {order[0]['words']}, the largest share, {share}, that of the "
        f"{largest['words']}: a bar sees two places of one range by itself, a share all of it and with the others."
    )


def payback_sentence(plain: Plain) -> str | None:
    """That paybacks over many cases are those for good, told where the first return to zero is another."""
    apart = [
        f"“{plan['name']}” {span(first)}, {span(plan['metrics']['simple_payback_lasting'])}"
        for plan in plain["alternatives"]
        if (first := plan["metrics"]["simple_payback"]) and plan["metrics"]["simple_payback_lasting"] != first
    ]
    if not apart:
        return None
    return (
        "A payback here is the one for good. Where a replacement or a loan takes the running total below zero again "
        f"later, the first return does not count (first, and for good: {'; '.join(apart)})."
    )


def by_span(plain: Plain, plan: str) -> list[Plain]:
    """Ranges, and years that stray by themselves, by how far they move the NPV of an alternative, furthest first."""
    movers = []
    for one in plain["what_matters"]["ranges"]:
        movers.append(one)
        if one["years"] is not None:
            words = f"{one['words']}, the mean of its single years"
            movers.append({"name": one["name"], "words": words, "unit": one["unit"], **one["years"]})
    return sorted(movers, key=lambda one: -abs(one["npv_high"][plan] - one["npv_low"][plan]))


def swing_table(plain: Plain, plan: str) -> Table:
    """Each range: its P10 and P90, the NPV of one alternative there, the span, and both shares of its variance."""
    currency = plain["settings"]["currency"]
    rows = []
    for one in by_span(plain, plan):
        low, high = one["npv_low"][plan], one["npv_high"][plan]
        shares = one["shares"][plan]
        rows.append(
            [
                capital(one["words"]),
                *(measured(one[end], one["unit"], currency) for end in ("low", "high")),
                *(money(amount, currency) for amount in (low, high, abs(high - low))),
                *("–" if shares is None else _share(shares, key) for key in ("first", "total")),
            ]
        )
    return Table(
        caption=f"Each range by itself, and its share of the spread of NPV: {plan}",
        head=["", "P10", "P90", "NPV at P10", "NPV at P90", "Span", "Share, alone", "Share, with all it joins in"],
        rows=rows,
    )


def _share(shares: Plain, key: str) -> str:
    error = shares[f"{key}_error"]
    text = f"{shares[key] * 100:.0f}".replace("-0", "0").replace("-", "−")
    return f"{text} %" if error is None else f"{text} ± {error * 100:.0f} %"


def capital(words: str) -> str:
    """Words as they begin a line."""
    return words[:1].upper() + words[1:]
