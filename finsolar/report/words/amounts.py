"""Numbers, money, days and lists as text that people read."""

from __future__ import annotations

import re

from finsolar.scenario.hours import MONTHS
from finsolar.tariff.rounding import in_digits

SIGNS = {"USD": "$", "CAD": "C$", "AUD": "A$", "NZD": "NZ$", "EUR": "€", "GBP": "£"}
MONTH_NAMES = tuple(name.capitalize() for name in MONTHS)


def money(amount: float, currency: str, digits: int = 0) -> str:
    """An amount as people write it: ``$12,345``, ``−$80``; rounded half away from zero."""
    sign = SIGNS.get(currency, f"{currency} ")
    rounded = in_digits(abs(amount), digits)
    minus = "−\N{WORD JOINER}" if amount < 0 and rounded else ""  # a line must not break behind the minus
    return f"{minus}{sign}{rounded:,.{digits}f}"


def per_cent(share: float, digits: int = 1) -> str:
    """A share as per cent: ``7.4 %``."""
    text = f"{abs(share) * 100:.{digits}f}"
    minus = "−" if share < 0 and float(text) else ""
    return f"{minus}{text} %"


_DAYS = {"mon": "Monday", "tue": "Tuesday", "wed": "Wednesday", "thu": "Thursday", "fri": "Friday", "sat": "Saturday",
         "sun": "Sunday"}  # fmt: skip


def days_told(days: str) -> str:
    """Days of the week as a scenario names them, in full: ``Monday to Friday``."""
    return re.sub(r"\b[a-z]{3}\b", lambda found: _DAYS.get(found[0], found[0]), days).replace("-", " to ")


def rate_told(rate: float) -> str:
    """A yearly rate: ``5.0 %``, and ``5.25 %`` where one digit would not tell it."""
    return per_cent(rate, 1 if abs(rate * 1000 - round(rate * 1000)) < 1e-6 else 2)


def years_told(years: float) -> str:
    """Whole years as they are, others to one digit: ``25 years``, ``1 year``, ``7.5 years``."""
    text = f"{years:.1f}".removesuffix(".0")
    return f"{text} year{'' if text == '1' else 's'}"


def years_long(years: float) -> str:
    """A span of years: ``9.6 years``."""
    return f"{years:.1f} years"


def span(years: float | None) -> str:
    """A payback in a table: years, or never."""
    return "never" if years is None else f"{years:.1f} y"


def joined(parts: list[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def figure(number: float | None, kind: str, currency: str) -> str:
    """One figure of merit as text."""
    if number is None:
        return "never" if kind == "years" else "none"
    if kind == "money":
        return money(number, currency)
    if kind == "price":
        return f"{money(number, currency, 2 if abs(number) >= 10 else 3)} a kWh"
    if kind == "years":
        return f"{number:.1f} years" if number else "0 years, nothing is laid out"
    return per_cent(number) if kind == "share" else ratio(number)


def ratio(number: float) -> str:
    """A ratio: ``1.25``, ``−0.40``."""
    text = f"{abs(number):.2f}"
    return f"−{text}" if number < 0 and float(text) else text
