"""Invented scenarios as YAML text, drawn at random: what a household might write, whole and by the rules."""

from __future__ import annotations

import datetime as dt
import io

from generated_houses import loads, systems, weathers
from generated_numbers import Block, amount, block, chance, number, percent, rise
from generated_tariffs import period_names, tariffs
from hypothesis import strategies as st
from ruamel.yaml import YAML

PLACES = {
    "greensboro": {"region": "NC", "latitude": 36.1, "longitude": -79.95, "timezone": "America/New_York"},
    "miami": {"region": "FL", "latitude": 25.8, "longitude": -80.27, "timezone": "America/New_York"},
    "sand-point": {"region": "AK", "latitude": 55.32, "longitude": -160.52, "timezone": "America/Anchorage"},
}
COSTS = ("modules", "inverter", "battery", "racking", "wiring", "generator", "labour", "permits",
         "interconnection", "roof", "service panel", "tools", "shipping", "finance", "other")  # fmt: skip
COMING_BACK = ("upkeep", "insurance", "inverter", "inverter", "battery", "battery", "modules", "generator", "roof",
               "removal", "other")  # fmt: skip
DAYS_THAT_MATTER = tuple(
    dt.date(year, month, day)
    for year in (2006, 2009, 2020, 2022, 2023, 2026)
    for year, month, day in ((year - 1, 12, 31), (year, 1, 1))
)
"""The last and the first days of what the federal credit grants."""


@st.composite
def generators(draw: st.DrawFn) -> Block:
    """Draw a generator: one that follows, or one that charges."""
    found = draw(
        block(
            {"kw": number(0.3, 8, 1), "fuel_price": amount(0.8, 2.5), "rise": rise()},
            {
                "litres_per_kwh": amount(0.2, 0.4, 3),
                "idle_litres_per_kw": amount(0, 0.1, 3),
                "upkeep_per_hour": amount(0, 0.5),
            },
        )
    )
    return (
        found | draw(block({"start_at": percent(0, 60)}, {"stop_at": percent(65, 100)})) if draw(chance(60)) else found
    )


@st.composite
def shares_by_age(draw: st.DrawFn) -> Block:
    """Draw what is left of a price by age, falling from age to age."""
    ages = draw(st.lists(st.integers(1, 6), min_size=1, max_size=3, unique=True))
    tenths = sorted(draw(st.lists(st.integers(0, 1000), min_size=len(ages), max_size=len(ages))), reverse=True)
    return {age: f"{tenth / 10}%" for age, tenth in zip(sorted(ages), tenths, strict=True)}


def sizes_in(system: Block) -> tuple[str, ...]:
    """The prices that may go by the sizes which a system tells."""
    return ("per_kw",) * ("arrays" in system) + ("per_kwh",) * (system.get("battery", "none") != "none")


@st.composite
def cost_lines(draw: st.DrawFn, fewest: int, sizes: tuple[str, ...] = ()) -> list[Block]:
    """Draw lines of what it costs to build; ``sizes`` the prices that may go by a size."""
    kinds = draw(st.lists(st.sampled_from(COSTS), min_size=fewest, max_size=6))
    lines = []
    for i, kind in enumerate(kinds):
        price = draw(
            st.one_of(
                block({"cost": amount(0, 6000, 0)}),
                block({"each": amount(10, 200)}, {"quantity": amount(1, 20, 0)}),
                block({"per_hour": amount(20, 90), "hours": amount(1, 40, 0)}),
                *(block({size: amount(20, 500, 0)}) for size in sizes),
            )
        )
        shares = draw(
            block({}, {"sales_tax": percent(0, 10), "contingency": percent(0, 15), "chance": percent(0, 100)})
        )
        end = draw(
            st.one_of(
                block({}, {"residual": percent(0, 60)}),
                block({"residual_by_age": shares_by_age()}),
                block({"resold": percent(0, 90)}, {"resold_in": st.integers(1, 5)}),
            )
        )
        lines.append({"item": f"cost {i}", "category": kind} | price | shares | end)
    return lines


@st.composite
def upkeep_lines(draw: st.DrawFn) -> list[Block]:
    """Draw what comes back, every year, every few, in years that are named, as lives end, or a battery is worn."""
    lines: list[Block] = []
    regular = block({}, {"every": st.integers(1, 4), "first": st.integers(1, 3)})
    named = block({"in_years": st.lists(st.integers(1, 5), min_size=1, max_size=3)})
    worn = block({"below": percent(50, 100)})
    lives = st.one_of(
        number(1, 4, 1),
        number(1, 4, 1).map(lambda life: {"low": 1, "likely": life, "high": 4}),
        block({"characteristic": number(1, 5, 1), "shape": number(0.5, 6, 1)}),
    )
    for i, kind in enumerate(draw(st.lists(st.sampled_from(COMING_BACK), max_size=4))):
        ways = [regular, regular, named]
        equipment = kind in ("inverter", "battery", "modules", "generator")
        if equipment:
            ways += [block({"life": number(1, 4, 1) if kind == "battery" else lives})] * 2
        if kind == "battery" and not any("below" in line for line in lines):
            ways += [worn] * 3
        line = draw(
            block(
                {"item": st.just(f"upkeep {i}"), "category": st.just(kind), "cost": amount(0, 900, 0)},
                {"rise": rise(), "labour": amount(0, 300, 0)},
            )
        )
        if kind != "removal":
            line |= draw(st.sampled_from(ways).flatmap(lambda way: way))
            line |= draw(
                st.one_of(block({}, {"residual": percent(0, 60)}), block({"residual_by_age": shares_by_age()}))
            )
        if equipment and {"every", "in_years", "life"} & set(line) and draw(chance(50)):
            line["warranty_years"] = draw(st.integers(1, 4))
        lines.append(line)
    return lines


@st.composite
def loans(draw: st.DrawFn, years: int) -> Block:
    """Draw a loan of at most the study's years; where nothing is drawn for it, a level one."""
    term = draw(st.integers(1, years))
    loan = draw(
        block(
            {"rate": percent(0, 15), "years": st.just(term)},
            {
                "fee": percent(0, 5),
                "fixed_fee": amount(0, 400, 0),
                "fees": st.sampled_from(["paid on the day", "borrowed"]),
                "dealer_fee": percent(0, 30),
                "dealer_fee_of": st.sampled_from(["financed price", "cash price"]),
                "deferral_months": st.integers(1, 11),
                "deductible": percent(0, 100),
            },
        )
    )
    if term > 1 and draw(chance(50)):
        loan["later_rates"] = draw(st.lists(percent(0, 15), min_size=1, max_size=min(4, term - 1)))
    loan |= draw(st.one_of(block({}, {"share": percent(0, 100)}), block({"amount": amount(0, 30_000, 0)})))
    if "deferral_months" in loan and draw(chance(50)):
        loan["deferral_pays"] = draw(st.sampled_from(["nothing", "interest"]))
    if draw(chance(50)):
        lump = st.one_of(
            block({"amount": amount(0, 20_000, 0)}),
            block({"share": percent(0, 100)}),
            block({"awards": percent(0, 100)}),
        )
        loan["paydown"] = draw(lump) | {"month": draw(st.integers(1, 12 * term))}
        if loan["paydown"]["month"] > loan.get("deferral_months", 0) and draw(chance(50)):
            loan["starter_share"] = draw(percent(1, 60))
        else:
            loan["paydown"]["then"] = draw(st.sampled_from(["lower payment", "sooner end"]))
    return loan


@st.composite
def plans(draw: st.DrawFn, name: str, years: int, tariff: Block | None, motor: bool, holidays: bool) -> Block:
    """Draw one way to go ahead, beside today's tariff; ``holidays`` where those of the place are known."""
    grid = tariff is not None
    off_grid = not grid or draw(chance(20))
    own = draw(tariffs(holidays)) if grid and draw(chance(25)) else None
    priced = (own or tariff or {}).get("energy")
    periods = period_names(priced)
    rebate = block({"amount": amount(0, 2500, 0)}, {"lowers_basis": st.booleans()})
    loan = draw(loans(years))
    system = draw(systems(None if off_grid else periods))
    plan = draw(
        block(
            {
                "name": st.just(name),
                "system": st.just(system),
                "costs": cost_lines(1, sizes_in(system)),
                "upkeep": upkeep_lines(),
            },
            {
                "purchase": block(
                    {},
                    {
                        "sales_tax": percent(0, 10),
                        "services_tax": percent(0, 25),
                        "contingency": percent(0, 15),
                        "contingency_by": st.dictionaries(st.sampled_from(COSTS), percent(0, 20), max_size=3),
                    },
                ),
                "rebates": st.lists(rebate, max_size=2),
                "payment": st.just({"loan": loan}),
                "own_hours": number(1, 200, 0),
                "own_hour_worth": amount(0, 90),
                "in_service": days(),
                "installation_completed": days(),
            },
        )
    )
    in_order(plan)
    for i, entry in enumerate(plan.get("rebates", [])):
        entry["item"] = f"rebate {i}"
    if own is not None:
        own.setdefault("later", [])  # what comes later at the top need not fit it
        plan["tariff"] = own
    if "production" in plan["system"]:  # which does not tell the size that such a charge goes by
        for first in (own or {}, tariff or {}):
            for sheet in (first, *first.get("later", [])):
                sheet.pop("charge_per_kw", None)
    if off_grid and not motor and draw(chance(70)):
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
    grid = draw(chance(80))
    motor = not grid or draw(chance(25))
    tax = amount(0, 6000, 0)
    found: Block = {
        "title": "A house drawn by lot",
        "place": {"country": draw(st.sampled_from(("US", "US", "US", "NL"))), **PLACES[station]}
        | draw(st.sampled_from(({}, {}, {"timezone": "America/Los_Angeles"}, {"timezone": "Asia/Kolkata"}))),
        "study": draw(
            block(
                {
                    "in_service": days(),
                    "years": st.just(years),
                    draw(st.sampled_from(("discount_rate", "real_discount_rate"))): percent(0, 12),
                },
                {
                    "inflation": percent(-2, 8),
                    "installation_completed": days(),
                    "step_minutes": st.sampled_from((60, 30, 15)),
                },
            )
        ),
        "household": draw(
            block(
                {"load": loads(years)},
                {
                    "income_tax": st.one_of(tax, tax, st.lists(tax, min_size=1, max_size=5)),
                    "owner_occupied": st.sampled_from((True, True, True, False)),
                    "backup_kwh": amount(0, 200, 0),
                },
            )
        ),
        "weather": draw(weathers(station)),
    }
    in_order(found["study"])
    known = found["place"]["country"] == "US"  # elsewhere the region that is drawn is unknown
    if grid:
        found["tariff"] = draw(tariffs(known))
    if motor:
        found["generator"] = draw(generators())
    if draw(chance(25)):
        found["stay"] = {"costs": draw(cost_lines(0)), "upkeep": draw(upkeep_lines())}
    first = draw(plans("first", years, found.get("tariff"), motor, known))
    if first.get("installation_completed", dt.date.min) > found["study"]["in_service"]:
        first.setdefault("in_service", first["installation_completed"])
    found["alternatives"] = [first]
    if draw(chance(40)):
        second = draw(
            block(
                {"costs": cost_lines(0, sizes_in(first["system"]))},
                {"payment": st.just("cash"), "in_service": days(), "own_hours": st.just(0)},
            )
        )
        for i, line in enumerate(second["costs"]):
            line["item"] = f"more {i}"
        if "installation_completed" in found["alternatives"][0]:
            second.pop("in_service", None)  # it would have to follow the inherited day
        found["alternatives"].append({"name": "second", "like": "first"} | second)
    for plan in found["alternatives"]:
        if plan.get("payment", {}) != "cash" and "deductible" in plan.get("payment", {}).get("loan", {}):
            found["household"] |= {"marginal_tax": draw(percent(0, 45)), "itemises": True}
    return in_yaml(found)


def in_yaml(tree: Block) -> str:
    """Write a tree as YAML."""
    out = io.StringIO()
    yaml = YAML(typ="safe")
    yaml.default_flow_style = False
    yaml.representer.ignore_aliases = lambda _: True
    yaml.dump(tree, out)
    return out.getvalue()
