"""Rules of thumb that a sound study of an ordinary house should not contradict: common practice, no source."""

from pathlib import Path

import numpy as np
import pytest

import finsolar
from finsolar.energy.fade import ages, battery_factor
from finsolar.energy.house import fade_of, site_of
from finsolar.scenario.numbers import settled
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Battery

DEMOS = sorted((Path(__file__).parents[1] / "scenarios").glob("*.yaml"))

PLAIN_ROOF = """
title: Plain roof
place: {country: US, region: NC, latitude: 36.1, longitude: -79.95, timezone: America/New_York}
study: {in_service: 2027-03-01, years: 25, discount_rate: 5%}
household: {load: {monthly_kwh: [1180, 1010, 890, 760, 790, 960, 1130, 1120, 910, 760, 860, 1090], shape: evening}}
weather: greensboro
tariff: {energy: 0.16, export: {scheme: net metering, surplus_price: 0.03}, rise: 0%}
system: {arrays: [{kw: 6, tilt: 25, azimuth: 180}], inverter: {kw: 6}}
costs: [{item: Everything, category: other, cost: 8000}]
"""


@pytest.fixture(scope="module")
def plain_roof():
    """A roof paid once, under prices that stay."""
    return finsolar.study(from_text(PLAIN_ROOF))


# Common practice, no source: a simple payback of 6 to 9 years under prices that stay becomes shorter by up to one
# or two years where prices rise by the usual 2 to 4 % a year.
@pytest.mark.parametrize("years", [6.0, 7.5, 9.0])
@pytest.mark.parametrize("rise", [0.02, 0.03, 0.04])
def test_usual_price_rises_shorten_the_payback_by_up_to_one_or_two_years(plain_roof, years, rise):
    cost = years * float(plain_roof.results[0].first_year_saving)
    rises = np.array([[0.0], [rise]])
    chosen = {"alternatives.0.costs.0.cost": cost, "tariff.rise": rises, "alternatives.0.tariff.rise": rises}
    found = finsolar.study(plain_roof.scenario, chosen, reuse=plain_roof).results[0].appraisal
    steady, rising = found.simple_payback
    # Modules fade a little, so the steady payback is a trifle above cost over first-year saving.
    assert years <= steady < years + 0.3
    assert 0.2 < steady - rising < 2.0
    if (years, rise) == (9.0, 0.04):
        assert steady - rising > 1.0


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demo_households_on_the_grid_use_20_to_40_kwh_a_day(path):
    """Common practice, no source: a whole house on the grid uses 20 to 40 kWh a day; a cabin of its own far less."""
    scenario = finsolar.read(path)
    daily = float(site_of(settled(scenario)).usage.base.sum()) / 365
    if scenario.tariff is None:
        assert daily < 20
    else:
        assert 20 <= daily <= 40


def test_there_is_a_demo_household_on_the_grid():
    assert any(finsolar.read(path).tariff is not None for path in DEMOS)


def test_battery_keeps_about_four_fifths_after_ten_years():
    """Common practice, no source: most warranties promise 70 to 80 % after ten years."""
    battery = Battery.model_validate({"kwh": 12, "kw": 5})
    fade = fade_of(battery)
    left = battery_factor(ages(25), fade.ten_years, fade.law)
    assert left[0] == 1.0
    assert left[10] == pytest.approx(0.80, abs=0.02)
