"""The days of some real year on the study's calendar, each on its own weekday."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.clock import CALENDAR_YEAR

DAYS = 365


def places_by_weekday(dates: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Return the place (365,) in the study's calendar, 0 for 1 January, of each of 365 different dates (365,).

    Each keeps its weekday and, beyond that, comes as near to its date as can be, three days off at most but for the
    odd day that a year has over 52 weeks. Dates are of type datetime64[D], in any order; 29 February counts as the
    28th. Assignment that minimises the sum of squared days apart, with a stranger's weekday as the last resort.
    """
    from scipy.optimize import linear_sum_assignment

    number = dates.astype("datetime64[D]").astype(np.int64)
    year = dates.astype("datetime64[Y]")
    of_year = (dates - year.astype("datetime64[D]")).astype(np.int64)
    leap = ((year + 1).astype("datetime64[D]") - year.astype("datetime64[D]")).astype(np.int64) == 366
    of_year -= leap & (of_year >= 59)  # 29 February counts as the 28th
    study = np.arange(DAYS)
    apart = np.abs(of_year[:, None] - study)
    apart = np.minimum(apart, DAYS - apart)
    weekday = (number + 3) % 7  # 1 January 1970 was a Thursday
    stranger = weekday[:, None] != (study + date(CALENDAR_YEAR, 1, 1).weekday()) % 7
    return np.asarray(linear_sum_assignment(apart**2 + 1000 * stranger)[1], dtype=np.int64)
