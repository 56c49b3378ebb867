"""The short answer: one sentence that can be repeated at the kitchen table, and those that follow it.

The sentences are patterns filled with figures, so that the page can fill the same ones with other numbers.
"""

from __future__ import annotations

from typing import Any

from finsolar.report.words import in_cash
from finsolar.report.words.amounts import joined, money, rate_told, years_long, years_told
from finsolar.report.words.changes_told import best_of, premium_sentence
from finsolar.report.words.off_grid import barely_loaded
from finsolar.report.words.sureness import of_hundred
from finsolar.report.words.worth import beside, in_the_money, opening

Plain = dict[str, Any]

OPENING = "“{name}” costs {cost} after incentives{payments}, {saving}, {payback}"
SAVING = {True: "saves about {amount} in the first year", False: "adds about {amount} to the bills of the first year"}
"""By whether it saves."""
WORTH = (
    "Over {years} that leaves the household {amount} {side} off than by staying as you are and earning {rate} a "
    "year on the money elsewhere, in the money of the first day"
)
SIDE = {True: "better", False: "worse"}
"""By whether the NPV is zero or above."""


def short_answer(plain: Plain) -> list[str]:
    """The answer in sentences, the one to repeat first."""
    plans, currency = plain["alternatives"], plain["settings"]["currency"]
    best = best_of(plain)
    npv = best["metrics"]["npv"]
    likely = _likely_money(likely_of(plain, best["name"]), currency)
    sentences = [opening_sentence(plain), f"{worth(plain, npv)}{likely}."]
    losing = [plan for plan in plans if plan["metrics"]["npv"] < 0 and plan is not best]
    if npv < 0 and len(plans) > 1:
        sentences.append("None of the alternatives here earns that rate; this is the one that loses least.")
        often = [(plan["name"], _sometimes_ahead(plain, plan["name"])) for plan in losing]
        ahead = [f"“{name}” comes out {in_some}" for name, in_some in often if in_some]
        if ahead:
            sentences[-1] += f" Yet it is not always so: {joined(ahead)}."
    elif losing:
        names = joined([f"“{plan['name']}” ({_loss(plain, plan)})" for plan in losing])
        sentences.append(f"Not worth it on these terms: {names}.")
    for own in plain["comparison"]["own_labour"]:
        sentences.append(premium_sentence(own, currency))
    return [*sentences, *barely_loaded(plain), *beside(plain)]


def opening_sentence(plain: Plain) -> str:
    """What the best alternative costs, saves and when it is paid back, with what is likely, and the chance of it;
    then the same in cash alone where worth of backup is in it."""
    best, years = best_of(plain), plain["settings"]["years"]
    currency, m, chance = plain["settings"]["currency"], best["metrics"], _chance(plain, best["name"])
    says = opening(plain) + OPENING.format(
        name=best["name"],
        cost=money(best["costs"]["net"], currency),
        payments=payments(best, currency),
        saving=saving(best["bills"]["first_year_saving"], currency),
        payback=payback(
            m["simple_payback_lasting"], m["simple_payback"], years, last=chance is None, worth=in_the_money(best)
        ),
    )
    if m["simple_payback_lasting"]:
        says += _likely_years(likely_of(plain, best["name"]))
    says += "." if chance is None else f"; {_better_off(chance)} after {years_told(years)}."
    return says + in_cash.sentence(plain)


def worth(plain: Plain, npv: float) -> str:
    """What an NPV means to the household, without the full stop."""
    return WORTH.format(
        years=years_told(plain["settings"]["years"]),
        amount=money(abs(npv), plain["settings"]["currency"]),
        side=SIDE[npv >= 0],
        rate=rate_told(plain["settings"]["discount_rate"]),
    )


def saving(amount: float, currency: str) -> str:
    """What an alternative does to the bills of the first year."""
    return SAVING[amount >= 0].format(amount=money(abs(amount), currency))


def payments(plan: Plain, currency: str) -> str:
    """What of the first year is paid for a leased system, which is no part of its net cost; mostly nothing."""
    lines = plan["cash_flow"]["lines"]
    paid = -sum(lines[name][1] for name in ("lease payments", "payments per kWh") if name in lines)
    return f" and {money(paid, currency)} of payments in the first year" if paid >= 0.5 else ""


def payback(lasting: float | None, first: float | None, years: int, *, last: bool = True, worth: bool = False) -> str:
    """When an alternative has paid for itself: for good, and a first time where that is much sooner.

    last : whether the sentence tells nothing after it; worth : whether worth that is no cash is in the running total.
    """
    if lasting is None:
        return f"and has not paid for itself when the study ends after {years_told(years)}"
    if lasting == 0 and worth:
        return "and so counted is never behind over the years"
    if lasting == 0:
        return "and never leaves the household out of pocket over the years"
    says = f"{'and ' if last else ''}has paid for itself in {years_long(lasting)}"
    if first and lasting - first > 0.05:
        says += f" (a first time after {first:.1f}, before a replacement sets it back)"
    return says


def likely_of(plain: Plain, name: str) -> Plain | None:
    """The figures of an alternative over all cases; none where nothing was drawn."""
    cases = _cases(plain, name)
    return None if cases is None else cases["figures"]


def tenths(share: float) -> str:
    """A chance in words, near none and near all no surer than it is: ``8 chances in ten``."""
    count = round(10 * share)
    if count in (0, 10):
        return "more than nine chances in ten" if count else "fewer than one chance in ten"
    return f"{count} chances in ten" if count > 1 else "one chance in ten"


def _better_off(chance: float) -> str:
    if chance in (0, 1):
        return f"in {'all' if chance else 'none'} of the futures drawn it leaves us better off"
    return f"{tenths(chance)} that it leaves us better off"


def _cases(plain: Plain, name: str) -> Plain | None:
    found = plain["uncertainty"]
    return next((one for one in ([] if found is None else found["alternatives"]) if one["name"] == name), None)


def _chance(plain: Plain, name: str) -> float | None:
    """The share of the futures in which the NPV of an alternative is above zero; none where nothing was drawn."""
    cases = _cases(plain, name)
    return None if cases is None else float(cases["chances"]["npv_above_zero"]["share"])


def _sometimes_ahead(plain: Plain, name: str) -> str:
    """In how many futures an alternative that loses comes out ahead after all; nothing to say where in none."""
    chance = _chance(plain, name)
    if not chance:
        return ""
    return f"ahead in {'every future' if chance == 1 else f'{of_hundred(chance)} futures'}"


def _loss(plain: Plain, plan: Plain) -> str:
    npv, often = money(plan["metrics"]["npv"], plain["settings"]["currency"]), _sometimes_ahead(plain, plan["name"])
    return f"{npv}, though {often}" if often else npv


def _likely_years(likely: Plain | None) -> str:
    """Between which years the payback likely lies, if that is a span to speak of."""
    low, high = (None, None) if likely is None else (likely["simple_payback"][key] for key in ("p10", "p90"))
    if low is None or (high is not None and high - low < 0.1):
        return ""
    if high is None:
        return f", likely no sooner than after {low:.1f} and perhaps never"
    return f", likely between {low:.1f} and {high:.1f}"


def _likely_money(likely: Plain | None, currency: str) -> str:
    """Between which amounts the NPV likely lies, if that is a span to speak of."""
    low, high = (0.0, 0.0) if likely is None else (likely["npv"][key] for key in ("p10", "p90"))
    if high - low < 0.5:
        return ""
    if low < 0 <= high:
        return f"; likely between {money(-low, currency)} worse and {money(high, currency)} better"
    near, far = sorted((abs(low), abs(high)))
    return f"; likely between {money(near, currency)} and {money(far, currency)} {'better' if low >= 0 else 'worse'}"
