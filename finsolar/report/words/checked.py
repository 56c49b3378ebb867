"""What ``finsolar check`` prints: what a scenario holds, what its files hold, and what it leaves to assumption."""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Mapping

from finsolar.energy.house import Site, load_by_year, offered_by_year, site_of
from finsolar.energy.load_test import Asked, asked, rating_of
from finsolar.energy.sources import appliances_of, production_of
from finsolar.energy.weather_files import PriceYear
from finsolar.energy.without_grid import listed
from finsolar.incentives.own_rules import considered
from finsolar.report.words.amounts import joined
from finsolar.report.words.doubts import doubtful_bills, doubtful_household, doubtful_tariff
from finsolar.report.words.drawn import drawer_table, verdict, worst_bill
from finsolar.report.words.money_doubts import doubtful_money
from finsolar.report.words.notes import about_the_distance, counted, found_in_meter
from finsolar.scenario.assumed import assumptions
from finsolar.scenario.numbers import settled
from finsolar.scenario.problems import printable
from finsolar.scenario.schema import Alternative, Scenario
from finsolar.tariff.drawer import ONE_MONTH, drawer
from finsolar.tariff.hours import refuse_unknown_holidays
from finsolar.tariff.price_files import price_files
from finsolar.uncertainty.ranges import ranges_of
from finsolar.uncertainty.simulation import ties

Rows = list[tuple[str, str]]

NARROWEST = 60
"""Columns below which lines are left to the terminal to break."""
NO_VALUE = "not stated"
"""What stands for a default that is no value: then the reason alone says what happens."""


def checked(scenario: Scenario, width: int = 100, *, today: dt.date | None = None) -> str:
    """The text, in lines of ``width`` columns at most; raises ScenarioError where a file it names cannot be used.

    ``today`` is the day of the check, used only to say that a past bill is none yet.
    """
    ties(scenario, ranges_of(scenario))
    plain = settled(scenario)
    refuse_unknown_holidays(plain)
    hourly = price_files(plain)
    incentives = _incentives(scenario)
    site = site_of(plain)
    rows: Rows = _load(scenario, site, float(plain.household.load.level)) + _hourly_prices(hourly)
    if any(plan.system.production is None for plan in scenario.alternatives):
        rows += [
            ("weather", site.weather.source),
            ("", f"{site.weather.ghi.sum() / 365_000:.2f} peak sun hours a day on the level, over the year"),
            *[("", told) for told in about_the_distance(plain, site)],
        ]
    rows += [
        ("in service", f"{scenario.study.in_service}, {counted(scenario.study.years, 'year')} studied"),
        *[("" if i else "alternatives", _name(plan)) for i, plan in enumerate(scenario.alternatives)],
        *_told_together("sun", [(_name(plan), _sun(plain, i, site)) for i, plan in enumerate(plain.alternatives)]),
    ]
    rows += incentives
    rows += _doubts(plain, site, hourly, today)
    lines = [f"{printable(scenario.title, 80)}: reads well.", *_in_columns(rows, width)]
    past = drawer(plain, site)
    if past is not None:
        lines += ["", "The bill in the drawer:"]
        lines += [f"  {line}" for line in drawer_table(past, scenario.currency, max(width, NARROWEST) - 2)]
        for told in verdict(past, scenario.currency):
            lines += textwrap.wrap(told, max(width, NARROWEST), initial_indent="  ", subsequent_indent="  ")
        months = (
            f"A bill of {ONE_MONTH[0]} to {ONE_MONTH[1]} days bears each monthly charge once, any other by its days."
        )
        for told in [*worst_bill(past, scenario.currency), months]:
            room = max(width, NARROWEST)
            lines += textwrap.wrap(printable(told), room, initial_indent="  ", subsequent_indent="  ")
    assumed = [(each.field, _assumed(each.value, each.why)) for each in assumptions(scenario)]
    lines += ["", "Left out of the file, so assumed:", *_in_columns(assumed or [("nothing", "")], width)]
    return "\n".join(lines)


def _name(plan: Alternative) -> str:
    return printable(plan.name, 60)


def _in_columns(rows: Rows, width: int) -> list[str]:
    """Two columns, the second of them broken into lines."""
    first = max(len(name) for name, _ in rows) + 4
    room = max(width, NARROWEST) - first
    lines = []
    for name, told in rows:
        # Names are the scenario's and may be one endless word, file names must not be torn apart at a hyphen.
        broken = textwrap.wrap(printable(told), room, break_on_hyphens=False) or [""]
        heads = [f"  {name}", *[""] * (len(broken) - 1)]
        lines += [f"{head.ljust(first)}{line}".rstrip() for head, line in zip(heads, broken, strict=True)]
    return lines


def _told_together(label: str, named: Rows) -> Rows:
    """Rows of ``names: what``: those of which the same is to be said share it, without names if they are all.

    Those of which nothing is to be said are left out.
    """
    shared: dict[str, list[str]] = {}
    for name, told in named:
        shared.setdefault(told, []).append(name)
    if len(shared) == 1:
        return [(label, told) for told in shared if told]
    texts = [f"{joined(names)}: {told}" for told, names in shared.items() if told]
    return [(label if k == 0 else "", text) for k, text in enumerate(texts)]


def _load(scenario: Scenario, site: Site, level: float) -> Rows:
    load = scenario.household.load
    kwh = float(site.usage.base.sum())
    if site.usage.found is not None:
        held = [("", f"{name}: {told}") for name, told in found_in_meter(site.usage.found)]
        rows: Rows = [("load", f"from {load.file}"), *held]
    else:
        rows = [("load", f"{kwh:,.0f} kWh a year, {kwh / 365:.1f} a day")]
    if load.appliances is not None:
        rows += _appliances(scenario)
    rows += _on_backup(scenario)
    if level != 1.0:
        rows.append(("", f"the years of the study use {level * 100:g} % of that"))
    last = load_by_year(site.usage, 0.0, scenario.study.years, level)[-1]
    for new, (_, steps) in zip(load.new_loads, site.usage.later, strict=True):
        rows.append(("", f"from year {new.from_year}: {new.item}, {steps.sum():,.0f} kWh a year"))
    if load.new_loads:
        rows.append(("", f"in the last year: {last.sum():,.0f} kWh, without growth"))
    return rows


def _hourly_prices(found: Mapping[str, PriceYear]) -> Rows:
    """What each file of hourly prices holds."""
    rows: Rows = []
    for name, year in found.items():
        least, mean, most = (f"{price:.4g}" for price in (year.price.min(), year.price.mean(), year.price.max()))
        begins = (
            "no year is stated, so 1 January is taken for a Monday"
            if year.dated is None
            else f"of {year.dated}, each day on its own weekday"
        )
        rows.append(("hourly prices", f"from {name}: {least} to {most} for a kWh, {mean} on average; {begins}"))
    return rows


def _appliances(scenario: Scenario) -> Rows:
    """Each appliance."""
    lines = appliances_of(scenario.household.load.appliances or [])
    rows: Rows = []
    for each in lines:
        season = "" if each.months is None else f" in {counted(len(each.in_months), 'month')}"
        rows.append(("", f"{printable(each.name, 60)}: {each.kwh_a_day:.2f} kWh a day{season}"))
    return rows


def _on_backup(scenario: Scenario) -> Rows:
    """What all appliances on backup ask of the systems."""
    asks = asked(listed(scenario.household))
    if asks.running <= 0:
        return []
    told = f"on backup: {asks.running:,.0f} W with all of it running"
    if asks.starting > asks.running:
        told += f", {asks.starting:,.0f} W while the largest starts"
    outage = scenario.household.outage
    fuel_ready = outage is not None and outage.fuel_litres > 0
    carried = [(_name(plan), _carried(plan, asks, fuel_ready)) for plan in scenario.alternatives]
    return [("", told), *_told_together("", carried)]


def _incentives(scenario: Scenario) -> Rows:
    """The rules that the study will hold the house against, by their titles."""
    shipped, own = considered(scenario)
    if not shipped and not own:
        return [("incentives", "no rule of this place is known here")]
    sorts = [f"{len(shipped)} shipped"] * bool(shipped) + [f"{len(own)} of your own"] * bool(own)
    rows = [("incentives", f"{counted(len(shipped) + len(own), 'rule')} will be considered: {', '.join(sorts)}")]
    for rule in [*shipped, *own]:
        claim = scenario.claims.get(rule.id)
        told = [printable(rule.title, 200)]
        told += ["your own"] * (rule in own) + ["left out by your claims"] * (claim is not None and not claim.claim)
        rows.append(("", ", ".join(told)))
    return rows


def _carried(plan: Alternative, asks: Asked, fuel_ready: bool) -> str:
    """What of an alternative's system could not carry the backed-up appliances all at once; nothing if all can."""
    rating = rating_of(plan.system, plan.generator, fuel_ready)
    if rating is None:
        return "has no battery to carry them"
    if asks.running > rating.watts:
        return f"that is more than its {rating.of} of {rating.watts:,.0f} W carries for long, if all run at once"
    if asks.starting > rating.short_time_watts:
        if rating.stated:
            beyond = asks.starting - rating.short_time_watts
            return f"a start may exceed what its {rating.of} gives for a short time by {beyond:,.0f} W"
        return f"a start may exceed its {rating.of} of {rating.watts:,.0f} W; ask for its short-time rating"
    return ""


def _sun(scenario: Scenario, i: int, site: Site) -> str:
    """What the system of alternative ``i`` gives in its first year."""
    system, record = scenario.alternatives[i].system, None
    if not system.built:
        return "no system is built"
    if system.production is not None:
        record = production_of(scenario, system.production, f"alternatives.{i}.system.production")
    offered, _ = offered_by_year(system, site, 1, record)
    kwh = float(offered[0].sum())
    if record is not None:
        return f"{kwh:,.0f} kWh in the first year, from {system.production}"
    size = sum(array.kw for array in system.arrays)
    return f"{size:g} kW of modules give {kwh:,.0f} kWh in the first year, {kwh / size:,.0f} for each kW"


def _doubts(scenario: Scenario, site: Site, hourly: Mapping[str, PriceYear], today: dt.date | None) -> Rows:
    """What may be a slip of the pen: in the systems and their money, the tariffs, the household, and the bills."""
    years = scenario.study.years
    texts = _unless_of_all([(_name(plan), _odd(plan, years)) for plan in scenario.alternatives])
    holders = [("Staying as you are", scenario.tariff)]
    holders += [(_name(plan), plan.tariff) for plan in scenario.alternatives if plan.tariff is not None]
    texts += _unless_of_all(
        [(name, [] if tariff is None else doubtful_tariff(tariff, years, hourly)) for name, tariff in holders]
    )
    texts += doubtful_household(scenario, site)
    if today is not None:
        texts += doubtful_bills(scenario.household.past_bills, today)
    return [("" if k else "look again", text) for k, text in enumerate(texts)]


def _unless_of_all(named: list[tuple[str, list[str]]]) -> list[str]:
    """``names: what`` is said of them, without the names where it is said of all."""
    shared: dict[str, list[str]] = {}
    for name, said in named:
        for told in said:
            shared.setdefault(told, []).append(name)
    return [told if len(names) == len(named) else f"{joined(names)}: {told}" for told, names in shared.items()]


def _odd(plan: Alternative, years: int) -> list[str]:
    """What may be a slip of the pen: nothing that cannot be, but little that is."""
    system, said = plan.system, []
    size, paid_for = sum(array.kw for array in system.arrays), {line.category for line in plan.costs}
    if size > 2 * system.inverter.kw:
        said.append(f"{size:g} kW of modules on an inverter of {system.inverter.kw:g} kW")
    if system.battery != "none" and paid_for and "battery" not in paid_for:
        said.append("a battery without a cost line of category battery")
    if system.battery != "none" and system.battery.reserve == 1.0 and system.operation != "backup only":
        said.append("a reserve of 100%, so the battery never works")
    return said + doubtful_money(plan, years)


def _assumed(value: str, why: str) -> str:
    return why if value == NO_VALUE else f"{value}: {why}"
