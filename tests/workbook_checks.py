"""A workbook that was worked out, held against the study it was written of, figure by figure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from spreadsheet import Spreadsheet, Value

from finsolar.report.workbook.whole import Written

Plain = dict[str, Any]

RATES = frozenset(
    {
        "irr",
        "real_irr",
        "mirr",
        "real_mirr",
        "sir",
        "airr",
        "real_airr",
        "lcoe",
        "real_lcoe",
        "lcoe_solar",
        "real_lcoe_solar",
        "backup_cost",
        "apr",
        "effective_rate",
        "minimum",
        "average",
    }
)
ASK = "study it again"


def told(plain: Plain, key: str) -> list[float | None]:
    """What the JSON of a study has under an id, as a list."""
    found: Any = plain
    for step in key.replace("compare.", "alternatives.", 1).split("."):
        found = found[int(step)] if isinstance(found, list) else found[step]
    return found if isinstance(found, list) else [found]


def shown(book: Spreadsheet, written: Written, key: str) -> list[Value]:
    """What a workbook shows under an id."""
    place = written.ids[key]
    down, across = (1, 0) if place.down else (0, 1)
    return [book.at(place.sheet, place.row + down * k, place.column + across * k) for k in range(place.count)]


def alike(found: Value, wanted: float | None, key: str) -> bool:
    """Whether a cell shows a figure: rates to 1e-9, paybacks to 1e-6 years, money to a hundredth of a cent.

    A ratio far above 1 is one to next to nothing, which magnifies rounding by the ratio once more.
    """
    if wanted is None:
        return found in {"never", "none"}
    last = key.rpartition(".")[2]
    close = 1e-9 * max(1.0, wanted**2) if last in RATES else 1e-6 if "payback" in last else 1e-4
    return isinstance(found, float) and abs(found - wanted) <= close


def differences(book: Spreadsheet, written: Written, plain: Plain) -> list[str]:
    """Every figure that a workbook shows otherwise than the JSON of a study."""
    found = []
    for key in written.ids:
        cells, numbers = shown(book, written, key), told(plain, key)
        if len(cells) != len(numbers):
            found.append(f"{key}: {len(cells)} cells for {len(numbers)} figures")
        for k, (cell, number) in enumerate(zip(cells, numbers, strict=False)):
            if not alike(cell, number, key):
                found.append(f"{key}[{k}]: {cell} for {number}")
    return found


def faults(book: Spreadsheet) -> list[str]:
    """Every cell that could not be worked out."""
    return [
        f"{sheet} {address}: {cell.value}"
        for sheet, cells in book.sheets.items()
        for address, cell in cells.items()
        if cell.kind == "e" or str(cell.value).startswith(("#", "Err:"))
    ]


def symbols(values: Mapping[Any, float]) -> dict[str, float]:
    """Values of inputs by the names of their cells."""
    return {one.symbols[0]: value for one, value in values.items()}
