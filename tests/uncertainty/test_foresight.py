"""Against perfect foresight: no operation beats its bound, and where there is no bound the reason is told."""

from __future__ import annotations

import csv
import io
from typing import Any

import pytest
from conftest import SCENARIOS
from small_house import house

import finsolar
from finsolar.report.table import as_csv
from finsolar.report.words import changes_told
from finsolar.results import Study
from finsolar.uncertainty import foresight
from finsolar.uncertainty.foresight import Foresight, with_foresight

KEYS = {"cost", "least", "saving", "best_saving", "share", "why_not"}
SHIFT = {"operation": "time shift", "time_shift": {"dear": ["peak"], "cheap": ["rest"]}}
GENEROUS = {"export": {"scheme": "net billing", "price": 0.2}}


def bounded(changes: dict[str, Any]) -> Study:
    """The small house, changed, with its bounds."""
    return with_foresight(finsolar.study(house({"study": {"years": 2}, **changes})))


def holds(study: Study) -> int:
    """Hold every bound of a study against its operation; return how many there were (P-09)."""
    found = 0
    for result, bound in zip(study.results, study.foresight, strict=True):
        if bound.why_not is not None:
            assert (bound.cost, bound.least, bound.saving, bound.best_saving, bound.share) == (None,) * 5
            continue
        found += 1
        assert bound.cost is not None and bound.least is not None
        assert bound.saving is not None and bound.best_saving is not None
        assert bound.least <= bound.cost + 1e-6
        bill, stay = result.position.bill, study.stay.bill
        assert bound.cost == pytest.approx(bill.yearly("energy")[0] + bill.yearly("export credit")[0], abs=1e-9)
        assert bound.saving == pytest.approx(float(stay.total[0] - bill.total[0]), abs=1e-9)
        least_bill = bill.yearly("fixed charge")[0] + bound.least
        assert bound.best_saving == pytest.approx(float(stay.total[0]) - least_bill, abs=1e-6)
        assert bound.saving <= bound.best_saving + 1e-6
        if bound.saving >= 0 and bound.best_saving > 0:
            assert bound.share is not None
            assert 0 <= bound.share <= 1 + 1e-9
    return found


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_no_operation_of_a_demo_household_beats_its_bound(path: Any) -> None:
    study = with_foresight(finsolar.study(finsolar.read(path)))

    wanted = {"heron-landing": 5, "juniper-lane": 3, "prairie-bend": 3}
    assert holds(study) == wanted.get(path.stem, 0)


@pytest.mark.parametrize(
    "changes",
    [
        {"system": SHIFT},
        {"system": {"inverter": {"kw": 3}, "battery": {"coupling": "dc", "reserve": "10%"}}},
        {"system": {**SHIFT, "inverter": {"kw": 3}, "battery": {"coupling": "dc"}}, "tariff": GENEROUS},
        {"system": {"operation": "backup only"}, "tariff": {"export": {"scheme": "none", "price": None}}},
        {"tariff": GENEROUS, "weather": {"station": "miami", "brightness": "90%"}},
    ],
    ids=["shifts time", "shared inverter", "shared inverter, dear export", "backup, no export", "dear export"],
)
def test_no_operation_of_other_houses_beats_its_bound(changes: dict[str, Any]) -> None:
    study = bounded(changes)

    assert holds(study) == 1
    assert study.foresight[0].share is not None and study.foresight[0].share < 0.999


def test_every_surplus_into_the_battery_is_the_best_under_one_price_without_export() -> None:
    """By reason: energy stored as early and drawn as early as can be never costs more where all hours cost the same."""
    study = bounded({"tariff": {"energy": 0.2, "export": {"scheme": "none", "price": None}}})

    assert holds(study) == 1
    assert study.foresight[0].share == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"system": {"battery": "none"}}, "no battery"),
        ({"tariff": {"export": {"scheme": "net metering", "price": None}}}, "bank of kWh"),
        ({"system": {"operation": "off grid"}}, "on the grid"),
    ],
    ids=["no battery", "net metering", "off grid"],
)
def test_where_there_is_no_bound_the_reason_is_told(changes: dict[str, Any], reason: str) -> None:
    study = bounded(changes)
    plain = study.to_json()

    assert holds(study) == 0
    assert reason in plain["alternatives"][0]["bound"]["why_not"]
    [told] = changes_told.bound_sentences(plain)
    assert told.startswith("“Roof”: no bound, since ") and reason in told


def test_a_share_needs_a_saving_to_be_had() -> None:
    """Nothing over nothing is no share."""
    assert Foresight(cost=5.0, least=5.0, saving=-2.0, best_saving=-2.0).share is None
    assert Foresight(cost=5.0, least=5.0, saving=0.0, best_saving=0.0).share is None
    assert Foresight(cost=5.0, least=4.0, saving=3.0, best_saving=4.0).share == 0.75


def test_plans_that_differ_in_payment_or_operation_alone_are_solved_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One bound serves them; another battery asks for its own."""
    solved = []

    def counting(*args: Any, **kwargs: Any) -> Any:
        solved.append(args[4].capacity)
        return original(*args, **kwargs)

    original = foresight.cheapest_year
    monkeypatch.setattr(foresight, "cheapest_year", counting)
    plans: list[dict[str, Any]] = [
        {"name": "Roof"},
        {"name": "Shifted", "system": SHIFT},
        {"name": "Borrowed", "payment": {"loan": {"rate": "5%", "years": 2}}},
        {"name": "Large", "system": {"battery": {"kwh": 12}}},
    ]
    study = bounded({"alternatives": plans})

    assert [kwh.tolist() for kwh in solved] == [[8.0], [12.0]]
    assert holds(study) == 4
    least = [bound.least for bound in study.foresight]
    assert least[0] == least[1] == least[2] > least[3]


def test_json_and_csv_carry_the_bound_and_its_reason_and_nothing_unasked() -> None:
    """Every key of the JSON in one row of the CSV, or its reason there."""
    study = bounded({"alternatives": [{"name": "Roof"}, {"name": "Bare", "system": {"battery": "none"}}]})
    plain = study.to_json()
    rows = [row for row in csv.DictReader(io.StringIO(as_csv(plain))) if row["part"] == "bound"]

    for plan in plain["alternatives"]:
        assert set(plan["bound"]) == KEYS
        mine = {row["item"]: row for row in rows if row["alternative"] == plan["name"]}
        assert set(mine) == KEYS - {"why_not"}
        for key, row in mine.items():
            if plan["bound"][key] is None:
                assert (row["value"], row["note"]) == ("", plan["bound"]["why_not"])
            else:
                assert float(row["value"]) == plan["bound"][key]
            assert row["unit"] == ("" if key == "share" else "USD")
    assert plain["alternatives"][0]["bound"]["share"] == study.foresight[0].share
    assert finsolar.study(study.scenario).to_json()["alternatives"][0]["bound"] is None
