"""Houses drawn at random: their sun, their use, and what is put on the roof; and the files that these name."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from random import Random
from typing import Any

import weather_samples
from generated_numbers import HOURS, MONTHS, Block, block, chance, number, percent
from hypothesis import strategies as st

# kWh/m2 a day on the level, near what each place has
SUN_HOURS = {
    "greensboro": (2.5, 3.4, 4.4, 5.3, 5.8, 6.1, 5.9, 5.4, 4.6, 3.8, 2.8, 2.3),
    "miami": (3.6, 4.3, 5.2, 6.0, 6.1, 5.7, 5.8, 5.6, 5.0, 4.4, 3.7, 3.3),
    "sand-point": (0.5, 1.1, 2.2, 3.6, 4.4, 4.7, 4.3, 3.4, 2.3, 1.4, 0.7, 0.3),
}
METERS = ("meter.csv", "quarters.csv")
SUNS = {"sun.epw": "epw", "sun.csv": "pvgis"}
PRODUCTION = "production.csv"
HOURLY = "prices.csv"
SHAPES = ("all-electric", "cabin", "evening", "home-all-day", "hot-climate")
# few directions, since the sun on each is worked out once and kept
DIRECTIONS = ((25, 180), (40, 135), (10, 270), (90, 180))


def weathers(station: str) -> st.SearchStrategy[Any]:
    """Draw whose sun it is."""
    bright = {
        "brightness": st.one_of(
            percent(50, 99), st.integers(100, 150).map("{}%".format), st.just({"from": "88%", "to": "104%"})
        )
    }
    dim = number(0.6, 1)
    hours = dim.map(lambda share: [round(kwh * share, 2) for kwh in SUN_HOURS[station]])
    air = st.lists(number(-15, 30, 0), min_size=12, max_size=12)
    return st.one_of(
        st.just(station),
        st.just(station),
        block({"station": st.just(station)}, bright),
        block({"file": st.sampled_from(sorted(SUNS))}, bright).flatmap(
            lambda sun: block({}, {"kind": st.just(SUNS[sun["file"]])}).map(lambda kind: sun | kind)
        ),
        block({"sun_hours": hours}, bright | {"temperature": air, "seed": st.integers(0, 9)}),
    )


@st.composite
def loads(draw: st.DrawFn, years: int) -> Block:
    """Draw what the house uses, and what will come within the study."""
    twelve = st.lists(number(0, 1500, 0), min_size=12, max_size=12)
    hours, months = st.sampled_from(HOURS), st.sampled_from(MONTHS)
    shape = st.one_of(st.sampled_from(SHAPES), st.lists(st.integers(1, 30), min_size=24, max_size=24))
    appliance = block(
        {"watts": number(5, 3000, 0)},
        {"duty": percent(0, 100), "months": months, "on_backup": percent(0, 100), "count": number(0, 3, 0)},
    )
    part_of_day = block({"hours_a_day": number(0, 3, 1)}, {"hours": hours})
    source = draw(
        st.one_of(
            block({"monthly_kwh": twelve, "shape": shape}),
            block({"monthly_kwh": twelve, "shape": shape}),
            block({"file": st.sampled_from(METERS)}, {"stamps": st.just("start")}),
            block({"appliances": st.lists(appliance, min_size=1, max_size=4)}),
        )
    )
    for i, line in enumerate(source.get("appliances", [])):
        line |= {"item": f"appliance {i}"} | draw(st.one_of(st.just({}), part_of_day))
    later = st.one_of(
        block({"kwh_a_day": number(0, 25, 1)}, {"months": months, "hours": hours}),
        block({"monthly_kwh": twelve}, {"hours": hours}),
    )
    source |= draw(block({}, {"growth": percent(-4, 6), "new_loads": st.lists(later, max_size=2)}))
    for i, line in enumerate(source.get("new_loads", [])):
        line |= {"item": f"load {i}", "from_year": draw(st.integers(1, years))}
    return source


@st.composite
def fades(draw: st.DrawFn) -> Block:
    """Draw how a battery ages; wear by use far quicker than a battery's, so that a few years show it."""
    found = draw(block({"ten_years": percent(0, 60)}, {"law": st.sampled_from(("linear", "square root"))}))
    return found | {"thousand_cycles": draw(percent(0, 90))} if draw(chance(70)) else found


def monthly(most: float) -> st.SearchStrategy[Any]:
    """Draw one share, or twelve."""
    return st.one_of(percent(0, most), st.lists(percent(0, most), min_size=12, max_size=12))


@st.composite
def batteries(draw: st.DrawFn) -> Block:
    """Draw a battery with its power written in each of the ways there are."""
    power = number(0.2, 8, 1)
    found = draw(
        block(
            {"kwh": st.one_of(number(0.5, 30, 1), st.sampled_from((2.9, 3.0)))},
            {
                "round_trip": percent(60, 100),
                "reserve": st.one_of(percent(0, 40), percent(0, 100)),
                "standby_watts": number(0, 40, 0),
                "warranty": block(
                    {"years": st.integers(1, 12)}, {"mwh": number(0.1, 15, 1), "capacity": percent(50, 90)}
                ),
            },
        )
    )
    if draw(chance(75)):
        found["fade"] = draw(fades() if draw(chance(60)) else percent(0, 40))
    if draw(chance(50)):
        found["coupling"] = draw(st.sampled_from(("dc", "dc", "ac")))
    if draw(chance(40)):
        found.pop("round_trip", None)
        found |= {name: draw(percent(60, 100)) for name in ("charge_efficiency", "discharge_efficiency")}
    ways = (("kw",), ("kw", "charge_kw"), ("kw", "discharge_kw"), ("charge_kw", "discharge_kw"))
    return found | {name: draw(power) for name in draw(st.sampled_from(ways))}


@st.composite
def time_shifts(draw: st.DrawFn, periods: list[str]) -> Block:
    """Draw when a battery works, by the names of two or more price periods."""
    found = draw(block({}, {"keep": percent(0, 100)}))
    rest = draw(st.permutations(periods))
    if draw(chance(50)):
        found["dear"] = [rest.pop()]
    if draw(chance(75)):
        found["cheap"] = rest[: draw(st.integers(1, len(rest)))]
        found |= draw(block({}, {"charge_to": percent(0, 100)}))
    return found


@st.composite
def systems(draw: st.DrawFn, periods: list[str] | None) -> Block:
    """Draw modules or a record of production, an inverter often too small, perhaps a battery, and how it is run.

    ``periods`` are the names of the price periods, None off the grid.
    """
    array = st.sampled_from(DIRECTIONS).flatmap(
        lambda d: block(
            {"kw": number(0.2, 9, 1), "tilt": st.just(d[0]), "azimuth": st.just(d[1])},
            {"temperature_coefficient": st.sampled_from(("-0.4%", -0.0028)), "shading": monthly(60)},
        )
    )
    inverter = block({"kw": number(0.5, 9, 1)}, {"efficiency": percent(85, 100), "idle_watts": number(0, 90, 0)})
    loss = st.lists(percent(0, 15), min_size=1, max_size=3).map(
        lambda shares: [{"item": f"loss {i}", "share": share} for i, share in enumerate(shares)]
    )
    found = draw(
        block(
            {"inverter": inverter},
            {
                "losses": st.one_of(percent(0, 25), loss),
                "snow": monthly(90),
                "fade": percent(0, 5),
                "first_year_loss": percent(0, 5),
            },
        )
    )
    if draw(chance(80)):
        found["battery"] = draw(batteries())
    if draw(chance(15)):
        found["production"] = PRODUCTION
    else:
        found["arrays"] = draw(st.lists(array, min_size=1, max_size=2))
    if periods is None:
        return found | {"operation": "off grid"}
    ways = ["self-consumption"]
    if "battery" in found:
        ways += ["backup only"] + ["time shift"] * 3 * (len(periods) > 1)
    found["operation"] = draw(st.sampled_from(ways))
    if found["operation"] == "time shift" and draw(chance(75)):
        found["time_shift"] = draw(time_shifts(periods))
    return found


def write_files(folder: Path) -> None:
    """Write the files that drawn scenarios name: two meters, a record of production, prices of each hour
    and two typical years."""
    lot = Random(20)
    start = dt.datetime(2023, 1, 1, tzinfo=dt.UTC)
    for name, minutes in zip(METERS, (60, 15), strict=True):
        stamps = [start + k * dt.timedelta(minutes=minutes) for k in range(380 * 24 * 60 // minutes)]
        lines = [f"{at:%Y-%m-%dT%H:%MZ},{lot.triangular(0, 4, 0.3) * minutes / 60:.3f}" for at in stamps]
        (folder / name).write_text("\n".join(["start,kWh", *lines]) + "\n", encoding="utf-8")
    record = [max(0.0, lot.gauss(3, 1.5)) if 7 <= hour % 24 < 18 else 0.0 for hour in range(8760)]
    (folder / PRODUCTION).write_text("\n".join(["kWh", *(f"{kwh:.3f}" for kwh in record)]) + "\n", encoding="utf-8")
    asked = [lot.gauss(0.06, 0.05) for _ in range(8760)]
    (folder / HOURLY).write_text("\n".join(["price", *(f"{price:.4f}" for price in asked)]) + "\n", encoding="utf-8")
    weather = weather_samples.made_up()
    weather_samples.write_epw(folder / "sun.epw", weather)
    weather_samples.write_pvgis_csv(folder / "sun.csv", weather)
