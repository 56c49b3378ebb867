"""The oracle's prices: which period each step belongs to, and what grid and generator ask for.

Years count from 1 and are held in lists from 0; money paid is positive in a bill.
"""

from __future__ import annotations

from typing import Any

from oracle_numbers import Rows, central, index

from finsolar.scenario.schema import Generator, Tariff


def periods(tariff: Tariff | None, months: list[int], weekdays: list[int], hours: list[int]) -> list[int]:
    """Return the price period of each step: the one that names it, else the one that takes the rest."""
    found = []
    for month, weekday, hour in zip(months, weekdays, hours, strict=True):
        rest, named = [], []
        for place, period in enumerate([] if tariff is None else tariff.energy):
            if period.months is None and period.days is None and period.hours is None:
                rest.append(place)
            elif (
                (period.months is None or month in period.months)
                and (period.days is None or weekday in period.days)
                and (period.hours is None or hour in period.hours)
            ):
                named.append(place)
        assert tariff is None or len(named) == 1 or (not named and len(rest) == 1)
        found.append((named or rest or [0])[0])
    return found


def grid_bill(tariff: Tariff, bought: list[Rows], sold: list[Rows]) -> dict[str, Rows]:
    """Return what the grid asks by component, year and month; the credit for export is negative."""
    years = len(bought)
    export = tariff.export
    rises = index(tariff.rise, years)
    fixed_rises = rises if tariff.fixed_rise is None else index(tariff.fixed_rise, years)
    export_rises = rises if tariff.export_rise is None else index(tariff.export_rise, years)
    asked = [central(period.price) for period in tariff.energy]
    paid = 0.0 if export.price is None else central(export.price)
    paid_for_rest = 0.0 if export.surplus_price is None else central(export.surplus_price)
    true_up = 11 if export.true_up_month is None else export.true_up_month[0]
    fixed = [[central(tariff.monthly_charge) * rise] * 12 for rise in fixed_rises]
    energy = [[0.0] * 12 for _ in range(years)]
    credit = [[0.0] * 12 for _ in range(years)]
    bank = [0.0] * len(asked)
    for year in range(years):
        for month in range(12):
            for place, price in enumerate(asked):
                drawn, fed = bought[year][month][place], sold[year][month][place]
                if export.scheme == "net metering":
                    balance = drawn - fed - bank[place]
                    drawn, bank[place] = max(balance, 0.0), max(-balance, 0.0)
                elif export.scheme == "net billing":
                    credit[year][month] -= fed * paid * export_rises[year]
                energy[year][month] += drawn * price * rises[year]
            if month == true_up or (month == 11 and year == years - 1):
                credit[year][month] -= sum(bank) * paid_for_rest * export_rises[year]
                bank = [0.0] * len(asked)
    bill = {"fixed charge": fixed, "energy": energy}
    return bill if export.scheme == "none" else bill | {"export credit": credit}


def litres(engine: Generator | None, made: Rows, hours: Rows) -> Rows:
    """Return the fuel burnt: a part for each kWh, a part for each hour and rated kW."""
    if engine is None:
        return [[0.0] * 12 for _ in made]
    by_kwh, by_hour = central(engine.litres_per_kwh), central(engine.idle_litres_per_kw) * engine.kw
    return [
        [by_kwh * kwh + by_hour * run for kwh, run in zip(*rows, strict=True)] for rows in zip(made, hours, strict=True)
    ]


def generator_bill(engine: Generator, litres: Rows, hours: Rows, inflation: Any) -> dict[str, Rows]:
    """Return what the generator costs: its rise is the fuel's, while wear rises with inflation."""
    rises, wear_rises = index(engine.rise, len(litres)), index(inflation, len(litres))
    fuel, wear = central(engine.fuel_price), central(engine.upkeep_per_hour)
    return {
        "generator fuel": [[amount * fuel * rise for amount in row] for row, rise in zip(litres, rises, strict=True)],
        "generator upkeep": [[run * wear * rise for run in row] for row, rise in zip(hours, wear_rises, strict=True)],
    }
