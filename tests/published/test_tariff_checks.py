"""Deeper tariffs against published examples; every row names its source and how it is known.

Known is how we know the source: "seen" where its page was read, "own" where the exercise is ours. Rows T-01, T-06,
T-13 and T-14 stand in `test_bill_checks`.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import closed_form as cf1
import numpy as np
import pytest
from house_runs import run_hours

from finsolar.energy.battery import Battery, split_evenly
from finsolar.energy.clock import Clock, wall_clock
from finsolar.energy.flows import bin_flows
from finsolar.energy.peaks import monthly_peaks
from finsolar.scenario.schema import Place, Tariff
from finsolar.tariff.blocks import block_ends, in_blocks
from finsolar.tariff.demand import billed_demand
from finsolar.tariff.holidays import holidays_of
from finsolar.tariff.hours import period_of_hours
from finsolar.tariff.rounding import cents, printed
from finsolar.tariff.settle import credit_bank, minimum_topup, yearly_settlement

OAHU = Place(country="US", region="HI", latitude=21.4, longitude=-157.9, timezone="Pacific/Honolulu")
PHOENIX = Place(country="US", region="AZ", latitude=33.4, longitude=-112.1, timezone="America/Phoenix")
STANDARD_TIME = Clock(month=cf1.months(), weekday=np.arange(8760) // 24 % 7, hour=np.arange(8760) % 24)


def tariff(*periods):
    """A tariff of (name, price, words) as a scenario has it."""
    energy = [{"name": name, "price": price} | words for name, price, words in periods]
    return Tariff.model_validate({"energy": energy, "rise": 0.0})


# T-02. Source: Ontario Energy Board prices from 2022-11-01 as printed by a local distributor; known: seen. One kWh in
# every hour of January 2023, whose second day is a holiday, New Year's Day lying on a Sunday.


@pytest.mark.parametrize(
    ("with_holidays", "hours", "cost"),
    [(True, (492, 126, 126), 68.286), (False, (480, 132, 132), 68.916)],
    ids=["T-02", "T-02 without the holiday"],
)
def test_t02_winter_month_with_three_prices(with_holidays, hours, cost):
    off, mid, on = 0, 1, 2
    holidays = holidays_of("CA", "ON", [2023]) if with_holidays else {}
    counted = [0, 0, 0]
    for days in range(31):
        day = date(2023, 1, 1) + timedelta(days)
        for hour in range(24):
            if day.weekday() >= 5 or day in holidays or not 7 <= hour < 19:
                counted[off] += 1
            else:
                counted[mid if 11 <= hour < 17 else on] += 1
    assert tuple(counted) == hours
    total = sum(n * price for n, price in zip(counted, (0.074, 0.102, 0.151), strict=True))
    assert total == pytest.approx(cost, abs=1e-9)
    assert cents(total) == (Decimal("68.29") if with_holidays else Decimal("68.92"))


# T-03, T-18. Source: Ontario Energy Board tiered prices, winter 2022, as printed by a local distributor; known: seen.
ONTARIO_TIERS = np.array([0.087, 0.103])
ONTARIO_ENDS = [1000.0] * 4 + [600.0] * 6 + [1000.0] * 2  # the lower threshold from May to October


@pytest.mark.parametrize(("month", "cost"), [(0, 133.35), (6, 139.75)], ids=["T-03 winter", "T-03 summer threshold"])
def test_t03_tiers_of_a_month(month, cost):
    ends = block_ends(np.array(ONTARIO_ENDS)[:, None])
    money = (in_blocks(np.full(12, 1450.0), ends) * ONTARIO_TIERS).sum(axis=-1)
    assert money[month] == pytest.approx(cost, abs=1e-6)


@pytest.mark.parametrize(("kwh", "cost"), [(1000.0, 87.0), (1000.5, 87.0515)], ids=["T-18 at the end", "T-18 beyond"])
def test_t18_edge_of_a_tier(kwh, cost):
    assert (in_blocks(kwh, [1000.0]) * ONTARIO_TIERS).sum() == pytest.approx(cost, abs=1e-6)


# T-04, T-05, T-19. Source: Hydro-Quebec, rate D of April 2015 on the utility's rate page; known: seen. That blocks go
# by the total of the period is stated there too.
RATE_D_BLOCKS = np.array([0.0568, 0.0860])


def rate_d(kwh, days):
    """What billing periods of some ``kwh`` and ``days`` cost together."""
    ends = block_ends([30.0], per_day=True, days=days)
    return 0.4064 * np.sum(days) + (in_blocks(kwh, ends) * RATE_D_BLOCKS).sum()


def test_t04_block_grows_with_the_days():
    assert rate_d([2500.0], [62]) == pytest.approx(185.8848, abs=1e-6)


def test_t05_block_goes_by_the_period_and_not_by_the_day():
    days = np.tile([60.0, 10.0], 15)
    assert rate_d([days.sum()], [30]) == pytest.approx(76.212, abs=1e-6)
    assert rate_d(days, np.ones(30)) == pytest.approx(84.972, abs=1e-6)  # the wrong way, and told apart from it


def test_t05_utilitys_own_example_of_a_period():
    """62 days at 40 kWh a day make 2,480 kWh at the lower price."""
    assert block_ends([40.0], per_day=True, days=[62]).tolist() == [[2480.0]]


def test_t19_splitting_a_period_changes_the_bill():
    assert rate_d([500.0, 2000.0], [31, 31]) == pytest.approx(198.4408, abs=1e-6)


# T-07, T-08. Source: the pages of Hawaiian Electric's export programmes, Oahu; known: seen. The day's exports are ours.
EXPORTS = {8: 0.4, 9: 1.5, 10: 2.5, 11: 3.0, 12: 3.2, 13: 3.0, 14: 2.5, 15: 1.5, 16: 0.8, 17: 0.2}


def export_credits(prices):
    """Credits of the day, put on the first of January, by month (1, 12)."""
    clock = wall_clock("Pacific/Honolulu", -10.0)
    solar = np.zeros((1, 8760))
    solar[0, list(EXPORTS)] = list(EXPORTS.values())
    period = period_of_hours(prices, clock, OAHU)
    flows = bin_flows(run_hours(solar, np.zeros((1, 8760))), clock, period, len(prices.energy))
    return (flows.exported * np.array([each.price for each in prices.energy])).sum(axis=-1)


def test_t07_export_credit_within_a_window():
    credit = export_credits(tariff(("day", 0.0, {"hours": "9-16"}), ("rest", 0.1497, {})))
    assert credit.sum() == pytest.approx(0.20958, abs=1e-5)
    assert sum(EXPORTS.values()) * 0.1497 == pytest.approx(2.78, abs=5e-3)


def test_t08_export_credit_of_three_periods_lapses_after_the_year():
    credit = export_credits(
        tariff(("day", 0.135, {"hours": "9-17"}), ("evening", 0.329, {"hours": "17-21"}), ("night", 0.189, {}))
    )
    assert credit.sum() == pytest.approx(2.5714, abs=1e-4)
    charges = np.zeros((2, 12))
    charges[0, 11], charges[1, 0] = 1.0, 5.0
    used, paid = credit_bank(charges, np.concatenate([credit, np.zeros((1, 12))]), true_up_month=11)
    assert used.sum() == 1.0 and used[0, 11] == 1.0
    assert not paid.any()


def test_t09_demand_charge():
    """Window and price a kW: an Arizona utility's page, approximate; known: seen. House ours: 126.00.

    15.00 fixed, 300 kWh at 0.10 and 45 kWh at 0.24 in July; 5.2 kW in the window, 7.9 kW on a Saturday outside it.
    """
    asked = tariff(("on-peak", 0.24, {"months": "may-oct", "days": "mon-fri", "hours": "12-19"}), ("rest", 0.10, {}))
    clock = wall_clock("America/Phoenix", -7.0)
    period = period_of_hours(asked, clock, PHOENIX)
    july = clock.month == 6
    load = np.zeros((1, 8760))
    for price_period, kwh, highest in ((0, 45.0, 5.2), (1, 300.0, 7.9)):
        hours = np.flatnonzero(july & (period == price_period))
        load[0, hours] = (kwh - highest) / (len(hours) - 1)
        one = hours[0] if price_period == 0 else hours[clock.weekday[hours] == 5][12]
        load[0, one] = highest
    hourly = run_hours(np.zeros((1, 8760)), load)
    flows = bin_flows(hourly, clock, period, 2)
    peaks = monthly_peaks(hourly.imported, clock, np.stack([period == 0, np.ones(8760, bool)]))
    assert peaks[0, 6] == pytest.approx([5.2, 7.9], abs=1e-9)
    demand = billed_demand(peaks[..., 0])
    total = 15.0 + flows.imported[0, 6] @ [0.24, 0.10] + demand[0, 6] * 13.50
    assert total == pytest.approx(126.0, abs=1e-6)


@pytest.mark.parametrize(("minutes", "kw"), [(60, 4.6), (15, 8.8)], ids=["T-10 an hour", "T-10 a quarter"])
def test_t10_demand_needs_its_time_base(minutes, kw):
    """Source: definition; known: own. One hour of quarters, 1.0 1.0 2.2 0.4 kWh."""
    clock = wall_clock("America/Phoenix", -7.0, per_hour=4)
    kwh = np.zeros((1, 35040))
    kwh[0, 4 * 4000 : 4 * 4001] = [1.0, 1.0, 2.2, 0.4]
    assert monthly_peaks(kwh, clock, np.ones((1, 35040), bool), minutes).max() == pytest.approx(kw, abs=1e-9)


def test_b15_peaks_of_working_evenings():
    """Source: our own exercise CF1, 6 kW and 10 kWh; known: own. Sums of twelve peaks, and January's."""
    one_way = split_evenly(0.9)
    battery = Battery(np.array([10.0]), 0.1, 5.0, 5.0, one_way, one_way)
    window = (STANDARD_TIME.hour >= 16) & (STANDARD_TIME.hour < 21) & (STANDARD_TIME.weekday < 5)
    peaks = {}
    for name, store in (("none", None), ("greedy", battery)):
        hourly = run_hours(cf1.pv(6.0)[None], cf1.load(1.0)[None], battery=store)
        peaks[name] = monthly_peaks(hourly.imported, STANDARD_TIME, window[None])[0, :, 0]
    assert peaks["none"].sum() == pytest.approx(23.3438, abs=1e-3)
    assert peaks["greedy"].sum() == pytest.approx(14.1968, abs=1e-3)
    assert [each[0] for each in peaks.values()] == pytest.approx([2.1804] * 2, abs=1e-3)


def test_t11_minimum_bill_is_the_greater_of_both():
    """Source: a net-metering leaflet of Hawaiian Electric; known: seen. Numbers ours: 25.00 or 11.50 + 0.30 a kWh."""
    charges = 11.50 + 0.30 * np.array([0.0, 20.0, 60.0, -40.0])
    assert charges + minimum_topup(25.0, charges) == pytest.approx(np.array([25.0, 25.0, 29.5, 25.0]))


def test_t12_settled_once_a_year():
    """Source: true-up page of Pacific Gas & Electric; known: seen. Numbers ours; 10.00 paid each month."""
    energy = np.array([[12.4, -8.15, -31.2, -55.05, -62.3, -58.75, -49.1, -30.0, -4.25, 22.8, 61.35, 70.1]])
    assert energy.sum() == pytest.approx(-132.15)
    due = yearly_settlement(energy, 10.0, true_up_month=11)
    assert not due.any()
    assert due.sum() + 12 * 10.0 == 120.0


def test_t15_net_metering_at_retail_prices_by_the_hour():
    """Source: our own exercise on CF1, no battery, its prices both ways; known: own."""
    hourly = run_hours(cf1.pv(6.0)[None], cf1.load(1.0)[None])
    flows = bin_flows(hourly, STANDARD_TIME, cf1.periods(), len(cf1.PERIODS))
    amounts = ((flows.imported - flows.exported) * cf1.PERIOD_PRICES).sum(axis=-1)
    months = [78.08, 44.21, 13.00, -39.06, -72.00, -80.11, -85.09, -41.40, 9.94, 32.64, 65.99, 85.60]
    assert amounts[0].tolist() == pytest.approx(months, abs=0.01)
    due = yearly_settlement(amounts, 0.0, true_up_month=11)
    assert due[0].tolist() == pytest.approx([0.0] * 11 + [11.8037], abs=1e-3)


def test_t16_each_printed_line_is_rounded_and_the_total_is_theirs():
    """Source: half up, by hand; known: own. Rounding the total alone would give 49.48."""
    lines, total = printed([12.345, 7.005, 30.125])
    assert lines == [Decimal("12.35"), Decimal("7.01"), Decimal("30.13")]
    assert total == Decimal("49.49")
    assert cents(12.345 + 7.005 + 30.125) == Decimal("49.48")


def test_t17_binary_numbers_just_short_of_half_a_cent():
    """Source: half up, by hand; known: own. The binary numbers lie a little below."""
    assert [cents(2.675), cents(1.005)] == [Decimal("2.68"), Decimal("1.01")]
    assert [round(2.675, 2), round(1.005, 2)] == [2.67, 1.00]
