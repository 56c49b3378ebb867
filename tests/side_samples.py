"""Made-up households, worked out, for the page that puts several side by side."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from small_house import house

from finsolar.report.side_by_side import household
from finsolar.study import study
from finsolar.uncertainty.rises import with_rise_sweep

Plain = dict[str, Any]


@lru_cache
def _worked_out() -> Plain:
    return household(with_rise_sweep(study(house({"study": {"years": 4}}))).to_json(), "Sorrel Lane")


def households(*changes: Plain) -> list[Plain]:
    """The small house once for each of some changes; with a spread of its figures, as if cases had been drawn."""
    ends: Plain = {"npv": {"p10": -3000.0, "p50": -900.0, "p90": 1500.0}}
    ends["simple_payback"] = {"p10": 3.1, "p50": 3.6, "p90": None}
    return [
        _worked_out() | {"name": f"House {i}", "spread": ends, "chance": 0.42} | one for i, one in enumerate(changes)
    ]
