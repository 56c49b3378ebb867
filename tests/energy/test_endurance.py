"""How long a house lasts apart from the grid, held against a slow walk, the engine of the year and closed forms."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.balance import Backing, run_steps
from finsolar.energy.battery import Battery
from finsolar.energy.endurance import Engine, endurance

Array = NDArray[np.float64]


@dataclass(frozen=True)
class House:
    """A house in plain numbers; energies kWh a step."""

    solar: Array
    load: Array
    capacity: float = 9.0
    kept: float = 0.0
    charge_kw: float = 3.0
    discharge_kw: float = 4.0
    into: float = 0.93
    out: float = 0.9
    idle: float = 0.05
    limit: float | None = None
    generator_kw: float = 0.0
    litres: float = 0.0
    hours: float = 1.0

    @property
    def battery(self) -> Battery:
        numbers = (self.kept, self.charge_kw, self.discharge_kw, self.into, self.out)
        return Battery(np.asarray(self.capacity), *numbers)

    def lasts(self, stored: Array, first: list[int], longest: int) -> Array:
        """The engine's answer, hours."""
        engine = Engine(self.generator_kw, self.litres) if self.litres else None
        return endurance(
            self.solar,
            self.load,
            stored,
            np.array(first),
            self.battery,
            longest,
            self.idle,
            self.limit,
            engine,
            self.hours,
        )


def walked(house: House, stored: float, first: int, longest: int) -> float:
    """The same by a plain loop over the steps of one outage, from what each part can do."""
    floor = house.kept * house.capacity
    held, fuel = min(max(stored, floor), house.capacity), house.litres
    for k in range(longest):
        sun = house.solar[(first + k) % len(house.solar)]
        use = house.load[(first + k) % len(house.load)] + house.idle * house.hours
        through = np.inf if house.limit is None else house.limit * house.hours
        direct = min(sun, use, through)
        wanted = min(use, through) - direct
        can = min(house.discharge_kw * house.hours, (held - floor) * house.out)
        given = min(wanted, can)
        missing = use - direct - given
        taken = min(sun - direct, house.charge_kw * house.hours, (house.capacity - held) / house.into)
        if missing > 1e-9:
            burnt = 0.246 * missing + 0.08415 * house.generator_kw * house.hours
            if missing > house.generator_kw * house.hours + 1e-9 or burnt > fuel + 1e-9:
                powerless = use - direct - min(wanted, house.discharge_kw * house.hours) > 1e-9
                return float((k + (0.0 if powerless else 1.0 - missing / wanted)) * house.hours)
            fuel -= burnt
        held += house.into * taken - given / house.out
    return longest * house.hours


def drawn(seed: int, steps: int = 240, **more: float | None) -> House:
    """A house with days and nights, drawn from a seed."""
    rng = np.random.default_rng(seed)
    hour = np.arange(steps) % 24
    sun = np.clip(np.sin((hour - 6) / 12 * np.pi), 0, None) * rng.uniform(0, 6, steps)
    numbers = {
        "capacity": rng.uniform(2, 15),
        "charge_kw": rng.uniform(0.5, 5),
        "discharge_kw": rng.uniform(1.2, 5),
        "into": rng.uniform(0.8, 1),
        "out": rng.uniform(0.8, 1),
        "kept": rng.choice([0.0, 0.15]),
    } | more
    return House(sun, rng.uniform(0.1, 1.5, steps), **numbers)


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(
    "more",
    [{}, {"limit": 1.4}, {"generator_kw": 1.5, "litres": 6.0}, {"limit": 2.0, "generator_kw": 0.6, "litres": 30.0},
     {"hours": 0.25}],
    ids=["own inverters", "shared inverter", "generator", "both", "quarters"],
)  # fmt: skip
def test_it_is_the_slow_walk_of_each_start(seed: int, more: dict[str, float]) -> None:
    house = drawn(seed, **more)
    rng = np.random.default_rng(100 + seed)
    first = sorted(rng.choice(240, 40, replace=False).tolist())
    stored = rng.uniform(-0.5, house.capacity + 0.5, 40)

    found = house.lasts(stored, first, 200)

    expected = [walked(house, held, start, 200) for held, start in zip(stored, first, strict=True)]
    assert found == pytest.approx(expected, abs=1e-6)
    assert len({round(hours, 3) for hours in expected}) > 5


@pytest.mark.parametrize("limit", [None, 1.6])
@pytest.mark.parametrize("generator_kw", [0.0, 0.8])
def test_it_ends_in_the_step_in_which_the_engine_of_the_year_serves_no_more(
    limit: float | None, generator_kw: float
) -> None:
    """The balance of an off-grid house that begins in that hour with that charge; fuel without end."""
    house = drawn(3, limit=limit, generator_kw=generator_kw, litres=1e9 if generator_kw else 0.0)
    compared = 0
    for start in range(0, 240, 7):
        turn = np.roll(np.arange(240), -start)
        battery = replace(house.battery, capacity=np.array([house.capacity]), start=0.55)
        year = run_steps(
            house.solar[turn][None],
            house.load[turn][None],
            Backing(grid=False, generator_kw=generator_kw or None),
            house.idle,
            battery,
            shared_kw=limit,
        )
        lacking = np.flatnonzero(year.unserved[0] > 1e-9)
        [hours] = house.lasts(np.array([0.55 * house.capacity]), [start], 240)
        if lacking.size:
            compared += 1
            assert int(hours + 1e-9) == lacking[0]
        else:
            assert hours == 240
    assert compared > 10


@given(st.integers(0, 10_000), st.floats(0, 1), st.booleans(), st.booleans())
@settings(max_examples=40)
def test_more_of_anything_never_shortens_it(seed: int, share: float, shared: bool, fuel: bool) -> None:
    """Charge at the start, battery, sun, fuel, a smaller load, power where no fuel counts; every start of the year."""
    house = drawn(seed, steps=96, limit=2.0 if shared else None)
    if fuel:
        house = replace(house, generator_kw=0.9, litres=4.0)
    first, held = list(range(96)), np.full(96, share * house.capacity)
    base = house.lasts(held, first, 96)
    better = {
        "charge": house.lasts(held + 0.7, first, 96),
        "battery": replace(house, capacity=house.capacity + 2, kept=house.kept * house.capacity / (house.capacity + 2))
        .lasts(held, first, 96),
        "sun": replace(house, solar=house.solar * 1.3).lasts(held, first, 96),
        "load": replace(house, load=house.load * 0.8).lasts(held, first, 96),
        "nothing kept": replace(house, kept=0.0).lasts(held, first, 96),
    }  # fmt: skip
    if fuel:
        better["fuel"] = replace(house, litres=8.0).lasts(held, first, 96)
        assert (base >= replace(house, litres=0.0).lasts(held, first, 96) - 1e-9).all()
    else:  # beside a generator a stronger battery is emptied sooner, which spares fuel and is not always longer
        strong = replace(house, discharge_kw=house.discharge_kw + 1, charge_kw=house.charge_kw + 1)
        better["power"] = strong.lasts(held, first, 96)
    for what, hours in better.items():
        assert (hours >= base - 1e-9).all(), what


def test_without_sun_it_is_the_charge_over_the_load() -> None:
    """(stored - kept) x efficiency / (load + idle): by hand 8 x 0.9 / 0.5 and (8 - 1.35) x 0.9 / 0.5 hours."""
    house = House(np.zeros(48), np.full(48, 0.45))
    assert house.lasts(np.array([8.0]), [5], 48) == pytest.approx([8 * 0.9 / 0.5])
    assert replace(house, kept=0.15).lasts(np.array([8.0]), [5], 48) == pytest.approx([(8 - 1.35) * 0.9 / 0.5])
    # The same in steps of a quarter, the load of a quarter in each.
    quarters = replace(house, load=np.full(192, 0.45 / 4), solar=np.zeros(192), hours=0.25)
    assert quarters.lasts(np.array([8.0]), [20], 192) == pytest.approx([14.4])


def test_a_load_beyond_the_power_is_shed_at_once_and_one_at_the_limit_is_not() -> None:
    load = np.array([0.5, 0.5, 4.5, 0.5])
    house = House(np.zeros(4), load, idle=0.0)
    assert house.lasts(np.full(3, 9.0), [0, 1, 2], 4) == pytest.approx([2.0, 1.0, 0.0])
    assert replace(house, discharge_kw=4.5).lasts(np.full(1, 9.0), [0], 4) == pytest.approx([4.0])
    # With sun for the rest it is carried.
    assert replace(house, solar=np.array([0, 0, 0.6, 0])).lasts(np.full(1, 9.0), [0], 4) == pytest.approx([4.0])


def test_a_generator_carries_as_long_as_its_fuel() -> None:
    """1 kW at 0.246 + 2 x 0.08415 litres an hour: 4.143 litres are ten hours, the eleventh is not begun."""
    house = House(np.zeros(48), np.ones(48), idle=0.0, capacity=0.0, generator_kw=2.0, litres=4.143)
    assert house.lasts(np.zeros(2), [0, 40], 48) == pytest.approx([10.0, 10.0])
    assert replace(house, litres=4.55).lasts(np.zeros(1), [0], 48) == pytest.approx([10.0])
    assert replace(house, generator_kw=0.99).lasts(np.zeros(1), [0], 48) == pytest.approx([0.0])


def test_the_year_is_a_circle_and_what_never_ends_is_as_long_as_was_asked() -> None:
    """New Year's Eve runs into the sun of January; a house with sun enough lasts."""
    sun = np.concatenate([np.full(24, 3.0), np.zeros(24)])
    house = House(sun, np.full(48, 0.5), idle=0.0, capacity=20.0, charge_kw=9.0)
    assert house.lasts(np.array([6.0, 6.0]), [46, 24], 30) == pytest.approx([30.0, 6.0 * 0.9 / 0.5])
    assert house.lasts(np.array([20.0]), [0], 48) == pytest.approx([48.0])


def test_cases_side_by_side_are_each_case_alone() -> None:
    """Leading axes (2, 3): two loads, three batteries, one of them empty and one with fuel."""
    house = drawn(5)
    loads = np.stack([house.load, 0.5 * house.load])[:, None]
    capacity, litres = np.array([0.0, 6.0, 12.0]), np.array([3.0, 0.0, 2.0])
    stored = np.minimum(np.linspace(1, 9, 240), capacity[:, None])
    battery = replace(house.battery, capacity=capacity)
    together = endurance(
        house.solar, loads, stored, np.arange(240), battery, 120, 0.05, None, Engine(np.full(3, 1.6), litres)
    )
    assert together.shape == (2, 3, 240)
    for i, load in enumerate(loads[:, 0]):
        for k in range(3):
            alone = replace(
                house, load=load, capacity=capacity[k], generator_kw=1.6 if litres[k] else 0.0, litres=litres[k]
            ).lasts(stored[k], list(range(240)), 120)
            assert together[i, k] == pytest.approx(alone, abs=1e-9)
    assert np.unique(together.round(6)).size > 100


@pytest.mark.parametrize("longest", [0, 241])
def test_an_outage_longer_than_the_year_or_without_a_step_is_refused(longest: int) -> None:
    with pytest.raises(ValueError, match="an outage has from 1 step to the 240 of a year"):
        drawn(1).lasts(np.array([1.0]), [0], longest)
