"""Rows for machines and for the terminal."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import plain_study

from finsolar.report.table import HEAD, as_csv, safe_cell, summary


def rows(plain: dict[str, Any]) -> list[dict[str, str]]:
    """The CSV of a study, read back."""
    return list(csv.DictReader(io.StringIO(as_csv(plain))))


def test_every_row_has_every_column_and_a_number_or_a_reason(demo: Path) -> None:
    """An empty value is only there with a note that says why, or for a comparison without an answer."""
    found = rows(plain_study(demo))

    assert tuple(found[0]) == HEAD
    for row in found:
        assert None not in row.values()
        if row["value"]:
            float(row["value"])
        else:
            assert row["note"]


def test_the_cash_flow_lines_of_a_year_add_up_to_its_net(demo: Path) -> None:
    """The same identity as in the engine, from the file alone."""
    sums: dict[tuple[str, str], float] = {}
    nets: dict[tuple[str, str], float] = {}
    for row in rows(plain_study(demo)):
        derived = {"before_loan", "running_total", "discounted", "discounted_running_total"}
        if row["part"] != "cash flow" or row["item"] in derived:
            continue
        into = nets if row["item"] == "net" else sums
        key = (row["alternative"], row["year"])
        into[key] = into.get(key, 0.0) + float(row["value"])

    assert set(sums) == set(nets)
    for key, net in nets.items():
        assert sums[key] == pytest.approx(net, abs=1e-6)


def test_costs_of_staying_loans_and_the_sweep_are_in_the_table(juniper: dict[str, Any]) -> None:
    """Every number of theirs in the JSON stands in one row."""
    found = rows(juniper)

    def told(alternative: str, part: str, item: str) -> list[str]:
        return [
            row["value"] for row in found if (row["alternative"], row["part"], row["item"]) == (alternative, part, item)
        ]

    def written(numbers: list[float | None]) -> list[str]:
        return ["" if number is None else str(number) for number in numbers]

    for kind, amounts in juniper["stay"]["other_costs"].items():
        assert told("stay as you are", "other costs", kind) == written(amounts)
    for plan in juniper["alternatives"]:
        loan = plan["loan"] or {"reasons": {}}
        for step in loan.get("steps", []):
            told_of = [row for row in found if row["part"] == "loan" and row["item"] == "payment"]
            months = f"months {step['from_month']} to {step['to_month']}"
            assert (str(step["payment"]), months) in [(row["value"], row["note"]) for row in told_of]
        for item in set(loan) - {"reasons", "steps", "not_paid_in"}:
            if not isinstance(loan[item], dict):
                assert told(plan["name"], "loan", item) == written(np.atleast_1d(loan[item]).tolist())
                continue
            for figure, numbers in loan[item].items():
                if figure == "first_month":
                    october = next(row for row in found if row["part"] == f"loan {item}")
                    assert october["month"] == str(numbers)
                elif figure == "in_years":
                    assert len(told(plan["name"], f"loan {item}", "short")) == len(numbers)
                else:
                    row = numbers if isinstance(numbers, list) else [numbers]
                    assert told(plan["name"], f"loan {item}", figure) == written(row)
    assert {row["alternative"] for row in found if row["part"].startswith("loan")} == {"Contractor on a ten-year loan"}
    for one in juniper["break_even"]["alternatives"]:
        for item in ("price", "highest_price", "rise"):
            assert told(one["name"], "break-even", item) == written([one[item]])
    for pair in juniper["break_even"]["pairs"]:
        wanted = written([pair["behind_by"], pair["level_price"]])
        assert told(pair["behind"], "to draw level", pair["ahead"]) == wanted
    [sweep] = juniper["sensitivity"]
    for plan in sweep["alternatives"]:
        for figure in ("npv", "simple_payback", "discounted_payback"):
            assert told(plan["name"], "sensitivity", figure) == written(plan[figure])


def test_the_terminal_says_no_more_for_what_the_lender_sees(juniper: dict[str, Any]) -> None:
    """Its short table is the same without turning points and without anything of a loan."""
    bare = juniper | {"break_even": None, "alternatives": [plan | {"loan": None} for plan in juniper["alternatives"]]}

    assert summary(bare, 200) == summary(juniper, 200)
    assert summary(juniper, 200).splitlines()[0].split() == [
        "gross", "cost", "awards", "net", "cost", "saving,", "year", "1", "payback", "discounted", "NPV", "IRR",
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", " =1", "\r=1"])
def test_no_text_becomes_a_formula(text: str) -> None:
    """A spreadsheet that opens the file sees text."""
    assert safe_cell(text).lstrip()[0] not in "=+-@"
    assert safe_cell(text)[0] not in "\t\r"


def test_ordinary_text_is_left_alone() -> None:
    """Names with signs inside them stay as they are."""
    assert safe_cell("Rails + hooks (2-part)") == "Rails + hooks (2-part)"


def test_the_comparison_is_in_the_table(juniper: dict[str, Any]) -> None:
    """Every place and every figure of a pair in one row; what own hours are worth where that is stated."""
    comparison = juniper["comparison"]
    work = {"name": "Own labour", "hours": 120.0, "worth_per_hour": 25.0, "worth": 3000.0, "npv_less_worth": 7.5}
    own = [own | {"pays": True} for own in comparison["own_labour"]]
    found = rows(juniper | {"comparison": comparison | {"own_work": [work], "own_labour": own}})
    told = {(row["alternative"], row["part"], row["item"], row["note"]): row["value"] for row in found}
    by_item = {key[:3]: number for key, number in told.items()}

    for place in comparison["ranking"]:
        for figure in ("npv", "by_npv", "simple_payback", "by_payback"):
            number = place[figure]
            assert by_item[(place["name"], "ranking", figure)] == ("" if number is None else str(number))
    assert told[("all", "ranking", "orders_agree", comparison["ranking_reason"].replace("\N{WORD JOINER}", ""))] == "1"
    for pair in comparison["pairs"]:
        for figure in ("extra_outlay", "extra_saving_first_year", "extra_saving", "extra_npv"):
            assert told[(pair["dearer"], "against", pair["cheaper"], figure)] == str(pair[figure])
    for figure in ("hours", "worth_per_hour", "worth", "npv_less_worth"):
        assert by_item[("Own labour", "own work", figure)] == str(work[figure])
    assert told[("Own labour", "own labour", "Contractor", "pays")] == "1"
