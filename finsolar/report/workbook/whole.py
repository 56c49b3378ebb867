"""The study as a workbook: inputs, awards, bills, cash flow and figures with live formulas, for whoever audits it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from finsolar.report.words.terms import METRIC_ROWS
from finsolar.report.workbook.cells import A3, YEAR_0, Book, Place, Sheet, sheet_name
from finsolar.report.workbook.exact import bill_terms, reasons_not_live
from finsolar.report.workbook.figures import HEADS, Figures
from finsolar.report.workbook.front import banner, write_compare, write_inputs, write_read_me
from finsolar.report.workbook.inputs import Input, Inputs
from finsolar.report.workbook.lender import write_coverage
from finsolar.report.workbook.plan import PlanSheet, StaySheet
from finsolar.report.workbook.simulation import write_simulation
from finsolar.results import Study
from finsolar.scenario.paying import Borrowing

Plain = dict[str, Any]

STAY = "Staying as you are"
_FIGURES_AT = 4  # the row of the first figure on an alternative's sheet
_WIDE, _NOTE, _ID, _YEAR = 38.0, 15.0, 26.0, 9.5


@dataclass(frozen=True)
class Written:
    """A workbook as a file, the place of every id in it, and the inputs that may be changed.

    An id is a path into the JSON of the same study; those that begin with ``compare`` stand for ``alternatives``.
    """

    file: bytes
    ids: dict[str, Place]
    free: tuple[Input, ...]


def workbook(study: Study, plain: Plain) -> bytes:
    """The workbook of a single study with its plain values, as a file."""
    return written(study, plain).file


def written(study: Study, plain: Plain) -> Written:
    """The workbook of a single study, and where each figure stands.

    Its inputs are moved and studied again by the engine, hours taken over, to learn which of them the formulas follow.
    """
    years = study.settled.study.years
    book = Book(plain["scenario"]["title"], plain["settings"]["currency"], years)
    if "made_from" in plain:
        book.file.set_custom_property("made_from", plain["made_from"])
    sheets = _sheets(book, study, plain)
    inputs = Inputs(study, book)
    real = inputs.known("study.real_discount_rate")
    inputs.ask("study.real_discount_rate" if real else "study.discount_rate")
    inputs.start_indices(sheets["indices"])
    names = [STAY, *(result.name for result in study.results)]
    terms = bill_terms(study, inputs.energy_rises(), names)

    def bills(plan: int | None) -> dict[str, Any]:
        return {component: promise for (whose, component), promise in terms.items() if whose == plan}

    stay = StaySheet(sheets["stay"], inputs, study, bills(None))
    promises, cells, printed = list(terms.values()), [], dict[str, int]()
    for i, told in enumerate(plain["alternatives"]):
        sheet = sheets[f"plan {i}"]
        plan = PlanSheet(sheet, sheets.get(f"loan {i}"), inputs, study, i, stay)
        sheet.row = _FIGURES_AT + len(METRIC_ROWS) + 3
        plan.write(told, bills(i))
        write_coverage(plan)
        figures = Figures(plan, told["metrics"])
        figures.work()
        printed[f"plan {i}"] = sheet.row
        figures.search()
        bottom, sheet.row = sheet.row, _FIGURES_AT - 1
        sheet.head(HEADS)
        found = figures.tell(_FIGURES_AT)
        sheet.row = bottom
        found |= {"gross": plan.built.gross, "net": plan.net_cost, "saving": plan.saving}
        cells.append(found | {"npv in cash": figures.without_worth or found["npv"]})
        promises += plan.promises
    asked = list(inputs.asked.values())
    reasons = reasons_not_live(study, asked, promises)
    write_inputs(sheets["inputs"], inputs, plain, reasons)
    write_compare(sheets["compare"], plain, cells, [sheets[f"plan {i}"].name for i in range(len(cells))])
    if "simulation" in sheets:
        write_simulation(sheets["simulation"], plain)
    write_read_me(sheets["read me"], plain, inputs, reasons, terms.values())
    _finish(sheets, plain, years, printed)
    free = tuple(one for one in asked if one.symbols[0] not in reasons)
    return Written(book.finish(), book.ids, free)


def _sheets(book: Book, study: Study, plain: Plain) -> dict[str, Sheet]:
    """All sheets, empty, in the order in which they are read."""
    wanted = [("read me", "Read me"), ("compare", "Compare"), ("inputs", "Inputs"), ("stay", STAY)]
    for i, result in enumerate(study.results):
        wanted.append((f"plan {i}", result.name))
        if isinstance(result.plan.payment, Borrowing):
            wanted.append((f"loan {i}", f"Loan, {result.name}"))
    wanted.append(("indices", "Indices"))
    if plain["uncertainty"] is not None:
        wanted.append(("simulation", "Simulation"))
    own = {name for key, name in wanted if not key.startswith(("plan", "loan"))}
    taken: list[str] = list(own)
    found: dict[str, Sheet] = {}
    for key, name in wanted:
        free = (
            name if name in own and not key.startswith(("plan", "loan")) else sheet_name(name, taken, key.capitalize())
        )
        taken.append(free)
        found[key] = book.sheet(free)
    return found


def _finish(sheets: dict[str, Sheet], plain: Plain, years: int, printed: dict[str, int]) -> None:
    """Heads, widths, panes and print; ``printed`` : up to which row, where a search below is not."""
    by_year = [_WIDE, _NOTE, _ID, *[_YEAR] * max(years + 1, 15)]
    last = YEAR_0 + max(years, 14)
    count = len(plain["alternatives"])
    for key, sheet in sheets.items():
        if key in {"stay", "indices"} or key.startswith("plan"):
            titles = {"stay": STAY, "indices": "Indices by year"}
            banner(sheet, titles.get(key) or plain["alternatives"][int(key.split()[1])]["name"])
            sheet.close(by_year, (2, YEAR_0), last, printed.get(key), A3)
        elif key.startswith("loan"):
            banner(sheet, f"The loan of “{plain['alternatives'][int(key.split()[1])]['name']}”")
            sheet.close([36.0, 14.0, 30.0, *[14.0] * 9], (3, 1), 11)
        elif key == "inputs":
            sheet.close([52.0, 16.0, 34.0, 14.0, 12.0, 12.0, 34.0, 60.0], (3, 1), 7)
        elif key == "compare":
            sheet.close([44.0, *[18.0] * count, 26.0], (4, 1), count + 1)
        elif key == "simulation":
            sheet.close([44.0, 2.0, 46.0, *[15.0] * 9], (3, 1), 11)
        else:
            sheet.close([16.0] * 9, (2, 0), 8)
