"""Lengths of outages and what a house carries of them, against closed forms and 200,000 outages drawn by lot."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from finsolar.energy.battery import Battery
from finsolar.energy.endurance import endurance
from finsolar.energy.interruptions import (
    NOTHING,
    Curve,
    Kind,
    curve,
    dark_for_long,
    expected,
    lengths,
    limited_mean,
    starts_of,
    survival,
    wanted,
)

YEAR = 8760
MONTH_OF_HOUR = np.repeat(np.arange(12), np.multiply(24, [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]))
LONGEST = 72.0


def kind(mean: float = 6.0, spread: float = 1.5, months: tuple[int, ...] | None = None, times: float = 1.3) -> Kind:
    """A kind of outages."""
    return Kind("usual", np.array(times), np.array(mean), spread, months)


def load() -> np.ndarray:
    """A year of evenings, kW, dearer in winter."""
    hour, day = np.arange(YEAR) % 24, np.arange(YEAR) // 24
    return 0.3 + 0.5 * ((hour >= 17) & (hour < 22)) + 0.2 * np.cos(2 * np.pi * day / 365)


def lasts(kwh: float, load_kw: np.ndarray) -> np.ndarray:
    """Hours that a house with a battery and some sun lasts from each hour of the year."""
    hour, day = np.arange(YEAR) % 24, np.arange(YEAR) // 24
    sun = np.maximum(np.sin(np.pi * (hour - 6) / 12), 0) * (1.2 - np.cos(2 * np.pi * day / 365)) * (day % 5 > 1)
    stored = kwh * (0.4 + 0.5 * (hour >= 12))
    battery = Battery(np.array(kwh), 0.0, 3.0, 3.0, 0.95, 0.95)
    return endurance(sun, load_kw, stored, np.arange(YEAR), battery, int(LONGEST))


def carried(of: Kind, kwh: float, load_kw: np.ndarray):
    """What is expected of a kind of outages in that house, and its curve."""
    counts = starts_of(of.months, MONTH_OF_HOUR)
    want = wanted(load_kw, counts, LONGEST)
    by = curve(lasts(kwh, load_kw), load_kw, counts, want)
    return expected(lengths(of, want.ends), want, by), by


@pytest.mark.parametrize(("mean", "spread"), [(2.0, 1.5), (40.0, 0.4), (0.3, 3.0)])
def test_lengths_are_lognormal_with_their_mean_and_spread(mean: float, spread: float) -> None:
    """By the density, summed up in small steps of the logarithm."""
    sigma = math.sqrt(math.log(1 + spread**2))
    mu = math.log(mean) - sigma**2 / 2
    z = np.linspace(-9, 9, 200_001)
    weight = np.exp(-(z**2) / 2) / math.sqrt(2 * math.pi) * (z[1] - z[0])
    length = np.exp(mu + sigma * z)
    assert weight @ length == pytest.approx(mean, rel=1e-6)
    assert weight @ length**2 - mean**2 == pytest.approx((spread * mean) ** 2, rel=1e-3)
    for hours in (0.1, mean, 7 * mean):
        assert float(limited_mean(mean, spread, hours)) == pytest.approx(weight @ np.minimum(length, hours), rel=1e-5)
        assert float(survival(mean, spread, hours)) == pytest.approx(weight @ (length > hours), abs=2e-4)
    assert float(limited_mean(mean, spread, 0.0)) == 0
    assert float(survival(mean, spread, 0.0)) == 1
    assert float(limited_mean(mean, spread, 1e9)) == pytest.approx(mean)


def test_without_spread_all_last_their_mean() -> None:
    assert limited_mean(3.0, 0.0, np.array([1.0, 3.0, 5.0])).tolist() == [1, 3, 3]
    assert survival(3.0, 0.0, np.array([1.0, 3.0, 5.0])).tolist() == [1, 0, 0]


def test_a_column_of_means_is_each_mean_alone() -> None:
    means = np.array([0.5, 3.0, 60.0])
    together = limited_mean(means[:, None], 1.5, np.arange(20.0))
    assert together.shape == (3, 20)
    for row, mean in zip(together, means, strict=True):
        assert row == pytest.approx([float(limited_mean(mean, 1.5, hours)) for hours in range(20)])


def by_lot(of: Kind, kwh: float, load_kw: np.ndarray, after: float) -> dict[str, tuple[float, float]]:
    """200,000 outages one after another: the mean of each figure, and its standard error."""
    dice, hold = random.Random(7), lasts(kwh, load_kw).tolist()
    before = np.concatenate([[0.0], np.cumsum(load_kw)]).tolist()
    starts = [s for s in range(YEAR) if of.months is None or MONTH_OF_HOUR[s] in of.months]
    sigma = math.sqrt(math.log(1 + of.spread**2))
    mu = math.log(float(of.hours)) - sigma**2 / 2

    def used(start: int, hours: float) -> float:
        """The load of so many hours, the year being a circle."""
        rounds, end = divmod(start + hours, YEAR)
        whole = int(end)
        return rounds * before[-1] + before[whole] + (end - whole) * load_kw[whole] - before[start]

    rows = []
    for _ in range(200_000):
        start, length = dice.choice(starts), dice.lognormvariate(mu, sigma)
        lit = min(length, hold[start])
        dark = length - lit
        rows.append((length, lit, used(start, length), used(start, lit), dark > after, max(dark - after, 0.0)))
    names = ("hours", "hours_carried", "kwh", "kwh_carried", "times_dark", "hours_dark")
    found = np.array(rows, dtype=float)
    means, errors = found.mean(axis=0), found.std(axis=0) / math.sqrt(len(found))
    return {name: (float(means[k]), float(errors[k])) for k, name in enumerate(names)}


@pytest.mark.parametrize(
    ("of", "kwh"),
    [(kind(), 5.0), (kind(mean=30.0, spread=1.0, months=(5, 6, 7, 8, 9, 10)), 9.0)],
    ids=["usual", "storms"],
)
def test_expectations_agree_with_outages_drawn_by_lot(of: Kind, kwh: float) -> None:
    """Within three standard errors, each outage walked by itself."""
    load_kw = load()
    found, by = carried(of, kwh, load_kw)
    drawn, times = by_lot(of, kwh, load_kw, 4.0), float(of.times)
    for name in ("hours", "hours_carried", "kwh", "kwh_carried"):
        mean, error = drawn[name]
        assert float(getattr(found, name)) / times == pytest.approx(mean, abs=3 * error), name
    dark = dark_for_long(of, by, 4.0)
    for name, number in zip(("times_dark", "hours_dark"), dark, strict=True):
        mean, error = drawn[name]
        assert float(number) / times == pytest.approx(mean, abs=3 * error), name
    assert float(found.hours_carried) < 0.95 * float(found.hours)
    assert float(found.hours_not_carried) == pytest.approx(float(of.times * of.hours - found.hours_carried))
    assert float(found.kwh_not_carried + found.kwh_carried) == pytest.approx(float(found.kwh))


def test_a_house_without_backup_and_one_without_an_end() -> None:
    load_kw = load()
    of, counts = kind(mean=20.0), starts_of(None, MONTH_OF_HOUR)
    want = wanted(load_kw, counts, LONGEST)
    none = expected(lengths(of, want.ends), want, NOTHING)
    assert float(none.hours_carried) == float(none.kwh_carried) == 0
    assert float(none.hours) == pytest.approx(1.3 * 20)
    ever = curve(np.full(YEAR, LONGEST), load_kw, counts, want)
    full = expected(lengths(of, want.ends), want, ever)
    assert float(full.hours_carried) == pytest.approx(1.3 * float(limited_mean(20.0, 1.5, LONGEST)))
    assert float(full.kwh - full.kwh_carried) == pytest.approx(
        1.3 * float(20.0 - limited_mean(20.0, 1.5, LONGEST)) * load_kw.mean()
    )
    times, hours = dark_for_long(of, NOTHING, 0.0)
    assert (float(times), float(hours)) == pytest.approx((1.3, 26.0))


def test_more_battery_and_less_load_carry_more() -> None:
    of, load_kw = kind(mean=12.0), load()
    by_size = [float(carried(of, kwh, load_kw)[0].hours_carried) for kwh in (2.0, 5.0, 9.0, 20.0)]
    assert by_size == sorted(by_size)
    assert by_size[0] < 0.8 * by_size[-1]
    by_load = [float(carried(of, 5.0, share * load_kw)[0].hours_carried) for share in (1.0, 0.7, 0.4)]
    assert by_load == sorted(by_load)
    assert by_load[0] < by_load[-1]


def test_storms_begin_in_their_months_alone() -> None:
    counts = starts_of((0, 11), MONTH_OF_HOUR)
    assert counts.sum() == pytest.approx(1)
    assert counts[(MONTH_OF_HOUR > 0) & (MONTH_OF_HOUR < 11)].max() == 0
    winter, summer = (float(carried(kind(months=each), 5.0, load())[0].kwh) for each in ((0, 11), (5, 6)))
    assert winter > 1.2 * summer


def test_a_longest_outage_that_ends_within_an_hour() -> None:
    want = wanted(np.ones(YEAR), starts_of(None, MONTH_OF_HOUR), 2.5)
    assert want.ends.tolist() == [0, 1, 2, 2.5]
    by = curve(np.full(YEAR, 2.25), np.ones(YEAR), starts_of(None, MONTH_OF_HOUR), want)
    assert by.kw == pytest.approx([1, 1, 0.5])
    assert isinstance(by, Curve)
