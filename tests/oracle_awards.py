"""The oracle's incentives: one house, one case, plain floats and loops, by the order in which law applies rules.

It reads the records of rules as data and shares no arithmetic with the engine. Steps: sales tax on the lines; receipts
that change the price; credits, each on its own basis; caps by size, of money, of cost, of a lifetime, of a year; the
tax owed; then what comes year by year. Dates, bands, terms and carrying on are looked up and counted here anew.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

INF = math.inf
_RANKS = (
    ("income tax exemption",),
    ("sales tax relief",),
    ("upfront rebate", "deemed certificates"),
    ("tax credit",),
    ("tax deduction",),
)
_STAND_INS = {"contract": 0, "purchase": 0, "electrical certificate": 0}  # the rest goes by the first day of service


@dataclass
class Home:
    """What a household tells, in plain values; None or a missing name was not told."""

    days: dict[str, dt.date]
    facts: dict[str, bool | None]
    numbers: dict[str, float | None]
    taxes: dict[str, list[float] | None]
    marginal: dict[str, float | None]
    itemises: bool | None
    business_use: float
    generation: list[float]
    exported: list[float]
    export_is_paid: bool
    property_tax: list[float] | None
    battery_kw: float | None
    battery_usable_kwh: float | None
    discount: float
    claims: dict[str, dict[str, Any]]


@dataclass
class Paid:
    """A cost line: what it costs, and the sales tax on it."""

    category: str
    cost: float
    tax: float


@dataclass
class Answer:
    """What a rule grants: by year, the tax on it, what a loan is worth, and how far others are lowered by it."""

    amounts: list[float]
    tax: list[float]
    worth: float = 0.0
    basis: float = 0.0
    potential: float = 0.0
    status: str = "refused"
    falls_on: list[float] | None = None  # which share of it pays for each cost line; None: it is for the whole

    @property
    def total(self) -> float:
        """The face value over the study."""
        return sum(self.amounts) + self.worth


@dataclass
class _Desk:
    """What is on the desk while rule after rule is settled."""

    rules: Mapping[str, Any]
    home: Home
    lines: list[Paid]
    helps: Sequence[tuple[float, bool]]
    years: int
    barred: set[str]
    owed: dict[str, list[float]] = field(default_factory=dict)
    house_tax: list[float] | None = None
    given: float = 0.0
    answers: dict[str, Answer] = field(default_factory=dict)

    def room(self) -> float:
        """What of the price nobody has paid yet."""
        price = sum(line.cost + line.tax for line in self.lines)
        return max(price - sum(amount for amount, _ in self.helps) - self.given, 0.0)


def answers(
    rules: Sequence[Any],
    home: Home,
    lines: Sequence[Paid],
    helps: Sequence[tuple[float, bool]],
    years: int,
) -> dict[str, Answer]:
    """Return the answer to each rule by its id; `helps` are amounts of others and whether the law sees a lower price.

    No two pairs that exclude one another may share a rule. Of a pair the one stands that is worth more without the
    other.
    """
    barred: set[str] = set()
    for rule in rules:
        for other in () if rule.excludes is None else rule.excludes.value:
            mine = _all(rules, home, lines, helps, years, {other})[rule.id].total
            its = _all(rules, home, lines, helps, years, {rule.id})[other].total
            beside = _all(rules, home, lines, helps, years, set())
            if (mine > 0 and its > 0) or (beside[rule.id].total > 0 and beside[other].total > 0):
                barred.add(rule.id if its > mine else other)
    return _all(rules, home, lines, helps, years, barred)


def _all(
    rules: Sequence[Any],
    home: Home,
    lines: Sequence[Paid],
    helps: Sequence[tuple[float, bool]],
    years: int,
    barred: set[str],
) -> dict[str, Answer]:
    """Settle all rules but those that are barred, one after another."""
    desk = _Desk(
        rules={rule.id: rule for rule in rules},
        home=home,
        lines=[Paid(line.category, line.cost, line.tax) for line in lines],
        helps=helps,
        years=years,
        barred=barred,
        owed={name: [tax[min(k, len(tax) - 1)] for k in range(years)]
              for name, tax in home.taxes.items() if tax is not None},
        house_tax=None if home.property_tax is None else list(home.property_tax),
    )  # fmt: skip
    for rule in _turns(rules):
        answer = _settle(rule, desk)
        answer.falls_on = _falls_on(rule, desk)
        desk.answers[rule.id] = answer
    return desk.answers


_OF_SOLAR = ("modules", "inverter", "racking", "wiring", "labour", "permits", "interconnection", "shipping")


def _falls_on(rule: Any, desk: _Desk) -> list[float] | None:
    """Which share of an answer pays for each cost line: those it counts, or those of what it is measured by."""
    source = _value(rule.credit_of, None)
    if source in desk.answers:
        return desk.answers[source].falls_on
    measured = {name for name in ("per_kw", "per_kwh") if name in rule.parameters}
    if rule.size is not None:
        measured.add({"battery kwh": "per_kwh", "solar kw": "per_kw"}[rule.size.value])
    weights = []
    for line in desk.lines:
        if rule.lines and source is None:
            day = _day_of(rule.event, desk.home.days)
            pays = any(line is one for one in _lines_that_count(rule, day, desk, []))
        elif measured == {"per_kwh"}:
            pays = line.category == "battery"
        elif measured == {"per_kw"}:
            pays = line.category in _OF_SOLAR
        else:
            return None
        weights.append(line.cost + line.tax if pays else 0.0)
    whole = sum(weights)
    return [weight / whole if whole > 0 else 0.0 for weight in weights]


def _shared(answer: Answer, desk: _Desk, counted: list[Paid]) -> float:
    """What of an answer pays for lines that are counted."""
    if answer.falls_on is None:
        return answer.potential
    on_them = [
        share for share, line in zip(answer.falls_on, desk.lines, strict=True) if any(line is c for c in counted)
    ]
    return answer.potential * sum(on_them)


def _turns(rules: Sequence[Any]) -> list[Any]:
    """Rules one after another: the first by rank, breadth of its place and id of those that wait for nobody."""

    def key(rule: Any) -> tuple[int, bool, int, str]:
        rank = next((i for i, kinds in enumerate(_RANKS) if rule.kind in kinds), len(_RANKS))
        return (
            rank,
            bool({"price reductions", "grants"} & set(_value(rule.lowered_by, ()))),
            rule.id.count("/"),
            rule.id,
        )

    def called(rule: Any) -> str:
        if rule.kind not in ("upfront rebate", "deemed certificates"):
            return "neither"
        return "price reductions" if _value(rule.lowers_price, False) else "grants"

    def waits(rule: Any, settled: list[str]) -> bool:
        words = _value(rule.lowered_by, ())
        for other in rules:
            if other is rule or other.id in settled:
                continue
            both = called(rule) in _value(other.lowered_by, ())
            if other.id in (*words, _value(rule.credit_of, "")) or (called(other) in words and not both):
                return True
        return False

    settled: list[str] = []
    order: list[Any] = []
    while len(order) < len(rules):
        free = [rule for rule in rules if rule.id not in settled and not waits(rule, settled)]
        chosen = min(free, key=key)
        settled.append(chosen.id)
        order.append(chosen)
    return order


def _value(term: Any, otherwise: Any) -> Any:
    return otherwise if term is None else term.value


def _on(dated: Any, day: dt.date) -> tuple[str, Any]:
    """What a parameter says on a day: `amount`, `ended`, `unknown`, or `before` its first day."""
    state: tuple[str, Any] = ("before", None)
    for entry in sorted(dated.entries, key=lambda one: one.start):
        if day >= entry.start:
            word = type(entry).__name__
            state = ("amount", entry.amount) if word == "Value" else (word.lower(), None)
    return state


def _day_of(event: str, days: Mapping[str, dt.date]) -> dt.date:
    if event == "new year":
        return dt.date(days["in service"].year, 1, 1)
    if event in days:
        return days[event]
    return days["installation completed" if event in _STAND_INS else "in service"]


def _settle(rule: Any, desk: _Desk) -> Answer:
    """One rule: in force? conditions? then its kind."""
    none = [0.0] * (desk.years + 1)
    day = _day_of(rule.event, desk.home.days)
    says = {name: _on(dated, day) for name, dated in rule.parameters.items()}
    lead = next(name for name in _LEADS[rule.kind] if name in rule.parameters)
    if says[lead][0] != "amount":
        return Answer(none, none, status="unknown" if says[lead][0] == "unknown" else "refused")
    verdict = _conditions(rule, desk.home, day)
    if verdict == "refused" or rule.id in desk.barred:
        return Answer(none, none)
    doubts = [verdict == "unknown"] + [state == "unknown" for state, _ in says.values()]
    values = {name: amount for name, (state, amount) in says.items() if state == "amount"}
    if rule.kind == "owner's credit":
        return Answer(none, none)
    answer = _KINDS[rule.kind](rule, values, day, desk, doubts)
    if _beyond_limits(rule, desk.home, day):
        answer.potential = 0.0
    if any(doubts):
        answer.amounts, answer.worth, answer.status = list(none), 0.0, "unknown"
    answer.tax = _income_tax(rule, answer.amounts, desk)
    return answer


_LEADS = {
    "tax credit": ("share", "per_kw", "per_kwh", "fixed"),
    "upfront rebate": ("share", "per_kw", "per_kwh", "fixed"),
    "tax deduction": ("yearly_shares",),
    "performance payment": ("per_kwh", "per_mwh"),
    "metered certificates": ("kwh_each",),
    "deemed certificates": ("factor",),
    "sales tax relief": ("rate_left", "share_spared"),
    "property tax relief": ("exempt_share",),
    "capacity payment": ("per_kw",),
    "below-market loan": ("rate",),
    "income tax exemption": ("ceiling_kw",),
    "owner's credit": ("share",),
}


def _conditions(rule: Any, home: Home, day: dt.date) -> str:
    claim = home.claims.get(rule.id, {})
    found = {"met"}
    if claim.get("claim") is False:
        found.add("refused")
    for asked in _asked(rule, day):
        if asked.needs in _SIZES:
            answer = _within(asked, home)
        elif asked.needs == "household confirms":
            answer = claim.get("confirmed")
        else:
            answer = home.facts.get(asked.needs)
        if answer is None:
            found.add("unknown")
        elif not answer:
            found.add(asked.otherwise)
    if _value(rule.first_come, False):
        funds = claim.get("funds")
        found.add("unknown" if funds is None else "met" if funds else "refused")
    return "refused" if "refused" in found else "unknown" if "unknown" in found else "met"


_SIZES = ("solar kw", "inverter kw", "battery kwh", "income")


def _asked(rule: Any, day: dt.date) -> list[Any]:
    """The conditions that the rule asks on a day."""
    return [
        asked
        for asked in rule.conditions
        if (asked.since is None or day >= asked.since) and (asked.until is None or day <= asked.until)
    ]


def _within(asked: Any, home: Home) -> bool | None:
    """Whether a number keeps its limits; None if it was not told."""
    number = home.numbers.get(asked.needs)
    if number is None:
        return None
    low = -INF if asked.at_least is None else asked.at_least
    high = INF if asked.at_most is None else asked.at_most
    return low <= number <= high


def _beyond_limits(rule: Any, home: Home, day: dt.date) -> bool:
    """Whether a number that was told breaks a limit: then nobody else's basis is lowered for it either."""
    return any(asked.needs in _SIZES and _within(asked, home) is False for asked in _asked(rule, day))


def _by_bands(amount: Any, size: float) -> float:
    """A size cut into bands, each at its own rate; a plain amount is one rate for all."""
    if not isinstance(amount, tuple):
        return size * float(amount)
    total, start = 0.0, 0.0
    for up_to, rate in amount:
        total += max(min(size, up_to) - start, 0.0) * rate
        start = up_to
    return total


def _size(desk: _Desk, name: str, doubts: list[bool]) -> float:
    told = desk.home.numbers.get(name)
    doubts.append(told is None)
    return 0.0 if told is None else told


def _lines_that_count(rule: Any, day: dt.date, desk: _Desk, doubts: list[bool]) -> list[Paid]:
    found = []
    for line in desk.lines:
        for test in rule.lines:
            if line.category not in test.categories or not test.counted:
                continue
            if test.since is not None and day < test.since:
                continue
            if test.smallest_kwh is not None:
                kwh = desk.home.numbers.get("battery kwh")
                doubts.append(kwh is None)
                if kwh is None or kwh < test.smallest_kwh:
                    continue
            found.append(line)
    return found


def _taken_off(rule: Any, desk: _Desk, counted: list[Paid]) -> float:
    """What lowers the basis: other people's money, by how the law sees it, and awards that the rule names.

    Of an award only what pays for lines that count here; other people's money is for the whole.
    """
    off = 0.0
    for name in _value(rule.lowered_by, ()):
        if name in ("price reductions", "grants"):
            as_price = name == "price reductions"
            off += sum(amount for amount, lower in desk.helps if lower == as_price)
            for other, answer in desk.answers.items():
                known = desk.rules[other]
                if known.kind in ("upfront rebate", "deemed certificates") and sum(answer.amounts) > 0:
                    off += _shared(answer, desk, counted) if _value(known.lowers_price, False) == as_price else 0.0
        elif name in desk.answers:
            # Also what is not known may come, so it lowers.
            off += _shared(desk.answers[name], desk, counted)
    return off


def _basis(rule: Any, day: dt.date, desk: _Desk, doubts: list[bool]) -> tuple[float, float]:
    """The basis, and the counted lines with their tax before anything is taken off."""
    counted = _lines_that_count(rule, day, desk, doubts)
    gross = sum(line.cost + line.tax for line in counted)
    net = max(gross - _taken_off(rule, desk, counted), 0.0)
    if rule.business_use is not None and desk.home.business_use > rule.business_use.value:
        net *= 1.0 - desk.home.business_use
    return net, gross


def _amount(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> tuple[float, float]:
    """Basis and amount of a credit or rebate after the caps on the whole of it."""
    basis, gross = 0.0, 0.0
    if rule.credit_of is not None:
        other = desk.answers.get(rule.credit_of.value)
        basis = 0.0 if other is None else other.potential
        doubts.append(other is not None and other.status == "unknown")
    elif rule.lines:
        basis, gross = _basis(rule, day, desk, doubts)
    total = float(values.get("fixed", 0.0)) + basis * values.get("share", 0.0)
    limits = [values.get("cap", INF)]
    for rate, cap, size in (("per_kw", "cap_per_kw", "solar kw"), ("per_kwh", "cap_per_kwh", "battery kwh")):
        if rate in values:
            total += _by_bands(values[rate], _size(desk, size, doubts))
        if cap in values and values[cap] != INF:
            limits.append(values[cap] * _size(desk, size, doubts))
        elif cap in values:
            _size(desk, size, doubts)
    if values.get("cap_share_of_cost", INF) != INF:
        limits.append(values["cap_share_of_cost"] * gross)
    if _value(rule.over_yearly_cap, "") == "lost":
        limits.append(values.get("yearly_cap", INF))
    if "lifetime_cap" in values:
        limits.append(max(values["lifetime_cap"] - desk.home.claims.get(rule.id, {}).get("used_before", 0.0), 0.0))
    return basis, min([total, *limits, desk.room()])


def _credit(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    years, home = desk.years, desk.home
    basis, potential = _amount(rule, values, day, desk, doubts)
    amounts = [0.0] * (years + 1)
    answer = Answer(amounts, amounts, basis=basis, potential=potential)
    if potential == 0.0:
        return answer
    refundable = rule.refundable.value
    chosen = bool(home.claims.get(rule.id, {}).get("refundable"))
    paid_out = refundable == "yes" or (refundable == "elective" and chosen)
    first = min(_value(rule.arrives_in_year, 1), years)
    last = first + _value(rule.carry_forward, 0.0)
    yearly_cap = values.get("yearly_cap", INF)
    if paid_out:
        purse = potential * (1.0 - (rule.haircut if refundable == "elective" else 0.0))
        limit = [yearly_cap] * (years + 1)
        desk.given += 0.0 if any(doubts) else purse
    else:
        owed = desk.owed.get(rule.against.value)
        if owed is None:
            doubts.append(True)
            return answer
        purse = potential
        first, last = max(first, 1), last + (1 if first == 0 else 0)
        told = home.taxes[rule.against.value]
        assert told is not None
        limit = [0.0]
        for k in range(years):
            whole = told[min(k, len(told) - 1)]
            share = values.get("yearly_share_of_tax", INF)
            limit.append(min(owed[k], yearly_cap, INF if share == INF else whole * share))
    for year in range(first, years + 1):
        if year <= last:
            amounts[year] = min(purse, limit[year])
            purse -= amounts[year]
    if not paid_out and not any(doubts):
        desk.owed[rule.against.value] = [tax - used for tax, used in zip(owed, amounts[1:], strict=True)]
        # What is carried beyond the study still comes; what ran out of years does not.
        desk.given += potential if last > years else potential - purse
    return answer


def _deduction(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    years = desk.years
    basis, _ = _basis(rule, day, desk, doubts)
    amounts = [0.0] * (years + 1)
    answer = Answer(amounts, amounts, basis=basis)
    rate = desk.home.marginal.get(rule.against.value)
    if rate is None:
        doubts.append(True)
        return answer
    shares = values["yearly_shares"] if isinstance(values["yearly_shares"], tuple) else (values["yearly_shares"],)
    owed = desk.owed.get(rule.against.value)
    room = desk.room()
    first = max(1, min(_value(rule.arrives_in_year, 1), years))
    for k, share in enumerate(shares):
        year = first + k
        if year > years:
            break
        saved = min(basis * share, values.get("yearly_cap", INF)) * rate
        if owed is not None:
            saved = min(saved, owed[year - 1])
        amounts[year] = min(saved, room)
        room -= amounts[year]
    answer.potential = sum(amounts)
    if not any(doubts):
        desk.given += answer.potential
        if owed is not None:
            desk.owed[rule.against.value] = [tax - used for tax, used in zip(owed, amounts[1:], strict=True)]
    return answer


def _rebate(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    basis, potential = _amount(rule, values, day, desk, doubts)
    return _at_once(rule, basis, potential, desk, doubts)


def _at_once(rule: Any, basis: float, potential: float, desk: _Desk, doubts: list[bool]) -> Answer:
    amounts = [0.0] * (desk.years + 1)
    amounts[min(_value(rule.arrives_in_year, 0), desk.years)] = potential
    desk.given += 0.0 if any(doubts) else potential
    return Answer(amounts, [], basis=basis, potential=potential)


def _deemed(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    claim = desk.home.claims.get(rule.id, {})
    size = min(_size(desk, rule.size.value, doubts), values.get("cap_size", INF))
    zone = 1.0
    if rule.zones is not None:
        doubts.append(claim.get("zone") not in rule.zones.value)
        zone = rule.zones.value.get(claim.get("zone"), 0.0)
    count = math.floor(round(_by_bands(values.get("weights", 1.0), size) * zone * values["factor"], 9))
    price = claim["price"][0] if claim.get("price") is not None else values.get("price_each")
    doubts.append(price is None)
    each = max((0.0 if price is None else price) - values.get("fee_each", 0.0), 0.0)
    return _at_once(rule, 0.0, min(count * each, desk.room()), desk, doubts)


def _sales_tax(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    basis, _ = _basis(rule, day, desk, doubts)
    counted = _lines_that_count(rule, day, desk, doubts)
    doubts.append(bool(sum(line.cost for line in counted)) and not sum(line.tax for line in counted))
    spared, room = 0.0, desk.room()
    for line in counted:
        if "rate_left" in values:
            off = max(line.tax - line.cost * values["rate_left"], 0.0)
        else:
            off = line.tax * values["share_spared"]
        spared += off
        if not any(doubts):
            line.tax -= off
    spared = min(spared, room)
    return Answer([spared] + [0.0] * desk.years, [], basis=basis, potential=spared)


def _in_term(year: int, term: float) -> float:
    """What part of a year of service, counted from 1, lies within a term."""
    return min(max(term - (year - 1), 0.0), 1.0)


def _performance(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    home = desk.home
    on_export = rule.paid_on.value == "export"
    if on_export and home.export_is_paid:
        return Answer([0.0] * (desk.years + 1), [])
    rate = values["per_kwh"] if "per_kwh" in values else values["per_mwh"]
    if isinstance(rate, tuple):
        size = _size(desk, "solar kw", doubts) if len(rate) > 1 else 1.0
        rate = _by_bands(rate, size) / size if size > 0 else 0.0
    rate = rate if "per_kwh" in values else rate / 1000.0
    term = values.get("term_years", INF)
    if _value(rule.to_year_end, False):
        left = (dt.date(day.year, 12, 31) - day).days + 1
        term += left / (dt.date(day.year, 12, 31) - dt.date(day.year - 1, 12, 31)).days
    amounts = [0.0]
    for year in range(1, desk.years + 1):
        kwh = (home.exported if on_export else home.generation)[year - 1]
        step = 1.0
        for _ in range(year - 1):
            step *= 1.0 - values.get("yearly_step_down", 0.0)
        amounts.append(kwh * rate * step * _in_term(year, term))
    return Answer(amounts, [], potential=sum(amounts))


def _metered(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    path = desk.home.claims.get(rule.id, {}).get("price")
    floor = values.get("floor_price", 0.0)
    doubts.append(path is None and floor == 0.0)
    amounts = [0.0]
    for year in range(1, desk.years + 1):
        price = 0.0 if path is None else path[min(year, len(path)) - 1]
        whole = desk.home.generation[year - 1] / values["kwh_each"]
        amounts.append(whole * max(price, floor) * _in_term(year, values.get("term_years", INF)))
    return Answer(amounts, [], potential=sum(amounts))


def _capacity(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    home = desk.home
    kw = home.claims.get(rule.id, {}).get("kw")
    doubts.append(kw is None)
    kw = 0.0 if kw is None else kw
    if home.battery_kw is not None:
        kw = min(kw, home.battery_kw)
    if values.get("event_hours", 0.0) > 0 and home.battery_usable_kwh is not None:
        kw = min(kw, home.battery_usable_kwh / values["event_hours"])
    term = values.get("term_years", INF)
    amounts = [0.0] + [kw * values["per_kw"] * _in_term(year, term) for year in range(1, desk.years + 1)]
    return Answer(amounts, [], potential=sum(amounts))


def _property(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    left = desk.house_tax
    doubts.append(left is None)
    amounts = [0.0] * (desk.years + 1)
    for year in range(1, desk.years + 1):
        if left is not None:
            term = values.get("term_years", INF)
            amounts[year] = left[year - 1] * values["exempt_share"] * _in_term(year, term)
    if left is not None and not any(doubts):
        desk.house_tax = [tax - spared for tax, spared in zip(left, amounts[1:], strict=True)]
    return Answer(amounts, [], potential=sum(amounts))


def _loan(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    """By how much the money lent exceeds the level instalments, each held against money at the discount rate."""
    principal = min(desk.room(), values.get("cap", INF))
    answer = Answer([0.0] * (desk.years + 1), [])
    if principal == 0.0 or principal < values.get("smallest", 0.0) or "term_years" not in values:
        return answer
    months = 12 * int(values["term_years"])
    monthly = values["rate"] / 12.0
    # The instalment that empties the loan: grow 1 by interest month by month, and every instalment of 1 as well.
    debt, deposits = 1.0, 0.0
    for _ in range(months):
        debt *= 1.0 + monthly
        deposits = deposits * (1.0 + monthly) + 1.0
    instalment = principal * debt / deposits
    later = sum(instalment * (1.0 + desk.home.discount) ** (-month / 12.0) for month in range(1, months + 1))
    answer.worth = max(principal - later - principal * values.get("fee", 0.0), 0.0)
    answer.potential = answer.worth
    return answer


def _exemption(rule: Any, values: Mapping[str, Any], day: dt.date, desk: _Desk, doubts: list[bool]) -> Answer:
    none = [0.0] * (desk.years + 1)
    size = _size(desk, "solar kw", doubts)
    return Answer(none, [], status="refused" if size > values["ceiling_kw"] else "granted")


_KINDS = {
    "tax credit": _credit,
    "tax deduction": _deduction,
    "upfront rebate": _rebate,
    "deemed certificates": _deemed,
    "sales tax relief": _sales_tax,
    "performance payment": _performance,
    "metered certificates": _metered,
    "capacity payment": _capacity,
    "property tax relief": _property,
    "below-market loan": _loan,
    "income tax exemption": _exemption,
}


def _income_tax(rule: Any, amounts: Sequence[float], desk: _Desk) -> list[float]:
    """Income tax on an award, by the rate on the next unit of income; year 0 is on the return of year 1."""
    tax = [0.0] * len(amounts)
    word = _value(rule.taxable, "no")
    told = {
        "no": False,
        "yes": True,
        "if itemised": desk.home.itemises,
        "household decides": desk.home.claims.get(rule.id, {}).get("taxed"),
    }[word]
    rate = desk.home.marginal.get("income tax")
    for other, answer in desk.answers.items():
        exempts = _value(desk.rules[other].exempts, ())
        pays = rule.kind in ("performance payment", "metered certificates", "capacity payment")
        if answer.status == "granted" and (rule.id in exempts or ("payments" in exempts and pays)):
            told = False
    if told and rate is not None:
        for year, amount in enumerate(amounts):
            tax[max(year, 1)] -= amount * rate
    return tax
