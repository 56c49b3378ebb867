"""Words of the table of inputs: its groups, where each input comes from, and who says so."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

Plain = dict[str, Any]

BLOCKS = {
    "study": "The study",
    "currency": "The study",
    "together": "The study",
    "place": "The place and its weather",
    "weather": "The place and its weather",
    "household": "The household and its load",
    "tariff": "The tariff",
    "generator": "The generator",
    "stay": "Staying as you are",
    "system": "The system",
    "purchase": "What it costs",
    "costs": "What it costs",
    "rebates": "What it costs",
    "upkeep": "What comes back",
    "payment": "How it is paid",
    "rules": "Incentives",
    "claims": "Incentives",
}
"""The groups of the table by the block of the scenario, in order; what belongs to none stands under the work."""

WORK = "The work and its days"

SAYS = "The household says so."
READ = "The file holds it."

OWN_NUMBERS = "The household’s own numbers in the scenario."

SOURCES = {"weather": "Weather", "load": "Load by the hour", "production": "Production by the hour"}
"""What else the study rests on, by its key in the JSON."""

_KNOWN = {
    "common practice": "assumed; common practice, no source",
    "memory": "assumed; recalled from memory",
    "default": "assumed",
}
_SEEN = {"seen": "read", "memory": "recalled from memory, not looked up"}


def only_in(name: str) -> str:
    """The group of what one alternative alone states."""
    return f"Only in “{name}”"


def own_record(file: str) -> str:
    """Where the production comes from, if the household recorded it."""
    return f"The household’s own record, in {file}."


def own_meter(file: str) -> str:
    """Where the load comes from, if the household's meter was read."""
    return f"The readings of the household’s own meter, in {file}."


def spread_by(shape: str, published: bool, about: str) -> str:
    """Where the load comes from, if sums by month were spread over the hours by a known shape."""
    origin = "published" if published else "invented"
    return f"The household’s sums by month, spread by “{shape}”, {origin}: {about}."


def rule_known(award: Plain) -> str:
    """How a rule is known, and when its file was checked."""
    return f"{_SEEN[award['known']]}; rule file checked on {award['checked_on']}"


def series_span(series: Plain) -> str:
    """A series of prices and the years of it that are used."""
    years = [quote["year"] for quote in series["quotes"]]
    return f"{series['title']}, {min(years)} to {max(years)}" if years else str(series["title"])


def series_known(quotes: Sequence[Plain]) -> str:
    """How the numbers of a series are known; the odd ones are counted."""
    seen = sum(quote["known"] == "seen" for quote in quotes)
    if seen in {0, len(quotes)}:
        return _SEEN["seen" if seen else "memory"]
    return f"{seen} of {len(quotes)} read, the others recalled from memory"


def stated_where(one: Plain) -> tuple[str, str]:
    """Where an input is stated, and why it is believed."""
    line = f"line {one['line']} of the scenario" if one["line"] else "the scenario"
    return (f"{line}; a file of data", READ) if one["source"] == "data file" else (line, SAYS)


def assumed_words(one: Plain) -> str:
    """What an assumption is called, and in how many places it is made."""
    return f"{one['words']}, in {one['places']} places" if one["places"] > 1 else str(one["words"])


def assumed_value(one: Plain) -> str:
    """What is assumed; a dash for what is nothing."""
    return "–" if one["value"] == "not stated" else str(one["value"])


def assumed_where(one: Plain) -> tuple[str, str]:
    """Where an assumption comes from, and why it is made."""
    why = one["why"]
    return _KNOWN[one["source"]], f"{why[:1].upper()}{why[1:]}."
