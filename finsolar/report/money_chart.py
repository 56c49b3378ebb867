"""Where the money goes: what is bought, what is taken off it, and what leaves the purse on the first day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise
from typing import Any

from finsolar.report import colours
from finsolar.report.figures import Chart, Table, filled, laid_out, money_axis, rounded, wrapped
from finsolar.report.words import amounts, awards, changes_told, costs_told, terms
from finsolar.tariff.rounding import cents

Plain = dict[str, Any]

SALES_TAX, ALLOWANCE = "Sales tax", "Allowance for the unforeseen"

_MOST_LINES = 10  # cost lines that are named; the table behind the chart has all
_NOTHING = 0.005  # less than half a cent is no money


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
    taken = [Step(one["item"], "at the start", -one["amount"], "less") for one in costs["rebate_lines"]]
    for award in plan["incentives"]:
        if award["upfront"]:
            when = "not charged" if award["kind"] == "sales tax relief" else awards.by_calendar(award["amounts"], began)
            taken.append(Step(award["title"], when, -sum(award["amounts"]), "less"))
    gross, net = Step("Gross cost", "", costs["gross"], "sum"), Step("Net cost", "", costs["net"], "sum")
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
            ("cost", "Added", colours.SERIES[0], ""),
            ("less", "Taken off", colours.SERIES[2], "/"),
            ("sum", "What it comes to", colours.STAY, ""),
        )
        if any(step.kind == kind for step in steps)
    ]
    table, *others = [_bridge_table(names_of, plan, currency) for names_of, plan in _alike(plain)]
    return Chart(
        id="gross-to-net",
        title=f"Where the money goes, from gross to net: {plan['name']}",
        reading=_told(plan, currency),
        alt="Bars that begin where the one before ends. "
        + " ".join(f"{step.name}: {amounts.money(step.amount, currency)}." for step in steps),
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
        own.append(Step(f"{len(smaller)} smaller lines", "", sum(step.amount for step in smaller), "cost"))
    return [*own, *rest]


def _tick(step: Step) -> str:
    """What stands beside a bar: the name, and below that of an award the years in which it arrives."""
    name = wrapped(step.name, 2)
    when = step.detail.partition(" (")[0]
    return f"{name}<br>{when}" if step.kind == "less" and when else name


def _told(plan: Plain, currency: str) -> str:
    """What the bars tell: the dearest line, what is taken off, and what is no part of it."""
    steps = bridge(plan, currency)
    dearest = max((step for step in steps if step.kind == "cost"), key=lambda step: step.amount)
    taken = [step for step in steps if step.kind == "less"]
    gross, net = (amounts.money(plan["costs"][key], currency) for key in ("gross", "net"))
    told = f"The largest line is “{dearest.name}”, {amounts.money(dearest.amount, currency)} of {gross}."
    if taken:
        names = amounts.joined([f"“{step.name}”" for step in taken])
        off = amounts.money(-sum(step.amount for step in taken), currency)
        told += f" {names} {'takes' if len(taken) == 1 else 'take'} off {off}, which leaves {net}."
    else:
        told += " No rebate or award takes anything off."
    if plan["costs"]["yearly_awards"] > _NOTHING:
        yearly = amounts.money(plan["costs"]["yearly_awards"], currency)
        told += f" What is awarded year by year, {yearly} in all, is no part of it."
    if plan["own_hours"]:
        told += f" The {plan['own_hours']:,.0f} own hours are no cash."
    return told


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
        caption=f"From the cost lines to the net cost of {names}; cents are shared out so that the lines add up",
        head=["", "How, or when", "Amount", "So far"],
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
        caption="Out of pocket on the day the system is switched on: what is paid, less what comes in on that day",
        head=["", *(plan["name"] for plan in plans)],
        rows=[
            [terms.LINE_NAMES.get(name, name), *(amounts.money(column[k], currency, 2) for column in columns)]
            for k, name in enumerate(names)
        ],
        foot=["Out of pocket", *(amounts.money(sum(column), currency, 2) for column in columns)],
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
    parts.append(("Rebates and awards", [-(p["costs"]["rebates"] + p["costs"]["awards"]) for p in plans]))
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
    low, high = (f(plans, key=lambda plan: plan["costs"]["net"]) for f in (min, max))
    reading = f"After rebates and awards, “{low['name']}” costs {amounts.money(low['costs']['net'], currency)}"
    if high is not low and high["costs"]["net"] - low["costs"]["net"] > 0.5:
        reading += f" and “{high['name']}” {amounts.money(high['costs']['net'], currency)}"
    return Chart(
        id="cost-build-up",
        title="What the money buys",
        reading=reading + ".",
        alt="Stacked bars of cost by category; the table below holds every amount.",
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
            caption="Cost by category",
            head=["", *(plan["name"] for plan in plans)],
            rows=[[name, *(amounts.money(amount, currency) for amount in row)] for name, row in parts],
            foot=["Net cost", *(amounts.money(plan["costs"]["net"], currency) for plan in plans)],
        ),
        height=180 + 60 * len(plans) + 24 * (len(parts) // 2),
    )
