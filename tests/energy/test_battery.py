"""The blocked scan against a plain loop over the rule, and what must hold for any battery."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.battery import BLOCK, Store, store

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Case:
    """One battery over some years, in plain numbers."""

    net: Array
    floor: Array
    ceiling: Array
    charge_kw: float
    discharge_kw: float
    into: float
    out: float
    start: float
    step_hours: float

    def run(self) -> Store:
        return store(
            self.net,
            self.floor,
            self.ceiling,
            self.charge_kw,
            self.discharge_kw,
            self.into,
            self.out,
            self.start,
            self.step_hours,
        )


def slow(case: Case) -> tuple[Array, Array, Array, list[float]]:
    """Walk the rule step by step, as it is written down."""
    charges, discharges, levels = (np.zeros_like(case.net) for _ in range(3))
    begins = []
    level = case.start
    for year, steps in enumerate(case.net.tolist()):
        floor, ceiling = case.floor[year], case.ceiling[year]
        level = min(max(level, floor), ceiling)
        begins.append(level)
        for step, net in enumerate(steps):
            charge = discharge = 0.0
            if net >= 0:
                charge = min(net, case.charge_kw * case.step_hours, (ceiling - level) / case.into)
            else:
                held = max(0.0, level - floor) * case.out
                discharge = min(-net, case.discharge_kw * case.step_hours, held)
            level += case.into * charge - discharge / case.out
            charges[year, step], discharges[year, step], levels[year, step] = charge, discharge, level
    return charges, discharges, levels, begins


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Draw years of any length around the block, with windows that change from year to year."""
    years = draw(st.integers(1, 4))
    steps = draw(st.sampled_from([1, 5, BLOCK - 1, BLOCK, BLOCK + 1, 3 * BLOCK + 7]))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    net = rng.normal(draw(st.floats(-1, 1)), draw(st.floats(0.1, 4)), (years, steps))
    net[rng.random((years, steps)) < 0.2] = 0.0
    # The largest one is neither full nor empty for blocks on end, so that the blocks must hand on their sums.
    ceiling = rng.choice(draw(st.sampled_from([[0.0, 1.0, 7.5, 13.0, 40.0], [2000.0, 2500.0]])), years)
    return Case(
        net=net,
        floor=ceiling * draw(st.sampled_from([0.0, 0.1, 0.35, 1.0])),
        ceiling=ceiling,
        charge_kw=draw(st.floats(0, 6)),
        discharge_kw=draw(st.floats(0, 6)),
        into=draw(st.floats(0.6, 1.0)),
        out=draw(st.floats(0.6, 1.0)),
        start=ceiling[0] * draw(st.floats(0, 1.2)),
        step_hours=draw(st.sampled_from([0.25, 1.0])),
    )


@settings(max_examples=150, deadline=None)
@given(cases())
def test_equals_the_rule_step_by_step(case: Case) -> None:
    run = case.run()
    charge, discharge, stored, begins = slow(case)
    assert run.start == pytest.approx(np.array(begins), abs=1e-9)
    assert np.allclose(run.stored, stored, rtol=0, atol=1e-9)
    assert np.allclose(run.charge, charge, rtol=0, atol=1e-9)
    assert np.allclose(run.discharge, discharge, rtol=0, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(cases())
def test_stays_in_its_window_and_balances(case: Case) -> None:
    run = case.run()
    before = np.concatenate([run.start[:, None], run.stored[:, :-1]], axis=1)
    moved = run.charge * case.into - run.discharge / case.out
    assert np.allclose(run.stored - before, moved, rtol=0, atol=1e-9)
    assert np.all(run.stored >= case.floor[:, None]) and np.all(run.stored <= case.ceiling[:, None])
    assert np.all((run.charge >= 0) & (run.charge <= np.maximum(case.net, 0)))
    assert np.all((run.discharge >= 0) & (run.discharge <= np.maximum(-case.net, 0)))
    assert np.all(run.charge <= case.charge_kw * case.step_hours + 1e-9)
    assert np.all(run.discharge <= case.discharge_kw * case.step_hours + 1e-9)


@settings(max_examples=60, deadline=None)
@given(cases(), st.floats(0.1, 10))
def test_scales_with_everything(case: Case, scale: float) -> None:
    run = case.run()
    grown = store(
        case.net * scale,
        case.floor * scale,
        case.ceiling * scale,
        case.charge_kw * scale,
        case.discharge_kw * scale,
        case.into,
        case.out,
        case.start * scale,
        case.step_hours,
    )
    assert np.allclose(grown.stored, run.stored * scale, rtol=1e-9, atol=1e-9)
    assert np.allclose(grown.discharge, run.discharge * scale, rtol=1e-9, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(cases(), st.floats(1, 3))
def test_a_larger_battery_never_imports_more(case: Case, larger: float) -> None:
    # Both start empty and keep no reserve, for a reserve that grows along would be fetched from somewhere.
    small = store(case.net, 0.0, case.ceiling.max(), 5.0, 5.0, case.into, case.out, 0.0)
    large = store(case.net, 0.0, case.ceiling.max() * larger, 5.0, 5.0, case.into, case.out, 0.0)
    assert large.discharge.sum() >= small.discharge.sum() - 1e-9


def test_no_battery_does_nothing() -> None:
    run = store(np.array([[3.0, -2.0, 0.0]]), 0.0, 0.0, 5.0, 5.0, 0.9, 0.9, 0.0)
    for hours in (run.charge, run.discharge, run.stored):
        assert np.array_equal(hours, np.zeros((1, 3)))


def test_cases_broadcast() -> None:
    net = np.random.default_rng(3).normal(size=(2, 400))
    ceiling = np.array([[4.0, 3.0], [9.0, 8.0], [0.0, 0.0]])
    power = np.array([[1.0], [2.0], [3.0]])
    many = store(net, 0.2 * ceiling, ceiling, power, power, 0.9, 0.95, 0.5 * ceiling[:, :1])
    assert many.stored.shape == (3, 2, 400)
    for k in range(3):
        kw = power[k, 0]
        one = store(net, 0.2 * ceiling[k], ceiling[k], kw, kw, 0.9, 0.95, 0.5 * ceiling[k, 0])
        assert np.array_equal(many.stored[k], one.stored)
        assert np.array_equal(many.charge[k], one.charge)


def test_a_new_battery_arrives_at_its_floor_and_an_old_one_loses_what_it_cannot_hold() -> None:
    net = np.zeros((3, 2))
    run = store(net, np.array([1.0, 0.5, 2.0]), np.array([10.0, 5.0, 20.0]), 5.0, 5.0, 1.0, 1.0, 10.0)
    assert run.start.tolist() == [10.0, 5.0, 5.0]
    empty = store(net, np.array([1.0, 0.5, 2.0]), np.array([10.0, 5.0, 20.0]), 5.0, 5.0, 1.0, 1.0, 0.0)
    assert empty.start.tolist() == [1.0, 1.0, 2.0]
