"""What backup is worth in whole studies: it adds up, it enters money only where it is counted, and never cash."""

from __future__ import annotations

from dataclasses import fields
from functools import cache

import numpy as np
import pytest

import finsolar
from finsolar.report.table import as_csv
from finsolar.results import Study
from finsolar.scenario.reading import from_text
from finsolar.study import moves_energy
from finsolar.uncertainty.outages import with_outages
from finsolar.uncertainty.sureness import with_simulation
from finsolar.uncertainty.what_matters import with_what_matters

HOUSE = """
title: Larch Yard
place: {country: NL, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-03-01, years: 6, discount_rate: 4%, inflation: 3%, draws: 64}
household:
  load: {monthly_kwh: [900, 800, 700, 600, 500, 600, 700, 700, 600, 500, 700, 900], shape: evening}
weather: greensboro
tariff: {energy: 0.2, export: {scheme: net billing, price: 0.05}, rise: 2%}
system:
  arrays: [{kw: 6, tilt: 25, azimuth: 180}]
  inverter: {kw: 5, idle_watts: 40}
  battery: {kwh: 9, kw: 4, reserve: 20%, fade: 4%}
costs: [{item: Modules, category: modules, cost: 9000}]
alternatives:
  - name: Battery
  - {name: The same on credit, payment: {loan: {rate: 5%, years: 3}}}
  - {name: Rented, costs: [], payment: {lease: {monthly: 60, rise: 0%, years: 4}}}
  - {name: No battery, system: {battery: none}}
"""
KINDS = "usual: {times_a_year: 1.5, hours_each: 3}, storms: {times_a_year: 0.2, hours_each: 40, months: jun-nov}"
LOSSES = "losses: [{item: Food, cost: 300}, {item: Rooms, cost: 90, each: day, after_hours: 36, rise: 1%}]"
BY_HOUR = f"{{load_share: 60%, {KINDS}, worth: {{an_hour: 8}}, {LOSSES}}}"
GENERATOR = f"""{{load_share: 60%, {KINDS}, instead: {{litres_per_kwh: 0.6, fuel_price: 1.5, rise: 2%,
    costs: [{{item: Set, category: generator, cost: 1200, residual: 10%, sales_tax: 5%}}],
    upkeep: [{{item: Oil, category: upkeep, cost: 40}},
             {{item: New set, category: generator, cost: 1000, every: 4, rise: 0%}}]}}}}"""


def text_of(outage: str, *, count: bool = False) -> str:
    """The house with a block on outages."""
    found = HOUSE.replace("weather:", f"  outage: {outage}\nweather:") if outage else HOUSE
    return found.replace("draws: 64", "draws: 64, count_backup: true") if count else found


@cache
def studied(outage: str, *, count: bool = False) -> Study:
    """Its study."""
    return finsolar.study(from_text(text_of(outage, count=count)))


def worth(amounts: np.ndarray) -> float:
    """What money of years 0 to 6 is worth at 4 %."""
    return sum(float(amount) / 1.04**k for k, amount in enumerate(amounts))


def test_hours_and_energy_add_up() -> None:
    """To the indices, over the kinds and over what is carried and what is not."""
    study = studied(BY_HOUR)
    assert study.expected_outages is not None
    total = study.expected_outages.indices
    assert (float(total.saifi), float(total.saidi)) == pytest.approx((1.7, 12.5))
    for result in study.results:
        assert result.backup is not None
        year, kinds = result.backup.carried.year, result.backup.carried.kinds
        assert float(year.hours_carried + year.hours_not_carried) == pytest.approx(12.5)
        assert float(year.kwh_carried + year.kwh_not_carried) == pytest.approx(float(year.kwh))
        for name in ("interruptions", "hours", "hours_carried", "kwh", "kwh_carried"):
            assert float(getattr(year, name)) == pytest.approx(sum(float(getattr(kind, name)) for kind in kinds))
    battery, loan, rented, bare = study.results
    assert 4 < float(battery.backup.carried.year.hours_carried) < 12.4
    assert float(loan.backup.carried.year.hours_carried) == float(battery.backup.carried.year.hours_carried)
    assert float(bare.backup.carried.year.hours_carried) == 0
    assert np.all(np.diff(battery.backup.carried.hours) < 0)  # the battery wears
    assert rented.backup.carried.hours[:4] == pytest.approx(battery.backup.carried.hours[:4])
    assert rented.backup.carried.hours[4:].tolist() == [0, 0]
    assert battery.backup.carried.hours[0] == float(battery.backup.carried.year.hours_carried)


def test_the_worn_battery_carries_what_it_would_by_itself() -> None:
    """The last year of the study is the end of the way from new to worn."""
    battery = studied(BY_HOUR).results[0]
    worn = studied(BY_HOUR.replace("load_share", "longest_hours: 336, load_share")).results[0]
    assert worn.carrying is not None
    outages = studied(BY_HOUR).expected_outages
    from finsolar.energy.interruptions import expected

    last = sum(
        float(expected(of, want, worn.carrying.worn[k]).hours_carried)
        for k, (of, want) in enumerate(zip(outages.lengths, outages.wanted, strict=True))
    )
    assert battery.backup.carried.hours[-1] == pytest.approx(last)
    assert battery.carrying.wear(battery.run.capacity)[[0, -1]].tolist() == [0, 1]


def test_worth_by_the_hour_and_losses() -> None:
    """Eight an hour, rising with inflation, and what goes in the dark; the lines make up the whole."""
    for result in studied(BY_HOUR).results:
        found = result.backup.worth
        assert (found.by, float(found.unit)) == (("hour", "losses"), 8)
        assert [line.item for line in found.lines] == ["hours without power", "Food", "Rooms"]
        assert float(sum(line.without - line.left for line in found.lines)) == pytest.approx(found.by_year[1])
        assert found.by_year[0] == 0
    alone = studied(BY_HOUR.replace(f", {LOSSES}", "")).results[0].backup
    hours = alone.carried.hours
    assert alone.worth.by_year[1:] == pytest.approx([8 * hours[k] * 1.03**k for k in range(6)])
    assert float(alone.present_value) == pytest.approx(worth(alone.worth.by_year))
    lost = studied(BY_HOUR.replace("worth: {an_hour: 8}, ", "")).results[0].backup.worth
    assert (lost.by, lost.unit) == (("losses",), None)
    both = studied(BY_HOUR).results[0].backup.worth
    assert both.by_year == pytest.approx(alone.worth.by_year + lost.by_year)
    food, rooms = lost.lines
    # Without backup: P(D > 24 h) and the days beyond 36 h, of both kinds of outages.
    assert float(food.without) == pytest.approx(300 * (1.5 * longer(3, 24)[0] + 0.2 * longer(40, 24)[0]), rel=2e-4)
    assert float(rooms.without) == pytest.approx(90 / 24 * (1.5 * longer(3, 36)[1] + 0.2 * longer(40, 36)[1]), rel=2e-4)
    assert 0 < float(food.left) < float(food.without)
    bare = studied(BY_HOUR).results[3].backup.worth
    assert not bare.by_year.any()
    assert all(float(line.without) == float(line.left) > 0 for line in bare.lines)


def longer(mean: float, hours: float) -> tuple[float, float]:
    """The share of outages longer than some hours, and the mean hours beyond, summed up by the density."""
    sigma = np.sqrt(np.log(1 + 1.5**2))
    z = np.linspace(-9, 9, 400_001)
    weight = np.exp(-(z**2) / 2) / np.sqrt(2 * np.pi) * (z[1] - z[0])
    length = np.exp(np.log(mean) - sigma**2 / 2 + sigma * z)
    return float(weight @ (length > hours)), float(weight @ np.maximum(length - hours, 0))


def test_storms_meet_the_load_of_their_months() -> None:
    """The house wants far more in winter than in May, so a storm of winter takes more from it."""

    def storms(months: str) -> float:
        alone = "storms: {times_a_year: 1, hours_each: 10, months: MONTHS}".replace("MONTHS", months)
        return float(studied(f"{{load_share: 60%, {alone}}}").results[0].backup.carried.kinds[0].kwh)

    assert storms("dec-jan") > 1.4 * storms("may")


def test_worth_by_the_kwh_with_a_rise_of_its_own() -> None:
    found = studied(BY_HOUR.replace("an_hour: 8", "a_kwh: 2, rise: 5%").replace(f", {LOSSES}", "")).results[0].backup
    assert found.worth.by_year[1:] == pytest.approx([2 * found.carried.kwh[k] * 1.05**k for k in range(6)])
    assert found.worth.by == ("kwh",)


def test_the_generator_that_backup_spares() -> None:
    """Its price with tax, a new set in year 4 that has two of its years left unpaid, oil, fuel, and its residual."""
    battery, _, rented, bare = (result.backup for result in studied(GENERATOR).results)
    kwh, found = battery.carried.kwh, battery.worth
    by_hand = [1260.0] + [40 * 1.03**k + 0.6 * 1.5 * 1.02**k * kwh[k] for k in range(6)]
    by_hand[4] += 1000
    by_hand[6] -= 0.1 * 1200 * 1.03**5
    assert found.by_year == pytest.approx(by_hand)
    assert (found.by, found.unit) == (("generator",), None)
    assert [(line.item, line.year) for line in found.lines] == [
        ("Set", 0), ("Oil", 1), ("New set", 1), ("fuel of the generator", 1),
    ]  # fmt: skip
    assert float(sum(line.without - line.left for line in found.lines)) == pytest.approx(sum(found.by_year[:2]))
    assert not bare.worth.by_year.any()
    assert [float(line.left) for line in bare.worth.lines] == pytest.approx([1260, 40, 0, 0])
    assert rented.worth.by_year[5:].tolist() == [0, 0]
    assert (found.bought_in, rented.worth.bought_in, bare.worth.bought_in) == (None, 4, None)
    # A generator that is bought when the system goes: the year of the new set that it makes needless spares 1,000.
    spared = 1000 + 40 * 1.03**3 + 0.9 * 1.02**3 * rented.carried.kwh[3]
    assert rented.worth.by_year[4] == pytest.approx(spared - 1260 * 1.03**3)
    assert float(rented.present_value) < float(battery.present_value)


def test_a_younger_generator_is_worth_more_at_the_end() -> None:
    """Bought in year 4, it is two years old when the study ends; the one of year 0 is six."""
    outage = GENERATOR.replace("residual: 10%", "residual_by_age: {2: 50%, 6: 10%}")
    battery, _, rented, _ = (result.backup.worth for result in studied(outage).results)
    assert battery.by_year == pytest.approx(studied(GENERATOR).results[0].backup.worth.by_year)
    assert rented.by_year[5:] == pytest.approx([0, 0.4 * 1200 * 1.03**5])


def test_fuel_is_not_spared_by_what_burns_fuel_itself() -> None:
    """A generator of the alternative's own carries as well as the one it spares, and burns fuel as well."""
    own = (
        "  - {name: Gen, system: {battery: none}, generator: {kw: 5, litres_per_kwh: 0.5, fuel_price: 1.5, rise: 2%}}\n"
    )
    text = text_of(GENERATOR.replace("load_share", "fuel_litres: 20, load_share"), count=True) + own
    battery, *_, gen = (result.backup for result in finsolar.study(from_text(text)).results)
    assert gen.carried.kwh.min() > 1 and float(gen.worth.lines[-1].without) == 0
    assert gen.worth.by_year[1] == pytest.approx(40) and battery.worth.by_year[1] > 40
    assert gen.worth.by_year[0] == battery.worth.by_year[0] == 1260


def test_a_spared_generator_lays_nothing_out_and_puts_nothing_in_hand() -> None:
    """Dearer than the system, it makes up for the outlay of the first day, which is cash all the same."""
    study = studied(GENERATOR.replace("cost: 1200", "cost: 12000"), count=True)
    battery, *_, bare = study.results
    assert battery.cash.net[0] > 0 > battery.cash.net[0] - battery.cash.lines["worth of backup"][0] == -9000
    assert (
        battery.reasons["irr"] == "the worth of backup at the start makes up for the outlay, which so earns no return"
    )
    assert "irr" not in bare.reasons or "worth" not in bare.reasons["irr"]
    by_names = {frozenset((pair.dearer, pair.cheaper)): pair for pair in study.pairs}
    pair = by_names[frozenset(("Battery", "No battery"))]
    assert float(pair.extra_outlay) == 0 and np.isnan(pair.irr) and "worth of backup" in pair.reasons["irr"]
    assert by_names[frozenset(("Battery", "The same on credit"))].dearer == "Battery"
    ranked = {place.name: place for place in study.ranking.order}
    assert ranked["Battery"].worth and not ranked["No battery"].worth
    assert float(ranked["Battery"].simple_payback) == 0
    plain = study.to_json()
    assert "out of pocket" not in plain["comparison"]["ranking_reason"]


def test_an_alternative_off_the_grid_says_why_no_outage_is_counted() -> None:
    """In JSON, in the CSV, and as the reason of its cost of backup."""
    text = text_of(BY_HOUR) + "  - {name: Away, system: {operation: off grid}}\n"
    study = with_outages(finsolar.study(from_text(text)))
    plain = study.to_json()
    *others, away = plain["alternatives"]
    assert away["outage"]["backup"] is None
    assert away["outage"]["no_backup"] == away["reasons"]["backup_cost"]
    assert away["outage"]["no_backup"].startswith("it leaves the grid")
    assert all(each["outage"]["no_backup"] is None for each in others)
    assert f'Away,backup,npv_without,,,,EUR,"{away["outage"]["no_backup"]}' in as_csv(plain).replace("USD", "EUR")


@pytest.mark.parametrize(
    ("outage", "why"),
    [
        ("{load_share: 60%, usual: {times_a_year: 0, hours_each: 3}}", "no outages are to be expected"),
        (
            "{appliances: [{item: Fan, watts: 100, hours_a_day: 5, months: jul, on_backup: 100%}], "
            "storms: {times_a_year: 1, hours_each: 5, months: jan}}",
            "no energy is wanted while it is carried",
        ),
    ],
    ids=["no outages", "no energy"],
)
def test_each_break_even_has_a_reason_of_its_own(outage: str, why: str) -> None:
    """It pays without a worth of backup only where the NPV is above zero, which it is not here."""
    battery = studied(outage).results[0]
    assert float(battery.appraisal.npv) < 0
    assert battery.backup.why_not["a_kwh"] == why
    assert ("an_hour" in battery.backup.why_not) == bool(np.isnan(battery.backup.an_hour)) == why.startswith("no out")
    if why.startswith("no out"):
        assert battery.reasons["backup_cost"] == why


@pytest.mark.parametrize("outage", [BY_HOUR, GENERATOR], ids=["by hour and losses", "generator"])
def test_counting_moves_the_npv_by_the_worth_and_no_figure_of_cash(outage: str) -> None:
    plainly, counted = studied(outage), studied(outage, count=True)
    for one, other in zip(plainly.results, counted.results, strict=True):
        gained = float(other.appraisal.npv) - float(one.appraisal.npv)
        assert gained == pytest.approx(worth(one.backup.worth.by_year), abs=1e-6)
        assert float(one.backup.npv_with) == pytest.approx(float(other.appraisal.npv), abs=1e-6)
        assert float(one.backup.npv_without) == float(other.backup.npv_without) == float(one.appraisal.npv)
        assert other.cash.kinds["worth of backup"] == "worth"
        assert "worth of backup" not in one.cash.lines
        assert other.cash.running == pytest.approx(one.cash.running + np.cumsum(one.backup.worth.by_year))
        for name in ("sir", "airr", "lcoe", "real_lcoe", "lcoe_solar", "backup_cost"):
            np.testing.assert_array_equal(getattr(other.appraisal, name), getattr(one.appraisal, name), name)
        assert float(one.first_year_saving) == float(other.first_year_saving)
    loan, other = plainly.results[1].lender, counted.results[1].lender
    for part in ("coverage", "first_year", "pocket"):
        for field in fields(getattr(loan, part)):
            np.testing.assert_array_equal(
                getattr(getattr(loan, part), field.name), getattr(getattr(other, part), field.name)
            )
    for pair, others in zip(plainly.pairs, counted.pairs, strict=True):
        assert float(pair.extra_saving) == float(others.extra_saving)
    battery = next(place for place in counted.ranking.order if place.name == "Battery")
    assert float(battery.npv) == float(counted.results[0].appraisal.npv)


def test_uncounted_outages_change_no_other_figure() -> None:
    """Not by a bit."""
    before, after = studied(""), studied(BY_HOUR)
    assert before.results[0].backup is None
    assert before.expected_outages is None
    for one, other in zip(before.results, after.results, strict=True):
        assert {name: line.tolist() for name, line in one.cash.lines.items()} == {
            name: line.tolist() for name, line in other.cash.lines.items()
        }
        for field in fields(one.appraisal):
            if field.name != "backup_cost":
                np.testing.assert_array_equal(getattr(one.appraisal, field.name), getattr(other.appraisal, field.name))


@pytest.mark.parametrize("unit", ["an_hour", "a_kwh"])
@pytest.mark.parametrize("rise", ["", ", rise: 6%"], ids=["inflation", "own rise"])
def test_the_break_even_worth_put_back_makes_the_npv_zero(unit: str, rise: str) -> None:
    def outage(amount: float) -> str:
        return f"{{load_share: 60%, {KINDS}, worth: {{{unit}: {amount!r}{rise}}}}}"

    study = studied(outage(1.0))
    compared = 0
    for i, result in enumerate(study.results):
        level = float(getattr(result.backup, unit))
        if np.isnan(level):
            assert result.backup.why_not[unit]
            continue
        compared += 1
        again = studied(outage(level), count=True).results[i]
        assert abs(float(again.appraisal.npv)) < 0.01
    assert compared >= 2
    nothing = "nothing is carried while the grid is down"
    assert study.results[3].backup.why_not == {"an_hour": nothing, "a_kwh": nothing}


def test_a_stated_backup_wins_over_what_is_worked_out() -> None:
    """Both give the cost of a kWh of backup by one formula."""
    free, stated = (
        studied(BY_HOUR),
        finsolar.study(from_text(text_of(BY_HOUR).replace("household:\n", "household:\n  backup_kwh: 50\n"))),
    )
    kwh, npv = free.results[0].backup.carried.kwh, float(free.results[0].appraisal.npv)
    drawn = sum(kwh[k] * 1.03**k / 1.04 ** (k + 1) for k in range(6))
    assert npv < 0
    assert float(free.results[0].appraisal.backup_cost) == pytest.approx(-npv / drawn)
    drawn = sum(50 * 1.03**k / 1.04 ** (k + 1) for k in range(6))
    assert float(stated.results[0].appraisal.backup_cost) == pytest.approx(-npv / drawn)
    assert "carries" in free.results[3].reasons["backup_cost"]


COLUMNS = {
    "household.outage.usual.times_a_year": [0.5, 1.5, 4.0],
    "household.outage.storms.hours_each": [10.0, 40.0, 90.0],
    "household.outage.worth.an_hour": [0.0, 8.0, 30.0],
    "household.outage.worth.rise": [0.0, 0.03, 0.06],
    "household.outage.losses.0.cost": [100.0, 300.0, 900.0],
    "study.inflation": [0.0, 0.03, 0.05],
    "study.discount_rate": [0.02, 0.04, 0.09],
}


def test_columns_equal_single_studies() -> None:
    """Times, hours and prices that differ from case to case, counted as money."""
    base = finsolar.study(from_text(text_of(BY_HOUR.replace("an_hour: 8", "an_hour: 8, rise: 2%"), count=True)))
    together = finsolar.study(base.scenario, {path: np.array(c)[:, None] for path, c in COLUMNS.items()}, reuse=base)
    for case in range(3):
        alone = finsolar.study(base.scenario, {path: c[case] for path, c in COLUMNS.items()})
        for many, single in zip(together.results, alone.results, strict=True):
            for name in ("npv", "annual_value", "discounted_payback", "backup_cost"):
                one, other = getattr(many.appraisal, name)[case], getattr(single.appraisal, name)
                assert float(one) == pytest.approx(float(other), rel=1e-11, nan_ok=True), name
            for name in ("hours_carried", "kwh_carried", "hours", "kwh"):
                found = np.broadcast_to(getattr(many.backup.carried.year, name), (3,))[case]
                assert float(found) == pytest.approx(float(getattr(single.backup.carried.year, name)), rel=1e-11)
            found = np.broadcast_to(many.backup.worth.by_year, (3, 7))[case]
            assert found == pytest.approx(single.backup.worth.by_year, rel=1e-11)
    assert np.unique(together.results[0].appraisal.npv).size == 3


def test_what_the_hours_of_outages_depend_on() -> None:
    """A price, a life or a number of outages is money; the load that is carried is not."""
    study = studied(BY_HOUR)
    money = ("usual.times_a_year", "storms.hours_each", "losses.0.cost", "instead.upkeep.1.life", "instead.fuel_price")
    assert not any(moves_energy(study.scenario, f"household.outage.{path}") for path in money)
    hours = ("load_share", "load_kw", "fuel_litres", "longest_hours", "appliances.0.watts")
    assert all(moves_energy(study.scenario, f"household.outage.{path}") for path in hours)
    with pytest.raises(ValueError, match="load_share"):
        finsolar.study(study.scenario, {"household.outage.load_share": 0.3}, reuse=study)


RANGED = """{load_share: 60%, worth: {an_hour: {low: 2, likely: 6, high: 20}},
    usual: {times_a_year: {from: 1, to: 3}, hours_each: 3}, storms: {times_a_year: 0.2, hours_each: 40}}"""


def test_ranges_of_outages_are_drawn_and_leave_an_uncounted_npv_alone() -> None:
    found = with_what_matters(with_simulation(finsolar.study(from_text(text_of(RANGED)))))
    assert found.simulation is not None
    assert found.what_matters is not None
    battery, *_, bare = found.simulation.alternatives
    assert {name: cases.shape for name, cases in battery.backup.items()} == dict.fromkeys(
        ("hours", "hours_carried", "hours_not_carried", "kwh", "kwh_carried", "kwh_not_carried", "worth"), (8, 8)
    )
    assert np.ptp(battery.figures["npv"]) == 0
    hours = battery.backup["hours"]
    assert 3 + 8 < hours.min() < 11.5
    assert 16.5 < hours.max() < 9 + 8
    assert battery.backup["hours_carried"] + battery.backup["hours_not_carried"] == pytest.approx(hours)
    drawn = {each.name: found.simulation.values[..., k] for k, each in enumerate(found.simulation.drawn)}
    assert battery.backup["worth"] == pytest.approx(
        drawn["household.outage.worth.an_hour"] * battery.backup["hours_carried"]
    )
    assert np.ptp(bare.backup["worth"]) == 0
    assert all(np.ptp([swing.npv_low, swing.npv_high], axis=0).max() == 0 for swing in found.what_matters.swings)
    plain = with_outages(found).to_json()["alternatives"][0]["outage"]["backup"]
    cases = battery.backup["worth"]
    assert plain["drawn"]["worth"]["p50"] == pytest.approx(np.percentile(cases, 50))
    assert plain["drawn"]["hours"]["p10"] == pytest.approx(np.percentile(hours, 10))


def test_counted_ranges_move_the_npv() -> None:
    found = with_what_matters(with_simulation(finsolar.study(from_text(text_of(RANGED, count=True)))))
    battery = found.simulation.alternatives[0]
    assert np.ptp(battery.figures["npv"]) > 0
    assert np.ptp(found.simulation.alternatives[3].figures["npv"]) == 0
    assert all(swing.npv_low[0] < swing.npv_high[0] for swing in found.what_matters.swings)


def test_cases_between_exact_hours_take_over_how_outages_are_carried() -> None:
    """A range of brightness draws the hours; what is carried then follows the study's own curves."""
    text = text_of(RANGED, count=True).replace(
        "weather: greensboro", "weather: {station: greensboro, brightness: {from: 95%, to: 105%}}"
    )
    found = with_simulation(finsolar.study(from_text(text)))
    assert found.simulation.surface is not None
    hours = found.simulation.alternatives[0].backup["hours_carried"]
    assert np.ptp(hours) > 0
    assert found.simulation.checked.npv < 20


def test_many_cases_of_the_hours_carry_what_each_carries_alone() -> None:
    """Sunlight, use and size that differ from case to case."""
    scenario = from_text(text_of(BY_HOUR, count=True).replace("weather: greensboro", "weather: {station: greensboro}"))
    columns = {
        "weather.brightness": [0.8, 1.1],
        "household.load.level": [1.4, 0.7],
        "alternatives.0.system.battery.fade": [0.01, 0.06],
    }
    together = finsolar.study(scenario, {path: np.array(column)[:, None] for path, column in columns.items()})
    for case in range(2):
        alone = finsolar.study(scenario, {path: column[case] for path, column in columns.items()})
        for many, single in zip(together.results, alone.results, strict=True):
            for name in ("hours_carried", "kwh_carried", "kwh"):
                found = np.broadcast_to(getattr(many.backup.carried.year, name), (2,))[case]
                assert float(found) == pytest.approx(float(getattr(single.backup.carried.year, name)), rel=1e-9), name
            found = np.broadcast_to(many.backup.worth.by_year, (2, 7))[case]
            assert found == pytest.approx(single.backup.worth.by_year, rel=1e-9)
    assert np.unique(together.results[0].backup.carried.year.hours_carried).size == 2
    years = finsolar.study(scenario, {"weather.brightness": np.array([[0.9, 1.1, 1.0, 1.0, 1.0, 1.0]])}).results[0]
    assert years.backup.carried.hours.shape == (1, 6)


def test_the_record_of_the_country_fills_what_is_left_out() -> None:
    """It is told as an assumption with its source, and its ranges are drawn."""
    text = text_of("{load_share: 60%}").replace("country: NL", "country: US")
    study = with_outages(with_simulation(finsolar.study(from_text(text))))
    plain = study.to_json()
    outages = plain["outages"]
    assert [(kind["kind"], kind["assumed"]) for kind in outages["kinds"]] == [("usual", True), ("storms", True)]
    assert all("Electric Power Annual" in kind["source"] for kind in outages["kinds"])
    assert outages["saifi"] == pytest.approx(1.09 + 0.333)
    assert outages["saidi_hours"] == pytest.approx(1.09 * 2.005 + 0.333 * (10.015 + 18.929) / 2)
    assert outages["caidi_hours"] == pytest.approx(outages["saidi_hours"] / outages["saifi"])
    assert outages["availability"] == pytest.approx(1 - outages["saidi_hours"] / 8760)
    told = {row["id"]: row for row in plain["assumptions"]}
    assert told["scenario.household.outage.usual"]["source"] == "default"
    assert "Derived" in told["scenario.household.outage.storms"]["why"]
    assert not [row for row in plain["stated"] if ".usual" in row["id"] or ".storms" in row["id"]]
    assert [each.name for each in study.simulation.drawn] == [
        f"household.outage.{name}" for name in ("usual.times_a_year", "storms.times_a_year", "storms.hours_each")
    ]
    backup = plain["alternatives"][0]["outage"]["backup"]
    assert backup["worth"] is None
    assert backup["npv_with"] is None
    assert "worth" not in backup["drawn"]
    own = finsolar.study(from_text(text.replace("load_share: 60%", "load_share: 60%, " + KINDS))).to_json()["outages"]
    assert [(kind["assumed"], kind["source"], kind["months"]) for kind in own["kinds"]] == [
        (False, None, None), (False, None, [6, 7, 8, 9, 10, 11]),
    ]  # fmt: skip


def test_without_a_record_nothing_is_computed() -> None:
    plain = with_outages(studied("{load_share: 60%}")).to_json()
    assert plain["outages"] == {
        "kinds": [], "saifi": None, "saidi_hours": None, "caidi_hours": None, "availability": None, "counted": False,
        "reason": "no record of outages of NL is on hand; say household.outage.usual",
    }  # fmt: skip
    assert [plan["outage"]["backup"] for plan in plain["alternatives"]] == [None] * 4
    assert studied("").to_json()["outages"] is None


def test_every_number_stands_in_the_csv() -> None:
    plain = with_outages(studied(BY_HOUR, count=True)).to_json()
    rows = as_csv(plain)
    backup = plain["alternatives"][0]["outage"]["backup"]
    assert f"Battery,worth of backup avoided,Food,1,,{backup['worth']['lines'][1]['avoided']!r},USD," in rows
    assert f"Battery,backup a year,hours_carried,1,,{backup['a_year']['hours_carried']!r},h," in rows
    assert f"all,outages,saidi_hours,,,{plain['outages']['saidi_hours']!r},h a year," in rows
    assert plain["outages"]["counted"] is True
    assert plain["alternatives"][0]["cash_flow"]["lines"]["worth of backup"] == backup["worth"]["by_year"]
