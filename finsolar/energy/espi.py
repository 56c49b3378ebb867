"""One pass over an ESPI feed: its entries, their links and numbers, and its interval readings, with no meaning yet.

The file is read once, in pieces, by expat with handlers of our own. A file from elsewhere is not to be trusted:
any DOCTYPE, and with it every entity, is refused before anything is expanded; bytes, depth and the number of
resources are capped; links are compared as strings and never followed; of all the text in the file only numbers
are kept, so that no name or account can reach a report.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from xml.parsers import expat

import numpy as np

from finsolar.energy.readings import MeterError, Rows
from finsolar.scenario.problems import shown

MOST_BYTES = 1 << 30
MOST_DEPTH = 64
MOST_RESOURCES = 10_000
"""Most entries other than blocks of readings, and most links of one entry."""
LONGEST_NUMBER = 40
PIECE = 1 << 16
LATEST = 4_102_444_800  # the year 2100, in seconds since 1970
LONGEST_SECONDS = 1 << 30
AGAIN = "get the file anew from your supplier"

DETAILS = {
    "ReadingType": {
        "accumulationBehaviour",
        "commodity",
        "flowDirection",
        "intervalLength",
        "powerOfTenMultiplier",
        "uom",
    },
    "LocalTimeParameters": {"dstEndRule", "dstOffset", "dstStartRule", "tzOffset"},
    "ServiceCategory": {"kind"},
}
CONTENTS = {"IntervalBlock", "MeterReading", "ReadingType", "UsagePoint", "LocalTimeParameters"}


@dataclass
class Entry:
    """What one entry of the feed has said so far."""

    rows: Rows
    own: str = ""
    up: str = ""
    related: list[str] = field(default_factory=list)
    content: str = ""
    numbers: dict[str, str] = field(default_factory=dict)


class Feed:
    """The handlers of one pass over a file, and what they gathered."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.blocks: dict[str, Rows] = {}
        self.entries: list[Entry] = []
        self._stack: list[str] = []
        self._entry = self._new_entry()
        self._block_start: int | None = None
        self._steps = 0
        self._reading: dict[str, int] = {}
        self._wanted = False
        self._text = ""
        self._parser = expat.ParserCreate("UTF-8")
        self._parser.buffer_text = True
        self._parser.XmlDeclHandler = self._declared
        self._parser.StartDoctypeDeclHandler = self._doctype
        self._parser.EntityDeclHandler = self._doctype
        self._parser.ExternalEntityRefHandler = self._doctype
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._characters

    def run(self) -> None:
        """Read the whole file."""
        size = 0
        with self.path.open("rb") as file:
            while piece := file.read(PIECE):
                if b"\0" in piece:
                    # Expat would take it for UTF-16, whatever encoding it is told.
                    raise self.error("is not written in UTF-8", "save it as UTF-8")
                size += len(piece)
                if size > MOST_BYTES:
                    raise self.error(f"is larger than {MOST_BYTES >> 20} MB", "ask your supplier for a shorter period")
                self._parser.Parse(piece, False)
            self._parser.Parse(b"", True)

    def error(self, what: str, mend: str) -> MeterError:
        return MeterError(self.path, self._parser.CurrentLineNumber, what, mend)

    def _declared(self, _version: str, encoding: str | None, _standalone: int) -> None:
        if encoding is not None and encoding.lower() not in ("utf-8", "us-ascii", "ascii"):
            raise self.error(f"is written in {shown(encoding)}", "save it as UTF-8")

    def _doctype(self, *_: object) -> int:
        raise self.error(
            "holds a DOCTYPE or an entity, which no meter file needs", "get the file anew; do not trust it"
        )

    def _new_entry(self) -> Entry:
        return Entry(Rows(self.path, 6))

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        stack = self._stack
        if len(stack) >= MOST_DEPTH:
            raise self.error("is nested too deeply", AGAIN)
        local = name.rpartition(":")[2]
        parent = stack[-1] if stack else ""
        stack.append(local)
        self._text = ""
        self._wanted = (
            parent in ("timePeriod", "interval", "IntervalReading") and self._entry.content == "IntervalBlock"
        ) or local in DETAILS.get(parent, ())
        if local == "link":
            self._link(attributes.get("rel", ""), attributes.get("href", ""))
        elif local == "entry":
            self._entry = self._new_entry()
        elif parent == "content" and local in CONTENTS:
            self._entry.content = local
            self._block_start = None
            self._steps = 0
        elif local == "IntervalReading":
            self._reading = {}

    def _link(self, rel: str, href: str) -> None:
        if rel == "self":
            self._entry.own = href
        elif rel == "up":
            self._entry.up = href
        elif rel == "related":
            self._entry.related.append(href)
            if len(self._entry.related) > MOST_RESOURCES:
                raise self.error("has an entry with too many links", AGAIN)

    def _characters(self, data: str) -> None:
        if self._wanted:
            self._text += data
            if len(self._text) > LONGEST_NUMBER:
                raise self.error("has a text where a number belongs", AGAIN)

    def _end(self, _name: str) -> None:
        local = self._stack.pop()
        if self._wanted:
            self._wanted = False
            self._number(local, self._stack[-1], self._text.strip())
        elif local == "IntervalReading" and self._stack[-1:] == ["IntervalBlock"]:
            self._reading_ends()
        elif local == "entry":
            self._entry_ends()

    def _number(self, name: str, parent: str, text: str) -> None:
        if parent in DETAILS:
            self._entry.numbers[name] = text
            return
        if name not in ("start", "duration", "value", "cost"):
            return
        try:
            number = int(text)
        except ValueError:
            number = 1 << 60
        if abs(number) > (LONGEST_SECONDS if name == "duration" else 1 << 50):
            raise self.error(f"has {shown(text)} as {name}", AGAIN)
        if parent != "interval":
            self._reading[name] = number
        elif name == "start":
            self._block_start = number
            self._steps = 0

    def _reading_ends(self) -> None:
        """Keep a reading; one without a time of its own as the n-th of its block, its length yet unknown (0)."""
        reading, line = self._reading, self._parser.CurrentLineNumber
        if "value" not in reading:
            return
        start, step = reading.get("start"), -1
        if start is None:
            if self._block_start is None:
                raise self.error("has a reading without a time", AGAIN)
            start, step = self._block_start, self._steps
        self._steps += 1
        if not 0 <= start < LATEST:
            raise self.error(f"has a reading at {start} seconds, out of reach", AGAIN)
        cost = reading.get("cost", np.nan)
        self._entry.rows.add((start, reading.get("duration", 0), step, reading["value"], cost, line))

    def _entry_ends(self) -> None:
        entry, self._entry = self._entry, self._new_entry()
        if entry.content == "IntervalBlock":
            key = entry.up or entry.own.rpartition("/")[0]
            rows = self.blocks.setdefault(key, Rows(self.path, 6))
            rows.take(entry.rows)
        elif entry.content:
            self.entries.append(entry)
        if len(self.entries) + len(self.blocks) > MOST_RESOURCES:
            raise self.error("has too many entries", "give the file of one meter")


def read_feed(path: Path) -> Feed:
    """Read a feed; raise MeterError for a file that is missing, malformed, too large or not to be trusted."""
    feed = Feed(path)
    try:
        if not path.is_file():
            raise MeterError(path, 0, "is no file", "check the name of the file")
        feed.run()
    except OSError as error:
        raise MeterError(path, 0, f"cannot be read: {error.strerror or error}", "check the name of the file") from None
    except expat.ExpatError as error:
        raise MeterError(path, error.lineno, f"is no well-formed XML: {expat.ErrorString(error.code)}", AGAIN) from None
    return feed
