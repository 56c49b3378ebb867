"""Terms: each marked once where it first stands, explained at the end, never in the words of a scenario."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from conftest import demo_page

from finsolar.report.page import page
from finsolar.report.readers import READERS
from finsolar.report.words.glossary import Marker, anchor, entries
from finsolar.report.words.terms import TERMS

LINK = re.compile(r'<a class="term" href="#term-([a-z0-9-]+)" aria-describedby="meaning-\1" data-meaning="([^"]*)">')


def test_a_term_is_marked_where_it_first_stands_and_not_again() -> None:
    """The longest name wins, other spellings lead to the same entry, what is no term stays as it is."""
    mark = Marker()

    assert LINK.findall(mark("Simple payback, real, for good"))[0][0] == "simple-payback"
    assert mark("Simple payback, first time") == "Simple payback, first time"
    assert [place for place, _ in LINK.findall(mark("DSCR and the discounted NPV"))] == [
        "debt-service-coverage", "discount-rate", "npv",
    ]  # fmt: skip
    assert mark("Debt service coverage by year") == "Debt service coverage by year"
    assert LINK.findall(Marker()("Discounted payback"))[0][0] == "discounted-payback"
    assert Marker()("Unreal estate, preserved") == "Unreal estate, preserved"


def test_what_stands_around_a_term_is_escaped() -> None:
    """A label is text, whatever it holds."""
    assert "<b>" not in Marker()("<b>NPV</b>") and "&lt;b&gt;" in Marker()("<b>NPV</b>")


def test_every_term_has_an_entry_of_its_own() -> None:
    """By the alphabet, with anchors that no other has."""
    found = entries()

    assert {term: meaning for _, term, meaning in found} == TERMS
    assert len({place for place, _, _ in found}) == len(TERMS)
    assert [term.lower() for _, term, _ in found] == sorted(term.lower() for term in TERMS)
    assert anchor("P10, P50, P90") == "p10-p50-p90"
    for term in (
        "Net billing",
        "Self-consumption",
        "Debt service coverage",
        "Fade",
        "Reserve",
        "Discount rate",
        "Nominal",
    ):
        assert len(TERMS[term]) > 20


def test_each_link_leads_to_its_entry_and_tells_what_it_says(demo: Path) -> None:
    """No term twice in one table, none without its entry; the meaning on the spot is that of the entry."""
    text = demo_page(demo)
    meanings = dict(re.findall(r'<dd id="meaning-([a-z0-9-]+)">(.*?)</dd>', text))
    links = LINK.findall(text)

    assert len(links) > 8
    assert all(meanings[place] == meaning for place, meaning in links)
    assert all(f'<dt id="term-{place}">' in text for place, _ in links)
    for table in re.findall(r"<table.*?</table>", text, re.S):
        places = [place for place, _ in LINK.findall(table)]
        assert len(places) == len(set(places))


def test_words_of_a_scenario_are_never_marked(heron: dict[str, Any]) -> None:
    """An alternative called NPV and a cost called Fade are names, whatever they mean elsewhere."""
    source = json.dumps(heron)
    for name, term in (("Contractor, cash", "NPV"), ("Solar modules", "Fade"), ("Heron Landing", "Net billing")):
        source = source.replace(json.dumps(name), json.dumps(term))
    plain = json.loads(source)

    for reader in READERS:
        text = page(plain, reader)
        assert "<bdi>NPV</bdi>" in text and "<bdi>Fade</bdi>" in text
        assert not re.search(r"<bdi>[^<]*<a class=.term", text)
