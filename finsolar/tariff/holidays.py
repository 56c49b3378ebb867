"""Public holidays: days that many tariffs count as a Sunday."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from finsolar.energy.clock import RULE_YEAR, Clock

if TYPE_CHECKING:
    from holidays import HolidayBase

DAYS = 365

_SEVERAL = "; "
"""Stands between holidays that fall on one day."""


def holidays_of(country: str, region: str | None, years: Iterable[int]) -> dict[date, str]:
    """The public holidays of a country and, where given, its region, by date; days off in lieu among them.

    ``country`` is a code of ISO 3166-1, ``region`` that of a part of the country, as in ISO 3166-2 after the hyphen.
    Names are English where the list has them, else in the country's own language, whatever the machine's language.
    Two holidays on a day share one entry, with a semicolon between them. Source: the package ``holidays``.

    Raises ValueError for a country or region that the package does not know, and lists the regions it knows.
    """
    listed = _calendar(country, region)
    spoken = [listed.default_language or "", *(listed.supported_languages or ())]
    english = next((language for language in spoken if language.startswith("en")), listed.default_language)
    return dict(sorted(_calendar(country, region, years, english).items()))


def holiday_mask(
    country: str, region: str | None, clock: Clock, names: Collection[str] | None = None
) -> NDArray[np.bool_]:
    """Whether each step lies on a public holiday by the wall clock, (steps,) bool.

    The fixed calendar takes the holidays of `RULE_YEAR`, like its clock changes: each keeps its date and its weekday,
    Easter and what hangs on it fall as in the calendar year, and holidays made by law since then count. A feast by
    the moon stands where it falls in that year. ``names`` leaves only those listed, whatever their case; a day off in
    lieu belongs to its holiday.

    Raises ValueError for a country or region not known, for names it does not have (listing those it has), and where
    no holiday is known for that year.
    """
    found = holidays_of(country, region, [RULE_YEAR])
    if not found:
        raise ValueError(f"no public holidays of {country} are known for the calendar of the study")
    days = found if names is None else _named(found, names)
    is_holiday = np.zeros(DAYS, dtype=bool)
    is_holiday[[day.timetuple().tm_yday - 1 for day in days]] = True
    return is_holiday[_day_of_year(clock)]


def holidays_among(
    dates: NDArray[np.datetime64], country: str, region: str | None, names: Collection[str] | None = None
) -> NDArray[np.bool_]:
    """Whether each of some real days is a public holiday, (days,) bool; ``names`` leaves only those listed.

    Raises ValueError for a country or region not known.
    """
    years = np.unique(dates.astype("datetime64[Y]").astype(np.int64) + 1970)
    found = holidays_of(country, region, years.tolist())
    days = list(found) if names is None else days_named(found, names)
    return np.isin(dates, np.array(days, dtype="datetime64[D]"))


def _calendar(
    country: str, region: str | None, years: Iterable[int] | None = None, language: str | None = None
) -> HolidayBase:
    """The package's own holidays, with its refusals in our words."""
    from holidays import country_holidays

    try:
        of_country = country_holidays(country, language=language)
    except NotImplementedError as error:
        raise ValueError(f"no holidays are known for {country!r}: write a code of two letters, such as CA") from error
    try:
        return country_holidays(country, subdiv=region, years=years, language=language)
    except NotImplementedError as error:
        known = ", ".join(of_country.subdivisions) or "none, so leave the region out"
        raise ValueError(f"no holidays are known for the region {region!r} of {country}; known: {known}") from error


def _named(found: dict[date, str], names: Collection[str]) -> list[date]:
    """The days whose holidays are among those listed."""
    unknown = unknown_names(found, names)
    if unknown:
        raise ValueError(f"no holiday is called {', '.join(unknown)}; known: {', '.join(names_of(found))}")
    return days_named(found, names)


def names_of(found: dict[date, str]) -> list[str]:
    """What the holidays are called, each once, in the order of the alphabet, without remarks."""
    return sorted({_without_remark(each) for name in found.values() for each in name.split(_SEVERAL)})


def unknown_names(found: dict[date, str], names: Iterable[str]) -> list[str]:
    """Those of the names that no holiday has."""
    known = {_plain(name) for name in names_of(found)}
    return [name for name in names if _plain(name) not in known]


def days_named(found: dict[date, str], names: Collection[str]) -> list[date]:
    """The days whose holidays are among those listed; a name that no day has leads to none."""
    wanted = {_plain(name) for name in names}
    return [day for day, name in found.items() if wanted & {_plain(each) for each in name.split(_SEVERAL)}]


def _plain(name: str) -> str:
    """A name as it is compared: small letters, plain apostrophes, no remark such as "(observed)"."""
    return _without_remark(name.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")).casefold().strip()


def _without_remark(name: str) -> str:
    return re.sub(r"\s*\([^()]*\)$", "", name.strip())


def _day_of_year(clock: Clock) -> NDArray[np.int64]:
    """The day (0 to 364) of each step on the wall clock, (steps,).

    Counted from one weekday to the next; hours that fall in the neighbouring year belong to the other end of this one.
    """
    moved = (np.diff(clock.weekday, prepend=clock.weekday[:1]) + 3) % 7 - 3
    first = -1 if clock.month[0] == 11 else 0
    return np.asarray((first + np.cumsum(moved)) % DAYS)
