"""Price indices begin at one and grow by the rise of each year."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from finsolar.scenario.rises import growth


def test_a_constant_rise_compounds_from_the_second_year() -> None:
    """Year 1 has the price as it stands; year k is (1 + rise) to the power of k - 1."""
    np.testing.assert_allclose(growth(0.03, 4), [1, 1.03, 1.03**2, 1.03**3], rtol=1e-15)


def test_a_path_gives_each_year_its_own_rise_and_repeats_the_last() -> None:
    """Worked by hand: 10 %, then -50 %, then -50 % again."""
    np.testing.assert_allclose(growth([0.10, -0.50], 4), [1, 1.1, 0.55, 0.275], rtol=1e-15)


def test_entries_beyond_the_study_are_left_out() -> None:
    """A path may be longer than the study."""
    np.testing.assert_allclose(growth([0.1, 0.2, 0.3], 2), [1, 1.1])


def test_one_year_has_no_rise() -> None:
    """Its index is one, whatever the rise."""
    np.testing.assert_array_equal(growth(0.5, 1), [1])
    np.testing.assert_array_equal(growth([[0.5], [0.1]], 1), [[1], [1]])


def test_cases_stand_in_the_leading_axes() -> None:
    """A column of rises gives one row each."""
    rises = np.array([[0.0], [0.02], [-0.05]])

    index = growth(rises, 25)

    assert index.shape == (3, 25)
    for row, (rise,) in zip(index, rises, strict=True):
        np.testing.assert_array_equal(row, growth(rise, 25))


@given(st.lists(st.floats(-0.2, 0.5), min_size=1, max_size=40), st.integers(1, 50))
def test_the_index_is_a_running_product(path: list[float], years: int) -> None:
    """The index of each year over that of the year before is one plus its rise."""
    index = growth(path, years)

    assert index.shape == (years,)
    assert index[0] == 1
    rises = [path[min(k, len(path) - 1)] for k in range(years - 1)]
    np.testing.assert_allclose(index[1:] / index[:-1], 1 + np.array(rises), rtol=1e-12)


@pytest.mark.parametrize(
    ("rise", "years", "words"),
    [
        (0.03, 0, "at least one year"),
        ([], 5, "at least one entry"),
        (-1.0, 5, "above -100 %"),
        ([0.1, -1.5], 5, "above -100 %"),
        (np.nan, 5, "above -100 %"),
    ],
)
def test_what_has_no_index_is_refused(rise: object, years: int, words: str) -> None:
    """No years, no rises, or prices that fall to nothing or below."""
    with pytest.raises(ValueError, match=words):
        growth(rise, years)  # type: ignore[arg-type]
