"""How a study was made, in sentences for a careful reader."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from finsolar.money.cashflow import WORTH_OF_BACKUP
from finsolar.report.words.amounts import joined, money, per_cent
from finsolar.report.words.money_doubts import doubtful_money, loan_cautions
from finsolar.report.words.worth import NOTE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from finsolar.energy.house import Site
    from finsolar.energy.meter import Found
    from finsolar.results import Position, Result
    from finsolar.scenario.schema import Scenario


def study_notes(
    scenario: Scenario, site: Site, rules_known: bool, stay: Position, results: tuple[Result, ...]
) -> list[str]:
    """How the study was made, what to doubt in it, and what each alternative's system does."""
    place, settings = scenario.place, scenario.study
    notes = [
        *_about_the_sun(scenario, site),
        *_about_the_load(scenario, site),
        "Every year of the study has the same weather and the same calendar: 365 days that begin on a Monday, with "
        f"daylight saving as in {place.timezone}; so years differ by prices, load and wear alone, but for what strays "
        "in the cases that are drawn.",
        *_about_the_step(settings.step_minutes),
        "Year 0 is the day the system is switched on. Year k covers the k-th twelve months and its money falls at "
        "its end. Prices in the file hold for year 1.",
        "All figures are in the money of their year (nominal) unless they are called real.",
    ]
    if any(WORTH_OF_BACKUP in result.cash.lines for result in results):
        notes.append(NOTE)
    if not rules_known:
        notes.append(
            f"No incentive rule for {place.country} is known here, so none was considered. That is a gap in the "
            "rule files, no statement about the law."
        )
    notes += _about_the_tariffs(scenario)
    named = [("Staying as you are", told) for told in [*_always_running(stay), *_unserved(stay)]]
    for result in results:
        told_of_it = [
            *_about_the_system(result, site, scenario),
            *_unserved(result.position),
            *(f"caution: {told}." for told in doubtful_money(result.plan, settings.years)),
            *loan_cautions(result, scenario.currency),
            *_about_the_figures(result),
        ]
        named += [(result.name, told) for told in told_of_it]
    notes += _told_together(named)
    if any(r.in_service != settings.in_service for r in results):
        notes.append("Alternatives with another in-service day are each valued on their own day.")
    return notes


def counted(number: int, one: str) -> str:
    """So many of something: ``1 reading``, ``9,092 readings``."""
    return f"{number:,} {one}{'' if number == 1 else 's'}"


def about_the_distance(scenario: Scenario, site: Site) -> list[str]:
    """How far the weather's place is from the house, and a caution where it lies in the other hemisphere."""
    place, weather = scenario.place, site.weather
    apart = _kilometres(place.latitude, place.longitude, weather.latitude, weather.longitude)
    said = []
    if apart > 100:
        said.append(f"The house stands {apart:,.0f} km from the weather of {weather.name}: the sun there may differ.")
    if place.latitude * weather.latitude < 0:
        said.append("Caution: the weather is of the other hemisphere, so its summer is your winter.")
    return said


def found_in_meter(found: Found) -> list[tuple[str, str]]:
    """What a meter's file holds, as rows of what and how much."""
    used = f"from {found.year_from:%Y-%m-%d %H:%M}"
    if found.days_left_out >= 0.05:
        used += f"; {_days(found.days_left_out)} before it left out"
    rows = [
        ("period covered", f"{found.first:%Y-%m-%d %H:%M} to {found.last:%Y-%m-%d %H:%M}, {_days(found.days)}"),
        ("readings", f"{found.readings:,}, mostly of {found.interval_minutes:g} minutes"),
        ("year used", used),
        ("gaps", f"{counted(found.hours_filled, 'hour')} filled {found.filled_how}" if found.hours_filled else "none"),
    ]
    if found.duplicates:
        were = "was" if found.duplicates == 1 else "were"
        rows.append(("repeated", f"{counted(found.duplicates, 'reading')} that stood there twice {were} dropped"))
    turns = [f"{day} has 23 hours" for day in found.short_days] + [f"{day} has 25" for day in found.long_days]
    if turns:
        rows.append(("clock changes", joined(turns)))
    rows += [
        ("use", f"{found.annual_kwh:,.0f} kWh a year, {found.annual_kwh / 365:.1f} a day"),
        ("peak", f"{found.peak_kw:.2f} kW, the mean of one reading"),
        ("day and night", f"{found.day_share:.0%} from 6 to 18 o'clock, {found.night_share:.0%} from 18 to 6"),
    ]
    if found.exported_kwh is not None:
        rows.append(("fed in", _fed_in(found.exported_kwh)))
    if found.cost is not None:
        rows.append(("cost in the file", f"{found.cost:,.2f}, not used"))
    return rows + [("note", note) for note in found.notes]


def _days(days: float) -> str:
    """A span of days: ``1 day``, ``14 days``, ``378.5 days``."""
    text = f"{days:,.1f}".removesuffix(".0")
    return f"{text} day{'' if text == '1' else 's'}"


def _fed_in(kwh: float) -> str:
    """What it means that a meter counted energy going out."""
    if kwh < 0.5:
        return "nothing"
    return (
        f"{kwh:,.0f} kWh, so the house has panels already. The use above is what the grid gave, not the house's whole "
        "use: what those panels carried straight into the house is missing from it"
    )


def _about_the_sun(scenario: Scenario, site: Site) -> list[str]:
    """Whose sun it is, how it reaches the modules, and how bright the years are."""
    weather = site.weather
    recorded = [plan for plan in scenario.alternatives if plan.system.production is not None]
    notes = []
    if len(recorded) < len(scenario.alternatives):
        notes.append(f"Weather: {weather.source}")
        notes += about_the_distance(scenario, site)
        notes.append(
            "Sun on the modules: sky after Hay and Davies with a ground that reflects 0.2; cell temperature after "
            "Faiman (25 and 6.84 W/m²K)."
        )
    notes += _told_together(
        (plan.name, f"the sun of each hour is the household's own record in {plan.system.production}; no weather "
         "plays a part in it.")
        for plan in recorded
    )  # fmt: skip
    brightness = float(site.brightness.mean())
    if abs(brightness - 1.0) > 1e-9:
        of = (
            "that year's sunlight"
            if len(recorded) < len(scenario.alternatives)
            else "the sunlight of the record's year"
        )
        notes.append(f"Every year is taken to have {per_cent(brightness, 0)} of {of}.")
    return notes


def _about_the_load(scenario: Scenario, site: Site) -> list[str]:
    from finsolar.energy.load import STANDARD, shape_about

    load = scenario.household.load
    notes = []
    if isinstance(load.shape, str):
        origin = "published" if load.shape == STANDARD else "invented"
        notes.append(f"Load shape “{load.shape}”, {origin}: {shape_about(load.shape)}.")
    if site.usage.found is not None:
        found = site.usage.found
        gaps = f"{counted(found.hours_filled, 'hour')} filled" if found.hours_filled else "without gaps"
        notes.append(
            f"Load from the meter: the year from {found.year_from:%Y-%m-%d} ({gaps}), {found.annual_kwh:,.0f} kWh, "
            "laid on the study's calendar so that every day keeps its weekday."
        )
        if found.exported_kwh is not None and found.exported_kwh >= 0.5:
            notes.append(f"Caution: the meter also counted energy fed in, {_fed_in(found.exported_kwh)}.")
        notes += [f"The meter's file: {note}" for note in found.notes]
    if load.appliances is not None:
        notes.append(
            "Load from a list of appliances, each spread evenly over its hours: right for energy, too smooth for peaks."
        )
    return notes + [f"New load from year {new.from_year} on: {new.item}." for new in load.new_loads]


def _about_the_step(minutes: int) -> list[str]:
    if minutes == 60:
        return []
    return [
        f"The house is balanced every {minutes} minutes; the sun of an hour is spread evenly over it, and so is use "
        "that is not measured more finely."
    ]


def _about_the_tariffs(scenario: Scenario) -> list[str]:
    """What of each tariff is billed more coarsely than it says, or comes after the study."""
    step, years = scenario.study.step_minutes, scenario.study.years
    plans = [plan for plan in scenario.alternatives if plan.system.operation != "off grid"]
    named = []
    for name, first in [("Staying as you are", scenario.tariff), *((plan.name, plan.tariff) for plan in plans)]:
        if first is None:
            continue
        held = [first, *(change.tariff for change in first.later if change.from_year <= years)]
        finest = min((each.minutes for tariff in held for each in tariff.demand), default=step)
        if finest < step:
            named.append(
                (
                    name,
                    f"demand is billed by {finest} minutes, while the house is balanced every {step}: short peaks are "
                    f"missed. Write study.step_minutes: {finest}, which helps where the use is measured as finely.",
                )
            )
        named += [
            (name, f"the tariff of year {change.from_year} comes after the last year of the study and plays no part.")
            for change in first.later
            if change.from_year > years
        ]
    return _told_together(named)


def _told_together(named: Iterable[tuple[str, str]]) -> list[str]:
    """``Name: sentence``; alternatives of which the same is to be said share it."""
    shared: dict[str, list[str]] = {}
    for name, told in named:
        shared.setdefault(told, []).append(name)
    return [f"{joined(names)}: {told}" for told, names in shared.items()]


def _about_the_system(result: Result, site: Site, scenario: Scenario) -> list[str]:
    system, run = result.plan.system, result.run
    battery = system.battery
    paid_for = {line.category for line in result.costs}
    if battery == "none":
        if "battery" in paid_for:
            return ["a battery is paid for, but the system has none; say so under system.battery."]
        return []
    notes = []
    if paid_for and "battery" not in paid_for:
        notes.append("has a battery, but no cost line of category battery: its saving is counted, its price is not.")
    if run.capacity.min() < 0.6 * battery.kwh:
        notes.append(
            f"the battery fades to {per_cent(run.capacity.min() / battery.kwh, 0)} of its first capacity within the "
            "study; a replacement, as an upkeep line of category battery, is usual well before."
        )
    if system.operation == "time shift":
        notes += _time_shift(result, site, scenario)
    if system.operation == "backup only":
        notes.append("the battery is kept full for outages, so it saves nothing on the bill and costs its own draw.")
    if result.warranty is not None and battery.warranty is not None:
        notes.append(_warranty(result))
    return notes


def _time_shift(result: Result, site: Site, scenario: Scenario) -> list[str]:
    """When the battery works under a time shift, and a caution where the grid's charge is no bargain."""
    from finsolar.energy.house import battery_when_new
    from finsolar.scenario.schema import TimeShift
    from finsolar.tariff.hours import dear_hours, period_of_hours

    system, tariff = result.plan.system, result.plan.tariff
    assert tariff is not None and system.battery != "none"  # the schema refuses a time shift without either
    shift = system.time_shift or TimeShift()
    currency, place = scenario.currency, scenario.place
    period = period_of_hours(tariff, site.clock, place)
    dear = [tariff.energy[i] for i in sorted(set(period[dear_hours(tariff, shift, site.clock, place).dear].tolist()))]
    quoted = joined([f"“{each.name}”" for each in dear]) if dear else "no hours at all"
    kept = "what the next of them need" if shift.keep is None else per_cent(shift.keep, 0)
    told = f"the battery serves {quoted}; outside them it keeps {kept}"
    if shift.cheap:
        told += f"; the grid charges it in {joined([f'“{name}”' for name in shift.cheap])}"
    notes = [f"{told}. It knows average weeks, not tomorrow's weather."]
    if site.usage.later and (shift.keep is None or (shift.cheap and shift.charge_to is None)):
        notes.append("its levels are set once, by the first year's use; a load to come does not change them.")
    new = battery_when_new(system.battery)
    back = float(new.charge_efficiency) * float(new.discharge_efficiency)  # type: ignore[arg-type]  # one battery
    for cheap in (each for each in tariff.energy if each.name in shift.cheap):
        beaten = [
            f"“{each.name}” ({money(each.price, currency, 3)})" for each in dear if cheap.price > each.price * back
        ]
        if beaten:
            notes.append(
                f"caution: charging from the grid in “{cheap.name}” ({money(cheap.price, currency, 3)} a kWh) is no "
                f"bargain; it costs more than it saves in {joined(beaten)}, since {per_cent(back, 0)} of it comes back."
            )
    return notes


def _warranty(result: Result) -> str:
    """When the first battery's warranty ends, and what it is expected to hold until then."""
    import numpy as np

    from finsolar.energy.fade import battery_factor
    from finsolar.energy.house import fade_of

    battery, run, ended = result.plan.system.battery, result.run, result.warranty
    assert battery != "none" and battery.warranty is not None and ended is not None
    end = float(ended.years)
    if math.isnan(end):
        return "the battery's warranty does not end within this study; later it will, by its years or its MWh."
    by = "by the energy it delivers" if bool(ended.by_throughput) else "by its age"
    told = f"the battery's warranty ends after {_years(end)}, {by}"
    promised = battery.warranty.capacity
    if promised is None:
        return f"{told}."
    renewed = bool(run.renewed.any())
    lasts = int(run.renewed.argmax()) + 1 if renewed else len(run.cycles)
    fade, made = fade_of(battery), np.concatenate([[0.0], np.cumsum(run.cycles[:lasts])])
    left = battery_factor(np.arange(lasts + 1.0), fade.ten_years, fade.law, made, fade.thousand_cycles)
    until = min(end, float(lasts))
    if float(np.interp(until, np.arange(lasts + 1.0), left)) < promised - 1e-12:
        broken = int((left < promised - 1e-12).argmax())
        return (
            f"{told}; it is expected to fall below the promised {per_cent(promised, 0)} before that, in year {broken}."
        )
    when = "until then"
    if lasts < end:
        when = f"until its replacement after {_years(lasts)}" if renewed else "as far as this study goes"
    return f"{told}; {when} it is expected to hold the promised {per_cent(promised, 0)}."


def _years(years: float) -> str:
    """A span of years, whole where it is: ``1 year``, ``10 years``, ``6.3 years``."""
    text = f"{years:.1f}".removesuffix(".0")
    return f"{text} year{'' if text == '1' else 's'}"


def _about_the_figures(result: Result) -> list[str]:
    notes = []
    irrs = [rate for rate in result.appraisal.irrs.ravel() if not math.isnan(rate)]
    if len(irrs) > 1:
        found = ", ".join(per_cent(float(rate)) for rate in irrs)
        none = math.isnan(float(result.appraisal.irr))
        shown = "none of them is a return on an outlay" if none else "the one nearest to zero from above is shown"
        notes.append(
            f"the flows change sign {int(result.appraisal.sign_changes)} times and have several internal rates "
            f"({found}); {shown}. Trust NPV and MIRR here."
        )
    if result.loan is not None:
        notes.append(
            "NPV, paybacks and IRR are of the household's own money after the loan; SIR and LCOE are of the system "
            "alone."
        )
    return notes


def _always_running(stay: Position) -> list[str]:
    """A caution where today's generator is taken to run most of the day, which few households let it."""
    hours = float(stay.flows.generator_hours[0].sum()) / 365
    if hours < 12:
        return []
    return [
        f"a generator alone is taken to run {hours:.0f} hours a day, since something always draws power. Who lets it "
        "run for some hours only, or has a battery already, burns far less today, and would save far less."
    ]


def _unserved(position: Position) -> list[str]:
    unserved = float(position.flows.unserved[0].sum())
    if unserved <= 0.5:
        return []
    return [
        f"{unserved:,.0f} kWh of the first year's load finds no source; the saving counts nothing for it, though "
        "going without is worth less than having it."
    ]


def _kilometres(lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    """Distance along the earth's surface (haversine, mean radius 6,371 km)."""
    a1, a2 = math.radians(lat1), math.radians(lat2)
    half = math.sin((a2 - a1) / 2) ** 2
    half += math.cos(a1) * math.cos(a2) * math.sin(math.radians(lon2 - lon1) / 2) ** 2
    return 2 * 6371.0 * math.asin(math.sqrt(half))
