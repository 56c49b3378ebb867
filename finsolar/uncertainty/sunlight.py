"""How the answer moves with the sunlight of the years: dull ones, the one in the middle, bright ones."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.results import Study
from finsolar.scenario.numbers import Range, limits
from finsolar.study import study

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class SunSpread:
    """Figures by sunlight, (3,) each: the low end, the middle and the high end of the range.

    ``brightness`` is the sunlight over that of the weather's year, held in all years. By alternative, in the order of
    the study: solar kWh, saving and unserved kWh of the first year, NPV and lasting simple payback.
    """

    brightness: Array
    names: tuple[str, ...]
    solar: tuple[Array, ...]
    saving: tuple[Array, ...]
    unserved: tuple[Array, ...]
    npv: tuple[Array, ...]
    simple_payback: tuple[Array, ...]


def with_sun_spread(base: Study) -> Study:
    """The study with the spread added, where the scenario writes its sunlight as a range; else as it was."""
    sun = base.scenario.weather
    if isinstance(sun, str) or not isinstance(sun.brightness, Range):
        return base
    low, high = sun.brightness.ends
    middle, years = sun.brightness.central, sun.brightness.yearly_sd
    # A dull year is one of a dull place or of its own: the two go together as spreads of independent numbers do.
    values = np.clip(
        [middle - np.hypot(middle - low, years), middle, middle + np.hypot(high - middle, years)],
        *limits(type(sun).model_fields["brightness"]),
    )
    # One after another, and only figures kept: every hour of all three at once would take too much memory.
    figures = np.stack(
        [
            _figures(study(base.scenario, {"weather.brightness": float(values[0])})),
            _figures(base),
            _figures(study(base.scenario, {"weather.brightness": float(values[2])})),
        ],
        axis=-1,
    )
    solar, saving, unserved, npv, payback = (tuple(rows) for rows in figures)
    names = tuple(result.name for result in base.results)
    return replace(base, sunlight=SunSpread(values, names, solar, saving, unserved, npv, payback))


def _figures(cases: Study) -> Array:
    """What is told of each alternative, (5, alternatives)."""
    return np.array(
        [
            [float(r.position.flows.solar[0].sum()) for r in cases.results],
            [float(r.first_year_saving) for r in cases.results],
            [float(r.position.flows.unserved[0].sum()) for r in cases.results],
            [float(r.appraisal.npv) for r in cases.results],
            [float(r.appraisal.simple_payback_lasting) for r in cases.results],
        ]
    )
