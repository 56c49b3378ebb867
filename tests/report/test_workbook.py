"""The workbook, worked out by LibreOffice, against the engine: as written, and with other inputs typed in."""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
from conftest import ROOT, SCENARIOS
from generated_money import money_scenarios, studied
from hypothesis import HealthCheck, given, settings
from hypothesis import seed as seeded
from small_house import Tree, house
from spreadsheet import Spreadsheet, changed, letters, libreoffice, worked_out
from workbook_checks import ASK, alike, differences, faults, shown, symbols, told

import finsolar
from finsolar.money.metrics import internal_rates
from finsolar.report.draw_choice import with_draws
from finsolar.report.workbook.cells import Book, Formula
from finsolar.report.workbook.rates import search
from finsolar.report.workbook.whole import Written, written
from finsolar.results import Study
from finsolar.study import study
from finsolar.uncertainty.sureness import with_simulation


def without_asking(found: list[str]) -> list[str]:
    """Differences but for rates that the workbook leaves to a new study, which it may where several could exist."""
    return [line for line in found if not (ASK in line and "irr" in line)]


def moved(base: Study, book: Written, seed: int) -> tuple[dict[str, float], Study]:
    """Other values for every input that may be changed, by the names of their cells, and the engine's study of them."""
    rng = random.Random(seed)
    values = {one: rng.uniform(one.low, one.high) for one in book.free if len(one.values) == 1}
    chosen = {path: value for one, value in values.items() for path in one.paths}
    return symbols(values), study(base.scenario, chosen, reuse=base)


LIVE = ("juniper-lane", "kelp-point", "tamarack-row")
"""Ranges and a loan, off the grid with a generator, awards and a lease."""


@lru_cache
def of_demo(name: str) -> tuple[Study, Written]:
    """The study of a demo household, with few draws where it has a loan, and its workbook."""
    base = finsolar.study(with_draws(finsolar.read(ROOT / "scenarios" / f"{name}.yaml"), "64", None))
    base = with_simulation(base) if name == LIVE[0] else base
    return base, written(base, base.to_json())


@pytest.mark.parametrize("name", LIVE)
def test_each_figure_is_the_engines_as_written_and_with_every_input_changed(name: str, tmp_path: Path) -> None:
    """Every id, by its place in the JSON; and again with each free input somewhere else within its limits."""
    program = libreoffice()
    base, book = of_demo(name)
    values, other = moved(base, book, seed=3)
    found = worked_out({"as-is": book.file, "moved": changed(book.file, values)}, program, tmp_path)

    assert differences(found["as-is"], book, base.to_json()) == []
    undrawn = {key: place for key, place in book.ids.items() if not key.startswith("uncertainty")}
    assert without_asking(differences(found["moved"], Written(b"", undrawn, book.free), other.to_json())) == []
    assert [faults(each) for each in found.values()] == [[], []]
    assert (found["as-is"].named("as_studied"), found["moved"].named("as_studied")) == (True, False)
    assert found["moved"].named("fixed_moved") == 0
    drawn = {".".join(key.split(".")[3:4]) for key in book.ids if key.startswith("uncertainty.alternatives.0")}
    assert drawn == ({"chances", "figures", "running", "histogram"} if base.simulation is not None else set())


@pytest.mark.parametrize("name", [path.stem for path in SCENARIOS if path.stem not in LIVE])
def test_the_workbooks_of_the_other_households_hang_together(name: str) -> None:
    """Ids lead into the JSON, values are its numbers, and formulas name cells and sheets that are there."""
    base, book = of_demo(name)
    plain, opened = base.to_json(), Spreadsheet(book.file)

    values = 0
    for key, place in book.ids.items():
        cells, numbers = shown(opened, book, key), told(plain, key)
        assert len(cells) == len(numbers) == place.count
        for cell, number in zip(cells, numbers, strict=True):
            if cell is not None:  # a value, for formulas wait to be worked out
                values += 1
                assert alike(cell, number, key)
    assert values > 50
    for cells_of_sheet in opened.sheets.values():
        for cell in cells_of_sheet.values():
            formula = cell.formula or ""
            plain_part = re.sub("'(?:[^']|'')+'|\"[^\"]*\"", " ", formula)
            sheets = {sheet.replace("''", "'") for sheet in re.findall("'((?:[^']|'')+)'!", formula)}
            assert sheets <= set(opened.sheets)
            assert set(re.findall("[a-z][a-z0-9_]+", plain_part)) <= set(opened.names)


def test_one_input_typed_in_gives_what_the_engine_finds(tmp_path: Path) -> None:
    """The rise of prices, the discount rate, a line of cost and the rate of the loan, one after the other."""
    program = libreoffice()
    base, book = of_demo("juniper-lane")
    typed = {
        "tariff_rise": 0.061,
        "discount_rate": 0.034,
        "costs_battery_cost": 5125.5,
        "alternative_3_payment_loan_rate": 0.0925,
    }
    paths = {one.symbols[0]: one.paths for one in book.free}
    found = worked_out({name: changed(book.file, {name: value}) for name, value in typed.items()}, program, tmp_path)

    undrawn = {key: place for key, place in book.ids.items() if not key.startswith("uncertainty")}
    npvs = {shown(found[name], book, "alternatives.2.metrics.npv")[0] for name in typed}
    assert len(npvs) == len(typed)
    for name, value in typed.items():
        other = study(base.scenario, dict.fromkeys(paths[name], value), reuse=base).to_json()
        assert without_asking(differences(found[name], Written(b"", undrawn, book.free), other)) == []


PATH = {"tariff": {"rise": {"path": ["3%", "1%", "4%"]}, "fixed_rise": "1%", "monthly_charge": 9}}
OTHER_PATH = {"tariff": {"rise": {"path": ["0%", "5%", "2%"]}, "fixed_rise": "1%", "monthly_charge": 9}}
APART = {"tariff": {"monthly_charge": 12, "fixed_rise": "1%", "taxes": [{"item": "State", "share": "7%"}],
                    "riders": [{"item": "Wires", "per_kwh": 0.02}]}}  # fmt: skip
LEAST = {"tariff": {"minimum_bill": 90, "monthly_charge": 5, "fixed_rise": "0%"}}
CREDITS = {"tariff": {"export": {"scheme": "net billing", "price": 0.4, "credits_pay": "energy"}, "export_rise": "-5%"}}
SMALL: dict[str, tuple[Tree, dict[str, float]]] = {
    "path": (PATH, {"tariff_rise_2": 0.0, "tariff_rise_3": 0.05, "tariff_rise_4": 0.02}),
    "apart": (APART, {"tariff_rise": 0.045, "tariff_fixed_rise": -0.01}),
    "minimum": (LEAST, {"tariff_rise": 0.07}),
    "export credit": (CREDITS, {"tariff_rise": 0.07}),
}
"""Small houses by what is special in their tariff, and what is typed into their workbooks."""


@dataclass(frozen=True)
class Tried:
    """A small house, its workbook, and that worked out as it is and with other numbers typed in."""

    base: Study
    book: Written
    as_is: Spreadsheet
    typed: Spreadsheet


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Tried]:
    """All small houses, worked out in one go."""
    program = libreoffice()
    files, bases = {}, {}
    for name, (changes, typed) in SMALL.items():
        base = finsolar.study(house(changes))
        book = written(base, base.to_json())
        bases[name] = (base, book)
        files |= {name: book.file, f"{name}, typed": changed(book.file, typed)}
    found = worked_out(files, program, tmp_path_factory.mktemp("small"))
    return {name: Tried(*bases[name], found[name], found[f"{name}, typed"]) for name in SMALL}


def test_a_path_of_rises_has_a_cell_a_year(small: dict[str, Tried]) -> None:
    """Typed anew, year by year, it is the path of another scenario."""
    tried = small["path"]
    other = study(house(OTHER_PATH), reuse=tried.base)

    assert differences(tried.typed, tried.book, other.to_json()) == []


def test_taxes_on_parts_that_rise_apart_are_taken_apart(small: dict[str, Tried]) -> None:
    """A tax on charges with rises of their own follows each of them, and both may be changed."""
    tried = small["apart"]
    values = {"rise": 0.045, "fixed_rise": -0.01}
    chosen = {f"{path}{name}": x for name, x in values.items() for path in ("tariff.", "alternatives.0.tariff.")}
    other = study(tried.base.scenario, chosen, reuse=tried.base)

    assert {"tariff_rise", "tariff_fixed_rise"} <= {one.symbols[0] for one in tried.book.free}
    assert without_asking(differences(tried.typed, tried.book, other.to_json())) == []


@pytest.mark.parametrize("component", ["minimum", "export credit"])
def test_a_bill_out_of_proportion_is_a_value_and_its_rises_are_fixed(component: str, small: dict[str, Tried]) -> None:
    """No formula that is only nearly right: the rise may not be changed, the sheet says why, and tells if it was."""
    tried = small[component]
    place = tried.book.ids[f"alternatives.0.bills.after.by_year.{component}"]
    cells = Spreadsheet(tried.book.file).sheets[place.sheet]
    row = [cells[f"{letters(place.column + k)}{place.row + 1}"] for k in range(place.count)]

    assert "tariff_rise" not in {one.symbols[0] for one in tried.book.free}
    assert {cell.formula for cell in row} == {None}
    assert differences(tried.as_is, tried.book, tried.base.to_json()) == []
    assert (tried.as_is.named("fixed_moved"), tried.typed.named("fixed_moved")) == (0, 1)
    assert "no figures of the study" in str(tried.typed.at(place.sheet, 1, 0))
    inputs = [str(cell.value) for cell in tried.as_is.sheets["Inputs"].values()]
    assert any("values depend" in text and component in text for text in inputs)


def test_drawn_money_is_the_engines(tmp_path: Path) -> None:
    """Loans of all kinds, leases, awards, upkeep: scenarios by lot, as written and with every input changed."""
    program = libreoffice()
    texts: list[str] = []

    @seeded(20)
    @settings(max_examples=3, database=None, deadline=None, suppress_health_check=list(HealthCheck))
    @given(money_scenarios())
    def collect(text: str) -> None:
        texts.append(text)

    collect()
    files, wanted = {}, {}
    for k, text in enumerate(texts):
        base = studied(text)
        book = written(base, base.to_json())
        values, other = moved(base, book, seed=k)
        files |= {f"{k}": book.file, f"{k}-moved": changed(book.file, values)}
        wanted |= {f"{k}": (book, base), f"{k}-moved": (book, other)}
    found = worked_out(files, program, tmp_path)

    for name, (book, of) in wanted.items():
        lines = differences(found[name], book, of.to_json())
        assert (without_asking(lines) if "moved" in name else lines) == []
        assert faults(found[name]) == []


SERIES = {
    "plain": [-1000, 200, 200, 200, 200, 200, 200, 200],
    "renewed": [-1000, 300, 300, 300, -500, 300, 300, 300],
    "renewed and poor": [-1000, 150, 150, 150, -500, 150, 150, 150],
    "two roots above zero": [-100, 230, -132, 0, 0, 0, 0, 0],
    "three roots": [-100, 560, -945, 495, 0, 0, 0, 0],
    "no root": [-100, 100, -150, 0, 0, 0, 0, 0],
    "one above, one below": [-100, 60, 80, 0, 0, 0, 0, -20],
    "ends in a removal": [-1000, 100, 100, 100, 100, 100, 100, -400],
    "a root at zero": [-700, 100, 100, 100, 100, 100, 100, 100],
}
TOUCHED = [-100, 220, -121, 0, 0, 0, 0, 0]


def test_the_search_for_a_rate_quotes_the_one_the_engine_does(tmp_path: Path) -> None:
    """Series with no root, one and several; of two that fall together the search says that it cannot tell."""
    program = libreoffice()
    book = Book("Rates", "USD", 7)
    sheet = book.sheet("Rates")
    years = sheet.line("Year", lambda year: float(year))
    rows = {}
    for name, flows in {**SERIES, "touched at 10 %": TOUCHED}.items():
        net = sheet.line(name, [float(x) for x in flows])
        rate, sure = search(sheet, net, years, net.at(0))
        rows[name] = sheet.row
        sheet.figure("rate", Formula(rate), form="0.00%")
        sheet.figure("sure", Formula(sure), form="General")
    found = worked_out({"rates": book.finish()}, program, tmp_path)["rates"]

    for name, flows in SERIES.items():
        headline = float(internal_rates(np.array(flows, dtype=np.float64)).headline)
        wanted = "none" if np.isnan(headline) else pytest.approx(headline, abs=1e-12)
        assert (found.at("Rates", rows[name] + 1, 1), found.at("Rates", rows[name], 1)) == (True, wanted), name
    assert found.at("Rates", rows["touched at 10 %"] + 1, 1) is False


BACKUP = {
    "study": {"count_backup": True},
    "household": {
        "outage": {
            "load_share": "60%",
            "usual": {"times_a_year": 2, "hours_each": 4},
            "worth": {"an_hour": 40},
            "losses": [{"item": "Food", "cost": 200}],
        }
    },
    "system": {"battery": {"kwh": 9, "kw": 4}},
    "costs": [{"item": "Everything", "category": "other", "cost": 14000}],
}


@pytest.mark.parametrize("count", [True, False])
def test_the_worth_of_backup_is_the_engines_and_no_price_of_backup_knows_it(count: bool, tmp_path: Path) -> None:
    """Counted or not, in the net and in the price at which a kWh of backup would make the NPV zero."""
    base = finsolar.study(house({**BACKUP, "study": {"count_backup": count}}))
    assert ("worth of backup" in base.results[0].cash.lines) == count
    assert np.isfinite(base.results[0].appraisal.backup_cost)
    book = written(base, base.to_json())
    [found] = worked_out({"as-is": book.file}, libreoffice(), tmp_path).values()
    assert differences(found, book, base.to_json()) == []
    assert faults(found) == []
