"""Who lives in the house, what they use, and what decides their tax."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Discriminator, Field, Tag, field_validator, model_validator

from finsolar.scenario.blocks import Block, Day, Hours, Months, Text, WholeYears, default, one_or_list
from finsolar.scenario.claims import OneOrYearly
from finsolar.scenario.interruptions import Instead, Interruptions, OutageLoss, Storms, Worth, items_differ
from finsolar.scenario.names import SHAPES
from finsolar.scenario.numbers import (
    Amount,
    Fixed,
    FixedPositive,
    FixedShare,
    HoursADay,
    Level,
    OutageHours,
    Rate,
    Share,
    fault,
    most,
)
from finsolar.scenario.problems import near, shown

TwelveKwh = Annotated[list[Fixed], Field(min_length=12, max_length=12)]


def _shape(value: Any) -> Any:
    if isinstance(value, str) and value not in SHAPES:
        raise fault("unknown-shape", f"is {shown(value)}, no shape known here", near(value, SHAPES))
    if isinstance(value, list) and not any(value):
        raise fault("empty-shape", "has no use in any hour", "give at least one hour a weight above 0")
    return value


Shape = Annotated[
    Annotated[Text, BeforeValidator(_shape), Tag("one")]
    | Annotated[list[Fixed], Field(min_length=24, max_length=24), BeforeValidator(_shape), Tag("list")],
    Discriminator(one_or_list),
]
"""The name of a daily shape, or 24 weights, midnight to midnight."""


def _runs_in_its_hours(hours_a_day: float, hours: tuple[int, ...] | None) -> None:
    room = 24 if hours is None else len(hours)
    if hours_a_day > room:
        what = f"runs {hours_a_day:g} hours a day within {room} hours"
        raise fault("hours-a-day", what, "write fewer hours_a_day, or wider hours")


class ApplianceLine(Block):
    """One kind of appliance: what each of ``count`` draws, how long, and what share of them is on backup.

    It runs ``hours_a_day``, spread evenly over ``hours`` of the clock, in ``months``, and draws its watts for the
    share ``duty`` of that time.
    """

    item: Text
    watts: Fixed
    starting_watts: Fixed | None = None
    hours_a_day: HoursADay = default(24.0, "it is always on")
    duty: FixedShare = default(1.0, "it draws its watts all the while")
    hours: Hours = None
    months: Months = None
    on_backup: FixedShare = default(0.0, "it was not said to be on backup")
    count: Fixed = 1.0

    @model_validator(mode="after")
    def _can_be(self) -> ApplianceLine:
        if self.starting_watts is not None and self.starting_watts < self.watts:
            raise fault("starting-watts", "starts on less than it runs on", "raise starting_watts, or leave it out")
        _runs_in_its_hours(self.hours_a_day, self.hours)
        return self


class NewLoad(Block):
    """A load to come, such as a vehicle or a heat pump: its kWh, from a year of the study on.

    Either ``kwh_a_day``, in ``months``, or ``monthly_kwh``; spread evenly over ``hours`` of the clock.
    """

    item: Text
    from_year: WholeYears
    kwh_a_day: Fixed | None = None
    monthly_kwh: TwelveKwh | None = None
    hours: Hours = None
    months: Months = None

    @model_validator(mode="after")
    def _one_amount(self) -> NewLoad:
        if (self.kwh_a_day is None) == (self.monthly_kwh is None):
            raise fault("new-load", "needs one amount of energy", "write either kwh_a_day or monthly_kwh")
        if self.months is not None and self.monthly_kwh is not None:
            raise fault("new-load", "has months beside monthly_kwh, which says them", "remove months")
        return self


class Load(Block):
    """What the house uses: twelve months and a shape, a meter's file, or a list of appliances.

    ``stamps`` says whether the times in a CSV file mark the start or the end of a reading, where its head does not.
    ``level`` is what the household's years use over what this block says, ``growth`` the yearly change of all this;
    ``new_loads`` come on top and know neither.
    """

    monthly_kwh: TwelveKwh | None = None
    shape: Shape | None = None
    file: Text | None = None
    stamps: Literal["start", "end"] | None = None
    appliances: Annotated[list[ApplianceLine], Field(min_length=1)] | None = None
    level: Level = default(1.0, "the years of the study use what is stated here")
    growth: Rate = default(0.0, "the household stays as it is")
    new_loads: list[NewLoad] = []

    @model_validator(mode="after")
    def _one_source(self) -> Load:
        given = [name for name in ("monthly_kwh", "file", "appliances") if getattr(self, name) is not None]
        mend = "write monthly_kwh and shape, or file, or appliances"
        if not given:
            raise fault("load-source", "does not say what the house uses", mend)
        if len(given) > 1:
            raise fault("load-source", f"says twice what the house uses, by {' and '.join(given)}", "keep one of them")
        if given == ["monthly_kwh"] and self.shape is None:
            raise fault("load-shape", "has monthly_kwh without a shape", "add shape, such as evening")
        if given != ["monthly_kwh"] and self.shape is not None:
            raise fault("load-shape", f"has a shape beside {given[0]}, which brings its own hours", "remove shape")
        if self.stamps is not None and self.file is None:
            raise fault("load-stamps", "has stamps without a file", "remove stamps")
        return self


class PastBill(Block):
    """A bill of the grid out of the drawer: the days it covers, both ends included, its kWh and its amount.

    ``kw`` is the demand it states, where the tariff prices demand.
    """

    first_day: Day
    last_day: Day
    kwh: Fixed
    amount: Fixed
    kw: Fixed | None = None

    @model_validator(mode="after")
    def _days_in_order(self) -> PastBill:
        days = (self.last_day - self.first_day).days + 1
        if days < 1:
            raise fault("past-bill", "ends before it begins", "put first_day and last_day in order")
        if days > 100:
            raise fault("past-bill", f"covers {days} days", "write one entry for each bill")
        return self


class Outage(Block):
    """What the house carries while the grid is down, and how far ahead to look.

    Carried is the ``load_share`` of what the house uses in each hour, or a steady ``load_kw``; without either, what of
    the appliances is on backup, or else all. ``appliances``, the dearest to the household first, stand here where the
    load itself comes from bills or a meter. ``fuel_litres`` lie ready for the generator.

    ``usual`` outages and those of ``storms`` are added up; a kind that is left out is taken from the record of the
    country. ``worth`` and ``losses`` say what backup is worth; or else ``instead``, the generator that it spares.
    """

    appliances: Annotated[list[ApplianceLine], Field(min_length=1)] | None = None
    load_share: FixedShare | None = None
    load_kw: FixedPositive | None = None
    fuel_litres: Fixed = default(0.0, "no fuel was said to lie ready, so no generator is counted on in an outage")
    longest_hours: OutageHours = default(336.0, "two weeks: beyond them nobody plans on paper")
    usual: Interruptions | None = default(None, "no record of outages of this country is on hand")
    storms: Storms | None = default(None, "no record of outages of this country is on hand")
    worth: Worth | None = None
    losses: list[OutageLoss] = []
    instead: Instead | None = None

    @model_validator(mode="after")
    def _one_load(self) -> Outage:
        if self.load_share is not None and self.load_kw is not None:
            raise fault("outage-load", "says twice what is carried", "keep load_share or load_kw")
        return self

    @model_validator(mode="after")
    def _worth_one_way(self) -> Outage:
        if self.instead is not None and (self.worth is not None or self.losses):
            what = "has a generator that backup spares, and says beside it what backup is worth"
            raise fault("worth", what, "keep instead, or worth and losses")
        return self

    @field_validator("losses")
    @classmethod
    def _items_differ(cls, lines: list[OutageLoss]) -> list[OutageLoss]:
        items_differ(lines)
        return lines

    @property
    def most_hours(self) -> float:
        """The hours of a year that all kinds of outages come to at most, each number as high as it is drawn."""
        kinds = [each for each in (self.usual, self.storms) if each is not None]
        return sum(most(each.times_a_year) * most(each.hours_each) for each in kinds)

    @property
    def is_valued(self) -> bool:
        """Whether anything says what backup is worth."""
        return self.worth is not None or bool(self.losses) or self.instead is not None


class PropertyTax(Block):
    """The yearly tax on the house, and the share of what the system costs that it is then valued higher."""

    rate: Share
    added_value: Share


class Household(Block):
    """Who lives there, what they use, and what decides their tax.

    ``income_tax`` and ``state_income_tax`` are owed in a year, ``marginal_tax`` and ``state_marginal_tax`` what of one
    more unit of income goes in tax; ``itemises`` tells whether state tax is deducted from the income taxed by the
    country. ``income`` is that of a year. ``backup_kwh`` is what the house expects to draw from the system in a year
    while the grid is down, ``outage`` what is carried then.
    """

    load: Load
    income_tax: OneOrYearly | None = None
    state_income_tax: OneOrYearly | None = None
    marginal_tax: Share | None = None
    state_marginal_tax: Share | None = None
    itemises: bool | None = None
    income: Amount | None = None
    owner_occupied: bool | None = None
    main_home: bool | None = None
    new_home: bool | None = None
    stays_years: WholeYears | None = None
    business_use: FixedShare = default(0.0, "no use for business was stated")
    property_tax: PropertyTax | None = None
    past_bills: list[PastBill] = []
    backup_kwh: Amount | None = None
    outage: Outage | None = None

    @model_validator(mode="after")
    def _one_list_of_appliances(self) -> Household:
        if self.load.appliances is not None and self.outage is not None and self.outage.appliances is not None:
            mend = "say on_backup in the list of load, and leave the one of outage out"
            raise fault("outage-load", "has appliances both under load and under outage", mend)
        return self

    @field_validator("past_bills")
    @classmethod
    def _bills_apart(cls, bills: list[PastBill]) -> list[PastBill]:
        for before, after in pairwise(sorted(bills, key=lambda bill: bill.first_day)):
            if after.first_day <= before.last_day:
                what = f"has two bills for {after.first_day}"
                raise fault("past-bill", what, "let each bill begin on the day after the one before ends")
        return bills
