"""The clock that an ESPI feed states: its offset from UTC, and the rules by which it changes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta


@dataclass(frozen=True)
class DstRule:
    """When clocks change: ``operator`` 0 on ``day`` of ``month``, 1 on the ``weekday`` on or after it, 2 to 6 on the
    first to fifth ``weekday`` of the month, 7 on its last (weekday 1 = Monday to 7 = Sunday); at ``hour`` and
    ``second``."""

    month: int
    operator: int
    day: int
    weekday: int
    hour: int
    second: int

    def moment(self, year: int) -> datetime:
        """Return the local time of the change in that year, without a zone."""
        first = datetime(year, self.month, max(self.day, 1) if self.operator < 2 else 1)
        if self.operator:
            first += timedelta(days=(self.weekday - 1 - first.weekday()) % 7)
        if self.operator == 7:
            first += timedelta(days=28)
            first -= timedelta(days=7 * (first.month != self.month))
        elif self.operator > 2:
            first += timedelta(days=7 * (self.operator - 2))
        return first + timedelta(hours=self.hour, seconds=self.second)


def dst_rule(word: str) -> DstRule | None:
    """Read a rule of ESPI's DstRuleType, eight hexadecimal digits; None where it says that clocks never change.

    Bits 0-11 seconds, 12-16 hour, 17-19 weekday, 20-24 day of month, 25-27 operator, 28-31 month. Raises ValueError
    for a word that is none. Source: NAESB ESPI; operators 0, 1 and 4 to 6 and the word FFFFFFFF from memory.
    """
    if len(word) != 8:
        raise ValueError(f"a clock rule has eight hexadecimal digits, not {word!r}")
    bits = int(word, 16)
    if bits in (0, 0xFFFFFFFF):
        return None
    rule = DstRule(
        month=bits >> 28,
        operator=bits >> 25 & 7,
        day=bits >> 20 & 31,
        weekday=bits >> 17 & 7,
        hour=bits >> 12 & 31,
        second=bits & 0xFFF,
    )
    if not (1 <= rule.month <= 12 and rule.hour < 24 and (rule.operator == 0 or rule.weekday)):
        raise ValueError(f"no clock rule: {word!r}")
    rule.moment(2001)  # a day that its month lacks is a ValueError as well
    return rule


@dataclass(frozen=True)
class LocalTime:
    """The clock that a file states: ``offset`` of standard time and the ``saving`` of summer, seconds, and when the
    latter begins and ends."""

    offset: int
    saving: int
    begins: DstRule | None
    ends: DstRule | None

    def at(self, moment: datetime) -> int:
        """Return the offset from UTC, seconds, at a moment with a zone."""
        if self.begins is None or self.ends is None:
            return self.offset
        standard = moment.astimezone(UTC).replace(tzinfo=None) + timedelta(seconds=self.offset)
        begin = self.begins.moment(standard.year)
        # The end is told by the clock of summer.
        end = self.ends.moment(standard.year) - timedelta(seconds=self.saving)
        summer = begin <= standard < end if begin < end else not end <= standard < begin
        return self.offset + self.saving * summer
