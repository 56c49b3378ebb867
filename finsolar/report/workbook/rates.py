"""The internal rate of return in a workbook: a search whose every step a reader can follow, and that misses no rate.

Money that comes in is worth less at a higher rate, and so is money that goes out. Between two rates the net worth is
therefore at least what comes in at the higher one less what goes out at the lower one, and at most the other way round;
the same holds for how it changes with the logarithm of the rate's factor. So between two rates there is no root where
the bounds leave out zero, and one at most where the worth only rises or only falls. Above a rate at which the first
money outweighs all that moves the other way, and below one at which the last does, there is none either. Source:
interval arithmetic and its mean value form, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

from finsolar.report.workbook.cells import FIXED_FILL, HEAD_FILL, YEAR_0, Formula, Line, Sheet, address

_UP = [*(k / 100 for k in range(61)), 0.7, 0.8, 1.0, 1.25, 1.5, 2.0, 3.0, 5.0, 10.0]
_DOWN = [*(-k / 100 for k in range(51)), -0.55, -0.6, -0.65, -0.7, -0.75, -0.8, -0.85, -0.9]
_OPEN = 9  # between these rates the bounds cannot tell
_NONE = 999
_STEPS = 6
RATE, COMES, GOES, COMES_LATE, GOES_LATE, WORTH, ROOTS = range(YEAR_0, YEAR_0 + 7)
_HEADS = ("Rate", "Comes in", "Goes out", "Comes in, times year", "Goes out, times year", "Worth", "Roots to the next")


@dataclass(frozen=True)
class _Ladder:
    """Rates one below the other, away from zero: the rows from ``first`` to ``last``."""

    first: int
    last: int

    def span(self, column: int) -> str:
        """The cells of a column."""
        return f"{address(self.first, column)}:{address(self.last, column)}"


def search(sheet: Sheet, net: Line, years: Line, first_money: str) -> tuple[str, str]:
    """Write the search; returns formulas of the rate to quote, and of whether it is sure.

    The rate is the smallest at or above zero, else the negative one nearest to it; ``none`` where there is none for
    sure. net : the flows; years : 0, 1, ...; first_money : a formula of what the first money that moves is worth at
    ``@rate@``.
    """
    n = sheet.book.years
    flows, times = net.span(0, n), years.span(0, n)
    last = sheet.figure("The last year in which money moves",
                        Formula(f"SUMPRODUCT(MAX(({flows}<>0)*{times}))"), form="0")  # fmt: skip
    top = sheet.row
    sheet.row += 3 + _STEPS
    last_money = f"SUMPRODUCT(({times}={last})*{flows}*(1+@rate@)^-{times})"
    up = _ladder(sheet, "Search for the IRR, from zero up", _UP, flows, times, first_money)
    down = _ladder(sheet, "Search for the IRR, from zero down", _DOWN, flows, times, last_money)
    bottom, sheet.row = sheet.row, top
    places = []
    for what, ladder in (("up", up), ("down", down)):
        roots = ladder.span(ROOTS)
        root, unsure = (f"IFERROR(MATCH({mark},{roots},0),{_NONE})" for mark in (1, _OPEN))
        first = Formula(f"IF({root}<{unsure},{root},IF({unsure}<{_NONE},-1,0))")
        places.append(sheet.figure(f"First step {what} with a root that is sure", first, form="0"))
    above, below = places
    sure = f"OR({above}>0,AND({above}=0,{below}>=0))"

    def end(column: int, further: int) -> str:
        """What stands at one end of the step that holds the root."""
        at = [f"INDEX({of.span(column)},MAX({place},1)+{further})" for of, place in ((up, above), (down, below))]
        return f"IF({above}>0,{at[0]},{at[1]})"

    low, high = f"MIN({end(RATE, 0)},{end(RATE, 1)})", f"MAX({end(RATE, 0)},{end(RATE, 1)})"
    near, far = end(WORTH, 0), end(WORTH, 1)
    line = f"{end(RATE, 0)}-{near}*({end(RATE, 1)}-{end(RATE, 0)})/({far}-{near})"
    rate = sheet.figure("On a straight line between its ends", Formula(f"IFERROR({line},0)"), form="0.000000%")
    for _ in range(_STEPS):
        step = f"SUMPRODUCT({flows}*(1+{rate})^-{times})/SUMPRODUCT({flows}*{times}*(1+{rate})^(-{times}-1))"
        rate = sheet.figure("A step of Newton’s method", Formula(f"IFERROR(MAX({low},MIN({high},{rate}+{step})),0)"),
                            form="0.000000%")  # fmt: skip
    sheet.row = bottom
    return f'IF(AND({above}=0,{below}=0),"none",{rate})', sure


def _ladder(sheet: Sheet, title: str, rates: list[float], flows: str, times: str, last_word: str) -> _Ladder:
    sheet.heading(title)
    for column, text in zip(range(RATE, ROOTS + 1), _HEADS, strict=True):
        sheet.write(sheet.row, column, text, bold=True, bg_color=HEAD_FILL, bottom=1, text_wrap=True)
    sheet.row += 1
    ladder = _Ladder(sheet.row, sheet.row + len(rates) - 1)
    for row, rate in enumerate(rates, start=ladder.first):
        here = address(row, RATE)
        worth = f"(1+{here})^-{times}"
        sheet.write(row, RATE, rate, num_format="0%", bg_color=FIXED_FILL)
        for column, sign, by in ((COMES, "", ""), (GOES, "-", ""), (COMES_LATE, "", f"*{times}"),
                                 (GOES_LATE, "-", f"*{times}")):  # fmt: skip
            side = f"({flows}{'<' if sign else '>'}0)"
            sheet.write(row, column, Formula(f"{sign}SUMPRODUCT({side}*{flows}{by}*{worth})"),
                        num_format=sheet.book.whole)  # fmt: skip
        sheet.write(row, WORTH, Formula(f"{address(row, COMES)}-{address(row, GOES)}"), num_format=sheet.book.whole)
        word = last_word.replace("@rate@", here)
        beyond = f"IF({word}<0,{address(row, COMES)}<-({word}),{address(row, GOES)}<{word})"
        roots = f"IF({beyond},0,{_OPEN})" if row == ladder.last else _roots(row, beyond, rises=rates[1] > 0)
        sheet.write(row, ROOTS, Formula(roots), num_format="0")
    sheet.row = ladder.last + 1
    return ladder


def _roots(row: int, beyond: str, *, rises: bool) -> str:
    """How many roots lie between the rates of a row and the next: 0, 1, or not known; ``beyond`` : none at all."""
    low, high = (row, row + 1) if rises else (row + 1, row)

    def bounds(comes: int, goes: int) -> tuple[str, str]:
        """What a difference is at least and at most between the two rates."""
        least = f"({address(high, comes)}-{address(low, goes)})"
        return least, f"({address(low, comes)}-{address(high, goes)})"

    slowest, fastest = bounds(COMES_LATE, GOES_LATE)
    monotone = f"{slowest}>0,{fastest}<0"
    way = f"LN((1+{address(high, RATE)})/(1+{address(low, RATE)}))"
    least, most = bounds(COMES, GOES)
    apart = [f"{least}>0", f"{most}<0"]
    # From either end the worth goes no faster than its slope lets it.
    for end, up, down in ((high, slowest, fastest), (low, f"-{fastest}", f"-{slowest}")):
        apart += [f"{address(end, WORTH)}+MIN(0,{up})*{way}>0", f"{address(end, WORTH)}+MAX(0,{down})*{way}<0"]
    here, there = address(row, WORTH), address(row + 1, WORTH)
    found = f"IF(OR({monotone}),1,{_OPEN})"
    none = f"IF(OR({','.join(apart)},{monotone},{beyond}),0,{_OPEN})"
    return f"IF(OR({here}=0,{here}*{there}<0),{found},{none})"
