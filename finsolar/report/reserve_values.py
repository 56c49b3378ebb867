"""What a reserve costs, as plain values for JSON and as rows of the CSV."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from finsolar.energy.without_grid import lasted_by
from finsolar.report.numbers import value
from finsolar.report.words.amounts import per_cent

if TYPE_CHECKING:
    from finsolar.uncertainty.reserves import ReservePrice

Plain = dict[str, Any]


def reserve_as_plain(found: ReservePrice | str) -> Plain:
    """The first year with other reserves, or only the ``reason`` why there are none.

    ``places`` : by ``reserve``, a share of the battery: ``saving`` of the first year, money; hours that the house lasts
    at ``worst``, and that ``nine_in_ten`` and ``half`` of the starts last at least; ``a_day`` the share that lasts one,
    ``null`` where no day was looked at; ``next_hour`` what a further hour of nine in ten costs a year from there on,
    ``null`` where none is to be had. ``own`` and ``knee`` are two of them, the latter ``null`` for the ``shape`` said;
    ``average_hour`` : what an hour costs a year from no reserve to all.
    """
    if isinstance(found, str):
        return {"reason": found}
    nine, half, worst = found.nine_in_ten, lasted_by(found.hours, 5), found.hours.min(axis=-1)
    places = [
        {
            "reserve": value(found.reserve[k]),
            "saving": value(found.saving[k]),
            "worst": value(worst[k]),
            "nine_in_ten": value(nine[k]),
            "half": value(half[k]),
            "a_day": value((found.hours[k] >= 24).mean()) if found.longest >= 24 else None,
            "next_hour": found.next_hour(k),
        }
        for k in range(found.reserve.size)
    ]
    return {
        "longest_hours": value(found.longest),
        "places": places,
        "own": places[found.own],
        "shape": found.shape,
        "knee": None if found.knee is None else places[found.knee],
        "average_hour": found.average_hour,
    }


def reserve_rows(plan: Plain, currency: str) -> Iterator[tuple[Any, ...]]:
    """Every number of an alternative's reserves as rows of the CSV."""
    found = None if plan["outage"] is None else plan["outage"]["reserve"]
    if found is None:
        return
    if "reason" in found:
        yield plan["name"], "reserve", "saving", 1, "", None, currency, found["reason"]
        return
    an_hour = f"{currency}/h"
    units = {"saving": currency, "worst": "h", "nine_in_ten": "h", "half": "h", "a_day": "share", "next_hour": an_hour}
    for place in found["places"]:
        told = [name for name in ("own", "knee") if place == found[name]]
        for key, unit in units.items():
            if place[key] is not None:
                kept = per_cent(place["reserve"], 0)
                yield plan["name"], f"reserve: {key}", kept, 1, "", place[key], unit, ", ".join(told)
    if found["average_hour"] is not None:
        yield plan["name"], "reserve", "average_hour", 1, "", found["average_hour"], an_hour, found["shape"]
