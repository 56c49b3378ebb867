"""What of a bill goes by price period: by hand, and against the bill it is a part of for any tariff."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from generated_tariffs import tariffs
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from finsolar.scenario.numbers import settled
from finsolar.scenario.schema import Tariff
from finsolar.tariff.bills import ENERGY, EXPORT, TIERS, bill_of_years
from finsolar.tariff.periods import period_parts
from finsolar.tariff.prices import prices, year_from

DAY_AND_NIGHT = [{"name": "day", "price": 0.3, "hours": "6-22"}, {"name": "night", "price": 0.1}]


def tariff(**words: Any) -> Tariff:
    """A tariff of two periods as a scenario has it, at prices that rise by a tenth each year."""
    return Tariff.model_validate({"energy": DAY_AND_NIGHT, "rise": 0.1} | words)


def flows(*months: tuple[float, float], years: int = 1) -> np.ndarray:
    """kWh (years, 12, 2) of the first months of each year; nothing in the others."""
    found = np.zeros((years, 12, 2))
    found[:, : len(months)] = months
    return found


def asked(said: Tariff, years: int, begins: int = 0) -> Any:
    """Its prices over some years that begin with a month."""
    return prices(said, years, calendar=year_from(begins))


def test_net_billing_by_hand() -> None:
    """January: 100 and 50 kWh drawn, 10 and 20 fed in at 5 and 2 cents; the second year is a tenth dearer."""
    paid = [{"period": "day", "price": 0.05}, {"period": "night", "price": 0.02}]
    said = tariff(export={"scheme": "net billing", "price": paid}, export_rise=0.0)
    drawn, fed = flows((100, 50), years=2), flows((10, 20), years=2)
    found = period_parts(0, drawn, fed, asked(said, 2))
    assert found is not None
    assert found.components[ENERGY][:, 0] == pytest.approx(np.array([[30.0, 5.0], [33.0, 5.5]]))
    assert found.components[EXPORT][:, 0] == pytest.approx(np.array([[-0.5, -0.4]] * 2))
    assert not found.components[ENERGY][:, 1:].any() and np.array_equal(found.billed, drawn)


def test_a_bank_of_kwh_is_a_bank_for_each_period() -> None:
    """From July on: 40 of the night's kWh are left over, pay for August's 30, and 10 of September's 25."""
    said = tariff(export={"scheme": "net metering", "surplus_price": 0.01, "true_up_month": "dec"})
    drawn, fed = np.zeros((1, 12, 2)), np.zeros((1, 12, 2))
    drawn[0, 6:9] = (100, 20), (50, 30), (60, 25)
    fed[0, 6:9] = (30, 60), (60, 0), (0, 0)
    found = period_parts(6, drawn, fed, asked(said, 1, 6))
    assert found is not None
    assert found.billed[0, 6:9] == pytest.approx(np.array([[70.0, 0.0], [0.0, 0.0], [50.0, 15.0]]))
    assert found.components[ENERGY][0, 6:9] == pytest.approx(np.array([[21.0, 0.0], [0.0, 0.0], [15.0, 1.5]]))
    assert list(found.components) == [ENERGY]


def test_a_bank_does_not_close_because_the_first_year_is_asked_for() -> None:
    """Its true-up lies in March: what December leaves still pays in January of the second year."""
    said = tariff(export={"scheme": "net metering", "surplus_price": 0.01, "true_up_month": "mar"})
    drawn, fed = np.zeros((2, 12, 2)), np.zeros((2, 12, 2))
    fed[0, 11, 0], drawn[1, 0, 0] = 80.0, 100.0
    found = period_parts(0, drawn, fed, asked(said, 2))
    assert found is not None
    assert found.billed[1, 0, 0] == pytest.approx(20.0)
    assert found.billed.sum() == pytest.approx(20.0)


def test_what_waits_in_a_bank_of_money_goes_by_no_period() -> None:
    drawn, fed = flows((100, 50)), flows((10, 20))
    kept = tariff(export={"scheme": "net billing", "price": 0.04, "credits_pay": "energy", "true_up_month": "dec"})
    found = period_parts(0, drawn, fed, asked(kept, 1))
    assert found is not None and list(found.components) == [ENERGY]
    money = tariff(export={"scheme": "net metering", "bank": "money", "true_up_month": "dec"})
    assert period_parts(0, drawn, fed, asked(money, 1)) is None


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
@given(tariffs(holidays=False, changes=False), st.integers(0, 11), st.integers(0, 2**32 - 1))
def test_the_periods_of_any_tariff_add_up_to_its_bill(said: dict[str, Any], begins: int, seed: int) -> None:
    """Month by month and year by year, the energy, and the export credit where it is paid by the kWh at once."""
    years, rng = 3, np.random.default_rng(seed)
    sheet = settled(Tariff.model_validate(said))
    shape = (years, 12, len(sheet.energy))
    drawn, fed = (rng.uniform(0, 900, shape) * (rng.random(shape) > 0.2) for _ in range(2))
    peak = rng.uniform(0, 9, (years, 12, len(sheet.demand)))
    terms = asked(sheet, years, begins)
    bill = bill_of_years(begins, drawn, fed, terms, peak, drawn[..., 0], None, peak[0]).components
    found = period_parts(begins, drawn, fed, terms)
    if sheet.export.scheme == "net metering" and sheet.export.bank == "money":
        assert found is None and ENERGY not in bill
        return
    assert found is not None
    for name, amounts in found.components.items():
        assert amounts.shape == shape
        assert amounts.sum(axis=-1) == pytest.approx(bill[name], abs=1e-9), name
    assert TIERS not in found.components
    now = sheet.export.scheme == "net billing" and sheet.export.credits_pay != "energy"
    assert set(found.components) == ({ENERGY, EXPORT} if now else {ENERGY})
    # Each kWh at the price of its own period, and no price of a period for another's.
    price = [float(np.asarray(each.price)) for each in sheet.energy]
    first = found.components[ENERGY][0]
    for k, each in enumerate(price):
        assert first[:, k] == pytest.approx(found.billed[0, :, k] * each)
