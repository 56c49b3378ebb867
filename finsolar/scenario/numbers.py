"""Numbers as a household writes them: ``3%``, ``0.03``, ``1450``, or a range.

A field that may vary holds, once read, either a float or a :class:`Range`. :func:`settled` turns a whole
scenario into one without ranges: central values for a single study, or arrays ``(cases, 1)`` for many.
That is why the field types below are ``Any`` to a type checker: the engine takes floats and arrays alike.
"""

from __future__ import annotations

import math
import typing
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Annotated, Any, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray
from pydantic import BaseModel, PlainSerializer, PlainValidator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from finsolar.scenario.problems import printable, shown

ModelT = TypeVar("ModelT", bound=BaseModel)

_LARGEST = 1e12
HOURS_OF_A_YEAR = 8760
_SMALLEST = 1e-6  # the least that counts as more than nothing
_RISES = (-0.2, 0.5)  # the yearly rises that a scenario may state


@dataclass(frozen=True)
class Range:
    """An uncertain number. ``kind`` is the set of words it was written with.

    low, likely, high : a best guess with limits; mean, sd : a bell curve; from, to : anything between;
    characteristic, shape : lives by Weibull's law, of which a share exp(-(t / characteristic)^shape) outlasts t.
    yearly_sd : how far each year lies from the number by itself, a standard deviation; the years are independent.
    """

    kind: str
    values: tuple[float, ...]
    yearly_sd: float = 0.0

    @property
    def central(self) -> float:
        """The value that a study without draws uses: likely, mean, or the middle.

        The mean of lives by Weibull's law is characteristic * Gamma(1 + 1 / shape).
        """
        if self.kind == "low, likely, high":
            return self.values[1]
        if self.kind == "characteristic, shape":
            return self.values[0] * math.gamma(1.0 + 1.0 / self.values[1])
        if self.kind == "mean, sd":
            return self.values[0]
        return (self.values[0] + self.values[1]) / 2

    @property
    def ends(self) -> tuple[float, float]:
        """A low and a high value: the limits as written, or one standard deviation to either side of the mean.

        Of lives by Weibull's law, those that one in ten, and nine in ten, do not reach.
        """
        if self.kind == "characteristic, shape":
            low, high = (self.values[0] * (-math.log(1.0 - p)) ** (1.0 / self.values[1]) for p in (0.1, 0.9))
            return low, high
        if self.kind == "mean, sd":
            return self.values[0] - self.values[1], self.values[0] + self.values[1]
        return self.values[0], self.values[-1]


def most(value: float | Range) -> float:
    """The most that a number may be drawn as: four standard deviations above a mean, within the field's limits."""
    if not isinstance(value, Range):
        return float(value)
    return value.values[0] + 4.0 * value.values[1] if value.kind == "mean, sd" else value.values[-1]


_KINDS = {
    frozenset({"low", "likely", "high"}): ("low", "likely", "high"),
    frozenset({"mean", "sd"}): ("mean", "sd"),
    frozenset({"from", "to"}): ("from", "to"),
}
_LIFE_KINDS = {**_KINDS, frozenset({"characteristic", "shape"}): ("characteristic", "shape")}
_SHAPES = (0.5, 50.0)  # below, a few units would outlive all others by far and make the mean


_YEARLY = "yearly_sd"
_WIDEST_YEARS = 0.2  # no price and no sunlight is heard of that strays further year by year

RANGE_WORDS: frozenset[str] = frozenset({_YEARLY}).union(*_LIFE_KINDS)
"""Every word that a range may be written with."""


def fault(code: str, what: str, mend: str, picture: str = "") -> PydanticCustomError:
    """An error in our own words for pydantic to carry to the field's line."""
    # The words go in as values, since braces in them would be taken for placeholders of the template.
    return PydanticCustomError(code, "{what}; {mend}", {"what": what, "mend": mend, "picture": picture})


def _limits_in_words(low: float, high: float, percent: bool) -> str:
    def one(x: float) -> str:
        return f"{x * 100:g}%" if percent else f"{x:g}"

    if high >= _LARGEST:
        return "above zero" if 0 < low <= _SMALLEST else f"{one(low)} or more"
    if 0 < low <= _SMALLEST:
        return f"above zero, up to {one(high)}"
    return f"between {one(low)} and {one(high)}"


def _single(value: object, percent: bool, low: float, high: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        example = "3% or 0.03" if percent else f"a number such as {_such_as(high)}"
        raise fault("not-a-number", f"is {shown(value)}", f"write {example}")
    if isinstance(value, str):
        number = _from_text(value, percent, high)
    else:
        number = float(value)
        if percent and abs(number) >= 1:
            # A share about one whole, such as 104%, if the field can hold it; else per cent without their sign.
            meant = value * 100 if low >= 0.1 and number <= high else value
            plainly = f" or {meant / 100:g}" if abs(meant) < 100 else ""
            raise fault("bare-rate", f"is {value:g}; a rate is meant", f"write {meant:g}%{plainly}")
    if not math.isfinite(number) or abs(number) > _LARGEST:
        raise fault("not-finite", f"is {shown(value)}, beyond any sensible size", "write a smaller number")
    if not low <= number <= high:
        limits = _limits_in_words(low, high, percent)
        if number < 0 <= low:
            raise fault("negative", f"is {shown(value)}; it cannot be negative", f"write {limits}")
        raise fault("out-of-range", f"is {shown(value)}", f"write a value {limits}")
    return number


def _such_as(high: float) -> str:
    """A number that a field takes, by the greatest that it may hold: money and kWh, or hours, times and degrees."""
    return "1450" if high > HOURS_OF_A_YEAR else "2.5"


def _from_text(text: str, percent: bool, high: float) -> float:
    bare = text.strip().removesuffix("%").strip()
    try:
        number = float(bare)
    except ValueError:
        if bare.replace(",", "").replace(".", "").lstrip("+-").isdecimal():
            # Whether a comma groups thousands or begins decimals differs by country: it is not guessed.
            mend = f"write no comma, and a point before decimals, as in {'1.5%' if percent else '1450.5'}"
        else:
            mend = "write 3% or 0.03" if percent else f"write a plain number such as {_such_as(high)}"
        raise fault("not-a-number", f"is {shown(text)}", mend) from None
    if text.strip().endswith("%"):
        if not percent:
            # How often and how long may well be thought of in per cent, money and kWh hardly.
            mend = (
                f"write {number:g}"
                if high > HOURS_OF_A_YEAR
                else f"write {number / 100:g}, or {number:g} if that is meant"
            )
            raise fault("not-a-rate", f"is {shown(text)}; an amount is meant", mend)
        return number / 100
    raise fault("quoted-number", f"is the text {shown(text)}", f"write {text.strip()} without quotes")


def _number(
    value: object, *, percent: bool, low: float, high: float, varies: bool, is_life: bool = False, yearly: bool = False
) -> float | Range:
    if not isinstance(value, Mapping) or (value and not RANGE_WORDS & set(value)):
        return _single(value, percent, low, high)
    if not varies:
        raise fault("cannot-vary", "is a range, but this field cannot vary", "write one value")
    kinds = _LIFE_KINDS if is_life else _KINDS
    if _YEARLY in value and not yearly:
        mend = "write it for the rise of a price, for brightness or for level"
        raise fault("bad-range", f"has {_YEARLY}, but its years cannot differ", mend)
    words = kinds.get(frozenset(value) - {_YEARLY})
    if words is None and _YEARLY in value and set(value) <= {_YEARLY, "path"}:
        if "path" in value:
            raise fault("bad-range", f"has a path, whose years are given, and {_YEARLY}", "leave one of them out")
        raise fault("bad-range", f"has nothing but {_YEARLY}", "write it beside a range, such as {mean: 3%, sd: 1%}")
    if words is None:
        *first, last = ("{" + ", ".join(each) + "}" for each in kinds.values())
        raise fault(
            "bad-range",
            f"is a range with {printable(', '.join(map(str, value)), 60) or 'nothing in it'}",
            f"write {', '.join(first)} or {last}",
        )
    limits = {"sd": (0.0, high), "shape": _SHAPES}
    numbers = tuple(_single(value[word], percent, *limits.get(word, (low, high))) for word in words)
    if words[1] not in {"sd", "shape"} and list(numbers) != sorted(numbers):
        ends = f"its {words[0]} to its {words[-1]}" if words[0] == "from" else f"{words[0]} to {words[-1]}"
        raise fault("bad-range", f"does not rise from {ends}", "put the values in order")
    own = _single(value[_YEARLY], percent, 0.0, _WIDEST_YEARS) if _YEARLY in value else 0.0
    return Range(", ".join(words), numbers, own)


def _plain(value: object) -> object:
    if isinstance(value, Range):
        own = {_YEARLY: value.yearly_sd} if value.yearly_sd else {}
        return dict(zip(value.kind.split(", "), value.values, strict=True)) | own
    return value.tolist() if isinstance(value, np.ndarray) else value


def number_type(
    *, percent: bool, low: float, high: float, varies: bool = True, is_life: bool = False, yearly: bool = False
) -> Any:
    """A field type: a number within limits, written plainly, in per cent, or as a range.

    A life may also be stated by Weibull's law, and what is ``yearly`` may differ from year to year.
    """
    check = partial(_number, percent=percent, low=low, high=high, varies=varies, is_life=is_life, yearly=yearly)
    return Annotated[Any, PlainValidator(check), PlainSerializer(_plain)]


def is_percent(field: FieldInfo) -> bool:
    """Whether a field of the schema is a rate or a share, best shown in per cent."""
    return any(check is rises or getattr(check, "keywords", {}).get("percent", False) for check in _checks(field))


def limits(field: FieldInfo) -> tuple[float, float]:
    """The least and the greatest number that a field may hold; none of its own, without any, for fields of text."""
    for check in _checks(field):
        if check is rises:
            return _RISES
        if hasattr(check, "keywords"):
            return float(check.keywords["low"]), float(check.keywords["high"])
    return -math.inf, math.inf


def _checks(field: FieldInfo) -> list[Any]:
    """The functions that check a field's value, also where the field is optional or a choice."""
    found, waiting = list(field.metadata), [field.annotation]
    while waiting:
        annotation = waiting.pop()
        found += getattr(annotation, "__metadata__", ())
        waiting += typing.get_args(annotation)
    return [check.func for check in found if isinstance(check, PlainValidator)]


def rises(value: object) -> object:
    """A yearly rise, or ``{path: [...]}``: one rise for each year from the second, the last repeating."""
    if isinstance(value, Mapping) and set(value) == {"path"}:
        path = value["path"]
        if not isinstance(path, list) or len(path) < 2:
            raise fault("bad-path", "is a path without a list of yearly rises", "write {path: [3%, 4%, 2%]}")
        return tuple(_single(step, True, *_RISES) for step in path)
    return _number(value, percent=True, low=_RISES[0], high=_RISES[1], varies=True, yearly=True)


Amount = number_type(percent=False, low=0, high=_LARGEST)
Positive = number_type(percent=False, low=_SMALLEST, high=_LARGEST)
Fixed = number_type(percent=False, low=0, high=_LARGEST, varies=False)
FixedPositive = number_type(percent=False, low=_SMALLEST, high=_LARGEST, varies=False)
Share = number_type(percent=True, low=0, high=1)
FixedShare = number_type(percent=True, low=0, high=1, varies=False)
PartShare = number_type(percent=True, low=0, high=0.9)
Tilt = number_type(percent=False, low=0, high=90, varies=False)
Azimuth = number_type(percent=False, low=0, high=360, varies=False)
Latitude = number_type(percent=False, low=-66, high=66, varies=False)
Longitude = number_type(percent=False, low=-180, high=180, varies=False)
Adder = number_type(percent=False, low=-1e6, high=_LARGEST)
SignedShare = number_type(percent=True, low=-1, high=1)
BaselineShare = number_type(percent=True, low=0.01, high=10, varies=False)
Brightness = number_type(percent=True, low=0.5, high=1.5, yearly=True)
Level = number_type(percent=True, low=0.1, high=5, yearly=True)
SomeShare = number_type(percent=True, low=_SMALLEST, high=1)
SunHoursADay = number_type(percent=False, low=0, high=12, varies=False)
Celsius = number_type(percent=False, low=-60, high=60, varies=False)
HoursADay = number_type(percent=False, low=0, high=24, varies=False)
OutageHours = number_type(percent=False, low=1, high=336, varies=False)
TimesAYear = number_type(percent=False, low=0, high=1000)
Length = number_type(percent=False, low=_SMALLEST, high=HOURS_OF_A_YEAR)
Spread = number_type(percent=True, low=0.1, high=10, varies=False)
Waiting = number_type(percent=False, low=0, high=HOURS_OF_A_YEAR, varies=False)
PerKelvin = number_type(percent=True, low=-0.01, high=0, varies=False)
Rate = number_type(percent=True, low=-0.2, high=0.5)
Interest = number_type(percent=True, low=0, high=0.5)
Life = number_type(percent=False, low=1, high=100, is_life=True)
Rise = Annotated[Any, PlainValidator(rises), PlainSerializer(_plain)]


def per_case(value: ArrayLike) -> NDArray[np.float64]:
    """A settled number as one value a case: () for a plain number, (cases,) for a draw of shape (cases, 1)."""
    array = np.asarray(value, dtype=np.float64)
    return array[..., 0] if array.ndim else array


def settled(model: ModelT, chosen: Mapping[str, Any] | None = None) -> ModelT:
    """A copy without ranges: each takes its central value, or the one in ``chosen`` for its dotted path.

    ``chosen`` may name any number that can vary, a range or not, and may give an array ``(cases, 1)``, or
    ``(cases, m)`` for a rise of prices, for brightness or for level, one for each year; paths count list entries from
    0: ``alternatives.0.costs.3.cost``; claims go by their rule: ``claims.us/nc/some-rule.kw``. Raises
    ValueError for a path that leads nowhere or an array of another shape.
    """
    waiting = dict(chosen or {})
    for name, value in waiting.items():
        by_year = name.endswith(("rise", ".brightness", ".level"))
        if np.ndim(value) and (np.ndim(value) != 2 or (np.shape(value)[1] != 1 and not by_year)):
            raise ValueError(f"{name} needs a number or a column (cases, 1), not the shape {np.shape(value)}")
    copy = _settled(model, waiting, "")
    if waiting:
        raise ValueError(f"the scenario has no {', '.join(sorted(waiting))}")
    return copy


def expected(written: Any, used: Any) -> Any:
    """``used``, a part of a settled scenario, but with whatever may be a range as ``written``, ranges central.

    It is what a household can know beforehand: its own choices, and of the rest the middle.
    """
    if isinstance(written, BaseModel):
        found = {}
        for name, field in type(written).model_fields.items():
            old, new = getattr(written, name), getattr(used, name)
            entries = old if isinstance(old, list) else [old]
            inside = any(isinstance(entry, BaseModel) for entry in entries)
            found[name] = expected(old, new) if inside or _may_vary(field) else new
        return used.model_copy(update=found)
    if isinstance(written, list):
        return [expected(*pair) for pair in zip(written, used, strict=True)]
    return written.central if isinstance(written, Range) else written


def _may_vary(field: FieldInfo) -> bool:
    return any(check is rises or getattr(check, "keywords", {}).get("varies", False) for check in _checks(field))


def _settled(model: ModelT, waiting: dict[str, Any], path: str) -> ModelT:
    changes = {}
    for name in type(model).model_fields:
        old = getattr(model, name)
        new = _settled_value(old, waiting, f"{path}{name}")
        if new is not old:
            changes[name] = new
    return model.model_copy(update=changes) if changes else model


def _settled_value(value: Any, waiting: dict[str, Any], path: str) -> Any:
    if path in waiting:
        return waiting.pop(path)
    if isinstance(value, Range):
        return value.central
    if isinstance(value, BaseModel):
        return _settled(value, waiting, f"{path}.")
    if isinstance(value, list):
        new = [_settled_value(entry, waiting, f"{path}.{i}") for i, entry in enumerate(value)]
        return new if any(a is not b for a, b in zip(new, value, strict=True)) else value
    if isinstance(value, dict):
        changed = {name: _settled_value(entry, waiting, f"{path}.{name}") for name, entry in value.items()}
        return changed if any(changed[name] is not value[name] for name in value) else value
    return value
