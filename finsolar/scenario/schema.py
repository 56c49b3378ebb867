"""What a household may write: one model a block, every field with its unit in its name or description.

Defaults carry the reason for their value (``why``), which ``finsolar check`` and the page print whenever a
scenario leaves the field out.
"""

from __future__ import annotations

import datetime as dt
import unicodedata
from collections import Counter
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    Tag,
    ValidationError,
    ValidationInfo,
    field_validator,
    model_validator,
)
from pydantic_core import InitErrorDetails

from finsolar.scenario.hours import DAYS, MONTHS, cells_in_words, hour_span, mask, named_span
from finsolar.scenario.numbers import (
    RANGE_WORDS,
    Amount,
    Azimuth,
    Fixed,
    FixedPositive,
    FixedShare,
    Interest,
    Latitude,
    Longitude,
    PerKelvin,
    Positive,
    Rate,
    Rise,
    Share,
    Tilt,
    fault,
)
from finsolar.scenario.problems import near, shown


class Block(BaseModel):
    """A block of fields in which nothing unknown is let pass."""

    model_config = ConfigDict(extra="forbid", arbitrary_types_allowed=True, frozen=True)

    @property
    def moot(self) -> frozenset[str]:
        """Fields whose default plays no part, because other fields say it."""
        return frozenset()


def default(value: Any, why: str) -> Any:
    """A field that may be left out, its value then, and the sentence that defends it."""
    return Field(default=value, json_schema_extra={"why": why})


def _one_or_list(value: object) -> str:
    """Which kind of value was written, so that only the faults of that kind are reported."""
    return "list" if isinstance(value, list) else "one"


def _word_or_block(value: object) -> str:
    return "word" if isinstance(value, str) else "block"


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise fault("not-text", f"is {shown(value)}, not text", "write words, in quotes if they look like a number")
    text = " ".join(value.split())
    if not text:
        raise fault("empty", "is empty", "write a name")
    # Signs that only turn the direction of writing, or join an emoji, belong to honest names; showing them
    # safely is the task of each view. Control signs do not, and half a surrogate pair no file can hold.
    if any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in text):
        raise fault("control-sign", f"holds a sign that cannot be printed: {shown(text)}", "remove the sign")
    return text


Text = Annotated[str, BeforeValidator(_text)]
"""Words on one line; line breaks and runs of spaces become single spaces."""

WholeYears = Annotated[int, Field(strict=True, ge=1, le=50)]
"""A number of years, without a fraction."""


def _date(value: object) -> dt.date:
    mend = "write a day as 2026-09-01"
    if not isinstance(value, str | dt.date):
        raise fault("not-a-date", f"is {shown(value)}", mend)
    try:
        day = dt.date.fromisoformat(str(value))
    except ValueError:
        raise fault("not-a-date", f"is {shown(value)}, which is no day of the calendar", mend) from None
    if not 2000 <= day.year <= 2060:
        raise fault("date-out-of-range", f"is {day}", "write a day from 2000-01-01 to 2060-12-31")
    return day


Day = Annotated[dt.date, BeforeValidator(_date)]


def _timezone(value: object) -> str:
    from zoneinfo import available_timezones

    names = available_timezones()
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


def _currency(value: object) -> str:
    text = str(value)
    if len(text) != 3 or not text.isascii() or not text.isalpha() or text != text.upper():
        raise fault("bad-currency", f"is {shown(value)}", "write three capitals such as USD")
    return text


class Place(Block):
    """Where the house stands."""

    country: Annotated[str, Field(pattern="^[A-Z]{2}$")]
    region: Annotated[str, Field(pattern="^[A-Za-z0-9-]{1,12}$")] | None = None
    latitude: Latitude
    longitude: Longitude
    timezone: Annotated[str, BeforeValidator(_timezone)]


def _order_of_days(completed: dt.date | None, in_service: dt.date | None) -> None:
    if completed is not None and in_service is not None and completed > in_service:
        raise fault(
            "order-of-days",
            f"is in service on {in_service}, before its installation is completed on {completed}",
            "put the two days in order",
        )


class StudySettings(Block):
    """How the study counts time and money."""

    in_service: Day
    installation_completed: Day | None = None
    years: WholeYears = default(25, "the usual term of a module warranty")
    discount_rate: Rate | None = None
    real_discount_rate: Rate | None = None
    inflation: Rate = default(0.025, "near the yearly rise of US consumer prices 2004-2024, 2.57 % (BLS CUUR0000SA0)")

    @model_validator(mode="after")
    def _done_before_it_runs(self) -> StudySettings:
        _order_of_days(self.installation_completed, self.in_service)
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


class Load(Block):
    """What the house uses: kWh of each month and their spread over the hours."""

    monthly_kwh: Annotated[list[Fixed], Field(min_length=12, max_length=12)]
    shape: Annotated[
        Annotated[Text, Tag("one")] | Annotated[list[Fixed], Field(min_length=24, max_length=24), Tag("list")],
        Discriminator(_one_or_list),
    ]
    growth: Rate = default(0.0, "the household stays as it is")

    @field_validator("shape")
    @classmethod
    def _known_shape(cls, value: Any) -> Any:
        from finsolar.scenario.names import SHAPES

        if isinstance(value, str) and value not in SHAPES:
            raise fault("unknown-shape", f"is {shown(value)}, no shape known here", near(value, SHAPES))
        if isinstance(value, list) and not any(value):
            raise fault("empty-shape", "has no use in any hour", "give at least one hour a weight above 0")
        return value


OneOrYearly = Annotated[
    Annotated[Amount, Tag("one")] | Annotated[list[Amount], Field(min_length=1), Tag("list")],
    Discriminator(_one_or_list),
]
"""One amount for every year, or a list: year 1 first, the last one repeating."""


class Household(Block):
    """Who lives there, what they use, and what decides their tax."""

    load: Load
    income_tax: OneOrYearly | None = None
    owner_occupied: bool | None = None


class PricePeriod(Block):
    """One price of energy and the months, days and hours in which it holds."""

    name: Text
    price: Amount
    months: Annotated[tuple[int, ...] | None, BeforeValidator(lambda v: named_span(v, MONTHS, "months"))] = None
    days: Annotated[tuple[int, ...] | None, BeforeValidator(lambda v: named_span(v, DAYS, "days"))] = None
    hours: Annotated[tuple[int, ...] | None, BeforeValidator(hour_span)] = None

    @property
    def is_rest(self) -> bool:
        """Whether it names no months, days or hours: then it takes all that the others leave."""
        return self.months is None and self.days is None and self.hours is None

    @property
    def cells(self) -> NDArray[np.bool_]:
        """The cells (12, 7, 24) it names."""
        return mask(self.months or range(12), self.days or range(7), self.hours or range(24))


class Export(Block):
    """What the utility gives for energy fed in.

    Under net metering the bank of kWh is emptied at the end of ``true_up_month`` (December if not said) and what is
    left is paid at ``surplus_price`` (nothing if not said), which rises as an export price does.
    """

    scheme: Literal["none", "net billing", "net metering"] = "none"
    price: Amount | None = None
    surplus_price: Amount | None = None
    true_up_month: Annotated[tuple[int, ...] | None, BeforeValidator(lambda v: named_span(v, MONTHS, "months"))] = None

    @model_validator(mode="after")
    def _price_fits_scheme(self) -> Export:
        if self.scheme == "net billing" and self.price is None:
            raise fault("export-price", "is net billing without a price", "add price: 0.04 (money per kWh)")
        if self.scheme != "net billing" and self.price is not None:
            raise fault("export-price", f"has a price but its scheme is '{self.scheme}'", "write scheme: net billing")
        if self.scheme != "net metering" and (self.surplus_price, self.true_up_month) != (None, None):
            raise fault(
                "true-up",
                "has a true-up month or a surplus price without net metering",
                "write scheme: net metering, or remove them",
            )
        if self.true_up_month is not None and len(self.true_up_month) != 1:
            raise fault("true-up", "names several true-up months", "name one, such as mar")
        return self


def _flat_price(value: object) -> object:
    one_range = isinstance(value, dict) and value and set(value) <= RANGE_WORDS
    if one_range or (isinstance(value, int | float | str) and not isinstance(value, bool)):
        return [{"name": "all hours", "price": value}]
    return value


class Tariff(Block):
    """The prices of the grid, today's money."""

    monthly_charge: Amount = default(0.0, "no fixed charge was stated")
    energy: Annotated[list[PricePeriod], BeforeValidator(_flat_price), Field(min_length=1)]
    export: Export = default(Export(), "no export was stated, so nothing leaves the house")
    rise: Rise
    fixed_rise: Rise | None = default(None, "the fixed charge rises as energy does")
    export_rise: Rise | None = default(None, "the export price rises as energy does")

    @field_validator("energy")
    @classmethod
    def _fills_the_week_once(cls, periods: list[PricePeriod]) -> list[PricePeriod]:
        rests = [p.name for p in periods if p.is_rest]
        if len(rests) > 1:
            raise fault(
                "tariff-overlap",
                f"has two prices for all hours: {shown(rests[0])} and {shown(rests[1])}",
                "give all but one of them months, days or hours",
            )
        doubles = [name for name, n in Counter(p.name for p in periods).items() if n > 1]
        if doubles:
            raise fault("double-name", f"has two periods named {shown(doubles[0])}", "name each its own way")
        taken = np.full((12, 7, 24), -1)
        for i, period in enumerate(periods):
            if period.is_rest:
                continue
            clash = (taken >= 0) & period.cells
            if clash.any():
                other = periods[int(taken[clash][0])].name
                only = clash & (taken == taken[clash][0])
                raise fault(
                    "tariff-overlap",
                    f"prices {cells_in_words(only)} twice: {shown(other)} and {shown(period.name)}",
                    "let each hour of the week belong to one price",
                )
            taken[period.cells] = i
        if not rests and (taken < 0).any():
            raise fault(
                "tariff-gap",
                f"has no price for {cells_in_words(taken < 0)}",
                "add a price for these hours, or one without months, days and hours for all the rest",
            )
        return periods

    def period_grid(self) -> NDArray[np.int_]:
        """The place in ``energy`` of the price that holds in each cell (12, 7, 24)."""
        rest = next((i for i, p in enumerate(self.energy) if p.is_rest), -1)
        grid = np.full((12, 7, 24), rest)
        for i, period in enumerate(self.energy):
            if not period.is_rest:
                grid[period.cells] = i
        return grid


class Generator(Block):
    """A generator that follows the load: the supply of a house without a grid.

    ``rise`` is that of the fuel; the upkeep by the hour rises with inflation.
    """

    kw: FixedPositive
    fuel_price: Amount
    litres_per_kwh: Amount = default(0.246, "Skarstein and Uhlen's diesel curve, from memory")
    idle_litres_per_kw: Amount = default(0.08415, "the same curve: litres an hour for each rated kW")
    upkeep_per_hour: Amount = default(0.0, "no upkeep by the hour was stated")
    rise: Rise


class SolarArray(Block):
    """Modules that share one tilt and one direction."""

    kw: FixedPositive
    tilt: Tilt
    azimuth: Azimuth
    temperature_coefficient: PerKelvin = default(
        -0.0035, "output lost per kelvin above 25 °C by crystalline silicon; common practice, no source"
    )


class Inverter(Block):
    """From direct to alternating current."""

    kw: FixedPositive
    efficiency: FixedShare = default(0.96, "common practice, no source")
    idle_watts: Fixed = default(30.0, "common practice, no source: home inverters draw 20 to 60 W")


class Battery(Block):
    """A battery on the house side of the inverter. ``kwh`` is what can be used when new.

    The losses of a round trip fall evenly on the way in and the way out unless both efficiencies are stated.
    """

    kwh: FixedPositive
    kw: FixedPositive | None = None
    charge_kw: FixedPositive | None = None
    discharge_kw: FixedPositive | None = None
    round_trip: FixedShare = default(0.90, "home lithium systems return 85 to 92 %, from memory")
    charge_efficiency: FixedShare | None = None
    discharge_efficiency: FixedShare | None = None
    reserve: FixedShare = default(0.20, "common practice, no source")
    fade: FixedShare = default(0.02, "common practice, no source: about 80 % left after ten years")

    @model_validator(mode="after")
    def _has_power(self) -> Battery:
        if self.kw is None and (self.charge_kw is None or self.discharge_kw is None):
            raise fault("battery-power", "has no power limit", "add kw, or both charge_kw and discharge_kw")
        if self.kw is not None and self.charge_kw is not None and self.discharge_kw is not None:
            raise fault("battery-power", "states its power three times", "keep kw, or the other two")
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

    @field_validator("round_trip", "charge_efficiency", "discharge_efficiency")
    @classmethod
    def _some_comes_back(cls, value: float | None) -> float | None:
        if value is not None and value <= 0:
            raise fault("out-of-range", "returns nothing", "write a share such as 90%")
        return value


class System(Block):
    """What is put on the roof and into the house."""

    arrays: Annotated[list[SolarArray], Field(min_length=1)]
    inverter: Inverter
    battery: Annotated[
        Annotated[Battery, Tag("block")] | Annotated[Literal["none"], Tag("word")],
        Discriminator(_word_or_block),
    ] = "none"
    losses: FixedShare = default(0.10, "wiring, soiling and mismatch together; common practice, no source")
    fade: FixedShare = default(0.005, "median of nearly 2000 measured rates (Jordan and Kurtz 2013)")
    first_year_loss: FixedShare = default(0.0, "no first-year loss was stated")
    operation: Literal["self-consumption", "off grid"] = default("self-consumption", "the house has a grid")


Category = Literal[
    "modules", "inverter", "battery", "racking", "wiring", "generator", "labour", "permits",
    "interconnection", "roof", "service panel", "tools", "shipping", "finance", "other",
]  # fmt: skip
"""Kinds of cost line. Incentive rules name the ones they count."""

SERVICES = frozenset({"labour", "permits", "interconnection", "finance"})
"""Categories that bear no sales tax unless the line says so."""


class CostLine(Block):
    """One line of what it costs to build, today's money."""

    item: Text
    category: Category
    cost: Amount | None = None
    each: Amount | None = None
    quantity: Positive | None = None
    sales_tax: Share | None = None
    contingency: Share | None = None
    residual: Share = default(0.0, "nothing is counted as left at the end of the study")
    note: Text | None = None

    @model_validator(mode="after")
    def _one_price(self) -> CostLine:
        if (self.cost is None) == (self.each is None):
            raise fault("price", "needs one price", "write either cost, or each and quantity")
        if self.quantity is not None and self.each is None:
            raise fault("price", "has a quantity but no price for each", "write each instead of cost")
        return self


class Purchase(Block):
    """Shares that hold for every cost line which does not state its own."""

    sales_tax: Share = default(0.0, "no sales tax was stated")
    contingency: Share = default(0.0, "no allowance for the unforeseen was stated")


class UpkeepLine(Block):
    """A cost that comes back: every year, or every so many years."""

    item: Text
    category: Literal["upkeep", "insurance", "inverter", "battery", "modules", "generator", "other"]
    cost: Amount
    every: WholeYears = 1
    first: WholeYears | None = None
    rise: Rise | None = default(None, "rises with inflation")
    residual: Share = default(0.0, "nothing is counted as left at the end of the study")
    note: Text | None = None

    @property
    def is_replacement(self) -> bool:
        """Whether it renews a piece of equipment, by its category. A new battery has its full capacity again."""
        return self.category in {"inverter", "battery", "modules", "generator"}


class Rebate(Block):
    """Money from a programme that the scenario itself vouches for, received when the work is paid."""

    item: Text
    amount: Amount
    lowers_basis: bool = default(
        True, "a utility subsidy or a price rebate lowers the basis of a tax credit; the careful choice"
    )
    note: Text | None = None


class Loan(Block):
    """A level loan paid monthly."""

    rate: Interest
    years: WholeYears
    fee: Share = default(0.0, "no fee was stated")
    share: Share = default(1.0, "the loan pays for everything")


class Borrowing(Block):
    """Payment by a loan."""

    loan: Loan


class Stay(Block):
    """What staying as you are costs beyond the bill.

    Its lines state their own sales tax and contingency; the ``purchase`` of the alternatives does not reach them.
    """

    costs: list[CostLine] = []
    upkeep: list[UpkeepLine] = []


class Alternative(Block):
    """One way to go ahead, complete: what the file left to inheritance is filled in.

    An alternative with an in-service day of its own is taken to be completed on that day, unless it says another.
    """

    name: Text
    note: Text | None = None
    in_service: Day | None = None
    installation_completed: Day | None = None
    tariff: Tariff | None = None
    generator: Generator | None = None
    system: System
    purchase: Purchase = Purchase()
    costs: list[CostLine]
    upkeep: list[UpkeepLine] = []
    rebates: list[Rebate] = []
    payment: Annotated[
        Annotated[Borrowing, Tag("block")] | Annotated[Literal["cash"], Tag("word")],
        Discriminator(_word_or_block),
    ] = "cash"
    own_hours: Amount = 0.0

    @field_validator("costs", "upkeep", "rebates")
    @classmethod
    def _items_differ(cls, lines: list[Any]) -> list[Any]:
        doubles = [name for name, n in Counter(line.item for line in lines).items() if n > 1]
        if doubles:
            raise fault("double-name", f"has two lines named {shown(doubles[0])}", "name each its own way")
        return lines

    @model_validator(mode="after")
    def _done_before_it_runs(self) -> Alternative:
        _order_of_days(self.installation_completed, self.in_service)
        return self

    @model_validator(mode="after")
    def _has_a_supply(self) -> Alternative:
        if self.tariff is None and self.system.operation != "off grid":
            raise fault("no-grid", "has no tariff but is not off grid", "add tariff, or operation: off grid")
        return self


class Scenario(Block):
    """One house and the ways it may go."""

    title: Text
    note: Text | None = None
    currency: Annotated[str, BeforeValidator(_currency)] = default("USD", "no currency was stated")
    place: Place
    study: StudySettings
    household: Household
    weather: Text
    tariff: Tariff | None = None
    generator: Generator | None = Field(default=None, validate_default=True)
    stay: Stay = Stay()
    alternatives: Annotated[list[Alternative], Field(min_length=1)]

    @field_validator("weather")
    @classmethod
    def _known_station(cls, value: str) -> str:
        from finsolar.scenario.names import STATIONS

        if value not in STATIONS:
            raise fault("unknown-station", f"is {shown(value)}, no station known here", near(value, STATIONS))
        return value

    @field_validator("alternatives")
    @classmethod
    def _names_differ(cls, value: list[Alternative]) -> list[Alternative]:
        doubles = [name for name, n in Counter(a.name for a in value).items() if n > 1]
        if doubles:
            raise fault("double-name", f"has two named {shown(doubles[0])}", "name each its own way")
        return value

    @field_validator("generator")
    @classmethod
    def _has_a_supply(cls, value: Generator | None, info: ValidationInfo) -> Generator | None:
        # A tariff that is faulty itself is not among the data, and is no missing one.
        if value is None and info.data.get("tariff", "faulty") is None:
            mend = "add tariff, or generator if there is no grid"
            raise fault("no-supply", "the house has no supply today", mend)
        return value

    @field_validator("alternatives")
    @classmethod
    def _days_fit_the_study(cls, value: list[Alternative], info: ValidationInfo) -> list[Alternative]:
        settings = info.data.get("study")
        for alternative in value:
            if alternative.in_service is None and settings is not None:
                _order_of_days(alternative.installation_completed, settings.in_service)
        return value

    @field_validator("alternatives")
    @classmethod
    def _loans_end_in_time(cls, value: list[Alternative], info: ValidationInfo) -> list[Alternative]:
        settings = info.data.get("study")
        late: list[InitErrorDetails] = []
        for i, alternative in enumerate(value):
            loan = alternative.payment.loan if isinstance(alternative.payment, Borrowing) else None
            if loan is not None and settings is not None and loan.years > settings.years:
                what = f"is {loan.years}, longer than the study of {settings.years} years"
                words = fault("loan-too-long", what, "raise study.years or shorten the loan")
                late.append({"type": words, "loc": (i, "payment", "loan", "years"), "input": loan.years})
        if late:
            raise ValidationError.from_exception_data("loans", late)
        return value
