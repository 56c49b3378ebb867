"""What every block of a scenario rests on: unknown fields refused, defaults that give their reason, words and days."""

from __future__ import annotations

import datetime as dt
import unicodedata
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Discriminator, Field, Tag

from finsolar.scenario.hours import DAYS, MONTHS, hour_span, named_span
from finsolar.scenario.numbers import RANGE_WORDS, FixedShare, Share, fault
from finsolar.scenario.problems import shown


class Block(BaseModel):
    """A block of fields in which nothing unknown is let pass."""

    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True, frozen=True)

    @property
    def moot(self) -> frozenset[str]:
        """Fields whose default plays no part, because other fields say it."""
        return frozenset()


def default(value: Any, why: str) -> Any:
    """A field that may be left out, its value then, and the sentence that defends it."""
    return Field(default=value, json_schema_extra={"why": why})


def one_or_list(value: object) -> str:
    """Which kind of value was written, so that only the faults of that kind are reported."""
    return "list" if isinstance(value, list) else "one"


def number_or_block(value: object) -> str:
    """As `word_or_block`, where a number or a range stands for the word."""
    is_block = isinstance(value, Block) or (isinstance(value, dict) and not RANGE_WORDS & set(value))
    return "block" if is_block else "word"


def word_or_block(value: object) -> str:
    """Which kind of value was written: a word, or a block of fields."""
    return "word" if isinstance(value, str) else "block"


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise fault("not-text", f"is {shown(value)}, not text", "write words, in quotes if they look like a number")
    text = " ".join(value.split())
    if not text:
        raise fault("empty", "is empty", "write a name")
    # Signs that only turn the direction of writing, or join an emoji, belong to honest names; showing them
    # safely is the task of each view. Control signs do not, and half a surrogate pair no file can hold.
    if any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in text):
        raise fault("control-sign", f"holds a sign that cannot be printed: {shown(text)}", "remove the sign")
    return text


Text = Annotated[str, BeforeValidator(_text)]
"""Words on one line; line breaks and runs of spaces become single spaces."""

WholeYears = Annotated[int, Field(strict=True, ge=1, le=50)]
"""A number of years, without a fraction."""


def _date(value: object) -> dt.date:
    mend = "write a day as 2026-09-01"
    if not isinstance(value, str | dt.date):
        raise fault("not-a-date", f"is {shown(value)}", mend)
    try:
        day = dt.date.fromisoformat(str(value))
    except ValueError:
        raise fault("not-a-date", f"is {shown(value)}, which is no day of the calendar", mend) from None
    if not 2000 <= day.year <= 2060:
        raise fault("date-out-of-range", f"is {day}", "write a day from 2000-01-01 to 2060-12-31")
    return day


Day = Annotated[dt.date, BeforeValidator(_date)]

Months = Annotated[tuple[int, ...] | None, BeforeValidator(lambda v: named_span(v, MONTHS, "months"))]
"""Months, 0 for January, written ``jun-sep``."""

Days = Annotated[tuple[int, ...] | None, BeforeValidator(lambda v: named_span(v, DAYS, "days"))]
"""Days of the week, 0 for Monday, written ``mon-fri``."""

Hours = Annotated[tuple[int, ...] | None, BeforeValidator(hour_span)]
"""Hours of the day, 15 for that from 15:00, written ``15-19``."""

Monthly = Annotated[
    Annotated[Share, Tag("one")] | Annotated[list[FixedShare], Field(min_length=12, max_length=12), Tag("list")],
    Discriminator(one_or_list),
]
"""One share for every month, which may be a range, or twelve of them."""
