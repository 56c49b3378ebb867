"""Sentences on what would change the answer, and on how two alternatives stand to each other."""

from __future__ import annotations

from typing import Any

from finsolar.report.words.amounts import joined, money, per_cent, years_long


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
