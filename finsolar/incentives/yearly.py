"""Awards that come year by year, or are worth something without being paid."""

import numpy as np

from finsolar.incentives.facts import Array, Award, Step
from finsolar.incentives.streams import mean_rate, rest_of_year, term_weights
from finsolar.incentives.weighing import Weighing
from finsolar.incentives.wording import in_words, money, number, percent

_NO_LIMIT = float("inf")
_AS_GOOD_AS_ALL = 0.01  # what an inverter's own draw may take of a system that feeds everything in


def performance_payment(w: Weighing) -> Award:
    """Pay for what is generated or exported, at the rate of the day that counts, for a term."""
    rule, years = w.rule, w.table.years
    on = "generation" if rule.paid_on is None else rule.paid_on.value
    if on == "export" and w.house.export_is_paid and rule.paid_on is not None:
        return w.refused(
            "The tariff of this alternative already pays for what is fed in, and nothing is counted twice. To have "
            f"this rule pay instead, set the export price of the tariff to zero. ({rule.paid_on.source.reference})"
        )
    if on == "all fed in" and rule.paid_on is not None:
        elsewhere = w.generation() * (1.0 - _AS_GOOD_AS_ALL) > w.exported()
        if w.house.export_is_paid or elsewhere.any():
            return w.refused(
                f"{rule.paid_on.because} Here the house uses part of what the system makes, or the tariff pays for "
                f"what is fed in, and nothing is counted twice. ({rule.paid_on.source.reference})"
            )
    per = 1.0 if rule.lead == "per_kwh" else 1e-3
    banded = len(w.entry.bands) > 1
    size = w.size("solar kw") if banded else np.ones(w.shape)  # one band is the same for every size
    rate = mean_rate(size, w.entry.bands) * per
    extra = rest_of_year(w.day) if rule.to_year_end is not None and rule.to_year_end.value else 0.0
    weights = term_weights(w.number("term_years", _NO_LIMIT), years, extra)
    step = 1.0 - w.number("yearly_step_down", 0.0)
    energy = w.exported() if on == "export" else w.generation()
    amounts = w.by_year(energy * rate[..., None] * weights * step ** np.arange(years))
    w.ledger += [
        Step("rate for a kWh", rate),
        Step(f"{'export' if on == 'export' else 'generation'} of year 1", energy[..., 0], "kWh"),
        Step("term", np.full(w.shape, min(weights.sum(), years)), "years"),
        Step("payment of year 1", amounts[..., 1]),
        Step("payments in the study", amounts.sum(axis=-1)),
    ]
    if banded:
        w.reasons.append(
            f"Over {number(size)} kW the bands ({in_words(rule.lead, w.entry, rule.currency)}) come to "
            f"{money(rule.currency, rate)} for a kWh."
        )
    return w.award(amounts, amounts.sum(axis=-1))


def metered_certificates(w: Weighing) -> Award:
    """Pay for certificates of metered generation, at the price path the scenario tells and no less than the floor.

    A part of a certificate is counted as it grows, since what is left of one year's energy counts in the next.
    """
    rule, years = w.rule, w.table.years
    price = w.house.claimed(rule.id).price
    floor = w.number("floor_price", 0.0)
    if price is None and floor == 0.0:
        w.missing.append(f"Certificates are sold at a market price: write price for {rule.id} under claims.")
    each = np.maximum(np.zeros(1) if price is None else np.asarray(price), floor)
    weights = term_weights(w.number("term_years", _NO_LIMIT), years)
    count = w.generation() / w.entry.number
    amounts = w.by_year(count * each * weights)
    w.ledger += [
        Step("certificates of year 1", count[..., 0], "certificates"),
        Step("price of one in year 1", np.broadcast_to(each[..., 0], w.shape)),
        Step("payments in the study", amounts.sum(axis=-1)),
    ]
    return w.award(amounts, amounts.sum(axis=-1))


def capacity_payment(w: Weighing) -> Award:
    """Pay for the power given on average in called events, a season, as long as the rate is locked."""
    rule, house = w.rule, w.house
    told = house.claimed(rule.id).kw
    if told is None:
        w.missing.append(
            "What is paid depends on the power the battery gives on average over all events that are called: write kw "
            f"for {rule.id} under claims."
        )
    kw = np.broadcast_to(np.zeros(()) if told is None else np.asarray(told, dtype=np.float64), w.shape)
    events, hours = w.number("events", 0.0), w.number("event_hours", 0.0)
    most = np.full(w.shape, _NO_LIMIT)
    if house.battery_kw is not None:
        most = np.minimum(most, house.battery_kw)
    if hours and house.battery_usable_kwh is not None:
        most = np.minimum(most, house.battery_usable_kwh / hours)
    counted = np.minimum(kw, most)
    if (counted < kw).any():
        w.reasons.append(
            f"The battery cannot give {number(kw)} kW through an event of {hours:g} hours: {number(counted)} kW is "
            "counted."
        )
    weights = term_weights(w.number("term_years", _NO_LIMIT), w.table.years)
    amounts = w.by_year(counted[..., None] * w.entry.number * weights)
    w.ledger += [
        Step("power told", kw, "kW"),
        Step("power that counts", counted, "kW"),
        Step("energy given up in events of a year", counted * events * hours, "kWh"),
        Step("payment of year 1", amounts[..., 1]),
        Step("payments in the study", amounts.sum(axis=-1)),
    ]
    if events and hours:
        w.reasons.append(
            f"Up to {events:g} events of {hours:g} hours a year take {number(counted * events * hours)} kWh that the "
            "battery cannot use for the house at that moment; the hours of this study do not show it."
        )
    return w.award(amounts, amounts.sum(axis=-1), cut=bool((counted < kw).any()))


def property_tax_relief(w: Weighing) -> Award:
    """Spare the property tax that the system would cost; without a tax stated nothing is counted on either side."""
    left = w.table.property_tax_left
    weights = term_weights(w.number("term_years", _NO_LIMIT), w.table.years)
    if w.house.facts.get("leases the system"):
        return w.refused("The system belongs to the company that leases it out, and so does the tax on it.")
    if left is None:
        w.missing.append(
            "No property tax on the system is stated, so none is charged and none is spared. To see both, fill in "
            "household.property_tax."
        )
        return w.award(w.by_year(np.zeros(w.table.years)), np.zeros(w.shape))
    spared = left * w.entry.number * weights
    w.ledger += [
        Step("property tax on the system in year 1", left[..., 0]),
        Step("spared in year 1", spared[..., 0]),
        Step("spared in the study", spared.sum(axis=-1)),
    ]
    if not w.missing and not w.verdict.missing:
        w.table.exempt = w.table.exempt + spared * np.broadcast_to(w.verdict.met, w.shape)[..., None]
    return w.award(w.by_year(spared), spared.sum(axis=-1))


def below_market_loan(w: Weighing) -> Award:
    """Say what a cheaper loan is worth: the present value of what it spares, and never its principal."""
    rule, house = w.rule, w.house
    principal = np.minimum(w.table.unpaid, w.number("cap", _NO_LIMIT))
    smallest = w.number("smallest", 0.0)
    nothing = w.by_year(np.zeros(w.table.years))
    if (principal < smallest).all() or not principal.any():
        return w.refused(
            f"The loan begins at {money(rule.currency, smallest)}; here {_amount(w, principal)} is to pay."
        )
    principal = np.where(principal >= smallest, principal, 0.0)
    term = w.number("term_years", _NO_LIMIT)
    fee = principal * w.number("fee", 0.0)
    worth = np.zeros(w.shape)
    if house.loan_worth is not None and np.isfinite(term):
        worth = np.maximum(house.loan_worth(principal, w.entry.number, int(term)) - fee, 0.0)
    w.ledger += [
        Step("principal", principal),
        Step("interest a year", np.full(w.shape, w.entry.number), "share"),
        Step("term", np.full(w.shape, term), "years"),
        Step("fee", 0.0 - fee),
        Step("worth today", worth),
    ]
    w.reasons.append(
        f"Up to {money(rule.currency, principal)} at {percent(w.entry.number)} for {term:g} years. Held against money "
        f"at the discount rate of the study that is worth {money(rule.currency, worth)} today. It is a loan and no "
        "payment: to have it in the cash flow, write it as the loan of an alternative."
    )
    return w.award(nothing, worth, worth=worth)


def income_tax_exemption(w: Weighing) -> Award:
    """Say that payments are free of income tax; what that spares is left out beside each of them."""
    size = w.size("solar kw")
    if (size > w.entry.number).any():
        return w.refused(f"The system has {number(size)} kW, above {w.entry.number:,.6g} kW.")
    w.reasons.append("It pays nothing itself: no income tax is taken off the payments it covers.")
    return w.award(w.by_year(np.zeros(w.table.years)), np.zeros(w.shape), waiting=True)


def owners_credit(w: Weighing) -> Award:
    """Say that a credit for the owner of a leased system is never the household's."""
    if w.house.facts.get("leases the system"):
        w.tells_notes = True
        return w.refused(
            "This credit goes to the company that owns the system, not to you. At most it lowers the price you are "
            "quoted, so nothing is counted here."
        )
    return w.refused("This credit is for companies that own systems on other people's homes; you own yours.")


def _amount(w: Weighing, amount: Array) -> str:
    return money(w.rule.currency, amount)
