"""Tariffs as plain values for pictures: which price holds in each hour of each month, on which days."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from finsolar.report.words import tariffs_told
from finsolar.scenario.stated import times_in_words
from finsolar.tariff.prices import regimes

if TYPE_CHECKING:
    from finsolar.results import Study
    from finsolar.scenario.schema import Tariff


def tariffs_as_plain(study: Study) -> list[dict[str, Any]]:
    """Each tariff that anyone in the study has, once, with who has it and from which year on."""
    found: list[tuple[Tariff, list[str]]] = []
    holders = [(tariffs_told.STAY, study.settled.tariff)]
    holders += [(plan.name, plan.tariff) for plan in study.settled.alternatives if plan.system.operation != "off grid"]
    for name, first in holders:
        if first is None:
            continue
        for part, tariff in regimes(first, study.settled.study.years):
            whose = tariffs_told.from_year(name, part.start + 1)
            same = next((names for other, names in found if _alike(other, tariff)), None)
            if same is None:
                found.append((tariff, [whose]))
            else:
                same.append(whose)
    return [{"of": names, **_week(tariff)} for tariff, names in found]


def _alike(one: Tariff, other: Tariff) -> bool:
    """Whether two tariffs price energy alike, hour by hour."""
    return one.energy == other.energy


def _week(tariff: Tariff) -> dict[str, Any]:
    grid = tariff.period_grid()
    groups: list[list[int]] = []
    for day in range(7):
        alike = next((group for group in groups if np.array_equal(grid[:, group[0]], grid[:, day])), None)
        if alike is None:
            groups.append([day])
        else:
            alike.append(day)
    return {
        "periods": [{"name": each.name, "price": float(np.mean(each.price))} for each in tariff.energy],
        "days": [
            {"days": times_in_words(tuple(group), "days"), "hours": grid[:, group[0]].tolist()} for group in groups
        ],
    }
