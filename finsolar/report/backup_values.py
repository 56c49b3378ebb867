"""The outages to expect, and what backup is worth, as plain values for JSON and as rows of the CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from finsolar.report.numbers import value, values
from finsolar.report.words.terms import NEVER_BACK

if TYPE_CHECKING:
    from finsolar.energy.interruptions import Expected
    from finsolar.money.backup_worth import Worth
    from finsolar.money.cashflow import CashFlow
    from finsolar.results import Study
    from finsolar.scenario.schema import Interruptions

Plain = dict[str, Any]

_YEAR = ("interruptions", "hours", "hours_carried", "hours_not_carried", "kwh", "kwh_carried", "kwh_not_carried")
_KIND = (("times_a_year", "a year"), ("hours_each", "h"), ("spread", "share"), ("half_over_in", "h"),
         ("hours_of_longest_tenth", "share"))  # fmt: skip
_INDICES = (("saifi", "a year"), ("saidi_hours", "h a year"), ("caidi_hours", "h"), ("availability", "share"))


def outages_as_plain(study: Study) -> Plain | None:
    """How often the grid fails and for how long; ``None`` where the scenario has no block on outages.

    ``kinds`` : as stated, or as ``assumed`` from the record named by ``source``; ``months`` 1 for January, ``null`` for
    all; ``half_over_in`` : hours; ``hours_of_longest_tenth`` : what part of the hours a tenth of the outages makes;
    ``counted`` : whether what backup is worth stands in the cash flow. Without ``kinds`` the indices are ``null``, for
    the ``reason`` given.
    """
    from finsolar.energy.carrying import why_none
    from finsolar.energy.interruptions import half_over_in, hours_of_longest

    outage, found = study.scenario.household.outage, study.expected_outages
    if outage is None:
        return None
    counted = study.settled.study.count_backup
    if found is None:
        none: Plain = dict.fromkeys(name for name, _ in _INDICES)
        return {"kinds": []} | none | {"counted": counted, "reason": why_none(study.scenario)}
    kinds = []
    for each in found.lengths:
        kind, written = each.kind, getattr(outage, each.kind.name)
        kinds.append(
            {
                "kind": kind.name,
                "times_a_year": value(kind.times),
                "hours_each": value(kind.hours),
                "spread": kind.spread,
                "half_over_in": value(half_over_in(kind.hours, kind.spread)),
                "hours_of_longest_tenth": hours_of_longest(0.1, kind.spread),
                "months": None if kind.months is None else [month + 1 for month in kind.months],
                **_whence(written),
            }
        )
    total = found.indices
    return {
        "kinds": kinds,
        "saifi": value(total.saifi),
        "saidi_hours": value(total.saidi),
        "caidi_hours": value(total.caidi),
        "availability": value(total.availability),
        "counted": counted,
        "reason": None,
    }


def _whence(written: Interruptions) -> Plain:
    return {"assumed": bool(written.source), "source": written.source or None}


def backup_as_plain(study: Study, i: int) -> Plain | None:
    """What alternative ``i`` is expected to carry while the grid is down; ``None`` where no outages are to be expected.

    ``a_year`` : the first year, and ``kinds`` of outages one by one; ``drawn`` : the same over all cases, ``null``
    where nothing was drawn; ``worth`` : ``by`` what it is said, its ``unit`` that of an hour or a kWh, ``lines`` of
    year 0 or 1 (``without``: staying as you are; ``with``: the alternative), ``by_year`` from year 0 on;
    ``bought_in`` : the year at whose end a spared generator is bought after all; ``break_even`` : today's money at
    which the NPV without any worth of backup would be zero, ``null`` for one of its ``reasons``;
    ``npv_without``, ``payback_without``, ``irr_without`` : in cash alone, the payback simple and for good.
    """
    found = study.results[i].backup
    if found is None or study.expected_outages is None:
        return None
    names = [each.kind.name for each in study.expected_outages.lengths]
    return {
        "a_year": _year(found.carried.year),
        "kinds": [{"kind": name} | _year(kind) for name, kind in zip(names, found.carried.kinds, strict=True)],
        "drawn": _drawn(study, i),
        "worth": None if found.worth is None else _worth(found.worth, found.present_value),
        "break_even": {"an_hour": value(found.an_hour), "a_kwh": value(found.a_kwh), "reasons": found.why_not},
        "npv_without": value(found.npv_without),
        "npv_with": None if found.npv_with is None else value(found.npv_with),
        **_in_cash(study.results[i].cash),
    }


def _in_cash(cash: CashFlow) -> Plain:
    """Payback and return of the money alone, without any worth of backup, with ``reasons`` for those that are none."""
    from finsolar.money.appraisal import return_on_outlay, why_no_rate
    from finsolar.money.cashflow import FINANCING, INVESTMENT, OPERATION
    from finsolar.money.metrics import internal_rates, payback

    net = cash.of_kind(INVESTMENT, OPERATION, FINANCING)
    rates, back = internal_rates(net), payback(net).lasting
    irr, reasons = return_on_outlay(net, rates), {}
    if np.isnan(back):
        reasons["payback_without"] = NEVER_BACK
    if np.isnan(irr):
        reasons["irr_without"] = why_no_rate(np.isnan(irr), net, rates.roots, FINANCING in cash.kinds.values())
    return {"payback_without": value(back), "irr_without": value(irr), "reasons": reasons}


def no_backup(study: Study, i: int) -> str | None:
    """Why no outages are counted for alternative ``i`` of a house that is to expect some; ``None`` where they are."""
    from finsolar.money.energy_cost import LEAVES_THE_GRID

    return LEAVES_THE_GRID if study.expected_outages is not None and study.results[i].backup is None else None


def _year(of: Expected) -> Plain:
    return {name: value(getattr(of, name)) for name in _YEAR}


def _worth(of: Worth, present_value: Any) -> Plain:
    return {
        "by": list(of.by),
        "unit": None if of.unit is None else value(of.unit),
        "lines": [
            {
                "item": line.item,
                "year": line.year,
                "without": value(line.without),
                "with": value(line.left),
                "avoided": value(line.without - line.left),
            }
            for line in of.lines
        ],
        "first_year": value(of.by_year[..., 1]),
        "by_year": values(of.by_year),
        "bought_in": of.bought_in,
        "present_value": value(present_value),
    }


def _drawn(study: Study, i: int) -> Plain | None:
    if study.simulation is None:
        return None
    from finsolar.uncertainty.summary import summarise

    found: Plain = {}
    for name, cases in study.simulation.alternatives[i].backup.items():
        summary = summarise(cases)
        found[name] = {"p10": value(summary.p10), "p50": value(summary.p50), "p90": value(summary.p90)}
    return found


def outages_rows(plain: Plain) -> Iterator[tuple[Any, ...]]:
    """How often the grid fails as rows of the CSV, which belong to no alternative."""
    if (found := plain["outages"]) is None:
        return
    for each in found["kinds"]:
        told = each["source"] or ""
        for key, unit in _KIND:
            yield "all", f"outages {each['kind']}", key, "", "", each[key], unit, told
    for key, unit in _INDICES:
        yield "all", "outages", key, "", "", found[key], unit, found["reason"] or ""


def backup_rows(plan: Plain, currency: str) -> Iterator[tuple[Any, ...]]:
    """Every number of what an alternative carries, and of its worth, as rows of the CSV."""
    if plan["outage"] is None:
        return
    name, found, why = plan["name"], plan["outage"]["backup"], plan["outage"]["no_backup"]
    if why is not None:
        yield name, "backup", "npv_without", "", "", None, currency, why
    if found is None:
        return
    for told, year in [("", found["a_year"]), *((each["kind"], each) for each in found["kinds"])]:
        for key in _YEAR:
            yield name, "backup a year", key, 1, "", year[key], _unit_of(key, currency), told
    for key, drawn in (found["drawn"] or {}).items():
        for share, number in drawn.items():
            yield name, f"backup {share}", key, 1, "", number, _unit_of(key, currency), ""
    if (worth := found["worth"]) is not None:
        for line in worth["lines"]:
            for key in ("without", "with", "avoided"):
                yield name, f"worth of backup {key}", line["item"], line["year"], "", line[key], currency, ""
        for year, amount in enumerate(worth["by_year"]):
            yield name, "worth of backup", "by year", year, "", amount, currency, ""
        if worth["bought_in"] is not None:
            yield name, "worth of backup", "bought_in", worth["bought_in"], "", worth["bought_in"], "year", ""
        yield name, "worth of backup", "present value", "", "", worth["present_value"], currency, ""
    for key, unit in (("an_hour", f"{currency}/h"), ("a_kwh", f"{currency}/kWh")):
        even = found["break_even"]
        yield name, "backup break-even", key, "", "", even[key], unit, even["reasons"].get(key, "")
    yield name, "backup", "npv_without", "", "", found["npv_without"], currency, ""
    if found["npv_with"] is not None:
        yield name, "backup", "npv_with", "", "", found["npv_with"], currency, ""
    for key, unit in (("payback_without", "years"), ("irr_without", "share")):
        yield name, "backup", key, "", "", found[key], unit, found["reasons"].get(key, "")


def _unit_of(key: str, currency: str) -> str:
    return currency if key == "worth" else "a year" if key == "interruptions" else "kWh" if "kwh" in key else "h"
