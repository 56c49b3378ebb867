"""Which rules the command line speaks of: those of a place, or those of one's own files."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

from finsolar.incentives.law import Rule
from finsolar.incentives.rulebook import RuleError, all_rules, find_rule, load_rules, parse_rule
from finsolar.scenario.problems import Problem, near, printable


def day_of(text: str) -> date:
    """The day that was written; raises ValueError with a message if it is none."""
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            pass
    raise ValueError(f"--date: '{printable(text, 40)}' is no day; write one such as 2026-09-01")


def chosen(country: str | None, region: str | None, path: Path | None) -> list[Rule]:
    """The rules to list: all that come with finsolar, those of a place, or those of one's own file or folder.

    Raises
    ------
    ValueError
        If a region stands without its country, or the path holds no rule file.
    LookupError
        If no rule of the country is known, with the countries that are.
    RuleError, OSError
        If a rule file is faulty or cannot be read.
    """
    if region is not None and country is None:
        raise ValueError("--region: a region belongs to a country; add --country, such as --country US")
    if path is not None:
        if country is not None:
            raise ValueError("--rules: rules of your own are listed whatever their place; leave out --country")
        return _own(path)
    if country is None:
        return all_rules()
    found = load_rules(country, region)
    if not found:
        known = sorted({rule.id.partition("/")[0].upper() for rule in all_rules()})
        raise LookupError(f"--country: no rule of '{printable(country, 40)}' is known here; known: {', '.join(known)}")
    of_country = [rule.id.split("/") for rule in all_rules() if rule.id.startswith(f"{country.lower()}/")]
    regions = sorted({parts[1].upper() for parts in of_country if len(parts) > 2})
    if region is not None and region.upper() not in regions:
        others = f"known: {', '.join(regions)}" if regions else "no region of that country has rules here"
        raise LookupError(
            f"--region: no rule of '{printable(region, 40)}' itself is known here; {others}; leave out --region for "
            "the rules of the whole country"
        )
    return found


def one(name: str, path: Path | None) -> Rule:
    """The rule of that id, or in that file; with ``path``, from among one's own.

    Raises LookupError with the nearest ids if there is none, and RuleError or OSError for a file that does not read.
    """
    if path is not None:
        own = _own(path)
        found = next((rule for rule in own if rule.id == name), None)
        if found is None:
            raise LookupError(f"there is no rule '{printable(name, 100)}' in {path}; {near(name, [r.id for r in own])}")
        return found
    if name.endswith((".yaml", ".yml")):
        return _read(Path(name), Path(name).parent)
    return find_rule(name)


def _own(path: Path) -> list[Rule]:
    """The rules of a file, or of a folder and all below it."""
    if not path.is_dir():
        return [_read(path, path.parent)]
    found = sorted(path.rglob("*.yaml"))
    if not found:
        raise ValueError(f"{printable(str(path), 200)}: is a folder without a .yaml file; name another")
    rules: list[Rule] = []
    faults: list[Problem] = []
    for file in found:
        try:
            rules.append(_read(file, path))
        except RuleError as error:
            faults += error.problems
    if faults:
        raise RuleError(faults)
    return rules


def _read(file: Path, base: Path) -> Rule:
    name = printable(str(file), 300)
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise LookupError(f"{name}: no such file; name a rule file, or an id of `finsolar incentives`") from None
    except (OSError, ValueError):
        raise ValueError(f"{name}: cannot be read as text; name a rule file") from None
    return parse_rule(text, name, file.relative_to(base).with_suffix("").as_posix())
