"""The terms of a rule file: what each may say, and which kinds of rule take it."""

from collections.abc import Mapping
from typing import Any, NamedTuple, TypeVar

from finsolar.incentives.law import GRANTS, KINDS, PAYMENTS, PRICE_REDUCTIONS, TAXES, Term
from finsolar.incentives.ruleparts import Fault, Faulty, Fields, Path, Reader, block, each, flag, one_of, text
from finsolar.incentives.rulevalues import AMOUNT, SHARE, number
from finsolar.scenario.problems import near, shown

T = TypeVar("T")

ELECTIVE, UNLIMITED = "elective", "unlimited"

_FIELDS = ("value", "because", "reference", "known")
_LONGEST_CARRY = 100  # years; more is without end


def _term(read: Reader[T]) -> Reader[Term[T]]:
    """Return the reader of a term: its value, why, and where it is written."""

    def read_term(data: Any, path: Path) -> Term[T]:
        fields = Fields(data, path, _FIELDS)
        value, because, source = fields.need("value", read), fields.need("because", text), fields.source()
        fields.close()
        return Term(value, because, source)

    return read_term


def _refundable(data: Any, path: Path) -> str:
    if data == ELECTIVE:
        return ELECTIVE
    if not isinstance(data, bool):
        raise Faulty(Fault(path, f"is {shown(data)}", f"write true, false, or {ELECTIVE} where the household chooses"))
    return "yes" if data else "no"


def refundable(data: Any, path: Path) -> tuple[Term[str], float]:
    """Read whether a credit is refundable, and what share of it choosing that costs."""
    fields = Fields(data, path, (*_FIELDS, "haircut"))
    value, because, source = fields.need("value", _refundable), fields.need("because", text), fields.source()
    haircut = fields.may("haircut", lambda found, at: number(found, at, SHARE), 0.0)
    if "haircut" in fields.data and value in {"yes", "no"}:
        fields.fault("haircut", f"has no use where value is not {ELECTIVE}", "remove it")
    fields.close()
    return Term(value, because, source), haircut


def _carry_years(data: Any, path: Path) -> float:
    if data == UNLIMITED:
        return float("inf")
    if isinstance(data, bool) or not isinstance(data, int) or not 0 <= data <= _LONGEST_CARRY:
        raise Faulty(Fault(path, f"is {shown(data)}, no number of years", f"write 0, 5 or {UNLIMITED}"))
    return float(data)


def _arrival(data: Any, path: Path) -> int:
    if isinstance(data, bool) or data not in (0, 1, 2):
        raise Faulty(Fault(path, f"is {shown(data)}, no year in which the money comes", "write 0, 1 or 2"))
    return int(data)


def _rule_id(data: Any, path: Path) -> str:
    found = text(data, path)
    if any(sign.isspace() for sign in found):
        raise Faulty(Fault(path, f"is {shown(data)}, no id of a rule", "write it as us/ny/some-rule"))
    return found


def _named(*words: str) -> Reader[tuple[str, ...]]:
    """Return the reader of a list of rule ids, or of some words beside them."""

    def one(data: Any, path: Path) -> str:
        if isinstance(data, str) and data not in words and any(sign.isspace() for sign in data.strip()):
            raise Faulty(Fault(path, f"is {shown(data)}, no id of a rule", near(data, words) if words else "write ids"))
        return data if data in words else _rule_id(data, path)

    def read(data: Any, path: Path) -> tuple[str, ...]:
        names = each(data, path, one)
        for place, name in enumerate(names):
            if name in names[:place]:
                raise Faulty(Fault((*path, place), f"names {shown(name)} a second time", "remove it"))
        if PAYMENTS in names and len(names) > 1:
            raise Faulty(Fault(path, f"names rules beside '{PAYMENTS}', which takes in all", f"write [{PAYMENTS}]"))
        return names

    return read


def _zones(data: Any, path: Path) -> dict[str, float]:
    fields = Fields(data, path, [str(name) for name in block(data, path)])
    found = {name: fields.need(name, lambda value, at: number(value, at, AMOUNT)) for name in fields.data}
    fields.close()
    return found


class TermSort(NamedTuple):
    """A term: how it is read, the kinds of rule that take it, and whether those need it."""

    read: Reader[Any]
    kinds: frozenset[str]
    needed: bool = False


def _kinds(*names: str) -> frozenset[str]:
    return frozenset(names)


_CREDIT, _DEDUCTION, _REBATE = "tax credit", "tax deduction", "upfront rebate"
_PERFORMANCE, _METERED, _DEEMED = "performance payment", "metered certificates", "deemed certificates"
_ALL = frozenset(KINDS)

TERMS: Mapping[str, TermSort] = {
    "refundable": TermSort(refundable, _kinds(_CREDIT), needed=True),
    "carry_forward": TermSort(_term(_carry_years), _kinds(_CREDIT), needed=True),
    "over_yearly_cap": TermSort(_term(one_of(("carried", "lost"))), _kinds(_CREDIT)),
    "against": TermSort(_term(one_of(TAXES)), _kinds(_CREDIT, _DEDUCTION), needed=True),
    "lowered_by": TermSort(_term(_named(PRICE_REDUCTIONS, GRANTS)), _kinds(_CREDIT, _DEDUCTION, _REBATE)),
    "credit_of": TermSort(_term(_rule_id), _kinds(_CREDIT)),
    "lowers_price": TermSort(_term(flag), _kinds(_REBATE, _DEEMED), needed=True),
    "taxable": TermSort(
        _term(one_of(("no", "yes", "if itemised", "household decides"))),
        _kinds(_CREDIT, _REBATE, _PERFORMANCE, _METERED, "capacity payment"),
    ),
    "excludes": TermSort(_term(_named()), _ALL),
    "exempts": TermSort(_term(_named(PAYMENTS)), _kinds("income tax exemption"), needed=True),
    "first_come": TermSort(_term(flag), _ALL),
    "business_use": TermSort(_term(lambda data, path: number(data, path, SHARE)), _kinds(_CREDIT)),
    "paid_on": TermSort(_term(one_of(("generation", "export", "all fed in"))), _kinds(_PERFORMANCE), needed=True),
    "to_year_end": TermSort(_term(flag), _kinds(_PERFORMANCE)),
    "size": TermSort(_term(one_of(("solar kw", "battery kwh"))), _kinds(_DEEMED), needed=True),
    "zones": TermSort(_term(_zones), _kinds(_DEEMED)),
    "arrives_in_year": TermSort(_term(_arrival), _kinds(_CREDIT, _DEDUCTION, _REBATE, _DEEMED)),
}
"""Every term that a rule may have, by its field. `refundable` is read together with what choosing it costs."""
