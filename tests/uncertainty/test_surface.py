"""The surface of hours: exact at its places, as far off between them as it says, and refined where that is too far."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import Any

import numpy as np
import pytest
from numpy.polynomial import chebyshev
from numpy.typing import NDArray
from small_house import changed, house

import finsolar
from finsolar.results import Study
from finsolar.study import study
from finsolar.uncertainty.columns import by_year, chosen
from finsolar.uncertainty.ranges import ranges_of
from finsolar.uncertainty.simulation import (
    CHECKED,
    FINER_FROM,
    Simulation,
    cases_of,
    compared,
    figures_of,
    simulate,
)
from finsolar.uncertainty.surface import (
    COARSE,
    FINE,
    Surface,
    _lagrange,
    _places,
    _terms,
    _weights,
    reach,
    studies_of,
    surface,
)

Array = NDArray[np.float64]
Tree = dict[str, Any]

# Ranges on three sides of the hours, beside some of money; a tariff that prices demand and changes, a house off the
# grid with a generator, and a battery that wears and is renewed by its wear.
EVERYTHING: Tree = {
    "study": {"years": 4, "draws": 64, "seed": 4, "discount_rate": {"mean": "5%", "sd": "1%"}},
    "weather": {"station": "greensboro", "brightness": {"mean": "97%", "sd": "2%", "yearly_sd": "3%"}},
    "household": {
        "load": {
            "level": {"low": "90%", "likely": "100%", "high": "115%", "yearly_sd": "2%"},
            "growth": "1%",
        }
    },
    "tariff": {
        "rise": {"mean": "2%", "sd": "1%", "yearly_sd": "2%"},
        "later": [{"from_year": 3, "monthly_charge": 9}],
        "demand": [{"name": "all hours", "price": 3}],
    },
    "system": {
        "battery": {"fade": {"ten_years": {"from": "40%", "to": "90%"}, "thousand_cycles": "5%"}},
    },
    "upkeep": [{"item": "New battery", "category": "battery", "cost": 2500, "below": "82%"}],
    "alternatives": [
        {"name": "Roof"},
        {
            "name": "Off grid",
            "system": {"operation": "off grid"},
            "generator": {"kw": 4, "fuel_price": 1.4, "rise": "3%"},
        },
    ],
}
SUN: Tree = {
    "study": {"draws": 64, "years": 6},
    "weather": {"station": "greensboro", "brightness": {"low": "90%", "likely": "99%", "high": "104%"}},
}


ENERGIES = (
    "imported",
    "exported",
    "load",
    "solar",
    "charge",
    "discharge",
    "idle",
    "curtailed",
    "unserved",
    "generator",
)


def simulated(base: Study) -> tuple[Simulation, Surface]:
    """The cases of a study, and the surface that their hours lie on."""
    found = simulate(base)
    assert found is not None and found.surface is not None
    return found, found.surface


@pytest.fixture(scope="module")
def everything() -> Study:
    """The study of the house with ranges everywhere."""
    return finsolar.study(house(EVERYTHING))


@pytest.fixture(scope="module")
def cases(everything: Study) -> tuple[Simulation, Surface]:
    """All its cases."""
    return simulated(everything)


@pytest.fixture(scope="module")
def sunny() -> Study:
    """A study whose sunlight alone is a range."""
    return finsolar.study(house(SUN))


# --- the grid ---


@pytest.mark.parametrize(("level", "counts"), [(COARSE, [5, 13, 25, 41]), (FINE, [9, 21, 37, 57])])
def test_the_grid_has_as_many_places_as_smolyaks(level: int, counts: list[int]) -> None:
    """Source: the sparse Clenshaw-Curtis grid of level 2 in one to four dimensions (Novak and Ritter 1996), from
    memory; the finer one has four places more along each range."""
    assert [studies_of(level, n) for n in (1, 2, 3, 4)] == counts
    for n in (1, 2, 3):
        places = _places(level, n)
        assert len(set(places)) == len(places) and places[0] == (0.0,) * n
        assert set(_places(COARSE, n)) <= set(_places(FINE, n))


@pytest.mark.parametrize("level", [COARSE, FINE])
@pytest.mark.parametrize("ranges", [1, 2, 3])
def test_counts_add_up_to_one_and_polynomials_come_out_exactly(level: int, ranges: int) -> None:
    """All of a total degree up to two, and each range by itself up to one less than its places; by numpy's."""
    dice = np.random.default_rng(2)
    places = _places(level, ranges)
    at = dice.uniform(-1, 1, (ranges, 30, 1))
    weights = _weights(level, list(at), places)
    assert weights.shape == (30, 1, len(places))
    np.testing.assert_allclose(weights.sum(axis=-1), 1.0, atol=1e-12)
    alone = 2**level
    for powers in product(range(alone + 1), repeat=ranges):
        if sum(powers) > COARSE and sum(power > 0 for power in powers) > 1:
            continue
        terms = [np.eye(alone + 1)[power] for power in powers]

        def value(x: Array, terms: list[Array] = terms) -> Array:
            return np.asarray(np.prod([chebyshev.chebval(x[k], terms[k]) for k in range(ranges)], axis=0))

        exact = value(np.array(places).T)
        np.testing.assert_allclose(weights @ exact, value(at), atol=1e-11)


def test_many_ranges_take_no_longer_to_count() -> None:
    """Twenty of them: the places by the closed form 2 n^2 + 2 n + 1, the counts of the grids adding up to one."""
    assert studies_of(COARSE, 20) == 2 * 20**2 + 2 * 20 + 1
    assert sum(often for _, often in _terms(FINE, 20)) == 1


def test_each_polynomial_is_one_at_its_own_place_and_zero_at_the_others() -> None:
    places = (-1.0, -0.5, 0.25, 1.0)
    np.testing.assert_allclose(np.array(_lagrange(places, np.array(places))), np.eye(4), atol=1e-15)


# --- the surface ---


def test_at_its_places_it_is_the_exact_study(sunny: Study) -> None:
    """Bill, fade and figures bit by bit but for rounding, the ends of the range included."""
    [sun] = ranges_of(sunny.scenario)
    found = surface(sunny, (sun,))
    assert reach(sun) == (0.9, 1.04)
    values = 0.97 + 0.07 * np.array([place[0] for place in found.exact])
    many = study(sunny.scenario, {}, reuse=found.at([values[:, None]]))
    for k, value in enumerate(values):
        alone = study(sunny.scenario, {"weather.brightness": float(value)})
        one, other = many.results[0], alone.results[0]
        np.testing.assert_allclose(one.position.bill.total[k], other.position.bill.total, rtol=1e-9)
        for name, array in vars(other.position.flows).items():
            np.testing.assert_allclose(getattr(one.position.flows, name)[k], array, rtol=1e-9, atol=1e-7)
        assert one.appraisal.npv[k] == pytest.approx(float(other.appraisal.npv), rel=1e-9)


def test_the_sums_of_a_case_stay_in_balance(everything: Study, cases: tuple[Simulation, Surface]) -> None:
    """What comes in goes somewhere, every month of every case: a blend of balanced hours is balanced."""
    drawn = ranges_of(everything.scenario)
    found, of = cases
    values = found.values.reshape(-1, found.values.shape[-1])
    columns = dict(zip(drawn, by_year(drawn, values), strict=True))
    for result in of.at(columns[each] for each in of.ranges).results:
        for part in result.position.metered:
            flows = part.flows
            given = flows.solar + flows.imported.sum(axis=-1) + flows.generator + flows.unserved
            taken = flows.load + flows.idle + flows.exported.sum(axis=-1) + flows.curtailed
            into = flows.charge - flows.discharge
            np.testing.assert_allclose(given, taken + into, rtol=1e-3)
            assert min(float(getattr(flows, name).min()) for name in ENERGIES) >= 0


def test_any_case_run_alone_agrees_within_the_error_that_is_told(
    everything: Study, cases: tuple[Simulation, Surface]
) -> None:
    """Cases by lot, others than those that measured the error, with every range of the hours there is."""
    found, of = cases
    assert {each.name for each in of.ranges} == {
        "household.load.level", "weather.brightness", "system.battery.fade.ten_years",
    }  # fmt: skip
    assert found.checked is not None and found.checked.cases == CHECKED
    values = found.values.reshape(-1, found.values.shape[-1])
    picked = np.random.default_rng(99).choice(len(values), 3, replace=False)
    alone = [study(everything.scenario, chosen(found.drawn, values[k][None])) for k in picked]
    kept = cases_of(everything, found.drawn, of, values[picked])
    off = compared(kept, alone)
    assert 0 < off.npv <= 2 * found.checked.npv and off.bill <= 2 * found.checked.bill
    for n, (k, single) in enumerate(zip(picked, alone, strict=True)):
        for i, result in enumerate(kept.results):
            npv = found.alternatives[i].figures["npv"].reshape(-1)[k]
            assert npv == pytest.approx(float(result.appraisal.npv[n]), rel=1e-9)
            assert npv == pytest.approx(float(single.results[i].appraisal.npv.item()), abs=2 * found.checked.npv)
    # The spread that the cases have is far beyond the error of any of them.
    assert float(found.alternatives[0].figures["npv"].std()) > 10 * found.checked.npv


def test_every_year_of_a_case_has_the_sun_of_its_own(sunny: Study) -> None:
    """One dull year among five: its bill is that of five dull years, the others are as they were."""
    [sun] = ranges_of(sunny.scenario)
    found = surface(sunny, (sun,))
    years = np.full((1, 6), 1.0)
    years[0, 2] = 0.92
    mixed = study(sunny.scenario, {}, reuse=found.at([years])).results[0].position.flows
    dull, usual = (study(sunny.scenario, {}, reuse=found.at([np.full((1, 1), x)])) for x in (0.92, 1.0))
    for year in range(6):
        same = (dull if year == 2 else usual).results[0].position.flows
        np.testing.assert_allclose(mixed.solar[0, year], same.solar[0, year], rtol=1e-12)
        np.testing.assert_allclose(mixed.imported[0, year], same.imported[0, year], rtol=1e-12)
    alone = study(sunny.scenario, {"weather.brightness": years}).results[0].position.flows
    np.testing.assert_allclose(mixed.solar[0].sum(axis=-1), alone.solar[0].sum(axis=-1), rtol=1e-9)
    assert mixed.imported.sum() == pytest.approx(float(alone.imported.sum()), rel=1e-3)


def test_a_battery_is_renewed_when_its_own_wear_says_so(everything: Study, cases: tuple[Simulation, Surface]) -> None:
    """Some cases renew it early, some late, and the money of the renewal goes with each."""
    found, of = cases
    drawn, values = found.drawn, found.values.reshape(-1, found.values.shape[-1])
    fade = next(k for k, each in enumerate(drawn) if each.name == "system.battery.fade.ten_years")
    order = np.argsort(values[:, fade])
    together = cases_of(everything, drawn, of, values[order])
    worn = together.results[0].run.worn_out
    first = np.where(worn.any(axis=-1), worn.argmax(axis=-1), 99)
    assert len(set(first.tolist())) > 2
    for k in (0, 20, 63):
        alone = study(everything.scenario, chosen(drawn, values[order[k]][None])).results[0].run
        np.testing.assert_array_equal(worn[k], alone.worn_out[0])
        np.testing.assert_allclose(together.results[0].run.capacity[k], alone.capacity[0], rtol=1e-3)


def test_a_range_too_wide_for_few_places_gets_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """Growth by which the load may fall to a third or treble; the narrow one is left at five."""
    growth = {"household": {"load": {"growth": {"from": "-14%", "to": "14%"}}}, "study": {"years": 10, "draws": 64}}
    wide, of = simulated(finsolar.study(house(growth)))
    assert (of.level, len(of.exact)) == (FINE, 9)
    monkeypatch.setattr("finsolar.uncertainty.simulation.FINER_FROM", 1.0)
    rough, few = simulated(finsolar.study(house(growth)))
    assert (few.level, len(few.exact)) == (COARSE, 5)
    assert wide.checked is not None and rough.checked is not None
    assert wide.checked.bill < rough.checked.bill and rough.checked.bill > FINER_FROM


def test_where_nothing_is_paid_the_outlay_measures_what_is_too_far(monkeypatch: pytest.MonkeyPatch) -> None:
    """Energy that costs nothing to buy, and is worth something to sell."""
    free = {
        "household": {"load": {"growth": {"from": "-14%", "to": "14%"}}},
        "study": {"years": 10, "draws": 64},
        "tariff": {"energy": [{"name": "all", "price": 0}], "export": {"price": 0.5}},
    }
    found, of = simulated(finsolar.study(house(free)))
    assert found.checked is not None and np.isnan(found.checked.bill) and found.checked.npv > 0
    assert of.level == FINE
    monkeypatch.setattr("finsolar.uncertainty.simulation.FINER_FROM", 1.0)
    assert simulated(finsolar.study(house(free)))[1].level == COARSE


def test_a_battery_renewed_in_another_year_is_counted(everything: Study, cases: tuple[Simulation, Surface]) -> None:
    """Of a case whose course was put to another year by hand."""
    found, of = cases
    values = found.values.reshape(-1, found.values.shape[-1])[:2]
    together = cases_of(everything, found.drawn, of, values)
    alone = [study(everything.scenario, chosen(found.drawn, case[None])) for case in values]
    before = compared(together, alone).renewed_apart
    first = alone[0].results[0]
    other = replace(first, run=replace(first.run, renewed=~first.run.renewed))
    alone[0] = replace(alone[0], results=(other, *alone[0].results[1:]))
    assert compared(together, alone).renewed_apart == before + 1 == 1


def test_ranges_of_no_width_leave_the_hours_alone() -> None:
    """Bit by bit the study of plain numbers, and no exact study more."""
    narrow = {
        "weather": {"brightness": {"low": "97%", "likely": "97%", "high": "97%"}},
        "household": {"load": {"level": {"mean": "100%", "sd": 0}}},
    }
    plain = {"weather": {"brightness": "97%"}}
    found = simulate(finsolar.study(house(changed(SUN, narrow))))
    single = finsolar.study(house(changed(SUN, plain)))
    assert found is not None and found.surface is None and found.checked is None and len(found.drawn) == 2
    for name, value in figures_of(single.results[0]).items():
        np.testing.assert_array_equal(found.alternatives[0].figures[name], np.broadcast_to(value, (8, 8)))


def test_progress_counts_up_to_its_end(sunny: Study) -> None:
    told: list[tuple[int, int]] = []
    simulate(sunny, lambda done, of: told.append((done, of)))
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[-1][0] == told[-1][1] and all(done <= of for done, of in told)
    assert len(told) >= CHECKED + 5


OUTAGES: Tree = {
    "study": {"years": 6, "draws": 64},
    "weather": {"station": "greensboro", "brightness": {"low": "80%", "likely": "97%", "high": "108%"}},
    "household": {
        "load": {"level": {"from": "60%", "to": "140%"}},
        "outage": {
            "load_share": "50%",
            "usual": {"times_a_year": {"from": 1, "to": 3}, "hours_each": 3},
            "storms": {"times_a_year": 0.3, "hours_each": {"from": 10, "to": 50}, "months": "nov-feb"},
            "losses": [{"item": "Food", "cost": 200, "each": "day", "after_hours": 12}],
        },
    },
    "system": {"battery": {"fade": "4%"}},
    "alternatives": [{"name": "Roof"}, {"name": "No battery", "system": {"battery": "none"}}],
}


def test_what_is_carried_in_an_outage_follows_the_hours() -> None:
    """Exact at the places of the surface, near it between them; outages that the hours do not move stay as drawn."""
    base = finsolar.study(house(OUTAGES))
    drawn = ranges_of(base.scenario)
    hours = tuple(each for each in drawn if each.name in {"household.load.level", "weather.brightness"})
    found = surface(base, hours)
    at = {"household.load.level": [0.6, 1.4, 0.8, 1.2], "weather.brightness": [0.94, 0.94, 0.9, 1.0]}
    at |= {"household.outage.usual.times_a_year": [1.0, 3.0, 1.5, 2.5]}
    at |= {"household.outage.storms.hours_each": [10.0, 50.0, 20.0, 40.0]}
    values = np.array([at[each.name] for each in drawn]).T
    together = cases_of(base, drawn, found, values)
    carried = []
    for case in range(4):
        alone = study(base.scenario, chosen(drawn, values[case][None]))
        for many, single in zip(together.results, alone.results, strict=True):
            assert many.backup is not None and single.backup is not None
            for name in ("hours", "hours_carried", "kwh", "kwh_carried"):
                one = np.broadcast_to(getattr(many.backup.carried.year, name), 4)[case]
                other = np.ravel(getattr(single.backup.carried.year, name))[0]
                assert one == pytest.approx(other, rel=1e-9 if case < 2 else 0.03), (case, name)
            assert many.backup.worth is not None and single.backup.worth is not None
            by_year = np.broadcast_to(many.backup.worth.by_year, (4, 7))[case]
            assert by_year == pytest.approx(np.ravel(single.backup.worth.by_year), rel=1e-9 if case < 2 else 0.08)
        assert alone.results[0].backup is not None
        year = alone.results[0].backup.carried.year
        carried.append((year.hours_carried / year.hours).item())
    assert np.ptp(carried) > 0.1  # the hours tell
    assert together.results[1].carrying is None
