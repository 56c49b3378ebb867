"""Who has a tariff, and from when on."""

from __future__ import annotations

STAY = "stay as you are"


def from_year(name: str, year: int) -> str:
    """Who has a tariff from a year on; from year 1 on the name is enough."""
    return name if year == 1 else f"{name}, from year {year}"
