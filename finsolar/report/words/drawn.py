"""The bill in the drawer, told: each bill as billed and as computed, and what usually explains a difference."""

from __future__ import annotations

import numpy as np

from finsolar.report.words.amounts import money, per_cent
from finsolar.tariff.drawer import Drawer
from finsolar.tariff.rounding import cents

ENOUGH = 0.02
"""Total error up to which a tariff is believed."""

CLOSE = 0.25
"""Share of the differences that may be left over for an explanation to be named; common practice, no source."""


def drawer_table(drawer: Drawer, currency: str, width: int = 100) -> list[str]:
    """The bills as a table of text, with the total error; each row on two lines where ``width`` asks for it."""
    head = ["bill", "days", "kWh", "billed", "computed", "difference", ""]
    rows = [head]
    for each in drawer.bills:
        rows.append(
            [
                f"{each.bill.first_day} to {each.bill.last_day}",
                str(each.days),
                f"{each.bill.kwh:,.0f}",
                money(each.bill.amount, currency, 2),
                money(float(each.computed), currency, 2),
                money(float(each.difference), currency, 2),
                per_cent(float(each.difference) / each.bill.amount) if each.bill.amount else "",
            ]
        )
    total = drawer.difference
    sums = [money(float(amount), currency, 2) for amount in (drawer.billed, drawer.computed, total)]
    kwh = sum(each.bill.kwh for each in drawer.bills)
    days = sum(each.days for each in drawer.bills)
    error = "" if drawer.error is None else per_cent(drawer.error)
    rows.append(["all", str(days), f"{kwh:,.0f}", *sums, error])
    rows = [[cell.replace("\N{WORD JOINER}", "") for cell in row] for row in rows]
    wide = [max(len(row[i]) for row in rows) for i in range(len(head))]
    cells = [[cell.rjust(w) if i else cell.ljust(w) for i, (cell, w) in enumerate(zip(row, wide, strict=True))]
             for row in rows]  # fmt: skip
    whole = ["  ".join(row).rstrip() for row in cells]
    if max(map(len, whole)) <= width:
        return whole
    return [line.rstrip() for row in cells for line in ("  ".join(row[:3]), "    " + "  ".join(row[3:]))]


def worst_bill(drawer: Drawer, currency: str) -> list[str]:
    """The bill that is furthest off, line by line, beside what was billed."""
    worst = max(drawer.bills, key=lambda each: abs(each.difference))
    rows = [(name, float(amount)) for name, amount in worst.lines]
    rows += [("computed", float(worst.computed)), ("billed", float(cents(worst.bill.amount)))]
    told = [(name, money(amount, currency, 2).replace("\N{WORD JOINER}", "")) for name, amount in rows]
    wide, wider = (max(len(cell) for cell in cells) for cells in zip(*told, strict=True))
    return [
        f"Line by line, the bill of {worst.bill.first_day} to {worst.bill.last_day}"
        f"{', the furthest off' if len(drawer.bills) > 1 else ''}:",
        *(f"  {name.ljust(wide)}  {amount.rjust(wider)}" for name, amount in told),
    ]


def verdict(drawer: Drawer, currency: str) -> list[str]:
    """Whether the tariff reproduces the bills, and if not, what usually explains the difference."""
    if drawer.error is None:
        return ["Nothing was billed, so nothing can be compared."]
    said = [f"Not known from the bills: {each}." for each in drawer.unknown]
    guessed = sum(not each.by_meter for each in drawer.bills)
    if guessed:
        said.append(
            f"The hours of {guessed} of {len(drawer.bills)} bills are those of an average week, not read by a meter."
        )
    read = [each for each in drawer.bills if each.metered_kwh is not None and each.bill.kwh > 0]
    off = [
        share for share in (abs(float(each.metered_kwh or 0) / each.bill.kwh - 1) for each in read) if share > ENOUGH
    ]
    if off:
        said.append(
            f"In {len(off)} of {len(read)} bills the meter's file holds other kWh than the bill, by up to "
            f"{per_cent(max(off))}: another meter, other days, or kWh made by the house's own panels."
        )
    if abs(drawer.error) <= ENOUGH:
        shares = [abs(float(each.difference)) / each.bill.amount for each in drawer.bills if each.bill.amount > 0]
        if max(shares) > ENOUGH:
            said.insert(0, f"Single bills are off by up to {per_cent(max(shares))}, one way and the other.")
        return [f"The tariff reproduces these bills to {per_cent(abs(drawer.error))}.", *said]
    return [f"Off by {per_cent(drawer.error)}, more than {per_cent(ENOUGH, 0)}: {_explained(drawer, currency)}", *said]


def _explained(drawer: Drawer, currency: str) -> str:
    """The one thing that would explain the differences best, with its size; or where to look."""
    kwh = np.array([each.bill.kwh for each in drawer.bills])
    computed = np.array([float(each.computed) for each in drawer.bills])
    wanting = -np.array([float(each.difference) for each in drawer.bills])
    months = np.array([each.days / 30.4 for each in drawer.bills])
    if len(drawer.bills) < 3:
        return "with three bills or more, what is missing could be told. Usual: a rider, a tier, a tax, other days."
    found = []
    for name, by in (("tax", computed), ("rider", kwh), ("fixed", months)):
        if not by.any():
            continue
        size = float(wanting @ by / (by @ by))
        left = float(np.abs(wanting - size * by).sum() / np.abs(wanting).sum())
        found.append((left, name, size))
    left, name, size = min(found)
    if left > CLOSE:
        used = kwh > 0
        if not used.any():
            return "no bill has any kWh, so what is missing is a charge that the bills do not share alike."
        dear = np.polyfit(kwh[used], wanting[used] / kwh[used], 1)[0] if np.ptp(kwh[used]) > 0 else 0.0
        if (drawer.error or 0.0) < 0 and dear > 0 and min(wanting[kwh >= np.median(kwh)]) > 0:
            return (
                "what is missing grows faster than the kWh, as with a tier (blocks of kWh) or a season that costs more."
            )
        return (
            "no single rider, tax or charge explains it. Usual: a season or price period with other months or hours, "
            "tiers, bills under older prices, or other days than the bill's."
        )
    if name == "tax":
        kind = "a tax or rider in per cent" if size > 0 else "a discount in per cent"
        return f"{kind} of about {per_cent(abs(size))} on the whole bill would explain it."
    if name == "rider":
        kind = "a rider" if size > 0 else "a discount"
        return f"{kind} of about {money(abs(size), currency, 4)} a kWh would explain it."
    kind = "a fixed charge that is missing" if size > 0 else "a fixed charge that is too high"
    return f"{kind}, about {money(abs(size), currency, 2)} a month, would explain it."
