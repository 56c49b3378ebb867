"""The chart of the first year's bill by price period, as you are and with each alternative."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, filled, label, laid_out, money_axis, rounded, wrapped
from finsolar.report.words import amounts, changes_told
from finsolar.report.words.charts import period_charts as told
from finsolar.report.words.charts.figures import STAY, WITH_THE_SYSTEM, YEAR
from finsolar.tariff.rounding import cents

Plain = dict[str, Any]


def bill_by_period(plain: Plain) -> Chart | None:
    """What each price period asks in the first year; none where no bill has more than one, or none has money by period.

    A bill that lacks a period, since its tariff is another, has no bar there.
    """
    bills = _bills(plain)
    if max(len(bill["periods"]) for _, bill in bills) < 2 or all(bill["reasons"] for _, bill in bills):
        return None
    currency = plain["settings"]["currency"]
    shown = [(name, bill) for name, bill in bills if not bill["reasons"]]
    names = list(dict.fromkeys(period["name"] for _, bill in shown for period in bill["periods"]))
    data = [
        {
            "type": "bar",
            "orientation": "h",
            "name": label(name),
            "y": list(range(len(names) + 1)),
            "x": rounded([*(_money(bill, each) for each in names), sum(bill["not_by_period"].values())]),
            "marker": filled(colours.STAY, "/") if i == 0 else filled(*_looks(i - 1)),
        }
        for i, (name, bill) in enumerate(bills)
        if not bill["reasons"]
    ]
    reading = _reading(plain, shown, names, currency)
    height = 112 + (len(names) + 1) * (20 + 18 * len(data))
    return Chart(
        id="bill-by-period",
        title=told.TITLE,
        reading=reading,
        alt=told.alt(reading),
        data=data,
        layout=laid_out(
            barmode="group",
            hovermode="closest",
            xaxis={**money_axis(currency), "title": {"text": told.axis(currency)}},
            # Places stand for names, so that two that are shortened alike keep a bar each.
            yaxis={
                "autorange": "reversed",
                "tickmode": "array",
                "tickvals": list(range(len(names) + 1)),
                "ticktext": [*(wrapped(each) for each in names), told.REST],
                "showgrid": False,
            },
            legend={"x": 0, "xref": "container", "y": 0, "yref": "container", "yanchor": "bottom"},
            margin={"l": 8, "r": 16, "t": 12, "b": 100},
        ),
        table=_money_table(shown, names, currency),
        more=tuple(_kwh_table(name, bill, currency) for name, bill in bills if bill["periods"]),
        height=height,
        narrow={"height": height + 22 * len(data), "layout": {"margin": {"l": 8, "r": 8, "b": 60 + 22 * len(data)}}},
    )


def _looks(place: int) -> tuple[str, str]:
    """Hue and hatching of a bar by its place among the alternatives."""
    return colours.SERIES[place % len(colours.SERIES)], ("", "x", "-", ".", "|", "+", "\\")[place % 7]


def _bills(plain: Plain) -> list[tuple[str, Plain]]:
    """The bills by period: of staying, then of the alternatives; those alike share one, named after all of them."""
    stay, plans = (STAY, plain["stay"]["bill"]["by_period"]), plain["alternatives"]
    found: list[tuple[list[str], Plain]] = []
    for plan in plans:
        bill = plan["bills"]["after"]["by_period"]
        same = next((names for names, other in found if other == bill), None)
        if same is None:
            found.append(([plan["name"]], bill))
        else:
            same.append(plan["name"])
    if len(found) == 1 and len(plans) > 1:
        return [stay, (WITH_THE_SYSTEM, found[0][1])]
    return [stay, *((amounts.joined(names), bill) for names, bill in found)]


def _money(bill: Plain, name: str) -> float | None:
    return next((period["money"] for period in bill["periods"] if period["name"] == name), None)


def _reading(plain: Plain, drawn: list[tuple[str, Plain]], names: list[str], currency: str) -> str:
    """Where the bill of the short answer's alternative falls most, and what of it no hour can lower."""
    best = changes_told.best_of(plain)
    bill, before = best["bills"]["after"]["by_period"], plain["stay"]["bill"]["by_period"]
    why = [told.no_bar(name, each["reasons"]["money"]) for name, each in _bills(plain) if each["reasons"]]
    if bill["reasons"] or before["reasons"]:
        name, shown = drawn[0]
        most = max(shown["periods"], key=lambda period: period["money"])
        return " ".join([told.most_paid(name, most["name"], most["money"], currency), *why])
    pairs = {each: (_money(before, each), _money(bill, each)) for each in names}
    both = {each: (was, now) for each, (was, now) in pairs.items() if was is not None and now is not None}
    rests = [sum(one["not_by_period"].values()) for one in (before, bill)]
    if not both:
        return " ".join([told.other_periods(best["name"], rests, currency), *why])
    period, (start, end) = max(both.items(), key=lambda each: each[1][0] - each[1][1])
    return " ".join([told.falls_most(best["name"], period, start, end, rests, currency), *why])


def shared_cents(amounts: Sequence[float]) -> list[Decimal]:
    """Amounts in whole cents that add up to their sum in whole cents; where rounding leaves a cent, the amount that
    rounding wronged most gets it."""
    found = [cents(amount) for amount in amounts]
    left = cents(sum(amounts)) - sum(found, Decimal(0))
    step = Decimal("0.01").copy_sign(left)
    wronged = sorted(range(len(found)), key=lambda i: (Decimal(amounts[i]) - found[i]) * step, reverse=True)
    for i in wronged[: int(abs(left) * 100)]:
        found[i] += step
    return found


def _in_cents(bill: Plain) -> tuple[dict[str, Decimal], dict[str, Decimal], Decimal]:
    """Money by period, the rest by component, and the total, in cents that add up to those of the bill by parts."""
    energy, credit = (shared_cents([period[key] for period in bill["periods"]]) for key in ("energy", "export_credit"))
    periods = {period["name"]: one + other for period, one, other in zip(bill["periods"], energy, credit, strict=True)}
    rest = {part: cents(amount) for part, amount in bill["not_by_period"].items()}
    return periods, rest, sum([*periods.values(), *rest.values()], Decimal(0))


def _money_table(drawn: list[tuple[str, Plain]], names: list[str], currency: str) -> Table:
    columns = [_in_cents(bill) for _, bill in drawn]
    parts = list(dict.fromkeys(part for _, rest, _ in columns for part in rest))

    def row(head: str, found: Sequence[Decimal | None]) -> list[str]:
        return [head, *("" if amount is None else amounts.money(float(amount), currency, 2) for amount in found)]

    return Table(
        caption=told.MONEY_CAPTION,
        head=[told.PERIOD, *(name for name, _ in drawn)],
        rows=[
            *(row(name, [periods.get(name) for periods, _, _ in columns]) for name in names),
            *(row(told.rest_of(part), [rest.get(part) for _, rest, _ in columns]) for part in parts),
        ],
        foot=row(YEAR, [total for *_, total in columns]),
    )


def _kwh_table(name: str, bill: Plain, currency: str) -> Table:
    """What one bill is made of: kWh and money of each period; kWh charged for where a bank nets them."""
    periods = bill["periods"]
    netted = any(period["billed"] is not None and period["billed"] != period["drawn"] for period in periods)
    kwh = ["drawn", "fed_in", *(["billed"] if netted else [])]
    money = [] if bill["reasons"] else ["energy", "export_credit"]
    spent = {key: shared_cents([period[key] for period in periods]) for key in money}
    return Table(
        caption=told.kwh_caption(name),
        head=[told.PERIOD, *(told.KWH_HEADS[key] for key in kwh), *(told.MONEY_HEADS[key] for key in money)],
        rows=[
            [
                period["name"],
                *(f"{period[key]:,.0f}" for key in kwh),
                *(amounts.money(float(spent[key][i]), currency, 2) for key in money),
            ]
            for i, period in enumerate(periods)
        ],
        foot=[
            YEAR,
            *(f"{sum(period[key] for period in periods):,.0f}" for key in kwh),
            *(amounts.money(float(sum(spent[key], Decimal(0))), currency, 2) for key in money),
        ],
    )
