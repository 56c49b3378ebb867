"""The rules finsolar holds for a place, read from its own rule files and kept.

A rule file lies in `rules/<country>/` or, for one region of a country, in `rules/<country>/<region>/`; its path from
there, without the ending, is the rule's id. The records are defined in `law`; how a file is read and checked is
written in `rulefile`.
"""

import re
from collections.abc import Iterator, Sequence
from functools import cache
from graphlib import CycleError, TopologicalSorter
from importlib.resources import files
from importlib.resources.abc import Traversable
from itertools import pairwise
from typing import NamedTuple

from finsolar.incentives.law import GRANTS, PAYMENTS, PRICE_REDUCTIONS, Dated, Rule
from finsolar.incentives.order import leans_on
from finsolar.incentives.rulefile import RuleError, parse_rule, rule_from
from finsolar.scenario.problems import near, printable

__all__ = [
    "Dated",
    "LinkFault",
    "Rule",
    "RuleError",
    "all_rules",
    "check_links",
    "find_rule",
    "link_faults",
    "load_rules",
    "parse_rule",
    "rule_from",
]


def load_rules(country: str, region: str | None = None) -> list[Rule]:
    """Return the rules of a country, and of one of its regions, each in order of their id.

    `country` is a two-letter code and `region` the code used after it (`US`, `NC`); letters of either case. A
    place without rule files gives an empty list.

    Raises
    ------
    ValueError
        If a code holds anything but letters, digits and hyphens.
    RuleError
        If a rule file is faulty.
    """
    codes = [code.lower() for code in (country, region) if code is not None]
    for code in codes:
        if not re.fullmatch(r"[a-z0-9-]+", code):
            raise ValueError(f"'{code}' is no country or region code: letters, digits and hyphens are meant, as in US")
    folders = ["/".join(codes[: depth + 1]) for depth in range(len(codes))]
    return [_rule(rule_id) for folder in folders for rule_id in _ids() if rule_id.rpartition("/")[0] == folder]


def all_rules() -> list[Rule]:
    """Return every rule there is a file for, in order of their id; raises RuleError if a file is faulty."""
    return [_rule(rule_id) for rule_id in _ids()]


def find_rule(rule_id: str) -> Rule:
    """Return the rule of that id, such as `us/residential-clean-energy-credit`.

    Raises
    ------
    LookupError
        If there is no such rule, with the nearest ids.
    RuleError
        If its file is faulty.
    """
    if rule_id not in _ids():
        raise LookupError(f"there is no rule '{printable(rule_id, 100)}'; {near(rule_id, _ids())}")
    return _rule(rule_id)


def _rules_folder() -> Traversable:
    return files("finsolar.incentives").joinpath("rules")


@cache
def _ids() -> tuple[str, ...]:
    """The ids of all rule files, sorted."""

    def walk(folder: Traversable, above: str) -> Iterator[str]:
        for entry in folder.iterdir():
            if entry.is_dir():
                yield from walk(entry, f"{above}{entry.name}/")
            elif entry.name.endswith(".yaml"):
                yield above + entry.name.removesuffix(".yaml")

    return tuple(sorted(walk(_rules_folder(), "")))


@cache
def _rule(rule_id: str) -> Rule:
    path = _rules_folder().joinpath(*f"{rule_id}.yaml".split("/"))
    return parse_rule(path.read_text(encoding="utf-8"), f"{rule_id}.yaml")


class LinkFault(NamedTuple):
    """One fault between rules: the rule and the field that are to be mended, what is wrong there, and the mend."""

    rule: Rule
    field: str
    what: str
    mend: str

    def __str__(self) -> str:
        return f"{self.rule.file}: {self.field}: {self.what}; {self.mend}"


def check_links(rules: Sequence[Rule]) -> list[str]:
    """Return what `link_faults` finds, in words."""
    return [str(fault) for fault in link_faults(rules)]


def link_faults(rules: Sequence[Rule]) -> list[LinkFault]:
    """Return what is wrong between rules; an empty list if nothing is.

    That is: two rules of one id, a name in `lowered_by`, `credit_of`, `excludes` or `exempts` that none of them has,
    a `credit_of` that is no tax credit, and rules that are lowered by, or a share of, one another in a circle, be they
    named or meant by a word. A circle is told once, at the last given of its rules.
    """
    by_id = {rule.id: rule for rule in rules}
    faults: list[LinkFault] = []
    for place, rule in enumerate(rules):
        if by_id[rule.id] is not rule:
            other = next(later for later in rules[place + 1 :] if later.id == rule.id)
            faults.append(LinkFault(rule, "id", f"'{rule.id}' is also that of {other.file}", "rename one of them"))
        for field, name in _links(rule):
            if name not in by_id:
                faults.append(LinkFault(rule, field, f"'{name}' is no rule here", near(name, by_id)))
            elif field == "credit_of" and by_id[name].kind != "tax credit":
                faults.append(LinkFault(rule, field, f"'{name}' is no tax credit", "name one, or remove the term"))
    return faults + _circles(rules)


def _links(rule: Rule) -> Iterator[tuple[str, str]]:
    """Yield the rules that a rule names, each with the field that does."""
    for field in ("lowered_by", "excludes", "exempts"):
        term = getattr(rule, field)
        for name in () if term is None else term.value:
            if name not in {PRICE_REDUCTIONS, GRANTS, PAYMENTS}:
                yield field, name
    if rule.credit_of is not None:
        yield "credit_of", rule.credit_of.value


def _circles(rules: Sequence[Rule]) -> list[LinkFault]:
    by_id = {rule.id: rule for rule in rules}
    given = list(by_id)
    links = leans_on(rules)
    found: list[LinkFault] = []
    while True:
        try:
            TopologicalSorter(links).prepare()
        except CycleError as error:
            # Each of the cycle is leant on by the next one; the first is also the last.
            circle: list[str] = error.args[1][:0:-1]
            start = circle.index(max(circle, key=given.index))
            first, second, *_ = way = [*circle[start:], *circle[: start + 1]]
            told = first
            for name, other in pairwise(way):
                word = links[name][other].name
                told += f" -> {other}" if word == other else f" -> {other} (one of the {word})"
            what = f"leads round in a circle, {told}"
            found.append(LinkFault(by_id[first], links[first][second].field, what, "take one link out"))
            links = {name: on for name, on in links.items() if name not in circle}
        else:
            return found
