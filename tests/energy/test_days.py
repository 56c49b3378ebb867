"""The average day of each season and the map of weeks, against a walk through the year by the calendar."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, date, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import closed_form
import numpy as np
import pytest
from house_runs import run_hours
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from finsolar.energy.balance import Backing, Hourly, run_steps
from finsolar.energy.battery import Battery
from finsolar.energy.clock import wall_clock
from finsolar.energy.days import (
    BANDS,
    DAYS,
    SEASONS,
    WEEKS,
    AverageDays,
    average_days,
    by_month_and_band,
    by_week,
    day_of_year,
    exchange,
)
from finsolar.energy.flows import bin_flows
from finsolar.energy.orders import Orders

Array = NDArray[np.float64]
ZONES = (("America/New_York", -5.0), ("Australia/Sydney", 10.0), ("Asia/Kathmandu", 6.0), (None, 2.0))
"""Summer time north and south of the equator, a clock behind by part of an hour, and standard time alone."""


def a_house(per_hour: int, *, years: int = 1, grid: bool = True, seed: int = 3) -> Hourly:
    """A house with a battery in steps of any length, no two days alike; off the grid a generator charges."""
    rng = np.random.default_rng(seed)
    shape = (years, 8760 * per_hour)
    solar, load = (
        np.repeat(hours, per_hour) / per_hour * rng.uniform(0.3, 1.7, shape)
        for hours in (closed_form.pv(6.0), closed_form.load(1.0))
    )
    backing = Backing() if grid else Backing(False, generator_kw=1.5, start_at=0.3, stop_at=0.7)
    orders = None
    if grid:  # some hours bought at night
        hour = np.arange(8760 * per_hour) // per_hour % 24
        orders = Orders(np.where(hour < 17, 0.4, 0.2), np.where(hour < 4, 0.5, 0.0))
    unit = Battery(np.array([8.0]), 0.2, 3.0, 4.0, 0.93, 0.96)
    return run_steps(solar, load, backing, 0.05, unit, orders, step_hours=1.0 / per_hour)


def moments(zone: str | None, offset: float, per_hour: int) -> list[datetime]:
    """What the wall clock shows at the beginning of the hour of each step, in a year without a leap day."""
    standard = timezone(timedelta(hours=offset))
    there = standard if zone is None else ZoneInfo(zone)
    start = datetime(2029, 1, 1, tzinfo=standard).astimezone(UTC)
    return [(start + timedelta(hours=k // per_hour)).astimezone(there) for k in range(8760 * per_hour)]


@pytest.mark.parametrize(
    ("zone", "offset", "per_hour", "grid"), [*((*zone, 1, True) for zone in ZONES), (*ZONES[0], 4, True),
                                             (*ZONES[1], 2, False)]
)  # fmt: skip
def test_an_average_day_is_a_walk_through_the_season(
    zone: str | None, offset: float, per_hour: int, grid: bool
) -> None:
    """Added up step by step under month and hour as the wall clock shows them, over the days of the months."""
    home = a_house(per_hour, grid=grid)
    found = average_days(home, wall_clock(zone, offset, per_hour))
    days = [90, 92, 92, 91]
    when = [({12: 0, 1: 0, 2: 0, 3: 1, 4: 1, 5: 1, 6: 2, 7: 2, 8: 2}.get(at.month, 3), at.hour)
            for at in moments(zone, offset, per_hour)]  # fmt: skip

    for name in ("load", "idle", "solar", "charge", "charge_bought", "discharge", "imported", "exported", "generator",
                 "unserved", "curtailed"):  # fmt: skip
        sums = [[0.0] * 24 for _ in range(4)]
        for (season, hour), kwh in zip(when, getattr(home, name)[0].tolist(), strict=True):
            sums[season][hour] += kwh
        wanted = [[kwh / days[season] for kwh in row] for season, row in enumerate(sums)]
        assert getattr(found, name)[0] == pytest.approx(np.array(wanted), abs=1e-12), name
    levels: dict[tuple[int, int], list[float]] = {}
    for at, stored in zip(when, home.stored[0].tolist(), strict=True):
        levels.setdefault(at, []).append(stored)
    for (season, hour), held in levels.items():
        assert found.stored[0, season, hour] == pytest.approx(sum(held) / len(held))
    assert found.charge_bought.sum() > 0 and found.discharge.sum() > 0 and home.curtailed.any() != grid


@pytest.mark.parametrize("per_hour", [1, 4])
def test_a_day_times_its_days_is_the_sum_of_the_months(per_hour: int) -> None:
    """To the last digit, in spite of an hour that is skipped in March and one that is repeated in November."""
    home = a_house(per_hour, years=2)
    clock = wall_clock("America/New_York", -5.0, per_hour)
    flows = bin_flows(home, clock, np.zeros(len(clock.month), dtype=np.int64), 1)
    found = average_days(home, clock)
    by_month = {name: getattr(flows, name) for name in ("load", "solar", "charge", "discharge", "idle", "unserved")}
    by_month |= {"imported": flows.imported[..., 0], "exported": flows.exported[..., 0]}
    by_month |= {"straight": flows.self_used - flows.charge + flows.charge_bought}
    for name, months in by_month.items():
        for season, held in enumerate(SEASONS):
            whole = getattr(found, name)[:, season].sum(axis=-1) * DAYS[season]
            assert whole == pytest.approx(months[:, list(held)].sum(axis=-1), rel=1e-9, abs=1e-9), name
    assert DAYS.tolist() == [90.0, 92.0, 92.0, 91.0]


supplies = st.fixed_dictionaries(
    {
        "grid": st.booleans(),
        "export_allowed": st.booleans(),
        "generator_kw": st.sampled_from([None, 0.5, 3.0]),
        "idle": st.sampled_from([0.0, 0.05]),
    }
)


@settings(max_examples=15)
@given(supplies, st.floats(0, 20), st.floats(0, 1), st.floats(0, 12))
def test_what_carries_the_load_is_the_load(supply: dict[str, float], kwh: float, reserve: float, kw: float) -> None:
    """Every hour of every average day balances, the sun as it comes is never negative nor more than there is."""
    unit = Battery(np.array([kwh]), reserve, 3.0, 4.0, 0.93, 0.96)
    home = run_hours(closed_form.pv(kw)[None], closed_form.load(1.0)[None], battery=unit, **supply)
    d = average_days(home, wall_clock("America/New_York", -5.0))
    carried = d.straight + d.discharge + d.imported + d.generator + d.unserved
    assert carried == pytest.approx(d.load + d.idle + d.charge_bought, abs=1e-9)
    assert d.solar == pytest.approx(d.straight + d.charge - d.charge_bought + d.exported + d.curtailed, abs=1e-9)
    assert d.straight.min() > -1e-9 and np.all(d.straight <= np.minimum(d.solar, d.load + d.idle) + 1e-9)


@pytest.mark.parametrize(("zone", "offset"), ZONES)
def test_days_and_weeks_begin_at_midnight_of_the_wall_clock(zone: str | None, offset: float) -> None:
    """Also where the year of standard time begins before or after that of the wall clock."""
    found = day_of_year(wall_clock(zone, offset, 2))
    wanted = [(at.date().replace(year=2029) - date(2029, 1, 1)).days for at in moments(zone, offset, 2)]
    assert found.tolist() == wanted


@pytest.mark.parametrize(("zone", "offset"), ZONES[:3])
def test_a_week_is_the_mean_of_its_hours(zone: str | None, offset: float) -> None:
    """Over the hours there are: the week in which one is skipped shows it no paler, save where a week has none."""
    per_hour = 2 if offset == 6.0 else 1
    home = a_house(per_hour)
    clock = wall_clock(zone, offset, per_hour)
    steps = exchange(home, grid=True)
    weeks, months = by_week(steps, clock), by_month_and_band(steps, clock)
    assert weeks.shape == (1, WEEKS, 24) and months.shape == (1, 12, len(BANDS))
    of_week: dict[tuple[int, int], list[float]] = {}
    of_band: dict[tuple[int, int], list[float]] = {}
    for at, kwh in zip(moments(zone, offset, per_hour), steps[0].tolist(), strict=True):
        week = (at.date().replace(year=2029) - date(2029, 1, 1)).days // 7
        of_week.setdefault((week, at.hour), []).append(kwh * per_hour)
        [band] = [k for k, (first, last) in enumerate(BANDS) if first <= at.hour < last]
        of_band.setdefault((at.month - 1, band), []).append(kwh * per_hour)
    for (week, hour), held in of_week.items():
        assert weeks[0, week, hour] == pytest.approx(sum(held) / len(held))
    for (month, band), held in of_band.items():
        assert months[0, month, band] == pytest.approx(sum(held) / len(held))
    assert len(of_week) == WEEKS * 24 and len(of_band) == 12 * len(BANDS)


def test_the_exchange_is_the_grids_or_what_stands_in_its_place() -> None:
    beside, alone = a_house(1), a_house(1, grid=False)
    assert np.array_equal(exchange(beside, grid=True), beside.imported - beside.exported)
    assert np.array_equal(exchange(alone, grid=False), alone.generator + alone.unserved - alone.curtailed)
    assert exchange(beside, grid=True).min() < 0 < exchange(beside, grid=True).max()
    assert exchange(alone, grid=False).min() < 0 < exchange(alone, grid=False).max()


def test_cases_and_years_stand_in_front() -> None:
    """A column of batteries is each battery alone."""
    clock = wall_clock("America/New_York", -5.0)
    solar, load = closed_form.pv(6.0)[None], np.stack([closed_form.load(1.0), closed_form.load(1.2)])
    column = run_hours(solar, load, battery=Battery(np.array([[0.0], [5.0], [10.0]]), 0.1, 5.0, 5.0, 0.95, 0.95))
    many = average_days(column, clock)
    weeks = by_week(exchange(column, grid=True), clock)
    for case, kwh in enumerate((0.0, 5.0, 10.0)):
        one = run_hours(solar, load, battery=Battery(np.array([kwh]), 0.1, 5.0, 5.0, 0.95, 0.95))
        alone = average_days(one, clock)
        for each in fields(AverageDays):
            assert getattr(many, each.name).shape[:2] in {(3, 2), (1, 2)}
            found = np.broadcast_to(getattr(many, each.name), (3, 2, 4, 24))[case]
            assert found == pytest.approx(getattr(alone, each.name), abs=1e-12), each.name
        assert weeks[case] == pytest.approx(by_week(exchange(one, grid=True), clock)[..., :, :], abs=1e-12)
