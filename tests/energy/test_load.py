"""Monthly use and the shapes it takes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from finsolar.energy.clock import wall_clock
from finsolar.energy.load import hourly_load, shape_about, shape_names

NEW_YORK = wall_clock("America/New_York", -5.0)
SYDNEY = wall_clock("Australia/Sydney", 10.0)
MONTHLY = [1180, 1010, 890, 760, 790, 960, 1130, 1120, 910, 760, 860, 1090]


@pytest.mark.parametrize("shape", ["all-electric", "evening", "home-all-day", "hot-climate", "cabin"])
@pytest.mark.parametrize("clock", [NEW_YORK, SYDNEY], ids=["New York", "Sydney"])
def test_months_keep_their_sums(shape: str, clock: object) -> None:
    load = hourly_load(MONTHLY, shape, clock)
    assert load.shape == (8760,) and load.min() > 0
    assert np.bincount(clock.month, weights=load) == pytest.approx(MONTHLY, rel=1e-12)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.floats(0, 5000), min_size=12, max_size=12),
    st.lists(st.floats(0.001, 9), min_size=24, max_size=24),
)
def test_any_months_and_weights_keep_their_sums(monthly: list[float], weights: list[float]) -> None:
    load = hourly_load(monthly, weights, NEW_YORK)
    assert np.bincount(NEW_YORK.month, weights=load) == pytest.approx(monthly, rel=1e-9)


def test_own_weights_are_followed_on_the_wall_clock() -> None:
    weights = [0.0] * 24
    weights[18], weights[19] = 1.0, 3.0
    load = hourly_load(MONTHLY, weights, NEW_YORK)
    assert set(NEW_YORK.hour[load > 0]) == {18, 19}
    july = NEW_YORK.month == 6
    assert load[july & (NEW_YORK.hour == 19)] == pytest.approx(np.full(31, 1130 * 0.75 / 31))


def test_weekends_differ() -> None:
    load = hourly_load(MONTHLY, "evening", NEW_YORK)
    january, noon = NEW_YORK.month == 0, NEW_YORK.hour == 12
    weekend = load[january & noon & (NEW_YORK.weekday >= 5)].mean()
    assert weekend > 2 * load[january & noon & (NEW_YORK.weekday < 5)].mean()


def test_seasons_turn_in_the_south() -> None:
    even = [100.0] * 12
    north = hourly_load(even, "hot-climate", SYDNEY)
    south = hourly_load(even, "hot-climate", SYDNEY, southern=True)

    def night_share(load: np.ndarray, month: int) -> float:
        here = SYDNEY.month == month
        return float(load[here & (SYDNEY.hour < 4)].sum() / load[here].sum())

    assert night_share(south, 0) == pytest.approx(night_share(north, 6), abs=0.002)
    assert night_share(south, 6) == pytest.approx(night_share(north, 0), abs=0.002)
    assert night_share(south, 0) != pytest.approx(night_share(north, 0), abs=0.002)


def test_cases_broadcast() -> None:
    monthly = np.array([MONTHLY, [2.0 * use for use in MONTHLY]])
    load = hourly_load(monthly, "cabin", NEW_YORK)
    assert load.shape == (2, 8760)
    assert np.allclose(load[1], 2 * load[0])


def test_every_shape_is_described() -> None:
    assert shape_names() == ("all-electric", "evening", "home-all-day", "hot-climate", "cabin", "bdew-h25")
    assert all(len(shape_about(name).split()) > 3 for name in shape_names())


@pytest.mark.parametrize(
    ("monthly", "shape", "words"),
    [
        (MONTHLY[:11], "cabin", "twelve numbers"),
        ([-1, *MONTHLY[1:]], "cabin", "twelve numbers"),
        ([float("nan"), *MONTHLY[1:]], "cabin", "twelve numbers"),
        (MONTHLY, "castle", "unknown load shape 'castle'; known shapes: all-electric"),
        (MONTHLY, [1.0] * 23, "24 weights"),
        (MONTHLY, [-1.0] + [1.0] * 23, "24 weights"),
        (MONTHLY, [0.0] * 24, "24 weights"),
    ],
)
def test_faults_are_named(monthly: list[float], shape: str | list[float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        hourly_load(monthly, shape, NEW_YORK)
