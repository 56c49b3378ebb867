"""Words for months, days and hours; and a week that is priced exactly once or refused."""

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from finsolar.scenario.hours import DAYS, MONTHS, cells_in_words, hour_span, mask, named_span
from finsolar.scenario.schema import PricePeriod, Tariff


@pytest.mark.parametrize(
    ("words", "places"),
    [
        ("jun", (5,)),
        ("jun-sep", (5, 6, 7, 8)),
        ("nov-feb", (0, 1, 10, 11)),
        ("January - March", (0, 1, 2)),
        ("sept", (8,)),
        ("jan, mar, dec", (0, 2, 11)),
        ("jan-feb,feb-mar", (0, 1, 2)),
        ("jan-dec", tuple(range(12))),
        ("may-apr", tuple(range(12))),
    ],
)
def test_months_are_named_in_spans_that_may_wrap(words: str, places: tuple[int, ...]) -> None:
    """Short or long names, in any case, alone or in lists."""
    assert named_span(words, MONTHS, "months") == places


@pytest.mark.parametrize(
    ("words", "places"),
    [("mon-fri", (0, 1, 2, 3, 4)), ("sat-sun", (5, 6)), ("fri-mon", (0, 4, 5, 6)), ("Tuesday", (1,))],
)
def test_days_are_named_alike(words: str, places: tuple[int, ...]) -> None:
    """The week begins on Monday."""
    assert named_span(words, DAYS, "days") == places


@pytest.mark.parametrize(
    ("words", "hours"),
    [
        ("15-19", (15, 16, 17, 18)),
        ("15:00-19:00", (15, 16, 17, 18)),
        ("22-6", (0, 1, 2, 3, 4, 5, 22, 23)),
        ("0-24", tuple(range(24))),
        ("23-24", (23,)),
        ("0-6, 22-24", (0, 1, 2, 3, 4, 5, 22, 23)),
        (" 7 - 9 ", (7, 8)),
    ],
)
def test_hours_run_from_the_first_up_to_the_last(words: str, hours: tuple[int, ...]) -> None:
    """The last is not among them: 15-19 ends when 19:00 begins."""
    assert hour_span(words) == hours


@pytest.mark.parametrize(
    "value", ["", "summer", "jun-", "jun-jul-aug", "jun/sep", "junk", 6, None, True, ["jun"], "jun,"]
)
def test_what_names_no_months_is_refused(value: object) -> None:
    """With an example of how to write it."""
    with pytest.raises(PydanticCustomError, match="jun-sep") as caught:
        named_span(value, MONTHS, "months")
    assert caught.value.type == "bad-months"


@pytest.mark.parametrize(
    "value", ["", "5pm", "15", 15, "15-15", "24-6", "19-25", "15:30-19:00", "-3-5", None, True, ["15-19"], "0-6,"]
)
def test_what_names_no_hours_is_refused(value: object) -> None:
    """A single hour, half hours and a span without length are no hours."""
    with pytest.raises(PydanticCustomError, match="15-19") as caught:
        hour_span(value)
    assert caught.value.type == "bad-hours"


@given(st.integers(0, 11), st.integers(0, 11))
def test_a_span_of_months_begins_and_ends_where_it_says(first: int, last: int) -> None:
    """It holds both ends and counts the steps between them round the year."""
    places = named_span(f"{MONTHS[first]}-{MONTHS[last]}", MONTHS, "months")

    assert {first, last} <= set(places)
    assert len(places) == (last - first) % 12 + 1


def test_a_mask_covers_just_its_block() -> None:
    """Months by days by hours."""
    cells = mask([5, 6], [0], [15, 16, 17])

    assert cells.shape == (12, 7, 24)
    assert cells.sum() == 2 * 1 * 3
    assert cells[5:7, 0, 15:18].all()


SPANS = st.tuples(
    st.none() | st.tuples(st.integers(0, 11), st.integers(0, 11)).map(lambda p: f"{MONTHS[p[0]]}-{MONTHS[p[1]]}"),
    st.none() | st.tuples(st.integers(0, 6), st.integers(0, 6)).map(lambda p: f"{DAYS[p[0]]}-{DAYS[p[1]]}"),
    st.none()
    | st.tuples(st.integers(0, 23), st.integers(1, 24)).filter(lambda p: p[0] != p[1]).map(lambda p: f"{p[0]}-{p[1]}"),
)


def period(name: str, spans: tuple[str | None, str | None, str | None]) -> dict[str, Any]:
    """Return a price period as a file would give it."""
    named = zip(("months", "days", "hours"), spans, strict=True)
    return {"name": name, "price": 0.1, **{field: words for field, words in named if words is not None}}


@given(st.lists(SPANS, min_size=1, max_size=5), st.booleans())
def test_each_hour_of_the_week_has_one_price_or_the_tariff_is_refused(
    spans: list[tuple[str | None, str | None, str | None]], with_rest: bool
) -> None:
    """Counted by hand, cell by cell; the message of a refusal names a kind of fault that is there.

    A price for the rest must find a rest.
    """
    written = [period(f"p{i}", span) for i, span in enumerate(spans)]
    if with_rest:
        written.append({"name": "rest", "price": 0.2})
    periods = [PricePeriod.model_validate(entry) for entry in written]
    rests = [i for i, entry in enumerate(periods) if entry.is_rest]
    claims = np.zeros((len(periods), 12, 7, 24), dtype=int)
    for i, entry in enumerate(periods):
        if i not in rests:
            claims[i][np.ix_(entry.months or range(12), entry.days or range(7), entry.hours or range(24))] = 1
    owners = claims.sum(axis=0)

    twice, never = len(rests) > 1 or owners.max() > 1, owners.min() < 1
    if twice or bool(rests) != never:
        with pytest.raises(ValidationError) as caught:
            Tariff.model_validate({"energy": written, "rise": 0.0})
        (fault,) = caught.value.errors()
        assert fault["type"] == ("tariff-overlap" if twice else "tariff-unused" if rests else "tariff-gap")
    else:
        grid = Tariff.model_validate({"energy": written, "rise": 0.0}).period_grid()
        expected = np.where(owners > 0, claims.argmax(axis=0), rests[0] if rests else -1)
        np.testing.assert_array_equal(grid, expected)
        assert grid.min() >= 0


@given(st.lists(SPANS, min_size=1, max_size=4))
def test_cells_in_words_name_a_block_of_those_cells(
    spans: list[tuple[str | None, str | None, str | None]],
) -> None:
    """Read back, the words give only cells of the set, the first one among them."""
    cells = np.zeros((12, 7, 24), dtype=bool)
    for i, span in enumerate(spans):
        cells |= PricePeriod.model_validate(period(f"p{i}", span)).cells

    months, days, hours = cells_in_words(cells).split(" ")
    block = mask(named_span(months, MONTHS, "months"), named_span(days, DAYS, "days"), hour_span(hours))

    assert not (block & ~cells).any()
    assert block[tuple(np.argwhere(cells)[0])]


def test_cells_in_words_take_the_whole_block_where_there_is_one() -> None:
    """The weekend afternoons of half a year."""
    assert cells_in_words(mask(range(6), [5, 6], range(15, 19))) == "jan-jun sat-sun 15-19"
    assert cells_in_words(mask([3], [2], [0])) == "apr wed 0-1"


def test_one_price_for_all_hours_is_a_number() -> None:
    """The short form of a flat tariff."""
    tariff = Tariff.model_validate({"energy": 0.15, "rise": 0.0})

    assert [entry.name for entry in tariff.energy] == ["all hours"]
    assert not tariff.period_grid().any()
