"""Moving one number or two: every point is the study at that value, and what cannot be moved is told."""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest
from small_house import house

import finsolar
from finsolar.results import Study
from finsolar.scenario.problems import ScenarioError
from finsolar.uncertainty.inputs import Input, input_of
from finsolar.uncertainty.vary import FIGURES, Varied, axis, crossings, vary

ALTERNATIVES = [
    {"name": "Own labour", "own_hours": 60},
    {"name": "Firm", "costs": [{"item": "Fitting", "category": "labour", "cost": 4200}]},
    {"name": "Borrowed", "like": "Firm", "payment": {"loan": {"rate": "6%", "years": 8}}},
]
STREET: dict[str, Any] = {
    "study": {"in_service": "2026-06-01", "years": 10, "discount_rate": "5%"},
    "purchase": {"sales_tax": "6%", "contingency_by": {"labour": "10%"}},
    "upkeep": [{"item": "New inverter", "category": "inverter", "cost": 900, "every": 8}],
    "tariff": {
        "monthly_charge": 12,
        "rise": {"low": "1%", "likely": "2%", "high": "4%"},
        "riders": [{"item": "Lines", "per_kwh": 0.01}],
    },
    "alternatives": ALTERNATIVES,
}


@cache
def street() -> Study:
    """The small house with three alternatives and a range."""
    return finsolar.study(house(STREET))


def moved(base: Study, name: str, low: object, high: object, steps: int = 3) -> Varied:
    return vary(base, [axis(input_of(base, name), low, high, steps)])


def figures_at(varied: Varied, *place: int) -> list[list[float]]:
    """All figures of all alternatives at one place of the axes."""
    return [[float(course.figures[name][place]) for name in FIGURES] for course in varied.courses]


def figures_of(study: Study) -> list[list[float]]:
    return [
        [
            float(result.appraisal.npv),
            float(result.appraisal.irr),
            float(result.appraisal.simple_payback_lasting),
            float(result.appraisal.discounted_payback_lasting),
        ]
        for result in study.results
    ]


def refusal(name: str, base: Study | None = None) -> str:
    with pytest.raises(ScenarioError) as caught:
        input_of(base or street(), name)
    return str(caught.value)


@pytest.mark.parametrize(
    ("name", "changes", "high"),
    [
        ("tariff.rise", {"tariff": {"rise": 0.06}}, "6%"),
        ("tariff.energy[1].price", {"tariff": {"energy": [{"name": "peak", "price": 0.4, "hours": "16-21"},
                                                           {"name": "rest", "price": 0.12}]}}, 0.4),
        ("tariff.export.price", {"tariff": {"export": {"scheme": "net billing", "price": 0.2}}}, 0.2),
        ("purchase.sales_tax", {"purchase": {"sales_tax": 0.2}}, "20%"),
        ("purchase.contingency_by.labour", {"purchase": {"contingency_by": {"labour": 0.3}}}, "30%"),
        ("study.inflation", {"study": {"inflation": 0.08}}, "8%"),
        ("household.load.growth", {"household": {"load": {"growth": 0.03}}}, "3%"),
        ("system.battery.kwh", {"system": {"battery": {"kwh": 14.0}}}, 14.0),
        ("system.inverter.efficiency", {"system": {"inverter": {"efficiency": 0.99}}}, "99%"),
    ],
)  # fmt: skip
def test_the_end_of_an_axis_is_the_study_of_a_file_that_says_so(name: str, changes: dict[str, Any], high: Any) -> None:
    """Figure by figure, bit by bit where the engine is asked alone, and in a batch to rounding."""
    base = street()
    now = input_of(base, name).now
    varied = moved(base, name, f"{now * 100!r}%" if isinstance(high, str) else now, high, 2)
    merged = {key: {**STREET.get(key, {}), **value} for key, value in changes.items()}
    alone = finsolar.study(house({**STREET, **merged}))

    np.testing.assert_allclose(figures_at(varied, 1), figures_of(alone), rtol=1e-9, atol=1e-7, equal_nan=True)
    np.testing.assert_allclose(figures_at(varied, 0), figures_of(base), rtol=1e-9, atol=1e-7, equal_nan=True)
    assert not np.allclose(figures_at(varied, 1), figures_of(base), rtol=1e-6, equal_nan=True)


@pytest.mark.parametrize("name", ["tariff.rise", "costs.Battery.cost", "alternatives[3].payment.loan.rate"])
def test_every_value_of_a_money_input_is_exactly_a_study_of_its_own(name: str) -> None:
    base = street()
    one = input_of(base, name)
    varied = moved(base, name, 0.01, 0.05, 4)

    for k, value in enumerate(varied.axes[0].values):
        alone = finsolar.study(base.scenario, {path: float(value) for path in one.paths})
        mine, theirs = np.array(figures_at(varied, k)), np.array(figures_of(alone))
        irr = FIGURES.index("irr")
        assert np.array_equal(np.delete(mine, irr, 1), np.delete(theirs, irr, 1), equal_nan=True)
        # A rate is sought for all cases at once, which rounds its last bit another way.
        np.testing.assert_allclose(mine[:, irr], theirs[:, irr], rtol=1e-12, equal_nan=True)


def test_an_energy_input_is_exactly_a_study_of_its_own_at_every_value() -> None:
    base = street()
    varied = moved(base, "household.load.growth", "-1%", "2%", 3)

    for k, value in enumerate(varied.axes[0].values):
        alone = finsolar.study(base.scenario, {"household.load.growth": float(value)})
        assert np.array_equal(figures_at(varied, k), figures_of(alone), equal_nan=True)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("tariff.rise", "0%", "4%"), ("costs.Battery.cost", 1000.0, 6000.0)),
        (("tariff.rise", "0%", "4%"), ("system.battery.kwh", 4.0, 12.0)),
        (("system.fade", "0%", "2%"), ("costs.Modules.cost", 1000.0, 6000.0)),
        (("system.fade", "0%", "2%"), ("system.battery.kwh", 4.0, 12.0)),
    ],
)
def test_every_pair_of_values_is_the_study_with_both(one: tuple[Any, ...], other: tuple[Any, ...]) -> None:
    """Whichever of the two moves the hours, or both, or none."""
    base = street()
    axes = [axis(input_of(base, name), low, high, steps) for (name, low, high), steps in ((one, 3), (other, 2))]
    varied = vary(base, axes)

    assert varied.courses[0].figures["npv"].shape == (3, 2)
    for i, j in ((0, 1), (1, 0), (2, 1)):
        both = {path: float(axes[0].values[i]) for path in axes[0].input.paths}
        both |= {path: float(axes[1].values[j]) for path in axes[1].input.paths}
        alone = finsolar.study(base.scenario, both)
        np.testing.assert_allclose(figures_at(varied, i, j), figures_of(alone), rtol=1e-12, equal_nan=True)


def test_the_first_axis_may_be_the_slow_one_or_the_second() -> None:
    """Two axes exchanged give the same figures, turned round."""
    base = street()
    rise, kwh = (axis(input_of(base, name), low, high, 2) for name, low, high in
                 (("tariff.rise", "1%", "3%"), ("system.battery.kwh", 4, 9)))  # fmt: skip
    one, other = vary(base, [rise, kwh]), vary(base, [kwh, rise])

    for mine, theirs in zip(one.courses, other.courses, strict=True):
        for name in FIGURES:
            assert np.array_equal(mine.figures[name], theirs.figures[name].T, equal_nan=True)


def test_the_purchase_price_moves_every_line_and_the_price_of_energy_every_kwh() -> None:
    """As the same file with every price doubled by hand."""
    base = street()
    dear = {"costs": [{"item": "Modules", "category": "modules", "cost": 11000},
                      {"item": "Battery", "category": "battery", "cost": 7000}],
            "alternatives": [ALTERNATIVES[0], {"name": "Firm", "costs": [{"item": "Fitting", "category": "labour",
                                                                         "cost": 8400}]}, ALTERNATIVES[2]]}  # fmt: skip
    sheet = {**STREET["tariff"], "energy": [{"name": "peak", "price": 0.6, "hours": "16-21"},
             {"name": "rest", "price": 0.24}], "riders": [{"item": "Lines", "per_kwh": 0.02}]}  # fmt: skip
    for name, changes in (("purchase price", dear), ("price of energy", {"tariff": sheet})):
        varied = moved(base, name, "100%", "200%", 2)
        alone = finsolar.study(house({**STREET, **changes}))

        np.testing.assert_allclose(figures_at(varied, 1), figures_of(alone), rtol=1e-9, equal_nan=True)
        np.testing.assert_allclose(figures_at(varied, 0), figures_of(base), rtol=1e-9, equal_nan=True)


@pytest.mark.parametrize("weather", ["greensboro", {"station": "greensboro", "brightness": "90%"}])
def test_sun_hours_are_the_brightness_that_gives_them(weather: Any) -> None:
    """At its present value the scenario itself; at another, the share of it."""
    base = finsolar.study(house({**STREET, "weather": weather}))
    one = input_of(base, "sun hours")
    share = 0.9 if isinstance(weather, dict) else 1.0
    varied = vary(base, [axis(one, one.now, one.now * 1.1, 2)])
    bright = finsolar.study(house({**STREET, "weather": {"station": "greensboro", "brightness": f"{share * 110:g}%"}}))

    assert 3 < one.now / share < 6
    np.testing.assert_allclose(figures_at(varied, 0), figures_of(base), rtol=1e-9, equal_nan=True)
    np.testing.assert_allclose(figures_at(varied, 1), figures_of(bright), rtol=1e-9, equal_nan=True)
    with pytest.raises(ScenarioError, match=r"--to: sun hours: is 30; write a value between \d"):
        axis(one, 3.5, 30, 3)


def test_an_inherited_number_moves_in_every_place_and_an_own_one_in_its_own() -> None:
    base = street()

    def paths(name: str) -> set[str]:
        return set(input_of(base, name).paths)

    shared = {f"alternatives.{i}.costs.1.cost" for i in range(3)}
    assert paths("costs[2].cost") == paths("costs.Battery.cost") == paths("alternatives.2.costs.1.cost") == shared
    firm = {"alternatives.1.costs.2.cost", "alternatives.2.costs.2.cost"}
    assert paths("alternatives.Firm.costs.Fitting.cost") == paths("alternatives[2].costs[1].cost") == firm
    assert paths("tariff.rise") == {"tariff.rise", *(f"alternatives.{i}.tariff.rise" for i in range(3))}
    # Not written anywhere: as it would be, if the top of the file said it.
    assert paths("tariff.daily_charge") == {p.replace("rise", "daily_charge") for p in paths("tariff.rise")}
    assert paths("own_hours") == {"alternatives.1.own_hours", "alternatives.2.own_hours"}
    assert paths("alternatives.Own labour.own_hours") == {"alternatives.0.own_hours"}


def test_a_name_that_is_off_leads_to_the_nearest_ones() -> None:
    assert "house.yaml: tariff.rse: is no field of this scenario; did you mean 'tariff.rise'?" in refusal("tariff.rse")
    assert "did you mean 'costs.Battery.cost'" in refusal("costs.Batery.cost")
    assert "did you mean 'purchase price'" in refusal("purchase prise")
    assert "name a number by its path, such as tariff.rise" in refusal("zzz")


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("title", "is 'Sorrel Lane', which cannot vary"),
        ("study.in_service", "which cannot vary"),
        ("study.years", "is 10, which cannot vary"),
        ("household.load.monthly_kwh[1]", "which cannot vary"),
        ("system.operation", "which cannot vary"),
        ("tariff", "is a block of fields or a list, no number"),
        ("costs", "is a block of fields or a list, no number"),
        ("tariff.export_rise", "is not stated; write it in the scenario"),
    ],
)
def test_what_cannot_be_moved_is_told(name: str, told: str) -> None:
    assert told in refusal(name)


def test_words_of_our_own_need_what_they_move() -> None:
    plain = finsolar.study(house({"study": {"years": 1}, "costs": [], "alternatives": [{"name": "Gift"}]}))

    assert "there are none" in refusal("purchase price", plain)


@pytest.mark.parametrize(
    ("name", "low", "high", "told"),
    [
        ("tariff.rise", 3.0, "5%", "--from: tariff.rise: is 3; a rate is meant; write 3% or 0.03"),
        ("tariff.rise", "3%", "90%", "--to: tariff.rise: is '90%'; write a value between -20% and 50%"),
        ("costs[2].cost", -1.0, 5.0, "--from: costs[2].cost: is -1.0; it cannot be negative; write 0 or more"),
        ("costs[2].cost", "5%", 5.0, "--from: costs[2].cost: is '5%'; an amount is meant; write 5"),
        ("system.battery.kwh", "ten", 9.0, "--from: system.battery.kwh: is 'ten'; write a plain number such as 1450"),
        (
            "system.battery.round_trip",
            "0%",
            "90%",
            "--from: system.battery.round_trip: is '0%'; write a value above zero",
        ),
        ("purchase price", "50%", 2.0, "--to: purchase price: is 2; a share of today’s prices is meant; write 200%"),
        ("purchase price", "50%", 18500, "is 18,500; a share of today’s prices is meant, no amount; write 90% or"),
        ("tariff.rise", "3%", "3%", "--to: tariff.rise: does not lie above the low end"),
        ("tariff.rise", float("nan"), "3%", "--from: tariff.rise: is nan, beyond any sensible size"),
    ],
)
def test_values_are_taken_and_refused_as_in_the_file(name: str, low: object, high: object, told: str) -> None:
    with pytest.raises(ScenarioError) as caught:
        axis(input_of(street(), name), low, high, 3)

    assert told in str(caught.value)


@pytest.mark.parametrize("steps", [-1, 1, 42])
def test_too_few_or_too_many_steps_are_refused(steps: int) -> None:
    with pytest.raises(ScenarioError, match=f"--steps: is {steps}; write 2 to 41"):
        axis(input_of(street(), "tariff.rise"), "1%", "2%", steps)


@pytest.mark.parametrize(("one", "other"), [("tariff.rise", "tariff.rise"), ("costs.Battery.cost", "purchase price")])
def test_two_axes_that_move_one_number_are_refused(one: str, other: str) -> None:
    base = street()
    ends: dict[str, tuple[object, object]] = {"tariff.rise": ("1%", "2%"), "costs.Battery.cost": (1.0, 2.0)}
    axes = [axis(input_of(base, name), *ends.get(name, ("50%", "90%")), 2) for name in (one, other)]

    with pytest.raises(ScenarioError, match="--against: "):
        vary(base, axes)


def test_the_break_even_line_lies_where_the_npv_changes_sign() -> None:
    """A study a little to either side of it has the one sign and the other; of a price the line is exact."""
    base = street()
    axes = [axis(input_of(base, "price of energy"), "40%", "300%", 9), axis(input_of(base, "tariff.rise"), 0, 0.06, 3)]
    varied = vary(base, axes)
    found = 0
    for i, course in enumerate(varied.courses):
        for j, at in enumerate(course.break_even):
            rise = axes[1].input.chosen(float(axes[1].values[j]))
            for where in at:
                found += 1
                npv = [
                    float(finsolar.study(base.scenario, axes[0].input.chosen(near) | rise, reuse=base)
                          .results[i].appraisal.npv)
                    for near in (where - 1e-6, where, where + 1e-6)
                ]  # fmt: skip
                assert npv[0] < 0 < npv[2]
                assert npv[1] == pytest.approx(0.0, abs=1e-6)
    assert found >= 6


def test_crossings_of_a_course_are_told_each_once() -> None:
    values = np.array([0.0, 1.0, 2.0, 3.0])

    assert crossings(values, np.array([-1.0, 1.0, 3.0, -1.0])) == (0.5, 2.75)
    assert crossings(values, np.array([-1.0, 0.0, 1.0, 2.0])) == (1.0,)
    assert crossings(values, np.array([0.0, 1.0, 1.0, 0.0])) == (0.0, 3.0)
    assert crossings(values, np.array([1.0, 2.0, 3.0, 4.0])) == ()


def test_progress_counts_the_studies_that_are_run() -> None:
    base, told = street(), []
    one: Input = input_of(base, "system.battery.kwh")

    vary(base, [axis(one, 4, 6, 3)], lambda done, of: told.append((done, of)))

    assert told == [(1, 3), (2, 3), (3, 3)]


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("household.load.level", "80%", "130%"),
        ("weather.brightness", "90%", "110%"),
        ("system.inverter.efficiency", "90%", "100%"),
        ("system.battery.round_trip", "80%", "100%"),
    ],
)
def test_shares_of_one_whole_and_more_are_taken(name: str, low: str, high: str) -> None:
    """In per cent, as in the file, whatever else their block states."""
    scenario = house(
        {"weather": {"station": "greensboro", "brightness": "100%"}, "household": {"load": {"level": "100%"}}}
    )
    found = axis(input_of(finsolar.study(scenario), name), low, high, 3)
    assert found.values[[0, -1]].tolist() == pytest.approx([float(low[:-1]) / 100, float(high[:-1]) / 100])
