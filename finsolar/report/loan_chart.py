"""The chart of what a loan asks each year beside what the alternative brings in."""

from __future__ import annotations

from typing import Any

from finsolar.money.cashflow import LOAN_PAYMENTS
from finsolar.report import colours
from finsolar.report.figures import Chart, Table, filled, laid_out, money_axis, rounded, series, zero_line
from finsolar.report.words import amounts
from finsolar.report.words.charts import loan_chart as told

Plain = dict[str, Any]


def payment_against_saving(plain: Plain, plan: Plain) -> Chart:
    """The loan's yearly payments beside what the alternative brings in."""
    currency, flow = plain["settings"]["currency"], plan["cash_flow"]
    years = flow["year"][1:]
    paid = [-amount for amount in flow["lines"][LOAN_PAYMENTS][1:]]
    brought = plan["loan"]["available"][1:]
    due = [k for k, amount in enumerate(paid) if amount > 0]
    number = plain["alternatives"].index(plan)
    return Chart(
        id=f"loan-{number}",
        title=told.title(plan["name"]),
        reading=told.reading(plan["name"], paid, brought, plan["loan"]["first_year"], currency),
        alt=told.ALT,
        data=[
            {
                "type": "bar",
                "name": told.PAYMENTS,
                "x": [years[k] for k in due],
                "y": rounded([paid[k] for k in due]),
                "marker": filled(colours.SERIES[1], "/"),
            },
            {
                "type": "scatter",
                "mode": "lines+markers",
                "name": told.BROUGHT_IN,
                "x": years,
                "y": rounded(brought),
                **series(2),
            },
        ],
        layout=laid_out(
            xaxis={"title": {"text": told.YEAR}, "dtick": 5},
            yaxis={**money_axis(currency), "title": {"text": told.axis(currency)}},
            shapes=[zero_line(years[-1])],
        ),
        table=Table(
            caption=told.caption(plan["name"]),
            head=[*told.HEAD],
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
