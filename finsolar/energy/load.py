"""The house: monthly kWh spread over the hours of the year by a daily shape."""

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.energy.clock import Clock
from finsolar.energy.standard_load import h25_hours

Array = NDArray[np.float64]

SEASONS = ("winter", "between", "summer")
DAYS = ("weekday", "weekend")
_NORTHERN_SEASON = np.array([0, 0, 1, 1, 1, 2, 2, 2, 1, 1, 1, 0])  # index into SEASONS, by month


STANDARD = "bdew-h25"
"""The name of the published standard profile; all other shapes are invented."""


def shape_names() -> tuple[str, ...]:
    """Return the names of the shapes that come with the tool."""
    return (*_shapes(), STANDARD)


def shape_about(name: str) -> str:
    """Return one line on the household that a shape stands for; raise ValueError for an unknown name."""
    if name == STANDARD:
        return "the standard household load of the German electricity industry, an average of many homes"
    return _shape(name)[0]


def hourly_load(monthly_kwh: ArrayLike, shape: str | Sequence[float], clock: Clock, southern: bool = False) -> Array:
    """Spread monthly use over the steps of the clock, so that every month keeps its sum.

    `monthly_kwh` (..., 12) kWh; `shape` a name out of `shape_names()` or 24 weights, midnight to midnight,
    used every day; `clock` the wall clock, which decides month, weekend and hour; `southern` turns the
    seasons of a named shape. Returns (..., steps) kWh. Raises ValueError for negative or missing numbers and
    for a shape without any use.
    """
    monthly = np.asarray(monthly_kwh, dtype=np.float64)
    if monthly.shape[-1:] != (12,) or not np.all(monthly >= 0.0):
        raise ValueError("monthly use needs twelve numbers of zero or more")
    if isinstance(shape, str) and shape == STANDARD:
        hourly = h25_hours(clock, southern)
    else:
        season = np.roll(_NORTHERN_SEASON, 6) if southern else _NORTHERN_SEASON
        hourly = _weights(shape)[season[clock.month], (clock.weekday >= 5).astype(np.int64), clock.hour]
    in_month = np.bincount(clock.month, weights=hourly, minlength=12)
    return np.asarray(hourly * (monthly / in_month)[..., clock.month])


def _weights(shape: str | Sequence[float]) -> Array:
    """Return the weights by (season, kind of day, hour)."""
    if isinstance(shape, str):
        return _shape(shape)[1]
    weights = np.asarray(shape, dtype=np.float64)
    if weights.shape != (24,) or not np.all(weights >= 0.0) or not np.any(weights > 0.0):
        raise ValueError("a shape needs 24 weights of zero or more, one of them above zero")
    return np.broadcast_to(weights, (len(SEASONS), len(DAYS), 24))


def _shape(name: str) -> tuple[str, Array]:
    shapes = _shapes()
    if name not in shapes:
        raise ValueError(f"unknown load shape {name!r}; known shapes: {', '.join(shapes)}")
    return shapes[name]


@lru_cache(maxsize=1)
def _shapes() -> dict[str, tuple[str, Array]]:
    from ruamel.yaml import YAML

    book = YAML(typ="safe").load(Path(__file__).with_name("shapes.yaml"))
    return {
        name: (entry["about"], np.array([[entry[s][d] for d in DAYS] for s in SEASONS], dtype=np.float64))
        for name, entry in book.items()
    }
