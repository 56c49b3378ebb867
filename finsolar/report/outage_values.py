"""When the grid is down, as plain values for JSON and as rows of the CSV."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from finsolar.energy.days import SEASONS
from finsolar.report.numbers import value, values
from finsolar.report.words.times_told import ALL_YEAR, AS_PLANNED, months_in_words, way_in_words

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from finsolar.energy.clock import Clock
    from finsolar.energy.without_grid import Carried
    from finsolar.uncertainty.outages import Endurance, HouseOutage, LoadTest, Variant

    Array = NDArray[np.float64]

Plain = dict[str, Any]

HOURS = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 21, 24, 30, 36, 42, 48, 60, 72, 84, 96, 120, 144, 168, 192, 216, 240, 288,
         336)  # fmt: skip
"""Lengths of an outage for which the share of starts that last is told."""


def outage_as_plain(outage: HouseOutage, clock: Clock) -> Plain:
    """What becomes of one alternative when the grid is down.

    ``carried`` : the load and by what statement. ``load_test`` : watts; ``in_worst_hour`` tells which of the circuits
    on backup meet in the hour of ``running_watts``, ``in_worst_hour_of_what_fits`` the same of all that fit.
    ``endurance`` : ``share`` of the starts that last at least ``hours``, over all starts and by season (``months``, 1
    for January); ``nine_in_ten`` and ``half`` : hours that so many starts last at least; ``worst_start`` : the one that
    is over first, by the wall clock; ``highest_kw`` of the load against the ``limit_kw`` of what carries it;
    ``variants`` : the same of the house in other ways. A part that is ``null`` has its reason under ``reasons``.
    """
    test, lasts = outage.load_test, outage.endurance
    return {
        "carried": _carried(outage.carried),
        "load_test": None if test is None else _load_test(test),
        "endurance": None if lasts is None else _endurance(outage, lasts, clock),
        "reasons": {
            name: why
            for name, why in (("load_test", outage.no_load_test), ("endurance", outage.no_endurance))
            if why is not None
        },
    }


def _carried(carried: Carried) -> Plain:
    return {"by": carried.kind, "kwh_a_day": value(carried.kwh.sum() / 365)}


def _load_test(test: LoadTest) -> Plain:
    return {
        "steady_watts": value(test.asked.steady),
        "running_watts": value(test.asked.running),
        "starting_watts": value(test.asked.starting),
        "fits": test.asked.fits(test.rating),
        "rating": {
            "watts": value(test.rating.watts),
            "short_time_watts": value(test.rating.short_time_watts),
            "of": test.rating.of,
            "short_time_stated": test.rating.stated,
        },
        "circuits": [
            {
                "item": each.name,
                "watts": value(each.watts),
                "start_watts": value(each.start_watts),
                "verdict": each.verdict,
                "running_watts": value(each.running),
                "starting_watts": value(each.starting),
                "usual": each.usual,
                "in_worst_hour": each.in_worst_hour,
                "in_worst_hour_of_what_fits": each.in_worst_hour_of_what_fits,
            }
            for each in test.circuits
        ],
    }


def _endurance(outage: HouseOutage, lasts: Endurance, clock: Clock) -> Plain:
    months = clock.month[:: clock.per_hour]
    lengths = [hours for hours in HOURS if hours < lasts.longest] + [lasts.longest]
    worst = int(np.lexsort((lasts.stored, lasts.hours))[0])
    seen, standard = int(clock.hour[worst * clock.per_hour]), worst % 24
    day = (worst + (seen - standard + 12) % 24 - 12) // 24 % 365  # the day on the wall, in summer an hour ahead
    return {
        "longest_hours": value(lasts.longest),
        "battery_kwh": value(lasts.capacity),
        "has_battery": lasts.capacity > 0,
        "limit_kw": value(lasts.limit_kw),
        "highest_kw": value(outage.carried.kwh.max() * clock.per_hour),
        "fuel_litres": value(lasts.litres),
        "hours": values(lengths),
        "share": _shares(lasts.hours, lengths),
        "seasons": [
            {"months": [month + 1 for month in season], "share": _shares(lasts.hours[np.isin(months, season)], lengths)}
            for season in SEASONS
        ],
        **_figures(lasts.hours, lasts.longest),
        "worst_start": {
            "day_of_year": day + 1,
            "hour": seen,
            "hours": value(lasts.hours[worst]),
            "stored_kwh": value(lasts.stored[worst]),
            "as_short": int((lasts.hours <= lasts.hours[worst] + 1e-9).sum()),
        },
        "variants": [_variant(each, lasts.longest) for each in lasts.variants],
    }


def _variant(variant: Variant, longest: float) -> Plain:
    names = variant.value if isinstance(variant.value, tuple) else ()
    amount = None if isinstance(variant.value, tuple) else value(variant.value)
    return {"kind": variant.kind, "value": amount, "without": list(names)} | _figures(variant.hours, longest)


def _figures(hours: Array, longest: float) -> Plain:
    ordered = np.sort(hours)
    return {
        "worst": value(ordered[0]),
        "nine_in_ten": value(ordered[ordered.size // 10]),
        "half": value(ordered[ordered.size // 2]),
        "a_day": value((hours >= 24).mean()) if longest >= 24 else None,
        "to_the_end": value((hours >= longest).mean()),
    }


def _shares(hours: Array, lengths: Iterable[float]) -> list[float | None]:
    return [value((hours >= length - 1e-9).mean()) for length in lengths]


def outage_rows(plan: Plain) -> Iterator[tuple[Any, ...]]:
    """Every number of an alternative's outage as rows of the CSV."""
    if plan["outage"] is None:
        return
    name, found = plan["name"], plan["outage"]
    yield name, "outage load", "kwh_a_day", "", "", found["carried"]["kwh_a_day"], "kWh", found["carried"]["by"]
    for part, why in found["reasons"].items():
        yield name, "outage", part, "", "", None, "", why
    if (test := found["load_test"]) is not None:
        for key in ("steady_watts", "running_watts", "starting_watts"):
            yield name, "load test", key, "", "", test[key], "W", ""
        for key in ("watts", "short_time_watts"):
            yield name, "load test rating", key, "", "", test["rating"][key], "W", test["rating"]["of"]
        for each in test["circuits"]:
            for key in ("watts", "start_watts", "running_watts", "starting_watts"):
                yield name, f"circuit {key}", each["item"], "", "", each[key], "W", each["verdict"]
    if (lasts := found["endurance"]) is None:
        return
    for key, unit in (("longest_hours", "h"), ("battery_kwh", "kWh"), ("fuel_litres", "litres"), ("limit_kw", "kW"),
                      ("highest_kw", "kW")):  # fmt: skip
        yield name, "endurance", key, "", "", lasts[key], unit, ""
    for key in ("day_of_year", "hour", "hours", "stored_kwh", "as_short"):
        yield name, "worst start", key, "", "", lasts["worst_start"][key], "", ""
    curves = [(ALL_YEAR, lasts["share"])]
    curves += [(months_in_words(each["months"]), each["share"]) for each in lasts["seasons"]]
    for season, shares in curves:
        for hours, share in zip(lasts["hours"], shares, strict=True):
            yield name, "share of starts that last", f"{hours:g} h", "", "", share, "share", season
    for way, each in [(AS_PLANNED, lasts), *((way_in_words(v), v) for v in lasts["variants"])]:
        for key, unit in (
            ("worst", "h"),
            ("nine_in_ten", "h"),
            ("half", "h"),
            ("a_day", "share"),
            ("to_the_end", "share"),
        ):
            if each[key] is not None:
                yield name, f"endurance {key}", way, "", "", each[key], unit, ""
