"""The answer over the two numbers that a household can look up: how prices rise, and what the system costs."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from finsolar.results import Study
from finsolar.uncertainty.inputs import PRICE, Input, input_of
from finsolar.uncertainty.other_numbers import RISE, SHARES
from finsolar.uncertainty.rises import RISES, OwnRise, every_rise, own_rise, stated_rises
from finsolar.uncertainty.vary import Axis, vary


def with_map(base: Study) -> Study:
    """The study of single values with its map added: every alternative over the yearly rise and the purchase price.

    All prices of supply rise alike, by the rises of the sweep and the scenario's own; all lines of cost move alike, as
    ``finsolar vary`` moves them. As it was where nothing is paid for.
    """
    if not any(plan.costs for plan in base.settled.alternatives):
        return base
    price = input_of(base, PRICE)
    return replace(base, map=vary(base, (_rises(base), Axis(price, SHARES))))


def _rises(base: Study) -> Axis:
    own = own_rise(base.scenario)
    now = own.central if isinstance(own, OwnRise) else float("nan")
    # A rise among those of the sweep stands as the scenario writes it, to the last bit.
    others = RISES[~np.isclose(RISES, now, rtol=0, atol=1e-9)]
    values = RISES if np.isnan(now) else np.sort([*others, now])
    paths = tuple(stated_rises(base.scenario))
    return Axis(Input(RISE, paths, True, True, now, _as_it_is, lambda rises: every_rise(base.scenario, rises)), values)


def _as_it_is(value: Any) -> float:
    return float(value)
