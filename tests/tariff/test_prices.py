"""Prices by year, and the wall clock that decides which of them holds."""

import numpy as np
import pytest

from finsolar.energy.clock import HOURS, wall_clock
from finsolar.scenario.schema import Place, Tariff, TimeShift
from finsolar.tariff.hours import dear_hours, period_of_hours
from finsolar.tariff.prices import by_year, prices

PLACE = Place(country="US", region="NC", latitude=36.1, longitude=-79.95, timezone="America/New_York")
MARCH_TO_NOVEMBER = slice((31 + 28 + 20) * 24, (31 + 28 + 31 + 30 + 31 + 30 + 31 + 31 + 30 + 20) * 24)


def tariff(**fields):
    """A tariff with two prices, unless told otherwise."""
    peak = {"name": "peak", "price": 0.3, "hours": "15-19"}
    return Tariff.model_validate(
        {"energy": [peak, {"name": "rest", "price": 0.1}], "rise": "4%", "monthly_charge": 10.0} | fields
    )


def test_prices_of_the_file_hold_in_year_1_and_rise_from_year_2():
    found = prices(tariff(), 3)
    assert found.periods == ("peak", "rest")
    assert found.energy[0].tolist() == [0.3, 0.1]
    assert found.energy[2] == pytest.approx(np.array([0.3, 0.1]) * 1.04**2)


def test_fixed_and_export_prices_rise_as_energy_does_unless_told():
    export = {"scheme": "net billing", "price": 0.05}
    together = prices(tariff(export=export), 2)
    assert together.fixed == pytest.approx(np.array([[10.0] * 12, [10.4] * 12]))
    assert together.export == pytest.approx(np.array([[0.05] * 2, [0.052] * 2]))
    apart = prices(tariff(export=export, fixed_rise="0%", export_rise="-10%"), 2)
    assert apart.fixed.tolist() == [[10.0] * 12] * 2
    assert apart.export == pytest.approx(np.array([[0.05] * 2, [0.045] * 2]))
    assert apart.energy == pytest.approx(together.energy)


def test_rise_may_follow_a_path_whose_last_step_repeats():
    found = prices(tariff(rise={"path": ["10%", "0%", "-5%"]}), 5)
    index = np.array([1, 1.1, 1.1, 1.1 * 0.95, 1.1 * 0.95**2])
    assert found.fixed == pytest.approx(np.outer(10 * index, np.ones(12)))
    assert found.energy == pytest.approx(np.outer(index, [0.3, 0.1]))


def test_net_metering_settles_in_december_unless_told():
    december = prices(tariff(export={"scheme": "net metering", "surplus_price": 0.03}), 2)
    assert (december.true_up_month, december.export.tolist()) == (11, [[0.0, 0.0]] * 2)
    assert december.surplus == pytest.approx(np.array([0.03, 0.0312]))
    assert prices(tariff(export={"scheme": "net metering", "true_up_month": "mar"}), 1).true_up_month == 2


def test_columns_of_cases_stand_where_numbers_stood():
    rises, peak = np.array([[0.0], [0.05]]), np.array([[0.3], [0.4]])
    one = tariff()
    energy = [one.energy[0].model_copy(update={"price": peak}), one.energy[1]]
    found = prices(one.model_copy(update={"rise": rises, "energy": energy}), 3)
    assert found.energy.shape == (2, 3, 2)
    for case, (rise, price) in enumerate([(0.0, 0.3), (0.05, 0.4)]):
        index = (1 + rise) ** np.arange(3)
        assert found.energy[case] == pytest.approx(np.outer(index, [price, 0.1]))
        assert found.fixed[case] == pytest.approx(np.outer(10 * index, np.ones(12)))


def test_by_year_spreads_a_price_over_an_index():
    assert by_year(2.0, np.array([1.0, 1.5])).tolist() == [2.0, 3.0]
    assert by_year(np.array([[2.0], [4.0]]), np.array([1.0, 1.5])).tolist() == [[2.0, 3.0], [4.0, 6.0]]


def test_price_period_follows_the_wall_clock_not_the_sun():
    clock = wall_clock("America/New_York", -5)
    peak = period_of_hours(tariff(), clock, PLACE) == 0
    standard_hour = np.arange(HOURS) % 24
    summer = np.zeros(HOURS, dtype=bool)
    summer[MARCH_TO_NOVEMBER] = True
    # In summer the wall clock is an hour ahead: 15:00 to 19:00 on the wall is 14:00 to 18:00 by the sun.
    assert set(standard_hour[peak & summer]) == {14, 15, 16, 17}
    assert set(standard_hour[peak][: 4 * 31]) == {15, 16, 17, 18}
    assert peak.sum() == 4 * 365


def test_zone_without_summer_time_keeps_its_hours():
    peak = period_of_hours(tariff(), wall_clock("America/Phoenix", -7), PLACE) == 0
    assert set((np.arange(HOURS) % 24)[peak]) == {15, 16, 17, 18}


def test_summer_time_moves_the_evening_into_another_price():
    # One kWh at 19:30 by the sun of a July day: 20:30 on the wall, after a peak that ends at 20:00.
    evening = tariff(energy=[{"name": "peak", "price": 0.3, "hours": "15-20"}, {"name": "rest", "price": 0.1}])
    hour = (181 + 10) * 24 + 19
    assert period_of_hours(evening, wall_clock("America/New_York", -5), PLACE)[hour] == 1
    assert period_of_hours(evening, wall_clock(None, -5), PLACE)[hour] == 0


def test_months_and_weekdays_are_those_of_the_calendar():
    words = {"name": "peak", "price": 0.3, "months": "jun-sep", "days": "mon-fri", "hours": "15-19"}
    clock = wall_clock("America/New_York", -5)
    peak = period_of_hours(tariff(energy=[{"name": "rest", "price": 0.1}, words]), clock, PLACE) == 1
    # From June to September of a year that begins on a Monday there are 122 days, 86 of them weekdays.
    assert peak.sum() == 86 * 4
    assert set(clock.month[peak]) == {5, 6, 7, 8}
    assert clock.weekday[peak].max() == 4


# --- dear hours ---


def three_prices(rest=0.19):
    """Dear in summer afternoons, cheap at night, between them else."""
    return tariff(
        energy=[
            {"name": "peak", "price": 0.4, "months": "jun-sep", "days": "mon-fri", "hours": "15-20"},
            {"name": "night", "price": 0.1, "hours": "0-6"},
            {"name": "day", "price": 0.2, "months": "oct-may", "hours": "6-24"},
            {"name": "rest", "price": rest},
        ]
    )


@pytest.mark.parametrize("per_hour", [1, 4])
def test_dear_are_the_periods_above_the_average_hour_unless_told(per_hour):
    clock = wall_clock("America/New_York", -5, per_hour)
    kind = period_of_hours(three_prices(), clock, PLACE)
    # 430 hours of 0.4, a quarter of the year at 0.1, all else near 0.2: the average hour costs 0.18 or so.
    average = sum(price * (kind == i).sum() for i, price in enumerate([0.4, 0.1, 0.2, 0.19])) / kind.size
    assert 0.17 < average < 0.19
    found = dear_hours(three_prices(), TimeShift(), clock, PLACE)
    assert found.dear.shape == found.cheap.shape == (8760 * per_hour,)
    assert np.array_equal(found.dear, kind != 1)
    assert not found.cheap.any()
    # At 0.17 the rest of the summer falls below that average, which moves with it.
    milder = dear_hours(three_prices(rest=0.17), TimeShift(), clock, PLACE)
    assert np.array_equal(milder.dear, (kind == 0) | (kind == 2))


def test_dear_and_cheap_by_their_names():
    clock = wall_clock("America/New_York", -5)
    kind = period_of_hours(three_prices(), clock, PLACE)
    shift = TimeShift.model_validate({"dear": ["peak"], "cheap": ["night", "rest"]})
    found = dear_hours(three_prices(), shift, clock, PLACE)
    assert np.array_equal(found.dear, kind == 0)
    assert np.array_equal(found.cheap, (kind == 1) | (kind == 3))
    # A name counts, not its price: the night may be called dear.
    odd = dear_hours(three_prices(), TimeShift.model_validate({"dear": ["night"]}), clock, PLACE)
    assert np.array_equal(odd.dear, kind == 1) and not odd.cheap.any()


def test_where_every_hour_costs_the_same_none_is_dear():
    alike = tariff(energy=[{"name": "peak", "price": 0.17, "hours": "15-19"}, {"name": "rest", "price": 0.17}])
    assert not dear_hours(alike, TimeShift(), wall_clock(None, 0), PLACE).dear.any()


def test_the_average_is_that_of_hours_and_not_of_periods():
    # 18 hours of 0.1, 5 of 0.2 and 1 of 0.6: 0.142 on average, while the three prices have a mean of 0.3.
    prices_of_a_day = [
        {"name": "shoulder", "price": 0.2, "hours": "15-20"},
        {"name": "peak", "price": 0.6, "hours": "20-21"},
        {"name": "rest", "price": 0.1},
    ]
    found = dear_hours(tariff(energy=prices_of_a_day), TimeShift(), wall_clock(None, 0), PLACE)
    assert found.dear.sum() == 365 * 6
