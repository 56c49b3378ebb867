"""Where the house stands, whose sun it has, and how the study counts time and money."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from typing import Annotated, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, field_validator, model_validator

from finsolar.scenario.blocks import Block, Day, Text, WholeYears, default
from finsolar.scenario.names import STATIONS
from finsolar.scenario.numbers import Brightness, Celsius, Latitude, Longitude, Rate, SunHoursADay, fault
from finsolar.scenario.problems import near, shown


@lru_cache(maxsize=1)
def _timezones() -> frozenset[str]:
    from zoneinfo import available_timezones

    return frozenset(available_timezones())


def _timezone(value: object) -> str:
    names = _timezones()
    if isinstance(value, str) and value in names:
        return value
    mend = "write one such as America/New_York"
    if isinstance(value, str):
        city = "/" + value.strip().lower().replace(" ", "_")
        zones = sorted(name for name in names if name.lower().endswith(city))
        close = near(value, names)
        if zones:
            mend = f"write {zones[0]}"
        elif close.startswith("did"):
            mend = close
    raise fault("unknown-timezone", f"is {shown(value)}, no known time zone", mend)


class Place(Block):
    """Where the house stands."""

    country: Annotated[str, Field(pattern="^[A-Z]{2}$")]
    region: Annotated[str, Field(pattern="^[A-Za-z0-9-]{1,12}$")] | None = None
    latitude: Latitude
    longitude: Longitude
    timezone: Annotated[str, BeforeValidator(_timezone)]


def order_of_days(completed: dt.date | None, in_service: dt.date | None) -> None:
    if completed is not None and in_service is not None and completed > in_service:
        raise fault(
            "order-of-days",
            f"is in service on {in_service}, before its installation is completed on {completed}",
            "put the two days in order",
        )


def _draws(value: object) -> object:
    mend = f"write a power of two from {FEWEST_DRAWS} to {MOST_DRAWS}"
    if isinstance(value, bool) or not isinstance(value, int):
        raise fault("draws", f"is {shown(value)}, no whole number", mend)
    if not FEWEST_DRAWS <= value <= MOST_DRAWS:
        why = "more would make no figure surer than anybody notices, and cost time and memory"
        raise fault("draws", f"is {value:,}" + (f"; {why}" if value > MOST_DRAWS else ""), mend)
    if value & (value - 1):
        fewer = 1 << (value.bit_length() - 1)
        raise fault(
            "draws", f"is {value}, no power of two, which the even points need", f"write {fewer} or {2 * fewer}"
        )
    return value


FEWEST_DRAWS, MOST_DRAWS = 64, 131_072

Draws = Annotated[int, BeforeValidator(_draws)]
"""How many cases are drawn in all: a power of two."""


class StudySettings(Block):
    """How the study counts time and money.

    ``draws`` cases are drawn of all ranges together, the same for the same ``seed``. With ``count_backup`` what
    backup is worth to the household enters the cash flow.
    """

    in_service: Day
    installation_completed: Day | None = None
    years: WholeYears = default(25, "the usual term of a module warranty")
    discount_rate: Rate | None = None
    real_discount_rate: Rate | None = None
    step_minutes: Literal[60, 30, 15] = default(60, "the sun is known by the hour; a finer step serves finer readings")
    draws: Draws = default(4096, "enough for the mean and its range to stand still; more cost time alone")
    seed: Annotated[int, Field(strict=True, ge=0, le=2**32 - 1)] = default(1, "the same seed draws the same cases")
    count_backup: bool = False
    inflation: Rate = default(0.025, "near the yearly rise of US consumer prices 2004-2024, 2.57 % (BLS CUUR0000SA0)")

    @model_validator(mode="after")
    def _done_before_it_runs(self) -> StudySettings:
        order_of_days(self.installation_completed, self.in_service)
        return self

    @model_validator(mode="after")
    def _one_discount_rate(self) -> StudySettings:
        if (self.discount_rate is None) == (self.real_discount_rate is None):
            raise fault(
                "discount-rate",
                "needs one discount rate",
                "write either discount_rate (nominal) or real_discount_rate, such as 5%",
            )
        return self

    @property
    def completed(self) -> dt.date:
        """The day the installation is finished: the in-service day unless the scenario says otherwise."""
        return self.installation_completed or self.in_service


def _station(value: object) -> object:
    if isinstance(value, str) and value not in STATIONS:
        raise fault("unknown-station", f"is {shown(value)}, no station known here", near(value, STATIONS))
    return value


Station = Annotated[Text, BeforeValidator(_station)]


class Sun(Block):
    """What any source of weather may say of its years.

    ``brightness`` is the sunlight of the household's years over that of the source's year.
    """

    brightness: Brightness = default(
        1.0, "every year is the source's year; single years differ by some per cent, common practice, no source"
    )


class StationSun(Sun):
    """The typical year of a station that comes along."""

    station: Station


class FileSun(Sun):
    """A typical year in a file of one's own; the kind is told from its head where it is not said."""

    file: Text
    kind: Literal["tmy3", "tmy2", "epw", "pvgis"] | None = None


class SunHours(Sun):
    """Twelve monthly peak sun hours, kWh/m2 a day on the level, of which a year with dull and clear days is made.

    ``temperature`` holds monthly means of the air in degrees Celsius.
    """

    sun_hours: Annotated[list[SunHoursADay], Field(min_length=12, max_length=12)]
    temperature: Annotated[list[Celsius], Field(min_length=12, max_length=12)] | None = default(
        None, "air temperatures are guessed from the latitude, our own rough guess"
    )
    seed: Annotated[int, Field(strict=True, ge=0, le=2**31 - 1)] = default(
        1, "one made-up year of many; another seed gives another"
    )

    @field_validator("sun_hours")
    @classmethod
    def _some_sun(cls, value: list[float]) -> list[float]:
        if not any(value):
            raise fault("no-sun", "has no sun in any month", "write kWh/m2 a day on the level, January to December")
        return value


def _source(value: object) -> str:
    """Which source of weather is meant, so that only its faults are reported."""
    for kind, mark in ((StationSun, "station"), (FileSun, "file"), (SunHours, "sun hours")):
        if isinstance(value, kind):
            return mark
    if not isinstance(value, dict):
        return "name"
    marks = {"file": "file", "station": "station", "sun_hours": "sun hours"}
    return next((kind for field, kind in marks.items() if field in value), "none of them")


Weather = Annotated[
    Annotated[Station, Tag("name")]
    | Annotated[StationSun, Tag("station")]
    | Annotated[FileSun, Tag("file")]
    | Annotated[SunHours, Tag("sun hours")],
    Discriminator(
        _source,
        custom_error_type="weather-source",
        custom_error_message="{what}; {mend}",
        custom_error_context={
            "what": "does not say where the sun is taken from",
            "mend": "write station, file or sun_hours in this block",
        },
    ),
]
"""The name of a station, or a block that says where the sun is taken from."""
