"""The prices of the grid, as the sheet of a utility has them."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise
from typing import Annotated, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import (
    BeforeValidator,
    Discriminator,
    Field,
    Tag,
    ValidationError,
    field_validator,
    model_validator,
)
from pydantic_core import InitErrorDetails, PydanticCustomError

from finsolar.scenario.blocks import Block, Days, Hours, Months, Text, WholeYears, default, one_or_list
from finsolar.scenario.hours import DAYS, MONTHS, cells_in_words, long_name, mask, week_picture
from finsolar.scenario.numbers import (
    RANGE_WORDS,
    Adder,
    Amount,
    BaselineShare,
    FixedPositive,
    FixedShare,
    Rise,
    Share,
    SignedShare,
    fault,
)
from finsolar.scenario.problems import near, shown


def _day(value: object) -> object:
    """A day of the week by its short name, from ``sun`` as from ``Sunday``; what is no day is left as it stands."""
    word = value.strip().lower() if isinstance(value, str) else ""
    return word[:3] if word[:3] in DAYS and long_name(word[:3]).startswith(word) else value


Told = list[tuple[tuple[int | str, ...], PydanticCustomError]]
"""Faults, each with the way from its block to the field to mend."""


def _told_at(found: Told) -> None:
    """Raise faults that fields of a block show together, each at the field to mend."""
    if found:
        told = [InitErrorDetails(type=words, loc=loc, input=None) for loc, words in found]
        raise ValidationError.from_exception_data("tariff", told)


class PricePeriod(Block):
    """One price of energy and the months, days and hours in which it holds."""

    name: Text
    price: Amount
    months: Months = None
    days: Days = None
    hours: Hours = None

    @property
    def is_rest(self) -> bool:
        """Whether it names no months, days or hours: then it takes all that the others leave."""
        return self.months is None and self.days is None and self.hours is None

    @property
    def cells(self) -> NDArray[np.bool_]:
        """The cells (12, 7, 24) it names."""
        return mask(self.months or range(12), self.days or range(7), self.hours or range(24))


class Tier(Block):
    """One step of a tier: where it ends and what it adds to the price of the hour.

    The end is kWh (``up_to``) or a share of the baseline allowance (``of_baseline``); the last step has none.
    """

    up_to: FixedPositive | None = None
    of_baseline: BaselineShare | None = None
    adds: Adder = 0.0

    @property
    def end(self) -> float:
        """Where it ends, in the unit it was written in; infinite for the last step."""
        return float(next((end for end in (self.up_to, self.of_baseline) if end is not None), math.inf))


class Allowance(Block):
    """The baseline allowance of some months, kWh for each day of the billing period."""

    months: Months = None
    kwh_a_day: FixedPositive


class Tiers(Block):
    """Prices that depend on how much was drawn in the billing period, across the price periods ``of`` or all of them.

    They hold in ``months``, or all year; two blocks of tiers make two seasons with ends of their own.
    Ends are kWh in a month, or in a day of the billing period (``per: day``), or shares of the ``baseline``.
    """

    of: Annotated[list[Text], Field(min_length=1)] | None = None
    months: Months = None
    per: Literal["month", "day"] = "month"
    baseline: list[Allowance] = []
    steps: Annotated[list[Tier], Field(min_length=2)]

    @model_validator(mode="after")
    def _ends_rise(self) -> Tiers:
        *first, last = self.steps
        end = next((name for name in ("up_to", "of_baseline") if getattr(last, name) is not None), None)
        if end is not None:
            words = fault("tiers", "ends the last step", "let the last step take all that is left")
            _told_at([(("steps", len(first), end), words)])
        kinds = {(step.up_to is not None, step.of_baseline is not None) for step in first}
        if kinds not in ({(True, False)}, {(False, True)}):
            mend = "give each step but the last up_to (kWh), or each of them of_baseline"
            raise fault("tiers", "does not say one way where its steps end", mend)
        for k, (low, high) in enumerate(pairwise(step.end for step in first), start=2):
            if low >= high:
                what = f"does not rise: step {k} ends at {high:g}, step {k - 1} at {low:g}"
                end = "up_to" if first[0].up_to is not None else "of_baseline"
                words = fault("tiers", what, "let each step end higher than the one before")
                _told_at([(("steps", k - 1, end), words)])
        return self

    @model_validator(mode="after")
    def _baseline_fits(self) -> Tiers:
        wanted = self.steps[0].of_baseline is not None
        if not wanted:
            if self.baseline:
                words = fault("tiers", "is an allowance that no step uses", "write of_baseline, or remove baseline")
                _told_at([(("baseline",), words)])
            return self
        if not self.baseline:
            mend = "add baseline: [{kwh_a_day: 14}], or write up_to"
            raise fault("tiers", "has of_baseline without a baseline", mend)
        if self.per == "day":
            words = fault("tiers", "is said beside a baseline, which is by the day", "remove per")
            _told_at([(("per",), words)])
        months = Counter(month for line in self.baseline for month in line.months or range(12))
        twice = [MONTHS[month] for month, times in sorted(months.items()) if times > 1]
        missing = [MONTHS[month] for month in self.months or range(12) if month not in months]
        if twice or missing:
            what = f"has {'two allowances' if twice else 'no allowance'} in {', '.join(twice or missing)}"
            words = fault("tiers", what, "let the baseline cover each month of the tiers once")
            _told_at([(("baseline",), words)])
        return self


class Demand(Block):
    """A price for the highest import of a month within a window, kW, averaged over ``minutes``.

    With a ``ratchet`` no month is billed for less than that share of the highest in the ``ratchet_months`` before it.
    """

    name: Text
    price: Amount
    minutes: Literal[60, 30, 15] = 60
    months: Months = None
    days: Days = None
    hours: Hours = None
    ratchet: FixedShare = default(0.0, "no earlier month counts")
    ratchet_months: Annotated[int, Field(strict=True, ge=1, le=36)] = default(11, "a year with the billed month")

    @property
    def moot(self) -> frozenset[str]:
        """How far a ratchet looks back, where there is none."""
        return frozenset() if self.ratchet else frozenset({"ratchet_months"})

    @property
    def cells(self) -> NDArray[np.bool_]:
        """The cells (12, 7, 24) of its window."""
        return mask(self.months or range(12), self.days or range(7), self.hours or range(24))


BillPart = Literal["fixed charge", "energy", "hourly prices", "tiers", "demand", "riders", "minimum"]


class Rider(Block):
    """A surcharge or a discount: for each kWh billed, or a share of other parts of the bill, in ``months``."""

    item: Text
    per_kwh: Adder | None = None
    share: SignedShare | None = None
    on: Annotated[list[BillPart], Field(min_length=1)] | None = None
    months: Months = None

    @model_validator(mode="after")
    def _one_way(self) -> Rider:
        if (self.per_kwh is None) == (self.share is None):
            raise fault("rider", "needs one amount", "write either per_kwh or share")
        if self.per_kwh is not None and self.on is not None:
            raise fault("rider", "is by the kWh, yet names parts of the bill", "remove on")
        if self.on is not None and len(set(self.on)) < len(self.on):
            raise fault("rider", "names a part of the bill twice", "name it once")
        if self.on is not None and {"riders", "minimum"} & set(self.on):
            raise fault("rider", "is a share of riders or of the minimum", "name parts such as energy, demand")
        return self


class Tax(Block):
    """A tax: a share of parts of the bill, of all of them if not said. No credit for export lowers it."""

    item: Text
    share: Share
    on: Annotated[list[BillPart], Field(min_length=1)] | None = None

    @model_validator(mode="after")
    def _each_part_once(self) -> Tax:
        if self.on is not None and len(set(self.on)) < len(self.on):
            raise fault("tax", "names a part of the bill twice", "name it once")
        return self


class HourlyPrices(Block):
    """A price of its own for each hour of the year, from a file: money per kWh in local standard time.

    It comes on top of the price of the hour's period. Under net billing, energy fed in earns ``export_share`` of it on
    top of the export price.
    """

    file: Text
    export_share: Share = default(0.0, "energy fed in earns nothing of the hourly price")


class HolidayRule(Block):
    """Public holidays of the place that are priced like a day of the week; all of them, or those that are named."""

    count_as: Annotated[Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"], BeforeValidator(_day)] = default(
        "sun", "most sheets price a holiday like a Sunday; common practice, no source"
    )
    names: list[Text] | None = default(None, "every public holiday of the place")


class ExportPrice(Block):
    """What is paid for energy fed in during one price period of the tariff."""

    period: Text
    price: Amount


OneOrByPeriod = Annotated[
    Annotated[Amount, Tag("one")] | Annotated[list[ExportPrice], Field(min_length=1), Tag("list")],
    Discriminator(one_or_list),
]
"""One price for all hours, or one for each price period."""


class Export(Block):
    """What the utility gives for energy fed in.

    net billing : each kWh earns ``price``, one for all hours or one for each price period. Its credits are money; with
    ``credits_pay: energy`` they pay for energy alone, are carried on from month to month, and at the end of
    ``true_up_month`` the share ``pay_out`` of what is left is paid and the rest is lost.
    net metering : kWh cancel kWh of the same price period. The bank is emptied at the end of ``true_up_month`` and what
    is left is paid at ``surplus_price``, which rises as an export price does. With ``bank: money`` each kWh fed in
    counts at the price of its hour, and the year's energy is settled in money at the true-up: minimum bills paid by
    then count towards it, and a credit left over is lost. Energy and tiers are then one: shares of them, in riders and
    taxes, are shares of what is due at the true-up.

    Under any scheme no more than ``limit_kw`` may leave the house.
    """

    scheme: Literal["none", "net billing", "net metering"] = "none"
    price: OneOrByPeriod | None = None
    limit_kw: FixedPositive | None = None
    credits_pay: Literal["everything", "energy"] = default("everything", "credits are money like any other")
    pay_out: Share = default(0.0, "credits that are left over at the true-up are lost")
    bank: Literal["kwh", "money"] = default("kwh", "net metering banks kWh")
    surplus_price: Amount | None = None
    true_up_month: Months = None

    @property
    def moot(self) -> frozenset[str]:
        """What other schemes are asked for."""
        billing, metering = self.scheme == "net billing", self.scheme == "net metering"
        unused = set() if billing else {"credits_pay", "pay_out"}
        if self.credits_pay == "everything":
            unused.add("pay_out")
        return frozenset(unused | (set() if metering else {"bank"}))

    @model_validator(mode="after")
    def _price_fits_scheme(self) -> Export:
        if self.scheme == "net billing" and self.price is None:
            raise fault("export-price", "is net billing without a price", "add price: 0.04 (money per kWh)")
        if self.scheme != "net billing" and self.price is not None:
            mend = "write scheme: net billing"
            if self.scheme == "net metering" and self.bank == "kwh":
                mend = "write surplus_price for kWh left at the true-up, or scheme: net billing"
            elif self.scheme == "net metering":
                mend = f"remove price, or {mend}"
            words = fault("export-price", f"is said, but the scheme is '{self.scheme}'", mend)
            _told_at([(("price",), words)])
        if self.limit_kw is not None and self.scheme == "none":
            words = fault("export-limit", "limits an export that is not allowed", "write a scheme, or remove limit_kw")
            _told_at([(("limit_kw",), words)])
        return self

    @model_validator(mode="after")
    def _settlement_fits_scheme(self) -> Export:
        said = self.model_fields_set
        found: Told = []
        banked = self.scheme == "net metering"
        if self.scheme != "net billing":
            mend = "write scheme: net billing, or remove it"
            found += [
                ((name,), fault("credits", "says what credits pay without net billing", mend))
                for name in ("credits_pay", "pay_out")
                if name in said
            ]
        elif "pay_out" in said and self.credits_pay != "energy":
            words = fault("credits", "pays out credits that pay everything", "write credits_pay: energy")
            found.append((("pay_out",), words))
        if "bank" in said and not banked:
            words = fault("true-up", "is a bank without net metering", "write scheme: net metering, or remove it")
            found.append((("bank",), words))
        if self.surplus_price is not None and (not banked or self.bank == "money"):
            mend = "write scheme: net metering, or remove surplus_price"
            found.append((("surplus_price",), fault("true-up", "is a price of a surplus without a bank of kWh", mend)))
        if self.true_up_month is not None and not banked and self.credits_pay != "energy":
            mend = "write scheme: net metering, or credits_pay: energy, or remove it"
            found.append((("true_up_month",), fault("true-up", "is a true-up without anything to settle", mend)))
        if self.true_up_month is not None and len(self.true_up_month) != 1:
            words = fault("true-up", "names several true-up months", "name one, such as mar")
            found.append((("true_up_month",), words))
        _told_at(found)
        return self


def _export_block(value: object) -> object:
    """The block itself; what a word or a number in its place would be as a block is told."""
    block = None
    if isinstance(value, str):
        blocks = {"none": "none", "net billing": "net billing, price: 0.05", "net metering": "net metering"}
        block = blocks.get(value.strip().lower())
    elif isinstance(value, int | float) and not isinstance(value, bool):
        block = f"net billing, price: {value:g}"
    if block is not None:
        raise fault("model_type", f"is {shown(value)}, not a block of fields", f"write export: {{scheme: {block}}}")
    return value


def _flat_price(value: object) -> object:
    one_range = isinstance(value, dict) and value and set(value) <= RANGE_WORDS
    if one_range or (isinstance(value, int | float | str) and not isinstance(value, bool)):
        return [{"name": "all hours", "price": value}]
    return value


def _apart(one: PricePeriod, other: PricePeriod, periods: list[PricePeriod]) -> str:
    """How to part two price periods that share hours; told in full where one of them was meant to take the rest."""
    from finsolar.scenario.stated import times_in_words

    usual = "let each hour of the week belong to one price"
    wide, narrow = (one, other) if one.hours is None else (other, one)
    months = set(wide.months or range(12))
    if wide.hours is not None or narrow.hours is None or not months <= set(narrow.months or range(12)):
        return usual
    beside = [each for each in periods if each.days == narrow.days and months <= set(each.months or range(12))]
    taken = {hour for each in beside for hour in each.hours or ()}
    left = tuple(hour for hour in range(24) if hour not in taken)
    if not left:
        return usual
    days = set(wide.days or range(7))
    apart = tuple(sorted(days - set(narrow.days or range(7))))
    own = f"days: {times_in_words(tuple(sorted(days - set(apart))), 'days')}, " if apart else ""
    rest = f", and {times_in_words(apart, 'days')} an entry of its own" if apart else ""
    return (
        f"only an entry without months, days and hours takes the rest: give {shown(wide.name)} {own}"
        f'hours: "{times_in_words(left, "hours")}"{rest}'
    )


class Tariff(Block):
    """The prices of the grid, today's money."""

    monthly_charge: Amount = default(0.0, "no fixed charge was stated")
    daily_charge: Amount = default(0.0, "no charge by the day was stated")
    charge_per_kw: Amount = default(0.0, "no charge by the size of the array was stated")
    minimum_bill: Amount = default(0.0, "no minimum was stated")
    energy: Annotated[list[PricePeriod], BeforeValidator(_flat_price), Field(min_length=1)]
    hourly_prices: HourlyPrices | None = None
    holidays: HolidayRule | None = default(None, "a holiday is priced like any other day")
    tiers: list[Tiers] = []
    demand: list[Demand] = []
    riders: list[Rider] = []
    taxes: list[Tax] = []
    export: Annotated[Export, BeforeValidator(_export_block)] = default(
        Export(), "no export was stated, so nothing leaves the house"
    )
    rise: Rise
    production_price: Amount = default(0.0, "nothing is paid for production as such")
    production_years: WholeYears | None = default(None, "as long as the study, if anything is paid")
    fixed_rise: Rise | None = default(None, "the fixed charge rises as energy does")
    export_rise: Rise | None = default(None, "the export price rises as energy does")
    demand_rise: Rise | None = default(None, "the demand price rises as energy does")
    later: list[TariffChange] = []

    @property
    def moot(self) -> frozenset[str]:
        """Rises of prices that the tariff does not have, and how long it pays for production if it does not."""
        unused = set() if self.demand else {"demand_rise"}
        return frozenset(unused | ({"production_years"} if self.production_price == 0.0 else set()))

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
                other = periods[int(taken[clash][0])]
                only = clash & (taken == taken[clash][0])
                raise fault(
                    "tariff-overlap",
                    f"prices {cells_in_words(only)} twice: {shown(other.name)} and {shown(period.name)}",
                    _apart(other, period, periods),
                    week_picture(only, "2"),
                )
            taken[period.cells] = i
        if rests and (taken >= 0).all():
            what = f"has a price {shown(rests[0])} for the rest, but the others leave no hour"
            raise fault("tariff-unused", what, "remove it, or give it the hours you mean")
        if not rests and (taken < 0).any():
            raise fault(
                "tariff-gap",
                f"has no price for {cells_in_words(taken < 0)}",
                "add a price for these hours, or one without months, days and hours for all the rest",
                week_picture(taken < 0, "?"),
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

    @model_validator(mode="after")
    def _energy_may_leave_throughout(self) -> Tariff:
        for change in self.later:
            if (change.tariff.export.scheme == "none") != (self.export.scheme == "none"):
                what = f"lets energy leave the house before year {change.from_year} or after it, but not both"
                raise fault("later", what, "let the scheme change, not whether there is one")
            if change.tariff.export.limit_kw != self.export.limit_kw:
                what = f"limits export otherwise from year {change.from_year} on"
                raise fault("later", what, "keep one limit_kw throughout")
        return self

    @model_validator(mode="after")
    def _names_are_known(self) -> Tariff:
        known = [period.name for period in self.energy]
        found: Told = []
        for i, tiers in enumerate(self.tiers):
            for j, name in enumerate(tiers.of or ()):
                if name not in known:
                    what = f"is {shown(name)}, no price period of the tariff"
                    found.append((("tiers", i, "of", j), fault("unknown-period", what, near(name, known))))
        price = self.export.price
        fed = [each.period for each in price] if isinstance(price, list) else []
        for k, name in enumerate(fed):
            if name not in known:
                what = f"is {shown(name)}, no price period of the tariff"
                found.append((("export", "price", k, "period"), fault("unknown-period", what, near(name, known))))
            elif name in fed[:k]:
                words = fault("export-price", f"is {shown(name)} a second time", "give each period one export price")
                found.append((("export", "price", k, "period"), words))
        unpaid = [name for name in known if name not in fed]
        if fed and unpaid and not found:
            words = fault("export-price", f"has none for {shown(unpaid[0])}", "give each period one export price")
            found.append((("export", "price"), words))
        shared = self.hourly_prices is not None and self.hourly_prices.export_share != 0.0
        if shared and self.export.scheme != "net billing":
            what = "gives energy fed in a share of the hourly price without net billing"
            words = fault("export-price", what, "write scheme: net billing, with price: 0 if it earns nothing else")
            found.append((("hourly_prices", "export_share"), words))
        if self.hourly_prices is not None and self.export.bank == "money":
            words = fault("export-price", "settles retail prices in money beside hourly ones", "write bank: kwh")
            found.append((("export", "bank"), words))
        for kind, key, names in (
            ("demand", "name", [each.name for each in self.demand]),
            ("riders", "item", [each.item for each in self.riders]),
            ("taxes", "item", [each.item for each in self.taxes]),
        ):
            for i, name in enumerate(names):
                if name in names[:i]:
                    words = fault("double-name", f"is {shown(name)} a second time", "name each its own way")
                    found.append(((kind, i, key), words))
        _told_at(found)
        return self

    @model_validator(mode="after")
    def _no_kwh_steps_twice(self) -> Tariff:
        known = {period.name for period in self.energy}
        for i, one in enumerate(self.tiers):
            for other in self.tiers[:i]:
                both = sorted(set(one.months or range(12)) & set(other.months or range(12)))
                if set(one.of or known) == set(other.of or known) and both:
                    what = f"fills steps of the same kWh as others in {', '.join(MONTHS[month] for month in both)}"
                    words = fault("tiers-overlap", what, "give each its own months, or its own price periods")
                    _told_at([(("tiers", i), words)])
        return self

    @model_validator(mode="after")
    def _shares_fit_a_bank_of_money(self) -> Tariff:
        if self.export.bank != "money":
            return self
        found: Told = []
        charges: list[tuple[str, int, Rider | Tax]] = [("riders", i, each) for i, each in enumerate(self.riders)]
        charges += [("taxes", i, each) for i, each in enumerate(self.taxes)]
        for kind, i, each in charges:
            if each.on is not None and self.tiers and ("energy" in each.on) != ("tiers" in each.on):
                words = fault(
                    "settled-together",
                    "names one of energy and tiers, which bank: money settles together",
                    "name both of them, or none",
                )
                found.append(((kind, i, "on"), words))
            shares = isinstance(each, Rider) and each.share is not None and each.months is not None
            if shares and (each.on is None or "energy" in each.on):
                words = fault(
                    "settled-together",
                    "takes a share of energy in some months, which bank: money settles once a year",
                    "remove months, write per_kwh, or name other parts of the bill with on",
                )
                found.append(((kind, i, "months"), words))
        _told_at(found)
        return self

    @field_validator("later")
    @classmethod
    def _changes_in_order(cls, changes: list[TariffChange]) -> list[TariffChange]:
        for before, after in pairwise(changes):
            if before.from_year >= after.from_year:
                what = f"changes in year {after.from_year} after year {before.from_year}"
                raise fault("later", what, "put the changes in order")
        return changes


class TariffChange(Block):
    """Another tariff from a year of the study on, complete: what it does not say it has from the one before.

    Its prices are those of today too, and have risen by then as the others have.
    """

    from_year: Annotated[int, Field(strict=True, ge=2, le=50)]
    tariff: Tariff

    @field_validator("tariff")
    @classmethod
    def _ends_the_list(cls, tariff: Tariff) -> Tariff:
        if tariff.later:
            words = fault("later", "stands within another later tariff", "put it beside that, with its own from_year")
            _told_at([(("later",), words)])
        return tariff


Tariff.model_rebuild()
