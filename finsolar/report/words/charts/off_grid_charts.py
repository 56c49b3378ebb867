"""The words of the charts of living without the grid: the months by source, and other sizes of modules and battery."""

from __future__ import annotations

from collections.abc import Sequence

from finsolar.report.words.amounts import joined
from finsolar.report.words.off_grid import counted, finds, share
from finsolar.report.words.times_told import MONTHS, part

PARTS = {
    "sun": "Sun, straight",
    "battery": "Sun, through the battery",
    "stored_by_generator": "Generator, through the battery",
    "generator": "Generator, straight",
    "unserved": "No source",
}
"""What carries the house, by its key."""
MONTH, YEAR, USE = "Month", "Year", "Use"
MONTH_AXIS = "kWh a month"
MONTHS_CAPTION = "What carries the use of each month, kWh; the equipment’s own draw is in the use"
ENGINE_CAPTION = "The generator month by month, first year"
ENGINE = ("Generator, kWh", "Hours", "Litres", "Fuel", "Upkeep by the hour")
MODULES = "Modules"
PLAN = "The plan"
SHARE_AXIS = "Load without supply, %"
LITRES_AXIS = "Litres a year"
KWH_HOVER, SHARE_HOVER, LITRES_HOVER = "%{y:,.0f} kWh", "%{y:.1f} %", "%{y:,.0f} litres"
LITRES_CAPTION = "Litres that the generator burns in the first year"
HOURS_CAPTION = "Hours that the generator runs in the first year"
SHORT_CAPTION = "Share of the first year’s load without supply, the generator running as planned"


def months_title(name: str) -> str:
    """The title of the months."""
    return f"What carries the house, month by month, first year: {name}"


def months_alt(sums: dict[str, float]) -> str:
    """The months for those who cannot see them; kWh of the year by part."""
    told = ", ".join(f"{PARTS[key]} {kwh:,.0f} kWh" for key, kwh in sums.items())
    return (
        f"Stacked bars of each month’s use by what carried it: {told} in the year. The table below holds every month."
    )


def months_reading(
    use: Sequence[float], own: float, engine: Sequence[float], lacking: Sequence[float], hours: Sequence[float]
) -> str:
    """What the sun carries, or else the generator; the hardest month, and those in which it carries all.

    All kWh by month, ``own`` what the sun carries in the year; ``hours`` of the generator.
    """
    trace = 0.05
    strain = [made + short for made, short in zip(engine, lacking, strict=True)]
    if max(strain) <= trace:
        return f"Sun and battery carry all {sum(use):,.0f} kWh of the year’s use."
    if own <= trace:
        if sum(engine) <= trace or max(lacking) <= trace:
            who = "Nothing carries the" if sum(engine) <= trace else "The generator carries all"
            return f"{who} {sum(use):,.0f} kWh of the year’s use."
        strain = list(lacking)
    k = max(range(12), key=lambda m: strain[m] / max(use[m], 1e-9))
    quiet = [MONTHS[m] for m in range(12) if strain[m] <= trace < use[m]]
    asked = []
    if engine[k] > trace:
        asked.append(f"the generator carries {counted(engine[k], 'kWh')}, in {counted(hours[k], 'hours')}")
    if lacking[k] > trace:
        asked.append(f"{counted(lacking[k], 'kWh')} {finds(lacking[k])} no source")
    who, kwh = ("sun", own) if own > trace else ("generator", sum(engine))
    text = (
        f"The {who} carries {part(kwh / sum(use))} of the year’s {sum(use):,.0f} kWh of use. {MONTHS[k]} is the "
        f"hardest: of {use[k]:,.0f} kWh {joined(asked)}"
    )
    return f"{text}. The {who} carries all of {joined(quiet)}." if quiet else f"{text}."


def sizes_title(name: str, *, still: bool) -> str:
    """The title of what finds no source at other sizes; ``still`` : though there is a generator, none runs."""
    return f"Other sizes, and what finds no source{', no generator running' if still else ''}: {name}"


def sizes_caption(*, still: bool) -> str:
    """The caption of the same in a table."""
    return f"Share of the first year’s load without supply{' if the generator stood still' if still else ''}"


def sizes_reading(planned: float, steps: Sequence[tuple[str, float]], *, still: bool) -> str:
    """The share as planned, what one step more of each brings, and which helps more."""
    finds = "would find no source if the generator stood still" if still else "finds no source"
    reading = f"As planned {share(planned)} of the first year’s load {finds}"
    if not steps or not planned:
        return f"{reading}."
    told = [f"of {STEPS[key]}{' brings it' * (k == 0)} to {share(after)}" for k, (key, after) in enumerate(steps)]
    return f"{reading}. Half as much again {', '.join(told)}{_helping_most(steps)}."


STEPS = {"modules": "modules", "battery": "battery"}
"""What may be had half as much again of."""


def _helping_most(steps: Sequence[tuple[str, float]]) -> str:
    """Which of two steps helps more, by a digit that is shown; nothing if neither does."""
    if len(steps) < 2 or abs(steps[0][1] - steps[1][1]) < 0.0005:
        return ""
    return "; the modules help more" if steps[0][1] < steps[1][1] else "; the battery helps more"


def fuel_title(name: str) -> str:
    """The title of the fuel at other sizes."""
    return f"Other sizes, and the generator’s fuel: {name}"


def fuel_reading(planned: float, steps: Sequence[tuple[str, float]]) -> str:
    """The litres as planned, and what one step more of each leaves of them."""
    reading = f"As planned the generator burns {counted(planned, 'litres')} in the first year"
    if not steps or not planned:
        return f"{reading}."
    told = [f"of {STEPS[key]}{' it is' * (k == 0)} {after:,.0f}" for k, (key, after) in enumerate(steps)]
    return f"{reading}. With half as much again {', '.join(told)}."


def curves_alt(reading: str) -> str:
    """The curves for those who cannot see them."""
    return f"Curves over the size of the modules, one for each battery. {reading} The table below holds every point."


def modules_axis(*, in_kw: bool) -> str:
    """The axis of the modules."""
    return "Modules, kW" if in_kw else "Modules, times the planned ones"


def modules_size(size: float, *, in_kw: bool, planned: bool) -> str:
    """One size of the modules, kW or times the planned ones."""
    return (f"{size:.1f} kW" if in_kw else f"{size:g} times") + _planned(planned)


def battery_size(kwh: float, *, planned: bool) -> str:
    """One size of the battery."""
    return f"Battery {kwh:g} kWh{_planned(planned)}" if kwh else "No battery"


def _planned(planned: bool) -> str:
    return " (as planned)" if planned else ""
