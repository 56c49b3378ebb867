"""Bills: identities that hold for any tariff, and a plain hour-by-hour reckoning beside the arrays."""

from datetime import UTC, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from house_runs import run_hours
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from finsolar.energy.clock import HOURS, wall_clock
from finsolar.energy.flows import bin_flows
from finsolar.scenario.schema import Place, Tariff
from finsolar.tariff.bills import COMPONENTS, ENERGY, EXPORT, FIXED, Bill, grid_bill, net_metering
from finsolar.tariff.hours import period_of_hours
from finsolar.tariff.prices import Prices, prices

ZONE, OFFSET = "America/New_York", -5
PLACE = Place(country="US", region="NC", latitude=36.1, longitude=-79.95, timezone=ZONE)


def flat(scheme="none", *, price=0.2, fixed=0.0, export=0.0, surplus=0.0, years=1, periods=1, true_up=11):
    """Prices that are the same in every year."""
    return Prices(
        periods=tuple(f"p{i}" for i in range(periods)),
        fixed=np.full((years, 12), fixed),
        energy=np.broadcast_to(price, (years, periods)).astype(float),
        scheme=scheme,
        export=np.full((years, periods), export),
        surplus=np.full(years, surplus),
        true_up_month=true_up,
    )


def random_flows(seed, *shape):
    """Two arrays of monthly kWh, some months without any."""
    rng = np.random.default_rng(seed)
    return tuple(rng.uniform(0, 900, shape) * (rng.random(shape) > 0.2) for _ in range(2))


def test_fixed_charge_is_due_in_every_month_and_no_credit_lowers_it():
    drawn, fed = np.zeros((2, 12, 1)), np.full((2, 12, 1), 500.0)
    bill = grid_bill(drawn, fed, flat("net metering", fixed=11.0, years=2))
    assert bill.yearly(FIXED).tolist() == [132.0, 132.0]
    assert bill.total.tolist() == [132.0, 132.0]


def test_net_billing_is_money_and_may_exceed_the_charges():
    drawn, fed = np.full((1, 12, 1), 10.0), np.full((1, 12, 1), 100.0)
    bill = grid_bill(drawn, fed, flat("net billing", fixed=5.0, export=0.15))
    # Each month: 5.00 + 10 x 0.20 - 100 x 0.15.
    assert bill.monthly_total == pytest.approx(np.full((1, 12), -8.0))
    assert bill.yearly(EXPORT) == pytest.approx(np.full(1, -180.0))


def test_without_a_scheme_export_earns_nothing_and_has_no_line():
    drawn, fed = random_flows(1, 2, 12, 3)
    bill = grid_bill(drawn, fed, flat(years=2, periods=3))
    assert list(bill.components) == [FIXED, ENERGY]
    assert bill.total == pytest.approx(0.2 * drawn.sum(axis=(-1, -2)))
    assert bill.yearly(EXPORT).tolist() == [0.0]


def test_export_price_of_zero_is_the_bill_without_a_scheme():
    drawn, fed = random_flows(2, 3, 12, 2)
    paid_nothing = grid_bill(drawn, fed, flat("net billing", years=3, periods=2))
    assert np.array_equal(paid_nothing.total, grid_bill(drawn, fed, flat(years=3, periods=2)).total)


@pytest.mark.parametrize("scheme", ["none", "net billing", "net metering"])
def test_bill_grows_in_step_with_prices_and_with_flows(scheme):
    drawn, fed = random_flows(3, 2, 12, 2)
    one = grid_bill(drawn, fed, flat(scheme, fixed=0.0, export=0.05, surplus=0.03, years=2, periods=2))
    flows = grid_bill(3 * drawn, 3 * fed, flat(scheme, export=0.05, surplus=0.03, years=2, periods=2))
    dearer = flat(scheme, price=0.6, export=0.15, surplus=0.09, years=2, periods=2)
    assert flows.monthly_total == pytest.approx(3 * one.monthly_total)
    assert grid_bill(drawn, fed, dearer).monthly_total == pytest.approx(3 * one.monthly_total)


@pytest.mark.parametrize("scheme", ["none", "net billing"])
def test_one_price_equals_many_periods_of_that_price(scheme):
    drawn, fed = random_flows(4, 2, 12, 4)
    many = grid_bill(drawn, fed, flat(scheme, export=0.06, years=2, periods=4))
    together = [flow.sum(axis=-1, keepdims=True) for flow in (drawn, fed)]
    one = grid_bill(*together, flat(scheme, export=0.06, years=2))
    assert many.monthly_total == pytest.approx(one.monthly_total)


def test_net_metering_without_surplus_is_net_billing_at_the_retail_price():
    drawn, fed = random_flows(5, 2, 12, 1)
    drawn = drawn + fed  # no month feeds in more than it draws, so the bank stays empty
    metered = grid_bill(drawn, fed, flat("net metering", price=0.17, years=2))
    billed = grid_bill(drawn, fed, flat("net billing", price=0.17, export=0.17, years=2))
    assert metered.monthly_total == pytest.approx(billed.monthly_total)
    assert metered.yearly(EXPORT).tolist() == [0.0, 0.0]


def test_bank_paid_out_at_the_retail_price_gives_the_net_of_the_year():
    drawn, fed = random_flows(6, 1, 12, 1)
    # Months in the order of what they draw on balance keep every credit ahead of every charge.
    order = np.argsort((drawn - fed)[0, :, 0])
    drawn, fed = drawn[:, order], fed[:, order]
    bill = grid_bill(drawn, fed, flat("net metering", price=0.2, surplus=0.2))
    assert bill.total == pytest.approx(0.2 * (drawn - fed).sum(axis=(-1, -2)))


def test_bank_moves_within_a_price_period_only():
    drawn, fed = np.zeros((1, 12, 2)), np.zeros((1, 12, 2))
    fed[0, 3, 0], drawn[0, 5] = 100.0, [60.0, 60.0]
    billed, left = net_metering(drawn, fed, true_up_month=11)
    assert billed[0, 5].tolist() == [0.0, 60.0]
    assert left[0].tolist() == [0.0] * 11 + [40.0]


def test_bank_is_paid_and_emptied_at_the_true_up_and_at_the_end_of_the_study():
    drawn, fed = np.zeros((2, 12, 1)), np.zeros((2, 12, 1))
    fed[0, 1], fed[0, 6], drawn[1, 2], fed[1, 10] = 100.0, 70.0, 90.0, 30.0
    billed, left = net_metering(drawn, fed, true_up_month=2)
    # March of year 1 pays out February's 100; July's 70 meet March of year 2, whose other 20 are billed.
    assert {(y, m): left[y, m] for y, m in np.argwhere(left)} == {(0, 2): 100.0, (1, 11): 30.0}
    assert {(y, m): billed[y, m, 0] for y, m in np.argwhere(billed[..., 0])} == {(1, 2): 20.0}
    bill = grid_bill(drawn, fed, flat("net metering", surplus=0.04, years=2, true_up=2))
    assert bill.yearly(EXPORT) == pytest.approx(np.array([-4.0, -1.2]))


@settings(deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(0, 11))
def test_bank_loses_and_makes_no_energy(seed, true_up):
    drawn, fed = random_flows(seed, 2, 12, 3)
    billed, left = net_metering(drawn, fed, true_up)
    assert billed.min() >= 0 and left.min() >= 0
    assert billed.sum() - left.sum() == pytest.approx((drawn - fed).sum(), abs=1e-6)
    assert not left[:, [m for m in range(11) if m != true_up]].any()


@pytest.mark.parametrize("scheme", ["none", "net billing", "net metering"])
@pytest.mark.parametrize("cases", [(), (3,), (2, 3)])
def test_cases_on_leading_axes_equal_case_by_case(scheme, cases):
    drawn, fed = random_flows(7, *cases, 2, 12, 2)
    rng = np.random.default_rng(8)
    fixed = rng.uniform(0, 9, (*cases, 2, 12))
    surplus = rng.uniform(0, 0.1, (*cases, 2))
    export = rng.uniform(0, 0.1, (*cases, 2, 2))
    energy = rng.uniform(0.1, 0.4, (*cases, 2, 2))
    together = grid_bill(drawn, fed, Prices(("a", "b"), fixed, energy, scheme, export, surplus, 4))
    for case in np.ndindex(*cases):
        alone = Prices(("a", "b"), fixed[case], energy[case], scheme, export[case], surplus[case], 4)
        single = grid_bill(drawn[case], fed[case], alone)
        assert list(single.components) == list(together.components)
        for name, amount in single.components.items():
            assert np.array_equal(together.components[name][case], amount)


@pytest.mark.parametrize("scheme", ["none", "net billing", "net metering"])
def test_one_house_under_many_prices(scheme):
    drawn, fed = random_flows(9, 2, 12, 1)
    energy = np.array([0.1, 0.2, 0.3])[:, None, None] * np.ones((3, 2, 1))
    fixed, export, surplus = np.full((2, 12), 0.05), np.full((2, 1), 0.05), np.full(2, 0.05)
    bill = grid_bill(drawn, fed, Prices(("a",), fixed, energy, scheme, export, surplus, 11))
    assert bill.total.shape == (3, 2)
    for i, price in enumerate((0.1, 0.2, 0.3)):
        alone = flat(scheme, price=price, fixed=0.05, export=0.05, surplus=0.05, years=2)
        assert bill.total[i] == pytest.approx(grid_bill(drawn, fed, alone).total)


def test_components_add_up_to_the_total():
    drawn, fed = random_flows(10, 2, 12, 2)
    bill = grid_bill(drawn, fed, flat("net billing", fixed=9.0, export=0.05, years=2, periods=2))
    whole = bill.plus(Bill({"generator fuel": np.ones((2, 12))}))
    assert set(whole.components) <= set(COMPONENTS)
    assert whole.total == pytest.approx(sum(whole.yearly(name) for name in COMPONENTS))
    assert whole.total == pytest.approx(bill.total + 12)


def test_house_without_a_supplier_has_a_bill_of_nothing():
    assert Bill({}).total.tolist() == [0.0]
    assert Bill({}).monthly_total.tolist() == [[0.0] * 12]


# A plain reckoning, hour by hour, that shares nothing with the arrays but the tariff's own words.

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@lru_cache(maxsize=1)
def plain_clock():
    """(month, weekday, hour) on the wall for each hour of standard time; rules and calendar of 2029."""
    start = datetime(2029, 1, 1, 5, tzinfo=UTC)
    walls = [(start + timedelta(hours=k)).astimezone(ZoneInfo(ZONE)) for k in range(HOURS)]
    return [(wall.month, wall.weekday(), wall.hour) for wall in walls]


def named(first, last, count):
    """The places from first to last, round the end if need be."""
    return {(first + i) % count for i in range((last - first) % count + 1)}


@st.composite
def tariffs(draw):
    """A tariff as a file has it, and its periods as (months, days, hours, price) for the plain reckoning."""
    written, plain = [], []
    months = draw(st.tuples(st.integers(0, 11), st.integers(0, 11)))
    days = draw(st.tuples(st.integers(0, 6), st.integers(0, 6)))
    cuts = sorted(draw(st.sets(st.integers(1, 23), min_size=2, max_size=4)))
    price = st.integers(1, 60).map(lambda cents: cents / 100)
    for first, last in pairwise(cuts):
        each = draw(price)
        written.append(
            {
                "name": f"from {first}",
                "price": each,
                "months": f"{MONTHS[months[0]]}-{MONTHS[months[1]]}",
                "days": f"{DAYS[days[0]]}-{DAYS[days[1]]}",
                "hours": f"{first}-{last}",
            }
        )
        plain.append((named(*months, 12), named(*days, 7), set(range(first, last)), each))
    rest = draw(price)
    written.insert(draw(st.integers(0, len(written))), {"name": "rest", "price": rest})
    plain.append((set(range(12)), set(range(7)), set(range(24)), rest))
    scheme = draw(st.sampled_from(["none", "net billing", "net metering"]))
    export = {"scheme": scheme}
    if scheme == "net billing":
        export["price"] = draw(price)
    if scheme == "net metering":
        export |= {"true_up_month": draw(st.sampled_from(MONTHS)), "surplus_price": draw(price)}
    body = {
        "monthly_charge": draw(st.integers(0, 30)),
        "energy": written,
        "export": export,
        "rise": f"{draw(st.integers(-5, 9))}%",
        "fixed_rise": f"{draw(st.integers(-5, 9))}%",
        "export_rise": f"{draw(st.integers(-5, 9))}%",
    }
    return body, plain


def plain_bill(body, plain, drawn, fed):
    """What each month costs, by loops over hours, months and years."""
    rise, fixed_rise, export_rise = (
        float(body[name].rstrip("%")) / 100 for name in ("rise", "fixed_rise", "export_rise")
    )
    export, banks, costs = body["export"], [0.0] * len(plain), []
    years = len(drawn)
    for year in range(years):
        bought = [[0.0] * len(plain) for _ in range(12)]
        given_away = [[0.0] * len(plain) for _ in range(12)]
        for hour, (month, weekday, of_day) in enumerate(plain_clock()):
            for p, (months, days, hours, _) in enumerate(plain):
                if month - 1 in months and weekday in days and of_day in hours:
                    bought[month - 1][p] += drawn[year][hour]
                    given_away[month - 1][p] += fed[year][hour]
                    break
        for month in range(12):
            cost = body["monthly_charge"] * (1 + fixed_rise) ** year
            for p, (*_, price) in enumerate(plain):
                paid = price * (1 + rise) ** year
                if export["scheme"] != "net metering":
                    cost += bought[month][p] * paid
                    continue
                balance = bought[month][p] - given_away[month][p] - banks[p]
                banks[p] = max(0.0, -balance)
                cost += max(0.0, balance) * paid
            if export["scheme"] == "net billing":
                cost -= sum(given_away[month]) * export["price"] * (1 + export_rise) ** year
            last = year == years - 1 and month == 11
            if export["scheme"] == "net metering" and (last or MONTHS[month] == export["true_up_month"]):
                cost -= sum(banks) * export["surplus_price"] * (1 + export_rise) ** year
                banks = [0.0] * len(plain)
            costs.append(cost)
    return costs


# A counterexample is told as it was found: making it small would walk the hours for minutes.
@settings(max_examples=15, deadline=None, phases=(Phase.explicit, Phase.reuse, Phase.generate))
@given(tariffs(), st.integers(0, 2**32 - 1))
def test_any_tariff_equals_a_plain_reckoning_hour_by_hour(pair, seed):
    body, plain = pair
    years = 2
    rng = np.random.default_rng(seed)
    solar, load = 4.0 * rng.random((years, HOURS)) ** 2, rng.random((years, HOURS)) * 2.0
    tariff = Tariff.model_validate(body)
    clock = wall_clock(ZONE, OFFSET)
    flows = bin_flows(run_hours(solar, load), clock, period_of_hours(tariff, clock, PLACE), len(tariff.energy))
    bill = grid_bill(flows.imported, flows.exported, prices(tariff, years))
    drawn = [[max(0.0, u - s) for u, s in zip(*year, strict=True)] for year in zip(load, solar, strict=True)]
    fed = [[max(0.0, s - u) for u, s in zip(*year, strict=True)] for year in zip(load, solar, strict=True)]
    expected = plain_bill(body, plain, drawn, fed)
    assert bill.monthly_total.ravel().tolist() == pytest.approx(expected, abs=1e-6)
