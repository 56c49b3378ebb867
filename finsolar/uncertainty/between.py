"""Outages of many cases whose hours differ: what houses carry at a few exact places, and weighed between them.

What a house carries of a year's outages is a sum over its curves, so that weighed curves give weighed sums.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.backup import Carrying, Outages
from finsolar.energy.house import Run
from finsolar.energy.interruptions import Curve, Wanted

Array = NDArray[np.float64]


def outages_between(parts: Sequence[Outages | None], weights: Array) -> Outages | None:
    """What the house wants while the grid is down, in the first year of each case; None where nothing is expected.

    parts : of the exact studies; weights : (cases, years or 1, places). The lengths are those of the first part.
    """
    known = [each for each in parts if each is not None]
    if not known:
        return None
    first = weights[:, 0]

    def between(kinds: Sequence[Wanted]) -> Wanted:
        kw, later = (first @ np.stack([getattr(each, name) for each in kinds]) for name in ("kw", "later"))
        return Wanted(kinds[0].ends, np.maximum(kw, 0.0), np.maximum(later, 0.0))

    wanted = zip(*(each.wanted for each in known), strict=True)
    return Outages(known[0].lengths, tuple(between(kinds) for kinds in wanted))


def carrying_between(parts: Sequence[Carrying | None], run: Run, weights: Array) -> Carrying | None:
    """How an alternative carries outages in each case, None where nothing in it does.

    run : its battery in every case; parts, weights : as of `outages_between`. New is the first year, worn the last year
    of the first battery, and each goes by the weights of its own year.
    """
    known = [each for each in parts if each is not None]
    if not known:
        return None
    years = run.renewed.shape[-1]
    renewed = np.broadcast_to(run.renewed, (len(weights), years))
    last = np.where(renewed.any(axis=-1), renewed.argmax(axis=-1), years - 1)
    first, late = weights[:, 0], weights[np.arange(len(weights)), last if weights.shape[1] > 1 else 0]
    return Carrying(
        tuple(_curve(each, first) for each in zip(*(one.new for one in known), strict=True)),
        tuple(_curve(each, late) for each in zip(*(one.worn for one in known), strict=True)),
        first @ np.stack([one.new_kwh for one in known]),
        late @ np.stack([one.worn_kwh for one in known]),
    )


def _curve(parts: Sequence[Curve], weights: Array) -> Curve:
    """The curve of each case; weights : (cases, places)."""
    hours, bins = np.unique(np.concatenate([each.hours for each in parts]), return_inverse=True)
    share = np.zeros((len(parts), hours.size))
    owner = np.repeat(np.arange(len(parts)), [each.hours.size for each in parts])
    np.add.at(share, (owner, bins), np.concatenate([each.share for each in parts]))
    return Curve(weights @ share, hours, np.maximum(weights @ np.stack([each.kw for each in parts]), 0.0))
