"""The first year's bill by price period, as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from finsolar.report.numbers import value
from finsolar.report.words.periods_told import IN_MONEY, NO_GRID
from finsolar.tariff.bills import ENERGY, EXPORT
from finsolar.tariff.periods import period_parts
from finsolar.tariff.prices import prices, regimes, year_from

if TYPE_CHECKING:
    import datetime as dt

    from numpy.typing import NDArray

    from finsolar.results import Position
    from finsolar.scenario.schema import Tariff

_NOISE = 1e-6
"""Money of a year: less than that is left of a component by rounding alone."""


def periods_as_plain(position: Position, tariff: Tariff | None, years: int, begins: dt.date) -> dict[str, Any]:
    """The key ``by_period`` of a bill, first year.

    ``periods`` : each with its ``name``, kWh ``drawn``, ``fed_in`` and ``billed`` (those that energy is charged for),
    money of ``energy`` and of ``export_credit`` (zero or less), and ``money``, both together. ``not_by_period`` : the
    other components of the bill, and what of those two goes by no period; with ``money`` of all periods they make the
    bill, ``total``. Where there is no money by period, ``money`` and its parts are ``null``, and ``reasons`` say why.
    """
    bill = {name: float(position.bill.yearly(name)[0]) for name in position.bill.components}
    total = value(position.bill.total[0])
    if tariff is None:
        return {"periods": [], "not_by_period": bill, "total": total, "reasons": {"money": NO_GRID}}
    flows = position.metered[0].flows
    part, first = regimes(tariff, years)[0]
    asked = prices(first, years, calendar=year_from(begins.month - 1), part=part)
    found = period_parts(begins.month - 1, flows.imported, flows.exported, asked)

    def of_year(amounts: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.asarray(amounts[0].sum(axis=0))

    parts = {} if found is None else {name: of_year(each) for name, each in found.components.items()}
    drawn, fed = of_year(flows.imported), of_year(flows.exported)
    rest = {name: amount - float(parts[name].sum()) if name in parts else amount for name, amount in bill.items()}

    def of_period(i: int, name: str) -> dict[str, Any]:
        told = {"name": name, "drawn": value(drawn[i]), "fed_in": value(fed[i])}
        if found is None:
            return told | dict.fromkeys(("billed", "energy", "export_credit", "money"))
        energy, credit = (float(parts[of][i]) if of in parts else 0.0 for of in (ENERGY, EXPORT))
        return told | {
            "billed": value(of_year(found.billed)[i]),
            "energy": value(energy),
            "export_credit": value(credit),
            "money": value(energy + credit),
        }

    return {
        "periods": [of_period(i, name) for i, name in enumerate(asked.periods)],
        "not_by_period": {name: amount for name, amount in rest.items() if name not in parts or abs(amount) > _NOISE},
        "total": total,
        "reasons": {} if found is not None else {"money": IN_MONEY},
    }
