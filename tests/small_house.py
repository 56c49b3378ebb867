"""One small house as a tree of fields, and the same with some of them changed: what single features are tried on."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario

Tree = dict[str, Any]

HOUSE: Tree = {
    "title": "Sorrel Lane",
    "place": {"country": "US", "region": "NC", "latitude": 36.1, "longitude": -79.95, "timezone": "America/New_York"},
    "study": {"in_service": "2026-06-01", "years": 12, "discount_rate": "5%"},
    "household": {
        "load": {"monthly_kwh": [800, 700, 650, 600, 600, 750, 850, 850, 700, 600, 650, 800], "shape": "evening"}
    },
    "weather": "greensboro",
    "tariff": {
        "energy": [{"name": "peak", "price": 0.3, "hours": "16-21"}, {"name": "rest", "price": 0.12}],
        "export": {"scheme": "net billing", "price": 0.04},
        "rise": "2%",
    },
    "system": {
        "arrays": [{"kw": 5, "tilt": 30, "azimuth": 180}],
        "inverter": {"kw": 5},
        "battery": {"kwh": 8, "kw": 4},
    },
    "costs": [
        {"item": "Modules", "category": "modules", "cost": 5500},
        {"item": "Battery", "category": "battery", "cost": 3500},
    ],
    "alternatives": [{"name": "Roof"}],
}


def changed(tree: Tree, changes: Tree) -> Tree:
    """A tree with some fields replaced, block by block; a field changed to None goes."""
    found = copy.deepcopy(tree)
    for name, value in changes.items():
        if value is None:
            found.pop(name)
        elif isinstance(value, dict) and isinstance(found.get(name), dict):
            found[name] = changed(found[name], value)
        else:
            found[name] = value
    return found


def house_text(changes: Tree | None = None) -> str:
    """The house as the text of a scenario file: JSON is YAML too."""
    return json.dumps(changed(HOUSE, changes or {}), ensure_ascii=False, indent=1)


def house(changes: Tree | None = None, folder: Path | None = None) -> Scenario:
    """The house, read; the files that it names stand in ``folder``."""
    return from_text(house_text(changes), "house.yaml", folder)
