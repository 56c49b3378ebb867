"""The numbers of a scenario that can be moved: each found by a name people know, with the values its field takes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, TypeAdapter, ValidationError

from finsolar.results import Study
from finsolar.scenario.numbers import Range, is_percent, limits, number_type
from finsolar.scenario.outlay import PRICES
from finsolar.scenario.problems import Problem, ScenarioError, near, shown
from finsolar.scenario.schema import Scenario, StationSun
from finsolar.study import moves_energy
from finsolar.tariff.hours import all_tariffs
from finsolar.uncertainty.leaves import Leaf, by_item, leaves, name_of

Array = NDArray[np.float64]

PRICE, ENERGY_PRICE, SUN_HOURS = "purchase price", "price of energy", "sun hours"
WORDS = (PRICE, ENERGY_PRICE, SUN_HOURS)
"""Inputs of our own, beside the paths of a scenario."""

_EXAMPLE = f"name a number by its path, such as tariff.rise, or write {', '.join(WORDS[:-1])} or {WORDS[-1]}"
_MOST_TIMES = 10
_SHARE = number_type(percent=True, low=0, high=_MOST_TIMES)  # of today's prices


@dataclass(frozen=True)
class Input:
    """One number of a scenario, or several that move alike.

    name : as messages have it, or one of ``WORDS``; paths : every place that moves;
    percent : whether it is written in per cent; batch : whether many values may stand side by side in one study whose
    hours are taken over; now : its value in the study, NaN where it is no single one; check : a value as written ->
    the number, ValueError with its fault and how to mend it; chosen : value or column (cases, 1) -> what `study` takes.
    """

    name: str
    paths: tuple[str, ...]
    percent: bool
    batch: bool
    now: float
    check: Callable[[object], float]
    chosen: Callable[[Any], dict[str, Any]]


def input_of(base: Study, name: str) -> Input:
    """The input that a name stands for: a path, the name that messages give a field, or one of ``WORDS``.

    A number that is inherited moves in every place that inherits it. Raises ScenarioError for a name that is not there,
    with the nearest ones, and for what cannot vary.
    """
    written = " ".join(name.split()).removeprefix("scenario.")  # an id leads into the JSON, of which that is one part
    words = {PRICE: _purchase_price, ENERGY_PRICE: _price_of_energy, SUN_HOURS: _sun_hours}
    if written in words:
        return words[written](base)
    scenario = base.scenario
    groups: dict[str, list[Leaf]] = {}
    aliases: dict[str, str] = {}
    for leaf in leaves(scenario, base.settled, ""):
        known = name_of(scenario, leaf.path)
        groups.setdefault(known, []).append(leaf)
        aliases |= {leaf.path: known, by_item(scenario, leaf.path, known): known}
    aliases |= {known: known for known in groups}
    if written not in aliases:
        if any(known.startswith((f"{written}.", f"{written}[")) for known in aliases):
            raise _refusal(scenario, written, "is a block of fields or a list, no number", "name one number in it")
        numbers = [known for known, found in aliases.items() if _is_number(groups[found][0])]
        mend = near(written, [*numbers, *WORDS])
        mend = mend if mend.startswith("did you mean") else _EXAMPLE
        raise _refusal(scenario, written, "is no field of this scenario", mend)
    return _number(base, aliases[written], groups[aliases[written]])


def _number(base: Study, name: str, places: Sequence[Leaf]) -> Input:
    """One number that stands in some places."""
    scenario, leaf = base.scenario, places[0]
    if leaf.value is None:
        raise _refusal(scenario, name, "is not stated", "write it in the scenario, then vary it", leaf.path)
    if not _is_number(leaf):
        what = f"is {shown(leaf.value)}, which cannot vary"
        raise _refusal(scenario, name, what, "name an amount, a rate or a share", leaf.path)
    paths = tuple(each.path for each in places)
    varies = _takes_ranges(leaf)
    single = isinstance(leaf.settled, float | int)
    return Input(
        name=name,
        paths=paths,
        percent=is_percent(leaf.field),
        batch=varies and not any(moves_energy(scenario, path) for path in paths),
        now=float(leaf.settled) if single else float("nan"),
        check=lambda value: _checked(leaf, value),
        chosen=lambda values: dict.fromkeys(paths, values),
    )


def _purchase_price(base: Study) -> Input:
    """All lines of what the alternatives cost to build, as a share of what they are."""
    today = {
        f"alternatives.{i}.costs.{k}.{name}": float(getattr(line, name))
        for i, plan in enumerate(base.settled.alternatives)
        for k, line in enumerate(plan.costs)
        for name in PRICES
        if getattr(line, name) is not None
    }
    if not today:
        raise _refusal(base.scenario, PRICE, "moves the lines of cost, and there are none", "name another number")
    return _share_of(PRICE, today)


def _price_of_energy(base: Study) -> Input:
    """All that a kWh from the grid costs, by hour, tier and rider, as a share of what it is."""
    today: dict[str, float] = {}
    for path, tariff in all_tariffs(base.settled):
        if tariff.hourly_prices is not None:
            what = "moves the prices of the tariff, of which some stand in a file of hourly prices"
            raise _refusal(base.scenario, ENERGY_PRICE, what, "name one price, such as tariff.energy[1].price")
        today |= {f"{path}.energy.{k}.price": float(each.price) for k, each in enumerate(tariff.energy)}
        today |= {
            f"{path}.tiers.{i}.steps.{k}.adds": float(step.adds)
            for i, tiers in enumerate(tariff.tiers)
            for k, step in enumerate(tiers.steps)
        }
        today |= {
            f"{path}.riders.{k}.per_kwh": float(each.per_kwh)
            for k, each in enumerate(tariff.riders)
            if each.per_kwh is not None
        }
    if not today:
        what = "moves the prices of a tariff, and there is none"
        raise _refusal(base.scenario, ENERGY_PRICE, what, "name another number, such as generator.fuel_price")
    return _share_of(ENERGY_PRICE, today)


def _share_of(name: str, today: dict[str, float]) -> Input:
    return Input(
        name=name,
        paths=tuple(today),
        percent=True,
        batch=True,
        now=1.0,
        check=_share,
        chosen=lambda share: {path: price * share for path, price in today.items()},
    )


def _share(value: object) -> float:
    """A share of today's prices; one that is twice as high is no slip, so 2 is told apart from 2%."""
    if isinstance(value, int | float) and not isinstance(value, bool) and 1 <= value <= _MOST_TIMES:
        raise ValueError(f"is {value:g}; a share of today’s prices is meant", f"write {100 * value:g}%")
    if isinstance(value, int | float) and value > _MOST_TIMES:
        raise ValueError(f"is {value:,.0f}; a share of today’s prices is meant, no amount", "write 90% or the like")
    return _valid(TypeAdapter(_SHARE), value)


def _sun_hours(base: Study) -> Input:
    """The sun of an average day, in every year: that of the weather's year, brighter or duller by one share."""
    sun = base.scenario.weather
    year = float(base.site.weather.ghi.sum()) / 1000 / 365
    low, high = limits(StationSun.model_fields["brightness"])
    hours = number_type(percent=False, low=round(low * year, 3), high=round(high * year, 3), varies=False)

    def chosen(value: float) -> dict[str, Any]:
        if isinstance(sun, str):
            return {"weather": StationSun(station=sun).model_copy(update={"brightness": value / year})}
        return {"weather.brightness": value / year}

    return Input(
        name=SUN_HOURS,
        paths=("weather.brightness",),
        percent=False,
        batch=False,
        now=year * float(base.site.brightness),
        check=lambda value: _valid(TypeAdapter(hours), value),
        chosen=chosen,
    )


def _is_number(leaf: Leaf) -> bool:
    """Whether a field holds a number that is not counted in whole ones, which alone could be moved bit by bit."""
    numeric = isinstance(leaf.value, float | Range | tuple | np.ndarray)
    one_of_a_list = leaf.path.rpartition(".")[2].isdigit() and not isinstance(getattr(leaf.block, leaf.own), dict)
    return numeric and bool(np.isfinite(limits(leaf.field)).all()) and not one_of_a_list


def _takes_ranges(leaf: Leaf) -> bool:
    """Whether the scenario could write the number as a range; then the engine takes many values side by side."""
    low = leaf.settled if isinstance(leaf.settled, float) else limits(leaf.field)[0]
    try:
        _whole(leaf, {"from": low, "to": low})
    except ValidationError:
        return False
    return True


def _whole(leaf: Leaf, value: object) -> Any:
    """What the field makes of a value, an entry of a dict in a dict of its own; raises ValidationError."""
    key, inside = leaf.path.rpartition(".")[2], isinstance(getattr(leaf.block, leaf.own), dict)
    kind: Any = Annotated[leaf.field.annotation, *leaf.field.metadata] if leaf.field.metadata else leaf.field.annotation
    found = TypeAdapter(kind).validate_python({key: value} if inside else value)
    return next(iter(found.values())) if inside else found


def _checked(leaf: Leaf, value: object) -> float:
    """A value as the field would take it, and its block with it; raises ValueError with the fault and how to mend."""
    try:
        found = float(_whole(leaf, value))
    except ValidationError as error:
        raise _fault(error) from None
    stated = {name: _as_written(leaf.block, name, getattr(leaf.block, name)) for name in leaf.block.model_fields_set}
    try:
        type(leaf.block)(**stated)
    except ValidationError:
        return found  # a block that holds ranges or spans cannot be built anew from what it became
    among: Any = getattr(leaf.block, leaf.own)
    key = leaf.path.rpartition(".")[2]
    own = {each: found if str(each) == key else among[each] for each in among} if isinstance(among, dict) else found
    try:
        type(leaf.block)(**stated | {leaf.own: _as_written(leaf.block, leaf.own, own)})
    except ValidationError as error:
        raise _fault(error) from None
    return found


def _as_written(block: BaseModel, name: str, value: Any) -> Any:
    """A value as a person would write it: from one whole on a share must be in per cent to be taken for one."""
    whole = isinstance(value, float) and abs(value) >= 1 and is_percent(type(block).model_fields[name])
    return f"{value * 100:.12g}%" if whole else value


def _valid(adapter: TypeAdapter[Any], value: object) -> float:
    try:
        return float(adapter.validate_python(value))
    except ValidationError as error:
        raise _fault(error) from None


def _fault(error: ValidationError) -> ValueError:
    said = error.errors(include_url=False)[0]
    context = said.get("ctx", {})
    return ValueError(context.get("what", said["msg"]), context.get("mend", "write a number such as 1450"))


def _refusal(scenario: Scenario, name: str, what: str, mend: str, path: str = "") -> ScenarioError:
    line = scenario.origin.places.get(path or name, (0, name))[0]
    return ScenarioError([Problem(scenario.origin.file, line, name, what, mend, "input")])
