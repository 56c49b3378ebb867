"""Amounts of a rule file: what sort each parameter is, bands over a size, shares of years, and the days they start."""

import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from finsolar.incentives.law import KINDS, Amount, Band, Dated, Ended, Entry, Unknown, Value
from finsolar.incentives.ruleparts import Fault, Faulty, Fields, Path, block, day, each, text
from finsolar.scenario.problems import near, shown

ENDED, UNKNOWN, NO_LIMIT = "ended", "unknown", "no limit"

_LARGEST = 1e12  # beyond any household's money; also keeps out what is not finite
_PERCENT = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,12})?) ?%")
_ROUNDING = 1e-9


class Sort(NamedTuple):
    """What an amount may be: `example` shows one; `share` is at most 100 %, `endless` may be `no limit`."""

    example: str
    share: bool = False
    zero: bool = False
    endless: bool = False
    whole: bool = False


SHARE = Sort("a share such as 30% or 0.30", share=True)
SHARE_OR_ZERO = Sort("a share such as 5% or 0%", share=True, zero=True)
SHARE_LIMIT = Sort("a share such as 50%, or 'no limit'", share=True, endless=True)
AMOUNT = Sort("an amount such as 2000 or 0.35")
LIMIT = Sort("an amount such as 2000, or 'no limit'", endless=True)
COUNT = Sort("a whole number such as 60", whole=True)
YEARS = Sort("whole years such as 15, or 'no limit'", endless=True, whole=True)

SORTS: Mapping[str, Sort] = {
    "share": SHARE,
    "per_kw": AMOUNT,
    "per_kwh": AMOUNT,
    "per_mwh": AMOUNT,
    "fixed": AMOUNT,
    "cap": LIMIT,
    "cap_per_kw": LIMIT,
    "cap_per_kwh": LIMIT,
    "cap_share_of_cost": SHARE_LIMIT,
    "lifetime_cap": LIMIT,
    "yearly_cap": LIMIT,
    "yearly_share_of_tax": SHARE_LIMIT,
    "yearly_shares": SHARE,
    "yearly_step_down": SHARE,
    "term_years": YEARS,
    "kwh_each": AMOUNT,
    "floor_price": AMOUNT,
    "price_each": AMOUNT,
    "fee_each": AMOUNT,
    "factor": AMOUNT,
    "weights": SHARE,
    "cap_size": LIMIT,
    "rate_left": SHARE_OR_ZERO,
    "share_spared": SHARE,
    "exempt_share": SHARE,
    "events": COUNT,
    "event_hours": AMOUNT,
    "rate": SHARE_OR_ZERO,
    "fee": SHARE_OR_ZERO,
    "smallest": AMOUNT,
    "ceiling_kw": LIMIT,
}
"""The sort of every parameter, the same in all kinds of rule that have it."""

LASTING = frozenset({name for name, sort in SORTS.items() if sort.endless} - {"ceiling_kw"})
"""What limits an award for as long as there is one: it starts with the award and is lifted by `no limit`, not ended."""

BANDED: Mapping[str, tuple[str, ...]] = {
    "upfront rebate": ("per_kw", "per_kwh"),
    "performance payment": ("per_kwh", "per_mwh"),
    "deemed certificates": ("weights",),
}
"""The parameters that may change with size, by kind of rule."""


def number(data: Any, path: Path, sort: Sort, instead: str = "") -> float:
    """Read one amount; `no limit` is infinity. `instead` tells what to write where zero was meant."""

    def fault(what: str, mend: str = f"write {sort.example}") -> Faulty:
        return Faulty(Fault(path, what, mend))

    if sort.endless and data == NO_LIMIT:
        return float("inf")
    percent = _PERCENT.fullmatch(data) if isinstance(data, str) else None
    if percent and not sort.share:
        raise fault(f"is {shown(data)}, a share where none is meant")
    found = float(percent[1]) / 100 if percent else data
    if isinstance(found, bool) or not isinstance(found, int | float):
        raise fault(f"is {shown(data)}, no amount" if data != "" else "is empty")
    if not abs(found) <= _LARGEST:
        raise fault("is no number of a sensible size")
    if found < 0 or (found == 0 and not sort.zero):
        what = f"is {shown(data)}, " + ("below zero" if sort.zero else "not above zero")
        raise fault(what, f"write {sort.example}{'' if sort.zero else instead}")
    if sort.share and found > 1:
        raise fault(f"is {shown(data)}, more than 100 %")
    if sort.whole and found != int(found):
        raise fault(f"is {shown(data)}, no whole number")
    return float(found)


def _bands(data: Any, path: Path, sort: Sort) -> tuple[Band, ...]:
    def band(entry: Any, here: Path) -> Band:
        fields = Fields(entry, here, ("up_to", "value"))
        up_to = fields.need("up_to", lambda value, at: number(value, at, LIMIT))
        value = fields.need("value", lambda value, at: number(value, at, sort))
        fields.close()
        return Band(up_to, value)

    bands = each(data, path, band)
    for place in range(1, len(bands)):
        if not bands[place].up_to > bands[place - 1].up_to:
            at = (*path, place, "up_to")
            raise Faulty(Fault(at, "is no more than the band before it", "let the bands rise, 'no limit' last"))
    if bands[-1].up_to != float("inf"):
        at = (*path, len(bands) - 1, "up_to")
        raise Faulty(Fault(at, f"is {bands[-1].up_to:g}, and larger sizes have no band", f"end with up_to: {NO_LIMIT}"))
    return bands


def _yearly_shares(data: Any, path: Path) -> tuple[float, ...]:
    shares = each(data, path, lambda value, at: number(value, at, SHARE))
    if sum(shares) > 1 + _ROUNDING:
        raise Faulty(Fault(path, f"comes to {sum(shares) * 100:.6g} % in all", "let the shares come to at most 100 %"))
    return shares


def _amount(data: Any, path: Path, name: str, kind: str | None) -> Amount:
    """Read the amount of the parameter `name`; a list only where it may be one. No kind leaves bands open."""
    sort = SORTS[name]
    if not isinstance(data, list | tuple):
        return number(data, path, sort, f"; where nothing is granted any more, '{ENDED}' and why under because")
    if name == "yearly_shares":
        return _yearly_shares(data, path)
    if kind is not None and name not in BANDED.get(kind, ()):
        raise Faulty(Fault(path, "is a list, and this does not change with size or year", f"write {sort.example}"))
    return _bands(data, path, sort)


def _entry(start: str, data: Any, path: Path, name: str, kind: str | None) -> Entry:
    fields = Fields(data, path, ("value", "because", "reference", "known"))
    word = fields.data.get("value")
    without_amount = isinstance(word, str) and word in {ENDED, UNKNOWN}
    begins = fields.take(start, path, day)
    amount = 0.0 if without_amount else fields.need("value", lambda value, at: _amount(value, at, name, kind))
    because = fields.need("because", text) if without_amount else fields.may("because", text, "")
    source = fields.source()
    fields.close()
    if not without_amount:
        return Value(begins, amount, source)
    return Ended(begins, because, source) if word == ENDED else Unknown(begins, because, source)


def _dated(data: Any, path: Path, name: str, kind: str | None) -> Dated:
    def values(found: Any, here: Path) -> tuple[Entry, ...]:
        entries: list[Entry] = []
        faults: list[Fault] = []
        for start, entry in block(found, here).items():
            try:
                entries.append(_entry(start, entry, (*here, start), name, kind))
            except Faulty as faulty:
                faults += faulty.faults
                continue
            if len(entries) > 1 and entries[-1].start <= entries[-2].start:
                what = f"stands after {entries[-2].start}"
                faults.append(Fault((*here, start), what, "write each day once, in the order of the calendar"))
        if not faults and isinstance(entries[0], Ended):
            at = (*here, str(entries[0].start))
            faults.append(Fault(at, "ends what never began", f"begin with an amount, or with '{UNKNOWN}'"))
        if faults:
            raise Faulty(*faults)
        return tuple(entries)

    fields = Fields(data, path, ("unit", "values"))
    unit, entries = fields.need("unit", text), fields.need("values", values)
    fields.close()
    return Dated(unit, entries)


def parameters(data: Any, path: Path, kind: str | None) -> dict[str, Dated]:
    """Read all dated parameters of a rule; without a kind, of any there is."""
    known = [*KINDS[kind].leading, *KINDS[kind].needed, *KINDS[kind].allowed] if kind else list(SORTS)
    found: dict[str, Dated] = {}
    faults: list[Fault] = []
    for name, entry in block(data, path).items():
        try:
            if name not in known:
                what = f"is no parameter of this kind of rule, '{kind}'" if kind else "is no parameter of any rule"
                raise Faulty(Fault((*path, name), what, near(name, known)))
            found[name] = _dated(entry, (*path, name), name, kind)
        except Faulty as faulty:
            faults += faulty.faults
    if faults:
        raise Faulty(*faults)
    return found
