"""Price rises as rows of the CSV: the rise of the study, and what prices did before now."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

Plain = dict[str, Any]
Row = tuple[Any, ...]


def rise_rows(sweep: Plain) -> Iterator[Row]:
    """Rows with the columns of the CSV; calendar years stand in the note, as the column of years counts the study's."""
    own, history, reasons = sweep["own"], sweep["history"], sweep["reasons"]
    if own is None:
        yield "all", "own rise", "central", "", "", "", "per year", reasons["own"]
    else:
        for key in ("central", "p10", "p90"):
            number = "" if own[key] is None else own[key]
            yield "all", "own rise", key, "", "", number, "per year", own["reasons"].get(key, "")
    if history is None:
        yield "all", "price history", "price", "", "", "", "", reasons["history"]
        return
    for each in history["windows"]:
        note = f"{each['kind']}, {each['first']} to {each['last']}"
        for name, rise in (*each["rises"].items(), ("real", each["real"])):
            yield "all", "price rise", name, "", "", rise, "per year", note
    for one in history["series"]:
        changes = one["changes"]
        for key in ("mean", "sd"):
            note = f"yearly changes {changes['first']} to {changes['last']}"
            yield "all", "price rise", f"{one['name']} {key}", "", "", changes[key], "per year", note
        for part, quotes in (("price history", one["quotes"]), ("price history, not used", one["others"])):
            for quote in quotes:
                note = f"{quote['year']}, {quote['vintage']}, {quote['known']}; {one['publisher']}"
                yield "all", part, one["name"], "", "", quote["value"], one["unit"], note
        for gap in one["missing"]:
            yield "all", "price history", one["name"], "", "", "", one["unit"], f"{gap['year']}: {gap['why']}"
