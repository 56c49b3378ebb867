"""Invented tariffs drawn at random: price periods, tiers, demand, surcharges, taxes, ways of export, later changes."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from generated_numbers import DAYS, HOURS, MONTHS, Block, amount, block, chance, number, percent, rise
from hypothesis import strategies as st

PARTS = ("fixed charge", "energy", "tiers", "demand", "riders", "minimum")
WINDOW = {"months": st.sampled_from(MONTHS), "days": st.sampled_from(DAYS), "hours": st.sampled_from(HOURS)}
ADDER = st.one_of(number(-0.05, 0.2, 3), amount(0, 0.2, 3))


@st.composite
def energy_prices(draw: st.DrawFn) -> Any:
    """Draw the prices of the week: one, or periods that fill it once."""
    price = amount(0.02, 0.6, 3)
    if draw(chance(30)):
        return draw(number(0.02, 0.6, 3))
    if draw(chance(30)):  # no rest: the year halves, and in one half the day
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


def period_names(energy: Any) -> list[str]:
    """Return what the price periods of a drawn tariff are called."""
    return [period["name"] for period in energy] if isinstance(energy, list) else ["all hours"]


@st.composite
def exports(draw: st.DrawFn, periods: list[str], together: bool) -> Block:
    """Draw what is given for energy fed in; a bank of money only where energy and tiers go ``together``."""
    month = st.sampled_from(("jan", "mar", "jun", "dec"))
    paid = amount(0.0, 0.3, 3)
    by_period = st.tuples(*(paid for _ in periods)).map(
        lambda prices: [{"period": name, "price": price} for name, price in zip(periods, prices, strict=True)]
    )
    billing = {"scheme": st.just("net billing"), "price": st.one_of(paid, by_period)}
    banked = {"scheme": st.just("net metering"), "bank": st.just("money")}
    limit = {"limit_kw": number(0.3, 6, 1)}
    return draw(
        st.one_of(
            st.just({"scheme": "none"}),
            block(billing, limit),
            block(
                billing | {"credits_pay": st.just("energy")},
                limit | {"true_up_month": month, "pay_out": percent(0, 100)},
            ),
            block(
                {"scheme": st.just("net metering")},
                limit | {"surplus_price": amount(0.0, 0.1, 3), "true_up_month": month},
            ),
            *([block(banked, limit | {"true_up_month": month})] * 2 if together else []),
        )
    )


@st.composite
def tiers(draw: st.DrawFn, periods: list[str]) -> Block:
    """Draw the steps of a tier, which end at kWh a month, kWh a day or shares of a baseline."""
    way = draw(st.sampled_from(("month", "day", "baseline")))
    most = {"month": 800, "day": 40, "baseline": 300}[way]
    ends = sorted(draw(st.sets(st.integers(1, most), min_size=1, max_size=3)))
    key = "of_baseline" if way == "baseline" else "up_to"
    steps = [{key: f"{end}%" if way == "baseline" else end} | draw(block({}, {"adds": ADDER})) for end in ends]
    found: Block = {"steps": [*steps, draw(block({}, {"adds": ADDER}))]}
    if way == "baseline":
        allowed = number(2, 20, 1)
        halves = ({},) if draw(chance(50)) else ({"months": "may-oct"}, {"months": "nov-apr"})
        found["baseline"] = [{"kwh_a_day": draw(allowed), **half} for half in halves]
    elif way == "day":
        found["per"] = "day"
    if draw(chance(50)):
        found["of"] = draw(st.lists(st.sampled_from(periods), min_size=1, unique=True))
    return found


@st.composite
def demands(draw: st.DrawFn) -> list[Block]:
    """Draw windows whose highest import is priced."""
    window = block(
        {"price": amount(0, 20)},
        WINDOW
        | {"minutes": st.sampled_from((60, 30, 15)), "ratchet": percent(0, 100), "ratchet_months": st.integers(1, 20)},
    )
    return _named("name", "window", draw(st.lists(window, max_size=2)))


def _parts(names: tuple[str, ...], together: bool) -> st.SearchStrategy[list[str]]:
    """Draw some parts of a bill, energy and tiers both or neither of them where they go ``together``."""
    found = st.lists(st.sampled_from(names), min_size=1, unique=True)
    if not together:
        return found
    both = {"energy", "tiers"}
    return found.map(lambda some: [*some, *sorted(both - set(some))] if both & set(some) else some)


@st.composite
def riders(draw: st.DrawFn, together: bool) -> list[Block]:
    """Draw surcharges and discounts; where energy is settled ``together``, no share of it in some months alone."""
    months = {"months": st.sampled_from(MONTHS)}
    share = {"share": percent(-20, 20)}
    one = st.one_of(
        block({"per_kwh": ADDER}, months),
        block(share, ({} if together else months) | {"on": _parts(PARTS[:4], together)}),
        block(share | {"on": _parts(("fixed charge", "demand"), together)}, months),
    )
    return _named("item", "rider", draw(st.lists(one, max_size=3)))


@st.composite
def taxes(draw: st.DrawFn, together: bool) -> list[Block]:
    """Draw taxes on the whole bill or on parts of it."""
    one = block({"share": percent(0, 20)}, {"on": _parts(PARTS, together)})
    return _named("item", "tax", draw(st.lists(one, max_size=2)))


def _named(key: str, word: str, entries: list[Block]) -> list[Block]:
    return [{key: f"{word} {i}"} | entry for i, entry in enumerate(entries)]


def _optional(holidays: bool, together: bool) -> Block:
    days = block({}, {"count_as": st.sampled_from(("sun", "sat", "wed"))})
    return {
        "monthly_charge": amount(0, 40),
        "daily_charge": amount(0, 1.5),
        "charge_per_kw": amount(0, 5),
        "minimum_bill": amount(0, 120),
        "demand": demands(),
        "riders": riders(together),
        "taxes": taxes(together),
        "production_price": amount(0, 0.2, 3),
        "production_years": st.integers(1, 4),
        "fixed_rise": rise(),
        "export_rise": rise(),
        "demand_rise": rise(),
    } | ({"holidays": days} if holidays else {})


@st.composite
def tariffs(draw: st.DrawFn, holidays: bool = True, changes: bool = True, together: bool | None = None) -> Block:
    """Draw a tariff, with public ``holidays`` perhaps, and perhaps others that take its place later.

    ``together``, drawn if not said, lets energy and tiers be settled in money, which wants shares of both or neither.
    Tiers and export are always said, since what is inherited of them may name periods that are no more.
    """
    if together is None:
        together = draw(chance(50))
    found: Block = draw(block({"energy": energy_prices(), "rise": rise()}, _optional(holidays, together)))
    periods = period_names(found["energy"])
    found["tiers"] = draw(st.lists(tiers(periods), max_size=2))
    if len({frozenset(each.get("of", periods)) for each in found["tiers"]}) < len(found["tiers"]):
        for each, months in zip(found["tiers"], ("mar-aug", "sep-feb"), strict=True):
            each["months"] = months
    found["export"] = draw(exports(periods, together))
    if not changes or draw(chance(65)):
        return found
    later = []
    for year in sorted(draw(st.sets(st.integers(2, 4), min_size=1, max_size=2))):
        whole = draw(chance(50))
        change = (
            tariffs(holidays, False, together) if whole else block({}, _optional(holidays, together) | {"rise": rise()})
        )
        another = {"from_year": year} | draw(change)
        if "export" not in another or _alike_in_leaving(another["export"], found["export"]):
            later.append(another)
    return found | {"later": later}


def _alike_in_leaving(one: Block, other: Block) -> bool:
    """Whether two ways of export let the same energy leave the house."""
    closed = [way.get("scheme", "none") == "none" for way in (one, other)]
    return closed[0] == closed[1] and one.get("limit_kw") == other.get("limit_kw")
