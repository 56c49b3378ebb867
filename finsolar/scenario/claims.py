"""What incentive rules are told beyond the system and its costs: claims by rule, rules of one's own, days and hands.

Which ids there are is known only where the rules lie; here an id is words, and a rule written out is plain data.
"""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, PlainSerializer, PlainValidator, Tag, ValidationError
from pydantic_core import InitErrorDetails, PydanticCustomError

from finsolar.scenario.blocks import Block, Day, Text, one_or_list
from finsolar.scenario.numbers import Amount, fault
from finsolar.scenario.problems import shown

OneOrYearly = Annotated[
    Annotated[Amount, Tag("one")] | Annotated[list[Amount], Field(min_length=1), Tag("list")],
    Discriminator(one_or_list),
]
"""One amount for every year, or a list: year 1 first, the last one repeating."""

Zone = Annotated[Text, BeforeValidator(lambda value: str(value) if type(value) is int else value)]
"""The name of a rule's zone; a whole number is one too."""


def _spaced(rule_id: str) -> PydanticCustomError | None:
    """The fault of an id with spaces that are not single ones within it."""
    if " ".join(rule_id.split()) == rule_id:
        return None
    return fault("rule-id", f"is {shown(rule_id)}, with spaces that no id has", "write the id of a rule")


def _rule_id(value: object) -> object:
    # Text would mend the spaces, and two ways to write one id might meet.
    words = _spaced(value) if isinstance(value, str) and value.strip() else None
    if words is not None:
        raise words
    return value


RuleId = Annotated[Text, BeforeValidator(_rule_id)]
"""The name of a rule, such as ``us/residential-clean-energy-credit``."""

Installer = Literal["own labour", "contractor", "licensed contractor", "accredited contractor"]
"""Who does the work."""


class Claim(Block):
    """What the household says of one rule; what is left out was not told.

    ``claim: false`` leaves the rule out by choice; ``kw`` is the average power given in called events, ``used_before``
    what of a lifetime cap is used up, ``price`` that of one certificate in the money of each year.
    """

    claim: bool = True
    confirmed: bool | None = None
    funds: bool | None = None
    refundable: bool | None = None
    taxed: bool | None = None
    kw: Amount | None = None
    used_before: Amount | None = None
    price: OneOrYearly | None = None
    zone: Zone | None = None


class Dates(Block):
    """Days, beside completion and the first day of service, that may select what a rule grants."""

    contract: Day | None = None
    purchase: Day | None = None
    electrical_certificate: Day | None = None
    commissioning: Day | None = None
    permission_to_operate: Day | None = None
    registration: Day | None = None
    claim: Day | None = None


@dataclass(frozen=True)
class RawRule:
    """A rule written out in the scenario, unchecked: what its own file would hold, and its path, as ``rules.1``."""

    data: dict[Any, Any]
    path: str = ""

    @property
    def id(self) -> str:
        """The name of the rule."""
        return str(self.data["id"])

    def __str__(self) -> str:
        return self.id


def _raw_rule(value: object) -> RawRule:
    if isinstance(value, RawRule):
        return value
    if not isinstance(value, dict):
        raise fault("rule", f"is {shown(value)}", "write a folder, a .yaml file, or a whole rule")
    found: list[InitErrorDetails] = [
        {"type": fault("control-sign", f"holds a sign that cannot be printed: {shown(text)}", "remove the sign"),
         "loc": way, "input": text}
        for way, text in _texts(value, ()) if not _printable(text)
    ]  # fmt: skip
    if "id" not in value:
        raise fault("rule", "is a rule without an id", "add `id:`, such as our-town/battery-rebate")
    rule_id, words = value["id"], None
    if not isinstance(rule_id, str) or not rule_id.strip():
        words = fault("not-text", f"is {shown(rule_id)}", "write a name such as our-town/battery-rebate")
    elif not found:
        words = _spaced(rule_id)
    if words is not None:
        found.append({"type": words, "loc": ("id",), "input": rule_id})
    if found:
        raise ValidationError.from_exception_data("rule", found)
    return RawRule(_with_days(value))


def _texts(value: object, way: tuple[int | str, ...]) -> Iterator[tuple[tuple[int | str, ...], str]]:
    """Every text of plain data, names of fields among them, and the way to it."""
    if isinstance(value, str):
        yield way, value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield (*way, name), name
            yield from _texts(inner, (*way, name))
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from _texts(inner, (*way, place))


def _printable(text: str) -> bool:
    return not any(unicodedata.category(sign) in {"Cc", "Cs"} and sign not in "\n\t" for sign in text)


def _with_days(value: Any) -> Any:
    """Plain data in which texts such as 2026-09-01 are days, as YAML has them; also names of fields."""
    if isinstance(value, dict):
        return {_with_days(name): _with_days(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_with_days(inner) for inner in value]
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value, re.ASCII):
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            return value  # no day of the calendar; whoever reads the rule says so
    return value


RuleSource = Annotated[
    Annotated[Text, Tag("words")]
    | Annotated[RawRule, PlainValidator(_raw_rule), PlainSerializer(lambda rule: rule.data), Tag("rule")],
    Discriminator(lambda value: "words" if isinstance(value, str) else "rule"),
]
"""A folder of rules or the file of one, beside the scenario; or a whole rule."""
