"""One engine: a column of cases is the same study as each case alone, line by line."""

from dataclasses import fields

import numpy as np
import pytest

import finsolar
from finsolar.scenario.reading import from_text

FIR_STREET = """
title: Fir Street
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2025-10-01, years: 12, discount_rate: 5%, inflation: 2.5%}
household:
  marginal_tax: 24%
  itemises: true
  income_tax: 1900
  owner_occupied: true
  backup_kwh: 40
  load: {monthly_kwh: [1180, 1010, 890, 760, 790, 960, 1130, 1120, 910, 760, 860, 1090], shape: all-electric}
weather: greensboro
tariff:
  monthly_charge: 14
  energy:
    - {name: peak, price: 0.33, months: jun-sep, days: mon-fri, hours: 15-20}
    - {name: rest, price: 0.13}
  export: {scheme: net billing, price: 0.045}
  rise: 3%
system:
  arrays: [{kw: 6, tilt: 25, azimuth: 180}]
  inverter: {kw: 5}
  battery: {kwh: 10, kw: 5}
purchase: {sales_tax: 6%, contingency: 4%}
costs:
  - {item: Modules, category: modules, each: 140, quantity: 16, residual: 5%}
  - {item: Battery, category: battery, cost: 3900}
  - {item: Inverter, category: inverter, cost: 1900}
upkeep:
  - {item: Rinsing, category: upkeep, cost: 60}
  - {item: Insurance, category: insurance, cost: 45}
  - {item: New inverter, category: inverter, cost: 1700, every: 8, residual: 20%}
rebates: [{item: Town rebate, amount: 400}]
alternatives:
  - name: Own labour
    own_hours: 90
    own_hour_worth: 20
    costs: [{item: Electrician, category: labour, cost: 1500}]
  - name: Firm
    costs: [{item: Installation, category: labour, cost: 6800}]
  - name: Firm on a loan
    like: Firm
    payment:
      loan: {rate: 7%, later_rates: [7%, 8%], years: 8, fee: 2%, fixed_fee: 90, fees: borrowed, dealer_fee: 5%,
             deferral_months: 2, starter_share: 20%, deductible: 50%, paydown: {awards: 80%, month: 18}}
  - name: Firm, kWh bank
    like: Firm
    tariff:
      export: {scheme: net metering, surplus_price: 0.02}
"""
ALTERNATIVES = range(4)

COLUMNS = {
    "tariff.rise": [0.0, 0.03, 0.06],
    **{f"alternatives.{i}.tariff.rise": [0.0, 0.03, 0.06] for i in ALTERNATIVES},
    "alternatives.1.tariff.export.price": [0.02, 0.045, 0.1],
    "alternatives.3.tariff.export.surplus_price": [0.0, 0.02, 0.05],
    "study.discount_rate": [0.02, 0.05, 0.09],
    "study.inflation": [0.01, 0.025, 0.04],
    "household.income_tax": [150.0, 1900.0, 5000.0],
    "household.backup_kwh": [15.0, 40.0, 90.0],
    "alternatives.0.costs.0.each": [100.0, 140.0, 190.0],
    "alternatives.0.own_hours": [60.0, 90.0, 150.0],
    "alternatives.0.own_hour_worth": [0.0, 20.0, 75.0],
    "alternatives.1.costs.3.cost": [5000.0, 6800.0, 9900.0],
    "alternatives.1.purchase.sales_tax": [0.0, 0.06, 0.08],
    "alternatives.1.rebates.0.amount": [0.0, 400.0, 900.0],
    "alternatives.2.payment.loan.rate": [0.0, 0.07, 0.11],
    "alternatives.2.upkeep.2.cost": [900.0, 1700.0, 2600.0],
}


@pytest.fixture(scope="module")
def plain():
    """The study as it is written."""
    return finsolar.study(from_text(FIR_STREET))


@pytest.fixture(scope="module")
def together(plain):
    """Three cases at once."""
    columns = {path: np.array(column)[:, None] for path, column in COLUMNS.items()}
    return finsolar.study(plain.scenario, columns, reuse=plain)


def same(many, single, case, cases=3):
    """Whether one case of a batch is the single study's; a batch that does not vary has no case axis."""
    many, single = np.asarray(many), np.asarray(single)
    if many.ndim > single.ndim:
        assert many.shape[0] == cases
        many = many[case]
    assert many == pytest.approx(np.broadcast_to(single, many.shape), rel=1e-12, abs=1e-9, nan_ok=True)
    return True


@pytest.mark.parametrize("case", [0, 1, 2])
def test_columns_equal_single_studies(plain, together, case):
    chosen = {path: column[case] for path, column in COLUMNS.items()}
    alone = finsolar.study(plain.scenario, chosen, reuse=plain)
    assert same(together.discount_rate, alone.discount_rate, case)
    assert same(together.stay.bill.total, alone.stay.bill.total, case)
    for many, single in zip(together.results, alone.results, strict=True):
        assert list(many.cash.lines) == list(single.cash.lines)
        for name, line in single.cash.lines.items():
            assert same(many.cash.lines[name], line, case), name
        assert same(many.cash.net, single.cash.net, case)
        for name in ("gross", "rebates", "awarded", "net_cost", "first_year_saving"):
            assert same(getattr(many, name), getattr(single, name), case), name
        for award, own in zip(many.awards, single.awards, strict=True):
            for name in ("amounts", "tax", "worth", "basis", "potential"):
                assert same(getattr(award, name), getattr(own, name), case), name
        for field in fields(single.appraisal):
            if field.name not in {"irrs", "sign_changes"}:
                assert same(getattr(many.appraisal, field.name), getattr(single.appraisal, field.name), case)
        if single.loan is not None:
            for name in ("principal", "fee", "dealer_fee", "monthly_payment", "tax_saved", "missing"):
                assert same(getattr(many.loan, name), getattr(single.loan, name), case), name
            for life, own in ((many.loan.life, single.loan.life), (many.loan.not_paid_in, single.loan.not_paid_in)):
                for name in ("interest", "principal", "balance", "paydown", "excess", "term", "apr", "effective_rate"):
                    assert same(getattr(life, name), getattr(own, name), case), name
            for part in ("coverage", "first_year", "pocket", "outlasts"):
                seen, alone_seen = getattr(many.lender, part), getattr(single.lender, part)
                for field in fields(alone_seen):
                    assert same(getattr(seen, field.name), getattr(alone_seen, field.name), case), field.name


@pytest.mark.parametrize("case", [0, 1, 2])
def test_comparisons_of_columns_equal_single_studies(plain, together, case):
    chosen = {path: column[case] for path, column in COLUMNS.items()}
    alone = finsolar.study(plain.scenario, chosen, reuse=plain)
    found = {(pair.dearer, pair.cheaper): pair for pair in alone.pairs}
    compared = 0
    for many in together.pairs:
        # Which of two is the dearer is settled for all cases together.
        single = found.get((many.dearer, many.cheaper))
        if single is not None:
            compared += 1
            assert same(many.extra_npv, single.extra_npv, case)
            assert same(many.extra_outlay, single.extra_outlay, case)
            assert same(many.extra_saving_first_year, single.extra_saving_first_year, case)
            assert same(many.extra_saving, single.extra_saving, case)
            assert same(many.irr, single.irr, case)
            assert same(many.simple_payback, single.simple_payback, case)
    assert compared >= 4
    for many, single in zip(together.own_labour, alone.own_labour, strict=True):
        assert (many.name, many.hours.shape) == (single.name, (3,))
        if many.against == single.against:
            assert same(many.per_hour, single.per_hour, case)
            assert same(many.npv_per_hour, single.npv_per_hour, case)
            assert same(many.pays, single.pays, case)
    [many], [single] = together.own_work, alone.own_work
    for name in ("hours", "worth_per_hour", "worth", "npv_less_worth"):
        assert same(getattr(many, name), getattr(single, name), case), name
    places = {place.name: place for place in alone.ranking.order}
    assert len(together.ranking.order) == len(places) == 5
    for place in together.ranking.order:
        for name in ("npv", "by_npv", "simple_payback", "by_payback"):
            assert same(getattr(place, name), getattr(places[place.name], name), case), name


def test_cases_do_differ(together):
    """Else the comparison above would prove nothing."""
    for result in together.results:
        assert np.unique(result.appraisal.npv).size == 3, result.name
    assert np.unique(together.results[0].awarded).size == 3
    for figure in ("lcoe_solar", "backup_cost"):
        found = [getattr(result.appraisal, figure) for result in together.results]
        assert any(np.unique(each[np.isfinite(each)]).size == 3 for each in found), figure


def test_hours_taken_over_change_nothing(plain):
    again = finsolar.study(plain.scenario, reuse=plain)
    fresh = finsolar.study(from_text(FIR_STREET))
    assert again.results[0].position.flows is plain.results[0].position.flows
    assert again.to_json() == fresh.to_json() == plain.to_json()


def test_other_values_on_hours_taken_over_equal_a_study_from_the_start(plain):
    chosen = {path: column[2] for path, column in COLUMNS.items()}
    reused = finsolar.study(plain.scenario, chosen, reuse=plain)
    assert reused.to_json() == finsolar.study(plain.scenario, chosen).to_json()


def test_a_value_chosen_equals_the_same_value_written(plain):
    chosen = finsolar.study(plain.scenario, {"study.discount_rate": 0.08}, reuse=plain)
    written = finsolar.study(from_text(FIR_STREET.replace("discount_rate: 5%", "discount_rate: 8%")))
    for one, other in zip(chosen.to_json()["alternatives"], written.to_json()["alternatives"], strict=True):
        assert other.pop("slip") is not None and one.pop("slip") is None  # made for a scenario's own study only
        assert one == other


def test_the_centre_of_a_range_equals_the_plain_number(plain):
    ranged = FIR_STREET.replace("cost: 1500", "cost: {low: 1000, likely: 1500, high: 2600}").replace(
        "inflation: 2.5%", "inflation: {from: 1%, to: 4%}"
    )
    found = finsolar.study(from_text(ranged)).to_json()["alternatives"]
    assert found == plain.to_json()["alternatives"]


def test_drawn_loan_rates_of_two_alternatives_may_differ(plain):
    text = FIR_STREET + (
        "  - name: Own labour on a loan\n"
        "    like: Own labour\n"
        "    payment: {loan: {rate: {low: 5%, likely: 7%, high: 9%}, years: 8, fee: 2%}}\n"
    )
    drawn = {
        "alternatives.2.payment.loan.rate": np.array([[0.06], [0.08]]),
        "alternatives.4.payment.loan.rate": np.array([[0.05], [0.09]]),
    }
    found = finsolar.study(from_text(text), drawn)
    assert found.results[4].appraisal.npv.shape == (2,)
    labour = [own for own in found.own_labour if own.name == "Own labour"]
    assert [own.against for own in labour] == ["Firm"]


FAR_HUT = """
title: Far Hut
place: {country: US, region: AK, latitude: 55.3, longitude: -160.5, timezone: America/Anchorage}
study: {in_service: 2026-07-15, years: 20, discount_rate: 6%}
household: {load: {monthly_kwh: [300, 270, 270, 240, 220, 190, 180, 190, 220, 250, 280, 300], shape: cabin}}
weather: sand-point
generator: {kw: 3, fuel_price: 1.6, rise: 2%, upkeep_per_hour: 0.2}
system:
  arrays: [{kw: 5, tilt: 50, azimuth: 180}]
  inverter: {kw: 4}
  battery: {kwh: 12, kw: 4}
  operation: off grid
costs: [{item: Everything, category: other, cost: 17000}]
alternatives: [{name: Sun first}]
"""


@pytest.mark.parametrize("fuel", ["litres_per_kwh", "idle_litres_per_kw"])
def test_columns_of_what_a_generator_burns_equal_single_studies(fuel):
    """As many cases as years, so that the one axis cannot pass for the other unseen."""
    base = finsolar.study(from_text(FAR_HUT))
    burnt = np.linspace(0.05, 0.4, 20)
    places = ("", "alternatives.0.")
    together = finsolar.study(base.scenario, {f"{p}generator.{fuel}": burnt[:, None] for p in places}, reuse=base)
    [many] = together.results
    assert many.position.litres.shape == (20, 20, 12)
    assert together.stay.bill.total.shape == many.position.bill.total.shape == (20, 20)
    assert np.unique(many.appraisal.npv).size == 20
    for case, litres in enumerate(burnt):
        alone = finsolar.study(base.scenario, {f"{p}generator.{fuel}": litres for p in places}, reuse=base)
        [single] = alone.results
        assert same(together.stay.litres, alone.stay.litres, case, 20)
        assert same(many.position.litres, single.position.litres, case, 20)
        assert same(together.stay.bill.total, alone.stay.bill.total, case, 20)
        assert same(many.cash.net, single.cash.net, case, 20)
        assert same(many.appraisal.npv, single.appraisal.npv, case, 20)


ASH_HOLLOW = """
title: Ash Hollow
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-10-01, years: 3, discount_rate: 5%}
household:
  load:
    monthly_kwh: [900, 800, 700, 600, 600, 800, 950, 950, 700, 600, 700, 900]
    shape: evening
    growth: 1%
    new_loads: [{item: Car, from_year: 2, kwh_a_day: 6, hours: 22-6}]
weather: {station: greensboro, brightness: 100%}
tariff:
  energy:
    - {name: evening, price: 0.38, hours: 16-21}
    - {name: night, price: 0.11, hours: 0-6}
    - {name: rest, price: 0.22}
  export: {scheme: net billing, price: 0.05}
  rise: 3%
generator: {kw: 3, fuel_price: 1.5, rise: 2%, start_at: 30%, stop_at: 70%}
system:
  arrays: [{kw: 6, tilt: 25, azimuth: 180, shading: 5%}, {kw: 2, tilt: 25, azimuth: 270}]
  inverter: {kw: 5}
  battery:
    kwh: 9
    kw: 4
    fade: {ten_years: 20%, law: square root, thousand_cycles: 40%}
    warranty: {years: 10, mwh: 4, capacity: 70%}
costs: [{item: Everything, category: other, cost: 17000}]
upkeep: [{item: New battery, category: battery, cost: 3000, below: 83.5%}]
alternatives:
  - {name: Self-consumption}
  - {name: Before the inverter, system: {inverter: {kw: 3}, battery: {coupling: dc}}}
  - {name: Dear hours, system: {operation: time shift, time_shift: {cheap: [night]}}}
  - {name: Outages, system: {operation: backup only}}
  - {name: No grid, system: {operation: off grid}}
  - {name: No battery, like: Self-consumption, without: [New battery], system: {battery: none}}
"""

SKIES = {"weather.brightness": [0.8, 1.0, 1.1], "household.load.growth": [0.0, 0.08, -0.05]}


@pytest.fixture(scope="module")
def skies():
    """Three skies over a house whose use grows each in its own way: together, and each alone; nothing taken over."""
    scenario = from_text(ASH_HOLLOW)
    together = finsolar.study(scenario, {path: np.array(column)[:, None] for path, column in SKIES.items()})
    alone = [finsolar.study(scenario, {path: column[case] for path, column in SKIES.items()}) for case in range(3)]
    return together, alone


@pytest.mark.parametrize("case", [0, 1, 2])
def test_columns_of_energy_equal_single_studies(skies, case):
    """As many cases as years, so that the one axis cannot pass for the other unseen."""
    together, alone = skies[0], skies[1][case]
    assert same(together.stay.bill.total, alone.stay.bill.total, case)
    for many, single in zip(together.results, alone.results, strict=True):
        for field in fields(single.position.flows):
            found, expected = (getattr(result.position.flows, field.name) for result in (many, single))
            assert same(found if found.ndim > expected.ndim else found[None].repeat(3, 0), expected, case), field.name
        for name in ("capacity", "cycles", "renewed", "worn_out"):
            assert same(getattr(many.run, name), getattr(single.run, name), case), name
        for name, line in single.cash.lines.items():
            assert same(many.cash.lines[name], line, case), name
        for field in fields(single.appraisal):
            if field.name not in {"irrs", "sign_changes"}:
                assert same(getattr(many.appraisal, field.name), getattr(single.appraisal, field.name), case)
        if single.warranty is not None:
            assert same(many.warranty.years, single.warranty.years, case)
            assert same(many.warranty.by_throughput, single.warranty.by_throughput, case)


def test_skies_and_use_do_differ(skies):
    """Else the comparison above would prove nothing."""
    [self_use, before, dear, outages, hut, bare] = skies[0].results
    for result in skies[0].results:
        assert result.position.flows.imported.shape[:2] == (3, 3)
        assert np.unique(result.appraisal.npv).size == 3, result.name
    for result in (self_use, before, dear, hut):
        assert np.unique(result.run.cycles[:, 0]).size == 3, result.name
    assert not outages.run.cycles.any() and not bare.run.cycles.any()
    assert (before.position.flows.clipped.sum((-1, -2)) > 0).any()
    assert dear.position.flows.charge_bought.sum() > 0 and hut.position.flows.charge_bought.sum() > 0
    # A battery that is worn out after its first year in one of the cases and not in another.
    for result in (self_use, before, dear):
        assert 0 < result.run.worn_out[:, 0].sum() < 3, result.name


LINDEN_ROW = """
title: Linden Row
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2026-10-01, years: 3, discount_rate: 5%}
household: {load: {monthly_kwh: [900, 800, 700, 600, 600, 800, 950, 950, 700, 600, 700, 900], shape: evening}}
weather: greensboro
tariff:
  monthly_charge: 8
  daily_charge: 0.2
  charge_per_kw: 0.9
  minimum_bill: 10
  energy:
    - {name: evening, price: 0.31, hours: 16-21}
    - {name: rest, price: 0.17}
  holidays: {}
  tiers: [{of: [rest], steps: [{up_to: 300, adds: -0.01}, {adds: 0.04}]}]
  demand: [{name: evening, price: 3, hours: 16-21, ratchet: 80%}]
  riders:
    - {item: Fuel, per_kwh: 0.01}
    - {item: Fund, share: 2%, on: [energy, tiers]}
  taxes: [{item: Sales, share: 7%}]
  export:
    scheme: net billing
    price: [{period: evening, price: 0.3}, {period: rest, price: 0.25}]
    credits_pay: energy
    pay_out: 50%
    true_up_month: mar
  production_price: 0.02
  production_years: 2
  rise: 3%
  later: [{from_year: 3, monthly_charge: 11, rise: 1%}]
system:
  arrays: [{kw: 9, tilt: 25, azimuth: 180}]
  inverter: {kw: 8}
costs: [{item: Everything, category: other, cost: 15000}]
alternatives:
  - {name: Credits for energy}
  - {name: Credits for everything, tariff: {minimum_bill: 60, export: {scheme: net billing, price: 0.3}}}
  - {name: Money bank, tariff: {export: {scheme: net metering, bank: money}}}
  - {name: Bank of kWh, tariff: {export: {scheme: net metering, surplus_price: 0.02}}}
"""

SHEET = {
    "monthly_charge": [8.0, 0.0, 15.0],
    "daily_charge": [0.2, 0.5, 0.0],
    "charge_per_kw": [0.9, 0.0, 2.0],
    "minimum_bill": [60.0, 0.0, 120.0],
    "tiers.0.steps.0.adds": [-0.05, 0.0, 0.02],
    "tiers.0.steps.1.adds": [0.04, 0.1, 0.0],
    "demand.0.price": [3.0, 0.0, 9.0],
    "riders.0.per_kwh": [0.01, 0.05, -0.02],
    "riders.1.share": [0.02, -0.1, 0.0],
    "taxes.0.share": [0.07, 0.0, 0.2],
    "production_price": [0.02, 0.05, 0.1],
    "later.0.tariff.rise": [0.01, 0.1, -0.05],
    "later.0.tariff.energy.1.price": [0.17, 0.3, 0.1],
    "later.0.tariff.minimum_bill": [30.0, 0.0, 90.0],
}
"""Three values of numbers of a tariff, for each alternative."""

EXPORTS = {
    "alternatives.0.tariff.export.price.0.price": [0.3, 0.9, 0.0],
    "alternatives.0.tariff.export.price.1.price": [0.25, 0.1, 0.6],
    "alternatives.0.tariff.export.pay_out": [0.5, 0.0, 1.0],
    "alternatives.1.tariff.export.price": [0.3, 0.6, 0.0],
    "alternatives.3.tariff.export.surplus_price": [0.0, 0.02, 0.1],
}


def sheet_columns():
    """A column for every number of the tariffs."""
    plans = {f"alternatives.{i}.tariff.{name}": column for i in range(4) for name, column in SHEET.items()}
    return plans | EXPORTS | {f"tariff.{name}": column for name, column in SHEET.items()}


def same_bills(together, alone, case):
    """Whether one case of a batch has the bills and figures of the single study."""
    positions = [(study.stay, *(result.position for result in study.results)) for study in (together, alone)]
    for many, single in zip(*positions, strict=True):
        assert set(single.bill.components) <= set(many.bill.components)
        for name, amount in many.bill.components.items():
            assert same(amount, single.bill.components.get(name, np.zeros((3, 12))), case), name
    for many, single in zip(together.results, alone.results, strict=True):
        assert same(many.cash.net, single.cash.net, case)
        assert same(many.appraisal.npv, single.appraisal.npv, case)


@pytest.fixture(scope="module")
def linden():
    """Linden Row as it is written."""
    return finsolar.study(from_text(LINDEN_ROW))


@pytest.mark.parametrize("case", [0, 1, 2])
def test_columns_of_every_number_of_a_tariff_equal_single_studies(linden, case):
    """As many cases as years, so that the one axis cannot pass for the other unseen."""
    columns = sheet_columns()
    arrays = {path: np.array(column)[:, None] for path, column in columns.items()}
    together = finsolar.study(linden.scenario, arrays, reuse=linden)
    same_bills(together, finsolar.study(linden.scenario, {p: c[case] for p, c in columns.items()}, reuse=linden), case)


@pytest.mark.parametrize("path", [*(f"alternatives.*.tariff.{name}" for name in SHEET), *EXPORTS])
def test_a_column_of_one_number_of_a_tariff_equals_single_studies(linden, path):
    """One at a time, so that no other column lends it the axis of cases; and it counts."""
    columns = {
        path.replace("*", str(i)): (SHEET | EXPORTS)[path.removeprefix("alternatives.*.tariff.")] for i in range(4)
    }
    arrays = {name: np.array(column)[:, None] for name, column in columns.items()}
    together = finsolar.study(linden.scenario, arrays, reuse=linden)
    for case in range(3):
        alone = finsolar.study(linden.scenario, {name: c[case] for name, c in columns.items()}, reuse=linden)
        same_bills(together, alone, case)
    assert any(np.unique(result.appraisal.npv).size == 3 for result in together.results)


@pytest.fixture(scope="module")
def two_days(request):
    """Juniper Lane as it is, finished on 2026-09-01, and the same house finished on 2025-11-20."""
    text = (request.config.rootpath / "scenarios" / "juniper-lane.yaml").read_text(encoding="utf-8")
    assert "in_service: 2026-09-01" in text
    late = finsolar.study(from_text(text))
    sooner = from_text(text.replace("in_service: 2026-09-01", "in_service: 2025-11-20"))
    return late, finsolar.study(sooner, reuse=late)


def test_nine_months_decide_on_the_federal_credit(two_days):
    tax = two_days[0].settled.household.income_tax
    for late, sooner in zip(*(day.results for day in two_days), strict=True):
        assert (str(late.completed), str(sooner.completed)) == ("2026-09-01", "2025-11-20")
        refused, granted = late.awards[0], sooner.awards[0]
        assert (refused.status, granted.status) == ("refused", "granted")
        assert not refused.amounts.any()
        # 30 % of the lines that count, as far as each year's tax allows; the rest moves to the year after.
        assert granted.amounts.sum() == pytest.approx(0.30 * float(granted.basis))
        assert granted.amounts[1] == pytest.approx(min(float(granted.potential), tax))
        assert granted.amounts.max() <= tax
        assert any("ended on 31 December 2025" in reason for reason in refused.reasons)
        assert any("30% of the basis" in reason for reason in granted.reasons)
        # What the refusal names as missed is what the sooner house was granted.
        assert any(f"{float(granted.potential):,.2f}" in reason for reason in refused.reasons)


def test_nothing_but_the_credit_differs_between_the_two_days(two_days):
    rate = float(two_days[0].discount_rate)
    for late, sooner in zip(*(day.results for day in two_days), strict=True):
        for name, line in late.cash.lines.items():
            if name != "awards":
                assert np.array_equal(line, sooner.cash.lines[name]), name
        credit = sooner.awards[0].amounts
        assert sooner.cash.net - late.cash.net == pytest.approx(credit)
        gained = (credit / (1 + rate) ** np.arange(credit.size)).sum()
        assert sooner.appraisal.npv - late.appraisal.npv == pytest.approx(gained)
        assert sooner.appraisal.simple_payback < late.appraisal.simple_payback
