"""How awards are told: at a glance, in stories, and in the lines of a terminal."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pytest

from finsolar.incentives.awards import assess
from finsolar.incentives.facts import EligibleLine, House
from finsolar.incentives.law import KINDS
from finsolar.incentives.rulebook import find_rule
from finsolar.report.words import awards

Plain = dict[str, Any]


def award(**changed: Any) -> Plain:
    """A made-up award of 900 that arrives in years 1 and 2."""
    plain: Plain = {
        "rule": "lantern/credit", "title": "Lantern credit", "kind": "tax credit", "status": "granted", "upfront": True,
        "amounts": [0.0, 600.0, 300.0, 0.0], "tax": [0.0] * 4, "worth": 0.0, "basis": 3000.0, "potential": 900.0,
        "ledger": [], "lines": [], "reasons": ["In force. (Code 1)", "Only tax is lowered."], "reference": "Code 1",
        "checked_on": "2026-02-11", "known": "seen",
    }  # fmt: skip
    return plain | changed


def refused(**changed: Any) -> Plain:
    """A rule that has ended."""
    told: Plain = {
        "rule": "lantern/rebate", "title": "Lantern rebate", "kind": "upfront rebate", "status": "refused",
        "amounts": [0.0] * 4, "basis": 0.0, "potential": 0.0, "reasons": ["It ended. (Code 9)"], "reference": "Code 9",
    }  # fmt: skip
    return award(**told | changed)


def study_of(*alternatives: tuple[str, list[Plain]]) -> Plain:
    """As much of a study as awards are told from."""
    return {
        "settings": {"currency": "USD", "years": 3},
        "alternatives": [
            {
                "name": name,
                "in_service": "2026-10-15",
                "incentives": found,
                "costs": {
                    "awards": sum(sum(a["amounts"]) for a in found if a["upfront"]),
                    "yearly_awards": sum(sum(a["amounts"]) for a in found if not a["upfront"]),
                },
            }
            for name, found in alternatives
        ],
    }


@pytest.mark.parametrize(
    ("amounts", "told"),
    [
        ([0, 0, 0], ""),
        ([5, 0, 0], "at the start"),
        ([0, 5, 0], "year 1"),
        ([0, 5, 5], "years 1 and 2"),
        ([0, 5, 0, 5], "years 1 and 3"),
        ([0, *[5] * 15, 0], "years 1 to 15"),
        ([0, 5, 5, 0, 5], "years 1, 2 and 4"),
        ([5, 0, 5, 5, 5], "at the start and years 2 to 4"),
        ([0.001, 0, 5], "year 2"),
    ],
)
def test_the_years_in_which_money_arrives(amounts: list[float], told: str) -> None:
    """Runs are told by their ends; less than half a cent is no money."""
    assert awards.when(amounts) == told


@pytest.mark.parametrize(
    ("amounts", "told"),
    [
        ([0, 1_900, 1_900, 1_200, 0], "years 1 to 3 (2027 to 2029)"),
        ([0, 900, 0], "year 1 (2027)"),
        ([4_403, 0, 0], "at the start"),
        ([10, 0, 5], "at the start and year 2 (2028)"),
        ([0, 0], ""),
    ],
)
def test_years_of_the_calendar_stand_beside_those_of_the_study(amounts: list[float], told: str) -> None:
    """Year 1 of a system switched on in October 2026 ends in October 2027."""
    assert awards.by_calendar(amounts, "2026-10-15") == told


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({}, "$900"),
        ({"status": "unknown", "amounts": [0.0] * 4}, "nothing counted, up to $900 open"),
        ({"status": "unknown", "amounts": [0.0] * 4, "potential": 0.0}, "nothing counted"),
        ({"kind": "below-market loan", "amounts": [0.0] * 4, "worth": 1234.4}, "worth $1,234, not counted"),
        ({"kind": "income tax exemption", "amounts": [0.0] * 4}, "pays nothing itself"),
        ({"amounts": [0.0] * 4}, "nothing within the study"),
        ({"status": "refused", "amounts": [0.0] * 4}, ""),
    ],
)
def test_what_an_award_comes_to(changed: Plain, told: str) -> None:
    """The worth of a loan is never told as money, nor what is not known as a grant."""
    assert awards.comes_to(award(**changed), "USD") == told


@pytest.mark.parametrize(
    ("amount", "unit", "told"),
    [
        (1234.5, "money", "$1,234.50"),
        (-28.73, "money", "−$28.73"),
        (0.0786, "money", "$0.0786"),
        (0.5, "money", "$0.50"),
        (0.3, "share", "30 %"),
        (0.225, "share", "22.50 %"),
        (8.0, "kW", "8 kW"),
        (13.25, "kWh", "13.25 kWh"),
        (95.0, "certificates", "95 certificates"),
        (20.0, "years", "20 years"),
        (None, "money", "no limit"),
    ],
)
def test_a_step_of_the_working_has_its_unit(amount: float | None, unit: str, told: str) -> None:
    """A rate for a kWh keeps the digits that make it."""
    assert awards.measured({"amount": amount, "unit": unit}, "USD").replace("\N{WORD JOINER}", "") == told


def test_stories_put_what_is_granted_first_and_alternatives_alike_together() -> None:
    """Three alternatives, two alike: one story a rule, a case for each way it answers."""
    plain = study_of(
        ("A", [refused(), award()]),
        ("B", [refused(), award(status="partly", reasons=["In force. (Code 1)", "Capped."])]),
        ("C", [refused(), award()]),
    )

    first, last = awards.stories(plain)

    assert (first.title, first.answer, last.title, last.answer) == (
        "Lantern credit", "granted", "Lantern rebate", "refused",
    )  # fmt: skip
    assert [case.names for case in first.cases] == ["“A” and “C”", "“B”"]
    assert first.shared == ["In force. (Code 1)"]
    assert [case.own for case in first.cases] == [["Only tax is lowered."], ["Capped."]]
    assert [case.names for case in last.cases] == ["“A”, “B” and “C”"]
    assert (first.any("basis"), first.any("tax"), first.any("worth"), last.any("amounts")) == (
        True,
        False,
        False,
        False,
    )
    assert first.sources == [("Code 1", "2026-02-11", "seen")]


def test_totals_keep_the_purchase_and_the_years_apart() -> None:
    """Rows without any money are left out."""
    paid = award(upfront=False, amounts=[0.0, 50.0, 50.0, 50.0], tax=[0.0, -11.0, -11.0, -11.0])
    assert awards.totals(study_of(("A", [award(), paid]), ("B", [refused()]))) == [
        ("All that belongs to the purchase", [900.0, 0.0]),
        ("All that is paid year by year", [150.0, 0.0]),
        ("Income tax on awards", [-33.0, 0.0]),
    ]
    assert awards.totals(study_of(("A", [refused()]))) == []


def test_the_terminal_lists_what_is_granted_and_counts_what_is_refused() -> None:
    """No line is wider than the terminal, whatever the reasons; what is missing is the reason of an open answer."""
    missing = award(
        title="Meadow credit",
        status="unknown",
        amounts=[0.0] * 4,
        reasons=["In force.", "Nothing is counted until this is known:", "Fill in household.income_tax.", "A note."],
    )
    long = award(reasons=["In force, and so on and on. " * 40])
    plain = study_of(("A", [refused(), long, missing]), ("B", [refused(), long, missing]), ("C", [refused()]))

    lines = awards.terminal(plain, 100)

    assert lines[:2] == ["Incentives", "  A, B"]
    assert lines[2].startswith("    granted         $900, years 1 and 2") and lines[2].endswith("…")
    assert "not known       nothing counted, up to $900 open" in lines[3]
    assert lines[3].endswith("Meadow credit: Fill in household.income_tax.")
    assert lines[4:] == ["    1 refused: Lantern rebate", "  C", "    1 refused: Lantern rebate"]
    assert max(map(len, lines)) <= 100
    assert awards.terminal(study_of(("A", [])), 100) == []


def test_the_words_before_what_is_missing_are_those_of_the_engine() -> None:
    """The reason shown is the one that says what to fill in, as the engine gives it."""
    day = date(2025, 6, 1)
    house = House({"in service": day, "installation completed": day}, {"buys the system": True, "lives there": True})
    lines = [EligibleLine("Modules", "modules", np.asarray(4000.0), np.zeros(()))]
    [found] = assess([find_rule("us/residential-clean-energy-credit")], house, lines, [], 5)

    told = awards.deciding({"status": found.status, "reasons": found.reasons})

    assert found.status == "unknown"
    assert "fill in household.income_tax" in told


def test_every_kind_of_rule_has_plain_words() -> None:
    """A new kind cannot be forgotten."""
    assert set(awards.KINDS) == set(KINDS)
