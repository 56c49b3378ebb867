"""What a generator costs to run."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from finsolar.tariff.bills import FUEL, RUNNING, Bill

Array = NDArray[np.float64]


def generator_bill(litres: Array, hours: Array, fuel_price: Array, upkeep_per_hour: Array) -> Bill:
    """Fuel burnt and hours worn, as a bill.

    litres, hours : (..., years, 12); fuel_price (money per litre) and upkeep_per_hour (money) : (..., years).
    """
    return Bill({FUEL: litres * fuel_price[..., :, None], RUNNING: hours * upkeep_per_hour[..., :, None]})
