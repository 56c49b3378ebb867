"""Numbers of the engine as plain values that strict JSON can hold."""

from __future__ import annotations

import math
from typing import Any

import numpy as np


def value(number: Any) -> float | None:
    """One number; ``None`` for one that does not exist."""
    found = float(number)
    return found + 0.0 if math.isfinite(found) else None  # adding zero turns -0.0 into 0.0


def values(array: Any) -> list[float | None]:
    """A row of numbers."""
    return [value(number) for number in np.atleast_1d(array)]
