"""Bills of one small house from its scenario on, against numbers worked out by hand from its kWh."""

from __future__ import annotations

from typing import Any

import pytest
from generated_scenarios import in_yaml

import finsolar
from finsolar.scenario.reading import from_text


def studied(tariff: dict[str, Any], years: int = 1, **words: Any) -> dict[str, Any]:
    """The study of a house of 500 kWh a month under 6 kW of modules, or what ``words`` say instead."""
    house = {
        "title": "A house for its bills",
        "place": {"country": "US", "region": "NC", "latitude": 36.1, "longitude": -79.95,
                  "timezone": "America/New_York"},
        "study": {"in_service": "2026-01-01", "years": years, "discount_rate": "5%"},
        "household": {"load": {"monthly_kwh": [500] * 12, "shape": "evening"}},
        "weather": "greensboro",
        "tariff": {"energy": 0.2, "rise": 0.0} | tariff,
        "system": {"arrays": [{"kw": 6, "tilt": 30, "azimuth": 180}], "inverter": {"kw": 6}, "battery": "none"},
        "costs": [{"item": "All", "category": "other", "cost": 9000}],
    }  # fmt: skip
    return finsolar.study(from_text(in_yaml(house | words))).to_json()


@pytest.mark.parametrize(
    ("export", "paid"),
    [({"scheme": "none"}, -223.36), ({"scheme": "net billing", "price": 0.05, "limit_kw": 0.5}, -372.34)],
    ids=["nothing leaves", "half a kW leaves"],
)
def test_what_had_nowhere_to_go_is_not_paid_as_production(export: dict[str, Any], paid: float) -> None:
    """Of some 8,804 kWh what house and inverter took beyond the import, and what was fed in, at 0.10."""
    (plan,) = studied({"production_price": 0.1, "export": export})["alternatives"]
    flows = plan["energy"]
    through = flows["load"][0] + flows["idle"][0] - flows["imported"][0] + flows["exported"][0]
    assert flows["solar"][0] == pytest.approx(8804, abs=1) and flows["curtailed"][0] > 5000
    assert plan["bills"]["after"]["by_year"]["production payment"] == [pytest.approx(-0.1 * through)]
    assert -0.1 * through == pytest.approx(paid, abs=0.01)
