"""Every input of a study in one table: its id, its words, its value, and who says so.

An id is the input's path in the JSON of the study; ``finsolar vary`` and the workbook call it by the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from finsolar.report.words.fields_told import words_of
from finsolar.scenario.stated import JSON_ROOT, statements

if TYPE_CHECKING:
    from finsolar.scenario.schema import Scenario
    from finsolar.study import Study

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

_WORK = "The work and its days"

SAYS = "The household says so."
READ = "The file holds it."

_KNOWN = {
    "common practice": "assumed; common practice, no source",
    "memory": "assumed; recalled from memory",
    "default": "assumed",
}
_SEEN = {"seen": "read", "memory": "recalled from memory, not looked up"}


@dataclass(frozen=True)
class Row:
    """One input as text; ``range`` is empty where it is one number."""

    id: str
    words: str
    value: str
    range: str
    source: str
    why: str


def stated_as_plain(scenario: Scenario) -> list[Plain]:
    """What the scenario states, row by row, with words; raises nothing."""
    return [asdict(row) | {"words": words_of(scenario, row.id.removeprefix(JSON_ROOT))} for row in statements(scenario)]


def assumptions_as_plain(study: Study) -> list[Plain]:
    """What the scenario leaves out, row by row, with words."""
    return [
        asdict(row) | {"words": words_of(study.scenario, row.id.removeprefix(JSON_ROOT), shared=row.places > 1)}
        for row in study.assumptions
    ]


def sources_as_plain(study: Study) -> list[Plain]:
    """Where the weather and the load of a study come from."""
    from finsolar.energy.load import STANDARD, shape_about

    scenario, load = study.scenario, study.scenario.household.load
    found = []
    if any(plan.system.production is None for plan in scenario.alternatives):
        found.append({"of": "weather", "told": study.site.weather.source})
    for name in dict.fromkeys(plan.system.production for plan in scenario.alternatives):
        if name is not None:
            found.append({"of": "production", "told": f"The household’s own record, in {name}."})
    if isinstance(load.shape, str):
        origin = "published" if load.shape == STANDARD else "invented"
        found.append({"of": "load", "told": f"The household’s sums by month, spread by “{load.shape}”, {origin}: "
                      f"{shape_about(load.shape)}."})  # fmt: skip
    elif load.file is not None:
        found.append({"of": "load", "told": f"The readings of the household’s own meter, in {load.file}."})
    else:
        found.append({"of": "load", "told": "The household’s own numbers in the scenario."})
    return found


def groups(plain: Plain) -> list[tuple[str, list[Row]]]:
    """All inputs, those of one alternative alone under its name, in the order of the groups."""
    found: dict[str, list[Row]] = {title: [] for title in (*BLOCKS.values(), _WORK)}
    for one in plain["stated"]:
        title = f"Only in “{one['whose']}”" if one["whose"] else _block(one["id"])
        found.setdefault(title, []).append(_stated(one))
    for one in plain["assumptions"]:
        found[_block(one["id"])].append(_assumed(one))
    return [(title, rows) for title, rows in found.items() if rows]


def left_out(plain: Plain) -> list[Row]:
    """What was left out alone."""
    return [_assumed(one) for one in plain["assumptions"]]


def sources(plain: Plain) -> list[tuple[str, str, str]]:
    """What else the study rests on: what it is, where it comes from, and how that is known."""
    names = {"weather": "Weather", "load": "Load by the hour", "production": "Production by the hour"}
    rows = [(names[one["of"]], one["told"], "–") for one in plain["sources"]]
    for award in _rules(plain):
        known = f"{_SEEN[award['known']]}; rule file checked on {award['checked_on']}"
        rows.append((award["title"], award["reference"], known))
    for series in _series(plain):
        years = [quote["year"] for quote in series["quotes"]]
        said = f"{series['publisher']}: {series['source']}" if years else series["source"]
        span = f"{series['title']}, {min(years)} to {max(years)}" if years else series["title"]
        rows.append((span, said, _known(series["quotes"])))
    return rows


def _rules(plain: Plain) -> list[Plain]:
    found: dict[str, Plain] = {}
    for plan in plain["alternatives"]:
        for award in plan["incentives"]:
            found.setdefault(award["rule"], award)
    return list(found.values())


def _series(plain: Plain) -> list[Plain]:
    history = plain["sensitivity"][0]["history"] if plain["sensitivity"] else None
    return [] if history is None else list(history["series"])


def _known(quotes: Sequence[Plain]) -> str:
    """How the numbers of a series are known; the odd ones are counted."""
    seen = sum(quote["known"] == "seen" for quote in quotes)
    if seen in {0, len(quotes)}:
        return _SEEN["seen" if seen else "memory"]
    return f"{seen} of {len(quotes)} read, the others recalled from memory"


def _block(id_: str) -> str:
    """The group of an id, by its first step within the scenario or within an alternative."""
    steps = id_.removeprefix(JSON_ROOT).split(".")
    return BLOCKS.get(steps[2] if steps[0] == "alternatives" else steps[0], _WORK)


def _stated(one: Plain) -> Row:
    line = f"line {one['line']} of the scenario" if one["line"] else "the scenario"
    read = one["source"] == "data file"
    return Row(
        id=one["id"],
        words=one["words"],
        value=one["used"],
        range=one["value"] if one["range"] else "",
        source=f"{line}; a file of data" if read else line,
        why=READ if read else SAYS,
    )


def _assumed(one: Plain) -> Row:
    why, many = one["why"], one["places"] > 1
    return Row(
        id=one["id"],
        words=f"{one['words']}, in {one['places']} places" if many else one["words"],
        value="–" if one["value"] == "not stated" else one["value"],
        range="",
        source=_KNOWN[one["source"]],
        why=f"{why[:1].upper()}{why[1:]}.",
    )
