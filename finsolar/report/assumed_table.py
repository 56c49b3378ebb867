"""Every input of a study in one table: its id, its words, its value, and who says so.

An id is the input's path in the JSON of the study; ``finsolar vary`` and the workbook call it by the same.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from finsolar.report.words import assumed_told
from finsolar.report.words.fields_told import words_of
from finsolar.scenario.stated import JSON_ROOT, statements

if TYPE_CHECKING:
    from finsolar.results import Study
    from finsolar.scenario.schema import Scenario

Plain = dict[str, Any]


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
            found.append({"of": "production", "told": assumed_told.own_record(name)})
    if isinstance(load.shape, str):
        spread = assumed_told.spread_by(load.shape, load.shape == STANDARD, shape_about(load.shape))
        found.append({"of": "load", "told": spread})
    elif load.file is not None:
        found.append({"of": "load", "told": assumed_told.own_meter(load.file)})
    else:
        found.append({"of": "load", "told": assumed_told.OWN_NUMBERS})
    return found


def groups(plain: Plain) -> list[tuple[str, list[Row]]]:
    """All inputs, those of one alternative alone under its name, in the order of the groups."""
    found: dict[str, list[Row]] = {title: [] for title in (*assumed_told.BLOCKS.values(), assumed_told.WORK)}
    for one in plain["stated"]:
        title = assumed_told.only_in(one["whose"]) if one["whose"] else _block(one["id"])
        found.setdefault(title, []).append(_stated(one))
    for one in plain["assumptions"]:
        found[_block(one["id"])].append(_assumed(one))
    return [(title, rows) for title, rows in found.items() if rows]


def left_out(plain: Plain) -> list[Row]:
    """What was left out alone."""
    return [_assumed(one) for one in plain["assumptions"]]


def sources(plain: Plain) -> list[tuple[str, str, str]]:
    """What else the study rests on: what it is, where it comes from, and how that is known."""
    rows = [(assumed_told.SOURCES[one["of"]], one["told"], "–") for one in plain["sources"]]
    rows += [(award["title"], award["reference"], assumed_told.rule_known(award)) for award in _rules(plain)]
    for series in _series(plain):
        said = f"{series['publisher']}: {series['source']}" if series["quotes"] else series["source"]
        rows.append((assumed_told.series_span(series), said, assumed_told.series_known(series["quotes"])))
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


def _block(id_: str) -> str:
    """The group of an id, by its first step within the scenario or within an alternative."""
    steps = id_.removeprefix(JSON_ROOT).split(".")
    return assumed_told.BLOCKS.get(steps[2] if steps[0] == "alternatives" else steps[0], assumed_told.WORK)


def _stated(one: Plain) -> Row:
    source, why = assumed_told.stated_where(one)
    return Row(
        id=one["id"],
        words=one["words"],
        value=one["used"],
        range=one["value"] if one["range"] else "",
        source=source,
        why=why,
    )


def _assumed(one: Plain) -> Row:
    source, why = assumed_told.assumed_where(one)
    return Row(
        id=one["id"],
        words=assumed_told.assumed_words(one),
        value=assumed_told.assumed_value(one),
        range="",
        source=source,
        why=why,
    )
