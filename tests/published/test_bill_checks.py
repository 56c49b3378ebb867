"""Bills against published examples and closed forms; every row names its source and how it is known."""

import closed_form as cf1
import numpy as np
import pytest
from house_runs import run_hours

from finsolar.energy.battery import Battery, split_evenly
from finsolar.energy.clock import Clock, wall_clock
from finsolar.energy.flows import bin_flows
from finsolar.scenario.schema import Place, Tariff
from finsolar.tariff.bills import ENERGY, EXPORT, grid_bill, net_metering
from finsolar.tariff.hours import period_of_hours
from finsolar.tariff.prices import Prices

TORONTO = Place(country="CA", region="ON", latitude=43.7, longitude=-79.4, timezone="America/Toronto")
STANDARD_TIME = Clock(
    month=cf1.months(),
    weekday=np.arange(8760) // 24 % 7,
    hour=np.arange(8760) % 24,
)


def tariff_prices(energy, scheme, *, export=0.0, surplus=0.0, true_up=11, years=1):
    """Prices that do not rise."""
    return Prices(
        periods=tuple(map(str, range(len(energy)))),
        fixed=np.zeros((years, 12)),
        energy=np.tile(energy, (years, 1)),
        scheme=scheme,
        export=np.full((years, len(energy)), export),
        surplus=np.full(years, surplus),
        true_up_month=true_up,
    )


def cf1_flows(kw, battery=None, by_period=True):
    """The closed-form year by month and, if wanted, by its five price periods."""
    hourly = run_hours(cf1.pv(kw)[None], cf1.load(1.0)[None], battery=battery)
    period = cf1.periods() if by_period else np.zeros(8760, dtype=np.int64)
    return bin_flows(hourly, STANDARD_TIME, period, len(cf1.PERIODS) if by_period else 1)


def test_b14_bills_of_the_closed_form_year():
    """Source: our own exercise CF1, recomputed from its formulas; battery 10 kWh, 5 kW, 90 %, reserve 10 %."""
    one_way = split_evenly(0.9)
    battery = Battery(np.array([10.0]), 0.1, 5.0, 5.0, one_way, one_way)
    price = tariff_prices(cf1.PERIOD_PRICES, "net billing", export=cf1.EXPORT_PRICE)
    bills = {}
    for name, kw, store in (("none", 0.0, None), ("solar", 6.0, None), ("greedy", 6.0, battery)):
        flows = cf1_flows(kw, store)
        bills[name] = float(grid_bill(flows.imported, flows.exported, price).total[0])
    assert bills == pytest.approx({"none": 2471.6937, "solar": 1215.8111, "greedy": 380.4454}, abs=1e-3)


# T-01. Source: Ontario Energy Board prices from 2022-11-01 as printed by a local distributor; known: seen.
# One kWh in every hour of a winter Wednesday and of a Saturday.
@pytest.mark.parametrize(("weekday", "cost"), [(2, 2.406), (5, 1.776)], ids=["T-01 weekday", "T-01 Saturday"])
def test_t01_winter_day_with_three_prices(weekday, cost):
    words = {"months": "nov-apr", "days": "mon-fri"}
    tariff = Tariff.model_validate(
        {
            "energy": [
                {"name": "mid-peak", "price": 0.102, "hours": "11-17"} | words,
                {"name": "on-peak", "price": 0.151, "hours": "7-11, 17-19"} | words,
                {"name": "off-peak", "price": 0.074},
            ],
            "rise": 0.0,
        }
    )
    clock = wall_clock("America/Toronto", -5)
    day = np.zeros(8760)
    day[(2 * 7 + weekday) * 24 : (2 * 7 + weekday + 1) * 24] = 1.0  # in January, of a year that begins on a Monday
    hourly = run_hours(np.zeros((1, 8760)), day[None])
    flows = bin_flows(hourly, clock, period_of_hours(tariff, clock, TORONTO), 3)
    price = tariff_prices([period.price for period in tariff.energy], "none")
    assert grid_bill(flows.imported, flows.exported, price).total[0] == pytest.approx(cost, abs=1e-6)


def test_t06_bank_of_kwh():
    """Source: Hydro-Quebec, net metering example; periods 1 and 2 seen, period 3 our own. Billed 1,000, 0, 200."""
    drawn, fed = np.zeros((1, 12, 1)), np.zeros((1, 12, 1))
    drawn[0, :3, 0], fed[0, :3, 0] = [1300, 800, 900], [300, 1000, 500]
    billed, left = net_metering(drawn, fed, true_up_month=11)
    assert billed[0, :3, 0].tolist() == [1000.0, 0.0, 200.0]
    assert not left.any()
    _, after_two = net_metering(drawn, fed, true_up_month=1)
    assert after_two[0, 1] == 200.0


# T-13. Source: our own exercise on CF1 (6 kW, no battery), 0.16 a kWh at all hours, 0.06 for export.
@pytest.mark.parametrize(
    ("scheme", "cost"), [("net billing", 501.6436), ("none", 850.8559)], ids=["T-13 net billing", "T-13 none"]
)
def test_t13_export_rules_by_the_hour(scheme, cost):
    flows = cf1_flows(6.0, by_period=False)
    bill = grid_bill(flows.imported, flows.exported, tariff_prices([0.16], scheme, export=0.06))
    assert bill.total[0] == pytest.approx(cost, abs=1e-3)


def test_t13_every_month_settled_by_itself():
    """Monthly netting: a bank that cannot reach the next month, each month standing as a case alone."""
    flows = cf1_flows(6.0, by_period=False)
    alone = np.eye(12)[:, None, :, None]
    price = tariff_prices([0.16], "net metering", surplus=0.06)
    bill = grid_bill(flows.imported * alone, flows.exported * alone, price)
    assert bill.total.shape == (12, 1)
    assert bill.total.sum() == pytest.approx(70.3693, abs=1e-3)


def test_t13_whole_year_settled_at_once():
    """Annual netting: all that was drawn and fed in over the year meets in its last month."""
    flows = cf1_flows(6.0, by_period=False)
    drawn, fed = np.zeros((1, 12, 1)), np.zeros((1, 12, 1))
    drawn[0, 11], fed[0, 11] = flows.imported.sum(), flows.exported.sum()
    bill = grid_bill(drawn, fed, tariff_prices([0.16], "net metering", surplus=0.06))
    assert bill.total[0] == pytest.approx(-30.1414, abs=1e-3)


def test_t14_bank_that_starts_in_january():
    """Source: our own exercise on CF1. 410.203 kWh billed (65.63 money), 912.559 kWh left."""
    flows = cf1_flows(6.0, by_period=False)
    billed, left = net_metering(flows.imported, flows.exported, true_up_month=11)
    assert billed.sum() == pytest.approx(410.203, abs=1e-3)
    assert left.sum() == pytest.approx(912.559, abs=1e-3)
    bill = grid_bill(flows.imported, flows.exported, tariff_prices([0.16], "net metering"))
    assert bill.yearly(ENERGY)[0] == pytest.approx(65.63, abs=5e-3)


def test_t14_bank_that_starts_in_april():
    """The same year twice, settled at the end of March: from April to March nothing is billed, 502.356 kWh left."""
    flows = cf1_flows(6.0, by_period=False)
    drawn, fed = (np.concatenate([flow, flow]) for flow in (flows.imported, flows.exported))
    billed, left = net_metering(drawn, fed, true_up_month=2)
    assert billed.reshape(24)[3:15].sum() == 0.0
    assert left.reshape(24)[14] == pytest.approx(502.356, abs=1e-3)
    price = tariff_prices([0.16], "net metering", surplus=0.06, true_up=2, years=2)
    bill = grid_bill(drawn, fed, price)
    assert bill.components[EXPORT][1, 2] == pytest.approx(-502.356 * 0.06, abs=1e-3)
