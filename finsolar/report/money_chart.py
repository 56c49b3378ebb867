"""Where the money goes: what is bought, what is taken off it, and what leaves the purse on the first day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, filled, laid_out, money_axis, rounded, wrapped
from finsolar.report.words import amounts, changes_told, costs_told, terms
from finsolar.report.words.charts import money_chart as told
from finsolar.report.words.costs_told import ALLOWANCE, SALES_TAX
from finsolar.tariff.rounding import cents

Plain = dict[str, Any]

_MOST_LINES = 10  # cost lines that are named; the table behind the chart has all


@dataclass(frozen=True)
class Step:
    """One step on the way from nothing to the net cost; ``detail`` is how it comes about or when it arrives.

    kind : ``cost`` adds, ``less`` takes off, ``sum`` is where the steps have come to.
    """

    name: str
    detail: str
    amount: float
    kind: str


def bridge(plan: Plain, currency: str) -> list[Step]:
    """Every step of an alternative from its cost lines to its net cost; steps without money are left out.

    Awards that are paid year by year are no part of it, as they are none of the net cost.
    """
    costs, began = plan["costs"], plan["in_service"]
    added = [
        Step(
            line["item"],
            "" if line["chance"] == 1 else costs_told.price_in_words(line, currency),
            line["price"],
            "cost",
        )
        for line in costs["lines"]
    ]
    for name, key in ((SALES_TAX, "sales_tax"), (ALLOWANCE, "contingency")):
        added.append(Step(name, "", sum(line[key] for line in costs["lines"]), "cost"))
    taken = [Step(one["item"], told.AT_THE_START, -one["amount"], "less") for one in costs["rebate_lines"]]
    for award in plan["incentives"]:
        if award["upfront"]:
            when = told.when_taken_off(award, began)
            taken.append(Step(award["title"], when, -sum(award["amounts"]), "less"))
    gross, net = Step(told.GROSS, "", costs["gross"], "sum"), Step(told.NET, "", costs["net"], "sum")
    return [*filter(_counts, added), gross, *filter(_counts, taken), net]


def _counts(step: Step) -> bool:
    return step.amount != 0


def gross_to_net(plain: Plain) -> Chart | None:
    """How the alternative of the short answer comes to its net cost, step by step; none where it costs nothing."""
    plan, currency = changes_told.best_of(plain), plain["settings"]["currency"]
    if not plan["costs"]["gross"]:
        return None
    steps = _shortened(bridge(plan, currency))
    ends = list(accumulate(0.0 if step.kind == "sum" else step.amount for step in steps))
    names = [_tick(step) for step in steps]
    # As close as the longest two names that stand one above the other allow.
    apart = max(one.count("<br>") + other.count("<br>") + 2 for one, other in pairwise(names)) / 2
    highest = max(ends)
    data = [
        {
            "type": "bar",
            "orientation": "h",
            "name": name,
            "width": 0.74,
            "y": [k for k, step in enumerate(steps) if step.kind == kind],
            "x": rounded([step.amount for step in steps if step.kind == kind]),
            "base": rounded(
                [
                    0.0 if kind == "sum" else end - step.amount
                    for step, end in zip(steps, ends, strict=True)
                    if step.kind == kind
                ]
            ),
            "text": [amounts.money(step.amount, currency) for step in steps if step.kind == kind],
            "textposition": "outside",
            "cliponaxis": False,
            "hovertemplate": "%{text}",
            "marker": filled(hue, shape),
        }
        for kind, name, hue, shape in (
            ("cost", told.ADDED, colours.SERIES[0], ""),
            ("less", told.TAKEN_OFF, colours.SERIES[2], "/"),
            ("sum", told.COMES_TO, colours.STAY, ""),
        )
        if any(step.kind == kind for step in steps)
    ]
    table, *others = [_bridge_table(names_of, plan, currency) for names_of, plan in _alike(plain)]
    return Chart(
        id="gross-to-net",
        title=told.bridge_title(plan["name"]),
        reading=told.bridge_reading(plan, bridge(plan, currency), currency),
        alt=told.bridge_alt(steps, currency),
        data=data,
        layout=laid_out(
            barmode="overlay",
            hovermode="closest",
            # With room for an amount beside the longest bar of a phone.
            xaxis={**money_axis(currency), "range": [min(0.0, *ends), 1.34 * highest], "nticks": 4, "tickangle": 0},
            yaxis={
                "autorange": "reversed",
                "tickmode": "array",
                "tickvals": list(range(len(steps))),
                "ticktext": names,
            },
            margin={"l": 8, "r": 16, "t": 12, "b": 48},
            legend={"y": -0.1},
        ),
        table=table,
        more=tuple(others),
        height=130 + round(len(steps) * (10 + 15 * apart)),
    )


def _shortened(steps: list[Step]) -> list[Step]:
    """The steps with the dearest cost lines first and those beyond ``_MOST_LINES`` as one."""
    own = [step for step in steps if step.kind == "cost" and step.name not in (SALES_TAX, ALLOWANCE)]
    rest = [step for step in steps if step not in own]
    own.sort(key=lambda step: -step.amount)
    if len(own) > _MOST_LINES + 1:
        smaller = own[_MOST_LINES:]
        own = own[:_MOST_LINES]
        own.append(Step(told.smaller_lines(len(smaller)), "", sum(step.amount for step in smaller), "cost"))
    return [*own, *rest]


def _tick(step: Step) -> str:
    """What stands beside a bar: the name, and below that of an award the years in which it arrives."""
    name = wrapped(step.name, 2)
    when = step.detail.partition(" (")[0]
    return f"{name}<br>{when}" if step.kind == "less" and when else name


def _alike(plain: Plain) -> list[tuple[str, Plain]]:
    """Alternatives with their names, that of the short answer first; those with the same steps share an entry."""
    currency, best = plain["settings"]["currency"], changes_told.best_of(plain)
    found: list[tuple[list[str], Plain]] = []
    for plan in sorted(plain["alternatives"], key=lambda plan: plan is not best):
        same = next((names for names, one in found if bridge(one, currency) == bridge(plan, currency)), None)
        if same is None:
            found.append(([f"“{plan['name']}”"], plan))
        else:
            same.append(f"“{plan['name']}”")
    return [(amounts.joined(names), plan) for names, plan in found]


def _bridge_table(names: str, plan: Plain, currency: str) -> Table:
    steps = bridge(plan, currency)
    parts = iter(in_cents([step.amount for step in steps if step.kind != "sum"]))
    rows, so_far = [], 0.0
    for step in steps:
        amount = step.amount if step.kind == "sum" else next(parts)
        so_far = so_far if step.kind == "sum" else so_far + amount
        rows.append([step.name, step.detail, *(amounts.money(number, currency, 2) for number in (amount, so_far))])
    return Table(
        caption=told.bridge_caption(names),
        head=[*told.BRIDGE_HEAD],
        rows=rows[:-1],
        foot=rows[-1],
    )


def in_cents(amounts: Sequence[float]) -> list[float]:
    """Amounts in whole cents that add up to their sum in cents; what is whole cents stays as it is.

    Each is what the sum so far grows by, once that is in cents; so one that is not whole may be a cent off.
    """
    ends = [float(cents(end)) for end in accumulate(amounts, initial=0.0)]
    return [round(after - before, 2) for before, after in pairwise(ends)]


def day_one(plain: Plain) -> Table | None:
    """What each alternative takes from the household's purse on the first day; none where nobody borrows.

    What staying as you are would have to build is no part of it: it is not paid either way.
    """
    plans, currency = plain["alternatives"], plain["settings"]["currency"]
    if not any(plan["loan"] for plan in plans):
        return None
    flows = [plan["cash_flow"]["lines"] for plan in plans]
    names = [name for name in dict.fromkeys(name for flow in flows for name in flow) if name != "investment avoided"]
    names = [name for name in names if any(flow.get(name, [0.0])[0] for flow in flows)]
    columns = [in_cents([-flow.get(name, [0.0])[0] for name in names]) for flow in flows]
    return Table(
        caption=told.DAY_ONE_CAPTION,
        head=["", *(plan["name"] for plan in plans)],
        rows=[
            [terms.LINE_NAMES.get(name, name), *(amounts.money(column[k], currency, 2) for column in columns)]
            for k, name in enumerate(names)
        ],
        foot=[told.OUT_OF_POCKET, *(amounts.money(sum(column), currency, 2) for column in columns)],
    )


def cost_build_up(plain: Plain) -> Chart | None:
    """What each alternative costs by category, and what awards take off; none where all cost the same line by line."""
    if len(_alike(plain)) == 1:
        return None
    currency, plans = plain["settings"]["currency"], plain["alternatives"]
    found = {line["category"] for plan in plans for line in plan["costs"]["lines"]}
    categories = [name for name in terms.CATEGORIES if name in found]

    def sums(plan: Plain, part: str) -> float:
        return float(sum(line[part] for line in plan["costs"]["lines"]))

    def of(plan: Plain, category: str) -> float:
        return float(sum(line["price"] for line in plan["costs"]["lines"] if line["category"] == category))

    parts = [(terms.CATEGORIES[name], [of(plan, name) for plan in plans]) for name in categories]
    parts.append((SALES_TAX, [sums(plan, "sales_tax") for plan in plans]))
    parts.append((ALLOWANCE, [sums(plan, "contingency") for plan in plans]))
    parts.append((told.REBATES_AND_AWARDS, [-(p["costs"]["rebates"] + p["costs"]["awards"]) for p in plans]))
    parts = [(name, row) for name, row in parts if any(row)]
    names = [wrapped(plan["name"]) for plan in plans]
    data = [
        {
            "type": "bar",
            "orientation": "h",
            "name": name,
            "y": list(range(len(plans))),
            "x": rounded(row),
            "marker": filled(colours.SERIES[i % 8], ("", "/", "", "x", "", "-", "", "\\")[i % 8] if i < 8 else "."),
        }
        for i, (name, row) in enumerate(parts)
    ]
    return Chart(
        id="cost-build-up",
        title=told.BUILD_UP_TITLE,
        reading=told.build_up_reading(plans, currency),
        alt=told.BUILD_UP_ALT,
        data=data,
        layout=laid_out(
            barmode="relative",
            hovermode="closest",
            xaxis=money_axis(currency),  # the ticks carry the currency, and the legend needs the room
            # Places stand for names, so that two that are shortened alike keep a bar each.
            yaxis={
                "autorange": "reversed",
                "tickmode": "array",
                "tickvals": list(range(len(plans))),
                "ticktext": names,
            },
            margin={"l": 8, "r": 16, "t": 12, "b": 48},
        ),
        table=Table(
            caption=told.BUILD_UP_CAPTION,
            head=["", *(plan["name"] for plan in plans)],
            rows=[[name, *(amounts.money(amount, currency) for amount in row)] for name, row in parts],
            foot=[told.NET, *(amounts.money(plan["costs"]["net"], currency) for plan in plans)],
        ),
        height=180 + 60 * len(plans) + 24 * (len(parts) // 2),
    )
