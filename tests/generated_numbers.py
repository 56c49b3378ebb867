"""Numbers as a household might write them, drawn at random with few digits, so that a failing example can be read."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

Block = dict[str, Any]

MONTHS = ("jun-sep", "nov-mar", "apr, jul, oct-dec", "aug")
DAYS = ("mon-fri", "sat-sun", "sat-mon", "wed")
HOURS = ("17-22", "22-6", "0-5, 11-14", "1-4")


def number(low: float, high: float, digits: int = 2) -> st.SearchStrategy[float]:
    """Draw a number with few digits."""
    tens = 10**digits
    return st.integers(round(low * tens), round(high * tens)).map(lambda n: n / tens)


def amount(low: float, high: float, digits: int = 2) -> st.SearchStrategy[Any]:
    """Draw a number, or now and then a range."""
    some = number(low, high, digits)
    three = st.lists(some, min_size=3, max_size=3).map(sorted)
    return st.one_of(
        some,
        some,
        some,
        three.map(lambda x: {"low": x[0], "likely": x[1], "high": x[2]}),
        three.map(lambda x: {"from": x[0], "to": x[2]}),
        some.map(lambda x: {"mean": x, "sd": round(x / 10, digits)}),
    )


def percent(low: float, high: float) -> st.SearchStrategy[Any]:
    """Draw a rate or a share, in per cent or as a plain number."""
    tenths = st.integers(round(low * 10), round(high * 10))
    return st.one_of(tenths.map(lambda n: f"{n / 10}%"), tenths.map(lambda n: n / 1000 if n < 1000 else "100%"))


def chance(hundredth: int) -> st.SearchStrategy[bool]:
    """Draw yes in so many cases of a hundred, or nearly; small numbers come too often, so they are spread out."""
    return st.integers(0, 99).map(lambda n: n * 37 % 100 < hundredth)


def rise() -> st.SearchStrategy[Any]:
    """Draw a yearly rise, or a path of them."""
    one = percent(-6, 12)
    return st.one_of(one, one, st.lists(one, min_size=2, max_size=5).map(lambda path: {"path": path}))


def block(must: Block, may: Block | None = None) -> st.SearchStrategy[Block]:
    """Draw a block with all of some fields and any of others."""
    return st.fixed_dictionaries(must, optional=may or {})
