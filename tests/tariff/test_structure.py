"""Whole tariffs, from their words to the bill: identities, published rows, and the oracle's books beside the arrays.

Known is how we know a source: "seen" where its page was read, "own" where the exercise is ours. The same rows stand on
the kernels in `published/test_tariff_checks`; here the tariff is written as a scenario has it.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import closed_form as cf1
import numpy as np
import oracle_bills
import pytest
from generated_scenarios import in_yaml
from generated_tariffs import tariffs
from house_runs import run_hours
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from finsolar.energy.battery import Battery, split_evenly
from finsolar.energy.clock import wall_clock
from finsolar.energy.flows import bin_flows
from finsolar.scenario.numbers import settled
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Place, Tariff
from finsolar.tariff.bills import Bill, bill_of_years, grid_bill, joined
from finsolar.tariff.hours import peaks_of, period_of_hours
from finsolar.tariff.prices import YEAR, Calendar, prices, regimes, year_from

DAY_AND_NIGHT = [{"name": "day", "price": 0.2, "hours": "6-22"}, {"name": "night", "price": 0.2}]
PLACES = {
    "Toronto": Place(country="CA", region="ON", latitude=43.7, longitude=-79.4, timezone="America/Toronto"),
    "Phoenix": Place(country="US", region="AZ", latitude=33.4, longitude=-112.1, timezone="America/Phoenix"),
}


def tariff(energy: Any = 0.2, **words: Any) -> Tariff:
    """A tariff as a scenario has it, at prices that do not rise."""
    return Tariff.model_validate({"energy": energy, "rise": 0.0} | words)


def billed(
    said: Tariff, drawn: Any, fed: Any = 0.0, peak: Any = None, made: Any = None, calendar: Calendar = YEAR
) -> Bill:
    """The bill of some years, (years, bills, periods) kWh; one list is the bills of one year with one period."""
    kwh = [np.asarray(flow, dtype=np.float64) for flow in (drawn, fed)]
    kwh = [flow[None, :, None] if flow.ndim == 1 else flow for flow in kwh]
    kwh = [np.broadcast_to(flow, kwh[0].shape) for flow in kwh]
    return grid_bill(kwh[0], kwh[1], prices(said, kwh[0].shape[0], calendar=calendar), peak, made)


def random_flows(seed: int, *shape: int) -> tuple[np.ndarray, np.ndarray]:
    """Two arrays of monthly kWh, some months without any."""
    rng = np.random.default_rng(seed)
    drawn, fed = (rng.uniform(0, 900, shape) * (rng.random(shape) > 0.2) for _ in range(2))
    return drawn, fed


def sold(price: float, **words: Any) -> dict[str, Any]:
    """Net billing at a price."""
    return {"scheme": "net billing", "price": price} | words


# --- identities ---

WORDS: list[dict[str, Any]] = [
    {},
    {"monthly_charge": 9.0, "daily_charge": 0.3, "minimum_bill": 40.0, "export": sold(0.05)},
    {"tiers": [{"steps": [{"up_to": 300}, {"adds": 0.07}]}], "export": sold(0.3, credits_pay="energy", pay_out="40%")},
    {
        "riders": [{"item": "a", "per_kwh": 0.01}, {"item": "b", "share": "-3%", "on": ["energy"]}],
        "taxes": [{"item": "c", "share": "7%"}],
        "export": {"scheme": "net metering", "bank": "money", "true_up_month": "mar"},
    },
]


@pytest.mark.parametrize("words", WORDS, ids=["plain", "minimum", "tiers and credits", "riders, taxes, money bank"])
def test_a_flat_tariff_equals_any_time_of_use_of_equal_prices(words: dict[str, Any]) -> None:
    drawn, fed = random_flows(1, 2, 12, 2)
    apart = billed(tariff(DAY_AND_NIGHT, **words), drawn, fed)
    together = billed(tariff(**words), drawn.sum(axis=-1, keepdims=True), fed.sum(axis=-1, keepdims=True))
    assert list(apart.components) == list(together.components)
    for name, amount in together.components.items():
        assert apart.components[name] == pytest.approx(amount), name


def test_net_billing_at_the_retail_price_equals_net_metering_that_never_carries_over() -> None:
    """Without a battery each month draws more in each period than it feeds in."""
    two = [{"name": "day", "price": 0.31, "hours": "6-22"}, {"name": "night", "price": 0.12}]
    drawn, fed = random_flows(2, 3, 12, 2)
    drawn = drawn + fed
    each = [{"period": one["name"], "price": one["price"]} for one in two]
    money = billed(tariff(two, monthly_charge=8.0, export=sold(0.0) | {"price": each}), drawn, fed)
    kwh = billed(tariff(two, monthly_charge=8.0, export={"scheme": "net metering"}), drawn, fed)
    assert money.monthly_total == pytest.approx(kwh.monthly_total)
    yearly = billed(tariff(two, monthly_charge=8.0, export={"scheme": "net metering", "bank": "money"}), drawn, fed)
    assert yearly.total == pytest.approx(kwh.total)
    # Fed in at noon and drawn at night, the two part: kWh stay in their period, money does not.
    fed[:, :, 0] += 2000.0
    assert not np.allclose(billed(tariff(two, export={"scheme": "net metering"}), drawn, fed).total, money.total)


def test_steps_that_add_nothing_or_the_same_are_a_flat_price() -> None:
    drawn, _ = random_flows(3, 2, 12, 1)
    flat = billed(tariff(0.25), drawn).total
    none = tariff(0.25, tiers=[{"steps": [{"up_to": 100}, {"adds": 0.0}]}])
    assert billed(none, drawn).total == pytest.approx(flat)
    for words in ({}, {"per": "day"}):
        same = tariff(0.2, tiers=[{"steps": [{"up_to": 9, "adds": 0.05}, {"adds": 0.05}]} | words])
        assert billed(same, drawn).total == pytest.approx(flat)


def test_a_step_that_no_month_reaches_adds_nothing() -> None:
    drawn, _ = random_flows(4, 1, 12, 1)
    high = tariff(tiers=[{"steps": [{"up_to": 900}, {"adds": 9.0}]}])
    assert not billed(high, drawn).yearly("tiers").any()


def test_tiers_of_one_period_leave_the_others_alone() -> None:
    drawn = np.full((1, 12, 2), 500.0)
    one = tariff(DAY_AND_NIGHT, tiers=[{"of": ["night"], "steps": [{"up_to": 400}, {"adds": 0.1}]}])
    assert billed(one, drawn).components["tiers"] == pytest.approx(np.full((1, 12), 10.0))
    both = tariff(DAY_AND_NIGHT, tiers=[{"steps": [{"up_to": 400}, {"adds": 0.1}]}])
    assert billed(both, drawn).components["tiers"] == pytest.approx(np.full((1, 12), 60.0))


def test_a_baseline_of_the_day_equals_steps_by_the_day() -> None:
    drawn, _ = random_flows(5, 2, 12, 1)
    share = {"baseline": [{"kwh_a_day": 8}], "steps": [{"of_baseline": "150%"}, {"adds": 0.1}]}
    by_day = {"per": "day", "steps": [{"up_to": 12}, {"adds": 0.1}]}
    found = [billed(tariff(tiers=[way]), drawn).components["tiers"] for way in (share, by_day)]
    assert found[0] == pytest.approx(found[1])
    assert found[0].any()


def test_tiers_of_a_season_need_an_allowance_in_their_own_months_alone() -> None:
    """June has 30 x 9 kWh of allowance; of 400 kWh 130 lie beyond it. No other season has tiers."""
    summer = {"months": "jun-sep", "baseline": [{"months": "jun-sep", "kwh_a_day": 9}],
              "steps": [{"of_baseline": "100%"}, {"adds": 0.1}]}  # fmt: skip
    found = billed(tariff(tiers=[summer]), np.full(12, 400.0)).components["tiers"][0]
    assert found[[4, 5, 6, 9]].tolist() == pytest.approx([0.0, 13.0, (400 - 31 * 9) * 0.1, 0.0])


def test_a_ratchet_of_nothing_bills_the_peak() -> None:
    drawn, peak = np.zeros((2, 12, 1)), np.random.default_rng(6).uniform(0, 9, (2, 12, 1))
    window = {"name": "any", "price": 4.0}
    for words in ({}, {"ratchet": 0.0}, {"ratchet": "0%", "ratchet_months": 36}):
        found = billed(tariff(demand=[window | words]), drawn, peak=peak)
        assert found.components["demand"] == pytest.approx(4.0 * peak[..., 0])
    kept = billed(tariff(demand=[window | {"ratchet": "100%", "ratchet_months": 36}]), drawn, peak=peak)
    highest = np.maximum.accumulate(peak.ravel()).reshape(2, 12)
    assert kept.components["demand"] == pytest.approx(4.0 * highest)


def test_a_minimum_of_nothing_takes_no_credit_away() -> None:
    drawn, fed = np.full(12, 10.0), np.full(12, 100.0)
    plain, none, some = (
        billed(tariff(export=sold(0.15), **words), drawn, fed)
        for words in ({}, {"minimum_bill": 0.0}, {"minimum_bill": 0.01})
    )
    assert plain.total.tolist() == none.total.tolist() == pytest.approx([-156.0])
    assert some.total.tolist() == pytest.approx([0.12])
    column = tariff(export=sold(0.15)).model_copy(update={"minimum_bill": np.array([[0.0], [0.01]])})
    assert billed(column, drawn, fed).total[:, 0].tolist() == pytest.approx([-156.0, 0.12])


def test_a_charge_by_the_day_is_365_of_them() -> None:
    found = billed(tariff(daily_charge=0.4), np.zeros(12))
    assert found.components["fixed charge"][0, :3].tolist() == pytest.approx([12.4, 11.2, 12.4])
    assert found.yearly("fixed charge")[0] == pytest.approx(146.0)


def test_a_charge_by_the_size_of_the_array() -> None:
    said = tariff(monthly_charge=5.0, charge_per_kw=1.5, fixed_rise="10%")
    assert prices(said, 2, array_kw=4.0).fixed[:, 0] == pytest.approx([11.0, 12.1])


def test_parts_of_a_bill_follow_one_another() -> None:
    """Riders on what is billed, the minimum on both and the credit, taxes on all but the credit; by hand."""
    said = tariff(
        0.2,
        monthly_charge=10.0,
        demand=[{"name": "any", "price": 2.0}],
        riders=[
            {"item": "fuel", "per_kwh": 0.01},
            {"item": "fund", "share": "10%", "on": ["energy", "demand"]},
            {"item": "winter", "share": "50%", "months": "jan"},
        ],
        minimum_bill=40.0,
        taxes=[{"item": "sales", "share": "10%"}, {"item": "on demand", "share": "5%", "on": ["demand"]}],
        export=sold(0.3),
    )
    found = billed(said, np.full(12, 100.0), np.full(12, 50.0), peak=np.full((1, 12, 1), 3.0)).components
    # 10 fixed, 20 energy, 6 demand; riders 1 + 2.6, in January 18 more; credit 15; 24.6 is lifted to 40.
    expected = {
        "fixed charge": [10.0, 10.0],
        "energy": [20.0, 20.0],
        "demand": [6.0, 6.0],
        "riders": [21.6, 3.6],
        "minimum": [0.0, 15.4],
        "taxes": [5.76 + 0.3, 5.5 + 0.3],
        "export credit": [-15.0, -15.0],
    }
    assert {name: amount[0, :2].tolist() for name, amount in found.items()} == {
        name: pytest.approx(amount) for name, amount in expected.items()
    }


def test_parts_of_a_bill_settled_in_money_once_a_year() -> None:
    """Riders by the kWh drawn, minimums that count at the true-up, shares of energy and taxes then; by hand."""
    said = tariff(
        0.2,
        monthly_charge=3.0,
        tiers=[{"steps": [{"up_to": 50}, {"adds": 0.02}]}],
        riders=[{"item": "fuel", "per_kwh": 0.01}, {"item": "fund", "share": "10%", "on": ["energy", "tiers"]}],
        minimum_bill=10.0,
        taxes=[{"item": "sales", "share": "10%"}],
        export={"scheme": "net metering", "bank": "money", "true_up_month": "mar"},
    )
    found = billed(said, np.full(12, 100.0), np.full(12, 40.0)).components
    # A month's 60 kWh come to 12 and 10 x 0.02 for the step: 12.2; the rider to 1; 4 is lifted to 10.
    # Three months and nine are due, 12.2 - 6 each; of them the other rider and the tax.
    expected = {
        "fixed charge": [3.0] * 3,
        "riders": [1.0, 1.0 + 1.86, 1.0 + 5.58],
        "minimum": [6.0] * 3,
        "true-up": [0.0, 18.6, 55.8],
        "taxes": [1.0, 1.0 + 1.86 + 0.186, 1.0 + 5.58 + 0.558],
    }
    assert {name: amount[0, [0, 2, 11]].tolist() for name, amount in found.items()} == {
        name: pytest.approx(amount) for name, amount in expected.items()
    }


def test_a_share_of_energy_settled_in_money_pays_nobody() -> None:
    """More is fed in than drawn: nothing is due at the true-up, and a share of nothing is nothing."""
    said = tariff(
        monthly_charge=3.0,
        riders=[{"item": "fund", "share": "10%", "on": ["energy"]}],
        export={"scheme": "net metering", "bank": "money"},
    )
    found = billed(said, np.full(12, 100.0), np.full(12, 150.0))
    assert found.yearly("riders").tolist() == [0.0]
    assert found.total.tolist() == [36.0]


def test_steps_go_by_what_is_drawn_beyond_what_is_fed_in_where_money_is_settled() -> None:
    said = tariff(tiers=[{"steps": [{"up_to": 50}, {"adds": 0.1}]}], export={"scheme": "net metering", "bank": "money"})
    drawn, fed = np.full(12, 100.0), np.array([150.0] * 6 + [20.0] * 6)
    # Six months feed in 50 more than they draw, six draw 80 more: 180 kWh at 0.20, and 30 in six months at 0.10.
    assert billed(said, drawn, fed).total[0] == pytest.approx(180 * 0.2 + 6 * 30 * 0.1)


def test_a_minimum_takes_nothing_of_what_a_true_up_pays() -> None:
    """Credits of 60 a month, of which 20 pay for energy and 40 wait; 10 of charges are lifted to 15; by hand."""
    drawn, fed = np.full(12, 100.0), np.full(12, 200.0)
    export = sold(0.3, credits_pay="energy", pay_out="100%", true_up_month="dec")
    found = billed(tariff(monthly_charge=10.0, minimum_bill=15.0, export=export), drawn, fed)
    assert found.components["minimum"][0].tolist() == pytest.approx([5.0] * 12)
    assert found.monthly_total[0].tolist() == pytest.approx([15.0] * 11 + [15.0 - 480.0])
    # A bank of 100 kWh a month, paid 0.05 each in May and at the end of the study.
    export = {"scheme": "net metering", "surplus_price": 0.05, "true_up_month": "may"}
    found = billed(tariff(monthly_charge=10.0, minimum_bill=20.0, export=export), drawn, fed)
    assert found.components["minimum"][0].tolist() == pytest.approx([10.0] * 12)
    assert found.monthly_total[0, [3, 4, 11]].tolist() == pytest.approx([20.0, 20.0 - 25.0, 20.0 - 35.0])


def test_credits_for_energy_are_all_paid_where_nothing_is_lost() -> None:
    drawn, fed = random_flows(7, 2, 12, 1)
    kept = billed(tariff(monthly_charge=7.0, export=sold(0.3, credits_pay="energy", pay_out="100%")), drawn, fed)
    everything = billed(tariff(monthly_charge=7.0, export=sold(0.3)), drawn, fed)
    assert kept.total.sum() == pytest.approx(everything.total.sum())
    lost = billed(tariff(monthly_charge=7.0, export=sold(0.3, credits_pay="energy")), drawn, fed)
    assert lost.total.sum() > kept.total.sum()
    assert lost.monthly_total.min() >= 7.0 - 1e-9


def test_production_is_paid_for_its_years_at_a_price_that_stands() -> None:
    said = tariff(production_price=0.1, production_years=2, rise="5%")
    found = billed(said, np.zeros((3, 12, 1)), made=np.full((3, 12), 50.0))
    assert found.yearly("production payment") == pytest.approx([-60.0, -60.0, 0.0])


def test_a_share_of_what_a_bill_has_not_is_nothing_in_every_month() -> None:
    said = tariff(
        riders=[{"item": "a", "share": "5%", "on": ["demand"]}], taxes=[{"item": "b", "share": "5%", "on": ["tiers"]}]
    )
    for words in ({}, {"export": {"scheme": "net metering", "bank": "money"}}):
        found = billed(Tariff.model_validate(said.model_dump(exclude_unset=True) | words), np.full((2, 12, 1), 9.0))
        assert found.components["taxes"].tolist() == found.components["riders"].tolist() == [[0.0] * 12] * 2


# --- tariffs that come later ---


def scenario_of(words: dict[str, Any], years: int) -> Any:
    """A scenario read with that tariff."""
    house = {
        "title": "A house for its tariff",
        "place": {"country": "US", "latitude": 36.1, "longitude": -79.95, "timezone": "America/New_York"},
        "study": {"in_service": date(2026, 1, 1), "years": years, "discount_rate": "4%"},
        "household": {"load": {"monthly_kwh": [500] * 12, "shape": "evening"}},
        "weather": "greensboro",
        "system": {"arrays": [{"kw": 3, "tilt": 20, "azimuth": 180}], "inverter": {"kw": 3}},
        "costs": [{"item": "All", "category": "other", "cost": 5000}],
    }
    return from_text(in_yaml(house | {"tariff": words}))


def test_a_later_tariff_has_risen_as_the_others_and_has_what_it_does_not_say() -> None:
    words = {"energy": 0.2, "monthly_charge": 6, "rise": "10%", "later": [{"from_year": 3, "energy": 0.3}]}
    first, then = regimes(scenario_of(words, 4).tariff, 4)
    assert (first[0], then[0]) == (slice(0, 2), slice(2, 4))
    found = [prices(said, 4, part=part) for part, said in (first, then)]
    assert found[0].energy[:, 0] == pytest.approx([0.2, 0.22])
    assert found[1].energy[:, 0] == pytest.approx([0.3 * 1.21, 0.3 * 1.331])
    assert found[1].fixed[:, 0] == pytest.approx([6 * 1.21, 6 * 1.331])


# A counterexample is told as it was found: it is short, since numbers are drawn with few digits.
@settings(
    max_examples=60,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.too_slow],
)
@given(tariffs(holidays=False), st.integers(1, 5), st.integers(0, 2**32 - 1), st.sampled_from((0.2, 1.0, 5.0)))
def test_any_tariff_equals_books_kept_month_by_month(words: dict[str, Any], years: int, seed: int, sun: float) -> None:
    """Source: `oracle_bills`, our own second reckoning; flows by lot, ``sun`` what is fed in over what is drawn."""
    scenario = scenario_of(words, years)
    rng = np.random.default_rng(seed)
    bills, bought, sold_kwh, made, highest, before = [], [], [], [], [], {}
    begins = seed % 12
    for part, said in regimes(settled(scenario).tariff, years):
        shape = (part.stop - part.start, 12, len(said.energy))
        drawn, fed = (rng.uniform(0, 700, shape) * (rng.random(shape) > 0.2) for _ in range(2))
        peak, solar = rng.uniform(0, 9, (*shape[:2], len(said.demand))), rng.uniform(0, 900, shape[:2])
        asked = prices(said, years, 3.5, year_from(begins), part)
        earlier = rng.uniform(0, 9, (12, len(said.demand)))
        before[part.start] = earlier.tolist()
        bills.append(bill_of_years(begins, drawn, sun * fed, asked, peak, solar, None, earlier))
        for rows, flow in ((bought, drawn), (sold_kwh, sun * fed), (highest, peak), (made, solar)):
            rows += flow.tolist()
    found = joined(bills).components
    by_year = oracle_bills.sheets(scenario.tariff, years)
    wanted = oracle_bills.grid_bill(by_year, bought, sold_kwh, made, highest, 3.5, None, begins, before)
    assert set(found) == set(wanted)
    for name, amount in wanted.items():
        assert found[name].shape == (years, 12), name
        assert found[name] == pytest.approx(np.array(amount), abs=1e-7), name


# --- published rows ---

ONTARIO = [
    {"name": "mid-peak", "price": 0.102, "days": "mon-fri", "hours": "11-17"},
    {"name": "on-peak", "price": 0.151, "days": "mon-fri", "hours": "7-11, 17-19"},
    {"name": "off-peak", "price": 0.074},
]
"""Ontario Energy Board, winter from 2022-11-01, as printed by a local distributor; known: seen."""


def january(said: Tariff, days: list[int]) -> float:
    """What one kWh in every hour of some days of January costs in Toronto, days from 0, a Monday and New Year's Day."""
    clock = wall_clock("America/Toronto", -5)
    load = np.zeros((1, 365, 24))
    load[0, days] = 1.0
    hourly = run_hours(np.zeros((1, 8760)), load.reshape(1, 8760))
    flows = bin_flows(hourly, clock, period_of_hours(said, clock, PLACES["Toronto"]), 3)
    return float(billed(said, flows.imported).total[0])


@pytest.mark.parametrize(("day", "cost"), [(16, 2.406), (19, 1.776)], ids=["T-01 Wednesday", "T-01 Saturday"])
def test_t01_winter_day(day: int, cost: float) -> None:
    assert january(tariff(ONTARIO), [day]) == pytest.approx(cost, abs=1e-6)


def test_t02_winter_month_of_22_working_days() -> None:
    """Same source; known: seen. January of the study's calendar has 23 weekdays, and New Year's Day is one of them.

    So it comes to what the row gives for 22 working days, 68.916; unheeded, the holiday costs 0.63 more.
    """
    whole = list(range(31))
    assert january(tariff(ONTARIO, holidays={}), whole) == pytest.approx(68.916, abs=1e-6)
    assert january(tariff(ONTARIO), whole) == pytest.approx(68.916 + 2.406 - 1.776, abs=1e-6)
    assert january(tariff(ONTARIO, holidays={"names": ["Christmas Day"]}), whole) == pytest.approx(69.546, abs=1e-6)
    assert january(tariff(ONTARIO, holidays={"count_as": "wed"}), whole) == pytest.approx(69.546, abs=1e-6)


def test_t02_hours_of_january_2023() -> None:
    """Same source; known: seen. 126 mid, 126 on and 492 off-peak hours of one kWh."""
    drawn = np.zeros((1, 12, 3))
    drawn[0, 0] = [126.0, 126.0, 492.0]
    assert billed(tariff(ONTARIO), drawn).total[0] == pytest.approx(68.286, abs=1e-6)


# T-03, T-18. Source: Ontario Energy Board tiered prices, winter 2022, as printed by a local distributor; known: seen.
@pytest.mark.parametrize(
    ("kwh", "end", "cost"),
    [(1450.0, 1000, 133.35), (1450.0, 600, 139.75), (1000.0, 1000, 87.0), (1000.5, 1000, 87.0515)],
    ids=["T-03 winter", "T-03 summer threshold", "T-18 at the end", "T-18 beyond"],
)
def test_t03_t18_tiers_of_a_month(kwh: float, end: int, cost: float) -> None:
    said = tariff(0.087, tiers=[{"steps": [{"up_to": end}, {"adds": 0.016}]}])
    assert billed(said, np.full(12, kwh)).monthly_total[0].tolist() == pytest.approx([cost] * 12, abs=1e-6)


RATE_D = {
    "energy": 0.0568,
    "daily_charge": 0.4064,
    "tiers": [{"per": "day", "steps": [{"up_to": 30}, {"adds": 0.0292}]}],
}
"""Hydro-Quebec, rate D of April 2015 on the utility's rate page, where blocks by the period are stated; known: seen."""


@pytest.mark.parametrize(
    ("kwh", "days", "cost"),
    [([2500.0], [62.0], 185.8848), ([1050.0], [30.0], 76.212), ([500.0, 2000.0], [31.0, 31.0], 198.4408)],
    ids=["T-04", "T-05", "T-19"],
)
def test_t04_t05_t19_blocks_grow_with_the_days(kwh: list[float], days: list[float], cost: float) -> None:
    spans = Calendar(month=np.arange(len(kwh)), days=np.array(days), months=np.array(days) / 30.5)
    assert billed(tariff(**RATE_D), kwh, calendar=spans).total[0] == pytest.approx(cost, abs=1e-6)


def test_t09_demand_charge() -> None:
    """Window and price a kW: an Arizona utility's page, approximate; known: seen. House ours: 126.00."""
    window = {"months": "may-oct", "days": "mon-fri", "hours": "12-19"}
    said = tariff(
        [{"name": "on-peak", "price": 0.24} | window, {"name": "rest", "price": 0.10}],
        monthly_charge=15.0,
        demand=[{"name": "on-peak", "price": 13.5} | window],
    )
    clock = wall_clock("America/Phoenix", -7.0)
    period = period_of_hours(said, clock, PLACES["Phoenix"])
    july = clock.month == 6
    load = np.zeros((1, 8760))
    for price_period, kwh, highest in ((0, 45.0, 5.2), (1, 300.0, 7.9)):
        hours = np.flatnonzero(july & (period == price_period))
        load[0, hours] = (kwh - highest) / (len(hours) - 1)
        load[0, hours[0] if price_period == 0 else hours[clock.weekday[hours] == 5][12]] = highest
    hourly = run_hours(np.zeros((1, 8760)), load)
    peak = peaks_of(said, hourly.imported, clock, PLACES["Phoenix"])
    found = billed(said, bin_flows(hourly, clock, period, 2).imported, peak=peak)
    assert found.monthly_total[0, 6] == pytest.approx(126.0, abs=1e-6)


def test_t11_minimum_bill_is_the_greater_of_both() -> None:
    """Source: a net-metering leaflet of Hawaiian Electric; known: seen. Numbers ours."""
    said = tariff(0.30, monthly_charge=11.5, minimum_bill=25.0, export=sold(0.30))
    net = np.array([0.0, 20.0, 60.0, -40.0] * 3)
    found = billed(said, np.maximum(net, 0.0), np.maximum(-net, 0.0)).monthly_total
    assert found[0].tolist() == pytest.approx([25.0, 25.0, 29.5, 25.0] * 3)


def test_t12_settled_once_a_year() -> None:
    """Source: true-up page of Pacific Gas & Electric; known: seen. Numbers ours; 10.00 paid each month."""
    energy = np.array([12.4, -8.15, -31.2, -55.05, -62.3, -58.75, -49.1, -30.0, -4.25, 22.8, 61.35, 70.1])
    said = tariff(1.0, minimum_bill=10.0, export={"scheme": "net metering", "bank": "money"})
    found = billed(said, np.maximum(energy, 0.0), np.maximum(-energy, 0.0))
    assert found.monthly_total[0].tolist() == pytest.approx([10.0] * 12)
    # Twice as much drawn leaves 34.50 of energy: less than the 120 paid, so that nothing is due; thrice, 201.15.
    assert billed(said, 2 * np.maximum(energy, 0.0), np.maximum(-energy, 0.0)).total[0] == pytest.approx(120.0)
    assert billed(said, 3 * np.maximum(energy, 0.0), np.maximum(-energy, 0.0)).total[0] == pytest.approx(201.15)


CF1 = [
    {"name": cf1.PERIODS[0], "months": "jun-sep", "hours": "16-21"},
    {"name": cf1.PERIODS[1], "months": "oct-may", "hours": "16-21"},
    {"name": cf1.PERIODS[2], "hours": "0-6"},
    {"name": cf1.PERIODS[3], "months": "jun-sep", "hours": "6-16, 21-24"},
    {"name": cf1.PERIODS[4]},
]
"""The price periods of our own closed-form year, as a scenario would write them."""


def cf1_bill(kw: float, battery: Battery | None = None, **words: Any) -> Bill:
    """The bill of the closed-form year at its own prices."""
    energy = [one | {"price": float(price)} for one, price in zip(CF1, cf1.PERIOD_PRICES, strict=True)]
    said, clock = tariff(energy, **words), wall_clock(None, 0.0)
    hourly = run_hours(cf1.pv(kw)[None], cf1.load(1.0)[None], battery=battery)
    flows = bin_flows(hourly, clock, period_of_hours(said, clock, PLACES["Phoenix"]), len(CF1))
    return billed(said, flows.imported, flows.exported, peaks_of(said, hourly.imported, clock, PLACES["Phoenix"]))


def greedy_battery() -> Battery:
    """10 kWh, 5 kW, 90 % there and back, 10 % kept."""
    one_way = split_evenly(0.9)
    return Battery(np.array([10.0]), 0.1, 5.0, 5.0, one_way, one_way)


def test_t15_net_metering_at_retail_prices() -> None:
    """Source: our own exercise on CF1, no battery, its prices both ways; known: own."""
    found = cf1_bill(6.0, export={"scheme": "net metering", "bank": "money"})
    assert found.monthly_total[0].tolist() == pytest.approx([0.0] * 11 + [11.8037], abs=1e-3)


def test_b14_bills_of_the_closed_form_year() -> None:
    """Source: our own exercise CF1; known: own."""
    export = sold(cf1.EXPORT_PRICE)
    found = [
        float(cf1_bill(kw, battery, export=export).total[0])
        for kw, battery in ((0.0, None), (6.0, None), (6.0, greedy_battery()))
    ]
    assert found == pytest.approx([2471.6937, 1215.8111, 380.4454], abs=1e-3)


def test_b15_demand_of_working_evenings() -> None:
    """Source: our own exercise CF1; known: own. Sums of twelve monthly peaks, at one unit of money a kW."""
    window = {"name": "evenings", "price": 1.0, "days": "mon-fri", "hours": "16-21"}
    for battery, whole in ((None, 23.3438), (greedy_battery(), 14.1968)):
        demand = cf1_bill(6.0, battery, demand=[window]).components["demand"]
        assert demand.sum() == pytest.approx(whole, abs=1e-3)
        assert demand[0, 0] == pytest.approx(2.1804, abs=1e-3)


def test_t03_thresholds_of_two_seasons_stand_on_one_sheet() -> None:
    """Source: Ontario Energy Board tiers, winter to 1,000 kWh and summer to 600, 8.7 then 10.3 cents; known: seen."""
    seasons = [("nov-apr", 1000), ("may-oct", 600)]
    tiers = [{"months": months, "steps": [{"up_to": end}, {"adds": 0.016}]} for months, end in seasons]
    sheet = Tariff.model_validate({"energy": 0.087, "rise": 0.0, "tiers": tiers})
    drawn = np.full((1, 12, 1), 1450.0)
    monthly = grid_bill(drawn, np.zeros_like(drawn), prices(sheet, 1)).monthly_total[0]
    assert monthly[[0, 11]] == pytest.approx(133.35, abs=0.005)
    assert monthly[[4, 9]] == pytest.approx(139.75, abs=0.005)
