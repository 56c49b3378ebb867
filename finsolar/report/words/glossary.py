"""Terms of the trade, marked where they first stand in a table or heading, and explained at the end of the page.

Only labels of ours are marked, never text from a scenario.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from finsolar.report.words.terms import TERMS

if TYPE_CHECKING:
    from markupsafe import Markup

_ALSO = {
    "APR": ("Annual percentage rate",),
    "Cost of backup": ("Cost of a kWh of backup",),
    "Debt service coverage": ("DSCR", "Coverage"),
    "Discount rate": ("discounted",),
    "P10, P50, P90": ("P10", "P50", "P90"),
}
"""How else a term is written in labels, beside its own name."""


def anchor(term: str) -> str:
    """The end of the addresses of a term: ``term-npv`` is its entry, ``meaning-npv`` what it says."""
    return re.sub("[^a-z0-9]+", "-", term.lower()).strip("-")


def entries() -> list[tuple[str, str, str]]:
    """Every term by the alphabet: its anchor, its name, and what it means."""
    return [(anchor(term), term, TERMS[term]) for term in sorted(TERMS, key=str.lower)]


_SPELLED = {spelled.lower(): term for term in TERMS for spelled in (term, *_ALSO.get(term, ()))}
_ANY = re.compile(r"(?<!\w)(" + "|".join(map(re.escape, sorted(_SPELLED, key=len, reverse=True))) + r")(?!\w)", re.I)


class Marker:
    """Marks terms in the labels of one table or heading, each where it first stands."""

    def __init__(self) -> None:
        self._met: set[str] = set()

    def __call__(self, label: str) -> Markup:
        """A label of ours with its terms as links to their entries, which tell the meaning on the spot too."""
        from markupsafe import Markup, escape

        found, end = Markup(), 0
        for match in _ANY.finditer(label):
            term = _SPELLED[match[0].lower()]
            if term in self._met:
                continue
            self._met.add(term)
            place = anchor(term)
            link = Markup('<a class="term" href="#term-{}" aria-describedby="meaning-{}" data-meaning="{}">{}</a>')
            found += escape(label[end : match.start()]) + link.format(place, place, TERMS[term], match[0])
            end = match.end()
        return found + escape(label[end:])
