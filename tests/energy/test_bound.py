"""The cheapest year against every rule we have, against random rules, and against a search over all courses."""

from dataclasses import dataclass, replace
from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest
import scipy.optimize
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.battery import Battery, store
from finsolar.energy.bound import Bound, cheapest_year

Array = NDArray[np.float64]
FREE = {"grid_charging": True, "battery_export": True}


@dataclass(frozen=True)
class Case:
    """A short year and one battery, in plain numbers."""

    solar: Array
    use: Array
    buy: Array
    sell: Array
    capacity: float = 8.0
    reserve: float = 0.1
    charge_kw: float = 3.0
    discharge_kw: float = 3.0
    into: float = 0.9
    out: float = 0.95
    start: float | None = None
    hours: float = 1.0

    @property
    def battery(self) -> Battery:
        return Battery(
            np.array([self.capacity]),
            self.reserve,
            self.charge_kw,
            self.discharge_kw,
            self.into,
            self.out,
            self.start,
        )

    @property
    def begin(self) -> float:
        """What the battery holds at the outset, kWh."""
        share = self.reserve if self.start is None else min(max(self.start, self.reserve), 1.0)
        return share * self.capacity

    @property
    def slack(self) -> float:
        """What rounding may do to a cost."""
        energy = self.use.sum() + self.solar.sum() + self.use.size * (self.charge_kw + self.discharge_kw) * self.hours
        return float(1e-9 * (1.0 + max(np.abs(self.buy).max(), np.abs(self.sell).max()) * energy))

    def best(self, **how: bool | float) -> Bound:
        return cheapest_year(self.solar, self.use, self.buy, self.sell, self.battery, step_hours=self.hours, **how)

    def bill(self, taken: Array, export_allowed: bool = True) -> float:
        """What one meter makes of the energy taken in each step, less than zero where it is given."""
        earned = self.sell * export_allowed
        return float((self.buy * np.maximum(taken, 0.0) - earned * np.maximum(-taken, 0.0)).sum())

    def greedy(self) -> Array:
        """What the meter sees under the rule that stores every surplus and covers every deficit."""
        run = store(
            (self.solar - self.use)[None],
            np.array([self.reserve * self.capacity]),
            np.array([self.capacity]),
            self.charge_kw,
            self.discharge_kw,
            self.into,
            self.out,
            self.begin,
            self.hours,
        )
        return np.asarray((self.use - self.solar + run.charge - run.discharge)[0])


@st.composite
def cases(draw: st.DrawFn, steps: int | None = None, sane: bool = False) -> Case:
    """Draw a year of two to four days. Where `sane`, importing never costs less than nothing or than exporting."""
    size = draw(st.integers(48, 96)) if steps is None else steps
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    day = np.sin(np.pi * (np.arange(size) % 24 - 6) / 12)
    buy = rng.choice([0.1, 0.2, 0.3, 0.5], size) * draw(st.sampled_from([1e-4, 1.0, 300.0]))
    sell = buy * rng.uniform(draw(st.sampled_from([-0.5, 0.0])), 1.0, size)
    if not sane:
        buy = buy - rng.choice([0.0, draw(st.sampled_from([0.0, 0.5]))], size) * buy.max()
        sell = sell + rng.choice([0.0, draw(st.sampled_from([0.0, 1.0]))], size) * buy.max()
    return Case(
        solar=np.maximum(day, 0.0) * rng.uniform(0, draw(st.floats(0, 8)), size),
        use=rng.uniform(0, draw(st.floats(0.1, 4)), size),
        buy=buy,
        sell=sell,
        capacity=draw(st.sampled_from([0.0, 1.0, 7.5, 20.0])),
        reserve=draw(st.sampled_from([0.0, 0.2, 1.0])),
        charge_kw=draw(st.floats(0, 6)),
        discharge_kw=draw(st.floats(0, 6)),
        into=draw(st.floats(0.6, 1.0)),
        out=draw(st.floats(0.6, 1.0)),
        start=draw(st.sampled_from([None, 0.0, 0.5, 1.2])),
        hours=draw(st.sampled_from([0.25, 1.0])),
    )


HOW = [
    dict(zip(("grid_charging", "battery_export", "export_allowed"), ways, strict=True))
    for ways in product([False, True], repeat=3)
]


def wander(case: Case, rng: np.random.Generator, how: dict[str, bool]) -> Array:
    """Follow a rule without any sense, within the limits; return what the meter sees.

    Each step charges, discharges or rests as it pleases and curtails a part of the sun, now and then all of it.
    """
    level, floor = case.begin, case.reserve * case.capacity
    taken = np.zeros(case.use.size)
    for step, (solar, use) in enumerate(zip(case.solar.tolist(), case.use.tolist(), strict=True)):
        charge = discharge = 0.0
        wish, eager = rng.integers(3), rng.choice([1.0, rng.random()])
        if wish == 0:
            most = case.charge_kw * case.hours if how["grid_charging"] else max(solar - use, 0.0)
            charge = eager * min(most, case.charge_kw * case.hours, (case.capacity - level) / case.into)
        elif wish == 1:
            most = case.discharge_kw * case.hours
            if not how["battery_export"]:
                most = min(most, max(use - solar, 0.0))
            elif not how["export_allowed"]:
                most = min(most, use)  # no export, so no more than the house can take with all sun curtailed
            discharge = eager * min(most, (level - floor) * case.out)
        level += charge * case.into - discharge / case.out
        net = use - solar + charge - discharge
        if net < 0 and not how["export_allowed"]:
            taken[step] = 0.0
        elif min(case.buy[step], case.sell[step]) < 0 or rng.random() < 0.2:
            taken[step] = net + solar * rng.choice([0.0, rng.random(), 1.0])
        else:
            taken[step] = net
    return taken


@settings(max_examples=100)
@given(cases(), st.integers(0, 2**32 - 1), st.sampled_from(HOW))
def test_no_rule_beats_the_bound(case: Case, seed: int, how: dict[str, bool]) -> None:
    least = case.best(**how).cost
    rng = np.random.default_rng(seed)
    bills = [case.bill(wander(case, rng, how), how["export_allowed"]) for _ in range(5)]
    bills.append(case.bill(case.greedy(), how["export_allowed"]))
    bills.append(case.bill(case.use - case.solar, how["export_allowed"]))
    assert min(bills) >= least - case.slack


@settings(max_examples=30)
@given(cases(sane=True))
def test_order_of_bounds_and_rules(case: Case) -> None:
    free, sunny = case.best(**FREE).cost, case.best().cost
    greedy, none = case.bill(case.greedy()), case.bill(case.use - case.solar)
    assert free <= sunny + case.slack
    assert sunny <= greedy + case.slack
    if (case.sell >= 0).all() and case.start is None and (case.buy * case.into * case.out >= case.sell.max()).all():
        assert greedy <= none + case.slack  # storing pays at all these prices, so the greedy rule cannot lose
    assert sunny <= none + case.slack
    assert case.best(battery_export=True).cost <= sunny + case.slack
    assert case.best(grid_charging=True).cost <= sunny + case.slack
    assert free <= case.best(**FREE, inverter_limit=1.0).cost + case.slack
    assert sunny <= case.best(export_allowed=False).cost + case.slack or (case.sell < 0).any()


@settings(max_examples=60)
@given(cases(), st.sampled_from(HOW), st.sampled_from([None, 0.0, 2.0]), st.booleans())
def test_course_keeps_the_limits_and_balances(
    case: Case, how: dict[str, bool], limit: float | None, cyclic: bool
) -> None:
    best = case.best(**how, inverter_limit=limit, cyclic=cyclic)
    supply = case.solar + best.imported + best.discharge
    near = pytest.approx
    assert supply == near(case.use + best.exported + best.charge + best.curtailed, abs=1e-6)
    before = np.concatenate([[best.start], best.stored[:-1]])
    assert best.stored - before == near(case.into * best.charge - best.discharge / case.out, abs=1e-6)
    assert best.start == (best.stored[-1] if cyclic else case.begin)
    assert best.stored.min() >= case.reserve * case.capacity and best.stored.max() <= case.capacity
    flows = [best.imported, best.exported, best.charge, best.discharge, best.curtailed]
    assert min(flow.min() for flow in flows) >= 0.0
    surplus = case.solar - case.use
    assert (best.charge <= case.charge_kw * case.hours).all() and (
        best.discharge <= case.discharge_kw * case.hours
    ).all()
    assert how["grid_charging"] or (best.charge <= np.maximum(surplus, 0.0)).all()
    assert how["battery_export"] or (best.discharge <= np.maximum(-surplus, 0.0)).all()
    assert how["export_allowed"] or not best.exported.any()
    assert (best.curtailed <= case.solar).all()
    if how["export_allowed"] and limit is None:
        assert not best.curtailed[np.minimum(case.buy, case.sell) >= 0].any()
    if limit is not None:
        sent = case.solar - best.curtailed - best.charge + best.discharge
        assert sent.max() <= limit * case.hours + 1e-6
    assert best.cost == near(float(case.buy @ best.imported - case.sell @ best.exported))


@settings(max_examples=40)
@given(cases(sane=True), st.sampled_from(HOW))
def test_meter_runs_one_way_at_a_time_where_exporting_pays_no_more(case: Case, how: dict[str, bool]) -> None:
    for sell in (case.sell, case.buy):  # the same price both ways would let both cancel
        best = replace(case, sell=sell).best(**how)
        assert np.minimum(best.imported, best.exported).max() < 1e-6


@settings(max_examples=40)
@given(cases(), st.floats(1, 4), st.sampled_from(HOW))
def test_a_larger_or_better_battery_never_costs_more(case: Case, larger: float, how: dict[str, bool]) -> None:
    case = replace(case, start=None)
    least = case.best(**how).cost
    assert replace(case, capacity=case.capacity * larger).best(**how).cost <= least + case.slack
    assert replace(case, reserve=case.reserve / larger).best(**how).cost <= least + case.slack
    stronger = replace(case, charge_kw=case.charge_kw * larger, discharge_kw=case.discharge_kw * larger)
    if (case.sell <= case.buy).all():  # else stronger limits at the meter loosen the bound as well
        assert stronger.best(**how).cost <= least + case.slack
    if (case.buy >= 0).all():  # else losses and an empty battery are worth having
        assert replace(case, into=1.0, out=1.0).best(**how).cost <= least + case.slack
        assert replace(case, start=1.0).best(**how).cost <= least + case.slack


@settings(max_examples=40)
@given(cases(), st.floats(1e-3, 1e3), st.floats(1e-4, 1e4), st.sampled_from(HOW))
def test_scales_with_energy_and_with_money(case: Case, energy: float, money: float, how: dict[str, bool]) -> None:
    least = case.best(**how).cost
    grown = replace(
        case,
        solar=case.solar * energy,
        use=case.use * energy,
        capacity=case.capacity * energy,
        charge_kw=case.charge_kw * energy,
        discharge_kw=case.discharge_kw * energy,
    )
    assert grown.best(**how).cost / energy == pytest.approx(least, rel=1e-6, abs=case.slack)
    dearer = replace(case, buy=case.buy * money, sell=case.sell * money)
    assert dearer.best(**how).cost / money == pytest.approx(least, rel=1e-6, abs=case.slack)


@settings(max_examples=30)
@given(cases(steps=24, sane=True), st.sampled_from(HOW))
def test_hours_cut_into_quarters_cost_the_same(case: Case, how: dict[str, bool]) -> None:
    quarters = replace(
        case,
        solar=np.repeat(case.solar / 4, 4),
        use=np.repeat(case.use / 4, 4),
        buy=np.repeat(case.buy, 4),
        sell=np.repeat(case.sell, 4),
        hours=case.hours / 4,
    )
    assert quarters.best(**how).cost == pytest.approx(case.best(**how).cost, rel=1e-7, abs=case.slack)


@settings(max_examples=40)
@given(cases(sane=True), st.sampled_from(HOW))
def test_a_cycle_is_the_lower_bound_while_importing_costs_money(case: Case, how: dict[str, bool]) -> None:
    case = replace(case, start=None)
    assert case.best(**how, cyclic=True).cost <= case.best(**how).cost + case.slack


def test_a_cycle_is_no_bound_where_importing_earns_money() -> None:
    # Paid to fill the battery in the last hour: a rule may, a cycle would have to empty it first.
    case = Case(
        solar=np.zeros(2),
        use=np.zeros(2),
        buy=np.array([0.5, -0.5]),
        sell=np.array([-1.0, -1.0]),
        reserve=0.0,
        into=1.0,
    )
    assert case.best(**FREE).cost == pytest.approx(-1.5)
    assert case.best(**FREE, cyclic=True).cost > -1.5


# --- every course there is, on a grid of levels ---


def cheapest_step(case: Case, step: int, net: float, how: dict[str, bool]) -> float:
    """The least one step can cost at the meter, over all ways to curtail; infinite if it cannot be done."""
    costs = []
    for off in {0.0, float(case.solar[step]), min(max(-net, 0.0), float(case.solar[step]))}:
        taken = net + off
        if how["export_allowed"] or taken >= -1e-12:
            costs.append(case.buy[step] * max(taken, 0.0) - case.sell[step] * max(-taken, 0.0) * how["export_allowed"])
    return float(min(costs, default=np.inf))


def search(case: Case, how: dict[str, bool], cells: int) -> float:
    """The cheapest of all courses from level to level of a grid, one meter, one way at a time."""
    floor = case.reserve * case.capacity
    levels = np.linspace(floor, case.capacity, cells + 1)
    least = np.where(np.isclose(levels, case.begin), 0.0, np.inf)
    for step in range(case.use.size):
        surplus = float(case.solar[step] - case.use[step])
        most_in = case.charge_kw * case.hours if how["grid_charging"] else min(case.charge_kw * case.hours, surplus)
        most_out = case.discharge_kw * case.hours
        if not how["battery_export"]:
            most_out = min(most_out, -surplus)
        moves = {}
        for jump in range(-cells, cells + 1):
            change = jump * (levels[1] - levels[0])
            charge, discharge = max(change, 0.0) / case.into, max(-change, 0.0) * case.out
            if charge <= max(most_in, 0.0) + 1e-12 and discharge <= max(most_out, 0.0) + 1e-12:
                moves[jump] = cheapest_step(case, step, charge - discharge - surplus, how)
        after = np.full_like(least, np.inf)
        for jump, cost in moves.items():
            to = slice(max(jump, 0), cells + 1 + min(jump, 0))
            origin = slice(max(-jump, 0), cells + 1 - max(jump, 0))
            after[to] = np.minimum(after[to], least[origin] + cost)
        least = after
    return float(least.min())


@settings(max_examples=40)
@given(cases(steps=5), st.sampled_from(HOW))
def test_no_course_on_a_grid_beats_the_bound(case: Case, how: dict[str, bool]) -> None:
    case = replace(case, capacity=7.5, reserve=0.2, start=None)
    assert search(case, how, 60) >= case.best(**how).cost - case.slack


@settings(max_examples=25)
@given(cases(steps=6, sane=True), st.sampled_from(HOW))
def test_the_best_course_on_a_fine_grid_comes_close(case: Case, how: dict[str, bool]) -> None:
    case = replace(case, solar=np.abs(np.roll(case.use, 2) * 2 - case.use), capacity=7.5, reserve=0.2, start=None)
    coarse, fine = (search(case, how, cells) for cells in (60, 480))
    least = case.best(**how).cost
    # Rounding a level to its neighbour moves less than one cell of energy in each step.
    off = case.use.size * max(case.buy.max(), np.abs(case.sell).max()) * 6.0 / 480 / case.into
    assert least - case.slack <= fine <= coarse + case.slack
    assert fine <= least + off


def test_the_search_finds_what_a_battery_earns() -> None:
    """Else the comparison with it could hold for a battery that never moves."""
    case = Case(
        solar=np.array([0.0, 4, 0, 0, 3, 0]),
        use=np.ones(6),
        buy=np.array([0.1, 0.1, 0.5, 0.5, 0.2, 0.4]),
        sell=np.full(6, 0.05),
        capacity=2.0,
        reserve=0.0,
        into=0.9,
        out=0.9,
    )
    for how in HOW:
        least = case.best(**how).cost
        assert search(case, how, 400) == pytest.approx(least, abs=0.005)
        assert least < case.bill(case.use - case.solar, how["export_allowed"]) - 0.2


# --- by hand ---


def test_exporting_dearer_than_importing_is_no_money_pump() -> None:
    # One step, no sun, 1 kWh of use, at most 2 kWh either way of the battery, which is full. One meter would at
    # best export 1 kWh: -0.5. The line through "all in", 3 kWh for 0.3, and "all out", 1 kWh for -0.5, meets it.
    case = Case(
        solar=np.zeros(1),
        use=np.ones(1),
        buy=np.array([0.1]),
        sell=np.array([0.5]),
        capacity=2.0,
        reserve=0.0,
        charge_kw=2.0,
        discharge_kw=2.0,
        into=1.0,
        out=1.0,
        start=1.0,
    )
    assert case.best(**FREE).cost == pytest.approx(-0.5)
    # Empty, it can only rest or charge: one meter pays 0.1. At a net import of 1, halfway along that line, -0.1.
    assert replace(case, start=0.0).best(**FREE).cost == pytest.approx(-0.1)
    # Where the sun alone decides which way the meter runs, nothing is loosened.
    assert replace(case, start=0.0).best().cost == pytest.approx(0.1)


def test_negative_export_price_curtails_the_sun() -> None:
    case = Case(solar=np.array([5.0]), use=np.ones(1), buy=np.array([0.2]), sell=np.array([-0.1]), capacity=0.0)
    best = case.best()
    assert best.cost == pytest.approx(0.0, abs=1e-9)
    assert best.curtailed == pytest.approx(np.array([4.0]))


def test_no_export_curtails_what_finds_no_room() -> None:
    case = Case(
        solar=np.array([5.0, 0]),
        use=np.ones(2),
        buy=np.full(2, 0.2),
        sell=np.full(2, 9.0),
        reserve=0.0,
        into=1.0,
        out=1.0,
    )
    best = case.best(export_allowed=False)
    assert best.cost == pytest.approx(0.0, abs=1e-9)
    assert not best.exported.any()
    assert best.curtailed.sum() + best.stored[-1] == pytest.approx(3.0)


def test_inverter_carries_sun_and_battery_together() -> None:
    # 2 kWh of sun and a full battery behind an inverter of 3 kW; 5 kWh of use.
    case = Case(solar=np.full(1, 2.0), use=np.full(1, 5.0), buy=np.ones(1), sell=np.zeros(1), start=1.0)
    assert case.best().cost == pytest.approx(0.0, abs=1e-9)
    assert case.best(inverter_limit=3.0).cost == pytest.approx(2.0)
    assert case.best(inverter_limit=1.0).cost == pytest.approx(4.0)
    assert case.best(inverter_limit=1.0).curtailed == pytest.approx(np.array([1.0]))
    assert replace(case, hours=0.5, discharge_kw=6.0).best(inverter_limit=3.0).cost == pytest.approx(3.5)


def test_sun_reaches_the_battery_past_the_inverter() -> None:
    # 4 kWh of sun behind an inverter of 1 kW: 1 is used, 3 are stored without passing it, then given 1 at a time.
    case = Case(
        solar=np.array([4.0, 0, 0, 0]), use=np.ones(4), buy=np.ones(4), sell=np.zeros(4), reserve=0.0, into=1.0, out=1.0
    )
    best = case.best(inverter_limit=1.0)
    assert best.cost == pytest.approx(0.0, abs=1e-9)
    assert best.charge == pytest.approx(np.array([3.0, 0, 0, 0]))


def test_a_battery_that_begins_fuller_is_worth_what_it_holds() -> None:
    case = Case(
        solar=np.zeros(3), use=np.ones(3), buy=np.array([0.1, 0.5, 0.3]), sell=np.zeros(3), capacity=4.0, out=1.0
    )
    assert case.best().cost == pytest.approx(0.9)
    assert replace(case, start=0.35).best().cost == pytest.approx(0.4)
    assert replace(case, start=1.2).best().cost == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize("money", [1e-9, 1e9])
def test_a_coin_of_any_size(money: float) -> None:
    # The solver's tolerances are absolute: left unscaled, such prices lead it astray or to give up.
    hours = np.arange(24 * 30)
    solar, use = 4 * np.maximum(np.sin(np.pi * (hours % 24 - 6) / 12), 0), 0.5 + 0.5 * np.cos(hours / 3.7) ** 2
    case = Case(solar=solar, use=use, buy=np.where(hours % 24 < 16, 0.2, 0.5), sell=np.full(hours.size, 0.06))
    other = replace(case, buy=case.buy * money, sell=case.sell * money)
    assert other.best(**FREE).cost / money == pytest.approx(case.best(**FREE).cost, rel=1e-9)


def test_what_is_tiny_still_counts() -> None:
    # A battery that gives next to nothing earns next to nothing; the solver's usual tolerances would lose it.
    rng = np.random.default_rng(5)
    buy = rng.choice([0.1, 0.2, 0.3, 0.5], 48)
    case = Case(solar=np.zeros(48), use=rng.random(48), buy=buy, sell=buy / 3, capacity=1.0, discharge_kw=1e-7)
    assert case.best(**FREE).cost <= case.best().cost + 1e-9


# --- what is refused ---

GOOD = Case(solar=np.ones(4), use=np.ones(4), buy=np.ones(4), sell=np.ones(4))


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"use": np.ones(3)}, "one number for each step: use"),
        ({"solar": np.ones((1, 4))}, r"solar has the shape \(1, 4\)"),
        ({name: np.ones(0) for name in ("solar", "use", "buy", "sell")}, "one number for each step"),
        ({"buy": np.array([1, np.nan, 1, 1])}, "buy has steps without a number"),
        ({"sell": np.array([1, np.inf, 1, 1])}, "sell has steps without a number"),
        ({"solar": np.array([1, 1, -1e-3, 1])}, "solar is an energy and cannot be below zero, as in step 2"),
        ({"use": np.array([1, 1, 1, -1.0])}, "use is an energy"),
        ({"capacity": -1.0}, "capacity needs to be zero or more, not -1.0"),
        ({"capacity": np.inf}, "capacity needs"),
        ({"charge_kw": -0.1}, "charge_kw needs"),
        ({"discharge_kw": np.nan}, "discharge_kw needs"),
        ({"reserve": 1.5}, "at most 1, not 1.5"),
        ({"start": -0.1}, "start needs"),
        ({"into": 0.0}, "charge_efficiency needs to be above 0"),
        ({"out": 1.1}, "discharge_efficiency needs to be above 0 and at most 1, not 1.1"),
        ({"charge_kw": np.array([1.0, 2.0])}, "one battery in one year; charge_kw has 2 numbers"),
        ({"hours": 0.0}, "above zero hours, not 0.0"),
        ({"hours": np.nan}, "above zero hours"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_what_is_not_a_year_with_a_battery_is_refused(change: dict[str, float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        replace(GOOD, **change).best()


@pytest.mark.parametrize("limit", [-1.0, np.inf, np.nan])
def test_an_inverter_without_a_limit_is_refused(limit: float) -> None:
    with pytest.raises(ValueError, match="inverter's limit"):
        GOOD.best(inverter_limit=limit)


def test_a_solver_that_gives_up_is_not_hidden(monkeypatch: pytest.MonkeyPatch) -> None:
    gave_up = SimpleNamespace(success=False, message="time is up", x=None)
    monkeypatch.setattr(scipy.optimize, "linprog", lambda *_, **__: gave_up)
    with pytest.raises(RuntimeError, match="time is up"):
        GOOD.best()
