"""Months, days and hours as words: ``jun-sep``, ``mon-fri``, ``15-19``; and the week they fill.

A price period claims cells of a grid (12 months, 7 weekdays, 24 hours). The grid must be filled exactly once.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from finsolar.scenario.numbers import fault
from finsolar.scenario.problems import shown

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_LONG = {
    **dict(zip(DAYS, ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"), strict=True)),
    **dict(zip(MONTHS[:6], ("january", "february", "march", "april", "may", "june"), strict=True)),
    **dict(zip(MONTHS[6:], ("july", "august", "september", "october", "november", "december"), strict=True)),
}


def long_name(name: str) -> str:
    """A day or month by its whole name: ``sunday`` for ``sun``."""
    return _LONG[name]


def named_span(value: object, names: tuple[str, ...], what: str) -> tuple[int, ...]:
    """Places of ``names`` meant by words such as ``jun-sep`` or ``mon, wed, sat-sun``; spans may wrap."""
    example = f"{names[5]}-{names[8]}" if len(names) == 12 else f"{names[0]}-{names[4]}"
    mend = f"write for example {example}, or {names[0]}, {names[2]}"
    if not isinstance(value, str):
        raise fault(f"bad-{what}", f"is {shown(value)}", mend)
    chosen: set[int] = set()
    for part in value.lower().split(","):
        ends = [end.strip() for end in part.split("-")]
        if len(ends) > 2 or not all(end[:3] in names and _LONG[end[:3]].startswith(end) for end in ends):
            raise fault(f"bad-{what}", f"does not name {what}: {shown(part.strip())}", mend)
        first, last = names.index(ends[0][:3]), names.index(ends[-1][:3])
        chosen.update((first + i) % len(names) for i in range((last - first) % len(names) + 1))
    return tuple(sorted(chosen))


def hour_span(value: object) -> tuple[int, ...]:
    """Hours of the day meant by ``15-19`` (from 15:00 up to 19:00), ``22-6`` or ``0-6, 22-24``."""
    mend = "write for example 15-19 (from 15:00 up to 19:00), 22-6, or 0-6, 22-24"
    chosen: set[int] = set()
    for part in str(value).split(","):
        match = re.fullmatch(r"\s*(\d{1,2})(?::00)?\s*-\s*(\d{1,2})(?::00)?\s*", part)
        if isinstance(value, bool) or match is None:
            raise fault("bad-hours", f"does not name hours: {shown(part.strip())}", mend)
        first, last = int(match[1]), int(match[2])
        if first > 23 or last > 24 or first == last:
            raise fault("bad-hours", f"runs from {first} to {last}", mend)
        chosen.update((first + i) % 24 for i in range((last - first) % 24 or 24))
    return tuple(sorted(chosen))


def mask(months: Sequence[int], days: Sequence[int], hours: Sequence[int]) -> NDArray[np.bool_]:
    """The cells (12, 7, 24) of a period that holds in those months, on those days, in those hours."""
    cells = np.zeros((12, 7, 24), dtype=bool)
    cells[np.ix_(list(months), list(days), list(hours))] = True
    return cells


def cells_in_words(cells: NDArray[np.bool_]) -> str:
    """One block out of a set of cells (12, 7, 24), in words for a message: ``jan-may mon-sun 3-5``.

    It begins at the first cell and takes in as many hours, then days, then months as belong to the set.
    """
    month, day, hour = (int(place) for place in np.argwhere(cells)[0])
    hours = _run(cells[month, day], hour)
    days = _run(cells[month, :, hours].all(axis=1), day)
    months = _run(cells[:, days, hours].all(axis=(1, 2)), month)

    def span(run: slice, names: tuple[str, ...]) -> str:
        first, last = names[run.start], names[run.stop - 1]
        return first if first == last else f"{first}-{last}"

    return f"{span(months, MONTHS)} {span(days, DAYS)} {hours.start}-{hours.stop}"


def week_picture(cells: NDArray[np.bool_], sign: str) -> str:
    """The week of the first month that holds any of the cells (12, 7, 24), hour by hour, each marked by a sign."""
    month = int(np.argwhere(cells)[0][0])
    head = f"  {MONTHS[month]}  " + "".join(f"{hour:<6}" for hour in range(0, 24, 6))
    rows = [
        f"  {name}  " + "".join(sign if cell else "." for cell in cells[month, day]) for day, name in enumerate(DAYS)
    ]
    return "\n".join([head.rstrip(), *rows])


def _run(belongs: ArrayLike, first: int) -> slice:
    """The unbroken run of places that belong, from ``first`` on."""
    belongs = np.asarray(belongs, dtype=bool)
    ends = np.flatnonzero(~belongs[first:])
    return slice(first, first + int(ends[0]) if len(ends) else len(belongs))
