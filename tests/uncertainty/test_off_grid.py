"""Living without a grid: against a plain walk through the hours, against the study itself, and a line instead."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import pytest
from small_house import Tree, house

import finsolar
from finsolar.energy.house import offered_by_year
from finsolar.energy.weather import DAYS_IN_MONTH
from finsolar.results import Study
from finsolar.scenario.schema import Scenario
from finsolar.study import study
from finsolar.uncertainty.off_grid import TIMES, OffGrid, with_off_grid

APART: Tree = {
    "place": {"country": "NL", "region": None},
    "study": {"years": 3},
    "household": {"load": {"monthly_kwh": [300, 260, 250, 220, 200, 190, 200, 200, 210, 240, 270, 300]}},
    "system": {"operation": "off grid", "battery": {"kwh": 12, "kw": 4, "reserve": "15%"}},
}
ENGINE: Tree = {**APART, "tariff": None, "generator": {"kw": 3, "fuel_price": 1.4, "upkeep_per_hour": 0.3, "rise": 0}}
CHARGING: Tree = {**ENGINE, "generator": {**ENGINE["generator"], "start_at": "25%", "stop_at": "70%"}}
LINE: Tree = {
    **CHARGING,
    "alternatives": [
        {"name": "Roof"},
        {
            "name": "Line",
            "system": "none",
            "tariff": {"energy": 0.25, "monthly_charge": 20, "rise": "2%"},
            "costs": [
                {"item": "Poles", "category": "interconnection", "each": 30, "quantity": 800},
                {"item": "Meter", "category": "service panel", "cost": 1500},
            ],
        },
    ],
}


@cache
def _studied(kind: str) -> Study:
    return with_off_grid(finsolar.study(house({"apart": APART, "engine": ENGINE, "charging": CHARGING}[kind])))


def found_in(kind: str) -> tuple[Study, OffGrid]:
    """The study of a house, and its only alternative without a grid."""
    base = _studied(kind)
    assert base.off_grid[0] is not None
    return base, base.off_grid[0]


@dataclass
class Walked:
    """What a plain walk finds: kWh by month from each source, and the hours that are short."""

    sun: list[float]
    battery: list[float]
    generator: list[float]
    unserved: list[float]
    short: list[bool]
    running: int


def walk(base: Study, kw: float, kwh: float, engine_kw: float) -> Walked:
    """The first year hour by hour in plain numbers: sun, battery, then an engine that follows what is lacking."""
    plan = base.settled.alternatives[0]
    offered, _ = offered_by_year(plan.system, base.site, 1, None)
    sun, load = offered[0].tolist(), base.stay.hourly.load[0].tolist()
    idle, way = plan.system.inverter.idle_watts / 1000.0, 0.9**0.5
    floor = stored = 0.15 * kwh
    found = Walked(*([0.0] * 12 for _ in range(4)), [], 0)  # type: ignore[arg-type]  # four rows of months
    for k, month in enumerate(base.site.clock.month.tolist()):
        use = load[k] + idle
        straight = min(sun[k], use)
        taken = min(sun[k] - straight, 4.0, (kwh - stored) / way)
        stored += taken * way
        given = min(use - straight, 4.0, max(stored - floor, 0.0) * way)
        stored -= given / way
        lack = use - straight - given
        lack = 0.0 if lack < 1e-10 else lack
        made = min(lack, engine_kw)
        found.sun[month] += straight
        found.battery[month] += given
        found.generator[month] += made
        found.unserved[month] += lack - made
        found.short.append(lack - made > 1e-10)
        found.running += made > 1e-10
    return found


@pytest.mark.parametrize(("kind", "engine_kw"), [("apart", 0.0), ("engine", 3.0)])
def test_months_and_hours_are_those_of_a_plain_walk(kind: str, engine_kw: float) -> None:
    base, found = found_in(kind)
    walked = walk(base, 5.0, 12.0, engine_kw)
    months = found.months
    for name in ("sun", "battery", "generator", "unserved"):
        assert getattr(months, name) == pytest.approx(getattr(walked, name), abs=1e-6), name
    assert found.hours_short[0] == sum(walked.short)
    assert months.hours.sum() == walked.running
    row = longest = 0
    for lacks in walked.short:
        row = row + 1 if lacks else 0
        longest = max(longest, row)
    assert found.longest_short[0] == longest
    assert found.unserved_share[0] == pytest.approx(sum(walked.unserved) / base.stay.hourly.load[0].sum())
    if kind == "apart":
        assert longest >= 5 and 0.02 < found.unserved_share[0] < 0.5
        assert (np.diff(found.unserved_share) > 0).all()  # modules and battery fade


@pytest.mark.parametrize("kind", ["apart", "engine", "charging"])
def test_what_carries_each_month_is_its_use(kind: str) -> None:
    base, found = found_in(kind)
    months, position = found.months, base.results[0].position
    carried = months.sun + months.battery + months.stored_by_generator + months.generator + months.unserved
    assert carried == pytest.approx(months.load + months.own_draw)
    assert months.own_draw.sum() == pytest.approx(0.03 * 8760)  # 30 W around the clock
    through = months.battery + months.stored_by_generator
    assert through == pytest.approx(position.flows.discharge[0])
    assert (months.stored_by_generator.sum() > 50) == (kind == "charging")
    assert min(part.min() for part in vars(months).values()) > -1e-9


def test_what_comes_through_the_battery_is_told_apart_by_who_charged_it() -> None:
    """Month by month, from the hours: of January's discharge the share that the generator had in its charge."""
    base, found = found_in("charging")
    hourly, month = base.results[0].position.hourly, base.site.clock.month
    for m in range(12):
        charge, bought, given = (
            float(hours[0][month == m].sum()) for hours in (hourly.charge, hourly.charge_bought, hourly.discharge)
        )
        assert found.months.stored_by_generator[m] == pytest.approx(given * bought / charge)
    dark = int(np.argmax(found.months.stored_by_generator))
    assert dark in (0, 10, 11) and found.months.stored_by_generator[5] == 0.0


def test_what_the_generator_costs_is_what_the_bill_says() -> None:
    """By hand as well: litres by the curve, at 1.40, and 0.30 an hour."""
    base, found = found_in("charging")
    months = found.months
    assert months.litres == pytest.approx(0.246 * months.made_by_generator + 0.08415 * 3 * months.hours)
    assert months.fuel == pytest.approx(1.4 * months.litres) and months.running == pytest.approx(0.3 * months.hours)
    bill = base.results[0].position.bill.total[0]
    assert months.fuel.sum() + months.running.sum() == pytest.approx(bill)
    assert months.hours.sum() > 50


@pytest.mark.parametrize("kind", ["apart", "engine", "charging"])
def test_the_plan_on_the_map_is_the_study(kind: str) -> None:
    base, found = found_in(kind)
    sizes, flows = found.sizes, base.results[0].position.flows
    assert sizes is not None
    own = sizes.own
    assert (sizes.modules[own[0]], sizes.batteries[own[1]]) == (1.0, 12.0)
    if kind == "apart":
        assert sizes.alone[own] == pytest.approx(found.unserved_share[0], abs=1e-12)
        assert sizes.hours is sizes.litres is sizes.with_generator is None
    else:
        assert sizes.hours is not None and sizes.litres is not None and sizes.with_generator is not None
        assert sizes.hours[own] == pytest.approx(flows.generator_hours[0].sum())
        assert sizes.litres[own] == pytest.approx(base.results[0].position.litres[0].sum())
        assert sizes.with_generator[own] == pytest.approx(found.unserved_share[0], abs=1e-12)
        alone = _studied("apart").off_grid[0]  # the same house, where no generator runs
        assert alone is not None and alone.sizes is not None
        assert sizes.alone == pytest.approx(alone.sizes.alone, abs=1e-12)


@pytest.mark.parametrize(("kind", "coupling"), [("apart", "ac"), ("charging", "ac"), ("charging", "dc")])
def test_another_place_on_the_map_is_a_study_of_that_house(kind: str, coupling: str) -> None:
    """Half the modules and twice the battery, inverter and power as they are."""
    tree = {"apart": APART, "charging": CHARGING}[kind]
    battery = {**APART["system"]["battery"], "coupling": coupling}
    planned = {**tree, "system": {**APART["system"], "battery": battery}}
    other = {
        **tree,
        "system": {
            **APART["system"],
            "arrays": [{"kw": 2.5, "tilt": 30, "azimuth": 180}],
            "battery": {**battery, "kwh": 24},
        },
    }
    found = with_off_grid(finsolar.study(house(planned))).off_grid[0]
    assert found is not None and found.sizes is not None
    place = (TIMES.index(0.5), TIMES.index(2.0))
    apart = finsolar.study(house(other)).results[0].position
    if kind == "apart":
        share = apart.flows.unserved[0].sum() / apart.flows.load[0].sum()
        assert found.sizes.alone[place] == pytest.approx(share, abs=1e-12)
    else:
        assert found.sizes.litres is not None and found.sizes.hours is not None
        assert found.sizes.litres[place] == pytest.approx(apart.litres[0].sum())
        assert found.sizes.hours[place] == apart.flows.generator_hours[0].sum()


def test_more_modules_or_more_battery_never_leave_more_without_supply() -> None:
    _, found = found_in("apart")
    assert found.sizes is not None
    alone = found.sizes.alone
    assert alone.shape == (5, 5)
    assert (np.diff(alone, axis=0) <= 1e-12).all() and (np.diff(alone, axis=1) <= 1e-12).all()
    assert alone[0, 0] > 2 * alone[-1, -1] > 0


def test_autonomy_by_hand() -> None:
    """12 kWh of which 85 % may be drawn, the root of 90 % on the way out; December or January is the darkest."""
    base, found = found_in("engine")
    told, flows = found.autonomy, base.results[0].position.flows
    assert told is not None and told.month in (0, 11)
    use = flows.load[0] + 0.03 * 24 * DAYS_IN_MONTH
    daily = use[told.month] / 31
    assert told.usable_kwh == pytest.approx(10.2)
    assert told.daily == pytest.approx((use.sum() / 365, daily), rel=2e-3)  # an hour moves with the clock in spring
    assert told.days == pytest.approx((10.2 * 0.9**0.5 / told.daily[0], 10.2 * 0.9**0.5 / told.daily[1]))
    made = (flows.solar + flows.clipped)[0, told.month]
    assert told.sun_a_kw == pytest.approx(made / 31 / 5)
    assert told.array_kw == pytest.approx(told.daily[1] / (made / 31 / 5))
    assert told.sun_over_use == pytest.approx(5 / told.array_kw)  # type: ignore[operator]  # it has arrays
    assert [days for days, _ in told.wanted] == [1.0, 2.0, 3.0, 5.0]
    assert told.wanted[2][1] == pytest.approx(3 * told.daily[1] / (0.85 * 0.9**0.5))


def test_a_house_without_a_battery_and_one_with_a_record(tmp_path: Any) -> None:
    """One size of battery, none; and a record that is taken so many times over, of whose size nothing is told."""
    bare = with_off_grid(finsolar.study(house({**ENGINE, "system": {"operation": "off grid", "battery": "none"}})))
    found = bare.off_grid[0]
    assert found is not None and found.sizes is not None and found.autonomy is not None
    assert found.sizes.batteries.tolist() == [0.0] and found.sizes.own == (2, 0)
    assert found.autonomy.days == (0.0, 0.0) and found.autonomy.wanted == ()
    assert found.sizes.hours is not None
    assert found.sizes.hours[2, 0] == bare.results[0].position.flows.generator_hours[0].sum()

    hours = np.tile(np.where((np.arange(24) > 7) & (np.arange(24) < 17), 1.2, 0.0), 365)
    (tmp_path / "made.csv").write_text("kwh\n" + "\n".join(map(str, hours)) + "\n")
    system = {"arrays": None, "production": "made.csv", "operation": "off grid", "battery": {"kwh": 12, "kw": 4}}
    recorded = with_off_grid(finsolar.study(house({**APART, "system": system}, tmp_path)))
    told = recorded.off_grid[0]
    assert told is not None and told.sizes is not None and told.autonomy is not None
    assert told.autonomy.array_kw is None and told.autonomy.sun_a_kw is None
    assert told.sizes.alone[2, 2] == pytest.approx(told.unserved_share[0], abs=1e-12)
    assert told.sizes.alone[0, 2] > told.sizes.alone[2, 2] > told.sizes.alone[4, 2]


def test_hours_are_hours_at_a_finer_step() -> None:
    """Every half-hour: about as many hours short as by the hour, not twice as many."""
    finer = with_off_grid(finsolar.study(house({**APART, "study": {"years": 3, "step_minutes": 30}}))).off_grid[0]
    _, hourly = found_in("apart")
    assert finer is not None
    assert finer.hours_short[0] == pytest.approx(hourly.hours_short[0], rel=0.15)
    assert finer.longest_short[0] == pytest.approx(hourly.longest_short[0], abs=1.5)


def test_alternatives_that_differ_in_payment_alone_share_one_answer_and_the_grid_has_none() -> None:
    tree = {
        **APART,
        "system": {},
        "alternatives": [
            {"name": "On the grid"},
            {"name": "Apart", "system": {"operation": "off grid"}},
            {"name": "Apart on credit", "like": "Apart", "payment": {"loan": {"rate": "5%", "years": 3}}},
        ],
    }
    base = with_off_grid(finsolar.study(house(tree)))
    joined, apart, on_credit = base.off_grid
    assert joined is None and apart is on_credit is not None
    assert base.lines == (None, None, None)  # the house has its grid already


def test_many_cases_have_no_single_first_year() -> None:
    scenario = house(APART)
    cases = study(scenario, {"alternatives.0.costs.0.cost": np.array([[1000.0], [2000.0]])})
    with pytest.raises(ValueError, match="many cases"):
        with_off_grid(cases)


def lines(changes: Tree | None = None) -> tuple[Study, Scenario]:
    """The house with a line as its second way, something of the line changed."""
    roof, line = LINE["alternatives"]
    scenario = house({**LINE, "alternatives": [roof, {**line, **(changes or {})}]})
    return with_off_grid(finsolar.study(scenario)), scenario


def test_at_the_level_price_the_line_is_worth_what_its_rival_is() -> None:
    base, scenario = lines()
    roof, line = base.results
    found = base.lines[1]
    assert base.lines[0] is None and found is not None
    assert found.rival == ("Roof" if float(roof.appraisal.npv) > 0 else None)
    aim = max(float(roof.appraisal.npv), 0.0)
    assert found.behind_by == pytest.approx(aim - float(line.appraisal.npv))
    assert (found.item, found.field, found.price, found.quantity) == ("Poles", "each", 30.0, 800.0)
    assert found.level_price is not None and found.level_quantity is not None
    for path, at in (("each", found.level_price), ("quantity", found.level_quantity)):
        moved = study(scenario, {f"alternatives.1.costs.0.{path}": at})
        assert float(moved.results[1].appraisal.npv) == pytest.approx(aim, abs=0.5)
    assert found.level_price * 800 == pytest.approx(found.level_quantity * 30)


def test_a_line_that_cannot_draw_level_says_why() -> None:
    dear, _ = lines({"tariff": {"energy": 9.0, "rise": 0}})
    found = dear.lines[1]
    assert found is not None and found.level_price is found.level_quantity is None
    assert found.why_not == "it stays behind even with “Poles” as a gift"
    gift, _ = lines({"costs": [{"item": "Poles", "category": "interconnection", "cost": 0}]})
    free = gift.lines[1]
    assert free is not None and free.level_price is None and free.why_not is not None
    assert free.why_not.startswith("“Poles” costs nothing")


def test_the_price_that_moves_is_that_of_being_joined() -> None:
    """Modules built in the same go may be dearer; without a line of that category it is the dearest."""
    poles, modules = ({"item": "Poles", "category": "interconnection", "cost": 5000},
                      {"item": "Modules", "category": "modules", "cost": 9000})  # fmt: skip
    found = lines({"costs": [modules, poles]})[0].lines[1]
    other = lines({"costs": [modules, poles | {"category": "other"}]})[0].lines[1]
    assert found is not None and (found.item, found.price) == ("Poles", 5000.0)
    assert other is not None and (other.item, other.price) == ("Modules", 9000.0)


def test_a_line_stands_against_staying_where_every_other_way_loses() -> None:
    roof, line = LINE["alternatives"]
    dear = {**roof, "costs": [{"item": "Modules", "category": "modules", "cost": 900_000}]}
    found = with_off_grid(finsolar.study(house({**LINE, "alternatives": [dear, line]}))).lines[1]
    assert found is not None and found.rival is None


def test_a_line_brings_all_that_the_house_uses_and_nothing_of_a_system() -> None:
    """No sun, no battery, no draw of its own; the load at the price of the tariff, and none of the costs of the top."""
    base, _ = lines()
    line = base.results[1]
    flows = line.position.flows
    assert flows.imported.sum(axis=-1) == pytest.approx(base.stay.flows.load)
    assert not flows.solar.any() and not flows.idle.any() and not flows.generator.any()
    assert line.position.bill.total[0] == pytest.approx(0.25 * flows.load[0].sum() + 240)
    assert float(line.gross) == 30 * 800 + 1500
    assert np.isnan(line.appraisal.lcoe) and "lcoe" in line.reasons


def test_without_a_tariff_an_alternative_that_builds_nothing_lives_on_its_own_generator() -> None:
    """A smaller set that burns less: hours as many, litres by its own size."""
    small = {
        "name": "Smaller set",
        "system": "none",
        "generator": {**ENGINE["generator"], "kw": 2},
        "costs": [{"item": "Set", "category": "generator", "cost": 2400}],
    }
    base = with_off_grid(finsolar.study(house({**ENGINE, "alternatives": [{"name": "Roof"}, small]})))
    found = base.off_grid[1]
    assert found is not None and found.sizes is None and found.autonomy is None
    assert found.months.hours.sum() == 8760 and not found.months.sun.any()
    assert base.lines == (None, None)
    before, after = base.stay.litres[0].sum(), found.months.litres.sum()
    assert before - after == pytest.approx(0.08415 * 8760 * 1.0, rel=0.02)
