"""Numbers as people write them are read exactly, and a range survives until it is settled."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError
from scenario.house import HOUSE, house

from finsolar.scenario.numbers import (
    Amount,
    Fixed,
    FixedPositive,
    Level,
    Life,
    Range,
    Rate,
    Rise,
    Share,
    is_percent,
    most,
    per_case,
    settled,
)
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Load, Loan, Tariff

AMOUNT, RATE, SHARE, RISE = (TypeAdapter(kind) for kind in (Amount, Rate, Share, Rise))
FIXED, POSITIVE, LIFE, LEVEL = (TypeAdapter(kind) for kind in (Fixed, FixedPositive, Life, Level))


def code(adapter: TypeAdapter[Any], value: object) -> str:
    """Return the code of the one fault that a value is refused with."""
    with pytest.raises(ValidationError) as caught:
        adapter.validate_python(value)
    (fault,) = caught.value.errors()
    return fault["type"]


@pytest.mark.parametrize(
    ("written", "meant"),
    [("3%", 0.03), ("3 %", 0.03), (" 2.5%", 0.025), ("-1%", -0.01), ("1e1%", 0.1), (0.03, 0.03), (0, 0.0)],
)
def test_a_rate_is_written_in_per_cent_or_as_a_fraction(written: object, meant: float) -> None:
    """Both ways of writing give the same number."""
    assert RATE.validate_python(written) == pytest.approx(meant, abs=1e-15)


def test_a_whole_share_is_written_in_per_cent() -> None:
    """The bare number 1 could mean one per cent or all of it."""
    assert SHARE.validate_python("100%") == 1
    assert code(SHARE, 1) == "bare-rate"


@pytest.mark.parametrize(
    ("adapter", "value", "fault"),
    [
        (RATE, 3, "bare-rate"),
        (RATE, -3, "bare-rate"),
        (RATE, "60%", "out-of-range"),
        (RATE, "-30%", "out-of-range"),
        (SHARE, "-1%", "negative"),
        (SHARE, "101%", "out-of-range"),
        (AMOUNT, -1, "negative"),
        (AMOUNT, 1e13, "not-finite"),
        (AMOUNT, math.nan, "not-finite"),
        (AMOUNT, math.inf, "not-finite"),
        (AMOUNT, "3%", "not-a-rate"),
        (AMOUNT, "1450", "quoted-number"),
        (RATE, "0.03", "quoted-number"),
        (RATE, "nan%", "not-finite"),
        (AMOUNT, "1,450", "not-a-number"),
        (AMOUNT, "", "not-a-number"),
        (RATE, "%", "not-a-number"),
        (AMOUNT, "{braces}", "not-a-number"),
        (AMOUNT, True, "not-a-number"),
        (AMOUNT, None, "not-a-number"),
        (AMOUNT, [1, 2], "not-a-number"),
        (POSITIVE, 0, "out-of-range"),
        (FIXED, {"from": 1, "to": 2}, "cannot-vary"),
        (AMOUNT, {}, "bad-range"),
        (AMOUNT, {"low": 1, "high": 2}, "bad-range"),
        (AMOUNT, {"low": 1, "likely": 3, "high": 2}, "bad-range"),
        (AMOUNT, {"from": 2, "to": 1}, "bad-range"),
        (AMOUNT, {"mean": 5, "sd": -1}, "negative"),
        (RATE, {"mean": "3%", "sd": 1}, "bare-rate"),
        (RATE, {"mean": "3%", "sd": "-1%"}, "negative"),
        (AMOUNT, {"from": 1, "to": {"from": 2, "to": 3}}, "not-a-number"),
        (RISE, {"path": "3%"}, "bad-path"),
        (RISE, {"path": ["3%"]}, "bad-path"),
        (RISE, {"path": ["3%", 4]}, "bare-rate"),
        (RISE, {"path": ["3%", {"from": 0, "to": "1%"}]}, "not-a-number"),
        (RISE, {"path": ["3%", "4%"], "low": 0}, "bad-range"),
    ],
)
def test_what_is_no_such_number_is_refused(adapter: TypeAdapter[Any], value: object, fault: str) -> None:
    """Each fault has its own code."""
    assert code(adapter, value) == fault


@pytest.mark.parametrize(
    ("adapter", "written", "values", "central"),
    [
        (AMOUNT, {"low": 1, "likely": 2, "high": 9}, (1, 2, 9), 2),
        (AMOUNT, {"high": 9, "low": 1, "likely": 2}, (1, 2, 9), 2),
        (AMOUNT, {"mean": 1900, "sd": 200}, (1900, 200), 1900),
        (AMOUNT, {"from": 10, "to": 14}, (10, 14), 12),
        (AMOUNT, {"from": 10, "to": 10}, (10, 10), 10),
        (RATE, {"low": "1.5%", "likely": 0.02, "high": "4%"}, (0.015, 0.02, 0.04), 0.02),
        (RATE, {"mean": "-1%", "sd": "0%"}, (-0.01, 0), -0.01),
        (RISE, {"from": "-2%", "to": "4%"}, (-0.02, 0.04), 0.01),
        (LIFE, {"from": 8, "to": 14}, (8, 14), 11),
        (LIFE, {"shape": 1, "characteristic": 14}, (14, 1), 14),  # lives that end by pure chance: Gamma(2) = 1
        (LIFE, {"characteristic": 14, "shape": 2}, (14, 2), 7 * math.sqrt(math.pi)),  # Gamma(3/2) = sqrt(pi) / 2
    ],
)
def test_a_range_keeps_its_kind_its_values_and_its_central_one(
    adapter: TypeAdapter[Any], written: dict[str, object], values: tuple[float, ...], central: float
) -> None:
    """The order in which the words stand does not matter."""
    read = adapter.validate_python(written)

    assert isinstance(read, Range)
    assert set(read.kind.split(", ")) == set(written)
    assert read.values == pytest.approx(values)
    assert read.central == pytest.approx(central)


@pytest.mark.parametrize("shape", [0.5, 1.0, 3.0, 50.0])
def test_the_ends_of_lives_are_those_that_a_tenth_and_nine_tenths_do_not_reach(shape: float) -> None:
    """Weibull's law: of the units, exp(-(t / characteristic)^shape) outlast t."""
    low, high = LIFE.validate_python({"characteristic": 14, "shape": shape}).ends

    assert math.exp(-((low / 14) ** shape)) == pytest.approx(0.9)
    assert math.exp(-((high / 14) ** shape)) == pytest.approx(0.1)


def test_only_a_life_may_follow_the_law_of_lives() -> None:
    """Of a price it would mean nothing; where nothing varies, it cannot stand either."""
    law = {"characteristic": 14, "shape": 3}

    assert LIFE.dump_python(LIFE.validate_python(law)) == law
    assert [code(adapter, law) for adapter in (AMOUNT, SHARE, RISE)] == ["bad-range"] * 3
    assert [code(adapter, law) for adapter in (FIXED, POSITIVE)] == ["cannot-vary"] * 2
    assert code(LIFE, {"characteristic": 14}) == code(LIFE, law | {"low": 3}) == "bad-range"
    assert code(LIFE, law | {"shape": 60}) == code(LIFE, law | {"characteristic": 0.5}) == "out-of-range"


def test_a_range_is_written_out_as_it_was_read() -> None:
    """Its words come back, with plain numbers."""
    written = {"low": 1.0, "likely": 2.0, "high": 9.0}

    assert AMOUNT.dump_python(AMOUNT.validate_python(written)) == written
    assert RISE.dump_python(RISE.validate_python({"path": ["3%", "4%"]})) == (0.03, 0.04)
    assert AMOUNT.dump_python(7.0) == 7.0


def test_a_path_of_rises_holds_one_for_each_year() -> None:
    """One rise for each year from the second; the first year has the price as it stands."""
    path = RISE.validate_python({"path": ["3%", 0, "-2%"]})

    np.testing.assert_allclose(path, [0.03, 0, -0.02])


@given(st.floats(0, 1e12))
def test_any_amount_survives(number: float) -> None:
    """No number is rounded on its way in."""
    assert AMOUNT.validate_python(number) == number


@given(st.integers(0, 10**12))
def test_any_whole_amount_survives(number: int) -> None:
    """Whole numbers become floats of the same value."""
    read = AMOUNT.validate_python(number)

    assert isinstance(read, float)
    assert read == number


@given(st.floats(-20, 50).filter(lambda rate: -0.2 <= rate / 100 <= 0.5))
def test_any_rate_survives_in_per_cent(rate: float) -> None:
    """As a program writes it, with all digits."""
    assert RATE.validate_python(f"{rate!r}%") == rate / 100


@settings(deadline=None, max_examples=30)
@given(st.floats(0.01, 1e9), st.booleans())
def test_any_number_survives_the_file(number: float, with_exponent: bool) -> None:
    """Through YAML and back, in the form a program prints and in the form with an exponent."""
    written = f"{number:.17e}" if with_exponent else repr(number)

    scenario = from_text(house("cost: 500", f"cost: {written}"))

    assert scenario.alternatives[0].costs[2].cost == number


@pytest.mark.parametrize(
    ("written", "meant"),
    [("007", 7), ("+7", 7), ("0x1F", 31), ("0o17", 15), ("1_450", 1450), ("1e3", 1000), (".5", 0.5), ("7.", 7)],
)
def test_every_form_of_number_that_yaml_knows_is_read(written: str, meant: float) -> None:
    """YAML 1.2 has no numbers to base sixty and no octal ones by a bare leading zero."""
    scenario = from_text(house("cost: 500", f"cost: {written}"))

    assert scenario.alternatives[0].costs[2].cost == meant


@given(
    st.sampled_from([("low", "likely", "high"), ("from", "to")]).flatmap(
        lambda words: st.tuples(st.just(words), st.lists(st.floats(0, 1e6), min_size=len(words), max_size=len(words)))
    )
)
def test_a_range_is_read_exactly_if_it_rises(pair: tuple[tuple[str, ...], list[float]]) -> None:
    """Its central value then lies within it."""
    words, values = pair
    written = dict(zip(words, values, strict=True))
    if values == sorted(values):
        read = AMOUNT.validate_python(written)
        assert read.values == tuple(values)
        assert values[0] <= read.central <= values[-1]
    else:
        assert code(AMOUNT, written) == "bad-range"


def test_settled_takes_central_values_everywhere() -> None:
    """In nested blocks and in lists; what has no range is shared, not copied."""
    scenario = from_text(HOUSE)

    fixed = settled(scenario)

    assert fixed.tariff is not None
    assert fixed.tariff.monthly_charge == 12
    assert fixed.tariff.rise == 0.03
    assert fixed.study.inflation == 0.02
    assert fixed.alternatives[0].costs[1].cost == 900
    assert fixed.place is scenario.place
    assert isinstance(scenario.study.inflation, Range)
    assert settled(fixed) is fixed


def test_a_settled_number_is_one_a_case() -> None:
    """A plain number has no axis, a column loses its second."""
    assert per_case(3).shape == ()
    assert per_case(np.array([[1.0], [2.0]])).tolist() == [1.0, 2.0]


def test_settled_takes_the_chosen_value_of_any_number() -> None:
    """A range, a plain number, an entry of a list; an array of cases stands where the float stood."""
    cases = np.array([[0.01], [0.02]])

    fixed = settled(
        from_text(HOUSE),
        {
            "study.inflation": cases,
            "tariff.rise": 0.04,
            "alternatives.0.costs.1.cost": 950.0,
            "alternatives.1.own_hours": 7.0,
            "household.load.monthly_kwh.3": 650.0,
            "household.income_tax.1": 5000.0,
        },
    )

    assert fixed.study.inflation is cases
    assert fixed.tariff is not None
    assert fixed.tariff.rise == 0.04
    assert [plan.costs[1].cost for plan in fixed.alternatives] == [950.0, 1500, 1500]
    assert [plan.own_hours for plan in fixed.alternatives] == [90, 7.0, 0]
    assert fixed.household.load.monthly_kwh[2:5] == [700, 650.0, 600]
    assert fixed.household.income_tax == [4000, 5000.0]


def test_scenarios_with_a_path_of_rises_may_be_compared() -> None:
    """Equal paths are equal scenarios."""
    path, again, other = (
        from_text(house("rise: {low: 1%, likely: 3%, high: 5%}", f"rise: {{path: [3%, {last}]}}"))
        for last in ("4%", "4%", "5%")
    )

    assert path == again
    assert path != other
    assert path != from_text(HOUSE)


def test_rates_and_shares_are_known_as_per_cent() -> None:
    """They are shown with a per cent sign; money is not."""
    assert is_percent(Loan.model_fields["rate"])
    assert is_percent(Loan.model_fields["share"])
    assert is_percent(Tariff.model_fields["rise"])
    assert is_percent(Load.model_fields["growth"])
    assert not is_percent(Tariff.model_fields["monthly_charge"])
    assert not is_percent(Loan.model_fields["years"])


def test_years_may_stray_by_themselves_where_a_field_has_years() -> None:
    """Beside every kind of range; kept apart from it, and written back as it was."""
    for written in (
        {"low": "1%", "likely": "2%", "high": "3%"},
        {"mean": "2%", "sd": "0%"},
        {"from": "1%", "to": "3%"},
    ):
        found = RISE.validate_python(written | {"yearly_sd": "4%"})
        assert found == Range(RISE.validate_python(written).kind, RISE.validate_python(written).values, 0.04)
        assert found.central == pytest.approx(0.02) and found.ends == RISE.validate_python(written).ends
        assert RISE.dump_python(found)["yearly_sd"] == 0.04
        assert RISE.dump_python(RISE.validate_python(written)).get("yearly_sd") is None
    assert LEVEL.validate_python({"mean": "100%", "sd": "5%", "yearly_sd": "3%"}).yearly_sd == 0.03


@pytest.mark.parametrize(
    ("adapter", "value", "fault"),
    [
        (RATE, {"from": "1%", "to": "3%", "yearly_sd": "4%"}, "bad-range"),
        (AMOUNT, {"mean": 100, "sd": 1, "yearly_sd": 4}, "bad-range"),
        (RISE, {"yearly_sd": "4%"}, "bad-range"),
        (RISE, {"from": "1%", "to": "3%", "yearly_sd": "-1%"}, "negative"),
        (RISE, {"from": "1%", "to": "3%", "yearly_sd": 4}, "bare-rate"),
        (RISE, {"from": "1%", "to": "3%", "yearly_sd": "40%"}, "out-of-range"),
    ],
)
def test_years_that_cannot_stray_are_refused(adapter: TypeAdapter[Any], value: object, fault: str) -> None:
    assert code(adapter, value) == fault


@pytest.mark.parametrize(
    ("adapter", "value", "mend"),
    [
        (LEVEL, 1, "write 100%"),
        (LEVEL, 100, "write 100%"),
        (LEVEL, 2, "write 200%"),
        (RATE, 3, "write 3% or 0.03"),
    ],
)
def test_a_bare_share_is_told_how_it_would_be_written(adapter: TypeAdapter[Any], value: object, mend: str) -> None:
    """Never beyond what the field can hold."""
    with pytest.raises(ValidationError) as caught:
        adapter.validate_python(value)
    assert mend in str(caught.value)


@pytest.mark.parametrize(("value", "highest"), [
    (3.0, 3.0),
    (Range("from, to", (1.0, 5.0)), 5.0),
    (Range("low, likely, high", (1.0, 2.0, 7.0)), 7.0),
    (Range("mean, sd", (10.0, 2.0)), 18.0),
])  # fmt: skip
def test_the_most_that_a_number_is_drawn_as(value: float | Range, highest: float) -> None:
    assert most(value) == highest
