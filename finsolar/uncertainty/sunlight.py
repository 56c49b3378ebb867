"""How the answer moves with the sunlight of the years: dull ones, the one in the middle, bright ones."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from finsolar.scenario.numbers import Range
from finsolar.study import Study, study

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
    values = np.clip([low, sun.brightness.central, high], 0.0, None)
    cases = study(base.scenario, {"weather.brightness": values[:, None]})
    results = cases.results

    def column(figures: Array) -> Array:
        return np.broadcast_to(figures, values.shape)

    spread = SunSpread(
        brightness=values,
        names=tuple(result.name for result in results),
        solar=tuple(column(r.position.flows.solar[..., 0, :].sum(axis=-1)) for r in results),
        saving=tuple(column(r.first_year_saving) for r in results),
        unserved=tuple(column(r.position.flows.unserved[..., 0, :].sum(axis=-1)) for r in results),
        npv=tuple(column(r.appraisal.npv) for r in results),
        simple_payback=tuple(column(r.appraisal.simple_payback_lasting) for r in results),
    )
    return replace(base, sunlight=spread)
