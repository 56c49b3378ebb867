"""Incentive rules told on their own, without a house: as a list, and one of them whole."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from finsolar.incentives.law import FALLBACK, KINDS, Condition, Ended, LineTest, NotYet, Rule, Term, Unknown, Value
from finsolar.incentives.wording import in_words, percent, written
from finsolar.report.words.amounts import joined
from finsolar.report.words.awards import KINDS as KINDS_IN_WORDS
from finsolar.report.words.awards import LAW_CHANGES
from finsolar.scenario.problems import printable

HOW_KNOWN = {
    "seen": "read in a law, form, agency page or a text quoting one",
    "memory": "recalled from memory, not looked up",
}

_SAYS = {
    "share": "{} of the basis",
    "per_kw": "{} a kW",
    "per_kwh": "{} a kWh",
    "per_mwh": "{} a MWh",
    "fixed": "{}",
    "yearly_shares": "{} of the basis",
    "kwh_each": "one for {} kWh",
    "factor": "factor {}",
    "rate_left": "{} tax left",
    "share_spared": "{} of the tax spared",
    "exempt_share": "{} exempt",
    "rate": "{} interest a year",
    "ceiling_kw": "up to {} kW",
}
"""What the leading parameters say, in a few words."""

_TERMS = {
    "refundable": "Paid out beyond the tax owed",
    "haircut": "Given up for the refund",
    "carry_forward": "Carried to later years",
    "over_yearly_cap": "What is above the yearly cap",
    "against": "Set against",
    "lowered_by": "Lowered by",
    "credit_of": "A share of another credit",
    "lowers_price": "Lowers the price",
    "taxable": "Taxed as income",
    "excludes": "Not together with",
    "exempts": "Frees of income tax",
    "first_come": "First come, first served",
    "business_use": "Use for business",
    "paid_on": "Paid on",
    "to_year_end": "Runs on to the end of its last year",
    "size": "Measured by",
    "zones": "Zones",
    "arrives_in_year": "Comes in year",
}
"""The terms of a rule under names that people read."""


def listing(rules: Sequence[Rule], day: date, width: int = 120) -> str:
    """A table of rules: id and title, kind, what it says on ``day``, the next change, when and how it was checked.

    A rule takes one row where ``width`` columns are enough, else two.
    """
    head = ("id", "title", "kind", f"on {written(day)}", "next change", "checked on", "known")
    rows = [head, *(_row(rule, day) for rule in rules)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(head))]
    lines: list[str] = []
    if sum(widths) + 2 * (len(head) - 1) <= width:
        lines = ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in rows]
    else:
        for row in rows:
            lines.append(printable(f"{row[0]}: {row[1]}", max(width, 20)))
            rest = zip(row[2:], widths[2:], strict=True)
            lines.append(printable("    " + "  ".join(c.ljust(w) for c, w in rest).rstrip(), max(width, 20)))
    number = f"{len(rules)} rule{'' if len(rules) == 1 else 's'}."
    more = "To read one whole: finsolar incentives RULE, with its id."
    return "\n".join([*lines, "", *textwrap.wrap(f"{number} {more} {LAW_CHANGES}", max(width, 20))])


def _row(rule: Rule, day: date) -> tuple[str, ...]:
    title, says = printable(rule.title, 80), printable(says_on(rule, day), 48)
    coming = next_change(rule, day)
    change = "none known" if coming is None else coming.isoformat()
    return (rule.id, title, rule.kind, says, change, rule.checked_on.isoformat(), _known(rule, day))


def _known(rule: Rule, day: date) -> str:
    entry = rule.leading.at(day)
    return (rule.leading.entries[0] if isinstance(entry, NotYet) else entry).source.known


def says_on(rule: Rule, day: date) -> str:
    """What a rule says on a day in a few words: ``30% of the basis``, ``ended 31 December 2025``, ``not known``."""
    entry = rule.leading.at(day)
    if isinstance(entry, Ended):
        return f"ended {written(entry.eve)}"
    if isinstance(entry, NotYet):
        return f"begins {written(entry.first)}"
    if isinstance(entry, Unknown):
        return "not known"
    if rule.lead == "ceiling_kw" and entry.amount == float("inf"):
        return "whatever the size"
    parts = [
        _SAYS[name].format(in_words(name, value, rule.currency))
        for name in KINDS[rule.kind].leading
        if (value := rule.value(name, day)) is not None
    ]
    cap = rule.value("cap", day)
    most = "" if cap is None or cap.number == float("inf") else f", at most {in_words('cap', cap, rule.currency)}"
    return " + ".join(parts) + most


def next_change(rule: Rule, day: date) -> date | None:
    """The next day after ``day`` on which something the rule says begins or ends."""
    return next((change for change in rule.changes() if change > day), None)


def _next_in_words(rule: Rule, day: date) -> str:
    coming = next_change(rule, day)
    return "No later change is known." if coming is None else f"The next change is on {written(coming)}."


def explained(rule: Rule, day: date, today: date, width: int = 100) -> str:
    """One rule whole: its kind, what decides, every dated value with its source, terms, lines, conditions, cautions."""
    width = max(min(width, 110), 30)
    lines: list[str] = []

    def say(text: str, indent: int = 0) -> None:
        lines.extend(
            textwrap.wrap(
                printable(text, 5000), width, initial_indent=" " * indent, subsequent_indent=" " * (indent + 2)
            )
        )

    def head(text: str) -> None:
        lines.extend(["", text])

    say(rule.title)
    say(f"{rule.id}, in {rule.currency}; {rule.reference}")
    say(KINDS_IN_WORDS[rule.kind])
    say(f"On {written(day)}: {says_on(rule, day)}. {_next_in_words(rule, day)}")
    head("What decides")
    say(_event_in_words(rule.event), 2)
    head("Values by the day that decides")
    for name, dated in rule.parameters.items():
        say(f"{name}, {dated.unit}", 2)
        for entry in dated.entries:
            what = _entry_in_words(name, entry, rule.currency)
            because = f" {entry.because}" if isinstance(entry, Ended | Unknown) else ""
            say(f"from {written(entry.start)}: {what}.{because} ({_source(entry.source)})", 4)
    terms = list(_terms(rule))
    if terms:
        head("Terms")
        for term in terms:
            say(term, 2)
    if rule.lines:
        head("Which cost lines count")
        for test in rule.lines:
            say(_line_in_words(test), 2)
    if rule.conditions:
        head("Conditions")
        for condition in rule.conditions:
            say(_condition_in_words(condition, rule.currency), 2)
    if rule.notes:
        head("Notes")
        for note in rule.notes:
            say(note, 2)
    head("Cautions")
    for caution in _cautions(rule, today):
        say(caution, 2)
    return "\n".join(lines)


def _event_in_words(event: str) -> str:
    if event == "new year":
        return "The tax year: the value in force on 1 January of the year in which the system is switched on."
    says = f"The day of '{event}' selects every value."
    if event in FALLBACK:
        field = f"dates.{event.replace(' ', '_')}"
        says += f" Where a scenario does not state it ({field}), the day of '{FALLBACK[event]}' stands for it."
    return says


def _entry_in_words(name: str, entry: Value | Ended | Unknown, currency: str) -> str:
    if isinstance(entry, Value):
        return in_words(name, entry, currency)
    return "ended" if isinstance(entry, Ended) else "not known"


def _source(source: Any) -> str:
    return f"{source.reference}; {source.known}"


def _terms(rule: Rule) -> Iterator[str]:
    """The terms of a rule, in the order of their names above, each with its words and source."""
    for name, title in _TERMS.items():
        term = getattr(rule, name)
        if isinstance(term, Term):
            because = f" {term.because}" if term.because else ""
            yield f"{title}: {_term_value(name, term.value)}.{because} ({_source(term.source)})"
        elif name == "haircut" and term:
            yield f"{title}: {percent(term)} of the credit."


def _term_value(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return joined([str(part) for part in value])
    if isinstance(value, str | int):
        return "as you choose" if value == "elective" else str(value)
    if name == "zones":
        return "; ".join(f"{zone} has {factor:g}" for zone, factor in value.items())
    if name == "business_use":
        return f"up to {percent(value)} the whole cost counts"
    return "without end" if value == float("inf") else f"{value:g} years"


def _line_in_words(test: LineTest) -> str:
    since = f" since {written(test.since)}" if test.since else ""
    smallest = f", from {test.smallest_kwh:g} kWh on" if test.smallest_kwh else ""
    says = f"{'yes' if test.counted else 'no'}{since}{smallest}: {', '.join(test.categories)}; {test.because}"
    before = f". Before: {test.before}" if test.before else ""
    return f"{says}{before} ({_source(test.source)})"


def _condition_in_words(condition: Condition, currency: str) -> str:
    limits = []
    money = f"{currency} " if condition.needs == "income" else ""
    if condition.at_least is not None:
        limits.append(f"at least {money}{condition.at_least:,g}")
    if condition.at_most is not None:
        limits.append(f"at most {money}{condition.at_most:,g}")
    if condition.since is not None:
        limits.append(f"asked from {written(condition.since)}")
    if condition.until is not None:
        limits.append(f"asked until {written(condition.until)}")
    asked = ", ".join([condition.needs, *limits])
    return f"{asked}; otherwise {condition.otherwise}. {condition.because} ({_source(condition.source)})"


def _cautions(rule: Rule, today: date) -> Iterator[str]:
    yield LAW_CHANGES
    late = ", more than a year ago: look whether the law has changed" if (today - rule.checked_on).days > 365 else ""
    yield f"The rule file was last checked on {written(rule.checked_on)}{late}."
    told = f"'seen' means {HOW_KNOWN['seen']}; 'memory' means {HOW_KNOWN['memory']}."
    recalled = any(entry.source.known == "memory" for dated in rule.parameters.values() for entry in dated.entries)
    yield f"{told} Look up what comes from memory before you rely on it." if recalled else told
