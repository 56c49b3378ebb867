"""Read one rule, from its own file or from within a scenario, with every fault placed by file, line and field.

What a rule may hold: the fields of `_READERS`, the terms of `ruleterms.TERMS` and the parameters of `law.KINDS`, whose
amounts `rulevalues` reads. Each amount stands under the day it starts and carries its reference and how that is known.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from typing import Any, get_args

from finsolar.incentives.law import (
    EVENTS,
    GRANTS,
    KINDS,
    NEEDS,
    NUMBERS,
    PAYMENTS,
    PRICE_REDUCTIONS,
    Condition,
    LineTest,
    Rule,
)
from finsolar.incentives.rulechecks import faults_of_kind
from finsolar.incentives.ruleparts import Fault, Faulty, Fields, Path, Reader, day, each, field_name, flag, one_of, text
from finsolar.incentives.ruleterms import TERMS
from finsolar.incentives.rulevalues import AMOUNT, Sort, number, parameters
from finsolar.scenario.nodes import Node, parse
from finsolar.scenario.outlay import Category
from finsolar.scenario.problems import Problem, ScenarioError, shown

_CATEGORIES = get_args(Category)
_OUTCOMES = ("refused", "unknown")
_WORDS = (PRICE_REDUCTIONS, GRANTS, PAYMENTS)
_SIZE = Sort("a number such as 10", zero=True)
_FIRST_FIELDS = "begin with the fields of one rule, such as `title: ...`"


class RuleError(Exception):
    """A rule breaks the rules for rules; `problems` holds every fault with its file, line, field and mend."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(set(problems)))
        super().__init__("\n".join(str(problem) for problem in self.problems))


def parse_rule(text: str, name: str, rule_id: str | None = None) -> Rule:
    """Return the rule written in `text`, the content of the rule file called `name`.

    Its id is `rule_id`, or `name` without its ending.

    Raises
    ------
    RuleError
        With every fault of the file; one for each field.
    """
    told: list[Problem] = []
    try:
        root = parse(text, name, told)
    except ScenarioError as error:
        raise RuleError(map(_of_rules, error.problems)) from None
    found: tuple[Problem, ...] = ()
    try:
        rule = rule_from(root.plain(), rule_id or name.removesuffix(".yaml"), name, lambda path: _line(root, path))
    except RuleError as error:
        found = tuple(problem for problem in error.problems if not any(_follows(problem, one) for one in told))
    if told or found:
        raise RuleError((*map(_of_rules, told), *found))
    return rule


def rule_from(data: Mapping[str, Any], rule_id: str, name: str, line_of: Callable[[Path], int]) -> Rule:
    """Return the rule of a plain mapping, such as one written within a scenario, checked as a file's is.

    `name` is the file that messages name. `line_of` gives the line of a path into `data`, names and places in lists
    from 0; where nothing is written at the path, that of the nearest block around it.

    Raises
    ------
    RuleError
        With every fault of the rule; one for each field, named as seen from within the rule.
    """
    try:
        return _read(data, rule_id, name)
    except Faulty as faulty:
        firsts = {fault.path: fault for fault in reversed(faulty.faults)}
        raise RuleError(
            Problem(name, line_of(path), field_name(path), fault.what, fault.mend, "rule")
            for path, fault in firsts.items()
        ) from None


def _of_rules(problem: Problem) -> Problem:
    """Return a fault found by the reader of scenarios with a mend that fits a rule."""
    if "finsolar new" in problem.mend:
        return replace(problem, mend=_FIRST_FIELDS)
    mend = problem.mend.replace("scenario", "rule").partition(", or let an alternative")[0]
    return replace(problem, mend=mend)


def _line(root: Node, path: Path) -> int:
    """Return the line of `path` in a tree, or of the nearest place around it that is written."""
    node = root
    for step in path:
        inner = node.entries[step] if isinstance(step, int) else node.get(step)
        if inner is None:
            break
        node = inner
    return node.line


def _follows(problem: Problem, told: Problem) -> bool:
    """Whether a fault is found in what stands in for a value that YAML itself could not give."""
    return (
        not told.field or problem.field == told.field or problem.field.startswith((f"{told.field}.", f"{told.field}["))
    )


def _read(data: Any, rule_id: str, file: str) -> Rule:
    fields = Fields(data, (), ("id", "kind", *_READERS, "parameters", *TERMS))
    if rule_id in _WORDS:
        fields.fault("id", f"is '{rule_id}', which rules use as a word", "give the rule another name")
    if fields.data.get("id", rule_id) != rule_id:
        fields.fault("id", f"is {shown(fields.data['id'])}, and the rule is known as {shown(rule_id)}", "remove it")
    kind = fields.need("kind", one_of(KINDS))
    known = kind if kind in KINDS else None
    parsed: dict[str, Any] = {"kind": kind}
    for name, read in _READERS.items():
        parsed[name] = fields.may(name, read, ()) if name in _OPTIONAL else fields.need(name, read)
    parsed["parameters"] = fields.need("parameters", lambda value, at: parameters(value, at, known))
    for name, term in TERMS.items():
        takes = known is None or known in term.kinds
        parsed[name] = fields.may(name, term.read, None) if takes else None
    if known:
        fields.faults += faults_of_kind(known, fields.data, parsed)
    for name in ("lowered_by", "excludes", "exempts", "credit_of"):
        if parsed[name] is not None and rule_id in _names(parsed[name].value):
            fields.fault(name, f"names the rule itself, '{rule_id}'", "name another rule, or remove it")
    fields.close()
    parsed["refundable"], parsed["haircut"] = parsed["refundable"] or (None, 0.0)
    return Rule(id=rule_id, file=file, **parsed)


def _names(value: str | tuple[str, ...]) -> tuple[str, ...]:
    return (value,) if isinstance(value, str) else value


def _currency(data: Any, path: Path) -> str:
    found = text(data, path)
    if len(found) != 3 or not found.isascii() or not found.isalpha() or not found.isupper():
        raise Faulty(Fault(path, f"is {shown(data)}", "write three capitals such as USD"))
    return found


def _line_test(data: Any, path: Path) -> LineTest:
    known = ("categories", "counted", "because", "since", "before", "smallest_kwh", "reference", "known")
    fields = Fields(data, path, known)
    categories = fields.need("categories", lambda value, at: each(value, at, one_of(_CATEGORIES)))
    counted, because = fields.need("counted", flag), fields.need("because", text)
    since = fields.may("since", day, None)
    before = fields.need("before", text) if "since" in fields.data else fields.may("before", text, "")
    smallest = fields.may("smallest_kwh", lambda value, at: number(value, at, AMOUNT), None)
    if before and "since" not in fields.data:
        fields.fault("before", "tells of days before since, which is missing", "add `since:`, or remove it")
    if "smallest_kwh" in fields.data and categories and "battery" not in categories:
        fields.fault("smallest_kwh", "has no use where no battery is named", "move it to the line of batteries")
    source = fields.source()
    fields.close()
    return LineTest(categories, counted, because, since, before, smallest, source)


def _line_tests(data: Any, path: Path) -> tuple[LineTest, ...]:
    tests = each(data, path, _line_test)
    seen: set[str] = set()
    for place, test in enumerate(tests):
        for category in test.categories:
            if category in seen:
                at = (*path, place, "categories")
                raise Faulty(Fault(at, f"names '{category}' a second time", "name each category once"))
            seen.add(category)
    return tests


def _condition(data: Any, path: Path) -> Condition:
    known = ("needs", "at_least", "at_most", "since", "until", "otherwise", "because", "known", "reference")
    fields = Fields(data, path, known)
    needs = fields.need("needs", one_of(NEEDS))
    otherwise, because = fields.need("otherwise", one_of(_OUTCOMES)), fields.need("because", text)
    at_least, at_most = (
        fields.may(name, lambda value, at: number(value, at, _SIZE), None) for name in ("at_least", "at_most")
    )
    since, until = fields.may("since", day, None), fields.may("until", day, None)
    limits = [name for name in ("at_least", "at_most") if name in fields.data]
    if needs in NUMBERS and not limits:
        fields.fault("needs", f"is '{needs}', a number, without a limit", "add `at_least:` or `at_most:`")
    elif needs in NEEDS and needs not in NUMBERS:
        for name in limits:
            fields.fault(name, f"has no use, since '{needs}' is yes or no", "remove it")
    if at_least is not None and at_most is not None and at_least > at_most:
        fields.fault("at_most", f"is {at_most:g}, less than at_least ({at_least:g})", "let at_most be the larger one")
    if since is not None and until is not None and not since < until:
        fields.fault("until", f"is {until}, not after since ({since})", "let until be the later day")
    source = fields.source()
    fields.close()
    return Condition(needs, otherwise, because, source, at_least, at_most, since, until)


_READERS: Mapping[str, Reader[Any]] = {
    "title": text,
    "currency": _currency,
    "reference": text,
    "checked_on": day,
    "event": one_of(EVENTS),
    "lines": _line_tests,
    "conditions": lambda data, path: each(data, path, _condition),
    "notes": lambda data, path: each(data, path, text),
}
"""The fields of every kind of rule, beside its kind, parameters and terms."""

_OPTIONAL = frozenset({"lines", "conditions", "notes"})
