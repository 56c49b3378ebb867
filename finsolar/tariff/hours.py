"""Which price, and which demand window, holds in each step."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.clock import RULE_YEAR, Clock
from finsolar.energy.orders import DearHours
from finsolar.energy.peaks import monthly_peaks
from finsolar.scenario.hours import DAYS
from finsolar.scenario.problems import ScenarioError, near, shown
from finsolar.scenario.schema import Place, Scenario, Tariff, TimeShift
from finsolar.tariff.holidays import holiday_mask, holidays_among, holidays_of, names_of, unknown_names

Array = NDArray[np.float64]


def refuse_unknown_holidays(scenario: Scenario) -> None:
    """Refuse the place of a scenario whose holidays nobody knows, and names that none of its holidays has.

    Raises ScenarioError with each fault once, at the line where it stands; does nothing where no tariff asks for them.
    """
    asked = [(path, each.holidays.names or []) for path, each in all_tariffs(scenario) if each.holidays is not None]
    if not asked:
        return
    place, refusal = scenario.place, scenario.origin.refusal
    mend = "write another code, or remove holidays from the tariff"
    for field, region in (("country", None), ("region", place.region)):
        try:
            found = holidays_of(place.country, region, [RULE_YEAR])
        except ValueError:
            what = f"is {shown(getattr(place, field))}, whose public holidays are not known"
            raise refusal(f"place.{field}", what, mend, "unknown-holidays") from None
        if not found:
            what = f"is {shown(place.country)}, of which no public holidays are known for the year of the study"
            raise refusal("place.country", what, mend, "unknown-holidays")
    known = names_of(found)
    faults = [
        problem
        for path, names in asked
        for i, name in enumerate(names)
        if unknown_names(found, [name])
        for problem in refusal(
            f"{path}.holidays.names.{i}",
            f"is {shown(name)}, no public holiday there",
            near(name, known),
            "unknown-holiday",
        ).problems
    ]
    if faults:
        raise ScenarioError(faults)


def all_tariffs(scenario: Scenario) -> list[tuple[str, Tariff]]:
    """Every tariff that the scenario holds, with its path."""
    first = [("tariff", scenario.tariff)]
    first += [(f"alternatives.{i}.tariff", plan.tariff) for i, plan in enumerate(scenario.alternatives)]
    found = []
    for path, tariff in first:
        if tariff is not None:
            found += [(path, tariff)]
            found += [(f"{path}.later.{k}.tariff", change.tariff) for k, change in enumerate(tariff.later)]
    return found


def priced_weekday(
    tariff: Tariff, clock: Clock, place: Place, dates: NDArray[np.datetime64] | None = None
) -> NDArray[np.int64]:
    """The weekday (steps,) by which each step is priced, 0 for Monday: a holiday goes by the day the sheet says.

    ``dates`` (steps,) are the real days of the steps, where they do not lie in the calendar of the study. Raises
    ValueError for a place or a holiday that is not known.
    """
    rule = tariff.holidays
    if rule is None:
        return clock.weekday
    if dates is None:
        free = holiday_mask(place.country, place.region, clock, rule.names or None)
    else:
        free = holidays_among(dates, place.country, place.region, rule.names or None)
    return np.asarray(np.where(free, DAYS.index(rule.count_as), clock.weekday), dtype=np.int64)


def period_of_hours(tariff: Tariff, clock: Clock, place: Place) -> NDArray[np.int64]:
    """The price period (steps,) of each step, by the household's wall clock."""
    weekday = priced_weekday(tariff, clock, place)
    return tariff.period_grid()[clock.month, weekday, clock.hour].astype(np.int64)


def peaks_of(tariff: Tariff, imported: Array, clock: Clock, place: Place) -> Array:
    """The highest import of each demand window by month, kW (..., years, 12, windows)."""
    weekday = priced_weekday(tariff, clock, place)
    found = [
        monthly_peaks(imported, clock, each.cells[clock.month, weekday, clock.hour][None], each.minutes)
        for each in tariff.demand
    ]
    return np.concatenate(found, axis=-1) if found else np.zeros((*imported.shape[:-1], 12, 0))


def dear_hours(tariff: Tariff, shift: TimeShift, clock: Clock, place: Place) -> DearHours:
    """The steps that a settled scenario calls dear and cheap.

    Where it does not say which periods are dear, those are that cost more than the average hour of the year and are not
    called cheap.
    """
    period = period_of_hours(tariff, clock, place)
    names = [each.name for each in tariff.energy]
    asked = np.array([each.price for each in tariff.energy], dtype=np.float64)
    cheap = np.isin(period, [names.index(name) for name in shift.cheap])
    if shift.dear is None:
        dear = (asked[period] > asked[period].mean() + 1e-12) & ~cheap
    else:
        dear = np.isin(period, [names.index(name) for name in shift.dear])
    return DearHours(dear=dear, cheap=cheap)
