"""Runtime, autonomy and surge against exercises with a stated formula; no outside source but where one is named.

Rows O-01, O-03, O-05 and O-09: textbook arithmetic of stand-alone systems, the numbers our own.
"""

from __future__ import annotations

import numpy as np
import pytest

from finsolar.energy.appliances import Appliance
from finsolar.energy.battery import Battery
from finsolar.energy.endurance import Engine, endurance
from finsolar.energy.interruptions import Indices, indices
from finsolar.energy.load_test import USUAL, Rating, asked
from finsolar.energy.outage_record import record_of
from finsolar.report.words.times_told import CAUTIONS
from finsolar.uncertainty.outages import RESERVES


def runtime(kwh: float, kept: float, efficiency: float, load_kw: float) -> float:
    """Hours that a full battery carries a steady load without any sun."""
    battery = Battery(np.array(kwh), kept, 5.0, 5.0, 0.95, efficiency)
    steps = np.zeros(8760)
    return float(endurance(steps, steps + load_kw, np.array([kwh]), np.array([0]), battery, 336)[0])


@pytest.mark.parametrize(
    ("row", "kwh", "kept", "efficiency", "load_kw", "expected", "within"),
    [
        # Runtime = usable kWh x (1 - kept) x efficiency / load.
        ("O-03", 10.0, 0.10, 0.95, 0.60, 14.25, 0.01),
        ("O-09", 14.0, 0.20, 0.94, 0.85, 12.39, 0.01),
        # Autonomy: 6 kWh a day, 3 days, depth 0.8, efficiency 0.9 ask for 25.0 kWh; so that lasts three days.
        ("O-01", 25.0, 0.20, 0.90, 0.25, 72.0, 0.01),
    ],
)
def test_runtime_and_autonomy(
    row: str, kwh: float, kept: float, efficiency: float, load_kw: float, expected: float, within: float
) -> None:
    assert runtime(kwh, kept, efficiency, load_kw) == pytest.approx(expected, abs=within), row


def test_o05_a_smaller_inverter_fails_on_the_start_alone() -> None:
    """O-05: running 2,850 W, starting 4,850 W; 3,000 W for long and 4,500 W for a start fail on the start."""
    kept = [
        Appliance("pump", 1000, 1, starting_watts=3000, on_backup=1),
        Appliance("refrigerator", 150, 24, 0.35, on_backup=1),
        Appliance("lights", 200, 5, on_backup=1),
        Appliance("heater", 1500, 4, on_backup=1),
    ]
    found = asked(kept)
    assert (found.running, found.starting) == (2850, 4850)
    assert not found.fits(Rating(3000, 4500, "inverter", True))
    assert found.fits(Rating(3000, 4850, "inverter", True))


def test_o04_fuel_of_a_set_that_carries_a_steady_load() -> None:
    """O-04, Skarstein and Uhlen from memory: 5 kW at 2.5 kW burn 1.03575 litres an hour, so 20 litres are 19 hours."""
    battery = Battery(np.array(0.0), 0.0, 0.0, 0.0, 1.0, 1.0)
    steps = np.zeros(8760)
    for load, litres_an_hour in ((5.0, 1.65075), (2.5, 1.03575), (1.0, 0.66675)):
        found = endurance(steps, steps + load, np.zeros(1), np.array([0]), battery, 336, engine=Engine(5.0, 20.0))
        assert found[0] == 20.0 // litres_an_hour


def test_rules_of_thumb() -> None:
    """Common practice, no source: 20 ms for computers, a reserve of 20 %; heater 1,500 W, washer 300, coffee 1,100."""
    assert [each.watts for each in USUAL] == [300, 1100, 1500]
    assert 0.2 in RESERVES
    assert any("20 ms" in each and "common practice, no source" in each for each in CAUTIONS)


@pytest.mark.parametrize(
    ("row", "saidi", "saifi", "caidi", "hours", "availability", "within"),
    [
        # EIA, Electric Power Annual, table 11.1 (IEEE standard), seen: minutes, interruptions; CAIDI in minutes.
        ("R-01", 333.0, 1.426, 233.5, 5.55, 0.999366, 0.1),
        ("R-02", 131.1, 1.090, 120.2, 2.2, 0.999751, 0.2),
        ("R-03", 505.9, 1.420, 356.2, 8.4, 0.999037, 0.2),
    ],
)
def test_indices_of_the_united_states(
    row: str, saidi: float, saifi: float, caidi: float, hours: float, availability: float, within: float
) -> None:
    found = Indices(np.array(saifi), np.array(saidi / 60))
    assert float(found.caidi) * 60 == pytest.approx(caidi, abs=within), row
    assert float(found.saidi) == pytest.approx(hours, abs=0.05), row
    assert float(found.availability) == pytest.approx(availability, abs=1e-6), row


def test_r04_indices_of_events() -> None:
    """R-04, by the definition of IEEE 1366: of 10,000 served, four events; that of four minutes is not counted."""
    found = indices([1200, 300, 5000, 150], [90, 45, 4, 600], 10_000)
    assert float(found.saidi) * 60 == pytest.approx(21.15, abs=1e-3)
    assert float(found.saifi) == pytest.approx(0.165, abs=1e-3)
    assert float(found.caidi) * 60 == pytest.approx(128.182, abs=1e-3)
    assert float(indices([10], [5.0], 100).saifi) == 0
    with pytest.raises(ValueError, match="served"):
        indices([1], [60], 0)


def test_the_record_of_the_united_states() -> None:
    """Of R-01 to R-03: usual 1.090 times 120.3 minutes; storms are what is beyond, 0.336 or 0.330 times."""
    found = record_of("US")
    usual, storms = found["usual"], found["storms"]
    assert usual.times_a_year.values == pytest.approx((0.872, 1.09, 1.308))
    assert usual.hours_each == pytest.approx(131.1 / 60 / 1.09, abs=1e-3)
    assert storms.times_a_year.values == pytest.approx((0.8 * 0.333, 0.333, 1.2 * 0.333), abs=1e-4)
    long = ((333 - 131.1) / 60 / 0.336, (505.9 - 131.1) / 60 / 0.330)
    assert storms.hours_each.values == pytest.approx(long, abs=1e-3)
    assert all("20% either way" in each.why and "common practice, no source" in each.why for each in found.values())
    assert "Derived" in storms.why
    assert all("table 11.1" in each.source for each in found.values())
    assert record_of("NL") == {}
