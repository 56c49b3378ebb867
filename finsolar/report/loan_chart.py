"""The chart of what a loan asks each year beside what the system brings in."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, filled, laid_out, money_axis, rounded, series
from finsolar.report.words import amounts

Plain = dict[str, Any]

_NOTHING = 0.005  # less than half a cent is no money


def payment_against_saving(plain: Plain, plan: Plain) -> Chart:
    """The loan's yearly payments beside what the system saves."""
    currency, flow = plain["settings"]["currency"], plan["cash_flow"]
    years = flow["year"][1:]
    paid = [-amount for amount in flow["lines"]["loan payments"][1:]]
    brought = plan["loan"]["available"][1:]
    due = [k for k, amount in enumerate(paid) if amount > 0]
    number = plain["alternatives"].index(plan)
    return Chart(
        id=f"loan-{number}",
        title=f"Payment against what the system brings in: {plan['name']}",
        reading=_added_told(paid, brought, currency) + _bill_alone(plan["loan"]["first_year"], paid, brought, currency),
        alt="Bars of yearly loan payments and a line of the yearly saving after upkeep.",
        data=[
            {
                "type": "bar",
                "name": "Loan payments",
                "x": [years[k] for k in due],
                "y": rounded([paid[k] for k in due]),
                "marker": filled(colours.SERIES[1], "/"),
            },
            {
                "type": "scatter",
                "mode": "lines+markers",
                "name": "Saving and awards, less upkeep and replacements",
                "x": years,
                "y": rounded(brought),
                **series(2),
            },
        ],
        layout=laid_out(
            xaxis={"title": {"text": "Year"}, "dtick": 5},
            yaxis={**money_axis(currency), "title": {"text": f"{currency} a year"}},
            shapes=[
                {
                    "type": "line",
                    "x0": 0,
                    "x1": years[-1],
                    "y0": 0,
                    "y1": 0,
                    "line": {"width": 1.5, "color": colours.STAY},
                }
            ],
        ),
        table=Table(
            caption=f"Loan payments and saving by year: {plan['name']}",
            head=["Year", "Loan payments", "Saving and awards, less upkeep and replacements", "Left over"],
            rows=[
                [
                    str(year),
                    amounts.money(p, currency),
                    amounts.money(o, currency),
                    amounts.money(o - p, currency),
                ]
                for year, p, o in zip(years, paid, brought, strict=True)
            ],
        ),
    )


def _bill_alone(first_year: Plain, paid: Sequence[float], brought: Sequence[float], currency: str) -> str:
    """By how much the bill alone falls, where year 1 is carried by what comes once, such as an award."""
    saving, payment = sum(first_year["saving"]), sum(first_year["payment"])
    if paid[0] <= 0 or brought[0] < paid[0] or saving >= payment - _NOTHING:
        return ""
    fall, short = (amounts.money(amount / 12, currency) for amount in (saving, payment - saving))
    return f" The bill by itself falls by {fall} a month in year 1, {short} less than the payment."


def _added_told(paid: Sequence[float], brought: Sequence[float], currency: str) -> str:
    """What a loan asks of the household a month in year 1, and in which of its years it asks for more than there is."""
    due = [k for k, amount in enumerate(paid) if amount > 0]
    if not due:
        return "Nothing is paid on the loan within the study."
    first = due[0]
    gap, a_month = paid[first] - brought[first], amounts.money(paid[first] / 12, currency)
    told = f"In year {first + 1} the payments are {a_month} a month"
    if gap <= _NOTHING:
        more = amounts.money(-gap, currency)
        told += f" and the system brings in {more} more over that year, what comes once included."
    elif brought[first] >= 0:
        told += f"; you add {amounts.money(gap / 12, currency)} a month to what the system brings in."
    else:
        told += f" and the system itself takes money, so that you add {amounts.money(gap / 12, currency)} a month."
    short = {k: paid[k] - brought[k] for k in due if paid[k] - brought[k] > _NOTHING}
    if not short:
        return f"{told} In no year of the loan do the payments ask for more than that."
    most = max(short, key=lambda k: short[k])
    often = "In every year" if len(short) == len(due) else f"In {len(short)} of the {len(due)} years"
    return (
        f"{told} {often} of the loan the household adds something, most in year "
        f"{most + 1}: {amounts.money(short[most], currency)}."
    )
