"""What a household may write: one model a block, every field with its unit in its name or description.

The blocks themselves stand in modules of their own; all of them can be imported from here. Defaults carry the reason
for their value (``why``), which ``finsolar check`` and the page print whenever a scenario leaves the field out.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Annotated, Any

from pydantic import (
    BeforeValidator,
    Field,
    PrivateAttr,
    ValidationError,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
    field_validator,
    model_validator,
)
from pydantic_core import InitErrorDetails

from finsolar.scenario.blocks import Block, Day, Text, default
from finsolar.scenario.claims import Claim, Dates, Installer, RawRule, RuleId, RuleSource
from finsolar.scenario.equipment import (
    Battery,
    Fade,
    Inverter,
    LossLine,
    Operation,
    SolarArray,
    System,
    TimeShift,
    Warranty,
    no_system,
)
from finsolar.scenario.generator import Generator
from finsolar.scenario.interruptions import Instead, Interruptions, OutageLoss, Storms, Worth
from finsolar.scenario.names import NO_SYSTEM
from finsolar.scenario.numbers import HOURS_OF_A_YEAR, Amount, fault
from finsolar.scenario.outlay import (
    SERVICES,
    Category,
    CostLine,
    Purchase,
    Rebate,
    Stay,
    UpkeepLine,
    faults_of_size,
)
from finsolar.scenario.paying import Borrowing, Lease, LeaseTerms, Loan, Paydown, Payment, PerKwh, PerKwhTerms
from finsolar.scenario.place import (
    FileSun,
    Place,
    StationSun,
    StudySettings,
    Sun,
    SunHours,
    Weather,
    order_of_days,
)
from finsolar.scenario.problems import Problem, ScenarioError, near, shown
from finsolar.scenario.tariff import (
    Allowance,
    BillPart,
    Demand,
    Export,
    ExportPrice,
    HolidayRule,
    HourlyPrices,
    PricePeriod,
    Rider,
    Tariff,
    TariffChange,
    Tax,
    Tier,
    Tiers,
)
from finsolar.scenario.usage import ApplianceLine, Household, Load, NewLoad, Outage, PastBill, PropertyTax

__all__ = [
    "SERVICES",
    "Allowance",
    "Alternative",
    "ApplianceLine",
    "Battery",
    "BillPart",
    "Block",
    "Borrowing",
    "Category",
    "Claim",
    "CostLine",
    "Dates",
    "Demand",
    "Export",
    "ExportPrice",
    "Fade",
    "FileSun",
    "Generator",
    "HolidayRule",
    "HourlyPrices",
    "Household",
    "Installer",
    "Instead",
    "Interruptions",
    "Inverter",
    "Lease",
    "LeaseTerms",
    "Load",
    "Loan",
    "LossLine",
    "NewLoad",
    "Operation",
    "Origin",
    "Outage",
    "OutageLoss",
    "PastBill",
    "Paydown",
    "Payment",
    "PerKwh",
    "PerKwhTerms",
    "Place",
    "PricePeriod",
    "PropertyTax",
    "Purchase",
    "RawRule",
    "Rebate",
    "Rider",
    "Scenario",
    "SolarArray",
    "StationSun",
    "Stay",
    "Storms",
    "StudySettings",
    "Sun",
    "SunHours",
    "System",
    "Tariff",
    "TariffChange",
    "Tax",
    "Tier",
    "Tiers",
    "TimeShift",
    "UpkeepLine",
    "Warranty",
    "Weather",
    "Worth",
]


@dataclass(frozen=True)
class Origin:
    """Where a scenario was read: the file's name for messages, its folder, and where each field stands.

    ``places`` holds line and name of a field by its path in the complete scenario, such as
    ``alternatives.0.system.production``; a field that was inherited stands at the top.
    """

    file: str = "scenario"
    folder: Path = Path()
    places: dict[str, tuple[int, str]] = field(default_factory=dict)

    def beside(self, name: str) -> Path:
        """A file that the scenario names: its path starts at the scenario's own folder."""
        return self.folder / name

    def place_of(self, steps: Iterable[object]) -> tuple[int, str]:
        """Line and name of what stands at the end of some steps, such as ``("rules", 1, "title")``.

        Of what is not there the line is that of the innermost block on the way.
        """
        line, name, path = 0, "", ""
        for step in steps:
            path = f"{path}.{step}" if path else str(step)
            inner = f"{name}.{step}" if name else str(step)
            line, name = self.places.get(path, (line, inner))
        return line, name

    def refusal(self, path: str, what: str, mend: str, code: str) -> ScenarioError:
        """A fault of one field that shows only once the study begins, at the line where the field stands."""
        line, name = self.places.get(path, (0, path))
        return ScenarioError([Problem(self.file, line, name, what, mend, code)])


def _tie(value: object) -> object:
    mend = "write [first, second, 0.6]: two ranges by their names, and their rank correlation from -1 to 1"
    if not isinstance(value, list) or len(value) != 3 or not all(isinstance(name, str) for name in value[:2]):
        raise fault("together", f"is {shown(value)}, not two names and a number", mend)
    if isinstance(value[2], bool) or not isinstance(value[2], int | float) or not -1 <= value[2] <= 1:
        raise fault("together", f"has {shown(value[2])} for a rank correlation", mend)
    return tuple(value)


Tie = Annotated[tuple[str, str, float], BeforeValidator(_tie)]
"""Two ranges by name, and the rank correlation in which they are drawn."""


def _currency(value: object) -> str:
    text = str(value)
    if len(text) != 3 or not text.isascii() or not text.isalpha() or text != text.upper():
        raise fault("bad-currency", f"is {shown(value)}", "write three capitals such as USD")
    return text


def _or_none(value: object, whole: ValidatorFunctionWrapHandler, info: ValidationInfo) -> Any:
    if value != NO_SYSTEM:
        return whole(value)
    return no_system("off grid" if info.data.get("tariff") is None else "self-consumption")


class Alternative(Block):
    """One way to go ahead, complete: what the file left to inheritance is filled in.

    An alternative with an in-service day of its own is taken to be completed on that day, unless it says another. One
    with ``system: none`` builds no system: it lives on the grid of its tariff, or without one on its generator.
    """

    name: Text
    note: Text | None = None
    in_service: Day | None = None
    installation_completed: Day | None = None
    tariff: Tariff | None = None
    generator: Generator | None = None
    system: Annotated[System, WrapValidator(_or_none)]
    purchase: Purchase = Purchase()
    costs: list[CostLine]
    upkeep: list[UpkeepLine] = []
    rebates: list[Rebate] = []
    payment: Payment = "cash"
    own_hours: Amount = 0.0
    own_hour_worth: Amount | None = None
    dates: Dates = Dates()
    installer: Installer | None = None

    @property
    def completed(self) -> dt.date | None:
        """The day its installation is finished, if it is another than that of the study."""
        return self.installation_completed or self.in_service

    @model_validator(mode="after")
    def _generator_charges_above_the_reserve(self) -> Alternative:
        battery, generator = self.system.battery, self.generator
        charges = generator is not None and generator.start_at is not None and self.system.operation == "off grid"
        if charges and generator is not None and battery != "none" and generator.stop_at <= battery.reserve:
            what = f"stops its generator at {generator.stop_at:.0%} and keeps a reserve of {battery.reserve:.0%}"
            raise fault("generator-levels", what, "raise stop_at, or lower the reserve")
        return self

    @model_validator(mode="after")
    def _periods_are_there(self) -> Alternative:
        if self.system.operation != "time shift" or self.tariff is None:
            return self
        known = [period.name for period in self.tariff.energy]
        shift = self.system.time_shift or TimeShift()
        found: list[InitErrorDetails] = []
        if len(known) < 2:
            what = "shifts time, but the tariff has one price for all hours"
            mend = "give the tariff dear and cheap hours, or write operation: self-consumption"
            words = fault("one-price", what, mend)
            found.append({"type": words, "loc": ("system", "operation"), "input": self.system.operation})
        else:
            for kind, names in (("dear", shift.dear or []), ("cheap", shift.cheap)):
                for i, name in enumerate(names):
                    if name not in known:
                        what = f"is {shown(name)}, no price period of the tariff"
                        words = fault("unknown-period", what, near(name, known))
                        found.append({"type": words, "loc": ("system", "time_shift", kind, i), "input": name})
        if found:
            raise ValidationError.from_exception_data("time shift", found)
        return self

    @model_validator(mode="after")
    def _size_is_known(self) -> Alternative:
        if self.system.production is None or self.system.operation == "off grid" or self.tariff is None:
            return self
        sheets: list[tuple[tuple[str | int, ...], Tariff]] = [(("tariff",), self.tariff)]
        sheets += [(("tariff", "later", k, "tariff"), each.tariff) for k, each in enumerate(self.tariff.later)]
        found: list[InitErrorDetails] = []
        for loc, sheet in sheets:
            if sheet.charge_per_kw != 0.0:
                what = "goes by the size of the array, which a record of production does not tell"
                words = fault("size-unknown", what, "write it as part of monthly_charge, with charge_per_kw: 0")
                found.append({"type": words, "loc": (*loc, "charge_per_kw"), "input": sheet.charge_per_kw})
        if found:
            raise ValidationError.from_exception_data("charge by size", found)
        return self

    @model_validator(mode="after")
    def _sizes_are_there(self) -> Alternative:
        missing = {}
        if not self.system.arrays:
            recorded = "which a record of production does not tell"
            why = recorded if self.system.built else "and there are none"
            missing["per_kw"] = f"goes by the kW of modules, {why}"
        if self.system.battery == "none":
            missing["per_kwh"] = "goes by the kWh of a battery, and there is none"
        found = faults_of_size(self.costs, missing)
        if found:
            raise ValidationError.from_exception_data("sizes", found)
        return self

    @field_validator("upkeep")
    @classmethod
    def _one_threshold(cls, lines: list[UpkeepLine]) -> list[UpkeepLine]:
        if sum(line.below is not None for line in lines) > 1:
            raise fault("due", "has two lines that fall due by the battery's capacity", "keep one of them")
        return lines

    @field_validator("costs", "upkeep", "rebates")
    @classmethod
    def _items_differ(cls, lines: list[Any]) -> list[Any]:
        doubles = [name for name, n in Counter(line.item for line in lines).items() if n > 1]
        if doubles:
            raise fault("double-name", f"has two lines named {shown(doubles[0])}", "name each its own way")
        return lines

    @model_validator(mode="after")
    def _what_is_paid_for_is_there(self) -> Alternative:
        if not self.system.built and isinstance(self.payment, Lease | PerKwh):
            words = fault("no-system-paid", "pays the owner of a system, and none is built", "pay cash, or by loan")
            entry: InitErrorDetails = {"type": words, "loc": ("payment",), "input": self.payment}
            raise ValidationError.from_exception_data("payment", [entry])
        return self

    @model_validator(mode="after")
    def _done_before_it_runs(self) -> Alternative:
        order_of_days(self.installation_completed, self.in_service)
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
    weather: Weather
    tariff: Tariff | None = None
    generator: Generator | None = Field(default=None, validate_default=True)
    rules: list[RuleSource] = []
    claims: dict[RuleId, Claim] = {}
    together: list[Tie] = []
    stay: Stay = Stay()
    alternatives: Annotated[list[Alternative], Field(min_length=1)]

    _origin: Origin = PrivateAttr(default=Origin())

    @field_validator("alternatives")
    @classmethod
    def _names_differ(cls, value: list[Alternative]) -> list[Alternative]:
        doubles = [name for name, n in Counter(a.name for a in value).items() if n > 1]
        if doubles:
            raise fault("double-name", f"has two named {shown(doubles[0])}", "name each its own way")
        return value

    @field_validator("together", mode="before")
    @classmethod
    def _ties_in_a_list(cls, value: object) -> object:
        """One tie without the list around it, which is the slip most easily made, is told as such."""
        if isinstance(value, list) and value and not any(isinstance(each, list) for each in value):
            raise fault("together", "is one tie, not a list of them", "write [[first, second, 0.6]]")
        return value

    @field_validator("rules")
    @classmethod
    def _rules_know_their_place(cls, value: list[Any]) -> list[Any]:
        return [replace(rule, path=f"rules.{i}") if isinstance(rule, RawRule) else rule for i, rule in enumerate(value)]

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
        if settings is None:
            return value
        late: list[InitErrorDetails] = []
        for i, alternative in enumerate(value):
            if alternative.in_service is None:
                order_of_days(alternative.installation_completed, settings.in_service)
            completed = alternative.completed or settings.completed
            for name in ("contract", "purchase"):
                day = getattr(alternative.dates, name)
                if day is not None and day > completed:
                    what = f"is {day}, after the installation is completed on {completed}"
                    words = fault("order-of-days", what, "put the two days in order")
                    late.append({"type": words, "loc": (i, "dates", name), "input": day})
        if late:
            raise ValidationError.from_exception_data("dates", late)
        return value

    @field_validator("household")
    @classmethod
    def _loads_come_in_time(cls, value: Household, info: ValidationInfo) -> Household:
        settings = info.data.get("study")
        late: list[InitErrorDetails] = []
        for i, new in enumerate(value.load.new_loads):
            if settings is not None and new.from_year > settings.years:
                what = f"is {new.from_year}, after the study of {settings.years} years"
                words = fault("load-too-late", what, "raise study.years, or leave the load out")
                late.append({"type": words, "loc": ("load", "new_loads", i, "from_year"), "input": new.from_year})
        if late:
            raise ValidationError.from_exception_data("new loads", late)
        return value

    @model_validator(mode="after")
    def _outages_by_the_record(self) -> Scenario:
        outage = self.household.outage
        if outage is None:
            return self
        from finsolar.energy.outage_record import with_record

        if self.tariff is not None:  # without a grid no record of grids tells anything
            outage = with_record(outage, self.place.country)
        if outage.most_hours > HOURS_OF_A_YEAR:
            hours = f"{outage.most_hours:,.0f} hours"
            what = f"comes to as many as {hours} without the grid in a year, which has only {HOURS_OF_A_YEAR:,}"
            words = fault("outage-hours", what, "write fewer times_a_year, or fewer hours_each")
            entry: InitErrorDetails = {"type": words, "loc": ("household", "outage"), "input": outage}
            raise ValidationError.from_exception_data("outages", [entry])
        return self.model_copy(update={"household": self.household.model_copy(update={"outage": outage})})

    @model_validator(mode="after")
    def _backup_has_a_worth(self) -> Scenario:
        outage, what = self.household.outage, None
        if not self.study.count_backup:
            return self
        if self.tariff is None:
            what, mend = "counts backup, and the house has no grid today that could fail", "leave count_backup out"
        elif outage is None or not outage.is_valued:
            what, mend = "counts backup, and nothing says what it is worth", "add household.outage.worth, such as "
            mend += "{an_hour: 5}, or losses or instead"
        elif outage.usual is None and outage.storms is None:
            what, mend = "counts backup, and nothing says how often the grid fails", "add household.outage.usual"
        if what is not None:
            words = fault("count-backup", what, mend)
            entry: InitErrorDetails = {"type": words, "loc": ("study", "count_backup"), "input": True}
            raise ValidationError.from_exception_data("backup", [entry])
        return self

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

    @field_validator("alternatives")
    @classmethod
    def _interest_lowers_a_tax_that_is_told(cls, value: list[Alternative], info: ValidationInfo) -> list[Alternative]:
        household, place = info.data.get("household"), info.data.get("place")
        found: list[InitErrorDetails] = []
        for i, alternative in enumerate(value):
            loan = alternative.payment.loan if isinstance(alternative.payment, Borrowing) else None
            if loan is None or household is None or (isinstance(loan.deductible, float) and loan.deductible == 0):
                continue
            what = mend = None
            if household.marginal_tax is None:
                what, mend = (
                    "takes interest off taxable income, but the household states no tax on it",
                    "add household.",
                )
                mend += "marginal_tax, what of one more unit of income goes in tax"
            elif place is not None and place.country == "US" and household.itemises is not True:
                what = "takes interest off taxable income, which in the United States only those do who itemise"
                mend = "add household.itemises: true if that is so, or leave deductible out"
            if what is not None and mend is not None:
                words = fault("deductible", what, mend)
                loc = (i, "payment", "loan", "deductible")
                found.append({"type": words, "loc": loc, "input": loan.deductible})
        if found:
            raise ValidationError.from_exception_data("deductible interest", found)
        return value

    @property
    def origin(self) -> Origin:
        """Where it was read."""
        return self._origin

    def read_from(self, origin: Origin) -> Scenario:
        """The same scenario, with the file it was read from."""
        copy = self.model_copy()
        copy._origin = origin
        return copy
