"""The files of hourly prices that the tariffs of a scenario name."""

from __future__ import annotations

from finsolar.energy.sources import price_year_of
from finsolar.energy.weather_files import PriceYear
from finsolar.scenario.problems import Problem, ScenarioError
from finsolar.scenario.schema import Scenario
from finsolar.tariff.hours import all_tariffs


def price_files(scenario: Scenario) -> dict[str, PriceYear]:
    """What each file of hourly prices holds, by the name that the scenario gives it, each read once.

    Raises ScenarioError with the fault of each file that cannot be used, at the line that names it.
    """
    found: dict[str, PriceYear] = {}
    faults: list[Problem] = []
    refused: set[str] = set()
    for path, tariff in all_tariffs(scenario):
        if tariff.hourly_prices is None or tariff.hourly_prices.file in found.keys() | refused:
            continue
        name = tariff.hourly_prices.file
        try:
            found[name] = price_year_of(scenario, name, f"{path}.hourly_prices.file")
        except ScenarioError as error:
            refused.add(name)
            faults += error.problems
    if faults:
        raise ScenarioError(faults)
    return found
