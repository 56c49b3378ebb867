"""Several households side by side, in words: their common name, the heads of their tables, and what they assume."""

from __future__ import annotations

from collections.abc import Sequence

from finsolar.report.words.amounts import joined, money, per_cent

ASSUMED = {
    "currency": "currency",
    "years": "years of study",
    "discount_rate": "discount rate",
    "inflation": "inflation",
    "rise": "rise of the price of energy",
}
"""What figures of money depend on and households may assume differently, by key."""

HOUSES_CAPTION = "The houses: use in the first year, and the system of the best alternative"
HOUSES_HEAD = ["", "Place", "Load", "Modules", "Battery", "Carried by the sun", "Switched on"]
BEST = "best alternative"
MONEY_HEAD = ("net cost", "saving, year 1", "payback", "NPV", "IRR", "better off", "LCOE, a kWh")
MONEY_CAPTION = (
    "The money of each household’s best alternative, against staying as it is; payback is the simple one, "
    "for good, and “better off” the futures drawn in which the NPV is above zero"
)
ASSUMED_CAPTION = "What each study assumes; rates are per year, the discount rate nominal"
TERMS = ("Net cost", "Simple payback", "NPV", "IRR", "LCOE")
"""Those of `terms.TERMS` that the page explains."""


def title(names: Sequence[str]) -> str:
    """What the page of several households is called."""
    return " beside ".join(names) if len(names) <= 3 else f"{names[0]} and {len(names) - 1} more"


def place(where: str, latitude: float, longitude: float) -> str:
    """A place by its country and its degrees."""
    return f"{where}, {_degrees(latitude, 'NS')} {_degrees(longitude, 'EW')}"


def _degrees(angle: float, sides: str) -> str:
    return f"{abs(angle):.1f}°\N{NO-BREAK SPACE}{sides[angle < 0]}"


def size(number: float | None, unit: str) -> str:
    """The size of a part, or that there is none or that it was not stated."""
    return "not stated" if number is None else f"{number:,.1f} {unit}" if number else "none"


def energy_price(lcoe: float | None, currency: str) -> str:
    """What a kWh comes to, or that no such figure exists."""
    return "none" if lcoe is None else money(lcoe, currency, 3)


def rise(share: float | None) -> str:
    """A yearly rise, or that there is no single one."""
    return "no single one" if share is None else per_cent(share)


def differ(different: list[str]) -> str:
    """That studies with different assumptions cannot be compared as they stand; ``different`` : some of `ASSUMED`."""
    return (
        f"These households differ in what they assume: {joined(different)}. Their NPV, paybacks and rates are "
        "not comparable as they stand. Give them the same assumptions before you hold one against another."
    )


def alike(same: list[str]) -> str:
    """What all households assume alike, some of `ASSUMED`."""
    return f"The same for all: {joined(same)}."


def counting_backup(names: list[str], *, all_do: bool) -> str:
    """Whose figures of money hold the worth of backup, and that those of others are not comparable with them."""
    whose = joined([f"“{name}”" for name in names])
    said = f"With {whose} the worth of backup is counted in NPV, payback, IRR and running total, though it is no cash"
    return f"{said}." if all_do else f"{said}; with the others it is not. Do not hold one against another by these."


def several_currencies(currencies: list[str]) -> str:
    """Why there is no common chart of money."""
    return (
        f"The households reckon in {joined(currencies)}, and finsolar knows no rate of exchange: so no chart shows "
        "their money side by side."
    )
