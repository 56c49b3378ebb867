"""The rules a scenario is held against, those of its place and those it brings along; and whether its claims fit."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from finsolar.incentives.law import Rule
from finsolar.incentives.rulebook import RuleError, link_faults, load_rules, parse_rule, rule_from
from finsolar.scenario.nodes import parse
from finsolar.scenario.problems import Problem, ScenarioError, near, shown
from finsolar.scenario.schema import RawRule, Scenario

Place = Callable[[str], tuple[str, int, str]]
"""The file, the line (0 for none) and the name in messages of a field of a rule."""


def rules_of(scenario: Scenario) -> list[Rule]:
    """Return the rules of the scenario's place, then its own; raises ScenarioError as `considered` does."""
    shipped, own = considered(scenario)
    return [*shipped, *own]


def considered(scenario: Scenario) -> tuple[list[Rule], list[Rule]]:
    """Return the rules of the scenario's place, and its own; a rule of its own replaces the one of the same id.

    Raises
    ------
    ScenarioError
        If a file or folder cannot be read, a rule is faulty, two rules of one's own share an id, rules name others that
        are not there or lean on one another in a circle, a claim names no rule, or a claim tells what its rule does not
        ask; each at its file and line.
    """
    brought = [found for i, entry in enumerate(scenario.rules) for found in _brought(scenario, i, entry)]
    own = [rule for rule, _ in brought]
    ids = {rule.id for rule in own}
    shipped = [rule for rule in load_rules(scenario.place.country, scenario.place.region) if rule.id not in ids]
    problems = [*_of_links(shipped, brought), *_of_claims(scenario, [*shipped, *own])]
    if problems:
        raise ScenarioError(problems)
    return shipped, own


def _of_links(shipped: Sequence[Rule], brought: Sequence[tuple[Rule, Place]]) -> list[Problem]:
    """What is wrong between rules once some of one's own stand among them."""
    if not brought:
        return []
    problems = []
    for fault in link_faults([*shipped, *(rule for rule, _ in brought)]):
        place = next((place for rule, place in brought if rule is fault.rule), None)
        file, line, field = (fault.rule.file, 0, fault.field) if place is None else place(fault.field)
        problems.append(Problem(file, line, field, fault.what, fault.mend, "rule-links"))
    return problems


def _of_claims(scenario: Scenario, rules: Sequence[Rule]) -> list[Problem]:
    """What is wrong with claims: of no rule, or telling what the rule has no use for."""
    by_id = {rule.id: rule for rule in rules}
    problems: list[Problem] = []

    def refuse(path: str, what: str, mend: str, code: str) -> None:
        problems.extend(scenario.origin.refusal(f"claims.{path}", what, mend, code).problems)

    for rule_id, claim in scenario.claims.items():
        if rule_id not in by_id:
            what = f"is {shown(rule_id, 80)}, no rule of this place" if by_id else "is a claim where no rule is known"
            refuse(rule_id, what, near(rule_id, by_id), "unknown-rule")
            continue
        takes = _takes(by_id[rule_id])
        mend = f"remove it, since the rule takes {', '.join(takes) if len(takes) > 1 else 'claim alone'}"
        for name in type(claim).model_fields:
            if name not in takes and getattr(claim, name) is not None:
                refuse(f"{rule_id}.{name}", "is nothing that this rule asks for", mend, "idle-claim")
    return problems


def _takes(rule: Rule) -> list[str]:
    """The fields of a claim that can change what the rule answers."""
    refundable, taxable = rule.refundable, rule.taxable
    asked = {
        "claim": True,
        "confirmed": any(condition.needs == "household confirms" for condition in rule.conditions),
        "funds": rule.first_come is not None and rule.first_come.value,
        "refundable": refundable is not None and refundable.value == "elective",
        "taxed": taxable is not None and taxable.value == "household decides",
        "kw": rule.kind == "capacity payment",
        "used_before": "lifetime_cap" in rule.parameters,
        "price": rule.kind in {"metered certificates", "deemed certificates"},
        "zone": rule.zones is not None,
    }
    return [name for name, is_asked in asked.items() if is_asked]


def _brought(scenario: Scenario, i: int, entry: str | RawRule) -> Iterator[tuple[Rule, Place]]:
    """The rules of one entry of `rules`: written out, one file, or a folder with all below it; each with its place."""
    origin = scenario.origin

    def inline(field: str) -> tuple[str, int, str]:
        return origin.file, *origin.place_of(("rules", i, field))

    if isinstance(entry, RawRule):
        name = origin.place_of(("rules", i))[1]
        try:
            rule = rule_from(entry.data, entry.id, origin.file, lambda path: origin.place_of(("rules", i, *path))[0])
        except RuleError as error:
            found_there = (replace(told, field=f"{name}.{told.field}".rstrip(".")) for told in error.problems)
            raise ScenarioError(found_there) from None
        yield replace(rule, file=f"{origin.file}, {name}"), inline
        return
    place = origin.beside(entry)
    try:
        is_folder = place.is_dir()
    except OSError:  # a name too long for any file, or a folder that lets nobody in: reading it says so
        is_folder = False
    found, base = [place], place.parent
    if is_folder:
        found, base = sorted(place.rglob("*.yaml")), place
        if not found:
            raise origin.refusal(f"rules.{i}", f"is the folder {shown(entry)}, without a .yaml file", "name another",
                                 "no-rules")  # fmt: skip
    for file in found:
        yield _read(scenario, i, file, base)


def _read(scenario: Scenario, i: int, file: Path, base: Path) -> tuple[Rule, Place]:
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise scenario.origin.refusal(
            f"rules.{i}",
            f"names {shown(str(file), 200)}, which is not there",
            "name a .yaml file or a folder",
            "missing",
        ) from None
    except (OSError, UnicodeDecodeError, ValueError):
        raise scenario.origin.refusal(
            f"rules.{i}", f"names {shown(str(file), 200)}, which cannot be read as text", "name another", "unreadable"
        ) from None
    rule_id = file.relative_to(base).with_suffix("").as_posix()
    try:
        rule = parse_rule(text, str(file), rule_id)
    except RuleError as error:
        raise ScenarioError(error.problems) from None

    def in_file(field: str) -> tuple[str, int, str]:
        node = parse(text, str(file), []).get(field)
        return str(file), 0 if node is None else node.line, field

    return rule, in_file
