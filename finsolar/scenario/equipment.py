"""What is put on the roof and into the house, and how it is run."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Discriminator, Field, SerializerFunctionWrapHandler, Tag, model_serializer, model_validator

from finsolar.scenario.blocks import (
    Block,
    Monthly,
    Text,
    WholeYears,
    default,
    number_or_block,
    one_or_list,
    word_or_block,
)
from finsolar.scenario.names import NO_SYSTEM
from finsolar.scenario.numbers import (
    Azimuth,
    Fixed,
    FixedPositive,
    FixedShare,
    PerKelvin,
    Share,
    SomeShare,
    Tilt,
    fault,
)
from finsolar.scenario.problems import shown


class SolarArray(Block):
    """Modules that share one tilt and one direction."""

    kw: FixedPositive
    tilt: Tilt
    azimuth: Azimuth
    temperature_coefficient: PerKelvin = default(
        -0.0035, "output lost per kelvin above 25 °C by crystalline silicon; common practice, no source"
    )
    shading: Monthly = default(0.0, "no shade was stated")


def _short_time(short_time_kw: float | None, kw: float) -> None:
    if short_time_kw is not None and short_time_kw < kw:
        what = f"gives {short_time_kw:g} kW for a short time and {kw:g} kW for long"
        raise fault("short-time", what, "raise short_time_kw, or leave it out")


class Inverter(Block):
    """From direct to alternating current; ``short_time_kw`` is what it gives for the seconds of a motor's start."""

    kw: FixedPositive
    efficiency: SomeShare = default(0.96, "common practice, no source")
    idle_watts: Fixed = default(30.0, "common practice, no source: home inverters draw 20 to 60 W")
    short_time_kw: FixedPositive | None = None

    @model_validator(mode="after")
    def _starts_more_than_it_carries(self) -> Inverter:
        _short_time(self.short_time_kw, self.kw)
        return self


class Fade(Block):
    """How a battery ages: by time, along a straight line or the square root of its age, and by each full cycle."""

    ten_years: Share
    law: Literal["linear", "square root"] = default("linear", "the line most warranties are written in, from memory")
    thousand_cycles: Share = default(0.0, "no wear by use was stated")


class Warranty(Block):
    """What the maker promises: so many years or so many MWh delivered, whichever ends first.

    ``capacity`` is the share of the first capacity that is promised until then.
    """

    years: WholeYears
    mwh: FixedPositive | None = None
    capacity: FixedShare | None = None


class Battery(Block):
    """A battery. ``kwh`` is what can be used when new; power and losses are those seen by the house.

    The losses of a round trip fall evenly on the way in and the way out unless both efficiencies are stated. With
    ``coupling: dc`` it sits before the inverter: it stores what the inverter's limit would cut off, and sun and
    battery together deliver no more than that limit. ``fade`` is a yearly share of the first capacity, or a block.
    ``short_time_kw`` is what an inverter of its own gives for the seconds in which a motor starts.
    """

    kwh: FixedPositive
    kw: FixedPositive | None = None
    charge_kw: FixedPositive | None = None
    discharge_kw: FixedPositive | None = None
    coupling: Literal["ac", "dc"] = default("ac", "the battery was not said to share the inverter of the modules")
    round_trip: SomeShare = default(0.90, "home lithium systems return 85 to 92 %, from memory")
    charge_efficiency: SomeShare | None = None
    discharge_efficiency: SomeShare | None = None
    standby_watts: Fixed = default(0.0, "the inverter's idle draw counts for both")
    reserve: FixedShare = default(0.20, "common practice, no source")
    fade: Annotated[
        Annotated[Share, Tag("word")] | Annotated[Fade, Tag("block")],
        Discriminator(number_or_block),
    ] = default(0.02, "common practice, no source: about 80 % left after ten years")
    warranty: Warranty | None = None
    short_time_kw: FixedPositive | None = None

    @model_validator(mode="after")
    def _has_power(self) -> Battery:
        if self.kw is None and (self.charge_kw is None or self.discharge_kw is None):
            raise fault("battery-power", "has no power limit", "add kw, or both charge_kw and discharge_kw")
        if self.kw is not None and self.charge_kw is not None and self.discharge_kw is not None:
            raise fault("battery-power", "states its power three times", "keep kw, or the other two")
        _short_time(self.short_time_kw, self.limits[1])
        return self

    @model_validator(mode="after")
    def _losses_are_stated_once(self) -> Battery:
        both = (self.charge_efficiency, self.discharge_efficiency)
        if (both[0] is None) != (both[1] is None):
            raise fault(
                "battery-losses", "states the loss of one way only", "add the other efficiency, or use round_trip"
            )
        if both[0] is not None and "round_trip" in self.model_fields_set:
            raise fault("battery-losses", "states its losses twice", "keep round_trip, or the two efficiencies")
        return self

    @property
    def moot(self) -> frozenset[str]:
        """The round trip, where its two ways are stated."""
        return frozenset() if self.charge_efficiency is None else frozenset({"round_trip"})

    @property
    def limits(self) -> tuple[float, float]:
        """The most it takes in and gives out, kW each."""
        charge = self.kw if self.charge_kw is None else self.charge_kw
        discharge = self.kw if self.discharge_kw is None else self.discharge_kw
        return float(charge), float(discharge)  # type: ignore[arg-type]  # _has_power lets no gap pass


class LossLine(Block):
    """One loss on the way from the modules to the inverter: dust, cable, mismatch."""

    item: Text
    share: Share


Operation = Literal["self-consumption", "time shift", "backup only", "off grid"]
"""What the battery is for: every surplus, the dear hours, outages alone, or the whole supply."""


class TimeShift(Block):
    """When the battery works under ``operation: time shift``; price periods go by their names.

    It serves the house in the ``dear`` periods; outside them only with what lies above ``keep``. In the ``cheap``
    periods the grid charges it up to ``charge_to``. Never below the reserve.
    """

    dear: Annotated[list[Text], Field(min_length=1)] | None = default(
        None, "the price periods that are dearer than the average hour of the year, less those called cheap"
    )
    cheap: list[Text] = default([], "the grid does not charge the battery")
    keep: FixedShare | None = default(
        None, "what the dear hours of the average weeks ahead need beyond what sun and cheap hours bring until then"
    )
    charge_to: FixedShare | None = default(
        None, "what the dear hours of the average weeks ahead need beyond what sun and cheap hours bring until then"
    )

    @property
    def moot(self) -> frozenset[str]:
        """How far the grid charges, if it does not."""
        return frozenset() if self.cheap else frozenset({"charge_to"})

    @model_validator(mode="after")
    def _no_period_is_both(self) -> TimeShift:
        both = sorted(set(self.dear or ()) & set(self.cheap))
        if both:
            raise fault("time-shift", f"calls {shown(both[0])} both dear and cheap", "name it once")
        if self.charge_to is not None and not self.cheap:
            raise fault("time-shift", "has charge_to without cheap periods", "add cheap: [name of a price period]")
        return self


class System(Block):
    """What is put on the roof and into the house.

    ``production`` is a file with the alternating current of each hour of the first year, kWh, in place of ``arrays``:
    losses, snow and the inverter's limit are in it. ``losses`` are one share, or lines that act one after another.
    """

    arrays: list[SolarArray] = []
    production: Text | None = None
    inverter: Inverter
    battery: Annotated[
        Annotated[Battery, Tag("block")] | Annotated[Literal["none"], Tag("word")],
        Discriminator(word_or_block),
    ] = "none"
    losses: Annotated[
        Annotated[Share, Tag("one")] | Annotated[list[LossLine], Field(min_length=1), Tag("list")],
        Discriminator(one_or_list),
    ] = default(0.10, "wiring, soiling and mismatch together; common practice, no source")
    snow: Monthly = default(0.0, "no snow was stated")
    fade: Share = default(0.005, "median of nearly 2000 measured rates (Jordan and Kurtz 2013)")
    first_year_loss: Share = default(0.0, "no first-year loss was stated")
    operation: Operation = default("self-consumption", "the house has a grid")
    time_shift: TimeShift | None = None

    @model_validator(mode="after")
    def _one_sun(self) -> System:
        if bool(self.arrays) == (self.production is not None):
            what = "has both arrays and production" if self.arrays else "has no arrays"
            raise fault("arrays", what, "write arrays, or production: FILE")
        return self

    @model_validator(mode="after")
    def _operation_has_its_means(self) -> System:
        if self.time_shift is not None and self.operation != "time shift":
            what = f"has a block time_shift, but its operation is {shown(self.operation)}"
            raise fault("time-shift", what, "write operation: time shift, or remove the block")
        if self.operation in {"time shift", "backup only"} and self.battery == "none":
            what = f"has operation {shown(self.operation)}, but no battery"
            raise fault("operation-without-battery", what, "add a battery, or write operation: self-consumption")
        return self

    @model_validator(mode="after")
    def _short_time_stands_where_it_counts(self) -> System:
        if self.battery == "none":
            return self
        shared = self.battery.coupling == "dc"
        idle, carrying = (self.battery, "inverter") if shared else (self.inverter, "battery")
        if idle.short_time_kw is not None:
            other = "battery" if shared else "inverter"
            what = f"has short_time_kw under {other}, but with coupling: {self.battery.coupling} the {carrying} counts"
            raise fault("short-time", what, f"write it under {carrying}")
        return self

    @property
    def built(self) -> bool:
        """Whether there is one: not so of ``system: none``."""
        return bool(self.arrays) or self.production is not None

    @property
    def moot(self) -> frozenset[str]:
        """Losses and snow, where a record of production holds them; everything, where nothing is built."""
        if not self.built:
            return frozenset(type(self).model_fields)
        return frozenset() if self.production is None else frozenset({"losses", "snow", "first_year_loss"})

    @model_serializer(mode="wrap")
    def _none_in_a_word(self, whole: SerializerFunctionWrapHandler) -> Any:
        return whole(self) if self.built else NO_SYSTEM


def no_system(operation: Operation) -> System:
    """A system of nothing, run as ``operation`` says: it gives no sun, holds nothing and draws nothing."""
    inverter = Inverter.model_construct(set(), kw=1.0, efficiency=1.0, idle_watts=0.0)
    return System.model_construct(set(), inverter=inverter, losses=0.0, fade=0.0, operation=operation)
