"""What a generator burns."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FUEL_PER_KWH = 0.246  # litres per kWh delivered
FUEL_PER_RATED_KW = 0.08415  # litres per hour of running and kW of rating


def fuel_litres(
    kwh: ArrayLike,
    hours: ArrayLike,
    kw: ArrayLike,
    slope: ArrayLike = FUEL_PER_KWH,
    idle: ArrayLike = FUEL_PER_RATED_KW,
) -> NDArray[np.float64]:
    """Return the litres of diesel burnt, broadcast over its inputs.

    `kwh` delivered, `hours` run, `kw` rated power, `slope` litres per kWh, `idle` litres per hour and rated
    kW: litres = slope kwh + idle kw hours. Source: Skarstein and Uhlen, Wind Engineering 13, 1989 (from
    memory).
    """
    return np.asarray(np.multiply(slope, kwh) + np.multiply(idle, kw) * hours, dtype=np.float64)
