"""Invented rules of every kind and houses for them, drawn at random for the engine and for the oracle alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from random import Random
from typing import Any

from invented import BEGIN, FACTS, NO_LIMIT, SOURCE, counts, needs, rule
from oracle_awards import Home, Paid

from finsolar.incentives.law import FALLBACK, Band, Condition, LineTest, Rule, Term
from finsolar.incentives.rulebook import check_links
from finsolar.money.loan import present_worth

CATEGORIES = ("modules", "inverter", "battery", "labour", "roof")
CHANGE = date(2026, 7, 1)
EVENTS = ("installation completed", "in service", "contract", "registration", "new year")
IDS = ("town/0", "town/1/b", "town/1/a", "town/2")
Draw = Callable[[], Any]
Told = dict[str, Any]


class Dice:
    """Draws of a seeded generator, with edges among them."""

    def __init__(self, random: Random) -> None:
        self.random = random
        self.pick = random.choice
        self.between = random.uniform

    def chance(self, share: float) -> bool:
        """Whether something of this likelihood happens."""
        return self.random.random() < share

    def money(self, top: float) -> float:
        """Money above zero, often whole."""
        return float(self.random.randint(1, int(top))) if self.chance(0.5) else self.between(0.01, top)

    def or_zero(self, amount: float) -> float:
        """An amount, or now and then zero."""
        return 0.0 if self.chance(0.1) else amount

    def share(self, low: float = 0.01, high: float = 1.0) -> float:
        """A share, often a limit of its range."""
        return self.pick([low, high]) if self.chance(0.2) else self.between(low, high)

    def maybe(self, draw: Draw, chance: float = 0.7) -> Any:
        """Something, or None."""
        return draw() if self.chance(chance) else None

    def bands(self, draw: Draw) -> Any:
        """One amount, or bands over a size."""
        if self.chance(0.5):
            return draw()
        ends = sorted(self.random.sample(range(1, 30), self.pick([1, 2, 3])))
        return tuple(Band(float(end), draw()) for end in (*ends, NO_LIMIT))

    def over_time(self, draw: Draw, last: str = "ended") -> Any:
        """An amount for all time, one after another, or now and then one that stops at `CHANGE` as `last` says."""
        if self.chance(0.6):
            return draw()
        return {BEGIN: draw(), CHANGE: last if self.chance(0.25) else draw()}

    def some(self, **draws: Draw) -> Told:
        """Some of several things."""
        return {name: draw() for name, draw in draws.items() if self.chance(0.4)}

    def limit(self, top: float = 8_000) -> float:
        """A limit of money, or no limit."""
        return NO_LIMIT if self.chance(0.15) else self.money(top)

    def limit_share(self) -> float:
        """A limit that is a share, or no limit."""
        return NO_LIMIT if self.chance(0.15) else self.share(0.05)

    def term(self) -> float:
        """Years of a term, or no limit."""
        return NO_LIMIT if self.chance(0.15) else float(self.random.randint(1, 12))

    def arrives(self) -> int | None:
        """The year in which money comes, if a rule says so."""
        return self.maybe(lambda: self.pick([0, 1, 2]), 0.3)

    def taxable(self) -> str:
        """How an award is taxed."""
        return self.pick(["no", "yes", "if itemised", "household decides"])


def _amounts_and_caps(dice: Dice, banded: bool) -> Told:
    def rate() -> Any:
        return dice.bands(lambda: dice.money(500)) if banded else dice.money(500)

    draws: dict[str, Draw] = {
        "share": lambda: dice.over_time(dice.share),
        "per_kw": lambda: dice.over_time(rate),
        "per_kwh": lambda: dice.over_time(rate),
        "fixed": lambda: dice.over_time(lambda: dice.money(3_000)),
    }
    found = {name: draws[name]() for name in draws if dice.chance(0.4)} or {"share": draws["share"]()}
    return found | dice.some(
        cap_per_kw=lambda: dice.over_time(lambda: dice.limit(900), "unknown"),
        cap_per_kwh=lambda: dice.over_time(lambda: dice.limit(900), "unknown"),
        cap=lambda: dice.over_time(dice.limit, "unknown"),
        cap_share_of_cost=lambda: dice.over_time(dice.limit_share, "unknown"),
    )


def _line_tests(dice: Dice) -> tuple[LineTest, ...]:
    found = [counts("modules")]
    for category in CATEGORIES[1:]:
        if dice.chance(0.8):  # a category may be left unsaid
            smallest = 3.0 if category == "battery" and dice.chance(0.5) else None
            since = CHANGE if dice.chance(0.2) else None
            found.append(counts(category, counted=dice.chance(0.75), since=since, smallest=smallest))
    return tuple(found)


def _condition(dice: Dice) -> Condition:
    otherwise = dice.pick(["refused", "unknown"])
    if dice.chance(0.5):
        since, until = dice.pick([None, CHANGE]), dice.pick([None, CHANGE + timedelta(days=200)])
        fact = dice.pick(["lives there", "main home", "licensed installer", "household confirms"])
        return needs(fact, otherwise, since=since, until=until)
    limits = {"solar kw": 15.0, "battery kwh": 12.0, "income": 100_000.0}
    number = dice.pick(sorted(limits))
    return needs(number, otherwise, at_least=dice.maybe(lambda: 3.0), at_most=dice.maybe(lambda: limits[number]))


def _credit(dice: Dice) -> tuple[Told, Told]:
    parameters = _amounts_and_caps(dice, banded=False)
    parameters |= dice.some(
        lifetime_cap=lambda: dice.over_time(dice.limit, "unknown"),
        yearly_cap=lambda: dice.over_time(lambda: dice.limit(2_000), "unknown"),
        yearly_share_of_tax=dice.limit_share,
    )
    return parameters, {
        "refundable": dice.pick(["no", "no", "yes", "elective"]),
        "carry_forward": dice.pick([0.0, 1.0, 2.0, 3.0, 7.0, NO_LIMIT]),
        "against": dice.pick(["income tax", "state income tax"]),
        "over_yearly_cap": dice.pick(["carried", "lost"]) if "yearly_cap" in parameters else None,
        "business_use": dice.maybe(lambda: dice.share(0.05, 0.5)),
        "taxable": dice.taxable(),
        "arrives_in_year": dice.arrives(),
    }


def _rebate(dice: Dice) -> tuple[Told, Told]:
    terms = {"lowers_price": dice.chance(0.6), "taxable": dice.taxable(), "arrives_in_year": dice.arrives()}
    return _amounts_and_caps(dice, banded=True), terms


def _deduction(dice: Dice) -> tuple[Told, Told]:
    def shares() -> tuple[float, ...]:
        return tuple(dice.share(0.05, 0.25) for _ in range(dice.random.randint(1, 4)))

    parameters = {"yearly_shares": dice.over_time(shares)} | dice.some(
        yearly_cap=lambda: dice.over_time(dice.limit, "unknown")
    )
    return parameters, {"against": dice.pick(["income tax", "state income tax"]), "arrives_in_year": dice.arrives()}


def _deemed(dice: Dice) -> tuple[Told, Told]:
    parameters = {"factor": dice.over_time(lambda: dice.between(0.5, 12))} | dice.some(
        weights=lambda: dice.bands(dice.share),
        cap_size=lambda: dice.pick([6.6, 100.0, NO_LIMIT]),
        fee_each=lambda: dice.between(0.5, 5),
        price_each=lambda: dice.over_time(lambda: dice.between(1, 60)),
    )
    return parameters, {
        "lowers_price": dice.chance(0.6),
        "size": dice.pick(["solar kw", "battery kwh"]),
        "zones": dice.maybe(lambda: {"1": 1.622, "3": 1.382}, 0.5),
        "arrives_in_year": dice.arrives(),
    }


def _performance(dice: Dice) -> tuple[Told, Told]:
    name, low, high = dice.pick([("per_kwh", 0.01, 0.4), ("per_mwh", 10.0, 400.0)])
    rate = dice.over_time(lambda: dice.bands(lambda: dice.between(low, high)), "unknown")
    parameters = {name: rate, "term_years": dice.over_time(dice.term, "unknown")}
    parameters |= dice.some(yearly_step_down=lambda: dice.share(0.005, 0.2))
    return parameters, {
        "paid_on": dice.pick(["generation", "export"]),
        "to_year_end": dice.pick([None, True, False]),
        "taxable": dice.taxable(),
    }


def _metered(dice: Dice) -> tuple[Told, Told]:
    parameters = {"kwh_each": dice.over_time(lambda: dice.between(200, 2_000)), "term_years": dice.term()}
    return parameters | dice.some(floor_price=lambda: dice.between(5, 80)), {"taxable": dice.taxable()}


def _capacity(dice: Dice) -> tuple[Told, Told]:
    parameters = {"per_kw": dice.over_time(lambda: dice.between(50, 400)), "term_years": dice.term()}
    more = dice.some(events=lambda: dice.pick([1.0, 60.0]), event_hours=lambda: dice.between(0.5, 4))
    return parameters | more, {"taxable": dice.taxable()}


def _sales_tax(dice: Dice) -> tuple[Told, Told]:
    if dice.chance(0.5):
        return {"rate_left": dice.over_time(lambda: dice.pick([0.0, 0.02, 0.05, 0.2]))}, {}
    return {"share_spared": dice.over_time(dice.share, "unknown")}, {}


def _property(dice: Dice) -> tuple[Told, Told]:
    return {"exempt_share": dice.over_time(dice.share)} | dice.some(
        term_years=lambda: dice.over_time(dice.term, "unknown")
    ), {}


def _loan(dice: Dice) -> tuple[Told, Told]:
    parameters = {
        "rate": dice.over_time(lambda: dice.pick([0.0, 0.01, 0.04])),
        "term_years": dice.over_time(lambda: float(dice.random.randint(1, 15)), "unknown"),
    }
    more = dice.some(cap=dice.limit, smallest=lambda: dice.money(5_000), fee=lambda: dice.between(0.001, 0.05))
    return parameters | more, {}


def _exemption(dice: Dice) -> tuple[Told, Told]:
    exempts = dice.pick([("payments",), IDS[:1], IDS[:2]])
    return {"ceiling_kw": dice.over_time(lambda: dice.pick([8.0, 30.0, NO_LIMIT]))}, {"exempts": exempts}


def _owner(dice: Dice) -> tuple[Told, Told]:
    return {"share": dice.over_time(dice.share)}, {}


KINDS: dict[str, Callable[[Dice], tuple[Told, Told]]] = {
    "tax credit": _credit,
    "tax deduction": _deduction,
    "upfront rebate": _rebate,
    "deemed certificates": _deemed,
    "performance payment": _performance,
    "metered certificates": _metered,
    "capacity payment": _capacity,
    "sales tax relief": _sales_tax,
    "property tax relief": _property,
    "below-market loan": _loan,
    "income tax exemption": _exemption,
    "owner's credit": _owner,
}
_OFTEN = (*KINDS, *["tax credit"] * 4, *["upfront rebate"] * 3, *["tax deduction"] * 2, "performance payment")
_OF_COST = frozenset({"share", "cap_share_of_cost", "yearly_shares", "rate_left", "share_spared"})


def drawn_rule(dice: Dice, rule_id: str = IDS[0], before: Sequence[str] = (), kind: str | None = None) -> Rule:
    """Draw a rule that may lean on those `before` it, of any kind if none is said."""
    kind = dice.pick(_OFTEN) if kind is None else kind
    parameters, terms = KINDS[kind](dice)
    if kind in {"tax credit", "tax deduction", "upfront rebate"} and dice.chance(0.6):
        known = ["price reductions", "grants", *before]
        terms["lowered_by"] = tuple(dice.random.sample(known, dice.random.randint(1, len(known))))
    if kind == "tax credit" and before and "share" in parameters and dice.chance(0.2):
        parameters.pop("cap_share_of_cost", None)
        terms |= {"credit_of": dice.pick(before), "lowered_by": None}
    of_cost = bool(_OF_COST & set(parameters)) and terms.get("credit_of") is None and kind != "owner's credit"
    terms["first_come"] = dice.maybe(lambda: True, 0.1)
    return rule(
        kind,
        rule_id,
        event=dice.pick(EVENTS),
        lines=_line_tests(dice) if of_cost else (),
        conditions=(_condition(dice),) if dice.chance(0.3) else (),
        haircut=dice.share(0.05, 0.5) if terms.get("refundable") == "elective" else 0.0,
        terms={name: value for name, value in terms.items() if value is not None},
        **parameters,
    )


def drawn_rules(dice: Dice) -> list[Rule]:
    """Draw up to four rules in any order, each leaning only on some others, two of which may exclude one another."""
    ids = IDS[: dice.random.randint(1, 4)]
    rules = [drawn_rule(dice, rule_id, ids[:place]) for place, rule_id in enumerate(ids)]
    while check_links(rules):  # a rebate lowered by a credit that rebates lower, say
        rules = [drawn_rule(dice, rule_id, ids[:place]) for place, rule_id in enumerate(ids)]
    if len(rules) > 1 and dice.chance(0.3):
        excludes = Term((dice.pick(ids[1:]),), "They exclude one another.", SOURCE)
        rules[0] = replace(rules[0], excludes=excludes)
    dice.random.shuffle(rules)
    return rules


def drawn_home(dice: Dice, years: int) -> Home:
    """Draw a household in plain values; now and then something is not told."""
    completed = date(2025, 12, 30) + timedelta(days=dice.random.randint(0, 800))
    days = {"installation completed": completed, "in service": completed + timedelta(days=dice.random.randint(0, 60))}
    if dice.chance(0.5):
        days[dice.pick(sorted(FALLBACK))] = completed - timedelta(days=dice.random.randint(0, 200))

    def answer() -> bool | None:
        return dice.pick([*[True] * 14, False, None])

    def each_year(top: float) -> list[float]:
        return [dice.or_zero(dice.money(top)) for _ in range(years)]

    def size() -> float | None:
        return dice.maybe(lambda: dice.or_zero(dice.pick([3.0, 8.0, dice.between(0.5, 25)])), 0.95)

    claims = {
        rule_id: {
            "claim": dice.chance(0.96),
            "confirmed": answer(),
            "funds": answer(),
            "refundable": dice.pick([None, True, False]),
            "taxed": dice.pick([None, True, False]),
            "kw": dice.maybe(lambda: dice.between(0, 9), 0.9),
            "used_before": dice.pick([0.0, 750.0]),
            "price": dice.maybe(lambda: each_year(120), 0.8),
            "zone": dice.pick([None, "1", "1", "3", "3"]),
        }
        for rule_id in IDS
    }
    taxes = ("income tax", "state income tax")
    return Home(
        days=days,
        facts={**FACTS, **{name: answer() for name in ("lives there", "main home", "licensed installer")}},
        numbers={
            "solar kw": size(),
            "inverter kw": 5.0,
            "battery kwh": size(),
            "income": dice.pick([None, 8.0, *[90_000.0] * 6, 150_000.0]),
        },
        taxes={name: dice.maybe(lambda: each_year(dice.pick([800, 8_000])), 0.93) for name in taxes},
        marginal={name: dice.maybe(lambda: dice.share(0.0, 0.5), 0.93) for name in taxes},
        itemises=dice.pick([None, True, False]),
        business_use=dice.pick([0.0, 0.0, 0.1, 0.3, 0.9]),
        generation=each_year(12_000),
        exported=each_year(8_000),
        export_is_paid=dice.chance(0.25),
        property_tax=dice.maybe(lambda: each_year(600), 0.9),
        battery_kw=dice.maybe(lambda: dice.between(0, 8)),
        battery_usable_kwh=dice.maybe(lambda: dice.between(0, 20)),
        discount=dice.pick([0.0, 0.03, 0.08, 0.08]),
        claims=claims,
    )


def drawn_bill(dice: Dice) -> list[Paid]:
    """Draw what the household pays."""
    found = []
    for category in dice.random.choices(CATEGORIES, k=dice.random.randint(1, 5)):
        cost = dice.or_zero(dice.money(15_000))
        found.append(Paid(category, cost, cost * dice.pick([0.0, 0.06, 0.2])))
    return found


def drawn_helps(dice: Dice) -> list[tuple[float, bool]]:
    """Draw money from others, and whether the law sees it as a lower price."""
    return [(dice.or_zero(dice.money(2_500)), dice.chance(0.5)) for _ in range(dice.random.randint(0, 2))]


def loan_worth_at(discount: float) -> Any:
    """Return what the study hands to the rules for loans, money elsewhere earning `discount`."""
    return lambda principal, rate, years: present_worth(principal, rate, 12 * years, discount)
