"""Invented scenarios as YAML text, drawn at random: what a household might write, whole and by the rules.

Every number has few digits, so that a failing example can be read and typed in again.
"""

from __future__ import annotations

import datetime as dt
import io
from itertools import pairwise
from typing import Any

from hypothesis import strategies as st
from ruamel.yaml import YAML

Block = dict[str, Any]

PLACES = {
    "greensboro": {"region": "NC", "latitude": 36.1, "longitude": -79.95, "timezone": "America/New_York"},
    "miami": {"region": "FL", "latitude": 25.8, "longitude": -80.27, "timezone": "America/New_York"},
    "sand-point": {"region": "AK", "latitude": 55.32, "longitude": -160.52, "timezone": "America/Anchorage"},
}
SHAPES = ("all-electric", "cabin", "evening", "home-all-day", "hot-climate")
# few directions, since the sun on each is worked out once and kept
DIRECTIONS = ((25, 180), (40, 135), (10, 270), (90, 180))
MONTHS = ("jun-sep", "nov-mar", "apr, jul, oct-dec", "aug")
DAYS = ("mon-fri", "sat-sun", "sat-mon", "wed")
COSTS = ("modules", "inverter", "battery", "racking", "wiring", "generator", "labour", "permits",
         "interconnection", "roof", "service panel", "tools", "shipping", "finance", "other")  # fmt: skip
COMING_BACK = ("upkeep", "insurance", "inverter", "battery", "modules", "generator", "other")
DAYS_THAT_MATTER = tuple(
    dt.date(year, month, day)
    for year in (2006, 2009, 2020, 2022, 2023, 2026)
    for year, month, day in ((year - 1, 12, 31), (year, 1, 1))
)
"""The last and the first days of what the federal credit grants."""


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


def rise() -> st.SearchStrategy[Any]:
    """Draw a yearly rise, or a path of them."""
    one = percent(-6, 12)
    return st.one_of(one, one, st.lists(one, min_size=2, max_size=5).map(lambda path: {"path": path}))


def block(must: Block, may: Block | None = None) -> st.SearchStrategy[Block]:
    """Draw a block with all of some fields and any of others."""
    return st.fixed_dictionaries(must, optional=may or {})


@st.composite
def energy_prices(draw: st.DrawFn) -> Any:
    """Draw the prices of the week: one, or periods that fill it once."""
    price = amount(0.02, 0.6, 3)
    if draw(st.booleans()):
        return draw(number(0.02, 0.6, 3))
    if draw(st.booleans()):  # no rest: the year halves, and in one half the day
        start = draw(st.integers(1, 22))
        end = draw(st.integers(start + 1, 23))
        spans = (
            {"months": "oct-mar"},
            {"months": "apr-sep", "hours": f"{start}-{end}"},
            {"months": "apr-sep", "hours": f"{end}-{start}"},
        )
        return [{"name": f"price {i}", "price": draw(price), **span} for i, span in enumerate(spans)]
    cuts = sorted(draw(st.sets(st.integers(0, 24), min_size=2, max_size=4)))
    periods = []
    for i, (start, end) in enumerate(pairwise(cuts)):
        period = draw(
            block(
                {"name": st.just(f"price {i}"), "price": price, "hours": st.just(f"{start}-{end}")},
                {"months": st.sampled_from(MONTHS), "days": st.sampled_from(DAYS)},
            )
        )
        periods.append(period)
    place = draw(st.integers(0, len(periods)))
    return [*periods[:place], {"name": "rest", "price": draw(price)}, *periods[place:]]


def exports() -> st.SearchStrategy[Block]:
    """Draw what is given for energy fed in."""
    month = st.sampled_from(("jan", "mar", "jun", "dec"))
    return st.one_of(
        st.just({"scheme": "none"}),
        block({"scheme": st.just("net billing"), "price": amount(0.0, 0.3, 3)}),
        block(
            {"scheme": st.just("net metering")},
            {"surplus_price": amount(0.0, 0.1, 3), "true_up_month": month},
        ),
    )


def tariffs() -> st.SearchStrategy[Block]:
    """Draw a tariff."""
    return block(
        {"energy": energy_prices(), "rise": rise()},
        {
            "monthly_charge": amount(0, 40),
            "export": exports(),
            "fixed_rise": rise(),
            "export_rise": rise(),
        },
    )


def generators() -> st.SearchStrategy[Block]:
    """Draw a generator."""
    return block(
        {"kw": number(0.3, 8, 1), "fuel_price": amount(0.8, 2.5), "rise": rise()},
        {
            "litres_per_kwh": amount(0.2, 0.4, 3),
            "idle_litres_per_kw": amount(0, 0.1, 3),
            "upkeep_per_hour": amount(0, 0.5),
        },
    )


@st.composite
def batteries(draw: st.DrawFn) -> Block:
    """Draw a battery with its power written in each of the ways there are."""
    power = number(0.2, 8, 1)
    found = draw(
        block(
            {"kwh": st.one_of(number(0.5, 30, 1), st.sampled_from((2.9, 3.0)))},
            {"round_trip": percent(60, 100), "reserve": percent(0, 100), "fade": percent(0, 40)},
        )
    )
    if draw(st.booleans()):
        found.pop("round_trip", None)
        found |= {name: draw(percent(60, 100)) for name in ("charge_efficiency", "discharge_efficiency")}
    ways = (("kw",), ("kw", "charge_kw"), ("kw", "discharge_kw"), ("charge_kw", "discharge_kw"))
    return found | {name: draw(power) for name in draw(st.sampled_from(ways))}


def systems(operation: str) -> st.SearchStrategy[Block]:
    """Draw modules, an inverter often too small for them, and perhaps a battery."""
    array = st.sampled_from(DIRECTIONS).flatmap(
        lambda d: block(
            {"kw": number(0.2, 9, 1), "tilt": st.just(d[0]), "azimuth": st.just(d[1])},
            {"temperature_coefficient": st.sampled_from(("-0.4%", -0.0028))},
        )
    )
    inverter = block({"kw": number(0.5, 9, 1)}, {"efficiency": percent(85, 100), "idle_watts": number(0, 90, 0)})
    return block(
        {
            "arrays": st.lists(array, min_size=1, max_size=2),
            "inverter": inverter,
            "operation": st.just(operation),
        },
        {
            "battery": st.one_of(batteries(), batteries(), st.just("none")),
            "losses": percent(0, 25),
            "fade": percent(0, 5),
            "first_year_loss": percent(0, 5),
        },
    )


@st.composite
def cost_lines(draw: st.DrawFn, fewest: int) -> list[Block]:
    """Draw lines of what it costs to build."""
    kinds = draw(st.lists(st.sampled_from(COSTS), min_size=fewest, max_size=6))
    lines = []
    for i, kind in enumerate(kinds):
        price = draw(
            st.one_of(
                block({"cost": amount(0, 6000, 0)}),
                block({"each": amount(10, 200)}, {"quantity": amount(1, 20, 0)}),
            )
        )
        shares = draw(
            block({}, {"sales_tax": percent(0, 10), "contingency": percent(0, 15), "residual": percent(0, 60)})
        )
        lines.append({"item": f"cost {i}", "category": kind} | price | shares)
    return lines


@st.composite
def upkeep_lines(draw: st.DrawFn) -> list[Block]:
    """Draw what comes back, every year or every few."""
    lines = []
    for i, kind in enumerate(draw(st.lists(st.sampled_from(COMING_BACK), max_size=4))):
        line = draw(
            block(
                {"item": st.just(f"upkeep {i}"), "category": st.just(kind), "cost": amount(0, 900, 0)},
                {
                    "every": st.integers(1, 4),
                    "first": st.integers(1, 3),
                    "rise": rise(),
                    "residual": percent(0, 60),
                },
            )
        )
        lines.append(line)
    return lines


@st.composite
def plans(draw: st.DrawFn, name: str, years: int, grid: bool, motor: bool) -> Block:
    """Draw one way to go ahead."""
    off_grid = not grid or draw(st.integers(0, 3)) == 0
    rebate = block({"amount": amount(0, 2500, 0)}, {"lowers_basis": st.booleans()})
    loan = block(
        {"rate": percent(0, 15), "years": st.integers(1, years)},
        {"fee": percent(0, 5), "share": percent(0, 100)},
    )
    plan = draw(
        block(
            {
                "name": st.just(name),
                "system": systems("off grid" if off_grid else "self-consumption"),
                "costs": cost_lines(1),
                "upkeep": upkeep_lines(),
            },
            {
                "purchase": block({}, {"sales_tax": percent(0, 10), "contingency": percent(0, 15)}),
                "rebates": st.lists(rebate, max_size=2),
                "payment": block({"loan": loan}),
                "own_hours": number(1, 200, 0),
                "in_service": days(),
                "installation_completed": days(),
            },
        )
    )
    in_order(plan)
    for i, entry in enumerate(plan.get("rebates", [])):
        entry["item"] = f"rebate {i}"
    if grid and draw(st.integers(0, 3)) == 0:
        plan["tariff"] = draw(tariffs())
    if off_grid and not motor and draw(st.booleans()):
        plan["generator"] = draw(generators())
    return plan


def in_order(block_with_days: Block) -> None:
    """Put the day of completion before the one of service, as the reader asks."""
    found = sorted(
        block_with_days[name] for name in ("installation_completed", "in_service") if name in block_with_days
    )
    for name, day in zip(("installation_completed", "in_service"), found, strict=False):
        if len(found) == 2:
            block_with_days[name] = day


def days() -> st.SearchStrategy[dt.date]:
    """Draw a day, often one at the edge of a law."""
    anywhere = st.dates(dt.date(2004, 1, 1), dt.date(2030, 12, 31))
    return st.one_of(st.sampled_from(DAYS_THAT_MATTER), anywhere)


@st.composite
def scenarios(draw: st.DrawFn, fewest_years: int = 1, most_years: int = 4) -> str:
    """Draw the text of a whole scenario."""
    years = draw(st.integers(fewest_years, most_years))
    station = draw(st.sampled_from(sorted(PLACES)))
    grid = draw(st.integers(0, 3)) > 0
    motor = not grid or draw(st.integers(0, 3)) == 0
    load = block(
        {
            "monthly_kwh": st.lists(number(0, 1500, 0), min_size=12, max_size=12),
            "shape": st.one_of(st.sampled_from(SHAPES), st.lists(st.integers(1, 30), min_size=24, max_size=24)),
        },
        {"growth": percent(-4, 6)},
    )
    tax = amount(0, 6000, 0)
    found: Block = {
        "title": "A house drawn by lot",
        "place": {"country": draw(st.sampled_from(("US", "US", "US", "DE"))), **PLACES[station]}
        | draw(st.sampled_from(({}, {}, {"timezone": "America/Los_Angeles"}, {"timezone": "Asia/Kolkata"}))),
        "study": draw(
            block(
                {
                    "in_service": days(),
                    "years": st.just(years),
                    draw(st.sampled_from(("discount_rate", "real_discount_rate"))): percent(0, 12),
                },
                {"inflation": percent(-2, 8), "installation_completed": days()},
            )
        ),
        "household": draw(
            block(
                {"load": load},
                {
                    "income_tax": st.one_of(tax, tax, st.lists(tax, min_size=1, max_size=5)),
                    "owner_occupied": st.sampled_from((True, True, True, False)),
                },
            )
        ),
        "weather": station,
    }
    in_order(found["study"])
    if grid:
        found["tariff"] = draw(tariffs())
    if motor:
        found["generator"] = draw(generators())
    if draw(st.integers(0, 3)) == 0:
        found["stay"] = {"costs": draw(cost_lines(0)), "upkeep": draw(upkeep_lines())}
    first = draw(plans("first", years, grid, motor))
    if first.get("installation_completed", dt.date.min) > found["study"]["in_service"]:
        first.setdefault("in_service", first["installation_completed"])
    found["alternatives"] = [first]
    if draw(st.booleans()):
        second = draw(
            block({"costs": cost_lines(0)}, {"payment": st.just("cash"), "in_service": days(), "own_hours": st.just(0)})
        )
        for i, line in enumerate(second["costs"]):
            line["item"] = f"more {i}"
        if "installation_completed" in found["alternatives"][0]:
            second.pop("in_service", None)  # it would have to follow the inherited day
        found["alternatives"].append({"name": "second", "like": "first"} | second)
    return in_yaml(found)


def in_yaml(tree: Block) -> str:
    """Write a tree as YAML."""
    out = io.StringIO()
    yaml = YAML(typ="safe")
    yaml.default_flow_style = False
    yaml.representer.ignore_aliases = lambda _: True
    yaml.dump(tree, out)
    return out.getvalue()
