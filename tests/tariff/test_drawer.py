"""Past bills worked out again: by hand, and by a plain walk over the hours of their own days."""

from __future__ import annotations

import json
from collections import defaultdict
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import meter_samples
import pytest
from small_house import HOUSE, changed, house

from finsolar.energy.house import Site, site_of
from finsolar.scenario.numbers import settled
from finsolar.scenario.reading import from_text
from finsolar.scenario.schema import Scenario
from finsolar.tariff.drawer import Drawer, Rebilled, drawer

NEW_YORK = ZoneInfo("America/New_York")

FREE = {date(2018, 7, 4), date(2018, 9, 3), date(2018, 11, 22), date(2018, 12, 25), date(2023, 12, 25),
        date(2024, 1, 1), date(2024, 7, 4), date(2024, 9, 2), date(2024, 11, 28), date(2024, 12, 25)}  # fmt: skip
"""Independence, Labor, Thanksgiving, Christmas and New Year's Days that the bills below meet; a wall calendar."""

NAMES = [
    "independence day",
    "Labor Day",
    "Thanksgiving Day",
    "Christmas Day",
    "New Year\N{RIGHT SINGLE QUOTATION MARK}s Day",
]

WEEK = {
    "energy": [
        {"name": "peak", "price": 0.41, "months": "jun-sep", "days": "mon-fri", "hours": "15-19"},
        {"name": "night", "price": 0.07, "hours": "23-6"},
        {"name": "rest", "price": 0.16},
    ],
    "holidays": {"count_as": "sun", "names": NAMES},
}
"""A tariff by the clock, whose holidays are priced like a Sunday."""


def bill(first: str, last: str, kwh: float, amount: float = 100.0, **more: float) -> dict[str, Any]:
    """One past bill as it stands in a scenario."""
    return {"first_day": first, "last_day": last, "kwh": kwh, "amount": amount, **more}


def scenario(
    tariff: dict[str, Any], bills: tuple[dict[str, Any], ...], folder: Path | None = None, **more: Any
) -> Scenario:
    """The small house with past bills and a tariff of 0.12 a kWh without export, or what ``tariff`` says instead."""
    tree = changed(HOUSE, {"household": {"past_bills": list(bills), **more}})
    tree["tariff"] = {"energy": 0.12, "rise": "2%", **tariff}
    return from_text(json.dumps(tree), "house.yaml", folder)


@lru_cache
def average_site() -> Site:
    """The small house, whose load is twelve months and a shape."""
    return site_of(settled(house()))


def rebilled(tariff: dict[str, Any], *bills: dict[str, Any]) -> Drawer:
    """The bills of the small house, their hours those of average weeks."""
    found = drawer(settled(scenario(tariff, bills)), average_site())
    assert found is not None
    return found


def only(found: Drawer) -> Rebilled:
    """The one bill of a drawer."""
    (each,) = found.bills
    return each


def in_words(each: Rebilled) -> dict[str, str]:
    """The lines of a bill as they are printed."""
    return {name: str(amount) for name, amount in each.lines}


def hours_of(first: date, last: date) -> list[datetime]:
    """Every hour of a bill as the wall clock of the house names it, the hour of a clock change twice or never."""
    at = datetime.combine(first, time(), NEW_YORK).astimezone(UTC)
    end = datetime.combine(last + timedelta(days=1), time(), NEW_YORK).astimezone(UTC)
    found = []
    while at < end:
        found.append(at.astimezone(NEW_YORK))
        at += timedelta(hours=1)
    return found


def period_of(hour: datetime) -> str:
    """The price period of `WEEK` that holds in an hour."""
    sunday = hour.weekday() == 6 or hour.date() in FREE
    if hour.month in (6, 7, 8, 9) and not sunday and hour.weekday() < 5 and 15 <= hour.hour < 19:
        return "peak"
    return "night" if hour.hour >= 23 or hour.hour < 6 else "rest"


def spread(kwh: float, hours: list[datetime], weights: list[float]) -> dict[str, float]:
    """The kWh of a bill by price period, in the proportion of some weights."""
    found: dict[str, float] = defaultdict(float)
    for hour, weight in zip(hours, weights, strict=True):
        found[period_of(hour)] += kwh * weight / sum(weights)
    return found


def average_weights(hours: list[datetime]) -> list[float]:
    """The load of the small house in the average week of each hour's month."""
    site = average_site()
    sums: dict[tuple[int, int, int], list[float]] = defaultdict(list)
    for month, day, hour, kwh in zip(
        site.clock.month, site.clock.weekday, site.clock.hour, site.usage.base, strict=True
    ):
        sums[int(month), int(day), int(hour)].append(float(kwh))
    cells = [sums[hour.month - 1, hour.weekday(), hour.hour] for hour in hours]
    return [sum(cell) / len(cell) for cell in cells]


def test_a_bill_of_one_price_by_hand() -> None:
    """15 + 30 x 0.40; 850 x 0.12; 850 x 0.0051 = 4.335; 3 % of 133.335 = 4.00005."""
    tariff = {
        "monthly_charge": 15,
        "daily_charge": 0.4,
        "riders": [{"item": "Fuel clause", "per_kwh": 0.0051}],
        "taxes": [{"item": "Tax", "share": "3%"}],
    }

    each = only(rebilled(tariff, bill("2024-04-01", "2024-04-30", 850, 140.0)))

    assert in_words(each) == {
        "fixed charge": "27.00", "energy, all hours": "102.00", "riders": "4.34", "taxes": "4.00"
    }  # fmt: skip
    assert (each.days, each.computed, each.difference) == (30, Decimal("137.34"), Decimal("-2.66"))
    assert (each.by_meter, each.metered_kwh) == (False, None)


def test_the_total_is_the_sum_of_the_lines_as_printed() -> None:
    """T-16: each line is 10.005, 10.005 and 0.005; as printed they come to 20.03, unrounded to 20.015."""
    tariff = {"monthly_charge": 10.005, "energy": 0.10005, "riders": [{"item": "Fund", "per_kwh": 0.00005}]}

    each = only(rebilled(tariff, bill("2024-04-01", "2024-04-30", 100)))

    assert in_words(each) == {"fixed charge": "10.01", "energy, all hours": "10.01", "riders": "0.01"}
    assert each.computed == Decimal("20.03") == sum(amount for _, amount in each.lines)


@pytest.mark.parametrize(
    ("first", "last", "days", "months"),
    [
        ("2024-04-01", "2024-05-31", 61, 61 * 12 / 365),
        ("2024-04-01", "2024-04-20", 20, 20 * 12 / 365),
        ("2024-04-01", "2024-04-24", 24, 24 * 12 / 365),
        ("2024-04-01", "2024-04-25", 25, 1.0),
        ("2024-04-01", "2024-05-05", 35, 1.0),
        ("2024-04-01", "2024-05-06", 36, 36 * 12 / 365),
        ("2024-02-01", "2024-02-29", 29, 1.0),
    ],
)
def test_a_bill_that_is_no_month_bears_its_share_of_the_monthly_charge(
    first: str, last: str, days: int, months: float
) -> None:
    """And of a tier's end and of the minimum; a charge by the day goes by the days in any case."""
    tariff = {
        "monthly_charge": 15,
        "daily_charge": 0.1,
        "minimum_bill": 400,
        "tiers": [{"steps": [{"up_to": 500}, {"adds": 0.05}]}],
    }

    each = only(rebilled(tariff, bill(first, last, 1200)))

    fixed, tier = 15 * months + 0.1 * days, 0.05 * max(1200 - 500 * months, 0)
    expected = {"fixed charge": fixed, "energy, all hours": 144.0, "tiers": tier}
    expected["minimum"] = max(400 * months - sum(expected.values()), 0)
    assert each.days == days
    for name, amount in each.lines:
        assert float(amount) == pytest.approx(expected[name], abs=0.00501), name
    assert {name for name, amount in expected.items() if amount} == set(dict(each.lines))


def test_tiers_by_the_day_and_of_a_baseline_go_by_the_days_of_the_bill() -> None:
    """33 days: 10 a day end at 330 kWh, 12 a day in July at 396; 600 x 0.12, 270 x 0.05, 204 x 0.03."""
    by_day = {"per": "day", "steps": [{"up_to": 10}, {"adds": 0.05}]}
    lines = [{"months": "jun-sep", "kwh_a_day": 12}, {"months": "oct-may", "kwh_a_day": 7}]
    of_baseline = {"baseline": lines, "steps": [{"of_baseline": "100%"}, {"adds": 0.03}]}

    first, second = (
        only(rebilled({"tiers": [tiers]}, bill("2024-06-29", "2024-07-31", 600))) for tiers in (by_day, of_baseline)
    )

    assert in_words(first) == {"energy, all hours": "72.00", "tiers": "13.50"}
    assert in_words(second) == {"energy, all hours": "72.00", "tiers": "6.12"}


@pytest.mark.parametrize(
    ("first", "last"),
    [
        ("2024-06-25", "2024-07-24"),  # Independence Day, a Thursday
        ("2024-08-20", "2024-09-19"),  # Labor Day
        ("2024-02-15", "2024-03-14"),  # the leap day, and an hour that is not there on 10 March
        ("2024-10-20", "2024-12-19"),  # an hour twice on 3 November, Thanksgiving; two months
        ("2023-12-15", "2024-01-13"),  # two holidays across the turn of the year
    ],
)
def test_average_weeks_are_laid_on_the_days_of_the_bill(first: str, last: str) -> None:
    """Every hour of the real days is walked in plain Python: weekday, holiday, clock change and price period."""
    each = only(rebilled(WEEK, bill(first, last, 973)))

    hours = hours_of(date.fromisoformat(first), date.fromisoformat(last))
    kwh = spread(973, hours, average_weights(hours))
    prices = {period["name"]: period["price"] for period in WEEK["energy"]}  # type: ignore[index]
    assert {name.removeprefix("energy, ") for name, _ in each.lines} == set(kwh)
    for name, amount in each.lines:
        period = name.removeprefix("energy, ")
        assert float(amount) == pytest.approx(kwh[period] * prices[period], abs=0.00501), name
    assert each.days * 24 - len(hours) == (("03-" in last) - ("12-19" in last))


def test_a_holiday_moves_kwh_off_the_peak() -> None:
    """The walk above would not notice if it and the engine both forgot a holiday."""
    july = bill("2024-07-01", "2024-07-31", 900)

    def peak(tariff: dict[str, Any]) -> float:
        return float(dict(only(rebilled(tariff, july)).lines)["energy, peak"])

    # 23 weekdays in July 2024, and one of them is free; the same hours of each are alike in an average month.
    assert peak(WEEK) == pytest.approx(peak(WEEK | {"holidays": {"names": ["Labor Day"]}}) * 22 / 23, rel=0.01)
    assert peak(WEEK) == peak(WEEK | {"holidays": {"names": ["Independence Day"]}})


@pytest.fixture(scope="module")
def meter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a meter's file of the year 2018."""
    folder = tmp_path_factory.mktemp("meter")
    meter_samples.write_csv(folder / "meter.csv", meter_samples.year_lines())
    return folder


def by_meter(folder: Path, tariff: dict[str, Any], *bills: dict[str, Any]) -> Drawer:
    """The bills of the small house with a meter's file."""
    load = {"monthly_kwh": None, "shape": None, "file": "meter.csv"}
    read = settled(scenario(tariff, bills, folder, load=load))
    found = drawer(read, site_of(read))
    assert found is not None
    return found


def readings() -> dict[datetime, float]:
    """What the meter's file holds for each hour."""
    starts = meter_samples.starts_of(meter_samples.NEW_YORK, "2018-01-01", "2019-01-01")
    at = [datetime.fromtimestamp(start, UTC) for start in starts]
    return dict(zip(at, meter_samples.made_up(len(starts)), strict=True))


def test_the_meters_own_hours_are_used_where_it_covers_the_bill(meter: Path) -> None:
    """Independence Day, both clock changes, the first and the last day of the file; one bill lies beyond it."""
    spans = [("2018-01-01", "2018-01-31"), ("2018-02-20", "2018-03-21"), ("2018-06-25", "2018-07-24"),
             ("2018-10-28", "2018-11-26"), ("2018-12-02", "2018-12-31"), ("2019-01-01", "2019-01-30")]  # fmt: skip
    found = by_meter(meter, WEEK, *(bill(first, last, 800) for first, last in spans))

    read = readings()
    prices = {period["name"]: period["price"] for period in WEEK["energy"]}  # type: ignore[index]
    assert [each.by_meter for each in found.bills] == [True] * 5 + [False]
    assert found.bills[-1].metered_kwh is None
    for each in found.bills[:5]:
        hours = hours_of(each.bill.first_day, each.bill.last_day)
        weights = [read[hour.astimezone(UTC)] for hour in hours]
        assert each.metered_kwh == pytest.approx(sum(weights), abs=1e-6)
        kwh = spread(800, hours, weights)
        assert {name.removeprefix("energy, ") for name, _ in each.lines} == set(kwh)
        for name, amount in each.lines:
            period = name.removeprefix("energy, ")
            assert float(amount) == pytest.approx(kwh[period] * prices[period], abs=0.00501), (name, each.bill)


def test_the_demand_is_the_bills_own_where_it_states_one(meter: Path) -> None:
    """6 a kW: 7.5 kW as stated; else the highest hour of the meter, as the bill's kWh scale it."""
    window = {"name": "summer", "price": 6, "months": "jun-sep", "days": "mon-fri", "hours": "15-19"}
    bills = [
        bill("2018-05-01", "2018-05-31", 700, kw=9.0),  # no hour of it lies within the window
        bill("2018-07-01", "2018-07-31", 700, kw=7.5),
        bill("2018-08-01", "2018-08-31", 700),
    ]
    found = by_meter(meter, {"demand": [window]}, *bills)

    read, august = readings(), hours_of(date(2018, 8, 1), date(2018, 8, 31))
    use = {hour: read[hour.astimezone(UTC)] for hour in august}
    highest = max(kwh for hour, kwh in use.items() if hour.weekday() < 5 and 15 <= hour.hour < 19)
    assert "demand" not in dict(found.bills[0].lines)
    assert in_words(found.bills[1])["demand"] == "45.00"
    expected = 6 * highest * 700 / sum(use.values())
    assert float(dict(found.bills[2].lines)["demand"]) == pytest.approx(expected, abs=0.00501)
    assert found.unknown == ()


def test_where_the_meter_read_nothing_the_bill_is_spread_evenly(tmp_path: Path) -> None:
    """May was away: by hand, 8 of 24 hours are dear, so 310 kWh x 0.20 / 3 and 310 x 0.10 x 2 / 3."""
    lines = [
        f"{line[: line.rindex(',')]},0" if line.startswith("2018-05") else line for line in meter_samples.year_lines()
    ]
    meter_samples.write_csv(tmp_path / "meter.csv", lines)
    energy = [{"name": "day", "price": 0.2, "hours": "9-17"}, {"name": "rest", "price": 0.1}]

    each = only(by_meter(tmp_path, {"energy": energy}, bill("2018-05-01", "2018-05-31", 310)))

    assert in_words(each) == {"energy, day": "20.67", "energy, rest": "20.67"}
    assert (each.by_meter, each.metered_kwh) == (True, 0.0)


def test_a_ratchet_looks_back_over_the_bills_before() -> None:
    """Half of July's 10 kW is more than August's 3; the bills need not stand in order."""
    demand = [{"name": "all", "price": 2, "ratchet": "50%"}]
    august, july = bill("2024-08-01", "2024-08-31", 700, kw=3.0), bill("2024-07-01", "2024-07-31", 700, kw=10.0)

    found = rebilled({"demand": demand}, august, july)

    assert [in_words(each)["demand"] for each in found.bills] == ["20.00", "10.00"]
    assert [each.bill.first_day.month for each in found.bills] == [7, 8]


def test_a_ratchet_looks_back_over_months_not_over_bills() -> None:
    """One month back from September lies August, of which no bill is left; from a bill of two months, the one before.

    The months before the first bill are not known, which is said.
    """
    demand = [{"name": "all", "price": 2, "ratchet": "50%", "ratchet_months": 1}]
    bills = [bill("2024-07-01", "2024-07-31", 700, kw=10.0), bill("2024-09-01", "2024-09-30", 700, kw=3.0),
             bill("2023-12-01", "2023-12-31", 700, kw=8.0), bill("2024-01-01", "2024-01-31", 700, kw=3.0)]  # fmt: skip

    found = rebilled({"demand": demand}, *bills)

    assert [in_words(each)["demand"] for each in found.bills] == ["16.00", "8.00", "20.00", "6.00"]
    assert "before the first bill" in " ".join(found.unknown)


def test_the_month_in_which_most_of_a_bill_lies_decides_on_its_season() -> None:
    """One day of June makes no summer bill, and one of May no winter one: its 4 kW count as a whole."""
    demand = [{"name": "summer", "price": 10, "months": "jun-aug"}]
    spring, summer = bill("2025-05-03", "2025-06-01", 600), bill("2026-05-31", "2026-06-29", 600, kw=4.0)

    found = rebilled({"demand": demand}, spring, summer)

    assert [in_words(each).get("demand") for each in found.bills] == [None, "40.00"]


def test_one_stated_demand_in_two_windows_is_said_to_count_for_both() -> None:
    windows = [{"name": "evening", "price": 3, "hours": "17-21"}, {"name": "any", "price": 2}]
    stated = bill("2024-07-01", "2024-07-31", 700, kw=4.0)

    both = rebilled({"demand": windows}, stated)

    assert in_words(only(both))["demand"] == "20.00"
    assert "which demand window" in " ".join(both.unknown)
    assert rebilled({"demand": windows[:1]}, stated).unknown == ()
    assert "which demand window" not in " ".join(
        rebilled({"demand": windows}, bill("2024-07-01", "2024-07-31", 700)).unknown
    )


def test_a_hole_in_the_older_part_of_a_meters_file_is_no_reading(tmp_path: Path) -> None:
    """Of two years the latest is used and its gaps are filled; a bill before it, with a day missing, was not read."""
    starts = meter_samples.starts_of(meter_samples.NEW_YORK, "2017-01-01", "2019-01-01")
    kwh = meter_samples.made_up(len(starts))
    lines = meter_samples.csv_lines(meter_samples.NEW_YORK, starts, kwh, 60, meter_samples.LAYOUTS["iso"])
    kept = [line for line in lines if not line.startswith("2017-11-20")]
    assert len(lines) - len(kept) == 24
    meter_samples.write_csv(tmp_path / "meter.csv", kept)
    bills = [bill("2017-11-08", "2017-12-07", 700), bill("2017-12-08", "2018-01-06", 700)]

    found = by_meter(tmp_path, WEEK, *bills)

    assert [each.by_meter for each in found.bills] == [False, True]


def test_a_demand_that_no_bill_states_is_said_to_be_guessed(meter: Path) -> None:
    """From average weeks, and from whole hours where shorter ones are billed; one stated by the bill is known."""
    one, stated = bill("2018-07-01", "2018-07-31", 700), bill("2018-07-01", "2018-07-31", 700, kw=4.0)
    hour, quarter = {"name": "all", "price": 2}, {"name": "all", "price": 2, "minutes": 15}

    assert "average hours" in " ".join(rebilled({"demand": [hour]}, one).unknown)
    assert rebilled({"demand": [quarter]}, stated).unknown == ()
    assert by_meter(meter, {"demand": [hour]}, one).unknown == ()
    assert "whole hours" in " ".join(by_meter(meter, {"demand": [quarter]}, one).unknown)


@pytest.mark.parametrize(
    "export",
    [
        {"scheme": "net billing", "price": 0.05},
        {"scheme": "net billing", "price": 0.05, "credits_pay": "energy", "pay_out": "50%"},
        {"scheme": "net metering"},
        {"scheme": "net metering", "bank": "money", "true_up_month": "mar"},
    ],
    ids=["billing", "credits for energy", "bank of kWh", "bank of money"],
)
def test_no_scheme_of_export_changes_the_bills_of_a_house_without_panels(export: dict[str, Any]) -> None:
    """Nothing was fed in, and no true-up gathers what each bill already asked for."""
    tariff = {"monthly_charge": 9, "minimum_bill": 20, "charge_per_kw": 3}
    bills = [bill(f"2024-{month:02d}-01", f"2024-{month:02d}-28", 60.0 * month) for month in range(1, 6)]

    plain, found = rebilled(tariff, *bills), rebilled(tariff | {"export": export}, *bills)

    assert [each.lines for each in found.bills] == [each.lines for each in plain.bills]
    assert in_words(plain.bills[0]) == {"fixed charge": "9.00", "energy, all hours": "7.20", "minimum": "3.80"}


def test_the_total_error_is_of_all_that_was_billed() -> None:
    """108 and 54 computed against 100 and 50 billed: 8 %."""
    found = rebilled({}, bill("2024-04-01", "2024-04-30", 900, 100.0), bill("2024-05-01", "2024-05-31", 450, 50.0))

    assert (found.billed, found.computed) == (Decimal("150.00"), Decimal("162.00"))
    assert found.error == pytest.approx(0.08)
    assert rebilled({}, bill("2024-04-01", "2024-04-30", 900, 0.0)).error is None


def test_a_bill_without_kwh_bears_its_charges_alone() -> None:
    """An empty house."""
    each = only(rebilled({"monthly_charge": 12}, bill("2024-04-01", "2024-04-30", 0, 12.0)))

    assert in_words(each) == {"fixed charge": "12.00"}
    assert each.difference == 0


def test_riders_go_by_the_month_in_which_most_of_the_bill_lies() -> None:
    """20 days of June, 11 of July."""
    rider = {"item": "Summer fund", "share": "10%", "on": ["energy"], "months": "jun"}

    each = only(rebilled({"riders": [rider]}, bill("2024-06-11", "2024-07-11", 100)))

    assert in_words(each) == {"energy, all hours": "12.00", "riders": "1.20"}
    assert "riders" not in in_words(only(rebilled({"riders": [rider]}, bill("2024-06-21", "2024-07-21", 100))))


def test_without_bills_or_without_a_grid_there_is_no_drawer() -> None:
    """Nothing is compared."""
    assert drawer(settled(house()), average_site()) is None
    alone = house(
        {
            "tariff": None,
            "generator": {"kw": 5, "fuel_price": 1.2, "rise": "2%"},
            "system": {"operation": "off grid"},
            "household": {"past_bills": [bill("2024-04-01", "2024-04-30", 900)]},
        }
    )
    assert drawer(settled(alone), average_site()) is None
