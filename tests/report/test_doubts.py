"""What may be a slip of the pen is told by `check`, and nothing is told of an ordinary tariff."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from small_house import house

from finsolar.report.words.checked import checked
from finsolar.scenario.problems import ScenarioError
from finsolar.study import study

DEMAND = {"name": "any hour", "price": 4}
HOURLY = {"hourly_prices": {"file": "prices.csv"}}


def told(changes: dict[str, Any], folder: Path | None = None, today: dt.date | None = None) -> str:
    """The part of the text that stands before the assumptions, in one line."""
    text = checked(house(changes, folder), 300, today=today)
    return " ".join(text.partition("Left out of the file")[0].split())


def priced(folder: Path, price: float = 0.1, lines: int = 8760) -> Path:
    """A file of hourly prices, one of them dear."""
    (folder / "prices.csv").write_text("\n".join(["1.5", *[str(price)] * (lines - 1)]) + "\n")
    return folder


@pytest.mark.parametrize(
    ("tariff", "words"),
    [
        ({"energy": 38}, "a price of 38 for a kWh; are these cents?"),
        ({"later": [{"from_year": 3, "energy": 38}]}, "a price of 38 for a kWh; are these cents?"),
        (
            {"export": {"scheme": "net billing", "price": 5}},
            "an export price of 5, above every price of energy",
        ),
        (
            {"export": {"price": [{"period": "peak", "price": 3}, {"period": "rest", "price": 0}]}},
            "an export price of 3, above every price of energy",
        ),
        (
            {"export": {"scheme": "net metering", "price": None, "surplus_price": 2}},
            "a surplus price of 2, above every price of",
        ),
        ({"later": [{"from_year": 30, "monthly_charge": 4}]}, "a tariff from year 30 on, after the study of 12 years"),
        ({"demand_rise": "1%"}, "demand_rise without a demand charge"),
        (
            {"riders": [{"item": "Fund", "share": "3%", "on": ["energy", "demand"]}]},
            "a rider, “Fund”, on demand, of which the tariff has none",
        ),
        (
            {"taxes": [{"item": "City", "share": "3%", "on": ["tiers", "riders", "minimum"]}]},
            "a tax, “City”, on tiers, riders and minimum, of which the tariff has none",
        ),
        ({"demand": [{**DEMAND, "ratchet_months": 5}]}, "ratchet_months of “any hour” without a ratchet"),
        ({"production_years": 4}, "production_years without a production_price"),
    ],
)
def test_what_may_be_a_slip_in_a_tariff_is_told_once(tariff: dict[str, Any], words: str) -> None:
    text = told({"tariff": tariff})

    assert f"look again {words}" in text
    assert text.count(words) == 1


@pytest.mark.parametrize(
    "tariff",
    [
        {},
        {"energy": 1.9},
        {"export": {"scheme": "net billing", "price": 0.3}},
        {"export": {"scheme": "net metering", "price": None, "surplus_price": 0.3}},
        {"later": [{"from_year": 12, "monthly_charge": 4}]},
        {"demand": [{**DEMAND, "ratchet": "50%", "ratchet_months": 5}], "demand_rise": "1%"},
        {"demand": [DEMAND], "riders": [{"item": "Fund", "share": "3%", "on": ["energy", "demand"]}]},
        {
            "demand_rise": "1%",
            "riders": [{"item": "Fund", "share": "3%", "on": ["demand"]}],
            "later": [{"from_year": 4, "demand": [DEMAND]}],
        },
        {"minimum_bill": 5, "taxes": [{"item": "City", "share": "3%", "on": ["fixed charge", "minimum"]}]},
        {"production_price": 0.1, "production_years": 4},
    ],
)
def test_nothing_is_told_of_an_ordinary_tariff(tariff: dict[str, Any]) -> None:
    assert "look again" not in told({"tariff": tariff})


def test_who_has_the_doubtful_tariff_is_named_where_others_have_not() -> None:
    plans = [{"name": "Roof"}, {"name": "Dear", "tariff": {"energy": 38}}]

    assert "look again Dear: a price of 38 for a kWh" in told({"alternatives": plans})


def test_a_bill_of_days_to_come_is_told() -> None:
    """A bill is past once its last day is over."""
    bill = {"first_day": "2035-01-17", "last_day": "2035-02-15", "kwh": 800, "amount": 110}
    household = {"household": {"past_bills": [bill]}}

    words = "look again a past bill that ends on 2035-02-15, which is yet to come"
    assert words in told(household, today=dt.date(2026, 3, 1))
    assert "look again" not in told(household, today=dt.date(2035, 2, 16))


def test_hourly_prices_are_opened_and_told(tmp_path: Path) -> None:
    """By hand: one hour at 1.5 and 8,759 at 0.1 cost 0.1002 on average."""
    text = told({"tariff": HOURLY}, priced(tmp_path))

    assert (
        "hourly prices from prices.csv: 0.1 to 1.5 for a kWh, 0.1002 on average; no year is stated, so 1 January is "
        "taken for a Monday"
    ) in text
    assert "look again" not in text
    stamps = [
        f"{dt.date(2025, 1, 1) + dt.timedelta(days=day)} {hour:02}:00,0.2" for day in range(365) for hour in range(24)
    ]
    (tmp_path / "prices.csv").write_text("\n".join(stamps))
    assert "0.2 to 0.2 for a kWh, 0.2 on average; of 2025, each day on its own weekday" in told(
        {"tariff": HOURLY}, tmp_path
    )


def test_hourly_prices_in_cents_are_told(tmp_path: Path) -> None:
    text = told({"tariff": HOURLY}, priced(tmp_path, 8.0))

    assert "look again hourly prices of 7.999 for a kWh on average, in prices.csv; are these cents?" in text


@pytest.mark.parametrize(
    ("where", "field"),
    [
        ({"tariff": HOURLY}, "tariff.hourly_prices.file"),
        ({"tariff": {"later": [{"from_year": 3, **HOURLY}]}}, "tariff.later[1].hourly_prices.file"),
        ({"alternatives": [{"name": "Roof"}, {"name": "B", "tariff": HOURLY}]}, "alternatives[2].tariff.hourly_prices"),
    ],
    ids=["today", "later", "an alternative"],
)
def test_a_file_of_hourly_prices_that_cannot_be_used_is_refused(
    where: dict[str, Any], field: str, tmp_path: Path
) -> None:
    """By check and by report, at its line: missing, a folder, too short, or no numbers."""
    path = tmp_path / "prices.csv"
    for make in (lambda: None, path.mkdir):
        make()
        for run in (checked, study):
            with pytest.raises(ScenarioError) as caught:
                run(house(where, tmp_path))
            (problem,) = caught.value.problems
            assert problem.line > 1 and problem.field.startswith(field), problem
            assert "paths start at the scenario's own folder" in str(problem)
    path.rmdir()
    for content, words in (
        (b"", "the file is empty"),
        (b"0.1\n" * 8000, "8,000 hours; a year needs 8,760"),
        (b"0.1\n" * 8784, "8,784 hours; a year needs 8,760"),
        (b"0.1\n" * 8759 + b"nan\n", "price is nan"),
        (b"0.1\n" * 8759 + b"dear\n", "'dear', not a number"),
        (bytes(range(256)), "this is no text"),
    ):
        path.write_bytes(content)
        for run in (checked, study):
            with pytest.raises(ScenarioError, match=words):
                run(house(where, tmp_path))
