"""The record of outages of a country: how often the grid of an average customer fails there, and for how long."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from finsolar.scenario.interruptions import Interruptions, Storms
from finsolar.scenario.usage import Outage

KINDS = ("usual", "storms")
"""The kinds of outages: those of every year, and what major events add."""

_EITHER_WAY = 0.2
"""How far the times a year are taken to lie from those on record, whose years are few; common practice, no source."""

_KNOWN = {"seen": "read", "memory": "recalled from memory, not looked up"}


def record_of(country: str) -> dict[str, Interruptions]:
    """What the record of a country says of each kind of outages; empty without one.

    usual : times a year and hours each of the year without major events, hours = SAIDI / SAIFI.
    storms : of each year what all interruptions have beyond the usual ones, times = SAIFI less the usual SAIFI, hours =
    (SAIDI less the usual SAIDI) / times. The usual ones are on record for one year, and that is taken for all.
    Times a year lie as far around those on record as is common practice, a few years being too few to tell; hours of
    storms from the lowest to the highest of the years.
    Source: IEEE 1366 for the indices, the data file for the numbers.
    """
    entry = _book().get(country)
    if entry is None:
        return {}
    usual, every = entry["usual"], entry["all"]
    times = usual["saifi"]
    often = [year["saifi"] - times for year in every]
    long = [(year["saidi_minutes"] - usual["saidi_minutes"]) / 60.0 / n for year, n in zip(every, often, strict=True)]
    source, known = str(entry["reference"]), _KNOWN[entry["known"]]
    years = " and ".join(str(year["year"]) for year in every)
    beyond = {
        "times_a_year": _around(round(sum(often) / len(often), 4)),
        "hours_each": {"from": round(min(long), 3), "to": round(max(long), 3)},
    }
    each = round(usual["saidi_minutes"] / 60.0 / times, 3)
    wide = f"{_EITHER_WAY:.0%} either way around how often, common practice, no source"
    average = f"the record of the country, an average of all customers: {source}; {known}"
    return {
        "usual": Interruptions.model_validate({"times_a_year": _around(times), "hours_each": each}).recorded(
            source,
            f"{average}. Those of {usual['year']} without major events, the only such year on hand; {wide}",
        ),
        "storms": Storms.model_validate(beyond).recorded(
            source,
            f"{average}. Derived: what all interruptions of {years} have beyond those without major events, which are "
            f"on hand for {usual['year']} alone; {wide}",
        ),
    }


def _around(times: float) -> dict[str, float]:
    """The times a year with how far they may lie from there."""
    low, high = (round(times * (1 + way * _EITHER_WAY), 4) for way in (-1, 1))
    return {"low": low, "likely": times, "high": high}


def with_record(outage: Outage, country: str) -> Outage:
    """The same block with each kind of outages that it leaves out taken from the record of the country, if there is
    one; what is taken does not count as stated."""
    found = record_of(country)
    taken = {name: found[name] for name in KINDS if getattr(outage, name) is None and name in found}
    fields = {name: getattr(outage, name) for name in Outage.model_fields}
    return Outage.model_construct(set(outage.model_fields_set), **fields | taken)


@lru_cache(maxsize=1)
def _book() -> dict[str, Any]:
    from ruamel.yaml import YAML

    book: dict[str, Any] = YAML(typ="safe").load(Path(__file__).with_name("outage_record.yaml"))
    return book
