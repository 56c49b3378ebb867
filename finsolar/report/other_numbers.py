"""The answer at other numbers: plain values of every combination, and what the page needs to look them up and tell.

Every sentence is a pattern of ours; the page fills in names and amounts, and makes no words and no figures.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import copysign
from typing import TYPE_CHECKING, Any

import numpy as np

from finsolar.report.figures import Chart, Table, label, laid_out, money_axis, rounded, series, zero_line
from finsolar.report.numbers import value, values
from finsolar.report.words import answer, in_cash
from finsolar.report.words.amounts import figure, money, rate_told, years_told
from finsolar.report.words.changes_told import best_of
from finsolar.report.words.charts import other_numbers as told
from finsolar.report.words.charts.figures import RUNNING_AXIS, YEAR, running_money_axis
from finsolar.report.words.worth import in_the_money, opening_at_other_numbers
from finsolar.tariff.rounding import in_digits

if TYPE_CHECKING:
    from finsolar.results import Study
    from finsolar.uncertainty.other_numbers import Stops

Plain = dict[str, Any]
Grid = list[Any]
"""Nested lists of cells by rise, price and rate; a list of one where it makes no difference."""

SLIDERS = {"price_rise": "try-rise", "purchase_price": "try-price", "discount_rate": "try-rate"}
"""The numbers that move, in the order of the grids, and the id of the slider of each."""

CHOSEN, OTHERS = {"width": 4, "opacity": 1.0}, {"width": 2, "opacity": 0.8}
"""How the line of the alternative that is spoken of is drawn, and those of the others."""


def other_numbers_as_plain(study: Study) -> Plain | None:
    """Every combination as nested lists by rise, price and rate; None where they were not worked out.

    A list of one stands for an axis that makes no difference; ``own`` is the place of the scenario’s own number, which
    is null where it is no single one; ``running_total`` is by year below the rate.
    """
    found = study.other_numbers
    if found is None:
        return None

    def stops(each: Stops) -> Plain:
        return {"values": values(each.values), "own": each.own}

    return {
        "price_rise": stops(found.rise),
        "purchase_price": stops(found.price),
        "discount_rate": stops(found.rate) | {"real": found.real, "nominal": values(found.nominal)},
        "alternatives": [
            {"name": course.name}
            | {name: _nested(grid) for name, grid in course.figures.items()}
            | {"running_total": _nested(course.running)}
            for course in found.courses
        ],
    }


def _nested(array: Any) -> Grid:
    return values(array) if np.ndim(array) == 1 else [_nested(part) for part in array]


def controls(plain: Plain) -> list[Plain]:
    """The sliders of what can move: id, label, the words of each stop, and the place of the scenario’s own."""
    return [one for one in _sliders(plain["other_numbers"]) if len(one["stops"]) > 1]


def _sliders(found: Plain) -> list[Plain]:
    return [
        {
            "id": name,
            "label": told.slider_label(key, found["discount_rate"]["real"]),
            "stops": [told.stop(key, number, k == found[key]["own"]) for k, number in enumerate(found[key]["values"])],
            "own": found[key]["own"],
        }
        for key, name in SLIDERS.items()
    ]


def best_place(plain: Plain) -> int:
    """The place of the alternative that the short answer speaks of."""
    return int(plain["alternatives"].index(best_of(plain)))


def running_chart(plain: Plain) -> Chart | None:
    """The running totals of all alternatives, for the page to draw anew at other numbers; None without any."""
    if plain["other_numbers"] is None:
        return None
    currency, plans, years = plain["settings"]["currency"], plain["alternatives"], plain["settings"]["years"]
    totals = [plan["cash_flow"]["running_total"] for plan in plans]
    highest, worth = max(range(len(plans)), key=lambda i: totals[i][-1]), in_cash.with_worth(plain)
    data = []
    for i, (plan, total) in enumerate(zip(plans, totals, strict=True)):
        look, style = CHOSEN if i == best_place(plain) else OTHERS, series(i)
        line = {**style["line"], "width": look["width"]}
        data.append(
            {"type": "scatter", "mode": "lines+markers", "name": label(plan["name"]), "x": list(range(years + 1)),
             "y": rounded(total), **style, "line": line, "opacity": look["opacity"]}
        )  # fmt: skip
    ends = [
        (plan["name"], money(total[0], currency), money(total[-1], currency))
        for plan, total in zip(plans, totals, strict=True)
    ]
    return Chart(
        id="try-running",
        title=told.title(worth),
        reading=told.reading(ends[highest][0], ends[highest][2], years),
        alt=told.alt(ends),
        data=data,
        layout=laid_out(
            xaxis={"title": {"text": RUNNING_AXIS}, "dtick": 5},
            yaxis={**money_axis(currency), "title": {"text": running_money_axis(currency)}},
            shapes=[zero_line(years)],
        ),
        table=Table(
            caption=told.caption(worth),
            head=[YEAR, *(plan["name"] for plan in plans)],
            rows=[[str(year), *(money(total[year], currency) for total in totals)] for year in range(years + 1)],
        ),
    )  # fmt: skip


def page_data(plain: Plain) -> Plain:
    """All that the page looks up: the words of each stop, patterns of sentences, and the grids of each alternative.

    Amounts are to the `cents`; what else is told of a combination is text, named by its place in ``texts``.
    """
    found, settings = plain["other_numbers"], plain["settings"]
    currency, years = settings["currency"], settings["years"]
    texts: dict[str, int] = {}

    def as_text(words: Callable[..., str], *grids: Grid) -> Grid:
        arrays = np.broadcast_arrays(*(np.array(grid, dtype=np.float64) for grid in grids))
        cells = zip(*(array.flat for array in arrays), strict=True)
        places = [texts.setdefault(words(*map(value, cell)), len(texts)) for cell in cells]
        return _as_grid(places, arrays[0].shape)

    def amounts(grid: Grid) -> Grid:
        array = np.array(grid, dtype=np.float64)
        return _as_grid([cents(float(amount)) for amount in array.flat], array.shape)

    plans = []
    for plan, one in zip(plain["alternatives"], found["alternatives"], strict=True):
        lasting, first, counts = one["simple_payback_lasting"], one["simple_payback"], in_the_money(plan)
        plans.append(
            {
                "name": plan["name"],
                "payments": answer.payments(plan, currency),
                "cost": amounts(one["net_cost"]),
                "saving": amounts(one["first_year_saving"]),
                "npv": amounts(one["npv"]),
                "running": amounts(one["running_total"]),
                "payback": as_text(partial(_payback, years, counts), lasting, first),
                "back": as_text(lambda last: figure(last, "years", currency), lasting),
                "irr": as_text(lambda rate: figure(rate, "share", currency), one["irr"]),
            }
        )
    unit = money(1, currency)
    return {
        "sliders": _sliders(found),
        "rates": [rate_told(rate) for rate in found["discount_rate"]["nominal"]],
        "years": years_told(years),
        "sign": unit.removesuffix("1"),
        "minus": money(-1, currency).removesuffix(unit),
        "answer": f"{opening_at_other_numbers(plain)}{answer.OPENING}.",
        "saving": [answer.SAVING[False], answer.SAVING[True]],
        "worth": f"{answer.WORTH}.",
        "side": [answer.SIDE[False], answer.SIDE[True]],
        "reading": told.READING,
        "alt": [told.LINES, told.ALT],
        "looks": [OTHERS, CHOSEN],
        "texts": list(texts),
        "plans": plans,
    }


def _payback(years: int, worth: bool, lasting: float | None, first: float | None) -> str:
    return answer.payback(lasting, first, years, worth=worth)


def _as_grid(cells: Sequence[Any], shape: tuple[int, ...]) -> Grid:
    found = np.empty(len(cells), dtype=object)
    found[:] = cells
    grid: Grid = found.reshape(shape).tolist()
    return grid


def cents(amount: float) -> float:
    """An amount to the cent, or a cent beside where it would else round to another whole than the amount itself."""
    near = round(amount, 2)
    if abs(abs(amount) % 1 - 0.5) < 0.006 and in_digits(near, 0) != in_digits(amount, 0):
        near = round(near + copysign(0.01, amount - near), 2)
    return near
