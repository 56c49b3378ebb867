"""The published household profile against values known from outside; each check carries its row id.

Beside each check stand its source and how it is known: `seen` (read in the source or in the package that holds it),
`own` (our exercise, recomputed). The profiles are those of the BDEW, the German association of energy and water
industries; the package is demandlib 0.2.2.
"""

from __future__ import annotations

import warnings
from functools import lru_cache

import demandlib.bdew
import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray

from finsolar.energy.clock import wall_clock
from finsolar.energy.standard_load import h25_hours

Array = NDArray[np.float64]
CLOCK = wall_clock(None, 0.0)
DAY_OF_HOUR = np.arange(8760) // 24


@lru_cache
def packaged(year: int, step: str = "15min") -> pd.Series:
    """H25 as the package draws it: kW for a nominal 1,000,000 kWh a year."""
    stamps = pd.date_range(f"{year}-01-01", f"{year}-12-31 23:59", freq=step)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return demandlib.bdew.H25(stamps)


def by_month(share: Array) -> Array:
    return np.bincount(CLOCK.month, weights=share)


def test_l01_factor_of_the_day() -> None:
    # BDEW, dynamic household profile: F(t) = -3.92e-10 t^4 + 3.2e-7 t^3 - 7.02e-5 t^2 + 2.1e-3 t + 1.24; seen.
    days = np.array([1, 105, 182, 365])
    expected = np.array([1.24203, 1.00934, 0.79593, 1.25722])
    stamps = pd.DatetimeIndex([pd.Timestamp(1990, 1, 1) + pd.Timedelta(days=int(day) - 1) for day in days])
    assert demandlib.bdew.H25.dynamisation_function(stamps).to_numpy() == pytest.approx(expected, abs=1e-5)

    # Within a month, two days of a kind differ by this factor alone: so it shows in the shares of our year.
    def factor(day: int) -> float:
        return -3.92e-10 * day**4 + 3.2e-7 * day**3 - 7.02e-5 * day**2 + 2.1e-3 * day + 1.24

    assert [factor(int(day)) for day in days] == pytest.approx(expected, abs=1e-5)
    daily = np.bincount(DAY_OF_HOUR, weights=h25_hours(CLOCK))
    for first, later in ((1, 29), (92, 113), (152, 180), (337, 365)):  # Mondays
        assert daily[later - 1] / daily[first - 1] == pytest.approx(factor(later) / factor(first), rel=1e-9)


def test_l02_a_household_without_seasons_and_two_with(monkeypatch: pytest.MonkeyPatch) -> None:
    # The package, year 2025, 4,000 kWh, no holidays; seen. Its class makes errors of the warnings it causes itself.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        monkeypatch.setattr(warnings, "simplefilter", lambda *_: None)
        old = demandlib.bdew.ElecSlp(2025).get_scaled_profiles({"h0": 4000, "h0_dyn": 4000})
    static, dynamic = (old[name].groupby(old.index.month).sum().to_numpy() for name in ("h0", "h0_dyn"))
    assert [static[0], static[6], static.sum()] == pytest.approx([324.86, 353.69, 4000.00], abs=0.05)
    assert [dynamic[0], dynamic[6], dynamic.sum()] == pytest.approx([406.86, 278.80, 4000.06], abs=0.05)
    # Ours must carry the season too: January above July, as in the dynamic profile and not as in the plain one.
    ours = by_month(h25_hours(CLOCK))
    assert static[0] / static[6] < 0.95 and dynamic[0] / dynamic[6] > 1.3 and ours[0] / ours[6] > 1.3


def test_l03_its_sum_misses_the_nominal_year() -> None:
    # The package, 2025, no holidays, quarters of kW over 4; seen. Hence the shares are brought to one.
    assert packaged(2025).sum() / 4 == pytest.approx(995_057, abs=5)
    assert h25_hours(CLOCK).sum() == pytest.approx(1.0, abs=1e-12)


def test_l04_hours_are_the_means_of_their_quarters() -> None:
    # The package, 2025; seen. Asked for hours, it takes only the first quarter of the last one: 11.49 kW apart.
    quarters = packaged(2025).to_numpy().reshape(8760, 4)
    apart = np.abs(packaged(2025, "h").to_numpy() - quarters.mean(axis=1))
    assert apart[:-1].max() < 1e-9 and apart[-1] == pytest.approx(11.49, abs=0.005)
    # Ours, of a year that begins on a Monday as 1990 does, holds all four quarters of every hour.
    hours = packaged(1990).to_numpy().reshape(8760, 4).sum(axis=1)
    assert np.allclose(h25_hours(CLOCK), hours / hours.sum(), rtol=1e-12, atol=0)


def test_l05_the_year_1990() -> None:
    # The package, 1990, hourly means scaled to 10,500 kWh; seen.
    load = 10_500 * h25_hours(CLOCK)
    monthly = [1056.73, 926.14, 927.51, 858.61, 806.62, 752.33, 781.85, 769.46, 774.41, 873.69, 924.08, 1048.58]
    assert by_month(load) == pytest.approx(monthly, abs=0.05)
    assert (load.max(), load.min()) == pytest.approx((2.3915, 0.5703), abs=1e-4)
    evening = (CLOCK.hour >= 16) & (CLOCK.hour < 21)
    assert load[evening].sum() / load.sum() == pytest.approx(0.28459, abs=1e-4)
