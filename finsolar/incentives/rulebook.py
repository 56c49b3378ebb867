"""The rules finsolar holds for a place, read from its own rule files and kept.

A rule file lies in `rules/<country>/` or, for one region of a country, in `rules/<country>/<region>/`. The
records are defined in `law`; how a file is read and checked is written in `rulefile`.
"""

import re
from functools import lru_cache
from importlib.resources import files

from finsolar.incentives.law import Dated, Rule
from finsolar.incentives.rulefile import RuleError, parse_rule

__all__ = ["Dated", "Rule", "RuleError", "load_rules", "parse_rule"]


def load_rules(country: str, region: str | None = None) -> list[Rule]:
    """Return the rules of a country, and of one of its regions, in order of their id.

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
    return [rule for folder in folders for rule in _rules_in(folder)]


@lru_cache
def _rules_in(folder: str) -> tuple[Rule, ...]:
    place = files("finsolar.incentives").joinpath("rules", *folder.split("/"))
    if not place.is_dir():
        return ()
    found = sorted((entry for entry in place.iterdir() if entry.name.endswith(".yaml")), key=lambda entry: entry.name)
    return tuple(parse_rule(entry.read_text(encoding="utf-8"), f"{folder}/{entry.name}") for entry in found)
