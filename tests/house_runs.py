"""A house run hour by hour with few words, for tests that need no more."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.balance import Backing, Hourly, run_steps

Array = NDArray[np.float64]


def run_hours(
    solar: Array,
    load: Array,
    grid: bool = True,
    export_allowed: bool = True,
    generator_kw: Any = None,
    **more: Any,
) -> Hourly:
    """Balance every hour beside a grid or without one."""
    return run_steps(solar, load, Backing(grid, export_allowed, generator_kw=generator_kw), **more)
